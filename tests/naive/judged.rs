//! Which values a demand judges, by the book: told from what it names for its subject, and not from what is read.

use std::collections::BTreeSet;

use serde_yaml::Value as Yaml;

use witnessmark::language::ast::{Aggregate, Expr, ExprKind, Item, Logic, Quantifier};

use super::evaluate::{Naive, Scope};
use super::fields::{Field, SEVERAL};
use super::value::Truth;

/// The fields whose values some rule must look at, written down apart from the schema.
const VALUES: [&str; 21] = [
    "fluid.drained.volume",
    "fluid.fills[].volume",
    "level_check.temperature",
    "level_check.result",
    "level_check.positions[].held",
    "steps[].positions[].held",
    "pressure_hold.start",
    "pressure_hold.end",
    "fastenings[].torque",
    "fastenings[].angle",
    "fastenings[].stages[].torque",
    "fastenings[].stages[].angle",
    "fastenings[].adapter.lever",
    "fastenings[].adapter.offset",
    "seals[].renewed",
    "filters[].media_fitted",
    "filters[].beta",
    "filters[].renewed",
    "readings[].temperature",
    "readings[].pressure",
    "readings[].speed",
];

/// Those of which it is enough that somebody asks for them.
const ASKED_FOR: [&str; 4] =
    ["fastenings[].tool", "level_check.tool", "readings[].tool", "pressure_hold.tool"];

static NOTHING: Yaml = Yaml::Null;

/// How an expression stands in its demand.
#[derive(Clone, Copy)]
pub struct Stand {
    pub negated: bool,
    pub choosing: bool,
}

pub const DEMANDED: Stand = Stand { negated: false, choosing: false };
pub const COUNTED: Stand = Stand { negated: false, choosing: true };

/// A path without the numbers of entries.
fn pattern(path: &str) -> String {
    path.chars().filter(|c| !c.is_ascii_digit()).collect()
}

/// Whether a path leads to a value that some rule must look at, or would in another of the lists that are gone through
/// as one: what a rule names it names of the entries of all.
fn is_value_somewhere(path: &str) -> bool {
    let pattern = pattern(path);
    let entries =
        SEVERAL.map(|(list, _)| if list == "level_check" { list.to_owned() } else { format!("{list}[]") });
    let below = entries.iter().find_map(|entry| pattern.strip_prefix(entry.as_str()));
    let elsewhere =
        |below: &str| entries.iter().any(|entry| VALUES.contains(&format!("{entry}{below}").as_str()));
    below.map_or(VALUES.contains(&pattern.as_str()), elsewhere)
}

/// Whether a path leads to a value that some rule must judge.
pub fn must_be_judged(path: &str) -> bool {
    let pattern = pattern(path);
    VALUES.contains(&pattern.as_str()) || ASKED_FOR.contains(&pattern.as_str())
}

impl<'n> Naive<'n> {
    /// The value of a name and what it sees, whether its entry is there or not.
    fn meant(&self, expr: &'n Expr, scope: &Scope<'n>) -> Option<(&'n Expr, Scope<'n>)> {
        match (self.definition(expr, scope)?, &expr.kind) {
            (Ok(known), _) => Some(known),
            (Err(_), ExprKind::Of { name, entry }) => {
                let Item::Let(named) = self.named(std::slice::from_ref(name), &Scope::new())? else {
                    return None;
                };
                let mut entry = self.place(entry, scope).variable(&named.entries.as_ref()?.variable.node);
                entry.node = Some(&NOTHING);
                Some((&named.value, vec![entry]))
            }
            _ => None,
        }
    }

