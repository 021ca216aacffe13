//! What is taken of several elements: counts, sums, extremes, and the list of them all.

use std::sync::Arc;

use super::compute::{Computed, Operand};
use super::elements::Elements;
use super::verdict::joined;
use super::{Evaluator, Missing, NodeRef, Reason, Truth};
use crate::diagnostic::Fault;
use crate::language::ast::Aggregate;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::quantity::{Kind, Number, Quantity};
use crate::value::Value;

/// The elements of which something is taken, and what of each.
#[derive(Clone, Copy)]
pub(super) struct Over<'x> {
    pub(super) value: Option<&'x Expr>,
    pub(super) slot: Option<usize>,
    pub(super) list: &'x Expr,
    pub(super) condition: Option<&'x Expr>,
}

/// The places of the values that are listed; nothing where none are.
pub(super) type Places = Option<Vec<NodeRef>>;

/// Takes the place and the value of an element, where it has one.
pub(super) type Take<'t, 'x> =
    dyn FnMut(&mut Evaluator<'x>, NodeRef, Option<&Quantity>) -> Result<(), Fault> + 't;

impl<'x> Evaluator<'x> {
    /// The value of an aggregate. One element that cannot be decided leaves the whole undecided: a count
    /// with a guess in it is no count.
    pub(super) fn aggregate(
        &mut self,
        whole: &'x Expr,
        aggregate: Aggregate,
        over: Over<'x>,
    ) -> Computed<'x, Operand<'x>> {
        if aggregate == Aggregate::All {
            let (list, found) = self.several(over)?;
            let quantities: Arc<[Quantity]> = found.into_iter().map(|(_, quantity)| quantity).collect();
            return Ok(Operand::own_at(Value::Several(quantities), list));
        }
        let (mut count, mut result): (u64, Option<Quantity>) = (0, None);
        // The element whose value an extreme is.
        let mut its = None;
        let list = self.each_value(over, &mut |_, at, next| {
            count += 1;
            let Some(next) = next else { return Ok(()) };
            let combined = match result.take() {
                None => next.clone(),
                Some(so_far) => combine(aggregate, so_far, next)?,
            };
            let is_extreme = matches!(aggregate, Aggregate::Least | Aggregate::Greatest);
            if is_extreme && (its.is_none() || combined == *next) {
                its = Some(at);
            }
            result = Some(combined);
            Ok(())
        })?;
        let value = match (aggregate, result) {
            (Aggregate::Count, _) => Quantity::from(Number::from(count)),
            (_, Some(result)) => result,
            (Aggregate::Sum, None) => Quantity::from_base(
                Number::ZERO,
                match &whole.ty {
                    Type::Quantity(kind) => *kind,
                    _ => Kind::NUMBER,
                },
            ),
            (_, None) => return Err(Missing { at: list, reason: Reason::Empty }),
        };
        Ok(Operand::own_at(Value::Quantity(value), its.unwrap_or(list)))
    }

    /// Every value with its place, and the place of the list.
    fn several(&mut self, over: Over<'x>) -> Computed<'x, (NodeRef, Vec<(NodeRef, Quantity)>)> {
        let mut found = Vec::new();
        let list = self.each_value(over, &mut |_, at, next| {
            found.extend(next.map(|next| (at, next.clone())));
            Ok(())
        })?;
        Ok((list, found))
    }

    /// Calls `take` with the place and the value of each element that counts.
    pub(super) fn each_value(&mut self, over: Over<'x>, take: &mut Take<'_, 'x>) -> Computed<'x, NodeRef> {
        let Elements { list, entries: elements, rest } =
            self.elements(over.list, over.slot, over.condition)?;
        let mut open = rest;
        for element in &*elements {
            if !self.spend() {
                return Err(self.too_long());
            }
            let element = list.beside(*element);
            if let Some(slot) = over.slot {
                self.set(slot, element);
            }
            let operand = match self.value_of(over, element) {
                Ok(Some(operand)) => operand,
                Ok(None) => continue,
                Err(missing) => {
                    open = Some(joined(open, missing));
                    continue;
                }
            };
            if open.is_some() {
                continue;
            }
            let at = operand.as_ref().and_then(|operand| operand.at).unwrap_or(element);
            let quantity = operand.as_ref().and_then(Operand::quantity);
            take(self, at, quantity).map_err(|fault| self.fault_at(fault, Some(list)))?;
        }
        open.map_or(Ok(list), Err)
    }

    /// The value of an element, where one is asked for; nothing at all for an element that does not count.
    fn value_of(&mut self, over: Over<'x>, element: NodeRef) -> Computed<'x, Option<Option<Operand<'x>>>> {
        if let Some(condition) = over.condition {
            match self.condition(condition) {
                Truth::Yes => {}
                Truth::No => return Ok(None),
                Truth::Unknown => {
                    let open = self.in_full.then(|| self.condition_in_full(condition).missing()).flatten();
                    return Err(open.unwrap_or(Missing { at: element, reason: Reason::Unreadable }));
                }
            }
        }
        Ok(Some(over.value.map(|value| self.value(value)).transpose()?))
    }

    /// The place of an element of the first argument that is a list.
    pub(crate) fn element(
        &mut self,
        arguments: &'x [Expr],
        of: Option<usize>,
        element: Option<usize>,
    ) -> Option<NodeRef> {
        let element = element?;
        let is_list = |argument: &&Expr| matches!(argument.ty, Type::Several(_));
        let named = of.and_then(|of| arguments.get(of)).filter(is_list);
        let listed = named.or_else(|| arguments.iter().find(is_list))?;
        self.places_in(listed)?.get(element).copied()
    }

    /// The places of the values that `all of` lists.
    pub(super) fn places_in(&mut self, listed: &'x Expr) -> Places {
        match &listed.kind {
            ExprKind::Let(id, entry) => self.places_of_let(*id, entry.as_deref()).ok().flatten(),
            ExprKind::Aggregate { value, slot, list, condition, .. } => {
                let (value, condition) = (value.as_deref(), condition.as_deref());
                let (_, found) = self.several(Over { value, slot: *slot, list, condition }).ok()?;
                Some(found.into_iter().map(|(at, _)| at).collect())
            }
            _ => None,
        }
    }
}

fn combine(aggregate: Aggregate, so_far: Quantity, next: &Quantity) -> Result<Quantity, Fault> {
    match aggregate {
        Aggregate::Count | Aggregate::Sum => so_far.add(next),
        Aggregate::Least if next.compare(&so_far).is_lt() => Ok(next.clone()),
        Aggregate::Greatest if next.compare(&so_far).is_gt() => Ok(next.clone()),
        Aggregate::Least | Aggregate::Greatest | Aggregate::All => Ok(so_far),
    }
}
