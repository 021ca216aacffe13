//! The words for a document that does not follow its form.

use std::collections::HashMap;

use super::bind::{LONGEST_NAME, interpret};
use super::places::pointer;
use super::schema::Complaint;
use super::tree::{Document, Entry, NodeId, NodeKind};
use super::{Field, Forms, Record, Shape};
use crate::code;
use crate::diagnostic::{Diagnostic, Fix, nearest, surely};
use crate::letters::{look_alike, said};
use crate::quantity::{Unit, dotted_thousands};
use crate::source::{Place, Span};

/// The diagnostics for a complaint about a node of a document of this shape, at most so many.
pub(super) fn word(
    document: &Document<'_>,
    form: &Shape,
    forms: Option<&Forms>,
    node: NodeId,
    complaint: &Complaint,
    most_errors: usize,
) -> Vec<Diagnostic> {
    let shape = shape_of(document, form, forms, node);
    let words = Words { document, form, forms, node, shape, place: pointer(document, node) };
    match complaint {
        Complaint::Unknown(keys) => {
            let strangers = words.strangers();
            // More are not listed of one document.
            keys.iter().take(most_errors).filter_map(|key| words.unknown(key, &strangers)).collect()
        }
        Complaint::Missing(key) => vec![words.missing(key)],
        other => vec![words.value(other)],
    }
}

/// Says that a name is too long to be any.
pub(super) fn long(document: &Document<'_>, node: NodeId) -> Option<Diagnostic> {
    let letters = document.raw(node)?.chars().count();
    let message = format!(
        "`{}` is a name, and this one has {letters} letters; {LONGEST_NAME} are the most",
        document.path(node)
    );
    let diagnostic = Diagnostic::error(code::OUTSIDE_FORM, document.place(node), message);
    Some(diagnostic.help("write the name alone; what else there is to say belongs into the remarks"))
}

/// What is said of a value whose point can stand between thousands; an error where the field holds whole
/// values only, an advice elsewhere.
pub(super) fn dotted(document: &Document<'_>, node: NodeId, whole: bool) -> Option<Diagnostic> {
    let raw = document.raw(node)?.trim();
    let [decimal, thousands] = dotted_thousands(raw)?;
    let place = document.place(node);
    Some(if whole {
        let message = format!("`{raw}` can mean {decimal} or {thousands}");
        Diagnostic::error(code::NUMBER_FORM, place, message)
            .help(format!("write `{decimal}` or `{thousands}`"))
    } else {
        let message = format!("the point in `{raw}` is read as a decimal point, and it could mark thousands");
        Diagnostic::advice(code::DOTTED_THOUSANDS, place, message)
            .help(format!("write `{decimal}`, or `{thousands}` if that is what was meant"))
    })
}

/// What is declared of a node; with `forms`, also behind a link that a trial has written out.
fn shape_of(document: &Document<'_>, form: &Shape, forms: Option<&Forms>, node: NodeId) -> Shape {
    let Some(parent) = document.parent(node) else { return form.clone() };
    match shape_of(document, form, forms, parent) {
        Shape::Record(record) => {
            let own = document.entries(parent).iter().find(|entry| entry.value == node);
            let field = own.and_then(|entry| record.fields.get(usize::from(entry.field)));
            let behind_link = || {
                let (_, link) = record.link(&own?.key)?;
                Some(Shape::Record(link.record(&record, forms?)?))
            };
            let declared = field.map(|field| field.shape.clone()).or_else(behind_link);
            declared.or_else(|| record.others.clone()).unwrap_or(Shape::Any)
        }
        Shape::List(item) => Shape::clone(&item),
        _ => Shape::Any,
    }
}

struct Words<'a> {
    document: &'a Document<'a>,
    form: &'a Shape,
    forms: Option<&'a Forms>,
    node: NodeId,
    shape: Shape,
    place: Place,
}

/// A group in which there are fields that its form does not know.
struct Strangers<'a> {
    entries: HashMap<&'a str, &'a Entry<'a>>,
    known: Vec<&'a str>,
    /// The names of its form that no field of it has.
    free: Vec<&'a str>,
}

