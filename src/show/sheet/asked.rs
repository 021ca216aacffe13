//! What may be recorded in a field that is still open: what the procedure plans and what the standards ask.

use super::needs::{Needs, Trail, standard_of, yes_or_no};
use super::safe;
use crate::document::{Field, PathPattern};
use crate::language::analysis::{Limit, pattern_in_words};
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Range;
use crate::trade::blank::{Plan, limits};
use crate::trade::form::PROCEDURE;

/// What is asked of a field.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asked {
    /// What is meant, where the name of the field says too little.
    pub note: Option<String>,
    /// The limits in words, each with who asks for it: the procedure, or standards by their names.
    pub limits: Vec<(String, Vec<String>)>,
    /// Whether there is a figure of the procedure and no other limit.
    pub is_one_figure: bool,
    /// Where an uncertain reading is safe.
    pub safe: Vec<String>,
    /// The unit of the first limit that is a range.
    pub unit: Option<&'static str>,
}

impl Needs<'_> {
    /// What is asked of a field at a place of a draft.
    pub(super) fn asked_of(
        &self,
        field: &Field,
        plan: &Plan,
        path: &PathPattern,
        trail: &Trail<'_>,
    ) -> Asked {
        let mut asked: Vec<(String, Vec<String>)> = Vec::new();
        let mut ask = |text: String, by: &str| match asked.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) if names.iter().any(|name| name == by) => {}
            Some((_, names)) => names.push(by.to_owned()),
            None => asked.push((text, vec![by.to_owned()])),
        };
        let mut ranges: Vec<(&Range, &DecisionRule)> = Vec::new();
        match plan {
            Plan::Open | Plan::Note(_) => {}
            Plan::Within(range) => {
                ask(limits(range), PROCEDURE);
                ranges.push((range, self.decision(None)));
            }
            Plan::Text(text) => ask(text.clone(), PROCEDURE),
            Plan::Truth(truth) => ask(yes_or_no(*truth).to_owned(), PROCEDURE),
        }
        let planned = match plan {
            Plan::Text(text) => Some(text.as_str()),
            Plan::Truth(truth) => Some(yes_or_no(*truth)),
            Plan::Open | Plan::Note(_) | Plan::Within(_) => None,
        };
        for wanted in self.limits(path, trail) {
            // A standard that wants something else wants it in other cases; where not, the procedure is what is wrong.
            if planned.is_some_and(|planned| !allows(&wanted.limit, planned)) {
                continue;
            }
            if let Limit::Within(range) = &wanted.limit {
                ranges.push((range, self.decision(Some(wanted))));
            }
            ask(in_words(&wanted.limit), standard_of(&wanted.rule.name));
        }
        let unit = ranges.first().and_then(|(range, _)| unit_of(range));
        let safe = field.measured.iter().flat_map(|measured| self.safe(measured, ranges.clone())).collect();
        let is_one_figure = asked.len() == 1 && matches!(plan, Plan::Within(_));
        let note = if let Plan::Note(note) = plan { Some(note.clone()) } else { None };
        Asked { note, limits: asked, is_one_figure, safe, unit }
    }

    /// Where a reading is safe that must lie in these ranges; with the tools of the register where they are one.
    fn safe(&self, measured: &str, mut ranges: Vec<(&Range, &DecisionRule)>) -> Vec<String> {
        ranges.dedup();
        let mut said: Vec<String> = Vec::new();
        for words in ranges.iter().filter_map(|(_, decision)| safe::words(decision)) {
            let words = format!("safe {words}");
            if !said.contains(&words) {
                said.push(words);
            }
        }
        if let ([(range, decision)], [only]) = (ranges.as_slice(), said.as_mut_slice())
            && let Some(tools) = safe::with_tools(self.session, measured, range, decision)
        {
            only.push_str(&format!(": {tools}"));
        }
        said
    }
}

fn unit_of(range: &Range) -> Option<&'static str> {
    let limit = range.low().or(range.high())?;
    Some(range.nominal().unwrap_or(&limit.value).unit()?.symbol)
}

/// Whether a text is one that a limit allows, as far as the two can be compared.
fn allows(limit: &Limit, text: &str) -> bool {
    match limit {
        Limit::Words { words, refused } => words.iter().any(|word| word == text) != *refused,
        Limit::Truth(truth) => yes_or_no(*truth) == text,
        Limit::Within(_) | Limit::Pattern(_) => true,
    }
}

fn in_words(limit: &Limit) -> String {
    match limit {
        Limit::Within(range) => limits(range),
        Limit::Words { words, refused: false } => words.join(" or "),
        Limit::Words { words, refused: true } => format!("not {}", words.join(" nor ")),
        Limit::Truth(truth) => yes_or_no(*truth).to_owned(),
        Limit::Pattern(pattern) => pattern_in_words(pattern),
    }
}
