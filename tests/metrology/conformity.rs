//! Conformity of uncertain readings, JCGM 106:2012.

use fastrand::Rng;
use witnessmark::metrology::conformity::{Decision, DecisionRule, Guard, Outcome, judge, probability};
use witnessmark::metrology::{Working, normal};
use witnessmark::quantity::{Number, Quantity, Range};

use super::{figure, near};
use crate::support::{number, quantity, range};

fn multiple(text: &str) -> Guard {
    Guard::Multiple(number(text))
}

/// Judges with an uncertainty stated for a coverage factor of 2.
fn judged(value: &str, expanded: &str, limits: &str, rule: DecisionRule) -> Decision {
    let expanded = quantity(expanded);
    let coverage = number("2");
    judge(&quantity(value), Some(&expanded), &coverage, &range(limits), &rule, &mut Working::none()).unwrap()
}

/// Probabilities of JCGM 106:2012: the engine oil of 7.4 (inputs read; result from memory: 66 %), the Zener
/// diode and the container of 7.3 (from memory: 0.92 and 0.99). All recomputed with scipy.
#[test]
fn the_examples_of_the_guide_are_met() {
    let conformance = |value, uncertainty, limits| {
        probability(&quantity(value), &quantity(uncertainty), &range(limits)).unwrap()
    };
    let oil = conformance("13.6 mm²/s", "1.8 mm²/s", "12.5 mm²/s .. 16.3 mm²/s");
    near(oil, 0.662630, 5e-7);
    near(normal::below(1.5), 0.933193, 5e-7);
    near(oil, 0.66, 0.005);
    near(conformance("-5.47 V", "0.05 V", "at most -5.40 V"), 0.919243, 5e-7);
    near(conformance("509.7 kPa", "8.6 kPa", "at least 490 kPa"), 0.989010, 5e-7);
}

/// The workshop's cases, recomputed with scipy: reading, standard uncertainty, limits, probability, and
/// whether simple acceptance and guarded acceptance by 2u and by 1.645u accept. Those on the limit of
/// acceptance are exact.
const CASES: [(&str, &str, &str, f64, [bool; 3]); 10] = [
    ("45 Nm", "0.9 Nm", "40.5 Nm .. 49.5 Nm", 0.999999, [true, true, true]),
    ("47.7 Nm", "0.9 Nm", "40.5 Nm .. 49.5 Nm", 0.977250, [true, true, true]),
    ("48.6 Nm", "0.9 Nm", "40.5 Nm .. 49.5 Nm", 0.841345, [true, false, false]),
    ("49.5 Nm", "0.9 Nm", "40.5 Nm .. 49.5 Nm", 0.500000, [true, false, false]),
    ("50.4 Nm", "0.9 Nm", "40.5 Nm .. 49.5 Nm", 0.158655, [false, false, false]),
    ("30.5 °C", "0.5 K", "30 °C .. 50 °C", 0.841345, [true, false, false]),
    ("31.0 °C", "0.5 K", "30 °C .. 50 °C", 0.977250, [true, true, true]),
    ("49.2 °C", "0.5 K", "30 °C .. 50 °C", 0.945201, [true, false, false]),
    ("2.0 s", "0.05 s", "at least 2 s", 0.500000, [true, false, false]),
    ("2.1 s", "0.05 s", "at least 2 s", 0.977250, [true, true, true]),
];

#[test]
fn the_workshop_cases_come_out_as_computed_elsewhere() {
    for (value, standard, limits, conformance, accepted) in CASES {
        let rules = [
            DecisionRule::Simple,
            // Two and 1.645 standard uncertainties: the multiple is one of U = 2·u.
            DecisionRule::GuardedAcceptance(multiple("1")),
            DecisionRule::GuardedAcceptance(multiple("0.8225")),
        ];
        for (rule, accepted) in rules.into_iter().zip(accepted) {
            let (standard, one) = (quantity(standard), Number::ONE);
            let decision =
                judge(&quantity(value), Some(&standard), &one, &range(limits), &rule, &mut Working::none())
                    .unwrap();
            assert_eq!(decision.outcome == Outcome::Accept, accepted, "{value} by {rule:?}");
            near(decision.probability.unwrap(), conformance, 5e-7);
        }
    }
}

