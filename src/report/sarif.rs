//! SARIF 2.1.0, the format in which checking tools hand their results to editors and servers
//! (OASIS Standard, 27 March 2020).
//!
//! One run. A broken or undecided rule is a result with the rule's full name, and so is a
//! diagnostic, with its code. What does not count now (work still to do, missing data that a rule
//! lets pass) is a result of the kind `open`, which by the standard has no level.

use std::collections::BTreeMap;

use serde_json::Value;
use serde_sarif::sarif::{
    ArtifactChange, ArtifactContent, ArtifactLocation, Fix, Invocation, Location, LogicalLocation, Message,
    MultiformatMessageString, PhysicalLocation, PropertyBag, Region, Replacement, ReportingConfiguration,
    ReportingDescriptor, Result as Entry, ResultKind, ResultLevel, Suppression, Tool, ToolComponent,
};

use crate::code::{CODES, CodeRow};
use crate::diagnostic::{self, Diagnostic, Level};
use crate::finding::{Finding, Granted, Judged, Related, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::facts;
use crate::report::json::{SummaryOut, outcome, standing, write};
use crate::report::locate::{Located, locate};
use crate::report::{Format, RuleInfo, Run, Style};
use crate::source::{Place, Sources};

/// Where the schema of the format is published, by its version.
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// The name under which results carry their identity; it changes if its parts change.
pub const FINGERPRINT: &str = "witnessmark/1";

/// Longer stretches of text are not repeated as a snippet (in bytes).
const LONGEST_SNIPPET: usize = 2_000;

/// The SARIF form.
pub struct Sarif;

impl Format for Sarif {
    fn head(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        put(out, "{\"$schema\":");
        write(SCHEMA, out);
        put(out, ",\n\"version\":\"2.1.0\",\n\"runs\":[{\"tool\":");
        write(&tool(run), out);
        put(out, ",\n\"columnKind\":\"unicodeCodePoints\",\n\"results\":[\n");
    }

    fn faults(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let mut entries = Entries::default();
        for diagnostic in &run.diagnostics {
            entries.diagnostic(run, diagnostic, &run.sources, None);
        }
        entries.write(out);
    }

    fn document(&self, run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        let mut entries = Entries::default();
        for diagnostic in &judged.diagnostics {
            entries.diagnostic(run, diagnostic, &judged.sources, Some(&judged.name));
        }
        for finding in &judged.findings {
            entries.finding(run, finding, judged);
        }
        entries.write(out);
    }

    fn between(&self) -> &'static str {
        ",\n"
    }

    fn tail(&self, run: &Run, summary: &Summary, _style: &Style, out: &mut Vec<u8>) {
        put(out, "\n],\n\"invocations\":");
        let complete = summary.rule_errors == 0 && summary.unreadable == 0 && summary.documents > 0;
        write(&[Invocation::builder().execution_successful(complete).build()], out);
        put(out, ",\n\"properties\":{\"asOf\":");
        write(&run.as_of.to_string(), out);
        put(out, ",\"decision\":");
        write(&run.decision.to_string(), out);
        put(out, ",\"failsAt\":");
        write(facts::severity(run.fails_at), out);
        put(out, ",\"summary\":");
        write(&SummaryOut::new(run, summary), out);
        put(out, "}}]}\n");
    }
}

fn put(out: &mut Vec<u8>, text: &str) {
    out.extend_from_slice(text.as_bytes());
}

fn tool(run: &Run) -> Tool {
    let codes = CODES.iter().map(code_descriptor);
    let rules = run.rules.iter().map(rule_descriptor).chain(codes).collect::<Vec<_>>();
    let driver = ToolComponent::builder()
        .name(env!("CARGO_PKG_NAME"))
        .semantic_version(run.version.clone())
        .short_description(words(env!("CARGO_PKG_DESCRIPTION")))
        .rules(rules)
        .build();
    Tool::builder().driver(driver).build()
}

/// A rule's number in the list of rules that [`tool`] writes, as is a code's.
fn index_of(run: &Run, id: &str) -> Option<i64> {
    let rule = run.rules.iter().position(|rule| rule.name == id);
    let code = || CODES.iter().position(|row| row.code.as_str() == id).map(|at| at + run.rules.len());
    rule.or_else(code).and_then(|at| i64::try_from(at).ok())
}

fn rule_descriptor(rule: &RuleInfo) -> ReportingDescriptor {
    let told = [("Remedy", &rule.remedy), ("Because", &rule.because), ("Basis", &rule.basis)];
    let told: Vec<_> =
        told.into_iter().filter_map(|(name, text)| Some(format!("{name}: {}", text.as_deref()?))).collect();
    let help = if told.is_empty() { rule.title.clone() } else { told.join("\n") };
    ReportingDescriptor {
        default_configuration: Some(configuration(level(rule.severity))),
        help: Some(words(&help)),
        ..descriptor(&rule.name, &rule.title)
    }
}

