//! How large a let is with the lets that it names written out: as often as that is looked at in one evaluation.

use super::{Checker, Progress};
use crate::code::TOO_MUCH_WORK;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Expr, ExprKind};
use crate::source::Place;

/// How many expressions a let may come to. One that names another twice, which names another twice, doubles with
/// each.
pub(super) const MOST_PARTS: usize = 10_000;

impl Checker<'_> {
    /// How many expressions an expression comes to.
    pub(super) fn parts(&self, expr: &Expr) -> usize {
        let named = match expr.kind {
            ExprKind::Let(number) => match self.lets.get(number) {
                Some((_, _, Progress::Done(done))) => done.parts,
                _ => 0,
            },
            _ => 0,
        };
        let mut parts = named.saturating_add(1);
        expr.for_each_part(&mut |part| parts = parts.saturating_add(self.parts(part)));
        parts
    }
}

pub(super) fn too_large(name: &str, place: Place) -> Diagnostic {
    let message = format!(
        "`{name}` comes to more than {MOST_PARTS} parts when the names in it are written out, as they are when it is judged"
    );
    Diagnostic::error(TOO_MUCH_WORK, place, message).help("name a value once, or split the rule")
}
