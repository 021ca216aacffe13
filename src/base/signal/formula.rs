//! What a formula is worth: at an instant, and over a stretch without samples.

use std::cmp::Ordering;

use super::bound::{Bound, Margin, Side};
use super::course::{Line, PiecewiseLinear, Which};
use super::timeline::{State, Stretch};
use super::{Formula, Of, Relation};
use crate::quantity::Number;

/// A formula without negation: it is pushed down into the comparisons.
#[derive(Clone, Debug)]
pub(super) enum Node {
    Compare(Compare),
    Known(bool),
    Unknown,
    Many(Which, Vec<Node>),
}

/// A comparison of one signal with a limit.
#[derive(Clone, Debug)]
pub(super) struct Compare {
    /// Its number among the comparisons of the question.
    atom: usize,
    signal: usize,
    of: Of,
    /// Whether it is true above the limit.
    above: bool,
    /// Whether it is true at the limit.
    holds: bool,
    limit: Number,
}

impl Node {
    /// The formula, or its opposite. Comparisons are numbered from `atoms` on.
    pub fn new(formula: &Formula, opposite: bool, atoms: &mut usize) -> Node {
        let mut all = |parts: &[Formula], which| {
            Node::Many(which, parts.iter().map(|part| Node::new(part, opposite, atoms)).collect())
        };
        match formula {
            Formula::Known(truth) => Node::Known(*truth != opposite),
            Formula::Unknown => Node::Unknown,
            Formula::Not(formula) => Node::new(formula, !opposite, atoms),
            Formula::And(parts) => all(parts, if opposite { Which::Greatest } else { Which::Least }),
            Formula::Or(parts) => all(parts, if opposite { Which::Least } else { Which::Greatest }),
            Formula::Atom(atom) => {
                let above = matches!(atom.relation, Relation::AtLeast | Relation::Above);
                let holds = matches!(atom.relation, Relation::AtLeast | Relation::AtMost);
                let number = *atoms;
                *atoms += 1;
                Node::Compare(Compare {
                    atom: number,
                    signal: atom.signal,
                    of: atom.of,
                    above: above != opposite,
                    holds: holds != opposite,
                    limit: atom.limit.clone(),
                })
            }
        }
    }

    /// Whether a part of it is undecided whatever the signals are, of which there are so many.
    pub fn has_unknown(&self, signals: usize) -> bool {
        match self {
            Node::Unknown => true,
            Node::Many(_, parts) => parts.iter().any(|part| part.has_unknown(signals)),
            Node::Compare(compare) => compare.signal >= signals,
            Node::Known(_) => false,
        }
    }

    /// Whether it asks for the rate of a signal.
    pub fn has_rate_of(&self, signal: usize) -> bool {
        match self {
            Node::Compare(compare) => compare.of == Of::Rate && compare.signal == signal,
            Node::Many(_, parts) => parts.iter().any(|part| part.has_rate_of(signal)),
            Node::Known(_) | Node::Unknown => false,
        }
    }

    /// The same with other limits: true where the margin of this one is greater than `bound`.
    pub fn above(&self, bound: &Bound) -> Node {
        match (self, bound) {
            (Node::Compare(compare), Bound::At(margin)) => Node::Compare(compare.above(margin)),
            (Node::Compare(_), _) => Node::Known(*bound == Bound::Never),
            (Node::Known(truth), _) => Node::Known(Bound::known(*truth) > *bound),
            (Node::Unknown, _) => Node::Unknown,
            (Node::Many(which, parts), _) => {
                Node::Many(*which, parts.iter().map(|part| part.above(bound)).collect())
            }
        }
    }

