//! Quantities: exact numbers with units, ranges of them, and how far a reading lies from a limit.
//!
//! `number` and `numeral` hold exact numbers and how they are written, `kind` what a quantity is,
//! `unit`, `units` and `refused` the tables of units, `zero` the words for the zero of a pressure, `quantity` a number with a unit, `literal` how far
//! one reaches in a longer text, `range` and `range_text`
//! ranges and how they are written, `range_meant` ranges in another notation. Nothing here rounds; a verdict is decided in exact arithmetic.

mod factors;
mod kind;
mod literal;
mod number;
mod numeral;
#[expect(clippy::module_inception, reason = "a quantity is the chief thing among quantities")]
mod quantity;
mod range;
mod range_meant;
mod range_text;
mod reading;
mod refused;
mod unit;
mod units;
mod zero;

pub use kind::{Dimension, KINDS, Kind, KindName, KindRow};
pub use literal::Literal;
pub use number::{CEILING, Number};
pub use numeral::{dotted_thousands, read_in_one_way};
pub use quantity::Quantity;
pub use range::{Limit, Margin, Range, Which};
pub use range_meant::with_unit_of;
pub use reading::Reading;
pub use unit::Unit;
pub use units::UNITS;
