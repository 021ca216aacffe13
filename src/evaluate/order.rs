//! How two values compare: quantities by their limits, times by their instants.

use std::cmp::Ordering;

use super::Evaluator;
use super::verdict::negated;
use crate::diagnostic::Fault;
use crate::language::ast::Comparison;
use crate::quantity::{Margin, Quantity, Range};
use crate::value::{Moment, Value};

impl Evaluator<'_> {
    /// The order of two times. A day against a time is decided by the day on which the time falls
    /// in the workshop's zone.
    pub(super) fn order_in_time(&self, left: &Value<'_>, right: &Value<'_>) -> Option<Ordering> {
        let zone = &self.setting.zone;
        let instant = |moment: &Moment| match moment {
            Moment::Exact(timestamp) => Some(*timestamp),
            Moment::Civil(civil) => civil.to_zoned_datetime(zone.clone()).ok().map(|zoned| zoned.timestamp()),
        };
        let day = |moment: &Moment| match moment {
            Moment::Exact(timestamp) => timestamp.to_zoned_datetime(zone.clone()).date(),
            Moment::Civil(civil) => civil.date(),
        };
        match (left, right) {
            (Value::Day(a), Value::Day(b)) => Some(a.cmp(b)),
            (Value::Day(a), Value::Moment(b)) => Some(a.cmp(&day(b))),
            (Value::Moment(a), Value::Day(b)) => Some(day(a).cmp(b)),
            (Value::Moment(a), Value::Moment(b)) => Some(instant(a)?.cmp(&instant(b)?)),
            _ => None,
        }
    }

    /// Whether two values are the same; two times are when they are one instant, however written.
    pub(super) fn same(&self, left: &Value<'_>, right: &Value<'_>) -> Option<bool> {
        match (left, right) {
            (Value::Quantity(a), Value::Quantity(b)) => Some(a.compare(b).is_eq()),
            (Value::Text(a), Value::Text(b)) => Some(a == b),
            (Value::Truth(a), Value::Truth(b)) => Some(a == b),
            _ => self.order_in_time(left, right).map(Ordering::is_eq),
        }
    }
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
