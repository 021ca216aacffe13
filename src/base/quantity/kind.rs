//! What a quantity is: its dimension, and the name that keeps apart what shares a dimension.
//!
//! Torque is not energy. A temperature is a point on a scale, a temperature difference is a distance
//! between two; gauge and absolute pressure are points on two scales, plain pressure is a distance
//! on either. A plain number is no ratio: 60 is not 60 %. What comes out of a division of like by like
//! has no name and may be either.

use std::fmt;

use crate::code;
use crate::diagnostic::{Fault, nearest};

/// Exponents of the base units metre, kilogram, second, kelvin, ampere and turn. The angle counts as
/// a dimension of its own, in turns, because a degree is an exact part of a turn and of no radian.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Dimension([i8; 6]);

impl Dimension {
    /// No dimension: a plain number.
    pub const NONE: Dimension = Dimension([0; 6]);
    const SYMBOLS: [&'static str; 6] = ["m", "kg", "s", "K", "A", "turn"];

    /// From the exponents of length, mass, time, temperature, electric current and angle.
    #[must_use]
    pub const fn new(exponents: [i8; 6]) -> Self {
        Dimension(exponents)
    }

    /// The exponents of length, mass, time, temperature, electric current and angle.
    #[must_use]
    pub const fn exponents(self) -> [i8; 6] {
        self.0
    }

    /// The dimension of a product; nothing when an exponent passes ±127.
    #[must_use]
    pub fn product(self, other: Dimension) -> Option<Dimension> {
        self.combined(other, i8::checked_add)
    }

    /// The dimension of a quotient; nothing when an exponent passes ±127.
    #[must_use]
    pub fn quotient(self, other: Dimension) -> Option<Dimension> {
        self.combined(other, i8::checked_sub)
    }

    fn combined(self, other: Dimension, with: fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        let mut result = [0; 6];
        for (slot, (a, b)) in result.iter_mut().zip(self.0.into_iter().zip(other.0)) {
            *slot = with(a, b)?;
        }
        Some(Dimension(result))
    }
}

/// In coherent SI units: `kg·m²/s²`, or `1` for a plain number.
impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // By custom the kilogram stands first.
        const ORDER: [usize; 6] = [1, 0, 2, 3, 4, 5];
        let part = |wanted: fn(i8) -> bool| -> Vec<String> {
            let powers = ORDER.into_iter().filter_map(|at| Self::SYMBOLS.get(at).zip(self.0.get(at)));
            powers
                .filter(|(_, power)| wanted(**power))
                .map(|(symbol, power)| raised(symbol, *power))
                .collect()
        };
        let (above, below) = (part(|power| power > 0), part(|power| power < 0));
        f.write_str(if above.is_empty() { "1" } else { "" })?;
        f.write_str(&above.join("·"))?;
        match below.as_slice() {
            [] => Ok(()),
            [one] => write!(f, "/{one}"),
            many => write!(f, "/({})", many.join("·")),
        }
    }
}

