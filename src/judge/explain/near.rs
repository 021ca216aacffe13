//! What was probably meant where a list or a table has nothing of a name: what has nearly that name.

use super::Explainer;
use crate::decide::{About, Judgement, NodeRef, Operand};
use crate::diagnostic::surely;
use crate::language::ast::{Comparison, Logic, Quantifier};
use crate::language::typed::{Expr, ExprKind, Table};
use crate::value::Value;

impl<'x> Explainer<'x> {
    /// For a comparison that wanted a list to have an element of a name, and found none.
    pub(super) fn near_name(&mut self, expr: &'x Expr) -> Option<String> {
        let searched = match &expr.kind {
            ExprKind::Compare(_, value, _) => value,
            _ => expr,
        };
        match &searched.kind {
            ExprKind::Aggregate { slot: Some(slot), list, condition: Some(condition), .. } => {
                self.near_element(list, *slot, condition)
            }
            ExprKind::Quantified { quantifier: Quantifier::Some, slot, list, condition, body } => {
                let wanted = condition.as_deref().into_iter().chain([&**body]);
                wanted.into_iter().find_map(|wanted| self.near_element(list, *slot, wanted))
            }
            _ => None,
        }
    }

    /// For a rule that has too few subjects.
    pub(super) fn near_subject(&mut self, judgement: &Judgement<'x>) -> Option<String> {
        let About::Number { each, .. } = judgement.about else { return None };
        self.near_element(&each.list, each.slot, each.condition.as_ref()?)
    }

    /// An element of a list that nearly has a name that a condition asks for.
    fn near_element(&mut self, list: &'x Expr, slot: usize, condition: &'x Expr) -> Option<String> {
        let list = self.values.list(list).ok()?;
        let elements = self.values.doc(list).items(list.node);
        let mut names = Vec::new();
        asked(condition, slot, &mut names);
        let outer = self.values.bound();
        let mut wanted: Vec<(&'x Expr, String)> = Vec::new();
        for (field, name) in names {
            match self.values.value(name).map(Operand::into_value) {
                Ok(Value::Text(name)) => wanted.push((field, name.into_owned())),
                Ok(Value::Words(names)) => wanted.extend(names.iter().map(|name| (field, name.to_string()))),
                _ => {}
            }
        }
        let found = wanted.iter().find_map(|(field, wanted)| {
            let mut known: Vec<(NodeRef, &str)> = Vec::new();
            for element in elements {
                self.values.set(slot, list.beside(*element));
                let Ok(spot) = self.values.node(field) else { continue };
                known.extend(self.values.doc(spot).raw(spot.node).map(|text| (spot, text)));
            }
            if known.iter().any(|(_, text)| text == wanted) {
                return None;
            }
            let wanted = wanted.trim();
            if let Some((spot, text)) = known.iter().find(|(_, text)| text.trim() == wanted) {
                return Some(format!(
                    "`{}` is `{text}`, with blanks that `{wanted}` does not have",
                    self.path(*spot)
                ));
            }
            // Names that differ in a number are two of a row.
            let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
            known.retain(|(_, text)| digits(text) == digits(wanted));
            if let Some(near) = surely(wanted, known.iter().map(|(_, text)| *text)) {
                let (spot, _) = known.iter().find(|(_, text)| *text == near)?;
                return Some(format!("`{}` is `{near}`, which is nearly `{wanted}`", self.path(*spot)));
            }
            let (spot, near) = of_the_same(wanted, &known)?;
            Some(format!("`{}` is `{near}`", self.path(spot)))
        });
        self.values.bind(outer);
        found
    }
}

/// The only name that begins with the same word: a filter cover where a filter cap is wanted.
fn of_the_same<'t>(wanted: &str, known: &[(NodeRef, &'t str)]) -> Option<(NodeRef, &'t str)> {
    let (word, _) = wanted.split_once(' ').filter(|(word, _)| word.chars().count() > 3)?;
    let begins = |text: &str| text.split_once(' ').is_some_and(|(first, _)| first == word);
    let mut found = known.iter().filter(|(_, text)| begins(text));
    let (spot, name) = found.next().copied()?;
    found.all(|(_, other)| *other == name).then_some((spot, name))
}

/// The row of a table that was probably meant by keys that no row has: one of them is nearly that of a row
/// whose others agree.
pub(super) fn near_row<'t>(table: &'t Table, keys: &[String]) -> Option<&'t [String]> {
    keys.iter().enumerate().find_map(|(place, key)| {
        let others = |row: &[String]| {
            let mut pairs = row.iter().zip(keys).enumerate();
            pairs.all(|(number, (of_row, given))| number == place || of_row == given)
        };
        let rows: Vec<&Vec<String>> = table.rows.keys().filter(|row| others(row)).collect();
        let near = surely(key, rows.iter().filter_map(|row| row.get(place)).map(String::as_str))?;
        rows.into_iter().find(|row| row.get(place).is_some_and(|known| known == near)).map(Vec::as_slice)
    })
}

/// The names that a condition asks of an element, each with the field that would hold it.
fn asked<'x>(condition: &'x Expr, slot: usize, names: &mut Vec<(&'x Expr, &'x Expr)>) {
    match &condition.kind {
        ExprKind::Logic(Logic::And, left, right) => {
            asked(left, slot, names);
            asked(right, slot, names);
        }
        ExprKind::Compare(Comparison::Is, left, right) => {
            let of_element = |side: &Expr| side.variable() == Some(slot);
            match (of_element(left), of_element(right)) {
                (true, false) => names.push((left, right)),
                (false, true) => names.push((right, left)),
                _ => {}
            }
        }
        ExprKind::OneOf { value, negated: false, options } if value.variable() == Some(slot) => {
            names.extend(options.iter().map(|option| (&**value, option)));
        }
        _ => {}
    }
}
