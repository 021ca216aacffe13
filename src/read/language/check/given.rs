//! What the settings and the command line state for parameters.

use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use super::{Checker, Elsewhere, Given, GivenKey, Meaning, word_lists};
use crate::code::{PARAMETER_REPLACED, PARAMETER_TWICE, PARAMETER_VALUE, UNKNOWN_NAME};
use crate::diagnostic::{At, Diagnostic, Fault, did_you_mean, nearest};
use crate::language::ids::ParameterId;
use crate::language::typed::{FaultyValue, Parameter, Stated, StatedByKey};
use crate::language::types::Type;
use crate::letters::composed;
use crate::quantity::{Number, Quantity, Range};
use crate::source::Place;
use crate::time;
use crate::value::Value;

impl Checker<'_> {
    /// Gives the parameters what the run states for them. A statement of a later source takes the place of an
    /// earlier one's, the command line's that of the settings; two in one source are an error. A statement with an
    /// error leaves no value at the parameters for which it can be meant: their defaults would judge by limits
    /// that nobody wants.
    pub(super) fn give_all(&mut self, givens: &[Given]) {
        let mut strangers: Vec<(Given, Option<String>)> = Vec::new();
        let mut above = None;
        let mut earlier: Earlier = HashMap::new();
        let composed = |text: &str| composed(Cow::Borrowed(text)).into_owned();
        let one_form_of_key =
            |key: &GivenKey| GivenKey { text: key.text.as_deref().map(composed), ..key.clone() };
        let in_one_form = |given: &Given| Given {
            name: composed(&given.name),
            text: composed(&given.text),
            keys: given.keys.iter().map(one_form_of_key).collect(),
            list: given
                .list
                .as_ref()
                .map(|list| list.iter().map(|(word, place)| (composed(word), *place)).collect()),
            ..given.clone()
        };
        for given in givens.iter().map(in_one_form) {
            let numbers = self.parameters_called(&given.name);
            if numbers.is_empty() {
                strangers.push((given, above.clone()));
                continue;
            }
            above = Some(given.name.clone()).filter(|_| !given.keys.is_empty());
            if let Err(diagnostic) = self.give(&given, &numbers, &mut earlier) {
                self.report(diagnostic);
            }
        }
        // Behind all others, so that no value hides what a misspelt name would have changed.
        let mut told = HashSet::new();
        for (given, above) in strangers {
            if self.has_enough() {
                // Nobody knows any more which of them the rest is meant for.
                return self.leave_open(&given, &self.parameters.ids().collect::<Vec<_>>());
            }
            // One that is stated by keys comes once for each of them.
            let is_new = told.insert(given.name.clone());
            self.give_nearest(&given, above.as_deref(), is_new);
        }
    }

    fn parameters_called(&self, name: &str) -> Vec<ParameterId> {
        let called = |(_, parameter): &(ParameterId, &Parameter)| {
            parameter.name == name || (!name.contains('.') && short(&parameter.name) == name)
        };
        self.parameters.iter().filter(called).map(|(number, _)| number).collect()
    }

    /// Gives a value to the parameters of its name: one, or one in several editions of its standard.
    fn give(
        &mut self,
        given: &Given,
        numbers: &[ParameterId],
        earlier: &mut Earlier,
    ) -> Result<(), Diagnostic> {
        let names = self.names_of(numbers);
        let [name] = names.as_slice() else {
            let message = format!("`{}` names several parameters: {}", given.name, names.join(", "));
            self.leave_open(given, numbers);
            return Err(Diagnostic::error(UNKNOWN_NAME, given.place, message)
                .help("write the standard's name before it"));
        };
        let keys: Vec<Option<String>> = given.keys.iter().map(|key| key.text.clone()).collect();
        let first =
            numbers.iter().filter_map(|number| earlier.insert((*number, keys.clone()), given.place)).last();
        // One value for all takes the place of whatever was stated by keys.
        let by_keys = || numbers.iter().find_map(|number| self.parameters[*number].stated.first_place());
        let first = first.or_else(|| if keys.is_empty() { by_keys() } else { None });
        match first {
            Some(first) if first.source == given.place.source => {
                let twice = stated_twice(name, given, first);
                self.leave_open(given, numbers);
                return Err(twice);
            }
            Some(first) => self.report(replaced(name, given, first)),
            None => {}
        }
        let mut outcome = Ok(());
        for number in numbers {
            outcome = outcome.and(self.give_one(*number, given, keys.clone()));
        }
        outcome
    }

    /// Gives a value to one parameter, for the keys for which it is stated.
    fn give_one(
        &mut self,
        number: ParameterId,
        given: &Given,
        keys: Vec<Option<String>>,
    ) -> Result<(), Diagnostic> {
        if let Err(diagnostic) = self.keys_fit(number, given) {
            self.leave_open(given, &[number]);
            return Err(diagnostic);
        }
        let parameter = &mut self.parameters[number];
        let (stated, outcome) = match read_given(&parameter.ty, given) {
            Ok(value) => (Stated::Given(value, given.place), Ok(())),
            Err(diagnostic) => (faulty(given), Err(diagnostic)),
        };
        match (&mut parameter.stated, keys.is_empty()) {
            (known, true) => *known = stated,
            (Stated::ByKey(rows), false) => drop(rows.insert(keys, stated)),
            // What is stated with an error under its name may be any of its values.
            (Stated::Faulty(_), false) => {}
            (known, false) => {
                let mut rows = StatedByKey::default();
                if matches!(known, Stated::Given(..)) {
                    rows.insert(Vec::new(), known.clone());
                }
                rows.insert(keys, stated);
                *known = Stated::ByKey(Box::new(rows));
            }
        }
        outcome
    }

    /// Whether the keys for which a value is stated are those by which its parameter differs.
    fn keys_fit(&self, number: ParameterId, given: &Given) -> Result<(), Diagnostic> {
        let Parameter { name, keys, .. } = &self.parameters[number];
        if let Some(extra) = given.keys.get(keys.len()) {
            let message = match keys.len() {
                0 => format!("`{name}` has one value, whatever is judged"),
                1 => format!("`{name}` differs by one field only"),
                number => format!("`{name}` differs by {number} fields only"),
            };
            let help = match keys.len() {
                0 => "write the value behind the name of the parameter",
                _ => "write the value behind the key before this one",
            };
            return Err(Diagnostic::error(PARAMETER_VALUE, extra.place, message).help(help));
        }
        for (key, field) in given.keys.iter().zip(keys) {
            if let (Some(text), Type::Word(words)) = (&key.text, &field.ty) {
                super::comparability::word_of(text, words).at(key.place)?;
            }
        }
        Ok(())
    }

    fn leave_open(&mut self, given: &Given, numbers: &[ParameterId]) {
        for number in numbers {
            self.parameters[*number].stated = faulty(given);
        }
    }

    /// The names of parameters, each once.
    fn names_of(&self, numbers: &[ParameterId]) -> Vec<String> {
        let named = numbers.iter().map(|number| &self.parameters[*number]);
        let names: BTreeSet<&str> = named.map(|parameter| parameter.name.as_str()).collect();
        names.into_iter().map(str::to_owned).collect()
    }

    /// Reports a name that no parameter has, and leaves open what it can be meant for: the parameters that
    /// are nearly called so or, where none is, all that nobody else states. Only what is another standard's,
    /// which is not in this run, is passed over.
    fn give_nearest(&mut self, given: &Given, above: Option<&str>, is_new: bool) {
        let in_run = standard_in(&given.name).is_some_and(|standard| self.judges_by(standard));
        if self.is_declared_with_error(&given.name) || (given.elsewhere == Elsewhere::Parameter && !in_run) {
            return;
        }
        let unnamed = self.of_mistaken_heads(&given.name);
        if !unnamed.is_empty() {
            return self.leave_open(given, &unnamed);
        }
        let near = self.nearly_called(&given.name, in_run);
        if near.is_empty()
            && given.name.contains(' ')
            && let Some(above) = above
        {
            if is_new {
                let message = format!("`{}` is no parameter", given.name);
                let help = format!("if it is a key of `{above}`, indent it below that");
                self.report(Diagnostic::error(UNKNOWN_NAME, given.place, message).help(help));
            }
            return self.leave_open(given, &self.parameters_called(above));
        }
        if near.is_empty() && given.elsewhere == Elsewhere::Standard && !in_run {
            return;
        }
        if is_new {
            let diagnostic = self.unknown_parameter(given, &near);
            self.report(diagnostic);
        }
        let meant = if near.is_empty() { self.unstated(given, in_run) } else { near };
        self.leave_open(given, &meant);
    }

    /// The parameters of this name in files whose head has an error: the name of their standard is not known.
    fn of_mistaken_heads(&self, name: &str) -> Vec<ParameterId> {
        let is_unnamed = |unit: usize| self.units.get(unit).is_some_and(|unit| unit.file.standard_mistaken);
        let called =
            self.parameters.iter().filter(|(_, own)| own.name == short(name) && is_unnamed(own.unit));
        called.map(|(number, _)| number).collect()
    }

    /// The parameters for which a name can be meant that none has: those of nearly that name, in the standard that
    /// it names and in all others, and those that are called so in another standard.
    fn nearly_called(&self, name: &str, in_run: bool) -> Vec<ParameterId> {
        let names = || self.parameters.all().iter().map(|parameter| parameter.name.as_str());
        let is_own = |known: &str| in_run && standard_in(known) == standard_in(name);
        let near_own = nearest(short(name), names().filter(|known| is_own(known)).map(short));
        let near_short = nearest(short(name), names().map(short));
        let near_whole = nearest(name, names());
        let is_near = |known: &str| {
            (near_own == Some(short(known)) && is_own(known))
                || near_short == Some(short(known))
                || near_whole == Some(known)
                || alike(known, name)
                || alike(short(known), short(name))
        };
        let numbered = self.parameters.iter();
        numbered.filter(|(_, parameter)| is_near(&parameter.name)).map(|(number, _)| number).collect()
    }

    /// The parameters that nobody states and that a text can be a value of, of the standard that it is stated
    /// for; all of them where it is a value of none.
    fn unstated(&self, given: &Given, in_run: bool) -> Vec<ParameterId> {
        let mut open: Vec<(ParameterId, &Parameter)> = self.parameters.iter().collect();
        open.retain(|(_, parameter)| matches!(parameter.stated, Stated::Nothing | Stated::Default(_)));
        open.retain(|(_, parameter)| !in_run || standard_in(&parameter.name) == standard_in(&given.name));
        let fits = |(_, parameter): &&(ParameterId, &Parameter)| read_given(&parameter.ty, given).is_ok();
        let fitting: Vec<ParameterId> = open.iter().filter(fits).map(|(number, _)| *number).collect();
        if fitting.is_empty() { open.into_iter().map(|(number, _)| number).collect() } else { fitting }
    }

    fn unknown_parameter(&self, given: &Given, near: &[ParameterId]) -> Diagnostic {
        let message = format!("no standard of this run has a parameter `{}`", given.name);
        let diagnostic = Diagnostic::error(UNKNOWN_NAME, given.place, message);
        if !near.is_empty() {
            return diagnostic.help(did_you_mean(&given.name, &self.names_of(near).join("` or `")));
        }
        // Those of the standard that the name begins with, or of all.
        let mut known: BTreeSet<&str> =
            self.parameters.all().iter().map(|parameter| parameter.name.as_str()).collect();
        if known.iter().any(|known| standard_in(known) == standard_in(&given.name)) {
            known.retain(|known| standard_in(known) == standard_in(&given.name));
        }
        const MOST: usize = 8;
        match known.len() {
            0 => diagnostic.help("the standards of this run have no parameters"),
            1..=MOST => {
                let known = known.into_iter().collect::<Vec<_>>().join(", ");
                diagnostic.help(format!("the parameters are {known}"))
            }
            _ => diagnostic.help("`witnessmark words parameters` lists the parameters of this run"),
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
}

/// For which parameters and keys something was stated before, and where.
type Earlier = HashMap<(ParameterId, Vec<Option<String>>), Place>;

/// The name of a parameter without its standard.
pub(super) fn short(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(_, short)| short)
}

