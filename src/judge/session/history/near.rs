//! The history by which one text is judged that stands among others: in a stream.

use std::collections::HashSet;
use std::sync::Arc;

use jiff::Timestamp;

use super::{Episode, History, Job, Kept, Key, Past, Vehicle, number_key};

impl Episode {
    /// The vehicles of its jobs, by each of their names.
    pub(in crate::session) fn vehicles(&self) -> HashSet<&Vehicle> {
        self.0.iter().flat_map(|job| &job.keys).map(|key| &key.vehicle).collect()
    }

    /// Its jobs for which one of these texts holds a job on the same vehicle that was opened later: the place of each among
    /// the documents of its text, with the number of the other.
    pub(in crate::session) fn opened_after(&self, others: &[&Episode]) -> Vec<(usize, String)> {
        let after = |job: &Job, other: &Job| {
            let later = |(one, other): (&Arc<Past>, &Arc<Past>)| other.order() > one.order();
            job.past.as_ref().zip(other.past.as_ref()).is_some_and(later)
                && other.keys.iter().any(|key| job.keys.contains(key))
        };
        let of = |job: &Job| {
            let mut others = others.iter().flat_map(|episode| &episode.0);
            let other = others.find(|other| after(job, other))?;
            Some((usize::try_from(job.home.place).ok()?, other.number.to_string()))
        };
        self.0.iter().filter_map(of).collect()
    }
}

/// What tells of a job which others are on its vehicle, and which of them come before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobKey<'e> {
    /// Its number, as it is written.
    pub number: &'e str,
    /// Its vehicle, by each name that it has: `vin …` and `plate …`, as they are compared. Jobs with a name in common are on
    /// one vehicle.
    pub vehicles: Vec<String>,
    /// The time at which it was opened; nothing where that cannot be read.
    pub opened: Option<Timestamp>,
    /// Its number as it is compared, by which jobs of one time are put in order.
    pub order: Box<str>,
}

impl Episode {
    /// What tells its jobs from others.
    pub fn keys(&self) -> impl Iterator<Item = JobKey<'_>> {
        self.0.iter().map(|job| {
            let mut vehicles: Vec<String> = Vec::new();
            for key in job.keys.iter().filter(|key| key.kind.is_none()) {
                vehicles.push(match &key.vehicle {
                    Vehicle::Vin(name) => format!("vin {name}"),
                    Vehicle::Plate(name) => format!("plate {name}"),
                });
            }
            JobKey {
                number: &job.number,
                vehicles,
                opened: job.past.as_ref().map(|past| past.opened),
                order: number_key(&job.number),
            }
        })
    }
}

impl History {
    /// The history by which the jobs of one text are judged: these texts that stand before it, its own, and what is known of
    /// its vehicles in this history.
    pub(in crate::session) fn with(&self, own: &Episode, before: &[&Episode], kept: Kept) -> History {
        let mut history = History::default();
        let numbers: HashSet<Box<str>> =
            own.0.iter().map(|job| number_key(&job.number)).filter(|number| !number.is_empty()).collect();
        let keys = || own.0.iter().flat_map(|job| &job.keys);
        let in_other_frame = |key: &Key| Some(Key { frame: Some(key.frame?.other()), ..key.clone() });
        let wanted: HashSet<Key> = keys().cloned().chain(keys().filter_map(in_other_frame)).collect();
        let wanted = if kept == Kept::NumbersAndVehicles { wanted } else { HashSet::new() };
        for job in before.iter().copied().chain([own]).flat_map(|episode| &episode.0) {
            let number = number_key(&job.number);
            if numbers.contains(&number) {
                history.count(number, job.home.clone());
            }
            for key in job.keys.iter().filter(|key| job.past.is_none() || wanted.contains(key)) {
                history.put(key.clone(), job.past.as_ref(), &job.home.name);
            }
        }
        for key in wanted {
            let undated = Key { frame: None, ..key.clone() };
            if let Some(name) = self.undated.get(&undated) {
                history.put(undated, None, name);
            }
            let Some(known) = self.by_vehicle.get(&key) else { continue };
            history.by_vehicle.entry(key).or_default().list.extend(known.list.iter().cloned());
        }
        history.in_order()
    }
}
