//! What changed between two texts, told for people and for programs.

use serde::Serialize;

use crate::analysis::{Heaviest, Witness};
use crate::compare::{Change, Comparison, Kind, OutcomeChange, RuleChange, Said, Side};
use crate::edition::{Digest, Edition};
use crate::report::difference::shown_lines;
use crate::report::text::{count, fill, shown, width};
use crate::report::{Style, facts, json};
use crate::source::{Position, Sources};

/// The form and version of the report for programs.
pub const FORM: &str = "comparison/1";

/// The JSON Schema of the report for programs.
pub const SCHEMA: &str = include_str!("../../../grammar/comparison.schema.json");

/// One of the two texts.
#[derive(Clone, Copy, Debug)]
pub struct Text<'c> {
    /// Its name.
    pub name: &'c str,
    /// Its content hash.
    pub digest: Digest,
    /// The sources that its places refer to.
    pub sources: &'c Sources,
}

/// All that was found.
#[derive(Clone, Copy, Debug)]
pub struct Compared<'c> {
    /// The old text.
    pub old: Text<'c>,
    /// The new text.
    pub new: Text<'c>,
    /// What changed in meaning.
    pub comparison: &'c Comparison,
    /// Whether values that are only written otherwise are named too.
    pub with_spellings: bool,
    /// The difference line by line, if it was asked for; inside it none where the texts are too long.
    pub lines: Option<Option<&'c str>>,
    /// The outcomes on the documents of a folder, if they were asked for.
    pub outcomes: Option<Outcomes<'c>>,
}

/// What two editions come to on the documents of a folder.
#[derive(Clone, Copy, Debug)]
pub struct Outcomes<'c> {
    /// How many documents both judged.
    pub documents: usize,
    /// Documents that could not be read, with the reason.
    pub unread: &'c [(String, String)],
    /// What differs.
    pub changes: &'c [OutcomeChange],
}

/// What two folders came to besides the changes of their files.
#[derive(Clone, Debug, Default)]
pub struct Folders {
    /// How many files both have.
    pub compared: usize,
    /// How many of them changed in meaning.
    pub changed: usize,
    /// Files that only the new folder has.
    pub added: Vec<String>,
    /// Files that only the old folder has.
    pub taken_out: Vec<String>,
    /// Files whose meaning changed and whose edition did not.
    pub not_raised: Vec<String>,
    /// Files that cannot be compared, with the reason.
    pub unread: Vec<(String, String)>,
}

/// The form and version of the report on folders for programs.
const FOLDERS_FORM: &str = "comparisons/1";

/// The JSON Schema of that.
pub const FOLDERS_SCHEMA: &str = include_str!("../../../grammar/comparisons.schema.json");

/// Tells what two folders came to, with the reports on those files that changed.
pub fn folders(folders: &Folders, parts: &[Vec<u8>], for_programs: bool, style: &Style, out: &mut Vec<u8>) {
    if for_programs {
        return folders_for_programs(folders, parts, out);
    }
    for part in parts {
        out.extend_from_slice(part);
        out.push(b'\n');
    }
    let mut line = |text: &str| {
        out.extend_from_slice(fill("", 2, text, style.columns()).as_bytes());
        out.push(b'\n');
    };
    let lists = [
        ("added", &folders.added),
        ("taken out", &folders.taken_out),
        ("the meaning changed, and the edition did not", &folders.not_raised),
    ];
    for (what, names) in lists {
        names.iter().for_each(|name| line(&format!("{what}: {}", shown(name))));
    }
    for (name, why) in &folders.unread {
        line(&format!("cannot be compared: {}: {}", shown(name), shown(why)));
    }
    let Folders { compared, changed, .. } = folders;
    line(&format!("{} compared, {changed} changed in meaning", count(*compared as u64, "file")));
}

fn folders_for_programs(folders: &Folders, parts: &[Vec<u8>], out: &mut Vec<u8>) {
    let Folders { added, taken_out, not_raised, unread, .. } = folders;
    let unread = unread.iter().map(|(document, why)| UnreadOut { document, why }).collect();
    let head =
        FoldersOut { form: FOLDERS_FORM, files: folders.compared, added, taken_out, not_raised, unread };
    json::write(&head, out);
    // The reports on the files are JSON already; they are the last member.
    out.pop();
    out.extend_from_slice(b",\"comparisons\":[\n");
    for (number, part) in parts.iter().enumerate() {
        out.extend_from_slice(if number > 0 { b",\n" } else { b"" });
        out.extend_from_slice(part.trim_ascii_end());
    }
    out.extend_from_slice(b"\n]}\n");
}

