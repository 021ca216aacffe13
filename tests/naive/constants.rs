//! Constants that have no answer: what the checker refuses beforehand must be missing by the naive
//! evaluator too.

use serde_yaml::Value as Yaml;

use witnessmark::language::ast::{Arithmetic, Case, Expr, ExprKind, File, Item, Rule};
use witnessmark::source::Span;

use super::evaluate::{Naive, Scope};
use super::figures::exact;
use super::program::Stated;
use super::value::{Known, Value};

/// Whether the expression at this place has operands that are all known, and no value all the same.
pub fn has_no_answer(file: &File, text: &str, givens: &[Stated], span: Span) -> bool {
    let record = Yaml::Null;
    // The names that the rule around it gives.
    let around = |rule: &Rule| rule.span.start <= span.start && span.end <= rule.span.end;
    let lets = file.items.iter().find_map(|item| match item {
        Item::Rule(rule) if around(rule) => Some(rule.lets.as_slice()),
        _ => None,
    });
    let naive = Naive { file, text, givens, record: &record, lets: lets.unwrap_or_default(), mutation: None };
    let mut found = None;
    for expr in file.items.iter().flat_map(expressions) {
        find(expr, span, &mut found);
    }
    let Some(expr) = found else { return false };
    if let ExprKind::Arithmetic(Arithmetic::Divide, _, divisor) = &expr.kind {
        let divisor = constant(&naive, divisor);
        return matches!(divisor, Ok(Value::Amount(divisor)) if divisor.base == exact("0"));
    }
    // Of a range or a sum whose parts are the same for all entries, whichever that are.
    let entry = |expr: &Expr| matches!(expr.kind, ExprKind::Of { .. });
    let parts = inner(expr);
    let known = parts.iter().all(|operand| constant(&naive, operand).is_ok());
    known && (parts.iter().any(|part| entry(part)) || naive.value(expr, &Scope::new()).is_err())
}

/// The value of an expression that is the same whatever is judged.
fn constant<'n>(naive: &Naive<'n>, expr: &'n Expr) -> Known<Value> {
    if let ExprKind::Of { name, .. } = &expr.kind
        && let Some(Item::Let(named)) = naive.named(std::slice::from_ref(name), &Scope::new())
    {
        return constant(naive, &named.value);
    }
    naive.value(expr, &Scope::new())
}

fn expressions(item: &Item) -> Vec<&Expr> {
    match item {
        Item::Standard(standard) => standard.condition.iter().collect(),
        Item::Use(_) | Item::Base(_) => Vec::new(),
        Item::Let(named) => vec![&named.value],
        Item::Parameter(parameter) => parameter.default.iter().collect(),
        Item::Table(table) => table.rows.iter().map(|row| &row.value).collect(),
        Item::Rule(rule) => {
            let concerns = rule.concerns.iter();
            let conditions = concerns.flat_map(|concerns| {
                let each = concerns.subjects.iter().filter_map(|each| each.condition.as_ref());
                concerns.condition.iter().chain(each)
            });
            conditions.chain(rule.lets.iter().map(|own| &own.value)).chain(&rule.demands).collect()
        }
    }
}

/// The outermost expression at this place.
fn find<'e>(expr: &'e Expr, span: Span, found: &mut Option<&'e Expr>) {
    if found.is_none() && expr.span == span {
        *found = Some(expr);
    }
    for part in inner(expr) {
        find(part, span, found);
    }
}

fn inner(expr: &Expr) -> Vec<&Expr> {
    match &expr.kind {
        ExprKind::Number(_)
        | ExprKind::Quantity(_)
        | ExprKind::Text(_)
        | ExprKind::Truth(_)
        | ExprKind::WordList(_)
        | ExprKind::EntriesOf(_)
        | ExprKind::Day(_)
        | ExprKind::Path(_)
        | ExprKind::Rate(_)
        | ExprKind::Recorded(_) => Vec::new(),
        ExprKind::Lookup { keys, .. } => keys.iter().collect(),
        ExprKind::Call { arguments, .. } => arguments.iter().collect(),
        ExprKind::Of { entry, .. } => vec![entry],
        ExprKind::Cases(cases) => cases.iter().flat_map(Case::parts).collect(),
        ExprKind::Range(range) => range.operands().collect(),
        ExprKind::Not(a) | ExprKind::Minus(a) | ExprKind::Decided(_, a) => vec![a],
        ExprKind::Timed(timed) => timed.operands().collect(),
        ExprKind::Logic(_, a, b)
        | ExprKind::Arithmetic(_, a, b)
        | ExprKind::Compare(_, a, b)
        | ExprKind::Within(a, b) => vec![a, b],
        ExprKind::OneOf { value, options, .. } => std::iter::once(&**value).chain(options).collect(),
        ExprKind::Quantified { condition, body, .. } => {
            condition.iter().map(|condition| &**condition).chain([&**body]).collect()
        }
        ExprKind::Aggregate { value, condition, .. } => {
            value.iter().chain(condition).map(|part| &**part).collect()
        }
    }
}
