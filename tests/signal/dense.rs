//! Against dense resampling, exactly.
//!
//! The generated signals have whole values at whole seconds and whole slopes of at most two a second, and
//! all limits and durations are whole. So any two lines cross at a multiple of a twelfth of a second, and what
//! is so at all multiples of a twenty-fourth is all that is so anywhere: the even ones are the instants at which
//! something can change, an odd one stands for the open stretch around it. Where everything is known, the stretches,
//! the margins in time and the instants of the margins are compared as well.

use fastrand::Rng;
use witnessmark::quantity::Number;
use witnessmark::signal::{
    Answer, Atom, Exactness, Formula, Of, Question, Relation, Sample, Sampling, Signal, TimeMargin, Window,
    ask,
};

const TICKS: i64 = 24;
/// No margin comes near it.
const FAR: i64 = 1_000_000;

/// A signal of whole seconds and values.
#[derive(Clone, Debug)]
struct Trace {
    samples: Vec<(i64, i64)>,
    sampling: Sampling,
    largest_gap: Option<i64>,
}

impl Trace {
    fn random(rng: &mut Rng, sampling: Sampling, last: i64) -> Trace {
        let mut samples = vec![(rng.i64(0..3), rng.i64(-4..=4))];
        while samples.last().unwrap().0 < last {
            let (time, value) = *samples.last().unwrap();
            let step = rng.i64(1..=4);
            let change = if sampling == Sampling::Linear { step * rng.i64(-2..=2) } else { rng.i64(-4..=4) };
            samples.push((time + step, (value + change).clamp(-9, 9)));
            // A clamp may leave no whole slope.
            let (to, end) = *samples.last().unwrap();
            if sampling == Sampling::Linear && (end - value) % (to - time) != 0 {
                samples.last_mut().unwrap().1 = value;
            }
        }
        let largest_gap = (rng.u8(..3) == 0).then(|| rng.i64(2..=3));
        Trace { samples, sampling, largest_gap }
    }

    fn signal(&self) -> Signal<impl Iterator<Item = Result<Sample, witnessmark::diagnostic::Fault>>> {
        let samples: Vec<_> = self
            .samples
            .iter()
            .map(|(time, value)| Ok(Sample { at: time * 1_000_000_000, value: Number::from(*value) }))
            .collect();
        let largest_gap = self.largest_gap.map(|gap| gap * 1_000_000_000);
        Signal { samples: samples.into_iter(), sampling: self.sampling, largest_gap }
    }

    /// The samples around a tick that is none of a sample, unless they lie too far apart.
    fn around(&self, tick: i64) -> Option<((i64, i64), (i64, i64))> {
        let next = self.samples.iter().position(|(time, _)| time * TICKS > tick)?;
        let (last, next) = (self.samples[next.checked_sub(1)?], self.samples[next]);
        self.largest_gap.is_none_or(|gap| next.0 - last.0 <= gap).then_some((last, next))
    }

    /// Its value, times [`TICKS`].
    fn value(&self, tick: i64) -> Option<i64> {
        if let Some((_, value)) = self.samples.iter().find(|(time, _)| time * TICKS == tick) {
            return Some(value * TICKS);
        }
        let (last, _) = self.around(tick)?;
        Some(last.1 * TICKS + self.slope(tick)? * (tick - last.0 * TICKS))
    }

    fn slope(&self, tick: i64) -> Option<i64> {
        let ((from, start), (to, end)) = self.around(tick)?;
        Some(if self.sampling == Sampling::Held { 0 } else { (end - start) / (to - from) })
    }

    fn rate(&self, tick: i64, begin: i64) -> Option<i64> {
        if !self.samples.iter().any(|(time, _)| time * TICKS == tick) {
            return self.slope(tick).map(|slope| slope * TICKS);
        }
        let (before, behind) = (self.slope(tick - 1), self.slope(tick + 1));
        let rate = if tick == begin { behind.or(before) } else { before.or(behind) };
        rate.map(|slope| slope * TICKS)
    }
}

/// Whether it is so, and between which margins.
type Worth = (Option<bool>, i64, i64);