#[derive(Serialize)]
struct FoldersOut<'c> {
    form: &'static str,
    files: usize,
    added: &'c [String],
    taken_out: &'c [String],
    not_raised: &'c [String],
    unread: Vec<UnreadOut<'c>>,
}

/// How many changes are listed for people.
const MOST_LISTED: usize = 500;

/// Tells what changed in words.
pub fn plain(compared: &Compared<'_>, style: &Style, out: &mut Vec<u8>) {
    let mut page = Page { compared, style, out };
    page.heads();
    let Comparison { changes, spellings, .. } = compared.comparison;
    page.changes(changes, None);
    if compared.with_spellings {
        page.changes(spellings, Some("rewritten"));
    }
    page.strictness();
    page.lines();
    page.outcomes();
    page.sum();
}

struct Page<'p> {
    compared: &'p Compared<'p>,
    style: &'p Style,
    out: &'p mut Vec<u8>,
}

/// The columns of the word for the kind of a change, with the gap behind it.
const KIND: usize = 11;

impl Page<'_> {
    fn blank(&mut self) {
        self.out.push(b'\n');
    }

    fn line(&mut self, lead: &str, hang: usize, text: &str) {
        let text = fill(lead, hang, text, self.style.columns());
        self.out.extend_from_slice(text.as_bytes());
        self.blank();
    }

    fn heading(&mut self, text: &str) {
        let text = shown(text);
        let text =
            if self.style.colour { format!("\u{1b}[1m{text}\u{1b}[0m\n") } else { format!("{text}\n") };
        self.out.extend_from_slice(text.as_bytes());
    }

    fn arrow(&self) -> &'static str {
        if self.style.unicode { "→" } else { "->" }
    }

    fn heads(&mut self) {
        let (old, new) = self.compared.comparison.editions;
        for (word, text, edition) in [("old", self.compared.old, old), ("new", self.compared.new, new)] {
            let edition = edition.map_or_else(String::new, |edition| format!("edition {edition}, "));
            let words = format!("{word}: {} ({edition}content {})", shown(text.name), text.digest.short());
            self.line("", 5, &words);
        }
    }

    fn changes(&mut self, changes: &[Change], word: Option<&str>) {
        let mut part = None;
        for change in changes.iter().take(MOST_LISTED) {
            if part != Some(&change.part) {
                self.blank();
                self.heading(&change.part);
                part = Some(&change.part);
            }
            self.change(change, word.unwrap_or_else(|| change.kind.words()));
        }
        if changes.len() > MOST_LISTED {
            self.blank();
            self.line("", 2, &format!("{} more are not listed", changes.len() - MOST_LISTED));
        }
    }

    fn change(&mut self, change: &Change, word: &str) {
        let lead = format!("  {word:KIND$}");
        let hang = lead.len();
        let what = shown(&change.what);
        let lines = self.lines_of(change);
        let words = |side: &Option<Side>| side.as_ref().map(|side| shown(&side.words).into_owned());
        match (words(&change.from), words(&change.to)) {
            (Some(from), Some(to)) => {
                let gap = if what.is_empty() { "" } else { ": " };
                let text = format!("{what}{gap}{from} {} {to} {lines}", self.arrow());
                if hang + width(&text) <= self.style.columns() {
                    self.line(&lead, hang, &text);
                } else {
                    // Long texts are easier to compare one below the other.
                    let head = if what.is_empty() { lines } else { format!("{what} {lines}") };
                    self.line(&lead, hang, &head);
                    let blank = " ".repeat(hang);
                    self.line(&format!("{blank}from  "), hang + 6, &from);
                    self.line(&format!("{blank}to    "), hang + 6, &to);
                }
            }
            (one, other) => {
                let words = one.or(other).unwrap_or_default();
                let gap = if what.is_empty() || words.is_empty() { "" } else { ": " };
                self.line(&lead, hang, &format!("{what}{gap}{words} {lines}"));
            }
        }
        if !change.used_by.is_empty() {
            let rules = crate::report::text::list(change.used_by.iter().map(String::as_str), 8);
            self.line(&" ".repeat(hang), hang + 2, &format!("used by {rules}"));
        }
    }

    /// Where a change is to be seen: `(line 14)`, `(line 14 → 16)`, `(new line 16)`.
    fn lines_of(&self, change: &Change) -> String {
        let line = |side: &Option<Side>, text: Text<'_>| {
            side.as_ref().map(|side| text.sources.start_of(side.place).map_or(0, |position| position.line))
        };
        match (line(&change.from, self.compared.old), line(&change.to, self.compared.new)) {
            (Some(old), Some(new)) if old == new => format!("(line {old})"),
            (Some(old), Some(new)) => format!("(line {old} {} {new})", self.arrow()),
            (Some(old), None) => format!("(old line {old})"),
            (None, Some(new)) => format!("(new line {new})"),
            (None, None) => String::new(),
        }
    }

    fn strictness(&mut self) {
        let told = &self.compared.comparison.strictness;
        if told.is_empty() {
            return;
        }
        self.blank();
        self.heading("what the changes of rules come to");
        for one in told.iter().take(MOST_LISTED) {
            self.line("  ", 4, &format!("{}: {}", shown(&one.rule), one.words()));
            for witness in one.witnesses() {
                self.line("    ", 6, &format!("in {}", shown(&witness.record)));
                let found = format!("old: {}; new: {}", heaviest(witness.one), heaviest(witness.other));
                self.line("      ", 8, &found);
            }
        }
    }

    fn lines(&mut self) {
        let Some(lines) = self.compared.lines else { return };
        self.blank();
        self.heading("line by line");
        match lines {
            None => self.line("  ", 2, "the texts are too long for that"),
            Some("") => self.line("  ", 2, "no line differs"),
            Some(lines) => self.out.extend_from_slice(shown_lines(lines).as_bytes()),
        }
    }

    fn outcomes(&mut self) {
        let Some(outcomes) = self.compared.outcomes else { return };
        let mut names: Vec<&str> = outcomes.changes.iter().map(|change| change.document.as_str()).collect();
        names.dedup();
        self.blank();
        self.heading(&format!(
            "outcomes that change: in {} of {}",
            names.len(),
            count(outcomes.documents as u64, "document")
        ));
        let mut document = None;
        for change in outcomes.changes.iter().take(MOST_LISTED) {
            if document != Some(&change.document) {
                self.line("  ", 4, &shown(&change.document));
                document = Some(&change.document);
            }
            self.line("    ", 6, &format!("line {}: {}", change.line, shown(&change.rule)));
            self.line("      from  ", 12, &shown(&said(&change.from)));
            self.line("      to    ", 12, &shown(&said(&change.to)));
        }
        if outcomes.changes.len() > MOST_LISTED {
            self.line("  ", 2, &format!("{} more are not listed", outcomes.changes.len() - MOST_LISTED));
        }
        for (name, why) in outcomes.unread {
            self.line("  ", 4, &format!("not judged: {}: {}", shown(name), shown(why)));
        }
    }

    fn sum(&mut self) {
        self.blank();
        let Comparison { changes, spellings, .. } = self.compared.comparison;
        let kinds = [Kind::Added, Kind::TakenOut, Kind::Changed, Kind::Renamed, Kind::Moved];
        let counted = kinds.iter().filter_map(|kind| {
            let number = changes.iter().filter(|change| change.kind == *kind).count();
            (number > 0).then(|| format!("{number} {}", kind.words()))
        });
        let counted: Vec<String> = counted.collect();
        let all = if changes.is_empty() {
            "nothing changed in meaning".to_owned()
        } else {
            format!("{} in meaning: {}", count(changes.len() as u64, "change"), counted.join(", "))
        };
        self.line("", 2, &all);
        if !spellings.is_empty() && !self.compared.with_spellings {
            let values = count(spellings.len() as u64, "value");
            self.line("", 2, &format!("{values} only written otherwise (--spellings names them)"));
        }
        if self.compared.comparison.edition_was_not_raised() {
            self.line("", 2, "the edition was not raised, although the meaning changed");
        }
    }
}

