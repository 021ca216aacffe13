//! The jobs of a vehicle in the order in which they were done.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::document::{Document, ReaderChoice};
use crate::source::SourceId;
use crate::time;
use crate::value::Moment;

/// Which jobs there are, by vehicle; of each only what is needed to find it again.
#[derive(Debug, Default)]
pub struct History {
    by_vin: HashMap<Box<str>, Vec<Past>>,
    by_plate: HashMap<Box<str>, Vec<Past>>,
    by_number: HashMap<Box<str>, Numbered>,
}

/// Where a record stands: the name of its text, and its number among the documents of that text.
pub(super) type Home = (Arc<str>, usize);

/// The records that have one job number: the first two, and how many there are.
#[derive(Debug)]
struct Numbered {
    first: Home,
    second: Option<Home>,
    count: usize,
}

/// A job of the past.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Past {
    opened: Timestamp,
    number: Box<str>,
    kind: Box<str>,
    /// The name of the text that holds it.
    pub(super) name: Arc<str>,
    /// Its number among the documents of that text.
    pub(super) place: usize,
}

/// What tells a job from others.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Identity<'t> {
    pub(super) vin: &'t str,
    pub(super) plate: &'t str,
    opened: &'t str,
    pub(super) number: &'t str,
    kind: &'t str,
}

impl<'t> Identity<'t> {
    /// That of a document.
    pub(super) fn of(document: &'t Document<'_>) -> Self {
        let raw = |path: &str| document.find(path).and_then(|node| document.raw(node)).map_or("", str::trim);
        Identity {
            vin: raw("vehicle.vin"),
            plate: raw("vehicle.plate"),
            opened: raw("job.opened"),
            number: raw("job.number"),
            kind: raw("unit.kind"),
        }
    }

    /// The instant at which the job was opened.
    fn instant(&self, zone: &TimeZone) -> Option<Timestamp> {
        match time::moment(self.opened).ok()? {
            Moment::Exact(instant) => Some(instant),
            Moment::Civil(civil) => zone.to_timestamp(civil).ok(),
        }
    }
}

/// The jobs in one text.
#[derive(Debug, Default)]
pub struct Episode(Vec<Job>);

/// A job with the names of its vehicle, and when it was opened as far as that can be read.
#[derive(Debug)]
struct Job {
    vin: Box<str>,
    plate: Box<str>,
    number: Box<str>,
    kind: Box<str>,
    home: Home,
    opened: Option<Timestamp>,
}

impl Episode {
    /// The jobs in a text; one of another form has none.
    #[must_use]
    pub fn read(name: &str, text: &str, reader: ReaderChoice, zone: &TimeZone) -> Episode {
        let name: Arc<str> = name.into();
        if let Some(identity) = glance(text) {
            return Episode(vec![Job::new(&identity, (name, 0), zone)]);
        }
        let (documents, _) = reader.read(SourceId::FIRST, text, 0);
        let jobs = documents.iter().enumerate().filter(|(_, document)| {
            let form = document.find("form").and_then(|node| document.raw(node)).unwrap_or_default();
            form.trim_start().starts_with("job/")
        });
        let read = |(place, document)| Job::new(&Identity::of(document), (Arc::clone(&name), place), zone);
        Episode(jobs.map(read).collect())
    }
}

impl Job {
    fn new(identity: &Identity<'_>, home: Home, zone: &TimeZone) -> Job {
        Job {
            vin: identity.vin.into(),
            plate: identity.plate.into(),
            number: identity.number.into(),
            kind: identity.kind.into(),
            home,
            opened: identity.instant(zone),
        }
    }
}

impl FromIterator<Episode> for History {
    fn from_iter<T: IntoIterator<Item = Episode>>(episodes: T) -> History {
        let mut history = History::default();
        for job in episodes.into_iter().flat_map(|episode| episode.0) {
            let Job { vin, plate, number, kind, home, opened } = job;
            if !number.is_empty() {
                history.count(&number, &home);
            }
            let Some(opened) = opened else { continue };
            let (name, place) = home;
            let past = Past { opened, number, kind, name, place };
            if !vin.is_empty() {
                history.by_vin.entry(vin).or_default().push(past.clone());
            }
            if !plate.is_empty() {
                history.by_plate.entry(plate).or_default().push(past);
            }
        }
        for jobs in history.by_vin.values_mut().chain(history.by_plate.values_mut()) {
            jobs.sort();
        }
        history
    }
}

impl History {
    fn count(&mut self, number: &str, home: &Home) {
        match self.by_number.get_mut(number) {
            Some(known) => {
                known.second.get_or_insert_with(|| home.clone());
                known.count += 1;
            }
            None => {
                let alone = Numbered { first: home.clone(), second: None, count: 1 };
                self.by_number.insert(number.into(), alone);
            }
        }
    }

