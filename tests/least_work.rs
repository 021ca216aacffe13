//! The least work for a demand to be met: what `why` names of a record that is held, and that it is enough.

use witnessmark::finding::Outcome;
use witnessmark::session::Subject;

use crate::support::session;

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
