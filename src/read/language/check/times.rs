//! The types of sums in which a time stands.

use crate::code::TYPE_MISMATCH;
use crate::diagnostic::Diagnostic;
use crate::language::ast::Arithmetic;
use crate::language::typed::Expr;
use crate::language::types::Type;
use crate::quantity::{Kind, KindName};

/// What the arithmetic of times gives: what lies between two, or a time a while before or after another.
pub(super) fn time_arithmetic(sign: Arithmetic, left: &Type, right: &Type) -> Option<Type> {
    let duration = Kind::from(KindName::Duration);
    match (sign, left, right) {
        (Arithmetic::Subtract | Arithmetic::Elapsed, Type::Moment, Type::Moment)
        | (Arithmetic::Subtract | Arithmetic::Elapsed, Type::Day, Type::Day) => {
            Some(Type::Quantity(duration))
        }
        (Arithmetic::Add | Arithmetic::Subtract, Type::Moment, Type::Quantity(kind))
        | (Arithmetic::Add, Type::Quantity(kind), Type::Moment)
            if *kind == duration =>
        {
            Some(Type::Moment)
        }
        _ => None,
    }
}

/// What is wrong where a time stands in a sum and its partner does not go with it.
pub(super) fn beside_time(sign: Arithmetic, left: &Expr, right: &Expr) -> Option<Diagnostic> {
    let is_time = |side: &Expr| matches!(side.ty, Type::Moment | Type::Day);
    let error = |side: &Expr, wanted: &str| {
        let message = format!("{wanted}, and this is {}", side.ty);
        Diagnostic::error(TYPE_MISMATCH, side.place, message)
    };
    if sign == Arithmetic::Elapsed {
        let wrong = [left, right].into_iter().find(|side| !is_time(side))?;
        return Some(error(wrong, "`duration of` wants something with the times `started` and `ended`"));
    }
    match (is_time(left), is_time(right), sign) {
        (true, false, Arithmetic::Add | Arithmetic::Subtract) => Some(
            error(right, "beside a time stands another time or a duration")
                .help("give a number its unit: `10 min`; of a step name one of its times: `step.ended`"),
        ),
        (false, true, Arithmetic::Subtract) => Some(
            error(left, "a time can only be taken from another time")
                .help("of a step name one of its times: `step.ended`"),
        ),
        _ => None,
    }
}
