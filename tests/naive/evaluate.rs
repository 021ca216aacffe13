//! The naive evaluator of expressions: straight from the syntax tree and the text, by the book.

use num_rational::BigRational;
use serde_yaml::Value as Yaml;

use witnessmark::language::ast::{
    Aggregate, Arithmetic, Comparison, Expr, ExprKind, File, Item, Let, Logic, Name, Parameter, Quantifier,
    RangeForm,
};

use super::fields::Field;
use super::figures::{Amount, Measure, Ratio, decimal, exact, unit_called};
use super::lookup::Place;
use super::mutation::Mutation;
use super::order::{criss_cross, goes_round};
use super::program::Stated;
use super::value::{Known, Margin, Range, Told, Truth, Value, Verdict, Why, all};

/// A variable and the element that it stands for.
#[derive(Clone, Debug)]
pub struct Variable<'n> {
    pub name: String,
    pub node: Option<&'n Yaml>,
    pub field: Field,
    pub path: String,
    /// Of a group, its list and its entries, each with its number in the list.
    pub entries: Option<Grouped<'n>>,
    /// Whether it stands for an entry of one of several lists.
    pub mixed: bool,
}

/// A list, and some of its entries, each with its number in it.
pub type Grouped<'n> = (Box<Place<'n>>, Vec<(usize, &'n Yaml)>);

pub type Scope<'n> = Vec<Variable<'n>>;

/// One program and one record.
pub struct Naive<'n> {
    pub file: &'n File,
    pub text: &'n str,
    pub givens: &'n [Stated],
    pub record: &'n Yaml,
    /// The names that the rule at hand gives to values.
    pub lets: &'n [Let],
    pub mutation: Option<Mutation>,
}

impl<'n> Naive<'n> {
    pub fn is(&self, mutation: Mutation) -> bool {
        self.mutation == Some(mutation)
    }

    /// The truth of an expression.
    pub fn truth(&self, expr: &'n Expr, scope: &Scope<'n>) -> Verdict {
        match &expr.kind {
            ExprKind::Not(inner) => self.negated(self.truth(inner, scope)),
            ExprKind::Logic(Logic::And, a, b) => self.and(self.truth(a, scope), self.truth(b, scope)),
            ExprKind::Logic(Logic::Or, a, b) => self.or(self.truth(a, scope), self.truth(b, scope)),
            ExprKind::Logic(Logic::Implies, a, b) => {
                let (mut a, mut b) = (self.truth(a, scope), self.truth(b, scope));
                if self.is(Mutation::ImpliesTurnedRound) {
                    std::mem::swap(&mut a, &mut b);
                }
                if self.is(Mutation::ImpliesOfUnknownIsUnknown) && a.truth == Truth::Unknown {
                    return Verdict::from(a.told());
                }
                Verdict { exact: false, ..self.or(self.negated(a), b) }
            }
            ExprKind::Compare(comparison, a, b) => {
                if matches!(comparison, Comparison::Before | Comparison::After)
                    && let Some(told) = self.in_order(*comparison, a, b, scope)
                {
                    return Verdict::from(told);
                }
                match (self.value(a, scope), self.value(b, scope)) {
                    (Ok(a), Ok(b)) => self.compared(*comparison, Ok(a), Ok(b)),
                    (one, other) => self
                        .compared_however_many(*comparison, a, b, scope)
                        .unwrap_or_else(|| self.compared(*comparison, one, other)),
                }
            }
            ExprKind::Within(value, range) => match (self.value(value, scope), self.limits(range, scope)) {
                (Ok(Value::Amount(value)), Ok((range, open))) => self.within_known(&value, &range, open),
                (Ok(_), Err(why)) => self.missing(why),
                (Err(why), Ok((range, None))) => {
                    self.within_however_many(value, &range, scope).unwrap_or_else(|| self.missing(why))
                }
                (Err(why), Ok((_, Some(open)))) => self.missing(why.max(open)),
                (Err(why), Err(other)) => self.missing(why.max(other)),
                other => panic!("{other:?} within"),
            },
            ExprKind::OneOf { value, negated, options } => {
                let known = self.value(value, scope);
                if known.is_err() && self.is_none_however_many(value, options, scope) {
                    return Verdict::plain(Truth::of(*negated));
                }
                let options: Vec<Known<Value>> = options.iter().map(|o| self.value(o, scope)).collect();
                Verdict::from(self.one_of(known.as_ref().map_err(|why| *why), *negated, &options))
            }
            ExprKind::Recorded(path) => Verdict::from(self.recorded(path, scope)),
            ExprKind::Quantified { quantifier, variable, list, condition, body } => {
                let told = self.quantified(*quantifier, variable, list, condition.as_deref(), body, scope);
                Verdict { exact: false, ..Verdict::from(told) }
            }
            ExprKind::Path(_) | ExprKind::Of { .. } => match self.definition(expr, scope) {
                Some(Ok((value, scope))) => Verdict { exact: false, ..self.truth(value, &scope) },
                Some(Err(why)) => Verdict::unknown(why),
                None => Verdict::from(self.known_truth(self.value(expr, scope))),
            },
            ExprKind::Cases(cases) => {
                // Where it is known which case counts, that one is the answer, decided or not.
                let known = self.by_cases(cases, scope, |value| Ok(self.truth(value, scope)), |_, _| false);
                let verdict = known.unwrap_or_else(|_| {
                    let decided = |value| {
                        let verdict = self.truth(value, scope);
                        verdict.why.map_or(Ok(verdict), Err)
                    };
                    let agreed = self.by_cases(cases, scope, decided, |one, other| one.truth == other.truth);
                    agreed.unwrap_or_else(Verdict::unknown)
                });
                Verdict { exact: false, ..verdict }
            }
            _ => Verdict::from(self.known_truth(self.value(expr, scope))),
        }
    }

