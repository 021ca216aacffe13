//! Which elements of a long list can pass a filter that asks for a name, `where f.role is "sump screw"`, or for one
//! of a list of names, `where f.role is plugs`. Only they are looked at, so that a rule which compares each entry
//! with those of its name stays linear in the list.

use std::borrow::Cow;
use std::collections::HashMap;
use std::rc::Rc;

use super::{Evaluator, NodeRef};
use crate::document::NodeId;
use crate::language::ast::{Comparison, Logic};
use crate::language::typed::{Expr, ExprKind};
use crate::source::Place;
use crate::value::Value;

/// From how many elements on a list is indexed.
const LONG: usize = 16;

/// The elements of a list by the text of one of their fields.
#[derive(Debug)]
struct ByText<'x> {
    elements: HashMap<&'x str, Vec<NodeId>>,
    /// Those whose field is no text that can be read, or can look like another: what they are cannot be told at once.
    open: Vec<NodeId>,
}

/// The lists that were indexed so far, by the place at which the rule names the field.
#[derive(Debug, Default)]
pub(super) struct Indexes<'x>(HashMap<(NodeRef, Place), Rc<ByText<'x>>>);

impl<'x> Evaluator<'x> {
    /// The elements of a list for which a condition on its elements can hold or be open, in their order: for all
    /// others it does not hold.
    pub(super) fn candidates(
        &mut self,
        list: NodeRef,
        slot: Option<usize>,
        condition: Option<&'x Expr>,
    ) -> Cow<'x, [NodeId]> {
        let all = self.doc(list).items(list.node);
        let asked = slot.zip(condition).filter(|_| all.len() > LONG && self.steps.is_none());
        let named = asked.and_then(|(slot, condition)| Some((slot, name_asked(condition, slot)?)));
        let Some((slot, (field, name))) = named else { return Cow::Borrowed(all) };
        let Ok(name) = self.value(name) else { return Cow::Borrowed(all) };
        let names: Vec<&str> = match name.get() {
            Value::Text(name) => vec![name],
            Value::Words(names) => names.iter().map(|name| &**name).collect(),
            _ => return Cow::Borrowed(all),
        };
        // Other letters can look like those of any name.
        if !names.iter().all(|name| name.is_ascii()) {
            return Cow::Borrowed(all);
        }
        let index = self.by_text(list, slot, field);
        let mut found = index.open.clone();
        for name in names {
            found.extend(index.elements.get(name).into_iter().flatten());
        }
        // The nodes of a list are numbered in its order.
        found.sort_unstable();
        Cow::Owned(found)
    }

    fn by_text(&mut self, list: NodeRef, slot: usize, field: &'x Expr) -> Rc<ByText<'x>> {
        if let Some(known) = self.indexes.0.get(&(list, field.place)) {
            return Rc::clone(known);
        }
        let mut index = ByText { elements: HashMap::new(), open: Vec::new() };
        let outer = self.bound();
        for element in self.doc(list).items(list.node) {
            self.set(slot, list.beside(*element));
            match self.text_of(field) {
                Some(text) => index.elements.entry(text).or_default().push(*element),
                None => index.open.push(*element),
            }
        }
        self.bind(outer);
        let index = Rc::new(index);
        self.indexes.0.insert((list, field.place), Rc::clone(&index));
        index
    }

    fn text_of(&mut self, field: &'x Expr) -> Option<&'x str> {
        let spot = self.node(field).ok()?;
        match self.doc(spot).value(spot.node)? {
            Value::Text(text) if text.is_ascii() => Some(text),
            _ => None,
        }
    }
}

/// The field of an element and the name that it must have for a condition to hold.
fn name_asked(condition: &Expr, slot: usize) -> Option<(&Expr, &Expr)> {
    match &condition.kind {
        ExprKind::Logic(Logic::And, left, right) => {
            name_asked(left, slot).or_else(|| name_asked(right, slot))
        }
        ExprKind::Compare(Comparison::Is, left, right) => {
            let is_field = |side: &Expr| is_own_field(side, slot) && side.ty.is_text();
            match (is_field(left), is_field(right)) {
                (true, false) if !names(right, slot) => Some((left, right)),
                (false, true) if !names(left, slot) => Some((right, left)),
                _ => None,
            }
        }
        _ => None,
    }
}

/// Whether an expression is a field of the element itself.
fn is_own_field(expr: &Expr, slot: usize) -> bool {
    match &expr.kind {
        ExprKind::Field { base, .. } => matches!(base.kind, ExprKind::Variable(own) if own == slot),
        _ => false,
    }
}

fn names(expr: &Expr, slot: usize) -> bool {
    let mut named = matches!(expr.kind, ExprKind::Variable(own) if own == slot);
    expr.for_each_part(&mut |part| named |= names(part, slot));
    named
}
