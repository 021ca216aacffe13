//! Where a place is, in the terms of people and of other tools.

use crate::library::came_with_it;
use crate::source::{COMMAND_LINE, Place, Position, STANDARD_INPUT, Source, Sources, Span};
use crate::trade::logbook::LOGBOOK_OF;

/// A place whose bounds lie within its source and between characters.
#[derive(Clone, Copy, Debug)]
pub struct Located<'s> {
    /// The source.
    pub source: &'s Source,
    /// The bytes.
    pub span: Span,
    /// Where the first character stands.
    pub start: Position,
    /// Where the character after the last one stands.
    pub end: Position,
    /// The text that stands there.
    pub text: &'s str,
}

/// Finds a place; none if its source is unknown. Bounds past the end of the text are the end.
#[must_use]
pub fn locate(sources: &Sources, place: Place) -> Option<Located<'_>> {
    let source = sources.get(place.source)?;
    let text = source.text();
    let start = text.floor_char_boundary(place.span.start as usize);
    let end = text.floor_char_boundary(place.span.end as usize).max(start);
    let span = Span::new(start, end);
    Some(Located {
        source,
        span,
        start: source.position(span.start),
        end: source.position(span.end),
        text: text.get(start..end).unwrap_or_default(),
    })
}

/// Whether a source of this name is a file: neither standard input nor a text of the program itself, such as a logbook.
#[must_use]
pub fn is_file(name: &str) -> bool {
    ![COMMAND_LINE, STANDARD_INPUT].contains(&name)
        && came_with_it(name).is_none()
        && !name.starts_with(LOGBOOK_OF)
}
