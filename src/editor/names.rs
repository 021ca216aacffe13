//! Where a name is defined and where it is used, in a rule file and among records, procedures and registers; and another name
//! for it everywhere.

use super::complete::is_tool;
use super::cursor::shape_at;
use super::hover::found;
use super::readable::documents;
use super::symbols::{Symbols, Target, What};
use super::text::Text;
use crate::document::path::Step;
use crate::document::places::path_at;
use crate::document::{self, DocPath, Document, Forms, NodeId, Shape, is_no_name};
use crate::letters::is_unseen;
use crate::session::Session;
use crate::settings::{PARAMETERS, RULES};
use crate::source::{LineIndex, Place, SourceId, Span};
use crate::trade::form::{JOB, PROCEDURE, REGISTER, SETTINGS};
use crate::trade::{job, procedure, register};

/// Something that documents call by a name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Named {
    /// A tool of the register, by its number.
    Tool(String),
    /// A procedure.
    Procedure(String),
}

impl Named {
    /// The name.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Named::Tool(name) | Named::Procedure(name) => name,
        }
    }
}

/// What is named at an offset of a document, and where exactly.
#[must_use]
pub fn named_at(text: &Text, offset: u32, forms: &Forms) -> Option<(Named, Span)> {
    let documents = documents(text.text(), forms);
    let document = documents.iter().rev().find(|one| one.span(one.root()).start <= offset)?;
    let path = path_at(document, offset);
    let node = found(document, &path)?;
    let named = named(document, &path, node, forms)?;
    let span = document.span(node);
    (span.start <= offset && offset <= span.end).then_some((named, span))
}

/// Where a document names it.
#[must_use]
pub fn places_in(text: &str, wanted: &Named, forms: &Forms) -> Vec<Span> {
    let documents = documents(text, forms);
    let mut places = Vec::new();
    for document in &documents {
        let texts = document.values().filter(|(node, _)| document.text(*node) == Some(wanted.name()));
        let is_it =
            |node: &NodeId| named(document, &document.path(*node), *node, forms).as_ref() == Some(wanted);
        places.extend(texts.map(|(node, _)| node).filter(is_it).map(|node| document.span(node)));
    }
    places.sort_unstable();
    places
}

/// The names of this sort in a text, each with its line.
#[must_use]
pub fn all_in(text: &str, sort: &Named, forms: &Forms) -> Vec<(String, usize)> {
    let (documents, _) = document::read(SourceId::FIRST, text, forms);
    let lines = LineIndex::new(text);
    let mut found = Vec::new();
    for document in &documents {
        // Most texts of a record are no names.
        let texts = document.values().map(|(node, _)| node).filter(|node| document.text(*node).is_some());
        for node in texts {
            let Some(one) = named(document, &document.path(node), node, forms) else { continue };
            if std::mem::discriminant(&one) == std::mem::discriminant(sort) {
                found.push((one.name().to_owned(), lines.position(text, document.span(node).start).line));
            }
        }
    }
    found
}

fn named(document: &Document<'_>, path: &DocPath, node: NodeId, forms: &Forms) -> Option<Named> {
    let name = document.text(node)?.to_owned();
    let form = document.form()?;
    let written = path.to_string();
    match form {
        JOB if written == job::PROCEDURE_NAME => return Some(Named::Procedure(name)),
        PROCEDURE if procedure::name(document).place().span == document.span(node) => {
            return Some(Named::Procedure(name));
        }
        REGISTER => {
            let is_own = |tool: register::Tool<'_>| tool.number().place().span == document.span(node);
            return register::tools(document).any(is_own).then_some(Named::Tool(name));
        }
        _ => {}
    }
    let Some(Step::Key(field)) = path.steps().last() else { return None };
    let Some(Shape::Record(record)) = shape_at(forms.get(form)?.record(), &path.list()) else { return None };
    is_tool(&record, field).then_some(Named::Tool(name))
}

/// Whether a text can be the new name of a tool or procedure: whatever can be written plainly.
#[must_use]
pub fn can_name(name: &str) -> bool {
    let first = name.chars().next();
    let is_plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | ' ');
    first.is_some_and(char::is_alphanumeric)
        && !is_no_name(name)
        && !name.ends_with(' ')
        && name.chars().all(|c| is_plain(c) && !is_unseen(c))
        && name.chars().any(char::is_alphabetic)
}

