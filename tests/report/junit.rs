//! The JUnit form, read by another XML reader and compared with the JSON form.

use std::collections::{BTreeMap, BTreeSet};

use roxmltree::{Document, Node};
use serde_json::Value;
use witnessmark::finding::{Judged, Standing};
use witnessmark::language::ast::Severity;
use witnessmark::report::Style;

use crate::report::support::{Sample, finding, full, with_rule_fault};
use crate::support::{Folder, finish, program, root};

fn junit(sample: &Sample) -> String {
    sample.render("junit", Style::default())
}

fn elements<'a, 'i: 'a>(node: Node<'a, 'i>, name: &'a str) -> impl Iterator<Item = Node<'a, 'i>> {
    node.descendants().filter(move |node| node.has_tag_name(name))
}

fn suite<'a, 'i: 'a>(report: &'a Document<'i>, name: &str) -> Node<'a, 'i> {
    let mut found = elements(report.root(), "testsuite").filter(|one| one.attribute("name") == Some(name));
    let suite = found.next().unwrap_or_else(|| panic!("no suite `{name}`"));
    assert!(found.next().is_none(), "two suites `{name}`");
    suite
}

/// How a case ended: the name of the element, its type and its message.
fn end<'a>(suite: Node<'a, '_>, class: &str, name: &str) -> (&'a str, &'a str, &'a str) {
    let case = elements(suite, "testcase")
        .find(|case| case.attribute("classname") == Some(class) && case.attribute("name") == Some(name))
        .unwrap_or_else(|| panic!("no case `{class}` `{name}`"));
    let ends = ["failure", "error", "skipped"];
    case.children().find(|child| ends.contains(&child.tag_name().name())).map_or(("", "", ""), |child| {
        let attribute = |name| child.attribute(name).unwrap_or_default();
        (child.tag_name().name(), attribute("type"), attribute("message"))
    })
}

/// The counts that each suite states are those of its cases, and no case stands twice.
fn counts_agree(report: &Document<'_>) {
    for suite in elements(report.root(), "testsuite") {
        let stated = |name: &str| suite.attribute(name).unwrap().parse::<usize>().unwrap();
        assert_eq!(stated("tests"), elements(suite, "testcase").count());
        for (attribute, element) in [("failures", "failure"), ("errors", "error"), ("skipped", "skipped")] {
            assert_eq!(stated(attribute), elements(suite, element).count(), "{attribute}");
        }
        let mut seen = BTreeSet::new();
        for case in elements(suite, "testcase") {
            let name = (case.attribute("classname").unwrap(), case.attribute("name").unwrap());
            assert!(seen.insert(name), "{name:?} stands twice");
        }
    }
}

#[test]
fn each_rule_is_a_case_of_its_document() {
    let text = junit(&full());
    let report = Document::parse(&text).unwrap();
    counts_agree(&report);
    let first = suite(&report, "jobs/k-2041.yaml");
    let torque = end(first, "sump_service", "screw_torque");
    let message = "Sump screw A2: 12 Nm recorded, 9 Nm ± 10 % required. (2 findings in all)";
    assert_eq!(torque, ("failure", "hold", message));
    let told = elements(first, "failure").next().unwrap().text().unwrap();
    for line in [
        "jobs/k-2041.yaml line 12: hold: Sump screw A2: 12 Nm recorded, 9 Nm ± 10 % required.",
        "jobs/k-2041.yaml line 13: hold, undecided: Sump screw A3: its torque is not recorded.",
        "jobs/k-2041.yaml line 8: still to do: Sump screw A3: its torque is not recorded.",
        "found: 12 Nm",
        "required: 9 Nm ± 10 % (8.1 Nm .. 9.9 Nm)",
        "off by: 2.1 Nm above the upper limit",
        "demand: rules/sump.standard line 8",
    ] {
        assert!(told.lines().any(|found| found == line), "`{line}` is not in {told}");
    }
    assert_eq!(end(first, "witnessmark", "document").0, "error");
    assert_eq!(end(first, "witnessmark", "document").1, "quantity/number-form");
    let second = suite(&report, "jobs/k-2042.yaml");
    assert_eq!(end(second, "sump_service", "screw_torque"), ("", "", ""));
    assert_eq!(end(second, "sump_service", "pan_sealed"), ("skipped", "", "not concerned"));
    assert_eq!(end(suite(&report, "run"), "witnessmark", "jobs/notes.yaml").0, "skipped");
}

/// An advice is told and does not fail a run that fails at holds.
#[test]
fn a_case_fails_where_the_run_does() {
    let mut sample = full();
    for (fail_on, wanted) in [(Severity::Hold, ""), (Severity::Advice, "failure")] {
        sample.run.fail_on = fail_on;
        let text = junit(&sample);
        let report = Document::parse(&text).unwrap();
        let first = suite(&report, "jobs/k-2041.yaml");
        assert_eq!(end(first, "sump_service", "pan_sealed").0, wanted);
        assert!(text.contains("line 2: advice, undecided: No gasket is recorded."));
    }
}

#[test]
fn work_still_to_do_is_skipped_and_an_unreadable_document_is_an_error() {
    let mut sample = Sample::new();
    let to_do = finding(sample.at("A1"), sample.demand());
    let document = &mut sample.documents[0];
    document.findings.push(witnessmark::finding::Finding { standing: Standing::StillToDo, ..to_do });
    document.tallies[0].1 = witnessmark::finding::Tally { undecided: 1, ..Default::default() };
    let broken =
        Judged { readable: false, tallies: Vec::new(), name: "broken.yaml".into(), ..document.clone() };
    sample.documents.push(broken);
    let text = junit(&sample);
    let report = Document::parse(&text).unwrap();
    let first = suite(&report, "jobs/k-2041.yaml");
    assert_eq!(end(first, "sump_service", "screw_torque"), ("skipped", "", "still to do"));
    assert_eq!(end(suite(&report, "broken.yaml"), "witnessmark", "document").0, "error");
}

