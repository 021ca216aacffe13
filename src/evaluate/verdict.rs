//! Kleene's strong three-valued logic, with the margin and the comparison that decided.

use std::cmp::Ordering;

use super::around::{Lost, Spot};
use super::course::Course;
use crate::diagnostic::Fault;
use crate::language::typed::{Expr, VARIABLES};
use crate::metrology::conformity::Decision;
use crate::quantity::Margin;
use crate::signal::Hole;

/// A truth value of Kleene's strong logic. The order is the one in which `and` is the minimum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Truth {
    /// It does not hold.
    No,
    /// It cannot be decided.
    Unknown,
    /// It holds.
    Yes,
}

impl Truth {
    /// A decided truth.
    #[must_use]
    pub fn from_bool(holds: bool) -> Truth {
        if holds { Truth::Yes } else { Truth::No }
    }

    /// `not`.
    #[must_use]
    pub fn negate(self) -> Truth {
        match self {
            Truth::No => Truth::Yes,
            Truth::Unknown => Truth::Unknown,
            Truth::Yes => Truth::No,
        }
    }
}

/// Why a value is not there.
#[derive(Clone, Debug)]
pub struct Missing<'p> {
    /// The nearest part of the document that is there.
    pub at: Spot,
    /// What is wrong.
    pub reason: Reason<'p>,
}

impl Missing<'_> {
    /// Whether the value is there, and only its uncertainty leaves it open.
    #[must_use]
    pub fn is_of_a_reading(&self) -> bool {
        matches!(self.reason, Reason::Guarded(..))
    }
}

/// The reasons for which a value is not there.
#[derive(Clone, Debug)]
pub enum Reason<'p> {
    /// A field is not recorded: the expression that asks for it, and how many names at its end
    /// have nothing in the document.
    NotRecorded(&'p Expr, u8),
    /// The value cannot be read; that is reported with the document.
    Unreadable,
    /// A link leads nowhere.
    Lost(Box<Lost>),
    /// Nobody states this parameter.
    NoParameter(usize),
    /// The table has no such row.
    NoRow(usize, Box<[String]>),
    /// A reading, or what is computed from readings, lies nearer to its limit than its uncertainty allows to
    /// tell, by this rule.
    Guarded(Box<Decision>, &'p Expr, Box<str>),
    /// A computation has no answer here.
    Fault(Box<Fault>),
    /// There is nothing of which the least or greatest could be taken.
    Empty,
    /// A log says nothing of a part of the stretch of time, or has a gap there that is longer than allowed,
    /// in nanoseconds.
    Hole(Box<Hole>, Option<i64>),
}

/// The elements that the variables of a rule stand for.
pub type Slots = [Spot; VARIABLES];

/// The comparison that decided a verdict.
#[derive(Clone, Debug)]
pub struct Leaf<'p> {
    /// The comparison.
    pub expr: &'p Expr,
    /// Whether it stands below an odd number of `not`.
    pub negated: bool,
    /// The value in the document that it looks at first.
    pub at: Option<Spot>,
    /// The elements that its variables stood for.
    pub slots: Slots,
    /// The signed distance to the limit; positive when the verdict holds.
    pub margin: Option<Margin>,
    /// Why it cannot be decided.
    pub missing: Option<Box<Missing<'p>>>,
    /// How the logs ran that it looked at.
    pub course: Option<Box<Course>>,
}

/// What an expression that is true or not came to.
#[derive(Clone, Debug)]
pub struct Verdict<'p> {
    /// The truth.
    pub truth: Truth,
    /// What decided.
    pub leaf: Option<Leaf<'p>>,
}

impl<'p> Verdict<'p> {
    /// A verdict that no comparison decided.
    #[must_use]
    pub fn bare(truth: Truth) -> Self {
        Verdict { truth, leaf: None }
    }

    fn margin(&self) -> Option<&Margin> {
        self.leaf.as_ref()?.margin.as_ref()
    }

    /// `not`: the margin changes its sign.
    #[must_use]
    pub fn negate(mut self) -> Self {
        self.truth = self.truth.negate();
        if let Some(leaf) = &mut self.leaf {
            leaf.negated = !leaf.negated;
            leaf.margin = leaf.margin.take().map(negated);
        }
        self
    }

    /// `and`: the least truth and, among those that have it, the least margin.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        self.join(other, Ordering::Less)
    }

    /// `or`: the greatest truth and, among those that have it, the greatest margin.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        self.join(other, Ordering::Greater)
    }

    /// What is said of an element and the condition by which it counts come to `truth` together. Where
    /// both have it the element speaks: the condition only chooses.
    pub(super) fn unless(self, condition: Self, truth: Truth) -> Self {
        if self.truth == truth { self } else { condition }
    }

    /// `or`, of whose sides `other` is the one to speak of where neither holds, unless their margins tell.
    pub(super) fn or_rather(self, other: Self) -> Self {
        let compared = self.margin().zip(other.margin()).and_then(|(mine, others)| tightness(mine, others));
        let neither = self.truth == Truth::No && other.truth == Truth::No;
        if neither && compared.is_none() { other } else { self.or(other) }
    }

    /// Keeps the side that is first in the direction `wanted`, by truth and then by margin.
    fn join(self, other: Self, wanted: Ordering) -> Self {
        let by_truth = other.truth.cmp(&self.truth);
        if by_truth != Ordering::Equal {
            return if by_truth == wanted { other } else { self };
        }
        let take_other = match (self.margin(), other.margin()) {
            (Some(mine), Some(others)) => tightness(others, mine) == Some(wanted),
            (None, Some(_)) => self.leaf.is_none() || self.truth == Truth::Yes,
            (_, None) => self.leaf.is_none(),
        };
        if take_other { other } else { self }
    }
}

/// The margin of the opposite: the same distance on the other side.
#[must_use]
pub fn negated(margin: Margin) -> Margin {
    let on_limit = margin.distance.magnitude().is_zero();
    Margin {
        distance: margin.distance.opposite(),
        share: margin.share.map(|share| -&share),
        exclusive_limit_hit: on_limit != margin.exclusive_limit_hit,
        ..margin
    }
}

/// How two margins compare: by their share of the tolerance where both have one, else by distance
/// where their kinds compare.
fn tightness(left: &Margin, right: &Margin) -> Option<Ordering> {
    match (&left.share, &right.share) {
        (Some(left), Some(right)) => Some(left.cmp(right)),
        _ => {
            left.distance.kind().comparable(right.distance.kind()).ok()?;
            Some(left.distance.compare(&right.distance))
        }
    }
}
