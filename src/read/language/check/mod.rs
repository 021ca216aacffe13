//! From syntax trees to a [`Program`]: names, types, constants. Good rules survive bad ones.

mod accepted;
mod bare;
mod closed;
mod declare;
mod definitions;
mod expression;
mod given;
mod items;
mod names;
mod parameters;
mod size;
mod successors;
mod comparability;
mod several;
mod timed;
mod times;
mod trials;
mod word_lists;

use std::borrow::Cow;
use std::cmp::Ordering;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::code::MANY_FAULTS;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{Forms, Record};
use crate::edition::Edition;
use crate::language::ast;
use crate::language::ids::{Arena, BaseId, LetId, ParameterId, RuleId, TableId};
use crate::language::naming;
use crate::language::typed::{Expr, Extent, Figure, Let, Of, Parameter, Program, Rule, Standard, Table};
use crate::language::types::Type;
use crate::source::{Place, SourceId, Span};

/// A rule file with the files it uses.
#[derive(Debug)]
pub struct Unit {
    /// Its syntax tree.
    pub file: ast::File,
    /// For each `use` item in its order, the number of the unit it names, if it could be read.
    pub uses: Vec<Option<usize>>,
    /// Whether its rules judge documents; a file that is only used by others lends its names.
    pub judges: bool,
    /// Whether its standard judges documents that are bound to no edition; an earlier edition does not.
    pub in_force: bool,
}

/// A value for a parameter, from the workshop's settings or the command line.
#[derive(Clone, Debug)]
pub struct Given {
    /// The parameter, with its standard (`wheel_refit.wheel_nut`) or without.
    pub name: String,
    /// The keys for which it is stated, where its value differs by fields: nothing in place of one is `every other`.
    pub keys: Vec<GivenKey>,
    /// Its value, as written.
    pub text: String,
    /// The entries of a value that is written as a list, each with its place.
    pub list: Option<Vec<(String, Place)>>,
    /// Where it is written.
    pub place: Place,
    /// What is known of it apart from the standards of this run: settings speak of all standards of a workshop,
    /// and a run can be of some of them.
    pub elsewhere: Elsewhere,
}

/// A key for which a value is stated.
#[derive(Clone, Debug)]
pub struct GivenKey {
    /// The text of its field; nothing for `every other`.
    pub text: Option<String>,
    /// Where it is written.
    pub place: Place,
}

/// What is known of the name of a parameter apart from the standards of the run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Elsewhere {
    /// Nothing.
    #[default]
    Nothing,
    /// The standard that it names.
    Standard,
    /// The parameter.
    Parameter,
}

/// Checks rule files against the forms of the documents they judge. What is wrong with one item
/// is reported and that item is left out; all others are in the program.
#[must_use]
pub fn check(units: &[Unit], forms: &Forms, givens: &[Given]) -> (Program, Vec<Diagnostic>) {
    let mut checker = Checker::new(units, forms);
    checker.declare_all();
    checker.resolve_all(givens);
    for (number, unit) in units.iter().enumerate() {
        if unit.judges {
            checker.standard(number);
        }
    }
    checker.finish()
}

/// What a name in a rule file stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Meaning {
    Let(LetId),
    Parameter(ParameterId),
    Table(TableId),
    /// A record that trials share, which is no value.
    Base(BaseId),
    /// It exists and a mistake in it was reported.
    Mistaken,
}

/// A declared name: what it means and where it was declared.
#[derive(Clone, Copy, Debug)]
struct Declared {
    meaning: Meaning,
    place: Place,
}

/// How far a let or a table has come; they may stand in any order and build on each other.
#[derive(Debug)]
enum Progress<T> {
    Waiting,
    /// Being checked: meeting it again is a circle.
    UnderWay,
    Done(T),
    Mistaken,
}

/// After how many mistakes the check ends.
const MOST_MISTAKES: usize = 500;

/// How many lets and tables may build on each other in a chain.
const CHAIN: usize = 64;

/// What a rule file says of its standard.
struct Head<'a> {
    name: Option<&'a str>,
    /// The form of the documents that it judges.
    form: &'a str,
}

impl<'a> Head<'a> {
    /// A file without a standard speaks of jobs.
    fn of(unit: &'a Unit) -> Self {
        let standards = unit.file.items.iter().filter_map(|item| match item {
            ast::Item::Standard(standard) => Some(standard),
            _ => None,
        });
        let name = standards.clone().next().map(|standard| standard.name.node.as_str());
        let form = standards.filter_map(|standard| standard.judges.as_ref()).next();
        Head { name, form: form.map_or("job", |name| name.node.as_str()) }
    }
}

