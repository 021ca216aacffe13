//! Logbooks judged: their text is made, read and judged like that of any document, and what is found is led back to the
//! records that its values were copied from.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::tz::TimeZone;

use super::internal::sound;
use super::judge::{LEFT_OUT, unreadable};
use super::known::seen::Looking;
use super::{Glance, Session};
use crate::document::{self, Forms};
use crate::finding::Judged;
use crate::source::{Place, SourceId, Sources, Span};
use crate::trade::form::{JOB, LOGBOOK};
use crate::trade::logbook::{Entry, Logbooks, Subject, Written};

/// How many bytes of records are opened again to show what was found in one logbook.
const MOST_SHOWN: usize = 64 << 20;

impl Session {
    /// Whether a standard in force judges logbooks, so that they are made.
    #[must_use]
    pub fn asks_logbooks(&self) -> bool {
        self.program.standards().iter().any(|standard| standard.in_force && standard.form == LOGBOOK)
    }

    /// Judges the logbook of one who has jobs in the run.
    #[must_use]
    pub fn judge_logbook(&self, logbooks: &Logbooks, subject: &Subject) -> Judged {
        let name = subject.called();
        let mut written = logbooks.written(subject);
        let mut sources = Sources::over(&self.sources);
        let made = sources.add(&*name, std::mem::take(&mut written.text));
        let judged = sound(|| self.judge_made(&name, made, &sources));
        let mut judged = judged.unwrap_or_else(|fault| {
            let place = Place { source: made, span: Span::default() };
            unreadable(&name, made, sources, vec![fault.at(place)])
        });
        judged.is_made = true;
        judged.headline = subject.headline();
        Leading { session: self, logbooks, written: &written, opened: HashMap::new(), bytes: 0 }
            .lead(&mut judged);
        judged
    }

    /// What is said of the text of a logbook was said of the records that it was copied from.
    fn judge_made(&self, name: &str, made: SourceId, sources: &Sources) -> Judged {
        let text = sources.get(made).map_or("", |source| source.text());
        let (documents, said) = document::read(made, text, &self.forms);
        let left_out =
            || said.iter().filter(|said| LEFT_OUT.contains(&said.code)).cloned().collect::<Vec<_>>();
        match documents.as_slice() {
            [logbook] if logbook.form() == Some(LOGBOOK) && left_out().is_empty() => {
                let looking = Looking::at(logbook, 0, false);
                let mut judged = self.document((name, 0), logbook, &looking, (sources, None), &[]);
                if let Some(seen) = &mut judged.seen {
                    let said = judged.diagnostics.iter();
                    seen.diagnostics = said.map(|said| looking.diagnostic(said, &judged.sources)).collect();
                }
                judged
            }
            _ => {
                let left_out = left_out();
                let said = if left_out.is_empty() { said } else { left_out };
                unreadable(name, made, sources.clone(), said)
            }
        }
    }
}

/// The jobs in a text, as logbooks are made of them.
#[derive(Debug, Default)]
pub struct Entries {
    /// The jobs.
    pub jobs: Vec<Entry>,
    /// Whether a part of the text could not be read, which may be a job.
    pub is_cut: bool,
}

impl Glance {
    /// Looks through a text, and takes the facts of its jobs, for which all of it is read.
    #[must_use]
    pub fn with_entries(name: &Arc<str>, text: &str, forms: &Forms, zone: &TimeZone) -> (Glance, Entries) {
        let (documents, said) = document::read(SourceId::FIRST, text, forms);
        let jobs = documents.iter().filter(|document| document.form() == Some(JOB));
        let jobs = jobs.map(|document| Entry::of(document, name, zone)).collect();
        let is_cut = said.iter().any(|said| LEFT_OUT.contains(&said.code));
        (Glance::of((name, text), &documents, forms, zone), Entries { jobs, is_cut })
    }
}

/// Places in the text of a logbook, led back to the records.
struct Leading<'l> {
    session: &'l Session,
    logbooks: &'l Logbooks,
    written: &'l Written,
    /// The records that were opened again; none for one that could not be.
    opened: HashMap<&'l str, Option<SourceId>>,
    bytes: usize,
}

impl Leading<'_> {
    fn lead(mut self, judged: &mut Judged) {
        let (made, mut sources) = (judged.source, judged.sources.clone());
        let mut back = |place: &mut Place| {
            if place.source == made {
                *place = self.back(*place, &mut sources).unwrap_or(*place);
            }
        };
        for finding in &mut judged.findings {
            back(&mut finding.at);
            finding.related.iter_mut().for_each(|related| back(&mut related.at));
            finding.awaited.iter_mut().for_each(|awaited| back(&mut awaited.at));
        }
        let labels = judged.diagnostics.iter_mut().flat_map(|diagnostic| &mut diagnostic.labels);
        labels.for_each(|label| back(&mut label.place));
        judged.sources = sources;
    }

    /// Where a part of the logbook comes from; nothing for what is said of all jobs together, and where the record cannot be
    /// opened again.
    fn back(&mut self, place: Place, sources: &mut Sources) -> Option<Place> {
        let back = self.written.back(place.span)?;
        let record = self.logbooks.record(back.job)?;
        let source = match self.opened.get(&**record) {
            Some(known) => *known,
            None => {
                let opened =
                    (self.bytes < MOST_SHOWN).then(|| self.session.context.open(record).ok()).flatten();
                let source = opened.map(|text| {
                    self.bytes = self.bytes.saturating_add(text.len());
                    sources.add(&**record, text)
                });
                self.opened.insert(record, source);
                source
            }
        };
        Some(Place { source: source?, span: back.at })
    }
}
