//! A compact form of the syntax tree for assertions.

use witnessmark::language::ast::{Case, Expr, ExprKind, RangeForm, Timed, When};

/// An expression with every operation in brackets.
pub fn show(expr: &Expr) -> String {
    let all = |exprs: &[Expr]| exprs.iter().map(show).collect::<Vec<_>>().join(", ");
    let filter = |condition: &Option<Box<Expr>>| {
        condition.as_ref().map_or(String::new(), |c| format!(" where {}", show(c)))
    };
    match &expr.kind {
        ExprKind::Number(number) => number.to_string(),
        ExprKind::Quantity(quantity) => quantity.to_string(),
        ExprKind::Text(text) => format!("{text:?}"),
        ExprKind::Truth(truth) => truth.to_string(),
        ExprKind::Day(day) => day.to_string(),
        ExprKind::WordList(words) => {
            format!("[{}]", words.iter().map(|word| word.node.as_str()).collect::<Vec<_>>().join(", "))
        }
        ExprKind::EntriesOf(lists) => format!("[{}]", all(lists)),
        ExprKind::Path(names) => names.iter().map(|name| name.node.as_str()).collect::<Vec<_>>().join("."),
        ExprKind::Lookup { table, keys } => format!("{} for ({})", table.node, all(keys)),
        ExprKind::Call { function, arguments } => format!("{}({})", function.node, all(arguments)),
        ExprKind::Of { name, entry } => format!("({} of {})", name.node, show(entry)),
        ExprKind::Cases(cases) => {
            let case = |case: &Case<Expr>| match &case.condition {
                Some(condition) => format!("{} where {}", show(&case.value), show(condition)),
                None => show(&case.value),
            };
            format!("({})", cases.iter().map(case).collect::<Vec<_>>().join(" | "))
        }
        ExprKind::Range(range) => show_range(range),
        ExprKind::Not(inner) => format!("(not {})", show(inner)),
        ExprKind::Minus(inner) => format!("(minus {})", show(inner)),
        ExprKind::Logic(logic, a, b) => format!("({} {logic:?} {})", show(a), show(b)),
        ExprKind::Arithmetic(arithmetic, a, b) => format!("({} {arithmetic:?} {})", show(a), show(b)),
        ExprKind::Compare(comparison, a, b) => format!("({} {comparison:?} {})", show(a), show(b)),
        ExprKind::Within(a, b) => format!("({} Within {})", show(a), show(b)),
        ExprKind::OneOf { value, negated, options } => {
            format!("({} {} [{}])", show(value), if *negated { "NotOneOf" } else { "OneOf" }, all(options))
        }
        ExprKind::Decided(rule, inner) => format!("({} by {rule:?})", show(inner)),
        ExprKind::Recorded(path) => format!("(recorded {})", show(path)),
        ExprKind::Rate(path) => format!("(rate {})", show(path)),
        ExprKind::Timed(timed) => show_timed(timed),
        ExprKind::Quantified { quantifier, variable, list, condition, body } => {
            format!(
                "({quantifier:?} {} in {}{}: {})",
                variable.node,
                show(list),
                filter(condition),
                show(body)
            )
        }
        ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
            let value = value.as_ref().map_or(String::new(), |value| format!(" {} over", show(value)));
            let variable = variable.as_ref().map_or(String::new(), |name| format!(" {} in", name.node));
            format!("({aggregate:?}{value}{variable} {}{})", show(list), filter(condition))
        }
    }
}

fn show_timed(timed: &Timed<Expr>) -> String {
    let when = match &timed.when {
        When::Throughout => "throughout".to_owned(),
        When::AtSomeMoment => "some moment".to_owned(),
        When::HeldFor(duration) => format!("held {}", show(duration)),
        When::Until(then) => format!("until {}", show(then)),
    };
    let gaps = timed.gaps.as_ref().map_or(String::new(), |gaps| format!(" gaps {}", show(gaps)));
    format!("({when} [{} .. {}]{gaps}: {})", show(&timed.from), show(&timed.to), show(&timed.body))
}

fn show_range(range: &RangeForm<Expr>) -> String {
    match range {
        RangeForm::Between(a, b) => format!("[{} .. {}]", show(a), show(b)),
        RangeForm::PlusMinus(a, b) => format!("[{} ± {}]", show(a), show(b)),
        RangeForm::PlusAndMinus(a, b, c) => format!("[{} + {} - {}]", show(a), show(b), show(c)),
        RangeForm::AtLeast(a) => format!("[at least {}]", show(a)),
        RangeForm::AtMost(a) => format!("[at most {}]", show(a)),
        RangeForm::Above(a) => format!("[above {}]", show(a)),
        RangeForm::Below(a) => format!("[below {}]", show(a)),
    }
}
