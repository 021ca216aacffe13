//! Limits moved by their last digit, and ends of ranges left out or taken in.

use std::sync::Arc;

use crate::quantity::{Kind, Limit, Number, Quantity, Range, Which};

/// How many digits behind the point a limit may have; past that, a hundredth of it is as good as its last digit.
const MOST_DECIMALS: u32 = 6;

/// A limit one step of its last digit lower, and one higher. Nothing lies below zero but on a scale.
pub(super) fn moved(limit: &Quantity) -> Vec<Quantity> {
    let step = last_digit(limit.magnitude());
    let has_less = limit.kind().is_point() || !limit.magnitude().is_zero();
    let lower = limit.magnitude().checked_sub(&step).filter(|_| has_less);
    let higher = limit.magnitude().checked_add(&step);
    lower.into_iter().chain(higher).map(|magnitude| with_magnitude(limit, magnitude)).collect()
}

fn with_magnitude(model: &Quantity, magnitude: Number) -> Quantity {
    match model.unit() {
        Some(unit) => Quantity::new(magnitude, unit),
        None if model.kind() == Kind::NUMBER => Quantity::from(magnitude),
        None => Quantity::from_base(magnitude, model.kind()),
    }
}

/// One at the place of the last digit of a number: 1 for 45, 0.1 for 40.5.
fn last_digit(number: &Number) -> Number {
    let mut scale: i128 = 1;
    for _ in 0..=MOST_DECIMALS {
        let scaled = number.checked_mul(&Number::from(u64::try_from(scale).unwrap_or(u64::MAX)));
        if scaled.is_some_and(|scaled| scaled.is_integer()) {
            return Number::ratio(1, scale).unwrap_or(Number::ONE);
        }
        scale *= 10;
    }
    number.abs().checked_div(&Number::from(100_u64)).unwrap_or(Number::ONE)
}

/// A range with one end changed, and how that is said.
pub(super) fn of_range(range: &Range) -> Vec<(Arc<Range>, String)> {
    let mut changed = Vec::new();
    for (which, limit, name) in [(Which::Low, range.low(), "lower"), (Which::High, range.high(), "upper")] {
        let Some(limit) = limit else { continue };
        let at = &limit.value;
        for value in moved(at) {
            let what = format!("its {name} limit, {at}, is {value}");
            let limit = Limit { value, inclusive: limit.inclusive };
            changed.extend(range.with_end(which, limit).map(|range| (Arc::new(range), what)));
        }
        let what = match limit.inclusive {
            true => format!("its {name} limit, {at}, is left out"),
            false => format!("its {name} limit, {at}, is taken in"),
        };
        let limit = Limit { value: at.clone(), inclusive: !limit.inclusive };
        changed.extend(range.with_end(which, limit).map(|range| (Arc::new(range), what)));
    }
    changed
}

/// The values at a limit and one step of its last digit beside it.
pub fn near(limit: &Quantity) -> impl Iterator<Item = Quantity> {
    [limit.clone()].into_iter().chain(moved(limit))
}
