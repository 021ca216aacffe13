//! The limits that a value must lie within, of which one may be missing.

use std::sync::Arc;

use super::compute::Computed;
use super::verdict::{both, joined};
use super::{Evaluator, Missing};
use crate::code::FUNCTION_RANGE;
use crate::diagnostic::Fault;
use crate::language::ast::RangeForm;
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Quantity, Range};
use crate::value::Value;

/// Limits as far as they are known.
#[derive(Clone, Debug)]
pub(super) struct Limits<'x> {
    /// The whole range or, where an end is missing, that from the known end on.
    pub(super) range: Arc<Range>,
    /// Why the other end is missing, where it is.
    pub(super) open: Option<Missing<'x>>,
}

/// A value and its limits, or what is missing of them.
pub(super) fn within<'x, T>(
    value: Computed<'x, T>,
    limits: Computed<'x, Limits<'x>>,
) -> Computed<'x, (T, Limits<'x>)> {
    match (value, limits) {
        (Err(missing), Ok(Limits { open: Some(open), .. })) => Err(missing.with(open)),
        (value, limits) => both(value, limits),
    }
}

impl<'x> Evaluator<'x> {
    /// The limits that an expression gives.
    ///
    /// # Errors
    /// Limits of which neither end is known.
    pub(super) fn limits(&mut self, range: &'x Expr) -> Computed<'x, Limits<'x>> {
        match &range.kind {
            ExprKind::Range(form) => self.limits_of(form),
            ExprKind::Let(id, entry) => self.limits_of_let(*id, entry.as_deref()),
            ExprKind::Cases(cases) => self.by_cases(cases, Self::limits, |one, other| {
                one.range.has_limits_of(&other.range) && one.open.is_none() && other.open.is_none()
            }),
            _ => {
                let operand = self.value(range)?;
                let at = operand.at;
                match operand.into_value() {
                    Value::Range(range) => Ok(Limits { range, open: None }),
                    _ => Err(self.unreadable(at)),
                }
            }
        }
    }

    /// The limits that a range gives as it is written.
    pub(super) fn limits_of(&mut self, form: &'x RangeForm<Expr>) -> Computed<'x, Limits<'x>> {
        let (mut at, mut open): (_, Option<Missing<'x>>) = (None, None);
        let operands = form.try_map(|operand| match self.value(operand) {
            Ok(operand) => {
                at = at.or(operand.at);
                match operand.into_value() {
                    Value::Quantity(quantity) => Ok(Some(quantity)),
                    _ => Err(self.fault(Fault::new(FUNCTION_RANGE, "a limit must be a quantity"))),
                }
            }
            Err(missing) => {
                open = Some(joined(open.take(), missing));
                Ok(None)
            }
        })?;
        let range = known(operands).map_err(|fault| self.fault_at(fault, at))?;
        match (range, open) {
            (Some(range), open) => Ok(Limits { range: Arc::new(range), open }),
            (None, Some(missing)) => Err(missing),
            (None, None) => Err(self.unreadable(at)),
        }
    }
}

/// A range as far as its ends are known; nothing where neither is.
///
/// # Errors
/// What [`Range`] refuses.
pub(super) fn known(form: RangeForm<Option<Quantity>>) -> Result<Option<Range>, Fault> {
    let (low, high) = match form {
        RangeForm::Between(Some(low), None) => (Some(low), None),
        RangeForm::Between(None, Some(high)) => (None, Some(high)),
        RangeForm::PlusAndMinus(Some(nominal), Some(plus), None) => {
            (None, Some(Range::end_above(&nominal, &plus)?))
        }
        RangeForm::PlusAndMinus(Some(nominal), None, Some(minus)) => {
            (Some(Range::end_below(&nominal, &minus)?), None)
        }
        whole => {
            let Ok(whole) = whole.try_map(|operand| operand.clone().ok_or(())) else { return Ok(None) };
            return whole.range().map(Some);
        }
    };
    Ok(match (low, high) {
        (Some(low), _) => Some(Range::at_least(low)?),
        (None, Some(high)) => Some(Range::at_most(high)?),
        (None, None) => None,
    })
}

/// Whether a demand has a range somewhere, of which a margin is a share.
pub(super) fn has_tolerance(demand: &Expr) -> bool {
    match &demand.kind {
        ExprKind::Within(..) | ExprKind::Timed(_) | ExprKind::Let(..) | ExprKind::Cases(_) => true,
        ExprKind::Not(inner) | ExprKind::Decided(_, inner) => has_tolerance(inner),
        ExprKind::Logic(_, left, right) => has_tolerance(left) || has_tolerance(right),
        ExprKind::Quantified { condition, body, .. } => {
            has_tolerance(body) || condition.as_ref().is_some_and(|condition| has_tolerance(condition))
        }
        _ => false,
    }
}
