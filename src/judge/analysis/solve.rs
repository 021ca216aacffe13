//! Whether a document can have all of what must be so. What takes too long counts as possible.

use std::rc::Rc;

use super::encode::Encoder;
use super::formula::{Fact, Formula, Over};
use super::store::Store;
use super::term::{Node, Sort, Term};

/// What a search came to.
#[derive(Debug)]
pub(super) enum Found {
    /// No document has all of it.
    Nothing,
    /// Facts that fit together, and the entries of lists that they speak of.
    Solution(Box<Solution>),
    /// Nobody knows: it took too long.
    Unclear,
}

/// Facts that fit together.
#[derive(Clone, Debug, Default)]
pub(super) struct Solution {
    pub(super) store: Store,
    /// Lists, and entries in them.
    pub(super) entries: Vec<(Term, Term)>,
    /// What must be so of each entry of a list.
    each: Vec<Formulas>,
    made: u32,
}

#[derive(Clone, Debug)]
struct Formulas {
    list: Term,
    number: usize,
}

/// How many steps one search may take.
const MOST_STEPS: u32 = 4_000;
/// How much work all searches of a run may do together: a step, a part of a choice that is looked at, or a fact that is kept
/// while one of several is tried.
const MOST_WORK: u64 = 10_000_000;
/// What it costs to begin a search.
const BEGINNING: u64 = 20;
/// How many choices may depend on each other.
const MOST_DEPTH: u32 = 200;
/// How many entries of lists are made up.
const MOST_ENTRIES: u32 = 12;

/// Looks for documents.
#[derive(Debug)]
pub(super) struct Solver<'p> {
    pub(super) encoder: Encoder<'p>,
    steps: u32,
    work: u64,
    over: Vec<Rc<Over<'p>>>,
    /// How many choices are made at the moment.
    depth: u32,
}

impl<'p> Solver<'p> {
    pub(super) fn new(encoder: Encoder<'p>) -> Self {
        Solver { encoder, steps: 0, work: 0, over: Vec::new(), depth: 0 }
    }

