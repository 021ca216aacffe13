//! Logbooks: what the jobs of one vehicle, tool, technician or lift are, in the order of time, as a document of a form of its
//! own, so that rules can judge several jobs at once. Made of a few facts of each job, and written as a text that people can
//! read; each value in it knows its place in the record that it was copied from.

mod entry;
mod sweep;
mod written;

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

pub use self::entry::Entry;
use self::entry::compared;
pub use self::written::{Back, Written};

use crate::letters::{Separators, folded};

/// Whose jobs a logbook lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum About {
    /// A vehicle.
    Vehicle,
    /// A tool of the register.
    Tool,
    /// Who answers for the work.
    Technician,
    /// A lift, or another place on which a vehicle stands.
    Lift,
}

impl About {
    /// All of them, in the order of their logbooks.
    pub const ALL: [About; 4] = [About::Vehicle, About::Tool, About::Technician, About::Lift];

    /// As a logbook writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            About::Vehicle => "vehicle",
            About::Tool => "tool",
            About::Technician => "technician",
            About::Lift => "lift",
        }
    }
}

/// How many bytes the facts of the jobs of a run may take. Those of 100,000 jobs take some 100 MiB.
pub const MOST_BYTES: u64 = 512 << 20;

/// How many records are named before they are only counted.
const MOST_LISTED: usize = 8;

/// Some records of a run: how many there are, and the first of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SomeRecords {
    /// How many there are.
    pub count: u64,
    /// The first of them.
    pub first: Vec<Arc<str>>,
}

impl SomeRecords {
    /// Takes in one more.
    pub fn add(&mut self, record: &Arc<str>) {
        self.count += 1;
        if self.first.len() < MOST_LISTED {
            self.first.push(Arc::clone(record));
        }
    }
}

/// The jobs of a run, out of which logbooks are made.
#[derive(Debug, Default)]
pub struct Logbooks {
    entries: Vec<Entry>,
    bytes: u64,
    /// Records of which something by which they belong to a logbook cannot be read.
    pub astray: SomeRecords,
    /// Records that name more than is kept, or stand beyond what all together may take.
    pub too_much: SomeRecords,
}

/// Somebody or something with jobs, of which there is a logbook.
#[derive(Clone, Debug)]
pub struct Subject {
    /// What it is.
    pub about: About,
    /// Its name, in the most frequent of its spellings.
    pub name: String,
    /// All names by which its jobs were found, as they are compared.
    pub names: BTreeSet<(About, String)>,
    /// The jobs, by their numbers among the entries, in the order of time.
    jobs: Vec<u32>,
}

impl Subject {
    /// What its logbook is called in reports.
    #[must_use]
    pub fn called(&self) -> String {
        format!("{LOGBOOK_OF}{} {}", self.about.word(), self.name)
    }

    /// Whether this is one of its names, however it is written.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        let name = match self.about {
            About::Vehicle => folded(name, Separators::None),
            About::Tool | About::Technician | About::Lift => compared(name),
        };
        self.names.contains(&(self.about, name))
    }

    /// How many jobs there are, in words.
    #[must_use]
    pub fn headline(&self) -> String {
        match self.jobs.len() {
            1 => "1 job".to_owned(),
            more => format!("{more} jobs"),
        }
    }
}

/// What the name of a logbook begins with.
pub const LOGBOOK_OF: &str = "logbook of ";

impl Logbooks {
    /// Takes in a job. Where that is not said elsewhere, one whose vehicle is not known is named.
    pub fn add(&mut self, entry: Entry, tells_vehicles: bool) {
        if entry.is_astray || (entry.lacks_vehicle && tells_vehicles) {
            self.astray.add(&entry.record);
        }
        self.bytes = self.bytes.saturating_add(entry.bytes());
        if entry.is_overfull || self.bytes > MOST_BYTES {
            return self.too_much.add(&entry.record);
        }
        self.entries.push(entry);
    }

    /// The same, complete: in the order of time, and of the copies of a job only one.
    #[must_use]
    pub fn in_order(mut self) -> Logbooks {
        self.entries.sort_by(by_time);
        // Of a job of the run and its copy beside the run, that of the run stays.
        self.entries.dedup_by(|later, first| {
            let is_copy = later.is_copy_of(first);
            if is_copy && later.is_of_run && !first.is_of_run {
                std::mem::swap(later, first);
            }
            is_copy
        });
        self.entries.shrink_to_fit();
        self
    }

