//! Asks a question of signals: one pass over their samples, and the answer out of what was found.
//!
//! What must hold throughout is looked for by its opposite: a question is always where, for how long and
//! how clearly something is true. While everything is known, one search tells it; from the first stretch
//! on that is not known there are two, one for what is surely so and one for what may be.

use super::formula::Node;
use super::held::Held;
use super::seek::{Best, Seek, Sought, When, duration};
use super::timeline::{Stretch, Timeline};
use super::{Answer, Exactness, Hole, Missing, Question, Sample, Signal, TimeMargin, Window};
use crate::code;
use crate::diagnostic::Fault;
use crate::quantity::Number;

/// Asks a question of signals over a window.
///
/// The samples are read once, from the first one on, and behind the window only as far as the margin in
/// time needs them.
///
/// # Errors
/// A window that ends before it begins; samples that do not rise in time; the first fault of a reader.
pub fn ask<I>(signals: Vec<Signal<I>>, question: &Question, window: Window) -> Result<Answer, Fault>
where
    I: Iterator<Item = Result<Sample, Fault>>,
{
    if window.to < window.from {
        return Err(Fault::new(code::LOG_WINDOW, "the stretch of time ends before it begins")
            .help("look whether its two times were mixed up"));
    }
    let (sought, mut held) = sought(question, window);
    let has_unknown = sought.has_unknown(signals.len());
    let leaps = !(0..signals.len()).any(|signal| sought.has_rate_of(signal));
    if let Some(held) = held.as_mut().filter(|_| !leaps) {
        held.wake();
    }
    let keeps = held.is_some() && leaps;
    let mut timeline = Timeline::new(signals, window, |signal| sought.has_rate_of(signal), keeps)?;
    let begin = timeline.stretch().from;
    let looks_before = matches!(question, Question::Throughout(_));
    let mut search = Search { sure: Seek::new(&sought, held), possible: None, hole: None };
    loop {
        while leaps && search.leap(&mut timeline, window, looks_before)? {}
        if !timeline.advance()? {
            break;
        }
        let stretch = timeline.stretch();
        match When::of(stretch.from, stretch.to, window) {
            When::Before if !looks_before => {}
            When::After if search.is_settled() => break,
            when => search.see(stretch, when, has_unknown),
        }
    }
    let data = (begin, timeline.stretch().to);
    Ok(search.answer(question, window, data))
}

/// What is looked for, and the duration over which it must be found.
fn sought(question: &Question, window: Window) -> (Sought, Option<Held>) {
    let mut atoms = 0;
    let mut node = |formula, opposite| Node::new(formula, opposite, &mut atoms);
    match question {
        Question::Throughout(formula) => (Sought::Holds(node(formula, true)), None),
        Question::AtSomeMoment(formula) => (Sought::Holds(node(formula, false)), None),
        Question::HeldFor(duration, formula) => {
            let held = (*duration > 0).then(|| Held::new(*duration, window.from));
            (Sought::Holds(node(formula, false)), held)
        }
        Question::Until(before, then) => {
            let before = node(before, false);
            (Sought::Until(before, node(then, false)), None)
        }
    }
}

/// A search that becomes two where something is not known.
struct Search<'q> {
    /// Finds what is surely so.
    sure: Seek<'q>,
    /// Finds what may be so; the same as the other one while everything is known.
    possible: Option<Seek<'q>>,
    hole: Option<Hole>,
}

impl<'q> Search<'q> {
    /// Goes on to the next instant, where what lies between cannot change the answer; `false` where it can.
    fn leap<I>(
        &mut self,
        timeline: &mut Timeline<I>,
        window: Window,
        looks_before: bool,
    ) -> Result<bool, Fault>
    where
        I: Iterator<Item = Result<Sample, Fault>>,
    {
        let Some(to) = timeline.ahead() else { return Ok(false) };
        let now = timeline.stretch().to;
        let when = When::of(now, to, window);
        // What happens when the window begins is looked at.
        if to == window.from || when == When::After && self.is_settled() {
            return Ok(false);
        }
        if when == When::Before && !looks_before {
            timeline.leap(to)?;
            timeline.forget_before(window.from);
            return Ok(true);
        }
        let known = timeline.is_known_ahead();
        for seek in self.both() {
            seek.look_ahead(timeline, Some(to).filter(|_| known))?;
        }
        let since = self.both().filter_map(|seek| seek.waits_since()).min();
        timeline.forget_before(since.unwrap_or(now));
        let sure = self.sure.can_skip(timeline, when).filter(|_| known);
        let possible = self.possible.as_ref().map(|possible| possible.can_skip(timeline, when));
        let (Some(sure), Some(possible)) = (sure, possible.unwrap_or(sure)) else { return Ok(false) };
        self.sure.pass(to, when, sure);
        if let Some(seek) = &mut self.possible {
            seek.pass(to, when, possible);
        }
        timeline.leap(to)?;
        Ok(true)
    }

