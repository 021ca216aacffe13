//! The times of a document as a whole: whether each of them is one instant.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::Offset;

use super::Session;
use crate::code::{NO_TIME_ZONE, OFFSETS_DIFFER};
use crate::diagnostic::{At, Diagnostic};
use crate::document::Document;
use crate::source::{Place, Span};
use crate::time::{self, Frame};
use crate::value::{Moment, Value, offset_words};

/// What is called by its place: a time of the document, or the times of a log.
struct Stated {
    place: Place,
    frame: Frame,
    of_log: bool,
}

impl Session {
    /// Times that are there twice or not at all because the clocks change; times without an offset among
    /// others that have one, where no zone is set. `logs` are those with times of day.
    pub(super) fn times_of(&self, document: &Document<'_>, logs: &[(Span, Frame)]) -> Vec<Diagnostic> {
        let zone = &self.setting().zone;
        let mut said = offsets_that_differ(document);
        let moments = document.values().filter_map(|(node, value)| match value {
            Value::Moment(moment) => Some((document.place(node), moment)),
            _ => None,
        });
        if !zone.is_unknown() {
            said.extend(moments.filter_map(|(place, moment)| time::instant(moment, zone).at(place).err()));
            return said;
        }
        let moments =
            moments.map(|(place, moment)| Stated { place, frame: Frame::of(moment), of_log: false });
        let logs = logs.iter().map(|(span, frame)| {
            let place = Place { source: document.source, span: *span };
            Stated { place, frame: *frame, of_log: true }
        });
        let stated: Vec<Stated> = moments.chain(logs).collect();
        let first = |frame: Frame| stated.iter().find(|stated| stated.frame == frame);
        let (Some(local), Some(exact)) = (first(Frame::Local), first(Frame::WithOffset)) else {
            return said;
        };
        let what = if local.of_log { "the times of this log have" } else { "this time has" };
        let others = if exact.of_log { "a log with offsets" } else { "one with an offset" };
        let message = format!("{what} no offset, others of the document have one, and no time zone is set");
        said.push(
            Diagnostic::error(NO_TIME_ZONE, local.place, message)
                .and_at(exact.place, others)
                .help(time::NAME_THE_ZONE),
        );
        said
    }
}

/// Before this hour the clocks can change, so that a day has two offsets.
const CLOCKS_HAVE_CHANGED: i8 = 4;

/// The first time of a day whose offset is not that of the most others of that day. Times in UTC are left alone: devices
/// write them whatever the clock on the wall shows.
fn offsets_that_differ(document: &Document<'_>) -> Vec<Diagnostic> {
    let mut days: BTreeMap<Date, BTreeMap<i32, Vec<(Place, Offset)>>> = BTreeMap::new();
    for (node, value) in document.values() {
        let Value::Moment(Moment::Exact(instant, offset)) = value else { continue };
        let written = offset.to_datetime(*instant);
        if *offset != Offset::UTC && written.hour() >= CLOCKS_HAVE_CHANGED {
            let day = days.entry(written.date()).or_default();
            day.entry(offset.seconds()).or_default().push((document.place(node), *offset));
        }
    }
    let odd = |(day, offsets): (Date, BTreeMap<i32, Vec<(Place, Offset)>>)| {
        let usual = offsets.values().max_by_key(|times| times.len())?.first()?;
        let (place, offset) = offsets.values().flatten().find(|(_, offset)| offset != &usual.1)?;
        let (own, others) = (offset_words(*offset), offset_words(usual.1));
        let message = format!("this time of {day} has the offset {own}, others of that day have {others}");
        let diagnostic =
            Diagnostic::advice(OFFSETS_DIFFER, *place, message).and_at(usual.0, "one of the others");
        Some(diagnostic.help("write the offset that the clock of the workshop had on that day"))
    };
    days.into_iter().filter_map(odd).collect()
}
