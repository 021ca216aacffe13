//! Any number of records from standard input, each judged as soon as it has arrived. What is held of them is bounded: those
//! that wait, those that are judged side by side, and the window of those that count as earlier jobs.

mod cut;
mod queue;

use std::io::BufReader;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use self::cut::Cutter;
pub(super) use self::cut::Piece;
pub(super) use self::queue::Queue;
use super::Failure;
use super::files::Unread;
use super::inspect::{Done, Steps, Work};
use super::names::named;
use super::output::Sink;
use crate::finding::{Judged, Summary};
use crate::report::Stream;
use crate::report::lines::{self, InStream};
use crate::session::internal::sound;
use crate::session::{Glance, Nearby, Window};
use crate::source::{STANDARD_INPUT, Source};

/// How many jobs before a record count as earlier ones where nobody says otherwise.
pub(super) const WINDOW: usize = 1_000;

/// A record with what stands before it.
struct Next {
    at: InStream,
    name: String,
    text: Result<(Arc<Source>, Arc<Nearby>), Unread>,
}

/// The records that arrive on standard input.
pub(super) fn records_of_standard_input() -> Arc<Queue> {
    let queue = Arc::new(Queue::default());
    let fed = Arc::clone(&queue);
    // It can wait for input when nobody wants any more, so it ends with the program.
    std::thread::spawn(move || {
        let mut cutter = Cutter::new(BufReader::with_capacity(1 << 16, std::io::stdin()));
        let read = sound(|| {
            while let Some(piece) = cutter.next() {
                fed.put(piece);
            }
        });
        if let Err(fault) = read {
            fed.put(cutter.failed(fault));
        }
        fed.end();
    });
    queue
}

/// What a record is called.
pub(super) fn name_of(piece: &Piece) -> String {
    match &piece.name {
        Some(name) => named(Path::new(name)),
        None => format!("{STANDARD_INPUT} (record {})", piece.at.number),
    }
}

impl Work<'_> {
    /// Judges a stream of records, and writes a line for each document in them in their order.
    pub(super) fn stream(
        &self,
        window: usize,
        summary: &mut Summary,
        stream: &mut Stream<'_>,
        sink: &mut Sink,
    ) -> Result<(), Failure> {
        let mut window = Window::new(window);
        let mut steps = Steps { done: 0, most: self.most_steps_in_all.unwrap_or(u64::MAX) };
        let queue = records_of_standard_input();
        // Whoever sends records one by one sees that the rules are read.
        sink.flush()?;
        loop {
            let pieces = queue.take();
            let Some(last) = pieces.last().map(|piece| piece.at.number) else { return Ok(()) };
            let batch = self.with_what_is_before(pieces, &mut window);
            let done = steps.side_by_side(&batch, |next| {
                let done = self.record(next);
                (done.steps, done)
            });
            for (next, one) in batch.iter().zip(done) {
                let one = one.unwrap_or_else(|| self.not_judged(next));
                self.write(one, summary, stream, sink)?;
            }
            sink.flush()?;
            if sink.is_closed() {
                return Err(Failure(format!(
                    "whoever reads the lines has gone away; what stands in the stream behind record {last} was not judged"
                )));
            }
        }
    }

    /// Looks through records, side by side, and puts before each what stands before it.
    fn with_what_is_before(&self, pieces: Vec<Piece>, window: &mut Window) -> Vec<Next> {
        let session = &self.ready.session;
        let glance = |piece: Piece| {
            let (name, Piece { at, text, .. }) = (name_of(&piece), piece);
            let text = text.map(|text| {
                let (source, known) = (Arc::new(Source::new(&*name, text)), Arc::<str>::from(&*name));
                let zone = &session.setting().zone;
                // What cannot be looked through is told when it is judged.
                let glance = sound(|| Glance::read(Arc::clone(&known), source.text(), session.forms(), zone));
                (source, known, glance.unwrap_or_default())
            });
            (at, name, text)
        };
        let glanced: Vec<_> = pieces.into_par_iter().map(glance).collect();
        let next = |(at, name, text): (InStream, String, Result<_, Unread>)| {
            let text = text.map(|(source, known, glance)| {
                let near = window.take(session, known, &source, glance);
                (source, near)
            });
            Next { at, name, text }
        };
        glanced.into_iter().map(next).collect()
    }

    fn record(&self, next: &Next) -> Done {
        let mut done = Done::default();
        match &next.text {
            Ok((source, near)) => {
                let mut take = |document: Judged| self.add_line(&document, next.at, &mut done);
                self.ready.session.judge_in_stream(source, near, &mut take);
            }
            Err(unread) => self.add_line(&self.ready.unread(&next.name, unread.clone()), next.at, &mut done),
        }
        done
    }

    /// What becomes of a record before which the run has done all its steps.
    fn not_judged(&self, next: &Next) -> Done {
        let mut done = Done::default();
        let fault = self.ready.session.out_of_steps_in_all();
        self.add_line(&self.ready.unread(&next.name, fault.into()), next.at, &mut done);
        done
    }

    fn add_line(&self, document: &Judged, at: InStream, done: &mut Done) {
        let mut line = Vec::new();
        lines::document(&self.run, document, Some(at), &mut line);
        self.add(document, &line, done);
    }
}
