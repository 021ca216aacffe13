//! What a place of a record means: the field, the reading in other units, what is asked there and by which rules.

use super::complete::{in_words, is_tool};
use super::cursor::{pattern, shape_at};
use super::markdown;
use super::protocol::Hover;
use super::readable::documents;
use super::rows;
use super::text::Text;
use crate::document::path::{Every, Step};
use crate::document::places::path_at;
use crate::document::{DocPath, Document, Field, NodeId, PathPattern, Shape};
use crate::finding::Judged;
use crate::language::analysis::{Facts, Known, Limit, Reading, pattern_in_words};
use crate::language::typed::Rule;
use crate::quantity::{Quantity, UNITS};
use crate::session::Session;
use crate::source::Span;
use crate::value::Value;

/// In so many other units a reading is shown.
const MOST_UNITS: usize = 3;

/// So many rules are named; more are counted.
const MOST_RULES: usize = 8;

/// What is to be said at an offset of a record.
#[must_use]
pub fn at(text: &Text, offset: u32, session: &Session, judged: &[Judged]) -> Option<Hover> {
    let documents = documents(text.text(), session.forms());
    let number = documents.iter().rposition(|one| one.span(one.root()).start <= offset)?;
    let document = documents.get(number)?;
    let path = path_at(document, offset);
    let node = found(document, &path)?;
    let record = session.forms().get(document.form()?)?.record();
    let (Some(Step::Key(name)), outer) = (path.steps().last(), path.list()) else { return None };
    let Some(Shape::Record(group)) = shape_at(record, &outer) else { return None };
    let (_, field) = group.field(name)?;
    let mut said = vec![head(field, &group.title)];
    said.extend(Some(field.doc.clone()).filter(|doc| !doc.is_empty()));
    said.extend(in_other_units(document, node));
    said.extend(document.text(node).filter(|_| is_tool(&group, name)).map(|number| tool(session, number)));
    let asked = rows::asked(session, document, std::slice::from_ref(&path)).into_iter().next().flatten();
    let limits = rows::limits(session, document, node, asked.as_ref(), judged.get(number));
    said.extend(rows::in_a_line(&limits, asked.as_ref()).map(|line| format!("Asked: {line}")));
    said.extend(rules(session, document, &path));
    let span = document.key_span(node).map_or(document.span(node), |key| match field.shape.is_single() {
        true => key.to(document.span(node)),
        false => key,
    });
    Some(Hover { contents: markdown(said.join("\n\n")), range: text.range(trimmed(text, span)) })
}

/// The tool of this number, as the register has it.
fn tool(session: &Session, number: &str) -> String {
    match session.tools_in_use().into_iter().find(|tool| tool.number == number) {
        Some(tool) => format!("Tool {number}: {}", tool.in_words()),
        None => format!("No register that was read has a tool `{number}`."),
    }
}

/// The value at a path.
#[must_use]
pub fn found(document: &Document<'_>, path: &DocPath) -> Option<NodeId> {
    path.steps().iter().try_fold(document.root(), |node, step| match step {
        Step::Key(name) => document.get(node, name),
        Step::In(number) => document.items(node).get(*number).copied(),
    })
}

fn head(field: &Field, group: &str) -> String {
    let must = if field.required { ", must be there" } else { "" };
    format!("**{}** of a {group}: {}{must}", field.name, in_words(&field.shape))
}

fn trimmed(text: &Text, span: Span) -> Span {
    let kept = span.of(text.text()).trim_end().len();
    Span::new(span.start as usize, span.start as usize + kept)
}

/// The reading in the other units of its kind.
fn in_other_units(document: &Document<'_>, node: NodeId) -> Option<String> {
    let Some(Value::Quantity(quantity)) = document.value(node) else { return None };
    let own = quantity.unit()?;
    let others = UNITS.iter().filter(|unit| unit.kind() == quantity.kind() && unit.symbol != own.symbol);
    // Of each kind those come first that are in use.
    let others: Vec<String> = others.take(MOST_UNITS).map(|unit| shown(&quantity.in_unit(unit))).collect();
    (!others.is_empty()).then(|| format!("{quantity} = {}", others.join(" = ")))
}

