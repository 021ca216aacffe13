//! What can be compared with what.

use std::sync::Arc;

use super::bare::meant;
use crate::code::{NO_SUCH_WORD, ORDER_OF_TEXT, TYPE_MISMATCH};
use crate::diagnostic::{At, Diagnostic, Fault, nearest};
use crate::document::{Field, Record, Shape};
use crate::language::ast::Comparison;
use crate::language::builtins::Wants;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::letters::{look_alike, said};
use crate::quantity::{Kind, KindName};
use crate::value::Value;

/// Whether values of the two types can stand for the same thing.
pub(super) fn same_sort(wanted: &Type, found: &Type) -> bool {
    match (wanted, found) {
        (Type::Mistaken, _) | (_, Type::Mistaken) | (Type::Truth, Type::Truth) => true,
        (Type::Quantity(a), Type::Quantity(b)) | (Type::Range(a), Type::Range(b)) => a.comparable(*b).is_ok(),
        (wanted, found) if wanted.is_text() => found.is_text(),
        (Type::Words(_), Type::Words(_)) => true,
        (Type::Day, Type::Day) | (Type::Moment, Type::Moment) => true,
        _ => false,
    }
}

/// Checks that a text is one of the words of a closed list.
pub(super) fn word_of(text: &str, words: &[Arc<str>]) -> Result<(), Fault> {
    if words.iter().any(|word| &**word == text) {
        return Ok(());
    }
    let list = words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
    let fault = Fault::new(NO_SUCH_WORD, format!("\"{text}\" is not one of the words possible here"));
    Err(match nearest(text, words.iter().map(|word| &**word)) {
        Some(near) if look_alike(text, near) => fault.help(said(text, near)),
        Some(near) => fault.help(format!("did you mean \"{near}\"? The words are {list}")),
        None => fault.help(format!("the words are {list}")),
    })
}

/// The kind of an operand that must be a quantity; `None` after a mistake.
pub(super) fn quantity_kind(operand: &Expr, of: &str) -> Result<Option<Kind>, Diagnostic> {
    match &operand.ty {
        Type::Quantity(kind) => Ok(Some(*kind)),
        Type::Mistaken => Ok(None),
        other => {
            let message = format!("{of} wants a quantity, and this is {other}");
            let diagnostic = Diagnostic::error(TYPE_MISMATCH, operand.place, message);
            Err(match other {
                Type::Log(..) => diagnostic.help(
                    "say over which stretch of time: `throughout …: … at least …`, with the log written first",
                ),
                _ => diagnostic,
            })
        }
    }
}

pub(super) fn comparable(left: Kind, right: Kind, a: &Expr, b: &Expr) -> Result<Kind, Diagnostic> {
    left.comparable(right)
        .at(b.place)
        .map_err(|diagnostic| diagnostic.labelled(b.ty.to_string()).and_at(a.place, a.ty.to_string()))
        .map_err(|diagnostic| helped(diagnostic, (left, a), (right, b)))
}

/// The mistake of two values that do not go together, with what was probably meant by a fixed one of them.
pub(super) fn helped(
    diagnostic: Diagnostic,
    (a, left): (Kind, &Expr),
    (b, right): (Kind, &Expr),
) -> Diagnostic {
    match meant(a, b, right).or_else(|| meant(b, a, left)) {
        Some(help) => diagnostic.help(help),
        None => diagnostic,
    }
}

pub(super) fn equal_sort(left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    match (&left.ty, &right.ty) {
        (Type::Quantity(a), Type::Quantity(b)) => comparable(*a, *b, left, right).map(drop),
        (Type::Quantity(_), Type::Range(_)) => Err(Diagnostic::error(
            TYPE_MISMATCH,
            right.place,
            "`is` compares with a single value, and this is a range",
        )
        .help(match &right.kind {
            ExprKind::Constant(Value::Range(range)) => format!("write `within {range}`"),
            _ => "say `within`".to_owned(),
        })),
        (a, Type::Words(_)) if a.is_text() => Ok(()),
        (Type::Words(_), b) if b.is_text() || matches!(b, Type::Words(_)) => Err(Diagnostic::error(
            TYPE_MISMATCH,
            left.place,
            "a list of words is written behind `is`, and the value before it",
        )
        .help("write `value is list`, such as `s.role is plugs`")),
        (a, b) if same_sort(a, b) => Ok(()),
        (a, b) => {
            let message = format!("{a} can never be {b}");
            let diagnostic = Diagnostic::error(TYPE_MISMATCH, right.place, message)
                .labelled(b.to_string())
                .and_at(left.place, a.to_string());
            Err(match (a, &right.kind) {
                (Type::Truth, ExprKind::Constant(Value::Text(text))) if matches!(&**text, "yes" | "no") => {
                    diagnostic.help(format!("write `{text}` without quotes"))
                }
                _ => diagnostic,
            })
        }
    }
}

pub(super) fn order_sort(comparison: Comparison, left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    let word = format!("`{}`", comparison.words());
    if left.ty.is_time() && right.ty.is_time() {
        return Err(Diagnostic::error(ORDER_OF_TEXT, left.place, format!("{word} compares quantities"))
            .help("times are compared with `before` and `after`"));
    }
    let (a, b) = (quantity_kind(left, &word)?, quantity_kind(right, &word)?);
    match (a, b) {
        (Some(a), Some(b)) => comparable(a, b, left, right).map(drop),
        _ => Ok(()),
    }
}

