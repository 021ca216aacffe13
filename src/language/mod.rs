//! The rule language: from text to a checked program.

pub mod ast;
