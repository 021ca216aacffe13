//! Signals and windows that are refused.

use witnessmark::code::{FUNCTION_RANGE, LOG_TIME_ORDER, LOG_WINDOW};
use witnessmark::diagnostic::Fault;
use witnessmark::quantity::Number;
use witnessmark::signal::{Question, Sample, Sampling, Signal, Window, ask};

use super::{at_least, signal, window};

#[test]
fn a_window_ends_after_it_begins() {
    let trace = || vec![signal(Sampling::Linear, &[(0.0, 1), (9.0, 1)])];
    let question = Question::Throughout(at_least(0));
    let fault = ask(trace(), &question, window(5.0, 4.0)).unwrap_err();
    assert_eq!(fault.code, LOG_WINDOW);
    assert_eq!(ask(trace(), &question, window(5.0, 5.0)).unwrap().truth, Some(true));
}

#[test]
fn samples_rise_in_time() {
    let question = Question::Throughout(at_least(0));
    for times in [[0.0, 2.0, 2.0, 4.0], [0.0, 2.0, 1.0, 4.0]] {
        let samples: Vec<(f64, i64)> = times.map(|time| (time, 1)).to_vec();
        let fault = ask(vec![signal(Sampling::Linear, &samples)], &question, window(0.0, 4.0)).unwrap_err();
        assert_eq!(fault.code, LOG_TIME_ORDER);
    }
}

#[test]
fn a_fault_of_the_reader_is_handed_on() {
    let question = Question::Throughout(at_least(0));
    for position in 0..3 {
        let mut samples: Vec<Result<Sample, Fault>> =
            (0..3).map(|time| Ok(Sample { at: time, value: Number::ONE })).collect();
        samples[position] = Err(Fault::new(FUNCTION_RANGE, "this line cannot be read"));
        let trace = Signal { samples: samples.into_iter(), sampling: Sampling::Held, largest_gap: None };
        let fault = ask(vec![trace], &question, Window { from: 0, to: 2 }).unwrap_err();
        assert_eq!(fault.message, "this line cannot be read");
    }
}

/// The ends of the range of times, a comparison of a signal that is not there, no signal at all.
#[test]
fn extremes_do_not_break_anything() {
    let question = Question::Throughout(at_least(0));
    let samples = [i64::MIN, 0, i64::MAX].map(|at| Ok(Sample { at, value: Number::ONE }));
    let trace =
        Signal { samples: samples.into_iter(), sampling: Sampling::Linear, largest_gap: Some(i64::MAX) };
    let whole = Window { from: i64::MIN, to: i64::MAX };
    let answer = ask(vec![trace], &question, whole).unwrap();
    assert_eq!((answer.truth, answer.hole.map(|hole| (hole.from, hole.to))), (None, Some((i64::MIN, 0))));

    let none = Vec::<Signal<std::iter::Empty<_>>>::new();
    assert_eq!(ask(none, &question, Window { from: 0, to: 1 }).unwrap().truth, None);
    let empty = Signal { samples: std::iter::empty(), sampling: Sampling::Held, largest_gap: None };
    let answer = ask(vec![empty], &question, Window { from: 0, to: 1 }).unwrap();
    assert_eq!((answer.truth, answer.margin), (None, None));
}
