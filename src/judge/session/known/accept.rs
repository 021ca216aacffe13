//! Accepting what is known, and saying what is new beside it and what is gone.

use std::collections::BTreeMap;

use super::{ERROR, Entry, Key, Known, is_code, is_listed_whole, weight};
use crate::code::{KNOWN_ENTRY, NO_LONGER_FOUND};
use crate::diagnostic::{Diagnostic, Label, Level};
use crate::finding::{Finding, Judged, Seen, Standing};

impl Known {
    /// Lets what is known of a file stand without counting, marks what goes beyond it, and says in the
    /// file's own report what is no longer found. `judges` tells whether a finding of this name could
    /// have been made in this run.
    pub fn accept(&self, document: &str, judged: &mut [Judged], judges: impl Fn(&str) -> bool) {
        let numbers = self.by_document.get(document).into_iter().flatten();
        // What could not be read says nothing about what is gone, and is never accepted.
        let readable = judged.iter().all(|document| document.readable);
        let entries: Vec<&Entry> = numbers.filter_map(|number| self.entries.get(*number)).collect();
        let entries = || entries.iter().copied().filter(|entry| entry.key.seen.is_some());
        if entries().next().is_none() {
            return;
        }
        let mut gone = Vec::new();
        for entry in entries() {
            let found = match is_code(&entry.key.finding) {
                true => accept_faults(entry, judged),
                false => accept_findings(entry, judged),
            };
            if found < entry.count && readable && !entry.is_one_of && judges(&entry.key.finding) {
                let is_without_job = found == 0 && is_seen_in_a_job(entry, judged);
                gone.push(if is_without_job { entry.without_job() } else { entry.no_longer_found(found) });
            }
        }
        say_what_was_known(judged, &entries().collect::<Vec<_>>());
        if let Some(first) = judged.first_mut() {
            first.diagnostics.extend(gone);
        }
    }
}

/// Whether what an entry lists is there but for the job, which the entry does not say.
fn is_seen_in_a_job(entry: &Entry, judged: &[Judged]) -> bool {
    let seen = judged.iter().filter_map(|judged| judged.seen.as_ref());
    let mut all = seen.flat_map(|seen| seen.findings.iter().flatten().chain(&seen.diagnostics));
    let known = entry.key.seen.as_ref();
    all.any(|seen| Some(seen) != known && Some(seen.without_job()) == known.map(Seen::without_job))
}

/// A finding that counts, with what was seen of it; none where it goes by more than can be looked at.
fn counting(judged: &mut [Judged]) -> impl Iterator<Item = (&mut Finding, Option<&Seen>)> {
    let documents =
        judged.iter_mut().filter_map(|judged| Some((&mut judged.findings, judged.seen.as_ref()?)));
    let pairs = documents.flat_map(|(findings, seen)| findings.iter_mut().zip(&seen.findings));
    pairs
        .filter(|(finding, _)| finding.standing == Standing::Counts)
        .map(|(finding, seen)| (finding, seen.as_ref()))
}

/// Adds to a finding that counts what is known in its place, where that is something else.
fn say_what_was_known(judged: &mut [Judged], entries: &[&Entry]) {
    let mut known: BTreeMap<(&str, &str, &str), &str> = BTreeMap::new();
    for entry in entries {
        if let Some(seen) = &entry.key.seen {
            known.entry((&entry.key.finding, entry.key.weight, &seen.at)).or_insert(&seen.found);
        }
    }
    for (finding, seen) in counting(judged) {
        let Some(seen) = seen else {
            finding.message += " (it goes by too many values to be known)";
            continue;
        };
        let known = known.get(&(finding.rule.as_str(), weight(finding), seen.at.as_str()));
        if let Some(known) = known.filter(|known| **known != seen.found) {
            finding.message += &format!(" (known here: {known})");
        }
    }
}

/// Accepts findings of a rule; how many there are.
fn accept_findings(entry: &Entry, judged: &mut [Judged]) -> u64 {
    let whole = is_listed_whole(&entry.key, judged);
    let matching = |(finding, seen): &(&mut Finding, Option<&Seen>)| {
        finding.rule == entry.key.finding
            && weight(finding) == entry.key.weight
            && seen.is_some()
            && entry.key.seen.as_ref() == *seen
    };
    let list: Vec<_> = counting(judged).filter(matching).map(|(finding, _)| finding).collect();
    let found = list.len() as u64;
    for (finding, number) in list.into_iter().zip(1..) {
        let (known, words) = entry.said_of(number, found, whole);
        finding.message += &format!(" ({words})");
        if known {
            finding.standing = Standing::Known;
        }
    }
    found
}

/// Accepts mistakes in the documents themselves, or what is advised of them; how many there are. A document
/// that could not be read was not judged, and no list makes up for that.
fn accept_faults(entry: &Entry, judged: &mut [Judged]) -> u64 {
    let whole = is_listed_whole(&entry.key, judged);
    let level = if entry.key.weight == ERROR { Level::Error } else { Level::Advice };
    let matching = |(fault, seen): &(&mut Diagnostic, &Seen)| {
        fault.level == level
            && fault.code.as_str() == entry.key.finding
            && entry.key.seen.as_ref() == Some(*seen)
    };
    let readable = judged.iter_mut().filter(|judged| judged.readable);
    let documents = readable.filter_map(|judged| Some((&mut judged.diagnostics, judged.seen.as_ref()?)));
    let faults = documents.flat_map(|(faults, seen)| faults.iter_mut().zip(&seen.diagnostics));
    let list: Vec<_> = faults.filter(matching).map(|(fault, _)| fault).collect();
    let found = list.len() as u64;
    for (fault, number) in list.into_iter().zip(1..) {
        let (known, words) = entry.said_of(number, found, whole);
        fault.labels.push(Label { place: entry.places[1], text: words });
        if known {
            fault.level = Level::Known;
        }
    }
    found
}

impl Entry {
    /// Whether a finding is among the known ones, by its number from 1, and what is to be said of that.
    fn said_of(&self, number: u64, found: u64, whole: bool) -> (bool, String) {
        match () {
            () if !whole => (false, "too many to be known one by one".to_owned()),
            () if number <= self.count => (true, format!("known since {}", self.since)),
            () => (false, format!("{} known, {found} found", self.count)),
        }
    }

    fn without_job(&self) -> Diagnostic {
        let Key { finding, document, .. } = &self.key;
        let message = format!(
            "the known finding of `{finding}` in `{document}` is of another job, or does not say of which, so it accepts nothing"
        );
        Diagnostic::advice(KNOWN_ENTRY, self.places[1], message)
            .help("review the finding, then write it with `--note-known`; days and notes are kept")
    }

    fn no_longer_found(&self, found: u64) -> Diagnostic {
        let Entry { key: Key { finding, document, .. }, count, places, .. } = self;
        let of = format!("of the {count} known findings of `{finding}` in `{document}`");
        let (place, message, help) = match (found, count) {
            (0, 1) => (places[1], format!("the known finding of `{finding}` in `{document}` is gone"), None),
            (0, _) => (places[1], format!("none {of} is left"), None),
            (1, _) => (places[2], format!("1 {of} is left"), Some(found)),
            _ => (places[2], format!("{found} {of} are left"), Some(found)),
        };
        let help = match help {
            None => "shrink the file: take this entry out".to_owned(),
            Some(found) => format!("shrink the file: write `count: {found}`"),
        };
        Diagnostic::advice(NO_LONGER_FOUND, place, message).help(help)
    }
}
