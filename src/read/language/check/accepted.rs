//! Advice about a rule that its author accepts, by the code that it has.

use super::{Checker, place_in};
use crate::code::{
    ANALYSIS_ALWAYS_TRUE, ANALYSIS_CONSTANT, ANALYSIS_CONTRADICTION, ANALYSIS_DEAD_CLAUSE, ANALYSIS_IMPLIED,
    ANALYSIS_MESSAGE_EMPTY, ANALYSIS_NEVER_BROKEN, ANALYSIS_NEVER_TRUE, ANALYSIS_NO_ANSWER,
    ANALYSIS_NOTHING_GUARDED, ANALYSIS_PAIR_TWICE, ANALYSIS_SHADOWED, ANALYSIS_UNUSED, CLAUSE_FORM, Code,
    NAME_TAKEN, UNKNOWN_WORD,
};
use crate::diagnostic::{Diagnostic, did_you_mean, nearest};
use crate::language::ast;
use crate::language::typed::Accepted;

/// The advice that can be accepted at a rule.
const CODES: [Code; 13] = [
    ANALYSIS_ALWAYS_TRUE,
    ANALYSIS_CONSTANT,
    ANALYSIS_CONTRADICTION,
    ANALYSIS_DEAD_CLAUSE,
    ANALYSIS_IMPLIED,
    ANALYSIS_MESSAGE_EMPTY,
    ANALYSIS_NEVER_BROKEN,
    ANALYSIS_NEVER_TRUE,
    ANALYSIS_NOTHING_GUARDED,
    ANALYSIS_NO_ANSWER,
    ANALYSIS_PAIR_TWICE,
    ANALYSIS_SHADOWED,
    ANALYSIS_UNUSED,
];

/// How a rule names a code: `never_broken`.
fn word(code: Code) -> String {
    code.as_str().rsplit('/').next().unwrap_or_default().replace('-', "_")
}

impl<'a> Checker<'a> {
    /// The codes of the advice that a rule accepts.
    pub(super) fn accepted(&mut self, unit: usize, written: &'a ast::Rule) -> Vec<Accepted> {
        let mut accepted: Vec<Accepted> = Vec::new();
        for ast::Accepted { what, reason } in &written.accepted {
            let place = place_in(self.units, unit, what.span);
            if reason.node.trim().is_empty() {
                let message = format!("no reason is given for accepting `{}`", what.node);
                let at = place_in(self.units, unit, reason.span);
                self.report(Diagnostic::error(CLAUSE_FORM, at, message).help("write why it may stay"));
                continue;
            }
            let Some(code) = CODES.into_iter().find(|code| word(*code) == what.node) else {
                let words: Vec<String> = CODES.into_iter().map(word).collect();
                let message = format!("there is no advice `{}` that a rule can accept", what.node);
                let help = match nearest(&what.node, words.iter().map(String::as_str)) {
                    Some(near) => did_you_mean(&what.node, near),
                    None => format!("what can be accepted is `{}`", words.join("`, `")),
                };
                self.report(Diagnostic::error(UNKNOWN_WORD, place, message).help(help));
                continue;
            };
            if accepted.iter().any(|known| known.code == code) {
                let message = format!("`{}` is accepted here twice", what.node);
                self.report(Diagnostic::error(NAME_TAKEN, place, message).help("take one of them out"));
                continue;
            }
            accepted.push(Accepted { code, place });
        }
        accepted
    }
}
