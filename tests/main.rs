//! The one integration binary.

mod parse;
#[cfg(test)]
mod quantity;
mod report;
