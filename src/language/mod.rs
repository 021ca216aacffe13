//! The rule language: from text to a checked program.

pub mod ast;
mod mistakes;
mod parse;
mod scan;
mod words;
mod bounds;
mod cut;
mod misfit;
mod texts;
mod operators;
mod expressions;
mod clauses;
mod items;
mod rules;
mod reader;

pub use bounds::{MOST_NESTED, MOST_OPERATORS};
pub use clauses::{LARGEST_FILE, parse_expression};
pub use reader::parse;
