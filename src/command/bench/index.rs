//! What is known of the jobs of the folder, so that the list of ten thousand opens at once.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::bench::day::JobLine;
use crate::bench::notes::Verdict;
use crate::command::files::tidy;
use crate::command::names::named;
use crate::command::walk::Found;
use crate::command::watch::{Stamp, stamp};
use crate::document::{self, Document, Forms};
use crate::source::SourceId;
use crate::trade::Job;
use crate::trade::form::JOB;
use crate::trade::job::LISTED;

/// The name under which pages ask for a file: its path in the folder.
pub(super) fn name_in(folder: &Path, path: &Path) -> String {
    let (folder, path) = (tidy(folder), tidy(path));
    named(path.strip_prefix(&folder).unwrap_or(&path))
}

/// A file of the folder.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    /// The file.
    pub(super) path: PathBuf,
    /// How it was when it was looked at.
    pub(super) stamp: Option<Stamp>,
    /// Its job, if it holds one.
    pub(super) line: Option<JobLine>,
}

/// The files of the folder by the names under which pages ask for them.
#[derive(Debug, Default)]
pub(super) struct Index(BTreeMap<String, Kept>);

impl Index {
    /// The files of a walk; they are not looked into yet.
    pub(super) fn of(folder: &Path, files: &[Found]) -> Index {
        let kept = |file: &Found| {
            let kept = Kept { path: file.path.clone(), stamp: stamp(&file.path), line: None };
            (name_in(folder, &file.path), kept)
        };
        Index(files.iter().filter(|file| file.fault.is_none()).map(kept).collect())
    }

    /// The file of this name: names are looked up here and never made into paths.
    pub(super) fn get(&self, name: &str) -> Option<&Kept> {
        self.0.get(name)
    }

    pub(super) fn get_mut(&mut self, name: &str) -> Option<&mut Kept> {
        self.0.get_mut(name)
    }

    pub(super) fn all(&self) -> impl Iterator<Item = (&String, &Kept)> {
        self.0.iter()
    }

    pub(super) fn put(&mut self, name: String, kept: Kept) {
        self.0.insert(name, kept);
    }

    pub(super) fn remove(&mut self, name: &str) {
        self.0.remove(name);
    }
}

/// The line of a job in the list; nothing for a text that holds none.
pub(super) fn line(name: &str, text: &str, forms: &Forms, verdict: Option<Verdict>) -> Option<JobLine> {
    let documents = document::read_values(SourceId::FIRST, text, forms, &LISTED);
    let job: &Document<'_> = documents.iter().find(|document| document.form() == Some(JOB))?;
    let job = Job::of(job);
    let own = |field: crate::trade::Field<'_>| field.raw().unwrap_or_default().to_owned();
    let unit = [own(job.kind()), own(job.family())];
    Some(JobLine {
        name: name.to_owned(),
        number: own(job.number()),
        plate: own(job.plate()),
        unit: unit.iter().filter(|text| !text.is_empty()).cloned().collect::<Vec<_>>().join(", "),
        technician: own(job.technician()),
        state: own(job.stated_state()),
        verdict,
    })
}
