//! Conditions and demands in plain English.

use super::say::{Say, quoted, title};
use super::sentence::Sentence;
use crate::language::ast::{Case, Comparison, Logic, Quantifier, Timed, When};
use crate::language::builtins::Words;
use crate::language::typed::{Expr, ExprKind, Figure};
use crate::language::types::{Type, with_article};
use crate::value::Value;

impl<'s> Say<'s> {
    /// A condition or a demand as a clause.
    pub(super) fn truth(&self, expr: &'s Expr, negated: bool) -> Sentence {
        let not = if negated { " not" } else { "" };
        match &expr.kind {
            ExprKind::Constant(Value::Truth(truth)) => {
                if *truth == negated { "this never holds" } else { "this always holds" }.into()
            }
            ExprKind::Not(inner) => self.truth(inner, !negated),
            ExprKind::Decided(rule, inner) => {
                self.truth(inner, negated).and(format!(" (readings decided by {rule})"))
            }
            ExprKind::Compare(comparison, left, right) => {
                let words = clause(*comparison, negated);
                let right = match (&right.ty, comparison) {
                    (Type::Words(_), Comparison::Is | Comparison::IsNot) => {
                        Sentence::from("one of ").and(self.words_of(right))
                    }
                    _ => self.value(right),
                };
                self.value(left).and(format!(" {words} ")).and(right)
            }
            ExprKind::InOrder(comparison, left, right) => {
                self.value(left).and(format!(" comes{not} {} ", comparison.words())).and(self.value(right))
            }
            ExprKind::Within(value, range) => self.within(value, range, negated),
            ExprKind::OneOf { value, negated: own, options } => {
                let options: Vec<Sentence> = options.iter().map(|option| self.value(option)).collect();
                let many = options.len() > 1;
                let lead = match (*own == negated, many) {
                    (true, true) => " is one of ",
                    (true, false) => " is ",
                    (false, true) => " is none of ",
                    (false, false) => " is not ",
                };
                self.value(value).and(lead).and(Sentence::joined(options, ", ", ", "))
            }
            ExprKind::Recorded(path) => match &path.kind {
                ExprKind::Link { base, link } => self.linked(base, link, negated),
                ExprKind::Parameter(..) => self.value(path).and(format!(" is{not} known")),
                ExprKind::Field { base, name, .. } if matches!(path.ty, Type::Truth) => {
                    self.marked(base, name, if negated { "is not recorded" } else { "is recorded" })
                }
                _ => self.value(path).and(format!(" {}{not} recorded", be(path))),
            },
            ExprKind::Let(id, entry) => {
                let name = &self.program.lets()[*id].name;
                self.named_truth(name, Figure::Let(*id), entry.as_deref(), negated)
            }
            ExprKind::Call { builtin, arguments } => match (builtin.words, arguments.split_first()) {
                (Words::Demand(yes, no), Some((first, _))) => {
                    let words = self.filled(if negated { no } else { yes }, arguments);
                    let verb = if words.plain().contains("every ") { " has " } else { " is " };
                    self.value(first).and(verb).and(words)
                }
                _ => self.written(expr).and(if negated { " does not hold" } else { " holds" }),
            },
            ExprKind::Logic(logic, left, right) => self.logic(*logic, left, right, negated),
            ExprKind::Quantified { .. } => self.quantified(expr, negated),
            ExprKind::Timed(timed) => self.timed(timed, negated),
            ExprKind::Cases(cases) => self.truth_by_cases(cases, negated),
            ExprKind::Field { base, name, .. } => {
                self.marked(base, name, if negated { "is no" } else { "is yes" })
            }
            _ => self.value(expr).and(if negated { " is no" } else { " is yes" }),
        }
    }

    /// A list of words, or what names it.
    fn words_of(&self, expr: &'s Expr) -> Sentence {
        match &expr.kind {
            ExprKind::Constant(Value::Words(words)) => quoted(words).into(),
            _ => self.value(expr).without_article(),
        }
    }

    fn within(&self, value: &'s Expr, range: &'s Expr, negated: bool) -> Sentence {
        let not = if negated { "not " } else { "" };
        let is_one_sided = match &range.kind {
            ExprKind::Constant(Value::Range(range)) => range.low().is_none() || range.high().is_none(),
            ExprKind::Range(form) => form.operands().count() == 1,
            _ => false,
        };
        let lead = match (is_one_sided, negated) {
            (true, _) => format!(" is {not}"),
            (false, true) => " does not lie within ".to_owned(),
            (false, false) => " lies within ".to_owned(),
        };
        self.value(value).and(lead).and(self.value(range))
    }

    fn truth_by_cases(&self, cases: &'s [Case<Expr>], negated: bool) -> Sentence {
        let cases = cases.iter().map(|case| {
            let value = self.truth(&case.value, negated);
            match &case.condition {
                Some(condition) => {
                    Sentence::from("where ").and(self.truth(condition, false)).and(", ").and(value)
                }
                None => Sentence::from("otherwise, ").and(value),
            }
        });
        Sentence::joined(cases.collect(), "; ", "; ")
    }

