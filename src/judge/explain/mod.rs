//! What decided, in the words of a report: what was found, what is required, by how much it is off.
//!
//! Nothing is decided here. The values that the words quote are looked up in the binding that the decision kept.

mod course;
mod demand;
mod entries;
mod missing;
mod near;
mod number;
mod places;
mod plot;
mod seen;
mod words;

use std::cmp::Ordering;

use words::{Fineness, counted, off_by};

pub use words::describe;

use crate::decide::{About, Evaluator, Judgement, Leaf, NodeRef, Reason, Step, Truth, UnresolvedLink};
use crate::finding::{Conformity, Finding, InTime, Outcome, Related, SeenValue};
use crate::language::ast::{Arithmetic, Comparison};
use crate::language::builtins::Words;
use crate::language::typed::{Expr, ExprKind, Of, Part};
use crate::language::types::Type;
use crate::metrology::{Line, Sketch, Working};
use crate::quantity::{Number, Quantity, Which};
use crate::source::Place;
use crate::value::Value;

/// What is longer of an expression says less than the demand itself, which is named beside it.
const MOST_OF_SOURCE: usize = 60;

/// One comparison that was made, for `why`.
#[derive(Clone, Debug, PartialEq)]
pub struct ExplainedStep {
    /// Where the comparison is written.
    pub demand: Place,
    /// What it came to.
    pub outcome: Outcome,
    /// The words of it.
    pub facts: Explained,
    /// How the published methods in it computed, step by step.
    pub working: Vec<Line>,
}

/// The words of a comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Explained {
    /// The path of the value in the record.
    pub path: String,
    /// Where the value stands, or the nearest place where it should stand.
    pub at: Place,
    /// What was found.
    pub found: Option<String>,
    /// What is required.
    pub required: Option<String>,
    /// By how much it is off.
    pub off_by: Option<String>,
    /// How far it is from the other outcome in time, where it is about logs.
    pub in_time: Option<InTime>,
    /// What is not recorded or cannot be decided.
    pub missing: Option<String>,
    /// How probable it is that the true value conforms, where the reading has an uncertainty.
    pub conformity: Option<Conformity>,
    /// What is recorded under nearly the name that was looked for, where nothing has that name.
    pub near: Option<String>,
    /// Places in other documents that have a part in it: the line of the procedure, the tool's entry.
    pub related: Vec<Related>,
    /// The lines of a picture of what was found, where a method draws one.
    pub drawing: Vec<String>,
}

/// Whether the reason is only that something is not recorded: what that is comes first then, for it is to be done.
fn is_blank(missing: &str) -> bool {
    missing.ends_with(SeenValue::NOT_RECORDED)
}

/// Why a demand is open, and what it is about.
fn open_words(missing: &str, title: &str) -> String {
    match is_blank(missing) {
        true => format!("{missing} (needed for: {title})"),
        false => format!("{title}: {missing}"),
    }
}

impl Explained {
    /// No words yet on the value at a place.
    pub(super) fn at(path: String, at: Place) -> Explained {
        Explained {
            path,
            at,
            found: None,
            required: None,
            off_by: None,
            in_time: None,
            missing: None,
            conformity: None,
            near: None,
            related: Vec::new(),
            drawing: Vec::new(),
        }
    }
}

/// Puts what an evaluator decided into words.
#[derive(Debug)]
pub struct Explainer<'x> {
    /// Looks up the values that are quoted.
    values: Evaluator<'x>,
    /// How finely the figures of the comparison at hand are shown.
    fineness: Fineness,
}

