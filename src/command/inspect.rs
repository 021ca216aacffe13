//! `inspect`: documents in, a verdict out.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use clap::{Args, ValueEnum};
use rayon::prelude::*;

use super::changed::{Selection, select};
use super::files;
use super::gather::{Contents, Gathered};
use super::git::Revision;
use super::known::{KnownFiles, Noted};
use super::output::{Sink, complain};
use super::patterns::expanded;
use super::progress::Progress;
use super::rendered::Rendered;
use super::scratch::folder_of;
use super::standards::Ready;
use super::stream::WINDOW;
use super::walk::{Found, Reach};
use super::watch::State;
use super::{Exit, FailOn, Failure, OutputOptions, RuleOptions};
use crate::code::{EARLIER_JOB_CHANGED, HIDDEN_RECORD, LOGBOOKS_INCOMPLETE};
use crate::decide::MOST_STEPS_IN_ALL;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::NoLogs;
use crate::finding::{Hidden, Judged, Summary};
use crate::language::ast::Severity;
use crate::report::{Audience, Format, Linked, Run, SourceInfo, Stream, Style};
use crate::source::{STANDARD_INPUT, SourceId};
use crate::trade::logbook::About;

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
    /// Judge only what has changed since this revision of Git, and what a change can concern: after a change of settings, rules or
    /// registers every record. Procedures, registers and earlier jobs are read all the same. Nothing is fetched.
    #[arg(long, value_name = "REVISION", allow_hyphen_values = true)]
    changed_since: Option<String>,
    /// Threads to judge with, at most 256; without it, or with 0, one for each core.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(..=256))]
    threads: Option<u16>,
    /// What becomes of records in folders that ignore files, leading dots or links hide: fail the run, naming
    /// them; judge those that are no links like all others; or leave them out, which is said.
    /// Without it, they fail the run or, with --settings, are judged.
    #[arg(long, value_name = "WHAT")]
    hidden: Option<HiddenRecords>,
    /// One line for each finding, without the excerpts.
    #[arg(long)]
    brief: bool,
    /// Only what fails the run, with the verdict; nothing where all is well.
    #[arg(long)]
    quiet: bool,
    /// Judge again whenever a file changes, until the program is ended.
    #[arg(long, conflicts_with_all = ["output", "note_known"])]
    watch: bool,
    /// A table besides: in how many documents each rule holds, advises or is undecided, the most frequent first; and
    /// which rules took the most of the work.
    #[arg(long)]
    statistics: bool,
    /// In a stream (`-` with `--format lines`): how many of the jobs before a record count as earlier ones on its vehicle;
    /// 1,000 without it, and none with 0.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(..=100_000))]
    window: Option<u32>,
    /// Each finding by itself, also where several wait for one value.
    #[arg(long, conflicts_with = "brief")]
    in_full: bool,
}

/// What becomes of records that the run would not see.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum HiddenRecords {
    Fail,
    Judge,
    Leave,
}

impl HiddenRecords {
    pub(super) fn reach(self) -> Reach {
        if self == HiddenRecords::Judge { Reach::Everything } else { Reach::Visible }
    }

    /// Those that fail the run; where they do not, they are passed over.
    pub(super) fn settle(self, hidden: Vec<Hidden>, passed_over: &mut Vec<String>) -> Vec<Hidden> {
        if self != HiddenRecords::Leave {
            return hidden;
        }
        let told = |one: Hidden| match one.why.strip_prefix("by ") {
            Some(_) => format!("{} (hidden {})", one.path, one.why),
            None => format!("{} ({})", one.path, one.why),
        };
        passed_over.extend(hidden.into_iter().map(told));
        Vec::new()
    }
}

impl Inspect {
    pub(super) fn run(mut self) -> Result<Exit, Failure> {
        self.paths = expanded(&self.paths)?;
        if self.watch { self.watched() } else { self.once() }
    }

