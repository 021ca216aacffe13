//! A record that differs from another in some places, made by cutting bytes out of its text and putting others in, so
//! that everything else stays as it is written. Records of this kind are written in braces.

use super::path::Step;
use super::{DocPath, Document, NodeId, NodeKind};
use crate::source::Span;

/// Why a place in a record cannot be changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unplaced {
    /// Nothing is recorded there.
    Nothing,
    /// The list has only so many entries.
    PastTheEnd(DocPath, usize),
    /// A single value is there, which has no fields and no entries.
    Single(DocPath),
    /// A list is there, and a field of it is named.
    List(DocPath),
    /// A group of fields is there, and an entry of it is named.
    Group(DocPath),
}

/// The text of a document with a value put in the place of the one at a path, or added there with the groups on
/// the way to it.
///
/// # Errors
/// The path leads nowhere.
pub fn put(document: &Document<'_>, text: &str, path: &DocPath, value: &str) -> Result<String, Unplaced> {
    let mut at = document.root();
    let mut way = DocPath::root();
    let mut steps = path.steps();
    while let Some((step, rest)) = steps.split_first() {
        let (next, further) = match step {
            Step::Key(name) => (document.get(at, name), way.clone().key(name)),
            Step::In(number) => (document.items(at).get(*number).copied(), way.clone().entry(*number)),
        };
        match (&document.node(at).kind, step, next) {
            (NodeKind::Map(_) | NodeKind::List(_), _, Some(node)) => at = node,
            // What waits for its value, with its name, is written anew.
            (NodeKind::Empty, ..) => return Ok(in_place_of(document, text, at, &built(steps, value, &way)?)),
            (NodeKind::Map(_), Step::Key(name), None) => {
                let field = format!("{name}: {}, ", built(rest, value, &further)?);
                return Ok(spliced(text, after_bracket(document.span(at)), &field));
            }
            (NodeKind::List(_), Step::In(number), None) => {
                let entries = document.items(at);
                if *number != entries.len() {
                    return Err(Unplaced::PastTheEnd(way, entries.len()));
                }
                let entry = built(rest, value, &further)?;
                return Ok(match entries.last() {
                    None => spliced(text, after_bracket(document.span(at)), &entry),
                    Some(last) => {
                        let end = document.span(*last).end as usize;
                        spliced(text, Span::new(end, end), &format!(", {entry}"))
                    }
                });
            }
            (NodeKind::Map(_), Step::In(_), None) => return Err(Unplaced::Group(way)),
            (NodeKind::List(_), Step::Key(_), None) => return Err(Unplaced::List(way)),
            (NodeKind::Scalar { .. }, ..) => return Err(Unplaced::Single(way)),
        }
        (way, steps) = (further, rest);
    }
    Ok(in_place_of(document, text, at, value))
}

/// The text of a document without what is recorded at a path.
///
/// # Errors
/// Nothing is recorded there.
pub fn take_out(document: &Document<'_>, text: &str, path: &DocPath) -> Result<String, Unplaced> {
    let node = document.find(&path.to_string()).filter(|_| !path.is_root()).ok_or(Unplaced::Nothing)?;
    let whole = whole_of(document, text, node);
    let end = after_comma(text, whole.end as usize);
    Ok(spliced(text, Span::new(whole.start as usize, end), ""))
}

/// A value with the groups and lists on the way to it.
fn built(steps: &[Step<usize>], value: &str, way: &DocPath) -> Result<String, Unplaced> {
    steps.iter().rev().try_fold(value.to_owned(), |inner, step| match step {
        Step::Key(name) => Ok(format!("{{{name}: {inner}}}")),
        Step::In(0) => Ok(format!("[{inner}]")),
        Step::In(_) => Err(Unplaced::PastTheEnd(way.clone(), 0)),
    })
}

fn in_place_of(document: &Document<'_>, text: &str, node: NodeId, value: &str) -> String {
    let whole = whole_of(document, text, node);
    let named = document.key_span(node).map(|key| format!("{}: {value}", key.of(text)));
    spliced(text, whole, named.as_deref().unwrap_or(value))
}

/// An entry of a list, or a field with its name.
fn whole_of(document: &Document<'_>, text: &str, node: NodeId) -> Span {
    let value = document.span(node);
    let Some(key) = document.key_span(node) else { return value };
    let behind = text.get(key.end as usize..).unwrap_or_default();
    let blanks = behind.len() - behind.trim_start().len();
    let colon = behind.trim_start().starts_with(':').then_some(key.end as usize + blanks + 1);
    let end = colon.unwrap_or(key.end as usize);
    let end = if document.is_empty(node) { end } else { end.max(value.end as usize) };
    Span::new(key.start as usize, end)
}

/// The place behind the bracket that opens a group or a list.
fn after_bracket(span: Span) -> Span {
    let behind = span.start as usize + 1;
    Span::new(behind, behind)
}

/// Behind the comma that follows, blanks and comments passed over; where none does, the place itself.
fn after_comma(text: &str, at: usize) -> usize {
    let mut next = at;
    loop {
        let rest = text.get(next..).unwrap_or_default();
        let trimmed = rest.trim_start();
        next += rest.len() - trimmed.len();
        match trimmed.chars().next() {
            Some(',') => return next + 1,
            Some('#') => next += trimmed.find(['\n', '\r']).unwrap_or(trimmed.len()),
            _ => return at,
        }
    }
}

fn spliced(text: &str, span: Span, new: &str) -> String {
    let before = text.get(..span.start as usize).unwrap_or_default();
    let behind = text.get(span.end as usize..).unwrap_or_default();
    format!("{before}{new}{behind}")
}
