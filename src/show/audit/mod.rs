//! Figures over many jobs: what a run comes to, what can be said of it and how sure that is. Pure.
//!
//! [`Taken`] is what of one judged document counts, [`Figures`] the sum over many, which can be cut and added in any way, and
//! [`Page`] what is told of it; the forms below `forms/` write that. Nothing here decides a verdict, so figures may be `f64`.

pub mod bounded;
pub mod figures;
pub mod forms;
pub mod page;
pub mod sums;
mod taken;
mod tell;
mod wanted;

pub use bounded::Merge;
pub use figures::Figures;
pub use page::Page;
pub use sums::Day;
pub use taken::{JobOutcome, Taken};
pub use tell::{Around, page};
pub use wanted::{Touched, Wanted};
