//! A checked program: every name resolved, every type right, every constant computed.
//!
//! Only [`crate::language::check`] makes a [`Program`], so whatever can be evaluated is well typed.

mod lists;
mod marks;
mod parameter;
mod parts;
mod trial;

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use jiff::civil::Date;

use crate::diagnostic::Fault;
use crate::document::{Link, Record};
use crate::edition::Edition;
use crate::language::ast::Unrecorded;
use crate::language::ast::{
    Aggregate, Arithmetic, Case, Comparison, Count, Logic, Quantifier, RangeForm, Severity, Timed,
};
use crate::language::builtins::Builtin;
use crate::language::ids::{Arena, BaseId, Ids, LetId, ParameterId, RuleId, TableId};
use crate::language::naming::Names;
use crate::language::types::Type;
use crate::metrology::conformity::DecisionRule;
use crate::quantity::{Quantity, Range};
use crate::source::{Place, Span};
use crate::value::Value;

pub use marks::{Accepted, Figure, LeftOut};
pub use parameter::{FaultyValue, MOST_KEYS, Parameter, Stated, StatedByKey};
pub use trial::{Base, Change, Given, Start, Trial};

/// Standards and their rules, ready to judge documents. Building one is serial; judging with it
/// needs only a shared reference, so threads can share it.
#[derive(Clone, Debug, Default)]
pub struct Program {
    pub(in crate::language) standards: Vec<Standard>,
    pub(in crate::language) rules: Arena<RuleId, Rule>,
    pub(in crate::language) lets: Arena<LetId, Let>,
    pub(in crate::language) parameters: Arena<ParameterId, Parameter>,
    pub(in crate::language) tables: Arena<TableId, Table>,
    pub(in crate::language) bases: Arena<BaseId, Base>,
    pub(in crate::language) links: bool,
    pub(in crate::language) history: bool,
    pub(in crate::language) named_by_lets: Arena<LetId, Names>,
    pub(in crate::language) named: HashSet<Figure>,
}

impl Program {
    /// Whether any rule asks for documents around the one that it judges.
    #[must_use]
    pub fn asks_around(&self) -> bool {
        self.links
    }

    /// Whether any rule asks for earlier jobs on the same vehicle.
    #[must_use]
    pub fn asks_history(&self) -> bool {
        self.history
    }

    /// The standards, in the order in which they were given.
    #[must_use]
    pub fn standards(&self) -> &[Standard] {
        &self.standards
    }

    /// All rules, standard by standard, in the order in which they were written.
    #[must_use]
    pub fn rules(&self) -> &Arena<RuleId, Rule> {
        &self.rules
    }

    /// The named values.
    #[must_use]
    pub fn lets(&self) -> &Arena<LetId, Let> {
        &self.lets
    }

    /// The limits that maker or workshop state.
    #[must_use]
    pub fn parameters(&self) -> &Arena<ParameterId, Parameter> {
        &self.parameters
    }

    /// The tables.
    #[must_use]
    pub fn tables(&self) -> &Arena<TableId, Table> {
        &self.tables
    }

    /// Whether anything names a declared figure.
    #[must_use]
    pub fn is_named(&self, figure: Figure) -> bool {
        self.named.contains(&figure)
    }

    /// The records that trials share.
    #[must_use]
    pub fn bases(&self) -> &Arena<BaseId, Base> {
        &self.bases
    }

    /// The rules of a standard by which documents are judged.
    #[must_use]
    pub fn rules_of(&self, standard: &Standard) -> impl DoubleEndedIterator<Item = (RuleId, &Rule)> {
        self.all_rules_of(standard).filter(|(_, rule)| rule.left_out.is_none())
    }

    /// The same with those that are left out.
    #[must_use]
    pub fn all_rules_of(&self, standard: &Standard) -> impl DoubleEndedIterator<Item = (RuleId, &Rule)> {
        standard.rules.clone().map(|id| (id, &self.rules[id]))
    }
}

/// The head of a standard.
#[derive(Clone, Debug)]
pub struct Standard {
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Edition,
    /// From which day on the edition holds, where that is stated.
    pub from: Option<Date>,
    /// Its title.
    pub title: String,
    /// Whether it judges documents that are bound to no edition: the last edition that is not put among
    /// the earlier ones.
    pub in_force: bool,
    /// The form of document it judges, without a version: `job`.
    pub form: String,
    /// Which documents it applies to.
    pub condition: Option<Expr>,
    /// Where that condition is written, or the standard's name when it has none.
    pub place: Place,
    /// The numbers of its rules.
    pub(in crate::language) rules: Ids<RuleId>,
}

