//! The trials of a rule as examples, in plain words.

use std::collections::HashMap;

use crate::document::{self, Document, NodeId, NodeKind};
use crate::explain::describe;
use crate::language::ast::TrialOutcome;
use crate::language::typed::{Rule, Standard, Start, Trial};
use crate::session::{Session, Tried};
use crate::source::Place;

/// An example of what a rule says.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    /// What the rule comes to.
    pub outcome: TrialOutcome,
    /// What is recorded: a line for each part of the record.
    pub recorded: Vec<String>,
    /// On what it is judged besides: the day, and parameters that are stated.
    pub with: Vec<String>,
    /// What the program says of it.
    pub said: Vec<String>,
}

/// What the trials of all rules come to, by where they are written.
pub(super) fn tried(session: &Session) -> HashMap<Place, Tried> {
    let tried = session.tried().into_iter();
    tried.map(|tried| (tried.place, tried)).collect()
}

/// The examples of a rule; those whose record cannot be read are told by `prove`.
pub(super) fn of_rule(
    session: &Session,
    standard: &Standard,
    rule: &Rule,
    tried: &HashMap<Place, Tried>,
) -> Vec<Example> {
    rule.trials.iter().filter_map(|trial| of_trial(session, standard, rule, trial, tried)).collect()
}

fn of_trial(
    session: &Session,
    standard: &Standard,
    rule: &Rule,
    trial: &Trial,
    tried: &HashMap<Place, Tried>,
) -> Option<Example> {
    let mut recorded = match trial.record {
        Start::Own(place) => {
            let form = session.forms().get(&standard.form)?;
            let text = session.sources().text_at(place);
            let (read, _) =
                document::read_partial(place.source, text, place.span.start, form, session.forms());
            let [record] = read.as_slice() else { return None };
            lines(record)
        }
        Start::From(id) => {
            vec![format!("as in the record “{}”", session.program().bases()[id].name.replace('_', " "))]
        }
        Start::Mistaken => return None,
    };
    recorded.extend(trial.changes.iter().map(|change| match &change.to {
        Some(to) => format!("but {}: {to}", change.path),
        None => format!("but without {}", change.path),
    }));
    if recorded.is_empty() {
        recorded.push("nothing".to_owned());
    }
    let parameters = trial.given.iter().map(|given| {
        let name = &session.program().parameters()[given.parameter].name;
        format!("{} stated as {}", super::say::short(name), describe(&given.value))
    });
    let day = trial.day.map(|day| format!("judged on {day}"));
    let place = Place { span: trial.span, ..rule.place };
    let said = tried.get(&place).map(|tried| tried.said.clone()).unwrap_or_default();
    Some(Example { outcome: trial.outcome, recorded, with: parameters.chain(day).collect(), said })
}

/// A record, a line for each of its parts and for each entry of a list.
fn lines(record: &Document<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    for entry in record.entries(record.root()) {
        let name = entry.key.replace('_', " ");
        match &record.node(entry.value).kind {
            NodeKind::List(_) => {
                let items = record.items(entry.value);
                for (number, item) in items.iter().enumerate() {
                    let number = if items.len() > 1 { format!(" {}", number + 1) } else { String::new() };
                    lines.push(format!("{name}{number}: {}", words(record, *item)));
                }
                if items.is_empty() {
                    lines.push(format!("{name}: none"));
                }
            }
            _ => lines.push(format!("{name}: {}", words(record, entry.value))),
        }
    }
    lines
}

/// A value on one line.
fn words(record: &Document<'_>, node: NodeId) -> String {
    match &record.node(node).kind {
        NodeKind::Empty => "(blank)".to_owned(),
        NodeKind::Scalar { raw, .. } => raw.split_whitespace().collect::<Vec<_>>().join(" "),
        NodeKind::List(_) => {
            let items = record.items(node).iter().map(|item| words(record, *item));
            let items: Vec<String> = items.collect();
            if items.is_empty() { "none".to_owned() } else { items.join("; ") }
        }
        NodeKind::Map(_) => {
            let part = |entry: &document::Entry<'_>| {
                let nested =
                    !matches!(record.node(entry.value).kind, NodeKind::Scalar { .. } | NodeKind::Empty);
                let (open, close) = if nested { ("(", ")") } else { ("", "") };
                format!("{} {open}{}{close}", entry.key.replace('_', " "), words(record, entry.value))
            };
            record.entries(node).iter().map(part).collect::<Vec<_>>().join(", ")
        }
    }
}
