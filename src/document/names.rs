//! The names of entries, and paths that go by them instead of by numbers.

use super::tree::{Document, Node, NodeId, NodeKind, Step, key_step, next_step};
use crate::source::Span;

/// The fields by which people know an entry of a list again, the first row that fits deciding. All fields of
/// the row together are the entry's name.
pub const NAMES: &[&[&str]] = &[
    &["name"],
    &["step"],
    &["rule"],
    &["role", "place", "pass"],
    &["place"],
    &["position"],
    &["stage"],
    &["class", "specification"],
    &["of", "at"],
    &["path"],
    &["number"],
];

/// A path of a document with the names of entries instead of their numbers, where they have some:
/// `fastenings[drain plug, A].torque`. What a path leads to outside the document stays as it is.
#[must_use]
pub fn named_path(document: &Document<'_>, path: &str) -> String {
    let (mut named, mut at, mut left) = (String::new(), Some(document.root()), path);
    while let Some((step, rest)) = next_step(left) {
        match step {
            Step::Key(key) => {
                named += &key_step(key);
                at = at.and_then(|at| document.get(at, key));
            }
            Step::Index(index) => {
                at = at.and_then(|at| document.items(at).get(index).copied());
                let name = at.and_then(|entry| name_of(document, entry));
                named += &format!("[{}]", name.unwrap_or_else(|| index.to_string()));
            }
        }
        left = rest;
    }
    named += left;
    named.strip_prefix('.').map(str::to_owned).unwrap_or(named)
}

/// The name of an entry.
fn name_of(document: &Document<'_>, entry: NodeId) -> Option<String> {
    let text = |field: &&str| document.raw(document.get(entry, field)?).map(str::trim);
    let names = NAMES.iter().map(|row| row.iter().filter_map(text).collect::<Vec<_>>());
    names.into_iter().find(|names| !names.is_empty()).map(|names| names.join(", "))
}

/// The path of the innermost value, or of its field, that is at a byte offset of the text.
#[must_use]
pub fn path_at(document: &Document<'_>, offset: u32) -> String {
    let holds = |node: NodeId| {
        let span = document.span(node);
        (span.start..=span.end).contains(&offset)
    };
    let mut at = document.root();
    loop {
        let entries = document.entries(at).iter();
        let mut inner = entries.filter(|entry| {
            (entry.key_span.start..=entry.key_span.end).contains(&offset) || holds(entry.value)
        });
        let next = inner.next().map(|entry| entry.value);
        let item = || document.items(at).iter().copied().find(|item| holds(*item));
        match next.or_else(item) {
            Some(next) => at = next,
            None => return document.path(at),
        }
    }
}

/// The text that says what is at a span: of a field's name, the field with its value, also where it was refused
/// and is no field of the document; of a part of a value, the whole value.
#[must_use]
pub fn said_at(document: &Document<'_>, span: Span) -> Span {
    let holds = |outer: Span, inner: Span| outer.start <= inner.start && inner.end <= outer.end;
    // What takes the place of a misspelt field is shown at that field's name, outside of the value that holds it.
    let is_read = |node: &Node<'_>| node.parent.is_none_or(|parent| holds(document.span(parent), node.span));
    let around = document.nodes.iter().filter(|node| holds(node.span, span) && is_read(node));
    let Some(inner) = around.min_by_key(|node| node.span.len()).filter(|_| !span.is_empty()) else {
        return span;
    };
    match inner.kind {
        NodeKind::Scalar { .. } => inner.span,
        NodeKind::Map(_) if inner.span != span => {
            let is_inner = |parent: NodeId| std::ptr::eq(document.node(parent), inner);
            let behind = document
                .nodes
                .iter()
                .filter(|node| node.span.start >= span.end && node.parent.is_some_and(is_inner));
            behind.min_by_key(|node| node.span.start).map_or(span, |value| span.to(value.span))
        }
        _ => span,
    }
}
