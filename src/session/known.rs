//! Findings that were known on a day and are accepted since: a file that people review. Only what was seen is
//! accepted: the rule, the place and the value. New ones fail, and the file shrinks when old ones are gone.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use super::judge::MOST_FINDINGS;
use crate::code::{CODES, FILE_UNREADABLE, KNOWN_ENTRY, KNOWN_TWICE, NO_LONGER_FOUND, NO_SUCH_DOCUMENT};
use crate::diagnostic::{Diagnostic, Label, Level, nearest};
use crate::document::forms::MAX_ERRORS;
use crate::document::names::{named_path, path_at};
use crate::document::{self, Document, Forms, NodeId, yaml};
use crate::edition::Digest;
use crate::finding::{Finding, Judged, Outcome, Standing};
use crate::language::ast::Severity;
use crate::library;
use crate::source::{Place, SourceId, Sources};
use crate::value::Value;

/// The weights under which a mistake in a document itself and what is advised of one are known.
const ERROR: &str = "error";
const ADVISE: &str = "advise";

/// What begins a file that the program writes.
const HEAD: &str = "\
# Findings that were known when they were noted here. They do not fail a run that accepts this file;
# new ones do. Review every change of it, and say in a `note` why a finding is left as it is.
";

/// What is counted by itself: findings of one rule and weight at one place of a document, of one value.
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

/// Where a finding is in its document, and what was found there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Seen {
    /// The path, by the names of entries where they have some.
    pub at: String,
    /// The value, or why there is none; empty where there is nothing to quote.
    pub found: String,
}

/// Findings of one kind that are known.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Entry {
    key: Key,
    count: u64,
    since: Date,
    note: Option<String>,
    /// Where the entry names the document, the finding and the count.
    places: [Place; 3],
}

/// What a file of known findings holds.
#[derive(Clone, Debug, Default)]
pub struct Known {
    entries: Vec<Entry>,
    by_document: BTreeMap<String, Vec<usize>>,
}

/// What was found in a run, counted as the file counts it.
pub type Counts = BTreeMap<Key, u64>;

impl Known {
    /// Reads the file in a source; entries that cannot be used are left out and reported.
    #[must_use]
    pub fn read(source: SourceId, sources: &Sources, forms: &Forms) -> (Known, Vec<Diagnostic>) {
        let text = sources.get(source).map_or("", |source| source.text());
        let (documents, mut diagnostics) = document::read(source, text, forms);
        let mut known = Known::default();
        for document in &documents {
            match document.form() {
                Some("known") => known.take(document, &mut diagnostics),
                Some(_) => diagnostics.push(
                    Diagnostic::error(
                        KNOWN_ENTRY,
                        document.place(document.root()),
                        "these are no known findings",
                    )
                    .help("a file of known findings begins with `form: known/1`; `--note-known` writes one"),
                ),
                // Why it has no form is among the diagnostics.
                None => {}
            }
        }
        diagnostics.extend(known.unseen());
        diagnostics.sort_by_key(Diagnostic::place);
        (known, diagnostics)
    }

    /// Says that entries do not state what was seen, as those that were counted by document and rule alone.
    fn unseen(&self) -> Option<Diagnostic> {
        let mut unseen = self.entries.iter().filter(|entry| entry.key.seen.is_none());
        let first = unseen.next()?;
        let message = match unseen.count() {
            0 => "this entry does not say where the finding is and what was found, so it accepts nothing"
                .to_owned(),
            more => format!(
                "{} entries do not say where the finding is and what was found, so they accept nothing",
                more + 1
            ),
        };
        Some(
            Diagnostic::advice(KNOWN_ENTRY, first.places[1], message)
                .help("review the findings, then write them with `--note-known`; days and notes are kept"),
        )
    }

