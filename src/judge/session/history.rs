//! The jobs of a vehicle in the order in which they were done.

pub(super) mod near;

use std::collections::HashMap;
use std::sync::Arc;

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::diagnostic::nearest;
use crate::document::{self, Document, Earlier, Forms, NodeId, NodeKind, Record, Shape, Target};
use crate::letters::{Separators, folded};
use crate::source::{SourceId, Span};
use crate::time::Frame;
use crate::trade::form::JOB;
use crate::trade::job as record;
use crate::value::Moment;

/// Further apart than this, two times are in the same order whatever their offsets are.
const FURTHEST_OFFSET: SignedDuration = SignedDuration::from_hours(24);

/// Which jobs there are, by vehicle; of each only what is needed to find it again.
#[derive(Debug, Default)]
pub struct History {
    by_vehicle: HashMap<Key, Jobs>,
    /// The names of the texts with jobs of which it cannot be read when they were opened.
    undated: HashMap<Key, Arc<str>>,
    by_number: HashMap<Box<str>, Numbered>,
}

/// What jobs have in common that are put in order.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    vehicle: Vehicle,
    /// The kind of unit that was worked on; none for jobs on any.
    kind: Option<Box<str>>,
    /// Where no time zone is set, times with and without an offset cannot be put in one order.
    frame: Option<Frame>,
}

/// A name of a vehicle, folded: people write it with or without blanks and hyphens, in small letters or capitals.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Vehicle {
    Vin(Box<str>),
    Plate(Box<str>),
}

/// Where a record is: the name of its text, its number among the documents of that text, and the place of the
/// job number in it.
#[derive(Clone, Debug)]
pub(super) struct Home {
    pub(super) name: Arc<str>,
    place: u32,
    pub(super) number_at: Span,
    /// Whether its text holds other documents too.
    pub(super) has_neighbours: bool,
}

/// The records that have one job number: the first two, and how many there are.
#[derive(Debug)]
struct Numbered {
    first: Home,
    // Few numbers have a second record, and there can be very many numbers.
    second: Option<Box<Home>>,
    count: u32,
}

/// A job of the past.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Past {
    opened: Timestamp,
    /// What its number is told from others by, so that the copies of a job are beside each other.
    key: Box<str>,
    number: Box<str>,
    /// The name of the text that holds it.
    pub(super) name: Arc<str>,
    /// The part of that text in which it begins, which ends where the next document does.
    pub(super) extent: Span,
    /// Whether that text holds other documents too.
    pub(super) has_neighbours: bool,
    /// For each of the links to earlier jobs whether it states what is asked for there.
    states: Box<[bool]>,
}

/// The jobs with one key, in their order.
#[derive(Debug, Default)]
struct Jobs {
    list: Vec<Arc<Past>>,
    /// Of a long list, for each of the links, job by job, how many jobs there are up to the last one that states what is asked
    /// for. Most vehicles have few jobs, which are looked through.
    stating: Vec<Vec<u32>>,
}

/// So many jobs of one vehicle are looked through.
const FEW: usize = 16;

/// The last job before another one of those that state something: its records, of which all but one are copies.
pub(super) type Before<'h> = Option<&'h [Arc<Past>]>;

/// Why it cannot be told which job was the last one.
#[derive(Debug)]
pub(super) enum NoOrder {
    /// It depends on the time zone, and none is set.
    WithoutZone,
    /// Two were opened at the same time: their numbers.
    SameTime(Box<str>, Box<str>),
    /// Of one in the text of this name it cannot be read when it was opened.
    Undated(Arc<str>),
}

/// The earlier jobs that the links of the forms lead to, each once: what is asked of a job that is put into a history.
pub(super) fn asked(forms: &Forms) -> Vec<Arc<Earlier>> {
    let links = forms.get(JOB).into_iter().flat_map(|form| form.record().links.iter());
    let mut asked: Vec<Arc<Earlier>> = Vec::new();
    for link in links {
        if let Target::Earlier(earlier) = &link.to
            && !asked.contains(earlier)
        {
            asked.push(Arc::clone(earlier));
        }
    }
    asked
}

