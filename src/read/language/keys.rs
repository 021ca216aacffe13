//! The keys for which settings state values, read as the words that the documents are read as.

use std::collections::HashMap;
use std::sync::Arc;

use crate::code::{PARAMETER_TWICE, READ_AS};
use crate::diagnostic::Diagnostic;
use crate::document::Forms;
use crate::language::naming::{FieldOf, fields_of};
use crate::language::typed::{FaultyValue, Parameter, Program, Stated, StatedByKey};
use crate::source::Place;

impl Program {
    /// Reads everyday words among the keys of parameters as what they mean, and says so. Two keys that come to be one are
    /// an error, and what is stated for them counts no more.
    pub fn read_keys(&mut self, forms: &Forms) -> Vec<Diagnostic> {
        let mut said = Vec::new();
        for id in self.parameters.ids() {
            let parameter = &mut self.parameters[id];
            let Stated::ByKey(rows) = &parameter.stated else { continue };
            let vocabularies: Vec<Option<Arc<str>>> =
                parameter.keys.iter().map(|key| vocabulary(forms, key)).collect();
            if let Some(read) = read(parameter, rows, &vocabularies, forms, &mut said) {
                parameter.stated = Stated::ByKey(Box::new(read));
            }
        }
        // An earlier edition declares the same parameter once more.
        said.sort_by(|one, other| (one.place(), &one.message).cmp(&(other.place(), &other.message)));
        said.dedup_by(|one, other| one.place() == other.place() && one.message == other.message);
        said
    }
}

impl Program {
    /// The keys for which the run states values of parameters, each with the fields of which it is a value.
    #[must_use]
    pub fn keys(&self) -> Vec<(Vec<FieldOf>, String)> {
        let mut keys = Vec::new();
        for parameter in self.parameters.all() {
            let Stated::ByKey(rows) = &parameter.stated else { continue };
            for (row, _) in rows.rows() {
                let named = row.iter().zip(&parameter.keys);
                keys.extend(named.filter_map(|(key, field)| Some((fields_of(field), key.clone()?))));
            }
        }
        keys
    }
}

fn vocabulary(forms: &Forms, key: &crate::language::typed::Expr) -> Option<Arc<str>> {
    fields_of(key).iter().find_map(|field| forms.vocabulary(&field.group, &field.field)).cloned()
}

/// The rows with their keys read; nothing where none is another word.
fn read(
    parameter: &Parameter,
    rows: &StatedByKey,
    vocabularies: &[Option<Arc<str>>],
    forms: &Forms,
    said: &mut Vec<Diagnostic>,
) -> Option<StatedByKey> {
    let meaning = |at: usize, key: &str| {
        let vocabulary = vocabularies.get(at)?.as_deref()?;
        forms.everyday().meaning(vocabulary, key)
    };
    let is_another = |(keys, _): &(&[Option<String>], &Stated)| {
        keys.iter().enumerate().any(|(at, key)| key.as_ref().is_some_and(|key| meaning(at, key).is_some()))
    };
    if !rows.rows().iter().any(is_another) {
        return None;
    }
    let mut read = StatedByKey::default();
    let mut before: HashMap<Vec<Option<String>>, (Place, String)> = HashMap::new();
    for (keys, stated) in rows.rows() {
        let place = place_of(stated).unwrap_or(parameter.place);
        let mut own = keys.to_vec();
        for (at, key) in own.iter_mut().enumerate() {
            let Some(written) = key.clone() else { continue };
            let Some(meaning) = meaning(at, &written) else { continue };
            let usual = if meaning.is_another { ", a usual word for it" } else { "" };
            let message =
                format!("`{written}`, a key of `{}`, is read as `{}`{usual}", parameter.name, meaning.word);
            said.push(Diagnostic::note(READ_AS, place, message));
            *key = Some(meaning.word.to_owned());
        }
        let written = keys.iter().flatten().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
        let Some((first, other)) = before.insert(own.clone(), (place, written.clone())) else {
            read.insert(own, stated.clone());
            continue;
        };
        said.push(twice(&parameter.name, (place, &written), (first, &other)));
        let faulty = FaultyValue { name: parameter.name.clone(), place };
        read.insert(own, Stated::Faulty(Box::new(faulty)));
    }
    Some(read)
}

fn place_of(stated: &Stated) -> Option<Place> {
    match stated {
        Stated::Given(_, place) => Some(*place),
        Stated::Faulty(faulty) => Some(faulty.place),
        _ => None,
    }
}

/// Two keys that are one. The one further down comes second.
fn twice(name: &str, one: (Place, &str), other: (Place, &str)) -> Diagnostic {
    let (first, second) = if one.0 < other.0 { (one, other) } else { (other, one) };
    let message = format!("{} and {} are one key of `{name}`, which is stated twice", second.1, first.1);
    Diagnostic::error(PARAMETER_TWICE, second.0, message)
        .labelled("stated again here")
        .and_at(first.0, "first stated here")
        .help("keep the right value and take the other out; until then what needs it is undecided")
}
