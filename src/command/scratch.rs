//! Files that are being written: beside the ones whose place they take, and gone when the program is told to end.
//!
//! A run that is killed leaves its file behind. The next run that writes in the same folder removes it, and must not take for
//! one what others put there. So the name of such a file says what only the system decides and nobody can bring along: the
//! number that it has in its file system, and the moment at which it was made there. One that is still being written is known
//! by its lock, which the system takes off a program that is gone.

use std::collections::BTreeSet;
use std::fs::{DirEntry, File, Permissions};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::files::{Links, open, plainly};

/// What the names of files that are being written begin with.
const NAMED: &str = ".witnessmark-";

/// What they begin with until it is known what they are called.
const UNNAMED: &str = ".witnessmark.";

/// The files that are being written by this program.
static WRITING: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

fn writing() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The name that a file has while it is written, by which the next run knows that it is ours. None where the file system does
/// not say when a file was made: what is left there stays.
#[cfg(unix)]
fn own_name(file: &File) -> Option<String> {
    use std::os::unix::fs::MetadataExt;
    let found = file.metadata().ok()?;
    let made = found.created().ok()?.duration_since(std::time::UNIX_EPOCH).ok()?;
    Some(format!("{NAMED}{:x}-{:x}", found.ino(), made.as_nanos()))
}

/// Elsewhere a file has no number that can be asked for.
#[cfg(not(unix))]
fn own_name(_file: &File) -> Option<String> {
    None
}

/// A file that is being written. Dropped before it has taken its place, it is gone.
pub(super) struct Scratch {
    file: File,
    path: PathBuf,
}

impl Scratch {
    /// A new file beside another one, with its permissions or, without any, those that the user gives new files.
    pub(super) fn beside(target: &Path, permissions: Option<&Permissions>) -> io::Result<Scratch> {
        remove_at_a_signal();
        let mut builder = tempfile::Builder::new();
        builder.prefix(UNNAMED);
        #[cfg(unix)]
        let everybody: Permissions = std::os::unix::fs::PermissionsExt::from_mode(0o666);
        #[cfg(unix)]
        builder.permissions(everybody);
        let scratch = {
            // A signal between the two would leave it.
            let mut writing = writing();
            let (file, path) = builder.tempfile_in(folder_of(target))?.keep()?;
            let scratch = Scratch { file, path }.named();
            writing.insert(scratch.path.clone());
            scratch
        };
        if let Some(permissions) = permissions {
            scratch.file.set_permissions(permissions.clone())?;
        }
        Ok(scratch)
    }

    /// The same with the name by which it is known. It is locked before that: nobody takes it for one that was left behind.
    fn named(mut self) -> Scratch {
        let is_locked = self.file.try_lock().is_ok();
        if let Some(name) = own_name(&self.file).filter(|_| is_locked) {
            let path = folder_of(&self.path).join(name);
            if std::fs::rename(&self.path, &path).is_ok() {
                self.path = path;
            }
        }
        self
    }

    /// The file, to write into and to make last.
    pub(super) fn file(&mut self) -> &mut File {
        &mut self.file
    }

    /// Takes a place that is free, in one step.
    ///
    /// # Errors
    /// Something is there already, or the file system has no second names for files.
    pub(super) fn settle(self, target: &Path) -> io::Result<()> {
        std::fs::hard_link(&self.path, target)
    }

    /// Takes the place of a file in one step; a link is replaced, not followed.
    pub(super) fn replace(self, target: &Path) -> io::Result<()> {
        std::fs::rename(&self.path, target)
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let mut writing = writing();
        // It may have taken its place.
        let _ = std::fs::remove_file(&self.path);
        writing.remove(&self.path);
    }
}

impl io::Write for Scratch {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// The folder of a file.
pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Where somebody ends the program, its files go first.
fn remove_at_a_signal() {
    #[cfg(unix)]
    {
        use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM};
        static READY: std::sync::Once = std::sync::Once::new();
        READY.call_once(|| {
            let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGQUIT, SIGTERM])
            else {
                return;
            };
            std::thread::spawn(move || {
                for signal in &mut signals {
                    // Held to the end, so that no other file begins.
                    let writing = writing();
                    for path in &*writing {
                        // It may have taken its place by now.
                        let _ = std::fs::remove_file(path);
                    }
                    let _ = signal_hook::low_level::emulate_default_handler(signal);
                }
            });
        });
    }
}

/// Removes from a folder what runs that were killed left there; what is said of each. For runs that have written in it.
pub(super) fn clear_up(folder: &Path) -> Vec<String> {
    let entries: Vec<DirEntry> = std::fs::read_dir(folder).into_iter().flatten().flatten().collect();
    let mut left: Vec<(PathBuf, File)> = entries.iter().filter_map(left_behind).collect();
    left.sort_by(|(one, _), (other, _)| one.cmp(other));
    let mut unnamed: Vec<PathBuf> =
        entries.iter().filter(|entry| is_unnamed(entry)).map(DirEntry::path).collect();
    unnamed.sort();
    let removed = left.iter().map(|(path, _)| removed(path));
    removed.chain(unnamed.iter().map(|path| perhaps_left(path))).collect()
}

/// Whether a file has the name that one of ours has before it is known what it is called, and nothing in it. It may be
/// somebody else's, so it is not removed.
fn is_unnamed(entry: &DirEntry) -> bool {
    let is_named_so = entry.file_name().as_encoded_bytes().starts_with(UNNAMED.as_bytes());
    let is_empty = entry.metadata().is_ok_and(|found| found.is_file() && found.len() == 0);
    let is_locked = || {
        let file = open(&entry.path(), Links::Refused, false);
        file.is_ok_and(|file| file.try_lock().is_err())
    };
    is_named_so && is_empty && !is_locked()
}

fn perhaps_left(path: &Path) -> String {
    let name = super::files::tidy(path);
    format!(
        "`{}` is empty and may have been left behind by a run that was cut off; remove it if nothing writes here",
        name.display()
    )
}

/// A file that was left behind, which is locked now.
fn left_behind(entry: &DirEntry) -> Option<(PathBuf, File)> {
    // Looked at before it is opened: opening a device can do something to it.
    let path = entry.file_type().is_ok_and(|kind| kind.is_file()).then(|| entry.path())?;
    let file = ours(&path)?;
    file.try_lock().is_ok().then_some((path, file))
}

/// A file that a run of this program made and has not put in its place.
fn ours(path: &Path) -> Option<File> {
    let name = path.file_name().filter(|name| name.as_encoded_bytes().starts_with(NAMED.as_bytes()))?;
    let file = open(path, Links::Refused, false).ok()?;
    own_name(&file).is_some_and(|own| name == &*own).then_some(file)
}

/// Whether a file is being written by a run of this program, or was left by one.
pub(super) fn is_being_written(path: &Path) -> bool {
    ours(path).is_some()
}

fn removed(path: &Path) -> String {
    let name = super::files::tidy(path);
    let what = format!("`{}` was left behind by a run that was cut off, and", name.display());
    match std::fs::remove_file(path) {
        Ok(()) => format!("{what} was removed"),
        Err(error) => format!("{what} cannot be removed: {}", plainly(&error)),
    }
}
