//! Runs a case and compares what came with what its comments expect.

use std::collections::BTreeMap;
use std::io::{BufRead, Cursor};
use std::path::Path;
use std::sync::{Arc, Mutex};

use witnessmark::diagnostic::{Diagnostic, Fault, Level};
use witnessmark::document::Logs;
use witnessmark::finding::{Finding, Judged, Outcome, Standing, Summary, Tally};
use witnessmark::language::check::Given;
use witnessmark::library::Library;
use witnessmark::session::Session;
use witnessmark::source::{Place, SourceId, Sources, Span};

use super::expected::{Expected, Wanted};
use crate::support::{session_with, setting, text};

/// What came: its line, its head as [`Wanted::head`] has it, and the rest in words.
struct Came {
    line: usize,
    head: String,
    at: String,
    says: String,
    help: String,
    /// What the text at its place must be, where nothing else is expected.
    found: Option<String>,
}

/// The files that `use` opens, by the names under which they were opened.
#[derive(Default)]
struct Opened(Mutex<BTreeMap<String, String>>);

impl Library for Opened {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let mut parts: Vec<&str> = from.split('/').collect();
        parts.pop();
        for part in path.split('/') {
            match part {
                ".." => drop(parts.pop()),
                part => parts.push(part),
            }
        }
        let name = parts.join("/");
        if !Path::new(env!("CARGO_MANIFEST_DIR")).join(&name).is_file() {
            let message = format!("there is no file `{path}`");
            return Err(Fault::new(witnessmark::code::USE_UNREADABLE, message));
        }
        let content = text(&name);
        self.0.lock().unwrap().insert(name.clone(), content.clone());
        Ok((name, content))
    }
}

/// The files of logs, which lie among the cases.
#[derive(Debug)]
struct OfCases;

impl Logs for OfCases {
    fn open(&self, _document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        let path = format!("tests/cases/{file}");
        if !Path::new(env!("CARGO_MANIFEST_DIR")).join(&path).is_file() {
            return Err(Fault::new(witnessmark::code::LOG_FILE, format!("there is no file `{file}`")));
        }
        Ok(Box::new(Cursor::new(text(&path))))
    }
}

/// Runs the case of this path without ending; gives what is wrong with it.
pub fn run(name: &str) -> Vec<String> {
    let file = format!("{name}.standard");
    let rules = text(&file);
    let mut texts = vec![(file.clone(), rules.clone())];
    let (mut day, mut zone, mut givens) = ("2026-03-02".to_owned(), "UTC".to_owned(), Vec::new());
    for (line, with) in Expected::read(&rules).with {
        match with.split_once(' ').unwrap_or((&with, "")) {
            ("parameter", given) => givens.push(parameter(&rules, line, given)),
            ("zone", name) => zone = name.to_owned(),
            ("also", other) => {
                let other = format!("tests/cases/{other}");
                texts.push((other.clone(), text(&other)));
            }
            ("as", rest) => day = rest.trim_start_matches("of ").to_owned(),
            _ => panic!("{file}:{line}: `{with}` is no setting"),
        }
    }
    let opened = Opened::default();
    let files: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (&**name, &**text)).collect();
    let session = session_with(&files, givens, setting(&day, &zone), &opened).with_logs(Arc::new(OfCases));
    texts.extend(opened.0.into_inner().unwrap());
    texts.sort();
    texts.dedup();
    let mut wrong = Vec::new();
    for (file, text) in &texts {
        let here = |diagnostic: &&Diagnostic| {
            diagnostic.place().is_some_and(|place| session.sources().name(place.source) == *file)
        };
        let found = session.diagnostics().iter().filter(here);
        let came = found.map(|found| of_diagnostic(session.sources(), found)).collect();
        wrong.extend(compare(file, came, Expected::read(text).diagnostics));
    }
    let record = format!("{name}.yaml");
    if Path::new(env!("CARGO_MANIFEST_DIR")).join(&record).is_file() {
        wrong.extend(judge(&session, &record, &texts));
    }
    wrong
}

/// A parameter that is given on a line of the rule file itself.
fn parameter(rules: &str, line: usize, given: &str) -> Given {
    let (name, value) = given.split_once('=').unwrap();
    let start: usize = rules.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let span = Span::new(start, start + 1);
    Given {
        name: name.trim().to_owned(),
        keys: Vec::new(),
        text: value.trim().to_owned(),
        list: None,
        place: Place { source: SourceId::FIRST, span },
        elsewhere: witnessmark::language::check::Elsewhere::Nothing,
    }
}

