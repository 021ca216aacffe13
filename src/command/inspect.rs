//! `inspect`: documents in, a verdict out.

use std::io::{self, IsTerminal};
use std::path::PathBuf;

use clap::Args;
use rayon::prelude::*;

use super::around::{ENDINGS, is_document};
use super::files::{self, Found, Unread, Walked};
use super::known::{KnownFiles, Noted};
use super::output::Sink;
use super::standards::Ready;
use super::{Exit, FailOn, Failure, OutputOptions, RuleOptions};
use crate::code::FILE_UNREADABLE;
use crate::diagnostic::Fault;
use crate::finding::{Judged, Summary};
use crate::language::ast::Severity;
use crate::report::{Format, Run, Stream, Style};

/// Judges documents: files, folders with all that is below them, or `-` for standard input.
#[derive(Debug, Args)]
pub(super) struct Inspect {
    /// Files, folders, or `-` for standard input.
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    rules: RuleOptions,
    #[command(flatten)]
    output: OutputOptions,
    #[command(flatten)]
    known: KnownFiles,
    /// The least severe finding that fails the run (exit code 1). Without it, that of the settings,
    /// or `hold`.
    #[arg(long, value_name = "SEVERITY")]
    fail_on: Option<FailOn>,
    /// Threads to judge with; without it, one for each core.
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
    /// One line for each finding, without the excerpts.
    #[arg(long)]
    brief: bool,
    /// Each finding by itself, also where several wait for one value.
    #[arg(long)]
    in_full: bool,
}

/// How many documents are judged, side by side, before their reports are written out in order. It
/// bounds the memory of a run.
const BATCH: usize = 256;

impl Inspect {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let from_stdin = self.paths.iter().any(|path| path.as_os_str() == "-");
        if from_stdin && self.paths.len() > 1 {
            return Err(Failure("`-` stands alone: standard input is one document".to_owned()));
        }
        if from_stdin && self.known.are_named() {
            return Err(Failure(
                "standard input has no path by which its findings could be known; name a file".to_owned(),
            ));
        }
        let near = self.paths.first().filter(|_| !from_stdin);
        let mut ready = self.rules.open_to_judge(near.map(PathBuf::as_path), &self.known)?;
        let set_aside: Vec<_> = ready.session.set_aside().collect();
        ready.diagnostics.extend(set_aside);
        let fail_on = self.fail_on.map(Severity::from).or(ready.fail_on).unwrap_or(Severity::Hold);
        let style = Style { details: !self.brief, in_full: self.in_full, ..self.output.style() };
        let Walked { files, passed_over } =
            if from_stdin { Walked::default() } else { files::look_for(&self.paths, &ENDINGS) };
        self.rules.one_workshop(files.iter().map(|file| file.path.as_path()), ready.settings.as_deref())?;
        let files: Vec<Found> = files.into_iter().filter(|file| !ready.is_no_document(file)).collect();
        let files = if ready.unsettled { Vec::new() } else { files };
        let from_stdin = from_stdin && !ready.unsettled;
        let threads = rayon::ThreadPoolBuilder::new()
            .num_threads(self.threads.unwrap_or(0))
            .build()
            .map_err(|error| Failure(format!("cannot start {:?} threads: {error}", self.threads)))?;
        threads.install(|| ready.surround(&files, self.paths.len()));
        let work = Work { ready: &ready, format: self.output.format(), run: ready.run(fail_on), style };
        let mut sink = self.output.sink()?;
        let (summary, noted) = threads.install(|| work.all(&files, passed_over, from_stdin, &mut sink))?;
        sink.finish()?;
        ready.known.note(&noted, &ready.session)?;
        Ok(exit(&work.run, &summary, fail_on))
    }
}

/// What the run as a whole comes to.
fn exit(run: &Run, summary: &Summary, fail_on: Severity) -> Exit {
    let rules_failed = run.diagnostics.iter().any(|found| found.level == crate::diagnostic::Level::Error);
    let applied = summary.applied().next().is_some();
    if rules_failed || summary.unreadable > 0 || summary.documents == 0 || !applied {
        return Exit::Failed;
    }
    if summary.failing(fail_on) > 0 || summary.document_errors > 0 { Exit::Findings } else { Exit::Clean }
}

impl Ready {
    /// Whether a file found in a folder is the file of settings or one of known findings, which were
    /// read as such already.
    pub(super) fn is_no_document(&self, file: &Found) -> bool {
        let is_settings = || self.settings.as_ref().is_some_and(|settings| files::same(settings, &file.path));
        !file.named && (is_settings() || self.known.hold(&file.path))
    }
}

struct Work<'r> {
    ready: &'r Ready,
    format: &'static dyn Format,
    run: Run,
    style: Style,
}

/// One file, judged and rendered.
#[derive(Default)]
struct Done {
    parts: Vec<Vec<u8>>,
    summary: Summary,
    noted: Noted,
}

