//! What is asked of logs over a stretch of time.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use super::compute::Computed;
use super::limits::{Limits, within};
use super::logs::{Log, LogEvidence, WatchedLog};
use super::order::one_limit;
use super::verdict::{both, joined, negated};
use super::{Evaluator, Missing, NodeRef, Reason, Truth, Verdict, most_samples};
use crate::code::{FUNCTION_RANGE, LOG_WINDOW, NO_TIME_ZONE, TOO_MUCH_WORK};
use crate::diagnostic::Fault;
use crate::document::log::{self, Misread, Opening, Samples};
use crate::language::ast::{Logic, Timed, When};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::metrology::conformity::{Decision, DecisionRule, Outcome};
use crate::quantity::{Margin, Number, Quantity, Range, Which};
use crate::signal::{
    self, Answer, Atom, Formula, Hole, Missing as Gone, Of, Question, Relation, Sample, Signal, Window,
};
use crate::time::Frame;
use crate::value::Value;

/// A question while it is put together.
struct Asking<'x> {
    logs: Vec<Log>,
    /// For each comparison of the question what it compares with.
    atoms: Vec<End<'x>>,
    /// Why a part of it cannot be decided.
    open: Option<Missing<'x>>,
    /// Why the guard band of a part of it is not known.
    unguarded: Option<Missing<'x>>,
    /// Whether all of its parts must hold together.
    joined_by_and: bool,
}

impl<'x> Asking<'x> {
    /// A part that cannot be decided.
    fn unknown(&mut self, missing: Missing<'x>) -> Formula {
        self.open = Some(joined(self.open.take(), missing));
        Formula::Unknown
    }
}

/// What a question is asked of.
struct Asked<'a, 'x> {
    logs: &'a [Log],
    gaps: Option<i64>,
    window: Window,
    /// Whether the times of the window say their offset.
    frame: Frame,
    from: &'x Expr,
}

/// A comparison of a log with one limit.
#[derive(Clone)]
struct End<'x> {
    log: usize,
    /// Where the rule names that log.
    path: &'x Expr,
    /// How wide the guard band at the limit is.
    band: Option<Quantity>,
    of: Of,
    /// The whole range, of which the limit is one end.
    range: Range,
    limit: Which,
    negated: bool,
}

impl<'x> Evaluator<'x> {
    pub(super) fn timed(&mut self, whole: &'x Expr, timed: &'x Timed<Expr>) -> Computed<'x, Verdict<'x>> {
        let (window, frame) = self.window(&timed.from, &timed.to)?;
        let gaps = timed.gaps.as_ref().map(|gaps| self.nanoseconds_of(gaps)).transpose()?;
        let mut asking =
            Asking { logs: Vec::new(), atoms: Vec::new(), open: None, unguarded: None, joined_by_and: true };
        let held = match &timed.when {
            When::HeldFor(duration) => Some(self.nanoseconds_of(duration)?),
            _ => None,
        };
        let body = self.formula(&timed.body, false, &mut asking)?;
        let question = match (&timed.when, held) {
            (When::Until(then), _) => Question::Until(body, self.formula(then, false, &mut asking)?),
            (_, Some(duration)) => Question::HeldFor(duration, body),
            (When::AtSomeMoment, _) => Question::AtSomeMoment(body),
            _ => Question::Throughout(body),
        };
        let Asking { logs, atoms, open, unguarded, joined_by_and } = asking;
        let Some(first) = logs.first().copied() else {
            return Err(open.unwrap_or(self.fault_at(too_far(), None)));
        };
        let asked = Asked { logs: &logs, gaps, window, frame, from: &timed.from };
        let answer = self.ask(&asked, &question, first)?;
        // A margin that weighs degrees against revolutions says nothing.
        let weighs = joined_by_and && !matches!(question, Question::Until(..)) || of_one_kind(&atoms);
        let decided_by = answer.decided_by.and_then(|number| atoms.get(number));
        let watched = decided_by.filter(|_| weighs).zip(answer.margin.clone());
        let watched =
            watched.and_then(|(limits, margin)| watched_at(limits, *logs.get(limits.log)?, &margin));
        let (at, margin) = match &watched {
            Some((watched, margin)) => (watched.log.at, Some(margin.clone())),
            None => (first.at, None),
        };
        let guarded = match self.is_guarded(&asked, &question, &atoms, &answer, unguarded)? {
            Some(Err(missing)) => Some(missing),
            Some(Ok(())) => Some(self.in_the_band(decided_by, watched.as_ref(), at)),
            None => None,
        };
        let mut verdict = match (answer.truth, &answer.hole, guarded) {
            (Some(_), _, Some(missing)) => {
                let mut verdict = self.undecided(whole, missing);
                if let Some(leaf) = &mut verdict.leaf {
                    leaf.margin = margin;
                }
                verdict
            }
            (Some(holds), ..) => self.leaf(whole, Truth::from_bool(holds), Some(at), margin),
            (None, hole, _) => {
                let of_data = hole.as_ref().and_then(|hole| of_data(hole, &asked));
                let missing = match (of_data, open) {
                    (Some(missing), _) => missing,
                    (None, Some(open)) => self.with_holes(open, &asked, &question, first)?,
                    (None, None) => self.unreadable(Some(first.at)),
                };
                self.undecided(whole, missing)
            }
        };
        let shown = watched.map_or(WatchedLog::only(first), |(watched, _)| watched);
        let one_range = joined_by_and
            && atoms.iter().zip(atoms.iter().skip(1)).all(|(a, b)| a.log == b.log && a.range == b.range);
        let course = LogEvidence { answer, question, window, gaps, shown, one_range };
        if let Some(leaf) = &mut verdict.leaf {
            leaf.course = Some(Box::new(course));
        }
        Ok(verdict)
    }

