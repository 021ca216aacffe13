//! `audit`: many jobs in, figures out.

use std::path::{Component, Path, PathBuf};

use clap::{Args, ValueEnum};

use super::files;
use super::gather::{Contents, Gathered};
use super::inspect::{HiddenRecords, Steps, have_failed};
use super::known::KnownFiles;
use super::output::{complain, diagnose};
use super::patterns::expanded;
use super::progress::Progress;
use super::standards::Ready;
use super::walk::Found;
use super::{Exit, FailOn, Failure, OutputOptions, RuleOptions, Screen};
use crate::audit::forms::Form;
use crate::audit::{self, Around, Day, Figures, Merge, Taken, Wanted};
use crate::decide::MOST_STEPS_IN_ALL;
use crate::language::ast::Severity;
use crate::report::facts;
use crate::report::text::{count, harmless};
use crate::time;

/// Says what many jobs come to: how many pass, month by month and by kind of job, what changed, which rules are broken, what tools
/// and readings show, and how sure that is. Or lists every job that a tool or a lot touched.
#[derive(Debug, Args)]
pub(super) struct Audit {
    /// Folders with all that is below them, or files.
    #[arg(value_name = "FOLDER", required_unless_present = "add")]
    paths: Vec<PathBuf>,
    /// Add what an audit of other jobs came to, which was written with `--format figures`. Can be given several times; then no
    /// folder is needed.
    #[arg(long, value_name = "FILE")]
    add: Vec<PathBuf>,
    /// List every job that names this tool.
    #[arg(long, value_name = "NUMBER")]
    tool: Option<String>,
    /// List every job that names this lot of a fluid or a part.
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,
    /// Count only jobs from this day on, YYYY-MM-DD: by the day on which they were closed or else opened. Jobs without a day count.
    #[arg(long, value_name = "DAY")]
    since: Option<String>,
    #[command(flatten)]
    rules: RuleOptions,
    /// Form of the report.
    #[arg(long, value_name = "FORM", default_value = "plain")]
    format: AuditForm,
    /// Write the report to this file instead of standard output. The file is replaced in one step.
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    screen: Screen,
    /// From which severity of a finding a job fails. Without it, that of the settings, or `hold`.
    #[arg(long, value_name = "SEVERITY")]
    fail_on: Option<FailOn>,
    /// Threads to judge with, at most 256; without it, or with 0, one for each core.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(..=256))]
    threads: Option<u16>,
    /// What becomes of records in folders that ignore files, leading dots or links hide, as with `inspect`.
    #[arg(long, value_name = "WHAT")]
    hidden: Option<HiddenRecords>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum AuditForm {
    /// For people: tables, or a fact a line where the screen is narrow.
    Plain,
    /// One page with charts, for a browser and for paper.
    Html,
    /// For programs; described by grammar/audit.schema.json.
    Json,
    /// For spreadsheets and other programs: a line for each figure.
    Csv,
    /// A part of a greater audit, to be added to others with `--add`.
    Figures,
}

impl AuditForm {
    /// The form in which it is told; none for what is only added up.
    fn told(self) -> Option<Form> {
        match self {
            AuditForm::Plain => Some(Form::Plain),
            AuditForm::Html => Some(Form::Html),
            AuditForm::Json => Some(Form::Json),
            AuditForm::Csv => Some(Form::Csv),
            AuditForm::Figures => None,
        }
    }
}

impl Audit {
    pub(super) fn run(mut self) -> Result<Exit, Failure> {
        self.paths = expanded(&self.paths)?;
        if self.paths.iter().any(|path| path.as_os_str() == "-") {
            return Err(Failure("an audit reads folders and files; name them instead of `-`".to_owned()));
        }
        let output = OutputOptions { format: None, output: self.output.clone(), screen: self.screen.clone() };
        let form = self.format.told();
        let place = output.make_way_for(self.inputs(), form.is_some_and(Form::is_for_people))?;
        let wanted = self.wanted()?;
        let parts = self.parts(&wanted)?;
        let mut gathered =
            Gathered::find(&self.paths, &self.rules, &KnownFiles::default(), self.hidden, self.threads)?;
        gathered.ready.session = gathered.ready.session.keeping_figures();
        let fail_on = self.fail_on.map(Severity::from).or(gathered.ready.fail_on).unwrap_or(Severity::Hold);
        gathered.load_context(self.paths.len());
        gathered.take_hidden();
        let Gathered { ready, files, passed_over, threads, .. } = gathered;
        let run = ready.run(fail_on);
        diagnose(&run.diagnostics, &run.sources);
        let most_steps = self.rules.run.most_steps_in_all.map_or(MOST_STEPS_IN_ALL, |most| most.0);
        let mut begun = Figures::of(wanted);
        let in_force = ready.session.program().standards().iter().filter(|standard| standard.in_force);
        begun.judged_by.extend(in_force.map(|standard| standard.full_name()));
        begun.fails_from.insert(fail_on.word().to_owned());
        let mut figures = threads.install(|| figures(&ready, &files, begun, fail_on, most_steps));
        parts.into_iter().for_each(|part| figures.merge(part));
        if !passed_over.is_empty() {
            complain(&format!(
                "{} passed over, which `inspect` names",
                count(passed_over.len() as u64, "file")
            ));
        }
        let written = match form {
            Some(form) => {
                let tools = ready.session.tools_around();
                let judged = facts::judged_in_a_line(&run.judged_by, &passed_over);
                let around =
                    Around { as_of: run.as_of, fail_on, rules: &run.rules, tools: &tools, judged: &judged };
                let way = to_records(self.output.as_deref());
                let written = form.write(&audit::page(&figures, &around), &output.style(), way.as_deref());
                match form {
                    Form::Csv => harmless(&String::from_utf8_lossy(&written), true).into_owned().into_bytes(),
                    Form::Plain | Form::Html | Form::Json => written,
                }
            }
            None => audit::forms::figures::written(&figures),
        };
        let mut sink = place.sink()?;
        sink.write(&written)?;
        sink.finish()?;
        let is_whole = !have_failed(&run) && figures.unreadable.is_empty() && figures.documents > 0;
        if figures.documents == 0 {
            complain("there is no document here to count");
        }
        Ok(if is_whole { Exit::Clean } else { Exit::Failed })
    }

