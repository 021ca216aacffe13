//! Looking again when files change: by the time and the length that the system tells of each, so that it works wherever
//! files can be read.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use super::walk::{Reach, look_for_all};

/// How long nothing is looked at between two looks.
const PAUSE: Duration = Duration::from_millis(500);

/// Of each file, when it was changed last and how long it is.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct State(BTreeMap<PathBuf, Stamp>);

/// When a file was changed last, and how long it is.
pub(super) type Stamp = (Option<SystemTime>, u64);

/// The stamp of a file; nothing where there is none.
pub(super) fn stamp(path: &Path) -> Option<Stamp> {
    let known = std::fs::symlink_metadata(path).ok()?;
    Some((known.modified().ok(), known.len()))
}

impl State {
    /// That of files, and of all that is below folders.
    pub(super) fn of(paths: &[PathBuf]) -> State {
        let files = paths.iter().flat_map(|path| match path.is_dir() {
            true => look_for_all(path, Reach::Kept),
            false => vec![path.clone()],
        });
        let look = |file: PathBuf| stamp(&file).map(|stamp| (file, stamp));
        State(files.filter_map(look).collect())
    }

    /// Takes a file as it is now.
    pub(super) fn note(&mut self, path: &Path) {
        match stamp(path) {
            Some(stamp) => self.0.insert(path.to_owned(), stamp),
            None => self.0.remove(path),
        };
    }

    /// The files that are others than they were, new or gone.
    pub(super) fn changed_since(&self, before: &State) -> Vec<PathBuf> {
        let is_other = |path: &&PathBuf| self.0.get(*path) != before.0.get(*path);
        let here = self.0.keys().filter(is_other);
        let gone = before.0.keys().filter(|path| !self.0.contains_key(*path));
        here.chain(gone).cloned().collect()
    }

    /// Waits until they are others.
    pub(super) fn when_changed(self, paths: &[PathBuf]) -> State {
        loop {
            std::thread::sleep(PAUSE);
            let now = State::of(paths);
            if now != self {
                return now;
            }
        }
    }
}
