//! Two subjects of one list: the same entry twice, and pairs that are judged both ways round.

use super::Bench;
use super::encode::{Env, Want};
use super::formula::Formula;
use super::scene::Scene;
use super::solve::{Found, Solver};
use super::term::Term;
use super::witness::{broken_on, document_of};
use crate::code::{ANALYSIS_PAIR_TWICE, ANALYSIS_SAME_ENTRY};
use crate::diagnostic::Diagnostic;
use crate::document::Shape;
use crate::language::typed::{Concerns, Each, Expr};
use crate::language::types::Type;
use crate::source::Place;

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    let Concerns::Each(nested) = &scene.rule.concerns else { return };
    if nested.iter().any(|each| !each.keys.is_empty() || each.count.is_some()) {
        return;
    }
    for (at, later) in nested.iter().enumerate() {
        for (before, earlier) in nested.iter().enumerate().take(at) {
            let lists = scene.entries.get(at).zip(scene.entries.get(before));
            if lists.is_none_or(|(first, second)| first.0 != second.0) {
                continue;
            }
            let pair = Pair { bench, scene, earlier, later };
            if let Some(demand) = pair.broken_by_one(solver) {
                found.push(pair.same_entry(demand));
            } else if nested.len() == 2 && pair.is_symmetric(solver) {
                found.push(pair.twice());
            }
            return;
        }
    }
}

struct Pair<'l, 'p> {
    bench: &'l Bench<'p>,
    scene: &'l Scene<'p>,
    earlier: &'p Each,
    later: &'p Each,
}

impl<'p> Pair<'_, 'p> {
    /// A demand that an entry breaks together with itself, whatever the entry is.
    fn broken_by_one(&self, solver: &mut Solver<'p>) -> Option<&'p Expr> {
        let scene = self.scene;
        let one = scene.env.slot(self.earlier.slot)?;
        let env = scene.env.with(self.later.slot, one);
        let mut context = vec![scene.applies.clone()];
        context.extend(self.conditions(solver, &env));
        let broken = scene.demands.iter().find(|demand| {
            solver.encoder.begin();
            let met = solver.encoder.truth(demand.expr, &env, Want::Yes);
            let broken = solver.encoder.truth(demand.expr, &env, Want::No);
            let with = |more: Formula<'p>| context.iter().cloned().chain([more]).collect::<Vec<_>>();
            let entries: Vec<(Term, Term)> = scene
                .entries
                .iter()
                .copied()
                .filter(|(_, entry)| Some(*entry) != scene.env.slot(self.later.slot))
                .collect();
            // With two entries it can be met.
            solver.never(&entries, &with(met))
                && !scene.never(solver, [demand.met.clone()])
                && self.is_broken(solver, &entries, &with(broken), demand.expr)
        });
        broken.map(|demand| demand.expr)
    }

    /// Whether there is a document in which one entry breaks the demand together with itself, as the evaluator says.
    fn is_broken(
        &self,
        solver: &mut Solver<'p>,
        entries: &[(Term, Term)],
        wanted: &[Formula<'p>],
        demand: &Expr,
    ) -> bool {
        let Found::Solution(solution) = solver.find(entries, wanted) else { return false };
        let text = document_of(&solver.encoder.terms, &solution);
        let came = text.and_then(|text| broken_on(self.bench, self.scene, &text, &[demand]));
        came.is_some_and(|came| came == [true])
    }

    fn conditions(&self, solver: &mut Solver<'p>, env: &Env) -> Vec<Formula<'p>> {
        let Concerns::Each(nested) = &self.scene.rule.concerns else { return Vec::new() };
        solver.encoder.begin();
        let conditions = nested.iter().filter_map(|each| each.condition.as_ref());
        conditions.map(|condition| solver.encoder.truth(condition, env, Want::Yes)).collect()
    }

    fn place(&self) -> Place {
        Place { span: self.later.span, ..self.scene.rule.name_place }
    }

    fn narrow(&self) -> String {
        let (a, b, list) = (&self.earlier.variable, &self.later.variable, self.list());
        match self.has_order() {
            true => format!("narrow one of them, such as `each {b} in {list} where {a} before {b}`"),
            false => {
                format!("count them instead, such as `demands (count of {b} in {list} where …) at most 1`")
            }
        }
    }

    /// Whether entries of the list say when they were, so that one can be before another.
    fn has_order(&self) -> bool {
        match &self.later.list.ty {
            Type::List(shape) => matches!(&**shape, Shape::Record(record) if record.when.is_some()),
            _ => false,
        }
    }

    fn list(&self) -> String {
        self.bench.said(self.later.list.place)
    }

    fn same_entry(&self, demand: &Expr) -> Diagnostic {
        let (a, b) = (&self.earlier.variable, &self.later.variable);
        let message = format!(
            "`{a}` and `{b}` can be the same entry of `{}`, and then this is always broken: every document with such an \
             entry fails",
            self.list()
        );
        Diagnostic::error(ANALYSIS_SAME_ENTRY, demand.place, message)
            .and_at(self.place(), "the second of the two")
            .help(self.narrow())
    }

    /// Whether all that is asked is the same with the two exchanged.
    fn is_symmetric(&self, solver: &mut Solver<'p>) -> bool {
        let env = &self.scene.env;
        let pair = env.slot(self.earlier.slot).zip(env.slot(self.later.slot));
        let Some((one, other)) = pair else { return false };
        let turned = env.with(self.earlier.slot, other).with(self.later.slot, one);
        let known = self.asked(solver, env);
        known == self.asked(solver, &turned)
    }

    fn asked(&self, solver: &mut Solver<'p>, env: &Env) -> Vec<Term> {
        solver.encoder.begin();
        let Concerns::Each(nested) = &self.scene.rule.concerns else { return Vec::new() };
        let conditions = nested.iter().filter_map(|each| each.condition.as_ref());
        let mut asked: Vec<Term> =
            conditions.chain(&self.scene.rule.demands).map(|expr| solver.encoder.term(expr, env)).collect();
        asked.sort_unstable();
        asked
    }

    fn twice(&self) -> Diagnostic {
        let (a, b) = (&self.earlier.variable, &self.later.variable);
        let message = format!(
            "each pair of `{a}` and `{b}` is judged twice, the second time the other way round, and each entry with itself"
        );
        Diagnostic::advice(ANALYSIS_PAIR_TWICE, self.place(), message).help(self.narrow())
    }
}
