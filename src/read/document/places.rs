//! What is at a place of the text.

use super::path::DocPath;
use super::tree::{Document, Node, NodeId, NodeKind};
use crate::source::{Place, Span};

/// The path of the innermost value, or of its field, that is at a byte offset of the text.
#[must_use]
pub fn path_at(document: &Document<'_>, offset: u32) -> DocPath {
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

/// Where to point for a node: at a single value itself, at a collection by its field's name or by
/// the name of its first field, for a collection can be as long as the document.
#[must_use]
pub fn pointer(document: &Document<'_>, node: NodeId) -> Place {
    let place = |span: Span| Place { source: document.source, span };
    if !matches!(document.node(node).kind, NodeKind::Map(_) | NodeKind::List(_) | NodeKind::Empty) {
        return document.place(node);
    }
    let parent = document.parent(node);
    let own = parent.and_then(|parent| document.entries(parent).iter().find(|entry| entry.value == node));
    let first = || document.entries(node).first();
    match own.or_else(first) {
        Some(entry) => place(entry.key_span),
        None => document.place(node),
    }
}
