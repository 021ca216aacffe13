//! Quick fixes: the corrections that `amend` makes, near names that messages offer, and a place for a value that is missing.

use super::diagnostics;
use super::protocol::{Action, Diagnostic, Range, TextEdit, Wanted};
use super::text::Text;
use crate::diagnostic::{self, Fix, meant};
use crate::document::amend::amend;
use crate::document::edit::write;
use crate::document::{DocPath, Forms, Record};
use crate::finding::{Judged, Standing};
use crate::session::Session;
use crate::source::{Place, SourceId, Sources, Span};

/// What corrects all of a text.
const FIX_ALL: &str = "source.fixAll";

/// For so many missing values a place is offered at once: each is found by writing the whole text with it.
const MOST_PLACES: usize = 20;

/// What can be corrected by itself in a part of a text, and in all of it.
#[must_use]
pub fn of_document(
    text: &Text,
    judged: &[Judged],
    range: Range,
    wanted: &Wanted,
    session: &Session,
) -> Vec<Action> {
    let span = text.span(range);
    let mut actions = Vec::new();
    let mut places_left = MOST_PLACES;
    for (number, one) in judged.iter().enumerate() {
        for found in one.diagnostics.iter().filter(|found| touches(found, one, span)) {
            let about = || diagnostics::plain(found, &one.sources);
            let own = found.fix.as_deref().filter(|fix| fix.place.source == one.source);
            match own {
                Some(fix) => actions.push(of_fix(text, fix, about())),
                None => {
                    actions.extend(meant_value(text, found, about).or_else(|| near_name(text, found, about)));
                }
            }
            let missing = found.missing.as_deref().zip(found.place());
            actions.extend(missing.and_then(|(field, place)| {
                places_left = places_left.checked_sub(1)?;
                let path = path_of(text, number, place.span, session.forms())?.key(field);
                record_it(text, number, &path, one, session, vec![about()])
            }));
        }
        let findings = one.findings.iter().filter(|found| found.at.source == one.source);
        for found in
            findings.filter(|found| overlaps(found.at.span, span) && found.standing != Standing::Known)
        {
            let Some(awaited) = found.awaited.as_ref().filter(|awaited| awaited.field.is_some()) else {
                continue;
            };
            let Ok(path) = awaited.what.parse::<DocPath>() else { continue };
            let Some(left) = places_left.checked_sub(1) else { break };
            places_left = left;
            let about = diagnostics::plain_finding(found, &one.sources);
            let action = record_it(text, number, &path, one, session, vec![about]);
            let is_new = |action: &Action| !actions.iter().any(|known: &Action| known.title == action.title);
            let action = action.filter(is_new);
            actions.extend(action);
        }
    }
    actions.extend(all(text, span, wanted, session.forms()));
    actions
}

/// The near names that messages offer in a part of a rule file or of settings.
#[must_use]
pub fn of_names(
    text: &Text,
    found: &[diagnostic::Diagnostic],
    name: &str,
    range: Range,
    sources: &Sources,
) -> Vec<Action> {
    let span = text.span(range);
    let here = found.iter().filter(|found| {
        let is_at = |place: Place| {
            let is_it = |other: Span| overlaps(other, span);
            sources.name(place.source) == name
                && (is_it(place.span) || misspelt(text.text(), found).is_some_and(is_it))
        };
        found.place().is_some_and(is_at)
    });
    here.filter_map(|found| {
        let about = || diagnostics::plain(found, sources);
        let fix = found.fix.as_deref().filter(|fix| sources.name(fix.place.source) == name);
        match fix {
            Some(fix) => Some(of_fix(text, fix, about())),
            None => near_name(text, found, about),
        }
    })
    .collect()
}

fn touches(found: &diagnostic::Diagnostic, judged: &Judged, span: Span) -> bool {
    found.place().is_some_and(|place| place.source == judged.source && overlaps(place.span, span))
}

fn overlaps(one: Span, other: Span) -> bool {
    one.start <= other.end && other.start <= one.end
}

fn of_fix(text: &Text, fix: &Fix, about: Diagnostic) -> Action {
    let title = format!("Write `{}`", fix.replacement);
    let edit = TextEdit { range: text.range(fix.place.span), new_text: fix.replacement.clone() };
    Action::fix(title, vec![edit], vec![about])
}

fn near_name(text: &Text, found: &diagnostic::Diagnostic, about: impl Fn() -> Diagnostic) -> Option<Action> {
    let near = found.help.as_deref().and_then(meant)?;
    let edit = TextEdit { range: text.range(misspelt(text.text(), found)?), new_text: near.to_owned() };
    Some(Action::fix(format!("Write `{near}`"), vec![edit], vec![about()]))
}

