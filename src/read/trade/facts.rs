//! What many jobs together are asked for: of each its day, who did what to which unit, with which tools and lots, and what
//! was conceded. Copied out of the document, which a run over many does not keep.

use std::collections::HashMap;

use jiff::civil::Date;

use super::job::Job;
use super::names::{NAMES, named_path};
use crate::document::{Document, NodeId, NodeKind};
use crate::source::Place;
use crate::value::Value;

/// The field that names a tool of the register, wherever in a record it is.
pub(super) const TOOL: &str = "tool";
/// The field that names the lot of a fluid or a part.
const LOT: &str = "lot";

/// The facts of one job.
#[derive(Clone, Debug, PartialEq)]
pub struct JobFacts {
    /// Its number.
    pub number: Option<String>,
    /// The day on which it was closed or, where that is not recorded, opened; as written.
    pub day: Option<Date>,
    /// Whether work still goes on.
    pub in_work: bool,
    /// The kind of unit.
    pub kind: Option<String>,
    /// Its family.
    pub family: Option<String>,
    /// Who answers for the work.
    pub technician: Option<String>,
    /// The tools.
    pub tools: Vec<Used>,
    /// The lots.
    pub lots: Vec<Used>,
    /// The concessions.
    pub concessions: Vec<ConcessionFacts>,
}

/// Something that a record names as used.
#[derive(Clone, Debug, PartialEq)]
pub struct Used {
    /// The name, as written.
    pub name: String,
    /// What it was used for first, by the names of entries: `fastenings[sump screw, A3]`.
    pub path: String,
    /// Where it is named first.
    pub at: Place,
    /// How many places name it.
    pub places: u64,
}

/// What a concession says.
#[derive(Clone, Debug, PartialEq)]
pub struct ConcessionFacts {
    /// The full name of the rule.
    pub rule: String,
    /// In which role it was granted.
    pub by: String,
    /// By whom.
    pub name: Option<String>,
    /// The last day on which it holds.
    pub until: Option<Date>,
    /// Where it is recorded.
    pub at: Place,
}

impl JobFacts {
    /// Those of a job.
    #[must_use]
    pub fn of(document: &Document<'_>) -> JobFacts {
        let job = Job::of(document);
        let text = |field: super::Field<'_>| field.text().filter(|text| !text.is_empty()).map(str::to_owned);
        let day =
            [job.closed(), job.opened()].into_iter().find_map(|field| Some(field.moment()?.written().date()));
        let concessions = job.concessions().map(|concession| ConcessionFacts {
            rule: text(concession.rule()).unwrap_or_default(),
            by: text(concession.granted_by()).unwrap_or_default(),
            name: text(concession.name()),
            until: match concession.until().value() {
                Some(Value::Day(day)) => Some(*day),
                _ => None,
            },
            at: document.place(concession.entry),
        });
        JobFacts {
            number: text(job.number()),
            day,
            in_work: job.is_in_work(),
            kind: text(job.kind()),
            family: text(job.family()),
            technician: text(job.technician()),
            tools: used(document, TOOL),
            lots: used(document, LOT),
            concessions: concessions.collect(),
        }
    }
}

/// So many names of one document have a path; a record of one job has a handful.
const MOST_PATHS: usize = 100;

/// What the fields of this name have, each name once. The text counts as it is written, also where the form does not know
/// the field there: what a faulty tool touched must not be missed for a slip beside it.
fn used(document: &Document<'_>, field: &str) -> Vec<Used> {
    let groups = document.ids().filter(|id| matches!(document.node(*id).kind, NodeKind::Map(_)));
    let mut all: Vec<Used> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for group in groups {
        let node = document.get(group, field).filter(|node| !document.is_empty(*node));
        let Some((node, name)) = node.and_then(|node| Some((node, document.raw(node)?.trim()))) else {
            continue;
        };
        if let Some(known) = known.get(name).and_then(|number| all.get_mut(*number)) {
            known.places += 1;
            continue;
        }
        let path = match all.len() < MOST_PATHS {
            true => named_path(document, &document.path(group)).to_string(),
            false => String::new(),
        };
        known.insert(name, all.len());
        all.push(Used { name: name.to_owned(), path, at: document.place(node), places: 1 });
    }
    all
}

/// The tool with which a value was measured: that of the group that holds the value, or of one around it.
#[must_use]
pub fn tool_of(document: &Document<'_>, value: NodeId) -> Option<String> {
    let mut group = document.parent(value);
    while let Some(at) = group {
        if let Some(tool) = document.get(at, TOOL).and_then(|node| document.raw(node)) {
            return Some(tool.trim().to_owned()).filter(|tool| !tool.is_empty());
        }
        group = document.parent(at);
    }
    None
}

/// What a value is one of: its path with what its entries are for in the place of which they are,
/// `fastenings[sump screw].torque`.
#[must_use]
pub fn sort_of(document: &Document<'_>, value: NodeId) -> String {
    let mut steps = Vec::new();
    let mut at = value;
    while let Some(holder) = document.parent(at) {
        let text = |name: &&str| document.raw(document.get(at, name)?).map(str::trim);
        let field = document.entries(holder).iter().find(|entry| entry.value == at);
        steps.push(match field {
            Some(field) => field.key.to_string(),
            None => format!("[{}]", NAMES.iter().find_map(|row| text(row.first()?)).unwrap_or_default()),
        });
        at = holder;
    }
    let mut path = String::new();
    for step in steps.iter().rev() {
        if !path.is_empty() && !step.starts_with('[') {
            path.push('.');
        }
        path.push_str(step);
    }
    path
}

/// The number with which a value begins as it is written: its digits, and how many of them stand behind the point.
#[must_use]
pub fn written_number(document: &Document<'_>, value: NodeId) -> Option<(String, usize)> {
    let text = document.raw(value)?.trim();
    let number = text.split(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',')).next()?;
    let decimals = number.split_once(['.', ',']).map_or(0, |(_, decimals)| decimals.len());
    Some((number.chars().filter(char::is_ascii_digit).collect(), decimals))
}
