//! Files that are being written: beside the ones whose place they take, gone when the program is told to end, and told from
//! those that a killed run left behind by a lock, which the system takes off a program that is gone.

use std::collections::BTreeSet;
use std::fs::{File, Permissions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tempfile::NamedTempFile;

use super::files::{Links, open, plainly};

/// What the names of files that are being written begin with; six letters and digits follow.
const NAMED: &str = ".witnessmark-";

/// How many letters and digits follow.
const RANDOM: usize = 6;

/// The files that are being written by this program.
static WRITING: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

fn writing() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A file that is being written. Dropped before it has taken its place, it is gone.
pub(super) struct Scratch(NamedTempFile);

impl Scratch {
    /// A new file beside another one, with its permissions or, without any, those that the user gives new files.
    pub(super) fn beside(target: &Path, permissions: Option<&Permissions>) -> io::Result<Scratch> {
        remove_at_a_signal();
        let mut builder = tempfile::Builder::new();
        builder.prefix(NAMED).rand_bytes(RANDOM);
        #[cfg(unix)]
        let everybody: Permissions = std::os::unix::fs::PermissionsExt::from_mode(0o666);
        #[cfg(unix)]
        builder.permissions(everybody);
        loop {
            let file = {
                // A signal between the two would leave it.
                let mut writing = writing();
                let file = builder.tempfile_in(folder_of(target))?;
                writing.insert(file.path().to_owned());
                Scratch(file)
            };
            // Whoever clears up may have taken it for one that was left behind, before it was locked.
            let is_locked = file.0.as_file().try_lock();
            if matches!(is_locked, Err(TryLockError::WouldBlock)) || !file.0.path().exists() {
                continue;
            }
            if let Some(permissions) = permissions {
                file.0.as_file().set_permissions(permissions.clone())?;
            }
            return Ok(file);
        }
    }

    /// The file, to write into and to make last.
    pub(super) fn file(&mut self) -> &mut File {
        self.0.as_file_mut()
    }

    /// Takes the place of a file in one step; a link is replaced, not followed.
    pub(super) fn replace(mut self, target: &Path) -> io::Result<()> {
        self.0.disable_cleanup(true);
        let renamed = std::fs::rename(self.0.path(), target);
        self.0.disable_cleanup(renamed.is_ok());
        renamed
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        writing().remove(self.0.path());
    }
}

impl io::Write for Scratch {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
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
        use signal_hook::consts::{SIGINT, SIGTERM};
        static READY: std::sync::Once = std::sync::Once::new();
        READY.call_once(|| {
            let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGINT, SIGTERM]) else { return };
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

/// Removes from a folder what runs that were killed left there; what is said of each.
pub(super) fn clear_up(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut left: Vec<PathBuf> = entries.filter(is_ours).map(|entry| entry.path()).collect();
    left.sort();
    left.iter().filter_map(|path| removed(path)).collect()
}

fn is_ours(entry: &std::fs::DirEntry) -> bool {
    let name = entry.file_name();
    let random = name.to_str().and_then(|name| name.strip_prefix(NAMED));
    entry.file_type().is_ok_and(|kind| kind.is_file())
        && random.is_some_and(|random| {
            random.len() == RANDOM && random.bytes().all(|byte| byte.is_ascii_alphanumeric())
        })
}

/// Removes a file that nobody is writing.
fn removed(path: &Path) -> Option<String> {
    let file = open(path, Links::Refused, false).ok()?;
    if matches!(file.try_lock(), Err(TryLockError::WouldBlock)) {
        return None;
    }
    let name = super::files::tidy(path);
    let what = format!("`{}` was left behind by a run that was cut off, and", name.display());
    Some(match std::fs::remove_file(path) {
        Ok(()) => format!("{what} was removed"),
        Err(error) => format!("{what} cannot be removed: {}", plainly(&error)),
    })
}