/// The value that a message says to write instead of the one that it quotes, where it offers one and no other.
fn meant_value(
    text: &Text,
    found: &diagnostic::Diagnostic,
    about: impl Fn() -> Diagnostic,
) -> Option<Action> {
    let value = found.help.as_deref()?.strip_prefix("write `")?.strip_suffix('`')?;
    let place = found.place()?;
    let is_quoted = found.message.contains(&format!("`{}`", place.span.of(text.text())));
    let is_value = found.code.as_str().starts_with("quantity/") && !value.contains('`');
    let edit = || TextEdit { range: text.range(place.span), new_text: value.to_owned() };
    (is_quoted && is_value).then(|| Action::fix(format!("Write `{value}`"), vec![edit()], vec![about()]))
}

/// So far before the place of a message its name is looked for.
const NEAR: usize = 2_000;

/// Where the name is that a message quotes: at its place or, where it points at what belongs to the name, before that.
fn misspelt(text: &str, found: &diagnostic::Diagnostic) -> Option<Span> {
    let span = found.place()?.span;
    let quoted: Vec<&str> = found.message.split('`').skip(1).step_by(2).collect();
    let here = span.of(text).trim_matches('"');
    if quoted.contains(&here) {
        let lead = span.of(text).len() - span.of(text).trim_start_matches('"').len();
        let start = span.start as usize + lead;
        return Some(Span::new(start, start + here.len()));
    }
    let begin = text.floor_char_boundary((span.start as usize).saturating_sub(NEAR));
    let before = text.get(begin..span.end as usize)?;
    let is_part = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    let written = |name: &&str| {
        let at = before.rfind(*name)?;
        let is_whole =
            !before.get(..at)?.ends_with(is_part) && !before.get(at + name.len()..)?.starts_with(is_part);
        is_whole.then(|| Span::new(begin + at, begin + at + name.len()))
    };
    quoted.iter().filter(|name| !name.is_empty()).find_map(written)
}

/// The path of the group at a span.
fn path_of(text: &Text, number: usize, span: Span, forms: &Forms) -> Option<DocPath> {
    let (documents, _) = crate::document::read(SourceId::FIRST, text.text(), forms);
    let document = documents.get(number)?;
    Some(crate::document::places::path_at(document, span.start))
}

/// A place for a value that is missing: the field without a value, for whoever has the value to write it there.
fn record_it(
    text: &Text,
    number: usize,
    path: &DocPath,
    judged: &Judged,
    session: &Session,
    about: Vec<Diagnostic>,
) -> Option<Action> {
    let record: &Record = session.forms().get(&judged.form)?.record();
    let written = write(text.text(), number, path, "", record).ok()?;
    let edit = difference(text, &written)?;
    Some(Action::fix(format!("Record `{path}`"), vec![edit], about))
}

/// All that is certain in the document, at once: where some of it is, and where it is asked for by its name.
fn all(text: &Text, span: Span, wanted: &Wanted, forms: &Forms) -> Option<Action> {
    let is_named = wanted.names(FIX_ALL);
    if wanted.only.is_some() && !is_named {
        return None;
    }
    let amended = amend(SourceId::FIRST, text.text(), forms);
    if !is_named && !amended.mends.iter().any(|fix| overlaps(fix.place.span, span)) {
        return None;
    }
    let edit = |fix: &Fix| TextEdit { range: text.range(fix.place.span), new_text: fix.replacement.clone() };
    let edits: Vec<TextEdit> = amended.mends.iter().map(edit).collect();
    let corrections = crate::report::text::count(edits.len() as u64, "correction");
    (!edits.is_empty()).then(|| Action {
        kind: FIX_ALL,
        ..Action::fix(format!("Correct the spelling: {corrections}"), edits, Vec::new())
    })
}

/// The one change that makes a text another one.
pub(super) fn difference(text: &Text, after: &str) -> Option<TextEdit> {
    let before = text.text();
    let same = |(one, other): &(char, char)| one == other;
    let ahead: usize = before.chars().zip(after.chars()).take_while(same).map(|(c, _)| c.len_utf8()).sum();
    // A change that adds lines begins with one.
    let ahead = before.get(..ahead)?.rfind('\n').map_or(0, |at| at + 1);
    let (before_rest, after_rest) = (before.get(ahead..)?, after.get(ahead..)?);
    let behind: usize = before_rest
        .chars()
        .rev()
        .zip(after_rest.chars().rev())
        .take_while(same)
        .map(|(c, _)| c.len_utf8())
        .sum();
    let new_text = after_rest.get(..after_rest.len() - behind)?.to_owned();
    let span = Span::new(ahead, before.len() - behind);
    (before != after).then(|| TextEdit { range: text.range(span), new_text })
}
