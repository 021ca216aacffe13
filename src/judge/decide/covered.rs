//! Which parts of rules were exercised: what conditions and demands came to, which cases and rows counted, beyond which ends
//! of ranges values lay. It is noted by where the parts are written, so that what several rules name is one part.

use std::collections::HashSet;

use super::{Evaluator, Truth};
use crate::language::ids::TableId;
use crate::language::typed::Expr;
use crate::quantity::{Quantity, Range, Which};
use crate::source::Place;

/// Something that can be exercised.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Covered {
    /// A condition or a demand came to this.
    Came(Place, Truth),
    /// A case counted, by its value.
    Counted(Place),
    /// A row was looked up.
    Row(TableId, Vec<String>),
    /// A value lay beyond this end of a range, or on the other side of a limit, in this comparison.
    Beyond(Place, Which),
}

impl<'x> Evaluator<'x> {
    /// The same, noting what is exercised.
    #[must_use]
    pub fn covering(self) -> Self {
        Evaluator { covered: Some(HashSet::new()), ..self }
    }

    /// What was exercised.
    pub fn take_covered(&mut self) -> HashSet<Covered> {
        self.covered.take().unwrap_or_default()
    }

    pub(super) fn note_came(&mut self, expr: &Expr, truth: Truth) {
        self.note_covered(|| Covered::Came(expr.place, truth));
    }

    pub(super) fn note_counted(&mut self, value: &Expr) {
        self.note_covered(|| Covered::Counted(value.place));
    }

    pub(super) fn note_row(&mut self, table: TableId, keys: &[String]) {
        self.note_covered(|| Covered::Row(table, keys.to_vec()));
    }

    pub(super) fn note_beyond(&mut self, comparison: &Expr, range: &Range, value: &Quantity) {
        if self.covered.is_some() && !range.contains(value) {
            let which = range.margin(value).limit;
            self.note_covered(|| Covered::Beyond(comparison.place, which));
        }
    }

    fn note_covered(&mut self, covered: impl FnOnce() -> Covered) {
        if let Some(known) = &mut self.covered {
            known.insert(covered());
        }
    }
}
