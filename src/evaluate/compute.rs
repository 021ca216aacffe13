//! Values and truths of expressions.

use std::cmp::Ordering;

use super::MOST_LOOKS;
use super::aggregate::Over;
use super::guarded::Guarding;
use super::limits::{Limits, within};
use super::order::{compare_equal, one_limit};
use super::verdict::{all, both, joined};
use super::{Evaluator, Leaf, Missing, Reason, Spot, Truth, Verdict};
use crate::code::TOO_MUCH_WORK;
use crate::diagnostic::Fault;
use crate::document::{Bound, Link, NodeKind, Target};
use crate::language::ast::{Arithmetic, Comparison, Logic, Quantifier};
use crate::language::typed::{Expr, ExprKind};
use crate::metrology::conformity::Outcome;
use crate::quantity::{Margin, Quantity, Range};
use crate::value::Value;

/// A value and the node it was read from, where it was read from one.
pub(super) struct Operand<'x> {
    value: Held<'x>,
    pub(super) at: Option<Spot>,
}

enum Held<'x> {
    Lent(&'x Value<'x>),
    Own(Value<'x>),
}

impl<'x> Operand<'x> {
    fn lent(value: &'x Value<'x>, at: Option<Spot>) -> Self {
        Operand { value: Held::Lent(value), at }
    }

    pub(super) fn own(value: Value<'x>) -> Self {
        Operand { value: Held::Own(value), at: None }
    }

    pub(super) fn own_at(value: Value<'x>, at: Spot) -> Self {
        Operand { value: Held::Own(value), at: Some(at) }
    }

    /// The value.
    pub(super) fn get(&self) -> &Value<'x> {
        match &self.value {
            Held::Lent(value) => value,
            Held::Own(value) => value,
        }
    }

    pub(super) fn into_value(self) -> Value<'x> {
        match self.value {
            Held::Lent(value) => value.clone(),
            Held::Own(value) => value,
        }
    }

    pub(super) fn quantity(&self) -> Option<&Quantity> {
        match self.get() {
            Value::Quantity(quantity) => Some(quantity),
            _ => None,
        }
    }
}

pub(super) type Computed<'x, T> = Result<T, Missing<'x>>;