    /// The answer to a question about logs.
    fn ask(&mut self, asked: &Asked<'_, 'x>, question: &Question, first: Log) -> Computed<'x, Answer> {
        let share = Rc::clone(&self.share);
        let (left, most) = (share.samples_left(), most_samples(self.most_steps));
        let mut signals = Vec::with_capacity(asked.logs.len());
        for log in asked.logs {
            let samples = Counted { samples: self.samples(log, Some(asked.frame))?, left, most, besides: 0 };
            signals.push(Signal { samples, sampling: log.sampling, largest_gap: asked.gaps });
        }
        let answer = signal::ask(signals, question, asked.window);
        answer.map_err(|fault| match fault.code {
            LOG_WINDOW => {
                let at = self.value(asked.from).ok().and_then(|from| from.at);
                self.fault_at(fault, at.or(Some(first.at)))
            }
            _ => self.misread(first.at, fault),
        })
    }

    /// What leaves a question open besides a value that was not recorded: a hole in a log that leaves it open
    /// whatever that value is.
    fn with_holes(
        &mut self,
        open: Missing<'x>,
        asked: &Asked<'_, 'x>,
        question: &Question,
        first: Log,
    ) -> Computed<'x, Missing<'x>> {
        if !open.is_not_recorded() {
            return Ok(open);
        }
        for holds in [false, true] {
            let answer = self.ask(asked, &changed(question, &mut Supposed(holds)), first)?;
            let hole = answer.hole.filter(|_| answer.truth.is_none());
            if let Some(missing) = hole.and_then(|hole| of_data(&hole, asked)) {
                return Ok(open.with(missing));
            }
        }
        Ok(open)
    }

    /// Whether an answer does not stand where the limits are moved by the guard bands, and why where these
    /// are not known. Guarded acceptance moves them so that less is accepted, guarded rejection so that less is
    /// rejected.
    fn is_guarded(
        &mut self,
        asked: &Asked<'_, 'x>,
        question: &Question,
        atoms: &[End<'x>],
        answer: &Answer,
        unguarded: Option<Missing<'x>>,
    ) -> Computed<'x, Option<Result<(), Missing<'x>>>> {
        let narrower = match answer.truth.and_then(|holds| Some((self.guard(holds)?, holds))) {
            Some((DecisionRule::GuardedAcceptance(_), true)) => true,
            Some((DecisionRule::GuardedRejection(_), false)) => false,
            _ => return Ok(None),
        };
        if let Some(missing) = unguarded {
            return Ok(Some(Err(missing)));
        }
        if atoms.iter().all(|end| end.band.as_ref().is_none_or(|band| band.magnitude().is_zero())) {
            return Ok(None);
        }
        let distances = atoms.iter().map(|end| {
            let band = end.band.as_ref().map_or(Number::ZERO, Quantity::base);
            let upwards = (end.limit == Which::Low) == (narrower != end.negated);
            if upwards { band } else { -&band }
        });
        let guarded = changed(question, &mut Moved(distances));
        let Some(first) = asked.logs.first() else { return Ok(None) };
        let stands = self.ask(asked, &guarded, *first)?.truth == answer.truth;
        Ok((!stands).then_some(Ok(())))
    }

    /// That a log lies nearer to a limit than its uncertainty allows to tell.
    fn in_the_band(
        &self,
        end: Option<&End<'x>>,
        watched: Option<&(WatchedLog, Margin)>,
        at: NodeRef,
    ) -> Missing<'x> {
        let by = self.decided_by();
        let told = end.zip(watched).and_then(|(end, (_, margin))| {
            let margin = if end.negated { negated(margin.clone()) } else { margin.clone() };
            let guard = end.band.clone()?;
            let outcome = Outcome::GuardBand;
            let decision = Decision { outcome, margin, guard, probability: None };
            Some(Reason::Guarded(Box::new(decision), end.path, by.clone()))
        });
        let reason = told.unwrap_or_else(|| {
            let what = format!("the logs lie inside the uncertainty of the tool at a limit, decided by {by}");
            Reason::Fault(Box::new(Fault::new(FUNCTION_RANGE, what)))
        });
        Missing { at, reason }
    }

    /// The samples of a log, from the first one on, which are compared with times of this frame.
    pub(crate) fn samples(&mut self, log: &Log, frame: Option<Frame>) -> Computed<'x, Samples> {
        let document = self.doc(log.at);
        let name = self.sources.name(document.source);
        let opening = Opening { document: name, zone: &self.setting.zone, frame, logs: self.logs };
        log::samples(document, log.at.node, log.kind, opening).map_err(|misread| {
            let Misread { fault, .. } = *misread;
            self.misread(log.at, fault)
        })
    }

    /// Why a log cannot be read. What is wrong with that of a document is reported with it; a trial has
    /// nobody else to say it.
    fn misread(&self, at: NodeRef, fault: Fault) -> Missing<'x> {
        let said_here = self.given.is_some() || [TOO_MUCH_WORK, NO_TIME_ZONE].contains(&fault.code);
        match said_here {
            true => self.fault_at(fault, Some(at)),
            false => Missing { at, reason: Reason::Unreadable },
        }
    }

    /// The stretch of time from one instant to another, and whether their times say their offset.
    fn window(&mut self, from: &'x Expr, to: &'x Expr) -> Computed<'x, (Window, Frame)> {
        let ((begin, frame), (end, other)) = both(self.nanoseconds_at(from), self.nanoseconds_at(to))?;
        if let Err(fault) = frame.agrees(other, &self.setting.zone) {
            let at = self.value(to).ok().and_then(|to| to.at);
            return Err(self.fault_at(fault, at));
        }
        Ok((Window { from: begin, to: end }, frame))
    }

    /// An instant, in nanoseconds since 1970-01-01T00:00:00Z.
    fn nanoseconds_at(&mut self, expr: &'x Expr) -> Computed<'x, (i64, Frame)> {
        let operand = self.value(expr)?;
        let Value::Moment(moment) = operand.get() else {
            return Err(Missing { at: operand.at.unwrap_or(self.root()), reason: Reason::Unreadable });
        };
        let instant = self.instant(moment).map_err(|fault| self.fault_at(fault, operand.at))?;
        let nanoseconds = i64::try_from(instant.as_nanosecond());
        let nanoseconds = nanoseconds.map_err(|_| self.fault_at(too_far(), operand.at))?;
        Ok((nanoseconds, Frame::of(moment)))
    }

    /// A duration in whole nanoseconds.
    fn nanoseconds_of(&mut self, expr: &'x Expr) -> Computed<'x, i64> {
        let operand = self.value(expr)?;
        let nanoseconds =
            operand.quantity().map(|quantity| &quantity.base() * &Number::from(1_000_000_000_i64));
        nanoseconds.and_then(|number| number.floor()).ok_or_else(|| self.fault_at(too_far(), operand.at))
    }

    /// What is asked of each instant. A value that is missing leaves its comparison open, not the whole.
    fn formula(&mut self, expr: &'x Expr, negated: bool, asking: &mut Asking<'x>) -> Computed<'x, Formula> {
        Ok(match &expr.kind {
            ExprKind::Not(inner) => {
                asking.joined_by_and = false;
                let inner = self.negated(|inner_self| inner_self.formula(inner, !negated, asking))?;
                Formula::Not(Box::new(inner))
            }
            ExprKind::Logic(logic, left, right) => {
                let implies = *logic == Logic::Implies;
                asking.joined_by_and &= *logic == Logic::And;
                let left = match implies {
                    true => self.negated(|inner_self| inner_self.formula(left, !negated, asking))?,
                    false => self.formula(left, negated, asking)?,
                };
                let right = self.formula(right, negated, asking)?;
                match logic {
                    Logic::And => Formula::And(vec![left, right]),
                    Logic::Or => Formula::Or(vec![left, right]),
                    Logic::Implies => Formula::Or(vec![Formula::Not(Box::new(left)), right]),
                }
            }
            ExprKind::Compare(_, log_expr, _) | ExprKind::Within(log_expr, _)
                if matches!(log_expr.ty, Type::Log(..)) =>
            {
                match self.log_and_limits(expr, log_expr) {
                    Ok((log, of, limits)) => {
                        let path = path_of(log_expr);
                        let band = self.band(expr, &limits.range).unwrap_or_else(|missing| {
                            asking.unguarded.get_or_insert(missing);
                            None
                        });
                        let whole = End {
                            log: 0,
                            path,
                            band,
                            of,
                            range: Range::clone(&limits.range),
                            limit: Which::Low,
                            negated,
                        };
                        let known = atoms(log, &whole, asking);
                        match limits.open {
                            Some(missing) => Formula::And(vec![known, asking.unknown(missing)]),
                            None => known,
                        }
                    }
                    Err(missing) => asking.unknown(missing),
                }
            }
            _ => {
                let verdict: Verdict<'x> = self.answer(expr);
                match verdict.truth {
                    Truth::Yes => Formula::Known(true),
                    Truth::No => Formula::Known(false),
                    Truth::Unknown => {
                        asking.unknown(verdict.missing().unwrap_or_else(|| self.unreadable(None)))
                    }
                }
            }
        })
    }

    /// The log that a comparison looks at, what of it, and the limits within which that must lie.
    fn log_and_limits(&mut self, comparison: &'x Expr, log: &'x Expr) -> Computed<'x, (Log, Of, Limits<'x>)> {
        let (path, of) = match &log.kind {
            ExprKind::Rate(path) => (&**path, Of::Rate),
            _ => (log, Of::Level),
        };
        let (at, limits) = within(self.node(path), self.limits_in(comparison))?;
        let Type::Log(kind, sampling) = path.ty else { return Err(self.unreadable(Some(at))) };
        Ok((Log { at, kind, sampling }, of, limits))
    }

    /// The limits of a comparison.
    fn limits_in(&mut self, comparison: &'x Expr) -> Computed<'x, Limits<'x>> {
        match &comparison.kind {
            ExprKind::Compare(comparison, _, limit) => {
                let limit = self.value(limit)?;
                let range = limit.quantity().and_then(|quantity| one_limit(*comparison, quantity));
                let range = range.ok_or_else(|| self.unreadable(limit.at))?;
                let range = range.map_err(|fault| self.fault_at(fault, limit.at))?;
                Ok(Limits { range: Arc::new(range), open: None })
            }
            ExprKind::Within(_, range) => self.limits(range),
            _ => Err(self.unreadable(None)),
        }
    }
}

