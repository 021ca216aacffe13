//! Laws that hold for every signal.

use fastrand::Rng;
use witnessmark::diagnostic::Fault;
use witnessmark::quantity::Number;
use witnessmark::signal::{
    Answer, Atom, Formula, Of, Question, Relation, Sample, Sampling, Signal, Window, ask,
};

const ROUNDS: usize = 1_500;
const SAMPLINGS: [Sampling; 2] = [Sampling::Linear, Sampling::Held];

/// Samples at odd instants with odd values, so that nothing falls on anything else.
fn samples(rng: &mut Rng) -> Vec<Sample> {
    let mut at = rng.i64(0..50);
    let count = rng.usize(2..12);
    let sample = |at: &mut i64, rng: &mut Rng| {
        *at += rng.i64(1..97);
        Sample { at: *at, value: Number::ratio(rng.i128(-500..500), rng.i128(1..7)).unwrap() }
    };
    (0..count).map(|_| sample(&mut at, rng)).collect()
}

fn asked(samples: &[Sample], sampling: Sampling, question: &Question, window: Window) -> Answer {
    let samples: Vec<Result<Sample, Fault>> = samples.iter().cloned().map(Ok).collect();
    let signal = Signal { samples: samples.into_iter(), sampling, largest_gap: Some(80) };
    ask(vec![signal], question, window).unwrap()
}

fn random_window(rng: &mut Rng, samples: &[Sample]) -> Window {
    let (first, last) = (samples[0].at, samples[samples.len() - 1].at);
    let from = rng.i64(first - 5..=last);
    Window { from, to: rng.i64(from..=last + 20) }
}

fn atom(relation: Relation, limit: Number) -> Formula {
    Formula::Atom(Atom { signal: 0, of: Of::Level, relation, limit })
}

fn band(rng: &mut Rng) -> Formula {
    let low = rng.i64(-80..60);
    let limits = [Number::from(low), Number::from(low + rng.i64(0..60))];
    let [low, high] = limits;
    let upper = if rng.bool() { Relation::AtMost } else { Relation::Below };
    let band = Formula::And(vec![atom(Relation::AtLeast, low), atom(upper, high)]);
    if rng.bool() { band } else { Formula::Not(Box::new(band)) }
}

fn questions(rng: &mut Rng) -> [Question; 4] {
    let (one, other) = (band(rng), band(rng));
    [
        Question::Throughout(one.clone()),
        Question::AtSomeMoment(one.clone()),
        Question::HeldFor(rng.i64(1..120), one.clone()),
        Question::Until(one, other),
    ]
}

/// Hands each of some thousand questions to `law`, and sees that all truths come up.
fn for_each_question(
    seed: u64,
    mut law: impl FnMut(&mut Rng, &[Sample], Sampling, &Question, Window, Answer),
) {
    let mut rng = Rng::with_seed(seed);
    let mut truths = [0; 3];
    for round in 0..ROUNDS {
        let samples = samples(&mut rng);
        let window = random_window(&mut rng, &samples);
        let sampling = SAMPLINGS[round % 2];
        for question in questions(&mut rng) {
            let answer = asked(&samples, sampling, &question, window);
            truths[answer.truth.map_or(2, usize::from)] += 1;
            law(&mut rng, &samples, sampling, &question, window, answer);
        }
    }
    assert!(truths.iter().all(|count| *count > ROUNDS / 10), "{truths:?}");
}

fn with_limits(formula: &Formula, change: &impl Fn(&Atom) -> Number) -> Formula {
    let all = |parts: &[Formula]| parts.iter().map(|part| with_limits(part, change)).collect();
    match formula {
        Formula::Atom(atom) => Formula::Atom(Atom { limit: change(atom), ..atom.clone() }),
        Formula::Not(inner) => Formula::Not(Box::new(with_limits(inner, change))),
        Formula::And(parts) => Formula::And(all(parts)),
        Formula::Or(parts) => Formula::Or(all(parts)),
        other => other.clone(),
    }
}

fn map(question: &Question, change: impl Fn(&Formula) -> Formula) -> Question {
    match question {
        Question::Throughout(formula) => Question::Throughout(change(formula)),
        Question::AtSomeMoment(formula) => Question::AtSomeMoment(change(formula)),
        Question::HeldFor(duration, formula) => Question::HeldFor(*duration, change(formula)),
        Question::Until(before, then) => Question::Until(change(before), change(then)),
    }
}

/// Degrees Fahrenheit instead of degrees Celsius.
#[test]
fn other_units_change_margins_in_proportion_and_nothing_else() {
    let (factor, offset) = (Number::ratio(9, 5).unwrap(), Number::from(32_i64));
    let other = |value: &Number| &(value * &factor) + &offset;
    for_each_question(1, |_, samples, sampling, question, window, answer| {
        let samples: Vec<Sample> =
            samples.iter().map(|sample| Sample { at: sample.at, value: other(&sample.value) }).collect();
        let question = map(question, |formula| with_limits(formula, &|atom| other(&atom.limit)));
        let scaled = asked(&samples, sampling, &question, window);
        let wanted = Answer {
            margin: answer.margin.map(|margin| &margin * &factor),
            values: answer.values.iter().map(|value| value.as_ref().map(other)).collect(),
            ..answer
        };
        assert_eq!(scaled, wanted);
    });
}

