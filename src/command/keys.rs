//! `keys`: whose jobs the records of a stream are, so that a stream can be parted and sorted before it is judged.

use clap::Args;
use rayon::prelude::*;

use super::known::KnownFiles;
use super::output::{Sink, refusal};
use super::stream::{Piece, name_of, records_of_standard_input};
use super::{Exit, Failure, ReadingOptions, RuleOptions, RunOptions, WorkshopOptions};
use crate::report::lines::{self, JobOut};
use crate::session::internal::sound;
use crate::session::{Glance, JobKey, Session};

/// Says of each record on standard input which vehicle its jobs are on and when they were opened, a JSON document a line. Nothing
/// is judged. Records with a vehicle in common belong in one stream for `inspect - --format lines`, in the order of time.
#[derive(Debug, Args)]
pub(super) struct Keys {
    /// `-`, standard input: records as `inspect - --format lines` reads them.
    #[arg(value_name = "-", value_parser = ["-"])]
    _input: String,
    #[command(flatten)]
    workshop: WorkshopOptions,
    #[command(flatten)]
    reading: ReadingOptions,
}

impl Keys {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let Keys { workshop, reading, .. } = self;
        let rules = RuleOptions {
            run: RunOptions { workshop, reading, ..RunOptions::default() },
            ..RuleOptions::default()
        };
        let ready = rules.open_to_judge(None, &KnownFiles::default())?;
        if ready.unsettled {
            let why = "the settings have errors, so that the records cannot be read as they say".to_owned();
            return Err(refusal(&ready.diagnostics, ready.session.sources(), why));
        }
        let queue = records_of_standard_input();
        let mut sink = Sink::exact();
        let (mut lost, mut last) = (false, None);
        loop {
            let pieces = queue.take();
            let Some(end) = pieces.last().map(|piece| piece.at.number) else { break };
            last = Some(end);
            let told: Vec<(bool, Vec<u8>)> =
                pieces.par_iter().map(|piece| told(piece, &ready.session)).collect();
            for (is_lost, line) in &told {
                lost |= is_lost;
                sink.write(line)?;
            }
            sink.flush()?;
            if sink.is_closed() {
                return Err(Failure(format!("whoever reads the lines has gone away, after record {end}")));
            }
        }
        sink.finish()?;
        Ok(match (last, lost) {
            (None, _) => Exit::Failed,
            (Some(_), true) => Exit::Findings,
            (Some(_), false) => Exit::Clean,
        })
    }
}

/// The line of a record, and whether something in it cannot be told.
fn told(piece: &Piece, session: &Session) -> (bool, Vec<u8>) {
    let (name, mut line) = (name_of(piece), Vec::new());
    let text = piece.text.as_ref().map_err(|unread| unread.fault.message.clone());
    let glance = text.and_then(|text| {
        let zone = &session.setting().zone;
        sound(|| Glance::read(&*name, text, session.forms(), zone)).map_err(|fault| fault.message)
    });
    let jobs: Result<Vec<JobOut<'_>>, &str> =
        glance.as_ref().map(|glance| glance.jobs.keys().map(job).collect()).map_err(String::as_str);
    let is_lost = match (&glance, &jobs) {
        (Ok(glance), Ok(jobs)) => {
            glance.forms.is_empty() || jobs.iter().any(|job| job.opened.is_none() || job.vehicles.is_empty())
        }
        _ => true,
    };
    lines::key(piece.at, &name, jobs, &mut line);
    (is_lost, line)
}

fn job(key: JobKey<'_>) -> JobOut<'_> {
    let JobKey { number, vehicles, opened, order } = key;
    JobOut { number, vehicles, opened: opened.map(|opened| opened.to_string()), order: order.into() }
}
