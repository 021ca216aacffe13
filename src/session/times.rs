//! The times of a document as a whole: whether each of them is one instant.

use super::Session;
use crate::code::NO_TIME_ZONE;
use crate::diagnostic::{At, Diagnostic};
use crate::document::Document;
use crate::time;
use crate::value::{Moment, Value};

impl Session {
    /// Times that are there twice or not at all because the clocks change; times without an offset among
    /// others that have one, where no zone is set.
    pub(super) fn times_of(&self, document: &Document<'_>) -> Vec<Diagnostic> {
        let zone = &self.setting().zone;
        let moments = || {
            document.values().filter_map(|(node, value)| match value {
                Value::Moment(moment) => Some((node, moment)),
                _ => None,
            })
        };
        if !zone.is_unknown() {
            let wrong = moments()
                .filter_map(|(node, moment)| time::instant(moment, zone).at(document.place(node)).err());
            return wrong.collect();
        }
        let civil = moments().find(|(_, moment)| matches!(moment, Moment::Civil(_)));
        let exact = moments().find(|(_, moment)| matches!(moment, Moment::Exact(_)));
        let (Some((civil, _)), Some((exact, _))) = (civil, exact) else { return Vec::new() };
        let message = "this time has no offset, others of the document have one, and no time zone is set";
        vec![
            Diagnostic::error(NO_TIME_ZONE, document.place(civil), message)
                .and_at(document.place(exact), "one with an offset")
                .help("name the zone in the workshop's settings, `time_zone: Europe/Vienna`, or write every time with its offset"),
        ]
    }
}
