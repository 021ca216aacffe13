//! Which outcomes a new edition of a standard changes on documents that both editions judged.

use std::collections::{BTreeMap, HashMap};

use crate::diagnostic::Level;
use crate::finding::{Finding, Judged, Tally};
use crate::language::typed::Program;

/// An outcome that is not the same by both editions.
#[derive(Clone, Debug, PartialEq)]
pub struct OutcomeChange {
    /// The document.
    pub document: String,
    /// The line at which it shows, from 1.
    pub line: usize,
    /// The full name of the rule, as the new edition has it; the code of a mistake.
    pub rule: String,
    /// What the old edition says.
    pub from: Said,
    /// What the new one says.
    pub to: Said,
}

/// What an edition says of a rule on a document.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A finding.
    Finding(Box<Finding>),
    /// Nothing: what the rule concerns is met.
    NoFinding,
    /// That it concerns nothing there.
    NotConcerned,
    /// That its standard does not apply there.
    NotApplied,
    /// There is no such rule in this edition.
    NoRule,
    /// How many demands are broken and how many undecided, where not all findings are listed.
    Counted(u64, u64),
    /// That the document cannot be judged.
    Mistake(String),
    /// That nothing prevents it of judging it.
    NoMistake,
}

/// What one edition says of the documents of one text.
#[derive(Clone, Copy)]
pub struct By<'j> {
    /// The rules.
    pub program: &'j Program,
    /// The documents, in the order of the text.
    pub judged: &'j [Judged],
}

/// The outcomes that differ; `renamed` tells the new names of rules that have another one.
#[must_use]
pub fn outcomes(old: By<'_>, new: By<'_>, renamed: &[(String, String)]) -> Vec<OutcomeChange> {
    let names: HashMap<&str, &str> = renamed.iter().map(|(old, new)| (old.as_str(), new.as_str())).collect();
    let mut changes = Vec::new();
    for (ours, theirs) in old.judged.iter().zip(new.judged) {
        let name_in_new =
            |name: &'_ str| names.get(name).map_or_else(|| name.to_owned(), |new| (*new).to_owned());
        let same = |name: &str| name.to_owned();
        let (ours, theirs) =
            (Sayings::of(ours, old.program, name_in_new), Sayings::of(theirs, new.program, same));
        ours.against(&theirs, &mut changes);
    }
    changes
}

/// What identifies a finding in both editions: rule, subject, and the value that decided.
type Subject = (String, String, String);

/// What one edition says of one document.
struct Sayings<'j> {
    judged: &'j Judged,
    findings: BTreeMap<Subject, &'j Finding>,
    tallies: BTreeMap<String, &'j Tally>,
    rules: std::collections::BTreeSet<String>,
    mistakes: BTreeMap<(&'j str, &'j str), usize>,
}

impl<'j> Sayings<'j> {
    fn of(judged: &'j Judged, program: &Program, name: impl Fn(&str) -> String) -> Sayings<'j> {
        let findings = judged.findings.iter();
        let mistakes = judged.diagnostics.iter().filter(|found| found.level == Level::Error);
        Sayings {
            judged,
            findings: findings
                .map(|found| ((name(&found.rule), found.subject.clone(), found.path.clone()), found))
                .collect(),
            tallies: judged
                .tallies
                .iter()
                .map(|(rule, tally)| (name(&program.rules()[*rule].name), tally))
                .collect(),
            rules: program.rules().all().iter().map(|rule| name(&rule.name)).collect(),
            mistakes: mistakes
                .map(|found| {
                    let place = found.place().and_then(|place| judged.sources.start_of(place));
                    ((found.code.as_str(), found.message.as_str()), place.map_or(1, |position| position.line))
                })
                .collect(),
        }
    }

    fn against(&self, new: &Sayings<'_>, changes: &mut Vec<OutcomeChange>) {
        let begin = changes.len();
        for subject in both(self.findings.keys(), new.findings.keys()) {
            let (from, to) = (self.findings.get(subject), new.findings.get(subject));
            let standing =
                |found: Option<&&Finding>| found.map(|found| (found.outcome, found.severity, found.standing));
            if standing(from) != standing(to) {
                let line = from.map_or_else(|| new.line(to), |_| self.line(from));
                self.note(changes, line, &subject.0, self.says(&subject.0, from), new.says(&subject.0, to));
            }
        }
        for rule in both(self.tallies.keys(), new.tallies.keys()) {
            let said = changes.get(begin..).is_some_and(|own| own.iter().any(|change| change.rule == *rule));
            let (Some(from), Some(to)) = (self.tallies.get(rule), new.tallies.get(rule)) else { continue };
            if said {
                continue;
            }
            if (from.broken, from.undecided) != (to.broken, to.undecided) {
                let said = |tally: &Tally| Said::Counted(tally.broken, tally.undecided);
                self.note(changes, 1, rule, said(from), said(to));
            } else if from.applied() != to.applied() {
                self.note(changes, 1, rule, self.says(rule, None), new.says(rule, None));
            }
        }
        for mistake in both(self.mistakes.keys(), new.mistakes.keys()) {
            let line = match (self.mistakes.get(mistake), new.mistakes.get(mistake)) {
                (Some(_), Some(_)) | (None, None) => continue,
                (Some(line), None) | (None, Some(line)) => *line,
            };
            let said = |has: bool| if has { Said::Mistake(mistake.1.to_owned()) } else { Said::NoMistake };
            let old = self.mistakes.contains_key(mistake);
            self.note(changes, line, mistake.0, said(old), said(!old));
        }
    }

    fn line(&self, finding: Option<&&Finding>) -> usize {
        let position = finding.and_then(|found| self.judged.sources.start_of(found.at));
        position.map_or(1, |position| position.line)
    }

    fn note(&self, changes: &mut Vec<OutcomeChange>, line: usize, rule: &str, from: Said, to: Said) {
        changes.push(OutcomeChange {
            document: self.judged.name.clone(),
            line,
            rule: rule.to_owned(),
            from,
            to,
        });
    }

    fn says(&self, rule: &str, finding: Option<&&Finding>) -> Said {
        match (finding, self.tallies.get(rule)) {
            (Some(found), _) => Said::Finding(Box::new((**found).clone())),
            (None, Some(tally)) if tally.applied() => Said::NoFinding,
            (None, Some(_)) => Said::NotConcerned,
            (None, None) if self.rules.contains(rule) => Said::NotApplied,
            (None, None) => Said::NoRule,
        }
    }
}

/// The keys of two maps, each once, in order.
fn both<'k, K: Ord>(old: impl Iterator<Item = &'k K>, new: impl Iterator<Item = &'k K>) -> Vec<&'k K> {
    let mut keys: Vec<&K> = old.chain(new).collect();
    keys.sort();
    keys.dedup();
    keys
}