    fn take(&mut self, document: &Document<'_>, diagnostics: &mut Vec<Diagnostic>) {
        let Some(list) = document.find("findings") else { return };
        let mut first: BTreeMap<Key, Place> = BTreeMap::new();
        for item in document.items(list) {
            // What is missing or wrong in its form is among the diagnostics already.
            let Some(entry) = entry(document, *item) else { continue };
            if let Some(fault) = fault_of(&entry) {
                diagnostics.push(fault);
                continue;
            }
            let place = entry.places[1];
            if let Some(first) = first.get(&entry.key) {
                let message =
                    format!("`{}` of `{}` is listed here twice", entry.key.finding, entry.key.document);
                diagnostics.push(
                    Diagnostic::error(KNOWN_TWICE, place, message)
                        .and_at(*first, "the first time")
                        .help("put the two together"),
                );
                continue;
            }
            first.insert(entry.key.clone(), place);
            self.by_document.entry(entry.key.document.clone()).or_default().push(self.entries.len());
            self.entries.push(entry);
        }
    }

    /// An advice for each standard of that name that neither the run has nor the program ships: of such
    /// an entry nothing would ever be said otherwise.
    #[must_use]
    pub fn strangers(&self, in_run: &BTreeSet<&str>) -> Vec<Diagnostic> {
        let mut said = BTreeSet::new();
        let strange = |standard: &str| !in_run.contains(standard) && library::shipped(standard).is_none();
        let advice = |entry: &Entry, standard: &str| {
            let message = format!(
                "no standard of this run is called `{standard}`, so `{}` is never found",
                entry.key.finding
            );
            let help = match nearest(standard, in_run.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "name its rule file with `--standard` or in the settings, or take the entry out"
                    .to_owned(),
            };
            Diagnostic::advice(KNOWN_ENTRY, entry.places[1], message).help(help)
        };
        let named = self.entries.iter().filter_map(|entry| Some((entry, standard_of(&entry.key.finding)?)));
        let strangers = named.filter(|(_, standard)| strange(standard) && said.insert(*standard));
        strangers.map(|(entry, standard)| advice(entry, standard)).collect()
    }

    /// An advice for each document that is not there any more.
    pub fn vanished(&self, exists: impl Fn(&str) -> bool) -> Vec<Diagnostic> {
        let gone = self.by_document.iter().filter(|(document, _)| !exists(document));
        let entries = gone.filter_map(|(_, numbers)| self.entries.get(*numbers.first()?));
        let advice = |entry: &Entry| {
            let message = format!("there is no document `{}` any more", entry.key.document);
            Diagnostic::advice(NO_SUCH_DOCUMENT, entry.places[0], message)
                .help("take its entries out, or write its new path")
        };
        entries.map(advice).collect()
    }

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
        let seen = seen_in(judged);
        let mut gone = Vec::new();
        for entry in entries() {
            let found = match is_code(&entry.key.finding) {
                true => accept_faults(entry, judged, &seen),
                false => accept_findings(entry, judged, &seen),
            };
            if found < entry.count && readable && judges(&entry.key.finding) {
                gone.push(entry.no_longer_found(found));
            }
        }
        say_what_was_known(judged, &seen, &entries().collect::<Vec<_>>());
        if let Some(first) = judged.first_mut() {
            first.diagnostics.extend(gone);
        }
    }

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
            let (known, number) = match old.get(key) {
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
    for (judged, seen) in judged.iter().zip(seen_in(judged)).filter(|(judged, _)| judged.readable) {
        for (finding, seen) in judged.findings.iter().zip(&seen.findings) {
            if finding.standing == Standing::Counts {
                add(&finding.rule, weight(finding), seen);
            }
        }
        for (fault, seen) in judged.diagnostics.iter().zip(&seen.faults) {
            add(fault.code.as_str(), if fault.level == Level::Error { ERROR } else { ADVISE }, seen);
        }
    }
    counts.retain(|key, _| is_listed_whole(key, judged));
    counts
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
    ["hold", "hold undecided", ADVISE, "advise undecided", "note", "note undecided", ERROR];

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
        (Severity::Advise, false) => ADVISE,
        (Severity::Advise, true) => "advise undecided",
        (Severity::Note, false) => "note",
        (Severity::Note, true) => "note undecided",
    }
}

