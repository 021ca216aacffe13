//! Literals that leave something open: a bare `bar` is the pressure that it is compared with, and a figure without a
//! unit is no ratio.

use std::sync::Arc;

use crate::diagnostic::{At, Diagnostic};
use crate::language::ast::{self, RangeForm};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::quantity::{Kind, KindName, Number, Quantity, Range, Unit, with_unit_of};
use crate::value::Value;

/// A literal as the pressure that stands beside it, where its unit is bare: `1.2 bar` beside a gauge pressure is
/// `1.2 bar gauge`. Whatever was given a name or computed stays the difference that it is.
///
/// # Errors
/// A pressure below that of a vacuum.
pub(super) fn beside(written: &ast::Expr, typed: Expr, ty: &Type) -> Result<Expr, Diagnostic> {
    let Some(kind) = pressure_of(ty).filter(|_| is_bare(written)) else { return Ok(typed) };
    let place = typed.place;
    let (value, ty) = match &typed.kind {
        ExprKind::Constant(Value::Quantity(quantity)) => match quantity.on_scale(kind) {
            Some(scaled) => (Value::Quantity(scaled.above_zero_point().at(place)?), Type::Quantity(kind)),
            None => return Ok(typed),
        },
        ExprKind::Constant(Value::Range(range)) => match range.on_scale(kind) {
            Some(scaled) => {
                for limit in [scaled.low(), scaled.high()].into_iter().flatten() {
                    limit.value.clone().above_zero_point().at(place)?;
                }
                (Value::Range(Arc::new(scaled)), Type::Range(kind))
            }
            None => return Ok(typed),
        },
        _ => return Ok(typed),
    };
    Ok(Expr { kind: ExprKind::Constant(value), place, ty })
}

/// Both sides of a comparison, each as what the other one says.
pub(super) fn settled(
    (left, left_written): (Expr, &ast::Expr),
    (right, right_written): (Expr, &ast::Expr),
) -> Result<(Expr, Expr), Diagnostic> {
    let right = beside(right_written, right, &left.ty)?;
    let left = beside(left_written, left, &right.ty)?;
    Ok((left, right))
}

/// The gauge or the absolute pressure that a value, a range or a log is of.
fn pressure_of(ty: &Type) -> Option<Kind> {
    match ty {
        Type::Quantity(kind) | Type::Range(kind) | Type::Log(kind, _) => {
            Some(*kind).filter(|kind| kind.is_point() && kind.difference_kind() == KindName::Pressure.into())
        }
        _ => None,
    }
}

/// Whether it is written out with a bare unit of pressure.
fn is_bare(written: &ast::Expr) -> bool {
    match &written.kind {
        ast::ExprKind::Quantity(quantity) => quantity.kind() == KindName::Pressure.into(),
        ast::ExprKind::Minus(inner) => is_bare(inner),
        ast::ExprKind::Range(form) => match &**form {
            RangeForm::Between(low, high) => is_bare(low) && is_bare(high),
            RangeForm::PlusMinus(limit, _)
            | RangeForm::PlusAndMinus(limit, ..)
            | RangeForm::AtLeast(limit)
            | RangeForm::AtMost(limit)
            | RangeForm::Above(limit)
            | RangeForm::Below(limit) => is_bare(limit),
        },
        _ => false,
    }
}

/// What was probably meant by a fixed value of another kind than is wanted.
pub(super) fn meant(wanted: Kind, found: Kind, fixed: &Expr) -> Option<String> {
    if found == Kind::NUMBER && wanted == KindName::Ratio.into() {
        return share_meant(fixed);
    }
    let in_words = |quantity: Option<Quantity>, range: Option<Range>| {
        quantity.map(|quantity| quantity.to_string()).or_else(|| range.map(|range| range.to_string()))
    };
    if found == wanted.difference_kind() && pressure_of(&Type::Quantity(wanted)).is_some() {
        let text = in_words(
            fixed.constant_quantity().and_then(|quantity| quantity.on_scale(wanted)),
            constant_range(fixed).and_then(|range| range.on_scale(wanted)),
        )?;
        return Some(format!("a bare unit is a difference here; write `{text}` if that was meant"));
    }
    if wanted == found.difference_kind() && pressure_of(&Type::Quantity(found)).is_some() {
        let difference = fixed.constant_quantity()?;
        let unit = difference.unit()?.difference();
        let text = Quantity::new(difference.magnitude().clone(), unit);
        return Some(format!("for a difference of two pressures write `{text}`"));
    }
    if let Some(range) = constant_range(fixed).filter(|_| found == Kind::NUMBER && wanted != Kind::NUMBER) {
        let text = with_unit_of(&range.to_string(), wanted)?;
        return Some(format!("give it its unit: `{text}`, if that was meant"));
    }
    if found == Kind::NUMBER && wanted != Kind::NUMBER {
        let value = fixed.constant_quantity()?;
        let units = Unit::examples(wanted);
        let usual = units.split([',', ' ']).next().filter(|unit| !unit.is_empty())?;
        return Some(format!("give its unit: `{value} {usual}`, if that was meant"));
    }
    let value = fixed.constant_quantity()?;
    // Kelvins without another word are a difference of temperatures.
    (wanted == KindName::Temperature.into() && found == wanted.difference_kind())
        .then(|| format!("a temperature is written in °C, or as `{value} absolute`; K alone is a difference"))
}

/// The ratio that was probably meant by plain numbers. From 1 downwards it may be a share of one.
fn share_meant(fixed: &Expr) -> Option<String> {
    let percent = Unit::find("%").ok()?;
    let figure = |quantity: &Quantity, times: i64| {
        Quantity::new((quantity.magnitude() * &Number::from(times)).reduced(), percent)
    };
    let (as_written, times_hundred, greatest) = match (fixed.constant_quantity(), constant_range(fixed)) {
        (Some(value), _) => {
            (figure(value, 1).to_string(), figure(value, 100).to_string(), value.magnitude().abs())
        }
        (None, Some(range)) => {
            let text = |times| range.with_limits(|value| Some(figure(value, times)));
            let ends = [range.low(), range.high()].into_iter().flatten();
            let greatest = ends.map(|limit| limit.value.magnitude().abs()).max()?;
            (text(1)?.limits_text(), text(100)?.limits_text(), greatest)
        }
        (None, None) => return None,
    };
    if greatest > Number::ONE {
        return Some(format!(
            "write `{as_written}`; without a unit `{}` would be `{}`",
            greatest,
            figure(&greatest.clone().into(), 100)
        ));
    }
    Some(format!("write `{times_hundred}`, or `{as_written}` if that was meant"))
}

fn constant_range(expr: &Expr) -> Option<&Range> {
    match &expr.kind {
        ExprKind::Constant(Value::Range(range)) => Some(range),
        _ => None,
    }
}
