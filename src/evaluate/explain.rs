//! What decided, in the words of a report.

use super::near::near_row;
use super::words::{Fineness, counted, join, last_names, off_by};
use super::{About, Evaluator, Judgement, Leaf, Lost, MOST_LOOKS, Missing, Reason, Spot, Truth, Verdict};
use crate::finding::{Conformity, Finding, InTime, Outcome, Related, Standing};
use crate::language::ast::{Arithmetic, Severity, Unrecorded};
use crate::language::builtins::Words;
use crate::language::typed::{Expr, ExprKind, Part};
use crate::language::types::Type;
use crate::metrology::uncertainty::quoted;
use crate::metrology::{Line, Sketch, Working};
use crate::quantity::{Number, Which};
use crate::source::Place;
use crate::value::Value;

/// One comparison that was made, for `why`.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
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

impl<'x> Evaluator<'x> {
    /// Keeps a comparison, where someone wants to see them.
    pub(super) fn note_step(&mut self, expr: &'x Expr, verdict: &Verdict<'x>) {
        if self.steps.is_none() {
            return;
        }
        let outcome = match verdict.truth {
            Truth::Yes => Outcome::Met,
            Truth::No => Outcome::Broken,
            Truth::Unknown => Outcome::Undecided,
        };
        let Some(leaf) = &verdict.leaf else { return };
        let working = self.working.take();
        let facts = self.explain(leaf);
        if let Some(steps) = &mut self.steps {
            steps.push(Step { demand: expr.place, outcome, facts, working });
        }
    }

