//! Files of known findings: which are read, which is written, and how documents are named in them.

use std::collections::BTreeSet;
use std::fs::{File, Metadata};
use std::path::{Component, Path, PathBuf};

use clap::Args;

use super::Failure;
use super::bounds::Copies;
use super::files::{self, Links, open};
use super::names::{in_letters, named};
use super::output::{Sink, says_what_is_read};
use super::scratch::folder_of;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::Forms;
use crate::edition::Digest;
use crate::finding::Judged;
use crate::session::Session;
use crate::session::known::{self, Counts, Known};
use crate::source::{Place, Sources, Span};
use crate::trade::logbook::LOGBOOK_OF;

/// Findings that were known before.
#[derive(Clone, Debug, Default, Args)]
pub(super) struct KnownFiles {
    /// Findings that this file lists do not fail the run. New ones do, and entries whose findings are gone are listed.
    #[arg(long, value_name = "FILE")]
    accept_known: Option<PathBuf>,
    /// Write the findings of this run into this file, for --accept-known. Notes and days of entries
    /// that it has already are kept.
    #[arg(long, value_name = "FILE")]
    note_known: Option<PathBuf>,
}

/// The files of known findings of a run, as they were read.
#[derive(Debug, Default)]
pub(super) struct KnownFindings {
    accepted: Option<Listed>,
    noted: Option<Listed>,
}

/// A file of known findings.
#[derive(Clone, Debug)]
struct Listed {
    path: PathBuf,
    known: Known,
    /// Whether nothing in it would be lost by writing it anew.
    whole: bool,
    /// The content hash of what was read; nothing where there was no file.
    read: Option<Digest>,
}

/// What a run found, as it will be noted.
#[derive(Debug, Default)]
pub(super) struct Noted {
    counts: Counts,
    inspected: BTreeSet<String>,
}

impl KnownFiles {
    /// Whether any file is named.
    pub(super) fn are_named(&self) -> bool {
        self.accept_known.is_some() || self.note_known.is_some()
    }

    /// The files.
    pub(super) fn paths(&self) -> impl Iterator<Item = &Path> {
        self.accept_known.iter().chain(&self.note_known).map(PathBuf::as_path)
    }

    /// Refuses a file for the findings that would say which records are read.
    ///
    /// # Errors
    /// It has the name of such a file.
    pub(super) fn may_be_written(&self) -> Result<(), Failure> {
        let Some((path, why)) =
            self.note_known.as_ref().and_then(|path| Some((path, says_what_is_read(path)?)))
        else {
            return Ok(());
        };
        Err(Failure(format!("`{}` {why}; name another file for known findings", path.display())))
    }

    /// Reads the files; what is wrong with them is added to `diagnostics`.
    pub(super) fn read(
        &self,
        sources: &mut Sources,
        forms: &Forms,
        diagnostics: &mut Vec<Diagnostic>,
    ) -> KnownFindings {
        let mut read = |path: &PathBuf| Listed::read(path, sources, forms, diagnostics);
        let accepted = self.accept_known.as_ref().map(&mut read);
        let noted = self.note_known.as_ref().map(|path| match &accepted {
            Some(accepted) if files::same(&accepted.path, path) => accepted.clone(),
            _ if !is_there(path) => Listed::nothing(path, true),
            _ => read(path),
        });
        KnownFindings { accepted, noted }
    }
}

impl Listed {
    fn read(path: &Path, sources: &mut Sources, forms: &Forms, diagnostics: &mut Vec<Diagnostic>) -> Listed {
        let name = named(path);
        let text = match files::read_unlinked(path) {
            Ok(text) => text,
            Err(unread) => {
                let source = sources.add(name, unread.text);
                let place = Place { source, span: Span::new(unread.at, unread.at) };
                let error = Diagnostic::error(unread.fault.code, place, unread.fault.message);
                diagnostics.push(Diagnostic { help: unread.fault.help, ..error });
                return Listed::nothing(path, false);
            }
        };
        let read = Some(Digest::of(&text));
        let source = sources.add(name, text);
        let (known, found) = Known::read(source, sources, forms);
        let whole = !found.iter().any(|fault| fault.level == Level::Error);
        diagnostics.extend(found);
        let folder = path.parent().unwrap_or(Path::new(""));
        diagnostics.extend(
            known.vanished(|document| document.starts_with(LOGBOOK_OF) || folder.join(document).exists()),
        );
        Listed { path: path.to_owned(), known, whole, read }
    }

    /// The same file as it is now: another run may have written into it.
    fn again(&self, session: &Session) -> Listed {
        let now = is_there(&self.path).then(|| files::read_unlinked(&self.path).unwrap_or_default());
        if now.as_deref().map(Digest::of) == self.read {
            return self.clone();
        }
        let (mut sources, mut found) = (Sources::new(), Vec::new());
        let listed = match now {
            Some(_) => Listed::read(&self.path, &mut sources, session.forms(), &mut found),
            None => Listed::nothing(&self.path, true),
        };
        let replaced = session.program().replaced();
        let successors = |name: &str| replaced.get(name).cloned().unwrap_or_default();
        let (known, _) = listed.known.with_new_names(&successors);
        Listed { known, ..listed }
    }

    /// A file in which nothing is listed.
    fn nothing(path: &Path, whole: bool) -> Listed {
        Listed { path: path.to_owned(), known: Known::default(), whole, read: None }
    }

    /// The name of a document in the file. Beside the settings, a changed copy has the name of the original.
    fn name_of(&self, document: &Path, copies: &Copies) -> String {
        let original = copies.original(document).filter(|_| !copies.hold(&self.path));
        let document = original.as_deref().unwrap_or(document);
        relative(self.path.parent().unwrap_or(Path::new("")), document)
    }
}

