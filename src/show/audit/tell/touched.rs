//! Every job that a tool or a lot touched.

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, Section};
use crate::audit::sums::{Things, name_key};
use crate::audit::taken::JobOutcome;
use crate::diagnostic::nearest;
use crate::report::text::count;

/// What is to be known of the list.
pub(super) fn remarks(figures: &Figures, around: &Around<'_>) -> Vec<String> {
    let mut remarks = Vec::new();
    let written = |things: &Things| -> Vec<String> {
        things.iter().filter_map(|(_, _, thing)| thing.written.clone()).collect()
    };
    let mut tools = written(&figures.tools);
    tools.extend(around.tools.iter().map(|(number, _)| number.clone()));
    let both = [
        ("tool", &figures.wanted.tool, &figures.tools, tools),
        ("lot", &figures.wanted.lot, &figures.lots, written(&figures.lots)),
    ];
    for (what, name, things, known) in both {
        let Some(name) = name else { continue };
        if things.get(&name_key(name)).is_some() || (things.left_out() > 0 && !figures.touched.is_empty()) {
            continue;
        }
        let others = known.iter().map(String::as_str).filter(|known| name_key(known) != name_key(name));
        let near = nearest(name, others);
        let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        let since = figures.wanted.since.map_or_else(String::new, |since| format!(" since {}", since.0));
        remarks.push(format!("no job{since} names the {what} `{name}`{near}"));
    }
    if figures.with_errors > 0 {
        remarks.push(format!(
            "{} with errors in the record, which may name it in a way that is not found here: `inspect` says where",
            count(figures.with_errors, "job")
        ));
    }
    remarks
}

/// The list, by day.
pub(super) fn jobs(figures: &Figures) -> Section {
    let rows = figures.touched.iter().map(|((day, name), _, touched)| {
        let outcome = match touched.outcome {
            JobOutcome::Passed => "passed",
            JobOutcome::Failed => "failed",
            JobOutcome::InWork => "in work",
        };
        vec![
            day.map_or(Cell::Nothing, |day| Cell::Day(day.0)),
            Cell::text(touched.number.clone()),
            Cell::Text(outcome.to_owned()),
            Cell::text(touched.technician.clone()),
            Cell::text(Some(touched.path.clone()).filter(|path| !path.is_empty())),
            Cell::Count(touched.places),
            Cell::Place(name.clone(), touched.line),
        ]
    });
    Section {
        key: "touched",
        title: "Jobs that it touched",
        remarks: Vec::new(),
        columns: vec![
            column("day", "day"),
            column("job", "job"),
            column("outcome", "outcome"),
            column("technician", "technician"),
            column("used_for", "used for first"),
            column("places", "places"),
            column("place", "where"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}
