//! What the uncertainty of readings makes of a comparison (JCGM 106).

use std::sync::Arc;

use super::compute::Computed;
use super::order::one_limit;
use super::uncertain::Uncertainty;
use super::{Evaluator, NodeRef};
use crate::diagnostic::Fault;
use crate::language::typed::{Expr, ExprKind};
use crate::metrology::Working;
use crate::metrology::conformity::{self, Decision, DecisionRule};
use crate::quantity::{Quantity, Range};
use crate::value::Value;

/// By which rule readings are decided at hand, and what an answer is good for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guarding<'x> {
    rule: &'x DecisionRule,
    /// Whether the demand names it, and not the settings.
    own: bool,
    sense: Sense,
}

/// What a comparison is asked for: which answers the rule for uncertain readings is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Sense {
    /// To hold.
    ToHold,
    /// Not to hold, below an odd number of `not`.
    NotToHold,
    /// To choose what is judged: a wrong choice of either sort can let a bad job pass.
    ToChoose,
}

impl<'x> Guarding<'x> {
    /// By the rule of the settings. Simple acceptance is the plain comparison.
    pub(super) fn by_settings(rule: &'x DecisionRule) -> Option<Guarding<'x>> {
        (*rule != DecisionRule::Simple).then_some(Guarding { rule, own: false, sense: Sense::ToHold })
    }

    /// By the rule that a demand names.
    pub(super) fn by_demand(rule: &'x DecisionRule) -> Option<Guarding<'x>> {
        Some(Guarding { own: true, ..Guarding::by_settings(rule)? })
    }

    /// What tells it from others: where its rule is, who chose that, and what an answer is good for.
    pub(super) fn key(&self) -> (usize, bool, Sense) {
        (std::ptr::from_ref(self.rule) as usize, self.own, self.sense)
    }

    /// The rule and who chose it, in words.
    fn words(&self) -> String {
        format!("{}, {}", self.rule, if self.own { "as the demand says" } else { "from the settings" })
    }

    fn negated(self) -> Guarding<'x> {
        let sense = match self.sense {
            Sense::ToHold => Sense::NotToHold,
            Sense::NotToHold => Sense::ToHold,
            Sense::ToChoose => Sense::ToChoose,
        };
        Guarding { sense, ..self }
    }

    /// What the rule asks of a comparison whose plain answer is `holds`. Below a `not`, to accept is to find that
    /// it does not hold, so that the guard band lies on the other side of the limit; what chooses must be certain
    /// on both sides.
    fn of_comparison(&self, holds: bool) -> DecisionRule {
        match (self.rule, self.sense) {
            (DecisionRule::GuardedAcceptance(guard), Sense::NotToHold) => {
                DecisionRule::GuardedRejection(guard.clone())
            }
            (DecisionRule::GuardedRejection(guard), Sense::NotToHold) => {
                DecisionRule::GuardedAcceptance(guard.clone())
            }
            (
                DecisionRule::GuardedAcceptance(guard) | DecisionRule::GuardedRejection(guard),
                Sense::ToChoose,
            ) => match holds {
                true => DecisionRule::GuardedAcceptance(guard.clone()),
                false => DecisionRule::GuardedRejection(guard.clone()),
            },
            (rule, _) => rule.clone(),
        }
    }
}

impl<'x> Evaluator<'x> {
    /// Runs `inside` below a `not`.
    pub(super) fn negated<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        self.guarding = self.guarding.map(Guarding::negated);
        let result = inside(self);
        self.guarding = self.guarding.map(Guarding::negated);
        result
    }

    /// Runs `inside` where it chooses what is judged.
    pub(super) fn choosing<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let chosen = self.guarding.map(|guarding| Guarding { sense: Sense::ToChoose, ..guarding });
        let outer = std::mem::replace(&mut self.guarding, chosen);
        let result = inside(self);
        self.guarding = outer;
        result
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
        at: Option<NodeRef>,
    ) -> Computed<'x, Option<Decision>> {
        let holds = range.contains(value);
        let Some(rule) = self.guard(holds) else { return Ok(None) };
        let uncertainty = match self.untraced(|inner| inner.uncertainty_in(comparison)) {
            Ok(Some(uncertainty)) => uncertainty,
            Ok(None) => return Ok(None),
            Err(missing) => match (&rule, holds) {
                (DecisionRule::GuardedAcceptance(_), false) | (DecisionRule::GuardedRejection(_), true) => {
                    return Ok(None);
                }
                _ => return Err(missing),
            },
        };
        let decision = decide(value, &uncertainty, range, &rule, &mut self.working);
        decision.map(Some).map_err(|fault| self.fault_at(fault, at))
    }

    /// What is asked of a comparison at hand whose plain answer is `holds`, where readings are guarded.
    pub(super) fn guard(&self, holds: bool) -> Option<DecisionRule> {
        self.guarding.map(|guarding| guarding.of_comparison(holds))
    }

    /// Whether a yes or no that a builtin answers is certain: no uncertain reading has a part in it.
    ///
    /// # Errors
    /// What is uncertain, or of what that cannot be told.
    pub(super) fn is_certain(&mut self, call: &'x Expr) -> Computed<'x, ()> {
        match (&call.kind, self.guarding) {
            (ExprKind::Call { .. }, Some(_)) => self.untraced(|inner| inner.uncertainty_in(call)).map(|_| ()),
            _ => Ok(()),
        }
    }

    /// How wide the guard band at the limits of a log is; nothing where the plain comparison decides.
    ///
    /// # Errors
    /// What the uncertainty of the log cannot be told for.
    pub(super) fn band(&mut self, comparison: &'x Expr, range: &Range) -> Computed<'x, Option<Quantity>> {
        let Some(rule) = self.guard(true) else { return Ok(None) };
        let uncertainty = self.untraced(|inner| inner.uncertainty_in(comparison))?;
        let Some((uncertainty, end)) = uncertainty.zip(range.low().or(range.high())) else { return Ok(None) };
        let decision = decide(&end.value, &uncertainty, range, &rule, &mut self.working);
        decision.map(|decision| Some(decision.guard)).map_err(|fault| self.fault_at(fault, None))
    }

    /// By which rule readings are decided at hand, in words.
    pub(super) fn decided_by(&self) -> Box<str> {
        self.guarding.map(|guarding| guarding.words()).unwrap_or_default().into()
    }

    /// Runs `inside` without keeping the comparisons and computations that it makes.
    pub(super) fn untraced<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let steps = self.steps.take();
        let working = std::mem::replace(&mut self.working, Working::none());
        let result = inside(self);
        (self.steps, self.working) = (steps, working);
        result
    }

    /// How probable it is that the true value of an uncertain reading conforms to a comparison, or to its
    /// opposite where it stands below a `not`; with the uncertainty.
    pub(crate) fn conformity(&mut self, comparison: &'x Expr, negated: bool) -> Option<(f64, Uncertainty)> {
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
