//! A number with a unit.

use std::cmp::Ordering;
use std::fmt;

use crate::code;
use crate::diagnostic::Fault;

use super::kind::{Kind, KindName};
use super::literal::without_delta;
use super::number::Number;
use super::numeral::{certain, explain, fraction, not_a_fraction, scan, shown, split_run};
use super::range_meant::with_usual_sign;
use super::unit::{Unit, unit_behind};
use super::zero::unit_with_zero;

impl Number {
    /// The figure with a unit behind it, where it is printed with all its digits, so that the text can be
    /// written in place of another.
    fn exactly(&self, unit: &str) -> Option<String> {
        let figure = self.to_string();
        let whole = scan(&figure).is_some_and(|(number, rest)| rest.is_empty() && number == *self);
        whole.then(|| joined(figure, unit))
    }
}

/// A number with a unit, or the result of a calculation in coherent SI units.
///
/// Two quantities are equal when their figures and their units are: `1 L` is not equal to `1000 mL`.
/// Use [`Quantity::compare`] for what they amount to.
///
/// ```
/// use witnessmark_base::quantity::{KindName, Quantity};
///
/// let torque = Quantity::parse("33 lbf.ft", Some(KindName::Torque.into())).unwrap();
/// let limit = Quantity::parse("45 Nm", None).unwrap();
/// assert!(torque.compare(&limit).is_lt());
///
/// let refused = Quantity::parse("45 km", Some(KindName::Torque.into())).unwrap_err();
/// assert_eq!(refused.code.as_str(), "quantity/kind-wrong");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    magnitude: Number,
    measure: Measure,
}

/// In what a magnitude is given.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Measure {
    Unit(&'static Unit),
    /// Coherent SI units of this kind, for kinds that have no unit of their own.
    Coherent(Kind),
}

impl Measure {
    fn of_kind(kind: Kind) -> Measure {
        Unit::coherent(kind).map_or(Measure::Coherent(kind), Measure::Unit)
    }

    fn kind(self) -> Kind {
        match self {
            Measure::Unit(unit) => unit.kind(),
            Measure::Coherent(kind) => kind,
        }
    }

    fn difference(self) -> Measure {
        match self {
            Measure::Unit(unit) => Measure::Unit(unit.difference()),
            Measure::Coherent(kind) => Measure::Coherent(kind.difference_kind()),
        }
    }
}

/// A plain number is a quantity without dimension.
impl From<Number> for Quantity {
    fn from(magnitude: Number) -> Self {
        Quantity { magnitude, measure: Measure::Coherent(Kind::NUMBER) }
    }
}

impl Quantity {
    /// `magnitude` in `unit`.
    #[must_use]
    pub fn new(magnitude: Number, unit: &'static Unit) -> Self {
        Quantity { magnitude, measure: Measure::Unit(unit) }
    }

    /// The quantity of this kind that is `base` in coherent SI units.
    #[must_use]
    pub fn from_base(base: Number, kind: Kind) -> Self {
        Quantity { magnitude: base, measure: Measure::of_kind(kind) }
    }

    /// The figure in its own unit.
    #[must_use]
    pub fn magnitude(&self) -> &Number {
        &self.magnitude
    }

