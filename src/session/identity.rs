//! What a record says of itself and cannot be: a number that another record has, a day to come.

use jiff::civil::Date;

use super::Session;
use super::context::PastJobs;
use super::history::Identity;
use crate::code::{DAY_TO_COME, JOB_NUMBER_TWICE};
use crate::diagnostic::Diagnostic;
use crate::document::Document;
use crate::source::Place;
use crate::value::{Moment, Value};

/// The field that holds the number of a job.
const NUMBER: &str = "job.number";

impl Session {
    /// Says that another record has the number of this job, which is the document of this number in its
    /// text.
    pub(super) fn same_number(
        &self,
        document: &Document<'_>,
        number: usize,
        past: &mut PastJobs,
    ) -> Option<Diagnostic> {
        let (node, own) = (document.find(NUMBER)?, Identity::of(document).number);
        let name = past.sources.name(document.source).to_owned();
        let ((other, place), count) = self.history().same_number(own, &name, number)?;
        let message = match count {
            2 => format!("the job number `{own}` is also that of a record in `{other}`"),
            _ => format!("the job number `{own}` is that of {count} records, such as one in `{other}`"),
        };
        let diagnostic = Diagnostic::advice(JOB_NUMBER_TWICE, document.place(node), message)
            .labelled("this record")
            .help("take the copy away, or give one of them a number of its own");
        let source = match **other == name {
            true => Some(document.source),
            false => self.reopen(other, past).ok(),
        };
        let there = source.and_then(|source| {
            let text = past.sources.get(source)?.text();
            let (documents, _) = self.forms().reader().read(source, text, 0);
            let other = documents.get(*place)?;
            Some(other.place(other.find(NUMBER)?))
        });
        Some(match there {
            Some(there) => diagnostic.and_at(there, "the other record"),
            None => diagnostic,
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
