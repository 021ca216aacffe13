//! The days on which a rule counts, by that on which a job was opened.

use super::{About, Evaluator, Judgement, Truth, Verdict};
use crate::language::typed::{Expr, Rule};

/// Whether a rule counts for a document.
pub(super) enum Counts<'x> {
    Surely,
    /// Not on that day: by this condition.
    Never(&'x Expr, Verdict<'x>),
    /// That cannot be told.
    Perhaps(&'x Expr, Verdict<'x>),
}

impl Judgement<'_> {
    /// Whether it is about the days on which the rule counts.
    pub(super) fn is_of_the_period(&self) -> bool {
        let About::Concern(condition) = self.about else { return false };
        self.rule.period.as_ref().is_some_and(|period| std::ptr::eq(period, condition))
    }
}

impl<'x> Evaluator<'x> {
    /// Whether a rule counts for a document, by the day on which the job was opened.
    pub(super) fn in_doubt(&mut self, rule: &'x Rule) -> Counts<'x> {
        let Some(period) = &rule.period else { return Counts::Surely };
        let verdict = self.chosen(period);
        match verdict.truth {
            Truth::Yes => Counts::Surely,
            Truth::No => Counts::Never(period, verdict),
            Truth::Unknown => Counts::Perhaps(period, verdict),
        }
    }
}
