//! What every rule of the shipped standards must have.

use std::collections::{BTreeMap, BTreeSet};

use serde_yaml::Value;
use witnessmark::language::ast::TrialOutcome;
use witnessmark::library::SHIPPED;
use witnessmark::session::Session;
use witnessmark::source::{Place, Span};

use crate::support::session;

#[test]
fn every_rule_says_what_to_do_why_and_on_what_basis_and_has_trials() {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|one| (one.file, one.text)).collect();
    for rule in session(&files).program().rules().all() {
        for (clause, text) in [("remedy", &rule.remedy), ("because", &rule.because), ("basis", &rule.basis)] {
            assert!(text.is_some(), "{} has no clause `{clause}`", rule.name);
        }
        let tried = |outcome| rule.trials.iter().any(|trial| trial.outcome == outcome);
        assert!(tried(TrialOutcome::Met) && tried(TrialOutcome::Broken), "{} is not tried", rule.name);
        assert!(rule.says_again.is_empty(), "{} says again what the head says", rule.name);
    }
}

/// A rule has a trial that is undecided, unless it cannot be: whatever one leaves out of the records of its other trials, it
/// is met, broken or not concerned.
#[test]
fn every_rule_that_can_be_undecided_is_tried_so() {
    let can: Vec<String> = SHIPPED
        .iter()
        .flat_map(|one| {
            let session = session(&[(one.file, &with_something_left_out(one.text))]);
            could_be_undecided(&session)
        })
        .collect();
    assert!(
        can.is_empty(),
        "something can be left out so that these are undecided, and no trial shows it:\n{}",
        can.join("\n")
    );
}

/// A rule that looks at what is not recorded is found.
#[test]
fn a_rule_that_was_never_tried_undecided_is_found() {
    let rule = |trials: &str| {
        let text = format!(
            "standard s edition 1 \"S\"\njudges job\n\nrule r \"R\"\n  concerns each s in fastenings where recorded s.role\n  \
             demands s.torque at least 5 Nm\n  otherwise hold \"{{s.torque}}\"\n{trials}"
        );
        could_be_undecided(&session(&[("s.standard", &with_something_left_out(&text))]))
    };
    let met = "  trial met { fastenings: [{ role: plug, torque: 9 Nm }] }\n";
    assert_eq!(rule(met), ["s.r: trial undecided {\"fastenings\":[{\"role\":\"plug\"}]}"]);
    assert_eq!(rule(&format!("{met}  trial undecided {{ fastenings: [{{ role: plug }}] }}\n")), [""; 0]);
    assert_eq!(rule("  trial met { unit: { kind: engine } }\n"), [""; 0]);
}

/// The rules of which a trial came out undecided as it claims, each with the first such trial.
fn could_be_undecided(session: &Session) -> Vec<String> {
    let proof = session.prove();
    let failed: BTreeSet<Span> =
        proof.diagnostics.iter().filter_map(|wrong| Some(wrong.place()?.span)).collect();
    let rules = session.program().rules().all().iter().filter_map(|rule| {
        let came_out = rule.trials.iter().find(|trial| !failed.contains(&trial.span))?;
        let source = rule.place.source;
        let written = session.sources().text_at(Place { source, span: came_out.span });
        Some(format!("{}: {written}", rule.name))
    });
    rules.collect()
}

/// The text with other trials: of each rule that is never tried undecided, every record of a trial with each of its values left
/// out in turn, and the claim that it is undecided.
fn with_something_left_out(text: &str) -> String {
    let clauses = clauses(text);
    let mut tried: BTreeMap<usize, bool> = BTreeMap::new();
    for (rule, clause) in &clauses {
        *tried.entry(*rule).or_default() |= clause.trim_start().starts_with("trial undecided");
    }
    let mut written = String::new();
    for (rule, clause) in &clauses {
        match clause.trim_start().strip_prefix("trial ") {
            None => written.push_str(clause),
            Some(_) if tried[rule] => {}
            Some(trial) => {
                let Some(start) = trial.find('{') else { continue };
                let given = trial[..start].find("with ").map_or("", |at| &trial[at..start]);
                let record: Value = serde_yaml::from_str(&trial[start..]).unwrap();
                for less in without_each(&record) {
                    let less = serde_json::to_string(&less).unwrap();
                    written.push_str(&format!("  trial undecided {given}{less}\n"));
                }
            }
        }
    }
    written
}

/// The lines of a rule file, those of a trial together, each with the number of the rule in which it stands.
fn clauses(text: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut number = 0;
    for line in text.split_inclusive('\n') {
        number += usize::from(line.starts_with("rule "));
        match found.last_mut() {
            Some((_, trial))
                if trial.starts_with("  trial ")
                    && ["    ", "  }", "  ]"].iter().any(|head| line.starts_with(head)) =>
            {
                trial.push_str(line)
            }
            _ => found.push((number, line.to_owned())),
        }
    }
    found
}

/// The record without one of its values, for each of them.
fn without_each(value: &Value) -> Vec<Value> {
    match value {
        Value::Mapping(fields) => {
            let mut found = Vec::new();
            for (name, inner) in fields {
                let mut less = fields.clone();
                less.remove(name);
                found.push(Value::Mapping(less));
                for inner in without_each(inner) {
                    let mut less = fields.clone();
                    less.insert(name.clone(), inner);
                    found.push(Value::Mapping(less));
                }
            }
            found
        }
        Value::Sequence(entries) => {
            let less = |at: usize, inner: Value| {
                let mut less = entries.clone();
                less[at] = inner;
                Value::Sequence(less)
            };
            entries
                .iter()
                .enumerate()
                .flat_map(|(at, entry)| without_each(entry).into_iter().map(move |inner| less(at, inner)))
                .collect()
        }
        _ => Vec::new(),
    }
}
