//! The open documents of one workshop, judged as one run of `inspect` over them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::command::context::ENDINGS;
use crate::command::files::{self, is_rule_file};
use crate::command::known::KnownFiles;
use crate::command::likeness::is_to_be_read;
use crate::command::standards::Ready;
use crate::command::walk::{Found, find};
use crate::command::{Failure, RuleOptions};
use crate::diagnostic::Diagnostic;
use crate::finding::Judged;
use crate::language::ast::Severity;
use crate::session::Session;
use crate::settings::Documents;
use crate::source::Sources;

/// By what the open files are judged.
pub(super) struct Workshop {
    ready: Ready,
    /// What is said of the run as a whole.
    pub(super) diagnostics: Vec<Diagnostic>,
    /// The files over which it was opened.
    over: BTreeSet<PathBuf>,
}

/// What became of a text in the history of its vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Taken {
    /// It is taken in.
    In,
    /// The documents around the jobs are others now, so that all has to be read anew.
    Anew,
}

impl Workshop {
    pub(super) fn open(
        rules: &RuleOptions,
        known: &KnownFiles,
        paths: &[PathBuf],
    ) -> Result<Workshop, Failure> {
        let mut ready = rules.open_to_judge(paths.first().map(PathBuf::as_path), known)?;
        let set_aside: Vec<_> = ready.session.set_aside().collect();
        ready.diagnostics.extend(set_aside);
        // What was compared with what is shown beside a reading.
        ready.session = ready.session.keeping_figures();
        if ready.bounds.named {
            ready.bounds.allow_ways(paths.iter().map(PathBuf::as_path))?;
        }
        ready.episodes = Some(std::collections::BTreeMap::new());
        if !ready.unsettled {
            let found = |path: &PathBuf| Found { path: path.clone(), named: true, fault: None };
            let files: Vec<Found> = paths.iter().map(found).collect();
            ready.load_context(&files, files.len());
        }
        let diagnostics = ready.run(Severity::Hold).diagnostics;
        Ok(Workshop { ready, diagnostics, over: paths.iter().cloned().collect() })
    }

    pub(super) fn session(&self) -> &Session {
        &self.ready.session
    }

    pub(super) fn sources(&self) -> &Arc<Sources> {
        self.ready.session.sources()
    }

    /// Whether it has settings that could not be used, so that nothing is judged.
    pub(super) fn is_unsettled(&self) -> bool {
        self.ready.unsettled
    }

    /// Whether these are its settings.
    pub(super) fn is_settings(&self, path: &Path) -> bool {
        self.ready.settings.as_ref().is_some_and(|settings| files::same(settings, path))
    }

    /// Whether it was opened over this file, too.
    pub(super) fn is_over(&self, path: &Path) -> bool {
        self.over.contains(path)
    }

    /// Takes the new text of a file into what is around the jobs.
    pub(super) fn take(&mut self, path: &Path, name: &str, text: &str) -> Taken {
        let is_read = self.sources().all().any(|(_, source)| source.name() == name);
        // Settings, rules, procedures, registers.
        if is_read {
            return Taken::Anew;
        }
        if self.ready.unsettled || is_rule_file(path) {
            return Taken::In;
        }
        match self.ready.look_again(path, text) {
            Some(true) => self.ready.renew_history(),
            Some(false) => {}
            None if self.was_job(path) || is_to_be_read(text, self.session().forms()) => return Taken::Anew,
            None => {}
        }
        Taken::In
    }

    fn was_job(&self, path: &Path) -> bool {
        let known = self.ready.episodes.as_ref().and_then(|episodes| episodes.get(path));
        known.is_some_and(|jobs| jobs.count() > 0)
    }

    /// The files that the settings put around the jobs.
    pub(super) fn documents(&self) -> Vec<PathBuf> {
        let Documents { procedures, tools, jobs, .. } = &self.ready.documents;
        let named = [procedures, tools, jobs].into_iter().flatten();
        let paths: Vec<PathBuf> = named.filter_map(|(path, _)| self.ready.bounds.path(path).ok()).collect();
        find(&paths, &ENDINGS).into_iter().filter(|file| file.fault.is_none()).map(|file| file.path).collect()
    }

    /// Judges a text as it is in the editor.
    pub(super) fn judge(&self, path: &Path, name: &str, text: &str) -> Vec<Judged> {
        match files::read_held(text, name) {
            Ok(text) => self.ready.judge(path, name, &text).0,
            Err(unread) => {
                vec![self.ready.session.unreadable(name, &unread.text, unread.at, unread.fault)]
            }
        }
    }
}
