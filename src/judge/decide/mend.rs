//! What would have to come out otherwise for a demand to be met, with the least work.

use super::elements::Elements;
use super::guarded::Guarding;
use super::{Evaluator, Truth, Verdict};
use crate::language::ast::{Logic, Quantifier};
use crate::language::typed::{Expr, ExprKind};

/// A comparison that would have to come out otherwise.
#[derive(Clone, Debug)]
pub struct Change<'x, W> {
    /// What it comes to now, with what decided that.
    pub verdict: Verdict<'x>,
    /// By what work it would come out otherwise.
    pub work: W,
}

/// By what work a comparison could come to hold, or not to hold, as it is wanted; nothing where no work does it.
pub type Weigh<'w, 'x, W> = &'w mut dyn FnMut(&Evaluator<'x>, &Verdict<'x>, bool) -> Option<W>;

/// Work that can be held against other work.
pub trait Effort {
    /// How much it is.
    fn effort(&self) -> u64;
}

type Changes<'x, W> = Option<Vec<Change<'x, W>>>;

impl<'x> Evaluator<'x> {
    /// The comparisons that would have to come out otherwise for a demand to be met, with the least work: of an `and` all
    /// that do not hold, of an `or` those of the easier side. What chooses the elements of a list stays as it is.
    /// Nothing where no work does it, or where the search would take more steps than a document has.
    pub fn least_changes<W: Effort>(&mut self, demand: &'x Expr, weigh: Weigh<'_, 'x, W>) -> Changes<'x, W> {
        let guarding = self.guarding;
        let found = self.untraced(|inner| inner.changes(demand, true, weigh));
        self.guarding = guarding;
        found
    }

    fn changes<W: Effort>(
        &mut self,
        expr: &'x Expr,
        wanted: bool,
        weigh: Weigh<'_, 'x, W>,
    ) -> Changes<'x, W> {
        if !self.spend() {
            return None;
        }
        let truth: Truth = self.briefly(|inner| inner.answer(expr));
        if truth == Truth::from_bool(wanted) {
            return Some(Vec::new());
        }
        match &expr.kind {
            ExprKind::Not(inner) => self.negated(|negated| negated.changes(inner, !wanted, weigh)),
            ExprKind::Decided(rule, inner) => {
                let outer = std::mem::replace(&mut self.guarding, Guarding::by_demand(rule));
                let found = self.changes(inner, wanted, weigh);
                self.guarding = outer;
                found
            }
            ExprKind::Logic(logic, left, right) => {
                let one = match logic {
                    Logic::Implies => self.negated(|negated| negated.changes(left, !wanted, weigh)),
                    Logic::And | Logic::Or => self.changes(left, wanted, weigh),
                };
                let other = self.changes(right, wanted, weigh);
                match (*logic == Logic::And) == wanted {
                    true => both(one, other),
                    false => easier(one, other),
                }
            }
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                let asked = condition.as_deref();
                let Ok(Elements { list, entries, rest: None }) = self.elements(list, Some(*slot), asked)
                else {
                    return self.change(expr, wanted, weigh);
                };
                let (of_each, of_all) = match quantifier {
                    Quantifier::Every => (wanted, wanted),
                    Quantifier::Some => (wanted, !wanted),
                    Quantifier::No => (!wanted, wanted),
                };
                let (mut found, outer) = (None, self.slots);
                for entry in &*entries {
                    self.set(*slot, list.beside(*entry));
                    if asked.is_some_and(|asked| self.condition(asked) == Truth::No) {
                        continue;
                    }
                    let one = match quantifier {
                        Quantifier::No => self.negated(|negated| negated.changes(body, of_each, weigh)),
                        Quantifier::Every | Quantifier::Some => self.changes(body, of_each, weigh),
                    };
                    found = Some(match found {
                        None => one,
                        Some(found) if of_all => both(found, one),
                        Some(found) => easier(found, one),
                    });
                }
                self.slots = outer;
                found.unwrap_or_else(|| self.change(expr, wanted, weigh))
            }
            ExprKind::Let(id, entry) => {
                let Ok(slots) = self.slots_of_let(*id, entry.as_deref()) else {
                    return self.change(expr, wanted, weigh);
                };
                let outer = std::mem::replace(&mut self.slots, slots);
                let found = self.changes(&self.program.lets()[*id].value, wanted, weigh);
                self.slots = outer;
                found
            }
            ExprKind::Cases(cases) => match self.case_in(cases) {
                Some(value) => self.changes(value, wanted, weigh),
                None => self.change(expr, wanted, weigh),
            },
            _ => self.change(expr, wanted, weigh),
        }
    }

    /// A comparison that is not taken apart.
    fn change<W: Effort>(&mut self, expr: &'x Expr, wanted: bool, weigh: Weigh<'_, 'x, W>) -> Changes<'x, W> {
        let verdict: Verdict<'x> = self.answer(expr);
        let work = weigh(self, &verdict, wanted)?;
        Some(vec![Change { verdict, work }])
    }
}

fn both<'x, W>(one: Changes<'x, W>, other: Changes<'x, W>) -> Changes<'x, W> {
    let (mut one, other) = (one?, other?);
    one.extend(other);
    Some(one)
}

/// The side with less work; of two with as much, the first.
fn easier<'x, W: Effort>(one: Changes<'x, W>, other: Changes<'x, W>) -> Changes<'x, W> {
    let effort = |changes: &Vec<Change<'x, W>>| changes.iter().map(|one| one.work.effort()).sum::<u64>();
    match (one, other) {
        (Some(one), Some(other)) if effort(&other) < effort(&one) => Some(other),
        (Some(one), _) => Some(one),
        (None, other) => other,
    }
}
