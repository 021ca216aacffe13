//! Finding and reading files.

use std::fs::{File, Metadata};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use crate::code::{FILE_CHANGED, FILE_UNREADABLE, USE_UNREADABLE};
use crate::diagnostic::Fault;
use crate::document::{self, Undecoded};
use crate::library::Library;

/// The longest file that is read.
pub(super) const LONGEST: u64 = 16 * 1024 * 1024;

/// A text that could not be read, with as much of it as there is to show.
#[derive(Debug)]
pub(super) struct Unread {
    /// What is wrong.
    pub(super) fault: Fault,
    /// The text, with a mark for each byte that is none.
    pub(super) text: Box<str>,
    /// Where in it the fault lies.
    pub(super) at: usize,
}

impl From<Fault> for Unread {
    fn from(fault: Fault) -> Self {
        Unread { fault, text: Box::from(""), at: 0 }
    }
}

/// Reads a text, whatever it holds: too long, unreadable or not UTF-8 is a fault in plain words.
pub(super) fn read(path: &Path) -> Result<String, Unread> {
    let unreadable = |error: io::Error| {
        Fault::new(FILE_UNREADABLE, format!("`{}` cannot be read: {}", path.display(), plainly(&error)))
    };
    // Looked at before it is opened: opening a pipe waits until someone writes into it.
    let kind = std::fs::metadata(path).map_err(unreadable)?;
    if kind.is_dir() {
        return Err(Fault::new(FILE_UNREADABLE, format!("`{}` is a folder", path.display())).into());
    }
    if !kind.is_file() && !handed_over(path) {
        // A pipe or a device might never end.
        return Err(Fault::new(FILE_UNREADABLE, format!("`{}` is no ordinary file", path.display())).into());
    }
    #[expect(clippy::disallowed_methods, reason = "the commands are where files are read")]
    let mut file = File::open(path).map_err(unreadable)?;
    let before = file.metadata().map_err(unreadable)?;
    let text = decoded(&mut file, &path.display().to_string(), before.len())?;
    if kind.is_file() && !is_the_same(&before, &file.metadata().map_err(unreadable)?) {
        // Half of an old text and half of a new one is no record of anything.
        let message = format!("`{}` was changed while it was read", path.display());
        return Err(Fault::new(FILE_CHANGED, message).help("run again when it is written").into());
    }
    Ok(text)
}

/// Whether a file is still as long and as old as it was.
fn is_the_same(before: &Metadata, after: &Metadata) -> bool {
    before.len() == after.len() && before.modified().ok() == after.modified().ok()
}

/// Whether a path names a stream that the shell has opened for us, as `<(…)` does.
fn handed_over(path: &Path) -> bool {
    path == Path::new("/dev/stdin") || path.starts_with("/dev/fd") || path.starts_with("/proc/self/fd")
}

/// Reads standard input.
pub(super) fn read_standard_input() -> Result<String, Unread> {
    decoded(&mut io::stdin().lock(), "standard input", 0)
}

/// Reads a text that is probably so long.
fn decoded(input: &mut dyn Read, name: &str, length: u64) -> Result<String, Unread> {
    // With a byte to spare, the end is found without another buffer.
    let mut bytes = Vec::with_capacity(usize::try_from(length.min(LONGEST)).unwrap_or_default() + 1);
    let read = input.take(LONGEST + 1).read_to_end(&mut bytes);
    read.map_err(|error| {
        Fault::new(FILE_UNREADABLE, format!("`{name}` cannot be read: {}", plainly(&error)))
    })?;
    if bytes.len() as u64 > LONGEST {
        let most = LONGEST / 1024 / 1024;
        return Err(Fault::new(FILE_UNREADABLE, format!("`{name}` is longer than {most} MiB"))
            .help("a record of one job is a few kilobytes; keep other data in files of their own")
            .into());
    }
    document::decode(bytes).map_err(|Undecoded { bytes, at, fault }| Unread {
        fault,
        text: String::from_utf8_lossy(&bytes).into(),
        at,
    })
}

/// An error of the operating system without its number.
pub(super) fn plainly(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "the permission is missing".to_owned(),
        _ => error.to_string(),
    }
}

/// The files with one of these endings under the given paths, in a fixed order. A path that is
/// not a folder is taken whatever its ending, even if reading will show that there is no such file; in
/// a folder, ignore files are honoured and links not followed.
pub(super) fn find(paths: &[PathBuf], endings: &[&str]) -> Vec<Found> {
    look_for(paths, endings).files
}

/// The same, with what lies in the folders and is read by nobody.
pub(super) fn look_for(paths: &[PathBuf], endings: &[&str]) -> Walked {
    let mut walked = Walked::default();
    for path in paths {
        if path.is_dir() {
            walk(path, endings, &mut walked);
        } else {
            walked.files.push(Found { path: path.clone(), named: true, fault: None });
        }
    }
    // Below one path no file is met twice.
    if paths.len() > 1 {
        let mut seen = std::collections::HashSet::new();
        walked.files.retain(|file| seen.insert(tidy(&file.path)));
    }
    walked.passed_over.dedup();
    walked
}

