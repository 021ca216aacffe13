//! Which everyday words are read as others: none for which a rule of the workshop asks itself.

use std::collections::{BTreeSet, HashMap};

use crate::document::Forms;
use crate::document::everyday::{Meaning, plain};
use crate::language::typed::Program;
use crate::letters::words_of;
use crate::library::SHIPPED;
use crate::source::{Place, Sources};

/// The same forms, with everyday words that rules outside of the shipped standards name left as they are.
pub(super) fn leave_to_rules(forms: Forms, program: &Program, sources: &Sources) -> Forms {
    let is_own = |place: Place| {
        let name = sources.name(place.source);
        !SHIPPED.iter().any(|shipped| shipped.file == name)
    };
    let literals = program.literals(&is_own);
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
