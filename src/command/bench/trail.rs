//! The trail of a record: who has entered what and when, a line each, beside the record. It is only ever added to.

use std::io::Write;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::command::files::plainly;
use crate::command::replace::keep;
use crate::command::scratch::folder_of;

/// The longest trail.
const LONGEST: u64 = 64 * 1024 * 1024;

/// A line of the trail.
#[derive(Debug, Serialize)]
pub(super) struct Line {
    /// When.
    pub(super) at: String,
    /// Who.
    pub(super) by: String,
    /// The path of the value.
    pub(super) path: String,
    /// What was recorded.
    pub(super) from: String,
    /// What is recorded.
    pub(super) to: String,
}

/// Where the trail of a record is.
fn path_of(record: &Path) -> PathBuf {
    record.with_extension("trail.jsonl")
}

/// Adds lines. They are on disk before the record is: a line whose value is not in the record tells of a write that was
/// cut off.
///
/// # Errors
/// Why they cannot be added; the record is not written then.
pub(super) fn add(record: &Path, lines: &[Line]) -> Result<(), String> {
    let path = path_of(record);
    let mut text = String::new();
    for line in lines {
        text.push_str(&serde_json::to_string(line).map_err(|error| error.to_string())?);
        text.push('\n');
    }
    let is_new = !path.exists();
    let mut file = open(&path).map_err(|error| plainly(&error))?;
    let found = file.metadata().map_err(|error| plainly(&error))?;
    if !found.is_file() || found.len() > LONGEST {
        return Err(format!("`{}` is no file, or too long", path.display()));
    }
    file.write_all(text.as_bytes()).and_then(|()| file.sync_data()).map_err(|error| plainly(&error))?;
    if is_new {
        keep(folder_of(&path));
    }
    Ok(())
}

#[cfg(unix)]
fn open(path: &Path) -> std::io::Result<std::fs::File> {
    use rustix::fs::{Mode, OFlags};
    let flags = OFlags::WRONLY
        | OFlags::APPEND
        | OFlags::CREATE
        | OFlags::CLOEXEC
        | OFlags::NOFOLLOW
        | OFlags::NONBLOCK;
    Ok(std::fs::File::from(rustix::fs::open(path, flags, Mode::from_raw_mode(0o644))?))
}

#[cfg(not(unix))]
fn open(path: &Path) -> std::io::Result<std::fs::File> {
    std::fs::OpenOptions::new().append(true).create(true).open(path)
}
