//! What was typed, as it is written into the record. Nothing is decided: what cannot be read is written as it was typed, so
//! that the verdict names it beside its field and nothing is lost.

use crate::document::Shape;
use crate::quantity::Number;
use crate::sheet::scalar;

/// The longest text of one field.
pub const LONGEST: usize = 4_000;

/// How an empty list is typed.
pub const NONE: &str = "[]";

/// A typed text as YAML on one line; empty where nothing was typed.
#[must_use]
pub fn written(shape: &Shape, typed: &str) -> String {
    let typed = typed.trim();
    match shape {
        _ if typed.is_empty() => String::new(),
        Shape::List(_) if typed == NONE => NONE.to_owned(),
        Shape::List(entry) => {
            let entries = typed.split(',').map(str::trim).filter(|one| !one.is_empty());
            let entries: Vec<String> = entries.map(|one| written(entry, one)).collect();
            format!("[{}]", entries.join(", "))
        }
        Shape::Truth if ["yes", "no"].contains(&typed) => typed.to_owned(),
        Shape::Count | Shape::Number => {
            let number = with_point(typed);
            if Number::parse(&number).is_ok() { number } else { scalar(&number) }
        }
        Shape::Quantity(_) | Shape::Range(_) => scalar(&with_point(typed)),
        _ => scalar(typed),
    }
}

/// The same text with the point where its number has a decimal comma, if only that can be meant: in `1,250` the comma can
/// stand between thousands, and the reader says so.
fn with_point(typed: &str) -> String {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.' | '+' | '-' | '−');
    let end = typed.find(|c| !is_part(c)).unwrap_or(typed.len());
    let (number, unit) = typed.split_at_checked(end).unwrap_or((typed, ""));
    match Number::parse(number) {
        Err(fault) if number.contains(',') => match fault.meant {
            Some(meant) => format!("{meant}{unit}"),
            None => typed.to_owned(),
        },
        _ => typed.to_owned(),
    }
}