    /// Judges again whenever something has changed.
    fn watched(&self) -> Result<Exit, Failure> {
        if self.paths.iter().any(|path| path.as_os_str() == "-") {
            return Err(Failure("standard input does not change; name files or folders to watch".to_owned()));
        }
        let settings = self.rules.settings_path(self.paths.first().map(PathBuf::as_path));
        // What settings name is in their folder, unless the user trusts them with more.
        let folder = settings.as_deref().map(|path| folder_of(path).to_owned());
        let standards = self.rules.standards.iter().map(PathBuf::from);
        let watched: Vec<PathBuf> = self.paths.iter().cloned().chain(folder).chain(standards).collect();
        let mut state = State::of(&watched);
        loop {
            if let Err(Failure(why)) = self.once() {
                complain(&why);
            }
            complain("watching for changes; end it with Ctrl+C");
            state = state.when_changed(&watched);
        }
    }

    fn once(&self) -> Result<Exit, Failure> {
        let from_stdin = self.paths.iter().any(|path| path.as_os_str() == "-");
        if from_stdin && self.paths.len() > 1 {
            return Err(Failure("`-` is used alone: standard input is one document".to_owned()));
        }
        if from_stdin && self.known.are_named() {
            return Err(Failure(
                "standard input has no path by which its findings could be known; name a file".to_owned(),
            ));
        }
        if from_stdin && self.changed_since.is_some() {
            return Err(Failure("standard input has no path in a repository; name a file".to_owned()));
        }
        let is_stream = from_stdin && self.output.form().audience == Audience::Lines;
        let place = self.output.make_way(self.inputs())?;
        self.known.may_be_written()?;
        if self.window.is_some() && !is_stream {
            return Err(Failure("`--window` is for a stream: `-` with `--format lines`".to_owned()));
        }
        let mut gathered = Gathered::find(&self.paths, &self.rules, &self.known, self.hidden, self.threads)?;
        if is_stream {
            // What a record of a stream is called leads to no folder.
            gathered.ready.session = gathered.ready.session.with_logs(Arc::new(NoLogs));
        }
        let fail_on = self.fail_on.map(Severity::from).or(gathered.ready.fail_on).unwrap_or(Severity::Hold);
        let input = match from_stdin && !gathered.ready.unsettled {
            false => Input::Files,
            true if is_stream => Input::Stream { window: self.window.map_or(WINDOW, |most| most as usize) },
            true => Input::Text,
        };
        // Whoever names single files asks about these, and not about all jobs of a vehicle or a tool.
        let asks_logbooks = gathered.ready.session.asks_logbooks();
        gathered.ready.makes_logbooks = asks_logbooks && self.paths.iter().any(|path| path.is_dir());
        if asks_logbooks && is_stream {
            let message = "a stream has no logbooks, so rules over several jobs judge nothing in it";
            let note = Diagnostic::without_place(LOGBOOKS_INCOMPLETE, message);
            gathered.ready.diagnostics.push(Diagnostic { level: Level::Note, ..note });
        }
        // Before the documents around the jobs are among the texts of the run.
        let selected = self.selected(&gathered.files, &gathered.ready)?;
        gathered.load_context(self.paths.len());
        let hidden = gathered.take_hidden();
        let Gathered { mut ready, files, passed_over, threads, .. } = gathered;
        let (files, since, concerned) = match selected {
            Some(Selection { kept, since, diagnostics, concerned }) => {
                ready.diagnostics.extend(diagnostics);
                let kept = files.into_iter().zip(kept).filter_map(|(file, kept)| kept.then_some(file));
                (kept.collect(), Some(since), concerned)
            }
            None => (files, None, None),
        };
        let work = Work {
            ready: &ready,
            format: self.output.format(),
            run: ready.run(fail_on),
            style: self.style(),
            most_steps_in_all: self.rules.run.most_steps_in_all.map(|most| most.0),
            concerned,
        };
        let mut sink = place.sink()?;
        let begun = Summary { passed_over, hidden, since, ..work.blank() };
        let (summary, noted) = threads.install(|| work.all(&files, begun, input, &mut sink))?;
        sink.finish()?;
        match ready.known.noted_path().filter(|_| have_failed(&work.run)) {
            // What a run without its rules finds is no state of the workshop.
            Some(path) => {
                complain(&format!("`{}` is left as it is, because this run has no verdict", path.display()))
            }
            None => ready.known.note(&noted, &ready.session)?,
        }
        Ok(exit(&work.run, &summary, fail_on))
    }
}

