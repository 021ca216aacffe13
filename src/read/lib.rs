//! Reading: documents and what they hold, the rule language, and the shipped standards.

// The parser made from the grammar names it: without its feature `std`, with which it would ask at each
// production how much of the stack is left. Nesting is bounded before it reads.
extern crate alloc;

pub use witnessmark_base::{
    code, diagnostic, edition, letters, metrology, quantity, signal, source, statistics, time, value,
};

pub mod document;
pub mod trade;
pub mod language;
pub mod library;
pub mod finding;
