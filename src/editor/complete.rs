//! What can be written at a place of a record: the fields of its form, the words of closed lists and of the trade, units, tools
//! of the register, procedures.

use std::collections::BTreeSet;

use super::cursor::{Cursor, Reading};
use super::markdown;
use super::protocol::{Completion, TextEdit, kind};
use super::text::Text;
use crate::document::link::Target;
use crate::document::path::Step;
use crate::document::{Field, Record, Shape, forms};
use crate::language::naming::fields_of;
use crate::library::SHIPPED;
use crate::quantity::{Kind, Number, UNITS};
use crate::session::Session;
use crate::settings::{EVERY_OTHER, PARAMETERS, RULES};
use crate::trade::form;
use crate::trade::job;
use crate::trade::procedure;

/// The list of standards in the settings.
const STANDARDS: &str = "standards";

/// The vocabulary of the names of steps.
const STEP_NAME: &str = "step name";

/// Completions at an offset of a record.
#[must_use]
pub fn at(text: &Text, offset: usize, session: &Session) -> Vec<Completion> {
    let reading = Reading { forms: session.forms(), part_of: None };
    match reading.cursor(text.text(), offset) {
        Some(cursor) => of_cursor(&cursor, text, session),
        None => first_line(text, offset, session),
    }
}

/// What can be written at a cursor.
#[must_use]
pub fn of_cursor(cursor: &Cursor, text: &Text, session: &Session) -> Vec<Completion> {
    let offers = match &cursor.field {
        None if is_in_settings(cursor, PARAMETERS) => parameters(cursor, session),
        None if is_in_settings(cursor, RULES) => rules(cursor, session),
        None if cursor.document.form() == Some(form::SETTINGS) && cursor.record.fields.is_empty() => {
            keys(cursor, session)
        }
        None => names(cursor),
        Some(field) => values(cursor, field, text, session),
    };
    let range = text.range(cursor.typed);
    offers.into_iter().enumerate().map(|(number, offer)| offer.completion(number, range)).collect()
}

/// An empty text, or one that names no form yet.
fn first_line(text: &Text, offset: usize, session: &Session) -> Vec<Completion> {
    let before = text.text().get(..offset).unwrap_or_default();
    let line = before.rfind('\n').map_or(0, |at| at + 1);
    let names_form = |text: &str| text.lines().any(|line| line.starts_with(forms::FIELD));
    let typed = before.get(line..).unwrap_or_default();
    let value = typed.strip_prefix(forms::FIELD).and_then(|rest| rest.strip_prefix(':'));
    let span = |start: usize| crate::source::Span::new(start, offset);
    let all = session.forms().iter().map(|form| format!("{}/{}", form.name(), form.version()));
    match value {
        Some(value) => {
            let start = offset - value.trim_start().len();
            let range = text.range(span(start));
            let offer =
                |(number, text): (usize, String)| Offer::new(kind::FIELD, text).completion(number, range);
            all.enumerate().map(offer).collect()
        }
        None if !names_form(text.text()) && !typed.starts_with([' ', '-', '#']) => {
            let range = text.range(span(line));
            let offer = |(number, name): (usize, String)| {
                Offer::new(kind::FIELD, format!("{}: {name}", forms::FIELD)).completion(number, range)
            };
            all.enumerate().map(offer).collect()
        }
        None => Vec::new(),
    }
}

/// Something that can be written.
pub(super) struct Offer {
    kind: u8,
    label: String,
    /// What is written, where that is something else.
    text: Option<String>,
    detail: Option<String>,
    doc: Option<String>,
}

impl Offer {
    pub(super) fn new(kind: u8, label: impl Into<String>) -> Offer {
        Offer { kind, label: label.into(), text: None, detail: None, doc: None }
    }

    pub(super) fn label(&self) -> &str {
        &self.label
    }

    pub(super) fn writing(mut self, text: String) -> Offer {
        self.text = Some(text);
        self
    }

    pub(super) fn detail(mut self, detail: impl Into<String>) -> Offer {
        self.detail = Some(detail.into());
        self
    }

