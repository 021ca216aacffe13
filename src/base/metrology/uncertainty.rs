//! Standard uncertainties put together, and the factor by which one is expanded.
//!
//! | symbol | meaning |
//! |---|---|
//! | `u_i`, `ν_i` | standard uncertainty of a component and its degrees of freedom |
//! | `u_c` | combined standard uncertainty √(Σ u_i²) of independent components |
//! | `ν_eff` | effective degrees of freedom u_c⁴/Σ(u_i⁴/ν_i) |
//! | `k` | coverage factor, U = k·u_c |
//!
//! The factor is the quantile of Student's distribution for ν_eff cut down to a whole number, by the finite sums of
//! Abramowitz and Stegun, 26.7.3 and 26.7.4, and a bisection; above 1,000 degrees of freedom that of the normal
//! distribution. Valid for independent components whose effect is nearly linear; probabilities above 0 and below 1.
//! Source: JCGM 100:2008 (GUM), 5.1.2, G.4 (from memory).

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{impossible, outside, rounded};
use super::normal;

/// A component of an uncertainty.
#[derive(Clone, Copy, Debug)]
pub struct Component<'q> {
    /// Its standard uncertainty.
    pub standard: &'q Quantity,
    /// Its degrees of freedom; infinite where it is known for certain.
    pub freedom: f64,
}

/// The combined standard uncertainty, in the unit of the first component, and its degrees of freedom.
///
/// # Errors
/// No component; kinds that do not go together; a component below zero or without freedom.
pub fn combined(components: &[Component<'_>]) -> Result<(Quantity, f64), Fault> {
    let first = components.first().ok_or_else(|| {
        impossible("no component of an uncertainty is given", "give at least one standard uncertainty")
    })?;
    let (mut squares, mut fourths) = (0.0, 0.0);
    for component in components {
        first.standard.kind().comparable(component.standard.kind())?;
        let figure = component.standard.base().to_f64();
        if figure < 0.0 || component.freedom.is_nan() || component.freedom < 1.0 {
            return Err(impossible(
                format!(
                    "`{}` with {} degrees of freedom is no uncertainty",
                    component.standard, component.freedom
                ),
                "write it without a sign, with at least one degree of freedom",
            ));
        }
        squares += figure.powi(2);
        fourths += figure.powi(4) / component.freedom;
    }
    let result = Quantity::from_base(rounded(squares.sqrt())?, first.standard.kind());
    let freedom = if fourths > 0.0 { squares.powi(2) / fourths } else { f64::INFINITY };
    Ok((result.in_unit_of(first.standard), freedom))
}

/// An uncertainty as it is quoted: one of up to three significant digits as it is, a longer one rounded up to
/// two (JCGM 100:2008, 7.2.6, from memory). For people; nothing is decided by it.
#[must_use]
pub fn quoted(uncertainty: &Quantity) -> Quantity {
    const KEPT: usize = 3;
    let written = uncertainty.magnitude().to_string();
    let mantissa = written.split('e').next().unwrap_or_default();
    let digits = mantissa.trim_start_matches(['-', '0', '.']).bytes().filter(u8::is_ascii_digit).count();
    let figure = uncertainty.magnitude().to_f64();
    let rounded_up = || {
        let place = figure.abs().log10().floor() - 1.0;
        // What is a whole number of steps but for the noise of the logarithm is not raised by one.
        let steps = (figure / 10_f64.powf(place) - 1e-9).ceil();
        Number::parse(&format!("{steps}e{place}")).ok()
    };
    match (digits > KEPT).then(rounded_up).flatten().zip(uncertainty.unit()) {
        Some((figure, unit)) => Quantity::new(figure.reduced(), unit),
        None => uncertainty.clone(),
    }
}

/// The standard uncertainty of the product of two independent quantities, in the unit of the product.
///
/// # Errors
/// Kinds that have no product or do not go together.
pub fn of_product(a: &Quantity, u_a: &Quantity, b: &Quantity, u_b: &Quantity) -> Result<Quantity, Fault> {
    a.kind().comparable(u_a.kind())?;
    b.kind().comparable(u_b.kind())?;
    let product = a.mul(b)?;
    let square =
        (u_a.base().to_f64() * b.base().to_f64()).powi(2) + (a.base().to_f64() * u_b.base().to_f64()).powi(2);
    Ok(Quantity::from_base(rounded(square.sqrt())?, product.kind()).in_unit_of(&product))
}

/// The factor by which a standard uncertainty with these degrees of freedom is multiplied, so that the true value
/// lies within with this probability.
///
/// # Errors
/// Fewer than one degree of freedom; a probability not above 0 and below 1.
pub fn coverage_factor(freedom: f64, probability: f64) -> Result<f64, Fault> {
    /// From here on Student's distribution is the normal one to four digits of the factor.
    const MANY: f64 = 1_000.0;
    if freedom.is_nan() || freedom < 1.0 {
        return Err(outside(
            format!("{freedom} degrees of freedom are too few for a coverage factor"),
            "give at least one degree of freedom",
        ));
    }
    let normal =
        normal::quantile((1.0 + probability) / 2.0).filter(|_| probability > 0.0).ok_or_else(|| {
            outside(
                format!("a probability of {probability} has no coverage factor"),
                "write a probability above 0 and below 1, such as 0.9545",
            )
        })?;
    if freedom > MANY {
        return Ok(normal);
    }
    // In the angle of the sums the quantile lies between nothing and a quarter turn.
    let whole = freedom.floor();
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if within(middle, whole as u32) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(whole.sqrt() * low.tan())
}

/// The share of Student's distribution within ±√ν·tan θ.
fn within(angle: f64, freedom: u32) -> f64 {
    let (sine, cosine) = angle.sin_cos();
    let odd = freedom % 2 == 1;
    let mut term = if odd { cosine } else { 1.0 };
    let mut sum = 0.0;
    // The powers of the cosine up to ν − 2.
    let mut power = if odd { 1 } else { 0 };
    while power + 2 <= freedom {
        sum += term;
        term *= cosine * cosine * f64::from(power + 1) / f64::from(power + 2);
        power += 2;
    }
    if odd { FRAC_2_PI * (angle + sine * sum) } else { sine * sum }
}
