//! GivenNames that a workshop has given itself: families of units, steps, specifications. Settings and procedures state how they
//! are written, and a record that writes one with other capital letters, blanks or hyphens means the same one.

use std::collections::hash_map::{Entry, HashMap};
use std::sync::Arc;

use super::tree::{Document, NodeId};
use super::{Record, Shape};
use crate::letters::{Separators, are_of_other_letters, folded};

/// The vocabularies whose words are names that a workshop gives. Places are none of them: `a` and `A` can be two.
const GIVEN: [&str; 3] = ["unit family", "step name", SPECIFICATION];

/// The vocabulary of the names of fluids' specifications.
pub const SPECIFICATION: &str = "fluid specification";

/// The names of a workshop, to be looked up.
#[derive(Clone, Debug, Default)]
pub struct GivenNames {
    /// By vocabulary and folded name, the name as it is stated; nothing where it is stated in two ways.
    stated: HashMap<&'static str, HashMap<String, Option<Arc<str>>>>,
}

impl GivenNames {
    /// Adds a name; what is none of a vocabulary whose names a workshop gives is left out.
    pub fn add(&mut self, vocabulary: &str, name: &str) {
        let Some(vocabulary) = GIVEN.into_iter().find(|given| *given == vocabulary) else { return };
        match self.stated.entry(vocabulary).or_default().entry(key(name)) {
            Entry::Vacant(free) => drop(free.insert(Some(name.into()))),
            Entry::Occupied(mut stated) if stated.get().as_deref() != Some(name) => drop(stated.insert(None)),
            Entry::Occupied(_) => {}
        }
    }

    /// Adds the names in a document.
    pub fn add_all(&mut self, document: &Document<'_>, record: &Record) {
        self.add_below(document, document.root(), record);
    }

    /// Depth is bounded by the shape of the form.
    fn add_below(&mut self, document: &Document<'_>, id: NodeId, record: &Record) {
        for entry in document.entries(id) {
            let Some(field) = record.fields.get(usize::from(entry.field)) else { continue };
            let (mut shape, mut values) = (&field.shape, vec![entry.value]);
            while let Shape::List(item) = shape {
                values = values.iter().flat_map(|list| document.items(*list)).copied().collect();
                shape = item;
            }
            for value in values {
                match (shape, field.vocabulary.as_deref()) {
                    (Shape::Record(inner), _) => self.add_below(document, value, inner),
                    (Shape::Text, Some(vocabulary)) => {
                        if let Some(name) = document.text(value) {
                            self.add(vocabulary, name);
                        }
                    }
                    _ => {}
                }
            }
        }
    }

    /// The names of a vocabulary as they are stated, in their order.
    #[must_use]
    pub fn all(&self, vocabulary: &str) -> Vec<&str> {
        let stated = self.stated.get(vocabulary).into_iter().flat_map(HashMap::values);
        let mut all: Vec<&str> = stated.filter_map(Option::as_deref).collect();
        all.sort_unstable();
        all
    }

    /// The name that is meant by a text, if it is written otherwise.
    pub(super) fn meant(&self, vocabulary: &str, text: &str) -> Option<&str> {
        let stated = self.stated.get(vocabulary)?.get(&key(text))?.as_deref()?;
        (stated != text && !are_of_other_letters(stated, text)).then_some(stated)
    }
}

fn key(name: &str) -> String {
    folded(name, Separators::BetweenDigits)
}
