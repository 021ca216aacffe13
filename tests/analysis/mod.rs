//! What is told of rules without a document: each example at its line and nothing else, each claim held against documents.

mod accepted;
mod enumerated;
mod examples;
mod related;
mod replayed;

use witnessmark::diagnostic::{Diagnostic, Level};
use witnessmark::session::Session;

/// What the analysis says of rules: line, level and code, in the order of the lines.
fn told(session: &Session) -> Vec<(usize, String)> {
    let found = claims(session);
    let mut told: Vec<(usize, String)> =
        found.iter().map(|found| (line(session, found), head(found))).collect();
    told.sort();
    told
}

fn claims(session: &Session) -> Vec<Diagnostic> {
    let proof = session.prove();
    proof.diagnostics.into_iter().filter(|found| found.code.as_str().starts_with("analysis/")).collect()
}

fn head(found: &Diagnostic) -> String {
    let level = match found.level {
        Level::Error => "error",
        Level::Advice => "advice",
        Level::Note | Level::Known => "note",
    };
    format!("{level} {}", found.code.as_str())
}

fn line(session: &Session, found: &Diagnostic) -> usize {
    let start = session.sources().start_of(found.place().unwrap());
    start.map_or(0, |start| start.line)
}

/// Rules that take more work than may be done are not looked at to the end, and that is said.
#[test]
fn an_analysis_that_takes_too_much_work_stops_and_says_so() {
    let mut rules =
        "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each s in fastenings\n".to_owned();
    for number in 0..5_000 {
        rules += &format!("  demands s.torque at least {number} Nm\n");
    }
    rules += "  otherwise hold \"M.\"\n";
    let session = crate::support::session(&[("rules.standard", &rules)]);
    let found = claims(&session);
    assert!(found.iter().any(|found| found.code.as_str() == "analysis/stopped"), "{found:#?}");
}
