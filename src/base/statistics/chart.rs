//! The chart of individual values and moving ranges.
//!
//! ISO 7870-2:2023, *Control charts — Part 2: Shewhart control charts*; Shewhart (1931). The moving range is the distance of
//! two values that follow each other. With their means x̄ and R̄: limits x̄ ± 3 R̄/d₂ = x̄ ± 2.660 R̄, upper limit of the ranges
//! D₄ R̄ = 3.267 R̄, for two values d₂ = 1.128. Besides points outside: nine in a row on one side of the mean, test 2 of Nelson
//! (1984), *The Shewhart control chart: tests for special causes*, J. Quality Technology 16:237. All from memory.

use super::mean;

/// 3/d₂ for ranges of two values.
pub const TO_LIMITS: f64 = 2.66;
/// D₄ for ranges of two values.
pub const TO_RANGE_LIMIT: f64 = 3.267;
/// d₂ for ranges of two values.
pub const D2: f64 = 1.128;
/// So many on one side of the mean are a run.
pub const RUN: usize = 9;

/// A chart of individual values.
#[derive(Clone, Debug, PartialEq)]
pub struct Individuals {
    /// The mean of the values.
    pub mean: f64,
    /// The mean of the moving ranges.
    pub range: f64,
    /// The lower limit.
    pub lower: f64,
    /// The upper limit.
    pub upper: f64,
    /// The upper limit of the moving ranges.
    pub range_upper: f64,
    /// The numbers of the values outside the limits.
    pub outside: Vec<usize>,
    /// The numbers of the values whose distance from the one before is above its limit.
    pub jumps: Vec<usize>,
    /// The numbers of the values that end or continue a run on one side of the mean.
    pub runs: Vec<usize>,
}

impl Individuals {
    /// Whether nothing speaks of a special cause.
    #[must_use]
    pub fn is_stable(&self) -> bool {
        self.outside.is_empty() && self.jumps.is_empty() && self.runs.is_empty()
    }
}

/// The chart of values in the order of time; none of fewer than two.
#[must_use]
pub fn individuals(values: &[f64]) -> Option<Individuals> {
    let ranges: Vec<f64> =
        values.iter().zip(values.iter().skip(1)).map(|(one, next)| (next - one).abs()).collect();
    let (mean, range) = (mean(values)?, mean(&ranges)?);
    let (lower, upper) = (mean - TO_LIMITS * range, mean + TO_LIMITS * range);
    let range_upper = TO_RANGE_LIMIT * range;
    // Equal values have limits at themselves, and rounding of their mean puts none of them outside.
    let slack = (mean.abs() + range) * 1e-12;
    let outside =
        |(number, value): (usize, &f64)| (*value < lower - slack || *value > upper + slack).then_some(number);
    let jump = |(number, range): (usize, &f64)| (*range > range_upper + slack).then_some(number + 1);
    let (mut runs, mut side, mut length) = (Vec::new(), 0_i8, 0_usize);
    for (number, value) in values.iter().enumerate() {
        let here = if *value > mean + slack {
            1
        } else if *value < mean - slack {
            -1
        } else {
            0
        };
        length = if here == side { length + 1 } else { 1 };
        side = here;
        if side != 0 && length >= RUN {
            runs.push(number);
        }
    }
    Some(Individuals {
        mean,
        range,
        lower,
        upper,
        range_upper,
        outside: values.iter().enumerate().filter_map(outside).collect(),
        jumps: ranges.iter().enumerate().filter_map(jump).collect(),
        runs,
    })
}