/// A range as one comparison for each of its ends.
fn atoms<'x>(log: Log, whole: &End<'x>, asking: &mut Asking<'x>) -> Formula {
    let signal = asking.logs.iter().position(|known| known.at == log.at).unwrap_or_else(|| {
        asking.logs.push(log);
        asking.logs.len() - 1
    });
    let low = whole.range.low().map(|low| {
        let relation = if low.inclusive { Relation::AtLeast } else { Relation::Above };
        (Which::Low, relation, low.value.base())
    });
    let high = whole.range.high().map(|high| {
        let relation = if high.inclusive { Relation::AtMost } else { Relation::Below };
        (Which::High, relation, high.value.base())
    });
    let mut parts: Vec<Formula> = Vec::new();
    for (limit, relation, value) in low.into_iter().chain(high) {
        asking.atoms.push(End { log: signal, limit, ..whole.clone() });
        parts.push(Formula::Atom(Atom { signal, of: whole.of, relation, limit: value }));
    }
    match <[Formula; 1]>::try_from(parts) {
        Ok([only]) => only,
        Err(parts) => Formula::And(parts),
    }
}

/// The log that an operand names.
fn path_of(log: &Expr) -> &Expr {
    match &log.kind {
        ExprKind::Rate(path) => path,
        _ => log,
    }
}

