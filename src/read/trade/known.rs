//! A list of known findings.

use super::Field;
use crate::document::{Document, NodeId};

/// The entries of a list.
pub fn entries<'d>(document: &'d Document<'_>) -> impl Iterator<Item = Entry<'d>> {
    let entries = Field::at(document, "findings").entries();
    entries.iter().map(|entry| Entry { document, entry: *entry })
}

/// What is known of one rule at one place.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'d> {
    document: &'d Document<'d>,
    entry: NodeId,
}

impl<'d> Entry<'d> {
    fn field(self, name: &'static str) -> Field<'d> {
        Field::of(self.document, self.entry, name)
    }

    /// The file of the document.
    #[must_use]
    pub fn document(self) -> Field<'d> {
        self.field("document")
    }

    /// The rule, or the code of a mistake.
    #[must_use]
    pub fn finding(self) -> Field<'d> {
        self.field("finding")
    }

    /// What it is known as.
    #[must_use]
    pub fn weight(self) -> Field<'d> {
        self.field("as")
    }

    /// Where in the document.
    #[must_use]
    pub fn at(self) -> Field<'d> {
        self.field("at")
    }

    /// What was found there.
    #[must_use]
    pub fn found(self) -> Field<'d> {
        self.field("found")
    }

    /// How many there are.
    #[must_use]
    pub fn count(self) -> Field<'d> {
        self.field("count")
    }

    /// The day since which it is known.
    #[must_use]
    pub fn since(self) -> Field<'d> {
        self.field("since")
    }

    /// Why it is left as it is.
    #[must_use]
    pub fn note(self) -> Field<'d> {
        self.field("note")
    }
}
