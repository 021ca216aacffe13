//! Which records of a run have changed since a revision, and which are concerned by what else has.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::Failure;
use super::bounds::absolute;
use super::context::{ENDINGS, MOST_WALKS};
use super::files::{self, is_rule_file};
use super::git::{Revision, Since};
use super::names::{named, path_of};
use super::scratch::folder_of;
use super::standards::{Ready, SETTINGS_FILE};
use super::walk::{Found, Reach, look_for};
use crate::code::CHANGED_SINCE;
use crate::diagnostic::{Diagnostic, Level};
use crate::finding::SinceRevision;
use crate::library::came_with_it;
use crate::report::text::{count, list};
use crate::session::Ties;
use crate::source::COMMAND_LINE;
use crate::trade::logbook::About;

/// How many files are named before they are only counted.
const MOST_NAMED: usize = 8;

/// What of a run is to be judged.
pub(super) struct Selection {
    /// Of each file, whether it is.
    pub(super) kept: Vec<bool>,
    pub(super) since: SinceRevision,
    pub(super) diagnostics: Vec<Diagnostic>,
    /// Whose logbooks are; nothing where all are.
    pub(super) concerned: Option<BTreeSet<(About, String)>>,
}

/// The changed files of a run over these paths, and those that other changes concern.
pub(super) fn select(
    revision: &Revision,
    files: &[Found],
    paths: &[PathBuf],
    ready: &Ready,
) -> Result<Selection, Failure> {
    let rules = rules(revision, ready)?;
    let mut around = LinkedChanges::default();
    let mut candidates = Vec::new();
    for file in files {
        let text = match &file.fault {
            None => files::read_by(&file.path, ready.bounds.links(file)).ok(),
            Some(_) => None,
        };
        let since = match &text {
            Some(text) => revision.since(&file.path, &mut text.as_bytes())?,
            // What is wrong with it is said where it is judged.
            None => Since::Changed,
        };
        let ties = text.map(|text| Ties::of(&text, ready.session.forms())).unwrap_or_default();
        if since != Since::Same {
            around.changed(revision, &file.path, ties.clone(), ready)?;
        }
        candidates.push((file, since, ties));
    }
    let beside = beside(ready);
    for path in &beside.files {
        let Ok(text) = files::read_unlinked(path) else { continue };
        if revision.since(path, &mut text.as_bytes())? != Since::Same {
            let ties = Ties::of(&text, ready.session.forms());
            around.changed(revision, path, ties, ready)?;
        }
    }
    let folders: Vec<&Path> = paths.iter().chain(&beside.folders).map(PathBuf::as_path).collect();
    let gone = gone(revision, &folders);
    for path in &gone {
        around.changed(revision, path, Ties::default(), ready)?;
    }
    let mut changed = rules.changed;
    changed.extend(around.registers.iter().cloned());
    let all = !changed.is_empty() || !rules.new.is_empty();
    let mut unchanged = 0;
    let mut ignoring = Ignoring::default();
    let (mut kept, mut concerned) = (Vec::new(), Vec::new());
    for (file, since, ties) in candidates {
        let is_concerned = since == Since::Same && !all && {
            ties.meet(&around.ties)
                || has_changed_log(revision, &file.path, &ties)?
                || (!file.named && ignoring.has_changed(revision, folder_of(&file.path))?)
        };
        if is_concerned {
            concerned.push(named(&file.path));
        }
        let is_kept = since != Since::Same || all || is_concerned;
        unchanged += if is_kept { 0 } else { ties.documents };
        kept.push(is_kept);
    }
    let said = Said { revision, changed, new: rules.new, all, outside: rules.outside, gone, concerned };
    let since = SinceRevision { name: revision.name.clone(), commit: revision.commit.clone(), unchanged };
    let concerned = (!all).then(|| std::mem::take(&mut around.ties.logbooks));
    Ok(Selection { kept, since, diagnostics: said.diagnostics(), concerned })
}

