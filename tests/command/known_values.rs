//! What a known finding accepts: the values by which its demand was broken, and no others.

use crate::support::{Folder, Ran};

const HEAD: &str = "standard held edition 1 \"Held\"\njudges job\n\nrule held \"It holds\"\n";

/// A closed job with seals, screws and fills.
const JOB: &str = "form: job/1
job: {number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed}
vehicle: {}
unit: {kind: engine}
seals:
  - {place: A, renewed: no, disturbed: yes}
  - {place: B, renewed: yes, disturbed: yes}
  - {place: C, renewed: no, disturbed: no}
fastenings:
  - {role: screw, place: A, torque: 60 Nm, marked: no}
  - {role: screw, place: B, torque: 45 Nm, marked: yes}
fluid:
  fills:
    - {stage: first, volume: 4 L}
    - {stage: top up, volume: 1 L}
";

fn inspect(folder: &Folder, options: &str) -> Ran {
    folder.run(&format!(
        "inspect jobs --standard held.standard --as-of 2026-03-02 --brief --width 400 {options}"
    ))
}

/// A folder in which what a rule finds in a job is known.
fn noted(rule: &str, job: &str) -> Folder {
    let folder = Folder::new();
    folder.write("held.standard", format!("{HEAD}  {rule}\n  otherwise hold \"Not so.\"\n"));
    folder.write("jobs/a.yaml", job);
    inspect(&folder, "").quietly(1);
    inspect(&folder, "--note-known known.yaml").quietly(1);
    inspect(&folder, "--accept-known known.yaml").quietly(0);
    folder
}

/// Whether a finding stays known when parts of the record are put in the place of others.
#[track_caller]
fn stays_known(folder: &Folder, changes: &[(&str, &str)]) -> bool {
    let mut job = JOB.to_owned();
    for (from, to) in changes {
        assert!(job.contains(from), "{from}");
        job = job.replace(from, to);
    }
    folder.write("jobs/a.yaml", job);
    match inspect(folder, "--accept-known known.yaml").code {
        0 => true,
        1 => false,
        code => panic!("exit {code}"),
    }
}

/// Another seal is not renewed, in a place of its own or in that of a good one.
const BAD_B: (&str, &str) = ("place: B, renewed: yes", "place: B, renewed: no");
const GOOD_A: (&str, &str) = ("place: A, renewed: no", "place: A, renewed: yes");
const BAD_D: (&str, &str) = ("fastenings:", "  - {place: D, renewed: no, disturbed: yes}\nfastenings:");
const OPEN_D: (&str, &str) = ("fastenings:", "  - {place: D, disturbed: yes}\nfastenings:");
const GOOD_D: (&str, &str) = ("fastenings:", "  - {place: D, renewed: yes, disturbed: yes}\nfastenings:");
const MOVED: (&str, &str) = (
    "  - {place: A, renewed: no, disturbed: yes}\n  - {place: B, renewed: yes, disturbed: yes}",
    "  - {place: B, renewed: yes, disturbed: yes}\n\n  - {disturbed: yes, place: A, renewed: no}",
);
const TIGHTER: (&str, &str) = ("60 Nm", "500 Nm");

#[test]
fn a_second_bad_entry_of_a_quantifier_is_new() {
    for rule in [
        "demands every s in seals where s.disturbed: s.renewed",
        "demands every s in seals: s.disturbed implies s.renewed",
        "demands no s in seals where s.disturbed: s.renewed is no",
        "demands not (some s in seals: s.disturbed and s.renewed is no)",
        "concerns where unit.kind is \"engine\"\n  demands unit.kind is \"engine\" and every s in seals: not s.disturbed or s.renewed",
    ] {
        let folder = noted(rule, JOB);
        let known = |changes: &[(&str, &str)]| stays_known(&folder, changes);
        for new in [BAD_B, BAD_D, OPEN_D] {
            assert!(!known(&[new]), "{rule} {new:?}\n{}", folder.read("known.yaml"));
        }
        assert!(!known(&[GOOD_A, BAD_B]), "{rule}");
        // What the demand says nothing against makes no difference, nor where things are.
        for same in [GOOD_D, MOVED, TIGHTER] {
            assert!(known(&[same]), "{rule} {same:?}\n{}", folder.read("known.yaml"));
        }
    }
}

