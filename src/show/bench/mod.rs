//! The page at the bench: one job laid out to be filled in, with the verdict beside each field. Made from the plan of
//! [`crate::sheet`], the record and what was judged of it; nothing is decided here. Pure, without input or output.

pub mod assets;
pub mod closing;
mod controls;
pub mod day;
pub mod entry;
pub mod notes;
pub mod order;
pub mod page;
pub mod rows;
mod tapping;
pub mod words;

use crate::report::text;

/// The same with its lines, for a field that has more than one.
#[must_use]
pub fn clean_lines(text: &str) -> String {
    text.lines().map(clean).collect::<Vec<_>>().join("\n")
}

/// A text for a page. Markup in it is escaped where it is put in; what could hide or turn the direction of writing is
/// written out here. Unlike on a screen nothing is cut off: it is somebody's record.
#[must_use]
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|c| text::put(c, " ", &mut out));
    out
}