/// Why a log of which something is asked does not decide.
fn of_data<'x>(hole: &Hole, asked: &Asked<'_, 'x>) -> Option<Missing<'x>> {
    let (Gone::BeforeData(number) | Gone::AfterData(number) | Gone::Gap(number)) = hole.why else {
        return None;
    };
    let log = asked.logs.get(number)?;
    Some(Missing { at: log.at, reason: Reason::Hole(Box::new(hole.clone()), asked.gaps) })
}

/// A change of the parts of a question.
trait Change {
    fn atom(&mut self, atom: &Atom) -> Atom {
        atom.clone()
    }

    /// A part that is not known, and whether it stands below an odd number of `not`.
    fn unknown(&self, _negated: bool) -> Formula {
        Formula::Unknown
    }
}

/// Each limit moved by the next distance.
struct Moved<D>(D);

impl<D: Iterator<Item = Number>> Change for Moved<D> {
    fn atom(&mut self, atom: &Atom) -> Atom {
        let limit = self.0.next().map_or(atom.limit.clone(), |by| &atom.limit + &by);
        Atom { limit, ..atom.clone() }
    }
}

/// What is not known supposed to be for the question, or against it.
struct Supposed(bool);

impl Change for Supposed {
    fn unknown(&self, negated: bool) -> Formula {
        Formula::Known(self.0 != negated)
    }
}

