//! What the rows of the table need: arguments by their place, and a few small answers.

use std::sync::Arc;

use jiff::ToSpan;
use jiff::civil::{Date, DateTime};

use crate::code::FUNCTION_RANGE;
use crate::diagnostic::Fault;
use crate::metrology::bolt::{PropertyClass, Thread};
use crate::metrology::torque_tool;
use crate::quantity::{Limit, Number, Quantity, Range};
use crate::value::{Moment, Value};

// The checker has seen to the types; a value of another type would be a fault of this program, and
// is answered as one instead of a panic.

pub(super) fn text<'v>(arguments: &'v [Value<'_>], at: usize) -> &'v str {
    match arguments.get(at) {
        Some(Value::Text(text)) => text,
        _ => "",
    }
}

pub(super) fn quantity<'v>(arguments: &'v [Value<'_>], at: usize) -> Result<&'v Quantity, Fault> {
    match arguments.get(at) {
        Some(Value::Quantity(quantity)) => Ok(quantity),
        _ => Err(Fault::new(FUNCTION_RANGE, "a quantity is wanted here")),
    }
}

pub(super) fn range<'v>(arguments: &'v [Value<'_>], at: usize) -> Result<&'v Range, Fault> {
    match arguments.get(at) {
        Some(Value::Range(range)) => Ok(range),
        _ => Err(Fault::new(FUNCTION_RANGE, "a range is wanted here")),
    }
}

pub(super) fn limit<'s>(
    range: &Range,
    side: fn(&Range) -> Option<&Limit>,
    name: &str,
) -> Result<Value<'s>, Fault> {
    side(range)
        .map(|limit| Value::Quantity(limit.value.clone()))
        .ok_or_else(|| Fault::new(FUNCTION_RANGE, format!("the range `{range}` has no {name} limit")))
}

/// A plain number, or a ratio as one.
pub(super) fn number(arguments: &[Value<'_>], at: usize) -> Result<Number, Fault> {
    quantity(arguments, at).map(Quantity::base)
}

/// Whole numbers above zero, such as places in an order.
pub(super) fn counts(arguments: &[Value<'_>], at: usize) -> Result<Vec<u64>, Fault> {
    let Some(Value::Several(quantities)) = arguments.get(at) else {
        return Err(Fault::new(FUNCTION_RANGE, "several plain numbers are wanted here"));
    };
    let whole = |(element, quantity): (usize, &Quantity)| {
        let number = quantity.base();
        number.to_u64().ok_or_else(|| {
            let message = format!("{number} is no whole number, as a place in an order is");
            Fault::new(FUNCTION_RANGE, message).argument(at).element(element)
        })
    };
    quantities.iter().enumerate().map(whole).collect()
}

/// Positions, whose x and y are the second and third argument, for a method that computes in floating point.
pub(super) fn positions(arguments: &[Value<'_>]) -> Vec<(f64, f64)> {
    let coordinates = |at: usize| match arguments.get(at) {
        Some(Value::Several(quantities)) => &**quantities,
        _ => &[],
    };
    let pairs = coordinates(1).iter().zip(coordinates(2));
    pairs.map(|(x, y)| (x.base().to_f64(), y.base().to_f64())).collect()
}

/// Several quantities of the arguments, from the first on.
pub(super) fn quantities<'v, const N: usize>(arguments: &'v [Value<'_>]) -> Result<[&'v Quantity; N], Fault> {
    let mut found = Vec::with_capacity(N);
    for at in 0..N {
        found.push(quantity(arguments, at)?);
    }
    found.try_into().map_err(|_| Fault::new(FUNCTION_RANGE, "more quantities are wanted here"))
}

/// A count, such as of months.
pub(super) fn count(arguments: &[Value<'_>], at: usize) -> Result<u32, Fault> {
    let number = number(arguments, at)?;
    number.to_u64().and_then(|count| u32::try_from(count).ok()).ok_or_else(|| {
        Fault::new(FUNCTION_RANGE, format!("{number} is no whole number that counts something")).argument(at)
    })
}

pub(super) fn day(arguments: &[Value<'_>], at: usize) -> Result<Date, Fault> {
    match arguments.get(at) {
        Some(Value::Day(day)) => Ok(*day),
        _ => Err(Fault::new(FUNCTION_RANGE, "a day is wanted here")),
    }
}

/// How many calendar months are full from one day or time to another.
pub(super) fn age_in_months(arguments: &[Value<'_>]) -> Result<Number, Fault> {
    let day_of = |at: usize| match arguments.get(at) {
        Some(Value::Moment(time)) => Ok(time.written().date()),
        _ => day(arguments, at),
    };
    let (since, at) = (day_of(0)?, day_of(1)?);
    let begun = |day: Date| i64::from(day.year()) * 12 + i64::from(day.month());
    let months = u64::try_from(begun(at) - begun(since)).ok().filter(|_| since <= at).ok_or_else(|| {
        let message = format!("{at} lies before {since}, so there is no age to tell");
        Fault::new(FUNCTION_RANGE, message).argument(1)
    })?;
    // The last month is full on the same day of it, or on its last where it has no such day.
    let full = since.checked_add((begun(at) - begun(since)).months()).is_ok_and(|day| day <= at);
    Ok(Number::from(if full { months } else { months.saturating_sub(1) }))
}

/// A day or a time so many calendar months later.
pub(super) fn months_later<'s>(arguments: &[Value<'_>]) -> Result<Value<'s>, Fault> {
    let months = count(arguments, 1)?;
    let later =
        |time: DateTime| torque_tool::due(time.date(), months).map(|day| day.to_datetime(time.time()));
    match arguments.first() {
        Some(Value::Moment(Moment::Civil(time))) => {
            later(*time).map(|time| Value::Moment(Moment::Civil(time)))
        }
        Some(Value::Moment(Moment::Exact(instant, offset))) => {
            let time = later(offset.to_datetime(*instant))?;
            let past = |_| Fault::new(FUNCTION_RANGE, format!("{time} is past the end of the calendar"));
            offset
                .to_timestamp(time)
                .map(|instant| Value::Moment(Moment::Exact(instant, *offset)))
                .map_err(past)
        }
        _ => torque_tool::due(day(arguments, 0)?, months).map(Value::Day),
    }
}

pub(super) fn thread(arguments: &[Value<'_>], at: usize) -> Result<Thread, Fault> {
    Thread::parse(text(arguments, at)).map_err(|fault| fault.argument(at))
}

pub(super) fn class(arguments: &[Value<'_>], at: usize) -> Result<PropertyClass, Fault> {
    PropertyClass::parse(text(arguments, at)).map_err(|fault| fault.argument(at))
}

/// An answer that is a quantity.
pub(super) fn gives<'s>(answer: Result<Quantity, Fault>) -> Result<Value<'s>, Fault> {
    answer.map(Value::Quantity)
}

/// An answer that is a plain number.
pub(super) fn gives_number<'s>(answer: Result<Number, Fault>) -> Result<Value<'s>, Fault> {
    answer.map(|number| Value::Quantity(number.into()))
}

/// An answer that is a range.
pub(super) fn gives_range<'s>(answer: Result<Range, Fault>) -> Result<Value<'s>, Fault> {
    answer.map(|range| Value::Range(Arc::new(range)))
}

/// The whole number in which a text ends.
pub(super) fn number_at_end(text: &str) -> Result<u64, Fault> {
    let digits = text.bytes().rev().take_while(u8::is_ascii_digit).count();
    let number =
        text.get(text.len() - digits..).filter(|_| digits <= 9).and_then(|number| number.parse().ok());
    number.ok_or_else(|| {
        let shown: String = text.chars().take(40).collect();
        Fault::new(FUNCTION_RANGE, format!("`{shown}` does not end in a whole number of at most nine digits"))
    })
}

/// Matches in time |text| × |pattern| at worst: only the last run can still grow.
pub(super) fn follows_pattern(text: &str, pattern: &str) -> bool {
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
