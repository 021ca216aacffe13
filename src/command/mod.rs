//! The verbs of the command line: one file each, and one row in `Verb`. Files, clock, environment
//! and terminal are touched here and nowhere else.

mod amend;
mod ask;
mod audit;
mod bench;
mod bounds;
mod changed;
mod compare;
mod context;
mod difference;
mod editor;
mod equal;
mod files;
mod gather;
mod git;
mod handbook;
mod inspect;
mod keys;
mod known;
mod likeness;
mod logbook;
mod logs;
mod names;
mod output;
mod patterns;
mod progress;
mod prove;
mod rendered;
mod replace;
mod schema;
mod scratch;
mod sheet;
mod shell;
mod sides;
mod standards;
mod stream;
mod tidy;
mod unsaved;
mod walk;
mod watch;
mod why;
mod words;

use std::ffi::OsString;
use std::process::ExitCode;
use std::sync::Arc;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use crate::decide::{MOST_STEPS, MOST_STEPS_IN_ALL};
use crate::language::Clauses;
use crate::language::ast::Severity;
use crate::session::internal;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Nothing at or above the failing severity.
    Clean = 0,
    /// Findings.
    Findings = 1,
    /// The work could not be done.
    Failed = 2,
    /// Of a comparison: the meaning changed, and the edition did not.
    NotRaised = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}

/// A message for the user about something that stops a verb.
#[derive(Debug)]
pub struct Failure(String);

impl<T: std::fmt::Display> From<T> for Failure {
    fn from(message: T) -> Self {
        Failure(message.to_string())
    }
}

const AFTER_HELP: &str = "\
Exit codes: 0 nothing at or above the failing severity; 1 findings; 2 the work could not be done \
(faulty rules, an unreadable document, nothing to inspect).

A record that passes is no proof of safe work. The maker's instruction, local codes and licensed \
practice come before any rule checked here.";

/// Checks service records of oil-filled vehicle units against written standards.
#[derive(Debug, Parser)]
#[command(name = "witnessmark", version, after_help = AFTER_HELP, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Judge documents: is this job done as the standards demand?
    Inspect(inspect::Inspect),
    /// Say what many jobs come to: how many pass, what changed, which rules, tools and readings stand out.
    Audit(audit::Audit),
    /// Print the jobs of each vehicle, tool, technician and lift, as rules over several jobs see them.
    Logbook(logbook::Logbook),
    /// Check the rules themselves and run their trials.
    Prove(prove::Prove),
    /// Correct the spelling of records: units, numbers, days, names. Never a value.
    Amend(amend::Amend),
    /// Lay rule files out in the one way in which they are written.
    Tidy(tidy::Tidy),
    /// Explain a rule, how it judged a record, or a code of a message.
    Why(why::Why),
    /// Write a blank record for a procedure, or a job sheet to print.
    Sheet(sheet::Sheet),
    /// Write whole standards as a page for people, HTML or Markdown.
    Handbook(handbook::Handbook),
    /// Serve a folder to a browser, to fill in records at the vehicle.
    Bench(bench::Bench),
    /// Serve an editor while records and rules are typed; editors start it themselves.
    Editor(editor::Editor),
    /// Say what changed in meaning between two documents or two rule files.
    Compare(compare::Compare),
    /// Say whose jobs the records of a stream are, to part and sort it before it is judged.
    Keys(keys::Keys),
    /// Print the JSON Schema of a form, for editors.
    Schema(schema::Schema),
    /// List names of the trade, units, kinds, builtins, codes, shipped standards or the parameters of a run.
    Words(words::Words),
    /// Print shell completions.
    Completions(shell::Completions),
    /// Write the manual pages into a folder.
    Manual(shell::Manual),
}

/// Whether what reads as an option is the name of a file too: a stranger's file must not say how it is judged.
fn is_file_too(word: &OsString) -> bool {
    word.as_encoded_bytes().starts_with(b"-") && word != "-" && std::fs::symlink_metadata(word).is_ok()
}

/// Runs the program with these arguments, the first of which is its name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    internal::keep_for_the_report();
    let words: Vec<OsString> = arguments.into_iter().collect();
    if let Some(word) = words.iter().skip(1).take_while(|word| *word != "--").find(|word| is_file_too(word)) {
        output::remove_old(&words);
        let why = "a pattern such as `*.yaml` may have named it; write `./*.yaml`, put `--` before it, or rename the file";
        output::complain(&format!(
            "`{}` is an option, and a file has this name: {why}",
            word.to_string_lossy()
        ));
        return Exit::Failed;
    }
    let arguments = match Arguments::try_parse_from(&words) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are results; a mistake in the arguments is not.
            let exit = if error.use_stderr() { Exit::Failed } else { Exit::Clean };
            if error.use_stderr() {
                output::remove_old(&words);
                output::say_harmlessly(&error.render().to_string());
                return exit;
            }
            return match error.print() {
                // A reader who goes away has seen enough, as with every verb.
                Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Exit::Failed,
                _ => exit,
            };
        }
    };
    // What is broken outside of a document ends the run, and is said as well.
    let done = internal::sound(|| run_verb(arguments.verb));
    done.unwrap_or_else(|fault| Err(Failure(fault.message))).unwrap_or_else(|Failure(message)| {
        output::complain(&message);
        Exit::Failed
    })
}

