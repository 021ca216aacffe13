//! A workshop's own words for the names of the trade: `Ölablassschraube` for `drain plug`. They are read as the word they
//! stand for, in the fields whose words those are, and the report says so.

use std::borrow::Cow;
use std::collections::HashSet;
use std::collections::hash_map::{Entry, HashMap};

use super::tree::{Bound, Document, NodeId, NodeKind};
use super::{Record, Shape};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::letters::look;
use crate::source::Place;
use crate::value::Value;

/// A word of the workshop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnWord {
    /// The word.
    pub word: String,
    /// What it stands for.
    pub stands_for: String,
    /// Where it is stated.
    pub place: Place,
}

/// What is wrong with words, apart from the documents in which they stand.
pub(super) fn faults(words: &[OwnWord], record: &Record) -> Vec<Diagnostic> {
    let mut lists: Vec<(String, &[std::sync::Arc<str>])> = Vec::new();
    closed_lists(record, &mut lists);
    let mut faults: Vec<Diagnostic> = Vec::new();
    for own in words {
        let has = |list: &[std::sync::Arc<str>], word: &str| list.iter().any(|known| **known == *word);
        let both = lists.iter().find(|(_, list)| has(list, &own.word) && has(list, &own.stands_for));
        if let Some((name, _)) = both {
            let message = format!("`{}` is a word of `{name}` already, and means itself", own.word);
            faults.push(Diagnostic::error(code::OWN_WORDS, own.place, message).help("take the line out"));
        }
    }
    faults
}

/// What is wrong with words among themselves.
#[must_use]
pub fn clashes(words: &[OwnWord]) -> Vec<Diagnostic> {
    let plain = |word: &str| -> String { look(word).split_whitespace().collect::<String>().to_lowercase() };
    let mut faults = Vec::new();
    let mut by_word: HashMap<&str, &OwnWord> = HashMap::new();
    for own in words {
        by_word.entry(&own.word).or_insert(own);
    }
    let mut before: HashMap<String, &OwnWord> = HashMap::new();
    for own in words {
        let error = |message: String| Diagnostic::error(code::OWN_WORDS, own.place, message);
        let earlier = match before.entry(plain(&own.word)) {
            Entry::Occupied(earlier) => Some(*earlier.get()),
            Entry::Vacant(first) => {
                first.insert(own);
                None
            }
        };
        if own.word == own.stands_for {
            faults.push(error(format!("`{}` stands for itself", own.word)).help("take the line out"));
            continue;
        }
        if let Some(next) = by_word.get(&*own.stands_for) {
            let message = format!(
                "`{}` is to stand for `{}`, which itself stands for `{}`",
                own.word, next.word, next.stands_for
            );
            let circle = by_word.contains_key(&*next.stands_for);
            let help = match circle {
                true => "say which of them the rules use, and let the others stand for it".to_owned(),
                false => format!("write `{}: {}`", own.word, next.stands_for),
            };
            faults.push(error(message).and_at(next.place, "stated here").help(help));
        }
        if let Some(other) = earlier.filter(|other| other.stands_for != own.stands_for) {
            let message = format!(
                "`{}` stands for `{}`, and `{}`, which differs by capital letters or blanks only, for `{}`",
                own.word, own.stands_for, other.word, other.stands_for
            );
            faults.push(error(message).and_at(other.place, "stated here").help("keep one of them"));
        }
    }
    faults
}

fn closed_lists<'r>(record: &'r Record, lists: &mut Vec<(String, &'r [std::sync::Arc<str>])>) {
    for field in &record.fields {
        let mut shape = &field.shape;
        while let Shape::List(item) = shape {
            shape = item;
        }
        match shape {
            Shape::Word(words) => lists.push((format!("{} of the {}", field.name, record.title), words)),
            Shape::Record(inner) => closed_lists(inner, lists),
            _ => {}
        }
    }
}

/// Reads the words of a bound document as what they stand for.
pub(super) fn read(document: &mut Document<'_>, shape: &Shape, words: &[OwnWord]) {
    if !words.is_empty() {
        read_node(document, document.root, shape, false, words);
    }
}

/// Depth is bounded by the reader's limit.
fn read_node(document: &mut Document<'_>, id: NodeId, shape: &Shape, vocabulary: bool, words: &[OwnWord]) {
    match shape {
        Shape::Record(record) => {
            let fields: Vec<(NodeId, u16)> =
                document.entries(id).iter().map(|entry| (entry.value, entry.field)).collect();
            for (value, number) in fields {
                if let Some(field) = record.fields.get(usize::from(number)) {
                    read_node(document, value, &field.shape, field.vocabulary, words);
                }
            }
        }
        Shape::List(item) => {
            for entry in document.items(id).to_vec() {
                read_node(document, entry, item, vocabulary, words);
            }
        }
        Shape::Text if vocabulary => read_word(document, id, None, words),
        Shape::Word(known) => read_word(document, id, Some(known), words),
        _ => {}
    }
}

fn read_word(
    document: &mut Document<'_>,
    id: NodeId,
    known: Option<&[std::sync::Arc<str>]>,
    words: &[OwnWord],
) {
    let Some(node) = document.nodes.get_mut(id.index()) else { return };
    let NodeKind::Scalar { raw, value, .. } = &mut node.kind else { return };
    let is_word = |word: &str| known.is_none_or(|known| known.iter().any(|known| **known == *word));
    if known.is_some_and(|_| is_word(raw)) {
        return;
    }
    // What was refused by the reader is no word.
    let own = words.iter().find(|own| own.word == raw.trim() && is_word(&own.stands_for));
    let Some(own) = own.filter(|_| !document.refused.contains(&id)) else { return };
    *value = Bound::Value(Value::Text(Cow::Owned(own.stands_for.clone())));
    document.read_as.push(id);
}

/// Says which words were read as others, each once.
pub(super) fn said(document: &Document<'_>, words: &[OwnWord]) -> Vec<Diagnostic> {
    let mut seen = HashSet::new();
    let said = document.read_as.iter().filter_map(|node| {
        let raw = document.raw(*node)?.trim();
        let own = words.iter().find(|own| own.word == raw).filter(|_| seen.insert(raw))?;
        let message = format!("`{raw}` is read as `{}`, as the settings say", own.stands_for);
        Some(Diagnostic::note(code::READ_AS, document.place(*node), message).and_at(own.place, "stated here"))
    });
    said.collect()
}
