//! What people write where they know no value. It is treated like a blank, and reported at its line: a sign in the place of
//! a value looks like one that somebody has read.

use super::Shape;
use super::tree::{Document, NodeId};
use crate::code;
use crate::diagnostic::Diagnostic;

/// Words that stand for no value wherever one is wanted.
const WORDS: [&str; 31] = [
    "ok",
    "okay",
    "unknown",
    "not known",
    "n/a",
    "n.a.",
    "n.k.",
    "k.a.",
    "tbd",
    "t.b.d.",
    "tbc",
    "to be done",
    "to be confirmed",
    "pending",
    "nil",
    "none",
    "see above",
    "ditto",
    "dito",
    "tba",
    "to follow",
    "later",
    "as before",
    "as above",
    "as usual",
    "the usual",
    "see job card",
    "see invoice",
    "see order",
    "see book",
    "as per book",
];

/// Further ones where no text is wanted: a name can be called so.
const NO_TEXTS: [&str; 3] = ["null", "~", "na"];

/// Words that readers of YAML take for something else than a text.
const NO_NAMES: [&str; 7] = ["yes", "no", "true", "false", "off", "null", "~"];

/// How often one letter or figure stands in a row that no name has.
const MANY: usize = 8;

/// Whether a text stands for no value where this is declared. The words of a closed list mean what they say.
pub(super) fn is_placeholder(raw: &str, shape: &Shape) -> bool {
    let raw = raw.trim();
    let is_one_of = |words: &[&str]| words.iter().any(|word| raw.eq_ignore_ascii_case(word));
    match shape {
        Shape::Record(_) | Shape::List(_) | Shape::Log(..) | Shape::Any => false,
        Shape::Word(words) if words.iter().any(|word| **word == *raw) => false,
        Shape::Text => is_only_signs(raw) || is_one_of(&WORDS) || is_filler(raw),
        _ => is_only_signs(raw) || is_one_of(&WORDS) || is_one_of(&NO_TEXTS),
    }
}

/// Whether a text that people are asked for gives them nothing to read: a placeholder, or not even a word.
#[must_use]
pub fn says_nothing(text: &str) -> bool {
    const LEAST: usize = 3;
    is_placeholder(text, &Shape::Text) || text.chars().filter(|c| c.is_alphabetic()).count() < LEAST
}

/// Whether a text in the place of a name stands for none.
#[must_use]
pub fn is_no_name(text: &str) -> bool {
    is_placeholder(text, &Shape::Text) || NO_NAMES.iter().any(|word| text.eq_ignore_ascii_case(word))
}

/// `-`, `--`, `??`, `...`.
fn is_only_signs(raw: &str) -> bool {
    !raw.is_empty() && raw.chars().all(|c| "-–—−_.?…".contains(c))
}

/// `xxx`, `0000`, seventeen ones.
fn is_filler(raw: &str) -> bool {
    let mut letters = raw.chars();
    let Some(first) = letters.next() else { return false };
    let number = 1 + letters.clone().count();
    let most = match first {
        'x' | 'X' => 3,
        '0' => 4,
        _ => MANY,
    };
    first.is_alphanumeric() && number >= most && letters.all(|other| other.eq_ignore_ascii_case(&first))
}

/// What is said of one.
pub(super) fn word(document: &Document<'_>, node: NodeId, raw: &str) -> Diagnostic {
    let message = format!("`{}` is no value", raw.trim());
    // A group that is written as one value has the place of that value.
    let mut at = node;
    while let Some(group) = document.parent(at).filter(|group| document.span(*group) == document.span(at)) {
        at = group;
    }
    let of_list = document.parent(at).is_some_and(|parent| !document.items(parent).is_empty());
    Diagnostic::error(code::PLACEHOLDER, document.place(node), message).help(match of_list {
        true => "take the entry out; a list of nothing is written `[]`",
        false => "leave the field out if it is not known",
    })
}
