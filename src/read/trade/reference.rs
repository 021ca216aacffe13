//! References: how a job names the procedure and the standards that it is bound to.

use super::Field;
use crate::document::{Document, NodeId};

/// A procedure or a standard by name, edition and content hash.
#[derive(Clone, Copy, Debug)]
pub struct Reference<'d> {
    /// Its name.
    pub name: Field<'d>,
    /// Its edition.
    pub edition: Field<'d>,
    /// The beginning of its content hash.
    pub content: Field<'d>,
}

impl<'d> Reference<'d> {
    /// That which is an entry of a list.
    pub(super) fn entry(document: &'d Document<'_>, entry: NodeId) -> Reference<'d> {
        let field = |name| Field::of(document, entry, name);
        Reference { name: field("name"), edition: field("edition"), content: field("content") }
    }
}