/// What was found below some paths.
#[derive(Debug, Default)]
pub(super) struct Walked {
    /// The files to read.
    pub(super) files: Vec<Found>,
    /// Links, which are not followed, and what is neither a file nor a folder; each with what it is. Of names
    /// with other endings nothing is said.
    pub(super) passed_over: Vec<String>,
}

/// What is said of something in a folder that is read by nobody.
fn passed_over(entry: &ignore::DirEntry, endings: &[&str]) -> Option<String> {
    let kind = entry.file_type().filter(|_| entry.depth() > 0)?;
    let is_folder = kind.is_symlink() && entry.path().is_dir();
    let what = match kind.is_symlink() {
        true => "a link, which is not followed",
        false => "no ordinary file",
    };
    let meant = !kind.is_file() && !kind.is_dir() && (is_folder || ends_in(entry.path(), endings));
    meant.then(|| format!("{} ({what})", tidy(entry.path()).display()))
}

/// A file to read.
#[derive(Debug)]
pub(super) struct Found {
    /// Its path.
    pub(super) path: PathBuf,
    /// Whether the user named it, rather than its folder.
    pub(super) named: bool,
    /// Why it or its folder could not be looked at.
    pub(super) fault: Option<String>,
}

fn walker(folder: &Path) -> ignore::Walk {
    ignore::WalkBuilder::new(folder).require_git(false).sort_by_file_path(std::cmp::Ord::cmp).build()
}

fn ends_in(path: &Path, endings: &[&str]) -> bool {
    path.extension().is_some_and(|ending| endings.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

fn walk(folder: &Path, endings: &[&str], walked: &mut Walked) {
    let mut is_whole = true;
    for entry in walker(folder) {
        match entry {
            Ok(entry) => {
                let wanted =
                    entry.file_type().is_some_and(|kind| kind.is_file()) && ends_in(entry.path(), endings);
                if wanted {
                    let mut path = tidy(entry.path());
                    path.shrink_to_fit();
                    walked.files.push(Found { path, named: false, fault: None });
                } else {
                    walked.passed_over.extend(passed_over(&entry, endings));
                }
            }
            // Of a folder that cannot be looked at in several places it is said once.
            Err(error) if std::mem::take(&mut is_whole) => {
                let fault = Some(error.to_string());
                walked.files.push(Found { path: folder.to_owned(), named: false, fault });
            }
            Err(_) => {}
        }
    }
}

/// Whether two paths lead to one file.
pub(super) fn same(left: &Path, right: &Path) -> bool {
    match (std::fs::canonicalize(left), std::fs::canonicalize(right)) {
        (Ok(left), Ok(right)) => left == right,
        _ => left == right,
    }
}

/// A path without `.` and, as far as names tell, without `..`, so that one file has one name.
pub(super) fn tidy(path: &Path) -> PathBuf {
    let mut tidy = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(tidy.components().next_back(), Some(Component::Normal(_))) => {
                tidy.pop();
            }
            other => tidy.push(other),
        }
    }
    if tidy.as_os_str().is_empty() { PathBuf::from(".") } else { tidy }
}

/// The rule files on disk, each known by its path.
#[derive(Debug)]
pub(super) struct Disk;

impl Library for Disk {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let relative = Path::new(path);
        if relative.is_absolute() {
            return Err(Fault::new(USE_UNREADABLE, format!("`{path}` is not relative")).help(
                "write the path from the folder of this file, so that the rules can be moved together",
            ));
        }
        if crate::library::SHIPPED.iter().any(|shipped| shipped.file == from) {
            return crate::library::NoLibrary.open(from, path);
        }
        let target = tidy(&Path::new(from).parent().unwrap_or(Path::new(".")).join(relative));
        let text = read(&target).map_err(|unread| Fault { code: USE_UNREADABLE, ..unread.fault })?;
        Ok((target.display().to_string(), text))
    }
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "a test writes the file that it works on")]
mod tests {
    use std::fs::File;

    use super::is_the_same;

    // Nothing can be made to change a file at the very moment at which it is read, so what is compared
    // before and after is tried by itself: `run/file-changed`.
    #[test]
    fn a_file_that_was_written_to_is_not_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.yaml");
        std::fs::write(&path, "form: job/1\n").unwrap();
        let before = std::fs::metadata(&path).unwrap();
        assert!(is_the_same(&before, &std::fs::metadata(&path).unwrap()));
        std::fs::write(&path, "form: job/1\njob: {}\n").unwrap();
        assert!(!is_the_same(&before, &std::fs::metadata(&path).unwrap()));
        let file = File::options().write(true).open(&path).unwrap();
        let before = file.metadata().unwrap();
        file.set_modified(std::time::SystemTime::UNIX_EPOCH).unwrap();
        assert!(!is_the_same(&before, &file.metadata().unwrap()));
    }
}
