//! Reads trials and the records that they share.

use crate::code;
use crate::language::ast::{Base, Change, Expr, ExprKind, NewValue, Start, Text, Trial, TrialOutcome};
use crate::language::read::clauses::Reader;
use crate::language::read::cut::{ClauseCut, ItemCut};
use crate::language::read::grammar::{Node, Rule as Form};
use crate::language::read::rules::choice;
use crate::source::Spanned;

const OUTCOMES: &[(&str, TrialOutcome)] = &[
    ("met", TrialOutcome::Met),
    ("broken", TrialOutcome::Broken),
    ("undecided", TrialOutcome::Undecided),
    ("not concerned", TrialOutcome::NotConcerned),
];

/// Reads a trial.
pub(crate) fn trial(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Trial> {
    let text = reader.with_parts_marked(clause);
    let node = reader.marked(Form::trial, clause, &text)?;
    let outcome = choice(reader, &node, Form::outcome, OUTCOMES);
    let changes = changes(reader, &node);
    let record = start(reader, &node, clause, "this trial", NO_RECORD);
    once(reader, &node, Form::trial_day, "on")?;
    once(reader, &node, Form::place, "at")?;
    let day = match node.part(Form::trial_day) {
        Some(part) => {
            let day = reader.builder.needed(part, Form::day).and_then(|day| reader.builder.day(day));
            Some(reader.mistakes.keep(day)?)
        }
        None => None,
    };
    let at = node.part(Form::place).map(path);
    Some(Trial { span: clause.span, outcome: outcome?, at, day, record: record?, changes: changes? })
}

const NO_RECORD: &str = "give the part of a record that the rule needs, `{ fastenings: [{ torque: 12 Nm }] }`, or \
                         begin with one that trials share, `from closed_twin`";

/// Reads a record that trials share.
pub(crate) fn base(reader: &mut Reader<'_, '_>, item: &ItemCut) -> Option<Base> {
    let clause = item.clauses.first()?;
    let text = reader.with_parts_marked(clause);
    let node = reader.marked(Form::given, clause, &text)?;
    let name = reader.name_in(&node);
    let changes = changes(reader, &node);
    let help = "write it in braces behind its name: `given closed_twin { job: { state: closed } }`";
    let record = start(reader, &node, clause, "this", help);
    Some(Base { span: item.span(), name: name?, record: record?, changes: changes? })
}

/// What a record begins with: what is written out, or another record.
fn start(
    reader: &mut Reader<'_, '_>,
    node: &Node<'_>,
    clause: &ClauseCut,
    what: &str,
    none: &str,
) -> Option<Start> {
    once(reader, node, Form::base, "from")?;
    let (message, help, at) = match (node.part(Form::base), clause.record) {
        (Some(base), None) => return reader.name_in(base).map(Start::From),
        (None, Some(record)) => return Some(Start::Own(record)),
        (Some(base), Some(_)) => {
            let message = format!("{what} has a record of its own, and begins with another one");
            (message, "write what differs behind `with` and `without`, or leave `from` out", base.span)
        }
        (None, None) => (format!("{what} has no record"), none, clause.span),
    };
    let mistake = reader.mistakes.error(code::CLAUSE_FORM, at, message).help(help);
    reader.mistakes.push(mistake);
    None
}

/// Refuses what a clause has twice.
fn once(reader: &mut Reader<'_, '_>, node: &Node<'_>, form: Form, word: &str) -> Option<()> {
    let Some(second) = node.all(form).nth(1) else { return Some(()) };
    let message = format!("`{word}` stands twice in this clause");
    let mistake = reader.mistakes.error(code::CLAUSE_FORM, second.span, message).help("keep one of them");
    reader.mistakes.push(mistake);
    None
}

/// What differs, in the order in which it is written.
fn changes(reader: &mut Reader<'_, '_>, node: &Node<'_>) -> Option<Vec<Change>> {
    let mut changes = Vec::new();
    for part in &node.parts {
        match part.rule {
            Form::change => changes.push(change(reader, part)?),
            Form::left_out => changes.extend(part.all(Form::place).map(|place| Change {
                span: place.span,
                path: path(place),
                to: None,
            })),
            _ => {}
        }
    }
    Some(changes)
}

fn change(reader: &mut Reader<'_, '_>, node: &Node<'_>) -> Option<Change> {
    let place = reader.builder.needed(node, Form::place);
    let path = path(reader.mistakes.keep(place)?);
    let to = match node.part(Form::written_out) {
        Some(part) => NewValue { value: None, written: Some(part.span.of(reader.text).to_owned()) },
        None => {
            let value = reader.expression_in(node)?;
            let written = as_in_a_record(&value, value.span.of(reader.text));
            NewValue { value: Some(value), written }
        }
    };
    Some(Change { span: node.span, path, to: Some(to) })
}

fn path(place: &Node<'_>) -> Text {
    Spanned::new(place.text.to_owned(), place.span)
}

/// A fixed value as a record writes it; nothing for any other.
fn as_in_a_record(value: &Expr, written: &str) -> Option<String> {
    match &value.kind {
        ExprKind::Text(text) => Some(quoted(text)),
        _ if is_fixed(value) && !written.contains(['\n', '\r', '#']) => Some(written.to_owned()),
        _ => None,
    }
}

fn quoted(text: &str) -> String {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n");
    format!("\"{escaped}\"")
}

fn is_fixed(value: &Expr) -> bool {
    match &value.kind {
        ExprKind::Number(_) | ExprKind::Quantity(_) | ExprKind::Truth(_) | ExprKind::Day(_) => true,
        ExprKind::Minus(inner) => is_fixed(inner),
        ExprKind::Range(form) => form.operands().all(is_fixed),
        _ => false,
    }
}