/// The field that says when an entry was, and its number.
fn time_field(record: &Record) -> Option<(u16, &Field)> {
    let index = record.when?;
    Some((index, record.fields.get(usize::from(index))?))
}

/// The time of an entry of which a rule says that it comes before or after another; the operand itself
/// where it is no entry.
pub(super) fn time_of_entry(operand: Expr) -> Result<Expr, Diagnostic> {
    let Type::Record(record) = &operand.ty else { return Ok(operand) };
    let Some((index, field)) = time_field(record) else {
        let message = format!("nothing says when a {} was", record.title);
        let times = record.fields.iter().filter(|field| field.shape == Shape::Moment);
        let times: Vec<String> = times.map(|field| format!("`{}`", field.name)).collect();
        let diagnostic = Diagnostic::error(TYPE_MISMATCH, operand.place, message);
        return Err(match times.is_empty() {
            true => diagnostic,
            false => diagnostic.help(format!("name one of its times: {}", times.join(", "))),
        });
    };
    let (name, place) = (Arc::clone(&field.name), operand.place);
    Ok(Expr { kind: ExprKind::Field { base: Box::new(operand), index, name }, place, ty: Type::Moment })
}

/// What a group stands for where a single value is wanted: the field that a single value in its place would
/// be; the operand itself where it is no group, or one without a shorthand.
pub(super) fn short(operand: Expr) -> Expr {
    let Type::Record(record) = &operand.ty else { return operand };
    let declared = record.shorthand.and_then(|index| Some((index, record.fields.get(usize::from(index))?)));
    let Some((index, field)) = declared else { return operand };
    let (name, place, ty) = (Arc::clone(&field.name), operand.place, Type::of(&field.shape));
    Expr { kind: ExprKind::Field { base: Box::new(operand), index, name }, place, ty }
}

pub(super) fn time_sort(comparison: Comparison, left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    match [left, right].into_iter().find(|side| !side.ty.is_time()) {
        None => Ok(()),
        Some(side) => {
            let message = format!("`{}` compares times, and this is {}", comparison.words(), side.ty);
            let diagnostic = Diagnostic::error(TYPE_MISMATCH, side.place, message);
            Err(match &side.ty {
                Type::Record(record) => match time_field(record) {
                    Some((_, field)) => {
                        diagnostic.help(format!("name its time, `{}`, or compare two entries", field.name))
                    }
                    None => diagnostic,
                },
                Type::Quantity(kind) if *kind == Kind::NUMBER => diagnostic.help(
                    "a day is written with four digits and twice two, `2026-07-01`; the day of the run is `as_of`",
                ),
                _ => diagnostic,
            })
        }
    }
}

pub(super) fn argument_fits(
    argument: &Expr,
    name: &str,
    wants: Wants,
    first: Option<&Type>,
) -> Result<(), Diagnostic> {
    let like = |wanted: Kind, kind: Kind| {
        let fits = wanted.comparable(kind).at(argument.place).map(drop);
        fits.map_err(|diagnostic| match meant(wanted, kind, argument) {
            Some(help) => diagnostic.help(help),
            None => diagnostic,
        })
    };
    let fits = match (wants, &argument.ty) {
        (Wants::Text, ty) => ty.is_text(),
        (Wants::TextOrWords, ty) => ty.is_text() || matches!(ty, Type::Words(_)),
        (Wants::Quantity, Type::Quantity(_)) | (Wants::Range, Type::Range(_)) => true,
        (Wants::QuantityLikeFirst, Type::Quantity(kind)) => match first {
            Some(Type::Quantity(wanted)) => return like(*wanted, *kind),
            _ => false,
        },
        (Wants::RangeLikeFirst, Type::Range(kind)) => match first {
            Some(Type::Range(wanted) | Type::Quantity(wanted)) => {
                return like(*wanted, *kind);
            }
            _ => false,
        },
        (Wants::DistanceLikeFirst, Type::Quantity(kind)) => match first {
            Some(Type::Quantity(wanted)) => {
                return like(wanted.difference_kind(), *kind);
            }
            _ => false,
        },
        (Wants::Kind(wanted), Type::Quantity(kind)) => {
            return like(Kind::from(wanted), *kind);
        }
        (Wants::Coordinates, Type::Several(kind)) => {
            kind.is_number() || *kind == Kind::from(KindName::Length)
        }
        (Wants::Number, Type::Quantity(kind)) => kind.is_number(),
        (Wants::Numbers, Type::Several(kind)) => kind.is_number(),
        (Wants::Day, Type::Day) => true,
        (Wants::DayOrTime, ty) => ty.is_time(),
        _ => false,
    };
    if fits {
        return Ok(());
    }
    let wanted = match wants {
        Wants::Text => "a text".to_owned(),
        Wants::TextOrWords => "a text or a list of words".to_owned(),
        Wants::Quantity | Wants::QuantityLikeFirst | Wants::DistanceLikeFirst => "a quantity".to_owned(),
        Wants::Range | Wants::RangeLikeFirst => "a range".to_owned(),
        Wants::Kind(kind) => Kind::from(kind).with_article(),
        Wants::Number => "a plain number".to_owned(),
        Wants::Numbers => "several plain numbers, such as `all of … over … in …`".to_owned(),
        Wants::Coordinates => "several lengths, such as `all of … over … in …`".to_owned(),
        Wants::Day => "a day".to_owned(),
        Wants::DayOrTime => "a day or a time".to_owned(),
    };
    let message = format!("the argument `{name}` must be {wanted}, and this is {}", argument.ty);
    Err(Diagnostic::error(TYPE_MISMATCH, argument.place, message))
}
