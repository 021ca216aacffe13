//! What was asked of logs, and what became of it.

use super::NodeRef;
use crate::quantity::{Kind, Quantity, Range};
use crate::signal::{Answer, Of, Question, Sampling, Window};

/// What became of a question about logs.
#[derive(Clone, Debug)]
pub struct LogEvidence {
    pub(crate) answer: Answer,
    pub(crate) question: Question,
    pub(crate) window: Window,
    /// The longest distance of two entries that was allowed, in nanoseconds.
    pub(crate) gaps: Option<i64>,
    /// What is shown of it.
    pub(crate) shown: WatchedLog,
    /// Whether all that is asked is that one log lies within one range.
    pub(crate) one_range: bool,
}

/// The log whose comparison decided.
#[derive(Clone, Debug)]
pub struct WatchedLog {
    pub(crate) log: Log,
    /// What of it.
    pub(crate) of: Of,
    /// The range in which that must lie.
    pub(crate) range: Option<Range>,
    /// Where it lay at the instant that decided.
    pub(crate) value: Option<Quantity>,
    /// Whether the comparison stands below an odd number of `not` within the question.
    pub(crate) negated: bool,
}

impl WatchedLog {
    /// A log of which no comparison decided.
    pub(crate) fn only(log: Log) -> WatchedLog {
        WatchedLog { log, of: Of::Level, range: None, value: None, negated: false }
    }
}

/// A log that is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Log {
    /// Where it is recorded.
    pub at: NodeRef,
    /// The kind of its values.
    pub kind: Kind,
    /// What it is between two entries.
    pub sampling: Sampling,
}
