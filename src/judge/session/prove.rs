//! Rules proved by their trials.

use std::borrow::Cow;
use std::collections::HashSet;
use std::sync::Arc;

use super::Session;
use super::trials::{SharedRecords, own};
use crate::analysis::{Bench, Relation, analyse, relate_rules, unread};
use crate::code::{NO_BASIS, NO_TRIAL, SAID_AGAIN, TOO_MUCH_WORK, TRIAL_FAILED};
use crate::decide::{Covered, Evaluator, LinkedDocuments, Setting, Truth};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{self, Form};
use crate::explain::Explainer;
use crate::finding::Outcome;
use crate::language::ast::TrialOutcome;
use crate::language::ids::RuleId;
use crate::language::typed::{Expr, Program, Rule, Standard, Trial};
use crate::source::Place;

/// What the trials of all rules came to.
#[derive(Debug)]
pub struct Proof {
    /// The rules, in their order.
    pub rules: Vec<Proven>,
    /// Trials that came out otherwise, and what is missing: in the order of the texts.
    pub diagnostics: Vec<Diagnostic>,
    /// What each trial came to, as far as its record could be judged.
    pub tried: Vec<Tried>,
}

/// What a trial came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tried {
    /// The whole trial.
    pub place: Place,
    /// The outcome.
    pub outcome: TrialOutcome,
    /// What was said.
    pub said: Vec<String>,
}

/// The trials of one rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proven {
    /// The rule's full name.
    pub rule: String,
    /// How many trials it has.
    pub trials: usize,
    /// How many came out as they state.
    pub passed: usize,
}

/// All trials together may take so many times the steps that one document may take.
const SHARES: u64 = 10;

/// The steps that are left for the trials, and what those that were run came to.
struct Trying {
    steps_left: u64,
    tried: Vec<Tried>,
}

/// A rule and a record that it is tried on.
#[derive(Clone, Copy)]
pub(super) struct Case<'c> {
    pub(super) program: &'c Program,
    pub(super) standard: &'c Standard,
    pub(super) rule: &'c Rule,
    pub(super) trial: &'c Trial,
}

/// What is wanted of a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Telling {
    /// Its outcome.
    Outcome,
    /// The findings as well.
    All,
}

/// What a rule came to on a trial's record.
pub(super) struct Came {
    pub(super) outcome: TrialOutcome,
    /// The paths of its findings and what was said there.
    pub(super) findings: Vec<(String, String)>,
    /// Whether a value that is stated for a parameter has an error, which is reported at it.
    waits_for_correction: bool,
    /// How many steps it took.
    pub(super) steps: u64,
}

impl Came {
    /// Whether it is what a trial states.
    pub(super) fn is_as_stated(&self, trial: &Trial) -> bool {
        let points_there = |path: &str| self.findings.iter().any(|(found, _)| found == path);
        self.outcome == trial.outcome && trial.at.as_ref().is_none_or(|(path, _)| points_there(path))
    }
}

impl Session {
    /// Runs every trial of every rule.
    #[must_use]
    pub fn prove(&self) -> Proof {
        self.prove_those(&|_| true)
    }

    /// What the trials of all rules come to.
    #[must_use]
    pub fn tried(&self) -> Vec<Tried> {
        self.run_trials(&|_| true).tried
    }

