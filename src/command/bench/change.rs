//! Changes of a record, field by field. What somebody else has recorded meanwhile is never overwritten: both are shown, and a
//! person chooses.

use std::collections::BTreeMap;
use std::path::Path;

use hyper::StatusCode;
use serde::{Deserialize, Serialize};

use super::answer::Answer;
use super::desk::{Desk, Hall};
use super::jobs::{State, with_page};
use super::numbers;
use super::trail::{self, Change as Entered, Made};
use crate::bench::entry::{self, written};
use crate::bench::page::Frame;
use crate::bench::rows::{self, Part, Row};
use crate::bench::words::Words;
use crate::command::bounds::unlinked;
use crate::command::replace::{CHANGED, create, replace};
use crate::document::edit::{Unwritable, take_out, write};
use crate::document::{DocPath, Record};
use crate::sheet;
use crate::trade::Job;
use crate::trade::form::JOB;
use crate::trade::job::{CONCESSIONS, COUNTERSIGNED, JobState, NUMBER, OPENED, STANDARDS, TECHNICIAN};
use crate::trade::work::BEFORE;

/// So many changes are taken at once.
const MOST_CHANGES: usize = 64;

/// So often it is tried again where somebody else writes the same record at the same moment.
const MOST_TRIES: usize = 5;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    job: String,
    /// The fields that were added to the page by hand.
    #[serde(default)]
    also: Vec<String>,
    changes: Vec<Change>,
}

/// A change of one field.
#[derive(Debug, Deserialize)]
struct Change {
    /// The name of the row.
    row: String,
    /// What the browser has seen there.
    base: String,
    /// What is to be recorded.
    value: String,
    /// What the browser has seen in each field of the group or entry of this name, which is to be taken out as a whole.
    #[serde(default)]
    take_out: Option<BTreeMap<String, String>>,
}

#[derive(Debug, Serialize)]
struct Done {
    results: Vec<Outcome>,
    state: Option<State>,
}

/// What became of a change.
#[derive(Clone, Debug, Serialize)]
struct Outcome {
    became: Became,
    /// What is recorded now.
    now: String,
    /// Why nothing was written.
    why: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
enum Became {
    /// It is recorded.
    Written,
    /// Somebody else has recorded something else there.
    Conflict,
    /// It cannot be recorded.
    Refused,
}

impl Outcome {
    fn refused(now: &str, why: String) -> Outcome {
        Outcome { became: Became::Refused, now: now.to_owned(), why }
    }
}

/// A text with changes made, and what became of each; for the trail, the path of each that was made, what was there and what is.
struct Changed {
    text: String,
    outcomes: Vec<Outcome>,
    made: Vec<Made>,
}

impl Hall {
    /// Makes the changes in a text, one after the other.
    fn changed(&self, text: &str, changes: &[Change], frame: &Frame) -> Changed {
        let mut changed = Changed { text: text.to_owned(), outcomes: Vec::new(), made: Vec::new() };
        for change in changes {
            let outcome = self.make(change, &mut changed, frame);
            changed.outcomes.push(outcome);
        }
        changed
    }

    fn make(&self, change: &Change, changed: &mut Changed, frame: &Frame) -> Outcome {
        let words = Words(frame.language);
        let Some(form) = self.ready.session.forms().get(JOB) else {
            return Outcome::refused("", words.say("gone"));
        };
        let before = changed.text.clone();
        let read = match self.read_job(&before) {
            Ok(read) => read,
            Err(why) => return Outcome::refused("", words.say(why)),
        };
        if Job::of(&read.document).state() == Some(JobState::Closed) {
            return Outcome::refused("", words.say("closed"));
        }
        let mut parts = self.parts(&read);
        if let Some(seen) = &change.take_out {
            return match self.taken_out(&before, &change.row, seen, &parts, frame) {
                Ok((text, made)) => {
                    changed.text = text;
                    changed.made.push(made);
                    Outcome { became: Became::Written, now: String::new(), why: String::new() }
                }
                Err(why) => Outcome::refused("", words.say(why)),
            };
        }
        if rows::find(&parts, &change.row).is_none() {
            rows::extend(&mut parts, form.record(), &read.document, &change.row);
        }
        let Some(row) = rows::find(&parts, &change.row) else {
            return Outcome::refused("", words.say("list-changed"));
        };
        let now = row.base();
        if let Some(why) = withheld(&row.path, now, frame) {
            return Outcome::refused(now, words.say(why));
        }
        if rows::is_said_by_last(&read.document, row, &written(&row.field.shape, &change.value)) {
            // It was sent before, and its answer did not arrive.
            return Outcome { became: Became::Written, now: now.to_owned(), why: String::new() };
        }
        if change.value.chars().count() > entry::LONGEST {
            return Outcome::refused(now, words.say("too-long"));
        }
        let value = written(&row.field.shape, &change.value);
        let new = match put(&before, row, &value, form.record()) {
            Ok(new) => new,
            Err(why) => return Outcome::refused(now, words.say(key(why))),
        };
        let recorded = self.recorded(&new, &row.path).unwrap_or_default();
        if recorded.is_empty() && !value.is_empty() {
            // It would be in the record, and nobody would see it: `none` and `OK` say nothing there.
            return Outcome::refused(now, words.with("says-nothing", change.value.trim()));
        }
        if recorded == now {
            return Outcome { became: Became::Written, now: now.to_owned(), why: String::new() };
        }
        if change.base != now {
            return Outcome { became: Became::Conflict, now: now.to_owned(), why: String::new() };
        }
        let (path, from) = (row.path.to_string(), now.to_owned());
        changed.made.push(Made { path, from, to: recorded.clone() });
        changed.text = new;
        Outcome { became: Became::Written, now: recorded, why: String::new() }
    }