/// Whether a job states one of these, or nothing is asked. A value that cannot be read is not stated.
fn states(document: &Document<'_>, record: &Record, stating: &[Arc<str>]) -> bool {
    let stated = |path: &str| {
        let shape = record.shape_at(path)?;
        let node = path.split('.').try_fold(document.root(), |at, name| document.get(at, name))?;
        Some(match shape {
            Shape::Record(_) => !document.entries(node).is_empty(),
            // A list without entries says that there were none.
            Shape::List(_) => matches!(document.node(node).kind, NodeKind::List(_)),
            _ => document.value(node).is_some(),
        })
    };
    let has_entry = |path: &str| {
        let node = path.split('.').try_fold(document.root(), |at, name| document.get(at, name))?;
        Some(document.items(node).iter().any(|item| !document.is_empty(*item)))
    };
    let is_stated = |path: &Arc<str>| match path.strip_suffix(Earlier::ENTRY) {
        Some(list) => has_entry(list),
        None => stated(path),
    };
    stating.is_empty() || stating.iter().any(|path| is_stated(path) == Some(true))
}

/// What tells a job from others.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Identity<'t> {
    vin: Option<&'t str>,
    plate: Option<&'t str>,
    opened: Option<&'t Moment>,
    pub(super) number: Option<&'t str>,
    kind: Option<&'t str>,
}

impl<'t> Identity<'t> {
    /// That of a document.
    pub(super) fn of(document: &'t Document<'_>) -> Self {
        let job = record::Job::of(document);
        Identity {
            vin: job.vin().text(),
            plate: job.plate().text(),
            opened: job.opened().moment(),
            number: job.number().text(),
            kind: job.kind().text(),
        }
    }

    /// The instant at which the job was opened, and its frame where no zone is set.
    fn opened(&self, zone: &TimeZone) -> Option<(Timestamp, Option<Frame>)> {
        let moment = self.opened?;
        let instant = match moment {
            Moment::Exact(instant, _) => *instant,
            Moment::Civil(civil) => zone.to_timestamp(*civil).ok()?,
        };
        Some((instant, zone.is_unknown().then(|| Frame::of(moment))))
    }

    pub(super) fn vehicles(&self) -> impl Iterator<Item = Vehicle> {
        let named = |name: Option<&str>| {
            let name = folded(name?, Separators::None);
            Some(name).filter(|name| !name.is_empty()).map(String::into_boxed_str)
        };
        let vin = named(self.vin).map(Vehicle::Vin);
        vin.into_iter().chain(named(self.plate).map(Vehicle::Plate))
    }
}

/// What the number of a job is told from others by.
pub(super) fn number_key(number: &str) -> Box<str> {
    folded(number, Separators::BetweenDigits).into_boxed_str()
}

/// Why a job is in the history of no vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unplaced {
    /// Something is recorded of its vehicle, and neither plate nor VIN can be read.
    Unreadable,
    /// Its vehicle has neither plate nor VIN.
    Unnamed,
}

impl Unplaced {
    /// Why, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Unplaced::Unreadable => "neither plate nor VIN can be read",
            Unplaced::Unnamed => "it states neither plate nor VIN",
        }
    }

    /// Why this job is in the history of no vehicle, and where that is seen; nothing where no vehicle is recorded
    /// at all.
    fn of(document: &Document<'_>) -> Option<(Unplaced, Span)> {
        let filled =
            |group: NodeId| document.entries(group).iter().filter(|entry| !document.is_empty(entry.value));
        let job = record::Job::of(document);
        let Some(vehicle) = job.vehicle().recorded() else {
            let mut others = filled(document.root());
            let misspelt = others.find(|entry| nearest(&entry.key, [job.vehicle().name()]).is_some())?;
            return Some((Unplaced::Unreadable, misspelt.key_span));
        };
        let at = document.key_span(vehicle).unwrap_or(document.span(vehicle));
        if !matches!(document.node(vehicle).kind, NodeKind::Map(_)) {
            return Some((Unplaced::Unreadable, at));
        }
        let names = [job.vin().name(), job.plate().name()];
        let faulty = filled(vehicle).find(|entry| nearest(&entry.key, names).is_some());
        if let Some(faulty) = faulty {
            return Some((Unplaced::Unreadable, faulty.key_span));
        }
        filled(vehicle).next().map(|_| (Unplaced::Unnamed, at))
    }
}

/// What a text was found to hold at the first look.
#[derive(Debug, Default)]
pub struct Glance {
    /// The forms that its documents follow, in their order.
    pub forms: Vec<Arc<str>>,
    /// Its jobs.
    pub jobs: Episode,
}

