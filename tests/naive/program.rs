//! Generated programs: rule files in which everything fits by type, in layouts that vary.

use std::collections::HashMap;

use fastrand::Rng;

use super::expression::{ATOM, Bound, List, walk};
use super::fields::{Field, SEVERAL, paths};
use super::figures::{Measure, Ratio};

/// A rule of a program, in pieces that can be left out.
#[derive(Clone, Debug)]
pub struct RuleText {
    pub name: String,
    pub concerns: Option<String>,
    /// Names that the rule gives to values.
    pub lets: Vec<String>,
    pub demands: Vec<String>,
    /// From when, and until when, it counts.
    pub period: Option<String>,
    /// What `if unrecorded` says.
    pub unrecorded: Option<&'static str>,
}

/// What a run states for a parameter.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The parameter for which it is meant.
    pub parameter: String,
    /// The name under which it is stated.
    pub name: String,
    /// The keys for which it is stated; nothing in place of one is every other.
    pub keys: Vec<Option<String>>,
    pub text: String,
    /// Whether the name or the value has an error.
    pub faulty: bool,
}

impl Stated {
    /// A value for whatever is judged.
    pub fn plain(parameter: &str, text: String) -> Stated {
        let name = parameter.to_owned();
        Stated { parameter: name.clone(), name, keys: Vec::new(), text, faulty: false }
    }
}

/// A program in pieces.
#[derive(Clone, Debug)]
pub struct Program {
    pub condition: Option<String>,
    /// Lets, parameters and tables.
    pub items: Vec<String>,
    pub rules: Vec<RuleText>,
    /// Parameters that the run states.
    pub givens: Vec<Stated>,
    /// Limits that the program compares with, in coherent units.
    pub limits: HashMap<Measure, Vec<Ratio>>,
    /// Whether adding a value can only decide what was undecided: no `recorded`, no number of subjects.
    pub monotone: bool,
}

impl RuleText {
    /// Whether it concerns only what fits a condition.
    pub fn chooses(&self) -> bool {
        self.period.is_some() || self.concerns.as_ref().is_some_and(|concerns| concerns.contains("where"))
    }
}

impl Program {
    /// A program of one rule.
    pub fn of(rule: RuleText) -> Program {
        let (items, givens, limits) = (Vec::new(), Vec::new(), HashMap::new());
        Program { condition: None, items, rules: vec![rule], givens, limits, monotone: true }
    }

    /// The whole file. Lets may stand behind the rules that use them.
    pub fn text(&self) -> String {
        let mut text = "# Made by a generator.\nstandard probe edition 1 \"Probe\"\njudges job\n\
                        basis \"a generator\"\nconcession by \"foreman\"\n"
            .to_owned();
        if let Some(condition) = &self.condition {
            text.push_str(&format!("where {condition}\n"));
        }
        let (before, behind) = self.items.split_at(self.items.len() / 2);
        before.iter().for_each(|item| text.push_str(&format!("\n{item}\n")));
        for rule in &self.rules {
            text.push_str(&format!("\nrule {} \"Rule {}\"\n", rule.name, rule.name));
            if let Some(concerns) = &rule.concerns {
                text.push_str(&format!("  concerns {concerns}\n"));
            }
            rule.lets.iter().for_each(|named| text.push_str(&format!("  {named}\n")));
            rule.demands.iter().for_each(|demand| text.push_str(&format!("  demands {demand}\n")));
            text.push_str("  otherwise hold \"It is not so.\"\n");
            if let Some(period) = &rule.period {
                text.push_str(&format!("  {period}\n"));
            }
            if let Some(unrecorded) = rule.unrecorded {
                text.push_str(&format!("  if unrecorded {unrecorded}\n"));
            }
        }
        behind.iter().for_each(|item| text.push_str(&format!("\n{item}\n")));
        text
    }
}

/// The type of a named value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Type {
    Amount(Measure),
    Range(Measure),
    Truth,
    Text,
    Words,
}

/// A named value.
#[derive(Clone, Debug)]
pub struct Named {
    pub name: String,
    pub of: Type,
    /// The record of which it has a value each.
    pub entry: Option<&'static str>,
}

