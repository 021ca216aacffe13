//! What the documents of the trade hold: jobs, procedures, tool registers, known findings. Only here are the
//! names of their fields written out; all else asks the views of this module, which borrow a document and read a
//! field when it is asked for.

pub mod form;
mod field;
pub mod names;
mod reference;
pub mod job;
pub mod register;
pub mod known;
pub mod procedure;
pub mod prescription;
pub mod prescribed;
pub mod blank;
mod recorded;
pub mod facts;
pub mod logbook;
pub mod work;
pub mod mending;

pub use field::{Field, Stated};
pub use job::{Concession, Job};
pub use reference::Reference;
