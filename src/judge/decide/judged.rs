//! Which values of the judged document a demand looks at, so that those which none does can be reported.
//!
//! It is told from what a demand names for its subject and not from what was read on the way to its outcome, so that it
//! does not depend on where a search ended. What only chooses counts for nothing: the `where` of a rule, a list or a sum,
//! and a part of a demand that names no value itself, such as `recorded s.adapter` in `s.torque within limit or recorded
//! s.adapter`, and a comparison with what a tool in the register can measure. Where such a part settles the demand, any other value would pass as well: what is named beside it was not
//! judged.

use std::collections::HashSet;

use super::elements::Elements;
use super::{Evaluator, MOST_LOOKS, NodeRef, Slots, Truth};
use crate::document::{Judged, Link, NodeSet};
use crate::language::ast::{Aggregate, Case, Logic, Quantifier};
use crate::language::ids::LetId;
use crate::language::naming::judged;
use crate::language::typed::{Each, Expr, ExprKind, Rule};
use crate::quantity::{Quantity, Range};
use crate::source::Place;

/// What was looked at so far, and how many elements of lists may still be gone through for the rule at hand.
#[derive(Debug, Default)]
pub(super) struct Noted {
    nodes: NodeSet,
    looks: u64,
    /// The lets whose values were noted, and how each stands in its demand.
    lets: HashSet<(LetId, Slots, Stand)>,
    /// The last comparison of a value with a range, where somebody asks for it.
    compared: Option<Option<Compared>>,
}

/// A value that was compared with a range.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Where the comparison is written.
    pub demand: Place,
    /// The value.
    pub value: Quantity,
    /// The range.
    pub range: Range,
}

/// How an expression stands in its demand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Stand {
    /// Below an odd number of `not`.
    negated: bool,
    /// Whether it says which element of a list is wanted, so that an element of which one part does not hold counts for
    /// nothing whatever its other parts say.
    choosing: bool,
}

/// As a demand by itself.
const DEMANDED: Stand = Stand { negated: false, choosing: false };

/// As a condition by which elements are counted.
const COUNTED: Stand = Stand { negated: false, choosing: true };

impl<'x> Evaluator<'x> {
    /// The same, noting which values its rules look at.
    #[must_use]
    pub fn noting(self) -> Self {
        Evaluator { noted: Some(Noted::default()), ..self }
    }

    /// The same, keeping the last comparison of a value with a range.
    #[must_use]
    pub fn noting_comparisons(self) -> Self {
        Evaluator { noted: self.noted.map(|noted| Noted { compared: Some(None), ..noted }), ..self }
    }

    /// The last comparison of a value with a range, which is forgotten.
    pub fn take_compared(&mut self) -> Option<Compared> {
        self.noted.as_mut()?.compared.as_mut()?.take()
    }

    pub(super) fn note_compared(&mut self, comparison: &'x Expr, value: &Quantity, range: &Range) {
        if let Some(compared) = self.noted.as_mut().and_then(|noted| noted.compared.as_mut()) {
            *compared =
                Some(Compared { demand: comparison.place, value: value.clone(), range: range.clone() });
        }
    }

    /// The values of the judged document that were looked at.
    pub fn take_noted(&mut self) -> NodeSet {
        self.noted.take().map(|noted| noted.nodes).unwrap_or_default()
    }

    /// Begins to count anew for the next rule.
    pub(super) fn note_rule(&mut self) {
        if let Some(noted) = &mut self.noted {
            noted.looks = 0;
        }
    }

    /// Notes the values that a demand looks at on the subject at hand.
    pub(super) fn note_demand(&mut self, rule: &'x Rule, demand: &'x Expr) {
        if rule.judges {
            self.note_aside(|this| this.note(demand, DEMANDED));
        }
    }

    /// Notes the values by which the subjects in a list, or in a group, are counted.
    pub(super) fn note_count(&mut self, rule: &'x Rule, each: &'x Each) {
        let (true, Some(condition)) = (rule.judges, &each.condition) else { return };
        self.note_aside(|this| {
            this.note_elements(each.slot, &each.list, None, &mut |this| this.note(condition, COUNTED));
        });
    }

    /// Runs `inside` without a trace but the notes; nothing where nobody asks for them.
    fn note_aside(&mut self, inside: impl FnOnce(&mut Self)) {
        let Some(noted) = &self.noted else { return };
        let outer = (self.slots, self.looks, self.guarding);
        self.looks = noted.looks;
        self.aside(|this| this.briefly(inside));
        let looks = self.looks;
        (self.slots, self.looks, self.guarding) = outer;
        if let Some(noted) = &mut self.noted {
            noted.looks = looks.min(MOST_LOOKS);
        }
    }

