//! How two values compare: quantities by their limits, times by their instants.

use std::cmp::Ordering;
use std::sync::Arc;

use super::answer::Answer;
use super::compute::Computed;
use super::verdict::negated;
use super::{Evaluator, Missing, NodeRef, Reason};
use jiff::{SignedDuration, Timestamp};

use crate::code::{FUNCTION_RANGE, LOG_WINDOW, LOOKS_ALIKE};
use crate::diagnostic::Fault;
use crate::language::ast::{Arithmetic, Comparison};
use crate::language::typed::{Expr, ExprKind};
use crate::letters::{look_alike, said};
use crate::quantity::{KindName, Margin, Number, Quantity, Range, Unit};
use crate::time::{self, Frame};
use crate::value::{Moment, Value};

impl<'x> Evaluator<'x> {
    /// The order of two times; nothing for values that are none. A day against a time is decided by the day
    /// on which the time falls in the workshop's zone or, where none is set, by the day that it writes.
    ///
    /// # Errors
    /// A time without an offset at which the clocks of the zone change; where no zone is set, one time with an
    /// offset and another without.
    pub(crate) fn order_in_time(
        &self,
        left: &Value<'_>,
        right: &Value<'_>,
    ) -> Result<Option<Ordering>, Fault> {
        let day = |moment: &Moment| match moment {
            Moment::Exact(instant, _) if !self.setting.zone.is_unknown() => {
                self.setting.zone.to_datetime(*instant).date()
            }
            written => written.written().date(),
        };
        Ok(match (left, right) {
            (Value::Day(a), Value::Day(b)) => Some(a.cmp(b)),
            (Value::Day(a), Value::Moment(b)) => Some(a.cmp(&day(b))),
            (Value::Moment(a), Value::Day(b)) => Some(day(a).cmp(b)),
            (Value::Moment(a), Value::Moment(b)) => {
                let [a, b] = self.instants(a, b)?;
                Some(a.cmp(&b))
            }
            _ => None,
        })
    }

    /// The instant of a time.
    pub(super) fn instant(&self, moment: &Moment) -> Result<Timestamp, Fault> {
        time::instant(moment, &self.setting.zone)
    }

    /// The instants of two times that are put in order.
    ///
    /// # Errors
    /// As [`Evaluator::instant`]; one time has an offset, the other has none, and no zone is set.
    fn instants(&self, left: &Moment, right: &Moment) -> Result<[Timestamp; 2], Fault> {
        Frame::of(left).agrees(Frame::of(right), &self.setting.zone)?;
        Ok([self.instant(left)?, self.instant(right)?])
    }

    /// Whether two values are the same; two times are when they are one instant, however written.
    ///
    /// # Errors
    /// As [`Evaluator::order_in_time`]; two texts that look the same and are not.
    pub(super) fn same(&self, left: &Value<'_>, right: &Value<'_>) -> Result<Option<bool>, Fault> {
        Ok(match (left, right) {
            (Value::Quantity(a), Value::Quantity(b)) => Some(a.compare(b).is_eq()),
            (Value::Text(a), Value::Text(b)) => Some(same_text(a, b)?),
            (Value::Text(text), Value::Words(words)) => Some(is_among(text, words)?),
            (Value::Truth(a), Value::Truth(b)) => Some(a == b),
            (Value::Range(a), Value::Range(b)) => Some(a.has_limits_of(b)),
            _ => self.order_in_time(left, right)?.map(Ordering::is_eq),
        })
    }

