//! Closing a job: its record says then by which editions it was judged, when it was closed, and that it is.

use hyper::StatusCode;

use super::answer::Answer;
use super::desk::{Desk, Hall};
use super::jobs::{Read, version, with_page};
use super::trail::Made;
use crate::bench::closing::ClosingPage;
use crate::bench::day::encoded;
use crate::bench::notes::{self, Note, Verdict};
use crate::bench::page::Frame;
use crate::bench::words::Words;
use crate::document::edit::{Unwritable, write};
use crate::document::{DocPath, Document, Record};
use crate::library::came_with_it;
use crate::sheet::scalar;
use crate::trade::Job;
use crate::trade::form::JOB;
use crate::trade::job::{
    CLOSED, CONCESSIONS, JobState, PROCEDURE_CONTENT, STANDARDS, STATE, bound_to, conceded,
};

/// A concession as somebody asks for it.
#[derive(Debug)]
pub(super) struct Concession {
    pub(super) rule: String,
    pub(super) place: String,
    pub(super) by: String,
    pub(super) reason: String,
    pub(super) name: String,
}

/// What is written, in the order in which it is.
pub(super) type Steps = Vec<(String, String)>;

fn path(text: &str) -> Result<DocPath, Unwritable> {
    text.parse().map_err(|_| Unwritable::NoWay)
}

/// A text with all that is to be written.
fn with(text: &str, form: &Record, steps: &Steps) -> Result<String, Unwritable> {
    steps.iter().try_fold(text.to_owned(), |text, (at, value)| write(&text, 0, &path(at)?, value, form))
}

/// The page of closing, where what was written is seen.
fn seen_at_closing(name: &str, done: Result<(), Answer>) -> Answer {
    match done {
        Ok(()) => Answer::to(&format!("/close?job={}", encoded(name))),
        Err(answer) => answer,
    }
}

impl Hall {
    /// What is written when a job is closed: the content of its procedure, the editions of the standards that judge it, the time,
    /// and that it is closed.
    fn closing_steps(&self, text: &str, standards: &[String]) -> Option<Steps> {
        let read = self.read_job(text).ok()?;
        let job = Job::of(&read.document);
        let mut steps = Steps::new();
        let content = read.procedure.as_ref().and_then(|procedure| procedure.content);
        if let Some(content) = content.filter(|_| job.procedure().content.recorded().is_none()) {
            steps.push((PROCEDURE_CONTENT.to_owned(), scalar(&content.to_string())));
        }
        if job.standards().next().is_none() {
            steps.push((STANDARDS.to_owned(), String::new()));
            let all = self.ready.session.program().standards().iter();
            for (number, one) in all.filter(|one| standards.contains(&one.full_name())).enumerate() {
                // Those that came with the program are told by their editions, as in every report.
                let name = self.ready.session.sources().name(one.place.source);
                let content = self.ready.session.digest(one.place.source).short();
                let content = Some(content.as_str()).filter(|_| came_with_it(name).is_none());
                let entry = bound_to(&scalar(&one.name), &one.edition.to_string(), content);
                steps.push((format!("{STANDARDS}[{number}]"), entry));
            }
        }
        let now = jiff::Timestamp::now().to_zoned_datetime(self.ready.session.setting().zone.clone());
        steps.push((CLOSED.to_owned(), now.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()));
        steps.push((STATE.to_owned(), JobState::Closed.word().to_owned()));
        Some(steps)
    }

