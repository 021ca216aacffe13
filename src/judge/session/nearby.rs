//! The records that stand before one in a stream: its earlier jobs, as far as a window reaches. What is kept is bounded,
//! however long the stream is.

use std::collections::{HashMap, VecDeque};
use std::sync::Arc;

use super::history::{Unplaced, Vehicle};
use super::{Episode, Glance, History, Kept, Session};
use crate::code::{NEIGHBOUR_FAULTY, NEIGHBOUR_NOT_TAKEN, OUT_OF_ORDER, TOO_MUCH_WORK};
use crate::diagnostic::Diagnostic;
use crate::document::Document;
use crate::source::{Place, Source, Span};
use crate::trade::Job;
use crate::trade::form::{self, JOB};

/// How many bytes of text the records that are kept have together. A thousand jobs are some 5 MiB.
const MOST_BYTES: usize = 64 << 20;

/// What stands before one record, and what is to be said of how it stands there.
#[derive(Debug)]
pub struct Nearby {
    /// The name by which the history knows the record itself: two of a stream can be called alike.
    pub(super) own: Arc<str>,
    /// The jobs by which those of the record are judged.
    pub(super) history: History,
    texts: Vec<(Arc<str>, Arc<Source>)>,
    /// Its jobs, by their place among its documents, each with the number of one that stands before it and was opened after it.
    out_of_order: Vec<(usize, String)>,
    /// Whether jobs on its vehicle are further back than the window reaches.
    beyond: Option<usize>,
    unplaced: Vec<(Unplaced, Span)>,
    asks_history: bool,
}

impl Nearby {
    /// The text of a record before this one.
    pub(super) fn text(&self, name: &Arc<str>) -> Option<&Arc<Source>> {
        self.texts.iter().find(|(known, _)| Arc::ptr_eq(known, name)).map(|(_, source)| source)
    }
}

/// A record that is kept.
struct Entry {
    name: Arc<str>,
    source: Arc<Source>,
    episode: Episode,
}

/// The records of a stream that were read last.
pub struct Window {
    most: usize,
    entries: VecDeque<Entry>,
    /// How many jobs are in them: each can be an earlier one of the next record.
    jobs: usize,
    /// The number of the first entry among all records of the stream.
    first: u64,
    bytes: usize,
    /// The records of each vehicle, by their numbers.
    by_vehicle: HashMap<Vehicle, OfVehicle>,
}

#[derive(Default)]
struct OfVehicle {
    records: VecDeque<u64>,
    /// Whether some of them are not kept any more.
    is_cut: bool,
}

impl Window {
    /// A window of so many jobs.
    #[must_use]
    pub fn new(most: usize) -> Window {
        Window { most, entries: VecDeque::new(), jobs: 0, first: 0, bytes: 0, by_vehicle: HashMap::new() }
    }

    /// Takes in the next record, at which somebody has glanced under this name, and tells what stands before it.
    pub fn take(
        &mut self,
        session: &Session,
        name: Arc<str>,
        source: &Arc<Source>,
        glance: Glance,
    ) -> Arc<Nearby> {
        let episode = glance.jobs;
        let asks_history = session.program().asks_history();
        let kept = if asks_history { Kept::NumbersAndVehicles } else { Kept::Numbers };
        let of_vehicles = || episode.vehicles().into_iter().filter_map(|one| self.by_vehicle.get(one));
        let mut numbers: Vec<u64> = of_vehicles().flat_map(|one| one.records.iter().copied()).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let is_cut = of_vehicles().any(|one| one.is_cut);
        let entry_of = |number: &u64| self.entries.get(usize::try_from(number - self.first).ok()?);
        let before: Vec<&Entry> = numbers.iter().filter_map(entry_of).collect();
        let episodes: Vec<&Episode> = before.iter().map(|entry| &entry.episode).collect();
        let nearby = Nearby {
            own: Arc::clone(&name),
            history: session.history().with(&episode, &episodes, kept),
            texts: before.iter().map(|entry| (Arc::clone(&entry.name), Arc::clone(&entry.source))).collect(),
            out_of_order: episode.opened_after(&episodes),
            beyond: is_cut.then_some(self.most),
            unplaced: episode.unplaced().collect(),
            asks_history,
        };
        if self.most > 0 && episode.count() > 0 {
            self.keep(Entry { name, source: Arc::clone(source), episode });
        }
        Arc::new(nearby)
    }

