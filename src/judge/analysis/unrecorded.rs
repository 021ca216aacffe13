//! A clause about what is not recorded, in a rule that reads nothing which can be unrecorded.

use super::Bench;
use super::encode::{Env, Want};
use super::formula::Formula;
use super::scene::Scene;
use super::solve::Solver;
use super::walk::walk;
use crate::code::ANALYSIS_DEAD_CLAUSE;
use crate::diagnostic::Diagnostic;
use crate::language::ast::Unrecorded;
use crate::language::typed::{Concerns, ExprKind};
use crate::source::Place;

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    let Some(place) = scene.rule.unrecorded_at else { return };
    if !concern_is_known(solver, scene) {
        return;
    }
    for demand in &scene.demands {
        solver.encoder.begin();
        let open = solver.encoder.truth(demand.expr, &scene.env, Want::Unrecorded);
        if !scene.never(solver, [open]) {
            return;
        }
    }
    let table = table_in(bench, solver, scene);
    let so = match (scene.rule.unrecorded, table) {
        (Unrecorded::Pass, Some(table)) => format!(
            "so this clause lets nothing pass; a name without a row in `{table}` is undecided all the same"
        ),
        (Unrecorded::Pass, None) => "so this clause lets nothing pass".to_owned(),
        (Unrecorded::As(_), _) => "so this clause never counts".to_owned(),
    };
    let message = format!("nothing that this rule reads can be unrecorded where it judges, {so}");
    let diagnostic = Diagnostic::advice(ANALYSIS_DEAD_CLAUSE, place, message).help("take the clause out");
    let concerns = match &scene.rule.concerns {
        Concerns::Document(condition) => condition.as_ref().map(|condition| condition.place),
        Concerns::Each(nested) => nested.first().map(|each| Place { span: each.span, ..scene.rule.place }),
    };
    found.push(match concerns {
        Some(concerns) => diagnostic.and_at(concerns, "what it judges"),
        None => diagnostic,
    });
}

/// Whether it is never open for want of a record what the rule concerns.
fn concern_is_known<'p>(solver: &mut Solver<'p>, scene: &Scene<'p>) -> bool {
    let mut so_far = vec![scene.applies.clone()];
    let mut known = |solver: &mut Solver<'p>, condition, env: &Env| {
        solver.encoder.begin();
        let open = solver.encoder.truth(condition, env, Want::Unrecorded);
        let wanted: Vec<Formula<'p>> = so_far.iter().cloned().chain([open]).collect();
        let never = solver.never(&scene.entries, &wanted);
        so_far.push(solver.encoder.truth(condition, env, Want::Yes));
        never
    };
    if let Some(period) = &scene.rule.period
        && !known(solver, period, &scene.env)
    {
        return false;
    }
    match &scene.rule.concerns {
        Concerns::Document(condition) => {
            condition.iter().all(|condition| known(solver, condition, &scene.env))
        }
        // A list that is not recorded, and a group whose key is not, leave a number of subjects open.
        Concerns::Each(nested) => nested.iter().all(|each| {
            let plain = each.count.is_none() && each.keys.is_empty();
            plain && each.condition.iter().all(|condition| known(solver, condition, &scene.env))
        }),
    }
}

/// The first table that the demands look something up in.
fn table_in<'p>(bench: &Bench<'p>, solver: &mut Solver<'p>, scene: &Scene<'p>) -> Option<String> {
    let mut found = None;
    for demand in &scene.demands {
        walk(&mut solver.encoder, demand.expr, &scene.env, &mut |_, part, _| {
            if let ExprKind::Lookup { table, .. } = &part.kind {
                found.get_or_insert_with(|| bench.program.tables()[*table].name.clone());
            }
        });
    }
    found
}
