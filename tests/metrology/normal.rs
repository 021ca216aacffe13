//! The normal distribution against figures recomputed with 30 digits by mpmath 1.3, as the nearest doubles.

use witnessmark::metrology::normal;

use super::{near, near_share};

/// `z`, Φ(z), Φ(−z).
const TAILS: [(f64, f64, f64); 14] = [
    (0.0, 0.5, 0.5),
    (0.1, 0.539827837277029, 0.460172162722971),
    (0.5, 0.6914624612740131, 0.3085375387259869),
    (1.0, 0.8413447460685429, 0.15865525393145705),
    (1.5, 0.9331927987311419, 0.06680720126885807),
    (2.0, 0.9772498680518208, 0.02275013194817921),
    (2.5, 0.9937903346742238, 0.006209665325776135),
    (2.9, 0.998134186699616, 0.0018658133003840384),
    (3.1, 0.9990323967867817, 0.0009676032132183566),
    (4.0, 0.9999683287581669, 3.1671241833119924e-05),
    (6.0, 0.9999999990134123, 9.86587645037698e-10),
    (10.0, 1.0, 7.619853024160525e-24),
    (20.0, 1.0, 2.7536241186062337e-89),
    (37.0, 1.0, 5.725571222524577e-300),
];

/// A probability and its quantile.
const QUANTILES: [(f64, f64); 9] = [
    (0.5, 0.0),
    (0.51, 0.025068908258711036),
    (0.6, 0.2533471031357998),
    (0.8, 0.8416212335729142),
    (0.9, 1.2815515655446004),
    (0.95, 1.6448536269514726),
    (0.975, 1.9599639845400543),
    (0.99, 2.326347874040841),
    (0.999, 3.0902323061678136),
];

#[test]
fn both_tails_have_twelve_digits() {
    for (z, below, above) in TAILS {
        near(normal::below(z), below, 1e-15);
        near_share(normal::above(z), above, 1e-12);
        near_share(normal::below(-z), above, 1e-12);
    }
    assert!(normal::above(f64::NAN).is_nan());
    assert_eq!((normal::below(60.0), normal::above(60.0), normal::above(f64::INFINITY)), (1.0, 0.0, 0.0));
}

#[test]
fn the_quantile_has_twelve_digits() {
    for (probability, z) in QUANTILES {
        near(normal::quantile(probability).unwrap(), z, 1e-12);
    }
    // One minus these is no double, so the lower tail stands by itself.
    near(normal::quantile(1e-6).unwrap(), -4.753424308822899, 1e-12);
    near(normal::quantile(1e-10).unwrap(), -6.361340902404057, 1e-12);
    for nothing in [0.0, 1.0, -0.1, 1.1, f64::NAN] {
        assert_eq!(normal::quantile(nothing), None, "{nothing}");
    }
}

/// JCGM 106:2012 table 1 (from memory, recomputed): z for a probability of conformance.
#[test]
fn the_table_of_the_guide_is_met() {
    for (probability, z) in [(0.8, 0.84), (0.9, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)] {
        near(normal::quantile(probability).unwrap(), z, 0.005);
    }
}

#[test]
fn the_quantile_is_the_inverse_and_never_falls() {
    let mut random = fastrand::Rng::with_seed(1949);
    let mut last = f64::NEG_INFINITY;
    let mut shares: Vec<f64> = (0..2_000).map(|_| random.f64().powi(4).max(1e-300)).collect();
    shares.sort_by(f64::total_cmp);
    for share in shares.into_iter().filter(|share| *share < 1.0) {
        let z = normal::quantile(share).unwrap();
        near_share(normal::below(z), share, 1e-11 * (1.0 + z * z));
        assert!(z >= last, "{share}");
        last = z;
    }
}
