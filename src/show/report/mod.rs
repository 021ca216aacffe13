//! Reports: what was found, in the form that its reader needs. One file per form.
//!
//! A report is a stream, so that a run over very many documents needs the memory of one: a head,
//! then parts in the order of the documents with the form's separator between them, then a tail.
//! Parts are rendered to memory, side by side if the caller likes, and [`Stream`] puts them in
//! sequence. Nothing here reads or writes a file.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use crate::diagnostic::Diagnostic;
use crate::edition::{Digest, Edition};
use crate::finding::{Judged, Summary};
use crate::language::ast::Severity;
use crate::metrology::conformity::DecisionRule;
use crate::source::{Place, Sources};

pub mod compare;
pub mod difference;
pub mod facts;
pub mod folded;
pub mod github;
pub mod gitlab;
pub mod identity;
pub mod json;
pub mod junit;
pub mod lines;
pub mod locate;
pub(crate) mod one_file;
pub mod pane;
pub mod plain;
pub mod sarif;
pub mod terminal;
pub mod terms;
pub mod text;
pub mod why;

/// What the program is called in reports; this crate has a name of its own.
pub const PROGRAM: &str = "witnessmark";

/// How a report for people is to look. Reports for programs take no notice of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Whether colour may be used.
    pub colour: bool,
    /// Columns of the reader's screen; fewer than [`Style::NARROWEST`] are taken as that many.
    pub width: usize,
    /// Whether lines may be drawn with characters outside ASCII.
    pub unicode: bool,
    /// Whether each finding is shown with its place, its reasons and its source; otherwise it
    /// takes one line.
    pub details: bool,
    /// Whether findings that wait for one value are shown each by itself.
    pub in_full: bool,
    /// Whether only what fails the run is shown, and nothing where all is well.
    pub quiet: bool,
    /// Whether a table says in how many documents each thing was found.
    pub statistics: bool,
}

impl Style {
    /// The narrowest screen that a report is laid out for.
    pub const NARROWEST: usize = 20;

    /// The columns to lay out for.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.width.max(Style::NARROWEST)
    }
}

impl Default for Style {
    fn default() -> Self {
        Style {
            colour: false,
            width: 80,
            unicode: true,
            details: true,
            in_full: false,
            quiet: false,
            statistics: false,
        }
    }
}

/// What is the same for all documents of a run.
#[derive(Clone, Debug)]
pub struct Run {
    /// The version of this program.
    pub version: String,
    /// The day as of which the documents are judged.
    pub as_of: Date,
    /// How readings with an uncertainty are decided where a demand does not say.
    pub decision: DecisionRule,
    /// The severity from which a finding fails the run.
    pub fail_on: Severity,
    /// The standards of the run.
    pub standards: Vec<StandardInfo>,
    /// The rules of all standards, by their number in the program.
    pub rules: Vec<RuleInfo>,
    /// What is wrong with the rules and settings.
    pub diagnostics: Vec<Diagnostic>,
    /// By what the documents are judged.
    pub judged_by: JudgedBy,
    /// The texts of the rules and settings.
    pub sources: Arc<Sources>,
}

/// By what a run judges, so that whoever reads its report can tell whether it was by what they trust.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JudgedBy {
    /// The settings, and whether the user named them.
    pub settings: Option<SourceInfo>,
    /// Whether the user named the settings.
    pub named: bool,
    /// What the judged files may bring with them.
    pub brought: Vec<&'static str>,
    /// The rule files that did not come with the program.
    pub rule_files: Vec<SourceInfo>,
    /// Schemas and files of known findings.
    pub others: Vec<SourceInfo>,
    /// The tool registers and procedures around the jobs, where the rules ask for them.
    pub linked: Option<Linked>,
    /// What the command line says of standards and parameters, option by option.
    pub command_line: Vec<String>,
}

/// The documents around the jobs of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Linked {
    /// The tool registers.
    pub registers: Vec<SourceInfo>,
    /// The procedures.
    pub procedures: Vec<SourceInfo>,
}