fn worth(formula: &Formula, traces: &[Trace], tick: i64, begin: i64) -> Worth {
    let all = |parts: &[Formula]| -> Vec<Worth> {
        parts.iter().map(|part| worth(part, traces, tick, begin)).collect()
    };
    match formula {
        Formula::Known(true) => (Some(true), FAR, FAR),
        Formula::Known(false) => (Some(false), -FAR, -FAR),
        Formula::Unknown => (None, -FAR, FAR),
        Formula::Not(inner) => {
            let (truth, low, high) = worth(inner, traces, tick, begin);
            (truth.map(|truth| !truth), -high, -low)
        }
        Formula::And(parts) => all(parts).into_iter().fold((Some(true), FAR, FAR), |a, b| {
            let truth = if a.0 == Some(false) || b.0 == Some(false) { Some(false) } else { a.0.and(b.0) };
            (truth, a.1.min(b.1), a.2.min(b.2))
        }),
        Formula::Or(parts) => all(parts).into_iter().fold((Some(false), -FAR, -FAR), |a, b| {
            let truth = if a.0 == Some(true) || b.0 == Some(true) { Some(true) } else { a.0.and(b.0) };
            (truth, a.1.max(b.1), a.2.max(b.2))
        }),
        Formula::Atom(atom) => {
            let trace = &traces[atom.signal];
            let value = if atom.of == Of::Level { trace.value(tick) } else { trace.rate(tick, begin) };
            let Some(value) = value else { return (None, -FAR, FAR) };
            let over = value - atom.limit.to_f64() as i64 * TICKS;
            let (truth, margin) = match atom.relation {
                Relation::AtLeast => (over >= 0, over),
                Relation::Above => (over > 0, over),
                Relation::AtMost => (over <= 0, -over),
                Relation::Below => (over < 0, -over),
            };
            (Some(truth), margin, margin)
        }
    }
}

fn formula(rng: &mut Rng, depth: u8, rates: bool) -> Formula {
    let relations = [Relation::AtLeast, Relation::Above, Relation::AtMost, Relation::Below];
    let parts = |rng: &mut Rng| (0..rng.usize(1..=3)).map(|_| formula(rng, depth - 1, rates)).collect();
    match rng.u8(..if depth == 0 { 6 } else { 12 }) {
        0 if rng.u8(..4) == 0 => Formula::Unknown,
        0 => Formula::Known(rng.bool()),
        1..6 => {
            let of = if rates && rng.u8(..4) == 0 { Of::Rate } else { Of::Level };
            let most = if of == Of::Rate { 2 } else { 4 };
            Formula::Atom(Atom {
                signal: rng.usize(..2),
                of,
                relation: relations[rng.usize(..4)],
                limit: Number::from(rng.i64(-most..=most)),
            })
        }
        6 => Formula::Not(Box::new(formula(rng, depth - 1, rates))),
        7..9 => Formula::Or(parts(rng)),
        _ => Formula::And(parts(rng)),
    }
}

/// Of worths that all must be so: the least. Where some are not known, what may be is the greatest.
fn least(worths: impl Iterator<Item = Worth>) -> Worth {
    worths.fold((Some(true), FAR, FAR), |a, b| {
        let truth = if a.0 == Some(false) || b.0 == Some(false) { Some(false) } else { a.0.and(b.0) };
        (truth, a.1.min(b.1), a.2.min(b.2))
    })
}

fn greatest(worths: impl Iterator<Item = Worth>) -> Worth {
    let opposite = |(truth, low, high): Worth| (truth.map(|truth: bool| !truth), -high, -low);
    opposite(least(worths.map(opposite)))
}

/// The stretches, in ticks with both their ends, over which it is so.
fn runs(worths: &[Worth], counts: impl Fn(Option<bool>) -> bool) -> Vec<(i64, i64)> {
    let mut runs: Vec<(i64, i64)> = Vec::new();
    let mut goes_on = false;
    for (tick, worth) in (0..).zip(worths) {
        let (begin, end) = (tick - tick % 2, tick + tick % 2);
        match runs.last_mut() {
            _ if !counts(worth.0) => {}
            Some(run) if goes_on => run.1 = end,
            _ => runs.push((begin, end)),
        }
        goes_on = counts(worth.0);
    }
    runs
}

