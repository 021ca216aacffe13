//! The forms of report, on runs that are built by hand.

mod difference;
mod folded;
mod github;
mod gitlab;
mod hostile;
mod json;
mod junit;
mod sarif;
mod support;
mod written;
