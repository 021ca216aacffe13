//! The JSON form, for programs. `grammar/report.schema.json` describes it; [`FORM`] is its version.
//!
//! Each document stands on a line of its own, so that a reader can take in a very large report
//! line by line. The structs mirror what the program knows; only they decide what is written.

mod summary;

use serde::Serialize;

pub(super) use self::summary::SummaryOut;
use crate::diagnostic::{Diagnostic, Label};
use crate::edition::Edition;
use crate::finding::{
    Conformity, Finding, Granted, InTime, Judged, Near, Outcome, Standing, Summary, Tally, Values,
};
use crate::language::ids::{Id, RuleId};
use crate::letters::is_unseen;
use crate::quantity::Margin;
use crate::report::facts;
use crate::report::locate::locate;
use crate::report::{Format, JudgedBy, LeftOut, PROGRAM, RuleInfo, Run, SourceInfo, StandardInfo, Style};
use crate::signal::Exactness;
use crate::source::{Place, Position, Sources};

/// The form and version of the report.
pub const FORM: &str = "report/1";

/// The JSON Schema of the report.
pub const SCHEMA: &str = include_str!("../../../grammar/report.schema.json");

/// The JSON form.
pub struct Json;

impl Format for Json {
    fn head(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let head = HeadOut::new(run);
        out.push(b'{');
        member("form", &FORM, out);
        member("tool", &head.tool, out);
        member("as_of", &head.as_of, out);
        member("decision", &head.decision, out);
        member("fail_on", &head.fail_on, out);
        member("judged_by", &head.judged_by, out);
        member("standards", &head.standards, out);
        member("rules", &head.rules, out);
        member("diagnostics", &head.diagnostics, out);
        out.extend_from_slice(b"\"documents\":[\n");
    }

    fn faults(&self, _run: &Run, _style: &Style, _out: &mut Vec<u8>) {}

    fn document(&self, run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        write(&DocumentOut::new(run, judged), out);
    }

    fn between(&self) -> &'static str {
        ",\n"
    }

    fn tail(&self, run: &Run, summary: &Summary, _left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        out.extend_from_slice(b"\n],\n\"summary\":");
        write(&SummaryOut::new(run, summary), out);
        out.extend_from_slice(b"}\n");
    }
}

/// Appends a value. Writing to memory cannot fail, and no key here is anything but a string.
pub(crate) fn write(value: &(impl Serialize + ?Sized), out: &mut Vec<u8>) {
    let written = value.serialize(&mut serde_json::Serializer::with_formatter(out, Visible));
    debug_assert!(written.is_ok());
}

/// Writes out in strings what could not be seen there, and the second of two signs that make a command of a server. Whoever
/// reads the JSON gets the same string.
struct Visible;

impl serde_json::ser::Formatter for Visible {
    fn write_string_fragment<W>(&mut self, writer: &mut W, fragment: &str) -> std::io::Result<()>
    where
        W: ?Sized + std::io::Write,
    {
        let (mut plain, mut before) = (0, '"');
        for (at, c) in fragment.char_indices() {
            let is_mark = c == '#' && before == '#';
            before = c;
            if !is_mark && !is_unseen(c) && !c.is_control() {
                continue;
            }
            writer.write_all(fragment.get(plain..at).unwrap_or_default().as_bytes())?;
            for unit in c.encode_utf16(&mut [0; 2]) {
                write!(writer, "\\u{unit:04x}")?;
            }
            plain = at + c.len_utf8();
        }
        writer.write_all(fragment.get(plain..).unwrap_or_default().as_bytes())
    }
}

fn member(name: &str, value: &(impl Serialize + ?Sized), out: &mut Vec<u8>) {
    write(name, out);
    out.push(b':');
    write(value, out);
    out.extend_from_slice(b",\n");
}

#[derive(Serialize)]
struct ToolOut<'r> {
    name: &'static str,
    version: &'r str,
}

/// By what a run judges.
#[derive(Serialize)]
pub(super) struct HeadOut<'r> {
    tool: ToolOut<'r>,
    as_of: String,
    decision: String,
    fail_on: &'static str,
    judged_by: JudgedByOut<'r>,
    standards: Vec<StandardOut<'r>>,
    rules: Vec<RuleOut<'r>>,
    diagnostics: Vec<DiagnosticOut<'r>>,
}

