//! An audit for a screen: tables where they fit, else a fact a line.

use crate::audit::page::{Page, Section};
use crate::report::Style;
use crate::report::text::{fill, shown, width};

/// Tables are laid out for so many columns at least.
const BETWEEN: usize = 2;

pub(super) fn write(page: &Page, style: &Style) -> String {
    let columns = style.columns();
    let mut out = format!("Audit as of {}\n", page.as_of);
    for remark in &page.remarks {
        out.push_str(&fill("  - ", 4, &shown(remark), columns));
        out.push('\n');
    }
    let lead = page.told().map(|(column, _)| width(column.title)).max().unwrap_or_default();
    out.push('\n');
    for (column, cell) in page.told() {
        let blank = " ".repeat(lead + BETWEEN - width(column.title));
        out.push_str(&format!("  {}{blank}{}\n", column.title, shown(&cell.words())));
    }
    for section in &page.sections {
        out.push_str(&format!("\n{}\n", section.title));
        for remark in &section.remarks {
            out.push_str(&fill("  ", 2, &shown(remark), columns));
            out.push('\n');
        }
        if section.rows.is_empty() {
            out.push_str("  none\n");
            continue;
        }
        table(section, columns, &mut out);
    }
    out
}

fn table(section: &Section, columns: usize, out: &mut String) {
    let words: Vec<Vec<String>> = section
        .rows
        .iter()
        .map(|row| row.iter().map(|cell| shown(&cell.words()).into_owned()).collect())
        .collect();
    let used = |number: &usize| words.iter().any(|row| row.get(*number).is_some_and(|cell| !cell.is_empty()));
    let kept: Vec<usize> = (0..section.columns.len()).filter(used).collect();
    let title = |number: usize| section.columns.get(number).map_or("", |column| column.title);
    let cell = |row: &[String], number: usize| row.get(number).cloned().unwrap_or_default();
    let widths: Vec<usize> = kept
        .iter()
        .map(|number| {
            let cells = words.iter().map(|row| row.get(*number).map_or(0, |cell| width(cell)));
            cells.chain([width(title(*number))]).max().unwrap_or_default()
        })
        .collect();
    let total: usize = widths.iter().map(|width| width + BETWEEN).sum();
    if total > columns {
        return stacked(section, &words, &kept, columns, out);
    }
    let mut line = |cells: Vec<String>, right: &dyn Fn(usize) -> bool| {
        let mut text = String::new();
        for ((cell, wide), number) in cells.iter().zip(&widths).zip(&kept) {
            let blank = " ".repeat(wide - width(cell).min(*wide));
            text.push_str(&" ".repeat(BETWEEN));
            match right(*number) {
                true => text.extend([blank.as_str(), cell]),
                false => text.extend([cell, blank.as_str()]),
            }
        }
        out.push_str(text.trim_end());
        out.push('\n');
    };
    let is_number = |number: usize| {
        let mut cells = section.rows.iter().filter_map(|row| row.get(number));
        cells.all(crate::audit::page::Cell::is_number)
    };
    line(kept.iter().map(|number| title(*number).to_owned()).collect(), &is_number);
    for row in &words {
        line(kept.iter().map(|number| cell(row, *number)).collect(), &is_number);
    }
}

/// Each row as a block: its first cell, and below it what there is besides.
fn stacked(section: &Section, words: &[Vec<String>], kept: &[usize], columns: usize, out: &mut String) {
    let titles = kept.iter().skip(1).filter_map(|number| section.columns.get(*number));
    let lead = titles.map(|column| width(column.title)).max().unwrap_or_default() + 2 * BETWEEN + 2;
    for row in words {
        let mut cells =
            kept.iter().filter_map(|number| Some((section.columns.get(*number)?, row.get(*number)?)));
        if let Some((_, first)) = cells.next() {
            out.push_str(&fill("  ", 2, first, columns));
            out.push('\n');
        }
        for (column, cell) in cells.filter(|(_, cell)| !cell.is_empty()) {
            let title = format!("    {}", column.title);
            let title = format!("{title}{}", " ".repeat(lead.saturating_sub(width(&title))));
            out.push_str(&fill(&title, lead, cell, columns));
            out.push('\n');
        }
    }
}
