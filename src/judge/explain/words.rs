//! Small texts of a report: values, paths, distances.

use crate::decide::Leaf;
use crate::document::DocPath;
use crate::language::ast::Comparison;
use crate::language::builtins::{Builtin, Words};
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Margin, Number, Quantity, Range, Which};
use crate::value::Value;

/// A path below what is said in words: that of a document, or what another one is called.
pub(super) fn below(words: &str, path: &DocPath) -> String {
    match (words.is_empty(), path.is_root()) {
        (true, _) => path.to_string(),
        (_, true) => words.to_owned(),
        _ => format!("{words}.{path}"),
    }
}

/// The last `depth` names of a path.
pub(super) fn last_names(expr: &Expr, depth: u8) -> DocPath {
    match &expr.kind {
        ExprKind::Field { base, name, .. } if depth > 0 => last_names(base, depth - 1).key(name),
        ExprKind::Link { base, link, .. } if depth > 0 => last_names(base, depth - 1).key(&link.name),
        _ => DocPath::root(),
    }
}

pub(super) fn alternatives(options: &[impl AsRef<str>]) -> String {
    match options {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", first.join(", "), last.as_ref())
        }
    }
}

/// How finely the figures of a comparison are shown, so that they differ on paper where they differ in truth.
#[derive(Clone, Debug, Default)]
pub(super) struct Fineness {
    /// From the value to its limit, where they differ.
    distance: Option<Quantity>,
    /// The value in the unit of its limit, and the limit.
    compared: Option<(Quantity, Quantity)>,
}

/// How many significant digits of a computed figure are shown, where no more are needed.
const USUAL_DIGITS: i32 = 4;
/// How many significant digits of a distance to a limit are shown at least.
const DISTANCE_DIGITS: i32 = 2;

impl Fineness {
    /// That of a value at this distance from its limit; of a log, whose value changes, there is no pair.
    pub(super) fn of(margin: &Margin, compared: Option<(Quantity, Quantity)>) -> Fineness {
        let distance = Some(&margin.distance).filter(|distance| !distance.magnitude().is_zero());
        let compared = compared.map(|(value, limit)| (value.in_unit_of(&limit), limit));
        Fineness {
            distance: distance.cloned(),
            compared: compared.filter(|(value, limit)| value.unit() == limit.unit()),
        }
    }

    /// How many decimals a quantity has that is not short.
    fn decimals(&self, quantity: &Quantity) -> usize {
        let same = |other: &&Quantity| other.kind().dimension() == quantity.kind().dimension();
        let Some(distance) = self.distance.as_ref().filter(same) else {
            return quantity.magnitude().decimals(USUAL_DIGITS);
        };
        let value = self.compared.as_ref().map(|(value, _)| match quantity.unit() {
            Some(unit) => value.in_unit(unit),
            None => value.clone(),
        });
        let usual = value.as_ref().unwrap_or(quantity).magnitude().decimals(USUAL_DIGITS);
        usual.max(quantity.decimals_of(distance, DISTANCE_DIGITS))
    }

    /// A quantity for people: as it is where it is short, else rounded.
    pub(super) fn figure(&self, quantity: &Quantity) -> String {
        format!("{quantity:.decimals$}", decimals = self.decimals(quantity))
    }

    /// The value in the unit of its limit, where it has another one.
    pub(super) fn converted(&self, value: &Quantity) -> Option<String> {
        let (compared, _) = self.compared.as_ref()?;
        (compared.unit() != value.unit()).then(|| self.figure(compared))
    }

    /// A distance to a limit: between the two as they are shown.
    fn distance(&self, distance: &Quantity) -> String {
        let (Some((value, limit)), Some(unit)) = (&self.compared, distance.unit()) else {
            return self.figure(distance);
        };
        let decimals = self.decimals(value);
        let shown = |quantity: &Quantity| quantity.magnitude().shortened(decimals);
        let between = (&shown(value) - &shown(limit)).abs().reduced();
        format!("{:.decimals$}", Quantity::new(between, unit))
    }

    /// A range as written and, where that does not show them, its limits.
    pub(super) fn range(&self, range: &Range) -> String {
        let shown = |quantity: &Quantity| self.figure(quantity);
        let (written, limits) = (range.shown(&shown), range.limits_shown(&shown));
        if written == limits { written } else { format!("{written} ({limits})") }
    }

