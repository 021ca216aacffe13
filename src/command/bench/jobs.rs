//! The page of one job, and what an open page asks for.

use std::collections::BTreeMap;

use hyper::StatusCode;
use serde::Serialize;

use super::answer::Answer;
use super::desk::{Desk, Hall};
use super::index::Kept;
use crate::bench::notes::{self, Note, Verdict};
use crate::bench::order::to_read;
use crate::bench::page::{Frame, JobPage, RowState};
use crate::bench::rows::{Part, extend, parts};
use crate::bench::words::Words;
use crate::document::{self, Document};
use crate::edition::Digest;
use crate::sheet::Planning;
use crate::source::{SourceId, Sources};
use crate::trade::Job;
use crate::trade::form::JOB;
use crate::trade::job::JobState;
use crate::trade::procedure::Procedure;

/// What an open page needs to show how a job is.
#[derive(Debug, Serialize)]
pub(super) struct State {
    version: String,
    shape: String,
    top: String,
    rows: Vec<RowState>,
    others: BTreeMap<String, String>,
}

impl State {
    pub(super) fn of(page: &JobPage<'_, '_>) -> State {
        State {
            version: page.version.to_owned(),
            shape: page.shape(),
            top: page.top().into_string(),
            rows: page.states(),
            others: page.other_notes(),
        }
    }
}

/// The version of a text.
pub(super) fn version(text: &str) -> String {
    Digest::of(text).to_string()
}

/// A record that was read against its form.
pub(super) struct Read<'r> {
    pub(super) document: Document<'r>,
    pub(super) procedure: Option<Procedure>,
}

impl Hall {
    /// The one job in a text; why it cannot be filled in, where there is none or there are more.
    pub(super) fn read_job<'t>(&self, text: &'t str) -> Result<Read<'t>, &'static str> {
        let (documents, _) = document::read(self.source(), text, self.ready.session.forms());
        let several = documents.len() > 1;
        let mut documents = documents.into_iter();
        match documents.next() {
            _ if several => Err("several-records"),
            Some(document) if document.form() == Some(JOB) => {
                let procedure = self.ready.session.procedure_of(&document);
                Ok(Read { document, procedure })
            }
            _ => Err("unreadable-record"),
        }
    }

    /// The number that the text of a record has where it is judged: the first above those of the rules.
    fn source(&self) -> SourceId {
        Sources::over(self.ready.session.sources()).add("", "")
    }

    /// The parts of a job that was read.
    pub(super) fn parts<'f>(&'f self, read: &Read<'_>) -> Vec<Part<'f>> {
        let session = &self.ready.session;
        let Some(form) = session.forms().get(JOB) else { return Vec::new() };
        let planning = Planning::of(read.procedure.as_ref(), &read.document);
        let slots = self.plans.of(&planning, session);
        parts(&slots, form.record(), &read.document)
    }
}

/// Makes the page of a text in the place of a record, and hands it on.
pub(super) fn with_page<R>(
    hall: &Hall,
    frame: &Frame,
    (name, kept, text): (&str, &Kept, &str),
    also: &[String],
    take: impl FnOnce(&JobPage<'_, '_>) -> R,
) -> (R, Verdict) {
    let words = Words(frame.language);
    let (judged, verdict) = hall.judge(kept, text);
    let read = hall.read_job(text);
    let mut parts = read.as_ref().map(|read| hall.parts(read)).unwrap_or_default();
    let of = |read: &Read<'_>| judged.iter().flat_map(|one| notes::of(one, &read.document)).collect();
    let nothing = || judged.iter().flat_map(|one| notes::of(one, Document::nothing())).collect();
    let notes: Vec<Note> = read.as_ref().map_or_else(|_| nothing(), of);
    if let (Ok(read), Some(form)) = (&read, hall.ready.session.forms().get(JOB)) {
        let cautions =
            read.procedure.as_ref().map(|procedure| to_read(&parts, procedure)).unwrap_or_default();
        for id in notes::not_there(&notes, &parts).iter().chain(also).chain(&cautions) {
            extend(&mut parts, form.record(), &read.document, id);
        }
    }
    let beside = notes::beside(&notes, &parts);
    let is_closed = |read: &Read<'_>| Job::of(&read.document).state() == Some(JobState::Closed);
    let locked = match &read {
        Err(why) => Some(words.say(why)),
        Ok(read) => is_closed(read).then(|| words.say("closed")),
    };
    let line = kept.line.clone().unwrap_or_default();
    let title: Vec<&str> = [&line.number, &line.plate, &line.unit]
        .into_iter()
        .map(String::as_str)
        .filter(|text| !text.is_empty())
        .collect();
    let title = if title.is_empty() { name.to_owned() } else { title.join(" · ") };
    let tools = hall.ready.session.tools_in_use();
    let page = JobPage {
        frame,
        name,
        title: &title,
        version: &version(text),
        parts: &parts,
        notes: &notes,
        beside: &beside,
        verdict: &verdict,
        procedure: read.as_ref().ok().and_then(|read| read.procedure.as_ref()),
        tools: &tools,
        locked: locked.as_deref(),
        also,
        faults: &hall.faults(),
    };
    (take(&page), verdict)
}

impl Desk {
    /// Answers with something of the page of a job.
    fn of_job(
        &self,
        frame: &Frame,
        name: &str,
        also: &[String],
        make: impl FnOnce(&JobPage<'_, '_>) -> Answer,
    ) -> Answer {
        let hall = self.hall();
        let words = Words(frame.language);
        let Some((kept, read)) = hall.read(name) else {
            return Answer::refused(StatusCode::NOT_FOUND, &words.say("gone"));
        };
        match read {
            Ok(text) => with_page(&hall, frame, (name, &kept, &text), also, make).0,
            Err(why) => Answer::refused(StatusCode::CONFLICT, &why),
        }
    }

    pub(super) fn job_page(&self, frame: &Frame, name: &str) -> Answer {
        self.of_job(frame, name, &[], |page| Answer::page(page.whole()))
    }

    /// The fields alone, for a page that is open.
    pub(super) fn job_part(&self, frame: &Frame, name: &str, also: &[String]) -> Answer {
        self.of_job(frame, name, also, |page| Answer::page(page.main().into_string()))
    }

    /// How a job is, if it is not as the page has it.
    pub(super) fn state(&self, frame: &Frame, name: &str, since: &str, also: &[String]) -> Answer {
        {
            let hall = self.hall();
            if hall.read(name).is_some_and(|(_, read)| read.is_ok_and(|text| version(&text) == since)) {
                return Answer::unchanged();
            }
        }
        self.of_job(frame, name, also, |page| Answer::json(&State::of(page)))
    }
}
