//! Counts of which not every element is known: the least and the greatest that they can come to, and the
//! comparisons that come out the same whatever they are.

use super::aggregate::Over;
use super::compute::Computed;
use super::elements::Elements;
use super::order::{compare_equal, one_limit};
use super::{Evaluator, NodeRef, Truth, Verdict};
use crate::language::ast::{Aggregate, Arithmetic, Comparison};
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Number, Quantity};
use crate::value::Value;

/// The least and the greatest that a value can be.
#[derive(Clone, Debug)]
pub(super) struct Spread {
    least: Quantity,
    greatest: Quantity,
    /// The list that is counted.
    at: Option<NodeRef>,
}

/// More entries than a document can have: what a list can have that is not recorded.
const ANY_NUMBER: u64 = u32::MAX as u64;

impl<'x> Evaluator<'x> {
    /// The verdict of a comparison that counts what is not all known, where it is the same for every number
    /// from the least to the greatest possible one.
    pub(super) fn whatever_the_counts(&mut self, expr: &'x Expr) -> Option<Verdict<'x>> {
        if !self.compares_counts(expr) {
            return None;
        }
        // A reading with an uncertainty is decided by a rule of its own.
        if self.guarding.is_some() && !matches!(self.untraced(|inner| inner.uncertainty_in(expr)), Ok(None)) {
            return None;
        }
        self.untraced(|inner| match &expr.kind {
            ExprKind::Compare(comparison, left, right) => {
                inner.compared_spreads(expr, *comparison, left, right)
            }
            ExprKind::Within(value, range) => inner.spread_within(expr, value, range),
            ExprKind::OneOf { value, negated, options } => inner.spread_among(expr, value, *negated, options),
            _ => None,
        })
    }

    fn compares_counts(&self, expr: &Expr) -> bool {
        match &expr.kind {
            ExprKind::Compare(_, left, right) => self.counts(left) || self.counts(right),
            ExprKind::Within(value, _) | ExprKind::OneOf { value, .. } => self.counts(value),
            _ => false,
        }
    }

    /// Whether a value is computed from a count.
    fn counts(&self, expr: &Expr) -> bool {
        match &expr.kind {
            ExprKind::Aggregate { aggregate, .. } => *aggregate == Aggregate::Count,
            ExprKind::Arithmetic(_, left, right) => self.counts(left) || self.counts(right),
            ExprKind::Minus(inner) => self.counts(inner),
            ExprKind::Let(number, _) => self.program.lets()[*number].counts(),
            ExprKind::Cases(cases) => cases.iter().any(|case| self.counts(&case.value)),
            _ => false,
        }
    }

    fn compared_spreads(
        &mut self,
        whole: &'x Expr,
        comparison: Comparison,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Option<Verdict<'x>> {
        let (left, right) = (self.spread(left).ok()?, self.spread(right).ok()?);
        let at = left.at.or(right.at);
        if matches!(comparison, Comparison::Is | Comparison::IsNot) {
            // Only what can never be equal is decided.
            let (near, other) = match (left.greatest, left.least, right.least, right.greatest) {
                (greatest, _, least, _) if greatest.compare(&least).is_lt() => (greatest, least),
                (_, least, _, greatest) if least.compare(&greatest).is_gt() => (least, greatest),
                _ => return None,
            };
            let (holds, margin) = compare_equal(comparison, &near, &other).ok()?;
            return Some(self.leaf(whole, Truth::from_bool(holds), at, Some(margin)));
        }
        // One of these is the worst case and the other the best.
        let low = self.limited(whole, comparison, &left.least, &right.greatest, at)?;
        let high = self.limited(whole, comparison, &left.greatest, &right.least, at)?;
        same(low, high)
    }

    fn limited(
        &self,
        whole: &'x Expr,
        comparison: Comparison,
        value: &Quantity,
        limit: &Quantity,
        at: Option<NodeRef>,
    ) -> Option<Verdict<'x>> {
        let range = one_limit(comparison, limit)?.ok()?;
        let holds = Truth::from_bool(range.contains(value));
        Some(self.leaf(whole, holds, at, Some(range.margin(value))))
    }

    fn spread_within(&mut self, whole: &'x Expr, value: &'x Expr, range: &'x Expr) -> Option<Verdict<'x>> {
        let (value, range) = (self.spread(value).ok()?, self.value(range).ok()?);
        let Value::Range(range) = range.get() else { return None };
        let (low, high) = (range.margin(&value.least), range.margin(&value.greatest));
        // A spread from below a range to above it crosses it.
        let one_side = low.limit == high.limit;
        let end = |quantity, margin| {
            self.leaf(whole, Truth::from_bool(range.contains(quantity)), value.at, Some(margin))
        };
        let verdict = same(end(&value.least, low), end(&value.greatest, high))?;
        (verdict.truth == Truth::Yes || one_side).then_some(verdict)
    }

    fn spread_among(
        &mut self,
        whole: &'x Expr,
        value: &'x Expr,
        negated: bool,
        options: &'x [Expr],
    ) -> Option<Verdict<'x>> {
        let value = self.spread(value).ok()?;
        for option in options {
            let option = self.spread(option).ok()?;
            let below = option.greatest.compare(&value.least).is_lt();
            if !below && !option.least.compare(&value.greatest).is_gt() {
                return None;
            }
        }
        Some(self.leaf(whole, Truth::from_bool(negated), value.at, None))
    }

