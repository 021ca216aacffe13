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

/// Why something cannot be decided; what is worse comes later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Nothing but records is missing.
    Unrecorded,
    /// Anything else: nobody states it, it cannot be read, a table has no row, a sum has no answer.
    Otherwise,
}

/// A value, or why it is missing.
pub type Known<T> = Result<T, Why>;

/// The worst of what is missing, or all that is known.
pub fn all<T>(values: impl IntoIterator<Item = Known<T>>) -> Known<Vec<T>> {
    let (mut known, mut worst) = (Vec::new(), None);
    for value in values {
        match value {
            Ok(value) => known.push(value),
            Err(why) => worst = worst.max(Some(why)),
        }
    }
    worst.map_or(Ok(known), Err)
}

/// A truth, and why where there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Told {
    pub truth: Truth,
    pub why: Option<Why>,
}

impl Told {
    pub fn of(truth: bool) -> Told {
        Told { truth: Truth::of(truth), why: None }
    }

    pub fn unknown(why: Why) -> Told {
        Told { truth: Truth::Unknown, why: Some(why) }
    }

    pub fn opposite(self) -> Told {
        Told { truth: self.truth.opposite(), ..self }
    }

    pub fn and(self, other: Told) -> Told {
        self.with(other, self.truth.min(other.truth))
    }

    pub fn or(self, other: Told) -> Told {
        self.with(other, self.truth.max(other.truth))
    }

    fn with(self, other: Told, truth: Truth) -> Told {
        let why = if truth == Truth::Unknown { self.why.max(other.why) } else { None };
        Told { truth, why }
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
    /// A list of words.
    Words(Vec<String>),
    /// Seconds since 1970 in UTC.
    Moment(i64),
    /// Such a time divided by the seconds of a day.
    Day(i64),
}

impl Value {
    /// Whether it is the very same value, ranges included.
    pub fn same(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Range(a), Value::Range(b)) => a.same(b),
            (Value::Words(a), Value::Words(b)) => a == b,
            _ => self.equals(other),
        }
    }

    pub fn equals(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Truth(a), Value::Truth(b)) => a == b,
            (Value::Amount(a), Value::Amount(b)) => a.base == b.base,
            (Value::Text(a), Value::Text(b)) => a == b,
            (Value::Text(text), Value::Words(words)) => words.contains(text),
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

impl Range {
    pub fn same(&self, other: &Range) -> bool {
        self.low == other.low && self.high == other.high
    }
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
    /// Why it is undecided, where it is.
    pub why: Option<Why>,
}

impl Verdict {
    pub fn plain(truth: Truth) -> Verdict {
        Verdict { truth, margin: None, exact: true, why: None }
    }

    pub fn unknown(why: Why) -> Verdict {
        Verdict { why: Some(why), ..Verdict::plain(Truth::Unknown) }
    }

    pub fn told(&self) -> Told {
        Told { truth: self.truth, why: self.why }
    }
}

impl From<Told> for Verdict {
    fn from(told: Told) -> Verdict {
        Verdict { why: told.why, ..Verdict::plain(told.truth) }
    }
}
