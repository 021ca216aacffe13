//! What an expression can be worth: known values and terms, each with the conditions under which it is that one.

use super::encode::{Encoder, Env, Want};
use super::formula::{Fact, Formula};
use super::set::Words;
use super::term::{Node, ROOT, Sort, Term};
use crate::document::Shape;
use crate::language::ast::{Aggregate, Arithmetic, Case, Comparison, Logic, RangeForm};
use crate::language::ids::LetId;
use crate::language::typed::{Expr, ExprKind, Of};
use crate::language::types::Type;
use crate::metrology::Working;
use crate::quantity::{Number, Quantity};
use crate::value::Value;

/// A value.
#[derive(Clone, Debug)]
pub(super) enum Worth {
    Known(Value<'static>),
    /// That of a term, and how much more.
    Term(Term, Number),
    /// There is none, whatever the document is.
    Fault,
}

/// A value, and when it is that one.
#[derive(Clone, Debug)]
pub(super) struct Alternative<'p> {
    pub(super) when: Formula<'p>,
    pub(super) worth: Worth,
}

/// Known values of several operands, and when they are those.
type Known<'p> = (Formula<'p>, Vec<Value<'static>>);

/// How many values one expression can have before it is not looked into.
const MOST_ALTERNATIVES: usize = 48;

impl<'p> Encoder<'p> {
    /// What an expression can be worth.
    pub(super) fn values(&mut self, expr: &'p Expr, env: &Env) -> Vec<Alternative<'p>> {
        let found = match self.step() {
            true => self.looked_into(expr, env),
            false => None,
        };
        let few = found.filter(|found| found.len() <= MOST_ALTERNATIVES);
        few.unwrap_or_else(|| {
            let term = self.term(expr, env);
            one(Worth::Term(term, Number::ZERO))
        })
    }

    fn looked_into(&mut self, expr: &'p Expr, env: &Env) -> Option<Vec<Alternative<'p>>> {
        Some(match &expr.kind {
            ExprKind::Constant(value) => one(Worth::Known(value.clone())),
            ExprKind::Let(id, entry) => {
                let key = (*id, self.inside(*id, entry.as_deref(), env));
                if let Some(known) = self.named.values.get(&key) {
                    return Some(known.clone());
                }
                let found = self.values(&self.program.lets()[*id].value, &key.1);
                if self.has_steps() {
                    self.named.values.insert(key, found.clone());
                }
                found
            }
            ExprKind::Cases(cases) => self.by_cases(cases, env),
            ExprKind::Lookup { table, keys } => {
                let mut found = Vec::new();
                for (row, value) in self.rows(*table) {
                    let when = self.keyed(keys, row, env);
                    found.push(Alternative { when, worth: Worth::Known(value.clone()) });
                }
                found
            }
            ExprKind::Call { builtin, arguments } => {
                let mut product = vec![(Formula::Always, Vec::new())];
                for argument in arguments {
                    product = self.joined(product, argument, env)?;
                }
                let worth = |values: &Vec<Value<'static>>| {
                    let found = (builtin.function)(values, &mut Working::none());
                    found.map_or(Worth::Fault, |value| Worth::Known(value.into_owned()))
                };
                let made = product
                    .iter()
                    .map(|(when, values)| Alternative { when: when.clone(), worth: worth(values) });
                made.collect()
            }
            ExprKind::Range(form) => {
                let mut product = vec![(Formula::Always, Vec::new())];
                for operand in form.operands() {
                    product = self.joined(product, operand, env)?;
                }
                let made = product.into_iter().map(|(when, values)| {
                    let worth = range_of(form, &values).map_or(Worth::Fault, Worth::Known);
                    Alternative { when, worth }
                });
                made.collect()
            }
            ExprKind::Minus(inner) => {
                let product = self.joined(vec![(Formula::Always, Vec::new())], inner, env)?;
                let made = product.into_iter().map(|(when, values)| {
                    let worth = match values.as_slice() {
                        [Value::Quantity(quantity)] => {
                            quantity.neg().map_or(Worth::Fault, |found| Worth::Known(Value::Quantity(found)))
                        }
                        _ => Worth::Fault,
                    };
                    Alternative { when, worth }
                });
                made.collect()
            }
            ExprKind::Arithmetic(sign, left, right) => self.arithmetic(*sign, left, right, env)?,
            ExprKind::Not(_)
            | ExprKind::Logic(..)
            | ExprKind::Compare(..)
            | ExprKind::InOrder(..)
            | ExprKind::Within(..)
            | ExprKind::OneOf { .. }
            | ExprKind::Recorded(_)
            | ExprKind::Quantified { .. } => [true, false]
                .into_iter()
                .map(|truth| Alternative {
                    when: self.truth(expr, env, Want::of(truth)),
                    worth: Worth::Known(Value::Truth(truth)),
                })
                .collect(),
            _ => return None,
        })
    }

    /// All that several operands can be together, where all of it is known.
    fn joined(&mut self, before: Vec<Known<'p>>, operand: &'p Expr, env: &Env) -> Option<Vec<Known<'p>>> {
        let values = self.values(operand, env);
        if before.len() * values.len() > MOST_ALTERNATIVES {
            return None;
        }
        let mut product = Vec::new();
        for (when, known) in &before {
            for value in &values {
                let Worth::Known(worth) = &value.worth else { return None };
                let mut known = known.clone();
                known.push(worth.clone());
                product.push((Formula::all([when.clone(), value.when.clone()]), known));
            }
        }
        Some(product)
    }