fn code_descriptor(row: &CodeRow) -> ReportingDescriptor {
    ReportingDescriptor { help: Some(words(row.explanation)), ..descriptor(row.code.as_str(), row.title) }
}

fn descriptor(id: &str, title: &str) -> ReportingDescriptor {
    ReportingDescriptor::builder().id(id).short_description(words(title)).build()
}

fn configuration(level: ResultLevel) -> ReportingConfiguration {
    ReportingConfiguration::builder().level(Value::String(level.to_string())).build()
}

fn words(text: &str) -> MultiformatMessageString {
    MultiformatMessageString::builder().text(text).build()
}

fn message(text: &str) -> Message {
    Message::builder().text(text).build()
}

fn level(severity: Severity) -> ResultLevel {
    match severity {
        Severity::Hold => ResultLevel::Error,
        Severity::Advise => ResultLevel::Warning,
        Severity::Note => ResultLevel::Note,
    }
}

/// The results of one part.
#[derive(Default)]
struct Entries {
    list: Vec<Entry>,
    /// How often each identity was given; a second demand of a rule on the same value is the
    /// second of its identity.
    given: BTreeMap<String, u32>,
}

impl Entries {
    fn write(&self, out: &mut Vec<u8>) {
        for (at, entry) in self.list.iter().enumerate() {
            if at > 0 {
                put(out, ",\n");
            }
            write(entry, out);
        }
    }

    fn identity(&mut self, parts: &[&str]) -> BTreeMap<String, String> {
        let parts: Vec<_> = parts.iter().map(|part| part.replace('|', "||")).collect();
        let mut identity = parts.join(" | ");
        let times = self.given.entry(identity.clone()).or_default();
        *times += 1;
        if *times > 1 {
            identity += &format!(" | {times}");
        }
        BTreeMap::from([(FINGERPRINT.to_owned(), identity)])
    }

    fn finding(&mut self, run: &Run, finding: &Finding, judged: &Judged) {
        let standing = finding.standing;
        let counts = matches!(standing, Standing::Known | Standing::Conceded | Standing::Counts);
        let subject = if finding.path.is_empty() { &finding.subject } else { &finding.path };
        let mut location = location(&judged.sources, finding.at, &finding.at_text);
        location.logical_locations = logical(subject);
        let demand = Location { id: Some(1), ..location_of_demand(&judged.sources, finding) };
        let mut entry = entry(run, &finding.rule, &finding.message);
        entry.kind = Some(if counts { ResultKind::Fail } else { ResultKind::Open });
        entry.level = Some(if counts { level(finding.severity) } else { ResultLevel::None });
        entry.locations = Some(vec![location]);
        let others = finding.related.iter().enumerate().map(|(number, related)| Location {
            id: i64::try_from(number + 2).ok(),
            ..location_of(&judged.sources, related)
        });
        entry.related_locations = Some([demand].into_iter().chain(others).collect());
        entry.partial_fingerprints =
            Some(self.identity(&[&finding.rule, &judged.name, &finding.subject, &finding.path]));
        entry.properties = Some(properties(finding, &judged.name));
        entry.suppressions = match &finding.concession {
            Some(granted) => Some(conceded(granted)),
            None => (standing == Standing::Known).then(accepted),
        };
        self.list.push(entry);
    }

    fn diagnostic(&mut self, run: &Run, diagnostic: &Diagnostic, sources: &Sources, document: Option<&str>) {
        let code = diagnostic.code.as_str();
        let mut locations = diagnostic.labels.iter().map(|label| location(sources, label.place, &label.text));
        let text = match &diagnostic.help {
            Some(help) => format!("{}; {help}", diagnostic.message),
            None => diagnostic.message.clone(),
        };
        let mut entry = entry(run, code, &text);
        entry.kind = Some(ResultKind::Fail);
        entry.level = Some(match diagnostic.level {
            Level::Error | Level::Known => ResultLevel::Error,
            Level::Advice => ResultLevel::Warning,
        });
        entry.locations = locations.next().map(|first| vec![first]);
        entry.related_locations = Some(locations.collect()).filter(|others: &Vec<_>| !others.is_empty());
        let name = diagnostic.place().map_or("", |place| sources.name(place.source));
        entry.partial_fingerprints =
            Some(self.identity(&[code, document.unwrap_or(name), &diagnostic.message]));
        entry.suppressions = (diagnostic.level == Level::Known).then(accepted);
        entry.fixes = diagnostic.fix.as_deref().and_then(|fix| Some(vec![respelling(sources, fix)?]));
        self.list.push(entry);
    }
}