fn run_verb(verb: Verb) -> Result<Exit, Failure> {
    match verb {
        Verb::Inspect(verb) => verb.run(),
        Verb::Audit(verb) => verb.run(),
        Verb::Prove(verb) => verb.run(),
        Verb::Amend(verb) => verb.run(),
        Verb::Tidy(verb) => verb.run(),
        Verb::Why(verb) => verb.run(),
        Verb::Sheet(verb) => verb.run(),
        Verb::Handbook(verb) => verb.run(),
        Verb::Bench(verb) => verb.run(),
        Verb::Editor(verb) => verb.run(),
        Verb::Compare(verb) => verb.run(),
        Verb::Keys(verb) => verb.run(),
        Verb::Logbook(verb) => verb.run(),
        Verb::Schema(verb) => verb.run(),
        Verb::Words(verb) => verb.run(),
        Verb::Completions(verb) => verb.run(&mut Arguments::command()),
        Verb::Manual(verb) => verb.run(Arguments::command()),
    }
}

/// How a report looks and where it goes.
#[derive(Debug, Args)]
struct OutputOptions {
    /// Form of the report: terminal, plain, json, sarif or junit. Without it, terminal on a screen that is
    /// wide enough and plain everywhere else.
    #[arg(long, value_name = "FORM", value_parser = clap::builder::PossibleValuesParser::new(
        crate::report::FORMATS.iter().map(|row| clap::builder::PossibleValue::new(row.name).help(row.doc))
    ))]
    format: Option<String>,
    /// Write the report to this file instead of standard output. The file is replaced in one step.
    #[arg(long, value_name = "FILE")]
    output: Option<std::path::PathBuf>,
    #[command(flatten)]
    screen: Screen,
}

/// What the reader's screen can show.
#[derive(Clone, Debug, Args)]
struct Screen {
    /// Colour: auto looks at the terminal and at NO_COLOR.
    #[arg(long, value_name = "WHEN", default_value = "auto")]
    colour: Colour,
    /// Columns to lay the report out for, at most 10,000; without it, those of the terminal.
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(1..=output::MOST_COLUMNS))]
    width: Option<u16>,
    /// Draw with ASCII characters only.
    #[arg(long)]
    ascii: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Colour {
    Auto,
    Always,
    Never,
}

/// How documents are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Args)]
struct ReadingOptions {
    /// Read every document with the YAML reader. Without it, a quicker reader takes those that are laid out
    /// in the usual way, with the same result.
    #[arg(long)]
    yaml_reader_only: bool,
}

/// Which rules a run has.
#[derive(Clone, Debug, Default, Args)]
struct RuleOptions {
    /// A standard: the name of a shipped one, a rule file, or a folder of them. Can be given several
    /// times. Without it, those of the workshop's settings; without settings, all shipped ones.
    #[arg(long = "standard", value_name = "NAME|PATH")]
    standards: Vec<String>,
    #[command(flatten)]
    run: RunOptions,
    /// A rule file in the place of the standard of its name.
    #[arg(skip)]
    swap: Option<standards::Swap>,
    /// What was read of rule files before, where they are read again and again.
    #[arg(skip)]
    clauses: Option<Arc<Clauses>>,
}

/// What a run of rules takes besides them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Args)]
struct RunOptions {
    /// A value for a parameter of a standard, which counts before that of the settings. Can be given several times,
    /// once for each parameter.
    #[arg(long = "parameter", value_name = "NAME=VALUE")]
    parameters: Vec<String>,
    #[command(flatten)]
    workshop: WorkshopOptions,
    /// The day of the run, as YYYY-MM-DD; today without it.
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
    #[command(flatten)]
    reading: ReadingOptions,
    /// Steps that the rules may do on one document; a document that takes more is not judged to its end and fails the run.
    /// A record of one job takes some thousands. The count is the same on every machine.
    #[arg(long, value_name = "N", default_value_t)]
    most_steps: Most<MOST_STEPS>,
    /// Steps that the rules may do in the whole run, 10,000 million without it; documents behind are not judged and fail the
    /// run. A stream has no such limit unless one is given.
    #[arg(long, value_name = "N")]
    most_steps_in_all: Option<Most<MOST_STEPS_IN_ALL>>,
    /// MiB of procedures and tool registers that are kept for the jobs; those behind are left out and fail the run.
    #[arg(long, value_name = "MIB", default_value_t)]
    most_kept: Most<MOST_KEPT>,
}

/// How many MiB of procedures and tool registers are kept where nobody says otherwise: some ten thousand of them.
const MOST_KEPT: u64 = 64;

/// How much a run may do or keep, and how much where nobody says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Most<const USUALLY: u64>(u64);

impl<const USUALLY: u64> Default for Most<USUALLY> {
    fn default() -> Self {
        Most(USUALLY)
    }
}

impl<const USUALLY: u64> std::fmt::Display for Most<USUALLY> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

impl<const USUALLY: u64> std::str::FromStr for Most<USUALLY> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let most = text.parse().ok().filter(|most| *most > 0);
        most.map(Most).ok_or_else(|| "write a whole number, at least 1".to_owned())
    }
}

/// Whose settings count.
#[derive(Clone, Debug, Default, PartialEq, Eq, Args)]
struct WorkshopOptions {
    /// The workshop's settings. Without it, the nearest `workshop.yaml` in the folder of the first
    /// path or above it. Settings named here alone decide: nothing among the files makes the verdict milder.
    #[arg(long, value_name = "FILE")]
    settings: Option<std::path::PathBuf>,
    /// Ignore the settings of any workshop.
    #[arg(long, conflicts_with = "settings")]
    without_settings: bool,
}

/// The least severe finding that fails a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum FailOn {
    Hold,
    Advice,
    Note,
}

impl From<FailOn> for Severity {
    fn from(severity: FailOn) -> Severity {
        match severity {
            FailOn::Hold => Severity::Hold,
            FailOn::Advice => Severity::Advice,
            FailOn::Note => Severity::Note,
        }
    }
}
