//! Texts for people: made safe to show, counted, and laid out in lines.

use std::borrow::Cow;
use std::fmt::Write as _;

use crate::letters::is_unseen;
use textwrap::core::display_width;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// The most characters of one text that a report for people shows.
pub const LONGEST: usize = 2_000;

/// A text on one line that can do nothing to a screen: control characters, marks that turn the
/// direction of writing and characters that cannot be seen are written out as `\u{202e}`, line
/// ends and tabs become spaces, and what follows the first [`LONGEST`] characters is cut off.
#[must_use]
pub fn shown(text: &str) -> Cow<'_, str> {
    let cut =
        Some(text).filter(|text| text.len() > LONGEST).and_then(|text| text.char_indices().nth(LONGEST));
    if cut.is_none() && !text.chars().any(must_be_written_out) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len().min(4 * LONGEST));
    for c in text.chars().take(LONGEST) {
        put(c, " ", &mut out);
    }
    if cut.is_some() {
        out.push('…');
    }
    Cow::Owned(out)
}

/// Appends one character as [`shown`] would, a tab or line end as `blank`.
pub fn put(c: char, blank: &str, out: &mut String) {
    match c {
        '\t' | '\n' | '\r' => out.push_str(blank),
        _ if must_be_written_out(c) => {
            // Writing to a string cannot fail.
            let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
        }
        _ => out.push(c),
    }
}

/// Whether a character could move the cursor, turn the direction of writing or hide.
fn must_be_written_out(c: char) -> bool {
    c.is_control() || is_unseen(c)
}

/// Lines of a report in which none is a command of the server that runs the program: `::name …` at the beginning of a line,
/// `##name[…` anywhere in it. `begins` says whether the text begins a line.
#[must_use]
pub fn harmless(text: &str, begins: bool) -> Cow<'_, str> {
    if !text.contains("::") && !text.contains("##") {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let bare = uncoloured(line);
        let line = match bare.strip_prefix("::").filter(|_| begins || number > 0) {
            Some(rest) => {
                let (blanks, _) = line.split_at(line.len() - bare.len());
                format!("{blanks}\\u{{3a}}:{rest}")
            }
            None => line.to_owned(),
        };
        put_unmarked(&line, &mut out);
    }
    Cow::Owned(out)
}

/// A line from the first character on that is neither blank nor part of a colour.
fn uncoloured(line: &str) -> &str {
    let mut bare = line.trim_start();
    while let Some((_, rest)) = bare.strip_prefix("\u{1b}[").and_then(|colour| colour.split_once('m')) {
        bare = rest.trim_start();
    }
    bare
}

/// Appends a line with the second sign of each `##name[` written out.
fn put_unmarked(line: &str, out: &mut String) {
    let mut rest = line;
    while let Some((before, behind)) = rest.split_once("##") {
        let is_mark = behind.trim_start_matches(|c: char| c.is_ascii_alphabetic()).starts_with('[');
        out.push_str(before);
        out.push('#');
        // The second sign can be the first of another mark.
        rest = rest.get(before.len() + 1..).unwrap_or_default();
        if is_mark {
            out.push_str("\\u{23}");
            rest = behind;
        }
    }
    out.push_str(rest);
}

/// A line of a drawing behind a blank margin, safe to show, with signs of ASCII alone where the screen knows no others.
#[must_use]
pub fn drawn(margin: &str, line: &str, unicode: bool) -> String {
    let ascii = |c| match c {
        _ if unicode => c,
        '·' => '.',
        '‹' => '<',
        '›' => '>',
        '–' | '─' | '┄' => '-',
        '│' | '┤' => '|',
        '└' => '+',
        '═' => '=',
        '▲' => '^',
        '\u{2801}'..='\u{28ff}' => '*',
        _ => c,
    };
    let line: String = shown(line).chars().map(ascii).collect();
    format!("{margin}{line}").trim_end().to_owned()
}

/// `1 hold`, `3 holds`; `3 advised`, for advice is not counted.
#[must_use]
pub fn count(number: u64, one: &str) -> String {
    match (one, number) {
        ("advice", _) => format!("{number} advised"),
        (_, 1) => format!("1 {one}"),
        _ => format!("{number} {one}s"),
    }
}

/// Names joined by commas, at most `most` of them; the others are counted.
#[must_use]
pub fn list<'a>(names: impl IntoIterator<Item = &'a str>, most: usize) -> String {
    let mut names = names.into_iter();
    let mut text =
        names.by_ref().take(most).map(|name| shown(name).into_owned()).collect::<Vec<_>>().join(", ");
    match names.count() {
        0 => {}
        more => {
            let _ = write!(text, " and {more} more");
        }
    }
    text
}

/// A text broken into lines of at most `width` columns: the first begins with `lead`, the others
/// with as many spaces as `hang` says. Words longer than a line are broken.
#[must_use]
pub fn fill(lead: &str, hang: usize, text: &str, width: usize) -> String {
    let blank = " ".repeat(hang);
    textwrap::fill(text, options(width).initial_indent(lead).subsequent_indent(&blank))
}

/// A text broken into lines of at most `width` columns.
#[must_use]
pub fn lines(text: &str, width: usize) -> Vec<String> {
    textwrap::wrap(text, options(width)).into_iter().map(Cow::into_owned).collect()
}

/// How words are told apart: by spaces only, so that names and paths stay whole.
pub const WORDS: WordSeparator = WordSeparator::AsciiSpace;

fn options<'o>(width: usize) -> Options<'o> {
    Options::new(width)
        .word_separator(WORDS)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .break_words(true)
}

/// Columns that a text takes on the screen, added up character by character.
#[must_use]
pub fn width(text: &str) -> usize {
    text.chars().map(|c| display_width(c.encode_utf8(&mut [0; 4]))).sum()
}
