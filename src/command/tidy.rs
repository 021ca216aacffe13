//! `tidy`: rule files in their one layout.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;

use super::bounds::Bounds;
use super::difference::write_difference;
use super::files::{self, RULE_ENDING};
use super::names::named;
use super::output::{Sink, complain};
use super::patterns::expanded;
use super::replace::replace;
use super::scratch::{clear_up, folder_of};
use super::walk::{Found, find};
use super::{Exit, Failure, Screen};
use crate::diagnostic::Diagnostic;
use crate::language::layout::laid_out;
use crate::report::plain;
use crate::report::text::{count, harmless, shown};
use crate::source::{STANDARD_INPUT, SourceId, Sources};

/// Lays rule files out in the one way in which they are written: words of clauses in columns, lines of at most 120
/// characters, records in one notation. Comments stay, and what the rules mean. With `-` it reads a rule file from
/// standard input and prints it. Exit code 1: with --check or --diff, a file is not laid out so; 2: a file cannot be read.
#[derive(Debug, Args)]
pub(super) struct Tidy {
    /// Rule files, or folders of them; `-` for standard input.
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    /// Change nothing, and name the files that are not laid out so.
    #[arg(long)]
    check: bool,
    /// Change nothing, and print the difference line by line, for `patch` or `git apply`.
    #[arg(long)]
    diff: bool,
    #[command(flatten)]
    screen: Screen,
}

/// What became of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Became {
    /// It was laid out before.
    Clean,
    /// It is laid out now, or would be.
    LaidOut,
    /// It could not be read or written.
    Failed,
}

impl Tidy {
    pub(super) fn run(mut self) -> Result<Exit, Failure> {
        self.paths = expanded(&self.paths)?;
        if self.paths.iter().any(|path| path.as_os_str() == "-") {
            return self.standard_input();
        }
        // What is laid out belongs to the user, and no settings have a say in it.
        let bounds = Bounds { folder: PathBuf::new(), named: false };
        bounds.allow_ways(self.paths.iter().map(PathBuf::as_path))?;
        let files = find(&self.paths, &[RULE_ENDING]);
        if files.is_empty() {
            return Err(Failure(format!("no rule files were found (their names end in .{RULE_ENDING})")));
        }
        let mut sink = Sink::screen();
        let mut became = Vec::new();
        let mut folders = BTreeSet::new();
        for file in &files {
            let one = self.file(file, &bounds, &mut sink)?;
            became.push(one);
            if one == Became::LaidOut && !self.only_looks() {
                folders.insert(folder_of(&file.path).to_owned());
            }
        }
        for said in folders.iter().flat_map(|folder| clear_up(folder)) {
            complain(&said);
        }
        let number = |of: Became| became.iter().filter(|became| **became == of).count();
        if !self.diff {
            let verb = if self.check { "to lay out" } else { "laid out" };
            let files = count(number(Became::LaidOut) as u64, "file");
            sink.write(format!("{files} {verb}, {} in order\n", number(Became::Clean)).as_bytes())?;
        }
        sink.finish()?;
        Ok(match () {
            () if number(Became::Failed) > 0 => Exit::Failed,
            () if number(Became::LaidOut) > 0 && self.only_looks() => Exit::Findings,
            () => Exit::Clean,
        })
    }

    /// Whether nothing is changed.
    fn only_looks(&self) -> bool {
        self.check || self.diff
    }

    fn file(&self, file: &Found, bounds: &Bounds, sink: &mut Sink) -> Result<Became, Failure> {
        let name = named(&file.path);
        if let Some(fault) = &file.fault {
            complain(&format!("a part of `{name}` cannot be looked at: {fault}"));
            return Ok(Became::Failed);
        }
        let text = match files::read_by(&file.path, bounds.links(file)) {
            Ok(text) => text,
            Err(unread) => {
                complain(&format!("{name}: {}", unread.fault.message));
                return Ok(Became::Failed);
            }
        };
        let Some(laid) = self.laid(&name, &text) else { return Ok(Became::Failed) };
        if laid == text {
            return Ok(Became::Clean);
        }
        if self.diff {
            write_difference(&name, (&text, &laid), false, sink)?;
            return Ok(Became::LaidOut);
        }
        if !self.check
            && let Err(reason) = replace(&file.path, &text, &laid, bounds)
        {
            complain(&format!("`{name}` is left as it is: {reason}"));
            return Ok(Became::Failed);
        }
        sink.write(format!("{}\n", shown(&name)).as_bytes())?;
        Ok(Became::LaidOut)
    }

    /// A text laid out; where it cannot be, it is said why.
    fn laid(&self, name: &str, text: &str) -> Option<String> {
        laid_out(SourceId::FIRST, text).map_err(|wrong| self.say_wrong(name, text, &wrong)).ok()
    }

    fn say_wrong(&self, name: &str, text: &str, wrong: &[Diagnostic]) {
        let mut sources = Sources::new();
        sources.add(name, text);
        let mut out = Vec::new();
        plain::diagnostics(wrong, &sources, &self.screen.style(false), &mut out);
        let said = format!("{}{} is left as it is\n", String::from_utf8_lossy(&out), shown(name));
        // There is nobody left to tell when the error stream is gone too.
        let _ = io::stderr().lock().write_all(harmless(&said, true).as_bytes());
    }

    fn standard_input(&self) -> Result<Exit, Failure> {
        if self.paths.len() > 1 {
            return Err(Failure("`-` is used alone: standard input is one rule file".to_owned()));
        }
        let text = files::read_standard_input().map_err(|unread| Failure(unread.fault.message))?;
        let Some(laid) = self.laid(STANDARD_INPUT, &text) else { return Ok(Exit::Failed) };
        let differs = laid != text;
        let mut sink = if self.only_looks() { Sink::screen() } else { Sink::exact() };
        match () {
            () if self.diff => write_difference(STANDARD_INPUT, (&text, &laid), false, &mut sink)?,
            () if self.check && differs => sink.write(format!("{STANDARD_INPUT}\n").as_bytes())?,
            () if self.check => {}
            () => sink.write(laid.as_bytes())?,
        }
        sink.finish()?;
        Ok(if differs && self.only_looks() { Exit::Findings } else { Exit::Clean })
    }
}
