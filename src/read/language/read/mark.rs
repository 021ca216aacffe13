//! Marks the units of the values in a clause, so that the grammar needs to know none of them: which
//! spellings there are is a matter of the reader of quantities alone.

use std::borrow::Cow;

use crate::language::read::scan::{Kind, Tokens};
use crate::quantity::Literal;

/// Stands for each byte of a unit. No text of a rule has it outside quotes.
const UNIT: u8 = 1;
/// Stands for each byte of the `Δ` before a number.
const DELTA: u8 = 2;

/// The text with every unit behind a number, and every `Δ` before one, replaced by marks of the same
/// length, so that what is found in it is found at the same place in the text.
pub(crate) fn marked(text: &str) -> Cow<'_, str> {
    let mut tokens = Tokens::new(text);
    let mut bytes: Option<Vec<u8>> = None;
    while let Some(token) = tokens.next() {
        let delta = token.text.starts_with('Δ') || token.text == "\u{2206}";
        if token.kind != Kind::Number && !delta {
            continue;
        }
        let start = token.span.start as usize;
        let Some(found) = text.get(start..).and_then(Literal::at_head) else { continue };
        let bytes = bytes.get_or_insert_with(|| text.as_bytes().to_vec());
        let sign = if found.delta > 0 { token.text.chars().next().map_or(0, char::len_utf8) } else { 0 };
        fill(bytes, start..start + sign, DELTA);
        fill(bytes, start + found.unit..start + found.end, UNIT);
        tokens.go_on_at(start + found.end, false);
    }
    // Whole characters were replaced by as many plain bytes, so it is a text again.
    bytes.and_then(|bytes| String::from_utf8(bytes).ok()).map_or(Cow::Borrowed(text), Cow::Owned)
}

fn fill(bytes: &mut [u8], range: std::ops::Range<usize>, mark: u8) {
    for byte in bytes.get_mut(range).into_iter().flatten() {
        *byte = mark;
    }
}