    fn known_truth(&self, value: Known<Value>) -> Told {
        match value {
            Ok(Value::Truth(truth)) => Told::of(truth),
            Err(why) => Told::unknown(why),
            Ok(other) => panic!("{other:?} is no truth"),
        }
    }

    pub fn missing(&self, why: Why) -> Verdict {
        if self.is(Mutation::MissingComparisonFails) {
            return Verdict::plain(Truth::No);
        }
        Verdict::unknown(why)
    }

    /// Of a range with one known end: what lies outside of that end lies outside of the range.
    fn within_known(&self, value: &Amount, range: &Range, open: Option<Why>) -> Verdict {
        let verdict = self.within(value, range);
        match open {
            None => verdict,
            Some(why) if self.is(Mutation::OneEndDecidesNothing) => self.missing(why),
            Some(_) if self.is(Mutation::OneEndDecidesAll) => verdict,
            Some(_) if verdict.truth == Truth::No => verdict,
            Some(why) => self.missing(why),
        }
    }

    /// The limits of a range as far as they are known, and why the other end is missing.
    fn limits(&self, range: &'n Expr, scope: &Scope<'n>) -> Known<(Range, Option<Why>)> {
        match &range.kind {
            ExprKind::Path(_) | ExprKind::Of { .. } => {
                if let Some(definition) = self.definition(range, scope) {
                    return definition.and_then(|(value, scope)| self.limits(value, &scope));
                }
            }
            ExprKind::Cases(cases) => {
                return self.by_cases(
                    cases,
                    scope,
                    |value| self.limits(value, scope),
                    |one, other| one.0.same(&other.0) && one.1.is_none() && other.1.is_none(),
                );
            }
            ExprKind::Range(form) => {
                let form = form.try_map(|operand| Ok::<_, Why>(self.amount(operand, scope)))?;
                return self.known_ends(&form);
            }
            _ => {}
        }
        match self.value(range, scope)? {
            Value::Range(range) => Ok((range, None)),
            other => panic!("{other:?} is no range"),
        }
    }

    fn known_ends(&self, form: &RangeForm<Known<Amount>>) -> Known<(Range, Option<Why>)> {
        let one = |low: Option<Ratio>, high: Option<Ratio>, dimension| {
            let included = |end: Option<Ratio>| end.map(|end| (end, true));
            Range { low: included(low), high: included(high), dimension }
        };
        let end = |nominal: &Amount, part: &Amount, sign: &str| {
            let distance = self.part(nominal, part);
            if distance < zero() && !self.is(Mutation::NegativeToleranceIsFine) {
                return Err(Why::Otherwise);
            }
            let base = &nominal.base + distance * self.sign(sign);
            let end = self.not_below_zero(Amount { base, ..nominal.clone() });
            end.map(|end| end.base).ok_or(Why::Otherwise)
        };
        match form {
            RangeForm::Between(Ok(low), Err(why)) => {
                Ok((one(Some(low.base.clone()), None, low.dimension), Some(*why)))
            }
            RangeForm::Between(Err(why), Ok(high)) => {
                Ok((one(None, Some(high.base.clone()), high.dimension), Some(*why)))
            }
            RangeForm::PlusAndMinus(_, Ok(_), Err(why)) | RangeForm::PlusAndMinus(_, Err(why), Ok(_))
                if self.is(Mutation::PlusAndMinusNeedsBothParts) =>
            {
                Err(*why)
            }
            RangeForm::PlusAndMinus(Ok(nominal), Ok(plus), Err(why)) => {
                Ok((one(None, Some(end(nominal, plus, "+")?), nominal.dimension), Some(*why)))
            }
            RangeForm::PlusAndMinus(Ok(nominal), Err(why), Ok(minus)) => {
                Ok((one(Some(end(nominal, minus, "-")?), None, nominal.dimension), Some(*why)))
            }
            form => {
                all(form.operands().cloned())?;
                let form = form.try_map(Clone::clone)?;
                self.range(form).map(|range| (range, None)).ok_or(self.no_answer())
            }
        }
    }

