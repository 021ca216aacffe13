//! What leaves a demand undecided, what does not although something is missing, and what `if unrecorded pass`
//! lets pass.

use witnessmark::finding::{Finding, Judged, Outcome, Standing};
use witnessmark::language::ast::Severity;

use crate::support::{Folder, session};

const RECORD: &str = "\
form: job/1
job: {number: K-1, opened: 2026-03-02T09:00, closed: 2026-03-02T11:00, state: closed}
vehicle: {}
unit: {kind: engine, family: eigth speed}
";

/// Judges a record by items and the clauses of one rule.
fn judged(items: &str, clauses: &str, record: &str) -> Judged {
    let (clauses, unrecorded) = match clauses.split_once("  if unrecorded") {
        Some((clauses, word)) => (clauses, format!("  if unrecorded{word}\n")),
        None => (clauses, String::new()),
    };
    let rules = format!(
        "standard s edition 1 \"S\"\njudges job\n{items}\nrule r \"R\"\n{clauses}\n  otherwise hold \"No.\"\n{unrecorded}"
    );
    let session = session(&[("s.standard", &rules)]);
    assert!(!session.is_faulty(), "{clauses}: {:?}", session.diagnostics());
    session.judge("job.yaml", &format!("{RECORD}{record}")).remove(0)
}

fn finding(items: &str, clauses: &str, record: &str) -> Option<Finding> {
    judged(items, clauses, record).findings.into_iter().next()
}

const ITEMS: &str = "\
parameter most is torque \"Most\"
parameter least is torque \"Least\"
parameter part is torque \"Part\"
parameter hottest is temperature \"Hottest\"
let window = 10 Nm .. most
table refill by unit.family
  \"eight speed\" : 5 L .. 6 L
";

/// Each with the torque of the first fastening, and what comes of it.
#[test]
fn a_range_with_one_known_end_is_decided_by_it_where_it_decides_against() {
    use Outcome::{Broken, Met, Undecided};
    let rows = [
        ("10 Nm .. most", "2 Nm", Broken),
        ("10 Nm .. most", "9.999 Nm", Broken),
        ("10 Nm .. most", "10 Nm", Undecided),
        ("10 Nm .. most", "2000 Nm", Undecided),
        ("least .. 10 Nm", "10.001 Nm", Broken),
        ("least .. 10 Nm", "10 Nm", Undecided),
        ("least .. most", "2 Nm", Undecided),
        ("window", "2 Nm", Broken),
        ("window", "20 Nm", Undecided),
        ("10 Nm +part/-1 Nm", "8.999 Nm", Broken),
        ("10 Nm +part/-1 Nm", "9 Nm", Undecided),
        ("10 Nm +part/-0 Nm", "9.999 Nm", Broken),
        ("10 Nm +1 Nm/-part", "11.001 Nm", Broken),
        ("10 Nm +1 Nm/-part", "2 Nm", Undecided),
        ("10 Nm +10 %/-part", "11.001 Nm", Broken),
        ("10 Nm ± part", "2000 Nm", Undecided),
        ("least +5 Nm/-0 Nm", "2000 Nm", Undecided),
    ];
    for (range, torque, expected) in rows {
        for decision in ["", " by guarded acceptance", " by guarded rejection"] {
            let record = format!("fastenings: [{{torque: {torque}}}]\n");
            let of = |demand: String| {
                let clauses = format!("  concerns each s in fastenings\n  demands {demand}{decision}");
                finding(ITEMS, &clauses, &record).map_or(Met, |finding| finding.outcome)
            };
            let plain = of(format!("s.torque within {range}"));
            assert_eq!(plain, expected, "{torque} within {range}{decision}");
            let turned = of(format!("not (s.torque within {range})"));
            let opposite = if expected == Broken { Met } else { Undecided };
            assert_eq!(turned, opposite, "not {torque} within {range}{decision}");
        }
    }
}

