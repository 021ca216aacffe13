//! Documents: reading, spans, forms, and what is said of mistakes.
//!
//! The records here are invented. What is expected of the YAML layout is stated from memory of
//! YAML 1.2.2 and checked against a second reader in `second_opinion`.

mod binding;
mod deprecated;
mod editing;
mod editor;
mod extending;
mod forms;
mod fuzz;
mod layout;
mod mends;
mod paths;
mod placeholders;
mod readers;
mod second_opinion;
mod shorthand;
mod slips;
mod spans;
mod structure;
mod times;

use witnessmark::diagnostic::Diagnostic;
use witnessmark::document::{self, Document, Forms, NodeId, NodeKind, yaml};
use witnessmark::source::{SourceId, Sources};

/// A record that is right in every field; the workshop and all that is in it are invented.
const GOOD: &str = include_str!("good.yaml");

fn source() -> SourceId {
    Sources::new().add("record.yaml", "")
}

fn read(text: &str) -> (Vec<Document<'_>>, Vec<Diagnostic>) {
    document::read(source(), text, &Forms::builtin())
}

/// The only document of a text, read without a form.
fn tree(text: &str) -> Document<'_> {
    let (mut documents, diagnostics) = yaml::read(source(), text, 0);
    assert_eq!(diagnostics, [], "{text:?}");
    assert_eq!(documents.len(), 1, "{text:?}");
    documents.remove(0)
}

/// Each diagnostic as `text at its main place | message | help`.
fn shown(text: &str, diagnostics: &[Diagnostic]) -> Vec<String> {
    let line = |diagnostic: &Diagnostic| {
        let place = diagnostic.place().expect("every diagnostic has a place");
        let found = place.span.of(text);
        match &diagnostic.help {
            Some(help) => format!("{found} | {} | {help}", diagnostic.message),
            None => format!("{found} | {}", diagnostic.message),
        }
    };
    diagnostics.iter().map(line).collect()
}

/// What is said of a text that should follow a form.
fn said_of(text: &str) -> Vec<String> {
    shown(text, &read(text).1)
}

/// What is said of the layout of a text.
fn layout_of(text: &str) -> Vec<String> {
    shown(text, &yaml::read(source(), text, 0).1)
}

/// The right record with one passage put in place of another.
fn with(old: &str, new: &str) -> String {
    assert_eq!(GOOD.matches(old).count(), 1, "`{old}` stands once in the right record");
    GOOD.replace(old, new)
}

/// Calls `visit` with every node below and including `id`.
fn walk(document: &Document<'_>, id: NodeId, visit: &mut dyn FnMut(NodeId)) {
    visit(id);
    match document.node(id).kind {
        NodeKind::Map(_) => {
            for entry in document.entries(id) {
                walk(document, entry.value, visit);
            }
        }
        NodeKind::List(_) => {
            for item in document.items(id) {
                walk(document, *item, visit);
            }
        }
        NodeKind::Empty | NodeKind::Scalar { .. } => {}
    }
}
