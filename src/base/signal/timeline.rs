//! Several signals as one run of time: instants at which one of them has a sample, and the open stretches
//! between, over which each of them is a straight line or unknown.

use std::collections::VecDeque;

use super::{Missing, Sample, Sampling, Signal, Window};
use crate::code;
use crate::diagnostic::Fault;
use crate::quantity::Number;

/// An instant, or an open stretch between two, with what each signal is there.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// Its beginning.
    pub from: i64,
    /// Its end; of an instant its beginning.
    pub to: i64,
    length: Number,
    states: Vec<State>,
}

/// What a signal is over a stretch.
#[derive(Clone, Debug)]
pub(super) enum State {
    /// A straight line.
    Known {
        /// Its limit at the beginning.
        start: Number,
        /// Its limit at the end.
        end: Number,
        /// Its slope per second; zero where nobody asks for it.
        rate: Result<Number, Missing>,
    },
    /// Not known.
    Missing(Missing),
}

impl Stretch {
    /// Whether it is an instant.
    pub fn is_instant(&self) -> bool {
        self.from == self.to
    }

    /// Its length in nanoseconds.
    pub fn length(&self) -> &Number {
        &self.length
    }

    /// What each signal is, by their numbers.
    pub fn states(&self) -> &[State] {
        &self.states
    }

    /// What is missing of the first signal that is not wholly known.
    pub fn missing(&self) -> Option<Missing> {
        self.states.iter().find_map(|state| match state {
            State::Missing(why) | State::Known { rate: Err(why), .. } => Some(*why),
            State::Known { rate: Ok(_), .. } => None,
        })
    }

    /// The values of the signals at an instant, counted from the beginning.
    pub fn values(&self, at: &Number) -> Vec<Option<Number>> {
        let value = |state: &State| match state {
            State::Known { start, end, .. } => Some(straight(start, end, at, &self.length)),
            State::Missing(_) => None,
        };
        self.states.iter().map(value).collect()
    }
}

/// A straight line from `start` to `end` after `at` of `length`.
fn straight(start: &Number, end: &Number, at: &Number, length: &Number) -> Number {
    let rise = (&(end - start) * at).checked_div(length);
    rise.map_or_else(|| start.clone(), |rise| (start + &rise).reduced())
}

/// The nanoseconds from one instant to a later one.
fn between(from: i64, to: i64) -> Number {
    &Number::from(to) - &Number::from(from)
}

/// Walks along the samples of several signals.
pub(super) struct Timeline<I> {
    cursors: Vec<Cursor<I>>,
    window: Window,
    /// Whether the stretch to be walked next is open.
    opens: bool,
    stretch: Stretch,
}

impl<I: Iterator<Item = Result<Sample, Fault>>> Timeline<I> {
    /// Begins at the first sample, or with the window where that comes first. `wants_rate` says of which
    /// signals the rate is asked for, `keeps` whether samples are kept to be walked along [again](Self::again).
    ///
    /// # Errors
    /// A fault of a reader among the first samples.
    pub fn new(
        signals: Vec<Signal<I>>,
        window: Window,
        wants_rate: impl Fn(usize) -> bool,
        keeps: bool,
    ) -> Result<Self, Fault> {
        let cursors = signals
            .into_iter()
            .enumerate()
            .map(|(number, signal)| Cursor::new(number, signal, wants_rate(number), keeps))
            .collect::<Result<Vec<_>, _>>()?;
        let firsts = cursors.iter().filter_map(|cursor| cursor.next.as_ref().map(|sample| sample.at));
        let from = firsts.min().unwrap_or(window.from).min(window.from);
        let stretch = Stretch { from, to: from, length: Number::ZERO, states: Vec::new() };
        Ok(Timeline { cursors, window, opens: false, stretch })
    }

    /// Where the walk stands.
    pub fn stretch(&self) -> &Stretch {
        &self.stretch
    }

