//! The index: which rules speak of a field, or of a word that a record has.

use std::collections::{BTreeMap, BTreeSet};

use crate::language::typed::{Concerns, Expr, ExprKind, Rule};
use crate::value::Value;

/// A word of the index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IndexEntry {
    /// The word.
    pub word: String,
    /// The full names of the rules that speak of it, with their titles.
    pub rules: Vec<(String, String)>,
}

/// A word of which more rules speak leads nowhere in particular.
const MOST_RULES: usize = 12;

/// The index of some rules.
pub(super) fn of(rules: &[&Rule]) -> Vec<IndexEntry> {
    let mut by_word: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
    for (number, rule) in rules.iter().enumerate() {
        let mut note = |word: &str| {
            by_word.entry(word.replace('_', " ").to_lowercase()).or_default().insert(number);
        };
        let conditions: Vec<&Expr> = match &rule.concerns {
            Concerns::Document(condition) => condition.iter().collect(),
            Concerns::Each(nested) => {
                nested.iter().flat_map(|each| each.condition.iter().chain([&each.list])).collect()
            }
        };
        for expr in conditions.into_iter().chain(&rule.demands) {
            words(expr, &mut note);
        }
    }
    let entries = by_word.into_iter().filter(|(_, rules)| rules.len() <= MOST_RULES);
    let name = |number: &usize| rules.get(*number).map(|rule| (rule.name.clone(), rule.title.clone()));
    entries.map(|(word, rules)| IndexEntry { word, rules: rules.iter().filter_map(name).collect() }).collect()
}

fn words(expr: &Expr, note: &mut dyn FnMut(&str)) {
    match &expr.kind {
        ExprKind::Field { name, .. } => note(name),
        ExprKind::Constant(Value::Text(text)) => note(text),
        ExprKind::Constant(Value::Words(words)) => words.iter().for_each(|word| note(word)),
        _ => {}
    }
    expr.for_each_part(&mut |part| words(part, note));
}
