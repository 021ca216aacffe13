//! Cosine and sine of an angle.
//!
//! Exact at multiples of a quarter turn and where the result is one half; rounded to twelve digits elsewhere.

use std::f64::consts::TAU;

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{exactly_in, rounded};

/// The cosine of an angle.
///
/// # Errors
/// What is no angle.
pub fn cosine(angle: &Quantity) -> Result<Number, Fault> {
    of_turns(&exactly_in(angle, "turn")?)
}

/// The sine of an angle.
///
/// # Errors
/// What is no angle.
pub fn sine(angle: &Quantity) -> Result<Number, Fault> {
    let quarter = Number::ratio(1, 4).unwrap_or(Number::ZERO);
    of_turns(&(&exactly_in(angle, "turn")? - &quarter))
}

fn of_turns(turns: &Number) -> Result<Number, Fault> {
    let turns = turns.abs();
    let known = [
        ((0, 1), (1, 1)),
        ((1, 6), (1, 2)),
        ((1, 4), (0, 1)),
        ((1, 3), (-1, 2)),
        ((1, 2), (-1, 1)),
        ((2, 3), (-1, 2)),
        ((3, 4), (0, 1)),
        ((5, 6), (1, 2)),
        ((1, 1), (1, 1)),
    ];
    for ((turn, whole), (part, of)) in known {
        if Number::ratio(turn, whole).is_some_and(|exact| exact == turns) {
            return Ok(Number::ratio(part, of).unwrap_or(Number::ZERO));
        }
    }
    rounded((turns.to_f64() * TAU).cos())
}
