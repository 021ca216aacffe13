//! What can have a value: paths into the document over symbolic entries, and what is computed from them. The same value
//! has the same number, however many names lead to it.

use std::collections::HashMap;
use std::sync::Arc;

use super::set::{Numbers, Words};
use crate::language::ids::ParameterId;
use crate::quantity::{Kind, KindName, Number, Unit};

/// The number of a term.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Term(u32);

/// What a term is.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Node {
    /// The whole document.
    Root,
    /// An entry of a list, by a number of its own.
    Entry(Term, u32),
    /// What a variable stands for within something that is only compared as a whole, by how deep it is nested.
    Bound(usize),
    Field(Term, Arc<str>),
    Link(Term, Arc<str>),
    Parameter(ParameterId, Option<Term>),
    AsOf,
    /// A known value, as its digits.
    Known(String),
    /// Anything that is made of others.
    Made(&'static str, String, Vec<Term>),
    /// A log at an instant.
    At(Term, Term),
}

/// What values a term can have at all.
#[derive(Clone, Debug)]
pub(super) enum Sort {
    /// A text, or yes or no.
    Words(Words),
    /// A number in coherent units.
    Number { kind: Kind, numbers: Numbers, whole: bool },
    /// A day or a time.
    Time { day: bool },
    /// A group of fields.
    Group,
    /// A list.
    List,
    /// Something that is not looked into.
    Other,
}

impl Sort {
    /// A measured value: of most kinds none is below zero.
    pub(super) fn measured(kind: Kind) -> Sort {
        let above_zero = !kind.is_signed() || kind == KindName::Temperature.into();
        let numbers = if above_zero { Numbers::from(&Number::ZERO, true) } else { Numbers::all() };
        Sort::Number { kind, numbers, whole: false }
    }

    /// A computed value.
    pub(super) fn computed(kind: Kind) -> Sort {
        Sort::Number { kind, numbers: Numbers::all(), whole: false }
    }

    /// How many there are of something.
    pub(super) fn count() -> Sort {
        let numbers = Numbers::from(&Number::ZERO, true);
        Sort::Number { kind: Kind::NUMBER, numbers, whole: true }
    }
}

/// All terms.
#[derive(Debug)]
pub(super) struct Terms {
    nodes: Vec<(Node, Sort)>,
    /// Whether each reads the document.
    read: Vec<bool>,
    numbers: HashMap<Node, Term>,
    /// The unit in which a value is compared.
    units: HashMap<Term, &'static Unit>,
}

/// The first of all terms.
pub(super) const ROOT: Term = Term(0);

const OTHER: &(Node, Sort) = &(Node::Root, Sort::Other);

impl Terms {
    pub(super) fn new() -> Terms {
        let mut terms =
            Terms { nodes: Vec::new(), read: Vec::new(), numbers: HashMap::new(), units: HashMap::new() };
        terms.add(Node::Root, Sort::Group);
        terms
    }

    /// The number of a term; its sort is that with which it is met first.
    pub(super) fn add(&mut self, node: Node, sort: Sort) -> Term {
        if let Some(known) = self.numbers.get(&node) {
            return *known;
        }
        let term = Term(u32::try_from(self.nodes.len()).unwrap_or(u32::MAX));
        self.numbers.insert(node.clone(), term);
        let is_read = self.is_read(&node);
        self.read.push(is_read);
        self.nodes.push((node, sort));
        term
    }

    fn get(&self, term: Term) -> &(Node, Sort) {
        self.nodes.get(term.0 as usize).unwrap_or(OTHER)
    }

    pub(super) fn node(&self, term: Term) -> &Node {
        &self.get(term).0
    }

    pub(super) fn sort(&self, term: Term) -> &Sort {
        &self.get(term).1
    }

    /// The group of which it is a field.
    pub(super) fn parent(&self, term: Term) -> Option<Term> {
        match self.node(term) {
            Node::Field(parent, _) | Node::Link(parent, _) => Some(*parent),
            _ => None,
        }
    }

    /// Whether it is read from a document as it is.
    pub(super) fn is_path(&self, term: Term) -> bool {
        matches!(
            self.node(term),
            Node::Field(..) | Node::Link(..) | Node::Root | Node::Entry(..) | Node::Bound(_)
        )
    }

    /// Whether it is read from a document, or made of something that is.
    pub(super) fn reads_document(&self, term: Term) -> bool {
        self.read.get(term.0 as usize).copied().unwrap_or(true)
    }

    fn is_read(&self, node: &Node) -> bool {
        match node {
            Node::Root
            | Node::Entry(..)
            | Node::Bound(_)
            | Node::Field(..)
            | Node::Link(..)
            | Node::At(..) => true,
            Node::Parameter(..) | Node::AsOf | Node::Known(_) => false,
            Node::Made(_, _, parts) => parts.iter().any(|part| self.reads_document(*part)),
        }
    }

    /// Keeps the unit of a limit, to show values in.
    pub(super) fn shown_in(&mut self, term: Term, unit: Option<&'static Unit>) {
        if let Some(unit) = unit {
            self.units.entry(term).or_insert(unit);
        }
    }

    pub(super) fn unit(&self, term: Term) -> Option<&'static Unit> {
        self.units.get(&term).copied()
    }
}
