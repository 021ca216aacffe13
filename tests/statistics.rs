//! The methods of `src/base/statistics` against public libraries, whose answers stand in `oracle/statistics.json`
//! (`oracle/statistics.py` writes them), and against published worked examples.

use serde_json::Value;
use witnessmark::statistics::capability::capability;
use witnessmark::statistics::chart::individuals;
use witnessmark::statistics::digits::uniform;
use witnessmark::statistics::exact::fisher;
use witnessmark::statistics::proportion::{Share, newcombe, wilson};
use witnessmark::statistics::ranks::{Stratum, rank_sum, shift};
use witnessmark::statistics::several::holm;
use witnessmark::statistics::strata::mantel_haenszel;
use witnessmark::statistics::trend::{mann_kendall, theil_sen};

fn answers(name: &str) -> Vec<Value> {
    let answers: Value = serde_json::from_str(include_str!("oracle/statistics.json")).unwrap();
    let list = answers[name].as_array().unwrap().clone();
    assert!(!list.is_empty());
    list
}

fn real(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn reals(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(real).collect()
}

fn share(value: &Value) -> Share {
    Share { count: value[0].as_u64().unwrap(), of: value[1].as_u64().unwrap() }
}

#[track_caller]
fn same(ours: f64, theirs: f64, of: &Value) {
    assert!((ours - theirs).abs() <= 1e-9 + 1e-7 * theirs.abs(), "{ours} and not {theirs} of {of}");
}

#[track_caller]
fn near(ours: f64, published: f64, digits: i32) {
    assert!((ours - published).abs() <= 0.5001 * 10_f64.powi(-digits), "{ours} and not {published}");
}

#[test]
fn shares() {
    for one in answers("wilson") {
        let found = wilson(Share { count: one["count"].as_u64().unwrap(), of: one["of"].as_u64().unwrap() });
        let found = found.unwrap();
        same(found.low, real(&one["low"]), &one);
        same(found.high, real(&one["high"]), &one);
    }
    for one in answers("newcombe") {
        let (difference, found) = newcombe(share(&one["first"]), share(&one["second"])).unwrap();
        same(found.low, real(&one["low"]), &one);
        same(found.high, real(&one["high"]), &one);
        assert!(found.low <= difference && difference <= found.high);
    }
    assert_eq!(wilson(Share::default()), None);
    assert_eq!(newcombe(Share::default(), Share { count: 1, of: 2 }), None);
}

// Newcombe (1998), Statistics in Medicine 17:857, table I, and 17:873, table II, method 10; from memory.
#[test]
fn shares_as_published() {
    for (count, of, low, high) in
        [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
    {
        let found = wilson(Share { count, of }).unwrap();
        near(found.low, low, 4);
        near(found.high, high, 4);
    }
    let (difference, found) = newcombe(Share { count: 48, of: 80 }, Share { count: 56, of: 70 }).unwrap();
    near(difference, 0.2, 9);
    near(found.low, 0.0524, 4);
    near(found.high, 0.3339, 4);
}

#[test]
fn trends() {
    for one in answers("trends") {
        let values = reals(&one["values"]);
        let found = mann_kendall(&values).unwrap();
        same(found.s, real(&one["s"]), &one);
        same(found.variance, real(&one["variance"]), &one);
        same(found.z, real(&one["z"]), &one);
        same(found.p, real(&one["p"]), &one);
        let points: Vec<(f64, f64)> = reals(&one["times"]).into_iter().zip(values).collect();
        let (slope, interval) = theil_sen(&points).unwrap();
        same(slope, real(&one["slope"]), &one);
        same(interval.low, real(&one["low"]), &one);
        same(interval.high, real(&one["high"]), &one);
    }
    assert_eq!(mann_kendall(&[1.0, 1.0, 1.0, 1.0]), None);
    assert_eq!(mann_kendall(&[1.0, 2.0]), None);
    assert_eq!(theil_sen(&[(1.0, 2.0)]), None);
    assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0)]), None);
    assert_eq!(theil_sen(&[(1.0, f64::NAN), (2.0, 3.0)]), None);
}

#[test]
fn ranks() {
    for one in answers("ranks") {
        let stratum = Stratum { own: reals(&one["own"]), others: reals(&one["others"]) };
        let (_, p) = rank_sum(std::slice::from_ref(&stratum)).unwrap();
        same(p, real(&one["p"]), &one);
        same(shift(&[stratum]).unwrap(), real(&one["shift"]), &one);
    }
    // A kind of work that one source did alone says nothing, and two equal kinds say more than one.
    let stratum = |own: &[f64], others: &[f64]| Stratum { own: own.to_vec(), others: others.to_vec() };
    let one = stratum(&[3.0, 4.0, 5.0], &[1.0, 2.0, 3.5]);
    let (z, p) = rank_sum(std::slice::from_ref(&one)).unwrap();
    let (of_two, less) = rank_sum(&[one.clone(), one.clone()]).unwrap();
    assert!((of_two - z * 2_f64.sqrt()).abs() < 1e-12 && less < p && z > 0.0);
    assert_eq!(rank_sum(&[one, stratum(&[9.0], &[])]).unwrap(), (z, p));
    assert_eq!(rank_sum(&[stratum(&[2.0], &[2.0, 2.0])]), None);
    assert_eq!(rank_sum(&[]), None);
    assert_eq!(shift(&[]), None);
}

