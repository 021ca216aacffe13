//! The records of trials in one notation: `{ role: drain plug, torque: 45 Nm }`, on one line or with each entry on a
//! line of its own. Values are never written otherwise. A record that is written in an unusual way is left as it is.

use std::borrow::Cow;

use crate::language::layout::atoms::Comment;
use crate::language::layout::expressions::STEP;
use crate::language::layout::gaps::comments;
use crate::language::layout::writer::{MOST_COLUMNS, Writer};
use crate::language::pieces::is_whole_record;

/// How deep a record may be nested that is laid out.
const MOST_NESTED: usize = 32;

/// The record of a trial, or a part of one.
#[derive(Clone, Debug)]
pub(super) struct Record<'t> {
    /// As it was written.
    written: &'t str,
    /// On one line, where it can be on one.
    line: Option<Cow<'t, str>>,
}

#[derive(Clone, Debug)]
enum Node<'t> {
    /// A value, as it was written.
    Value(Cow<'t, str>),
    Collection(Collection<'t>),
}

#[derive(Clone, Debug)]
struct Collection<'t> {
    is_list: bool,
    entries: Vec<Entry<'t>>,
    /// The comments behind the last entry.
    end: Vec<&'t str>,
}

#[derive(Clone, Debug)]
struct Entry<'t> {
    /// The comments on the lines before it.
    before: Vec<&'t str>,
    key: Option<Cow<'t, str>>,
    value: Node<'t>,
    /// The comment behind it on its line.
    behind: Option<&'t str>,
}

impl<'t> Record<'t> {
    /// Reads what is between brackets, these included.
    pub(super) fn read(written: &'t str) -> Self {
        let line = match is_in_order(written) {
            true => Some(Cow::Borrowed(written)),
            false => match node(written) {
                Some(node) => node.line().map(Cow::Owned),
                None => (!written.contains('\n')).then_some(Cow::Borrowed(written)),
            },
        };
        Record { written, line }
    }

    /// The record on one line.
    pub(super) fn line(&self) -> Option<&str> {
        self.line.as_deref()
    }

    /// The record on one line, or as it was written.
    pub(super) fn text(&self) -> Cow<'t, str> {
        self.line.clone().unwrap_or(Cow::Borrowed(self.written))
    }

    /// Whether both say the same: with the same values in the same places, and the same comments.
    pub(super) fn same(&self, other: &Record<'_>) -> bool {
        if self.line.is_some() || other.line.is_some() {
            return self.line == other.line;
        }
        match (node(self.written), node(other.written)) {
            (Some(left), Some(right)) => left.said() == right.said(),
            (None, None) => self.written == other.written,
            _ => false,
        }
    }

    /// Writes it with each entry on a line of its own.
    pub(super) fn write(&self, writer: &mut Writer, indent: usize, glued: bool) {
        let Some(Node::Collection(collection)) = node(self.written) else {
            return writer.put(self.written, glued);
        };
        let before = writer.mark();
        collection.write(writer, indent, glued);
        // A value at the head of a line can look like the next trial.
        if !is_whole_record(writer.since(before).trim_start()) {
            writer.go_back(before);
            writer.put(self.line().unwrap_or(self.written), glued);
        }
    }
}

/// The parts of a record that is written in the usual way.
fn node(written: &str) -> Option<Node<'_>> {
    // YAML knows fewer blanks than the rest of a rule file: another one is a sign to it.
    if written.chars().any(|c| c.is_whitespace() && !matches!(c, ' ' | '\t' | '\n' | '\r')) {
        return None;
    }
    let mut reader = Reader { rest: written, depth: 0, is_folded: false };
    reader.node().filter(|_| reader.rest.is_empty())
}

