//! Words that are nearly the ones for which rules ask: a step called `drian` would switch off, without a word, each rule
//! that is about `drain`.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Session;
use crate::code::NEAR_WORD;
use crate::diagnostic::{Diagnostic, did_you_mean, surely};
use crate::document::{Document, NodeId, Record, Shape};
use crate::finding::Finding;
use crate::language::ids::{Arena, RuleId};
use crate::language::naming::Said;
use crate::value::Value;

/// How many words are reported of one document.
const MOST_WORDS: usize = 20;

/// The words for which rules ask, by the title of a group and its field.
pub(super) type Asked = BTreeMap<String, BTreeMap<Arc<str>, BTreeSet<String>>>;

/// The words for which the rules of a program ask.
pub(super) fn asked(said: &Arena<RuleId, Said>) -> Asked {
    let mut asked = Asked::new();
    for (field, word) in said.all().iter().flat_map(|said| &said.words) {
        let of_group = asked.entry(field.group.clone()).or_default();
        of_group.entry(Arc::clone(&field.field)).or_default().insert(word.clone());
    }
    asked
}

impl Session {
    /// Says of each word that no rule asks for that one which rules do ask for is nearly the same. Words of the values
    /// that are reported as not judged, and those at which a finding points, are told there.
    pub(super) fn misspelt(
        &self,
        document: &Document<'_>,
        told: &[Diagnostic],
        findings: &[(RuleId, Finding)],
    ) -> Vec<Diagnostic> {
        let Some(form) = document.form().and_then(|form| self.forms.get(form)) else { return Vec::new() };
        let asked = self.asked.get_or_init(|| asked(self.said()));
        let mut walk = Walk { document, asked, found: Vec::new() };
        walk.group(document.root(), form.record());
        let is_told = |found: &Found<'_>| {
            let word = format!("`{}`", found.word);
            let place = document.place(found.node);
            told.iter().any(|said| said.message.contains(&word))
                || findings.iter().any(|(_, finding)| finding.at == place)
        };
        let mut by_word: BTreeMap<(&str, &str, &str), Vec<NodeId>> = BTreeMap::new();
        for found in walk.found.iter().filter(|found| !is_told(found)) {
            by_word.entry((found.field, found.word, found.near)).or_default().push(found.node);
        }
        let mut said: Vec<Diagnostic> = by_word
            .into_iter()
            .filter_map(|((field, word, near), nodes)| {
                let first = *nodes.first()?;
                let message = format!(
                    "no rule asks for `{word}` in the field `{field}`; those for `{near}` pass over it"
                );
                let said = Diagnostic::advice(NEAR_WORD, document.place(first), message)
                    .help(did_you_mean(word, near));
                Some(
                    nodes
                        .iter()
                        .skip(1)
                        .fold(said, |said, node| said.and_at(document.place(*node), "and here")),
                )
            })
            .collect();
        said.truncate(MOST_WORDS);
        said
    }
}

struct Found<'d> {
    node: NodeId,
    field: &'d str,
    word: &'d str,
    near: &'d str,
}

struct Walk<'d, 's> {
    document: &'d Document<'s>,
    asked: &'d Asked,
    found: Vec<Found<'d>>,
}

impl<'d> Walk<'d, '_> {
    /// Depth is bounded by the reader's limit.
    fn group(&mut self, group: NodeId, record: &Record) {
        let asked = self.asked.get(&record.title);
        for entry in self.document.entries(group) {
            let Some(field) = record.fields.get(usize::from(entry.field)) else { continue };
            match &field.shape {
                Shape::Text if !field.free => {
                    if let Some((field, words)) = asked.and_then(|asked| asked.get_key_value(&field.name)) {
                        self.word(entry.value, field, words);
                    }
                }
                shape => self.value(entry.value, shape),
            }
        }
    }

    fn value(&mut self, node: NodeId, shape: &Shape) {
        match shape {
            Shape::Record(record) => self.group(node, record),
            Shape::List(item) => self.document.items(node).iter().for_each(|entry| self.value(*entry, item)),
            _ => {}
        }
    }

    fn word(&mut self, node: NodeId, field: &'d str, words: &'d BTreeSet<String>) {
        let Some(Value::Text(word)) = self.document.value(node) else { return };
        if words.contains(&**word) {
            return;
        }
        // Names with other figures in them are other names: `AF-6` is no slip for `AF-8`.
        let figures = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
        let own = figures(word);
        let words = words.iter().map(String::as_str).filter(|known| figures(known) == own);
        if let Some(near) = surely(word, words) {
            self.found.push(Found { node, field, word, near });
        }
    }
}
