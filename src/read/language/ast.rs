//! What was written in a rule file, before names and types are looked at.

mod parts;
mod standard;
mod trial;

use jiff::civil::Date;

use crate::metrology::conformity::DecisionRule;
use crate::quantity::{Number, Quantity};
use crate::source::{SourceId, Span, Spanned};

pub use standard::Standard;
pub use trial::{Base, Change, NewValue, Start, Trial, TrialOutcome};

/// A name with its span.
pub type Name = Spanned<String>;
/// A quoted text with the span of the whole literal.
pub type Text = Spanned<String>;

/// One rule file: the items that could be read, in their order.
#[derive(Clone, Debug)]
pub struct File {
    /// The source it was read from.
    pub source: SourceId,
    /// Its items.
    pub items: Vec<Item>,
    /// Names of lets, parameters and tables that are there and could not be read: what refers to
    /// them is no second mistake.
    pub mistaken: Vec<Name>,
    /// Whether the head of the standard is there and could not be read.
    pub standard_mistaken: bool,
}

/// One item of a rule file.
#[derive(Clone, Debug)]
pub enum Item {
    /// The head of a standard.
    Standard(Standard),
    /// Another file whose lets and tables are used.
    Use(Use),
    /// A named value.
    Let(Let),
    /// A limit that the maker or the workshop states.
    Parameter(Parameter),
    /// Keyed rows.
    Table(Table),
    /// A rule.
    Rule(Box<Rule>),
    /// A record that trials share.
    Base(Base),
}

/// `use "path"`.
#[derive(Clone, Debug)]
pub struct Use {
    /// The relative path.
    pub path: Text,
}

/// `let NAME = EXPR` or `let NAME of VAR in LIST = EXPR`.
#[derive(Clone, Debug)]
pub struct Let {
    /// The whole item.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// The entries of which it has a value each; one of the whole document when absent.
    pub entries: Option<Entries>,
    /// Its value.
    pub value: Expr,
}

/// `of VAR in LIST`.
#[derive(Clone, Debug)]
pub struct Entries {
    /// The name that stands for an entry.
    pub variable: Name,
    /// The path of the list, or of a single group of fields.
    pub list: Expr,
}

/// `parameter NAME is [words of] KIND [range] [of VAR in LIST] [by KEY, …] "title" [from FIELD] [= DEFAULT]`.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// The whole item.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// The kind of quantity (`torque`, `temperature`, …), or `number`, `text`, `truth`, or the field whose
    /// type it takes (`filters.media_fitted`), as written.
    pub kind: Name,
    /// Whether a list of words is wanted.
    pub words: bool,
    /// Whether a range is wanted.
    pub range: bool,
    /// The entries of which it has a value each; one of the whole document when absent.
    pub entries: Option<Entries>,
    /// The fields by which its value differs.
    pub keys: Vec<Expr>,
    /// What it means.
    pub title: Text,
    /// The field whose value, where it is recorded, goes before what the settings state.
    pub from: Option<Expr>,
    /// The value it has when nobody states one.
    pub default: Option<Expr>,
}

