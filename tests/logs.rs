//! What is said of a question about logs: where the log lay, how far it was off in space and in time.

use std::fmt::Write as _;

use witnessmark::code::NOT_JUDGED;
use witnessmark::finding::Outcome;

use crate::support::session;

/// A step of 300 s from 10:00 on, and two logs over it: degrees that rise by 5 K a minute and then by 4 K a
/// minute, from 28 °C to 52 °C; litres in steps of 1 L a minute, the first at 60 s.
const RECORD: &str = "\
form: job/1
job: {number: K-1, opened: 2026-03-02T09:00, closed: 2026-03-02T11:00, state: closed}
vehicle: {}
unit: {kind: engine}
steps:
  - {step: run, started: 2026-03-02T10:00:00, ended: 2026-03-02T10:05:00}
logs:
  - of: run
    started: 2026-03-02T10:00:00
    temperature: {0 s: 28 °C, 60 s: 33 °C, 120 s: 38 °C, 180 s: 43 °C, 240 s: 48 °C, 300 s: 52 °C}
    volume: {0 s: 0 L, 60 s: 1 L, 120 s: 2 L, 180 s: 3 L, 240 s: 4 L, 300 s: 5 L}
";

/// What came of a demand: outcome, what was found, by how much it is off, how far in time.
fn said(demand: &str) -> (Outcome, String) {
    let rules = format!(
        "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each l in logs, each s in steps\n  \
         demands {demand}\n  otherwise hold \"No.\"\n"
    );
    let session = session(&[("s.standard", &rules)]);
    assert!(!session.is_faulty(), "{demand}: {:?}", session.diagnostics());
    let judged = session.judge("job.yaml", RECORD);
    let unexpected = judged[0].diagnostics.iter().find(|said| said.code != NOT_JUDGED);
    assert!(unexpected.is_none(), "{unexpected:?}");
    let [finding] = judged[0].findings.as_slice() else { return (Outcome::Met, String::new()) };
    let mut text = finding.found.clone().unwrap_or_else(|| finding.missing.join(" "));
    if let Some(off_by) = &finding.off_by {
        write!(text, " | {off_by}").unwrap();
    }
    if let Some(in_time) = &finding.in_time {
        write!(text, " | {}", in_time.words()).unwrap();
    }
    (finding.outcome, text)
}

/// The figures are worked out by hand on the straight lines between the entries.
#[test]
fn where_a_log_lay_and_how_far_it_was_off() {
    let broken =
        |demand: &str, words: &str| assert_eq!(said(demand), (Outcome::Broken, words.to_owned()), "{demand}");
    broken(
        "throughout s: l.temperature within 30 °C .. 50 °C",
        "outside for 54 s in all, the longest from 10:04:30 to 10:05:00; 28 °C at 10:00:00 \
         | 2 °C below the lower limit (10 % of the tolerance) | -30 s",
    );
    // Above 40 °C from 144 s on, and what follows from it is wrong by up to 22 K at the end.
    broken(
        "throughout s: l.temperature at least 40 °C implies l.temperature at most 30 °C",
        "outside for 2 min 36 s, from 10:02:24 to 10:05:00; 52 °C at 10:05:00 \
         | 12 °C above the lower limit, where nothing may lie | -156 s",
    );
    broken(
        "throughout s: not (l.temperature above 51 °C)",
        "outside for 15 s, from 10:04:45 to 10:05:00; 52 °C at 10:05:00 \
         | 1 °C above the lower limit, where nothing may lie | -15 s",
    );
    // The limit itself does not count: an instant without length.
    broken(
        "throughout s: l.temperature below 52 °C",
        "outside at 10:05:00; 52 °C at 10:05:00 | equal to the limit; must be below it | 0 s",
    );
    broken(
        "at some moment in s: l.temperature above 52 °C",
        "never; 52 °C at 10:05:00 comes nearest | equal to the limit; must be above it",
    );
    broken(
        "held for at least 3 min in s: l.temperature within 40 °C .. 52 °C",
        "2 min 36 s, from 10:02:24 to 10:05:00 | 2 °C below the lower limit (17 % of the tolerance) | -24 s",
    );
    broken(
        "held for at least 2 min in s: l.temperature at least 60 °C",
        "never; 43 °C at 10:03:00 comes nearest | 17 °C below the lower limit | -120 s",
    );
    // At 50 °C both are off by 5 K: the second has not come yet, the first holds no more.
    broken(
        "throughout s: l.temperature below 45 °C until l.temperature at least 55 °C",
        "the second did not come while the first still held; 50 °C at 10:04:30 comes nearest | 5 °C below the lower limit",
    );
    broken(
        "throughout s: rate of l.temperature at most 4.5 K/min",
        "outside for 4 min, from 10:00:00 to 10:04:00; 5 K/min at 10:00:00 | 0.5 K/min above the upper limit | -240 s",
    );
    broken(
        "not (at some moment in s: l.temperature within 33 °C .. 38 °C)",
        "so from 10:01:00 to 10:02:00 | 2.5 °C above the lower limit, where nothing may lie (50 % of the tolerance)",
    );
    // Degrees are not weighed against litres.
    broken(
        "throughout s: l.temperature at most 45 °C or l.volume at most 2 L",
        "outside for 96 s, from 10:03:24 to 10:05:00 | -96 s",
    );
    // A volume keeps its value until the next entry.
    broken(
        "throughout s.started .. s.started + 90 s: l.volume below 1 L",
        "outside for 30 s, from 10:01:00 to 10:01:30; 1 L at 10:01:00 \
         | equal to the limit; must be below it | -30 s",
    );
}

