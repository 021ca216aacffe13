//! `prove`: the rules themselves, and their trials.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use clap::Args;

use super::equal::Asked;
use super::known::KnownFiles;
use super::progress::Progress;
use super::standards::{RULE_ENDING, Ready};
use super::{Exit, FailOn, Failure, OutputOptions, RuleOptions, RunOptions};
use crate::code::NOT_EXERCISED;
use crate::diagnostic::{Diagnostic, Level, listed, nearest};
use crate::finding::Summary;
use crate::language::typed::Rule;
use crate::library::shipped;
use crate::report::{Run, Stream, Style, text};
use crate::session::coverage::Coverage;
use crate::session::mutants::{Mutants, Offer, Sample, Survivor};
use crate::session::{Proof, Session};

/// Checks rule files and runs their trials: rule files, folders of them, names of shipped standards,
/// `-` for standard input. Without any, the standards that `inspect` would use here. Of a rule that is
/// named, `STANDARD.RULE`, the trials are run alone.
#[derive(Debug, Args)]
pub(super) struct Prove {
    /// Rule files, folders, names of shipped standards or single rules; `-` reads a rule file from standard input.
    #[arg(value_name = "NAME|PATH|-")]
    standards: Vec<String>,
    /// Two rules or two standards: whether they find the same in every document, or else a record that they judge otherwise.
    /// Exit code 0: proved equal; 1: not equal; 2: nobody can tell.
    #[arg(long, num_args = 2, value_names = ["A", "B"])]
    equal: Option<Vec<String>>,
    #[command(flatten)]
    run: RunOptions,
    #[command(flatten)]
    output: OutputOptions,
    /// One line for each thing that is wrong or advised, without the excerpts.
    #[arg(long)]
    brief: bool,
    /// Change one thing of the rules at a time (a limit, a word, a demand left out) and say which change no trial notices;
    /// with a number, only so many changes, spread over all rules.
    #[arg(long, value_name = "N", num_args = 0..=1, require_equals = true, default_missing_value = "0")]
    mutants: Option<usize>,
    /// Say which parts of the rules no trial exercises: demands that none meets or breaks, sides of `or`, cases, rows, ends
    /// of ranges.
    #[arg(long)]
    coverage: bool,
    /// Name the fields of records, procedures and registers that none of these rules reads.
    #[arg(long)]
    unread: bool,
    /// The least severe thing about the rules that fails the run (exit code 1). Without it, errors and trials that fail do.
    #[arg(long, value_name = "SEVERITY", default_value = "hold")]
    fail_on: FailOn,
}

impl Prove {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let named = self.standards.iter().map(Path::new);
        let place = self.output.make_way(named.chain(self.run.workshop.settings.as_deref()))?;
        let near = self.standards.first().map(PathBuf::from).filter(|path| path.exists());
        if let Some([one, other]) = self.equal.as_deref() {
            let options = RuleOptions { standards: Vec::new(), run: self.run, swap: None, clauses: None };
            let ready = options.open(near.as_deref(), &KnownFiles::default())?;
            let asked = Asked { ready: &ready, standards: &self.standards };
            let (text, exit) = asked.whether_equal(one, other, &self.output.style())?;
            let mut sink = place.sink()?;
            sink.write(text.as_bytes())?;
            sink.finish()?;
            return Ok(exit);
        }
        let (rules, mut standards): (Vec<String>, Vec<String>) =
            self.standards.into_iter().partition(|name| names_rule(name));
        if standards.iter().filter(|name| *name == "-").count() > 1 {
            return Err(Failure("standard input can be read only once: name `-` once".to_owned()));
        }
        if standards.is_empty() {
            standards.extend(shipped_standards_of(&rules));
        }
        let options = RuleOptions { standards, run: self.run, swap: None, clauses: None };
        let ready = options.open(near.as_deref(), &KnownFiles::default())?;
        let session = &ready.session;
        if let Some(unknown) = rules.iter().find(|name| session.rules_called(name).next().is_none())
            && !session.is_faulty()
        {
            return Err(Failure(no_rule(unknown, session)));
        }
        let wanted = |rule: &Rule| rules.is_empty() || rules.contains(&rule.name);
        let proof = session.prove_those(&wanted);
        let mut run = ready.run(self.fail_on.into());
        let faulty = run.diagnostics.iter().any(|found| found.level == Level::Error);
        let mutants = self.mutants.filter(|_| !faulty).map(|most| changed(session, &wanted, most));
        let survivors = mutants.iter().flat_map(|found| &found.left).map(Survivor::diagnostic);
        let wants_coverage = (self.coverage || ready.trials_exercise.is_some()) && !faulty;
        let coverage = wants_coverage.then(|| session.coverage(&wanted));
        let (too_little, open) = match &coverage {
            Some(found) => (below(found, &ready), listed(found.open.clone())),
            None => (None, Vec::new()),
        };
        run.diagnostics.extend(too_little);
        run.diagnostics.extend(open.into_iter().filter(|_| self.coverage));
        run.diagnostics.extend(listed(proof.diagnostics.iter().cloned().chain(survivors).collect()));
        if self.unread && !faulty {
            run.diagnostics.extend(session.unread(&wanted));
        }
        let mut sink = place.sink()?;
        let mut out = Vec::new();
        let style = Style { details: !self.brief, ..self.output.style() };
        let format = self.output.format();
        if self.output.is_for_programs() {
            let stream = Stream::begin(format, &run, style, &mut out);
            stream.end(&Summary::default(), &mut out);
        } else {
            format.diagnostics(&run.diagnostics, &run.sources, &style, &mut out);
            out.extend_from_slice(tally(&proof, coverage.as_ref(), mutants.as_ref(), &run).as_bytes());
        }
        sink.write(&out)?;
        sink.finish()?;
        let fails = |level| match level {
            Level::Error => true,
            Level::Advice => self.fail_on != FailOn::Hold,
            Level::Note => self.fail_on == FailOn::Note,
            Level::Known => false,
        };
        Ok(match faulty || run.rules.is_empty() {
            true => Exit::Failed,
            false if run.diagnostics.iter().any(|found| fails(found.level)) => Exit::Findings,
            false => Exit::Clean,
        })
    }
}

