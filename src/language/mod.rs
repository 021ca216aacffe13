//! The rule language: from text to a checked program.

pub mod ast;
mod bounds;
pub mod builtins;
pub mod check;
mod clauses;
mod cut;
mod expressions;
mod items;
mod misfit;
mod mistakes;
mod operators;
mod parse;
mod reader;
mod rules;
mod scan;
mod texts;
pub mod typed;
pub mod types;
mod words;

pub use bounds::{MOST_NESTED, MOST_OPERATORS};
pub use clauses::{LARGEST_FILE, parse_expression};
pub use reader::parse;
