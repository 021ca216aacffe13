//! What a workshop changes about rules that it did not write: it can make them stricter, name who may grant their
//! concession, or leave them out with a reason.

use std::collections::{BTreeMap, BTreeSet};

use crate::code::{RULE_CHANGE, RULE_LEFT_OUT, RULE_REPLACED};
use crate::diagnostic::{Diagnostic, MOST_ALIKE, did_you_mean, nearest};
use crate::language::ast::{Severity, Unrecorded};
use crate::language::ids::RuleId;
use crate::language::typed::{LeftOut, Program, Rule};
use crate::source::Place;

/// What the settings say of a rule.
#[derive(Clone, Debug)]
pub struct RuleChange {
    /// Its full name, as written.
    pub name: String,
    /// Where that is written.
    pub place: Place,
    /// How severe a broken demand is.
    pub severity: Option<(Severity, Place)>,
    /// Who may grant a concession; nobody where the list is empty.
    pub concession: Option<Vec<String>>,
    /// Why it is left out.
    pub left_out: Option<String>,
}

impl Program {
    /// Changes rules as the settings say; what is wrong with that, and which rules are left out. A rule that the
    /// run does not have is passed over where `elsewhere` knows its standard.
    pub fn change(&mut self, changes: &[RuleChange], elsewhere: &dyn Fn(&str) -> bool) -> Vec<Diagnostic> {
        let (mut diagnostics, mut strangers) = (Vec::new(), 0);
        for change in changes {
            let standard = change.name.split('.').next().unwrap_or_default();
            let in_run = self.standards.iter().any(|known| known.name == standard);
            let (rules, renamed) = self.rules_meant(&change.name);
            diagnostics.extend(renamed.map(|new| replaced_by(&change.name, &new, change.place)));
            match rules.is_empty() {
                true if !in_run && elsewhere(standard) => {}
                true => {
                    strangers += 1;
                    diagnostics.push(self.no_rule(change, strangers <= MOST_ALIKE));
                }
                false => rules.into_iter().for_each(|rule| self.change_one(rule, change, &mut diagnostics)),
            }
        }
        diagnostics
    }

    /// The rules of a name, in all editions of their standard, or those that took the place of one that had it; with
    /// the names of those.
    fn rules_meant(&self, name: &str) -> (Vec<RuleId>, Option<String>) {
        let called = self.rules.iter().filter(|(_, rule)| rule.name == name);
        let called: Vec<RuleId> = called.map(|(id, _)| id).collect();
        if !called.is_empty() {
            return (called, None);
        }
        let new = self.successors(name);
        let rules = self.rules.iter().filter(|(_, rule)| new.contains(&rule.name.as_str()));
        let rules: Vec<RuleId> = rules.map(|(id, _)| id).collect();
        let names = (!new.is_empty()).then(|| new.join("` and `"));
        (rules, names)
    }

    /// The names of the rules that took the place of one, each once.
    #[must_use]
    pub fn successors(&self, name: &str) -> Vec<&str> {
        let replaces = |rule: &&Rule| rule.replaces.iter().any(|old| old == name);
        let mut names: Vec<&str> =
            self.rules.all().iter().filter(replaces).map(|rule| rule.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// The names of rules that the run has no more, each with those of the rules that took its place.
    #[must_use]
    pub fn replaced(&self) -> BTreeMap<&str, Vec<&str>> {
        let mut replaced: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for rule in self.rules.all() {
            for old in &rule.replaces {
                replaced.entry(old).or_default().insert(&rule.name);
            }
        }
        for rule in self.rules.all() {
            replaced.remove(rule.name.as_str());
        }
        replaced.into_iter().map(|(old, new)| (old, new.into_iter().collect())).collect()
    }

    /// Says that there is no such rule; with a near one where somebody will read it.
    fn no_rule(&self, change: &RuleChange, is_listed: bool) -> Diagnostic {
        let name = change.name.as_str();
        let message = format!("no standard of this run has a rule `{name}`");
        let rules = self.rules.all().iter().map(|rule| rule.name.as_str());
        let short = |known: &&str| known.rsplit_once('.').is_some_and(|(_, short)| short == name);
        let near = Some(())
            .filter(|()| is_listed)
            .and_then(|()| rules.clone().find(short).or_else(|| nearest(name, rules)));
        let diagnostic = Diagnostic::error(RULE_CHANGE, change.place, message);
        match near {
            Some(near) => diagnostic.help(did_you_mean(name, near)),
            None => diagnostic.help("name it as `standard.rule`, as findings show it"),
        }
    }

    fn change_one(&mut self, id: RuleId, change: &RuleChange, diagnostics: &mut Vec<Diagnostic>) {
        let rule = &mut self.rules[id];
        if let Some(reason) = &change.left_out {
            rule.left_out = Some(LeftOut { reason: reason.clone(), place: change.place });
            let message = format!("`{}` is left out: {reason}", rule.name);
            let diagnostic = Diagnostic::advice(RULE_LEFT_OUT, change.place, message);
            diagnostics.push(diagnostic.and_at(rule.name_place, "no document is judged by it"));
        }
        if let Some((severity, place)) = change.severity {
            if let Some(refusal) = not_stricter(rule, severity, place) {
                diagnostics.push(refusal);
                return;
            }
            if rule.unrecorded == Unrecorded::As(rule.severity) {
                rule.unrecorded = Unrecorded::As(severity);
            }
            rule.severity = severity;
        }
        if let Some(roles) = &change.concession {
            rule.concession = Some(roles.clone());
        }
        rule.changed = Some(change.place);
    }
}

/// Why a severity is refused: it is none that the rule does not have already, or a milder one.
fn not_stricter(rule: &Rule, severity: Severity, place: Place) -> Option<Diagnostic> {
    let (own, wanted) = (rule.severity.word(), severity.word());
    let place_of_rule = |diagnostic: Diagnostic| diagnostic.and_at(rule.name_place, "the rule");
    match severity.cmp(&rule.severity) {
        std::cmp::Ordering::Greater => None,
        std::cmp::Ordering::Equal => {
            let message = format!("`{}` is {own} without this line too", rule.name);
            Some(place_of_rule(Diagnostic::advice(RULE_CHANGE, place, message)))
        }
        std::cmp::Ordering::Less => {
            let message = format!("`{}` is {own}, and the settings cannot make it {wanted}", rule.name);
            Some(place_of_rule(Diagnostic::error(RULE_CHANGE, place, message)).help(
                "a rule can be made stricter here, or be left out with a reason: `left_out: yes` and `reason: …`",
            ))
        }
    }
}

/// Says that something names a rule whose place others have taken; `new` are their names.
#[must_use]
pub fn replaced_by(old: &str, new: &str, place: Place) -> Diagnostic {
    let message = format!("`{new}` took the place of `{old}`; what is written here counts for it");
    Diagnostic::advice(RULE_REPLACED, place, message).help("write the new name")
}
