//! The builtin functions of the rule language. A new one is one row of [`BUILTINS`].
//!
//! A builtin gets decided values of the types its row names, and answers with a value or a
//! [`Fault`]; the caller knows the place.

use crate::code::{FUNCTION_RANGE, VIN_FORM};
use crate::diagnostic::Fault;
use crate::language::types::Type;
use crate::quantity::{Kind, Limit, Number, Quantity, Range};
use crate::value::Value;

/// A row of [`BUILTINS`].
#[derive(Debug)]
pub struct Builtin {
    /// Its name.
    pub name: &'static str,
    /// The names and types of its parameters.
    pub parameters: &'static [(&'static str, Wants)],
    /// What it answers.
    pub result: Gives,
    /// What it means, with the source of what it computes.
    pub doc: &'static str,
    /// A demand that holds; it is run as a test.
    pub example: &'static str,
    /// The function.
    pub function: for<'s> fn(&[Value<'s>]) -> Result<Value<'s>, Fault>,
}

impl Builtin {
    /// How it is called: `follows_pattern(text, pattern)`.
    #[must_use]
    pub fn call(&self) -> String {
        let names: Vec<&str> = self.parameters.iter().map(|(name, _)| *name).collect();
        format!("{}({})", self.name, names.join(", "))
    }
}

/// What a parameter takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wants {
    /// Text of either sort.
    Text,
    /// A quantity of any kind.
    Quantity,
    /// A quantity that can be compared with the first argument.
    QuantityLikeFirst,
    /// A range of any kind.
    Range,
    /// A range that can be compared with the first argument.
    RangeLikeFirst,
}

/// What a builtin answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    /// Yes or no.
    Truth,
    /// A plain number.
    Number,
    /// A quantity of the first argument's kind.
    QuantityLikeFirst,
}

impl Gives {
    /// The type of the answer to arguments whose first has the type `first`.
    #[must_use]
    pub fn type_for(self, first: Option<&Type>) -> Type {
        match (self, first) {
            (Gives::Truth, _) => Type::Truth,
            (Gives::Number, _) => Type::Quantity(Kind::NUMBER),
            (Gives::QuantityLikeFirst, Some(Type::Quantity(kind) | Type::Range(kind))) => {
                Type::Quantity(*kind)
            }
            (Gives::QuantityLikeFirst, _) => Type::Mistaken,
        }
    }
}