struct Checker<'a> {
    units: &'a [Unit],
    /// What each unit says of its standard.
    heads: Vec<Head<'a>>,
    forms: &'a Forms,
    /// The names that each unit declares or uses.
    names: Vec<HashMap<&'a str, Declared>>,
    /// The same names by what they look like.
    looks: Vec<HashMap<Cow<'a, str>, (&'a str, Place)>>,
    lets: Arena<LetId, (usize, &'a ast::Let, Progress<Let>)>,
    tables: Arena<TableId, (usize, &'a ast::Table, Progress<Table>)>,
    parameters: Arena<ParameterId, Parameter>,
    bases: Arena<BaseId, (usize, &'a ast::Base)>,
    standards: Vec<Standard>,
    rules: Arena<RuleId, Rule>,
    /// How many expressions came out [`Type::Mistaken`].
    mistaken: usize,
    chain: usize,
    /// The figures that the rule at hand uses.
    figures: Vec<Figure>,
    /// The figures that anything names.
    named: HashSet<Figure>,
    diagnostics: Vec<Diagnostic>,
    /// How many errors were found.
    errors: usize,
    /// Whether there were more than are listed.
    ended: bool,
    /// Whether an expression follows a link to another document, and to an earlier job.
    links: bool,
    history: bool,
    /// The full names of the rules so far, with their places.
    rule_names: HashMap<(usize, Cow<'a, str>), (&'a str, Place)>,
    /// Where each word of a list of words is written, by the place of the list.
    word_places: HashMap<Place, Vec<Span>>,
    /// Texts that are in no closed list with which they are compared, each reported once.
    wrong_words: HashSet<(Option<Place>, String)>,
}

impl<'a> Checker<'a> {
    fn new(units: &'a [Unit], forms: &'a Forms) -> Self {
        Checker {
            units,
            heads: units.iter().map(Head::of).collect(),
            forms,
            names: vec![HashMap::new(); units.len()],
            looks: vec![HashMap::new(); units.len()],
            lets: Arena::default(),
            tables: Arena::default(),
            parameters: Arena::default(),
            bases: Arena::default(),
            standards: Vec::new(),
            rules: Arena::default(),
            mistaken: 0,
            chain: 0,
            figures: Vec::new(),
            named: HashSet::new(),
            diagnostics: Vec::new(),
            errors: 0,
            ended: false,
            links: false,
            history: false,
            rule_names: HashMap::new(),
            word_places: HashMap::new(),
            wrong_words: HashSet::new(),
        }
    }

    /// Puts a diagnostic on the list. Past so many errors another helps nobody, and the last one says so.
    fn report(&mut self, diagnostic: Diagnostic) {
        self.errors += usize::from(diagnostic.level == Level::Error);
        match self.errors.cmp(&(MOST_MISTAKES + 1)) {
            Ordering::Less => self.diagnostics.push(diagnostic),
            Ordering::Equal if !self.ended => {
                let message = format!("more than {MOST_MISTAKES} errors were found, and the check ends here");
                self.diagnostics.extend(diagnostic.place().map(|place| {
                    Diagnostic::error(MANY_FAULTS, place, message).help("mend those above and run again")
                }));
                self.ended = true;
            }
            _ => {}
        }
    }

    fn errors(&self) -> usize {
        self.errors
    }

    /// Whether so many mistakes were found that going on would help nobody.
    fn has_enough(&self) -> bool {
        self.ended
    }

    /// How much was wrong so far. An item during whose check this grows cannot be used, even where the
    /// mistake itself stands elsewhere: in a let that the item refers to.
    fn wrong(&self) -> usize {
        self.errors() + self.mistaken
    }

    /// A fresh scope for an item of a unit.
    fn scope(&self, unit: usize) -> Scope {
        let file = self.units.get(unit).map(|unit| &unit.file);
        Scope {
            unit,
            source: file.map(|file| file.source),
            root: self.root_of(unit),
            variables: Vec::new(),
            used: HashMap::new(),
            groups: HashMap::new(),
            lets: Vec::new(),
        }
    }

    /// The record of the documents that a unit judges.
    fn root_of(&self, unit: usize) -> Option<Arc<Record>> {
        self.forms.get(self.form_of(unit)).map(|form| Arc::clone(form.record()))
    }

    /// The form of the documents that a unit judges.
    fn form_of(&self, unit: usize) -> &'a str {
        self.heads.get(unit).map_or("job", |head| head.form)
    }

    /// The name of the standard in a unit.
    fn standard_of(&self, unit: usize) -> Option<&'a str> {
        self.heads.get(unit)?.name
    }

    /// Of several editions in force, the last one is.
    fn settle_editions(&mut self) {
        let mut last: HashMap<String, Edition> = HashMap::new();
        for standard in self.standards.iter().filter(|standard| standard.in_force) {
            let edition = last.entry(standard.name.clone()).or_insert(standard.edition);
            *edition = standard.edition.max(*edition);
        }
        for standard in &mut self.standards {
            standard.in_force &= last.get(&standard.name) == Some(&standard.edition);
        }
    }

    fn finish(mut self) -> (Program, Vec<Diagnostic>) {
        self.settle_editions();
        let bases = self.records_of_trials();
        let lets = self.lets.map(|(unit, written, progress)| match progress {
            Progress::Done(done) => done,
            _ => mistaken_let(self.units, unit, written),
        });
        let tables = self.tables.map(|(unit, written, progress)| match progress {
            Progress::Done(done) => done,
            _ => mistaken_table(self.units, unit, written),
        });
        let named_by_lets = naming::of_lets(&lets);
        let mut rules = self.rules;
        for id in rules.ids() {
            rules[id].judges = naming::judges(&rules[id], &named_by_lets);
        }
        let program = Program {
            standards: self.standards,
            rules,
            lets,
            parameters: self.parameters,
            tables,
            bases,
            links: self.links,
            history: self.history,
            named_by_lets,
            named: self.named,
        };
        (program, self.diagnostics)
    }
}

