//! Whether one source of values reads higher or lower than others at the same work.
//!
//! Within one kind of work: the rank sum of Wilcoxon (1945) and Mann and Whitney (1947), with m values of one source among
//! N: expected m(N+1)/2, variance m(N−m)/12 (N + 1 − Σ(t³−t)/(N(N−1))) over groups of t equal values. Over several kinds
//! of work: van Elteren (1960), *On the combination of independent two-sample tests of Wilcoxon*, Bull. Inst. Int. Stat. 37:351,
//! each deviation weighted by 1/(N + 1). How far: the median of all differences within a kind of work, Hodges and Lehmann (1963),
//! *Estimates of location based on rank tests*, Ann. Math. Stat. 34:598. No continuity correction. All from memory.

use super::{median, ties, two_sided};

/// The values of one source and of all others at one kind of work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stratum {
    /// Of the source.
    pub own: Vec<f64>,
    /// Of all others.
    pub others: Vec<f64>,
}

/// The deviation of the rank sums of a source from what is expected where it reads like the others, as one of the standard
/// normal distribution, with how probable so great a one is to either side. None where no kind of work was done by others
/// too, or all values are equal.
#[must_use]
pub fn rank_sum(strata: &[Stratum]) -> Option<(f64, f64)> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for Stratum { own, others } in strata.iter().filter(|one| !one.own.is_empty() && !one.others.is_empty()) {
        let mut all: Vec<f64> = own.iter().chain(others).copied().collect();
        all.sort_by(f64::total_cmp);
        let (m, n) = (own.len() as f64, all.len() as f64);
        let rank = |value: &f64| {
            let below = all.partition_point(|one| one < value) as f64;
            let with = all.partition_point(|one| one <= value) as f64;
            f64::midpoint(below + 1.0, with)
        };
        let ranks: f64 = own.iter().map(rank).sum();
        let tied: f64 = ties(&all).map(|t| t * t * t - t).sum();
        let weight = 1.0 / (n + 1.0);
        sum += weight * (ranks - m * (n + 1.0) / 2.0);
        variance += weight * weight * m * (n - m) / 12.0 * (n + 1.0 - tied / (n * (n - 1.0)));
    }
    (variance > 0.0).then(|| {
        let z = sum / variance.sqrt();
        (z, two_sided(z))
    })
}

/// How much higher a source reads than the others: the median difference at the same work.
#[must_use]
pub fn shift(strata: &[Stratum]) -> Option<f64> {
    let pairs = |one: &Stratum| -> Vec<f64> {
        one.own.iter().flat_map(|own| one.others.iter().map(move |other| own - other)).collect()
    };
    median(&mut strata.iter().flat_map(pairs).collect::<Vec<f64>>())
}
