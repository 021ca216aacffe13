//! Comparisons of two values as facts.

use std::cmp::Ordering;

use super::formula::{Fact, Formula};
use super::set::{Numbers, Words};
use super::term::{Node, Sort, Term, Terms};
use super::values::Worth;
use crate::language::ast::Comparison;
use crate::quantity::{Kind, Number, Quantity, Range};
use crate::value::Value;

impl Worth {
    /// The place of an entry in the order of its list.
    pub(super) fn place(term: Term) -> Worth {
        Worth::Term(term, Number::ZERO)
    }
}

/// What must be so for a comparison of two values to come out like that; nothing where that is not looked into. Of a value
/// and a range, `is` asks whether it lies within it.
pub(super) fn relate<'p>(
    terms: &mut Terms,
    comparison: Comparison,
    left: &Worth,
    right: &Worth,
    truth: bool,
) -> Option<Formula<'p>> {
    match (left, right) {
        (Worth::Fault, _) | (_, Worth::Fault) => Some(Formula::Never),
        (Worth::Known(left), Worth::Known(right)) => {
            let holds = known(comparison, left, right)?;
            Some(if holds == truth { Formula::Always } else { Formula::Never })
        }
        (Worth::Term(term, by), Worth::Known(value)) => {
            with_known(terms, comparison, *term, by, value, truth)
        }
        (Worth::Known(value), Worth::Term(term, by)) => {
            with_known(terms, comparison.turned_round(), *term, by, value, truth)
        }
        (Worth::Term(left, by), Worth::Term(right, more)) => {
            let offset = more.checked_sub(by)?;
            of_terms(terms, comparison, *left, *right, &offset, truth)
        }
    }
}

fn holds(comparison: Comparison, order: Ordering) -> bool {
    match comparison {
        Comparison::Is => order.is_eq(),
        Comparison::IsNot => order.is_ne(),
        Comparison::Above | Comparison::After => order.is_gt(),
        Comparison::Below | Comparison::Before => order.is_lt(),
        Comparison::AtLeast => order.is_ge(),
        Comparison::AtMost => order.is_le(),
    }
}

fn known(comparison: Comparison, left: &Value<'_>, right: &Value<'_>) -> Option<bool> {
    let is = |same: bool| match comparison {
        Comparison::Is => Some(same),
        Comparison::IsNot => Some(!same),
        _ => None,
    };
    match (left, right) {
        (Value::Quantity(a), Value::Quantity(b)) => Some(holds(comparison, a.compare(b))),
        (Value::Quantity(value), Value::Range(range)) => Some(range.contains(value)),
        (Value::Day(a), Value::Day(b)) => Some(holds(comparison, a.cmp(b))),
        (Value::Text(a), Value::Text(b)) => is(a == b),
        (Value::Text(text), Value::Words(words)) => is(words.iter().any(|word| **word == **text)),
        (Value::Truth(a), Value::Truth(b)) => is(a == b),
        _ => None,
    }
}

fn with_known<'p>(
    terms: &mut Terms,
    comparison: Comparison,
    term: Term,
    by: &Number,
    value: &Value<'_>,
    truth: bool,
) -> Option<Formula<'p>> {
    let words = |words: Words| {
        let is = match comparison {
            Comparison::Is => truth,
            Comparison::IsNot => !truth,
            _ => return None,
        };
        Some(Formula::is(Fact::Words(term, if is { words } else { words.others() })))
    };
    match value {
        Value::Text(text) => words(Words::of([text.as_ref().into()])),
        Value::Words(known) => words(Words::of(known.iter().cloned())),
        Value::Truth(known) => words(Words::truth(*known)),
        Value::Quantity(quantity) => {
            terms.shown_in(term, quantity.unit());
            let limit = quantity.base().checked_sub(by)?;
            let numbers = compared_with(comparison, &limit);
            let numbers = if truth { numbers } else { numbers.others() };
            Some(Formula::is(Fact::Numbers(term, numbers)))
        }
        Value::Range(range) => within(terms, term, by, range, truth),
        Value::Day(day) => {
            let start = jiff::civil::Date::constant(1970, 1, 1);
            let days = day.since(start).ok()?.get_days();
            let day_of =
                terms.add(Node::Made("day", String::new(), vec![term]), Sort::computed(Kind::NUMBER));
            let numbers = compared_with(comparison, &Number::from(i64::from(days)));
            let numbers = if truth { numbers } else { numbers.others() };
            by.is_zero().then(|| Formula::is(Fact::Numbers(day_of, numbers)))
        }
        _ => None,
    }
}

fn within<'p>(terms: &mut Terms, term: Term, by: &Number, range: &Range, truth: bool) -> Option<Formula<'p>> {
    let end = range.low().or(range.high());
    terms.shown_in(term, end.and_then(|limit: &crate::quantity::Limit| Quantity::unit(&limit.value)));
    let numbers = Numbers::within(range, by)?;
    let numbers = if truth { numbers } else { numbers.others() };
    Some(Formula::is(Fact::Numbers(term, numbers)))
}

fn compared_with(comparison: Comparison, limit: &Number) -> Numbers {
    match comparison {
        Comparison::Is => Numbers::point(limit),
        Comparison::IsNot => Numbers::point(limit).others(),
        Comparison::Above | Comparison::After => Numbers::from(limit, false),
        Comparison::Below | Comparison::Before => Numbers::up_to(limit, false),
        Comparison::AtLeast => Numbers::from(limit, true),
        Comparison::AtMost => Numbers::up_to(limit, true),
    }
}

/// Two values of which neither is known: `left` against `right` and so much more.
fn of_terms<'p>(
    terms: &Terms,
    comparison: Comparison,
    left: Term,
    right: Term,
    offset: &Number,
    truth: bool,
) -> Option<Formula<'p>> {
    let comparison = if truth { comparison } else { opposite(comparison) };
    match (terms.sort(left), terms.sort(right)) {
        (Sort::Words(_), Sort::Words(_)) => {
            Some(Formula::is(Fact::Same(left, right, comparison == Comparison::Is)))
        }
        (Sort::Number { .. }, Sort::Number { .. })
        | (Sort::Time { day: false }, Sort::Time { day: false })
        | (Sort::Time { day: true }, Sort::Time { day: true }) => {
            // left − right ≤ offset, and the other way round.
            let below = |below| apart(left, right, offset.clone(), below);
            let above = |above| apart(right, left, -offset, above);
            Some(match comparison {
                Comparison::Is => Formula::all([below(false), above(false)]),
                Comparison::IsNot => Formula::any([below(true), above(true)]),
                Comparison::Below | Comparison::Before => below(true),
                Comparison::AtMost => below(false),
                Comparison::Above | Comparison::After => above(true),
                Comparison::AtLeast => above(false),
            })
        }
        _ => None,
    }
}

fn apart<'p>(high: Term, low: Term, most: Number, below: bool) -> Formula<'p> {
    Formula::is(Fact::Apart { high, low, most, below })
}

fn opposite(comparison: Comparison) -> Comparison {
    match comparison {
        Comparison::Is => Comparison::IsNot,
        Comparison::IsNot => Comparison::Is,
        Comparison::Above | Comparison::After => Comparison::AtMost,
        Comparison::Below | Comparison::Before => Comparison::AtLeast,
        Comparison::AtLeast => Comparison::Below,
        Comparison::AtMost => Comparison::Above,
    }
}
