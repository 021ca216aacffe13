//! The few shapes by which a rule file is cut before it is read: words, quoted texts, brackets,
//! comments and the records of trials. Look-alikes of quotes and spaces count as what they look like.

use unicode_normalization::char::is_combining_mark;

use crate::source::Span;

/// What a [`Token`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Letters, digits and underscores that do not begin with a digit.
    Word,
    /// Digits.
    Number,
    /// A quoted text, quotes included.
    Text,
    /// A quote that nothing closes on its line, with the rest of the line.
    OpenText,
    /// `(`
    Open,
    /// `)`
    Close,
    /// `{`
    Brace,
    /// Any other character.
    Sign,
}

/// A piece of a rule file.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Token<'t> {
    /// What it is.
    pub(crate) kind: Kind,
    /// Where it stands in the scanned text.
    pub(crate) span: Span,
    /// What was written.
    pub(crate) text: &'t str,
    /// Whether it is the first of its line.
    pub(crate) heads_line: bool,
}

/// The tokens of a text, white space and comments left out.
#[derive(Clone, Debug)]
pub(crate) struct Tokens<'t> {
    text: &'t str,
    at: usize,
    heads_line: bool,
}

impl<'t> Tokens<'t> {
    /// The tokens of `text`.
    pub(crate) fn new(text: &'t str) -> Self {
        Tokens { text, at: 0, heads_line: true }
    }

    /// Goes on at another offset, at the head of a line or not.
    pub(crate) fn go_on_at(&mut self, offset: usize, heads_line: bool) {
        self.at = offset;
        self.heads_line = heads_line;
    }

    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn skip_space(&mut self) {
        while let Some(first) = self.rest().chars().next() {
            if is_line_end(first) {
                self.heads_line = true;
                self.at += 1;
            } else if is_space(first) {
                self.at += first.len_utf8();
            } else if first == '#' {
                self.at += rest_of_line(self.rest());
            } else {
                return;
            }
        }
    }
}

impl<'t> Iterator for Tokens<'t> {
    type Item = Token<'t>;

    fn next(&mut self) -> Option<Token<'t>> {
        self.skip_space();
        let rest = self.rest();
        let first = rest.chars().next()?;
        let (kind, length) = match first {
            '(' => (Kind::Open, 1),
            ')' => (Kind::Close, 1),
            '{' => (Kind::Brace, 1),
            _ if is_quote(first) => match text_length(rest) {
                Some(length) => (Kind::Text, length),
                None => (Kind::OpenText, rest.get(..rest_of_line(rest)).unwrap_or(rest).trim_end().len()),
            },
            _ if is_letter(first) => (Kind::Word, word_length(rest)),
            _ if first.is_ascii_digit() => (Kind::Number, run_of(rest, |c| c.is_ascii_digit())),
            _ => (Kind::Sign, first.len_utf8()),
        };
        let span = Span::new(self.at, self.at + length);
        let heads_line = std::mem::replace(&mut self.heads_line, false);
        self.at += length;
        Some(Token { kind, span, text: span.of(self.text), heads_line })
    }
}

/// How the record of a trial ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RecordEnd {
    /// After its closing brace, at this offset.
    Closed(usize),
    /// Nowhere.
    Open {
        /// The head of the line where reading can go on, or the end of the text.
        resume: usize,
        /// A quoted text in it that runs over the end of its line; perhaps its quote is missing.
        quote: Option<usize>,
    },
}

/// Finds the end of the record, or the list, whose bracket stands at `start`: YAML in flow style, with its quotes
/// and comments. A record that nothing closes ends where `resumes` knows the line, so that it
/// never swallows the rest of the file.
pub(crate) fn record_end(text: &str, start: usize, resumes: impl Fn(&str) -> bool) -> RecordEnd {
    let brackets =
        if text.get(start..).is_some_and(|rest| rest.starts_with('[')) { ('[', ']') } else { ('{', '}') };
    let mut record = Record { brackets, depth: 0, quote: None, before: '{', spaced: false, long_quote: None };
    let mut at = start;
    while let Some(first) = text.get(at..).and_then(|rest| rest.chars().next()) {
        if is_line_end(first) {
            at += 1;
            record.end_line();
            let rest = text.get(at..).unwrap_or_default();
            if resumes(rest.get(..rest_of_line(rest)).unwrap_or_default()) {
                return RecordEnd::Open { resume: at, quote: record.long_quote };
            }
            continue;
        }
        let rest = text.get(at..).unwrap_or_default();
        let plain = run_of_bytes(rest, |byte| byte.is_ascii_alphanumeric());
        if plain > 0 {
            record.pass_over(rest, plain);
            at += plain;
            continue;
        }
        at += record.step(first, rest, at);
        if record.depth == 0 {
            return RecordEnd::Closed(at);
        }
    }
    RecordEnd::Open { resume: text.len(), quote: record.long_quote }
}

