//! What ties documents together: a change of one can change what others come to.

use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

use jiff::tz::TimeZone;

use super::history::{Identity, Vehicle};
use crate::document::log::file_of;
use crate::document::{self, Document, Forms};
use crate::source::SourceId;
use crate::trade::form::{JOB, PROCEDURE, REGISTER};
use crate::trade::logbook::{About, Entry};
use crate::trade::{Job, procedure};

/// What the documents of a text share with others.
#[derive(Clone, Debug, Default)]
pub struct Ties {
    /// How many documents there are.
    pub documents: u64,
    /// Whether one of them is a tool register, to which every job can be tied.
    pub has_register: bool,
    /// The files of their logs, from the folder of the text.
    pub logs: HashSet<String>,
    /// Whose logbooks their jobs are in, by the names as they are compared.
    pub logbooks: BTreeSet<(About, String)>,
    /// The procedures that they are or that their jobs name.
    procedures: HashSet<String>,
    /// The vehicles on which their jobs were done.
    vehicles: HashSet<Vehicle>,
}

impl Ties {
    /// Those of a text.
    #[must_use]
    pub fn of(text: &str, forms: &Forms) -> Ties {
        let (documents, _) = document::read(SourceId::FIRST, text, forms);
        let mut ties = Ties::default();
        documents.iter().for_each(|document| ties.take(document));
        ties
    }

    fn take(&mut self, document: &Document<'_>) {
        self.documents += u64::from(document.form().is_some());
        let name = match document.form() {
            Some(JOB) => Job::of(document).procedure().name,
            Some(PROCEDURE) => procedure::name(document),
            Some(REGISTER) => {
                self.has_register = true;
                return;
            }
            _ => return,
        };
        self.procedures.extend(name.text().map(str::to_owned));
        self.vehicles.extend(Identity::of(document).vehicles());
        if document.form() == Some(JOB) {
            self.logbooks.extend(Entry::of(document, &Arc::from(""), &TimeZone::UTC).names());
        }
        self.logs.extend(document.logs().iter().filter_map(|(node, _)| file_of(document, *node)));
    }

    /// Adds those of another text.
    pub fn add(&mut self, other: Ties) {
        self.documents += other.documents;
        self.has_register |= other.has_register;
        self.logs.extend(other.logs);
        self.procedures.extend(other.procedures);
        self.vehicles.extend(other.vehicles);
        self.logbooks.extend(other.logbooks);
    }

    /// Whether a document of these and one of the others have a procedure or a vehicle in common.
    #[must_use]
    pub fn meet(&self, others: &Ties) -> bool {
        !self.procedures.is_disjoint(&others.procedures) || !self.vehicles.is_disjoint(&others.vehicles)
    }
}