#[test]
fn what_is_broken_by_its_known_end_says_by_how_much() {
    let clauses = "  concerns each s in fastenings\n  demands s.torque within 10 Nm .. most";
    let finding = finding(ITEMS, clauses, "fastenings: [{torque: 2 Nm}]\n").expect("it is broken");
    assert_eq!(finding.off_by.as_deref(), Some("8 Nm below the lower limit"));
    assert_eq!(finding.found.as_deref(), Some("2 Nm"));
    assert_eq!(finding.margin.expect("it has one").share, None);
}

/// With an uncertainty of 1 Nm the guard lies inside of the limit or outside of it.
#[test]
fn one_known_end_is_guarded_like_two() {
    use Outcome::{Broken, Undecided};
    let rows = [
        ("guarded acceptance", "9.9 Nm ± 1 Nm", Broken),
        ("guarded acceptance", "10.5 Nm ± 1 Nm", Undecided),
        ("guarded acceptance", "20 Nm ± 1 Nm", Undecided),
        ("guarded rejection", "8.9 Nm ± 1 Nm", Broken),
        ("guarded rejection", "9 Nm ± 1 Nm", Undecided),
        ("guarded rejection", "9.9 Nm ± 1 Nm", Undecided),
    ];
    for (decision, torque, expected) in rows {
        let clauses =
            format!("  concerns each s in fastenings\n  demands s.torque within 10 Nm .. most by {decision}");
        let record = format!("fastenings: [{{torque: {torque}}}]\n");
        let found = finding(ITEMS, &clauses, &record).expect("it is not met");
        assert_eq!(found.outcome, expected, "{torque} by {decision}");
    }
    // The uncertainty of a known end that was read counts too: 1.1 × 10 Nm ± 1 Nm moves by 1.1 Nm.
    let of = |torque: &str| {
        let clauses = "  concerns each s in fastenings where recorded s.entry_before\n  demands s.torque within s.entry_before.torque +10 %/-part by guarded rejection";
        let record = format!("fastenings: [{{torque: 10 Nm ± 1 Nm}}, {{torque: {torque}}}]\n");
        finding(ITEMS, clauses, &record).expect("it is not met").outcome
    };
    assert_eq!(of("12.11 Nm"), Broken);
    assert_eq!(of("12.1 Nm"), Undecided);
}

#[test]
fn a_log_is_decided_by_the_known_end_of_its_range() {
    use Outcome::{Broken, Met, Undecided};
    let record = "\
steps: [{step: run, started: 2026-03-02T10:00:00, ended: 2026-03-02T10:02:00}]
logs: [{of: run, started: 2026-03-02T10:00:00, temperature: {0 s: 28 °C, 60 s: 33 °C, 120 s: 38 °C}}]
";
    let rows = [
        ("throughout s: l.temperature within 30 °C .. hottest", Broken),
        ("throughout s: l.temperature within 28 °C .. hottest", Undecided),
        ("throughout s: l.temperature within 20 °C .. hottest and l.temperature at least 30 °C", Broken),
        ("at some moment in s: l.temperature within 40 °C .. hottest", Broken),
        ("at some moment in s: l.temperature within 30 °C .. hottest", Undecided),
        ("held for at least 90 s in s: l.temperature within 33 °C .. hottest", Broken),
        ("held for at least 50 s in s: l.temperature within 33 °C .. hottest", Undecided),
        ("not (throughout s: l.temperature within 30 °C .. hottest)", Met),
        ("throughout s: not (l.temperature within 40 °C .. hottest)", Met),
    ];
    for (demand, expected) in rows {
        let clauses = format!("  concerns each l in logs, each s in steps\n  demands {demand}");
        let found = finding(ITEMS, &clauses, record);
        assert_eq!(found.as_ref().map_or(Met, |finding| finding.outcome), expected, "{demand}: {found:?}");
    }
    let clauses = "  concerns each l in logs, each s in steps\n  demands throughout s: l.temperature within 30 °C .. hottest";
    let broken = finding(ITEMS, clauses, record).expect("it is broken");
    assert_eq!(broken.off_by.as_deref(), Some("2 °C below the lower limit"));
}

