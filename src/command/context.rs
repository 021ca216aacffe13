//! The documents that stand around the jobs of a run: found in the settings and among its own files.

use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;

use super::bounds::{absolute, is_link};
use super::files::{self, Links, is_special_file};
use super::likeness::form_of;
use super::names;
use super::standards::Ready;
use super::walk::{Found, Reach, Walked, Why, look_for};
use crate::code::{
    EARLIER_JOB_CHANGED, LOGBOOKS_INCOMPLETE, NAMES_NOTHING, NEIGHBOUR_FAULTY, NEIGHBOUR_NOT_TAKEN, SETTINGS,
    TOO_MUCH_WORK,
};
use crate::diagnostic::{Diagnostic, Fault, Level};
use crate::document;
use crate::library::Archive;
use crate::report::text::{count, list};
use crate::session::{Entries, Episode, Glance, History, Kept, Session, Unplaced};
use crate::source::{Place, SourceId, Span};
use crate::trade::Job;
use crate::trade::form::{self, JOB, PROCEDURE, REGISTER};
use crate::trade::job::NUMBER;
use crate::trade::logbook::{Logbooks, SomeRecords};

/// The endings of documents.
pub(super) const ENDINGS: [&str; 2] = ["yaml", "yml"];

/// How many files are named before they are only counted.
const MOST_NAMED: usize = 8;

/// How many folders the settings may name. Each is gone through by itself, though one may be in the other.
pub(super) const MOST_WALKS: usize = 64;

/// What is said of the first folder beyond.
pub(super) fn too_many_folders(place: Place) -> Diagnostic {
    let message = format!(
        "the settings name more than {MOST_WALKS} folders, and this one and those behind it are not read"
    );
    Diagnostic::error(TOO_MUCH_WORK, place, message)
        .help("name the folder that holds them: what is below it is read, too")
}

/// What a file was found to hold.
struct Held {
    /// The forms of its documents; that which is probably meant where none can be told.
    forms: Vec<Arc<str>>,
    /// Its jobs, of which only the names are kept.
    jobs: Episode,
    /// Whether it holds a job of which it cannot be read when it was, nor on which vehicle.
    job_lost: bool,
    /// Its name and text, if there are procedures or tool registers in it.
    neighbour: Option<(String, String)>,
    /// The facts of its jobs, where logbooks are made of them, and whether it may hold a job that cannot be read.
    entries: Entries,
}

/// A file to look through.
struct Wanted<'f> {
    path: Cow<'f, Path>,
    links: Links,
    /// Where the settings name it; nothing for a file of the run.
    place: Option<Place>,
}

/// What is looked for in files.
#[derive(Clone, Copy)]
struct LookedFor {
    neighbours: bool,
    entries: bool,
}

/// Looks through a file; the fault of one that cannot be read.
fn look_through(path: &Path, links: Links, session: &Session, wanted: LookedFor) -> Result<Held, Fault> {
    let text = files::read_by(path, links).map_err(|unread| unread.fault)?;
    let name = names::named(path);
    let (forms, zone) = (session.forms(), &session.setting().zone);
    let (Glance { mut forms, jobs }, mut entries) = match wanted.entries {
        true => Glance::with_entries(&Arc::from(&*name), &text, forms, zone),
        false => (Glance::read(&*name, &text, forms, zone), Entries::default()),
    };
    let mut job_lost = jobs.is_lost();
    if forms.is_empty() {
        forms.extend(form_of(&text).map(Arc::from));
        job_lost |= forms.iter().any(|form| **form == *JOB);
        entries.is_cut = job_lost;
    }
    entries.is_cut &= forms.iter().any(|form| **form == *JOB);
    let is_neighbour = |name: &Arc<str>| form::called(name).is_some_and(|form| form.is_neighbour);
    let is_neighbour = wanted.neighbours && forms.iter().any(is_neighbour);
    Ok(Held { forms, jobs, job_lost, neighbour: is_neighbour.then_some((name, text)), entries })
}

