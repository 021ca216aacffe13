//! Words that are nearly the ones for which rules ask: a step called `drian` would switch off, without a word, each rule
//! that is about `drain`.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Session;
use crate::code::NEAR_WORD;
use crate::diagnostic::{Diagnostic, did_you_mean, surely, surely_meant};
use crate::document::everyday::Everyday;
use crate::document::{Document, Forms, NodeId, Record, Shape};
use crate::finding::Finding;
use crate::language::ids::{Arena, RuleId};
use crate::language::naming::{FieldOf, Said, fields_of};
use crate::language::typed::{Expr, Parameter, Program, Stated};
use crate::letters::words_of;
use crate::source::Place;
use crate::value::Value;

/// How many words are reported of one document.
const MOST_WORDS: usize = 20;

/// The words for which rules ask, by the title of a group and its field.
pub(super) type Asked = BTreeMap<String, BTreeMap<Arc<str>, Words>>;

/// The words for which rules ask in one field.
#[derive(Debug, Default)]
pub(super) struct Words {
    /// Those that are the whole of it.
    whole: BTreeSet<String>,
    /// Those that are looked for within it.
    within: BTreeSet<String>,
    /// Everyday words for those that are the whole of it, each with what it means.
    everyday: BTreeMap<&'static str, &'static str>,
    /// The single words of which all of these are made.
    single: BTreeSet<String>,
}

impl Words {
    /// The word that is meant by one for which no rule asks.
    pub(super) fn near(&self, word: &str) -> Option<&str> {
        if self.whole.contains(word) {
            return None;
        }
        // Names with other figures in them are other names: `AF-6` is no slip for `AF-8`.
        let figures = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
        let own = figures(word);
        let whole = self.whole.iter().map(|known| (known.as_str(), known.as_str()));
        let everyday = self.everyday.iter().map(|(other, word)| (*other, *word));
        let alike = whole.chain(everyday).filter(|(known, _)| figures(known) == own);
        surely_meant(word, alike).or_else(|| self.near_within(word))
    }

    /// A single word of which one in the text is a slip.
    fn near_within(&self, text: &str) -> Option<&str> {
        let own = words_of(text);
        // Sizes with other figures are other sizes.
        let is_word = |part: &str| !part.contains(|c: char| c.is_ascii_digit());
        let mut unknown = own.iter().filter(|part| is_word(part) && !self.single.contains(part.as_str()));
        unknown.find_map(|part| self.single.iter().find(|known| is_slip(part, known)).map(String::as_str))
    }
}

/// Whether a word is another one with two letters swapped, or one too many or too few. Other letters make other words of
/// the trade: `lever` is no `level`.
fn is_slip(word: &str, known: &str) -> bool {
    const LEAST_TO_SWAP: usize = 4;
    const LEAST_TO_MISS: usize = 5;
    let (own, other) = (word.chars().count(), known.chars().count());
    if own.abs_diff(other) > 1 || strsim::osa_distance(word, known) != 1 {
        return false;
    }
    if own != other {
        return own.min(other) + 1 >= LEAST_TO_MISS && own >= LEAST_TO_MISS;
    }
    let letters = |word: &str| word.chars().collect::<BTreeSet<_>>();
    own >= LEAST_TO_SWAP && letters(word) == letters(known)
}

/// The words for which the rules of a program ask.
pub(super) fn asked(said: &Arena<RuleId, Said>, forms: &Forms) -> Asked {
    let mut asked = Asked::new();
    for said in said.all() {
        for (field, word) in &said.words {
            in_field(&mut asked, field).whole.insert(word.clone());
        }
        for (field, word) in &said.mentions {
            in_field(&mut asked, field).within.insert(word.clone());
        }
    }
    let everyday = Everyday::shipped();
    for (group, fields) in &mut asked {
        for (field, words) in fields {
            let Some(vocabulary) = forms.vocabulary(group, field) else { continue };
            let known = everyday.words_in(vocabulary);
            words.everyday = known.filter(|(_, word)| words.whole.contains(*word)).collect();
        }
    }
    for words in asked.values_mut().flat_map(BTreeMap::values_mut) {
        let names = words.whole.iter().chain(&words.within).map(String::as_str);
        let names = names.chain(words.everyday.keys().copied());
        words.single = names.flat_map(words_of).collect();
    }
    asked
}

fn in_field<'a>(asked: &'a mut Asked, field: &FieldOf) -> &'a mut Words {
    asked.entry(field.group.clone()).or_default().entry(Arc::clone(&field.field)).or_default()
}

