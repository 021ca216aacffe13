//! Conformity with a range when the reading is uncertain: decision rules, guard bands, probability.
//!
//! | symbol | meaning |
//! |---|---|
//! | `y` | measured value |
//! | `U`, `k`, `u` | expanded uncertainty, coverage factor, standard uncertainty u = U/k |
//! | `T_L`, `T_U` | limits of the tolerance |
//! | `w` | guard band, the distance from a limit of the tolerance to that of acceptance |
//! | `p_c` | probability that the true value lies within the tolerance |
//!
//! p_c = Φ((T_U − y)/u) − Φ((T_L − y)/u), with one term alone where there is one limit. Guarded acceptance
//! accepts from T_L + w to T_U − w; guarded rejection rejects only below T_L − w and above T_U + w. The guard
//! band is r·U, or z·u where a share p of a normal distribution lies below z. Valid for an uncertainty that is
//! small beside what was known before and nearly normal. Source: JCGM 106:2012, clauses 7 and 8 (from memory);
//! ISO 14253-1:2017 and ILAC-G8:09/2019 for the usual guard bands.
//!
//! Whether a reading is accepted is decided in exact arithmetic: a guard band that is a multiple of U is exact,
//! one by probability is rounded to a decimal first. Without uncertainty the outcome is that of the plain
//! comparison.

use std::cmp::Ordering;
use std::fmt;

use crate::diagnostic::Fault;
use crate::quantity::{KindName, Limit, Margin, Number, Quantity, Range};

use super::figure::{impossible, outside, rounded, rounded_in};
use super::normal;
use super::working::Working;

const SOURCE: &str = "JCGM 106:2012";

/// How a reading near a limit is decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DecisionRule {
    /// Accepted within the tolerance, rejected outside: both sides share the risk.
    Simple,
    /// Accepted only when at least the guard band within the tolerance.
    GuardedAcceptance(Guard),
    /// Rejected only when more than the guard band outside the tolerance.
    GuardedRejection(Guard),
}

/// How wide a guard band is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Guard {
    /// So many times the expanded uncertainty.
    Multiple(Number),
    /// So wide that at its edge the true value is on the right side of that limit with this probability,
    /// from 0.5 to below 1.
    Probability(Number),
}

/// As the rule language writes it: `guarded acceptance 0.83`.
impl fmt::Display for DecisionRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (words, guard) = match self {
            DecisionRule::Simple => return f.write_str("simple acceptance"),
            DecisionRule::GuardedAcceptance(guard) => ("guarded acceptance", guard),
            DecisionRule::GuardedRejection(guard) => ("guarded rejection", guard),
        };
        match guard {
            Guard::Multiple(multiple) if *multiple == Number::ONE => f.write_str(words),
            Guard::Multiple(multiple) => write!(f, "{words} {multiple}"),
            Guard::Probability(wanted) => write!(f, "{words} {} %", wanted * &Number::from(100_i64)),
        }
    }
}

/// What a reading comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Conforms.
    Accept,
    /// Lies in the guard band: neither proven.
    GuardBand,
    /// Does not conform.
    Reject,
}

/// What a reading comes to, and how near it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// What it comes to.
    pub outcome: Outcome,
    /// The distance to the nearest limit of the tolerance, as without uncertainty.
    pub margin: Margin,
    /// The width of the guard band, in the unit of the margin; zero for simple acceptance.
    pub guard: Quantity,
    /// The probability that the true value lies within the tolerance; nothing without an uncertainty.
    pub probability: Option<f64>,
}