impl<'r> HeadOut<'r> {
    pub(super) fn new(run: &'r Run) -> Self {
        let sources = &*run.sources;
        HeadOut {
            tool: ToolOut { name: PROGRAM, version: &run.version },
            as_of: run.as_of.to_string(),
            decision: run.decision.to_string(),
            fail_on: facts::severity(run.fail_on),
            judged_by: JudgedByOut::new(&run.judged_by),
            standards: run.standards.iter().map(|one| StandardOut::new(one, sources)).collect(),
            rules: run.rules.iter().map(|one| RuleOut::new(one, sources)).collect(),
            diagnostics: run.diagnostics.iter().map(|one| DiagnosticOut::new(one, sources)).collect(),
        }
    }
}

#[derive(Serialize)]
struct PositionOut {
    byte: u32,
    line: usize,
    column: usize,
}

impl PositionOut {
    fn new(byte: u32, position: Position) -> Self {
        PositionOut { byte, line: position.line, column: position.column }
    }
}

#[derive(Serialize)]
struct PlaceOut<'r> {
    source: &'r str,
    start: PositionOut,
    end: PositionOut,
}

fn place(sources: &Sources, place: Place) -> Option<PlaceOut<'_>> {
    let located = locate(sources, place)?;
    Some(PlaceOut {
        source: located.source.name(),
        start: PositionOut::new(located.span.start, located.start),
        end: PositionOut::new(located.span.end, located.end),
    })
}

#[derive(Serialize)]
struct StandardOut<'r> {
    name: &'r str,
    edition: Option<u32>,
    title: Option<&'r str>,
    at: Option<PlaceOut<'r>>,
}

impl<'r> StandardOut<'r> {
    fn new(info: &'r StandardInfo, sources: &'r Sources) -> Self {
        StandardOut {
            name: &info.name,
            edition: info.edition.map(Edition::number),
            title: info.title.as_deref(),
            at: place(sources, info.place),
        }
    }
}

#[derive(Serialize)]
struct SourceOut<'r> {
    name: &'r str,
    sha256: String,
}

impl<'r> SourceOut<'r> {
    fn new(source: &'r SourceInfo) -> Self {
        SourceOut { name: &source.name, sha256: source.digest.to_string() }
    }
}

#[derive(Serialize)]
pub(super) struct JudgedByOut<'r> {
    settings: Option<SourceOut<'r>>,
    named: bool,
    files_may_bring: &'r [&'static str],
    rule_files: Vec<SourceOut<'r>>,
    others: Vec<SourceOut<'r>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    registers: Option<Vec<SourceOut<'r>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    procedures: Option<Vec<SourceOut<'r>>>,
    command_line: &'r [String],
}

impl<'r> JudgedByOut<'r> {
    pub(super) fn new(judged_by: &'r JudgedBy) -> Self {
        JudgedByOut {
            settings: judged_by.settings.as_ref().map(SourceOut::new),
            named: judged_by.named,
            files_may_bring: &judged_by.brought,
            rule_files: judged_by.rule_files.iter().map(SourceOut::new).collect(),
            others: judged_by.others.iter().map(SourceOut::new).collect(),
            registers: judged_by
                .linked
                .as_ref()
                .map(|linked| linked.registers.iter().map(SourceOut::new).collect()),
            procedures: judged_by
                .linked
                .as_ref()
                .map(|linked| linked.procedures.iter().map(SourceOut::new).collect()),
            command_line: &judged_by.command_line,
        }
    }
}

#[derive(Serialize)]
struct RuleOut<'r> {
    rule: &'r str,
    title: &'r str,
    severity: &'static str,
    remedy: Option<&'r str>,
    because: Option<&'r str>,
    basis: Option<&'r str>,
    left_out: Option<&'r str>,
    at: Option<PlaceOut<'r>>,
}

impl<'r> RuleOut<'r> {
    fn new(info: &'r RuleInfo, sources: &'r Sources) -> Self {
        RuleOut {
            rule: &info.name,
            title: &info.title,
            severity: facts::severity(info.severity),
            remedy: info.remedy.as_deref(),
            because: info.because.as_deref(),
            basis: info.basis.as_deref(),
            left_out: info.left_out.as_deref(),
            at: place(sources, info.place),
        }
    }
}

#[derive(Serialize)]
struct LabelOut<'r> {
    at: Option<PlaceOut<'r>>,
    text: &'r str,
}

