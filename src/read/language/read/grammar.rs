//! Reads one clause by the grammar. The only file that knows which parser generator is used:
//! what it gives away are [`Node`]s and [`SyntaxError`]s.

use pest::Parser;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;

use crate::language::read::mark::marked;
use crate::source::Span;

pub(crate) use derived::Rule;

mod derived {
    /// The parser made from the grammar file.
    #[derive(pest_derive::Parser)]
    #[grammar = "../../grammar/standard.pest"]
    pub(super) struct Grammar;
}

/// What was read by one production, with its parts. Signs and fixed words are left out.
#[derive(Clone, Debug)]
pub(crate) struct Node<'t> {
    /// The production.
    pub(crate) rule: Rule,
    /// Where it stands in the file.
    pub(crate) span: Span,
    /// What was written.
    pub(crate) text: &'t str,
    /// Its parts in their order.
    pub(crate) parts: Vec<Node<'t>>,
}

impl<'t> Node<'t> {
    /// The first part that was read by `rule`.
    pub(crate) fn part(&self, rule: Rule) -> Option<&Node<'t>> {
        self.parts.iter().find(|part| part.rule == rule)
    }

    /// All parts that were read by `rule`.
    pub(crate) fn all(&self, rule: Rule) -> impl Iterator<Item = &Node<'t>> {
        self.parts.iter().filter(move |part| part.rule == rule)
    }
}

/// Where a text stops to fit a production, and what would have fitted there.
#[derive(Clone, Debug)]
pub(crate) struct SyntaxError {
    /// The offset within the text that was read.
    pub(crate) at: usize,
    /// The productions that would have fitted; none when the nesting was too deep to go on.
    pub(crate) wanted: Vec<Rule>,
}

/// Reads the whole of `text`, which stands `base` bytes into its file, by a production.
pub(crate) fn read(rule: Rule, text: &str, base: u32) -> Result<Node<'_>, SyntaxError> {
    match derived::Grammar::parse(rule, &marked(text)) {
        Ok(mut pairs) => match pairs.next() {
            Some(pair) => Ok(node(pair, text, base)),
            None => Err(SyntaxError { at: 0, wanted: vec![rule] }),
        },
        Err(error) => {
            let (InputLocation::Pos(at) | InputLocation::Span((at, _))) = error.location;
            let wanted = match error.variant {
                ErrorVariant::ParsingError { positives, .. } => positives,
                ErrorVariant::CustomError { .. } => Vec::new(),
            };
            Err(SyntaxError { at, wanted })
        }
    }
}

/// Whether a word is reserved and cannot be a name.
pub(crate) fn is_reserved(word: &str) -> bool {
    read(Rule::reserved, word, 0).is_ok_and(|node| node.text.len() == word.len())
}

/// The depth is that of the brackets, which is bounded before. `whole` is what was written; the pair was
/// read with marks in the place of units.
fn node<'t>(pair: Pair<'_, Rule>, whole: &'t str, base: u32) -> Node<'t> {
    let (form, start) = (pair.as_rule(), pair.as_span().start());
    let mut end = pair.as_span().end();
    let mut parts = Vec::new();
    for part in pair.into_inner().filter(|part| part.as_rule() != Rule::EOI) {
        let is_fixed = is_fixed(part.as_rule());
        let part = node(part, whole, base);
        // White space that was skipped in search of a part that may be missing belongs to nothing.
        end = part.span.end.saturating_sub(base) as usize;
        if !is_fixed {
            parts.push(part);
        }
    }
    let text = whole.get(start..end).unwrap_or_default();
    Node { rule: form, span: Span::new(start, end).shifted(base), text, parts }
}

/// Signs and words that say nothing once they have been read; they stand together in the grammar.
fn is_fixed(form: Rule) -> bool {
    (Rule::comma..=Rule::word_over).contains(&form)
}