#[test]
fn of_entries_of_which_none_is_as_wanted_each_value_is_seen() {
    let folder = noted("demands some f in fastenings: f.torque within 70 Nm .. 80 Nm and not f.marked", JOB);
    let known = |changes: &[(&str, &str)]| stays_known(&folder, changes);
    for new in
        [TIGHTER, ("45 Nm", "5 Nm"), ("marked: yes", "marked: no"), ("place: B, torque", "place: X, torque")]
    {
        assert!(!known(&[new]), "{new:?}\n{}", folder.read("known.yaml"));
    }
    assert!(known(&[BAD_D]));
}

#[test]
fn another_entry_or_value_in_what_is_counted_or_summed_is_new() {
    for rule in [
        "demands (count of s in seals where s.disturbed and s.renewed) at least 2",
        "demands (count of s in seals where s.disturbed and s.renewed is no) is 0",
        "concerns each s in seals where s.disturbed and s.renewed is no, at most 0\n  demands recorded s.place",
        "concerns each s in seals where s.disturbed and s.renewed, at least 2\n  demands recorded s.place",
    ] {
        let folder = noted(rule, JOB);
        for new in [&[BAD_D][..], &[GOOD_A, BAD_B]] {
            assert!(!stays_known(&folder, new), "{rule} {new:?}\n{}", folder.read("known.yaml"));
        }
        for same in [MOVED, TIGHTER] {
            assert!(stays_known(&folder, &[same]), "{rule} {same:?}\n{}", folder.read("known.yaml"));
        }
    }
    let folder = noted("demands (sum of f.volume over f in fluid.fills) above 5 L", JOB);
    assert!(!stays_known(&folder, &[("volume: 4 L", "volume: 3 L"), ("volume: 1 L", "volume: 2 L")]));
    assert!(stays_known(&folder, &[TIGHTER]));
    let folder = noted("demands count of fluid.fills at most 1", JOB);
    assert!(!stays_known(&folder, &[("stage: top up", "stage: final")]));
    let counted =
        "concerns each f in fastenings where f.torque above 50 Nm, at least 2\n  demands recorded f.place";
    let folder = noted(counted, JOB);
    assert!(!stays_known(&folder, &[("45 Nm", "5 Nm")]), "a value that does not count is seen too");
}

/// Names for values and conditions are looked through; each part of a demand and each demand of a rule counts.
#[test]
fn lets_several_parts_and_several_demands_are_seen() {
    let folder = Folder::new();
    let all = "let all_renewed = every s in seals where s.disturbed: s.renewed\n";
    folder.write(
        "held.standard",
        format!("{HEAD}  demands all_renewed\n  otherwise hold \"Not so.\"\n\n{all}"),
    );
    folder.write("jobs/a.yaml", JOB);
    inspect(&folder, "--note-known known.yaml").quietly(1);
    assert!(stays_known(&folder, &[]));
    assert!(!stays_known(&folder, &[BAD_B]));
    let each = "concerns each f in fastenings\n";
    let folder = noted(&format!("{each}  demands f.torque below 50 Nm and f.marked"), JOB);
    assert!(!stays_known(&folder, &[TIGHTER]));
    assert!(!stays_known(&folder, &[("torque: 60 Nm", "torque: 40 Nm")]));
    assert!(stays_known(&folder, &[BAD_B]));
    // Of two demands that come to one finding with the same words at one place, both are seen.
    let rule = "demands every s in seals where s.place is \"A\": s.renewed\n  demands every s in seals where s.disturbed: s.renewed";
    let folder = noted(rule, JOB);
    assert_eq!(folder.read("known.yaml").matches("finding: held.").count(), 1);
    assert!(!stays_known(&folder, &[BAD_B]));
}

/// What is missing is seen like what is there.
#[test]
fn a_value_beside_a_missing_one_and_a_second_missing_one_are_seen() {
    let open = ("place: A, renewed: no", "place: A");
    for rule in [
        "demands every s in seals where s.disturbed: s.renewed",
        "demands (count of s in seals where s.disturbed and s.renewed) at least 2",
        "concerns each s in seals where s.disturbed and s.renewed, at least 2\n  demands recorded s.place",
    ] {
        let folder = noted(rule, &JOB.replace(open.0, open.1));
        assert!(stays_known(&folder, &[open]), "{rule}");
        for new in [OPEN_D, ("place: B, renewed: yes", "place: B")] {
            assert!(!stays_known(&folder, &[open, new]), "{rule} {new:?}\n{}", folder.read("known.yaml"));
        }
    }
    // Whether a rule concerns a screw is open, and what it demands of it is seen.
    let rule =
        "concerns each f in fastenings where f.property_class is \"8.8\"\n  demands f.torque at least 100 Nm";
    let folder = noted(rule, JOB);
    assert!(stays_known(&folder, &[("marked: no", "marked: yes")]));
    assert!(!stays_known(&folder, &[("60 Nm", "61 Nm")]), "{}", folder.read("known.yaml"));
    // So it is below a list of which it is open.
    let rule = "concerns each w in wheels where w.seat_clean, each f in fastenings where f.marked\n  demands f.torque at least 100 Nm";
    let wheels = ("fastenings:", "wheels:\n  - {size: X}\nfastenings:");
    let folder = noted(rule, &JOB.replace(wheels.0, wheels.1));
    assert!(stays_known(&folder, &[wheels, TIGHTER]));
    assert!(!stays_known(&folder, &[wheels, ("45 Nm", "46 Nm")]), "{}", folder.read("known.yaml"));
}

