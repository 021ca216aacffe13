//! Documents as trees.

use super::Comparison;
use super::difference::Difference;
use super::tree::{Field, Item, List, Mark, Piece, Rank, Worth, one_line};
use crate::code::{DOCUMENT_EMPTY, ENCODING, FIELD_TWICE, LAYOUT, TOO_DEEP, TOO_LARGE};
use crate::diagnostic::Diagnostic;
use crate::document::forms::FIELD as FORM;
use crate::document::{Document, Form, NodeId, NodeKind, Record, Shape};
use crate::edition::Edition;
use crate::trade::form::PROCEDURE;
use crate::trade::names::{NAMES, SEQUENCE};
use crate::trade::procedure;
use crate::value::Value;

/// The mistakes that leave out a part of a document, of which it then cannot be said what changed.
const LEAVES_OUT: [crate::code::Code; 6] =
    [ENCODING, TOO_LARGE, TOO_DEEP, LAYOUT, DOCUMENT_EMPTY, FIELD_TWICE];

/// The one document of a text, if it can be compared.
///
/// # Errors
/// Why it cannot: a text with several documents, without a form, or one that could not be read whole.
/// The mistakes that stand in the way, if there are any, come with it.
pub fn one_document<'d, 's>(
    documents: &'d [Document<'s>],
    diagnostics: &[Diagnostic],
) -> Result<&'d Document<'s>, (String, Vec<Diagnostic>)> {
    let [document] = documents else {
        let why = match documents.len() {
            0 => "it holds no document that can be read".to_owned(),
            several => format!("it holds {several} documents, and one is compared with one"),
        };
        return Err((why, in_the_way(diagnostics, |_| true)));
    };
    if document.form().is_none() {
        return Err(("it follows no form that is known".to_owned(), in_the_way(diagnostics, |_| true)));
    }
    let missing = in_the_way(diagnostics, |found| LEAVES_OUT.contains(&found.code));
    if missing.is_empty() {
        return Ok(document);
    }
    Err(("a part of it cannot be read".to_owned(), missing))
}

fn in_the_way(diagnostics: &[Diagnostic], wanted: impl Fn(&Diagnostic) -> bool) -> Vec<Diagnostic> {
    diagnostics.iter().filter(|found| wanted(found)).cloned().collect()
}

/// What changed between two documents of one form.
#[must_use]
pub fn documents(old: &Document<'_>, new: &Document<'_>, form: &Form) -> Comparison {
    let record = form.record();
    let (ours, theirs) = (whole(old, record), whole(new, record));
    let Difference { changes, spellings, .. } = Difference::between(&ours, &theirs);
    let editions = (edition(old, form), edition(new, form));
    Comparison { changes, spellings, editions, renamed_rules: Vec::new(), strictness: Vec::new() }
}

/// The edition that a document states of itself; only procedures have one.
fn edition(document: &Document<'_>, form: &Form) -> Option<Edition> {
    Edition::of(procedure::edition(document).value().filter(|_| form.name() == PROCEDURE)?)
}

fn whole(document: &Document<'_>, record: &Record) -> Piece {
    let reader = Reader { document };
    let fields = reader.fields(document.root(), Some(record), "", &[FORM]);
    Piece::group(document.place(document.root()), String::new(), fields)
}

struct Reader<'d, 's> {
    document: &'d Document<'s>,
}

