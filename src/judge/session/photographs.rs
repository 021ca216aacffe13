//! Photographs: whether the files that a job names are there, and are the ones that it means.

use super::Session;
use crate::code::PHOTOGRAPH;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{Document, Logs};
use crate::trade::Job;
use crate::trade::job::Photograph;

impl Session {
    /// What is said of the photographs of a job. Those of a job that lies in no folder are not looked at.
    pub(super) fn photographs(&self, name: &str, document: &Document<'_>) -> Vec<Diagnostic> {
        Job::of(document).photographs().filter_map(|one| said_of(&*self.logs, name, one)).collect()
    }
}

fn said_of(files: &dyn Logs, name: &str, photograph: Photograph<'_>) -> Option<Diagnostic> {
    let (path, digest) = (photograph.path(), photograph.digest());
    let found = match files.photograph(name, path.text()?)? {
        Ok(found) => found.to_string(),
        // It may be kept elsewhere.
        Err(fault) => return Some(Diagnostic { level: Level::Advice, ..fault.at(path.place()) }),
    };
    let stated = digest.text()?;
    (!found.eq_ignore_ascii_case(stated)).then(|| {
        let message = format!(
            "the photograph `{}` is not the one that was recorded: its SHA-256 is {found}",
            path.text().unwrap_or_default()
        );
        let help = "put the photograph back that was taken, or record this one as another entry";
        Diagnostic::error(PHOTOGRAPH, digest.place(), message).help(help)
    })
}
