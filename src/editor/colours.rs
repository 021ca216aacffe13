//! What each piece of a text is, for editors that colour by meaning.

use super::readable::documents;
use super::symbols::{Symbols, Target, What};
use super::text::Text;
use crate::document::{Bound, Document, Forms, NodeKind, UNKNOWN};
use crate::source::Span;
use crate::value::Value;

/// The kinds of pieces, in the order of their numbers.
pub const KINDS: [&str; 9] = [
    "namespace",
    "function",
    "variable",
    "parameter",
    "property",
    "enumMember",
    "number",
    "struct",
    "method",
];

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Standard = 0,
    Rule = 1,
    Variable = 2,
    Parameter = 3,
    Field = 4,
    Word = 5,
    Number = 6,
    Table = 7,
    Builtin = 8,
}

/// The names of a rule file. Its words, texts and numbers are coloured by the grammar for highlighting.
#[must_use]
pub fn of_rules(text: &Text, symbols: &Symbols) -> Vec<u32> {
    let kind = |target: &Target| match target {
        Target::Builtin(_) => Some(Kind::Builtin),
        Target::Field(..) => Some(Kind::Field),
        Target::OtherRule(_) => Some(Kind::Rule),
        Target::Elsewhere(_) => Some(Kind::Variable),
        Target::Own(number) => symbols.definitions.get(*number).map(|one| match one.what {
            What::Standard => Kind::Standard,
            What::Rule => Kind::Rule,
            What::Let | What::Variable => Kind::Variable,
            What::Parameter => Kind::Parameter,
            What::Table | What::Base => Kind::Table,
        }),
    };
    let pieces = symbols.uses.iter().filter_map(|one| Some((one.at, kind(&one.target)?)));
    encoded(text, pieces.collect())
}

/// The fields that the form has, and values that could be read.
#[must_use]
pub fn of_documents(text: &Text, forms: &Forms) -> Vec<u32> {
    let documents = documents(text.text(), forms);
    let mut pieces = Vec::new();
    documents.iter().for_each(|document| gather(document, &mut pieces));
    encoded(text, pieces)
}

fn gather(document: &Document<'_>, pieces: &mut Vec<(Span, Kind)>) {
    let mut waiting = vec![document.root()];
    while let Some(node) = waiting.pop() {
        for entry in document.entries(node) {
            if entry.field != UNKNOWN {
                pieces.push((entry.key_span, Kind::Field));
            }
            waiting.push(entry.value);
        }
        waiting.extend(document.items(node));
        let NodeKind::Scalar { value: Bound::Value(value), .. } = &document.node(node).kind else { continue };
        let kind = match value {
            Value::Quantity(_) | Value::Range(_) => Kind::Number,
            Value::Truth(_) => Kind::Word,
            _ => continue,
        };
        pieces.push((document.span(node), kind));
    }
}

/// Five numbers for each piece: lines and units since the one before, its length, its kind, and no more.
fn encoded(text: &Text, mut pieces: Vec<(Span, Kind)>) -> Vec<u32> {
    pieces.sort_unstable();
    pieces.dedup_by_key(|(span, _)| span.start);
    let mut numbers = Vec::with_capacity(pieces.len() * 5);
    let (mut line, mut column) = (0, 0);
    for (span, kind) in pieces {
        let range = text.range(span);
        if range.start.line != range.end.line || span.is_empty() {
            continue;
        }
        let down = range.start.line - line;
        let along = if down == 0 { range.start.character - column } else { range.start.character };
        (line, column) = (range.start.line, range.start.character);
        numbers.extend([down, along, range.end.character - range.start.character, kind as u32, 0]);
    }
    numbers
}
