//! The catalogue as it is on disk: good jobs, faults, and what is around the jobs.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use serde_yaml::Value;
use witnessmark::language::ast::Severity;

use super::tree::{Change, resolve, shown};

/// What must be around a job before a fault of it can be seen. Each holds more than the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Surroundings {
    Alone,
    Workshop,
    Procedure,
}

pub const SURROUNDINGS: [Surroundings; 3] =
    [Surroundings::Alone, Surroundings::Workshop, Surroundings::Procedure];

impl Surroundings {
    pub fn title(self) -> &'static str {
        match self {
            Surroundings::Alone => "alone",
            Surroundings::Workshop => "register and settings",
            Surroundings::Procedure => "procedure too",
        }
    }
}

/// A good job.
#[derive(Clone)]
pub struct Job {
    /// The name of its file, without the ending.
    pub name: String,
    pub kind: String,
    pub family: String,
    /// As it was written.
    pub text: String,
    pub record: Value,
}

impl Job {
    fn read(path: &Path) -> Job {
        let text = std::fs::read_to_string(path).unwrap();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let record: Value = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        let unit = |field: &str| record["unit"][field].as_str().unwrap_or_default().to_owned();
        Job { name, kind: unit("kind"), family: unit("family"), text, record }
    }

    /// Whether it names a procedure, without which there is no third way to judge it.
    pub fn names_a_procedure(&self) -> bool {
        self.record["job"].get("procedure").is_some()
    }

    /// The record as it is judged in these surroundings: a procedure is named only where there are procedures.
    pub fn in_surroundings(&self, surroundings: Surroundings) -> Value {
        let mut record = self.record.clone();
        if surroundings != Surroundings::Procedure {
            let job = record.get_mut("job").and_then(Value::as_mapping_mut);
            job.and_then(|job| job.shift_remove("procedure"));
        }
        record
    }

    /// The surroundings in which it is judged.
    pub fn surroundings(&self) -> impl Iterator<Item = Surroundings> {
        let procedure = self.names_a_procedure();
        SURROUNDINGS.into_iter().filter(move |one| *one != Surroundings::Procedure || procedure)
    }
}

/// One change that makes a good job a bad one.
#[derive(Clone, Debug)]
pub struct Fault {
    pub job: String,
    pub change: Change,
    /// How severe it is, as the trade would say.
    pub due: Severity,
    /// What it is about, a word of `subjects.yaml`.
    pub subject: String,
    /// Where it must be pointed at: one of these paths, as reports write them.
    pub at: Vec<String>,
    /// The least surroundings in which it can be seen.
    pub from: Surroundings,
    pub why: String,
    pub by_hand: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FaultFile {
    job: String,
    faults: Vec<WrittenFault>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Due {
    Hold,
    Advice,
    Note,
}

/// What must be around: the figures of the maker, the register of tools, the earlier jobs, the procedure.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Needs {
    Settings,
    Register,
    History,
    Procedure,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

/// A fault as the catalogue states it; of the changes just one.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenFault {
    set: Option<String>,
    remove: Option<String>,
    insert: Option<String>,
    swap: Option<(String, String)>,
    #[serde(rename = "move")]
    moved: Option<String>,
    shift: Option<String>,
    /// What is set or inserted; where an entry is moved to, from 0; by how many minutes a time is shifted.
    to: Option<Value>,
    due: Due,
    subject: String,
    at: Option<OneOrMore>,
    needs: Option<Needs>,
    why: String,
}

impl WrittenFault {
    fn change(&self) -> Result<Change, String> {
        let value = || self.to.clone().unwrap_or(Value::Null);
        let whole = || value().as_i64().ok_or("`to` is no whole number".to_owned());
        let mut all = Vec::new();
        all.extend(self.set.clone().map(|path| Ok(Change::Set(path, value()))));
        all.extend(self.remove.clone().map(|path| Ok(Change::Remove(path))));
        all.extend(self.insert.clone().map(|path| Ok(Change::Insert(path, value()))));
        all.extend(self.swap.clone().map(|(one, other)| Ok(Change::Swap(one, other))));
        let place = |to: i64| usize::try_from(to).map_err(|_| format!("{to} is no place in a list"));
        all.extend(self.moved.clone().map(|path| whole().and_then(place).map(|to| Change::Move(path, to))));
        all.extend(self.shift.clone().map(|path| whole().map(|minutes| Change::Shift(path, minutes))));
        if all.len() == 1 { all.remove(0) } else { Err(format!("{} changes, not one", all.len())) }
    }
}

/// A folder with good jobs and their faults.
pub struct Catalogue {
    pub jobs: Vec<Job>,
    pub faults: Vec<Fault>,
}

/// The files with this ending in a folder, in their order; none where there is no such folder.
pub fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    files.sort();
    files
}

impl Catalogue {
    /// Reads a folder. Everything that is wrong with its faults is said at once.
    pub fn read(folder: &Path) -> Catalogue {
        let jobs: Vec<Job> = files(&folder.join("jobs")).iter().map(|path| Job::read(path)).collect();
        let (mut faults, mut wrong) = (Vec::new(), Vec::new());
        for path in files(&folder.join("faults")) {
            let text = std::fs::read_to_string(&path).unwrap();
            for part in serde_yaml::Deserializer::from_str(&text) {
                let file = FaultFile::deserialize(part).unwrap_or_else(|error| panic!("{path:?}: {error}"));
                let job = jobs.iter().find(|job| job.name == file.job);
                let job = job.unwrap_or_else(|| panic!("{path:?}: there is no job {}", file.job));
                for written in file.faults {
                    let why = written.why.clone();
                    match fault_of(job, written) {
                        Ok(fault) => faults.push(fault),
                        Err(error) => wrong.push(format!("{}: {error} ({why})", job.name)),
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
        Catalogue { jobs, faults }
    }
}

fn fault_of(job: &Job, written: WrittenFault) -> Result<Fault, String> {
    let change = written.change()?;
    let bad = change.apply(&job.record)?;
    let stated = match &written.at {
        None => Vec::new(),
        Some(OneOrMore::One(path)) => vec![path.clone()],
        Some(OneOrMore::More(paths)) => paths.clone(),
    };
    let place = |path: &String| {
        let keys = resolve(&bad, path).or_else(|_| resolve(&job.record, path));
        keys.map(|keys| shown(&keys))
    };
    let at = match stated.as_slice() {
        [] => change.places(&job.record)?,
        stated => stated.iter().map(place).collect::<Result<_, _>>()?,
    };
    let due = match written.due {
        Due::Hold => Severity::Hold,
        Due::Advice => Severity::Advice,
        Due::Note => Severity::Note,
    };
    let from = match written.needs {
        None => Surroundings::Alone,
        Some(Needs::Settings | Needs::Register | Needs::History) => Surroundings::Workshop,
        Some(Needs::Procedure) => Surroundings::Procedure,
    };
    let WrittenFault { subject, why, .. } = written;
    Ok(Fault { job: job.name.clone(), change, due, subject, at, from, why, by_hand: true })
}
