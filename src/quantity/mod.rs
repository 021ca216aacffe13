//! Quantities: exact numbers with units, ranges of them, and how far a reading lies from a limit.

/// An exact number.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Number(i64);
/// A number with a unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity(Number);
/// A range of quantities.
#[derive(Clone, Debug, PartialEq)]
pub struct Range(Quantity);
/// How far a reading lies from a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    /// Signed distance to the nearest limit.
    pub distance: Quantity,
    /// Distance as a share of the tolerance.
    pub share: Option<Number>,
}
