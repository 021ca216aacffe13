//! A value written into the text of a record, in whatever layout that is: bytes are cut out and others put in, so that
//! comments, order and layout stay as they are. What comes out is read again and must say the same as before, but for
//! the value.

mod take_out;

pub use self::take_out::take_out;
use super::path::Step;
use super::{DocPath, Document, NodeId, NodeKind, ReaderChoice, Record, Shape};
use crate::source::SourceId;

/// Why a value cannot be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unwritable {
    /// The text cannot be read, or has not so many documents.
    Unreadable,
    /// The path leads through a single value, past the end of a list, or into a group by a number.
    NoWay,
    /// A comment would be lost.
    Comment,
    /// The text is laid out so that other values would change too.
    Layout,
}

/// The text with `value` at a path of the document of this number; empty, the value is taken out and its field left.
/// `value` is YAML on one line. Groups on the way and an entry behind the last one of a list are added; a new field is put
/// where `form` has it.
///
/// # Errors
/// Why it cannot be written; nothing is changed then.
pub fn write(
    text: &str,
    number: usize,
    path: &DocPath,
    value: &str,
    form: &Record,
) -> Result<String, Unwritable> {
    let (before, faults) = READER.read(SourceId::FIRST, text, 0);
    let document = before.get(number).ok_or(Unwritable::Unreadable)?;
    let written = Writer { document, text, form }.written(path, value)?;
    let (after, new_faults) = READER.read(SourceId::FIRST, &written, 0);
    let wanted = format!("v: {value}");
    let (wanted, _) = READER.read(SourceId::FIRST, &wanted, 0);
    let wanted = wanted.first().and_then(|wanted| Some((wanted, wanted.get(wanted.root(), "v")?)));
    let Some((wanted, node)) = wanted else { return Err(Unwritable::Layout) };
    let is_same = |(at, (before, after)): (usize, (&Document<'_>, &Document<'_>))| {
        let steps = (at == number).then(|| path.steps());
        Pair { before, after, wanted, node }.same(before.root(), after.root(), steps)
    };
    let is_sound = before.len() == after.len()
        && new_faults.len() <= faults.len()
        && before.iter().zip(&after).enumerate().all(is_same);
    if is_sound { Ok(written) } else { Err(Unwritable::Layout) }
}

/// The column up to which the blanks before a comment give way to a value, so that comments stay below each other.
const GAP: usize = 2;

/// Both readers come to the same trees.
const READER: ReaderChoice = ReaderChoice::QuickFirst;

struct Writer<'w> {
    document: &'w Document<'w>,
    text: &'w str,
    form: &'w Record,
}

