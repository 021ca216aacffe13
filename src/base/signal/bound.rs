//! What a margin is at one instant, or a limit of what it can be.

use std::cmp::Ordering;

use crate::quantity::Number;

/// A margin, or one end of what it can be where something is not known.
///
/// The order is that of truth: of two equal margins the one that is true at zero is the greater.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Bound {
    /// False by any margin.
    Never,
    /// This far.
    At(Margin),
    /// True by any margin.
    Always,
}

/// The distance of one comparison to its limit.
#[derive(Clone, Debug)]
pub(super) struct Margin {
    /// How far on the right side.
    pub value: Number,
    /// Whether the limit itself, a margin of zero, is on the right side.
    pub holds: bool,
    /// The number of the comparison; it takes no part in the order.
    pub atom: usize,
}

impl Ord for Margin {
    fn cmp(&self, other: &Self) -> Ordering {
        self.value.cmp(&other.value).then(self.holds.cmp(&other.holds))
    }
}

impl PartialOrd for Margin {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Margin {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Margin {}

impl Bound {
    /// What does not depend on any comparison.
    pub fn known(truth: bool) -> Bound {
        if truth { Bound::Always } else { Bound::Never }
    }

    /// Whether it is true.
    pub fn truth(&self) -> bool {
        match self {
            Bound::Never => false,
            Bound::At(margin) => match margin.value.signum() {
                Ordering::Less => false,
                Ordering::Equal => margin.holds,
                Ordering::Greater => true,
            },
            Bound::Always => true,
        }
    }

    /// The margin, where a comparison decides.
    pub fn margin(&self) -> Option<&Margin> {
        match self {
            Bound::At(margin) => Some(margin),
            Bound::Never | Bound::Always => None,
        }
    }

    /// Its order by value alone.
    pub fn cmp_value(&self, other: &Bound) -> Ordering {
        match (self, other) {
            (Bound::At(a), Bound::At(b)) => a.value.cmp(&b.value),
            _ => self.cmp(other),
        }
    }

    /// Whether it is a better one to be the greatest than `best`, which came before: of equal ones only where
    /// they are zero and it alone is true.
    pub fn betters(&self, best: &Bound) -> bool {
        self.cmp_value(best).then_with(|| self.truth().cmp(&best.truth())).is_gt()
    }

    /// The limit of values that come near from above (`true`) or from below without reaching it.
    pub fn approached(self, from_above: bool) -> Bound {
        match self {
            Bound::At(margin) => Bound::At(Margin { holds: from_above, ..margin }),
            other => other,
        }
    }
}

/// Lowers a bound to another one.
pub(super) fn lower(bound: &mut Bound, other: Bound) {
    if other < *bound {
        *bound = other;
    }
}

/// Which end of what a margin can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// What is not known counts as false: what is true then is sure.
    Least,
    /// What is not known counts as true: what is false then is sure.
    Greatest,
}
