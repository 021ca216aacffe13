//! What is asked of the fields of a job: what its procedure plans and what the standards demand, laid beside its record.

use std::collections::BTreeMap;

use crate::bench::rows::{Part, Row, parts};
use crate::document::{DocPath, Document};
use crate::session::Session;
use crate::sheet::{Asked, Planning};
use crate::trade::form::JOB;

/// What is asked of each field of a job that is recorded, or has a place to be recorded in.
#[must_use]
pub fn asked(session: &Session, document: &Document<'_>) -> BTreeMap<DocPath, Asked> {
    let mut asked = BTreeMap::new();
    if document.form() != Some(JOB) {
        return asked;
    }
    let Some(form) = session.forms().get(JOB) else { return asked };
    let procedure = session.procedure_of(document);
    let slots = Planning::of(procedure.as_ref(), document).slots(session);
    gather(parts(&slots, form.record(), document), &mut asked);
    asked
}

fn gather(parts: Vec<Part<'_>>, asked: &mut BTreeMap<DocPath, Asked>) {
    for part in parts {
        match part {
            Part::Value(Row { path, asked: of_it, first: None, .. }) => drop(asked.insert(path, of_it)),
            Part::Value(_) => {}
            Part::Group(group) => gather(group.parts, asked),
            Part::List { entries, .. } => {
                entries
                    .into_iter()
                    .filter(|entry| entry.is_there)
                    .for_each(|entry| gather(entry.parts, asked));
            }
        }
    }
}

/// The limits in a line, each with who asks for it.
#[must_use]
pub fn in_a_line(asked: &Asked) -> Option<String> {
    let limits = asked.limits.iter().map(|(limit, by)| format!("{limit} ({})", by.join(", ")));
    let line = limits.chain(asked.safe.iter().cloned()).collect::<Vec<_>>().join("; ");
    Some(line).filter(|line| !line.is_empty())
}
