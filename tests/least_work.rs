//! The least work for a demand to be met: what `why` names of a record that is held, and that it is enough.

use witnessmark::finding::Outcome;
use witnessmark::session::Subject;

use crate::support::{Folder, session};

const RECORD: &str = "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15, state: closed}\nvehicle: {plate: QX 1}\nunit: {kind: engine}\n";

fn judged(rule: &str, record: &str) -> Vec<Subject> {
    let text = format!(
        "standard s edition 1 \"S\"\njudges job\n\nlet tight of s in fastenings = s.torque within 9 Nm .. 11 Nm\n\n\
         rule r \"R\"\n{rule}\n  otherwise hold \"no\"\n  if unrecorded hold\n"
    );
    let session = session(&[("s.standard", &text)]);
    assert!(session.diagnostics().is_empty(), "{rule}: {:#?}", session.diagnostics());
    let rule = session.rules_called("s.r").next().unwrap();
    let mut traces = session.trace(rule, "a.yaml", &format!("{RECORD}{record}"));
    traces.remove(0).subjects
}

fn works(subject: &Subject) -> Vec<String> {
    subject.least_work.iter().map(|one| format!("{:?} {}", one.mending, one.facts.path)).collect()
}

/// Demand, what the record holds, what is to be done, and the record in which that was done and nothing else.
#[test]
fn what_is_to_be_done_is_the_least_that_is_enough() {
    let cases: [(&str, &str, &[&str], &str); 15] = [
        (
            "  concerns each s in fastenings\n  demands s.torque within 9 Nm .. 11 Nm",
            "fastenings: [{torque: 12 Nm}]",
            &["Tighten fastenings[0].torque"],
            "fastenings: [{torque: 10 Nm}]",
        ),
        // All of an `and`, the easier of an `or`.
        (
            "  demands road_test.done and cautions.acknowledged and used_oil.collected",
            "road_test: {done: no}\nused_oil: {collected: yes}",
            &["Do road_test.done", "Record cautions.acknowledged"],
            "road_test: {done: yes}\ncautions: {acknowledged: yes}\nused_oil: {collected: yes}",
        ),
        (
            "  demands pan.renewed or pan.cleaned",
            "pan: {renewed: no, cleaned: no}",
            &["Do pan.cleaned"],
            "pan: {renewed: no, cleaned: yes}",
        ),
        (
            "  demands pan.cleaned or recorded fluid.lot",
            "pan: {cleaned: no}",
            &["Record fluid.lot"],
            "pan: {cleaned: no}\nfluid: {lot: L1}",
        ),
        // What is past stays as it is, so the other side is left.
        (
            "  demands unit.kind is \"engine\" implies road_test.done",
            "road_test: {done: no}",
            &["Do road_test.done"],
            "road_test: {done: yes}",
        ),
        (
            "  demands not (unit.kind is \"engine\" and not road_test.done)",
            "road_test: {done: no}",
            &["Do road_test.done"],
            "road_test: {done: yes}",
        ),
        ("  demands unit.kind is \"wheels\"", "", &[], ""),
        // Something that is recorded is not left out again.
        (
            "  demands not recorded fluid.lot or road_test.done",
            "fluid: {lot: L1}\nroad_test: {done: no}",
            &["Do road_test.done"],
            "fluid: {lot: L1}\nroad_test: {done: yes}",
        ),
        // Each element that is wrong; the easiest of those of which one is asked for.
        (
            "  demands every s in fastenings where s.role is \"drain plug\": tight of s",
            "fastenings: [{role: drain plug, torque: 12 Nm}, {role: fill plug, torque: 12 Nm}, {role: drain plug}]",
            &["Tighten fastenings[0].torque", "Record fastenings[2].torque"],
            "fastenings: [{role: drain plug, torque: 10 Nm}, {role: fill plug, torque: 12 Nm}, {role: drain plug, torque: 9 Nm}]",
        ),
        (
            "  demands some s in seals: s.renewed",
            "seals: [{renewed: no}, {place: cap}]",
            &["Record seals[1].renewed"],
            "seals: [{renewed: no}, {place: cap, renewed: yes}]",
        ),
        (
            "  demands no s in fastenings: s.torque above 11 Nm",
            "fastenings: [{torque: 12 Nm}, {torque: 10 Nm}]",
            &["Tighten fastenings[0].torque"],
            "fastenings: [{torque: 11 Nm}, {torque: 10 Nm}]",
        ),
        ("  demands some s in seals: s.renewed", "seals: []", &["Record seals"], "seals: [{renewed: yes}]"),
        // What is measured is measured, whether it was or not.
        (
            "  demands level_check.temperature within 30 °C .. 50 °C and recorded level_check.engine",
            "level_check: {temperature: 55 °C}",
            &["Measure level_check.temperature", "Measure level_check.engine"],
            "level_check: {temperature: 40 °C, engine: running}",
        ),
        // Whether the rule concerns the job is open.
        (
            "  concerns where pan.removed\n  demands road_test.done",
            "road_test: {done: no}",
            &["Record pan.removed"],
            "pan: {removed: no}\nroad_test: {done: no}",
        ),
        (
            "  demands sum of f.volume over f in fluid.fills within 3 L .. 4 L",
            "fluid: {fills: [{volume: 1 L}, {volume: 1 L}]}",
            &["Fill fluid.fills"],
            "fluid: {fills: [{volume: 1 L}, {volume: 2 L}]}",
        ),
    ];
    for (rule, record, wanted, mended) in cases {
        let before = judged(rule, record);
        let wrong: Vec<&Subject> =
            before.iter().filter(|one| matches!(one.outcome, Outcome::Broken | Outcome::Undecided)).collect();
        let found: Vec<String> = wrong.iter().copied().flat_map(works).collect();
        assert_eq!(found, wanted, "{rule}\n{record}\n{before:#?}");
        if wanted.is_empty() {
            continue;
        }
        let outcomes: Vec<Outcome> = judged(rule, mended).iter().map(|one| one.outcome).collect();
        let is_good = |outcome: &Outcome| matches!(outcome, Outcome::Met | Outcome::NotConcerned);
        assert!(outcomes.iter().all(is_good), "{rule}\n{mended}\n{outcomes:?}");
    }
}

