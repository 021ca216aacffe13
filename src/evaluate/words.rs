//! Small texts of a report: values, paths, distances.

use super::Leaf;
use crate::language::ast::Comparison;
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Margin, Number, Quantity, Range, Which};
use crate::value::{Moment, Value};

pub(super) fn join(path: &str, names: &str) -> String {
    match (path.is_empty(), names.is_empty()) {
        (true, _) => names.to_owned(),
        (_, true) => path.to_owned(),
        _ => format!("{path}.{names}"),
    }
}

/// The last `depth` names of a path.
pub(super) fn last_names(expr: &Expr, depth: u8) -> String {
    match &expr.kind {
        ExprKind::Field { base, name, .. } if depth > 0 => join(&last_names(base, depth - 1), name),
        ExprKind::Link { base, link, .. } if depth > 0 => join(&last_names(base, depth - 1), &link.name),
        _ => String::new(),
    }
}

pub(super) fn alternatives(options: &[String]) -> String {
    match options {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// A range as written and, where that does not show them, its limits.
pub(super) fn range_words(range: &Range) -> String {
    let (written, limits) = (range.to_string(), range.limits_text());
    if written == limits { written } else { format!("{written} ({limits})") }
}

/// A value as people read it.
#[must_use]
pub fn describe(value: &Value<'_>) -> String {
    match value {
        Value::Truth(true) => "yes".to_owned(),
        Value::Truth(false) => "no".to_owned(),
        Value::Quantity(quantity) => quantity.to_string(),
        Value::Reading(reading) => reading.to_string(),
        Value::Several(quantities) => {
            quantities.iter().map(Quantity::to_string).collect::<Vec<_>>().join(", ")
        }
        Value::Range(range) => range.to_string(),
        Value::Text(text) => text.to_string(),
        Value::Day(day) => day.to_string(),
        Value::Moment(Moment::Exact(instant)) => instant.to_string(),
        Value::Moment(Moment::Civil(civil)) => civil.to_string(),
    }
}

/// By how much a value misses its limit, in words; nothing for a value that meets it.
pub(super) fn off_by(leaf: &Leaf<'_>, margin: &Margin) -> Option<String> {
    let zero = margin.distance.magnitude().is_zero();
    if zero && margin.exclusive_limit_hit {
        return Some("exactly on the limit, which itself does not count".to_owned());
    }
    if zero || margin.distance.magnitude() > &Number::ZERO {
        return None;
    }
    let negated = leaf.negated != leaf.course.as_ref().is_some_and(|course| course.is_negated());
    let side = match (&leaf.expr.kind, negated, margin.limit) {
        (ExprKind::Compare(Comparison::Is | Comparison::IsNot, ..), _, Which::Low) => "too low",
        (ExprKind::Compare(Comparison::Is | Comparison::IsNot, ..), _, Which::High) => "too high",
        (ExprKind::Compare(..), false, Which::Low) => "too low",
        (ExprKind::Compare(..), false, Which::High) => "too high",
        (_, false, Which::Low) => "below the lower limit",
        (_, false, Which::High) => "above the upper limit",
        (_, true, Which::Low) => "above the lower limit, where nothing may lie",
        (_, true, Which::High) => "below the upper limit, where nothing may lie",
    };
    let distance = margin.distance.opposite();
    Some(match &margin.share {
        Some(share) => format!("{distance} {side} ({} of the tolerance)", share_words(&share.abs())),
        None => format!("{distance} {side}"),
    })
}

/// A share in per cent, for people: whole numbers, and never nought for what is more than nothing.
#[must_use]
pub fn share_words(share: &Number) -> String {
    let percent = share.to_f64() * 100.0;
    match percent {
        _ if share.is_zero() => "0 %".to_owned(),
        _ if percent.abs() < 1.0 => "less than 1 %".to_owned(),
        _ => format!("{percent:.0} %"),
    }
}
