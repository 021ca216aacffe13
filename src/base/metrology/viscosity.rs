//! Kinematic viscosity of an oil at any temperature, from two temperatures at which it is known.
//!
//! | symbol | meaning |
//! |---|---|
//! | `ν` | kinematic viscosity, mm²/s |
//! | `T` | absolute temperature, K |
//! | `Z` | ν + 0.7 + exp(−1.47 − 1.84·ν − 0.51·ν²) |
//! | `A`, `B` | constants of the oil |
//!
//! log log Z = A − B·log T, logarithms to base 10; back with z = Z − 0.7:
//! ν = z − exp(−0.7487 − 3.295·z + 0.6119·z² − 0.3193·z³), which is the inverse to 0.0002 mm²/s. Valid for one liquid
//! phase, between cloud point and initial boiling point; here from 0.21 to 20,000,000 mm²/s and −70 °C to 370 °C,
//! the span of the charts (from memory). Source: ASTM D341 (formulas read).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Unit};

use super::figure::{figure_in, impossible, outside, rounded_in};
use super::working::Working;

const SOURCE: &str = "ASTM D341";
const THINNEST: f64 = 0.21;
const THICKEST: f64 = 2e7;

/// The straight line of one oil in the double logarithm, in mm²/s and K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Walther {
    /// The constant `A`.
    pub a: f64,
    /// The constant `B`.
    pub b: f64,
}

impl Walther {
    /// Through two points, each a viscosity and an absolute temperature; no number where they do not lie apart.
    #[must_use]
    pub fn through((v1, t1): (f64, f64), (v2, t2): (f64, f64)) -> Walther {
        let (w1, w2) = (double_log(v1), double_log(v2));
        let b = (w1 - w2) / (t2.log10() - t1.log10());
        Walther { a: w1 + b * t1.log10(), b }
    }

    /// The viscosity at an absolute temperature.
    #[must_use]
    pub fn at(self, temperature: f64) -> f64 {
        let big = 10_f64.powf(10_f64.powf(self.a - self.b * temperature.log10()));
        let z = big - 0.7;
        z - (-0.7487 - 3.295 * z + 0.6119 * z * z - 0.3193 * z * z * z).exp()
    }
}

/// log log Z of a viscosity.
fn double_log(v: f64) -> f64 {
    (v + 0.7 + (-1.47 - 1.84 * v - 0.51 * v * v).exp()).log10().log10()
}

/// A known viscosity and its temperature.
pub type Point<'q> = (&'q Quantity, &'q Quantity);

/// The viscosity at `temperature` of an oil of which two are known, in the unit of the first.
///
/// # Errors
/// A temperature or a viscosity outside the span of the charts, the result among them; one temperature for
/// both points; an oil that would not thin as it warms.
pub fn viscosity_at(
    first: Point<'_>,
    second: Point<'_>,
    temperature: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let (p1, p2) = (point(first, 0)?, point(second, 2)?);
    let wanted = kelvin(temperature).map_err(|fault| fault.argument(4))?;
    if first.1.compare(second.1).is_eq() {
        return Err(impossible(
            format!("both viscosities are stated at {}", first.1),
            "two different temperatures are needed, usually 40 °C and 100 °C",
        )
        .argument(3));
    }
    let line = Walther::through(p1, p2);
    if line.b.is_nan() || line.b <= 0.0 {
        return Err(impossible(
            format!(
                "{} at {} and {} at {} would be an oil that does not thin as it warms",
                first.0, first.1, second.0, second.1
            ),
            "check whether the two viscosities were exchanged",
        )
        .argument(2));
    }
    // At a point that is known the answer is known.
    for (viscosity, known) in [first, second] {
        if known.compare(temperature).is_eq() {
            return Ok(viscosity.clone());
        }
    }
    let figure = line.at(wanted);
    if !(THINNEST..=THICKEST).contains(&figure) {
        return Err(outside(
            format!("at {temperature} the oil would be thinner or thicker than the charts reach"),
            "the method is stated from 0.21 to 20,000,000 mm²/s",
        )
        .argument(4));
    }
    let result = rounded_in(figure, "mm²/s")?.in_unit_of(first.0);
    working.line(SOURCE, "constants of the oil", "log log Z = A − B·log T", || {
        format!(
            "{} at {} and {} at {}: A = {:.5}, B = {:.5}",
            first.0, first.1, second.0, second.1, line.a, line.b
        )
    });
    working.line(
        SOURCE,
        "viscosity",
        "ν = z − exp(−0.7487 − 3.295·z + 0.6119·z² − 0.3193·z³)",
        || format!("at {temperature}: {result}"),
    );
    Ok(result)
}

/// A point in figures; `at` is the place of its viscosity among the arguments.
fn point((viscosity, temperature): Point<'_>, at: usize) -> Result<(f64, f64), Fault> {
    let figure = figure_in(viscosity, "mm²/s")?;
    if !(THINNEST..=THICKEST).contains(&figure) {
        return Err(outside(
            format!("a viscosity of {viscosity} is outside 0.21 to 20,000,000 mm²/s"),
            "give the kinematic viscosity in mm²/s",
        )
        .argument(at));
    }
    Ok((figure, kelvin(temperature).map_err(|fault| fault.argument(at + 1))?))
}

fn kelvin(temperature: &Quantity) -> Result<f64, Fault> {
    let figure = figure_in(temperature, "K absolute")?;
    if figure < 0.0 {
        return Err(impossible(
            format!("the temperature `{temperature}` is below absolute zero"),
            "check the sign and the unit of the temperature",
        ));
    }
    let celsius = figure_in(temperature, "°C")?;
    if !(-70.0..=370.0).contains(&celsius) {
        return Err(outside(
            format!("a temperature of {temperature} is outside −70 °C to 370 °C"),
            "the charts of the method reach no further",
        ));
    }
    Ok(figure)
}

/// The dynamic viscosity of an oil of this kinematic viscosity and density, both at one temperature.
///
/// # Errors
/// Kinds that do not go together; a value below zero.
pub fn dynamic(viscosity: &Quantity, density: &Quantity, working: &mut Working) -> Result<Quantity, Fault> {
    for value in [viscosity, density] {
        value.clone().not_below_zero()?;
    }
    let product = viscosity.mul(density)?;
    let thousand = Number::from(1_000_i64);
    let result = Quantity::new((&product.base() * &thousand).reduced(), Unit::find("mPa·s")?);
    product.kind().comparable(result.kind())?;
    working.line("ISO 3104", "dynamic viscosity", "η = ν·ρ", || {
        format!("{viscosity} × {density} = {result}")
    });
    Ok(result)
}
