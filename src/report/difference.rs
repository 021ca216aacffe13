//! Two texts line by line.

use similar::TextDiff;

use crate::report::text::put;

/// How many lines two texts may have together; past that, a difference line by line takes too long and
/// is of no use to anybody.
pub const MOST_LINES: usize = 20_000;

/// The difference of two texts as a unified diff with three lines around each change; `None` where they
/// are too long for it, empty where they have the same lines.
#[must_use]
pub fn unified(old: (&str, &str), new: (&str, &str)) -> Option<String> {
    let ((old_name, old), (new_name, new)) = (old, new);
    if old.lines().count() + new.lines().count() > MOST_LINES {
        return None;
    }
    let difference = TextDiff::from_lines(old, new);
    Some(difference.unified_diff().context_radius(3).header(old_name, new_name).to_string())
}

/// The same for people, whose screen no text may reach: each line made harmless by itself.
#[must_use]
pub fn shown_lines(difference: &str) -> String {
    let mut out = String::with_capacity(difference.len());
    for line in difference.lines() {
        line.chars().for_each(|c| put(c, " ", &mut out));
        out.push('\n');
    }
    out
}
