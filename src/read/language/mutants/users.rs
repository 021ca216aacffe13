//! Which rules a definition is used by: what it comes to can change only them.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::Definition;
use crate::language::ids::RuleId;
use crate::language::typed::{Concerns, Expr, ExprKind, Program, Rule};

/// By definition, the rules whose judgement it can change, in their order. Definitions that no rule uses are left out.
#[derive(Clone, Debug, Default)]
pub struct Users(BTreeMap<Definition, BTreeSet<RuleId>>);

impl Users {
    /// Those of a program, for the rules that are wanted.
    #[must_use]
    pub fn of(program: &Program, wanted: &dyn Fn(&Rule) -> bool) -> Users {
        let mut users = Users::default();
        for (number, standard) in program.standards().iter().enumerate() {
            for (id, rule) in program.all_rules_of(standard).filter(|(_, rule)| wanted(rule)) {
                let mut used = HashSet::from([Definition::Standard(number), Definition::Rule(id)]);
                let mut see = |expr: &Expr| reach(program, expr, &mut used);
                standard.condition.iter().for_each(&mut see);
                rule.period.iter().chain(&rule.demands).for_each(&mut see);
                match &rule.concerns {
                    Concerns::Document(condition) => condition.iter().for_each(&mut see),
                    Concerns::Each(nested) => nested.iter().for_each(|each| {
                        [&each.list].into_iter().chain(&each.condition).chain(&each.keys).for_each(&mut see);
                    }),
                }
                for definition in used {
                    users.0.entry(definition).or_default().insert(id);
                }
            }
        }
        users
    }

    /// The definitions, in a fixed order.
    pub fn definitions(&self) -> impl Iterator<Item = Definition> {
        self.0.keys().copied()
    }

    /// The rules that use one.
    pub fn of_definition(&self, definition: Definition) -> impl Iterator<Item = RuleId> {
        self.0.get(&definition).into_iter().flatten().copied()
    }
}

/// Adds what an expression names, and what that names.
fn reach(program: &Program, expr: &Expr, used: &mut HashSet<Definition>) {
    match &expr.kind {
        ExprKind::Let(id, _) if used.insert(Definition::Let(*id)) => {
            reach(program, &program.lets()[*id].value, used);
        }
        ExprKind::Parameter(id, _) if used.insert(Definition::Parameter(*id)) => {
            let parameter = &program.parameters()[*id];
            parameter.keys.iter().chain(&parameter.from).for_each(|part| reach(program, part, used));
        }
        ExprKind::Lookup { table, .. } if used.insert(Definition::Table(*table)) => {
            program.tables()[*table].keys.iter().for_each(|key| reach(program, key, used));
        }
        _ => {}
    }
    expr.for_each_part(&mut |part| reach(program, part, used));
}
