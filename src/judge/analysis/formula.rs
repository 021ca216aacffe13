//! What must be so in a document: facts, joined by `and` and `or`. There is no `not`; what is the opposite of something is
//! said with the opposite facts, because what is not known is neither.

use std::rc::Rc;

use super::encode::Env;
use super::set::{Numbers, Words};
use super::term::Term;
use crate::decide::Truth;
use crate::language::typed::Expr;
use crate::quantity::Number;

/// What became of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct States(u8);

impl States {
    /// It is there and can be read.
    pub(super) const VALUE: States = States(1);
    /// It is not recorded.
    pub(super) const ABSENT: States = States(2);
    /// It is recorded and cannot be read.
    pub(super) const BROKEN: States = States(4);
    /// Whether it is recorded is not known.
    pub(super) const DOUBTFUL: States = States(8);
    pub(super) const ALL: States = States(15);
    /// It is recorded, whether it can be read or not.
    pub(super) const RECORDED: States = States(5);
    /// There is no value.
    pub(super) const NO_VALUE: States = States(14);

    pub(super) fn and(self, other: States) -> States {
        States(self.0 & other.0)
    }

    pub(super) fn or(self, other: States) -> States {
        States(self.0 | other.0)
    }

    pub(super) fn has(self, other: States) -> bool {
        self.0 & other.0 != 0
    }

    pub(super) fn is_none(self) -> bool {
        self.0 == 0
    }
}

/// A fact.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fact {
    /// A value is one of these words.
    Words(Term, Words),
    /// A value is one of these numbers.
    Numbers(Term, Numbers),
    /// What became of a value.
    State(Term, States),
    /// Two texts are the same, or are not.
    Same(Term, Term, bool),
    /// The first value is at most so much above the second, or below that.
    Apart { high: Term, low: Term, most: Number, below: bool },
    /// What something comes to that is not looked into.
    Comes(Term, Truth),
}

/// A condition on one entry of a list.
#[derive(Debug)]
pub(super) struct Over<'p> {
    pub(super) list: Term,
    pub(super) slot: usize,
    /// Whether the entries are instants of a stretch of time.
    pub(super) instants: bool,
    pub(super) condition: Option<&'p Expr>,
    pub(super) body: &'p Expr,
    pub(super) env: Env,
    /// What an entry must be like.
    pub(super) like: Like,
}

/// What an entry must be like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Like {
    /// The condition holds, and the body comes to this.
    Counts(Truth),
    /// The condition does not hold, or the body comes to this.
    Unless(Truth),
    /// The condition or the body is open, for want of a record or for whatever reason.
    Open { unrecorded: bool },
    /// Anything.
    Any,
}

/// What must be so.
#[derive(Clone, Debug)]
pub(super) enum Formula<'p> {
    Always,
    Never,
    Is(Rc<Fact>),
    All(Rc<[Formula<'p>]>),
    Any(Rc<[Formula<'p>]>),
    /// Of each entry of a list.
    Each(Rc<Over<'p>>),
    /// Of some entry of a list.
    Some(Rc<Over<'p>>),
}

/// How many parts are put among others. A name that names another twice shares what that comes to, and must not copy it.
const FEW: usize = 8;
/// How many parts of a formula are looked at one by one.
const MOST_PARTS: usize = 2_000;

impl<'p> Formula<'p> {
    pub(super) fn is(fact: Fact) -> Formula<'p> {
        match &fact {
            Fact::Words(_, words) if words.is_empty() => Formula::Never,
            Fact::Numbers(_, numbers) if numbers.is_empty() => Formula::Never,
            _ => Formula::Is(Rc::new(fact)),
        }
    }

    pub(super) fn state(term: Term, states: States) -> Formula<'p> {
        Formula::is(Fact::State(term, states))
    }

    pub(super) fn all(parts: impl IntoIterator<Item = Formula<'p>>) -> Formula<'p> {
        let mut kept = Vec::new();
        for part in parts {
            match part {
                Formula::Always => {}
                Formula::Never => return Formula::Never,
                Formula::All(parts) if parts.len() <= FEW => kept.extend(parts.iter().cloned()),
                part => kept.push(part),
            }
        }
        match kept.len() {
            0 => Formula::Always,
            1 => kept.pop().unwrap_or(Formula::Always),
            _ => Formula::All(kept.into()),
        }
    }

    pub(super) fn any(parts: impl IntoIterator<Item = Formula<'p>>) -> Formula<'p> {
        let mut kept = Vec::new();
        for part in parts {
            match part {
                Formula::Never => {}
                Formula::Always => return Formula::Always,
                Formula::Any(parts) if parts.len() <= FEW => kept.extend(parts.iter().cloned()),
                part => kept.push(part),
            }
        }
        match kept.len() {
            0 => Formula::Never,
            1 => kept.pop().unwrap_or(Formula::Never),
            _ => Formula::Any(kept.into()),
        }
    }

    /// The same without what is said of records that are there or not, and of entries: what is left of it is about values.
    pub(super) fn of_values(&self) -> Formula<'p> {
        self.without_records(&mut { MOST_PARTS })
    }

    fn without_records(&self, left: &mut usize) -> Formula<'p> {
        *left = left.saturating_sub(1);
        match self {
            _ if *left == 0 => Formula::Always,
            Formula::Is(fact) => match **fact {
                // What is open is so for want of a value, not of a record.
                Fact::State(_, states) if states != States::NO_VALUE => Formula::Always,
                _ => self.clone(),
            },
            Formula::Each(over) | Formula::Some(over) if !over.instants => Formula::Always,
            Formula::All(parts) => {
                Formula::all(parts.iter().map(|part| part.without_records(left)).collect::<Vec<_>>())
            }
            Formula::Any(parts) => {
                Formula::any(parts.iter().map(|part| part.without_records(left)).collect::<Vec<_>>())
            }
            other => other.clone(),
        }
    }

    /// Calls `see` with each fact in it, but for those of entries and those of a formula without end.
    pub(super) fn for_each_fact(&self, see: &mut dyn FnMut(&Rc<Fact>)) {
        self.facts(&mut { MOST_PARTS }, see);
    }

    fn facts(&self, left: &mut usize, see: &mut dyn FnMut(&Rc<Fact>)) {
        *left = left.saturating_sub(1);
        match self {
            _ if *left == 0 => {}
            Formula::Is(fact) => see(fact),
            Formula::All(parts) | Formula::Any(parts) => {
                parts.iter().for_each(|part| part.facts(left, see));
            }
            Formula::Always | Formula::Never | Formula::Each(_) | Formula::Some(_) => {}
        }
    }

    /// Whether it says something of all entries of a list, or of one that is there.
    pub(super) fn is_of_entries(&self) -> bool {
        self.has_entries(&mut { MOST_PARTS })
    }

    fn has_entries(&self, left: &mut usize) -> bool {
        *left = left.saturating_sub(1);
        match self {
            _ if *left == 0 => true,
            Formula::Each(_) | Formula::Some(_) => true,
            Formula::All(parts) | Formula::Any(parts) => parts.iter().any(|part| part.has_entries(left)),
            Formula::Is(_) | Formula::Always | Formula::Never => false,
        }
    }
}
