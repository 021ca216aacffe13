//! The order of the work: where in it each part of a record is filled in.

use super::job::{CLOSED, STATE};
use crate::document::forms::FIELD;

/// A part of a record that belongs to a step of the work: its path, words in the names of such steps, and whether the first
/// or the last of them is meant.
#[derive(Debug)]
pub struct Belongs {
    /// The path of the part.
    pub part: &'static str,
    /// A step belongs to it whose name has one of these words.
    pub words: &'static [&'static str],
    /// Whether the last of several such steps is meant.
    pub to_last: bool,
}

const fn to_first(part: &'static str, words: &'static [&'static str]) -> Belongs {
    Belongs { part, words, to_last: false }
}

const fn to_last(part: &'static str, words: &'static [&'static str]) -> Belongs {
    Belongs { part, words, to_last: true }
}

/// The parts that belong to a step.
pub const BELONGS: [Belongs; 16] = [
    to_first("fault_memory.before", &["fault memory"]),
    to_first("fluid.drained", &["drain"]),
    to_last("fluid.fills", &["fill", "stage"]),
    to_first("pan", &["pan"]),
    to_first("magnets", &["pan", "magnet"]),
    to_first("filters", &["filter"]),
    to_last("level_check", &["level"]),
    to_first("brake_fluid", &["bleed", "brake"]),
    to_first("coolant", &["coolant", "cooling"]),
    to_first("pressure_hold", &["pressure"]),
    to_last("wheels", &["fit", "wheel"]),
    to_last("retightening", &["retighten"]),
    to_last("learning_run", &["learning"]),
    to_last("road_test", &["drive", "road"]),
    to_first("connectors", &["connector"]),
    to_first("guide_tubes", &["tube"]),
];

/// The parts that are filled in before any step.
pub const BEFORE: [&str; 4] = ["job", "vehicle", "unit", "cautions"];

/// What is not filled in field by field: the form, and what is written when a job is closed.
pub const NOT_FILLED_IN: [&str; 3] = [FIELD, STATE, CLOSED];

/// The list of the steps.
pub const STEPS: &str = "steps";

/// The list of what is tightened, of which each step has its own.
pub const FASTENINGS: &str = "fastenings";

/// The parts behind the last step, in this order; others before them.
pub const BEHIND: [&str; 4] = ["used_oil", "fault_memory", "photographs", "concessions"];
