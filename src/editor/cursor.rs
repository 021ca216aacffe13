//! Where in a record a place is: in which group, at the name of a field or at its value. A text that is being typed can seldom
//! be read as it is, so a mark is put in the place of the word at hand, and the text is read with that.

use std::sync::Arc;

use crate::document::path::{Every, Step};
use crate::document::{
    self, DocPath, Document, Field, Form, Forms, NodeId, NodeKind, PathPattern, Record, Shape,
};
use crate::source::{SourceId, Span};

/// What is put in the place of the word at hand: no word that anybody writes.
const MARK: &str = "z9cursor7mark3";

/// Where a place is.
#[derive(Debug)]
pub struct Cursor {
    /// The document, with the mark in it.
    pub document: Document<'static>,
    /// The group that the place is in.
    pub group: NodeId,
    /// The path of that group.
    pub path: DocPath,
    /// What the form declares of it.
    pub record: Arc<Record>,
    /// The field at whose value the place is; none at the name of one.
    pub field: Option<Field>,
    /// What is written there, and would be replaced.
    pub typed: Span,
    /// Whether a colon stands behind the name already.
    pub has_colon: bool,
    /// The blanks before the fields of the group, where they stand on lines of their own.
    pub indent: usize,
}

impl Cursor {
    /// The pattern of the group: `fastenings[]`.
    #[must_use]
    pub fn pattern(&self) -> PathPattern {
        pattern(&self.path)
    }

    /// The text of another field of the group.
    #[must_use]
    pub fn beside(&self, name: &str) -> Option<&str> {
        self.document.text(self.document.get(self.group, name)?)
    }

    /// Whether the group has a field already.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.document.entry(self.group, name).is_some()
    }
}

/// The pattern of a path.
#[must_use]
pub fn pattern(path: &DocPath) -> PathPattern {
    path.steps().iter().fold(PathPattern::root(), |pattern, step| match step {
        Step::Key(name) => pattern.key(name),
        Step::In(_) => pattern.entry(Every),
    })
}

/// What the form declares at a path.
#[must_use]
pub fn shape_at(record: &Arc<Record>, path: &DocPath) -> Option<Shape> {
    let mut shape = Shape::Record(Arc::clone(record));
    for step in path.steps() {
        shape = match (step, &shape) {
            (Step::Key(name), Shape::Record(record)) => match record.field(name) {
                Some((_, field)) => field.shape.clone(),
                None => record.others.clone()?,
            },
            (Step::In(_), Shape::List(entry)) => Shape::clone(entry),
            // Below what the form leaves open it leaves all open.
            (Step::Key(_), Shape::Any) => Shape::Any,
            _ => return None,
        };
    }
    Some(shape)
}

/// How a text is read.
#[derive(Clone, Copy)]
pub struct Reading<'f> {
    /// The forms that are known.
    pub forms: &'f Forms,
    /// The form of a part of a record, such as that of a trial; each document says its own otherwise.
    pub part_of: Option<&'f Form>,
}

impl Reading<'_> {
    fn read(self, text: &str) -> Vec<Document<'static>> {
        let (documents, _) = match self.part_of {
            Some(form) => document::read_partial(SourceId::FIRST, text, 0, form, self.forms),
            None => document::read(SourceId::FIRST, text, self.forms),
        };
        documents.into_iter().map(Document::into_owned).collect()
    }

    fn record(self, document: &Document<'_>) -> Option<Arc<Record>> {
        let own = || Some(Arc::clone(self.forms.get(document.form()?)?.record()));
        self.part_of.map(|form| Arc::clone(form.record())).or_else(own)
    }

    /// Where an offset of a text is; nothing in a comment and where nothing can be told.
    #[must_use]
    pub fn cursor(self, text: &str, offset: usize) -> Option<Cursor> {
        let spot = Spot::of(text, offset)?;
        let Span { start, end } = spot.typed;
        // A text in quotes that is not closed goes on over the lines below; what is offered is on one line.
        if spot.typed.of(text).contains(['\n', '\r']) {
            return None;
        }
        let (before, behind) = (text.get(..start as usize)?, text.get(end as usize..)?);
        let mark = match spot.kind {
            Kind::Name if !spot.has_colon => format!("{MARK}: "),
            Kind::Name | Kind::Value => MARK.to_owned(),
        };
        let whole = format!("{before}{mark}{behind}");
        // Where what follows cannot be read, what stands before has to do.
        let cut = format!("{before}{mark}{}\n", spot.closing);
        [whole, cut].iter().find_map(|text| {
            self.read(text).into_iter().find_map(|document| {
                let record = self.record(&document)?;
                spot.cursor(document, &record)
            })
        })
    }
}

