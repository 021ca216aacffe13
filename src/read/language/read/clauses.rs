//! Reads single clauses: what the readers of items and rules share.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Expr, Name, Text};
use crate::language::read::again::Clauses;
use crate::language::read::bounds;
use crate::language::read::cut::ClauseCut;
use crate::language::read::expressions::Builder;
use crate::language::read::grammar::{self, Node, Rule};
use crate::language::read::mistakes::Mistakes;
use crate::language::read::plain::{self, Plain};
use crate::language::read::syntax_error::explain;
use crate::language::read::texts;
use crate::language::read::words::ClauseWord;
use crate::source::{Place, SourceId, Span};

/// The largest rule file that is read, in bytes.
pub const LARGEST_FILE: usize = 4 << 20;

/// Stands for each byte of a part of a record. No text of a rule has it outside quotes.
const PART: u8 = 3;

/// Reads one expression that stands `base` bytes into its source.
///
/// # Errors
/// The first mistake in it.
pub fn parse_expression(source: SourceId, text: &str, base: u32) -> Result<Expr, Diagnostic> {
    if let Some(path) = plain::path(text, base) {
        return Ok(path);
    }
    let node = read(source, Rule::alone, text, base)?;
    Builder { source }.expression_in(&node)
}

/// Reads a whole text by a production, its bounds checked before.
fn read(source: SourceId, form: Rule, text: &str, base: u32) -> Result<Node<'_>, Diagnostic> {
    if text.len() > LARGEST_FILE {
        let message = "this expression is too large to be read";
        let place = Place { source, span: Span::new(base as usize, base as usize) };
        return Err(Diagnostic::error(code::TEXT_TOO_LARGE, place, message));
    }
    bounds::check(source, text, base)?;
    grammar::read(form, text, base).map_err(|syntax_error| explain(source, form, text, base, &syntax_error))
}

/// Reads the clauses of one file.
pub(crate) struct Reader<'t, 'm> {
    /// The whole file.
    pub(crate) text: &'t str,
    /// Builds its expressions.
    pub(crate) builder: Builder,
    /// Whether trials are read.
    pub(crate) trials: bool,
    /// What was read before.
    pub(crate) known: Option<&'m Clauses>,
    /// What is wrong with it.
    pub(crate) mistakes: &'m mut Mistakes,
}

impl<'t> Reader<'t, '_> {
    /// Reads a clause by a production, without the record of a trial. A clause that was reported
    /// while it was cut is not read.
    pub(crate) fn clause(&mut self, form: Rule, clause: &ClauseCut) -> Option<Node<'t>> {
        self.read(form, clause, self.written(clause))
    }

    /// A clause of a head word, so many plain words and a text, if it is one.
    pub(crate) fn plain(&self, clause: &ClauseCut, words: usize) -> Option<Plain<'t>> {
        let whole = Some(clause).filter(|clause| !clause.broken)?;
        plain::clause(self.written(whole), whole.span.start, words)
    }

    /// A clause in which the parts of records are marked, so that the grammar need not know how a record is written.
    pub(crate) fn with_parts_marked(&self, clause: &ClauseCut) -> String {
        let written = self.written(clause);
        let mut bytes = written.as_bytes().to_vec();
        for part in &clause.parts {
            let from = part.start.saturating_sub(clause.span.start) as usize;
            for byte in bytes.iter_mut().skip(from).take(part.len()) {
                *byte = PART;
            }
        }
        // Whole characters were replaced by as many plain bytes, so it is a text again.
        String::from_utf8(bytes).unwrap_or_default()
    }

    /// Reads such a text by a production.
    pub(crate) fn marked<'m>(&mut self, form: Rule, clause: &ClauseCut, text: &'m str) -> Option<Node<'m>> {
        self.read(form, clause, text)
    }

    fn read<'x>(&mut self, form: Rule, clause: &ClauseCut, text: &'x str) -> Option<Node<'x>> {
        if clause.broken {
            return None;
        }
        let base = clause.span.start;
        if let Some(node) = self.known.and_then(|known| known.known(form, text, base)) {
            return Some(node);
        }
        let node = self.mistakes.keep(read(self.builder.source, form, text, base))?;
        if let Some(known) = self.known {
            known.keep(form, text, base, &node);
        }
        Some(node)
    }

    fn written(&self, clause: &ClauseCut) -> &'t str {
        let end = clause.record.map_or(clause.span.end, |record| record.start);
        self.text.get(clause.span.start as usize..end as usize).unwrap_or_default()
    }

    /// The text among the parts of a node.
    pub(crate) fn text_in(&mut self, node: &Node<'_>) -> Option<Text> {
        let literal = self.builder.needed(node, Rule::text);
        let literal = self.mistakes.keep(literal)?;
        self.quoted(literal.text, literal.span)
    }

    /// All texts among the parts of a node.
    pub(crate) fn texts_in(&mut self, node: &Node<'_>) -> Option<Vec<Text>> {
        node.all(Rule::text).map(|literal| self.quoted(literal.text, literal.span)).collect()
    }

    /// What a quoted text stands for.
    pub(crate) fn quoted(&mut self, literal: &str, span: Span) -> Option<Text> {
        self.mistakes.keep(texts::text(self.builder.source, literal, span))
    }

    /// The title behind a name, which every standard and every rule has.
    pub(crate) fn title_in(&mut self, head: &Node<'_>, what: &str) -> Option<Text> {
        if head.part(Rule::text).is_some() {
            return self.text_in(head);
        }
        let name = head.part(Rule::name).map_or(head.span, |name| name.span);
        let message = format!("this {what} has no title");
        let mistake = self.mistakes.error(code::CLAUSE_MISSING, name, message);
        self.mistakes.push(mistake.help(format!("say in quotes behind its name what the {what} is about")));
        None
    }

    /// The expression among the parts of a node.
    pub(crate) fn expression_in(&mut self, node: &Node<'_>) -> Option<Expr> {
        let expression = self.builder.expression_in(node);
        self.mistakes.keep(expression)
    }

    /// The name among the parts of a node.
    pub(crate) fn name_in(&mut self, node: &Node<'_>) -> Option<Name> {
        let name = self.builder.name_in(node);
        self.mistakes.keep(name)
    }

    /// Reports a clause that stands a second time, and says whether it does.
    pub(crate) fn repeats(
        &mut self,
        seen: &mut Vec<(ClauseWord, Span)>,
        word: ClauseWord,
        clause: &ClauseCut,
    ) -> bool {
        let Some((_, first)) = seen.iter().find(|(other, _)| *other == word).copied() else {
            seen.push((word, clause.head));
            return false;
        };
        let written = clause.head.of(self.text);
        let message = format!("`{written}` stands twice");
        let first = self.mistakes.place(first);
        let mistake =
            self.mistakes.error(code::CLAUSE_REPEATED, clause.head, message).and_at(first, "the first");
        self.mistakes.push(mistake.help(match word {
            ClauseWord::Otherwise => {
                "keep one of them; the message of a number of subjects follows it on its line"
            }
            _ => "keep one of them",
        }));
        true
    }
}