/// What has changed besides the rules.
#[derive(Default)]
struct LinkedChanges {
    ties: Ties,
    registers: Vec<String>,
}

impl LinkedChanges {
    /// Takes in what a changed file ties together now, and what it did then.
    fn changed(&mut self, revision: &Revision, path: &Path, now: Ties, ready: &Ready) -> Result<(), Failure> {
        let then = revision.text(path)?.map(|text| Ties::of(&text, ready.session.forms()));
        let then = then.unwrap_or_default();
        if (now.has_register || then.has_register) && !self.registers.contains(&named(path)) {
            self.registers.push(named(path));
        }
        self.ties.add(now);
        self.ties.add(then);
        Ok(())
    }
}

/// The files by which the run judges, before the documents around the jobs are read.
#[derive(Default)]
struct Rules {
    changed: Vec<String>,
    /// Those that the repository does not have at the revision.
    new: Vec<String>,
    /// Those of which nobody can tell here whether they have.
    outside: Vec<String>,
}

/// Which rule files, settings, schemas and known findings have changed or are gone.
fn rules(revision: &Revision, ready: &Ready) -> Result<Rules, Failure> {
    let mut rules = Rules::default();
    let own = ready.session.sources().all().map(|(_, source)| source);
    for source in own.filter(|source| source.name() != COMMAND_LINE && came_with_it(source.name()).is_none())
    {
        let path = path_of(source.name());
        match revision.since(&path, &mut source.text().as_bytes())? {
            Since::Same => {}
            Since::Changed => rules.changed.push(source.name().to_owned()),
            Since::New => rules.new.push(source.name().to_owned()),
            Since::Outside => rules.outside.push(source.name().to_owned()),
        }
    }
    let is_one =
        |path: &PathBuf| is_rule_file(path) || path.file_name().is_some_and(|name| name == SETTINGS_FILE);
    let gone = revision.files().filter(is_one).filter(|path| std::fs::symlink_metadata(path).is_err());
    rules.changed.extend(gone.map(|path| named(&path)));
    Ok(rules)
}

/// What the settings put around the jobs.
#[derive(Default)]
struct Beside {
    folders: Vec<PathBuf>,
    files: Vec<PathBuf>,
}

fn beside(ready: &Ready) -> Beside {
    let documents = &ready.documents;
    let lists = [&documents.procedures, &documents.tools, &documents.jobs];
    let folders = lists.into_iter().flatten().filter_map(|(path, _)| ready.bounds.path(path).ok());
    let (mut folders, alone): (Vec<PathBuf>, Vec<PathBuf>) = folders.partition(|path| path.is_dir());
    // More are an error of the settings.
    folders.truncate(MOST_WALKS);
    folders.extend(alone);
    let found = look_for(&folders, &ENDINGS, Reach::Kept).files;
    let files = found.into_iter().filter(|file| file.fault.is_none()).map(|file| file.path).collect();
    Beside { folders, files }
}

/// The records that were at one of these paths or below it, and are not any more.
fn gone(revision: &Revision, folders: &[&Path]) -> Vec<PathBuf> {
    let is_record = |path: &PathBuf| {
        let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
        let is_settings = path.file_name().is_some_and(|name| name == SETTINGS_FILE);
        !is_settings && ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known))
    };
    let mut gone = BTreeSet::new();
    for folder in folders {
        let at = |path: PathBuf| {
            if path.as_os_str().is_empty() { folder.to_path_buf() } else { folder.join(path) }
        };
        let there = revision.below(folder).into_iter().map(at).filter(is_record);
        gone.extend(
            there.filter(|path| std::fs::symlink_metadata(path).is_err()).map(|path| files::tidy(&path)),
        );
    }
    gone.into_iter().collect()
}

