//! A rule-based validator and linter for the service records of oil-filled vehicle units.
//!
//! The modules stand in reading order; each uses only those above it.

pub mod source;
pub mod code;
pub mod letters;
pub mod diagnostic;
pub mod quantity;
pub mod value;
pub mod edition;
pub mod time;
pub mod metrology;
pub mod signal;
pub mod document;
pub mod trade;
pub mod language;
pub mod library;
pub mod finding;
pub mod decide;
pub mod explain;
pub mod settings;
pub mod session;
pub mod compare;
pub mod report;
pub mod sheet;
pub mod command;