/// ILAC-G8:09/2019 (read, recomputed): the probability of accepting wrongly at the edge of the guard band.
#[test]
fn guard_bands_of_the_laboratories_have_their_risks() {
    for (share, risk, tolerance) in [
        ("0", 0.5, 0.0),
        ("0.83", 0.0485, 5e-5),
        ("1", 0.02275, 5e-6),
        ("1.5", 0.00135, 5e-6),
        ("3", 9.9e-10, 5e-11),
    ] {
        let guard = number(share);
        // The edge: 100 Nm less the guard band, with U = 2 Nm and so u = 1 Nm.
        let edge = Quantity::new(&number("100") - &(&guard * &number("2")), quantity("1 Nm").unit().unwrap());
        let rule = DecisionRule::GuardedAcceptance(Guard::Multiple(guard));
        let (expanded, two) = (quantity("2 Nm"), number("2"));
        let limits = range("at most 100 Nm");
        let decision = judge(&edge, Some(&expanded), &two, &limits, &rule, &mut Working::none()).unwrap();
        assert_eq!(decision.outcome, Outcome::Accept, "the edge belongs to what is accepted");
        near(1.0 - decision.probability.unwrap(), risk, f64::max(tolerance, 1e-15));
    }
}

/// ISO 14253-1:2017 (read as 0.83·U): the default is a probability of 95 %, 1.65 standard uncertainties.
#[test]
fn a_guard_band_by_probability_is_that_many_uncertainties_wide() {
    let rule = DecisionRule::GuardedAcceptance(Guard::Probability(number("0.95")));
    let decision = judged("45 Nm", "2 Nm", "40 Nm .. 50 Nm", rule);
    near(figure(&decision.guard), 1.644854, 5e-7);
    near(figure(&decision.guard) / 2.0, 0.83, 0.01);
    assert_eq!(decision.guard.unit().unwrap().symbol, "Nm");
    // One half gives no guard band, exactly.
    let half = DecisionRule::GuardedAcceptance(Guard::Probability(number("0.5")));
    assert!(judged("50 Nm", "2 Nm", "40 Nm .. 50 Nm", half).guard.magnitude().is_zero());
}

#[test]
fn the_three_rules_part_the_line_into_their_zones() {
    use Outcome::{Accept, GuardBand, Reject};
    let guarded = || DecisionRule::GuardedAcceptance(multiple("1"));
    let lenient = || DecisionRule::GuardedRejection(multiple("1"));
    let cases = [
        ("48 Nm", [Accept, Accept, Accept]),
        ("48.0000001 Nm", [Accept, GuardBand, Accept]),
        ("50 Nm", [Accept, GuardBand, Accept]),
        ("50.0000001 Nm", [Reject, Reject, GuardBand]),
        ("52 Nm", [Reject, Reject, GuardBand]),
        ("52.0000001 Nm", [Reject, Reject, Reject]),
        ("37 Nm", [Reject, Reject, Reject]),
    ];
    for (value, wanted) in cases {
        let found = [DecisionRule::Simple, guarded(), lenient()]
            .map(|rule| judged(value, "2 Nm", "40 Nm .. 50 Nm", rule).outcome);
        assert_eq!(found, wanted, "{value}");
    }
    // A limit that does not belong to the range does not belong to it drawn in, either.
    assert_eq!(judged("42 Nm", "2 Nm", "above 40 Nm", guarded()).outcome, GuardBand);
    assert_eq!(judged("42 Nm", "2 Nm", "at least 40 Nm", guarded()).outcome, Accept);
    // A guard band wider than the tolerance accepts nothing.
    assert_eq!(judged("45 Nm", "12 Nm", "40 Nm .. 50 Nm", guarded()).outcome, GuardBand);
}