/// `table NAME by KEY[, KEY…]` and its rows.
#[derive(Clone, Debug)]
pub struct Table {
    /// The whole item.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// The paths whose values are looked up.
    pub keys: Vec<Expr>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// `"key"[, "key"…] : EXPR`.
#[derive(Clone, Debug)]
pub struct Row {
    /// One text for each key of the table.
    pub keys: Vec<Text>,
    /// The value of the row.
    pub value: Expr,
}

/// A rule.
#[derive(Clone, Debug)]
pub struct Rule {
    /// The whole item.
    pub span: Span,
    /// Its name within the standard.
    pub name: Name,
    /// Its title.
    pub title: Option<Text>,
    /// What it is about; the whole document when absent.
    pub concerns: Option<Concerns>,
    /// Names for values, for the clauses below.
    pub lets: Vec<Let>,
    /// What it demands; each is judged by itself.
    pub demands: Vec<Expr>,
    /// Severity and message.
    pub otherwise: Option<Otherwise>,
    /// What to do.
    pub remedy: Option<Text>,
    /// Why it matters.
    pub because: Option<Text>,
    /// The source of its figures.
    pub basis: Option<Text>,
    /// Who may grant a concession.
    pub concession: Option<Concession>,
    /// What missing data counts as.
    pub if_unrecorded: Option<Spanned<Unrecorded>>,
    /// The first day on which it counts, by that on which a job was opened; with the whole clause.
    pub from: Option<Spanned<Date>>,
    /// The last day on which it counts.
    pub until: Option<Spanned<Date>>,
    /// The rules that it takes the place of, as written.
    pub replaces: Vec<Name>,
    /// Which advice about it is accepted, and why.
    pub accepted: Vec<Accepted>,
    /// Its trials.
    pub trials: Vec<Trial>,
}

/// `accepted WORD "reason"`.
#[derive(Clone, Debug)]
pub struct Accepted {
    /// What the advice is about, as its code says it with `_` for `-`.
    pub what: Name,
    /// Why it may stay.
    pub reason: Text,
}

/// `concerns each x in LIST where …, at least 1, each y in x.list …` or `concerns where …`.
#[derive(Clone, Debug)]
pub struct Concerns {
    /// The clause without its head word.
    pub span: Span,
    /// The nested subjects; empty for the whole document.
    pub subjects: Vec<Each>,
    /// For the whole document: when the rule concerns it.
    pub condition: Option<Expr>,
}

/// `each [GROUP of] VAR in LIST [where CONDITION] [by KEY, …] [, at least N | exactly N | at most N [otherwise "message"]]`.
#[derive(Clone, Debug)]
pub struct Each {
    /// The whole of it.
    pub span: Span,
    /// The name that stands for each element.
    pub variable: Name,
    /// The groups of elements that are the subjects; the elements themselves when absent.
    pub group: Option<Group>,
    /// The list.
    pub list: Expr,
    /// Which elements are subjects, or in their groups.
    pub condition: Option<Expr>,
    /// How many subjects there must be.
    pub count: Option<Spanned<Count>>,
    /// What is said of another number; made up from the rest when absent.
    pub message: Option<Message>,
}

/// `GROUP of … by KEY, …`.
#[derive(Clone, Debug)]
pub struct Group {
    /// The name that stands for each group.
    pub name: Name,
    /// The fields in which its entries agree.
    pub keys: Vec<Expr>,
}

/// How many subjects there must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// No fewer.
    AtLeast(u32),
    /// No more.
    AtMost(u32),
    /// As many.
    Exactly(u32),
}

/// `otherwise SEVERITY "message"`.
#[derive(Clone, Debug)]
pub struct Otherwise {
    /// How severe.
    pub severity: Spanned<Severity>,
    /// What is said.
    pub message: Message,
}

/// What a broken rule means for the vehicle. A closed list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// For the file.
    Note,
    /// Something to see to.
    Advice,
    /// The vehicle is not released.
    Hold,
}

/// A message with `{expression}` values in it.
#[derive(Clone, Debug)]
pub struct Message {
    /// The whole literal.
    pub span: Span,
    /// Its parts in their order.
    pub parts: Vec<Part>,
}

/// A part of a [`Message`].
#[derive(Clone, Debug)]
pub enum Part {
    /// Words.
    Words(String),
    /// The value of an expression.
    Value(Expr),
}

/// `concession by "role"` or `concession never`.
#[derive(Clone, Debug)]
pub enum Concession {
    /// Nobody may grant one.
    Never(Span),
    /// These roles may.
    By(Vec<Text>),
}

/// `if unrecorded WORD`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unrecorded {
    /// Counts as a finding of this severity.
    As(Severity),
    /// Is let pass.
    Pass,
}

/// An expression.
#[derive(Clone, Debug)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Where it was written.
    pub span: Span,
}

