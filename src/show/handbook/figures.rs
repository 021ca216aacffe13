//! Figures in both systems of units. Each is converted exactly. What is shown of the converted limits of a range that is
//! demanded is rounded into the range, the lower one up and the upper one down, so that whoever keeps to the figure in
//! either column keeps to the rule. What is forbidden, or is a condition for something that is demanded, is rounded the other
//! way, for the same reason.

use super::say::Say;
use super::sentence::Sentence;
use crate::explain::describe;
use crate::language::ast::{Comparison, Logic, Quantifier};
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Number, Quantity, Range, Unit};
use crate::value::Value;

/// A figure of a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRow {
    /// What it is a figure of.
    pub of: Sentence,
    /// In metric units, or in units that both systems have.
    pub metric: String,
    /// In imperial units; nothing where both systems have one unit.
    pub imperial: Option<String>,
    /// The range that it is.
    pub range: Range,
}

/// Units of the two systems that people use for the same, by spellings that name them. The first row that fits counts.
const PAIRS: &[(&str, &str)] = &[
    ("Nm", "lbf·ft"),
    ("Nm", "lbf·in"),
    ("cNm", "lbf·in"),
    ("kgf·m", "lbf·ft"),
    ("kgf·cm", "lbf·in"),
    ("kNm", "lbf·ft"),
    ("cNm", "ozf·in"),
    ("°C", "°F"),
    ("K", "Δ°F"),
    ("Δ°C", "Δ°F"),
    ("L", "US qt"),
    ("L", "imp qt"),
    ("L", "US gal"),
    ("L", "imp gal"),
    ("L", "US pt"),
    ("L", "imp pt"),
    ("mL", "US fl oz"),
    ("mL", "imp fl oz"),
    ("cL", "US fl oz"),
    ("dL", "US fl oz"),
    ("cm³", "US fl oz"),
    ("bar", "psi"),
    ("kPa", "psi"),
    ("MPa", "psi"),
    ("mbar", "psi"),
    ("bar gauge", "psi gauge"),
    ("kPa gauge", "psi gauge"),
    ("mbar gauge", "psi gauge"),
    ("bar absolute", "psi absolute"),
    ("kPa absolute", "psi absolute"),
    ("mbar absolute", "psi absolute"),
    ("mm", "in"),
    ("cm", "in"),
    ("µm", "thou"),
    ("km", "mi"),
    ("m", "ft"),
    ("kg", "lb"),
    ("g", "oz"),
    ("N", "lbf"),
    ("kN", "lbf"),
    ("km/h", "mph"),
];

/// Torques below this are stated in pound-inches.
const SMALL_TORQUE: u64 = 20;

/// How many significant digits of a converted limit are shown.
const DIGITS: i32 = 4;
/// The same of a figure that is not rounded to a side.
const FINE_DIGITS: i32 = 6;

fn unit(spelling: &str) -> Option<&'static Unit> {
    Unit::find(spelling).ok()
}

/// The unit of the other system, and whether the given one is metric.
fn other_unit(given: &'static Unit, greatest: &Quantity) -> Option<(&'static Unit, bool)> {
    let is = |spelling: &str| unit(spelling).is_some_and(|unit| unit == given);
    if is("Nm") {
        let small = Number::from(SMALL_TORQUE);
        let name = if greatest.magnitude() < &small { "lbf·in" } else { "lbf·ft" };
        return Some((unit(name)?, true));
    }
    PAIRS.iter().find_map(|(metric, imperial)| match (is(metric), is(imperial)) {
        (true, _) => Some((unit(imperial)?, true)),
        (_, true) => Some((unit(metric)?, false)),
        _ => None,
    })
}

/// The unit of the other system in which ranges that are stated in one of this unit are shown beside it.
pub(super) fn beside(unit: &'static Unit, ranges: &[&Range]) -> Option<&'static Unit> {
    let ends = ranges
        .iter()
        .flat_map(|range| [range.low(), range.high()])
        .flatten()
        .map(|limit| limit.value.in_unit(unit));
    let greatest = ends.max_by(|one, other| one.amount().compare(&other.amount()))?;
    other_unit(unit, &greatest).map(|(unit, _)| unit)
}

/// How a converted figure is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// Into the range, which is demanded.
    Into,
    /// Out of the range, which is forbidden, or in which something else is demanded.
    OutOf,
    /// To the nearest figure, of more digits: it is not known whether the range is demanded.
    Nearest,
}

