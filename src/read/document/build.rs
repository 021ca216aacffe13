//! Builds the arena of a document while its events come in, and refuses what YAML allows but a
//! record must not hold: a field given twice, a key that is no text, shared values, tags.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};

use super::syntax::character_at;
use super::tree::{Bound, Document, Entry, Node, NodeId, NodeKind, UNKNOWN};
use super::wording::respelt;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::letters::composed;
use crate::quantity::Quantity;
use crate::source::{Place, SourceId, Span};

/// Past this many fields of one map, duplicates are looked up in a hash table.
const SCANNED_KEYS: usize = 16;

/// The key that the next value of a map belongs to.
enum Key<'s> {
    /// The next node is a key.
    None,
    Named(Cow<'s, str>, Span),
    /// Reported; its value is read and dropped.
    Refused,
    /// Reported: the field is given again. What is read is dropped, and compared with this first value.
    Again(NodeId),
}

/// A map or list that is still open.
struct Frame<'s> {
    node: NodeId,
    map: bool,
    flow: bool,
    /// Where its children begin in the scratch vector.
    first: usize,
    key: Key<'s>,
    /// The fields by name, once there are many: the place of each behind `first`.
    seen: Option<HashMap<String, usize>>,
    /// The fields that were given again: the first value, and the one that was dropped.
    again: Vec<(NodeId, NodeId)>,
    /// End of what was read of it so far.
    end: u32,
}

/// Builds one document after the other.
pub(super) struct Builder<'s> {
    source: SourceId,
    text: &'s str,
    base: u32,
    document: Document<'s>,
    root: Option<NodeId>,
    frames: Vec<Frame<'s>>,
    entries: Vec<Entry<'s>>,
    items: Vec<NodeId>,
    /// Depth within a key that is no text.
    skipping: usize,
    /// What was refused in this and earlier documents.
    pub(super) diagnostics: Vec<Diagnostic>,
}

impl<'s> Builder<'s> {
    /// `capacity` is a guess at the number of nodes; `base` is added to every offset.
    pub(super) fn new(source: SourceId, text: &'s str, base: u32, capacity: usize) -> Self {
        Builder {
            source,
            text,
            base,
            document: blank(source, capacity),
            root: None,
            frames: Vec::with_capacity(8),
            entries: Vec::with_capacity(32),
            items: Vec::with_capacity(32),
            skipping: 0,
            diagnostics: Vec::new(),
        }
    }

    pub(super) fn place(&self, span: Span) -> Place {
        Place { source: self.source, span: span.shifted(self.base) }
    }

    /// Number of collections that are open.
    pub(super) fn depth(&self) -> usize {
        self.frames.len() + self.skipping
    }

    /// The opening bracket of the innermost collection, if it has brackets.
    pub(super) fn bracket(&self) -> Option<(char, Span)> {
        let frame = self.frames.last().filter(|frame| frame.flow)?;
        let start = self.document.span(frame.node).start.saturating_sub(self.base);
        Some((if frame.map { '{' } else { '[' }, Span { start, end: start + 1 }))
    }

    /// Number of nodes so far.
    pub(super) fn count(&self) -> usize {
        self.document.nodes.len()
    }

    /// A single value; an absent one has an empty span.
    pub(super) fn scalar(&mut self, raw: Cow<'s, str>, plain: bool, span: Span) {
        if self.skipping > 0 {
            return;
        }
        let raw = composed(raw);
        if self.wants_key() {
            self.key(raw, plain, span);
            return;
        }
        // A value that was left out is reported as `~` with nothing under it.
        let kind = if span.is_empty() || raw.trim().is_empty() {
            NodeKind::Empty
        } else {
            NodeKind::Scalar { raw, plain, value: Bound::Unbound }
        };
        // Of an empty item, the dash is what can be pointed at.
        let dash = Span { start: span.start.saturating_sub(1), end: span.end };
        let in_list = self.frames.last().is_some_and(|frame| !frame.map);
        let span = if span.is_empty() && in_list && dash.of(self.text) == "-" { dash } else { span };
        self.attach(kind, span);
    }