    /// Its unit; nothing for a plain number and for the result of a calculation whose kind has no unit.
    #[must_use]
    pub fn unit(&self) -> Option<&'static Unit> {
        match self.measure {
            Measure::Unit(unit) => Some(unit),
            Measure::Coherent(_) => None,
        }
    }

    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.measure.kind()
    }

    /// Its value in coherent SI units (angles in turns), the offset of a temperature scale applied.
    #[must_use]
    pub fn base(&self) -> Number {
        match self.measure {
            Measure::Unit(unit) if unit.offset.is_zero() => &self.magnitude * &unit.factor,
            Measure::Unit(unit) => &(&self.magnitude * &unit.factor) + &unit.offset,
            Measure::Coherent(_) => self.magnitude.clone(),
        }
    }

    /// The same value in another unit of the same dimension.
    #[must_use]
    pub fn in_unit(&self, unit: &'static Unit) -> Quantity {
        self.in_measure(Measure::Unit(unit))
    }

    /// The same value in the unit of another one, where that is of the same kind.
    #[must_use]
    pub fn in_unit_of(&self, model: &Quantity) -> Quantity {
        match model.unit().filter(|unit| unit.kind() == self.kind()) {
            Some(unit) => self.in_unit(unit),
            None => self.clone(),
        }
    }

    fn in_measure(&self, measure: Measure) -> Quantity {
        if self.measure == measure { self.clone() } else { Quantity::at(self.base(), measure) }
    }

    /// The quantity that is `base` in coherent SI units, given in `measure`.
    fn at(base: Number, measure: Measure) -> Quantity {
        let magnitude = match measure {
            // A factor is never zero.
            Measure::Unit(unit) => (&base - &unit.offset).over(&unit.factor).unwrap_or(base).reduced(),
            Measure::Coherent(_) => base.reduced(),
        };
        Quantity { magnitude, measure }
    }

    /// How many decimals of its figure the first `significant` digits of a distance of its dimension take.
    #[must_use]
    pub fn decimals_of(&self, distance: &Quantity, significant: i32) -> usize {
        let base = match distance.measure {
            Measure::Unit(unit) => &distance.magnitude * &unit.factor,
            Measure::Coherent(_) => distance.magnitude.clone(),
        };
        let figure = match self.measure {
            Measure::Unit(unit) => base.over(&unit.factor).unwrap_or(base),
            Measure::Coherent(_) => base,
        };
        figure.decimals(significant)
    }

    /// How it compares with another of a comparable kind.
    #[must_use]
    pub fn compare(&self, other: &Quantity) -> Ordering {
        if self.measure == other.measure {
            // Factors are positive, so the figures compare as the values do.
            self.magnitude.cmp(&other.magnitude)
        } else {
            self.base().cmp(&other.base())
        }
    }

    /// The signed distance `self − other` in the unit of a difference of `other`, for comparable kinds.
    #[must_use]
    pub fn distance_from(&self, other: &Quantity) -> Quantity {
        let measure = other.measure.difference();
        let magnitude = &self.in_measure(other.measure).magnitude - &other.magnitude;
        Quantity { magnitude: magnitude.reduced(), measure }
    }

    /// `self + other`, in the unit of `self`; the sum of a difference and a point in that of the point.
    ///
    /// # Errors
    /// Kinds that do not add ([`Kind::sum`]); a result below absolute zero or past all size.
    pub fn add(&self, other: &Quantity) -> Result<Quantity, Fault> {
        let kind = self.kind().sum(other.kind())?;
        let measure = [self, other].into_iter().map(|part| part.measure).find(|part| part.kind() == kind);
        let sum = self.base().checked_add(&other.base()).ok_or_else(too_large)?;
        Quantity::at(sum, measure.unwrap_or(Measure::Coherent(kind))).above_zero_point()
    }

    /// `self − other`, in the unit of `self`; the difference of two points in the unit of a difference.
    ///
    /// # Errors
    /// Kinds that do not subtract ([`Kind::difference`]); a result below absolute zero or past all size.
    pub fn sub(&self, other: &Quantity) -> Result<Quantity, Fault> {
        let kind = self.kind().difference(other.kind())?;
        let candidates = [self.measure, self.measure.difference(), other.measure];
        let measure = candidates.into_iter().find(|part| part.kind() == kind);
        let difference = self.base().checked_sub(&other.base()).ok_or_else(too_large)?;
        Quantity::at(difference, measure.unwrap_or(Measure::Coherent(kind))).above_zero_point()
    }

    /// `self × other`. A factor without dimension leaves the unit of the other; otherwise the result is
    /// in coherent SI units.
    ///
    /// # Errors
    /// A temperature as a factor ([`Kind::product`]); a result past all size.
    pub fn mul(&self, other: &Quantity) -> Result<Quantity, Fault> {
        let kind = self.kind().product(other.kind())?;
        let kept = if other.kind().is_dimensionless() && self.kind() == kind {
            Some((self, other))
        } else if self.kind().is_dimensionless() {
            Some((other, self))
        } else {
            None
        };
        match kept {
            Some((kept, factor)) => {
                let magnitude = kept.magnitude.checked_mul(&factor.base()).ok_or_else(too_large)?;
                Ok(Quantity { magnitude: magnitude.reduced(), measure: kept.measure })
            }
            None => {
                let base = self.base().checked_mul(&other.base()).ok_or_else(too_large)?;
                Ok(Quantity::at(base, Measure::of_kind(kind)))
            }
        }
    }

    /// `self ÷ other`. A divisor without dimension leaves the unit; otherwise the result is in coherent
    /// SI units, and a plain number when the dimensions cancel.
    ///
    /// # Errors
    /// A temperature ([`Kind::quotient`]); a zero divisor; a result past all size.
    pub fn div(&self, other: &Quantity) -> Result<Quantity, Fault> {
        let kind = self.kind().quotient(other.kind())?;
        if other.magnitude.is_zero() {
            return Err(Fault::new(code::DIVISION_BY_ZERO, format!("`{self}` cannot be divided by zero"))
                .help("ask first whether the divisor is above zero"));
        }
        let (dividend, measure) = if other.kind().is_dimensionless() && kind == self.kind() {
            (self.magnitude.clone(), self.measure)
        } else {
            (self.base(), Measure::of_kind(kind))
        };
        let magnitude = dividend.checked_div(&other.base()).ok_or_else(too_large)?;
        Ok(Quantity { magnitude: magnitude.reduced(), measure })
    }

    /// The quantity with the other sign; of a temperature, the figure with the other sign.
    ///
    /// # Errors
    /// A result below absolute zero.
    pub fn neg(&self) -> Result<Quantity, Fault> {
        self.opposite().above_zero_point()
    }

    /// The same distance on the other side of zero; for distances, which have no lowest value.
    #[must_use]
    pub fn opposite(&self) -> Quantity {
        Quantity { magnitude: -&self.magnitude, measure: self.measure }
    }

    /// Its distance from zero, in the unit of a difference.
    #[must_use]
    pub fn amount(&self) -> Quantity {
        Quantity { magnitude: self.magnitude.abs(), measure: self.measure.difference() }
    }

    /// Refuses what lies below absolute zero or below a vacuum.
    ///
    /// # Errors
    /// A value below the zero of its scale.
    pub fn above_zero_point(self) -> Result<Quantity, Fault> {
        let Measure::Unit(unit) = self.measure else { return Ok(self) };
        let zero = match unit.kind {
            KindName::Temperature => "absolute zero",
            KindName::AbsolutePressure => "the pressure of a vacuum",
            _ => return Ok(self),
        };
        // No offset is negative, so a figure at or above zero needs no sum.
        if self.magnitude.is_negative() && self.base().is_negative() {
            let least = Quantity::at(Number::ZERO, self.measure);
            let what = format!("`{self}` is below {zero}, which is {least}");
            return Err(
                Fault::new(code::BELOW_ZERO_POINT, what).help("check the sign and the unit of the value")
            );
        }
        Ok(self)
    }

    /// Refuses a value below zero of a kind that has none, such as a torque; for what was measured, not
    /// for a distance between two values.
    ///
    /// # Errors
    /// A value below zero.
    pub fn not_below_zero(self) -> Result<Quantity, Fault> {
        let kind = self.kind();
        if kind.is_signed() || !self.magnitude.is_negative() {
            return Ok(self);
        }
        let what = format!("`{self}` is below zero, which {} cannot be", kind.with_article());
        Err(Fault::new(code::BELOW_ZERO_POINT, what).help(
            match self.unit().and_then(|unit| self.opposite().magnitude.exactly(unit.symbol)) {
                Some(text) => format!("check the sign; write `{text}` if that is what was measured"),
                None => "check the sign".to_owned(),
            },
        ))
    }

    /// Reads a number with a unit: `45 Nm`, `33 lbf.ft`, `38 °C`, `4.3L`. The kind that is expected
    /// decides what `K` and plain `bar` are: a point on the scale where a point is wanted.
    ///
    /// # Errors
    /// A text that is no number or no unit; a missing unit; a unit of another kind; a value below
    /// absolute zero. Each names what was found, what is wanted, and what to write.
    pub fn parse(text: &str, expected: Option<Kind>) -> Result<Quantity, Fault> {
        let text = text.trim();
        if let Some(rest) = without_delta(text).filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
        {
            return Quantity::written_difference(rest, text, expected);
        }
        let Some((magnitude, rest)) = figure(text) else { return Err(not_a_quantity(text, expected)) };
        let name = rest.trim_start();
        if name.is_empty() {
            return Quantity::without_unit(magnitude, text, expected);
        }
        let read = text.len() - rest.len();
        let number = text.get(..read).unwrap_or_default();
        let unit = Unit::find_of(name, expected, number).map_err(|fault| {
            let said = unit_with_zero(name).zip(expected).filter(|(unit, kind)| unit.kind() != *kind);
            match said {
                Some((unit, kind)) => Quantity::new(magnitude.clone(), unit).wrong_kind(unit, kind, text),
                None => not_a_unit(text, read, fault, expected),
            }
        })?;
        let quantity = Quantity::new(magnitude, unit);
        match expected {
            Some(kind) if kind.name() != Some(unit.kind) => quantity.expected(kind, text)?.above_zero_point(),
            _ => quantity.above_zero_point(),
        }
    }

    /// Reads what follows the `Δ` in `Δ9 °F`.
    fn written_difference(rest: &str, text: &str, expected: Option<Kind>) -> Result<Quantity, Fault> {
        let value = Quantity::parse(rest, None).map_err(|fault| {
            fault.meant(None).help("write a difference of temperatures in K, or with Δ°F behind the number")
        })?;
        let points = |unit: &&Unit| unit.kind().is_point() || unit.kind == KindName::TemperatureDifference;
        let Some(unit) = value.unit().filter(points) else {
            let what = format!("`{}` is no difference of temperatures or pressures", shown(text));
            return Err(Fault::new(code::QUANTITY_FORM, what)
                .help("write the value without the sign of a difference"));
        };
        let value = Quantity::new(value.magnitude, unit.difference());
        match expected {
            Some(kind) if kind.is_point() => Err(value.wrong_kind(unit.difference(), kind, text)),
            Some(kind) => value.expected(kind, text),
            None => Ok(value),
        }
    }

    /// A number that stands without a unit is a quantity only where a plain number is expected.
    fn without_unit(magnitude: Number, text: &str, expected: Option<Kind>) -> Result<Quantity, Fault> {
        if expected == Some(Kind::NUMBER) {
            return Ok(magnitude.into());
        }
        let fault = Fault::new(code::UNIT_MISSING, format!("`{}` has no unit", shown(text)));
        let share = expected.filter(|kind| kind.name() == Some(KindName::Ratio));
        let help = share.and_then(|_| share_meant(text, &magnitude));
        Err(fault.help(help.unwrap_or_else(|| unit_behind(&shown(text), expected))))
    }

    /// The quantity as one of the kind that is expected.
    fn expected(self, kind: Kind, written: &str) -> Result<Quantity, Fault> {
        if let Some(scaled) = self.on_scale(kind) {
            return Ok(scaled);
        }
        let Measure::Unit(unit) = self.measure else { return Ok(self) };
        let own = unit.kind();
        if own.comparable(kind).is_ok() {
            return Ok(self);
        }
        Err(self.wrong_kind(unit, kind, written))
    }

    fn wrong_kind(self, unit: &'static Unit, kind: Kind, written: &str) -> Fault {
        let own = unit.kind();
        let (is, wanted) = (own.with_article(), kind.with_article());
        let what = format!("`{}` is {is}, and {wanted} is wanted here", shown(written));
        let scaled = kind.name().filter(|_| kind.is_point() && kind.difference_kind() == own);
        let scaled =
            scaled.and_then(|name| unit.on_scale(name)).map(|unit| self.magnitude.exactly(unit.symbol));
        let help = if own.is_point() && own.difference_kind() == kind {
            let difference = self.magnitude.exactly(unit.difference_name());
            difference.map(|text| format!("for a difference write `{text}`"))
        } else if own.is_point() && kind.is_point() && own.difference_kind() == kind.difference_kind() {
            let (is, wanted) = (own.with_article(), kind.with_article());
            Some(format!(
                "the two differ by the pressure of the air, which this value does not say: read it at the tool as {wanted}, \
                 or record it in a field for {is}"
            ))
        } else {
            scaled.flatten().map(|text| match kind.name() {
                Some(KindName::AbsolutePressure) => format!("write `{text}` if the zero is that of a vacuum"),
                Some(KindName::Temperature) => format!("write `{text}` if that is the temperature itself"),
                _ => format!("write `{text}` if that is the reading itself"),
            })
        };
        let help = help.unwrap_or_else(|| match Unit::examples(kind).as_str() {
            "" => format!("write a value in {}", kind.dimension()),
            units => format!("write a value in {units}"),
        });
        Fault::new(code::KIND_WRONG, what).help(help)
    }

    /// The figure of a difference as a point on the scale of `kind`, where its unit leaves open which of the
    /// two it is: the gauge bar for a bare bar. Nothing for whatever says what it is.
    #[must_use]
    pub fn on_scale(&self, kind: Kind) -> Option<Quantity> {
        let unit = self.unit()?;
        let is_open = unit.kind() != kind && unit.kind() == kind.difference_kind() && !unit.says_difference();
        let scaled = unit.on_scale(kind.name().filter(|_| is_open)?)?;
        Some(Quantity::new(self.magnitude.clone(), scaled))
    }

    /// As it can be read back where no kind is expected: a difference of temperatures in K, because
    /// `5 °C` reads as a temperature.
    pub(super) fn spelled(&self) -> Quantity {
        match self.unit() {
            Some(unit) if unit.kind == KindName::TemperatureDifference => {
                Quantity::at(self.base(), Measure::of_kind(unit.kind()))
            }
            _ => self.clone(),
        }
    }
}

