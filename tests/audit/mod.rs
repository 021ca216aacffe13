//! Figures over many jobs: sums that can be cut and added in any way, what is told of made-up workshops in which the truth is
//! known, and the program.

mod archive;
mod page;
mod program;
mod sums;
mod told;