/// Of a job in work what is still to do comes in the order of the steps of its procedure, with what is tightened in each; then
/// what belongs to no step, and last what is read when all is done.
#[test]
fn what_is_still_to_do_comes_in_the_order_of_the_procedure() {
    let root = env!("CARGO_MANIFEST_DIR");
    let record = format!("{root}/examples/grauwasser/jobs/K-2054-still-in-work.yaml");
    let record = std::fs::read_to_string(record).unwrap();
    let head = "  technician: Lene Brandt\n";
    let by = |procedure: &str| record.replace(head, &format!("{head}{procedure}"));
    let order = |text: &str| {
        let settings = format!("{root}/examples/grauwasser/workshop.yaml");
        let arguments =
            ["inspect", "-", "--settings", &settings, "--as-of", "2026-03-31", "--brief", "--width", "400"];
        let ran = Folder::new().run_with(arguments, text);
        let path = |line: &str| Some(line.split_once(": still to do: ")?.1.split('`').nth(1)?.to_owned());
        let mut paths: Vec<String> = ran.out.lines().filter_map(path).collect();
        paths.dedup();
        paths
    };
    assert_eq!(
        order(&by("  procedure: {name: six-speed-sump-service, edition: 3}\n")),
        [
            // The pan, the filling, the level with its plug, the drive.
            "fastenings[0].new",
            "fastenings[1].new",
            "fastenings[2].new",
            "fastenings[3].new",
            "fluid.fills",
            "fastenings[5].torque",
            "fastenings[5].marked",
            "level_check.temperature",
            "level_check.vehicle_level",
            "road_test.done",
            "seals[2].renewed",
            "fault_memory.after.read",
            "fault_memory.after.codes",
        ]
    );
    // Another field of a group comes with the last of what is in it that has a step.
    let bare = by("  procedure: {name: six-speed-sump-service, edition: 3}\n");
    let (before, rest) = bare.split_once("\nfluid:\n").unwrap();
    let bare =
        format!("{before}{}", rest.split_once("\npan:").map(|(_, rest)| format!("\npan:{rest}")).unwrap());
    let paths = order(&bare);
    let at = |path: &str| paths.iter().position(|one| one == path).unwrap_or_else(|| panic!("{paths:?}"));
    assert!(
        at("fastenings[3].new") < at("fluid.product") && at("fluid.product") < at("level_check.temperature")
    );
    // Without one, in the order of the record.
    let plain = order(&record);
    assert_eq!((&*plain[0], &*plain[2]), ("fault_memory.after.read", "fluid.fills"), "{plain:?}");
}