/// What goes by more values than are looked at is neither noted nor accepted, and the report says why.
#[test]
fn a_finding_that_goes_by_too_many_values_is_never_known() {
    let few =
        noted("demands count of wheels at most 1", &format!("{JOB}wheels: [{{size: a}}, {{size: b}}]\n"));
    let many = format!("{JOB}wheels:\n{}", "  - {size: a}\n".repeat(10_001));
    few.write("jobs/a.yaml", many);
    inspect(&few, "--accept-known known.yaml").quietly(1).says(&["(it goes by too many values to be known)"]);
    inspect(&few, "--note-known other.yaml").quietly(1);
    assert!(few.read("other.yaml").ends_with("findings: []\n"));
}

#[test]
fn what_was_seen_is_written_so_that_people_can_read_it() {
    let folder =
        noted("demands every s in seals where s.disturbed: s.renewed", &JOB.replace(BAD_B.0, BAD_B.1));
    let text = folder.read("known.yaml").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains(
            "at: 'job K-1 of 2026-03-02T08:15:00+01:00: seals[A].renewed' found: 'no; seals[B].renewed: no'"
        ),
        "{text}"
    );
    let folder = noted("concerns each f in fastenings\n  demands f.torque below 50 Nm", JOB);
    let text = folder.read("known.yaml");
    assert!(
        text.contains(
            "  at: 'job K-1 of 2026-03-02T08:15:00+01:00: fastenings[screw, A].torque'\n  found: 60 Nm\n"
        ),
        "{text}"
    );
}

/// Mistakes in a document itself are known with the value that is written there.
#[test]
fn another_value_of_a_mistake_in_a_document_is_new() {
    let rule = "demands unit.kind is \"engine\"";
    let cases = [
        ("marked: yes", "torqe: 61 Nm", "torqe: 99 Nm", "found: 'torqe: 61 Nm'"),
        ("marked: yes", "torque: 61 Nm", "torque: 62 Nm", "found: 'torque: 61 Nm; torque: 45 Nm'"),
        (
            "marked: yes",
            "extra: {a: 1, b: [2, 3]}",
            "extra: {a: 1, b: [2, 4]}",
            "found: 'extra: {a: 1, b: [2, 3]}'",
        ),
        ("torque: 45 Nm", "torqe: 61 Nm", "torqe: 99 Nm", "found: 'torqe: 61 Nm'"),
        ("marked: yes", "marked: si", "marked: oui", "found: si"),
        ("vehicle: {}", "vehicle:\n  plte: >\n    GW 1\n    x", "vehicle:\n  plte: >\n    GW 1\n    y", ""),
        ("vehicle: {}", "vehicle:\n  plate: A\n  plate:\n  - x", "vehicle:\n  plate: A\n  plate:\n  - y", ""),
        ("vehicle: {}", "vehicle:\n  ? [a]\n  : x", "vehicle:\n  ? [a]\n  : y", ""),
        ("vehicle: {}", "vehicle:\n  <<: {plate: x}", "vehicle:\n  <<: {plate: y}", ""),
    ];
    for (from, slip, other, wanted) in cases {
        let folder = noted(rule, &JOB.replace(from, slip));
        assert!(folder.read("known.yaml").contains(wanted), "{slip}: {}", folder.read("known.yaml"));
        assert!(stays_known(&folder, &[(from, slip)]), "{slip}");
        assert!(!stays_known(&folder, &[(from, other)]), "{slip}: {}", folder.read("known.yaml"));
    }
    // The first of two fields of a name, too.
    let folder = noted(rule, &JOB.replace("marked: yes", "torque: 61 Nm"));
    assert!(!stays_known(&folder, &[("marked: yes", "torque: 61 Nm"), ("45 Nm", "46 Nm")]));
}