    /// The finding that a judgement amounts to; `None` for what is met and for what is not concerned.
    pub fn finding(&mut self, judgement: &Judgement<'x>) -> Option<Finding> {
        if !matches!(judgement.outcome, Outcome::Broken | Outcome::Undecided) {
            return None;
        }
        let rule = judgement.rule;
        let facts = self.facts(judgement);
        let (severity, standing) = self.weight(judgement);
        let leaf = judgement.verdict.leaf.as_ref();
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
            related: facts.related,
            demand: match judgement.about {
                About::Demand(expr) | About::Concern(expr) => expr.place,
                About::Work => rule.name_place,
                About::Number { span, .. } => Place { span, ..rule.place },
            },
            found: facts.found,
            required: facts.required,
            off_by: facts.off_by,
            concession: None,
            missing: facts.missing.into_iter().collect(),
            margin: judgement.verdict.leaf.as_ref().and_then(|leaf| leaf.margin.clone()),
            remedy: match judgement.outcome {
                Outcome::Undecided => leaf.and_then(|leaf| self.remedy(leaf)),
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
                // What is counted of the list in which the subject stands is said of the subject.
                let holder = self.doc(judgement.subject).parent(judgement.subject.node);
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

    /// How severe a finding is, and whether it counts.
    #[must_use]
    pub fn weight(&self, judgement: &Judgement<'x>) -> (Severity, Standing) {
        let rule = judgement.rule;
        match (judgement.outcome, rule.unrecorded) {
            (Outcome::Undecided, _) if self.in_work => (rule.severity, Standing::StillToDo),
            (Outcome::Undecided, Unrecorded::As(severity)) => (severity, Standing::Counts),
            (Outcome::Undecided, Unrecorded::Pass) if judgement.is_for_want_of_a_record() => {
                (Severity::Note, Standing::Passed)
            }
            _ => (rule.severity, Standing::Counts),
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
            (About::Work, _) => format!(
                "{}: the rule looks at more than {MOST_LOOKS} elements of lists in this document, so it was given up",
                rule.title
            ),
            (About::Concern(_), _) => {
                let missing = facts.missing.as_deref().unwrap_or("a value is missing");
                format!("{}: cannot tell whether this concerns {subject}, because {missing}", rule.title)
            }
            (About::Demand(_), Outcome::Undecided) => {
                let missing = facts.missing.as_deref().unwrap_or("a value is missing");
                format!("{}: {missing}", rule.title)
            }
            (About::Demand(_), _) => self.message(&rule.message),
        }
    }

    fn subject_words(&self, subject: Spot) -> String {
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
        match self.value(expr) {
            Ok(operand) => {
                match operand.at.filter(|_| is_path(expr)).and_then(|spot| self.doc(spot).raw(spot.node)) {
                    Some(raw) => raw.trim().to_owned(),
                    None => self.fineness.describe(operand.get()),
                }
            }
            Err(missing) => match missing.shown() {
                _ if let Some(words) = self.spread_words(expr) => words,
                Reason::NotRecorded(..) => "(not recorded)".to_owned(),
                Reason::Lost(_) => format!("`{}`", self.source_of(expr)),
                _ => "(unknown)".to_owned(),
            },
        }
    }

    /// The words of the comparison that decided.
    pub fn explain(&mut self, leaf: &Leaf<'x>) -> Explained {
        // What is computed for the words is no comparison of the rule.
        let steps = self.steps.take();
        let outer = std::mem::replace(&mut self.slots, leaf.slots);
        let facts = self.finely(Some(leaf), |inner| inner.explain_here(leaf));
        self.slots = outer;
        self.steps = steps;
        self.working.take();
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
            let (path, text) = self.missing_words(missing);
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
        let at = sketched_at.flatten().or(leaf.at).unwrap_or(self.root());
        let at = self.home(leaf.expr, at);
        let found = match &leaf.expr.kind {
            ExprKind::Compare(_, left, _) => Some(self.shown_as_found(left)),
            ExprKind::InOrder(_, left, right) => Some(self.placed_in_order(left, right)),
            ExprKind::Within(value, _) | ExprKind::OneOf { value, .. } => Some(self.shown_as_found(value)),
            ExprKind::Recorded(path) => Some(match self.node(path) {
                Ok(_) => "it is recorded".to_owned(),
                Err(missing) => self.missing_words(&missing).1,
            }),
            ExprKind::Field { .. } | ExprKind::Variable(_) => Some(self.shown(leaf.expr)),
            ExprKind::Timed(_) => leaf.course.as_ref().map(|course| self.course_words(course)),
            ExprKind::Call { .. } if sketch.is_some() => sketch.map(|sketch| sketch.words),
            ExprKind::Call { arguments, .. } => arguments.first().map(|first| self.shown_as_found(first)),
            ExprKind::Quantified { list, .. } => Some(match self.node(list) {
                Ok(list) if !self.doc(list).items(list.node).is_empty() => {
                    format!("none of {}", self.doc(list).items(list.node).len())
                }
                _ => "the list is empty".to_owned(),
            }),
            _ => None,
        };
        Explained {
            path: self.path(at),
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
            missing: leaf.missing.as_ref().map(|missing| self.missing_words(missing).1),
            conformity: self.conformity_words(leaf),
            near: self.near_name(leaf.expr),
            related,
            drawing,
        }
    }

    /// The picture of a call that draws one, and the place of the element that it is about.
    fn sketch(&mut self, expr: &'x Expr) -> Option<(Sketch, Option<Spot>)> {
        let ExprKind::Call { builtin, arguments } = &expr.kind else { return None };
        if !arguments.iter().any(|argument| matches!(argument.ty, Type::Several(_))) {
            return None;
        }
        let mut values = Vec::new();
        for argument in arguments {
            values.push(self.value(argument).ok()?.into_value());
        }
        let mut working = Working::kept();
        // What it answers is known; here its picture is wanted.
        drop((builtin.function)(&values, &mut working));
        let sketch = working.take_sketch()?;
        let at = self.element(arguments, None, sketch.element);
        Some((sketch, at))
    }

    fn conformity_words(&mut self, leaf: &Leaf<'x>) -> Option<Conformity> {
        let (probability, uncertainty) = self.conformity(leaf.expr, leaf.negated)?;
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
        let outer = std::mem::replace(&mut self.slots, leaf.slots);
        let (value, limit) = (self.value(value), self.value(limit));
        self.slots = outer;
        let limit = limit.ok().and_then(|limit| match (limit.get(), margin.limit) {
            (Value::Quantity(limit), _) => Some(limit.clone()),
            (Value::Range(range), Which::Low) => range.low().map(|limit| limit.value.clone()),
            (Value::Range(range), Which::High) => range.high().map(|limit| limit.value.clone()),
            _ => None,
        });
        let value = value.ok().and_then(|value| value.quantity().cloned());
        Fineness::of(margin, value.zip(limit))
    }

    /// A value with what it was computed from, where it is not simply a field.
    fn shown_as_found(&mut self, expr: &'x Expr) -> String {
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
        if from.is_empty() || *from == shown { shown } else { format!("{shown} ({from})") }
    }

    /// When an entry was, by the field that says so, or else the entry itself.
    pub(super) fn placed(&mut self, time: &'x Expr) -> String {
        let entry = self.entry(time).map(|entry| self.path(entry)).unwrap_or_default();
        match self.value(time) {
            Ok(_) => format!("{} (`{entry}`)", self.shown(time)),
            Err(_) => format!("`{entry}`"),
        }
    }

    /// The same, and what the order of two entries was taken from where that is not their times.
    fn placed_in_order(&mut self, left: &'x Expr, right: &'x Expr) -> String {
        let placed = self.placed(left);
        match (self.value(left), self.value(right)) {
            (Ok(a), Ok(b)) if matches!(self.order_in_time(a.get(), b.get()), Ok(Some(order)) if order.is_eq()) =>
            {
                format!("{placed}, as listed: both are of the same time")
            }
            (Err(_), Err(_)) => format!("{placed}, as listed: no times are recorded"),
            _ => placed,
        }
    }

    /// The words of an expression in its rule file, on one line.
    pub(super) fn source_of(&self, expr: &Expr) -> String {
        self.sources.text_at(expr.place).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The path of what is missing, and what is wrong with it.
    pub(super) fn missing_words(&mut self, missing: &Missing<'x>) -> (String, String) {
        let at = self.path(missing.at);
        match &missing.reason {
            Reason::NotRecorded(expr, depth) => {
                let path = join(&at, &last_names(expr, *depth));
                let text = format!("`{path}` is not recorded");
                (path, text)
            }
            Reason::Unreadable => {
                let why = self.doc(missing.at).why_unread(missing.at.node);
                let text = format!("`{at}` {why}");
                (at, text)
            }
            Reason::Lost(lost) => match &**lost {
                Lost::Unnamed(field) => {
                    let path = join(&at, field);
                    let text = format!("`{path}` is not recorded");
                    (path, text)
                }
                Lost::Absent(words) | Lost::Several(words) => (at, words.to_string()),
                Lost::First => (at, "there is no entry before the first".to_owned()),
            },
            Reason::NoParameter(number) => {
                let parameter = self.program.parameters().get(*number);
                let (name, title) = parameter.map_or(("", ""), |found| (&*found.name, &*found.title));
                (at, format!("parameter `{name}` is not stated ({title})"))
            }
            Reason::FaultyParameter(number, faulty) => {
                let parameter = self.program.parameters().get(*number);
                let (name, title) = parameter.map_or(("", ""), |found| (&*found.name, &*found.title));
                let source = self.sources.name(faulty.place.source);
                let text = match name.strip_suffix(&*faulty.name) {
                    Some(before) if before.is_empty() || before.ends_with('.') => {
                        format!("parameter `{name}` has an error in {source} ({title})")
                    }
                    _ => {
                        format!(
                            "`{}` in {source} has an error and may mean parameter `{name}` ({title})",
                            faulty.name
                        )
                    }
                };
                (at, text)
            }
            Reason::NoRow(number, keys) => {
                let table = self.program.tables().get(*number);
                let name = table.map_or("", |table| &*table.name);
                let near = table.and_then(|table| near_row(table, keys));
                let near =
                    near.map(|row| format!("; did you mean \"{}\"?", row.join("\", \""))).unwrap_or_default();
                (at, format!("the table `{name}` has no row for \"{}\"{near}", keys.join("\", \"")))
            }
            Reason::Guarded(decision, value, by) => {
                let near = match decision.margin.limit {
                    Which::Low => "lower",
                    Which::High => "upper",
                };
                let distance = decision.margin.distance.magnitude();
                let (inside, distance) = match distance < &Number::ZERO {
                    true => ("outside", decision.margin.distance.opposite()),
                    false => ("inside", decision.margin.distance.clone()),
                };
                let what = if is_path(value) { at.clone() } else { self.source_of(value) };
                let text = format!(
                    "`{what}` lies {distance} {inside} its {near} limit, within the guard band of {}: inside the uncertainty of the tool, decided by {by}",
                    quoted(&decision.guard)
                );
                (at, text)
            }
            Reason::Fault(fault) => (at, fault.message.clone()),
            Reason::Hole(hole, gaps) => {
                let text = self.hole_words(&at, hole, *gaps);
                (at, text)
            }
            Reason::Both(first, _) => self.missing_words(first),
            Reason::Empty => {
                let text = format!("`{at}` has nothing of which this could be taken");
                (at, text)
            }
        }
    }

    /// What to do about a value that is not there.
    fn remedy(&self, leaf: &Leaf<'x>) -> Option<String> {
        let text = match &leaf.missing.as_ref()?.reason {
            Reason::NotRecorded(..) => "Record it. If the work was not done, do it first.",
            Reason::Unreadable => "Correct the value; see the error above.",
            Reason::Lost(lost) => match **lost {
                Lost::Unnamed(_) => "Record it. If the work was not done, do it first.",
                Lost::Absent(_) | Lost::Several(_) => {
                    "Correct the name in the record, or see to it that what it names is there, once."
                }
                Lost::First => return None,
            },
            Reason::NoParameter(number) => {
                let name = self.program.parameters().get(*number).map_or("", |found| &*found.name);
                return Some(format!(
                    "State it as `{name}` under `parameters` in the workshop's settings, or with `--parameter {name}=VALUE`."
                ));
            }
            Reason::FaultyParameter(..) => "Correct it there; what is wrong is reported at its line.",
            Reason::NoRow(..) => "Correct the value in the record, or add a row to the table.",
            Reason::Guarded(..) => {
                "Measure again with a tool of less uncertainty, or bring the value away from the limit."
            }
            Reason::Hole(..) => {
                "Add the log of the whole stretch of time, with entries close enough, or measure again."
            }
            Reason::Fault(_) | Reason::Empty | Reason::Both(..) => return None,
        };
        Some(text.to_owned())
    }

    /// The words of why a verdict is undecided, with the path and the place.
    pub fn why_undecided(&mut self, verdict: &Verdict<'x>) -> Option<(String, Place, String)> {
        let missing = verdict.leaf.as_ref()?.missing.as_ref()?;
        let (path, text) = self.missing_words(missing);
        let at = self.around_home(missing.at);
        Some((path, self.place(at), text))
    }
}

pub(super) fn is_path(expr: &Expr) -> bool {
    matches!(expr.kind, ExprKind::Field { .. } | ExprKind::Variable(_))
}
