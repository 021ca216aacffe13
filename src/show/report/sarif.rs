//! SARIF 2.1.0, the format in which checking tools hand their results to editors and servers
//! (OASIS Standard, 27 March 2020).
//!
//! One run. A broken or undecided rule is a result with the rule's full name, and so is a
//! diagnostic, with its code. What does not count now (work still to do, missing data that a rule
//! lets pass) is a result of the kind `open`, which by the standard has no level.

use serde_json::{Map, Value, json};

use crate::code::{CODES, CodeRow};
use crate::diagnostic::{self, Diagnostic, Level};
use crate::finding::{Finding, Granted, Judged, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::facts;
use crate::report::identity::Identities;
use crate::report::json::{JudgedByOut, SummaryOut, outcome, standing, write};
use crate::report::locate::{Located, is_file, locate};
use crate::report::text::count;
use crate::report::{Format, LeftOut, Limit, PROGRAM, RuleInfo, Run, Style};
use crate::source::{Place, Sources};

/// Where the schema of the format is published, by its version.
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// The name under which results carry their identity; it changes if its parts change.
pub const FINGERPRINT: &str = "witnessmark/1";

/// GitHub refuses a log with more results, and other servers have no higher limit that is known.
const MOST_RESULTS: u64 = 25_000;

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
        put(out, ",\n\"originalUriBaseIds\":");
        let texts = "Texts that are no files: standard input, the command line and the shipped standards.";
        write(&json!({ TEXTS: { "description": words(texts) } }), out);
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

    fn limit(&self) -> Option<Limit> {
        Some(Limit { kind_of: |_| ("result", MOST_RESULTS) })
    }

    fn tail(&self, run: &Run, summary: &Summary, left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        put(out, "\n],\n\"invocations\":");
        let complete = summary.rule_errors == 0
            && summary.unreadable == 0
            && summary.hidden.is_empty()
            && (summary.documents > 0 || summary.nothing_changed());
        let notifications: Vec<Value> = left_out
            .values()
            .map(|number| {
                let text = format!(
                    "{} left out, because servers take {MOST_RESULTS}; --format json lists all",
                    count(*number, "result")
                );
                json!({ "level": "warning", "message": words(&text) })
            })
            .collect();
        let notifications = Some(Value::from(notifications)).filter(|_| !left_out.is_empty());
        let invocation = object([
            ("executionSuccessful", Some(json!(complete))),
            ("toolExecutionNotifications", notifications),
        ]);
        write(&json!([invocation]), out);
        put(out, ",\n\"properties\":{\"asOf\":");
        write(&run.as_of.to_string(), out);
        put(out, ",\"decision\":");
        write(&run.decision.to_string(), out);
        put(out, ",\"failOn\":");
        write(facts::severity(run.fail_on), out);
        put(out, ",\"judgedBy\":");
        write(&JudgedByOut::new(&run.judged_by), out);
        put(out, ",\"summary\":");
        write(&SummaryOut::new(run, summary), out);
        put(out, "}}]}\n");
    }
}

fn put(out: &mut Vec<u8>, text: &str) {
    out.extend_from_slice(text.as_bytes());
}

fn tool(run: &Run) -> Value {
    let codes = CODES.iter().map(code_descriptor);
    let rules: Vec<Value> = run.rules.iter().map(rule_descriptor).chain(codes).collect();
    json!({ "driver": {
        "name": PROGRAM,
        "semanticVersion": run.version,
        "shortDescription": words(env!("CARGO_PKG_DESCRIPTION")),
        "rules": rules,
    } })
}

/// A rule's number in the list of rules that [`tool`] writes, as is a code's.
fn index_of(run: &Run, id: &str) -> Option<usize> {
    let rule = run.rules.iter().position(|rule| rule.name == id);
    let code = || CODES.iter().position(|row| row.code.as_str() == id).map(|at| at + run.rules.len());
    rule.or_else(code)
}

fn rule_descriptor(rule: &RuleInfo) -> Value {
    let told = [("Remedy", &rule.remedy), ("Because", &rule.because), ("Basis", &rule.basis)];
    let told: Vec<_> =
        told.into_iter().filter_map(|(name, text)| Some(format!("{name}: {}", text.as_deref()?))).collect();
    let help = if told.is_empty() { rule.title.clone() } else { told.join("\n") };
    let configuration = object([
        ("level", Some(json!(level(rule.severity)))),
        ("enabled", rule.left_out.as_ref().map(|_| json!(false))),
    ]);
    object([
        ("id", Some(json!(rule.name))),
        ("shortDescription", Some(words(&rule.title))),
        ("help", Some(words(&help))),
        ("defaultConfiguration", Some(configuration)),
        ("properties", rule.left_out.as_ref().map(|reason| json!({ "leftOut": reason }))),
    ])
}

fn code_descriptor(row: &CodeRow) -> Value {
    json!({
        "id": row.code.as_str(),
        "shortDescription": words(row.title),
        "help": words(row.explanation),
    })
}

/// A message, or a text that could also be given in Markdown: both have the same shape.
fn words(text: &str) -> Value {
    json!({ "text": text })
}

/// An object of what there is among these properties.
fn object<const N: usize>(properties: [(&str, Option<Value>); N]) -> Value {
    let there = properties.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    Value::Object(there.collect::<Map<_, _>>())
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Hold => "error",
        Severity::Advice => "warning",
        Severity::Note => "note",
    }
}

/// The results of one part.
#[derive(Default)]
struct Entries {
    list: Vec<Value>,
    given: Identities,
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

    fn identity(&mut self, parts: &[&str]) -> Value {
        json!({ FINGERPRINT: self.given.of(parts) })
    }

