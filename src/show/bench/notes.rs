//! What was judged of a job, laid beside the fields that it is about. All that a report lists is here, and nothing else.

use std::collections::BTreeMap;

use super::rows::{EntryPart, Part};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::path::Step;
use crate::document::{DocPath, Document, NodeId};
use crate::finding::{Finding, Judged, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::Run;
use crate::report::facts::{self, Fact};
use crate::source::Place;

/// How grave a note is, the gravest last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// It is said and never counted: let pass, known, conceded, a note.
    Said,
    /// It is still to do.
    ToDo,
    /// It is advised.
    Advised,
    /// The record itself cannot be read there.
    Error,
    /// The job is not to be released.
    Held,
}

impl Weight {
    /// A word for it, by which the page styles it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Weight::Said => "said",
            Weight::ToDo => "todo",
            Weight::Advised => "advised",
            Weight::Error => "error",
            Weight::Held => "held",
        }
    }
}

/// Something that was found.
#[derive(Clone, Debug)]
pub struct Note {
    /// How grave it is.
    pub weight: Weight,
    /// Where in the record it is, or would be.
    pub path: DocPath,
    /// The rule, or the code of what is wrong with the record itself.
    pub name: String,
    /// What it is, in a few words of reports: `hold, undecided`.
    pub kind: &'static str,
    /// What is wrong.
    pub message: String,
    /// Found, required, off by, remedy and others.
    pub facts: Vec<(&'static str, String)>,
    /// The place for which a concession can be granted, and by whom; empty where the rule allows none.
    pub granted_by: Vec<String>,
}

impl Note {
    /// Whether a fact is of use to whoever does the work: of what is still to do, what is required and what to do. The report
    /// has the others.
    #[must_use]
    pub fn is_of_use(&self, fact: &str) -> bool {
        self.weight != Weight::ToDo || matches!(fact, "required" | "found" | "missing" | "near name")
    }
}

/// All notes of a document that was judged, the gravest first.
#[must_use]
pub fn of(judged: &Judged, document: &Document<'_>) -> Vec<Note> {
    let findings = judged.findings.iter().map(of_finding);
    let diagnostics = judged.diagnostics.iter().map(|found| of_diagnostic(found, document));
    let mut notes: Vec<Note> = diagnostics.chain(findings).collect();
    notes.sort_by_key(|note| std::cmp::Reverse(note.weight));
    notes
}

fn of_finding(finding: &Finding) -> Note {
    let weight = match (finding.standing, finding.severity) {
        (Standing::StillToDo, _) => Weight::ToDo,
        (Standing::Counts, Severity::Hold) => Weight::Held,
        (Standing::Counts, Severity::Advice) => Weight::Advised,
        (Standing::Counts, Severity::Note) => Weight::Said,
        (Standing::Passed | Standing::Known | Standing::Conceded, _) => Weight::Said,
    };
    let path = finding.path.parse().unwrap_or_default();
    let said = facts::of_finding(finding).into_iter().map(|fact: Fact| (fact.name, fact.text));
    Note {
        weight,
        path,
        name: finding.rule.clone(),
        kind: facts::kind(finding),
        message: match &finding.concession {
            Some(granted) => format!("{} ({})", finding.message, granted.words()),
            None => finding.message.clone(),
        },
        facts: said.collect(),
        granted_by: Vec::new(),
    }
}

fn of_diagnostic(found: &Diagnostic, document: &Document<'_>) -> Note {
    let weight = match found.level {
        Level::Error => Weight::Error,
        Level::Advice => Weight::Advised,
        Level::Note | Level::Known => Weight::Said,
    };
    let node = found.place().and_then(|place| at(document, place));
    let mut path = node.map(|node| document.path(node)).unwrap_or_default();
    if let Some(missing) = &found.missing {
        path = path.key(missing);
    }
    Note {
        weight,
        path,
        name: found.code.as_str().to_owned(),
        kind: facts::level(found.level),
        message: found.message.clone(),
        facts: found.help.iter().map(|help| ("remedy", help.clone())).collect(),
        granted_by: Vec::new(),
    }
}

/// The innermost value at a place, its name counted in.
fn at(document: &Document<'_>, place: Place) -> Option<NodeId> {
    if place.source != document.source {
        return None;
    }
    let covers = |node: NodeId| {
        let value = document.span(node);
        let whole = document.key_span(node).map_or(value, |key| key.to(value));
        whole.start <= place.span.start && place.span.start <= whole.end
    };
    let mut found = document.root();
    loop {
        let fields = document.entries(found).iter().map(|entry| entry.value);
        let mut below = fields.chain(document.items(found).iter().copied());
        match below.find(|node| covers(*node)) {
            Some(node) => found = node,
            None => return Some(found),
        }
    }
}

/// The notes by the name of what they are beside: the field, else the innermost group or list, else the whole job, whose
/// name is empty.
#[must_use]
pub fn beside<'n>(notes: &'n [Note], parts: &[Part<'_>]) -> BTreeMap<String, Vec<&'n Note>> {
    let mut places: Vec<(&DocPath, &str)> = Vec::new();
    gather(parts, &mut places);
    let mut beside: BTreeMap<String, Vec<&Note>> = BTreeMap::new();
    for note in notes {
        let around = places.iter().filter(|(path, _)| note.path.is_within(path));
        let innermost = around.max_by_key(|(path, _)| path.steps().len());
        let id = innermost.map(|(_, id)| (*id).to_owned()).unwrap_or_default();
        beside.entry(id).or_default().push(note);
    }
    beside
}

/// The names of the fields that notes ask for and the page has not.
#[must_use]
pub fn not_there(notes: &[Note], parts: &[Part<'_>]) -> Vec<String> {
    let mut places: Vec<(&DocPath, &str)> = Vec::new();
    gather(parts, &mut places);
    let mut missing = Vec::new();
    for note in notes.iter().filter(|note| !note.path.is_root() && note.weight != Weight::Said) {
        let around = places.iter().filter(|(path, _)| note.path.is_within(path));
        let (id, rest) = match around.max_by_key(|(path, _)| path.steps().len()) {
            Some((path, id)) => (*id, note.path.below(path).unwrap_or_default()),
            None => ("", note.path.steps()),
        };
        let names =
            rest.iter().map_while(|step| if let Step::Key(name) = step { Some(&**name) } else { None });
        let names: Vec<&str> = Some(id).filter(|id| !id.is_empty()).into_iter().chain(names).collect();
        let name = names.join(".");
        if !rest.is_empty() && !missing.contains(&name) {
            missing.push(name);
        }
    }
    missing
}

fn gather<'p>(parts: &'p [Part<'_>], places: &mut Vec<(&'p DocPath, &'p str)>) {
    for part in parts {
        match part {
            Part::Value(row) if row.first.is_none() => places.push((&row.path, &row.id)),
            Part::Value(_) => {}
            Part::Group(group) => {
                places.push((&group.path, &group.id));
                gather(&group.parts, places);
            }
            Part::List { id, path, entries, .. } => {
                places.push((path, id));
                for EntryPart { id, path, parts, .. } in entries.iter().filter(|entry| entry.is_there) {
                    places.push((path, id));
                    gather(parts, places);
                }
            }
        }
    }
}

/// What the whole job comes to, by the report of a run over it alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// The verdict itself.
    pub of_run: facts::Verdict,
    /// It in the words of reports.
    pub words: String,
    /// Holds.
    pub holds: u64,
    /// Errors in the record itself.
    pub errors: u64,
    /// What is advised.
    pub advices: u64,
    /// What is still to do.
    pub to_do: u64,
    /// What is known or conceded.
    pub accepted: u64,
}

impl Verdict {
    /// The verdict of a summary over one job.
    #[must_use]
    pub fn of(run: &Run, summary: &Summary) -> Verdict {
        let (of_run, words) = facts::verdict(run, summary);
        Verdict {
            of_run,
            words,
            holds: summary.count(Severity::Hold),
            errors: summary.document_errors,
            advices: summary.count(Severity::Advice) + summary.document_advices,
            to_do: summary.still_to_do,
            accepted: summary.known + summary.conceded,
        }
    }

    /// What there is, by the names of its texts, the gravest first.
    pub fn counts(&self) -> impl Iterator<Item = (&'static str, u64)> {
        let all = [
            ("holds", self.holds),
            ("errors", self.errors),
            ("to-do", self.to_do),
            ("advices", self.advices),
            ("accepted", self.accepted),
        ];
        all.into_iter().filter(|(_, number)| *number > 0)
    }

    /// How grave it is; nothing where all is well.
    #[must_use]
    pub fn weight(&self) -> Option<Weight> {
        match self.of_run {
            facts::Verdict::Hold => Some(Weight::Held),
            facts::Verdict::Incomplete => Some(Weight::Error),
            facts::Verdict::Fails => Some(Weight::Advised),
            facts::Verdict::StillToDo => Some(Weight::ToDo),
            facts::Verdict::Clear => None,
        }
    }
}
