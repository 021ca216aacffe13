//! A single value in the place of a group: the group with one field.

use witnessmark::document::{self, Forms, NodeKind};

use super::{read, shown, source, with};

const CODES: &str = "  after: { read: yes, codes: [] }\n";

fn codes(written: &str) -> String {
    with(CODES, &format!("  after: {{ read: yes, codes: {written} }}\n"))
}

#[test]
fn a_single_value_is_read_as_the_group_that_it_stands_for() {
    let text = codes("[P0741, 'U0100', {code: P0420, status: stored}]");
    let (documents, diagnostics) = read(&text);
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    let document = &documents[0];
    let list = document.find("fault_memory.after.codes").unwrap();
    let mut seen = Vec::new();
    for entry in document.items(list) {
        assert!(matches!(document.node(*entry).kind, NodeKind::Map(_)));
        let code = document.get(*entry, "code").unwrap();
        seen.push((document.text(code).unwrap(), document.path(code).to_string()));
        // The field has its number, by which rules look it up.
        assert_eq!(document.field(*entry, 0), Some(code));
        assert_eq!(document.parent(code), Some(*entry));
    }
    let path = |rest: &str| format!("fault_memory.after.codes{rest}");
    // One that is written alone is found where it is written, as it always was.
    assert_eq!(seen, [("P0741", path("[0]")), ("U0100", path("[1]")), ("P0420", path("[2].code"))]);
    let spans: Vec<&str> = document.items(list).iter().map(|entry| document.span(*entry).of(&text)).collect();
    assert_eq!(spans, ["P0741", "'U0100'", "{code: P0420, status: stored}"]);
}

#[test]
fn what_is_wrong_with_one_of_them_is_said_at_its_place() {
    let said = |written: &str| shown(&codes(written), &read(&codes(written)).1);
    assert_eq!(
        said("[{code: P0741, status: stord}]"),
        ["stord | `stord` is not a valid `status` | write `stored`"]
    );
    assert_eq!(
        said("[{status: stored}]"),
        ["status | the fault code lacks the field `code` | add `code:` with a text"]
    );
    assert_eq!(
        said("[[P0741]]"),
        ["[P0741] | each item of `codes` must be a text or a group of fields, and this is a list | \
          write the `code` alone, or its fields in braces: `code`, `status`, `agreed`"]
    );
    assert_eq!(
        said("P0741"),
        [
            "P0741 | `codes` must be a list, and this is a single value | write `[P0741]`, or each item behind `- ` on a line of its own below the name"
        ]
    );
    assert_eq!(
        said("none"),
        ["none | `codes` must be a list, and this is a single value | write `[]` for none"]
    );
}

/// The keyword is a general one: a workshop's own schema can use it too, and its values can have units.
#[test]
fn a_schema_of_a_workshop_can_have_a_shorthand_of_its_own() {
    let schema = |shorthand: &str| {
        r##"{"allOf": [{"$ref": "witnessmark:job/1"}],
  "properties": {"samples": {"type": "array", "items": {"$ref": "#/$defs/sample"}}},
  "$defs": {"sample": {"type": ["string", "object"], "shorthand": SHORTHAND,
    "properties": {"volume": {"type": "string", "quantity": "volume"}, "parts": {"type": "array", "items": {"type": "string"}}}}}}"##
            .replace("SHORTHAND", shorthand)
    };
    let text = super::GOOD.to_owned() + "samples: [0.2 L, {volume: 0.3 L, parts: [a]}]\n";
    let forms = Forms::builtin().extended("job", &schema("\"volume\""), source()).unwrap();
    let (documents, diagnostics) = document::read(source(), &text, &forms);
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    let first = documents[0].find("samples[0].volume").unwrap();
    assert!(documents[0].value(first).is_some());
    let wrong = text.replace("0.2 L", "0.2");
    let (_, diagnostics) = document::read(source(), &wrong, &forms);
    assert_eq!(diagnostics.len(), 1, "{diagnostics:?}");
    assert!(diagnostics[0].message.starts_with("`0.2` has no unit"), "{diagnostics:?}");
    for shorthand in ["\"parts\"", "\"volum\"", "true"] {
        let schema = schema(shorthand);
        let Err(refused) = Forms::builtin().extended("job", &schema, source()) else { panic!("{shorthand}") };
        assert_eq!(
            shown(&schema, &refused),
            [
                "\"shorthand\" | the shorthand of a group must name one of its fields that has a single value | the fields are `volume`"
            ]
        );
    }
}
