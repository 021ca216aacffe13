//! The example of every builtin is a demand that is met.

use std::sync::Arc;

use witnessmark::finding::{Summary, Tally};
use witnessmark::language::builtins::{self, BUILTINS};
use witnessmark::metrology::Working;
use witnessmark::quantity::Range;
use witnessmark::value::Value;

use crate::support::session;

const RECORD: &str = "form: job/1
job: {number: K-1, opened: 2026-03-02T08:15, state: closed}
vehicle: {}
unit: {kind: engine}
";

/// What a demand comes to on a small record.
fn tally(demand: &str) -> Tally {
    let rules = format!(
        "standard examples edition 1 \"Examples\"\njudges job\n\n\
         rule example \"An example\"\n  demands {demand}\n  otherwise note \"It does not hold.\"\n"
    );
    let session = session(&[("examples.standard", &rules)]);
    assert!(session.diagnostics().is_empty(), "{demand}: {:#?}", session.diagnostics());
    let mut summary = Summary::default();
    for document in session.judge("record.yaml", RECORD) {
        assert!(document.diagnostics.is_empty(), "{:#?}", document.diagnostics);
        summary.add(&document, |number| session.program().rule_name(number));
    }
    summary.rules["examples.example"].clone()
}

#[test]
fn every_example_is_met() {
    for builtin in BUILTINS {
        let met = Tally { met: 1, ..Tally::default() };
        assert_eq!(tally(builtin.example), met, "{}: {}", builtin.name, builtin.example);
        assert!(builtin.example.contains(&format!("{}(", builtin.name)), "{}", builtin.name);
    }
}

/// An example that would hold whatever the function answers proves nothing.
#[test]
fn no_example_is_met_when_its_opposite_is_asked() {
    for builtin in BUILTINS {
        let broken = Tally { broken: 1, ..Tally::default() };
        assert_eq!(tally(&format!("not ({})", builtin.example)), broken, "{}", builtin.name);
    }
}

#[test]
fn every_builtin_says_what_it_means() {
    for builtin in BUILTINS {
        let name = builtin.name;
        assert!(builtin.doc.ends_with('.') && builtin.doc.len() > 20, "{name}: {}", builtin.doc);
        assert!(!builtin.doc.contains("  "), "{name}: a gap in the text");
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{name}");
        assert_eq!(BUILTINS.iter().filter(|other| other.name == name).count(), 1, "{name} stands twice");
        assert!(!builtin.parameters.is_empty(), "{name}");
    }
}

/// What has no answer is a fault with a code, and `why` explains it.
#[test]
fn what_has_no_answer_is_a_fault() {
    let call = |name: &str, arguments: &[Value<'static>]| {
        (builtins::find(name).unwrap().function)(arguments, &mut Working::none()).unwrap_err().code.as_str()
    };
    assert_eq!(call("vin_check_digit_agrees", &[Value::Text("1M8GDM9A".into())]), "rules/vin-form");
    let at_most = Range::parse("at most 5 Nm", None).unwrap();
    assert_eq!(call("lower_limit", &[Value::Range(Arc::new(at_most))]), "rules/no-answer");
}