impl<'x> Evaluator<'x> {
    /// The node that a path leads to.
    pub(super) fn node(&mut self, expr: &'x Expr) -> Computed<'x, Spot> {
        match &expr.kind {
            ExprKind::Root => Ok(self.root()),
            ExprKind::Variable(slot) => Ok(self.slots.get(*slot).copied().unwrap_or(self.root())),
            ExprKind::Let(number) => match self.program.lets().get(*number) {
                Some(definition) => self.aside(|inner| inner.node(&definition.value)),
                None => Err(self.fault(Fault::new(crate::code::FUNCTION_RANGE, "there is no such let"))),
            },
            ExprKind::Field { base, index, .. } => match self.node(base) {
                Ok(parent) => {
                    match self.doc(parent).field(parent.node, *index).map(|node| parent.beside(node)) {
                        None if self.is_of_no_fields(parent) => {
                            Err(Missing { at: parent, reason: Reason::Unreadable })
                        }
                        Some(node) if !self.is_empty(node) => Ok(node),
                        // What is recorded under nearly its name may be its value.
                        _ if let Some(node) = self.doc(parent).misspelt(parent.node, *index) => {
                            Err(Missing { at: parent.beside(node), reason: Reason::Unreadable })
                        }
                        // A field that waits for its value is the place where it should stand.
                        Some(node) => Err(Missing { at: node, reason: Reason::NotRecorded(expr, 0) }),
                        None => Err(Missing { at: parent, reason: Reason::NotRecorded(expr, 1) }),
                    }
                }
                Err(Missing { at, reason: Reason::NotRecorded(_, depth) }) => {
                    Err(Missing { at, reason: Reason::NotRecorded(expr, depth.saturating_add(1)) })
                }
                Err(missing) => Err(missing),
            },
            ExprKind::Link { base, index, link } => {
                let from = self.node(base)?;
                self.follow(expr, from, *index, link)
            }
            _ => {
                Err(self.fault(Fault::new(crate::code::FUNCTION_RANGE, "this is no path into the document")))
            }
        }
    }

    /// Follows a link. A trial writes out where its links lead.
    fn follow(&mut self, expr: &'x Expr, from: Spot, index: u16, link: &Link) -> Computed<'x, Spot> {
        if self.given.is_some() {
            if let Some(node) = self.doc(from).field(from.node, index) {
                return Ok(from.beside(node));
            }
            if link.to != Target::EntryBefore {
                return Err(Missing { at: from, reason: Reason::NotRecorded(expr, 1) });
            }
        }
        let around = self.around;
        let followed = self.followed.entry((from, index)).or_insert_with(|| around.follow(link, from));
        let lost = |(at, lost)| Missing { at, reason: Reason::Lost(Box::new(lost)) };
        followed.clone().map_err(lost)
    }

    /// The node of a list; a node of another kind was reported with the document.
    pub(super) fn list(&mut self, expr: &'x Expr) -> Computed<'x, Spot> {
        let node = self.node(expr)?;
        match self.doc(node).node(node.node).kind {
            NodeKind::List(_) => Ok(node),
            _ => Err(Missing { at: node, reason: Reason::Unreadable }),
        }
    }

    /// Whether something else stands where a record of fields should: that was reported with the document.
    fn is_of_no_fields(&self, node: Spot) -> bool {
        matches!(self.doc(node).node(node.node).kind, NodeKind::Scalar { .. } | NodeKind::List(_))
    }

    fn is_empty(&self, node: Spot) -> bool {
        matches!(self.doc(node).node(node.node).kind, NodeKind::Empty)
    }

    /// Runs `inside` with variables of its own, as the quantifiers of a let have them.
    pub(super) fn aside<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let outer = self.slots;
        let result = inside(self);
        self.slots = outer;
        result
    }

    pub(super) fn fault(&self, fault: Fault) -> Missing<'x> {
        Missing { at: self.root(), reason: Reason::Fault(Box::new(fault)) }
    }

    /// The value of an expression.
    pub(super) fn value(&mut self, expr: &'x Expr) -> Computed<'x, Operand<'x>> {
        match &expr.kind {
            ExprKind::Constant(value) => Ok(Operand::lent(value, None)),
            ExprKind::Field { .. } | ExprKind::Link { .. } | ExprKind::Variable(_) | ExprKind::Root => {
                let node = self.node(expr)?;
                let document = self.doc(node);
                match &document.node(node.node).kind {
                    NodeKind::Scalar { value: Bound::Value(Value::Reading(reading)), .. } => {
                        let value = Held::Own(Value::Quantity(reading.value.clone()));
                        Ok(Operand { value, at: Some(node) })
                    }
                    NodeKind::Scalar { value: Bound::Value(value), .. } => {
                        Ok(Operand::lent(value, Some(node)))
                    }
                    _ => Err(Missing { at: node, reason: Reason::Unreadable }),
                }
            }
            ExprKind::Let(number) => match self.program.lets().get(*number) {
                Some(definition) => self.aside(|inner| inner.value(&definition.value)),
                None => Err(self.fault(Fault::new(crate::code::FUNCTION_RANGE, "there is no such let"))),
            },
            ExprKind::Parameter(number) => self.parameter(*number).map(|value| Operand::lent(value, None)),
            ExprKind::AsOf => Ok(Operand::own(Value::Day(self.setting.as_of))),
            ExprKind::Lookup { table, keys } => self.lookup(*table, keys),
            ExprKind::Call { builtin, arguments } => {
                let operands = all(arguments.iter().map(|argument| self.value(argument)))?;
                let places: Vec<Option<Spot>> = operands.iter().map(|operand| operand.at).collect();
                let values: Vec<Value<'x>> = operands.into_iter().map(Operand::into_value).collect();
                let first = places.iter().copied().flatten().next();
                match (builtin.function)(&values, &mut self.working) {
                    Ok(value) => Ok(Operand { value: Held::Own(value), at: first }),
                    Err(fault) => {
                        let named = fault.argument.and_then(|at| usize::try_from(at).ok());
                        let culprit = named.and_then(|at| places.get(at).copied().flatten());
                        let element = fault.element.and_then(|at| usize::try_from(at).ok());
                        let culprit = self.element(arguments, named, element).or(culprit);
                        Err(self.fault_at(fault, culprit.or(first)))
                    }
                }
            }
            ExprKind::Range(form) => {
                let limits = self.limits_of(form)?;
                match limits.open {
                    None => Ok(Operand::own(Value::Range(limits.range))),
                    Some(missing) => Err(missing),
                }
            }
            ExprKind::Minus(inner) => {
                let operand = self.value(inner)?;
                match operand.quantity().map(Quantity::neg) {
                    Some(Ok(negative)) => {
                        Ok(Operand { value: Held::Own(Value::Quantity(negative)), at: operand.at })
                    }
                    Some(Err(fault)) => Err(self.fault_at(fault, operand.at)),
                    None => Err(self.unreadable(operand.at)),
                }
            }
            ExprKind::Arithmetic(sign, left, right) => self.arithmetic(*sign, left, right),
            ExprKind::Aggregate { aggregate, value, slot, list, condition } => {
                let (value, condition) = (value.as_deref(), condition.as_deref());
                self.aggregate(expr, *aggregate, Over { value, slot: *slot, list, condition })
            }
            // Only ever looked at over a stretch of time.
            ExprKind::Rate(log) => {
                let at = self.node(log)?;
                Err(self.unreadable(Some(at)))
            }
            ExprKind::Not(_)
            | ExprKind::Logic(..)
            | ExprKind::Timed(_)
            | ExprKind::Compare(..)
            | ExprKind::InOrder(..)
            | ExprKind::Within(..)
            | ExprKind::OneOf { .. }
            | ExprKind::Recorded(_)
            | ExprKind::Decided(..)
            | ExprKind::Quantified { .. } => {
                let verdict = self.truth(expr);
                match verdict.truth {
                    Truth::Unknown => Err(verdict.missing().unwrap_or(self.unreadable(None))),
                    truth => Ok(Operand::own(Value::Truth(truth == Truth::Yes))),
                }
            }
        }
    }

    pub(super) fn too_long(&self) -> Missing<'x> {
        self.fault(Fault::new(
            TOO_MUCH_WORK,
            format!("the rule looks at more than {MOST_LOOKS} elements of lists"),
        ))
    }

