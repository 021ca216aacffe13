//! The run-time value: what a scalar of a record, or an expression of a rule, is worth.

use std::borrow::Cow;
use std::sync::Arc;

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
            Value::Day(day) => Value::Day(day),
            Value::Moment(moment) => Value::Moment(moment),
        }
    }
}

/// A time as a record states it.
#[derive(Clone, Debug, PartialEq)]
pub enum Moment {
    /// RFC 3339 with an offset: one instant.
    Exact(jiff::Timestamp),
    /// A date and a time of day without an offset.
    Civil(jiff::civil::DateTime),
}
