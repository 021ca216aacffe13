//! Parts of a margin over which the truth does not change.

use super::bound::Bound;
use super::course::{Line, PiecewiseLinear};
use super::timeline::Stretch;
use crate::quantity::Number;

/// A margin at an instant, or along a straight line between two instants that do not belong to it; true
/// or false all over.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// Its beginning, in nanoseconds since 1970-01-01T00:00:00Z.
    pub from: Number,
    /// Its end; of an instant its beginning.
    pub to: Number,
    /// The margin there.
    pub line: Line,
}

impl Part {
    /// The margin at one instant.
    pub fn instant(at: Number, bound: Bound) -> Part {
        Part { from: at.clone(), to: at, line: Line::constant(bound) }
    }

    /// Whether it is an instant.
    pub fn is_instant(&self) -> bool {
        self.from == self.to
    }

    /// The margin at an instant from its beginning to its end.
    pub fn at(&self, at: &Number) -> Bound {
        if *at == self.from {
            return self.line.start.clone();
        }
        self.line.at(&(at - &self.from), &(&self.to - &self.from))
    }

    /// Whether it is true.
    pub fn truth(&self) -> bool {
        // Of a line that changes, one end at most is zero.
        let highest = (&self.line.start).max(&self.line.end);
        match highest.margin() {
            Some(margin) if !self.line.is_constant() => {
                !margin.value.is_negative() && !margin.value.is_zero()
            }
            _ => highest.truth(),
        }
    }

    /// The greatest margin and whether it is at the beginning. At the end of a line that changes it is only
    /// approached.
    pub fn greatest(&self) -> (Bound, bool) {
        if self.line.is_constant() {
            return (self.line.start.clone(), true);
        }
        let falls = self.line.falls();
        let highest = if falls { &self.line.start } else { &self.line.end };
        (highest.clone().approached(false), falls)
    }
}

/// Hands over the parts of a course over an open stretch, in their order, with the instants between them.
/// `point` gives the margin at an instant counted from the beginning of the stretch.
pub(super) fn parts(
    course: &PiecewiseLinear,
    stretch: &Stretch,
    point: impl Fn(&Number) -> Bound,
    mut each: impl FnMut(Part),
) {
    let (base, length) = (Number::from(stretch.from), stretch.length());
    let instant = |at: &Number| if at.is_zero() { base.clone() } else { &base + at };
    for (from, to, line) in course.pieces(length) {
        if !from.is_zero() {
            each(Part::instant(instant(from), point(from)));
        }
        match line.crosses_zero(length).filter(|zero| from < zero && zero < to) {
            None => {
                let line = Line { start: line.at(from, length), end: line.at(to, length) };
                each(Part { from: instant(from), to: instant(to), line });
            }
            Some(zero) => {
                let (at, middle) = (instant(&zero), line.at(&zero, length));
                let first = Line { start: line.at(from, length), end: middle.clone() };
                each(Part { from: instant(from), to: at.clone(), line: first });
                each(Part::instant(at.clone(), point(&zero)));
                let second = Line { start: middle, end: line.at(to, length) };
                each(Part { from: at, to: instant(to), line: second });
            }
        }
    }
}
