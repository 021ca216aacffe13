//! The forms themselves: what their schemas say, partial records, the workshop's settings.

use serde_json::{Value, json};
use witnessmark::document::{self, Forms, Record, Shape};
use witnessmark::quantity::Kind;

use super::{said_of, shown, source};

const JOB: &str = include_str!("../../grammar/job.schema.json");
const PROCEDURE: &str = include_str!("../../grammar/procedure.schema.json");
const WORKSHOP: &str = include_str!("../../grammar/workshop.schema.json");

#[test]
fn the_schemas_are_json_schemas_of_2020_12() {
    for text in [JOB, PROCEDURE, WORKSHOP] {
        let schema: Value = serde_json::from_str(text).expect("is JSON");
        assert!(jsonschema::draft202012::meta::is_valid(&schema));
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    }
}

/// Every property has a description, every group is closed: checked on the JSON text, apart from
/// our own reading of it.
fn check_schema(schema: &Value, path: &str) {
    if schema["type"] == "object" {
        let closed = schema["additionalProperties"] == false;
        let more = &schema["additionalProperties"]["type"];
        let closed = closed || schema["additionalProperties"]["$ref"].is_string();
        assert!(
            closed || more == "string" || *more == json!(["string", "array", "object"]),
            "{path} is closed"
        );
    }
    for (name, property) in schema["properties"].as_object().into_iter().flatten() {
        let path = format!("{path}.{name}");
        let description = property["description"].as_str().unwrap_or_default();
        assert!(description.ends_with(['.', ':']) || description.ends_with("..."), "{path}: {description:?}");
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'), "{path}");
        check_schema(property, &path);
    }
    for (name, definition) in schema["$defs"].as_object().into_iter().flatten() {
        assert!(definition["title"].is_string(), "{name} has a title");
        check_schema(definition, name);
    }
}

#[test]
fn every_field_is_described_and_every_group_is_closed() {
    for text in [JOB, PROCEDURE, WORKSHOP] {
        check_schema(&serde_json::from_str(text).expect("is JSON"), "");
    }
}

fn shape<'r>(record: &'r Record, path: &[&str]) -> &'r Shape {
    let (first, rest) = path.split_first().expect("a path");
    let (_, field) = record.field(first).unwrap_or_else(|| panic!("{first} is a field"));
    let mut shape = &field.shape;
    if let Shape::List(item) = shape {
        shape = item;
    }
    match shape {
        Shape::Record(record) if !rest.is_empty() => self::shape(record, rest),
        shape => shape,
    }
}

#[test]
fn the_shape_follows_the_schema() {
    let forms = Forms::builtin();
    let job = forms.get("job").expect("is there").record();
    let quantity = |name: &str| Shape::Quantity(Kind::named(name).expect("is a kind"));
    assert_eq!(shape(job, &["fastenings", "torque"]), &quantity("torque"));
    assert_eq!(shape(job, &["fluid", "drained", "temperature"]), &quantity("temperature"));
    assert_eq!(shape(job, &["readings", "speed"]), &quantity("rotational speed"));
    assert_eq!(shape(job, &["fastenings", "order"]), &Shape::Count);
    assert_eq!(shape(job, &["filters", "beta"]), &Shape::Number);
    assert_eq!(shape(job, &["job", "opened"]), &Shape::Moment);
    assert_eq!(shape(job, &["concessions", "until"]), &Shape::Day);
    assert_eq!(shape(job, &["pan", "removed"]), &Shape::Truth);
    assert_eq!(shape(job, &["vehicle", "vin"]), &Shape::Text);
    assert_eq!(shape(job, &["cautions", "list"]), &Shape::Text);
    let Shape::Word(words) = shape(job, &["job", "state"]) else { panic!("a closed list of words") };
    assert_eq!(words.iter().map(AsRef::as_ref).collect::<Vec<&str>>(), ["in work", "closed"]);
    let required: Vec<&str> =
        job.fields.iter().filter(|field| field.required).map(|field| &*field.name).collect();
    assert_eq!(required, ["form", "job", "vehicle", "unit"]);
    assert_eq!(job.title, "job record");
}