// Where there is no difference, one is claimed as often as stated: of 2,000 draws from one source 5 %, give or take four
// standard deviations of that share.
#[test]
fn equal_sources_are_rarely_told_apart() {
    let mut rng = fastrand::Rng::with_seed(4);
    let mut claimed = 0;
    for _ in 0..2_000 {
        let stratum = |rng: &mut fastrand::Rng, shift: f64| {
            let draw = |rng: &mut fastrand::Rng| shift + f64::from(rng.u8(..30)) + f64::from(rng.u8(..30));
            Stratum {
                own: (0..12).map(|_| draw(rng)).collect(),
                others: (0..40).map(|_| draw(rng)).collect(),
            }
        };
        let strata = [stratum(&mut rng, 0.0), stratum(&mut rng, 100.0), stratum(&mut rng, -7.5)];
        claimed += usize::from(rank_sum(&strata).unwrap().1 < 0.05);
    }
    assert!((61..=139).contains(&claimed), "{claimed}");
}

#[test]
fn shares_exactly() {
    for one in answers("fisher") {
        same(fisher(share(&one["first"]), share(&one["second"])).unwrap(), real(&one["p"]), &one);
    }
    // The tasting of tea, Fisher (1935), chapter II: three of four cups right; 34 of 70 to both sides.
    near(fisher(Share { count: 3, of: 4 }, Share { count: 1, of: 4 }).unwrap(), 34.0 / 70.0, 9);
    assert_eq!(fisher(Share { count: 0, of: 0 }, Share { count: 1, of: 4 }), None);
    assert_eq!(fisher(Share { count: 5, of: 4 }, Share { count: 1, of: 4 }), None);
}

#[test]
fn shares_at_the_same_work() {
    for one in answers("strata") {
        let strata: Vec<(Share, Share)> =
            one["strata"].as_array().unwrap().iter().map(|pair| (share(&pair[0]), share(&pair[1]))).collect();
        same(mantel_haenszel(&strata).unwrap().1, real(&one["p"]), &one);
    }
    let of = |count, of| Share { count, of };
    assert!(mantel_haenszel(&[(of(5, 6), of(1, 6))]).unwrap().0 > 0.0);
    assert_eq!(mantel_haenszel(&[(of(6, 6), of(6, 6)), (of(1, 2), of(0, 0))]), None);
}

#[test]
fn digits() {
    for one in answers("digits") {
        let counts: Vec<u64> =
            one["counts"].as_array().unwrap().iter().map(|one| one.as_u64().unwrap()).collect();
        let (value, p) = uniform(&counts.try_into().unwrap()).unwrap();
        same(value, real(&one["value"]), &one);
        same(p, real(&one["p"]), &one);
    }
    assert_eq!(uniform(&[4; 10]), None);
    assert_eq!(uniform(&[5; 10]).unwrap().1, 1.0);
}

#[test]
fn several_comparisons() {
    for one in answers("holm") {
        for (ours, theirs) in holm(&reals(&one["given"])).into_iter().zip(reals(&one["adjusted"])) {
            same(ours, theirs, &one);
        }
    }
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flow rates of ten batches; from memory. It has 3/1.128 where
// the standard has 2.660.
#[test]
fn a_chart_of_individuals_as_published() {
    let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let chart = individuals(&rates).unwrap();
    near(chart.mean, 50.81, 2);
    near(chart.range, 1.8778, 4);
    near(chart.upper, 55.8041, 2);
    near(chart.lower, 45.8159, 2);
    near(chart.range_upper, 6.1348, 3);
    assert!(chart.is_stable());
}

#[test]
fn what_a_chart_of_individuals_tells() {
    let mut values: Vec<f64> = (0..30).map(|at| f64::from(at % 3)).collect();
    assert!(individuals(&values).unwrap().is_stable());
    values[20] = 9.0;
    let chart = individuals(&values).unwrap();
    assert_eq!(chart.outside, [20]);
    assert_eq!(chart.jumps, [20, 21]);
    // Nine on one side are a run, eight are none.
    let steps = |at: usize| if at < 9 { [1.0, 1.4][at % 2] } else { [2.0, 2.4][at % 2] };
    let chart = individuals(&(0..17).map(steps).collect::<Vec<f64>>()).unwrap();
    assert_eq!(chart.runs, [8]);
    let equal = individuals(&[0.1; 12]).unwrap();
    assert!(equal.is_stable() && equal.range == 0.0);
    assert_eq!(individuals(&[1.0]), None);
}

#[test]
fn capabilities() {
    for one in answers("capability") {
        let found = capability(&reals(&one["values"]), 9.0, 11.0).unwrap();
        let ends = |name: &str, low: f64, high: f64| {
            let theirs = reals(&one[name]);
            same(low, theirs[0], &one);
            same(high, theirs[1], &one);
        };
        same(found.cp, real(&one["cp"]), &one);
        same(found.cpk, real(&one["cpk"]), &one);
        ends("of_cp", found.of_cp.low, found.of_cp.high);
        ends("of_cpk", found.of_cpk.low, found.of_cpk.high);
    }
    assert_eq!(capability(&[1.0, 1.0], 0.0, 2.0), None);
    assert_eq!(capability(&[1.0], 0.0, 2.0), None);
    assert_eq!(capability(&[1.0, 2.0], 2.0, 2.0), None);
}

// Montgomery, Introduction to Statistical Quality Control, 8.3.4: n = 20, s = 1.75, limits 38 and 62, Cp 2.29 from 1.57
// to 3.01; from memory. Twenty values of that deviation: half of them one step below the mean and half one above.
#[test]
fn a_capability_as_published() {
    let step = 1.75 * (19.0_f64 / 20.0).sqrt();
    let values: Vec<f64> = (0..20).map(|at| 50.0 + if at % 2 == 0 { step } else { -step }).collect();
    let found = capability(&values, 38.0, 62.0).unwrap();
    near(found.cp, 2.29, 2);
    // The book computes on with the rounded index.
    near(found.of_cp.low * 2.29 / found.cp, 1.57, 2);
    near(found.of_cp.high * 2.29 / found.cp, 3.01, 2);
}