    /// A shared value: refused, and kept as a wrong one.
    pub(super) fn alias(&mut self, text: &'s str, span: Span) {
        self.refuse_sharing(text, span);
        if self.skipping > 0 {
            return;
        }
        if self.wants_key() {
            self.set_key(Key::Refused);
            return;
        }
        let kind = NodeKind::Scalar { raw: Cow::Borrowed(text), plain: true, value: Bound::Wrong };
        let id = self.attach(kind, span);
        self.document.refused.push(id);
    }

    /// The name of a value to be shared.
    pub(super) fn refuse_sharing(&mut self, text: &str, span: Span) {
        let place = self.place(span);
        self.diagnostics.push(
            Diagnostic::error(
                code::SHARED_VALUE,
                place,
                format!("`{text}` marks or repeats a shared value, which a document must not use"),
            )
            .help("write each value out where it belongs; put a text that begins with & or * in quotes"),
        );
    }

    /// A type tag.
    pub(super) fn refuse_tag(&mut self, text: &str, span: Span) {
        let place = self.place(span);
        self.diagnostics.push(
            Diagnostic::error(
                code::TYPE_TAG,
                place,
                format!("`{text}` is a type tag, which a document must not use"),
            )
            .help("take it out, the form says what each field is; put a text that begins with ! in quotes"),
        );
    }

    /// Opens a map or a list.
    pub(super) fn open(&mut self, map: bool, flow: bool, span: Span) {
        if self.skipping > 0 {
            self.skipping += 1;
            return;
        }
        if self.wants_key() {
            self.refuse_key(span, "a field's name must be a plain text, and this is a group or a list")
                .set_key(Key::Refused);
            self.skipping = 1;
            return;
        }
        let kind = if map { NodeKind::Map(0..0) } else { NodeKind::List(0..0) };
        let node = self.attach(kind, span);
        let first = if map { self.entries.len() } else { self.items.len() };
        let (key, seen, again) = (Key::None, None, Vec::new());
        self.frames.push(Frame { node, map, flow, first, key, seen, again, end: span.end });
    }

    /// Closes the innermost map or list; `span` is its closing bracket, if it has brackets.
    pub(super) fn close(&mut self, span: Span) {
        if self.skipping > 0 {
            self.skipping -= 1;
            return;
        }
        let Some(frame) = self.frames.pop() else { return };
        if frame.map && frame.flow {
            self.join_at_commas(frame.first);
        }
        let document = &mut self.document;
        let kind = if frame.map {
            let start = document.entries.len();
            document.entries.extend(self.entries.drain(frame.first..));
            NodeKind::Map(narrow(start)..narrow(document.entries.len()))
        } else {
            let start = document.items.len();
            document.items.extend(self.items.drain(frame.first..));
            NodeKind::List(narrow(start)..narrow(document.items.len()))
        };
        let end = if frame.flow { span.end } else { frame.end };
        if let Some(node) = document.nodes.get_mut(frame.node.index()) {
            node.kind = kind;
            node.span.end = end.saturating_add(self.base);
        }
        for (first, again) in frame.again {
            self.settle_twice(first, again);
        }
        if let Some(outer) = self.frames.last_mut() {
            outer.end = outer.end.max(end);
        }
    }

    /// Of a field that is given twice nobody knows which value was meant, unless both are the same.
    fn settle_twice(&mut self, first: NodeId, again: NodeId) {
        let document = &self.document;
        let wrong = |node| matches!(document.node(node).kind, NodeKind::Scalar { value: Bound::Wrong, .. });
        if wrong(first) || document.is_written_like(first, again) {
            return;
        }
        let shown = if document.is_empty(first) { again } else { first };
        let span = document.span(shown);
        let raw = match &document.node(shown).kind {
            NodeKind::Scalar { raw, .. } => raw.clone(),
            _ => Cow::Owned(self.written(span).unwrap_or_default()),
        };
        if let Some(node) = self.document.nodes.get_mut(first.index()) {
            node.span = span;
            node.kind = NodeKind::Scalar { raw, plain: true, value: Bound::Wrong };
        }
        self.document.refused.push(first);
        self.document.twice.push(first);
    }

