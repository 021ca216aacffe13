//! Whether an expression holds: what `and`, `or`, `not`, the quantifiers and each sort of comparison mean.

use std::cmp::Ordering;

use super::answer::Answer;
use super::compute::Computed;
use super::elements::Elements;
use super::guarded::Guarding;
use super::limits::{Limits, within};
use super::order::{compare_equal, one_limit};
use super::verdict::{both, joined};
use super::{Evaluator, Leaf, Missing, NodeRef, Reason, Step, Truth, Verdict};
use crate::language::ast::{Comparison, Logic, Quantifier};
use crate::language::typed::{Expr, ExprKind};
use crate::metrology::conformity::Outcome;
use crate::quantity::{Margin, Quantity, Range};
use crate::value::Value;

impl<'x> Evaluator<'x> {
    /// Whether a condition holds; what decided it is not asked. A condition chooses what is judged, and what it
    /// compares cannot be told where a reading is too uncertain for it.
    pub(super) fn condition(&mut self, condition: &'x Expr) -> Truth {
        self.choosing(|inner| match inner.steps {
            None => inner.briefly(|inner| inner.answer(condition)),
            Some(_) => inner.answer::<Verdict<'x>>(condition).truth,
        })
    }

    /// The same with what decided it.
    pub(super) fn condition_in_full(&mut self, condition: &'x Expr) -> Verdict<'x> {
        self.choosing(|inner| inner.answer(condition))
    }

    /// Runs `inside` where only that something is open counts, and not why.
    pub(super) fn briefly<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let outer = std::mem::replace(&mut self.in_full, false);
        let result = inside(self);
        self.in_full = outer;
        result
    }