impl Words<'_> {
    /// The name of the field whose value the node is; in a list, of the list.
    fn name(&self) -> Option<&str> {
        let mut node = self.node;
        while let Some(parent) = self.document.parent(node) {
            if let Some(entry) = self.document.entries(parent).iter().find(|entry| entry.value == node) {
                return Some(&entry.key);
            }
            node = parent;
        }
        None
    }

    fn record(&self) -> Option<&Record> {
        if let Shape::Record(record) = &self.shape { Some(record) } else { None }
    }

    /// The entries of the group, of which some have names that its form does not know. Looked at once for all of them.
    fn strangers(&self) -> Strangers<'_> {
        let mut entries = HashMap::new();
        for entry in self.document.entries(self.node) {
            entries.entry(&*entry.key).or_insert(entry);
        }
        let known = self.record().map(|record| names(record)).unwrap_or_default();
        // A name that is there already is not what was meant by another.
        let free = known.iter().copied().filter(|name| !entries.contains_key(name)).collect();
        Strangers { entries, known, free }
    }

    fn unknown(&self, key: &str, strangers: &Strangers<'_>) -> Option<Diagnostic> {
        let Strangers { entries, known, free } = strangers;
        let entry = entries.get(key)?;
        let place = Place { source: self.document.source, span: entry.key_span };
        let title = self.record().map_or("group", |record| &record.title);
        let elsewhere = holders(self.form, key);
        let fix = surely(key, free.iter().copied()).and_then(|sure| respelt(place, &entry.key, sure));
        let written = self.document.raw(entry.value).unwrap_or_default();
        let help = if let Some((field, value)) = self.borders(key, written) {
            let tolerance = written.trim_start_matches(['±', '+', '-', '/', ' ']);
            format!("write the tolerance with its value: `{field}: {value} ± {tolerance}`")
        } else if let Some(usual) = self.record().and_then(|record| usual(record, key)) {
            format!("write `{usual}`")
        } else if let Some(near) = nearest(key, known.iter().copied()) {
            written_as(key, near)
        } else if let Some((title, usual)) = usual_elsewhere(self.form, key).first() {
            format!("write it as `{usual}` of the {title}")
        } else if let [first, ..] = &*elsewhere {
            format!("`{key}` is a field of the {first}; look at the indentation of this line")
        } else {
            format!("the fields of the {title} are {}", list(known))
        };
        let message = format!("the {title} {} no field `{key}`", verb(title, "has", "have"));
        Some(Diagnostic::error(code::FIELD_UNKNOWN, place, message).help(help).mended(fix))
    }

    /// The field, with its value, whose tolerance stands beside it in a field of its own.
    fn borders(&self, key: &str, written: &str) -> Option<(&str, &str)> {
        const NAMES: [&str; 4] = ["tol", "tolerance", "tolerances", "deviation"];
        let figures = written.contains(['±', '%']) || written.contains(|c: char| c.is_ascii_digit());
        let record = self.record().filter(|_| figures && NAMES.contains(&key))?;
        let measured = |field: &&Field| matches!(field.shape, Shape::Range(_) | Shape::Quantity(_));
        let value = |field: &'_ Field| self.document.raw(self.document.get(self.node, &field.name)?);
        record.fields.iter().filter(measured).find_map(|field| Some((&*field.name, value(field)?)))
    }

    fn missing(&self, key: &str) -> Diagnostic {
        let title = self.record().map_or("group", |record| &record.title);
        let field = self.record().and_then(|record| record.field(key));
        let wanted = match field.map(|(_, field)| &field.shape) {
            Some(Shape::Record(record)) => format!("its fields {}", list(&demanded(record))),
            Some(shape) => wanted(shape),
            None => "a value".to_owned(),
        };
        if let Some(entry) = self.document.entry(self.node, key) {
            let place = Place { source: self.document.source, span: entry.key_span };
            let message = format!("the field `{key}` of the {title} has no value, and it must have one");
            return Diagnostic::error(code::FIELD_MISSING, place, message)
                .help(format!("write {wanted} behind the colon"));
        }
        Diagnostic::error(
            code::FIELD_MISSING,
            self.place,
            format!("the {title} {} the field `{key}`", verb(title, "lacks", "lack")),
        )
        .lacks(key)
        .help(format!("add `{key}:` with {wanted}"))
    }

    fn value(&self, complaint: &Complaint) -> Diagnostic {
        let name = self.name().unwrap_or("document");
        let found = self.document.raw(self.node).unwrap_or_default();
        let count = self.document.items(self.node).len();
        let outside = |message: String| Diagnostic::error(code::OUTSIDE_FORM, self.place, message);
        match complaint {
            Complaint::TooFew(least) => {
                outside(format!("the list `{name}` has {count} items, and it must have at least {least}"))
            }
            Complaint::TooMany(most) => {
                outside(format!("the list `{name}` has {count} items, and it may have at most {most}"))
            }
            Complaint::Below(limit) | Complaint::Above(limit) => {
                outside(format!("{found} is given for `{name}`, and it must be {limit}"))
            }
            Complaint::Pattern(pattern) => outside(format!(
                "`{found}` is not of the form that `{name}` must have"
            ))
            .help(self.doc().unwrap_or_else(|| format!("the form is stated by the pattern {pattern}"))),
            Complaint::Repeated => outside(format!("the list `{name}` holds the same item twice")),
            Complaint::Other => {
                let diagnostic = outside(format!("the value of `{name}` is not one that the form allows"));
                Diagnostic { help: self.doc(), ..diagnostic }
            }
            _ => self.shape(name, found),
        }
    }

    /// The description of the field whose value the node is.
    fn doc(&self) -> Option<String> {
        let parent = self.document.parent(self.node)?;
        let Shape::Record(record) = shape_of(self.document, self.form, self.forms, parent) else {
            return None;
        };
        let (_, field) = record.field(self.name()?)?;
        let doc = field.doc.trim_end_matches('.');
        (!doc.is_empty()).then(|| format!("`{}` means: {doc}", field.name))
    }

    /// A node that is not of its declared shape.
    fn shape(&self, name: &str, found: &str) -> Diagnostic {
        let stands = match &self.document.node(self.node).kind {
            NodeKind::Scalar { .. } => "this is a single value",
            NodeKind::Map(_) => "this is a group of fields",
            NodeKind::List(_) => "this is a list",
            NodeKind::Empty => "nothing is written here",
        };
        let scalar = matches!(self.document.node(self.node).kind, NodeKind::Scalar { .. });
        match &self.shape {
            Shape::Word(words) if scalar => self.no_word(name, found, words),
            Shape::Record(_) | Shape::List(_) | Shape::Text | Shape::Log(..) | Shape::Any => {
                self.other_shape(name, stands)
            }
            shape if scalar => match interpret(found, shape) {
                Err(fault) => {
                    let diagnostic = Diagnostic::error(fault.code, self.place, fault.message);
                    let fix = fault.meant.and_then(|meant| respelt(self.place, found, &meant));
                    Diagnostic { help: fault.help, ..diagnostic }.mended(fix)
                }
                Ok(_) => self.other_shape(name, stands),
            },
            _ => self.other_shape(name, stands),
        }
    }

    fn other_shape(&self, name: &str, stands: &str) -> Diagnostic {
        let scalar = matches!(self.document.node(self.node).kind, NodeKind::Scalar { .. });
        let help = match &self.shape {
            Shape::List(item) if scalar && single(item).is_some() => {
                let found = self.document.raw(self.node).unwrap_or_default();
                match is_none(found) {
                    true => "write `[]` for none".to_owned(),
                    false => format!(
                        "write `[{found}]`, or each item behind `- ` on a line of its own below the name"
                    ),
                }
            }
            Shape::List(_) => {
                "write `[{ … }]`, or begin each item with `- ` on a line of its own below the name".to_owned()
            }
            Shape::Record(record) if record.shorthand.is_some() => {
                format!(
                    "write the `{}` alone, or its fields in braces: {}",
                    short(record),
                    list(&names(record))
                )
            }
            Shape::Record(record) => {
                format!("write its fields indented below the name: {}", list(&names(record)))
            }
            shape => format!("write {} behind the colon", wanted(shape)),
        };
        let in_list =
            self.document.parent(self.node).is_some_and(|parent| !self.document.items(parent).is_empty());
        let what = if in_list { format!("each item of `{name}`") } else { format!("`{name}`") };
        let message = format!("{what} must be {}, and {stands}", wanted(&self.shape));
        Diagnostic::error(code::WRONG_SHAPE, self.place, message).help(help)
    }

    fn no_word(&self, name: &str, found: &str, words: &[std::sync::Arc<str>]) -> Diagnostic {
        let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
        let help = match nearest(found, words.iter().copied()) {
            Some(near) => written_as(found, near),
            None => format!("write one of {}", list(&words)),
        };
        let message = format!("`{found}` is not a valid `{name}`");
        let fix = surely(found, words.iter().copied()).and_then(|sure| respelt(self.place, found, sure));
        Diagnostic::error(code::WORD_UNKNOWN, self.place, message).help(help).mended(fix)
    }
}

