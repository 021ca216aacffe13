//! Values, truth and margins of the naive evaluator.

use super::figures::{Amount, Ratio};

/// Kleene's three truth values, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Truth {
    No,
    Unknown,
    Yes,
}

impl Truth {
    pub fn of(truth: bool) -> Truth {
        if truth { Truth::Yes } else { Truth::No }
    }

    pub fn opposite(self) -> Truth {
        match self {
            Truth::No => Truth::Yes,
            Truth::Unknown => Truth::Unknown,
            Truth::Yes => Truth::No,
        }
    }
}

/// A known value; a missing one is no value.
#[derive(Clone, Debug)]
pub enum Value {
    Truth(bool),
    Amount(Amount),
    Range(Range),
    Several(Vec<Amount>),
    Text(String),
    /// Seconds since 1970 in UTC.
    Moment(i64),
}

impl Value {
    pub fn equals(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Truth(a), Value::Truth(b)) => a == b,
            (Value::Amount(a), Value::Amount(b)) => a.base == b.base,
            (Value::Text(a), Value::Text(b)) => a == b,
            (Value::Moment(a), Value::Moment(b)) => a == b,
            _ => panic!("{self:?} and {other:?} do not compare"),
        }
    }
}

/// A range; each end with whether it belongs to it.
#[derive(Clone, Debug)]
pub struct Range {
    pub low: Option<(Ratio, bool)>,
    pub high: Option<(Ratio, bool)>,
    pub dimension: [i32; 5],
}

/// How far a value lies from its limit, in coherent units.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    pub distance: Ratio,
    pub share: Option<Ratio>,
    pub dimension: [i32; 5],
}

impl Margin {
    pub fn turned(self) -> Margin {
        Margin { distance: -self.distance, share: self.share.map(|share| -share), ..self }
    }

    /// The lesser of two where they compare, else the first.
    pub fn lesser(self, other: Margin) -> Margin {
        let less = match (&self.share, &other.share) {
            (Some(a), Some(b)) => b < a,
            _ => self.dimension == other.dimension && other.distance < self.distance,
        };
        if less { other } else { self }
    }

    /// The greater of two where they compare, else the first.
    pub fn greater(self, other: Margin) -> Margin {
        self.turned().lesser(other.turned()).turned()
    }
}

/// The truth of an expression, with its margin where it has one.
#[derive(Clone, Debug)]
pub struct Verdict {
    pub truth: Truth,
    pub margin: Option<Margin>,
    /// Whether the margin is the exact one: only `and`, `or`, `not`, `within` and comparisons.
    pub exact: bool,
}

impl Verdict {
    pub fn plain(truth: Truth) -> Verdict {
        Verdict { truth, margin: None, exact: true }
    }
}
