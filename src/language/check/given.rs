//! What the settings and the command line state for parameters.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::Arc;

use super::{Checker, Given, Meaning};
use crate::code::{PARAMETER_VALUE, UNKNOWN_NAME};
use crate::diagnostic::{At, Diagnostic, Fault, did_you_mean, nearest};
use crate::language::ast::Item;
use crate::language::typed::{FaultyValue, Parameter, Stated};
use crate::language::types::Type;
use crate::letters::composed;
use crate::quantity::{Number, Quantity, Range};
use crate::value::Value;

impl Checker<'_> {
    /// Gives the parameters what the run states for them. Of several values for one parameter the last
    /// counts. A statement with an error leaves no value at the parameters for which it can be meant: their
    /// defaults would judge by limits that nobody wants.
    pub(super) fn give_all(&mut self, givens: &[Given]) {
        let mut strangers = Vec::new();
        let composed = |text: &str| composed(Cow::Borrowed(text)).into_owned();
        let in_one_form = |given: &Given| Given {
            name: composed(&given.name),
            text: composed(&given.text),
            ..given.clone()
        };
        for given in givens.iter().map(in_one_form) {
            let numbers = self.parameters_called(&given.name);
            if numbers.is_empty() {
                strangers.push(given);
            } else if let Err(diagnostic) = self.give(&given, &numbers) {
                self.report(diagnostic);
            }
        }
        // Behind all others, so that no value hides what a misspelt name would have changed.
        for given in strangers {
            self.give_nearest(&given);
        }
    }

    fn parameters_called(&self, name: &str) -> Vec<usize> {
        let called = |(_, parameter): &(usize, &Parameter)| {
            parameter.name == name || (!name.contains('.') && short(&parameter.name) == name)
        };
        self.parameters.iter().enumerate().filter(called).map(|(number, _)| number).collect()
    }

    /// Gives a value to the parameters of its name: one, or one in several editions of its standard.
    fn give(&mut self, given: &Given, numbers: &[usize]) -> Result<(), Diagnostic> {
        let named = numbers.iter().filter_map(|number| self.parameters.get(*number));
        let names: BTreeSet<&str> = named.map(|parameter| parameter.name.as_str()).collect();
        if names.len() > 1 {
            let names = names.into_iter().collect::<Vec<_>>().join(", ");
            let message = format!("`{}` names several parameters: {names}", given.name);
            self.leave_open(given, numbers);
            return Err(Diagnostic::error(UNKNOWN_NAME, given.place, message)
                .help("write the standard's name before it"));
        }
        let mut outcome = Ok(());
        for number in numbers {
            let Some(parameter) = self.parameters.get_mut(*number) else { continue };
            parameter.stated = match read_value(&parameter.ty, &given.text).at(given.place) {
                Ok(value) => Stated::Given(value),
                Err(diagnostic) => {
                    outcome = outcome.and(Err(diagnostic));
                    faulty(given)
                }
            };
        }
        outcome
    }

    fn leave_open(&mut self, given: &Given, numbers: &[usize]) {
        for number in numbers {
            if let Some(parameter) = self.parameters.get_mut(*number) {
                parameter.stated = faulty(given);
            }
        }
    }

    /// Reports a name that no parameter has, and leaves open what it can be meant for: the parameters that
    /// are nearly called so or, where none is, all that nobody else states.
    fn give_nearest(&mut self, given: &Given) {
        let standard = given.name.rsplit_once('.').map(|(standard, _)| standard);
        let in_run = standard.is_some_and(|standard| self.judges_by(standard));
        if self.is_declared_with_error(&given.name) || (given.at_large && standard.is_some() && !in_run) {
            return;
        }
        let by_short = standard.is_none() || in_run;
        let written = |name: &'_ str| if by_short { short(name).to_owned() } else { name.to_owned() };
        let of_standard =
            |name: &str| !in_run || standard == name.rsplit_once('.').map(|(standard, _)| standard);
        let pool: Vec<(usize, String)> = self
            .parameters
            .iter()
            .enumerate()
            .filter(|(_, parameter)| of_standard(&parameter.name))
            .map(|(number, parameter)| (number, written(&parameter.name)))
            .collect();
        let near = nearest(&written(&given.name), pool.iter().map(|(_, name)| name.as_str()));
        if near.is_none() && given.at_large {
            return;
        }
        let meant: Vec<usize> = match near {
            Some(near) => pool.iter().filter(|(_, name)| name == near).map(|(number, _)| *number).collect(),
            None if by_short => self.unstated(&pool, &given.text),
            None => Vec::new(),
        };
        let diagnostic = self.unknown_parameter(given, near.is_some().then_some(meant.as_slice()));
        self.report(diagnostic);
        self.leave_open(given, &meant);
    }

    /// The parameters of `pool` that nobody states and that a text can be a value of; all of them where it
    /// is a value of none.
    fn unstated(&self, pool: &[(usize, String)], text: &str) -> Vec<usize> {
        let parameters = pool.iter().filter_map(|(number, _)| Some((*number, self.parameters.get(*number)?)));
        let open: Vec<(usize, &Parameter)> = parameters
            .filter(|(_, parameter)| matches!(parameter.stated, Stated::Nothing | Stated::Default(_)))
            .collect();
        let fits = |(_, parameter): &&(usize, &Parameter)| read_value(&parameter.ty, text).is_ok();
        let fitting: Vec<usize> = open.iter().filter(fits).map(|(number, _)| *number).collect();
        if fitting.is_empty() { open.into_iter().map(|(number, _)| number).collect() } else { fitting }
    }

    fn unknown_parameter(&self, given: &Given, meant: Option<&[usize]>) -> Diagnostic {
        let message = format!("no standard of this run has a parameter `{}`", given.name);
        let diagnostic = Diagnostic::error(UNKNOWN_NAME, given.place, message);
        let named = |number: &usize| Some(self.parameters.get(*number)?.name.as_str());
        let near: BTreeSet<&str> = meant.unwrap_or_default().iter().filter_map(named).collect();
        if !near.is_empty() {
            let near = near.into_iter().collect::<Vec<_>>().join("` or `");
            return diagnostic.help(did_you_mean(&given.name, &near));
        }
        let known: BTreeSet<&str> = self.parameters.iter().map(|parameter| parameter.name.as_str()).collect();
        match known.is_empty() {
            true => diagnostic.help("the standards of this run have no parameters"),
            false => {
                let known = known.into_iter().collect::<Vec<_>>().join(", ");
                diagnostic.help(format!("the parameters are {known}"))
            }
        }
    }

    /// Whether a parameter of this name is declared with an error. Rules that use it are left out.
    fn is_declared_with_error(&self, name: &str) -> bool {
        let standard = name.rsplit_once('.').map(|(standard, _)| standard);
        self.names.iter().enumerate().any(|(unit, names)| {
            let declared = names.get(short(name));
            declared.is_some_and(|declared| declared.meaning == Meaning::Mistaken)
                && (standard.is_none() || standard == self.standard_of(unit))
        })
    }

    /// Whether a standard of this name is in this run.
    fn judges_by(&self, standard: &str) -> bool {
        (0..self.units.len()).any(|unit| self.standard_of(unit) == Some(standard))
    }

    /// The name of the standard in a unit.
    pub(super) fn standard_of(&self, unit: usize) -> Option<&str> {
        let items = &self.units.get(unit)?.file.items;
        items.iter().find_map(|item| match item {
            Item::Standard(standard) => Some(standard.name.node.as_str()),
            _ => None,
        })
    }
}