/// A quantity in another unit, of so many significant digits, rounded up or down.
fn rounded(quantity: &Quantity, unit: &'static Unit, up: bool) -> Quantity {
    let exact = quantity.in_unit(unit);
    let decimals = exact.magnitude().decimals(DIGITS);
    let tenfold = (0..decimals).try_fold(1_i128, |power, _| power.checked_mul(10));
    let whole = tenfold.and_then(|tenfold| {
        let scaled = exact.magnitude().checked_mul(&Number::ratio(tenfold, 1)?)?;
        let up = up && !scaled.is_integer();
        Number::ratio(i128::from(scaled.floor()?) + i128::from(up), tenfold)
    });
    whole.map_or(exact, |number| Quantity::new(number, unit))
}

/// A range in another unit; nothing where no figure of so many digits lies in it.
fn converted(range: &Range, unit: &'static Unit, rounding: Rounding) -> Option<Range> {
    let end = |value: &Quantity, is_low: bool| match rounding {
        Rounding::Into => rounded(value, unit, is_low),
        Rounding::OutOf => rounded(value, unit, !is_low),
        Rounding::Nearest => value.in_unit(unit),
    };
    let low = range.low().map(|low| (end(&low.value, true), low.inclusive));
    let high = range.high().map(|high| (end(&high.value, false), high.inclusive));
    let made = match (low, high) {
        (Some((low, _)), Some((high, _))) => Range::between(low, high),
        (Some((low, true)), None) => Range::at_least(low),
        (Some((low, false)), None) => Range::above(low),
        (None, Some((high, true))) => Range::at_most(high),
        (None, Some((high, false))) => Range::below(high),
        (None, None) => return None,
    };
    made.ok()
}

/// `40.5 to 49.5 Nm`.
fn limits(range: &Range) -> String {
    range.limits_text().replace(" .. ", " to ")
}

/// As it is written and, where that does not show them, its limits.
fn written(range: &Range) -> String {
    let (written, limits) = (range.to_string().replace(" .. ", " to "), limits(range));
    if written == limits { written } else { format!("{written} ({limits})") }
}

impl FigureRow {
    /// A range in both systems.
    pub(super) fn new(of: Sentence, range: &Range, rounding: Rounding) -> FigureRow {
        let ends = [range.high(), range.low()].into_iter().flatten().map(|limit| &limit.value);
        let greatest = ends.max_by(|one, other| one.amount().compare(&other.amount()));
        let other = greatest.and_then(|end| other_unit(end.unit()?, end));
        let is_one = match (range.low(), range.high()) {
            (Some(low), Some(high)) => low.value.compare(&high.value).is_eq(),
            _ => false,
        };
        let words = |unit: &'static Unit| {
            match (range.low(), converted(range, unit, rounding)) {
                (Some(only), _) if is_one => fine(&only.value.in_unit(unit)),
                (_, Some(range)) => range.limits_shown(&fine).replace(" .. ", " to "),
                // No figure of so few digits lies in it.
                (_, None) => {
                    let exact = converted(range, unit, Rounding::Nearest);
                    exact.map_or_else(String::new, |range| limits(&range))
                }
            }
        };
        FigureRow::beside(
            of,
            range.clone(),
            written(range),
            other.map(|(unit, is_metric)| (words(unit), is_metric)),
        )
    }

    fn beside(of: Sentence, range: Range, own: String, other: Option<(String, bool)>) -> FigureRow {
        let (metric, imperial) = match other {
            Some((words, true)) => (own, Some(words)),
            Some((words, false)) => (words, Some(own)),
            None => (own, None),
        };
        FigureRow { of, metric, imperial, range }
    }

    /// Whether it says more than the sentence does that it is from: it has another figure in the other system, or can be drawn.
    pub(super) fn says_more(&self) -> bool {
        let is_wide = match (self.range.low(), self.range.high()) {
            (Some(low), Some(high)) => low.value.unit().is_some() && low.value.compare(&high.value).is_lt(),
            _ => false,
        };
        self.imperial.is_some() || is_wide
    }

    /// A known value in both systems; nothing for one that is no figure.
    pub(super) fn of_value(of: Sentence, value: &Value<'_>) -> Option<FigureRow> {
        let quantity = match value {
            Value::Range(range) => return Some(FigureRow::new(of, range, Rounding::Into)),
            Value::Quantity(quantity) => quantity,
            _ => return None,
        };
        let range = Range::between(quantity.clone(), quantity.clone()).ok()?;
        let other = quantity.unit().and_then(|unit| other_unit(unit, quantity));
        let other = other.map(|(unit, is_metric)| (fine(&quantity.in_unit(unit)), is_metric));
        Some(FigureRow::beside(of, range, describe(value), other))
    }
}

