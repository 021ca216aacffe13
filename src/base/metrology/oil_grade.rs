//! Viscosity grades of engine oils: the kinematic viscosity at 100 °C that a grade allows.
//!
//! A grade such as 30 has a lowest viscosity that belongs to it and a highest that does not; a winter grade such
//! as 5W has a lowest only; 5W-30 must meet both. The grades 8, 12, 16 and 20 overlap on purpose. In mm²/s. What a
//! winter grade demands in the cold (cranking and pumping) and what a grade demands under high shear is not covered.
//! Source: SAE J300, 2015 (read).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Range, Unit};

use super::figure::unknown;
use super::working::Working;

/// Grade, least and least no longer allowed viscosity, in tenths of mm²/s.
const GRADES: [(&str, i128, i128); 8] = [
    ("8", 40, 61),
    ("12", 50, 71),
    ("16", 61, 82),
    ("20", 69, 93),
    ("30", 93, 125),
    ("40", 125, 163),
    ("50", 163, 219),
    ("60", 219, 261),
];

/// Winter grade and least viscosity, in tenths of mm²/s.
const WINTER_GRADES: [(&str, i128); 6] =
    [("0W", 38), ("5W", 38), ("10W", 41), ("15W", 56), ("20W", 56), ("25W", 93)];

/// The viscosity at 100 °C that a grade allows: `30`, `5W`, `5W-30`, with or without `SAE` before it.
///
/// # Errors
/// A text that is no grade.
pub fn allowed(grade: &str, working: &mut Working) -> Result<Range, Fault> {
    let fault = || {
        let shown: String = grade.chars().take(40).collect();
        unknown(
            format!("`{shown}` is not a viscosity grade of engine oils"),
            "write it as `5W-30`, `30` or `5W`",
        )
    };
    let text = grade.trim();
    let text = text.strip_prefix("SAE").map_or(text, str::trim_start);
    let (winter, summer) = match text.split_once('-') {
        Some((winter, summer)) => (Some(winter), Some(summer)),
        None if text.ends_with('W') => (Some(text), None),
        None => (None, Some(text)),
    };
    let least =
        winter.map(|name| WINTER_GRADES.iter().find(|row| row.0 == name).map(|row| row.1).ok_or_else(fault));
    let band = summer.map(|name| GRADES.iter().find(|row| row.0 == name).ok_or_else(fault));
    let (least, band) = (least.transpose()?, band.transpose()?);
    let unit = Unit::find("mm²/s")?;
    let tenths =
        |figure: i128| Number::ratio(figure, 10).map(|figure| Quantity::new(figure, unit)).ok_or_else(fault);
    let range = match (least, band) {
        (Some(least), None) => Range::at_least(tenths(least)?),
        (least, Some((_, low, high))) if least.is_none_or(|least| least < *high) => {
            Range::from_to_below(tenths(least.unwrap_or(*low).max(*low))?, tenths(*high)?)
        }
        _ => Err(fault()),
    }?;
    working.line("SAE J300 (2015)", "viscosity at 100 °C", "by the table", || format!("{grade}: {range}"));
    Ok(range)
}
