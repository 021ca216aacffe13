//! Published methods of statistics, one file each, on plain `f64`: what is said of many records, and decides no verdict.
//!
//! Every method answers `None` where it has no answer: too few values, or nothing that varies. How many values are too few
//! for a claim is said by who makes it. Distributions and their quantiles are those of `statrs`.

pub mod capability;
pub mod chart;
pub mod digits;
pub mod exact;
pub mod proportion;
pub mod ranks;
pub mod several;
pub mod strata;
pub mod trend;

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// How sure the intervals are: so great a share of them holds the true value.
pub const CONFIDENCE: f64 = 0.95;

/// From a lower to an upper end that are stated with [`CONFIDENCE`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// The quantile of the standard normal distribution for an interval with both sides.
#[must_use]
pub fn z() -> f64 {
    Normal::standard().inverse_cdf(f64::midpoint(1.0, CONFIDENCE))
}

/// How probable a deviation of the standard normal distribution is that is at least as great, to either side.
#[must_use]
pub fn two_sided(z: f64) -> f64 {
    (2.0 * Normal::standard().sf(z.abs())).min(1.0)
}

/// The quantile of chi-square below which the share `p` lies.
fn chi_square_quantile(p: f64, freedom: f64) -> Option<f64> {
    ChiSquared::new(freedom).ok().map(|distribution| distribution.inverse_cdf(p))
}

/// How probable a value of chi-square is that is at least as great.
fn chi_square_above(value: f64, freedom: f64) -> Option<f64> {
    ChiSquared::new(freedom).ok().map(|distribution| distribution.sf(value))
}

/// A count as a number to compute with. Counts here are far below 2^52.
#[must_use]
pub fn real(count: u64) -> f64 {
    count as f64
}

/// The mean; none of no values.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The middle value of a list that is put in order by it.
#[must_use]
pub fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    match values.len() % 2 {
        0 => Some(f64::midpoint(*values.get(middle.checked_sub(1)?)?, upper)),
        _ => Some(upper),
    }
}

/// The standard deviation of a sample, with n − 1.
#[must_use]
pub fn deviation(values: &[f64]) -> Option<f64> {
    let mean = mean(values).filter(|_| values.len() > 1)?;
    // The mean of equal values is rounded and may lie beside them.
    if values.iter().zip(values.iter().skip(1)).all(|(one, next)| one == next) {
        return Some(0.0);
    }
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Some((squares / (values.len() as f64 - 1.0)).sqrt())
}

/// How many equal values stand together in a sorted list.
fn ties(sorted: &[f64]) -> impl Iterator<Item = f64> {
    sorted.chunk_by(|one, other| one == other).map(|equal| equal.len() as f64)
}