    /// Whether an expression names a value to be judged, of whatever entries.
    fn names_a_value(&self, expr: &'n Expr, scope: &Scope<'n>) -> bool {
        let any = |parts: Vec<&'n Expr>| parts.into_iter().any(|part| self.names_a_value(part, scope));
        let of_entry = |variable: &str, list: &'n Expr, parts: Vec<&'n Expr>| {
            let mut own = scope.clone();
            own.push(self.list(list, scope).0.element(variable, 0, &NOTHING));
            parts.into_iter().any(|part| self.names_a_value(part, &own))
        };
        if let Some((value, scope)) = self.meant(expr, scope) {
            return self.names_a_value(value, &scope);
        }
        match &expr.kind {
            ExprKind::Path(_) if self.is_path(expr, scope) => {
                is_value_somewhere(&self.place(expr, scope).path)
            }
            ExprKind::Recorded(_) => false,
            ExprKind::Quantified { variable, list, condition, body, .. } => {
                of_entry(&variable.node, list, condition.as_deref().into_iter().chain([&**body]).collect())
            }
            ExprKind::Aggregate { value, variable: Some(variable), list, condition, .. } => of_entry(
                &variable.node,
                list,
                condition.as_deref().into_iter().chain(value.as_deref()).collect(),
            ),
            ExprKind::Cases(cases) => {
                any(cases.iter().flat_map(|case| case.condition.iter().chain([&case.value])).collect())
            }
            _ => any(parts(expr)),
        }
    }

    fn is_path(&self, expr: &'n Expr, scope: &Scope<'n>) -> bool {
        let ExprKind::Path(names) = &expr.kind else { return false };
        self.named(names, scope).is_none() && names.iter().all(|name| name.node != "as_of")
    }

