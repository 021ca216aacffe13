//! A range of quantities, and how far a reading lies from its limits.

use std::cmp::Ordering;
use std::fmt;

use crate::code;
use crate::diagnostic::Fault;

use super::kind::{Kind, KindName};
use super::number::Number;
use super::quantity::Quantity;

/// One end of a range.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Where it lies.
    pub value: Quantity,
    /// Whether the limit itself belongs to the range.
    pub inclusive: bool,
}

/// A range with one end or two.
///
/// ```
/// use witnessmark_base::quantity::{Quantity, Range};
///
/// let range = Range::parse("45 Nm ± 10 %", None).unwrap();
/// let reading = Quantity::parse("50 Nm", None).unwrap();
/// assert!(!range.contains(&reading));
/// assert_eq!(range.margin(&reading).distance.to_string(), "-0.5 Nm");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    kind: Kind,
    low: Option<Limit>,
    high: Option<Limit>,
    /// Apart, because most ranges that are compared are read only for their limits.
    around: Option<Box<Around>>,
}

/// How a range round a nominal value was written.
#[derive(Clone, Debug, PartialEq)]
struct Around {
    nominal: Quantity,
    part: Part,
}

/// The tolerance of a nominal value.
#[derive(Clone, Debug, PartialEq)]
enum Part {
    Both(Quantity),
    Each { plus: Quantity, minus: Quantity },
}

/// One of the two limits of a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Which {
    /// The lower.
    Low,
    /// The upper.
    High,
}

/// How far a reading lies from the nearest limit.
///
/// The sign agrees with the verdict: a distance below zero is broken, above zero is met, and at zero
/// the reading is met unless `exclusive_limit_hit`.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    /// The distance, in the limit's unit, at or above zero inside the range.
    pub distance: Quantity,
    /// The distance as a share of the tolerance (JCGM 106:2012: upper minus lower limit); nothing where
    /// there is one limit only or the limits coincide.
    pub share: Option<Number>,
    /// The limit it was measured from; the lower one where both are as near.
    pub limit: Which,
    /// Whether the reading lies exactly on a limit that does not belong to the range.
    pub exclusive_limit_hit: bool,
}

impl Margin {
    /// Whether the reading lies within the range.
    #[must_use]
    pub fn is_met(&self) -> bool {
        !self.distance.magnitude().is_negative() && !self.exclusive_limit_hit
    }
}

impl Range {
    /// `low .. high`, both ends included.
    ///
    /// # Errors
    /// Kinds that do not compare; a lower end above the upper one.
    pub fn between(low: Quantity, high: Quantity) -> Result<Range, Fault> {
        let kind = low.kind().comparable(high.kind())?;
        if low.compare(&high) == Ordering::Greater {
            let what = format!("the range `{low} .. {high}` begins above its end");
            return Err(Fault::new(code::RANGE_INVERTED, what).help(format!("write `{high} .. {low}`")));
        }
        Ok(Range { kind, low: Some(included(low)), high: Some(included(high)), around: None })
    }

    /// `nominal ± tolerance`, both ends included; the tolerance is a distance or a percentage of the
    /// nominal value.
    ///
    /// # Errors
    /// A tolerance of another kind, of zero or below; a percentage of a temperature or a percentage.
    pub fn plus_minus(nominal: Quantity, tolerance: Quantity) -> Result<Range, Fault> {
        let kind = nominal.kind().tolerance(tolerance.kind()).map_err(|fault| {
            match other_tolerance(&nominal, &tolerance) {
                Some(help) => fault.help(help),
                None => fault,
            }
        })?;
        let distance = distance_of(&nominal, &tolerance)?;
        if distance.magnitude().signum() != Ordering::Greater {
            return Err(Fault::new(
                code::TOLERANCE,
                format!("the tolerance `{tolerance}` of `{nominal}` is not above zero"),
            )
            .help("write a tolerance above zero, or both ends of the range"));
        }
        let low = Some(included(nominal.sub(&distance)?));
        let high = Some(included(nominal.add(&distance)?));
        Ok(Range { kind, low, high, around: Around::stored(nominal, Part::Both(tolerance)) })
    }

