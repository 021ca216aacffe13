//! What in a text makes a document of it, also where it does not say so.

use std::path::Path;
use std::sync::LazyLock;

use super::files;
use crate::code::TOO_LARGE;
use crate::diagnostic::Level;
use crate::document::{self, Document, Entry, Forms, NodeId, NodeKind, Record, Shape, forms, yaml};
use crate::source::SourceId;
use crate::trade::form;

/// The name of the form in the first line that names one. A line such as `from: tools/1` names one too:
/// that its field is misspelt is said when the document is read.
pub(super) fn form_of(text: &str) -> Option<&str> {
    let lines = text.trim_start_matches('\u{feff}').split(['\n', '\r']);
    let mut named = lines.filter_map(|line| {
        let (field, value) = line.split_once(':')?;
        let form = value.trim().trim_matches(['"', '\'']).split('/').next()?.trim();
        let numbered = value.contains('/') && form::called(form).is_some();
        // Further in, or in a list, only a form of ours makes a document of it.
        let is_field = field.trim_start_matches([' ', '\t', '-']) == forms::FIELD;
        let is_named = is_field || !field.starts_with([' ', '#', '-']);
        (field == forms::FIELD || (numbered && is_named)).then_some(form)
    });
    named.next()
}

/// Whether the first line of a text that says anything names a form of documents.
pub(super) fn begins_as_document(text: &str) -> bool {
    let mut lines = text.trim_start_matches('\u{feff}').split(['\n', '\r']).map(str::trim);
    let first =
        lines.find(|line| !line.is_empty() && !line.starts_with(['#', '%']) && !line.starts_with("---"));
    let names_form =
        |line: &&str| line.split_once(':').is_some_and(|(field, _)| field.trim_end() == forms::FIELD);
    let form = first.filter(names_form).and_then(form_of);
    form.and_then(form::called).is_some()
}

/// Whether a document of a text names a form of documents, wherever in it and however that is written.
pub(super) fn names_a_form(text: &str) -> bool {
    // Behind a backslash letters can be written as numbers, and any word can go on in the next line.
    let has = |form: &form::Form| text.contains(form.name);
    let may = text.contains('\\') || (text.contains(forms::FIELD) && form::FORMS.iter().any(has));
    if !may {
        return false;
    }
    static FORMS: LazyLock<Forms> = LazyLock::new(Forms::builtin);
    let documents = document::read_values(SourceId::FIRST, text, &FORMS, &[]);
    // Where reading stopped nobody knows what comes behind.
    let is_cut = || yaml::read(SourceId::FIRST, text, 0).1.iter().any(|found| found.code == TOO_LARGE);
    documents.iter().any(|document| document.form().is_some()) || is_cut()
}

/// Whether a text holds a document: a line names a form or, however the text is written, a document does.
pub(super) fn is_document(text: &str) -> bool {
    form_of(text).is_some() || {
        let (documents, _) = yaml::read(SourceId::FIRST, text, 0);
        documents.iter().any(|document| document.find(forms::FIELD).is_some())
    }
}

/// Whether a text in a folder is to be read as a document: it names a form, has the fields of one or holds something that
/// has, or has lost all that was in it.
pub(super) fn is_to_be_read(text: &str, forms: &Forms) -> bool {
    if form_of(text).is_some() || forms.looks_like_one(text) || is_blank(text) {
        return true;
    }
    let (documents, found) = yaml::read(SourceId::FIRST, text, 0);
    // All of it is a comment to this reader, and not to everybody.
    let is_all_comment = documents.is_empty() && found.is_empty();
    is_all_comment
        || documents.iter().any(|document| {
            let (root, form) = (document.root(), |node| document.get(node, forms::FIELD));
            let (fields, items) = (document.entries(root), document.items(root));
            let is_filled = |node| {
                forms.get(form::JOB).is_some_and(|job| parts_of(document, node, job.record()) >= ENOUGH)
            };
            let has_fields = |node| {
                is_filled(node) || forms.have_fields(document.entries(node).iter().map(|entry| &*entry.key))
            };
            // Below other names, only a form of ours makes a record of it.
            let is_ours = |node| {
                let written = form(node).map(|form| document.span(form).of(text).trim_matches(['"', '\'']));
                written.and_then(|form| form.split('/').next()).and_then(form::called).is_some()
            };
            match &document.node(root).kind {
                NodeKind::Map(_) => {
                    let mut below = fields.iter().flat_map(|field| within(document, field.value));
                    let is_one = |node| is_ours(node) || is_filled(node);
                    fields.is_empty() || form(root).is_some() || has_fields(root) || below.any(is_one)
                }
                NodeKind::List(_) => {
                    let is_one = |item: &NodeId| form(*item).is_some() || has_fields(*item);
                    items.iter().all(|item| says_nothing(document, *item, text)) || items.iter().any(is_one)
                }
                // A text by itself, or nothing, is what is left of one.
                NodeKind::Scalar { .. } | NodeKind::Empty => true,
            }
        })
}