/// Says to write a name in the place of another.
fn written_as(written: &str, near: &str) -> String {
    if look_alike(written, near) { said(written, near) } else { format!("write `{near}`") }
}

/// The change that puts `right` in the place of the text `raw`, which stands at `place` as it is or in
/// quotes. None where escapes or line ends lie between the two, or where the new text might need quotes.
pub(super) fn respelt(place: Place, raw: &str, right: &str) -> Option<Fix> {
    let harmless = |c: char| c.is_alphanumeric() || " ._-+/·²³°%±:".contains(c);
    let plain = right.starts_with(|c: char| c.is_alphanumeric() || c == '-')
        && right.chars().all(harmless)
        && !right.contains(": ")
        && !right.ends_with([':', ' '])
        && !right.starts_with("- ");
    let quotes = match place.span.len().checked_sub(raw.len()) {
        Some(0) => 0,
        Some(2) => 1,
        _ => return None,
    };
    let Span { start, end } = place.span;
    let span = Span { start: start + quotes, end: end.checked_sub(quotes)? };
    plain.then(|| Fix { place: Place { span, ..place }, replacement: right.to_owned() })
}

/// The shape of a single value that can be written where this shape is declared.
fn single(shape: &Shape) -> Option<&Shape> {
    match shape {
        Shape::Record(record) => record.fields.get(usize::from(record.shorthand?)).map(|field| &field.shape),
        shape => Some(shape),
    }
}