#[test]
fn what_holds_and_what_cannot_be_told() {
    for demand in [
        "throughout s: l.temperature within 28 °C .. 52 °C",
        "throughout s: l.temperature at most 52 °C",
        "throughout s: l.temperature above 200 °C implies l.temperature above 300 °C",
        "at some moment in s: l.temperature at least 52 °C",
        "at some moment in s.started .. s.started + 4 min: l.temperature at least 48 °C",
        "held for at least 156 s in s: l.temperature at least 40 °C",
        "throughout s: l.temperature below 45 °C until l.temperature at least 45 °C or l.volume at least 3 L",
        "throughout s: rate of l.temperature within 4 K/min .. 5 K/min",
        "throughout s: l.temperature at least 20 °C or s.engine is \"running\"",
        "not (throughout s: l.temperature above 30 °C)",
    ] {
        assert_eq!(said(demand), (Outcome::Met, String::new()), "{demand}");
    }
    for (demand, why) in [
        (
            "throughout s: l.temperature above 20 °C and s.engine is \"running\"",
            "`steps[0].engine` is not recorded",
        ),
        (
            "throughout s: l.temperature above 20 °C and l.speed above 700 rpm",
            "`logs[0].speed` is not recorded",
        ),
        (
            "throughout s.started .. s.ended + 1 min: l.temperature above 20 °C",
            "the log `logs[0].temperature` ends too early: it says nothing of 10:05:00 to 10:06:00",
        ),
        (
            "throughout s.started − 1 min .. s.ended: l.temperature above 20 °C",
            "the log `logs[0].temperature` begins too late: it says nothing of 09:59:00 to 10:00:00",
        ),
        (
            "throughout s with gaps at most 59 s: l.temperature above 20 °C",
            "the entries of the log `logs[0].temperature` lie further apart than the 59 s allowed, from 10:00:00 to 10:05:00",
        ),
        (
            "throughout s.ended .. s.started: l.temperature above 20 °C",
            "the stretch of time ends before it begins",
        ),
    ] {
        let (outcome, words) = said(demand);
        assert_eq!(outcome, Outcome::Undecided, "{demand}: {words}");
        assert!(words.starts_with(why), "{demand}: {words}");
    }
}

#[test]
fn each_stretch_outside_is_marked() {
    let rules = "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each l in logs, each s in steps\n  \
                 demands throughout s: l.temperature within 30 °C .. 50 °C\n  otherwise hold \"No.\"\n";
    let judged = session(&[("s.standard", rules)]).judge("job.yaml", RECORD);
    let axis = judged[0].findings[0].drawing.iter().find(|line| line.contains('▲')).expect("it is drawn");
    let runs: Vec<&str> = axis.split(|sign| sign != '▲').filter(|run| !run.is_empty()).collect();
    // Of 48 cells for 300 s, the first 24 s and the last 30 s.
    assert_eq!(runs.iter().map(|run| run.chars().count()).collect::<Vec<_>>(), [4, 6], "{axis}");
}