/// Every builtin.
pub const BUILTINS: &[Builtin] = &[
    Builtin {
        name: "vin_well_formed",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether a vehicle identification number has 17 characters, digits and capital letters \
              without I, O and Q. Source: ISO 3779 and 49 CFR 565.13.",
        example: r#"vin_well_formed("1M8GDM9AXKP042788") and not vin_well_formed("1M8GDM9AXKPO42788")"#,
        function: |arguments| Ok(Value::Truth(vin_values(text(arguments, 0)).is_some())),
    },
    Builtin {
        name: "vin_check_digit_agrees",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether the ninth character of a vehicle identification number is its check digit: the \
              weighted sum of the characters' values modulo 11, with X for 10. Compulsory in North \
              America only. A number that is not well formed has none. Source: 49 CFR 565.15(c).",
        example: r#"vin_check_digit_agrees("1M8GDM9AXKP042788") and not vin_check_digit_agrees("1M8GDM9A0KP042788")"#,
        function: |arguments| vin_check_digit_agrees(text(arguments, 0)).map(Value::Truth),
    },
    Builtin {
        name: "fault_code_well_formed",
        parameters: &[("code", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether a diagnostic trouble code has its five characters: P, C, B or U, a digit from 0 to \
              3, and three hexadecimal digits. Source: SAE J2012 (from memory).",
        example: r#"fault_code_well_formed("P0711") and not fault_code_well_formed("P4711") and not fault_code_well_formed("0711")"#,
        function: |arguments| Ok(Value::Truth(fault_code_well_formed(text(arguments, 0)))),
    },
    Builtin {
        name: "follows_pattern",
        parameters: &[("text", Wants::Text), ("pattern", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether a whole text follows a pattern, in which `#` stands for a digit, `@` for a letter, \
              `~` for any run of characters, none included, and every other character for itself.",
        example: r#"follows_pattern("K-2041", "@-####") and follows_pattern("K-2041", "K-~") and not follows_pattern("K-2041b", "K-####")"#,
        function: |arguments| Ok(Value::Truth(follows_pattern(text(arguments, 0), text(arguments, 1)))),
    },
    Builtin {
        name: "characters_in",
        parameters: &[("text", Wants::Text)],
        result: Gives::Number,
        doc: "How many characters a text has.",
        example: r#"characters_in("Ölfilter") is 8"#,
        function: |arguments| {
            let count = u64::try_from(text(arguments, 0).chars().count()).unwrap_or(u64::MAX);
            Ok(Value::Quantity(Quantity::from(Number::from(count))))
        },
    },
    Builtin {
        name: "size_of",
        parameters: &[("quantity", Wants::Quantity)],
        result: Gives::QuantityLikeFirst,
        doc: "A quantity without its sign.",
        example: "size_of(3 Nm − 5 Nm) is 2 Nm",
        function: |arguments| {
            let value = quantity(arguments, 0)?;
            Ok(Value::Quantity(if value.magnitude() < &Number::ZERO { value.neg()? } else { value.clone() }))
        },
    },
    Builtin {
        name: "lesser",
        parameters: &[("first", Wants::Quantity), ("second", Wants::QuantityLikeFirst)],
        result: Gives::QuantityLikeFirst,
        doc: "The lesser of two quantities of one kind.",
        example: "lesser(33 lbf·ft, 45 Nm) is 33 lbf·ft",
        function: |arguments| {
            let (first, second) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            Ok(Value::Quantity(if second.compare(first).is_lt() { second.clone() } else { first.clone() }))
        },
    },
    Builtin {
        name: "greater",
        parameters: &[("first", Wants::Quantity), ("second", Wants::QuantityLikeFirst)],
        result: Gives::QuantityLikeFirst,
        doc: "The greater of two quantities of one kind.",
        example: "greater(33 lbf·ft, 45 Nm) is 45 Nm",
        function: |arguments| {
            let (first, second) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            Ok(Value::Quantity(if second.compare(first).is_gt() { second.clone() } else { first.clone() }))
        },
    },
    Builtin {
        name: "lower_limit",
        parameters: &[("range", Wants::Range)],
        result: Gives::QuantityLikeFirst,
        doc: "The lower limit of a range; a range without one gives a fault.",
        example: "lower_limit(45 Nm ± 10 %) is 40.5 Nm",
        function: |arguments| limit(range(arguments, 0)?, Range::low, "lower"),
    },
    Builtin {
        name: "upper_limit",
        parameters: &[("range", Wants::Range)],
        result: Gives::QuantityLikeFirst,
        doc: "The upper limit of a range; a range without one gives a fault.",
        example: "upper_limit(45 Nm ± 10 %) is 49.5 Nm",
        function: |arguments| limit(range(arguments, 0)?, Range::high, "upper"),
    },
    Builtin {
        name: "lies_within",
        parameters: &[("range", Wants::Range), ("outer", Wants::RangeLikeFirst)],
        result: Gives::Truth,
        doc: "Whether every value of a range lies in another range. One that is open at an end lies in none \
              that is closed there.",
        example: "lies_within(45 Nm ± 10 %, 20 Nm .. 120 Nm) and not lies_within(at least 45 Nm, 20 Nm .. 120 Nm)",
        function: |arguments| Ok(Value::Truth(range(arguments, 0)?.lies_within(range(arguments, 1)?))),
    },
];

/// The builtin with this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Builtin> {
    BUILTINS.iter().find(|builtin| builtin.name == name)
}

// The checker has seen to the types; a value of another type would be a fault of this program, and
// is answered as one instead of a panic.

fn text<'v>(arguments: &'v [Value<'_>], at: usize) -> &'v str {
    match arguments.get(at) {
        Some(Value::Text(text)) => text,
        _ => "",
    }
}

fn quantity<'v>(arguments: &'v [Value<'_>], at: usize) -> Result<&'v Quantity, Fault> {
    match arguments.get(at) {
        Some(Value::Quantity(quantity)) => Ok(quantity),
        _ => Err(Fault::new(FUNCTION_RANGE, "a quantity is wanted here")),
    }
}

fn range<'v>(arguments: &'v [Value<'_>], at: usize) -> Result<&'v Range, Fault> {
    match arguments.get(at) {
        Some(Value::Range(range)) => Ok(range),
        _ => Err(Fault::new(FUNCTION_RANGE, "a range is wanted here")),
    }
}

fn limit<'s>(range: &Range, side: fn(&Range) -> Option<&Limit>, name: &str) -> Result<Value<'s>, Fault> {
    side(range)
        .map(|limit| Value::Quantity(limit.value.clone()))
        .ok_or_else(|| Fault::new(FUNCTION_RANGE, format!("the range `{range}` has no {name} limit")))
}

/// The weight of each place of a VIN; 49 CFR 565.15(c)(4).
const VIN_WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// The assigned value of each character of a well-formed VIN; 49 CFR 565.15(c)(3).
fn vin_values(vin: &str) -> Option<Vec<u32>> {
    let value = |character: char| match character {
        '0'..='9' => character.to_digit(10),
        'A'..='H' => Some(character as u32 - 'A' as u32 + 1),
        'J'..='N' => Some(character as u32 - 'J' as u32 + 1),
        'P' => Some(7),
        'R' => Some(9),
        'S'..='Z' => Some(character as u32 - 'S' as u32 + 2),
        _ => None,
    };
    let values = vin.chars().map(value).collect::<Option<Vec<u32>>>()?;
    (values.len() == VIN_WEIGHTS.len()).then_some(values)
}

fn vin_check_digit_agrees(vin: &str) -> Result<bool, Fault> {
    let values = vin_values(vin).ok_or_else(|| {
        Fault::new(
            VIN_FORM,
            format!("`{vin}` is not a vehicle identification number, so it has no check digit"),
        )
        .help("17 characters: digits and capital letters without I, O and Q")
    })?;
    let sum: u32 = values.iter().zip(VIN_WEIGHTS).map(|(value, weight)| value * weight).sum();
    let wanted = char::from_digit(sum % 11, 10).unwrap_or('X');
    Ok(vin.chars().nth(8) == Some(wanted))
}

fn fault_code_well_formed(code: &str) -> bool {
    let mut characters = code.chars();
    matches!(characters.next(), Some('P' | 'C' | 'B' | 'U'))
        && matches!(characters.next(), Some('0'..='3'))
        && characters.clone().count() == 3
        && characters.all(|c| c.is_ascii_digit() || matches!(c, 'A'..='F'))
}

/// Matches in time |text| × |pattern| at worst: only the last run can still grow.
fn follows_pattern(text: &str, pattern: &str) -> bool {
    let (text, pattern): (Vec<char>, Vec<char>) = (text.chars().collect(), pattern.chars().collect());
    let fits = |character: char, sign: char| match sign {
        '#' => character.is_numeric(),
        '@' => character.is_alphabetic(),
        _ => character == sign,
    };
    let (mut at, mut sign, mut run) = (0, 0, None);
    while let Some(character) = text.get(at) {
        match pattern.get(sign) {
            Some('~') => {
                sign += 1;
                run = Some((sign, at));
            }
            Some(wanted) if fits(*character, *wanted) => {
                at += 1;
                sign += 1;
            }
            _ => match run {
                Some((after, from)) => {
                    run = Some((after, from + 1));
                    (sign, at) = (after, from + 1);
                }
                None => return false,
            },
        }
    }
    pattern.iter().skip(sign).all(|sign| *sign == '~')
}