/// The state of [`record_end`] between two characters.
struct Record {
    /// The brackets around it.
    brackets: (char, char),
    /// How many of them are open.
    depth: usize,
    /// The quote that is open, and where it was opened.
    quote: Option<(char, usize)>,
    /// The last character that is not white space.
    before: char,
    /// Whether white space has followed it.
    spaced: bool,
    long_quote: Option<usize>,
}

impl Record {
    fn end_line(&mut self) {
        self.spaced = true;
        if let Some((_, opened)) = self.quote {
            self.long_quote = self.long_quote.or(Some(opened));
        }
    }

    /// Takes letters and digits, of which none means anything but itself.
    fn pass_over(&mut self, rest: &str, length: usize) {
        self.spaced = false;
        self.before = rest.get(..length).and_then(|run| run.chars().next_back()).unwrap_or(self.before);
    }

    /// Takes the character at `at`, with which `rest` begins, and says how many bytes to go on.
    fn step(&mut self, first: char, rest: &str, at: usize) -> usize {
        match (self.quote, first) {
            (Some(('"', _)), '\\') => {
                let escaped = rest.chars().nth(1).filter(|c| !is_line_end(*c));
                return 1 + escaped.map_or(0, char::len_utf8);
            }
            (Some(('\'', _)), '\'') if rest.starts_with("''") => return 2,
            (Some((quote, _)), _) if quote == first => self.quote = None,
            (Some(_), _) => {}
            // A quote opens a text only where a value can begin: `it's` is a plain word.
            (None, '"' | '\'') if matches!(self.before, '{' | '[' | ',' | ':') => {
                self.quote = Some((first, at));
            }
            (None, '#') if self.spaced => return rest_of_line(rest),
            (None, bracket) if bracket == self.brackets.0 => self.depth += 1,
            (None, bracket) if bracket == self.brackets.1 => self.depth = self.depth.saturating_sub(1),
            (None, _) => {}
        }
        self.spaced = is_space(first);
        if !self.spaced {
            self.before = first;
        }
        first.len_utf8()
    }
}

/// The length in bytes of the quoted text with which `text` begins, or none if nothing closes it
/// on its line. What a curly quote opens is closed by any double quote.
pub(crate) fn text_length(text: &str) -> Option<usize> {
    let mut characters = text.char_indices();
    let (_, opening) = characters.next()?;
    while let Some((at, character)) = characters.next() {
        let closes = if opening == '"' { character == '"' } else { closes_curly(character) };
        if closes {
            return Some(at + character.len_utf8());
        }
        let escaped = if character == '\\' { characters.next().map(|(_, escaped)| escaped) } else { None };
        if is_line_end(character) || escaped.is_some_and(is_line_end) {
            return None;
        }
    }
    None
}

/// Whether a double quote of any make opens a text.
pub(crate) fn is_quote(character: char) -> bool {
    matches!(character, '"' | '“' | '”' | '„')
}

fn closes_curly(character: char) -> bool {
    matches!(character, '"' | '“' | '”')
}

/// White space of every kind, and the byte-order mark.
pub(crate) fn is_space(character: char) -> bool {
    character.is_whitespace() || character == '\u{feff}'
}

/// A letter that a name can begin with.
pub(crate) fn is_letter(character: char) -> bool {
    character.is_alphabetic() || character == '_'
}

/// The length of the word at the head of a text; nothing where none begins there.
pub(crate) fn word_length(text: &str) -> usize {
    if !text.starts_with(is_letter) {
        return 0;
    }
    let plain = run_of_bytes(text, |byte| byte.is_ascii_alphanumeric() || byte == b'_');
    let rest = text.get(plain..).unwrap_or_default();
    if rest.starts_with(|c: char| c.is_ascii()) {
        return plain;
    }
    plain + run_of(rest, |c| is_letter(c) || c.is_ascii_digit() || is_combining_mark(c))
}

/// How many bytes at the head of a text are such ones, all of them characters by themselves.
fn run_of_bytes(text: &str, belongs: impl Fn(u8) -> bool) -> usize {
    text.bytes().position(|byte| !belongs(byte)).unwrap_or(text.len())
}

fn is_line_end(character: char) -> bool {
    matches!(character, '\n' | '\r')
}

fn rest_of_line(text: &str) -> usize {
    text.find(is_line_end).unwrap_or(text.len())
}

fn run_of(text: &str, belongs: impl Fn(char) -> bool) -> usize {
    text.find(|character| !belongs(character)).unwrap_or(text.len())
}
