//! Whether values rise or fall in time, and how fast.
//!
//! Mann (1945), *Nonparametric tests against trend*, Econometrica 13:245; Kendall (1975), *Rank correlation methods*. S counts
//! the pairs that rise less those that fall; without a trend its variance is (n(n−1)(2n+5) − Σ t(t−1)(2t+5))/18 over groups of
//! t equal values, and (S ∓ 1)/√variance is nearly standard normal, from ten values on.
//!
//! Slope: the median of the slopes of all pairs, Theil (1950), *A rank-invariant method of linear and polynomial regression
//! analysis*; Sen (1968), *Estimates of the regression coefficient based on Kendall's tau*, J. Am. Stat. Assoc. 63:1379, also
//! for the interval: with N slopes in order and C = z √variance, the slopes number (N − C)/2 and (N + C)/2 + 1, rounded to whole
//! numbers (Gilbert 1987, *Statistical methods for environmental pollution monitoring*, 16.5, interpolates). All from memory.

use super::{Interval, median, ties, two_sided, z};

/// What Mann-Kendall says of a series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise less pairs that fall.
    pub s: f64,
    /// The variance of that without a trend.
    pub variance: f64,
    /// It, as a deviation of the standard normal distribution.
    pub z: f64,
    /// How probable so great a one is without a trend, to either side.
    pub p: f64,
}

/// The variance of S for values some of which are equal.
fn variance(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let term = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let tied: f64 = ties(&sorted).map(term).sum();
    (term(values.len() as f64) - tied) / 18.0
}

/// Whether a series, in the order of time, rises or falls. Work grows with the square of its length.
#[must_use]
pub fn mann_kendall(values: &[f64]) -> Option<MannKendall> {
    let variance = variance(values);
    if values.len() < 3 || variance <= 0.0 || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut s = 0.0;
    for (number, earlier) in values.iter().enumerate() {
        for later in values.iter().skip(number + 1) {
            s += match later.total_cmp(earlier) {
                _ if later == earlier => 0.0,
                std::cmp::Ordering::Greater => 1.0,
                _ => -1.0,
            };
        }
    }
    let towards = if s > 0.0 {
        s - 1.0
    } else if s < 0.0 {
        s + 1.0
    } else {
        0.0
    };
    let z = towards / variance.sqrt();
    Some(MannKendall { s, variance, z, p: two_sided(z) })
}

/// How much values change for each unit of time, with the interval. Points are a time and a value; times differ.
#[must_use]
pub fn theil_sen(points: &[(f64, f64)]) -> Option<(f64, Interval)> {
    if points.iter().any(|(time, value)| !time.is_finite() || !value.is_finite()) {
        return None;
    }
    let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
    for (number, (from, before)) in points.iter().enumerate() {
        let later = points.iter().skip(number + 1).filter(|(to, _)| to != from);
        slopes.extend(later.map(|(to, after)| (after - before) / (to - from)));
    }
    let slope = median(&mut slopes)?;
    let values: Vec<f64> = points.iter().map(|(_, value)| *value).collect();
    let reach = z() * variance(&values).max(0.0).sqrt();
    let number = slopes.len() as f64;
    let last = slopes.len() - 1;
    // Numbered from 1 there, from 0 here.
    let low = (((number - reach) / 2.0).round_ties_even() - 1.0).max(0.0) as usize;
    let high = (((number + reach) / 2.0).round_ties_even()).min(last as f64) as usize;
    Some((slope, Interval { low: *slopes.get(low.min(last))?, high: *slopes.get(high)? }))
}