    fn sign(&self, sign: &str) -> Ratio {
        let swapped = self.is(Mutation::PlusAndMinusSwapped);
        if (sign == "-") == swapped { exact("1") } else { -exact("1") }
    }

    /// Why a sum, a table or a method without an answer is missing.
    pub fn no_answer(&self) -> Why {
        if self.is(Mutation::NoAnswerPasses) { Why::Unrecorded } else { Why::Otherwise }
    }

    fn amount(&self, expr: &'n Expr, scope: &Scope<'n>) -> Known<Amount> {
        match self.value(expr, scope)? {
            Value::Amount(amount) => Ok(amount),
            other => panic!("{other:?} is no amount"),
        }
    }

    fn negated(&self, verdict: Verdict) -> Verdict {
        let mut truth = verdict.truth.opposite();
        if truth == Truth::Unknown && self.is(Mutation::NotOfUnknownHolds) {
            truth = Truth::Yes;
        }
        let kept = self.is(Mutation::MarginOfNotIsNotTurned);
        let margin = verdict.margin.map(|margin| if kept { margin } else { margin.turned() });
        Verdict { truth, margin, exact: verdict.exact, why: verdict.why }
    }

    fn and(&self, a: Verdict, b: Verdict) -> Verdict {
        let mut truth = a.truth.min(b.truth);
        if self.is(Mutation::AndIsWeak) && (a.truth == Truth::Unknown || b.truth == Truth::Unknown) {
            truth = Truth::Unknown;
        }
        let pick = if self.is(Mutation::MarginOfAndIsTheGreatest) { Margin::greater } else { Margin::lesser };
        self.joined(truth, a, b, pick)
    }

    fn or(&self, a: Verdict, b: Verdict) -> Verdict {
        let mut truth = a.truth.max(b.truth);
        if self.is(Mutation::OrIsWeak) && (a.truth == Truth::Unknown || b.truth == Truth::Unknown) {
            truth = Truth::Unknown;
        }
        self.joined(truth, a, b, Margin::greater)
    }

    fn compared(&self, comparison: Comparison, a: Known<Value>, b: Known<Value>) -> Verdict {
        let (a, b) = match (a, b) {
            (Ok(a), Ok(b)) => (a, b),
            _ if comparison == Comparison::IsNot && self.is(Mutation::IsNotOfMissingHolds) => {
                return Verdict::plain(Truth::Yes);
            }
            (Err(why), Err(_)) if self.is(Mutation::FirstOperandTellsWhy) => return self.missing(why),
            (a, b) => return self.missing(a.err().max(b.err()).expect("one is missing")),
        };
        match (comparison, &a, &b) {
            (Comparison::Before, Value::Moment(a), Value::Moment(b)) => Verdict::plain(Truth::of(a < b)),
            (Comparison::After, Value::Moment(a), Value::Moment(b)) => Verdict::plain(Truth::of(a > b)),
            (Comparison::Before, Value::Moment(a), Value::Day(b)) if self.is(Mutation::DayBeginsAtNoon) => {
                Verdict::plain(Truth::of((a - 43_200).div_euclid(86_400) < *b))
            }
            (Comparison::Before, Value::Moment(a), Value::Day(b)) => {
                Verdict::plain(Truth::of(a.div_euclid(86_400) < *b))
            }
            (Comparison::After, Value::Moment(a), Value::Day(b)) => {
                Verdict::plain(Truth::of(a.div_euclid(86_400) > *b))
            }
            (_, Value::Amount(a), Value::Amount(b)) => self.amounts(comparison, a, b),
            (Comparison::Is, ..) => Verdict::plain(Truth::of(a.equals(&b))),
            (Comparison::IsNot, ..) => Verdict::plain(Truth::of(!a.equals(&b))),
            _ => panic!("{a:?} {comparison:?} {b:?}"),
        }
    }

    pub fn amounts(&self, comparison: Comparison, a: &Amount, b: &Amount) -> Verdict {
        let beyond = &a.base - &b.base;
        let apart = if beyond < zero() { -beyond.clone() } else { beyond.clone() };
        let (truth, distance) = match comparison {
            Comparison::Is => (a.base == b.base, -apart),
            Comparison::IsNot => (a.base != b.base, apart),
            Comparison::Above if self.is(Mutation::AboveIncludesItsLimit) => (a.base >= b.base, beyond),
            Comparison::Above => (a.base > b.base, beyond),
            Comparison::AtLeast => (a.base >= b.base, beyond),
            Comparison::Below => (a.base < b.base, -beyond),
            Comparison::AtMost if self.is(Mutation::AtMostLeavesOutItsLimit) => (a.base < b.base, -beyond),
            Comparison::AtMost => (a.base <= b.base, -beyond),
            Comparison::Before | Comparison::After => panic!("amounts have no times"),
        };
        // The sum of nothing has no dimension here.
        let dimension = if b.dimension == [0; 5] { a.dimension } else { b.dimension };
        let margin = Margin { distance, share: None, dimension };
        Verdict { margin: Some(margin), ..Verdict::plain(Truth::of(truth)) }
    }

