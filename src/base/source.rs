//! Where a piece of text stands: sources, spans and positions.
//!
//! Every span is a half-open range of **bytes** in one source. Columns that other tools count
//! otherwise (characters, UTF-16 units) are computed here and nowhere else.

use std::sync::{Arc, OnceLock};

/// The number of a source within its [`Sources`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(u32);

impl SourceId {
    /// The first source of a run.
    pub const FIRST: SourceId = SourceId(0);
}

/// A half-open range of bytes in one source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The span `start..end`; offsets past 4 GiB saturate, which no source can reach.
    #[must_use]
    pub fn new(start: usize, end: usize) -> Self {
        let narrow = |offset| u32::try_from(offset).unwrap_or(u32::MAX);
        Span { start: narrow(start), end: narrow(end.max(start)) }
    }

    /// The smallest span that holds both.
    #[must_use]
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The same span in a text that begins `base` bytes earlier.
    #[must_use]
    pub fn shifted(self, base: u32) -> Span {
        Span { start: self.start.saturating_add(base), end: self.end.saturating_add(base) }
    }

    /// Number of bytes.
    #[must_use]
    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    /// Whether it holds no byte.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The text it covers, clamped to `text` and to character boundaries.
    #[must_use]
    pub fn of(self, text: &str) -> &str {
        let start = boundary_at_or_before(text, self.start as usize);
        let end = boundary_at_or_before(text, self.end as usize).max(start);
        text.get(start..end).unwrap_or_default()
    }
}

fn boundary_at_or_before(text: &str, offset: usize) -> usize {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A span in a named source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which source.
    pub source: SourceId,
    /// Where in it.
    pub span: Span,
}

/// A thing and the span it was read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spanned<T> {
    /// The thing.
    pub node: T,
    /// Where it was written.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// `node`, read from `span`.
    pub fn new(node: T, span: Span) -> Self {
        Spanned { node, span }
    }
}

/// A position for people and other tools. Lines and columns begin at 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in Unicode characters, from 1.
    pub column: usize,
    /// Column in UTF-16 code units, from 1.
    pub utf16: usize,
}

/// The byte offsets at which the lines of a text begin. `\n`, `\r\n` and a lone `\r` end a line.
#[derive(Clone, Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Indexes `text`.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let mut starts = vec![0];
        let mut begin = |at: usize| starts.push(Span::new(at + 1, at + 1).start);
        if text.contains('\r') {
            let bytes = text.as_bytes();
            for (at, byte) in bytes.iter().enumerate() {
                if *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n')) {
                    begin(at);
                }
            }
        } else {
            // A search for one character goes by machine words.
            text.match_indices('\n').for_each(|(at, _)| begin(at));
        }
        LineIndex { starts }
    }

    /// The position of a byte offset; an offset past the end is the end.
    #[must_use]
    pub fn position(&self, text: &str, offset: u32) -> Position {
        let line = self.starts.partition_point(|start| *start <= offset).saturating_sub(1);
        let start = self.starts.get(line).copied().unwrap_or_default();
        let before = Span { start, end: offset.max(start) }.of(text);
        // A byte-order mark is no column.
        let before = before.strip_prefix('\u{feff}').filter(|_| line == 0).unwrap_or(before);
        Position {
            line: line + 1,
            column: before.chars().count() + 1,
            utf16: before.encode_utf16().count() + 1,
        }
    }

    /// The byte offset of a line and a column in UTF-16 units, both from 0, as editors count them. What is beyond a line is
    /// its end, what is beyond the last line the end of the text; within a character, its beginning.
    #[must_use]
    pub fn offset(&self, text: &str, line: usize, utf16: usize) -> u32 {
        if line >= self.count() {
            return Span::new(text.len(), text.len()).start;
        }
        let span = self.line(text, line + 1);
        let whole = span.of(text);
        let bare = whole.strip_prefix('\u{feff}').filter(|_| line == 0).unwrap_or(whole);
        let mut units = 0;
        let before = bare.chars().take_while(|c| {
            units += c.len_utf16();
            units <= utf16
        });
        let bytes = whole.len() - bare.len() + before.map(char::len_utf8).sum::<usize>();
        span.start.saturating_add(Span::new(bytes, bytes).start)
    }

    /// Number of lines.
    #[must_use]
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The span of a line (from 1) without its line end.
    #[must_use]
    pub fn line(&self, text: &str, line: usize) -> Span {
        let first = line.saturating_sub(1);
        let start = self.starts.get(first).copied().unwrap_or_default();
        let end = self.starts.get(first + 1).map_or(text.len(), |end| *end as usize);
        let span = Span::new(start as usize, end);
        let kept = span.of(text).trim_end_matches(['\n', '\r']).len();
        Span::new(start as usize, start as usize + kept)
    }
}