    fn logic(&self, logic: Logic, left: &'s Expr, right: &'s Expr, negated: bool) -> Sentence {
        if logic == Logic::Implies && !negated {
            return Sentence::from("where ")
                .and(self.truth(left, false))
                .and(", ")
                .and(self.truth(right, false));
        }
        let is_and = (logic == Logic::And) != negated;
        let mut parts = Vec::new();
        let turned = negated != (logic == Logic::Implies);
        self.parts(left, turned, is_and, &mut parts);
        self.parts(right, negated, is_and, &mut parts);
        let word = if is_and { " and " } else { " or " };
        let comma = if is_and { ", " } else { word };
        Sentence::joined(parts, comma, word)
    }

    /// The parts that one `and` or one `or` joins; what the other one joins stands in brackets.
    fn parts(&self, expr: &'s Expr, negated: bool, is_and: bool, found: &mut Vec<Sentence>) {
        match &expr.kind {
            ExprKind::Not(inner) => self.parts(inner, !negated, is_and, found),
            ExprKind::Logic(logic @ (Logic::And | Logic::Or), left, right)
                if ((*logic == Logic::And) != negated) == is_and =>
            {
                self.parts(left, negated, is_and, found);
                self.parts(right, negated, is_and, found);
            }
            ExprKind::Logic(..) | ExprKind::Cases(_) => {
                found.push(Sentence::from("(").and(self.truth(expr, negated)).and(")"));
            }
            _ => found.push(self.truth(expr, negated)),
        }
    }

    fn quantified(&self, whole: &'s Expr, negated: bool) -> Sentence {
        let ExprKind::Quantified { quantifier, slot, list, condition, body } = &whole.kind else {
            return self.written(whole);
        };
        let mut inner = self.clone();
        let noun = inner.bind(*slot, &title(list), &self.variable_of(whole));
        let which = condition.as_deref().map_or_else(Sentence::default, |condition| {
            Sentence::from(" where ").and(inner.truth(condition, false))
        });
        let among = || Sentence::from(" among ").and(self.list(list)).and(which.clone());
        let body = inner.truth(body, false);
        match (quantifier, negated) {
            (Quantifier::Every, false) => {
                Sentence::from(format!("for each {noun}")).and(among()).and(", ").and(body)
            }
            (Quantifier::Every, true) => {
                Sentence::from(format!("not for each {noun}")).and(among()).and(", ").and(body)
            }
            (Quantifier::Some, false) | (Quantifier::No, true) => {
                Sentence::from(format!("there is {}", with_article(&noun)))
                    .and(among())
                    .and(" such that ")
                    .and(body)
            }
            (Quantifier::Some, true) | (Quantifier::No, false) => {
                Sentence::from(format!("there is no {noun}")).and(among()).and(" such that ").and(body)
            }
        }
    }

    fn timed(&self, timed: &'s Timed<Expr>, negated: bool) -> Sentence {
        let stretch = self.value(&timed.from).and(" to ").and(self.value(&timed.to));
        let body = self.truth(&timed.body, false);
        let gaps = timed.gaps.as_ref().map_or_else(Sentence::default, |gaps| {
            Sentence::from(" (with entries of the log no further apart than ").and(self.value(gaps)).and(")")
        });
        let said = match &timed.when {
            When::Throughout => Sentence::from("at every moment from ").and(stretch).and(", ").and(body),
            When::AtSomeMoment => Sentence::from("at some moment from ").and(stretch).and(", ").and(body),
            When::HeldFor(long) => {
                let lead =
                    Sentence::from("for at least ").and(self.value(long)).and(" without interruption, from ");
                lead.and(stretch).and(", ").and(body)
            }
            When::Until(end) => {
                let lead = Sentence::from("from ").and(stretch).and(", ").and(body);
                lead.and(" until ").and(self.truth(end, false))
            }
        };
        let said = said.and(gaps);
        if negated { Sentence::from("it is not so that ").and(said) } else { said }
    }
}

/// The verb of what is recorded: a list is many.
fn be(path: &Expr) -> &'static str {
    if matches!(path.ty, Type::List(_)) { "are" } else { "is" }
}

/// A comparison as a verb.
fn clause(comparison: Comparison, negated: bool) -> &'static str {
    match (comparison, negated) {
        (Comparison::Is, false) | (Comparison::IsNot, true) => "is",
        (Comparison::Is, true) | (Comparison::IsNot, false) => "is not",
        (Comparison::Above, false) | (Comparison::AtMost, true) => "is above",
        (Comparison::Below, false) | (Comparison::AtLeast, true) => "is below",
        (Comparison::AtLeast, false) | (Comparison::Below, true) => "is at least",
        (Comparison::AtMost, false) | (Comparison::Above, true) => "is at most",
        (Comparison::Before, false) => "is before",
        (Comparison::After, false) => "is after",
        (Comparison::Before, true) => "is not before",
        (Comparison::After, true) => "is not after",
    }
}
