//! The rule language: from text to a checked program.
//!
//! Reading, in the order in which its files build on each other: `words` (reserved words), `scan` (what
//! a file is cut by), `parse` (the grammar), `mistakes` (the list of them), `cut` (a file into items and
//! clauses), `bounds` (nesting), `misfit` (why a clause cannot be read), `texts`, `operators` and
//! `expressions` (values), `clauses`, `items`, `rules`, and `reader`, which does it all.

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
