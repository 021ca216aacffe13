//! Records and procedures.

use super::{documents, edited, lines};
use crate::support::{edition, text};

const PROCEDURE: &str = "examples/grauwasser/procedures/eight-speed-sump-service.yaml";
const JOB: &str = "examples/grauwasser/jobs/K-2041-six-speed.yaml";

#[test]
fn a_value_is_named_with_what_it_belongs_to() {
    let old = text(PROCEDURE);
    let new = edited(
        &old,
        &[
            ("torque: 10 Nm ± 10 %", "torque: 12 Nm ± 10 %"),
            ("edition: 1", "edition: 2"),
            ("  window: 30 °C .. 50 °C", "  window: 35 °C .. 50 °C"),
            ("      - {position: N, hold: at least 3 s}", "      - {position: N, hold: at least 5 s}"),
            ("disturbed: no}", "disturbed: yes, renewed: yes}"),
        ],
    );
    let found = documents(&old, &new);
    let wanted = [
        "changed procedure: edition: 1 -> 2",
        "changed steps: level check, positions N, hold: at least 3 s -> at least 5 s",
        "changed fastenings: sump screw pan, torque: 10 Nm ± 10 % -> 12 Nm ± 10 %",
        "changed seals: selector shaft, disturbed: no -> yes",
        "added seals: selector shaft, renewed: yes",
        "changed level check: window: 30 °C .. 50 °C -> 35 °C .. 50 °C",
    ];
    assert_eq!(lines(&found.changes), wanted);
    assert_eq!(found.editions, (Some(edition(1)), Some(edition(2))));
    assert!(!found.edition_was_not_raised());
    let kept = edited(&new, &[("edition: 2", "edition: 1")]);
    assert!(documents(&old, &kept).edition_was_not_raised());
}

/// An insertion in the middle makes room by new numbers: one addition, and nothing else.
#[test]
fn a_step_in_the_middle_is_one_addition() {
    let old = text(PROCEDURE);
    let mut new = old.clone();
    for order in (2..=7).rev() {
        new = edited(&new, &[(&format!("order: {order}\n"), &format!("order: {}\n", order + 1))]);
    }
    let step = "  - {name: warm up, order: 2, lift: lowered, engine: running, text: Drive a little.}\n";
    new = edited(&new, &[("  - name: drain\n", &format!("{step}  - name: drain\n"))]);
    let found = documents(&old, &new);
    assert_eq!(
        lines(&found.changes),
        ["added steps: warm up: lift lowered, engine running, text Drive a little."]
    );
    assert_eq!(found.spellings.len(), 6, "{:#?}", found.spellings);
}

#[test]
fn a_renamed_step_is_said_as_renamed() {
    let old = text(PROCEDURE);
    let new = edited(&old, &[("- name: drive", "- name: test drive")]);
    assert_eq!(lines(&documents(&old, &new).changes), ["renamed steps: drive -> test drive"]);
}

#[test]
fn a_step_of_another_order_has_moved() {
    let old = text(PROCEDURE);
    let swapped =
        edited(&old, &[("order: 3", "order: 99"), ("order: 4", "order: 3"), ("order: 99", "order: 4")]);
    let found = lines(&documents(&old, &swapped).changes);
    let either = [
        ["moved steps: pan and filter: behind drain -> behind close the drain"],
        ["moved steps: close the drain: behind pan and filter -> behind drain"],
    ];
    assert!(either.iter().any(|wanted| found == wanted), "{found:#?}");
    // Side by side is no more one after the other.
    let together = edited(&old, &[("order: 4", "order: 3")]);
    let found = lines(&documents(&old, &together).changes);
    assert!(found.contains(&"changed steps: close the drain, order: 4 -> 3".to_owned()), "{found:#?}");
    let (front, behind) = (
        "  - {place: pan front, cleaned: yes, debris: fine paste}\n",
        "  - {place: pan rear,  cleaned: yes, debris: fine paste}\n",
    );
    let job = text(JOB);
    let turned = edited(&job, &[(front, ""), (behind, &format!("{behind}{front}"))]);
    let found = lines(&documents(&job, &turned).changes);
    assert!(found.len() == 1 && found[0].starts_with("moved magnets: pan "), "{found:#?}");
}

