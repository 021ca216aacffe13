//! One change of a program. Making it again takes it back.

use std::mem::swap;

use super::Mutant;
use crate::language::ast::Count;
use crate::language::ids::{LetId, ParameterId, RuleId, TableId};
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Program, Stated};
use crate::source::Span;
use crate::value::Value;

/// A whole expression of a program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A demand of a rule, by its number.
    Demand(RuleId, usize),
    /// The condition of what a rule concerns, by the number of its `each`.
    Concern(RuleId, usize),
    /// When a rule counts.
    Period(RuleId),
    /// The value of a let.
    Let(LetId),
    /// Which documents a standard judges.
    Standard(usize),
}

/// What is there in the place of something else. Each change swaps the two.
#[derive(Clone, Debug)]
pub(super) enum Edit {
    /// Another part, by its number within the whole expression.
    Part(Spot, usize, ExprKind),
    /// Another condition, or none.
    Condition(Spot, Option<Expr>),
    /// A demand left out; it is kept here.
    Demand(RuleId, usize, Option<Expr>),
    /// Another number of subjects, or none.
    Count(RuleId, usize, Option<(Count, Span)>),
    /// Other keys of groups.
    Keys(RuleId, usize, Vec<Expr>),
    /// Another value of a row, or no row.
    Row(TableId, Vec<String>, Option<Value<'static>>),
    /// Another default.
    Default(ParameterId, Stated),
}

/// What is changed, for whoever compares the two programs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A part of an expression, by its number: the whole is 0, and each part stands before those of which it is made.
    Of(Spot, usize),
    /// A condition that is gone or turned round.
    Condition(Spot),
    /// A demand that is gone.
    Demand(RuleId, usize),
    /// Something else.
    Other,
}

impl Program {
    /// The expression there, if there is one.
    #[must_use]
    pub fn expression(&self, spot: Spot) -> Option<&Expr> {
        match spot {
            Spot::Demand(rule, number) => self.rules[rule].demands.get(number),
            Spot::Concern(rule, number) => match &self.rules[rule].concerns {
                Concerns::Document(condition) => condition.as_ref(),
                Concerns::Each(nested) => nested.get(number)?.condition.as_ref(),
            },
            Spot::Period(rule) => self.rules[rule].period.as_ref(),
            Spot::Let(id) => Some(&self.lets[id].value),
            Spot::Standard(number) => self.standards.get(number)?.condition.as_ref(),
        }
    }
}

impl Mutant {
    /// What it changes.
    #[must_use]
    pub fn part(&self) -> Part {
        match &self.edit {
            Edit::Part(spot, number, _) => Part::Of(*spot, *number),
            Edit::Condition(spot, _) => Part::Condition(*spot),
            Edit::Demand(rule, number, _) => Part::Demand(*rule, *number),
            Edit::Count(..) | Edit::Keys(..) | Edit::Row(..) | Edit::Default(..) => Part::Other,
        }
    }

    /// Makes the change, or takes it back where it is made.
    pub fn exchange(&mut self, program: &mut Program) {
        match &mut self.edit {
            Edit::Part(spot, number, kind) => {
                if let Some(part) = whole(program, *spot).and_then(|whole| part(whole, *number)) {
                    swap(&mut part.kind, kind);
                }
            }
            Edit::Condition(spot, condition) => {
                if let Some(known) = condition_at(program, *spot) {
                    swap(known, condition);
                }
            }
            Edit::Demand(rule, number, left_out) => {
                let demands = &mut program.rules[*rule].demands;
                match left_out.take() {
                    Some(demand) => demands.insert((*number).min(demands.len()), demand),
                    None if *number < demands.len() => *left_out = Some(demands.remove(*number)),
                    None => {}
                }
            }
            Edit::Count(rule, number, count) => {
                if let Some(each) = each_of(program, *rule, *number) {
                    swap(&mut each.count, count);
                }
            }
            Edit::Keys(rule, number, keys) => {
                if let Some(each) = each_of(program, *rule, *number) {
                    swap(&mut each.keys, keys);
                }
            }
            Edit::Row(table, keys, value) => {
                let rows = &mut program.tables[*table].rows;
                let known = rows.remove(keys);
                if let Some(value) = value.take() {
                    rows.insert(keys.clone(), value);
                }
                *value = known;
            }
            Edit::Default(parameter, stated) => swap(&mut program.parameters[*parameter].declared, stated),
        }
    }
}

fn each_of(program: &mut Program, rule: RuleId, number: usize) -> Option<&mut Each> {
    match &mut program.rules[rule].concerns {
        Concerns::Each(nested) => nested.get_mut(number),
        Concerns::Document(_) => None,
    }
}

fn condition_at(program: &mut Program, spot: Spot) -> Option<&mut Option<Expr>> {
    match spot {
        Spot::Concern(rule, number) => match &mut program.rules[rule].concerns {
            Concerns::Document(condition) => Some(condition),
            Concerns::Each(nested) => nested.get_mut(number).map(|each| &mut each.condition),
        },
        Spot::Period(rule) => Some(&mut program.rules[rule].period),
        Spot::Standard(number) => program.standards.get_mut(number).map(|standard| &mut standard.condition),
        Spot::Demand(..) | Spot::Let(_) => None,
    }
}

fn whole(program: &mut Program, spot: Spot) -> Option<&mut Expr> {
    match spot {
        Spot::Demand(rule, number) => program.rules[rule].demands.get_mut(number),
        Spot::Let(id) => Some(&mut program.lets[id].value),
        Spot::Concern(..) | Spot::Period(_) | Spot::Standard(_) => condition_at(program, spot)?.as_mut(),
    }
}

/// The part of a number, the whole being the first and each part before those of which it is made.
fn part(whole: &mut Expr, number: usize) -> Option<&mut Expr> {
    fn below<'e>(expr: &'e mut Expr, left: &mut usize) -> Option<&'e mut Expr> {
        if *left == 0 {
            return Some(expr);
        }
        *left -= 1;
        expr.parts_mut().into_iter().find_map(|part| below(part, left))
    }
    below(whole, &mut { number })
}