    /// The text of a record as it is when it is closed; the error by its key.
    fn closed(&self, name: &str, text: &str) -> Result<(String, Steps), &'static str> {
        let form = self.ready.session.forms().get(JOB).ok_or("gone")?;
        let kept = self.index.get(name).ok_or("gone")?;
        let closing = [(STATE.to_owned(), JobState::Closed.word().to_owned())];
        // Which standards judge it can depend on that.
        let candidate = with(text, form.record(), &closing.to_vec()).map_err(|_| "layout")?;
        let (judged, _) = self.judge(kept, &candidate);
        let standards: Vec<String> = judged.into_iter().flat_map(|one| one.standards).collect();
        let steps = self.closing_steps(text, &standards).ok_or("unreadable-record")?;
        let closed = with(text, form.record(), &steps).map_err(|_| "layout")?;
        Ok((closed, steps))
    }

    /// What is written at a path of a text, on one line.
    fn written_at(&self, text: &str, path: &str) -> Option<String> {
        let read = self.read_job(text).ok()?;
        let node = read.document.find(path).filter(|node| !read.document.is_empty(*node))?;
        let written = read.document.span(node).of(text);
        Some(written.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    /// The notes of a text in the place of a record, each with who may grant a concession for it.
    fn notes(&self, name: &str, text: &str) -> Option<(Vec<Note>, Verdict)> {
        let kept = self.index.get(name)?;
        let (judged, verdict) = self.judge(kept, text);
        let read = self.read_job(text).ok();
        let document = read.as_ref().map_or(Document::nothing(), |read| &read.document);
        let mut notes: Vec<Note> = judged.iter().flat_map(|one| notes::of(one, document)).collect();
        let rules = self.ready.session.program().rules();
        for note in &mut notes {
            let rule = rules.all().iter().find(|rule| rule.name == note.name);
            note.granted_by = rule.and_then(|rule| rule.concession.clone()).unwrap_or_default();
        }
        Some((notes, verdict))
    }
}

impl Desk {
    /// The text of a record, or what is answered where there is none.
    pub(super) fn text(&self, frame: &Frame, name: &str) -> Result<String, Answer> {
        let gone = || Answer::refused(StatusCode::NOT_FOUND, &Words(frame.language).say("gone"));
        let (_, read) = self.hall().read(name).ok_or_else(gone)?;
        read.map_err(|why| Answer::refused(StatusCode::CONFLICT, &why))
    }

    pub(super) fn closing_page(&self, frame: &Frame, name: &str) -> Answer {
        let text = match self.text(frame, name) {
            Ok(text) => text,
            Err(answer) => return answer,
        };
        let (hall, words) = (self.hall(), Words(frame.language));
        let is_closed =
            hall.read_job(&text).is_ok_and(|read| Job::of(&read.document).state() == Some(JobState::Closed));
        let (shown, why_not) = match hall.closed(name, &text) {
            _ if is_closed => (text.clone(), None),
            Ok((closed, _)) => (closed, None),
            Err(key) => (text.clone(), Some(words.say(key))),
        };
        let Some((notes, verdict)) = hall.notes(name, &shown) else {
            return Answer::refused(StatusCode::NOT_FOUND, &words.say("gone"));
        };
        let line = hall.index.get(name).and_then(|kept| kept.line.clone()).unwrap_or_default();
        let page = ClosingPage {
            frame,
            name,
            title: &line.number,
            version: &version(&text),
            verdict: &verdict,
            faults: &hall.faults(),
            notes: &notes,
            is_closed,
            why_not: why_not.as_deref(),
        };
        Answer::page(page.whole())
    }

    /// Closes a job, if the text is the one that was shown and a run over it would not fail.
    pub(super) fn close(&self, frame: &Frame, name: &str, shown: &str) -> Answer {
        let words = Words(frame.language);
        let _turn = self.writing();
        let text = match self.text(frame, name) {
            Ok(text) if version(&text) == shown => text,
            Ok(_) => return Answer::refused(StatusCode::CONFLICT, &words.say("stale")),
            Err(answer) => return answer,
        };
        let closed = {
            let hall = self.hall();
            let closed = hall.closed(name, &text);
            let verdict = closed.as_ref().ok().and_then(|(closed, _)| hall.notes(name, closed));
            match (closed, verdict) {
                (Ok(closed), Some((_, verdict))) if ClosingPage::is_fit(&verdict) => closed,
                (Err(key), _) => return Answer::refused(StatusCode::CONFLICT, &words.say(key)),
                _ => return Answer::refused(StatusCode::CONFLICT, &words.say("close-held")),
            }
        };
        let (after, steps) = closed;
        seen_at_closing(name, self.put(frame, name, (&text, &after), &steps))
    }

    /// Opens a closed job again, so that it can be changed.
    pub(super) fn open_again(&self, frame: &Frame, name: &str) -> Answer {
        let steps = [(STANDARDS, ""), (CLOSED, ""), (STATE, JobState::InWork.word())];
        let steps = steps.map(|(path, value)| (path.to_owned(), value.to_owned())).to_vec();
        seen_at_closing(name, self.put_steps(frame, name, |_| steps))
    }

    /// Records that somebody whom the rule names lets a finding stand.
    pub(super) fn concede(&self, frame: &Frame, name: &str, asked: &Concession) -> Answer {
        let may_grant = |hall: &Hall| {
            let rules = hall.ready.session.program().rules();
            let rule = rules.all().iter().find(|rule| rule.name == asked.rule);
            let roles = rule.and_then(|rule| rule.concession.as_ref());
            roles.is_some_and(|roles| roles.contains(&asked.by))
        };
        if !may_grant(&self.hall()) {
            return Answer::refused(StatusCode::CONFLICT, &Words(frame.language).say("not-granted"));
        }
        let steps = |read: &Read<'_>| {
            let job = Job::of(&read.document);
            let number = job.number().text().unwrap_or_default();
            let place = Some(scalar(&asked.place)).filter(|_| !asked.place.is_empty());
            // What is recorded there by now: where it is changed later, nobody has let that stand.
            let node = read.document.find(&asked.place).filter(|_| !asked.place.is_empty());
            let found = node.and_then(|node| read.document.in_a_line(node)).filter(|text| !text.is_empty());
            let found = found.map(|found| scalar(&found));
            let texts = [&asked.reason, &asked.by, &asked.name].map(|text| scalar(text.trim()));
            let [reason, by, who] = &texts;
            let number = scalar(number);
            let entry = conceded(
                &scalar(&asked.rule),
                place.as_deref(),
                found.as_deref(),
                [reason, by, who, &number],
            );
            vec![(format!("{CONCESSIONS}[{}]", job.concessions().count()), entry)]
        };
        seen_at_closing(name, self.put_steps(frame, name, steps))
    }

    /// Writes what is to be written by the record as it is now, which nobody else changes meanwhile.
    ///
    /// # Errors
    /// What is answered where that cannot be done.
    pub(super) fn put_steps(
        &self,
        frame: &Frame,
        name: &str,
        steps: impl FnOnce(&Read<'_>) -> Steps,
    ) -> Result<(), Answer> {
        let conflict = |key: &str| Answer::refused(StatusCode::CONFLICT, &Words(frame.language).say(key));
        let _turn = self.writing();
        let text = self.text(frame, name)?;
        let (after, steps) = {
            let hall = self.hall();
            let read = hall.read_job(&text).map_err(conflict)?;
            let form = hall.ready.session.forms().get(JOB).ok_or_else(|| conflict("gone"))?;
            // What is not there needs not be taken out.
            let is_there = |at: &str, value: &str| !value.is_empty() || read.document.find(at).is_some();
            let steps: Steps = steps(&read).into_iter().filter(|(at, value)| is_there(at, value)).collect();
            (with(&text, form.record(), &steps).map_err(|_| conflict("layout"))?, steps)
        };
        self.put(frame, name, (&text, &after), &steps)
    }

    fn put(&self, frame: &Frame, name: &str, texts: (&str, &str), steps: &Steps) -> Result<(), Answer> {
        let hall = self.hall();
        let recorded = |text: &str, path: &str| hall.written_at(text, path).unwrap_or_default();
        let change = |(path, _): &(String, String)| {
            let (from, to) = (recorded(texts.0, path), recorded(texts.1, path));
            (from != to).then(|| Made { path: path.clone(), from, to })
        };
        let made: Vec<Made> = steps.iter().filter_map(change).collect();
        drop(hall);
        self.replace_text(frame, name, texts, &made)
    }

    /// The record of a job to be printed: its fields and all that was found.
    pub(super) fn print(&self, frame: &Frame, name: &str) -> Answer {
        let hall = self.hall();
        let words = Words(frame.language);
        match hall.read(name) {
            Some((kept, Ok(text))) => {
                with_page(&hall, frame, (name, &kept, &text), &[], |page| Answer::page(page.printed(&text))).0
            }
            Some((_, Err(why))) => Answer::refused(StatusCode::CONFLICT, &why),
            None => Answer::refused(StatusCode::NOT_FOUND, &words.say("gone")),
        }
    }
}
