//! Values of expressions.

use super::aggregate::Over;
use super::verdict::{Slots, all, both, joined};
use super::{Evaluator, Missing, NodeRef, Reason, Truth, Verdict};
use crate::code::TOO_MUCH_WORK;
use crate::diagnostic::Fault;
use crate::document::{Bound, Link, NodeKind, Target};
use crate::language::ast::{Arithmetic, Case};
use crate::language::ids::{LetId, TableId};
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::Quantity;
use crate::value::Value;

/// A value and the node it was read from, where it was read from one.
#[derive(Clone, Debug)]
pub struct Operand<'x> {
    value: Held<'x>,
    /// The node it was read from.
    pub at: Option<NodeRef>,
}

#[derive(Clone, Debug)]
enum Held<'x> {
    Lent(&'x Value<'x>),
    Own(Value<'x>),
}

impl<'x> Operand<'x> {
    pub(super) fn lent(value: &'x Value<'x>, at: Option<NodeRef>) -> Self {
        Operand { value: Held::Lent(value), at }
    }

    pub(super) fn own(value: Value<'x>) -> Self {
        Operand { value: Held::Own(value), at: None }
    }

    pub(super) fn own_at(value: Value<'x>, at: NodeRef) -> Self {
        Operand { value: Held::Own(value), at: Some(at) }
    }

    /// The value.
    pub(crate) fn get(&self) -> &Value<'x> {
        match &self.value {
            Held::Lent(value) => value,
            Held::Own(value) => value,
        }
    }

    pub(crate) fn into_value(self) -> Value<'x> {
        match self.value {
            Held::Lent(value) => value.clone(),
            Held::Own(value) => value,
        }
    }

    pub(crate) fn quantity(&self) -> Option<&Quantity> {
        match self.get() {
            Value::Quantity(quantity) => Some(quantity),
            _ => None,
        }
    }
}

pub(crate) type Computed<'x, T> = Result<T, Missing<'x>>;