impl Writer<'_> {
    fn written(&self, path: &DocPath, value: &str) -> Result<String, Unwritable> {
        let mut at = self.document.root();
        let mut steps = path.steps();
        let mut form = Some(self.form);
        while let Some((step, rest)) = steps.split_first() {
            let next = match step {
                Step::Key(name) => self.document.get(at, name),
                Step::In(number) => self.document.items(at).get(*number).copied(),
            };
            let Some(next) = next else { return self.added(at, step, rest, value, form) };
            if let Step::Key(name) = step {
                form = form.and_then(|form| inner(form, name));
            }
            (at, steps) = (next, rest);
        }
        if path.is_root() { Err(Unwritable::NoWay) } else { self.in_place_of(at, value) }
    }

    /// The value in the place of the one that a node is.
    fn in_place_of(&self, node: NodeId, value: &str) -> Result<String, Unwritable> {
        let span = self.document.span(node);
        let Some(colon) = self.behind_colon(node) else {
            // An entry of a list.
            let gap = if self.document.is_empty(node) && !value.is_empty() && !self.is_in_brackets(node) {
                " "
            } else {
                ""
            };
            return Ok(self.spliced(span.start as usize, span.end as usize, &format!("{gap}{value}")));
        };
        let end = if span.is_empty() { colon } else { colon.max(span.end as usize) };
        let is_single = !matches!(self.document.node(node).kind, NodeKind::Map(_) | NodeKind::List(_));
        let head = if is_single { span.start as usize } else { end };
        if self.text.get(colon..head.max(colon)).is_some_and(|lost| lost.contains('#')) {
            return Err(Unwritable::Comment);
        }
        if self.is_in_brackets(node) {
            // `a:}` would be a name.
            let behind = self.text.get(end..).unwrap_or_default();
            let blanks = behind.len() - behind.trim_start_matches(' ').len();
            return Ok(self.spliced(
                colon,
                end + if span.is_empty() { blanks } else { 0 },
                &format!(" {value}"),
            ));
        }
        let new = if value.is_empty() { String::new() } else { format!(" {value}") };
        let old = self.text.get(colon..end).unwrap_or_default();
        Ok(self.spliced(colon, end + self.gap_to_close(old, end), &self.padded(old, end, new)))
    }

    /// How many of the blanks before a comment on the same line are put anew.
    fn gap_to_close(&self, old: &str, end: usize) -> usize {
        let behind = self.text.get(end..).unwrap_or_default();
        let blanks = behind.len() - behind.trim_start_matches(' ').len();
        let is_comment = blanks > 0 && behind.trim_start_matches(' ').starts_with('#');
        if is_comment && !old.contains(['\n', '\r']) { blanks } else { 0 }
    }

    /// A value with the blanks that keep the comment behind it in its column.
    fn padded(&self, old: &str, end: usize, new: String) -> String {
        let blanks = self.gap_to_close(old, end);
        if blanks == 0 {
            return new;
        }
        let column = old.chars().count() + blanks;
        let gap = column.saturating_sub(new.chars().count()).max(GAP);
        format!("{new}{:gap$}", "")
    }

    /// Adds what a step leads to in a group or list, with the value at the end of the other steps.
    fn added(
        &self,
        at: NodeId,
        step: &Step<usize>,
        rest: &[Step<usize>],
        value: &str,
        form: Option<&Record>,
    ) -> Result<String, Unwritable> {
        let inner = built(rest, value)?;
        let new = match step {
            Step::Key(name) => format!("{}: {inner}", key(name)).trim_end().to_owned(),
            Step::In(number) if *number == self.document.items(at).len() => inner,
            Step::In(_) => return Err(Unwritable::NoWay),
        };
        match (&self.document.node(at).kind, step) {
            (NodeKind::Empty, _) => self.in_empty(at, step, &new),
            (NodeKind::Map(_), Step::Key(name)) => self.field(at, name, &new, form),
            (NodeKind::List(_), Step::In(_)) => self.entry(at, &new),
            _ => Err(Unwritable::NoWay),
        }
    }

    /// A first field or entry in the place of nothing.
    fn in_empty(&self, at: NodeId, step: &Step<usize>, new: &str) -> Result<String, Unwritable> {
        let in_brackets = match step {
            Step::Key(_) => format!("{{{new}}}"),
            Step::In(_) => format!("[{new}]"),
        };
        let is_bare = self.document.span(at).is_empty() && !self.is_in_brackets(at);
        let Some(name) = self.document.key_span(at).filter(|_| is_bare) else {
            return self.in_place_of(at, &in_brackets);
        };
        let dash = if matches!(step, Step::In(_)) { "- " } else { "" };
        let indent = self.column(name.start as usize) + 2;
        let end = self.end_of_line(name.end as usize);
        Ok(self.line_at(end, &format!("{:indent$}{dash}{new}", "")))
    }

    fn field(&self, at: NodeId, name: &str, new: &str, form: Option<&Record>) -> Result<String, Unwritable> {
        let entries = self.document.entries(at);
        if self.text.get(self.document.span(at).start as usize..).is_some_and(|text| text.starts_with('{')) {
            return Ok(self.in_bracket(at, entries.last().map(|last| self.end_of(last.value)), new));
        }
        let Some(first) = entries.first() else { return Err(Unwritable::Layout) };
        let indent = self.column(first.key_span.start as usize);
        let place = |name: &str| form.and_then(|form| form.field(name)).map(|(index, _)| index);
        let own = place(name);
        let before = entries.iter().rev().find(|entry| own.is_none() || place(&entry.key) < own);
        // In front of the first field is the dash of an entry, or the line that names the form.
        let after = before.unwrap_or(first);
        let end = self.end_of_line(self.end_of(after.value));
        Ok(self.line_at(end, &format!("{:indent$}{new}", "")))
    }

    fn entry(&self, at: NodeId, new: &str) -> Result<String, Unwritable> {
        let start = self.document.span(at).start as usize;
        let last = self.document.items(at).last().map(|last| self.document.span(*last).end as usize);
        if self.text.get(start..).is_some_and(|text| text.starts_with('[')) {
            return Ok(self.in_bracket(at, last, new));
        }
        let indent = self.column(start);
        let end = self.end_of_line(last.unwrap_or(start));
        Ok(self.line_at(end, &format!("{:indent$}- {new}", "")))
    }

    /// Something new in brackets, behind what ends there.
    fn in_bracket(&self, at: NodeId, last: Option<usize>, new: &str) -> String {
        match last {
            Some(last) => {
                let behind = self.text.get(last..).unwrap_or_default();
                let last = last + behind.len() - behind.trim_start_matches(' ').len();
                self.spliced(last, last, &format!(", {new}"))
            }
            None => {
                let behind = self.document.span(at).start as usize + 1;
                self.spliced(behind, behind, new)
            }
        }
    }

    /// Where a value ends; where its name does, if there is none.
    fn end_of(&self, node: NodeId) -> usize {
        let end = self.document.span(node).end as usize;
        end.max(self.behind_colon(node).unwrap_or_default())
    }

    /// Behind the colon after the name of a value.
    fn behind_colon(&self, node: NodeId) -> Option<usize> {
        let end = self.document.key_span(node)?.end as usize;
        let behind = self.text.get(end..)?;
        let blanks = behind.len() - behind.trim_start().len();
        behind.trim_start().starts_with(':').then_some(end + blanks + 1)
    }

    /// Whether a value is somewhere between brackets.
    fn is_in_brackets(&self, node: NodeId) -> bool {
        let mut at = node;
        while let Some(parent) = self.document.parent(at) {
            let start = self.document.span(parent).start as usize;
            if self.text.get(start..).is_some_and(|text| text.starts_with(['{', '['])) {
                return true;
            }
            at = parent;
        }
        false
    }

    fn column(&self, at: usize) -> usize {
        let before = self.text.get(..at).unwrap_or_default();
        let line = before.rsplit(['\n', '\r']).next().unwrap_or_default();
        line.trim_start_matches('\u{feff}').chars().count()
    }

    fn end_of_line(&self, at: usize) -> usize {
        let behind = self.text.get(at..).unwrap_or_default();
        at + behind.find(['\n', '\r']).unwrap_or(behind.len())
    }

    /// A line of its own, behind the line that ends here.
    fn line_at(&self, end: usize, line: &str) -> String {
        let ending = if self.text.contains("\r\n") { "\r\n" } else { "\n" };
        self.spliced(end, end, &format!("{ending}{line}"))
    }

    fn spliced(&self, start: usize, end: usize, new: &str) -> String {
        let before = self.text.get(..start).unwrap_or_default();
        let behind = self.text.get(end..).unwrap_or_default();
        format!("{before}{new}{behind}")
    }
}