/// What the heaviest finding of some rules is, in words.
#[must_use]
pub fn heaviest(found: Heaviest) -> String {
    match found {
        None => "nothing is found".to_owned(),
        Some((severity, true)) => format!("{}, broken", severity.word()),
        Some((severity, false)) => format!("{}, undecided", severity.word()),
    }
}

/// What an edition says, in words.
fn said(said: &Said) -> String {
    match said {
        Said::Finding(finding) => format!("{}: {}", facts::kind(finding), finding.message),
        Said::NoFinding => "no finding".to_owned(),
        Said::NotConcerned => "not concerned".to_owned(),
        Said::NotApplied => "its standard does not apply".to_owned(),
        Said::NoRule => "there is no such rule".to_owned(),
        Said::Counted(broken, undecided) => format!("{broken} broken, {undecided} undecided"),
        Said::Mistake(message) => message.clone(),
        Said::NoMistake => "nothing prevents it".to_owned(),
    }
}

/// Tells the same to programs, as one JSON object.
pub fn for_programs(compared: &Compared<'_>, out: &mut Vec<u8>) {
    let Comparison { changes: list, spellings, editions, .. } = compared.comparison;
    let report = ReportOut {
        form: FORM,
        old: TextOut::new(compared.old, editions.0),
        new: TextOut::new(compared.new, editions.1),
        edition_was_not_raised: compared.comparison.edition_was_not_raised(),
        changes: list.iter().map(|change| ChangeOut::new(change, compared)).collect(),
        spellings: spellings.iter().map(|change| ChangeOut::new(change, compared)).collect(),
        rules: compared.comparison.strictness.iter().map(RuleOut::new).collect(),
        lines: compared.lines.flatten(),
        outcomes: compared.outcomes.map(OutcomesOut::new),
    };
    json::write(&report, out);
    out.push(b'\n');
}