    /// A value as people read it.
    pub(super) fn describe(&self, value: &Value<'_>) -> String {
        match value {
            Value::Quantity(quantity) => self.figure(quantity),
            Value::Several(several) => {
                several.iter().map(|quantity| self.figure(quantity)).collect::<Vec<_>>().join(", ")
            }
            Value::Range(range) => range.shown(&|quantity: &Quantity| self.figure(quantity)),
            Value::Truth(true) => "yes".to_owned(),
            Value::Truth(false) => "no".to_owned(),
            Value::Reading(reading) => reading.to_string(),
            Value::Text(text) => text.to_string(),
            Value::Words(words) => alternatives(words),
            Value::Day(day) => day.to_string(),
            Value::Moment(moment) => moment.to_string(),
        }
    }
}

/// A value as people read it.
#[must_use]
pub fn describe(value: &Value<'_>) -> String {
    Fineness::default().describe(value)
}

/// `2 characters`.
pub(super) fn counted(number: &str, one: &str) -> String {
    format!("{number} {one}{}", if number == "1" { "" } else { "s" })
}

/// What a comparison counts in a text, where it does: one of them.
pub(super) fn counts(value: &Expr) -> Option<&'static str> {
    match &value.kind {
        ExprKind::Call { builtin: Builtin { words: Words::Count(one), .. }, .. } => Some(one),
        _ => None,
    }
}

/// The words of a builtin with its arguments in their places.
pub(super) fn filled(words: &str, arguments: &[String]) -> String {
    let mut text = words.to_owned();
    for (number, argument) in arguments.iter().enumerate() {
        text = text.replace(&format!("{{{number}}}"), argument);
    }
    for one_sided in ["at least", "at most", "above", "below"] {
        text = text.replace(&format!("within {one_sided} "), &format!("{one_sided} "));
    }
    text
}

/// `within 40 Nm .. 50 Nm`, `at least 2 s`.
pub(super) fn within(range: &str) -> String {
    filled("within {0}", &[range.to_owned()])
}

/// By how much a value misses its limit, in words; nothing for a value that meets it.
pub(super) fn off_by(leaf: &Leaf<'_>, margin: &Margin, fineness: &Fineness) -> Option<String> {
    let zero = margin.distance.magnitude().is_zero();
    if zero && margin.exclusive_limit_hit {
        return Some(equal_words(leaf, margin.limit).to_owned());
    }
    if zero || margin.distance.magnitude() > &Number::ZERO {
        return None;
    }
    let negated = leaf.negated != leaf.course.as_ref().is_some_and(|course| course.is_negated());
    let side = match (&leaf.expr.kind, negated, margin.limit) {
        (ExprKind::Compare(Comparison::Is | Comparison::IsNot, ..), _, Which::Low) => "too low",
        (ExprKind::Compare(Comparison::Is | Comparison::IsNot, ..), _, Which::High) => "too high",
        (ExprKind::Compare(..), false, Which::Low) => "too low",
        (ExprKind::Compare(..), false, Which::High) => "too high",
        // What must not be above a limit is too high.
        (ExprKind::Compare(..), true, Which::Low) => "too high",
        (ExprKind::Compare(..), true, Which::High) => "too low",
        (_, false, Which::Low) => "below the lower limit",
        (_, false, Which::High) => "above the upper limit",
        (_, true, Which::Low) => "above the lower limit, where nothing may lie",
        (_, true, Which::High) => "below the upper limit, where nothing may lie",
    };
    let distance = fineness.distance(&margin.distance.opposite());
    if let ExprKind::Compare(_, value, _) = &leaf.expr.kind
        && let Some(one) = counts(value)
    {
        let side = if margin.limit == Which::Low { "few" } else { "many" };
        return Some(format!("{} too {side}", counted(&distance, one)));
    }
    Some(match &margin.share {
        Some(share) => format!("{distance} {side} ({} of the tolerance)", share_words(&share.abs())),
        None => format!("{distance} {side}"),
    })
}

/// What a value must be that is equal to a limit which does not count.
fn equal_words(leaf: &Leaf<'_>, limit: Which) -> &'static str {
    let negated = leaf.negated != leaf.course.as_ref().is_some_and(|course| course.is_negated());
    match (&leaf.expr.kind, limit, negated) {
        (ExprKind::Compare(Comparison::Is | Comparison::IsNot, ..), ..) => "equal; must differ",
        (_, Which::Low, false) | (_, Which::High, true) => "equal to the limit; must be above it",
        (_, Which::Low, true) | (_, Which::High, false) => "equal to the limit; must be below it",
    }
}

/// A share in per cent, for people: whole numbers, and never nought for what is more than nothing.
#[must_use]
pub fn share_words(share: &Number) -> String {
    let percent = share.to_f64() * 100.0;
    match percent {
        _ if share.is_zero() => "0 %".to_owned(),
        _ if percent.abs() < 1.0 => "less than 1 %".to_owned(),
        _ => format!("{percent:.0} %"),
    }
}
