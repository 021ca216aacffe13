//! The folder as it is served: the checked rules, the documents around the jobs, the list of jobs; kept up to date when files
//! change beside it.

use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock, RwLockReadGuard, RwLockWriteGuard};
use std::time::{Duration, Instant};

use super::index::{Index, Kept, line, name_in};
use super::trail;
use crate::bench::day::{DayPage, JobLine, MOST_SHOWN};
use crate::bench::notes::Verdict;
use crate::bench::page::Frame;
use crate::command::bounds::{Bounds, Copies, unlinked};
use crate::command::context::ENDINGS;
use crate::command::files::{self, LONGEST};
use crate::command::known::KnownFiles;
use crate::command::names::named;
use crate::command::output::complain;
use crate::command::scratch::{clear_up, folder_of};
use crate::command::standards::Ready;
use crate::command::walk::{Found, Reach, look_for};
use crate::command::watch::{State, stamp};
use crate::command::{Failure, RuleOptions};
use crate::diagnostic::Level;
use crate::edition::Digest;
use crate::finding::{Judged, Summary};
use crate::language::ast::Severity;
use crate::report::Run;
use crate::session::Session;
use crate::sheet::{Planning, Slot};
use crate::trade::job::JobState;

/// For so long at a time jobs are judged that nobody asked for yet.
const AHEAD: Duration = Duration::from_millis(150);

/// So many of them are judged side by side before the clock is looked at.
const AT_ONCE: usize = 16;

/// What is found of so many records of one file is kept.
const MOST_DOCUMENTS: usize = 20;

/// So many faults of rules and settings are shown.
const MOST_FAULTS: usize = 10;

/// The folder that is served.
pub(super) struct Desk {
    pub(super) folder: PathBuf,
    rules: RuleOptions,
    known: KnownFiles,
    hall: RwLock<Hall>,
    /// Whoever writes has it, so that two tablets do not write one record at once.
    writing: Mutex<()>,
}

/// What is known of the folder.
pub(super) struct Hall {
    pub(super) ready: Ready,
    pub(super) run: Run,
    pub(super) index: Index,
    folder: PathBuf,
    state: State,
    /// Why the folder could not be read anew after it had changed.
    broken: Option<String>,
    /// The plans of the jobs that are being filled in.
    pub(super) plans: Plans,
}

/// So many plans are kept: more than there are tablets.
const MOST_PLANS: usize = 256;

/// The plans of jobs by what they are made of. While figures are entered, a plan stays the same.
#[derive(Default)]
pub(super) struct Plans(Mutex<HashMap<Digest, Arc<Vec<Slot>>>>);

impl Plans {
    /// The plan, made where it is not kept.
    pub(super) fn of(&self, planning: &Planning, session: &Session) -> Arc<Vec<Slot>> {
        let key = planning.key();
        let kept = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = kept().get(&key) {
            return Arc::clone(known);
        }
        let made = Arc::new(planning.slots(session));
        let mut kept = kept();
        if kept.len() >= MOST_PLANS {
            kept.clear();
        }
        kept.insert(key, Arc::clone(&made));
        made
    }
}

impl Desk {
    pub(super) fn open(folder: PathBuf, rules: RuleOptions, known: KnownFiles) -> Result<Desk, Failure> {
        let hall = Hall::open(&folder, &rules, &known)?;
        hall.clear_up();
        Ok(Desk { folder, rules, known, hall: RwLock::new(hall), writing: Mutex::new(()) })
    }

    pub(super) fn hall(&self) -> RwLockReadGuard<'_, Hall> {
        self.hall.read().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn hall_to_change(&self) -> RwLockWriteGuard<'_, Hall> {
        self.hall.write().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn writing(&self) -> MutexGuard<'_, ()> {
        self.writing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where records may be written: the folder itself may be reached through a link that the user named.
    pub(super) fn bounds(&self) -> Bounds {
        Bounds { folder: self.folder.clone(), named: false }
    }

    /// Where new records are put: beside the others, where the folder has a place for them.
    pub(super) fn place_of_new(&self) -> PathBuf {
        let jobs = self.folder.join("jobs");
        if jobs.is_dir() && !jobs.is_symlink() { jobs } else { self.folder.clone() }
    }

