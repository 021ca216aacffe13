//! The times of a document as a whole: whether each of them is one instant.

use super::Session;
use crate::code::NO_TIME_ZONE;
use crate::diagnostic::{At, Diagnostic};
use crate::document::Document;
use crate::source::{Place, Span};
use crate::time::{self, Frame};
use crate::value::Value;

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
        let moments = document.values().filter_map(|(node, value)| match value {
            Value::Moment(moment) => Some((document.place(node), moment)),
            _ => None,
        });
        if !zone.is_unknown() {
            return moments
                .filter_map(|(place, moment)| time::instant(moment, zone).at(place).err())
                .collect();
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
            return Vec::new();
        };
        let what = if local.of_log { "the times of this log have" } else { "this time has" };
        let others = if exact.of_log { "a log with offsets" } else { "one with an offset" };
        let message = format!("{what} no offset, others of the document have one, and no time zone is set");
        vec![
            Diagnostic::error(NO_TIME_ZONE, local.place, message)
                .and_at(exact.place, others)
                .help(time::NAME_THE_ZONE),
        ]
    }
}