    /// `nominal +plus/-minus`, both ends included.
    ///
    /// # Errors
    /// As [`Range::plus_minus`]; one of the two parts may be zero.
    pub fn plus_and_minus(nominal: Quantity, plus: Quantity, minus: Quantity) -> Result<Range, Fault> {
        let kind = nominal.kind().tolerance(plus.kind())?;
        nominal.kind().tolerance(minus.kind())?;
        let (up, down) = (distance_of(&nominal, &plus)?, distance_of(&nominal, &minus)?);
        let negative = up.magnitude().is_negative() || down.magnitude().is_negative();
        if negative || up.magnitude().is_zero() && down.magnitude().is_zero() {
            let what = format!("the tolerance `+{plus}/-{minus}` of `{nominal}` is not above zero");
            return Err(Fault::new(code::TOLERANCE, what)
                .help("write both parts without a sign of their own and at least one above zero"));
        }
        let low = Some(included(nominal.sub(&down)?));
        let high = Some(included(nominal.add(&up)?));
        Ok(Range { kind, low, high, around: Around::stored(nominal, Part::Each { plus, minus }) })
    }

    /// The upper end of `nominal +plus/-…`, whatever its lower one is.
    ///
    /// # Errors
    /// As [`Range::plus_and_minus`].
    pub fn end_above(nominal: &Quantity, plus: &Quantity) -> Result<Quantity, Fault> {
        nominal.add(&one_part(nominal, plus)?)
    }

    /// The lower end of `nominal +…/-minus`, whatever its upper one is.
    ///
    /// # Errors
    /// As [`Range::plus_and_minus`].
    pub fn end_below(nominal: &Quantity, minus: &Quantity) -> Result<Quantity, Fault> {
        nominal.sub(&one_part(nominal, minus)?)
    }

    /// From `limit` upwards, itself included.
    ///
    /// # Errors
    /// None; all makers of ranges share one form.
    pub fn at_least(limit: Quantity) -> Result<Range, Fault> {
        Ok(Range { kind: limit.kind(), low: Some(included(limit)), high: None, around: None })
    }

    /// From `limit` downwards, itself included.
    ///
    /// # Errors
    /// None; all makers of ranges share one form.
    pub fn at_most(limit: Quantity) -> Result<Range, Fault> {
        Ok(Range { kind: limit.kind(), low: None, high: Some(included(limit)), around: None })
    }

    /// From `limit` upwards, itself left out.
    ///
    /// # Errors
    /// None; all makers of ranges share one form.
    pub fn above(limit: Quantity) -> Result<Range, Fault> {
        Ok(Range { kind: limit.kind(), low: Some(excluded(limit)), high: None, around: None })
    }

    /// From `limit` downwards, itself left out.
    ///
    /// # Errors
    /// None; all makers of ranges share one form.
    pub fn below(limit: Quantity) -> Result<Range, Fault> {
        Ok(Range { kind: limit.kind(), low: None, high: Some(excluded(limit)), around: None })
    }

    /// From `low` upwards, itself left out, up to `high`, itself included: a class of a scale.
    ///
    /// # Errors
    /// As [`Range::between`]; a range that holds nothing.
    pub fn above_to(low: Quantity, high: Quantity) -> Result<Range, Fault> {
        let Range { kind, low, high, .. } = Range::between(low, high)?;
        Range::holding_something(kind, low.map(|limit| excluded(limit.value)), high)
    }

    /// From `low` upwards, itself included, up to `high`, itself left out: a grade.
    ///
    /// # Errors
    /// As [`Range::above_to`].
    pub fn from_to_below(low: Quantity, high: Quantity) -> Result<Range, Fault> {
        let Range { kind, low, high, .. } = Range::between(low, high)?;
        Range::holding_something(kind, low, high.map(|limit| excluded(limit.value)))
    }

    fn holding_something(kind: Kind, low: Option<Limit>, high: Option<Limit>) -> Result<Range, Fault> {
        let range = Range { kind, low, high, around: None };
        match range.tolerance() {
            Some(width) if width.magnitude().is_zero() => {
                let what = format!("the range `{}` holds nothing", range.limits_text());
                Err(Fault::new(code::RANGE_INVERTED, what).help("write two ends that differ"))
            }
            _ => Ok(range),
        }
    }

    /// The kind of what it holds.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// The range with its ends as points on the scale of `kind`, where their units leave that open.
    #[must_use]
    pub fn on_scale(&self, kind: Kind) -> Option<Range> {
        let around = match self.around.as_deref() {
            None => None,
            Some(Around { nominal, part }) => Around::stored(nominal.on_scale(kind)?, part.clone()),
        };
        Some(Range { kind, around, ..self.with_limits(|value| value.on_scale(kind))? })
    }

    /// The range between other limits, each made from the one there is, in the same order.
    #[must_use]
    pub fn with_limits(&self, change: impl Fn(&Quantity) -> Option<Quantity>) -> Option<Range> {
        let changed = |limit: &Option<Limit>| match limit {
            None => Some(None),
            Some(Limit { value, inclusive }) => {
                Some(Some(Limit { value: change(value)?, inclusive: *inclusive }))
            }
        };
        let (low, high) = (changed(&self.low)?, changed(&self.high)?);
        let kind = low.as_ref().or(high.as_ref()).map_or(self.kind, |limit| limit.value.kind());
        Some(Range { kind, low, high, around: None })
    }

