//! Looks through the parts of a margin for where it is true, and for the greatest it becomes.

use super::bound::{Bound, Side, lower};
use super::course::Which;
use super::formula::Node;
use super::held::Held;
use super::part::{Part, parts};
use super::timeline::{Stretch, Timeline};
use super::{Sample, Window};
use crate::diagnostic::Fault;
use crate::quantity::Number;

/// What is looked for.
#[derive(Clone, Debug)]
pub(super) enum Sought {
    /// An instant at which it holds.
    Holds(Node),
    /// An instant at which the second holds and up to which the first does.
    Until(Node, Node),
}

impl Sought {
    /// Whether a part of it is undecided whatever the signals are, of which there are so many.
    pub fn has_unknown(&self, signals: usize) -> bool {
        match self {
            Sought::Holds(node) => node.has_unknown(signals),
            Sought::Until(before, then) => before.has_unknown(signals) || then.has_unknown(signals),
        }
    }

    /// What is asked of the instant itself.
    fn then(&self) -> &Node {
        match self {
            Sought::Holds(node) | Sought::Until(_, node) => node,
        }
    }

    /// Whether it asks for the rate of a signal.
    pub fn has_rate_of(&self, signal: usize) -> bool {
        match self {
            Sought::Holds(node) => node.has_rate_of(signal),
            Sought::Until(before, then) => before.has_rate_of(signal) || then.has_rate_of(signal),
        }
    }
}

/// Where a stretch lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum When {
    Before,
    Within,
    After,
}

impl When {
    /// Where a stretch or an instant lies that does not lie across an end of the window.
    pub fn of(from: i64, to: i64, window: Window) -> When {
        let outside = from != to;
        if to < window.from || outside && to == window.from {
            When::Before
        } else if from > window.to || outside && from == window.to {
            When::After
        } else {
            When::Within
        }
    }
}

/// The greatest margin and where it is.
#[derive(Clone, Debug)]
pub(super) struct Best {
    /// The margin.
    pub bound: Bound,
    /// The first instant of it.
    pub at: Number,
    /// What the signals are there.
    pub values: Vec<Option<Number>>,
}

/// What was found so far, where what is not known counts as false or as true.
#[derive(Clone, Debug)]
pub(super) struct Seek<'q> {
    sought: &'q Sought,
    side: Side,
    /// For `Until`: the least margin of the first formula since the window began.
    so_far: Bound,
    /// The greatest margin of the window.
    pub best: Option<Best>,
    /// The stretches of the window where it is true.
    pub runs: Runs,
    /// The windows of one duration, where it is asked for how long.
    pub held: Option<Held>,
    bar: Option<Bar>,
    /// The last instant before the window where it is true.
    pub last_before: Option<Number>,
    /// The first one after it.
    pub first_after: Option<Number>,
}

/// What is better than the best so far.
#[derive(Clone, Debug)]
struct Bar {
    best: Bound,
    /// What is looked for, true only where its margin is greater.
    node: Node,
}

/// Whether a stretch had parts that are true, and parts that are false.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Seen {
    pub some_true: bool,
    pub some_false: bool,
}

impl<'q> Seek<'q> {
    pub fn new(sought: &'q Sought, held: Option<Held>) -> Self {
        Seek {
            sought,
            side: Side::Least,
            so_far: Bound::Always,
            best: None,
            runs: Runs::default(),
            held,
            bar: None,
            last_before: None,
            first_after: None,
        }
    }

    /// The same with what is not known counting as true from now on.
    pub fn assuming_unknown_true(&self) -> Self {
        Seek { side: Side::Greatest, ..self.clone() }
    }

