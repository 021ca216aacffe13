//! Shares of counted things.
//!
//! Interval of one share: the score interval of Wilson (1927), *Probable inference, the law of succession, and statistical
//! inference*, J. Am. Stat. Assoc. 22:209. With n things of which x count, p = x/n and z the normal quantile:
//! (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n).
//!
//! Interval of the difference of two shares: method 10 of Newcombe (1998), *Interval estimation for the difference between
//! independent proportions*, Statistics in Medicine 17:873, from the score intervals l..u of both:
//! d − √((p₁−l₁)² + (u₂−p₂)²) .. d + √((u₁−p₁)² + (p₂−l₂)²).

use super::{Interval, real, z};

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// Those that count.
    pub count: u64,
    /// All.
    pub of: u64,
}

impl Share {
    /// The share itself; none of nothing.
    #[must_use]
    pub fn value(self) -> Option<f64> {
        (self.of > 0 && self.count <= self.of).then(|| real(self.count) / real(self.of))
    }
}

/// The score interval of a share.
#[must_use]
pub fn wilson(share: Share) -> Option<Interval> {
    let (p, n, z) = (share.value()?, real(share.of), z());
    let middle = p + z * z / (2.0 * n);
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z * z / n;
    // At 0 and 1 the end is exact, and rounding must not put it beside it.
    let low = if share.count == 0 { 0.0 } else { (middle - half) / whole };
    let high = if share.count == share.of { 1.0 } else { (middle + half) / whole };
    Some(Interval { low, high })
}

/// How much greater the second share is than the first, with the interval.
#[must_use]
pub fn newcombe(first: Share, second: Share) -> Option<(f64, Interval)> {
    let (p, q) = (first.value()?, second.value()?);
    let (of_p, of_q) = (wilson(first)?, wilson(second)?);
    let difference = q - p;
    let below = (q - of_q.low).hypot(of_p.high - p);
    let above = (of_q.high - q).hypot(p - of_p.low);
    Some((difference, Interval { low: difference - below, high: difference + above }))
}
