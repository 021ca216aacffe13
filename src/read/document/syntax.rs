//! The words for mistakes in the layout of a YAML text, and the place each of them points at.

use crate::code::{self, Code};
use crate::source::Span;

/// What is wrong, and what to do about it.
pub(super) struct Mistake {
    pub(super) code: Code,
    pub(super) message: String,
    pub(super) help: String,
}

/// The mistakes that a writer of records can tell apart.
pub(super) enum Class {
    /// A tab where only spaces indent.
    Tab,
    /// This bracket is never closed.
    Unclosed(char),
    /// The first bracket is closed by the second.
    Mismatched(char, char),
    /// A closing bracket without an opening one.
    Unopened,
    /// A comma or a closing bracket is missing.
    NoComma,
    /// A quoted text does not end.
    OpenQuote,
    /// Something stands behind a closing quote.
    BehindQuote,
    /// A backslash in double quotes.
    Escape,
    /// A character that begins no value.
    Character(char),
    /// A comma or another sign where a value is wanted.
    NoValue,
    /// A colon where no field can begin.
    SecondColon,
    /// A line without a colon among fields.
    NoColon,
    /// A line that begins in the wrong column.
    Indentation,
    /// A line without a dash among the items of a list.
    NoDash,
    /// A dash where no list can begin.
    Dash,
    /// A misplaced colon.
    Colon,
    /// A misplaced comment.
    Comment,
    /// A byte-order mark in the middle.
    ByteOrderMark,
    /// Too many levels.
    Depth,
    /// The line with `|` or `>`, or the text below it.
    BlockText,
    /// A line that begins with `%`.
    Directive,
    /// Something behind the end of a document.
    BehindDocument,
    /// A value that begins with `&`, `*` or `!`.
    Mark,
    /// Anything else.
    Other,
}

/// The words for a mistake that was noticed at `at`, behind the last good piece, which ends at `last`.
pub(super) fn explain(class: Class, text: &str, last: usize, at: usize) -> (Mistake, Span) {
    let word = word_at(text, at);
    let line = rest_of_line(text, at);
    match class {
        Class::Tab => (
            layout("a tab indents this line, and only spaces may", "indent with spaces, two for each level"),
            tab_near(text, at).unwrap_or(word),
        ),
        Class::Unclosed(open) => (
            layout(
                format!("the bracket `{open}` is never closed"),
                format!(
                    "close it with `{}`; put the text in quotes if the bracket belongs to it",
                    closing(open)
                ),
            ),
            character_at(text, at),
        ),
        Class::OpenQuote => (open_quote(), opening_quote(text, last, at).unwrap_or(word)),
        Class::SecondColon => second_colon(text, last, at),
        Class::NoColon | Class::NoDash | Class::Indentation | Class::Comment => (words(&class), line),
        Class::Depth => (too_deep(), character_at(text, at)),
        Class::Mismatched(..) | Class::Unopened | Class::Character(_) => {
            (words(&class), character_at(text, at))
        }
        _ => (words(&class), word),
    }
}

/// A line that begins at the left while a bracket is open.
pub(super) fn bracket_left_open(open: char) -> Mistake {
    layout(
        format!("the bracket `{open}` is not closed before the next line that begins further left"),
        format!("close it with `{}`, or indent the lines between the brackets", closing(open)),
    )
}

/// What was opened between two offsets and is still open at the second: a quoted text, else a bracket.
pub(super) fn left_open(text: &str, from: usize, to: usize) -> Option<(Mistake, Span)> {
    let mut brackets: Vec<(char, usize)> = Vec::new();
    let mut quote: Option<(char, usize)> = None;
    let (mut before, mut comment, mut escaped) = (' ', false, false);
    for (offset, c) in Span::new(from, to).of(text).char_indices() {
        let begins = before.is_whitespace() || "[{,".contains(before);
        match (quote, c) {
            (None, '\n') => comment = false,
            (None, _) if comment => {}
            (None, '#') if before.is_whitespace() => comment = true,
            (None, '"' | '\'') if begins => quote = Some((c, from + offset)),
            (None, '[' | '{') if begins => brackets.push((c, from + offset)),
            (None, ']' | '}') => drop(brackets.pop()),
            (Some(('"', _)), '\\') if !escaped => {
                escaped = true;
                continue;
            }
            (Some((open, _)), _) if c == open && !escaped => quote = None,
            _ => {}
        }
        escaped = false;
        before = c;
    }
    let at = |start: usize| Span::new(start, start + 1);
    match (quote, brackets.pop()) {
        (Some((_, start)), _) => Some((open_quote(), at(start))),
        (None, Some((open, start))) => Some((bracket_left_open(open), at(start))),
        (None, None) => None,
    }
}

