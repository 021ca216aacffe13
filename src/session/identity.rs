//! What a record says of itself and cannot be: a number that another record has, a day to come, a job in work
//! that is closed.

use jiff::civil::Date;

use super::Session;
use super::context::PastJobs;
use super::history::NUMBER;
use crate::code::{DAY_TO_COME, IN_WORK_AND_CLOSED, JOB_NUMBER_TWICE};
use crate::diagnostic::Diagnostic;
use crate::document::Document;
use crate::source::Place;
use crate::value::{Moment, Value};

impl Session {
    /// Says that another record has the number of this job, which is the document of this number in its
    /// text.
    pub(super) fn same_number(
        &self,
        document: &Document<'_>,
        number: usize,
        past: &mut PastJobs,
    ) -> Option<Diagnostic> {
        let (node, own) = (document.find(NUMBER)?, document.text_at(NUMBER)?);
        let (home, count) = self.history().same_number(own, past.sources.name(document.source), number)?;
        let other = &home.name;
        let message = match count {
            2 => format!("the job number `{own}` is also that of a record in `{other}`"),
            _ => format!("the job number `{own}` is that of {count} records, such as one in `{other}`"),
        };
        let diagnostic = Diagnostic::advice(JOB_NUMBER_TWICE, document.place(node), message)
            .labelled("this record")
            .help("take the copy away, or give one of them a number of its own");
        Some(match self.reopen(other, home.has_neighbours, past) {
            Ok(source) => diagnostic.and_at(Place { source, span: home.number_at }, "the other record"),
            Err(_) => diagnostic,
        })
    }

    /// Says that a job was opened or closed on a day that is still to come.
    pub(super) fn to_come<'d>(&'d self, document: &'d Document<'_>) -> impl Iterator<Item = Diagnostic> + 'd {
        let today = self.setting().as_of;
        [("job.opened", "opened"), ("job.closed", "closed")].into_iter().filter_map(move |(path, done)| {
            let node = document.find(path)?;
            let day = self.day_in(document, path).filter(|day| *day > today)?;
            let place: Place = document.place(node);
            let message = format!("the job was {done} on {day}, and this run judges as of {today}");
            let help = "correct the date; for a run as of another day there is `--as-of`";
            Some(Diagnostic::advice(DAY_TO_COME, place, message).help(help))
        })
    }

    /// The day of the time in a field, in the workshop's zone.
    pub(super) fn day_in(&self, document: &Document<'_>, path: &str) -> Option<Date> {
        match document.value(document.find(path)?)? {
            Value::Moment(Moment::Civil(civil)) => Some(civil.date()),
            Value::Moment(Moment::Exact(instant)) => {
                Some(instant.to_zoned_datetime(self.setting().zone.clone()).date())
            }
            _ => None,
        }
    }
}

/// Says that a job is in work and has a time at which it was closed. It is judged as a closed one.
pub(super) fn in_work_and_closed(document: &Document<'_>) -> Option<Diagnostic> {
    let closed = document.find("job.closed").filter(|node| !document.is_empty(*node))?;
    let state = document.find("job.state").filter(|node| document.text(*node) == Some("in work"))?;
    let message = "the job is in work and says when it was closed, so it is judged as closed";
    Some(
        Diagnostic::error(IN_WORK_AND_CLOSED, document.place(state), message)
            .and_at(document.place(closed), "closed here")
            .help("write `state: closed`, or take `closed` out until the work is done"),
    )
}
