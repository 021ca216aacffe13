//! What is noted of a rule beside what it demands.

use std::collections::HashSet;

use super::{Expr, ExprKind, Program, Rule};
use crate::code::Code;
use crate::language::ids::{LetId, ParameterId, TableId};
use crate::source::Place;

/// An advice about a rule that may stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// Its code.
    pub code: Code,
    /// Where that is written.
    pub place: Place,
}

/// Why a rule is left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The reason.
    pub reason: String,
    /// Where the settings say so.
    pub place: Place,
}

/// A declared figure, by its number in the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Figure {
    /// A let.
    Let(LetId),
    /// A parameter.
    Parameter(ParameterId),
    /// A table.
    Table(TableId),
}

impl Program {
    /// The figures that a rule uses, and those that they are built on, in the order of their first use.
    #[must_use]
    pub fn figures_of(&self, rule: &Rule) -> Vec<Figure> {
        let mut found = Vec::new();
        let mut seen = HashSet::new();
        let mut open: Vec<Figure> = rule.figures.iter().rev().copied().collect();
        while let Some(figure) = open.pop() {
            if !seen.insert(figure) {
                continue;
            }
            found.push(figure);
            let mut below = Vec::new();
            match figure {
                Figure::Let(id) => figures_in(&self.lets[id].value, &mut below),
                Figure::Parameter(id) => {
                    let parameter = &self.parameters[id];
                    parameter.keys.iter().chain(&parameter.from).for_each(|key| figures_in(key, &mut below));
                }
                Figure::Table(id) => self.tables[id].keys.iter().for_each(|key| figures_in(key, &mut below)),
            }
            open.extend(below.into_iter().rev());
        }
        found
    }
}

fn figures_in(expr: &Expr, found: &mut Vec<Figure>) {
    match &expr.kind {
        ExprKind::Let(id, _) => found.push(Figure::Let(*id)),
        ExprKind::Parameter(id, _) => found.push(Figure::Parameter(*id)),
        ExprKind::Lookup { table, .. } => found.push(Figure::Table(*table)),
        _ => {}
    }
    expr.for_each_part(&mut |part| figures_in(part, found));
}