    pub(super) fn unreadable(&self, at: Option<Spot>) -> Missing<'x> {
        Missing { at: at.unwrap_or(self.root()), reason: Reason::Unreadable }
    }

    pub(super) fn fault_at(&self, fault: Fault, at: Option<Spot>) -> Missing<'x> {
        Missing { at: at.unwrap_or(self.root()), reason: Reason::Fault(Box::new(fault)) }
    }

    fn lookup(&mut self, number: usize, keys: &'x [Expr]) -> Computed<'x, Operand<'x>> {
        let mut texts = Vec::with_capacity(keys.len());
        let mut at = None;
        for operand in all(keys.iter().map(|key| self.value(key)))? {
            at = at.or(operand.at);
            if let Value::Text(text) = operand.get() {
                texts.push(text.to_string());
            }
        }
        let row = self.program.tables().get(number).and_then(|table| table.rows.get(&texts));
        match row {
            Some(value) => Ok(Operand::lent(value, None)),
            None => Err(Missing {
                at: at.unwrap_or(self.root()),
                reason: Reason::NoRow(number, texts.into_boxed_slice()),
            }),
        }
    }

    fn arithmetic(&mut self, sign: Arithmetic, left: &'x Expr, right: &'x Expr) -> Computed<'x, Operand<'x>> {
        let (left, right) = both(self.value(left), self.value(right))?;
        let at = left.at.or(right.at);
        match (left.quantity(), right.quantity()) {
            (Some(a), Some(b)) => match sign.apply(a, b) {
                Ok(result) => Ok(Operand { value: Held::Own(Value::Quantity(result)), at }),
                Err(fault) => Err(self.fault_at(fault, at)),
            },
            _ => {
                let time = self.time_arithmetic(sign, left.get(), right.get());
                match time.map_err(|fault| self.fault_at(fault, at))? {
                    Some(value) => Ok(Operand { value: Held::Own(value), at }),
                    None => Err(self.unreadable(at)),
                }
            }
        }
    }

    /// Whether an expression holds, and what decided.
    pub(super) fn truth(&mut self, expr: &'x Expr) -> Verdict<'x> {
        match &expr.kind {
            ExprKind::Not(inner) => self.turned(|inner_self| inner_self.truth(inner)).negate(),
            ExprKind::Decided(rule, inner) => {
                self.guarding = Guarding::by_demand(rule);
                self.truth(inner)
            }
            ExprKind::Logic(logic, left, right) => {
                let left_holds = match logic {
                    Logic::Implies => self.turned(|inner| inner.truth(left)).negate(),
                    Logic::And | Logic::Or => self.truth(left),
                };
                let right_holds = self.truth(right);
                match logic {
                    Logic::And => left_holds.and(right_holds),
                    Logic::Implies => left_holds.or_rather(right_holds),
                    Logic::Or if is_condition(left) && !is_condition(right) => {
                        left_holds.or_rather(right_holds)
                    }
                    Logic::Or => left_holds.or(right_holds),
                }
            }
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                self.quantified(expr, *quantifier, *slot, list, condition.as_deref(), body)
            }
            ExprKind::Let(number) => match self.program.lets().get(*number) {
                Some(definition) => self.aside(|inner| inner.truth(&definition.value)),
                None => Verdict::bare(Truth::Unknown),
            },
            _ => {
                let verdict = self.comparison(expr);
                self.note_step(expr, &verdict);
                verdict
            }
        }
    }

    fn quantified(
        &mut self,
        whole: &'x Expr,
        quantifier: Quantifier,
        slot: usize,
        list: &'x Expr,
        condition: Option<&'x Expr>,
        body: &'x Expr,
    ) -> Verdict<'x> {
        let list = match self.list(list) {
            Ok(list) => list,
            Err(missing) => return self.undecided(whole, missing),
        };
        // What holds of no elements at all: `every` and `no` do, `some` does not.
        let empty = Truth::from_bool(quantifier != Quantifier::Some);
        let mut result: Option<Verdict<'x>> = None;
        for element in self.doc(list).items(list.node) {
            if !self.spend() {
                let missing = self.too_long();
                return self.undecided(whole, missing);
            }
            self.set(slot, list.beside(*element));
            let body = match quantifier {
                Quantifier::No => self.turned(|inner| inner.truth(body)),
                Quantifier::Every | Quantifier::Some => self.truth(body),
            };
            let one = match (quantifier, condition) {
                (_, None) => body,
                (Quantifier::Every, Some(condition)) => {
                    let passed_over = self.condition(condition).negate();
                    let truth = body.truth.max(passed_over.truth);
                    body.unless(passed_over, truth)
                }
                (Quantifier::Some | Quantifier::No, Some(condition)) => {
                    let counts = self.condition(condition);
                    let truth = body.truth.min(counts.truth);
                    body.unless(counts, truth)
                }
            };
            let one = if quantifier == Quantifier::No { one.negate() } else { one };
            result = Some(match (result, quantifier) {
                (None, _) => one,
                (Some(so_far), Quantifier::Some) => so_far.or(one),
                (Some(so_far), Quantifier::Every | Quantifier::No) => so_far.and(one),
            });
        }
        match result {
            None => self.leaf(whole, empty, Some(list), None),
            // No element is to blame more than another: the list as a whole has none that is wanted.
            Some(Verdict { truth: Truth::No, leaf: Some(Leaf { margin: None, expr, .. }) })
                if quantifier == Quantifier::Some && expr.looks_at().variable() == Some(slot) =>
            {
                self.leaf(whole, Truth::No, Some(list), None)
            }
            Some(result) => result,
        }
    }

    fn comparison(&mut self, expr: &'x Expr) -> Verdict<'x> {
        let decided = match &expr.kind {
            ExprKind::Compare(comparison, left, right) => self.compare(expr, *comparison, left, right),
            ExprKind::InOrder(comparison, left, right) => self.in_order(expr, *comparison, left, right),
            ExprKind::Within(value, range) => self.within(expr, value, range),
            ExprKind::OneOf { value, negated, options } => self.one_of(expr, value, *negated, options),
            ExprKind::Recorded(path) => Ok(self.recorded(expr, path)),
            ExprKind::Timed(timed) => self.timed(expr, timed),
            _ => self.value(expr).map(|operand| {
                let holds = matches!(operand.get(), Value::Truth(true));
                self.leaf(expr, Truth::from_bool(holds), operand.at, None)
            }),
        };
        decided.unwrap_or_else(|missing| {
            self.whatever_the_counts(expr).unwrap_or_else(|| self.undecided(expr, missing))
        })
    }

    pub(super) fn leaf(
        &self,
        expr: &'x Expr,
        truth: Truth,
        at: Option<Spot>,
        margin: Option<Margin>,
    ) -> Verdict<'x> {
        Verdict { truth, leaf: Some(Leaf { at, margin, ..self.nothing(expr) }) }
    }

    pub(super) fn undecided(&self, expr: &'x Expr, missing: Missing<'x>) -> Verdict<'x> {
        let (missing, besides) = missing.split();
        let open = |missing: Missing<'x>| Leaf {
            at: Some(missing.at),
            missing: Some(Box::new(missing)),
            ..self.nothing(expr)
        };
        let besides = besides.map(|besides| Box::new(open(besides)));
        Verdict { truth: Truth::Unknown, leaf: Some(Leaf { besides, ..open(missing) }) }
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
    fn within(&mut self, whole: &'x Expr, value: &'x Expr, range: &'x Expr) -> Computed<'x, Verdict<'x>> {
        let (value, Limits { range, open }) = within(self.value(value), self.limits(range))?;
        let Some(quantity) = value.quantity() else { return Err(self.unreadable(value.at)) };
        let verdict = self.decided(whole, quantity, &range, value.at);
        let Some(missing) = open else { return verdict };
        match verdict {
            Ok(verdict) if verdict.truth == Truth::No => Ok(verdict),
            Ok(verdict) => Err(match verdict.missing() {
                Some(other) => missing.with(other),
                None => missing,
            }),
            Err(other) => Err(missing.with(other)),
        }
    }

    /// Whether a quantity lies in a range, decided by the rule for uncertain readings at hand.
    fn decided(
        &mut self,
        whole: &'x Expr,
        quantity: &Quantity,
        range: &Range,
        at: Option<Spot>,
    ) -> Computed<'x, Verdict<'x>> {
        let Some(decision) = self.guarded(whole, quantity, range, at)? else {
            let holds = range.contains(quantity);
            return Ok(self.leaf(whole, Truth::from_bool(holds), at, Some(range.margin(quantity))));
        };
        let margin = Some(decision.margin.clone());
        Ok(match decision.outcome {
            Outcome::Accept => self.leaf(whole, Truth::Yes, at, margin),
            Outcome::Reject => self.leaf(whole, Truth::No, at, margin),
            Outcome::GuardBand => {
                let reason = Reason::Guarded(Box::new(decision), whole.looks_at(), self.decided_by());
                let missing = Missing { at: at.unwrap_or(self.root()), reason };
                let Verdict { truth, leaf } = self.undecided(whole, missing);
                Verdict { truth, leaf: leaf.map(|leaf| Leaf { margin, ..leaf }) }
            }
        })
    }

    fn compare(
        &mut self,
        whole: &'x Expr,
        comparison: Comparison,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Computed<'x, Verdict<'x>> {
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
                    Ok(self.leaf(whole, Truth::from_bool(holds), at, Some(margin)))
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
            Some(holds) => Ok(self.leaf(whole, Truth::from_bool(holds), at, None)),
            None => Err(self.unreadable(at)),
        }
    }

    fn one_of(
        &mut self,
        whole: &'x Expr,
        value: &'x Expr,
        negated: bool,
        options: &'x [Expr],
    ) -> Computed<'x, Verdict<'x>> {
        let value = self.value(value);
        let (mut found, mut open) = (false, None);
        for option in options {
            match (self.value(option), &value) {
                (Ok(option), Ok(value)) => {
                    let same = self.same(value.get(), option.get());
                    found |= same.map_err(|fault| self.fault_at(fault, value.at))? == Some(true);
                }
                (Ok(_), Err(_)) => {}
                (Err(missing), _) => open = Some(joined(open.take(), missing)),
            }
        }
        match (value, open) {
            (Ok(_), Some(missing)) if !found => Err(missing),
            (Ok(value), _) => Ok(self.leaf(whole, Truth::from_bool(found != negated), value.at, None)),
            (Err(missing), Some(other)) => Err(missing.with(other)),
            (Err(missing), None) => Err(missing),
        }
    }

    fn recorded(&mut self, whole: &'x Expr, path: &'x Expr) -> Verdict<'x> {
        if let ExprKind::Parameter(number) = path.kind {
            return match self.parameter(number) {
                Ok(_) => self.leaf(whole, Truth::Yes, None, None),
                Err(Missing { reason: Reason::NoParameter(_), .. }) => {
                    self.leaf(whole, Truth::No, None, None)
                }
                // Something is stated, and nobody can tell what.
                Err(missing) => self.undecided(whole, missing),
            };
        }
        match self.node(path) {
            Ok(node) => self.leaf(whole, Truth::Yes, Some(node), None),
            // Something is recorded there, and nobody can tell what.
            Err(missing @ Missing { reason: Reason::Unreadable, .. }) => self.undecided(whole, missing),
            Err(missing) => self.leaf(whole, Truth::No, Some(missing.at), None),
        }
    }
}

/// Whether a side of an `or` only says where the other is asked for.
pub(super) fn is_condition(side: &Expr) -> bool {
    match &side.kind {
        ExprKind::Recorded(_) => true,
        ExprKind::Not(inner) => matches!(inner.kind, ExprKind::Recorded(_) | ExprKind::Call { .. }),
        _ => false,
    }
}
