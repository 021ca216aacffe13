//! `amend`: the spelling of records corrected, never a value.

use std::collections::BTreeSet;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::context::ENDINGS;
use super::difference::{for_people, write_difference};
use super::files::{self, is_rule_file};
use super::gather::hidden;
use super::inspect::HiddenRecords;
use super::known::KnownFiles;
use super::likeness::{form_of, is_document};
use super::names::named;
use super::output::{Sink, complain};
use super::patterns::expanded;
use super::replace::replace;
use super::scratch::{clear_up, folder_of};
use super::standards::Ready;
use super::walk::{Found, Reach, Walked, look_for};
use super::{Exit, Failure, ReadingOptions, RuleOptions, RunOptions, Screen, WorkshopOptions};
use crate::diagnostic::MOST_ALIKE;
use crate::document::amend::{Amended, amend};
use crate::report::difference::unified;
use crate::report::text::{count, harmless, list, shown};
use crate::report::{Style, plain};
use crate::source::{STANDARD_INPUT, Sources};
use crate::trade::form;

/// Corrects the spelling of records where only one thing can have been meant: units, decimal commas, days,
/// names of fields and words of closed lists. Shows each change and asks. Never touches a value that can
/// be read. With `-` it reads a record from standard input and prints it corrected.
#[derive(Debug, Args)]
pub(super) struct Amend {
    /// Records and procedures, or folders of them; `-` for standard input.
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    /// Correct without asking.
    #[arg(long)]
    yes: bool,
    /// What to print. With `diff`, a difference line by line and nothing else, for `patch` or `git apply`; no file is changed.
    #[arg(long, value_name = "FORM", default_value = "plain", conflicts_with = "yes")]
    format: AmendFormat,
    #[command(flatten)]
    workshop: WorkshopOptions,
    #[command(flatten)]
    reading: ReadingOptions,
    #[command(flatten)]
    screen: Screen,
}

/// What `amend` prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum AmendFormat {
    /// Each change in words and lines, for people.
    Plain,
    /// A unified difference.
    Diff,
}

/// What became of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Became {
    /// Nothing was to be corrected.
    Clean,
    /// All of it was corrected.
    Corrected,
    /// Some of it was corrected, and something is left.
    Partly,
    /// It is as it was, and something is left.
    Left,
    /// It could not be read, or what was corrected could not be written.
    Failed,
}

impl Amend {
    pub(super) fn run(mut self) -> Result<Exit, Failure> {
        self.paths = expanded(&self.paths)?;
        let from_stdin = self.paths.iter().any(|path| path.as_os_str() == "-");
        if from_stdin && self.paths.len() > 1 {
            return Err(Failure("`-` is used alone: standard input is one document".to_owned()));
        }
        let near = self.paths.first().filter(|_| !from_stdin).map(PathBuf::as_path);
        let run =
            RunOptions { workshop: self.workshop.clone(), reading: self.reading, ..RunOptions::default() };
        let rules = RuleOptions { run, ..RuleOptions::default() };
        let ready = rules.open(near, &KnownFiles::default())?;
        if ready.unsettled {
            return Err(Failure("the workshop's settings have errors; `inspect` lists them".to_owned()));
        }
        if from_stdin {
            return self.standard_input(&ready);
        }
        ready.bounds.allow_ways(self.paths.iter().map(PathBuf::as_path))?;
        let Walked { files, mut passed_over, unseen, .. } = look_for(&self.paths, &ENDINGS, Reach::Visible);
        HiddenRecords::Leave.settle(hidden(unseen, &ready), &mut passed_over);
        say_passed_over(&passed_over);
        rules.one_workshop(files.iter().map(|file| file.path.as_path()), ready.settings.as_deref())?;
        let mut sink = Sink::screen();
        let mut became = Vec::new();
        let mut folders = BTreeSet::new();
        for file in &files {
            let Some(one) = self.file(file, &ready, &mut sink)? else { continue };
            became.push(one);
            if matches!(one, Became::Corrected | Became::Partly) {
                folders.insert(folder_of(&file.path).to_owned());
            }
        }
        for said in folders.iter().flat_map(|folder| clear_up(folder)) {
            complain(&said);
        }
        let number = |of: &[Became]| became.iter().filter(|became| of.contains(became)).count();
        let corrected = number(&[Became::Corrected, Became::Partly]);
        let left = number(&[Became::Left, Became::Partly]);
        if self.format == AmendFormat::Plain {
            let summary = format!(
                "{} corrected, {left} with something left, {} in order\n",
                count(corrected as u64, "file"),
                number(&[Became::Clean])
            );
            sink.write(summary.as_bytes())?;
        }
        sink.finish()?;
        Ok(match () {
            () if number(&[Became::Failed]) > 0 || became.is_empty() => Exit::Failed,
            () if left > 0 => Exit::Findings,
            () => Exit::Clean,
        })
    }

