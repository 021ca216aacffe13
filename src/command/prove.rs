//! `prove`: the rules themselves, and their trials.

use std::path::PathBuf;

use clap::Args;

use super::known::KnownFiles;
use super::standards::RULE_ENDING;
use super::{Exit, Failure, OutputOptions, RuleOptions, RunOptions};
use crate::diagnostic::Level;
use crate::finding::Summary;
use crate::language::ast::Severity;
use crate::report::{Run, Stream, text};
use crate::session::Proof;

/// Checks rule files and runs their trials: rule files, folders of them, or names of shipped
/// standards. Without any, the standards that `inspect` would use here.
#[derive(Debug, Args)]
pub(super) struct Prove {
    /// Rule files, folders, or names of shipped standards.
    #[arg(value_name = "NAME|PATH")]
    standards: Vec<String>,
    #[command(flatten)]
    run: RunOptions,
    #[command(flatten)]
    output: OutputOptions,
}

impl Prove {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let near = self.standards.first().map(PathBuf::from).filter(|path| path.exists());
        let rules = RuleOptions { standards: self.standards, run: self.run, swap: None };
        let ready = rules.open(near.as_deref(), &KnownFiles::default())?;
        let proof = ready.session.prove();
        let mut run = ready.run(Severity::Hold);
        let faulty = run.diagnostics.iter().any(|found| found.level == Level::Error);
        run.diagnostics.extend(proof.diagnostics.iter().cloned());
        let mut sink = self.output.sink()?;
        let mut out = Vec::new();
        let style = self.output.style();
        let format = self.output.format();
        if self.output.is_for_programs() {
            let stream = Stream::begin(format, &run, style, &mut out);
            stream.end(&Summary::default(), &mut out);
        } else {
            format.diagnostics(&run.diagnostics, &run.sources, &style, &mut out);
            out.extend_from_slice(tally(&proof, &run).as_bytes());
        }
        sink.write(&out)?;
        sink.finish()?;
        Ok(match (faulty || run.rules.is_empty(), proof.holds()) {
            (true, _) => Exit::Failed,
            (false, false) => Exit::Findings,
            (false, true) => Exit::Clean,
        })
    }
}

/// The last lines: how many rules, trials, and which rules have none.
fn tally(proof: &Proof, run: &Run) -> String {
    let trials: usize = proof.rules.iter().map(|rule| rule.trials).sum();
    let passed: usize = proof.rules.iter().map(|rule| rule.passed).sum();
    let untried: Vec<&str> =
        proof.rules.iter().filter(|rule| rule.trials == 0).map(|rule| rule.rule.as_str()).collect();
    let errors = run.diagnostics.iter().filter(|found| found.level == Level::Error).count();
    let mut text = format!(
        "{} in {}, {}: {passed} came out as stated\n",
        text::count(proof.rules.len() as u64, "rule"),
        text::count(run.standards.len() as u64, "standard"),
        text::count(trials as u64, "trial"),
    );
    if !untried.is_empty() {
        text.push_str(&format!("rules without a trial: {}\n", untried.join(", ")));
    }
    let verdict = match errors {
        0 if proof.rules.is_empty() => format!("no rules were found (rule files end in .{RULE_ENDING})"),
        0 => "all rules hold to their trials".to_owned(),
        _ => format!("{} to mend", text::count(errors as u64, "mistake")),
    };
    text.push_str(&verdict);
    text.push('\n');
    text
}
