//! The expressions of which one is made.

use super::{Expr, ExprKind};
use crate::language::ast::Case;

impl Expr {
    /// Calls `see` with each expression of which it is made.
    pub fn for_each_part<'e>(&'e self, see: &mut dyn FnMut(&'e Expr)) {
        match &self.kind {
            ExprKind::Constant(_)
            | ExprKind::Root
            | ExprKind::Variable(_)
            | ExprKind::Group(_)
            | ExprKind::Let(_, None)
            | ExprKind::Parameter(_, None)
            | ExprKind::AsOf => {}
            ExprKind::Cases(cases) => cases.iter().flat_map(Case::parts).for_each(see),
            ExprKind::Field { base: one, .. }
            | ExprKind::Link { base: one, .. }
            | ExprKind::Not(one)
            | ExprKind::Minus(one)
            | ExprKind::Recorded(one)
            | ExprKind::Rate(one)
            | ExprKind::Let(_, Some(one))
            | ExprKind::Parameter(_, Some(one))
            | ExprKind::Decided(_, one) => see(one),
            ExprKind::Logic(_, left, right)
            | ExprKind::Arithmetic(_, left, right)
            | ExprKind::Compare(_, left, right)
            | ExprKind::InOrder(_, left, right)
            | ExprKind::Within(left, right) => [left, right].into_iter().for_each(|part| see(part)),
            ExprKind::Lookup { keys: parts, .. }
            | ExprKind::Call { arguments: parts, .. }
            | ExprKind::Entries(parts) => parts.iter().for_each(see),
            ExprKind::Range(form) => form.operands().for_each(see),
            ExprKind::Timed(timed) => timed.operands().for_each(see),
            ExprKind::OneOf { value, options, .. } => {
                see(value);
                options.iter().for_each(see);
            }
            ExprKind::Quantified { list, condition, body, .. } => {
                see(list);
                condition.iter().for_each(|part| see(part));
                see(body);
            }
            ExprKind::Aggregate { value, list, condition, .. } => {
                value.iter().for_each(|part| see(part));
                see(list);
                condition.iter().for_each(|part| see(part));
            }
        }
    }

    /// The same, to change them, in the same order.
    pub(in crate::language) fn parts_mut(&mut self) -> Vec<&mut Expr> {
        match &mut self.kind {
            ExprKind::Constant(_)
            | ExprKind::Root
            | ExprKind::Variable(_)
            | ExprKind::Group(_)
            | ExprKind::Let(_, None)
            | ExprKind::Parameter(_, None)
            | ExprKind::AsOf => Vec::new(),
            ExprKind::Cases(cases) => cases.iter_mut().flat_map(Case::parts_mut).collect(),
            ExprKind::Field { base: one, .. }
            | ExprKind::Link { base: one, .. }
            | ExprKind::Not(one)
            | ExprKind::Minus(one)
            | ExprKind::Recorded(one)
            | ExprKind::Rate(one)
            | ExprKind::Let(_, Some(one))
            | ExprKind::Parameter(_, Some(one))
            | ExprKind::Decided(_, one) => vec![&mut **one],
            ExprKind::Logic(_, left, right)
            | ExprKind::Arithmetic(_, left, right)
            | ExprKind::Compare(_, left, right)
            | ExprKind::InOrder(_, left, right)
            | ExprKind::Within(left, right) => vec![&mut **left, &mut **right],
            ExprKind::Lookup { keys: parts, .. }
            | ExprKind::Call { arguments: parts, .. }
            | ExprKind::Entries(parts) => parts.iter_mut().collect(),
            ExprKind::Range(form) => form.operands_mut().collect(),
            ExprKind::Timed(timed) => timed.operands_mut().collect(),
            ExprKind::OneOf { value, options, .. } => {
                [&mut **value].into_iter().chain(options.iter_mut()).collect()
            }
            ExprKind::Quantified { list, condition, body, .. } => {
                let condition = condition.as_deref_mut().into_iter();
                [&mut **list].into_iter().chain(condition).chain([&mut **body]).collect()
            }
            ExprKind::Aggregate { value, list, condition, .. } => {
                let value = value.as_deref_mut().into_iter();
                value.chain([&mut **list]).chain(condition.as_deref_mut()).collect()
            }
        }
    }
}
