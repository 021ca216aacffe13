//! What can be changed within an expression. A new change is a function and its row in [`OPERATORS`].

use std::borrow::Cow;
use std::sync::Arc;

use super::limits::{moved, near, of_range};
use crate::language::ast::{
    Aggregate, Arithmetic, Case, Comparison, Logic, Quantifier, RangeForm, Timed, When,
};
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::Quantity;
use crate::source::{Place, Sources};
use crate::value::Value;

/// Changes of one part of an expression.
pub(super) struct Changes<'s> {
    pub(super) sources: &'s Sources,
    /// What is there instead, how that is said, and limits near to it.
    pub(super) found: Vec<(ExprKind, String, Vec<Quantity>)>,
}

impl Changes<'_> {
    fn add(&mut self, kind: ExprKind, what: impl Into<String>) {
        self.found.push((kind, what.into(), Vec::new()));
    }

    fn near(&mut self, kind: ExprKind, what: String, limits: Vec<Quantity>) {
        self.found.push((kind, what, limits));
    }

    fn said(&self, place: Place) -> String {
        said(self.sources, place)
    }
}

/// What is written at a place, on one line.
pub(super) fn said(sources: &Sources, place: Place) -> String {
    sources.text_at(place).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every change of a part.
pub(super) const OPERATORS: &[fn(&Expr, &mut Changes<'_>)] = &[
    limit,
    day,
    text,
    words,
    truth,
    options,
    comparison,
    order,
    form_of_range,
    connective,
    not,
    quantifier,
    aggregate,
    condition_of_entries,
    arithmetic,
    case,
    lists,
    stretch,
    decision,
];

fn limit(expr: &Expr, changes: &mut Changes<'_>) {
    match &expr.kind {
        ExprKind::Constant(Value::Quantity(limit)) => {
            for value in moved(limit) {
                let what = format!("{limit} is {value}");
                let limits = near(limit).chain(moved(&value)).collect();
                changes.near(ExprKind::Constant(Value::Quantity(value)), what, limits);
            }
        }
        ExprKind::Constant(Value::Range(range)) => {
            let ends = [range.low(), range.high()];
            let limits: Vec<Quantity> = ends.into_iter().flatten().flat_map(|end| near(&end.value)).collect();
            for (range, what) in of_range(range) {
                changes.near(ExprKind::Constant(Value::Range(range)), what, limits.clone());
            }
        }
        _ => {}
    }
}

fn day(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Constant(Value::Day(day)) = &expr.kind else { return };
    for other in [day.yesterday(), day.tomorrow()].into_iter().flatten() {
        changes.add(ExprKind::Constant(Value::Day(other)), format!("{day} is {other}"));
    }
}

/// A word that nobody writes.
const ANOTHER: &str = "another word";

fn text(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Constant(Value::Text(text)) = &expr.kind else { return };
    changes.add(ExprKind::Constant(Value::Text(Cow::Borrowed(ANOTHER))), format!("\"{text}\" is {ANOTHER}"));
}

fn words(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Constant(Value::Words(words)) = &expr.kind else { return };
    for left_out in words.iter() {
        let others: Vec<Arc<str>> = words.iter().filter(|word| *word != left_out).cloned().collect();
        changes.add(
            ExprKind::Constant(Value::Words(others.into())),
            format!("\"{left_out}\" is not among them"),
        );
    }
}

fn truth(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Constant(Value::Truth(truth)) = &expr.kind else { return };
    let word = |truth| if truth { "yes" } else { "no" };
    let what = format!("`{}` is `{}`", word(*truth), word(!truth));
    changes.add(ExprKind::Constant(Value::Truth(!truth)), what);
}

fn options(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::OneOf { value, negated, options } = &expr.kind else { return };
    let same = |negated, options| ExprKind::OneOf { value: value.clone(), negated, options };
    let (was, is) = if *negated { ("is not one of", "is one of") } else { ("is one of", "is not one of") };
    changes.add(same(!negated, options.clone()), format!("`{was}` is `{is}`"));
    if options.len() > 1 {
        for (number, option) in options.iter().enumerate() {
            let mut others = options.clone();
            others.remove(number);
            let what = format!("{} is not among them", changes.said(option.place));
            changes.add(same(*negated, others), what);
        }
    }
}

/// The words with which a comparison is mixed up.
fn others(comparison: Comparison) -> &'static [Comparison] {
    match comparison {
        Comparison::Is => &[Comparison::IsNot],
        Comparison::IsNot => &[Comparison::Is],
        Comparison::Above => &[Comparison::AtLeast, Comparison::Below],
        Comparison::Below => &[Comparison::AtMost, Comparison::Above],
        Comparison::AtLeast => &[Comparison::Above, Comparison::AtMost],
        Comparison::AtMost => &[Comparison::Below, Comparison::AtLeast],
        Comparison::Before => &[Comparison::After],
        Comparison::After => &[Comparison::Before],
    }
}

fn comparison(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Compare(word, left, right) = &expr.kind else { return };
    let limits: Vec<Quantity> =
        [left, right].into_iter().filter_map(|side| side.constant_quantity()).flat_map(near).collect();
    for other in others(*word) {
        let kind = ExprKind::Compare(*other, left.clone(), right.clone());
        changes.near(kind, format!("`{}` is `{}`", word.words(), other.words()), limits.clone());
    }
}

fn order(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::InOrder(word, left, right) = &expr.kind else { return };
    for other in others(*word) {
        let kind = ExprKind::InOrder(*other, left.clone(), right.clone());
        changes.add(kind, format!("`{}` is `{}`", word.words(), other.words()));
    }
}

fn form_of_range(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Range(form) = &expr.kind else { return };
    let (form, what) = match &**form {
        RangeForm::AtLeast(limit) => (RangeForm::Above(limit.clone()), "`at least` is `above`"),
        RangeForm::AtMost(limit) => (RangeForm::Below(limit.clone()), "`at most` is `below`"),
        RangeForm::Above(limit) => (RangeForm::AtLeast(limit.clone()), "`above` is `at least`"),
        RangeForm::Below(limit) => (RangeForm::AtMost(limit.clone()), "`below` is `at most`"),
        RangeForm::Between(low, high) => {
            let (low, high) = (low.clone(), high.clone());
            changes.add(ExprKind::Range(Box::new(RangeForm::AtLeast(low))), "its upper limit is gone");
            (RangeForm::AtMost(high), "its lower limit is gone")
        }
        RangeForm::PlusMinus(..) | RangeForm::PlusAndMinus(..) => return,
    };
    changes.add(ExprKind::Range(Box::new(form)), what);
}

fn connective(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Logic(logic, left, right) = &expr.kind else { return };
    let (other, what) = match logic {
        Logic::And => (Some(Logic::Or), "`and` is `or`"),
        Logic::Or => (Some(Logic::And), "`or` is `and`"),
        Logic::Implies => (None, ""),
    };
    if let Some(other) = other {
        changes.add(ExprKind::Logic(other, left.clone(), right.clone()), what);
        // A side that is itself a chain of the same word loses its own sides one by one.
        if !matches!(&right.kind, ExprKind::Logic(inner, ..) if inner == logic) {
            changes.add(left.kind.clone(), format!("`{}` is gone", changes.said(right.place)));
        }
    }
    if !matches!(&left.kind, ExprKind::Logic(inner, ..) if inner == logic) || *logic == Logic::Implies {
        changes.add(right.kind.clone(), format!("`{}` is gone", changes.said(left.place)));
    }
}

fn not(expr: &Expr, changes: &mut Changes<'_>) {
    if let ExprKind::Not(inner) = &expr.kind {
        changes.add(inner.kind.clone(), "`not` is gone");
    }
}

fn quantifier(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Quantified { quantifier, slot, list, condition, body } = &expr.kind else { return };
    let word = |quantifier| match quantifier {
        Quantifier::Every => "every",
        Quantifier::Some => "some",
        Quantifier::No => "no",
    };
    for other in [Quantifier::Every, Quantifier::Some, Quantifier::No] {
        if other != *quantifier {
            let kind = ExprKind::Quantified {
                quantifier: other,
                slot: *slot,
                list: list.clone(),
                condition: condition.clone(),
                body: body.clone(),
            };
            changes.add(kind, format!("`{}` is `{}`", word(*quantifier), word(other)));
        }
    }
}

fn aggregate(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Aggregate { aggregate, value, slot, list, condition } = &expr.kind else { return };
    let (others, word): (&[(Aggregate, &str)], &str) = match aggregate {
        Aggregate::Least => (&[(Aggregate::Greatest, "greatest")], "least"),
        Aggregate::Greatest => (&[(Aggregate::Least, "least")], "greatest"),
        Aggregate::Sum => (&[(Aggregate::Greatest, "greatest")], "sum"),
        Aggregate::Count | Aggregate::All => (&[], ""),
    };
    for (other, is) in others {
        let kind = ExprKind::Aggregate {
            aggregate: *other,
            value: value.clone(),
            slot: *slot,
            list: list.clone(),
            condition: condition.clone(),
        };
        changes.add(kind, format!("`{word}` is `{is}`"));
    }
}

/// A `where` within an expression is gone.
fn condition_of_entries(expr: &Expr, changes: &mut Changes<'_>) {
    let mut without = expr.kind.clone();
    let condition = match &mut without {
        ExprKind::Quantified { condition, .. } | ExprKind::Aggregate { condition, .. } => condition.take(),
        _ => None,
    };
    if let Some(condition) = condition {
        changes.add(without, format!("`where {}` is gone", changes.said(condition.place)));
    }
}

fn arithmetic(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Arithmetic(operation, left, right) = &expr.kind else { return };
    let (other, what) = match operation {
        Arithmetic::Add => (Arithmetic::Subtract, "`+` is `−`"),
        Arithmetic::Subtract => (Arithmetic::Add, "`−` is `+`"),
        Arithmetic::Elapsed | Arithmetic::Multiply | Arithmetic::Divide => return,
    };
    changes.add(ExprKind::Arithmetic(other, left.clone(), right.clone()), what);
}

fn case(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Cases(cases) = &expr.kind else { return };
    for (number, case) in cases.iter().enumerate() {
        let Some(condition) = &case.condition else { continue };
        let others = |keep: &dyn Fn(usize) -> bool| -> Vec<Case<Expr>> {
            let kept = cases.iter().enumerate().filter(|(number, _)| keep(*number));
            kept.map(|(_, case)| case.clone()).collect()
        };
        let said = changes.said(condition.place);
        changes.add(
            ExprKind::Cases(others(&|other| other != number)),
            format!("the case `where {said}` is gone"),
        );
    }
}

/// One of several lists is gone.
fn lists(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Entries(lists) = &expr.kind else { return };
    for (number, list) in lists.iter().enumerate().filter(|_| lists.len() > 1) {
        let mut others = lists.clone();
        others.remove(number);
        changes
            .add(ExprKind::Entries(others), format!("`{}` is not among the lists", changes.said(list.place)));
    }
}

fn stretch(expr: &Expr, changes: &mut Changes<'_>) {
    let ExprKind::Timed(timed) = &expr.kind else { return };
    let (when, what) = match timed.when {
        When::Throughout => (When::AtSomeMoment, "`throughout` is `at some moment in`"),
        When::AtSomeMoment => (When::Throughout, "`at some moment in` is `throughout`"),
        When::HeldFor(_) | When::Until(_) => (timed.when.clone(), ""),
    };
    if !what.is_empty() {
        changes.add(ExprKind::Timed(Box::new(Timed { when, ..(**timed).clone() })), what);
    }
    if let Some(gaps) = &timed.gaps {
        let what = format!("the most that entries lie apart, {}, is gone", changes.said(gaps.place));
        changes.add(ExprKind::Timed(Box::new(Timed { gaps: None, ..(**timed).clone() })), what);
    }
}

fn decision(expr: &Expr, changes: &mut Changes<'_>) {
    if let ExprKind::Decided(rule, inner) = &expr.kind {
        changes.add(inner.kind.clone(), format!("`by {rule}` is gone"));
    }
}