impl Reader<'_, '_> {
    /// What stands at a node; nothing where nothing is recorded. Depth is bounded by the reader of
    /// documents.
    fn piece(&self, id: NodeId, shape: &Shape, path: String) -> Option<Piece> {
        let place = self.document.place(id);
        match (&self.document.node(id).kind, shape) {
            (NodeKind::Empty, _) => None,
            (NodeKind::Scalar { raw, .. }, _) => {
                let words = one_line(raw);
                Some(Piece::value(place, path, &self.worth(id), words))
            }
            (NodeKind::Map(_), Shape::Record(record)) => {
                let fields = self.fields(id, Some(record), &path, &[]);
                Some(Piece::group(place, path, fields))
            }
            (NodeKind::Map(_), _) => {
                let fields = self.fields(id, None, &path, &[]);
                Some(Piece::group(place, path, fields))
            }
            (NodeKind::List(_), shape) => {
                let each = if let Shape::List(each) = shape { each } else { &Shape::Any };
                let items = self.document.items(id).iter().enumerate();
                let items =
                    items.filter_map(|(number, id)| self.item(*id, each, format!("{path}[{number}]")));
                let list = List { noun: None, ordered: true, items: items.collect() };
                Some(Piece::list(place, path, list))
            }
        }
    }

    fn worth(&self, id: NodeId) -> Worth {
        match self.document.value(id) {
            Some(value) => Worth::of(value),
            None => Worth::words(self.document.raw(id).unwrap_or_default()),
        }
    }

    fn fields(&self, id: NodeId, record: Option<&Record>, path: &str, without: &[&str]) -> Vec<Field> {
        let entries = self.document.entries(id).iter().filter(|entry| !without.contains(&&*entry.key));
        let fields = entries.filter_map(|entry| {
            let declared = record.and_then(|record| record.fields.get(usize::from(entry.field)));
            let shape = declared.map_or(&Shape::Any, |field| &field.shape);
            let piece = self.piece(entry.value, shape, step(path, &entry.key))?;
            Some(Field { name: entry.key.clone().into_owned(), piece })
        });
        fields.collect()
    }

    fn item(&self, id: NodeId, shape: &Shape, path: String) -> Option<Item> {
        let Shape::Record(record) = shape else {
            let piece = self.piece(id, shape, path)?;
            return Some(Item { key: None, label: String::new(), rank: None, piece });
        };
        if !matches!(self.document.node(id).kind, NodeKind::Map(_)) {
            let piece = self.piece(id, shape, path)?;
            return Some(Item { key: None, label: String::new(), rank: None, piece });
        }
        let (mut names, mut words, mut apart) = (Vec::new(), Vec::new(), Vec::new());
        for name in names_of(record) {
            let node = self.document.get(id, name).filter(|node| self.document.raw(*node).is_some());
            names.push(node.map(|node| self.worth(node).mark()));
            words.extend(node.and_then(|node| self.document.raw(node)).map(one_line));
            apart.extend(node.map(|_| *name));
        }
        let rank = self.rank(id, record, &path);
        apart.extend(rank.as_ref().map(|_| SEQUENCE));
        let fields = self.fields(id, Some(record), &path, &apart);
        let piece = Piece::group(self.document.place(id), path, fields);
        let key = names.iter().any(Option::is_some).then(|| Mark::of(&names));
        Some(Item { key, label: words.join(" "), rank, piece })
    }

    /// The number that an item states for its place in the sequence.
    fn rank(&self, id: NodeId, record: &Record, path: &str) -> Option<Rank> {
        let (_, field) = record.field(SEQUENCE)?;
        let node = self.document.get(id, SEQUENCE)?;
        let Value::Quantity(quantity) = self.document.value(node)? else { return None };
        let piece = self.piece(node, &field.shape, step(path, SEQUENCE))?;
        Some(Rank { number: quantity.base(), piece })
    }
}

/// The fields that are the name of an item.
fn names_of(record: &Record) -> &'static [&'static str] {
    let declares = |row: &&&[&str]| row.first().is_some_and(|name| record.field(name).is_some());
    NAMES.iter().find(declares).copied().unwrap_or_default()
}

/// A step further down a path, as [`Document::path`] writes it.
fn step(path: &str, key: &str) -> String {
    let plain = !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || c == '_');
    match (path.is_empty(), plain) {
        (true, true) => key.to_owned(),
        (false, true) => format!("{path}.{key}"),
        (_, false) => format!("{path}[\"{key}\"]"),
    }
}
