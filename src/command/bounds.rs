//! Where the files may be that settings and rule files name.
//!
//! Settings that are found beside the documents come from whoever wrote those, and that may be a stranger: they lead to
//! nothing outside their folder. Settings that the user names may; but also there no link is followed, because the path
//! can lead through a folder that is somebody else's.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use super::Failure;
use super::files::{Links, handed_over, is_special, is_special_file, read_unlinked, tidy};
use super::output::complain;
use super::scratch::folder_of;
use super::walk::Found;
use crate::code::{LINK_NOT_FOLLOWED, OUTSIDE_WORKSHOP};
use crate::diagnostic::Fault;

/// The folder of settings, and whether the user named them.
#[derive(Clone, Debug)]
pub(super) struct Bounds {
    pub(super) folder: PathBuf,
    pub(super) named: bool,
}

impl Bounds {
    /// The path from the working folder to what settings name, if it may be read. That nothing is there is said by
    /// whoever reads it.
    ///
    /// # Errors
    /// It leads outside, through a link, or to something that is neither a file nor a folder.
    pub(super) fn path(&self, named: &str) -> Result<PathBuf, Fault> {
        let target = tidy(&self.folder.join(named));
        self.allow(&target, &target.display().to_string())?;
        if is_special(&target) {
            return Err(is_special_file(&target));
        }
        unlinked(&self.folder, &target)?;
        Ok(target)
    }

    /// Whether a path that is shown under this name may be read.
    ///
    /// # Errors
    /// It leads outside, and only settings that the user named may do that.
    pub(super) fn allow(&self, target: &Path, shown: &str) -> Result<(), Fault> {
        if self.named || self.holds(target) {
            return Ok(());
        }
        let message = format!("`{shown}` is outside the folder of the settings, and is not read");
        Err(Fault::new(OUTSIDE_WORKSHOP, message).help(
            "keep what belongs to the workshop in its folder; settings that you trust may lead outside, if you name them with --settings",
        ))
    }

    /// Whether a link is followed where a file of the run is one: in a run with settings that the user names, the files
    /// may be a stranger's.
    pub(super) fn links(&self, file: &Found) -> Links {
        if file.named { self.links_of_named() } else { Links::Refused }
    }

    /// The same of a file that the command line names.
    pub(super) fn links_of_named(&self) -> Links {
        if self.named { Links::Refused } else { Links::Followed }
    }

    /// Refuses paths of the command line that go through a link below the working folder, as far as those are the ones in
    /// which the files of a stranger are: in a run with settings that the user names. A file that is itself a link is
    /// refused when it is read. In other runs links are followed, and that is said.
    ///
    /// # Errors
    /// What is said of the link.
    pub(super) fn allow_ways<'p>(&self, paths: impl IntoIterator<Item = &'p Path>) -> Result<(), Failure> {
        let here = Path::new("");
        if !self.named {
            say_followed(paths);
            return Ok(());
        }
        for path in paths {
            let way = if path.is_dir() { path } else { folder_of(path) };
            if absolute(way).starts_with(absolute(here)) {
                unlinked(here, way).map_err(|fault| Failure(fault.message))?;
            }
        }
        Ok(())
    }

    /// Whether a link on the way to a file leads out of the working folder and of that of the settings.
    pub(super) fn is_led_out(&self, path: &Path, real: &Path) -> bool {
        let folders = [Path::new("."), &self.folder];
        let is_in = |folder: &Path| absolute(folder).canonicalize().is_ok_and(|home| real.starts_with(home));
        link_on_the_way(Path::new(""), path).is_some() && !folders.into_iter().any(is_in)
    }

    /// Whether a path is, by its name, in the folder of the settings.
    pub(super) fn holds(&self, path: &Path) -> bool {
        absolute(path).starts_with(absolute(&self.folder))
    }
}

/// The folders that a run judges, where the settings that the user names are elsewhere: a file in them is a changed copy
/// of the one at the same place beside the settings.
#[derive(Clone, Debug, Default)]
pub(super) struct Copies {
    settings: PathBuf,
    judged: Vec<PathBuf>,
}

impl Copies {
    /// Those of a run over these paths.
    pub(super) fn of(bounds: &Bounds, paths: &[PathBuf]) -> Copies {
        let judged = paths.iter().filter(|path| bounds.named && path.is_dir() && !bounds.holds(path));
        Copies { settings: absolute(&bounds.folder), judged: judged.map(|path| absolute(path)).collect() }
    }

