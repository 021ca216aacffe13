//! A second evaluator, written apart from the real one and as plainly as can be, and generated programs
//! and records on which the two must agree.
//!
//! `NAIVE_PAIRS` sets how many pairs of a program and a record are judged, `NAIVE_SEED` where the
//! seeds begin.

#![expect(clippy::expect_used, reason = "a test fails by panicking")]

mod case;
mod claims;
mod constants;
mod counts;
mod definitions;
mod evaluate;
mod expression;
mod fields;
mod figures;
mod judge;
mod judged;
mod lookup;
mod mutation;
mod order;
pub mod program;
mod records;
mod value;

use std::sync::Mutex;

use case::{Failure, Met, Opened, program_of, run};
use figures::{exact, units};
use mutation::{ALL, Mutation};
use program::{Program, RuleText};
use records::{Recorder, filled, record, yaml};

/// Records for each program.
const RECORDS: usize = 4;
/// Failures that are told of in one run.
const SHOWN: usize = 400;

fn setting(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

fn programs() -> u64 {
    setting("NAIVE_PAIRS", 5_000) / RECORDS as u64
}

fn seeds() -> std::ops::Range<u64> {
    let first = setting("NAIVE_SEED", 0);
    first..first + programs()
}

/// Runs `one` for every seed on two threads and gives what they came to.
fn on_all_seeds<T: Send>(one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    on_seeds(seeds(), one)
}

fn on_seeds<T: Send>(seeds: std::ops::Range<u64>, one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let (first, last) = (seeds.start, seeds.end);
    let half = first + (last - first) / 2;
    std::thread::scope(|scope| {
        let one = &one;
        let parts =
            [first..half, half..last].map(|part| scope.spawn(move || part.map(one).collect::<Vec<T>>()));
        parts.into_iter().flat_map(|part| part.join().expect("a thread of the test")).collect()
    })
}

#[test]
fn both_evaluators_agree_on_generated_programs_and_records() {
    let results = on_all_seeds(|seed| {
        let mut met = Met::default();
        run(seed, RECORDS, &mut met).map(|()| met)
    });
    let failures: Vec<&Box<Failure>> = results.iter().filter_map(|result| result.as_ref().err()).collect();
    if let Some(first) = failures.first() {
        let shown: Vec<String> = failures.iter().take(SHOWN).map(|failure| failure.short()).collect();
        let (number, of) = (failures.len(), results.len());
        panic!(
            "{number} of {of} programs fail:\n{}\n\nthe first as small as it goes: {}",
            shown.join("\n"),
            first.long()
        );
    }
    let mut sum = Met::default();
    for met in results.into_iter().flatten() {
        sum.pairs += met.pairs;
        sum.margins += met.margins;
        sum.passed += met.passed;
        sum.judged += met.judged;
        sum.unjudged += met.unjudged;
        met.outcomes.iter().zip(&mut sum.outcomes).for_each(|(number, sum)| *sum += number);
    }
    // Few programs have a constant without a value.
    assert!(sum.pairs > programs() * RECORDS as u64 * 8 / 10, "{sum:?}");
    // Every outcome comes up often, or the comparison says little.
    let often = sum.outcomes.iter().all(|number| *number > sum.pairs / 2);
    assert!(sum.judged > sum.pairs / 2 && sum.unjudged > sum.pairs, "{sum:?}");
    assert!(often && sum.margins > sum.pairs / 20 && sum.passed > sum.pairs / 20, "{sum:?}");
}

#[test]
fn every_mutation_of_the_naive_evaluator_is_caught() {
    let missed = Mutex::new(ALL.to_vec());
    // It ends with the last of them, mostly long before this.
    let most = seeds().start..seeds().start + programs().max(12_000);
    on_seeds(most, |seed| {
        let left = missed.lock().expect("no thread has failed").clone();
        if left.is_empty() {
            return;
        }
        let (program, mut rng) = program_of(seed);
        let limits = program.limits.clone();
        let Ok(Some(opened)) = Opened::new(program) else { return };
        for _ in 0..RECORDS {
            let text = yaml(&record(&mut rng, &limits).0);
            let Ok(real) = opened.real(&text) else { continue };
            let caught = |mutation| {
                let naive = opened.naive(&text, mutation);
                opened.agree(&real, &naive, &mut Met::default()).is_err()
            };
            if !caught(None) {
                let caught: Vec<Mutation> = left.iter().copied().filter(|m| caught(Some(*m))).collect();
                missed.lock().expect("no thread has failed").retain(|mutation| !caught.contains(mutation));
            }
        }
    });
    let missed = missed.into_inner().expect("no thread has failed");
    assert!(missed.is_empty(), "never caught: {missed:?}");
}

/// Strong Kleene logic is monotone: what is decided stays decided when more is known.
#[test]
fn a_value_more_never_changes_what_was_decided() {
    let results = on_all_seeds(|seed| {
        let (program, mut rng) = program_of(seed);
        if !program.monotone || program.condition.is_some() {
            return Ok(0);
        }
        let limits = program.limits.clone();
        let Ok(Some(opened)) = Opened::new(program) else { return Ok(0) };
        let mut grown = 0;
        for _ in 0..RECORDS {
            let (node, _) = record(&mut rng, &limits);
            let mut recorder = Recorder { rng: &mut rng, limits: &limits, there: 100, spoilt: 0 };
            let Some(more) = filled(&node, "root", &mut recorder) else { continue };
            grown += 1;
            let (before, after) = (yaml(&node), yaml(&more));
            let told = |what: String| {
                format!(
                    "seed {seed}: {what}\n{}\n--- before ---\n{before}\n--- after ---\n{after}",
                    opened.program.text()
                )
            };
            let (one, two) = (opened.real(&before).map_err(&told)?, opened.real(&after).map_err(&told)?);
            for ((rule, less), (_, more)) in opened.tallies(&one).iter().zip(&opened.tallies(&two)) {
                // What is met either way may turn out to be none of the rule's concern: then nothing is
                // said of its demands any more. Nothing that is to be held may come of it.
                let chooses = opened.program.rules.iter().any(|known| known.name == *rule && known.chooses());
                let met = chooses || more[0] >= less[0];
                let clean = less[1] + less[2] > 0 || more[1] + more[2] == 0;
                if !met || !clean || [1, 3].iter().any(|decided| more[*decided] < less[*decided]) {
                    return Err(told(format!("{rule} was {less:?} and is {more:?} with a value more")));
                }
            }
            for finding in one.findings.iter().filter(|f| f.outcome == witnessmark::finding::Outcome::Broken)
            {
                // Another demand of the rule may now be the one that says it of the same place.
                let still = two.findings.iter().any(|other| {
                    (&other.rule, other.outcome, &other.message)
                        == (&finding.rule, finding.outcome, &finding.message)
                });
                if !still {
                    return Err(told(format!("{} on {} is no longer broken", finding.rule, finding.subject)));
                }
            }
        }
        Ok(grown)
    });
    let grown: Result<Vec<u64>, String> = results.into_iter().collect();
    let grown: u64 = grown.unwrap_or_else(|failure| panic!("{failure}")).iter().sum();
    assert!(grown > programs() / 5, "only {grown} records could grow");
}

/// The small table of units here against the real one, so that a slip in either is told as such.
#[test]
fn the_units_of_the_naive_evaluator_are_the_real_ones() {
    for unit in units() {
        for spelling in unit.spellings {
            let real =
                witnessmark::quantity::Quantity::parse(&format!("7.25 {spelling}"), None).expect("a unit");
            let naive = exact("7.25") * &unit.size + &unit.zero;
            assert!(case::equal(&real.base(), &naive), "{spelling}: {:?} and {naive}", real.base());
        }
    }
}

/// Cases on which the two once did not agree, or that the parser once refused.
#[test]
fn what_was_found_stays_mended() {
    let times = "job: { opened: \"2026-03-01T17:30:00Z\", closed: \"2026-03-01T17:30:00\" }\n";
    let cases = [
        ("job.closed is job.opened", times, [1, 0, 0, 0]),
        ("job.closed is not one of (job.opened)", times, [0, 1, 0, 0]),
        ("vehicle.odometer at least\n      vehicle.odometer", "vehicle: { odometer: 5 km }\n", [1, 0, 0, 0]),
        ("12 in·lbf is 1 lbf·ft and 12 in lbf is 1 ft·lbf", "", [1, 0, 0, 0]),
    ];
    for (demand, record, tally) in cases {
        let demands = vec![demand.to_owned()];
        let lets = Vec::new();
        let rule = RuleText {
            name: "mended".to_owned(),
            concerns: None,
            lets,
            demands,
            period: None,
            unrecorded: None,
        };
        let opened = Opened::new(Program::of(rule)).unwrap_or_else(|failure| panic!("{demand}: {failure}"));
        let opened = opened.expect("nothing without a value");
        let real = opened.real(&format!("form: job/1\n{record}")).expect("a record that can be read");
        assert_eq!(opened.tallies(&real), [("mended".to_owned(), tally)], "{demand}");
    }
}