    fn run_trials(&self, wanted: &dyn Fn(&Rule) -> bool) -> Proof {
        let mut proof = Proof { rules: Vec::new(), diagnostics: Vec::new(), tried: Vec::new() };
        let program = self.program();
        let (mut records, wrong) = SharedRecords::of(self);
        proof.diagnostics.extend(wrong);
        let mut run = Trying { steps_left: self.most_steps.saturating_mul(SHARES), tried: Vec::new() };
        for standard in program.standards() {
            let Some(form) = self.forms().get(&standard.form) else { continue };
            for (_, rule) in program.all_rules_of(standard).filter(|(_, rule)| wanted(rule)) {
                let mut passed = 0;
                for trial in &rule.trials {
                    let came = self.trial(&mut records, standard, rule, trial, form, &mut run);
                    match came {
                        _ if run.steps_left == 0 => {
                            proof.diagnostics.push(self.out_of_steps_for_trials(rule, trial));
                            break;
                        }
                        Ok(()) => passed += 1,
                        Err(wrong) => proof.diagnostics.extend(wrong),
                    }
                }
                proof.diagnostics.extend(advice(rule));
                proof.rules.push(Proven { rule: rule.name.clone(), trials: rule.trials.len(), passed });
            }
        }
        proof.tried = run.tried;
        proof
    }

    /// Runs every trial of some rules, and says what the rules alone show.
    #[must_use]
    pub fn prove_those(&self, wanted: &dyn Fn(&Rule) -> bool) -> Proof {
        let mut proof = self.run_trials(wanted);
        let program = self.program();
        let whole = !self.is_faulty() && program.rules().all().iter().all(wanted);
        proof.diagnostics.extend(analyse(&self.bench(whole, wanted)));
        proof.diagnostics.sort_by_key(Diagnostic::place);
        proof
    }

    /// The fields of the forms that none of some rules reads, in notes.
    #[must_use]
    pub fn unread(&self, wanted: &dyn Fn(&Rule) -> bool) -> Vec<Diagnostic> {
        unread(&self.bench(false, wanted))
    }

    /// What an analysis of some rules looks at; `whole` where they are all that there are.
    fn bench<'s>(&'s self, whole: bool, wanted: &'s dyn Fn(&Rule) -> bool) -> Bench<'s> {
        Bench {
            program: self.program(),
            sources: self.sources(),
            forms: self.forms(),
            setting: self.setting(),
            whole,
            wanted,
        }
    }

    /// How two sets of rules are related: whether one finds all that the other finds.
    #[must_use]
    pub fn relation(&self, ones: &[RuleId], others: &[RuleId]) -> Relation {
        relate_rules(&self.bench(false, &|_| true), ones, others)
    }

    /// Runs one trial.
    ///
    /// # Errors
    /// What is wrong with it; nothing where that is reported with the record that it begins with.
    fn trial(
        &self,
        records: &mut SharedRecords<'_>,
        standard: &Standard,
        rule: &Rule,
        trial: &Trial,
        form: &Form,
        run: &mut Trying,
    ) -> Result<(), Vec<Diagnostic>> {
        let place = Place { span: trial.span, ..rule.place };
        let made = self.text_of(records, trial, place, form).map_err(Vec::from_iter)?;
        let record = self.record_of(rule, &made, form)?;
        let judged = Case { program: self.program(), standard, rule, trial };
        let came = self.came(&judged, &record, self.most_steps.min(run.steps_left), Telling::All);
        run.steps_left -= came.steps;
        // What follows from a parameter with an error is told by that error alone.
        if came.waits_for_correction && came.outcome != trial.outcome {
            return Err(Vec::new());
        }
        let said = came.findings.iter().map(|(_, message)| message.clone()).collect();
        run.tried.push(Tried { place, outcome: came.outcome, said });
        if came.outcome != trial.outcome {
            return Err(vec![surprise(rule, trial, &came, place)]);
        }
        match &trial.at {
            Some((path, span)) if !came.findings.iter().any(|(found, _)| found == path) => {
                let found: Vec<&str> = came.findings.iter().map(|(path, _)| path.as_str()).collect();
                let place = Place { span: *span, ..place };
                let message = format!("the finding does not point at `{path}`");
                Err(vec![
                    Diagnostic::error(TRIAL_FAILED, place, message)
                        .labelled(format!("it points at `{}`", found.join("`, `"))),
                ])
            }
            _ => Ok(()),
        }
    }