/// The kinds of expression.
#[derive(Clone, Debug)]
pub enum ExprKind {
    /// `13`, `1.25`.
    Number(Number),
    /// `9 Nm`.
    Quantity(Quantity),
    /// `"sump screw"`.
    Text(String),
    /// `yes`, `no`.
    Truth(bool),
    /// `2026-07-01`.
    Day(Date),
    /// `one of ("A", "B")`, as a value of its own.
    WordList(Vec<Text>),
    /// `entries of (LIST, LIST)`: the entries of several lists, as a list of its own.
    EntriesOf(Vec<Expr>),
    /// `name` or `name.field.field`: a variable, a let, a parameter, a table, or a field of the document.
    Path(Vec<Name>),
    /// `table for key` or `table for (key, key)`.
    Lookup {
        /// The table.
        table: Name,
        /// One key for each of the table's.
        keys: Vec<Expr>,
    },
    /// `name of path`: what a name comes to for an entry.
    Of {
        /// The name.
        name: Name,
        /// The entry.
        entry: Box<Expr>,
    },
    /// Values of which the first whose condition holds counts; only as the value of a name.
    Cases(Vec<Case<Expr>>),
    /// `builtin(argument, …)`.
    Call {
        /// The builtin.
        function: Name,
        /// Its arguments.
        arguments: Vec<Expr>,
    },
    /// A range.
    Range(Box<RangeExpr>),
    /// `not x`.
    Not(Box<Expr>),
    /// `−x`.
    Minus(Box<Expr>),
    /// `x and y`, `x or y`, `x implies y`.
    Logic(Logic, Box<Expr>, Box<Expr>),
    /// `x + y`, `x − y`, `x × y`, `x ÷ y`.
    Arithmetic(Arithmetic, Box<Expr>, Box<Expr>),
    /// `x is y`, `x above y`, `x before y`, …
    Compare(Comparison, Box<Expr>, Box<Expr>),
    /// `x within RANGE`.
    Within(Box<Expr>, Box<Expr>),
    /// `x is one of (a, b)` or `x is not one of (a, b)`.
    OneOf {
        /// The value.
        value: Box<Expr>,
        /// Whether it must *not* be among them.
        negated: bool,
        /// What it is compared with.
        options: Vec<Expr>,
    },
    /// `recorded path`.
    Recorded(Box<Expr>),
    /// `rate of path`: how fast what a log holds changes.
    Rate(Box<Expr>),
    /// `throughout STRETCH: …`, `at some moment in STRETCH: …`, `held for at least D in STRETCH: …`.
    Timed(Box<Timed<Expr>>),
    /// `DEMAND by guarded acceptance`: how readings with an uncertainty are decided in it.
    Decided(DecisionRule, Box<Expr>),
    /// `every x in LIST [where …]: …`.
    Quantified {
        /// Which quantifier.
        quantifier: Quantifier,
        /// The name that stands for each element.
        variable: Name,
        /// The list.
        list: Box<Expr>,
        /// Which elements count.
        condition: Option<Box<Expr>>,
        /// What is said of them.
        body: Box<Expr>,
    },
    /// `count of x in LIST [where …]`, `count of LIST`, `sum of EXPR over x in LIST [where …]`.
    Aggregate {
        /// Which aggregate.
        aggregate: Aggregate,
        /// What is summed or compared; absent for a count.
        value: Option<Box<Expr>>,
        /// The name that stands for each element; absent for `count of LIST`.
        variable: Option<Name>,
        /// The list.
        list: Box<Expr>,
        /// Which elements count.
        condition: Option<Box<Expr>>,
    },
}

/// A value and when it counts, of expressions of any stage.
#[derive(Clone, Debug)]
pub struct Case<T> {
    /// When it counts; always when absent.
    pub condition: Option<T>,
    /// The value.
    pub value: T,
}

impl<T> Case<T> {
    /// Its parts, as they are looked at.
    pub fn parts(&self) -> impl Iterator<Item = &T> {
        self.condition.iter().chain([&self.value])
    }
}

/// A range as written.
pub type RangeExpr = RangeForm<Expr>;

/// The forms of a range over operands of any stage: written, typed or decided.
#[derive(Clone, Debug)]
pub enum RangeForm<T> {
    /// `a .. b`, ends included.
    Between(T, T),
    /// `a ± b`.
    PlusMinus(T, T),
    /// `a +b/-c`.
    PlusAndMinus(T, T, T),
    /// `at least a`.
    AtLeast(T),
    /// `at most a`.
    AtMost(T),
    /// `above a`.
    Above(T),
    /// `below a`.
    Below(T),
}

