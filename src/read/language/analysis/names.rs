//! What names read: each is gone through once for the same entry under the same conditions.

use std::collections::{BTreeMap, HashSet};

use super::{Bound, Guard, Reached, Walk};
use crate::document::PathPattern;
use crate::language::ids::LetId;
use crate::language::typed::{Expr, Of};
use crate::source::Place;

/// A let that is gone through, and the entry of which it has a value: its path and the conditions on it.
#[derive(PartialEq, Eq, Hash)]
pub(super) struct Entered {
    id: LetId,
    entry: Option<(PathPattern, Vec<Option<Place>>)>,
}

impl Entered {
    fn new(id: LetId, entry: Option<&Bound<'_>>) -> Entered {
        let entry = entry.map(|bound| (bound.path.clone(), bound.guards.iter().map(Guard::place).collect()));
        Entered { id, entry }
    }
}

/// How many lets a rule goes through with the conditions of each.
const MOST_ENTERED: usize = 1_000;

impl<'p> Walk<'p, '_> {
    /// A let has variables of its own; the first is the entry of which it has a value.
    pub(super) fn named(&mut self, number: LetId, entry: Option<&'p Expr>) {
        let definition = &self.program.lets()[number];
        let outer = self.scope_of(&definition.of, entry);
        let own = self.variables.get(&0).filter(|_| matches!(definition.of, Of::Entry(_)));
        let entered = Entered::new(number, own);
        if !self.lets.iter().any(|lets| lets.contains(&entered)) {
            self.entered += 1;
            match self.entered > MOST_ENTERED {
                true => self.unconditionally(|walk| walk.enter(entered, &definition.value)),
                false => self.enter(entered, &definition.value),
            }
        }
        self.variables = outer;
    }

    fn enter(&mut self, entered: Entered, value: &'p Expr) {
        self.lets.last_mut().map(|lets| lets.insert(entered));
        self.expr(value);
    }

    /// Runs `inside` as if it stood under no condition: names that are named in several cases, and so on, stand under more
    /// of them than can be told.
    fn unconditionally(&mut self, inside: impl FnOnce(&mut Self)) {
        let here = std::mem::take(&mut self.here);
        let lets = self.lets.split_off(1);
        inside(self);
        self.here = here;
        self.lets.extend(lets);
    }

    /// Puts what is gone through next under a condition.
    pub(super) fn under(&mut self, condition: Guard<'p>) {
        self.here.push(condition);
        self.lets.push(HashSet::new());
    }

    /// Takes the conditions away again but for so many.
    pub(super) fn back_to(&mut self, conditions: usize) {
        self.here.truncate(conditions);
        self.lets.truncate(conditions + 1);
    }

    /// The variables that a name sees take the place of those in sight, which are given back.
    pub(super) fn scope_of(&mut self, of: &Of, entry: Option<&'p Expr>) -> BTreeMap<usize, Bound<'p>> {
        match of {
            Of::Rule => self.variables.clone(),
            Of::Document => std::mem::take(&mut self.variables),
            Of::Entry(_) => {
                let reached = entry.and_then(|entry| {
                    self.expr(entry);
                    self.reach(entry)
                });
                let own = reached.map(|Reached { path, scope, guards }| (0, Bound { path, scope, guards }));
                std::mem::replace(&mut self.variables, own.into_iter().collect())
            }
        }
    }
}
