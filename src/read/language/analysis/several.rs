//! What is read of the entries of several lists: of those of each list alone.

use super::{Guard, Walk};
use crate::language::typed::{Each, Expr, Rule};

/// How many of several lists a rule goes through, so that several such lists inside each other come to an end.
const MOST_LISTS: usize = 1_000;

impl<'p> Walk<'p, '_> {
    /// Goes through what a rule says of the entries of lists.
    pub(super) fn subjects(&mut self, rule: &'p Rule, nested: &'p [Each]) {
        let Some((each, inner)) = nested.split_first() else { return self.demands(rule) };
        let Some(lists) = self.lists(&each.list) else {
            self.each(rule, each);
            return self.subjects(rule, inner);
        };
        self.message(each.message.as_deref().unwrap_or_default());
        for list in lists {
            let outer = (self.whole.len(), self.variables.clone());
            if let Some(list) = self.reach(list) {
                self.whole.push(Guard::Present(list.path));
            }
            self.bind(each.slot, list, each.condition.as_ref());
            self.subjects(rule, inner);
            self.whole.truncate(outer.0);
            self.variables = outer.1;
        }
    }

    /// Goes through what is said of each element of a list.
    pub(super) fn of_each(
        &mut self,
        slot: usize,
        list: &'p Expr,
        condition: Option<&'p Expr>,
        part: Option<&'p Expr>,
    ) {
        for list in self.lists(list).unwrap_or(std::slice::from_ref(list)) {
            self.bind(slot, list, condition);
            part.into_iter().for_each(|part| self.expr(part));
        }
    }

    /// The lists of which a list consists; nothing for a single one.
    fn lists(&mut self, list: &'p Expr) -> Option<&'p [Expr]> {
        let lists = self.program.lists_in(list).filter(|_| self.lists < MOST_LISTS)?;
        self.lists += lists.len();
        Some(lists)
    }

    /// Whether something is an entry of one of several lists, and those of its list have no such field or link.
    pub(super) fn lacks(&self, entry: &Expr, name: &str) -> bool {
        let Some((mixed, at)) = entry.mixed().zip(self.reach(entry)) else { return false };
        let path = at.path.to_string();
        mixed.lacks(&path, name)
    }
}
