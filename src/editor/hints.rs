//! What is shown between the words of a text: the limits beside a reading, and beside a trial what it comes to.

use super::hover::found;
use super::protocol::{Hint, Range};
use super::rows;
use super::text::Text;
use crate::document;
use crate::language::ast::TrialOutcome;
use crate::report::text::shown;
use crate::session::{Session, Tried};
use crate::source::SourceId;
use crate::value::Value;

/// The longest hint, in characters.
const LONGEST: usize = 80;

/// The limits beside the readings of jobs, within a range of the text.
#[must_use]
pub fn of_documents(text: &Text, range: Range, session: &Session) -> Vec<Hint> {
    let (documents, _) = document::read(SourceId::FIRST, text.text(), session.forms());
    let span = text.span(range);
    let mut hints = Vec::new();
    for document in &documents {
        for (path, asked) in rows::asked(session, document) {
            let Some(node) = found(document, &path) else { continue };
            let at = document.span(node);
            let is_reading = matches!(document.value(node), Some(Value::Quantity(_)));
            if !is_reading || at.start < span.start || at.end > span.end {
                continue;
            }
            let limits: Vec<&str> = asked.limits.iter().map(|(limit, _)| limit.as_str()).collect();
            if limits.is_empty() {
                continue;
            }
            let position = text.range(at).end;
            hints.push(Hint::new(position, short(&limits.join("; ")), rows::in_a_line(&asked)));
        }
    }
    hints.sort_by_key(|hint| hint.position);
    hints
}

/// What each trial comes to, behind its first line.
#[must_use]
pub fn of_trials(text: &Text, range: Range, tried: &[Tried], session: &Session, name: &str) -> Vec<Hint> {
    let span = text.span(range);
    let here = tried.iter().filter(|one| {
        let is_own = session.sources().name(one.place.source) == name;
        is_own && one.place.span.start <= span.end && span.start <= one.place.span.end
    });
    let hint = |one: &Tried| {
        let all = text.text();
        let whole = one.place.span.of(all);
        let first = whole.lines().next().unwrap_or_default().trim_end();
        let end = one.place.span.start as usize + first.len();
        let position = text.range(crate::source::Span::new(end, end)).end;
        let said = one.said.join("; ");
        let words = match one.outcome {
            TrialOutcome::Met | TrialOutcome::NotConcerned => one.outcome.to_string(),
            TrialOutcome::Broken | TrialOutcome::Undecided => format!("{}: {said}", one.outcome),
        };
        Hint::new(position, short(&words), Some(said).filter(|said| said.chars().count() > LONGEST))
    };
    let mut hints: Vec<Hint> = here.map(hint).collect();
    hints.sort_by_key(|hint| hint.position);
    hints
}

fn short(words: &str) -> String {
    let words = shown(words);
    match words.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", words.get(..at).unwrap_or_default()),
        None => words.into_owned(),
    }
}
