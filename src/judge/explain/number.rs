//! What is said of the number of subjects that a rule has.

use super::words::alternatives;
use super::{Explained, Explainer, open_words};
use crate::decide::{About, Judgement};
use crate::language::ast::{Comparison, Count, Logic};
use crate::language::typed::{Each, Expr, ExprKind};

impl<'x> Explainer<'x> {
    /// What was counted, of how many, and how many are missing or too many.
    pub(super) fn facts_of_number(&mut self, judgement: &Judgement<'x>) -> Explained {
        let About::Number { sure, perhaps, of, wanted, each, .. } = judgement.about else {
            return Explained::at(self.path(judgement.subject), self.place(judgement.subject));
        };
        let required = Some(wanted.to_string());
        let open = judgement.verdict.leaf.as_ref().filter(|leaf| leaf.missing.is_some());
        let open = open.map(|leaf| self.explain(leaf));
        if !self.values.has_list(&each.list) {
            // There is no list to point at or to count.
            let at = Explained::at(self.path(judgement.subject), self.place(judgement.subject));
            return Explained { required, ..open.unwrap_or(at) };
        }
        let home = self.home(&each.list, judgement.subject);
        let off_by = match wanted {
            _ if perhaps > 0 || open.is_some() => None,
            Count::AtLeast(number) | Count::Exactly(number) if sure < number => {
                Some(format!("{} missing", number - sure))
            }
            Count::AtMost(number) | Count::Exactly(number) if sure > number => {
                Some(format!("{} too many", sure - number))
            }
            _ => None,
        };
        Explained {
            found: Some(self.counted(each, [sure, perhaps, of], "")),
            required,
            off_by,
            missing: open.and_then(|open| open.missing),
            near: self.near_subject(judgement),
            ..Explained::at(self.path(home), self.place(home))
        }
    }

    /// A message about the number of subjects where the rule has none of its own.
    pub(super) fn words_of_number(&mut self, judgement: &Judgement<'x>, facts: &Explained) -> String {
        let title = &judgement.rule.title;
        let About::Number { sure, perhaps, of, wanted, each, .. } = judgement.about else {
            return title.clone();
        };
        match &facts.missing {
            Some(missing) if facts.found.is_none() => open_words(missing, title),
            _ => {
                let found =
                    self.counted(each, [sure, perhaps, of], &format!(" in `{}`", self.source_of(&each.list)));
                // Where there are none, all are missing.
                let off_by = facts.off_by.as_ref().filter(|_| sure > 0);
                let off_by = off_by.map(|text| format!(", {text}")).unwrap_or_default();
                format!("{title}: {wanted} required; {found}{off_by}")
            }
        }
    }

    /// How many elements of how many are what is counted: `none of 10 has the role filter cap`.
    fn counted(&mut self, each: &'x Each, [sure, perhaps, of]: [u32; 3], place: &str) -> String {
        let number = if sure == 0 { "none".to_owned() } else { sure.to_string() };
        let have = if sure < 2 { "has" } else { "have" };
        let counted = match &each.condition {
            None => format!("{number} recorded{place}"),
            Some(_) if of == 0 => format!("none recorded{place}"),
            Some(condition) => match self.names_asked(condition, each.slot) {
                Some(names) => format!("{number} of {of}{place} {have} {names}"),
                None => format!("{number} of {of}{place} where `{}`", self.source_of(condition)),
            },
        };
        match perhaps {
            0 => counted,
            1 => format!("{counted}, 1 incomplete entry"),
            _ => format!("{counted}, {perhaps} incomplete entries"),
        }
    }

    /// What a condition asks of an element, where it asks for names alone: `the role filter cap`.
    fn names_asked(&mut self, condition: &'x Expr, slot: usize) -> Option<String> {
        let field = |path: &Expr| match &path.kind {
            ExprKind::Field { name, .. } if path.variable() == Some(slot) => Some(name.replace('_', " ")),
            _ => None,
        };
        match &condition.kind {
            ExprKind::Logic(Logic::And, left, right) => {
                let (left, right) = (self.names_asked(left, slot)?, self.names_asked(right, slot)?);
                Some(format!("{left} and {right}"))
            }
            ExprKind::Compare(Comparison::Is, path, name) if name.variable() != Some(slot) => {
                Some(format!("the {} {}", field(path)?, self.shown(name)))
            }
            ExprKind::OneOf { value, negated: false, options } => {
                let field = field(value)?;
                let names: Vec<String> = options.iter().map(|option| self.shown(option)).collect();
                Some(format!("the {field} {}", alternatives(&names)))
            }
            _ => None,
        }
    }
}