/// The number at the head of a value, a whole one or a fraction, and what follows. In `5/100 mL` the
/// stroke belongs to the unit.
fn figure(text: &str) -> Option<(Number, &str)> {
    let (number, rest) = scan(text)?;
    let stroke = rest.starts_with(['/', '\u{2044}']) && Unit::find(rest).is_err();
    Some(if stroke { fraction(text).unwrap_or((number, rest)) } else { (number, rest) })
}

/// What is wrong with a text whose first `read` bytes are a number and whose rest is no unit.
fn not_a_unit(text: &str, read: usize, fault: Fault, expected: Option<Kind>) -> Fault {
    if let Some(fault) = not_a_fraction(text) {
        return fault;
    }
    let (run, _) = split_run(text);
    if ["..", "±", "+/-", "/-"].iter().any(|sign| text.contains(sign)) || is_range_by_another_sign(text) {
        let what = format!("`{}` is a range, and one value is wanted here", shown(text));
        return Fault::new(code::QUANTITY_FORM, what).help("write one value");
    }
    // `800 1/min` is a number and a short name, `12 500 Nm` a number with a mark in it.
    if run.len() > read && fault.code != code::UNIT_AMBIGUOUS {
        return not_a_quantity(text, expected);
    }
    // What was meant by the unit, behind the number as it stands.
    let name = text.get(read..).unwrap_or_default().trim_start();
    let number = text.strip_suffix(name).unwrap_or_default();
    let meant = fault.meant.as_ref().map(|unit| format!("{number}{unit}"));
    match meant.as_deref().map(|meant| Quantity::parse(meant, expected)) {
        // Whatever its unit is to be called, there is no such value.
        Some(Err(of_value)) => of_value.meant(None),
        Some(Ok(_)) | None => fault.meant(meant),
    }
}

