//! Facts that must be so together, each value with what it can still be.

use std::collections::BTreeMap;

use super::formula::{Fact, States};
use super::set::{Numbers, Words};
use super::term::{Sort, Term, Terms};
use crate::decide::Truth;
use crate::quantity::Number;

/// What is known of a value.
#[derive(Clone, Debug)]
pub(super) struct Known {
    pub(super) states: States,
    pub(super) words: Words,
    pub(super) numbers: Numbers,
}

impl Known {
    fn of(sort: &Sort) -> Known {
        let (mut words, mut numbers) = (Words::all(), Numbers::all());
        match sort {
            Sort::Words(known) => words = known.clone(),
            Sort::Number { numbers: known, .. } => numbers = known.clone(),
            Sort::Time { .. } | Sort::Group | Sort::List | Sort::Other => {}
        }
        Known { states: States::ALL, words, numbers }
    }
}

/// Of two values, how far the first may lie above the second.
#[derive(Clone, Debug)]
pub(super) struct Apart {
    pub(super) high: Term,
    pub(super) low: Term,
    pub(super) most: Number,
    pub(super) below: bool,
}

/// Facts that can be so together, as far as is known.
#[derive(Clone, Debug, Default)]
pub(super) struct Store {
    known: BTreeMap<Term, Known>,
    comes: BTreeMap<Term, Truth>,
    same: Vec<(Term, Term, bool)>,
    apart: Vec<Apart>,
}

impl Store {
    /// How many facts it holds.
    pub(super) fn len(&self) -> u64 {
        (self.known.len() + self.comes.len() + self.same.len() + self.apart.len()) as u64
    }

    /// Adds a fact; whether it can be so beside the others.
    pub(super) fn add(&mut self, fact: &Fact, terms: &Terms) -> bool {
        match fact {
            Fact::State(term, states) => self.narrow(*term, *states, terms),
            Fact::Words(term, words) => {
                let fits = self.narrow(*term, States::VALUE, terms);
                let known = self.at(*term, terms);
                known.words = known.words.and(words);
                fits && !known.words.is_empty() && self.agree(terms)
            }
            Fact::Numbers(term, numbers) => {
                let fits = self.narrow(*term, States::VALUE, terms);
                let whole = matches!(terms.sort(*term), Sort::Number { whole: true, .. });
                let known = self.at(*term, terms);
                known.numbers = known.numbers.and(numbers);
                if whole {
                    known.numbers = known.numbers.whole();
                }
                fits && !known.numbers.is_empty()
            }
            Fact::Comes(term, truth) => *self.comes.entry(*term).or_insert(*truth) == *truth,
            Fact::Same(one, other, same) => {
                let fits =
                    self.narrow(*one, States::VALUE, terms) && self.narrow(*other, States::VALUE, terms);
                self.at(*one, terms);
                self.at(*other, terms);
                self.same.push((*one, *other, *same));
                fits && self.agree(terms)
            }
            Fact::Apart { high, low, most, below } => {
                let mut fits = true;
                for term in [high, low] {
                    fits &= self.narrow(*term, States::VALUE, terms);
                    self.at(*term, terms);
                }
                self.apart.push(Apart { high: *high, low: *low, most: most.clone(), below: *below });
                fits && self.distances_fit()
            }
        }
    }

    /// Whether a fact can be so beside the others.
    pub(super) fn allows(&self, fact: &Fact, terms: &Terms) -> bool {
        match fact {
            Fact::State(term, states) => self.known.get(term).is_none_or(|known| known.states.has(*states)),
            Fact::Words(term, words) => match self.known.get(term) {
                Some(known) => known.states.has(States::VALUE) && !known.words.and(words).is_empty(),
                None => match terms.sort(*term) {
                    Sort::Words(all) => !all.and(words).is_empty(),
                    _ => true,
                },
            },
            Fact::Numbers(term, numbers) => match self.known.get(term) {
                Some(known) => known.states.has(States::VALUE) && !known.numbers.and(numbers).is_empty(),
                None => match terms.sort(*term) {
                    Sort::Number { numbers: all, .. } => !all.and(numbers).is_empty(),
                    _ => true,
                },
            },
            Fact::Comes(term, truth) => self.comes.get(term).is_none_or(|known| known == truth),
            Fact::Same(one, other, _) | Fact::Apart { high: one, low: other, .. } => [one, other]
                .into_iter()
                .all(|term| self.known.get(term).is_none_or(|known| known.states.has(States::VALUE))),
        }
    }

    /// What is known of a value.
    pub(super) fn known(&self) -> impl Iterator<Item = (Term, &Known)> {
        self.known.iter().map(|(term, known)| (*term, known))
    }

    /// Whether only known values are compared, and nothing that is not looked into.
    pub(super) fn is_plain(&self) -> bool {
        self.comes.is_empty()
    }

    /// How far values may lie above others.
    pub(super) fn apart(&self) -> impl Iterator<Item = &Apart> {
        self.apart.iter()
    }

    /// Pairs of texts that must be the same, or must not.
    pub(super) fn alike(&self) -> impl Iterator<Item = (Term, Term, bool)> {
        self.same.iter().copied()
    }

    fn at(&mut self, term: Term, terms: &Terms) -> &mut Known {
        self.known.entry(term).or_insert_with(|| Known::of(terms.sort(term)))
    }