    /// What an expression that holds or not comes to.
    pub(super) fn answer<A: Answer<'x>>(&mut self, expr: &'x Expr) -> A {
        let answer: A = self.answered(expr);
        self.note_came(expr, answer.truth());
        answer
    }

    fn answered<A: Answer<'x>>(&mut self, expr: &'x Expr) -> A {
        self.share.step();
        match &expr.kind {
            ExprKind::Not(inner) => self.negated(|negated| negated.answer::<A>(inner)).negate(),
            ExprKind::Decided(rule, inner) => {
                self.guarding = Guarding::by_demand(rule);
                self.answer(inner)
            }
            ExprKind::Logic(logic, left, right) => self.connected(*logic, left, right),
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                self.quantified(expr, *quantifier, *slot, list, condition.as_deref(), body)
            }
            ExprKind::Let(id, entry) => {
                let answer = self.answer_of_let(*id, entry.as_deref());
                answer.unwrap_or_else(|missing| A::open(self, expr, missing))
            }
            ExprKind::Cases(cases) => {
                if let Some(value) = self.case_in(cases) {
                    return self.answer(value);
                }
                let decided = |inner: &mut Self, value| {
                    let verdict: Verdict<'x> = inner.answer(value);
                    match verdict.truth {
                        Truth::Unknown => Err(verdict.missing().unwrap_or(inner.unreadable(None))),
                        _ => Ok(verdict),
                    }
                };
                let verdict = self.by_cases(cases, decided, |one, other| one.truth == other.truth);
                verdict.map_or_else(|missing| A::open(self, expr, missing), A::from)
            }
            _ => {
                let answer = self.comparison::<A>(expr);
                self.note_step(&answer);
                answer
            }
        }
    }

    fn connected<A: Answer<'x>>(&mut self, logic: Logic, left: &'x Expr, right: &'x Expr) -> A {
        let one: A = match logic {
            Logic::Implies => self.negated(|negated| negated.answer::<A>(left)).negate(),
            Logic::And | Logic::Or => self.answer(left),
        };
        let settles = Truth::from_bool(logic != Logic::And);
        if one.is_settled_by(settles) {
            return one;
        }
        let other: A = self.answer(right);
        match logic {
            Logic::And => one.and(other),
            Logic::Implies => one.or_rather(other),
            Logic::Or if is_condition(left) && !is_condition(right) => one.or_rather(other),
            Logic::Or => one.or(other),
        }
    }

    fn quantified<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        quantifier: Quantifier,
        slot: usize,
        list: &'x Expr,
        condition: Option<&'x Expr>,
        body: &'x Expr,
    ) -> A {
        let asked = condition.filter(|_| A::IS_BRIEF);
        let Elements { list, entries: elements, rest } = match self.elements(list, Some(slot), asked) {
            Ok(found) => found,
            Err(missing) => return A::open(self, whole, missing),
        };
        let settles = Truth::from_bool(quantifier == Quantifier::Some);
        let mut result: Option<A> = None;
        for element in &*elements {
            if !self.spend() {
                return A::open(self, whole, self.too_long());
            }
            self.set(slot, list.beside(*element));
            let one: A = self.of_element(quantifier, condition, body);
            let whole = beside(quantifier, result, one);
            if whole.is_settled_by(settles) {
                return whole;
            }
            result = Some(whole);
        }
        if let Some(missing) = rest {
            let open = A::open(self, whole, missing);
            result = Some(beside(quantifier, result, open));
        }
        match result {
            // What holds of no elements at all: `every` and `no` do, `some` does not.
            None => {
                let at = self.sought(body, slot).unwrap_or(list);
                A::decided(self, whole, quantifier != Quantifier::Some, Some(at), || None)
            }
            // No element is to blame more than another: the list as a whole has none that is wanted.
            Some(result)
                if quantifier == Quantifier::Some
                    && result.truth() == Truth::No
                    && result
                        .leaf()
                        .is_some_and(|leaf| leaf.margin.is_none() && leaf.expr.is_about(slot)) =>
            {
                let at = self.sought(body, slot).unwrap_or(list);
                A::decided(self, whole, false, Some(at), || None)
            }
            Some(result) => result,
        }
    }

    /// The value that is looked for in a list, where a comparison begins with one of something else.
    fn sought(&mut self, body: &'x Expr, slot: usize) -> Option<NodeRef> {
        let value = match &body.kind {
            ExprKind::Logic(Logic::And, left, right) => {
                return self.sought(left, slot).or_else(|| self.sought(right, slot));
            }
            ExprKind::Compare(_, value, _) => value,
            _ => return None,
        };
        value.variable().filter(|variable| *variable != slot)?;
        self.node(value).ok().filter(|node| node.is_own())
    }

    /// What one element says of the whole list.
    fn of_element<A: Answer<'x>>(
        &mut self,
        quantifier: Quantifier,
        condition: Option<&'x Expr>,
        body: &'x Expr,
    ) -> A {
        // Of every element that counts the body is asked: of the others it holds as it is.
        let is_every = quantifier == Quantifier::Every;
        let counts: Option<A> = condition.map(|condition| match quantifier {
            Quantifier::Every => self.negated(|inner| inner.answer::<A>(condition)).negate(),
            Quantifier::No => self.negated(|inner| inner.answer(condition)),
            Quantifier::Some => self.answer(condition),
        });
        let passed_over = Truth::from_bool(is_every);
        let one = match counts {
            Some(counts) if counts.is_settled_by(passed_over) => counts,
            counts => {
                let body: A = match quantifier {
                    Quantifier::No => self.negated(|negated| negated.answer(body)),
                    Quantifier::Every | Quantifier::Some => self.answer(body),
                };
                match counts {
                    None => body,
                    Some(counts) => {
                        let (one, other) = (body.truth(), counts.truth());
                        body.unless(counts, if is_every { one.max(other) } else { one.min(other) })
                    }
                }
            }
        };
        if quantifier == Quantifier::No { one.negate() } else { one }
    }

    /// Keeps a comparison, where someone wants to see them.
    fn note_step<A: Answer<'x>>(&mut self, answer: &A) {
        let (Some(steps), Some(leaf)) = (&mut self.steps, answer.leaf()) else { return };
        steps.push(Step { truth: answer.truth(), leaf: leaf.clone(), working: self.working.take() });
    }

    fn comparison<A: Answer<'x>>(&mut self, expr: &'x Expr) -> A {
        let decided = match &expr.kind {
            ExprKind::Compare(comparison, left, right) => self.compare(expr, *comparison, left, right),
            ExprKind::InOrder(comparison, left, right) => self.in_order(expr, *comparison, left, right),
            ExprKind::Within(value, range) => self.within(expr, value, range),
            ExprKind::OneOf { value, negated, options } => self.one_of(expr, value, *negated, options),
            ExprKind::Recorded(path) => Ok(self.recorded(expr, path)),
            ExprKind::Timed(timed) => self.timed(expr, timed).map(A::from),
            _ => self.said(expr),
        };
        decided.unwrap_or_else(|missing| match self.whatever_the_counts(expr) {
            Some(verdict) => verdict.into(),
            None => A::open(self, expr, missing),
        })
    }

    /// What is itself a yes or no.
    fn said<A: Answer<'x>>(&mut self, expr: &'x Expr) -> Computed<'x, A> {
        let operand = self.value(expr)?;
        let holds = matches!(operand.get(), Value::Truth(true));
        self.is_certain(expr)?;
        Ok(A::decided(self, expr, holds, operand.at, || None))
    }

    pub(super) fn leaf(
        &self,
        expr: &'x Expr,
        truth: Truth,
        at: Option<NodeRef>,
        margin: Option<Margin>,
    ) -> Verdict<'x> {
        Verdict { truth, leaf: Some(Box::new(Leaf { at, margin, ..self.nothing(expr) })) }
    }

    pub(super) fn undecided(&self, expr: &'x Expr, missing: Missing<'x>) -> Verdict<'x> {
        let (missing, besides) = missing.split();
        let open = |missing: Missing<'x>| Leaf {
            at: Some(missing.at),
            missing: Some(Box::new(missing)),
            ..self.nothing(expr)
        };
        let besides = besides.map(|besides| Box::new(open(besides)));
        Verdict { truth: Truth::Unknown, leaf: Some(Box::new(Leaf { besides, ..open(missing) })) }
    }

    /// A comparison of which nothing is told yet.
    fn nothing(&self, expr: &'x Expr) -> Leaf<'x> {
        Leaf {
            expr,
            negated: false,
            at: None,
            slots: self.slots,
            margin: None,
            missing: None,
            course: None,
            besides: None,
        }
    }

    /// Whether a value lies in a range. A range with one known end is decided by that end where it already
    /// decides against the value: the other end could change nothing.
    fn within<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        value: &'x Expr,
        range: &'x Expr,
    ) -> Computed<'x, A> {
        let (value, Limits { range, open }) = within(self.value(value), self.limits(range))?;
        let Some(quantity) = value.quantity() else { return Err(self.unreadable(value.at)) };
        let Some(missing) = open else { return self.decided(whole, quantity, &range, value.at) };
        match self.decided::<Verdict<'x>>(whole, quantity, &range, value.at) {
            Ok(verdict) if verdict.truth == Truth::No => Ok(verdict.into()),
            Ok(verdict) => Err(match verdict.missing() {
                Some(other) => missing.with(other),
                None => missing,
            }),
            Err(other) => Err(missing.with(other)),
        }
    }

    /// Whether a quantity lies in a range, decided by the rule for uncertain readings at hand.
    fn decided<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        quantity: &Quantity,
        range: &Range,
        at: Option<NodeRef>,
    ) -> Computed<'x, A> {
        self.note_beyond(whole, range, quantity);
        self.note_compared(whole, quantity, range);
        let Some(decision) = self.guarded(whole, quantity, range, at)? else {
            return Ok(A::decided(self, whole, range.contains(quantity), at, || {
                Some(range.margin(quantity))
            }));
        };
        let margin = decision.margin.clone();
        Ok(match decision.outcome {
            Outcome::Accept => A::decided(self, whole, true, at, || Some(margin)),
            Outcome::Reject => A::decided(self, whole, false, at, || Some(margin)),
            Outcome::GuardBand => {
                let reason = Reason::Guarded(Box::new(decision), whole.looks_at(), self.decided_by());
                let missing = Missing { at: at.unwrap_or(self.root()), reason };
                let mut verdict = self.undecided(whole, missing);
                if let Some(leaf) = &mut verdict.leaf {
                    leaf.margin = Some(margin);
                }
                verdict.into()
            }
        })
    }

    fn compare<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        comparison: Comparison,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Computed<'x, A> {
        let (left, right) = both(self.value(left), self.value(right))?;
        let at = left.at.or(right.at);
        if let (Value::Quantity(a), Value::Quantity(b)) = (left.get(), right.get()) {
            return match one_limit(comparison, b) {
                Some(range) => {
                    let range = range.map_err(|fault| self.fault_at(fault, at))?;
                    self.decided(whole, a, &range, at)
                }
                None => {
                    let (holds, margin) =
                        compare_equal(comparison, a, b).map_err(|fault| self.fault_at(fault, at))?;
                    Ok(A::decided(self, whole, holds, at, || Some(margin)))
                }
            };
        }
        let holds = match comparison {
            Comparison::Is => self.same(left.get(), right.get()),
            Comparison::IsNot => self.same(left.get(), right.get()).map(|same| same.map(|same| !same)),
            Comparison::Before => {
                self.order_in_time(left.get(), right.get()).map(|order| order.map(Ordering::is_lt))
            }
            Comparison::After => {
                self.order_in_time(left.get(), right.get()).map(|order| order.map(Ordering::is_gt))
            }
            _ => Ok(None),
        };
        match holds.map_err(|fault| self.fault_at(fault, at))? {
            Some(holds) => Ok(A::decided(self, whole, holds, at, || None)),
            None => Err(self.unreadable(at)),
        }
    }

    fn one_of<A: Answer<'x>>(
        &mut self,
        whole: &'x Expr,
        value: &'x Expr,
        negated: bool,
        options: &'x [Expr],
    ) -> Computed<'x, A> {
        let value = self.value(value);
        let (mut found, mut open) = (false, None);
        for option in options {
            match (self.value(option), &value) {
                (Ok(option), Ok(value)) => match self.same(value.get(), option.get()) {
                    Ok(same) => found |= same == Some(true),
                    Err(fault) => open = Some(joined(open.take(), self.fault_at(fault, value.at))),
                },
                (Ok(_), Err(_)) => {}
                (Err(missing), _) => open = Some(joined(open.take(), missing)),
            }
        }
        match (value, open) {
            (Ok(_), Some(missing)) if !found => Err(missing),
            (Ok(value), _) => Ok(A::decided(self, whole, found != negated, value.at, || None)),
            (Err(missing), Some(other)) => Err(missing.with(other)),
            (Err(missing), None) => Err(missing),
        }
    }

    fn recorded<A: Answer<'x>>(&mut self, whole: &'x Expr, path: &'x Expr) -> A {
        let (holds, at) = match &path.kind {
            ExprKind::Parameter(number, entry) => match self.parameter(*number, entry.as_deref()) {
                Ok(_) => (true, None),
                Err(Missing { reason: Reason::NoParameter(_), .. }) => (false, None),
                // Something is stated, and nobody can tell what.
                Err(missing) => return A::open(self, whole, missing),
            },
            _ => match self.node(path) {
                Ok(node) => (true, Some(node)),
                // Something is recorded there, and nobody can tell what.
                Err(missing @ Missing { reason: Reason::Unreadable, .. }) => {
                    return A::open(self, whole, missing);
                }
                Err(missing) => (false, Some(missing.at)),
            },
        };
        A::decided(self, whole, holds, at, || None)
    }
}

/// What one element more says of the whole list.
fn beside<'x, A: Answer<'x>>(quantifier: Quantifier, so_far: Option<A>, one: A) -> A {
    match (so_far, quantifier) {
        (None, _) => one,
        (Some(so_far), Quantifier::Some) => so_far.or(one),
        (Some(so_far), Quantifier::Every | Quantifier::No) => so_far.and(one),
    }
}

/// Whether a side of an `or` only says where the other is asked for.
pub(crate) fn is_condition(side: &Expr) -> bool {
    match &side.kind {
        ExprKind::Recorded(_) => true,
        ExprKind::Not(inner) => matches!(inner.kind, ExprKind::Recorded(_) | ExprKind::Call { .. }),
        _ => false,
    }
}
