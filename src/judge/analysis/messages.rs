//! Messages that show a value which is never there when they are given.

use super::Bench;
use super::encode::Want;
use super::formula::{Formula, States};
use super::scene::Scene;
use super::solve::Solver;
use super::term::Node;
use crate::code::ANALYSIS_MESSAGE_EMPTY;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Expr, Part};

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    let mut findings = None;
    for part in &scene.rule.message {
        let Part::Value(value) = part else { continue };
        let findings = findings.get_or_insert_with(|| not_met(solver, scene)).clone();
        // A message that is never given is another matter.
        if scene.never(solver, [findings.clone()]) {
            return;
        }
        solver.encoder.begin();
        let term = solver.encoder.term(value, &scene.env);
        if !matches!(solver.encoder.terms.node(term), Node::Field(..) | Node::Link(..)) {
            continue;
        }
        let is_there = Formula::state(term, States::RECORDED.or(States::DOUBTFUL));
        if scene.never(solver, [is_there, findings]) {
            found.push(empty(bench, scene, value));
        }
    }
}

/// What must be so for the rule to say anything of the entries that it concerns.
fn not_met<'p>(solver: &mut Solver<'p>, scene: &Scene<'p>) -> Formula<'p> {
    let each = scene.demands.iter().map(|demand| {
        let open = solver.encoder.truth(demand.expr, &scene.env, Want::Open);
        Formula::any([demand.broken.clone(), open])
    });
    Formula::any(each.collect::<Vec<_>>())
}

fn empty(bench: &Bench<'_>, scene: &Scene<'_>, value: &Expr) -> Diagnostic {
    let said = bench.said(value.place);
    let message = format!(
        "`{{{said}}}` is never there when this is said, so the message always shows \"(not recorded)\" in its place"
    );
    Diagnostic::advice(ANALYSIS_MESSAGE_EMPTY, value.place, message)
        .and_at(scene.rule.name_place, "the rule")
        .help("name a value that is recorded where the rule finds something, or say in words what is missing")
}