impl Standard {
    /// `name edition N`.
    #[must_use]
    pub fn full_name(&self) -> String {
        format!("{} edition {}", self.name, self.edition)
    }
}

/// A rule.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Its full name, `standard.rule`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What it is about.
    pub concerns: Concerns,
    /// What it demands.
    pub demands: Vec<Expr>,
    /// How severe a broken demand is.
    pub severity: Severity,
    /// What is then said.
    pub message: Vec<Part>,
    /// What to do.
    pub remedy: Option<String>,
    /// Why it matters.
    pub because: Option<String>,
    /// The source of its figures, by itself or by the head of the standard.
    pub basis: Option<String>,
    /// Who may grant a concession, by itself or by the head of the standard; `None` where neither says, empty for `never`.
    pub concession: Option<Vec<String>>,
    /// Its clauses that say what the head of the standard says for it already.
    pub says_again: Vec<&'static str>,
    /// What missing data counts as.
    pub unrecorded: Unrecorded,
    /// When it counts, by the day on which a job was opened; always when absent.
    pub period: Option<Expr>,
    /// The full names of the rules that it takes the place of.
    pub replaces: Vec<String>,
    /// Where the settings change it.
    pub changed: Option<Place>,
    /// Why nothing is judged by it, where the settings say so.
    pub left_out: Option<LeftOut>,
    /// Where the clause about missing data is, if it has one.
    pub unrecorded_at: Option<Place>,
    /// Which advice about it is accepted.
    pub accepted: Vec<Accepted>,
    /// Its trials.
    pub trials: Vec<Trial>,
    /// Whether a demand, or a number of subjects that it wants, names a value that some rule must judge.
    pub judges: bool,
    /// The lets, parameters and tables that it uses, in the order of their first use.
    pub figures: Vec<Figure>,
    /// The whole rule.
    pub place: Place,
    /// Its name, where it is written.
    pub name_place: Place,
}

/// What a rule is about.
#[derive(Clone, Debug)]
pub enum Concerns {
    /// The whole document, where the condition holds.
    Document(Option<Expr>),
    /// The elements of nested lists.
    Each(Vec<Each>),
}

/// `each x in LIST …` or `each group of x in LIST … by KEY, …`.
#[derive(Clone, Debug)]
pub struct Each {
    /// The name that stands for each element or group.
    pub variable: String,
    /// The number of that variable. For a group it stands for its first element.
    pub slot: usize,
    /// The list.
    pub list: Expr,
    /// Which elements are subjects, or in their groups.
    pub condition: Option<Expr>,
    /// The fields in which the elements of a group agree; none where the elements themselves are the subjects.
    pub keys: Vec<Expr>,
    /// How many there must be, and where that is written.
    pub count: Option<(Count, Span)>,
    /// What is said of another number, without the variable; made up from the rest when absent.
    pub message: Option<Vec<Part>>,
    /// The whole of it.
    pub span: Span,
}

/// A part of a message.
#[derive(Clone, Debug)]
pub enum Part {
    /// Words.
    Words(String),
    /// The value of an expression.
    Value(Expr),
}

/// A named value.
#[derive(Clone, Debug)]
pub struct Let {
    /// Its name.
    pub name: String,
    /// What it is a value of.
    pub of: Of,
    /// Its value.
    pub value: Expr,
    /// What it takes to compute it.
    pub(in crate::language) extent: Extent,
    /// Where it is written.
    pub place: Place,
}

/// What a name is a value of.
#[derive(Clone, Debug)]
pub enum Of {
    /// The whole document.
    Document,
    /// Each entry of a list, or a single group of fields: the variable of the number 0.
    Entry(Arc<Record>),
    /// The entries that a rule is about at the moment, whose variables are in sight.
    Rule,
}

/// What it takes to compute an expression, with the lets that it names written out.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::language) struct Extent {
    /// How many expressions it comes to.
    pub(in crate::language) parts: usize,
    /// How deep they are nested.
    pub(in crate::language) depth: usize,
    /// Whether it goes through a list or a log, or calls a builtin.
    pub(in crate::language) heavy: bool,
    /// Whether it is computed from a count.
    pub(in crate::language) counts: bool,
    /// The variables around it that it names, one bit for each.
    pub(in crate::language) variables: u8,
}

