//! The naive evaluator of rules: which subjects they have, and what each demand comes to.

use std::collections::BTreeSet;

use serde_yaml::Value as Yaml;

use witnessmark::language::ast::{Count, Each, Expr, File, Group, Item, Rule, Severity, Unrecorded};

use super::evaluate::{Naive, Scope};
use super::fields::Field;
use super::judged::{COUNTED, DEMANDED};
use super::lookup::Place;
use super::mutation::Mutation;
use super::program::Stated;
use super::value::{Margin, Told, Truth, Value, Why};

/// What a demand on a subject came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    Met,
    Broken,
    Undecided,
    NotConcerned,
}

/// One outcome of a rule.
#[derive(Clone, Debug)]
pub struct Judgement {
    pub rule: String,
    pub subject: String,
    /// Where the demand, or the condition of a subject, begins in the rule file; nothing for a count.
    pub demand: Option<u32>,
    pub outcome: Outcome,
    pub margin: Option<Margin>,
    /// Whether the margin must agree exactly.
    pub exact: bool,
    /// How severe it is, and whether it counts now.
    pub weight: (Severity, Weight),
}

/// Whether a finding counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    Counts,
    StillToDo,
    Passed,
}

/// What a whole program says of a record: whether its standard applies, and every outcome.
pub struct Judged {
    pub applies: Truth,
    pub judgements: Vec<Judgement>,
    /// How many of the values that some rule must judge a demand looks at.
    pub values: u64,
}

impl Judged {
    /// The numbers of met, broken, undecided and not concerned outcomes of a rule.
    pub fn tally(&self, rule: &str) -> [u64; 4] {
        let mut tally = [0; 4];
        for judgement in self.judgements.iter().filter(|judgement| judgement.rule == rule) {
            tally[judgement.outcome as usize] += 1;
        }
        tally
    }
}

/// Judges a record by every rule of a file.
pub fn judge(
    file: &File,
    text: &str,
    givens: &[Stated],
    record: &Yaml,
    mutation: Option<Mutation>,
) -> Judged {
    let naive = Naive { file, text, givens, record, lets: &[], mutation };
    let condition = file.items.iter().find_map(|item| match item {
        Item::Standard(standard) => standard.condition.as_ref(),
        _ => None,
    });
    let applies = condition.map_or(Truth::Yes, |condition| naive.truth(condition, &Vec::new()).truth);
    let (mut judgements, mut seen) = (Vec::new(), BTreeSet::new());
    if applies == Truth::Yes {
        for item in &file.items {
            if let Item::Rule(rule) = item {
                let naive = Naive { lets: &rule.lets, ..naive };
                Judging { naive: &naive, rule, judgements: &mut judgements, seen: &mut seen }.rule();
            }
        }
    }
    Judged { applies, judgements, values: naive.judged(&seen) }
}

/// More entries than any number that a rule here asks for.
const MANY: u32 = 1_000;