    pub(super) fn doc(mut self, doc: &str) -> Offer {
        self.doc = Some(doc.to_owned()).filter(|doc| !doc.is_empty());
        self
    }

    pub(super) fn completion(self, number: usize, range: super::protocol::Range) -> Completion {
        let new_text = self.text.unwrap_or_else(|| self.label.clone());
        Completion {
            filter_text: Some(new_text.clone()).filter(|text| *text != self.label),
            label: self.label,
            kind: self.kind,
            detail: self.detail,
            documentation: self.doc.map(markdown),
            sort_text: format!("{number:04}"),
            text_edit: TextEdit { range, new_text },
        }
    }
}

/// The fields of the group that it has not yet, those first that must be there.
fn names(cursor: &Cursor) -> Vec<Offer> {
    let is_open = |field: &&Field| field.replaced_by.is_none() && !cursor.has(&field.name);
    let mut fields: Vec<&Field> = cursor.record.fields.iter().filter(is_open).collect();
    fields.sort_by_key(|field| !field.required);
    let offer = |field: &Field| {
        let text = match (&field.shape, cursor.has_colon) {
            (_, true) => field.name.to_string(),
            (Shape::Record(record), _) if record.shorthand.is_none() => format!("{}:", field.name),
            (Shape::List(_), _) => format!("{}:", field.name),
            _ => format!("{}: ", field.name),
        };
        let must = if field.required { ", must be there" } else { "" };
        Offer::new(kind::FIELD, field.name.to_string())
            .writing(text)
            .detail(format!("{}{must}", in_words(&field.shape)))
            .doc(&field.doc)
    };
    fields.into_iter().map(offer).collect()
}

fn is_in_settings(cursor: &Cursor, section: &str) -> bool {
    cursor.document.form() == Some(form::SETTINGS) && cursor.path.to_string() == section
}

/// The parameters of which nothing is stated yet.
fn parameters(cursor: &Cursor, session: &Session) -> Vec<Offer> {
    let open = session.parameters().into_iter().filter(|one| !cursor.has(&one.name));
    open.map(|one| {
        let text = if cursor.has_colon { one.name.clone() } else { format!("{}: ", one.name) };
        let words = format!("{}\n\n{}", one.title, one.in_words());
        Offer::new(kind::FIELD, one.name.clone()).writing(text).detail(one.kind.clone()).doc(&words)
    })
    .collect()
}

/// The keys by which the value of a parameter can be stated.
fn keys(cursor: &Cursor, session: &Session) -> Vec<Offer> {
    let [Step::Key(section), Step::Key(name), above @ ..] = cursor.path.steps() else { return Vec::new() };
    let parameters = session.program().parameters().all();
    let parameter = parameters.iter().find(|one| **section == *PARAMETERS && *one.name == **name);
    let Some(key) = parameter.and_then(|parameter| parameter.keys.get(above.len())) else {
        return Vec::new();
    };
    let forms = session.forms();
    let vocabulary =
        fields_of(key).iter().find_map(|field| forms.vocabulary(&field.group, &field.field).cloned());
    let named = vocabulary.into_iter().flat_map(|vocabulary| of_vocabulary(&vocabulary, session));
    let others = Offer::new(kind::WORD, EVERY_OTHER).detail("what no other key names");
    let open = named.chain([others]).filter(|offer| !cursor.has(&offer.label));
    open.map(|offer| {
        let text = if cursor.has_colon { offer.label.clone() } else { format!("{}: ", offer.label) };
        offer.writing(text)
    })
    .collect()
}

/// The rules of which nothing is changed yet.
fn rules(cursor: &Cursor, session: &Session) -> Vec<Offer> {
    let open = session.program().rules().all().iter().filter(|rule| !cursor.has(&rule.name));
    open.map(|rule| {
        let text = if cursor.has_colon { rule.name.clone() } else { format!("{}: ", rule.name) };
        Offer::new(kind::FIELD, rule.name.clone()).writing(text).detail(rule.title.clone())
    })
    .collect()
}

