//! Signals against two public libraries, whose answers to seeded questions stand in `answers.txt`.
//!
//! `regenerate.py` says how the questions read as formulas of the libraries, what is left out and why, and writes
//! the answers anew; the generator below is the same as the one there, number by number.

use witnessmark::quantity::Number;
use witnessmark::signal::{
    Answer, Atom, Formula, Of, Question, Relation, Sample, Sampling, Signal, Window, ask,
};

const LAST: i64 = 128;
const SECOND: i64 = 1_000_000_000;

/// splitmix64 (Steele, Lea and Flood 2014; the constants from memory).
struct Generator(u64);

impl Generator {
    fn below(&mut self, limit: u64) -> i64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % limit) as i64
    }

    /// Samples as second and value.
    fn trace(&mut self, first_step: i64) -> Vec<(i64, i64)> {
        let mut samples = vec![(0, self.value())];
        let mut step = first_step;
        while samples.last().unwrap().0 < LAST {
            samples.push((samples.last().unwrap().0 + step, self.value()));
            step = 8 << self.below(3);
        }
        samples
    }

    fn value(&mut self) -> i64 {
        3 * (self.below(17) - 8)
    }

    fn formula(&mut self, depth: u8) -> Formula {
        const RELATIONS: [Relation; 4] =
            [Relation::AtLeast, Relation::Above, Relation::AtMost, Relation::Below];
        let kind = self.below(10);
        if depth == 0 || kind < 3 {
            let signal = self.below(2) as usize;
            let relation = RELATIONS[self.below(4) as usize];
            let limit = Number::from(3 * (self.below(15) - 7) + 1);
            return Formula::Atom(Atom { signal, of: Of::Level, relation, limit });
        }
        if kind == 3 {
            return Formula::Not(Box::new(self.formula(depth - 1)));
        }
        let parts = vec![self.formula(depth - 1), self.formula(depth - 1)];
        if kind < 7 { Formula::And(parts) } else { Formula::Or(parts) }
    }
}

/// Two traces and four questions about them.
struct Case {
    traces: [Vec<(i64, i64)>; 2],
    questions: [Question; 4],
    window: Window,
}

impl Case {
    fn next(generator: &mut Generator) -> Case {
        let traces = [generator.trace(8), generator.trace(4)];
        let (first, second) = (generator.formula(2), generator.formula(2));
        let from = 4 * generator.below(16) + 1;
        let width = 4 * generator.below(16) + 6;
        let hundredths = 400 * generator.below(((width - 2) / 4).unsigned_abs()) + 201;
        Case {
            traces,
            questions: [
                Question::Throughout(first.clone()),
                Question::AtSomeMoment(first.clone()),
                Question::HeldFor(hundredths * (SECOND / 100), first.clone()),
                Question::Until(first, second),
            ],
            window: Window { from: from * SECOND, to: (from + width) * SECOND },
        }
    }

    fn answer(&self, question: &Question, sampling: Sampling) -> Answer {
        let sample =
            |(second, value): &(i64, i64)| Ok(Sample { at: second * SECOND, value: Number::from(*value) });
        let signal = |trace: &Vec<(i64, i64)>| {
            let samples: Vec<_> = trace.iter().map(sample).collect();
            Signal { samples: samples.into_iter(), sampling, largest_gap: None }
        };
        ask(self.traces.iter().map(signal).collect(), question, self.window).unwrap()
    }
}

/// With held values by truth and margin, on straight lines by truth.
#[test]
fn two_libraries_give_the_same_answers() {
    let mut lines = include_str!("answers.txt").lines().filter(|line| !line.starts_with('#'));
    let head: Vec<&str> = lines.next().unwrap().split(' ').collect();
    let ["seed", seed, "traces", traces] = head[..] else { panic!("{head:?}") };
    let mut generator = Generator(seed.parse().unwrap());
    let mut truths = [[0; 2]; 4];
    let mut count = 0;
    for line in lines {
        let case = Case::next(&mut generator);
        let mut words = line.split(' ');
        for (number, question) in case.questions.iter().enumerate() {
            let margin: i64 = words.next().unwrap().parse().unwrap();
            let held = case.answer(question, Sampling::Held);
            let told = || format!("{question:?} {:?}\n{:?}\n{held:?}", case.window, case.traces);
            assert_eq!(
                (held.truth, held.margin.clone()),
                (Some(margin > 0), Some(Number::from(margin))),
                "{}",
                told()
            );
            assert!(held.exact, "{}", told());
            truths[number][usize::from(margin > 0)] += 1;
        }
        let on_lines = words.next().unwrap();
        for (question, wanted) in case.questions.iter().zip(on_lines.chars()) {
            let line = case.answer(question, Sampling::Linear);
            assert_eq!(line.truth, Some(wanted == 'y'), "{question:?} {:?}\n{:?}", case.window, case.traces);
        }
        assert_eq!((on_lines.len(), words.next()), (4, None));
        count += 1;
    }
    assert_eq!(count, traces.parse::<i32>().unwrap());
    assert!(truths.as_flattened().iter().all(|truth| *truth > 1_000), "{truths:?}");
}