/// The jobs in one text.
#[derive(Clone, Debug, Default)]
pub struct Episode(Vec<Job>);

/// A job with the keys under which it is looked for, and when it was opened as far as that can be read.
#[derive(Clone, Debug)]
struct Job {
    number: Box<str>,
    home: Home,
    keys: Vec<Key>,
    past: Option<Arc<Past>>,
    /// Why it has no keys, and where that is seen.
    unplaced: Option<(Unplaced, Span)>,
}

impl Episode {
    /// How many jobs there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// The jobs that are in the history of no vehicle: why, and where in the text that is seen.
    pub fn unplaced(&self) -> impl Iterator<Item = (Unplaced, Span)> {
        self.0.iter().filter_map(|job| job.unplaced)
    }

    /// Whether the jobs are the same for the history: what is beside them in their texts may differ.
    #[must_use]
    pub fn is_as(&self, other: &Episode) -> bool {
        let same = |(one, other): (&Job, &Job)| {
            let opened = |job: &Job| {
                job.past.as_ref().map(|past| (past.opened, past.has_neighbours, past.states.clone()))
            };
            let why = |job: &Job| job.unplaced.map(|(why, _)| why);
            one.number == other.number
                && one.keys == other.keys
                && opened(one) == opened(other)
                && why(one) == why(other)
        };
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(same)
    }

    /// Whether it is known of one of the jobs neither when it was nor on which vehicle.
    #[must_use]
    pub fn is_lost(&self) -> bool {
        self.0.iter().any(|job| job.past.is_none() && job.keys.is_empty())
    }
}

impl Glance {
    /// Looks through a text: the same reader that judges it, which keeps only a few values.
    #[must_use]
    pub fn read(name: impl Into<Arc<str>>, text: &str, forms: &Forms, zone: &TimeZone) -> Glance {
        let asked = asked(forms);
        let mut paths = record::IDENTITY.to_vec();
        paths.extend(asked.iter().flat_map(|earlier| earlier.fields()));
        let documents = document::read_values(SourceId::FIRST, text, forms, &paths);
        Glance::of((&name.into(), text), &documents, forms, zone)
    }

    /// The same of a text that was read.
    pub(super) fn of(
        (name, text): (&Arc<str>, &str),
        documents: &[Document<'_>],
        forms: &Forms,
        zone: &TimeZone,
    ) -> Glance {
        let asked = asked(forms);
        let record = forms.get(JOB).map(|form| Arc::clone(form.record()));
        let mut glance = Glance::default();
        for (place, (document, extent)) in documents.iter().zip(extents(text, documents)).enumerate() {
            glance.forms.extend(document.form().map(Arc::from));
            if document.form() == Some(JOB) {
                let number = record::Job::of(document).number().node();
                let number_at = number.map(|node| document.span(node)).unwrap_or_default();
                let has_neighbours = documents.len() > 1;
                let place = u32::try_from(place).unwrap_or(u32::MAX);
                let home = Home { name: Arc::clone(name), place, number_at, has_neighbours };
                let states_it = |earlier: &Arc<Earlier>| {
                    record.as_ref().is_some_and(|record| states(document, record, &earlier.stating))
                };
                let states = asked.iter().map(states_it).collect();
                let job = Job::new(&Identity::of(document), home, (extent, states), zone);
                let unplaced =
                    Some(()).filter(|()| job.keys.is_empty()).and_then(|()| Unplaced::of(document));
                glance.jobs.0.push(Job { unplaced, ..job });
            }
        }
        glance
    }
}

/// The parts of a text, each from the line in which one document begins to that of the next one. The first
/// document of such a part is that document.
fn extents(text: &str, documents: &[Document<'_>]) -> Vec<Span> {
    let line_of = |document: &Document<'_>| {
        let start = document.span(document.root()).start as usize;
        let before = text.get(..start).unwrap_or_default();
        before.rfind(['\n', '\r']).map_or(0, |end| end + 1)
    };
    let starts: Vec<usize> = documents.iter().map(line_of).collect();
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    starts.iter().zip(ends).map(|(start, end)| Span::new(*start, end)).collect()
}

impl Job {
    fn new(
        identity: &Identity<'_>,
        home: Home,
        (extent, states): (Span, Box<[bool]>),
        zone: &TimeZone,
    ) -> Job {
        let number: Box<str> = identity.number.unwrap_or_default().into();
        let opened = identity.opened(zone);
        let frame = opened.and_then(|(_, frame)| frame);
        let kinds = || [None, Some(identity.kind.unwrap_or_default().into())];
        let keys = identity
            .vehicles()
            .flat_map(|vehicle| kinds().map(|kind| Key { vehicle: vehicle.clone(), kind, frame }));
        let past = opened.map(|(opened, _)| {
            Arc::new(Past {
                opened,
                key: number_key(&number),
                number: number.clone(),
                name: Arc::clone(&home.name),
                extent,
                has_neighbours: home.has_neighbours,
                states,
            })
        });
        Job { number, home, keys: keys.collect(), past, unplaced: None }
    }
}

impl Past {
    /// Whether a job is this one.
    pub(super) fn is_that_of(&self, identity: &Identity<'_>, zone: &TimeZone) -> bool {
        let opened = identity.opened(zone).map(|(opened, _)| opened);
        opened == Some(self.opened) && identity.number.unwrap_or_default() == &*self.number
    }