/// The first one of the longest.
fn longest(runs: &[(i64, i64)]) -> Option<(i64, i64)> {
    runs.iter().copied().rev().max_by_key(|(from, to)| to - from)
}

/// What the question asks of each tick of its window.
fn along(question: &Question, traces: &[Trace], from: i64, to: i64) -> Vec<Worth> {
    let begin = from * TICKS;
    let all = |formula: &Formula| -> Vec<Worth> {
        (begin..=to * TICKS).map(|tick| worth(formula, traces, tick, begin)).collect()
    };
    match question {
        Question::Throughout(formula) | Question::AtSomeMoment(formula) | Question::HeldFor(_, formula) => {
            all(formula)
        }
        Question::Until(before, then) => {
            let (before, then) = (all(before), all(then));
            (0..then.len()).map(|end| least(before[..=end].iter().copied().chain([then[end]]))).collect()
        }
    }
}

/// For each window of the duration, the least of it: `continuous` says that margins have no jumps, so that those at
/// the instants where something changes are all there are.
fn windows(worths: &[Worth], ticks: i64, continuous: bool) -> Vec<Worth> {
    let size = ticks as usize + 1;
    let inner = |window: &[Worth]| if continuous { 0..size } else { 1..window.len() - 1 };
    worths.windows(size).step_by(2).map(|window| least(window[inner(window)].iter().copied())).collect()
}

/// What resampling answers.
fn resampled(question: &Question, worths: &[Worth], continuous: bool) -> Worth {
    match question {
        Question::Throughout(_) => least(worths.iter().copied()),
        Question::AtSomeMoment(_) | Question::Until(..) => greatest(worths.iter().copied()),
        Question::HeldFor(duration, _) => {
            let ticks = in_ticks(*duration);
            let enough = |runs: &[(i64, i64)]| longest(runs).is_some_and(|(from, to)| to - from >= ticks);
            let surely = enough(&runs(worths, |truth| truth == Some(true)));
            let possibly = enough(&runs(worths, |truth| truth != Some(false)));
            let truth = if surely == possibly { Some(surely) } else { None };
            let margins = windows(worths, ticks, continuous).into_iter();
            let (_, low, high) =
                margins.fold((None, -FAR, -FAR), |a: Worth, b| (None, a.1.max(b.1), a.2.max(b.2)));
            (truth, low, high)
        }
    }
}

fn in_ticks(nanoseconds: i64) -> i64 {
    nanoseconds / 1_000_000_000 * TICKS
}

/// Stretches, margins in time and instants, where everything is known; instants where margins have no jumps, too.
fn assert_times(
    question: &Question,
    worths: &[Worth],
    answer: &Answer,
    from: i64,
    continuous: bool,
    told: impl Fn() -> String,
) {
    let nanoseconds =
        |ticks: i64| &Number::from(ticks) * &Number::ratio(1_000_000_000, TICKS.into()).unwrap();
    let instant = |tick: i64| nanoseconds(from * TICKS + tick);
    let wanted = !matches!(question, Question::Throughout(_));
    let runs = runs(worths, |truth| truth == Some(wanted));
    let length = |(from, to): (i64, i64)| to - from;
    let (run, time) = match question {
        Question::HeldFor(least, _) => {
            let run = longest(&runs);
            (run, Some(run.map_or(0, length) - in_ticks(*least)))
        }
        Question::Throughout(_) => (longest(&runs), longest(&runs).map(|run| -length(run))),
        Question::AtSomeMoment(_) | Question::Until(..) => {
            let run = runs.first().copied();
            (run, run.map(|(from, _)| worths.len() as i64 - 1 - from))
        }
    };
    assert_eq!(answer.stretch, run.map(|(from, to)| (instant(from), instant(to))), "{}", told());
    // Otherwise it depends on what is beside the window.
    if let Some(time) = time {
        let exact = TimeMargin { nanoseconds: nanoseconds(time), exactness: Exactness::Exact };
        assert_eq!(answer.time, Some(exact), "{}", told());
    }
    let outside = runs.into_iter().map(length).sum();
    assert_eq!(answer.outside, if wanted { Number::ZERO } else { nanoseconds(outside) }, "{}", told());
    if let Some(at) =
        answer.at.as_ref().filter(|_| continuous && worths.iter().all(|(_, low, high)| low == high))
    {
        let worths = match question {
            Question::HeldFor(duration, _) => windows(worths, in_ticks(*duration), true),
            _ => worths.iter().copied().step_by(2).collect(),
        };
        let margins = worths.iter().map(|worth| if wanted { worth.1 } else { -worth.1 });
        let best = margins.clone().max().unwrap();
        let first = margins.clone().position(|margin| margin == best).unwrap();
        assert_eq!(*at, instant(2 * first as i64), "{}", told());
    }
}