/// Judges a reading against a range.
///
/// `expanded_uncertainty` is a distance in a unit of the value, or a ratio of the value; `coverage` is its
/// factor `k`.
///
/// ```
/// use witnessmark_base::metrology::Working;
/// use witnessmark_base::metrology::conformity::{DecisionRule, Guard, Outcome, judge};
/// use witnessmark_base::quantity::{Number, Quantity, Range};
///
/// let quantity = |text| Quantity::parse(text, None).unwrap();
/// let range = Range::parse("40.5 Nm .. 49.5 Nm", None).unwrap();
/// let rule = DecisionRule::GuardedAcceptance(Guard::Multiple(Number::ONE));
/// let decision =
///     judge(&quantity("48.6 Nm"), Some(&quantity("1.8 Nm")), &Number::from(2_i64), &range, &rule, &mut Working::none())
///         .unwrap();
/// assert_eq!(decision.outcome, Outcome::GuardBand);
/// assert!((decision.probability.unwrap() - 0.841345).abs() < 1e-6);
/// ```
///
/// # Errors
/// Kinds that do not compare; an uncertainty below zero; a coverage factor not above zero; a guard band
/// below zero, or a probability that is not from 0.5 to below 1.
pub fn judge(
    value: &Quantity,
    expanded_uncertainty: Option<&Quantity>,
    coverage: &Number,
    range: &Range,
    rule: &DecisionRule,
    working: &mut Working,
) -> Result<Decision, Fault> {
    value.kind().comparable(range.kind())?;
    let spread = expanded_uncertainty.map(|expanded| Spread::new(value, expanded, coverage)).transpose()?;
    let guard = match (&spread, rule) {
        (Some(spread), DecisionRule::GuardedAcceptance(guard) | DecisionRule::GuardedRejection(guard)) => {
            guard.width(spread, working)?
        }
        _ => Number::ZERO,
    };
    let outcome = match rule {
        DecisionRule::Simple if lies_within(value, range, &Number::ZERO) => Outcome::Accept,
        DecisionRule::Simple => Outcome::Reject,
        DecisionRule::GuardedAcceptance(_) if lies_within(value, range, &guard) => Outcome::Accept,
        DecisionRule::GuardedAcceptance(_) if lies_within(value, range, &Number::ZERO) => Outcome::GuardBand,
        DecisionRule::GuardedAcceptance(_) => Outcome::Reject,
        DecisionRule::GuardedRejection(_) if lies_within(value, range, &Number::ZERO) => Outcome::Accept,
        DecisionRule::GuardedRejection(_) if lies_within(value, range, &-&guard) => Outcome::GuardBand,
        DecisionRule::GuardedRejection(_) => Outcome::Reject,
    };
    let margin = range.margin(value);
    let probability = spread.map(|spread| spread.conformance(value, range, working));
    let guard = Quantity::from_base(guard, margin.distance.kind());
    let guard = guard.in_unit_of(&margin.distance);
    Ok(Decision { outcome, margin, guard, probability })
}

/// The probability that the true value of a reading with the standard uncertainty `u` lies within a range.
///
/// # Errors
/// Kinds that do not compare; an uncertainty below zero.
pub fn probability(value: &Quantity, standard_uncertainty: &Quantity, range: &Range) -> Result<f64, Fault> {
    value.kind().comparable(range.kind())?;
    let spread = Spread::new(value, standard_uncertainty, &Number::ONE)?;
    Ok(spread.conformance(value, range, &mut Working::none()))
}

/// The same in per cent, as a decimal of twelve digits.
///
/// # Errors
/// As [`probability`].
pub fn probability_ratio(
    value: &Quantity,
    standard_uncertainty: &Quantity,
    range: &Range,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    value.kind().comparable(range.kind())?;
    let spread = Spread::new(value, standard_uncertainty, &Number::ONE)?;
    rounded_in(100.0 * spread.conformance(value, range, working), "%")
}

/// The uncertainty of one reading, in coherent SI units.
struct Spread {
    standard: Number,
    /// No distance, in the unit of the reading: in it distances are shown.
    shown: Quantity,
}

impl Spread {
    fn new(value: &Quantity, expanded: &Quantity, coverage: &Number) -> Result<Spread, Fault> {
        let ratio = expanded.kind().name() == Some(KindName::Ratio) && !value.kind().is_dimensionless();
        let distance = if ratio {
            value.mul(expanded)?.base().abs()
        } else {
            value.kind().difference_kind().comparable(expanded.kind())?;
            expanded.base()
        };
        if expanded.magnitude().is_negative() {
            return Err(impossible(
                format!("the uncertainty `{expanded}` is below zero"),
                "write it without a sign: `± 1.2 Nm` reaches to both sides",
            ));
        }
        if coverage.signum() != Ordering::Greater {
            return Err(impossible(
                format!("the coverage factor {coverage} is not above zero"),
                "write the factor that stands with the uncertainty in its certificate, usually 2",
            ));
        }
        let standard = distance.checked_div(coverage).ok_or_else(|| {
            outside("the uncertainty has too many digits to work with", "round it to a few digits")
        })?;
        Ok(Spread { standard, shown: value.distance_from(value) })
    }