/// The same question with its parts changed.
fn changed(question: &Question, change: &mut dyn Change) -> Question {
    match question {
        Question::Throughout(body) => Question::Throughout(formula_changed(body, false, change)),
        Question::AtSomeMoment(body) => Question::AtSomeMoment(formula_changed(body, false, change)),
        Question::HeldFor(duration, body) => {
            Question::HeldFor(*duration, formula_changed(body, false, change))
        }
        Question::Until(body, then) => {
            let body = formula_changed(body, false, change);
            Question::Until(body, formula_changed(then, false, change))
        }
    }
}

fn formula_changed(formula: &Formula, negated: bool, change: &mut dyn Change) -> Formula {
    let mut all =
        |parts: &[Formula]| parts.iter().map(|part| formula_changed(part, negated, change)).collect();
    match formula {
        Formula::And(parts) => Formula::And(all(parts)),
        Formula::Or(parts) => Formula::Or(all(parts)),
        Formula::Not(inner) => Formula::Not(Box::new(formula_changed(inner, !negated, change))),
        Formula::Atom(atom) => Formula::Atom(change.atom(atom)),
        Formula::Unknown => change.unknown(negated),
        Formula::Known(known) => Formula::Known(*known),
    }
}

/// Whether all limits are of kinds that compare.
fn of_one_kind(atoms: &[End<'_>]) -> bool {
    let kinds = || atoms.iter().map(|limits| limits.range.kind().difference_kind());
    kinds().zip(kinds().skip(1)).all(|(a, b)| a.comparable(b).is_ok())
}

/// The value whose margin decided, in the unit of the limit, and that margin as one of the range.
fn watched_at(limits: &End<'_>, log: Log, margin: &Number) -> Option<(WatchedLog, Margin)> {
    let End { of, range, limit, negated: is_negated, .. } = limits;
    let own = if *is_negated { -margin } else { margin.clone() };
    let (end, base) = match limit {
        Which::Low => {
            let end = &range.low()?.value;
            (end, &end.base() + &own)
        }
        Which::High => {
            let end = &range.high()?.value;
            (end, &end.base() - &own)
        }
    };
    let value = Quantity::from_base(base, range.kind());
    let value = end.unit().map_or(value.clone(), |unit| value.in_unit(unit));
    let margin = range.margin(&value);
    let margin = if *is_negated { negated(margin) } else { margin };
    Some((
        WatchedLog { log, of: *of, range: Some(range.clone()), value: Some(value), negated: *is_negated },
        margin,
    ))
}

fn too_far() -> Fault {
    Fault::new(FUNCTION_RANGE, "the time is out of all range")
}

/// Counts the samples that the rules read for a document, and ends where they have read too many.
struct Counted<'c> {
    samples: Samples,
    left: &'c Cell<u64>,
    most: u64,
    /// What was counted besides the entries.
    besides: u64,
}

impl Iterator for Counted<'_> {
    type Item = Result<Sample, Fault>;

    fn next(&mut self) -> Option<Self::Item> {
        let sample = self.samples.next();
        let besides = self.samples.besides();
        let taken = 1 + besides.saturating_sub(std::mem::replace(&mut self.besides, besides));
        match self.left.get().checked_sub(taken) {
            Some(left) => self.left.set(left),
            None => {
                self.left.set(0);
                let what = format!(
                    "the rules read more than {} entries of logs for this document (64 bytes of text count as one)",
                    self.most
                );
                return Some(Err(Fault::new(TOO_MUCH_WORK, what)
                    .help("keep the stretch of time that matters, or allow more with `--most-steps`")));
            }
        }
        sample
    }
}
