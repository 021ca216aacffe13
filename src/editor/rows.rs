//! What is asked of the fields of a job: what its procedure plans and what the standards demand, laid beside its record.

use crate::document::{DocPath, Document, NodeId};
use crate::finding::{Judged, Reading};
use crate::session::Session;
use crate::sheet::{Asked, Planning};
use crate::trade::form::JOB;

/// What is asked of fields that a job has recorded, of each of these paths by itself.
#[must_use]
pub fn asked(session: &Session, document: &Document<'_>, paths: &[DocPath]) -> Vec<Option<Asked>> {
    if document.form() != Some(JOB) || paths.is_empty() {
        return vec![None; paths.len()];
    }
    let procedure = session.procedure_of(document);
    Planning::of(procedure.as_ref(), document).asked_of(session, paths)
}

/// The limits in a line each, with who asks for it: those that the rules came to when the document was judged, and then what
/// is told without judging.
#[must_use]
pub fn limits(
    session: &Session,
    document: &Document<'_>,
    node: NodeId,
    asked: Option<&Asked>,
    judged: Option<&Judged>,
) -> Vec<(String, Vec<String>)> {
    let mut limits: Vec<(String, Vec<String>)> = Vec::new();
    let mut add = |limit: &str, by: &str| match limits.iter_mut().find(|(known, _)| known == limit) {
        Some((_, known)) if known.iter().any(|known| known == by) => {}
        Some((_, known)) => known.push(by.to_owned()),
        None => limits.push((limit.to_owned(), vec![by.to_owned()])),
    };
    let at = document.span(node);
    if let Some((judged, archived)) = judged.and_then(|judged| Some((judged, judged.archived.as_deref()?))) {
        let is_it = |reading: &&Reading| reading.at.source == judged.source && reading.at.span == at;
        for reading in archived.readings.iter().filter(is_it) {
            let rule = session.program().rules().iter().find(|(number, _)| *number == reading.rule);
            add(&crate::trade::blank::limits(&reading.range), rule.map_or("", |(_, rule)| &rule.name));
        }
    }
    for (limit, by) in asked.into_iter().flat_map(|asked| &asked.limits) {
        by.iter().for_each(|by| add(limit, by));
    }
    limits
}

/// The limits in a line, and where an uncertain reading is safe.
#[must_use]
pub fn in_a_line(limits: &[(String, Vec<String>)], asked: Option<&Asked>) -> Option<String> {
    let safe = asked.into_iter().flat_map(|asked| asked.safe.iter().cloned());
    let limits = limits.iter().map(|(limit, by)| format!("{limit} ({})", by.join(", ")));
    let line = limits.chain(safe).collect::<Vec<_>>().join("; ");
    Some(line).filter(|line| !line.is_empty())
}