impl Work<'_> {
    /// Judges everything, batch by batch, and writes the report in the order of the files.
    fn all(
        &self,
        files: &[Found],
        passed_over: Vec<String>,
        from_stdin: bool,
        sink: &mut Sink,
    ) -> Result<(Summary, Noted), Failure> {
        let mut summary = Summary { passed_over, ..self.blank() };
        let mut noted = Noted::default();
        let mut out = Vec::new();
        let mut stream = Stream::begin(self.format, &self.run, self.style, &mut out);
        sink.write(&out)?;
        if from_stdin {
            let judged = match files::read_standard_input() {
                Ok(text) => self.ready.session.judge("standard input", &text),
                Err(unread) => vec![self.unread("standard input", unread)],
            };
            self.write(self.render(&judged), &mut summary, &mut stream, sink)?;
        }
        let progress = Progress::over(files.len());
        for batch in files.chunks(BATCH) {
            let done: Vec<Done> = batch.par_iter().map(|file| self.file(file)).collect();
            for mut one in done {
                noted.merge(std::mem::take(&mut one.noted));
                self.write(one, &mut summary, &mut stream, sink)?;
            }
            progress.advance(batch.len());
        }
        progress.end();
        self.leave_out_other_forms(&mut summary);
        let mut out = Vec::new();
        stream.end(&summary, &mut out);
        sink.write(&out)?;
        Ok((summary, noted))
    }

    /// A summary in which every rule of the run stands, so that a rule without any document to judge
    /// is said never to have applied.
    fn blank(&self) -> Summary {
        let errors = self
            .run
            .diagnostics
            .iter()
            .filter(|found| found.level == crate::diagnostic::Level::Error)
            .count();
        let program = self.ready.session.program();
        let in_force = program.standards().iter().filter(|standard| standard.in_force);
        let rules = in_force
            .flat_map(|standard| program.rules_of(standard))
            .map(|(_, rule)| (rule.name.clone(), crate::finding::Tally::default()));
        Summary { rule_errors: errors as u64, rules: rules.collect(), ..Summary::default() }
    }

    /// Rules for a form that no document of the run follows could not apply: a run over jobs says
    /// nothing of the rules for procedures.
    fn leave_out_other_forms(&self, summary: &mut Summary) {
        if summary.forms.is_empty() {
            return;
        }
        let program = self.ready.session.program();
        let others = program.standards().iter().filter(|standard| !summary.forms.contains(&standard.form));
        for (_, rule) in others.flat_map(|standard| program.rules_of(standard)) {
            summary.rules.remove(&rule.name);
        }
    }

    fn write(
        &self,
        done: Done,
        summary: &mut Summary,
        stream: &mut Stream<'_>,
        sink: &mut Sink,
    ) -> Result<(), Failure> {
        let mut out = Vec::new();
        for part in &done.parts {
            stream.part(part, &mut out);
        }
        summary.merge(done.summary);
        sink.write(&out)
    }

    fn file(&self, file: &Found) -> Done {
        let name = file.path.display().to_string();
        let session = &self.ready.session;
        if let Some(fault) = &file.fault {
            let fault =
                Fault::new(FILE_UNREADABLE, format!("a part of `{name}` cannot be looked at: {fault}"));
            return self.render(&[self.unread(&name, fault.into())]);
        }
        match files::read(&file.path) {
            Ok(text) if !file.named && !is_document(&text) && !session.forms().looks_like_one(&text) => {
                let summary = Summary { passed_over: vec![name], ..Summary::default() };
                Done { summary, ..Done::default() }
            }
            Ok(text) => {
                let mut judged = session.judge(&name, &text);
                let noted = self.ready.known.weigh(&file.path, &mut judged, session);
                Done { noted, ..self.render(&judged) }
            }
            Err(unread) => self.render(&[self.unread(&name, unread)]),
        }
    }

    fn unread(&self, name: &str, Unread { fault, text, at }: Unread) -> Judged {
        self.ready.session.unreadable(name, &text, at, fault)
    }

    fn render(&self, judged: &[Judged]) -> Done {
        let mut done = Done::default();
        for document in judged {
            let mut part = Vec::new();
            self.format.document(&self.run, document, &self.style, &mut part);
            done.parts.push(part);
            done.summary.add(document, |number| &self.ready.session.program().rules()[number].name);
        }
        done
    }
}

/// A bar on the error stream, shown when a run takes longer than a second and someone is watching.
struct Progress(Option<indicatif::ProgressBar>);

impl Progress {
    fn over(files: usize) -> Self {
        if !io::stderr().is_terminal() || files <= BATCH {
            return Progress(None);
        }
        let bar = indicatif::ProgressBar::with_draw_target(
            Some(files as u64),
            indicatif::ProgressDrawTarget::hidden(),
        );
        Progress(Some(bar))
    }

    fn advance(&self, files: usize) {
        let Some(bar) = &self.0 else { return };
        bar.inc(files as u64);
        if bar.is_hidden() && bar.elapsed().as_secs() >= 1 {
            bar.set_draw_target(indicatif::ProgressDrawTarget::stderr());
        }
    }

    fn end(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
