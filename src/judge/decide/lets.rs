//! What lets come to: each is computed once for the entries that it is about, however often it is named. Without this, one
//! that names another twice, which names another twice, would double the work with each name.

use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hash, Hasher};

use super::aggregate::Places;
use super::answer::Answer;
use super::compute::{Computed, Operand};
use super::guarded::{Guarding, Sense};
use super::limits::Limits;
use super::spread::Spread;
use super::uncertain::Known;
use super::verdict::{Leaf, Slots};
use super::{Evaluator, NodeRef, Truth, Verdict};
use crate::language::ids::{Id as _, LetId};
use crate::language::typed::{Expr, ExprKind, VARIABLES};
use crate::metrology::Line;

/// How many results of one sort are kept at most; past that, they are computed anew.
const MOST_KEPT: usize = 1 << 14;

/// What lets came to, by what was asked of them.
#[derive(Debug, Default)]
pub(super) struct Lets<'x> {
    values: Results<'x, Operand<'x>>,
    pub(super) truths: Results<'x, Truth>,
    pub(super) verdicts: Results<'x, Verdict<'x>>,
    uncertainties: Results<'x, Known>,
    of_limits: Results<'x, Known>,
    limits: Results<'x, Limits<'x>>,
    spreads: Results<'x, Spread>,
    places: Results<'x, Places>,
}

/// What lets came to where the same was asked.
pub(super) type Results<'x, T> = HashMap<Key, Kept<'x, T>, BuildHasherDefault<Mixed>>;

/// Takes the number into which a [`Key`] was mixed as its hash.
#[derive(Default)]
pub(super) struct Mixed(u64);

impl Hasher for Mixed {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|byte| self.write_u64(u64::from(*byte)));
    }

    fn write_u64(&mut self, number: u64) {
        self.0 = self.0.rotate_left(5) ^ number;
    }
}

/// Where results of a sort are kept.
type Of<'x, T> = for<'l> fn(&'l mut Lets<'x>) -> &'l mut Results<'x, T>;

/// All on which the result depends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Key {
    id: LetId,
    /// The elements that it can name. All other variables are the root here.
    slots: Slots,
    guarding: Option<(usize, bool, Sense)>,
    in_full: bool,
    traced: bool,
}

#[derive(Debug)]
pub(super) struct Kept<'x, T> {
    result: Computed<'x, T>,
    /// How its figures were computed.
    lines: Vec<Line>,
    /// How many elements of lists were looked at for it.
    looks: u64,
    /// The last rule for which they were counted.
    counted: u32,
}

/// A result that is the same wherever its let is named, but for the elements that its variables stand for there.
pub(super) trait Named: Clone {
    /// The same where the variables that the let does not know stand for these elements.
    #[must_use]
    fn among(self, _root: NodeRef, _outer: &Slots) -> Self {
        self
    }
}

impl Named for Operand<'_> {}
impl Named for Truth {}
impl Named for Known {}
impl Named for Limits<'_> {}
impl Named for Spread {}
impl Named for Places {}

impl Named for Verdict<'_> {
    fn among(mut self, root: NodeRef, outer: &Slots) -> Self {
        if let Some(leaf) = &mut self.leaf {
            leaf.put_among(root, outer);
        }
        self
    }
}

impl Leaf<'_> {
    fn put_among(&mut self, root: NodeRef, outer: &Slots) {
        for (slot, outer) in self.slots.iter_mut().zip(outer) {
            if *slot == root {
                *slot = *outer;
            }
        }
        if let Some(besides) = &mut self.besides {
            besides.put_among(root, outer);
        }
    }
}

impl Hash for Key {
    /// Mixes what tells most keys apart into one number first: to hash each part by itself would take longer than many lets.
    fn hash<H: Hasher>(&self, state: &mut H) {
        const ODD: u64 = 0x9E37_79B9_7F4A_7C15;
        let mix = |so_far: u64, part: u64| (so_far.rotate_left(5) ^ part).wrapping_mul(ODD);
        let of_slot = |slot: &NodeRef| u64::from(slot.document) << 32 | slot.node.index() as u64;
        let flags = u64::from(self.in_full) << 1 | u64::from(self.traced);
        let first = mix(self.id.place() as u64, flags);
        let mixed = self.slots.iter().fold(first, |so_far, slot| mix(so_far, of_slot(slot)));
        // The lower half of a product knows nothing of the upper halves.
        state.write_u64(mixed ^ mixed >> 32);
    }
}

impl Key {
    fn of(evaluator: &Evaluator<'_>, id: LetId, slots: Slots) -> Key {
        Key {
            id,
            slots,
            guarding: evaluator.guarding.as_ref().map(Guarding::key),
            in_full: evaluator.in_full,
            traced: evaluator.steps.is_some(),
        }
    }
}