    pub fn within(&self, value: &Amount, range: &Range) -> Verdict {
        let value = &value.base;
        let included = |included: bool| {
            included && !self.is(Mutation::WithinLeavesOutItsEnds)
                || !included && self.is(Mutation::AboveRangeIncludesItsLimit)
        };
        let low = range.low.as_ref().is_none_or(|(low, own)| value > low || value == low && included(*own));
        let high =
            range.high.as_ref().is_none_or(|(high, own)| value < high || value == high && included(*own));
        let from_low = range.low.as_ref().map(|(low, _)| value - low);
        let from_high = range.high.as_ref().map(|(high, _)| high - value);
        let mut distances: Vec<Ratio> = from_low.into_iter().chain(from_high).collect();
        distances.sort();
        if self.is(Mutation::MarginIsOfTheFarLimit) {
            distances.reverse();
        }
        let distance = distances.swap_remove(0);
        let width = range.low.as_ref().zip(range.high.as_ref()).map(|((low, _), (high, _))| high - low);
        let width =
            width.map(
                |width| if self.is(Mutation::ShareIsOfHalfTheTolerance) { width / exact("2") } else { width },
            );
        let share = width.filter(|width| *width != zero()).map(|width| &distance / width);
        let margin = Margin { distance, share, dimension: range.dimension };
        Verdict { margin: Some(margin), ..Verdict::plain(Truth::of(low && high)) }
    }

    fn one_of(&self, value: Known<&Value>, negated: bool, options: &[Known<Value>]) -> Told {
        let missing = options.iter().filter_map(|option| option.as_ref().err().copied()).max();
        let value = match value {
            Ok(value) => value,
            Err(why) => return self.missing(why.max(missing.unwrap_or(why))).told(),
        };
        let told = match missing {
            Some(why) if self.is(Mutation::OneOfStopsAtAMissingOption) => Told::unknown(why),
            _ if options.iter().flatten().any(|option| option.equals(value)) => Told::of(true),
            Some(why) if !self.is(Mutation::OneOfForgetsMissingOptions) => Told::unknown(why),
            _ => Told::of(false),
        };
        if negated && !self.is(Mutation::NotOneOfIsNotTurned) { told.opposite() } else { told }
    }

    fn recorded(&self, path: &'n Expr, scope: &Scope<'n>) -> Told {
        if let Some(parameter) = self.parameter_of(path, scope) {
            return self.is_stated(parameter);
        }
        let place = self.place(path, scope);
        if place.blocked {
            return Told::unknown(self.unreadable());
        }
        Told::of(match place.node {
            None => false,
            Some(Yaml::Null) => self.is(Mutation::EmptyNodeIsRecorded),
            Some(Yaml::Sequence(items)) if items.is_empty() => !self.is(Mutation::EmptyListIsNotRecorded),
            Some(node) => {
                !self.is(Mutation::WrongFormIsNotRecorded)
                    || matches!(place.field, Field::Record(_) | Field::List(_) | Field::Texts(_))
                    || self.scalar(node, place.field).is_some()
            }
        })
    }

    /// Whether a parameter has a value.
    fn is_stated(&self, parameter: Known<(&'n Parameter, Scope<'n>)>) -> Told {
        let (parameter, scope) = match parameter {
            Ok(parameter) => parameter,
            // The entry is not there, so nothing of it is recorded.
            Err(why) => return Told::unknown(why),
        };
        if let Some(from) = &parameter.from {
            match self.place(from, &scope).known(self).and_then(|_| self.value(from, &scope)) {
                Ok(_) => return Told::of(true),
                Err(Why::Unrecorded) => {}
                Err(why) => return Told::unknown(why),
            }
        }
        match self.statement(parameter, &scope) {
            Err(why) => Told::unknown(why),
            Ok(Some(stated)) if stated.faulty => match () {
                () if self.is(Mutation::FaultyParameterIsRecorded) => Told::of(true),
                () if self.is(Mutation::FaultyParameterIsNotRecorded) => Told::of(false),
                () => Told::unknown(Why::Otherwise),
            },
            Ok(Some(_)) => Told::of(true),
            Ok(None) => Told::of(parameter.default.is_some()),
        }
    }

