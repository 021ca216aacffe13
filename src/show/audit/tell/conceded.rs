//! Concessions: who granted them, for what, and how old they are.

use super::{Around, column, too_many};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, Section};
use crate::audit::sums::{MOST_LISTED, MOST_NAMES};

/// By who granted them.
pub(super) fn grantors(figures: &Figures) -> Section {
    let rows = figures.grantors.iter().map(|((by, name), _, grantor)| {
        let rules = grantor.rules.iter().map(|(rule, number, ())| format!("{rule} {number}")).collect();
        vec![
            Cell::Text(by.clone()),
            Cell::text(name.clone()),
            Cell::Count(grantor.granted),
            Cell::Count(grantor.used),
            Cell::Count(grantor.open_ended),
            grantor.days.map_or(Cell::Nothing, |(first, _)| Cell::Day(first.0)),
            grantor.days.map_or(Cell::Nothing, |(_, last)| Cell::Day(last.0)),
            Cell::Names(rules, grantor.rules.left_out()),
        ]
    });
    Section {
        key: "grantors",
        title: "Concessions by who granted them",
        remarks: too_many("names", MOST_NAMES, figures.grantors.left_out(), "concessions")
            .into_iter()
            .collect(),
        columns: vec![
            column("by", "granted by"),
            column("name", "name"),
            column("granted", "granted"),
            column("used", "with a finding under them"),
            column("open_ended", "without a last day"),
            column("first", "first"),
            column("last", "last"),
            column("rules", "rules"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}

/// The oldest.
pub(super) fn oldest(figures: &Figures, around: &Around<'_>) -> Section {
    let rows = figures.oldest.iter().map(|((day, document, line), _, old)| {
        let age = (around.as_of - day.0).get_days();
        let over = old.until.is_some_and(|until| until.0 < around.as_of);
        vec![
            Cell::Day(day.0),
            Cell::Figure(f64::from(age), 0, "days"),
            Cell::Text(old.rule.clone()),
            Cell::Text(old.by.clone()),
            Cell::text(old.name.clone()),
            old.until.map_or(Cell::Nothing, |until| Cell::Day(until.0)),
            Cell::text(over.then_some("over")),
            Cell::Place(document.clone(), *line),
        ]
    });
    Section {
        key: "oldest_concessions",
        title: "The oldest concessions",
        remarks: vec![format!(
            "the {MOST_LISTED} oldest of {}; the day is that of the job",
            crate::report::text::count(figures.oldest.all(), "concession")
        )],
        columns: vec![
            column("day", "day"),
            column("age", "age"),
            column("rule", "rule"),
            column("by", "granted by"),
            column("name", "name"),
            column("until", "until"),
            column("over", "over"),
            column("place", "where"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}