/// What a field holds, in a few words.
#[must_use]
pub fn in_words(shape: &Shape) -> String {
    match shape {
        Shape::Record(record) => format!("a group: {}", record.title),
        Shape::List(entry) => match &**entry {
            Shape::Record(record) => format!("a list of {}", record.title),
            entry => format!("a list, each {}", in_words(entry)),
        },
        Shape::Text | Shape::Any => "text".to_owned(),
        Shape::Word(words) => words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", "),
        Shape::Truth => "yes or no".to_owned(),
        Shape::Count => "a whole number".to_owned(),
        Shape::Number => "a number".to_owned(),
        Shape::Quantity(kind) => kind.to_string(),
        Shape::Range(kind) => format!("a range of {kind}"),
        Shape::Log(kind, _) => format!("a log of {kind}"),
        Shape::Day => "a day, YYYY-MM-DD".to_owned(),
        Shape::Moment => "a day and a time".to_owned(),
    }
}

fn values(cursor: &Cursor, field: &Field, text: &Text, session: &Session) -> Vec<Offer> {
    let typed = cursor.typed.of(text.text());
    let path = cursor.pattern().key(&field.name).to_string();
    if cursor.document.form() == Some(form::JOB) && path == job::PROCEDURE_EDITION {
        let named = |one: &crate::sheet::Procedure| cursor.beside("name") == Some(one.name.as_str());
        let editions = session.procedures().into_iter().filter(named).filter_map(|one| one.edition);
        return editions.map(|edition| Offer::new(kind::VALUE, edition.to_string())).collect();
    }
    match &field.shape {
        Shape::Word(words) => {
            let of_form = words.iter().map(|word| Offer::new(kind::WORD, word.to_string()).doc(&field.doc));
            let is_one =
                |own: &&crate::document::words::OwnWord| words.iter().any(|word| **word == *own.stands_for);
            let own = session.forms().words().iter().filter(is_one);
            of_form
                .chain(own.map(|own| {
                    Offer::new(kind::WORD, own.word.clone())
                        .detail(format!("{}, in the words of the workshop", own.stands_for))
                }))
                .collect()
        }
        Shape::Truth => ["yes", "no"].map(|word| Offer::new(kind::WORD, word)).into(),
        Shape::Quantity(kind) | Shape::Range(kind) => units(typed, *kind),
        Shape::Day => vec![Offer::new(kind::VALUE, session.setting().as_of.to_string()).detail("today")],
        Shape::Record(record) if record.shorthand.is_some() => {
            let inner = record.shorthand.and_then(|number| record.fields.get(usize::from(number)));
            inner.map(|inner| values(cursor, inner, text, session)).unwrap_or_default()
        }
        Shape::Text | Shape::Any => names_of_others(cursor, field, session),
        _ => Vec::new(),
    }
}

/// The number that was typed, with each unit of its kind.
pub(super) fn units(typed: &str, wanted: Kind) -> Vec<Offer> {
    // The last number of a range is the one that is being typed.
    let end = typed.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
    let (figures, _) = typed.split_at_checked(end).unwrap_or_default();
    let gap = if figures.is_empty() { "" } else { " " };
    let of_kind = UNITS.iter().filter(|unit| unit.kind() == wanted && !unit.symbol.is_empty());
    of_kind
        .map(|unit| {
            let spelt = unit.spellings.iter().filter(|one| **one != unit.symbol).copied().collect::<Vec<_>>();
            Offer::new(kind::UNIT, format!("{figures}{gap}{}", unit.symbol)).detail(wanted.to_string()).doc(
                &format!(
                    "{}{}",
                    unit.source,
                    if spelt.is_empty() {
                        String::new()
                    } else {
                        format!(". Also written {}.", spelt.join(", "))
                    }
                ),
            )
        })
        .collect()
}