    /// Whether it may become true (`Side::Greatest`), or is true all along (`Side::Least`), while each signal
    /// stays between its `ends`, the lower one first, where it has any. Where that is not certain the answer
    /// is the careful one, yes or no. Rates are not asked for.
    pub fn holds<'e>(&self, ends: &impl Fn(usize) -> Option<[&'e Number; 2]>, side: Side) -> bool {
        match self {
            Node::Compare(compare) => {
                let Some([low, high]) = ends(compare.signal) else { return side == Side::Greatest };
                compare.holds(if compare.above == (side == Side::Greatest) { high } else { low })
            }
            Node::Known(truth) => *truth,
            Node::Unknown => side == Side::Greatest,
            Node::Many(Which::Least, parts) => parts.iter().all(|part| part.holds(ends, side)),
            Node::Many(Which::Greatest, parts) => parts.iter().any(|part| part.holds(ends, side)),
        }
    }

    /// Its margin at an instant of a stretch, counted from the beginning.
    pub fn at(&self, at: &Number, stretch: &Stretch, side: Side) -> Bound {
        match self {
            Node::Compare(compare) if at.is_zero() => compare.beginning(stretch, side),
            Node::Compare(compare) => compare.line(stretch, side).at(at, stretch.length()),
            Node::Known(truth) => Bound::known(*truth),
            Node::Unknown => Bound::known(side == Side::Greatest),
            Node::Many(which, parts) => {
                let bounds = parts.iter().map(|part| part.at(at, stretch, side));
                // Of several equal ones the first, as everywhere.
                let extreme = match which {
                    Which::Least => bounds.min(),
                    Which::Greatest => bounds.reduce(|best, next| if next > best { next } else { best }),
                };
                extreme.unwrap_or_else(|| which.of_none())
            }
        }
    }

    /// Its margin over an open stretch.
    pub fn course(&self, stretch: &Stretch, side: Side) -> PiecewiseLinear {
        match self {
            Node::Compare(compare) => compare.line(stretch, side).into(),
            Node::Known(truth) => Line::constant(Bound::known(*truth)).into(),
            Node::Unknown => Line::constant(Bound::known(side == Side::Greatest)).into(),
            Node::Many(which, parts) => parts
                .iter()
                .map(|part| part.course(stretch, side))
                .reduce(|all, next| all.merged(next, *which, stretch.length()))
                .unwrap_or_else(|| Line::constant(which.of_none()).into()),
        }
    }
}

impl Which {
    /// What it is where there is nothing to choose from.
    fn of_none(self) -> Bound {
        Bound::known(self == Which::Least)
    }
}

impl Compare {
    /// At the beginning of a stretch.
    fn beginning(&self, stretch: &Stretch, side: Side) -> Bound {
        match (stretch.states().get(self.signal), self.of) {
            (Some(State::Known { start, .. }), Of::Level) => self.margin(start),
            (Some(State::Known { rate: Ok(rate), .. }), Of::Rate) => self.margin(rate),
            _ => Bound::known(side == Side::Greatest),
        }
    }

    /// Over the whole of a stretch.
    fn line(&self, stretch: &Stretch, side: Side) -> Line {
        match (stretch.states().get(self.signal), self.of) {
            (Some(State::Known { start, end, .. }), Of::Level) => {
                Line { start: self.margin(start), end: self.margin(end) }
            }
            (Some(State::Known { rate: Ok(rate), .. }), Of::Rate) => Line::constant(self.margin(rate)),
            _ => Line::constant(Bound::known(side == Side::Greatest)),
        }
    }

    /// The same with the limit moved by a margin: true where this one's is greater.
    fn above(&self, margin: &Margin) -> Compare {
        let limit = if self.above { &self.limit + &margin.value } else { &self.limit - &margin.value };
        Compare { limit: limit.reduced(), holds: self.holds && !margin.holds, ..self.clone() }
    }

    /// Whether it is true of a value.
    fn holds(&self, value: &Number) -> bool {
        match value.cmp(&self.limit) {
            Ordering::Equal => self.holds,
            Ordering::Greater => self.above,
            Ordering::Less => !self.above,
        }
    }

    fn margin(&self, value: &Number) -> Bound {
        let value = if self.above { value - &self.limit } else { &self.limit - value };
        Bound::At(Margin { value, holds: self.holds, atom: self.atom })
    }
}
