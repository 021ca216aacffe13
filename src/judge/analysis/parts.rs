//! Parts of conditions and demands that are never true, or always.

use super::Bench;
use super::encode::{Env, Want};
use super::formula::Formula;
use super::scene::Scene;
use super::solve::Solver;
use super::term::{Node, Sort, Term};
use crate::code::{
    ANALYSIS_ALWAYS_TRUE, ANALYSIS_CONSTANT, ANALYSIS_NEVER_BROKEN, ANALYSIS_NEVER_MET, ANALYSIS_NEVER_TRUE,
};
use crate::diagnostic::Diagnostic;
use crate::language::ast::Logic;
use crate::language::typed::{Concerns, Expr, ExprKind};

/// Where a part is.
#[derive(Clone)]
struct Here<'p> {
    env: Env,
    entries: Vec<(Term, Term)>,
    context: Vec<Formula<'p>>,
    /// Whether it chooses what is judged, and is no demand.
    chooses: bool,
}

impl<'p> Here<'p> {
    fn and(&self, more: Formula<'p>) -> Here<'p> {
        let mut inner = self.clone();
        inner.context.push(more);
        inner
    }
}

struct Look<'l, 'p> {
    bench: &'l Bench<'p>,
    solver: &'l mut Solver<'p>,
    found: &'l mut Vec<Diagnostic>,
}

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    let mut look = Look { bench, solver, found };
    let mut here = Here {
        env: scene.env,
        entries: scene.entries.clone(),
        context: vec![scene.applies.clone()],
        chooses: true,
    };
    match &scene.rule.concerns {
        Concerns::Document(condition) => {
            condition.iter().for_each(|condition| look.part(condition, &here));
        }
        Concerns::Each(nested) => {
            for each in nested {
                if let Some(condition) = &each.condition {
                    look.part(condition, &here);
                    let holds = look.solver.encoder.truth(condition, &here.env, Want::Yes);
                    here = here.and(holds);
                }
            }
        }
    }
    let here = Here { context: scene.context().to_vec(), chooses: false, ..here };
    for demand in &scene.demands {
        let whole = [ANALYSIS_NEVER_MET, ANALYSIS_NEVER_BROKEN, ANALYSIS_CONSTANT];
        let is_told =
            |known: &Diagnostic| whole.contains(&known.code) && known.place() == Some(demand.expr.place);
        if !look.found.iter().any(is_told) {
            look.part(demand.expr, &here);
        }
    }
}