#[derive(Serialize)]
struct DiagnosticOut<'r> {
    code: &'static str,
    level: &'static str,
    message: &'r str,
    labels: Vec<LabelOut<'r>>,
    help: Option<&'r str>,
    fix: Option<FixOut<'r>>,
}

#[derive(Serialize)]
struct FixOut<'r> {
    at: Option<PlaceOut<'r>>,
    replacement: &'r str,
}

impl<'r> DiagnosticOut<'r> {
    fn new(diagnostic: &'r Diagnostic, sources: &'r Sources) -> Self {
        let label = |label: &'r Label| LabelOut { at: place(sources, label.place), text: &label.text };
        DiagnosticOut {
            code: diagnostic.code.as_str(),
            level: facts::level(diagnostic.level),
            message: &diagnostic.message,
            labels: diagnostic.labels.iter().map(label).collect(),
            help: diagnostic.help.as_deref(),
            fix: diagnostic
                .fix
                .as_ref()
                .map(|fix| FixOut { at: place(sources, fix.place), replacement: &fix.replacement }),
        }
    }
}

#[derive(Serialize)]
struct MarginOut {
    value: String,
    unit: Option<&'static str>,
    share: Option<String>,
}

impl MarginOut {
    fn new(margin: &Margin) -> Self {
        MarginOut {
            value: margin.distance.magnitude().to_string(),
            unit: margin.distance.unit().map(|unit| unit.symbol),
            share: margin.share.as_ref().map(ToString::to_string),
        }
    }
}

#[derive(Serialize)]
struct ConformityOut<'r> {
    probability: f64,
    expanded_uncertainty: String,
    coverage_factor: &'r str,
    from: &'r str,
}

impl<'r> ConformityOut<'r> {
    fn new(conformity: &'r Conformity) -> Self {
        ConformityOut {
            probability: conformity.probability,
            expanded_uncertainty: conformity.expanded.to_string(),
            coverage_factor: &conformity.coverage,
            from: conformity.from,
        }
    }
}

#[derive(Serialize)]
struct InTimeOut {
    seconds: String,
    exactness: &'static str,
}

impl InTimeOut {
    fn new(in_time: &InTime) -> Self {
        InTimeOut {
            seconds: in_time.seconds.to_string(),
            exactness: match in_time.exactness {
                Exactness::Exact => "exact",
                Exactness::AtLeast => "at_least",
                Exactness::AtMost => "at_most",
            },
        }
    }
}

#[derive(Serialize)]
struct GrantedOut<'r> {
    by: &'r str,
    name: Option<&'r str>,
    until: Option<&'r str>,
    for_job: Option<&'r str>,
    reason: &'r str,
    at: Option<PlaceOut<'r>>,
}

impl<'r> GrantedOut<'r> {
    fn new(granted: &'r Granted, sources: &'r Sources) -> Self {
        GrantedOut {
            by: &granted.by,
            name: granted.name.as_deref(),
            until: granted.until.as_deref(),
            for_job: granted.for_job.as_deref(),
            reason: &granted.reason,
            at: place(sources, granted.at),
        }
    }
}

#[derive(Serialize)]
struct FindingOut<'r> {
    rule: &'r str,
    title: &'r str,
    outcome: &'static str,
    severity: &'static str,
    standing: &'static str,
    message: &'r str,
    subject: &'r str,
    path: &'r str,
    at: Option<PlaceOut<'r>>,
    at_text: &'r str,
    related: Vec<LabelOut<'r>>,
    demand: Option<PlaceOut<'r>>,
    found: Option<&'r str>,
    required: Option<&'r str>,
    off_by: Option<&'r str>,
    in_time: Option<InTimeOut>,
    conformity: Option<ConformityOut<'r>>,
    near: Option<&'r str>,
    concession: Option<GrantedOut<'r>>,
    missing: &'r [String],
    waits_for: Option<&'r str>,
    margin: Option<MarginOut>,
    remedy: Option<&'r str>,
    because: Option<&'r str>,
    basis: Option<&'r str>,
}