/// What stands at an offset, as far as signs and lines tell.
struct Spot {
    kind: Kind,
    typed: Span,
    has_colon: bool,
    indent: usize,
    /// What closes the brackets that are open.
    closing: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Name,
    Value,
}

/// Brackets that are open before an offset, and where the word at hand begins.
#[derive(Default)]
struct Signs {
    open: Vec<char>,
    /// The last sign within the innermost bracket, and the byte behind it.
    last: Option<(char, usize)>,
    in_comment: bool,
    in_quotes: Option<(char, usize)>,
}

impl Signs {
    /// Goes through the text of one document up to an offset. Quotes and brackets count where a value may begin.
    fn before(text: &str) -> Signs {
        let mut signs = Signs::default();
        let mut earlier = '\n';
        let mut may_begin = true;
        for (at, c) in text.char_indices() {
            signs.step(c, at, earlier, may_begin);
            may_begin = match c {
                ' ' | '\t' => may_begin || matches!(earlier, ':' | ',' | '-'),
                '\n' | '\r' | '[' | '{' => true,
                ',' | ':' | '-' if !signs.open.is_empty() => may_begin || c == ',',
                _ => false,
            };
            earlier = c;
        }
        signs
    }

    fn step(&mut self, c: char, at: usize, earlier: char, may_begin: bool) {
        if self.in_comment {
            self.in_comment = !matches!(c, '\n' | '\r');
            return;
        }
        if let Some((quote, _)) = self.in_quotes {
            let is_escaped = quote == '"' && earlier == '\\';
            if c == quote && !is_escaped {
                self.in_quotes = None;
            }
            return;
        }
        match c {
            '#' if earlier.is_whitespace() => self.in_comment = true,
            '"' | '\'' if may_begin => self.in_quotes = Some((c, at)),
            '{' | '[' if may_begin || !self.open.is_empty() => {
                self.open.push(c);
                self.last = Some((c, at + 1));
            }
            '}' | ']' if !self.open.is_empty() => {
                self.open.pop();
                self.last = None;
            }
            ',' if !self.open.is_empty() => self.last = Some((c, at + 1)),
            ' ' | '\n' if earlier == ':' && !self.open.is_empty() => self.last = Some((':', at + 1)),
            _ => {}
        }
    }

    fn closing(&self) -> String {
        self.open.iter().rev().map(|open| if *open == '{' { '}' } else { ']' }).collect()
    }
}

impl Spot {
    /// The group or list that holds the mark, and the name of the field whose value it is; none where it is itself a name or an
    /// entry of a list.
    fn marked(&self, document: &Document<'_>) -> Option<(NodeId, Option<String>)> {
        let mut waiting = vec![document.root()];
        while let Some(node) = waiting.pop() {
            for entry in document.entries(node) {
                if entry.key_span.start == self.typed.start && entry.key == MARK {
                    return Some((node, None));
                }
                if self.is_mark(document, entry.value) {
                    return Some((node, Some(entry.key.to_string())));
                }
                waiting.push(entry.value);
            }
            if document.items(node).iter().any(|item| self.is_mark(document, *item)) {
                return Some((node, None));
            }
            waiting.extend(document.items(node));
        }
        None
    }

    fn is_mark(&self, document: &Document<'_>, node: NodeId) -> bool {
        let span = document.span(node);
        let is_single = matches!(document.node(node).kind, NodeKind::Scalar { .. });
        is_single && span.start == self.typed.start && span.len() == MARK.len()
    }