impl Let {
    /// Whether it is cheaper to remember what it came to than to compute it again.
    #[must_use]
    pub fn is_kept(&self) -> bool {
        const FEW_PARTS: usize = 12;
        self.extent.heavy || self.extent.parts > FEW_PARTS
    }

    /// Whether it is computed from a count.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.extent.counts
    }

    /// Whether its value can be another where the variable of this number stands for another element.
    #[must_use]
    pub fn sees(&self, variable: usize) -> bool {
        matches!(self.of, Of::Rule) && self.extent.variables & bit(variable) != 0
    }
}

/// The bit of a variable.
pub(in crate::language) fn bit(variable: usize) -> u8 {
    u32::try_from(variable).ok().and_then(|number| 1_u8.checked_shl(number)).unwrap_or_default()
}

/// Keyed rows.
#[derive(Clone, Debug)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// The paths whose values are looked up when no key is given, as written.
    pub keys: Vec<Expr>,
    /// The rows.
    pub rows: HashMap<Vec<String>, Value<'static>>,
    /// Where each row is written.
    pub places: HashMap<Vec<String>, Place>,
    /// The type of its rows.
    pub ty: Type,
    /// Where it is written.
    pub place: Place,
}

/// How many variables may be in sight at once: those of `each` and of quantifiers.
pub const VARIABLES: usize = 8;

/// A typed expression.
#[derive(Clone, Debug)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Where it was written.
    pub place: Place,
    /// What it is worth.
    pub ty: Type,
}

/// The kinds of typed expression.
#[derive(Clone, Debug)]
pub enum ExprKind {
    /// A known value.
    Constant(Value<'static>),
    /// The whole document.
    Root,
    /// An element of a list, by the number of its variable.
    Variable(usize),
    /// The elements of a group, by the number of its variable.
    Group(usize),
    /// A field.
    Field {
        /// Of what.
        base: Box<Expr>,
        /// The number of the field in its record.
        index: u16,
        /// Its name.
        name: Arc<str>,
    },
    /// What a link leads to: a part of another document, or a neighbour.
    Link {
        /// From what.
        base: Box<Expr>,
        /// The link.
        link: Arc<Link>,
    },
    /// A named value, by number, and the entry of which it is the value, where it has one of each.
    Let(LetId, Option<Box<Expr>>),
    /// The entries of several lists, each a path from the root: a list whose record is a mixed one.
    Entries(Vec<Expr>),
    /// Values of which the first whose condition holds counts; the last one has none.
    Cases(Vec<Case<Expr>>),
    /// A parameter, by number, and the entry of which it is the value, where it has one of each.
    Parameter(ParameterId, Option<Box<Expr>>),
    /// The day of the run.
    AsOf,
    /// A table, by number, and its keys.
    Lookup {
        /// The number of the table.
        table: TableId,
        /// One key for each of the table's.
        keys: Vec<Expr>,
    },
    /// A builtin.
    Call {
        /// Which.
        builtin: &'static Builtin,
        /// Its arguments.
        arguments: Vec<Expr>,
    },
    /// A range whose limits are not constant.
    Range(Box<RangeForm<Expr>>),
    /// `not x`.
    Not(Box<Expr>),
    /// `−x`.
    Minus(Box<Expr>),
    /// A connective.
    Logic(Logic, Box<Expr>, Box<Expr>),
    /// Arithmetic.
    Arithmetic(Arithmetic, Box<Expr>, Box<Expr>),
    /// A comparison.
    Compare(Comparison, Box<Expr>, Box<Expr>),
    /// `before` or `after` between two entries, by the fields that say when each was or, where neither
    /// is recorded, by their places in their list.
    InOrder(Comparison, Box<Expr>, Box<Expr>),
    /// `x within RANGE`.
    Within(Box<Expr>, Box<Expr>),
    /// `x is one of (…)`.
    OneOf {
        /// The value.
        value: Box<Expr>,
        /// Whether it must not be among them.
        negated: bool,
        /// What it is compared with.
        options: Vec<Expr>,
    },
    /// `recorded path`.
    Recorded(Box<Expr>),
    /// How fast what a log holds changes.
    Rate(Box<Expr>),
    /// What is asked of logs over a stretch of time.
    Timed(Box<Timed<Expr>>),
    /// A demand with the rule by which readings with an uncertainty are decided in it.
    Decided(DecisionRule, Box<Expr>),
    /// A quantifier.
    Quantified {
        /// Which.
        quantifier: Quantifier,
        /// The number of its variable.
        slot: usize,
        /// The list.
        list: Box<Expr>,
        /// Which elements count.
        condition: Option<Box<Expr>>,
        /// What is said of them.
        body: Box<Expr>,
    },
    /// An aggregate.
    Aggregate {
        /// Which.
        aggregate: Aggregate,
        /// What is summed or compared.
        value: Option<Box<Expr>>,
        /// The number of its variable; absent for `count of LIST`.
        slot: Option<usize>,
        /// The list.
        list: Box<Expr>,
        /// Which elements count.
        condition: Option<Box<Expr>>,
    },
}

impl Expr {
    /// The variable with which a path begins.
    #[must_use]
    pub fn variable(&self) -> Option<usize> {
        match &self.kind {
            ExprKind::Variable(slot) => Some(*slot),
            ExprKind::Field { base, .. } | ExprKind::Link { base, .. } => base.variable(),
            _ => None,
        }
    }

