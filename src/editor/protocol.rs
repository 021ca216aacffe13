//! What is read from an editor and written to it: the shapes of the Language Server Protocol 3.17, as far as they are used.

use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A place between two characters: line and UTF-16 units in it, from 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub struct Position {
    /// The line.
    pub line: u32,
    /// The units before it.
    pub character: u32,
}

/// From one place to another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub struct Range {
    /// The first place.
    pub start: Position,
    /// The place behind the last character.
    pub end: Position,
}

/// A range in a file.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Location {
    /// The file.
    pub uri: String,
    /// Where in it.
    pub range: Range,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Diagnostic {
    /// Where.
    pub range: Range,
    /// How grave: 1 is an error, 2 a warning, 3 worth knowing, 4 said and never counted.
    pub severity: u8,
    /// The rule, or the code of the message.
    pub code: String,
    /// Who says it.
    pub source: &'static str,
    /// What is wrong and what to do.
    pub message: String,
    /// Other places that have a part in it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related_information: Vec<Related>,
}

/// Another place that has a part in a diagnostic.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Related {
    /// Where.
    pub location: Location,
    /// What is there.
    pub message: String,
}

/// A change of a text.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Change {
    /// What is replaced; all of it when absent.
    pub range: Option<Range>,
    /// What is there then.
    pub text: String,
}

impl Change {
    /// Where a range is after this change; nothing where the change goes into it.
    #[must_use]
    pub fn moved(&self, range: Range) -> Option<Range> {
        let changed = self.range?;
        if range.end <= changed.start && range.start < changed.start {
            return Some(range);
        }
        if range.start < changed.end || changed == range {
            return None;
        }
        let lines = u32::try_from(self.text.matches('\n').count()).ok()?;
        let last = self.text.rsplit('\n').next().unwrap_or_default();
        let width = u32::try_from(last.encode_utf16().count()).ok()?;
        let before = if lines == 0 { changed.start.character.checked_add(width)? } else { width };
        let moved = |at: Position| {
            let line =
                changed.start.line.checked_add(lines)?.checked_add(at.line.checked_sub(changed.end.line)?)?;
            let character = match at.line == changed.end.line {
                true => before.checked_add(at.character.checked_sub(changed.end.character)?)?,
                false => at.character,
            };
            Some(Position { line, character })
        };
        Some(Range { start: moved(range.start)?, end: moved(range.end)? })
    }
}

/// The name of a text.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct TextName {
    /// Its address.
    pub uri: String,
}

/// Parameters that name a text.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct OfText {
    /// The text.
    pub text_document: TextName,
}

/// Parameters that name a place in a text.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct AtPosition {
    /// The text.
    pub text_document: TextName,
    /// The place.
    pub position: Position,
}

/// Parameters that name a range in a text.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct AtRange {
    /// The text.
    pub text_document: TextName,
    /// The range.
    pub range: Range,
    /// What is wanted there, where it is asked what can be done.
    #[serde(default)]
    pub context: Wanted,
}

/// What an editor wants of what can be done.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
pub struct Wanted {
    /// Of these kinds alone; each stands for those below it, too: `source` for `source.fixAll`.
    pub only: Option<Vec<String>>,
}

impl Wanted {
    /// Whether something of a kind is wanted by its name.
    #[must_use]
    pub fn names(&self, kind: &str) -> bool {
        let is_it = |wanted: &String| {
            let rest = kind.strip_prefix(wanted.as_str());
            rest.is_some_and(|rest| wanted.is_empty() || rest.is_empty() || rest.starts_with('.'))
        };
        self.only.iter().flatten().any(is_it)
    }
}

/// A text that was opened.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Opened {
    /// The text.
    pub text_document: OpenedText,
}

/// The text itself.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct OpenedText {
    /// Its address.
    pub uri: String,
    /// Its version.
    pub version: i64,
    /// What is in it.
    pub text: String,
}

/// A text that was changed.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Changed {
    /// The text.
    pub text_document: VersionedText,
    /// The changes, one after the other.
    pub content_changes: Vec<Change>,
}

/// A text of a version.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct VersionedText {
    /// Its address.
    pub uri: String,
    /// The version.
    pub version: i64,
}

/// A piece of text that is put in the place of a range.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct TextEdit {
    /// What is replaced.
    pub range: Range,
    /// What is there then.
    pub new_text: String,
}

/// The codes of errors, as the protocol has them.
pub mod error {
    /// What came is no JSON.
    pub const PARSE: i32 = -32700;
    /// It is JSON, and no message.
    pub const INVALID_REQUEST: i32 = -32600;
    /// Nothing is known by this name.
    pub const METHOD_NOT_FOUND: i32 = -32601;
    /// The parameters are not those of the method.
    pub const INVALID_PARAMS: i32 = -32602;
    /// The program itself has a fault.
    pub const INTERNAL: i32 = -32603;
    /// `initialize` was not asked yet.
    pub const NOT_INITIALIZED: i32 = -32002;
    /// It was cancelled.
    pub const CANCELLED: i32 = -32800;
    /// The text has changed since.
    pub const CONTENT_MODIFIED: i32 = -32801;
    /// It is right and cannot be done.
    pub const FAILED: i32 = -32803;
}

/// Why a request is not answered as it was meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refused {
    /// One of [`error`].
    pub code: i32,
    /// In words.
    pub message: String,
}

