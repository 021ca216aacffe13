//! The reserved words that begin items and clauses, with a sample of each.

use crate::diagnostic::nearest;

/// The items of a rule file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ItemWord {
    Standard,
    Use,
    Let,
    Parameter,
    Table,
    Rule,
    Given,
}

/// The clauses of items.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ClauseWord {
    Judges,
    Where,
    Concerns,
    Let,
    Demands,
    Otherwise,
    Remedy,
    Because,
    Basis,
    Concession,
    IfUnrecorded,
    From,
    Until,
    Replaces,
    Accepted,
    Trial,
}

/// A row of [`ITEMS`].
pub(crate) struct ItemRow {
    /// The word at the head of the line.
    pub(crate) word: &'static str,
    /// What it begins.
    pub(crate) item: ItemWord,
    /// How its first line is written.
    pub(crate) sample: &'static str,
}

/// A row of [`CLAUSES`].
pub(crate) struct ClauseRow {
    /// The word at the head of the line.
    pub(crate) word: &'static str,
    /// What it begins.
    pub(crate) clause: ClauseWord,
    /// The item it belongs to.
    pub(crate) item: ItemWord,
    /// Whether an item may have several.
    pub(crate) several: bool,
    /// How it is written.
    pub(crate) sample: &'static str,
}

