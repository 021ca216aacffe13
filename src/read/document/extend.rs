//! A workshop's own schema: fields added to a form of ours, without loosening it.

use std::borrow::Cow;
use std::collections::HashMap;

use serde::de::IgnoredAny;
use serde_json::{Map, Value};

use super::shape::{SchemaFault, join};
use super::yaml;
use crate::code;
use crate::diagnostic::{Diagnostic, Fault, nearest};
use crate::letters::{composed, look};
use crate::source::{LineIndex, Place, SourceId, Span};

/// What an extending schema may say at its top.
const TOP: [&str; 9] =
    ["$schema", "$id", "title", "description", "allOf", "properties", "required", "links", "$defs"];
/// What it may say of a record of ours.
const RECORD: [&str; 4] = ["description", "properties", "required", "links"];
/// What it may say of a field of ours.
const FIELD: [&str; 2] = ["description", "words"];

/// Reads the text of a schema.
pub(super) fn parse(text: &str, source: SourceId) -> Result<Value, Diagnostic> {
    serde_json::from_str(&composed(Cow::Borrowed(text))).map_err(|error| {
        // Composed letters are shorter, so the place is that of the same mistake in the text itself.
        let error = serde_json::from_str::<IgnoredAny>(text).err().unwrap_or(error);
        let line = LineIndex::new(text).line(text, error.line());
        let at = (line.start as usize + error.column().saturating_sub(1)).min(line.end as usize);
        let place = Place { source, span: Span::new(text.floor_char_boundary(at), line.end as usize) };
        Diagnostic::error(code::SCHEMA, place, "this is not JSON text from here on")
            .help("look for a missing comma, quote or bracket before this place")
    })
}

/// Our schema with the fields that `extension` adds.
pub(super) fn merge(ours: &Value, extension: &Value) -> Result<Value, Vec<SchemaFault>> {
    let mut merger = Merger { faults: Vec::new() };
    let mut merged = ours.clone();
    let none = Map::new();
    let extension = match extension.as_object() {
        Some(members) => members,
        None => {
            merger.fault("", "a schema must be a group of members in braces", "");
            &none
        }
    };
    merger.keywords(extension, &TOP, "");
    merger.extends(ours, extension);
    merger.record(&mut merged, extension, "");
    if let Some(definitions) = merger.members(extension, "$defs", "") {
        merger.definitions(&mut merged, definitions);
    }
    if merger.faults.is_empty() { Ok(merged) } else { Err(merger.faults) }
}

/// The groups of a tool in the register, by the kind of what it measures.
const GROUPS: [(&str, &str); 6] = [
    ("torque", "torque"),
    ("angle", "angle"),
    ("temperature", "temperature"),
    ("pressure", "pressure"),
    ("gauge pressure", "pressure"),
    ("absolute pressure", "pressure"),
];

/// The same, where every quantity that a tool of the register can measure is taken as measured, unless the
/// schema itself says by `measured` what it is. In a record that names no tool that changes nothing.
fn measured(declared: &Value) -> Value {
    let mut members = match declared {
        Value::Object(members) => members.clone(),
        other => return other.clone(),
    };
    let kind = members.get("quantity").and_then(Value::as_str);
    let group = GROUPS.iter().find(|(name, _)| kind == Some(name)).map(|(_, group)| *group);
    let is_range = members.get("range") == Some(&Value::Bool(true));
    if let Some(group) = group.filter(|_| !is_range && !members.contains_key("measured")) {
        members.insert("measured".to_owned(), Value::from(group));
    }
    if let Some(items) = members.get_mut("items") {
        *items = measured(items);
    }
    if let Some(Value::Object(fields)) = members.get_mut("properties") {
        for field in fields.values_mut() {
            *field = measured(field);
        }
    }
    Value::Object(members)
}

struct Merger {
    faults: Vec<SchemaFault>,
}