/// A text that was read, as reports name it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceInfo {
    /// Its name.
    pub name: String,
    /// Its content hash.
    pub digest: Digest,
}

/// A standard, as reports name it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandardInfo {
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<Edition>,
    /// Its title.
    pub title: Option<String>,
    /// Where it is written.
    pub place: Place,
}

/// A rule, as reports describe it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleInfo {
    /// Its full name, `standard.rule`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// How severe it is to break it.
    pub severity: Severity,
    /// What to do when it is broken.
    pub remedy: Option<String>,
    /// Why it matters.
    pub because: Option<String>,
    /// The source of its figures.
    pub basis: Option<String>,
    /// Why nothing is judged by it, where the settings say so.
    pub left_out: Option<String>,
    /// Where it is written.
    pub place: Place,
}

/// A form of report. Each function appends to `out` and never fails, whatever the texts hold.
pub trait Format: Sync {
    /// What stands before everything else.
    fn head(&self, run: &Run, style: &Style, out: &mut Vec<u8>);

    /// A part: what is wrong with the rules and settings of the run.
    fn faults(&self, run: &Run, style: &Style, out: &mut Vec<u8>);

    /// A part: one document.
    fn document(&self, run: &Run, judged: &Judged, style: &Style, out: &mut Vec<u8>);

    /// What stands between two parts that are not empty.
    fn between(&self) -> &'static str {
        ""
    }

    /// What ends the last of the parts, if there are any.
    fn behind(&self) -> &'static str {
        ""
    }

    /// How many of the entries of its parts whoever reads the form takes in; nothing where there is no limit.
    fn limit(&self) -> Option<Limit> {
        None
    }

    /// A last part, behind those of all documents.
    fn last(&self, _run: &Run, _summary: &Summary, _out: &mut Vec<u8>) {}

    /// What stands after everything else. What was left out of the parts is to be said here.
    fn tail(&self, run: &Run, summary: &Summary, left_out: &LeftOut, style: &Style, out: &mut Vec<u8>);

    /// Diagnostics by themselves, for the error stream; in words unless the form is drawn.
    fn diagnostics(&self, list: &[Diagnostic], sources: &Sources, style: &Style, out: &mut Vec<u8>) {
        plain::diagnostics(list, sources, style, out);
    }
}

/// The limit of a form, whose parts are entries with [`Format::between`] between them.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// The kind of an entry, and how many of that kind are taken in.
    pub kind_of: fn(&[u8]) -> (&'static str, u64),
}

/// How many entries of each kind were left out.
pub type LeftOut = BTreeMap<&'static str, u64>;

/// Who reads a form of report.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Audience {
    /// People: it can hold whatever there is to say.
    People,
    /// Programs that know our own form.
    Programs,
    /// Such programs that take what was found document by document.
    Lines,
    /// Programs of others, which know findings and nothing else.
    FindingsOnly,
}

/// A row of [`FORMATS`].
pub struct FormatRow {
    /// The name by which it is asked for.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub doc: &'static str,
    /// Who reads it.
    pub audience: Audience,
    /// The form itself.
    pub format: &'static dyn Format,
}

/// The form for a screen.
pub static TERMINAL: FormatRow = FormatRow {
    name: "terminal",
    doc: "for the screen, with the record and the rule side by side",
    audience: Audience::People,
    format: &terminal::Terminal,
};

/// The form for everything else that people read.
pub static PLAIN: FormatRow = FormatRow {
    name: "plain",
    doc: "one fact per line, for narrow screens, screen readers and logs",
    audience: Audience::People,
    format: &plain::Plain,
};

/// The form of a stream.
pub static LINES: FormatRow = FormatRow {
    name: "lines",
    doc: "for programs, one JSON document a line as soon as it is judged; grammar/lines.schema.json",
    audience: Audience::Lines,
    format: &lines::Lines,
};

