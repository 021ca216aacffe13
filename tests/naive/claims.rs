//! What the analysis says of generated programs, against what comes out on generated records: no claim is ever wrong.

use witnessmark::diagnostic::Diagnostic;
use witnessmark::finding::{Judged, Outcome};

use super::case::{Opened, program_of};
use super::records::{record, yaml};
use super::{RECORDS, on_all_seeds};

/// Whether a claim is wrong by what came out on a record.
fn is_wrong(opened: &Opened, claim: &Diagnostic, real: &Judged) -> bool {
    let place = claim.place().expect("a claim has a place");
    let is_broken = |finding: &witnessmark::finding::Finding| {
        finding.demand == place && finding.outcome == Outcome::Broken
    };
    let tallies = opened.tallies(real);
    let tally = opened.rule_at(place).and_then(|rule| tallies.iter().find(|(known, _)| *known == rule.name));
    let [met, broken, ..] = tally.map(|(_, tally)| *tally).unwrap_or_default();
    let alone = opened.rule_at(place).is_some_and(|rule| rule.demands.len() == 1 && !rule.chooses());
    match claim.code.as_str() {
        "analysis/never-broken" | "analysis/constant" => real.findings.iter().any(is_broken),
        "analysis/never-concerns" => broken > 0,
        // Where it is open whether the rule concerns something, what is met is counted all the same.
        "analysis/never-met" => alone && met > 0,
        _ => false,
    }
}

#[test]
fn no_claim_on_a_generated_program_is_wrong() {
    let results = on_all_seeds(|seed| {
        let (program, mut rng) = program_of(seed);
        let limits = program.limits.clone();
        let Ok(Some(opened)) = Opened::new(program) else { return Ok(0) };
        let claims = opened.claims();
        for _ in 0..RECORDS * usize::from(!claims.is_empty()) {
            let text = yaml(&record(&mut rng, &limits).0);
            let Ok(real) = opened.real(&text) else { continue };
            if let Some(wrong) = claims.iter().find(|claim| is_wrong(&opened, claim, &real)) {
                let (code, rules) = (wrong.code.as_str(), opened.program.text());
                return Err(format!(
                    "seed {seed}: {code}: {}\n{rules}\n--- record ---\n{text}",
                    wrong.message
                ));
            }
        }
        Ok(claims.len())
    });
    let claims: Result<Vec<usize>, String> = results.into_iter().collect();
    let claims: usize = claims.unwrap_or_else(|failure| panic!("{failure}")).iter().sum();
    assert!(claims > 100, "only {claims} claims were held against records");
}
