//! `logbook`: the logbooks of a folder as texts, as rules over several jobs see them.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::gather::Gathered;
use super::inspect::have_failed;
use super::known::KnownFiles;
use super::output::{Sink, complain, diagnose};
use super::patterns::expanded;
use super::{Exit, Failure, RuleOptions};
use crate::diagnostic::nearest;
use crate::language::ast::Severity;
use crate::trade::logbook::{About, Logbooks, Subject};

/// Prints what the jobs below a folder are, of each vehicle, tool, technician and lift, as the documents that rules over several
/// jobs judge: those of standards that say `judges logbook`. Nothing is judged. `why RULE FILE` shows how a rule judges one.
#[derive(Debug, Args)]
pub(super) struct Logbook {
    /// Folders with all that is below them, or files.
    #[arg(value_name = "FOLDER", required = true)]
    paths: Vec<PathBuf>,
    /// Only those of vehicles, tools, technicians or lifts.
    #[arg(long, value_name = "WHAT")]
    about: Option<AboutWhat>,
    /// Only that of this name: a plate or VIN, the number of a tool, the name of a technician or lift.
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    #[command(flatten)]
    rules: RuleOptions,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum AboutWhat {
    Vehicle,
    Tool,
    Technician,
    Lift,
}

impl From<AboutWhat> for About {
    fn from(what: AboutWhat) -> About {
        match what {
            AboutWhat::Vehicle => About::Vehicle,
            AboutWhat::Tool => About::Tool,
            AboutWhat::Technician => About::Technician,
            AboutWhat::Lift => About::Lift,
        }
    }
}

impl Logbook {
    pub(super) fn run(mut self) -> Result<Exit, Failure> {
        self.paths = expanded(&self.paths)?;
        if self.paths.iter().any(|path| path.as_os_str() == "-") {
            return Err(Failure(
                "logbooks are made of folders and files; name them instead of `-`".to_owned(),
            ));
        }
        let mut gathered = Gathered::find(&self.paths, &self.rules, &KnownFiles::default(), None, None)?;
        gathered.ready.makes_logbooks = true;
        gathered.load_context(self.paths.len());
        gathered.take_hidden();
        let run = gathered.ready.run(Severity::Hold);
        diagnose(&run.diagnostics, &run.sources);
        let logbooks = gathered.ready.logbooks.unwrap_or_default();
        let subjects = self.wanted(&logbooks)?;
        let mut sink = Sink::exact();
        for (number, subject) in subjects.iter().enumerate() {
            let between = if number == 0 { "" } else { "---\n" };
            sink.write(between.as_bytes())?;
            sink.write(logbooks.written(subject).text.as_bytes())?;
        }
        sink.finish()?;
        if subjects.is_empty() {
            complain("there is no job here of which a logbook could be made");
        }
        let is_whole = !have_failed(&run) && !subjects.is_empty();
        Ok(if is_whole { Exit::Clean } else { Exit::Failed })
    }

    /// Those that are asked for.
    fn wanted(&self, logbooks: &Logbooks) -> Result<Vec<Subject>, Failure> {
        let mut subjects = logbooks.subjects();
        subjects.retain(|subject| self.about.is_none_or(|about| subject.about == About::from(about)));
        let Some(name) = &self.name else { return Ok(subjects) };
        let (named, others): (Vec<Subject>, Vec<Subject>) =
            subjects.into_iter().partition(|subject| subject.is_called(name));
        if named.is_empty() && !others.is_empty() {
            let near = nearest(name, others.iter().map(|subject| subject.name.as_str()));
            let near = near.map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
            return Err(Failure(format!("no job here belongs to `{name}`{near}")));
        }
        Ok(named)
    }
}
