//! Where a value that is written into a longer text begins and ends, so that rules hand the same text
//! to the same reader as records do.

use std::collections::HashSet;
use std::sync::LazyLock;

use super::numeral::{fraction, scan};
use super::refused::REFUSED;
use super::unit::usual_characters;
use super::units::UNITS;
use super::zero::unit_with_zero;

/// The parts of a value with a unit at the head of a text, as lengths in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Literal {
    /// Up to the end of the `Δ` before a difference; 0 where there is none.
    pub delta: usize,
    /// Up to the unit.
    pub unit: usize,
    /// Up to the end.
    pub end: usize,
}

static SPELLINGS: LazyLock<HashSet<&'static str>> = LazyLock::new(|| {
    let known = UNITS.iter().flat_map(|unit| unit.spellings);
    known.chain(REFUSED.iter().flat_map(|refused| refused.spellings)).copied().collect()
});

/// The longest spelling of a unit, in characters; no look-alike is longer than what it looks like.
static LONGEST: LazyLock<usize> =
    LazyLock::new(|| SPELLINGS.iter().map(|spelling| spelling.chars().count()).max().unwrap_or_default());

impl Literal {
    /// The value with which `text` begins; nothing where no number with a unit of the table stands there.
    /// The number has no sign of its own here.
    #[must_use]
    pub fn at_head(text: &str) -> Option<Literal> {
        let rest = without_delta(text).unwrap_or(text);
        let delta = text.len() - rest.len();
        if !rest.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        let (_, plain) = scan(rest)?;
        let behind = |rest| Some((text.len() - plain_start(rest).len(), unit_length(plain_start(rest))?));
        let (unit, length) = behind(plain).or_else(|| behind(fraction(rest)?.1))?;
        Some(Literal { delta, unit, end: unit + length })
    }
}

/// What follows the `Δ` at the head of a text; blanks may stand between it and the number.
pub(super) fn without_delta(text: &str) -> Option<&str> {
    text.strip_prefix(['Δ', '\u{2206}']).map(plain_start)
}

fn plain_start(text: &str) -> &str {
    text.trim_start_matches(|c: char| c.is_whitespace() && !is_line_end(c))
}

fn is_line_end(character: char) -> bool {
    matches!(character, '\n' | '\r')
}

/// The length of the longest spelling of a unit at the head of a text.
fn unit_length(text: &str) -> Option<usize> {
    // Never past the longest spelling: a text may hold a value behind every blank.
    let on_line = text.char_indices().take(*LONGEST).take_while(|(_, character)| !is_line_end(*character));
    let ends = on_line.map(|(at, character)| at + character.len_utf8());
    let fits = |end: &usize| {
        let (Some(head), Some(rest)) = (text.get(..*end), text.get(*end..)) else { return false };
        let known = || SPELLINGS.contains(usual_characters(head).as_ref()) || unit_with_zero(head).is_some();
        ends_here(head, rest) && known()
    };
    ends.filter(fits).last()
}

/// Whether a unit that is written `head` can end before `rest`: neither inside a word nor before what
/// joins another unit to it.
fn ends_here(head: &str, rest: &str) -> bool {
    let mut rest = rest.chars();
    let Some(first) = rest.next() else { return true };
    // Of two points neither belongs to the unit before them.
    if head.ends_with('.') && first == '.' {
        return false;
    }
    let joins = matches!(first, '·' | '⋅' | '∙' | '•' | '‧' | '.' | '/' | '∕' | '⁄' | '-' | '‐' | '‑');
    let part = |c: char| c.is_alphanumeric() || matches!(c, '_' | '°' | '℃' | '℉' | '^' | '⁻');
    // A sign such as `%` or `″` is a whole unit, and so is one in brackets.
    let open = head.ends_with(|c: char| c.is_alphanumeric());
    !(open && (part(first) || joins && rest.next().is_some_and(part)))
}