    /// A text without a group or an entry, and what the trail says of it.
    fn taken_out(
        &self,
        text: &str,
        id: &str,
        seen: &BTreeMap<String, String>,
        parts: &[Part<'_>],
        frame: &Frame,
    ) -> Result<(String, Made), &'static str> {
        let (Some(whole), Some(form)) = (rows::whole(parts, id), self.ready.session.forms().get(JOB)) else {
            return Err("list-changed");
        };
        let path = whole.path.to_string();
        if BEFORE.contains(&path.as_str()) {
            return Err("part-stays");
        }
        if let Some(why) = withheld(whole.path, "", frame) {
            return Err(why);
        }
        let mut recorded = BTreeMap::new();
        rows::each(whole.parts, &mut |row| {
            recorded.extend(row.recorded.iter().map(|text| (row.id.clone(), text.clone())));
        });
        if recorded != *seen {
            return Err("part-changed");
        }
        let rest = take_out(text, 0, whole.path, form.record()).map_err(key)?;
        let from = recorded.iter().map(|(row, text)| format!("{row}: {text}")).collect::<Vec<_>>().join("; ");
        Ok((rest, Made { path, from, to: String::new() }))
    }

    /// What a text has recorded at a path.
    fn recorded(&self, text: &str, path: &DocPath) -> Option<String> {
        let read = self.read_job(text).ok()?;
        rows::recorded_at(&read.document, path)
    }
}

/// The text with a value in the place of a row; its entry first, where the record does not have it.
fn put(text: &str, row: &Row<'_>, value: &str, form: &Record) -> Result<String, Unwritable> {
    match &row.first {
        Some(_) if value.is_empty() => Ok(text.to_owned()),
        Some((path, entry)) => write(&write(text, 0, path, entry, form)?, 0, &row.path, value, form),
        None if row.recorded.is_none() && value.is_empty() => Ok(text.to_owned()),
        None => write(text, 0, &row.path, value, form),
    }
}

/// Why a field is not changed from the page, or not by this person: what decides who may grant what, and by which edition a job
/// is judged, would be in the hands of the one who is judged.
fn withheld(path: &DocPath, now: &str, frame: &Frame) -> Option<&'static str> {
    let path = path.to_string();
    let is = |field: &str| {
        path.strip_prefix(field).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    match () {
        () if is(CONCESSIONS) => Some("concession-at-closing"),
        () if is(STANDARDS) => Some("standards-at-closing"),
        () if !frame.is_foreman && (is(NUMBER) || is(OPENED) || is(COUNTERSIGNED)) => Some("foreman-changes"),
        // Whose work it was says who may not grant a concession for it.
        () if !frame.is_foreman && is(TECHNICIAN) && !now.is_empty() => Some("foreman-changes"),
        () => None,
    }
}

fn key(why: Unwritable) -> &'static str {
    match why {
        Unwritable::Unreadable => "unreadable-record",
        Unwritable::NoWay => "list-changed",
        Unwritable::Comment => "comment",
        Unwritable::Layout => "layout",
    }
}

fn asked(body: &[u8]) -> Option<Asked> {
    let asked: Asked = serde_json::from_slice(body).ok()?;
    (asked.changes.len() <= MOST_CHANGES).then_some(asked)
}

impl Desk {
    /// Judges a record as it would be with changes, and writes nothing.
    pub(super) fn attempt(&self, frame: &Frame, body: &[u8]) -> Answer {
        let words = Words(frame.language);
        let Some(asked) = asked(body) else {
            return Answer::refused(StatusCode::BAD_REQUEST, &words.say("bad-request"));
        };
        let hall = self.hall();
        let Some((kept, Ok(text))) = hall.read(&asked.job) else {
            return Answer::refused(StatusCode::NOT_FOUND, &words.say("gone"));
        };
        let Changed { text, outcomes, .. } = hall.changed(&text, &asked.changes, frame);
        let (state, _) = with_page(&hall, frame, (&asked.job, &kept, &text), &asked.also, State::of);
        Answer::json(&Done { results: outcomes, state: Some(state) })
    }

    /// Makes changes in a record.
    pub(super) fn change(&self, frame: &Frame, body: &[u8]) -> Answer {
        let words = Words(frame.language);
        let Some(asked) = asked(body) else {
            return Answer::refused(StatusCode::BAD_REQUEST, &words.say("bad-request"));
        };
        let _turn = self.writing();
        let mut tries = 0;
        let written = loop {
            tries += 1;
            match self.write_changes(frame, &asked, words) {
                Err(why) if why == CHANGED && tries < MOST_TRIES => {}
                other => break other,
            }
        };
        match written {
            Ok((outcomes, text)) => self.after_writing(frame, &asked, &text, outcomes),
            Err(why) => Answer::refused(StatusCode::CONFLICT, &words.with("not-written", &why)),
        }
    }

