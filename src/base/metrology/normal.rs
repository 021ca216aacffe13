//! The normal distribution: its distribution function and its quantile.
//!
//! | symbol | meaning |
//! |---|---|
//! | `z` | distance from the mean, in standard deviations |
//! | `φ(z)` | density, exp(−z²/2) / √(2π) |
//! | `Φ(z)` | probability of lying at or below `z` |
//! | `Q(z)` | probability of lying above `z`, 1 − Φ(z) |
//!
//! Formulas of Abramowitz and Stegun, *Handbook of Mathematical Functions* (1964), chapter 26: near the mean
//! the series 26.2.11, Φ(z) = ½ + φ(z)·Σ z²ⁿ⁺¹/(1·3·5···(2n+1)); in the tails the continued fraction 26.2.14,
//! Q(z) = φ(z)/(z + 1/(z + 2/(z + 3/(z + …)))). The quantile begins with the approximation 26.2.23 and is
//! then mended by Newton's method in logarithms of the tail. Valid for every z, and for every probability
//! above 0 and below 1; the error is below 1e-12 of the tail and of the quantile.
//!
//! These probabilities are printed and used for guard bands; no plain verdict is decided by them.

use std::f64::consts::PI;

/// From here on the continued fraction is better than the series.
const TAIL: f64 = 2.5;
/// So many steps of the continued fraction are exact in doubles from [`TAIL`] on.
const DEPTH: u32 = 200;

/// The probability of lying at or below `z`.
#[must_use]
pub fn below(z: f64) -> f64 {
    above(-z)
}

/// The probability of lying above `z`; small ones keep all their digits.
#[must_use]
pub fn above(z: f64) -> f64 {
    if z.is_nan() {
        z
    } else if z < -TAIL {
        1.0 - tail(-z)
    } else if z > TAIL {
        tail(z)
    } else {
        0.5 - middle(z)
    }
}

/// The `z` that a share `probability` of the distribution lies at or below; nothing unless the probability
/// is above 0 and below 1.
#[must_use]
pub fn quantile(probability: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    // 1 − p is exact from one half on, by Sterbenz's lemma, and the smaller tail keeps its digits.
    Some(match probability {
        0.5 => 0.0,
        p if p > 0.5 => far(1.0 - p),
        p => -far(p),
    })
}

/// Φ(z) − ½ for a `z` near the mean.
fn middle(z: f64) -> f64 {
    let (mut term, mut sum, mut odd) = (z, z, 1.0);
    while term.abs() > sum.abs() * f64::EPSILON / 4.0 {
        odd += 2.0;
        term *= z * z / odd;
        sum += term;
    }
    density(z) * sum
}

/// Q(z) for a `z` well above the mean.
fn tail(z: f64) -> f64 {
    let fraction = (1..=DEPTH).rev().fold(z, |below, step| z + f64::from(step) / below);
    density(z) / fraction
}

fn density(z: f64) -> f64 {
    (-z * z / 2.0).exp() / (2.0 * PI).sqrt()
}

/// The `z` above zero of which Q(z) is `share`, below one half.
fn far(share: f64) -> f64 {
    let t = (-2.0 * share.ln()).sqrt();
    let rough = t
        - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    // The logarithm of the tail is nearly straight, so a few steps are enough from anywhere.
    let better = |z: f64, _| {
        let tail = above(z);
        z + (tail / share).ln() * tail / density(z)
    };
    (0..4).fold(rough, better)
}
