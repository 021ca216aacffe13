//! The two sides of a comparison: a file or a folder as it is now, or as it was at a revision of Git.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::context::ENDINGS;
use super::files::{self, Disk, Links, RULE_ENDING, is_rule_file, tidy};
use super::git::Revision;
use super::likeness::is_document;
use super::names::named;
use super::standards::Ready;
use super::walk::{Reach, look_for};
use super::{Failure, bounds};
use crate::code::USE_UNREADABLE;
use crate::diagnostic::Fault;
use crate::library::{Library, SHIPPED, shipped};
use crate::session::{Request, Session};
use crate::source::{SourceId, Sources};

/// A text as it was read.
pub(super) struct Given {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) is_rules: bool,
}

/// Where a side is.
#[derive(Clone, Copy)]
pub(super) enum Side<'s> {
    /// On the disk.
    Now(&'s Path, Links),
    /// In the repository.
    Then(&'s Path, &'s Revision),
}

impl Side<'_> {
    pub(super) fn is_folder(self) -> bool {
        match self {
            Side::Now(path, _) => path.is_dir(),
            Side::Then(path, revision) => {
                revision.below(path).iter().any(|below| !below.as_os_str().is_empty())
            }
        }
    }

    /// The documents and rule files of a folder, by their paths from it.
    pub(super) fn files(self) -> BTreeSet<PathBuf> {
        let is_one = |path: &PathBuf| {
            let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
            is_rule_file(path) || ENDINGS.contains(&ending)
        };
        match self {
            Side::Now(folder, _) => {
                let endings: Vec<&str> = ENDINGS.into_iter().chain([RULE_ENDING]).collect();
                let found = look_for(&[folder.to_owned()], &endings, Reach::Kept).files;
                let folder = tidy(folder);
                let below = found.iter().map(|file| file.path.strip_prefix(&folder).unwrap_or(&file.path));
                below.map(Path::to_owned).filter(is_one).collect()
            }
            Side::Then(folder, revision) => revision.below(folder).into_iter().filter(is_one).collect(),
        }
    }

    /// The text at a path below this side, or of the side itself where that is empty.
    pub(super) fn read(self, below: &Path) -> Result<Given, Failure> {
        let at = |path: &Path| if below.as_os_str().is_empty() { path.to_owned() } else { path.join(below) };
        match self {
            Side::Now(path, links) => given(&at(path), links),
            Side::Then(path, revision) => {
                let path = tidy(&at(path));
                let Some(text) = revision.text(&path)? else {
                    let (path, name) = (path.display(), &revision.name);
                    return Err(Failure(format!("there was no file `{path}` at `{name}`")));
                };
                let is_rules = is_rules(&path, &text);
                Ok(Given { name: name_then(revision, &path), text, is_rules })
            }
        }
    }
}

/// The name of a file as it was.
fn name_then(revision: &Revision, path: &Path) -> String {
    format!("{}:{}", revision.name, path.display())
}

/// Reads a text of the disk, or that of a shipped standard.
fn given(path: &Path, links: Links) -> Result<Given, Failure> {
    let name = named(path);
    if name == "-" {
        return Err(Failure("standard input is not compared; name two files".to_owned()));
    }
    let is_here = path.exists();
    if let Some(shipped) = shipped(&name).filter(|_| is_here) {
        let file = shipped.file;
        return Err(Failure(format!(
            "`{name}` is a shipped standard and a file here; write `{file}` for the standard, or `./{name}` for the file"
        )));
    }
    let by_file = SHIPPED.iter().find(|shipped| path == Path::new(shipped.file));
    if let Some(shipped) = shipped(&name).or(by_file) {
        return Ok(Given { name: shipped.file.to_owned(), text: shipped.text.to_owned(), is_rules: true });
    }
    let text = files::read_by(path, links).map_err(|unread| {
        // A fault inside a text names no file.
        let message = unread.fault.message;
        if message.contains(&name) { Failure(message) } else { Failure(format!("`{name}`: {message}")) }
    })?;
    let is_rules = is_rules(path, &text);
    Ok(Given { name: named(&tidy(path)), text, is_rules })
}

fn is_rules(path: &Path, text: &str) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    match ending {
        Some(ending) if ending == RULE_ENDING => true,
        Some(ending) if ENDINGS.contains(&ending) => false,
        _ => !is_document(text),
    }
}

/// Opens one rule file with those that it uses and nothing else.
pub(super) fn open_alone(given: &Given, ready: &Ready, library: &Then<'_>) -> (Session, SourceId) {
    let mut sources = Sources::new();
    let id = sources.add(&given.name, &given.text);
    let request = Request {
        sources,
        standards: vec![id],
        earlier: Vec::new(),
        forms: ready.session.forms().clone(),
        givens: Vec::new(),
        setting: ready.session.setting().clone(),
    };
    (Session::open(request, library), id)
}

/// The rule files of a repository as they were, and those on the disk for rule files that are there.
pub(super) struct Then<'t> {
    pub(super) revision: Option<&'t Revision>,
    pub(super) disk: Disk,
}

impl Library for Then<'_> {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let at = |revision: &Revision| from.strip_prefix(&format!("{}:", revision.name)).map(PathBuf::from);
        let Some((revision, from)) = self.revision.and_then(|revision| Some((revision, at(revision)?)))
        else {
            return self.disk.open(from, path);
        };
        let folder = from.parent().unwrap_or(Path::new(""));
        let target = tidy(&folder.join(path));
        let missing = |why: String| Fault::new(USE_UNREADABLE, why);
        if Path::new(path).is_absolute()
            || !is_rule_file(&target)
            || !revision.holds(&bounds::absolute(&target))
        {
            return Err(missing(format!("`{path}` is no rule file of the repository")));
        }
        match revision.text(&target) {
            Ok(Some(text)) => Ok((name_then(revision, &target), text)),
            Ok(None) => Err(missing(format!("there was no file `{path}` at `{}`", revision.name))),
            Err(Failure(why)) => Err(missing(why)),
        }
    }
}