    /// Looks for what others have changed, and judges some of the jobs that were not judged yet.
    pub(super) fn look(&self) {
        let now = State::of(&watched(&self.folder, &self.rules));
        let changed = now.changed_since(&self.hall().state);
        if !changed.is_empty() || self.is_another_day() {
            // What is being written by this program is known when it is.
            let _turn = self.writing();
            let is_another_day = self.is_another_day();
            let is_taken = self.hall_to_change().take_note(&changed);
            if is_taken && !is_another_day {
                self.hall_to_change().state = now;
            } else {
                self.reopen();
            }
        }
        self.judge_ahead();
    }

    /// Reads all anew; whoever calls it has the turn to write.
    pub(super) fn reopen(&self) {
        let opened = Hall::open(&self.folder, &self.rules, &self.known);
        let mut hall = self.hall_to_change();
        match opened {
            Ok(opened) => *hall = opened,
            // What is judged by rules that are no longer those of the folder has no verdict.
            Err(Failure(why)) => {
                hall.broken = Some(why);
                hall.state = State::default();
            }
        }
    }

    fn is_another_day(&self) -> bool {
        let hall = self.hall();
        let setting = hall.ready.session.setting();
        self.rules.run.as_of.is_none()
            && jiff::Timestamp::now().to_zoned_datetime(setting.zone.clone()).date() != setting.as_of
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "the work ahead is for a time, and never changes a verdict"
    )]
    fn judge_ahead(&self) {
        let begun = Instant::now();
        let waiting: Vec<String> = {
            let hall = self.hall();
            let open = in_order(&hall, "").into_iter().filter(|line| line.verdict.is_none());
            open.map(|line| line.name.clone()).take(1_000).collect()
        };
        for some in waiting.chunks(AT_ONCE) {
            if begun.elapsed() > AHEAD {
                return;
            }
            self.judge_all(some);
        }
    }

    /// Judges these jobs on all cores, for the list of the day.
    fn judge_all(&self, names: &[String]) {
        use rayon::prelude::*;
        let found: Vec<_> = {
            let hall = self.hall();
            names
                .par_iter()
                .filter_map(|name| Some((name, hall.index.get(name)?.stamp, hall.judge_file(name)?)))
                .collect()
        };
        let mut hall = self.hall_to_change();
        for (name, stamp, verdict) in found {
            // Of a record that was changed meanwhile it would be the verdict of what it was.
            if hall.index.get(name).is_some_and(|kept| kept.stamp == stamp) {
                hall.note_verdict(name, verdict);
            }
        }
    }

    /// The page of the day.
    pub(super) fn day(&self, frame: &Frame, sought: &str) -> String {
        let wanted = sought.to_lowercase();
        let waiting: Vec<String> = {
            let hall = self.hall();
            let shown = in_order(&hall, &wanted).into_iter().take(MOST_SHOWN);
            shown.filter(|line| line.verdict.is_none()).map(|line| line.name.clone()).collect()
        };
        // Whoever opens the list wants to see how the jobs are; between a few of them others may write.
        waiting.chunks(AT_ONCE).for_each(|some| self.judge_all(some));
        let hall = self.hall();
        let jobs = in_order(&hall, &wanted);
        let fitting = jobs.len();
        let jobs: Vec<JobLine> = jobs.into_iter().take(MOST_SHOWN).cloned().collect();
        let mut procedures = hall.ready.session.procedures();
        // A job is begun by the last edition.
        procedures.sort_by(|one, other| one.name.cmp(&other.name).then(other.edition.cmp(&one.edition)));
        procedures.dedup_by(|one, other| one.name == other.name);
        let procedures: Vec<(String, String)> = procedures
            .into_iter()
            .map(|one| {
                let edition = one.edition.map(|edition| format!(", edition {edition}")).unwrap_or_default();
                let title = one.title.unwrap_or_else(|| one.name.clone());
                (one.name, format!("{title}{edition}"))
            })
            .collect();
        let faults = hall.faults();
        DayPage { frame, jobs: &jobs, fitting, sought, procedures: &procedures, faults: &faults }.whole()
    }
}

/// The jobs in which all that is sought occurs: those in work first, then the last numbers.
fn in_order<'h>(hall: &'h Hall, wanted: &str) -> Vec<&'h JobLine> {
    let lines = hall.index.all().filter_map(|(_, kept)| kept.line.as_ref());
    let mut jobs: Vec<&JobLine> = lines.filter(|line| line.has(wanted)).collect();
    let is_closed = |line: &JobLine| line.state == JobState::Closed.word();
    jobs.sort_by(|one, other| {
        is_closed(one).cmp(&is_closed(other)).then_with(|| other.number.cmp(&one.number))
    });
    jobs
}

