//! What a run over many documents keeps of one.

use crate::language::ids::RuleId;
use crate::quantity::Range;
use crate::source::Place;
use crate::trade::facts::JobFacts;

/// What of a document counts among many.
#[derive(Clone, Debug, PartialEq)]
pub struct Archived {
    /// The facts of the job; none of another document.
    pub facts: Option<JobFacts>,
    /// What was read and lies in a range, or should, at most [`MOST_READINGS`].
    pub readings: Vec<Reading>,
}

/// So many readings of one document are kept. A record of one job has some dozens.
pub const MOST_READINGS: usize = 1_000;

/// A value that a demand by itself holds to a range with two ends. A part of a demand is none: whether that decided depends
/// on the other parts, and what is kept only where it decided says nothing of the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The rule.
    pub rule: RuleId,
    /// What it is a value of: `fastenings[sump screw].torque`; the name of the rule where it is computed from several.
    pub of: String,
    /// The tool that it was measured with.
    pub tool: Option<String>,
    /// Where it stands.
    pub at: Place,
    /// The value, in the unit of its limits.
    pub value: f64,
    /// The lower limit.
    pub low: f64,
    /// The upper limit.
    pub high: f64,
    /// The unit.
    pub unit: &'static str,
    /// What is required.
    pub range: Range,
    /// Whether it is exactly what is wanted: the nominal value, or the middle of the limits.
    pub on_nominal: bool,
    /// Its last digit as it is written, where the limits are at least ten steps of that digit apart.
    pub last_digit: Option<u8>,
}