/// The state of the generator.
pub struct Writer<'r> {
    pub rng: &'r mut Rng,
    /// Lets, parameters and tables so far.
    pub named: Vec<Named>,
    /// Variables in reach.
    pub bound: Vec<Bound>,
    pub limits: HashMap<Measure, Vec<Ratio>>,
    pub monotone: bool,
    /// Whether the entries of several lists have a name.
    pub several: bool,
    pub counter: usize,
}

/// The measures of fields, parameters and tables.
pub const MEASURES: [Measure; 10] = [
    Measure::Torque,
    Measure::Temperature,
    Measure::Volume,
    Measure::Length,
    Measure::Duration,
    Measure::Angle,
    Measure::Pressure,
    Measure::Gauge,
    Measure::Absolute,
    Measure::Number,
];

/// Makes a program.
pub fn program(rng: &mut Rng) -> Program {
    let mut writer = Writer {
        rng,
        named: Vec::new(),
        bound: Vec::new(),
        limits: HashMap::new(),
        monotone: true,
        several: false,
        counter: 0,
    };
    let mut givens = Vec::new();
    let mut items = Vec::new();
    if writer.chance(12) {
        writer.several = true;
        let lists: Vec<&str> = SEVERAL.iter().map(|(list, _)| *list).collect();
        items.push(format!("let uses = entries of ({})", lists.join(", ")));
    }
    for _ in 0..writer.rng.usize(0..3) {
        items.push(writer.parameter(&mut givens));
    }
    for _ in 0..writer.rng.usize(0..2) {
        items.push(writer.table());
    }
    for _ in 0..writer.rng.usize(0..5) {
        items.push(writer.named_value());
    }
    if writer.chance(12) {
        items.extend(writer.chain());
    }
    writer.rng.shuffle(&mut items);
    let condition = (writer.rng.u8(0..8) == 0).then(|| writer.truth(1).0);
    let rules = (0..writer.rng.usize(1..5)).map(|number| writer.rule(number)).collect();
    Program { condition, items, rules, givens, limits: writer.limits, monotone: writer.monotone }
}

