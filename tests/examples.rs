//! The example workshop and the standards shipped. Each record and procedure of the workshop carries its expectations
//! as comments on the very line that a finding must point at; its handbook tells their form.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

const JOBS: &str = "examples/grauwasser/jobs";
const PROCEDURES: &str = "examples/grauwasser/procedures";
const WORKSHOP: &str = "examples/grauwasser";
const REGISTER: &str = "tools.yaml";
/// The day of the examples; calibrations fall due as time goes by.
const DAY: &str = "2026-03-21";

/// Runs the program in the top folder of the project, without colour.
fn witnessmark(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_witnessmark"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

fn documents_in(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    // The files of logs lie beside their records.
    paths.retain(|path| path.extension().is_none_or(|ending| ending != "csv"));
    paths.sort();
    paths
}

/// The expectations of a document: `# expect: RULE OUTCOME, …` or `# expect: CODE, …`, each with its
/// line.
fn expected(text: &str) -> BTreeSet<(usize, String)> {
    let mut all = BTreeSet::new();
    for (number, line) in text.lines().enumerate() {
        let Some((_, list)) = line.split_once("# expect: ") else { continue };
        all.extend(list.split(',').map(|one| (number + 1, one.trim().to_owned())));
    }
    all
}

fn line_of(place: &Value) -> usize {
    usize::try_from(place["start"]["line"].as_u64().unwrap()).unwrap()
}

/// What the program finds in a document, in the words of the expectations.
fn found(path: &str) -> BTreeSet<(usize, String)> {
    let output = witnessmark(&["inspect", "--as-of", DAY, "--format", "json", path]);
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["diagnostics"], Value::Array(Vec::new()), "the rules are in order");
    let document = &report["documents"][0];
    let mut all = BTreeSet::new();
    for diagnostic in document["diagnostics"].as_array().unwrap() {
        let line = line_of(&diagnostic["labels"][0]["at"]);
        all.insert((line, diagnostic["code"].as_str().unwrap().to_owned()));
    }
    for finding in document["findings"].as_array().unwrap() {
        let (rule, outcome) = (finding["rule"].as_str().unwrap(), finding["outcome"].as_str().unwrap());
        all.insert((line_of(&finding["at"]), format!("{rule} {outcome}")));
    }
    all
}

#[test]
fn each_record_has_the_findings_that_its_comments_announce_and_no_others() {
    let announced = agree_with_comments(JOBS, &documents_in(JOBS));
    assert!(announced >= 25, "only {announced} expectations were read");
}

/// What is found in the logbooks of all jobs together is announced at its line, too: `# together: RULE OUTCOME`.
#[test]
fn the_jobs_together_have_the_findings_that_comments_announce_and_no_others() {
    let output = witnessmark(&["inspect", "--as-of", DAY, "--format", "json", JOBS]);
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    let is_logbook = |one: &&Value| one["name"].as_str().unwrap().starts_with("logbook of ");
    let mut found = BTreeSet::new();
    for logbook in report["documents"].as_array().unwrap().iter().filter(is_logbook) {
        assert_eq!(logbook["diagnostics"], Value::Array(Vec::new()), "{logbook:#}");
        for finding in logbook["findings"].as_array().unwrap() {
            let said =
                format!("{} {}", finding["rule"].as_str().unwrap(), finding["outcome"].as_str().unwrap());
            found.insert((
                finding["at"]["source"].as_str().unwrap().to_owned(),
                line_of(&finding["at"]),
                said,
            ));
        }
    }
    let mut announced = BTreeSet::new();
    for path in documents_in(JOBS) {
        let name = path.file_name().unwrap().to_str().unwrap();
        for (number, line) in fs::read_to_string(&path).unwrap().lines().enumerate() {
            let Some((_, said)) = line.split_once("# together: ") else { continue };
            announced.insert((format!("{JOBS}/{name}"), number + 1, said.trim().to_owned()));
        }
    }
    assert_eq!(found, announced);
    assert!(announced.len() >= 2, "{announced:?}");
    assert!(report["summary"]["logbooks"].as_u64().unwrap() > 40, "{}", report["summary"]["logbooks"]);
}