    /// Another record with the job number of the one that stands in this text at this place, and how many
    /// have the number in all.
    pub(super) fn same_number(&self, number: &str, name: &str, place: usize) -> Option<(&Home, usize)> {
        let Numbered { first, second, count } = self.by_number.get(number)?;
        let second = second.as_ref()?;
        let is_this = |home: &Home| *home.0 == *name && home.1 == place;
        match (is_this(first), is_this(second)) {
            (true, _) => Some((second, *count)),
            (_, true) => Some((first, *count)),
            // A text of another name, such as standard input, can be one of two that are known.
            _ => (*count > 2).then_some((first, *count)),
        }
    }

    /// The last job on the vehicle before this one, and the last one on the same kind of unit.
    pub(super) fn before(&self, identity: &Identity<'_>, zone: &TimeZone) -> (Option<&Past>, Option<&Past>) {
        let Some(opened) = identity.instant(zone) else { return (None, None) };
        let jobs = [(&self.by_vin, identity.vin), (&self.by_plate, identity.plate)];
        for (index, key) in jobs {
            let jobs = index.get(key).map_or(&[][..], Vec::as_slice);
            let earlier =
                jobs.partition_point(|past| (past.opened, &*past.number) < (opened, identity.number));
            let earlier = jobs.get(..earlier).unwrap_or_default();
            // A copy of the same job is no earlier job.
            let other = |past: &&Past| *past.number != *identity.number;
            let last = earlier.iter().rev().find(other);
            if last.is_some() {
                let same_unit = |past: &&Past| other(past) && *past.kind == *identity.kind;
                return (last, earlier.iter().rev().find(same_unit));
            }
        }
        (None, None)
    }
}

/// The identity of a job whose text is written in the usual way, without reading all of it: a
/// folder of a hundred thousand jobs is looked through to find the few on one vehicle. `None` where
/// anything is unusual; such a text is read in full.
fn glance(text: &str) -> Option<Identity<'_>> {
    if text.contains("\n---") || text.contains(['\\', '\t', '\r']) {
        return None;
    }
    let form = group(text, "form")?.trim();
    let job = group(text, "job")?;
    let vehicle = group(text, "vehicle")?;
    let unit = group(text, "unit")?;
    form.starts_with("job/").then_some(())?;
    Some(Identity {
        vin: value(vehicle, "vin")?,
        plate: value(vehicle, "plate")?,
        opened: value(job, "opened")?,
        number: value(job, "number")?,
        kind: value(unit, "kind")?,
    })
}

/// What stands under a field at the top of a text, if it stands there once and without quotes.
fn group<'t>(text: &'t str, name: &str) -> Option<&'t str> {
    let begins = |at: usize| {
        let rest = text.get(at..)?.strip_prefix(name)?;
        rest.starts_with(':').then_some(at + name.len() + 1)
    };
    let mut starts = text.match_indices('\n').map(|(at, _)| at + 1).chain([0]).filter_map(begins);
    let (start, second) = (starts.next()?, starts.next());
    if second.is_some() {
        return None;
    }
    let rest = text.get(start..)?;
    // The group goes on while lines are indented, empty or comments.
    let end = rest
        .match_indices('\n')
        .map(|(at, _)| at + 1)
        .find(|at| rest.get(*at..).is_some_and(|line| !line.starts_with([' ', '\n', '#'])));
    rest.get(..end.unwrap_or(rest.len()))
}

/// The plain value of a field within a group; an empty text where the group surely does not have it.
fn value<'t>(group: &'t str, name: &str) -> Option<&'t str> {
    let mut found = group.match_indices(name).filter(|(at, _)| {
        let before = group.get(..*at).unwrap_or_default();
        let after = group.get(at + name.len()..).unwrap_or_default();
        let word = |c: char| c.is_alphanumeric() || c == '_';
        !before.ends_with(word) && !after.starts_with(word)
    });
    let Some((at, _)) = found.next() else { return Some("") };
    if found.next().is_some() {
        return None;
    }
    let before = group.get(..at)?.trim_end_matches(' ');
    let rest = group.get(at + name.len()..)?.strip_prefix(": ")?.trim_start_matches(' ');
    before.ends_with(['\n', '{', ',']).then_some(())?;
    if let Some(quoted) = rest.strip_prefix('"') {
        return quoted.split_once('"').map(|(value, _)| value);
    }
    let end = rest.find(['\n', ',', '}']).unwrap_or(rest.len());
    let line = rest.get(..end)?;
    let plain = line.split_once(" #").map_or(line, |(value, _)| value).trim();
    (!plain.starts_with(['\'', '&', '*', '!', '|', '>', '{', '[', '%', '@', '`', '#'])).then_some(plain)
}
