//! What is shown between the words of a text: the limits beside a reading, and beside a trial what it comes to.

use super::protocol::{Hint, Range};
use super::readable::documents;
use super::rows;
use super::text::Text;
use crate::document::{DocPath, NodeId};
use crate::finding::Judged;
use crate::language::ast::TrialOutcome;
use crate::report::text::shown;
use crate::session::{Session, Tried};
use crate::value::Value;

/// The longest hint, in characters.
const LONGEST: usize = 80;

/// So many readings have a hint; an editor asks for what it shows.
const MOST: usize = 300;

/// The limits beside the readings of jobs, within a range of the text; with what they were judged by, where that is known.
#[must_use]
pub fn of_documents(text: &Text, range: Range, session: &Session, judged: &[Judged]) -> Vec<Hint> {
    let documents = documents(text.text(), session.forms());
    let span = text.span(range);
    let (mut hints, mut left) = (Vec::new(), MOST);
    for (number, document) in documents.iter().enumerate() {
        let is_asked = |node: NodeId| {
            let at = document.span(node);
            span.start <= at.start && at.end <= span.end
        };
        let readings = document.values().filter(|(_, value)| matches!(value, Value::Quantity(_)));
        let nodes: Vec<NodeId> =
            readings.map(|(node, _)| node).filter(|node| is_asked(*node)).take(left).collect();
        left -= nodes.len();
        let paths: Vec<DocPath> = nodes.iter().map(|node| document.path(*node)).collect();
        let judged = judged.get(number);
        for (node, asked) in nodes.iter().zip(rows::asked(session, document, &paths)) {
            let limits = rows::limits(session, document, *node, asked.as_ref(), judged);
            let words: Vec<&str> = limits.iter().map(|(limit, _)| limit.as_str()).collect();
            if words.is_empty() {
                continue;
            }
            let position = text.range(document.span(*node)).end;
            hints.push(Hint::new(
                position,
                short(&words.join("; ")),
                rows::in_a_line(&limits, asked.as_ref()),
            ));
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