    /// Says that the trials up to this one took all the steps that there are for trials.
    fn out_of_steps_for_trials(&self, rule: &Rule, trial: &Trial) -> Diagnostic {
        let most = self.most_steps.saturating_mul(SHARES);
        let message =
            format!("the trials up to this one take more than {most} steps together, so it does not count");
        let place = Place { span: trial.span, ..rule.place };
        Diagnostic::error(TOO_MUCH_WORK, place, message)
            .help("shorten the records of the trials, or allow more with `--most-steps`")
    }

    /// The text of a trial's record, and where it begins in that.
    ///
    /// # Errors
    /// As [`SharedRecords::begun`].
    pub(super) fn text_of(
        &self,
        records: &mut SharedRecords<'_>,
        trial: &Trial,
        place: Place,
        form: &Form,
    ) -> Result<(Arc<str>, u32), Option<Diagnostic>> {
        match own(&trial.record) {
            Some(place) => Ok((Arc::from(self.sources().text_at(place)), place.span.start)),
            None => Ok((records.begun(trial, place, form)?, 0)),
        }
    }

    /// The record of a trial.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn record_of<'t>(
        &self,
        rule: &Rule,
        (text, start): &'t (Arc<str>, u32),
        form: &Form,
    ) -> Result<document::Document<'t>, Vec<Diagnostic>> {
        let (mut read, found) = document::read_partial(rule.place.source, text, *start, form, self.forms());
        match read.pop() {
            Some(record) if !found.iter().any(|found| found.level == Level::Error) => Ok(record),
            _ => Err(found),
        }
    }

    /// What a rule comes to on a trial's record. The program is that of the session, or one in which a thing is changed.
    pub(super) fn came(
        &self,
        judged: &Case<'_>,
        record: &document::Document<'_>,
        most_steps: u64,
        telling: Telling,
    ) -> Came {
        let Case { program, standard, rule, trial } = *judged;
        let around = LinkedDocuments::nothing(record);
        let setting = self.setting_of(trial);
        let mut evaluator = Evaluator::new(program, &around, &setting, self.sources())
            .with_given(&trial.given)
            .within_steps(most_steps);
        if let Some(why) = self.kept_out(standard, trial, &mut evaluator) {
            return why;
        }
        let (mut broken, mut undecided, mut met) = (false, false, false);
        let mut findings = Vec::new();
        let mut waits_for_correction = false;
        evaluator.rule(rule, &mut |evaluator, judgement| {
            match judgement.outcome {
                Outcome::Broken => broken = true,
                Outcome::Undecided => undecided = true,
                Outcome::Met => met = true,
                Outcome::NotConcerned => {}
            }
            waits_for_correction |= judgement.waits_for_correction();
            if telling == Telling::Outcome {
                return;
            }
            if let Some(finding) = Explainer::of(evaluator).finding(&judgement) {
                findings.push((finding.path, finding.message));
            }
        });
        let steps = evaluator.steps_done();
        let outcome = match (broken, undecided, met) {
            (true, ..) => TrialOutcome::Broken,
            (_, true, _) => TrialOutcome::Undecided,
            (_, _, true) => TrialOutcome::Met,
            _ => TrialOutcome::NotConcerned,
        };
        Came { outcome, findings, waits_for_correction, steps }
    }
}

impl Session {
    /// What a trial exercises of the rules.
    pub(super) fn covered_by(&self, judged: &Case<'_>, record: &document::Document<'_>) -> HashSet<Covered> {
        let Case { program, rule, trial, .. } = *judged;
        let around = LinkedDocuments::nothing(record);
        let setting = self.setting_of(trial);
        let mut evaluator = Evaluator::new(program, &around, &setting, self.sources())
            .with_given(&trial.given)
            .within_steps(self.most_steps)
            .covering();
        evaluator.rule(rule, &mut |_, _| {});
        evaluator.take_covered()
    }