#[test]
fn each_procedure_has_the_findings_that_its_comments_announce_and_no_others() {
    let announced = agree_with_comments(PROCEDURES, &documents_in(PROCEDURES));
    assert!(announced >= 8, "only {announced} expectations were read");
    assert!(documents_in(PROCEDURES).len() >= 8);
}

#[test]
fn the_register_of_tools_has_the_findings_that_its_comments_announce_and_no_others() {
    let announced = agree_with_comments(WORKSHOP, &[Path::new(WORKSHOP).join(REGISTER)]);
    assert!(announced >= 2, "only {announced} expectations were read");
}

/// Without procedures, register and earlier jobs, and without a job that names one, the standards on what
/// stands around a job ask nothing.
#[test]
fn a_job_that_stands_alone_is_told_once_what_does_not_stand_around_it() {
    let judged = |record: &str| {
        let record = format!("{JOBS}/{record}");
        let output =
            witnessmark(&["inspect", "--without-settings", "--as-of", DAY, "--format", "json", &record]);
        let report: Value = serde_json::from_slice(&output.stdout).unwrap();
        report["documents"][0].clone()
    };
    let rules_of = |document: &Value, standard: &str| -> Vec<String> {
        let findings = document["findings"].as_array().unwrap();
        let rules = findings.iter().filter_map(|finding| finding["rule"].as_str());
        rules.filter(|rule| rule.starts_with(standard)).map(str::to_owned).collect()
    };
    let without = judged("K-2045-sump-screw-too-tight.yaml");
    let applied = without["standards"].to_string();
    assert!(applied.contains("oil_service"), "{applied}");
    for standard in ["by_procedure", "calibrated_tools", "vehicle_history", "tool_register"] {
        assert!(!applied.contains(standard), "{standard}: {applied}");
    }
    assert_eq!(rules_of(&without, "job_basics"), ["job_basics.register_there"]);
    let naming = judged("K-2041-six-speed.yaml");
    assert_eq!(rules_of(&naming, "by_procedure"), ["by_procedure.procedures_there"]);
}

/// The lines of an output that belong to the drawing of K-2072.
fn drawing(arguments: &[&str]) -> Vec<String> {
    let record = format!("{JOBS}/K-2072-round-the-rim.yaml");
    let output = witnessmark(&[arguments, &[record.as_str()]].concat());
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.lines().all(|line| line == line.trim_end() || line.contains('│')), "{text}");
    let lines: Vec<&str> = text.lines().collect();
    let last = lines.iter().rposition(|line| matches!(line.trim(), "1–2–5–4–3" | "1-2-5-4-3"));
    let last = last.unwrap_or_else(|| panic!("no drawing in\n{text}"));
    lines[last - 6..=last].iter().map(|line| (*line).to_owned()).collect()
}

#[test]
fn a_wrong_order_is_drawn_under_the_finding_and_by_why() {
    let bare = |lines: &[String]| lines.iter().map(|line| line.trim().to_owned()).collect::<Vec<_>>();
    let plain = drawing(&["inspect", "--format", "plain"]);
    assert_eq!(bare(&plain), ["· 1 ·", "·       ·", "3    +   ‹2›", "·       ·", "4 · · 5", "", "1–2–5–4–3"]);
    assert_eq!(bare(&drawing(&["inspect", "--format", "terminal"])), bare(&plain));
    let ascii = drawing(&["inspect", "--format", "terminal", "--ascii"]);
    assert_eq!(bare(&ascii), [". 1 .", ".       .", "3    +   <2>", ".       .", "4 . . 5", "", "1-2-5-4-3"]);
    assert_eq!(ascii.iter().filter(|line| line.is_ascii()).count(), ascii.len());
    let why = witnessmark(&["why", "wheel_criss_cross", &format!("{JOBS}/K-2072-round-the-rim.yaml")]);
    let why = String::from_utf8_lossy(&why.stdout).into_owned();
    assert!(why.contains("3    +   ‹2›"), "{why}");
}

/// The lines of the drawing of a log in an output.
fn plotted(arguments: &[&str]) -> Vec<String> {
    let record = format!("{JOBS}/K-2080-level-check-logged.yaml");
    let output = witnessmark(&[arguments, &[record.as_str()]].concat());
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let first = lines.iter().position(|line| line.starts_with("50 °C ┤") || line.starts_with("50 °C |"));
    let first = first.unwrap_or_else(|| panic!("no drawing in\n{text}"));
    lines[first..first + 10].iter().map(|line| (*line).to_owned()).collect()
}

