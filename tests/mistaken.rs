//! Fields that are recorded under a misspelt name or twice: what needs them is undecided, whatever is to be passed
//! where nothing is recorded.

use witnessmark::document::{self, Forms};
use witnessmark::finding::{Finding, Judged, Outcome, Standing};
use witnessmark::source::SourceId;

use crate::support::{Folder, session};

const RECORD: &str = "\
form: job/1
job: {number: K-1, opened: 2026-03-02T09:00, closed: 2026-03-02T11:00, state: closed}
unit: {kind: engine}
";

fn judged(clauses: &str, record: &str) -> Judged {
    let rules = format!(
        "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n{clauses}\n  otherwise hold \"No.\"\n  if unrecorded pass\n"
    );
    let session = session(&[("s.standard", &rules)]);
    assert!(!session.is_faulty(), "{clauses}: {:?}", session.diagnostics());
    let vehicle = if record.contains("vehic") { "" } else { "vehicle: {}\n" };
    session.judge("job.yaml", &format!("{RECORD}{vehicle}{record}\n")).remove(0)
}

/// The only finding, which must be an undecided one that counts.
#[track_caller]
fn undecided(clauses: &str, record: &str) -> Finding {
    let judged = judged(clauses, record);
    let [finding] = &*judged.findings else { panic!("{record}: {:#?}", judged.findings) };
    assert_eq!((finding.outcome, finding.standing), (Outcome::Undecided, Standing::Counts), "{record}");
    finding.clone()
}

const TORQUE: &str = "  concerns each s in fastenings\n  demands s.torque within 40 Nm .. 50 Nm";

#[test]
fn what_is_recorded_twice_is_undecided() {
    let twice = |first: &str, second: &str| {
        format!("fastenings:\n  - role: plug\n    torque: {first}\n    torque: {second}")
    };
    for (first, second) in
        [("45 Nm", "99 Nm"), ("99 Nm", "45 Nm"), ("45 Nm", ""), ("", "45 Nm"), ("45 Nm", "[45 Nm]")]
    {
        let finding = undecided(TORQUE, &twice(first, second));
        assert!(
            finding.missing.concat().contains("`fastenings[0].torque` is recorded twice"),
            "{finding:#?}"
        );
    }
    // Said twice, and the same.
    for same in ["45 Nm", "'45 Nm'"] {
        let judged = judged(TORQUE, &twice("45 Nm", same));
        assert_eq!(judged.findings, [], "{judged:#?}");
        assert!(judged.diagnostics.iter().any(|found| found.code.as_str() == "document/field-twice"));
    }
}

#[test]
fn of_a_group_or_a_list_that_is_recorded_twice_nothing_is_decided() {
    let group = "  demands level_check.temperature within 30 °C .. 50 °C";
    let finding = undecided(group, "level_check: {temperature: 40 °C}\nlevel_check: {temperature: 60 °C}");
    assert!(finding.missing.concat().contains("`level_check` is recorded twice"), "{finding:#?}");
    let list = "  demands every s in fastenings: s.torque within 40 Nm .. 50 Nm";
    let one = "fastenings: [{torque: 45 Nm}]";
    undecided(list, &format!("{one}\nfastenings: [{{torque: 99 Nm}}]"));
    undecided(list, &format!("{one}\nfastenings: [{{torque: 45 Nm}}, {{torque: 99 Nm}}]"));
    undecided(list, &format!("{one}\nfastenings: [{{angle: 45 Nm}}]"));
    undecided(list, &format!("{one}\nfastenings: {{torque: 45 Nm}}"));
    // The same words in another layout.
    let judged = judged(list, &format!("{one}\nfastenings:\n  - torque:   45 Nm"));
    assert_eq!(judged.findings, []);
}

