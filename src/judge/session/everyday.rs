//! Which words are read as others: everyday ones, but for those for which a rule of the workshop asks itself, and names that
//! rules, settings and procedures state, however a document writes them.

use std::collections::{BTreeSet, HashMap};

use crate::document::everyday::{Meaning, plain};
use crate::document::names::{GivenNames, SPECIFICATION};
use crate::document::{Document, Forms};
use crate::language::literals::Literals;
use crate::language::naming::FieldOf;
use crate::language::typed::Program;
use crate::letters::words_of;
use crate::library::came_with_it;
use crate::source::{Place, Sources};

/// The texts that rules outside of the shipped standards name, and those that the run states.
pub(super) fn own_literals(program: &Program, sources: &Sources) -> Literals {
    let is_own = |place: Place| came_with_it(sources.name(place.source)).is_none();
    program.literals(&is_own)
}

/// The same forms, in whose documents the names that rules and settings state are read however they are written.
pub(super) fn with_names(forms: Forms, program: &Program, literals: &Literals) -> Forms {
    let mut names = forms.given_names().clone();
    let of_rules = literals.of_fields.iter().map(|(field, name)| (field, name.as_str()));
    let keys = program.keys();
    let of_settings = keys.iter().flat_map(|(fields, key)| fields.iter().map(move |field| (field, &**key)));
    for (FieldOf { group, field }, name) in of_rules.chain(of_settings) {
        if let Some(vocabulary) = forms.vocabulary(group, field) {
            names.add(vocabulary, name);
        }
    }
    // Of what settings state as a text, and of the rows of tables, the field is not known; only fluids are named so.
    literals.anywhere.iter().for_each(|name| names.add(SPECIFICATION, name));
    forms.with_given_names(names)
}

/// The same forms with the names in procedures.
pub(super) fn with_names_of<'d>(
    forms: Forms,
    procedures: impl Iterator<Item = &'d Document<'static>>,
) -> Forms {
    let mut names: GivenNames = forms.given_names().clone();
    for procedure in procedures {
        if let Some(form) = procedure.form().and_then(|form| forms.get(form)) {
            names.add_all(procedure, form.record());
        }
    }
    forms.with_given_names(names)
}

/// The same forms, with everyday words that rules outside of the shipped standards name left as they are.
pub(super) fn leave_to_rules(forms: Forms, literals: &Literals) -> Forms {
    if literals.is_empty() {
        return forms;
    }
    let mut in_vocabulary: HashMap<(&str, String), BTreeSet<&str>> = HashMap::new();
    let mut anywhere: HashMap<String, BTreeSet<&str>> = HashMap::new();
    let mut vocabularies = HashMap::new();
    for (field, word) in &literals.of_fields {
        let vocabulary = vocabularies
            .entry((&field.group, &field.field))
            .or_insert_with(|| forms.vocabulary(&field.group, &field.field));
        if let Some(vocabulary) = vocabulary {
            in_vocabulary.entry((vocabulary, plain(word))).or_default().insert(word);
        }
    }
    for word in &literals.anywhere {
        anywhere.entry(plain(word)).or_default().insert(word);
    }
    // A pattern can tell one spelling from another only by its capital letters.
    let (mut parts, mut capitals) = (BTreeSet::new(), BTreeSet::new());
    for text in &literals.within {
        let words = words_of(text);
        if text.chars().any(char::is_uppercase) {
            capitals.extend(words.iter().cloned());
        }
        parts.extend(words);
    }
    let keeps = |vocabulary: &str, text: &str, meaning: &Meaning| {
        let named = [in_vocabulary.get(&(vocabulary, text.to_owned())), anywhere.get(text)];
        let parts = if meaning.is_another { &parts } else { &capitals };
        named.into_iter().flatten().flatten().any(|word| *word != meaning.word)
            || text.split(' ').any(|part| parts.contains(part))
    };
    let everyday = forms.everyday().without(keeps);
    forms.with_everyday(everyday)
}
