//! The one integration binary.
mod report;
