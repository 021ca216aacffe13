//! The filtration ratio of the multi-pass test.
//!
//! | symbol | meaning |
//! |---|---|
//! | `N_up`, `N_down` | particles of at least `x` µm(c) per volume before and behind the filter |
//! | `β_x` | filtration ratio N_up/N_down |
//! | `e` | efficiency, the share held back: 1 − 1/β |
//!
//! A ratio belongs to a particle size and says nothing without it; the medium of a filter implies none. β from
//! 1, e from 0 to below 1; exact. Source: ISO 16889 (read); for engine oil filters ISO 4548-12 (from memory).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Unit};

use super::figure::impossible;
use super::working::Working;

const SOURCE: &str = "ISO 16889";

/// The share of particles that a filter with this ratio holds back.
///
/// # Errors
/// A ratio below 1.
pub fn efficiency(beta: &Number, working: &mut Working) -> Result<Quantity, Fault> {
    let passed =
        Some(beta).filter(|beta| **beta >= Number::ONE).and_then(|beta| Number::ONE.checked_div(beta));
    let passed = passed.ok_or_else(|| {
        impossible(
            format!(
                "a filtration ratio of {beta} is below 1, as if more particles left the filter than came"
            ),
            "write the ratio of the counts before and behind the filter, such as 75",
        )
    })?;
    let share = Quantity::from(&Number::ONE - &passed).in_unit(Unit::find("%")?);
    working.line(SOURCE, "efficiency", "e = 1 − 1/β", || format!("1 − 1/{beta} = {share}"));
    Ok(share)
}

/// The filtration ratio of a filter that holds back this share.
///
/// # Errors
/// A share below 0, or of all particles or more.
pub fn ratio(efficiency: &Quantity, working: &mut Working) -> Result<Number, Fault> {
    let passed = &Number::ONE - &efficiency.base();
    let sound = passed > Number::ZERO && passed <= Number::ONE;
    let beta = if sound { Number::ONE.checked_div(&passed) } else { None };
    let beta = beta.ok_or_else(|| {
        impossible(
            format!("an efficiency of {efficiency} is no share from 0 to below 1"),
            "write the share of particles that the filter holds back, such as `98.7 %`",
        )
    })?;
    let beta = beta.reduced();
    working.line(SOURCE, "filtration ratio", "β = 1/(1 − e)", || format!("1/(1 − {efficiency}) = {beta}"));
    Ok(beta)
}