/// Whether a record is written as it is laid out on one line, as far as can be seen at a glance: most are, and need not be
/// read.
fn is_in_order(written: &str) -> bool {
    let bytes = written.as_bytes();
    let mut before = b' ';
    let mut quoted = false;
    for (at, byte) in bytes.iter().copied().enumerate() {
        let next = bytes.get(at + 1).copied().unwrap_or(b' ');
        let fits = match byte {
            b'"' => {
                quoted = !quoted;
                before == b' ' || before == b'[' || !quoted
            }
            _ if quoted => byte != b'\\',
            b'{' => next == b' ' || next == b'}',
            b'}' => before == b' ' || before == b'{',
            b'[' | b']' => before != b' ' || byte == b'[',
            b',' => next == b' ' && before != b' ',
            b':' => next == b' ' && before != b' ' || next.is_ascii_digit(),
            b' ' => match before {
                b' ' | b'[' => false,
                b',' | b'{' => !matches!(next, b'}' | b']' | b',' | b':'),
                _ => !matches!(next, b':' | b'#' | b',' | b']'),
            },
            b'a'..=b'z'
            | b'A'..=b'Z'
            | b'0'..=b'9'
            | b'.'
            | b'-'
            | b'+'
            | b'_'
            | b'/'
            | b'('
            | b')'
            | 0x80.. => true,
            b'%' => before == b' ' && !next.is_ascii_alphabetic(),
            _ => false,
        };
        if !fits {
            return false;
        }
        before = byte;
    }
    !quoted
}

impl Node<'_> {
    /// On one line; nothing where a comment is in it.
    fn line(&self) -> Option<String> {
        let mut line = String::new();
        self.push(&mut line)?;
        Some(line)
    }

    fn push(&self, line: &mut String) -> Option<()> {
        match self {
            Node::Value(value) => line.push_str(value),
            Node::Collection(collection) => collection.push(line)?,
        }
        Some(())
    }

    /// All it says, its comments too.
    fn said(&self) -> String {
        match self {
            Node::Value(value) => format!("{value}\n"),
            Node::Collection(collection) => {
                let entries = collection.entries.iter().map(|entry| {
                    let key = entry.key.as_deref().unwrap_or_default();
                    let comments: Vec<&str> = entry.before.iter().chain(&entry.behind).copied().collect();
                    format!("{}\n{key}:\n{}", comments.join("\n"), entry.value.said())
                });
                let entries: String = entries.collect();
                format!("[{}{entries}{}]\n", collection.is_list, collection.end.join("\n"))
            }
        }
    }
}

impl Collection<'_> {
    fn push(&self, line: &mut String) -> Option<()> {
        let (open, close) = match (self.is_list, self.entries.is_empty()) {
            (true, _) => ("[", "]"),
            (false, true) => ("{", "}"),
            (false, false) => ("{ ", " }"),
        };
        line.push_str(open);
        for (number, entry) in self.entries.iter().enumerate() {
            line.push_str(if number > 0 { ", " } else { "" });
            if !entry.before.is_empty() || entry.behind.is_some() {
                return None;
            }
            if let Some(key) = &entry.key {
                line.push_str(key);
                line.push_str(": ");
            }
            entry.value.push(line)?;
        }
        line.push_str(close);
        self.end.is_empty().then_some(())
    }

    /// Over several lines. What a single entry holds is not moved to the right for its sake.
    fn write(&self, writer: &mut Writer, indent: usize, glued: bool) {
        let (open, close) = if self.is_list { ("[", "]") } else { ("{", "}") };
        writer.put(open, glued);
        if let Some((entry, inner)) = self.only_collection() {
            entry.write_key(writer, self.is_list);
            inner.write(writer, indent, entry.key.is_none() && self.is_list);
            return writer.put(close, self.is_list);
        }
        writer.newline(indent + STEP);
        match self.entries_on_line().filter(|line| indent + STEP + line.chars().count() <= MOST_COLUMNS) {
            Some(line) => writer.put(&line, true),
            None => self.write_entries(writer, indent + STEP),
        }
        writer.newline(indent);
        writer.put(close, true);
    }

    /// The one entry, where it is a collection with something in it.
    fn only_collection(&self) -> Option<(&Entry<'_>, &Collection<'_>)> {
        let [entry] = self.entries.as_slice() else { return None };
        let is_bare = entry.before.is_empty() && entry.behind.is_none() && self.end.is_empty();
        match &entry.value {
            Node::Collection(inner) if is_bare && !inner.entries.is_empty() => Some((entry, inner)),
            _ => None,
        }
    }

    /// The entries of a list on one line.
    fn entries_on_line(&self) -> Option<String> {
        let mut line = String::new();
        self.push(&mut line).filter(|()| self.is_list)?;
        line.strip_prefix('[')?.strip_suffix(']').map(str::to_owned)
    }

    fn write_entries(&self, writer: &mut Writer, indent: usize) {
        let mut left = self.entries.len();
        for entry in &self.entries {
            for comment in &entry.before {
                writer.newline(indent);
                writer.put(comment, true);
            }
            writer.newline(indent);
            entry.write_key(writer, true);
            entry.value.write(writer, indent, entry.key.is_none());
            left -= 1;
            if left > 0 {
                writer.put(",", true);
            }
            entry.behind.into_iter().for_each(|comment| writer.trail(comment));
        }
        for comment in &self.end {
            writer.newline(indent);
            writer.put(comment, true);
        }
    }
}

