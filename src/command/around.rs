//! The documents that stand around the jobs of a run: found in the settings and among its own files.

use std::borrow::Cow;
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;

use super::files::{self, Found};
use super::standards::Ready;
use crate::code::{NAMES_NOTHING, NEIGHBOUR_FAULTY, SETTINGS};
use crate::diagnostic::{Diagnostic, Fault};
use crate::document::{forms, yaml};
use crate::library::Archive;
use crate::session::{Episode, Glance, History, Kept, Session, Unplaced};
use crate::source::{Place, SourceId, Span};
use crate::trade::form::{self, JOB, PROCEDURE, REGISTER};

/// The endings of documents.
pub(super) const ENDINGS: [&str; 2] = ["yaml", "yml"];

/// How many files are looked at, side by side, before the next ones are. It bounds the memory of a run.
const BATCH: usize = 256;

/// What a file was found to hold.
struct Held {
    /// The forms of its documents; that which is probably meant where none can be told.
    forms: Vec<Arc<str>>,
    /// Its jobs, of which only the names are kept.
    jobs: Episode,
    /// Whether it holds a job that cannot be read, or not when it was.
    job_lost: bool,
    /// Its name and text, if there are procedures or tool registers in it.
    neighbour: Option<(String, String)>,
}

/// Looks through a file; the fault of one that cannot be read.
fn look_through(path: &Path, session: &Session, neighbours: bool) -> Result<Held, Fault> {
    let text = files::read(path).map_err(|unread| unread.fault)?;
    let name = path.display().to_string();
    let Glance { mut forms, jobs } = Glance::read(&name, &text, session.forms(), &session.setting().zone);
    let mut job_lost = jobs.is_undated();
    if forms.is_empty() {
        forms.extend(form_of(&text).map(Arc::from));
        job_lost |= forms.iter().any(|form| **form == *JOB);
    }
    let is_neighbour = |name: &Arc<str>| form::called(name).is_some_and(|form| form.is_neighbour);
    let is_neighbour = neighbours && forms.iter().any(is_neighbour);
    Ok(Held { forms, jobs, job_lost, neighbour: is_neighbour.then_some((name, text)) })
}

