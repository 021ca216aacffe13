//! Volume and density of lubricating oil at another temperature.
//!
//! | symbol | meaning |
//! |---|---|
//! | `ρ` | density at the base temperature, kg/m³ |
//! | `α` | coefficient of expansion at the base temperature |
//! | `ΔT` | temperature less the base temperature |
//! | `VCF` | volume at the base temperature over volume at the temperature |
//! | `β` | mean coefficient of the linear form |
//!
//! α = 0.6278/ρ per °C with the density at 15 °C, or 0.34878/ρ per °F with that at 60 °F;
//! VCF = exp(−α·ΔT·(1 + 0.8·α·ΔT)); ρ_t = ρ·VCF; V_t = V·VCF(from)/VCF(to). Valid from −50 °C to 150 °C and for
//! densities from 800.9 to 1163.5 kg/m³. This is the form of 1980, unrounded; that of 2004, which moves the
//! temperatures to an older scale first, differs by less than 0.002 %. Source: API MPMS 11.1 / ASTM D1250 / IP 200,
//! lubricating oils (coefficients per °F and limits read, the one per °C from memory and consistent with it).
//!
//! Linear form: V = V_0·(1 + β·Δt), exact, for β up to 0.002 per K and the same temperatures; 0.0007 per K is usual
//! for oil (read in an engineering reference).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Unit};

use super::figure::{exactly_in, figure_in, impossible, outside, rounded};
use super::working::Working;

const SOURCE: &str = "API MPMS 11.1 (1980) / ASTM D1250";

/// The place of the temperature among the arguments of [`density_at`], for faults.
const TEMPERATURE: usize = 1;

/// The base temperature for which a density is stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// 15 °C.
    Celsius15,
    /// 60 °F.
    Fahrenheit60,
}

/// The factor by which a volume at `temperature` is multiplied to give that at the base temperature.
///
/// # Errors
/// A density or a temperature outside the range of the method.
pub fn correction_factor(
    density: &Quantity,
    base: Base,
    temperature: &Quantity,
    working: &mut Working,
) -> Result<Number, Fault> {
    let (unit, from, coefficient) = match base {
        Base::Celsius15 => ("°C", 15.0, 0.6278),
        Base::Fahrenheit60 => ("°F", 60.0, 0.34878),
    };
    covered(temperature).map_err(|fault| fault.argument(TEMPERATURE))?;
    let figure = figure_in(density, "kg/m³")?;
    if !(800.9..=1163.5).contains(&figure) {
        return Err(outside(
            format!("a density of {density} is outside 800.9 to 1163.5 kg/m³, where oils lie"),
            "give the density that the maker states at 15 °C, such as 850 kg/m³",
        ));
    }
    let alpha = coefficient / figure;
    let grown = alpha * (figure_in(temperature, unit)? - from);
    let factor = rounded((-grown * (1.0 + 0.8 * grown)).exp())?;
    working.line(
        SOURCE,
        "volume correction factor",
        "VCF = exp(−α·ΔT·(1 + 0.8·α·ΔT)), α = K/ρ",
        || format!("α = {coefficient}/{figure} = {alpha:.6e} per {unit}, at {temperature}: VCF = {factor}"),
    );
    Ok(factor)
}

/// The volume at `to` of what has this volume at `from`, in its unit; the density is that at 15 °C.
///
/// # Errors
/// As [`correction_factor`].
pub fn volume_at(
    volume: &Quantity,
    from: &Quantity,
    to: &Quantity,
    density: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let here = correction_factor(density, Base::Celsius15, from, working).map_err(|fault| moved(fault, 1))?;
    let there = correction_factor(density, Base::Celsius15, to, working).map_err(|fault| moved(fault, 2))?;
    // The same temperature leaves the volume as it is, to the last digit.
    let ratio = if here == there { Number::ONE } else { rounded(here.to_f64() / there.to_f64())? };
    let result = volume.mul(&ratio.clone().into())?;
    working.line(SOURCE, "volume at the other temperature", "V_t = V·VCF(from)/VCF(to)", || {
        format!("{volume} × {ratio} = {result}")
    });
    Ok(result)
}

/// The density at a temperature of an oil with this density at 15 °C, in its unit.
///
/// # Errors
/// As [`correction_factor`].
pub fn density_at(
    density: &Quantity,
    temperature: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let factor = correction_factor(density, Base::Celsius15, temperature, working)?;
    let result = density.mul(&factor.clone().into())?;
    working.line(SOURCE, "density", "ρ_t = ρ·VCF", || format!("{density} × {factor} = {result}"));
    Ok(result)
}

/// The same as [`volume_at`] with a linear coefficient, exactly.
///
/// # Errors
/// A temperature outside the range; a coefficient below zero or above 0.002 per K.
pub fn volume_at_linear(
    volume: &Quantity,
    from: &Quantity,
    to: &Quantity,
    expansion: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    covered(from).map_err(|fault| fault.argument(1))?;
    covered(to).map_err(|fault| fault.argument(2))?;
    let beta = exactly_in(expansion, "1/K")?;
    let most = Number::ratio(2, 1_000).unwrap_or(Number::ZERO);
    if beta.is_negative() || beta > most {
        return Err(outside(
            format!("an expansion of {expansion} is outside 0 to 0.002 per K"),
            "0.0007 1/K is usual for oil",
        )
        .argument(3));
    }
    let change = to.sub(from)?;
    let factor = &Number::ONE + &(&beta * &change.base());
    let result = volume.mul(&factor.clone().into())?.in_unit_of(volume);
    working.line("linear expansion", "volume at the other temperature", "V = V_0·(1 + β·Δt)", || {
        format!("{volume} × (1 + {expansion} × {change}) = {result}")
    });
    Ok(result)
}

/// A fault of [`correction_factor`] as one of [`volume_at`], whose density is the fourth argument.
fn moved(fault: Fault, temperature: usize) -> Fault {
    let argument = if fault.argument == Some(TEMPERATURE as u32) { temperature } else { 3 };
    fault.argument(argument)
}

fn covered(temperature: &Quantity) -> Result<(), Fault> {
    let figure = exactly_in(temperature, "°C")?;
    let absolute = exactly_in(temperature, "K absolute")?;
    if absolute.is_negative() {
        return Err(impossible(
            format!("the temperature `{temperature}` is below absolute zero"),
            "check the sign and the unit of the temperature",
        ));
    }
    if figure < Number::from(-50_i64) || figure > Number::from(150_i64) {
        let unit = Unit::find("°C")?;
        return Err(outside(
            format!("a temperature of {} is outside −50 °C to 150 °C", temperature.in_unit(unit)),
            "the correction of volumes is stated for that range only",
        ));
    }
    Ok(())
}