fn judge(session: &Session, record: &str, rules: &[(String, String)]) -> Vec<String> {
    let written = text(record);
    let judged = session.judge(record, &written);
    let mut summary = Summary::default();
    let (mut findings, mut diagnostics, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for document in &judged {
        summary.add(document, |number| &session.program().rules()[number].name);
        findings.extend(document.findings.iter().map(|found| of_finding(session, document, found)));
        diagnostics.extend(document.diagnostics.iter().map(|found| of_diagnostic(&document.sources, found)));
        wrong.extend(document.findings.iter().flat_map(|found| margin_agrees(record, found)));
    }
    let expected = Expected::read(&written);
    wrong.extend(compare(record, findings, expected.findings));
    wrong.extend(compare(record, diagnostics, expected.diagnostics));
    for (file, text) in rules {
        wrong.extend(tallies(session, &summary, file, Expected::read(text).tallies));
    }
    wrong
}

/// Compares the counted outcomes of every rule in a file with the words behind its head.
fn tallies(session: &Session, summary: &Summary, file: &str, expected: Vec<(usize, String)>) -> Vec<String> {
    let mut expected: BTreeMap<usize, String> = expected.into_iter().collect();
    let mut wrong = Vec::new();
    for rule in session.program().rules().all() {
        if session.sources().name(rule.place.source) != file {
            continue;
        }
        let line = session.sources().start_of(rule.name_place).unwrap().line;
        let none = Tally::default();
        let came = counted(summary.rules.get(&rule.name).unwrap_or(&none));
        match expected.remove(&line) {
            Some(wanted) if wanted == came => {}
            wanted => wrong.push(format!("{file}:{line}: tally `{came}`, expected {wanted:?}")),
        }
    }
    wrong.extend(expected.into_keys().map(|line| format!("{file}:{line}: this rule did not run")));
    wrong
}

fn counted(tally: &Tally) -> String {
    let parts = [
        (tally.met, "met"),
        (tally.broken, "broken"),
        (tally.undecided, "undecided"),
        (tally.not_concerned, "not concerned"),
    ];
    let never = (!tally.applied()).then(|| "never applied".to_owned());
    let parts = parts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}"));
    never.into_iter().chain(parts).collect::<Vec<_>>().join(", ")
}

/// The margin of a decided demand has the sign of its verdict.
fn margin_agrees(record: &str, finding: &Finding) -> Option<String> {
    let margin = finding.margin.as_ref()?;
    let positive = margin.distance.magnitude() > &witnessmark::quantity::Number::ZERO;
    positive.then(|| format!("{record}: `{}` is broken with a margin above zero", finding.rule))
}

fn of_finding(session: &Session, document: &Judged, finding: &Finding) -> Came {
    let rule = match session.program().standards().len() {
        1 => finding.rule.rsplit('.').next().unwrap(),
        _ => &finding.rule,
    };
    let outcome = match finding.outcome {
        Outcome::Broken => "broken",
        Outcome::Undecided => "undecided",
        other => panic!("a finding cannot be {other:?}"),
    };
    let weight = match finding.standing {
        Standing::Counts => finding.severity.word(),
        Standing::StillToDo => "still to do",
        Standing::Passed => "let pass",
        Standing::Known => "known",
        Standing::Conceded => "conceded",
    };
    let at = document.sources.text_at(finding.at).to_owned();
    let scalar = !at.is_empty() && !at.contains('\n') && !at.starts_with(['{', '[']);
    let looked_up = (finding.outcome == Outcome::Broken && scalar).then(|| finding.found.clone()).flatten();
    Came {
        line: document.sources.start_of(finding.at).unwrap().line,
        head: format!("{rule} {outcome} {weight}"),
        at,
        says: finding.message.clone(),
        help: String::new(),
        found: looked_up,
    }
}

fn of_diagnostic(sources: &Sources, diagnostic: &Diagnostic) -> Came {
    let place = diagnostic.place().unwrap();
    let level = if diagnostic.level == Level::Advice { " advice" } else { "" };
    Came {
        line: sources.start_of(place).unwrap().line,
        head: format!("{}{level}", diagnostic.code.as_str()),
        at: sources.text_at(place).to_owned(),
        says: diagnostic.message.clone(),
        help: diagnostic.help.clone().unwrap_or_default(),
        found: None,
    }
}

/// Pairs what came with what was expected, line by line.
fn compare(file: &str, came: Vec<Came>, mut expected: Vec<(usize, Wanted)>) -> Vec<String> {
    let mut wrong = Vec::new();
    for came in came {
        wrong.extend(ill_worded(&came).map(|what| format!("{file}:{}: {what}: {}", came.line, came.says)));
        let fits = |(line, wanted): &(usize, Wanted)| {
            *line == came.line
                && wanted.head == came.head
                && wanted.at.as_ref().is_none_or(|at| *at == came.at)
                && wanted.says.as_ref().is_none_or(|says| *says == came.says)
                && wanted.near.as_ref().is_none_or(|near| offers(&came.help, near))
        };
        let Some(position) = expected.iter().position(fits) else {
            let Came { line, head, at, says, help, .. } = &came;
            wrong.push(format!("{file}:{line}: came `{head}` at `{at}`: {says} [{help}]"));
            continue;
        };
        let (_, wanted) = expected.remove(position);
        let differs = came.found.as_ref().is_some_and(|found| unquoted(&came.at) != *found);
        if wanted.at.is_none() && differs {
            let Came { line, at, found, .. } = &came;
            wrong.push(format!("{file}:{line}: found {found:?}, and at the place stands `{at}`"));
        }
    }
    wrong.extend(expected.into_iter().map(|(line, wanted)| format!("{file}:{line}: missing {wanted:?}")));
    wrong
}

fn offers(help: &str, name: &str) -> bool {
    help.contains(&format!("`{name}`")) || help.contains(&format!("\"{name}\""))
}

/// The messages of diagnostics are of one form; those of findings are the rules' own.
fn ill_worded(came: &Came) -> Option<&'static str> {
    if !came.head.contains('/') {
        return None;
    }
    let stop = came.says.ends_with('.') || came.help.ends_with('.');
    let capital = came.says.starts_with(char::is_uppercase);
    match (stop, capital) {
        (true, _) => Some("ends with a stop"),
        (_, true) => Some("begins with a capital"),
        _ => None,
    }
}

fn unquoted(text: &str) -> &str {
    let text = text.trim();
    let inside = |quote| text.strip_prefix(quote).and_then(|text| text.strip_suffix(quote));
    inside('"').or_else(|| inside('\'')).unwrap_or(text)
}
