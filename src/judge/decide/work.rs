//! How much work may be done on a document. It is counted in looks, steps and entries of logs and never timed, so that a verdict is
//! the same on every machine.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use super::Evaluator;
use super::lets::Lets;

/// How many elements of lists one rule may look at in one document: far more than any record has, and
/// well under a second.
pub const MOST_LOOKS: u64 = 1_000_000;

/// How many steps the rules may do on one document where nobody says otherwise. A step is one look at a part of a rule; a record
/// of one job takes some thousands.
pub const MOST_STEPS: u64 = 20_000_000;

/// How many steps the rules may do in a whole run where nobody says otherwise: some hundred thousand records.
pub const MOST_STEPS_IN_ALL: u64 = 10_000_000_000;

/// How many steps an entry of a log is worth: it is read as text, and its numbers exactly.
pub const STEPS_OF_A_SAMPLE: u64 = 8;

/// How many entries of logs the rules may read on a document, where they may take so many steps on it: five million where nobody
/// says otherwise, an entry for each tenth of a second of a working week.
#[must_use]
pub fn most_samples(steps: u64) -> u64 {
    steps / 4
}

/// What a rule may not go beyond.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The elements of lists that one rule looks at.
    Looks,
    /// The steps that all rules do on one document.
    Steps(u64),
}

impl std::fmt::Display for Bound {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Bound::Looks => {
                write!(f, "the rule looks at more than {MOST_LOOKS} elements of lists in this document")
            }
            Bound::Steps(most) => write!(f, "the rules take more than {most} steps for this document"),
        }
    }
}

/// What may still be done for a document, and what lets came to so far. Judging has a share of its own, so that nothing that is
/// only explained can change a verdict.
#[derive(Debug)]
pub(super) struct Share<'x> {
    steps_left: Cell<u64>,
    samples_left: Cell<u64>,
    lets: RefCell<Lets<'x>>,
}

impl<'x> Share<'x> {
    pub(super) fn new(steps: u64) -> Self {
        let (steps_left, samples_left) = (Cell::new(steps), Cell::new(most_samples(steps)));
        Share { steps_left, samples_left, lets: RefCell::default() }
    }

    /// What lets came to.
    pub(super) fn lets(&self) -> &RefCell<Lets<'x>> {
        &self.lets
    }

    /// Counts a step.
    pub(super) fn step(&self) {
        self.steps(1);
    }

    /// Counts so many steps.
    pub(super) fn steps(&self, number: u64) {
        self.steps_left.set(self.steps_left.get().saturating_sub(number));
    }

    /// How many steps are left.
    pub(super) fn steps_left(&self) -> u64 {
        self.steps_left.get()
    }

    /// How many entries of logs may still be read.
    pub(super) fn samples_left(&self) -> &Cell<u64> {
        &self.samples_left
    }
}

impl<'x> Evaluator<'x> {
    /// The same, able to do so many steps.
    #[must_use]
    pub fn within_steps(self, most: u64) -> Self {
        let (share, aside) = (Rc::new(Share::new(most)), Rc::new(Share::new(most)));
        Evaluator { most_steps: most, share, aside, ..self }
    }

    /// How many steps the rules did so far.
    #[must_use]
    pub fn steps_done(&self) -> u64 {
        self.most_steps - self.share.steps_left()
    }

    /// How many entries of logs the rules read so far.
    #[must_use]
    pub fn samples_read(&self) -> u64 {
        most_samples(self.most_steps) - self.share.samples_left().get()
    }

    /// Counts a look at an element of a list; false when the rule, or the document, has had its share.
    pub(super) fn spend(&mut self) -> bool {
        self.looks += 1;
        !self.has_had_its_share()
    }

    pub(super) fn has_had_its_share(&self) -> bool {
        self.looks > MOST_LOOKS || self.is_exhausted()
    }

    /// Whether no more work may be done on the document.
    #[must_use]
    pub fn is_exhausted(&self) -> bool {
        self.share.steps_left() == 0
    }

    /// What the rule at hand has gone beyond.
    pub(super) fn gone_beyond(&self) -> Bound {
        if self.is_exhausted() { Bound::Steps(self.most_steps) } else { Bound::Looks }
    }

    /// Runs `inside` without taking anything from what may be done to judge.
    pub(super) fn aside<T>(&mut self, inside: impl FnOnce(&mut Self) -> T) -> T {
        let aside = Rc::clone(&self.aside);
        let share = std::mem::replace(&mut self.share, aside);
        let result = inside(self);
        self.share = share;
        result
    }
}

/// What took the last step that a document has.
#[derive(Clone, Copy, Debug)]
pub enum LastStep<'r> {
    /// The conditions by which standards apply.
    Conditions,
    /// A rule of this name.
    Rule(&'r str),
}

impl std::fmt::Display for LastStep<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            LastStep::Conditions => f.write_str("the conditions by which standards apply"),
            LastStep::Rule(name) => write!(f, "`{name}`"),
        }
    }
}