fn respelling(sources: &Sources, fix: &diagnostic::Fix) -> Option<Fix> {
    let located = locate(sources, fix.place)?;
    let text = ArtifactContent::builder().text(&*fix.replacement).build();
    let replacement = Replacement::builder().deleted_region(region(&located)).inserted_content(text).build();
    let location = ArtifactLocation::builder().uri(uri(located.source.name())).build();
    let change =
        ArtifactChange::builder().artifact_location(location).replacements(vec![replacement]).build();
    Some(Fix::builder().artifact_changes(vec![change]).build())
}

/// What marks a result that the file of known findings accepts.
fn accepted() -> Vec<Suppression> {
    vec![Suppression::builder().kind("external").status("accepted").build()]
}

/// What marks a result that stands under a concession.
fn conceded(granted: &Granted) -> Vec<Suppression> {
    let suppression = Suppression::builder().kind("inSource").status("accepted");
    vec![suppression.justification(granted.words()).build()]
}

fn entry(run: &Run, id: &str, text: &str) -> Entry {
    let mut entry = Entry::builder().message(message(text)).rule_id(id).build();
    entry.rule_index = index_of(run, id);
    entry
}

fn properties(finding: &Finding, document: &str) -> PropertyBag {
    let text = |text: &Option<String>| text.clone().map(Value::String);
    let margin = finding.margin.as_ref();
    let entries = [
        ("document", Some(Value::from(document))),
        ("outcome", Some(Value::from(outcome(finding.outcome)))),
        ("severity", Some(Value::from(facts::severity(finding.severity)))),
        ("standing", Some(Value::from(standing(finding.standing)))),
        ("found", text(&finding.found)),
        ("required", text(&finding.required)),
        ("offBy", text(&finding.off_by)),
        ("margin", margin.map(|margin| Value::from(margin.distance.to_string()))),
        ("marginShare", margin.and_then(|margin| Some(Value::from(margin.share.as_ref()?.to_string())))),
        ("timeMargin", finding.in_time.as_ref().map(|in_time| Value::from(in_time.words()))),
        ("conformity", finding.conformity.as_ref().map(|conformity| Value::from(conformity.words()))),
        ("remedy", text(&finding.remedy)),
        ("because", text(&finding.because)),
        ("basis", text(&finding.basis)),
        ("missing", Some(Value::from(finding.missing.clone())).filter(|_| !finding.missing.is_empty())),
    ];
    let known = entries.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    PropertyBag::builder().additional_properties(known.collect::<BTreeMap<_, _>>()).build()
}

fn logical(path: &str) -> Option<Vec<LogicalLocation>> {
    let name = Some(path).filter(|path| !path.is_empty())?;
    Some(vec![LogicalLocation::builder().fully_qualified_name(name).kind("property").build()])
}

fn location_of(sources: &Sources, related: &Related) -> Location {
    location(sources, related.at, &related.text)
}

fn location_of_demand(sources: &Sources, finding: &Finding) -> Location {
    location(sources, finding.demand, &finding.title)
}

fn location(sources: &Sources, place: Place, text: &str) -> Location {
    Location {
        message: Some(message(text)).filter(|_| !text.is_empty()),
        physical_location: locate(sources, place).map(|located| physical(&located)),
        ..Location::default()
    }
}

fn physical(located: &Located<'_>) -> PhysicalLocation {
    let artifact = ArtifactLocation::builder().uri(uri(located.source.name())).build();
    PhysicalLocation::builder().artifact_location(artifact).region(region(located)).build()
}

fn region(located: &Located<'_>) -> Region {
    // No source comes near the largest number; the type of the field decides.
    let number = |value: usize| i64::try_from(value).ok();
    let snippet = || ArtifactContent::builder().text(located.text).build();
    Region {
        start_line: number(located.start.line),
        start_column: number(located.start.column),
        end_line: number(located.end.line),
        end_column: number(located.end.column),
        byte_offset: number(located.span.start as usize),
        byte_length: number(located.span.len()),
        snippet: (1..=LONGEST_SNIPPET).contains(&located.text.len()).then(snippet),
        ..Region::default()
    }
}

/// The name of a source as a URI reference: every byte but the unreserved characters and `/` of
/// RFC 3986 is percent-encoded. A name that begins at the root of the file system becomes a
/// `file` URI.
#[must_use]
pub fn uri(name: &str) -> String {
    let mut uri = String::from(if name.starts_with('/') { "file://" } else { "" });
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                uri.push(char::from(byte));
            }
            _ => uri += &format!("%{byte:02X}"),
        }
    }
    uri
}