    /// The same range with another limit at one end; nothing where it would hold nothing.
    #[must_use]
    pub fn with_end(&self, which: Which, limit: Limit) -> Option<Range> {
        let mut range = Range { around: None, ..self.clone() };
        match which {
            Which::Low => range.low = Some(limit),
            Which::High => range.high = Some(limit),
        }
        let holds_something = match (&range.low, &range.high) {
            (Some(low), Some(high)) => match low.value.compare(&high.value) {
                Ordering::Less => true,
                Ordering::Equal => low.inclusive && high.inclusive,
                Ordering::Greater => false,
            },
            _ => true,
        };
        holds_something.then_some(range)
    }

    /// Its lower limit.
    #[must_use]
    pub fn low(&self) -> Option<&Limit> {
        self.low.as_ref()
    }

    /// Its upper limit.
    #[must_use]
    pub fn high(&self) -> Option<&Limit> {
        self.high.as_ref()
    }

    /// The nominal value, where it was written with one.
    #[must_use]
    pub fn nominal(&self) -> Option<&Quantity> {
        self.around.as_deref().map(|around| &around.nominal)
    }

    /// The tolerance: the upper minus the lower limit (JCGM 106:2012); nothing where there is one only.
    #[must_use]
    pub fn tolerance(&self) -> Option<Quantity> {
        Some(self.high.as_ref()?.value.distance_from(&self.low.as_ref()?.value))
    }

    /// Whether its upper limit is ten times its lower one or more, which no tolerance is.
    #[must_use]
    pub fn ends_tenfold(&self) -> bool {
        let (Some(low), Some(high)) = (&self.low, &self.high) else { return false };
        high.value.base().over(&low.value.base()).is_some_and(|times| times >= Number::from(10_u64))
    }

    /// Whether another range has the same limits, in whatever units and form they are written.
    #[must_use]
    pub fn has_limits_of(&self, other: &Range) -> bool {
        let same = |one: &Option<Limit>, other: &Option<Limit>| match (one, other) {
            (Some(one), Some(other)) => {
                one.inclusive == other.inclusive && one.value.compare(&other.value).is_eq()
            }
            (None, None) => true,
            _ => false,
        };
        same(&self.low, &other.low) && same(&self.high, &other.high)
    }

    /// Whether a reading of a comparable kind lies within it.
    #[must_use]
    pub fn contains(&self, reading: &Quantity) -> bool {
        let above = self.low.as_ref().is_none_or(|low| match reading.compare(&low.value) {
            Ordering::Less => false,
            Ordering::Equal => low.inclusive,
            Ordering::Greater => true,
        });
        above
            && self.high.as_ref().is_none_or(|high| match reading.compare(&high.value) {
                Ordering::Less => true,
                Ordering::Equal => high.inclusive,
                Ordering::Greater => false,
            })
    }

    /// Whether every value of this range lies within `outer`, a range of a comparable kind.
    #[must_use]
    pub fn lies_within(&self, outer: &Range) -> bool {
        ends_inside(self.low.as_ref(), outer.low.as_ref(), Ordering::Greater)
            && ends_inside(self.high.as_ref(), outer.high.as_ref(), Ordering::Less)
    }

    /// How far a reading of a comparable kind lies from the nearest limit.
    #[must_use]
    pub fn margin(&self, reading: &Quantity) -> Margin {
        let from_low = self.low.as_ref().map(|low| (reading.distance_from(&low.value), Which::Low, low));
        let from_high = self.high.as_ref().map(|high| {
            let beyond = reading.distance_from(&high.value);
            (beyond.opposite(), Which::High, high)
        });
        let nearest = match (from_low, from_high) {
            (Some(low), Some(high)) if high.0.compare(&low.0) == Ordering::Less => Some(high),
            (low, high) => low.or(high),
        };
        let share = |distance: &Quantity| {
            distance.base().over(&self.tolerance()?.base()).map(|share| share.reduced())
        };
        match nearest {
            Some((distance, which, limit)) => Margin {
                share: share(&distance),
                exclusive_limit_hit: distance.magnitude().is_zero() && !limit.inclusive,
                limit: which,
                distance,
            },
            // A range has at least one limit; without one, every reading would be inside.
            None => Margin {
                distance: Number::ZERO.into(),
                share: None,
                limit: Which::Low,
                exclusive_limit_hit: false,
            },
        }
    }