/// Entries that belong together.
struct GroupOf<'n> {
    keys: Vec<Option<Value>>,
    entries: Vec<(usize, &'n Yaml)>,
    /// What leaves open which entries it has.
    open: Option<(&'n Expr, Why)>,
}

struct Judging<'n, 'j> {
    naive: &'n Naive<'n>,
    rule: &'n Rule,
    judgements: &'j mut Vec<Judgement>,
    /// The paths of what demands look at.
    seen: &'j mut BTreeSet<String>,
}

impl<'n> Judging<'n, '_> {
    fn rule(&mut self) {
        let scope = Scope::new();
        let clause = self.rule.from.as_ref().or(self.rule.until.as_ref());
        let begin = clause.map(|clause| clause.span.start);
        match self.counts() {
            Truth::Yes => self.whole(),
            Truth::No => self.say(&scope, Outcome::NotConcerned, begin, None),
            Truth::Unknown => {
                let inside = self.with_own_scope(Self::whole);
                // Whether a rule counts at all is never let pass.
                self.perhaps(&scope, inside, begin, Some(Why::Otherwise));
            }
        }
    }

    /// Whether the rule counts for the job, by the day in UTC on which it was opened.
    fn counts(&self) -> Truth {
        let (rule, naive) = (self.rule, self.naive);
        if rule.from.is_none() && rule.until.is_none() || naive.is(Mutation::PeriodIsForgotten) {
            return Truth::Yes;
        }
        let day = |seconds: i64| seconds.div_euclid(86_400);
        let opened = naive.record.get("job").and_then(|job| job.get("opened"));
        let Some(Value::Moment(opened)) = opened.and_then(|node| naive.scalar(node, Field::Moment)) else {
            return Truth::Unknown;
        };
        let limit = |date: jiff::civil::Date| day(naive.moment(&format!("{date}T00:00:00Z")).expect("a day"));
        let begun = rule.from.as_ref().is_none_or(|from| day(opened) >= limit(from.node));
        let last = i64::from(naive.is(Mutation::LastDayIsLeftOut));
        let ended = rule.until.as_ref().is_some_and(|until| day(opened) > limit(until.node) - last);
        Truth::of(begun && !ended)
    }

    fn whole(&mut self) {
        let scope = Scope::new();
        match &self.rule.concerns {
            None => self.demands(&scope),
            Some(concerns) if concerns.subjects.is_empty() => {
                let condition = concerns.condition.as_ref();
                let told = condition.map_or(Told::of(true), |c| self.naive.truth(c, &scope).told());
                let mut truth = told.truth;
                if truth == Truth::Unknown && self.naive.is(Mutation::WholeDocumentUnknownIsNotConcerned) {
                    truth = Truth::No;
                }
                match truth {
                    Truth::Yes => self.demands(&scope),
                    Truth::No => self.say(&scope, Outcome::NotConcerned, start(condition), None),
                    Truth::Unknown => {
                        let inside = self.with_own_scope(|inner| inner.demands(&scope));
                        self.perhaps(&scope, inside, start(condition), told.why);
                    }
                }
            }
            Some(concerns) => self.subjects(&concerns.subjects, &scope),
        }
    }

    fn subjects(&mut self, subjects: &'n [Each], scope: &Scope<'n>) {
        let Some((each, inner)) = subjects.split_first() else {
            self.demands(scope);
            return;
        };
        let (place, list) = self.naive.list(&each.list, scope);
        let (mut sure, mut perhaps, mut open) = (0, 0, list.as_ref().err().copied().max(place.rest));
        let is_open = list.is_err() || place.rest.is_some();
        let unrecorded = is_open && !self.naive.is(Mutation::UnrecordedListHasNothing);
        if let Some(group) = &each.group {
            let of_groups;
            (sure, perhaps, of_groups) = match list {
                Ok(list) => self.groups((each, group), inner, (place, list), scope),
                Err(why) => (0, 0, Some(why)),
            };
            open = open.max(of_groups);
            return self.number(each, scope, (sure, perhaps, unrecorded), open);
        }
        for (number, element) in list.unwrap_or_default() {
            let mut scope = scope.clone();
            scope.push(place.element(&each.variable.node, number, element));
            let condition = each.condition.as_ref();
            let told = condition.map_or(Told::of(true), |c| self.naive.truth(c, &scope).told());
            let mut truth = told.truth;
            if truth == Truth::Unknown && self.naive.is(Mutation::WhereUnknownIsNotConcerned) {
                truth = Truth::No;
            }
            if truth == Truth::Unknown && self.naive.is(Mutation::WhereUnknownIsConcerned) {
                truth = Truth::Yes;
            }
            match truth {
                Truth::Yes => {
                    sure += 1;
                    self.subjects(inner, &scope);
                }
                Truth::No => self.say(&scope, Outcome::NotConcerned, start(condition), None),
                Truth::Unknown => {
                    perhaps += 1;
                    open = open.max(told.why);
                    let inside = self.with_own_scope(|inner_self| inner_self.subjects(inner, &scope));
                    let met = self.perhaps(&scope, inside, start(condition), told.why);
                    if met && self.naive.is(Mutation::DoubtfulAndMetIsASubject) {
                        perhaps -= 1;
                        sure += 1;
                    }
                }
            }
        }
        self.number(each, scope, (sure, perhaps, unrecorded), open);
    }

    /// The groups of a list, by the book: entries with the same values belong together, those without a value too.
    /// Answers how many there are for sure and perhaps.
    fn groups(
        &mut self,
        (each, group): (&'n Each, &'n Group),
        inner: &'n [Each],
        (place, list): (Place<'n>, Vec<(usize, &'n Yaml)>),
        scope: &Scope<'n>,
    ) -> (u32, u32, Option<Why>) {
        let mut groups: Vec<GroupOf<'n>> = Vec::new();
        let mut any: Option<(&'n Expr, Why)> = None;
        for (number, element) in list {
            let mut own = scope.clone();
            own.push(place.element(&each.variable.node, number, element));
            let condition = each.condition.as_ref();
            let told = condition.map_or(Told::of(true), |condition| self.naive.truth(condition, &own).told());
            if told.truth == Truth::No {
                self.say(&own, Outcome::NotConcerned, start(condition), None);
                continue;
            }
            let mut open = condition.zip(told.why);
            let mut keys = Vec::new();
            for key in &group.keys {
                keys.push(match self.naive.value(key, &own) {
                    Ok(value) => Some(value),
                    Err(Why::Unrecorded) => None,
                    Err(why) => {
                        open = Some((key, why));
                        any = any.or(open);
                        None
                    }
                });
            }
            if self.naive.is(Mutation::GroupsForgetTheLastKey) {
                keys.pop();
            }
            let same = |other: &Vec<Option<Value>>| {
                keys.iter().zip(other).all(|(one, other)| match (one, other) {
                    (Some(one), Some(other)) => one.equals(other),
                    (one, other) => one.is_none() && other.is_none(),
                })
            };
            match groups.iter_mut().find(|group| same(&group.keys)) {
                Some(group) => {
                    group.entries.push((number, element));
                    group.open = group.open.or(open);
                }
                None => groups.push(GroupOf { keys, entries: vec![(number, element)], open }),
            }
        }
        let (mut sure, mut perhaps, mut why) = (0, 0, None);
        for GroupOf { entries, open, .. } in groups {
            let (number, first) = entries[0];
            let mut variable = place.element(&group.name.node, number, first);
            variable.entries = Some((Box::new(place.clone()), entries));
            let mut own = scope.clone();
            own.push(variable);
            match open.or(any).filter(|_| !self.naive.is(Mutation::OpenGroupIsJudged)) {
                None => {
                    sure += 1;
                    self.subjects(inner, &own);
                }
                Some((asked, open)) => {
                    perhaps += 1;
                    why = why.max(Some(open));
                    self.say(&own, Outcome::Undecided, start(Some(asked)), Some(open));
                }
            }
        }
        (sure, perhaps, why)
    }

    /// What is said of the number of subjects.
    fn number(
        &mut self,
        each: &'n Each,
        scope: &Scope<'n>,
        (mut sure, mut perhaps, unrecorded): (u32, u32, bool),
        open: Option<Why>,
    ) {
        if unrecorded {
            perhaps = MANY;
        }
        if self.naive.is(Mutation::CountForgetsPerhaps) {
            perhaps = 0;
        }
        if self.naive.is(Mutation::CountAddsPerhaps) {
            sure += std::mem::take(&mut perhaps);
        }
        if let (Some(_), Some(condition)) = (&each.count, &each.condition) {
            let (place, list) = self.naive.list(&each.list, scope);
            for (number, element) in list.unwrap_or_default() {
                let mut own = scope.clone();
                own.push(place.element(&each.variable.node, number, element));
                self.naive.looks_at(condition, &own, COUNTED, self.seen);
            }
        }
        if let Some(count) = &each.count {
            if self.naive.is(Mutation::CountOncePerRule) && !scope.is_empty() {
                return;
            }
            match self.counted(count.node, sure, perhaps) {
                Outcome::Met if !self.naive.is(Mutation::CountMetIsTallied) => {}
                outcome => self.say(scope, outcome, None, open),
            }
        }
    }

    /// What is said inside, kept apart from the rest.
    fn with_own_scope(&mut self, inside: impl FnOnce(&mut Self)) -> Vec<Judgement> {
        let outside = std::mem::take(self.judgements);
        inside(self);
        std::mem::replace(self.judgements, outside)
    }

    /// What is left of what would be said of a subject, where the rule only perhaps concerns it: what is met
    /// is met either way, anything else is open. Answers whether nothing is.
    fn perhaps(
        &mut self,
        scope: &Scope<'n>,
        inside: Vec<Judgement>,
        condition: Option<u32>,
        why: Option<Why>,
    ) -> bool {
        let harmless = [Outcome::Met, Outcome::NotConcerned];
        let met = inside.iter().all(|judgement| harmless.contains(&judgement.outcome));
        if self.naive.is(Mutation::DoubtfulIsUndecidedEvenIfMet) {
            self.say(scope, Outcome::Undecided, condition, why);
            return met;
        }
        if self.naive.is(Mutation::DoubtfulAndBrokenIsBroken) {
            self.judgements.extend(inside);
            return met;
        }
        self.judgements.extend(inside.into_iter().filter(|judgement| judgement.outcome == Outcome::Met));
        if !met && !self.naive.is(Mutation::DoubtfulIsLetPass) {
            self.say(scope, Outcome::Undecided, condition, why);
        }
        met
    }

    fn counted(&self, count: Count, sure: u32, perhaps: u32) -> Outcome {
        let satisfied = |number: u32| match count {
            Count::AtLeast(wanted) => number >= wanted,
            Count::AtMost(wanted) => number <= wanted,
            Count::Exactly(wanted) => number == wanted,
        };
        let more_wanted = match count {
            Count::AtLeast(wanted) | Count::Exactly(wanted) => wanted > sure + perhaps,
            Count::AtMost(_) => false,
        };
        let in_work = self.in_work() && !self.naive.is(Mutation::CountOfAJobInWorkIsBroken);
        if satisfied(sure) && satisfied(sure + perhaps) {
            Outcome::Met
        } else if (sure..=sure + perhaps).any(satisfied) || in_work && more_wanted {
            Outcome::Undecided
        } else {
            Outcome::Broken
        }
    }

    fn demands(&mut self, scope: &Scope<'n>) {
        for demand in &self.rule.demands {
            self.naive.looks_at(demand, scope, DEMANDED, self.seen);
            let verdict = self.naive.truth(demand, scope);
            let outcome = match verdict.truth {
                Truth::Yes => Outcome::Met,
                Truth::No => Outcome::Broken,
                Truth::Unknown => Outcome::Undecided,
            };
            self.judgements.push(Judgement {
                rule: self.rule.name.node.clone(),
                subject: subject(scope),
                demand: Some(demand.span.start),
                outcome,
                margin: verdict.margin,
                exact: verdict.exact,
                weight: self.weight(outcome, verdict.why),
            });
        }
    }

    /// Whether the job is still in work; one with the time at which it was closed is not.
    fn in_work(&self) -> bool {
        let job = &self.naive.record["job"];
        let closed = match &job["closed"] {
            Yaml::Null => false,
            Yaml::String(text) => !text.trim().is_empty(),
            _ => true,
        };
        job["state"] == "in work" && !closed
    }

    /// How severe an outcome is, and whether it counts.
    fn weight(&self, outcome: Outcome, why: Option<Why>) -> (Severity, Weight) {
        let severity =
            self.rule.otherwise.as_ref().map_or(Severity::Hold, |otherwise| otherwise.severity.node);
        if outcome != Outcome::Undecided {
            return (severity, Weight::Counts);
        }
        if self.in_work() {
            return (severity, Weight::StillToDo);
        }
        let passes = match why {
            Some(Why::Otherwise) => self.naive.is(Mutation::EverythingUndecidedPasses),
            _ => !self.naive.is(Mutation::NothingPasses),
        };
        match self.rule.if_unrecorded.as_ref().map(|clause| clause.node) {
            Some(Unrecorded::As(severity)) => (severity, Weight::Counts),
            Some(Unrecorded::Pass) if passes => (Severity::Note, Weight::Passed),
            _ => (severity, Weight::Counts),
        }
    }

    fn say(&mut self, scope: &Scope<'n>, outcome: Outcome, of: Option<u32>, why: Option<Why>) {
        if outcome == Outcome::NotConcerned && self.naive.is(Mutation::NotConcernedIsSilent) {
            return;
        }
        self.judgements.push(Judgement {
            rule: self.rule.name.node.clone(),
            subject: subject(scope),
            demand: of,
            outcome,
            margin: None,
            exact: of.is_none(),
            weight: self.weight(outcome, why),
        });
    }
}

/// Where a condition begins.
fn start(condition: Option<&Expr>) -> Option<u32> {
    condition.map(|condition| condition.span.start)
}

fn subject(scope: &Scope<'_>) -> String {
    scope.last().map_or_else(String::new, |variable| variable.path.clone())
}
