//! Whether a change of a rule makes a difference that any document could show.

use super::encode::{Encoder, Env, Want};
use super::formula::Formula;
use super::scene::Scene;
use super::solve::Solver;
use super::term::{Node, ROOT, Sort, Term};
use crate::language::ids::RuleId;
use crate::language::mutants::{Mutant, Part, Spot};
use crate::language::typed::{Concerns, Expr, ExprKind, Of, Program, VARIABLES};
use crate::language::types::Type;

/// Whether no document tells a program from the same with a change made in it. What cannot be told counts as a difference.
#[must_use]
pub fn makes_no_difference(program: &Program, changed: &Program, mutant: &Mutant) -> bool {
    let mut solver = Solver::new(Encoder::new(program));
    let solver = &mut solver;
    match mutant.part() {
        Part::Other => false,
        Part::Demand(rule, number) => demand_says_nothing(solver, program, rule, number),
        Part::Condition(spot) => {
            let Some(here) = Here::of(solver, program, spot) else { return false };
            let was = program.expression(spot);
            here.same(solver, was, changed.expression(spot))
        }
        Part::Of(spot, number) => {
            let Some(here) = Here::of(solver, program, spot) else { return false };
            let (Some(was), Some(is)) = (program.expression(spot), changed.expression(spot)) else {
                return false;
            };
            here.same_below(solver, was, is, number)
        }
    }
}

/// Whether whatever breaks a demand, or leaves it open, does so with another one of the rule as well.
fn demand_says_nothing<'p>(
    solver: &mut Solver<'p>,
    program: &'p Program,
    rule: RuleId,
    number: usize,
) -> bool {
    let Some(scene) = scene_of(solver, program, rule) else { return false };
    let Some(demand) = scene.rule.demands.get(number) else { return false };
    let mut never = |wants: &[Want], own: Want| {
        let others = scene.rule.demands.iter().enumerate().filter(|(other, _)| *other != number);
        let mut wanted = scene.context().to_vec();
        for (_, other) in others {
            solver.encoder.begin();
            let is = wants.iter().map(|want| solver.encoder.truth(other, &scene.env, *want));
            wanted.push(Formula::any(is.collect::<Vec<_>>()));
        }
        wanted.push(solver.encoder.truth(demand, &scene.env, own));
        solver.never(&scene.entries, &wanted)
    };
    never(&[Want::Yes, Want::Open], Want::No) && never(&[Want::Yes], Want::Open)
}

fn scene_of<'p>(solver: &mut Solver<'p>, program: &'p Program, id: RuleId) -> Option<Scene<'p>> {
    let standard = program
        .standards()
        .iter()
        .find(|standard| program.all_rules_of(standard).any(|(other, _)| other == id))?;
    Some(Scene::of(solver, standard, id, &program.rules()[id]))
}

/// What is known where an expression counts.
#[derive(Clone)]
struct Here<'p> {
    env: Env,
    entries: Vec<(Term, Term)>,
    context: Vec<Formula<'p>>,
}

