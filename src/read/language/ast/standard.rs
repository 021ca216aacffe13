//! The head of a standard, and what it says for its rules.

use jiff::civil::Date;

use super::{Concession, Expr, Name, Rule, Severity, Text};
use crate::edition::Edition;
use crate::source::{Span, Spanned};

/// `standard NAME edition N "title"`, `judges FORM`, `where CONDITION`, and what holds for its rules: `basis "text"`,
/// `concession by "role"`.
#[derive(Clone, Debug)]
pub struct Standard {
    /// The whole item.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// Its edition.
    pub edition: Option<Spanned<Edition>>,
    /// Its title.
    pub title: Option<Text>,
    /// The form of document it judges.
    pub judges: Option<Name>,
    /// From which day on the edition holds.
    pub from: Option<Spanned<Date>>,
    /// Which documents it applies to; all of that form when absent.
    pub condition: Option<Expr>,
    /// The source of the figures of rules that state none.
    pub basis: Option<Text>,
    /// Who may grant a concession for rules that hold and do not say.
    pub concession: Option<Concession>,
}

impl Standard {
    /// The source of the figures of a rule: its own, else that of the whole standard.
    #[must_use]
    pub fn basis_of<'a>(&'a self, rule: &'a Rule) -> Option<&'a Text> {
        rule.basis.as_ref().or(self.basis.as_ref())
    }

    /// Who may grant a concession for a rule: its own word, else that of the standard.
    #[must_use]
    pub fn concession_of<'a>(&'a self, rule: &'a Rule) -> Option<&'a Concession> {
        rule.concession.as_ref().or(self.concession_for(rule))
    }

    /// Who may grant a concession by the standard, which speaks for rules that hold only: an advice needs none.
    #[must_use]
    pub fn concession_for(&self, rule: &Rule) -> Option<&Concession> {
        let holds = rule.otherwise.as_ref().is_some_and(|said| said.severity.node == Severity::Hold);
        self.concession.as_ref().filter(|_| holds)
    }
}