/// The folder, and that of the settings where it is another.
fn watched(folder: &Path, rules: &RuleOptions) -> Vec<PathBuf> {
    let settings = rules.settings_path(Some(folder)).map(|path| folder_of(&path).to_owned());
    let outside = settings.filter(|settings| !files::same(settings, folder));
    std::iter::once(folder.to_owned()).chain(outside).collect()
}

impl Hall {
    fn open(folder: &Path, rules: &RuleOptions, known: &KnownFiles) -> Result<Hall, Failure> {
        let paths = [folder.to_owned()];
        let state = State::of(&watched(folder, rules));
        let mut ready = rules.open_to_judge(Some(folder), known)?;
        if ready.unsettled {
            return Err(Failure("the workshop's settings have errors; `inspect` lists them".to_owned()));
        }
        let set_aside: Vec<_> = ready.session.set_aside().collect();
        ready.diagnostics.extend(set_aside);
        let fail_on = ready.fail_on.unwrap_or(Severity::Hold);
        ready.bounds.allow_ways([folder])?;
        ready.copies = Copies::of(&ready.bounds, &paths);
        let files = look_for(&paths, &ENDINGS, Reach::Visible).files;
        rules.one_workshop(files.iter().map(|file| file.path.as_path()), ready.settings.as_deref())?;
        let files: Vec<Found> = files.into_iter().filter(|file| !ready.is_no_document(file)).collect();
        ready.episodes = Some(std::collections::BTreeMap::new());
        ready.served = Some(folder.to_owned());
        ready.load_context(&files, 1);
        ready.judged_by.linked = ready.linked();
        let run = ready.run(fail_on);
        let mut hall = Hall {
            ready,
            run,
            index: Index::of(folder, &files),
            folder: folder.to_owned(),
            state,
            broken: None,
            plans: Plans::default(),
        };
        hall.read_lines();
        Ok(hall)
    }

    /// Says what a program that was killed has left in the folder, and settles the trails that it left open.
    fn clear_up(&self) {
        let paths = || self.index.all().map(|(_, kept)| kept.path.as_path());
        let folders: BTreeSet<&Path> = paths().map(folder_of).chain([&*self.folder]).collect();
        let unlinked = folders.into_iter().filter(|folder| unlinked(&self.folder, folder).is_ok());
        unlinked.flat_map(clear_up).for_each(|said| complain(&said));
        for path in paths().filter(|path| trail::path_of(path).exists()) {
            let settled = files::read_below(&self.folder, path).map_err(|unread| unread.fault.message);
            if let Err(why) = settled.and_then(|text| trail::settle(&self.folder, path, &text)) {
                complain(&format!("the trail of `{}` was left as it is: {why}", path.display()));
            }
        }
    }

    fn read_lines(&mut self) {
        use rayon::prelude::*;
        let kept: Vec<(String, PathBuf)> =
            self.index.all().map(|(name, kept)| (name.clone(), kept.path.clone())).collect();
        let (forms, folder) = (self.ready.session.forms(), &self.folder);
        let read = |(name, path): (String, PathBuf)| {
            let text = files::read_below(folder, &path).ok()?;
            Some((line(&name, &text, forms, None)?, name))
        };
        let lines: Vec<(JobLine, String)> = kept.into_par_iter().filter_map(read).collect();
        for (line, name) in lines {
            if let Some(kept) = self.index.get_mut(&name) {
                kept.line = Some(line);
            }
        }
    }

    /// Takes note of files that others have changed; whether that is all, and nothing has to be read anew.
    fn take_note(&mut self, changed: &[PathBuf]) -> bool {
        let mut is_other_history = false;
        for path in changed {
            let is_text = path.extension().is_some_and(|ending| ENDINGS.iter().any(|one| ending == *one));
            let is_of_rules = path.extension().is_some_and(|ending| ending == "standard" || ending == "json");
            if is_of_rules {
                return false;
            }
            if !is_text {
                continue;
            }
            let name = name_in(&self.folder, path);
            let is_job = self.index.get(&name).is_some_and(|kept| kept.line.is_some());
            if is_job && !path.exists() {
                self.ready.take_in(path, None);
                self.index.remove(&name);
                is_other_history = true;
                continue;
            }
            let Some(text) = files::read_below(&self.folder, path).ok().filter(|_| is_job) else {
                return false;
            };
            match self.renew(&name, &text) {
                Some(is_other) => is_other_history |= is_other,
                None => return false,
            }
        }
        if is_other_history {
            self.ready.renew_history();
        }
        true
    }

