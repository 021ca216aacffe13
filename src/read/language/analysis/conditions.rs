//! What is read only under a condition, and what is asked for because it must be recorded.

use super::{Guard, Scope, Walk};
use crate::language::ast::{Case, Logic};
use crate::language::typed::{Expr, ExprKind};

impl<'p> Walk<'p, '_> {
    /// The second of two conditions is looked at only where the first leaves it open.
    pub(super) fn joined(&mut self, logic: Logic, condition: &'p Expr, second: &'p Expr) {
        self.expr(condition);
        let (scope, outer) = (self.scope(), self.here.len());
        self.under(match logic {
            Logic::Or => Guard::Fails { condition, scope },
            Logic::And | Logic::Implies => Guard::Holds { condition, scope },
        });
        self.expr(second);
        self.back_to(outer);
    }

    /// What must be recorded has its line, though whether it is can be told without it.
    pub(super) fn required(&mut self, demand: &'p Expr) {
        match &demand.kind {
            ExprKind::Logic(Logic::And, left, right) => {
                self.required(left);
                self.required(right);
            }
            ExprKind::Recorded(field) => {
                if let Some(reached) = self.reach(field) {
                    self.read(reached);
                }
            }
            _ => {}
        }
    }

    /// The patterns of the variables in sight.
    fn scope(&self) -> Scope {
        self.variables.iter().map(|(slot, bound)| (*slot, bound.path.clone())).collect()
    }

    /// The value of a case is looked at where its condition holds and those before it do not.
    pub(super) fn cases(&mut self, cases: &'p [Case<Expr>]) {
        let outer = self.here.len();
        for Case { condition, value } in cases {
            let Some(condition) = condition else {
                self.expr(value);
                continue;
            };
            self.expr(condition);
            let before = self.here.len();
            self.under(Guard::Holds { condition, scope: self.scope() });
            self.expr(value);
            self.back_to(before);
            self.under(Guard::Fails { condition, scope: self.scope() });
        }
        self.back_to(outer);
    }
}
