//! The one integration binary.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::disallowed_methods,
    reason = "a test fails by panicking, and reads and writes the files it works on"
)]

mod against;
mod analysis;
mod around;
mod audit;
mod builtins;
mod cases;
mod codes;
mod command;
mod compare;
mod coverage;
mod document;
mod editor;
mod edition;
mod editions;
mod everyday;
mod examples;
mod faults;
mod filters;
mod fuzz;
#[path = "bench/generate/mod.rs"]
mod generate;
mod generated;
mod guarded;
mod handbook;
mod injected;
mod internal;
mod language;
mod history;
mod keyed;
mod layout;
mod logbooks;
mod least_work;
mod letters;
mod limits;
mod logs;
mod metrology;
mod misspelt;
mod mistaken;
mod mutants;
mod naive;
mod oracle;
mod page;
mod own_words;
mod parse;
mod not_told;
mod notations;
mod pressure;
mod quantity;
mod readme;
mod report;
mod rule_index;
mod sheet;
mod shipped;
mod signal;
mod sought;
mod statistics;
mod support;
mod tidy;
mod uncertain;
mod unjudged;
mod undecided;
mod words;
