//! A trial that would notice a change: the record of a trial that there is, with one or two things changed, on which a rule
//! and the changed rule differ. What is found is judged by both, so it is no guess.

use std::collections::{BTreeSet, HashSet};

use super::super::Session;
use super::super::prove::Telling;
use super::super::trials::own;
use super::judged::{Ready, Tried};
use crate::decide::{Evaluator, LinkedDocuments, MOST_STEPS};
use crate::diagnostic::Level;
use crate::document::changed::{put, take_out};
use crate::document::{self, DocPath, Document, NodeKind};
use crate::language::ast::TrialOutcome;
use crate::language::ids::{LetId, RuleId};
use crate::language::mutants::{Mutant, near};
use crate::language::typed::{Concerns, Expr, ExprKind, Program, Rule, Standard};
use crate::language::types::Type;
use crate::quantity::Quantity;
use crate::source::Place;
use crate::value::{Moment, Value};

/// How many records are tried with one thing changed, and how many with two.
const MOST_TRIED: usize = 1_500;

/// Lists of how many entries are made.
const MOST_ENTRIES: u64 = 30;

/// A change of a record: what is put at a place, or taken out there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Step {
    path: DocPath,
    to: Option<String>,
}

/// A trial of a rule that comes out otherwise in the changed program.
pub(super) fn trial(
    session: &Session,
    changed: &Program,
    mutant: &Mutant,
    tried: &Tried<'_>,
    rule: RuleId,
) -> Option<String> {
    let trials: Vec<&Ready<'_>> =
        tried.of_rule(rule).iter().filter(|ready| own(&ready.of.trial.record).is_some()).collect();
    let standard = trials.first()?.of.case(session.program())?.standard;
    let named = Named::by(session.program(), rule, standard);
    let search = Search { session, changed, mutant, named };
    let mut bases = Vec::new();
    for ready in &trials {
        let text = &*ready.of.text.0;
        let steps = search.read(ready, text, |record| {
            let mut steps = search.at_limits(ready, record);
            steps.extend(search.steps(record, text));
            steps
        });
        let steps = steps.unwrap_or_default();
        bases.push((*ready, text.to_owned(), steps));
    }
    // What only other trials record is tried in each.
    let mut elsewhere = elsewhere(session, &trials);
    elsewhere.extend(search.named.fields.iter().cloned());
    for (ready, text, steps) in &mut bases {
        let missing = search.read(ready, text, |record| {
            let lacks = |step: &&Step| record.find(&step.path.to_string()).is_none();
            elsewhere.iter().filter(lacks).cloned().collect::<Vec<Step>>()
        });
        steps.extend(missing.unwrap_or_default());
    }
    let singles =
        bases.iter().flat_map(|(ready, text, steps)| steps.iter().map(move |step| (ready, text, step)));
    let found = singles
        .take(MOST_TRIED)
        .find_map(|(ready, text, step)| search.differs(ready, &search.with(ready, text, step)?));
    found.or_else(|| {
        let pairs = bases.iter().filter(|(_, _, steps)| steps.len() > 1);
        let share = MOST_TRIED / pairs.clone().count().max(1);
        pairs
            .flat_map(|(ready, text, steps)| pairs_of(steps, share).map(move |pair| (ready, text, pair)))
            .find_map(|(ready, text, (one, other))| {
                let text = search.with(ready, text, one)?;
                search.differs(ready, &search.with(ready, &text, other)?)
            })
    })
}

/// So many pairs, from all over.
fn pairs_of(steps: &[Step], most: usize) -> impl Iterator<Item = (&Step, &Step)> {
    const APART: [usize; 2] = [7_919, 104_729];
    (1..=most).filter_map(move |number| {
        let [one, other] = APART.map(|apart| number.wrapping_mul(apart) % steps.len().max(1));
        (one != other).then_some((steps.get(one)?, steps.get(other)?))
    })
}

struct Search<'s> {
    session: &'s Session,
    changed: &'s Program,
    mutant: &'s Mutant,
    named: Named,
}