impl Entry<'_> {
    fn write_key(&self, writer: &mut Writer, glued: bool) {
        if let Some(key) = &self.key {
            writer.put(key, glued);
            writer.put(":", true);
        }
    }
}

impl Node<'_> {
    fn write(&self, writer: &mut Writer, indent: usize, glued: bool) {
        match (self, self.line()) {
            // Behind it comes a comma.
            (Node::Collection(collection), line)
                if line
                    .as_ref()
                    .is_none_or(|line| writer.column() + line.chars().count() + 2 > MOST_COLUMNS) =>
            {
                collection.write(writer, indent, glued);
            }
            (Node::Value(value), _) => writer.put(value, glued),
            (_, line) => writer.put(&line.unwrap_or_default(), glued),
        }
    }
}

/// Reads a record in the usual way of writing one.
struct Reader<'t> {
    rest: &'t str,
    depth: usize,
    /// Whether the last value was written over several lines, as no key can be.
    is_folded: bool,
}

impl<'t> Reader<'t> {
    fn node(&mut self) -> Option<Node<'t>> {
        match self.rest.chars().next()? {
            '{' => self.collection(false),
            '[' => self.collection(true),
            _ => self.value().map(Node::Value),
        }
    }

    fn collection(&mut self, is_list: bool) -> Option<Node<'t>> {
        self.depth += 1;
        if self.depth > MOST_NESTED {
            return None;
        }
        let close = if is_list { ']' } else { '}' };
        self.skip(1);
        let mut collection = Collection { is_list, entries: Vec::new(), end: Vec::new() };
        loop {
            // A comment behind the opening bracket goes to a line of its own.
            let before: Vec<&str> = self.gap()?.map(|comment| comment.text).collect();
            if self.rest.starts_with(close) {
                collection.end.extend(before);
                self.skip(1);
                self.depth -= 1;
                return Some(Node::Collection(collection));
            }
            let (entry, is_last) = self.entry(is_list, before)?;
            collection.entries.push(entry);
            if is_last && !self.rest.starts_with(close) {
                return None;
            }
        }
    }

    /// An entry with what separates it from the next, and whether nothing does.
    fn entry(&mut self, is_list: bool, before: Vec<&'t str>) -> Option<(Entry<'t>, bool)> {
        let mut value = self.node()?;
        let mut key = None;
        let mut behind = self.behind()?;
        if !is_list && behind.is_none() && self.rest.starts_with(':') {
            let Node::Value(name) = value else { return None };
            if self.is_folded {
                return None;
            }
            key = Some(name);
            self.skip(1);
            if self.gap()?.next().is_some() || self.rest.starts_with([',', '}', ']']) {
                return None;
            }
            value = self.node()?;
            behind = self.behind()?;
        }
        let is_last = !self.rest.starts_with(',');
        if !is_last {
            self.skip(1);
            let later = self.behind()?;
            if behind.is_some() && later.is_some() {
                return None;
            }
            behind = behind.or(later);
        }
        let is_whole = is_list || key.is_some() || matches!(value, Node::Value(_));
        is_whole.then_some((Entry { before, key, value, behind }, is_last))
    }

    /// The comment on the rest of the line; blanks are passed over, and line ends where no comment is behind them.
    fn behind(&mut self) -> Option<Option<&'t str>> {
        let line = self.rest.find('\n').unwrap_or(self.rest.len());
        let head = self.rest.get(..line)?;
        let trimmed = head.trim_start();
        if trimmed.starts_with('#') && trimmed.len() < head.len() {
            self.skip(line);
            return Some(Some(trimmed.trim_end()));
        }
        if trimmed.is_empty() {
            let next = self.rest.trim_start();
            if !next.starts_with('#') {
                self.rest = next;
            }
        } else {
            self.rest = self.rest.trim_start();
        }
        Some(None)
    }

    /// The comments before what comes next.
    fn gap(&mut self) -> Option<impl Iterator<Item = Comment<'t>> + use<'t>> {
        let whole = self.rest;
        loop {
            self.rest = self.rest.trim_start();
            if !self.rest.starts_with('#') {
                break;
            }
            if self.rest.len() == whole.len() {
                return None;
            }
            self.skip(self.rest.find('\n').unwrap_or(self.rest.len()));
        }
        let gap = whole.get(..whole.len() - self.rest.len())?;
        Some(comments(gap))
    }

    fn skip(&mut self, bytes: usize) {
        self.rest = self.rest.get(bytes..).unwrap_or_default();
    }

    /// A value as it is written; nothing for what means more than it says.
    fn value(&mut self) -> Option<Cow<'t, str>> {
        self.is_folded = false;
        match self.rest.chars().next()? {
            quote @ ('"' | '\'') => self.quoted(quote),
            '&' | '*' | '!' | '|' | '>' | '%' | '@' | '`' | '?' | ',' | '}' | ']' | ':' | '#' => None,
            _ => self.plain(),
        }
    }

    fn quoted(&mut self, quote: char) -> Option<Cow<'t, str>> {
        let mut characters = self.rest.char_indices().skip(1).peekable();
        let end = loop {
            match characters.next()? {
                (_, '\n') => return None,
                (_, '\\') if quote == '"' => drop(characters.next()?),
                (_, found) if found != quote => {}
                // In single quotes, two of them are one.
                (_, '\'') if characters.peek().is_some_and(|(_, next)| *next == '\'') => {
                    _ = characters.next()
                }
                (at, _) => break at + 1,
            }
        };
        let written = self.rest.get(..end)?;
        self.skip(end);
        let inside = written.get(1..end - 1)?;
        let alike = !inside.contains(['\\', '"', '\'']) && !inside.chars().any(char::is_control);
        Some(if quote == '\'' && alike {
            Cow::Owned(format!("\"{inside}\""))
        } else {
            Cow::Borrowed(written)
        })
    }

    fn plain(&mut self) -> Option<Cow<'t, str>> {
        let ends = |(at, c): &(usize, char)| {
            let next = self.rest.get(at + c.len_utf8()..).and_then(|rest| rest.chars().next());
            let before = self.rest.get(..*at).and_then(|head| head.chars().next_back());
            match c {
                ',' | '{' | '}' | '[' | ']' => true,
                ':' => next.is_none_or(char::is_whitespace),
                '#' => before.is_some_and(char::is_whitespace),
                _ => false,
            }
        };
        let end = self.rest.char_indices().find(ends).map_or(self.rest.len(), |(at, _)| at);
        let written = self.rest.get(..end)?.trim_end();
        self.skip(written.len());
        let is_item = written == "-" || written.starts_with("- ") || written.starts_with("-\n");
        // A colon at the end would be that of a key.
        if is_item || written.ends_with(':') {
            return None;
        }
        self.is_folded = written.contains('\n');
        folded(written)
    }
}

/// A plain value on one line. Lines of one paragraph are joined by a blank, as in YAML; of several it is left.
fn folded(written: &str) -> Option<Cow<'_, str>> {
    if !written.contains('\n') {
        return Some(Cow::Borrowed(written));
    }
    let lines: Vec<&str> = written.split('\n').map(str::trim).collect();
    lines.iter().all(|line| !line.is_empty()).then(|| Cow::Owned(lines.join(" ")))
}
