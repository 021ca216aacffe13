//! Expressions as formulas: what must be so in a document in which an expression comes to yes, to no, or is open. A formula
//! may hold in more documents than that, and never in fewer.

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use super::formula::{Fact, Formula, Like, Over, States};
use super::relate::relate;
use super::set::Words;
use super::term::{Node, Sort, Term, Terms};
use super::values::{Alternative, Worth};
use crate::decide::Truth;
use crate::language::ast::{Case, Comparison, Logic, Quantifier, RangeForm, Timed, When};
use crate::language::ids::{LetId, ParameterId, TableId};
use crate::language::typed::{Expr, ExprKind, Program, VARIABLES};
use crate::quantity::Kind;
use crate::value::Value;

/// What the variables in sight stand for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Env {
    slots: [Option<Term>; VARIABLES],
    /// The instant at which logs are looked at.
    pub(super) instant: Option<Term>,
    /// How deep what is only compared as a whole is nested.
    pub(super) depth: usize,
}

impl Env {
    pub(super) fn slot(&self, slot: usize) -> Option<Term> {
        self.slots.get(slot).copied().flatten()
    }

    pub(super) fn set(&mut self, slot: usize, term: Term) {
        if let Some(known) = self.slots.get_mut(slot) {
            *known = Some(term);
        }
    }

    pub(super) fn with(mut self, slot: usize, term: Term) -> Env {
        self.set(slot, term);
        self
    }

    pub(super) fn without_variables(&self) -> Env {
        Env { slots: [None; VARIABLES], ..*self }
    }
}

/// What an expression is to come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Want {
    Yes,
    No,
    /// It is open, for whatever reason.
    Open,
    /// It is open, and something is not recorded.
    Unrecorded,
}

impl Want {
    pub(super) fn of(truth: bool) -> Want {
        if truth { Want::Yes } else { Want::No }
    }

    fn opposite(self) -> Want {
        match self {
            Want::Yes => Want::No,
            Want::No => Want::Yes,
            open => open,
        }
    }

    /// The truth that it is, where it is decided.
    fn decided(self) -> Option<bool> {
        match self {
            Want::Yes => Some(true),
            Want::No => Some(false),
            Want::Open | Want::Unrecorded => None,
        }
    }
}

/// How many parts of expressions are looked at for one question before all else counts as free.
const MOST_STEPS: u32 = 20_000;
/// The same for all questions of a run together.
const MOST_STEPS_IN_ALL: u64 = 3_000_000;

/// What was found of names, so that each is looked into once for the same variables.
#[derive(Debug, Default)]
pub(super) struct Named<'p> {
    pub(super) values: HashMap<(LetId, Env), Vec<Alternative<'p>>>,
    pub(super) terms: HashMap<(LetId, Env), Term>,
    pub(super) no_value: HashMap<(LetId, Env, Want), Formula<'p>>,
}

/// Makes formulas.
#[derive(Debug)]
pub(super) struct Encoder<'p> {
    pub(super) program: &'p Program,
    pub(super) terms: Terms,
    lets: HashMap<(LetId, Env, Want), Formula<'p>>,
    /// What names are worth, their terms, and when they have no value.
    pub(super) named: Named<'p>,
    /// What `and`, `or` and `implies` come to, by where they are.
    connected: HashMap<(usize, Env, Want), Formula<'p>>,
    steps: u32,
    in_all: u64,
    fresh: usize,
    /// Whether readings are decided as they are stated, and it is told apart which names look like which words. It takes
    /// more facts, and is needed where two sets of rules are held against each other.
    pub(super) exact: bool,
    /// Which parameters are one and the same, as those of two editions of a standard are.
    pub(super) twins: BTreeMap<ParameterId, ParameterId>,
}

impl<'p> Encoder<'p> {
    pub(super) fn new(program: &'p Program) -> Self {
        Encoder {
            program,
            terms: Terms::new(),
            lets: HashMap::new(),
            named: Named::default(),
            connected: HashMap::new(),
            steps: 0,
            in_all: 0,
            fresh: 0,
            exact: false,
            twins: BTreeMap::new(),
        }
    }

