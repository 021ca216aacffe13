//! What is asked for: the jobs that a tool or a lot touched, from a day on.

use serde::{Deserialize, Serialize};

use super::bounded::Merge;
use super::sums::{Day, name_key};
use super::taken::{JobOutcome, Taken};
use crate::trade::facts::JobFacts;

/// What is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wanted {
    /// A tool, by its number.
    pub tool: Option<String>,
    /// A lot.
    pub lot: Option<String>,
    /// The first day; jobs without a day that can be read count all the same.
    pub since: Option<Day>,
}

/// A job that was touched by what is asked for.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Touched {
    /// The number of the job.
    pub number: Option<String>,
    /// What became of it.
    pub outcome: JobOutcome,
    /// Who did it.
    pub technician: Option<String>,
    /// The line at which it is named first.
    pub line: usize,
    /// What it was used for first.
    pub path: String,
    /// How many places name it.
    pub places: u64,
}

impl Merge for Touched {
    fn merge(&mut self, _: Self) {}
}

impl Wanted {
    /// Whether the jobs that something touched are asked for.
    #[must_use]
    pub fn is_of_some(&self) -> bool {
        self.tool.is_some() || self.lot.is_some()
    }

    /// The entry of a job in the list of those that are asked for; none for others.
    pub(super) fn touched(
        &self,
        taken: &Taken,
        facts: &JobFacts,
        outcome: JobOutcome,
    ) -> Option<((Option<Day>, String), Touched)> {
        let wanted = [(&self.tool, &facts.tools, 0), (&self.lot, &facts.lots, facts.tools.len())];
        let mut found: Option<Touched> = None;
        for (name, list, before) in wanted {
            let Some(key) = name.as_deref().map(name_key) else { continue };
            let same = |(_, used): &(usize, &crate::trade::facts::Used)| name_key(&used.name) == key;
            for (number, used) in list.iter().enumerate().filter(same) {
                let line = taken.used_at.get(before + number).copied().unwrap_or_default();
                let touched = found.get_or_insert_with(|| Touched {
                    number: facts.number.clone(),
                    outcome,
                    technician: facts.technician.clone(),
                    line,
                    path: used.path.clone(),
                    places: 0,
                });
                touched.places += used.places;
            }
        }
        found.map(|touched| ((facts.day.map(Day), taken.name.clone()), touched))
    }
}
