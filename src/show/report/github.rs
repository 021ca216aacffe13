//! Annotations of GitHub: commands of its workflows (`::error file=…::…`), one a line, which the server shows at the lines
//! of a change.
//!
//! A hold or an error is an `error`, an advice a `warning`, a note a `notice`. What does not count is none. The server shows
//! ten of a kind for each step and drops the rest (`docs/problem-matchers.md` of `actions/toolkit`); one place among the
//! notices is kept for saying so. Behind the annotations the log has the summary in words.

use crate::diagnostic::{Diagnostic, Level};
use crate::finding::{Finding, Judged, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::facts::{self, Fact};
use crate::report::locate::{is_file, locate};
use crate::report::text::{count, harmless, shown};
use crate::report::{Format, LeftOut, Limit, PROGRAM, Run, Style};
use crate::source::{Place, Sources};

/// The GitHub form.
pub struct Github;

/// The commands, and what each is called.
const ERROR: &str = "error";
const WARNING: &str = "warning";
const NOTICE: &str = "notice";

/// How many of each the server shows.
const SHOWN: u64 = 10;

impl Format for Github {
    fn head(&self, _run: &Run, _style: &Style, _out: &mut Vec<u8>) {}

    fn faults(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let lines: Vec<String> =
            run.diagnostics.iter().filter_map(|one| diagnostic(one, &run.sources)).collect();
        out.extend_from_slice(lines.join(BETWEEN).as_bytes());
    }

    fn document(&self, _run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        let sources = &judged.sources;
        let own = judged.diagnostics.iter().filter_map(|one| diagnostic(one, sources));
        let counted = judged.findings.iter().filter(|finding| finding.standing == Standing::Counts);
        let lines: Vec<String> = own.chain(counted.map(|finding| annotation(finding, sources))).collect();
        out.extend_from_slice(lines.join(BETWEEN).as_bytes());
    }

    fn between(&self) -> &'static str {
        BETWEEN
    }

    fn behind(&self) -> &'static str {
        BETWEEN
    }

    fn limit(&self) -> Option<Limit> {
        const COMMANDS: [(&str, u64); 3] = [(ERROR, SHOWN), (WARNING, SHOWN), (NOTICE, SHOWN - 1)];
        let kind_of = |entry: &[u8]| {
            let begins = |name: &str| entry.get(2..).is_some_and(|rest| rest.starts_with(name.as_bytes()));
            COMMANDS.into_iter().find(|(name, _)| begins(name)).unwrap_or((NOTICE, SHOWN - 1))
        };
        Some(Limit { kind_of })
    }

    fn tail(&self, run: &Run, summary: &Summary, left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        let mut lines = Vec::new();
        if !left_out.is_empty() {
            let kinds: Vec<String> = left_out.iter().map(|(kind, number)| count(*number, kind)).collect();
            let words = format!(
                "not annotated, because the server shows no more: {}; `--format plain` lists all",
                kinds.join(", ")
            );
            lines.push(command(NOTICE, &[("title", PROGRAM)], &words));
        }
        // A run that only proves its rules sets out to judge nothing.
        if summary.documents > 0 || summary.since.is_some() || !summary.rules.is_empty() {
            let facts = facts::of_summary(run, summary);
            let facts = facts.into_iter().map(|Fact { name, text }| format!("{name}: {text}"));
            lines.extend(facts.map(|line| harmless(&line, true).into_owned()));
            let (_, verdict) = facts::verdict(run, summary);
            lines.push(format!("Verdict: {verdict}"));
        }
        out.extend(lines.iter().flat_map(|line| line.bytes().chain([b'\n'])));
    }
}

const BETWEEN: &str = "\n";

fn annotation(finding: &Finding, sources: &Sources) -> String {
    let name = match finding.severity {
        Severity::Hold => ERROR,
        Severity::Advice => WARNING,
        Severity::Note => NOTICE,
    };
    let facts = facts::of_finding(finding).into_iter().filter(|fact| fact.name != "because");
    let facts = facts.map(|Fact { name, text }| format!("{name}: {text}"));
    let lines: Vec<String> = std::iter::once(shown(&finding.message).into_owned()).chain(facts).collect();
    let title = format!("{}: {}", facts::kind(finding), finding.rule);
    at(name, Some(finding.at), sources, &title, &lines.join("\n"))
}

fn diagnostic(diagnostic: &Diagnostic, sources: &Sources) -> Option<String> {
    let name = match diagnostic.level {
        Level::Error => ERROR,
        Level::Advice => WARNING,
        Level::Note => NOTICE,
        Level::Known => return None,
    };
    let help = diagnostic.help.as_deref().map(|help| format!("\nhelp: {}", shown(help)));
    let message = format!("{}{}", shown(&diagnostic.message), help.unwrap_or_default());
    let title = format!("{}: {}", facts::level(diagnostic.level), diagnostic.code.as_str());
    Some(at(name, diagnostic.place(), sources, &title, &message))
}

/// A command at a place. What is in no file has no line that the server could show it at.
fn at(name: &str, place: Option<Place>, sources: &Sources, title: &str, message: &str) -> String {
    let located = place.and_then(|place| locate(sources, place));
    let located = located.filter(|located| is_file(located.source.name()));
    let mut properties = Vec::new();
    let lines = located.map(|located| (located.source.name(), located.start, located.end));
    if let Some((file, start, end)) = lines {
        properties.push(("file", shown(file).into_owned()));
        properties.push(("line", start.line.to_string()));
        properties.push(("endLine", end.line.to_string()));
        // Columns are for a stretch of one line.
        if start.line == end.line && end.column > start.column {
            properties.push(("col", start.column.to_string()));
            properties.push(("endColumn", end.column.to_string()));
        }
    }
    properties.push(("title", shown(title).into_owned()));
    let properties: Vec<(&str, &str)> =
        properties.iter().map(|(name, value)| (*name, value.as_str())).collect();
    command(name, &properties, message)
}

/// A command with its properties and its message, in which nothing ends it or begins another one.
fn command(name: &str, properties: &[(&str, &str)], message: &str) -> String {
    let data =
        |text: &str| harmless(text, false).replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A");
    let property = |text: &str| data(text).replace(':', "%3A").replace(',', "%2C");
    let properties: Vec<String> =
        properties.iter().map(|(name, value)| format!("{name}={}", property(value))).collect();
    format!("::{name} {}::{}", properties.join(","), data(message))
}
