//! Numbers of subjects that do not go together.

use super::Bench;
use super::encode::{Env, Want};
use super::scene::Scene;
use super::solve::Solver;
use super::term::{Node, Sort, Term};
use crate::code::ANALYSIS_CONTRADICTION;
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Aggregate, Comparison, Count, Quantifier};
use crate::language::typed::{Concerns, Expr, ExprKind};
use crate::source::Place;
use crate::value::Value;

/// A number of entries that is asked for.
struct Counted<'s, 'p> {
    scene: &'s Scene<'p>,
    place: Place,
    list: Term,
    condition: Option<&'p Expr>,
    env: Env,
    least: u64,
    most: Option<u64>,
    /// Whether it is asked of every document of the standard.
    always: bool,
}

/// The number of the entry of which conditions are asked.
const ONE: u32 = 900;
/// How many pairs of numbers are looked at.
const MOST_PAIRS: usize = 5_000;

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scenes: &[Scene<'p>],
    found: &mut Vec<Diagnostic>,
) {
    let mut all: Vec<Counted<'_, 'p>> = Vec::new();
    for scene in scenes.iter().filter(|scene| scene.standard.in_force && scene.rule.left_out.is_none()) {
        subjects(solver, scene, &mut all);
        demands(solver, scene, &mut all);
    }
    let mut looked = 0;
    for (at, later) in all.iter().enumerate() {
        for earlier in all.iter().take(at).filter(|earlier| earlier.list == later.list) {
            for (more, fewer) in [(earlier, later), (later, earlier)] {
                let apart = fewer.most.is_some_and(|most| most < more.least);
                if apart && looked < MOST_PAIRS {
                    looked += 1;
                    found.extend(clash(bench, solver, [earlier, later], [more, fewer]));
                }
            }
        }
    }
}

/// Whoever counts as one of the more counts as one of the fewer: then there cannot be more of those.
fn clash<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    in_order: [&Counted<'_, 'p>; 2],
    [more, fewer]: [&Counted<'_, 'p>; 2],
) -> Option<Diagnostic> {
    if more.scene.is_perhaps_apart(fewer.scene) {
        return None;
    }
    solver.encoder.begin();
    let both = [more.scene.applies.clone(), fewer.scene.applies.clone()];
    let conditions = [more.scene.concerns.clone(), fewer.scene.concerns.clone()];
    let entries: Vec<(Term, Term)> = more.scene.entries.iter().chain(&fewer.scene.entries).copied().collect();
    let counts = more.condition.map(|condition| solver.encoder.truth(condition, &more.env, Want::Yes));
    let does_not = fewer.condition.map(|condition| solver.encoder.truth(condition, &fewer.env, Want::No));
    let is_part = match does_not {
        None => true,
        Some(does_not) => {
            let wanted: Vec<_> = both.iter().cloned().chain(counts).chain([does_not]).collect();
            solver.never(&[], &wanted)
        }
    };
    let together: Vec<_> = both.iter().cloned().chain(conditions).collect();
    if !is_part || solver.never(&entries, &together) {
        return None;
    }
    let [earlier, later] = in_order;
    let same_rule = earlier.scene.id == later.scene.id;
    let of = if same_rule { String::new() } else { format!(" in `{}`", earlier.scene.rule.name) };
    let (here, there) = (words(later), words(earlier));
    let always = earlier.always && later.always && std::ptr::eq(earlier.scene.standard, later.scene.standard);
    let message = match always {
        true => format!("{here} here, and {there}{of} of the same entries: no document meets both"),
        false => format!(
            "{here} here, and {there}{of} of the same entries: where both are asked, nothing meets both"
        ),
    };
    let diagnostic = match always {
        true => Diagnostic::error(ANALYSIS_CONTRADICTION, later.place, message),
        false => Diagnostic::advice(ANALYSIS_CONTRADICTION, later.place, message),
    };
    let list = bench.said(earlier.place);
    Some(diagnostic.and_at(earlier.place, format!("`{list}`")).help("correct one of the two numbers"))
}