    /// Takes the new text of a job into the list; whether the history is another one, and nothing if all has to be read anew.
    fn renew(&mut self, name: &str, text: &str) -> Option<bool> {
        let kept = self.index.get_mut(name)?;
        let is_other = self.ready.look_again(&kept.path, text)?;
        kept.stamp = stamp(&kept.path);
        kept.line = Some(line(name, text, self.ready.session.forms(), None)?);
        Some(is_other)
    }

    /// Takes in a record that this program has begun.
    pub(super) fn begun(&mut self, path: &Path, text: &str) -> String {
        let name = name_in(&self.folder, path);
        self.ready.take_in(path, Some(text));
        self.ready.renew_history();
        let line = line(&name, text, self.ready.session.forms(), None);
        self.index.put(name.clone(), Kept { path: path.to_owned(), stamp: stamp(path), line });
        self.state.note(path);
        name
    }

    /// Takes in what this program has written; whether nothing has to be read anew.
    pub(super) fn written(&mut self, name: &str, text: &str) -> bool {
        let Some(is_other) = self.renew(name, text) else { return false };
        if is_other {
            self.ready.renew_history();
        }
        let path = self.index.get(name).map(|kept| kept.path.clone());
        path.into_iter().for_each(|path| self.state.note(&path));
        true
    }

    pub(super) fn note_verdict(&mut self, name: &str, verdict: Verdict) {
        if let Some(line) = self.index.get_mut(name).and_then(|kept| kept.line.as_mut()) {
            line.verdict = Some(verdict);
        }
    }

    fn judge_file(&self, name: &str) -> Option<Verdict> {
        let kept = self.index.get(name)?;
        let text = files::read_below(&self.folder, &kept.path).ok()?;
        Some(self.judge(kept, &text).1)
    }

    /// What is wrong with rules, settings and what stands around the jobs.
    pub(super) fn faults(&self) -> Vec<String> {
        let errors = self.run.diagnostics.iter().filter(|found| found.level == Level::Error);
        let faults = errors.map(|found| found.message.clone());
        self.broken.clone().into_iter().chain(faults).take(MOST_FAULTS).collect()
    }

    /// Judges a text in the place of a record, as `inspect` does over the folder.
    pub(super) fn judge(&self, kept: &Kept, text: &str) -> (Vec<Judged>, Verdict) {
        let is_marker = |line: &&str| line.starts_with("---");
        let is_of_many = text.lines().filter(is_marker).count() > MOST_DOCUMENTS;
        let rules = self.ready.session.program().rules();
        let errors = self.run.diagnostics.iter().filter(|found| found.level == Level::Error).count();
        let errors = errors as u64 + u64::from(self.broken.is_some());
        let mut summary = Summary { rule_errors: errors, ..Summary::default() };
        let mut add = |one: &Judged| summary.add(one, |number| &rules[number].name);
        let (path, name) = (&kept.path, named(&kept.path));
        let mut judged = Vec::new();
        if is_of_many {
            // Such a file is not filled in here, and what is found of all its records is too much to keep.
            self.ready.session.judge_each(&name, text, &mut |one| {
                add(&one);
                judged.extend(Some(one).filter(|_| judged.len() < MOST_DOCUMENTS));
            });
        } else {
            (judged, _) = self.ready.judge(path, &name, text);
            judged.iter().for_each(&mut add);
        }
        let verdict = Verdict::of(&self.run, &summary);
        (judged, verdict)
    }

    /// The text of a record, as it is on disk.
    pub(super) fn read(&self, name: &str) -> Option<(Kept, Result<String, String>)> {
        let kept = self.index.get(name)?;
        let is_long = stamp(&kept.path).is_some_and(|(_, length)| length > LONGEST);
        let read = files::read_below(&self.folder, &kept.path).map_err(|unread| unread.fault.message);
        Some((kept.clone(), if is_long { Err("too long".to_owned()) } else { read }))
    }
}
