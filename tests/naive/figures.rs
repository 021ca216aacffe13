//! Numbers and units, read in the plainest way: exact ratios, and a small table of units whose
//! factors are worked out here from the definitions of the pound, the foot, the gallon and the
//! standard gravity (international yard and pound agreement of 1959; 3rd CGPM, 1901; from memory).

use num_bigint::BigInt;
use num_rational::BigRational;

pub type Ratio = BigRational;

/// What can be measured. Only as many as the generated programs use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Measure {
    Torque,
    Temperature,
    Difference,
    Volume,
    Length,
    Duration,
    Angle,
    /// A difference of two pressures.
    Pressure,
    /// A pressure above that of the air.
    Gauge,
    /// A pressure above a vacuum.
    Absolute,
    Share,
    Number,
    Flow,
    Force,
    Area,
}

impl Measure {
    /// Exponents of length, mass, time, temperature and angle.
    pub fn dimension(self) -> [i32; 5] {
        match self {
            Measure::Torque => [2, 1, -2, 0, 0],
            Measure::Temperature | Measure::Difference => [0, 0, 0, 1, 0],
            Measure::Volume => [3, 0, 0, 0, 0],
            Measure::Length => [1, 0, 0, 0, 0],
            Measure::Duration => [0, 0, 1, 0, 0],
            Measure::Angle => [0, 0, 0, 0, 1],
            Measure::Pressure | Measure::Gauge | Measure::Absolute => [-1, 1, -2, 0, 0],
            Measure::Share | Measure::Number => [0; 5],
            Measure::Flow => [3, 0, -1, 0, 0],
            Measure::Force => [1, 1, -2, 0, 0],
            Measure::Area => [2, 0, 0, 0, 0],
        }
    }

    /// Whether a bare unit of pressure may stand for it.
    pub fn has_bare_units(self) -> bool {
        matches!(self, Measure::Gauge | Measure::Absolute)
    }

    /// Whether nothing of it lies below zero.
    pub fn has_a_least(self) -> bool {
        matches!(self, Measure::Temperature | Measure::Absolute)
    }

    /// Its name in the rule language.
    pub fn words(self) -> &'static str {
        match self {
            Measure::Torque => "torque",
            Measure::Temperature => "temperature",
            Measure::Difference => "temperature difference",
            Measure::Volume => "volume",
            Measure::Length => "length",
            Measure::Duration => "duration",
            Measure::Angle => "angle",
            Measure::Pressure => "pressure",
            Measure::Gauge => "gauge pressure",
            Measure::Absolute => "absolute pressure",
            Measure::Share => "ratio",
            Measure::Number => "number",
            Measure::Flow => "flow rate",
            Measure::Force => "force",
            Measure::Area => "area",
        }
    }
}

/// A unit: its spellings, what it measures, its size and the value of its zero.
pub struct Unit {
    pub spellings: &'static [&'static str],
    pub measure: Measure,
    pub size: Ratio,
    pub zero: Ratio,
}

/// `text`, such as `0.45359237`, as an exact number.
pub fn exact(text: &str) -> Ratio {
    let (number, rest) = decimal(text).expect("a figure of the test itself");
    assert_eq!(rest, "", "a figure of the test itself");
    number
}

/// Every unit that is known here.
pub fn units() -> &'static [Unit] {
    static UNITS: std::sync::LazyLock<Vec<Unit>> = std::sync::LazyLock::new(table);
    &UNITS
}

fn table() -> Vec<Unit> {
    let one = || exact("1");
    let gravity = exact("9.80665");
    let pound_force = exact("0.45359237") * &gravity;
    let (foot, inch) = (exact("0.3048"), exact("0.0254"));
    let quart = exact("231") / exact("4") * &inch * &inch * &inch;
    let celsius = exact("273.15");
    let degree_fahrenheit = exact("5") / exact("9");
    let fahrenheit = &celsius - exact("32") * &degree_fahrenheit;
    let mut units = Vec::new();
    let mut row = |spellings: &'static [&'static str], measure, size: Ratio, zero: Ratio| {
        units.push(Unit { spellings, measure, size, zero });
    };
    let none = exact("0");
    row(&["Nm", "N·m", "N.m"], Measure::Torque, one(), none.clone());
    row(&["cNm"], Measure::Torque, exact("0.01"), none.clone());
    row(&["lbf·ft", "lbf.ft", "ft·lbf"], Measure::Torque, &pound_force * &foot, none.clone());
    row(&["lbf·in", "in·lbf"], Measure::Torque, &pound_force * &inch, none.clone());
    row(&["kgf·m"], Measure::Torque, gravity, none.clone());
    row(&["°C"], Measure::Temperature, one(), celsius);
    row(&["°F"], Measure::Temperature, degree_fahrenheit, fahrenheit);
    row(&["K"], Measure::Difference, one(), none.clone());
    row(&["L", "l"], Measure::Volume, exact("0.001"), none.clone());
    row(&["mL"], Measure::Volume, exact("0.000001"), none.clone());
    row(&["US qt"], Measure::Volume, quart, none.clone());
    row(&["m"], Measure::Length, one(), none.clone());
    row(&["mm"], Measure::Length, exact("0.001"), none.clone());
    row(&["km"], Measure::Length, exact("1000"), none.clone());
    row(&["mi"], Measure::Length, exact("5280") * &foot, none.clone());
    row(&["s"], Measure::Duration, one(), none.clone());
    row(&["min"], Measure::Duration, exact("60"), none.clone());
    row(&["h"], Measure::Duration, exact("3600"), none.clone());
    row(&["°"], Measure::Angle, one() / exact("360"), none.clone());
    row(&["turn", "turns"], Measure::Angle, one(), none.clone());
    row(&["bar"], Measure::Pressure, exact("100000"), none.clone());
    row(&["kPa"], Measure::Pressure, exact("1000"), none.clone());
    let psi = &pound_force / (&inch * &inch);
    row(&["psi"], Measure::Pressure, psi.clone(), none.clone());
    row(&["bar gauge", "barg"], Measure::Gauge, exact("100000"), none.clone());
    row(&["kPa gauge"], Measure::Gauge, exact("1000"), none.clone());
    row(&["psi gauge", "psig"], Measure::Gauge, psi.clone(), none.clone());
    row(&["bar absolute", "bara", "bar abs"], Measure::Absolute, exact("100000"), none.clone());
    row(&["kPa absolute"], Measure::Absolute, exact("1000"), none.clone());
    row(&["psi absolute", "psia"], Measure::Absolute, psi, none.clone());
    row(&["%"], Measure::Share, exact("0.01"), none.clone());
    row(&["L/min"], Measure::Flow, exact("0.001") / exact("60"), none.clone());
    row(&["N"], Measure::Force, one(), none.clone());
    row(&["lbf"], Measure::Force, pound_force, none.clone());
    row(&["cm²"], Measure::Area, exact("0.0001"), none);
    units
}