    /// Prints standard input corrected, or what would be corrected there.
    fn standard_input(&self, ready: &Ready) -> Result<Exit, Failure> {
        let text = files::read_standard_input().map_err(|unread| Failure(unread.fault.message))?;
        let mut sources = Sources::over(ready.session.sources());
        let source = sources.add(STANDARD_INPUT, text.clone());
        let amended = amend(source, &text, ready.session.forms());
        if self.format == AmendFormat::Diff {
            let mut sink = Sink::screen();
            write_difference(
                STANDARD_INPUT,
                (&text, &amended.text),
                self.screen.style(true).colour,
                &mut sink,
            )?;
            sink.finish()?;
        } else {
            let mut sink = Sink::exact();
            sink.write(amended.text.as_bytes())?;
            sink.finish()?;
        }
        let left = left(STANDARD_INPUT, &amended, &sources, &self.screen.style(false));
        say(&left);
        let would_change = self.format == AmendFormat::Diff && !amended.mends.is_empty();
        Ok(if left.is_empty() && !would_change { Exit::Clean } else { Exit::Findings })
    }

    /// None for a file in a folder that is no document of ours.
    fn file(&self, file: &Found, ready: &Ready, sink: &mut Sink) -> Result<Option<Became>, Failure> {
        let session = &ready.session;
        let name = named(&file.path);
        if let Some(fault) = &file.fault {
            complain(&format!("a part of `{name}` cannot be looked at: {fault}"));
            return Ok(Some(Became::Failed));
        }
        let text = match files::read_by(&file.path, ready.bounds.links(file)) {
            Ok(text) => text,
            Err(unread) => {
                complain(&format!("{}: {}", name, unread.fault.message));
                return Ok(Some(Became::Failed));
            }
        };
        if !file.named && !is_document(&text) {
            return Ok(None);
        }
        if let Some(what) = no_document(&file.path, &text) {
            if !file.named {
                return Ok(None);
            }
            complain(&format!(
                "`{name}` holds {what}, and `amend` corrects documents; `inspect` and `prove` say what is wrong there"
            ));
            return Ok(Some(Became::Failed));
        }
        let mut sources = Sources::over(session.sources());
        let source = sources.add(&name, text.clone());
        let amended = amend(source, &text, session.forms());
        let style = self.screen.style(true);
        let whole = amended.left.is_empty() && amended.withheld.is_empty() && amended.untried.is_empty();
        if self.format == AmendFormat::Diff {
            write_difference(&name, (&text, &amended.text), self.screen.style(true).colour, sink)?;
            say(&left(&name, &amended, &sources, &style));
            let is_clean = whole && amended.mends.is_empty();
            return Ok(Some(if is_clean { Became::Clean } else { Became::Left }));
        }
        sink.write(told(&name, &text, &amended, &sources, &style).as_bytes())?;
        if amended.mends.is_empty() {
            return Ok(Some(if whole { Became::Clean } else { Became::Left }));
        }
        // The question stands below what it is about.
        sink.flush()?;
        if !self.yes && !agreed(&name) {
            return Ok(Some(Became::Left));
        }
        match replace(&file.path, &text, &amended.text, &ready.bounds) {
            Ok(()) => Ok(Some(if whole { Became::Corrected } else { Became::Partly })),
            Err(reason) => {
                complain(&format!("`{name}` is left as it is: {reason}"));
                Ok(Some(Became::Failed))
            }
        }
    }
}

/// What a file holds that is no document to correct.
fn no_document(path: &Path, text: &str) -> Option<&'static str> {
    match form_of(text) {
        _ if is_rule_file(path) => Some("the rules of a standard"),
        Some(form::SETTINGS) => Some("the workshop's settings"),
        Some(form::KNOWN) => Some("known findings"),
        _ => None,
    }
}

