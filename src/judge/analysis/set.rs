//! Sets of words and of numbers, exact.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::quantity::{Limit, Number, Range};

/// A set of words: so many, or all but so many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Words {
    Of(BTreeSet<Arc<str>>),
    AllBut(BTreeSet<Arc<str>>),
}

impl Words {
    pub(super) fn all() -> Words {
        Words::AllBut(BTreeSet::new())
    }

    pub(super) fn of(words: impl IntoIterator<Item = Arc<str>>) -> Words {
        Words::Of(words.into_iter().collect())
    }

    pub(super) fn truth(truth: bool) -> Words {
        Words::of([Arc::from(if truth { "yes" } else { "no" })])
    }

    pub(super) fn others(&self) -> Words {
        match self {
            Words::Of(words) => Words::AllBut(words.clone()),
            Words::AllBut(words) => Words::Of(words.clone()),
        }
    }

    pub(super) fn and(&self, other: &Words) -> Words {
        match (self, other) {
            (Words::Of(one), Words::Of(other)) => Words::Of(one & other),
            (Words::Of(some), Words::AllBut(not)) | (Words::AllBut(not), Words::Of(some)) => {
                Words::Of(some - not)
            }
            (Words::AllBut(one), Words::AllBut(other)) => Words::AllBut(one | other),
        }
    }

    /// No text is a closed list: there is always one more.
    pub(super) fn is_empty(&self) -> bool {
        matches!(self, Words::Of(words) if words.is_empty())
    }

    /// The one word that it is.
    pub(super) fn only(&self) -> Option<&Arc<str>> {
        match self {
            Words::Of(words) if words.len() == 1 => words.first(),
            _ => None,
        }
    }
}

/// An end of an interval: where, and whether it belongs to it; nothing where it has no end.
type End = Option<(Number, bool)>;

#[derive(Clone, Debug, PartialEq)]
struct Interval {
    low: End,
    high: End,
}

impl Interval {
    fn and(&self, other: &Interval) -> Interval {
        Interval {
            low: nearer(&self.low, &other.low, |one, other| one > other),
            high: nearer(&self.high, &other.high, |one, other| one < other),
        }
    }

    fn is_empty(&self) -> bool {
        match (&self.low, &self.high) {
            (Some((low, from)), Some((high, to))) => low > high || low == high && !(*from && *to),
            _ => false,
        }
    }

    /// The whole numbers in it, with ends that belong to it.
    fn whole(&self) -> Option<Interval> {
        let one = Number::from(1_u64);
        let low = match &self.low {
            None => None,
            Some((low, inclusive)) => {
                let floor = Number::from(low.floor()?);
                let fits = *inclusive && floor == *low;
                Some((if fits { floor } else { floor.checked_add(&one)? }, true))
            }
        };
        let high = match &self.high {
            None => None,
            Some((high, inclusive)) => {
                let floor = Number::from(high.floor()?);
                let fits = *inclusive || floor != *high;
                Some((if fits { floor } else { floor.checked_sub(&one)? }, true))
            }
        };
        Some(Interval { low, high })
    }
}

/// The end of an intersection: of two that are the same, the one that does not belong to it.
fn nearer(one: &End, other: &End, further_in: impl Fn(&Number, &Number) -> bool) -> End {
    match (one, other) {
        (None, end) | (end, None) => end.clone(),
        (Some((a, from)), Some((b, to))) if a == b => Some((a.clone(), *from && *to)),
        (Some((a, _)), Some((b, _))) => {
            if further_in(a, b) {
                one.clone()
            } else {
                other.clone()
            }
        }
    }
}

/// A set of numbers: intervals, in their order, that do not meet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Numbers(Vec<Interval>);

impl Numbers {
    pub(super) fn all() -> Numbers {
        Numbers(vec![Interval { low: None, high: None }])
    }

    pub(super) fn point(number: &Number) -> Numbers {
        let end = Some((number.clone(), true));
        Numbers(vec![Interval { low: end.clone(), high: end }])
    }

    pub(super) fn from(low: &Number, inclusive: bool) -> Numbers {
        Numbers(vec![Interval { low: Some((low.clone(), inclusive)), high: None }])
    }

    pub(super) fn up_to(high: &Number, inclusive: bool) -> Numbers {
        Numbers(vec![Interval { low: None, high: Some((high.clone(), inclusive)) }])
    }

    /// The values within a range, in coherent units, `by` lower.
    pub(super) fn within(range: &Range, by: &Number) -> Option<Numbers> {
        let end = |limit: Option<&Limit>| match limit {
            None => Some(None),
            Some(Limit { value, inclusive }) => Some(Some((value.base().checked_sub(by)?, *inclusive))),
        };
        Some(Numbers(vec![Interval { low: end(range.low())?, high: end(range.high())? }]))
    }

    pub(super) fn and(&self, other: &Numbers) -> Numbers {
        let pairs = self.0.iter().flat_map(|one| other.0.iter().map(|other| one.and(other)));
        Numbers(pairs.filter(|both| !both.is_empty()).collect())
    }

    pub(super) fn others(&self) -> Numbers {
        let turned = |end: &End| end.as_ref().map(|(at, inclusive)| (at.clone(), !inclusive));
        let outside = |one: &Interval| {
            let below = one.low.is_some().then(|| Interval { low: None, high: turned(&one.low) });
            let above = one.high.is_some().then(|| Interval { low: turned(&one.high), high: None });
            Numbers(below.into_iter().chain(above).collect())
        };
        self.0.iter().fold(Numbers::all(), |others, one| others.and(&outside(one)))
    }

    /// The whole numbers in it.
    pub(super) fn whole(&self) -> Numbers {
        let tight = |one: &Interval| one.whole().unwrap_or_else(|| one.clone());
        Numbers(self.0.iter().map(tight).filter(|one| !one.is_empty()).collect())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Its lowest end.
    pub(super) fn low(&self) -> End {
        self.0.first().and_then(|first| first.low.clone())
    }

    /// Its highest end.
    pub(super) fn high(&self) -> End {
        self.0.last().and_then(|last| last.high.clone())
    }

    /// One of its numbers, a plain one where there is a choice.
    pub(super) fn one(&self) -> Option<Number> {
        let first = self.0.first()?;
        let unit = Number::from(1_u64);
        match (&first.low, &first.high) {
            (None, None) => Some(Number::ZERO),
            (Some((low, true)), _) => Some(low.clone()),
            (_, Some((high, true))) => Some(high.clone()),
            (Some((low, false)), None) => low.checked_add(&unit),
            (None, Some((high, false))) => high.checked_sub(&unit),
            (Some((low, false)), Some((high, false))) => {
                low.checked_add(high)?.checked_div(&Number::from(2_u64))
            }
        }
    }
}
