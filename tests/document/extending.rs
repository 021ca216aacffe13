//! A workshop's own schema adds fields and can loosen none.

use witnessmark::document::{self, Forms, Shape};
use witnessmark::quantity::Kind;

use super::{GOOD, shown, source, with};

const OWN: &str = r##"{
  "title": "fields of the workshop Lindental",
  "allOf": [{ "$ref": "witnessmark:job/1" }],
  "required": ["bay"],
  "properties": {
    "bay": { "type": "string", "pattern": "^[A-D][0-9]$", "description": "Which bay." },
    "helpers": { "type": "array", "items": { "$ref": "#/$defs/helper" }, "minItems": 1, "uniqueItems": true }
  },
  "$defs": {
    "helper": {
      "title": "helper",
      "type": "object",
      "required": ["name"],
      "properties": { "name": { "type": "string" }, "hours": { "type": "string", "quantity": "duration" } },
      "additionalProperties": false
    },
    "fastening": {
      "required": ["place"],
      "properties": {
        "breakaway": { "type": "string", "quantity": "torque" },
        "window": { "type": "string", "quantity": "torque", "range": true }
      }
    }
  }
}
"##;

fn extended(schema: &str) -> Result<Forms, Vec<String>> {
    let result = Forms::builtin().extended("job", schema, source());
    result.map_err(|diagnostics| shown(schema, &diagnostics))
}

fn refused(schema: &str) -> Vec<String> {
    extended(schema).err().unwrap_or_default()
}

fn said_of(text: &str) -> Vec<String> {
    let forms = extended(OWN).unwrap_or_else(|said| panic!("{said:?}"));
    shown(text, &document::read(source(), text, &forms).1)
}

#[test]
fn added_fields_are_read_and_checked() {
    let right = with("    order: 1\n", "    order: 1\n    breakaway: 7 Nm\n    window: 8 Nm .. 10 Nm\n")
        + "bay: B2\nhelpers:\n  - { name: Jo, hours: 2 h }\n";
    assert_eq!(said_of(&right), [""; 0]);
    let forms = extended(OWN).unwrap_or_else(|said| panic!("{said:?}"));
    let record = forms.get("job").expect("is there").record();
    let Some((_, field)) = record.field("fastenings") else { panic!("our own fields are kept") };
    let Shape::List(item) = &field.shape else { panic!("a list") };
    let Shape::Record(fastening) = &**item else { panic!("of groups") };
    let torque = Kind::named("torque").expect("is a kind");
    assert_eq!(fastening.field("breakaway").map(|(_, field)| &field.shape), Some(&Shape::Quantity(torque)));
    assert_eq!(fastening.field("window").map(|(_, field)| &field.shape), Some(&Shape::Range(torque)));
    assert!(forms.get("workshop").is_some());
}

#[test]
fn errors_in_added_fields_are_said_like_all_others() {
    let text = with("    place: A1\n", "    breakaway: 7 L\n    window: 10 Nm .. 8 Nm\n")
        + "bay: B22\nhelpers:\n  - { name: Jo }\n  - { name: Jo }\n  - { hours: 2 }\n  - { nmae: Al }\n";
    let said = said_of(&text);
    let starts = [
        "role | the fastening lacks the field `place` | add `place:` with a text",
        "7 L | `7 L` is a volume, and a torque is wanted here",
        "10 Nm .. 8 Nm | ",
        "B22 | `B22` is not of the form that `bay` must have | `bay` means: Which bay",
        "helpers | the list `helpers` holds the same item twice",
        "hours | the helper lacks the field `name`",
        "2 | `2` has no unit",
        "nmae | the helper lacks the field `name`",
        "nmae | the helper has no field `nmae` | write `name`",
    ];
    assert_eq!(said.len(), starts.len(), "{said:#?}");
    for start in starts {
        assert!(said.iter().any(|line| line.starts_with(start)), "{start}: {said:#?}");
    }
    let said = said_of(&format!("{GOOD}helpers: []\n"));
    assert_eq!(said.len(), 2, "{said:#?}");
    assert!(
        said[1].starts_with("helpers | the list `helpers` has 0 items, and it must have at least 1"),
        "{said:#?}"
    );
}

