//! Words that stand in the handbook whatever its form.

use super::{Figure, Handbook};
use crate::language::ast::{Severity, TrialOutcome};
use crate::session::DeclaredParameter;

/// What stands before everything else.
pub(super) const CAUTIONS: [&str; 3] = [
    "Work on vehicles can kill. Support a raised vehicle on stands, keep clear of moving parts, let hot oil cool, lead exhaust \
     gas away, isolate high voltage (qualified people only), collect used oil.",
    "The maker's instruction, local codes and licensed practice come before every rule in this book. Where they say otherwise, \
     they count.",
    "A record that passes is no proof that the work was done, or done safely.",
];

/// What parameters are.
pub(super) const PARAMETERS: &str = "Figures that differ from vehicle to vehicle come from the procedure that a job names, or from the \
     workshop's settings. Look each of them up in the maker's instruction.";

/// What is said of a parameter without a value.
pub(super) const UNSTATED: &str = "Nobody states it yet.";

/// How a value by cases is read.
pub(super) const CASES: &str = "The first line that fits counts.";

/// How figures are converted.
pub(super) const FIGURES: &str = "Figures in the other system of units are computed exactly and shown rounded to the safe side, so that who keeps to them \
     keeps to the rule. Where the two differ by the rounding, the figure as the rule states it decides.";

/// What a severity means.
pub(super) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Hold => "Hold: the vehicle is not released",
        Severity::Advice => "Advice: to be seen to",
        Severity::Note => "Note: for the file",
    }
}

/// What an outcome of an example means.
pub(super) fn outcome(outcome: TrialOutcome) -> &'static str {
    match outcome {
        TrialOutcome::Met => "This is right:",
        TrialOutcome::Broken => "This is wrong:",
        TrialOutcome::Undecided => "This leaves it open:",
        TrialOutcome::NotConcerned => "This the rule does not concern:",
    }
}

/// What a parameter is, in words.
pub(super) fn parameter(declared: &DeclaredParameter) -> String {
    let mut words = declared.kind.replace('`', "");
    if let Some(differs) = declared.differs_by() {
        words.push_str(&format!("; it differs by {differs}"));
    }
    if let Some(from) = &declared.from {
        words.push_str(&format!("; {from} goes before what is stated"));
    }
    words
}

impl Handbook {
    /// Whether the book says what a name means.
    pub(super) fn explains(&self, figure: Figure) -> bool {
        self.names.iter().any(|name| name.figure == figure)
            || self.parameters.iter().any(|parameter| parameter.figure == figure)
    }

    /// The title of a rule.
    pub(super) fn title_of<'b>(&'b self, name: &'b str) -> &'b str {
        let rules = self.chapters.iter().flat_map(|chapter| &chapter.rules);
        rules.into_iter().find(|rule| rule.name == name).map_or(name, |rule| rule.title.as_str())
    }
}
