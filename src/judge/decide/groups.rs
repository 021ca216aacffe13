//! Entries of a list that agree in some fields: the groups which a rule is about, each once.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::compute::Computed;
use super::elements::Elements;
use super::verdict::Slots;
use super::{Evaluator, Judgement, Missing, NodeRef, Reason, Truth, Verdict};
use crate::document::NodeId;
use crate::language::typed::{Concerns, Each, Expr, Rule};
use crate::value::Value;

/// The groups that were made so far, by the variables on which they depend. All evaluators of one document share
/// them.
pub(super) type Groups<'x> = Rc<RefCell<HashMap<Slots, Rc<Grouped<'x>>>>>;

/// The groups of a list.
#[derive(Debug)]
pub(super) struct Grouped<'x> {
    list: NodeRef,
    /// How many entries the list has.
    of: u32,
    /// Why there can be more of them.
    rest: Option<Missing<'x>>,
    groups: Vec<Group<'x>>,
    /// The entries that are in none, because a condition leaves them out.
    left_out: Vec<NodeId>,
    /// By the first entry of a group, its number.
    numbers: HashMap<NodeId, usize>,
}

#[derive(Debug)]
struct Group<'x> {
    entries: Vec<NodeId>,
    /// Why it cannot be told which entries it has, and the condition or key that is open.
    open: Option<(&'x Expr, Verdict<'x>)>,
}

/// What the entries of a group agree in. What is not recorded agrees with what is not recorded.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Key {
    Nothing,
    Text(String),
    Number(String),
    Truth(bool),
}

impl<'x> Evaluator<'x> {
    /// Judges the groups of a list as [`Evaluator::each`] judges its elements. A group of which it cannot be told
    /// which entries it has is left open.
    pub(super) fn each_group(
        &mut self,
        rule: &'x Rule,
        each: &'x Each,
        inner: &'x [Each],
        doubt: bool,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) -> bool {
        let grouped = match self.grouped(each) {
            Ok(grouped) => grouped,
            Err(missing) => return self.number_of((rule, each), Err(missing), [0; 3], None, doubt, sink),
        };
        let (mut sure, mut perhaps, mut open, mut all_met) = (0u32, 0u32, None, true);
        for group in &grouped.groups {
            let Some(first) = group.entries.first() else { continue };
            if !self.spend() {
                self.given_up = true;
                return false;
            }
            let first = grouped.list.beside(*first);
            self.set(each.slot, first);
            match &group.open {
                None => {
                    sure = sure.saturating_add(1);
                    all_met &= self.each(rule, inner, first, doubt, sink);
                }
                Some((asked, verdict)) => {
                    perhaps = perhaps.saturating_add(1);
                    all_met = false;
                    open = Some(beside(open, verdict));
                    if !doubt {
                        self.concern(rule, asked, first, verdict.clone(), sink);
                    }
                }
            }
        }
        if let Some(condition) = each.condition.as_ref().filter(|_| !doubt) {
            for entry in &grouped.left_out {
                let entry = grouped.list.beside(*entry);
                self.set(each.slot, entry);
                self.concern(rule, condition, entry, Verdict::bare(Truth::No), sink);
            }
        }
        let found = [sure, perhaps, grouped.of];
        let list = grouped.rest.clone().map_or(Ok(grouped.list), Err);
        self.number_of((rule, each), list, found, open, doubt, sink) && all_met
    }

    /// The entries of the group for whose first one a variable stands.
    pub(super) fn entries_of(&mut self, slot: usize) -> Computed<'x, Elements<'x>> {
        let no_group = self.unreadable(None);
        let Some(Concerns::Each(nested)) = self.rule.map(|rule| &rule.concerns) else { return Err(no_group) };
        let Some(each) = nested.iter().find(|each| each.slot == slot) else { return Err(no_group) };
        let grouped = self.grouped(each)?;
        let first = self.slots.get(slot).map(|first| first.node);
        let number = first.and_then(|first| grouped.numbers.get(&first));
        match number.and_then(|number| grouped.groups.get(*number)) {
            Some(group) => {
                // No one list holds entries of several: their group is where it begins.
                let is_of_several = grouped.list == self.root();
                let first = first.filter(|_| is_of_several).map(|first| grouped.list.beside(first));
                Ok(Elements::of(first.unwrap_or(grouped.list), Cow::Owned(group.entries.clone())))
            }
            None => Err(no_group),
        }
    }

