//! The entries of several lists, gone through as one list.

use super::{Expr, ExprKind, Program};
use crate::document::Record;
use crate::language::types::Type;

impl Program {
    /// The lists, and single groups, of whose entries a list consists; nothing for a list of the document.
    #[must_use]
    pub fn lists_in<'p>(&'p self, list: &'p Expr) -> Option<&'p [Expr]> {
        match &list.kind {
            ExprKind::Entries(lists) => Some(lists),
            ExprKind::Let(number, _) => self.lists_in(&self.lets[*number].value),
            _ => None,
        }
    }
}

impl Expr {
    /// The record of the entries of several lists, where it is one of them.
    #[must_use]
    pub fn mixed(&self) -> Option<&Record> {
        match &self.ty {
            Type::Record(record) if record.is_mixed() => Some(record),
            _ => None,
        }
    }
}
