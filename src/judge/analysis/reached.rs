//! Cases of named values that never count, because one above them holds wherever they do.

use std::collections::HashSet;

use super::Bench;
use super::encode::{Env, Want};
use super::formula::Formula;
use super::solve::Solver;
use super::term::{Node, ROOT, Sort, Term};
use crate::code::ANALYSIS_NEVER_TRUE;
use crate::diagnostic::Diagnostic;
use crate::language::ast::Case;
use crate::language::typed::{Expr, ExprKind, Of};
use crate::source::SourceId;

/// How many cases of one name are looked at; each is held against all above it.
const MOST_CASES: usize = 60;

pub(super) fn look<'p>(bench: &Bench<'p>, solver: &mut Solver<'p>, found: &mut Vec<Diagnostic>) {
    let judges: HashSet<SourceId> =
        bench.program.standards().iter().map(|standard| standard.place.source).collect();
    for definition in bench.program.lets().all() {
        let ExprKind::Cases(cases) = &definition.value.kind else { continue };
        if !judges.contains(&definition.place.source) {
            continue;
        }
        // Whatever the variables of a rule stand for, they are entries of which nothing is known.
        let mut env = Env::default();
        let mut entries = Vec::new();
        if !matches!(definition.of, Of::Document) {
            for slot in 0..crate::language::typed::VARIABLES {
                let number = u32::try_from(slot).unwrap_or_default();
                let entry = solver.encoder.terms.add(Node::Entry(ROOT, 700 + number), Sort::Group);
                env.set(slot, entry);
                entries.push((ROOT, entry));
            }
        }
        found.extend(never_counts(solver, &entries, &env, cases).map(|condition| told(bench, condition)));
    }
}

/// The condition of the first case that never counts.
fn never_counts<'p>(
    solver: &mut Solver<'p>,
    entries: &[(Term, Term)],
    env: &Env,
    cases: &'p [Case<Expr>],
) -> Option<&'p Expr> {
    solver.encoder.begin();
    let mut above: Vec<Formula<'p>> = Vec::new();
    for condition in cases.iter().take(MOST_CASES).filter_map(|case| case.condition.as_ref()) {
        let holds = solver.encoder.truth(condition, env, Want::Yes);
        let wanted: Vec<Formula<'p>> = above.iter().cloned().chain([holds]).collect();
        if solver.never(entries, &wanted) {
            return Some(condition);
        }
        above.push(solver.encoder.truth(condition, env, Want::No));
    }
    None
}

fn told(bench: &Bench<'_>, condition: &Expr) -> Diagnostic {
    let said = bench.said(condition.place);
    let message =
        format!("this case never counts: where `{said}`, a case above it holds already, or it never holds");
    Diagnostic::advice(ANALYSIS_NEVER_TRUE, condition.place, message)
        .help("put the narrower case first, correct its condition, or take it out")
}