fn question(rng: &mut Rng, rates: bool) -> Question {
    let depth = rng.u8(..3);
    let mut one = || formula(rng, depth, rates);
    let (first, second) = (one(), one());
    match rng.u8(..4) {
        0 => Question::Throughout(first),
        1 => Question::AtSomeMoment(first),
        2 => Question::Until(first, second),
        _ => Question::HeldFor(rng.i64(1..=5) * 1_000_000_000, first),
    }
}

/// Compares `rounds` questions, and counts how many came out each way.
fn compare(seed: u64, rounds: usize, samplings: &[[Sampling; 2]]) -> [usize; 3] {
    let mut rng = Rng::with_seed(seed);
    let mut outcomes = [0; 3];
    for round in 0..rounds {
        let pair = samplings[round % samplings.len()];
        let mut traces = pair.map(|sampling| Trace::random(&mut rng, sampling, 14));
        let jumps = pair.contains(&Sampling::Held);
        if rng.bool() {
            traces.iter_mut().for_each(|trace| trace.largest_gap = None);
        }
        let rates = !jumps && rng.bool();
        let question = question(&mut rng, rates);
        let from = rng.i64(0..10);
        let to = from + rng.i64(0..8);
        let nanoseconds = |time: i64| time * 1_000_000_000;
        let known = |trace: &Trace| (from * TICKS..=to * TICKS).all(|tick| trace.value(tick).is_some());
        let holes = !traces.iter().all(known);
        let window = Window { from: nanoseconds(from), to: nanoseconds(to) };
        let signals = traces.iter().map(Trace::signal).collect();
        let answer = ask(signals, &question, window).unwrap();
        let told = || format!("round {round}: {question:?} from {from} to {to}\n{traces:?}\n{answer:?}");
        let even = pair[0] == pair[1];
        let worths = along(&question, &traces, from, to);
        let (truth, low, high) = resampled(&question, &worths, !jumps && !rates && !holes);
        assert_eq!(answer.truth, truth, "{}", told());
        if worths.iter().all(|worth| worth.0.is_some()) && !holes {
            assert_times(&question, &worths, &answer, from, !jumps && !rates, told);
        }
        outcomes[match truth {
            Some(false) => 0,
            None => 1,
            Some(true) => 2,
        }] += 1;
        let wanted = match (truth, &question) {
            (Some(false), _) | (None, Question::Throughout(_)) => high,
            _ => low,
        };
        let margin = answer.margin.as_ref().map(|margin| margin * &Number::from(TICKS));
        assert_eq!(margin.is_some(), wanted.abs() < FAR, "{}", told());
        let off = margin.map_or(Number::ZERO, |margin| (&margin - &Number::from(wanted)).abs());
        // Where margins have jumps and lines too, some are only approached, and the tick beside is as far off as a
        // slope of two a second leads.
        let exact = even && !holes && !rates;
        assert!(off <= Number::from(if exact { 0_i64 } else { 2 }), "{wanted} / 24, {}", told());
        assert!(!exact || answer.exact == (low == high), "{}", told());
        assert_eq!(answer.hole.is_some(), truth.is_none(), "{}", told());
    }
    outcomes
}

#[test]
fn lines_agree_with_dense_resampling() {
    let outcomes = compare(1, 12_000, &[[Sampling::Linear; 2]]);
    assert!(outcomes.iter().all(|count| *count > 1_000), "{outcomes:?}");
}