    fn wanted(&self) -> Result<Wanted, Failure> {
        let since = self.since.as_deref().map(time::day).transpose().map_err(|fault| {
            let help = fault.help.map_or_else(String::new, |help| format!("; {help}"));
            Failure(format!("{}{help}", fault.message))
        })?;
        for (option, name) in [("--tool", &self.tool), ("--lot", &self.lot)] {
            if name.as_ref().is_some_and(|name| name.trim().is_empty()) {
                return Err(Failure(format!("`{option}` has no name; write the one that records state")));
            }
        }
        Ok(Wanted { tool: self.tool.clone(), lot: self.lot.clone(), since: since.map(Day) })
    }

    /// What other audits came to.
    fn parts(&self, wanted: &Wanted) -> Result<Vec<Figures>, Failure> {
        let read = |path: &PathBuf| {
            let cannot = |why: &str| Failure(format!("`{}` cannot be added: {why}", path.display()));
            let text = files::read(path).map_err(|unread| cannot(&unread.fault.message))?;
            let part = audit::forms::figures::read(&text).map_err(|why| cannot(&why))?;
            match part.wanted == *wanted {
                true => Ok(part),
                false => Err(cannot("it was made with another `--tool`, `--lot` or `--since`")),
            }
        };
        self.add.iter().map(read).collect()
    }

    /// What the command line names to be read.
    fn inputs(&self) -> impl Iterator<Item = &Path> {
        let standards = self.rules.standards.iter().map(Path::new);
        let settings = self.rules.run.workshop.settings.as_deref();
        self.paths.iter().chain(&self.add).map(PathBuf::as_path).chain(standards).chain(settings)
    }
}

/// The way from a report to the working folder, from which records are named; none where the report is elsewhere. Names of records
/// that are no way from there lead nowhere, which does no harm.
fn to_records(output: Option<&Path>) -> Option<String> {
    let mut way = "./".to_owned();
    for part in output.and_then(Path::parent).into_iter().flat_map(Path::components) {
        match part {
            Component::CurDir => {}
            Component::Normal(_) => way.push_str("../"),
            _ => return None,
        }
    }
    Some(way)
}

/// Judges all files and adds up what they come to.
fn figures(
    ready: &Ready,
    files: &[Found],
    mut figures: Figures,
    fail_on: Severity,
    most_steps: u64,
) -> Figures {
    let rules = ready.session.program().rules();
    let progress = Progress::over(files.len());
    let mut steps = Steps { done: 0, most: most_steps };
    for batch in files::batches(files, |file| &file.path) {
        let done = steps.side_by_side(batch, |file| {
            let taken = taken(ready, file, fail_on);
            (taken.iter().fold(0, |sum, one| sum.saturating_add(one.steps)), taken)
        });
        for (file, taken) in batch.iter().zip(done) {
            let taken = taken.unwrap_or_else(|| vec![Taken::of(ready.beyond(file), fail_on)]);
            taken.iter().for_each(|one| figures.add(one, |number| &rules[number].name));
        }
        progress.advance(batch.len());
    }
    progress.end();
    figures
}

/// What of the documents of a file counts.
fn taken(ready: &Ready, file: &Found, fail_on: Severity) -> Vec<Taken> {
    let mut taken = Vec::new();
    match ready.contents(file) {
        Contents::PassedOver(_) => {}
        Contents::Unread(judged) => taken.push(Taken::of(*judged, fail_on)),
        Contents::Text(name, text) => {
            ready.session.judge_each(&name, &text, &mut |judged| taken.push(Taken::of(judged, fail_on)));
        }
    }
    taken
}
