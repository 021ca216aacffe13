//! The one integration binary.

mod parse;
mod report;