    /// What a value can be: where nothing of it is open, the value alone.
    pub(super) fn spread(&mut self, expr: &'x Expr) -> Computed<'x, Spread> {
        match &expr.kind {
            ExprKind::Aggregate { aggregate: Aggregate::Count, slot, list, condition, .. } => {
                let condition = condition.as_deref();
                self.count_spread(Over { value: None, slot: *slot, list, condition })
            }
            ExprKind::Arithmetic(sign, left, right) if self.counts(expr) => {
                self.spread_of_two(expr, *sign, left, right)
            }
            ExprKind::Minus(inner) => {
                let Spread { least, greatest, at } = self.spread(inner)?;
                let turned = (greatest.neg(), least.neg());
                let (Ok(least), Ok(greatest)) = turned else { return Err(self.unreadable(at)) };
                Ok(Spread { least, greatest, at })
            }
            ExprKind::Let(id, entry) => self.spread_of_let(*id, entry.as_deref()),
            ExprKind::Cases(cases) => self.by_cases(cases, Self::spread, |one, other| {
                one.least.compare(&other.least).is_eq() && one.greatest.compare(&other.greatest).is_eq()
            }),
            _ => {
                let operand = self.value(expr)?;
                match operand.quantity() {
                    Some(known) => {
                        Ok(Spread { least: known.clone(), greatest: known.clone(), at: operand.at })
                    }
                    None => Err(self.unreadable(operand.at)),
                }
            }
        }
    }

    fn count_spread(&mut self, over: Over<'x>) -> Computed<'x, Spread> {
        let number = |number: u64| Quantity::from(Number::from(number));
        let Elements { list, entries: elements, rest } =
            match self.elements(over.list, over.slot, over.condition) {
                Ok(found) => found,
                Err(missing) => {
                    let (least, greatest) = (number(0), number(ANY_NUMBER));
                    return Ok(Spread { least, greatest, at: Some(missing.at) });
                }
            };
        let (mut sure, mut most) = (0, 0);
        for element in &*elements {
            if !self.spend() {
                return Err(self.too_long());
            }
            if let Some(slot) = over.slot {
                self.set(slot, list.beside(*element));
            }
            let counts = over.condition.map_or(Truth::Yes, |condition| self.condition(condition));
            sure += u64::from(counts == Truth::Yes);
            most += u64::from(counts != Truth::No);
        }
        let most = if rest.is_some() { ANY_NUMBER } else { most };
        Ok(Spread { least: number(sure), greatest: number(most), at: Some(list) })
    }

    /// What the sum, the difference, the product or the quotient of two such values can be: the extremes
    /// are among those of their ends.
    fn spread_of_two(
        &mut self,
        whole: &'x Expr,
        sign: Arithmetic,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Computed<'x, Spread> {
        let (left, right) = (self.spread(left)?, self.spread(right)?);
        let at = left.at.or(right.at);
        let sign_of = |quantity: &Quantity| quantity.magnitude().signum();
        if sign == Arithmetic::Divide && sign_of(&right.least) != sign_of(&right.greatest) {
            // By nought, perhaps.
            return self.value(whole).and_then(|_| Err(self.unreadable(at)));
        }
        let (mut least, mut greatest): (Option<Quantity>, Option<Quantity>) = (None, None);
        for a in [&left.least, &left.greatest] {
            for b in [&right.least, &right.greatest] {
                let one = sign.apply(a, b).map_err(|fault| self.fault_at(fault, at))?;
                if least.as_ref().is_none_or(|least| one.compare(least).is_lt()) {
                    least = Some(one.clone());
                }
                if greatest.as_ref().is_none_or(|greatest| one.compare(greatest).is_gt()) {
                    greatest = Some(one);
                }
            }
        }
        match (least, greatest) {
            (Some(least), Some(greatest)) => Ok(Spread { least, greatest, at }),
            _ => Err(self.unreadable(at)),
        }
    }

    /// The least and the greatest number that an open count can be; nothing where it could be any.
    pub(crate) fn possible_counts(&mut self, expr: &'x Expr) -> Option<(Quantity, Quantity)> {
        if !self.counts(expr) {
            return None;
        }
        let Spread { least, greatest, .. } = self.untraced(|inner| inner.spread(expr)).ok()?;
        let any = Quantity::from(Number::from(ANY_NUMBER));
        greatest.compare(&any).is_lt().then_some((least, greatest))
    }
}

/// The verdict that both ends have, with the margin of the tighter one where it holds and of the nearer one
/// where it does not.
fn same<'x>(one: Verdict<'x>, other: Verdict<'x>) -> Option<Verdict<'x>> {
    match (one.truth, other.truth) {
        (Truth::Yes, Truth::Yes) => Some(one.and(other)),
        (Truth::No, Truth::No) => Some(one.or(other)),
        _ => None,
    }
}