/// The window of 150 s fills 48 cells of the 56 that are drawn, from the cell 4 on: the 11 s from 101 s on are
/// the cells 36 to 39.
#[test]
fn a_log_is_drawn_against_its_window_with_the_moment_at_which_it_left() {
    let plain = plotted(&["inspect", "--format", "plain"]);
    assert_eq!(
        plain[8],
        format!("└{}{}{}{}", "─".repeat(4), "═".repeat(32), "▲".repeat(4), "═".repeat(13) + "───")
    );
    assert_eq!(plain[9].split_whitespace().collect::<Vec<_>>(), ["10:23:00", "10:25:30"]);
    assert!(plain[7].starts_with("30 °C ┤┄┄┄"), "{plain:?}");
    assert_eq!(plotted(&["inspect", "--format", "terminal"]), plain);
    assert_eq!(plotted(&["why", "window_kept"]), plain);
    let ascii = plotted(&["inspect", "--format", "terminal", "--ascii"]);
    assert!(ascii.iter().all(|line| line.replace('°', "").is_ascii()), "{ascii:?}");
    assert_eq!(ascii[8], format!("+----{}^^^^{}---", "=".repeat(32), "=".repeat(13)));
}

/// The log passes 50 °C at 101 s and at 112 s of the check, and has 51.8 °C in between.
#[test]
fn a_log_that_left_its_window_says_for_how_long_and_how_far_in_every_report() {
    let record = format!("{JOBS}/K-2080-level-check-logged.yaml");
    let run = |format: &str| {
        let output = witnessmark(&["inspect", "--as-of", "2026-03-31", "--format", format, &record]);
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let report: Value = serde_json::from_str(&run("json")).unwrap();
    let finding = &report["documents"][0]["findings"][0];
    assert_eq!(finding["rule"], "level.window_kept");
    assert_eq!(finding["found"], "outside for 11 s, from 10:24:41 to 10:24:52; 51.8 °C at 10:24:47.5");
    assert_eq!(finding["off_by"], "1.8 °C above the upper limit (9 % of the tolerance)");
    assert_eq!(finding["in_time"], serde_json::json!({"seconds": "-11", "exactness": "exact"}));
    assert!(run("plain").contains("time margin: -11 s\n"));
    assert!(
        run("sarif").contains("\"timeMargin\": \"-11 s\"")
            || run("sarif").contains("\"timeMargin\":\"-11 s\"")
    );
}

/// Each method shows its formula, its figures and its source where it was used, and nowhere else.
#[test]
fn why_shows_the_steps_of_each_method() {
    for (rule, job, steps) in [
        (
            "wheel_criss_cross",
            "K-2072-round-the-rim",
            "k = 1: 1.00, 2: 1.62, 3: 1.62, 4: 1.00, 5: 0.00; M = 1.62, at most 1.25",
        ),
        (
            "fastenings.torque_reached",
            "K-2071-crowfoot-straight-ahead",
            "45 Nm × (400 mm + 50 mm·cos 0°)/400 mm = 50.625 Nm (US Army TM 9-254)",
        ),
        (
            "frost_protection",
            "K-2070-frost-not-proven",
            "guard band: w = r·U, U = 2·u; 1 × 2 °C = 2 °C (JCGM 106:2012)",
        ),
        ("frost_protection", "K-2070-frost-not-proven", "conformity 84.13 % probable"),
        ("mixture_agrees", "K-2070-frost-not-proven", "freezing point"),
        (
            "oil_service.refill_volume",
            "K-2074-drained-hot-too-much-filled",
            "5.7 L × 0.93999560126 = 5.35797 L (API MPMS 11.1 (1980) / ASTM D1250)",
        ),
    ] {
        let output = witnessmark(&["why", rule, &format!("{JOBS}/{job}.yaml")]);
        let text = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(steps), "{rule}: `{steps}` is not in {text}");
        assert!(
            text.matches("US Army TM 9-254)").count() <= 2,
            "a step stands where it does not belong: {text}"
        );
    }
}

