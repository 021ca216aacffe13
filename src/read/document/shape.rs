//! Shapes: what a form declares of its fields. Read from a JSON Schema, which stays the only
//! statement of them.

use std::collections::HashMap;
use std::sync::Arc;

use serde_json::{Map, Value};

use super::link::{self, Link, Target};
use super::mixed::EntriesAt;
use crate::code;
use crate::diagnostic::{Fault, nearest};
use crate::letters::{look, look_alike, said};
use crate::quantity::Kind;
use crate::signal::Sampling;

/// What is declared of a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A group of fields.
    Record(Arc<Record>),
    /// A list of values of one shape.
    List(Arc<Shape>),
    /// Any text.
    Text,
    /// One word of a closed list.
    Word(Arc<[Arc<str>]>),
    /// Yes or no.
    Truth,
    /// A whole number.
    Count,
    /// A plain number.
    Number,
    /// A number with a unit.
    Quantity(Kind),
    /// A range of such.
    Range(Kind),
    /// A quantity over time: a file of a log, or the values at their times.
    Log(Kind, Sampling),
    /// A calendar day.
    Day,
    /// A day and a time of day.
    Moment,
    /// Nothing is declared.
    Any,
}

impl Shape {
    /// Whether its values are single ones, and no groups or lists.
    #[must_use]
    pub fn is_single(&self) -> bool {
        !matches!(self, Shape::Record(_) | Shape::List(_) | Shape::Log(..) | Shape::Any)
    }
}

/// A group of fields.
#[derive(Debug, Default, PartialEq)]
pub struct Record {
    /// What it is, in a word or two: `fastening`.
    pub title: String,
    /// Its fields, in the order of the form.
    pub fields: Vec<Field>,
    /// Its links to other documents and neighbours.
    pub links: Vec<Link>,
    /// The field that says when it was, by its number, where it has one: the schema's keyword `when`.
    pub when: Option<u16>,
    /// The field that a single value in the place of the group stands for, by its number: the schema's keyword
    /// `shorthand`.
    pub shorthand: Option<u16>,
    /// The field that says whether the work touched it, by its number: the schema's keyword `touched`. Where it says
    /// no, none of its values has to be judged.
    pub touched: Option<u16>,
    /// Whether other fields may stand in it.
    pub open: bool,
    /// For the entries of several lists that a rule goes through as one, where they are; none for a record of a form.
    pub lists: Vec<EntriesAt>,
    /// What is declared of the values of other fields.
    pub others: Option<Shape>,
}

/// A field of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Its name.
    pub name: Arc<str>,
    /// What is declared of its value.
    pub shape: Shape,
    /// Whether it must be there.
    pub required: bool,
    /// What it means, in plain words.
    pub doc: String,
    /// For a measured value, the group of the instrument's entry that holds the uncertainty.
    pub measured: Option<Arc<str>>,
    /// Whether its values are whole, as those of an odometer: the schema's keyword `whole`. A point with three
    /// digits behind it is then refused, because it can stand between thousands.
    pub whole: bool,
    /// What a rule must do with its values for them not to be reported as judged by none: the schema's keyword
    /// `judged`.
    pub judged: Option<Judged>,
    /// Other names that people write for it, by which a message finds it; never read as it: the schema's keyword `called`.
    pub called: Vec<Box<str>>,
    /// Whether its texts are anybody's words, in which a sign that stands for no value has a meaning: the schema's
    /// keyword `free`.
    pub free: bool,
    /// For one whose texts are names of the trade, the vocabulary that they are of, so that a workshop can have words of
    /// its own for them and everyday words are known: the schema's keyword `vocabulary`, `true` for that of its name.
    pub vocabulary: Option<Arc<str>>,
    /// For one that is not used any more, the path of the field that takes its place: the schema's keywords
    /// `deprecated` and `replaced_by`.
    pub replaced_by: Option<Arc<str>>,
}

/// When a value counts as judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    /// Where a demand looks at it: `judged: value`.
    Value,
    /// Where a demand asks whether it is recorded, or follows it into another document, too: `judged: recorded`.
    Recorded,
}

impl Record {
    /// The field of this name, and its index.
    #[must_use]
    pub fn field(&self, name: &str) -> Option<(u16, &Field)> {
        self.field_after(0, name)
    }