    fn both(&mut self) -> impl Iterator<Item = &mut Seek<'q>> {
        std::iter::once(&mut self.sure).chain(&mut self.possible)
    }

    fn see(&mut self, stretch: &Stretch, when: When, has_unknown: bool) {
        let missing = stretch.missing().or(has_unknown.then_some(Missing::Formula));
        if missing.is_some() && self.possible.is_none() {
            self.possible = Some(self.sure.assuming_unknown_true());
        }
        let surely = self.sure.see(stretch, when);
        let Some(possible) = &mut self.possible else { return };
        let possibly = possible.see(stretch, when);
        let open = surely.some_false && possibly.some_true || self.sure.is_lost() && !possible.is_lost();
        if let Some(why) = missing.filter(|_| open && when == When::Within) {
            self.note_hole(stretch, why);
        }
    }

    /// Notes the first hole, or that it goes on.
    fn note_hole(&mut self, stretch: &Stretch, why: Missing) {
        let hole = self.hole.get_or_insert(Hole { from: stretch.from, to: stretch.to, why });
        if hole.why == why && hole.to == stretch.from {
            hole.to = stretch.to;
        }
    }

    fn is_settled(&self) -> bool {
        self.sure.is_settled() && self.possible.as_ref().is_none_or(Seek::is_settled)
    }

    fn answer(mut self, question: &Question, window: Window, data: (i64, i64)) -> Answer {
        self.sure.runs.end();
        let possible = match self.possible.take() {
            Some(mut possible) => {
                possible.runs.end();
                possible
            }
            None => self.sure.clone(),
        };
        let found = Found { sure: self.sure, possible, window, data };
        let truth = found.truth(question);
        let answer = found.margin(question, truth);
        Answer {
            time: found.time(question, truth),
            stretch: found.stretch(question, truth),
            outside: if matches!(question, Question::Throughout(_)) {
                found.sure.runs.total().clone()
            } else {
                Number::ZERO
            },
            hole: self.hole.filter(|_| answer.truth.is_none()),
            ..answer
        }
    }
}

/// What was found, surely and possibly; for `Throughout` of the opposite.
struct Found<'q> {
    sure: Seek<'q>,
    possible: Seek<'q>,
    window: Window,
    /// The first and the last instant that was looked at.
    data: (i64, i64),
}

