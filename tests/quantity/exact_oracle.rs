//! An independent judge: num-rational decides every case again from the texts alone, with its own
//! reading of decimals and its own table of factors, and must come to the same verdict and margin.

use num_bigint::BigInt;
use num_rational::BigRational;
use witnessmark::quantity::Which;

use super::numbers::from_oracle;
use crate::support::{quantity, range};

type Exact = BigRational;

fn exact(numerator: i64, denominator: i64) -> Exact {
    Exact::new(numerator.into(), denominator.into())
}

/// The value of a decimal text.
fn decimal(text: &str) -> Exact {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let digits: BigInt = format!("{whole}{decimals}").parse().unwrap();
    Exact::new(digits, BigInt::from(10).pow(decimals.len() as u32))
}

/// `units` hundred-thousandths (or whatever `places` says), as a decimal text.
fn text_of(units: &BigInt, places: u32) -> String {
    let negative = units.sign() == num_bigint::Sign::Minus;
    let digits = format!("{:0>width$}", units.magnitude().to_string(), width = places as usize + 1);
    let (whole, decimals) = digits.split_at(digits.len() - places as usize);
    let point = if decimals.is_empty() { "" } else { "." };
    format!("{}{whole}{point}{decimals}", if negative { "-" } else { "" })
}

/// A scale of the oracle: value = figure × factor + zero.
struct Scale {
    name: &'static str,
    factor: Exact,
    zero: Exact,
}

/// NIST SP 811 appendix B, written out again.
fn torques() -> Vec<Scale> {
    let scale = |name, numerator, denominator| Scale {
        name,
        factor: exact(numerator, denominator),
        zero: exact(0, 1),
    };
    vec![
        scale("Nm", 1, 1),
        scale("lbf·ft", 3_389_544_870_828_501, 2_500_000_000_000_000),
        scale("lbf·in", 1_129_848_290_276_167, 10_000_000_000_000_000),
        scale("kgf·m", 196_133, 20_000),
        scale("kgf·cm", 196_133, 2_000_000),
        scale("mNm", 1, 1000),
    ]
}

fn temperatures() -> Vec<Scale> {
    vec![
        Scale { name: "°C", factor: exact(1, 1), zero: exact(27_315, 100) },
        Scale { name: "°F", factor: exact(5, 9), zero: exact(45_967, 180) },
    ]
}

/// What the oracle makes of a range: its ends in coherent units, and whether they belong to it.
struct Demand {
    text: String,
    low: Option<(Exact, bool)>,
    high: Option<(Exact, bool)>,
}

fn demands(nominal: &str, scale: &Scale) -> Vec<Demand> {
    let (unit, value) = (scale.name, decimal(nominal));
    let base = |figure: Exact| figure * &scale.factor + &scale.zero;
    let mut list = Vec::new();
    let mut add = |text: String, low: Option<(Exact, bool)>, high: Option<(Exact, bool)>| {
        list.push(Demand { text, low, high });
    };
    let point = || Some((base(value.clone()), true));
    let open = || Some((base(value.clone()), false));
    add(format!("at least {nominal} {unit}"), point(), None);
    add(format!("at most {nominal} {unit}"), None, point());
    add(format!("above {nominal} {unit}"), open(), None);
    add(format!("below {nominal} {unit}"), None, open());
    if scale.zero == exact(0, 1) {
        for percent in ["1", "4", "6", "10", "33.3", "0.01"] {
            let part = &value * decimal(percent) / exact(100, 1);
            let (low, high) = (base(&value - &part), base(&value + &part));
            add(format!("{nominal} {unit} ± {percent} %"), Some((low, true)), Some((high, true)));
        }
    }
    let difference = if scale.zero == exact(0, 1) { unit.to_owned() } else { format!("Δ{unit}") };
    for (plus, minus) in [("0.5", "0.5"), ("3", "0"), ("0", "1.25"), ("0.001", "7")] {
        let (low, high) = (base(&value - decimal(minus)), base(&value + decimal(plus)));
        let text = format!("{nominal} {unit} +{plus}/-{minus} {difference}");
        add(text, Some((low.clone(), true)), Some((high.clone(), true)));
        let (low_text, high_text) = (&value - decimal(minus), &value + decimal(plus));
        let written = |figure: &Exact| text_of(&(figure * exact(1000, 1)).to_integer(), 3);
        let text = format!("{} {unit} .. {} {unit}", written(&low_text), written(&high_text));
        add(text, Some((low, true)), Some((high, true)));
    }
    list
}

