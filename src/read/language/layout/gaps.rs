//! What is between clauses: comments and blank lines.

use crate::language::layout::atoms::Comment;

/// A line of a [`Gap`] that is a comment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line<'t> {
    pub(super) text: &'t str,
    /// Whether a blank line is before it.
    pub(super) blank: bool,
    /// Whether it is further to the right than the head of the line.
    pub(super) indented: bool,
}

/// What is between two clauses.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Gap<'t> {
    /// The comment on the line of the clause before it.
    pub(super) trailing: Option<&'t str>,
    /// The comments on lines of their own.
    pub(super) lines: Vec<Line<'t>>,
    /// Whether a blank line is before what follows.
    pub(super) blank: bool,
}

impl<'t> Gap<'t> {
    /// Reads what is between two clauses; `at_head` says that no clause is before it.
    pub(super) fn read(text: &'t str, at_head: bool) -> Self {
        let mut gap = Gap::default();
        let mut lines = text.split('\n');
        if !at_head {
            gap.trailing = lines.next().and_then(comment);
        }
        // What is behind the last line end is the indentation of the next clause.
        let mut lines = lines.peekable();
        while let Some(line) = lines.next() {
            match comment(line) {
                Some(text) => {
                    let indented = !line.starts_with('#');
                    gap.lines.push(Line { text, blank: std::mem::take(&mut gap.blank), indented });
                }
                None => gap.blank |= lines.peek().is_some(),
            }
        }
        gap
    }

    /// Whether both have the same comments.
    pub(super) fn same(&self, other: &Gap<'_>) -> bool {
        self.comments().eq(other.comments())
    }

    fn comments(&self) -> impl Iterator<Item = &str> {
        self.trailing.into_iter().chain(self.lines.iter().map(|line| line.text))
    }
}

/// The comment on a line that has nothing else.
fn comment(line: &str) -> Option<&str> {
    line.find('#').and_then(|at| line.get(at..)).map(str::trim_end)
}

/// The comments in a text that has nothing but blanks and comments, from behind an atom on.
pub(super) fn comments(text: &str) -> impl Iterator<Item = Comment<'_>> {
    let lines = text.split('\n').enumerate();
    lines.filter_map(|(number, line)| Some(Comment { text: comment(line)?, own_line: number > 0 }))
}
