//! Boiling points of brake fluids by class.
//!
//! The least equilibrium reflux boiling point of a fluid as delivered (dry) and after it has taken up water under
//! stated conditions (wet). DOT 5 is silicone based, DOT 5.1 is not; both have the boiling points of DOT 5. Source:
//! FMVSS 116, 49 CFR 571.116, S5.1.1 and S5.1.2 (from memory). A boiling point that was measured in the vehicle says
//! when to renew the fluid; what it must be then is the maker's to say, and the wet point is the usual bound.

use crate::diagnostic::{Fault, nearest};
use crate::quantity::{Number, Quantity, Unit};

use super::figure::unknown;
use super::working::Working;

/// Class, least dry and least wet boiling point in °C.
const CLASSES: [(&str, i64, i64); 4] =
    [("DOT 3", 205, 140), ("DOT 4", 230, 155), ("DOT 5", 260, 180), ("DOT 5.1", 260, 180)];

/// How much water a fluid holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Water {
    /// As delivered.
    Dry,
    /// After taking up water.
    Wet,
}

/// The least boiling point of a class.
///
/// # Errors
/// A text that is no class.
pub fn boiling_point(class: &str, water: Water, working: &mut Working) -> Result<Quantity, Fault> {
    let close = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
    let row = CLASSES.iter().find(|(name, ..)| close(name) == close(class));
    let (name, dry, wet) = row.ok_or_else(|| {
        let shown: String = class.chars().take(40).collect();
        let fault = format!("`{shown}` is not a class of brake fluid");
        let names = || CLASSES.iter().map(|row| row.0);
        match nearest(&shown, names()) {
            Some(near) => unknown(fault, format!("did you mean `{near}`?")),
            None => unknown(fault, format!("the classes are {}", names().collect::<Vec<_>>().join(", "))),
        }
    })?;
    let (degrees, state) = if water == Water::Dry { (*dry, "dry") } else { (*wet, "wet") };
    let point = Quantity::new(Number::from(degrees), Unit::find("°C")?);
    working.line("49 CFR 571.116", "least boiling point", "by the table", || {
        format!("{name}, {state}: {point}")
    });
    Ok(point)
}