fn not_a_quantity(text: &str, expected: Option<Kind>) -> Fault {
    if let Some(fault) = not_a_fraction(text) {
        return fault;
    }
    let (run, rest) = split_run(text);
    // In `4,5 1/K` the one belongs to the unit.
    let before_one =
        run.strip_suffix('1').filter(|run| rest.starts_with('/') && run.ends_with(char::is_whitespace));
    let run = before_one.map_or(run, str::trim_end);
    let rest = text.strip_prefix(run).unwrap_or(rest);
    if let (Some((_, "")), Err(fault)) = (scan(run), Unit::find_of(rest.trim_start(), expected, run)) {
        return fault;
    }
    if run.is_empty() {
        let example = expected.and_then(Unit::first).map_or("Nm", |unit| unit.symbol);
        let what = if text.is_empty() {
            "a number with a unit is missing".to_owned()
        } else {
            format!("`{}` does not begin with a number", shown(text))
        };
        let help = match expected {
            Some(Kind::NUMBER) => "write a plain number, such as `45`".to_owned(),
            _ => format!("write a number with its unit, such as `{}`", joined("45".to_owned(), example)),
        };
        return Fault::new(code::QUANTITY_FORM, what).help(help);
    }
    // The number is certain only where the whole can be read then, with a unit that is certain too.
    let meant =
        certain(run).map(|number| format!("{number}{rest}")).and_then(|whole| {
            match Quantity::parse(&whole, expected) {
                Ok(_) => Some(whole),
                Err(fault) => fault.meant.map(String::from),
            }
        });
    let offer = |numbers: &[String]| {
        let whole: Vec<String> = numbers.iter().map(|number| format!("{number}{rest}")).collect();
        if whole.iter().all(|text| Quantity::parse(text, expected).is_ok()) {
            format!("write `{}`", whole.join("` or `"))
        } else {
            let numbers = numbers.join(" or ");
            let other = whole.iter().find_map(|text| other_kind(text, expected));
            other.map_or_else(|| unit_behind(&numbers, expected), |what| format!("write {numbers}; {what}"))
        }
    };
    explain(run, &offer).meant(meant)
}

