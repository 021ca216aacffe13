//! Hand torque tools: permissible deviation by type and class, calibration, overload.
//!
//! | symbol | meaning |
//! |---|---|
//! | `X_a` | torque set or indicated |
//! | `X_r` | torque of the reference device |
//! | `a` | deviation (X_a − X_r)/X_r |
//! | `u` | standard uncertainty of a torque within the permissible deviation `e`: e·T/√3, rectangular |
//!
//! Type I tools indicate, type II tools are set. A class has ±6 % or ±4 %; where the two part, the greatest
//! torque of the *tool* decides, at 10 N·m, not the torque that it is set to. A calibration holds for 12 months
//! or 5,000 operations, whichever is over first; a tool loaded beyond 125 % of its greatest torque is checked
//! before it is used again. Source: ISO 6789-1:2017 (type II class A read in a summary; the other classes, the
//! interval and the overload from memory); JCGM 100:2008, 4.3.7 for the rectangular distribution.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::diagnostic::{Fault, nearest};
use crate::quantity::{Number, Quantity, Unit};

use super::figure::{impossible, outside, rounded, unknown};
use super::working::Working;

const SOURCE: &str = "ISO 6789-1:2017";

/// A row of [`TOOL_CLASSES`].
#[derive(Clone, Copy, Debug)]
pub struct ToolClass {
    /// `I` for tools that indicate, `II` for tools that are set.
    pub kind: &'static str,
    /// The letter of the class.
    pub class: &'static str,
    /// What such a tool is.
    pub meaning: &'static str,
    /// Per cent of permissible deviation for tools of up to 10 N·m.
    pub small: i64,
    /// The same for greater ones.
    pub large: i64,
}

/// Every type and class.
pub const TOOL_CLASSES: &[ToolClass] = &[
    row("I", "A", "wrench whose bending or twisting beam shows the torque", 6, 6),
    row("I", "B", "wrench with a rigid housing and a scale, dial or display", 6, 4),
    row("I", "C", "wrench with electronic measurement", 6, 4),
    row("I", "D", "screwdriver with a scale, dial or display", 6, 6),
    row("I", "E", "screwdriver with electronic measurement", 6, 4),
    row("II", "A", "wrench that can be set, with a scale or display", 6, 4),
    row("II", "B", "wrench with one fixed setting", 6, 4),
    row("II", "C", "wrench that can be set, without a scale", 6, 4),
    row("II", "D", "screwdriver that can be set, with a scale or display", 6, 6),
    row("II", "E", "screwdriver with one fixed setting", 6, 6),
    row("II", "F", "screwdriver that can be set, without a scale", 6, 6),
    row("II", "G", "wrench with a bending beam that can be set", 6, 6),
];

const fn row(
    kind: &'static str,
    class: &'static str,
    meaning: &'static str,
    small: i64,
    large: i64,
) -> ToolClass {
    ToolClass { kind, class, meaning, small, large }
}

/// The permissible deviation of a tool, in per cent to either side.
///
/// # Errors
/// A type or class that is not in the table; a greatest torque that is not above zero.
pub fn permissible_deviation(
    kind: &str,
    class: &str,
    greatest: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let row = TOOL_CLASSES.iter().find(|row| row.kind == kind && row.class == class);
    let row = row.ok_or_else(|| no_class(kind, class))?;
    above_zero(greatest, "the greatest torque of the tool").map_err(|fault| fault.argument(2))?;
    let split = Quantity::new(Number::from(10_i64), Unit::find("Nm")?);
    greatest.kind().comparable(split.kind())?;
    let small = greatest.compare(&split).is_le();
    let percent = if small { row.small } else { row.large };
    working.line(SOURCE, "permissible deviation", "by type, class and greatest torque", || {
        let side = if small { "at most" } else { "above" };
        format!("type {kind} class {class} ({}), {greatest} is {side} 10 Nm: ±{percent} %", row.meaning)
    });
    Ok(Quantity::new(Number::from(percent), Unit::find("%")?))
}

/// The deviation of a tool that was set to or showed `shown` while the reference device read `reference`.
///
/// # Errors
/// A reference that is not above zero; kinds that do not go together.
pub fn deviation(shown: &Quantity, reference: &Quantity, working: &mut Working) -> Result<Quantity, Fault> {
    above_zero(reference, "the torque of the reference device").map_err(|fault| fault.argument(1))?;
    let share = shown.sub(reference)?.div(reference)?.in_unit(Unit::find("%")?);
    working.line(SOURCE, "deviation", "a = (X_a − X_r)/X_r", || {
        format!("({shown} − {reference})/{reference} = {share}")
    });
    Ok(share)
}

