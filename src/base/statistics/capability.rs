//! How well a spread of values fits between two limits.
//!
//! Cp = (U − L)/6s and Cpk = min(U − x̄, x̄ − L)/3s, with the standard deviation s of all n values; ISO 22514-2:2017 calls the same
//! figures performance (Pp, Ppk) where the process is not stable. Interval of Cp: Cp √(χ²(α/2; n−1)/(n−1)) to the same with
//! 1 − α/2, exact for normal values; of Cpk: Cpk ± z √(1/9n + Cpk²/2(n−1)), Bissell (1990), *How reliable is your capability
//! index?*, Applied Statistics 39:331. All from memory.

use super::{CONFIDENCE, Interval, chi_square_quantile, deviation, mean, z};

/// The indices of a spread, with their intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capability {
    /// The width of the limits for the spread.
    pub cp: f64,
    /// Its interval.
    pub of_cp: Interval,
    /// The distance of the mean from the nearer limit for the spread.
    pub cpk: f64,
    /// Its interval.
    pub of_cpk: Interval,
}

/// The indices of values between a lower and an upper limit; none where the values do not vary.
#[must_use]
pub fn capability(values: &[f64], low: f64, high: f64) -> Option<Capability> {
    let (mean, spread) = (mean(values)?, deviation(values)?);
    if !(spread > 0.0 && spread.is_finite() && high > low) {
        return None;
    }
    let n = values.len() as f64;
    let cp = (high - low) / (6.0 * spread);
    let cpk = (high - mean).min(mean - low) / (3.0 * spread);
    let end = |p: f64| Some(cp * (chi_square_quantile(p, n - 1.0)? / (n - 1.0)).sqrt());
    let tail = (1.0 - CONFIDENCE) / 2.0;
    let half = z() * (1.0 / (9.0 * n) + cpk * cpk / (2.0 * (n - 1.0))).sqrt();
    Some(Capability {
        cp,
        of_cp: Interval { low: end(tail)?, high: end(1.0 - tail)? },
        cpk,
        of_cpk: Interval { low: cpk - half, high: cpk + half },
    })
}
