//! Links: how a part of a document leads to a part of another document, or to its own neighbour.
//!
//! A schema declares them beside the fields of a record, under the keyword `links`; a document never
//! writes them. A rule names a link like a field: `s.instrument.torque` is the range, in the register,
//! of the tool that the fastening `s` names. In the record of a trial, and only there, a link is written
//! out like a field, so that a trial can state what it leads to.

use std::sync::Arc;

use serde_json::{Map, Value};

use super::forms::Forms;
use super::shape::{Record, SchemaFault, Shape, join};
use crate::code;
use crate::diagnostic::{Fault, nearest};

/// A link of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Its name, as rules write it.
    pub name: Arc<str>,
    /// Where it leads.
    pub to: Target,
    /// For a link into a list: the fields of this record and those of the entries that must agree with
    /// them. The first one is needed; the others tell entries apart that agree in it.
    pub by: Vec<(Arc<str>, Arc<str>)>,
    /// What it means, in plain words.
    pub doc: String,
}

/// Where a link leads.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    /// The procedure that a job names.
    Procedure,
    /// An entry of a list of that procedure, found by keys.
    InProcedure(Arc<str>),
    /// The same for an entry of a list within such an entry: the one in the same place of the list, last
    /// in the path, that the procedure has there. The keys are those of the holder.
    Alongside(Arc<str>),
    /// Any procedure of the run: by it a rule can ask whether there are procedures at all.
    AnyProcedure,
    /// The tool register, the first one where there are several.
    Register,
    /// An entry of a list of any tool register.
    InRegister(Arc<str>),
    /// An earlier job on the same vehicle.
    Earlier(Arc<Earlier>),
    /// The entry before this one in the same list.
    EntryBefore,
}

/// Which of the earlier jobs on the same vehicle is meant: the last one of those that state something.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Earlier {
    /// Whether it was on the same unit, too.
    pub on_unit: bool,
    /// The paths of the fields of which it states one or more; none where any job will do. Of a list with [`Earlier::ENTRY`]
    /// behind its name it states an entry. A job that states none of them is passed over, so that a record without an
    /// odometer does not hide the reading before it.
    pub stating: Vec<Arc<str>>,
}

impl Earlier {
    /// What stands behind the path of a list of which there must be an entry.
    pub const ENTRY: &'static str = "[]";

    /// The paths of the fields that are asked for.
    pub fn fields(&self) -> impl Iterator<Item = &str> {
        self.stating.iter().map(|path| path.strip_suffix(Earlier::ENTRY).unwrap_or(path))
    }
}

/// The forms of documents that stand around a job.
pub const PROCEDURE: &str = "procedure";
/// The form of a tool register.
pub const REGISTER: &str = "tools";
/// The form of a job.
pub const JOB: &str = "job";

impl Target {
    fn read(text: &str, alongside: bool, stating: Vec<Arc<str>>) -> Option<Target> {
        let earlier = |on_unit| Target::Earlier(Arc::new(Earlier { on_unit, stating: stating.clone() }));
        Some(match text {
            "procedure" => Target::Procedure,
            "any procedure" => Target::AnyProcedure,
            "tools" => Target::Register,
            "last job" => earlier(false),
            "last job on unit" => earlier(true),
            "entry before" => Target::EntryBefore,
            _ => match text.split_once('.')? {
                (PROCEDURE, list) if alongside => Target::Alongside(list.into()),
                (PROCEDURE, list) => Target::InProcedure(list.into()),
                (REGISTER, list) => Target::InRegister(list.into()),
                _ => return None,
            },
        })
    }

    /// Whether it leads to earlier jobs, which are looked for only when a rule asks.
    #[must_use]
    pub fn is_history(&self) -> bool {
        matches!(self, Target::Earlier(_))
    }

    /// The form of the document to which it leads, and the list in it; none for a neighbour.
    fn way(&self) -> Option<(&'static str, Option<&str>)> {
        Some(match self {
            Target::Procedure | Target::AnyProcedure => (PROCEDURE, None),
            Target::InProcedure(list) | Target::Alongside(list) => (PROCEDURE, Some(list)),
            Target::Register => (REGISTER, None),
            Target::InRegister(list) => (REGISTER, Some(list)),
            Target::Earlier(_) => (JOB, None),
            Target::EntryBefore => return None,
        })
    }
}

impl Link {
    /// What is looked for, in plain words, where it is an entry of a list of another document.
    #[must_use]
    pub fn entry(&self) -> Option<String> {
        match &self.to {
            Target::InProcedure(list) | Target::Alongside(list) => {
                Some(format!("entry for it under `{list}` of the procedure"))
            }
            Target::InRegister(_) => Some("entry for it in the tool register".to_owned()),
            _ => None,
        }
    }

