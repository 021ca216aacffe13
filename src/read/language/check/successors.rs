//! Rules that change: from when and until when they count, and which rules they take the place of.

use std::collections::HashSet;

use jiff::civil::Date;

use super::{Checker, place_in};
use crate::code::{NAME_TAKEN, PERIOD, UNKNOWN_NAME};
use crate::diagnostic::Diagnostic;
use crate::language::ast::{self, Comparison, ExprKind, Item, Logic, Name};
use crate::language::typed::Expr;
use crate::source::{Place, Span};
use crate::trade::form::JOB;
use crate::trade::job::OPENED;

impl Checker<'_> {
    /// When a rule counts, as a condition on the day on which the job was opened.
    pub(super) fn period(&mut self, unit: usize, written: &ast::Rule) -> Option<Expr> {
        let first = written.from.as_ref().or(written.until.as_ref())?;
        let place = |span: Span| place_in(self.units, unit, span);
        let form = self.form_of(unit);
        if form != JOB {
            let message = format!(
                "a rule counts by the day on which a job was opened, and this standard judges `{form}`"
            );
            let diagnostic = Diagnostic::error(PERIOD, place(first.span), message);
            self.report(diagnostic.help("take the clause out, or keep the rule in an edition of its own"));
            return None;
        }
        if let (Some(from), Some(until)) = (&written.from, &written.until)
            && until.node < from.node
        {
            let message =
                format!("this rule counts until {} and only from {} on: never", until.node, from.node);
            let diagnostic = Diagnostic::error(PERIOD, place(until.span), message);
            self.report(
                diagnostic
                    .and_at(place(from.span), "it begins here")
                    .help("write a later day behind `until`"),
            );
            return None;
        }
        // The calendar has a day before each and one after each but at its ends, where there is no limit.
        let from = written.from.as_ref();
        let from = from.and_then(|day| Some(opened(Comparison::After, day.node.yesterday().ok()?, day.span)));
        let until = written.until.as_ref();
        let until =
            until.and_then(|day| Some(opened(Comparison::Before, day.node.tomorrow().ok()?, day.span)));
        let condition = match (from, until) {
            (Some(from), Some(until)) => {
                let span = from.span.to(until.span);
                ast::Expr { kind: ExprKind::Logic(Logic::And, Box::new(from), Box::new(until)), span }
            }
            (one, other) => one.or(other)?,
        };
        let mut scope = self.scope(unit);
        Some(self.truth(&mut scope, &condition, "the day on which a rule counts"))
    }

    /// The full names of the rules that a rule takes the place of.
    pub(super) fn replaced(&mut self, unit: usize, standard: &str, written: &ast::Rule) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        let mut met = HashSet::new();
        for name in &written.replaces {
            match self.replaced_name(unit, standard, written, name) {
                Ok(full) if !met.insert(full.clone()) => {
                    let place = place_in(self.units, unit, name.span);
                    let message = format!("`{full}` is named here twice");
                    self.report(Diagnostic::error(NAME_TAKEN, place, message).help("take one of them out"));
                }
                Ok(full) => names.push(full),
                Err(diagnostic) => self.report(diagnostic),
            }
        }
        names
    }

    fn replaced_name(
        &self,
        unit: usize,
        standard: &str,
        written: &ast::Rule,
        name: &Name,
    ) -> Result<String, Diagnostic> {
        let place = place_in(self.units, unit, name.span);
        let (of, rule) = match name.node.split('.').collect::<Vec<_>>().as_slice() {
            [rule] => (standard.to_owned(), (*rule).to_owned()),
            [of, rule] => ((*of).to_owned(), (*rule).to_owned()),
            _ => {
                let message = format!("`{}` is no name of a rule", name.node);
                return Err(Diagnostic::error(UNKNOWN_NAME, place, message)
                    .help("write `standard.rule`, or the name of a rule that this standard had"));
            }
        };
        let full = format!("{of}.{rule}");
        if of == standard && rule == written.name.node {
            let message = "a rule cannot take its own place";
            return Err(Diagnostic::error(NAME_TAKEN, place, message));
        }
        // Earlier editions of a standard have the rules that a later one replaces; the same text has them no more.
        let files = self.units.iter().filter(|other| other.in_force && other.judges).map(|other| &other.file);
        let mut files = files.filter(|file| {
            let head = file.items.iter().find_map(|item| match item {
                Item::Standard(head) => Some(head),
                _ => None,
            });
            head.is_some_and(|head| head.name.node == of)
        });
        let declared = files.find_map(|file| {
            let found = file.items.iter().find_map(|item| match item {
                Item::Rule(other) if other.name.node == rule => Some(other.name.span),
                _ => None,
            });
            found.map(|span| Place { source: file.source, span })
        });
        match declared {
            Some(there) if of == standard || of != self.standard_of(unit).unwrap_or_default() => {
                let message = format!("`{full}` is a rule of this run, so nothing takes its place");
                Err(Diagnostic::error(NAME_TAKEN, place, message)
                    .and_at(there, "the rule")
                    .help("take the old rule out, or do not name it here"))
            }
            _ => Ok(full),
        }
    }
}

/// That a job was opened before a day, or after it.
fn opened(comparison: Comparison, day: Date, span: Span) -> ast::Expr {
    let names = OPENED.split('.').map(|name| Name::new(name.to_owned(), span)).collect();
    let opened = Box::new(ast::Expr { kind: ExprKind::Path(names), span });
    let limit = Box::new(ast::Expr { kind: ExprKind::Day(day), span });
    ast::Expr { kind: ExprKind::Compare(comparison, opened, limit), span }
}