impl Inspect {
    /// How a report for people looks.
    fn style(&self) -> Style {
        let Inspect { brief, in_full, quiet, statistics, .. } = *self;
        Style { details: !brief, in_full, quiet, statistics, ..self.output.style() }
    }

    /// What of the files is to be judged, where only what has changed is.
    fn selected(&self, files: &[Found], ready: &Ready) -> Result<Option<Selection>, Failure> {
        let (Some(name), Some(near)) = (&self.changed_since, self.paths.first()) else { return Ok(None) };
        let revision = Revision::read(name, near)?;
        if let Some(other) = self.paths.iter().find(|path| !revision.holds(path)) {
            let (near, other) = (near.display(), other.display());
            return Err(Failure(format!(
                "`{other}` is not in the repository of `{near}`; inspect each repository by itself"
            )));
        }
        select(&revision, files, &self.paths, ready).map(Some)
    }

    /// What the command line names to be read.
    fn inputs(&self) -> impl Iterator<Item = &Path> {
        let standards = self.rules.standards.iter().map(Path::new);
        let settings = self.rules.run.workshop.settings.as_deref();
        self.paths.iter().map(PathBuf::as_path).chain(standards).chain(settings).chain(self.known.paths())
    }
}

/// What the run as a whole comes to.
/// Whether what stands around the documents has errors, so that there is no verdict.
pub(super) fn have_failed(run: &Run) -> bool {
    run.diagnostics.iter().any(|found| found.level == crate::diagnostic::Level::Error)
}

fn exit(run: &Run, summary: &Summary, fail_on: Severity) -> Exit {
    let applied = summary.applied().next().is_some();
    if summary.nothing_changed() && !have_failed(run) {
        return Exit::Clean;
    }
    if have_failed(run) || summary.unreadable > 0 || summary.documents == 0 || !applied {
        return Exit::Failed;
    }
    if summary.failing(fail_on) > 0 || summary.document_errors > 0 { Exit::Findings } else { Exit::Clean }
}

impl Ready {
    /// Judges the documents in a text, and accepts what is known of them.
    pub(super) fn judge(&self, path: &Path, name: &str, text: &str) -> (Vec<Judged>, Noted) {
        let mut judged = self.session.judge(name, text);
        let noted = match self.known.are_named() {
            true => self.known.weigh(path, &self.copies, &mut judged, &self.session),
            false => Noted::default(),
        };
        (judged, noted)
    }

    /// Whether a file found in a folder is the file of settings or one of known findings, which were
    /// read as such already.
    pub(super) fn is_no_document(&self, file: &Found) -> bool {
        !file.named && self.was_read_as_such(&file.path)
    }

    /// The documents around the jobs, where the rules ask for them.
    pub(super) fn linked(&self) -> Option<Linked> {
        let [registers, procedures] = self.session.neighbours();
        let info = |id: &SourceId| SourceInfo {
            name: self.session.sources().name(*id).to_owned(),
            digest: self.session.digest(*id),
        };
        let linked = Linked {
            registers: registers.iter().map(info).collect(),
            procedures: procedures.iter().map(info).collect(),
        };
        (self.session.program().asks_around() || linked != Linked::default()).then_some(linked)
    }

    pub(super) fn was_read_as_such(&self, path: &Path) -> bool {
        let is_settings = || self.settings.as_ref().is_some_and(|settings| files::same(settings, path));
        is_settings() || self.known.hold(path)
    }
}

/// How many logbooks are judged before what was found is written.
const LOGBOOKS_AT_ONCE: usize = 64;

/// What is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Input {
    Files,
    /// Standard input as one text.
    Text,
    /// Standard input, record by record.
    Stream {
        /// How many of the jobs before a record count as earlier ones.
        window: usize,
    },
}

