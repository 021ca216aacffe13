//! Trials, and the records that they share.

use jiff::civil::Date;

use super::{Expr, Name, Text};
use crate::source::{Span, Spanned};

/// `trial OUTCOME [from BASE] [with CHANGE, …] [without PATH, …] [on DAY] [at PATH] [{ record }]`.
#[derive(Clone, Debug)]
pub struct Trial {
    /// The whole clause.
    pub span: Span,
    /// The outcome that the rule must have.
    pub outcome: Spanned<TrialOutcome>,
    /// The path that the finding must point at, as written: `fastenings[0].torque`.
    pub at: Option<Text>,
    /// The day on which it is run; the day of the run when absent.
    pub day: Option<Spanned<Date>>,
    /// Its record, or the one that it begins with.
    pub record: Start,
    /// What differs from that, and the parameters that the trial sets for itself.
    pub changes: Vec<Change>,
}

/// `given NAME { record }` or `given NAME from BASE [with CHANGE, …] [without PATH, …]`.
#[derive(Clone, Debug)]
pub struct Base {
    /// The whole item.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// The record, or the one that it begins with.
    pub record: Start,
    /// What differs from that.
    pub changes: Vec<Change>,
}

/// What a record begins with.
#[derive(Clone, Debug)]
pub enum Start {
    /// What is written in braces, which are part of the span.
    Own(Span),
    /// Another record.
    From(Name),
}

/// `PATH = VALUE`, or a path behind `without`.
#[derive(Clone, Debug)]
pub struct Change {
    /// The whole of it.
    pub span: Span,
    /// The path in the record, or the name of a parameter, as written.
    pub path: Text,
    /// What it is then; nothing where it is taken out.
    pub to: Option<NewValue>,
}

/// What a change puts into a record or states for a parameter.
#[derive(Clone, Debug)]
pub struct NewValue {
    /// What it is for a parameter; a group or a list is none.
    pub value: Option<Expr>,
    /// How a record writes it; nothing where it is no fixed value.
    pub written: Option<String>,
}

/// What a trial expects.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrialOutcome {
    /// Every demand is met.
    Met,
    /// A demand is broken.
    Broken,
    /// Nothing is broken and something cannot be decided.
    Undecided,
    /// The rule does not concern the record.
    NotConcerned,
}