fn words(counted: &Counted<'_, '_>) -> String {
    match (counted.least, counted.most) {
        (0, Some(0)) => "none".to_owned(),
        (0, Some(most)) => format!("at most {most}"),
        (least, None) => format!("at least {least}"),
        (least, Some(most)) if least == most => format!("exactly {least}"),
        (least, Some(most)) => format!("{least} to {most}"),
    }
}

fn subjects<'s, 'p>(solver: &mut Solver<'p>, scene: &'s Scene<'p>, all: &mut Vec<Counted<'s, 'p>>) {
    let Concerns::Each(nested) = &scene.rule.concerns else { return };
    // A number of inner entries is one for each of the outer ones.
    let Some(each) = nested.first() else { return };
    let (Some((count, span)), Some((list, _))) = (each.count, scene.entries.first()) else { return };
    if !each.keys.is_empty() {
        return;
    }
    let (least, most) = match count {
        Count::AtLeast(least) => (u64::from(least), None),
        Count::AtMost(most) => (0, Some(u64::from(most))),
        Count::Exactly(number) => (u64::from(number), Some(u64::from(number))),
    };
    let entry = solver.encoder.terms.add(Node::Entry(*list, ONE), Sort::Group);
    let env = Env::default().with(each.slot, entry);
    let place = Place { span, ..scene.rule.name_place };
    let always = scene.rule.period.is_none();
    all.push(Counted {
        scene,
        place,
        list: *list,
        condition: each.condition.as_ref(),
        env,
        least,
        most,
        always,
    });
}

fn demands<'s, 'p>(solver: &mut Solver<'p>, scene: &'s Scene<'p>, all: &mut Vec<Counted<'s, 'p>>) {
    for demand in &scene.demands {
        quantified(solver, scene, demand.expr, all);
        let ExprKind::Compare(comparison, counted, limit) = &demand.expr.kind else { continue };
        let ExprKind::Aggregate { aggregate: Aggregate::Count, slot, list, condition, .. } = &counted.kind
        else {
            continue;
        };
        let ExprKind::Constant(Value::Quantity(limit)) = &limit.kind else { continue };
        let Some(limit) = limit.base().to_u64() else { continue };
        let Some((least, most)) = bounds(*comparison, limit) else { continue };
        solver.encoder.begin();
        let list = solver.encoder.term(list, &scene.env);
        let entry = solver.encoder.terms.add(Node::Entry(list, ONE), Sort::Group);
        let env = slot.map_or(scene.env, |slot| scene.env.with(slot, entry));
        let condition = condition.as_deref();
        let always = matches!(scene.rule.concerns, Concerns::Document(None)) && scene.rule.period.is_none();
        let place = demand.expr.place;
        all.push(Counted { scene, place, list, condition, env, least, most, always });
    }
}

/// `no x in LIST: …` asks for none that is like that, `some` for one.
fn quantified<'s, 'p>(
    solver: &mut Solver<'p>,
    scene: &'s Scene<'p>,
    demand: &'p Expr,
    all: &mut Vec<Counted<'s, 'p>>,
) {
    let ExprKind::Quantified { quantifier, slot, list, condition: None, body } = &demand.kind else { return };
    let (least, most) = match quantifier {
        Quantifier::No => (0, Some(0)),
        Quantifier::Some => (1, None),
        Quantifier::Every => return,
    };
    solver.encoder.begin();
    let list = solver.encoder.term(list, &scene.env);
    let entry = solver.encoder.terms.add(Node::Entry(list, ONE), Sort::Group);
    let env = scene.env.with(*slot, entry);
    let always = matches!(scene.rule.concerns, Concerns::Document(None)) && scene.rule.period.is_none();
    all.push(Counted { scene, place: demand.place, list, condition: Some(body), env, least, most, always });
}

fn bounds(comparison: Comparison, limit: u64) -> Option<(u64, Option<u64>)> {
    Some(match comparison {
        Comparison::Is => (limit, Some(limit)),
        Comparison::AtLeast => (limit, None),
        Comparison::Above => (limit.checked_add(1)?, None),
        Comparison::AtMost => (0, Some(limit)),
        Comparison::Below => (0, Some(limit.checked_sub(1)?)),
        Comparison::IsNot | Comparison::Before | Comparison::After => return None,
    })
}