/// What would be corrected in a file, and what is left; empty where it is in order.
fn told(name: &str, before: &str, amended: &Amended, sources: &Sources, style: &Style) -> String {
    let mut told = String::new();
    if !amended.mends.is_empty() {
        let corrections = count(amended.mends.len() as u64, "correction");
        told += &format!("{}: {corrections}\n", shown(name));
        told += &match unified((name, before), (name, &amended.text)) {
            Some(difference) => for_people(&difference, style.colour),
            None => listed(amended, sources),
        };
    }
    told + &left(name, amended, sources, style)
}

/// How many files are named before they are only counted.
const MOST_NAMED: usize = 8;

/// Says which records in the folders are not looked at.
fn say_passed_over(passed_over: &[String]) {
    if !passed_over.is_empty() {
        let names = list(passed_over.iter().map(String::as_str), MOST_NAMED);
        complain(&format!("passed over: {names}; name what is to be corrected as a path"));
    }
}

/// Says on the error stream what is left.
fn say(left: &str) {
    // There is nobody left to tell when the error stream is gone too.
    let _ = io::stderr().lock().write_all(harmless(left, true).as_bytes());
}

/// What is left of a file for a person to correct.
fn left(name: &str, amended: &Amended, sources: &Sources, style: &Style) -> String {
    let mut told = String::new();
    let spelling = "because more than the spelling would change with";
    let untried = "which was not tried, because too much of this text does not fit: correct the rest and run again; it may become";
    let withheld = amended.withheld.iter().map(|fix| (fix, spelling));
    let all = withheld.chain(amended.untried.iter().map(|fix| (fix, untried)));
    for (fix, why) in all.take(MOST_ALIKE) {
        let (old, line) = (sources.text_at(fix.place), sources.start_of(fix.place).map_or(0, |at| at.line));
        told += &format!(
            "{} line {line}: `{}` is left, {why} `{}`\n",
            shown(name),
            shown(old),
            shown(&fix.replacement)
        );
    }
    told += &further(name, "corrections", amended.withheld.len() + amended.untried.len());
    if !amended.left.is_empty() {
        let mut out = Vec::new();
        let brief = Style { details: false, ..*style };
        let listed = amended.left.get(..MOST_ALIKE).unwrap_or(&amended.left);
        plain::diagnostics(listed, sources, &brief, &mut out);
        let errors = count(amended.left.len() as u64, "error");
        told += &format!("{}: {errors} that only a person can correct\n", shown(name));
        told += &String::from_utf8_lossy(&out);
        told += &further(name, "errors", amended.left.len());
    }
    told
}

/// How many more there are than are listed.
fn further(name: &str, what: &str, all: usize) -> String {
    match all.checked_sub(MOST_ALIKE) {
        Some(more @ 1..) => format!("{}: {more} more {what} are not listed\n", shown(name)),
        _ => String::new(),
    }
}

/// The corrections line by line, where the texts are too long to be compared.
fn listed(amended: &Amended, sources: &Sources) -> String {
    let line = |fix: &crate::diagnostic::Fix| {
        let line = sources.start_of(fix.place).map_or(0, |at| at.line);
        format!(
            "line {line}: `{}` becomes `{}`\n",
            shown(sources.text_at(fix.place)),
            shown(&fix.replacement)
        )
    };
    amended.mends.iter().map(line).collect()
}

/// Asks on the terminal; without one, nobody agrees.
fn agreed(name: &str) -> bool {
    let (mut ask, stdin) = (io::stderr().lock(), io::stdin());
    if !stdin.is_terminal() || !ask.is_terminal() {
        let _ = writeln!(ask, "witnessmark: `{}` is left as it is; correct it with --yes", shown(name));
        return false;
    }
    let mut answer = String::new();
    loop {
        let asked = write!(ask, "Correct {}? [y/n] ", shown(name)).and_then(|()| ask.flush());
        answer.clear();
        let read = stdin.lock().read_line(&mut answer);
        match answer.trim() {
            "y" | "yes" => return true,
            "n" | "no" => return false,
            // The end of the input, or nobody to ask.
            _ if asked.is_err() || read.is_err() || !answer.ends_with('\n') => return false,
            _ => {}
        }
    }
}