/// With no uncertainty every rule gives the plain verdict and the plain margin.
#[test]
fn without_uncertainty_the_verdict_is_the_plain_one() {
    let mut random = Rng::with_seed(106);
    let rules = [
        DecisionRule::Simple,
        DecisionRule::GuardedAcceptance(multiple("1")),
        DecisionRule::GuardedAcceptance(Guard::Probability(number("0.95"))),
        DecisionRule::GuardedRejection(multiple("2")),
    ];
    let zero = quantity("0 Nm");
    for _ in 0..2_000 {
        let (low, width) = (random.i32(0..100), random.i32(0..60));
        let limits = match random.u8(0..5) {
            0 => range(&format!("above {low} Nm")),
            1 => range(&format!("below {low} Nm")),
            2 => range(&format!("at least {low} Nm")),
            3 => range(&format!("at most {low} Nm")),
            _ => range(&format!("{low} Nm .. {} Nm", low + width)),
        };
        let value = quantity(&format!("{} Nm", random.i32(0..160)));
        let plain = if limits.contains(&value) { Outcome::Accept } else { Outcome::Reject };
        for rule in &rules {
            for uncertainty in [None, Some(&zero)] {
                let two = number("2");
                let decision = judge(&value, uncertainty, &two, &limits, rule, &mut Working::none()).unwrap();
                assert_eq!(decision.outcome, plain, "{value} against {limits} by {rule:?}");
                assert_eq!(decision.margin, limits.margin(&value));
                assert_eq!(decision.probability.is_some(), uncertainty.is_some());
            }
        }
    }
}

/// The same reading in other units has the same outcome and the same probability.
#[test]
fn units_do_not_matter() {
    let rule = || DecisionRule::GuardedAcceptance(multiple("1"));
    let metric = judged("48.6 Nm", "1.8 Nm", "40.5 Nm .. 49.5 Nm", rule());
    for (value, expanded) in
        [("48600 mNm", "1800 mNm"), ("4860 cNm", "180 cNm"), ("0.0486 kNm", "0.0018 kNm")]
    {
        let other = judged(value, expanded, "40.5 Nm .. 49.5 Nm", rule());
        assert_eq!((other.outcome, other.probability), (metric.outcome, metric.probability));
    }
    // A ratio is a share of the value: 4 % of 45 Nm is 1.8 Nm.
    let share = judged("45 Nm", "4 %", "40.5 Nm .. 49.5 Nm", rule());
    let distance = judged("45 Nm", "1.8 Nm", "40.5 Nm .. 49.5 Nm", rule());
    assert_eq!((share.probability, share.guard), (distance.probability, distance.guard));
    let fahrenheit = judged("86.9 °F", "1.8 Δ°F", "30 °C .. 50 °C", rule());
    let celsius = judged("30.5 °C", "1 K", "30 °C .. 50 °C", rule());
    assert_eq!((fahrenheit.outcome, fahrenheit.probability), (celsius.outcome, celsius.probability));
}

/// A fair draw from the normal distribution, by the polar method: apart from the program's own formulas.
fn draw(random: &mut Rng) -> f64 {
    loop {
        let (x, y) = (2.0 * random.f64() - 1.0, 2.0 * random.f64() - 1.0);
        let square = x * x + y * y;
        if square > 0.0 && square < 1.0 {
            return x * (-2.0 * square.ln() / square).sqrt();
        }
    }
}

/// Probabilities agree with counted draws. The bound is five standard deviations of the count, and a
/// formula that left out one limit, or took U for u, would miss it: the second half shows that.
#[test]
fn probabilities_agree_with_counted_draws() {
    const DRAWS: u32 = 200_000;
    let mut random = Rng::with_seed(2012);
    for (value, standard, low, high) in
        [(13.6, 1.8, 12.5, 16.3), (45.0, 3.0, 40.5, 49.5), (49.5, 0.9, 40.5, 49.5), (38.0, 2.0, 40.0, 43.0)]
    {
        let inside =
            (0..DRAWS).filter(|_| (low..=high).contains(&(value + standard * draw(&mut random)))).count();
        let counted = inside as f64 / f64::from(DRAWS);
        let text = |figure: f64| quantity(&format!("{figure} Nm"));
        let limits = Range::between(text(low), text(high)).unwrap();
        let stated = probability(&text(value), &text(standard), &limits).unwrap();
        let bound = 5.0 * (stated * (1.0 - stated) / f64::from(DRAWS)).sqrt();
        near(counted, stated, bound);
        let wrong = probability(&text(value), &text(2.0 * standard), &limits).unwrap();
        // The reading on a limit has one half whatever the uncertainty, as long as the other limit is far.
        assert!(value == high || (counted - wrong).abs() > bound, "the bound would let U pass for u");
    }
}

