//! An audit as one file of HTML: no scripts, and nothing that is loaded from elsewhere.

use maud::{Markup, PreEscaped, html};

use super::svg::drawn;
use crate::audit::page::{Cell, Page, Section};
use crate::report::one_file;
use crate::report::text::shown;

/// The page. `to_records` leads from the page to the folder from which records are named; none where links would lead
/// nowhere.
pub(super) fn write(page: &Page, to_records: Option<&str>) -> String {
    let body = html! {
        header {
            h1 { "Audit as of " (page.as_of) }
            p class="quiet" { "What many jobs come to, made by witnessmark " (env!("CARGO_PKG_VERSION")) ". A record that passes is no proof of safe work." }
        }
        nav aria-label="Contents" {
            ul { @for section in &page.sections { li { a href={ "#" (section.key) } { (section.title) } " (" (section.rows.len()) ")" } } }
        }
        main {
            section aria-label="Summary" {
                dl { @for (column, cell) in page.told() { dt { (column.title) } dd { (words(cell)) } } }
                ul { @for remark in &page.remarks { li { (sentence(remark)) } } }
            }
            @for section in &page.sections { (self::section(section, to_records)) }
        }
    };
    one_file::page(&format!("Audit as of {}", page.as_of), include_str!("audit.css"), &body)
}

/// A remark as a sentence, what it quotes in the letters of programs.
fn sentence(remark: &str) -> Markup {
    let remark = shown(remark);
    let mut letters = remark.chars();
    let first: String = letters.next().map(|first| first.to_uppercase().collect()).unwrap_or_default();
    let whole = format!("{first}{}.", letters.as_str());
    html! {
        @for (number, part) in whole.split('`').enumerate() {
            @if number % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

fn words(cell: &Cell) -> String {
    shown(&cell.words()).into_owned()
}

fn section(section: &Section, to_records: Option<&str>) -> Markup {
    html! {
        section id=(section.key) {
            h2 { (section.title) }
            @for remark in &section.remarks { p class="quiet" { (sentence(remark)) } }
            @for chart in &section.charts {
                figure {
                    figcaption { (shown(&chart.title)) }
                    div class="scroll" { (PreEscaped(drawn(&chart.drawing))) }
                }
            }
            @if section.rows.is_empty() { p { "None." } } @else { (table(section, to_records)) }
        }
    }
}

/// So many letters stand on one line.
const SHORT: usize = 24;

fn table(section: &Section, to_records: Option<&str>) -> Markup {
    // What no row has is no column.
    let used = |number: &usize| {
        section.rows.iter().any(|row| row.get(*number).is_some_and(|cell| *cell != Cell::Nothing))
    };
    let kept: Vec<usize> = (0..section.columns.len()).filter(used).collect();
    let is_number = |number: usize| {
        section
            .rows
            .iter()
            .filter_map(|row| row.get(number))
            .all(|cell| cell.is_number() || *cell == Cell::Nothing)
    };
    let class = |number: usize, cell: &Cell| match cell {
        _ if is_number(number) => "number",
        Cell::Nothing => "",
        // A name stands on one line, a sentence has room.
        Cell::Text(text) if text.chars().count() > SHORT => "wide",
        Cell::Names(..) | Cell::Examples(_) | Cell::Place(..) => "wide",
        _ => "short",
    };
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(section.title) {
            table {
                thead {
                    tr {
                        @for number in &kept {
                            th scope="col" class=(if is_number(*number) { "number" } else { "" }) { (section.columns.get(*number).map_or("", |column| column.title)) }
                        }
                    }
                }
                tbody {
                    @for row in &section.rows {
                        tr {
                            @for (place, number) in kept.iter().enumerate() {
                                @let cell = row.get(*number).unwrap_or(&Cell::Nothing);
                                @if place == 0 { th scope="row" class=(class(*number, cell)) { (inside(cell, to_records)) } }
                                @else { td class=(class(*number, cell)) { (inside(cell, to_records)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn inside(cell: &Cell, to_records: Option<&str>) -> Markup {
    match (cell, to_records) {
        (Cell::Place(name, line), Some(to)) if is_below(name) => {
            html! { a href=(link(to, name, *line)) { (words(cell)) } }
        }
        (Cell::Examples(names), Some(to)) => html! {
            @for (number, name) in names.iter().enumerate() {
                @if number > 0 { ", " }
                @if is_below(name) { a href=(link(to, name, 0)) { (shown(name)) } } @else { (shown(name)) }
            }
        },
        _ => html! { (words(cell)) },
    }
}

/// Whether a record is named from the working folder.
fn is_below(name: &str) -> bool {
    !name.starts_with(['/', '\\']) && !name.contains(":\\")
}

/// A way to a record. It begins with a dot, so that no name of a file is taken for an address of another kind.
fn link(to: &str, name: &str, line: usize) -> String {
    // A document of several in one text is named by its file and its number.
    let file = name.split_once(" (document ").map_or(name, |(file, _)| file);
    let mut link = to.to_owned();
    for byte in file.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' | b'~' => {
                link.push(char::from(byte))
            }
            other => link.push_str(&format!("%{other:02X}")),
        }
    }
    if line > 0 {
        link.push_str(&format!("#L{line}"));
    }
    link
}
