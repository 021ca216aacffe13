//! Limits that maker or workshop state: one for all, or one by the fields of a document.

use std::collections::HashMap;

use super::{Expr, Of};
use crate::language::ast::Parameter as WrittenParameter;
use crate::language::types::Type;
use crate::source::{Place, Span};
use crate::value::Value;

/// A limit that maker or workshop state.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// Its full name, `standard.parameter`.
    pub name: String,
    /// What it means.
    pub title: String,
    /// Its type.
    pub ty: Type,
    /// What it is a value of.
    pub of: Of,
    /// The fields by which its value differs; at most [`MOST_KEYS`].
    pub keys: Vec<Expr>,
    /// The field whose value, where it is recorded, goes before what is stated.
    pub from: Option<Expr>,
    /// What this run states for it.
    pub stated: Stated,
    /// What its declaration states; what a trial has, whatever the run states.
    pub declared: Stated,
    /// Where it is declared.
    pub place: Place,
    /// Where its kind is written.
    pub kind: Place,
    /// The default, the keys and the field, as written.
    pub(in crate::language) written: WrittenParameter,
    /// The number of the unit that declares it.
    pub(in crate::language) unit: usize,
}

impl Parameter {
    /// The one value that it has in this run, if there is one whatever document is judged.
    #[must_use]
    pub fn value(&self) -> Option<&Value<'static>> {
        self.stated.value().filter(|_| self.from.is_none())
    }

    /// Where the entries are written of which it has a value each: `s in fastenings`.
    #[must_use]
    pub fn entries(&self) -> Option<Place> {
        let entries = self.written.entries.as_ref()?;
        let span = Span { start: entries.variable.span.start, end: entries.list.span.end };
        Some(Place { span, ..self.place })
    }
}

/// By how many fields the value of a parameter may differ.
pub const MOST_KEYS: usize = 3;

/// What is stated for a parameter.
#[derive(Clone, Debug)]
pub enum Stated {
    /// Nobody states anything.
    Nothing,
    /// The default of its declaration.
    Default(Value<'static>),
    /// A value of the settings, the command line or a trial, and where it is stated.
    Given(Value<'static>, Place),
    /// Values of the settings that differ by keys.
    ByKey(Box<StatedByKey>),
    /// Something with an error, which is reported at its place. The default does not take its place:
    /// somebody wanted another value.
    Faulty(Box<FaultyValue>),
}

impl Stated {
    /// The value, if there is one.
    #[must_use]
    pub fn value(&self) -> Option<&Value<'static>> {
        match self {
            Stated::Default(value) | Stated::Given(value, _) => Some(value),
            Stated::Nothing | Stated::Faulty(_) | Stated::ByKey(_) => None,
        }
    }
}

impl Stated {
    /// The first place at which values are stated by keys.
    pub(in crate::language) fn first_place(&self) -> Option<Place> {
        let Stated::ByKey(rows) = self else { return None };
        let place = |(_, stated): (_, &Stated)| match stated {
            Stated::Given(_, place) => Some(*place),
            _ => None,
        };
        rows.rows().into_iter().filter_map(place).min()
    }
}

/// Values that differ by keys. A row has keys for the first fields of its parameter, and counts for whatever the
/// others are; nothing in place of a key is `every other`.
#[derive(Clone, Debug, Default)]
pub struct StatedByKey {
    rows: HashMap<Vec<Option<String>>, Stated>,
    /// By the number of a field, whether any row asks for it.
    asked: [bool; MOST_KEYS],
}

impl StatedByKey {
    /// Adds a row; what was stated for the same keys before is given back.
    pub fn insert(&mut self, keys: Vec<Option<String>>, stated: Stated) -> Option<Stated> {
        for (asked, key) in self.asked.iter_mut().zip(&keys) {
            *asked |= key.is_some();
        }
        self.rows.insert(keys, stated)
    }

    /// Whether any row asks for the field of this number.
    #[must_use]
    pub fn asks(&self, number: usize) -> bool {
        self.asked.get(number).copied().unwrap_or_default()
    }

    /// The row that fits these keys best: of two that fit, the one that names the first field on which they differ.
    #[must_use]
    pub fn row(&self, keys: &[Option<String>]) -> Option<&Stated> {
        self.below(&mut Vec::with_capacity(keys.len()), keys)
    }

    fn below(&self, before: &mut Vec<Option<String>>, keys: &[Option<String>]) -> Option<&Stated> {
        if let Some((key, rest)) = keys.split_first() {
            for next in [key.clone(), None] {
                before.push(next);
                let found = self.below(before, rest);
                before.pop();
                if found.is_some() {
                    return found;
                }
            }
        }
        self.rows.get(before.as_slice())
    }

    /// The keys that rows state for the field of this number, in no order that means anything.
    pub fn keys(&self, number: usize) -> impl Iterator<Item = &str> {
        self.rows.keys().filter_map(move |keys| keys.get(number)?.as_deref())
    }

    /// The rows, in the order of their keys.
    #[must_use]
    pub fn rows(&self) -> Vec<(&[Option<String>], &Stated)> {
        let mut rows: Vec<_> = self.rows.iter().map(|(keys, stated)| (keys.as_slice(), stated)).collect();
        rows.sort_by_key(|(keys, _)| *keys);
        rows
    }
}

/// What was stated for a parameter and cannot be used.
#[derive(Clone, Debug)]
pub struct FaultyValue {
    /// The name under which it is stated, which can itself be the error.
    pub name: String,
    /// Where.
    pub place: Place,
}