    /// Forgets what was found for other questions.
    pub(super) fn begin(&mut self) {
        self.steps = 0;
    }

    /// Counts a step; whether there are more.
    pub(super) fn step(&mut self) -> bool {
        self.steps += 1;
        self.in_all += 1;
        self.has_steps()
    }

    /// Whether what was found so far was looked at in full.
    pub(super) fn has_steps(&self) -> bool {
        self.steps < MOST_STEPS && self.in_all < MOST_STEPS_IN_ALL
    }

    /// A term of which nothing is known.
    pub(super) fn fresh(&mut self) -> Term {
        self.fresh += 1;
        self.terms.add(Node::Made("fresh", self.fresh.to_string(), Vec::new()), Sort::Other)
    }

    /// The rows of a table, in the order of their keys.
    pub(super) fn rows(&self, table: TableId) -> Vec<(&'p Vec<String>, &'p Value<'static>)> {
        let program: &'p Program = self.program;
        let mut rows: Vec<_> = program.tables()[table].rows.iter().collect();
        rows.sort_by_key(|(keys, _)| *keys);
        rows
    }

    /// What must be so for an expression to come to that.
    pub(super) fn truth(&mut self, expr: &'p Expr, env: &Env, want: Want) -> Formula<'p> {
        if !self.step() {
            return Formula::Always;
        }
        match &expr.kind {
            ExprKind::Constant(Value::Truth(truth)) => settled(want.decided() == Some(*truth)),
            ExprKind::Not(inner) => self.truth(inner, env, want.opposite()),
            ExprKind::Decided(_, inner) => self.truth(inner, env, want),
            ExprKind::Logic(..) => self.connected(expr, env, want),
            ExprKind::Let(id, entry) => {
                let inner = self.inside(*id, entry.as_deref(), env);
                let key = (*id, inner, want);
                if let Some(known) = self.lets.get(&key) {
                    return known.clone();
                }
                let program: &'p Program = self.program;
                let found = self.truth(&program.lets()[*id].value, &inner, want);
                if self.has_steps() {
                    self.lets.insert(key, found.clone());
                }
                found
            }
            ExprKind::Cases(cases) => self.cases(cases, env, want),
            ExprKind::Quantified { quantifier, slot, list, condition, body } => {
                let body = Quantified { slot: *slot, list, condition: condition.as_deref(), body };
                self.quantified(*quantifier, body, env, want)
            }
            ExprKind::Timed(timed) => self.timed(expr, timed, env, want),
            ExprKind::Recorded(path) => {
                let term = self.term(path, env);
                let states = match want {
                    Want::Yes => States::RECORDED,
                    Want::No => States::ABSENT,
                    Want::Open => States::DOUBTFUL,
                    Want::Unrecorded => return Formula::Never,
                };
                Formula::state(term, states)
            }
            _ => match want.decided() {
                Some(truth) => self.decided(expr, env, truth),
                None => self.open(expr, env, want),
            },
        }
    }

    /// What two sides come to together, remembered, because what is open asks for all that each can be.
    fn connected(&mut self, whole: &'p Expr, env: &Env, want: Want) -> Formula<'p> {
        let ExprKind::Logic(logic, left, right) = &whole.kind else { return Formula::Always };
        let key = (std::ptr::from_ref(whole) as usize, *env, want);
        if let Some(known) = self.connected.get(&key) {
            return known.clone();
        }
        let of_left = |want: Want| if *logic == Logic::Implies { want.opposite() } else { want };
        let found = match (want.decided(), *logic == Logic::And) {
            (Some(truth), is_and) => {
                let sides = [self.truth(left, env, of_left(want)), self.truth(right, env, want)];
                if truth == is_and { Formula::all(sides) } else { Formula::any(sides) }
            }
            (None, is_and) => {
                // The other side must not settle it.
                let leaves = Want::of(is_and);
                let beside = |inner: &mut Self, side, decided| {
                    let parts = [inner.truth(side, env, decided), inner.truth(side, env, Want::Open)];
                    Formula::any(parts)
                };
                let by_left = [self.truth(left, env, want), beside(self, right, leaves)];
                let by_right = [self.truth(right, env, want), beside(self, left, of_left(leaves))];
                Formula::any([Formula::all(by_left), Formula::all(by_right)])
            }
        };
        if self.has_steps() {
            self.connected.insert(key, found.clone());
        }
        found
    }

    fn cases(&mut self, cases: &'p [Case<Expr>], env: &Env, want: Want) -> Formula<'p> {
        let (mut found, mut before) = (Vec::new(), Formula::Always);
        for case in cases {
            let mut here = vec![before.clone(), self.truth(&case.value, env, want)];
            if let Some(condition) = &case.condition {
                here.push(self.perhaps(condition, env, true));
                let not_it = self.perhaps(condition, env, false);
                before = Formula::all([before, not_it]);
                if want.decided().is_none() {
                    found.push(self.truth(condition, env, want));
                }
            }
            found.push(Formula::all(here));
        }
        Formula::any(found)
    }

    fn quantified(
        &mut self,
        quantifier: Quantifier,
        body: Quantified<'p>,
        env: &Env,
        want: Want,
    ) -> Formula<'p> {
        let list = self.term(body.list, env);
        let is_there = match self.terms.is_path(list) {
            true => Formula::state(list, States::VALUE),
            false => Formula::Always,
        };
        let like = match (quantifier, want) {
            (Quantifier::Every, Want::Yes) => Like::Unless(Truth::Yes),
            (Quantifier::Every, Want::No) => Like::Counts(Truth::No),
            (Quantifier::Some, Want::Yes) | (Quantifier::No, Want::No) => Like::Counts(Truth::Yes),
            (Quantifier::Some, Want::No) | (Quantifier::No, Want::Yes) => Like::Unless(Truth::No),
            (_, Want::Open) => Like::Open { unrecorded: false },
            (_, Want::Unrecorded) => Like::Open { unrecorded: true },
        };
        let over = Over {
            list,
            slot: body.slot,
            instants: false,
            condition: body.condition,
            body: body.body,
            env: *env,
            like,
        };
        match like {
            Like::Unless(_) => Formula::all([is_there, Formula::Each(Rc::new(over))]),
            Like::Counts(_) | Like::Any => Formula::all([is_there, Formula::Some(Rc::new(over))]),
            Like::Open { unrecorded } => {
                let missing = if unrecorded { States::ABSENT } else { States::NO_VALUE };
                let no_list = match self.terms.is_path(list) {
                    true => Formula::state(list, missing),
                    false => Formula::Always,
                };
                Formula::any([no_list, Formula::all([is_there, Formula::Some(Rc::new(over))])])
            }
        }
    }

    /// A stretch of time is a list of instants, and one of them is always there.
    fn timed(&mut self, whole: &'p Expr, timed: &'p Timed<Expr>, env: &Env, want: Want) -> Formula<'p> {
        let Some(truth) = want.decided() else { return self.open(whole, env, want) };
        let ends = vec![self.term(&timed.from, env), self.term(&timed.to, env)];
        let list = self.terms.add(Node::Made("stretch", String::new(), ends), Sort::Other);
        let over = |like| {
            let (condition, body) = (None, &timed.body);
            Rc::new(Over { list, slot: 0, instants: true, condition, body, env: *env, like })
        };
        match (&timed.when, truth) {
            (When::Throughout, true) => {
                Formula::all([Formula::Some(over(Like::Any)), Formula::Each(over(Like::Unless(Truth::Yes)))])
            }
            (When::Throughout, false) => Formula::Some(over(Like::Counts(Truth::No))),
            (When::AtSomeMoment, false) => {
                Formula::all([Formula::Some(over(Like::Any)), Formula::Each(over(Like::Unless(Truth::No)))])
            }
            (When::AtSomeMoment, true) => Formula::Some(over(Like::Counts(Truth::Yes))),
            (When::HeldFor(_), true) => {
                Formula::all([Formula::Some(over(Like::Counts(Truth::Yes))), self.comes(whole, env, truth)])
            }
            (When::HeldFor(_) | When::Until(_), _) => self.comes(whole, env, truth),
        }
    }

    /// Something that is not looked into comes to a truth.
    fn comes(&mut self, expr: &'p Expr, env: &Env, truth: bool) -> Formula<'p> {
        let term = self.term(expr, env);
        Formula::is(Fact::Comes(term, Truth::from_bool(truth)))
    }

    /// What must be so for a comparison, or a value that is yes or no, to be decided like that.
    pub(super) fn decided(&mut self, expr: &'p Expr, env: &Env, truth: bool) -> Formula<'p> {
        let found = self.settled_as(expr, env, truth);
        match self.look_alikes(expr, env) {
            Some((looks, is_other)) if truth == is_other => {
                let none = looks.into_iter().map(|term| Formula::is(Fact::Comes(term, Truth::No)));
                Formula::all([found].into_iter().chain(none).collect::<Vec<_>>())
            }
            _ => found,
        }
    }

    pub(super) fn settled_as(&mut self, expr: &'p Expr, env: &Env, truth: bool) -> Formula<'p> {
        match &expr.kind {
            ExprKind::Compare(comparison, left, right) => self.compared(*comparison, left, right, env, truth),
            ExprKind::OneOf { value, negated, options } => {
                let wanted = truth != *negated;
                let each: Vec<_> = options
                    .iter()
                    .map(|option| self.compared(Comparison::Is, value, option, env, wanted))
                    .collect();
                if wanted { Formula::any(each) } else { Formula::all(each) }
            }
            ExprKind::InOrder(comparison, left, right) => {
                self.in_order(expr, *comparison, [left, right], env, truth)
            }
            ExprKind::Within(value, range) => self.within(expr, value, range, env, truth),
            _ => {
                let word = Words::truth(truth);
                let each: Vec<_> = self
                    .values(expr, env)
                    .into_iter()
                    .map(|value| match value.worth {
                        Worth::Known(Value::Truth(known)) if known == truth => value.when,
                        Worth::Term(term, _) => {
                            Formula::all([value.when, Formula::is(Fact::Words(term, word.clone()))])
                        }
                        Worth::Known(_) | Worth::Fault => Formula::Never,
                    })
                    .collect();
                Formula::any(each)
            }
        }
    }

    fn compared(
        &mut self,
        comparison: Comparison,
        left: &'p Expr,
        right: &'p Expr,
        env: &Env,
        truth: bool,
    ) -> Formula<'p> {
        let (lefts, rights) = (self.values(left, env), self.values(right, env));
        let mut found = Vec::new();
        for one in &lefts {
            for other in &rights {
                let both = relate(&mut self.terms, comparison, &one.worth, &other.worth, truth);
                let both = both.unwrap_or_else(|| self.atom(comparison, [left, right], env, truth));
                found.push(Formula::all([one.when.clone(), other.when.clone(), both]));
            }
        }
        Formula::any(found)
    }

    /// A comparison that is not looked into.
    fn atom(&mut self, comparison: Comparison, sides: [&'p Expr; 2], env: &Env, truth: bool) -> Formula<'p> {
        let sides = sides.into_iter().map(|side| self.term(side, env)).collect();
        let node = Node::Made("compare", format!("{comparison:?}"), sides);
        let term = self.terms.add(node, Sort::Other);
        Formula::is(Fact::Comes(term, Truth::from_bool(truth)))
    }

    fn in_order(
        &mut self,
        whole: &'p Expr,
        comparison: Comparison,
        sides: [&'p Expr; 2],
        env: &Env,
        truth: bool,
    ) -> Formula<'p> {
        let mut places = Vec::new();
        for side in sides {
            let ExprKind::Field { base, .. } = &side.kind else { return self.comes(whole, env, truth) };
            let entry = self.term(base, env);
            let place = Node::Made("rank", String::new(), vec![entry]);
            places.push(Worth::place(self.terms.add(place, Sort::computed(Kind::NUMBER))));
        }
        let [left, right] = places.as_slice() else { return Formula::Always };
        let comparison = match comparison {
            Comparison::After => Comparison::Above,
            _ => Comparison::Below,
        };
        relate(&mut self.terms, comparison, left, right, truth).unwrap_or(Formula::Always)
    }

    fn within(
        &mut self,
        whole: &'p Expr,
        value: &'p Expr,
        range: &'p Expr,
        env: &Env,
        truth: bool,
    ) -> Formula<'p> {
        if let ExprKind::Range(form) = &range.kind
            && let Some(found) = self.within_ends(value, form, env, truth)
        {
            return found;
        }
        let (values, ranges) = (self.values(value, env), self.values(range, env));
        let mut found = Vec::new();
        for one in &values {
            for other in &ranges {
                let both = relate(&mut self.terms, Comparison::Is, &one.worth, &other.worth, truth);
                let both = both.unwrap_or_else(|| self.comes(whole, env, truth));
                found.push(Formula::all([one.when.clone(), other.when.clone(), both]));
            }
        }
        Formula::any(found)
    }

    /// The same where the range is written out.
    fn within_ends(
        &mut self,
        value: &'p Expr,
        form: &'p RangeForm<Expr>,
        env: &Env,
        truth: bool,
    ) -> Option<Formula<'p>> {
        let ends = match form {
            RangeForm::Between(low, high) => vec![(Comparison::AtLeast, low), (Comparison::AtMost, high)],
            RangeForm::AtLeast(low) => vec![(Comparison::AtLeast, low)],
            RangeForm::AtMost(high) => vec![(Comparison::AtMost, high)],
            RangeForm::Above(low) => vec![(Comparison::Above, low)],
            RangeForm::Below(high) => vec![(Comparison::Below, high)],
            RangeForm::PlusMinus(..) | RangeForm::PlusAndMinus(..) => return None,
        };
        let each: Vec<_> = ends
            .into_iter()
            .map(|(comparison, end)| self.compared(comparison, value, end, env, truth))
            .collect();
        Some(if truth { Formula::all(each) } else { Formula::any(each) })
    }

    /// What one entry must be like.
    pub(super) fn instance(&mut self, over: &Over<'p>, entry: Term) -> Formula<'p> {
        let env = match over.instants {
            true => Env { instant: Some(entry), ..over.env },
            false => over.env.with(over.slot, entry),
        };
        let truth_of = |truth: Truth| Want::of(truth == Truth::Yes);
        let body = over.body;
        match (over.like, over.condition) {
            (Like::Any, _) => Formula::Always,
            (Like::Counts(truth), None) | (Like::Unless(truth), None) => {
                self.truth(body, &env, truth_of(truth))
            }
            (Like::Counts(truth), Some(condition)) => {
                let counts = self.truth(condition, &env, Want::Yes);
                Formula::all([counts, self.truth(body, &env, truth_of(truth))])
            }
            (Like::Unless(truth), Some(condition)) => {
                let passed_over = self.truth(condition, &env, Want::No);
                Formula::any([passed_over, self.truth(body, &env, truth_of(truth))])
            }
            (Like::Open { unrecorded }, condition) => {
                let want = if unrecorded { Want::Unrecorded } else { Want::Open };
                let of_body = self.truth(body, &env, want);
                let of_condition =
                    condition.map_or(Formula::Never, |condition| self.truth(condition, &env, want));
                Formula::any([of_condition, of_body])
            }
        }
    }
}

/// What is said of each entry of a list.
struct Quantified<'p> {
    slot: usize,
    list: &'p Expr,
    condition: Option<&'p Expr>,
    body: &'p Expr,
}

pub(super) fn settled<'p>(holds: bool) -> Formula<'p> {
    if holds { Formula::Always } else { Formula::Never }
}
