//! `sheet`: a procedure as a blank record, or as a page to print; the blank record of a unit without a procedure.

use std::fs::{Metadata, Permissions};
use std::path::{Path, PathBuf};

use clap::Args;

use super::known::KnownFiles;
use super::names::named;
use super::output::{Sink, says_what_is_read};
use super::{Exit, Failure, RuleOptions, files};
use crate::diagnostic::{Diagnostic, Level, nearest};
use crate::language::ast::Severity;
use crate::report::text;
use crate::session::Session;
use crate::sheet::{self, Refusal, read_procedure};
use crate::source::Sources;

/// Writes a blank job record for a procedure: what is settled written out, and behind each blank what may
/// stand there by the procedure and by the standards in force. Filled in, it passes. Without a procedure, `--unit` writes
/// what the standards ask of any job on such a unit.
#[derive(Debug, Args)]
pub(super) struct Sheet {
    /// The file of the procedure.
    #[arg(value_name = "PROCEDURE", required_unless_present = "unit")]
    procedure: Option<PathBuf>,
    /// A kind of unit, such as `twin clutch`, in the place of a procedure.
    #[arg(long, value_name = "KIND", conflicts_with_all = ["procedure", "print"])]
    unit: Option<String>,
    /// The family of units, with `--unit`.
    #[arg(long, value_name = "NAME", requires = "unit")]
    family: Option<String>,
    /// Write a job sheet to print instead, as one HTML file that needs nothing else.
    #[arg(long)]
    print: bool,
    /// Write to this file instead of standard output. The file is replaced in one step.
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    rules: RuleOptions,
}

impl Sheet {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let here = PathBuf::from(".");
        let mut ready =
            self.rules.open(Some(self.procedure.as_ref().unwrap_or(&here)), &KnownFiles::default())?;
        let run = ready.run(Severity::Hold);
        // The tool register tells which readings are safe; the earlier jobs are of no use here. What is wrong
        // with them is said when a job is inspected.
        ready.documents.jobs.clear();
        ready.load_context(&[], 0);
        if run.diagnostics.iter().any(|found| found.level == Level::Error) {
            return refuse(&run.diagnostics, &run.sources, "the rules or settings have errors");
        }
        let Some(path) = &self.procedure else {
            let kind = self.kind(&ready.session)?;
            self.write(&sheet::blank_of_unit(&ready.session, kind, self.family.as_deref()))?;
            return Ok(Exit::Clean);
        };
        let name = named(path);
        ready.bounds.allow_ways([&**path])?;
        let written = files::read_by(path, ready.bounds.links_of_named());
        let written = written.map_err(|unread| Failure(unread.fault.message))?;
        let session = &ready.session;
        let procedure = match read_procedure(session, &name, &written) {
            Ok(procedure) => procedure,
            Err(Refusal { diagnostics, sources }) => {
                return refuse(
                    &diagnostics,
                    &sources,
                    &format!("`{name}` is no procedure that a sheet can be written for"),
                );
            }
        };
        let holds: usize = session
            .judge(&name, &written)
            .iter()
            .map(|judged| {
                // A value that contradicts a standard is a hold of every job that keeps to it.
                let against = judged.diagnostics.iter().filter(|found| found.level == Level::Error).count();
                against + judged.findings.iter().filter(|finding| finding.severity == Severity::Hold).count()
            })
            .sum();
        self.write(&match self.print {
            true => sheet::print(session, &procedure, holds),
            false => sheet::blank(session, &procedure),
        })?;
        if holds == 0 {
            return Ok(Exit::Clean);
        }
        let holds = text::count(holds as u64, "hold");
        super::output::complain(&format!(
            "`{name}` has {holds}: inspect it before anyone works by this sheet"
        ));
        Ok(Exit::Findings)
    }

    /// The kind of unit that was named, as the form has it.
    fn kind<'s>(&'s self, session: &Session) -> Result<&'s str, Failure> {
        let kind = self.unit.as_deref().unwrap_or_default();
        let known = sheet::kinds(session);
        if known.contains(&kind) {
            return Ok(kind);
        }
        Err(Failure(match nearest(kind, known.iter().copied()) {
            Some(near) => format!("there is no kind of unit `{kind}`; did you mean `{near}`?"),
            None => format!("there is no kind of unit `{kind}`; write one of `{}`", known.join("`, `")),
        }))
    }

    fn write(&self, sheet: &str) -> Result<(), Failure> {
        let mut sink = match self.output.as_deref().filter(|path| path.as_os_str() != "-") {
            Some(path) => Sink::file(path, permissions(path, sheet)?.as_ref())?,
            None => Sink::exact(),
        };
        sink.write(sheet.as_bytes())?;
        sink.finish()
    }
}

/// The permissions of what a sheet takes the place of. That is an earlier sheet and nothing else: somebody may have filled a
/// record in, and any other file is somebody's.
fn permissions(path: &Path, sheet: &str) -> Result<Option<Permissions>, Failure> {
    if let Some(why) = says_what_is_read(path) {
        return Err(Failure(format!("`{}` {why}; write the sheet to another file", path.display())));
    }
    let Some(there) = std::fs::symlink_metadata(path).ok().filter(Metadata::is_file) else { return Ok(None) };
    // A page that was printed before begins as this one does; a record that begins like a blank one may be filled in.
    let page = sheet.split_once("<title>").map(|(head, _)| head);
    let is_sheet =
        |text: String| text.is_empty() || text == sheet || page.is_some_and(|head| text.starts_with(head));
    if !files::read_unlinked(path).is_ok_and(is_sheet) {
        let path = path.display();
        return Err(Failure(format!(
            "`{path}` is there already, and is left as it is; write the sheet to another file, or remove that one"
        )));
    }
    Ok(Some(there.permissions()))
}

/// Says on the error stream why there is no sheet.
fn refuse(diagnostics: &[Diagnostic], sources: &Sources, why: &str) -> Result<Exit, Failure> {
    Err(super::output::refusal(diagnostics, sources, format!("{why}; no sheet is written")))
}
