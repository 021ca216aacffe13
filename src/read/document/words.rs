//! Other words for the names of the trade: a workshop's own, `Ölablassschraube` for `drain plug`, and everyday ones, `wheel
//! bolt` for `wheel screw`. They are read as the word they stand for, in the fields whose words those are, and the report
//! says so.

use std::borrow::Cow;
use std::collections::HashSet;
use std::collections::hash_map::{Entry, HashMap};
use std::sync::Arc;

use super::everyday::{Everyday, plain};
use super::names::GivenNames;
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

/// The words of the workshop, in their order, to be looked up.
#[derive(Debug, Default)]
pub(super) struct OwnWords {
    list: Vec<OwnWord>,
    by_word: HashMap<String, usize>,
    /// The same without regard to capital letters, blanks and hyphens.
    by_plain: HashMap<String, usize>,
}

impl OwnWords {
    pub(super) fn of(words: &[OwnWord]) -> OwnWords {
        let mut own = OwnWords { list: words.to_vec(), ..OwnWords::default() };
        for (number, OwnWord { word, .. }) in words.iter().enumerate() {
            own.by_word.entry(word.clone()).or_insert(number);
            own.by_plain.entry(plain(word)).or_insert(number);
        }
        own
    }

    pub(super) fn list(&self) -> &[OwnWord] {
        &self.list
    }

    fn numbered(&self, number: usize) -> Option<(usize, &OwnWord)> {
        Some((number, self.list.get(number)?))
    }
}

/// The words that are read as others.
#[derive(Clone, Copy, Debug)]
pub(super) struct Words<'w> {
    pub(super) own: &'w OwnWords,
    pub(super) everyday: &'w Everyday,
    pub(super) names: &'w GivenNames,
}

/// By what a value is read as another word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ReadBy {
    /// By the workshop's own word of this number.
    Own(usize),
    /// As an everyday word for it.
    Everyday,
    /// As the same word or name, written with other capital letters, blanks or hyphens.
    Spelling,
}

/// What is wrong with words, apart from the documents in which they stand.
pub(super) fn faults(words: &[OwnWord], record: &Record) -> Vec<Diagnostic> {
    let mut lists: Vec<(String, &[Arc<str>])> = Vec::new();
    closed_lists(record, &mut lists);
    let mut faults: Vec<Diagnostic> = Vec::new();
    for own in words {
        let has = |list: &[Arc<str>], word: &str| list.iter().any(|known| **known == *word);
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
    let squeezed =
        |word: &str| -> String { look(word).split_whitespace().collect::<String>().to_lowercase() };
    let mut faults = Vec::new();
    let mut by_word: HashMap<&str, &OwnWord> = HashMap::new();
    for own in words {
        by_word.entry(&own.word).or_insert(own);
    }
    let mut before: HashMap<String, &OwnWord> = HashMap::new();
    for own in words {
        let error = |message: String| Diagnostic::error(code::OWN_WORDS, own.place, message);
        let earlier = match before.entry(squeezed(&own.word)) {
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

fn closed_lists<'r>(record: &'r Record, lists: &mut Vec<(String, &'r [Arc<str>])>) {
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

/// Reads the words of a bound document as what they stand for. Depth is bounded by the reader's limit.
pub(super) fn read(
    document: &mut Document<'_>,
    id: NodeId,
    shape: &Shape,
    vocabulary: Option<&str>,
    words: Words<'_>,
) {
    match shape {
        Shape::Record(record) => {
            for number in 0.. {
                let Some((value, field)) =
                    document.entries(id).get(number).map(|entry| (entry.value, entry.field))
                else {
                    break;
                };
                if let Some(field) = record.fields.get(usize::from(field)) {
                    read(document, value, &field.shape, field.vocabulary.as_deref(), words);
                }
            }
        }
        Shape::List(item) => {
            for number in 0.. {
                let Some(entry) = document.items(id).get(number).copied() else { break };
                read(document, entry, item, vocabulary, words);
            }
        }
        Shape::Text if vocabulary.is_some() => read_word(document, id, None, vocabulary, words),
        Shape::Word(known) => read_word(document, id, Some(known), vocabulary, words),
        _ => {}
    }
}

fn read_word(
    document: &mut Document<'_>,
    id: NodeId,
    known: Option<&[Arc<str>]>,
    vocabulary: Option<&str>,
    words: Words<'_>,
) {
    let Some(node) = document.nodes.get_mut(id.index()) else { return };
    let NodeKind::Scalar { raw, value, .. } = &mut node.kind else { return };
    let is_word = |word: &str| known.is_none_or(|known| known.iter().any(|known| **known == *word));
    // What the reader has not bound is not looked at.
    if matches!(value, Bound::Unbound) || known.is_some_and(|_| is_word(raw)) {
        return;
    }
    let Some((word, by)) = meant(raw, &is_word, vocabulary, words) else { return };
    // What was refused by the reader is no word.
    if !document.refused.contains(&id) {
        *value = Bound::Value(Value::Text(Cow::Owned(word)));
        document.read_as.push((id, by));
    }
}

/// The word as which a text is read, and by what. The workshop's own words go before all others; one of them that
/// stands for an everyday word is read as what that means.
fn meant(
    raw: &str,
    is_word: &dyn Fn(&str) -> bool,
    vocabulary: Option<&str>,
    Words { own, everyday, names }: Words<'_>,
) -> Option<(String, ReadBy)> {
    let usual = |text: &str| {
        let meaning = everyday.meaning(vocabulary?, text)?;
        is_word(meaning.word).then(|| (meaning.word.to_string(), meaning.is_another))
    };
    let usual_word = usual(raw);
    let number = own.by_word.get(raw.trim()).or_else(|| {
        // It is none that a rule asks for itself, so the workshop means the same by it.
        usual_word.as_ref()?;
        own.by_plain.get(&plain(raw))
    });
    if let Some((number, own)) = number.and_then(|number| own.numbered(*number)) {
        let further = usual(&own.stands_for).map(|(word, _)| word);
        let itself = || is_word(&own.stands_for).then(|| own.stands_for.clone());
        return further.or_else(itself).map(|word| (word, ReadBy::Own(number)));
    }
    match usual_word {
        Some((word, true)) => Some((word, ReadBy::Everyday)),
        Some((word, false)) => Some((word, ReadBy::Spelling)),
        None => names.meant(vocabulary?, raw).map(|name| (name.to_owned(), ReadBy::Spelling)),
    }
}

/// Says which words were read as others, each once.
pub(super) fn said(document: &Document<'_>, words: Words<'_>) -> Vec<Diagnostic> {
    let mut seen = HashSet::new();
    let said = document.read_as.iter().filter_map(|(node, by)| {
        let raw = document.raw(*node)?;
        let Some(Value::Text(word)) = document.value(*node) else { return None };
        if !seen.insert((raw.trim(), word)) {
            return None;
        }
        let note = |message| Diagnostic::note(code::READ_AS, document.place(*node), message);
        Some(match by {
            ReadBy::Own(number) => {
                let (_, own) = words.own.numbered(*number)?;
                let message = match own.stands_for == **word {
                    true => format!("`{}` is read as `{word}`, as the settings say", raw.trim()),
                    false => format!(
                        "`{}` is read as `{word}`: the settings say `{}`, a usual word for it",
                        raw.trim(),
                        own.stands_for
                    ),
                };
                note(message).and_at(own.place, "stated here")
            }
            ReadBy::Everyday => note(format!("`{}` is read as `{word}`, a usual word for it", raw.trim())),
            ReadBy::Spelling => note(format!("`{raw}` is read as `{word}`")),
        })
    });
    said.collect()
}