/// Units are exact: 45 Nm is 4.5 daN·m, and 10 Nm ± 10 % reaches from 9 Nm to 11 Nm.
#[test]
fn what_is_written_otherwise_is_no_change() {
    let job = text(JOB);
    let other = edited(
        &job,
        &[
            ("place: pan, torque: 45 Nm", "place: pan, torque: 45.0 N·m"),
            ("temperature: 38 °C", "temperature: 100.4 °F"),
            ("opened: 2026-03-02T08:15:00+01:00", "opened: 2026-03-02T07:15:00Z"),
            ("cleaned: yes, flatness_checked: yes", "flatness_checked: true, cleaned: true"),
        ],
    );
    let found = documents(&job, &other);
    assert_eq!(lines(&found.changes), Vec::<String>::new());
    assert_eq!(found.spellings.len(), 5, "{:#?}", lines(&found.spellings));
    let procedure = text(PROCEDURE);
    let limits = edited(&procedure, &[("torque: 10 Nm ± 10 %", "torque: 9000 mN·m .. 11 Nm")]);
    let found = documents(&procedure, &limits);
    assert_eq!((found.changes.len(), found.spellings.len()), (0, 1));
    let narrower = edited(&procedure, &[("torque: 10 Nm ± 10 %", "torque: 9 Nm .. 10.99 Nm")]);
    assert_eq!(documents(&procedure, &narrower).changes.len(), 1);
}

#[test]
fn screws_of_one_name_are_told_apart_by_what_they_hold() {
    let job = |screws: &[&str]| {
        let screws: String =
            screws.iter().map(|torque| format!("  - {{role: nut, torque: {torque}}}\n")).collect();
        format!("form: job/1\njob: {{number: K-1}}\nunit: {{}}\nfastenings:\n{screws}")
    };
    let found = documents(&job(&["10 Nm", "11 Nm", "12 Nm"]), &job(&["10 Nm", "11.5 Nm", "11 Nm", "12 Nm"]));
    assert_eq!(lines(&found.changes), ["added fastenings: nut: torque 11.5 Nm"]);
    let found = documents(&job(&["10 Nm", "11 Nm", "12 Nm"]), &job(&["10 Nm", "15 Nm", "12 Nm"]));
    assert_eq!(lines(&found.changes), ["changed fastenings: nut, torque: 11 Nm -> 15 Nm"]);
}

/// Fields outside the form, and values that are none, are compared as they are written.
#[test]
fn what_the_form_does_not_know_is_compared_too() {
    let old = "form: job/1\nbay: [1, 2]\nunit: {kind: engine}\nfluid: {drained: {volume: 5}}\n";
    let new = "form: job/1\nbay: [2]\nunit: {kind: engine}\nfluid: {drained: {volume: 5 L}}\nnote: x\n";
    let wanted = ["taken out bay: 1", "changed fluid: drained, volume: 5 -> 5 L", "added note: x"];
    assert_eq!(lines(&documents(old, new).changes), wanted);
}

/// A list that was not there before is said entry by entry, each with its own fields.
#[test]
fn each_entry_of_a_new_list_is_said_by_itself() {
    let old = text(JOB);
    let new = format!(
        "{old}concessions:\n  - {{rule: a.b, reason: s, granted_by: x, name: M}}\n  - {{rule: a.c, reason: t, granted_by: y, name: N}}\n"
    );
    for (from, to, kind) in [(&old, &new, "added"), (&new, &old, "taken out")] {
        let found = lines(&documents(from, to).changes);
        assert_eq!(found.len(), 2, "{found:?}");
        for (line, (own, other)) in found.iter().zip([("a.b", "a.c"), ("a.c", "a.b")]) {
            assert!(line.starts_with(&format!("{kind} concessions: ")), "{line}");
            assert!(line.contains(own) && !line.contains(other), "{line}");
        }
    }
}
