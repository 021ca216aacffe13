//! How fast questions about signals are answered: `cargo bench --profile dist --bench signal`.
//!
//! A log of a temperature in hundredths of a degree, ten samples a second, is asked in interleaved rounds; each
//! figure is the least of its rounds, because other work on the machine only ever adds. The floor is one pass over the same exact samples that only compares them
//! with both limits. Beside it stands what a user would write at first: for each instant the least margin of
//! the window behind it, looked for among the samples in floating point.
//!
//! For a profiler, `cargo bench --profile dist --bench signal -- only TEXT` does nothing but the work whose label holds the text.
#![expect(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program for developers stops where something fails, prints, and reads the clock"
)]

use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

use jiff::tz::TimeZone;
use witnessmark::diagnostic::Fault;
use witnessmark::quantity::{KindName, Number};
use witnessmark::signal::csv::CsvLog;
use witnessmark::signal::{
    Answer, Atom, Formula, Of, Question, Relation, Sample, Sampling, Signal, Window, ask,
};

const ROUNDS: usize = 9;
/// The nanoseconds between two samples.
const STEP: i64 = 100_000_000;
const MILLION: usize = 1_000_000;
/// On so few samples the naive search through each window is done.
const FEW: usize = 20_000;

fn main() {
    let (log, short) = (walk(2 * MILLION), walk(MILLION));
    let walk: Vec<Sample> = read(&log).map(Result::unwrap).collect();
    let rise = rise(MILLION);
    let ask_walk = |samples: usize, question: Question| {
        let walk = &walk[..samples];
        move || truth(&answer(walk, Sampling::Linear, &question))
    };
    let works: Vec<Work<'_>> = vec![
        work("floor: both limits compared", MILLION, || compared(&walk[..MILLION])),
        work("throughout, left now and then", MILLION / 2, ask_walk(MILLION / 2, left())),
        work("throughout, left now and then", MILLION, ask_walk(MILLION, left())),
        work("throughout, left now and then", 2 * MILLION, ask_walk(2 * MILLION, left())),
        work("throughout, always kept", MILLION, ask_walk(MILLION, Question::Throughout(band(30, 50)))),
        work("held for 100 samples", MILLION, ask_walk(MILLION, held(100))),
        work("held for 1,000", MILLION, ask_walk(MILLION, held(1_000))),
        work("held for 10,000", MILLION / 2, ask_walk(MILLION / 2, held(10_000))),
        work("held for 10,000", MILLION, ask_walk(MILLION, held(10_000))),
        work("held for 10,000", 2 * MILLION, ask_walk(2 * MILLION, held(10_000))),
        work("held for 100,000", MILLION, ask_walk(MILLION, held(100_000))),
        work("held for 10,000, values held", MILLION, || {
            truth(&answer(&walk[..MILLION], Sampling::Held, &held(10_000)))
        }),
        work("held for 10,000, each window the best so far", MILLION, || {
            truth(&answer(&rise, Sampling::Linear, &held(10_000)))
        }),
        work("held for 10,000, while the CSV file is read", MILLION, || {
            truth(&asked(read(&short), walk[MILLION - 1].at, Sampling::Linear, &held(10_000)))
        }),
        work("held for 10,000, few samples", FEW, ask_walk(FEW, held(10_000))),
        work("naive: each window of 10,000 searched", FEW, || naive(&walk[..FEW], 10_000)),
    ];
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(at) = arguments.iter().position(|argument| argument == "only") {
        least(&works.into_iter().filter(|work| work.label.contains(&arguments[at + 1])).collect::<Vec<_>>());
        return;
    }
    let times = least(&works);
    println!("{:<48}{:>12}{:>10}{:>12}{:>9}", "", "samples", "ms", "ns/sample", "× floor");
    let each = |at: usize| times[at].as_secs_f64() * 1e9 / works[at].samples as f64;
    for (at, work) in works.iter().enumerate() {
        println!(
            "{:<48}{:>12}{:>10.1}{:>12.1}{:>9.1}",
            work.label,
            work.samples,
            times[at].as_secs_f64() * 1e3,
            each(at),
            each(at) / each(0)
        );
    }
    println!();
    let ratio = |label: &str, one: usize, other: usize| {
        println!("{label:<72}{:>9.2}", times[one].as_secs_f64() / times[other].as_secs_f64());
    };
    ratio("throughout: 1,000,000 samples to 500,000", 2, 1);
    ratio("throughout: 2,000,000 samples to 1,000,000", 3, 2);
    ratio("held for 10,000: 1,000,000 samples to 500,000", 8, 7);
    ratio("held for 10,000: 2,000,000 samples to 1,000,000", 9, 8);
    ratio("held for 1,000 to 100, 1,000,000 samples", 6, 5);
    ratio("held for 10,000 to 1,000", 8, 6);
    ratio("held for 100,000 to 10,000", 10, 8);
    ratio("naive to held for 10,000, few samples", 15, 14);
    let goal = times[8].max(times[2]).as_secs_f64();
    let verdict = if goal < 0.2 { "kept" } else { "missed" };
    println!("\n1,000,000 samples, a window of 10,000: {goal:.3} s; goal below 0.2 s: {verdict}");
}