impl Writer<'_> {
    pub fn name(&mut self, stem: &str) -> String {
        self.counter += 1;
        format!("{stem}_{}", self.counter)
    }

    pub fn chance(&mut self, percent: u8) -> bool {
        self.rng.u8(0..100) < percent
    }

    pub fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.rng.usize(0..from.len())].clone()
    }

    /// A name for a value, perhaps of each entry of a list.
    fn named_value(&mut self) -> String {
        let name = self.name("let");
        let list = self.chance(40).then(|| self.list(false));
        let (entry, of_entries) = match list {
            Some(list) if let Field::Record(record) = list.element => {
                let variable = self.bind(&list);
                (Some(record), format!(" of {variable} in {}", list.path))
            }
            _ => (None, String::new()),
        };
        let (of, value) = self.value_by_cases();
        self.bound.clear();
        self.named.push(Named { name: name.clone(), of, entry });
        format!("let {name}{of_entries} = {value}")
    }

    /// Names that each name the one before more than once: what they come to is far longer than what is written.
    fn chain(&mut self) -> Vec<String> {
        let list = self.chance(50).then(|| self.list(false));
        let (entry, of_entries, of_entry) = match list {
            Some(list) if let Field::Record(record) = list.element => {
                let variable = self.bind(&list);
                (Some(record), format!(" of {variable} in {}", list.path), format!(" of {variable}"))
            }
            _ => (None, String::new(), String::new()),
        };
        let (of, first) = self.first_of_chain();
        let mut name = self.name("chain");
        let mut items = vec![format!("let {name}{of_entries} = {first}")];
        for _ in 0..self.rng.usize(2..4) {
            let value = self.doubled(of, &format!("({name}{of_entry})"));
            name = self.name("chain");
            items.push(format!("let {name}{of_entries} = {value}"));
        }
        self.bound.clear();
        self.named.push(Named { name, of, entry });
        items
    }

    /// The same inside a rule.
    fn chain_of_rule(&mut self) -> Vec<String> {
        let (of, first) = self.first_of_chain();
        let mut name = self.name("chain");
        let mut lets = vec![format!("let {name} = {first}")];
        for _ in 0..self.rng.usize(2..4) {
            let value = self.doubled(of, &name);
            name = self.name("chain");
            lets.push(format!("let {name} = {value}"));
        }
        self.named.push(Named { name, of, entry: None });
        lets
    }

    fn first_of_chain(&mut self) -> (Type, String) {
        // Points on a scale cannot be added.
        const ADDED: [Measure; 5] =
            [Measure::Torque, Measure::Volume, Measure::Length, Measure::Duration, Measure::Number];
        match self.chance(50) {
            true => (Type::Truth, self.truth(1).0),
            false => {
                let measure = self.pick(&ADDED);
                (Type::Amount(measure), self.amount(measure, 1).0)
            }
        }
    }

    /// A value that names another at least twice.
    fn doubled(&mut self, of: Type, before: &str) -> String {
        if self.chance(25) {
            let condition = self.truth(1).0;
            return format!("{before} where {condition}\n      = {before} otherwise");
        }
        let forms: &[&str] = match of {
            Type::Truth => &["IT and IT", "IT or not IT", "IT implies IT", "not IT or IT", "IT and not IT"],
            _ => &["IT + IT", "IT - IT", "IT + IT - IT"],
        };
        self.pick(forms).replace("IT", before)
    }

    /// A value of some kind, one time in three by cases.
    fn value_by_cases(&mut self) -> (Type, String) {
        let measure = self.pick(&MEASURES);
        let of = match self.rng.u8(0..7) {
            0 | 1 => Type::Amount(measure),
            2 | 3 => Type::Range(measure),
            6 => Type::Words,
            _ => Type::Truth,
        };
        let one = |writer: &mut Self| match of {
            Type::Amount(measure) => writer.amount(measure, 2),
            Type::Range(measure) => writer.range(measure, 1),
            Type::Words => (writer.word_list(), ATOM),
            _ => writer.truth(2),
        };
        if !self.chance(35) {
            return (of, one(self).0);
        }
        let mut text = String::new();
        for _ in 0..self.rng.usize(1..3) {
            // What goes through a list would take the condition behind it for its own.
            let condition = self.truth(1).0;
            text.push_str(&format!("({}) where {condition}\n      = ", one(self).0));
        }
        (of, format!("{text}({}) otherwise", one(self).0))
    }

    fn parameter(&mut self, givens: &mut Vec<Stated>) -> String {
        let name = self.name("limit");
        let measure = self.pick(&MEASURES);
        let (of, words, value, given) = match self.rng.u8(0..9) {
            8 => {
                let given = self.word_list().replace(['(', ')', '"'], "").replace("one of ", "");
                (Type::Words, "words of fastenings.role".to_owned(), self.word_list(), given)
            }
            0 => (Type::Truth, "truth".to_owned(), "yes".to_owned(), "no".to_owned()),
            1 => (Type::Text, "text".to_owned(), "\"A1\"".to_owned(), "sump screw".to_owned()),
            2..5 => {
                let words = format!("{} range", measure.words());
                let bare = self.chance(30);
                let default = self.bare_range(measure).filter(|_| bare);
                let given = self.bare_range(measure).filter(|_| bare);
                let default = default.unwrap_or_else(|| self.fixed_range(measure));
                let given =
                    given.filter(|text| text.contains("bar ..")).unwrap_or_else(|| self.two_ends(measure));
                (Type::Range(measure), words, default, given)
            }
            _ => {
                let words = measure.words().to_owned();
                let (default, given) = (self.either_literal(measure), self.either_literal(measure));
                (Type::Amount(measure), words, default, given)
            }
        };
        let default = if self.chance(50) { format!(" = {value}") } else { String::new() };
        let (entry, own, by, fields) = self.fields_of_parameter();
        let from = self.any_field(of);
        self.bound.clear();
        match self.rng.u8(0..100) {
            0..35 if fields.is_empty() => givens.push(Stated::plain(&name, given)),
            35..50 => givens.push(self.faulty(&name, of, given)),
            _ if !fields.is_empty() => {
                let other = match of {
                    Type::Amount(measure) => self.either_literal(measure),
                    Type::Range(measure) => self.two_ends(measure),
                    _ => given.clone(),
                };
                let texts = [given, other];
                for _ in 0..self.rng.usize(0..4) {
                    let keys: Vec<Option<String>> = self.keys(&fields);
                    if !givens.iter().any(|other| other.parameter == name && other.keys == keys) {
                        let text = self.pick(&texts).trim_matches('"').to_owned();
                        givens.push(Stated { keys, ..Stated::plain(&name, text) });
                    }
                }
            }
            _ => {}
        }
        self.named.push(Named { name: name.clone(), of, entry });
        format!("parameter {name} is {words}{own}{by} \"Limit {name}\"{from}{default}")
    }

    /// The entries of which a parameter has a value each, and the fields by which it differs.
    fn fields_of_parameter(&mut self) -> (Option<&'static str>, String, String, Vec<&'static str>) {
        let own = if self.chance(30) { Some("fastenings") } else { None };
        let mut fields = Vec::new();
        if self.chance(40) {
            fields.push("unit.family");
        }
        let entries = own.map(|list| {
            let list = List { path: list.to_owned(), element: Field::Record("fastening") };
            let variable = self.bind(&list);
            format!(" of {variable} in {}", list.path)
        });
        let role = self.bound.first().map(|bound| format!("{}.role", bound.name));
        let mut paths: Vec<String> = fields.iter().map(|field| (*field).to_owned()).collect();
        if let Some(role) = role.filter(|_| self.chance(60)) {
            fields.push("role");
            paths.push(role);
        }
        let by = if paths.is_empty() { String::new() } else { format!(" by {}", paths.join(", ")) };
        (own.map(|_| "fastening"), entries.unwrap_or_default(), by, fields)
    }

    /// A field that goes before what is stated, some of the time.
    fn any_field(&mut self, of: Type) -> String {
        let Type::Amount(measure) = of else { return String::new() };
        if !self.chance(15) {
            return String::new();
        }
        // What is recorded later goes before what counted until then.
        self.monotone = false;
        let path = self.reach(|field| field == Field::Amount(measure));
        path.map_or(String::new(), |path| format!(" from {path}"))
    }

    /// Keys for the first of these fields.
    fn keys(&mut self, fields: &[&'static str]) -> Vec<Option<String>> {
        let number = self.rng.usize(1..fields.len() + 1);
        let key = |writer: &mut Self, field: &str| {
            let texts: &[&str] = match field {
                "role" => &["sump screw", "drain plug"],
                _ => &["six speed", "eight speed"],
            };
            let text = writer.pick(texts);
            writer.chance(70).then(|| text.to_owned())
        };
        fields.iter().take(number).map(|field| key(self, field)).collect()
    }

    /// A list of some of the words that texts of records have.
    fn word_list(&mut self) -> String {
        let mut words =
            ["sump screw", "wheel nut", "drain plug", "A1", "six speed", "P", "Belt 5", "sump", "other"];
        self.rng.shuffle(&mut words);
        let some: Vec<String> =
            words.iter().take(self.rng.usize(1..5)).map(|word| format!("{word:?}")).collect();
        format!("one of ({})", some.join(", "))
    }

    /// A statement with an error: the name misspelt, or a value of another kind, without its unit, or with
    /// its limits the wrong way round.
    fn faulty(&mut self, name: &str, of: Type, good: String) -> Stated {
        let stated = |name: String, text: String| Stated {
            parameter: name.replace("limt", "limit"),
            name,
            keys: Vec::new(),
            text,
            faulty: true,
        };
        match (of, self.rng.u8(0..3)) {
            (Type::Text | Type::Words, _) | (_, 0) => stated(name.replace("limit", "limt"), good),
            (Type::Range(Measure::Torque), 1) => stated(name.to_owned(), "50 Nm .. 40 Nm".to_owned()),
            (Type::Range(Measure::Number) | Type::Amount(Measure::Number), 1) => {
                stated(name.to_owned(), "seven".to_owned())
            }
            (Type::Range(_) | Type::Amount(_), 1) => stated(name.to_owned(), "45".to_owned()),
            _ => stated(name.to_owned(), "7 A/m".to_owned()),
        }
    }

    fn table(&mut self) -> String {
        let name = self.name("table");
        let measure = self.pick(&MEASURES);
        let ranges = self.chance(50);
        let families = ["six speed", "eight speed"];
        let kinds = ["engine", "twin clutch"];
        let (head, keys): (&str, Vec<String>) = match self.rng.u8(0..3) {
            0 => ("unit.family", families.iter().map(|f| format!("{f:?}")).collect()),
            1 => ("unit.kind", kinds.iter().map(|k| format!("{k:?}")).collect()),
            _ => {
                let pairs = families.iter().flat_map(|f| kinds.iter().map(move |k| format!("{f:?}, {k:?}")));
                ("unit.family, unit.kind", pairs.collect())
            }
        };
        let mut text = format!("table {name} by {head}");
        for key in keys {
            let value = if ranges { self.fixed_range(measure) } else { self.literal(measure) };
            text.push_str(&format!("\n  {key} : {value}"));
        }
        let of = if ranges { Type::Range(measure) } else { Type::Amount(measure) };
        self.named.push(Named { name, of, entry: None });
        text
    }

    fn rule(&mut self, number: usize) -> RuleText {
        let concerns = self.concerns();
        let known = self.named.len();
        let mut lets: Vec<String> = (0..self.rng.usize(0..3) / 2).map(|_| self.let_of_rule()).collect();
        if self.chance(6) {
            lets.extend(self.chain_of_rule());
        }
        let demands = (0..self.rng.usize(1..3)).map(|_| self.truth(3).0).collect();
        self.bound.clear();
        self.named.truncate(known);
        let unrecorded = match self.rng.u8(0..10) {
            0..5 => Some("pass"),
            5 => Some(self.pick(&["advice", "note", "hold"])),
            _ => None,
        };
        RuleText {
            name: format!("rule_{number}"),
            concerns,
            lets,
            demands,
            period: self.period(),
            unrecorded,
        }
    }

    fn let_of_rule(&mut self) -> String {
        let name = self.name("let");
        let (of, value) = self.value_by_cases();
        self.named.push(Named { name: name.clone(), of, entry: None });
        format!("let {name} = {value}")
    }

    /// Clauses that say on which days a rule counts.
    fn period(&mut self) -> Option<String> {
        let day = |writer: &mut Self| writer.pick(&["2026-03-01", "2026-03-02", "2026-03-03"]);
        match self.rng.u8(0..20) {
            0 => Some(format!("from {}", day(self))),
            1 => Some(format!("until {}", day(self))),
            2 => Some(format!("from 2026-03-01\n  until {}", day(self))),
            _ => None,
        }
    }

    /// The clause `concerns`, whose variables stay in reach.
    fn concerns(&mut self) -> Option<String> {
        match self.rng.u8(0..10) {
            0..2 => None,
            2..4 => Some(format!("where {}", self.truth(2).0)),
            _ => {
                let depth = self.rng.usize(1..3);
                let eaches: Vec<String> = (0..depth).map(|number| self.each(number > 0)).collect();
                Some(eaches.join(",\n           "))
            }
        }
    }

    /// The same for groups, where the entries have something in which they can agree.
    fn grouped(&mut self, name: &str, each: &str, record: &'static str) -> Option<String> {
        let fits = |field| matches!(field, Field::Text(_) | Field::Word(_) | Field::Truth | Field::Count);
        let fields = paths(record, &fits);
        if fields.is_empty() {
            return None;
        }
        // An entry more makes another group of two.
        self.monotone = false;
        let keys: Vec<String> = (0..self.rng.usize(1..3)).map(|_| self.pick(&fields)).collect();
        let group = self.name("g");
        let by: Vec<String> = keys.iter().map(|key| format!("{name}.{key}")).collect();
        self.bound.pop();
        self.bound.push(Bound { name: group.clone(), field: Field::List(record) });
        let named = keys.iter().map(|key| Bound { name: format!("{group}.{key}"), field: walk(record, key) });
        self.bound.extend(named);
        let each = each.strip_prefix("each ")?;
        Some(format!("each {group} of {each} by {}", by.join(", ")))
    }

    fn each(&mut self, inner: bool) -> String {
        let list = self.list(inner);
        let name = self.bind(&list);
        let mut text = format!("each {name} in {}", list.path);
        if self.chance(70) {
            let gap = self.gap();
            text.push_str(&format!("{gap}where {}", self.truth(2).0));
        }
        if let Field::Record(record) = list.element
            && self.chance(25)
            && let Some(grouped) = self.grouped(&name, &text, record)
        {
            text = grouped;
        }
        if self.chance(35) {
            self.monotone = false;
            let words = self.pick(&["at least", "at most", "exactly"]);
            text.push_str(&format!(", {words} {}", self.rng.u8(0..4)));
            if self.chance(30) {
                text.push_str(" otherwise \"Another number.\"");
            }
        }
        text
    }
}