/// A converted figure that is not rounded to a side.
fn fine(quantity: &Quantity) -> String {
    let decimals = quantity.magnitude().decimals(FINE_DIGITS);
    format!("{quantity:.decimals$}")
}

/// In what part of a rule a limit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Context {
    /// Whether it only says when something is asked for.
    is_condition: bool,
    /// Whether the rule is met rather where the limit is not kept.
    is_turned: bool,
    /// Whether it is not known which of the two it is.
    is_open: bool,
}

/// The limits in a demand, each with what it is a limit of.
pub(super) fn of_demand<'s>(say: &Say<'s>, demand: &'s Expr) -> Vec<FigureRow> {
    let mut rows = Vec::new();
    let context = Context { is_condition: false, is_turned: false, is_open: false };
    collect(say, demand, context, &mut rows);
    rows
}

/// Those in what a name means, which can be used either way.
pub(super) fn of_name<'s>(say: &Say<'s>, value: &'s Expr) -> Vec<FigureRow> {
    let mut rows = Vec::new();
    let context = Context { is_condition: false, is_turned: false, is_open: true };
    collect(say, value, context, &mut rows);
    rows
}

fn collect<'s>(say: &Say<'s>, expr: &'s Expr, context: Context, rows: &mut Vec<FigureRow>) {
    if let Some((value, range)) = limit_of(expr) {
        let said = say.value(value);
        let of = match context {
            Context { is_condition: true, .. } => said.and(", in a condition"),
            Context { is_turned: true, .. } => said.and(", which may not be"),
            _ => said,
        };
        let rounding = match context {
            Context { is_open: true, .. } => Rounding::Nearest,
            Context { is_turned: true, .. } => Rounding::OutOf,
            _ => Rounding::Into,
        };
        rows.push(FigureRow::new(of, &range, rounding));
    }
    let turned = Context { is_turned: !context.is_turned, ..context };
    let condition = |context: Context| Context { is_condition: true, ..context };
    match &expr.kind {
        ExprKind::Not(inner) => collect(say, inner, turned, rows),
        ExprKind::Logic(Logic::Implies, left, right) => {
            collect(say, left, condition(turned), rows);
            collect(say, right, context, rows);
        }
        ExprKind::Quantified { quantifier, condition: which, body, .. } => {
            let inside = say.inside(expr);
            let (of_which, of_body) = match quantifier {
                Quantifier::Every => (condition(turned), context),
                Quantifier::Some => (context, context),
                Quantifier::No => (condition(turned), turned),
            };
            which.iter().for_each(|which| collect(&inside, which, of_which, rows));
            collect(&inside, body, of_body, rows);
        }
        // What is counted can be asked for either way.
        ExprKind::Aggregate { .. } => {
            let open = Context { is_open: true, ..condition(context) };
            expr.for_each_part(&mut |part| collect(&say.inside(expr), part, open, rows));
        }
        ExprKind::Cases(cases) => {
            for case in cases {
                let open = Context { is_open: true, ..condition(context) };
                case.condition.iter().for_each(|which| collect(say, which, open, rows));
                collect(say, &case.value, context, rows);
            }
        }
        _ => expr.for_each_part(&mut |part| collect(say, part, context, rows)),
    }
}

/// What a comparison holds against known limits, and the range in which it must lie.
fn limit_of(expr: &Expr) -> Option<(&Expr, Range)> {
    match &expr.kind {
        ExprKind::Within(value, range) => match &range.kind {
            ExprKind::Constant(Value::Range(range)) => Some((value, Range::clone(range))),
            _ => None,
        },
        ExprKind::Compare(comparison, left, right) => {
            let (value, limit, comparison) = match (left.constant_quantity(), right.constant_quantity()) {
                (None, Some(limit)) => (left, limit, *comparison),
                (Some(limit), None) => (right, limit, comparison.turned_round()),
                _ => return None,
            };
            limit.unit()?;
            let limit = limit.clone();
            let range = match comparison {
                Comparison::AtLeast => Range::at_least(limit),
                Comparison::AtMost => Range::at_most(limit),
                Comparison::Above => Range::above(limit),
                Comparison::Below => Range::below(limit),
                Comparison::Is => Range::between(limit.clone(), limit),
                Comparison::IsNot | Comparison::Before | Comparison::After => return None,
            };
            Some((value, range.ok()?))
        }
        _ => None,
    }
}
