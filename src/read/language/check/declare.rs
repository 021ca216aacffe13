//! The names of a rule file: what it declares and what it takes over by `use`.

use std::collections::hash_map::Entry;

use super::names::AS_OF;
use super::{Checker, Declared, Meaning, Progress, Scope};
use crate::code::{DUPLICATE_NAME, STANDARD_MISSING};
use crate::diagnostic::Diagnostic;
use crate::document::Record;
use crate::language::ast::{Item, Name};
use crate::language::builtins;
use crate::letters::{look, said};
use crate::source::{Place, SourceId};

/// Words that begin something in an expression and that the grammar allows as names all the same. `least`
/// and `most` are none of them: they have their meaning behind `at`, and limits are often called so.
const WORDS: &[&str] = &[
    "all",
    "count",
    "duration",
    "edition",
    "entries",
    "exactly",
    "gaps",
    "greatest",
    "held",
    "moment",
    "never",
    "one",
    "range",
    "rate",
    "sum",
    "unrecorded",
];

/// What only a variable may be called: rules name the entries of `logs` so.
const DECLARED_WORDS: &[&str] = &["log"];

impl<'a> Checker<'a> {
    /// Declares the names of all units, then lends them along `use`.
    pub(super) fn declare_all(&mut self) {
        for number in 0..self.units.len() {
            self.declare(number);
        }
        let own = self.names.clone();
        for (number, unit) in self.units.iter().enumerate() {
            for used in unit.uses.iter().flatten() {
                for (name, declared) in own.get(*used).into_iter().flatten() {
                    self.name(number, name, *declared);
                }
            }
        }
    }

    fn declare(&mut self, number: usize) {
        let Some(unit) = self.units.get(number) else { return };
        let source = unit.file.source;
        for name in &unit.file.mistaken {
            self.declare_name(number, source, name, Meaning::Mistaken);
        }
        for item in &unit.file.items {
            match item {
                Item::Let(written) => {
                    let meaning = Meaning::Let(self.lets.push((number, written, Progress::Waiting)));
                    self.declare_name(number, source, &written.name, meaning);
                }
                Item::Table(written) => {
                    let meaning = Meaning::Table(self.tables.push((number, written, Progress::Waiting)));
                    self.declare_name(number, source, &written.name, meaning);
                }
                Item::Parameter(written) => {
                    let meaning = self.declare_parameter(number, written);
                    self.declare_name(number, source, &written.name, meaning);
                }
                Item::Base(written) => {
                    let meaning = Meaning::Base(self.bases.push((number, written)));
                    self.declare_name(number, source, &written.name, meaning);
                }
                Item::Standard(_) | Item::Use(_) | Item::Rule(_) => {}
            }
        }
    }

    fn declare_name(&mut self, unit: usize, source: SourceId, name: &'a Name, meaning: Meaning) {
        let place = Place { source, span: name.span };
        self.name(unit, &name.node, Declared { meaning, place });
        if let Some(hidden) = self.hidden_by(self.root_of(unit).as_deref(), &name.node, DECLARED_WORDS) {
            let message = format!("`{}` is already {hidden}", name.node);
            self.report(
                Diagnostic::error(DUPLICATE_NAME, place, message)
                    .help("choose another name, so that a reader never has to guess which is meant"),
            );
        }
    }

    /// What a name of one's own would hide, or only looks like.
    pub(super) fn hidden_by(
        &self,
        root: Option<&Record>,
        name: &str,
        words: &[&str],
    ) -> Option<&'static str> {
        let hides = |name: &str| {
            if root.is_some_and(|root| root.field(name).is_some() || root.link(name).is_some()) {
                return Some("a field of the document");
            }
            if builtins::find(name).is_some() {
                return Some("a builtin");
            }
            (name == AS_OF || words.contains(&name) || WORDS.contains(&name))
                .then_some("a word of the rule language")
        };
        hides(name).or_else(|| hides(&look(name)))
    }

    /// What a name that a rule gives, to a value or to a variable, would hide: a reader must never have to guess.
    pub(super) fn hidden_in(&self, scope: &Scope, name: &str) -> Option<&'static str> {
        let same = |known: &str| look(known) == look(name);
        if scope.variables.iter().any(|(known, ..)| same(known)) {
            Some("a variable")
        } else if scope.lets.iter().any(|(known, _)| same(known)) {
            Some("another name of this rule")
        } else if self.looks.get(scope.unit).is_some_and(|names| names.contains_key(&look(name))) {
            Some("a name of this file")
        } else {
            self.hidden_by(scope.root.as_deref(), name, &[])
        }
    }

    fn name(&mut self, unit: usize, name: &'a str, declared: Declared) {
        let Some(names) = self.names.get_mut(unit) else { return };
        match names.get(name).copied() {
            // The same declaration can arrive by two ways of `use`.
            Some(first) if first.place == declared.place => {}
            Some(first) => {
                let diagnostic =
                    Diagnostic::error(DUPLICATE_NAME, declared.place, format!("`{name}` is declared twice"))
                        .labelled("again here")
                        .and_at(first.place, "first here")
                        .help("rename one of them, or leave one out");
                self.report(diagnostic);
            }
            None => {
                names.insert(name, declared);
                self.note_look(unit, name, declared.place);
            }
        }
    }

    /// Refuses a name that looks like another of the file and is written with other letters.
    fn note_look(&mut self, unit: usize, name: &'a str, place: Place) {
        let Some(looks) = self.looks.get_mut(unit) else { return };
        match looks.entry(look(name)) {
            Entry::Vacant(free) => drop(free.insert((name, place))),
            Entry::Occupied(taken) => {
                let (other, first) = *taken.get();
                let message = format!("`{name}` looks like another name of this file");
                let diagnostic = Diagnostic::error(DUPLICATE_NAME, place, message)
                    .and_at(first, "the other")
                    .help(said(name, other));
                self.report(diagnostic);
            }
        }
    }

    /// The head of the standard in a unit that judges; reports a missing or a second one.
    pub(super) fn only_standard(&mut self, unit: usize) -> Option<&'a crate::language::ast::Standard> {
        let file = &self.units.get(unit)?.file;
        let mut heads = file.items.iter().filter_map(|item| match item {
            Item::Standard(standard) => Some(standard),
            _ => None,
        });
        let first = heads.next();
        let start = Place { source: file.source, span: crate::source::Span::default() };
        if let (Some(first), Some(second)) = (first, heads.next()) {
            let place = |span| Place { source: file.source, span };
            self.report(
                Diagnostic::error(
                    STANDARD_MISSING,
                    place(second.name.span),
                    "this file has a standard already",
                )
                .labelled("a second one")
                .and_at(place(first.name.span), "the first")
                .help("give each standard its own file"),
            );
        } else if first.is_none() && !file.standard_mistaken {
            self.report(
                Diagnostic::error(STANDARD_MISSING, start, "this file names no standard")
                    .help("begin it with a line such as `standard axle_oil edition 1 \"Axle oil service\"`"),
            );
        }
        first
    }
}
