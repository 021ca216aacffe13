//! Texts that are compared with words of a closed list: each must be able to be one of them, or the
//! comparison never holds and nobody sees it.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::comparability::word_of;
use super::{Checker, Progress};
use crate::code::TYPE_MISMATCH;
use crate::diagnostic::{At, Diagnostic};
use crate::document::{Record, Shape};
use crate::language::ids::{LetId, ParameterId, TableId};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::source::Place;
use crate::value::Value;

type Words = Arc<[Arc<str>]>;

impl Checker<'_> {
    /// Checks two sides that must be equal. Answers no where the error was reported before, at another
    /// comparison with the same text.
    pub(super) fn words_agree(&mut self, left: &Expr, right: &Expr) -> Result<bool, Diagnostic> {
        let both = [(left, right), (right, left)];
        both.into_iter().try_fold(true, |good, (list, text)| match &list.ty {
            Type::Word(words) => Ok(good && self.fits(text, words, list.place)?),
            _ => Ok(good),
        })
    }

    /// Checks the keys of a look-up against the closed lists by which the table is keyed.
    pub(super) fn keys_are_words(&mut self, table: TableId, keys: &[Expr]) -> Result<bool, Diagnostic> {
        let (_, _, Progress::Done(table)) = &self.tables[table] else { return Ok(true) };
        let lists: Vec<Option<Words>> = table.keys.iter().map(words_of).collect();
        lists.iter().zip(keys).try_fold(true, |good, (words, key)| match words {
            Some(words) => Ok(good && self.fits(key, words, key.place)?),
            None => Ok(good),
        })
    }

    fn fits(&mut self, text: &Expr, words: &Words, compared: Place) -> Result<bool, Diagnostic> {
        let Err(diagnostic) = self.closed(text, words, compared, &mut BTreeSet::new()) else {
            return Ok(true);
        };
        let place = diagnostic.place();
        if self.wrong_words.insert((place, diagnostic.message.clone())) { Err(diagnostic) } else { Ok(false) }
    }

    /// Checks whatever a text can be; `known` holds the names that were checked.
    fn closed(
        &self,
        text: &Expr,
        words: &Words,
        compared: Place,
        known: &mut BTreeSet<LetId>,
    ) -> Result<(), Diagnostic> {
        match &text.kind {
            ExprKind::Constant(Value::Text(known)) => word_of(known, words).at(text.place),
            ExprKind::Constant(Value::Words(known)) => self.words_in(known, text.place, words),
            ExprKind::Let(number, _) => match &self.lets[*number] {
                (_, _, Progress::Done(definition)) if known.insert(*number) => {
                    self.closed(&definition.value, words, compared, known)
                }
                _ => Ok(()),
            },
            ExprKind::Cases(cases) => {
                cases.iter().try_for_each(|case| self.closed(&case.value, words, compared, known))
            }
            ExprKind::Parameter(number, _) => self.closed_parameter(*number, words, compared),
            ExprKind::Lookup { table, .. } => self.closed_rows(*table, words),
            _ => match words_of(text) {
                Some(own) if !own.iter().any(|word| words.contains(word)) => {
                    let message = "these two can never be the same: their lists have no word in common";
                    Err(Diagnostic::error(TYPE_MISMATCH, text.place, message)
                        .labelled(listed(&own))
                        .and_at(compared, listed(words)))
                }
                _ => Ok(()),
            },
        }
    }

    /// A parameter must take its type from the field, so that its value is checked where it is stated.
    fn closed_parameter(
        &self,
        number: ParameterId,
        words: &Words,
        compared: Place,
    ) -> Result<(), Diagnostic> {
        let parameter = &self.parameters[number];
        let name = parameter.name.rsplit_once('.').map_or(&*parameter.name, |(_, short)| short);
        let message = match &parameter.ty {
            Type::Text => format!("`{name}` is any text, and is compared with a word of a closed list"),
            Type::Words(None) => {
                format!("`{name}` has any words, and a word of a closed list is compared with them")
            }
            Type::Word(own) | Type::Words(Some(own)) if own.iter().any(|word| !words.contains(word)) => {
                format!("`{name}` can be a word that is not in the list with which it is compared")
            }
            _ => return Ok(()),
        };
        let path = self.root_of(parameter.unit).and_then(|root| path_of(&root, words));
        let of = if matches!(parameter.ty, Type::Words(_)) { "words of " } else { "" };
        let help = match path {
            Some(path) => format!("give it the type of the field: `parameter {name} is {of}{path}`"),
            None => format!("the list has the words {}", listed(words)),
        };
        let diagnostic = Diagnostic::error(TYPE_MISMATCH, parameter.kind, message);
        Err(diagnostic.and_at(compared, "compared here").help(help))
    }

    /// Every row of a table must be one of the words; the first that is not is reported in its row.
    fn closed_rows(&self, number: TableId, words: &Words) -> Result<(), Diagnostic> {
        let (unit, written, Progress::Done(table)) = &self.tables[number] else { return Ok(()) };
        for row in &written.rows {
            let keys: Vec<String> = row.keys.iter().map(|key| key.node.clone()).collect();
            let place = super::place_in(self.units, *unit, row.value.span);
            match table.rows.get(&keys) {
                Some(Value::Text(text)) => word_of(text, words).at(place)?,
                Some(Value::Words(own)) => self.words_in(own, place, words)?,
                _ => {}
            }
        }
        Ok(())
    }
}

fn words_of(text: &Expr) -> Option<Words> {
    if let Type::Word(words) = &text.ty { Some(Arc::clone(words)) } else { None }
}

fn listed(words: &Words) -> String {
    words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ")
}

/// The path of the field whose words these are, as a parameter names it.
fn path_of(record: &Record, words: &Words) -> Option<String> {
    record.fields.iter().find_map(|field| {
        let mut shape = &field.shape;
        while let Shape::List(element) = shape {
            shape = element;
        }
        match shape {
            Shape::Word(own) if Arc::ptr_eq(own, words) => Some(field.name.to_string()),
            Shape::Record(inner) => path_of(inner, words).map(|path| format!("{}.{path}", field.name)),
            _ => None,
        }
    })
}
