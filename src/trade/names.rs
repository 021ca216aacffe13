//! The names of entries, and paths that go by them instead of by numbers.

use crate::document::tree::{Step, key_step, next_step};
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
