//! What an expression that holds or not can come to: the bare truth, where only that is asked, or the verdict with
//! what decided it. What `and`, `or` and the quantifiers mean is written once for both.

use super::lets::{Lets, Named, Results};
use super::verdict::Leaf;
use super::{Evaluator, Missing, NodeRef, Truth, Verdict};
use crate::language::typed::Expr;
use crate::quantity::Margin;

/// What an expression that holds or not comes to.
pub(super) trait Answer<'x>: From<Verdict<'x>> + Named {
    /// Whether nothing but the truth is asked: elements that change nothing need no look.
    const IS_BRIEF: bool;

    /// What lets came to.
    fn kept<'l>(lets: &'l mut Lets<'x>) -> &'l mut Results<'x, Self>;

    /// What a comparison came to that could be decided, at the value it looks at; its margin is computed only where
    /// the answer keeps it.
    fn decided(
        evaluator: &Evaluator<'x>,
        comparison: &'x Expr,
        holds: bool,
        at: Option<NodeRef>,
        margin: impl FnOnce() -> Option<Margin>,
    ) -> Self;

    /// What a comparison came to that cannot be decided.
    fn open(evaluator: &Evaluator<'x>, comparison: &'x Expr, missing: Missing<'x>) -> Self;

    /// The truth of it.
    fn truth(&self) -> Truth;

    /// `not`.
    fn negate(self) -> Self;

    /// `and`: the least truth.
    fn and(self, other: Self) -> Self;

    /// `or`: the greatest truth.
    fn or(self, other: Self) -> Self;

    /// `or`, of whose sides `other` is the one to speak of where neither holds.
    fn or_rather(self, other: Self) -> Self;

    /// What is said of an element and the condition by which it counts come to `truth` together.
    fn unless(self, condition: Self, truth: Truth) -> Self;

    /// Whether one part with this truth settles a whole, so that the other parts need no look: they could still tell
    /// of a nearer margin.
    fn is_settled_by(&self, truth: Truth) -> bool;

    /// The comparison that decided, where it is kept.
    fn leaf(&self) -> Option<&Leaf<'x>>;
}

impl<'x> Answer<'x> for Truth {
    const IS_BRIEF: bool = true;

    fn kept<'l>(lets: &'l mut Lets<'x>) -> &'l mut Results<'x, Truth> {
        &mut lets.truths
    }

    fn decided(
        _: &Evaluator<'x>,
        _: &'x Expr,
        holds: bool,
        _: Option<NodeRef>,
        _: impl FnOnce() -> Option<Margin>,
    ) -> Truth {
        Truth::from_bool(holds)
    }

    fn open(_: &Evaluator<'x>, _: &'x Expr, _: Missing<'x>) -> Truth {
        Truth::Unknown
    }

    fn truth(&self) -> Truth {
        *self
    }

    fn negate(self) -> Truth {
        Truth::negate(self)
    }

    fn and(self, other: Truth) -> Truth {
        self.min(other)
    }

    fn or(self, other: Truth) -> Truth {
        self.max(other)
    }

    fn or_rather(self, other: Truth) -> Truth {
        self.max(other)
    }

    fn unless(self, _: Truth, truth: Truth) -> Truth {
        truth
    }

    fn is_settled_by(&self, truth: Truth) -> bool {
        *self == truth
    }

    fn leaf(&self) -> Option<&Leaf<'x>> {
        None
    }
}

impl<'x> Answer<'x> for Verdict<'x> {
    const IS_BRIEF: bool = false;

    fn kept<'l>(lets: &'l mut Lets<'x>) -> &'l mut Results<'x, Verdict<'x>> {
        &mut lets.verdicts
    }

    fn decided(
        evaluator: &Evaluator<'x>,
        comparison: &'x Expr,
        holds: bool,
        at: Option<NodeRef>,
        margin: impl FnOnce() -> Option<Margin>,
    ) -> Verdict<'x> {
        evaluator.leaf(comparison, Truth::from_bool(holds), at, margin())
    }

    fn open(evaluator: &Evaluator<'x>, comparison: &'x Expr, missing: Missing<'x>) -> Verdict<'x> {
        evaluator.undecided(comparison, missing)
    }

    fn truth(&self) -> Truth {
        self.truth
    }

    fn negate(self) -> Verdict<'x> {
        Verdict::negate(self)
    }

    fn and(self, other: Verdict<'x>) -> Verdict<'x> {
        Verdict::and(self, other)
    }

    fn or(self, other: Verdict<'x>) -> Verdict<'x> {
        Verdict::or(self, other)
    }

    fn or_rather(self, other: Verdict<'x>) -> Verdict<'x> {
        Verdict::or_rather(self, other)
    }

    fn unless(self, condition: Verdict<'x>, truth: Truth) -> Verdict<'x> {
        Verdict::unless(self, condition, truth)
    }

    fn is_settled_by(&self, _: Truth) -> bool {
        false
    }

    fn leaf(&self) -> Option<&Leaf<'x>> {
        self.leaf.as_deref()
    }
}

impl From<Verdict<'_>> for Truth {
    fn from(verdict: Verdict<'_>) -> Truth {
        verdict.truth
    }
}
