//! From exact quantities to the doubles that a formula needs, and back.

use crate::code;
use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Unit};

/// The significant digits to which a method rounds a figure that it cannot compute exactly. The formulas
/// here lose at most two of the sixteen digits of a double, so the result is the same on every machine
/// and no digit of it is noise.
pub const DIGITS: usize = 12;

/// A double as a decimal of [`DIGITS`] significant digits.
///
/// # Errors
/// What is no number, or out of all proportion.
pub(super) fn rounded(value: f64) -> Result<Number, Fault> {
    let text = format!("{value:.*e}", DIGITS - 1);
    // Below this nothing is measured, and the reader of numbers takes no such exponent.
    const NOTHING: f64 = 1e-18;
    if value.abs() < NOTHING {
        return Ok(Number::ZERO);
    }
    Number::parse(&text).map(|number| number.reduced()).map_err(|_| {
        Fault::new(code::OUTSIDE_METHOD, "the figures lie so far out that the formula has no result")
            .help("check the values and their units")
    })
}

/// The figure of a quantity in a unit, as a double.
///
/// # Errors
/// A quantity that cannot be given in that unit.
pub(super) fn figure_in(quantity: &Quantity, unit: &str) -> Result<f64, Fault> {
    exactly_in(quantity, unit).map(|number| number.to_f64())
}

/// The figure of a quantity in a unit, exactly.
///
/// # Errors
/// A quantity that cannot be given in that unit.
pub(super) fn exactly_in(quantity: &Quantity, unit: &str) -> Result<Number, Fault> {
    let unit = Unit::find(unit)?;
    quantity.kind().comparable(unit.kind())?;
    Ok(quantity.in_unit(unit).magnitude().clone())
}

/// A quantity of a rounded double in a unit.
///
/// # Errors
/// What is no number, or out of all proportion.
pub(super) fn rounded_in(value: f64, unit: &str) -> Result<Quantity, Fault> {
    Ok(Quantity::new(rounded(value)?, Unit::find(unit)?))
}

/// A fault for a value that a method does not cover.
pub(super) fn outside(message: impl Into<String>, help: impl Into<String>) -> Fault {
    Fault::new(code::OUTSIDE_METHOD, message).help(help)
}

/// A fault for a value that cannot be.
pub(super) fn impossible(message: impl Into<String>, help: impl Into<String>) -> Fault {
    Fault::new(code::IMPOSSIBLE_VALUE, message).help(help)
}

/// A fault for a designation that is not known or cannot be read.
pub(super) fn unknown(message: impl Into<String>, help: impl Into<String>) -> Fault {
    Fault::new(code::DESIGNATION, message).help(help)
}