    /// Refuses `volume: 0,9 L` and `plate: GW 1,23` between braces, where the comma ends the value and what is
    /// behind it becomes a field without one: read on as it is, the record would hold another value.
    fn join_at_commas(&mut self, first: usize) {
        let mut index = first;
        while let Some([entry, next]) = self.entries.get(index..index + 2) {
            index += 1;
            let (Some(value), Some(rest)) =
                (self.document.nodes.get(entry.value.index()), self.document.nodes.get(next.value.index()))
            else {
                return;
            };
            let NodeKind::Scalar { raw, plain: true, .. } = &value.kind else { continue };
            if !matches!(rest.kind, NodeKind::Empty) || self.has_colon(next.key_span) {
                continue;
            }
            let (id, span) = (entry.value, value.span.to(next.key_span));
            let written = self.written(span).unwrap_or_else(|| format!("{raw},{}", next.key));
            let fault = Quantity::parse(&written, None).err().filter(|fault| fault.code == code::NUMBER_FORM);
            let digits = raw.bytes().next_back().is_some_and(|byte| byte.is_ascii_digit());
            let fault = fault.filter(|_| digits);
            let code = fault.as_ref().map_or(code::FIELD_NAME, |fault| fault.code);
            let (help, meant) = fault.map_or((None, None), |fault| (fault.help, fault.meant));
            let help =
                help.unwrap_or_else(|| format!("put a text that holds a comma in quotes: `\"{written}\"`"));
            let message =
                format!("a comma ends the value between braces, so `{written}` is read as two entries");
            let place = Place { source: self.source, span };
            let fix = meant.and_then(|meant| respelt(place, &written, &meant));
            self.diagnostics.push(Diagnostic::error(code, place, message).help(help).mended(fix));
            self.document.refused.push(id);
            self.entries.remove(index);
            if let Some(node) = self.document.nodes.get_mut(id.index()) {
                node.span = span;
                node.kind = NodeKind::Scalar { raw: Cow::Owned(written), plain: true, value: Bound::Wrong };
            }
        }
    }

    /// The text at a place, as it is written.
    fn written(&self, span: Span) -> Option<String> {
        let at = |offset: u32| offset.saturating_sub(self.base) as usize;
        self.text.get(at(span.start)..at(span.end)).map(str::to_owned)
    }

    /// Whether a field has its colon; between braces it can be left out.
    fn has_colon(&self, key: Span) -> bool {
        let behind = self.text.get(key.end.saturating_sub(self.base) as usize..).unwrap_or_default();
        behind.trim_start().starts_with(':')
    }