#[derive(Serialize)]
struct ReportOut<'c> {
    form: &'static str,
    old: TextOut<'c>,
    new: TextOut<'c>,
    edition_was_not_raised: bool,
    changes: Vec<ChangeOut<'c>>,
    spellings: Vec<ChangeOut<'c>>,
    rules: Vec<RuleOut<'c>>,
    lines: Option<&'c str>,
    outcomes: Option<OutcomesOut<'c>>,
}

#[derive(Serialize)]
struct TextOut<'c> {
    name: &'c str,
    content: String,
    edition: Option<u32>,
}

impl<'c> TextOut<'c> {
    fn new(text: Text<'c>, edition: Option<Edition>) -> Self {
        TextOut { name: text.name, content: text.digest.to_string(), edition: edition.map(Edition::number) }
    }
}

#[derive(Serialize)]
struct ChangeOut<'c> {
    kind: String,
    part: &'c str,
    what: &'c str,
    from: Option<SideOut<'c>>,
    to: Option<SideOut<'c>>,
    used_by: &'c [String],
}

impl<'c> ChangeOut<'c> {
    fn new(change: &'c Change, compared: &Compared<'c>) -> Self {
        ChangeOut {
            kind: change.kind.words().replace(' ', "_"),
            part: &change.part,
            what: &change.what,
            from: change.from.as_ref().map(|side| SideOut::new(side, compared.old)),
            to: change.to.as_ref().map(|side| SideOut::new(side, compared.new)),
            used_by: &change.used_by,
        }
    }
}

#[derive(Serialize)]
struct RuleOut<'c> {
    rule: &'c str,
    relation: &'static str,
    records: Vec<RecordOut<'c>>,
}

#[derive(Serialize)]
struct RecordOut<'c> {
    record: &'c str,
    old: String,
    new: String,
}

impl<'c> RuleOut<'c> {
    fn new(one: &'c RuleChange) -> Self {
        let record = |witness: &'c Witness| RecordOut {
            record: &witness.record,
            old: heaviest(witness.one),
            new: heaviest(witness.other),
        };
        RuleOut { rule: &one.rule, relation: one.word(), records: one.witnesses().map(record).collect() }
    }
}

#[derive(Serialize)]
struct SideOut<'c> {
    words: &'c str,
    path: &'c str,
    source: &'c str,
    line: usize,
    column: usize,
}

/// Where a text begins.
const START: Position = Position { line: 1, column: 1, utf16: 1 };

impl<'c> SideOut<'c> {
    fn new(side: &'c Side, text: Text<'c>) -> Self {
        let Position { line, column, .. } = text.sources.start_of(side.place).unwrap_or(START);
        let source = text.sources.name(side.place.source);
        SideOut { words: &side.words, path: &side.path, source, line, column }
    }
}

#[derive(Serialize)]
struct OutcomesOut<'c> {
    documents: usize,
    unread: Vec<UnreadOut<'c>>,
    changes: Vec<OutcomeOut<'c>>,
}

#[derive(Serialize)]
struct UnreadOut<'c> {
    document: &'c str,
    why: &'c str,
}

#[derive(Serialize)]
struct OutcomeOut<'c> {
    document: &'c str,
    line: usize,
    rule: &'c str,
    from: String,
    to: String,
}

impl<'c> OutcomesOut<'c> {
    fn new(outcomes: Outcomes<'c>) -> Self {
        OutcomesOut {
            documents: outcomes.documents,
            unread: outcomes.unread.iter().map(|(document, why)| UnreadOut { document, why }).collect(),
            changes: outcomes
                .changes
                .iter()
                .map(|change| OutcomeOut {
                    document: &change.document,
                    line: change.line,
                    rule: &change.rule,
                    from: said(&change.from),
                    to: said(&change.to),
                })
                .collect(),
        }
    }
}