    /// The day of a trial, and all else as in the run.
    fn setting_of(&self, trial: &Trial) -> Cow<'_, Setting> {
        match trial.day {
            Some(as_of) => Cow::Owned(Setting { as_of, ..self.setting().clone() }),
            None => Cow::Borrowed(self.setting()),
        }
    }

    /// What a trial comes to whose record the standard does not judge, or may not judge. A record that is shared
    /// is a whole one, and the standard's own condition is asked of it as of any job. One that is written for a
    /// single trial has what the rule needs, so it is asked only where it states all that the condition asks.
    fn kept_out<'x>(
        &self,
        standard: &'x Standard,
        trial: &Trial,
        evaluator: &mut Evaluator<'x>,
    ) -> Option<Came> {
        let condition = standard.condition.as_ref()?;
        if own(&trial.record).is_some() && !evaluator.states_all(condition) {
            return None;
        }
        let verdict = evaluator.applies(condition);
        let (outcome, said) = match verdict.truth {
            Truth::Yes => return None,
            Truth::No => {
                let words = format!("the standard judges no such record: {}", self.written(condition));
                (TrialOutcome::NotConcerned, words)
            }
            Truth::Unknown => {
                let why = Explainer::of(evaluator).why_undecided(&verdict).map(|(_, _, why)| why);
                let why = why.unwrap_or_else(|| "a value is missing".to_owned());
                (
                    TrialOutcome::Undecided,
                    format!("whether the standard judges this record is not known: {why}"),
                )
            }
        };
        Some(Came { outcome, findings: vec![(String::new(), said)], waits_for_correction: false, steps: 0 })
    }

    fn written(&self, condition: &Expr) -> String {
        let written = self.sources().text_at(condition.place);
        format!("`where {}`", written.split_whitespace().collect::<Vec<_>>().join(" "))
    }
}

fn surprise(rule: &Rule, trial: &Trial, came: &Came, place: Place) -> Diagnostic {
    let message = format!("the trial expects `{}`, and it came out `{}`", trial.outcome, came.outcome);
    let said: Vec<&str> = came.findings.iter().map(|(_, message)| message.as_str()).collect();
    let diagnostic = Diagnostic::error(TRIAL_FAILED, place, message)
        .labelled(said.join("; "))
        .and_at(rule.name_place, format!("the rule `{}`", rule.name));
    match came.outcome {
        TrialOutcome::Undecided => {
            diagnostic.help("record in the trial what the rule needs, or correct the rule")
        }
        _ => diagnostic.help("correct the rule or the trial, whichever says what was not meant"),
    }
}

/// What a careful author would add to a rule.
fn advice(rule: &Rule) -> Vec<Diagnostic> {
    let mut advice = Vec::new();
    let lacks = |outcome| !rule.trials.iter().any(|trial| trial.outcome == outcome);
    let missing: Vec<String> = [TrialOutcome::Met, TrialOutcome::Broken]
        .into_iter()
        .filter(|outcome| lacks(*outcome))
        .map(|outcome| format!("`trial {outcome}`"))
        .collect();
    if rule.trials.is_empty() {
        let message = format!("the rule `{}` has no trial", rule.name);
        advice.push(
            Diagnostic::advice(NO_TRIAL, rule.name_place, message)
                .help("add a small record that meets it and one that breaks it"),
        );
    } else if !missing.is_empty() {
        let message = format!("the rule `{}` has no {}", rule.name, missing.join(" and no "));
        advice.push(Diagnostic::advice(NO_TRIAL, rule.name_place, message));
    }
    if rule.basis.is_none() {
        let message = format!("the rule `{}` does not say where its demand comes from", rule.name);
        advice.push(
            Diagnostic::advice(NO_BASIS, rule.name_place, message)
                .help("add a clause such as `basis \"common practice\"`"),
        );
    }
    for clause in &rule.says_again {
        let message = format!("the rule `{}` says its {clause} again", rule.name);
        advice.push(
            Diagnostic::advice(SAID_AGAIN, rule.name_place, message)
                .help(format!("take its `{clause}` out: the head of the standard says the same")),
        );
    }
    advice
}