/// Says of a key that it is a word for another of the fields by which a parameter is stated: what is stated below it would never
/// count.
fn in_another_place(
    parameter: &Parameter,
    (key, field): (&str, &Expr),
    place: Place,
    forms: &Forms,
) -> Option<Diagnostic> {
    let knows = |field: &FieldOf| {
        let vocabulary = forms.vocabulary(&field.group, &field.field);
        vocabulary.is_some_and(|vocabulary| forms.everyday().knows(vocabulary, key))
    };
    let own = fields_of(field);
    let others = parameter.keys.iter().flat_map(fields_of);
    let other = others.filter(|other| !own.contains(other)).find(|other| knows(other))?;
    let first = own.first().filter(|_| !own.iter().any(knows))?;
    let message = format!(
        "`{key}` is a {}, and in `{}` it stands in the place of a {}",
        other.field, parameter.name, first.field
    );
    let order: Vec<String> = parameter
        .keys
        .iter()
        .flat_map(|key| fields_of(key).into_iter().next())
        .map(|key| format!("`{}`", key.field))
        .collect();
    let help = format!("write the keys in this order: {}", order.join(", "));
    Some(Diagnostic::advice(NEAR_WORD, place, message).help(help))
}

/// The name of the trade, as rules write it, that is meant by a key of these fields that is nearly one.
fn near_of_trade<'f>(key: &str, fields: &[FieldOf], forms: &'f Forms) -> Option<&'f str> {
    let vocabulary = fields.iter().find_map(|field| forms.vocabulary(&field.group, &field.field))?;
    let everyday = forms.everyday();
    let (_, words) = everyday.vocabularies().find(|(name, _)| **name == **vocabulary)?;
    if words.contains_key(key) || everyday.knows(vocabulary, key) {
        return None;
    }
    // Names with other figures in them are other names.
    let figures = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    surely(key, words.keys().copied().filter(|name| figures(name) == figures(key)))
}

/// Says of each key of a parameter, and of each word that one of the workshop's own is to stand for, that rules ask for
/// nearly the same: what is stated for it would never count.
pub(super) fn misspelt_in_settings<'a>(
    program: &Program,
    forms: &Forms,
    asked: impl FnOnce() -> &'a Asked,
) -> Vec<Diagnostic> {
    let keyed = |parameter: &&Parameter| matches!(parameter.stated, Stated::ByKey(_));
    let own = forms.words();
    if own.is_empty() && !program.parameters().all().iter().any(|parameter| keyed(&parameter)) {
        return Vec::new();
    }
    let asked = asked();
    let mut said = BTreeMap::new();
    for parameter in program.parameters().all() {
        let Stated::ByKey(rows) = &parameter.stated else { continue };
        for (keys, stated) in rows.rows() {
            let Stated::Given(_, place) = stated else { continue };
            for (key, field) in keys.iter().zip(&parameter.keys) {
                let Some(key) = key else { continue };
                if let Some(advice) = in_another_place(parameter, (key, field), *place, forms) {
                    said.entry((*place, &**key)).or_insert(advice);
                    continue;
                }
                let fields = fields_of(field);
                let words = || fields.iter().filter_map(|field| asked.get(&field.group)?.get(&field.field));
                let of_rules = words().find_map(|words| words.near(key));
                let is_asked = words().any(|words| words.whole.contains(key));
                let of_trade = || near_of_trade(key, &fields, forms).filter(|_| !is_asked);
                if let Some(near) = of_rules.or_else(of_trade) {
                    let message = match of_rules {
                        Some(_) => format!("no rule asks for `{key}`, a key of `{}`", parameter.name),
                        None => format!("`{key}`, a key of `{}`, is no name of the trade", parameter.name),
                    };
                    let advice = Diagnostic::advice(NEAR_WORD, *place, message).help(did_you_mean(key, near));
                    said.entry((*place, &**key)).or_insert(advice);
                }
            }
        }
    }
    for word in own {
        let fields = || asked.values().flat_map(BTreeMap::values);
        let is_asked = fields().any(|words| words.whole.contains(&word.stands_for));
        let near = fields()
            .find_map(|words| words.near(&word.stands_for))
            .filter(|_| !is_asked && !forms.everyday().reads(&word.stands_for));
        if let Some(near) = near {
            let message =
                format!("no rule asks for `{}`, for which `{}` is to stand", word.stands_for, word.word);
            let advice =
                Diagnostic::advice(NEAR_WORD, word.place, message).help(did_you_mean(&word.stands_for, near));
            said.entry((word.place, &word.word)).or_insert(advice);
        }
    }
    said.into_values().collect()
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
        let asked = self.asked.get_or_init(|| asked(self.said(), &self.forms));
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

    fn word(&mut self, node: NodeId, field: &'d str, words: &'d Words) {
        let Some(Value::Text(word)) = self.document.value(node) else { return };
        if let Some(near) = words.near(word) {
            self.found.push(Found { node, field, word, near });
        }
    }
}
