//! Which values a finding goes by, so that it can be known again and no other finding is taken for it.

use super::compute::Computed;
use super::elements::Elements;
use super::guarded::Guarding;
use super::{About, Evaluator, Judgement, Leaf, MOST_LOOKS, Missing, NodeRef, Truth, Verdict};
use crate::language::ast::{Logic, Quantifier};
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Rule};

/// How many values the findings of one rule in one document may go by.
const MOST_VALUES: usize = 10_000;

/// What the findings of one rule in one document may still cost, so that the work ends however long the lists
/// are.
#[derive(Clone, Copy, Debug)]
pub struct SeenBudget {
    looks: u64,
    values: usize,
}

impl Default for SeenBudget {
    fn default() -> Self {
        SeenBudget { looks: MOST_LOOKS, values: MOST_VALUES }
    }
}

/// What a finding goes by.
#[derive(Debug)]
pub enum Seen<'p> {
    /// A value, or what holds several.
    Value(NodeRef),
    /// One that is not there.
    Missing(Missing<'p>),
    /// How logs ran.
    Logs(Box<Leaf<'p>>),
}

/// The values that were found so far.
#[derive(Default)]
struct Gathered<'p> {
    values: Vec<Seen<'p>>,
    /// Whether there is more than can be looked at.
    cut: bool,
}

impl<'x> Evaluator<'x> {
    /// The values by which a judgement came out as it did: of the parts of a demand that are not met, each
    /// value that they look at; of entries that are counted, those of every entry. None where that is more than
    /// the budget allows. To be called while the judgement is passed on, when its variables still stand for
    /// its elements.
    pub fn seen(&mut self, judgement: &Judgement<'x>, budget: &mut SeenBudget) -> Option<Vec<Seen<'x>>> {
        let steps = self.steps.take();
        let outer = (self.slots, self.looks, self.guarding);
        self.looks = MOST_LOOKS - budget.looks;
        let mut seen = Gathered::default();
        self.aside(|this| this.gather(judgement, &mut seen));
        budget.looks = MOST_LOOKS.saturating_sub(self.looks);
        (self.slots, self.looks, self.guarding) = outer;
        self.steps = steps;
        self.working.take();
        let left = budget.values.checked_sub(seen.values.len()).filter(|_| !seen.cut);
        budget.values = left.unwrap_or_default();
        left.map(|_| seen.values)
    }

    fn gather(&mut self, judgement: &Judgement<'x>, seen: &mut Gathered<'x>) {
        match judgement.about {
            About::Work(_) => {}
            About::Demand(demand) => self.demanded(demand, seen),
            About::Concern(condition) => {
                self.choosing(|this| this.blame(condition, Truth::Yes, seen));
                let inner = lists_below(judgement.rule, condition);
                self.demanded_below(judgement.rule, inner, seen);
            }
            About::Number { each, .. } => {
                self.entries((&each.list, Some(each.slot)), each.condition.as_ref(), None, seen);
            }
        }
    }

    fn demanded(&mut self, demand: &'x Expr, seen: &mut Gathered<'x>) {
        let outer = self.guarding;
        self.blame(demand, Truth::Yes, seen);
        self.guarding = outer;
    }

    /// What is demanded of each element of nested lists.
    fn demanded_below(&mut self, rule: &'x Rule, nested: &'x [Each], seen: &mut Gathered<'x>) {
        let Some((each, inner)) = nested.split_first() else {
            rule.demands.iter().for_each(|demand| self.demanded(demand, seen));
            return;
        };
        self.each_entry((&each.list, Some(each.slot)), seen, &mut |this, seen| {
            let chosen = each
                .condition
                .as_ref()
                .map(|condition| this.choosing(|this| this.blame(condition, Truth::Yes, seen)));
            if chosen != Some(Truth::No) {
                this.demanded_below(rule, inner, seen);
            }
        });
    }

    /// Whether an expression holds; unless it comes to `good`, the values of the parts to blame are added.
    fn blame(&mut self, expr: &'x Expr, good: Truth, seen: &mut Gathered<'x>) -> Truth {
        let before = seen.values.len();
        let truth = match &expr.kind {
            ExprKind::Not(inner) => self.negated(|this| this.blame(inner, good.negate(), seen)).negate(),
            ExprKind::Decided(rule, inner) => {
                self.guarding = Guarding::by_demand(rule);
                self.blame(inner, good, seen)
            }
            ExprKind::Let(..) if !self.spend() => {
                seen.cut = true;
                Truth::Unknown
            }
            ExprKind::Let(id, entry) => {
                let blamed =
                    self.named(*id, entry.as_deref(), |this, value| Ok(this.blame(value, good, seen)));
                blamed.unwrap_or_else(|missing| {
                    seen.values.push(Seen::Missing(missing));
                    Truth::Unknown
                })
            }
            ExprKind::Logic(logic, left, right) => {
                let left = match logic {
                    Logic::Implies => self.negated(|this| this.blame(left, good.negate(), seen)).negate(),
                    Logic::And | Logic::Or => self.blame(left, good, seen),
                };
                let right = self.blame(right, good, seen);
                if *logic == Logic::And { left.min(right) } else { left.max(right) }
            }
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                let of = (&**list, Some(*slot));
                self.blame_entries(*quantifier, of, condition.as_deref(), body, good, seen)
            }
            _ => {
                let truth = self.answer(expr);
                if truth != good {
                    self.values(expr, seen);
                }
                truth
            }
        };
        if truth == good {
            seen.values.truncate(before);
        }
        truth
    }