impl<'p> Here<'p> {
    fn of(solver: &mut Solver<'p>, program: &'p Program, spot: Spot) -> Option<Here<'p>> {
        Some(match spot {
            Spot::Demand(rule, _) => {
                let scene = scene_of(solver, program, rule)?;
                Here { env: scene.env, context: scene.context().to_vec(), entries: scene.entries }
            }
            Spot::Concern(rule, number) => {
                let scene = scene_of(solver, program, rule)?;
                let mut context = vec![scene.applies.clone()];
                if let Concerns::Each(nested) = &scene.rule.concerns {
                    for condition in nested.iter().take(number).filter_map(|each| each.condition.as_ref()) {
                        context.push(solver.encoder.truth(condition, &scene.env, Want::Yes));
                    }
                }
                Here { env: scene.env, entries: scene.entries, context }
            }
            Spot::Period(_) | Spot::Standard(_) => {
                Here { env: Env::default(), entries: Vec::new(), context: Vec::new() }
            }
            Spot::Let(id) => {
                let (mut env, mut entries) = (Env::default(), Vec::new());
                if !matches!(program.lets()[id].of, Of::Document) {
                    for slot in 0..VARIABLES {
                        let number = u32::try_from(slot).unwrap_or_default();
                        let entry = solver.encoder.terms.add(Node::Entry(ROOT, 700 + number), Sort::Group);
                        env.set(slot, entry);
                        entries.push((ROOT, entry));
                    }
                }
                Here { env, entries, context: Vec::new() }
            }
        })
    }

    /// Whether two expressions come out the same: the smallest part that holds the change is asked first, where it counts
    /// for the whole, and then what holds that.
    fn same_below(&self, solver: &mut Solver<'p>, was: &'p Expr, is: &'p Expr, number: usize) -> bool {
        let Some(inside) = number.checked_sub(1) else { return self.same(solver, Some(was), Some(is)) };
        let (mut parts, mut others) = (Vec::new(), Vec::new());
        was.for_each_part(&mut |part| parts.push(part));
        is.for_each_part(&mut |part| others.push(part));
        let mut left = inside;
        for (at, (part, other)) in parts.iter().zip(&others).enumerate() {
            let size = size(part);
            if left < size {
                let inner = self.inside(solver, was, at);
                return inner.is_some_and(|inner| inner.same_below(solver, part, other, left))
                    || self.same(solver, Some(was), Some(is));
            }
            left -= size;
        }
        false
    }

    /// What is known where a part of an expression counts for it; nothing where that is not looked into.
    fn inside(&self, solver: &mut Solver<'p>, whole: &'p Expr, part: usize) -> Option<Here<'p>> {
        let mut inner = self.clone();
        match &whole.kind {
            ExprKind::Not(_) | ExprKind::Decided(..) => {}
            ExprKind::Logic(logic, left, right) => {
                use crate::language::ast::Logic;
                let beside = if part == 0 { right } else { left };
                // With this the other side settles the whole.
                let settles = match (logic, part) {
                    (Logic::And, _) | (Logic::Implies, 1) => Want::No,
                    _ => Want::Yes,
                };
                let wants = [Want::Yes, Want::No, Want::Open].into_iter().filter(|want| *want != settles);
                solver.encoder.begin();
                let open: Vec<_> = wants.map(|want| solver.encoder.truth(beside, &self.env, want)).collect();
                inner.context.push(Formula::any(open));
            }
            ExprKind::Quantified { slot, list, condition, .. } if part > 0 => {
                solver.encoder.begin();
                let list = solver.encoder.term(list, &self.env);
                let number = u32::try_from(600 + self.entries.len()).unwrap_or(u32::MAX);
                let entry = solver.encoder.terms.add(Node::Entry(list, number), Sort::Group);
                inner.env.set(*slot, entry);
                inner.entries.push((list, entry));
                if let (Some(condition), 2) = (condition, part) {
                    let counts =
                        [Want::Yes, Want::Open].map(|want| solver.encoder.truth(condition, &inner.env, want));
                    inner.context.push(Formula::any(counts));
                }
            }
            // A case counts only where it is reached, which is left aside: it is asked for everywhere.
            ExprKind::Cases(_) => {}
            _ => return None,
        }
        Some(inner)
    }

    /// Whether two conditions come out the same wherever they count; one that is not there always holds.
    fn same(&self, solver: &mut Solver<'p>, was: Option<&'p Expr>, is: Option<&'p Expr>) -> bool {
        let is_truth = |side: Option<&Expr>| side.is_none_or(|side| matches!(side.ty, Type::Truth));
        if !is_truth(was) || !is_truth(is) {
            return false;
        }
        const WANTS: [Want; 3] = [Want::Yes, Want::No, Want::Open];
        WANTS.into_iter().all(|one| {
            WANTS.into_iter().filter(|other| *other != one).all(|other| {
                let mut wanted = self.context.clone();
                for (side, want) in [(was, one), (is, other)] {
                    solver.encoder.begin();
                    wanted.push(match side {
                        Some(side) => solver.encoder.truth(side, &self.env, want),
                        None if want == Want::Yes => Formula::Always,
                        None => Formula::Never,
                    });
                }
                solver.never(&self.entries, &wanted)
            })
        })
    }
}

/// Of how many parts an expression is made, with itself.
fn size(expr: &Expr) -> usize {
    let mut parts = 1;
    expr.for_each_part(&mut |part| parts += size(part));
    parts
}