impl Merger {
    /// The line that says which form is extended.
    fn extends(&mut self, ours: &Value, extension: &Map<String, Value>) {
        let id = ours.get("$id").and_then(Value::as_str).unwrap_or_default();
        let named = extension.get("allOf").and_then(Value::as_array).map(Vec::as_slice);
        let right = matches!(named, Some([only]) if only.get("$ref").and_then(Value::as_str) == Some(id));
        if !right {
            let message = "the schema does not say which form it extends";
            self.fault("allOf", message, &format!("write \"allOf\": [{{\"$ref\": \"{id}\"}}]"));
        }
    }

    fn definitions(&mut self, merged: &mut Value, definitions: &Map<String, Value>) {
        let Some(ours) = merged.get_mut("$defs").and_then(Value::as_object_mut) else { return };
        for (name, definition) in definitions {
            let path = join("[\"$defs\"]", name);
            let Some(record) = ours.get_mut(name) else {
                ours.insert(name.clone(), measured(definition));
                continue;
            };
            let Some(members) = definition.as_object() else {
                self.fault(&path, "a definition must be a group of members in braces", "");
                continue;
            };
            self.keywords(members, &RECORD, &path);
            self.record(record, members, &path);
        }
    }

    /// Adds fields and demands to one record of ours.
    fn record(&mut self, ours: &mut Value, members: &Map<String, Value>, path: &str) {
        if let Some(added) = self.members(members, "properties", path)
            && let Some(fields) = ours.get_mut("properties").and_then(Value::as_object_mut)
        {
            for (name, declared) in added {
                let path = join(&join(path, "properties"), name);
                if let Some(own) = fields.get_mut(name) {
                    self.words(name, own, declared, &path);
                } else if !is_name(name) {
                    let message = format!("a rule cannot name a field `{name}`");
                    self.fault(&path, &message, "use small letters, digits and underscores");
                } else {
                    fields.insert(name.clone(), measured(declared));
                }
            }
        }
        self.links(ours, members, path);
        let Some(demanded) = members.get("required") else { return };
        let names: Option<Vec<&str>> =
            demanded.as_array().and_then(|names| names.iter().map(Value::as_str).collect());
        let Some(names) = names else {
            self.fault(&join(path, "required"), "the required fields must be a list of names", "");
            return;
        };
        for name in names {
            self.demand(ours, name, path);
        }
    }

    /// Adds words to the closed list of a field of ours; nothing else of it can be changed.
    fn words(&mut self, name: &str, own: &mut Value, declared: &Value, path: &str) {
        let (Some(members), Some(added)) = (declared.as_object(), declared.get("words")) else {
            let message = format!("the form has a field `{name}` already");
            let help = "give the field of the workshop another name; words are added to a closed list of ours by `\"words\": [\"…\"]`";
            return self.fault(path, &message, help);
        };
        self.keywords(members, &FIELD, path);
        let path = join(path, "words");
        let Some(list) = closed_list(own) else {
            let message =
                format!("the field `{name}` has no closed list of words to which any could be added");
            return self.fault(&path, &message, "any word can be recorded there as it is");
        };
        let words: Option<Vec<&str>> =
            added.as_array().and_then(|words| words.iter().map(Value::as_str).collect());
        let Some(words) = words.filter(|words| !words.is_empty()) else {
            return self.fault(
                &path,
                "the added words must be a list of texts",
                "write `\"words\": [\"…\"]`",
            );
        };
        let mut taken: HashMap<String, String> =
            list.iter().filter_map(Value::as_str).map(|known| (alike(known), known.to_owned())).collect();
        for word in words {
            match taken.get(&alike(word)) {
                _ if word.trim() != word || word.is_empty() => {
                    self.fault(
                        &path,
                        &format!("the word `{word}` is blank, or has blanks around it"),
                        "take them out",
                    );
                }
                Some(known) => {
                    let message = format!("`{word}` is a word of `{name}` already, as `{known}`");
                    self.fault(
                        &path,
                        &message,
                        "take it out; another way of writing it goes under `words` of the settings",
                    );
                }
                None => {
                    taken.insert(alike(word), word.to_owned());
                    list.push(Value::from(word));
                }
            }
        }
    }

