//! What names stand for: places in the record, lets, parameters, rows of tables, and scalars.

use serde_yaml::Value as Yaml;

use witnessmark::language::ast::{Comparison, Expr, ExprKind, Item, Name, Parameter, RangeForm, Table};

use super::evaluate::{Naive, Scope, Variable};
use super::fields::{Field, field, when};
use super::figures::{Amount, Measure, decimal, reading, unit_called};
use super::mutation::Mutation;
use super::program::Stated;
use super::value::{Known, Told, Value, Why, all};

/// A place in the record, whether or not there is anything.
#[derive(Clone, Debug)]
pub struct Place<'n> {
    pub node: Option<&'n Yaml>,
    pub field: Field,
    pub path: String,
    /// Whether on the way there stands something that has no fields.
    pub blocked: bool,
    /// Whether it is an entry of one of several lists.
    pub mixed: bool,
    /// Of several lists, what stands for each of their entries.
    pub several: Vec<Variable<'n>>,
    /// Of several lists, why there may be more entries.
    pub rest: Option<Why>,
}

impl<'n> Place<'n> {
    /// What stands there, or why nothing does.
    pub fn known(&self, naive: &Naive<'n>) -> Known<&'n Yaml> {
        match self.node {
            _ if self.blocked => Err(naive.unreadable()),
            None | Some(Yaml::Null) => Err(Why::Unrecorded),
            Some(node) => Ok(node),
        }
    }

    /// The variable that stands for what is at this place.
    pub fn variable(&self, name: &str) -> Variable<'n> {
        let (node, field, path) = (self.node, self.field, self.path.clone());
        Variable { name: name.to_owned(), node, field, path, entries: None, mixed: self.mixed }
    }

    /// The variable that stands for one element of the list at this place.
    pub fn element(&self, name: &str, number: usize, node: &'n Yaml) -> Variable<'n> {
        if self.mixed {
            let any = Variable {
                name: String::new(),
                node: Some(node),
                field: Field::Record("use"),
                path: "readings[0]".to_owned(),
                entries: None,
                mixed: true,
            };
            return Variable { name: name.to_owned(), ..self.several.get(number).cloned().unwrap_or(any) };
        }
        let field = match self.field {
            Field::List(record) => Field::Record(record),
            Field::Texts(samples) => Field::Text(samples),
            other => panic!("{other:?} is no list"),
        };
        let path = format!("{}[{number}]", self.path);
        Variable { name: name.to_owned(), node: Some(node), field, path, entries: None, mixed: false }
    }
}

impl<'n> Naive<'n> {
    /// Why something that stands there and cannot be read is missing.
    pub fn unreadable(&self) -> Why {
        if self.is(Mutation::UnreadablePasses) { Why::Unrecorded } else { Why::Otherwise }
    }

    /// The elements of a list with its place, or why there is no list.
    pub fn list(&self, list: &'n Expr, scope: &Scope<'n>) -> (Place<'n>, Known<Vec<(usize, &'n Yaml)>>) {
        if let ExprKind::Path(names) = &list.kind
            && let [name] = names.as_slice()
            && let Some(group) = scope.iter().rfind(|variable| variable.name == name.node)
            && let Some((place, entries)) = &group.entries
        {
            return (Place::clone(place), Ok(entries.clone()));
        }
        if let Some(Ok((Expr { kind: ExprKind::EntriesOf(lists), .. }, _))) = self.definition(list, scope) {
            let place = self.several(lists);
            let entries = place.several.iter().enumerate();
            let entries = entries.filter_map(|(number, entry)| Some((number, entry.node?))).collect();
            return (place, Ok(entries));
        }
        let place = self.place(list, scope);
        let elements = place.known(self).and_then(|node| match node {
            Yaml::Sequence(elements) => Ok(elements.iter().enumerate().collect()),
            _ => Err(self.unreadable()),
        });
        (place, elements)
    }

