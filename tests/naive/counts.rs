//! Counts of which not every element is known, the long way round: every number that they can be is tried.

use num_rational::BigRational;

use witnessmark::language::ast::{Aggregate, Arithmetic, Comparison, Expr, ExprKind, Item, Name};

use super::evaluate::{Naive, Scope, joined};
use super::figures::{Amount, Ratio};
use super::mutation::Mutation;
use super::value::{Margin, Range, Truth, Value, Verdict, Why};

/// What a list can have that is not recorded: a few, and more than anybody asks for.
const UNRECORDED: [u64; 3] = [0, 1, u32::MAX as u64];

impl<'n> Naive<'n> {
    /// A comparison that comes out the same for every number that its counts can be.
    pub fn compared_however_many(
        &self,
        comparison: Comparison,
        a: &'n Expr,
        b: &'n Expr,
        scope: &Scope<'n>,
    ) -> Option<Verdict> {
        if !self.counts(a) && !self.counts(b) || self.is(Mutation::OpenCountIsUndecided) {
            return None;
        }
        let (a, b) = (self.possible(a, scope)?, self.possible(b, scope)?);
        if matches!(comparison, Comparison::Is | Comparison::IsNot)
            && !apart(&a, &b)
            && !self.is(Mutation::OpenCountEqualsNothing)
        {
            return None;
        }
        let pairs = a.iter().flat_map(|a| b.iter().map(move |b| (a, b)));
        self.all_alike(pairs.map(|(a, b)| self.amounts(comparison, a, b)).collect())
    }

    /// The same of `within`: all in it, or all on one side of it.
    pub fn within_however_many(&self, value: &'n Expr, range: &Range, scope: &Scope<'n>) -> Option<Verdict> {
        if !self.counts(value) || self.is(Mutation::OpenCountIsUndecided) {
            return None;
        }
        let values = self.possible(value, scope)?;
        let below = |value: &Amount| range.low.as_ref().is_some_and(|(low, _)| value.base <= *low);
        let above = |value: &Amount| range.high.as_ref().is_some_and(|(high, _)| value.base >= *high);
        let verdict = self.all_alike(values.iter().map(|value| self.within(value, range)).collect())?;
        let one_side = values.iter().all(below) || values.iter().all(above);
        (verdict.truth == Truth::Yes || one_side).then_some(verdict)
    }

    /// Whether a value is none of several, however many are counted.
    pub fn is_none_however_many(&self, value: &'n Expr, options: &'n [Expr], scope: &Scope<'n>) -> bool {
        if !self.counts(value) || self.is(Mutation::OpenCountIsUndecided) {
            return false;
        }
        let Some(values) = self.possible(value, scope) else { return false };
        options
            .iter()
            .all(|option| self.possible(option, scope).is_some_and(|option| apart(&values, &option)))
    }

    /// The verdict that all have, with the margin of the one that is nearest to the other outcome.
    fn all_alike(&self, verdicts: Vec<Verdict>) -> Option<Verdict> {
        let truth = verdicts.first()?.truth;
        if verdicts.iter().any(|verdict| verdict.truth != truth) {
            return None;
        }
        let nearest = (truth == Truth::Yes) != self.is(Mutation::MarginOfAnOpenCountIsTheFarOne);
        let pick = if nearest { Margin::lesser } else { Margin::greater };
        verdicts.into_iter().reduce(|a, b| joined(truth, a, b, pick))
    }

    fn counts(&self, expr: &'n Expr) -> bool {
        match &expr.kind {
            ExprKind::Aggregate { aggregate, .. } => *aggregate == Aggregate::Count,
            ExprKind::Arithmetic(_, a, b) => self.counts(a) || self.counts(b),
            ExprKind::Minus(inner) => self.counts(inner),
            ExprKind::Path(names) => match names.as_slice() {
                [name] => self.counts_by_name(name),
                _ => false,
            },
            ExprKind::Of { name, .. } => self.counts_by_name(name),
            ExprKind::Cases(cases) => cases.iter().any(|case| self.counts(&case.value)),
            _ => false,
        }
    }