/// The standard uncertainty of a torque that a tool within its permissible deviation gives.
///
/// # Errors
/// A deviation below zero.
pub fn standard_uncertainty(
    torque: &Quantity,
    permissible: &Quantity,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    if permissible.magnitude().is_negative() {
        return Err(impossible(
            format!("the permissible deviation `{permissible}` is below zero"),
            "write it without a sign, such as `4 %`",
        )
        .argument(1));
    }
    let reach = torque.mul(permissible)?;
    let figure = rounded(reach.magnitude().to_f64().abs() / 3_f64.sqrt())?;
    let uncertainty = match reach.unit() {
        Some(unit) => Quantity::new(figure, unit),
        None => Quantity::from_base(figure, reach.kind()),
    };
    let uncertainty = uncertainty.in_unit_of(torque);
    working.line("JCGM 100:2008, 4.3.7", "standard uncertainty", "u = e·T/√3", || {
        format!("{permissible} × {torque}/√3 = {uncertainty}")
    });
    Ok(uncertainty)
}

/// Whether a torque is an overload for a tool with this greatest torque: more than 125 % of it.
///
/// # Errors
/// Kinds that do not compare; a greatest torque that is not above zero.
pub fn is_overload(torque: &Quantity, greatest: &Quantity) -> Result<bool, Fault> {
    torque.kind().comparable(greatest.kind())?;
    above_zero(greatest, "the greatest torque of the tool").map_err(|fault| fault.argument(1))?;
    let limit = &greatest.base() * &Number::ratio(5, 4).unwrap_or(Number::ONE);
    Ok(torque.base() > limit)
}

/// How long a calibration holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Interval {
    /// Calendar months.
    pub months: u32,
    /// Operations.
    pub operations: u64,
}

impl Default for Interval {
    fn default() -> Self {
        Interval { months: 12, operations: 5_000 }
    }
}

/// Why a tool is out of calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lapse {
    /// The calibration is younger than the use.
    CalibratedLater,
    /// It was due on this day.
    Due(Date),
    /// The tool has made more operations than this.
    Operations(u64),
}

/// Why a tool was out of calibration on the day of use; nothing when it was not.
///
/// # Errors
/// An interval that ends past the calendar.
pub fn lapse(
    calibrated: Date,
    used: Date,
    operations: Option<u64>,
    interval: Interval,
) -> Result<Option<Lapse>, Fault> {
    let due = due(calibrated, interval.months)?;
    Ok(if used < calibrated {
        Some(Lapse::CalibratedLater)
    } else if used > due {
        Some(Lapse::Due(due))
    } else if operations.is_some_and(|made| made > interval.operations) {
        Some(Lapse::Operations(interval.operations))
    } else {
        None
    })
}

/// The last day on which a calibration holds: the same day so many calendar months later, or the last of
/// that month where it has no such day.
///
/// # Errors
/// A day past the calendar.
pub fn due(calibrated: Date, months: u32) -> Result<Date, Fault> {
    // A century is longer than any interval, and the calendar ends in the year 9999.
    const MOST: u32 = 1_200;
    let day = if months <= MOST { calibrated.checked_add(i64::from(months).months()).ok() } else { None };
    day.ok_or_else(|| {
        outside(
            format!("{months} months after {calibrated} is no day to work with"),
            "write the interval in months, such as 12",
        )
    })
}

fn above_zero(torque: &Quantity, what: &str) -> Result<(), Fault> {
    if torque.magnitude() > &Number::ZERO {
        return Ok(());
    }
    Err(impossible(format!("{what} is `{torque}`, which is not above zero"), "check the value and its sign"))
}

fn no_class(kind: &str, class: &str) -> Fault {
    let classes: Vec<&str> =
        TOOL_CLASSES.iter().filter(|row| row.kind == kind).map(|row| row.class).collect();
    if classes.is_empty() {
        let meant = nearest(kind, ["I", "II"]).unwrap_or("II");
        return unknown(
            format!("there is no type `{kind}` of torque tools"),
            format!("write `I` for a tool that indicates and `II` for one that is set, perhaps `{meant}`"),
        );
    }
    unknown(
        format!("type {kind} of torque tools has no class `{class}`"),
        format!("its classes are {}", classes.join(", ")),
    )
    .argument(1)
}
