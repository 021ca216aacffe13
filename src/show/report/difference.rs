//! Two texts line by line.

use std::fmt::{self, Display, Write};
use std::ops::Range;

use similar::algorithms::{Capture, Compact, Replace, myers};
use similar::{ChangeTag, DiffOp, group_diff_ops};

use crate::report::text::put;

/// How many lines two texts may have together; past that, a difference line by line takes too long and
/// is of no use to anybody.
pub const MOST_LINES: usize = 20_000;

/// How many lines are shown around each change.
const CONTEXT: usize = 3;

/// The difference of two texts as a unified diff with three lines around each change; `None` where they
/// are too long for it, empty where they have the same lines.
#[must_use]
pub fn unified(old: (&str, &str), new: (&str, &str)) -> Option<String> {
    let ((old_name, old), (new_name, new)) = (old, new);
    if old.lines().count() + new.lines().count() > MOST_LINES {
        return None;
    }
    let (old, new) = (lines(old), lines(new));
    let mut out = String::new();
    for hunk in group_diff_ops(changes(&old, &new), CONTEXT).iter().filter(|hunk| !hunk.is_empty()) {
        if out.is_empty() {
            let _ = write!(out, "--- {old_name}\n+++ {new_name}\n");
        }
        put_hunk(hunk, &old, &new, &mut out);
    }
    Some(out)
}

/// The lines of a text, each with what ends it.
fn lines(text: &str) -> Vec<&str> {
    let mut lines = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['\n', '\r']) {
        let end = at + if rest.get(at..).is_some_and(|ending| ending.starts_with("\r\n")) { 2 } else { 1 };
        let (line, after) = rest.split_at_checked(end).unwrap_or((rest, ""));
        lines.push(line);
        rest = after;
    }
    lines.extend(Some(rest).filter(|rest| !rest.is_empty()));
    lines
}

/// What changed. One algorithm is called by its name: through the choice of the crate all of them would be
/// compiled into the program.
fn changes(old: &[&str], new: &[&str]) -> Vec<DiffOp> {
    let mut changes = Compact::new(Replace::new(Capture::new()), old, new);
    let Ok(()) = myers::diff(&mut changes, old, 0..old.len(), new, 0..new.len());
    changes.into_inner().into_inner().into_ops()
}

fn put_hunk(hunk: &[DiffOp], old: &[&str], new: &[&str], out: &mut String) {
    let whole = |range: fn(&DiffOp) -> Range<usize>| {
        Lines(
            hunk.first().map_or(0, |first| range(first).start)..hunk.last().map_or(0, |last| range(last).end),
        )
    };
    let _ = writeln!(out, "@@ -{} +{} @@", whole(DiffOp::old_range), whole(DiffOp::new_range));
    let slices = hunk.iter().flat_map(|change| change.iter_slices(old, new));
    for (tag, line) in slices.flat_map(|(tag, lines)| lines.iter().map(move |line| (tag, line))) {
        out.push(match tag {
            ChangeTag::Equal => ' ',
            ChangeTag::Delete => '-',
            ChangeTag::Insert => '+',
        });
        out.push_str(line);
        if !line.ends_with(['\n', '\r']) {
            out.push_str("\n\\ No newline at end of file\n");
        }
    }
}

/// Lines as the head of a hunk counts them: from one, and none as those behind the line before.
struct Lines(Range<usize>);

impl Display for Lines {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0.len() {
            0 => write!(f, "{},0", self.0.start),
            1 => write!(f, "{}", self.0.start + 1),
            length => write!(f, "{},{length}", self.0.start + 1),
        }
    }
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
