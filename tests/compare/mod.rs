//! What changed between two texts: the right changes, none for what means the same, and each of them at
//! its place.

mod documents;
mod folders;
mod properties;
mod standards;
mod verb;

use witnessmark::compare::{self, Change, Comparison, Kind, Side};
use witnessmark::document::{self, Document, Forms};
use witnessmark::session::Session;
use witnessmark::source::{SourceId, Sources};

use crate::support;

/// The comparison of two documents.
fn documents(old: &str, new: &str) -> Comparison {
    let forms = Forms::builtin();
    let (ours, theirs) = (read(old, &forms), read(new, &forms));
    compare::documents(&ours, &theirs, forms.get(ours.form().unwrap()).unwrap())
}

fn read<'t>(text: &'t str, forms: &Forms) -> Document<'t> {
    let (documents, diagnostics) = document::read(SourceId::FIRST, text, forms);
    compare::one_document(&documents, &diagnostics).unwrap().clone()
}

/// The comparison of two rule files that stand alone.
fn standards(old: &str, new: &str) -> Comparison {
    let (ours, theirs) = (session(old), session(new));
    compare::standards((&ours, SourceId::FIRST), (&theirs, SourceId::FIRST))
}

fn session(text: &str) -> Session {
    let session = support::session(&[("a.standard", text)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session
}

/// A change on one line: `changed fastenings: sump screw pan, torque: 10 Nm -> 12 Nm`.
fn line(change: &Change) -> String {
    let words = |side: &Option<Side>| side.as_ref().map_or_else(String::new, |side| side.words.clone());
    let Change { kind, part, what, from, to, .. } = change;
    let gap = if what.is_empty() { "" } else { ": " };
    let (from, to) = (words(from), words(to));
    match kind {
        Kind::Added => format!("added {part}{gap}{what}: {to}"),
        Kind::TakenOut => format!("taken out {part}{gap}{what}: {from}"),
        _ => format!("{} {part}{gap}{what}: {from} -> {to}", kind.words()),
    }
}

fn lines(changes: &[Change]) -> Vec<String> {
    changes.iter().map(line).collect()
}

/// The same changes, seen from the new text.
fn mirrored(comparison: &Comparison) -> Vec<String> {
    let turn = |change: &Change| Change {
        kind: match change.kind {
            Kind::Added => Kind::TakenOut,
            Kind::TakenOut => Kind::Added,
            other => other,
        },
        from: change.to.clone(),
        to: change.from.clone(),
        ..change.clone()
    };
    let mut lines: Vec<String> = comparison.changes.iter().map(|change| line(&turn(change))).collect();
    lines.sort();
    lines
}

fn sorted(comparison: &Comparison) -> Vec<String> {
    let mut lines = lines(&comparison.changes);
    lines.sort();
    lines
}

/// A text with some pieces replaced, each of which must stand in it.
fn edited(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "`{from}` is not in the text");
        text.replacen(from, to, 1)
    })
}

/// The text at each side of a change, from the sources of the two sides.
fn text_at<'s>(sources: &'s Sources, side: &Side) -> &'s str {
    sources.text_at(side.place)
}
