//! Looking again when files change: by the time and the length that the system tells of each, so that it works wherever
//! files can be read.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

use super::walk::{Reach, look_for_all};

/// How long nothing is looked at between two looks.
const PAUSE: Duration = Duration::from_millis(500);

/// Of each file, when it was changed last and how long it is.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct State(BTreeMap<PathBuf, (Option<SystemTime>, u64)>);

impl State {
    /// That of files, and of all that is below folders.
    pub(super) fn of(paths: &[PathBuf]) -> State {
        let files = paths.iter().flat_map(|path| match path.is_dir() {
            true => look_for_all(path, Reach::Kept),
            false => vec![path.clone()],
        });
        let look = |file: PathBuf| {
            let known = std::fs::symlink_metadata(&file).ok()?;
            Some((file, (known.modified().ok(), known.len())))
        };
        State(files.filter_map(look).collect())
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
