//! Signals: questions about them, against published meaning, laws, dense resampling and another program.

mod csv;
mod dense;
mod faults;
mod laws;
mod outline;
mod published;

use witnessmark::diagnostic::Fault;
use witnessmark::quantity::Number;
use witnessmark::signal::{
    Answer, Atom, Exactness, Formula, Of, Question, Relation, Sample, Sampling, Signal, Window, ask,
};

use crate::support::number;

pub type Samples = std::vec::IntoIter<Result<Sample, Fault>>;

/// Nanoseconds since the epoch of the tests.
pub fn at(seconds: f64) -> i64 {
    (seconds * 1e9).round() as i64
}

/// An instant or a duration in seconds, written as a decimal.
pub fn seconds(text: &str) -> Number {
    &number(text) * &Number::from(1_000_000_000_i64)
}

/// A signal of whole values at seconds.
pub fn signal(sampling: Sampling, samples: &[(f64, i64)]) -> Signal<Samples> {
    let samples: Vec<_> = samples
        .iter()
        .map(|(time, value)| Ok(Sample { at: at(*time), value: Number::from(*value) }))
        .collect();
    Signal { samples: samples.into_iter(), sampling, largest_gap: None }
}

pub fn window(from: f64, to: f64) -> Window {
    Window { from: at(from), to: at(to) }
}

/// A comparison of the level of a signal.
pub fn level(signal: usize, relation: Relation, limit: i64) -> Formula {
    Formula::Atom(Atom { signal, of: Of::Level, relation, limit: Number::from(limit) })
}

pub fn at_least(limit: i64) -> Formula {
    level(0, Relation::AtLeast, limit)
}

/// From `low` to `high`, both included.
pub fn band(low: i64, high: i64) -> Formula {
    Formula::And(vec![at_least(low), level(0, Relation::AtMost, high)])
}

pub fn answer(signals: Vec<Signal<Samples>>, question: &Question, window: Window) -> Answer {
    ask(signals, question, window).unwrap_or_else(|fault| panic!("{}", fault.message))
}

/// The margin in time, which is exact.
pub fn exact_time(answer: &Answer) -> Number {
    let time = answer.time.clone().expect("a margin in time");
    assert_eq!(time.exactness, Exactness::Exact);
    time.nanoseconds
}
