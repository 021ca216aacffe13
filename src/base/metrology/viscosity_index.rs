//! Viscosity index of an oil from its viscosities at 40 °C and 100 °C.
//!
//! | symbol | meaning |
//! |---|---|
//! | `U`, `Y` | kinematic viscosity at 40 °C and at 100 °C, mm²/s |
//! | `L`, `H` | viscosity at 40 °C of an oil of index 0 and 100 with the same Y |
//!
//! With U at or above H, VI = 100·(L − U)/(L − H). Below, VI = (10^N − 1)/0.00715 + 100 with
//! N = (log H − log U)/log Y. Up to Y = 70 mm²/s, L and H are those of the standard's table, straight between its rows;
//! the quadratic equations that are published beside it part from it by up to 0.3 index units from 0 to 200, and more
//! above. Past 70 mm²/s there are equations only. The standard rounds L and H before it goes on, which moves the
//! index by 0.1 at most in its examples. Valid for Y from 2 to 500 mm²/s, U above Y. Source: ASTM D2270, ISO 2909
//! (examples read; equations from memory; of the table see there).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{figure_in, impossible, outside, rounded};
use super::viscosity_table;
use super::working::Working;

const SOURCE: &str = "ASTM D2270 / ISO 2909";

/// `L` and `H` for a viscosity at 100 °C in mm²/s.
#[must_use]
pub fn references(hot: f64) -> (f64, f64) {
    if hot <= viscosity_table::END {
        return viscosity_table::between_rows(hot).unwrap_or((f64::NAN, f64::NAN));
    }
    ((0.8353 * hot + 14.67) * hot - 216.0, (0.1684 * hot + 11.85) * hot - 97.0)
}

/// The viscosity index as the standard reports it: the nearest whole number, the even one of two as near.
///
/// # Errors
/// As [`index`].
pub fn whole_index(at_40: &Quantity, at_100: &Quantity, working: &mut Working) -> Result<Number, Fault> {
    let index = index(at_40, at_100, working)?;
    let whole = rounded(index.to_f64().round_ties_even())?;
    working.line(SOURCE, "reported", "nearest whole number", || format!("{index}: {whole}"));
    Ok(whole)
}

/// The viscosity index, not rounded to a whole number yet.
///
/// # Errors
/// A viscosity at 100 °C outside 2 to 500 mm²/s; an oil that would be no thinner at 100 °C than at 40 °C.
pub fn index(at_40: &Quantity, at_100: &Quantity, working: &mut Working) -> Result<Number, Fault> {
    let (cold, hot) = (figure_in(at_40, "mm²/s")?, figure_in(at_100, "mm²/s")?);
    if !(2.0..=500.0).contains(&hot) {
        return Err(outside(
            format!("a viscosity of {at_100} at 100 °C is outside 2 to 500 mm²/s"),
            "below 2 mm²/s the viscosity index is not defined",
        )
        .argument(1));
    }
    if cold <= hot {
        return Err(impossible(
            format!("{at_40} at 40 °C and {at_100} at 100 °C would be an oil that does not thin as it warms"),
            "check whether the two viscosities were exchanged",
        ));
    }
    let (low, high) = references(hot);
    if cold >= high {
        let index = rounded(100.0 * (low - cold) / (low - high))?;
        working.line(SOURCE, "viscosity index", "VI = 100·(L − U)/(L − H)", || {
            format!("L = {low:.2}, H = {high:.2}: {index}")
        });
        return Ok(index);
    }
    let power = (high.log10() - cold.log10()) / hot.log10();
    let index = rounded((10_f64.powf(power) - 1.0) / 0.00715 + 100.0)?;
    working.line(
        SOURCE,
        "viscosity index",
        "VI = (10^N − 1)/0.00715 + 100, N = (log H − log U)/log Y",
        || format!("H = {high:.2}, N = {power:.5}: {index}"),
    );
    Ok(index)
}