    /// The record to which it leads, from a record `own`.
    #[must_use]
    pub fn record(&self, own: &Arc<Record>, forms: &Forms) -> Option<Arc<Record>> {
        let Some((form, list)) = self.to.way() else { return Some(Arc::clone(own)) };
        let root = forms.get(form)?.record();
        let Some(list) = list else { return Some(Arc::clone(root)) };
        let mut record = Arc::clone(root);
        for name in list.split('.') {
            let mut shape = &record.field(name)?.1.shape;
            while let Shape::List(entry) = shape {
                shape = entry;
            }
            let Shape::Record(inner) = shape else { return None };
            record = Arc::clone(inner);
        }
        Some(record)
    }

    /// The schema of what it leads to, within the schema of a trial's record; see [`for_trials`].
    fn schema(&self, own: &str, forms: &Forms) -> Value {
        let reference = match self.to.way() {
            None => own.to_owned(),
            Some((form, None)) => format!("#/$defs/{form}.form"),
            Some((form, Some(list))) => pointer(form, list, forms).unwrap_or_else(|| own.to_owned()),
        };
        serde_json::json!({ "$ref": reference })
    }
}

/// Where the schema of the entries of a list stands within the schema of a trial's record.
fn pointer(form: &str, list: &str, forms: &Forms) -> Option<String> {
    let root = forms.get(form)?.schema();
    let mut found = None;
    let mut at = root;
    for name in list.split('.') {
        at = at.get("properties")?.get(name)?;
        at = at.get("items").unwrap_or(at);
        found = at.get("$ref").and_then(Value::as_str)?.strip_prefix("#/$defs/");
        at = root.get("$defs")?.get(found?)?;
    }
    Some(format!("#/$defs/{form}.form.{}", found?))
}

/// A link that the schema of a record declares; `None` for one that leads nowhere.
fn declared(name: &str, link: &Value) -> Option<Link> {
    let word = |key: &str| link.get(key).and_then(Value::as_str).map(str::to_owned);
    let by = link.get("by").and_then(Value::as_object).into_iter().flatten();
    let by = by.filter_map(|(own, other)| Some((own.as_str().into(), other.as_str()?.into())));
    let alongside = link.get("alongside") == Some(&Value::Bool(true));
    let stating = link.get("stating").and_then(Value::as_array).into_iter().flatten();
    let stating = stating.filter_map(|path| Some(path.as_str()?.into())).collect();
    Some(Link {
        name: name.into(),
        to: Target::read(&word("to")?, alongside, stating)?,
        by: by.collect(),
        doc: word("description").unwrap_or_default(),
    })
}

/// The links that the schema of a record declares; `None` where one leads nowhere.
pub(super) fn from_schema(schema: &Value) -> Option<Vec<Link>> {
    let links = schema.get("links").and_then(Value::as_object).into_iter().flatten();
    links.map(|(name, link)| declared(name, link)).collect()
}

/// What is wrong with the links that a workshop's own schema adds; `merged` is the form with them.
pub(super) fn faults(extension: &Value, merged: &Value, forms: &Forms) -> Vec<SchemaFault> {
    let mut faults = Vec::new();
    let definitions = extension.get("$defs").and_then(Value::as_object).into_iter().flatten();
    let definitions = definitions.map(|(name, own)| {
        (own, merged.get("$defs").and_then(|all| all.get(name)), join("[\"$defs\"]", name))
    });
    for (own, whole, path) in [(extension, Some(merged), String::new())].into_iter().chain(definitions) {
        let links = own.get("links").and_then(Value::as_object).into_iter().flatten();
        let fields = whole.and_then(|whole| whole.get("properties")).and_then(Value::as_object);
        for (name, link) in links {
            let path = join(&join(&path, "links"), name);
            faults.extend(wrong_with(name, link, fields, forms).map(|(key, message, help)| SchemaFault {
                path: join(&path, key),
                fault: Fault { help: Some(help), ..Fault::new(code::SCHEMA, message) },
            }));
        }
    }
    faults
}