    /// Looks at the next stretch.
    pub fn see(&mut self, stretch: &Stretch, when: When) -> Seen {
        let mut seen = Seen::default();
        let (sought, side, length) = (self.sought, self.side, stretch.length());
        match sought {
            Sought::Holds(node) => {
                each_part(node, stretch, side, |part| self.take(part, stretch, when, &mut seen));
            }
            // It begins with the window.
            Sought::Until(..) if when == When::Before => {}
            Sought::Until(before, then) if stretch.is_instant() => {
                lower(&mut self.so_far, before.at(&Number::ZERO, stretch, side));
                let bound = self.so_far.clone().min(then.at(&Number::ZERO, stretch, side));
                self.take(Part::instant(Number::from(stretch.from), bound), stretch, when, &mut seen);
            }
            Sought::Until(before, then) => {
                let first = |at: &Number| before.at(at, stretch, side);
                let least = before.course(stretch, side).least_so_far(&mut self.so_far, first, length);
                let point = |at: &Number| {
                    let so_far = least.towards(at, length).min(first(at));
                    so_far.min(then.at(at, stretch, side))
                };
                let course = then.course(stretch, side).merged(least.clone(), Which::Least, length);
                parts(&course, stretch, point, |part| self.take(part, stretch, when, &mut seen));
            }
        }
        seen
    }

    /// Sees to it that windows of the duration are looked at only where one of them may be the best: up to the
    /// instant `to` or, where that is nothing, from here on.
    ///
    /// # Errors
    /// None that the timeline has not had before.
    pub fn look_ahead<I>(&mut self, timeline: &Timeline<I>, to: Option<i64>) -> Result<(), Fault>
    where
        I: Iterator<Item = Result<Sample, Fault>>,
    {
        self.raise_bar();
        let (node, side) = (self.sought.then(), self.side);
        let Some(held) = &mut self.held else { return Ok(()) };
        let now = timeline.stretch().to;
        let bar = self.bar.as_ref().filter(|_| to.is_some());
        if bar.is_some_and(|bar| !bar.node.holds(&|signal| timeline.ends_now(signal), Side::Greatest)) {
            held.wait(now);
        }
        let Some((since, until)) = held.waits() else { return Ok(()) };
        if to.is_some_and(|to| to < until) {
            return Ok(());
        }
        held.wake();
        let window = Window { from: since, to: now };
        let mut again = timeline.again(since)?;
        while again.advance()? {
            let stretch = again.stretch();
            match When::of(stretch.from, stretch.to, window) {
                When::Before => {}
                When::Within => each_part(node, stretch, side, |part| held.take(&part)),
                When::After => break,
            }
        }
        Ok(())
    }

    /// Whether it is the same all along from where the walk stands to the next instant, without a better margin
    /// than the best so far, so that it need not be looked at: then whether it is true.
    pub fn can_skip<I>(&self, timeline: &Timeline<I>, when: When) -> Option<bool>
    where
        I: Iterator<Item = Result<Sample, Fault>>,
    {
        let Sought::Holds(node) = self.sought else { return None };
        let ends = |signal: usize| timeline.ends(signal);
        if when != When::Within {
            return (!node.holds(&ends, Side::Greatest)).then_some(false);
        }
        let betters = match &self.held {
            Some(held) => held.waits().is_none(),
            None => self.bar.as_ref().is_none_or(|bar| bar.node.holds(&ends, Side::Greatest)),
        };
        if betters {
            return None;
        }
        if self.runs.current.is_some() {
            return node.holds(&ends, Side::Least).then_some(true);
        }
        (!node.holds(&ends, Side::Greatest)).then_some(false)
    }

    /// Brings the bar to the best so far.
    fn raise_bar(&mut self) {
        let best = match &self.held {
            Some(held) => held.best.as_ref().map(|(_, bound)| bound),
            None => self.best.as_ref().map(|best| &best.bound),
        };
        let Some(best) = best else { return };
        if self.bar.as_ref().is_none_or(|bar| bar.best != *best) {
            self.bar = Some(Bar { best: best.clone(), node: self.sought.then().above(best) });
        }
    }

