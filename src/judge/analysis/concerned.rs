//! Rules that can never judge anything.

use super::Bench;
use super::scene::Scene;
use super::solve::Solver;
use crate::code::{ANALYSIS_NEVER_CONCERNS, ANALYSIS_NEVER_TRUE};
use crate::diagnostic::Diagnostic;
use crate::language::typed::Concerns;
use crate::source::Place;

/// A number of subjects is judged though there are none.
fn none_to_count(place: Place) -> Diagnostic {
    let message = "this can never be true, so there is never a subject to be counted";
    Diagnostic::error(ANALYSIS_NEVER_TRUE, place, message).help("correct the condition")
}

/// Whether the rule can judge anything; says so where it cannot.
pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scene: &Scene<'p>,
    found: &mut Vec<Diagnostic>,
) -> bool {
    if !scene.never(solver, []) {
        return true;
    }
    let rule = scene.rule;
    let place = match &rule.concerns {
        Concerns::Document(condition) => {
            condition.as_ref().map_or(rule.name_place, |condition| condition.place)
        }
        Concerns::Each(nested) => {
            let condition = nested.iter().find_map(|each| each.condition.as_ref());
            let span = nested.first().map_or(rule.name_place.span, |each| each.span);
            condition.map_or(Place { span, ..rule.name_place }, |condition| condition.place)
        }
    };
    if let Concerns::Each(nested) = &rule.concerns
        && nested.iter().any(|each| each.count.is_some())
    {
        found.push(none_to_count(place));
        return false;
    }
    let name = &rule.name;
    let own = solver.never(&scene.entries, std::slice::from_ref(&scene.concerns));
    let diagnostic = match (&scene.standard.condition, own) {
        (Some(condition), false) => {
            let alone = solver.never(&[], std::slice::from_ref(&scene.applies));
            let applies = bench.said(condition.place);
            let message = match alone {
                true => format!("the standard applies to no document, so `{name}` never judges anything"),
                false => {
                    format!("`{name}` never judges anything: the standard applies only where `{applies}`")
                }
            };
            Diagnostic::error(ANALYSIS_NEVER_CONCERNS, place, message)
                .and_at(condition.place, "where the standard applies")
        }
        _ => {
            let message = format!("this can never be true, so `{name}` never judges anything");
            Diagnostic::error(ANALYSIS_NEVER_CONCERNS, place, message)
        }
    };
    found.push(diagnostic.help("correct the condition, or take the rule out"));
    false
}
