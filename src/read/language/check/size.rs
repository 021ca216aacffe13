//! What it takes to compute an expression: how deep it is with the lets that it names, and on what it depends.

use super::{Checker, Progress};
use crate::code::TOO_MUCH_WORK;
use crate::diagnostic::Diagnostic;
use crate::language::ast::Aggregate;
use crate::language::typed::{Expr, ExprKind, Extent, Of, bit};
use crate::source::Place;

/// How deep expressions may be nested: far below what a thread can follow.
const DEEPEST: usize = 256;

impl Checker<'_> {
    /// What it takes to compute an expression.
    pub(super) fn extent(&self, expr: &Expr) -> Extent {
        let mut whole = match &expr.kind {
            ExprKind::Let(number, _) => match &self.lets[*number] {
                (_, _, Progress::Done(done)) => {
                    let variables = if matches!(done.of, Of::Rule) { done.extent.variables } else { 0 };
                    Extent { variables, ..done.extent }
                }
                _ => Extent::default(),
            },
            ExprKind::Variable(slot) => Extent { variables: bit(*slot), ..Extent::default() },
            // Which entries a group has depends on the variables before it too.
            ExprKind::Group(slot) => {
                let variables = (0..=*slot).fold(0, |variables, slot| variables | bit(slot));
                Extent { variables, ..Extent::default() }
            }
            ExprKind::Aggregate { aggregate, .. } => {
                Extent { heavy: true, counts: *aggregate == Aggregate::Count, ..Extent::default() }
            }
            ExprKind::Quantified { .. } | ExprKind::Timed(_) | ExprKind::Call { .. } => {
                Extent { heavy: true, ..Extent::default() }
            }
            _ => Extent::default(),
        };
        let passes_counts =
            matches!(expr.kind, ExprKind::Arithmetic(..) | ExprKind::Minus(_) | ExprKind::Cases(_));
        expr.for_each_part(&mut |part| {
            let part = self.extent(part);
            whole.parts = whole.parts.saturating_add(part.parts);
            whole.depth = whole.depth.max(part.depth);
            whole.heavy |= part.heavy;
            whole.counts |= passes_counts && part.counts;
            whole.variables |= part.variables;
        });
        let (parts, depth) = (whole.parts.saturating_add(1), whole.depth.saturating_add(1));
        Extent { parts, depth, ..whole }
    }
}

/// Why a let cannot be judged that is nested so deep.
pub(super) fn too_deep(name: &str, extent: Extent, place: Place) -> Option<Diagnostic> {
    (extent.depth > DEEPEST).then(|| {
        let message = format!(
            "`{name}` is nested more than {DEEPEST} deep when the names in it are written out, as they are when it is judged"
        );
        Diagnostic::error(TOO_MUCH_WORK, place, message).help("split the rule, or give shorter values names")
    })
}
