//! The documents that stand around the jobs of a run: found in the settings and among its own files.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;

use super::files::{self, Found};
use super::standards::Ready;
use crate::code::SETTINGS;
use crate::diagnostic::{Diagnostic, Fault};
use crate::library::Archive;
use crate::session::{Episode, History};
use crate::source::Place;

/// The endings of documents.
pub(super) const ENDINGS: [&str; 2] = ["yaml", "yml"];

/// What a file was found to hold at the first glance.
enum Glance {
    /// A procedure or a tool register, which is kept.
    Neighbour(String, String),
    /// Jobs, of which only their names are kept.
    Jobs(Episode),
    /// Something else.
    Other,
    /// Nothing that can be read. For a file of the run, inspecting it says so.
    Unread(Fault),
}

impl Ready {
    /// Puts the documents of the settings and those among the files of the run around the jobs, as far
    /// as the rules ask for them.
    pub(super) fn surround(&mut self, files: &[Found]) {
        let program = self.session.program();
        // The content hash of a procedure and the uncertainty of a tool count whether a rule asks or not.
        let named = !self.documents.procedures.is_empty() || !self.documents.tools.is_empty();
        if !program.asks_around() && !named {
            return;
        }
        let history = program.asks_history();
        let mut seen: HashSet<PathBuf> = HashSet::new();
        let mut wanted: Vec<(PathBuf, Option<Place>)> = Vec::new();
        let mut add = |path: &Path, named: Option<Place>| {
            // By whatever links it is reached, a file is one file.
            let true_path = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
            if seen.insert(true_path) {
                wanted.push((path.to_owned(), named));
            }
        };
        for file in files.iter().filter(|file| file.fault.is_none()) {
            add(&file.path, None);
        }
        let mut missing = Vec::new();
        let documents = &self.documents;
        let jobs = history.then_some(&documents.jobs);
        for (path, place) in [&documents.procedures, &documents.tools].into_iter().chain(jobs).flatten() {
            let found = files::tidy(&self.folder.join(path));
            if !found.exists() {
                missing.push(nothing_there(path, *place));
                continue;
            }
            for file in files::find(&[found], &ENDINGS).iter().filter(|file| file.fault.is_none()) {
                add(&file.path, Some(*place));
            }
        }
        let zone = &self.session.setting().zone;
        let glances: Vec<Glance> = wanted
            .par_iter()
            .map(|(path, _)| {
                let text = match files::read(path) {
                    Ok(text) => text,
                    Err(unread) => return Glance::Unread(unread.fault),
                };
                let name = path.display().to_string();
                match form_of(&text) {
                    Some("procedure" | "tools") => Glance::Neighbour(name, text),
                    Some("job") if history => Glance::Jobs(Episode::read(&name, &text, zone)),
                    _ => Glance::Other,
                }
            })
            .collect();
        let (mut texts, mut episodes) = (Vec::new(), Vec::new());
        for (glance, (path, named)) in glances.into_iter().zip(&wanted) {
            match glance {
                Glance::Neighbour(name, text) => texts.push((name, text)),
                Glance::Jobs(episode) => episodes.push(episode),
                Glance::Unread(fault) => {
                    missing.extend(named.map(|place| unreadable(path, place, fault)));
                }
                Glance::Other => {}
            }
        }
        self.diagnostics.extend(missing);
        self.session.surround(texts, History::from_iter(episodes), Arc::new(Disk));
    }
}

fn unreadable(path: &Path, place: Place, fault: Fault) -> Diagnostic {
    let message = format!("a document around the jobs is left out, `{}`: {}", path.display(), fault.message);
    let diagnostic = Diagnostic::error(fault.code, place, message);
    Diagnostic { help: fault.help, ..diagnostic }
}

fn nothing_there(path: &str, place: Place) -> Diagnostic {
    Diagnostic::error(SETTINGS, place, format!("there is no file or folder `{path}`"))
        .help("write the path from the folder of the settings")
}

/// The name of the form in the first line that names one.
pub(super) fn form_of(text: &str) -> Option<&str> {
    let mut lines = text.trim_start_matches('\u{feff}').lines();
    let form = lines.find_map(|line| line.strip_prefix("form:"))?;
    Some(form.trim().trim_matches(['"', '\'']).split('/').next()?.trim())
}

/// The jobs on disk.
struct Disk;

impl Archive for Disk {
    fn open(&self, name: &str) -> Result<String, Fault> {
        files::read(Path::new(name)).map_err(|unread| unread.fault)
    }
}
