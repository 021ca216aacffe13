//! The demands of one rule: one that nothing meets, that nothing breaks, that reads nothing, that another one says already,
//! and two that nothing meets together.

use super::Bench;
use super::encode::Want;
use super::scene::{Demand, Scene};
use super::solve::Solver;
use crate::code::{
    ANALYSIS_CONSTANT, ANALYSIS_CONTRADICTION, ANALYSIS_IMPLIED, ANALYSIS_NEVER_BROKEN, ANALYSIS_NEVER_MET,
    ANALYSIS_NO_ANSWER,
};
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Comparison, Logic};
use crate::language::typed::{Concerns, Expr, ExprKind};
use crate::language::types::Type;
use crate::metrology::conformity::DecisionRule;
use crate::source::Place;

/// What can be told of one demand.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    Nothing,
    NeverMet,
    NeverBroken,
}

pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) {
    let told: Vec<Told> =
        scene.demands.iter().map(|demand| alone(bench, solver, scene, demand, found)).collect();
    let open: Vec<&Demand<'p>> = scene
        .demands
        .iter()
        .zip(&told)
        .filter(|(_, told)| **told == Told::Nothing)
        .map(|(one, _)| one)
        .collect();
    for (at, later) in open.iter().enumerate() {
        for earlier in open.iter().take(at) {
            if solver.is_exhausted() {
                return;
            }
            if scene.never(solver, [earlier.met.clone(), later.met.clone()]) {
                found.push(contradiction(bench, earlier.expr, later.expr));
                return;
            }
        }
    }
    for (at, later) in open.iter().enumerate() {
        for earlier in open.iter().take(at) {
            if solver.is_exhausted() {
                return;
            }
            if is_implied(solver, scene, earlier, later) {
                found.push(implied(bench, earlier.expr, later.expr));
            } else if is_implied(solver, scene, later, earlier) {
                found.push(implied(bench, later.expr, earlier.expr));
            }
        }
    }
}

/// Whether whatever breaks the weaker demand breaks the stronger one. Where one of the two would be open and the other one not,
/// the weaker one says more: that something must be recorded, or how near to the limit an uncertain reading may lie.
fn is_implied<'p>(
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    stronger: &Demand<'p>,
    weaker: &Demand<'p>,
) -> bool {
    if guard_of(stronger.expr) != guard_of(weaker.expr)
        || !scene.never(solver, [stronger.met.clone(), weaker.broken.clone()])
    {
        return false;
    }
    solver.encoder.begin();
    let open = solver.encoder.truth(stronger.expr, &scene.env, Want::Unrecorded);
    let open_weaker = solver.encoder.truth(weaker.expr, &scene.env, Want::Unrecorded);
    scene.never(solver, [weaker.broken.clone(), open])
        && scene.never(solver, [stronger.met.clone(), open_weaker])
}

/// How a demand decides readings that are uncertain, where it says so itself.
pub(super) fn guard_of(demand: &Expr) -> Option<&DecisionRule> {
    match &demand.kind {
        ExprKind::Decided(rule, _) => Some(rule),
        _ => None,
    }
}

