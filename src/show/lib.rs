//! Showing: the forms of report, the pages to print, and the page at the bench.

pub use witnessmark_base::{
    code, diagnostic, edition, letters, metrology, quantity, signal, source, statistics, time, value,
};
pub use witnessmark_judge::{analysis, compare, decide, explain, session, settings};
pub use witnessmark_read::{document, finding, language, library, trade};

pub mod report;
pub mod sheet;
pub mod handbook;
pub mod audit;
pub mod bench;