impl Ready {
    /// The file beside the settings whose place a judged one takes, as it has all jobs of that one, and the name of the judged
    /// one if it says something else. Anything else at its path is no newer text of it, and hides no job that the settings
    /// name.
    fn replaced_by(&self, path: &Path, links: Links) -> Option<(PathBuf, Option<String>)> {
        let original = self.copies.original(path)?;
        let numbers = |text: &str| -> HashSet<String> {
            let documents = document::read_values(SourceId::FIRST, text, self.session.forms(), &[NUMBER]);
            documents.iter().filter_map(|one| Some(Job::of(one).number().text()?.to_owned())).collect()
        };
        let trusted = files::read_unlinked(&original).ok()?;
        let judged = files::read_by(path, links).ok()?;
        let (there, here) = (numbers(&trusted), numbers(&judged));
        // A checkout can have other line ends, and an editor adds a mark.
        let [one, other] = [&trusted, &judged].map(|text| text.trim_start_matches('\u{feff}').lines());
        let altered = (!one.eq(other)).then(|| names::named(path));
        (!there.is_empty() && there.is_subset(&here)).then_some((original, altered))
    }

    /// What the history keeps of the jobs.
    fn kept(&self) -> Kept {
        if self.session.program().asks_history() { Kept::NumbersAndVehicles } else { Kept::Numbers }
    }

    /// Looks through a job again that has changed; whether the history is another one by that, and nothing if the file is no
    /// job like it was, so that all has to be read again.
    pub(super) fn look_again(&mut self, path: &Path, text: &str) -> Option<bool> {
        let name = names::named(path);
        let glance = Glance::read(&*name, text, self.session.forms(), &self.session.setting().zone);
        let is_job = !glance.forms.is_empty() && glance.forms.iter().all(|form| **form == *JOB);
        let known = self.episodes.as_mut()?.get_mut(path).filter(|_| is_job)?;
        if known.is_as(&glance.jobs) {
            return Some(false);
        }
        let is_told = |jobs: &Episode| jobs.is_lost() || jobs.unplaced().next().is_some();
        // What is said of the run as a whole changes.
        if is_told(known) || is_told(&glance.jobs) {
            return None;
        }
        *known = glance.jobs;
        Some(true)
    }

    /// Takes a new job into the history, or one that is gone out of it.
    pub(super) fn take_in(&mut self, path: &Path, text: Option<&str>) {
        let zone = &self.session.setting().zone;
        let glance = text.map(|text| Glance::read(names::named(path), text, self.session.forms(), zone));
        let Some(episodes) = &mut self.episodes else { return };
        match glance {
            Some(glance) => drop(episodes.insert(path.to_owned(), glance.jobs)),
            None => drop(episodes.remove(path)),
        }
    }

    /// Makes the history anew of what was looked through.
    pub(super) fn renew_history(&mut self) {
        let (mut past, kept) = (History::default(), self.kept());
        self.episodes.iter().flatten().for_each(|(_, jobs)| past.add(jobs.clone(), kept));
        self.session.replace_history(past.in_order(), Arc::new(Disk { served: self.served.clone() }));
    }