impl Found<'_> {
    /// Whether it is found; nothing when it may be.
    fn truth(&self, question: &Question) -> Option<bool> {
        let found = |seek: &Seek<'_>| match question {
            Question::HeldFor(least, _) => {
                seek.runs.longest().is_some_and(|run| duration(run) >= Number::from(*least))
            }
            _ => seek.best.as_ref().is_some_and(|best| best.bound.truth()),
        };
        match (found(&self.sure), found(&self.possible)) {
            (true, _) => Some(true),
            (_, false) => Some(false),
            _ => None,
        }
    }

    /// The answer with what belongs to the margin.
    fn margin(&self, question: &Question, truth: Option<bool>) -> Answer {
        let opposite = matches!(question, Question::Throughout(_));
        // What is surely not found is so by the best that was possible.
        let best = best_of(if truth == Some(false) { &self.possible } else { &self.sure });
        let exact = match (best_of(&self.sure), best_of(&self.possible)) {
            (Some(sure), Some(possible)) => sure.bound.cmp_value(&possible.bound).is_eq(),
            (sure, possible) => sure.is_none() && possible.is_none(),
        };
        let decided = best.as_ref().and_then(|best| best.bound.margin().cloned());
        let best = best.filter(|_| decided.is_some());
        Answer {
            truth: truth.map(|truth| truth != opposite),
            margin: decided
                .as_ref()
                .map(|margin| if opposite { (-&margin.value).reduced() } else { margin.value.reduced() }),
            exact,
            decided_by: decided.map(|margin| margin.atom),
            at: best.as_ref().map(|best| best.at.reduced()),
            values: best.map(|best| best.values).unwrap_or_default(),
            time: None,
            stretch: None,
            outside: Number::ZERO,
            hole: None,
        }
    }

    /// How far the truth is from changing in time.
    fn time(&self, question: &Question, found: Option<bool>) -> Option<TimeMargin> {
        match question {
            Question::HeldFor(least, _) => Some(self.beyond(&Number::from(*least), found)),
            Question::Throughout(_) if found? => {
                let run = self.sure.runs.longest()?;
                let exact = self.possible.runs.longest().map(duration) == Some(duration(run));
                let exactness = if exact { Exactness::Exact } else { Exactness::AtMost };
                Some(TimeMargin { nanoseconds: -&duration(run), exactness })
            }
            Question::Throughout(_) => Some(self.room()),
            Question::AtSomeMoment(_) | Question::Until(..) => {
                let first = |seek: &Seek<'_>| match found {
                    Some(true) => seek.runs.first().map(|(from, _)| from.clone()),
                    Some(false) => seek.first_after.clone(),
                    None => None,
                };
                let instant = first(&self.sure)?;
                let exact = first(&self.possible).as_ref() == Some(&instant);
                let nanoseconds = (&Number::from(self.window.to) - &instant).reduced();
                let exactness = if exact { Exactness::Exact } else { Exactness::AtLeast };
                Some(TimeMargin { nanoseconds, exactness })
            }
        }
    }

    /// By how much the longest stretch is longer than `least`.
    fn beyond(&self, least: &Number, found: Option<bool>) -> TimeMargin {
        let longest = |seek: &Seek<'_>| seek.runs.longest().map_or(Number::ZERO, duration);
        let (sure, possible) = (longest(&self.sure), longest(&self.possible));
        let exactness = match found {
            _ if sure == possible => Exactness::Exact,
            Some(false) => Exactness::AtMost,
            _ => Exactness::AtLeast,
        };
        let length = if exactness == Exactness::AtMost { possible } else { sure };
        TimeMargin { nanoseconds: (&length - least).reduced(), exactness }
    }

    /// How far the window is from the nearest instant, outside it, at which what is sought is true.
    fn room(&self) -> TimeMargin {
        let [from, to] = [self.window.from, self.window.to].map(Number::from);
        let [begin, end] = [self.data.0, self.data.1].map(Number::from);
        let side = |sure: &Option<Number>, possible: &Option<Number>, data: Number| {
            let exact = possible.is_some() && sure == possible;
            let exactness = if exact { Exactness::Exact } else { Exactness::AtLeast };
            (possible.clone().unwrap_or(data), exactness)
        };
        let (before, known_before) = side(&self.sure.last_before, &self.possible.last_before, begin);
        let (after, known_after) = side(&self.sure.first_after, &self.possible.first_after, end);
        let (before, after) = ((&from - &before).reduced(), (&after - &to).reduced());
        if before < after {
            TimeMargin { nanoseconds: before, exactness: known_before }
        } else {
            TimeMargin { nanoseconds: after, exactness: known_after }
        }
    }

    fn stretch(&self, question: &Question, found: Option<bool>) -> Option<(Number, Number)> {
        let runs = &self.sure.runs;
        let run = match question {
            Question::Throughout(_) if found != Some(true) => None,
            Question::Throughout(_) | Question::HeldFor(..) => runs.longest(),
            Question::AtSomeMoment(_) | Question::Until(..) => runs.first(),
        };
        run.map(|(from, to)| (from.reduced(), to.reduced()))
    }
}

fn best_of(seek: &Seek<'_>) -> Option<Best> {
    let Some(held) = &seek.held else { return seek.best.clone() };
    let (at, bound) = held.best.clone()?;
    Some(Best { bound, at, values: Vec::new() })
}