    fn quantified(
        &self,
        quantifier: Quantifier,
        variable: &'n Name,
        list: &'n Expr,
        condition: Option<&'n Expr>,
        body: &'n Expr,
        scope: &Scope<'n>,
    ) -> Told {
        let (place, elements) = self.list(list, scope);
        let elements = match elements {
            Err(why) if !self.is(Mutation::MissingListIsEmptyForQuantifiers) => return Told::unknown(why),
            elements => elements.unwrap_or_default(),
        };
        match quantifier {
            Quantifier::Some if elements.is_empty() && self.is(Mutation::SomeOfNothingHolds) => {
                return Told::of(true);
            }
            Quantifier::No if elements.is_empty() && self.is(Mutation::NoOfNothingFails) => {
                return Told::of(false);
            }
            Quantifier::Every if elements.is_empty() && self.is(Mutation::EveryOfNothingFails) => {
                return Told::of(false);
            }
            _ => {}
        }
        let mut every = Told::of(true);
        let mut some = Told::of(false);
        let mut no = Told::of(true);
        for (number, element) in elements {
            let mut scope = scope.clone();
            scope.push(place.element(&variable.node, number, element));
            let condition =
                condition.map_or(Told::of(true), |condition| self.truth(condition, &scope).told());
            if condition.truth == Truth::Unknown && self.is(Mutation::QuantifierConditionUnknownIsSkipped) {
                continue;
            }
            let body = self.truth(body, &scope).told();
            every = every.and(condition.opposite().or(body));
            some = some.or(condition.and(body));
            no = no.and(condition.and(body).opposite());
        }
        if let Some(why) = place.rest {
            let rest = Told::unknown(why);
            (every, some, no) = (every.and(rest), some.or(rest), no.and(rest));
        }
        match quantifier {
            Quantifier::Every => every,
            Quantifier::Some => some,
            Quantifier::No if self.is(Mutation::NoIsEvery) => every.opposite(),
            Quantifier::No => no,
        }
    }

