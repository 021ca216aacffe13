//! The documents of a run that judges: found, bounded, with all that stands around them read.

use std::path::{Path, PathBuf};

use rayon::ThreadPool;

use super::bounds::Copies;
use super::context::ENDINGS;
use super::files::{self, Unread};
use super::inspect::HiddenRecords;
use super::known::KnownFiles;
use super::likeness::{is_of_another_run, is_to_be_read, may_be_a_document};
use super::names::named;
use super::standards::Ready;
use super::walk::{Found, Unseen, Walked, Why, look_for};
use super::{Failure, RuleOptions};
use crate::code::{FILE_UNREADABLE, HIDDEN_RECORD};
use crate::diagnostic::{Diagnostic, Fault};
use crate::finding::{Hidden, Judged};
use crate::report::text::{count, list};

/// What a run is to judge, and how.
pub(super) struct Gathered {
    pub(super) ready: Ready,
    pub(super) files: Vec<Found>,
    pub(super) passed_over: Vec<String>,
    pub(super) threads: ThreadPool,
    unseen: Vec<Unseen>,
    what_of_hidden: HiddenRecords,
}

impl Gathered {
    /// Opens the rules and finds the files. `-` among the paths is standard input, and no file.
    pub(super) fn find(
        paths: &[PathBuf],
        rules: &RuleOptions,
        known: &KnownFiles,
        hidden: Option<HiddenRecords>,
        threads: Option<u16>,
    ) -> Result<Gathered, Failure> {
        let from_stdin = paths.iter().any(|path| path.as_os_str() == "-");
        let near = paths.first().filter(|_| !from_stdin);
        let mut ready = rules.open_to_judge(near.map(PathBuf::as_path), known)?;
        let set_aside: Vec<_> = ready.session.set_aside().collect();
        ready.diagnostics.extend(set_aside);
        // What a stranger hides is judged.
        let unless_told = if ready.bounds.named { HiddenRecords::Judge } else { HiddenRecords::Fail };
        let what_of_hidden = hidden.unwrap_or(unless_told);
        ready.bounds.allow_ways(paths.iter().map(PathBuf::as_path).filter(|path| path.as_os_str() != "-"))?;
        ready.copies = Copies::of(&ready.bounds, paths);
        let stranger = |path: &&Path| ready.bounds.named && !ready.bounds.holds(path);
        if let Some(known) = ready.known.accepted_path().filter(stranger) {
            return Err(Failure(format!(
                "`{}` is not in the folder of the settings; with --settings, only known findings from there are accepted",
                known.display()
            )));
        }
        let Walked { files, passed_over, unseen, .. } =
            if from_stdin { Walked::default() } else { look_for(paths, &ENDINGS, what_of_hidden.reach()) };
        rules.one_workshop(files.iter().map(|file| file.path.as_path()), ready.settings.as_deref())?;
        let files: Vec<Found> = files.into_iter().filter(|file| !ready.is_no_document(file)).collect();
        let files = if ready.unsettled { Vec::new() } else { files };
        let threads = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.map_or(0, usize::from))
            .build()
            .map_err(|error| Failure(format!("cannot start {threads:?} threads: {error}")))?;
        Ok(Gathered { ready, files, passed_over, threads, unseen, what_of_hidden })
    }

    /// Reads what stands around the documents. The files were found below so many paths.
    pub(super) fn load_context(&mut self, paths: usize) {
        let Gathered { ready, files, threads, .. } = self;
        threads.install(|| ready.load_context(files, paths));
        ready.judged_by.linked = ready.linked();
    }

    /// The records that the run does not see and that fail it; it is said that they do.
    pub(super) fn take_hidden(&mut self) -> Vec<Hidden> {
        let Gathered { ready, threads, unseen, what_of_hidden, passed_over, .. } = self;
        let unseen = std::mem::take(unseen);
        let hidden = threads.install(|| hidden(unseen, ready));
        let hidden = what_of_hidden.settle(hidden, passed_over);
        ready.diagnostics.extend(said_of_hidden(&hidden));
        hidden
    }
}

/// What was not seen and may be a record.
pub(super) fn hidden(unseen: Vec<Unseen>, ready: &Ready) -> Vec<Hidden> {
    use rayon::prelude::*;
    let forms = ready.session.forms();
    let is_one = |unseen: &Unseen| match unseen.why {
        Why::Link | Why::Special | Why::Closed => true,
        Why::Dot | Why::Ignored => {
            !ready.was_read_as_such(&unseen.path) && may_be_a_document(&unseen.path, forms)
        }
    };
    let named = |unseen: Unseen| Hidden { path: named(&unseen.path), why: unseen.why.words() };
    unseen.into_par_iter().filter(is_one).map(named).collect()
}

/// How many hidden records are named before they are only counted.
const MOST_NAMED: usize = 8;

fn said_of_hidden(hidden: &[Hidden]) -> Option<Diagnostic> {
    let names: Vec<String> = hidden.iter().map(|one| format!("{} ({})", one.path, one.why)).collect();
    let verb = if hidden.len() == 1 { "is hidden and was" } else { "are hidden and were" };
    let message = format!(
        "{} {verb} not judged: {}",
        count(hidden.len() as u64, "record"),
        list(names.iter().map(String::as_str), MOST_NAMED)
    );
    let none_can_be_judged = [Why::Link.words(), Why::Special.words()];
    let help = match hidden.iter().all(|one| none_can_be_judged.contains(&one.why)) {
        true => "name as paths what they lead to, or leave them out knowingly with `--hidden leave`",
        false => {
            "judge them with `--hidden judge`, or leave them out knowingly with `--hidden leave`; \
             a record that is named as a path is never hidden"
        }
    };
    (!hidden.is_empty()).then(|| Diagnostic::without_place(HIDDEN_RECORD, message).help(help))
}

/// What becomes of a file of a run.
pub(super) enum Contents {
    /// It is judged: its name and text.
    Text(String, String),
    /// It is no document of this run, in words.
    PassedOver(String),
    /// It could not be read.
    Unread(Box<Judged>),
}

impl Ready {
    /// Reads a file of the run.
    pub(super) fn contents(&self, file: &Found) -> Contents {
        let name = named(&file.path);
        let session = &self.session;
        let unread = |unread: Unread| Contents::Unread(Box::new(self.unread(&name, unread)));
        if let Some(fault) = &file.fault {
            let message = format!("a part of `{name}` cannot be looked at: {fault}");
            return unread(Fault::new(FILE_UNREADABLE, message).into());
        }
        match files::read_by(&file.path, self.bounds.links(file)) {
            Ok(text) if !file.named && self.bounds.named && is_of_another_run(&text, session.forms()) => {
                Contents::PassedOver(format!(
                    "{name} (of another run: this one has settings that were named)"
                ))
            }
            Ok(text) if !file.named && !is_to_be_read(&text, session.forms()) => Contents::PassedOver(name),
            Ok(text) => Contents::Text(name, text),
            Err(fault) => unread(fault),
        }
    }

    /// What becomes of a file before which the run has done all its steps.
    pub(super) fn beyond(&self, file: &Found) -> Judged {
        self.unread(&named(&file.path), self.session.out_of_steps_in_all().into())
    }

    /// A document that could not be read.
    pub(super) fn unread(&self, name: &str, Unread { fault, text, at }: Unread) -> Judged {
        self.session.unreadable(name, &text, at, fault)
    }
}
