//! Finding and reading files.

use std::fs::{File, Metadata};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use super::bounds::{Bounds, absolute, is_link, near_enough, unlinked};
use super::names::{named, path_of};
use super::unsaved;
use crate::code::{Code, FILE_CHANGED, FILE_UNREADABLE, USE_UNREADABLE};
use crate::diagnostic::{Fault, did_you_mean, nearest};
use crate::document::{self, Undecoded};
use crate::language::looks_like_rules;
use crate::library::Library;

/// The longest file that is read.
pub(super) const LONGEST: u64 = 16 * 1024 * 1024;

/// A text that could not be read, with as much of it as there is to show.
#[derive(Clone, Debug)]
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

/// What becomes of a path that ends in a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Links {
    /// The user named it, so it is followed.
    Followed,
    /// Somebody else put it there, so it is refused.
    Refused,
}

/// Reads a text that the user named, whatever it holds: too long, unreadable or not UTF-8 is a fault in plain words.
pub(super) fn read(path: &Path) -> Result<String, Unread> {
    read_by(path, Links::Followed)
}

/// Reads a text that was found in a folder, or that settings name.
pub(super) fn read_unlinked(path: &Path) -> Result<String, Unread> {
    read_by(path, Links::Refused)
}

pub(super) fn read_by(path: &Path, links: Links) -> Result<String, Unread> {
    let unreadable = |error: io::Error| unreadable(path, &error);
    // A pipe or a device might never end.
    let special = || is_special_file(path);
    let is_handed_over = handed_over(path);
    let links = if is_handed_over { Links::Followed } else { links };
    // Looked at before it is opened: opening a device can do something to it.
    let kind = match links {
        Links::Followed => std::fs::metadata(path),
        Links::Refused => std::fs::symlink_metadata(path),
    };
    if kind.as_ref().is_ok_and(Metadata::is_symlink) {
        return Err(is_link(path).into());
    }
    if let Some(text) = unsaved::text_of(path) {
        return read_held(&text, &path.display().to_string());
    }
    let kind = kind.map_err(unreadable)?;
    if kind.is_dir() {
        return Err(Fault::new(FILE_UNREADABLE, format!("`{}` is a folder", path.display())).into());
    }
    if !kind.is_file() && !is_handed_over {
        return Err(special().into());
    }
    let file = open(path, links, is_handed_over).map_err(unreadable)?;
    // What was looked at may be gone, and something else be there.
    if !file.metadata().map_err(unreadable)?.is_file() && !is_handed_over {
        return Err(special().into());
    }
    text_of(file, path, kind.is_file())
}

/// Reads a file that was opened.
fn text_of(mut file: File, path: &Path, is_to_stay: bool) -> Result<String, Unread> {
    let before = file.metadata().map_err(|error| unreadable(path, &error))?;
    let text = decoded(&mut file, &path.display().to_string(), before.len())?;
    if is_to_stay && !is_the_same(&before, &file.metadata().map_err(|error| unreadable(path, &error))?) {
        // Half of an old text and half of a new one is no record of anything.
        let message = format!("`{}` was changed while it was read", path.display());
        return Err(Fault::new(FILE_CHANGED, message).help("run again when it is written").into());
    }
    Ok(text)
}

fn unreadable(path: &Path, error: &io::Error) -> Fault {
    Fault::new(FILE_UNREADABLE, format!("`{}` cannot be read: {}", path.display(), plainly(error)))
}

/// Reads a text below a folder that is served for long: no part of the way from the folder to it may be a link, also none
/// that has just been put there. A text that is not below it is read like any other that was found.
pub(super) fn read_below(folder: &Path, path: &Path) -> Result<String, Unread> {
    let Some(way) = way_below(folder, path) else { return read_unlinked(path) };
    let file = open_below(folder, &way, Wanted::ToRead);
    let file =
        file.map_err(|error| unlinked(folder, path).err().unwrap_or_else(|| unreadable(path, &error)))?;
    if !file.metadata().map_err(|error| unreadable(path, &error))?.is_file() {
        return Err(is_special_file(path).into());
    }
    text_of(file, path, true)
}

/// Opens a file below a folder to read it, as [`read_below`] does. None where it is not below it or no plain file.
pub(super) fn open_to_read(folder: &Path, path: &Path) -> Option<File> {
    let file = open_below(folder, &way_below(folder, path)?, Wanted::ToRead).ok()?;
    file.metadata().is_ok_and(|found| found.is_file()).then_some(file)
}