    fn note(&mut self, expr: &'x Expr, stand: Stand) {
        if !self.program.names(expr).any() {
            return;
        }
        match &expr.kind {
            ExprKind::Not(inner) => self.note(inner, Stand { negated: !stand.negated, ..stand }),
            ExprKind::Decided(_, inner) => self.note(inner, stand),
            ExprKind::Logic(logic, left, right) => {
                let of_left = Stand { negated: stand.negated != (*logic == Logic::Implies), ..stand };
                let is_and = (*logic == Logic::And) != stand.negated;
                self.note_beside(is_and, (left, of_left), (right, stand));
            }
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                let negated = stand.negated != (*quantifier == Quantifier::No);
                let choosing = (*quantifier == Quantifier::Some) != stand.negated;
                self.note_path(list, false);
                self.note_elements(*slot, list, condition.as_deref(), &mut |this| {
                    this.note(body, Stand { negated, choosing });
                });
            }
            ExprKind::Aggregate { aggregate, value, slot, list, condition } => {
                self.note_path(list, false);
                let Some(slot) = slot else { return };
                if let Some(condition) = condition.as_deref().filter(|_| *aggregate == Aggregate::Count) {
                    self.note_elements(*slot, list, None, &mut |this| this.note(condition, COUNTED));
                }
                let Some(value) = value else { return };
                self.note_elements(*slot, list, condition.as_deref(), &mut |this| this.note(value, DEMANDED));
            }
            ExprKind::Cases(cases) => self.note_cases(cases, stand),
            ExprKind::Let(id, entry) => {
                if let Some(entry) = entry {
                    self.note_path(entry, false);
                }
                self.note_let(*id, entry.as_deref(), stand);
            }
            ExprKind::Recorded(path) => self.note_path(path, true),
            ExprKind::Compare(..) | ExprKind::Within(..) if self.program.names(expr).tool => {
                expr.for_each_part(&mut |part| {
                    if self.program.names(part).tool {
                        self.note(part, DEMANDED);
                    }
                });
            }
            ExprKind::Field { .. } | ExprKind::Link { .. } => self.note_path(expr, false),
            _ => expr.for_each_part(&mut |part| self.note(part, DEMANDED)),
        }
    }

    /// Notes what a let names, once for the same entries. Of an entry that is not there, nothing is named.
    fn note_let(&mut self, id: LetId, entry: Option<&'x Expr>, stand: Stand) {
        let definition = &self.program.lets()[id];
        let Ok(slots) = self.slots_of_let(id, entry) else { return };
        if !definition.is_kept() {
            let outer = self.bind(slots);
            self.note(&definition.value, stand);
            self.bind(outer);
            return;
        }
        let known = (id, slots, stand);
        if self.noted.as_ref().is_none_or(|noted| noted.lets.contains(&known)) {
            return;
        }
        let outer = self.bind(slots);
        self.note(&definition.value, stand);
        self.bind(outer);
        let is_whole = !self.has_had_its_share();
        if let Some(noted) = self.noted.as_mut().filter(|_| is_whole) {
            noted.lets.insert(known);
        }
    }

    /// Notes two parts that are joined. One that names no value and settles both takes the other's place.
    fn note_beside(&mut self, is_and: bool, left: (&'x Expr, Stand), right: (&'x Expr, Stand)) {
        let settled = !is_and || left.1.choosing;
        for ((one, of_one), (other, of_other)) in [(left, right), (right, left)] {
            let names_a_value = self.program.names(one).value;
            if !(settled && names_a_value && self.settles(other, of_other, is_and)) {
                self.note(one, of_one);
            }
        }
    }

    /// Whether a part names no value and makes up the whole: by not holding in an `and`, by holding in an `or`.
    fn settles(&mut self, part: &'x Expr, stand: Stand, is_and: bool) -> bool {
        if self.program.names(part).value {
            return false;
        }
        let truth = self.condition(part);
        let truth = if stand.negated { truth.negate() } else { truth };
        truth == if is_and { Truth::No } else { Truth::Yes }
    }

    /// Calls `note` for each element of a list that counts, or may.
    fn note_elements(
        &mut self,
        slot: usize,
        list: &'x Expr,
        condition: Option<&'x Expr>,
        note: &mut dyn FnMut(&mut Self),
    ) {
        let Ok(Elements { list, entries: elements, .. }) = self.elements(list, Some(slot), condition) else {
            return;
        };
        for element in &*elements {
            if !self.spend() {
                return;
            }
            self.set(slot, list.beside(*element));
            if condition.is_none_or(|condition| self.condition(condition) != Truth::No) {
                note(self);
            }
        }
    }

    /// Notes the values of the cases that count, or may.
    fn note_cases(&mut self, cases: &'x [Case<Expr>], stand: Stand) {
        for case in cases {
            let holds = case.condition.as_ref().map_or(Truth::Yes, |condition| self.condition(condition));
            if holds != Truth::No {
                self.note(&case.value, stand);
            }
            if holds == Truth::Yes {
                return;
            }
        }
    }

    /// Notes a value that a path leads to, and those by which its links find their way. `asked` where it is only asked
    /// whether it is recorded.
    fn note_path(&mut self, path: &'x Expr, asked: bool) {
        match &path.kind {
            ExprKind::Field { base, index, .. } => {
                let looked = match judged(base, *index) {
                    Some(Judged::Value) => !asked,
                    Some(Judged::Recorded) => true,
                    None => false,
                };
                if looked && let Ok(node) = self.node(path) {
                    self.note_node(node);
                }
                self.note_path(base, asked);
            }
            ExprKind::Link { base, link, .. } => {
                if let Ok(from) = self.node(base) {
                    self.note_keys(link, from);
                }
                self.note_path(base, asked);
            }
            ExprKind::Let(id, entry) => {
                if let Some(entry) = entry {
                    self.note_path(entry, asked);
                }
                let _ = self.named(*id, entry.as_deref(), |this, value| {
                    this.note_path(value, asked);
                    Ok(())
                });
            }
            _ => {}
        }
    }

    fn note_keys(&mut self, link: &Link, from: NodeRef) {
        for (own, _) in &link.by {
            if let Some(node) = self.around.key_of(link, own, from) {
                self.note_node(node);
            }
        }
    }

    fn note_node(&mut self, node: NodeRef) {
        if let Some(noted) = self.noted.as_mut().filter(|_| node.is_own()) {
            noted.nodes.insert(node.node);
        }
    }
}