impl Ready {
    /// Puts the documents of the settings and those among the files of the run around the jobs, as far
    /// as the rules ask for them. The files were found below so many paths.
    pub(super) fn surround(&mut self, files: &[Found], paths: usize) {
        let program = self.session.program();
        // The content hash of a procedure and the uncertainty of a tool count whether a rule asks or not;
        // and that two records have one number is said whatever the rules ask.
        let named = !self.documents.procedures.is_empty() || !self.documents.tools.is_empty();
        let neighbours = named || program.asks_around();
        let history = program.asks_history();
        let mut seen: HashSet<PathBuf> = HashSet::new();
        let mut wanted: Vec<(Cow<'_, Path>, Option<Place>)> = Vec::new();
        let documents = &self.documents;
        // Below one path no file is met twice.
        let are_different = paths <= 1 && !named && documents.jobs.is_empty();
        for file in files.iter().filter(|file| file.fault.is_none()) {
            if are_different || seen.insert(true_path(&file.path)) {
                wanted.push((Cow::Borrowed(&file.path), None));
            }
        }
        let mut missing = Vec::new();
        let jobs = history.then_some((JOB, &documents.jobs));
        let named = [(PROCEDURE, &documents.procedures), (REGISTER, &documents.tools)];
        let named = named.into_iter().chain(jobs);
        let mut promised: Vec<(&'static str, Place, HashSet<PathBuf>)> = Vec::new();
        for (form, (path, place)) in
            named.flat_map(|(form, list)| list.iter().map(move |named| (form, named)))
        {
            let found = files::tidy(&self.folder.join(path));
            if !found.exists() {
                missing.push(nothing_there(path, *place));
                continue;
            }
            let held = files::find(&[found], &ENDINGS);
            for file in held.iter().filter(|file| file.fault.is_none()) {
                if seen.insert(true_path(&file.path)) {
                    wanted.push((Cow::Owned(file.path.clone()), Some(*place)));
                }
            }
            let held = held.into_iter().map(|file| true_path(&file.path)).collect();
            promised.push((form, *place, held));
        }
        let session = &self.session;
        let kept = if history { Kept::NumbersAndVehicles } else { Kept::Numbers };
        let (mut past, mut jobs_there) = (History::default(), 0);
        let (mut texts, mut unplaced) = (Vec::new(), Vec::new());
        let looked_at = wanted.chunks(BATCH).flat_map(|batch| {
            let look = |(path, _): &(Cow<'_, Path>, _)| look_through(path, session, neighbours);
            let found: Vec<Result<Held, Fault>> = batch.par_iter().map(look).collect();
            found.into_iter().zip(batch)
        });
        for (found, (path, named)) in looked_at {
            let Held { forms, jobs, job_lost, neighbour } = match found {
                Ok(held) => held,
                // Of a file of the run, inspecting it says so.
                Err(fault) => {
                    missing.extend(named.map(|place| unreadable(path, place, fault)));
                    continue;
                }
            };
            let has = |wanted: &str| forms.iter().any(|form| **form == *wanted);
            if promised.iter().any(|(wanted, ..)| has(wanted)) {
                let path = true_path(path);
                promised.retain(|(wanted, _, held)| !has(wanted) || !held.contains(&path));
            }
            texts.extend(neighbour);
            if job_lost && history {
                missing.extend(named.map(|place| job_unreadable(path, place)));
            }
            if history {
                unplaced.extend(jobs.unplaced().map(|(why, at)| (&**path, *named, why, at)));
            }
            jobs_there += jobs.count();
            past.add(jobs, kept);
        }
        // A job alone is missing from no history.
        if jobs_there > 1 {
            missing.extend(say_unplaced(&unplaced, &mut self.session));
        }
        missing.extend(promised.iter().map(|(form, place, _)| none_of_the_form(form, *place)));
        self.diagnostics.extend(missing);
        self.session.surround(texts, past.in_order(), Arc::new(Disk));
    }
}

/// By whatever links it is reached, a file is one file.
fn true_path(path: &Path) -> PathBuf {
    std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

fn none_of_the_form(form: &str, place: Place) -> Diagnostic {
    let what = form::called(form).map_or(form, |form| form.called);
    let message = format!("there is no {what} here: no document begins with the line `form: {form}/1`");
    if form == JOB {
        // A workshop that begins has no earlier jobs yet.
        return Diagnostic::advice(NAMES_NOTHING, place, message)
            .help("no earlier job is known by this; correct the path if there are some");
    }
    Diagnostic::error(SETTINGS, place, message)
        .help("correct the document, or take its name out of the settings")
}

fn unreadable(path: &Path, place: Place, fault: Fault) -> Diagnostic {
    let message = format!("a document around the jobs is left out, `{}`: {}", path.display(), fault.message);
    let diagnostic = Diagnostic::error(fault.code, place, message);
    Diagnostic { help: fault.help, ..diagnostic }
}

/// Without one of its jobs the history of a vehicle is another, so the run must not pass for whole.
fn job_unreadable(path: &Path, place: Place) -> Diagnostic {
    let message =
        format!("an earlier job is left out of the history, `{}`: it cannot be read", path.display());
    Diagnostic::error(NEIGHBOUR_FAULTY, place, message)
        .help("inspect that record, and correct its form, its layout or the time at which the job was opened")
}

/// How many jobs of the run are named that belong to no vehicle.
const MOST_UNPLACED: usize = 20;

/// Says of jobs that they are in the history of no vehicle. What is wrong with one of the run is reported with it,
/// but those that are judged by the history are other documents.
fn say_unplaced(jobs: &[(&Path, Option<Place>, Unplaced, Span)], session: &mut Session) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    let mut of_run = 0_usize;
    for (path, named, why, at) in jobs {
        let reason = match why {
            Unplaced::Unreadable => "neither plate nor VIN can be read",
            Unplaced::Unnamed => "it states neither plate nor VIN",
        };
        if let Some(place) = named {
            let message =
                format!("an earlier job is left out of the history, `{}`: {reason}", path.display());
            said.push(match why {
                Unplaced::Unreadable => Diagnostic::error(NEIGHBOUR_FAULTY, *place, message)
                    .help("inspect that record, and correct plate and VIN"),
                Unplaced::Unnamed => Diagnostic::advice(NEIGHBOUR_FAULTY, *place, message)
                    .help("write plate or VIN into that record if they are known"),
            });
            continue;
        }
        of_run += 1;
        if of_run <= MOST_UNPLACED {
            let text = files::read(path).unwrap_or_default();
            let source = session.add_text(path.display().to_string(), text);
            let message = format!("this job is left out of the history of its vehicle: {reason}");
            said.push(
                Diagnostic::advice(NEIGHBOUR_FAULTY, Place { source, span: *at }, message)
                    .help("other jobs on the vehicle are judged without it; write plate or VIN into it"),
            );
        }
    }
    let more = of_run.saturating_sub(MOST_UNPLACED);
    let place = said.iter().rev().find_map(Diagnostic::place).filter(|_| more > 0);
    said.extend(place.map(|place| {
        let message = format!("{more} more jobs of this run are left out of the history of their vehicles");
        Diagnostic::advice(NEIGHBOUR_FAULTY, place, message).help("write plate or VIN into them")
    }));
    said
}

fn nothing_there(path: &str, place: Place) -> Diagnostic {
    let help = match path.contains(['*', '?']) {
        true => "patterns are not read here; name the folder, and all that is below it is taken",
        false => "write the path from the folder of the settings",
    };
    Diagnostic::error(SETTINGS, place, format!("there is no file or folder `{path}`")).help(help)
}

/// The name of the form in the first line that names one. A line such as `from: tools/1` names one too:
/// that its field is misspelt is said when the document is read.
pub(super) fn form_of(text: &str) -> Option<&str> {
    let lines = text.trim_start_matches('\u{feff}').split(['\n', '\r']);
    let mut named = lines.filter_map(|line| {
        let (field, value) = line.split_once(':')?;
        let form = value.trim().trim_matches(['"', '\'']).split('/').next()?.trim();
        let numbered = value.contains('/') && form::called(form).is_some();
        (field == forms::FIELD || (numbered && !field.starts_with([' ', '#', '-']))).then_some(form)
    });
    named.next()
}

/// Whether a text holds a document: a line names a form or, however the text is written, a document does.
pub(super) fn is_document(text: &str) -> bool {
    form_of(text).is_some() || {
        let (documents, _) = yaml::read(SourceId::FIRST, text, 0);
        documents.iter().any(|document| document.find(forms::FIELD).is_some())
    }
}

/// The jobs on disk.
struct Disk;

impl Archive for Disk {
    fn open(&self, name: &str) -> Result<String, Fault> {
        files::read(Path::new(name)).map_err(|unread| unread.fault)
    }
}