/// Opens a file below a folder to read it and to add to its end; it is made where there is none.
pub(super) fn open_to_add(folder: &Path, path: &Path) -> io::Result<File> {
    match way_below(folder, path) {
        Some(way) => open_below(folder, &way, Wanted::ToAdd),
        None => Err(io::Error::other("it is not in the folder")),
    }
}

/// What a file below a folder is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wanted {
    ToRead,
    ToAdd,
}

/// The way from a folder to what is below it.
fn way_below(folder: &Path, path: &Path) -> Option<PathBuf> {
    absolute(path).strip_prefix(absolute(folder)).ok().map(Path::to_owned)
}

/// Opens each folder on the way by itself, so that none of them can be a link when the next one is opened.
#[cfg(unix)]
fn open_below(folder: &Path, way: &Path, wanted: Wanted) -> io::Result<File> {
    use rustix::fs::{AtFlags, FileType, Mode, OFlags, openat, statat};
    let folders = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
    let none = || io::Error::from(io::ErrorKind::NotFound);
    let (name, way) = (way.file_name().ok_or_else(none)?, way.parent().unwrap_or(Path::new("")));
    let mut at = rustix::fs::open(absolute(folder), folders, Mode::empty())?;
    for part in way {
        at = openat(&at, part, folders | OFlags::NOFOLLOW, Mode::empty())?;
    }
    let safe = OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
    let (flags, mode) = match wanted {
        Wanted::ToRead => (OFlags::RDONLY, Mode::empty()),
        Wanted::ToAdd => (OFlags::RDWR | OFlags::APPEND | OFlags::CREATE, Mode::from_raw_mode(0o644)),
    };
    // Looked at before it is opened: opening a device can do something to it.
    let is_other = |found: rustix::fs::Stat| FileType::from_raw_mode(found.st_mode) != FileType::RegularFile;
    if statat(&at, name, AtFlags::SYMLINK_NOFOLLOW).is_ok_and(is_other) {
        return Err(io::Error::other("it is no ordinary file"));
    }
    Ok(File::from(openat(&at, name, flags | safe, mode)?))
}

/// Opens a file on the way to which no link was found.
#[cfg(not(unix))]
#[expect(clippy::disallowed_methods, reason = "the commands are where files are read")]
fn open_below(folder: &Path, way: &Path, wanted: Wanted) -> io::Result<File> {
    let path = folder.join(way);
    unlinked(folder, &path).map_err(|fault| io::Error::other(fault.message))?;
    match wanted {
        Wanted::ToRead => File::open(path),
        Wanted::ToAdd => File::options().read(true).append(true).create(true).open(path),
    }
}

/// How many files are looked at, side by side, before the next ones are, and how many bytes they have together. It bounds the
/// memory of a run.
const BATCH: (usize, u64) = (256, 4 * 1024 * 1024);

/// Cuts a list of files into those that are looked at side by side: at least one at a time.
pub(super) fn batches<T>(files: &[T], path: impl Fn(&T) -> &Path) -> Vec<&[T]> {
    let (most, most_bytes) = BATCH;
    let length = |file: &T| std::fs::symlink_metadata(path(file)).map_or(0, |found| found.len());
    let (mut batches, mut rest, mut number, mut bytes) = (Vec::new(), files, 0, 0);
    for file in files {
        let more = length(file).min(LONGEST);
        if number > 0
            && (number == most || bytes + more > most_bytes)
            && let Some((batch, others)) = rest.split_at_checked(number)
        {
            batches.push(batch);
            (rest, number, bytes) = (others, 0, 0);
        }
        (number, bytes) = (number + 1, bytes + more);
    }
    batches.extend(Some(rest).filter(|rest| !rest.is_empty()));
    batches
}

/// Opens a file without waiting for anybody who would write into it, unless that is what it is for.
#[cfg(unix)]
pub(super) fn open(path: &Path, links: Links, may_wait: bool) -> io::Result<File> {
    use rustix::fs::{Mode, OFlags};
    let mut flags = OFlags::RDONLY | OFlags::CLOEXEC;
    flags.set(OFlags::NOFOLLOW, links == Links::Refused);
    flags.set(OFlags::NONBLOCK, !may_wait);
    Ok(File::from(rustix::fs::open(path, flags, Mode::empty())?))
}

/// Opens a file, which was found to be no link.
#[cfg(not(unix))]
#[expect(clippy::disallowed_methods, reason = "the commands are where files are read")]
pub(super) fn open(path: &Path, _links: Links, _may_wait: bool) -> io::Result<File> {
    File::open(path)
}

