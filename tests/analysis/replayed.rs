//! The document that a contradiction shows is put into a trial: the rule breaks on it, as is said.

use super::claims;
use crate::support::{files_below, session, text};

/// The document at the end of a help.
fn document(help: &str) -> Option<&str> {
    help.split_once("this fails: ").map(|(_, document)| document)
}

#[test]
fn the_document_of_each_contradiction_breaks_a_rule() {
    let mut replayed = 0;
    for file in files_below("tests/analysis/rules") {
        let rules = text(&file);
        let session = session(&[(&file, &rules)]);
        for claim in claims(&session) {
            let Some(document) = claim.help.as_deref().and_then(document) else { continue };
            let begin = claim.place().unwrap().span.start as usize;
            let end = claim.labels[1].place.span.start as usize;
            // A trial is added to the rule of either demand; one of the two at least is broken.
            let broken = [begin, end].into_iter().any(|at| {
                let next = rules[at..].find("\nrule ").map_or(rules.len(), |next| at + next);
                let (head, tail) = rules.split_at(next);
                let with_trial = format!("{}\n  trial broken {document}\n{tail}", head.trim_end());
                let proof = crate::support::session(&[(&file, &with_trial)]).prove();
                !proof.diagnostics.iter().any(|found| found.code.as_str() == "rules/trial-failed")
            });
            assert!(broken, "{file}: {document} breaks neither");
            replayed += 1;
        }
    }
    assert!(replayed >= 6, "only {replayed} documents were replayed");
}
