//! An open rule file. At each key it is read and checked; its trials are run and its rules held against each other in a
//! pause, on a thread of its own.

use std::path::Path;

use crate::command::known::KnownFiles;
use crate::command::standards::Ready;
use crate::command::{Failure, RuleOptions};
use crate::diagnostic::{Diagnostic, listed};
use crate::editor::diagnostics::{merged, no_verdict, of_run};
use crate::editor::protocol::{self, Change};
use crate::language::ast::Severity;
use crate::session::{Session, Trials, Tried};

use super::uri;

/// What is known of an open rule file.
#[derive(Default)]
pub(super) struct RuleFile {
    /// Of which version it is known, and what.
    checked: Option<(i64, Checked)>,
    proved: Option<(i64, Proved)>,
    /// How often what it stands on became another.
    state: u64,
    /// What only the proof said, where that stands now.
    besides: Vec<protocol::Diagnostic>,
}

/// Rules that were read and checked, but for their trials.
struct Checked {
    ready: Ready,
    diagnostics: Vec<Diagnostic>,
    said: Vec<protocol::Diagnostic>,
}

/// Rules that were read, checked, analysed and tried out.
pub(super) struct Proved {
    ready: Ready,
    diagnostics: Vec<Diagnostic>,
    tried: Vec<Tried>,
}

/// A proof that was made for a version of a file.
pub(super) struct Proof {
    pub(super) address: String,
    /// The version, and the state of what it stands on.
    pub(super) of: (i64, u64),
    pub(super) proved: Result<Proved, Failure>,
}

impl Proved {
    pub(super) fn open(rules: &RuleOptions, path: &Path) -> Result<Proved, Failure> {
        let (ready, mut diagnostics) = opened(rules, path, Trials::All)?;
        let proof = ready.session.prove();
        diagnostics.extend(listed(proof.diagnostics));
        Ok(Proved { ready, diagnostics, tried: proof.tried })
    }

    pub(super) fn session(&self) -> &Session {
        &self.ready.session
    }
}

impl RuleFile {
    /// Reads and checks the rules of a version, unless that was done.
    ///
    /// # Errors
    /// There are no rules to be checked.
    pub(super) fn check(
        &mut self,
        rules: &RuleOptions,
        path: &Path,
        name: &str,
        version: i64,
    ) -> Result<(), Failure> {
        if self.checked.as_ref().is_some_and(|(of, _)| *of == version) {
            return Ok(());
        }
        self.checked = None;
        let (ready, diagnostics) = opened(rules, path, Trials::None)?;
        let said = said(&diagnostics, &ready, name);
        self.checked = Some((version, Checked { ready, diagnostics, said }));
        Ok(())
    }

    /// Takes what the proof of a version came to.
    pub(super) fn take(&mut self, proved: Proved, name: &str, version: i64) {
        let known = self.checked.as_ref().map_or(&[][..], |(_, checked)| &checked.said);
        self.besides = said(&proved.diagnostics, &proved.ready, name);
        self.besides.retain(|one| !known.contains(one));
        self.proved = Some((version, proved));
    }

    /// Moves what the proof said along with a change of the text; what is said of the changed place itself is not known
    /// to be so any more.
    pub(super) fn follow(&mut self, changes: &[Change]) {
        for change in changes {
            let moved = self.besides.drain(..);
            self.besides = moved
                .filter_map(|one| Some(protocol::Diagnostic { range: change.moved(one.range)?, ..one }))
                .collect();
        }
    }

    /// Forgets what is known, because what the rules stand on is another now.
    pub(super) fn forget(&mut self) {
        (self.checked, self.proved) = (None, None);
        self.forget_soon();
    }

    /// Takes note that what the rules stand on is another now: a proof that is under way is of no use any more.
    pub(super) fn forget_soon(&mut self) {
        self.state += 1;
    }

    /// How often what the rules stand on became another.
    pub(super) fn state(&self) -> u64 {
        self.state
    }

    /// Whether the rules were read together with a text of this name, settings or a file that they use, as it was
    /// before; what it is now is not told where it was closed. Where they could not be read, whatever changes may be why.
    pub(super) fn stand_on(&self, name: &str, now: Option<&str>) -> bool {
        let read = |session: &Session| {
            session
                .sources()
                .all()
                .any(|(_, source)| source.name() == name && now.is_none_or(|now| now != source.text()))
        };
        self.session().is_none_or(read)
    }

    /// What is wrong with the file, as far as it is known.
    pub(super) fn said(&self) -> Vec<protocol::Diagnostic> {
        let known = self.checked.as_ref().map_or(&[][..], |(_, checked)| &checked.said);
        merged(known.iter().chain(&self.besides).cloned())
    }

    /// The proof of a version.
    pub(super) fn proof_of(&self, version: i64) -> Option<&Proved> {
        self.proved.as_ref().filter(|(of, _)| *of == version).map(|(_, proved)| proved)
    }

    /// The checked rules.
    pub(super) fn session(&self) -> Option<&Session> {
        self.checked.as_ref().map(|(_, checked)| &checked.ready.session)
    }

    /// What is wrong with a version, in the terms of its session.
    pub(super) fn diagnostics(&self, version: i64) -> (&[Diagnostic], Option<&Session>) {
        match (self.proof_of(version), &self.checked) {
            (Some(proved), _) => (&proved.diagnostics, Some(proved.session())),
            (None, Some((_, checked))) => (&checked.diagnostics, Some(&checked.ready.session)),
            (None, None) => (&[], None),
        }
    }

    /// What the trials of a version came to.
    pub(super) fn tried(&self, version: i64) -> &[Tried] {
        self.proof_of(version).map_or(&[], |proved| &proved.tried)
    }
}

fn opened(rules: &RuleOptions, path: &Path, trials: Trials) -> Result<(Ready, Vec<Diagnostic>), Failure> {
    let standards = vec![path.to_string_lossy().into_owned()];
    let options = RuleOptions { standards, ..rules.clone() };
    let ready = options.open_with(Some(path), &KnownFiles::default(), trials)?;
    let diagnostics = ready.run(Severity::Hold).diagnostics;
    Ok((ready, diagnostics))
}

/// What is said of a file, what is wrong elsewhere first.
fn said(diagnostics: &[Diagnostic], ready: &Ready, name: &str) -> Vec<protocol::Diagnostic> {
    let sources = ready.session.sources();
    let elsewhere = no_verdict(diagnostics, sources, name, &uri::of_name);
    elsewhere.into_iter().chain(of_run(diagnostics, sources, name, &uri::of_name)).collect()
}
