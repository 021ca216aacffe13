//! What the documents of the trade hold: jobs, procedures, tool registers, known findings. Only here are the
//! names of their fields written out; all else asks the views of this module, which borrow a document and read a
//! field when it is asked for.

mod field;
pub mod form;
pub mod job;
pub mod known;
pub mod names;
pub mod procedure;
mod reference;
pub mod register;

pub use field::Field;
pub use job::{Concession, Job};
pub use reference::{Reference, Stated};