#[test]
fn a_partial_record_demands_no_field_and_checks_all_else() {
    let forms = Forms::builtin();
    let job = forms.get("job").expect("is there");
    let rule = "  trial met { fastenings: [{ role: sump screw, place: A1, torque: 9 Nm }] }\n";
    let read = |rule: &str| {
        let start = rule.find('{').expect("has one");
        let piece = &rule[start..=rule.rfind('}').expect("has one")];
        let base = u32::try_from(start).expect("is small");
        let (documents, diagnostics) = document::read_partial(source(), piece, base, job, &forms);
        let torque = documents[0].find("fastenings[0].torque").expect("is there");
        assert_eq!(documents[0].form(), Some("job"));
        (documents[0].span(torque).of(rule).to_owned(), shown(rule, &diagnostics))
    };
    assert_eq!(read(rule), ("9 Nm".to_owned(), Vec::new()));
    let (torque, said) = read(&rule.replace("9 Nm", "9 L").replace("place", "plase"));
    assert_eq!(torque, "9 L");
    assert_eq!(
        said,
        [
            "plase | the fastening has no field `plase` | write `place`",
            "9 L | `9 L` is a volume, and a torque is wanted here | write a value in Nm, lbf·ft or kgf·m"
        ]
    );
    let nested = "{ job: { state: closed }, unit: {} }";
    assert_eq!(shown(nested, &document::read_partial(source(), nested, 0, job, &forms).1), [""; 0]);
}

#[test]
fn settings_of_a_workshop_follow_their_form() {
    let right = "form: workshop/1\nworkshop: { name: Lindental }\ntime_zone: Europe/Vienna\ndecision: simple acceptance\nstandards: [job_basics, rules/own.standard]\nparameters:\n  wheel_refit.wheel_nut: 110 Nm ± 5 %\nfail_on: advice\n";
    assert_eq!(said_of(right), [""; 0]);
    let wrong = right.replace("fail_on: advice", "fail_on: warning");
    assert_eq!(
        said_of(&wrong),
        ["warning | `warning` is not a valid `fail_on` | write one of `hold`, `advice`, `note`"]
    );
}

/// The words of a closed list in a schema's text.
fn listed(schema: &Value, group: &str, field: &str) -> Vec<String> {
    let words = schema["$defs"][group]["properties"][field]["enum"].as_array().expect("a closed list");
    words.iter().map(|word| word.as_str().expect("a word").to_owned()).collect()
}

#[test]
fn a_procedure_and_a_job_speak_the_same_words() {
    let schema = |text: &str| -> Value { serde_json::from_str(text).expect("is JSON") };
    let (job, procedure) = (schema(JOB), schema(PROCEDURE));
    for (group, field) in
        [("unit", "kind"), ("seal", "kind"), ("filter", "kind"), ("step", "lift"), ("step", "engine")]
    {
        assert_eq!(listed(&job, group, field), listed(&procedure, group, field), "{group}.{field}");
    }
    assert_eq!(listed(&job, "filter", "media_fitted"), listed(&procedure, "filter", "media"));
}

#[test]
fn a_procedure_follows_its_form() {
    let right = "form: procedure/1\nprocedure: {name: sump service, edition: 2, issued: 2026-02-16}\nunit: {kind: engine}\ncautions: [hot fluid]\nfastenings:\n  - {role: drain plug, torque: 45 Nm ± 10 %, stages: [{angle: 90° ± 5°}]}\nlevel_check: {window: 30 °C .. 50 °C}\n";
    assert_eq!(said_of(right), [""; 0]);
    let wrong = right.replace("hot fluid", "hot oil").replace("45 Nm ± 10 %", "45 Nm");
    let said = said_of(&wrong);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].starts_with("hot oil | `hot oil` is not a valid `cautions`"), "{said:?}");
    assert!(said[1].starts_with("45 Nm | `45 Nm` is not a range"), "{said:?}");
}
