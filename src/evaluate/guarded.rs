//! What the uncertainty of readings makes of a comparison (JCGM 106).

use std::sync::Arc;

use super::compute::Computed;
use super::order::one_limit;
use super::uncertain::Uncertainty;
use super::{Evaluator, Spot, Verdict};
use crate::diagnostic::Fault;
use crate::language::typed::{Expr, ExprKind};
use crate::metrology::Working;
use crate::metrology::conformity::{self, Decision, DecisionRule};
use crate::quantity::{Quantity, Range};
use crate::value::Value;

/// By which rule readings are decided at hand, and whether below an even number of `not`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guarding<'x> {
    rule: &'x DecisionRule,
    /// Whether the demand names it, and not the settings.
    own: bool,
    upright: bool,
}

impl<'x> Guarding<'x> {
    /// By the rule of the settings. Simple acceptance is the plain comparison.
    pub(super) fn by_settings(rule: &'x DecisionRule) -> Option<Guarding<'x>> {
        (*rule != DecisionRule::Simple).then_some(Guarding { rule, own: false, upright: true })
    }

    /// By the rule that a demand names.
    pub(super) fn by_demand(rule: &'x DecisionRule) -> Option<Guarding<'x>> {
        Some(Guarding { own: true, ..Guarding::by_settings(rule)? })
    }

    /// The rule and who chose it, in words.
    pub(super) fn words(&self) -> String {
        format!("{}, {}", self.rule, if self.own { "as the demand says" } else { "from the settings" })
    }

    /// What the rule asks of a comparison. Below a `not`, to accept is to find that it does not hold, so
    /// that the guard band lies on the other side of the limit.
    fn of_comparison(&self) -> DecisionRule {
        match (self.rule, self.upright) {
            (DecisionRule::GuardedAcceptance(guard), false) => DecisionRule::GuardedRejection(guard.clone()),
            (DecisionRule::GuardedRejection(guard), false) => DecisionRule::GuardedAcceptance(guard.clone()),
            (rule, _) => rule.clone(),
        }
    }
}

impl<'x> Evaluator<'x> {
    /// Runs `inside` below a `not`.
    pub(super) fn turned<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let turn = |guarding: Guarding<'x>| Guarding { upright: !guarding.upright, ..guarding };
        self.guarding = self.guarding.map(turn);
        let result = inside(self);
        self.guarding = self.guarding.map(turn);
        result
    }

    /// Whether a condition holds: it chooses what is judged and is no judgement itself, so readings in it
    /// are taken as they are.
    pub(super) fn condition(&mut self, condition: &'x Expr) -> Verdict<'x> {
        let guarding = self.guarding.take();
        let verdict = self.truth(condition);
        self.guarding = guarding;
        verdict
    }

    /// The decision on an uncertain reading; nothing where the plain comparison decides.
    ///
    /// # Errors
    /// What the uncertainty cannot be told for, unless the decision is the same whatever it is.
    pub(super) fn guarded(
        &mut self,
        comparison: &'x Expr,
        value: &Quantity,
        range: &Range,
        at: Option<Spot>,
    ) -> Computed<'x, Option<Decision>> {
        let Some(guarding) = self.guarding else { return Ok(None) };
        let rule = guarding.of_comparison();
        let uncertainty = match self.unheard(|inner| inner.uncertainty_in(comparison)) {
            Ok(Some(uncertainty)) => uncertainty,
            Ok(None) => return Ok(None),
            Err(missing) => match (&rule, range.contains(value)) {
                (DecisionRule::GuardedAcceptance(_), false) | (DecisionRule::GuardedRejection(_), true) => {
                    return Ok(None);
                }
                _ => return Err(missing),
            },
        };
        let decision = decide(value, &uncertainty, range, &rule, &mut self.working);
        decision.map(Some).map_err(|fault| self.fault_at(fault, at))
    }

    /// What is asked of a comparison at hand, where readings are guarded.
    pub(super) fn guard(&self) -> Option<DecisionRule> {
        self.guarding.map(|guarding| guarding.of_comparison())
    }

    /// How wide the guard band at the limits of a log is; nothing where the plain comparison decides.
    ///
    /// # Errors
    /// What the uncertainty of the log cannot be told for.
    pub(super) fn band(&mut self, comparison: &'x Expr, range: &Range) -> Computed<'x, Option<Quantity>> {
        let Some(rule) = self.guard() else { return Ok(None) };
        let uncertainty = self.unheard(|inner| inner.uncertainty_in(comparison))?;
        let Some((uncertainty, end)) = uncertainty.zip(range.low().or(range.high())) else { return Ok(None) };
        let decision = decide(&end.value, &uncertainty, range, &rule, &mut self.working);
        decision.map(|decision| Some(decision.guard)).map_err(|fault| self.fault_at(fault, None))
    }

    /// By which rule readings are decided at hand, in words.
    pub(super) fn decided_by(&self) -> Box<str> {
        self.guarding.map(|guarding| guarding.words()).unwrap_or_default().into()
    }

    /// Runs `inside` without keeping the comparisons and computations that it makes.
    pub(super) fn unheard<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let steps = self.steps.take();
        let working = std::mem::replace(&mut self.working, Working::none());
        let result = inside(self);
        (self.steps, self.working) = (steps, working);
        result
    }

    /// How probable it is that the true value of an uncertain reading conforms to a comparison, or to its
    /// opposite where it stands below a `not`; with the uncertainty.
    pub(super) fn conformity(&mut self, comparison: &'x Expr, negated: bool) -> Option<(f64, Uncertainty)> {
        let uncertainty = self.uncertainty_in(comparison).ok()??;
        let value = self.value(comparison.looks_at()).ok()?;
        let limits = match &comparison.kind {
            ExprKind::Within(_, range) => self.value(range).ok()?,
            ExprKind::Compare(_, _, limit) => self.value(limit).ok()?,
            _ => return None,
        };
        let range = match (&comparison.kind, limits.get()) {
            (ExprKind::Compare(comparison, ..), Value::Quantity(limit)) => {
                Arc::new(one_limit(*comparison, limit)?.ok()?)
            }
            (_, Value::Range(range)) => Arc::clone(range),
            _ => return None,
        };
        let Value::Quantity(value) = value.get() else { return None };
        let decision =
            decide(value, &uncertainty, &range, &DecisionRule::Simple, &mut Working::none()).ok()?;
        let probability = decision.probability?;
        Some((if negated { 1.0 - probability } else { probability }, uncertainty))
    }
}

fn decide(
    value: &Quantity,
    uncertainty: &Uncertainty,
    range: &Range,
    rule: &DecisionRule,
    working: &mut Working,
) -> Result<Decision, Fault> {
    conformity::judge(value, Some(&uncertainty.expanded), &uncertainty.coverage, range, rule, working)
}