fn open_quote() -> Mistake {
    layout(
        "the quoted text that begins here is not closed",
        "close it with the same quote; inside single quotes an apostrophe is written twice",
    )
}

/// The first control character between two offsets. YAML allows none but tab and line ends.
pub(super) fn control_character(text: &str, start: usize, end: usize) -> Option<(Mistake, Span)> {
    let span = Span::new(start, end.min(text.len()));
    let bytes = span.of(text).as_bytes();
    // In blocks, so that the compiler can test many bytes at once.
    let dirty =
        bytes.chunks(64).any(|block| block.iter().fold(false, |dirty, byte| dirty | is_control(*byte)));
    if !dirty {
        return None;
    }
    let offset = bytes.iter().position(|byte| is_control(*byte))?;
    let byte = bytes.get(offset).copied().unwrap_or_default();
    let message = format!("an invisible control character (hexadecimal {byte:02x}) is in the text");
    let at = span.start as usize + offset;
    Some((
        layout(message, "take it out; such a character often comes from a damaged file"),
        Span::new(at, at + 1),
    ))
}

/// Nesting past the limit.
pub(super) fn too_deep() -> Mistake {
    Mistake {
        code: code::TOO_DEEP,
        message: format!("lists and groups are nested deeper than {} levels", super::yaml::MAX_DEPTH),
        help: "a document needs a handful of levels; look for brackets or dashes that were repeated"
            .to_owned(),
    }
}

fn layout(message: impl Into<String>, help: impl Into<String>) -> Mistake {
    Mistake { code: code::LAYOUT, message: message.into(), help: help.into() }
}

fn words(class: &Class) -> Mistake {
    match class {
        Class::Mismatched(open, close) => layout(
            format!("the bracket `{open}` is closed by `{close}`"),
            format!("close it with `{}`", closing(*open)),
        ),
        Class::Unopened => layout(
            "this closing bracket has no opening one",
            "take it out, or put the text in quotes if the bracket belongs to it",
        ),
        Class::NoComma => layout(
            "a comma or the closing bracket is missing before this",
            "separate the entries between brackets by commas",
        ),
        Class::BehindQuote => layout(
            "there is something after the closing quote",
            "put the whole value in quotes; inside single quotes an apostrophe is written twice",
        ),
        Class::Escape => layout(
            "a backslash in double quotes begins an escape that does not exist",
            "use single quotes, or write the backslash twice",
        ),
        Class::Character(character) => {
            layout(format!("a value cannot begin with `{character}`"), "put the value in quotes")
        }
        Class::NoValue => layout(
            "no value can begin here",
            "put a text that begins with a sign in quotes, and take out a comma without a value",
        ),
        Class::NoColon => layout(
            "this line is not a field: it has no colon with a space behind it",
            "write a field as `name: value`",
        ),
        Class::Indentation => layout(
            "this line does not begin in the same column as the lines it belongs to",
            "begin all fields of a group, and all dashes of a list, in the same column",
        ),
        Class::NoDash => layout(
            "this line is in a list but is not an item of it",
            "begin each item with `- `, or move the line to the column of the group it belongs to",
        ),
        Class::Dash => layout(
            "no list item can begin here",
            "begin the list on its own line below the name of its field, and put a space behind the dash",
        ),
        Class::Colon => layout(
            "no field can begin here",
            "write a field as `name: value`; put a text that holds a colon in quotes",
        ),
        Class::Comment => layout(
            "a comment cannot stand here",
            "put a space before its `#`, and none in the middle of a text that goes over several lines",
        ),
        Class::ByteOrderMark => layout(
            "an invisible byte-order mark is in the middle of the text",
            "take it out; it often comes from files that were joined",
        ),
        Class::BlockText => layout(
            "the text below a `|` or `>` is not laid out as such a text must be",
            "write nothing behind the `|` or `>`, and indent all lines of the text by the same spaces",
        ),
        Class::Directive => layout("a line that begins with % is not used here", "take the line out"),
        Class::BehindDocument => layout(
            "there is something after the end of the document",
            "begin a further document with `---` on a line of its own",
        ),
        Class::Mark => {
            layout("a value that begins with `&`, `*` or `!` cannot be read", "put the value in quotes")
        }
        _ => layout(
            "this cannot be read as YAML",
            "look for a missing colon, quote or bracket before this place",
        ),
    }
}

