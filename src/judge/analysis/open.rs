//! When an expression is open: what is not there, and what leaves a comparison open though it is there.

use super::encode::{Encoder, Env, Want, settled};
use super::formula::{Fact, Formula, States};
use super::term::{Node, Sort, Term};
use super::values::Worth;
use crate::decide::Truth;
use crate::language::ast::Comparison;
use crate::language::typed::{Expr, ExprKind, Program};
use crate::language::types::Type;
use crate::value::Value;

/// Whether something is a quantity, or a range of such.
fn is_quantity(part: &Expr) -> bool {
    matches!(part.ty, Type::Quantity(_) | Type::Range(_))
}

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
            // Without an uncertainty, two quantities are never open.
            Type::Quantity(_) if self.exact && parts.iter().all(|part| is_quantity(part)) => Formula::Never,
            // One that only looks like a word is another one.
            Type::Text => self.decided_as_other(expr, parts, env),
            _ => Formula::Always,
        }
    }

    fn decided_as_other(&mut self, expr: &'p Expr, parts: &[&'p Expr], env: &Env) -> Formula<'p> {
        let lets = self.program.lets();
        let is_known = |part: &&&Expr| match &part.kind {
            ExprKind::Constant(_) => true,
            ExprKind::Let(id, None) => matches!(lets[*id].value.kind, ExprKind::Constant(_)),
            _ => false,
        };
        if !parts.iter().skip(1).all(|part| is_known(&part)) {
            return Formula::Always;
        }
        let is_not = match &expr.kind {
            ExprKind::Compare(comparison, ..) => *comparison == Comparison::IsNot,
            ExprKind::OneOf { negated, .. } => *negated,
            _ => return Formula::Always,
        };
        let looks = self.look_alikes(expr, env);
        let other = self.settled_as(expr, env, is_not);
        match looks {
            Some((looks, _)) => {
                let one = looks.into_iter().map(|term| Formula::is(Fact::Comes(term, Truth::Yes)));
                Formula::all([other, Formula::any(one.collect::<Vec<_>>())])
            }
            None => other,
        }
    }

    /// For a text that is compared with known words, for each of them whether the text only looks like it, and the truth
    /// that the comparison comes to where it is none of them. Only told where it is wanted exactly.
    pub(super) fn look_alikes(&mut self, expr: &'p Expr, env: &Env) -> Option<(Vec<Term>, bool)> {
        if !self.exact {
            return None;
        }
        let (value, options, is_other): (&'p Expr, Vec<&'p Expr>, bool) = match &expr.kind {
            ExprKind::Compare(comparison @ (Comparison::Is | Comparison::IsNot), value, option) => {
                (value, vec![option], *comparison == Comparison::IsNot)
            }
            ExprKind::OneOf { value, negated, options } => (value, options.iter().collect(), *negated),
            _ => return None,
        };
        if !matches!(value.ty, Type::Text) || matches!(value.kind, ExprKind::Constant(_)) {
            return None;
        }
        let mut words: Vec<String> = Vec::new();
        for option in options {
            let program: &'p Program = self.program;
            let option = match &option.kind {
                ExprKind::Let(id, None) => &program.lets()[*id].value,
                _ => option,
            };
            match &option.kind {
                ExprKind::Constant(Value::Text(text)) => words.push(text.to_string()),
                ExprKind::Constant(Value::Words(all)) => words.extend(all.iter().map(ToString::to_string)),
                _ => return None,
            }
        }
        let value = self.term(value, env);
        let looks = words
            .into_iter()
            .map(|word| self.terms.add(Node::Made("looks like", word, vec![value]), Sort::Other));
        Some((looks.collect(), is_other))
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
