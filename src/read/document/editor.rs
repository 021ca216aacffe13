//! A schema as an editor sees the text that it checks.
//!
//! An editor reads a scalar by the rules of YAML 1.2: 8.8 is a number there and `yes` a text, and a blank is null. Whether
//! it is what the field says is asked by this program, which reads every scalar as its field wants it; an editor must not
//! mark what is right.

use serde_json::{Map, Value, json};

/// What a scalar can be to an editor.
const SCALAR: [&str; 4] = ["string", "number", "boolean", "null"];

/// The schema of a form as an editor can use it.
pub(super) fn for_editors(schema: &Value) -> Value {
    match schema {
        Value::Object(members) => Value::Object(widened(members)),
        Value::Array(items) => items.iter().map(for_editors).collect(),
        other => other.clone(),
    }
}

fn widened(members: &Map<String, Value>) -> Map<String, Value> {
    let mut wide = Map::new();
    for (name, value) in members {
        match (name.as_str(), value) {
            ("type", Value::String(_) | Value::Array(_)) => put_types(value, &mut wide),
            ("enum", Value::Array(words)) => {
                let blank = [Value::Null].into_iter().filter(|blank| !words.contains(blank));
                drop(wide.insert(name.clone(), words.iter().cloned().chain(blank).collect()));
            }
            // A time without an offset is one in the zone of the workshop, and a day is written in more than one way.
            ("format", _) => {}
            // The names in there are those of fields.
            ("properties" | "$defs" | "patternProperties", Value::Object(named)) => {
                let named = named.iter().map(|(name, value)| (name.clone(), for_editors(value)));
                drop(wide.insert(name.clone(), Value::Object(named.collect())));
            }
            _ => drop(wide.insert(name.clone(), for_editors(value))),
        }
    }
    wide
}

/// The types of a value, and those in which an editor sees it.
fn put_types(declared: &Value, wide: &mut Map<String, Value>) {
    let names: Vec<&str> = match declared {
        Value::String(name) => vec![name],
        Value::Array(names) => names.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    if names == ["boolean"] {
        let any_case = "^([Yy][Ee][Ss]|[Nn][Oo]|[Tt][Rr][Uu][Ee]|[Ff][Aa][Ll][Ss][Ee])$";
        wide.insert("type".to_owned(), json!(["boolean", "string", "null"]));
        wide.insert("pattern".to_owned(), json!(any_case));
        return;
    }
    let mut types: Vec<&str> = Vec::new();
    for name in names {
        match name {
            "string" => types.extend(SCALAR),
            // In quotes it is the same number.
            "integer" | "number" => types.extend([name, "string", "null"]),
            other => types.extend([other, "null"]),
        }
    }
    let mut seen = Vec::new();
    types.retain(|name| {
        !seen.contains(name) && {
            seen.push(*name);
            true
        }
    });
    wide.insert("type".to_owned(), json!(types));
}