/// Every item.
pub(crate) const ITEMS: &[ItemRow] = &[
    ItemRow {
        word: "standard",
        item: ItemWord::Standard,
        sample: r#"standard gearbox_service edition 1 "Service of gearboxes""#,
    },
    ItemRow { word: "use", item: ItemWord::Use, sample: r#"use "torques.standard""# },
    ItemRow { word: "let", item: ItemWord::Let, sample: "let sump_screw = 9 Nm ± 10 %" },
    ItemRow {
        word: "parameter",
        item: ItemWord::Parameter,
        sample: r#"parameter wheel_nut is torque range "Torque of the wheel nuts""#,
    },
    ItemRow { word: "table", item: ItemWord::Table, sample: "table refill by unit.family" },
    ItemRow {
        word: "given",
        item: ItemWord::Given,
        sample: "given closed_twin { job: { state: closed }, unit: { kind: twin clutch } }",
    },
    ItemRow { word: "rule", item: ItemWord::Rule, sample: r#"rule sump_screw "Sump screws are tightened""# },
];

/// Whether a text may be that of a rule file: nothing is in it, or a line of it begins with a word of the language or
/// nearly one. Any other text is somebody else's, and its lines are nothing for a report.
#[must_use]
pub fn looks_like_rules(text: &str) -> bool {
    let words = || ITEMS.iter().map(|row| row.word).chain(CLAUSES.iter().map(|row| row.word));
    let lines = || text.trim_start_matches('\u{feff}').lines().map(str::trim).filter(|line| !line.is_empty());
    let is_one = |line: &str| {
        let word = line.split(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
        nearest(word, words()).is_some()
    };
    lines().all(|line| line.starts_with('#')) || lines().any(is_one)
}

/// Every clause, in the order in which a rule is best written.
pub(crate) const CLAUSES: &[ClauseRow] = &[
    clause("judges", ClauseWord::Judges, ItemWord::Standard, "judges job"),
    clause("where", ClauseWord::Where, ItemWord::Standard, r#"where unit.kind is "stepped automatic""#),
    clause(
        "concerns",
        ClauseWord::Concerns,
        ItemWord::Rule,
        r#"concerns each s in fastenings where s.role is "sump screw", at least 1"#,
    ),
    ClauseRow {
        several: true,
        ..clause("let", ClauseWord::Let, ItemWord::Rule, "let reached = s.torque × 1.25")
    },
    ClauseRow {
        several: true,
        ..clause("demands", ClauseWord::Demands, ItemWord::Rule, "demands s.torque within 9 Nm ± 10 %")
    },
    clause(
        "otherwise",
        ClauseWord::Otherwise,
        ItemWord::Rule,
        r#"otherwise hold "Sump screw {s.place}: {s.torque} recorded.""#,
    ),
    clause(
        "remedy",
        ClauseWord::Remedy,
        ItemWord::Rule,
        r#"remedy "Slacken the screw and tighten it again.""#,
    ),
    clause("because", ClauseWord::Because, ItemWord::Rule, r#"because "An uneven clamp load leaks.""#),
    clause("basis", ClauseWord::Basis, ItemWord::Rule, r#"basis "common practice""#),
    clause("concession", ClauseWord::Concession, ItemWord::Rule, r#"concession by "foreman""#),
    clause("if", ClauseWord::IfUnrecorded, ItemWord::Rule, "if unrecorded advice"),
    clause("from", ClauseWord::From, ItemWord::Rule, "from 2026-07-01"),
    // In the head of a standard: from when the edition holds, and what holds for its rules.
    clause("from", ClauseWord::From, ItemWord::Standard, "from 2026-07-01"),
    clause("basis", ClauseWord::Basis, ItemWord::Standard, r#"basis "common practice""#),
    clause("concession", ClauseWord::Concession, ItemWord::Standard, r#"concession by "foreman""#),
    clause("until", ClauseWord::Until, ItemWord::Rule, "until 2026-12-31"),
    clause("replaces", ClauseWord::Replaces, ItemWord::Rule, "replaces old_service.plug_torque"),
    ClauseRow {
        several: true,
        ..clause(
            "accepted",
            ClauseWord::Accepted,
            ItemWord::Rule,
            r#"accepted shadowed "the advice comes first at the bench""#,
        )
    },
    ClauseRow {
        several: true,
        ..clause(
            "trial",
            ClauseWord::Trial,
            ItemWord::Rule,
            "trial broken { fastenings: [{ role: sump screw, torque: 12 Nm }] }",
        )
    },
];

const fn clause(word: &'static str, clause: ClauseWord, item: ItemWord, sample: &'static str) -> ClauseRow {
    ClauseRow { word, clause, item, several: false, sample }
}

impl ItemWord {
    /// The word at the head of the line.
    pub(crate) fn as_str(self) -> &'static str {
        ITEMS.iter().find(|row| row.item == self).map_or("", |row| row.word)
    }
}

/// The item that a word begins.
pub(crate) fn item(word: &str) -> Option<&'static ItemRow> {
    ITEMS.iter().find(|row| row.word == word)
}

/// The clause that a word begins; where several items have one, that of a rule.
pub(crate) fn clause_row(word: &str) -> Option<&'static ClauseRow> {
    CLAUSES.iter().find(|row| row.word == word)
}

/// The clause that a word begins inside an item; that of another item where this one has none.
pub(crate) fn clause_row_in(item: Option<ItemWord>, word: &str) -> Option<&'static ClauseRow> {
    let own = CLAUSES.iter().find(|row| row.word == word && Some(row.item) == item);
    own.or_else(|| clause_row(word))
}

/// Words with which people begin a clause, and ours.
const FOREIGN_CLAUSES: &[(&[&str], ClauseWord)] = &[
    (
        &["must", "should", "shall", "require", "requires", "expect", "expects", "check", "assert", "ensure"],
        ClauseWord::Demands,
    ),
    (&["when", "applies", "about", "every", "each"], ClauseWord::Concerns),
    (&["message", "error", "else", "say", "says"], ClauseWord::Otherwise),
    (&["fix", "action", "help", "correction"], ClauseWord::Remedy),
    (&["reason", "why"], ClauseWord::Because),
    (&["source", "reference"], ClauseWord::Basis),
    (&["test", "example", "case"], ClauseWord::Trial),
];

/// The clause of a rule that a word of another language stands for.
pub(crate) fn foreign_clause(word: &str) -> Option<&'static ClauseRow> {
    let (_, meant) = FOREIGN_CLAUSES.iter().find(|(words, _)| words.contains(&word))?;
    CLAUSES.iter().find(|row| row.clause == *meant && row.item == ItemWord::Rule)
}

/// The words of the clauses of an item, for near names and lists.
pub(crate) fn clauses_of(item: ItemWord) -> impl Iterator<Item = &'static str> {
    CLAUSES.iter().filter(move |row| row.item == item).map(|row| row.word)
}