/// Three times, with the two that differ in any place; also past the fields that are looked through one by one.
#[test]
fn each_repetition_is_compared_with_the_first() {
    let value = "  demands level_check.temperature within 30 °C .. 50 °C";
    for temperatures in [["40 °C", "40 °C", "60 °C"], ["40 °C", "60 °C", "40 °C"]] {
        let fields = temperatures.map(|value| format!("  temperature: {value}\n")).concat();
        undecided(value, &format!("level_check:\n{fields}"));
        let many: String = (0..40).map(|number| format!("  x{number}: a\n")).collect();
        undecided(value, &format!("level_check:\n{many}{fields}"));
        undecided(value, &format!("level_check:\n  temperature: 40 °C\n{many}  temperature: 41 °C\n"));
    }
}

#[test]
fn a_repetition_is_said_once_and_nothing_else_of_the_value() {
    let text = format!(
        "{RECORD}vehicle: {{vin: A, vin: [B]}}\nfastenings: [{{torque: 45, torque: [9], order: 1, order: }}]\n"
    );
    let (_, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
    let codes: Vec<&str> = diagnostics.iter().map(|found| found.code.as_str()).collect();
    assert_eq!(codes, ["document/field-twice"; 3], "{diagnostics:#?}");
}

#[test]
fn what_is_recorded_under_a_misspelt_name_is_not_let_pass() {
    for (record, path, meant) in [
        ("fastenings: [{role: plug, torqe: 30 Nm}]", "fastenings[0].torqe", "torque"),
        ("fastenings: [{role: plug, torqe: 30 Nm, torque: }]", "fastenings[0].torqe", "torque"),
        ("fastenings: [{role: plug, torque: , Torque: 30 Nm}]", "fastenings[0].Torque", "torque"),
        ("fastenings: [{role: plug, torqu\u{435}: 30 Nm}]", "fastenings[0].torqu\u{435}", "torque"),
    ] {
        let finding = undecided(TORQUE, record);
        let said = format!("`{path}` is no field, and can mean `{meant}`");
        assert!(finding.missing.concat().contains(&said), "{finding:#?}");
        assert!(!finding.at.span.is_empty(), "{finding:#?}");
    }
    // A group, a list, a group above the field.
    undecided("  demands level_check.temperature within 30 °C .. 50 °C", "level_chek: {temperature: 60 °C}");
    undecided("  demands level_check.temperature within 30 °C .. 50 °C", "level_check: {temprature: 60 °C}");
    undecided("  demands every s in fastenings: s.torque above 4 Nm", "fastening: [{torque: 1 Nm}]");
    undecided("  demands recorded level_check.temperature", "level_check: {temprature: 60 °C}");
    undecided("  demands vehicle.plate is \"GW 1\"", "vehicel: {plate: GW 2}");
}

#[test]
fn a_name_that_is_near_to_none_or_has_no_value_is_not_what_was_meant() {
    for record in [
        "fastenings: [{role: plug}]",
        "fastenings: [{role: plug, bogus: 30 Nm}]",
        "fastenings: [{role: plug, torqe: }]",
    ] {
        let judged = judged(TORQUE, record);
        assert!(judged.findings.iter().all(|finding| finding.standing == Standing::Passed), "{judged:#?}");
    }
    // The field itself is there.
    let judged = judged(TORQUE, "fastenings: [{role: plug, torqe: 30 Nm, torque: 45 Nm}]");
    assert_eq!(judged.findings, []);
}

#[test]
fn a_link_whose_name_cannot_be_read_is_not_let_pass() {
    let clauses = "  concerns each s in fastenings\n  demands s.torque within s.instrument.torque.range";
    for record in
        ["{torque: 45 Nm, tol: T-1}", "{torque: 45 Nm, tool: [T-1]}", "{torque: 45 Nm, tool: T-1, tool: T-2}"]
    {
        undecided(clauses, &format!("fastenings: [{record}]"));
    }
    let judged = judged(clauses, "fastenings: [{torque: 45 Nm}]");
    assert!(judged.findings.iter().all(|finding| finding.standing == Standing::Passed), "{judged:#?}");
}

#[test]
fn a_procedure_whose_name_cannot_be_read_is_not_let_pass() {
    let rules = "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  demands unit.kind is procedure.unit.kind\n  otherwise hold \"No.\"\n  if unrecorded pass\n";
    let session = session(&[("s.standard", rules)]);
    let standing = |named: &str| {
        let job = RECORD.replace("state: closed}", &format!("state: closed{named}}}"));
        let judged = session.judge("job.yaml", &format!("{job}vehicle: {{}}\n")).remove(0);
        let standings: Vec<Standing> = judged.findings.iter().map(|finding| finding.standing).collect();
        (standings, judged.findings.iter().map(|finding| finding.missing.concat()).collect::<String>())
    };
    for (named, why) in [
        (", procedur: {name: plugs}", "`job.procedur` is no field, and can mean `procedure`"),
        (", procedure: {nam: plugs}", "`job.procedure.nam` is no field, and can mean `name`"),
        (", procedure: {name: a, name: b}", "`job.procedure.name` is recorded twice"),
        (", procedure: plugs", "`job.procedure` is recorded but cannot be read"),
    ] {
        let (standings, said) = standing(named);
        assert_eq!(standings, [Standing::Counts], "{named}");
        assert!(said.contains(why), "{named}: {said}");
    }
    for named in ["", ", procedure: {}", ", procedure: {edition: 2}"] {
        assert_eq!(standing(named).0, [Standing::Passed], "{named}");
    }
}

/// Each with the field as the diagnostic shows it.
#[test]
fn an_unknown_field_is_reported_with_nothing_behind_it_too() {
    let rows = [
        ("fastenings: [{torqe: }]", "torqe", "write `torque`"),
        ("fastenings:\n  - role: plug\n    torqe:", "torqe", "write `torque`"),
        ("fastenings: [{torqe: ''}]", "torqe", "write `torque`"),
        ("fastenings: [{role: [x], bogus}]", "bogus", "the fields of the fastening are"),
        ("bogus:", "bogus", "the fields of the job record are"),
        ("concession:", "concession", "write `concessions`"),
    ];
    for (record, field, help) in rows {
        let text = format!("{RECORD}vehicle: {{}}\n{record}\n");
        let (_, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
        let found = diagnostics.iter().find(|found| found.code.as_str() == "document/unknown-field");
        let found = found.unwrap_or_else(|| panic!("{record}: {diagnostics:#?}"));
        assert_eq!(found.place().map(|place| place.span.of(&text)), Some(field), "{record}");
        assert!(found.help.as_deref().is_some_and(|said| said.contains(help)), "{record}: {found:#?}");
    }
    let known = format!("{RECORD}vehicle: {{plate: , vin: }}\nfastenings: [{{torque: , tool: }}]\n");
    assert_eq!(document::read(SourceId::FIRST, &known, &Forms::builtin()).1, []);
}

#[test]
fn names_that_a_form_leaves_open_can_be_blank() {
    let folder = Folder::new();
    folder.write("k.yaml", format!("{RECORD}vehicle: {{}}\n"));
    folder.write("w.yaml", "form: workshop/1\nworkshop: {name: W}\nparameters:\n  s.most:\n");
    let (_, diagnostics) = document::read(SourceId::FIRST, &folder.read("w.yaml"), &Forms::builtin());
    assert_eq!(diagnostics, []);
}

#[test]
fn a_misspelt_field_without_a_value_is_mended() {
    let folder = Folder::new();
    folder.write("k.yaml", format!("{RECORD}vehicle: {{}}\nfastenings:\n  - role: plug\n    torqe:\n"));
    folder.run("amend k.yaml --yes");
    assert!(folder.read("k.yaml").contains("    torque:\n"), "{}", folder.read("k.yaml"));
}

#[test]
fn hundreds_of_unknown_blank_fields_are_listed_up_to_a_bound() {
    let many: String = (0..300).map(|number| format!("bogus{number}:\n")).collect();
    let text = format!("{RECORD}vehicle: {{}}\n{many}");
    let (_, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
    assert_eq!(diagnostics.len(), 101);
    assert!(diagnostics.iter().any(|found| found.message.starts_with("200 further errors")));
}
