//! Which of many changes is probably the cause of what is wrong at a place: the nearest one in the tree of the document.

use std::ops::Range;

use super::super::tree::{Document, NodeId};
use crate::source::Span;

/// The changes that are in the smallest group, entry or value around a place in which there is any. The spans are those of
/// the changes in this text, in its order and apart.
pub(super) fn nearest(documents: &[Document<'_>], changes: &[Span], place: Span) -> Range<usize> {
    let of_text = documents.iter().map(|document| (document, document.root()));
    let around = of_text.filter(|(document, root)| holds(document.span(*root), place));
    let mut in_document = around.map(|(document, root)| in_node(document, root, changes, place));
    in_document.next_back().filter(|found| !found.is_empty()).unwrap_or(0..changes.len())
}

fn holds(around: Span, place: Span) -> bool {
    around.start <= place.start && place.end <= around.end
}

/// The changes in a stretch of the text.
fn within(changes: &[Span], span: Span) -> Range<usize> {
    let from = changes.partition_point(|change| change.end <= span.start);
    let to = changes.partition_point(|change| change.start < span.end);
    from..to.max(from)
}

/// Goes down towards the place as long as there is a change around it. Depth is bounded by the reader's limit.
fn in_node(document: &Document<'_>, root: NodeId, changes: &[Span], place: Span) -> Range<usize> {
    let (mut node, mut found) = (Some(root), within(changes, document.span(root)));
    while let Some(at) = node {
        node = None;
        for (span, below) in towards(document, at, place) {
            let nearer = within(changes, span);
            if !holds(span, place) || nearer.is_empty() {
                break;
            }
            (found, node) = (nearer, below);
        }
    }
    found
}

/// The parts of a node that may hold a place, the wider ones first: an entry with its name, then the one or the other.
fn towards(document: &Document<'_>, node: NodeId, place: Span) -> Vec<(Span, Option<NodeId>)> {
    let entries = document.entries(node);
    let number = entries.partition_point(|entry| entry.key_span.start <= place.start);
    if let Some(entry) = number.checked_sub(1).and_then(|number| entries.get(number)) {
        let value = document.span(entry.value);
        let whole = (entry.key_span.to(value), None);
        return match holds(entry.key_span, place) {
            true => vec![whole, (entry.key_span, None)],
            false => vec![whole, (value, Some(entry.value))],
        };
    }
    let items = document.items(node);
    let number = items.partition_point(|item| document.span(*item).start <= place.start);
    let item = number.checked_sub(1).and_then(|number| items.get(number));
    item.map(|item| (document.span(*item), Some(*item))).into_iter().collect()
}
