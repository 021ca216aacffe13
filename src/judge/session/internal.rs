//! Broken invariants: the program's own faults. One ends the judgement of the document at hand and is said as what it
//! is; all other documents are judged.

use std::cell::RefCell;
use std::panic::{self, AssertUnwindSafe, PanicHookInfo};

use crate::code::INTERNAL_ERROR;
use crate::diagnostic::Fault;

thread_local! {
    /// What the last broken invariant of this thread says of itself.
    static SAID: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Keeps what a broken invariant says of itself for the report, instead of printing it at once. A front end calls it
/// once, before any work.
pub fn keep_for_the_report() {
    panic::set_hook(Box::new(|info: &PanicHookInfo<'_>| SAID.set(Some(info.to_string()))));
}

/// Does a piece of work.
///
/// # Errors
/// An invariant is broken.
pub fn sound<T>(work: impl FnOnce() -> T) -> Result<T, Fault> {
    panic::catch_unwind(AssertUnwindSafe(work)).map_err(|_| {
        let said = SAID.take().unwrap_or_default();
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = if said.is_empty() { said } else { format!(": {said}") };
        Fault::new(INTERNAL_ERROR, format!("the program itself has a fault, so this is not judged{said}"))
            .help("keep the document and the rules as they are, and report the fault with them; the other documents are judged")
    })
}
