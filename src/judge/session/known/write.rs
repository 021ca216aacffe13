//! Writing what a run found as a file of known findings.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use super::{ADVICE, ERROR, Entry, Key, Known, is_listed_whole, weight};
use crate::diagnostic::Level;
use crate::finding::{Judged, Seen, Standing};

/// What begins a file that the program writes.
const HEAD: &str = "\
# Findings that were known when they were noted here. They do not fail a run that accepts this file;
# new ones do. Review every change of it, and say in a `note` why a finding is left as it is.
";

/// What was found in a run, counted as the file counts it.
pub type Counts = BTreeMap<Key, u64>;

impl Known {
    /// The text of the file after a run that found `counts` in the documents `inspected`. Entries that
    /// stay keep their notes, and their days unless they have grown; those of other documents and of
    /// rules that the run did not judge stay as they are.
    #[must_use]
    pub fn renewed(
        &self,
        counts: &Counts,
        inspected: &BTreeSet<String>,
        today: Date,
        judges: impl Fn(&str) -> bool,
    ) -> String {
        let stays = |entry: &&Entry| !inspected.contains(&entry.key.document) || !judges(&entry.key.finding);
        let old: BTreeMap<&Key, &Entry> = self.entries.iter().map(|entry| (&entry.key, entry)).collect();
        let mut lines: BTreeMap<&Key, EntryOut<'_>> = BTreeMap::new();
        let mut by_rule: BTreeMap<Key, u64> = BTreeMap::new();
        for (key, count) in counts {
            *by_rule.entry(Key { seen: None, ..key.clone() }).or_default() += count;
        }
        for (key, count) in counts {
            // An entry that counts a rule in a document alone gives its day to what is written instead of it.
            let whole = Key { seen: None, ..key.clone() };
            let without_job = || Key { seen: key.seen.as_ref().map(Seen::without_job), ..key.clone() };
            let (known, number) = match old.get(key).or_else(|| old.get(&without_job())) {
                Some(known) => (Some(known), *count),
                None => (old.get(&whole), by_rule.get(&whole).copied().unwrap_or_default()),
            };
            let since = known.filter(|entry| number <= entry.count).map_or(today, |entry| entry.since);
            let note = known.and_then(|entry| entry.note.as_deref());
            lines.insert(key, EntryOut::new(key, *count, since, note));
        }
        for entry in self.entries.iter().filter(stays) {
            lines.insert(
                &entry.key,
                EntryOut::new(&entry.key, entry.count, entry.since, entry.note.as_deref()),
            );
        }
        let file = FileOut { form: "known/1", findings: lines.into_values().collect() };
        // Texts, numbers and lists always have a form in YAML.
        format!("{HEAD}{}", serde_yaml::to_string(&file).unwrap_or_default())
    }
}

/// Counts what would have to be known of a file for a run over it to pass, before anything of it is accepted.
#[must_use]
pub fn count(document: &str, judged: &[Judged]) -> Counts {
    let mut counts = Counts::new();
    let mut add = |finding: &str, weight, seen: &Seen| {
        let seen = Some(seen.clone());
        let key = Key { document: document.to_owned(), finding: finding.to_owned(), weight, seen };
        *counts.entry(key).or_default() += 1;
    };
    let readable = judged.iter().filter(|judged| judged.readable);
    for (judged, seen) in readable.filter_map(|judged| Some((judged, judged.seen.as_ref()?))) {
        for (finding, seen) in judged.findings.iter().zip(&seen.findings) {
            if let Some(seen) = seen.as_ref().filter(|_| finding.standing == Standing::Counts) {
                add(&finding.rule, weight(finding), seen);
            }
        }
        let faults = judged.diagnostics.iter().zip(&seen.diagnostics);
        for (fault, seen) in faults.filter(|(fault, _)| fault.level != Level::Note) {
            add(fault.code.as_str(), if fault.level == Level::Error { ERROR } else { ADVICE }, seen);
        }
    }
    counts.retain(|key, _| is_listed_whole(key, judged));
    counts
}

/// The file as it is written.
#[derive(Serialize)]
struct FileOut<'k> {
    form: &'static str,
    findings: Vec<EntryOut<'k>>,
}

#[derive(Serialize)]
struct EntryOut<'k> {
    document: &'k str,
    finding: &'k str,
    #[serde(rename = "as")]
    weight: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<&'k str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<&'k str>,
    count: u64,
    since: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<&'k str>,
}

impl<'k> EntryOut<'k> {
    fn new(key: &'k Key, count: u64, since: Date, note: Option<&'k str>) -> Self {
        let Key { document, finding, weight, seen } = key;
        let at = seen.as_ref().map(|seen| seen.at.as_str());
        let found = seen.as_ref().map(|seen| seen.found.as_str()).filter(|found| !found.is_empty());
        EntryOut { document, finding, weight, at, found, count, since: since.to_string(), note }
    }
}