/// Readings on a limit where the scale can show it, one last digit below and above, at several
/// precisions; and some far away.
fn readings(demand: &Demand, scale: &Scale) -> Vec<(String, Exact)> {
    let mut list = Vec::new();
    for (limit, _) in [&demand.low, &demand.high].into_iter().flatten() {
        let figure = (limit - &scale.zero) / &scale.factor;
        for places in [0_u32, 1, 3, 9, 20] {
            let scaled = (&figure * Exact::from(BigInt::from(10).pow(places))).floor().to_integer();
            for step in -1..=1 {
                let units = &scaled + step;
                let text = text_of(&units, places);
                let value = decimal(&text) * &scale.factor + &scale.zero;
                list.push((format!("{text} {}", scale.name), value));
            }
        }
    }
    list
}

fn verdict(demand: &Demand, value: &Exact) -> bool {
    let above = demand.low.as_ref().is_none_or(|(low, included)| value > low || *included && value == low);
    above && demand.high.as_ref().is_none_or(|(high, included)| value < high || *included && value == high)
}

struct Count {
    cases: usize,
    on_a_limit: usize,
}

fn judge(demand: &Demand, own: &Scale, readings: &[(String, Exact)], count: &mut Count) {
    let ours = range(&demand.text);
    for (text, value) in readings {
        if *value < exact(0, 1) && own.zero != exact(0, 1) {
            continue;
        }
        let reading = quantity(text);
        let expected = verdict(demand, value);
        assert_eq!(ours.contains(&reading), expected, "{text} within {}", demand.text);
        let margin = ours.margin(&reading);
        assert_eq!(margin.is_met(), expected, "margin of {text} within {}", demand.text);
        let from_low = demand.low.as_ref().map(|(low, _)| value - low);
        let from_high = demand.high.as_ref().map(|(high, _)| high - value);
        let (distance, which) = match (from_low, from_high) {
            (Some(low), Some(high)) if high < low => (high, Which::High),
            (Some(low), _) => (low, Which::Low),
            (None, Some(high)) => (high, Which::High),
            (None, None) => unreachable!("every demand has a limit"),
        };
        assert_eq!(margin.limit, which, "{text} within {}", demand.text);
        let in_unit = &distance / &own.factor;
        assert_eq!(*margin.distance.magnitude(), from_oracle(&in_unit), "{text} within {}", demand.text);
        let share = demand
            .low
            .as_ref()
            .zip(demand.high.as_ref())
            .map(|((low, _), (high, _))| &distance / (high - low));
        assert_eq!(margin.share, share.map(|share| from_oracle(&share)), "{text} within {}", demand.text);
        count.cases += 1;
        count.on_a_limit += usize::from(distance == exact(0, 1));
    }
}

fn sweep(scales: &[Scale], nominals: &[&str]) -> Count {
    let mut count = Count { cases: 0, on_a_limit: 0 };
    for own in scales {
        for nominal in nominals {
            for demand in demands(nominal, own) {
                for scale in scales {
                    judge(&demand, own, &readings(&demand, scale), &mut count);
                }
            }
        }
    }
    count
}

#[test]
fn torque_in_mixed_units_has_no_wrong_verdict() {
    let count = sweep(&torques(), &["8", "9", "10.5", "33.19", "45", "47.125", "120"]);
    assert!(count.cases > 90_000, "{}", count.cases);
    assert!(count.on_a_limit > 4_000, "{}", count.on_a_limit);
}

#[test]
fn temperature_in_mixed_scales_has_no_wrong_verdict() {
    let count = sweep(&temperatures(), &["-40", "0", "30", "37.5", "50", "60", "80", "121.1"]);
    assert!(count.cases > 8_000, "{}", count.cases);
    assert!(count.on_a_limit > 900, "{}", count.on_a_limit);
}
