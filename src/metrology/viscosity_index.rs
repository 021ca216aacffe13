//! Viscosity index of an oil from its viscosities at 40 °C and 100 °C.
//!
//! | symbol | meaning |
//! |---|---|
//! | `U`, `Y` | kinematic viscosity at 40 °C and at 100 °C, mm²/s |
//! | `L`, `H` | viscosity at 40 °C of an oil of index 0 and 100 with the same Y |
//!
//! With U at or above H, VI = 100·(L − U)/(L − H). Below, VI = (10^N − 1)/0.00715 + 100 with
//! N = (log H − log U)/log Y. L and H are computed by the quadratic equations that the standard gives beside its
//! table; they agree with the table to 0.12 %, which moves the index by 0.1 at most. Valid for Y from 2 to 500 mm²/s,
//! U above Y. Source: ASTM D2270, ISO 2909 (examples read; coefficients from memory, compared with the table of an
//! independent library at all its 311 points).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{figure_in, impossible, outside, rounded};
use super::working::Working;

const SOURCE: &str = "ASTM D2270 / ISO 2909";

/// Up to which Y, and the coefficients of Y², Y and 1 for L and for H.
const EQUATIONS: [(f64, [f64; 3], [f64; 3]); 16] = [
    (3.8, [1.14673, 1.7576, -0.109], [0.84155, 1.5521, -0.077]),
    (4.4, [3.38095, -15.4952, 33.196], [0.78571, 1.7929, -0.183]),
    (5.0, [2.5, -7.2143, 13.812], [0.82143, 1.5679, 0.119]),
    (6.4, [0.101, 16.635, -45.469], [0.04985, 9.1613, -18.557]),
    (7.0, [3.35714, -23.5643, 78.466], [0.22619, 7.7369, -16.656]),
    (7.7, [0.01191, 21.475, -72.870], [0.79762, -0.7321, 14.610]),
    (9.0, [0.41858, 16.1558, -56.040], [0.05794, 10.5156, -28.240]),
    (12.0, [0.88779, 7.5527, -16.600], [0.26665, 6.7015, -10.810]),
    (15.0, [0.76720, 10.7972, -38.180], [0.20073, 8.4658, -22.490]),
    (18.0, [0.97305, 5.3135, -2.200], [0.28889, 5.9741, -4.930]),
    (22.0, [0.97256, 5.2500, -0.980], [0.24504, 7.4160, -16.730]),
    (28.0, [0.91413, 7.4759, -21.820], [0.20323, 9.1267, -34.230]),
    (40.0, [0.87031, 9.7157, -50.770], [0.18411, 10.1015, -46.750]),
    (55.0, [0.84703, 12.6752, -133.310], [0.17029, 11.4866, -80.620]),
    (70.0, [0.85921, 11.1009, -83.19], [0.17130, 11.3680, -76.940]),
    (f64::INFINITY, [0.83531, 14.6731, -216.246], [0.16841, 11.8493, -96.947]),
];

/// `L` and `H` for a viscosity at 100 °C in mm²/s.
#[must_use]
pub fn references(hot: f64) -> (f64, f64) {
    let row = EQUATIONS.iter().find(|(up_to, ..)| hot <= *up_to);
    let at = |[a, b, c]: [f64; 3]| (a * hot + b) * hot + c;
    row.map_or((f64::NAN, f64::NAN), |(_, low, high)| (at(*low), at(*high)))
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