/// Where the name at an offset of a rule file is defined.
#[must_use]
pub fn definition(symbols: &Symbols, offset: u32) -> Option<Span> {
    match symbols.at(offset)?.target {
        Target::Own(number) => Some(symbols.definitions.get(number)?.at),
        _ => None,
    }
}

/// Where the name at an offset of a rule file is used, its definition among them.
#[must_use]
pub fn uses(symbols: &Symbols, offset: u32) -> Vec<Span> {
    match symbols.at(offset).map(|one| &one.target) {
        Some(Target::Own(number)) => symbols.uses_of(*number).collect(),
        Some(Target::Builtin(builtin)) => {
            let is_it =
                |target: &Target| matches!(target, Target::Builtin(other) if other.name == builtin.name);
            symbols.uses.iter().filter(|one| is_it(&one.target)).map(|one| one.at).collect()
        }
        Some(Target::Elsewhere(name)) => {
            let is_it = |target: &Target| matches!(target, Target::Elsewhere(other) if other == name);
            symbols.uses.iter().filter(|one| is_it(&one.target)).map(|one| one.at).collect()
        }
        Some(Target::Field(record, name)) => {
            let is_it = |target: &Target| matches!(target, Target::Field(other, field) if field == name && std::sync::Arc::ptr_eq(other, record));
            symbols.uses.iter().filter(|one| is_it(&one.target)).map(|one| one.at).collect()
        }
        _ => Vec::new(),
    }
}

/// The name at an offset of a rule file that can be another, and what it is.
#[must_use]
pub fn renamed(symbols: &Symbols, offset: u32) -> Option<(Span, What)> {
    let one = symbols.at(offset)?;
    let Target::Own(number) = one.target else { return None };
    Some((one.at, symbols.definitions.get(number)?.what))
}

/// Why a name cannot be that of something in a rule file; nothing if it can.
#[must_use]
pub fn refused(symbols: &Symbols, name: &str) -> Option<String> {
    let example = format!("let {name} = 1\n");
    let (file, found) = crate::language::parse(SourceId::FIRST, &example);
    let is_name = found.is_empty()
        && matches!(file.items.as_slice(), [crate::language::ast::Item::Let(one)] if one.name.node == name);
    if !is_name {
        return Some(format!(
            "`{name}` cannot be a name: letters, digits and `_`, and no word of the language"
        ));
    }
    let taken = symbols.definitions.iter().find(|one| one.name == name)?;
    Some(format!("`{name}` is the name of a {} already", taken.what.word()))
}

/// The parameter whose value settings state at an offset.
#[must_use]
pub fn parameter_at(text: &Text, offset: u32, session: &Session) -> Option<Place> {
    let (documents, _) = document::read(SourceId::FIRST, text.text(), session.forms());
    let document = documents.iter().find(|one| one.form() == Some(SETTINGS))?;
    let path = path_at(document, offset);
    let [Step::Key(section), Step::Key(name), ..] = path.steps() else { return None };
    let is_it = |known: &str| known == &**name || known.rsplit('.').next() == Some(&**name);
    let found = session.program().parameters().all().iter().find(|one| is_it(&one.name));
    found.filter(|_| &**section == PARAMETERS).map(|one| one.place)
}

/// Where settings name a rule or parameter, and whether with its standard.
#[must_use]
pub fn in_settings(text: &str, what: What, name: &str, whole: &str, forms: &Forms) -> Vec<(Span, bool)> {
    let (documents, _) = document::read(SourceId::FIRST, text, forms);
    let section = match what {
        What::Parameter => PARAMETERS,
        What::Rule => RULES,
        _ => return Vec::new(),
    };
    let is_it = |written: &str| written == name || written == whole;
    let documents = documents.iter().filter(|one| one.form() == Some(SETTINGS));
    let groups = documents.filter_map(|document| Some((document, document.get(document.root(), section)?)));
    let mut places: Vec<(Span, bool)> = Vec::new();
    for (document, group) in groups {
        let keys = document.entries(group).iter().filter(|entry| is_it(&entry.key));
        places.extend(keys.map(|entry| (entry.key_span, entry.key == whole)));
    }
    places
}