/// One text that was read: a rule file, a record, a settings file.
#[derive(Debug)]
pub struct Source {
    name: String,
    text: String,
    lines: OnceLock<LineIndex>,
}

impl Source {
    /// A text under a name.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Source {
        Source { name: name.into(), text: text.into(), lines: OnceLock::new() }
    }

    /// Its name, as reports show it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Its lines, indexed on first use.
    #[must_use]
    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }

    /// The position of a byte offset.
    #[must_use]
    pub fn position(&self, offset: u32) -> Position {
        self.lines().position(&self.text, offset)
    }
}

/// The name of the text that holds the words of the command line.
pub const COMMAND_LINE: &str = "the command line";

/// The name of the text that was read from standard input.
pub const STANDARD_INPUT: &str = "standard input";

/// The sources of a run. A layer can stand on another: the rule files are shared by all records,
/// and each record adds its own text on top and drops it when it is judged.
///
/// ```
/// use witnessmark_base::source::Sources;
///
/// let mut sources = Sources::new();
/// let id = sources.add("job.yaml", "form: job/1\n");
/// assert_eq!(sources.name(id), "job.yaml");
/// assert_eq!(sources.get(id).unwrap().text(), "form: job/1\n");
/// ```
#[derive(Clone, Debug, Default)]
pub struct Sources {
    below: Option<Arc<Sources>>,
    first: u32,
    own: Vec<Arc<Source>>,
}

impl Sources {
    /// A place in words: the name of its text and the line; the command line has no lines that anybody sees.
    #[must_use]
    pub fn line_in_words(&self, place: Place) -> String {
        let name = self.name(place.source);
        match self.start_of(place) {
            _ if name == COMMAND_LINE => name.to_owned(),
            Some(position) => format!("{name} line {}", position.line),
            None => format!("{name}, place unknown"),
        }
    }

    /// No sources.
    #[must_use]
    pub fn new() -> Self {
        Sources::default()
    }

    /// An empty layer on top of `below`.
    #[must_use]
    pub fn over(below: &Arc<Sources>) -> Self {
        Sources { below: Some(Arc::clone(below)), first: below.next(), own: Vec::new() }
    }

    fn next(&self) -> u32 {
        self.first.saturating_add(Span::new(self.own.len(), self.own.len()).start)
    }

    /// Adds a text under a name.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> SourceId {
        self.share(&Arc::new(Source::new(name, text)))
    }

    /// Adds a text that other layers can have too.
    pub fn share(&mut self, source: &Arc<Source>) -> SourceId {
        let id = SourceId(self.next());
        self.own.push(Arc::clone(source));
        id
    }

    /// The source with this number, if this layer or one below holds it.
    #[must_use]
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        match id.0.checked_sub(self.first) {
            Some(own) => self.own.get(own as usize).map(AsRef::as_ref),
            None => self.below.as_ref()?.get(id),
        }
    }

    /// Every source of this layer and those below, in the order in which they were added.
    pub fn all(&self) -> impl Iterator<Item = (SourceId, &Source)> {
        let end = self.first + u32::try_from(self.own.len()).unwrap_or(u32::MAX);
        (0..end).map(SourceId).filter_map(|id| Some((id, self.get(id)?)))
    }

    /// The name of a source, or an empty one.
    #[must_use]
    pub fn name(&self, id: SourceId) -> &str {
        self.get(id).map_or("", Source::name)
    }

    /// The text at a place, clamped to its source.
    #[must_use]
    pub fn text_at(&self, place: Place) -> &str {
        self.get(place.source).map_or("", |source| place.span.of(source.text()))
    }

    /// The position where a place begins.
    #[must_use]
    pub fn start_of(&self, place: Place) -> Option<Position> {
        Some(self.get(place.source)?.position(place.span.start))
    }
}