    /// Narrows what became of a value, and of the groups around it and the fields in it.
    fn narrow(&mut self, term: Term, states: States, terms: &Terms) -> bool {
        let known = self.at(term, terms);
        let narrowed = known.states.and(states);
        if narrowed == known.states {
            return !narrowed.is_none();
        }
        known.states = narrowed;
        if narrowed.is_none() {
            return false;
        }
        if let Some(parent) = terms.parent(term)
            && !self.narrow(parent, around(narrowed), terms)
        {
            return false;
        }
        let inside: Vec<Term> =
            self.known.keys().copied().filter(|field| terms.parent(*field) == Some(term)).collect();
        let own = self.at(term, terms).states;
        if !inside.into_iter().all(|field| self.narrow(field, fields_of(own), terms)) {
            return false;
        }
        // A group that is known already says what its fields can be.
        match terms.parent(term) {
            Some(parent) => {
                let around = self.at(parent, terms).states;
                self.narrow(term, fields_of(around), terms)
            }
            None => true,
        }
    }

    /// Values that are the same are what both can be.
    fn agree(&mut self, terms: &Terms) -> bool {
        for _ in 0..=self.same.len() {
            let before: Vec<Words> = self.known.values().map(|known| known.words.clone()).collect();
            for (one, other, same) in self.same.clone() {
                let (a, b) = (self.at(one, terms).words.clone(), self.at(other, terms).words.clone());
                if same {
                    let both = a.and(&b);
                    if both.is_empty() {
                        return false;
                    }
                    self.at(one, terms).words = both.clone();
                    self.at(other, terms).words = both;
                } else if one == other {
                    return false;
                } else if let Some(word) = b.only() {
                    self.at(one, terms).words = a.and(&Words::of([word.clone()]).others());
                } else if let Some(word) = a.only() {
                    self.at(other, terms).words = b.and(&Words::of([word.clone()]).others());
                }
            }
            if self.known.values().any(|known| known.words.is_empty()) {
                return false;
            }
            if before.iter().eq(self.known.values().map(|known| &known.words)) {
                break;
            }
        }
        self.classes_differ()
    }

    /// Whether nothing that must differ must be the same by way of others.
    fn classes_differ(&self) -> bool {
        let mut class: BTreeMap<Term, Term> = BTreeMap::new();
        for _ in 0..self.same.len() {
            for (one, other, _) in self.same.iter().filter(|(_, _, same)| *same) {
                let (a, b) = (*class.get(one).unwrap_or(one), *class.get(other).unwrap_or(other));
                let least = a.min(b);
                for (term, known) in [(one, a), (other, b)] {
                    class.insert(*term, least);
                    class.insert(known, least);
                }
            }
        }
        let of = |term: &Term| *class.get(term).unwrap_or(term);
        self.same.iter().all(|(one, other, same)| *same || of(one) != of(other))
    }

    /// Whether all distances fit together, and with what each value can be: no circle of them is shorter than nothing.
    pub(super) fn distances_fit(&self) -> bool {
        if self.apart.is_empty() {
            return true;
        }
        // From each value to each other how far it may lie above it, and whether that itself is too far; `None` is zero.
        type Edge = (Option<Term>, Option<Term>, Number, bool);
        let mut edges: Vec<Edge> = self
            .apart
            .iter()
            .map(|apart| (Some(apart.low), Some(apart.high), apart.most.clone(), apart.below))
            .collect();
        let mut nodes: Vec<Option<Term>> = vec![None];
        for apart in &self.apart {
            nodes.extend([Some(apart.high), Some(apart.low)]);
        }
        nodes.sort_unstable();
        nodes.dedup();
        for term in nodes.iter().flatten() {
            let Some(known) = self.known.get(term) else { continue };
            if let Some((high, inclusive)) = known.numbers.high() {
                edges.push((None, Some(*term), high, !inclusive));
            }
            if let Some((low, inclusive)) = known.numbers.low() {
                edges.push((Some(*term), None, -&low, !inclusive));
            }
        }
        // How far each lies, and by how many steps it must lie below that.
        let mut far: BTreeMap<Option<Term>, (Number, usize)> =
            nodes.iter().map(|node| (*node, (Number::ZERO, 0))).collect();
        for round in 0..=nodes.len() {
            let mut changed = false;
            for (from, to, most, below) in &edges {
                let Some((start, start_below)) = far.get(from).cloned() else { continue };
                let Some(next) = start.checked_add(most) else { return true };
                let next = (next, start_below + usize::from(*below));
                let Some(known) = far.get_mut(to) else { continue };
                let nearer = next.0 < known.0 || next.0 == known.0 && next.1 > known.1;
                if nearer {
                    *known = next;
                    changed = true;
                }
            }
            if !changed {
                return true;
            }
            if round == nodes.len() {
                return false;
            }
        }
        true
    }
}

/// What can have become of a group, by a field of it.
fn around(field: States) -> States {
    let mut around = States::ALL;
    let parts = [
        (States::VALUE, States::VALUE),
        (States::BROKEN, States::VALUE),
        (States::ABSENT, States::VALUE.or(States::ABSENT)),
        (States::DOUBTFUL, States::VALUE.or(States::BROKEN).or(States::DOUBTFUL)),
    ];
    let can = parts.into_iter().filter(|(state, _)| field.has(*state));
    let all = can.map(|(_, group)| group).reduce(States::or);
    around = around.and(all.unwrap_or(States::ALL));
    around
}

/// What can have become of the fields of a group.
fn fields_of(group: States) -> States {
    let parts = [
        (States::VALUE, States::ALL),
        (States::ABSENT, States::ABSENT),
        (States::BROKEN, States::DOUBTFUL),
        (States::DOUBTFUL, States::DOUBTFUL),
    ];
    let can = parts.into_iter().filter(|(state, _)| group.has(*state));
    can.map(|(_, field)| field).reduce(States::or).unwrap_or(States::ALL)
}