    /// Its limits in words: `40.5 Nm .. 49.5 Nm`, `at least 2 s`.
    #[must_use]
    pub fn limits_text(&self) -> String {
        self.limits_shown(&Quantity::to_string)
    }

    /// The same, each limit as `shown` shows it.
    #[must_use]
    pub fn limits_shown(&self, shown: &dyn Fn(&Quantity) -> String) -> String {
        let shown = |limit: &Limit| shown(&limit.value.spelled());
        let words = |limit: &Limit, included: &str, excluded: &str| {
            format!("{} {}", if limit.inclusive { included } else { excluded }, shown(limit))
        };
        match (&self.low, &self.high) {
            (Some(low), Some(high)) if low.inclusive && high.inclusive => {
                format!("{} .. {}", shown(low), shown(high))
            }
            (Some(low), Some(high)) => {
                format!("{} and {}", words(low, "at least", "above"), words(high, "at most", "below"))
            }
            (Some(low), None) => words(low, "at least", "above"),
            (None, Some(high)) => words(high, "at most", "below"),
            (None, None) => String::new(),
        }
    }
}

impl Range {
    /// As it was written, each quantity of it as `shown` shows it.
    #[must_use]
    pub fn shown(&self, shown: &dyn Fn(&Quantity) -> String) -> String {
        let Some(Around { nominal, part }) = self.around.as_deref() else {
            return self.limits_shown(shown);
        };
        let nominal = shown(nominal);
        match part {
            Part::Both(tolerance) => format!("{nominal} ± {}", shown(&tolerance.spelled())),
            Part::Each { plus, minus } => {
                let (plus, minus) = (plus.spelled(), minus.spelled());
                let same = plus.unit() == minus.unit();
                let plus = if same { plus.magnitude().to_string() } else { shown(&plus) };
                format!("{nominal} +{plus}/-{}", shown(&minus))
            }
        }
    }
}

impl Around {
    fn stored(nominal: Quantity, part: Part) -> Option<Box<Around>> {
        Some(Box::new(Around { nominal, part }))
    }
}

/// Whether one end of a range goes no further than the same end of another; `inward` is the side of
/// the outer end on which its range lies.
fn ends_inside(inner: Option<&Limit>, outer: Option<&Limit>, inward: Ordering) -> bool {
    match (inner, outer) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(inner), Some(outer)) => match inner.value.compare(&outer.value) {
            Ordering::Equal => outer.inclusive || !inner.inclusive,
            side => side == inward,
        },
    }
}

fn included(value: Quantity) -> Limit {
    Limit { value, inclusive: true }
}

fn excluded(value: Quantity) -> Limit {
    Limit { value, inclusive: false }
}

/// What to write in the place of a percentage of a temperature or of a percentage.
fn other_tolerance(nominal: &Quantity, tolerance: &Quantity) -> Option<String> {
    if tolerance.kind().name() != Some(KindName::Ratio) {
        return None;
    }
    match nominal.kind().name() {
        Some(KindName::Temperature) => {
            Some(format!("write the tolerance as a difference, such as `{nominal} ± 5 K`"))
        }
        Some(KindName::Ratio) => {
            let ends = [tolerance.clone(), distance_of(nominal, tolerance).ok()?].map(|part| {
                let (low, high) = (nominal.sub(&part).ok()?, nominal.add(&part).ok()?);
                Some(format!("`{low} .. {high}`"))
            });
            let [own, of_nominal] = ends;
            Some(format!("write both ends, {} or {}", own?, of_nominal?))
        }
        _ => None,
    }
}

/// One part of a tolerance as a distance; the other one may be anything.
fn one_part(nominal: &Quantity, part: &Quantity) -> Result<Quantity, Fault> {
    nominal.kind().tolerance(part.kind())?;
    let distance = distance_of(nominal, part)?;
    if distance.magnitude().is_negative() {
        let what = format!("the tolerance `{part}` of `{nominal}` is below zero");
        return Err(Fault::new(code::TOLERANCE, what).help("write both parts without a sign of their own"));
    }
    Ok(distance)
}

/// A tolerance as a distance: itself, or the percentage of the nominal value's amount.
fn distance_of(nominal: &Quantity, tolerance: &Quantity) -> Result<Quantity, Fault> {
    if tolerance.kind().name() != Some(KindName::Ratio) {
        return Ok(tolerance.clone());
    }
    nominal.amount().mul(&tolerance.base().into())
}

/// As it was written: `45 Nm ± 10 %`, `40 Nm .. 50 Nm`, `at least 2 s`.
impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.shown(&Quantity::to_string))
    }
}
