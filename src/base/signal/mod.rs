//! Signals: what was measured over a stretch of time, and questions about it.
//!
//! The questions are the operators of signal temporal logic over one window (Maler and Nickovic 2004),
//! the margins its robustness in space and in time (Fainekos and Pappas 2009; Donzé and Maler 2010), and
//! where data are missing, the bounds within which the robustness lies (Deshmukh et al. 2017). Between
//! samples a signal is a straight line or keeps its value; crossings are computed, not sampled, so a
//! truth, a margin and an instant are exact.
//!
//! A truth is decided by the inequality itself, and the margin beside it is a distance: at exactly 30 °C
//! `at least 30 °C` holds and `above 30 °C` does not, both with the margin 0. What is not known is kept
//! apart from what is wrong: before the first sample, after the last one, and in a gap that is longer
//! than allowed, nothing is known, and a window that reaches there is never shortened.
//!
//! Signals are read once, from the first sample on, and never kept: memory is bounded by what lies in
//! the duration of [`Question::HeldFor`], and is constant for every other question.
//!
//! Instants are nanoseconds since 1970-01-01T00:00:00Z, durations are nanoseconds, and values are in
//! coherent SI units ([`crate::quantity::Quantity::base`]), so that margins are too.

mod ask;
mod bound;
mod course;
pub mod csv;
mod formula;
mod held;
mod outline;
mod part;
mod records;
mod seek;
mod sliding;
mod timeline;

pub use ask::ask;
pub use outline::{Column, outline};
pub use sliding::SlidingLeast;

use crate::quantity::Number;

/// One sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sample {
    /// When, in nanoseconds since 1970-01-01T00:00:00Z.
    pub at: i64,
    /// What was measured, in coherent SI units.
    pub value: Number,
}

/// What a signal is between two samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sampling {
    /// A straight line from one to the next.
    Linear,
    /// The earlier value, until the next one.
    Held,
}

/// A signal to be read: samples that rise strictly in time. A reader of a log gives faults among them.
#[derive(Clone, Debug)]
pub struct Signal<I> {
    /// The samples.
    pub samples: I,
    /// What the signal is between them.
    pub sampling: Sampling,
    /// The longest time between two samples, in nanoseconds, over which that may be relied upon; beyond
    /// it the signal is unknown between the two. Nothing: any.
    pub largest_gap: Option<i64>,
}

/// A stretch of time with both its ends, in nanoseconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Its first instant.
    pub from: i64,
    /// Its last instant, not before the first.
    pub to: i64,
}

/// What of a signal is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Of {
    /// Its value.
    Level,
    /// How fast it changes: the slope per second between two samples. At a sample it is the slope before
    /// it, at the beginning of the window the slope behind it. A held signal has the rate zero.
    Rate,
}

/// How it compares with the limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Relation {
    /// The limit itself is enough.
    AtLeast,
    /// More than the limit.
    Above,
    /// The limit itself is still allowed.
    AtMost,
    /// Less than the limit.
    Below,
}

/// One comparison. Its margin is the distance on the right side of the limit, below zero on the wrong one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Atom {
    /// Which of the signals, from 0.
    pub signal: usize,
    /// What of it.
    pub of: Of,
    /// How it compares.
    pub relation: Relation,
    /// With what: coherent SI units, for a rate per second.
    pub limit: Number,
}

/// What is asked of each instant. Its margin is the least among the parts of `And`, the greatest among
/// those of `Or`, and has the other sign below a `Not`; comparisons of different kinds may stand in one
/// formula: the truth does not depend on their units, only which of the margins is the nearest one does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Formula {
    /// A comparison.
    Atom(Atom),
    /// What does not change with time.
    Known(bool),
    /// What does not change with time and cannot be decided.
    Unknown,
    /// The opposite.
    Not(Box<Formula>),
    /// All of them; true where there are none.
    And(Vec<Formula>),
    /// At least one of them; false where there are none.
    Or(Vec<Formula>),
}

/// What is asked of a window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Question {
    /// At every instant.
    Throughout(Formula),
    /// At one instant at least.
    AtSomeMoment(Formula),
    /// Without interruption for at least so many nanoseconds. A stretch counts with both its ends, so what
    /// holds for exactly two seconds is held for at least two seconds.
    HeldFor(i64, Formula),
    /// There is an instant at which the second holds, and up to it, itself included, the first does.
    Until(Formula, Formula),
}

/// What became of a question.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Whether it is so; nothing when the data do not decide it.
    pub truth: Option<bool>,
    /// The signed distance to the other truth: the least margin of the window for `Throughout`, the
    /// greatest for `AtSomeMoment`, for `HeldFor` the greatest over all stretches of the duration of the
    /// least within. Of what is known where the truth is not decided. Nothing where no comparison decides.
    pub margin: Option<Number>,
    /// Whether the margin is that of the whole window: nothing that is unknown could change it.
    pub exact: bool,
    /// The instant of that margin: the worst one for `Throughout`, the best for the others, the beginning
    /// of the best stretch for `HeldFor`; the first one where there are several.
    pub at: Option<Number>,
    /// The values of the signals there, by their numbers; nothing for one that is not known there. Empty
    /// for `HeldFor`, whose margin belongs to a stretch.
    pub values: Vec<Option<Number>>,
    /// The comparison whose margin it is: its number among the atoms of the formula (of both formulas for
    /// `Until`), from 0, in the order in which they stand.
    pub decided_by: Option<usize>,
    /// How far the truth is from changing in time.
    pub time: Option<TimeMargin>,
    /// The longest stretch outside for `Throughout`, the longest one inside for `HeldFor`, the first one
    /// inside for `AtSomeMoment` and `Until`, all within the window.
    pub stretch: Option<(Number, Number)>,
    /// How long `Throughout` was surely not so within the window, in nanoseconds; zero for the others.
    pub outside: Number,
    /// The first stretch that keeps the question undecided; only where it is.
    pub hole: Option<Hole>,
}

/// A distance in time to the other truth, in nanoseconds, below zero when the answer is no.
///
/// - `Throughout`: how far the window could grow at either end or be moved; when it is broken, the length of
///   the longest stretch outside, below zero.
/// - `AtSomeMoment` and `Until`: from the first instant that fulfils it to the end of the window; below zero
///   when that instant comes after the end, and nothing when it never comes.
/// - `HeldFor`: the length of the longest stretch less the duration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeMargin {
    /// The distance.
    pub nanoseconds: Number,
    /// What it says.
    pub exactness: Exactness,
}

/// How a figure relates to the true one where data are missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Exactness {
    /// It is the true one.
    Exact,
    /// The true one is at least this.
    AtLeast,
    /// The true one is at most this.
    AtMost,
}

/// A stretch of the window over which the formula cannot be decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    /// Its beginning, in nanoseconds since 1970-01-01T00:00:00Z.
    pub from: i64,
    /// Its end.
    pub to: i64,
    /// Why.
    pub why: Missing,
}

/// What is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Missing {
    /// The signal of this number begins later.
    BeforeData(usize),
    /// The signal of this number has ended.
    AfterData(usize),
    /// Two samples of the signal of this number lie too far apart.
    Gap(usize),
    /// A part of the formula that does not change with time.
    Formula,
}