/// JCGM 106:2012, 9.5, the lot of resistors (inputs read, results from memory, recomputed with scipy): the
/// risks of consumer and producer, integrated over the process by the midpoint rule.
#[test]
fn global_risks_of_the_lot_of_resistors() {
    let risks = |acceptance: (f64, f64)| {
        let (mean, process, measurement, tolerance) = (1500.0, 0.12, 0.04, (1499.8, 1500.2));
        let (mut consumer, mut producer) = (0.0, 0.0);
        // Cells of 50 µΩ, so that each limit lies on an edge of a cell.
        let (steps, width) = (40_000, 5e-5);
        for step in 0..steps {
            let value = mean - 1.0 + (f64::from(step) + 0.5) * width;
            let z = (value - mean) / process;
            let share = (-z * z / 2.0).exp() / (process * (2.0 * std::f64::consts::PI).sqrt()) * width;
            let accepted = normal::below((acceptance.1 - value) / measurement)
                - normal::below((acceptance.0 - value) / measurement);
            if value < tolerance.0 || value > tolerance.1 {
                consumer += share * accepted;
            } else {
                producer += share * (1.0 - accepted);
            }
        }
        (consumer, producer)
    };
    let (consumer, producer) = risks((1499.82, 1500.18));
    near(consumer, 0.0098783, 1e-6);
    near(producer, 0.0690265, 1e-6);
    let (consumer, producer) = risks((1499.8, 1500.2));
    near(consumer, 0.0189422, 1e-6);
    near(producer, 0.0372078, 1e-6);
    let lot = probability(&quantity("1500 Ω"), &quantity("0.12 Ω"), &range("1499.8 Ω .. 1500.2 Ω")).unwrap();
    near(lot, 0.904419, 5e-7);
}

#[test]
fn what_cannot_be_is_a_fault() {
    let fault = |value: &str, expanded: &str, coverage: &str, rule: DecisionRule| {
        let (expanded, coverage, limits) = (quantity(expanded), number(coverage), range("40 Nm .. 50 Nm"));
        judge(&quantity(value), Some(&expanded), &coverage, &limits, &rule, &mut Working::none())
            .unwrap_err()
            .code
            .as_str()
    };
    let by = |guard| DecisionRule::GuardedAcceptance(guard);
    assert_eq!(fault("45 Nm", "-1 Nm", "2", DecisionRule::Simple), "metrology/impossible-value");
    assert_eq!(fault("45 Nm", "1 Nm", "0", DecisionRule::Simple), "metrology/impossible-value");
    assert_eq!(fault("45 Nm", "1 Nm", "2", by(multiple("-1"))), "metrology/impossible-value");
    assert_eq!(fault("45 Nm", "1 bar", "2", DecisionRule::Simple), "quantity/kinds-mixed");
    assert_eq!(fault("45 bar", "1 bar", "2", DecisionRule::Simple), "quantity/kinds-mixed");
    for outside in ["1", "0.4", "0", "-1", "2"] {
        let rule = by(Guard::Probability(number(outside)));
        assert_eq!(fault("45 Nm", "1 Nm", "2", rule), "metrology/outside-method", "{outside}");
    }
}

/// `why` can show the steps; without being asked nothing is kept.
#[test]
fn the_working_tells_each_step() {
    let mut working = Working::kept();
    let rule = DecisionRule::GuardedAcceptance(multiple("1"));
    let (expanded, two) = (quantity("1.8 Nm"), number("2"));
    judge(&quantity("48.6 Nm"), Some(&expanded), &two, &range("40.5 Nm .. 49.5 Nm"), &rule, &mut working)
        .unwrap();
    let figures: Vec<&str> = working.lines().iter().map(|line| &*line.figures).collect();
    assert_eq!(figures, ["1 × 1.8 Nm = 1.8 Nm", "Φ(1.0000) − Φ(-9.0000) = 0.841345"]);
    assert!(working.lines().iter().all(|line| line.source.contains("JCGM 106")));
}
