//! A rule-based validator and linter for the service records of oil-filled vehicle units.
//!
//! The modules stand in reading order; each uses only those above it.

pub mod code;
pub mod command;
pub mod diagnostic;
pub mod document;
pub mod evaluate;
pub mod finding;
pub mod language;
pub mod quantity;
pub mod report;
pub mod session;
pub mod source;
pub mod value;
