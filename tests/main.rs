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

#[path = "bench/generate/mod.rs"]
mod generate;
mod generated;

mod document;
mod examples;
mod naive;
mod parse;
#[cfg(test)]
mod quantity;
mod report;