/// A colon too many: in the text of a value, below a line without one, or on a line that was
/// indented too far.
fn second_colon(text: &str, last: usize, at: usize) -> (Mistake, Span) {
    let start = line_start(text, at);
    let line = Span::new(start, at).of(text);
    if last < at {
        return (words(&Class::Colon), character_at(text, at));
    }
    if line.contains(": ") {
        let mistake = layout("there is a second colon in this value", "put the whole value in quotes");
        return (mistake, character_at(text, at));
    }
    let above = line_above(text, start);
    let indent = |line: &str| line.len() - line.trim_start().len();
    if indent(above.of(text)) == indent(line) {
        return (words(&Class::NoColon), rest_of_line(text, above.start as usize + indent(line)));
    }
    let message = "this line is indented further than the field above it, which has a value already";
    (layout(message, "begin all fields of a group in the same column"), Span::new(start + indent(line), at))
}

/// The last line before an offset that is not blank.
fn line_above(text: &str, start: usize) -> Span {
    let end = Span::new(0, start).of(text).trim_end().len();
    Span::new(line_start(text, end), end)
}

fn closing(open: char) -> char {
    if open == '[' { ']' } else { '}' }
}

fn is_control(byte: u8) -> bool {
    (byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r')) || byte == 0x7f
}

fn line_start(text: &str, at: usize) -> usize {
    let before = Span::new(0, at).of(text);
    before.rfind(['\n', '\r']).map_or(0, |end| end + 1)
}

/// From an offset to the end of what stands on its line, without a comment's worth of blanks.
fn rest_of_line(text: &str, at: usize) -> Span {
    let rest = Span::new(at, text.len()).of(text);
    let line = rest.split(['\n', '\r']).next().unwrap_or_default().trim_end();
    if line.is_empty() { character_at(text, at) } else { Span::new(at, at + line.len()) }
}

/// The word that begins at an offset.
fn word_at(text: &str, at: usize) -> Span {
    let rest = Span::new(at, text.len()).of(text);
    let word = rest.split(char::is_whitespace).next().unwrap_or_default();
    if word.is_empty() { character_at(text, at) } else { Span::new(at, at + word.len()) }
}

/// The character at an offset; at the end of a line the last one before it.
pub(super) fn character_at(text: &str, at: usize) -> Span {
    let here = Span::new(at, text.len()).of(text).chars().next().filter(|c| !c.is_whitespace());
    if let Some(character) = here {
        return Span::new(at, at + character.len_utf8());
    }
    let before = Span::new(0, at).of(text).trim_end();
    let width = before.chars().next_back().map_or(0, char::len_utf8);
    Span::new(before.len() - width, before.len())
}

/// The tab that was met at an offset: on its line, or else the next one behind it.
fn tab_near(text: &str, at: usize) -> Option<Span> {
    let start = line_start(text, at);
    let before = Span::new(start, at + 1).of(text).find('\t').map(|offset| start + offset);
    let tab = before.or_else(|| Some(at + Span::new(at, text.len()).of(text).find('\t')?))?;
    Some(Span::new(tab, tab + 1))
}

/// The first quote between two offsets that stands in no comment.
fn opening_quote(text: &str, from: usize, to: usize) -> Option<Span> {
    let mut offset = from;
    for line in Span::new(from, to).of(text).split_inclusive('\n') {
        let code = line.split_once(" #").map_or(line, |(code, _)| code);
        if let Some(quote) = code.find(['\'', '"']) {
            return Some(Span::new(offset + quote, offset + quote + 1));
        }
        offset += line.len();
    }
    None
}
