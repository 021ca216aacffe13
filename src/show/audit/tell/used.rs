//! Tools: what each touched.

use super::{Around, column, too_many};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, Section};
use crate::audit::sums::{MOST_NAMES, Thing, name_key};

/// The tools that records name.
pub(super) fn tools(figures: &Figures, around: &Around<'_>) -> Section {
    let known = |key: &str| around.tools.iter().find(|(number, _)| name_key(number) == key);
    let row = |(key, _, thing): (&String, u64, &Thing)| {
        let kind = match known(key) {
            Some((_, true)) => "setting tool",
            Some((_, false)) => "shows a reading",
            None if around.tools.is_empty() => "",
            None => "not in the register",
        };
        vec![
            Cell::text(thing.written.clone()),
            Cell::text(Some(kind).filter(|kind| !kind.is_empty())),
            Cell::Share(thing.jobs.share()),
            Cell::Count(thing.jobs.in_work),
            Cell::Count(thing.places),
            thing.days.map_or(Cell::Nothing, |(first, _)| Cell::Day(first.0)),
            thing.days.map_or(Cell::Nothing, |(_, last)| Cell::Day(last.0)),
        ]
    };
    let mut remarks = vec![
        "`audit FOLDER --tool NUMBER --since DAY` lists every job that a tool touched, `--lot` those of a lot"
            .to_owned(),
    ];
    remarks.extend(too_many("tools", MOST_NAMES, figures.tools.left_out(), "jobs"));
    Section {
        key: "tools",
        title: "Tools",
        remarks,
        columns: vec![
            column("tool", "tool"),
            column("sort", "sort"),
            column("passed", "jobs passed"),
            column("in_work", "in work"),
            column("places", "places"),
            column("first", "first"),
            column("last", "last"),
        ],
        rows: figures.tools.iter().map(row).collect(),
        charts: Vec::new(),
    }
}
