//! An audit for programs: `audit/1`, described by `grammar/audit.schema.json`.

use serde_json::{Value, json};

use crate::audit::page::{Cell, Page, Section};
use crate::report::json;
use crate::statistics::CONFIDENCE;
use crate::statistics::proportion::wilson;

/// The form and version.
pub const FORM: &str = "audit/1";

/// Rows stand on lines of their own, so that a reader can take in a very large one line by line.
pub(super) fn write(page: &Page) -> Vec<u8> {
    let mut out = vec![b'{'];
    let mut member = |name: &str, value: &Value| {
        json::write(name, &mut out);
        out.push(b':');
        json::write(value, &mut out);
        out.extend_from_slice(b",\n");
    };
    member("form", &json!(FORM));
    member("version", &json!(env!("CARGO_PKG_VERSION")));
    member("as_of", &json!(page.as_of.to_string()));
    member("confidence", &json!(CONFIDENCE));
    member("remarks", &json!(page.remarks));
    let summary = page.summary.iter().map(|(column, cell)| (column.key.to_owned(), self::cell(cell)));
    member("summary", &Value::Object(summary.collect()));
    out.extend_from_slice(b"\"sections\":{");
    for (number, section) in page.sections.iter().enumerate() {
        out.extend_from_slice(if number == 0 { b"\n" } else { b",\n" });
        self::section(section, &mut out);
    }
    out.extend_from_slice(b"\n}}\n");
    out
}

fn section(section: &Section, out: &mut Vec<u8>) {
    json::write(section.key, out);
    out.extend_from_slice(b":{\"title\":");
    json::write(section.title, out);
    out.extend_from_slice(b",\"remarks\":");
    json::write(&section.remarks, out);
    out.extend_from_slice(b",\"rows\":[");
    for (number, row) in section.rows.iter().enumerate() {
        out.extend_from_slice(if number == 0 { b"\n" } else { b",\n" });
        let cells = section.columns.iter().zip(row).filter(|(_, cell)| **cell != Cell::Nothing);
        let row = cells.map(|(column, cell)| (column.key.to_owned(), self::cell(cell)));
        json::write(&Value::Object(row.collect()), out);
    }
    out.extend_from_slice(b"]}");
}

fn cell(cell: &Cell) -> Value {
    match cell {
        Cell::Nothing => Value::Null,
        Cell::Text(text) => json!(text),
        Cell::Names(names, 0) | Cell::Examples(names) => json!({ "names": names }),
        Cell::Names(names, more) => json!({ "names": names, "more": more }),
        Cell::Count(count) => json!(count),
        Cell::Share(share) => {
            let interval = wilson(*share);
            json!({
                "count": share.count,
                "of": share.of,
                "share": share.value(),
                "low": interval.map(|interval| interval.low),
                "high": interval.map(|interval| interval.high),
            })
        }
        Cell::Figure(figure, _, "") => json!(figure),
        Cell::Figure(figure, _, unit) => json!({ "value": figure, "unit": unit }),
        Cell::Estimate(figure, interval, _, unit) => {
            let mut estimate = json!({ "value": figure, "low": interval.low, "high": interval.high });
            if !unit.is_empty()
                && let Value::Object(fields) = &mut estimate
            {
                fields.insert("unit".to_owned(), json!(unit));
            }
            estimate
        }
        Cell::Probability(p) => json!(p),
        Cell::Day(day) => json!(day.to_string()),
        Cell::Place(document, line) => json!({ "document": document, "line": line }),
    }
}
