//! What is noted of a rule beside what it demands.

use crate::code::Code;
use crate::language::ids::{LetId, ParameterId, TableId};
use crate::source::Place;

/// An advice about a rule that may stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// Its code.
    pub code: Code,
    /// Where that is written.
    pub place: Place,
}

/// Why a rule is left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The reason.
    pub reason: String,
    /// Where the settings say so.
    pub place: Place,
}

/// A declared figure, by its number in the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Figure {
    /// A let.
    Let(LetId),
    /// A parameter.
    Parameter(ParameterId),
    /// A table.
    Table(TableId),
}