    /// Puts another text in the place of the one that a record has, with lines for its trail.
    ///
    /// # Errors
    /// What is answered where that cannot be done.
    pub(super) fn replace_text(
        &self,
        frame: &Frame,
        name: &str,
        (before, after): (&str, &str),
        made: &[Made],
    ) -> Result<(), Answer> {
        let words = Words(frame.language);
        let gone = || Answer::refused(StatusCode::NOT_FOUND, &words.say("gone"));
        let path = self.hall().index.get(name).map(|kept| kept.path.clone()).ok_or_else(gone)?;
        self.write(frame, &path, (before, after), made)
            .map_err(|why| Answer::refused(StatusCode::CONFLICT, &words.with("not-written", &why)))?;
        let is_current = self.hall_to_change().written(name, after);
        if !is_current {
            self.reopen();
        }
        Ok(())
    }

    /// Writes a record and its trail.
    fn write(
        &self,
        frame: &Frame,
        path: &Path,
        (before, after): (&str, &str),
        made: &[Made],
    ) -> Result<(), String> {
        unlinked(&self.folder, path).map_err(|fault| fault.message)?;
        let change = Entered { by: &frame.person, before, after, made };
        let trail = trail::begin(&self.folder, path, &change)?;
        let written = replace(path, before, after, &self.bounds());
        trail.end(&written);
        written
    }

    fn write_changes(
        &self,
        frame: &Frame,
        asked: &Asked,
        words: Words,
    ) -> Result<(Vec<Outcome>, String), String> {
        let hall = self.hall();
        let (kept, read) = hall.read(&asked.job).ok_or_else(|| words.say("gone"))?;
        let text = read?;
        let changed = hall.changed(&text, &asked.changes, frame);
        if changed.text != text {
            self.write(frame, &kept.path, (&text, &changed.text), &changed.made)?;
        }
        Ok((changed.outcomes, changed.text))
    }

    fn after_writing(&self, frame: &Frame, asked: &Asked, text: &str, results: Vec<Outcome>) -> Answer {
        let name = asked.job.as_str();
        let is_current = self.hall_to_change().written(name, text);
        if !is_current {
            self.reopen();
        }
        let (state, verdict) = {
            let hall = self.hall();
            let Some(kept) = hall.index.get(name) else {
                return Answer::json(&Done { results, state: None });
            };
            with_page(&hall, frame, (name, kept, text), &asked.also, State::of)
        };
        self.hall_to_change().note_verdict(name, verdict);
        Answer::json(&Done { results, state: Some(state) })
    }

    /// Begins a job; the name of its record.
    pub(super) fn begin(&self, frame: &Frame, number: &str, procedure: &str) -> Result<String, String> {
        let (words, number) = (Words(frame.language), number.trim());
        if !numbers::is_plain(number) {
            return Err(words.say("number-not-plain"));
        }
        let _turn = self.writing();
        let path = self.place_of_new().join(format!("{number}.yaml"));
        unlinked(&self.folder, &path).map_err(|fault| fault.message)?;
        if let Some(twin) = self.hall().twin(number, &path) {
            return Err(words.with("number-taken", &twin));
        }
        let text = self.first_text(number, procedure)?;
        let made = [Made { path: NUMBER.to_owned(), from: String::new(), to: number.to_owned() }];
        let change = Entered { by: &frame.person, before: "", after: &text, made: &made };
        let trail = trail::begin(&self.folder, &path, &change)?;
        let created = create(&path, text.as_bytes());
        trail.end(&created);
        created?;
        Ok(self.hall_to_change().begun(&path, &text))
    }

    /// The blank record of a job, with its number and when it was opened.
    fn first_text(&self, number: &str, procedure: &str) -> Result<String, String> {
        let hall = self.hall();
        let session = &hall.ready.session;
        let form = session.forms().get(JOB).ok_or("there is no form of jobs")?;
        let blank = match procedure {
            "" => {
                "form: job/1\n\njob:\n  number:\n  opened:\n  state: in work\n\nvehicle:\n\nunit:\n  kind:\n"
                    .to_owned()
            }
            name => {
                let known = session.procedures();
                let last = known.iter().filter(|one| one.name == name).max_by_key(|one| one.edition);
                sheet::blank(session, last.ok_or("there is no such procedure")?)
            }
        };
        let now = jiff::Timestamp::now().to_zoned_datetime(session.setting().zone.clone());
        let now = now.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string();
        let mut text = blank;
        for (path, value) in [(NUMBER, sheet::scalar(number)), (OPENED, now)] {
            let path = path.parse().map_err(|_| "no path")?;
            text = write(&text, 0, &path, &value, form.record()).map_err(|why| format!("{why:?}"))?;
        }
        Ok(text)
    }
}