impl KnownFindings {
    /// Whether there is any.
    pub(super) fn are_named(&self) -> bool {
        self.accepted.is_some() || self.noted.is_some()
    }

    /// The file whose findings are accepted.
    pub(super) fn accepted_path(&self) -> Option<&Path> {
        self.accepted.as_ref().map(|accepted| &*accepted.path)
    }

    /// Whether a file is one of these files, and so none to be judged.
    pub(super) fn hold(&self, path: &Path) -> bool {
        self.accepted.iter().chain(&self.noted).any(|listed| files::same(&listed.path, path))
    }

    /// The same with the names of rules that took the place of others in the run; and what is to be said of that.
    pub(super) fn with_new_names(self, session: &Session) -> (KnownFindings, Vec<Diagnostic>) {
        let program = session.program();
        let replaced = program.replaced();
        let successors = |name: &str| replaced.get(name).cloned().unwrap_or_default();
        let mut notes = Vec::new();
        let mut renamed = |listed: Option<Listed>| {
            let listed = listed?;
            let (known, said) = listed.known.with_new_names(&successors);
            notes.extend(said);
            Some(Listed { known, ..listed })
        };
        let (accepted, noted) = (renamed(self.accepted), renamed(self.noted));
        notes.sort_by_key(Diagnostic::place);
        notes.dedup();
        (KnownFindings { accepted, noted }, notes)
    }

    /// What is accepted of standards that there are none of.
    pub(super) fn strangers(&self, session: &Session) -> Vec<Diagnostic> {
        let in_run: BTreeSet<&str> =
            session.program().standards().iter().map(|standard| standard.name.as_str()).collect();
        self.accepted.iter().flat_map(|accepted| accepted.known.strangers(&in_run)).collect()
    }

    /// Counts what would have to be noted of a file that was judged, and accepts what is known of it.
    pub(super) fn weigh(
        &self,
        path: &Path,
        copies: &Copies,
        judged: &mut [Judged],
        session: &Session,
    ) -> Noted {
        let counted = self.noted.as_ref().map(|noted| {
            let name = noted.name_of(path, copies);
            Noted { counts: known::count(&name, judged), inspected: BTreeSet::from([name]) }
        });
        if let Some(accepted) = &self.accepted {
            accepted.known.accept(&accepted.name_of(path, copies), judged, |name| judges(session, name));
        }
        counted.unwrap_or_default()
    }

    /// The same of a logbook, which is in no file and is known by what it is called.
    pub(super) fn weigh_logbook(&self, called: &str, judged: &mut [Judged], session: &Session) -> Noted {
        let counted = self.noted.as_ref().map(|_| {
            let inspected = BTreeSet::from([called.to_owned()]);
            Noted { counts: known::count(called, judged), inspected }
        });
        if let Some(accepted) = &self.accepted {
            accepted.known.accept(called, judged, |name| judges(session, name));
        }
        counted.unwrap_or_default()
    }

    /// The file in which this run was asked to note what it finds.
    pub(super) fn noted_path(&self) -> Option<&Path> {
        self.noted.as_ref().map(|noted| &*noted.path)
    }

    /// Writes the file that was asked for.
    pub(super) fn note(&self, found: &Noted, session: &Session) -> Result<(), Failure> {
        let Some(noted) = &self.noted else { return Ok(()) };
        // Other runs that note what they found wait, and then read what this one has written.
        let _turn = turn(folder_of(&noted.path));
        let noted = noted.again(session);
        if !noted.whole {
            let path = noted.path.display();
            return Err(Failure(format!(
                "`{path}` is left as it is, because it has errors; correct them first"
            )));
        }
        let today = session.setting().as_of;
        let judges = |name: &str| judges(session, name);
        let text = noted.known.renewed(&found.counts, &found.inspected, today, judges);
        let there = std::fs::symlink_metadata(&noted.path).ok().filter(Metadata::is_file);
        let permissions = there.map(|there| there.permissions());
        let mut sink = Sink::file(&noted.path, permissions.as_ref())?;
        sink.write(text.as_bytes())?;
        sink.finish()
    }
}

impl Noted {
    /// Adds what another part of the run found.
    pub(super) fn merge(&mut self, other: Noted) {
        self.counts.extend(other.counts);
        self.inspected.extend(other.inspected);
    }
}

/// Whether there is anything of this name, if only a link.
fn is_there(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok()
}

/// Waits until no other run writes files of known findings in a folder. Where the system cannot lock a folder, such as on
/// some servers, two runs that end within the same moment can still overwrite each other.
fn turn(folder: &Path) -> Option<File> {
    let folder = open(folder, Links::Followed, false).ok()?;
    folder.lock().ok()?;
    Some(folder)
}

/// Whether a run could have made a finding of this name: a mistake in a document, or one of a standard
/// of the run.
fn judges(session: &Session, finding: &str) -> bool {
    known::standard_of(finding)
        .is_none_or(|standard| session.program().standards().iter().any(|known| known.name == standard))
}

/// The path from a folder to a file, with `/` between folders whatever the system.
fn relative(folder: &Path, file: &Path) -> String {
    let whole =
        |path: &Path| std::path::absolute(path).map_or_else(|_| files::tidy(path), |path| files::tidy(&path));
    let (folder, file) =
        (whole(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }), whole(file));
    let shared = folder.components().zip(file.components()).take_while(|(left, right)| left == right).count();
    let up = folder.components().skip(shared).map(|_| "..".to_owned());
    let down = file.components().skip(shared).map(|part| match part {
        Component::Normal(name) => in_letters(Path::new(name)),
        other => in_letters(Path::new(other.as_os_str())),
    });
    up.chain(down).collect::<Vec<_>>().join("/")
}
