//! What must hold of any bytes. A target takes bytes and panics where an invariant is broken; libFuzzer (`main.rs`) and
//! the replay among the tests (`mod.rs` of the folder above) run the same ones.

mod check;
mod documents;
mod editor;
mod given;
pub(crate) mod layout;
mod logs;
pub(crate) mod repeat;
mod reports;
mod rules;
mod values;

use witnessmark::document::read;

use check::ALONE;
use given::{BETWEEN, FORMS, RECORD, RULES, inputs, opened, text, texts};

/// An invariant, or several of one reader.
pub struct Target {
    /// Its name.
    pub name: &'static str,
    /// Panics where the invariant is broken.
    pub run: fn(&[u8]),
    /// Bytes to begin with.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// How long the inputs of libFuzzer become, in bytes.
    pub longest: usize,
}

macro_rules! targets {
    ($($name:ident: $run:path, $seeds:expr, $longest:literal;)*) => {
        /// All of them.
        pub const TARGETS: &[Target] = &[$(Target {
            name: stringify!($name),
            run: $run,
            seeds: $seeds,
            longest: $longest,
        }),*];
    };
}

targets! {
    value: values::value, || values::seeds(values::VALUES), 64;
    range: values::range, || values::seeds(values::RANGES), 64;
    csv: logs::csv, logs::csv_seeds, 512;
    logs: logs::logs, logs::log_seeds, 2_048;
    record: documents::record, || inputs(records()), 2_048;
    procedure: documents::procedure, || inputs(texts("examples/grauwasser/procedures", ".yaml")), 2_048;
    tools: documents::tools, || inputs(vec![text("examples/grauwasser/tools.yaml"), TOOLS.to_owned()]), 2_048;
    known: documents::known, || inputs(vec![KNOWN.to_owned()]), 1_024;
    workshop: documents::workshop, || inputs(vec![text("examples/grauwasser/workshop.yaml"), WORKSHOP.to_owned()]), 1_024;
    amend: documents::amend, || inputs(slips()), 1_024;
    rules: rules::rules, || inputs(rule_texts()), 1_024;
    layout: layout::layout, || inputs(rule_texts()), 1_024;
    schema: rules::schema, || inputs(vec![rules::SCHEMA.to_owned()]), 1_024;
    compare: rules::compares, pairs, 2_048;
    report: reports::report, reports::seeds, 2_048;
    threads: reports::threads, reports::seeds, 2_048;
    editor: editor::editor, || editor::seeds(typed()), 1_024;
    repeat: repeat::repeat, repeat::seeds, 16;
}

fn records() -> Vec<String> {
    let mut records = texts("examples/grauwasser/jobs", ".yaml");
    records.push(RECORD.to_owned());
    records
}

/// What is typed in an editor: records and rule files.
fn typed() -> Vec<String> {
    let mut typed = slips();
    typed.push(text("tests/editor/workshop/house.standard"));
    typed.push(text("tests/editor/workshop/workshop.yaml"));
    typed.push(RULES.to_owned());
    typed
}

/// Records, most of all those whose spelling is wrong.
fn slips() -> Vec<String> {
    let mut slips = vec![RECORD.to_owned(), text("examples/grauwasser/jobs/K-2055-slips-of-the-pen.yaml")];
    slips.push(RECORD.replace("12 Nm", "12 nm").replace("role", "rol").replace("closed", "close"));
    slips
}

/// The rules of the targets, and each shipped rule by itself with the head and the figures before the first.
fn rule_texts() -> Vec<String> {
    let mut found = vec![RULES.to_owned(), text("examples/grauwasser/limits.standard")];
    for standard in texts("rules", ".standard") {
        let mut parts = standard.split("\nrule ");
        let head = parts.next().unwrap_or_default();
        found.extend(parts.step_by(5).map(|rule| format!("{head}\nrule {rule}")));
    }
    found
}

fn pairs() -> Vec<Vec<u8>> {
    let [old, new] = [RECORD, RULES].map(|text| text.replace("9", "8").replace("A1", "A3"));
    let mut pairs = vec![format!("{RECORD}{BETWEEN}{old}"), format!("{RULES}{BETWEEN}{new}")];
    let procedures = texts("examples/grauwasser/procedures", ".yaml");
    pairs.extend(procedures.windows(2).map(|pair| pair.join(BETWEEN)));
    pairs.extend(rule_texts().windows(2).step_by(4).map(|pair| pair.join(BETWEEN)));
    inputs(pairs)
}

const TOOLS: &str = "form: tools/1
tools:
  - number: T-1
    kind: torque wrench
    type: setting
    class: A
    torque: {range: 5 Nm .. 25 Nm, resolution: 0.1 Nm, uncertainty: 0.2 Nm, coverage: 2}
    calibrations: [{on: 2025-11-03, by: L, certificate: C-1, result: passed}]
    operations: 1260
";

const KNOWN: &str = "form: known/1
findings:
  - document: job.yaml
    finding: fuzzed.screw_torque
    as: hold
    at: \"fastenings[sump screw A2].torque\"
    found: 12 Nm
    count: 1
    since: 2026-03-01
    note: seen
  - {document: job.yaml, finding: fuzzed.screw, as: hold, at: a, found: b, count: 2, since: 2026-03-01}
  - {document: job.yaml, finding: fuzzed.screw, as: hold, at: a, found: b, count: 1, since: 2026-03-02}
  - {document: job.yaml, finding: fuzzed.pan_sealed, as: note, count: 1, since: 2026-03-02}
  - {document: gone.yaml, finding: value/number, as: error, at: a, found: b, count: 1, since: 2026-03-02}
";

const WORKSHOP: &str = "form: workshop/1
workshop: {name: W}
time_zone: Europe/Vienna
decision: guarded acceptance
standards: [fuzzed]
parameters:
  fuzzed.wanted: {sump screw: 10 Nm ± 10 %, every other: 45 Nm ± 10 %}
words: {pan bolt: sump screw}
rules:
  fuzzed.pan_sealed: {severity: hold, reason: It leaks.}
files_may_bring: [concessions]
older_edition_for: 14 d
trials_exercise: 95 %
";

/// Mutations of a text that nothing is wrong with reach further than those of one that is refused.
pub fn start_in_order() {
    for text in [TOOLS, KNOWN, WORKSHOP] {
        assert_eq!(read(ALONE, text, &FORMS).1, [], "{text}");
    }
    assert_eq!(opened(&[("rules.standard", RULES)], FORMS.clone(), Vec::new()).diagnostics(), []);
    assert!(FORMS.extended("job", rules::SCHEMA, ALONE).is_ok());
}
