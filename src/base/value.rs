//! The run-time value: what a scalar of a record, or an expression of a rule, is worth.

use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

use jiff::civil::DateTime;
use jiff::tz::Offset;

use crate::quantity::{Quantity, Range, Reading};

/// A decided value. What is *not recorded* is no value at all; the evaluator keeps it apart.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'s> {
    /// Yes or no.
    Truth(bool),
    /// A number with a unit; a plain number (a count, an edition, a beta ratio) is one without.
    Quantity(Quantity),
    /// A quantity with its uncertainty.
    Reading(Arc<Reading>),
    /// Several quantities of one kind, in their order; only ever the argument of a builtin.
    Several(Arc<[Quantity]>),
    /// A range of quantities.
    Range(Arc<Range>),
    /// A text or a word of a closed list.
    Text(Cow<'s, str>),
    /// Several words, of which a text is one or is none.
    Words(Arc<[Arc<str>]>),
    /// A calendar day.
    Day(jiff::civil::Date),
    /// An instant with its offset from UTC, or a civil time that the workshop's zone decides.
    Moment(Moment),
}

impl Value<'_> {
    /// The same value with a text of its own.
    #[must_use]
    pub fn into_owned(self) -> Value<'static> {
        match self {
            Value::Truth(truth) => Value::Truth(truth),
            Value::Quantity(quantity) => Value::Quantity(quantity),
            Value::Reading(reading) => Value::Reading(reading),
            Value::Several(quantities) => Value::Several(quantities),
            Value::Range(range) => Value::Range(range),
            Value::Text(text) => Value::Text(Cow::Owned(text.into_owned())),
            Value::Words(words) => Value::Words(words),
            Value::Day(day) => Value::Day(day),
            Value::Moment(moment) => Value::Moment(moment),
        }
    }
}

/// A time as a record states it.
#[derive(Clone, Debug, PartialEq)]
pub enum Moment {
    /// RFC 3339 with an offset: one instant, and the offset in which it is written.
    Exact(jiff::Timestamp, Offset),
    /// A date and a time of day without an offset.
    Civil(DateTime),
}

impl Moment {
    /// The date and the time of day that it writes.
    #[must_use]
    pub fn written(&self) -> DateTime {
        match self {
            Moment::Exact(instant, offset) => offset.to_datetime(*instant),
            Moment::Civil(civil) => *civil,
        }
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.written())?;
        match self {
            Moment::Exact(_, offset) => f.write_str(&offset_words(*offset)),
            Moment::Civil(_) => Ok(()),
        }
    }
}

/// An offset as a time states it: `+01:00`, `Z`.
#[must_use]
pub fn offset_words(offset: Offset) -> String {
    let minutes = offset.seconds() / 60;
    match minutes {
        0 => "Z".to_owned(),
        _ => format!(
            "{}{:02}:{:02}",
            if minutes < 0 { '-' } else { '+' },
            minutes.abs() / 60,
            minutes.abs() % 60
        ),
    }
}