    /// What the field at a path of names with dots between them holds; none where there is no such field, or it is in a list.
    #[must_use]
    pub fn shape_at(&self, path: &str) -> Option<&Shape> {
        let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
        match (&self.field(name)?.1.shape, rest) {
            (shape, None) => Some(shape),
            (Shape::Record(inner), Some(rest)) => inner.shape_at(rest),
            _ => None,
        }
    }

    /// The link of this name, with the index that it has where a trial writes it out: those of the links
    /// follow those of the fields.
    #[must_use]
    pub fn link(&self, name: &str) -> Option<(u16, &Link)> {
        let number = self.links.iter().position(|link| &*link.name == name)?;
        Some((u16::try_from(self.fields.len() + number).ok()?, self.links.get(number)?))
    }

    /// The links that lead to a tool of the register, each with its index. One that is called `instrument` is
    /// the only one that counts.
    #[must_use]
    pub fn instruments(&self) -> Vec<(u16, &Link)> {
        if let Some(instrument) = self.link("instrument") {
            return vec![instrument];
        }
        let to_tools = self.links.iter().filter(|link| matches!(link.to, Target::InRegister(_)));
        to_tools.filter_map(|link| self.link(&link.name)).collect()
    }

    /// The same, looking first from `hint` on: documents mostly keep the order of their form.
    pub(super) fn field_after(&self, hint: usize, name: &str) -> Option<(u16, &Field)> {
        let hint = hint.min(self.fields.len());
        let (before, after) = self.fields.split_at_checked(hint)?;
        let found = after.iter().position(|field| &*field.name == name).map(|index| hint + index);
        let index = found.or_else(|| before.iter().position(|field| &*field.name == name))?;
        Some((u16::try_from(index).ok()?, self.fields.get(index)?))
    }
}

/// The vocabulary of a field in a group of this title, looked for in all groups of a record. Depth is bounded by the chain of
/// definitions.
pub(super) fn vocabulary<'r>(record: &'r Record, group: &str, field: &str) -> Option<&'r Arc<str>> {
    if record.title == group
        && let Some((_, found)) = record.field(field)
    {
        return found.vocabulary.as_ref();
    }
    record.fields.iter().find_map(|inner| {
        let mut shape = &inner.shape;
        while let Shape::List(item) = shape {
            shape = item;
        }
        let Shape::Record(record) = shape else { return None };
        vocabulary(record, group, field)
    })
}

/// What is wrong with a schema, and the path of the place in it.
pub(super) struct SchemaFault {
    pub(super) path: String,
    pub(super) fault: Fault,
}

/// The shape of the documents that a schema describes.
pub(super) fn from_schema(schema: &Value) -> Result<Arc<Record>, Vec<SchemaFault>> {
    let none = Map::new();
    let definitions = schema.get("$defs").and_then(Value::as_object).unwrap_or(&none);
    let mut reader = Reader { definitions, made: HashMap::new(), under_way: Vec::new(), faults: Vec::new() };
    let record = reader.record(schema, "document", "");
    if reader.faults.is_empty() {
        let mut written_out = WrittenOut { schema, known: HashMap::new(), chain: 0 };
        reader.faults.extend(written_out.parts(schema, "").err());
    }
    if reader.faults.is_empty() { Ok(Arc::new(record)) } else { Err(reader.faults) }
}

/// How many parts a schema may come to. Ours come to some thousands.
const MOST_PARTS: usize = 20_000;

/// How many references may lead on from one to the next.
const LONGEST_CHAIN: usize = 64;

/// How many parts a schema comes to when each of its references is replaced by what it refers to, as documents are checked by
/// it. Definitions that each refer to the next one twice double with each.
struct WrittenOut<'a> {
    schema: &'a Value,
    /// The parts of what was referred to; none while it is counted.
    known: HashMap<&'a str, Option<usize>>,
    /// How many references lead to the part at hand.
    chain: usize,
}

