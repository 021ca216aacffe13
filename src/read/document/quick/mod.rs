//! Reads the layout in which records are usually written, several times as fast as the YAML reader: groups and
//! lists by indentation or between brackets, names of ASCII letters, and texts that are plain, simply quoted or
//! below a `|`.
//!
//! It is a second way to the same tree, and nothing more. At the first sign of anything else, whether right or
//! wrong, it gives up, and the YAML reader takes the text from its beginning; so it reports nothing.
//! `tests/document/readers.rs` holds it to the YAML reader: the same tree with the same spans, or nothing.

mod cursor;
mod values;

use std::borrow::Cow;

use self::cursor::{Cursor, is_simple_text};
use super::build::Builder;
use super::tree::Document;
use super::yaml::{MAX_BYTES, MAX_DEPTH, MAX_DOCUMENTS, MAX_NODES};
use crate::source::{SourceId, Span};

/// The text is not laid out in the usual way.
struct Uncertain;

/// What is read in the only way there is.
type Certain<T> = Result<T, Uncertain>;

/// Deeper nesting is left to the YAML reader, which knows where to stop.
const DEEPEST: usize = MAX_DEPTH / 2;

/// The documents of a text, if it is laid out in the usual way and nothing is wrong with it; see
/// [`super::yaml::read`].
#[must_use]
pub fn read(source: SourceId, text: &str, base: u32) -> Option<Vec<Document<'_>>> {
    if text.len() > MAX_BYTES || !is_simple_text(text) {
        return None;
    }
    // A record has a value on about every 20 bytes.
    let capacity = (text.len() / 16).clamp(8, 4096);
    let builder = Builder::new(source, text, base, capacity);
    let mut reader = Reader { cursor: Cursor::new(text), builder, depth: 0, counted: 0 };
    reader.documents().ok()
}

struct Reader<'s> {
    cursor: Cursor<'s>,
    builder: Builder<'s>,
    depth: usize,
    /// Values in the documents that are finished.
    counted: usize,
}

