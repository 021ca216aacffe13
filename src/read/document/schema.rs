//! Checks a bound document against the JSON Schema of its form, straight on the arena. The only
//! file that names the JSON Schema crate; what it finds leaves it as [`Complaint`]s.

use std::borrow::Cow;

use jsonschema::error::ValidationErrorKind as Kind;
use jsonschema::json::{Array, Json, JsonNumber, Node, NodeIdentity, Object, cmp, unique};
use jsonschema::paths::{Location, LocationSegment};
use jsonschema::{JsonType, Keyword, PatternOptions, ValidationError};
use serde_json::{Map, Value};

use super::tree::{Bound, Document, Entry, NodeId, NodeKind};
use crate::quantity::{Kind as QuantityKind, Number};
use crate::value::Value as Worth;

/// What is wrong with a node, apart from its words.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Complaint {
    /// Fields that its record does not have.
    Unknown(Vec<String>),
    /// A field that its record must have.
    Missing(String),
    /// It is not of the declared shape.
    Shape,
    /// A list with fewer items than this.
    TooFew(u64),
    /// A list with more items than this.
    TooMany(u64),
    /// A number below, or not above, this.
    Below(String),
    /// A number above, or not below, this.
    Above(String),
    /// A text that does not match this pattern.
    Pattern(String),
    /// A list that holds the same item twice.
    Repeated,
    /// Anything else that a workshop's own schema can demand.
    Other,
}

impl Complaint {
    /// How many errors it stands for.
    pub(super) fn count(&self) -> usize {
        if let Complaint::Unknown(keys) = self { keys.len() } else { 1 }
    }
}

/// A schema made ready.
pub(super) struct Validator(jsonschema::Validator<Arena>);

impl Validator {
    /// Makes a schema ready; it may refer to nothing outside itself.
    ///
    /// # Errors
    /// The path in the schema, and what is wrong with it in the words of the crate.
    pub(super) fn build(schema: &Value) -> Result<Self, (Vec<String>, String)> {
        jsonschema::options_for::<Arena>()
            .with_draft(jsonschema::Draft::Draft202012)
            .with_pattern_options(PatternOptions::regex())
            .with_keyword("quantity", |_, _, _| Ok(Box::new(NotWrong)))
            .with_keyword("format", |_, _, _| Ok(Box::new(NotWrong)))
            .offline()
            .build(schema)
            .map(Validator)
            .map_err(|error| {
                let steps = error.instance_path().segments().map(|step| step.to_string());
                (steps.collect(), error.to_string())
            })
    }

    /// Everything that is wrong with a document, in the order of the schema.
    pub(super) fn complaints(&self, document: &Document<'_>) -> Vec<(NodeId, Complaint)> {
        let root = Handle::Node(document, document.root());
        if self.0.is_valid(root) {
            return Vec::new();
        }
        self.0
            .iter_errors(root)
            .map(|error| (at(document, error.instance_path()), complaint(error.kind())))
            .collect()
    }
}

/// The node at a path that the crate names.
fn at(document: &Document<'_>, path: &Location) -> NodeId {
    path.segments().fold(document.root(), |node, step| {
        let next = match step {
            LocationSegment::Property(key) => document.get(node, &key),
            // The crate takes a key of digits for an index.
            LocationSegment::Index(index) => {
                let item = document.items(node).get(index).copied();
                item.or_else(|| document.get(node, &index.to_string()))
            }
        };
        next.unwrap_or(node)
    })
}

fn complaint(kind: &Kind) -> Complaint {
    match kind {
        Kind::AdditionalProperties { unexpected } | Kind::UnevaluatedProperties { unexpected } => {
            Complaint::Unknown(unexpected.clone())
        }
        Kind::Required { property } => Complaint::Missing(property.as_str().unwrap_or_default().to_owned()),
        Kind::Type { .. } | Kind::Enum { .. } | Kind::Constant { .. } | Kind::Custom { .. } => {
            Complaint::Shape
        }
        Kind::MinItems { limit } => Complaint::TooFew(*limit),
        Kind::MaxItems { limit } => Complaint::TooMany(*limit),
        Kind::Minimum { limit } => Complaint::Below(format!("at least {limit}")),
        Kind::ExclusiveMinimum { limit } => Complaint::Below(format!("above {limit}")),
        Kind::Maximum { limit } => Complaint::Above(format!("at most {limit}")),
        Kind::ExclusiveMaximum { limit } => Complaint::Above(format!("below {limit}")),
        Kind::Pattern { pattern } => Complaint::Pattern(pattern.clone()),
        Kind::UniqueItems => Complaint::Repeated,
        _ => Complaint::Other,
    }
}

/// Keywords whose work is done when the document is bound: `quantity`, `format`.
struct NotWrong;