    /// The cursor in a document that holds the mark.
    fn cursor(&self, document: Document<'static>, form: &Arc<Record>) -> Option<Cursor> {
        let (holder, name) = self.marked(&document)?;
        let path = document.path(holder);
        let (group, path, record, field) = match shape_at(form, &path)? {
            Shape::Record(record) => {
                let field = match name {
                    Some(name) => Some(record.field(&name)?.1.clone()),
                    None => None,
                };
                (holder, path, record, field)
            }
            // A group of which the form says nothing, such as the values of a parameter by their keys.
            Shape::Any if name.is_none() => (holder, path, Arc::new(Record::default()), None),
            // An entry of a list: a word of it, or the first field of a group.
            Shape::List(entry) => {
                let (Some(Step::Key(list)), outer) = (path.steps().last(), path.list()) else { return None };
                let Some(Shape::Record(record)) = shape_at(form, &outer) else { return None };
                let field = Field { shape: Shape::clone(&entry), ..record.field(list)?.1.clone() };
                (document.parent(holder)?, outer, record, Some(field))
            }
            // An entry on a line of its own, which the mark makes a group.
            entry if name.is_none() && entry.is_single() => {
                let (Some(Step::In(_)), list) = (path.steps().last(), path.list()) else { return None };
                let (Some(Step::Key(name)), outer) = (list.steps().last(), list.list()) else { return None };
                let Some(Shape::Record(record)) = shape_at(form, &outer) else { return None };
                let field = Field { shape: entry, ..record.field(name)?.1.clone() };
                (document.parent(document.parent(holder)?)?, outer, record, Some(field))
            }
            _ => return None,
        };
        let Spot { typed, has_colon, indent, .. } = *self;
        Some(Cursor { document, group, path, record, field, typed, has_colon, indent })
    }

    fn of(text: &str, offset: usize) -> Option<Spot> {
        let before = text.get(..offset)?;
        let begins = before.rfind("\n---").map_or(0, |at| at + 1);
        let signs = Signs::before(before.get(begins..)?);
        if signs.in_comment {
            return None;
        }
        let line = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
        match signs.open.last() {
            Some(open) => Spot::in_brackets(text, offset, begins, line, *open, &signs),
            None => Spot::on_line(text, offset, line),
        }
    }

    fn in_brackets(
        text: &str,
        offset: usize,
        base: usize,
        line: usize,
        open: char,
        signs: &Signs,
    ) -> Option<Spot> {
        let (sign, behind) = signs.last?;
        let before = text.get(base + behind..offset)?;
        let start = base + behind + (before.len() - before.trim_start().len());
        let rest = text.get(offset..)?;
        let ends: &[char] = match (sign, open) {
            (':', _) | (_, '[') => &[',', '}', ']', '\n', '\r'],
            _ => &[':', ',', '}', ']', '\n', '\r'],
        };
        let stop = rest.find(ends).unwrap_or(rest.len());
        let kind = if sign == ':' || open == '[' { Kind::Value } else { Kind::Name };
        let end = offset + rest.get(..stop)?.trim_end().len();
        let has_colon = kind == Kind::Name && rest.get(stop..)?.starts_with(':');
        Some(Spot {
            kind,
            typed: Span::new(start, end.max(start)),
            has_colon,
            indent: indent(text.get(line..)?),
            closing: signs.closing(),
        })
    }

    fn on_line(text: &str, offset: usize, line: usize) -> Option<Spot> {
        let whole = text.get(line..)?;
        let whole = whole.get(..whole.find(['\n', '\r']).unwrap_or(whole.len()))?;
        let bare = whole.trim_start_matches(['-', ' ', '\t']);
        let first = line + whole.len() - bare.len();
        // In the blanks before the words of a line there is nothing to complete.
        let first = first.min(offset.max(line + indent(whole)));
        let bare = text.get(first..line + whole.len())?;
        let colon = bare.match_indices(':').map(|(at, _)| at).find(|at| {
            bare.get(at + 1..).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\t']))
        });
        let comment = bare.find(" #").unwrap_or(bare.len());
        let at = offset.checked_sub(first)?;
        let (kind, start, end, has_colon) = match colon.filter(|colon| *colon < comment) {
            Some(colon) if at > colon => {
                let value = bare.get(colon + 1..comment)?;
                let start = colon + 1 + (value.len() - value.trim_start().len());
                let start = start.min(at).max(colon + 1);
                // Without a blank it would be no value.
                let start = if start == colon + 1 && bare.get(colon + 1..)?.starts_with(' ') {
                    start + 1
                } else {
                    start
                };
                (Kind::Value, start.min(at), (colon + 1 + value.trim_end().len()).max(at), false)
            }
            Some(colon) => (Kind::Name, 0, colon, true),
            None => (Kind::Name, 0, bare.get(..comment)?.trim_end().len().max(at), false),
        };
        Some(Spot {
            kind,
            typed: Span::new(first + start, first + end),
            has_colon,
            indent: first - line,
            closing: String::new(),
        })
    }
}

/// The blanks at the beginning of a line.
fn indent(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}
