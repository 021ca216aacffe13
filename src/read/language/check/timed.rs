//! The types of what is asked of logs over a stretch of time.

use std::cmp::Ordering;

use super::comparability::quantity_kind;
use super::expression::mistaken;
use super::{Checker, Scope, bare};
use crate::code::TYPE_MISMATCH;
use crate::diagnostic::{At, Diagnostic};
use crate::language::ast::{self, Comparison, Timed, When};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::quantity::{Kind, KindName};
use crate::signal::Sampling;
use crate::source::Place;

impl Checker<'_> {
    pub(super) fn timed(
        &mut self,
        scope: &mut Scope,
        written: &Timed<ast::Expr>,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let from = self.instant(scope, &written.from);
        let to = self.instant(scope, &written.to);
        let gaps = written.gaps.as_ref().map(|gaps| self.duration(scope, gaps, "`with gaps at most`"));
        let when = match &written.when {
            When::Throughout => When::Throughout,
            When::AtSomeMoment => When::AtSomeMoment,
            When::HeldFor(duration) => When::HeldFor(self.duration(scope, duration, "`held for at least`")),
            When::Until(then) => When::Until(self.over_time(scope, then)),
        };
        let body = self.over_time(scope, &written.body);
        let timed = Timed { when, from, to, gaps, body };
        if timed.operands().any(|operand| operand.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        let asked = match &timed.when {
            When::Until(then) => asks_a_log(then) || asks_a_log(&timed.body),
            _ => asks_a_log(&timed.body),
        };
        if !asked {
            let message = "nothing that is asked here changes with time";
            return Err(Diagnostic::error(TYPE_MISMATCH, timed.body.place, message)
                .help("compare a log, or take the stretch of time away"));
        }
        Ok(Expr { kind: ExprKind::Timed(Box::new(timed)), place, ty: Type::Truth })
    }

    /// Types the rate of a log.
    pub(super) fn rate(
        &mut self,
        scope: &mut Scope,
        written: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let log = self.expr(scope, written);
        match log.ty {
            Type::Mistaken => Ok(mistaken(place)),
            Type::Log(_, Sampling::Held) => {
                let message = "what keeps its value from one entry of the log to the next has no rate";
                Err(Diagnostic::error(TYPE_MISMATCH, log.place, message))
            }
            Type::Log(kind, Sampling::Linear) => {
                let kind = kind.difference_kind().quotient(KindName::Duration.into()).at(place)?;
                let ty = Type::Log(kind, Sampling::Linear);
                Ok(Expr { kind: ExprKind::Rate(Box::new(log)), place, ty })
            }
            other => {
                let message = format!("`rate of` wants a log, and this is {other}");
                Err(Diagnostic::error(TYPE_MISMATCH, log.place, message))
            }
        }
    }

    /// Types what is asked of each instant: comparisons of logs, joined by words.
    fn over_time(&mut self, scope: &mut Scope, written: &ast::Expr) -> Expr {
        let place = scope.place(written.span);
        let kind = match &written.kind {
            ast::ExprKind::Not(inner) => ExprKind::Not(Box::new(self.over_time(scope, inner))),
            ast::ExprKind::Logic(logic, left, right) => {
                let (left, right) = (self.over_time(scope, left), self.over_time(scope, right));
                ExprKind::Logic(*logic, Box::new(left), Box::new(right))
            }
            ast::ExprKind::Compare(comparison, left, right) => {
                let typed = (self.expr(scope, left), self.expr(scope, right));
                return self.settled(place, |checker| {
                    let (left, right) = bare::settled((typed.0, left), (typed.1, right))?;
                    match left.ty {
                        Type::Log(kind, _) => log_compared(*comparison, kind, left, right, place),
                        _ => checker.compared(*comparison, left, right, place),
                    }
                });
            }
            ast::ExprKind::Within(value, range) => {
                let (typed, limits) = (self.expr(scope, value), self.expr(scope, range));
                return self.settled(place, |checker| checker.inside((typed, value), (limits, range), place));
            }
            _ => return self.truth(scope, written, "what is asked of each moment"),
        };
        let parts_mistaken = match &kind {
            ExprKind::Not(inner) => inner.ty.is_mistaken(),
            ExprKind::Logic(_, left, right) => left.ty.is_mistaken() || right.ty.is_mistaken(),
            _ => false,
        };
        if parts_mistaken { mistaken(place) } else { Expr { kind, place, ty: Type::Truth } }
    }

    fn instant(&mut self, scope: &mut Scope, written: &ast::Expr) -> Expr {
        let typed = self.expr(scope, written);
        self.wanted(typed, |ty| matches!(ty, Type::Moment), "a stretch of time lies between two times")
    }

    fn duration(&mut self, scope: &mut Scope, written: &ast::Expr, of: &str) -> Expr {
        let typed = self.expr(scope, written);
        let is_duration =
            |ty: &Type| matches!(ty, Type::Quantity(kind) if *kind == KindName::Duration.into());
        let typed = self.wanted(typed, is_duration, &format!("{of} wants a duration"));
        match typed.constant_quantity() {
            Some(duration) if duration.magnitude().signum() != Ordering::Greater => {
                let message = format!("{of} wants a duration above zero, and this is {duration}");
                self.report(Diagnostic::error(TYPE_MISMATCH, typed.place, message));
                mistaken(typed.place)
            }
            _ => typed,
        }
    }

    /// An expression whose type must fit; `what` begins the message where it does not.
    fn wanted(&mut self, typed: Expr, fits: impl Fn(&Type) -> bool, what: &str) -> Expr {
        if typed.ty.is_mistaken() || fits(&typed.ty) {
            return typed;
        }
        let message = format!("{what}, and this is {}", typed.ty);
        self.report(Diagnostic::error(TYPE_MISMATCH, typed.place, message));
        mistaken(typed.place)
    }
}

/// A log against a value.
fn log_compared(
    comparison: Comparison,
    kind: Kind,
    left: Expr,
    right: Expr,
    place: Place,
) -> Result<Expr, Diagnostic> {
    let word = format!("`{}`", comparison.words());
    let Some(other) = quantity_kind(&right, &word)? else { return Ok(mistaken(place)) };
    if !matches!(comparison, Comparison::Above | Comparison::Below | Comparison::AtLeast | Comparison::AtMost)
    {
        let message = format!("{word} cannot be asked of a log, whose value changes all the time");
        return Err(Diagnostic::error(TYPE_MISMATCH, place, message)
            .help("say between which limits it must lie: `within …`, `at least …`, `at most …`"));
    }
    super::comparability::comparable(kind, other, &left, &right)?;
    Ok(Expr { kind: ExprKind::Compare(comparison, Box::new(left), Box::new(right)), place, ty: Type::Truth })
}

/// Whether a condition compares a log.
fn asks_a_log(expr: &Expr) -> bool {
    match &expr.kind {
        ExprKind::Not(inner) => asks_a_log(inner),
        ExprKind::Logic(_, left, right) => asks_a_log(left) || asks_a_log(right),
        ExprKind::Compare(_, value, _) | ExprKind::Within(value, _) => matches!(value.ty, Type::Log(..)),
        _ => false,
    }
}