/// Whether a path leads to something that is neither a file nor a folder nor a link, or into a file system that is made
/// up of the state of the machine.
pub(super) fn is_special(path: &Path) -> bool {
    let is_of_the_system = ["/proc", "/sys", "/dev"].iter().any(|folder| path.starts_with(folder));
    let kind = std::fs::symlink_metadata(path).map(|found| found.file_type());
    is_of_the_system || kind.is_ok_and(|kind| !kind.is_file() && !kind.is_dir() && !kind.is_symlink())
}

/// What is said of what is neither a file nor a folder nor a link.
pub(super) fn is_special_file(path: &Path) -> Fault {
    Fault::new(FILE_UNREADABLE, format!("`{}` is no ordinary file", path.display()))
}

/// Whether a file is still as long and as old as it was.
fn is_the_same(before: &Metadata, after: &Metadata) -> bool {
    before.len() == after.len() && before.modified().ok() == after.modified().ok()
}

/// Whether a path names a stream that the shell has opened for us, as `<(…)` does.
pub(super) fn handed_over(path: &Path) -> bool {
    path == Path::new("/dev/stdin") || path.starts_with("/dev/fd") || path.starts_with("/proc/self/fd")
}

/// Reads a text that an editor holds, as if it were a file of this name.
pub(super) fn read_held(text: &str, name: &str) -> Result<String, Unread> {
    decoded(&mut text.as_bytes(), name, text.len() as u64)
}

/// Reads standard input.
pub(super) fn read_standard_input() -> Result<String, Unread> {
    decoded(&mut io::stdin().lock(), crate::source::STANDARD_INPUT, 0)
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
#[derive(Debug, Default)]
pub(super) struct Disk {
    /// The folder that rule files in it do not leave.
    pub(super) bounds: Option<Bounds>,
}

impl Library for Disk {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let relative = Path::new(path);
        if relative.is_absolute() {
            return Err(Fault::new(USE_UNREADABLE, format!("`{path}` is not relative")).help(
                "write the path from the folder of this file, so that the rules can be moved together",
            ));
        }
        if crate::library::came_with_it(from).is_some() {
            return crate::library::NoLibrary.open(from, path);
        }
        if !is_rule_file(relative) {
            return Err(not_rules(USE_UNREADABLE, path));
        }
        let from = &*path_of(from);
        let folder = from.parent().unwrap_or(Path::new("."));
        let target = tidy(&folder.join(relative));
        match self.bounds.as_ref().filter(|bounds| bounds.holds(from)) {
            Some(bounds) => bounds.allow(&target, path)?,
            // A rule file that no settings vouch for can be a stranger's.
            None => near_enough(folder, &target, path)?,
        }
        unlinked(folder, &target)?;
        let text = read_unlinked(&target).map_err(|unread| {
            let fault = Fault { code: USE_UNREADABLE, ..unread.fault };
            match rule_file_meant(&target, path) {
                Some(near) => fault.help(did_you_mean(path, &near)),
                None => fault,
            }
        })?;
        if !looks_like_rules(&text) {
            return Err(not_rules(USE_UNREADABLE, &target.display().to_string()));
        }
        Ok((named(&target), text))
    }
}

/// So many files of a folder are looked at for the one that was meant.
const MOST_NAMES: usize = 1_000;

/// The path to the rule file that was probably meant by one where nothing is.
fn rule_file_meant(target: &Path, written: &str) -> Option<String> {
    if std::fs::symlink_metadata(target).is_ok() {
        return None;
    }
    let wanted = target.file_name()?.to_str()?;
    let names = std::fs::read_dir(absolute(target.parent()?)).ok()?.take(MOST_NAMES);
    let names = names.flatten().filter_map(|entry| entry.file_name().into_string().ok());
    let mut names: Vec<String> = names.filter(|name| is_rule_file(Path::new(name))).collect();
    // A folder is in no order.
    names.sort_unstable();
    let near = nearest(wanted, names.iter().map(String::as_str))?;
    Some(format!("{}{near}", written.strip_suffix(wanted)?))
}

/// The ending of rule files.
pub(super) const RULE_ENDING: &str = "standard";

/// Whether a path has the ending of a rule file.
pub(super) fn is_rule_file(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == RULE_ENDING)
}

/// What is said of a file that is no rule file.
pub(super) fn not_rules(code: Code, name: &str) -> Fault {
    if is_rule_file(Path::new(name)) {
        let message = format!("`{name}` is not a rule file: no line of it begins like one of a rule file");
        return Fault::new(code, message).help("a rule file begins with `standard NAME edition N \"title\"`");
    }
    let message = format!("`{name}` is not a rule file (those end in `.{RULE_ENDING}`), and is not read");
    Fault::new(code, message).help("give the file that ending, or correct the path")
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