/// What was seen in one document: of each of its findings and of what is said of the document itself.
struct SeenIn {
    findings: Vec<Seen>,
    faults: Vec<Seen>,
}

/// What was seen in the documents of one text.
fn seen_in(judged: &[Judged]) -> Vec<SeenIn> {
    let first = judged.first();
    let text = first.and_then(|judged| judged.sources.get(judged.source)).map_or("", |source| source.text());
    let (documents, _) = yaml::read(SourceId::FIRST, text, 0);
    let of = |(number, judged): (usize, &Judged)| {
        let document = documents.get(number);
        let prefix = match document.filter(|_| documents.len() > 1) {
            Some(document) => format!("{}: ", name_of(document, number)),
            None => String::new(),
        };
        let place = |path: &str| {
            let named = document.map_or_else(|| path.to_owned(), |document| named_path(document, path));
            format!("{prefix}{}", if named.is_empty() { "the whole document" } else { &named })
        };
        let finding =
            |finding: &Finding| Seen { at: place(&finding.path), found: quoted(&found_by(finding)) };
        let fault = |fault: &Diagnostic| {
            let its = fault.place();
            let own = its.filter(|place| place.source == judged.source).zip(document);
            let path = own.map(|(place, document)| path_at(document, place.span.start)).unwrap_or_default();
            let text = its.map_or("", |place| judged.sources.text_at(place));
            Seen { at: place(&path), found: quoted(text) }
        };
        SeenIn {
            findings: judged.findings.iter().map(finding).collect(),
            faults: judged.diagnostics.iter().map(fault).collect(),
        }
    };
    judged.iter().enumerate().map(of).collect()
}

/// What a document of several in one text is called.
fn name_of(document: &Document<'_>, number: usize) -> String {
    let job = document.find("job.number").and_then(|node| document.raw(node)).map(str::trim);
    job.map_or_else(|| format!("document {}", number + 1), |job| format!("job {job}"))
}

/// What a rule found. The path is stated beside it, so that an entry which has moved is the same.
fn found_by(finding: &Finding) -> String {
    let missing = || finding.missing.join("; ").replace(&format!("`{}`", finding.path), "it");
    match &finding.found {
        Some(found) if finding.outcome != Outcome::Undecided => found.clone(),
        _ if finding.missing.is_empty() => finding.message.clone(),
        _ => missing(),
    }
}

/// The longest text that is written out.
const LONGEST_FOUND: usize = 120;

/// A text as the file states it: in one line, and of a long one the beginning and its content hash.
fn quoted(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= LONGEST_FOUND {
        return line;
    }
    let start: String = line.chars().take(LONGEST_FOUND / 2).collect();
    format!("{}… ({})", start.trim_end(), Digest::of(text).short())
}

/// Adds to a finding that counts what is known in its place, where that is another value.
fn say_what_was_known(judged: &mut [Judged], seen: &[SeenIn], entries: &[&Entry]) {
    let mut known: BTreeMap<(&str, &str, &str), &str> = BTreeMap::new();
    for entry in entries {
        if let Some(seen) = &entry.key.seen {
            known.entry((&entry.key.finding, entry.key.weight, &seen.at)).or_insert(&seen.found);
        }
    }
    for (judged, seen) in judged.iter_mut().zip(seen) {
        for (finding, seen) in judged.findings.iter_mut().zip(&seen.findings) {
            let known = known.get(&(finding.rule.as_str(), weight(finding), seen.at.as_str()));
            if let Some(known) = known.filter(|known| **known != seen.found)
                && finding.standing == Standing::Counts
            {
                finding.message += &format!(" (known here: {known})");
            }
        }
    }
}