impl Search<'_> {
    /// Looks at the record in a text, where it has no mistake.
    fn read<T>(&self, ready: &Ready<'_>, text: &str, look: impl FnOnce(&Document<'_>) -> T) -> Option<T> {
        let source = self.session.program().rules()[ready.of.rule].place.source;
        let (read, found) = document::read_partial(source, text, 0, ready.of.form(), self.session.forms());
        let [record] = read.as_slice() else { return None };
        (!found.iter().any(|found| found.level == Level::Error)).then(|| look(record))
    }

    fn with(&self, ready: &Ready<'_>, text: &str, step: &Step) -> Option<String> {
        self.read(ready, text, |record| match &step.to {
            Some(value) => put(record, text, &step.path, value).ok(),
            None => take_out(record, text, &step.path).ok(),
        })?
    }

    /// The trial with this record, where the two programs differ on it.
    fn differs(&self, ready: &Ready<'_>, text: &str) -> Option<String> {
        let outcomes = self.read(ready, text, |record| {
            let outcome = |program: &Program| {
                let came = self.session.came(&ready.of.case(program)?, record, MOST_STEPS, Telling::Outcome);
                Some(came.outcome)
            };
            Some([outcome(self.session.program())?, outcome(self.changed)?])
        });
        let [outcome, other] = outcomes??;
        (outcome != other).then(|| self.written(ready, outcome, text))?
    }

    /// The clause of a trial as that of another one with another record.
    fn written(&self, ready: &Ready<'_>, outcome: TrialOutcome, text: &str) -> Option<String> {
        let trial = ready.of.trial;
        let source = self.session.program().rules()[ready.of.rule].place.source;
        let record = own(&trial.record)?;
        let upto = |end: u32| Place { source, span: crate::source::Span { start: trial.span.start, end } };
        let mut head = self.session.sources().text_at(upto(record.span.start)).to_owned();
        if let Some((path, span)) = &trial.at {
            let before = self.session.sources().text_at(upto(span.start));
            // Its last word says that a path follows.
            let (before, _) = before.trim_end().rsplit_once(char::is_whitespace)?;
            let behind = head.get(before.len()..)?.split_once(path.as_str())?.1.to_owned();
            head = format!("{before}{behind}");
        }
        let given =
            head.trim_start().strip_prefix("trial")?.trim_start().strip_prefix(&trial.outcome.to_string())?;
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let given = words(given);
        let blank = if given.is_empty() { "" } else { " " };
        Some(format!("trial {outcome}{blank}{given} {}", words(text)))
    }

    /// The single changes of a record that are tried.
    fn steps(&self, record: &Document<'_>, text: &str) -> Vec<Step> {
        let (mut values, mut others) = (Vec::new(), Vec::new());
        let moments: Vec<String> = record
            .values()
            .filter(|(_, value)| matches!(value, Value::Moment(_) | Value::Day(_)))
            .map(|(node, _)| record.span(node).of(text).to_owned())
            .collect();
        for (node, value) in record.values() {
            let path = record.path(node);
            let mut set = |to: String| values.push(Step { path: path.clone(), to: Some(to) });
            match value {
                Value::Quantity(known) => {
                    let comparable =
                        |limit: &&crate::quantity::Quantity| limit.kind().comparable(known.kind()).is_ok();
                    let limits = self.mutant.limits.iter().chain(&self.named.limits);
                    limits.filter(comparable).for_each(|limit| set(limit.to_string()));
                }
                Value::Text(_) => {
                    // A word that nothing asks for reads best, so it goes first.
                    set("other".to_owned());
                    self.named.words.iter().for_each(|word| set(written(word)));
                }
                Value::Truth(truth) => set(if *truth { "no" } else { "yes" }.to_owned()),
                Value::Moment(_) | Value::Day(_) => moments.iter().cloned().for_each(&mut set),
                _ => {}
            }
        }
        for node in record.ids() {
            let path = record.path(node);
            if let NodeKind::List(_) = &record.node(node).kind {
                let entries = record.items(node);
                let said: Vec<&str> = entries.iter().map(|entry| record.span(*entry).of(text)).collect();
                for entry in said.first().into_iter().chain(said.last()) {
                    let to = Some((*entry).to_owned());
                    others.push(Step { path: path.clone().entry(entries.len()), to });
                }
                for number in self.mutant.limits.iter().filter_map(|limit| limit.magnitude().to_u64()) {
                    if number <= MOST_ENTRIES && !said.is_empty() {
                        let many: Vec<&str> =
                            said.iter().copied().cycle().take(usize::try_from(number).unwrap_or(0)).collect();
                        let to = Some(format!("[{}]", many.join(", ")));
                        others.push(Step { path: path.clone(), to });
                    }
                }
            }
            if !path.is_root() {
                others.push(Step { path, to: None });
            }
        }
        values.extend(others);
        let mut known = HashSet::new();
        values.retain(|step| known.insert(step.clone()));
        values
    }

    /// The values that are compared, put at the limits with which they are, whatever those are computed from, and one step
    /// of a digit beside.
    fn at_limits(&self, ready: &Ready<'_>, record: &Document<'_>) -> Vec<Step> {
        let mut found = Vec::new();
        for program in [self.session.program(), self.changed] {
            let around = LinkedDocuments::nothing(record);
            let Some(case) = ready.of.case(program) else { continue };
            let mut evaluator =
                Evaluator::new(program, &around, self.session.setting(), self.session.sources())
                    .with_given(&ready.of.trial.given)
                    .within_steps(MOST_STEPS)
                    .tracing();
            evaluator.rule(case.rule, &mut |_, _| {});
            for step in evaluator.take_steps() {
                let (Some(at), Some(margin)) = (step.leaf.at, &step.leaf.margin) else { continue };
                let path = record.path(at.node);
                let value = match record.value(at.node).filter(|_| at.is_own()) {
                    Some(Value::Quantity(value)) => value,
                    Some(Value::Moment(moment)) => {
                        let steps = moved(moment, &margin.distance);
                        found.extend(steps.map(|to| Step { path: path.clone(), to: Some(to) }));
                        continue;
                    }
                    _ => continue,
                };
                for limit in [value.sub(&margin.distance), value.add(&margin.distance)].into_iter().flatten()
                {
                    let limit = limit.in_unit_of(value);
                    let beside =
                        near(&limit).filter(|value| Quantity::parse(&value.to_string(), None).is_ok());
                    found
                        .extend(beside.map(|value| Step { path: path.clone(), to: Some(value.to_string()) }));
                }
            }
        }
        found
    }
}