/// The member of a link that is wrong, what is wrong with it, and what to do.
fn wrong_with(
    name: &str,
    link: &Value,
    fields: Option<&Map<String, Value>>,
    forms: &Forms,
) -> Option<(&'static str, String, String)> {
    let nowhere = |help: String| Some(("to", format!("the link `{name}` leads nowhere"), help));
    let Some(read) = declared(name, link) else {
        return nowhere("write `tools.tools` for a tool of the register, or `procedure.LIST` for an entry of the procedure".to_owned());
    };
    let (form, list) = read.to.way()?;
    let root = forms.get(form)?.record();
    if let Target::Earlier(earlier) = &read.to
        && let Some(unknown) = earlier.fields().find(|path| root.shape_at(path).is_none())
    {
        let message =
            format!("the link `{name}` asks for jobs that state `{unknown}`, and there is no such field");
        return Some((
            "stating",
            message,
            "write paths of fields of a job, such as `vehicle.odometer`".to_owned(),
        ));
    }
    let Some(target) = read.record(root, forms) else {
        let lists = root.fields.iter().filter(|field| matches!(field.shape, Shape::List(_)));
        let lists: Vec<&str> = lists.map(|field| &*field.name).collect();
        let list = list.unwrap_or_default();
        return nowhere(match nearest(list, lists.iter().copied()) {
            Some(near) => format!("write `{form}.{near}`"),
            None => format!("the lists of the form `{form}` are {}", lists.join(", ")),
        });
    };
    if list.is_some() && read.by.is_empty() {
        let message = format!("the link `{name}` does not say by which fields its entry is found");
        return Some(("to", message, "add `\"by\": {\"own field\": \"field of the entry\"}`".to_owned()));
    }
    for (own, other) in &read.by {
        let known = fields.into_iter().flat_map(|fields| fields.keys()).map(String::as_str);
        let theirs = target.fields.iter().map(|field| &*field.name);
        let (field, names): (&str, Vec<&str>) = match fields.is_some_and(|fields| fields.contains_key(&**own))
        {
            false => (own, known.collect()),
            true if target.field(other).is_none() => (other, theirs.collect()),
            true => continue,
        };
        let help = nearest(field, names.iter().copied())
            .map_or_else(|| format!("the fields are {}", names.join(", ")), |near| format!("write `{near}`"));
        return Some(("by", format!("the link `{name}` goes by a field `{field}`, and there is none"), help));
    }
    None
}

/// The schema for the records of trials: in them, links are written out. The forms to which links lead
/// come in as definitions of their own, `NAME.form`.
pub(super) fn for_trials(schema: &Value, forms: &Forms) -> Value {
    let mut whole = written_out(schema, None, "#", forms);
    let mut added: Vec<(String, Value)> = Vec::new();
    for form in forms.iter() {
        let prefix = format!("{}.form", form.name());
        let Value::Object(mut members) = written_out(form.schema(), Some(&prefix), "#", forms) else {
            continue;
        };
        members.retain(|key, _| key != "$id" && key != "$schema");
        if let Some(Value::Object(definitions)) = members.shift_remove("$defs") {
            added.extend(definitions.into_iter().map(|(name, schema)| (format!("{prefix}.{name}"), schema)));
        }
        added.push((prefix, Value::Object(members)));
    }
    if let Some(members) = whole.as_object_mut() {
        let definitions = members.entry("$defs").or_insert_with(|| Value::Object(Map::new()));
        if let Some(definitions) = definitions.as_object_mut() {
            definitions.extend(added);
        }
    }
    whole
}

/// A schema with its links as properties; its references lead to definitions with a prefix.
fn written_out(schema: &Value, prefix: Option<&str>, own: &str, forms: &Forms) -> Value {
    match schema {
        Value::Object(members) => {
            let mut written = Map::new();
            for (key, value) in members.iter().filter(|(key, _)| *key != "links") {
                let value = match (key.as_str(), value, prefix) {
                    ("$ref", Value::String(reference), Some(prefix)) => {
                        Value::from(reference.replace("#/$defs/", &format!("#/$defs/{prefix}.")))
                    }
                    ("$defs", Value::Object(definitions), _) => {
                        let named = definitions.iter().map(|(name, schema)| {
                            let prefix_words = prefix.map(|prefix| format!("{prefix}.")).unwrap_or_default();
                            let own = format!("#/$defs/{prefix_words}{name}");
                            (name.clone(), written_out(schema, prefix, &own, forms))
                        });
                        Value::Object(named.collect())
                    }
                    _ => written_out(value, prefix, own, forms),
                };
                written.insert(key.clone(), value);
            }
            let links = from_schema(schema).unwrap_or_default();
            if let Some(properties) = written.get_mut("properties").and_then(Value::as_object_mut) {
                properties.extend(links.iter().map(|link| (link.name.to_string(), link.schema(own, forms))));
            }
            Value::Object(written)
        }
        Value::Array(items) => {
            Value::Array(items.iter().map(|item| written_out(item, prefix, own, forms)).collect())
        }
        other => other.clone(),
    }
}
