//! Which rules are broken and by what kind of job, which hold nearly every job, and which never find anything.

use std::cmp::Reverse;
use std::collections::HashMap;

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, FEWEST, Section};
use crate::audit::sums::OfRule;
use crate::report::RuleInfo;
use crate::report::text::count;
use crate::statistics::proportion::Share;

/// A rule that so great a share of the documents break holds everyone.
const NEARLY_ALL: f64 = 0.8;

fn informed<'f>(
    figures: &'f Figures,
    around: &Around<'f>,
) -> impl Iterator<Item = (&'f str, Option<&'f RuleInfo>, &'f OfRule)> {
    let known: HashMap<&str, &RuleInfo> =
        around.rules.iter().map(|rule| (rule.name.as_str(), rule)).collect();
    figures.rules.iter().map(move |(name, rule)| (name.as_str(), known.get(name.as_str()).copied(), rule))
}

fn severity(rule: Option<&RuleInfo>) -> Cell {
    Cell::text(rule.map(|rule| rule.severity.word()))
}

fn broken_share(rule: &OfRule) -> Share {
    Share { count: rule.broken, of: rule.concerned }
}

/// The rules that were broken, the most broken first.
pub(super) fn broken(figures: &Figures, around: &Around<'_>) -> Section {
    let mut rules: Vec<_> =
        informed(figures, around).filter(|(.., rule)| rule.broken + rule.undecided > 0).collect();
    rules.sort_by_key(|(name, _, rule)| (Reverse((rule.broken, rule.undecided)), *name));
    let rows = rules.into_iter().map(|(name, info, rule)| {
        let mut kinds: Vec<(&String, u64)> =
            rule.kinds.iter().map(|(kind, _, broken)| (kind, *broken)).collect();
        kinds.sort_by_key(|(kind, broken)| (Reverse(*broken), *kind));
        let kinds: Vec<String> = kinds
            .into_iter()
            .map(|(kind, broken)| {
                let of = figures.kinds.get(kind).map_or(0, |of_kind| of_kind.jobs.share().of);
                format!("{kind} {broken} of {of}")
            })
            .collect();
        let examples = rule.examples.iter().map(|(Reverse((_, name)), ..)| name.clone()).collect();
        vec![
            Cell::Text(name.to_owned()),
            Cell::text(info.map(|info| info.title.clone())),
            severity(info),
            Cell::Share(broken_share(rule)),
            Cell::Count(rule.undecided),
            Cell::Names(kinds, 0),
            Cell::Examples(examples),
        ]
    });
    Section {
        key: "rules_broken",
        title: "Rules that were broken",
        remarks: vec![
            "of the documents that a rule concerned, without jobs in work, whatever its severity and also where that was known or \
             conceded; `by kind` says of how many jobs on a kind of unit so many broke it"
                .to_owned(),
        ],
        columns: vec![
            column("rule", "rule"),
            column("title", "title"),
            column("severity", "severity"),
            column("broken", "broken"),
            column("undecided", "undecided"),
            column("kinds", "by kind"),
            column("examples", "latest"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}

/// The rules that nearly every document broke.
pub(super) fn holding(figures: &Figures, around: &Around<'_>) -> Section {
    let holds = |rule: &OfRule| {
        rule.concerned >= FEWEST && broken_share(rule).value().is_some_and(|share| share >= NEARLY_ALL)
    };
    let rules = informed(figures, around).filter(|(.., rule)| holds(rule));
    let rows = rules.map(|(name, info, rule)| {
        vec![Cell::Text(name.to_owned()), severity(info), Cell::Share(broken_share(rule))]
    });
    Section {
        key: "rules_holding",
        title: "Rules that hold everyone",
        remarks: vec![format!(
            "broken on {:.0} % or more of at least {FEWEST} documents: nobody works so, or the rule does not say what is meant",
            NEARLY_ALL * 100.0
        )],
        columns: vec![column("rule", "rule"), column("severity", "severity"), column("broken", "broken")],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}

/// The rules that never found anything, the most often asked first.
pub(super) fn silent(figures: &Figures, around: &Around<'_>) -> Section {
    let mut rules: Vec<_> = informed(figures, around)
        .filter(|(.., rule)| rule.broken + rule.undecided == 0 && rule.concerned >= FEWEST)
        .collect();
    rules.sort_by_key(|(name, _, rule)| (Reverse(rule.concerned), *name));
    let never = around.rules.iter().filter(|rule| !figures.rules.contains_key(&rule.name)).count() as u64;
    let seldom = figures.rules.values().filter(|rule| rule.concerned < FEWEST).count() as u64;
    let rows = rules.into_iter().map(|(name, info, rule)| {
        vec![
            Cell::Text(name.to_owned()),
            Cell::text(info.map(|info| info.title.clone())),
            Cell::Count(rule.concerned),
        ]
    });
    Section {
        key: "rules_silent",
        title: "Rules that never found anything",
        remarks: vec![format!(
            "asked of at least {FEWEST} documents and met by all of them; {} concerned no document, {} fewer than {FEWEST}",
            count(never, "rule"),
            count(seldom, "rule")
        )],
        columns: vec![column("rule", "rule"), column("title", "title"), column("concerned", "documents")],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}
