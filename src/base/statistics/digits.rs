//! Whether the last digits of readings are those of somebody who reads a scale.
//!
//! Where readings spread over many steps of their last digit, each of the ten digits is about as frequent as the others
//! (Preece 1981, *Distributions of final digits in data*, The Statistician 30:31). The test is chi-square of Pearson (1900) with
//! nine degrees of freedom; at least five readings are expected of each digit, Cochran (1954), *Some methods for strengthening
//! the common χ² tests*, Biometrics 10:417. All from memory.

use super::{chi_square_above, real};

/// So many readings give five of each digit.
pub const FEWEST: u64 = 50;

/// How probable counts of the ten digits are that differ at least so much, with chi-square; none of fewer than [`FEWEST`].
#[must_use]
pub fn uniform(counts: &[u64; 10]) -> Option<(f64, f64)> {
    let all: u64 = counts.iter().sum();
    let expected = real(all) / 10.0;
    let square = |count: &u64| (real(*count) - expected).powi(2) / expected;
    let value: f64 = (all >= FEWEST).then(|| counts.iter().map(square).sum())?;
    Some((value, chi_square_above(value, 9.0)?))
}