#[test]
fn what_is_so_throughout_is_not_otherwise_at_some_moment() {
    for_each_question(2, |_, samples, sampling, question, window, answer| {
        let Question::Throughout(formula) = question else { return };
        let opposite = Question::AtSomeMoment(Formula::Not(Box::new(formula.clone())));
        let other = asked(samples, sampling, &opposite, window);
        assert_eq!(other.truth, answer.truth.map(|truth| !truth));
        assert_eq!(other.margin, answer.margin.map(|margin| -&margin));
        assert_eq!((other.at, other.values, other.hole), (answer.at, answer.values, answer.hole));
    });
}

/// A tighter limit makes nothing true, and lowers the margin by no more than it was tightened.
#[test]
fn a_tighter_limit_never_helps() {
    let by = Number::ratio(7, 2).unwrap();
    for_each_question(3, |_, samples, sampling, question, window, answer| {
        let tighter = |formula: &Formula| tightened(formula, false, &by);
        let tight = asked(samples, sampling, &map(question, tighter), window);
        assert!(answer.truth != Some(false) || tight.truth == Some(false));
        assert!(tight.truth != Some(true) || answer.truth == Some(true));
        if let (Some(before), Some(after), true) = (answer.margin, tight.margin, answer.exact && tight.exact)
        {
            let lost = &before - &after;
            assert!(!lost.is_negative() && lost <= by, "{before} {after}");
        }
    });
}

fn tightened(formula: &Formula, opposite: bool, by: &Number) -> Formula {
    let all = |parts: &[Formula]| parts.iter().map(|part| tightened(part, opposite, by)).collect();
    match formula {
        Formula::Atom(atom) => {
            let upwards = matches!(atom.relation, Relation::AtLeast | Relation::Above) != opposite;
            let limit = if upwards { &atom.limit + by } else { &atom.limit - by };
            Formula::Atom(Atom { limit, ..atom.clone() })
        }
        Formula::Not(inner) => Formula::Not(Box::new(tightened(inner, !opposite, by))),
        Formula::And(parts) => Formula::And(all(parts)),
        Formula::Or(parts) => Formula::Or(all(parts)),
        other => other.clone(),
    }
}

/// A sample more, on the line that is there anyway.
#[test]
fn a_sample_between_two_others_changes_nothing() {
    let mut added = 0;
    for_each_question(4, |rng, samples, sampling, question, window, answer| {
        let first = rng.usize(..samples.len() - 1);
        let (last, next) = (&samples[first], &samples[first + 1]);
        // A gap stays one only while nothing stands in it.
        if next.at - last.at < 2 || next.at - last.at > 80 {
            return;
        }
        let at = rng.i64(last.at + 1..next.at);
        let share = Number::ratio((at - last.at).into(), (next.at - last.at).into()).unwrap();
        let value = match sampling {
            Sampling::Held => last.value.clone(),
            Sampling::Linear => &last.value + &(&(&next.value - &last.value) * &share),
        };
        let mut more = samples.to_vec();
        more.insert(first + 1, Sample { at, value });
        assert_eq!(asked(&more, sampling, question, window), answer);
        added += 1;
    });
    assert!(added > ROUNDS);
}

/// What is known within a window that reaches past the data can break it, and never fulfil it.
#[test]
fn a_window_past_the_data_is_never_met_throughout() {
    for_each_question(5, |_, samples, sampling, question, window, _| {
        let Question::Throughout(_) = question else { return };
        let past = Window { to: samples[samples.len() - 1].at + 1, ..window };
        let answer = asked(samples, sampling, question, past);
        assert_ne!(answer.truth, Some(true));
        assert_eq!(answer.truth.is_none(), answer.hole.is_some());
    });
}

/// A shorter window, or a shorter duration, asks for less.
#[test]
fn less_is_easier() {
    for_each_question(6, |rng, samples, sampling, question, window, answer| {
        let from = rng.i64(window.from..=window.to);
        let part = Window { from, to: rng.i64(from..=window.to) };
        match question {
            Question::Throughout(_) if answer.truth == Some(true) => {
                assert_eq!(asked(samples, sampling, question, part).truth, Some(true));
            }
            Question::AtSomeMoment(_) if answer.truth == Some(false) => {
                assert_eq!(asked(samples, sampling, question, part).truth, Some(false));
            }
            Question::HeldFor(duration, formula) if answer.truth == Some(true) => {
                let shorter = Question::HeldFor(rng.i64(1..=*duration), formula.clone());
                let shorter = asked(samples, sampling, &shorter, window);
                assert_eq!(shorter.truth, Some(true));
                assert!(shorter.margin >= answer.margin);
            }
            _ => {}
        }
    });
}

/// Where the margin in time is exact, a window that grows by less keeps its truth, and by more loses it.
#[test]
fn the_margin_in_time_says_how_far_a_window_may_grow() {
    let mut looked = 0;
    for_each_question(7, |_, samples, sampling, question, window, answer| {
        let (Question::Throughout(_), Some(true), Some(time)) = (question, answer.truth, answer.time) else {
            return;
        };
        let Some(room) = time.nanoseconds.is_integer().then(|| time.nanoseconds.to_u64().unwrap() as i64)
        else {
            return;
        };
        let grown = |by: i64| Window { from: window.from - by, to: window.to + by };
        if room > 0 {
            assert_eq!(asked(samples, sampling, question, grown(room - 1)).truth, Some(true));
        }
        if time.exactness == witnessmark::signal::Exactness::Exact {
            assert_eq!(asked(samples, sampling, question, grown(room + 1)).truth, Some(false));
            looked += 1;
        } else {
            assert_ne!(asked(samples, sampling, question, grown(room + 1)).truth, Some(true));
        }
    });
    assert!(looked > 20, "{looked}");
}