#[test]
fn mistakes_in_the_rules_are_a_suite_of_their_own() {
    let text = junit(&with_rule_fault());
    let report = Document::parse(&text).unwrap();
    counts_agree(&report);
    let rules = suite(&report, "rules and settings");
    let message = "`seals` is not a field of a job";
    assert_eq!(end(rules, "witnessmark", "rules/sump.standard"), ("error", "quantity/number-form", message));
    let text = junit(&full());
    let report = Document::parse(&text).unwrap();
    assert_eq!(end(suite(&report, "rules and settings"), "witnessmark", "rules/sump.standard").0, "");
}

#[test]
fn a_run_over_nothing_is_an_error() {
    let mut sample = Sample::of(&[]);
    let rules = sample.run.rules.iter().map(|rule| (rule.name.clone(), Default::default()));
    sample.summary.rules = rules.collect();
    let text = junit(&sample);
    let report = Document::parse(&text).unwrap();
    assert_eq!(end(suite(&report, "run"), "witnessmark", "something was judged").0, "error");
    assert_eq!(end(suite(&report, "run"), "sump_service", "pan_sealed"), ("skipped", "", "never applied"));
    // A run that only proves its rules sets out to judge nothing.
    let ran = Folder::new().run("prove job_basics --format junit").quietly(0);
    let report = Document::parse(&ran.out).unwrap();
    assert_eq!(elements(report.root(), "testsuite").count(), 1, "{}", ran.out);
}

/// The failing pairs of document and rule, the documents with errors, and the pairs of document and
/// rule that met a demand, as the JSON form has them.
#[test]
fn a_real_run_says_the_same_as_its_json_form() {
    let run = |format: &str| {
        let mut command = program(&root());
        let records = "examples/grauwasser/jobs";
        command.args(["inspect", records, "--as-of", "2026-03-31", "--format", format]);
        finish(command, "").quietly(1).out
    };
    let (text, json) = (run("junit"), run("json"));
    assert_eq!(text, run("junit"), "the same run gives the same report");
    let (report, json) = (Document::parse(&text).unwrap(), serde_json::from_str::<Value>(&json).unwrap());
    counts_agree(&report);
    assert_eq!(json["fail_on"], "advice", "the settings of the example");
    let mut failing = BTreeSet::new();
    let mut faulty = BTreeSet::new();
    let mut skipped = BTreeMap::new();
    for document in json["documents"].as_array().unwrap() {
        let name = document["name"].as_str().unwrap();
        for finding in document["findings"].as_array().unwrap() {
            if finding["standing"] == "counts" && finding["severity"] != "note" {
                failing.insert(format!("{name} {}", finding["rule"].as_str().unwrap()));
            }
        }
        let errors = document["diagnostics"].as_array().unwrap().iter().any(|one| one["level"] == "error");
        let advised = document["diagnostics"].as_array().unwrap().iter().any(|one| one["level"] == "advice");
        if errors || document["readable"] == false {
            faulty.insert(name);
        } else if advised {
            failing.insert(format!("{name} witnessmark.document"));
        }
        for tally in document["tallies"].as_array().unwrap() {
            let applied = ["met", "broken", "undecided"].iter().any(|outcome| tally[outcome] != 0);
            if !applied {
                skipped
                    .insert(format!("{name} {}", tally["rule"].as_str().unwrap()), &tally["not_concerned"]);
            }
        }
    }
    assert!(failing.len() > 5 && !faulty.is_empty() && !skipped.is_empty(), "a run worth comparing");
    for suite in elements(report.root(), "testsuite") {
        let name = suite.attribute("name").unwrap();
        for case in elements(suite, "testcase") {
            let rule =
                format!("{}.{}", case.attribute("classname").unwrap(), case.attribute("name").unwrap());
            let has = |element| elements(case, element).next();
            assert_eq!(has("failure").is_some(), failing.remove(&format!("{name} {rule}")), "{name} {rule}");
            assert_eq!(has("error").is_some(), rule == "witnessmark.document" && faulty.remove(name));
            if let Some(number) = skipped.remove(&format!("{name} {rule}")) {
                let reason = if *number == 0 { "met no subject" } else { "not concerned" };
                assert_eq!(has("skipped").and_then(|skip| skip.attribute("message")), Some(reason));
            }
        }
    }
    assert!(
        failing.is_empty() && faulty.is_empty() && skipped.is_empty(),
        "{failing:?} {faulty:?} {skipped:?}"
    );
}

/// XML 1.0 has no way to write most control characters; what people wrote stays legible all the same.
#[test]
fn what_xml_cannot_hold_is_written_out() {
    let folder = Folder::new();
    folder.write(
        "odd.yaml",
        "form: job/1\njob: { number: \"<a&b> \\\"]]>\\x01\\x1b[2J\\uFFFF\\uFFFE\\U0001F527\", state: \"\\x02\" }\n",
    );
    let ran = folder.run("inspect odd.yaml --without-settings --as-of 2026-03-31 --format junit");
    let report = Document::parse(&ran.out).unwrap();
    counts_agree(&report);
    assert!(ran.out.contains("\\u{2}"), "{}", ran.out);
    let forbidden = |c: &char| c.is_control() && *c != '\n' || ('\u{fffe}'..='\u{ffff}').contains(c);
    assert_eq!(ran.out.chars().find(forbidden), None);
}
