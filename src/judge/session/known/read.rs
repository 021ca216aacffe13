//! Reading a file of known findings, and what is wrong with it.

use std::collections::{BTreeMap, BTreeSet};

use super::{ADVICE, ERROR, Entry, Key, Known, Seen, WEIGHTS, is_code, standard_of};
use crate::code::{CODES, FILE_UNREADABLE, KNOWN_ENTRY, KNOWN_TWICE, NO_SUCH_DOCUMENT};
use crate::diagnostic::{Diagnostic, nearest};
use crate::document::{self, Document, Forms};
use crate::library;
use crate::source::{Place, SourceId, Sources};
use crate::trade::Field;
use crate::trade::form::KNOWN;
use crate::trade::known::{Entry as Written, entries};
use crate::value::Value;

impl Known {
    /// Reads the file in a source; entries that cannot be used are left out and reported.
    #[must_use]
    pub fn read(source: SourceId, sources: &Sources, forms: &Forms) -> (Known, Vec<Diagnostic>) {
        let text = sources.get(source).map_or("", |source| source.text());
        let (documents, mut diagnostics) = document::read(source, text, forms);
        let mut known = Known::default();
        for document in &documents {
            match document.form() {
                Some(KNOWN) => known.take(document, &mut diagnostics),
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
        let mut first: BTreeMap<Key, Place> = BTreeMap::new();
        for written in entries(document) {
            // What is missing or wrong in its form is among the diagnostics already.
            let Some(entry) = entry(written) else { continue };
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
            self.add(entry);
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
}

/// An entry as it is written; none where a field is missing or wrong.
fn entry(written: Written<'_>) -> Option<Entry> {
    let text = |field: Field<'_>| match field.value()? {
        Value::Text(text) => Some(text.to_string()),
        _ => None,
    };
    let weight = text(written.weight())?;
    let weight = WEIGHTS.into_iter().find(|known| *known == weight)?;
    // A number past what can be counted is as good as the greatest.
    let Value::Quantity(count) = written.count().value()? else { return None };
    if count.magnitude().is_negative() {
        return None;
    }
    let count = count.magnitude().to_u64().unwrap_or(u64::MAX);
    let Value::Day(since) = written.since().value()? else { return None };
    let seen = text(written.at()).map(|at| Seen { at, found: text(written.found()).unwrap_or_default() });
    let document = tidy(&text(written.document())?);
    let key = Key { document, finding: text(written.finding())?, weight, seen };
    let places = [written.document(), written.finding(), written.count()].map(Field::place);
    Some(Entry { key, count, since: *since, note: text(written.note()), is_one_of: false, places })
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
        let mistake = format!("`{finding}` is an error in a document itself");
        return match () {
            () if row.code == FILE_UNREADABLE => {
                error(format!("{mistake} that cannot be accepted"), "take the entry out".to_owned())
            }
            () if ![ERROR, ADVICE].contains(weight) => {
                error(mistake, format!("write `as: {ERROR}`, or `as: {ADVICE}` where it is only advised"))
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
            format!("`{finding}` is a rule, and only an error is known as `{ERROR}`"),
            help.to_owned(),
        );
    }
    None
}