// The numbers of lets and tables are their places in the program, so one with a mistake leaves a
// placeholder there; no rule that survived refers to it.

fn mistaken_let(units: &[Unit], unit: usize, written: &ast::Let) -> Let {
    let place = place_in(units, unit, written.span);
    let (name, value) = (written.name.node.clone(), expression::mistaken(place));
    Let { name, of: Of::Document, value, extent: Extent::default(), place }
}

fn mistaken_table(units: &[Unit], unit: usize, written: &ast::Table) -> Table {
    Table {
        name: written.name.node.clone(),
        keys: Vec::new(),
        rows: HashMap::new(),
        places: HashMap::new(),
        ty: Type::Mistaken,
        place: place_in(units, unit, written.span),
    }
}

fn place_in(units: &[Unit], unit: usize, span: Span) -> Place {
    Place { source: units.get(unit).map_or(SourceId::FIRST, |unit| unit.file.source), span }
}

/// What the names in an expression can refer to.
struct Scope {
    unit: usize,
    source: Option<SourceId>,
    root: Option<Arc<Record>>,
    /// The elements of lists, innermost last: name, type, number.
    variables: Vec<(String, Type, usize)>,
    /// By the number of a variable, where it was used last.
    used: HashMap<usize, Span>,
    /// The groups among the variables, by their numbers.
    groups: HashMap<usize, Group>,
    /// The names that the rule at hand gives to values.
    lets: Vec<(String, LetId)>,
}

/// A group of entries.
struct Group {
    /// The type of an entry.
    element: Type,
    /// The fields in which its entries agree.
    keys: Vec<String>,
    /// The name that stood for an entry where the group was made.
    entry: String,
}

impl Scope {
    fn place(&self, span: Span) -> Place {
        Place { source: self.source.unwrap_or(SourceId::FIRST), span }
    }

    /// Adds a variable and gives its number; it stays until [`Scope::close`] or the end of the item.
    fn open(&mut self, name: &str, ty: Type) -> usize {
        let slot = self.variables.len();
        self.variables.push((name.to_owned(), ty, slot));
        self.used.remove(&slot);
        slot
    }

    /// Takes the innermost variable out of sight.
    fn close(&mut self) {
        self.variables.pop();
    }

    fn variable(&self, name: &str) -> Option<&(String, Type, usize)> {
        self.variables.iter().rev().find(|(known, ..)| known == name)
    }
}

/// A typed expression whose value is known.
fn constant(value: crate::value::Value<'static>, place: Place, ty: Type) -> Expr {
    Expr { kind: crate::language::typed::ExprKind::Constant(value), place, ty }
}
