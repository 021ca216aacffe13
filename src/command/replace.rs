//! Replacing a file in one step: whoever looks, and whenever the program dies, finds the old text or the
//! new one, whole.

use std::io::Write;
use std::path::Path;

use super::bounds::Bounds;
use super::files::{self, plainly};
use super::scratch::Scratch;

/// Puts `after` in the place of `before`, the text that was read from this path. A link is followed to
/// its file, which keeps its permissions, but not out of the folders of the run.
///
/// # Errors
/// Why the file was left as it was: a link leads out to it, it has changed since it was read, is write-protected, or
/// cannot be written beside.
pub(super) fn replace(path: &Path, before: &str, after: &str, bounds: &Bounds) -> Result<(), String> {
    let cannot = |error: std::io::Error| plainly(&error);
    let target = std::fs::canonicalize(path).map_err(cannot)?;
    if bounds.is_led_out(path, &target) {
        return Err("a link leads out of this folder to it; name the file itself".to_owned());
    }
    let permissions = std::fs::metadata(&target).map_err(cannot)?.permissions();
    if permissions.readonly() {
        return Err("it is write-protected".to_owned());
    }
    let folder = target.parent().unwrap_or(Path::new("/"));
    let mut file = Scratch::beside(&target, Some(&permissions))
        .map_err(|error| format!("no file can be written beside it: {}", plainly(&error)))?;
    file.write_all(after.as_bytes()).map_err(cannot)?;
    file.file().sync_all().map_err(cannot)?;
    // As late as can be: what somebody else wrote meanwhile is theirs.
    if !files::read(&target).is_ok_and(|now| now == before) {
        return Err(CHANGED.to_owned());
    }
    // A folder on the way can have become a link meanwhile.
    if std::fs::canonicalize(path).map_err(cannot)? != target {
        return Err(CHANGED.to_owned());
    }
    file.replace(&target).map_err(cannot)?;
    keep(folder);
    Ok(())
}

/// What is said of a file that somebody else has changed meanwhile.
pub(super) const CHANGED: &str = "it has changed since it was read";

/// Writes a new file, whole or not at all.
///
/// # Errors
/// Why there is none: something has that name already, or it cannot be written.
pub(super) fn create(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let cannot = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => "there is a file of that name already".to_owned(),
        _ => plainly(&error),
    };
    let mut file = Scratch::beside(path, None).map_err(cannot)?;
    file.write_all(bytes).map_err(cannot)?;
    file.file().sync_all().map_err(cannot)?;
    file.settle(path).map_err(cannot)?;
    keep(path.parent().unwrap_or(Path::new(".")));
    Ok(())
}

/// Makes the new name last through a loss of power. A file system that cannot do that has the whole text
/// under its name all the same.
pub(super) fn keep(folder: &Path) {
    #[cfg(unix)]
    {
        #[expect(clippy::disallowed_methods, reason = "the commands are where files are touched")]
        let opened = std::fs::File::open(folder);
        let _ = opened.and_then(|folder| folder.sync_all());
    }
    #[cfg(not(unix))]
    let _ = folder;
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "a test reads and writes the files it works on")]
mod tests {
    use std::path::{Path, PathBuf};

    use super::Bounds;

    fn replace(path: &Path, before: &str, after: &str) -> Result<(), String> {
        super::replace(path, before, after, &Bounds { folder: PathBuf::new(), named: false })
    }

    #[test]
    fn what_somebody_else_wrote_meanwhile_is_theirs() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.yaml");
        std::fs::write(&path, "theirs").unwrap();
        assert_eq!(replace(&path, "ours", "mended"), Err("it has changed since it was read".to_owned()));
        assert_eq!(std::fs::read(&path).unwrap(), b"theirs");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing lies about");
        assert_eq!(replace(&path, "theirs", "mended"), Ok(()));
        assert_eq!(std::fs::read(&path).unwrap(), b"mended");
        std::fs::remove_file(&path).unwrap();
        assert!(replace(&path, "mended", "again").is_err());
    }
}