/// A number at the head of `text`, and what follows it.
pub fn decimal(text: &str) -> Option<(Ratio, &str)> {
    let (negative, unsigned) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(unsigned);
    if whole == 0 {
        return None;
    }
    let (mut figures, mut rest) = (unsigned[..whole].to_owned(), &unsigned[whole..]);
    let mut places = 0;
    if let Some(fraction) = rest.strip_prefix('.').filter(|fraction| digits(fraction) > 0) {
        places = digits(fraction);
        figures.push_str(&fraction[..places]);
        rest = &fraction[places..];
    }
    let mut number = Ratio::from_integer(figures.parse::<BigInt>().ok()?);
    for _ in 0..places {
        number /= Ratio::from_integer(10.into());
    }
    Some((if negative { -number } else { number }, rest))
}

/// A number of some dimension, in coherent units.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    pub base: Ratio,
    pub dimension: [i32; 5],
    /// Whether it is a temperature or an absolute pressure, below whose zero there is nothing.
    pub point: bool,
    /// Whether it was written as a percentage.
    pub share: bool,
}

impl Amount {
    pub fn number(base: Ratio) -> Amount {
        Amount { base, dimension: [0; 5], point: false, share: false }
    }

    pub fn new(figure: &Ratio, unit: &Unit) -> Amount {
        Amount {
            base: figure * &unit.size + &unit.zero,
            dimension: unit.measure.dimension(),
            point: unit.measure.has_a_least(),
            share: unit.measure == Measure::Share,
        }
    }
}

pub fn unit_called(spelling: &str) -> Option<&'static Unit> {
    units().iter().find(|unit| unit.spellings.contains(&spelling))
}

/// Reads `45 Nm` where this is wanted; nothing for what cannot be read or is something else.
pub fn reading(text: &str, wanted: Measure) -> Option<Amount> {
    let (figure, rest) = decimal(text.trim())?;
    let spelling = rest.trim();
    if wanted == Measure::Temperature && spelling == "K" {
        let amount = Amount { base: figure, dimension: wanted.dimension(), point: true, share: false };
        return Some(amount).filter(|amount| amount.base >= exact("0"));
    }
    let unit = unit_called(spelling)?;
    if wanted.has_bare_units() && unit.measure == Measure::Pressure {
        let amount = Amount { point: wanted.has_a_least(), ..Amount::new(&figure, unit) };
        return Some(amount).filter(|amount| !amount.point || amount.base >= exact("0"));
    }
    let unit = Some(unit).filter(|unit| unit.measure == wanted)?;
    Some(Amount::new(&figure, unit)).filter(|amount| !amount.point || amount.base >= exact("0"))
}

/// The decimal that this number is, of at most `places` decimals; nothing when it needs more.
pub fn finite(number: &Ratio, places: usize) -> Option<String> {
    let text = truncated(number, places);
    (exact(&text) == *number).then_some(text)
}

/// The number cut off after `places` decimals.
pub fn truncated(number: &Ratio, places: usize) -> String {
    let scale = BigInt::from(10).pow(u32::try_from(places).expect("a few decimals"));
    let scaled = (number * Ratio::from_integer(scale)).trunc().to_integer();
    let negative = scaled < BigInt::from(0);
    let digits = format!("{:0>width$}", scaled.magnitude().to_string(), width = places + 1);
    let (whole, decimals) = digits.split_at(digits.len() - places);
    let decimals = decimals.trim_end_matches('0');
    let point = if decimals.is_empty() { "" } else { "." };
    format!("{}{whole}{point}{decimals}", if negative { "-" } else { "" })
}