/// A limit that is not recorded lets the demand pass, and a gap in the log that leaves it open by itself does not.
#[test]
fn a_hole_in_a_log_does_not_pass_beside_a_limit_that_is_not_recorded() {
    let standing = |demand: &str, log: &str| {
        let record = format!(
            "steps: [{{step: run, started: 2026-03-02T10:00:00, ended: 2026-03-02T10:02:00}}]\nlogs: [{{of: run, started: 2026-03-02T10:00:00, temperature: {log}}}]\n"
        );
        let clauses =
            format!("  concerns each l in logs, each s in steps\n  demands {demand}\n  if unrecorded pass");
        finding(ITEMS, &clauses, &record).expect("it is undecided").standing
    };
    let whole = "{0 s: 28 °C, 60 s: 33 °C, 120 s: 38 °C}";
    let short = "{0 s: 28 °C, 60 s: 33 °C}";
    for demand in [
        "throughout s: l.temperature at most fluid.drained.temperature",
        "throughout s: l.temperature at most 90 °C and l.temperature at most fluid.drained.temperature",
        "held for at least 90 s in s: l.temperature at most 90 °C and l.temperature at most fluid.drained.temperature",
    ] {
        assert_eq!(standing(demand, whole), Standing::Passed, "{demand}");
    }
    for demand in [
        "throughout s: l.temperature at most 90 °C and l.temperature at most fluid.drained.temperature",
        "throughout s: not (l.temperature above 90 °C or l.temperature above fluid.drained.temperature)",
        "held for at least 90 s in s: l.temperature at most 90 °C and l.temperature at most fluid.drained.temperature",
    ] {
        assert_eq!(standing(demand, short), Standing::Counts, "{demand}");
    }
}

/// What came of a demand under `if unrecorded pass`: whether it passes, its severity and what is said.
fn passes(demand: &str, record: &str) -> (bool, Severity, String) {
    let clauses = format!("  concerns each s in fastenings\n  demands {demand}\n  if unrecorded pass");
    let finding = finding(ITEMS, &clauses, record).unwrap_or_else(|| panic!("{demand} is met"));
    assert_eq!(finding.outcome, Outcome::Undecided, "{demand}");
    (finding.standing == Standing::Passed, finding.severity, finding.message)
}

const FASTENINGS: &str = "fastenings: [{role: plug, torque: 45 Nm ± 2 Nm, angle: 0°, tool: W-1, thread: M20, property_class: \"10.9\"}]\n";

#[test]
fn only_what_is_not_recorded_passes() {
    for demand in [
        "s.adapter.lever above 1 m",
        "s.place is \"A1\"",
        "s.marked",
        "fluid.drained.volume within 4 L .. 5 L",
        "s.torque at least s.entry_before.torque",
        "s.prescribed.torque is s.prescribed.torque",
        "every t in seals: t.renewed",
        "sum of t.volume over t in fluid.fills at least 1 L",
        "s.marked and s.new",
        "s.adapter.lever + s.adapter.offset above 1 m",
    ] {
        let (passed, severity, said) = passes(demand, FASTENINGS);
        assert!(passed && severity == Severity::Note, "{demand}: {said}");
    }
}