/// Names that are known from elsewhere: tools, procedures, families, names of the trade.
fn names_of_others(cursor: &Cursor, field: &Field, session: &Session) -> Vec<Offer> {
    if cursor.path.is_root() && *field.name == *forms::FIELD {
        let all = session.forms().iter();
        return all
            .map(|form| Offer::new(kind::VALUE, format!("{}/{}", form.name(), form.version())))
            .collect();
    }
    let path = cursor.pattern().key(&field.name).to_string();
    if cursor.document.form() == Some(form::SETTINGS) && path == STANDARDS {
        let offer = |one: &crate::library::Shipped| Offer::new(kind::VALUE, one.name).detail(one.title());
        return SHIPPED.iter().map(offer).collect();
    }
    if cursor.document.form() == Some(form::JOB) && path == job::PROCEDURE_NAME {
        let offer = |one: crate::sheet::Procedure| {
            let edition = one.edition.map(|edition| format!("edition {edition}")).unwrap_or_default();
            Offer::new(kind::FILE, one.name).detail(edition).doc(&one.title.unwrap_or_default())
        };
        let mut seen = BTreeSet::new();
        let all = session.procedures().into_iter().filter(|one| seen.insert(one.name.clone()));
        return all.map(offer).collect();
    }
    if cursor.document.form() == Some(form::PROCEDURE) {
        let mut seen = BTreeSet::new();
        let own = procedure::names_for(&cursor.document, &path).filter(|name| seen.insert(*name));
        let own: Vec<Offer> = own.map(|name| Offer::new(kind::VALUE, name)).collect();
        if !own.is_empty() {
            return own;
        }
    }
    if is_tool(&cursor.record, &field.name) {
        return tools(cursor, session);
    }
    let Some(vocabulary) = &field.vocabulary else { return Vec::new() };
    let planned = session.procedure_of(&cursor.document).filter(|_| **vocabulary == *STEP_NAME);
    let planned: Vec<String> = planned.into_iter().flat_map(|one| one.steps).map(|step| step.name).collect();
    let steps =
        planned.iter().map(|step| Offer::new(kind::WORD, step.as_str()).detail("a step of the procedure"));
    let others =
        of_vocabulary(vocabulary, session).into_iter().filter(|other| !planned.contains(&other.label));
    steps.chain(others).collect()
}

/// The tools of the registers: those first that measure what stands beside, and those last that are not to be used.
fn tools(cursor: &Cursor, session: &Session) -> Vec<Offer> {
    let beside = |tool: &crate::session::ToolInUse| tool.measures.iter().any(|sort| cursor.has(sort));
    let mut tools = session.tools_in_use();
    tools.sort_by_key(|tool| (tool.is_withdrawn, !beside(tool)));
    let offer = |tool: crate::session::ToolInUse| {
        let words = tool.in_words();
        Offer::new(kind::VALUE, tool.number).detail(words)
    };
    tools.into_iter().map(offer).collect()
}

/// The names of a vocabulary: of the trade, of the workshop, and those that its settings, procedures and rules give.
fn of_vocabulary(vocabulary: &str, session: &Session) -> Vec<Offer> {
    let words = session.forms().everyday().vocabularies().find(|(name, _)| *name == vocabulary);
    let of_trade = words.into_iter().flat_map(|(_, words)| words.iter());
    let of_trade = of_trade.map(|(word, others)| {
        let also =
            if others.is_empty() { String::new() } else { format!("also called {}", others.join(", ")) };
        Offer::new(kind::WORD, *word).doc(&also)
    });
    let own = session.forms().words().iter();
    let own = own.map(|own| {
        Offer::new(kind::WORD, own.word.clone())
            .detail(format!("{}, in the words of the workshop", own.stands_for))
    });
    let given = session.forms().given_names().all(vocabulary);
    of_trade.chain(own).chain(given.into_iter().map(|name| Offer::new(kind::WORD, name))).collect()
}

/// Whether a field names a tool of the register.
#[must_use]
pub fn is_tool(record: &Record, name: &str) -> bool {
    let leads = |link: &crate::document::Link| {
        matches!(link.to, Target::InRegister(_)) && link.by.first().is_some_and(|(own, _)| **own == *name)
    };
    record.links.iter().any(leads)
}

/// Whether a text is a number.
pub(super) fn is_number(text: &str) -> bool {
    Number::parse(text.trim()).is_ok()
}
