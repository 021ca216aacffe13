//! What a record says of itself and cannot be: a number that another record has, a day to come, a job in work
//! that is closed.

use jiff::civil::Date;

use super::context::PastJobs;
use super::{History, Session};
use crate::code::{DAY_TO_COME, IN_WORK_AND_CLOSED, JOB_NUMBER_TWICE, LOOKS_ALIKE};
use crate::diagnostic::Diagnostic;
use crate::document::Document;
use crate::letters::{Separators, are_of_other_letters, folded, said, strange};
use crate::source::Place;
use crate::trade::job::JobState;
use crate::trade::{Field, Job, Stated, procedure};
use crate::value::Moment;

impl Session {
    /// Says that another record has the number of this job, which is the document of this number in its
    /// text.
    pub(super) fn same_number(
        &self,
        document: &Document<'_>,
        number: usize,
        past: &mut PastJobs,
    ) -> Option<Diagnostic> {
        let stated = Job::of(document).number();
        let own = stated.text()?;
        let near = past.near();
        let name = past.sources.name(document.source);
        let of = |history: &History| {
            let (home, count) = history.same_number(own, name, number)?;
            Some((home.clone(), count))
        };
        let nearby = near.as_deref().and_then(|near| of(&near.history));
        let (home, count) = nearby.or_else(|| of(self.history()))?;
        let other = &home.name;
        let source = self.reopen(other, home.has_neighbours, past).ok();
        let written = source.and_then(|source| past.sources.get(source)).map(|source| {
            let written = home.number_at.of(source.text());
            written.trim_matches(['"', '\'', ' '])
        });
        let written = written.filter(|written| *written != own);
        let message = match (count, written) {
            (2, None) => format!("the job number `{own}` is also that of a record in `{other}`"),
            (2, Some(written)) => {
                format!(
                    "the job number `{own}` is also that of a record in `{other}`, written `{written}` there"
                )
            }
            _ => format!("the job number `{own}` is that of {count} records, such as one in `{other}`"),
        };
        let alike = written.filter(|written| are_of_other_letters(own, written));
        let alike = alike.map(|written| format!("{}; ", said(own, written))).unwrap_or_default();
        let help = format!("{alike}take the copy away, or give one of them a number of its own");
        let diagnostic =
            Diagnostic::advice(JOB_NUMBER_TWICE, stated.place(), message).labelled("this record").help(help);
        Some(match source {
            Some(source) => diagnostic.and_at(Place { source, span: home.number_at }, "the other record"),
            None => diagnostic,
        })
    }

    /// Says that a job was opened or closed on a day that is still to come.
    pub(super) fn to_come<'d>(&'d self, document: &'d Document<'_>) -> impl Iterator<Item = Diagnostic> + 'd {
        let today = self.setting().as_of;
        let job = Job::of(document);
        [job.opened(), job.closed()].into_iter().filter_map(move |field| {
            // Without a zone it is to come only where it is both in UTC, by which the day of the run goes, and as written.
            let day = self.day_in(field)?.min(self.day_written(field)?);
            if day <= today {
                return None;
            }
            let (place, done) = (field.place(), field.name());
            let message = format!("the job was {done} on {day}, and this run judges as of {today}");
            let help = "correct the date; for a run as of another day there is `--as-of`";
            Some(Diagnostic::advice(DAY_TO_COME, place, message).help(help))
        })
    }

    /// The day of the time in a field: in the workshop's zone or, where none is set, the day that is written.
    pub(super) fn day_written(&self, field: Field<'_>) -> Option<Date> {
        match field.moment()? {
            written if self.setting().zone.is_unknown() => Some(written.written().date()),
            _ => self.day_in(field),
        }
    }

    /// The day of the time in a field, in the zone of the run's own day: the workshop's or, where none is set, UTC.
    pub(super) fn day_in(&self, field: Field<'_>) -> Option<Date> {
        Some(match field.moment()? {
            Moment::Exact(instant, _) => self.setting().zone.to_datetime(*instant).date(),
            Moment::Civil(civil) => civil.date(),
        })
    }
}

/// Says that the plate or the VIN of a job is that of the last job on its vehicle only to the eye.
pub(super) fn looks_like_last(document: &Document<'_>, past: &PastJobs) -> Option<Diagnostic> {
    let (job, last) = (Job::of(document), Job::of(past.last_job()?));
    let named = [(job.vin(), last.vin(), "VIN"), (job.plate(), last.plate(), "plate")];
    named.into_iter().find_map(|(field, earlier, what)| {
        let (own, theirs) = (field.text()?, earlier.text()?);
        let same = folded(own, Separators::None) == folded(theirs, Separators::None);
        if !same || !are_of_other_letters(own, theirs) {
            return None;
        }
        let number = last.number().text().unwrap_or_default();
        let message = format!(
            "the {what} `{own}` looks like `{theirs}` of the earlier job {number}, and is taken for the same vehicle"
        );
        let diagnostic = Diagnostic::advice(LOOKS_ALIKE, field.place(), message);
        Some(diagnostic.and_at(earlier.place(), "the earlier job").help(said(own, theirs)))
    })
}

/// Says that a plate or a VIN has a letter of which nobody knows which Latin one it looks like: under the one that was meant, the
/// earlier jobs of the vehicle are not found.
pub(super) fn strange_letter(document: &Document<'_>) -> Option<Diagnostic> {
    let job = Job::of(document);
    [(job.vin(), "VIN"), (job.plate(), "plate")].into_iter().find_map(|(field, what)| {
        let (text, letter) = (field.text()?, strange(field.text()?)?);
        let code = u32::from(letter);
        let message = format!(
            "the {what} `{text}` has a letter of another alphabet (U+{code:04X}), so earlier jobs of the vehicle may not be found"
        );
        let help = "write it in Latin letters, as it stands on the vehicle";
        Some(Diagnostic::advice(LOOKS_ALIKE, field.place(), message).help(help))
    })
}

/// Says that a job is in work and has a time at which it was closed. It is judged as a closed one.
pub(super) fn in_work_and_closed(document: &Document<'_>) -> Option<Diagnostic> {
    let job = Job::of(document);
    let closed = job.closed().recorded()?;
    job.state().filter(|state| *state == JobState::InWork)?;
    let message = "the job is in work and says when it was closed, so it is judged as closed";
    Some(
        Diagnostic::error(IN_WORK_AND_CLOSED, job.stated_state().place(), message)
            .and_at(document.place(closed), "closed here")
            .help("write `state: closed`, or take `closed` out until the work is done"),
    )
}

/// What the document says it is, from the fields that it has.
pub(super) fn headline(document: &Document<'_>) -> String {
    let job = Job::of(document);
    let unit = match (job.kind().raw(), job.family().raw()) {
        (Some(kind), Some(family)) => Some(format!("{kind} \"{family}\"")),
        (kind, family) => kind.or(family).map(str::to_owned),
    };
    let number = job.number().raw().map(|number| format!("job {number}"));
    let name = procedure::name(document).raw();
    let procedure = match (name, procedure::edition(document).edition()) {
        (Some(name), Some(Stated::Edition(edition))) => Some(format!("procedure {name} edition {edition}")),
        (name, _) => name.map(|name| format!("procedure {name}")),
    };
    let state = job.stated_state().raw().map(str::to_owned);
    let parts: Vec<String> = [number, procedure, unit, state].into_iter().flatten().collect();
    parts.join(", ")
}
