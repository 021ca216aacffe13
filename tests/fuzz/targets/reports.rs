//! Reports: valid in each form, harmless on a screen, and the same for any number of threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{LazyLock, Mutex};

use jsonschema::Validator;
use serde_json::Value;
use witnessmark::finding::{Judged, Summary};
use witnessmark::language::ast::Severity;
use witnessmark::language::ids::Id;
use witnessmark::letters::is_unseen;
use witnessmark::report::{self, JudgedBy, RuleInfo, Run, StandardInfo, Style};
use witnessmark::session::Session;

use super::check::{decoded, diagnostics, judged};
use super::given::{BETWEEN, FORMS, MOST_STEPS, RECORD, RULES, halves, inputs, opened, texts};

static JSON: LazyLock<Validator> = LazyLock::new(|| {
    let schema = serde_json::from_str(include_str!("../../../grammar/report.schema.json")).expect("JSON");
    jsonschema::draft202012::options().should_validate_formats(true).build(&schema).expect("a schema")
});

static SARIF: LazyLock<Validator> = LazyLock::new(|| {
    // One published pattern (`run.language`) ends in a stray bracket, which ECMA-262 refuses.
    let schema = include_str!("../../schemas/sarif-2.1.0.schema.json").replace("{2}]?$", "{2}$");
    let schema = serde_json::from_str(&schema).expect("JSON");
    jsonschema::draft7::options().should_validate_formats(true).build(&schema).expect("a schema")
});

fn run(session: &Session) -> Run {
    let standard = |standard: &witnessmark::language::typed::Standard| StandardInfo {
        name: standard.name.clone(),
        edition: Some(standard.edition),
        title: Some(standard.title.clone()).filter(|title| !title.is_empty()),
        place: standard.place,
    };
    let rule = |rule: &witnessmark::language::typed::Rule| RuleInfo {
        name: rule.name.clone(),
        title: rule.title.clone(),
        severity: rule.severity,
        remedy: rule.remedy.clone(),
        because: rule.because.clone(),
        basis: rule.basis.clone(),
        left_out: None,
        place: rule.name_place,
    };
    let program = session.program();
    Run {
        version: "0.1.0".to_owned(),
        as_of: session.setting().as_of,
        decision: session.setting().decision.clone(),
        fail_on: Severity::Hold,
        standards: program.standards().iter().map(standard).collect(),
        rules: program.rules().all().iter().map(rule).collect(),
        diagnostics: session.diagnostics().to_vec(),
        judged_by: JudgedBy::default(),
        sources: session.sources().clone(),
    }
}

/// A report in one of its forms.
fn rendered(format: &str, run: &Run, documents: &[Judged], style: Style) -> String {
    let mut summary = Summary::default();
    documents.iter().for_each(|document| summary.add(document, |rule| &run.rules[rule.place()].name));
    let format = report::find(format).expect("a form of report").format;
    String::from_utf8(report::whole(format, run, documents, &summary, style)).expect("a report is text")
}

fn valid(by: &Validator, report: &str) {
    let report: Value = serde_json::from_str(report).expect("a report for programs is JSON");
    let faults: Vec<String> =
        by.iter_errors(&report).map(|fault| format!("{}: {fault}", fault.instance_path())).collect();
    assert_eq!(faults, [""; 0]);
}

/// Nothing that a terminal would obey or not show.
fn harmless(report: &str) {
    let odd = |c: &char| *c != '\n' && (c.is_control() || is_unseen(*c));
    assert_eq!(report.chars().find(odd), None, "{report}");
}

/// Rules, or nothing for those of the targets; then a record. Every form of report of what is found.
pub fn report(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let (rules, record) = halves(&text);
    let rules = if rules.trim().is_empty() { RULES } else { rules };
    let session = opened(&[("made-up.standard", rules)], FORMS.clone(), Vec::new());
    diagnostics(session.diagnostics(), session.sources());
    let documents = session.judge("record.yaml", record);
    documents.iter().for_each(|document| judged(document, MOST_STEPS));
    let run = run(&session);
    let style = Style::default();
    valid(&JSON, &rendered("json", &run, &documents, style));
    valid(&SARIF, &rendered("sarif", &run, &documents, style));
    assert!(rendered("junit", &run, &documents, style).ends_with("</testsuites>\n"), "the XML is whole");
    for width in [20, 100] {
        let style = Style { width, ..style };
        harmless(&rendered("plain", &run, &documents, style));
        harmless(&rendered("terminal", &run, &documents, style));
    }
}

/// Rules and records; each record is a file. They are judged by one thread and by eight, which share a session.
pub fn threads(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let (rules, records) = halves(&text);
    let rules = if rules.trim().is_empty() { RULES } else { rules };
    let records: Vec<&str> = records.split(BETWEEN).collect();
    let report = |threads: usize| {
        let session = opened(&[("made-up.standard", rules)], FORMS.clone(), Vec::new());
        let documents = judged_by(&session, &records, threads);
        let run = run(&session);
        ["json", "sarif", "plain"].map(|format| rendered(format, &run, &documents, Style::default()))
    };
    assert_eq!(report(1), report(8), "one thread and eight say the same");
}

fn judged_by(session: &Session, records: &[&str], threads: usize) -> Vec<Judged> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::new());
    let work = || {
        while let Some((number, record)) = take(&next, records) {
            let judged = session.judge(&format!("record-{number}.yaml"), record);
            done.lock().expect("no thread has failed").push((number, judged));
        }
    };
    std::thread::scope(|scope| (0..threads).for_each(|_| drop(scope.spawn(work))));
    let mut done = done.into_inner().expect("no thread has failed");
    done.sort_by_key(|(number, _)| *number);
    done.into_iter().flat_map(|(_, judged)| judged).collect()
}

fn take<'r>(next: &AtomicUsize, records: &[&'r str]) -> Option<(usize, &'r str)> {
    let number = next.fetch_add(1, Ordering::Relaxed);
    records.get(number).map(|record| (number, *record))
}

/// Records behind the line between texts; the rules are those of the targets.
pub fn seeds() -> Vec<Vec<u8>> {
    let records = texts("examples/grauwasser/jobs", ".yaml");
    let mut seeds: Vec<String> = records.iter().map(|record| format!("{BETWEEN}{record}")).collect();
    seeds.push(format!("{RULES}{BETWEEN}{RECORD}{BETWEEN}{}", RECORD.replace("12 Nm", "9 Nm")));
    seeds.push(format!("{BETWEEN}{RECORD}{BETWEEN}{RECORD}---\n{RECORD}"));
    inputs(seeds)
}