fn raised(symbol: &str, power: i8) -> String {
    let digits = power.unsigned_abs().to_string();
    let power = digits.chars().filter_map(|digit| "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().nth(digit.to_digit(10)? as usize));
    if digits == "1" { symbol.to_owned() } else { symbol.chars().chain(power).collect() }
}

/// A row of [`KINDS`].
#[derive(Clone, Copy, Debug)]
pub struct KindRow {
    /// The kind.
    pub name: KindName,
    /// Its name in words, as schemas and rule files write it.
    pub words: &'static str,
    /// Its dimension.
    pub dimension: Dimension,
    /// The kind of a difference of two; itself unless the kind is a point on a scale.
    pub difference: KindName,
    /// Whether a measured value can lie below zero.
    pub signed: bool,
    /// What it means.
    pub meaning: &'static str,
}

macro_rules! kinds {
    ($($name:ident $words:literal [$($exponent:literal)*] $difference:ident $signed:literal $meaning:literal)*) => {
        /// The kinds that have a name.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum KindName {
            $(#[doc = $meaning] $name,)*
        }

        /// Every named kind.
        pub const KINDS: &[KindRow] = &[$(KindName::$name.row()),*];

        impl KindName {
            /// Its row of the table.
            #[must_use]
            pub const fn row(self) -> KindRow {
                match self {
                    $(KindName::$name => KindRow {
                        name: KindName::$name,
                        words: $words,
                        dimension: Dimension::new([$($exponent),*]),
                        difference: KindName::$difference,
                        signed: $signed,
                        meaning: $meaning,
                    },)*
                }
            }
        }
    };
}

// Name, words, exponents of length, mass, time, temperature, current, angle; the kind of a difference;
// whether a measured value can lie below zero.
kinds! {
    Torque "torque" [2 1 -2 0 0 0] Torque false "The turning moment of a force about an axis."
    Energy "energy" [2 1 -2 0 0 0] Energy true "Work or heat."
    Temperature "temperature" [0 0 0 1 0 0] TemperatureDifference true "A point on the temperature scale."
    TemperatureDifference "temperature difference" [0 0 0 1 0 0] TemperatureDifference true
        "A distance between two temperatures."
    Volume "volume" [3 0 0 0 0 0] Volume false "Of a fluid or a vessel."
    Pressure "pressure" [-1 1 -2 0 0 0] Pressure true
        "A difference of two pressures, or a stress."
    GaugePressure "gauge pressure" [-1 1 -2 0 0 0] Pressure true "Pressure above that of the air outside."
    AbsolutePressure "absolute pressure" [-1 1 -2 0 0 0] Pressure true "Pressure above that of a vacuum."
    Length "length" [1 0 0 0 0 0] Length false "A length, a distance or a depth."
    Area "area" [2 0 0 0 0 0] Area false "Of a surface or a section."
    Mass "mass" [0 1 0 0 0 0] Mass false "What a balance shows."
    Density "density" [-3 1 0 0 0 0] Density false "Mass per volume."
    Angle "angle" [0 0 0 0 0 1] Angle true "A plane angle."
    Force "force" [1 1 -2 0 0 0] Force false "A pull or a push."
    Duration "duration" [0 0 1 0 0 0] Duration false "How long something lasts."
    Frequency "frequency" [0 0 -1 0 0 0] Frequency false "How often in a time."
    RotationalSpeed "rotational speed" [0 0 -1 0 0 1] RotationalSpeed false "How fast a shaft turns."
    Speed "speed" [1 0 -1 0 0 0] Speed true "Distance per time."
    Power "power" [2 1 -3 0 0 0] Power true "Energy per time."
    FlowRate "flow rate" [3 0 -1 0 0 0] FlowRate false "Volume per time."
    KinematicViscosity "kinematic viscosity" [2 0 -1 0 0 0] KinematicViscosity false
        "Dynamic viscosity divided by density."
    DynamicViscosity "dynamic viscosity" [-1 1 -1 0 0 0] DynamicViscosity false "Resistance of a fluid to shear."
    Number "number" [0 0 0 0 0 0] Number true "A plain number, such as a count."
    Ratio "ratio" [0 0 0 0 0 0] Ratio true "A share of something of the same kind."
    ElectricPotential "electric potential" [2 1 -3 0 -1 0] ElectricPotential true "What a voltmeter shows."
    ElectricCurrent "electric current" [0 0 0 0 1 0] ElectricCurrent true "What an ammeter shows."
    ElectricResistance "electric resistance" [2 1 -3 0 -2 0] ElectricResistance false "What an ohmmeter shows."
    ParticleCount "particle count" [-3 0 0 0 0 0] ParticleCount false "Particles per volume of fluid."
    TemperatureRate "temperature rate" [0 0 -1 1 0 0] TemperatureRate true
        "How fast a temperature rises; below zero where it falls."
    PressureRate "pressure rate" [-1 1 -3 0 0 0] PressureRate true
        "How fast a pressure rises; below zero where it falls."
    ThermalExpansion "thermal expansion" [0 0 0 -1 0 0] ThermalExpansion true
        "Growth in proportion, per degree of temperature."
}

/// What a quantity is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Kind {
    dimension: Dimension,
    name: Option<KindName>,
}

impl From<KindName> for Kind {
    fn from(name: KindName) -> Self {
        Kind { dimension: name.row().dimension, name: Some(name) }
    }
}

impl Kind {
    /// A plain number.
    pub const NUMBER: Kind = Kind { dimension: Dimension::NONE, name: Some(KindName::Number) };

    /// The kind with this name in words.
    #[must_use]
    pub fn named(words: &str) -> Option<Kind> {
        KINDS.iter().find(|row| row.words == words).map(|row| row.name.into())
    }