    /// The entries of several lists. A group of fields that is not recorded is none, and of a list that is not recorded
    /// nobody knows how many it has.
    fn several(&self, lists: &'n [Expr]) -> Place<'n> {
        let (mut several, mut rest) = (Vec::new(), None);
        for list in lists {
            let place = self.place(list, &Scope::new());
            let is_group = matches!(place.field, Field::Record(_));
            match place.known(self) {
                Ok(Yaml::Sequence(entries)) if !is_group => {
                    several
                        .extend(entries.iter().enumerate().map(|(at, entry)| place.element("", at, entry)));
                }
                Ok(Yaml::Mapping(_)) if is_group => several.push(place.variable("")),
                Ok(_) => rest = rest.max(Some(self.unreadable())),
                Err(Why::Unrecorded) if is_group && !self.is(Mutation::GroupOfSeveralIsWanted) => {}
                Err(_) if self.is(Mutation::UnrecordedListOfSeveralHasNothing) => {}
                Err(why) => rest = rest.max(Some(why)),
            }
        }
        several.iter_mut().for_each(|entry: &mut Variable<'n>| entry.mixed = true);
        if self.is(Mutation::SeveralListsAreTheFirst) {
            several.truncate(1);
        }
        let (field, path) = (Field::List("use"), String::new());
        Place { node: None, field, path, blocked: false, mixed: true, several, rest }
    }

    pub fn place(&self, path: &'n Expr, scope: &Scope<'n>) -> Place<'n> {
        let ExprKind::Path(names) = &path.kind else { panic!("{path:?} is no path") };
        let variable = names.first().and_then(|name| scope.iter().rfind(|v| v.name == name.node));
        let (mut place, rest) = match variable {
            Some(v) => {
                let (node, field, path) = (v.node, v.field, v.path.clone());
                let (several, rest) = (Vec::new(), None);
                let at = Place { node, field, path, blocked: false, mixed: v.mixed, several, rest };
                (at, &names[1..])
            }
            None => {
                let root = Field::Record("root");
                let path = String::new();
                let (node, several, rest) = (Some(self.record), Vec::new(), None);
                let at = Place { node, field: root, path, blocked: false, mixed: false, several, rest };
                (at, &names[..])
            }
        };
        for name in rest {
            let Field::Record(record) = place.field else { panic!("{} has no fields", place.path) };
            // What the entries of one list cannot have is what it is in those of the others.
            let of_others = || field("use", &name.node).filter(|_| place.mixed);
            let own = field(record, &name.node).or_else(of_others);
            let point = if place.path.is_empty() { "" } else { "." };
            let blocks = |node: &Yaml| !matches!(node, Yaml::Mapping(_) | Yaml::Null);
            place = Place {
                blocked: place.blocked || place.node.is_some_and(blocks),
                node: place.node.and_then(|node| node.get(name.node.as_str())),
                field: own.unwrap_or_else(|| panic!("{} has no {}", place.path, name.node)),
                path: format!("{}{point}{}", place.path, name.node),
                mixed: false,
                several: Vec::new(),
                rest: None,
            };
        }
        place
    }

    /// Whether one entry comes before or after another; nothing where the two are no entries.
    pub fn in_order(
        &self,
        comparison: Comparison,
        a: &'n Expr,
        b: &'n Expr,
        scope: &Scope<'n>,
    ) -> Option<Told> {
        let (ExprKind::Path(_), ExprKind::Path(_)) = (&a.kind, &b.kind) else { return None };
        let (a, b) = (self.place(a, scope), self.place(b, scope));
        let time = |entry: &Place<'n>| match entry.field {
            Field::Record(record) => {
                let node = entry.node.and_then(|node| node.get(when(record)?)).filter(|node| !node.is_null());
                Some(node.map(|node| self.scalar(node, Field::Moment)))
            }
            _ => None,
        };
        let (time_a, time_b) = (time(&a)?, time(&b)?);
        let number = |entry: &Place<'n>| {
            let (list, number) = entry.path.strip_suffix(']')?.rsplit_once('[')?;
            Some((list.to_owned(), number.parse::<usize>().ok()?))
        };
        let listed = match (number(&a), number(&b)) {
            (Some((one, x)), Some((other, y))) if one == other => Some(x.cmp(&y)),
            _ => None,
        };
        let why = |time: &Option<Option<Value>>| match time {
            None => Some(Why::Unrecorded),
            Some(None) => Some(self.unreadable()),
            Some(Some(_)) => None,
        };
        let why = why(&time_a).max(why(&time_b)).unwrap_or(Why::Otherwise);
        let order = match (time_a, time_b) {
            (Some(Some(Value::Moment(x))), Some(Some(Value::Moment(y)))) if x != y => Some(x.cmp(&y)),
            (Some(Some(_)), Some(Some(_))) => Some(listed.unwrap_or(std::cmp::Ordering::Equal)),
            (None, None) if !self.is(Mutation::ListOrderIsForgotten) => listed,
            (None, Some(_)) | (Some(_), None) if self.is(Mutation::OneTimeIsEnough) => listed,
            _ => None,
        };
        Some(match order {
            None => Told::unknown(why),
            Some(order) if comparison == Comparison::Before => Told::of(order.is_lt()),
            Some(order) => Told::of(order.is_gt()),
        })
    }

    /// The let, parameter or table of this name, unless it is a variable.
    pub fn named(&self, names: &[Name], scope: &Scope<'n>) -> Option<&'n Item> {
        let [name] = names else { return None };
        if scope.iter().any(|variable| variable.name == name.node) {
            return None;
        }
        self.file.items.iter().find(|item| match item {
            Item::Let(named) => named.name.node == name.node,
            Item::Parameter(named) => named.name.node == name.node,
            Item::Table(named) => named.name.node == name.node,
            _ => false,
        })
    }

    /// The parameter that is meant, and the variables that it sees; nothing for what is no parameter.
    pub fn parameter_of(
        &self,
        expr: &'n Expr,
        scope: &Scope<'n>,
    ) -> Option<Known<(&'n Parameter, Scope<'n>)>> {
        let (names, entry) = match &expr.kind {
            ExprKind::Path(names) => (names.as_slice(), None),
            ExprKind::Of { name, entry } => (std::slice::from_ref(name), Some(entry)),
            _ => return None,
        };
        let outer = if entry.is_some() { &Scope::new() } else { scope };
        let Item::Parameter(parameter) = self.named(names, outer)? else { return None };
        let own = entry.zip(parameter.entries.as_ref()).map(|(entry, entries)| {
            let place = self.place(entry, scope);
            place.known(self).map(|_| vec![place.variable(&entries.variable.node)])
        });
        Some(own.unwrap_or(Ok(Scope::new())).map(|scope| (parameter, scope)))
    }

    pub fn parameter(&self, parameter: &'n Parameter, scope: &Scope<'n>) -> Known<Value> {
        if let Some(from) = parameter.from.as_ref().filter(|_| !self.is(Mutation::FieldIsPassedOver)) {
            match self.place(from, scope).known(self) {
                Ok(_) => return self.value(from, scope),
                Err(Why::Unrecorded) => {}
                Err(why) => return Err(why),
            }
        }
        let stated = self.statement(parameter, scope)?;
        match stated.filter(|stated| stated.faulty || !self.is(Mutation::GivenIsPassedOver)) {
            Some(stated) if stated.faulty => Err(Why::Otherwise),
            Some(stated) => Ok(of_kind(parameter, self.given(parameter, &stated.text))),
            None => {
                let default = parameter.default.as_ref();
                let default = default.filter(|_| !self.is(Mutation::DefaultIsPassedOver));
                let passes = self.is(Mutation::UnstatedPasses);
                let unstated = if passes { Why::Unrecorded } else { Why::Otherwise };
                let value = self.value(default.ok_or(unstated)?, &Scope::new());
                value.map(|value| of_kind(parameter, value))
            }
        }
    }

    /// What the run states for a parameter: of the rows that fit, the one with the first key in which they differ.
    pub fn statement(&self, parameter: &'n Parameter, scope: &Scope<'n>) -> Known<Option<&'n Stated>> {
        let passed_over = |stated: &&Stated| {
            let misspelt = stated.name != stated.parameter;
            stated.faulty
                && (self.is(Mutation::FaultyParameterIsItsDefault)
                    || (misspelt && self.is(Mutation::MisspeltParameterIsPassedOver)))
        };
        let own = self.givens.iter().filter(|stated| stated.parameter == parameter.name.node);
        let mut rows: Vec<&Stated> = own.filter(|stated| !passed_over(stated)).collect();
        for (number, key) in parameter.keys.iter().enumerate() {
            let asks = |row: &&Stated| row.keys.get(number).is_some_and(Option::is_some);
            if !rows.iter().any(asks) || self.is(Mutation::KeyIsForgotten) {
                continue;
            }
            let key = self.value(key, scope)?;
            rows.retain(|row| match row.keys.get(number) {
                Some(Some(text)) => key.equals(&Value::Text(text.clone())),
                Some(None) | None => true,
            });
        }
        let rank = |row: &&Stated| -> Vec<u8> {
            let rank =
                |number| row.keys.get(number).map_or(2, |key: &Option<String>| u8::from(key.is_none()));
            (0..parameter.keys.len()).map(rank).collect()
        };
        Ok(rows.into_iter().min_by_key(rank))
    }

    fn given(&self, parameter: &Parameter, text: &str) -> Value {
        let kind = parameter.kind.node.as_str();
        let read = |text: &str| {
            let (figure, rest) = decimal(text.trim()).expect("a figure that the generator wrote");
            match rest.trim() {
                "" => Amount::number(figure),
                unit => Amount::new(&figure, unit_called(unit).expect("a unit that the generator wrote")),
            }
        };
        if parameter.words {
            return Value::Words(text.split(',').map(|word| word.trim().to_owned()).collect());
        }
        match (kind, text.split_once("..")) {
            ("truth", _) => Value::Truth(text == "yes"),
            ("text", _) => Value::Text(text.trim_matches('"').to_owned()),
            (_, Some((low, high))) => {
                let (low, high) = (read(low), read(high));
                Value::Range(self.range(RangeForm::Between(low, high)).expect("ends in their order"))
            }
            _ => Value::Amount(read(text)),
        }
    }

    pub fn row(&self, table: &'n Table, keys: &'n [Expr], scope: &Scope<'n>) -> Known<Value> {
        let keys = all(keys.iter().map(|key| self.value(key, scope)))?;
        let fits = |key: &Value, text: &String| key.equals(&Value::Text(text.clone()));
        let row = table.rows.iter().find(|row| {
            self.is(Mutation::TableTakesItsFirstRow)
                || row.keys.iter().zip(&keys).all(|(text, key)| fits(key, &text.node))
        });
        let passes = self.is(Mutation::NoRowPasses);
        let none = if passes { Why::Unrecorded } else { Why::Otherwise };
        self.value(&row.ok_or(none)?.value, &Scope::new())
    }

    /// What a scalar of the record is worth as this field; nothing when it is empty or not of its form.
    pub fn scalar(&self, node: &Yaml, field: Field) -> Option<Value> {
        let text = match node {
            Yaml::String(text) => text.clone(),
            Yaml::Number(number) => number.to_string(),
            Yaml::Bool(truth) => truth.to_string(),
            _ => return None,
        };
        match field {
            Field::Amount(measure) => {
                let amount = self.measured(&text, measure)?;
                let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || "-−.".contains(c)).trim();
                let unit = unit_called(unit).map_or(unit, |unit| unit.spellings[0]);
                Some(Value::Amount(self.spoilt(amount, unit)))
            }
            Field::Text(_) => Some(Value::Text(text)),
            Field::Word(words) => words.contains(&text.as_str()).then_some(Value::Text(text)),
            Field::Truth => match text.as_str() {
                "yes" | "true" => Some(Value::Truth(true)),
                "no" | "false" => Some(Value::Truth(false)),
                _ => None,
            },
            Field::Count | Field::Number => {
                let (number, rest) = decimal(&text)?;
                rest.is_empty().then(|| Value::Amount(Amount::number(number)))
            }
            Field::Moment => self.moment(&text).map(Value::Moment),
            Field::Record(_) | Field::List(_) | Field::Texts(_) => None,
        }
    }

    /// A reading, and what the mutations make of the zero of a pressure.
    fn measured(&self, text: &str, measure: Measure) -> Option<Amount> {
        let other = match measure {
            Measure::Gauge => Measure::Absolute,
            Measure::Absolute => Measure::Gauge,
            _ => return reading(text, measure),
        };
        if self.is(Mutation::BareUnitIsRefused) && reading(text, Measure::Pressure).is_some() {
            return None;
        }
        let mixed = self.is(Mutation::GaugeStandsForAbsolute).then(|| reading(text, other)).flatten();
        reading(text, measure).or(mixed)
    }

    /// `2026-03-02T08:15:00+01:00`, or without the offset in UTC, which is the zone of these tests.
    pub fn moment(&self, text: &str) -> Option<i64> {
        let number = |from: usize, to: usize| text.get(from..to)?.parse::<i64>().ok();
        let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
        let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
        // Only days of one year are compared, so months are counted from its beginning.
        let months = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        let before: i64 = months.iter().take(usize::try_from(month).ok()? - 1).sum();
        let local = (((year * 365 + before + day) * 24 + hour) * 60 + minute) * 60 + second;
        let offset = match text.get(19..)? {
            "" | "Z" => 0,
            _ if self.is(Mutation::OffsetFromUtcIsLost) => 0,
            _ => {
                let sign = if text.get(19..20)? == "-" { -1 } else { 1 };
                sign * (number(20, 22)? * 60 + number(23, 25)?) * 60
            }
        };
        Some(local - offset)
    }
}

/// The value of a parameter, whose declaration says what a bare unit is.
fn of_kind(parameter: &Parameter, value: Value) -> Value {
    match value {
        Value::Amount(amount) if parameter.kind.node == Measure::Absolute.words() => {
            Value::Amount(Amount { point: true, ..amount })
        }
        other => other,
    }
}
