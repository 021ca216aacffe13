//! The forms for people. Each golden file has assertions of its own beside it.

use std::path::Path;

use similar::TextDiff;
use witnessmark::finding::Outcome;
use witnessmark::language::ast::Severity;
use witnessmark::report::facts::{self, Verdict};
use witnessmark::report::{self, FORMATS, Style};

use crate::report::support::{Sample, full, with_rule_fault};

/// Compares with a file under `tests/report/golden`, or writes it when `WITNESSMARK_BLESS` is 1.
fn golden(name: &str, found: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/report/golden").join(name);
    if std::env::var("WITNESSMARK_BLESS").is_ok_and(|value| value == "1") {
        std::fs::write(&path, found).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    if kept != found {
        let diff = TextDiff::from_lines(kept.as_str(), found);
        panic!("{name} has changed:\n{}", diff.unified_diff().context_radius(3));
    }
}

fn style(width: usize) -> Style {
    Style { width, ..Style::default() }
}

fn has_all(text: &str, wanted: &[&str]) {
    for want in wanted {
        assert!(text.contains(want), "`{want}` is missing from:\n{text}");
    }
}

fn widest(text: &str) -> usize {
    text.lines().map(report::text::width).max().unwrap_or_default()
}

/// What a technician needs of the sample, whatever the form.
const NEEDED: &[&str] = &[
    "jobs/k-2041.yaml",
    "Sump screw A2: 12 Nm recorded, 9 Nm ± 10 % required.",
    "2.1 Nm above the upper limit",
    "common practice",
    "sump_service.screw_torque",
    "the torque of this screw",
    "write `9.8`",
    "5.6 % of the tolerance",
    "2 holds: do not release",
];

#[test]
fn terminal_form_shows_record_and_rule_side_by_side() {
    let text = full().render("terminal", style(100));
    has_all(&text, NEEDED);
    has_all(&text, &["jobs/k-2041.yaml:12:13", "rules/sump.standard:8:13", "└── found 12 Nm"]);
    assert!(widest(&text) <= 100, "{}", widest(&text));
    golden("terminal-100.txt", &text);
    golden("terminal-80.txt", &full().render("terminal", style(80)));
}

#[test]
fn marks_of_the_terminal_form_stand_under_their_text() {
    let text = full().render("terminal", style(100));
    let lines: Vec<_> = text.lines().collect();
    for (of, mark) in [("torque: 12 Nm", "12 Nm"), ("product: Öl 六速 🔧", "Öl 六速 🔧")] {
        let at = lines.iter().position(|line| line.contains(of) && line.contains('│')).unwrap();
        let before = lines[at].split(mark).next().unwrap();
        let under: String = lines[at + 1].chars().take(report::text::width(before) + 1).collect();
        assert!(under.ends_with(['━', '┯']) && !under.trim_end_matches(['━', '┯']).contains('┯'), "{under}");
        let drawn = lines[at + 1].chars().filter(|c| matches!(c, '━' | '┯')).count();
        assert_eq!(drawn, report::text::width(mark), "{}", lines[at + 1]);
    }
}

#[test]
fn terminal_form_can_do_without_unicode_lines_and_colour() {
    let ascii = Style { unicode: false, ..style(80) };
    let text = full().render("terminal", ascii);
    for line in ["─", "│", "┌", "━", "·"] {
        assert!(!text.contains(line), "{line} in\n{text}");
    }
    golden("terminal-ascii.txt", &text);
}

#[test]
fn colour_is_used_only_when_it_is_asked_for() {
    for row in FORMATS {
        let plain = with_rule_fault().render(row.name, style(80));
        assert!(!plain.contains('\u{1b}'), "{} writes sequences with colour off", row.name);
    }
    let colour = Style { colour: true, ..style(80) };
    assert!(full().render("terminal", colour).contains("\u{1b}[1;31m"));
    assert!(!full().render("plain", colour).contains('\u{1b}'));
}

#[test]
fn plain_form_fits_narrow_screens() {
    let text = full().render("plain", style(40));
    assert!(widest(&text) <= 40, "{text}");
    let unwrapped = full().render("plain", style(1000));
    has_all(&unwrapped, NEEDED);
    has_all(
        &unwrapped,
        &["line 12: hold: Sump screw A2", "\nfound: 12 Nm\n", "demand: rules/sump.standard line 8"],
    );
    assert!(unwrapped.chars().all(|c| !('\u{2500}'..='\u{257f}').contains(&c)));
    golden("plain-40.txt", &text);
    golden("plain.txt", &unwrapped);
}

#[test]
fn every_fact_of_the_plain_form_has_a_line_of_its_own() {
    let text = full().render("plain", style(1000));
    for fact in ["found: ", "required: ", "off by: ", "remedy: ", "because: ", "basis: ", "missing: "] {
        let lines: Vec<_> = text.lines().filter(|line| line.contains(fact)).collect();
        assert!(!lines.is_empty(), "{fact}");
        assert!(lines.iter().all(|line| line.starts_with(fact)), "{fact}");
    }
}

#[test]
fn a_document_without_findings_takes_one_line() {
    let sample = Sample::new();
    for format in ["terminal", "plain"] {
        let text = sample.render(format, style(80));
        assert_eq!(text.lines().next(), Some("jobs/k-2041.yaml: nothing to hold, 2 demands met"), "{format}");
        assert_eq!(text.matches("jobs/k-2041.yaml").count(), 1);
        has_all(&text, &["Verdict: nothing to hold"]);
    }
}

#[test]
fn one_line_per_finding_without_details() {
    let short = Style { details: false, ..style(200) };
    for format in ["terminal", "plain"] {
        let text = full().render(format, short);
        assert!(!text.contains("remedy"), "{text}");
        let lines = text.lines().filter(|line| line.contains("(sump_service.")).count();
        assert_eq!(lines, 6, "{text}");
    }
}

#[test]
fn faults_of_the_rules_are_drawn_and_told() {
    let text = with_rule_fault().render("terminal", style(80));
    has_all(
        &text,
        &[
            "Rules and settings",
            "`seals` is not a field of a job",
            "└── no such field",
            "a near name is `seal`",
        ],
    );
    golden("terminal-rules.txt", &text);
    let sample = with_rule_fault();
    for row in FORMATS {
        let mut out = Vec::new();
        row.format.diagnostics(&sample.run.diagnostics, &sample.run.sources, &style(80), &mut out);
        let text = String::from_utf8(out).unwrap();
        has_all(&text, &["`seals` is not a field of a job", "quantity/number-form", "a near name is `seal`"]);
    }
}

#[test]
fn the_verdict_never_calls_unjudged_work_clear() {
    let sample = Sample::new();
    let of = |change: &dyn Fn(&mut Sample)| {
        let mut sample = Sample::new();
        change(&mut sample);
        let (verdict, words) = facts::verdict(&sample.run, &sample.summary);
        (verdict, words)
    };
    assert_eq!(facts::verdict(&sample.run, &sample.summary).0, Verdict::Clear);
    assert_eq!(of(&|sample| sample.summary.unreadable = 1).0, Verdict::Incomplete);
    assert_eq!(of(&|sample| sample.summary.document_errors = 1).0, Verdict::Incomplete);
    assert_eq!(of(&|sample| sample.summary.rule_errors = 1).0, Verdict::Incomplete);
    assert_eq!(of(&|sample| sample.summary.documents = 0).0, Verdict::Incomplete);
    assert_eq!(of(&|sample| sample.summary.rules.clear()).0, Verdict::Incomplete);
    assert_eq!(of(&|sample| sample.summary.still_to_do = 2).0, Verdict::StillToDo);
    let advised = of(&|sample| {
        sample.run.fail_on = Severity::Advice;
        sample.summary.findings.insert(Severity::Advice, 1);
    });
    assert_eq!(advised, (Verdict::Fails, "nothing to hold, but 1 finding fails this run".into()));
    let held = of(&|sample| {
        sample.summary.findings.insert(Severity::Hold, 1);
        sample.summary.rule_errors = 2;
    });
    assert_eq!(held.0, Verdict::Hold);
    has_all(&held.1, &["1 hold: do not release", "2 errors in rules and settings"]);
}

#[test]
fn a_document_is_never_called_clear_when_it_is_not() {
    let mut sample = Sample::new();
    let document = &mut sample.documents[0];
    assert_eq!(facts::of_document(document).0, Verdict::Clear);
    document.tallies.clear();
    assert_eq!(facts::of_document(document), (Verdict::Incomplete, "no rule applied".into()));
    document.readable = false;
    assert_eq!(facts::of_document(document), (Verdict::Incomplete, "could not be read".into()));
    let open = full().documents[0].findings.iter().filter(|one| one.outcome == Outcome::Undecided).count();
    assert_eq!(open, 4, "the sample holds undecided findings of every standing");
}
