//! What entries of lists are called.

use super::Explainer;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::trade::names;

impl<'x> Explainer<'x> {
    /// What an entry is called in a message, where an expression is one: `drain plug A`.
    pub(super) fn entry_called(&mut self, expr: &'x Expr) -> Option<String> {
        let (ExprKind::Variable(_), Type::Record(record)) = (&expr.kind, &expr.ty) else { return None };
        let entry = self.values.node(expr).ok()?;
        let path = self.values.doc(entry).path(entry.node).to_string();
        let title = record.list_of(&path).map_or(&record.title, |list| &list.record.title);
        Some(names::called(self.values.doc(entry), entry.node, title))
    }
}