pub(super) struct Work<'r> {
    pub(super) ready: &'r Ready,
    format: &'static dyn Format,
    pub(super) run: Run,
    style: Style,
    pub(super) most_steps_in_all: Option<u64>,
    /// Whose logbooks are judged, where not all of them are.
    concerned: Option<BTreeSet<(About, String)>>,
}

/// One file, judged and rendered.
#[derive(Default)]
pub(super) struct Done {
    parts: Rendered,
    pub(super) steps: u64,
    summary: Summary,
    noted: Noted,
}

impl Work<'_> {
    /// Judges everything, batch by batch, and writes the report in the order of the files.
    fn all(
        &self,
        files: &[Found],
        mut summary: Summary,
        input: Input,
        sink: &mut Sink,
    ) -> Result<(Summary, Noted), Failure> {
        let mut noted = Noted::default();
        let mut out = Vec::new();
        let mut stream = Stream::begin(self.format, &self.run, self.style, &mut out);
        sink.write(&out)?;
        match input {
            Input::Files => {}
            Input::Text => {
                let judged = match files::read_standard_input() {
                    Ok(text) => self.ready.session.judge(STANDARD_INPUT, &text),
                    Err(unread) => vec![self.ready.unread(STANDARD_INPUT, unread)],
                };
                self.write(self.render(&judged), &mut summary, &mut stream, sink)?;
            }
            Input::Stream { window } => self.stream(window, &mut summary, &mut stream, sink)?,
        }
        let progress = Progress::over(files.len());
        let mut steps = Steps { done: 0, most: self.most_steps_in_all.unwrap_or(MOST_STEPS_IN_ALL) };
        for batch in files::batches(files, |file| &file.path) {
            let done = steps.side_by_side(batch, |file| {
                let done = self.file(file);
                (done.steps, done)
            });
            for (file, one) in batch.iter().zip(done) {
                let mut one = one.unwrap_or_else(|| self.render(&[self.ready.beyond(file)]));
                noted.merge(std::mem::take(&mut one.noted));
                self.write(one, &mut summary, &mut stream, sink)?;
            }
            progress.advance(batch.len());
        }
        self.logbooks(&mut steps, |one| {
            noted.merge(std::mem::take(&mut one.noted));
            self.write(std::mem::take(one), &mut summary, &mut stream, sink)
        })?;
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
            .filter(|found| found.level == crate::diagnostic::Level::Error && found.code != HIDDEN_RECORD)
            .count();
        let program = self.ready.session.program();
        let in_force = program.standards().iter().filter(|standard| standard.in_force);
        let rules = in_force
            .flat_map(|standard| program.rules_of(standard))
            .map(|(_, rule)| (rule.name.clone(), crate::finding::Tally::default()));
        // What makes other verdicts milder counts as any advice does.
        let changed = self.run.diagnostics.iter().filter(|found| found.code == EARLIER_JOB_CHANGED).count();
        Summary {
            rule_errors: errors as u64,
            document_advices: changed as u64,
            rules: rules.collect(),
            ..Summary::default()
        }
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

    pub(super) fn write(
        &self,
        done: Done,
        summary: &mut Summary,
        stream: &mut Stream<'_>,
        sink: &mut Sink,
    ) -> Result<(), Failure> {
        summary.merge(done.summary);
        let mut out = Vec::new();
        done.parts.each(|part| {
            out.clear();
            stream.part(part, &mut out);
            sink.write(&out)
        })
    }

    fn file(&self, file: &Found) -> Done {
        let session = &self.ready.session;
        match self.ready.contents(file) {
            Contents::PassedOver(told) => {
                let summary = Summary { passed_over: vec![told], ..Summary::default() };
                Done { summary, ..Done::default() }
            }
            Contents::Text(name, text) if !self.ready.known.are_named() => {
                let mut done = Done::default();
                session.judge_each(&name, &text, &mut |document| self.render_into(&document, &mut done));
                done
            }
            Contents::Text(name, text) => {
                let (judged, noted) = self.ready.judge(&file.path, &name, &text);
                Done { noted, ..self.render(&judged) }
            }
            Contents::Unread(judged) => self.render(&[*judged]),
        }
    }

    /// Judges the logbooks of the jobs, in the order of what they are about and of its names.
    fn logbooks(
        &self,
        steps: &mut Steps,
        mut take: impl FnMut(&mut Done) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let session = &self.ready.session;
        let Some(logbooks) = self.ready.logbooks.as_ref().filter(|logbooks| logbooks.too_much.count == 0)
        else {
            return Ok(());
        };
        let mut subjects = logbooks.subjects();
        if let Some(concerned) = &self.concerned {
            subjects.retain(|subject| !subject.names.is_disjoint(concerned));
        }
        for batch in subjects.chunks(LOGBOOKS_AT_ONCE) {
            let done = steps.side_by_side(batch, |subject| {
                let mut judged = [session.judge_logbook(logbooks, subject)];
                let noted = self.ready.known.weigh_logbook(&subject.called(), &mut judged, session);
                let done = Done { noted, ..self.render_found(&judged) };
                (done.steps, done)
            });
            for (subject, one) in batch.iter().zip(done) {
                let beyond = || self.ready.unread(&subject.called(), session.out_of_steps_in_all().into());
                take(&mut one.unwrap_or_else(|| self.render(&[beyond()])))?;
            }
        }
        Ok(())
    }

    /// Renders logbooks in which something was found; the others are only counted.
    fn render_found(&self, judged: &[Judged]) -> Done {
        let mut done = Done::default();
        for logbook in judged {
            let is_empty = logbook.readable && logbook.findings.is_empty() && logbook.diagnostics.is_empty();
            match is_empty {
                true => self.add(logbook, &[], &mut done),
                false => self.render_into(logbook, &mut done),
            }
        }
        done
    }

    fn render(&self, judged: &[Judged]) -> Done {
        let mut done = Done::default();
        judged.iter().for_each(|document| self.render_into(document, &mut done));
        done
    }

    fn render_into(&self, document: &Judged, done: &mut Done) {
        let mut part = Vec::new();
        self.format.document(&self.run, document, &self.style, &mut part);
        self.add(document, &part, done);
    }

    /// Adds a document and what was rendered of it.
    pub(super) fn add(&self, document: &Judged, part: &[u8], done: &mut Done) {
        done.steps = done.steps.saturating_add(document.steps);
        done.parts.push(part);
        done.summary.add(document, |number| &self.ready.session.program().rules()[number].name);
    }
}

