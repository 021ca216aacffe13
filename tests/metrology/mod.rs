//! The methods of the trade against published figures and laws of physics.
//!
//! Behind each figure stands where it is from. "Recomputed" means computed apart from this program, by
//! another library or by hand; "from memory" that the source was not at hand when the figure was written.

mod adapter;
mod angle;
mod bolt;
mod cleanliness;
mod conformity;
mod crisscross;
mod fluids;
mod identity;
mod normal;
mod oil;
mod torque_tool;
mod uncertainty;

use witnessmark::quantity::Quantity;

/// Fails unless two figures differ by at most `tolerance`.
#[track_caller]
fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted} within {tolerance}");
}

/// Fails unless two figures differ by at most this share of the wanted one.
#[track_caller]
fn near_share(found: f64, wanted: f64, share: f64) {
    near(found, wanted, wanted.abs() * share);
}

/// The figure of a quantity in its own unit.
fn figure(quantity: &Quantity) -> f64 {
    quantity.magnitude().to_f64()
}