    fn finding(&mut self, run: &Run, finding: &Finding, judged: &Judged) {
        let standing = finding.standing;
        let counts = matches!(standing, Standing::Known | Standing::Conceded | Standing::Counts);
        let subject = if finding.path.is_empty() { &finding.subject } else { &finding.path };
        let sources = &judged.sources;
        let places = [(finding.demand, &finding.title)].into_iter();
        let places = places.chain(finding.related.iter().map(|related| (related.at, &related.text)));
        let related: Vec<Value> = (1..)
            .zip(places)
            .map(|(id, (place, text))| location(sources, place, text, Some(id), None))
            .collect();
        let suppressions = match &finding.concession {
            Some(granted) => Some(conceded(granted)),
            None => (standing == Standing::Known).then(accepted),
        };
        let identity = self.identity(&[&finding.rule, &judged.name, &finding.subject, &finding.path]);
        self.list.push(object([
            ("ruleId", Some(json!(finding.rule))),
            ("ruleIndex", index_of(run, &finding.rule).map(Value::from)),
            ("kind", Some(json!(if counts { "fail" } else { "open" }))),
            ("level", Some(json!(if counts { level(finding.severity) } else { "none" }))),
            ("message", Some(words(&finding.message))),
            (
                "locations",
                Some(json!([location(sources, finding.at, &finding.at_text, None, Some(subject))])),
            ),
            ("relatedLocations", Some(Value::from(related))),
            ("partialFingerprints", Some(identity)),
            ("suppressions", suppressions),
            ("properties", Some(properties(finding, &judged.name))),
        ]));
    }

    fn diagnostic(&mut self, run: &Run, diagnostic: &Diagnostic, sources: &Sources, document: Option<&str>) {
        let code = diagnostic.code.as_str();
        let mut locations =
            diagnostic.labels.iter().map(|label| location(sources, label.place, &label.text, None, None));
        let text = match &diagnostic.help {
            Some(help) => format!("{}; {help}", diagnostic.message),
            None => diagnostic.message.clone(),
        };
        let name = diagnostic.place().map_or("", |place| sources.name(place.source));
        let identity = self.identity(&[code, document.unwrap_or(name), &diagnostic.message]);
        let first = locations.next().map(|first| json!([first]));
        let others = Some(locations.collect::<Vec<_>>()).filter(|others| !others.is_empty());
        let fix = diagnostic.fix.as_deref().and_then(|fix| respelling(sources, fix));
        self.list.push(object([
            ("ruleId", Some(json!(code))),
            ("ruleIndex", index_of(run, code).map(Value::from)),
            ("kind", Some(json!("fail"))),
            (
                "level",
                Some(json!(match diagnostic.level {
                    Level::Error | Level::Known => "error",
                    Level::Advice => "warning",
                    Level::Note => "note",
                })),
            ),
            ("message", Some(words(&text))),
            ("locations", first),
            ("relatedLocations", others.map(Value::from)),
            ("partialFingerprints", Some(identity)),
            ("suppressions", (diagnostic.level == Level::Known).then(accepted)),
            ("fixes", fix.map(|fix| json!([fix]))),
        ]));
    }
}

fn respelling(sources: &Sources, fix: &diagnostic::Fix) -> Option<Value> {
    let located = locate(sources, fix.place)?;
    Some(json!({ "artifactChanges": [{
        "artifactLocation": artifact(located.source.name()),
        "replacements": [{
            "deletedRegion": region(&located),
            "insertedContent": words(&fix.replacement),
        }],
    }] }))
}

/// What marks a result that the file of known findings accepts.
fn accepted() -> Value {
    json!([{ "kind": "external", "status": "accepted" }])
}

/// What marks a result that stands under a concession.
fn conceded(granted: &Granted) -> Value {
    json!([{ "kind": "inSource", "status": "accepted", "justification": granted.words() }])
}

fn properties(finding: &Finding, document: &str) -> Value {
    let text = |text: &Option<String>| text.clone().map(Value::String);
    let margin = finding.margin.as_ref();
    object([
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
    ])
}

/// A place with the words for it and, if it has them, its number among the related ones and the path of
/// the value there.
fn location(sources: &Sources, place: Place, text: &str, id: Option<usize>, path: Option<&str>) -> Value {
    let path = path.filter(|path| !path.is_empty());
    object([
        ("id", id.map(Value::from)),
        ("message", Some(words(text)).filter(|_| !text.is_empty())),
        ("physicalLocation", locate(sources, place).map(|located| physical(&located))),
        ("logicalLocations", path.map(|path| json!([{ "fullyQualifiedName": path, "kind": "property" }]))),
    ])
}

fn physical(located: &Located<'_>) -> Value {
    json!({
        "artifactLocation": artifact(located.source.name()),
        "region": region(located),
    })
}

/// The name under which the base of texts is explained that are no files.
const TEXTS: &str = "TEXTS";

/// Where a text is. What is no file has a base of its own, so that it is not taken for one of the repository.
fn artifact(name: &str) -> Value {
    let base = (!is_file(name)).then(|| json!(TEXTS));
    object([("uri", Some(json!(uri(name)))), ("uriBaseId", base)])
}

fn region(located: &Located<'_>) -> Value {
    let shown = (1..=LONGEST_SNIPPET).contains(&located.text.len());
    object([
        ("startLine", Some(json!(located.start.line))),
        ("startColumn", Some(json!(located.start.column))),
        ("endLine", Some(json!(located.end.line))),
        ("endColumn", Some(json!(located.end.column))),
        ("byteOffset", Some(json!(located.span.start))),
        ("byteLength", Some(json!(located.span.len()))),
        ("snippet", shown.then(|| words(located.text))),
    ])
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
