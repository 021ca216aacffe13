//! For how long: the best of all windows of one duration, by the least margin within each.

use std::collections::VecDeque;

use super::bound::{Bound, lower};
use super::course::Line;
use super::part::Part;
use super::sliding::SlidingLeast;
use crate::quantity::Number;

/// The parts of a margin that lie within the duration, and the best window so far.
///
/// While neither end of the window passes from one part into the next, the least margin within it is the
/// least of two lines (one at each end) and a constant (the instants between). That is concave, so its
/// greatest value lies where one of the ends passes, or where two of the three cross: nothing is sampled.
#[derive(Clone, Debug)]
pub(super) struct Held {
    duration: i64,
    /// The open parts that the window touches or will touch.
    parts: VecDeque<Part>,
    /// The least margin at and beside each instant between two parts.
    between: SlidingLeast<Number, Bound>,
    /// The margin at the instant before the next open part.
    instant: Bound,
    /// Where the window begins.
    begin: Number,
    /// Since when no part has been looked at, because no window that ends so far can be better than the best.
    waits_since: Option<i64>,
    /// Whether a window has been looked at.
    fits: bool,
    /// The greatest of the least margins, and where that window begins.
    pub best: Option<(Number, Bound)>,
}

impl Held {
    /// Windows of `duration`, above zero, from `begin` on.
    pub fn new(duration: i64, begin: i64) -> Held {
        Held {
            duration,
            parts: VecDeque::new(),
            between: SlidingLeast::default(),
            instant: Bound::Always,
            begin: Number::from(begin),
            waits_since: Some(begin),
            fits: false,
            best: None,
        }
    }

    /// No window that reaches across `now` can be better than the best: begins anew there, and waits.
    pub fn wait(&mut self, now: i64) {
        self.parts.clear();
        self.between = SlidingLeast::default();
        self.instant = Bound::Always;
        self.begin = Number::from(now);
        self.fits = false;
        self.waits_since = Some(now);
    }

    /// Since when it has waited, and until when: then a window ends that may be better.
    pub fn waits(&self) -> Option<(i64, i64)> {
        self.waits_since.map(|since| (since, since.saturating_add(self.duration)))
    }

    /// Waits no longer: the parts since when it waited are to follow.
    pub fn wake(&mut self) {
        self.waits_since = None;
    }

    /// Goes on with the next part: instants and open parts in turn.
    pub fn take(&mut self, part: &Part) {
        if part.is_instant() {
            self.instant = part.line.start.clone();
            return;
        }
        let mut least = std::mem::replace(&mut self.instant, Bound::Always);
        if let Some(before) = self.parts.back() {
            lower(&mut least, before.line.end.clone());
        }
        lower(&mut least, part.line.start.clone());
        self.between.push(part.from.clone(), least);
        self.parts.push_back(part.clone());
        let last = &part.to - &Number::from(self.duration);
        if last < self.begin {
            return;
        }
        if !self.fits {
            self.fits = true;
            self.drop_left();
            self.look(part);
        }
        self.slide(part, &last);
    }

    /// Moves the window until its end reaches that of `newest`, and its beginning `last`.
    fn slide(&mut self, newest: &Part, last: &Number) {
        while self.begin < *last {
            let Some(oldest) = self.parts.front() else { return };
            let next = (&oldest.to).min(last).clone();
            self.cross(newest, &next);
            self.begin = next;
            self.drop_left();
            self.look(newest);
        }
    }

    /// Where a window ends that begins at `begin`.
    fn end(&self, begin: &Number) -> Number {
        begin + &Number::from(self.duration)
    }

    /// Forgets what the window has left behind.
    fn drop_left(&mut self) {
        while self.parts.front().is_some_and(|part| part.to <= self.begin) {
            self.parts.pop_front();
        }
        self.between.drop_through(&self.begin);
    }

    /// The window as it stands, its end within `newest`.
    fn look(&mut self, newest: &Part) {
        let Some(oldest) = self.parts.front().filter(|oldest| self.may_better(oldest, newest)) else {
            return;
        };
        let mut least = oldest.at(&self.begin);
        lower(&mut least, newest.at(&self.end(&self.begin)));
        self.note(self.begin.clone(), least);
    }

    /// The window between where it stands and where it begins next, its end within `newest`.
    fn cross(&mut self, newest: &Part, next: &Number) {
        let Some(oldest) = self.parts.front().filter(|oldest| self.may_better(oldest, newest)) else {
            return;
        };
        let end = |begin: &Number| newest.at(&self.end(begin));
        let left = Line { start: oldest.at(&self.begin), end: oldest.at(next) };
        let right = Line { start: end(&self.begin), end: end(next) };
        let between = Line::constant(self.between.least().cloned().unwrap_or(Bound::Always));
        let length = next - &self.begin;
        // Where the constant is the least of the three, the first instant of it is the crossing with it.
        let pairs = [(&left, &right), (&left, &between), (&right, &between)];
        let mut crossings: Vec<_> = pairs.iter().filter_map(|(a, b)| a.crosses(b, &length)).collect();
        crossings.sort();
        for at in crossings {
            let least = left.at(&at, &length).min(right.at(&at, &length));
            self.note((&self.begin + &at).reduced(), least);
        }
    }

    /// Whether the window may be better than the best one, by what is cheap to tell.
    fn may_better(&self, oldest: &Part, newest: &Part) -> bool {
        let Some((_, best)) = &self.best else { return true };
        let highest = |part: &Part| &part.line.start > best || &part.line.end > best;
        self.between.least().is_none_or(|least| least > best) && highest(oldest) && highest(newest)
    }

    /// The window that begins at `begin`, where its ends leave `least`.
    fn note(&mut self, begin: Number, mut least: Bound) {
        if let Some(between) = self.between.least() {
            lower(&mut least, between.clone());
        }
        if self.best.as_ref().is_none_or(|(_, best)| least.betters(best)) {
            self.best = Some((begin, least));
        }
    }
}
