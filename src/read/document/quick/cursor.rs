//! A place in a text, and what can be asked of the bytes there.

use super::{Certain, Uncertain};

/// The longest name of a field that is taken for one; YAML allows 1024 characters.
const LONGEST_NAME: usize = 200;

/// Reads forward, byte by byte. Every byte that has a meaning in a layout is an ASCII one, so that no
/// character is ever cut.
pub(super) struct Cursor<'s> {
    text: &'s str,
    bytes: &'s [u8],
    /// Offset of the next byte.
    pub(super) at: usize,
}

impl<'s> Cursor<'s> {
    pub(super) fn new(text: &'s str) -> Self {
        Cursor { text, bytes: text.as_bytes(), at: 0 }
    }

    pub(super) fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    pub(super) fn ahead(&self, by: usize) -> Option<u8> {
        self.bytes.get(self.at + by).copied()
    }

    pub(super) fn rest(&self) -> &'s [u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    pub(super) fn cut(&self, start: usize, end: usize) -> Certain<&'s str> {
        self.text.get(start..end).ok_or(Uncertain)
    }

    /// How many spaces begin the rest of the text.
    pub(super) fn indent(&self) -> usize {
        self.rest().iter().take_while(|byte| **byte == b' ').count()
    }

    /// Passes over spaces; gives their number.
    pub(super) fn spaces(&mut self) -> usize {
        let width = self.indent();
        self.at += width;
        width
    }

    /// Passes over the rest of the line and its end.
    fn skip_line(&mut self) {
        let rest = self.rest();
        let length = rest.iter().position(|byte| *byte == b'\n');
        self.at += length.map_or(rest.len(), |length| length + 1);
    }

    /// From the beginning of a line to the first line that holds more than a comment; gives its column.
    pub(super) fn next_line(&mut self) -> Option<usize> {
        loop {
            let column = self.spaces();
            match self.peek()? {
                b'\n' => self.at += 1,
                b'#' => self.skip_line(),
                _ => return Some(column),
            }
        }
    }

    /// Passes over what may follow a value on its line: spaces and a comment.
    pub(super) fn end_line(&mut self) -> Certain<()> {
        let gap = self.spaces();
        match self.peek() {
            None => {}
            Some(b'\n') => self.at += 1,
            Some(b'#') if gap > 0 => self.skip_line(),
            Some(_) => return Err(Uncertain),
        }
        Ok(())
    }

    /// Whether the dash of a list item is here.
    pub(super) fn is_dash(&self) -> bool {
        self.peek() == Some(b'-') && matches!(self.ahead(1), Some(b' ' | b'\n'))
    }

    /// Whether a line `---` is here, which begins a document.
    pub(super) fn is_marker(&self) -> bool {
        self.rest().starts_with(b"---\n")
    }

    /// The length of the field name that is here, if its colon and a space or the end of the line follow.
    pub(super) fn name(&self) -> Option<usize> {
        let rest = self.rest();
        let length = rest.iter().take(LONGEST_NAME + 1).take_while(|byte| is_of_name(**byte)).count();
        let begins = rest.first().is_some_and(u8::is_ascii_alphanumeric) && length <= LONGEST_NAME;
        let ends = matches!(rest.get(length..), Some([b':', b' ' | b'\n', ..]));
        (begins && ends).then_some(length)
    }
}

fn is_of_name(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'.'
}

/// Whether a text holds only characters that are either plain contents or signs this reader knows: no tab, no
/// carriage return, no control character, no byte-order mark, no noncharacter.
pub(super) fn is_simple_text(text: &str) -> bool {
    // In blocks without an exit, so that the compiler can test many bytes at once.
    text.as_bytes().chunks(64).enumerate().all(|(number, block)| {
        let control = block
            .iter()
            .fold(false, |found, byte| found | ((*byte < b' ') & (*byte != b'\n')) | (*byte == 0x7f));
        let suspect = block.iter().fold(false, |found, byte| found | (*byte == 0xc2) | (*byte == 0xef));
        !control && (!suspect || are_simple(text.as_bytes(), number * 64))
    })
}

/// Whether the characters that begin in the block at an offset are simple ones.
fn are_simple(bytes: &[u8], offset: usize) -> bool {
    (offset..offset + 64).all(|at| match bytes.get(at..) {
        // U+0080 to U+009F.
        Some([0xc2, 0x80..=0x9f, ..]) => false,
        // U+FEFF, U+FFFE and U+FFFF.
        Some([0xef, 0xbb, 0xbf, ..] | [0xef, 0xbf, 0xbe | 0xbf, ..]) => false,
        _ => true,
    })
}