    /// Whether one entry comes before or after another: by when they were or, where no times are recorded
    /// or they are the same, by their places in the list. With a time for one of them only, nobody can
    /// tell.
    pub(super) fn in_order<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        comparison: Comparison,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Computed<'x, A> {
        let listed = self.listed(left, right);
        let (at, order) = match (self.value(left), self.value(right)) {
            (Ok(a), Ok(b)) => {
                let order = self.order_in_time(a.get(), b.get());
                let order = order.map_err(|fault| self.fault_at(fault, a.at))?.unwrap_or(Ordering::Equal);
                (a.at, order.then(listed.map_or(Ordering::Equal, |(_, order)| order)))
            }
            (Err(a), Err(b)) => match listed.filter(|_| is_left_out(&a) && is_left_out(&b)) {
                Some((spot, order)) => (Some(spot), order),
                None => return Err(a.with(b)),
            },
            (Err(missing), _) | (_, Err(missing)) => return Err(missing),
        };
        let holds = match comparison {
            Comparison::After => order.is_gt(),
            _ => order.is_lt(),
        };
        Ok(A::decided(self, whole, holds, at, || None))
    }

    /// The first of two entries and their order in the list that holds both, by the fields that say when
    /// they were; nothing for entries of different lists.
    pub(super) fn listed(&mut self, left: &'x Expr, right: &'x Expr) -> Option<(NodeRef, Ordering)> {
        let (a, b) = (self.entry(left)?, self.entry(right)?);
        let list = |spot: NodeRef| self.doc(spot).parent(spot.node).map(|list| spot.beside(list));
        // The nodes of a list are numbered in its order.
        (list(a)? == list(b)?).then(|| (a, a.node.cmp(&b.node)))
    }

    /// The entry whose time a field is.
    pub(crate) fn entry(&mut self, time: &'x Expr) -> Option<NodeRef> {
        match &time.kind {
            ExprKind::Field { base, .. } => self.node(base).ok(),
            _ => None,
        }
    }

    /// What lies between two times, and times a while before or after others; nothing for values that are
    /// none.
    ///
    /// # Errors
    /// As [`Evaluator::order_in_time`]; a time out of all range.
    pub(crate) fn time_arithmetic(
        &self,
        sign: Arithmetic,
        left: &Value<'_>,
        right: &Value<'_>,
    ) -> Result<Option<Value<'static>>, Fault> {
        let out_of_range = || Fault::new(FUNCTION_RANGE, "the time is out of all range");
        let shifted = |moment: &Moment, by: &Quantity| {
            let nanoseconds = &by.base() * &Number::from(NANOSECONDS);
            let whole = nanoseconds.floor().filter(|_| nanoseconds.is_integer());
            let by = whole.map(SignedDuration::from_nanos).ok_or_else(out_of_range)?;
            // Without a zone, a time without an offset stays one.
            let later = match moment {
                Moment::Civil(civil) if self.setting.zone.is_unknown() => {
                    civil.checked_add(by).map(Moment::Civil)
                }
                Moment::Exact(instant, offset) => {
                    instant.checked_add(by).map(|later| Moment::Exact(later, *offset))
                }
                Moment::Civil(_) => self
                    .instant(moment)?
                    .checked_add(by)
                    .map(|later| Moment::Exact(later, self.setting.zone.to_offset(later))),
            };
            later.map(Value::Moment).map_err(|_| out_of_range())
        };
        Ok(match (sign, left, right) {
            (Arithmetic::Subtract | Arithmetic::Elapsed, Value::Moment(a), Value::Moment(b)) => {
                let [a, b] = self.instants(a, b)?;
                let between = a.duration_since(b);
                if sign == Arithmetic::Elapsed && between.is_negative() {
                    return Err(Fault::new(LOG_WINDOW, "it ends before it begins")
                        .help("look whether its two times were mixed up"));
                }
                Some(Value::Quantity(lasting(between.as_nanos())))
            }
            (Arithmetic::Subtract | Arithmetic::Elapsed, Value::Day(a), Value::Day(b)) => {
                let between = a.duration_since(*b);
                Some(Value::Quantity(lasting(between.as_nanos())))
            }
            (Arithmetic::Add, Value::Moment(moment), Value::Quantity(by))
            | (Arithmetic::Add, Value::Quantity(by), Value::Moment(moment)) => Some(shifted(moment, by)?),
            (Arithmetic::Subtract, Value::Moment(moment), Value::Quantity(by)) => {
                Some(shifted(moment, &by.opposite())?)
            }
            _ => None,
        })
    }
}

fn is_left_out(missing: &Missing<'_>) -> bool {
    matches!(missing.reason, Reason::NotRecorded(..))
}

const NANOSECONDS: i64 = 1_000_000_000;

/// A duration in the largest unit in which it is a whole number, else in seconds.
fn lasting(nanoseconds: i128) -> Quantity {
    let units = [("d", 86_400), ("h", 3_600), ("min", 60)];
    let whole = |seconds: &i128| nanoseconds != 0 && nanoseconds % (seconds * i128::from(NANOSECONDS)) == 0;
    let found = units.iter().find(|(_, seconds)| whole(seconds));
    let seconds = Quantity::from_base(seconds_of(nanoseconds), KindName::Duration.into());
    let symbol = found.map_or("s", |(symbol, _)| symbol);
    Unit::find(symbol).map_or(seconds.clone(), |unit| seconds.in_unit(unit))
}

fn seconds_of(nanoseconds: i128) -> Number {
    Number::parse(&nanoseconds.to_string())
        .ok()
        .and_then(|nanoseconds| nanoseconds.checked_div(&Number::from(NANOSECONDS)))
        .unwrap_or(Number::ZERO)
}

/// A comparison with one limit is a range with one limit, so that both have one arithmetic.
pub(super) fn one_limit(comparison: Comparison, limit: &Quantity) -> Option<Result<Range, Fault>> {
    let limit = limit.clone();
    Some(match comparison {
        Comparison::Above | Comparison::After => Range::above(limit),
        Comparison::Below | Comparison::Before => Range::below(limit),
        Comparison::AtLeast => Range::at_least(limit),
        Comparison::AtMost => Range::at_most(limit),
        Comparison::Is | Comparison::IsNot => return None,
    })
}

/// What must be equal has no tolerance: its margin is the distance, below zero unless there is none.
pub(super) fn compare_equal(
    comparison: Comparison,
    left: &Quantity,
    right: &Quantity,
) -> Result<(bool, Margin), Fault> {
    let equal = left.compare(right).is_eq();
    let upwards = Range::at_least(right.clone())?.margin(left);
    let downwards = Range::at_most(right.clone())?.margin(left);
    let off = if upwards.distance.compare(&downwards.distance).is_lt() { upwards } else { downwards };
    Ok(match comparison {
        Comparison::IsNot => (!equal, negated(off)),
        _ => (equal, off),
    })
}

/// Whether two texts are the same.
///
/// # Errors
/// They look the same and are not.
fn same_text(left: &str, right: &str) -> Result<bool, Fault> {
    if look_alike(left, right) {
        let message = format!("`{left}` looks like a name: {}", said(left, right));
        return Err(Fault::new(LOOKS_ALIKE, message));
    }
    Ok(left == right)
}

/// Whether a text is one of several words.
///
/// # Errors
/// It is none of them, and looks like one.
fn is_among(text: &str, words: &[Arc<str>]) -> Result<bool, Fault> {
    if words.iter().any(|word| **word == *text) {
        return Ok(true);
    }
    words.iter().try_fold(false, |found, word| Ok(found || same_text(text, word)?))
}