/// The name of a parameter without its standard.
fn short(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(_, short)| short)
}

fn faulty(given: &Given) -> Stated {
    Stated::Faulty(Box::new(FaultyValue { name: given.name.clone(), place: given.place }))
}

/// Reads a value that settings or the command line give.
fn read_value(ty: &Type, text: &str) -> Result<Value<'static>, Fault> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Fault::new(PARAMETER_VALUE, "no value is given"));
    }
    Ok(match ty {
        Type::Quantity(kind) if *kind == crate::quantity::Kind::NUMBER => {
            Value::Quantity(Quantity::from(Number::parse(text)?))
        }
        Type::Quantity(kind) => Value::Quantity(Quantity::parse(text, Some(*kind))?),
        Type::Range(kind) => Value::Range(Arc::new(Range::parse(text, Some(*kind))?)),
        Type::Truth => match text {
            "yes" | "true" => Value::Truth(true),
            "no" | "false" => Value::Truth(false),
            _ => {
                return Err(Fault::new(
                    PARAMETER_VALUE,
                    format!("`yes` or `no` is wanted here, and this is `{text}`"),
                ));
            }
        },
        Type::Word(words) => {
            super::sorts::word_of(text, words)?;
            Value::Text(text.to_owned().into())
        }
        _ => Value::Text(text.to_owned().into()),
    })
}
