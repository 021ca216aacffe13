//! Worked traces, with what three public libraries answer where that is not the exact result.
//!
//! The libraries are rtamt 0.4.10 (BSD-3), mstlo-python 0.2.2 and metric-temporal-logic 0.4.1 (MIT), each run
//! on the trace. All three hold the previous value for their margins; metric-temporal-logic leaves the last
//! instant of a window out, rtamt cuts a window that reaches past the trace. mstlo-python also gives truths,
//! without margins, on straight lines; where it was run (rows 1 to 6) they are ours. The exact results are arithmetic
//! on the straight lines between the samples, done by hand.

use witnessmark::quantity::Number;
use witnessmark::signal::{Answer, Formula, Hole, Missing, Question, Relation, Sampling};

use super::{answer, at, at_least, band, exact_time, level, seconds, signal, window};
use crate::support::number;

/// Degrees over seconds.
const WARMING: [(f64, i64); 8] =
    [(0.0, 28), (60.0, 33), (120.0, 38), (180.0, 43), (240.0, 48), (300.0, 52), (360.0, 52), (900.0, 52)];

fn throughout(sampling: Sampling, from: f64, to: f64) -> Answer {
    let question = Question::Throughout(band(30, 50));
    answer(vec![signal(sampling, &WARMING)], &question, window(from, to))
}

/// Truth, margin and, in seconds, the instant of it.
fn assert_answer(answer: &Answer, truth: bool, margin: &str, instant: &str) {
    assert_eq!(answer.truth, Some(truth), "{answer:?}");
    assert_eq!(answer.margin, Some(number(margin)), "{answer:?}");
    assert_eq!(answer.at, Some(seconds(instant)), "{answer:?}");
    assert!(answer.exact && answer.hole.is_none(), "{answer:?}");
}

/// Rows 1 and 2: the band is kept, or left, at samples, so both samplings agree with rtamt and mstlo.
#[test]
fn a_band_that_is_kept_or_left_at_a_sample() {
    for sampling in [Sampling::Linear, Sampling::Held] {
        // metric-temporal-logic answers 3: its window ends just before 240 s.
        assert_answer(&throughout(sampling, 60.0, 240.0), true, "2", "240");
        assert_answer(&throughout(sampling, 0.0, 300.0), false, "-2", "0");
    }
}

/// Rows 3, 4 and 5: the line leaves the band between two samples, at 24 s and at 270 s exactly, and the limit
/// still belongs to it. rtamt and mstlo answer -2, 2 and -2, because they hold the previous value: 28 °C up to
/// 60 s, and 48 °C up to 300 s. With that sampling, so do we.
#[test]
fn a_band_whose_limit_is_met_between_two_samples() {
    let line = throughout(Sampling::Linear, 30.0, 270.0);
    assert_answer(&line, true, "0", "270");
    assert_eq!(line.values, vec![Some(number("50"))]);
    assert_answer(&throughout(Sampling::Linear, 60.0, 270.0), true, "0", "270");
    assert_answer(&throughout(Sampling::Linear, 24.0, 270.0), true, "0", "24");

    assert_answer(&throughout(Sampling::Held, 30.0, 270.0), false, "-2", "30");
    assert_answer(&throughout(Sampling::Held, 60.0, 270.0), true, "2", "240");
    assert_answer(&throughout(Sampling::Held, 24.0, 270.0), false, "-2", "24");
}

/// Row 6: from 20 to 60 degrees in ten seconds the middle of the band is passed after five. rtamt and mstlo see
/// the two samples only and answer -10 (rtamt 10 when the line is resampled each 10 ms).
#[test]
fn the_middle_of_a_band_is_passed_between_two_samples() {
    let question = Question::AtSomeMoment(band(30, 50));
    let ask =
        |sampling| answer(vec![signal(sampling, &[(0.0, 20), (10.0, 60)])], &question, window(0.0, 10.0));
    let line = ask(Sampling::Linear);
    assert_answer(&line, true, "10", "5");
    assert_eq!(line.values, vec![Some(number("40"))]);
    assert_eq!(line.stretch, Some((seconds("2.5"), seconds("7.5"))));
    assert_answer(&ask(Sampling::Held), false, "-10", "0");
}

/// Row 7: the limit is reached at the first instant of the window, between two samples. rtamt and mstlo answer
/// -10, the previous value.
#[test]
fn the_limit_is_reached_when_the_window_begins() {
    let question = Question::Throughout(at_least(30));
    let ask =
        |sampling| answer(vec![signal(sampling, &[(0.0, 20), (10.0, 40)])], &question, window(5.0, 10.0));
    assert_answer(&ask(Sampling::Linear), true, "0", "5");
    assert_answer(&ask(Sampling::Held), false, "-10", "5");
}

/// Rows 8 to 11: held for at least two seconds. The usual formula asks for an instant from which on the next two
/// seconds, both ends included, are good; so rtamt and mstlo refuse what was held for exactly two seconds (row 10),
/// and metric-temporal-logic does not. We compare the length of the stretch, with both its ends.
#[test]
fn held_for_two_seconds() {
    let cases = [
        (2.5, true, "1", "0.5"),
        (1.8, false, "-1", "-0.2"),
        (2.0, true, "1", "0"),
        (2.001, true, "1", "0.001"),
    ];
    let question = Question::HeldFor(at(2.0), level(0, Relation::Above, 0));
    for (length, truth, margin, time) in cases {
        let samples = [(0.0, -1), (5.0, 1), (5.0 + length, -1), (30.0, -1)];
        let held = answer(vec![signal(Sampling::Held, &samples)], &question, window(0.0, 22.0));
        assert_eq!((held.truth, &held.margin), (Some(truth), &Some(number(margin))), "{length}: {held:?}");
        assert_eq!(exact_time(&held), seconds(time), "{length}");
        let (from, to) = held.stretch.unwrap();
        assert_eq!((from, &to - &seconds("5")), (seconds("5"), seconds(&length.to_string())));
    }
}

