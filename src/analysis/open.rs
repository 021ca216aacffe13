//! When an expression is open: what is not there, and what leaves a comparison open though it is there.

use super::encode::{Encoder, Env, Want, settled};
use super::formula::{Formula, States};
use super::values::Worth;
use crate::language::ast::Comparison;
use crate::language::typed::{Expr, ExprKind, Program};
use crate::language::types::Type;

impl<'p> Encoder<'p> {
    /// What must be so for a comparison to be open.
    pub(super) fn open(&mut self, expr: &'p Expr, env: &Env, want: Want) -> Formula<'p> {
        let mut parts = Vec::new();
        expr.for_each_part(&mut |part| parts.push(part));
        match &expr.kind {
            ExprKind::Compare(..) | ExprKind::Within(..) | ExprKind::OneOf { .. } | ExprKind::InOrder(..) => {
                let mut found: Vec<_> = parts.iter().map(|part| self.no_value(part, env, want)).collect();
                if want == Want::Open {
                    found.push(self.open_between(expr, &parts, env));
                }
                Formula::any(found)
            }
            ExprKind::Timed(_) => Formula::Always,
            _ => self.no_value(expr, env, want),
        }
    }

    /// What leaves a comparison open though both sides have a value: an uncertain reading, a name that looks like another
    /// one, a time without a zone.
    fn open_between(&mut self, expr: &'p Expr, parts: &[&'p Expr], env: &Env) -> Formula<'p> {
        let Some(first) = parts.first() else { return Formula::Always };
        match &first.ty {
            Type::Truth | Type::Word(_) | Type::Day if !matches!(expr.kind, ExprKind::InOrder(..)) => {
                let is_like = |part: &&&Expr| {
                    matches!(part.ty, Type::Truth | Type::Word(_) | Type::Day | Type::Words(_))
                        || matches!(part.kind, ExprKind::Constant(_))
                };
                if parts.iter().all(|part| is_like(&part)) { Formula::Never } else { Formula::Always }
            }
            // One that only looks like a word is another one.
            Type::Text => self.decided_as_other(expr, parts, env),
            _ => Formula::Always,
        }
    }

    fn decided_as_other(&mut self, expr: &'p Expr, parts: &[&'p Expr], env: &Env) -> Formula<'p> {
        let is_known = |part: &&&Expr| matches!(part.kind, ExprKind::Constant(_));
        if !parts.iter().skip(1).all(|part| is_known(&part)) {
            return Formula::Always;
        }
        let is_not = match &expr.kind {
            ExprKind::Compare(comparison, ..) => *comparison == Comparison::IsNot,
            ExprKind::OneOf { negated, .. } => *negated,
            _ => return Formula::Always,
        };
        self.decided(expr, env, is_not)
    }

    /// What must be so for an expression to have no value.
    fn no_value(&mut self, expr: &'p Expr, env: &Env, want: Want) -> Formula<'p> {
        if !self.step() {
            return Formula::Always;
        }
        let unrecorded = want == Want::Unrecorded;
        match &expr.kind {
            ExprKind::Constant(_) | ExprKind::AsOf | ExprKind::Root => Formula::Never,
            ExprKind::Field { .. } | ExprKind::Link { .. } | ExprKind::Variable(_) => {
                let term = self.term(expr, env);
                let states = if unrecorded { States::ABSENT } else { States::NO_VALUE };
                if self.terms.is_path(term) { Formula::state(term, states) } else { Formula::Always }
            }
            ExprKind::Let(id, entry) => {
                let key = (*id, self.inside(*id, entry.as_deref(), env), want);
                if let Some(known) = self.named.no_value.get(&key) {
                    return known.clone();
                }
                let program: &'p Program = self.program;
                let found = self.no_value(&program.lets()[*id].value, &key.1, want);
                if self.has_steps() {
                    self.named.no_value.insert(key, found.clone());
                }
                found
            }
            ExprKind::Cases(cases) => {
                let parts: Vec<_> = cases
                    .iter()
                    .flat_map(|case| {
                        let condition = case.condition.iter().map(|condition| (condition, true));
                        condition.chain([(&case.value, false)])
                    })
                    .collect();
                let each: Vec<_> = parts
                    .into_iter()
                    .map(|(part, is_condition)| match is_condition {
                        true => self.truth(part, env, want),
                        false => self.no_value(part, env, want),
                    })
                    .collect();
                Formula::any(each)
            }
            ExprKind::Parameter(id, _) => {
                let parameter = &self.program.parameters()[*id];
                let plain = parameter.keys.is_empty() && parameter.from.is_none();
                settled(!(unrecorded && plain))
            }
            ExprKind::Lookup { keys, .. } if unrecorded => {
                let each: Vec<_> = keys.iter().map(|key| self.no_value(key, env, want)).collect();
                Formula::any(each)
            }
            ExprKind::Call { .. } | ExprKind::Arithmetic(..) | ExprKind::Minus(_) | ExprKind::Range(_) => {
                let known = self.values(expr, env);
                if known.iter().all(|value| {
                    matches!(value.worth, Worth::Known(_)) && matches!(value.when, Formula::Always)
                }) {
                    return Formula::Never;
                }
                if !unrecorded && !matches!(expr.kind, ExprKind::Range(_)) {
                    return Formula::Always;
                }
                let mut parts = Vec::new();
                expr.for_each_part(&mut |part| parts.push(part));
                let each: Vec<_> = parts.into_iter().map(|part| self.no_value(part, env, want)).collect();
                Formula::any(each)
            }
            ExprKind::Not(_)
            | ExprKind::Logic(..)
            | ExprKind::Compare(..)
            | ExprKind::InOrder(..)
            | ExprKind::Within(..)
            | ExprKind::OneOf { .. }
            | ExprKind::Recorded(_)
            | ExprKind::Decided(..)
            | ExprKind::Quantified { .. } => self.truth(expr, env, want),
            _ => Formula::Always,
        }
    }
}
