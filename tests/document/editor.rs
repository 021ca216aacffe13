//! What an ordinary editor says of records: one that reads YAML 1.2 and checks by the schemas that the program prints.

use serde_json::Value;
use witnessmark::document::{self, Forms};
use witnessmark::source::SourceId;

use crate::support::{files_below, text};

/// The documents of a text as such an editor reads them.
fn read(text: &str) -> Vec<Value> {
    use serde::Deserialize as _;
    serde_yaml::Deserializer::from_str(text).map(|one| Value::deserialize(one).unwrap()).collect()
}

/// What an editor marks in a document.
fn marked(document: &Value) -> Vec<String> {
    let name = document["form"].as_str().and_then(|form| form.split('/').next()).unwrap_or_default();
    let schema = Forms::builtin().get(name).expect("a form").schema_text();
    let schema = serde_json::from_str(&schema).unwrap();
    let validator = jsonschema::draft202012::options().should_validate_formats(true).build(&schema).unwrap();
    validator.iter_errors(document).map(|fault| format!("{}: {fault}", fault.instance_path())).collect()
}

#[test]
fn an_editor_marks_nothing_in_a_record_that_the_program_accepts() {
    let (mut checked, mut wrong) = (0, Vec::new());
    for path in files_below("examples").into_iter().filter(|path| path.ends_with(".yaml")) {
        let text = text(&path);
        let (documents, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
        let is_accepted =
            diagnostics.is_empty() && documents.iter().all(|document| document.form().is_some());
        if !is_accepted || documents.is_empty() {
            continue;
        }
        checked += 1;
        wrong.extend(read(&text).iter().flat_map(marked).map(|fault| format!("{path}{fault}")));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(checked > 40, "{checked} records were checked");
}

const JOB: &str = "form: job/1\njob: {number: 12, opened: 2026-03-02T08:10, state: closed, technician: A. Muster}\n\
                   vehicle: {plate: 123, odometer: 84210 km, control_units: No}\nunit: {kind: engine}\nfastenings:\n";

/// Blanks of a sheet, numbers where a text belongs and texts where a number does.
#[test]
fn what_yaml_takes_for_something_else_is_not_marked() {
    for entry in [
        "{role: plug, place: 3, property_class: 8.8, torque: 45 Nm, new: yes, order: \"2\", count: 4}",
        "{role: plug, place: , torque: , new: , order: , pass: , stages: , adapter: , mating_thread: }",
        "{role: plug, new: TRUE, marked: no}",
    ] {
        let text = format!("{JOB}  - {entry}\n");
        let (_, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
        assert!(diagnostics.is_empty(), "{entry}: {diagnostics:#?}");
        assert_eq!(read(&text).iter().flat_map(marked).collect::<Vec<_>>(), [""; 0], "{entry}");
    }
    let misspelt = [
        ("{role: plug, new: perhaps}", "new"),
        ("{role: plug, mating_thread: wood}", "mating_thread"),
        ("{role: plug, torqe: 45 Nm}", "torqe"),
        ("{role: plug, torque: [45 Nm, 46 Nm]}", "torque"),
        ("{role: plug, count: -1}", "count"),
    ];
    for (entry, field) in misspelt {
        let marked: Vec<String> = read(&format!("{JOB}  - {entry}\n")).iter().flat_map(marked).collect();
        assert!(marked.len() == 1 && marked[0].contains(field), "{entry}: {marked:#?}");
    }
}

#[test]
fn names_that_people_write_for_a_field_lead_to_it() {
    let help = |from: &str, to: &str| {
        let text = format!("{JOB}  - {{role: plug}}\n").replace(from, to);
        let (_, diagnostics) = document::read(SourceId::FIRST, &text, &Forms::builtin());
        diagnostics.into_iter().filter_map(|found| found.help).collect::<Vec<_>>().join("; ")
    };
    for (from, to, wanted) in [
        ("odometer: 84210 km", "km: 84210 km", "write `odometer`"),
        ("odometer: 84210 km", "Mileage: 84210 km", "write `odometer`"),
        ("plate: 123", "licence plate: 123", "write `plate`"),
        ("technician: A. Muster", "mechanic: A. Muster", "write `technician`"),
        ("role: plug", "role: plug, nm: 45 Nm", "write `torque`"),
        ("unit: {kind", "mileage: 84210 km\nunit: {kind", "write it as `odometer` of the vehicle"),
        // A slip of the pen comes before a field elsewhere.
        ("odometer: 84210 km", "odometr: 84210 km", "write `odometer`"),
    ] {
        assert_eq!(help(from, to), wanted, "{to}");
    }
}

/// A name that is one of a field itself would never lead anywhere, and two fields cannot be meant by one.
#[test]
fn other_names_of_fields_are_names_of_no_field_of_their_record() {
    for form in ["job", "procedure", "tools"] {
        let text = text(format!("grammar/{form}.schema.json"));
        let schema: Value = serde_json::from_str(&text).unwrap();
        for (record, declared) in schema["$defs"].as_object().unwrap() {
            let Some(fields) = declared["properties"].as_object() else { continue };
            let called = |field: &Value| field["called"].as_array().cloned().unwrap_or_default();
            let all: Vec<String> =
                fields.values().flat_map(called).map(|name| name.as_str().unwrap().to_owned()).collect();
            for name in &all {
                assert!(!fields.contains_key(name), "{form} {record}: `{name}` is a field itself");
                assert_eq!(
                    all.iter().filter(|other| *other == name).count(),
                    1,
                    "{form} {record}: `{name}` twice"
                );
                assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{name}");
            }
        }
    }
}
