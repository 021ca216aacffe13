//! Demands that guard against uncertain readings and read none that can be uncertain.

use super::Bench;
use super::scene::Scene;
use super::solve::Solver;
use super::walk::walk;
use crate::code::ANALYSIS_NOTHING_GUARDED;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Kind;

pub(super) fn look<'p>(
    _bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    for demand in &scene.demands {
        let ExprKind::Decided(rule, _) = &demand.expr.kind else { continue };
        if *rule == DecisionRule::Simple {
            continue;
        }
        let mut can_be = false;
        solver.encoder.begin();
        walk(&mut solver.encoder, demand.expr, &scene.env, &mut |_, part, _| {
            can_be |= can_be_uncertain(part)
        });
        // What was not looked at can be anything.
        if !can_be && solver.encoder.has_steps() {
            let message =
                format!("no value in this demand can have an uncertainty, so `by {rule}` does nothing");
            let help = "take it out, or look whether another value is meant";
            found.push(Diagnostic::advice(ANALYSIS_NOTHING_GUARDED, demand.expr.place, message).help(help));
        }
    }
}

/// Whether a part is a reading as documents record it.
fn can_be_uncertain(part: &Expr) -> bool {
    let is_reading = match &part.ty {
        Type::Quantity(kind) => *kind != Kind::NUMBER,
        Type::Log(..) => true,
        _ => false,
    };
    is_reading && matches!(part.kind, ExprKind::Field { .. } | ExprKind::Variable(_) | ExprKind::Link { .. })
}
