//! Judging: what rules come to on documents, in data and in words, and what changed between two of either.

pub use witnessmark_base::{
    code, diagnostic, edition, letters, metrology, quantity, signal, source, statistics, time, value,
};
pub use witnessmark_read::{document, finding, language, library, trade};

pub mod decide;
pub mod analysis;
pub mod explain;
pub mod settings;
pub mod session;
pub mod compare;
