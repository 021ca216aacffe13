//! What was read of clauses, kept for the next reading of a text that has hardly changed, as a key changes it: by its
//! production and its text a clause is read in one way only, wherever it stands.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::language::read::grammar::{Node, Rule};
use crate::source::Span;

/// About so many bytes are kept of clauses that were wanted lately, and as many of those that were wanted before them.
const MOST: usize = 32 << 20;

/// Clauses that were read without a mistake. All threads can share them.
#[derive(Debug, Default)]
pub struct Clauses(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    lately: ByText,
    before: ByText,
    /// What is kept of the first.
    bytes: usize,
}

type ByText = HashMap<Rule, HashMap<Box<str>, Arc<Part>>>;

/// A [`Node`] wherever it stands.
#[derive(Debug)]
struct Part {
    rule: Rule,
    /// Where it is in the clause.
    span: Span,
    parts: Box<[Part]>,
}

impl Part {
    fn of(node: &Node<'_>, base: u32) -> Part {
        let at = |offset: u32| offset.saturating_sub(base) as usize;
        let parts = node.parts.iter().map(|part| Part::of(part, base)).collect();
        Part { rule: node.rule, span: Span::new(at(node.span.start), at(node.span.end)), parts }
    }

    fn node<'t>(&self, clause: &'t str, base: u32) -> Node<'t> {
        let parts = self.parts.iter().map(|part| part.node(clause, base)).collect();
        Node { rule: self.rule, span: self.span.shifted(base), text: self.span.of(clause), parts }
    }

    fn bytes(&self) -> usize {
        size_of::<Part>() + self.parts.iter().map(Part::bytes).sum::<usize>()
    }
}

impl Kept {
    fn take(&mut self, rule: Rule, clause: &str) -> Option<Arc<Part>> {
        if let Some(part) = self.lately.get(&rule).and_then(|read| read.get(clause)) {
            return Some(Arc::clone(part));
        }
        let (clause, part) = self.before.get_mut(&rule)?.remove_entry(clause)?;
        self.keep(rule, clause, Arc::clone(&part));
        Some(part)
    }

    fn keep(&mut self, rule: Rule, clause: Box<str>, part: Arc<Part>) {
        if self.bytes > MOST {
            (self.before, self.bytes) = (std::mem::take(&mut self.lately), 0);
        }
        self.bytes += clause.len() + part.bytes();
        self.lately.entry(rule).or_default().insert(clause, part);
    }
}

impl Clauses {
    /// What is known of a clause that stands `base` bytes into its file.
    pub(crate) fn known<'t>(&self, rule: Rule, clause: &'t str, base: u32) -> Option<Node<'t>> {
        let part = self.0.lock().unwrap_or_else(PoisonError::into_inner).take(rule, clause);
        part.map(|part| part.node(clause, base))
    }

    /// Keeps what was read of a clause that stands `base` bytes into its file.
    pub(crate) fn keep(&self, rule: Rule, clause: &str, base: u32, node: &Node<'_>) {
        let part = Arc::new(Part::of(node, base));
        self.0.lock().unwrap_or_else(PoisonError::into_inner).keep(rule, clause.into(), part);
    }
}