/// What is said of a unit behind a number that is wrong itself, where it is of another kind than is wanted.
fn other_kind(text: &str, expected: Option<Kind>) -> Option<String> {
    Quantity::parse(text, expected).err().filter(|fault| fault.code == code::KIND_WRONG)?;
    let (_, name) = figure(text)?;
    let unit = Unit::find(name).ok().or_else(|| unit_with_zero(name))?;
    let (is, wanted) = (unit.kind().with_article(), expected?.with_article());
    Some(format!("its unit is that of {is}, and {wanted} is wanted here"))
}

/// What a number can mean where a share is wanted: up to one it may be a share of one.
fn share_meant(text: &str, magnitude: &Number) -> Option<String> {
    let percent = format!("{} %", shown(text));
    Quantity::parse(&percent, None).ok()?;
    let of_one = magnitude.abs() <= Number::ONE && !magnitude.is_zero();
    if !of_one {
        return Some(format!("write `{percent}`"));
    }
    let share = (magnitude * &Number::from(100_i64)).exactly("%")?;
    Some(format!("write `{share}` if it is a share of one, or `{percent}`"))
}

/// Whether two figures stand with the sign or word between them that people write for a range.
fn is_range_by_another_sign(text: &str) -> bool {
    const LONGEST: usize = 200;
    if text.len() > LONGEST {
        return false;
    }
    let is_value = |text: &str| {
        figure(text.trim()).is_some_and(|(_, rest)| rest.trim().is_empty() || Unit::find(rest).is_ok())
    };
    let with_points = with_usual_sign(text);
    let ends = with_points.as_deref().and_then(|text| text.split_once("..").or_else(|| text.split_once('±')));
    ends.is_some_and(|(low, high)| is_value(low) && is_value(high))
}

fn too_large() -> Fault {
    Fault::new(code::NUMBER_SIZE, "the result has too many digits to work with")
        .help("look for a value that is multiplied by itself again and again")
}

/// A figure and a unit as they are printed.
pub(super) fn joined(figure: String, symbol: &str) -> String {
    // By the SI Brochure (5.4.3) only the signs of plane angle stand without a space.
    if symbol == "°" { format!("{figure}{symbol}") } else { format!("{figure} {symbol}") }
}

/// `45 Nm`, `38 °C`, `10 %`, `90°`; a plain number alone. A precision is that of the figure.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let figure = match f.precision() {
            Some(decimals) => format!("{:.decimals$}", self.magnitude),
            None => self.magnitude.to_string(),
        };
        match self.measure {
            Measure::Unit(unit) => f.write_str(&joined(figure, unit.symbol)),
            Measure::Coherent(kind) if kind.is_dimensionless() => f.write_str(&figure),
            Measure::Coherent(kind) => write!(f, "{figure} {}", kind.dimension()),
        }
    }
}