impl<'i> Keyword<'i, Arena> for NotWrong {
    fn validate(&self, instance: Handle<'i>) -> Result<(), ValidationError<'i>> {
        if Keyword::<Arena>::is_valid(self, instance) {
            Ok(())
        } else {
            Err(ValidationError::custom("not of the declared shape"))
        }
    }

    fn is_valid(&self, instance: Handle<'i>) -> bool {
        !matches!(instance.kind(), Some(NodeKind::Scalar { value: Bound::Wrong, .. }))
    }
}

/// Our trees as the crate sees them: a scalar is what its declared shape made of it, a wrong or an
/// undeclared one is a string, and a field without a value is not there at all.
pub(super) struct Arena;

#[derive(Clone, Copy)]
pub(super) enum Handle<'a> {
    Node(&'a Document<'a>, NodeId),
    /// The name of a field, where names themselves are checked.
    Name(&'a str),
}

impl<'a> Handle<'a> {
    fn kind(&self) -> Option<&'a NodeKind<'a>> {
        match self {
            Handle::Node(document, id) => Some(&document.node(*id).kind),
            Handle::Name(_) => None,
        }
    }

    fn class(&self) -> Class<'a> {
        let (document, id) = match *self {
            Handle::Name(name) => return Class::Text(name),
            Handle::Node(document, id) => (document, id),
        };
        match &document.node(id).kind {
            NodeKind::Empty => Class::Nothing,
            NodeKind::Map(_) => Class::Fields(Fields { document, entries: document.entries(id) }),
            NodeKind::List(_) => Class::Items(Items { document, items: document.items(id) }),
            NodeKind::Scalar { value: Bound::Value(Worth::Truth(truth)), .. } => Class::Truth(*truth),
            NodeKind::Scalar { value: Bound::Value(Worth::Quantity(quantity)), .. }
                if quantity.kind() == QuantityKind::NUMBER =>
            {
                Class::Number(quantity.magnitude())
            }
            // A word that stands for another is read as that one.
            NodeKind::Scalar { value: Bound::Value(Worth::Text(text)), .. } => Class::Text(text),
            NodeKind::Scalar { raw, .. } => Class::Text(raw),
        }
    }

    /// The whole value as JSON, for the rare comparisons of whole collections.
    fn json(&self) -> Value {
        match self.class() {
            Class::Nothing => Value::Null,
            Class::Truth(truth) => Value::Bool(truth),
            Class::Number(number) => Value::Number(Figure(number).json()),
            Class::Text(text) => Value::String(text.to_owned()),
            Class::Fields(fields) => {
                Value::Object(fields.members().map(|(key, value)| (key.to_owned(), value.json())).collect())
            }
            Class::Items(items) => Value::Array(items.elements().map(|item| item.json()).collect()),
        }
    }
}

enum Class<'a> {
    Nothing,
    Truth(bool),
    Number(&'a Number),
    Text(&'a str),
    Fields(Fields<'a>),
    Items(Items<'a>),
}

impl Json for Arena {
    type Node<'a> = Handle<'a>;
    type PreparedKey = String;
    type StringBuffer = String;

    const KEYS_PER_LOOKUP: usize = 2;
    const ACYCLIC: bool = true;

    fn prepare_key(key: &str) -> String {
        key.to_owned()
    }

    fn with_string_node<T>(buffer: &mut String, string: &str, f: impl FnOnce(Handle<'_>) -> T) -> T {
        buffer.clear();
        buffer.push_str(string);
        f(Handle::Name(buffer))
    }
}

impl<'a> Node<'a, Arena> for Handle<'a> {
    type Object = Fields<'a>;
    type Array = Items<'a>;
    type Number = Figure<'a>;

    fn as_object(&self) -> Option<Fields<'a>> {
        if let Class::Fields(fields) = self.class() { Some(fields) } else { None }
    }

    fn as_array(&self) -> Option<Items<'a>> {
        if let Class::Items(items) = self.class() { Some(items) } else { None }
    }

    fn as_string(&self) -> Option<Cow<'a, str>> {
        if let Class::Text(text) = self.class() { Some(Cow::Borrowed(text)) } else { None }
    }

    fn as_number(&self) -> Option<Figure<'a>> {
        if let Class::Number(number) = self.class() { Some(Figure(number)) } else { None }
    }

    fn as_boolean(&self) -> Option<bool> {
        if let Class::Truth(truth) = self.class() { Some(truth) } else { None }
    }

    fn is_null(&self) -> bool {
        matches!(self.class(), Class::Nothing)
    }

    fn json_type(&self) -> JsonType {
        match self.class() {
            Class::Nothing => JsonType::Null,
            Class::Truth(_) => JsonType::Boolean,
            Class::Number(_) => JsonType::Number,
            Class::Text(_) => JsonType::String,
            Class::Fields(_) => JsonType::Object,
            Class::Items(_) => JsonType::Array,
        }
    }

    fn equals_value(&self, expected: &Value) -> bool {
        match (self.class(), expected) {
            (Class::Text(text), Value::String(expected)) => text == expected,
            (Class::Text(_), _) => false,
            _ => cmp::equal(&self.json(), expected),
        }
    }

    /// The crate copies this into every error, where nobody reads it: collections stay out.
    fn to_value(&self) -> Cow<'a, Value> {
        Cow::Owned(match self.class() {
            Class::Fields(_) | Class::Items(_) => Value::Null,
            _ => self.json(),
        })
    }

    fn identity(&self) -> Option<NodeIdentity> {
        match self {
            Handle::Node(document, id) => {
                Some(NodeIdentity::tagged(std::ptr::from_ref::<Document<'a>>(document) as usize, id.0))
            }
            Handle::Name(_) => None,
        }
    }
}

/// A number of the document.
pub(super) struct Figure<'a>(&'a Number);