    /// Puts the documents of the settings and those among the files of the run around the jobs, as far
    /// as the rules ask for them. The files were found below so many paths.
    pub(super) fn load_context(&mut self, files: &[Found], paths: usize) {
        let program = self.session.program();
        // The content hash of a procedure and the uncertainty of a tool count whether a rule asks or not;
        // and that two records have one number is said whatever the rules ask.
        let named = !self.documents.procedures.is_empty() || !self.documents.tools.is_empty();
        let neighbours = named || program.asks_around();
        let history = program.asks_history();
        let mut seen: HashSet<PathBuf> = HashSet::new();
        let mut wanted: Vec<Wanted<'_>> = Vec::new();
        let documents = &self.documents;
        // Below one path no file is met twice.
        let are_different = paths <= 1 && !named && documents.jobs.is_empty();
        for file in files.iter().filter(|file| file.fault.is_none()) {
            if are_different || seen.insert(true_path(&file.path)) {
                let links = self.bounds.links(file);
                wanted.push(Wanted { path: Cow::Borrowed(&file.path), links, place: None });
            }
        }
        let mut missing = Vec::new();
        // A job that is judged takes the place of its copy beside the settings.
        let changed: HashMap<PathBuf, Option<String>> =
            files.iter().filter_map(|file| self.replaced_by(&file.path, self.bounds.links(file))).collect();
        let named =
            [(PROCEDURE, &documents.procedures), (REGISTER, &documents.tools), (JOB, &documents.jobs)];
        // What the settings say is there, and by its path for which of them a file can be it.
        let mut promised: Vec<(&'static str, Place, bool)> = Vec::new();
        let mut promises: HashMap<PathBuf, Vec<usize>> = HashMap::new();
        let mut gone_through: HashSet<(&'static str, PathBuf)> = HashSet::new();
        let (mut walks, mut altered) = (0, BTreeSet::new());
        for (form, (path, place)) in
            named.into_iter().flat_map(|(form, list)| list.iter().map(move |named| (form, named)))
        {
            let found = match self.bounds.path(path) {
                Ok(found) => found,
                Err(fault) => {
                    missing.push(fault.at(*place));
                    continue;
                }
            };
            // What a path may lead to is asked of every one, also where no rule asks for what is there.
            let asked = history || self.makes_logbooks;
            if form == JOB && !asked || !gone_through.insert((form, found.clone())) {
                continue;
            }
            if !found.exists() {
                missing.push(nothing_there(path, *place));
                continue;
            }
            walks += usize::from(found.is_dir());
            if walks > MOST_WALKS {
                missing.push(too_many_folders(*place));
                break;
            }
            let Walked { files: held, unseen, .. } = look_for(&[found], &ENDINGS, Reach::Kept);
            missing.extend(unseen.iter().filter_map(|unseen| match unseen.why {
                Why::Link => Some(unreadable(&unseen.path, *place, is_link(&unseen.path))),
                Why::Special => Some(unreadable(&unseen.path, *place, is_special_file(&unseen.path))),
                Why::Dot | Why::Ignored | Why::Closed => None,
            }));
            for file in held.iter().filter(|file| file.fault.is_none()) {
                let copy = changed.get(&absolute(&file.path)).filter(|_| form == JOB);
                altered.extend(copy.cloned().flatten());
                if copy.is_none() && seen.insert(true_path(&file.path)) {
                    let path = Cow::Owned(file.path.clone());
                    wanted.push(Wanted { path, links: Links::Refused, place: Some(*place) });
                }
            }
            // A job that is judged is there, too.
            let is_here = form == JOB && held.iter().any(|file| changed.contains_key(&absolute(&file.path)));
            for file in held.iter().filter(|_| !is_here) {
                promises.entry(true_path(&file.path)).or_default().push(promised.len());
            }
            promised.push((form, *place, is_here));
        }
        let session = &self.session;
        let kept = self.kept();
        let mut logbooks = self.makes_logbooks.then(Logbooks::default);
        let looked_for = LookedFor { neighbours, entries: logbooks.is_some() };
        let (mut past, mut jobs_there) = (History::default(), 0);
        let (mut texts, mut unplaced, mut lost) = (Vec::new(), Vec::new(), Vec::new());
        let looked_at = files::batches(&wanted, |one| &one.path).into_iter().flat_map(|batch| {
            let look = |one: &Wanted<'_>| look_through(&one.path, one.links, session, looked_for);
            let found: Vec<Result<Held, Fault>> = batch.par_iter().map(look).collect();
            found.into_iter().zip(batch)
        });
        let (mut not_taken, mut too_much, mut kept_bytes) = (Vec::new(), Vec::new(), 0_u64);
        for (found, Wanted { path, place: named, .. }) in looked_at {
            let Held { forms, jobs, job_lost, neighbour, entries } = match found {
                Ok(held) => held,
                // Of a file of the run, inspecting it says so.
                Err(fault) => {
                    logbooks.iter_mut().for_each(|logbooks| logbooks.astray.add(&names::named(path).into()));
                    match named {
                        Some(place) => missing.push(unreadable(path, *place, fault)),
                        // Who is served sees one job at a time, and not what is wrong with this one.
                        None if self.served.is_some() => lost.push((&**path, Some(fault))),
                        None => {}
                    }
                    continue;
                }
            };
            let has = |wanted: &str| forms.iter().any(|form| **form == *wanted);
            let of_settings = if promises.is_empty() { None } else { promises.get(&true_path(path)) };
            for number in of_settings.into_iter().flatten() {
                if let Some((wanted, _, is_kept)) = promised.get_mut(*number) {
                    *is_kept |= has(wanted);
                }
            }
            let is_taken = named.is_some()
                || forms.iter().all(|form| self.brought.allows(form))
                || of_settings.is_some();
            match neighbour {
                Some((name, text)) if !is_taken => {
                    not_taken.extend((!self.copies.is_unchanged(path, &text)).then_some(name));
                }
                Some((name, text)) => {
                    kept_bytes += text.len() as u64;
                    match kept_bytes > self.most_kept.saturating_mul(1024 * 1024) {
                        true => too_much.push(name),
                        false => texts.push((name, text)),
                    }
                }
                None => {}
            }
            match named {
                Some(place) if job_lost && history => missing.push(job_unreadable(path, *place)),
                None if job_lost && history && self.served.is_some() => lost.push((&**path, None)),
                _ => {}
            }
            if history {
                unplaced.extend(jobs.unplaced().map(|(why, at)| (&**path, *named, why, at)));
            }
            jobs_there += jobs.count();
            if let Some(logbooks) = &mut logbooks {
                take_entries(logbooks, entries, path, (*named, history));
            }
            if let Some(episodes) = &mut self.episodes {
                episodes.insert(path.to_path_buf(), jobs.clone());
            }
            past.add(jobs, kept);
        }
        for (path, fault) in lost.into_iter().take(MOST_UNPLACED) {
            let source = self.session.add_text(names::named(path), String::new());
            let place = Place { source, span: Span::default() };
            missing.push(match fault {
                Some(fault) => unreadable(path, place, fault),
                None => job_unreadable(path, place),
            });
        }
        // A job alone is missing from no history.
        if jobs_there > 1 {
            missing.extend(say_unplaced(&unplaced, &mut self.session));
        }
        missing.extend(said_not_taken(&not_taken));
        missing.extend(said_altered(&altered));
        missing.extend(said_too_much(&too_much, self.most_kept));
        let broken = promised.iter().filter(|(.., is_kept)| !is_kept);
        missing.extend(broken.map(|(form, place, _)| none_of_the_form(form, *place)));
        if let Some(logbooks) = &logbooks {
            missing.extend(said_of_logbooks(logbooks));
        }
        self.logbooks = logbooks.map(Logbooks::in_order);
        self.diagnostics.extend(missing);
        self.session.load_context(texts, past.in_order(), Arc::new(Disk { served: self.served.clone() }));
    }
}

/// Takes the jobs of a file into the logbooks; those that the settings put around the run have none of their own. Where there is
/// a history, it says which jobs are on no vehicle.
fn take_entries(
    logbooks: &mut Logbooks,
    entries: Entries,
    path: &Path,
    (named, history): (Option<Place>, bool),
) {
    if entries.is_cut {
        logbooks.astray.add(&names::named(path).into());
    }
    for entry in entries.jobs {
        logbooks.add(if named.is_some() { entry.around() } else { entry }, !history);
    }
}

/// Says which records may be missing from logbooks, and that there are too many of them.
fn said_of_logbooks(logbooks: &Logbooks) -> Vec<Diagnostic> {
    let named = |records: &SomeRecords| {
        let more = records.count.saturating_sub(records.first.len() as u64);
        let more = (more > 0).then(|| format!("{more} more"));
        let names: Vec<&str> = records.first.iter().map(|name| &**name).chain(more.as_deref()).collect();
        names.join(", ")
    };
    let (astray, too_much) = (&logbooks.astray, &logbooks.too_much);
    let lost = (astray.count > 0).then(|| {
        let message = format!(
            "logbooks may lack jobs: whose they are cannot be read, or not all of it, in {}: {}",
            count(astray.count, "record"),
            named(astray)
        );
        let advice = Diagnostic::without_place(LOGBOOKS_INCOMPLETE, message);
        Diagnostic { level: Level::Advice, ..advice }
            .help("inspect these records, and correct plate, VIN, technician, lift and tools in them")
    });
    let many = (too_much.count > 0).then(|| {
        let message = format!(
            "no logbook is judged, as {} of the run state more than is kept for them: {}",
            count(too_much.count, "record"),
            named(too_much)
        );
        Diagnostic::without_place(TOO_MUCH_WORK, message)
            .help("judge fewer records in one run; of one job, a thousand tools and fault codes are kept")
    });
    lost.into_iter().chain(many).collect()
}

/// Says of procedures and registers among the files of the run that they decide nothing.
fn said_not_taken(files: &[String]) -> Option<Diagnostic> {
    let verb = if files.len() == 1 { "is judged and does" } else { "are judged and do" };
    let message = format!(
        "{} with procedures or tools {verb} not count for the jobs: {}",
        count(files.len() as u64, "file"),
        list(files.iter().map(String::as_str), MOST_NAMED)
    );
    let help = "name them under `documents` in the settings of this run, or write `files_may_bring: [procedures, tools]` there";
    (!files.is_empty()).then(|| Diagnostic {
        level: Level::Advice,
        ..Diagnostic::without_place(NEIGHBOUR_NOT_TAKEN, message).help(help)
    })
}

/// Says of records that later jobs are judged by what they say now, and not by what their copies say that the settings name.
fn said_altered(files: &BTreeSet<String>) -> Option<Diagnostic> {
    let (differ, they) = if files.len() == 1 { ("differs", "it says") } else { ("differ", "they say") };
    let message = format!(
        "{} {differ} from what the settings name as earlier jobs, and later jobs are judged by what {they} here: {}",
        count(files.len() as u64, "record"),
        list(files.iter().map(String::as_str), MOST_NAMED)
    );
    let help = "look at each change of a record that was closed before";
    (!files.is_empty()).then(|| Diagnostic {
        level: Level::Advice,
        ..Diagnostic::without_place(EARLIER_JOB_CHANGED, message).help(help)
    })
}

/// Says that the procedures and registers of a run are too many to keep.
fn said_too_much(files: &[String], most: u64) -> Option<Diagnostic> {
    let verb = if files.len() == 1 { "is" } else { "are" };
    let message = format!(
        "{} with procedures or tools {verb} left out, as a run keeps {most} MiB of them at most: {}",
        count(files.len() as u64, "file"),
        list(files.iter().map(String::as_str), MOST_NAMED)
    );
    let help = "judge fewer documents in one run, or allow more with `--most-kept`";
    (!files.is_empty()).then(|| Diagnostic::without_place(TOO_MUCH_WORK, message).help(help))
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
    let (path, why) = (format!("`{}`", path.display()), &fault.message);
    let message = match why.starts_with(&path) {
        true => format!("a document around the jobs is left out: {why}"),
        false => format!("a document around the jobs is left out, {path}: {why}"),
    };
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
        let reason = why.words();
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
            let source = session.add_text(names::named(path), text);
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

/// The jobs on disk.
struct Disk {
    /// The folder that is served, in which links can come up while it is.
    served: Option<PathBuf>,
}

impl Archive for Disk {
    fn open(&self, name: &str) -> Result<String, Fault> {
        let path = names::path_of(name);
        let read = match &self.served {
            Some(folder) => files::read_below(folder, &path),
            None => files::read(&path),
        };
        read.map_err(|unread| unread.fault)
    }
}