    /// A distance in the unit of the reading, for people.
    fn show(&self, distance: &Number) -> Quantity {
        Quantity::from_base(distance.clone(), self.shown.kind()).in_unit_of(&self.shown)
    }

    fn conformance(&self, value: &Quantity, range: &Range, working: &mut Working) -> f64 {
        let limits = [range.low(), range.high()];
        if self.standard.is_zero() {
            return if range.contains(value) { 1.0 } else { 0.0 };
        }
        // The distance is exact, so that a reading on a limit has exactly one half.
        let steps = limits.map(|limit| {
            let distance = &limit?.value.base() - &value.base();
            Some(distance.to_f64() / self.standard.to_f64())
        });
        let probability = match steps {
            [Some(low), Some(high)] if low > 0.0 => normal::above(low) - normal::above(high),
            [Some(low), Some(high)] => normal::below(high) - normal::below(low),
            [Some(low), None] => normal::above(low),
            [None, Some(high)] => normal::below(high),
            [None, None] => 1.0,
        };
        working.line(
            SOURCE,
            "probability of conformance",
            "p_c = Φ((T_U − y)/u) − Φ((T_L − y)/u)",
            || {
                let written = |step: Option<f64>, without: &str| match step {
                    Some(step) => format!("Φ({step:.4})"),
                    None => without.to_owned(),
                };
                let (low, high) = (written(steps[0], "0"), written(steps[1], "1"));
                format!("{high} − {low} = {probability:.6}")
            },
        );
        probability
    }
}

impl Guard {
    /// The guard band of a wanted probability; nothing for a quantity that is no share from one half to
    /// below one.
    #[must_use]
    pub fn of_share(share: &Quantity) -> Option<Guard> {
        let wanted = share.base();
        let fits = share.unit().is_some_and(|unit| unit.symbol == "%")
            && &wanted + &wanted >= Number::ONE
            && wanted < Number::ONE;
        fits.then_some(Guard::Probability(wanted))
    }

    /// The width, in coherent SI units.
    fn width(&self, spread: &Spread, working: &mut Working) -> Result<Number, Fault> {
        let (factor, of) = match self {
            Guard::Multiple(multiple) if multiple.is_negative() => {
                return Err(impossible(
                    format!("the guard band is {multiple} times the uncertainty, which is below zero"),
                    "write a multiple such as 1, or choose guarded rejection",
                ));
            }
            // U is two standard uncertainties, whatever the coverage factor with which it was stated.
            Guard::Multiple(multiple) => (multiple.clone(), &(&spread.standard + &spread.standard)),
            Guard::Probability(wanted) => (quantile(wanted)?, &spread.standard),
        };
        let width = factor.checked_mul(of).ok_or_else(|| {
            outside(
                "the guard band has too many digits to work with",
                "round the uncertainty to a few digits",
            )
        })?;
        let shown = || format!("{factor} × {} = {}", spread.show(of), spread.show(&width));
        match self {
            Guard::Multiple(_) => working.line(SOURCE, "guard band", "w = r·U, U = 2·u", shown),
            Guard::Probability(wanted) => {
                working.line(SOURCE, "guard band", "w = z·u, Φ(z) = p", || {
                    format!("z = {factor} for p = {wanted}; {}", shown())
                });
            }
        }
        Ok(width)
    }
}

/// The `z` of a wanted probability, as a decimal.
fn quantile(wanted: &Number) -> Result<Number, Fault> {
    let probability = wanted.to_f64();
    let least = Number::ratio(1, 2).unwrap_or(Number::ONE);
    let z = if wanted < &least { None } else { normal::quantile(probability) };
    let z = z.ok_or_else(|| {
        outside(
            format!("a probability of {wanted} gives no guard band"),
            "write a probability from 0.5 to below 1, such as 0.95",
        )
    })?;
    rounded(z)
}

/// Whether a reading lies within a range whose limits are drawn in by `guard` (out, when it is below zero).
/// A limit that belongs to the range belongs to it there too.
fn lies_within(value: &Quantity, range: &Range, guard: &Number) -> bool {
    let value = value.base();
    let inside = |limit: &Limit, distance: Number| match distance.cmp(guard) {
        Ordering::Greater => true,
        Ordering::Equal => limit.inclusive,
        Ordering::Less => false,
    };
    range.low().is_none_or(|low| inside(low, &value - &low.value.base()))
        && range.high().is_none_or(|high| inside(high, &high.value.base() - &value))
}