    /// Where a file that is judged would be beside the settings.
    pub(super) fn original(&self, path: &Path) -> Option<PathBuf> {
        let whole = absolute(path);
        if whole.starts_with(&self.settings) {
            return None;
        }
        let below = self.judged.iter().find_map(|folder| whole.strip_prefix(folder).ok())?;
        Some(self.settings.join(below))
    }

    /// Whether a file is the same beside the settings.
    pub(super) fn is_unchanged(&self, path: &Path, text: &str) -> bool {
        self.original(path).is_some_and(|original| read_unlinked(&original).is_ok_and(|there| there == text))
    }

    /// Whether a file is in a folder that is judged, and not beside the settings.
    pub(super) fn hold(&self, path: &Path) -> bool {
        self.original(path).is_some()
    }
}

/// Refuses a file that a rule file of nobody's settings uses, unless it is in the folder of that file or in the working
/// folder.
///
/// # Errors
/// It is in neither.
pub(super) fn near_enough(folder: &Path, target: &Path, shown: &str) -> Result<(), Fault> {
    let whole = absolute(target);
    if whole.starts_with(absolute(folder)) || whole.starts_with(absolute(Path::new(""))) {
        return Ok(());
    }
    let message =
        format!("`{shown}` is outside the folder of this file and the working folder, and is not read");
    Err(Fault::new(OUTSIDE_WORKSHOP, message)
        .help("start the program in a folder that has both, or name settings with --settings that lead to this file"))
}

/// Refuses a path that goes through a link on the way from a folder.
///
/// # Errors
/// A part of it is a link.
pub(super) fn unlinked(folder: &Path, target: &Path) -> Result<(), Fault> {
    link_on_the_way(folder, target).map_or(Ok(()), |link| Err(is_link(&nearer(&link))))
}

/// The first part of a path that is a link, on the way from a folder. The parts are gone through as the system does: behind a
/// link, `..` leads elsewhere than its name says.
fn link_on_the_way(folder: &Path, target: &Path) -> Option<PathBuf> {
    let target = if target.as_os_str().is_empty() { Path::new(".") } else { target };
    let home = absolute(folder);
    let whole = std::path::absolute(target).unwrap_or_else(|_| target.to_owned());
    let shared = home.components().zip(whole.components()).take_while(|(left, right)| left == right).count();
    let mut way: PathBuf = whole.components().take(shared).collect();
    for part in whole.components().skip(shared) {
        match part {
            Component::ParentDir => {
                way.pop();
            }
            part => way.push(part),
        }
        if std::fs::symlink_metadata(&way).is_ok_and(|found| found.is_symlink()) {
            return Some(way);
        }
    }
    None
}

/// How many links are named before they are only counted.
const MOST_NAMED: usize = 8;

/// Says which of the paths that the user names are links, or lead through one.
fn say_followed<'p>(paths: impl IntoIterator<Item = &'p Path>) {
    let by_name = paths.into_iter().filter(|path| !handed_over(path));
    let links: BTreeSet<PathBuf> = by_name.filter_map(|path| link_on_the_way(Path::new(""), path)).collect();
    for link in links.iter().take(MOST_NAMED) {
        let to = link
            .canonicalize()
            .map_or_else(|_| "nothing".to_owned(), |real| format!("`{}`", nearer(&real).display()));
        complain(&format!(
            "`{}` is a link, which is followed because the command line names it: it leads to {to}",
            nearer(link).display()
        ));
    }
    if let Some(more @ 1..) = links.len().checked_sub(MOST_NAMED) {
        complain(&format!("{more} more links are followed because the command line names them"));
    }
}

/// What is said of a link.
pub(super) fn is_link(path: &Path) -> Fault {
    Fault::new(LINK_NOT_FOLLOWED, format!("`{}` is a link, and links are not followed here", path.display()))
        .help("put the file or folder itself there, or name the path that the link leads to")
}

/// A path from the root of the file system, whose links are left as they are.
pub(super) fn absolute(path: &Path) -> PathBuf {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    std::path::absolute(path).map_or_else(|_| tidy(path), |whole| tidy(&whole))
}

/// The path from the working folder, where it is in it.
pub(super) fn nearer(path: &Path) -> PathBuf {
    let here = std::env::current_dir().ok();
    here.and_then(|here| path.strip_prefix(here).ok().map(Path::to_owned)).unwrap_or_else(|| path.to_owned())
}