    fn grouped(&mut self, each: &'x Each) -> Computed<'x, Rc<Grouped<'x>>> {
        // The variables before it choose the entries, and those behind it are bound later.
        let mut known_by = self.slots;
        let root = self.root();
        known_by.iter_mut().skip(each.slot).for_each(|slot| *slot = root);
        let known = self.groups.borrow().get(&known_by).map(Rc::clone);
        if let Some(known) = known {
            return Ok(known);
        }
        let outer = self.slots;
        let grouped = self.make_groups(each).map(Rc::new);
        self.slots = outer;
        let grouped = grouped?;
        self.groups.borrow_mut().insert(known_by, Rc::clone(&grouped));
        Ok(grouped)
    }

    fn make_groups(&mut self, each: &'x Each) -> Computed<'x, Grouped<'x>> {
        let Elements { list, entries, rest } = self.elements(&each.list, None, None)?;
        let mut groups: Vec<Group<'x>> = Vec::new();
        let (mut by_keys, mut left_out): (HashMap<Vec<Key>, usize>, _) = (HashMap::new(), Vec::new());
        let mut any: Option<(&'x Expr, Verdict<'x>)> = None;
        for entry in &*entries {
            if !self.spend() {
                return Err(self.too_long());
            }
            self.set(each.slot, list.beside(*entry));
            let mut open = None;
            if let Some(condition) = &each.condition {
                let verdict = self.chosen(condition);
                match verdict.truth {
                    Truth::Yes => {}
                    Truth::No => {
                        left_out.push(*entry);
                        continue;
                    }
                    Truth::Unknown => open = Some((condition, verdict)),
                }
            }
            let mut keys = Vec::with_capacity(each.keys.len());
            for key in &each.keys {
                match self.group_key(key) {
                    Ok(known) => keys.push(known),
                    Err(missing) => {
                        // It may belong to any group.
                        let verdict = self.undecided(key, missing);
                        open = Some((key, verdict));
                        any = any.or_else(|| open.clone());
                        keys.push(Key::Nothing);
                    }
                }
            }
            let number = *by_keys.entry(keys).or_insert(groups.len());
            match groups.get_mut(number) {
                Some(group) => {
                    group.entries.push(*entry);
                    group.open = group.open.take().or(open);
                }
                None => groups.push(Group { entries: vec![*entry], open }),
            }
        }
        if let Some(any) = any {
            for group in &mut groups {
                group.open = group.open.take().or_else(|| Some(any.clone()));
            }
        }
        let first = |(number, group): (usize, &Group<'x>)| Some((*group.entries.first()?, number));
        let numbers = groups.iter().enumerate().filter_map(first).collect();
        let of = u32::try_from(entries.len()).unwrap_or(u32::MAX);
        Ok(Grouped { list, of, rest, groups, left_out, numbers })
    }

    fn group_key(&mut self, key: &'x Expr) -> Result<Key, Missing<'x>> {
        match self.value(key) {
            Ok(operand) => Ok(match operand.get() {
                Value::Text(text) => Key::Text(text.to_string()),
                Value::Truth(truth) => Key::Truth(*truth),
                Value::Quantity(number) => Key::Number(number.to_string()),
                _ => return Err(self.unreadable(operand.at)),
            }),
            Err(Missing { reason: Reason::NotRecorded(..), .. }) => Ok(Key::Nothing),
            Err(missing) => Err(missing),
        }
    }
}

fn beside<'x>(open: Option<Verdict<'x>>, next: &Verdict<'x>) -> Verdict<'x> {
    match open {
        None => next.clone(),
        Some(first) => Verdict::beside(first, next.clone()),
    }
}