    /// Whether no document has all of this, with these entries in these lists.
    pub(super) fn never(&mut self, entries: &[(Term, Term)], wanted: &[Formula<'p>]) -> bool {
        matches!(self.find(entries, wanted), Found::Nothing)
    }

    /// Facts that have all of this.
    pub(super) fn find(&mut self, entries: &[(Term, Term)], wanted: &[Formula<'p>]) -> Found {
        if self.is_exhausted() {
            return Found::Unclear;
        }
        self.work += BEGINNING + wanted.len() as u64;
        self.steps = 0;
        self.encoder.begin();
        self.over.clear();
        let begun = Solution { entries: entries.to_vec(), ..Solution::default() };
        self.search(begun, wanted.to_vec(), Vec::new())
    }

    /// Counts work that is done beside the searches; whether there is any left.
    pub(super) fn spend(&mut self, work: usize) -> bool {
        self.work = self.work.saturating_add(work as u64);
        !self.is_exhausted()
    }

    /// Whether the searches of the run have done all the work that they may.
    pub(super) fn is_exhausted(&self) -> bool {
        self.work >= MOST_WORK
    }

    fn step(&mut self) -> bool {
        self.steps += 1;
        self.work += 1;
        self.may_go_on()
    }

    fn may_go_on(&self) -> bool {
        self.steps < MOST_STEPS && !self.is_exhausted()
    }

    fn search(
        &mut self,
        mut here: Solution,
        mut wanted: Vec<Formula<'p>>,
        mut choices: Vec<Rc<[Formula<'p>]>>,
    ) -> Found {
        loop {
            if !self.gather(&mut here, &mut wanted, &mut choices) {
                return if self.may_go_on() { Found::Nothing } else { Found::Unclear };
            }
            match self.narrowed(&here, &mut choices) {
                Narrowed::Never => return Found::Nothing,
                Narrowed::Certain(next) => wanted.push(next),
                Narrowed::Open => break,
            }
        }
        if !self.may_go_on() || self.depth >= MOST_DEPTH {
            return Found::Unclear;
        }
        let shortest = choices.iter().enumerate().min_by_key(|(_, parts)| parts.len()).map(|(at, _)| at);
        let Some(at) = shortest else {
            return match here.store.distances_fit() {
                true => Found::Solution(Box::new(here)),
                false => Found::Nothing,
            };
        };
        let choice = choices.swap_remove(at);
        let mut unclear = false;
        for part in &*choice {
            self.depth += 1;
            self.work += here.store.len() + choices.len() as u64;
            let found = self.search(here.clone(), vec![part.clone()], choices.clone());
            self.depth -= 1;
            match found {
                Found::Nothing => {}
                Found::Unclear => {
                    unclear = true;
                    if !self.may_go_on() {
                        break;
                    }
                }
                found @ Found::Solution(_) => return found,
            }
        }
        if unclear { Found::Unclear } else { Found::Nothing }
    }

    /// Takes in all that is certain; whether it fits together.
    fn gather(
        &mut self,
        here: &mut Solution,
        wanted: &mut Vec<Formula<'p>>,
        choices: &mut Vec<Rc<[Formula<'p>]>>,
    ) -> bool {
        while let Some(next) = wanted.pop() {
            if !self.step() {
                return false;
            }
            match next {
                Formula::Always => {}
                Formula::Never => return false,
                Formula::Is(fact) => {
                    if !here.store.add(&fact, &self.encoder.terms) {
                        return false;
                    }
                }
                Formula::All(parts) => wanted.extend(parts.iter().cloned()),
                Formula::Any(parts) => choices.push(parts),
                Formula::Each(over) => {
                    let (list, number) = (over.list, self.over.len());
                    self.over.push(Rc::clone(&over));
                    here.each.push(Formulas { list, number });
                    let entries: Vec<Term> =
                        here.entries.iter().filter(|(of, _)| *of == list).map(|(_, entry)| *entry).collect();
                    wanted.extend(entries.into_iter().map(|entry| self.encoder.instance(&over, entry)));
                }
                Formula::Some(over) => {
                    if here.made >= MOST_ENTRIES {
                        continue;
                    }
                    here.made += 1;
                    let node = Node::Entry(over.list, 1_000 + here.made);
                    let entry = self.encoder.terms.add(node, Sort::Group);
                    here.entries.push((over.list, entry));
                    wanted.push(self.encoder.instance(&over, entry));
                    let each: Vec<usize> = here
                        .each
                        .iter()
                        .filter(|each| each.list == over.list)
                        .map(|each| each.number)
                        .collect();
                    for number in each {
                        if let Some(over) = self.over.get(number).cloned() {
                            wanted.push(self.encoder.instance(&over, entry));
                        }
                    }
                }
            }
        }
        true
    }

    /// Drops from each choice what cannot be any more.
    fn narrowed(&mut self, here: &Solution, choices: &mut Vec<Rc<[Formula<'p>]>>) -> Narrowed<'p> {
        let terms = &self.encoder.terms;
        let mut at = 0;
        while let Some(choice) = choices.get(at) {
            self.work += choice.len() as u64;
            let can = |part: &&Formula<'p>| can_be(part, here, terms);
            let live: Vec<&Formula<'p>> = choice.iter().filter(can).collect();
            match live.as_slice() {
                [] => return Narrowed::Never,
                [only] => {
                    let only = (*only).clone();
                    choices.swap_remove(at);
                    return Narrowed::Certain(only);
                }
                live if live.len() < choice.len() => {
                    let live: Rc<[Formula<'p>]> = live.iter().map(|part| (*part).clone()).collect();
                    if let Some(choice) = choices.get_mut(at) {
                        *choice = live;
                    }
                }
                _ => {}
            }
            at += 1;
        }
        Narrowed::Open
    }
}

enum Narrowed<'p> {
    Never,
    Certain(Formula<'p>),
    Open,
}

fn can_be(part: &Formula<'_>, here: &Solution, terms: &super::term::Terms) -> bool {
    let allows = |fact: &Rc<Fact>| here.store.allows(fact, terms);
    match part {
        Formula::Never => false,
        Formula::Is(fact) => allows(fact),
        Formula::All(parts) => parts.iter().all(|part| match part {
            Formula::Is(fact) => allows(fact),
            Formula::Never => false,
            _ => true,
        }),
        _ => true,
    }
}