    /// Goes on to the next instant or open stretch; the first one is an instant. `false` behind the end of
    /// all signals and of the window.
    ///
    /// # Errors
    /// A fault of a reader; a sample that does not come after the one before.
    pub fn advance(&mut self) -> Result<bool, Fault> {
        let now = self.stretch.to;
        if self.opens {
            let Some(to) = self.next_instant() else { return Ok(false) };
            self.stretch.from = now;
            self.stretch.to = to;
            self.stretch.length = between(now, to);
            self.stretch.states.clear();
            self.stretch.states.extend(self.cursors.iter().map(|cursor| cursor.over(now, to)));
        } else {
            self.stretch.from = now;
            self.stretch.length = Number::ZERO;
            self.stretch.states.clear();
            let begins = now == self.window.from;
            for cursor in &mut self.cursors {
                cursor.reach(now)?;
                self.stretch.states.push(cursor.at(now, begins));
            }
        }
        self.opens = !self.opens;
        Ok(true)
    }

    /// Behind where the walk stands.
    fn next_instant(&self) -> Option<i64> {
        let now = self.stretch.to;
        let mut next = None;
        let mut look = |at: i64| next = Some(next.map_or(at, |next: i64| next.min(at)));
        self.cursors.iter().filter_map(|cursor| cursor.next.as_ref()).for_each(|sample| look(sample.at));
        [self.window.from, self.window.to].into_iter().filter(|edge| *edge > now).for_each(look);
        next
    }

    /// The next instant, where the walk stands at one.
    pub fn ahead(&self) -> Option<i64> {
        if self.opens { self.next_instant() } else { None }
    }

    /// Whether all signals are known between where the walk stands and the next instant.
    pub fn is_known_ahead(&self) -> bool {
        self.cursors.iter().all(|cursor| cursor.around().is_ok())
    }

    /// Goes to the instant [`ahead`](Self::ahead) without a look at what lies between, and at the instant.
    ///
    /// # Errors
    /// Those of [`advance`](Self::advance).
    pub fn leap(&mut self, to: i64) -> Result<(), Fault> {
        self.stretch.from = to;
        self.stretch.to = to;
        self.cursors.iter_mut().try_for_each(|cursor| cursor.reach(to))
    }

    /// Two values, the lower one first, between which a signal that is known ahead stays from where the walk
    /// stands to the next instant.
    pub fn ends(&self, signal: usize) -> Option<[&Number; 2]> {
        self.cursors.get(signal)?.ends()
    }

    /// The same for where the walk stands alone.
    pub fn ends_now(&self, signal: usize) -> Option<[&Number; 2]> {
        let cursor = self.cursors.get(signal)?;
        let sample = cursor.last.as_ref().filter(|last| last.at == self.stretch.to);
        sample.map(|last| [&last.value; 2]).or_else(|| cursor.ends())
    }

    /// Forgets the samples that are not needed to walk again from `since` on.
    pub fn forget_before(&mut self, since: i64) {
        for cursor in &mut self.cursors {
            while cursor.kept.get(1).is_some_and(|second| second.at <= since) {
                cursor.kept.pop_front();
            }
        }
    }

    /// The walk from `since` to where this one stands once more, over which all signals are known.
    ///
    /// # Errors
    /// None but those of [`new`](Self::new).
    pub fn again(&self, since: i64) -> Result<Timeline<impl Iterator<Item = Result<Sample, Fault>>>, Fault> {
        let signal = |cursor: &Cursor<I>| {
            let samples: Vec<_> = cursor.kept.iter().chain(&cursor.next).cloned().map(Ok).collect();
            Signal { samples: samples.into_iter(), sampling: cursor.sampling, largest_gap: None }
        };
        let window = Window { from: since, to: self.stretch.to };
        Timeline::new(self.cursors.iter().map(signal).collect(), window, |_| false, false)
    }
}

/// One signal, and where the walk stands in it.
struct Cursor<I> {
    number: usize,
    samples: I,
    sampling: Sampling,
    largest_gap: Option<i64>,
    wants_rate: bool,
    /// The last sample that was reached.
    last: Option<Sample>,
    /// The one behind it.
    next: Option<Sample>,
    /// Whether there may be more.
    more: bool,
    /// Whether the value behind the last sample falls.
    falls: bool,
    /// Samples that were reached, where they are to be `kept`.
    kept: VecDeque<Sample>,
    keeps: bool,
    /// The slope per second before the last sample and behind it, where it is asked for.
    rates: [Result<Number, Missing>; 2],
}