/// A run over documents of one form says nothing of the rules for another, and of its own every one.
#[test]
fn a_run_counts_the_rules_for_the_forms_that_it_met() {
    for (folder, own, other) in
        [(JOBS, "job_basics.", "procedure_basics."), (PROCEDURES, "procedure_basics.", "job_basics.")]
    {
        let output = witnessmark(&["inspect", "--format", "json", folder]);
        let report: Value = serde_json::from_slice(&output.stdout).unwrap();
        let rules = report["summary"]["rules"].to_string();
        assert!(rules.contains(own), "{folder}: {rules}");
        assert!(!rules.contains(other), "{folder}: {rules}");
    }
}

#[test]
fn a_procedure_is_named_with_edition_and_unit() {
    let output = witnessmark(&["inspect", "--format", "plain", PROCEDURES]);
    let text = String::from_utf8_lossy(&output.stdout);
    let headline = "\nprocedure five-speed-manual-oil edition 2, manual gearbox \"five speed transverse\"\n";
    assert!(text.contains(headline), "{text}");
}

/// Steps without times count as listed, with times by them, and the report says which.
#[test]
fn the_order_of_steps_says_what_it_was_taken_from() {
    let record = format!("{JOBS}/K-2057-filter-after-the-oil.yaml");
    let told = |text: &str| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.yaml");
        fs::write(&path, text).unwrap();
        let settings = format!("{WORKSHOP}/workshop.yaml");
        let path = path.to_str().unwrap();
        let output =
            witnessmark(&["inspect", "--as-of", DAY, "--settings", &settings, "--format", "plain", path]);
        let text = String::from_utf8(output.stdout).unwrap();
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        words.contains("by_procedure.steps_ordered").then_some(words)
    };
    let listed = fs::read_to_string(record).unwrap();
    let found = told(&listed).expect("it is broken");
    assert!(
        found.contains("found: `steps[2]`, as listed: no times are recorded required: not after `steps[1]`"),
        "{found}"
    );

    let times = |fill: &str, filter: &str| {
        listed
            .replace("{step: fill,", &format!("{{step: fill, started: 2026-03-05T{fill},"))
            .replace("- step: filter ", &format!("- started: 2026-03-05T{filter}\n    step: filter "))
    };
    let found = told(&times("10:00", "10:20")).expect("it is broken");
    assert!(
        found.contains(
            "found: 2026-03-05T10:20 (`steps[2]`) required: not after 2026-03-05T10:00 (`steps[1]`) off by: 20 min too late"
        ),
        "{found}"
    );
    let found = told(&times("10:00", "10:00")).expect("it is broken");
    assert!(found.contains("as listed: both are of the same time"), "{found}");
    // By its times the filter came first; the steps without a time are named.
    let open = told(&times("10:20", "10:00")).expect("other steps have no time");
    assert!(
        !open.contains("(`steps[1]`) required: not after") && !open.contains("hold: The step filter"),
        "{open}"
    );
    assert!(open.contains("advice, undecided: `steps[0].started` is not recorded (needed for: The steps were done in the order of the procedure)"), "{open}");
}

/// Compares what is found in each document of a folder with its comments; how many were announced.
fn agree_with_comments(folder: &str, paths: &[PathBuf]) -> usize {
    let mut differences = String::new();
    let mut announced = 0;
    for path in paths {
        let expected = expected(&fs::read_to_string(path).unwrap());
        let name = path.file_name().unwrap().to_str().unwrap();
        let found = found(&format!("{folder}/{name}"));
        announced += expected.len();
        for (line, what) in expected.difference(&found) {
            writeln!(differences, "{name}:{line}: `{what}` was announced and not found").unwrap();
        }
        for (line, what) in found.difference(&expected) {
            writeln!(differences, "{name}:{line}: `{what}` was found and not announced").unwrap();
        }
    }
    assert!(differences.is_empty(), "{differences}");
    announced
}

#[test]
fn the_standards_shipped_keep_to_their_trials() {
    let mut words = vec!["prove", "--without-settings"];
    words.extend(witnessmark::library::SHIPPED.iter().map(|shipped| shipped.name));
    proves(&words);
}

/// The folder also holds a file that is only used, and the settings speak of standards that this run
/// does not have: neither is a mistake.
#[test]
fn the_rules_of_the_workshop_keep_to_their_trials() {
    proves(&["prove", "examples/grauwasser"]);
}

fn proves(words: &[&str]) {
    let output = witnessmark(words);
    let (text, errors) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(0), "{text}{errors}");
}
