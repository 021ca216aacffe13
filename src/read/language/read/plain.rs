//! Reads the plainest clauses without the grammar: a head word and a quoted text, as most of a rule file is
//! written, and values in messages that are mere paths. What is written in any other way, or wrongly, is left
//! to the grammar, which reads these too; a test compares the two.

use crate::language::ast::{Expr, ExprKind, Name};
use crate::language::read::grammar::is_reserved;
use crate::language::read::scan;
use crate::source::{Span, Spanned};

/// A part of a clause, with its place in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Piece<'t> {
    /// What was written.
    pub(crate) text: &'t str,
    /// Where.
    pub(crate) span: Span,
}

/// What stands behind the head word of a clause: plain words, and the text that ends the clause.
pub(crate) struct Plain<'t> {
    /// The words before the text.
    pub(crate) words: Vec<Piece<'t>>,
    /// The text, quotes included.
    pub(crate) text: Piece<'t>,
}

/// The clause that stands `base` bytes into its file, if it is the head word, so many plain words and a text.
pub(crate) fn clause<'t>(clause: &'t str, base: u32, words: usize) -> Option<Plain<'t>> {
    let mut rest = after_word(clause)?.1;
    let mut found = Vec::with_capacity(words);
    let piece = |rest: &str, text: &'t str| {
        let start = clause.len() - rest.len();
        Piece { text, span: Span::new(start, start + text.len()).shifted(base) }
    };
    for _ in 0..words {
        rest = after_blanks(rest)?;
        let (word, behind) = after_word(rest)?;
        found.push(piece(rest, word));
        rest = behind;
    }
    rest = after_blanks(rest)?;
    let whole = rest.starts_with('"') && scan::text_length(rest) == Some(rest.len());
    whole.then(|| Plain { words: found, text: piece(rest, rest) })
}

/// The text behind a plain blank or several.
fn after_blanks(text: &str) -> Option<&str> {
    let rest = text.trim_start_matches([' ', '\n']);
    (rest.len() < text.len()).then_some(rest)
}

/// A word of small letters, digits and underscores, and what is behind it.
fn after_word(text: &str) -> Option<(&str, &str)> {
    let end = text.find(|c: char| !is_plain(c)).unwrap_or(text.len());
    let begins = text.starts_with(|c: char| c == '_' || c.is_ascii_lowercase());
    text.split_at_checked(end).filter(|_| begins)
}

fn is_plain(character: char) -> bool {
    character == '_' || character.is_ascii_lowercase() || character.is_ascii_digit()
}

/// Whether a word is a name whatever the grammar reserves: no reserved word has an underscore.
pub(crate) fn is_surely_name(word: &str) -> bool {
    word.contains('_')
}

/// An expression that is a mere path and stands `base` bytes into its file.
pub(crate) fn path(text: &str, base: u32) -> Option<Expr> {
    let mut start = 0;
    let mut names: Vec<Name> = Vec::new();
    for part in text.split('.') {
        let (word, _) = after_word(part).filter(|(_, behind)| behind.is_empty())?;
        let span = Span::new(start, start + word.len()).shifted(base);
        names.push(Spanned::new(word.to_owned(), span));
        start += word.len() + 1;
    }
    let first = names.first()?;
    let is_name = is_surely_name(&first.node) || !is_reserved(&first.node);
    let span = Span::new(0, text.len()).shifted(base);
    is_name.then_some(Expr { kind: ExprKind::Path(names), span })
}

/// What a text between straight quotes stands for, if it is what is written between them.
pub(crate) fn unescaped(literal: &str) -> Option<&str> {
    let inside = literal.strip_prefix('"')?.strip_suffix('"')?;
    let plain = !inside.contains(|c: char| c == '\\' || c.is_control());
    plain.then_some(inside)
}