    /// The variable of which this is the element itself, or the field that a single value in the place of the
    /// element stands for.
    #[must_use]
    pub fn element(&self) -> Option<usize> {
        match &self.kind {
            ExprKind::Variable(slot) => Some(*slot),
            ExprKind::Field { base, index, .. } => {
                let Type::Record(record) = &base.ty else { return None };
                base.element().filter(|_| record.shorthand == Some(*index))
            }
            _ => None,
        }
    }

    /// What a comparison looks at first; the expression itself where it compares nothing.
    #[must_use]
    pub fn looks_at(&self) -> &Expr {
        match &self.kind {
            ExprKind::Compare(_, value, _)
            | ExprKind::InOrder(_, value, _)
            | ExprKind::Within(value, _)
            | ExprKind::OneOf { value, .. } => value,
            _ => self,
        }
    }

    /// Whether what it compares, or asks to be recorded, is a field of the element for which a variable stands, or what
    /// a name is worth for that element.
    #[must_use]
    pub fn is_about(&self, slot: usize) -> bool {
        let is_of = |part: &Expr| match &part.kind {
            ExprKind::Let(_, Some(element)) => element.variable() == Some(slot),
            _ => part.variable() == Some(slot),
        };
        match &self.kind {
            ExprKind::Compare(_, left, right) => is_of(left) || is_of(right),
            ExprKind::Recorded(path) => is_of(path),
            _ => is_of(self.looks_at()),
        }
    }

    /// The constant quantity it is, if it is one.
    #[must_use]
    pub fn constant_quantity(&self) -> Option<&Quantity> {
        match &self.kind {
            ExprKind::Constant(Value::Quantity(quantity)) => Some(quantity),
            _ => None,
        }
    }
}

impl RangeForm<Quantity> {
    /// The range it describes.
    ///
    /// # Errors
    /// What [`Range`] refuses: limits the wrong way round, mixed kinds, a share of
    /// an offset scale.
    pub fn range(self) -> Result<Range, Fault> {
        match self {
            RangeForm::Between(low, high) => Range::between(low, high),
            RangeForm::PlusMinus(nominal, tolerance) => Range::plus_minus(nominal, tolerance),
            RangeForm::PlusAndMinus(nominal, plus, minus) => Range::plus_and_minus(nominal, plus, minus),
            RangeForm::AtLeast(limit) => Range::at_least(limit),
            RangeForm::AtMost(limit) => Range::at_most(limit),
            RangeForm::Above(limit) => Range::above(limit),
            RangeForm::Below(limit) => Range::below(limit),
        }
    }
}

impl Arithmetic {
    /// The exact result on two quantities.
    ///
    /// # Errors
    /// Kinds that do not go together, a division by zero, a result out of all proportion.
    pub fn apply(self, left: &Quantity, right: &Quantity) -> Result<Quantity, Fault> {
        match self {
            Arithmetic::Add => left.add(right),
            Arithmetic::Subtract | Arithmetic::Elapsed => left.sub(right),
            Arithmetic::Multiply => left.mul(right),
            Arithmetic::Divide => left.div(right),
        }
    }
}
