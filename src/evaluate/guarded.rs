//! Readings with an uncertainty: where it comes from, and what it makes of a comparison (JCGM 106).

use std::sync::Arc;

use super::order::one_limit;
use super::{Evaluator, Spot, Verdict};
use crate::diagnostic::Fault;
use crate::document::{Bound, Document, NodeId, NodeKind};
use crate::language::ast::Arithmetic;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::metrology::Working;
use crate::metrology::conformity::{self, Decision, DecisionRule};
use crate::metrology::torque_tool;
use crate::metrology::uncertainty::{self, Component};
use crate::quantity::{Number, Quantity, Range, Reading};
use crate::value::Value;

/// By which rule readings are decided at hand, and whether below an even number of `not`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guarding<'x> {
    rule: &'x DecisionRule,
    upright: bool,
}

impl<'x> Guarding<'x> {
    /// Simple acceptance is the plain comparison.
    pub(super) fn by(rule: &'x DecisionRule) -> Option<Guarding<'x>> {
        (*rule != DecisionRule::Simple).then_some(Guarding { rule, upright: true })
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

/// The uncertainty of a reading.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Uncertainty {
    /// The expanded uncertainty, a distance.
    pub(super) expanded: Quantity,
    /// Its coverage factor.
    pub(super) coverage: Number,
    /// Where it was taken from, in words.
    pub(super) from: &'static str,
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
    pub(super) fn guarded(
        &mut self,
        comparison: &'x Expr,
        value: &Quantity,
        range: &Range,
    ) -> Option<Result<Decision, Fault>> {
        let rule = self.guarding?.of_comparison();
        let uncertainty = self.uncertainty(comparison.looks_at())?;
        Some(decide(value, &uncertainty, range, &rule, &mut self.working))
    }

    /// The decision on an uncertain reading by simple acceptance, for its probability, and the uncertainty.
    pub(super) fn conformity(&mut self, comparison: &'x Expr) -> Option<(Decision, Uncertainty)> {
        let uncertainty = self.uncertainty(comparison.looks_at())?;
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
        Some((decision, uncertainty))
    }

    /// The uncertainty of a recorded value: the one that it states, else that of its instrument. Of the
    /// difference of two, that of both together, as of independent readings (JCGM 100, 5.1.2).
    fn uncertainty(&mut self, path: &'x Expr) -> Option<Uncertainty> {
        if let ExprKind::Arithmetic(Arithmetic::Subtract, left, right) = &path.kind {
            return match (self.uncertainty(left), self.uncertainty(right)) {
                (Some(one), Some(other)) => together(&one, &other),
                (one, other) => one.or(other),
            };
        }
        let ExprKind::Field { base, index, .. } = &path.kind else { return None };
        let node = self.node(path).ok()?;
        match &self.doc(node).node(node.node).kind {
            NodeKind::Scalar { value: Bound::Value(Value::Reading(reading)), .. } => Some(Uncertainty {
                expanded: reading.expanded.clone(),
                coverage: reading.coverage.clone(),
                from: "stated with the reading",
            }),
            NodeKind::Scalar { value: Bound::Value(Value::Quantity(value)), .. } => {
                let Type::Record(record) = &base.ty else { return None };
                let measured = record.fields.get(usize::from(*index))?.measured.as_ref()?;
                let from = self.node(base).ok()?;
                let (number, link) = record.link("instrument")?;
                let written = self.given.is_some().then(|| self.doc(from).field(from.node, number)).flatten();
                let tool = match written {
                    Some(node) => from.beside(node),
                    None => self.around.follow(link, from).ok()?,
                };
                self.of_tool(tool, measured, value)
            }
            _ => None,
        }
    }

    /// The uncertainty that the register states of a tool or, for a torque tool of known type and class,
    /// the one that follows from its permissible deviation (ISO 6789-1).
    fn of_tool(&self, tool: Spot, group: &str, value: &Quantity) -> Option<Uncertainty> {
        let document = self.doc(tool);
        let group = document.get(tool.node, group)?;
        let in_group = |field: &str| document.get(group, field).and_then(|node| document.value(node));
        if let Some((expanded, coverage)) = stated(document, group) {
            // Of readings in °C it is told in °C too.
            let expanded = match value.unit().filter(|unit| unit.kind().is_point()) {
                Some(unit) => expanded.in_unit(unit.difference()),
                None => expanded,
            };
            return Some(Uncertainty { expanded, coverage, from: "stated in the tool register" });
        }
        let word = |field: &str| document.get(tool.node, field).and_then(|node| document.raw(node));
        let kind = match word("type")? {
            "indicating" => "I",
            "setting" => "II",
            _ => return None,
        };
        let Some(Value::Range(range)) = in_group("range") else { return None };
        let mut working = Working::none();
        let greatest = &range.high()?.value;
        let permissible =
            torque_tool::permissible_deviation(kind, word("class")?, greatest, &mut working).ok()?;
        let standard = torque_tool::standard_uncertainty(value, &permissible, &mut working).ok()?;
        let coverage = Reading::usual_coverage();
        let expanded = standard.mul(&Quantity::from(coverage.clone())).ok()?;
        let from = "from the permissible deviation of the tool's type and class (ISO 6789-1)";
        Some(Uncertainty { expanded: expanded.in_unit_of(value), coverage, from })
    }
}

/// The uncertainty of the difference of two independent readings.
fn together(one: &Uncertainty, other: &Uncertainty) -> Option<Uncertainty> {
    let standard = |of: &Uncertainty| of.expanded.div(&Quantity::from(of.coverage.clone())).ok();
    let (a, b) = (standard(one)?, standard(other)?);
    let known = |standard| Component { standard, freedom: f64::INFINITY };
    let (combined, _) = uncertainty::combined(&[known(&a), known(&b)]).ok()?;
    let coverage = Reading::usual_coverage();
    let expanded = combined.mul(&Quantity::from(coverage.clone())).ok()?;
    Some(Uncertainty {
        expanded: expanded.in_unit_of(&one.expanded),
        coverage,
        from: "of both readings together",
    })
}

/// The expanded uncertainty that a tool states for what it measures, with its coverage factor.
pub fn stated(document: &Document<'_>, group: NodeId) -> Option<(Quantity, Number)> {
    let quantity = |field: &str| match document.value(document.get(group, field)?)? {
        Value::Quantity(quantity) => Some(quantity.clone()),
        _ => None,
    };
    let coverage = quantity("coverage").map(|coverage| coverage.base());
    Some((quantity("uncertainty")?, coverage.unwrap_or_else(Reading::usual_coverage)))
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
