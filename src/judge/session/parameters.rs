//! The parameters of a run: what each is a value of, by what it differs, and where it is stated.

use super::Session;
use super::why::one_line;
use crate::explain::describe;
use crate::language::typed::{Parameter, Standard};
use crate::language::types::Type;

/// A parameter as its standard declares it, whatever a run states for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeclaredParameter {
    /// Its full name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Its kind: `a range of torque`, or ``a word of `FIELD` ``.
    pub kind: String,
    /// The entries of which it has a value each: `s in fastenings`.
    pub entries: Option<String>,
    /// The fields by which its value differs.
    pub keys: Vec<String>,
    /// The field whose value, where it is recorded, goes before what is stated.
    pub from: Option<String>,
    /// Its value when nobody states one.
    pub default: Option<String>,
}

impl DeclaredParameter {
    /// By what its value differs: `unit.family, s.role, of each s in fastenings`; nothing where it has one value.
    #[must_use]
    pub fn differs_by(&self) -> Option<String> {
        let entries = self.entries.iter().map(|entries| format!("of each {entries}"));
        let all: Vec<String> = self.keys.iter().cloned().chain(entries).collect();
        (!all.is_empty()).then(|| all.join(", "))
    }

    /// All of it but name and title, with the names of fields in backticks.
    #[must_use]
    pub fn in_words(&self) -> String {
        let mut words = self.kind.clone();
        for (number, key) in self.keys.iter().enumerate() {
            words.push_str(&format!("{}`{key}`", if number == 0 { " by " } else { ", " }));
        }
        if let Some(entries) = &self.entries {
            words.push_str(&format!(", of each `{entries}`"));
        }
        match &self.default {
            Some(default) => words.push_str(&format!("; default {default}")),
            None => words.push_str("; no default"),
        }
        if let Some(from) = &self.from {
            words.push_str(&format!("; `{from}` goes before what is stated"));
        }
        words
    }

    /// How it is written under `parameters` in the settings: `level.window: { unit.family: VALUE }`.
    #[must_use]
    pub fn setting(&self) -> String {
        let nested = |value: String, key: &String| format!("{{ {key}: {value} }}");
        format!("{}: {}", self.name, self.keys.iter().rev().fold("VALUE".to_owned(), nested))
    }
}

impl Session {
    /// The parameters of all standards, earlier editions among them, in the order in which they were written.
    #[must_use]
    pub fn parameters(&self) -> Vec<DeclaredParameter> {
        self.program().parameters().all().iter().map(|parameter| self.declared(parameter)).collect()
    }

    /// Those that the file of a standard declares.
    #[must_use]
    pub fn parameters_of(&self, standard: &Standard) -> Vec<DeclaredParameter> {
        let all = self.program().parameters().all().iter();
        let its = all.filter(|parameter| parameter.place.source == standard.place.source);
        its.map(|parameter| self.declared(parameter)).collect()
    }

    /// A parameter as it is declared.
    pub(super) fn declared(&self, parameter: &Parameter) -> DeclaredParameter {
        let text = |place| one_line(self.sources().text_at(place));
        DeclaredParameter {
            name: parameter.name.clone(),
            title: parameter.title.clone(),
            kind: match &parameter.ty {
                Type::Word(_) => format!("a word of `{}`", text(parameter.kind)),
                Type::Words(_) => format!("a list of words of `{}`", text(parameter.kind)),
                other => other.to_string(),
            },
            entries: parameter.entries().map(text),
            keys: parameter.keys.iter().map(|key| text(key.place)).collect(),
            from: parameter.from.as_ref().map(|from| text(from.place)),
            default: parameter.declared.value().map(describe),
        }
    }
}