impl<'s> Reader<'s> {
    fn documents(&mut self) -> Certain<Vec<Document<'s>>> {
        let mut documents = Vec::with_capacity(1);
        let mut column = self.cursor.next_line();
        if column == Some(0) && self.cursor.is_marker() {
            column = self.next_document();
        }
        loop {
            let next = match self.cursor.peek() {
                Some(b'{' | b'[') => self.value_on_line(0)?,
                _ => self.block(column.ok_or(Uncertain)?)?,
            };
            self.counted += self.builder.count();
            documents.push(self.builder.finish());
            match next {
                None => return Ok(documents),
                // The YAML reader says so.
                Some(_) if documents.len() >= MAX_DOCUMENTS => return Err(Uncertain),
                Some(0) if self.cursor.is_marker() => column = self.next_document(),
                Some(_) => return Err(Uncertain),
            }
        }
    }

    /// Passes over a line `---`; gives the column of the line behind it that says something.
    fn next_document(&mut self) -> Option<usize> {
        self.cursor.at += "---\n".len();
        self.cursor.next_line()
    }

    /// A group or list whose first line begins here, in this column. Gives the column of the line behind it,
    /// and stops there.
    fn block(&mut self, column: usize) -> Certain<Option<usize>> {
        self.deeper()?;
        let next = match self.cursor.is_dash() {
            true => self.list(column, self.cursor.at),
            false => self.map(column),
        }?;
        self.depth -= 1;
        Ok(next)
    }

    fn deeper(&mut self) -> Certain<()> {
        self.depth += 1;
        if self.depth > DEEPEST { Err(Uncertain) } else { Ok(()) }
    }

    fn map(&mut self, column: usize) -> Certain<Option<usize>> {
        self.open(true, false, Span::new(self.cursor.at, self.cursor.at))?;
        loop {
            self.name()?;
            let next = self.below_or_beside_name(column)?;
            match next {
                Some(next) if next > column => return Err(Uncertain),
                Some(next) if next == column && !self.cursor.is_marker() => {}
                _ => {
                    self.close();
                    return Ok(next);
                }
            }
        }
    }

    /// A list whose first dash is here; its span begins at `start`.
    fn list(&mut self, column: usize, start: usize) -> Certain<Option<usize>> {
        self.open(false, false, Span::new(start, start))?;
        loop {
            let next = self.item(column)?;
            match next {
                Some(next) if next > column => return Err(Uncertain),
                Some(next) if next == column && self.cursor.is_dash() => {}
                // A list can begin in the column of the field that holds it, so that a field may be next.
                _ => {
                    self.close();
                    return Ok(next);
                }
            }
        }
    }

    /// An item, from its dash. Gives the column of the line behind it.
    fn item(&mut self, column: usize) -> Certain<Option<usize>> {
        self.cursor.at += 1;
        let dash = self.cursor.at;
        let gap = self.cursor.spaces();
        match self.cursor.peek() {
            None | Some(b'\n' | b'#') => {
                self.cursor.at = dash;
                self.cursor.end_line()?;
                match self.cursor.next_line() {
                    Some(inner) if inner > column => self.block(inner),
                    _ => Err(Uncertain),
                }
            }
            Some(_) if self.cursor.name().is_some() => self.block(column + 1 + gap),
            Some(_) => self.value_on_line(column),
        }
    }

    /// The name of a field and its colon.
    fn name(&mut self) -> Certain<()> {
        let start = self.cursor.at;
        let end = start + self.cursor.name().ok_or(Uncertain)?;
        self.cursor.at = end + 1;
        self.scalar(Cow::Borrowed(self.cursor.cut(start, end)?), true, Span::new(start, end))
    }

    /// The value of a field in this column, from behind the colon. Gives the column of the line behind it.
    fn below_or_beside_name(&mut self, column: usize) -> Certain<Option<usize>> {
        let colon = self.cursor.at;
        self.cursor.spaces();
        match self.cursor.peek() {
            None | Some(b'\n' | b'#') => {
                self.cursor.at = colon;
                self.below_name(column, colon - 1)
            }
            Some(b'|') => self.lines(column),
            Some(_) => self.value_on_line(column),
        }
    }

    /// The value of a field on the lines below its name. One that was left out is placed at the colon.
    fn below_name(&mut self, column: usize, colon: usize) -> Certain<Option<usize>> {
        self.cursor.end_line()?;
        match self.cursor.next_line() {
            Some(inner) if inner > column => self.block(inner),
            Some(inner) if inner == column && self.cursor.is_dash() => self.list_in_column(column),
            next => {
                self.scalar(Cow::Borrowed(""), true, Span::new(colon, colon))?;
                Ok(next)
            }
        }
    }

    /// A list in the column of its field. The YAML reader lets it begin with its first value.
    fn list_in_column(&mut self, column: usize) -> Certain<Option<usize>> {
        self.deeper()?;
        let dash = self.cursor.at;
        self.cursor.at += 1;
        self.cursor.spaces();
        let first = std::mem::replace(&mut self.cursor.at, dash);
        if matches!(self.cursor.ahead(first - dash), None | Some(b'\n' | b'#')) {
            return Err(Uncertain);
        }
        let next = self.list(column, first)?;
        self.depth -= 1;
        Ok(next)
    }

    fn value_on_line(&mut self, column: usize) -> Certain<Option<usize>> {
        self.value(column, false)?;
        self.cursor.end_line()?;
        Ok(self.cursor.next_line())
    }

    fn open(&mut self, map: bool, flow: bool, span: Span) -> Certain<()> {
        self.builder.open(map, flow, span);
        self.bounded()
    }

    /// Closes a group or list without brackets, which ends with its last value.
    fn close(&mut self) {
        self.builder.close(Span::new(self.cursor.at, self.cursor.at));
    }

    fn scalar(&mut self, raw: Cow<'s, str>, plain: bool, span: Span) -> Certain<()> {
        self.builder.scalar(raw, plain, span);
        self.bounded()
    }

    /// Gives up where the text is refused, for the YAML reader to say so.
    fn bounded(&self) -> Certain<()> {
        let refused = self.counted + self.builder.count() > MAX_NODES || !self.builder.diagnostics.is_empty();
        if refused { Err(Uncertain) } else { Ok(()) }
    }
}
