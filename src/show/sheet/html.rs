//! Pieces of HTML: texts made harmless, room to write in, boxes to tick.

use crate::report::text;

/// The longest run of characters that is not broken: a longer one must not push a table off the page.
const RUN: usize = 20;

/// A text as HTML shows it. Nothing in it can be markup, and what could hide or turn the direction of
/// writing is written out. Unlike on a screen nothing is cut off: it is an instruction.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut run = 0;
    for c in text.chars() {
        put(c, &mut out);
        run = if c.is_whitespace() { 0 } else { run + 1 };
        if run == RUN {
            out.push_str("<wbr>");
            run = 0;
        }
    }
    // Two of them can begin a command of the server that prints the page into its log.
    out.replace("##", "#&#35;")
}

/// The same for places where no markup can stand, such as a title.
pub(super) fn bare(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|c| put(c, &mut out));
    out
}

fn put(c: char, out: &mut String) {
    match c {
        '&' => out.push_str("&amp;"),
        '<' => out.push_str("&lt;"),
        '>' => out.push_str("&gt;"),
        '"' => out.push_str("&quot;"),
        '\'' => out.push_str("&#39;"),
        c => text::put(c, " ", out),
    }
}

/// A text as a string of a style sheet, which stands within the page: every character but letters,
/// digits and spaces is written as its number.
pub(super) fn in_style(text: &str) -> String {
    let mut harmless = String::new();
    for c in text.chars() {
        text::put(c, " ", &mut harmless);
    }
    let escape = |c: char| match c {
        c if c.is_alphanumeric() || c == ' ' => c.to_string(),
        // The blank ends the number.
        c => format!("\\{:x} ", u32::from(c)),
    };
    format!("\"{}\"", harmless.chars().map(escape).collect::<String>())
}

/// Room to write in.
pub(super) const ROOM: &str = "<span class=\"room\"></span>";

/// A box to tick.
pub(super) const BOX: &str = "<span class=\"box\"></span>";

/// Words to choose from, each with its box, the planned one in bold.
pub(super) fn choices<'w>(words: impl IntoIterator<Item = &'w str>, planned: Option<&str>) -> String {
    let word = |word: &str| match planned == Some(word) {
        true => format!("<span class=\"choice\">{BOX}<b>{}</b></span>", escaped(word)),
        false => format!("<span class=\"choice\">{BOX}{}</span>", escaped(word)),
    };
    words.into_iter().map(word).collect()
}

/// A label with room behind it; `class` may ask for a width.
pub(super) fn line(class: &str, label: &str, room: &str) -> String {
    format!("<li class=\"{class}\"><span class=\"label\">{}</span> {room}</li>", escaped(label))
}

/// A table with a head.
pub(super) fn table(class: &str, head: &[&str], rows: &[Vec<String>]) -> String {
    let head: String = head.iter().map(|cell| format!("<th scope=\"col\">{cell}</th>")).collect();
    let row = |row: &Vec<String>| {
        let cells: String = row.iter().map(|cell| format!("<td>{cell}</td>")).collect();
        format!("<tr>{cells}</tr>\n")
    };
    let rows: String = rows.iter().map(row).collect();
    format!("<table class=\"{class}\"><thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody></table>\n")
}