/// With four significant digits, for the eye alone.
fn shown(quantity: &Quantity) -> String {
    let size = quantity.magnitude().to_f64().abs();
    let before =
        if size >= 1.0 { size.log10().floor() as i32 + 1 } else { size.log10().floor().max(-9.0) as i32 + 1 };
    let decimals = if size == 0.0 { 0 } else { usize::try_from(4 - before).unwrap_or(0) };
    let text = format!("{quantity:.decimals$}");
    match text.split_once(' ') {
        Some((figure, unit)) if figure.contains('.') => {
            format!("{} {unit}", figure.trim_end_matches('0').trim_end_matches('.'))
        }
        _ => text,
    }
}

/// The rules that read a field of this document, with what they ask of it and why.
fn rules(session: &Session, document: &Document<'_>, path: &DocPath) -> Option<String> {
    let (program, form) = (session.program(), document.form()?);
    let facts = Facts::new();
    let fields = std::collections::BTreeSet::new();
    let known = Known {
        text: &|wanted| text_of(document, wanted, path),
        present: &|wanted| node_of(document, wanted, path).is_some(),
    };
    let reading = Reading::of(program, form, &facts, &fields);
    let pattern = pattern(path);
    let may_hold = |guards: &[crate::language::analysis::Guard<'_>]| {
        guards.iter().all(|guard| guard.decide(program, known) != Some(false))
    };
    let mut found: Vec<(&Rule, Vec<String>)> = Vec::new();
    let reads = reading.reads.iter().filter(|read| read.path == pattern && may_hold(&read.guards));
    for rule in reads.filter_map(|read| read.rule) {
        if !found.iter().any(|(known, _)| known.name == rule.name) {
            found.push((rule, Vec::new()));
        }
    }
    for wanted in reading.wanted.iter().filter(|wanted| wanted.path == pattern && may_hold(&wanted.guards)) {
        let limit = limit(&wanted.limit);
        if let Some((_, limits)) = found.iter_mut().find(|(rule, _)| rule.name == wanted.rule.name) {
            limits.push(limit);
        }
    }
    if found.is_empty() {
        return None;
    }
    let line = |(rule, limits): &(&Rule, Vec<String>)| {
        let limits = if limits.is_empty() { String::new() } else { format!(": {}", limits.join(", ")) };
        let because = rule.because.as_ref().map(|because| format!(" {because}")).unwrap_or_default();
        let basis = rule.basis.as_ref().map(|basis| format!(" ({basis})")).unwrap_or_default();
        format!("- `{}` {}{limits}.{because}{basis}", rule.name, rule.title)
    };
    let mut lines: Vec<String> = found.iter().take(MOST_RULES).map(line).collect();
    let more = found.len().saturating_sub(MOST_RULES);
    lines.extend((more > 0).then(|| format!("- {more} more rules")));
    Some(format!("Rules that may read it:\n{}", lines.join("\n")))
}

fn limit(limit: &Limit) -> String {
    match limit {
        Limit::Within(range) => range.limits_text(),
        Limit::Words { words, refused: false } => words.join(" or "),
        Limit::Words { words, refused: true } => format!("not {}", words.join(" nor ")),
        Limit::Truth(true) => "yes".to_owned(),
        Limit::Truth(false) => "no".to_owned(),
        Limit::Pattern(pattern) => pattern_in_words(pattern),
    }
}

/// The value that a pattern means where a path leads: of lists that both go through, the entry of the path.
fn node_of(document: &Document<'_>, wanted: &PathPattern, path: &DocPath) -> Option<NodeId> {
    let mut here = path.steps().iter();
    let mut shared = true;
    let mut node = document.root();
    for step in wanted.steps() {
        let own = here.next();
        node = match step {
            Step::Key(name) => {
                shared &= matches!(own, Some(Step::Key(own)) if own == name);
                document.get(node, name)?
            }
            Step::In(Every) => match own {
                Some(Step::In(number)) if shared => document.items(node).get(*number).copied()?,
                _ => return None,
            },
        };
    }
    Some(node)
}

fn text_of(document: &Document<'_>, wanted: &PathPattern, path: &DocPath) -> Option<String> {
    let node = node_of(document, wanted, path)?;
    match document.value(node)? {
        Value::Truth(true) => Some("yes".to_owned()),
        Value::Truth(false) => Some("no".to_owned()),
        _ => document.text(node).map(str::to_owned),
    }
}
