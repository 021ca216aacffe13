//! The code quality report of GitLab: a JSON list of findings with path and line, which the server shows beside a change.
//!
//! The server knows findings that it has seen by their fingerprint. It has no word for what is accepted or still to do, so
//! only what counts is listed. It states no limit for the number of findings.

use serde_json::{Value, json};

use crate::diagnostic::{Diagnostic, Level};
use crate::edition::Digest;
use crate::finding::{Finding, Judged, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::facts;
use crate::report::identity::Identities;
use crate::report::json::write;
use crate::report::locate::locate;
use crate::report::{Format, LeftOut, PROGRAM, Run, Style};
use crate::source::{Place, Sources};

/// The GitLab form.
pub struct Gitlab;

impl Format for Gitlab {
    fn head(&self, _run: &Run, _style: &Style, out: &mut Vec<u8>) {
        out.extend_from_slice(b"[\n");
    }

    fn faults(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let mut entries = Entries::default();
        run.diagnostics.iter().for_each(|one| entries.diagnostic(one, &run.sources, ""));
        entries.write(out);
    }

    fn document(&self, _run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        let mut entries = Entries::default();
        judged.diagnostics.iter().for_each(|one| entries.diagnostic(one, &judged.sources, &judged.name));
        let counted = judged.findings.iter().filter(|finding| finding.standing == Standing::Counts);
        counted.for_each(|finding| entries.finding(finding, judged));
        entries.write(out);
    }

    fn between(&self) -> &'static str {
        BETWEEN
    }

    fn last(&self, run: &Run, summary: &Summary, out: &mut Vec<u8>) {
        // The list has entries only, and is silent of nothing that was not judged.
        let said = format!("judged by {}", facts::judged_in_a_line(&run.judged_by, &summary.passed_over));
        let mut entries = Entries::default();
        entries.add("info", RUN, said, None, &run.sources, &[RUN]);
        entries.write(out);
    }

    fn tail(&self, _run: &Run, _summary: &Summary, _left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        out.extend_from_slice(b"\n]\n");
    }
}

/// What the entry about the run as a whole is called. Its fingerprint is the same in every run, so that the server shows it once.
const RUN: &str = "run/judged-by";

const BETWEEN: &str = ",\n";

/// The findings of one part.
#[derive(Default)]
struct Entries {
    list: Vec<Value>,
    identities: Identities,
}

impl Entries {
    fn write(&self, out: &mut Vec<u8>) {
        for (number, entry) in self.list.iter().enumerate() {
            if number > 0 {
                out.extend_from_slice(BETWEEN.as_bytes());
            }
            write(entry, out);
        }
    }

    fn finding(&mut self, finding: &Finding, judged: &Judged) {
        let severity = match finding.severity {
            Severity::Hold => "critical",
            Severity::Advice => "minor",
            Severity::Note => "info",
        };
        let parts = [&*finding.rule, &judged.name, &finding.subject, &finding.path];
        let facts = [
            ("found", &finding.found),
            ("required", &finding.required),
            ("off by", &finding.off_by),
            ("remedy", &finding.remedy),
        ];
        let facts =
            facts.into_iter().filter_map(|(name, text)| Some(format!("; {name}: {}", text.as_deref()?)));
        let words = facts.fold(finding.message.clone(), |words, fact| words + &fact);
        self.add(severity, &finding.rule, words, Some(finding.at), &judged.sources, &parts);
    }

    fn diagnostic(&mut self, diagnostic: &Diagnostic, sources: &Sources, document: &str) {
        let severity = match diagnostic.level {
            Level::Error => "critical",
            Level::Advice => "minor",
            Level::Note => "info",
            Level::Known => return,
        };
        let words = match &diagnostic.help {
            Some(help) => format!("{}; {help}", diagnostic.message),
            None => diagnostic.message.clone(),
        };
        let code = diagnostic.code.as_str();
        let name = diagnostic.place().map_or("", |place| sources.name(place.source));
        let parts = [code, document, name, &diagnostic.message];
        self.add(severity, code, words, diagnostic.place(), sources, &parts);
    }

    fn add(
        &mut self,
        severity: &str,
        check: &str,
        description: String,
        place: Option<Place>,
        sources: &Sources,
        identity: &[&str],
    ) {
        let located = place.and_then(|place| locate(sources, place));
        // The server takes no finding without a path and a line.
        let (path, begin, end) = located.map_or((PROGRAM, 1, 1), |located| {
            let path = located.source.name();
            (path.strip_prefix("./").unwrap_or(path), located.start.line, located.end.line)
        });
        let fingerprint = Digest::of(&self.identities.of(identity)).to_string();
        self.list.push(json!({
            "description": description,
            "check_name": check,
            "fingerprint": fingerprint,
            "severity": severity,
            "location": { "path": path, "lines": { "begin": begin, "end": end } },
        }));
    }
}
