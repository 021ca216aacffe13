//! Findings that were known on a day and are accepted since: a file that people review. Only what was seen is
//! accepted: the rule, the place and the values. New ones fail, and the file shrinks when old ones are gone.

mod accept;
mod read;
pub(super) mod seen;
mod write;

use std::collections::BTreeMap;

use jiff::civil::Date;

pub use self::write::{Counts, count};
use super::judge::MOST_FINDINGS;
use crate::diagnostic::Diagnostic;
use crate::document::forms::MAX_ERRORS;
pub use crate::finding::Seen;
use crate::finding::{Finding, Judged, Outcome};
use crate::language::ast::Severity;
use crate::language::changes::replaced_by;
use crate::source::Place;

/// The weights under which a mistake in a document itself and what is advised of one are known.
const ERROR: &str = "error";
const ADVICE: &str = "advice";

/// What is counted by itself: findings of one rule and weight at one place of a document, of the same values.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// The document, by its path from the folder of the file, with `/` between folders. A file that
    /// holds several documents counts as one.
    pub document: String,
    /// The full name of the rule, or the code of a mistake.
    pub finding: String,
    /// The severity, and whether it is undecided; as the form `known` lists them.
    pub weight: &'static str,
    /// What was seen; none in an entry that does not say it, which accepts nothing.
    pub seen: Option<Seen>,
}

/// Findings of one kind that are known.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Entry {
    key: Key,
    count: u64,
    since: Date,
    note: Option<String>,
    /// Whether other rules took its place too, so that it may be found by one of them alone.
    is_one_of: bool,
    /// Where the entry names the document, the finding and the count.
    places: [Place; 3],
}

/// What a file of known findings holds.
#[derive(Clone, Debug, Default)]
pub struct Known {
    entries: Vec<Entry>,
    by_document: BTreeMap<String, Vec<usize>>,
}

impl Known {
    /// The same with the names of rules that took the place of others: what is known of a rule is known of those that
    /// replace it, with the same day and note. Says so once for each name. `successors` gives the names of the new ones;
    /// none for a rule that the run has.
    #[must_use]
    pub fn with_new_names<'r>(self, successors: &dyn Fn(&str) -> Vec<&'r str>) -> (Known, Vec<Diagnostic>) {
        let (mut known, mut said) = (Known::default(), BTreeMap::new());
        for entry in self.entries {
            let new = if is_code(&entry.key.finding) { Vec::new() } else { successors(&entry.key.finding) };
            if new.is_empty() {
                known.add(entry);
                continue;
            }
            said.entry(entry.key.finding.clone()).or_insert((new.join("` and `"), entry.places[1]));
            for name in &new {
                let key = Key { finding: (*name).to_owned(), ..entry.key.clone() };
                known.add(Entry { key, is_one_of: new.len() > 1, ..entry.clone() });
            }
        }
        let notes = said.into_iter().map(|(old, (new, place))| replaced_by(&old, &new, place));
        (known, notes.collect())
    }

    fn add(&mut self, entry: Entry) {
        self.by_document.entry(entry.key.document.clone()).or_default().push(self.entries.len());
        self.entries.push(entry);
    }
}

/// Whether everything of a kind is listed. Where it is not, what is new cannot be told from what was
/// known, and nothing is accepted.
fn is_listed_whole(key: &Key, judged: &[Judged]) -> bool {
    judged.iter().all(|judged| {
        if is_code(&key.finding) {
            return judged.diagnostics.len() < MAX_ERRORS;
        }
        let severity = key.weight.split(' ').next();
        let same =
            |finding: &&Finding| finding.rule == key.finding && weight(finding).split(' ').next() == severity;
        judged.findings.iter().filter(same).count() < MOST_FINDINGS
    })
}

/// The weights, as the form `known` lists them.
const WEIGHTS: [&str; 7] =
    ["hold", "hold undecided", ADVICE, "advice undecided", "note", "note undecided", ERROR];

/// Whether a finding is said of a document itself, by its code, and not by a rule.
fn is_code(finding: &str) -> bool {
    finding.contains('/')
}

/// The standard of a finding that a rule makes.
#[must_use]
pub fn standard_of(finding: &str) -> Option<&str> {
    if is_code(finding) { None } else { finding.split_once('.').map(|(standard, _)| standard) }
}

fn weight(finding: &Finding) -> &'static str {
    match (finding.severity, finding.outcome == Outcome::Undecided) {
        (Severity::Hold, false) => "hold",
        (Severity::Hold, true) => "hold undecided",
        (Severity::Advice, false) => ADVICE,
        (Severity::Advice, true) => "advice undecided",
        (Severity::Note, false) => "note",
        (Severity::Note, true) => "note undecided",
    }
}