/// Whether a log of a record has changed, or cannot be compared.
fn has_changed_log(revision: &Revision, record: &Path, ties: &Ties) -> Result<bool, Failure> {
    let folder = folder_of(record);
    for log in &ties.logs {
        let path = folder.join(log);
        let since = match files::open(&path, files::Links::Refused, false) {
            Ok(mut log) => revision.since(&path, &mut log as &mut dyn Read)?,
            Err(_) => Since::Changed,
        };
        if since != Since::Same {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The names of the files by which others can be hidden.
const IGNORE_FILES: [&str; 2] = [".gitignore", ".ignore"];

/// Of each folder, whether a file has changed that says which records in it are hidden: what was hidden may be seen now.
#[derive(Default)]
struct Ignoring(HashMap<PathBuf, bool>);

impl Ignoring {
    /// Looks in the folder and in those above it. How many those are is bounded by the length of a path.
    fn has_changed(&mut self, revision: &Revision, folder: &Path) -> Result<bool, Failure> {
        let whole = absolute(folder);
        if let Some(known) = self.0.get(&whole) {
            return Ok(*known);
        }
        let mut has = false;
        for name in IGNORE_FILES {
            let path = whole.join(name);
            let since = match files::open(&path, files::Links::Refused, false) {
                Ok(mut file) => Some(revision.since(&path, &mut file)?),
                Err(_) => Some(revision.since(&path, &mut io::empty())?).filter(|since| *since != Since::New),
            };
            has |= since.is_some_and(|since| !matches!(since, Since::Same | Since::Outside));
        }
        let above = whole.parent().filter(|above| !has && revision.holds(above));
        if let Some(above) = above {
            has = self.has_changed(revision, above)?;
        }
        self.0.insert(whole, has);
        Ok(has)
    }
}

/// What is said of the changes.
struct Said<'r> {
    revision: &'r Revision,
    changed: Vec<String>,
    new: Vec<String>,
    all: bool,
    outside: Vec<String>,
    gone: Vec<PathBuf>,
    concerned: Vec<String>,
}

impl Said<'_> {
    fn diagnostics(&self) -> Vec<Diagnostic> {
        let gone: Vec<String> = self.gone.iter().map(|path| named(path)).collect();
        let all = self.about(&self.changed, Level::Advice, |files, have, since| {
            format!(
                "{files} by which records are judged {have} changed since {since}, so every record is judged"
            )
        });
        let new = self.about(&self.new, Level::Advice, |files, have, since| {
            let were = if have == "has" { "was" } else { "were" };
            format!("{files} by which records are judged {were} not in the repository at {since}, so every record is judged")
        });
        let outside = self.about(&self.outside, Level::Note, |files, have, since| {
            let are = if have == "has" { "is" } else { "are" };
            format!("{files} by which records are judged {are} outside the repository of {since}, so that a change is not seen")
        });
        let gone = self.about(&gone, Level::Advice, |files, have, since| {
            let (was, is) = if have == "has" { ("was", "is") } else { ("were", "are") };
            format!("{files} that {was} there at {since} {is} gone")
        });
        let concerned = self.about(&self.concerned, Level::Note, |files, have, since| {
            let are = if have == "has" { "is" } else { "are" };
            format!(
                "{files} that {have} not changed since {since} may be concerned by what has, and {are} judged"
            )
        });
        let concerned = concerned.filter(|_| !self.all);
        [all, new, outside, gone, concerned].into_iter().flatten().collect()
    }

    fn about(
        &self,
        files: &[String],
        level: Level,
        words: impl Fn(&str, &str, &str) -> String,
    ) -> Option<Diagnostic> {
        let different: HashSet<&str> = files.iter().map(String::as_str).collect();
        let number = count(different.len() as u64, "file");
        let have = if different.len() == 1 { "has" } else { "have" };
        let said = words(&number, have, &format!("`{}`", self.revision.name));
        let message = format!("{said}: {}", list(files.iter().map(String::as_str), MOST_NAMED));
        let diagnostic = Diagnostic::without_place(CHANGED_SINCE, message);
        (!files.is_empty()).then_some(Diagnostic { level, ..diagnostic })
    }
}