    /// The same of the entries of a list. A condition chooses the entries, so it is to blame only where it
    /// leaves open whether an entry counts.
    fn blame_entries(
        &mut self,
        quantifier: Quantifier,
        list: (&'x Expr, Option<usize>),
        condition: Option<&'x Expr>,
        body: &'x Expr,
        good: Truth,
        seen: &mut Gathered<'x>,
    ) -> Truth {
        let mut whole = Truth::from_bool(quantifier != Quantifier::Some);
        let listed = self.each_entry(list, seen, &mut |this, seen| {
            let before = seen.values.len();
            let chosen = condition.map_or(Truth::Yes, |condition| match quantifier {
                Quantifier::Some => this.answer(condition),
                Quantifier::Every | Quantifier::No => this.negated(|this| this.answer(condition)),
            });
            if chosen == Truth::No {
                return;
            }
            if let Some(condition) = condition.filter(|_| chosen == Truth::Unknown) {
                this.values(condition, seen);
            }
            // What an entry says for or against the whole, and when it speaks for it.
            let one = match quantifier {
                Quantifier::Every => this.blame(body, good, seen).max(chosen.negate()),
                Quantifier::Some => this.blame(body, good, seen).min(chosen),
                Quantifier::No => {
                    let counts = this.negated(|this| this.blame(body, good.negate(), seen)).min(chosen);
                    counts.negate()
                }
            };
            if one == good {
                seen.values.truncate(before);
            }
            whole = match quantifier {
                Quantifier::Some => whole.max(one),
                Quantifier::Every | Quantifier::No => whole.min(one),
            };
        });
        match (listed, quantifier) {
            (true, _) => whole,
            (false, Quantifier::Some) => whole.max(Truth::Unknown),
            (false, Quantifier::Every | Quantifier::No) => whole.min(Truth::Unknown),
        }
    }

    /// Calls `see` for each element of a list; false where it is not there, or one of several is not, which is seen
    /// then.
    fn each_entry(
        &mut self,
        (list, slot): (&'x Expr, Option<usize>),
        seen: &mut Gathered<'x>,
        see: &mut dyn FnMut(&mut Self, &mut Gathered<'x>),
    ) -> bool {
        let Elements { list, entries: elements, rest } = match self.elements(list, None, None) {
            Ok(found) => found,
            Err(missing) => {
                seen.values.push(Seen::Missing(missing));
                return false;
            }
        };
        for element in &*elements {
            if seen.cut || seen.values.len() > MOST_VALUES || !self.spend() {
                seen.cut = true;
                break;
            }
            if let Some(slot) = slot {
                self.set(slot, list.beside(*element));
            }
            see(self, seen);
        }
        let is_whole = rest.is_none();
        seen.values.extend(rest.map(Seen::Missing));
        is_whole
    }

    /// What counts and is taken of each entry of a list, also of those that do not count: any of them can be
    /// the one that should.
    fn entries(
        &mut self,
        list: (&'x Expr, Option<usize>),
        condition: Option<&'x Expr>,
        value: Option<&'x Expr>,
        seen: &mut Gathered<'x>,
    ) {
        if condition.is_none() && value.is_none() {
            return self.names_of(list.0, seen);
        }
        self.each_entry(list, seen, &mut |this, seen| {
            let counts = condition.map(|condition| {
                this.values(condition, seen);
                this.condition(condition)
            });
            if let Some(value) = value.filter(|_| counts != Some(Truth::No)) {
                this.values(value, seen);
            }
        });
    }

    /// The entries of a list themselves.
    fn names_of(&mut self, list: &'x Expr, seen: &mut Gathered<'x>) {
        match self.elements(list, None, None) {
            Ok(Elements { list, entries, rest }) => {
                seen.cut |= entries.len() > MOST_VALUES;
                for item in entries.iter().take(MOST_VALUES) {
                    seen.values.push(Seen::Value(list.beside(*item)));
                }
                seen.values.extend(rest.map(Seen::Missing));
            }
            Err(missing) => seen.values.push(Seen::Missing(missing)),
        }
    }

    /// Every value of a document that an expression looks at.
    fn values(&mut self, expr: &'x Expr, seen: &mut Gathered<'x>) {
        match &expr.kind {
            ExprKind::Variable(_) | ExprKind::Field { .. } | ExprKind::Link { .. } => {
                let node = self.node(expr);
                Self::found(node, seen);
            }
            ExprKind::Let(..) if seen.values.len() > MOST_VALUES || !self.spend() => seen.cut = true,
            ExprKind::Let(id, entry) => {
                let looked = self.named(*id, entry.as_deref(), |this, value| {
                    this.values(value, seen);
                    Ok(())
                });
                seen.values.extend(looked.err().map(Seen::Missing));
            }
            ExprKind::Timed(_) => {
                expr.for_each_part(&mut |part| self.values(part, seen));
                self.course_seen(expr, seen);
            }
            ExprKind::Quantified { slot, list, condition, body, .. } => {
                self.entries((list, Some(*slot)), condition.as_deref(), Some(body), seen);
            }
            ExprKind::Aggregate { value, slot, list, condition, .. } => {
                self.entries((list, *slot), condition.as_deref(), value.as_deref(), seen);
            }
            _ => expr.for_each_part(&mut |part| self.values(part, seen)),
        }
    }

    /// How the logs ran that a question looks at.
    fn course_seen(&mut self, expr: &'x Expr, seen: &mut Gathered<'x>) {
        let verdict: Verdict<'x> = self.answer(expr);
        seen.values.extend(verdict.leaf.map(Seen::Logs));
    }

    fn found(node: Computed<'x, NodeRef>, seen: &mut Gathered<'x>) {
        match node {
            Ok(spot) => seen.values.push(Seen::Value(spot)),
            Err(missing) => seen.values.push(Seen::Missing(missing)),
        }
    }
}

/// The lists of a rule below the one whose elements a condition chooses.
fn lists_below<'x>(rule: &'x Rule, condition: &Expr) -> &'x [Each] {
    let Concerns::Each(nested) = &rule.concerns else { return &[] };
    let own = |each: &Each| each.condition.as_ref().is_some_and(|own| std::ptr::eq(own, condition));
    let below = nested.iter().position(own).map_or(nested.len(), |number| number + 1);
    nested.get(below..).unwrap_or_default()
}
