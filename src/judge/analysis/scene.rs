//! A rule with the entries that it speaks of and what must be so where it judges.

use super::encode::{Env, Want};
use super::formula::{Formula, States};
use super::solve::Solver;
use super::term::{Node, Sort, Term};
use crate::language::ids::RuleId;
use crate::language::typed::{Concerns, Expr, Rule, Standard};

/// A demand, and what must be so for it to be met and to be broken.
#[derive(Clone, Debug)]
pub(super) struct Demand<'p> {
    pub(super) expr: &'p Expr,
    pub(super) met: Formula<'p>,
    pub(super) broken: Formula<'p>,
}

/// A rule where it judges.
#[derive(Debug)]
pub(super) struct Scene<'p> {
    pub(super) id: RuleId,
    pub(super) standard: &'p Standard,
    pub(super) rule: &'p Rule,
    pub(super) env: Env,
    /// The lists, and the entries in them.
    pub(super) entries: Vec<(Term, Term)>,
    /// What must be so for the standard to apply.
    pub(super) applies: Formula<'p>,
    /// What must be so for the rule to concern the entries.
    pub(super) concerns: Formula<'p>,
    pub(super) demands: Vec<Demand<'p>>,
}

impl<'p> Scene<'p> {
    /// The entries of a list have the same numbers in all rules, so that what two rules say of them can be put together.
    pub(super) fn of(
        solver: &mut Solver<'p>,
        standard: &'p Standard,
        id: RuleId,
        rule: &'p Rule,
    ) -> Scene<'p> {
        solver.encoder.begin();
        let mut env = Env::default();
        let mut entries: Vec<(Term, Term)> = Vec::new();
        let mut concerns = Vec::new();
        let encoder = &mut solver.encoder;
        let applies = match &standard.condition {
            Some(condition) => encoder.truth(condition, &env, Want::Yes),
            None => Formula::Always,
        };
        match &rule.concerns {
            Concerns::Document(condition) => {
                concerns.extend(condition.iter().map(|condition| encoder.truth(condition, &env, Want::Yes)));
            }
            Concerns::Each(nested) => {
                for each in nested {
                    let list = encoder.term(&each.list, &env);
                    let before = entries.iter().filter(|(known, _)| *known == list).count();
                    let number = u32::try_from(before).unwrap_or(u32::MAX);
                    let entry = encoder.terms.add(Node::Entry(list, number), Sort::Group);
                    entries.push((list, entry));
                    env.set(each.slot, entry);
                    if encoder.terms.is_path(list) {
                        concerns.push(Formula::state(list, States::VALUE));
                    }
                    concerns.extend(
                        each.condition.iter().map(|condition| encoder.truth(condition, &env, Want::Yes)),
                    );
                }
            }
        }
        concerns.extend(rule.period.iter().map(|period| encoder.truth(period, &Env::default(), Want::Yes)));
        let demands = rule.demands.iter().map(|expr| Demand {
            expr,
            met: solver.encoder.truth(expr, &env, Want::Yes),
            broken: solver.encoder.truth(expr, &env, Want::No),
        });
        let demands = demands.collect();
        let concerns = Formula::all(concerns);
        Scene { id, standard, rule, env, entries, applies, concerns, demands }
    }

    /// Whether this rule and another one may count on different days: whether two periods meet is not told from here.
    pub(super) fn is_perhaps_apart(&self, other: &Scene<'_>) -> bool {
        self.id != other.id && self.rule.period.is_some() && other.rule.period.is_some()
    }

    /// What must be so where it judges.
    pub(super) fn context(&self) -> [Formula<'p>; 2] {
        [self.applies.clone(), self.concerns.clone()]
    }

    /// The same and more.
    pub(super) fn with(&self, more: impl IntoIterator<Item = Formula<'p>>) -> Vec<Formula<'p>> {
        self.context().into_iter().chain(more).collect()
    }

    /// Whether no document in which it judges has this as well.
    pub(super) fn never(&self, solver: &mut Solver<'p>, more: impl IntoIterator<Item = Formula<'p>>) -> bool {
        solver.never(&self.entries, &self.with(more))
    }
}
