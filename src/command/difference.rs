//! Differences line by line, printed for people or for `patch`.

use std::io::{self, IsTerminal};

use super::Failure;
use super::output::{Sink, complain};
use crate::report::difference::{shown_lines, unified};
use crate::report::text::{harmless, shown};

/// Writes the difference of two texts of a file: with every character shown and in the usual colours, if any, on a screen,
/// and as it is anywhere else, for `patch`. What no report would let through is said to be there.
///
/// # Errors
/// The texts are too long, or the difference cannot be written.
pub(super) fn write_difference(
    name: &str,
    (before, after): (&str, &str),
    colour: bool,
    sink: &mut Sink,
) -> Result<(), Failure> {
    let name = shown(name);
    let Some(difference) = unified((&name, before), (&name, after)) else {
        return Err(Failure(format!("`{name}` is too long for a difference line by line")));
    };
    if io::stdout().is_terminal() {
        return sink.write(for_people(&difference, colour).as_bytes());
    }
    if !difference.lines().eq(shown_lines(&difference).lines()) {
        complain(&format!(
            "the difference of `{name}` holds characters that cannot be seen or turn the writing, as they are in the file: \
             do not judge it by eye"
        ));
    }
    if harmless(&difference, true) != difference {
        complain(&format!(
            "the difference of `{name}` holds lines that a CI server would take for commands; they are written otherwise, \
             so it cannot be applied: let this program change the file itself"
        ));
    }
    sink.write(difference.as_bytes())
}

/// A difference made harmless, with its lines in the usual colours.
pub(super) fn for_people(difference: &str, colour: bool) -> String {
    let difference = shown_lines(difference);
    if !colour {
        return difference;
    }
    let paint = |line: &str| match line.chars().next() {
        Some('+') => format!("\u{1b}[32m{line}\u{1b}[0m\n"),
        Some('-') => format!("\u{1b}[31m{line}\u{1b}[0m\n"),
        Some('@') => format!("\u{1b}[36m{line}\u{1b}[0m\n"),
        _ => format!("{line}\n"),
    };
    difference.lines().map(paint).collect()
}
