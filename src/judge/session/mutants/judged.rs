//! The trials of rules, read once and judged by each changed program.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::super::Session;
use super::super::prove::{Case, Telling};
use super::super::trials::SharedRecords;
use crate::decide::Covered;
use crate::document::{Document, Form};
use crate::language::ids::RuleId;
use crate::language::typed::{Program, Rule, Standard, Trial};
use crate::source::Place;

/// The record of a trial as it is written, and where it begins.
pub(in crate::session) struct Text<'s> {
    pub(super) rule: RuleId,
    standard: usize,
    pub(super) trial: &'s Trial,
    form: &'s Form,
    pub(super) text: (Arc<str>, u32),
}

/// The texts of the trials of some rules.
pub(in crate::session) fn texts<'s>(session: &'s Session, wanted: &dyn Fn(&Rule) -> bool) -> Vec<Text<'s>> {
    let program = session.program();
    let (mut records, _) = SharedRecords::of(session);
    let mut texts = Vec::new();
    for (standard, head) in program.standards().iter().enumerate() {
        let Some(form) = session.forms().get(&head.form) else { continue };
        for (id, rule) in program.all_rules_of(head).filter(|(_, rule)| wanted(rule)) {
            for trial in &rule.trials {
                let place = Place { span: trial.span, ..rule.place };
                let Ok(text) = session.text_of(&mut records, trial, place, form) else { continue };
                texts.push(Text { rule: id, standard, trial, form, text });
            }
        }
    }
    texts
}

/// A trial that comes out as it states.
pub(super) struct Ready<'t> {
    pub(super) of: &'t Text<'t>,
    record: Document<'t>,
    /// How many steps a changed rule may take on it; one that takes more comes out otherwise.
    most_steps: u64,
}

/// The trials by their rules.
pub(in crate::session) struct Tried<'t> {
    by_rule: HashMap<RuleId, Vec<Ready<'t>>>,
}

/// How many times the steps of a rule a changed one may take.
const TIMES: u64 = 20;
/// And how many more.
const AT_LEAST: u64 = 20_000;

impl<'t> Tried<'t> {
    /// Those that come out as they state; the others are reported by `prove`, and notice nothing.
    pub(in crate::session) fn of(session: &Session, texts: &'t [Text<'t>]) -> Tried<'t> {
        let program = session.program();
        let mut by_rule: HashMap<RuleId, Vec<Ready<'t>>> = HashMap::new();
        for of in texts {
            let rule = &program.rules()[of.rule];
            let Some(case) = of.case(program) else { continue };
            let Ok(record) = session.record_of(rule, &of.text, of.form) else { continue };
            let came = session.came(&case, &record, session.most_steps, Telling::All);
            if came.is_as_stated(of.trial) {
                let most_steps = came.steps.saturating_mul(TIMES).saturating_add(AT_LEAST);
                by_rule.entry(of.rule).or_default().push(Ready { of, record, most_steps });
            }
        }
        Tried { by_rule }
    }

    pub(super) fn of_rule(&self, rule: RuleId) -> &[Ready<'t>] {
        self.by_rule.get(&rule).map_or(&[], Vec::as_slice)
    }

    /// What the trials exercise.
    pub(in crate::session) fn covered(&self, session: &Session) -> HashSet<Covered> {
        let ready = self.by_rule.values().flatten();
        ready
            .filter_map(|ready| Some(session.covered_by(&ready.of.case(session.program())?, &ready.record)))
            .flatten()
            .collect()
    }

    /// Whether a trial of a rule comes out otherwise in a changed program.
    pub(super) fn notices(&self, session: &Session, changed: &Program, rule: RuleId) -> bool {
        self.of_rule(rule).iter().any(|ready| {
            let Some(case) = ready.of.case(changed) else { return false };
            let came = |telling| session.came(&case, &ready.record, ready.most_steps, telling);
            let came_brief = came(Telling::Outcome);
            came_brief.outcome != ready.of.trial.outcome
                || ready.of.trial.at.is_some() && !came(Telling::All).is_as_stated(ready.of.trial)
        })
    }
}

impl<'t> Text<'t> {
    pub(super) fn case<'c>(&'c self, program: &'c Program) -> Option<Case<'c>> {
        let standard: &Standard = program.standards().get(self.standard)?;
        Some(Case { program, standard, rule: &program.rules()[self.rule], trial: self.trial })
    }

    pub(super) fn form(&self) -> &'t Form {
        self.form
    }
}
