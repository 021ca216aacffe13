//! In how many documents of a run each thing was found.

use std::collections::{BTreeMap, BTreeSet};

use super::{Finding, Judged, Outcome, Standing};
use crate::diagnostic::Level;
use crate::language::ast::Severity;

/// How grave something is that was found, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// An error in a document itself.
    Error,
    /// A finding that holds.
    Hold,
    /// A finding that advises, or what is advised of a document itself.
    Advice,
    /// A note.
    Note,
}

impl Weight {
    fn of(finding: &Finding) -> Weight {
        match finding.severity {
            Severity::Hold => Weight::Hold,
            Severity::Advice => Weight::Advice,
            Severity::Note => Weight::Note,
        }
    }

    fn of_level(level: Level) -> Option<Weight> {
        match level {
            Level::Error => Some(Weight::Error),
            Level::Advice => Some(Weight::Advice),
            Level::Note => Some(Weight::Note),
            Level::Known => None,
        }
    }
}

/// In how many documents something was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frequency {
    /// In how many it counts.
    pub documents: u64,
    /// In how many of them it is undecided.
    pub undecided: u64,
    /// The names of some, at most [`NAMED`].
    pub named: BTreeSet<String>,
}

/// How many documents are named of each thing that was found.
pub const NAMED: usize = 3;

impl Frequency {
    pub(super) fn add(&mut self, other: Frequency) {
        self.documents += other.documents;
        self.undecided += other.undecided;
        self.named.extend(other.named);
        // Those that come first by name, so that the order of adding is of no matter.
        while self.named.len() > NAMED {
            self.named.pop_last();
        }
    }
}

/// How often each thing was found, by its weight and the name of its rule or code.
pub type Frequencies = BTreeMap<(Weight, String), Frequency>;

impl Judged {
    /// What was found in it and counts.
    pub(super) fn frequencies(&self) -> Frequencies {
        let mut found = Frequencies::new();
        let mut add = |weight: Weight, name: &str, undecided: bool| {
            let one = found.entry((weight, name.to_owned())).or_default();
            one.documents = 1;
            one.undecided |= u64::from(undecided);
            one.named.insert(self.name.clone());
        };
        for diagnostic in &self.diagnostics {
            if let Some(weight) = Weight::of_level(diagnostic.level) {
                add(weight, diagnostic.code.as_str(), false);
            }
        }
        for finding in self.findings.iter().filter(|finding| finding.standing == Standing::Counts) {
            add(Weight::of(finding), &finding.rule, finding.outcome == Outcome::Undecided);
        }
        found
    }
}
