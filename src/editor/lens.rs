//! Above each rule with trials, what they come to; taken, it runs them.

use serde_json::json;

use super::protocol::{Command, Lens};
use super::symbols::{Symbols, What};
use super::text::Text;
use crate::language::ast::Item;
use crate::report::text::count;
use crate::session::{Proof, Session};

/// The command that runs the trials of a rule.
pub const RUN_TRIALS: &str = "witnessmark.runTrials";

/// A lens for each rule with trials.
#[must_use]
pub fn of_rules(text: &Text, address: &str, symbols: &Symbols) -> Vec<Lens> {
    let rules = symbols.file.items.iter().filter_map(|item| match item {
        Item::Rule(rule) if !rule.trials.is_empty() => Some(rule),
        _ => None,
    });
    rules
        .filter_map(|rule| {
            let is_it =
                |one: &&super::symbols::Definition| one.what == What::Rule && one.at == rule.name.span;
            let own = symbols.definitions.iter().find(is_it)?;
            let title = format!("run {}", count(rule.trials.len() as u64, "trial"));
            let arguments = vec![json!(address), json!(own.name)];
            let command = Command { title, command: RUN_TRIALS, arguments };
            Some(Lens { range: text.range(own.at), command })
        })
        .collect()
}

/// What the trials of a rule come to, in a sentence.
#[must_use]
pub fn run(session: &Session, name: &str) -> (bool, String) {
    let is_it = |rule: &str| rule.rsplit('.').next() == Some(name) || rule == name;
    let Proof { rules, diagnostics, .. } = session.prove_those(&|rule| is_it(&rule.name));
    let (trials, passed) =
        rules.iter().fold((0, 0), |(trials, passed), one| (trials + one.trials, passed + one.passed));
    let wrong: Vec<&str> = diagnostics
        .iter()
        .filter(|found| found.level == crate::diagnostic::Level::Error)
        .map(|found| found.message.as_str())
        .collect();
    let all = count(trials as u64, "trial");
    match rules.is_empty() {
        true => (false, format!("`{name}` is not a rule that can be run; look at the errors in its file")),
        false if wrong.is_empty() => (true, format!("`{name}`: {all}, {passed} came out as stated")),
        false => (false, format!("`{name}`: {all}, {passed} came out as stated; {}", wrong.join("; "))),
    }
}
