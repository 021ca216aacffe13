//! The example of every builtin is a demand that is met.

use std::sync::Arc;

use witnessmark::finding::{Summary, Tally};
use witnessmark::language::builtins;
use witnessmark::metrology::Working;
use witnessmark::quantity::{Number, Quantity, Range};
use witnessmark::time;
use witnessmark::value::{Moment, Value};

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
        summary.add(&document, |number| &session.program().rules()[number].name);
    }
    // What it costs is no part of what it comes to.
    Tally { steps: 0, ..summary.rules["examples.example"].clone() }
}

#[test]
fn every_example_is_met() {
    for builtin in builtins::all() {
        let met = Tally { met: 1, ..Tally::default() };
        assert_eq!(tally(builtin.example), met, "{}: {}", builtin.name, builtin.example);
        assert!(builtin.example.contains(&format!("{}(", builtin.name)), "{}", builtin.name);
    }
}

/// An example that would hold whatever the function answers proves nothing.
#[test]
fn no_example_is_met_when_its_opposite_is_asked() {
    for builtin in builtins::all() {
        let broken = Tally { broken: 1, ..Tally::default() };
        assert_eq!(tally(&format!("not ({})", builtin.example)), broken, "{}", builtin.name);
    }
}

#[test]
fn every_builtin_says_what_it_means() {
    for builtin in builtins::all() {
        let name = builtin.name;
        assert!(builtin.doc.ends_with('.') && builtin.doc.len() > 20, "{name}: {}", builtin.doc);
        assert!(!builtin.doc.contains("  "), "{name}: a gap in the text");
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{name}");
        assert_eq!(builtins::all().filter(|other| other.name == name).count(), 1, "{name} stands twice");
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

/// The ends of the months are the calendar's own: 2024 is a leap year, 2023 is not.
#[test]
fn months_are_counted_by_the_calendar() {
    let later = |time: &Value<'static>, months: u32| {
        let months = Value::Quantity(Quantity::from(Number::from(i64::from(months))));
        (builtins::find("months_later").unwrap().function)(&[time.clone(), months], &mut Working::none())
    };
    let day = |text: &str| Value::Day(text.parse().unwrap());
    let civil = |text: &str| Value::Moment(Moment::Civil(text.parse().unwrap()));
    let exact = |text: &str| Value::Moment(time::moment(text).unwrap());
    for (from, months, to) in [
        (day("2024-01-31"), 1, day("2024-02-29")),
        (day("2023-01-31"), 1, day("2023-02-28")),
        (day("2024-02-29"), 12, day("2025-02-28")),
        (day("2026-03-02"), 24, day("2028-03-02")),
        (civil("2024-01-31T08:15"), 1, civil("2024-02-29T08:15")),
        (exact("2024-01-31T08:15:00Z"), 13, exact("2025-02-28T08:15:00Z")),
        (exact("2024-01-31T00:30:00+01:00"), 1, exact("2024-02-29T00:30:00+01:00")),
    ] {
        assert_eq!(later(&from, months).unwrap(), to, "{from:?} and {months} months");
    }
    let refused = later(&day("2026-03-02"), 1_201).unwrap_err();
    assert!(refused.message.starts_with("1201 months after 2026-03-02"), "{}", refused.message);
    assert!(later(&day("9999-06-01"), 12).is_err());
    assert!(later(&exact("9999-12-01T00:00:00Z"), 1).is_err());
    let text = Value::Text("soon".into());
    assert_eq!(later(&text, 1).unwrap_err().code.as_str(), "rules/no-answer");
}

/// A month is full on its day, or on the last of a month that has none; 12 months are a year, leap or not.
#[test]
fn ages_are_full_calendar_months() {
    let age = |since: &str, at: &str| {
        let day = |text: &str| match text.contains('T') {
            true => Value::Moment(time::moment(text).unwrap()),
            false => Value::Day(text.parse().unwrap()),
        };
        (builtins::find("age_in_months").unwrap().function)(&[day(since), day(at)], &mut Working::none())
    };
    for (since, at, months) in [
        ("2024-03-01", "2025-02-28", 11),
        ("2024-03-01", "2025-03-01", 12),
        ("2023-03-01", "2024-02-29", 11),
        ("2024-01-31", "2024-02-28", 0),
        ("2024-01-31", "2024-02-29", 1),
        ("2024-01-31", "2024-03-30", 1),
        ("2026-03-02", "2026-03-02", 0),
        ("2024-02-29", "2028-02-29", 48),
        ("2026-03-02T00:30:00+01:00", "2026-04-01T23:00:00Z", 0),
        ("2026-03-02T00:30:00+01:00", "2026-04-02T00:00:00Z", 1),
    ] {
        let months = Value::Quantity(Quantity::from(Number::from(i64::from(months))));
        assert_eq!(age(since, at).unwrap(), months, "{since} to {at}");
    }
    let refused = age("2026-03-02", "2026-03-01").unwrap_err();
    assert_eq!(refused.message, "2026-03-01 lies before 2026-03-02, so there is no age to tell");
    assert_eq!(refused.argument, Some(1));
}