impl<'x> Evaluator<'x> {
    /// The value of a let.
    pub(super) fn value_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Operand<'x>> {
        self.once(id, entry, |lets| &mut lets.values, Self::value)
    }

    /// Whether a let holds.
    pub(super) fn answer_of_let<A: Answer<'x>>(
        &mut self,
        id: LetId,
        entry: Option<&'x Expr>,
    ) -> Computed<'x, A> {
        self.once(id, entry, A::kept, |inner, value| Ok(inner.answer(value)))
    }

    /// The limits that a let gives.
    pub(super) fn limits_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Limits<'x>> {
        self.once(id, entry, |lets| &mut lets.limits, Self::limits)
    }

    /// What the value of a let can be.
    pub(super) fn spread_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Spread> {
        self.once(id, entry, |lets| &mut lets.spreads, Self::spread)
    }

    /// How uncertain the value of a let is.
    pub(super) fn uncertainty_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Known> {
        self.once(id, entry, |lets| &mut lets.uncertainties, Self::uncertainty)
    }

    /// How uncertain the limits are that a let gives.
    pub(super) fn uncertainty_of_limits(
        &mut self,
        id: LetId,
        entry: Option<&'x Expr>,
    ) -> Computed<'x, Known> {
        self.once(id, entry, |lets| &mut lets.of_limits, Self::of_limits)
    }

    /// The places of the values that a let lists.
    pub(super) fn places_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Places> {
        self.once(id, entry, |lets| &mut lets.places, |inner, value| Ok(inner.places_in(value)))
    }

    /// Runs `inside` on the value of a let, unless it was done before for the same entries.
    fn once<T: Named>(
        &mut self,
        id: LetId,
        entry: Option<&'x Expr>,
        results: Of<'x, T>,
        inside: impl FnOnce(&mut Self, &'x Expr) -> Computed<'x, T>,
    ) -> Computed<'x, T> {
        let definition = &self.program.lets()[id];
        if !definition.is_kept() {
            return self.named(id, entry, inside);
        }
        let slots = self.slots_of_let(id, entry)?;
        let key = Key::of(self, id, slots);
        let (root, outer) = (self.root(), self.slots);
        if let Some(known) = self.recall(&key, results) {
            return known.map(|known| known.among(root, &outer));
        }
        self.slots = key.slots;
        let found = self.keep(key, results, |inner| inside(inner, &definition.value));
        self.slots = outer;
        found.map(|found| found.among(root, &outer))
    }

    /// The variables as a let sees them: those that it does not know are the root.
    pub(super) fn slots_of_let(&mut self, id: LetId, entry: Option<&'x Expr>) -> Computed<'x, Slots> {
        let entry = entry.map(|entry| self.node(entry)).transpose()?;
        let definition = &self.program.lets()[id];
        let mut slots = [self.root(); VARIABLES];
        for ((number, slot), outer) in slots.iter_mut().enumerate().zip(&self.slots) {
            if definition.sees(number) {
                *slot = *outer;
            }
        }
        if let (Some(entry), Some(first)) = (entry, slots.first_mut()) {
            *first = entry;
        }
        Ok(slots)
    }

    /// What a let came to before. What it took counts once for each rule that names it, as if no other rule had.
    fn recall<T: Named>(&mut self, key: &Key, results: Of<'x, T>) -> Option<Computed<'x, T>> {
        let mut lets = self.share.lets().borrow_mut();
        let known = results(&mut lets).get_mut(key)?;
        if known.counted != self.rules_begun {
            known.counted = self.rules_begun;
            self.looks = self.looks.saturating_add(known.looks);
        }
        self.working.recall(&known.lines);
        Some(known.result.clone())
    }

    /// Runs `inside` and keeps what it comes to, unless that is for want of time.
    fn keep<T: Named>(
        &mut self,
        key: Key,
        results: Of<'x, T>,
        inside: impl FnOnce(&mut Self) -> Computed<'x, T>,
    ) -> Computed<'x, T> {
        let (looks, steps) = (self.looks, self.steps.as_ref().map_or(0, Vec::len));
        let before = self.working.take();
        let result = inside(self);
        let lines = self.working.put_behind(before);
        let (root, outer) = (self.root(), self.slots);
        for step in self.steps.iter_mut().flatten().skip(steps) {
            step.leaf.put_among(root, &outer);
        }
        if self.has_had_its_share() {
            return result;
        }
        let looks = self.looks.saturating_sub(looks);
        let kept = Kept { result: result.clone(), lines, looks, counted: self.rules_begun };
        let mut lets = self.share.lets().borrow_mut();
        let results = results(&mut lets);
        if results.len() >= MOST_KEPT {
            results.clear();
        }
        results.insert(key, kept);
        result
    }

    /// Whether a record states every field that a condition names.
    pub fn states_all(&mut self, condition: &'x Expr) -> bool {
        self.states(condition, &mut HashSet::new())
    }

    /// The same, where the fields of some lets are known to be stated.
    fn states(&mut self, condition: &'x Expr, stated: &mut HashSet<LetId>) -> bool {
        match &condition.kind {
            ExprKind::Field { .. } | ExprKind::Link { .. } => {
                condition.variable().is_some() || self.node(condition).is_ok()
            }
            ExprKind::Let(id, _) => {
                !stated.insert(*id) || self.states(&self.program.lets()[*id].value, stated)
            }
            _ => {
                let mut parts = Vec::new();
                condition.for_each_part(&mut |part| parts.push(part));
                parts.into_iter().all(|part| self.states(part, stated))
            }
        }
    }
}