/// Every form of report. A new form is one file and one row.
pub static FORMATS: &[&FormatRow] = &[
    &TERMINAL,
    &PLAIN,
    &FormatRow {
        name: "json",
        doc: "for programs; described by grammar/report.schema.json",
        audience: Audience::Programs,
        format: &json::Json,
    },
    &LINES,
    &FormatRow {
        name: "sarif",
        doc: "SARIF 2.1.0, the OASIS format of checking tools, for editors and servers",
        audience: Audience::FindingsOnly,
        format: &sarif::Sarif,
    },
    &FormatRow {
        name: "github",
        doc: "annotations of GitHub, which shows them at the lines of a change",
        audience: Audience::FindingsOnly,
        format: &github::Github,
    },
    &FormatRow {
        name: "gitlab",
        doc: "the code quality report of GitLab, in JSON",
        audience: Audience::FindingsOnly,
        format: &gitlab::Gitlab,
    },
    &FormatRow {
        name: "junit",
        doc: "JUnit XML, the form of test results that build servers show",
        audience: Audience::FindingsOnly,
        format: &junit::Junit,
    },
];

/// The form with this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static FormatRow> {
    FORMATS.iter().copied().find(|row| row.name == name)
}

/// Puts the parts of a report in sequence.
pub struct Stream<'r> {
    format: &'r dyn Format,
    run: &'r Run,
    style: Style,
    parted: bool,
    /// How many entries of each kind were taken in, where there is a limit.
    taken: BTreeMap<&'static str, u64>,
    left_out: LeftOut,
}

impl<'r> Stream<'r> {
    /// Begins a report: its head and what is wrong with the rules.
    pub fn begin(format: &'r dyn Format, run: &'r Run, style: Style, out: &mut Vec<u8>) -> Self {
        let (taken, left_out) = (BTreeMap::new(), LeftOut::new());
        let mut stream = Stream { format, run, style, parted: false, taken, left_out };
        format.head(run, &style, out);
        let mut part = Vec::new();
        format.faults(run, &style, &mut part);
        stream.part(&part, out);
        stream
    }

    /// Adds a part that [`Format::document`] rendered; an empty one leaves no trace.
    pub fn part(&mut self, part: &[u8], out: &mut Vec<u8>) {
        let Some(limit) = self.format.limit() else { return self.put(part, out) };
        let between = self.format.between();
        // A report for programs is text.
        let part = String::from_utf8_lossy(part);
        for entry in part.split(between).filter(|entry| !entry.is_empty()) {
            let (kind, most) = (limit.kind_of)(entry.as_bytes());
            let taken = self.taken.entry(kind).or_default();
            if *taken == most {
                *self.left_out.entry(kind).or_default() += 1;
                continue;
            }
            *taken += 1;
            self.put(entry.as_bytes(), out);
        }
    }

    fn put(&mut self, part: &[u8], out: &mut Vec<u8>) {
        if part.is_empty() {
            return;
        }
        if self.parted {
            out.extend_from_slice(self.format.between().as_bytes());
        }
        self.parted = true;
        out.extend_from_slice(part);
    }

    /// Ends the report.
    pub fn end(mut self, summary: &Summary, out: &mut Vec<u8>) {
        let mut last = Vec::new();
        self.format.last(self.run, summary, &mut last);
        self.put(&last, out);
        if self.parted {
            out.extend_from_slice(self.format.behind().as_bytes());
        }
        self.format.tail(self.run, summary, &self.left_out, &self.style, out);
    }
}

/// A whole report at once, for few documents.
#[must_use]
pub fn whole(
    format: &dyn Format,
    run: &Run,
    documents: &[Judged],
    summary: &Summary,
    style: Style,
) -> Vec<u8> {
    let mut out = Vec::new();
    let mut stream = Stream::begin(format, run, style, &mut out);
    for judged in documents {
        let mut part = Vec::new();
        format.document(run, judged, &style, &mut part);
        stream.part(&part, &mut out);
    }
    stream.end(summary, &mut out);
    out
}
