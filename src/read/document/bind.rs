//! Binds a document to a shape: one pass gives every known field its index and every declared
//! scalar its value. Only the declared shape decides what a text is: `no`, `012`, `1e3` and a part
//! number stay texts where a text is declared.

use std::borrow::Cow;
use std::sync::Arc;

use super::placeholder::is_placeholder;
use super::tree::{Bound, Document, Entry, Misspelt, Node, NodeId, NodeKind, UNKNOWN};
use super::{Forms, Record, Shape, log};
use crate::code;
use crate::diagnostic::{Fault, near};
use crate::quantity::{Kind, Number, Quantity, Range, Reading, dotted_thousands};
use crate::time;
use crate::value::Value;

/// Binds a document to the shape of its form. What is not of the declared shape becomes
/// [`Bound::Wrong`]; fields that the shape does not know stay unbound. With `forms` it is the record of a
/// trial, in which links are written out like fields.
pub fn bind(document: &mut Document<'_>, shape: &Shape, forms: Option<&Forms>) {
    bind_node(document, document.root, shape, forms);
    document.misspelt.sort_by_key(|misspelt| (misspelt.group, misspelt.field));
}

/// Binds only the values at some paths, each of names with dots between them.
pub(super) fn bind_values(document: &mut Document<'_>, record: &Arc<Record>, paths: &[&str]) {
    for path in paths {
        bind_value(document, document.root, record, path);
    }
}

fn bind_value(document: &mut Document<'_>, group: NodeId, record: &Arc<Record>, path: &str) {
    let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
    let (Some(value), Some((_, field))) = (document.get(group, name), record.field(name)) else { return };
    match (&field.shape, rest) {
        (shape, None) => bind_node(document, value, shape, None),
        (Shape::Record(record), Some(rest)) => bind_value(document, value, record, rest),
        _ => {}
    }
}

/// Depth is bounded by the reader's limit.
fn bind_node(document: &mut Document<'_>, id: NodeId, shape: &Shape, forms: Option<&Forms>) {
    if let Shape::Log(kind, _) = shape
        && !document.is_empty(id)
    {
        document.logs.push((id, *kind));
    }
    let Some(node) = document.nodes.get_mut(id.index()) else { return };
    match (&mut node.kind, shape) {
        // What the reader has refused stays wrong.
        (NodeKind::Scalar { value: Bound::Wrong, .. }, _) => {}
        (NodeKind::Scalar { .. }, Shape::Record(record)) if record.shorthand.is_some() => {
            write_out(document, id, record, forms);
        }
        (NodeKind::Scalar { raw, .. }, _) if is_placeholder(raw, shape) => {
            let raw = std::mem::take(raw);
            node.kind = NodeKind::Empty;
            document.placeholders.push((id, raw));
        }
        (NodeKind::Scalar { raw, value, .. }, _) => {
            *value = bound(raw, shape);
            let number =
                matches!(value, Bound::Value(Value::Quantity(_) | Value::Reading(_) | Value::Range(_)));
            if number && raw.contains('.') && dotted_thousands(raw).is_some() {
                let whole = *shape == Shape::Count;
                document.dotted.push((id, whole));
                if whole {
                    refuse(document, id);
                }
            }
        }
        (NodeKind::Map(range), Shape::Record(record)) => {
            let range = range.clone();
            bind_fields(document, range.clone(), record, forms);
            note_known(document, id, range.clone());
            if !record.open {
                note_strangers(document, id, range, record);
            }
        }
        (NodeKind::Map(range), Shape::Log(kind, _)) => {
            let range = range.clone();
            bind_log(document, range, *kind);
        }
        (NodeKind::List(range), Shape::List(item)) => {
            for index in range.clone() {
                if let Some(id) = document.items.get(index as usize).copied() {
                    bind_node(document, id, item, forms);
                }
            }
        }
        _ => {}
    }
}

/// Binds a text that is anybody's words, or a list of them. Depth is bounded by the reader's limit.
fn bind_free(document: &mut Document<'_>, id: NodeId) {
    match document.nodes.get_mut(id.index()).map(|node| &mut node.kind) {
        Some(NodeKind::Scalar { raw, value: value @ Bound::Unbound, .. }) => {
            *value = Bound::Value(Value::Text(raw.clone()));
        }
        Some(NodeKind::List(_)) => {
            for entry in document.items(id).to_vec() {
                bind_free(document, entry);
            }
        }
        _ => {}
    }
}

