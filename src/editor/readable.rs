//! The documents of a text that is being typed: where it cannot be read, those of the text without the lines that are in the way.

use crate::code::LAYOUT;
use crate::diagnostic::Diagnostic;
use crate::document::{self, Document, Forms};
use crate::source::SourceId;

/// So many lines are taken out, one after the other.
const MOST_LINES: usize = 3;

/// The documents of a text. A line that is in the way is read as if it were blank, so that all else is where it is.
#[must_use]
pub fn documents<'t>(text: &'t str, forms: &Forms) -> Vec<Document<'t>> {
    let (documents, found) = document::read(SourceId::FIRST, text, forms);
    let readable = stop(&found).and_then(|at| readable(text, at, forms));
    readable.map_or(documents, |(_, documents)| documents)
}

/// A text that cannot be read, with blanks in the place of what is in the way; nothing where it can be read, and where that
/// is of no help.
#[must_use]
pub fn text(text: &str, forms: &Forms) -> Option<String> {
    let (_, found) = document::read(SourceId::FIRST, text, forms);
    Some(readable(text, stop(&found)?, forms)?.0)
}

fn readable(text: &str, at: usize, forms: &Forms) -> Option<(String, Vec<Document<'static>>)> {
    [Line::Before, Line::Own].into_iter().find_map(|line| without(text, at, line, forms))
}

/// Where a text cannot be read any further.
fn stop(found: &[Diagnostic]) -> Option<usize> {
    let is_layout = |one: &&Diagnostic| one.code == LAYOUT;
    found.iter().find(is_layout)?.place().map(|place| place.span.start as usize)
}

/// Which line is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Line {
    /// The one with words before the place: a bracket that is not closed, or half a name, is found out on the next line.
    Before,
    /// That of the place.
    Own,
}

fn without(
    text: &str,
    mut at: usize,
    which: Line,
    forms: &Forms,
) -> Option<(String, Vec<Document<'static>>)> {
    let mut text = text.to_owned();
    for _ in 0..MOST_LINES {
        let before = text.get(..at)?;
        let own = before.rfind('\n').map_or(0, |end| end + 1);
        let start = match which {
            Line::Own => own,
            Line::Before => text.get(..own)?.trim_end().rfind('\n').map_or(0, |end| end + 1),
        };
        let length = text.get(start..)?.find('\n').unwrap_or(text.len() - start);
        text.replace_range(start..start + length, &" ".repeat(length));
        let (documents, found) = document::read(SourceId::FIRST, &text, forms);
        match stop(&found) {
            None => {
                let documents = documents.into_iter().map(Document::into_owned).collect();
                return Some((text, documents));
            }
            // It was not that line.
            Some(next) if next <= at => return None,
            Some(next) => at = next,
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::documents;
    use crate::document::Forms;

    const WHOLE: &str = "form: job/1\njob: {number: K-1}\nfastenings:\n  - {role: drain plug}\n  - {role: fill plug}\nlevel_check:\n  temperature: 40 °C\n";

    fn read(text: &str) -> Vec<(String, usize)> {
        let forms = Forms::builtin();
        let all = documents(text, &forms);
        let names = all.iter().flat_map(|one| one.entries(one.root()));
        names.map(|entry| (entry.key.to_string(), entry.key_span.start as usize)).collect()
    }

    #[test]
    fn what_is_around_a_line_that_cannot_be_read_is_read_at_its_place() {
        let whole = read(WHOLE);
        assert_eq!(whole.len(), 4);
        for (place, typed) in [
            ("  - {role: fill plug}\n", "  - {role: fill plug}\n  - {role: level plug, \n"),
            ("  - {role: fill plug}\n", "  - {role: fill plug}\n  - role: level plug\n    tor\n"),
            ("  temperature: 40 °C\n", "  temperature: 40 °C\n\tx: 1\n"),
            ("  - {role: fill plug}\n", "  - {role: fill plug}\n  - role: level: plug\n"),
        ] {
            let text = WHOLE.replace(place, typed);
            let expected: Vec<(String, usize)> = whole
                .iter()
                .map(|(name, _)| (name.clone(), text.find(&format!("\n{name}:")).map_or(0, |at| at + 1)))
                .collect();
            assert_eq!(read(&text), expected, "{text}");
        }
    }

    #[test]
    fn what_cannot_be_read_at_all_is_given_up() {
        assert!(read(&"\t{[\n".repeat(1_000)).is_empty());
        assert!(read("x: \"\n").len() < 2);
    }
}