    /// What must be so for keys to be those of a row.
    pub(super) fn keyed(&mut self, keys: &'p [Expr], row: &[String], env: &Env) -> Formula<'p> {
        let mut all = Vec::new();
        for (key, wanted) in keys.iter().zip(row) {
            let word = Words::of([wanted.as_str().into()]);
            let each = self.values(key, env).into_iter().map(|value| match value.worth {
                Worth::Known(Value::Text(text)) if text == wanted.as_str() => value.when,
                Worth::Term(term, _) => {
                    Formula::all([value.when, Formula::is(Fact::Words(term, word.clone()))])
                }
                Worth::Known(_) | Worth::Fault => Formula::Never,
            });
            all.push(Formula::any(each.collect::<Vec<_>>()));
        }
        Formula::all(all)
    }

    fn by_cases(&mut self, cases: &'p [Case<Expr>], env: &Env) -> Vec<Alternative<'p>> {
        let (mut found, mut before) = (Vec::new(), Formula::Always);
        for case in cases {
            let condition = case.condition.as_ref();
            let counts = condition.map_or(Formula::Always, |condition| self.perhaps(condition, env, true));
            let here = Formula::all([before.clone(), counts]);
            for value in self.values(&case.value, env) {
                found.push(Alternative { when: Formula::all([here.clone(), value.when]), ..value });
            }
            if let Some(condition) = condition {
                before = Formula::all([before, self.perhaps(condition, env, false)]);
            }
        }
        found
    }

    /// Whether something comes to a truth, or is open.
    pub(super) fn perhaps(&mut self, expr: &'p Expr, env: &Env, truth: bool) -> Formula<'p> {
        let decided = self.truth(expr, env, Want::of(truth));
        Formula::any([decided, self.truth(expr, env, Want::Open)])
    }

    fn arithmetic(
        &mut self,
        sign: Arithmetic,
        left: &'p Expr,
        right: &'p Expr,
        env: &Env,
    ) -> Option<Vec<Alternative<'p>>> {
        let (lefts, rights) = (self.values(left, env), self.values(right, env));
        if lefts.len() * rights.len() > MOST_ALTERNATIVES {
            return None;
        }
        let mut found = Vec::new();
        for one in &lefts {
            for other in &rights {
                let worth = sum(sign, &one.worth, &other.worth, is_amount(left), is_amount(right))?;
                let when = Formula::all([one.when.clone(), other.when.clone()]);
                found.push(Alternative { when, worth });
            }
        }
        Some(found)
    }

    /// The term of an expression: the same for all that are computed in the same way from the same.
    pub(super) fn term(&mut self, expr: &'p Expr, env: &Env) -> Term {
        if !self.step() {
            return self.fresh();
        }
        let sort = match &expr.ty {
            Type::Log(kind, _) if matches!(expr.kind, ExprKind::Rate(_)) => Sort::computed(*kind),
            _ => sort_of(expr),
        };
        let node = match &expr.kind {
            ExprKind::Root => return ROOT,
            ExprKind::Variable(slot) => match env.slot(*slot) {
                Some(term) => return term,
                None => return self.fresh(),
            },
            ExprKind::Let(id, entry) => {
                let key = (*id, self.inside(*id, entry.as_deref(), env));
                if let Some(known) = self.named.terms.get(&key) {
                    return *known;
                }
                let found = self.term(&self.program.lets()[*id].value, &key.1);
                if self.has_steps() {
                    self.named.terms.insert(key, found);
                }
                return found;
            }
            ExprKind::Field { base, name, .. } => {
                let base = self.term(base, env);
                Node::Field(base, name.clone())
            }
            ExprKind::Link { base, link } => {
                let base = self.term(base, env);
                Node::Link(base, link.name.clone())
            }
            ExprKind::Parameter(id, entry) => {
                let entry = entry.as_deref().map(|entry| self.term(entry, env));
                Node::Parameter(self.twins.get(id).copied().unwrap_or(*id), entry)
            }
            ExprKind::AsOf => Node::AsOf,
            ExprKind::Constant(value) => Node::Known(digits(value)),
            ExprKind::Group(slot) => {
                let entry = env.slot(*slot).unwrap_or(ROOT);
                Node::Made("group", String::new(), vec![entry])
            }
            _ => self.made(expr, env),
        };
        let term = self.terms.add(node, sort);
        match (env.instant, &expr.ty) {
            (Some(instant), Type::Log(kind, _)) if self.terms.is_path(term) => {
                self.terms.add(Node::At(term, instant), Sort::computed(*kind))
            }
            _ => term,
        }
    }

    fn made(&mut self, expr: &'p Expr, env: &Env) -> Node {
        let (tag, more) = tag_of(expr);
        let mut inner = *env;
        let (slot, list) = match &expr.kind {
            ExprKind::Quantified { slot, list, .. } => (Some(*slot), Some(list)),
            ExprKind::Aggregate { slot, list, .. } => (*slot, Some(list)),
            _ => (None, None),
        };
        let mut parts = Vec::new();
        if let Some(list) = list {
            parts.push(self.term(list, env));
        }
        if let Some(slot) = slot {
            let bound = self.terms.add(Node::Bound(inner.depth), Sort::Other);
            inner.depth += 1;
            inner.set(slot, bound);
        }
        let mut seen = Vec::new();
        expr.for_each_part(&mut |part| seen.push(part));
        for part in seen {
            if !list.is_some_and(|list| std::ptr::eq(&**list, part)) {
                parts.push(self.term(part, &inner));
            }
        }
        // The same whichever side is written first.
        let either_way = match &expr.kind {
            ExprKind::Compare(comparison, ..) => matches!(comparison, Comparison::Is | Comparison::IsNot),
            ExprKind::Logic(logic, ..) => *logic != Logic::Implies,
            _ => false,
        };
        if either_way {
            parts.sort_unstable();
        }
        Node::Made(tag, more, parts)
    }

    /// The variables that a name sees.
    pub(super) fn inside(&mut self, id: LetId, entry: Option<&'p Expr>, env: &Env) -> Env {
        match &self.program.lets()[id].of {
            Of::Rule => *env,
            Of::Document => env.without_variables(),
            Of::Entry(_) => {
                let mut inner = env.without_variables();
                if let Some(entry) = entry {
                    let term = self.term(entry, env);
                    inner.set(0, term);
                }
                inner
            }
        }
    }
}

fn one<'p>(worth: Worth) -> Vec<Alternative<'p>> {
    vec![Alternative { when: Formula::Always, worth }]
}

/// Whether values of an expression can be added up by their coherent figures.
fn is_amount(expr: &Expr) -> bool {
    matches!(expr.ty, Type::Quantity(_) | Type::Moment)
}

fn sum(sign: Arithmetic, left: &Worth, right: &Worth, left_adds: bool, right_adds: bool) -> Option<Worth> {
    let adds = left_adds && right_adds;
    Some(match (left, right) {
        (Worth::Fault, _) | (_, Worth::Fault) => Worth::Fault,
        (Worth::Known(Value::Quantity(a)), Worth::Known(Value::Quantity(b))) => {
            sign.apply(a, b).map_or(Worth::Fault, |sum| Worth::Known(Value::Quantity(sum)))
        }
        (Worth::Term(term, by), Worth::Known(Value::Quantity(more))) if adds => match sign {
            Arithmetic::Add => Worth::Term(*term, by.checked_add(&more.base())?),
            Arithmetic::Subtract => Worth::Term(*term, by.checked_sub(&more.base())?),
            _ => return None,
        },
        (Worth::Known(Value::Quantity(more)), Worth::Term(term, by)) if adds && sign == Arithmetic::Add => {
            Worth::Term(*term, by.checked_add(&more.base())?)
        }
        _ => return None,
    })
}

fn range_of(form: &RangeForm<Expr>, values: &[Value<'static>]) -> Option<Value<'static>> {
    let mut values = values.iter();
    let form = form.try_map(|_| match values.next() {
        Some(Value::Quantity(quantity)) => Ok(quantity.clone()),
        _ => Err(()),
    });
    form.ok()?.range().ok().map(|range| Value::Range(range.into()))
}

/// What values an expression can have by its type and, where it is a field, by its form.
fn sort_of(expr: &Expr) -> Sort {
    let is_field = matches!(expr.kind, ExprKind::Field { .. });
    match &expr.ty {
        Type::Truth => Sort::Words(Words::of(["yes".into(), "no".into()])),
        Type::Word(words) => Sort::Words(Words::of(words.iter().cloned())),
        Type::Text => Sort::Words(Words::all()),
        Type::Quantity(kind) if is_field => {
            if matches!(field_shape(expr), Some(Shape::Count)) {
                Sort::count()
            } else {
                Sort::measured(*kind)
            }
        }
        Type::Quantity(kind) => match expr.kind {
            ExprKind::Aggregate { aggregate: Aggregate::Count, .. } => Sort::count(),
            _ => Sort::computed(*kind),
        },
        Type::Day => Sort::Time { day: true },
        Type::Moment => Sort::Time { day: false },
        Type::Record(_) => Sort::Group,
        Type::List(_) => Sort::List,
        _ => Sort::Other,
    }
}

fn field_shape(expr: &Expr) -> Option<&Shape> {
    let ExprKind::Field { base, index, .. } = &expr.kind else { return None };
    let Type::Record(record) = &base.ty else { return None };
    record.fields.get(usize::from(*index)).map(|field| &field.shape)
}

/// What sort of computation an expression is, with all of it that is no part of its own.
fn tag_of(expr: &Expr) -> (&'static str, String) {
    match &expr.kind {
        ExprKind::Lookup { table, .. } => ("look-up", format!("{table:?}")),
        ExprKind::Call { builtin, .. } => ("call", builtin.name.to_owned()),
        ExprKind::Range(form) => ("limits", form_name(form).to_owned()),
        ExprKind::Logic(logic, ..) => ("logic", format!("{logic:?}")),
        ExprKind::Arithmetic(sign, ..) => ("arithmetic", format!("{sign:?}")),
        ExprKind::Compare(comparison, ..) => ("compare", format!("{comparison:?}")),
        ExprKind::InOrder(comparison, ..) => ("in order", format!("{comparison:?}")),
        ExprKind::OneOf { negated, .. } => ("one of", negated.to_string()),
        ExprKind::Timed(timed) => ("timed", format!("{:?}", std::mem::discriminant(&timed.when))),
        ExprKind::Decided(rule, _) => ("decided", format!("{rule:?}")),
        ExprKind::Quantified { quantifier, condition, .. } => {
            ("quantifier", format!("{quantifier:?} {}", condition.is_some()))
        }
        ExprKind::Aggregate { aggregate, value, condition, .. } => {
            ("aggregate", format!("{aggregate:?} {} {}", value.is_some(), condition.is_some()))
        }
        ExprKind::Entries(_) => ("entries", String::new()),
        ExprKind::Cases(cases) => ("cases", cases.len().to_string()),
        ExprKind::Not(_) => ("not", String::new()),
        ExprKind::Minus(_) => ("minus", String::new()),
        ExprKind::Within(..) => ("within", String::new()),
        ExprKind::Recorded(_) => ("whether recorded", String::new()),
        ExprKind::Rate(_) => ("rate", String::new()),
        _ => ("other", String::new()),
    }
}

fn form_name(form: &RangeForm<Expr>) -> &'static str {
    match form {
        RangeForm::Between(..) => "between",
        RangeForm::PlusMinus(..) => "plus minus",
        RangeForm::PlusAndMinus(..) => "plus and minus",
        RangeForm::AtLeast(_) => "least",
        RangeForm::AtMost(_) => "most",
        RangeForm::Above(_) => "above",
        RangeForm::Below(_) => "below",
    }
}

/// A known value in one spelling.
fn digits(value: &Value<'_>) -> String {
    let quantity = |quantity: &Quantity| format!("{:?} {:?}", quantity.kind(), quantity.base().reduced());
    match value {
        Value::Quantity(known) => quantity(known),
        other => format!("{other:?}"),
    }
}
