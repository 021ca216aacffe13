//! Whether a rule that changed became stricter or looser.

use std::collections::BTreeSet;

use super::Comparison;
use crate::analysis::{Covers, Relation, Witness};
use crate::language::ids::RuleId;
use crate::session::Session;
use crate::source::SourceId;

/// What the change of a rule comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleChange {
    /// The full name of the rule in the new text.
    pub rule: String,
    /// How the old one and the new one are related.
    pub relation: Relation,
}

/// How many rules are looked at.
const MOST_RULES: usize = 200;

impl RuleChange {
    /// In a word.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match (&self.relation.second_covers, &self.relation.first_covers) {
            (Covers::Always, Covers::Always) => "equal",
            (Covers::Always, Covers::Not(_)) => "stricter",
            (Covers::Not(_), Covers::Always) => "looser",
            (Covers::Not(_), Covers::Not(_)) => "neither",
            (Covers::Not(_), Covers::Unclear) | (Covers::Unclear, Covers::Not(_)) => "otherwise",
            _ => "cannot tell",
        }
    }

    /// The same in words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self.word() {
            "equal" => "the same: the new one finds what the old one found",
            "stricter" => "stricter: the new one finds all that the old one found, and more",
            "looser" => "looser: the old one found all that the new one finds, and more",
            "neither" => "neither stricter nor looser",
            "otherwise" => "some records come out otherwise",
            _ => "cannot tell whether it is stricter or looser",
        }
    }

    /// Records that come out otherwise: one of which less is found, one of which more is.
    pub fn witnesses(&self) -> impl Iterator<Item = &Witness> {
        let both = [&self.relation.second_covers, &self.relation.first_covers];
        both.into_iter().filter_map(|covers| match covers {
            Covers::Not(witness) => Some(witness),
            Covers::Always | Covers::Unclear => None,
        })
    }
}

/// What the changes of rules come to: of two editions that were opened in one session, the old one first.
#[must_use]
pub fn strictness(both: &Session, [old, new]: [SourceId; 2], comparison: &Comparison) -> Vec<RuleChange> {
    let rules_of = |source: SourceId| -> Vec<(RuleId, &str)> {
        let program = both.program();
        let standards = program.standards().iter().filter(|one| one.place.source == source);
        standards
            .flat_map(|one| program.all_rules_of(one))
            .map(|(id, rule)| (id, rule.name.as_str()))
            .collect()
    };
    let (olds, news) = (rules_of(old), rules_of(new));
    let mut changed: BTreeSet<&str> = BTreeSet::new();
    let mut is_all = false;
    for change in &comparison.changes {
        // Where the standard applies can change all of its rules.
        is_all |= change.part == "standard" && change.what == "where";
        let side = change.to.as_ref().or(change.from.as_ref());
        changed.extend(side.and_then(|side| side.path.split(['.', '[']).next()));
        changed.extend(change.used_by.iter().map(String::as_str));
    }
    let short = |name: &str| name.rsplit('.').next().unwrap_or_default().to_owned();
    let before = |name: &str| {
        let renamed = comparison.renamed_rules.iter().find(|(_, new)| new == name);
        renamed.map_or(name, |(old, _)| old.as_str()).to_owned()
    };
    let pairs = news.iter().filter(|(_, name)| is_all || changed.contains(short(name).as_str()));
    let pairs = pairs.filter_map(|(id, name)| {
        let old = before(name);
        let (other, _) = olds.iter().find(|(_, known)| *known == old)?;
        Some((*other, *id, *name))
    });
    pairs
        .take(MOST_RULES)
        .map(|(old, new, name)| RuleChange { rule: name.to_owned(), relation: both.relation(&[old], &[new]) })
        .collect()
}
