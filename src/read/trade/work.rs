//! The order of the work: where in it each part of a record is filled in.

use super::job::{CLOSED, STATE};
use super::names::ROLE;
use super::procedure::Procedure;
use crate::document::forms::FIELD;
use crate::document::path::Step;
use crate::document::{DocPath, Document, NodeId};
use crate::value::Value;

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

impl Belongs {
    /// The step to which the part belongs, of steps with these names.
    #[must_use]
    pub fn step(
        &self,
        mut names: impl DoubleEndedIterator<Item: AsRef<str>> + ExactSizeIterator,
    ) -> Option<usize> {
        let fits = |name: &str| self.words.iter().any(|word| name.contains(word));
        match self.to_last {
            true => names.rposition(|name| fits(name.as_ref())),
            false => names.position(|name| fits(name.as_ref())),
        }
    }
}

/// Where in the order of the work the value at a path of a job comes: before the first step of its procedure, at one of them,
/// behind the last one with what has no step, or at the very end.
#[must_use]
pub fn turn(procedure: &Procedure, job: &Document<'_>, path: &str) -> usize {
    let is_in = |part: &str| {
        path.strip_prefix(part).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    let steps = &procedure.steps;
    if BEFORE.into_iter().any(is_in) {
        return 0;
    }
    let names = || steps.iter().map(|step| step.name.as_str());
    let step = match entry(job, path) {
        Some(step) if is_in(STEPS) => {
            let called = text(job, step, STEP);
            names().position(|name| Some(name) == called)
        }
        Some(fastening) if is_in(FASTENINGS) => {
            let called = text(job, fastening, ROLE);
            steps.iter().position(|step| step.fastenings.iter().any(|role| Some(role.as_str()) == called))
        }
        _ => {
            let own = BELONGS.iter().find(|belongs| is_in(belongs.part));
            // Of a group that is missing as a whole, what comes first in it; another field of it with what comes last.
            let (group, rest) =
                path.split_once('.').map_or((path, None), |(group, rest)| (group, Some(rest)));
            let beside = |belongs: &&Belongs| {
                belongs.part.strip_prefix(group).is_some_and(|rest| rest.starts_with('.'))
            };
            let steps = || BELONGS.iter().filter(beside).filter_map(|belongs| belongs.step(names()));
            let near = || match rest {
                None => steps().min(),
                Some(_) if BEHIND.contains(&group) => None,
                Some(_) => steps().max(),
            };
            own.and_then(|belongs| belongs.step(names())).or_else(near)
        }
    };
    let behind = || match BEHIND.into_iter().position(is_in) {
        Some(place) => steps.len() + 2 + place,
        None => steps.len() + 1,
    };
    step.map_or_else(behind, |step| step + 1)
}

/// The entry of a list at or above a path that is the first on the way.
fn entry(job: &Document<'_>, path: &str) -> Option<NodeId> {
    let path: DocPath = path.parse().ok()?;
    let mut node = job.root();
    for step in path.steps() {
        match step {
            Step::Key(name) => node = job.get(node, name)?,
            Step::In(number) => return job.items(node).get(*number).copied(),
        }
    }
    None
}

fn text<'d>(job: &'d Document<'_>, entry: NodeId, name: &str) -> Option<&'d str> {
    match job.value(job.get(entry, name)?)? {
        Value::Text(text) => Some(text),
        _ => None,
    }
}

/// The parts that are filled in before any step.
pub const BEFORE: [&str; 4] = ["job", "vehicle", "unit", "cautions"];

/// What is not filled in field by field: the form, and what is written when a job is closed.
pub const NOT_FILLED_IN: [&str; 3] = [FIELD, STATE, CLOSED];

/// The list of the steps.
pub const STEPS: &str = "steps";

/// The field of a step that says whether its cautions were read.
pub const CAUTIONS_READ: &str = "cautions_read";

/// What a step of a job is called by.
const STEP: &str = "step";

/// The list of what is tightened, of which each step has its own.
pub const FASTENINGS: &str = "fastenings";

/// The parts behind the last step, in this order; others before them.
pub const BEHIND: [&str; 4] = ["used_oil", "fault_memory", "photographs", "concessions"];
