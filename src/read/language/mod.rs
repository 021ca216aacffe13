//! The rule language: from text to a checked program.

pub mod ast;
mod wording;
mod read;
pub(crate) mod pieces;
pub mod layout;
pub mod ids;
pub mod types;
pub mod builtins;
pub mod typed;
pub mod naming;
pub mod literals;
pub mod changes;
pub mod check;
mod keys;
pub mod analysis;
pub mod mutants;

pub use read::{
    Clauses, LARGEST_FILE, MOST_NESTED, MOST_OPERATORS, Wanted, looks_like_rules, parse, parse_again,
    parse_declarations, parse_expression, parse_without_trials,
};