impl Refused {
    /// With a code and words.
    pub fn new(code: i32, message: impl Into<String>) -> Refused {
        Refused { code, message: message.into() }
    }
}

/// The parameters of a method.
///
/// # Errors
/// They are others.
pub fn read<T: for<'a> Deserialize<'a>>(parameters: &Value) -> Result<T, Refused> {
    T::deserialize(parameters).map_err(|error| Refused::new(error::INVALID_PARAMS, error.to_string()))
}

/// What a completion is, as the protocol numbers it.
pub mod kind {
    /// A function.
    pub const FUNCTION: u8 = 3;
    /// A field.
    pub const FIELD: u8 = 5;
    /// A variable.
    pub const VARIABLE: u8 = 6;
    /// A unit.
    pub const UNIT: u8 = 11;
    /// A value.
    pub const VALUE: u8 = 12;
    /// A word of the language.
    pub const KEYWORD: u8 = 14;
    /// A file.
    pub const FILE: u8 = 17;
    /// A word of a list.
    pub const WORD: u8 = 20;
    /// A constant.
    pub const CONSTANT: u8 = 21;
}

/// Words for people.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Markup {
    /// `markdown` or `plaintext`.
    pub kind: &'static str,
    /// The words.
    pub value: String,
}

/// Something that can be written at a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Completion {
    /// What is shown.
    pub label: String,
    /// What it is.
    pub kind: u8,
    /// In a few words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// In more words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub documentation: Option<Markup>,
    /// By which the list is sorted.
    pub sort_text: String,
    /// By which what is typed is compared, where that is not the label.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub filter_text: Option<String>,
    /// What is written.
    pub text_edit: TextEdit,
}

/// What is shown beside a place when it is pointed at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Hover {
    /// The words.
    pub contents: Markup,
    /// What they are about.
    pub range: Range,
}

/// Something that can be done at a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Action {
    /// In words.
    pub title: String,
    /// `quickfix`, or one for the whole text.
    pub kind: &'static str,
    /// What it is about.
    pub diagnostics: Vec<Diagnostic>,
    /// What it changes in the text.
    #[serde(skip)]
    pub edits: Vec<TextEdit>,
}

impl Action {
    /// A quick fix.
    #[must_use]
    pub fn fix(title: String, edits: Vec<TextEdit>, diagnostics: Vec<Diagnostic>) -> Action {
        Action { title, kind: "quickfix", diagnostics, edits }
    }
}

/// Something in a text, with what is in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Symbol {
    /// Its name.
    pub name: String,
    /// In more words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// What it is.
    pub kind: u8,
    /// All of it.
    pub range: Range,
    /// Its name.
    pub selection_range: Range,
    /// What is in it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub children: Vec<Symbol>,
}

/// Words that are shown within a text and are no part of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Hint {
    /// Where.
    pub position: Position,
    /// The words.
    pub label: String,
    /// In more words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tooltip: Option<String>,
    /// Whether a blank is before it.
    pub padding_left: bool,
}

impl Hint {
    /// At a place.
    #[must_use]
    pub fn new(position: Position, label: String, tooltip: Option<String>) -> Hint {
        Hint { position, label, tooltip, padding_left: true }
    }
}

/// Something that an editor can have done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Command {
    /// In words.
    pub title: String,
    /// Its name.
    pub command: &'static str,
    /// With what.
    pub arguments: Vec<Value>,
}

/// A command above a line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lens {
    /// Above what.
    pub range: Range,
    /// What it does.
    pub command: Command,
}

/// Parameters that ask for another name.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Rename {
    /// The text.
    pub text_document: TextName,
    /// Where the old name is.
    pub position: Position,
    /// The new one.
    pub new_name: String,
}

/// Parameters that name a command.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Execute {
    /// The command.
    pub command: String,
    /// With what.
    #[serde(default)]
    pub arguments: Vec<Value>,
}

#[cfg(test)]
mod tests {
    use super::{Change, Position, Range};

    fn range(at: [u32; 4]) -> Range {
        let [line, character, last, end] = at;
        Range { start: Position { line, character }, end: Position { line: last, character: end } }
    }

    #[test]
    fn a_range_moves_with_what_is_written_before_it() {
        let moved = |changed, text: &str, at| {
            Change { range: Some(range(changed)), text: text.to_owned() }.moved(range(at))
        };
        // Before, on the same line, lines above, and below.
        assert_eq!(moved([2, 3, 2, 4], "abc", [2, 6, 2, 9]), Some(range([2, 8, 2, 11])));
        assert_eq!(moved([2, 3, 2, 4], "ü\n😀", [2, 6, 3, 9]), Some(range([3, 4, 4, 9])));
        assert_eq!(moved([0, 3, 2, 4], "", [2, 6, 2, 9]), Some(range([0, 5, 0, 8])));
        assert_eq!(moved([4, 0, 4, 4], "x\n", [2, 6, 2, 9]), Some(range([2, 6, 2, 9])));
        assert_eq!(moved([2, 0, 2, 0], "# x\n", [2, 0, 2, 9]), Some(range([3, 0, 3, 9])));
        // Within, over, and all of the text.
        assert_eq!(moved([2, 7, 2, 8], "x", [2, 6, 2, 9]), None);
        assert_eq!(moved([2, 0, 3, 0], "x", [2, 6, 2, 9]), None);
        assert_eq!(Change { range: None, text: String::new() }.moved(range([2, 6, 2, 9])), None);
    }
}
