//! What of one judged document counts among many: small, and made on the thread that judges.

use serde::{Deserialize, Serialize};

use crate::diagnostic::Level;
use crate::finding::{Judged, Near, Reading, Standing};
use crate::language::ast::Severity;
use crate::language::ids::RuleId;
use crate::source::{Place, Sources};
use crate::trade::facts::{ConcessionFacts, JobFacts};

/// What became of a job.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum JobOutcome {
    /// Nothing at or above the failing severity was found, and its record has no error.
    Passed,
    /// Something was.
    #[default]
    Failed,
    /// Work still goes on.
    InWork,
}

/// What a rule came to on a document that it concerns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RuleOutcome {
    /// Whether a demand is broken.
    pub broken: bool,
    /// Whether one is undecided.
    pub undecided: bool,
}

/// A concession in a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Conceded {
    /// What it says.
    pub facts: ConcessionFacts,
    /// The line at which it begins.
    pub line: usize,
    /// How many findings stand under it.
    pub findings: u64,
}

/// What of one judged document counts among many.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// The document's name.
    pub name: String,
    /// Its form; empty where it could not be read.
    pub form: String,
    /// Whether it could be read.
    pub readable: bool,
    /// Whether its record has errors.
    pub has_errors: bool,
    /// The facts of a job, and what became of it.
    pub job: Option<(JobFacts, JobOutcome)>,
    /// The lines at which the tools, and then the lots, of the job are named first.
    pub used_at: Vec<usize>,
    /// What the rules came to that concern it.
    pub rules: Vec<(RuleId, RuleOutcome)>,
    /// The readings with their lines.
    pub readings: Vec<(usize, Reading)>,
    /// Met demands that are near their limits.
    pub nearest: Vec<Near>,
    /// Its concessions.
    pub concessions: Vec<Conceded>,
    /// How many steps the rules took.
    pub steps: u64,
}

impl Taken {
    /// That of a document which a session keeping figures judged; a job fails from this severity on.
    #[must_use]
    pub fn of(mut judged: Judged, fail_on: Severity) -> Taken {
        let has_errors = !judged.readable || judged.at_level(Level::Error) > 0;
        let fails =
            judged.findings.iter().any(|one| one.standing == Standing::Counts && one.severity >= fail_on)
                || judged.unlisted.keys().any(|(severity, _)| *severity >= fail_on)
                || (fail_on <= Severity::Advice && judged.at_level(Level::Advice) > 0);
        let (facts, readings) =
            judged.archived.take().map_or((None, Vec::new()), |archived| (archived.facts, archived.readings));
        let job = facts.map(|facts| {
            let outcome = match () {
                () if facts.in_work => JobOutcome::InWork,
                () if fails || has_errors => JobOutcome::Failed,
                () => JobOutcome::Passed,
            };
            (facts, outcome)
        });
        let line = |at: Place| line(&judged.sources, at);
        let used = job.iter().flat_map(|(facts, _)| facts.tools.iter().chain(&facts.lots));
        let used_at = used.map(|used| line(used.at)).collect();
        let stand_under = |concession: &ConcessionFacts| {
            let granted = judged.findings.iter().filter_map(|finding| finding.concession.as_ref());
            granted.filter(|granted| granted.at == concession.at).count() as u64
        };
        let conceded = |concession: &ConcessionFacts| Conceded {
            line: line(concession.at),
            findings: stand_under(concession),
            facts: concession.clone(),
        };
        let listed = job.iter().flat_map(|(facts, _)| facts.concessions.iter().take(MOST_CONCESSIONS));
        let concessions = listed.map(conceded).collect();
        let outcome = |tally: &crate::finding::Tally| RuleOutcome {
            broken: tally.broken > 0,
            undecided: tally.undecided > 0,
        };
        let concerned = judged.tallies.iter().filter(|(_, tally)| tally.applied());
        Taken {
            used_at,
            concessions,
            rules: concerned.map(|(number, tally)| (*number, outcome(tally))).collect(),
            readings: readings.into_iter().map(|reading| (line(reading.at), reading)).collect(),
            has_errors,
            job,
            readable: judged.readable,
            steps: judged.steps,
            nearest: judged.nearest,
            name: judged.name,
            form: judged.form,
        }
    }
}

/// So many concessions of one record are listed.
const MOST_CONCESSIONS: usize = 100;

fn line(sources: &Sources, at: Place) -> usize {
    sources.start_of(at).map_or(0, |position| position.line)
}
