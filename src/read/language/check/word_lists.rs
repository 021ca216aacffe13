//! Lists of words: `one of ("drain plug", "fill plug")` under a name, and the parameters that are such lists.

use std::collections::HashMap;
use std::sync::Arc;

use super::comparability::word_of;
use super::{Checker, Given, Scope, constant, place_in};
use crate::code::{PARAMETER_VALUE, TYPE_MISMATCH, WORD_TWICE};
use crate::diagnostic::{At, Diagnostic, Fault};
use crate::language::ast::{self, Text};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::letters::{look, said};
use crate::source::Place;
use crate::value::Value;

type Words = Arc<[Arc<str>]>;

impl Checker<'_> {
    /// Types a list of words, each of which is in it once.
    pub(super) fn word_list(
        &mut self,
        scope: &Scope,
        written: &[Text],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let placed = written.iter().map(|word| (word.node.as_str(), scope.place(word.span)));
        each_once(placed)?;
        self.word_places.insert(place, written.iter().map(|word| word.span).collect());
        let words: Words = written.iter().map(|word| Arc::from(word.node.as_str())).collect();
        Ok(constant(Value::Words(words), place, Type::Words(None)))
    }

    /// Checks that each word of a list, which is written at `place`, is in the closed list `words`.
    pub(super) fn words_in(&self, list: &Words, place: Place, words: &Words) -> Result<(), Diagnostic> {
        let spans = self.word_places.get(&place).map_or(&[][..], Vec::as_slice);
        let mut spans = spans.iter();
        list.iter().try_for_each(|word| {
            let span = spans.next().copied().unwrap_or(place.span);
            word_of(word, words).at(Place { span, ..place })
        })
    }

    /// The type of a parameter that is a list of words of a field, or of any words.
    pub(super) fn words_of(&mut self, unit: usize, written: &ast::Parameter) -> Result<Type, Diagnostic> {
        let kind = written.kind.node.as_str();
        let place = place_in(self.units, unit, written.kind.span);
        let error = |message: String| Diagnostic::error(TYPE_MISMATCH, place, message);
        if written.range {
            return Err(error("a list of words has no range".to_owned()).help("leave `range` out"));
        }
        let ty = if kind == "text" { Type::Text } else { self.type_through_lists(unit, &written.kind)? };
        match ty {
            Type::Text => Ok(Type::Words(None)),
            Type::Word(words) => Ok(Type::Words(Some(words))),
            Type::Mistaken => Ok(Type::Mistaken),
            other => Err(error(format!("`{kind}` is {other}, and a list of words cannot be of it"))
                .help("name a field with a text or a word, such as `fastenings.role`")),
        }
    }

    /// A value that is fixed, also where it is that of a name.
    pub(super) fn fixed(&self, expr: Expr) -> Expr {
        let ExprKind::Let(number, _) = expr.kind else { return expr };
        let super::Progress::Done(definition) = &self.lets[number].2 else { return expr };
        match &definition.value.kind {
            ExprKind::Constant(value @ Value::Words(_)) => {
                constant(value.clone(), definition.value.place, expr.ty)
            }
            _ => expr,
        }
    }
}

/// Refuses a word that is in a list twice, or looks like another one of it.
fn each_once<'w>(words: impl Iterator<Item = (&'w str, Place)>) -> Result<(), Diagnostic> {
    let mut seen: HashMap<String, (&str, Place)> = HashMap::new();
    for (word, place) in words {
        let Some((first, first_place)) = seen.insert(look(word).into_owned(), (word, place)) else {
            continue;
        };
        let diagnostic = match first == word {
            true => Diagnostic::error(WORD_TWICE, place, format!("\"{word}\" is in this list twice"))
                .help("take one of them out"),
            false => {
                let message = format!("\"{word}\" looks like another word of this list");
                Diagnostic::error(WORD_TWICE, place, message).help(said(word, first))
            }
        };
        return Err(diagnostic.and_at(first_place, "the first"));
    }
    Ok(())
}

/// The words that the settings, as a list, or the command line, between commas, state for a parameter.
pub(super) fn stated(given: &Given, words: Option<&Words>) -> Result<Value<'static>, Diagnostic> {
    let own: Vec<(&str, Place)> = match &given.list {
        Some(list) => list.iter().map(|(word, place)| (word.trim(), *place)).collect(),
        None => given.text.split(',').map(|word| (word.trim(), given.place)).collect(),
    };
    if own.is_empty() || own == [("", given.place)] {
        return Err(Diagnostic::error(PARAMETER_VALUE, given.place, "no words are given"));
    }
    if let Some((_, place)) = own.iter().find(|(word, _)| word.is_empty()) {
        return Err(Diagnostic::error(PARAMETER_VALUE, *place, "a word of this list is blank"));
    }
    each_once(own.iter().copied())?;
    if let Some(words) = words {
        own.iter().try_for_each(|(word, place)| word_of(word, words).at(*place))?;
    }
    Ok(Value::Words(own.into_iter().map(|(word, _)| Arc::from(word)).collect()))
}

/// Refuses a list where a single value is wanted.
pub(super) fn refuse_list(given: &Given) -> Result<(), Fault> {
    match &given.list {
        Some(_) => Err(Fault::new(PARAMETER_VALUE, "a single value is wanted here, and this is a list")),
        None => Ok(()),
    }
}
