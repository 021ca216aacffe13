//! Cleanliness codes of fluids from particle counts, and back.
//!
//! A code has three numbers, for particles of at least 4, 6 and 14 µm(c) per millilitre, sizes by ISO 11171;
//! counts under the microscope (ISO 4407) give two, for 5 and 15 µm. Each number stands for counts of more than
//! the limit of the number before, up to and including its own. The limits are those of the table and not
//! powers of two, which differ from it in several places. Valid for counts from 0; above 2,500,000 the number
//! is greater than 28. In a code, `*` means too many particles to count, `-` not counted, and `≥` before a
//! number that fewer than 20 particles were counted. Source: ISO 4406:2017 (table read; signs in part from
//! memory).

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity, Range, Unit};

use super::figure::{exactly_in, impossible, outside, unknown};
use super::working::Working;

const SOURCE: &str = "ISO 4406:2017";

/// The upper limits of the numbers 0 to 28, in hundredths of a particle per millilitre.
const LIMITS: [i64; 29] = [
    1,
    2,
    4,
    8,
    16,
    32,
    64,
    130,
    250,
    500,
    1_000,
    2_000,
    4_000,
    8_000,
    16_000,
    32_000,
    64_000,
    130_000,
    250_000,
    500_000,
    1_000_000,
    2_000_000,
    4_000_000,
    8_000_000,
    16_000_000,
    32_000_000,
    64_000_000,
    130_000_000,
    250_000_000,
];

/// A number of a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scale {
    /// From 0 to 28.
    Number(u8),
    /// More than 28.
    Beyond,
}

impl Scale {
    /// The number for a count per volume.
    ///
    /// # Errors
    /// A count below zero; what is no count.
    pub fn of_count(count: &Quantity) -> Result<Scale, Fault> {
        let figure = exactly_in(count, "particles/mL")?;
        if figure.is_negative() {
            return Err(impossible(
                format!("the count `{count}` is below zero"),
                "check the sign of the count",
            ));
        }
        let hundredths = &figure * &Number::from(100_i64);
        let number = LIMITS.iter().position(|limit| hundredths <= Number::from(*limit));
        Ok(match number.and_then(|number| u8::try_from(number).ok()) {
            Some(number) => Scale::Number(number),
            None => Scale::Beyond,
        })
    }

    /// The number itself, and 29 for more than 28.
    #[must_use]
    pub fn rank(self) -> Number {
        Number::from(match self {
            Scale::Number(number) => u64::from(number),
            Scale::Beyond => LIMITS.len() as u64,
        })
    }

    /// The counts that it stands for.
    ///
    /// # Errors
    /// More than 28, which has no upper limit in the table.
    pub fn counts(self) -> Result<Range, Fault> {
        let unit = Unit::find("particles/mL")?;
        let limit = |number: usize| {
            let hundredths = LIMITS.get(number).copied().unwrap_or_default();
            Number::ratio(hundredths.into(), 100).map(|limit| Quantity::new(limit, unit))
        };
        match self {
            Scale::Number(0) => Range::at_most(limit(0).unwrap_or(Quantity::new(Number::ZERO, unit))),
            Scale::Number(number) => {
                let high = limit(number.into()).filter(|high| high.magnitude() > &Number::ZERO);
                match (limit(usize::from(number) - 1), high) {
                    (Some(low), Some(high)) => Range::above_to(low, high),
                    _ => Err(no_number(number)),
                }
            }
            Scale::Beyond => limit(LIMITS.len() - 1).map_or_else(|| Err(no_number(u8::MAX)), Range::above),
        }
    }
}

/// `19`, or `>28`.
impl std::fmt::Display for Scale {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Scale::Number(number) => write!(f, "{number}"),
            Scale::Beyond => f.write_str(">28"),
        }
    }
}

/// The code of the counts at the sizes of a test, such as `19/16/10`.
///
/// # Errors
/// A count below zero; a count of greater particles that exceeds one of smaller ones, which it is part of.
pub fn code(counts: &[&Quantity], working: &mut Working) -> Result<String, Fault> {
    let mut numbers = Vec::with_capacity(counts.len());
    for (at, count) in counts.iter().enumerate() {
        let number = Scale::of_count(count).map_err(|fault| fault.argument(at))?;
        let before = at.checked_sub(1).and_then(|before| counts.get(before));
        if let Some(before) = before.filter(|before| before.base() < count.base()) {
            return Err(impossible(
                format!(
                    "more large particles ({count}) than particles in all ({before}) cannot have been counted"
                ),
                "give the counts in the order of rising size, each of that size and above",
            )
            .argument(at));
        }
        working.line(SOURCE, "number of the scale", "by the table", || format!("{count}: {number}"));
        numbers.push(number.to_string());
    }
    Ok(numbers.join("/"))
}

/// Whether a code is at or below a limit code in each of its numbers; a number that was not counted, or that
/// the limit leaves out, is not compared.
///
/// # Errors
/// A code that cannot be read; codes with different numbers of sizes; nothing to compare.
pub fn within(found: &str, limit: &str) -> Result<bool, Fault> {
    let numbers = read(found)?;
    let limits = read(limit).map_err(|fault| fault.argument(1))?;
    if numbers.len() != limits.len() {
        return Err(outside(
            format!("`{found}` and `{limit}` are for different sizes of particles"),
            "compare codes of three numbers with codes of three, and of two with two",
        ));
    }
    let mut compared = false;
    for (number, limit) in numbers.iter().zip(&limits) {
        if let (Some(number), Some(limit)) = (number, limit) {
            compared = true;
            if number > limit {
                return Ok(false);
            }
        }
    }
    let nothing =
        || outside(format!("`{found}` holds no number that `{limit}` limits"), "count the sizes limited");
    if compared { Ok(true) } else { Err(nothing()) }
}

/// The numbers of a code; nothing for one that was not counted.
///
/// # Errors
/// A text that is no code.
pub fn read(code: &str) -> Result<Vec<Option<Scale>>, Fault> {
    let fault = || {
        let shown: String = code.chars().take(40).collect();
        unknown(
            format!("`{shown}` is not a cleanliness code"),
            "write two or three numbers from 0 to 28 with strokes between them, such as `19/16/10`",
        )
    };
    let number = |part: &str| match part.trim() {
        "-" => Ok(None),
        "*" | ">28" | "> 28" => Ok(Some(Scale::Beyond)),
        text => {
            let digits = text.strip_prefix(['≥', '>']).map_or(text, str::trim_start);
            let plain = (1..=2).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
            let number = digits.parse().ok().filter(|number| plain && usize::from(*number) < LIMITS.len());
            number.map(|number| Some(Scale::Number(number))).ok_or_else(fault)
        }
    };
    let parts: Vec<&str> = code.split('/').take(4).collect();
    if !(2..=3).contains(&parts.len()) {
        return Err(fault());
    }
    parts.into_iter().map(number).collect()
}

fn no_number(number: u8) -> Fault {
    unknown(format!("the scale has no number {number}"), "its numbers are 0 to 28")
}
