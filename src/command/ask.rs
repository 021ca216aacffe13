//! `why 'EXPRESSION' RECORD`: what an expression of the rule language comes to on a record. It is put behind the text of a
//! standard, as a rule of its own, so that each name means in it what it means in the rules there.

use std::path::Path;

use super::context::ENDINGS;
use super::known::KnownFiles;
use super::names::named;
use super::sides::{Given, Then, open_alone};
use super::standards::{Ready, Swap};
use super::{Failure, RuleOptions, files, walk};

use crate::diagnostic::{Diagnostic, Level, nearest};
use crate::document::Shape;
use crate::library::came_with_it;
use crate::report::{Style, why};

/// The name of the rule, which no standard has.
const NAME: &str = "asked_of_this_record";
/// That of the value in it.
const VALUE: &str = "asked_of_this_record_value";

/// How many ways of reading an expression are tried.
const MOST_TRIES: usize = 90;

/// What is asked of an expression.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Wanted {
    /// Whether it holds.
    Truth,
    /// What it is worth: it is compared with itself.
    Value,
    /// The same of something that cannot be compared: it is asked whether there is one.
    Presence,
}

/// An expression put behind a standard.
struct Put {
    swap: Swap,
    wanted: Wanted,
}

/// Answers; nothing where the text is no expression.
///
/// # Errors
/// What is wrong with the expression, or with the record.
pub(super) fn ask(
    ready: &Ready,
    rules: &RuleOptions,
    asked: &str,
    record: &Path,
    style: &Style,
    out: &mut Vec<u8>,
) -> Result<bool, Failure> {
    if !asked.contains(|c: char| c.is_whitespace() || c == '(' || c == '.') {
        return Ok(false);
    }
    let put = match find(ready, asked) {
        Ok(put) => put,
        Err(Some(wrong)) => {
            // The help of a rule file says how to declare a name, and here one is asked for that is there.
            let names: Vec<&str> = ready.session.names().filter_map(|name| name.rsplit('.').next()).collect();
            let unknown = words(asked).find(|word| wrong.message.contains(&format!("`{word}`")));
            let near = unknown.and_then(|word| nearest(word, names.iter().copied()));
            let help = match near {
                Some(near) => format!("; did you mean `{near}`?"),
                None => wrong.help.map_or_else(String::new, |help| format!("; {help}")),
            };
            return Err(Failure(format!("`{asked}` cannot be asked: {}{help}", wrong.message)));
        }
        Err(None) => return Ok(false),
    };
    let options = RuleOptions { swap: Some(put.swap), ..rules.clone() };
    let mut ready = options.open(Some(record), &KnownFiles::default())?;
    ready.bounds.allow_ways([record])?;
    ready.load_context(&walk::find(&[record.to_owned()], &ENDINGS), 1);
    let text = files::read_by(record, ready.bounds.links_of_named());
    let text = text.map_err(|unread| Failure(unread.fault.message))?;
    let session = &ready.session;
    let Some(rule) = session.rules_called(NAME).next() else { return Ok(false) };
    let traces = session.trace(rule, &named(record), &text);
    if traces.is_empty() {
        let name = named(record);
        return Err(Failure(format!("`{name}` holds no document that can be read; inspect it first")));
    }
    for trace in traces {
        why::answer(&trace, asked, (put.wanted != Wanted::Truth).then_some(VALUE), style, out);
    }
    Ok(true)
}

/// The first way of reading the expression in which nothing is wrong with it.
fn find(ready: &Ready, asked: &str) -> Result<Put, Option<Diagnostic>> {
    let session = &ready.session;
    let library = Then { revision: None, disk: ready.disk() };
    let mut wrong: Option<Diagnostic> = None;
    let mut tries = 0;
    let mut standards: Vec<_> = session.program().standards().iter().filter(|one| one.in_force).collect();
    // Those that give a value a name that is asked for come first.
    standards.sort_by_key(|standard| {
        let text = session.sources().get(standard.place.source).map_or("", |source| source.text());
        !words(asked).any(|word| {
            ["let", "parameter", "table"].iter().any(|head| text.contains(&format!("\n{head} {word} ")))
        })
    });
    for standard in standards {
        let Some(source) = session.sources().get(standard.place.source) else { continue };
        for subject in subjects(ready, &standard.form, asked) {
            for wanted in [Wanted::Truth, Wanted::Value, Wanted::Presence] {
                if tries >= MOST_TRIES {
                    return Err(wrong);
                }
                tries += 1;
                let added = added(asked, subject.as_ref(), wanted);
                let text = format!("{}\n{added}", source.text());
                let name = match came_with_it(source.name()) {
                    Some(_) => format!("{}.standard", standard.name),
                    None => source.name().to_owned(),
                };
                let given = Given { name: name.clone(), text: text.clone(), is_rules: true };
                let (alone, id) = open_alone(&given, ready, &library);
                let before = source.text().len();
                let error = alone.diagnostics().iter().find(|found| {
                    let here = found
                        .place()
                        .is_some_and(|place| place.source == id && place.span.start as usize >= before);
                    found.level == Level::Error && here
                });
                match error {
                    None => {
                        return Ok(Put {
                            swap: Swap { standard: standard.name.clone(), file: name, text },
                            wanted,
                        });
                    }
                    Some(error) => drop(wrong.get_or_insert_with(|| error.clone())),
                }
            }
        }
    }
    Err(wrong)
}

/// The rule, with the expression.
fn added(asked: &str, subject: Option<&(String, String)>, wanted: Wanted) -> String {
    let (of, concerns, entry) = match subject {
        Some((variable, list)) => (
            format!(" of {variable} in {list}"),
            format!("  concerns each {variable} in {list}\n"),
            format!(" of {variable}"),
        ),
        None => (String::new(), String::new(), String::new()),
    };
    let end = "  otherwise note \"asked\"\n";
    let name = VALUE;
    let value = format!("let {name}{of} = {asked}\n");
    let (before, demand) = match wanted {
        Wanted::Truth => (String::new(), asked.to_owned()),
        Wanted::Value => (value, format!("({name}{entry}) is ({name}{entry})")),
        Wanted::Presence => (value, format!("recorded {name}{entry}")),
    };
    format!("{before}rule {NAME} \"Asked\"\n{concerns}  demands {demand}\n{end}")
}

/// The names in an expression, paths as a whole.
fn words(asked: &str) -> impl Iterator<Item = &str> {
    let is_letter = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    asked.split(move |c: char| !is_letter(c)).filter(|word| !word.is_empty())
}

/// What an expression can be about: the document, or the entries of a list for which a variable in it stands.
fn subjects(ready: &Ready, form: &str, asked: &str) -> Vec<Option<(String, String)>> {
    let mut found = vec![None];
    let Some(form) = ready.session.forms().get(form) else { return found };
    let record = form.record();
    let words: Vec<&str> = words(asked).collect();
    let mut variables: Vec<&str> = Vec::new();
    for (number, word) in words.iter().enumerate() {
        let head = word.split('.').next().unwrap_or_default();
        let is_named = number > 0 && words.get(number - 1) == Some(&"of");
        let is_variable = (word.contains('.') || is_named)
            && head.starts_with(|c: char| c.is_alphabetic())
            && record.field(head).is_none();
        if is_variable && !variables.contains(&head) {
            variables.push(head);
        }
    }
    for variable in variables {
        let lists = record.fields.iter().filter(|field| matches!(field.shape, Shape::List(_)));
        found.extend(lists.map(|list| Some((variable.to_owned(), list.name.to_string()))));
    }
    found
}