/// Rows 12 to 14: within 600 s. The libraries answer 1, 1 and -1, but metric-temporal-logic -1 for exactly 600 s,
/// because it leaves the last instant out; the margin in time is that to the deadline.
#[test]
fn within_ten_minutes() {
    let question = Question::AtSomeMoment(level(0, Relation::Above, 0));
    for (delay, truth, time) in [(500.0, true, "100"), (600.0, true, "0"), (601.0, false, "-1")] {
        let samples = [(0.0, -1), (delay, 1), (delay + 10.0, -1), (900.0, -1)];
        let found = answer(vec![signal(Sampling::Held, &samples)], &question, window(0.0, 600.0));
        let margin = Number::from(if truth { 1_i64 } else { -1 });
        assert_eq!((found.truth, &found.margin), (Some(truth), &Some(margin)), "{delay}");
        assert_eq!(exact_time(&found), seconds(time), "{delay}");
    }
}

/// Row 15: the trace ends before the window does. rtamt cuts the window short and answers +3; mstlo gives no verdict
/// and the interval up to 3. It is undecided, and 3 is the margin of what is known.
#[test]
fn a_window_past_the_end_of_the_trace_is_undecided() {
    let question = Question::Throughout(band(30, 50));
    for sampling in [Sampling::Linear, Sampling::Held] {
        let trace = signal(sampling, &[(0.0, 33), (60.0, 38), (120.0, 43)]);
        let open = answer(vec![trace], &question, window(0.0, 300.0));
        assert_eq!((open.truth, open.margin, open.exact), (None, Some(Number::from(3_i64)), false));
        assert_eq!(open.at, Some(seconds("0")));
        assert_eq!(open.time, None);
        let hole = Hole { from: at(120.0), to: at(300.0), why: Missing::AfterData(0) };
        assert_eq!(open.hole, Some(hole));
    }
}

/// Row 16: the engine stays off until there are four litres; it is started after 50 s. The libraries answer 0, -1 and -1.
#[test]
fn filled_before_the_engine_is_started() {
    let off = level(0, Relation::AtMost, 0);
    let full = level(1, Relation::AtLeast, 4);
    let question = Question::Until(off, full);
    for (filled, truth, margin) in [(40.0, true, 0_i64), (50.0, false, -1), (60.0, false, -1)] {
        let engine = signal(Sampling::Held, &[(0.0, 0), (50.0, 1), (90.0, 1)]);
        let volume = signal(Sampling::Held, &[(0.0, 0), (filled, 4), (90.0, 4)]);
        let until = answer(vec![engine, volume], &question, window(0.0, 90.0));
        assert_eq!(
            (until.truth, until.margin.clone()),
            (Some(truth), Some(Number::from(margin))),
            "{until:?}"
        );
        let time = until.time.map(|time| time.nanoseconds);
        assert_eq!(time, truth.then(|| seconds("50")), "40 s is 50 s before the end; a lost case stays lost");
    }
}

/// Row 17: not above 50 degrees while the engine runs, which it does from 60 s to 240 s. rtamt, mstlo and
/// metric-temporal-logic answer 1: the margin of the engine being off, at 300 s. On the straight line it is the same.
#[test]
fn a_condition_over_time() {
    let running = level(1, Relation::AtLeast, 1);
    let cool = level(0, Relation::AtMost, 50);
    let question = Question::Throughout(Formula::Or(vec![Formula::Not(Box::new(running)), cool]));
    for sampling in [Sampling::Linear, Sampling::Held] {
        let engine = signal(Sampling::Held, &[(0.0, 0), (60.0, 1), (240.0, 0), (900.0, 0)]);
        let found = answer(vec![signal(sampling, &WARMING), engine], &question, window(0.0, 300.0));
        assert_eq!((found.truth, found.margin), (Some(true), Some(Number::ONE)));
    }
}

/// Rows 18 and 19: a trace each second, at each of its instants. rtamt answers the same; in row 19 it cuts the windows of
/// the last two instants short, which changes nothing, because what is known decides.
#[test]
fn margins_at_each_sample() {
    let samples: Vec<(f64, i64)> = (0_i32..).map(f64::from).zip([29, 30, 31, 49, 50, 51]).collect();
    for (second, margin) in (0_i32..).map(f64::from).zip([-1, 0, 1, 1, 0, -1_i64]) {
        let question = Question::Throughout(band(30, 50));
        let found = answer(vec![signal(Sampling::Held, &samples)], &question, window(second, second));
        assert_eq!((found.truth, found.margin), (Some(margin >= 0), Some(Number::from(margin))), "{second}");
    }
    for (second, margin) in (0_i32..).map(f64::from).zip([-19, -1, 0, 1, 1, 1_i64]) {
        let question = Question::AtSomeMoment(at_least(50));
        let found = answer(vec![signal(Sampling::Held, &samples)], &question, window(second, second + 2.0));
        assert_eq!((found.truth, found.margin), (Some(margin >= 0), Some(Number::from(margin))), "{second}");
        assert_eq!(found.exact, second <= 3.0, "what follows the trace could only be better");
    }
}
