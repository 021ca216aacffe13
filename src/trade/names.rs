//! The names of entries, and paths that go by them instead of by numbers.

use crate::document::path::{DocPath, Path, Step};
use crate::document::{Document, NodeId};

/// The field by which entries state their place in a sequence.
pub const SEQUENCE: &str = "order";

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
    &["code"],
];

/// A path of a document with the names of entries instead of their numbers, where they have some:
/// `fastenings[drain plug, A].torque`. What a path leads to outside the document stays as it is.
#[must_use]
pub fn named_path(document: &Document<'_>, path: &DocPath) -> Path<String> {
    let mut at = Some(document.root());
    path.steps().iter().fold(Path::root(), |named, step| match step {
        Step::Key(key) => {
            at = at.and_then(|at| document.get(at, key));
            named.key(key)
        }
        Step::In(number) => {
            at = at.and_then(|at| document.items(at).get(*number).copied());
            let name = at.and_then(|entry| name_of(document, entry));
            named.entry(name.unwrap_or_else(|| number.to_string()))
        }
    })
}

/// The name of an entry; none for one that is written as a single value.
fn name_of(document: &Document<'_>, entry: NodeId) -> Option<String> {
    if document.is_written_alone(entry) {
        return None;
    }
    let text = |field: &&str| document.raw(document.get(entry, field)?).map(str::trim);
    let names = NAMES.iter().map(|row| row.iter().filter_map(text).collect::<Vec<_>>());
    names.into_iter().find(|names| !names.is_empty()).map(|names| names.join(", "))
}
