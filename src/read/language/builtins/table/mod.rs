//! The table of builtins, cut by subject. A new one is one row.

mod bolts;
mod cleanliness;
mod fluids;
mod identity;
mod oil;
mod time;
mod torque;
mod values;

use super::Builtin;

/// Every builtin, subject by subject.
pub const BUILTINS: &[&[Builtin]] = &[
    identity::ROWS,
    values::ROWS,
    time::ROWS,
    torque::ROWS,
    bolts::ROWS,
    oil::ROWS,
    cleanliness::ROWS,
    fluids::ROWS,
];