    /// The value of an expression, or why it is missing.
    pub fn value(&self, expr: &'n Expr, scope: &Scope<'n>) -> Known<Value> {
        match &expr.kind {
            ExprKind::Number(_) | ExprKind::Quantity(_) => Ok(Value::Amount(self.literal(expr))),
            ExprKind::Text(text) => Ok(Value::Text(text.clone())),
            ExprKind::Truth(truth) => Ok(Value::Truth(*truth)),
            ExprKind::Path(_) | ExprKind::Of { .. }
                if let Some(definition) = self.definition(expr, scope) =>
            {
                definition.and_then(|(value, scope)| self.value(value, &scope))
            }
            ExprKind::Cases(cases) => {
                self.by_cases(cases, scope, |value| self.value(value, scope), Value::same)
            }
            ExprKind::Path(_) | ExprKind::Of { .. }
                if let Some(parameter) = self.parameter_of(expr, scope) =>
            {
                parameter.and_then(|(parameter, scope)| self.parameter(parameter, &scope))
            }
            ExprKind::Day(day) => {
                let midnight = self.moment(&format!("{day}T00:00:00Z")).expect("a day");
                Ok(Value::Day(midnight.div_euclid(86_400)))
            }
            ExprKind::WordList(words) => {
                let most = if self.is(Mutation::WordListIsItsFirst) { 1 } else { words.len() };
                Ok(Value::Words(words.iter().take(most).map(|word| word.node.clone()).collect()))
            }
            ExprKind::Path(names) => match self.named(names, scope) {
                Some(Item::Table(table)) => self.row(table, &table.keys, &Scope::new()),
                _ => {
                    let place = self.place(expr, scope);
                    self.scalar(place.known(self)?, place.field).ok_or(self.unreadable())
                }
            },
            ExprKind::Lookup { table, keys } => {
                match self.named(std::slice::from_ref(table), &Scope::new()) {
                    Some(Item::Table(table)) => self.row(table, keys, scope),
                    _ => panic!("no table {}", table.node),
                }
            }
            ExprKind::Call { function, arguments } => {
                let values = all(arguments.iter().map(|a| self.value(a, scope)))?;
                self.called(&function.node, &values).ok_or(self.no_answer())
            }
            ExprKind::Range(form) => {
                let form = form.try_map(|operand| Ok::<_, Why>(self.amount(operand, scope)))?;
                match self.known_ends(&form)? {
                    (range, None) => Ok(Value::Range(range)),
                    (_, Some(why)) => Err(why),
                }
            }
            ExprKind::Minus(inner) => {
                let inner = self.amount(inner, scope)?;
                let base = if self.is(Mutation::MinusSignIsLost) { inner.base } else { -inner.base };
                Ok(Value::Amount(Amount { base, ..inner }))
            }
            ExprKind::Arithmetic(sign, a, b) => {
                let sides = all([a, b].map(|side| self.value(side, scope)))?;
                let result = match <[Value; 2]>::try_from(sides).expect("two sides") {
                    [Value::Moment(a), Value::Moment(b)] => Some(seconds(a - b)),
                    [Value::Amount(a), Value::Amount(b)] => self.calculated(*sign, a, b),
                    other => panic!("{other:?} in a sum"),
                };
                result.map(Value::Amount).ok_or(self.no_answer())
            }
            ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
                let (value, condition) = (value.as_deref(), condition.as_deref());
                if *aggregate == Aggregate::All {
                    let (value, variable) = value.zip(variable.as_ref()).expect("all of something");
                    return self.all(value, variable, list, condition, scope).map(Value::Several);
                }
                let base = self.aggregated(*aggregate, value, variable.as_ref(), list, condition, scope);
                base.map(Value::Amount)
            }
            _ => match self.truth(expr, scope).told() {
                Told { truth: Truth::Unknown, why } => Err(why.expect("a reason")),
                Told { truth, .. } => Ok(Value::Truth(truth == Truth::Yes)),
            },
        }
    }

    /// A number as it is in the text; one without a unit may borrow that of the next.
    fn literal(&self, expr: &Expr) -> Amount {
        let written = expr.span.of(self.text);
        if written.is_empty() {
            // `within 10 min after …` begins at no time at all, and nobody writes that out.
            return seconds(0);
        }
        let head = written.find(|c: char| c.is_ascii_digit()).expect("a literal has digits");
        let minuses = written[..head].chars().filter(|c| matches!(c, '-' | '−' | '–')).count();
        let (mut figure, rest) = decimal(&written[head..]).expect("a literal is a number");
        if minuses % 2 == 1 && !self.is(Mutation::MinusSignIsLost) {
            figure = -figure;
        }
        let spelling = rest.trim_end_matches(')').trim();
        let unit = match &expr.kind {
            ExprKind::Quantity(quantity) if spelling.is_empty() => quantity.unit().map(|unit| unit.symbol),
            _ => Some(spelling).filter(|spelling| !spelling.is_empty()),
        };
        match unit {
            None => Amount::number(figure),
            Some(unit) => {
                let unit = unit_called(unit).unwrap_or_else(|| panic!("no unit {unit}"));
                self.spoilt(Amount::new(&figure, unit), unit.spellings[0])
            }
        }
    }

    /// What the mutations make of units.
    pub fn spoilt(&self, mut amount: Amount, unit: &str) -> Amount {
        if self.is(Mutation::FootIsRounded) && unit == "lbf·ft" {
            amount.base = amount.base * exact("1.3558") / unit_called(unit).expect("a unit").size.clone();
        }
        if self.is(Mutation::FahrenheitHasNoOffset) && unit == "°F" {
            amount.base -= exact("32") * exact("5") / exact("9");
        }
        amount
    }

    pub fn calculated(&self, sign: Arithmetic, a: Amount, b: Amount) -> Option<Amount> {
        let combined = |with: fn(i32, i32) -> i32| {
            let mut dimension = a.dimension;
            for (slot, other) in dimension.iter_mut().zip(b.dimension) {
                *slot = with(*slot, other);
            }
            dimension
        };
        let product = |base: Ratio, dimension| Amount { base, dimension, point: false, share: false };
        let pressures = a.dimension == Measure::Absolute.dimension();
        match sign {
            // A gauge pressure and the pressure of the air.
            Arithmetic::Add if self.is(Mutation::AirIsForgotten) && pressures && b.point && !a.point => {
                Some(a)
            }
            Arithmetic::Add => {
                self.not_below_zero(Amount { base: a.base + b.base, point: a.point || b.point, ..a })
            }
            Arithmetic::Subtract | Arithmetic::Elapsed => {
                self.not_below_zero(Amount { base: a.base - b.base, point: a.point && !b.point, ..a })
            }
            Arithmetic::Multiply if self.is(Mutation::ProductIsSum) => {
                Some(product(&a.base + &b.base, combined(|x, y| x + y)))
            }
            Arithmetic::Multiply => Some(product(&a.base * &b.base, combined(|x, y| x + y))),
            Arithmetic::Divide if b.base == zero() => {
                let wrong = self.is(Mutation::DivisionByZeroIsZero);
                wrong.then(|| product(zero(), combined(|x, y| x - y)))
            }
            Arithmetic::Divide => Some(product(&a.base / &b.base, combined(|x, y| x - y))),
        }
    }

    fn not_below_zero(&self, amount: Amount) -> Option<Amount> {
        let below = amount.point && amount.base < zero() && !self.is(Mutation::BelowAbsoluteZeroIsFine);
        (!below).then_some(amount)
    }

    pub fn range(&self, form: RangeForm<Amount>) -> Option<Range> {
        let two = |low: Ratio, high: Ratio, dimension| Range {
            low: Some((low, true)),
            high: Some((high, true)),
            dimension,
        };
        let part = |nominal: &Amount, part: &Amount| self.part(nominal, part);
        let fine = |negative: bool| !negative || self.is(Mutation::NegativeToleranceIsFine);
        match form {
            RangeForm::Between(low, high) => {
                let whole = low.base <= high.base || self.is(Mutation::InvertedRangeHoldsNothing);
                whole.then(|| two(low.base, high.base, high.dimension))
            }
            RangeForm::PlusMinus(nominal, tolerance) => {
                let distance = part(&nominal, &tolerance);
                if !fine(distance <= zero()) {
                    return None;
                }
                let down = if self.is(Mutation::PlusMinusIsOneSided) { zero() } else { distance.clone() };
                self.around(&nominal, distance, down).map(|(low, high)| two(low, high, nominal.dimension))
            }
            RangeForm::PlusAndMinus(nominal, plus, minus) => {
                let (mut up, mut down) = (part(&nominal, &plus), part(&nominal, &minus));
                if !fine(up < zero() || down < zero() || up == zero() && down == zero()) {
                    return None;
                }
                if self.is(Mutation::PlusAndMinusSwapped) {
                    std::mem::swap(&mut up, &mut down);
                }
                self.around(&nominal, up, down).map(|(low, high)| two(low, high, nominal.dimension))
            }
            RangeForm::AtLeast(end) => {
                Some(Range { low: Some((end.base, true)), high: None, dimension: end.dimension })
            }
            RangeForm::Above(end) => {
                Some(Range { low: Some((end.base, false)), high: None, dimension: end.dimension })
            }
            RangeForm::AtMost(end) => {
                Some(Range { low: None, high: Some((end.base, true)), dimension: end.dimension })
            }
            RangeForm::Below(end) => {
                Some(Range { low: None, high: Some((end.base, false)), dimension: end.dimension })
            }
        }
    }

    /// A part of a tolerance as a distance.
    fn part(&self, nominal: &Amount, part: &Amount) -> Ratio {
        if !part.share || self.is(Mutation::PercentageIsOfOne) {
            return part.base.clone();
        }
        let size = if nominal.base < zero() { -nominal.base.clone() } else { nominal.base.clone() };
        size * &part.base
    }

    fn around(&self, nominal: &Amount, up: Ratio, down: Ratio) -> Option<(Ratio, Ratio)> {
        let low = self.not_below_zero(Amount { base: &nominal.base - down, ..nominal.clone() })?;
        let high = self.not_below_zero(Amount { base: &nominal.base + up, ..nominal.clone() })?;
        Some((low.base, high.base))
    }

    fn called(&self, function: &str, arguments: &[Value]) -> Option<Value> {
        let amount = |amount: &Amount| Some(Value::Amount(amount.clone()));
        match (function, arguments) {
            ("lesser" | "greater", [Value::Amount(a), Value::Amount(b)]) => {
                let lesser = (function == "lesser") != self.is(Mutation::LesserIsGreater);
                amount(if (b.base < a.base) == lesser { b } else { a })
            }
            ("size_of", [Value::Amount(a)]) if a.base < zero() => {
                Some(Value::Amount(Amount { base: -a.base.clone(), ..a.clone() }))
            }
            ("size_of", [Value::Amount(a)]) => amount(a),
            ("lower_limit" | "upper_limit", [Value::Range(range)]) => {
                let end = if function == "lower_limit" { &range.low } else { &range.high };
                let (base, _) = end.clone()?;
                // Whether it is a point matters no more: no arithmetic is made with limits of temperatures.
                Some(Value::Amount(Amount { base, dimension: range.dimension, point: false, share: false }))
            }
            ("characters_in", [Value::Text(text)]) => {
                let count = text.chars().fold(zero(), |sum, _| sum + exact("1"));
                Some(Value::Amount(Amount::number(count)))
            }
            ("is_criss_cross" | "goes_round", [Value::Several(places)]) => {
                let places: Vec<Ratio> = places.iter().map(|place| place.base.clone()).collect();
                let told = if function == "goes_round" { goes_round(&places) } else { criss_cross(&places) };
                told.map(Value::Truth)
            }
            other => panic!("{other:?}"),
        }
    }

    /// The value of each element that counts, or the worst of what is missing.
    fn all(
        &self,
        value: &'n Expr,
        variable: &'n Name,
        list: &'n Expr,
        condition: Option<&'n Expr>,
        scope: &Scope<'n>,
    ) -> Known<Vec<Amount>> {
        let (place, elements) = self.list(list, scope);
        let (mut all, mut worst) = (Vec::new(), place.rest);
        for (at, element) in elements? {
            let mut inner = scope.clone();
            inner.push(place.element(&variable.node, at, element));
            let condition =
                condition.map_or(Told::of(true), |condition| self.truth(condition, &inner).told());
            match condition.truth {
                Truth::Unknown => worst = worst.max(condition.why),
                Truth::No => {}
                Truth::Yes => match self.amount(value, &inner) {
                    Ok(amount) => all.push(amount),
                    Err(why) => worst = worst.max(Some(why)),
                },
            }
        }
        if let Some(why) = worst {
            return Err(why);
        }
        if self.is(Mutation::AllOfForgetsTheLast) {
            all.truncate(all.len() - usize::from(all.len() > 3));
        }
        Ok(all)
    }

    fn aggregated(
        &self,
        aggregate: Aggregate,
        value: Option<&'n Expr>,
        variable: Option<&'n Name>,
        list: &'n Expr,
        condition: Option<&'n Expr>,
        scope: &Scope<'n>,
    ) -> Known<Amount> {
        let (place, elements) = self.list(list, scope);
        let elements = match elements {
            Err(_) if self.is(Mutation::MissingListIsEmptyForAggregates) => Vec::new(),
            elements => elements?,
        };
        let mut number = zero();
        let mut values: Vec<Known<Amount>> = Vec::new();
        for (at, element) in elements {
            let mut scope = scope.clone();
            if let Some(variable) = variable {
                scope.push(place.element(&variable.node, at, element));
            }
            let forgotten = self.is(Mutation::CountForgetsTheCondition) && aggregate == Aggregate::Count;
            let condition = condition.filter(|_| !forgotten);
            let condition =
                condition.map_or(Told::of(true), |condition| self.truth(condition, &scope).told());
            match condition.truth {
                Truth::No => continue,
                Truth::Unknown if self.is(Mutation::AggregateSkipsUnknownConditions) => continue,
                Truth::Unknown => {
                    values.push(Err(condition.why.expect("a reason")));
                    continue;
                }
                Truth::Yes => number += exact("1"),
            }
            if let Some(value) = value {
                match self.amount(value, &scope) {
                    Err(_) if self.is(Mutation::AggregateSkipsMissingValues) => {}
                    value => values.push(value),
                }
            }
        }
        values.extend(place.rest.map(Err));
        let first = values.iter().find_map(|value| value.as_ref().err().copied());
        if let Some(why) = first.filter(|_| self.is(Mutation::FirstElementTellsWhy)) {
            return Err(why);
        }
        let values = all(values)?;
        if aggregate == Aggregate::Count {
            return Ok(Amount::number(number));
        }
        let least = (aggregate == Aggregate::Least) != self.is(Mutation::LeastIsGreatest);
        let result = match aggregate {
            Aggregate::Sum if values.is_empty() => {
                (!self.is(Mutation::SumOfNothingIsMissing)).then(|| Amount::number(zero()))
            }
            Aggregate::Sum => values.into_iter().reduce(|a, b| Amount { base: a.base + b.base, ..a }),
            _ => values.into_iter().reduce(|a, b| if (b.base < a.base) == least { b } else { a }),
        };
        let passes = self.is(Mutation::LeastOfNothingPasses);
        result.ok_or(if passes { Why::Unrecorded } else { Why::Otherwise })
    }

    /// The sides of `and` or `or` together.
    fn joined(&self, truth: Truth, a: Verdict, b: Verdict, pick: fn(Margin, Margin) -> Margin) -> Verdict {
        let first = a.why.or(b.why).filter(|_| truth == Truth::Unknown);
        let verdict = joined(truth, a, b, pick);
        if self.is(Mutation::FirstSideTellsWhy) { Verdict { why: first, ..verdict } } else { verdict }
    }
}

/// The margin of `and` or `or`: of the sides that have the truth of the whole, the one that `pick`
/// prefers where both are numeric.
pub fn joined(truth: Truth, a: Verdict, b: Verdict, pick: fn(Margin, Margin) -> Margin) -> Verdict {
    let mut exact = a.exact && b.exact;
    let why = a.why.max(b.why).filter(|_| truth == Truth::Unknown);
    let margin = match (a.truth == truth, b.truth == truth) {
        _ if truth == Truth::Unknown => None,
        (true, true) => {
            // Which side speaks where only one is numeric is left open.
            exact &= a.margin.is_some() == b.margin.is_some();
            a.margin.zip(b.margin).map(|(a, b)| pick(a, b))
        }
        (true, false) => a.margin,
        (false, _) => b.margin,
    };
    Verdict { truth, margin, exact, why }
}

fn seconds(between: i64) -> Amount {
    let base = Ratio::from_integer(between.into());
    Amount { base, dimension: Measure::Duration.dimension(), point: false, share: false }
}

fn zero() -> Ratio {
    BigRational::from_integer(0.into())
}
