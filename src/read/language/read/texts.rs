//! Quoted texts: their escapes, and the values in messages.

use std::borrow::Cow;

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Expr, Message, Part, Text};
use crate::language::read::plain::unescaped;
use crate::language::read::scan::is_space;
use crate::letters::composed;
use crate::source::{Place, SourceId, Span, Spanned};

/// Reads an expression that stands at an offset of the file.
type ReadExpression<'r> = &'r dyn Fn(&str, u32) -> Result<Expr, Diagnostic>;

/// The text that a literal stands for.
///
/// # Errors
/// An escape that is not known, or a control character.
pub(crate) fn text(source: SourceId, literal: &str, span: Span) -> Result<Text, Diagnostic> {
    if let Some(inside) = unescaped(literal) {
        return Ok(Spanned::new(composed(Cow::Borrowed(inside)).into_owned(), span));
    }
    let mut text = String::with_capacity(literal.len());
    for piece in Pieces::new(source, literal, span) {
        text.push(piece?.character);
    }
    Ok(Spanned::new(composed(Cow::Owned(text)).into_owned(), span))
}

/// The message that a literal stands for; every mistake in it is given to `report`.
pub(crate) fn message(
    source: SourceId,
    literal: &str,
    span: Span,
    read: ReadExpression<'_>,
    report: &mut dyn FnMut(Diagnostic),
) -> Option<Message> {
    let mut reader =
        MessageReader { source, read, report, parts: Vec::new(), words: String::new(), good: true };
    let mut pieces = Pieces::new(source, literal, span);
    while let Some(piece) = pieces.next() {
        match piece {
            Ok(piece) if !piece.escaped && matches!(piece.character, '{' | '}') => {
                reader.brace(piece, &mut pieces)
            }
            Ok(piece) => reader.words.push(piece.character),
            Err(mistake) => reader.fail(mistake),
        }
    }
    reader.end_words();
    reader.good.then_some(Message { span, parts: reader.parts })
}

struct MessageReader<'r> {
    source: SourceId,
    read: ReadExpression<'r>,
    report: &'r mut dyn FnMut(Diagnostic),
    parts: Vec<Part>,
    words: String,
    good: bool,
}

impl MessageReader<'_> {
    fn fail(&mut self, mistake: Diagnostic) {
        self.good = false;
        (self.report)(mistake);
    }

    fn end_words(&mut self) {
        if !self.words.is_empty() {
            self.parts.push(Part::Words(std::mem::take(&mut self.words)));
        }
    }

    fn brace(&mut self, brace: Piece, pieces: &mut Pieces<'_>) {
        let twice = pieces.rest.starts_with(brace.character);
        if twice {
            pieces.skip(1);
            self.words.push(brace.character);
        } else if brace.character == '}' {
            self.fail(self.mistake(brace.span, "this brace closes nothing").help("write `}}` for a brace"));
        } else {
            self.value(brace, pieces);
        }
    }

    fn value(&mut self, brace: Piece, pieces: &mut Pieces<'_>) {
        let length = pieces.rest.find(['{', '}']).filter(|at| pieces.rest.get(*at..*at + 1) == Some("}"));
        let Some(written) = length.and_then(|length| pieces.rest.get(..length)) else {
            let mistake = self.mistake(brace.span, "the value that begins here is not closed");
            self.fail(mistake.help("put `}` at its end, or write `{{` for a brace"));
            return;
        };
        let at = pieces.at;
        pieces.skip(written.len() + 1);
        let inside = Span::new(at as usize, at as usize + written.len());
        if written.chars().all(is_space) {
            let mistake = self.mistake(brace.span.to(inside), "there is no value between these braces");
            self.fail(mistake.help("name a value, such as `{s.torque}`, or write `{{` for a brace"));
        } else if written.contains('\\') {
            let mistake = self.mistake(inside, "a value in a message cannot hold a quoted text");
            self.fail(mistake.help("give the value a name with `let`"));
        } else {
            self.end_words();
            match (self.read)(written, at) {
                Ok(value) => self.parts.push(Part::Value(value)),
                Err(mistake) => self.fail(mistake),
            }
        }
    }

    fn mistake(&self, span: Span, message: &str) -> Diagnostic {
        Diagnostic::error(code::MESSAGE_FORM, Place { source: self.source, span }, message)
    }
}

/// A character of a text and where it was written.
struct Piece {
    character: char,
    span: Span,
    escaped: bool,
}

/// The characters that a literal stands for.
struct Pieces<'t> {
    source: SourceId,
    rest: &'t str,
    at: u32,
}

impl<'t> Pieces<'t> {
    fn new(source: SourceId, literal: &'t str, span: Span) -> Self {
        let mut inside = literal.chars();
        let opening = inside.next().map_or(0, char::len_utf8);
        inside.next_back();
        let at = span.start.saturating_add(Span::new(opening, opening).start);
        Pieces { source, rest: inside.as_str(), at }
    }

    fn skip(&mut self, bytes: usize) {
        self.rest = self.rest.get(bytes..).unwrap_or_default();
        self.at = self.at.saturating_add(Span::new(bytes, bytes).start);
    }

    fn escape(&mut self, start: u32) -> Result<Piece, Diagnostic> {
        let escaped = self.rest.chars().next().unwrap_or('\\');
        self.skip(escaped.len_utf8());
        let span = Span { start, end: self.at };
        let character = match escaped {
            '"' | '\\' | '“' | '”' => escaped,
            'n' => '\n',
            _ => {
                let message = format!("`\\{escaped}` stands for nothing in a quoted text");
                let place = Place { source: self.source, span };
                let help = match escaped {
                    'd' | 'w' => {
                        "in a pattern `#` stands for a digit, `@` for a letter, `~` for any run of characters"
                    }
                    _ => "`\\\"` is a quote, `\\\\` a backslash, `\\n` a new line",
                };
                return Err(Diagnostic::error(code::TEXT_FORM, place, message).help(help));
            }
        };
        Ok(Piece { character, span, escaped: true })
    }
}

impl Iterator for Pieces<'_> {
    type Item = Result<Piece, Diagnostic>;

    fn next(&mut self) -> Option<Self::Item> {
        let character = self.rest.chars().next()?;
        let start = self.at;
        self.skip(character.len_utf8());
        let span = Span { start, end: self.at };
        Some(match character {
            '\\' => self.escape(start),
            _ if character.is_control() && character != '\t' => {
                let message =
                    format!("a text cannot hold the control character U+{:04X}", u32::from(character));
                let place = Place { source: self.source, span };
                Err(Diagnostic::error(code::TEXT_FORM, place, message).help("take it out"))
            }
            _ => Ok(Piece { character, span, escaped: false }),
        })
    }
}
