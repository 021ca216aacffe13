//! The names of entries, and paths that go by them instead of by numbers.

use crate::document::path::{DocPath, Path, Step};
use crate::document::{Document, NodeId};

/// The field by which entries state their place in a sequence.
pub const SEQUENCE: &str = "order";

/// The field by which they state the pass of that sequence.
pub const PASS: &str = "pass";

/// What a fastening is for: a name that says what it is without the word for it.
pub const ROLE: &str = "role";

/// The field that says where something sits.
pub const PLACE: &str = "place";

/// The field that says for how many pieces an entry stands.
pub const COUNT: &str = "count";

/// The fields by which people know an entry of a list again, the first row that fits deciding. All fields of
/// the row together are the entry's name.
pub const NAMES: &[&[&str]] = &[
    &["name"],
    &["step"],
    &["rule"],
    &[ROLE, PLACE, PASS],
    &[PLACE],
    &["position"],
    &["stage"],
    &["class", "specification"],
    &["of", "at"],
    &["path"],
    &["number"],
    &["code", "job"],
    &["job"],
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

/// The field by which an entry that states something says of what.
const OF: &str = "of";

/// What a group of fields is called in a sentence: `drain plug A`, `reading of coolant`, `level check`. `title` is what
/// its form calls one.
#[must_use]
pub fn called(document: &Document<'_>, group: NodeId, title: &str) -> String {
    let place = document.parent(group).map_or(&[][..], |list| document.items(list));
    let Some(number) = place.iter().position(|entry| *entry == group) else { return title.to_owned() };
    let text = |field: &str| document.raw(document.get(group, field)?).map(str::trim);
    let row = NAMES.iter().find(|row| row.iter().any(|field| text(field).is_some()));
    let names = |row: &[&str]| row.iter().filter_map(|field| text(field)).collect::<Vec<_>>().join(" ");
    match row {
        Some([OF, ..]) => format!("{title} {OF} {}", text(OF).unwrap_or("(not recorded)")),
        // In which pass it was tightened is a value of it.
        Some(row @ [ROLE, ..]) => names(row.get(..2).unwrap_or(row)),
        Some(row) => format!("{title} {}", names(row)),
        None => format!("{title} {}", number + 1),
    }
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
