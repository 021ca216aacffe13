//! A text that is open in an editor, kept as its changes come in.

use super::protocol::{Change, Position, Range};
use crate::source::{LineIndex, Span};

/// How many bytes may be moved for the changes of one message: the text is gone through for each of them.
const MOST_MOVED: usize = 1 << 30;

/// A text and where its lines begin.
#[derive(Clone, Debug)]
pub struct Text {
    text: String,
    lines: LineIndex,
}

/// Why a text is not followed any more: so many changes of so long a text in one message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooMany;

impl Text {
    /// A text as it was opened.
    #[must_use]
    pub fn new(text: String) -> Text {
        Text { lines: LineIndex::new(&text), text }
    }

    /// What is in it.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where its lines begin.
    #[must_use]
    pub fn lines(&self) -> &LineIndex {
        &self.lines
    }

    /// Makes changes, one after the other.
    ///
    /// # Errors
    /// They are too many for its length.
    pub fn change(&mut self, changes: Vec<Change>) -> Result<(), TooMany> {
        let mut moved: usize = 0;
        for Change { range, text } in changes {
            match range {
                None => self.text = text,
                Some(range) => {
                    let Span { start, end } = self.span(range);
                    self.text.replace_range(start as usize..end as usize, &text);
                }
            }
            moved = moved.saturating_add(self.text.len());
            if moved > MOST_MOVED {
                return Err(TooMany);
            }
            self.lines = LineIndex::new(&self.text);
        }
        Ok(())
    }

    /// The bytes of a range. What is beyond the text is its end; an end before its start is the start.
    #[must_use]
    pub fn span(&self, range: Range) -> Span {
        let start = self.offset(range.start);
        Span { start, end: self.offset(range.end).max(start) }
    }

    /// The byte at a position.
    #[must_use]
    pub fn offset(&self, position: Position) -> u32 {
        self.lines.offset(&self.text, position.line as usize, position.character as usize)
    }

    /// The range of bytes.
    #[must_use]
    pub fn range(&self, span: Span) -> Range {
        range(&self.lines, &self.text, span)
    }
}

/// The range of bytes in a text.
#[must_use]
pub fn range(lines: &LineIndex, text: &str, span: Span) -> Range {
    let position = |offset| {
        let position = lines.position(text, offset);
        let narrow = |number: usize| u32::try_from(number.saturating_sub(1)).unwrap_or(u32::MAX);
        Position { line: narrow(position.line), character: narrow(position.utf16) }
    };
    Range { start: position(span.start), end: position(span.end.max(span.start)) }
}
