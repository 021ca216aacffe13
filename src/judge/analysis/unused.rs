//! Names that nothing uses: lets, parameters, tables, and variables of which nothing is said.

use std::collections::HashSet;

use super::Bench;
use crate::code::ANALYSIS_UNUSED;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Figure, Of, Part, Program, Rule};
use crate::source::{Place, SourceId};

/// Names of files with a standard that nothing uses. A file that is only used by others lends its names.
pub(super) fn names(bench: &Bench<'_>, found: &mut Vec<Diagnostic>) {
    let program = bench.program;
    let judges: HashSet<SourceId> =
        program.standards().iter().map(|standard| standard.place.source).collect();
    let mut tell = |figure: Figure, what: &str, name: &str, place: Place| {
        if judges.contains(&place.source) && !program.is_named(figure) {
            let message = format!("nothing uses the {what} `{name}`");
            let help = "use it, or take it out";
            found.push(Diagnostic::advice(ANALYSIS_UNUSED, place, message).help(help));
        }
    };
    for (id, definition) in program.lets().iter() {
        tell(Figure::Let(id), "let", &definition.name, definition.place);
    }
    for (id, parameter) in program.parameters().iter() {
        let name = parameter.name.rsplit('.').next().unwrap_or_default();
        tell(Figure::Parameter(id), "parameter", name, parameter.place);
    }
    for (id, table) in program.tables().iter() {
        tell(Figure::Table(id), "table", &table.name, table.place);
    }
}

/// All expressions of a rule.
pub(super) fn expressions(rule: &Rule) -> Vec<&Expr> {
    let mut all: Vec<&Expr> = rule.demands.iter().chain(&rule.period).collect();
    all.extend(rule.message.iter().filter_map(value_of));
    match &rule.concerns {
        Concerns::Document(condition) => all.extend(condition),
        Concerns::Each(nested) => nested.iter().for_each(|each| all.extend(of_each(each))),
    }
    all
}

fn of_each(each: &Each) -> Vec<&Expr> {
    let message = each.message.iter().flatten().filter_map(value_of);
    [&each.list].into_iter().chain(&each.condition).chain(&each.keys).chain(message).collect()
}

fn value_of(part: &Part) -> Option<&Expr> {
    match part {
        Part::Value(value) => Some(value),
        Part::Words(_) => None,
    }
}

/// Subjects of a rule of which nothing is said.
pub(super) fn variables(bench: &Bench<'_>, rule: &Rule, found: &mut Vec<Diagnostic>) {
    if let Concerns::Each(nested) = &rule.concerns {
        for (at, each) in nested.iter().enumerate() {
            let others = nested.iter().enumerate().filter(|(other, _)| *other != at);
            let mut rest: Vec<&Expr> = rule.demands.iter().collect();
            rest.extend(rule.message.iter().filter_map(value_of));
            others.for_each(|(_, other)| rest.extend(of_each(other)));
            // With a condition of its own, or a number, it asks for entries that are there.
            rest.extend(&each.condition);
            let is_said = rest.into_iter().any(|expr| speaks_of(bench.program, expr, each.slot));
            if is_said || each.count.is_some() || !each.keys.is_empty() {
                continue;
            }
            let (name, list) = (&each.variable, bench.said(each.list.place));
            let message = format!(
                "nothing speaks of `{name}`: it does nothing but leave out every document without an entry of `{list}`"
            );
            let place = Place { span: each.span, ..rule.name_place };
            let help = "say what it has to do with the demand, or take it out";
            found.push(Diagnostic::advice(ANALYSIS_UNUSED, place, message).help(help));
        }
    }
    rule.demands.iter().for_each(|demand| quantifiers(bench, demand, found));
}

/// Quantifiers that say the same whatever entry they speak of.
fn quantifiers(bench: &Bench<'_>, expr: &Expr, found: &mut Vec<Diagnostic>) {
    if let ExprKind::Quantified { slot, list, condition, body, .. } = &expr.kind {
        let inside = condition.iter().map(|part| &**part).chain([&**body]);
        if !inside.into_iter().any(|part| speaks_of(bench.program, part, *slot)) {
            let list = bench.said(list.place);
            let message = format!("what is asked here of the entries of `{list}` speaks of none of them");
            let help = "name a field of the entry, or ask without `every`, `some` or `no`";
            found.push(Diagnostic::advice(ANALYSIS_UNUSED, expr.place, message).help(help));
        }
    }
    expr.for_each_part(&mut |part| quantifiers(bench, part, found));
}

/// Whether an expression speaks of the entry that a variable stands for.
fn speaks_of(program: &Program, expr: &Expr, slot: usize) -> bool {
    match &expr.kind {
        ExprKind::Variable(own) | ExprKind::Group(own) => *own == slot,
        ExprKind::Let(id, _)
            if matches!(program.lets()[*id].of, Of::Rule) && program.lets()[*id].sees(slot) =>
        {
            true
        }
        _ => {
            let mut found = false;
            expr.for_each_part(&mut |part| found |= speaks_of(program, part, slot));
            found
        }
    }
}
