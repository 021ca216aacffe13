//! What of the rules the trials exercise: demands met and broken, sides of `or`, premises, cases, rows, ends of ranges, and
//! what rules concern and leave out.

use std::collections::HashSet;

use super::Session;
use super::mutants::judged::{Tried, texts};
use crate::code::NOT_EXERCISED;
use crate::decide::{Covered, Truth};
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Comparison, Logic, RangeForm};
use crate::language::ids::{LetId, TableId};
use crate::language::typed::{Concerns, Expr, ExprKind, Program, Rule};
use crate::quantity::{Number, Quantity, Range, Which};
use crate::source::Place;
use crate::value::Value;

/// How much of the rules is exercised.
#[derive(Clone, Debug, Default)]
pub struct Coverage {
    /// How many parts can be exercised.
    pub parts: usize,
    /// What is not exercised, in the order of the texts.
    pub open: Vec<Diagnostic>,
}

impl Coverage {
    /// The share of the parts that is exercised; nothing where there are none.
    #[must_use]
    pub fn share(&self) -> Option<Quantity> {
        let count = |number: usize| Number::from(u64::try_from(number).unwrap_or(u64::MAX));
        let share = count(self.parts - self.open.len()).checked_div(&count(self.parts))?;
        Some(Quantity::from(share))
    }
}

impl Session {
    /// What the trials of some rules exercise of them. A trial that fails exercises nothing.
    #[must_use]
    pub fn coverage(&self, wanted: &dyn Fn(&Rule) -> bool) -> Coverage {
        let texts = texts(self, wanted);
        let covered = Tried::of(self, &texts).covered(self);
        let parts = Parts::of(self.program(), wanted);
        let mut open: Vec<Diagnostic> = parts
            .found
            .iter()
            .filter(|part| !covered.contains(&part.covered))
            .map(|part| Diagnostic::advice(NOT_EXERCISED, part.place, part.lacks.to_owned()))
            .collect();
        open.sort_by_key(Diagnostic::place);
        Coverage { parts: parts.found.len(), open }
    }
}

/// Something that can be exercised, and what is said where nothing does.
struct Part {
    covered: Covered,
    place: Place,
    lacks: &'static str,
}

/// All parts of some rules, those of a name once.
struct Parts<'p> {
    program: &'p Program,
    found: Vec<Part>,
    known: HashSet<Covered>,
    lets: HashSet<LetId>,
    tables: HashSet<TableId>,
}

impl<'p> Parts<'p> {
    fn of(program: &'p Program, wanted: &dyn Fn(&Rule) -> bool) -> Parts<'p> {
        let mut parts = Parts {
            program,
            found: Vec::new(),
            known: HashSet::new(),
            lets: HashSet::new(),
            tables: HashSet::new(),
        };
        for standard in program.standards() {
            for (_, rule) in program.all_rules_of(standard).filter(|(_, rule)| wanted(rule)) {
                let conditions: Vec<&Expr> = match &rule.concerns {
                    Concerns::Document(condition) => condition.iter().collect(),
                    Concerns::Each(nested) => {
                        nested.iter().filter_map(|each| each.condition.as_ref()).collect()
                    }
                };
                for condition in conditions {
                    parts.came(condition, Truth::Yes, "no trial has what this rule concerns");
                    parts.came(condition, Truth::No, "no trial has what this rule does not concern");
                    parts.within(condition);
                }
                for demand in &rule.demands {
                    parts.came(demand, Truth::Yes, "no trial meets this demand");
                    parts.came(demand, Truth::No, "no trial breaks this demand");
                    parts.within(demand);
                }
            }
        }
        parts
    }

    fn add(&mut self, covered: Covered, place: Place, lacks: &'static str) {
        if self.known.insert(covered.clone()) {
            self.found.push(Part { covered, place, lacks });
        }
    }

    fn came(&mut self, expr: &Expr, truth: Truth, lacks: &'static str) {
        self.add(Covered::Came(expr.place, truth), expr.place, lacks);
    }

    fn within(&mut self, expr: &'p Expr) {
        match &expr.kind {
            ExprKind::Logic(Logic::Or, left, right) => {
                for side in [left, right] {
                    if !matches!(side.kind, ExprKind::Logic(Logic::Or, ..)) {
                        self.came(side, Truth::Yes, "in no trial this side of `or` holds");
                    }
                }
            }
            ExprKind::Logic(Logic::Implies, premise, _) => {
                self.came(premise, Truth::Yes, "in no trial this premise holds");
            }
            ExprKind::Cases(cases) => {
                for case in cases {
                    let place = case.value.place;
                    self.add(Covered::Counted(place), place, "in no trial this case counts");
                }
            }
            ExprKind::Compare(comparison, ..) => match comparison {
                Comparison::AtLeast | Comparison::Above => self.beyond(expr, Which::Low),
                Comparison::AtMost | Comparison::Below => self.beyond(expr, Which::High),
                _ => {}
            },
            ExprKind::Within(_, range) => self.ends(expr, range),
            ExprKind::Lookup { table, .. } if self.tables.insert(*table) => {
                let mut rows: Vec<(&Vec<String>, &Place)> =
                    self.program.tables()[*table].places.iter().collect();
                rows.sort_by_key(|(_, place)| **place);
                for (keys, place) in rows {
                    self.add(Covered::Row(*table, keys.clone()), *place, "no trial looks this row up");
                }
            }
            ExprKind::Let(id, _) if self.lets.insert(*id) => self.within(&self.program.lets()[*id].value),
            _ => {}
        }
        expr.for_each_part(&mut |part| self.within(part));
    }

    /// The ends of a range that stands in the rule; how many ends a parameter has is not known.
    fn ends(&mut self, comparison: &Expr, range: &Expr) {
        let known = |range: &Range| [range.low().map(|_| Which::Low), range.high().map(|_| Which::High)];
        let ends = match &range.kind {
            ExprKind::Constant(Value::Range(range)) => known(range),
            ExprKind::Range(form) => match &**form {
                RangeForm::Between(..) | RangeForm::PlusMinus(..) | RangeForm::PlusAndMinus(..) => {
                    [Some(Which::Low), Some(Which::High)]
                }
                RangeForm::AtLeast(_) | RangeForm::Above(_) => [Some(Which::Low), None],
                RangeForm::AtMost(_) | RangeForm::Below(_) => [None, Some(Which::High)],
            },
            _ => [None, None],
        };
        ends.into_iter().flatten().for_each(|which| self.beyond(comparison, which));
    }

    fn beyond(&mut self, comparison: &Expr, which: Which) {
        let lacks = match which {
            Which::Low => "no trial has a value below the lower limit",
            Which::High => "no trial has a value above the upper limit",
        };
        self.add(Covered::Beyond(comparison.place, which), comparison.place, lacks);
    }
}
