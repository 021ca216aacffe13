//! How a margin runs over a stretch of time without samples: straight lines, cut where two comparisons
//! change places.

use std::cmp::Ordering;

use super::bound::{Bound, Margin, lower};
use crate::quantity::Number;

static BEGINNING: Number = Number::ZERO;

/// A margin that runs straight over the whole of an open stretch.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    /// Its limit at the beginning of the stretch.
    pub start: Bound,
    /// Its limit at the end; infinite only together with the beginning.
    pub end: Bound,
}

impl Line {
    /// A line that does not change.
    pub fn constant(bound: Bound) -> Line {
        Line { start: bound.clone(), end: bound }
    }

    /// Whether it does not change.
    pub fn is_constant(&self) -> bool {
        self.start == self.end
    }

    /// Whether it falls.
    pub fn falls(&self) -> bool {
        self.end < self.start
    }

    /// Its value at an instant of the stretch, which is `length` long.
    pub fn at(&self, at: &Number, length: &Number) -> Bound {
        let (Bound::At(start), Bound::At(end)) = (&self.start, &self.end) else { return self.start.clone() };
        if at.is_zero() || self.is_constant() {
            return self.start.clone();
        }
        if at == length {
            return self.end.clone();
        }
        let rise = &(&end.value - &start.value) * at;
        let Some(rise) = rise.checked_div(length) else { return self.start.clone() };
        Bound::At(Margin { value: (&start.value + &rise).reduced(), ..start.clone() })
    }

    /// Where it crosses another, strictly within `length`.
    pub fn crosses(&self, other: &Line, length: &Number) -> Option<Number> {
        let [Bound::At(a), Bound::At(b), Bound::At(c), Bound::At(d)] =
            [&self.start, &other.start, &self.end, &other.end]
        else {
            return None;
        };
        let before = a.value.cmp(&b.value);
        if before.is_eq() || c.value.cmp(&d.value) != before.reverse() {
            return None;
        }
        share(&(&a.value - &b.value), &(&c.value - &d.value), length)
    }

    /// Where it crosses zero, strictly within `length`.
    pub fn crosses_zero(&self, length: &Number) -> Option<Number> {
        let (Bound::At(start), Bound::At(end)) = (&self.start, &self.end) else { return None };
        let before = start.value.signum();
        if before.is_eq() || end.value.signum() != before.reverse() {
            return None;
        }
        share(&start.value, &end.value, length)
    }

    /// How it compares with another from beginning to end, where the two do not cross.
    fn order(&self, other: &Line) -> Ordering {
        self.start
            .cmp_value(&other.start)
            .then(self.end.cmp_value(&other.end))
            .then(self.start.cmp(&other.start))
    }
}

/// The part of `length` at which a line from `start` to `end` is zero.
fn share(start: &Number, end: &Number, length: &Number) -> Option<Number> {
    Some((start * length).checked_div(&(start - end))?.reduced())
}

/// Which of several margins counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    /// The least: all must be true.
    Least,
    /// The greatest: one must be true.
    Greatest,
}

/// A margin over an open stretch: lines, each from its instant on (counted from the beginning of the
/// stretch) to that of the next. It has no jumps.
#[derive(Clone, Debug)]
pub(super) struct PiecewiseLinear {
    first: Line,
    // Empty for nearly every stretch of a log, and then without memory of its own.
    rest: Vec<(Number, Line)>,
}

impl From<Line> for PiecewiseLinear {
    fn from(first: Line) -> Self {
        PiecewiseLinear { first, rest: Vec::new() }
    }
}

