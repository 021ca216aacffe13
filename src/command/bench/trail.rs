//! The trail of a record: who has entered what and when, a line each, beside the record. It is only ever added to.
//!
//! A change has two lines. The first one, `begun`, is on disk before the record is written, and says what is to be changed and
//! which text is to be in the place of which. The second one says what came of it, and only `written` says that the record was
//! changed. Where the program is killed between the two, the next line that is added to the trail, or the next start, finds out
//! from the text of the record what has happened, and says so.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::command::files::{open_to_add, plainly};
use crate::command::replace::keep;
use crate::command::scratch::folder_of;
use crate::edition::Digest;

/// The longest file of a trail.
const LONGEST: u64 = 64 * 1024 * 1024;

/// So many files has one at most.
const MOST_FILES: usize = 100;

/// So many bytes of it are looked at at once to find the beginning of its last line.
const STRETCH: u64 = 8 * 1024;

/// A value that is changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Made {
    /// Its path.
    pub(super) path: String,
    /// What was recorded.
    pub(super) from: String,
    /// What is recorded.
    pub(super) to: String,
}

/// What a line says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Event {
    /// The record is about to be written.
    Begun,
    /// It was.
    Written,
    /// It was not.
    Failed,
    /// The program ended before it said what happened, and somebody else has changed the record since.
    Unknown,
}

/// A line of the trail.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Line {
    at: String,
    event: Event,
    by: String,
    /// The content of the record before, and the one that it is to have.
    before: String,
    after: String,
    values: Vec<Made>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    why: String,
}

/// A change that has begun: who, and the text in the place of which another one is put.
pub(super) struct Change<'c> {
    pub(super) by: &'c str,
    pub(super) before: &'c str,
    pub(super) after: &'c str,
    pub(super) made: &'c [Made],
}

/// A trail to which a change has been added.
pub(super) struct Trail {
    file: File,
    begun: Line,
}

/// Where the trail of a record is.
pub(super) fn path_of(record: &Path) -> PathBuf {
    record.with_extension("trail.jsonl")
}

/// The file to which the next line of a trail goes: where one is full, the next one, `.trail-2.jsonl`.
fn last_of(record: &Path) -> PathBuf {
    let is_full = |path: &PathBuf| {
        std::fs::symlink_metadata(path).is_ok_and(|found| found.is_file() && found.len() > LONGEST)
    };
    let further = (2..=MOST_FILES).map(|number| record.with_extension(format!("trail-{number}.jsonl")));
    let mut files = std::iter::once(path_of(record)).chain(further);
    files.find(|path| !is_full(path)).unwrap_or_else(|| path_of(record))
}

fn content(text: &str) -> String {
    Digest::of(text).short()
}

fn now() -> String {
    jiff::Timestamp::now().to_string()
}

/// The longest line of a trail: what is taken at once is far shorter.
const LONGEST_LINE: u64 = 4 * 1024 * 1024;

/// Opens the trail of a record below a folder; what is left open in it is settled by the text that the record has.
fn open(folder: &Path, record: &Path, text: &str) -> Result<File, String> {
    let path = last_of(record);
    let mut file = open_to_add(folder, &path).map_err(|error| plainly(&error))?;
    let found = file.metadata().map_err(|error| plainly(&error))?;
    if !found.is_file() || found.len() > LONGEST {
        return Err(format!("`{}` is no file, or too long", path.display()));
    }
    if has_other_names(&found) {
        return Err(format!("`{}` is a second name of another file, and is not written", path.display()));
    }
    let last = last_line(&mut file, found.len()).map_err(|error| plainly(&error))?;
    if !last.is_empty() && !last.ends_with('\n') {
        // A line that was cut off when it was written stays by itself.
        file.write_all(b"\n").map_err(|error| plainly(&error))?;
    }
    if let Some(settled) = settled(&last, text) {
        add(&mut file, &settled)?;
    }
    Ok(file)
}

/// Whether a file has a name elsewhere too: what is written would be written there.
#[cfg(unix)]
fn has_other_names(found: &std::fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(found) > 1
}

/// Whether a file has a name elsewhere too, which only Unix tells.
#[cfg(not(unix))]
fn has_other_names(_found: &std::fs::Metadata) -> bool {
    false
}

/// The last line, and with it whether it was written to its end.
fn last_line(file: &mut File, length: u64) -> std::io::Result<String> {
    let mut begin = length;
    let mut stretches: Vec<Vec<u8>> = Vec::new();
    while begin > 0 {
        if length - begin > LONGEST_LINE {
            return Err(std::io::Error::other("its last line is longer than any of a trail"));
        }
        let from = begin.saturating_sub(STRETCH);
        let mut stretch = Vec::new();
        file.seek(SeekFrom::Start(from))?;
        (&*file).take(begin - from).read_to_end(&mut stretch)?;
        // The end of the last line itself ends no line before it.
        let own_end = usize::from(begin == length && stretch.last() == Some(&b'\n'));
        let before = stretch.len() - own_end;
        let end = stretch.iter().take(before).rposition(|byte| *byte == b'\n');
        begin = from;
        if let Some(end) = end {
            stretch.drain(..=end);
            begin = 0;
        }
        stretches.push(stretch);
    }
    stretches.reverse();
    Ok(String::from_utf8_lossy(&stretches.concat()).into_owned())
}

/// What came of a change of which the last line says only that it has begun.
fn settled(last: &str, text: &str) -> Option<Line> {
    let begun: Line = serde_json::from_str(last).ok()?;
    if begun.event != Event::Begun {
        return None;
    }
    let (event, why) = match content(text) {
        now if now == begun.after => (Event::Written, "found when the program had been ended"),
        now if now == begun.before => (Event::Failed, "the program was ended before the record was written"),
        _ => (Event::Unknown, "the program was ended, and the record has been changed by others since"),
    };
    Some(Line { at: now(), event, why: why.to_owned(), ..begun })
}

fn add(file: &mut File, line: &Line) -> Result<(), String> {
    let mut text = serde_json::to_string(line).map_err(|error| error.to_string())?;
    text.push('\n');
    file.write_all(text.as_bytes()).map_err(|error| plainly(&error))
}

/// Says that a record is about to be changed.
///
/// # Errors
/// Why that cannot be said; the record is not written then.
pub(super) fn begin(folder: &Path, record: &Path, change: &Change<'_>) -> Result<Trail, String> {
    let is_new = !last_of(record).exists();
    let mut file = open(folder, record, change.before)?;
    let begun = Line {
        at: now(),
        event: Event::Begun,
        by: change.by.to_owned(),
        before: content(change.before),
        after: content(change.after),
        values: change.made.to_vec(),
        why: String::new(),
    };
    add(&mut file, &begun)?;
    file.sync_data().map_err(|error| plainly(&error))?;
    if is_new {
        keep(folder_of(record));
    }
    Ok(Trail { file, begun })
}

impl Trail {
    /// Says what came of it. Where that cannot be said, the next line of the trail does.
    pub(super) fn end<T>(mut self, written: &Result<T, String>) {
        let (event, why) = match written {
            Ok(_) => (Event::Written, String::new()),
            Err(why) => (Event::Failed, why.clone()),
        };
        let _ = add(&mut self.file, &Line { at: now(), event, why, ..self.begun });
    }
}

/// Settles what a program that was ended has left open in the trail of a record that has this text.
///
/// # Errors
/// Why its trail cannot be read or added to.
pub(super) fn settle(folder: &Path, record: &Path, text: &str) -> Result<(), String> {
    match path_of(record).exists() {
        true => open(folder, record, text).map(drop),
        false => Ok(()),
    }
}
