//! Torque through an adapter that lengthens the lever of a torque wrench: crowfoot, angled, turned back.
//!
//! | symbol | meaning |
//! |---|---|
//! | `T` | torque at the fastener |
//! | `T_set` | setting or reading of the wrench |
//! | `L` | from the middle of the drive to the point of the grip where the hand pulls |
//! | `E` | from the middle of the drive to that of the fastener |
//! | `θ` | angle between adapter and wrench: 0° straight ahead, 90° square, 180° turned back |
//!
//! T_set = T·L/(L + E·cos θ). Lengths in one unit, angles from −180° to 180°, L + E·cos θ above zero. A straight
//! socket extension is no adapter. Source: US Army TM 9-254, torque wrench adapters (read); FAA AC 43.13-1B,
//! chapter 7 (from memory).
//!
//! Exact but for the cosine, which is exact at 0°, 60°, 90°, 120° and 180° and rounded to twelve digits at other
//! angles.

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{exactly_in, impossible, outside};
use super::working::Working;

const SOURCE: &str = "US Army TM 9-254";
/// Places of the arguments, for faults.
const LEVER: usize = 1;
const OFFSET: usize = 2;
const ANGLE: usize = 3;

/// The torque at the fastener of a wrench set to `setting`, in the unit of the setting.
///
/// # Errors
/// A lever that is not above zero; an offset below zero; an angle past ±180°; L + E·cos θ not above zero.
pub fn torque_at_fastener(
    setting: &Quantity,
    lever: &Quantity,
    offset: &Quantity,
    angle: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let torque = setting.mul(&ratio(lever, offset, angle)?.into())?;
    working.line(SOURCE, "torque at the fastener", "T = T_set·(L + E·cos θ)/L", || {
        format!("{setting} × ({lever} + {offset}·cos {angle})/{lever} = {torque}")
    });
    Ok(torque)
}

/// The setting of the wrench for a wanted torque at the fastener, in the unit of that torque.
///
/// # Errors
/// As [`torque_at_fastener`].
pub fn wrench_setting(
    wanted: &Quantity,
    lever: &Quantity,
    offset: &Quantity,
    angle: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let setting = wanted.div(&ratio(lever, offset, angle)?.into())?;
    working.line(SOURCE, "setting of the wrench", "T_set = T·L/(L + E·cos θ)", || {
        format!("{wanted} × {lever}/({lever} + {offset}·cos {angle}) = {setting}")
    });
    Ok(setting)
}

/// (L + E·cos θ)/L.
fn ratio(lever: &Quantity, offset: &Quantity, angle: &Quantity) -> Result<Number, Fault> {
    let (length, arm) = (exactly_in(lever, "mm")?, exactly_in(offset, "mm")?);
    if length <= Number::ZERO {
        return Err(impossible(
            format!("the lever of the wrench is `{lever}`, which is not above zero"),
            "measure from the middle of the drive to the middle of the grip",
        )
        .argument(LEVER));
    }
    if arm.is_negative() {
        return Err(impossible(
            format!("the length of the adapter is `{offset}`, which is below zero"),
            "an adapter that is turned back has an angle above 90°, not a length below zero",
        )
        .argument(OFFSET));
    }
    let whole = &length + &(&arm * &cosine(angle)?);
    if whole <= Number::ZERO {
        return Err(outside(
            format!("an adapter of {offset} at {angle} reaches behind a lever of {lever}"),
            "L + E·cos θ must be above zero: check the two lengths and the angle",
        )
        .argument(OFFSET));
    }
    whole.checked_div(&length).ok_or_else(|| {
        outside("the lengths have too many digits to work with", "measure them in whole millimetres")
    })
}

fn cosine(angle: &Quantity) -> Result<Number, Fault> {
    if exactly_in(angle, "turn")?.abs().to_f64() > 0.5 {
        return Err(outside(
            format!("the angle `{angle}` between adapter and wrench is past 180°"),
            "0° is straight ahead, 90° square, 180° turned back",
        )
        .argument(ANGLE));
    }
    super::angle::cosine(angle)
}