    /// What a job and its copies have in common: the time at which it was opened and its number, however that is
    /// written. One that was opened at another time is another job, whatever its number.
    fn order(&self) -> (Timestamp, &str) {
        (self.opened, &self.key)
    }

    /// Whether it states what is asked for by the link of this number.
    fn states(&self, which: usize) -> bool {
        self.states.get(which) == Some(&true)
    }

    /// Its number, as it is written.
    pub(super) fn number(&self) -> &str {
        &self.number
    }
}

impl FromIterator<Episode> for History {
    fn from_iter<T: IntoIterator<Item = Episode>>(episodes: T) -> History {
        let mut history = History::default();
        episodes.into_iter().for_each(|episode| history.add(episode, Kept::NumbersAndVehicles));
        history.in_order()
    }
}

impl Jobs {
    fn put_in_order(&mut self) {
        self.list.sort();
        self.list.shrink_to_fit();
        let asked = self.list.first().filter(|_| self.list.len() > FEW).map_or(0, |past| past.states.len());
        let upto = |which: usize| {
            self.list.iter().zip(1..).scan(0, move |upto, (past, number): (_, u32)| {
                if past.states(which) {
                    *upto = number;
                }
                Some(*upto)
            })
        };
        self.stating = (0..asked).map(|which| upto(which).collect()).collect();
    }

    /// The last of the first jobs, so many, that states what is asked for.
    fn last_of(&self, first: usize, which: usize) -> Option<usize> {
        if self.list.len() <= FEW {
            return self.list.get(..first)?.iter().rposition(|past| past.states(which));
        }
        let upto = self.stating.get(which)?.get(first.checked_sub(1)?)?;
        usize::try_from(*upto).ok()?.checked_sub(1)
    }

    /// The last other job that was opened before an instant, or then with a lesser number, of those that state what is asked
    /// for: all records of it.
    ///
    /// # Errors
    /// Two that were opened at the same time before it.
    fn last_before(&self, which: usize, opened: Timestamp, key: &str) -> Result<Before<'_>, NoOrder> {
        let earlier = self.list.partition_point(|past| past.order() < (opened, key));
        let Some(at) = self.last_of(earlier, which) else { return Ok(None) };
        let Some(last) = self.list.get(at) else { return Ok(None) };
        let begin = self.list.partition_point(|past| past.order() < last.order());
        let before = self.last_of(begin, which).and_then(|at| self.list.get(at));
        if let Some(before) = before.filter(|before| before.opened == last.opened && last.opened != opened) {
            return Err(NoOrder::SameTime(before.number.clone(), last.number.clone()));
        }
        let records = self.list.get(begin..).unwrap_or_default();
        let copies = records.partition_point(|past| past.order() <= last.order());
        Ok(records.get(..copies))
    }
}

/// What a history keeps of the jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// Their numbers, of which two must not be the same.
    Numbers,
    /// Which jobs were done on each vehicle too, for rules that ask for it.
    NumbersAndVehicles,
}

impl History {
    /// Adds the jobs of a text; they are found again once the history is [`History::in_order`].
    pub fn add(&mut self, episode: Episode, kept: Kept) {
        for Job { number, home, keys, past, .. } in episode.0 {
            let key = number_key(&number);
            let name = Arc::clone(&home.name);
            if !key.is_empty() {
                self.count(key, home);
            }
            if kept == Kept::NumbersAndVehicles {
                keys.into_iter().for_each(|key| self.put(key, past.as_ref(), &name));
            }
        }
    }