/// How many standards have a part in it: those of the rules that were run or, where none was, those of the run.
fn standards(proof: &Proof, run: &Run) -> u64 {
    let of_rules: BTreeSet<&str> =
        proof.rules.iter().filter_map(|rule| rule.rule.split('.').next()).collect();
    if of_rules.is_empty() { run.standards.len() as u64 } else { of_rules.len() as u64 }
}

/// Whether a name is one of a rule, `STANDARD.RULE`, and none of a file.
pub(super) fn names_rule(name: &str) -> bool {
    let is_file = name.contains(['/', '\\']) || Path::new(name).exists();
    name.contains('.') && !is_file && !name.ends_with(&format!(".{RULE_ENDING}"))
}

/// The shipped standards of rules, each once; none where a rule is of another one, which only the settings can name.
fn shipped_standards_of(rules: &[String]) -> Vec<String> {
    let standards: Option<BTreeSet<String>> = rules
        .iter()
        .map(|rule| rule.split('.').next().filter(|standard| shipped(standard).is_some()).map(str::to_owned))
        .collect();
    standards.unwrap_or_default().into_iter().collect()
}

fn no_rule(name: &str, session: &Session) -> String {
    let rules = session.program().rules().all().iter().map(|rule| rule.name.as_str());
    let hint = match nearest(name, rules) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "without a name, `prove` runs the trials of all rules".to_owned(),
    };
    format!("no rule of this run is called `{name}`; {hint}")
}

/// Changes the rules, with a bar for whoever waits.
fn changed(session: &Session, wanted: &dyn Fn(&Rule) -> bool, most: usize) -> Mutants {
    let sample = match most {
        0 => Sample::All,
        most => Sample::Some { most, seed: 0 },
    };
    let progress = OnceLock::new();
    let bar = |of: usize| progress.get_or_init(|| Progress::over(of));
    let found = session.mutants(wanted, (sample, Offer::Trials), &|done, of| bar(of).advance(done));
    bar(found.made).end();
    found
}

/// Says that trials exercise less than the settings ask for.
fn below(found: &Coverage, ready: &Ready) -> Option<Diagnostic> {
    let (least, place) = ready.trials_exercise.as_ref()?;
    let exercised = found.share()?;
    exercised.compare(least).is_lt().then(|| {
        let message = format!(
            "the trials exercise {} of {} of the rules, and {least} are asked for here",
            found.parts - found.open.len(),
            parts(found)
        );
        let help = "add trials that exercise what `prove --coverage` lists";
        Diagnostic::error(NOT_EXERCISED, *place, message).help(help)
    })
}

fn parts(found: &Coverage) -> String {
    if found.parts == 1 { "1 part".to_owned() } else { format!("{} parts", found.parts) }
}

fn tally_of_coverage(found: &Coverage) -> String {
    let parts = parts(found);
    match found.open.len() {
        0 => format!("{parts} of the rules: trials exercise each of them\n"),
        open => {
            format!("{parts} of the rules: {} are exercised by trials, {open} by none\n", found.parts - open)
        }
    }
}

fn tally_of_mutants(found: &Mutants) -> String {
    let Mutants { made, noticed, same, left } = found;
    let same = match same {
        0 => String::new(),
        1 => ", 1 makes no difference".to_owned(),
        same => format!(", {same} make no difference"),
    };
    let left = match left.len() {
        0 => "no other is left".to_owned(),
        1 => "1 is noticed by none".to_owned(),
        left => format!("{left} are noticed by none"),
    };
    let are = if *noticed == 1 { "is" } else { "are" };
    format!("{}: {noticed} {are} noticed by a trial{same}, {left}\n", text::count(*made as u64, "change"))
}

/// The last lines: how many rules, trials, and which rules have none.
fn tally(proof: &Proof, coverage: Option<&Coverage>, mutants: Option<&Mutants>, run: &Run) -> String {
    let trials: usize = proof.rules.iter().map(|rule| rule.trials).sum();
    let passed: usize = proof.rules.iter().map(|rule| rule.passed).sum();
    let untried: Vec<&str> =
        proof.rules.iter().filter(|rule| rule.trials == 0).map(|rule| rule.rule.as_str()).collect();
    let errors = run.diagnostics.iter().filter(|found| found.level == Level::Error).count();
    let mut told = format!(
        "{} in {}, {}: {passed} came out as stated\n",
        text::count(proof.rules.len() as u64, "rule"),
        text::count(standards(proof, run), "standard"),
        text::count(trials as u64, "trial"),
    );
    if !untried.is_empty() {
        told.push_str(&format!("rules without a trial: {}\n", text::list(untried, 20)));
    }
    told.extend(coverage.map(tally_of_coverage));
    told.extend(mutants.map(tally_of_mutants));
    let verdict = match errors {
        0 if proof.rules.is_empty() => format!("no rules were found (rule files end in .{RULE_ENDING})"),
        0 if trials == 0 => "no trial was run".to_owned(),
        0 => "all trials passed".to_owned(),
        _ => text::count(errors as u64, "error"),
    };
    told.push_str(&verdict);
    told.push('\n');
    told
}