/// A time moved by a distance, in either direction, and by a minute more and less.
fn moved(moment: &Moment, distance: &Quantity) -> impl Iterator<Item = String> {
    const MINUTE: i64 = 60;
    let seconds = distance.base().floor().unwrap_or_default();
    let by = [seconds, -seconds].into_iter().flat_map(|by| [by - MINUTE, by, by + MINUTE]);
    by.filter_map(|by| {
        let by = jiff::SignedDuration::from_secs(by);
        Some(match moment {
            Moment::Exact(instant, offset) => Moment::Exact(instant.checked_add(by).ok()?, *offset),
            Moment::Civil(time) => Moment::Civil(time.checked_add(by).ok()?),
        })
    })
    .map(|moved| format!("\"{moved}\""))
}

/// A word as a record in braces writes it, in quotes where it could be read as something else.
fn written(word: &str) -> String {
    let is_plain = word.starts_with(char::is_alphabetic)
        && word.chars().all(|c| c.is_alphanumeric() || c == ' ')
        && !["yes", "no", "true", "false", "null"].contains(&word);
    if is_plain { word.to_owned() } else { format!("\"{word}\"") }
}

/// What is recorded in trials, by its place.
fn elsewhere(session: &Session, trials: &[&Ready<'_>]) -> BTreeSet<Step> {
    let mut found = BTreeSet::new();
    for ready in trials {
        let text = &*ready.of.text.0;
        let source = session.program().rules()[ready.of.rule].place.source;
        let (read, _) = document::read_partial(source, text, 0, ready.of.form(), session.forms());
        for record in &read {
            for (node, _) in record.values() {
                let to = Some(record.span(node).of(text).to_owned());
                found.insert(Step { path: record.path(node), to });
            }
        }
    }
    found
}

/// What a rule names that a record can have.
#[derive(Default)]
struct Named {
    words: BTreeSet<String>,
    limits: Vec<Quantity>,
    /// Fields of the whole document, with what can be recorded there.
    fields: BTreeSet<Step>,
    lets: HashSet<LetId>,
}

impl Named {
    fn by(program: &Program, rule: RuleId, standard: &Standard) -> Named {
        let mut named = Named::default();
        let Rule { demands, concerns, .. } = &program.rules()[rule];
        // What the standard asks is recorded where it asks for it, and nowhere else.
        let mut of_standard = Named::default();
        standard.condition.iter().for_each(|condition| of_standard.gather(program, condition));
        named.fields = of_standard.fields;
        let mut see = |expr: &Expr| named.gather(program, expr);
        demands.iter().for_each(&mut see);
        match concerns {
            Concerns::Document(condition) => condition.iter().for_each(&mut see),
            Concerns::Each(nested) => nested.iter().flat_map(|each| &each.condition).for_each(&mut see),
        }
        named
    }

    fn gather(&mut self, program: &Program, expr: &Expr) {
        match &expr.kind {
            ExprKind::Constant(Value::Text(text)) => self.word(text),
            ExprKind::Constant(Value::Words(all)) => all.iter().for_each(|word| self.word(word)),
            ExprKind::Constant(Value::Quantity(limit)) => self.limits.push(limit.clone()),
            ExprKind::Constant(Value::Range(range)) => {
                let ends = [range.low(), range.high()].into_iter().flatten();
                self.limits.extend(ends.map(|end| end.value.clone()));
            }
            ExprKind::Let(id, _) if self.lets.insert(*id) => {
                self.gather(program, &program.lets()[*id].value);
            }
            ExprKind::Field { .. } => self.field(expr),
            _ => {}
        }
        expr.for_each_part(&mut |part| self.gather(program, part));
    }

    /// A word, and of a pattern two that follow it.
    fn word(&mut self, word: &str) {
        if word.contains('~') {
            self.words.insert(word.replace('~', "something"));
        }
        self.words.insert(word.replace('~', "").trim().to_owned());
    }

    fn field(&mut self, expr: &Expr) {
        let Some(path) = path_of(expr) else { return };
        let values: Vec<String> = match &expr.ty {
            Type::Truth => vec!["yes".to_owned(), "no".to_owned()],
            Type::Word(words) => words.iter().map(|word| written(word)).collect(),
            _ => return,
        };
        self.fields.extend(values.into_iter().map(|to| Step { path: path.clone(), to: Some(to) }));
    }
}

/// The path of a field of the whole document.
fn path_of(expr: &Expr) -> Option<DocPath> {
    match &expr.kind {
        ExprKind::Root => Some(DocPath::root()),
        ExprKind::Field { base, name, .. } => Some(path_of(base)?.key(name)),
        _ => None,
    }
}