#[test]
fn what_is_undecided_for_another_reason_does_not_pass() {
    let rows = [
        ("fluid.drained.volume within refill", "fluid: {drained: {volume: 5.5 L}}\n", "has no row for"),
        ("s.torque at most most", "", "is not stated"),
        ("s.torque within least .. most", "", "is not stated"),
        ("s.torque ÷ s.angle at most 3 Nm ÷ 1°", "", "zero"),
        ("torque_share(s.torque, s.thread, s.property_class, 0.12) at most 110 %", "", "M20"),
        ("s.instrument.in_use", "", "no tool register"),
        ("s.torque at most 46 Nm by guarded acceptance", "", "guard band"),
        (
            "(least of t.torque over t in fastenings where t.role is \"nut\") above 1 Nm",
            "",
            "nothing of which",
        ),
        // Together with what is not recorded.
        ("s.marked and s.torque at most most", "", "is not stated"),
        ("s.torque at most most and s.marked", "", "is not stated"),
        ("s.marked or s.torque at most most", "", "is not stated"),
        ("not (s.marked and s.torque at most most)", "", "is not stated"),
        ("s.marked implies s.torque at most most", "", "is not stated"),
        ("s.adapter.lever × 1 N at most most", "", "is not stated"),
        ("every t in fastenings where t.marked: t.torque at most most", "", "is not stated"),
        ("no t in fastenings where t.torque at most most: t.marked", "", "is not stated"),
        ("some t in fastenings: t.marked or t.torque at most most", "", "is not stated"),
        (
            "(sum of t.torque over t in fastenings where t.marked or t.torque at most most) above 1 Nm",
            "",
            "is not stated",
        ),
    ];
    for (demand, record, says) in rows {
        let (passed, severity, said) = passes(demand, &format!("{FASTENINGS}{record}"));
        assert!(!passed && severity == Severity::Hold, "{demand}: {said}");
        assert!(said.contains(says), "{demand}: {said}");
    }
}

#[test]
fn what_cannot_be_read_does_not_pass() {
    for (record, demand) in [
        ("fastenings: [{torque: much}]\n", "s.torque at most 50 Nm"),
        ("fastenings: [{adapter: long}]\n", "s.adapter.lever at most 1 m"),
        ("fastenings: [{stages: none}]\n", "every t in s.stages: t.torque at most 1 Nm"),
    ] {
        let (passed, severity, said) = passes(demand, record);
        assert!(!passed && severity == Severity::Hold, "{demand}: {said}");
        assert!(said.contains("is recorded but cannot be read"), "{said}");
    }
}

/// A condition that leaves open whether the rule concerns a subject is weighed alike.
#[test]
fn a_condition_passes_only_for_want_of_a_record() {
    let of = |condition: &str| {
        let clauses = format!(
            "  concerns each s in fastenings where {condition}\n  demands s.torque at least 100 Nm\n  if unrecorded pass"
        );
        finding(ITEMS, &clauses, FASTENINGS).expect("it is undecided").standing
    };
    assert_eq!(of("s.marked"), Standing::Passed);
    assert_eq!(of("s.torque at most most"), Standing::Counts);
    assert_eq!(of("s.marked and s.torque at most most"), Standing::Counts);
}

/// The message of every other rule is what it was: the first thing that is missing.
#[test]
fn without_the_clause_the_first_reason_is_told() {
    let clauses = "  concerns each s in fastenings\n  demands s.marked and s.torque at most most";
    let found = finding(ITEMS, clauses, FASTENINGS).expect("it is undecided");
    assert_eq!(found.message, "`fastenings[0].marked` is not recorded (needed for: R)");
}

#[test]
fn a_run_fails_for_what_does_not_pass() {
    let folder = Folder::new();
    folder.write(
        "s.standard",
        format!("standard s edition 1 \"S\"\njudges job\n{ITEMS}\nrule fill \"Filled as the family wants\"\n  demands fluid.drained.volume within refill\n  otherwise hold \"No.\"\n  if unrecorded pass\n"),
    );
    folder.write("job.yaml", format!("{RECORD}fluid: {{drained: {{volume: 9 L}}}}\n"));
    folder.run("inspect job.yaml --standard s.standard --format plain --width 300").quietly(1).says(&[
        "hold, undecided: Filled as the family wants: the table `refill` has no row for \"eigth speed\"; did you mean \"eight speed\"?",
    ]);
    // Nothing is recorded but the family, and that is in the table.
    folder.write("job.yaml", RECORD.replace("eigth", "eight"));
    folder.run("inspect job.yaml --standard s.standard --format plain --width 300").quietly(0);
}