/// Something to measure.
struct Work<'w> {
    label: &'static str,
    samples: usize,
    run: Box<dyn Fn() -> bool + 'w>,
}

fn work<'w>(label: &'static str, samples: usize, run: impl Fn() -> bool + 'w) -> Work<'w> {
    Work { label, samples, run: Box::new(run) }
}

fn least(works: &[Work<'_>]) -> Vec<Duration> {
    let mut times = vec![Duration::MAX; works.len()];
    for _ in 0..ROUNDS {
        for (work, least) in works.iter().zip(&mut times) {
            let start = Instant::now();
            black_box((work.run)());
            *least = start.elapsed().min(*least);
        }
    }
    times
}

/// The log of a temperature that wanders between 34 and 46 °C and crosses the middle of its window often.
fn walk(count: usize) -> String {
    let mut rng = fastrand::Rng::with_seed(7);
    let mut hundredths = 4_000_i64;
    let mut log = String::from("time [s],temperature [°C]\n");
    for number in 0..count {
        hundredths = (hundredths + rng.i64(-9..=9)).clamp(3_400, 4_600);
        let (seconds, degrees) = (number / 10, hundredths / 100);
        writeln!(log, "{seconds}.{},{degrees}.{:02}", number % 10, hundredths % 100).unwrap();
    }
    log
}

fn read(log: &str) -> impl Iterator<Item = Result<Sample, Fault>> {
    let kind = KindName::Temperature.into();
    CsvLog::open(log.as_bytes(), "temperature", kind, &TimeZone::UTC, Some(0)).unwrap()
}

/// A temperature that comes nearer to the middle of its window all along.
fn rise(count: usize) -> Vec<Sample> {
    (0..)
        .take(count)
        .map(|number| {
            let value = &Number::from(303_i64) + &Number::ratio(number.into(), 100_000).unwrap();
            Sample { at: number * STEP, value: value.reduced() }
        })
        .collect()
}

fn kelvin(degrees: i64) -> Number {
    &Number::from(degrees) + &Number::parse("273.15").unwrap()
}

fn band(low: i64, high: i64) -> Formula {
    let atom = |relation, degrees: i64| {
        Formula::Atom(Atom { signal: 0, of: Of::Level, relation, limit: kelvin(degrees) })
    };
    Formula::And(vec![atom(Relation::AtLeast, low), atom(Relation::AtMost, high)])
}

fn left() -> Question {
    Question::Throughout(band(35, 45))
}

fn held(samples: i64) -> Question {
    Question::HeldFor(samples * STEP, band(35, 45))
}

fn answer(samples: &[Sample], sampling: Sampling, question: &Question) -> Answer {
    asked(samples.iter().cloned().map(Ok), samples.last().unwrap().at, sampling, question)
}

fn asked<I>(samples: I, to: i64, sampling: Sampling, question: &Question) -> Answer
where
    I: Iterator<Item = Result<Sample, Fault>>,
{
    let window = Window { from: 0, to };
    ask(vec![Signal { samples, sampling, largest_gap: Some(10 * STEP) }], question, window).unwrap()
}

fn truth(answer: &Answer) -> bool {
    answer.truth.unwrap()
}

fn compared(samples: &[Sample]) -> bool {
    let (low, high) = (kelvin(35), kelvin(45));
    samples.iter().filter(|sample| sample.value >= low && sample.value <= high).count() > 0
}

fn naive(samples: &[Sample], window: usize) -> bool {
    let (low, high) = (kelvin(35).to_f64(), kelvin(45).to_f64());
    let margins: Vec<f64> = samples
        .iter()
        .map(|sample| sample.value.to_f64())
        .map(|value| (value - low).min(high - value))
        .collect();
    let worst = |window: &[f64]| window.iter().copied().fold(f64::INFINITY, f64::min);
    margins.windows(window + 1).map(worst).fold(f64::NEG_INFINITY, f64::max) >= 0.0
}
