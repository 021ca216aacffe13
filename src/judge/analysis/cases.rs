//! A demand by the cases in which it asks for something: the premise of `implies`, a value by cases, a row of a table.

use super::Bench;
use super::encode::{Encoder, Env, Want};
use super::formula::Formula;
use crate::language::ast::Logic;
use crate::language::typed::{Expr, ExprKind, Program};
use crate::source::Place;

/// Why a case is the one that counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Because {
    /// What is written there holds.
    Holds(Place),
    /// What is written there does not hold.
    Fails(Place),
    /// The keys of a table, written there, are these words.
    Row(Vec<Place>, Vec<String>),
}

/// One case of a demand.
#[derive(Clone, Debug)]
pub(super) struct Case<'p> {
    /// What must be so for it to be this case.
    pub(super) when: Formula<'p>,
    pub(super) because: Vec<Because>,
    pub(super) met: Formula<'p>,
    pub(super) broken: Formula<'p>,
    /// What is asked for in this case.
    pub(super) asked: &'p Expr,
}

/// How many cases of a demand are looked at.
const MOST_CASES: usize = 24;

/// The cases of a demand; one where it has no premise.
pub(super) fn cases_of<'p>(encoder: &mut Encoder<'p>, demand: &'p Expr, env: &Env) -> Vec<Case<'p>> {
    let mut found = Vec::new();
    split(encoder, demand, env, (Formula::Always, Vec::new()), &mut found);
    if found.len() > MOST_CASES {
        found.clear();
        found.push(whole(encoder, demand, env, (Formula::Always, Vec::new())));
    }
    found
}

/// Whether a condition asks for nothing but what is recorded.
fn only_recorded(expr: &Expr) -> bool {
    match &expr.kind {
        ExprKind::Recorded(_) => true,
        ExprKind::Not(inner) => only_recorded(inner),
        ExprKind::Logic(_, left, right) => only_recorded(left) && only_recorded(right),
        _ => false,
    }
}

type Premise<'p> = (Formula<'p>, Vec<Because>);

fn whole<'p>(encoder: &mut Encoder<'p>, demand: &'p Expr, env: &Env, premise: Premise<'p>) -> Case<'p> {
    Case {
        when: premise.0,
        because: premise.1,
        met: encoder.truth(demand, env, Want::Yes),
        broken: encoder.truth(demand, env, Want::No),
        asked: demand,
    }
}

fn split<'p>(
    encoder: &mut Encoder<'p>,
    demand: &'p Expr,
    env: &Env,
    premise: Premise<'p>,
    found: &mut Vec<Case<'p>>,
) {
    // Enough to know that it has too many.
    if found.len() > MOST_CASES {
        return;
    }
    let (when, because) = &premise;
    let with = |more: Formula<'p>, why: Because| {
        let because = because.iter().cloned().chain([why]).collect();
        (Formula::all([when.clone(), more]), because)
    };
    match &demand.kind {
        ExprKind::Decided(_, inner) => split(encoder, inner, env, premise, found),
        // What only asks whether something is recorded tells no case from another: two such demands keep values apart
        // that do not belong into one document.
        ExprKind::Logic(Logic::Implies, left, right) if !only_recorded(left) => {
            let holds = encoder.truth(left, env, Want::Yes);
            split(encoder, right, env, with(holds, Because::Holds(left.place)), found);
        }
        ExprKind::Logic(Logic::And, left, right) => {
            for side in [left, right] {
                split(encoder, side, env, premise.clone(), found);
            }
        }
        ExprKind::Let(id, entry) => {
            let inner = encoder.inside(*id, entry.as_deref(), env);
            let program: &'p Program = encoder.program;
            split(encoder, &program.lets()[*id].value, &inner, premise, found);
        }
        ExprKind::Within(_, value) | ExprKind::Compare(_, _, value) => {
            // What the demand comes to is the same formula in each case.
            let any = whole(encoder, demand, env, premise.clone());
            for (holds, why) in premises(encoder, value, env) {
                let because = because.iter().cloned().chain(why).collect();
                found.push(Case { when: Formula::all([when.clone(), holds]), because, ..any.clone() });
            }
        }
        _ => found.push(whole(encoder, demand, env, premise)),
    }
}

/// When a value is which of those that it can be; always, where it is one.
fn premises<'p>(encoder: &mut Encoder<'p>, value: &'p Expr, env: &Env) -> Vec<Premise<'p>> {
    let program: &'p Program = encoder.program;
    match &value.kind {
        ExprKind::Let(id, entry) => {
            let inner = encoder.inside(*id, entry.as_deref(), env);
            premises(encoder, &program.lets()[*id].value, &inner)
        }
        ExprKind::Lookup { table, keys } => {
            let rows = encoder.rows(*table);
            let places: Vec<_> = keys.iter().map(|key| key.place).collect();
            let each = rows.into_iter().map(|(row, _)| {
                (encoder.keyed(keys, row, env), vec![Because::Row(places.clone(), row.clone())])
            });
            each.collect()
        }
        ExprKind::Cases(cases) => {
            let (mut found, mut before, mut not) = (Vec::new(), Formula::Always, Vec::new());
            for case in cases {
                let Some(condition) = &case.condition else {
                    found.push((before.clone(), not.clone()));
                    continue;
                };
                let holds = encoder.truth(condition, env, Want::Yes);
                found.push((Formula::all([before.clone(), holds]), vec![Because::Holds(condition.place)]));
                let fails = encoder.truth(condition, env, Want::No);
                before = Formula::all([before, fails]);
                not.push(Because::Fails(condition.place));
            }
            found
        }
        _ => vec![(Formula::Always, Vec::new())],
    }
}

/// The case in words: `where …`; nothing where the demand has no premise.
pub(super) fn in_words(bench: &Bench<'_>, cases: &[&Case<'_>]) -> Option<String> {
    let mut words: Vec<String> = Vec::new();
    for because in cases.iter().flat_map(|case| &case.because) {
        let said = match because {
            Because::Holds(place) => format!("`{}`", bench.said(*place)),
            Because::Fails(place) => format!("not `{}`", bench.said(*place)),
            Because::Row(places, row) => {
                let keys = places.iter().zip(row);
                let keys: Vec<String> =
                    keys.map(|(place, word)| format!("`{}` is \"{word}\"", bench.said(*place))).collect();
                keys.join(" and ")
            }
        };
        if !words.contains(&said) {
            words.push(said);
        }
    }
    (!words.is_empty()).then(|| words.join(" and "))
}