impl<'a> WrittenOut<'a> {
    fn parts(&mut self, schema: &'a Value, path: &str) -> Result<usize, SchemaFault> {
        let mut parts: usize = 1;
        match schema {
            Value::Object(members) => {
                for (name, member) in members {
                    let path = join(path, name);
                    let referred = match member.as_str().filter(|_| name == "$ref") {
                        Some(reference) => self.referred(reference, &path)?,
                        None => 0,
                    };
                    parts = parts.saturating_add(self.parts(member, &path)?).saturating_add(referred);
                }
            }
            Value::Array(items) => {
                for (number, item) in items.iter().enumerate() {
                    parts = parts.saturating_add(self.parts(item, &format!("{path}[{number}]"))?);
                }
            }
            _ => {}
        }
        let fault =
            |message: String| SchemaFault { path: path.to_owned(), fault: Fault::new(code::SCHEMA, message) };
        match parts > MOST_PARTS {
            true => Err(fault(format!(
                "this comes to more than {MOST_PARTS} parts when each reference is replaced by what it refers to"
            ))),
            false => Ok(parts),
        }
    }

    /// The parts of what a reference leads to.
    fn referred(&mut self, reference: &'a str, path: &str) -> Result<usize, SchemaFault> {
        let fault =
            |message: String| SchemaFault { path: path.to_owned(), fault: Fault::new(code::SCHEMA, message) };
        match self.known.get(reference) {
            Some(Some(parts)) => return Ok(*parts),
            Some(None) => return Err(fault(format!("`{reference}` holds itself, so it never ends"))),
            None => {}
        }
        let Some(target) = reference.strip_prefix('#').and_then(|pointer| self.schema.pointer(pointer))
        else {
            return Err(fault(format!("`{reference}` refers to nothing in this schema")));
        };
        if self.chain == LONGEST_CHAIN {
            return Err(fault(format!("more than {LONGEST_CHAIN} references lead on from one to the next")));
        }
        self.known.insert(reference, None);
        self.chain += 1;
        let parts = self.parts(target, path)?;
        self.chain -= 1;
        self.known.insert(reference, Some(parts));
        Ok(parts)
    }
}

struct Reader<'a> {
    definitions: &'a Map<String, Value>,
    made: HashMap<&'a str, Shape>,
    /// Definitions being read, to meet circles.
    under_way: Vec<&'a str>,
    faults: Vec<SchemaFault>,
}

impl<'a> Reader<'a> {
    fn shape(&mut self, schema: &'a Value, name: &str, path: &str) -> Shape {
        if let Some(reference) = word(schema, "$ref") {
            return self.reference(reference, &join(path, "$ref"));
        }
        if let Some(words) = words(schema) {
            self.tell_apart(&words, &join(path, "enum"));
            return Shape::Word(words);
        }
        if let Some(kind) = schema.get("quantity") {
            return self.quantity(schema, kind, &join(path, "quantity"));
        }
        if schema.get("shorthand").is_some() {
            return Shape::Record(Arc::new(self.record(schema, name, path)));
        }
        match (word(schema, "type"), word(schema, "format")) {
            (Some("string"), Some("date")) => Shape::Day,
            (Some("string"), Some("date-time")) => Shape::Moment,
            (Some("string"), _) => Shape::Text,
            (Some("boolean"), _) => Shape::Truth,
            (Some("integer"), _) => Shape::Count,
            (Some("number"), _) => Shape::Number,
            (Some("array"), _) => {
                let item = schema.get("items").map(|items| self.shape(items, name, &join(path, "items")));
                Shape::List(Arc::new(item.unwrap_or(Shape::Any)))
            }
            (Some("object"), _) => Shape::Record(Arc::new(self.record(schema, name, path))),
            _ => Shape::Any,
        }
    }

    /// Refuses a closed list of which nobody could tell two words apart.
    fn tell_apart(&mut self, words: &[Arc<str>], path: &str) {
        let plain = |word: &str| -> String {
            look(word).chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
        };
        let mut seen: HashMap<String, &str> = HashMap::new();
        for word in words {
            let Some(first) = seen.insert(plain(word), word) else { continue };
            let (message, help) = if *first == **word {
                (format!("the word `{word}` is twice in this list"), "take one of them out".to_owned())
            } else if look_alike(word, first) {
                (format!("the word `{word}` looks like another of this list"), said(word, first))
            } else {
                let message =
                    format!("the words `{first}` and `{word}` differ by capital letters or blanks only");
                (message, "keep one of them, or choose words that differ more".to_owned())
            };
            self.fault(path, message, help);
        }
    }