    /// Goes on behind what it has seen through.
    pub fn pass(&mut self, to: i64, when: When, truth: bool) {
        match &mut self.runs.current {
            _ if when != When::Within => {}
            Some((_, end)) if truth => *end = Number::from(to),
            _ => self.runs.end(),
        }
    }

    /// Since when the samples must be kept.
    pub fn waits_since(&self) -> Option<i64> {
        self.held.as_ref()?.waits().map(|(since, _)| since)
    }

    /// Whether nothing that comes after the window matters any more.
    pub fn is_settled(&self) -> bool {
        self.held.is_some() || self.first_after.is_some() || self.is_lost()
    }

    /// Whether the first formula of `Until` has been false within the window, so that nothing that follows can
    /// fulfil it.
    pub fn is_lost(&self) -> bool {
        !self.so_far.truth()
    }

    fn take(&mut self, part: Part, stretch: &Stretch, when: When, seen: &mut Seen) {
        let truth = part.truth();
        seen.some_true |= truth;
        seen.some_false |= !truth;
        match when {
            When::Before if truth => self.last_before = Some(part.to),
            When::After if truth && self.first_after.is_none() => self.first_after = Some(part.from),
            When::Before | When::After => {}
            When::Within => {
                self.runs.take(&part, truth);
                match &mut self.held {
                    Some(held) if held.waits().is_some() => {}
                    Some(held) => held.take(&part),
                    None => self.better(&part, stretch),
                }
            }
        }
    }

    /// Keeps the margin of a part that is greater than all before.
    fn better(&mut self, part: &Part, stretch: &Stretch) {
        let (bound, at_beginning) = part.greatest();
        if self.best.as_ref().is_some_and(|best| !bound.betters(&best.bound)) {
            return;
        }
        let at = if at_beginning { &part.from } else { &part.to };
        let values = stretch.values(&(at - &Number::from(stretch.from)));
        self.best = Some(Best { bound, at: at.clone(), values });
    }
}

/// Hands over the parts of the margin over a stretch.
fn each_part(node: &Node, stretch: &Stretch, side: Side, mut each: impl FnMut(Part)) {
    let point = |at: &Number| node.at(at, stretch, side);
    if stretch.is_instant() {
        each(Part::instant(Number::from(stretch.from), point(&Number::ZERO)));
    } else {
        parts(&node.course(stretch, side), stretch, point, each);
    }
}

/// Stretches that are true, each with both its ends.
#[derive(Clone, Debug)]
pub(super) struct Runs {
    current: Option<(Number, Number)>,
    first: Option<(Number, Number)>,
    longest: Option<(Number, Number)>,
    total: Number,
}

impl Default for Runs {
    fn default() -> Self {
        Runs { current: None, first: None, longest: None, total: Number::ZERO }
    }
}

impl Runs {
    fn take(&mut self, part: &Part, truth: bool) {
        match &mut self.current {
            Some((_, to)) if truth => to.clone_from(&part.to),
            None if truth => self.current = Some((part.from.clone(), part.to.clone())),
            _ => self.end(),
        }
    }

    /// The window has ended, or a part that is not true has begun.
    pub fn end(&mut self) {
        let Some(run) = self.current.take() else { return };
        let length = duration(&run);
        self.first.get_or_insert_with(|| run.clone());
        self.total = (&self.total + &length).reduced();
        if self.longest.as_ref().is_none_or(|longest| length > duration(longest)) {
            self.longest = Some(run);
        }
    }

    /// The first stretch.
    pub fn first(&self) -> Option<&(Number, Number)> {
        self.first.as_ref()
    }

    /// The longest stretch; the first one where there are several.
    pub fn longest(&self) -> Option<&(Number, Number)> {
        self.longest.as_ref()
    }

    /// How long it is true altogether.
    pub fn total(&self) -> &Number {
        &self.total
    }
}

/// The length of a stretch.
pub(super) fn duration((from, to): &(Number, Number)) -> Number {
    (to - from).reduced()
}
