//! Whether two shares differ, compared within each of several kinds of work.
//!
//! Mantel and Haenszel (1959), *Statistical aspects of the analysis of data from retrospective studies of disease*, J. Natl. Cancer
//! Inst. 22:719; Cochran (1954), *Some methods for strengthening the common χ² tests*, Biometrics 10:417. In each kind of work, of
//! N things of which M count, n are of one source and x of these count: expected nM/N, variance n(N−n)M(N−M)/N²(N−1). The sum of the
//! deviations by the root of the sum of the variances is nearly standard normal. No continuity correction. From memory.

use super::proportion::Share;
use super::{real, two_sided};

/// How a source deviates from all others at the same work, as a deviation of the standard normal distribution, with how probable so
/// great a one is to either side. Each entry has the share of the source and that of the others. None where nothing varies.
#[must_use]
pub fn mantel_haenszel(strata: &[(Share, Share)]) -> Option<(f64, f64)> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for (own, others) in strata.iter().filter(|(own, others)| own.of > 0 && others.of > 0) {
        let (all, counted) = (real(own.of) + real(others.of), real(own.count) + real(others.count));
        let n = real(own.of);
        sum += real(own.count) - n * counted / all;
        variance += n * (all - n) * counted * (all - counted) / (all * all * (all - 1.0));
    }
    (variance > 0.0).then(|| {
        let z = sum / variance.sqrt();
        (z, two_sided(z))
    })
}