/// Makes of a single value the group that it stands for, whose only field has this value. Both stand where the
/// value stands.
fn write_out(document: &mut Document<'_>, id: NodeId, record: &Arc<Record>, forms: Option<&Forms>) {
    let declared =
        record.shorthand.and_then(|number| Some((number, record.fields.get(usize::from(number))?)));
    let (at, first) = (narrow(document.nodes.len()), narrow(document.entries.len()));
    let (Some((number, field)), Some(node)) = (declared, document.nodes.get_mut(id.index())) else { return };
    let span = node.span;
    let kind = std::mem::replace(&mut node.kind, NodeKind::Map(first..first + 1));
    document.nodes.push(Node { span, kind, parent: Some(id) });
    let value = NodeId(at);
    let key = Cow::Owned(field.name.to_string());
    document.entries.push(Entry { key, key_span: span, value, field: number });
    document.alone.push(value);
    bind_node(document, value, &field.shape, forms);
}

/// Counts of nodes are bounded far below 4 billion by the reader's limits.
fn narrow(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

fn bind_fields(
    document: &mut Document<'_>,
    range: std::ops::Range<u32>,
    record: &Arc<Record>,
    forms: Option<&Forms>,
) {
    let mut hint = 0;
    for index in range {
        let Some(entry) = document.entries.get_mut(index as usize) else { return };
        if let Some((number, field)) = record.field_after(hint, &entry.key) {
            entry.field = number;
            hint = usize::from(number) + 1;
            let value = entry.value;
            match field.free {
                true => bind_free(document, value),
                false => bind_node(document, value, &field.shape, forms),
            }
            if field.vocabulary.is_some() {
                refuse_long_names(document, value);
            }
            if field.whole
                && let Some((_, whole)) = document.dotted.last_mut().filter(|(node, _)| *node == value)
            {
                *whole = true;
                refuse(document, value);
            }
        } else if let Some(forms) = forms
            && let Some((number, link)) = record.link(&entry.key)
        {
            entry.field = number;
            let value = entry.value;
            if let Some(target) = link.record(record, forms) {
                bind_node(document, value, &Shape::Record(target), Some(forms));
            }
        }
    }
}

/// The most letters that a name of the trade has. Names are compared letter by letter, by many rules, in many spellings.
pub(super) const LONGEST_NAME: usize = 200;

/// Makes names wrong that are too long to be any.
fn refuse_long_names(document: &mut Document<'_>, id: NodeId) {
    let is_long = |raw: &str| raw.len() > LONGEST_NAME && raw.chars().count() > LONGEST_NAME;
    match &document.node(id).kind {
        NodeKind::Scalar { raw, .. } if is_long(raw) => {
            document.long.push(id);
            refuse(document, id);
        }
        NodeKind::List(_) => {
            document.items(id).to_vec().into_iter().for_each(|item| refuse_long_names(document, item));
        }
        _ => {}
    }
}

/// Notes which fields of a group the form has, where there are so many others that looking for one would take long.
fn note_known(document: &mut Document<'_>, group: NodeId, range: std::ops::Range<u32>) {
    const MANY: usize = 128;
    if range.len() > MANY {
        let entries = document.entries.get(range.start as usize..range.end as usize).unwrap_or_default();
        let known = range.zip(entries).filter(|(_, entry)| entry.field != UNKNOWN);
        let known = known.map(|(number, _)| number).collect();
        document.known_in.insert(group, known);
    }
}

/// Notes the fields that the form does not have. One without a value is to be reported like any other; one with a
/// value can mean a field that is not recorded, of which it is then not true that nothing is recorded.
fn note_strangers(document: &mut Document<'_>, group: NodeId, range: std::ops::Range<u32>, record: &Record) {
    let entries = document.entries.get(range.start as usize..range.end as usize).unwrap_or_default();
    if entries.iter().all(|entry| entry.field != UNKNOWN) {
        return;
    }
    let mut open: Vec<bool> = vec![true; record.fields.len()];
    for entry in entries.iter().filter(|entry| !document.is_empty(entry.value)) {
        if let Some(open) = open.get_mut(usize::from(entry.field)) {
            *open = false;
        }
    }
    for index in range {
        let Some(entry) = document.entries.get(index as usize).filter(|entry| entry.field == UNKNOWN) else {
            continue;
        };
        if document.is_empty(entry.value) {
            document.blank_strangers.push((group, index));
            continue;
        }
        let missing = record.fields.iter().zip(&open).filter(|(_, open)| **open);
        let meant: Vec<&str> =
            near(&entry.key, missing.map(|(field, _)| &*field.name)).map(|(_, name)| name).collect();
        let (value, span) = (entry.value, entry.key_span);
        for (number, field) in meant.into_iter().filter_map(|name| record.field(name)) {
            if let Some(open) = open.get_mut(usize::from(number)) {
                *open = false;
            }
            let stand_in = NodeId(narrow(document.nodes.len()));
            let kind = NodeKind::Scalar { raw: Cow::Borrowed(""), plain: true, value: Bound::Wrong };
            document.nodes.push(Node { span, kind, parent: Some(value) });
            let name = Arc::clone(&field.name);
            document.misspelt.push(Misspelt { group, field: number, name, value: stand_in });
        }
    }
}

/// Binds the values of a log that is written out, or the file and the column that are named.
fn bind_log(document: &mut Document<'_>, range: std::ops::Range<u32>, kind: Kind) {
    let entries = document.entries.get(range.start as usize..range.end as usize).unwrap_or_default();
    let shape = match entries.iter().any(|entry| log::names_a_file(&entry.key)) {
        true => Shape::Text,
        false => Shape::Quantity(kind),
    };
    let dotted = document.dotted.len();
    for index in range {
        if let Some(value) = document.entries.get(index as usize).map(|entry| entry.value) {
            bind_node(document, value, &shape, None);
        }
    }
    // The values of a log are written alike; one advice is enough.
    document.dotted.truncate(dotted + 1);
}

/// Makes a value wrong that can be read in two ways; what is wrong with it is said once.
fn refuse(document: &mut Document<'_>, id: NodeId) {
    if let Some(NodeKind::Scalar { value, .. }) =
        document.nodes.get_mut(id.index()).map(|node| &mut node.kind)
    {
        *value = Bound::Wrong;
    }
    document.refused.push(id);
}

fn bound<'s>(raw: &Cow<'s, str>, shape: &Shape) -> Bound<'s> {
    match shape {
        Shape::Any => Bound::Unbound,
        Shape::Text | Shape::Log(..) => Bound::Value(Value::Text(raw.clone())),
        Shape::Word(words) if words.iter().any(|word| **word == **raw) => {
            Bound::Value(Value::Text(raw.clone()))
        }
        Shape::Word(_) | Shape::Record(_) | Shape::List(_) => Bound::Wrong,
        _ => interpret(raw, shape).map_or(Bound::Wrong, Bound::Value),
    }
}