impl PiecewiseLinear {
    /// Each line with its beginning and its end.
    pub fn pieces<'c>(
        &'c self,
        length: &'c Number,
    ) -> impl Iterator<Item = (&'c Number, &'c Number, &'c Line)> {
        let begins = std::iter::once(&BEGINNING).chain(self.rest.iter().map(|(at, _)| at));
        let ends = self.rest.iter().map(|(at, _)| at).chain(std::iter::once(length));
        let lines = std::iter::once(&self.first).chain(self.rest.iter().map(|(_, line)| line));
        begins.zip(ends).zip(lines).map(|((from, to), line)| (from, to, line))
    }

    /// The limit of the course towards `at` from before.
    pub fn towards(&self, at: &Number, length: &Number) -> Bound {
        let piece = self.pieces(length).find(|(_, to, _)| at <= to);
        piece.map_or_else(|| self.first.end.clone(), |(_, _, line)| line.at(at, length).near(line))
    }

    /// At each instant the least, or the greatest, of two.
    pub fn merged(self, other: PiecewiseLinear, which: Which, length: &Number) -> PiecewiseLinear {
        if self.rest.is_empty() && other.rest.is_empty() && self.first.crosses(&other.first, length).is_none()
        {
            let keeps = which.keeps(self.first.order(&other.first));
            return if keeps { self } else { other };
        }
        let mut merged = Builder::default();
        let mut from = Number::ZERO;
        let (mut mine, mut theirs) = (self.pieces(length).peekable(), other.pieces(length).peekable());
        while let (Some((_, a_ends, a)), Some((_, b_ends, b))) =
            (mine.peek().copied(), theirs.peek().copied())
        {
            let to = a_ends.min(b_ends).clone();
            merged.push_extreme((a, b), which, (&from, &to), length);
            if *a_ends == to {
                mine.next();
            }
            if *b_ends == to {
                theirs.next();
            }
            from = to;
        }
        merged.course.unwrap_or_else(|| self.first.clone().into())
    }

    /// The least that it has been so far, at each instant: `so_far` is what it was before the stretch, and
    /// afterwards what it was up to its end. `point` is the value of the course at an instant of the stretch.
    pub fn least_so_far(
        &self,
        so_far: &mut Bound,
        point: impl Fn(&Number) -> Bound,
        length: &Number,
    ) -> PiecewiseLinear {
        let mut least = Builder::default();
        for (from, to, line) in self.pieces(length) {
            if !from.is_zero() {
                lower(so_far, point(from));
            }
            if line.falls() {
                let before = Line::constant(so_far.clone());
                least.push_extreme((line, &before), Which::Least, (from, to), length);
                lower(so_far, line.at(to, length).approached(true));
            } else {
                lower(so_far, line.at(from, length).near(line));
                least.push(from, Line::constant(so_far.clone()));
            }
        }
        least.course.unwrap_or_else(|| self.first.clone().into())
    }
}

impl Bound {
    /// The same as the limit from above of a line that comes to it, where the line changes at all.
    fn near(self, line: &Line) -> Bound {
        if line.is_constant() { self } else { self.approached(true) }
    }
}

impl Which {
    fn keeps(self, order: Ordering) -> bool {
        match self {
            Which::Least => order.is_le(),
            Which::Greatest => order.is_ge(),
        }
    }
}

/// A course in the making, from its beginning on.
#[derive(Default)]
struct Builder {
    course: Option<PiecewiseLinear>,
}

impl Builder {
    /// Goes on with `line` from an instant on.
    fn push(&mut self, from: &Number, line: Line) {
        match &mut self.course {
            None => self.course = Some(line.into()),
            Some(course) => {
                let last = course.rest.last().map_or(&course.first, |(_, line)| line);
                if *last != line {
                    course.rest.push((from.clone(), line));
                }
            }
        }
    }

    /// Goes on with the least, or the greatest, of two lines between two instants.
    fn push_extreme(
        &mut self,
        (a, b): (&Line, &Line),
        which: Which,
        (from, to): (&Number, &Number),
        length: &Number,
    ) {
        let Some(crossing) = a.crosses(b, length) else {
            return self.push(from, if which.keeps(a.order(b)) { a.clone() } else { b.clone() });
        };
        let a_first = which.keeps(a.start.cmp(&b.start));
        let (first, second) = if a_first { (a, b) } else { (b, a) };
        if *from < crossing {
            self.push(from, first.clone());
        }
        if crossing < *to {
            self.push(from.max(&crossing), second.clone());
        }
    }
}
