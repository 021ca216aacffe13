//! The texts that rules name, so that a word for which one of them asks is not read as another.

use std::collections::BTreeSet;

use crate::language::ast::Comparison;
use crate::language::ids::LetId;
use crate::language::naming::{FieldOf, fields_of};
use crate::language::typed::{Concerns, Expr, ExprKind, Parameter, Program, Stated};
use crate::source::Place;
use crate::value::Value;

/// The texts that rules name.
#[derive(Clone, Debug, Default)]
pub struct Literals {
    /// Those that they compare with fields, in favour or against.
    pub of_fields: BTreeSet<(FieldOf, String)>,
    /// Those of which the rules alone do not tell the field.
    pub anywhere: BTreeSet<String>,
    /// Those that a builtin looks for, such as patterns.
    pub within: BTreeSet<String>,
}

impl Literals {
    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.of_fields.is_empty() && self.anywhere.is_empty() && self.within.is_empty()
    }
}

impl Program {
    /// The texts that rules at these places name, with all that they use, and those that the run states for parameters.
    #[must_use]
    pub fn literals(&self, is_at: &dyn Fn(Place) -> bool) -> Literals {
        let mut reader = Reader { program: self, found: Literals::default(), lets: BTreeSet::new() };
        for standard in self.standards.iter().filter(|standard| is_at(standard.place)) {
            standard.condition.iter().for_each(|condition| reader.expr(condition, false));
        }
        for rule in self.rules.all().iter().filter(|rule| is_at(rule.place)) {
            match &rule.concerns {
                Concerns::Document(condition) => {
                    condition.iter().for_each(|condition| reader.expr(condition, false))
                }
                Concerns::Each(nested) => {
                    for each in nested {
                        reader.expr(&each.list, false);
                        each.condition.iter().for_each(|condition| reader.expr(condition, false));
                    }
                }
            }
            rule.demands.iter().for_each(|demand| reader.expr(demand, false));
        }
        self.parameters.all().iter().for_each(|parameter| reader.stated(parameter));
        reader.found
    }
}

struct Reader<'p> {
    program: &'p Program,
    found: Literals,
    /// The lets that were gone through, outside and inside of builtins.
    lets: BTreeSet<(LetId, bool)>,
}

impl<'p> Reader<'p> {
    /// Depth is bounded by the parser's limit and the chain of lets. `looks` inside of a builtin.
    fn expr(&mut self, expr: &'p Expr, looks: bool) {
        match &expr.kind {
            ExprKind::Constant(value) => return self.value(value, looks),
            ExprKind::Compare(Comparison::Is | Comparison::IsNot, left, right) if !looks => {
                self.compared(left, right);
                return self.compared(right, left);
            }
            ExprKind::OneOf { value, options, .. } if !looks => {
                self.expr(value, looks);
                return options.iter().for_each(|option| self.compared(value, option));
            }
            ExprKind::Lookup { table, keys } => {
                for (number, key) in keys.iter().enumerate() {
                    let rows = self.program.tables()[*table].rows.keys();
                    rows.filter_map(|row| row.get(number)).for_each(|word| self.word(key, word));
                }
            }
            ExprKind::Call { arguments, .. } => {
                return arguments.iter().for_each(|argument| self.expr(argument, true));
            }
            ExprKind::Parameter(id, _) => {
                if let Some(value) = self.program.parameters()[*id].stated.value() {
                    self.value(value, looks);
                }
            }
            ExprKind::Let(id, _) if self.lets.insert((*id, looks)) => {
                self.expr(&self.program.lets()[*id].value, looks);
            }
            _ => {}
        }
        expr.for_each_part(&mut |part| self.expr(part, looks));
    }

    /// One side of a comparison, the other being a field or anything else.
    fn compared(&mut self, field: &'p Expr, other: &'p Expr) {
        let mut at = other;
        while let ExprKind::Let(id, None) = &at.kind {
            at = &self.program.lets()[*id].value;
        }
        match &at.kind {
            ExprKind::Constant(Value::Text(word)) => self.word(field, word),
            ExprKind::Constant(Value::Words(words)) => words.iter().for_each(|word| self.word(field, word)),
            _ => self.expr(other, false),
        }
    }

    fn word(&mut self, field: &Expr, word: &str) {
        let fields = fields_of(field);
        if fields.is_empty() {
            self.found.anywhere.insert(word.to_owned());
        }
        self.found.of_fields.extend(fields.into_iter().map(|field| (field, word.to_owned())));
    }

    fn value(&mut self, value: &Value<'_>, looks: bool) {
        let found = &mut self.found;
        let mut add = |word: &str| {
            if looks {
                found.within.insert(word.to_owned());
            }
            found.anywhere.insert(word.to_owned());
        };
        match value {
            Value::Text(word) => add(word),
            Value::Words(words) => words.iter().for_each(|word| add(word)),
            _ => {}
        }
    }

    /// What the run states for a parameter, whichever rule asks for it.
    fn stated(&mut self, parameter: &'p Parameter) {
        match &parameter.stated {
            Stated::Given(value, _) => self.value(value, false),
            Stated::ByKey(rows) => {
                for (_, stated) in rows.rows() {
                    if let Stated::Given(value, _) = stated {
                        self.value(value, false);
                    }
                }
            }
            _ => {}
        }
    }
}