/// So many parts of a job are no accident. Many another list has steps, tools or parts with names and kinds.
const ENOUGH: usize = 2;

/// How many parts of a record a group has that hold a field of theirs.
fn parts_of(document: &Document<'_>, group: NodeId, record: &Record) -> usize {
    let has_part = |entry: &&Entry<'_>| {
        let Some((_, field)) = record.field(&entry.key) else { return false };
        match (&field.shape, &document.node(entry.value).kind) {
            (Shape::Record(part), NodeKind::Map(_)) => has_field(document, entry.value, part),
            (Shape::List(item), NodeKind::List(_)) => match &**item {
                Shape::Record(part) => {
                    document.items(entry.value).iter().any(|item| has_field(document, *item, part))
                }
                _ => false,
            },
            _ => false,
        }
    };
    document.entries(group).iter().filter(has_part).count()
}

fn has_field(document: &Document<'_>, group: NodeId, record: &Record) -> bool {
    document.entries(group).iter().any(|entry| record.field(&entry.key).is_some())
}

/// Whether nothing is written in the place of a value.
fn says_nothing(document: &Document<'_>, node: NodeId, text: &str) -> bool {
    match &document.node(node).kind {
        NodeKind::Empty => true,
        NodeKind::Map(_) => document.entries(node).is_empty(),
        NodeKind::List(_) => document.items(node).is_empty(),
        NodeKind::Scalar { .. } => NOTHING.contains(&document.span(node).of(text)),
    }
}

/// A value and, of a list, its items.
fn within<'d>(document: &'d Document<'_>, node: NodeId) -> impl Iterator<Item = NodeId> + 'd {
    std::iter::once(node).chain(document.items(node).iter().copied())
}

/// Whether all that is in a text are settings or known findings, which are no documents to judge. Of a text that cannot be
/// read to its end, or that is not as its form wants it, nobody knows what is in it.
pub(super) fn is_of_another_run(text: &str, forms: &Forms) -> bool {
    let (documents, found) = document::read(SourceId::FIRST, text, forms);
    let is_one =
        |document: &Document<'_>| [Some(form::SETTINGS), Some(form::KNOWN)].contains(&document.form());
    let is_whole = found.iter().all(|found| found.level != Level::Error);
    is_whole && !documents.is_empty() && documents.iter().all(is_one)
}

/// How YAML writes that there is nothing.
const NOTHING: [&str; 4] = ["~", "null", "Null", "NULL"];

/// Whether nothing but comments, directives, the marks between documents, control characters and empty values is in a text.
fn is_blank(text: &str) -> bool {
    let is_seen = |c: char| !c.is_whitespace() && !c.is_control();
    // YAML 1.1 ends a line at more signs (5.4): behind what is a comment here, its readers find a record.
    let ends = ['\n', '\r', '\u{85}', '\u{2028}', '\u{2029}'];
    let lines = text.trim_start_matches('\u{feff}').split(ends);
    let lines = lines.map(|line| line.trim_matches(|c| !is_seen(c)));
    let is_nothing = |line: &str| {
        let marks = ["---", "...", "{}", "[]", "\"\"", "''"];
        let bare = line.strip_prefix("---").map_or(line, str::trim);
        let bare = bare.split_once(" #").map_or(bare, |(bare, _)| bare.trim());
        bare.is_empty() || bare.starts_with(['#', '%']) || [&marks[..], &NOTHING].concat().contains(&bare)
    };
    lines.into_iter().all(is_nothing)
}

/// Whether a file that a run does not read may be a document. Where nobody can tell, it may.
pub(super) fn may_be_a_document(path: &Path, forms: &Forms) -> bool {
    match files::read_unlinked(path) {
        Ok(text) => !is_blank(&text) && is_to_be_read(&text, forms),
        // One system writes such a file beside each file that it copies elsewhere.
        Err(unread) => !unread.text.starts_with("\0\u{5}\u{16}\u{7}"),
    }
}
