//! Single values, and what is written between brackets.

use std::borrow::Cow;

use super::{Certain, Reader, Uncertain};
use crate::source::Span;

impl Reader<'_> {
    /// A value that begins here, of a field or an item in this column or of the whole document; `flow` between brackets.
    pub(super) fn value(&mut self, column: usize, flow: bool) -> Certain<()> {
        match self.cursor.peek() {
            Some(b'{') => self.brackets(true, column),
            Some(b'[') => self.brackets(false, column),
            Some(quote @ (b'"' | b'\'')) => self.quoted(quote),
            _ => self.plain(flow),
        }
    }

    /// A text in quotes, on one line and without anything to resolve.
    fn quoted(&mut self, quote: u8) -> Certain<()> {
        let start = self.cursor.at;
        self.cursor.at += 1;
        let rest = self.cursor.rest();
        let special = |byte: &u8| *byte == quote || *byte == b'\n' || (*byte == b'\\' && quote == b'"');
        let length = rest.iter().position(special).ok_or(Uncertain)?;
        let end = start + 1 + length;
        if rest.get(length) != Some(&quote) {
            return Err(Uncertain);
        }
        // Of two single quotes, which stand for one, the second is nothing that can follow a value.
        self.cursor.at = end + 1;
        self.scalar(Cow::Borrowed(self.cursor.cut(start + 1, end)?), false, Span::new(start, end + 1))
    }

    /// A text without quotes: to the end of the line, or between brackets to the next sign of them.
    fn plain(&mut self, flow: bool) -> Certain<()> {
        let start = self.cursor.at;
        let rest = self.cursor.rest();
        if !begins_plain(rest) {
            return Err(Uncertain);
        }
        let (mut length, mut kept) = (0, 0);
        while let Some(byte) = rest.get(length) {
            length += 1;
            match byte {
                b' ' => continue,
                b'\n' => break,
                b'#' if kept + 1 < length => break,
                b',' | b'[' | b']' | b'{' | b'}' if flow => break,
                b':' if !rest.get(length).is_some_and(|after| goes_on_after_colon(*after)) => {
                    return Err(Uncertain);
                }
                _ => kept = length,
            }
        }
        let end = start + kept;
        self.cursor.at = end;
        self.scalar(Cow::Borrowed(self.cursor.cut(start, end)?), true, Span::new(start, end))
    }

    /// A text of several lines behind a `|`. Gives the column of the line behind it.
    pub(super) fn lines(&mut self, column: usize) -> Certain<Option<usize>> {
        self.cursor.at += 1;
        self.cursor.spaces();
        if self.cursor.peek() != Some(b'\n') {
            return Err(Uncertain);
        }
        self.cursor.at += 1;
        let width = self.cursor.indent();
        if width <= column || matches!(self.cursor.ahead(width), None | Some(b'\n')) {
            return Err(Uncertain);
        }
        let start = self.cursor.at + width;
        let mut raw = String::new();
        while self.goes_on(width)? {
            self.cursor.at += width;
            let line = self.line_with_end()?;
            raw.push_str(line);
        }
        let kept = self.cursor.cut(start, self.cursor.at)?.trim_end().len();
        self.scalar(Cow::Owned(raw), false, Span::new(start, start + kept))?;
        Ok(self.cursor.next_line())
    }

    /// Whether the line here belongs to a text that is indented so far. Blank lines end it if no more of it
    /// follows; all else that is blank is uncertain.
    fn goes_on(&self, width: usize) -> Certain<bool> {
        let rest = self.cursor.rest();
        let blank = rest.iter().take_while(|byte| **byte == b'\n').count();
        let rest = rest.get(blank..).unwrap_or_default();
        let indent = rest.iter().take_while(|byte| **byte == b' ').count();
        match rest.get(indent) {
            None if indent == 0 => Ok(false),
            None | Some(b'\n') => Err(Uncertain),
            Some(_) if indent < width => Ok(false),
            Some(_) if blank == 0 => Ok(true),
            Some(_) => Err(Uncertain),
        }
    }

    /// The rest of the line with its end.
    fn line_with_end(&mut self) -> Certain<&'_ str> {
        let start = self.cursor.at;
        let length = self.cursor.rest().iter().position(|byte| *byte == b'\n').ok_or(Uncertain)?;
        self.cursor.at += length + 1;
        self.cursor.cut(start, self.cursor.at)
    }

    /// A group or list between brackets, of a field or item in this column.
    fn brackets(&mut self, map: bool, column: usize) -> Certain<()> {
        self.deeper()?;
        let close = if map { b'}' } else { b']' };
        self.open(map, true, Span::new(self.cursor.at, self.cursor.at + 1))?;
        self.cursor.at += 1;
        self.between(column)?;
        if self.cursor.peek() != Some(close) {
            self.entries(map, close, column)?;
        }
        self.builder.close(Span::new(self.cursor.at, self.cursor.at + 1));
        self.cursor.at += 1;
        self.depth -= 1;
        self.bounded()
    }

    /// Entries between brackets, up to the closing one.
    fn entries(&mut self, map: bool, close: u8, column: usize) -> Certain<()> {
        loop {
            if map {
                self.name()?;
                self.cursor.spaces();
            }
            self.value(column, true)?;
            self.between(column)?;
            match self.cursor.peek() {
                Some(b',') => self.cursor.at += 1,
                Some(byte) if byte == close => return Ok(()),
                _ => return Err(Uncertain),
            }
            self.between(column)?;
        }
    }

    /// Passes over spaces and line ends between brackets. Each line must begin to the right of the column.
    fn between(&mut self, column: usize) -> Certain<()> {
        self.cursor.spaces();
        while self.cursor.peek() == Some(b'\n') {
            self.cursor.at += 1;
            let indent = self.cursor.spaces();
            if indent <= column || matches!(self.cursor.peek(), None | Some(b'\n')) {
                return Err(Uncertain);
            }
        }
        Ok(())
    }
}

/// Whether a text without quotes can begin so: with a letter, a digit, a character beyond ASCII, one of a few
/// signs without a meaning in YAML, or a minus before a digit.
fn begins_plain(rest: &[u8]) -> bool {
    match rest {
        [b'-', digit, ..] => digit.is_ascii_digit(),
        [byte, ..] => byte.is_ascii_alphanumeric() || !byte.is_ascii() || b"~+<(/=_$^;".contains(byte),
        [] => false,
    }
}

/// Whether a colon before this byte is part of a text, as in a time of day or an address.
fn goes_on_after_colon(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'/'
}