/// The name of the field that a group can be written as.
fn short(record: &Record) -> &str {
    let field = record.shorthand.and_then(|number| record.fields.get(usize::from(number)));
    field.map_or("value", |field| &field.name)
}

/// What a shape asks for, in words.
pub(super) fn wanted(shape: &Shape) -> String {
    match shape {
        Shape::Record(record) if record.shorthand.is_some() => {
            let alone = single(shape).map(wanted).unwrap_or_default();
            format!("{alone} or a group of fields")
        }
        Shape::Record(_) => "a group of fields".to_owned(),
        Shape::List(_) => "a list".to_owned(),
        Shape::Text => "a text".to_owned(),
        Shape::Word(words) => {
            let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
            if let [only] = &*words { format!("`{only}`") } else { format!("one of {}", list(&words)) }
        }
        Shape::Truth => "`yes` or `no`".to_owned(),
        Shape::Count => "a whole number".to_owned(),
        Shape::Number => "a number".to_owned(),
        Shape::Quantity(kind) => format!("{} in {}", kind.with_article(), Unit::examples(*kind)),
        Shape::Range(kind) => format!("a range: {} in {}", kind.with_article(), Unit::examples(*kind)),
        Shape::Log(kind, _) => format!("a log of {kind}: the name of its file, or the values at their times"),
        Shape::Day => "a day, such as `2026-03-02`".to_owned(),
        Shape::Moment => "a day and a time, such as `2026-03-02T08:15`".to_owned(),
        Shape::Any => "a value".to_owned(),
    }
}

/// The form of a verb that follows a title: `settings` are several.
fn verb(title: &str, one: &'static str, several: &'static str) -> &'static str {
    if title.ends_with('s') { several } else { one }
}

fn names(record: &Record) -> Vec<&str> {
    record.fields.iter().map(|field| &*field.name).collect()
}

/// The fields that a record must have, or all where none is demanded.
fn demanded(record: &Record) -> Vec<&str> {
    let demanded: Vec<&str> =
        record.fields.iter().filter(|field| field.required).map(|field| &*field.name).collect();
    if demanded.is_empty() { names(record) } else { demanded }
}

/// The titles of the records of a form that have a field of this name.
fn holders<'f>(form: &'f Shape, key: &str) -> Vec<&'f str> {
    match form {
        Shape::List(item) => holders(item, key),
        Shape::Record(record) => {
            let own = record.field(key).map(|_| record.title.as_str());
            own.into_iter().chain(record.fields.iter().flat_map(|field| holders(&field.shape, key))).collect()
        }
        _ => Vec::new(),
    }
}

/// The field of a record for which people write this name.
fn usual<'r>(record: &'r Record, key: &str) -> Option<&'r str> {
    let key = key.trim().to_lowercase().replace(['-', ' '], "_");
    let is_its = |field: &&Field| field.called.iter().any(|called| **called == *key);
    record.fields.iter().find(is_its).map(|field| &*field.name)
}

/// The same in all records of a form, each with the title of its record.
fn usual_elsewhere<'f>(form: &'f Shape, key: &str) -> Vec<(&'f str, &'f str)> {
    match form {
        Shape::List(item) => usual_elsewhere(item, key),
        Shape::Record(record) => {
            let own = usual(record, key).map(|name| (record.title.as_str(), name));
            let below = record.fields.iter().flat_map(|field| usual_elsewhere(&field.shape, key));
            own.into_iter().chain(below).collect()
        }
        _ => Vec::new(),
    }
}

fn list(words: &[&str]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// Whether a text says in words that there is nothing.
fn is_none(text: &str) -> bool {
    ["none", "no", "nil", "nothing", "-", "\u{2013}"].contains(&text.trim().to_lowercase().as_str())
}
