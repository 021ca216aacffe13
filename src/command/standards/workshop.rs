//! Which settings hold for a run, and what leads out of their folder.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::super::bounds::nearer;
use super::super::files;
use super::super::likeness::form_of;
use super::super::{Failure, RuleOptions};
use crate::code::OUTSIDE_WORKSHOP;
use crate::diagnostic::Diagnostic;
use crate::source::Place;
use crate::trade::form::SETTINGS;

/// The name of the file of settings.
pub(in super::super) const SETTINGS_FILE: &str = "workshop.yaml";

impl RuleOptions {
    pub(in super::super) fn settings_path(&self, near: Option<&Path>) -> Option<PathBuf> {
        if self.run.workshop.without_settings {
            return None;
        }
        self.run.workshop.settings.clone().or_else(|| settings_for(near.unwrap_or(Path::new("."))))
    }

    /// Refuses settings that are beside the path of a run, or above it, and would not be found by their name: without them
    /// the figures of the workshop would be missing, and nobody would say so.
    pub(super) fn no_misnamed_settings(&self, near: Option<&Path>) -> Result<(), Failure> {
        if self.run.workshop.without_settings || self.run.workshop.settings.is_some() {
            return Ok(());
        }
        let Ok(start) = std::path::absolute(near.unwrap_or(Path::new("."))) else { return Ok(()) };
        let start = files::tidy(&start);
        let without = start.ancestors().take_while(|folder| !is_there(&folder.join(SETTINGS_FILE)));
        let mut misnamed = without.flat_map(|folder| MISNAMED.map(|name| folder.join(name)));
        let is_settings = |path: &PathBuf| {
            let read = is_there(path).then(|| files::read_unlinked(path));
            read.is_some_and(|read| read.is_ok_and(|text| form_of(&text) == Some(SETTINGS)))
        };
        match misnamed.find(is_settings) {
            None => Ok(()),
            Some(path) => Err(Failure(format!(
                "`{}` holds settings, and they are looked for in `{SETTINGS_FILE}`: rename it, name it with --settings, or give --without-settings",
                nearer(&path).display()
            ))),
        }
    }

    /// Refuses files that lie under other settings than those of the run: judged by those, they
    /// would be judged by another workshop's figures.
    pub(in super::super) fn one_workshop<'p>(
        &self,
        files: impl Iterator<Item = &'p Path>,
        used: Option<&Path>,
    ) -> Result<(), Failure> {
        if self.run.workshop.without_settings || self.run.workshop.settings.is_some() {
            return Ok(());
        }
        let folders: BTreeSet<&Path> = files.filter_map(Path::parent).collect();
        for folder in folders {
            let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
            let own = settings_for(folder);
            if let Some(own) = own.filter(|own| Some(own.as_path()) != used) {
                let used =
                    used.map_or_else(|| "no settings".to_owned(), |used| format!("`{}`", used.display()));
                return Err(Failure(format!(
                    "`{}` has settings of its own, `{}`, and this run has {used}; inspect each workshop by itself, \
                     or name the settings with --settings",
                    folder.display(),
                    own.display()
                )));
            }
        }
        Ok(())
    }
}

/// Whether a path leads into a folder, by whatever links and names; nothing where it leads nowhere.
pub(super) fn leads(folder: &Path, path: &Path) -> Option<bool> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    Some(std::fs::canonicalize(path).ok()?.starts_with(std::fs::canonicalize(folder).ok()?))
}

/// Says that a path leads out of the folder of the settings. That nothing is there is said elsewhere.
pub(super) fn outside(folder: &Path, path: &Path, place: Place) -> Option<Diagnostic> {
    let leaves = leads(folder, path) == Some(false);
    let message = format!("`{}` is outside the folder of the settings", files::tidy(path).display());
    let help = "it is read all the same; keep what belongs to the workshop in its folder";
    leaves.then(|| Diagnostic::advice(OUTSIDE_WORKSHOP, place, message).help(help))
}

/// Names that people give to the file of settings by mistake.
const MISNAMED: [&str; 6] =
    ["workshop.yml", "Workshop.yaml", "Workshop.yml", "WORKSHOP.YAML", "WORKSHOP.YML", "workshop.json"];

/// The settings that hold for a path: the nearest file of settings in its folder or above it.
fn settings_for(path: &Path) -> Option<PathBuf> {
    let start = files::tidy(&std::path::absolute(path).ok()?);
    let found = start.ancestors().map(|folder| folder.join(SETTINGS_FILE)).find(|path| is_there(path))?;
    Some(nearer(&found))
}

/// Whether there is anything of this name: a link that leads nowhere does not give way to the settings above it.
fn is_there(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok()
}
