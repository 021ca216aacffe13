//! Computations that have no answer with what is stated for a parameter.

use super::Bench;
use super::scene::Scene;
use super::solve::Solver;
use super::walk::walk;
use crate::code::ANALYSIS_NO_ANSWER;
use crate::diagnostic::Diagnostic;
use crate::language::ids::ParameterId;
use crate::language::typed::{Expr, ExprKind, Program};
use crate::metrology::Working;
use crate::value::Value;

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    for demand in &scene.demands {
        let mut faulty: Option<(&'p Expr, ParameterId, String)> = None;
        solver.encoder.begin();
        walk(&mut solver.encoder, demand.expr, &scene.env, &mut |_, part, _| {
            if faulty.is_none() {
                faulty = without_answer(bench.program, part).map(|(id, why)| (part, id, why));
            }
        });
        let Some((part, id, why)) = faulty else { continue };
        let parameter = &bench.program.parameters()[id];
        let name = parameter.name.rsplit('.').next().unwrap_or_default();
        let stated = match parameter.value() {
            Some(Value::Range(range)) => range.to_string(),
            Some(Value::Quantity(quantity)) => quantity.to_string(),
            _ => String::new(),
        };
        let message = format!(
            "`{}` has no answer with `{name}` as it is stated ({stated}): {why}; so a demand that needs it is undecided for \
             every document",
            bench.said(part.place)
        );
        let diagnostic = Diagnostic::advice(ANALYSIS_NO_ANSWER, demand.expr.place, message);
        let help = "state a value with which there is an answer, or ask first";
        found.push(diagnostic.and_at(parameter.place, "the parameter").help(help));
    }
}

/// The parameter with whose value a builtin has no answer, and why.
fn without_answer(program: &Program, expr: &Expr) -> Option<(ParameterId, String)> {
    let ExprKind::Call { builtin, arguments } = &expr.kind else { return None };
    let mut parameter = None;
    let values: Option<Vec<Value<'static>>> = arguments
        .iter()
        .map(|argument| match &argument.kind {
            ExprKind::Constant(value) => Some(value.clone()),
            ExprKind::Parameter(id, None) => {
                parameter = Some(*id);
                program.parameters()[*id].value().cloned()
            }
            _ => None,
        })
        .collect();
    let fault = (builtin.function)(&values?, &mut Working::none()).err()?;
    Some((parameter?, fault.message))
}