impl<T> RangeForm<T> {
    /// The same form over other operands; the first failure ends it.
    ///
    /// # Errors
    /// The first error of `change`.
    pub fn try_map<'a, U, E>(
        &'a self,
        mut change: impl FnMut(&'a T) -> Result<U, E>,
    ) -> Result<RangeForm<U>, E> {
        Ok(match self {
            RangeForm::Between(a, b) => RangeForm::Between(change(a)?, change(b)?),
            RangeForm::PlusMinus(a, b) => RangeForm::PlusMinus(change(a)?, change(b)?),
            RangeForm::PlusAndMinus(a, b, c) => RangeForm::PlusAndMinus(change(a)?, change(b)?, change(c)?),
            RangeForm::AtLeast(a) => RangeForm::AtLeast(change(a)?),
            RangeForm::AtMost(a) => RangeForm::AtMost(change(a)?),
            RangeForm::Above(a) => RangeForm::Above(change(a)?),
            RangeForm::Below(a) => RangeForm::Below(change(a)?),
        })
    }

    /// Its operands, as written from left to right.
    pub fn operands(&self) -> impl Iterator<Item = &T> {
        let (first, second, third) = match self {
            RangeForm::Between(a, b) | RangeForm::PlusMinus(a, b) => (a, Some(b), None),
            RangeForm::PlusAndMinus(a, b, c) => (a, Some(b), Some(c)),
            RangeForm::AtLeast(a) | RangeForm::AtMost(a) | RangeForm::Above(a) | RangeForm::Below(a) => {
                (a, None, None)
            }
        };
        std::iter::once(first).chain(second).chain(third)
    }
}

/// What is asked of logs over a stretch of time, with operands of any stage: written or typed.
#[derive(Clone, Debug)]
pub struct Timed<T> {
    /// When it must be so.
    pub when: When<T>,
    /// The first instant of the stretch.
    pub from: T,
    /// Its last instant.
    pub to: T,
    /// How far apart two entries of a log may lie, so that it can be relied upon between them; any
    /// distance when absent.
    pub gaps: Option<T>,
    /// What must be so.
    pub body: T,
}

impl<T> Timed<T> {
    /// Its operands, in the order in which they are computed; the body last.
    pub fn operands(&self) -> impl Iterator<Item = &T> {
        let own = match &self.when {
            When::Throughout | When::AtSomeMoment => None,
            When::HeldFor(operand) | When::Until(operand) => Some(operand),
        };
        [&self.from, &self.to].into_iter().chain(&self.gaps).chain(own).chain([&self.body])
    }
}

/// When within a stretch of time something must be so.
#[derive(Clone, Debug)]
pub enum When<T> {
    /// At every instant.
    Throughout,
    /// At one instant at least.
    AtSomeMoment,
    /// Without interruption for at least this long.
    HeldFor(T),
    /// At every instant up to one at which this comes true.
    Until(T),
}

/// Connectives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Logic {
    /// Both.
    And,
    /// At least one.
    Or,
    /// If the first, then the second.
    Implies,
}

/// Arithmetic operations.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arithmetic {
    /// `+`
    Add,
    /// `−`
    Subtract,
    /// `duration of`: from the second time to the first, which must not lie before it.
    Elapsed,
    /// `×`
    Multiply,
    /// `÷`
    Divide,
}

/// Comparisons of two values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Comparison {
    /// `is`
    Is,
    /// `is not`
    IsNot,
    /// `above`
    Above,
    /// `below`
    Below,
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `before`
    Before,
    /// `after`
    After,
}

/// Quantifiers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantifier {
    /// For each of them.
    Every,
    /// For at least one.
    Some,
    /// For none.
    No,
}

/// Aggregates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aggregate {
    /// How many.
    Count,
    /// Their sum.
    Sum,
    /// The least of them.
    Least,
    /// The greatest of them.
    Greatest,
    /// All of them, in their order.
    All,
}
