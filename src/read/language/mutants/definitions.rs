//! What can be changed about a definition, and each part of it with the operators.

use super::edit::{Edit, Spot};
use super::limits::{moved, near};
use super::operators::{Changes, OPERATORS, said};
use super::{Definition, Mutant};
use crate::language::ast::Count;
use crate::language::ids::{ParameterId, RuleId, TableId};
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Program, Stated};
use crate::quantity::Quantity;
use crate::source::{Place, Sources};
use crate::value::Value;

impl Program {
    /// Every way to change one thing of a definition, in the order of its text.
    #[must_use]
    pub fn mutants_of(&self, definition: Definition, sources: &Sources) -> Vec<Mutant> {
        let mut found = Found { definition, sources, mutants: Vec::new() };
        match definition {
            Definition::Standard(number) => found.of_standard(self, number),
            Definition::Rule(id) => found.of_rule(self, id),
            Definition::Let(id) => found.within(Spot::Let(id), &self.lets[id].value),
            Definition::Parameter(id) => found.of_default(self, id),
            Definition::Table(id) => found.of_rows(self, id),
        }
        found.mutants.sort_by_key(|mutant| mutant.place);
        found.mutants
    }
}

struct Found<'s> {
    definition: Definition,
    sources: &'s Sources,
    mutants: Vec<Mutant>,
}

impl Found<'_> {
    fn add(&mut self, place: Place, what: impl Into<String>, edit: Edit) {
        self.near(place, what, Vec::new(), edit);
    }

    fn near(&mut self, place: Place, what: impl Into<String>, limits: Vec<Quantity>, edit: Edit) {
        let Found { definition, .. } = *self;
        self.mutants.push(Mutant { definition, place, what: what.into(), limits, edit });
    }

    /// Changes of each part of an expression.
    fn within(&mut self, spot: Spot, whole: &Expr) {
        let mut number = 0;
        self.part(spot, whole, &mut number);
    }

    fn part(&mut self, spot: Spot, part: &Expr, number: &mut usize) {
        let mut changes = Changes { sources: self.sources, found: Vec::new() };
        OPERATORS.iter().for_each(|operator| operator(part, &mut changes));
        for (kind, what, limits) in changes.found {
            self.near(part.place, what, limits, Edit::Part(spot, *number, kind));
        }
        *number += 1;
        part.for_each_part(&mut |part| self.part(spot, part, number));
    }

    fn of_standard(&mut self, program: &Program, number: usize) {
        let Some(standard) = program.standards().get(number) else { return };
        let Some(condition) = &standard.condition else { return };
        let spot = Spot::Standard(number);
        let negated = Expr { kind: ExprKind::Not(Box::new(condition.clone())), ..condition.clone() };
        let what = "the `where` of the standard asks for the opposite";
        self.add(condition.place, what, Edit::Condition(spot, Some(negated)));
        self.within(spot, condition);
    }

    fn of_rule(&mut self, program: &Program, id: RuleId) {
        let rule = &program.rules[id];
        match &rule.concerns {
            Concerns::Document(condition) => self.condition(Spot::Concern(id, 0), condition.as_ref()),
            Concerns::Each(nested) => {
                for (number, each) in nested.iter().enumerate() {
                    self.condition(Spot::Concern(id, number), each.condition.as_ref());
                    self.subjects(id, number, each, rule.place);
                }
            }
        }
        for (number, demand) in rule.demands.iter().enumerate() {
            if rule.demands.len() > 1 {
                self.add(demand.place, "this demand is gone", Edit::Demand(id, number, None));
            }
            self.within(Spot::Demand(id, number), demand);
        }
        if let Some(period) = &rule.period {
            self.condition(Spot::Period(id), Some(period));
        }
    }

    fn condition(&mut self, spot: Spot, condition: Option<&Expr>) {
        let Some(condition) = condition else { return };
        let what = match spot {
            Spot::Period(_) => "the rule counts at any time".to_owned(),
            _ => format!("`where {}` is gone", said(self.sources, condition.place)),
        };
        self.add(condition.place, what, Edit::Condition(spot, None));
        self.within(spot, condition);
    }

    /// How many subjects there must be, and in what they agree.
    fn subjects(&mut self, id: RuleId, number: usize, each: &Each, place: Place) {
        if let Some((count, span)) = each.count {
            let (words, of): (&str, u32) = match count {
                Count::AtLeast(of) => ("at least", of),
                Count::AtMost(of) => ("at most", of),
                Count::Exactly(of) => ("exactly", of),
            };
            let same = |of| match count {
                Count::AtLeast(_) => Count::AtLeast(of),
                Count::AtMost(_) => Count::AtMost(of),
                Count::Exactly(_) => Count::Exactly(of),
            };
            let place = Place { span, ..place };
            for other in [of.checked_sub(1), of.checked_add(1)].into_iter().flatten().filter(|of| *of > 0) {
                let what = format!("`{words} {of}` is `{words} {other}`");
                self.add(place, what, Edit::Count(id, number, Some((same(other), span))));
            }
            self.add(place, format!("`{words} {of}` is gone"), Edit::Count(id, number, None));
        }
        for (at, key) in each.keys.iter().enumerate().filter(|_| each.keys.len() > 1) {
            let mut others = each.keys.clone();
            others.remove(at);
            let what = format!("`{}` is not among the keys", said(self.sources, key.place));
            self.add(key.place, what, Edit::Keys(id, number, others));
        }
    }

    fn of_default(&mut self, program: &Program, id: ParameterId) {
        let parameter = &program.parameters[id];
        let Stated::Default(value) = &parameter.declared else { return };
        let whole = Expr {
            kind: ExprKind::Constant(value.clone()),
            place: parameter.place,
            ty: parameter.ty.clone(),
        };
        let mut changes = Changes { sources: self.sources, found: Vec::new() };
        OPERATORS.iter().for_each(|operator| operator(&whole, &mut changes));
        for (kind, what, limits) in changes.found {
            let ExprKind::Constant(value) = kind else { continue };
            self.near(parameter.place, what, limits, Edit::Default(id, Stated::Default(value)));
        }
        self.add(parameter.place, "it has no default", Edit::Default(id, Stated::Nothing));
    }

    fn of_rows(&mut self, program: &Program, id: TableId) {
        let table = &program.tables[id];
        for (keys, place) in &table.places {
            let Some(value) = table.rows.get(keys) else { continue };
            self.add(*place, "this row is gone", Edit::Row(id, keys.clone(), None));
            if let Value::Quantity(limit) = value {
                for value in moved(limit) {
                    let what = format!("{limit} is {value}");
                    let limits = near(limit).collect();
                    let edit = Edit::Row(id, keys.clone(), Some(Value::Quantity(value)));
                    self.near(*place, what, limits, edit);
                }
            }
            if let Value::Range(range) = value {
                for (range, what) in super::limits::of_range(range) {
                    let edit = Edit::Row(id, keys.clone(), Some(Value::Range(range)));
                    self.add(*place, what, edit);
                }
            }
        }
    }
}