impl Figure<'_> {
    fn json(&self) -> serde_json::Number {
        let whole = self.as_u64().map(Into::into).or_else(|| self.as_i64().map(Into::into));
        whole.or_else(|| serde_json::Number::from_f64(self.0.to_f64())).unwrap_or_else(|| 0.into())
    }
}

impl JsonNumber for Figure<'_> {
    fn as_u64(&self) -> Option<u64> {
        self.0.to_u64()
    }

    fn as_i64(&self) -> Option<i64> {
        match self.0.to_u64() {
            Some(whole) => i64::try_from(whole).ok(),
            None => (-self.0).to_u64().and_then(|whole| 0_i64.checked_sub_unsigned(whole)),
        }
    }

    fn as_f64(&self) -> Option<f64> {
        Some(self.0.to_f64())
    }

    fn as_str(&self) -> Cow<'_, str> {
        Cow::Owned(self.json().to_string())
    }

    fn to_number(&self) -> Cow<'_, serde_json::Number> {
        Cow::Owned(self.json())
    }

    fn is_integer(&self) -> bool {
        self.0.is_integer()
    }
}

/// The fields of a map that have a value.
pub(super) struct Fields<'a> {
    document: &'a Document<'a>,
    entries: &'a [Entry<'a>],
}

impl<'a> Object<'a, Arena> for Fields<'a> {
    type Node = Handle<'a>;
    type MemberName = &'a str;
    type MembersIter = Members<'a>;

    fn len(&self) -> usize {
        self.entries.iter().filter(|entry| !self.document.is_empty(entry.value)).count()
    }

    fn get(&self, key: &String) -> Option<Handle<'a>> {
        let entry = self.entries.iter().find(|entry| entry.key == *key)?;
        (!self.document.is_empty(entry.value)).then_some(Handle::Node(self.document, entry.value))
    }

    fn members(&self) -> Members<'a> {
        Members { document: self.document, entries: self.entries.iter() }
    }
}

pub(super) struct Members<'a> {
    document: &'a Document<'a>,
    entries: std::slice::Iter<'a, Entry<'a>>,
}

impl<'a> Iterator for Members<'a> {
    type Item = (&'a str, Handle<'a>);

    fn next(&mut self) -> Option<Self::Item> {
        let entry = self.entries.find(|entry| !self.document.is_empty(entry.value))?;
        Some((&entry.key, Handle::Node(self.document, entry.value)))
    }
}

/// The items of a list.
pub(super) struct Items<'a> {
    document: &'a Document<'a>,
    items: &'a [NodeId],
}

impl<'a> Array<'a, Arena> for Items<'a> {
    type Node = Handle<'a>;
    type ElementsIter = Elements<'a>;

    fn len(&self) -> usize {
        self.items.len()
    }

    fn elements(&self) -> Elements<'a> {
        Elements { document: self.document, items: self.items.iter() }
    }

    fn is_unique(&self) -> bool {
        let values: Vec<Cow<'_, Value>> = self.elements().map(|item| Cow::Owned(item.json())).collect();
        unique::is_unique(&values)
    }
}

pub(super) struct Elements<'a> {
    document: &'a Document<'a>,
    items: std::slice::Iter<'a, NodeId>,
}

impl<'a> Iterator for Elements<'a> {
    type Item = Handle<'a>;

    fn next(&mut self) -> Option<Handle<'a>> {
        self.items.next().map(|id| Handle::Node(self.document, *id))
    }
}

/// The same schema without its demands that fields be there, for the partial records of trials.
pub(super) fn without_required(schema: &Value) -> Value {
    match schema {
        Value::Object(members) => {
            let kept = members.iter().filter(|(key, value)| *key != "required" || !value.is_array());
            Value::Object(
                kept.map(|(key, value)| (key.clone(), without_required(value))).collect::<Map<_, _>>(),
            )
        }
        Value::Array(items) => Value::Array(items.iter().map(without_required).collect()),
        other => other.clone(),
    }
}
