//! How large and how deep a let is with the lets that it names written out, as they are when it is judged.

use super::{Checker, Progress};
use crate::code::TOO_MUCH_WORK;
use crate::diagnostic::Diagnostic;
use crate::language::typed::{Expr, ExprKind, Size};
use crate::source::Place;

/// How many expressions a let may come to. One that names another twice, which names another twice, doubles with
/// each.
const MOST_PARTS: usize = 10_000;

/// How deep they may be nested: far below what a thread can follow.
const DEEPEST: usize = 256;

impl Checker<'_> {
    /// The size of an expression.
    pub(super) fn size(&self, expr: &Expr) -> Size {
        let named = match expr.kind {
            ExprKind::Let(number, _) => match &self.lets[number] {
                (_, _, Progress::Done(done)) => done.size,
                _ => Size::default(),
            },
            _ => Size::default(),
        };
        let Size { mut parts, mut depth } = named;
        expr.for_each_part(&mut |part| {
            let part = self.size(part);
            parts = parts.saturating_add(part.parts);
            depth = depth.max(part.depth);
        });
        Size { parts: parts.saturating_add(1), depth: depth.saturating_add(1) }
    }
}

/// Why a let of this size cannot be judged.
pub(super) fn too_large(name: &str, size: Size, place: Place) -> Option<Diagnostic> {
    let what = match size {
        Size { parts, .. } if parts > MOST_PARTS => format!("comes to more than {MOST_PARTS} parts"),
        Size { depth, .. } if depth > DEEPEST => format!("is nested more than {DEEPEST} deep"),
        Size { .. } => return None,
    };
    let message =
        format!("`{name}` {what} when the names in it are written out, as they are when it is judged");
    Some(Diagnostic::error(TOO_MUCH_WORK, place, message).help("name each value once, or split the rule"))
}