/// The standard in the name of a parameter, where there is one.
fn standard_in(name: &str) -> Option<&str> {
    name.rsplit_once('.').map(|(standard, _)| standard)
}

/// Whether two names differ in nothing but signs, capital letters and what follows the shorter one: `s-lim`,
/// `S.Lim` and `s.limits`.
fn alike(left: &str, right: &str) -> bool {
    const LEAST: usize = 3;
    let plain = |name: &str| name.to_lowercase().replace(|sign: char| !sign.is_alphanumeric(), "");
    let (left, right) = (plain(left), plain(right));
    let shorter = left.chars().count().min(right.chars().count());
    left == right || (shorter >= LEAST && (left.starts_with(&right) || right.starts_with(&left)))
}

/// Two values for one parameter in the settings, or on the command line.
fn stated_twice(name: &str, given: &Given, first: Place) -> Diagnostic {
    let message = format!("the parameter `{name}` is stated twice");
    Diagnostic::error(PARAMETER_TWICE, given.place, message)
        .labelled("stated again here")
        .and_at(first, "first stated here")
        .help("keep the right value and take the other out; until then what needs it is undecided")
}

/// The command line's value for a parameter of the settings.
fn replaced(name: &str, given: &Given, first: Place) -> Diagnostic {
    let message = format!("`{name}` is stated here and in the settings; this value counts");
    Diagnostic::advice(PARAMETER_REPLACED, given.place, message).and_at(first, "does not count in this run")
}

fn faulty(given: &Given) -> Stated {
    Stated::Faulty(Box::new(FaultyValue { name: given.name.clone(), place: given.place }))
}

/// Reads what settings or the command line give.
fn read_given(ty: &Type, given: &Given) -> Result<Value<'static>, Diagnostic> {
    match ty {
        Type::Words(words) => word_lists::stated(given, words.as_ref()),
        ty => word_lists::refuse_list(given).and_then(|()| read_value(ty, &given.text)).at(given.place),
    }
}

/// Reads a single value that settings or the command line give.
fn read_value(ty: &Type, text: &str) -> Result<Value<'static>, Fault> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Fault::new(PARAMETER_VALUE, "no value is given"));
    }
    if matches!(ty, Type::Quantity(_) | Type::Range(_)) {
        crate::quantity::read_in_one_way(text)?;
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
        Type::Day => Value::Day(time::day(text)?),
        Type::Word(words) => {
            super::comparability::word_of(text, words)?;
            Value::Text(text.to_owned().into())
        }
        _ => Value::Text(text.to_owned().into()),
    })
}