    fn record(&mut self, schema: &'a Value, name: &str, path: &str) -> Record {
        let title = word(schema, "title").unwrap_or(name).to_owned();
        let open = schema.get("additionalProperties") != Some(&Value::Bool(false));
        let required: Vec<&str> = schema
            .get("required")
            .and_then(Value::as_array)
            .map(|names| names.iter().filter_map(Value::as_str).collect())
            .unwrap_or_default();
        let others = schema.get("additionalProperties").filter(|others| others.is_object());
        let others = others.map(|others| self.shape(others, "group", &join(path, "additionalProperties")));
        let whole_path = path;
        let path = join(path, "properties");
        let properties = schema.get("properties").and_then(Value::as_object);
        let fields = properties.into_iter().flatten().map(|(name, declared)| {
            let shape = self.shape(declared, name, &join(&path, name));
            let doc = self.doc(declared).unwrap_or_default().to_owned();
            let measured = word(declared, "measured").map(Arc::from);
            let whole = declared.get("whole") == Some(&Value::Bool(true));
            let free = declared.get("free") == Some(&Value::Bool(true));
            let judged = self.judged(declared, &join(&join(&path, name), "judged"));
            let replaced_by = self.replaced_by(declared, &join(&path, name));
            let called = declared.get("called").and_then(Value::as_array).into_iter().flatten();
            let called = called.filter_map(Value::as_str).map(Box::from).collect();
            Field {
                name: name.as_str().into(),
                shape,
                required: required.contains(&name.as_str()),
                doc,
                measured,
                whole,
                judged,
                called,
                free,
                vocabulary: match declared.get("vocabulary") {
                    Some(Value::Bool(true)) => Some(name.as_str().into()),
                    Some(Value::String(vocabulary)) => Some(vocabulary.as_str().into()),
                    _ => None,
                },
                replaced_by,
            }
        });
        let fields: Vec<Field> = fields.collect();
        let number = |name: &str, shape: Shape| {
            let at = fields.iter().position(|field| &*field.name == name && field.shape == shape);
            at.and_then(|at| u16::try_from(at).ok())
        };
        let when = word(schema, "when").and_then(|name| number(name, Shape::Moment));
        let touched = word(schema, "touched").and_then(|name| number(name, Shape::Truth));
        let shorthand = schema.get("shorthand").and_then(|name| {
            let named = fields.iter().position(|field| name == &*field.name && field.shape.is_single());
            if named.is_none() {
                let message =
                    "the shorthand of a group must name one of its fields that has a single value".to_owned();
                let singles = fields.iter().filter(|field| field.shape.is_single());
                let names: Vec<String> = singles.map(|field| format!("`{}`", field.name)).collect();
                self.fault(
                    &join(whole_path, "shorthand"),
                    message,
                    format!("the fields are {}", names.join(", ")),
                );
            }
            named.and_then(|at| u16::try_from(at).ok())
        });
        let links = link::from_schema(schema).unwrap_or_else(|| {
            self.fault(&join(whole_path, "links"), "a link leads nowhere".to_owned(), String::new());
            Vec::new()
        });
        Record { title, fields, links, when, shorthand, touched, open, lists: Vec::new(), others }
    }

    /// What takes the place of a field that is not used any more.
    fn replaced_by(&mut self, declared: &Value, path: &str) -> Option<Arc<str>> {
        let deprecated = declared.get("deprecated") == Some(&Value::Bool(true));
        let new = word(declared, "replaced_by").filter(|new| !new.trim().is_empty());
        match (deprecated, new) {
            (true, Some(new)) => return Some(Arc::from(new)),
            (false, None) => {}
            (true, None) => {
                let message = "this field is deprecated, and nothing says what takes its place".to_owned();
                let help =
                    "add `\"replaced_by\"` with the path of the other field, such as `fluid.drained.volume`";
                self.fault(path, message, help.to_owned());
            }
            (false, Some(_)) => {
                let message =
                    "another field takes the place of this one, and it is not deprecated".to_owned();
                self.fault(path, message, "add `\"deprecated\": true`".to_owned());
            }
        }
        None
    }

