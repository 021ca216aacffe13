//! An audit as a table for other programs: a line for each figure.
//!
//! `section,row,column,part,value`: rows are numbered from 1; `part` says which figure of a cell it is, and is empty where a cell
//! has one. A text that a spreadsheet would take for a formula has an apostrophe before it.

use crate::audit::page::{Cell, Page};
use crate::statistics::Interval;
use crate::statistics::proportion::wilson;

pub(super) fn write(page: &Page) -> String {
    let mut out = String::from("section,row,column,part,value\n");
    let mut lines = |section: &str, row: usize, column: &str, cell: &Cell| {
        for (part, value) in parts(cell) {
            let fields = [section, &row.to_string(), column, part, &value].map(quoted);
            out.push_str(&fields.join(","));
            out.push('\n');
        }
    };
    for (column, cell) in &page.summary {
        lines("summary", 1, column.key, cell);
    }
    for section in &page.sections {
        for (number, row) in section.rows.iter().enumerate() {
            for (column, cell) in section.columns.iter().zip(row) {
                lines(section.key, number + 1, column.key, cell);
            }
        }
    }
    out
}

fn quoted(text: &str) -> String {
    let is_plain = !text.contains(['"', ',', '\n', '\r']);
    if is_plain { text.to_owned() } else { format!("\"{}\"", text.replace('"', "\"\"")) }
}

fn text(text: &str) -> String {
    let text = crate::report::text::shown(text);
    let is_formula = text.starts_with(['=', '+', '-', '@']);
    if is_formula { format!("'{text}") } else { text.into_owned() }
}

fn parts(cell: &Cell) -> Vec<(&'static str, String)> {
    let interval = |Interval { low, high }: Interval| [("low", low.to_string()), ("high", high.to_string())];
    let unit = |unit: &str| Some(("unit", unit.to_owned())).filter(|_| !unit.is_empty());
    match cell {
        Cell::Nothing => Vec::new(),
        Cell::Text(one) => vec![("", text(one))],
        Cell::Names(..) | Cell::Examples(_) => vec![("", text(&cell.words()))],
        Cell::Count(count) => vec![("", count.to_string())],
        Cell::Share(share) => {
            let mut parts = vec![("count", share.count.to_string()), ("of", share.of.to_string())];
            parts.extend(share.value().map(|value| ("share", value.to_string())));
            parts.extend(wilson(*share).into_iter().flat_map(interval));
            parts
        }
        Cell::Figure(figure, _, of) => [("", figure.to_string())].into_iter().chain(unit(of)).collect(),
        Cell::Estimate(figure, ends, _, of) => {
            [("value", figure.to_string())].into_iter().chain(interval(*ends)).chain(unit(of)).collect()
        }
        Cell::Probability(p) => vec![("", p.to_string())],
        Cell::Day(day) => vec![("", day.to_string())],
        Cell::Place(document, line) => vec![("document", text(document)), ("line", line.to_string())],
    }
}