    /// The same history, complete.
    #[must_use]
    pub fn in_order(mut self) -> History {
        self.by_vehicle.values_mut().for_each(Jobs::put_in_order);
        // A number that only one record has says nothing of another.
        self.by_number.retain(|_, numbered| numbered.second.is_some());
        self.by_number.shrink_to_fit();
        self
    }

    /// Puts a job of the text of this name under a key.
    fn put(&mut self, key: Key, past: Option<&Arc<Past>>, name: &Arc<str>) {
        match past {
            Some(past) => self.by_vehicle.entry(key).or_default().list.push(Arc::clone(past)),
            None => {
                self.undated.entry(key).or_insert_with(|| Arc::clone(name));
            }
        }
    }

    fn count(&mut self, number: Box<str>, home: Home) {
        match self.by_number.get_mut(&number) {
            Some(known) => {
                known.second.get_or_insert_with(|| Box::new(home));
                known.count = known.count.saturating_add(1);
            }
            None => {
                let alone = Numbered { first: home, second: None, count: 1 };
                self.by_number.insert(number, alone);
            }
        }
    }

    /// Another record with the job number of the one that is at this place in this text, and how many have
    /// the number in all.
    pub(super) fn same_number(&self, number: &str, name: &str, place: usize) -> Option<(&Home, u32)> {
        let Numbered { first, second, count } = self.by_number.get(&number_key(number))?;
        let second = second.as_deref()?;
        let is_this =
            |home: &Home| *home.name == *name && usize::try_from(home.place).is_ok_and(|at| at == place);
        match (is_this(first), is_this(second)) {
            (true, _) => Some((second, *count)),
            (_, true) => Some((first, *count)),
            // A text of another name, such as standard input, can be one of two that are known.
            _ => (*count > 2).then_some((first, *count)),
        }
    }

    /// The last job on the vehicle before this one of those that state what is asked for; `which` is its number among all that
    /// is [`asked`].
    ///
    /// # Errors
    /// Nobody can tell which was the last: of one it cannot be read when it was opened, or of two jobs less than a day apart
    /// one time has an offset, the other has none, and no time zone is set.
    pub(super) fn before(
        &self,
        which: usize,
        on_unit: bool,
        identity: &Identity<'_>,
        zone: &TimeZone,
    ) -> Result<Before<'_>, NoOrder> {
        let Some((opened, frame)) = identity.opened(zone) else { return Ok(None) };
        let kind = on_unit.then(|| identity.kind.unwrap_or_default());
        for vehicle in identity.vehicles() {
            let key = |frame| Key { vehicle: vehicle.clone(), kind: kind.map(Into::into), frame };
            if let Some(name) = self.undated.get(&key(None)) {
                return Err(NoOrder::Undated(Arc::clone(name)));
            }
            if let Some(found) =
                self.last(which, (opened, frame), identity.number.unwrap_or_default(), key)?
            {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    fn last(
        &self,
        which: usize,
        (opened, frame): (Timestamp, Option<Frame>),
        number: &str,
        key: impl Fn(Option<Frame>) -> Key,
    ) -> Result<Before<'_>, NoOrder> {
        let number = number_key(number);
        let last_of = |frame, until| match self.by_vehicle.get(&key(frame)) {
            Some(jobs) => jobs.last_before(which, until, &number),
            None => Ok(None),
        };
        let own = last_of(frame, opened)?;
        let Some(frame) = frame else { return Ok(own) };
        let until = opened.checked_add(FURTHEST_OFFSET).unwrap_or(Timestamp::MAX);
        let other = last_of(Some(frame.other()), until)?;
        let opened_of = |found: Before<'_>| found.and_then(|records| records.first()).map(|past| past.opened);
        let sure = |earlier: Timestamp, later: Timestamp| later.duration_since(earlier) >= FURTHEST_OFFSET;
        match (opened_of(own), opened_of(other)) {
            (_, None) => Ok(own),
            (_, Some(late)) if !sure(late, opened) => Err(NoOrder::WithoutZone),
            (None, Some(_)) => Ok(other),
            (Some(one), Some(another)) if sure(another, one) => Ok(own),
            (Some(one), Some(another)) if sure(one, another) => Ok(other),
            (Some(_), Some(_)) => Err(NoOrder::WithoutZone),
        }
    }
}