    /// When a value of a field counts as judged.
    fn judged(&mut self, declared: &Value, path: &str) -> Option<Judged> {
        match declared.get("judged")?.as_str() {
            Some("value") => Some(Judged::Value),
            Some("recorded") => Some(Judged::Recorded),
            _ => {
                let message = "this does not say when a value counts as judged".to_owned();
                let help = "write `value` where a rule must look at it, `recorded` where it is enough that one asks whether it is there";
                self.fault(path, message, help.to_owned());
                None
            }
        }
    }

    /// The description of a property, or of what it refers to.
    fn doc(&self, declared: &'a Value) -> Option<&'a str> {
        word(declared, "description").or_else(|| {
            let name = word(declared, "$ref")?.strip_prefix("#/$defs/")?;
            word(self.definitions.get(name)?, "description")
        })
    }

    fn reference(&mut self, reference: &'a str, path: &str) -> Shape {
        let name = reference.strip_prefix("#/$defs/").unwrap_or_default();
        let Some((name, definition)) = self.definitions.get_key_value(name) else {
            let near = nearest(name, self.definitions.keys().map(String::as_str));
            let help = match near {
                Some(near) => format!("write `#/$defs/{near}`"),
                None => {
                    "refer to a definition under `$defs` of the same schema, as `#/$defs/name`".to_owned()
                }
            };
            return self.fault(path, format!("`{reference}` refers to no definition of this schema"), help);
        };
        if let Some(shape) = self.made.get(name.as_str()) {
            return shape.clone();
        }
        if self.under_way.contains(&name.as_str()) {
            let message = format!("the definition `{name}` holds itself, so it never ends");
            return self.fault(path, message, "take the reference out".to_owned());
        }
        if self.under_way.len() == LONGEST_CHAIN {
            let message = format!("more than {LONGEST_CHAIN} definitions refer on from one to the next");
            return self.fault(path, message, "write some of them out".to_owned());
        }
        self.under_way.push(name);
        let shape = self.shape(definition, name, &format!("[\"$defs\"].{name}"));
        self.under_way.pop();
        self.made.insert(name, shape.clone());
        shape
    }

    fn quantity(&mut self, schema: &Value, kind: &Value, path: &str) -> Shape {
        let name = kind.as_str().unwrap_or_default();
        let Some(kind) = Kind::named(name) else {
            let help = match Kind::nearest_name(name) {
                Some(near) => format!("write `{near}`"),
                None => "name a kind of quantity, such as `torque`, `temperature` or `volume`".to_owned(),
            };
            return self.fault(path, format!("`{name}` is no kind of quantity"), help);
        };
        match (schema.get("range"), word(schema, "log")) {
            (Some(Value::Bool(true)), _) => Shape::Range(kind),
            (_, Some("linear")) => Shape::Log(kind, Sampling::Linear),
            (_, Some("held")) => Shape::Log(kind, Sampling::Held),
            (_, Some(other)) => {
                let message = format!("`{other}` does not say what a log is between two of its entries");
                let help = "write `linear` for a straight line, `held` for what keeps its value".to_owned();
                self.fault(&path.replace("quantity", "log"), message, help)
            }
            (_, None) => Shape::Quantity(kind),
        }
    }

    fn fault(&mut self, path: &str, message: String, help: String) -> Shape {
        let fault = Fault::new(code::SCHEMA, message).help(help);
        self.faults.push(SchemaFault { path: path.to_owned(), fault });
        Shape::Any
    }
}

fn word<'a>(schema: &'a Value, keyword: &str) -> Option<&'a str> {
    schema.get(keyword)?.as_str()
}

/// The closed list of `enum`, or the one word of `const`.
fn words(schema: &Value) -> Option<Arc<[Arc<str>]>> {
    if let Some(only) = word(schema, "const") {
        return Some(Arc::from([Arc::from(only)]));
    }
    schema.get("enum")?.as_array()?.iter().map(|word| word.as_str().map(Arc::from)).collect()
}

/// A step further down a path in a schema, written as [`super::Document::path`] writes it.
pub(super) fn join(path: &str, key: &str) -> String {
    let plain = key.chars().all(|c| c.is_alphanumeric() || c == '_');
    match (path.is_empty(), plain) {
        (true, true) => key.to_owned(),
        (false, true) => format!("{path}.{key}"),
        (_, false) => format!("{path}[\"{key}\"]"),
    }
}