#[test]
fn what_is_not_json_is_shown_from_where_it_begins() {
    // Letters of several bytes, and letters that are put together of two characters, stand before the mistake.
    for (schema, rest) in [
        ("{\"ö\": x}", "x}"),
        ("{\"e\u{301}e\u{301}e\u{301}\": x}", "x}"),
        ("\" lf\u{703}", "\u{703}"),
        ("{\"a\": ü}", "ü}"),
    ] {
        let said = Forms::builtin().extended("job", schema, source()).err().expect("no JSON");
        let span = said[0].place().expect("has a place").span;
        assert_eq!(schema.get(span.start as usize..span.end as usize), Some(rest), "{schema}");
    }
}

#[test]
fn what_would_loosen_the_form_is_refused_at_its_place() {
    let refused = [
        (
            r#""properties": {"#,
            r#""additionalProperties": true, "properties": {"#,
            "additionalProperties",
            "`additionalProperties` has no place",
        ),
        (
            r#""bay": {"#,
            r#""unit": { "type": "string" }, "bay": {"#,
            "unit",
            "the form has a field `unit` already",
        ),
        (
            r#""bay": {"#,
            r#""Bay No": { "type": "string" }, "bay": {"#,
            "Bay No",
            "a rule cannot name a field `Bay No`",
        ),
        (
            r#""breakaway": {"#,
            r#""torque": { "type": "string" }, "breakaway": {"#,
            "torque",
            "the form has a field `torque` already",
        ),
        (
            r#""quantity": "duration""#,
            r#""quantity": "durration""#,
            "quantity",
            "`durration` is no kind of quantity",
        ),
        ("#/$defs/helper", "#/$defs/helfer", "$ref", "`#/$defs/helfer` refers to no definition"),
        (
            "#/$defs/helper",
            "https://example.org/x.json",
            "$ref",
            "`https://example.org/x.json` refers to no definition",
        ),
        ("witnessmark:job/1", "witnessmark:job/2", "allOf", "the schema does not say which form it extends"),
        (
            r#""required": ["bay"]"#,
            r#""required": ["bey"]"#,
            "required",
            "there is no field `bey` to require",
        ),
        (r#""required": ["bay"]"#, r#""required": "bay""#, "required", "the required fields must be a list"),
        (
            r#""required": ["place"]"#,
            r#""additionalProperties": true"#,
            "additionalProperties",
            "`additionalProperties` has no place",
        ),
    ];
    for (old, new, place, message) in refused {
        let schema = OWN.replacen(old, new, 1);
        assert_ne!(schema, OWN, "{old}");
        let said = extended(&schema).err().unwrap_or_else(|| panic!("{new} is refused"));
        assert_eq!(said.len(), 1, "{new}: {said:?}");
        let (found, words) = said[0].split_once(" | ").expect("has a place");
        assert!(found.contains(place), "{new}: {said:?}");
        assert!(words.starts_with(message), "{new}: {said:?}");
    }
}

#[test]
fn words_of_a_closed_list_that_nobody_can_tell_apart_are_refused() {
    let with_list = |words: &str| {
        OWN.replacen(r#""bay": {"#, &format!(r#""colour": {{ "enum": [{words}] }}, "bay": {{"#), 1)
    };
    for (words, message) in [
        (
            "\"red\", \"blue\", \"r\u{435}d\"",
            "the word `r\u{435}d` looks like another of this list | `red` looks the same",
        ),
        ("\"caf\u{e9}\", \"cafe\u{301}\"", "the word `caf\u{e9}` is twice in this list"),
        (
            r#""dark red", "Dark red""#,
            "the words `dark red` and `Dark red` differ by capital letters or blanks only",
        ),
        (
            r#""dark red", "darkred""#,
            "the words `dark red` and `darkred` differ by capital letters or blanks only",
        ),
        (r#""red", "red ""#, "the words `red` and `red ` differ by capital letters or blanks only"),
        ("\"dark red\", \"dark\u{a0}red\"", "the word `dark\u{a0}red` looks like another of this list"),
    ] {
        let said = extended(&with_list(words)).err().unwrap_or_else(|| panic!("{words} is refused"));
        assert_eq!(said.len(), 1, "{words}: {said:?}");
        assert!(said[0].contains("enum") && said[0].contains(message), "{words}: {said:?}");
    }
    assert!(extended(&with_list(r#""red", "reds", "dark-red", "dark red""#)).is_ok());
}

#[test]
fn a_schema_that_is_no_json_or_no_schema_is_refused() {
    for schema in [
        "",
        "[",
        "[]",
        "{\"allOf\": [}",
        "{} x",
        "null",
        "{\"allOf\":[{\"$ref\":\"witnessmark:job/1\"}],\"properties\":{\"a\":{\"type\":3}}}",
    ] {
        assert!(extended(schema).is_err_and(|said| !said.is_empty()), "{schema}");
    }
    let circle = OWN.replace(
        r#""hours": { "type": "string", "quantity": "duration" }"#,
        r##""hours": { "$ref": "#/$defs/helper" }"##,
    );
    let said = extended(&circle).err().expect("is refused");
    assert!(said[0].contains("the definition `helper` holds itself"), "{said:?}");
    assert!(Forms::builtin().extended("tools", OWN, source()).is_err());
}

/// What the README shows: a unit kind, a field of a nested record, and a list with a link to the register.
const WORLD: &str = r##"{
  "allOf": [{ "$ref": "witnessmark:job/1" }],
  "properties": {
    "gap_checks": { "type": "array", "items": { "$ref": "#/$defs/gap_check" }, "description": "Gaps that were measured." }
  },
  "$defs": {
    "unit": { "properties": { "kind": { "words": ["hydrostatic"] } } },
    "filter": { "properties": { "media_fitted": { "words": ["sintered bronze"] } } },
    "adapter": { "properties": { "number": { "type": "string" } } },
    "fastening": { "links": { "crowfoot": { "to": "tools.tools", "by": { "thread": "number" } } } },
    "gap_check": {
      "title": "gap check",
      "type": "object",
      "required": ["place"],
      "links": { "gauge": { "to": "tools.tools", "by": { "tool": "number" } } },
      "properties": {
        "place": { "type": "string" },
        "gap": { "type": "string", "quantity": "length", "judged": "value" },
        "tool": { "type": "string" }
      },
      "additionalProperties": false
    }
  }
}
"##;

#[test]
fn words_nested_fields_and_links_can_be_added() {
    let forms = extended(WORLD).unwrap_or_else(|said| panic!("{said:?}"));
    let text = with("  kind: stepped automatic\n", "  kind: hydrostatic\n")
        .replace("media_fitted: felt", "media_fitted: sintered bronze")
        .replace("offset: 50 mm", "number: CF-3, offset: 50 mm")
        + "gap_checks:\n  - { place: rotor, gap: 0.05 mm, tool: W-17 }\n";
    assert_eq!(shown(&text, &document::read(source(), &text, &forms).1), [""; 0]);
    let record = forms.get("job").unwrap().record();
    let Some(Shape::List(item)) = record.field("gap_checks").map(|(_, field)| &field.shape) else { panic!() };
    let Shape::Record(check) = &**item else { panic!() };
    let (_, link) = check.link("gauge").unwrap();
    assert_eq!(link.record(check, &forms).unwrap().title, "tool");
    // The words of before are still there, and a word is still refused that nobody added.
    assert_eq!(shown(GOOD, &document::read(source(), GOOD, &forms).1), [""; 0]);
    let wrong = text.replace("kind: hydrostatic", "kind: hydrostatc");
    let said = shown(&wrong, &document::read(source(), &wrong, &forms).1);
    assert_eq!(said, ["hydrostatc | `hydrostatc` is not a valid `kind` | write `hydrostatic`"]);
}

#[test]
fn what_is_wrong_with_added_words_and_links_is_said_at_its_place() {
    for (old, new, wanted) in [
        (
            r#"["hydrostatic"]"#,
            r#"["engine"]"#,
            "\"words\" | `engine` is a word of `kind` already, as `engine` | take it out; another way of writing it goes under `words` of the settings",
        ),
        (
            r#"["hydrostatic"]"#,
            r#"["Final Drive"]"#,
            "\"words\" | `Final Drive` is a word of `kind` already, as `final drive`",
        ),
        (r#"["hydrostatic"]"#, r#"["a", "a"]"#, "\"words\" | `a` is a word of `kind` already, as `a`"),
        (
            r#"["hydrostatic"]"#,
            r#"[" hydrostatic"]"#,
            "\"words\" | the word ` hydrostatic` is blank, or has blanks around it",
        ),
        (r#"["hydrostatic"]"#, "[]", "\"words\" | the added words must be a list of texts"),
        (r#"["hydrostatic"]"#, r#""hydrostatic""#, "\"words\" | the added words must be a list of texts"),
        (
            r#""kind": { "words""#,
            r#""family": { "words""#,
            "\"words\" | the field `family` has no closed list of words to which any could be added",
        ),
        (
            r#""kind": { "words""#,
            r#""kind": { "type": "string", "words""#,
            "\"type\" | `type` has no place where a form is extended",
        ),
        (
            r#""tools.tools", "by": { "tool""#,
            r#""tools.toolz", "by": { "tool""#,
            "\"to\" | the link `gauge` leads nowhere | write `tools.tools`",
        ),
        (
            r#""tools.tools", "by": { "tool""#,
            r#""tool", "by": { "tool""#,
            "\"to\" | the link `gauge` leads nowhere | write `tools.tools` for a tool",
        ),
        (
            r#", "by": { "tool": "number" } } },"#,
            "} },",
            "\"to\" | the link `gauge` does not say by which fields its entry is found",
        ),
        (
            r#"{ "tool": "number" }"#,
            r#"{ "tol": "number" }"#,
            "\"by\" | the link `gauge` goes by a field `tol`, and there is none | write `tool`",
        ),
        (
            r#"{ "tool": "number" }"#,
            r#"{ "tool": "numbr" }"#,
            "\"by\" | the link `gauge` goes by a field `numbr`, and there is none | write `number`",
        ),
        (
            r#""crowfoot": {"#,
            r#""instrument": {"#,
            "\"instrument\" | the form has a link `instrument` already",
        ),
        (r#""value""#, r#""yes""#, "\"judged\" | this does not say when a value counts as judged"),
    ] {
        let schema = WORLD.replacen(old, new, 1);
        assert_ne!(schema, WORLD, "{old}");
        let said = extended(&schema).err().unwrap_or_else(|| panic!("{new} is refused"));
        assert_eq!(said.len(), 1, "{new}: {said:?}");
        assert!(said[0].starts_with(wanted), "{new}: {said:?}");
    }
}

/// Definitions that each refer to the next one twice double with each reference; what they come to is counted, not built.
#[test]
fn a_schema_that_doubles_with_each_reference_is_refused() {
    let schema = |levels: usize, next: &dyn Fn(usize) -> String| {
        let definitions: Vec<String> =
            (0..levels).map(|level| format!(r#""d{level}": {}"#, next(level + 1))).collect();
        let definitions = definitions.join(", ");
        format!(
            r##"{{"$schema": "https://json-schema.org/draft/2020-12/schema",
            "allOf": [{{"$ref": "witnessmark:job/1"}}],
            "properties": {{"bay": {{"$ref": "#/$defs/d0"}}}},
            "$defs": {{{definitions}, "d{levels}": {{"type": "string"}}}}}}"##
        )
    };
    let any_of = |next: usize| {
        format!(r##"{{"anyOf": [{{"$ref": "#/$defs/d{next}"}}, {{"$ref": "#/$defs/d{next}"}}]}}"##)
    };
    let fields = |next: usize| {
        let field = format!(r##"{{"$ref": "#/$defs/d{next}"}}"##);
        format!(
            r#"{{"type": "object", "title": "level {next}", "properties": {{"a": {field}, "b": {field}}}}}"#
        )
    };
    for next in [&any_of as &dyn Fn(usize) -> String, &fields] {
        assert!(extended(&schema(4, next)).is_ok(), "{:?}", extended(&schema(4, next)).err());
        let said = refused(&schema(40, next));
        assert!(
            said[0].contains("this comes to more than 20000 parts when each reference is replaced"),
            "{said:?}"
        );
    }
    let chain = |next: usize| format!(r##"{{"$ref": "#/$defs/d{next}"}}"##);
    let said = refused(&schema(10_000, &chain));
    assert!(said[0].contains("more than 64 definitions refer on from one to the next"), "{said:?}");
    let circle = |_: usize| r##"{"anyOf": [{"$ref": "#/$defs/d0"}]}"##.to_owned();
    let said = refused(&schema(1, &circle));
    assert!(said[0].contains("`#/$defs/d0` holds itself, so it never ends"), "{said:?}");
}