impl<'x> Evaluator<'x> {
    /// The node that a path leads to.
    pub(crate) fn node(&mut self, expr: &'x Expr) -> Computed<'x, NodeRef> {
        self.share.step();
        match &expr.kind {
            ExprKind::Root => Ok(self.root()),
            ExprKind::Variable(slot) => Ok(self.slots.get(*slot).copied().unwrap_or(self.root())),
            ExprKind::Let(id, entry) => self.named(*id, entry.as_deref(), Self::node),
            ExprKind::Field { base, index, name } => match self.node(base) {
                Ok(parent) => {
                    // The entries of several lists have other numbers for the same field.
                    let (document, mixed) = (self.doc(parent), base.mixed().is_some());
                    let field = match mixed {
                        true => document.field_named(parent.node, name),
                        false => document.field(parent.node, *index),
                    };
                    let misspelt = || match mixed {
                        true => document.misspelt_named(parent.node, name),
                        false => document.misspelt(parent.node, *index),
                    };
                    match field.map(|node| parent.beside(node)) {
                        None if self.is_of_no_fields(parent) => {
                            Err(Missing { at: parent, reason: Reason::Unreadable })
                        }
                        Some(node) if !self.is_empty(node) => Ok(node),
                        // What is recorded under nearly its name may be its value.
                        _ if let Some(node) = misspelt() => {
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
            ExprKind::Link { base, link } => {
                let from = self.node(base)?;
                self.follow(expr, from, link)
            }
            _ => {
                Err(self.fault(Fault::new(crate::code::FUNCTION_RANGE, "this is no path into the document")))
            }
        }
    }

    /// Follows a link. A trial writes out where its links lead.
    fn follow(&mut self, expr: &'x Expr, from: NodeRef, link: &'x Link) -> Computed<'x, NodeRef> {
        if self.given.is_some() {
            if let Some(node) = self.doc(from).field_named(from.node, &link.name) {
                return Ok(from.beside(node));
            }
            if link.to != Target::EntryBefore {
                return Err(Missing { at: from, reason: Reason::NotRecorded(expr, 1) });
            }
        }
        let around = self.around;
        let followed = self.followed.entry((from, &link.name)).or_insert_with(|| around.follow(link, from));
        self.share.steps(around.take_looked_at());
        let lost = |(at, lost)| Missing { at, reason: Reason::UnresolvedLink(Box::new(lost)) };
        followed.clone().map_err(lost)
    }

    /// The node of a list; a node of another kind was reported with the document.
    pub(crate) fn list(&mut self, expr: &'x Expr) -> Computed<'x, NodeRef> {
        let node = self.node(expr)?;
        match self.doc(node).node(node.node).kind {
            NodeKind::List(_) => Ok(node),
            _ => Err(Missing { at: node, reason: Reason::Unreadable }),
        }
    }

    /// Whether something else stands where a record of fields should: that was reported with the document.
    fn is_of_no_fields(&self, node: NodeRef) -> bool {
        matches!(self.doc(node).node(node.node).kind, NodeKind::Scalar { .. } | NodeKind::List(_))
    }

    fn is_empty(&self, node: NodeRef) -> bool {
        matches!(self.doc(node).node(node.node).kind, NodeKind::Empty)
    }

    /// Runs `inside` with variables of its own, as the quantifiers of a let have them.
    pub(super) fn with_own_scope<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let outer = self.slots;
        let result = inside(self);
        self.slots = outer;
        result
    }

    /// Runs `inside` on the value that a name has, of an entry where it has one of each.
    pub(super) fn named<T>(
        &mut self,
        id: LetId,
        entry: Option<&'x Expr>,
        inside: impl FnOnce(&mut Self, &'x Expr) -> Computed<'x, T>,
    ) -> Computed<'x, T> {
        let definition = &self.program.lets()[id];
        self.with_own_scope(|inner| {
            inner.bind_entry(entry)?;
            inside(inner, &definition.value)
        })
    }

    /// Binds the variable of a name that has a value for each entry.
    pub(super) fn bind_entry(&mut self, entry: Option<&'x Expr>) -> Computed<'x, ()> {
        if let Some(entry) = entry {
            let entry = self.node(entry)?;
            self.set(0, entry);
        }
        Ok(())
    }

    /// The same, and gives the variables as they were; nothing where the entry is not there.
    pub(crate) fn enter(&mut self, entry: Option<&'x Expr>) -> Option<Slots> {
        let outer = self.slots;
        self.bind_entry(entry).ok()?;
        Some(outer)
    }

    /// The value of the first case whose condition holds; nothing where it cannot be told which that is.
    pub(crate) fn case_in(&mut self, cases: &'x [Case<Expr>]) -> Option<&'x Expr> {
        for case in cases {
            match case.condition.as_ref().map_or(Truth::Yes, |condition| self.condition(condition)) {
                Truth::Yes => {
                    self.note_counted(&case.value);
                    return Some(&case.value);
                }
                Truth::No => {}
                Truth::Unknown => return None,
            }
        }
        None
    }

    /// What the first of several cases gives whose condition holds. Where it cannot be told which one that is, all
    /// that it can be must agree.
    pub(super) fn by_cases<T>(
        &mut self,
        cases: &'x [Case<Expr>],
        mut inside: impl FnMut(&mut Self, &'x Expr) -> Computed<'x, T>,
        agree: impl Fn(&T, &T) -> bool,
    ) -> Computed<'x, T> {
        if let Some(value) = self.case_in(cases) {
            return inside(self, value);
        }
        let (mut open, mut found): (Option<Missing<'x>>, Option<T>) = (None, None);
        for case in cases {
            let holds = case.condition.as_ref().map_or(Truth::Yes, |condition| self.condition(condition));
            if holds == Truth::No {
                continue;
            }
            if let Some(condition) = case.condition.as_ref().filter(|_| holds == Truth::Unknown) {
                let why = self.in_full.then(|| self.condition_in_full(condition).missing()).flatten();
                open = Some(joined(open, why.unwrap_or(self.unreadable(None))));
            }
            match (inside(self, &case.value), &found) {
                (Ok(one), None) => found = Some(one),
                (Ok(one), Some(first)) if agree(first, &one) => {}
                (Ok(_), Some(_)) => break,
                (Err(missing), _) => return Err(joined(open, missing)),
            }
            if holds == Truth::Yes {
                return found.ok_or(self.unreadable(None));
            }
        }
        Err(open.unwrap_or(self.unreadable(None)))
    }

    pub(super) fn fault(&self, fault: Fault) -> Missing<'x> {
        Missing { at: self.root(), reason: Reason::Fault(Box::new(fault)) }
    }

    /// The value of an expression.
    pub(crate) fn value(&mut self, expr: &'x Expr) -> Computed<'x, Operand<'x>> {
        self.share.step();
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
            ExprKind::Let(id, entry) => self.value_of_let(*id, entry.as_deref()),
            ExprKind::Cases(cases) => {
                self.by_cases(cases, Self::value, |one, other| are_one(one.get(), other.get()))
            }
            ExprKind::Parameter(number, entry) => self.parameter(*number, entry.as_deref()),
            ExprKind::AsOf => Ok(Operand::own(Value::Day(self.setting.as_of))),
            ExprKind::Lookup { table, keys } => self.lookup(*table, keys),
            ExprKind::Call { builtin, arguments } => {
                let operands = all(arguments.iter().map(|argument| self.value(argument)))?;
                let places: Vec<Option<NodeRef>> = operands.iter().map(|operand| operand.at).collect();
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
            // Only ever gone through.
            ExprKind::Group(_) | ExprKind::Entries(_) => Err(self.unreadable(None)),
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
                let (truth, missing) = match self.in_full {
                    true => {
                        let verdict: Verdict<'x> = self.answer(expr);
                        (verdict.truth, verdict.missing())
                    }
                    false => (self.answer(expr), None),
                };
                match truth {
                    Truth::Unknown => Err(missing.unwrap_or(self.unreadable(None))),
                    truth => Ok(Operand::own(Value::Truth(truth == Truth::Yes))),
                }
            }
        }
    }

    pub(super) fn too_long(&self) -> Missing<'x> {
        self.fault(Fault::new(TOO_MUCH_WORK, self.gone_beyond().to_string()))
    }

    pub(super) fn unreadable(&self, at: Option<NodeRef>) -> Missing<'x> {
        Missing { at: at.unwrap_or(self.root()), reason: Reason::Unreadable }
    }

    pub(super) fn fault_at(&self, fault: Fault, at: Option<NodeRef>) -> Missing<'x> {
        Missing { at: at.unwrap_or(self.root()), reason: Reason::Fault(Box::new(fault)) }
    }

    fn lookup(&mut self, number: TableId, keys: &'x [Expr]) -> Computed<'x, Operand<'x>> {
        let mut texts = Vec::with_capacity(keys.len());
        let mut at = None;
        for operand in all(keys.iter().map(|key| self.value(key)))? {
            at = at.or(operand.at);
            if let Value::Text(text) = operand.get() {
                texts.push(text.to_string());
            }
        }
        let row = self.program.tables()[number].rows.get(&texts);
        match row {
            Some(value) => {
                self.note_row(number, &texts);
                Ok(Operand::lent(value, None))
            }
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
}

/// Whether two values are the same, in whatever units they are written.
pub(super) fn are_one(one: &Value<'_>, other: &Value<'_>) -> bool {
    match (one, other) {
        (Value::Quantity(one), Value::Quantity(other)) => one.compare(other).is_eq(),
        (Value::Range(one), Value::Range(other)) => one.has_limits_of(other),
        _ => one == other,
    }
}