impl<'x> Explainer<'x> {
    /// The words for what this evaluator decides.
    #[must_use]
    pub fn of(evaluator: &Evaluator<'x>) -> Explainer<'x> {
        Explainer { values: evaluator.for_words(), fineness: Fineness::default() }
    }

    /// The words of a comparison that was made.
    pub fn step(&mut self, step: Step<'x>) -> ExplainedStep {
        let outcome = match step.truth {
            Truth::Yes => Outcome::Met,
            Truth::No => Outcome::Broken,
            Truth::Unknown => Outcome::Undecided,
        };
        let facts = self.explain(&step.leaf);
        ExplainedStep { demand: step.leaf.expr.place, outcome, facts, working: step.working }
    }

    /// The finding that a judgement amounts to; `None` for what is met and for what is not concerned.
    pub fn finding(&mut self, judgement: &Judgement<'x>) -> Option<Finding> {
        if !matches!(judgement.outcome, Outcome::Broken | Outcome::Undecided) {
            return None;
        }
        let rule = judgement.rule;
        let facts = self.facts(judgement);
        let (severity, standing) = self.values.weight(judgement);
        let leaf = judgement.verdict.leaf.as_deref();
        let message = self.finely(leaf, |inner| inner.words_of(judgement, &facts));
        let at_text = match (&facts.missing, &facts.found) {
            (Some(missing), _) => missing.clone(),
            (None, Some(found)) => found.clone(),
            (None, None) => String::new(),
        };
        Some(Finding {
            rule: rule.name.clone(),
            title: rule.title.clone(),
            outcome: judgement.outcome,
            severity,
            standing,
            message,
            subject: self.path(judgement.subject),
            path: facts.path,
            at: facts.at,
            at_text,
            conformity: facts.conformity,
            in_time: facts.in_time,
            near: facts.near,
            drawing: facts.drawing,
            turn: 0,
            related: facts.related,
            demand: match judgement.about {
                About::Demand(expr) | About::Concern(expr) => expr.place,
                About::Work(_) => rule.name_place,
                About::Number { span, .. } => Place { span, ..rule.place },
            },
            found: facts.found,
            required: facts.required,
            off_by: facts.off_by,
            concession: None,
            missing: facts.missing.into_iter().collect(),
            awaited: match judgement.outcome {
                Outcome::Undecided => leaf.and_then(|leaf| self.awaited(leaf.missing.as_ref()?)),
                _ => None,
            },
            margin: judgement.verdict.leaf.as_ref().and_then(|leaf| leaf.margin.clone()),
            remedy: match judgement.outcome {
                Outcome::Undecided => leaf.and_then(|leaf| self.remedy(leaf, judgement.about, rule)),
                _ => rule.remedy.clone(),
            },
            because: rule.because.clone(),
            basis: rule.basis.clone(),
        })
    }

    /// The words of what decided a judgement.
    pub fn facts(&mut self, judgement: &Judgement<'x>) -> Explained {
        if let About::Number { .. } = judgement.about {
            return self.facts_of_number(judgement);
        }
        match &judgement.verdict.leaf {
            Some(leaf) => {
                let facts = self.explain(leaf);
                let required = self.required_of(judgement, leaf, facts.required.as_deref());
                let facts = Explained { required: required.or(facts.required), ..facts };
                // By how much a value is off that nobody asks for says nothing.
                let facts = match judgement.about {
                    About::Concern(_) => Explained { off_by: None, ..facts },
                    _ => facts,
                };
                // What is counted of the list in which the subject stands is said of the subject.
                let holder = self.values.doc(judgement.subject).parent(judgement.subject.node);
                let own_list = holder.map(|holder| judgement.subject.beside(holder));
                if own_list.is_none_or(|list| facts.at != self.place(list)) {
                    return facts;
                }
                let (path, at) = (self.path(judgement.subject), self.place(judgement.subject));
                Explained { path, at, ..facts }
            }
            None => {
                let spot = self.around_home(judgement.subject);
                Explained::at(self.path(spot), self.place(spot))
            }
        }
    }

    fn words_of(&mut self, judgement: &Judgement<'x>, facts: &Explained) -> String {
        let rule = judgement.rule;
        let subject = self.subject_words(judgement.subject);
        match (judgement.about, judgement.outcome) {
            (About::Number { each, .. }, Outcome::Broken) if each.message.is_some() => {
                self.message(each.message.as_deref().unwrap_or_default())
            }
            (About::Number { .. }, _) => self.words_of_number(judgement, facts),
            (About::Work(bound), _) => format!("{}: {bound}, so it was given up", rule.title),
            (About::Concern(_), _) => {
                let missing = facts.missing.as_deref().unwrap_or("a value is missing");
                match is_blank(missing) {
                    true => format!("may apply to {subject}: {missing} (needed for: {})", rule.title),
                    false => format!("{}: may apply to {subject}; {missing}", rule.title),
                }
            }
            (About::Demand(_), Outcome::Undecided) => {
                open_words(facts.missing.as_deref().unwrap_or("a value is missing"), &rule.title)
            }
            (About::Demand(_), _) => self.message(&rule.message),
        }
    }

    fn subject_words(&self, subject: NodeRef) -> String {
        let path = self.path(subject);
        if path.is_empty() { "this document".to_owned() } else { format!("`{path}`") }
    }

    /// A message with its values filled in.
    fn message(&mut self, parts: &'x [Part]) -> String {
        let mut text = String::new();
        for part in parts {
            match part {
                Part::Words(words) => text.push_str(words),
                Part::Value(expr) => text.push_str(&self.shown(expr)),
            }
        }
        text
    }

    /// The value of an expression as people read it.
    pub(super) fn shown(&mut self, expr: &'x Expr) -> String {
        if let Some(called) = self.entry_called(expr) {
            return called;
        }
        match self.values.value(expr) {
            Ok(operand) => {
                match operand
                    .at
                    .filter(|_| is_path(expr))
                    .and_then(|spot| self.values.doc(spot).raw(spot.node))
                {
                    Some(raw) => raw.trim().to_owned(),
                    None => self.fineness.describe(operand.get()),
                }
            }
            Err(missing) => match missing.shown() {
                _ if let Some(words) = self.possible_counts(expr) => words,
                Reason::NotRecorded(..) => "(not recorded)".to_owned(),
                Reason::UnresolvedLink(_) => format!("`{}`", self.source_of(expr)),
                _ => "(unknown)".to_owned(),
            },
        }
    }

    /// Whether a name stands for a figure and not for a place in a document.
    fn is_computed(&mut self, expr: &'x Expr) -> bool {
        match &expr.kind {
            ExprKind::Parameter(..) => true,
            ExprKind::Let(..) => self.values.node(expr).is_err(),
            _ => false,
        }
    }

    /// The numbers that an open count can be, as people read them; nothing where it could be any.
    fn possible_counts(&mut self, expr: &'x Expr) -> Option<String> {
        let (least, greatest) = self.values.possible_counts(expr)?;
        let next = least.add(&Quantity::from(Number::ONE)).ok()?;
        let between = if greatest.compare(&next).is_eq() { "or" } else { "to" };
        Some(format!("{least} {between} {greatest}"))
    }

    /// The words of the comparison that decided.
    pub fn explain(&mut self, leaf: &Leaf<'x>) -> Explained {
        let outer = self.values.bind(leaf.slots);
        let facts = self.finely(Some(leaf), |inner| inner.explain_here(leaf));
        self.values.bind(outer);
        facts
    }

    fn explain_here(&mut self, leaf: &Leaf<'x>) -> Explained {
        let (sketch, sketched_at) = self.sketch(leaf.expr).unzip();
        let drawing = match (&sketch, &leaf.course) {
            (Some(sketch), _) => sketch.lines.clone(),
            (None, Some(course)) => self.plot(course),
            (None, None) => Vec::new(),
        };
        let not = if leaf.negated { "not " } else { "" };
        let wanted = sketch.as_ref().map(|sketch| format!("{not}{}", sketch.wanted));
        if let Some(missing) = leaf.missing.as_ref().filter(|missing| !missing.is_of_a_reading()) {
            let (path, text) = self.missing_words_below(is_negated(leaf), missing);
            let required = wanted.or_else(|| self.required(leaf));
            let home = self.home(leaf.expr, missing.at);
            let related = self.related_at(missing.at, text.clone());
            let path = if home == missing.at { path } else { self.path(home) };
            return Explained {
                required,
                missing: Some(text),
                related: related.into_iter().collect(),
                drawing,
                ..Explained::at(path, self.place(home))
            };
        }
        let related = self.related(leaf.expr);
        let at = sketched_at.flatten().or(leaf.at).unwrap_or(self.values.root());
        let at = self.home(leaf.expr, at);
        let elsewhere = self.sought_elsewhere(leaf.expr).map(|[found, _]| found);
        let found = match &leaf.expr.kind {
            ExprKind::Compare(_, left, _) => Some(self.found_and_converted(left)),
            ExprKind::InOrder(_, left, right) => Some(self.placed_in_order(left, right)),
            ExprKind::Within(value, _) => Some(self.found_and_converted(value)),
            ExprKind::OneOf { value, .. } => Some(self.shown_as_found(value)),
            ExprKind::Recorded(name) if self.is_computed(name) => Some(match self.values.value(name) {
                Ok(value) => self.fineness.describe(value.get()),
                Err(missing) => self.missing_words(&missing).1,
            }),
            ExprKind::Recorded(path) => Some(match self.values.node(path) {
                Ok(_) => "it is recorded".to_owned(),
                Err(missing) => self.missing_words(&missing).1,
            }),
            ExprKind::Field { .. } | ExprKind::Variable(_) => Some(self.shown(leaf.expr)),
            ExprKind::Timed(_) => leaf.course.as_ref().map(|course| self.course_words(course)),
            ExprKind::Call { .. } if sketch.is_some() => sketch.map(|sketch| sketch.words),
            ExprKind::Call { arguments, .. } => arguments.first().map(|first| self.shown_as_found(first)),
            ExprKind::Quantified { .. } if elsewhere.is_some() => elsewhere,
            ExprKind::Quantified { list, .. } => Some(match self.values.node(list) {
                Ok(list) if !self.values.doc(list).items(list.node).is_empty() => {
                    format!("none of {}", self.values.doc(list).items(list.node).len())
                }
                _ => "the list is empty".to_owned(),
            }),
            _ => None,
        };
        // Of what should be recorded and is not, the path is that where it should be.
        let path = match &leaf.expr.kind {
            ExprKind::Recorded(path) if at.is_own() && !self.is_computed(path) => self.path_wanted(path, at),
            _ => self.path(at),
        };
        Explained {
            path,
            at: self.place(at),
            found,
            required: wanted.or_else(|| self.required(leaf)),
            off_by: match &leaf.margin {
                Some(margin) => off_by(leaf, margin, &self.fineness),
                None => self.off_in_time(leaf),
            },
            in_time: match &leaf.missing {
                Some(_) => None,
                None => leaf.course.as_ref().and_then(|course| course.in_time(leaf.negated)),
            },
            missing: leaf
                .missing
                .as_ref()
                .map(|missing| self.missing_words_below(is_negated(leaf), missing).1),
            conformity: self.conformity_words(leaf),
            near: self.near_name(leaf.expr),
            related,
            drawing,
        }
    }

    /// Where something should be recorded; of a link that leads nowhere, the entry from which it leads.
    fn path_wanted(&mut self, path: &'x Expr, at: NodeRef) -> String {
        match self.values.node(path) {
            Ok(_) => self.path(at),
            Err(missing) => match missing.shown() {
                Reason::UnresolvedLink(lost) if !matches!(**lost, UnresolvedLink::Unnamed(_)) => {
                    self.path(missing.at)
                }
                _ => self.named(path),
            },
        }
    }

    /// The picture of a call that draws one, and the place of the element that it is about.
    fn sketch(&mut self, expr: &'x Expr) -> Option<(Sketch, Option<NodeRef>)> {
        let ExprKind::Call { builtin, arguments } = &expr.kind else { return None };
        if !arguments.iter().any(|argument| matches!(argument.ty, Type::Several(_))) {
            return None;
        }
        let mut values = Vec::new();
        for argument in arguments {
            values.push(self.values.value(argument).ok()?.into_value());
        }
        let mut working = Working::kept();
        // What it answers is known; here its picture is wanted.
        drop((builtin.function)(&values, &mut working));
        let sketch = working.take_sketch()?;
        let at = self.values.element(arguments, None, sketch.element);
        Some((sketch, at))
    }

    fn conformity_words(&mut self, leaf: &Leaf<'x>) -> Option<Conformity> {
        let (probability, uncertainty) = self.values.conformity(leaf.expr, leaf.negated)?;
        Some(Conformity {
            probability,
            expanded: uncertainty.expanded,
            coverage: uncertainty.coverage.to_string(),
            from: uncertainty.from,
        })
    }

    /// Runs `inside` with the figures of a comparison shown finely enough to tell them apart.
    fn finely<T>(&mut self, leaf: Option<&Leaf<'x>>, inside: impl FnOnce(&mut Self) -> T) -> T {
        let fineness = leaf.map(|leaf| self.fineness_of(leaf)).unwrap_or_default();
        let outer = std::mem::replace(&mut self.fineness, fineness);
        let result = inside(self);
        self.fineness = outer;
        result
    }

    fn fineness_of(&mut self, leaf: &Leaf<'x>) -> Fineness {
        let Some(margin) = &leaf.margin else { return Fineness::default() };
        let (ExprKind::Compare(_, value, limit) | ExprKind::Within(value, limit)) = &leaf.expr.kind else {
            return Fineness::of(margin, None);
        };
        let outer = self.values.bind(leaf.slots);
        let (value, limit) = (self.values.value(value), self.values.value(limit));
        self.values.bind(outer);
        let limit = limit.ok().and_then(|limit| match (limit.get(), margin.limit) {
            (Value::Quantity(limit), _) => Some(limit.clone()),
            (Value::Range(range), Which::Low) => range.low().map(|limit| limit.value.clone()),
            (Value::Range(range), Which::High) => range.high().map(|limit| limit.value.clone()),
            _ => None,
        });
        let value = value.ok().and_then(|value| value.quantity().cloned());
        Fineness::of(margin, value.zip(limit))
    }

    /// A value that was compared, and the same in the unit of its limit where it has another one.
    fn found_and_converted(&mut self, expr: &'x Expr) -> String {
        let shown = self.shown_as_found(expr);
        let value = self.values.value(expr).ok().and_then(|value| value.quantity().cloned());
        match value.and_then(|value| self.fineness.converted(&value)) {
            Some(converted) => format!("{shown}, which is {converted}"),
            None => shown,
        }
    }

    /// A value with what it was computed from, where it is not simply a field.
    fn shown_as_found(&mut self, expr: &'x Expr) -> String {
        // What a name is worth for an entry is said as what it was made of, and not by the name.
        if self.is_of_entry(expr)
            && let Some(text) = self.behind(expr, Self::shown_as_found)
        {
            return text;
        }
        let shown = self.shown(expr);
        if is_path(expr) || matches!(expr.kind, ExprKind::Constant(_)) {
            return shown;
        }
        let from = match &expr.kind {
            ExprKind::Call { builtin, arguments } => match builtin.words {
                Words::Value(words) => self.filled_in(words, arguments),
                Words::Count(one) => {
                    let text = arguments.first().map(|text| self.shown(text)).unwrap_or_default();
                    return format!("\"{text}\", {}", counted(&shown, one));
                }
                Words::Demand(..) => self.source_of(expr),
            },
            // `within 10 min after` has no words of its own for what lies between.
            ExprKind::Arithmetic(Arithmetic::Elapsed, step, _) => {
                format!("duration of {}", self.source_of(step))
            }
            ExprKind::Arithmetic(Arithmetic::Subtract, later, earlier) if later.ty.is_time() => {
                format!("{} − {}", self.source_of(later), self.source_of(earlier))
            }
            _ => self.source_of(expr),
        };
        let from = from.strip_prefix('(').and_then(|inner| inner.strip_suffix(')')).unwrap_or(&from);
        let long = from.chars().count() > MOST_OF_SOURCE;
        if from.is_empty() || *from == shown || long { shown } else { format!("{shown} ({from})") }
    }

    /// Whether an expression stands for the value of an entry, or for one of several cases.
    fn is_of_entry(&self, expr: &Expr) -> bool {
        match &expr.kind {
            ExprKind::Let(id, _) => !matches!(self.values.program.lets()[*id].of, Of::Document),
            ExprKind::Cases(_) => true,
            _ => false,
        }
    }

    /// Runs `inside` on the value behind a name, or on the case that counts; nothing for anything else, and where it
    /// cannot be told.
    pub(super) fn behind<T>(
        &mut self,
        expr: &'x Expr,
        inside: impl FnOnce(&mut Self, &'x Expr) -> T,
    ) -> Option<T> {
        match &expr.kind {
            ExprKind::Let(id, entry) => {
                let outer = self.values.enter(entry.as_deref())?;
                let result = inside(self, &self.values.program.lets()[*id].value);
                self.values.bind(outer);
                Some(result)
            }
            ExprKind::Cases(cases) => self.values.case_in(cases).map(|value| inside(self, value)),
            _ => None,
        }
    }

    /// When an entry was, by the field that says so, or else the entry itself.
    pub(super) fn placed(&mut self, time: &'x Expr) -> String {
        let entry = self.values.entry(time).map(|entry| self.path(entry)).unwrap_or_default();
        match self.values.value(time) {
            Ok(_) => format!("{} (`{entry}`)", self.shown(time)),
            Err(_) => format!("`{entry}`"),
        }
    }

    /// The same, and what the order of two entries was taken from where that is not their times.
    fn placed_in_order(&mut self, left: &'x Expr, right: &'x Expr) -> String {
        let placed = self.placed(left);
        match (self.values.value(left), self.values.value(right)) {
            (Ok(a), Ok(b)) if matches!(self.values.order_in_time(a.get(), b.get()), Ok(Some(order)) if order.is_eq()) =>
            {
                format!("{placed}, as listed: both are of the same time")
            }
            (Err(_), Err(_)) => format!("{placed}, as listed: no times are recorded"),
            _ => placed,
        }
    }

    /// By how much a time is too early or too late for another, in words; nothing for one that is neither, and
    /// for a day beside a time.
    fn off_in_time(&mut self, leaf: &Leaf<'x>) -> Option<String> {
        let (comparison, left, right) = match &leaf.expr.kind {
            ExprKind::Compare(comparison @ (Comparison::Before | Comparison::After), left, right)
            | ExprKind::InOrder(comparison, left, right) => (*comparison, left, right),
            _ => return None,
        };
        let (left, right) = (self.values.value(left).ok()?, self.values.value(right).ok()?);
        let between = self.values.time_arithmetic(Arithmetic::Subtract, left.get(), right.get()).ok()??;
        let Value::Quantity(between) = between else { return None };
        // What must be before, or not after, is too late.
        let before = (comparison == Comparison::Before) != leaf.negated;
        match (before, between.magnitude().signum()) {
            (true, Ordering::Greater) => Some(format!("{between} too late")),
            (false, Ordering::Less) => Some(format!("{} too early", between.opposite())),
            _ => None,
        }
    }

    /// The words of an expression in its rule file, on one line.
    pub(super) fn source_of(&self, expr: &Expr) -> String {
        self.values.sources.text_at(expr.place).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

pub(super) fn is_path(expr: &Expr) -> bool {
    matches!(expr.kind, ExprKind::Field { .. } | ExprKind::Variable(_))
}

/// Whether what decided stands below an odd number of `not`, those within a question about logs among them.
fn is_negated(leaf: &Leaf<'_>) -> bool {
    leaf.negated != leaf.course.as_ref().is_some_and(|course| course.is_negated())
}
