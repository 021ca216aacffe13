//! What is in a text, as a tree: the items of a rule file, the groups and lists of a record.

use super::protocol::Symbol;
use super::readable::documents;
use super::symbols::{Symbols, What};
use super::text::Text;
use crate::document::{Document, Forms, NodeId, NodeKind, Shape};
use crate::source::Span;
use crate::trade::names::called;

/// What the protocol calls what is in the tree.
mod kind {
    pub(super) const MODULE: u8 = 2;
    pub(super) const FUNCTION: u8 = 12;
    pub(super) const VARIABLE: u8 = 13;
    pub(super) const CONSTANT: u8 = 14;
    pub(super) const ARRAY: u8 = 18;
    pub(super) const OBJECT: u8 = 19;
    pub(super) const KEY: u8 = 20;
}

/// So many entries are shown; a text can have more than anybody looks at.
const MOST: usize = 5_000;

/// The items of a rule file.
#[must_use]
pub fn of_rules(text: &Text, symbols: &Symbols) -> Vec<Symbol> {
    let shown = symbols.definitions.iter().filter_map(|one| {
        let kind = match one.what {
            What::Standard => kind::MODULE,
            What::Rule => kind::FUNCTION,
            What::Parameter => kind::VARIABLE,
            What::Let | What::Table | What::Base => kind::CONSTANT,
            What::Variable => return None,
        };
        Some(Symbol {
            name: one.name.clone(),
            detail: one.title.clone(),
            kind,
            range: text.range(one.whole.to(one.at)),
            selection_range: text.range(one.at),
            children: Vec::new(),
        })
    });
    let mut shown: Vec<Symbol> = shown.take(MOST).collect();
    shown.sort_by_key(|one| one.range);
    shown
}

/// The groups and lists of the documents of a text.
#[must_use]
pub fn of_documents(text: &Text, forms: &Forms) -> Vec<Symbol> {
    let documents = documents(text.text(), forms);
    let mut left = MOST;
    documents
        .iter()
        .flat_map(|document| {
            let shape = document
                .form()
                .and_then(|form| forms.get(form))
                .map(|form| Shape::Record(form.record().clone()));
            Tree { text, document, left: &mut left }.of_group(document.root(), shape.as_ref())
        })
        .collect()
}

struct Tree<'t> {
    text: &'t Text,
    document: &'t Document<'t>,
    left: &'t mut usize,
}

impl Tree<'_> {
    /// Depth is bounded by that of a document.
    fn of_group(&mut self, group: NodeId, shape: Option<&Shape>) -> Vec<Symbol> {
        let document = self.document;
        let mut shown = Vec::new();
        for entry in document.entries(group) {
            let field = match shape {
                Some(Shape::Record(record)) => record.field(&entry.key).map(|(_, field)| &field.shape),
                _ => None,
            };
            let (kind, children) = match document.node(entry.value).kind {
                NodeKind::Map(_) => (kind::OBJECT, self.of_group(entry.value, field)),
                NodeKind::List(_) => (kind::ARRAY, self.of_list(entry.value, field)),
                NodeKind::Scalar { .. } | NodeKind::Empty => (kind::KEY, Vec::new()),
            };
            let detail = document.text(entry.value).map(str::to_owned);
            let whole = entry.key_span.to(document.span(entry.value));
            shown.extend(self.symbol(entry.key.to_string(), detail, kind, whole, entry.key_span, children));
        }
        shown
    }

    fn of_list(&mut self, list: NodeId, shape: Option<&Shape>) -> Vec<Symbol> {
        let document = self.document;
        let entry_shape = match shape {
            Some(Shape::List(entry)) => Some(&**entry),
            _ => None,
        };
        let mut shown = Vec::new();
        for item in document.items(list) {
            let NodeKind::Map(_) = document.node(*item).kind else { continue };
            let title = match entry_shape {
                Some(Shape::Record(record)) => &*record.title,
                _ => "entry",
            };
            let children = self.of_group(*item, entry_shape);
            let (name, whole) = (called(document, *item, title), document.span(*item));
            let first = document.entries(*item).first().map_or(whole, |entry| entry.key_span);
            shown.extend(self.symbol(name, None, kind::OBJECT, whole, first, children));
        }
        shown
    }

    fn symbol(
        &mut self,
        name: String,
        detail: Option<String>,
        kind: u8,
        whole: Span,
        own: Span,
        children: Vec<Symbol>,
    ) -> Option<Symbol> {
        *self.left = self.left.checked_sub(1)?;
        // An editor refuses an empty name.
        let name = if name.trim().is_empty() { "(no name)".to_owned() } else { name };
        Some(Symbol {
            name,
            detail,
            kind,
            range: self.text.range(whole.to(own)),
            selection_range: self.text.range(own),
            children,
        })
    }
}
