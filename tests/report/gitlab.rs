//! The code quality report of GitLab.

use serde_json::{Value, json};
use witnessmark::diagnostic::Level;
use witnessmark::finding::{Judged, Standing};

use crate::report::support::{Sample, full, with_known, with_rule_fault};

/// What GitLab asks of each finding, from its documentation of the format.
fn schema() -> Value {
    let text = json!({ "type": "string", "minLength": 1 });
    json!({ "type": "array", "items": {
        "type": "object",
        "required": ["description", "check_name", "fingerprint", "severity", "location"],
        "properties": {
            "description": text, "check_name": text, "fingerprint": text,
            "severity": { "enum": ["info", "minor", "major", "critical", "blocker"] },
            "location": {
                "type": "object",
                "required": ["path", "lines"],
                "properties": {
                    "path": { "type": "string", "pattern": "^[^/.]" },
                    "lines": { "type": "object", "required": ["begin"], "properties": { "begin": { "type": "integer", "minimum": 1 } } },
                },
            },
        },
    } })
}

#[test]
fn reports_follow_the_form_of_the_server() {
    let validator = jsonschema::draft7::options().build(&schema()).unwrap();
    for sample in [Sample::of(&[]), Sample::new(), full(), with_known(), with_rule_fault()] {
        let report = sample.json("gitlab");
        let faults: Vec<String> = validator.iter_errors(&report).map(|fault| fault.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new(), "{report:#}");
        let list = report.as_array().unwrap();
        let fingerprints: std::collections::BTreeSet<&str> =
            list.iter().map(|one| one["fingerprint"].as_str().unwrap()).collect();
        assert_eq!(fingerprints.len(), list.len(), "each has a fingerprint of its own");
    }
}

#[test]
fn only_what_counts_is_listed() {
    let of = |sample: &Sample| {
        let report = sample.json("gitlab");
        let list = report.as_array().unwrap().clone();
        list.iter().map(|one| one["severity"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(of(&full()), ["critical", "minor", "critical", "critical", "info", "info"]);
    let known = with_known();
    let counts = |one: &Judged| {
        one.findings.iter().filter(|found| found.standing == Standing::Counts).count()
            + one.diagnostics.iter().filter(|found| found.level != Level::Known).count()
    };
    assert_eq!(of(&known).len(), known.documents.iter().map(counts).sum::<usize>() + 1);
    assert!(known.documents.iter().any(|one| one.at_level(Level::Known) > 0));
    let report = full().json("gitlab");
    let torque = &report[2];
    assert_eq!(torque["check_name"], "sump_service.screw_torque");
    assert_eq!(
        torque["location"],
        json!({ "path": "jobs/k-2041.yaml", "lines": { "begin": 12, "end": 12 } })
    );
    let said = torque["description"].as_str().unwrap();
    assert!(
        said.starts_with("Sump screw A2: 12 Nm recorded") && said.contains("; found: 12 Nm; required: 9 Nm"),
        "{said}"
    );
}
