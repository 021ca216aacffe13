//! Fields that are not used any more: they are read as before, and an advice names what is written instead.

use std::sync::Arc;

use super::{Document, NodeId, Record, Shape};
use crate::code::DEPRECATED_FIELD;
use crate::diagnostic::Diagnostic;
use crate::source::Place;

/// Whether a form has any such field. Depth is bounded by the schema, which cannot go round in a circle.
pub(super) fn has_any(shape: &Shape) -> bool {
    match shape {
        Shape::Record(record) => {
            record.fields.iter().any(|field| field.replaced_by.is_some() || has_any(&field.shape))
        }
        Shape::List(element) => has_any(element),
        _ => false,
    }
}

/// An advice for each such field that is recorded in a document.
pub(super) fn advice(document: &Document<'_>, record: &Arc<Record>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    look(document, document.root(), &Shape::Record(Arc::clone(record)), &mut found);
    found
}

/// Depth is bounded by the reader's limit.
fn look(document: &Document<'_>, node: NodeId, shape: &Shape, found: &mut Vec<Diagnostic>) {
    match shape {
        Shape::Record(record) => {
            for entry in document.entries(node) {
                let Some(field) = record.fields.get(usize::from(entry.field)) else { continue };
                if let Some(new) = field.replaced_by.as_ref().filter(|_| !document.is_empty(entry.value)) {
                    let place = Place { source: document.source, span: entry.key_span };
                    found.push(in_place_of(&field.name, new, place));
                }
                look(document, entry.value, &field.shape, found);
            }
        }
        Shape::List(element) => {
            for item in document.items(node) {
                look(document, *item, element, found);
            }
        }
        _ => {}
    }
}

/// Says what is written in place of a field.
#[must_use]
pub fn in_place_of(field: &str, new: &str, place: Place) -> Diagnostic {
    let message = format!("the field `{field}` is not used any more; `{new}` takes its place");
    Diagnostic::advice(DEPRECATED_FIELD, place, message)
        .help(format!("write `{new}`; a rule that asks for it does not look at `{field}`"))
}
