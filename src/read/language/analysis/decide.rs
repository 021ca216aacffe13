//! Whether a condition holds, as far as that can be told before there is a document.

use std::collections::BTreeMap;

use super::{Known, Scope};
use crate::document::PathPattern;
use crate::document::path::Every;
use crate::language::ast::{Comparison, Logic, Quantifier};
use crate::language::ids::LetId;
use crate::language::typed::{Expr, ExprKind, Of, Program, Stated};
use crate::value::Value;

/// Decides a condition as far as the known texts go.
pub(super) struct Decision<'d> {
    program: &'d Program,
    scope: &'d Scope,
    known: Known<'d>,
    /// What the lets came to that were decided, by the entry of which they have a value.
    lets: BTreeMap<(LetId, Option<PathPattern>), Option<bool>>,
}

impl<'d> Decision<'d> {
    pub(super) fn new(program: &'d Program, scope: &'d Scope, known: Known<'d>) -> Self {
        Decision { program, scope, known, lets: BTreeMap::new() }
    }

    pub(super) fn of(&mut self, expr: &Expr) -> Option<bool> {
        match &expr.kind {
            ExprKind::Constant(Value::Truth(truth)) => Some(*truth),
            ExprKind::Not(inner) => self.of(inner).map(|truth| !truth),
            ExprKind::Logic(logic, left, right) => {
                let left = self.of(left);
                match (logic, left) {
                    // The other side changes nothing then.
                    (Logic::And, Some(false)) => left,
                    (Logic::Or, Some(true)) => left,
                    (Logic::Implies, Some(false)) => Some(true),
                    (Logic::And, _) => and(left, self.of(right)),
                    (Logic::Or, _) => or(left, self.of(right)),
                    (Logic::Implies, _) => or(left.map(|truth| !truth), self.of(right)),
                }
            }
            ExprKind::Let(number, entry) => {
                let definition = &self.program.lets()[*number];
                let entry = match entry {
                    Some(entry) => Some(self.path(entry)?),
                    None => None,
                };
                let key = definition.is_kept().then(|| (*number, entry.clone()));
                if let Some(known) = key.as_ref().and_then(|key| self.lets.get(key)) {
                    return *known;
                }
                let scope = match (&definition.of, entry) {
                    (Of::Rule, _) => self.scope.clone(),
                    (_, Some(entry)) => Scope::from([(0, entry)]),
                    (_, None) => Scope::new(),
                };
                let truth = self.within(&scope, &definition.value);
                self.lets.extend(key.map(|key| (key, truth)));
                truth
            }
            ExprKind::Quantified { quantifier, slot, list, body, .. } => {
                let mut scope = self.scope.clone();
                let is_group = matches!(list.kind, ExprKind::Group(_));
                scope.insert(*slot, self.element(list)?);
                match (quantifier, self.within(&scope, body)?) {
                    (Quantifier::Some, false) => Some(false),
                    (Quantifier::No, false) => Some(true),
                    // A group is never empty.
                    (Quantifier::Every, false) if is_group => Some(false),
                    _ => None,
                }
            }
            ExprKind::Compare(comparison @ (Comparison::Is | Comparison::IsNot), left, right) => {
                let same = self.is_one_of(&self.text(left)?, right)?;
                Some(same == (*comparison == Comparison::Is))
            }
            ExprKind::OneOf { value, negated, options } => {
                let value = self.text(value)?;
                let mut open = false;
                for option in options {
                    match constant(option) {
                        Some(option) if option == value => return Some(!negated),
                        Some(_) => {}
                        None => open = true,
                    }
                }
                if open { None } else { Some(*negated) }
            }
            ExprKind::Recorded(of) if matches!(of.kind, ExprKind::Parameter(..)) => self.is_stated(of),
            ExprKind::Recorded(path) => {
                if self.leads_nowhere(path) {
                    return Some(false);
                }
                let path = self.path(path)?;
                match (self.known.text)(&path) {
                    Some(_) => Some(true),
                    None if (self.known.present)(&path) => None,
                    None => Some(false),
                }
            }
            ExprKind::Field { .. } | ExprKind::Variable(_) => match self.text(expr)?.as_str() {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            },
            _ => None,
        }
    }

    /// The same where variables stand for these elements.
    fn within(&mut self, scope: &Scope, expr: &Expr) -> Option<bool> {
        let mut inner = Decision { scope, lets: std::mem::take(&mut self.lets), ..*self };
        let truth = inner.of(expr);
        self.lets = inner.lets;
        truth
    }

    /// Whether a path begins with a link, and a field by which it would be followed is not there.
    fn leads_nowhere(&self, path: &Expr) -> bool {
        match &path.kind {
            ExprKind::Field { base, .. } => self.leads_nowhere(base),
            ExprKind::Link { base, link, .. } => self.path(base).is_some_and(|from| {
                let is_there =
                    |field: &PathPattern| (self.known.present)(field) || (self.known.text)(field).is_some();
                link.by.iter().any(|(own, _)| !is_there(&from.clone().key(own)))
            }),
            _ => false,
        }
    }

    /// Whether a parameter has a value, where that is the same for all documents.
    fn is_stated(&self, parameter: &Expr) -> Option<bool> {
        let ExprKind::Parameter(number, _) = &parameter.kind else { return None };
        let parameter = &self.program.parameters()[*number];
        match parameter.stated {
            Stated::Nothing if parameter.from.is_none() => Some(false),
            Stated::Default(_) => Some(true),
            _ => None,
        }
    }

    /// The pattern of the elements of a list.
    fn element(&self, list: &Expr) -> Option<PathPattern> {
        match &list.kind {
            ExprKind::Group(slot) => self.scope.get(slot).cloned(),
            _ => Some(self.path(list)?.entry(Every)),
        }
    }

    /// Whether a text is the one that an expression is, or one of its words; none where that is not known before
    /// a run.
    fn is_one_of(&self, text: &str, expr: &Expr) -> Option<bool> {
        match &expr.kind {
            ExprKind::Constant(Value::Text(known)) => Some(**known == *text),
            ExprKind::Constant(Value::Words(known)) => Some(known.iter().any(|word| **word == *text)),
            ExprKind::Let(number, None) => self.is_one_of(text, &self.program.lets()[*number].value),
            _ => None,
        }
    }

    /// The known text of a field.
    fn text(&self, expr: &Expr) -> Option<String> {
        (self.known.text)(&self.path(expr)?)
    }

    fn path(&self, expr: &Expr) -> Option<PathPattern> {
        match &expr.kind {
            ExprKind::Root => Some(PathPattern::root()),
            ExprKind::Variable(slot) => self.scope.get(slot).cloned(),
            ExprKind::Field { base, name, .. } => Some(self.path(base)?.key(name)),
            _ => None,
        }
    }
}

fn constant(expr: &Expr) -> Option<&str> {
    match &expr.kind {
        ExprKind::Constant(Value::Text(text)) => Some(text),
        _ => None,
    }
}

fn and(left: Option<bool>, right: Option<bool>) -> Option<bool> {
    match (left, right) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

fn or(left: Option<bool>, right: Option<bool>) -> Option<bool> {
    and(left.map(|truth| !truth), right.map(|truth| !truth)).map(|truth| !truth)
}