/// What the form says of a group within another, or of the entries of a list there.
fn inner<'r>(form: &'r Record, name: &str) -> Option<&'r Record> {
    let mut shape = &form.field(name)?.1.shape;
    while let Shape::List(entry) = shape {
        shape = entry;
    }
    if let Shape::Record(record) = shape { Some(record) } else { None }
}

/// A name as it is written before a colon.
fn key(name: &str) -> String {
    let is_plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if is_plain {
        name.to_owned()
    } else {
        format!("\"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""))
    }
}

/// A value with the groups and lists on the way to it, in brackets.
fn built(steps: &[Step<usize>], value: &str) -> Result<String, Unwritable> {
    steps.iter().rev().try_fold(value.to_owned(), |inner, step| match step {
        Step::Key(name) => Ok(format!("{{{}: {inner}}}", key(name))),
        Step::In(0) => Ok(format!("[{inner}]")),
        Step::In(_) => Err(Unwritable::NoWay),
    })
}

/// A document before and after, with the value that was to be written.
struct Pair<'p> {
    before: &'p Document<'p>,
    after: &'p Document<'p>,
    wanted: &'p Document<'p>,
    node: NodeId,
}

impl Pair<'_> {
    /// Whether both say the same, but for the value at the end of the steps. Depth is bounded by the reader's limit.
    fn same(&self, before: NodeId, after: NodeId, steps: Option<&[Step<usize>]>) -> bool {
        let next = match steps {
            Some([]) => return self.is_wanted(after),
            Some([step, rest @ ..]) => Some((step, rest)),
            None => None,
        };
        match (&self.before.node(before).kind, &self.after.node(after).kind) {
            (NodeKind::Empty, NodeKind::Empty) => true,
            (NodeKind::Empty, _) => steps.is_some_and(|steps| self.is_only(after, steps)),
            (
                NodeKind::Scalar { raw, plain, .. },
                NodeKind::Scalar { raw: new_raw, plain: new_plain, .. },
            ) => next.is_none() && raw == new_raw && plain == new_plain,
            (NodeKind::Map(_), NodeKind::Map(_)) => self.same_groups(before, after, next),
            (NodeKind::List(_), NodeKind::List(_)) => self.same_lists(before, after, next),
            _ => false,
        }
    }

    fn same_groups(
        &self,
        before: NodeId,
        after: NodeId,
        next: Option<(&Step<usize>, &[Step<usize>])>,
    ) -> bool {
        let (old, new) = (self.before.entries(before), self.after.entries(after));
        let on_way = |key: &str| match next {
            Some((Step::Key(name), rest)) if **name == *key => Some(rest),
            _ => None,
        };
        let mut old = old.iter();
        let same = new.iter().all(|entry| match old.clone().next() {
            Some(known) if known.key == entry.key => {
                old.next();
                self.same(known.value, entry.value, on_way(&entry.key))
            }
            _ => on_way(&entry.key).is_some_and(|rest| self.is_only(entry.value, rest)),
        });
        same && old.next().is_none()
    }

    fn same_lists(
        &self,
        before: NodeId,
        after: NodeId,
        next: Option<(&Step<usize>, &[Step<usize>])>,
    ) -> bool {
        let (old, new) = (self.before.items(before), self.after.items(after));
        let on_way = |at: usize| match next {
            Some((Step::In(number), rest)) if *number == at => Some(rest),
            _ => None,
        };
        let mut each = new.iter().enumerate();
        old.len() <= new.len()
            && each.all(|(at, entry)| match old.get(at) {
                Some(known) => self.same(*known, *entry, on_way(at)),
                None => on_way(at).is_some_and(|rest| self.is_only(*entry, rest)),
            })
    }

    /// Whether what is here was added for the value and holds nothing else.
    fn is_only(&self, node: NodeId, steps: &[Step<usize>]) -> bool {
        let Some((step, rest)) = steps.split_first() else { return self.is_wanted(node) };
        match (step, self.after.entries(node), self.after.items(node)) {
            (Step::Key(name), [entry], []) => *entry.key == **name && self.is_only(entry.value, rest),
            (Step::In(0), [], [entry]) => self.is_only(*entry, rest),
            _ => false,
        }
    }

    fn is_wanted(&self, node: NodeId) -> bool {
        let pair = Pair { before: self.wanted, after: self.after, wanted: self.wanted, node: self.node };
        pair.same(self.node, node, None)
    }
}