/// What a text is worth under a shape whose values are not texts.
///
/// # Errors
/// The text is not of the shape. A shape of texts, groups or lists is no such shape either.
pub(super) fn interpret(raw: &str, shape: &Shape) -> Result<Value<'static>, Fault> {
    worth(raw, shape)
}

fn worth(raw: &str, shape: &Shape) -> Result<Value<'static>, Fault> {
    match shape {
        Shape::Truth => truth(raw),
        Shape::Count => Number::parse(raw).and_then(|number| count(raw, number)),
        Shape::Number => Number::parse(raw).map(plain),
        Shape::Quantity(kind) if Reading::is_stated(raw) => {
            Reading::parse(raw, *kind).map(|reading| Value::Reading(Arc::new(reading)))
        }
        Shape::Quantity(kind) => {
            Quantity::parse(raw, Some(*kind)).and_then(Quantity::not_below_zero).map(Value::Quantity)
        }
        Shape::Range(kind) => Range::parse(raw, Some(*kind)).map(|range| Value::Range(Arc::new(range))),
        Shape::Day => time::day(raw).map(Value::Day),
        Shape::Moment => time::moment(raw).map(Value::Moment),
        _ => Err(Fault::new(code::WRONG_SHAPE, format!("`{raw}` is not what belongs here"))),
    }
}

fn truth(raw: &str) -> Result<Value<'static>, Fault> {
    let is = |words: [&str; 2]| words.iter().any(|word| raw.eq_ignore_ascii_case(word));
    if is(["yes", "true"]) {
        Ok(Value::Truth(true))
    } else if is(["no", "false"]) {
        Ok(Value::Truth(false))
    } else {
        Err(Fault::new(code::TRUTH_FORM, format!("`{raw}` is neither yes nor no"))
            .help("write `yes` or `no`; leave the field out if it is not known"))
    }
}

/// The greatest whole number that is read: no part, turn, edition or use of a tool has a higher one.
pub const GREATEST_COUNT: i64 = 1_000_000_000;

fn count(raw: &str, number: Number) -> Result<Value<'static>, Fault> {
    if number.is_integer() && number.abs() > Number::from(GREATEST_COUNT) {
        let message = format!("`{raw}` is more than anything here can count, {GREATEST_COUNT}");
        return Err(Fault::new(code::COUNT_FORM, message).help("look for a digit too many"));
    }
    if number.is_integer() {
        return Ok(plain(number));
    }
    Err(Fault::new(code::COUNT_FORM, format!("`{raw}` is no whole number")).help("write a whole number"))
}

/// A plain number is a quantity without a unit, so that one arithmetic serves both.
fn plain(number: Number) -> Value<'static> {
    Value::Quantity(Quantity::from(number))
}
