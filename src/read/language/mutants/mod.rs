//! Rules with one thing changed, to see whether any trial notices: a limit moved by its last digit, an end left out, a word
//! swapped, a demand, condition, case or row taken out. A change is made in a checked program and taken back by making it
//! again, so that nothing is parsed or checked anew.
//!
//! What can be changed within an expression is a row of `operators::OPERATORS`, what can be taken out of a definition
//! stands in `definitions`.

mod definitions;
mod edit;
mod limits;
mod operators;
mod users;

use crate::language::ids::{LetId, ParameterId, RuleId, TableId};
use crate::quantity::Quantity;
use crate::source::Place;

use edit::Edit;
pub use edit::{Part, Spot};
pub use limits::near;
pub use users::Users;

/// What a program defines that can be changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Definition {
    /// The head of a standard, by its place among them.
    Standard(usize),
    /// A rule.
    Rule(RuleId),
    /// A let.
    Let(LetId),
    /// A parameter, whose default is changed.
    Parameter(ParameterId),
    /// A table.
    Table(TableId),
}

/// A program with one thing changed: the change, and where it is.
#[derive(Clone, Debug)]
pub struct Mutant {
    /// What is changed.
    pub definition: Definition,
    /// Where.
    pub place: Place,
    /// How, as it follows on "when": `` `at least` is `above` ``.
    pub what: String,
    /// The limits that are near to it, for a record that tells the two apart.
    pub limits: Vec<Quantity>,
    edit: Edit,
}
