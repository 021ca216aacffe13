//! Orders of entries that go round in a circle, through several rules.

use std::collections::{BTreeMap, BTreeSet};

use super::Bench;
use super::formula::{Fact, Formula};
use super::scene::Scene;
use super::solve::Solver;
use super::term::{Node, Sort, Term};
use crate::code::ANALYSIS_CONTRADICTION;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Concerns, Each};
use crate::source::Place;

/// Entries of a list that fulfil a condition.
type Kind = (Term, Option<Term>);

/// A demand that entries of one kind come before those of another.
struct Before<'s, 'p> {
    scene: &'s Scene<'p>,
    place: Place,
    first: Kind,
    second: Kind,
    /// What the first ones are called, for the message.
    name: String,
}

/// How many demands of an order are looked at.
const MOST_ORDERS: usize = 2_000;

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scenes: &[Scene<'p>],
    found: &mut Vec<Diagnostic>,
) {
    let mut all: Vec<Before<'_, 'p>> = Vec::new();
    for scene in scenes.iter().filter(|scene| scene.standard.in_force && scene.rule.left_out.is_none()) {
        if all.len() < MOST_ORDERS {
            orders(bench, solver, scene, &mut all);
        }
    }
    let mut from: BTreeMap<Kind, Vec<usize>> = BTreeMap::new();
    for (number, order) in all.iter().enumerate() {
        if let Some(circle) = way(&all, &from, order.second, order.first) {
            let rules: Vec<&Before<'_, 'p>> =
                circle.iter().filter_map(|number| all.get(*number)).chain([order]).collect();
            if are_ever_asked(&rules) {
                found.extend(told(order, &rules));
            }
        }
        from.entry(order.first).or_default().push(number);
    }
}

/// Whether all of these are asked of one document.
fn are_ever_asked(circle: &[&Before<'_, '_>]) -> bool {
    let is_apart = |one: &Before<'_, '_>| circle.iter().any(|other| one.scene.is_perhaps_apart(other.scene));
    !circle.iter().any(|one| is_apart(one))
}

/// The demands that lead from one kind to another, the shortest way.
fn way(
    all: &[Before<'_, '_>],
    from: &BTreeMap<Kind, Vec<usize>>,
    start: Kind,
    end: Kind,
) -> Option<Vec<usize>> {
    // Each kind that is reached, with the demand that led to it and the place in this list of where that began.
    let mut reached: Vec<(Kind, Option<(usize, usize)>)> = vec![(start, None)];
    let mut seen = BTreeSet::from([start]);
    let mut at = 0;
    while let Some((kind, _)) = reached.get(at).copied() {
        for number in from.get(&kind).into_iter().flatten() {
            let Some(order) = all.get(*number) else { continue };
            if order.second == end {
                let back = std::iter::successors(Some((*number, at)), |(_, place)| {
                    reached.get(*place).and_then(|(_, by)| *by)
                });
                let mut way: Vec<usize> = back.map(|(number, _)| number).collect();
                way.reverse();
                return Some(way);
            }
            if seen.insert(order.second) {
                reached.push((order.second, Some((*number, at))));
            }
        }
        at += 1;
    }
    None
}

fn told(last: &Before<'_, '_>, circle: &[&Before<'_, '_>]) -> Option<Diagnostic> {
    let mut rules: Vec<&str> = circle.iter().map(|order| order.scene.rule.name.as_str()).collect();
    rules.dedup();
    // Within one rule it is a contradiction of its demands, which is told already.
    if rules.len() < 2 {
        return None;
    }
    let names: Vec<&str> = circle.iter().map(|order| order.name.as_str()).collect();
    let first = names.first().copied().unwrap_or_default();
    let message = format!(
        "`{}` ask for an order that goes round in a circle: {}, then {first} again; where all of them are recorded, nothing \
         meets all of these rules",
        rules.join("`, `"),
        names.join(", then ")
    );
    let mut diagnostic = Diagnostic::advice(ANALYSIS_CONTRADICTION, last.place, message);
    for order in circle.iter().filter(|order| order.place != last.place) {
        diagnostic = diagnostic.and_at(order.place, format!("`{}`", order.scene.rule.name));
    }
    Some(diagnostic.help("turn one of the demands round"))
}

fn orders<'s, 'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &'s Scene<'p>,
    all: &mut Vec<Before<'s, 'p>>,
) {
    let Concerns::Each(nested) = &scene.rule.concerns else { return };
    let mut kinds: BTreeMap<Term, (Kind, String)> = BTreeMap::new();
    for (each, (list, entry)) in nested.iter().zip(&scene.entries) {
        if !each.keys.is_empty() {
            return;
        }
        let bound = solver.encoder.terms.add(Node::Bound(99), Sort::Group);
        solver.encoder.begin();
        let env = scene.env.with(each.slot, bound);
        let condition = each.condition.as_ref().map(|condition| solver.encoder.term(condition, &env));
        kinds.insert(*entry, ((*list, condition), name_of(bench, each)));
    }
    for demand in &scene.demands {
        let Formula::Is(fact) = &demand.met else { continue };
        let Fact::Apart { high, low, most, below: true } = &**fact else { continue };
        let entry = |term: Term| match solver.encoder.terms.node(term) {
            Node::Made("rank", _, parts) => parts.first().and_then(|entry| kinds.get(entry)).cloned(),
            _ => None,
        };
        // The higher one may lie at most so much above the lower one, and that is less than nothing.
        let (Some((first, name)), Some((second, _))) = (entry(*high), entry(*low)) else { continue };
        if most.is_zero() && first != second {
            all.push(Before { scene, place: demand.expr.place, first, second, name });
        }
    }
}

/// What entries are called by what is asked of them.
fn name_of(bench: &Bench<'_>, each: &Each) -> String {
    match &each.condition {
        Some(condition) => format!("`{}`", bench.said(condition.place)),
        None => format!("any of `{}`", bench.said(each.list.place)),
    }
}
