//! What a name, a word or a unit in a rule file is.

use super::complete::in_words;
use super::complete_rules::word_at;
use super::markdown;
use super::protocol::Hover;
use super::symbols::{Symbols, Target, What};
use super::text::Text;
use crate::document::Record;
use crate::language::builtins::Builtin;
use crate::quantity::Unit;
use crate::session::{DefinitionExplanation, Session};
use crate::source::Span;

/// So many rules that use a name are listed.
const MOST_USERS: usize = 8;

/// What is to be said at an offset of a rule file.
#[must_use]
pub fn at(text: &Text, offset: u32, session: Option<&Session>, symbols: &Symbols) -> Option<Hover> {
    let (words, span) = match symbols.at(offset) {
        Some(one) => (of_target(symbols, &one.target, text, session)?, one.at),
        None => of_word(text, offset)?,
    };
    Some(Hover { contents: markdown(words), range: text.range(span) })
}

fn of_target(symbols: &Symbols, target: &Target, text: &Text, session: Option<&Session>) -> Option<String> {
    Some(match target {
        Target::Builtin(builtin) => of_builtin(builtin),
        Target::Field(record, name) => of_field(record, name)?,
        Target::OtherRule(name) => {
            format!("the rule `{name}` of another standard, whose place this one takes")
        }
        Target::Elsewhere(name) => {
            let about = session?.named(name).into_iter().next()?;
            let title = if about.title.is_empty() { String::new() } else { format!(": {}", about.title) };
            {
                let what = about.what.trim_start_matches("a ");
                format!("{what} **{name}**{title}\n\n{}", facts(&about))
            }
        }
        Target::Own(number) => {
            let one = symbols.definitions.get(*number)?;
            let title = one.title.as_ref().map(|title| format!(": {title}")).unwrap_or_default();
            let mut said = vec![format!("{} **{}**{title}", one.what.word(), one.name)];
            let written = one.whole.of(text.text());
            if matches!(one.what, What::Let | What::Parameter | What::Table) {
                said.push(format!("```standard\n{}\n```", written.trim_end()));
            }
            let is_it = |about: &DefinitionExplanation| about.name.rsplit('.').next() == Some(&one.name);
            let about = session.map(|session| session.named(&one.name)).unwrap_or_default();
            let about = about.into_iter().find(is_it).filter(|_| one.what != What::Variable);
            said.extend(about.map(|about| facts(&about)).filter(|facts| !facts.is_empty()));
            if one.what == What::Rule {
                said.extend(session.and_then(|session| of_rule(session, &one.name)));
            }
            said.join("\n\n")
        }
    })
}

fn facts(about: &DefinitionExplanation) -> String {
    let facts = about.facts.iter().take(MOST_USERS).map(|(lead, fact)| format!("- {lead}{fact}"));
    let shown: Vec<&str> = about.rules.iter().take(MOST_USERS).map(String::as_str).collect();
    let more = about.rules.len().saturating_sub(MOST_USERS);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let users = (!shown.is_empty()).then(|| format!("- used by: {}{more}", shown.join(", ")));
    facts.chain(users).collect::<Vec<_>>().join("\n")
}

/// What a rule demands, in words.
fn of_rule(session: &Session, name: &str) -> Option<String> {
    let rule = session.rules_called(name).next()?;
    let story = session.story(rule);
    let mut lines = vec![format!("- concerns: {}", story.concerns)];
    lines.extend(story.demands.iter().map(|demand| format!("- demands: `{demand}`")));
    lines.push(format!("- otherwise: {} \"{}\"", story.severity.word(), story.message));
    lines.extend(story.figures.iter().map(|(name, value, from)| format!("- `{name}` = {value} ({from})")));
    lines.extend(story.because.iter().map(|because| format!("- because: {because}")));
    lines.extend(story.basis.iter().map(|basis| format!("- basis: {basis}")));
    Some(lines.join("\n"))
}

fn of_builtin(builtin: &Builtin) -> String {
    format!("`{}`\n\n{}\n\n```standard\n{}\n```", builtin.call(), builtin.doc, builtin.example)
}

fn of_field(record: &Record, name: &str) -> Option<String> {
    match record.field(name) {
        Some((_, field)) => {
            Some(format!("**{name}** of a {}: {}\n\n{}", record.title, in_words(&field.shape), field.doc))
        }
        None => {
            let (_, link) = record.link(name)?;
            Some(format!(
                "**{name}** of a {}: leads to another document or entry\n\n{}",
                record.title, link.doc
            ))
        }
    }
}

/// A word of the language, or a unit behind a number.
fn of_word(text: &Text, offset: u32) -> Option<(String, Span)> {
    if let Some((word, span)) = word_at(text.text(), offset as usize) {
        return Some((word, span));
    }
    let all = text.text();
    let is_unit = |c: char| c.is_alphabetic() || "°·/%²³".contains(c);
    let before = all.get(..offset as usize)?.trim_end_matches(is_unit).len();
    let behind = all.get(offset as usize..)?;
    let end = offset as usize + behind.len() - behind.trim_start_matches(is_unit).len();
    let unit = Unit::find(all.get(before..end).filter(|unit| !unit.is_empty())?).ok()?;
    let behind_number = all.get(..before)?.trim_end().ends_with(|c: char| c.is_ascii_digit());
    let spelt = unit.spellings.join(", ");
    let words =
        format!("**{}**, a unit of {}\n\n{}\n\nwritten {spelt}", unit.symbol, unit.kind(), unit.source);
    behind_number.then(|| (words, Span::new(before, end)))
}