    /// All who have a job in the run, in the order of their logbooks.
    #[must_use]
    pub fn subjects(&self) -> Vec<Subject> {
        let mut jobs: BTreeMap<(About, String), Vec<u32>> = BTreeMap::new();
        for ((vehicle, entry), number) in self.vehicles().into_iter().zip(&self.entries).zip(0..) {
            let own = vehicle.map(|vehicle| (About::Vehicle, vehicle));
            let others = entry.names().filter(|(about, _)| *about != About::Vehicle);
            for name in own.into_iter().chain(others).collect::<BTreeSet<_>>() {
                jobs.entry(name).or_default().push(number);
            }
        }
        let of_run = |jobs: &[u32]| self.entries_of(jobs).any(|(_, entry)| entry.is_of_run);
        let jobs = jobs.into_iter().filter(|(_, jobs)| of_run(jobs));
        jobs.map(|((about, key), jobs)| self.subject(about, key, jobs)).collect()
    }

    fn subject(&self, about: About, key: String, jobs: Vec<u32>) -> Subject {
        let mut spellings: BTreeMap<&str, (usize, std::cmp::Reverse<usize>)> = BTreeMap::new();
        let mut names = BTreeSet::new();
        for (place, (_, entry)) in self.entries_of(&jobs).enumerate() {
            let spelling = match about {
                About::Vehicle => entry.vehicle.as_ref().map(|said| &*said.text),
                About::Tool => entry.tools.iter().find(|tool| *tool.key == *key).map(|tool| &*tool.name),
                About::Technician | About::Lift => entry.named(about).map(|said| &*said.text),
            };
            let spelt = spellings.entry(spelling.unwrap_or_default());
            spelt.or_insert((0, std::cmp::Reverse(place))).0 += 1;
            if about == About::Vehicle {
                names.extend(entry.names().filter(|(about, _)| *about == About::Vehicle));
            }
        }
        let name = spellings
            .iter()
            .max_by_key(|(_, rank)| **rank)
            .map_or_else(String::new, |(name, _)| (*name).to_owned());
        names.insert((about, key));
        Subject { about, name, names, jobs }
    }

    fn entries_of<'l>(&'l self, jobs: &'l [u32]) -> impl Iterator<Item = (u32, &'l Entry)> {
        jobs.iter().filter_map(|number| Some((*number, self.entries.get(*number as usize)?)))
    }

    /// Of each job its vehicle: by its VIN or, where it states only a plate, by the VIN that a job before it under this plate
    /// states, else the first one behind it; by the plate where there is none.
    fn vehicles(&self) -> Vec<Option<String>> {
        let mut found: Vec<Option<String>> = vec![None; self.entries.len()];
        let mut under: HashMap<&str, String> = HashMap::new();
        let mut waiting: HashMap<&str, Vec<usize>> = HashMap::new();
        for (number, entry) in self.entries.iter().enumerate() {
            let [vin, plate] = entry.vehicle_names.each_ref().map(Option::as_deref);
            let key = match (vin, plate) {
                (Some(vin), _) => Some(format!("vin {vin}")),
                (None, Some(plate)) => under.get(plate).cloned(),
                (None, None) => None,
            };
            match (plate, &key) {
                (Some(plate), Some(key)) if vin.is_some() => {
                    for earlier in waiting.remove(plate).into_iter().flatten() {
                        if let Some(found) = found.get_mut(earlier) {
                            *found = Some(key.clone());
                        }
                    }
                    under.insert(plate, key.clone());
                }
                (Some(plate), None) => waiting.entry(plate).or_default().push(number),
                _ => {}
            }
            if let Some(found) = found.get_mut(number) {
                *found = key;
            }
        }
        for (plate, numbers) in waiting {
            for number in numbers {
                if let Some(found) = found.get_mut(number) {
                    *found = Some(format!("plate {plate}"));
                }
            }
        }
        found
    }

    /// The record of a job.
    #[must_use]
    pub fn record(&self, job: u32) -> Option<&Arc<str>> {
        self.entries.get(job as usize).map(|entry| &entry.record)
    }
}

/// By time, then by number; those of no time behind all others.
fn by_time(one: &Entry, other: &Entry) -> Ordering {
    let key = |entry: &Entry| (entry.opened.is_none(), entry.opened);
    let number = |entry: &Entry| entry.copy(entry::JOB).map(|said| compared(&said.text));
    let by_number = || number(one).cmp(&number(other));
    let by_record = || (&one.record, one.at).cmp(&(&other.record, other.at));
    key(one).cmp(&key(other)).then_with(by_number).then_with(by_record)
}