impl<I: Iterator<Item = Result<Sample, Fault>>> Cursor<I> {
    fn new(number: usize, signal: Signal<I>, wants_rate: bool, keeps: bool) -> Result<Self, Fault> {
        let Signal { samples, sampling, largest_gap } = signal;
        let mut cursor = Cursor {
            number,
            samples,
            sampling,
            largest_gap,
            wants_rate,
            last: None,
            next: None,
            more: true,
            falls: false,
            kept: VecDeque::new(),
            keeps,
            rates: [Err(Missing::BeforeData(number)), Err(Missing::BeforeData(number))],
        };
        cursor.next = cursor.samples.next().transpose()?;
        cursor.more = cursor.next.is_some();
        Ok(cursor)
    }

    /// Takes the sample at `now`, if there is one.
    fn reach(&mut self, now: i64) -> Result<(), Fault> {
        if self.next.as_ref().is_none_or(|next| next.at > now) {
            return Ok(());
        }
        self.last = self.next.take();
        if self.more {
            self.next = self.samples.next().transpose()?;
            self.more = self.next.is_some();
        }
        if let (Some(last), Some(next)) = (&self.last, &self.next)
            && next.at <= last.at
        {
            return Err(Fault::new(code::LOG_TIME_ORDER, "a sample does not come after the one before it")
                .help("bring the samples into the order of their times, each time once"));
        }
        if self.keeps {
            self.kept.extend(self.last.clone());
        }
        if let (Some(last), Some(next)) = (&self.last, &self.next) {
            self.falls = next.value < last.value;
        }
        if self.wants_rate {
            self.rates.rotate_left(1);
            self.rates[1] = self.rate();
        }
        Ok(())
    }

    /// The slope per second behind the last sample.
    fn rate(&self) -> Result<Number, Missing> {
        const SECOND: i64 = 1_000_000_000;
        let (last, next) = self.around()?;
        if self.sampling == Sampling::Held {
            return Ok(Number::ZERO);
        }
        let rise = &(&next.value - &last.value) * &Number::from(SECOND);
        Ok(rise.checked_div(&between(last.at, next.at)).unwrap_or(Number::ZERO).reduced())
    }

    /// The values of the samples around, the lower one first.
    fn ends(&self) -> Option<[&Number; 2]> {
        let (last, next) = (&self.last.as_ref()?.value, &self.next.as_ref()?.value);
        Some(if self.falls { [next, last] } else { [last, next] })
    }

    fn is_gap(&self, last: &Sample, next: &Sample) -> bool {
        let apart = i128::from(next.at) - i128::from(last.at);
        self.largest_gap.is_some_and(|largest| apart > i128::from(largest))
    }

    /// The two samples that the walk is between.
    fn around(&self) -> Result<(&Sample, &Sample), Missing> {
        match (&self.last, &self.next) {
            (None, _) => Err(Missing::BeforeData(self.number)),
            (Some(_), None) => Err(Missing::AfterData(self.number)),
            (Some(last), Some(next)) if self.is_gap(last, next) => Err(Missing::Gap(self.number)),
            (Some(last), Some(next)) => Ok((last, next)),
        }
    }

    /// What it is at an instant. The rate at a sample is that before it, or that behind it where the
    /// window `begins` there or nothing is known before.
    fn at(&self, now: i64, begins: bool) -> State {
        let [before, behind] = &self.rates;
        let (first, second) = if begins { (behind, before) } else { (before, behind) };
        match &self.last {
            Some(last) if last.at == now => State::Known {
                start: last.value.clone(),
                end: last.value.clone(),
                rate: if self.wants_rate {
                    first.clone().or_else(|_| second.clone())
                } else {
                    Ok(Number::ZERO)
                },
            },
            _ => self.over(now, now),
        }
    }

    /// What it is between two instants without a sample between them.
    fn over(&self, from: i64, to: i64) -> State {
        let (last, next) = match self.around() {
            Ok(around) => around,
            Err(why) => return State::Missing(why),
        };
        let rate = if self.wants_rate { self.rates[1].clone() } else { Ok(Number::ZERO) };
        if self.sampling == Sampling::Held {
            return State::Known { start: last.value.clone(), end: last.value.clone(), rate };
        }
        let value = |at: i64| match at {
            at if at == last.at => last.value.clone(),
            at if at == next.at => next.value.clone(),
            at => straight(&last.value, &next.value, &between(last.at, at), &between(last.at, next.at)),
        };
        State::Known { start: value(from), end: value(to), rate }
    }
}
