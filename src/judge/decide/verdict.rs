//! Kleene's strong three-valued logic, with the margin and the comparison that decided.

use std::cmp::Ordering;

use super::links::{NodeRef, UnresolvedLink};
use super::logs::LogEvidence;
use crate::diagnostic::Fault;
use crate::language::ast::Unrecorded;
use crate::language::ids::{ParameterId, TableId};
use crate::language::typed::{Expr, FaultyValue, Rule, VARIABLES};
use crate::metrology::conformity::Decision;
use crate::quantity::Margin;
use crate::signal::Hole;

/// A truth value of Kleene's strong logic. The order is the one in which `and` is the minimum.
///
/// ```
/// use witnessmark_judge::decide::Truth;
///
/// assert_eq!(Truth::Unknown.min(Truth::No), Truth::No);
/// assert_eq!(Truth::Unknown.negate(), Truth::Unknown);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
    pub at: NodeRef,
    /// What is wrong.
    pub reason: Reason<'p>,
}

impl Missing<'_> {
    /// Whether the value is there, and only its uncertainty leaves it open.
    #[must_use]
    pub fn is_of_a_reading(&self) -> bool {
        matches!(self.reason, Reason::Guarded(..))
    }

    /// Whether nothing is missing but what was not recorded: the value, or the name by which a link is followed.
    #[must_use]
    pub fn is_not_recorded(&self) -> bool {
        match &self.reason {
            Reason::NotRecorded(..) => true,
            Reason::UnresolvedLink(lost) => {
                matches!(**lost, UnresolvedLink::Unnamed(_) | UnresolvedLink::First)
            }
            Reason::Unreadable
            | Reason::NoParameter(_)
            | Reason::FaultyParameter(..)
            | Reason::NoRow(..)
            | Reason::Guarded(..)
            | Reason::Fault(_)
            | Reason::Empty
            | Reason::Hole(..)
            | Reason::Both(..) => false,
        }
    }
}

impl<'p> Missing<'p> {
    /// Two that leave a value open together. The first one is shown; that something else than a record is
    /// missing is never lost.
    #[must_use]
    pub fn with(self, other: Missing<'p>) -> Missing<'p> {
        match other.split() {
            (first, None) if self.is_not_recorded() && !first.is_not_recorded() => self.beside(first),
            (_, Some(deeper)) if self.is_not_recorded() => self.beside(deeper),
            _ => self,
        }
    }

    fn beside(self, other: Missing<'p>) -> Missing<'p> {
        Missing { at: self.at, reason: Reason::Both(Box::new(self), Box::new(other)) }
    }

    /// The one that is shown, and the one behind it that is no mere lack of a record.
    #[must_use]
    pub fn split(self) -> (Missing<'p>, Option<Missing<'p>>) {
        match self.reason {
            Reason::Both(first, other) => (*first, Some(*other)),
            reason => (Missing { at: self.at, reason }, None),
        }
    }

    /// The reason that is shown.
    #[must_use]
    pub fn shown(&self) -> &Reason<'p> {
        match &self.reason {
            Reason::Both(first, _) => &first.reason,
            reason => reason,
        }
    }
}

/// What is missing so far, and one more.
pub(super) fn joined<'p>(so_far: Option<Missing<'p>>, next: Missing<'p>) -> Missing<'p> {
    match so_far {
        Some(first) => first.with(next),
        None => next,
    }
}

/// Both of two values, or what is missing of them.
pub(super) fn both<'p, A, B>(
    one: Result<A, Missing<'p>>,
    other: Result<B, Missing<'p>>,
) -> Result<(A, B), Missing<'p>> {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok((one, other)),
        (Err(one), Err(other)) => Err(one.with(other)),
        (Err(missing), Ok(_)) | (Ok(_), Err(missing)) => Err(missing),
    }
}

