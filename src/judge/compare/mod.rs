//! What changed between two texts of one kind, as a list of meaning and not of lines: two records, two
//! editions of a procedure, two editions of a standard.
//!
//! Both texts are read into the same plain tree (`tree`; from documents in `document`, from rule files
//! in `standard` and `expression`), entries of lists are brought together (`pairs`, `order`), and what
//! differs is said (`difference`).

mod difference;
mod document;
mod expression;
mod order;
mod outcomes;
mod pairs;
mod standard;
mod strict;
mod tree;

pub use document::{documents, one_document};
pub use outcomes::{By, OutcomeChange, Said, outcomes};
pub use standard::standards;
pub use strict::{RuleChange, strictness};

use std::sync::Arc;

use crate::edition::Edition;
use crate::source::Place;

/// What changed between an old and a new text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// Changes of meaning, part by part, in the order of the texts.
    pub changes: Vec<Change>,
    /// Values that are written otherwise and mean the same.
    pub spellings: Vec<Change>,
    /// The editions that the two texts state.
    pub editions: (Option<Edition>, Option<Edition>),
    /// Rules that have another full name in the new text: the old name and the new one.
    pub renamed_rules: Vec<(String, String)>,
    /// What the changes of rules come to, where that was asked for.
    pub strictness: Vec<RuleChange>,
}

impl Comparison {
    /// Whether the meaning changed and both texts state an edition that was not raised.
    #[must_use]
    pub fn edition_was_not_raised(&self) -> bool {
        let not_raised = matches!(self.editions, (Some(old), Some(new)) if new <= old);
        not_raised && !self.changes.is_empty()
    }
}

/// How a piece of the text changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// It stands only in the new text.
    Added,
    /// It stands only in the old text.
    TakenOut,
    /// It means something else.
    Changed,
    /// It has another name and is the same otherwise.
    Renamed,
    /// It stands at another place of its list.
    Moved,
}

impl Kind {
    /// In words: `taken out`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Kind::Added => "added",
            Kind::TakenOut => "taken out",
            Kind::Changed => "changed",
            Kind::Renamed => "renamed",
            Kind::Moved => "moved",
        }
    }
}

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// How it changed.
    pub kind: Kind,
    /// The part of the text: `fastenings`, `rule sump_screw_torque`.
    pub part: String,
    /// What in that part: `sump screw A3, torque`; empty for the part itself.
    pub what: String,
    /// The old side; none for what was added.
    pub from: Option<Side>,
    /// The new side; none for what was taken out.
    pub to: Option<Side>,
    /// The rules that use the figure that changed.
    pub used_by: Arc<[String]>,
}

/// One side of a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// What stands there, in a few words.
    pub words: String,
    /// Its path in the text: `fastenings[2].torque`, `sump_screw_torque.remedy`.
    pub path: String,
    /// Its place, in the sources that the text was read into.
    pub place: Place,
}