/// Accepts findings of a rule; how many there are.
fn accept_findings(entry: &Entry, judged: &mut [Judged], seen: &[SeenIn]) -> u64 {
    let whole = is_listed_whole(&entry.key, judged);
    let matching = |(finding, seen): &(&mut Finding, &Seen)| {
        finding.standing == Standing::Counts
            && finding.rule == entry.key.finding
            && weight(finding) == entry.key.weight
            && entry.key.seen.as_ref() == Some(*seen)
    };
    let pairs = judged.iter_mut().zip(seen);
    let findings = pairs.flat_map(|(judged, seen)| judged.findings.iter_mut().zip(&seen.findings));
    let list: Vec<_> = findings.filter(matching).map(|(finding, _)| finding).collect();
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
fn accept_faults(entry: &Entry, judged: &mut [Judged], seen: &[SeenIn]) -> u64 {
    let whole = is_listed_whole(&entry.key, judged);
    let level = if entry.key.weight == ERROR { Level::Error } else { Level::Advice };
    let matching = |(fault, seen): &(&mut Diagnostic, &Seen)| {
        fault.level == level
            && fault.code.as_str() == entry.key.finding
            && entry.key.seen.as_ref() == Some(*seen)
    };
    let readable = judged.iter_mut().zip(seen).filter(|(judged, _)| judged.readable);
    let faults = readable.flat_map(|(judged, seen)| judged.diagnostics.iter_mut().zip(&seen.faults));
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

/// An entry as it is written; none where a field is missing or wrong.
fn entry(document: &Document<'_>, item: NodeId) -> Option<Entry> {
    let value = |name: &str| document.value(document.get(item, name)?);
    let text = |name: &str| match value(name)? {
        Value::Text(text) => Some(text.to_string()),
        _ => None,
    };
    let weight = text("as")?;
    let weight = WEIGHTS.into_iter().find(|known| *known == weight)?;
    // A number past what can be counted is as good as the greatest.
    let Value::Quantity(count) = value("count")? else { return None };
    if count.magnitude().is_negative() {
        return None;
    }
    let count = count.magnitude().to_u64().unwrap_or(u64::MAX);
    let Value::Day(since) = value("since")? else { return None };
    let seen = text("at").map(|at| Seen { at, found: text("found").unwrap_or_default() });
    let key = Key { document: tidy(&text("document")?), finding: text("finding")?, weight, seen };
    let place = |name: &str| Some(document.place(document.get(item, name)?));
    let places = [place("document")?, place("finding")?, place("count")?];
    Some(Entry { key, count, since: *since, note: text("note"), places })
}

/// A path without `.` and, as far as names tell, without `..`.
fn tidy(path: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "." => {}
            ".." if parts.last().is_some_and(|last| *last != ".." && !last.is_empty()) => drop(parts.pop()),
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// What is wrong with an entry that has the form of one.
fn fault_of(entry: &Entry) -> Option<Diagnostic> {
    let Key { finding, weight, .. } = &entry.key;
    let error = |message: String, help: String| {
        Some(Diagnostic::error(KNOWN_ENTRY, entry.places[1], message).help(help))
    };
    if let Some(row) = CODES.iter().find(|row| row.code.as_str() == finding) {
        let mistake = format!("`{finding}` is a mistake in a document itself");
        return match () {
            () if row.code == FILE_UNREADABLE => {
                error(format!("{mistake} that cannot be accepted"), "take the entry out".to_owned())
            }
            () if ![ERROR, ADVISE].contains(weight) => {
                error(mistake, format!("write `as: {ERROR}`, or `as: {ADVISE}` where it is only advised"))
            }
            () => None,
        };
    }
    if is_code(finding) {
        let help = match nearest(finding, CODES.iter().map(|row| row.code.as_str())) {
            Some(near) => format!("write `{near}`"),
            None => "`witnessmark words codes` lists them".to_owned(),
        };
        return error(format!("there is no code `{finding}`"), help);
    }
    let (standard, rule) = finding.split_once('.').unwrap_or(("", finding));
    if standard.is_empty() || rule.is_empty() {
        return error(
            format!("`{finding}` is neither the full name of a rule nor a code"),
            "write standard and rule with a dot between, as a report does".to_owned(),
        );
    }
    if *weight == ERROR {
        let help = "write the severity under which the rule reports it, such as `as: hold`";
        return error(
            format!("`{finding}` is a rule, and only a mistake is known as `{ERROR}`"),
            help.to_owned(),
        );
    }
    None
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