/// All of several values, or what is missing of them.
pub(super) fn all<'p, A>(
    values: impl IntoIterator<Item = Result<A, Missing<'p>>>,
) -> Result<Vec<A>, Missing<'p>> {
    let (mut found, mut missing) = (Vec::new(), None);
    for value in values {
        match value {
            Ok(value) => found.push(value),
            Err(next) => missing = Some(joined(missing, next)),
        }
    }
    missing.map_or(Ok(found), Err)
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
    UnresolvedLink(Box<UnresolvedLink>),
    /// Nobody states this parameter.
    NoParameter(ParameterId),
    /// What is stated for this parameter has an error.
    FaultyParameter(ParameterId, &'p FaultyValue),
    /// The table has no such row.
    NoRow(TableId, Box<[String]>),
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
    /// Something was not recorded, and something else is missing too that is no mere lack of a record.
    Both(Box<Missing<'p>>, Box<Missing<'p>>),
}

/// The elements that the variables of a rule stand for.
pub type Slots = [NodeRef; VARIABLES];

/// The comparison that decided a verdict.
#[derive(Clone, Debug)]
pub struct Leaf<'p> {
    /// The comparison.
    pub expr: &'p Expr,
    /// Whether it stands below an odd number of `not`.
    pub negated: bool,
    /// The value in the document that it looks at first.
    pub at: Option<NodeRef>,
    /// The elements that its variables stood for.
    pub slots: Slots,
    /// The signed distance to the limit; positive when the verdict holds.
    pub margin: Option<Margin>,
    /// Why it cannot be decided.
    pub missing: Option<Box<Missing<'p>>>,
    /// How the logs ran that it looked at.
    pub course: Option<Box<LogEvidence>>,
    /// Where it cannot be decided because something was not recorded: what leaves it open all the same, and
    /// is no mere lack of a record.
    pub besides: Option<Box<Leaf<'p>>>,
}

impl<'p> Leaf<'p> {
    /// The one that tells of something else than a record that is missing, if there is one.
    fn not_for_want_of_a_record(self: Box<Self>) -> Option<Box<Leaf<'p>>> {
        match self.missing.as_ref()?.is_not_recorded() {
            true => self.besides,
            false => Some(self),
        }
    }

    /// Puts it on the other side of a `not`.
    fn turn(&mut self) {
        self.negated = !self.negated;
        self.margin = self.margin.take().map(negated);
        if let Some(besides) = &mut self.besides {
            besides.turn();
        }
    }
}

/// What an expression that is true or not came to.
#[derive(Clone, Debug)]
pub struct Verdict<'p> {
    /// The truth.
    pub truth: Truth,
    /// What decided.
    pub leaf: Option<Box<Leaf<'p>>>,
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
            leaf.turn();
        }
        self
    }

    /// The same, told by what is missing and is no mere lack of a record, where there is such a thing.
    #[must_use]
    pub(super) fn besides_records(mut self) -> Self {
        if let Some(besides) = self.leaf.as_mut().and_then(|leaf| leaf.besides.take()) {
            self.leaf = Some(besides);
        }
        self
    }

    /// Why it cannot be decided, in full.
    pub(super) fn missing(self) -> Option<Missing<'p>> {
        let leaf = self.leaf?;
        let (first, besides) = (*leaf.missing?, leaf.besides.and_then(|besides| besides.missing));
        Some(match besides {
            Some(besides) => first.with(*besides),
            None => first,
        })
    }

    /// Keeps what `other` has to say of a verdict that it leaves open too.
    pub(super) fn beside(mut self, other: Self) -> Self {
        if let Some(leaf) = &mut self.leaf
            && leaf.besides.is_none()
            && leaf.missing.as_ref().is_some_and(|missing| missing.is_not_recorded())
        {
            leaf.besides = other.leaf.and_then(Leaf::not_for_want_of_a_record);
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
        match (self.truth == truth, condition.truth == truth) {
            (true, true) if truth == Truth::Unknown => self.beside(condition),
            (true, _) => self,
            (false, _) => condition,
        }
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
        let (kept, left) = if take_other { (other, self) } else { (self, other) };
        if kept.truth == Truth::Unknown { kept.beside(left) } else { kept }
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

/// Where a rule lets pass what is not recorded, what else is missing decides and is told.
pub(super) fn told_by<'p>(rule: &Rule, verdict: Verdict<'p>) -> Verdict<'p> {
    if rule.unrecorded == Unrecorded::Pass { verdict.besides_records() } else { verdict }
}
