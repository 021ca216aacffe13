//! Checked trials, and the records that they share.

use jiff::civil::Date;

use crate::document::DocPath;
use crate::language::ast::TrialOutcome;
use crate::language::ids::{BaseId, ParameterId};
use crate::source::{Place, Span};
use crate::value::Value;

/// A trial.
#[derive(Clone, Debug)]
pub struct Trial {
    /// The outcome that the rule must have.
    pub outcome: TrialOutcome,
    /// The path that the finding must point at.
    pub at: Option<(String, Span)>,
    /// The whole clause.
    pub span: Span,
    /// The partial record, or the one that it begins with.
    pub record: Start,
    /// What differs from that.
    pub changes: Vec<Change>,
    /// The day on which it is run; the day of the run when absent.
    pub day: Option<Date>,
    /// The parameters it sets for itself.
    pub given: Vec<Given>,
}

/// A record that trials share.
#[derive(Clone, Debug)]
pub struct Base {
    /// Its name.
    pub name: String,
    /// The form of which it is a part, without a version: `job`.
    pub form: String,
    /// The record, or the one that it begins with.
    pub record: Start,
    /// What differs from that.
    pub changes: Vec<Change>,
    /// Where its name is written.
    pub place: Place,
}

/// What a record begins with.
#[derive(Clone, Copy, Debug)]
pub enum Start {
    /// What is written there.
    Own(Place),
    /// Another record.
    From(BaseId),
    /// Something with a mistake, which is reported.
    Mistaken,
}

/// How a record differs from the one that it begins with.
#[derive(Clone, Debug)]
pub struct Change {
    /// Where in the record.
    pub path: DocPath,
    /// What is put there, as a record writes it; nothing where it is taken out.
    pub to: Option<String>,
    /// The whole of it.
    pub place: Place,
}

/// The value of a parameter within a trial.
#[derive(Clone, Debug)]
pub struct Given {
    /// The number of the parameter.
    pub parameter: ParameterId,
    /// Its value.
    pub value: Value<'static>,
}
