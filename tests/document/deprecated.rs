//! Fields that are not used any more, in records and in rules.

use witnessmark::document::{Forms, read};

use super::source;
use crate::support::Folder;

const SCHEMA: &str = r#"{
  "allOf": [ { "$ref": "witnessmark:job/1" } ],
  "properties": {
    "waste_number": { "type": "string", "deprecated": true, "replaced_by": "waste.number", "description": "Number of the waste note." },
    "waste": { "type": "object", "additionalProperties": false, "title": "waste", "description": "The waste.", "properties": {
      "number": { "type": "string", "description": "Number of the waste note." } } }
  }
}"#;

const RECORD: &str = "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15:00Z, state: closed}\nvehicle: {}\nunit: {kind: engine}\n";

#[test]
fn a_field_that_is_not_used_any_more_is_advised_against_where_it_is_recorded() {
    let forms = Forms::builtin().extended("job", SCHEMA, source()).unwrap();
    let said = |more: &str| {
        let text = format!("{RECORD}{more}");
        let (_, found) = read(source(), &text, &forms);
        let said = found.iter().map(|found| {
            (found.code.as_str(), found.place().unwrap().span.of(&text).to_owned(), found.message.clone())
        });
        said.collect::<Vec<_>>()
    };
    let message = "the field `waste_number` is not used any more; `waste.number` takes its place".to_owned();
    assert_eq!(
        said("waste_number: W-1\n"),
        [("document/deprecated-field", "waste_number".to_owned(), message)]
    );
    assert_eq!(said("waste_number:\n"), []);
    assert_eq!(said("waste: {number: W-1}\n"), []);
}

#[test]
fn the_schema_says_what_takes_its_place() {
    for (from, to, wanted) in [
        (", \"replaced_by\": \"waste.number\"", "", "nothing says what takes its place"),
        ("\"deprecated\": true, ", "", "and it is not deprecated"),
        ("\"waste.number\"", "\"\"", "nothing says what takes its place"),
    ] {
        let schema = SCHEMA.replace(from, to);
        let Err(refused) = Forms::builtin().extended("job", &schema, source()) else { panic!("{schema}") };
        assert!(refused[0].message.contains(wanted), "{refused:?}");
    }
}

#[test]
fn a_rule_that_asks_for_it_is_advised_too() {
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard]\nschemas: {job: own.json}\n",
    );
    folder.write("own.json", SCHEMA);
    let rule = "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  demands recorded waste_number\n  otherwise hold \"No.\"\n";
    folder.write("s.standard", rule);
    folder.write("job.yaml", format!("{RECORD}waste_number: W-1\n"));
    let ran = folder.run("inspect job.yaml --width 200");
    let said = "advice: the field `waste_number` is not used any more; `waste.number` takes its place";
    assert!(ran.out.contains(&format!("s.standard line 4 column 20: {said}")), "{}{}", ran.out, ran.err);
    assert!(ran.out.contains(&format!("line 5: {said}")), "{}", ran.out);
    assert!(ran.out.contains("1 demand met"), "{}", ran.out);
}