    /// Adds links to a record of ours.
    fn links(&mut self, ours: &mut Value, members: &Map<String, Value>, path: &str) {
        let Some(added) = self.members(members, "links", path) else { return };
        let Some(record) = ours.as_object_mut() else { return };
        let own = record.entry("links").or_insert_with(|| Value::Object(Map::new()));
        let Some(own) = own.as_object_mut() else { return };
        for (name, link) in added {
            if own.contains_key(name) {
                let path = join(&join(path, "links"), name);
                self.fault(
                    &path,
                    &format!("the form has a link `{name}` already"),
                    "give the link of the workshop another name",
                );
            } else {
                own.insert(name.clone(), link.clone());
            }
        }
    }

    fn demand(&mut self, ours: &mut Value, name: &str, path: &str) {
        let known = ours.get("properties").and_then(Value::as_object);
        if !known.is_some_and(|fields| fields.contains_key(name)) {
            let near = known.and_then(|fields| nearest(name, fields.keys().map(String::as_str)));
            let help = near.map(|near| format!("write `{near}`")).unwrap_or_default();
            self.fault(&join(path, "required"), &format!("there is no field `{name}` to require"), &help);
            return;
        }
        let Some(members) = ours.as_object_mut() else { return };
        let required = members.entry("required").or_insert_with(|| Value::Array(Vec::new()));
        if let Some(required) = required.as_array_mut()
            && !required.iter().any(|other| other == name)
        {
            required.push(Value::from(name));
        }
    }

    /// A member whose value must be a group.
    fn members<'v>(
        &mut self,
        of: &'v Map<String, Value>,
        key: &str,
        path: &str,
    ) -> Option<&'v Map<String, Value>> {
        let value = of.get(key)?;
        let members = value.as_object();
        if members.is_none() {
            self.fault(&join(path, key), &format!("`{key}` must be a group of members in braces"), "");
        }
        members
    }

    /// Refuses every keyword that could loosen the form.
    fn keywords(&mut self, members: &Map<String, Value>, allowed: &[&str], path: &str) {
        for key in members.keys().filter(|key| !allowed.contains(&key.as_str())) {
            let message = format!("`{key}` has no place where a form is extended");
            let help = format!("only {} may stand here", allowed.join(", "));
            self.fault(&join(path, key), &message, &help);
        }
    }

    fn fault(&mut self, path: &str, message: &str, help: &str) {
        let help = (!help.is_empty()).then(|| help.to_owned());
        self.faults.push(SchemaFault {
            path: path.to_owned(),
            fault: Fault { help, ..Fault::new(code::SCHEMA, message) },
        });
    }
}

/// The closed list of a field, or of the entries of one.
fn closed_list(field: &mut Value) -> Option<&mut Vec<Value>> {
    let field = if field.get("items").is_some() { field.get_mut("items")? } else { field };
    field.get_mut("enum")?.as_array_mut()
}

/// What two words are compared by, of which nobody could tell one from the other.
fn alike(word: &str) -> String {
    look(word).chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Whether the rule language can name a field so.
fn is_name(name: &str) -> bool {
    let mut characters = name.chars();
    characters.next().is_some_and(|c| c.is_ascii_lowercase())
        && characters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

/// Gives the faults of a schema their places in its text. JSON is YAML, so our own reader finds
/// them; a fault of a part that the text does not hold stands at the nearest part around it.
pub(super) fn at_places(faults: Vec<SchemaFault>, text: &str, source: SourceId) -> Vec<Diagnostic> {
    let (documents, _) = yaml::read(source, text, 0);
    let span = |path: &str| {
        let document = documents.first()?;
        let node = document.deepest(path);
        let entry = document.parent(node).and_then(|parent| {
            document.entries(parent).iter().find(|entry| entry.value == node).map(|entry| entry.key_span)
        });
        entry.or_else(|| document.entries(node).first().map(|entry| entry.key_span))
    };
    let at = |fault: SchemaFault| {
        let place = Place { source, span: span(&fault.path).unwrap_or_default() };
        let diagnostic = Diagnostic::error(fault.fault.code, place, fault.fault.message);
        Diagnostic { help: fault.fault.help, ..diagnostic }
    };
    faults.into_iter().map(at).collect()
}