/// The steps of a run, which are counted in the order of the files: which of them are not judged any more is then the same
/// for any number of threads.
pub(super) struct Steps {
    pub(super) done: u64,
    pub(super) most: u64,
}

impl Steps {
    /// What becomes of each file of a batch, and how many steps it took; nothing for those before which all steps were done.
    /// Where that is certain already, the file is not even begun.
    pub(super) fn side_by_side<F: Sync, T: Send>(
        &mut self,
        batch: &[F],
        judge: impl Fn(&F) -> (u64, T) + Sync,
    ) -> Vec<Option<T>> {
        let taken: Vec<AtomicU64> = batch.iter().map(|_| AtomicU64::new(0)).collect();
        let before = |number: usize| {
            taken
                .iter()
                .take(number)
                .fold(self.done, |sum, one| sum.saturating_add(one.load(Ordering::Relaxed)))
        };
        let one = |(number, file): (usize, &F)| {
            let (steps, done) = (before(number) <= self.most).then(|| judge(file))?;
            taken.get(number)?.store(steps, Ordering::Relaxed);
            Some((steps, done))
        };
        let done: Vec<Option<(u64, T)>> = batch.par_iter().enumerate().map(one).collect();
        let mut kept = Vec::with_capacity(done.len());
        for one in done {
            let (steps, one) = one.filter(|_| self.done <= self.most).unzip();
            self.done = self.done.saturating_add(steps.unwrap_or_default());
            kept.push(one);
        }
        kept
    }
}
