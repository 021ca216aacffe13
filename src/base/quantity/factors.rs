//! The definitions that several units rest on, as the table of units names them, and their exact factors.

pub(super) const SI: &str = "SI";
pub(super) const PREFIX: &str = "SI prefix";
pub(super) const POUND_FORCE: &str = "IYP pound × GN";
pub(super) const POUND_INCH: &str = "IYP pound × GN, IYP inch";
pub(super) const KILOGRAM_FORCE: &str = "kilogram × GN";

/// Factors of pound-force, and of pound-force per square inch, to newton and pascal.
pub(super) const LBF: (i128, i128) = (8_896_443_230_521, 2_000_000_000_000);
pub(super) const PSI: (i128, i128) = (8_896_443_230_521, 1_290_320_000);
/// A gallon of 231 cubic inches, and the imperial one, in cubic metres times 10^12 and 10^8.
pub(super) const US_GALLON: i128 = 473_176_473;
pub(super) const IMPERIAL_GALLON: i128 = 454_609;