impl<'r> FindingOut<'r> {
    fn new(finding: &'r Finding, sources: &'r Sources) -> Self {
        FindingOut {
            rule: &finding.rule,
            title: &finding.title,
            outcome: outcome(finding.outcome),
            severity: facts::severity(finding.severity),
            standing: standing(finding.standing),
            message: &finding.message,
            subject: &finding.subject,
            path: &finding.path,
            at: place(sources, finding.at),
            at_text: &finding.at_text,
            related: finding
                .related
                .iter()
                .map(|related| LabelOut { at: place(sources, related.at), text: &related.text })
                .collect(),
            demand: place(sources, finding.demand),
            found: finding.found.as_deref(),
            required: finding.required.as_deref(),
            off_by: finding.off_by.as_deref(),
            in_time: finding.in_time.as_ref().map(InTimeOut::new),
            conformity: finding.conformity.as_ref().map(ConformityOut::new),
            near: finding.near.as_deref(),
            concession: finding.concession.as_ref().map(|granted| GrantedOut::new(granted, sources)),
            missing: &finding.missing,
            waits_for: finding.awaited.as_ref().map(|awaited| awaited.what.as_str()),
            margin: finding.margin.as_ref().map(MarginOut::new),
            remedy: finding.remedy.as_deref(),
            because: finding.because.as_deref(),
            basis: finding.basis.as_deref(),
        }
    }
}

/// The outcome, as reports for programs name it.
pub(super) fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Met => "met",
        Outcome::Broken => "broken",
        Outcome::Undecided => "undecided",
        Outcome::NotConcerned => "not_concerned",
    }
}

/// The standing, as reports for programs name it.
pub(super) fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Counts => "counts",
        Standing::StillToDo => "still_to_do",
        Standing::Passed => "let_pass",
        Standing::Known => "known",
        Standing::Conceded => "conceded",
    }
}

#[derive(Serialize)]
struct TallyOut<'r> {
    rule: &'r str,
    met: u64,
    broken: u64,
    undecided: u64,
    not_concerned: u64,
    steps: u64,
}

impl<'r> TallyOut<'r> {
    fn new(rule: &'r str, tally: &Tally) -> Self {
        let Tally { met, broken, undecided, not_concerned, steps } = *tally;
        TallyOut { rule, met, broken, undecided, not_concerned, steps }
    }
}

#[derive(Serialize)]
struct NearOut<'r> {
    document: &'r str,
    line: usize,
    rule: &'r str,
    path: &'r str,
    found: &'r str,
    required: &'r str,
    margin: MarginOut,
}

impl<'r> NearOut<'r> {
    fn new(near: &'r Near) -> Self {
        NearOut {
            document: &near.document,
            line: near.line,
            rule: &near.rule,
            path: &near.path,
            found: &near.found,
            required: &near.required,
            margin: MarginOut::new(&near.margin),
        }
    }
}

#[derive(Serialize)]
pub(super) struct DocumentOut<'r> {
    name: &'r str,
    source: &'r str,
    headline: &'r str,
    readable: bool,
    standards: &'r [String],
    diagnostics: Vec<DiagnosticOut<'r>>,
    findings: Vec<FindingOut<'r>>,
    tallies: Vec<TallyOut<'r>>,
    nearest: Vec<NearOut<'r>>,
    values: ValuesOut,
}

/// How many of the values that some rule should judge one did, and how many none.
#[derive(Serialize)]
struct ValuesOut {
    judged: u64,
    unjudged: u64,
}

impl ValuesOut {
    fn new(values: Values) -> Self {
        ValuesOut { judged: values.judged, unjudged: values.unjudged }
    }
}

impl<'r> DocumentOut<'r> {
    pub(super) fn new(run: &'r Run, judged: &'r Judged) -> Self {
        let sources = &judged.sources;
        let tally = |(number, tally): &(RuleId, Tally)| {
            let rule = run.rules.get(number.place())?;
            Some(TallyOut::new(&rule.name, tally))
        };
        DocumentOut {
            name: &judged.name,
            source: sources.name(judged.source),
            headline: &judged.headline,
            readable: judged.readable,
            standards: &judged.standards,
            diagnostics: judged.diagnostics.iter().map(|one| DiagnosticOut::new(one, sources)).collect(),
            findings: judged.findings.iter().map(|one| FindingOut::new(one, sources)).collect(),
            tallies: judged.tallies.iter().filter_map(tally).collect(),
            nearest: judged.nearest.iter().map(NearOut::new).collect(),
            values: ValuesOut::new(judged.values),
        }
    }
    /// Leaves out the rules that concern nothing in the document.
    pub(super) fn leave_out_idle_rules(&mut self) {
        self.tallies.retain(|tally| tally.met + tally.broken + tally.undecided > 0);
    }
}