#[test]
fn held_values_and_mixtures_agree_with_dense_resampling() {
    let mixed = [Sampling::Linear, Sampling::Held];
    let outcomes = compare(2, 12_000, &[[Sampling::Held; 2], mixed]);
    assert!(outcomes.iter().all(|count| *count > 1_000), "{outcomes:?}");
}

/// Whole values at whole seconds that wander.
fn wandering(rng: &mut Rng, count: usize) -> Vec<i64> {
    let mut value = 0;
    (0..count)
        .map(|_| {
            value = (value + rng.i64(-3..=3)).clamp(-20, 20);
            value
        })
        .collect()
}

fn held_for(values: &[i64], sampling: Sampling, nanoseconds: i64, formula: Formula) -> Answer {
    let samples = (0..).zip(values).map(|(at, value)| (at, *value)).collect();
    let trace = Trace { samples, sampling, largest_gap: None };
    let window = Window { from: 0, to: (values.len() as i64 - 1) * 1_000_000_000 };
    ask(vec![trace.signal()], &Question::HeldFor(nanoseconds, formula), window).unwrap()
}

fn compared(relation: Relation, limit: i64) -> Formula {
    Formula::Atom(Atom { signal: 0, of: Of::Level, relation, limit: Number::from(limit) })
}

/// Of values that are held, each window of as many samples and half a second is searched.
#[test]
fn long_stretches_of_held_values_agree_with_a_search_through_each() {
    let mut rng = Rng::with_seed(3);
    for round in 0..300 {
        let values = wandering(&mut rng, 400);
        let whole = rng.usize(1..120);
        let formula = Formula::And(vec![compared(Relation::AtLeast, -5), compared(Relation::AtMost, 15)]);
        let margins: Vec<i64> = values.iter().map(|value| (value + 5).min(15 - value)).collect();
        let leasts = margins[..399].windows(whole + 1).map(|window| *window.iter().min().unwrap());
        let best = leasts.clone().max().unwrap();
        let first = leasts.clone().position(|least| least == best).unwrap() as i64;
        let answer = held_for(&values, Sampling::Held, whole as i64 * 1_000_000_000 + 500_000_000, formula);
        assert_eq!(answer.margin, Some(Number::from(best)), "{round}: {values:?} {whole}");
        assert_eq!(answer.at, Some(Number::from(first * 1_000_000_000)), "{round}: {values:?} {whole}");
    }
}

/// On straight lines a window that begins between two samples ends between two others: its least is that of two
/// lines and of what lies between, so that the greatest is at an end or where two of the three cross.
#[test]
fn long_stretches_of_lines_agree_with_a_search_through_each() {
    let mut rng = Rng::with_seed(4);
    for round in 0..300 {
        let values = wandering(&mut rng, 400);
        let whole = rng.usize(2..120);
        let line = |at: usize| [values[at], values[at + 1]].map(|value| Number::from(value + 5));
        let mut best: Option<Number> = None;
        for begin in 0..399 - whole {
            let (left, right) = (line(begin), line(begin + whole));
            let between = Number::from(values[begin + 1..=begin + whole].iter().min().unwrap() + 5);
            let on = |[from, to]: &[Number; 2], share: &Number| from + &(&(to - from) * share);
            let least = |share: &Number| on(&left, share).min(on(&right, share)).min(between.clone());
            let crossing = |a: &[Number; 2], b: &[Number; 2]| {
                let (start, end) = (&a[0] - &b[0], &a[1] - &b[1]);
                start
                    .checked_div(&(&start - &end))
                    .filter(|share| !share.is_negative() && *share <= Number::ONE)
            };
            let level = [between.clone(), between.clone()];
            let pairs = [(&left, &right), (&left, &level), (&right, &level)];
            let shares = pairs.into_iter().filter_map(|(a, b)| crossing(a, b));
            best = best.max(shares.chain([Number::ZERO, Number::ONE]).map(|share| least(&share)).max());
        }
        let duration = whole as i64 * 1_000_000_000;
        let answer = held_for(&values, Sampling::Linear, duration, compared(Relation::AtLeast, -5));
        assert_eq!(answer.margin, best, "{round}: {values:?} {whole}");
    }
}
