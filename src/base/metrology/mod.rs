//! The published methods of the trade: what a reading is worth, and the sums behind a torque, a volume or
//! an oil.
//!
//! One file holds one method, with its formula, symbols, units, range of validity and source. A method
//! answers with an exact figure or with a figure rounded to [`figure::DIGITS`] significant digits, so that
//! whatever is decided on it afterwards is decided exactly; outside its range it gives a fault in plain
//! words, never an extrapolation. Each writes its steps into a [`Working`], which keeps them only when
//! someone wants to see them.

mod figure;
mod working;

pub mod adapter;
pub mod angle;
pub mod bolt;
pub mod brake_fluid;
pub mod cleanliness;
pub mod conformity;
pub mod coolant;
pub mod crisscross;
pub mod filtration;
pub mod identity;
pub mod normal;
pub mod oil_grade;
pub mod torque_tool;
pub mod uncertainty;
pub mod viscosity;
pub mod viscosity_index;
mod viscosity_table;
pub mod volume;

pub use figure::DIGITS;
pub use working::{Line, Sketch, Working};