    /// The paths that an expression looks at.
    pub fn looks_at(&self, expr: &'n Expr, scope: &Scope<'n>, stand: Stand, seen: &mut BTreeSet<String>) {
        if let Some(defined) = self.definition(expr, scope) {
            if let Ok((value, scope)) = defined {
                self.looks_at(value, &scope, stand, seen);
            }
            return;
        }
        match &expr.kind {
            ExprKind::Path(_) if self.is_path(expr, scope) => drop(seen.insert(self.place(expr, scope).path)),
            ExprKind::Recorded(path) => {
                if self.is_path(path, scope) {
                    let path = self.place(path, scope).path;
                    let asked_for = ASKED_FOR.contains(&pattern(&path).as_str());
                    seen.extend(asked_for.then_some(path));
                }
            }
            ExprKind::Not(inner) => {
                self.looks_at(inner, scope, Stand { negated: !stand.negated, ..stand }, seen);
            }
            ExprKind::Decided(_, inner) => self.looks_at(inner, scope, stand, seen),
            ExprKind::Logic(logic, a, b) => {
                let of_a = Stand { negated: stand.negated != (*logic == Logic::Implies), ..stand };
                let is_and = (*logic == Logic::And) != stand.negated;
                // By itself a part without a value settles an `or` by holding, an `and` by not holding.
                let settles = |part: &'n Expr, own: Stand| {
                    let truth = self.truth(part, scope).truth;
                    let truth = if own.negated { truth.opposite() } else { truth };
                    !self.names_a_value(part, scope) && truth == if is_and { Truth::No } else { Truth::Yes }
                };
                for ((one, of_one), (other, of_other)) in [((a, of_a), (b, stand)), ((b, stand), (a, of_a))] {
                    let may_be_settled = !is_and || stand.choosing;
                    if !(may_be_settled && self.names_a_value(one, scope) && settles(other, of_other)) {
                        self.looks_at(one, scope, of_one, seen);
                    }
                }
            }
            ExprKind::Quantified { quantifier, variable, list, condition, body } => {
                let own = Stand {
                    negated: stand.negated != (*quantifier == Quantifier::No),
                    choosing: (*quantifier == Quantifier::Some) != stand.negated,
                };
                self.looks_at_entries(&variable.node, list, condition.as_deref(), body, scope, own, seen);
            }
            ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
                let Some(variable) = variable.as_ref().map(|variable| variable.node.as_str()) else { return };
                if let (Aggregate::Count, Some(condition)) = (aggregate, condition) {
                    self.looks_at_entries(variable, list, None, condition, scope, COUNTED, seen);
                }
                if let Some(value) = value {
                    self.looks_at_entries(variable, list, condition.as_deref(), value, scope, DEMANDED, seen);
                }
            }
            ExprKind::Cases(cases) => {
                for case in cases {
                    let truth = case.condition.as_ref().map_or(Truth::Yes, |c| self.truth(c, scope).truth);
                    if truth != Truth::No {
                        self.looks_at(&case.value, scope, stand, seen);
                    }
                    if truth == Truth::Yes {
                        return;
                    }
                }
            }
            ExprKind::Path(names) => {
                if let Some(Item::Table(table)) = self.named(names, scope) {
                    table.keys.iter().for_each(|key| self.looks_at(key, &Scope::new(), DEMANDED, seen));
                }
            }
            _ => parts(expr).into_iter().for_each(|part| self.looks_at(part, scope, DEMANDED, seen)),
        }
    }

    #[expect(clippy::too_many_arguments, reason = "one for each part of the construct")]
    fn looks_at_entries(
        &self,
        variable: &str,
        list: &'n Expr,
        condition: Option<&'n Expr>,
        of_each: &'n Expr,
        scope: &Scope<'n>,
        stand: Stand,
        seen: &mut BTreeSet<String>,
    ) {
        let (place, elements) = self.list(list, scope);
        for (number, element) in elements.unwrap_or_default() {
            let mut own = scope.clone();
            own.push(place.element(variable, number, element));
            if condition.is_none_or(|condition| self.truth(condition, &own).truth != Truth::No) {
                self.looks_at(of_each, &own, stand, seen);
            }
        }
    }

    /// Of some paths, those at which a value stands that some rule must judge and that can be read.
    pub fn judged(&self, seen: &BTreeSet<String>) -> u64 {
        let counts = |path: &&String| must_be_judged(path) && self.is_value(path);
        seen.iter().filter(counts).count() as u64
    }

    fn is_value(&self, path: &str) -> bool {
        let (mut node, mut field, mut touched) = (Some(self.record), Field::Record("root"), true);
        for step in path.split(['.', '[']) {
            let step = step.trim_end_matches(']');
            match field {
                Field::Record(record) => {
                    let found = super::fields::field(record, step).expect("a field");
                    if record == "seal" {
                        let disturbed = node.and_then(|node| node.get("disturbed"));
                        touched &= disturbed.is_none_or(|node| {
                            !matches!(
                                self.scalar(node, Field::Truth),
                                Some(super::value::Value::Truth(false))
                            )
                        });
                    }
                    (node, field) = (node.and_then(|node| node.get(step)), found);
                }
                Field::List(record) => {
                    let number: usize = step.parse().expect("a number");
                    (node, field) = (node.and_then(|node| node.get(number)), Field::Record(record));
                }
                _ => return false,
            }
        }
        touched && node.is_some_and(|node| self.scalar(node, field).is_some())
    }
}

/// The parts of an expression that stand as they are.
fn parts(expr: &Expr) -> Vec<&Expr> {
    match &expr.kind {
        ExprKind::Lookup { keys: parts, .. } | ExprKind::Call { arguments: parts, .. } => {
            parts.iter().collect()
        }
        ExprKind::Range(form) => form.operands().collect(),
        ExprKind::Not(one) | ExprKind::Minus(one) | ExprKind::Decided(_, one) | ExprKind::Rate(one) => {
            vec![one]
        }
        ExprKind::Logic(_, a, b)
        | ExprKind::Arithmetic(_, a, b)
        | ExprKind::Compare(_, a, b)
        | ExprKind::Within(a, b) => vec![a, b],
        ExprKind::OneOf { value, options, .. } => [&**value].into_iter().chain(options).collect(),
        _ => Vec::new(),
    }
}