    fn keep(&mut self, entry: Entry) {
        let number = self.first + self.entries.len() as u64;
        for vehicle in entry.episode.vehicles() {
            self.by_vehicle.entry(vehicle.clone()).or_default().records.push_back(number);
        }
        self.bytes += entry.source.text().len();
        self.jobs += entry.episode.count();
        self.entries.push_back(entry);
        // A text goes as a whole, and only where those behind it hold enough: fewer than so many jobs are never kept.
        let is_spare = |oldest: &Entry, jobs: usize| jobs.saturating_sub(oldest.episode.count()) >= self.most;
        while self.entries.front().is_some_and(|oldest| is_spare(oldest, self.jobs))
            || self.bytes > MOST_BYTES
        {
            let Some(oldest) = self.entries.pop_front() else { return };
            self.bytes -= oldest.source.text().len();
            self.jobs -= oldest.episode.count();
            for vehicle in oldest.episode.vehicles() {
                let Some(known) = self.by_vehicle.get_mut(vehicle) else { continue };
                known.records.pop_front();
                known.is_cut = true;
                if known.records.is_empty() {
                    self.by_vehicle.remove(vehicle);
                }
            }
            self.first += 1;
        }
    }

    /// How many records are kept.
    #[must_use]
    pub fn count(&self) -> usize {
        self.entries.len()
    }
}

impl Session {
    /// What is to be said of how the document of this number stands in its stream.
    pub(super) fn in_stream(&self, document: &Document<'_>, number: usize, near: &Nearby) -> Vec<Diagnostic> {
        let form = document.form().unwrap_or_default();
        if form != JOB {
            return self.decides_nothing(document, form).into_iter().collect();
        }
        if !near.asks_history {
            return Vec::new();
        }
        let opened = Job::of(document).opened().place();
        let mut said = Vec::new();
        if let Some((_, other)) = near.out_of_order.iter().find(|(at, _)| *at == number) {
            let message = format!(
                "job {other} on this vehicle was opened later and comes before this one in the stream, so it was judged without this one"
            );
            let help = "sort the stream by vehicle and by the time at which the jobs were opened, or judge each job by itself with `--window 0`";
            said.push(Diagnostic::error(OUT_OF_ORDER, opened, message).help(help));
        }
        if let Some(most) = near.beyond {
            let message = format!(
                "earlier jobs on this vehicle are further back in the stream than the {most} jobs that are kept"
            );
            let help = "sort the stream by vehicle, or keep more jobs with `--window`";
            said.push(Diagnostic::error(TOO_MUCH_WORK, opened, message).help(help));
        }
        let span = document.span(document.root());
        for (why, at) in near.unplaced.iter().filter(|(_, at)| span.start <= at.start && at.end <= span.end) {
            let reason = why.words();
            let message = format!("this job is left out of the history of its vehicle: {reason}");
            let place = Place { source: document.source, span: *at };
            let help = "other jobs on the vehicle are judged without it; write plate or VIN into it";
            said.push(Diagnostic::advice(NEIGHBOUR_FAULTY, place, message).help(help));
        }
        said
    }

    /// Says that a procedure or register of a stream decides nothing about its jobs, where they ask for one.
    fn decides_nothing(&self, document: &Document<'_>, form: &str) -> Option<Diagnostic> {
        let form = form::called(form).filter(|form| form.is_neighbour && self.program().asks_around())?;
        let message = format!(
            "this {} is judged, and does not count for the jobs of the stream; only those that the settings name do",
            form.called
        );
        let place = document.place(document.root());
        let place = Place { span: Span { end: place.span.start, ..place.span }, ..place };
        let help = "name it under `documents` in the settings of this run, if it is not named there";
        Some(Diagnostic::note(NEIGHBOUR_NOT_TAKEN, place, message).help(help))
    }
}