impl<'p> Look<'_, 'p> {
    fn never(&mut self, here: &Here<'p>, more: Formula<'p>) -> bool {
        let wanted: Vec<_> = here.context.iter().cloned().chain([more]).collect();
        self.solver.never(&here.entries, &wanted)
    }

    fn truth(&mut self, expr: &'p Expr, here: &Here<'p>, want: Want) -> Formula<'p> {
        self.solver.encoder.begin();
        self.solver.encoder.truth(expr, &here.env, want)
    }

    fn part(&mut self, expr: &'p Expr, here: &Here<'p>) {
        match &expr.kind {
            ExprKind::Logic(logic, left, right) => self.sides(*logic, left, right, here),
            ExprKind::Decided(_, inner) => self.part(inner, here),
            ExprKind::Not(inner) => self.part(inner, here),
            ExprKind::Quantified { slot, list, condition, body, .. } => {
                let inner = self.among(*slot, list, condition.as_deref(), here);
                self.part(body, &inner);
            }
            ExprKind::Aggregate { slot: Some(slot), list, condition, .. } => {
                self.among(*slot, list, condition.as_deref(), here);
            }
            ExprKind::Let(..) | ExprKind::Cases(_) | ExprKind::Timed(_) => {}
            ExprKind::Compare(..) | ExprKind::Within(..) | ExprKind::OneOf { .. }
                if self.is_constant(expr, here) =>
            {
                let message = format!(
                    "`{}` reads nothing of the document and is always the same",
                    self.bench.said(expr.place)
                );
                let help = "compare a value of the document with the limit, or take it out";
                self.found.push(Diagnostic::advice(ANALYSIS_CONSTANT, expr.place, message).help(help));
            }
            _ => {
                let mut parts = Vec::new();
                expr.for_each_part(&mut |part| parts.push(part));
                parts.into_iter().for_each(|part| self.part(part, here));
            }
        }
    }

    /// Whether a comparison comes out the same whatever the document is.
    fn is_constant(&mut self, expr: &'p Expr, here: &Here<'p>) -> bool {
        self.solver.encoder.begin();
        let term = self.solver.encoder.term(expr, &here.env);
        if self.solver.encoder.terms.reads_document(term) {
            return false;
        }
        let [yes, no] = [Want::Yes, Want::No].map(|want| self.truth(expr, here, want));
        let entries = &here.entries;
        self.solver.never(entries, &[yes]) || self.solver.never(entries, &[no])
    }

    fn sides(&mut self, logic: Logic, left: &'p Expr, right: &'p Expr, here: &Here<'p>) {
        let never = |look: &mut Self, side, here: &Here<'p>| {
            let holds = look.truth(side, here, Want::Yes);
            look.never(here, holds)
        };
        match logic {
            Logic::Or => {
                for side in [left, right] {
                    match never(self, side, here) {
                        true => self.never_true(side, here, "this side of `or`"),
                        false => self.part(side, here),
                    }
                }
            }
            Logic::And => {
                self.part(left, here);
                let holds = self.truth(left, here, Want::Yes);
                let inner = here.and(holds);
                self.part(right, &inner);
            }
            Logic::Implies => match never(self, left, here) {
                true => self.never_true(left, here, "this premise"),
                false => {
                    self.part(left, here);
                    let holds = self.truth(left, here, Want::Yes);
                    let inner = here.and(holds);
                    self.always(left, here);
                    self.part(right, &inner);
                }
            },
        }
    }

    /// A premise that always holds says nothing.
    fn always(&mut self, side: &'p Expr, here: &Here<'p>) {
        let parts = [self.truth(side, here, Want::No), self.truth(side, here, Want::Open)];
        let not = Formula::any(parts);
        if self.never(here, not) {
            let message = format!("`{}` is always true here", self.bench.said(side.place));
            let help = "take the condition out, or correct it";
            self.found.push(Diagnostic::advice(ANALYSIS_ALWAYS_TRUE, side.place, message).help(help));
        }
    }

    fn never_true(&mut self, side: &Expr, here: &Here<'p>, what: &str) {
        let so = match here.chooses {
            true => format!("so {what} concerns nothing"),
            false => format!("so {what} asks for nothing"),
        };
        let message = format!("`{}` can never be true, {so}", self.bench.said(side.place));
        let help = "correct it, or take it out";
        self.found.push(Diagnostic::advice(ANALYSIS_NEVER_TRUE, side.place, message).help(help));
    }

    /// The entries of which something is said.
    fn among(
        &mut self,
        slot: usize,
        list: &'p Expr,
        condition: Option<&'p Expr>,
        here: &Here<'p>,
    ) -> Here<'p> {
        self.solver.encoder.begin();
        let list = self.solver.encoder.term(list, &here.env);
        let number = u32::try_from(500 + here.entries.len()).unwrap_or(u32::MAX);
        let entry = self.solver.encoder.terms.add(Node::Entry(list, number), Sort::Group);
        let mut inner = here.clone();
        inner.env.set(slot, entry);
        inner.entries.push((list, entry));
        let Some(condition) = condition else { return inner };
        inner.chooses = true;
        let holds = self.truth(condition, &inner, Want::Yes);
        match self.never(&inner, holds.clone()) {
            true => self.never_true(condition, &inner, "it"),
            false => self.part(condition, &inner),
        }
        Here { chooses: here.chooses, ..inner.and(holds) }
    }
}