    /// The name in words that is nearest to a misspelled one.
    #[must_use]
    pub fn nearest_name(words: &str) -> Option<&'static str> {
        nearest(words, KINDS.iter().map(|row| row.words))
    }

    /// The kind of this dimension: named where exactly one kind that is no point on a scale has it.
    /// A name so given forbids nothing that the nameless kind would allow.
    #[must_use]
    pub fn of_dimension(dimension: Dimension) -> Kind {
        let mut fitting = KINDS.iter().filter(|row| row.dimension == dimension && row.difference == row.name);
        let name = match (fitting.next(), fitting.next()) {
            (Some(only), None) if dimension != Dimension::NONE => Some(only.name),
            _ => None,
        };
        Kind { dimension, name }
    }

    /// Its dimension.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Its name, if it has one.
    #[must_use]
    pub const fn name(self) -> Option<KindName> {
        self.name
    }

    /// Whether it has no dimension: a plain number, a ratio, or like divided by like.
    #[must_use]
    pub fn is_dimensionless(self) -> bool {
        self.dimension == Dimension::NONE
    }

    /// Whether it can stand for a plain number.
    #[must_use]
    pub fn is_number(self) -> bool {
        self.is_dimensionless() && self.name != Some(KindName::Ratio)
    }

    /// Whether it is a point on a scale rather than an amount.
    #[must_use]
    pub fn is_point(self) -> bool {
        self.difference_kind() != self
    }

    /// Whether a measured value of this kind can lie below zero.
    #[must_use]
    pub fn is_signed(self) -> bool {
        self.name.is_none_or(|name| name.row().signed)
    }

    /// The kind of the distance between two of this kind, and so of a margin.
    #[must_use]
    pub fn difference_kind(self) -> Kind {
        self.name.map_or(self, |name| name.row().difference.into())
    }

    /// The kind of `self + other`. A gauge pressure and the pressure of the air make an absolute pressure.
    ///
    /// # Errors
    /// Different kinds; two points on one scale.
    pub fn sum(self, other: Kind) -> Result<Kind, Fault> {
        if self.parts_of_absolute(other) {
            return Ok(KindName::AbsolutePressure.into());
        }
        if self.is_point() && other.is_point() {
            return Err(self.cannot(other, "be added").help(self.as_distance()));
        }
        if self.is_point() && other == self.difference_kind() {
            return Ok(self);
        }
        if other.is_point() && self == other.difference_kind() {
            return Ok(other);
        }
        self.common(other).ok_or_else(|| self.cannot(other, "be added"))
    }

    /// Whether one is a gauge pressure and the other an absolute one.
    fn parts_of_absolute(self, other: Kind) -> bool {
        let [gauge, absolute] = [KindName::GaugePressure, KindName::AbsolutePressure].map(Kind::from);
        (self, other) == (gauge, absolute) || (self, other) == (absolute, gauge)
    }

    /// The kind of `self − other`. An absolute pressure less the gauge pressure is that of the air.
    ///
    /// # Errors
    /// Different kinds; a point on a scale taken from a distance.
    pub fn difference(self, other: Kind) -> Result<Kind, Fault> {
        if self.is_point() && self == other {
            return Ok(self.difference_kind());
        }
        if self.name == Some(KindName::AbsolutePressure) && other.name == Some(KindName::GaugePressure) {
            return Ok(self);
        }
        if self.is_point() && other == self.difference_kind() {
            return Ok(self);
        }
        if self.is_point() || other.is_point() {
            return Err(self.cannot(other, "be subtracted"));
        }
        self.common(other).ok_or_else(|| self.cannot(other, "be subtracted"))
    }

    /// The kind of `self × other`. A factor without dimension leaves the name of the other; a number of
    /// ratios is a ratio.
    ///
    /// # Errors
    /// A temperature, whose zero is a convention; a gauge and an absolute pressure; a dimension past all use.
    pub fn product(self, other: Kind) -> Result<Kind, Fault> {
        self.can_be_scaled(other, "multiplied")?;
        match (self.is_dimensionless(), other.is_dimensionless()) {
            (true, false) => Ok(other),
            (false, true) => Ok(self),
            (true, true) => Ok(self.product_of_numbers(other)),
            (false, false) => {
                self.dimension.product(other.dimension).map(Kind::of_dimension).ok_or_else(too_many_factors)
            }
        }
    }

    fn product_of_numbers(self, other: Kind) -> Kind {
        let ratio = Kind::from(KindName::Ratio);
        if self == other {
            self
        } else if self == ratio || other == ratio {
            ratio
        } else {
            Kind::of_dimension(Dimension::NONE)
        }
    }

    /// The kind of `self ÷ other`. A plain number as divisor leaves the name; like divided by like has none,
    /// because it is a ratio as well as a number.
    ///
    /// # Errors
    /// A temperature, whose zero is a convention; a gauge and an absolute pressure; a dimension past all use.
    pub fn quotient(self, other: Kind) -> Result<Kind, Fault> {
        self.can_be_scaled(other, "divided")?;
        let is_ratio = self.name == Some(KindName::Ratio) && other.is_number();
        if is_ratio || other.is_dimensionless() && !self.is_dimensionless() {
            return Ok(self);
        }
        self.dimension.quotient(other.dimension).map(Kind::of_dimension).ok_or_else(too_many_factors)
    }

    /// The kind in which two quantities are compared: the named one of the two.
    ///
    /// # Errors
    /// Kinds that do not compare, among them torque and energy, gauge and absolute pressure, a point on a
    /// scale and a difference, and a ratio and a plain number.
    pub fn comparable(self, other: Kind) -> Result<Kind, Fault> {
        self.common(other).ok_or_else(|| {
            let fault = self.cannot(other, "be compared");
            if !self.parts_of_absolute(other) {
                return fault;
            }
            fault.help("add the pressure of the air to the gauge pressure, where it is recorded")
        })
    }

    /// The kind of the range `self ± part`, which is `self`. The part is a distance, or a ratio of
    /// the nominal value.
    ///
    /// # Errors
    /// Any other part; a ratio of a temperature or of a ratio.
    pub fn tolerance(self, part: Kind) -> Result<Kind, Fault> {
        let fault = |message: String| Fault::new(code::TOLERANCE, message);
        if part.name == Some(KindName::Ratio) {
            return match self.name {
                Some(KindName::Temperature) => {
                    let what =
                        "a percentage of a temperature means nothing, because its zero is a convention";
                    Err(fault(what.into()).help("write the tolerance as a difference, such as `± 5 K`"))
                }
                Some(KindName::Ratio) => {
                    let what = "a percentage of a percentage can be read in two ways";
                    Err(fault(what.into()).help("write both ends, such as `9 % .. 11 %`"))
                }
                _ => Ok(self),
            };
        }
        let distance = self.difference_kind();
        let fits = if part.is_point() { None } else { distance.common(part) };
        fits.map(|_| self).ok_or_else(|| {
            let what = format!("{} cannot be the tolerance of {}", part.with_article(), self.with_article());
            let fault = fault(what);
            if part.is_point() { fault.help(part.as_distance()) } else { fault }
        })
    }

    /// The kind that both have, where a nameless one takes the name of the other.
    fn common(self, other: Kind) -> Option<Kind> {
        if self.dimension != other.dimension {
            return None;
        }
        match (self.name, other.name) {
            (None, _) => Some(other),
            (_, None) => Some(self),
            (one, two) => (one == two).then_some(self),
        }
    }

    /// Refuses what has no product and no quotient: of a gauge and an absolute pressure they would compare
    /// the two.
    fn can_be_scaled(self, other: Kind, what: &str) -> Result<(), Fault> {
        if self.parts_of_absolute(other) {
            return Err(self.cannot(other, &format!("be {what}")));
        }
        self.has_a_true_zero(what)?;
        other.has_a_true_zero(what)
    }

    fn has_a_true_zero(self, what: &str) -> Result<(), Fault> {
        if self.name != Some(KindName::Temperature) {
            return Ok(());
        }
        Err(Fault::new(
            code::KINDS_MIXED,
            format!("a temperature cannot be {what}, because its zero is a convention"),
        )
        .help(self.as_distance()))
    }

    fn cannot(self, other: Kind, what: &str) -> Fault {
        let message = format!("{} and {} cannot {what}", self.with_article(), other.with_article());
        Fault::new(code::KINDS_MIXED, message)
    }

    /// What to write where a distance is needed and a point was given.
    fn as_distance(self) -> &'static str {
        match self.name {
            Some(KindName::Temperature) => "write a difference of temperatures in K, such as `5 K`",
            _ => "write a difference of pressures in plain bar, such as `0.5 bar`",
        }
    }

    /// Its name with an article, for messages: `a torque`, `an angle`.
    #[must_use]
    pub fn with_article(self) -> String {
        let words = self.to_string();
        let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        format!("{article} {words}")
    }
}

fn too_many_factors() -> Fault {
    Fault::new(code::KINDS_MIXED, "a product of so many units means nothing")
}

/// In words: `torque`, `number`, or `product of units (kg·m²/s²)`.
impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name {
            Some(name) => f.write_str(name.row().words),
            None if self.is_dimensionless() => f.write_str("number"),
            None => write!(f, "product of units ({})", self.dimension),
        }
    }
}