    fn counts_by_name(&self, name: &'n Name) -> bool {
        match self.lets.iter().find(|own| own.name.node == name.node) {
            Some(own) => self.counts(&own.value),
            None => match self.named(std::slice::from_ref(name), &Scope::new()) {
                Some(Item::Let(named)) => self.counts(&named.value),
                _ => false,
            },
        }
    }

    /// Every value that an expression can have; nothing where it can have none or any.
    fn possible(&self, expr: &'n Expr, scope: &Scope<'n>) -> Option<Vec<Amount>> {
        match &expr.kind {
            ExprKind::Aggregate { aggregate: Aggregate::Count, variable, list, condition, .. } => {
                let (place, elements) = self.list(list, scope);
                let Ok(elements) = elements else { return Some(UNRECORDED.map(number).to_vec()) };
                let truth = |(at, element)| {
                    let mut inner = scope.clone();
                    inner.extend(variable.iter().map(|name| place.element(&name.node, at, element)));
                    condition.as_ref().map_or(Truth::Yes, |condition| self.truth(condition, &inner).truth)
                };
                let truths: Vec<Truth> = elements.into_iter().map(truth).collect();
                let mut least = truths.iter().filter(|truth| **truth == Truth::Yes).count() as u64;
                let mut greatest = truths.iter().filter(|truth| **truth != Truth::No).count() as u64;
                if place.rest.is_some() {
                    return Some([least, least + 1, UNRECORDED[2]].map(number).to_vec());
                }
                if self.is(Mutation::OpenCountIsTheLeast) {
                    greatest = least;
                }
                if self.is(Mutation::OpenCountIsTheGreatest) {
                    least = greatest;
                }
                Some((least..=greatest).map(number).collect())
            }
            ExprKind::Arithmetic(sign, a, b) if self.counts(expr) => {
                let (a, b) = (self.possible(a, scope)?, self.possible(b, scope)?);
                let zero = Ratio::from_integer(0.into());
                let crosses = b.iter().any(|b| b.base <= zero) && b.iter().any(|b| b.base >= zero);
                if *sign == Arithmetic::Divide && crosses {
                    return None;
                }
                let pairs = a.iter().flat_map(|a| b.iter().map(move |b| (a.clone(), b.clone())));
                pairs.map(|(a, b)| self.calculated(*sign, a, b)).collect()
            }
            ExprKind::Minus(inner) => {
                let values = self.possible(inner, scope)?;
                Some(values.into_iter().map(|value| Amount { base: -value.base, ..value }).collect())
            }
            ExprKind::Path(_) | ExprKind::Of { .. } => match self.definition(expr, scope) {
                Some(definition) => definition.ok().and_then(|(value, scope)| self.possible(value, &scope)),
                None => self.known_amount(expr, scope),
            },
            ExprKind::Cases(cases) => {
                let possible = |value| self.possible(value, scope).ok_or(Why::Otherwise);
                let ends = |values: &Vec<Amount>| {
                    let bases = || values.iter().map(|value| value.base.clone());
                    (bases().min(), bases().max())
                };
                self.by_cases(cases, scope, possible, |one, other| ends(one) == ends(other)).ok()
            }
            _ => self.known_amount(expr, scope),
        }
    }

    fn known_amount(&self, expr: &'n Expr, scope: &Scope<'n>) -> Option<Vec<Amount>> {
        match self.value(expr, scope).ok()? {
            Value::Amount(amount) => Some(vec![amount]),
            _ => None,
        }
    }
}

/// Whether every one lies below every other, or above.
fn apart(some: &[Amount], others: &[Amount]) -> bool {
    let all = |test: fn(&Ratio, &Ratio) -> bool| {
        some.iter().all(|one| others.iter().all(|other| test(&one.base, &other.base)))
    };
    all(|one, other| one < other) || all(|one, other| one > other)
}

fn number(number: u64) -> Amount {
    Amount::number(BigRational::from_integer(number.into()))
}
