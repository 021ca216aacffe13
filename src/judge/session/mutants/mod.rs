//! Rules with one thing changed, judged by the trials: a change that no trial notices could be a mistake that nobody would
//! notice either.

pub(super) mod judged;
mod near;

use rayon::prelude::*;

use super::Session;
use crate::analysis::same::makes_no_difference;
use crate::code::MUTANT_SURVIVES;
use crate::diagnostic::Diagnostic;
use crate::language::mutants::{Definition, Mutant, Users};
use crate::language::typed::{Program, Rule};
use crate::source::Place;

use judged::Tried;

/// Which of all changes are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// Each of them.
    All,
    /// So many at most, spread over all definitions; the seed says which.
    Some {
        /// How many.
        most: usize,
        /// Another seed takes others.
        seed: usize,
    },
}

/// What is looked for where no trial notices a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Offer {
    /// A trial that would, which takes most of the time.
    Trials,
    /// Nothing.
    Nothing,
}

/// What became of rules in which one thing was changed.
#[derive(Clone, Debug, Default)]
pub struct Mutants {
    /// How many changes were made.
    pub made: usize,
    /// How many of them a trial notices.
    pub noticed: usize,
    /// How many change nothing that any document could show.
    pub same: usize,
    /// The others, in the order of the texts.
    pub left: Vec<Survivor>,
}

/// A change that no trial notices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Survivor {
    /// The rule, or the first of those that the changed definition is used by.
    pub rule: String,
    /// What was changed.
    pub place: Place,
    /// How, as it follows on "when".
    pub what: String,
    /// A trial of that rule that would notice, where one was found.
    pub trial: Option<String>,
}

impl Survivor {
    /// What is said of it.
    #[must_use]
    pub fn diagnostic(&self) -> Diagnostic {
        let message = format!("no trial notices when {}", self.what);
        let help = match &self.trial {
            Some(trial) => format!("add to `{}`: {trial}", self.rule),
            None => format!(
                "add a trial to `{}` that comes out otherwise then; whether a record can tell the two apart was not found out",
                self.rule
            ),
        };
        Diagnostic::advice(MUTANT_SURVIVES, self.place, message).help(help)
    }
}

/// What became of one change.
enum Fate {
    Noticed,
    Same,
    Left(Survivor),
}

/// How many changes of the rules of a run are made at most, so that the work ends.
pub const MOST_MUTANTS: usize = 200_000;

impl Session {
    /// Makes changes of some rules, one at a time, and says which no trial notices. `advance` is told how many are done, of
    /// how many.
    #[must_use]
    pub fn mutants(
        &self,
        wanted: &dyn Fn(&Rule) -> bool,
        (sample, offer): (Sample, Offer),
        advance: &(dyn Fn(usize, usize) + Sync),
    ) -> Mutants {
        let program = self.program();
        let users = Users::of(program, wanted);
        let texts = judged::texts(self, wanted);
        let tried = Tried::of(self, &texts);
        let definitions: Vec<Definition> = users.definitions().collect();
        let mut made: Vec<Mutant> = Vec::new();
        for definition in definitions {
            made.extend(program.mutants_of(definition, self.sources()));
        }
        let mut made = sampled(made, sample);
        let of = made.len();
        let share = of.div_ceil(PARTS).max(1);
        let fates: Vec<Fate> = made
            .par_chunks_mut(share)
            .flat_map_iter(|mutants| {
                let mut changed = program.clone();
                let fate = |mutant: &mut Mutant| {
                    let fate = self.fate(&mut changed, mutant, &users, &tried, offer);
                    advance(1, of);
                    fate
                };
                mutants.iter_mut().map(fate).collect::<Vec<Fate>>()
            })
            .collect();
        let mut found = Mutants { made: of, ..Mutants::default() };
        for fate in fates {
            match fate {
                Fate::Noticed => found.noticed += 1,
                Fate::Same => found.same += 1,
                Fate::Left(survivor) => found.left.push(survivor),
            }
        }
        found.left.sort_by(|one, other| (one.place, &one.what).cmp(&(other.place, &other.what)));
        found
    }

    fn fate(
        &self,
        changed: &mut Program,
        mutant: &mut Mutant,
        users: &Users,
        tried: &Tried<'_>,
        offer: Offer,
    ) -> Fate {
        mutant.exchange(changed);
        let fate = self.fate_of_changed(changed, mutant, users, tried, offer);
        mutant.exchange(changed);
        fate
    }

    fn fate_of_changed(
        &self,
        changed: &Program,
        mutant: &Mutant,
        users: &Users,
        tried: &Tried<'_>,
        offer: Offer,
    ) -> Fate {
        let rules = || users.of_definition(mutant.definition);
        if rules().any(|rule| tried.notices(self, changed, rule)) {
            return Fate::Noticed;
        }
        if makes_no_difference(self.program(), changed, mutant) {
            return Fate::Same;
        }
        let mut searched = rules().filter(|_| offer == Offer::Trials);
        let found = searched.find_map(|rule| Some((rule, near::trial(self, changed, mutant, tried, rule)?)));
        let rule = found.as_ref().map(|(rule, _)| *rule).or_else(|| rules().next());
        let name = rule.map_or(String::new(), |rule| changed.rules()[rule].name.clone());
        Fate::Left(Survivor {
            rule: name,
            place: mutant.place,
            what: mutant.what.clone(),
            trial: found.map(|(_, trial)| trial),
        })
    }
}

/// Into how many parts the work is cut, each with a program of its own to change.
const PARTS: usize = 32;

/// Those of all changes that are made: every so manyth, so that each definition has its share.
fn sampled(all: Vec<Mutant>, sample: Sample) -> Vec<Mutant> {
    let (most, seed) = match sample {
        Sample::All => (MOST_MUTANTS, 0),
        Sample::Some { most, seed } => (most.min(MOST_MUTANTS), seed),
    };
    let step = all.len().div_ceil(most.max(1)).max(1);
    all.into_iter().skip(seed % step).step_by(step).collect()
}