fn alone<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    demand: &Demand<'p>,
    found: &mut Vec<Diagnostic>,
) -> Told {
    let place = demand.expr.place;
    if scene.never(solver, [demand.met.clone()]) {
        if scene.never(solver, [demand.broken.clone()]) {
            let message =
                "this demand never has an answer: it is undecided wherever the rule concerns something";
            let help = "look which value is not there, or what has no answer with it";
            found.push(Diagnostic::error(ANALYSIS_NO_ANSWER, place, message).help(help));
            return Told::NeverMet;
        }
        let because = match solver.never(&scene.entries, std::slice::from_ref(&demand.met)) {
            true => "",
            false => " where the rule concerns something",
        };
        let message = format!("nothing can ever meet this demand{because}: every job that it concerns fails");
        found.push(at_concerns(scene, because, Diagnostic::error(ANALYSIS_NEVER_MET, place, message)));
        return Told::NeverMet;
    }
    if !scene.never(solver, [demand.broken.clone()]) {
        return Told::Nothing;
    }
    let term = solver.encoder.term(demand.expr, &scene.env);
    if !solver.encoder.terms.reads_document(term) {
        let message = "this reads nothing of the document and is always met";
        let help = "compare a value of the document with the limit, or take the demand out";
        found.push(Diagnostic::advice(ANALYSIS_CONSTANT, place, message).help(help));
        return Told::NeverBroken;
    }
    let itself = solver.never(&scene.entries, std::slice::from_ref(&demand.broken));
    let message = match (itself, without_common_word(bench, demand.expr)) {
        (true, Some(why)) => format!("{why}, so this can never be broken"),
        (true, None) => match either_is_not(demand.expr) {
            Some(value) => format!(
                "this demand can never be broken: whatever `{}` is, one of the two holds",
                bench.said(value.place)
            ),
            None => "this demand can never be broken, whatever is recorded".to_owned(),
        },
        (false, _) => "this demand can never be broken: what the rule concerns meets it already".to_owned(),
    };
    let mut diagnostic = Diagnostic::advice(ANALYSIS_NEVER_BROKEN, place, message);
    if itself && either_is_not(demand.expr).is_some() {
        diagnostic = diagnostic.help("perhaps `and` is meant, or `is not one of (…)`");
    } else {
        diagnostic = diagnostic.help("look whether another value or limit is meant, or take the demand out");
    }
    found.push(at_concerns(scene, if itself { "" } else { "context" }, diagnostic));
    Told::NeverBroken
}

/// Shows what the rule concerns, where that has a part in it.
fn at_concerns(scene: &Scene<'_>, because: &str, diagnostic: Diagnostic) -> Diagnostic {
    let place = match &scene.rule.concerns {
        _ if because.is_empty() => None,
        Concerns::Document(condition) => condition.as_ref().map(|condition| condition.place),
        Concerns::Each(nested) => {
            nested.last().map(|each| Place { span: each.span, ..scene.rule.name_place })
        }
    };
    match place.or(scene.standard.condition.as_ref().map(|condition| condition.place)) {
        Some(place) if !because.is_empty() => diagnostic.and_at(place, "what it concerns"),
        _ => diagnostic,
    }
}

fn contradiction(bench: &Bench<'_>, earlier: &Expr, later: &Expr) -> Diagnostic {
    let message = format!(
        "nothing meets both this demand and `{}`: every job that the rule concerns fails",
        bench.said(earlier.place)
    );
    Diagnostic::error(ANALYSIS_CONTRADICTION, later.place, message)
        .and_at(earlier.place, "the other demand")
        .help("correct one of the two, or say with `implies` when each counts")
}

fn implied(bench: &Bench<'_>, stronger: &Expr, weaker: &Expr) -> Diagnostic {
    let message = format!("whatever meets `{}` meets this as well", bench.said(stronger.place));
    Diagnostic::advice(ANALYSIS_IMPLIED, weaker.place, message)
        .and_at(stronger.place, "the demand that says more")
        .help("one of the two limits is wrong, or this demand can go")
}

/// The value of which two parts of an `or` say that it is not this and not that.
fn either_is_not(expr: &Expr) -> Option<&Expr> {
    let ExprKind::Logic(Logic::Or, left, right) = &expr.kind else { return None };
    let is_not = |side: &'_ Expr| matches!(&side.kind, ExprKind::Compare(Comparison::IsNot, ..));
    (is_not(left) && is_not(right)).then(|| left.looks_at())
}

/// Why two fields can never be the same, where that is for want of a common word.
fn without_common_word(bench: &Bench<'_>, expr: &Expr) -> Option<String> {
    let ExprKind::Compare(_, left, right) = &expr.kind else { return None };
    let (Type::Word(one), Type::Word(other)) = (&left.ty, &right.ty) else { return None };
    let apart = !one.iter().any(|word| other.contains(word));
    apart.then(|| {
        format!("`{}` and `{}` have no word in common", bench.said(left.place), bench.said(right.place))
    })
}