    /// The finished document; the builder is ready for the next one.
    pub(super) fn finish(&mut self) -> Document<'s> {
        let root = self.root.take();
        let mut document = std::mem::replace(&mut self.document, blank(self.source, 0));
        document.root = root.unwrap_or(document.root);
        document
    }

    /// Drops what was built of the document that is broken.
    pub(super) fn abandon(&mut self) {
        self.frames.clear();
        self.entries.clear();
        self.items.clear();
        self.skipping = 0;
        self.root = None;
        self.document = blank(self.source, 0);
    }

    fn wants_key(&self) -> bool {
        self.frames.last().is_some_and(|frame| frame.map && matches!(frame.key, Key::None))
    }

    fn set_key(&mut self, key: Key<'s>) {
        if let Some(frame) = self.frames.last_mut() {
            frame.key = key;
        }
    }

    fn refuse_key(&mut self, span: Span, message: &str) -> &mut Self {
        let place = self.place(span);
        self.diagnostics.push(
            Diagnostic::error(code::FIELD_NAME, place, message)
                .help("write a field as `name: value`; put a text that holds { or [ in quotes"),
        );
        self
    }

    fn key(&mut self, raw: Cow<'s, str>, plain: bool, span: Span) {
        let key = if span.is_empty() || raw.is_empty() {
            let at = character_at(self.text, span.start as usize);
            self.refuse_key(at, "a field's name is missing before the colon");
            Key::Refused
        } else if plain && raw == "<<" {
            let place = self.place(span);
            self.diagnostics.push(
                Diagnostic::error(
                    code::SHARED_VALUE,
                    place,
                    "`<<` copies fields from elsewhere, which a document must not do",
                )
                .help("write each field out where it belongs"),
            );
            Key::Refused
        } else if let Some((first, value)) = self.earlier(&raw) {
            let (first, second) = (Place { source: self.source, span: first }, self.place(span));
            self.diagnostics.push(
                Diagnostic::error(
                    code::FIELD_TWICE,
                    second,
                    format!("the field `{raw}` is given twice in the same group"),
                )
                .labelled("given again here")
                .and_at(first, "first given here")
                .help("keep the right one and take the other out"),
            );
            Key::Again(value)
        } else {
            Key::Named(raw, span)
        };
        if let Some(frame) = self.frames.last_mut() {
            frame.end = frame.end.max(span.end);
            frame.key = key;
        }
    }

    /// Where the innermost map holds this key already, and its value; otherwise remembers it.
    fn earlier(&mut self, key: &str) -> Option<(Span, NodeId)> {
        let frame = self.frames.last_mut()?;
        let entries = self.entries.get(frame.first..)?;
        let known = |entry: &Entry<'_>| (entry.key_span, entry.value);
        if entries.len() < SCANNED_KEYS {
            return entries.iter().find(|entry| entry.key == key).map(known);
        }
        let seen = frame.seen.get_or_insert_with(|| {
            entries.iter().enumerate().map(|(at, entry)| (entry.key.to_string(), at)).collect()
        });
        if let Some(first) = seen.get(key) {
            return entries.get(*first).map(known);
        }
        seen.insert(key.to_owned(), entries.len());
        None
    }

    fn attach(&mut self, kind: NodeKind<'s>, span: Span) -> NodeId {
        let id = NodeId(narrow(self.document.nodes.len()));
        let parent = self.frames.last().map(|frame| frame.node);
        self.document.nodes.push(Node { span: span.shifted(self.base), kind, parent });
        let Some(frame) = self.frames.last_mut() else {
            self.root = Some(id);
            return id;
        };
        frame.end = frame.end.max(span.end);
        if !frame.map {
            self.items.push(id);
            return id;
        }
        match std::mem::replace(&mut frame.key, Key::None) {
            Key::Named(key, key_span) => {
                let key_span = key_span.shifted(self.base);
                self.entries.push(Entry { key, key_span, value: id, field: UNKNOWN });
            }
            Key::Again(first) => frame.again.push((first, id)),
            Key::None | Key::Refused => {}
        }
        id
    }
}

fn blank<'s>(source: SourceId, capacity: usize) -> Document<'s> {
    Document {
        source,
        nodes: Vec::with_capacity(capacity),
        entries: Vec::with_capacity(capacity),
        items: Vec::new(),
        root: NodeId(0),
        refused: Vec::new(),
        twice: Vec::new(),
        blank_strangers: Vec::new(),
        known_in: BTreeMap::new(),
        misspelt: Vec::new(),
        read_as: Vec::new(),
        placeholders: Vec::new(),
        alone: Vec::new(),
        dotted: Vec::new(),
        long: Vec::new(),
        logs: Vec::new(),
        form: None,
    }
}

/// Counts of nodes are bounded far below 4 billion by the reader's limits.
fn narrow(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
