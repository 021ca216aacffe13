//! The plain form: words only, one fact per line, for narrow screens, screen readers and logs.

use crate::diagnostic::{Diagnostic, Level};
use crate::finding::{Finding, Judged, Standing, Summary};
use crate::report::facts::{self, Fact};
use crate::report::folded::{self, Entry, Told};
use crate::report::locate::locate;
use crate::report::text::{drawn, fill, shown};
use crate::report::{Format, LeftOut, Run, Style};
use crate::source::{COMMAND_LINE, Place, SourceId, Sources};

/// The plain form.
pub struct Plain;

impl Format for Plain {
    fn head(&self, _run: &Run, _style: &Style, _out: &mut Vec<u8>) {}

    fn faults(&self, run: &Run, style: &Style, out: &mut Vec<u8>) {
        diagnostics(&facts::of_run(run, style), &run.sources, style, out);
    }

    fn document(&self, run: &Run, judged: &Judged, style: &Style, out: &mut Vec<u8>) {
        let told = folded::told(judged, style, run.fail_on);
        if style.quiet && told.is_empty() {
            return;
        }
        let (own, in_short) = (folded::style_of(&told, style), folded::told_in_short(&told, style));
        let mut page = Page { style: &own, out };
        let (_, comes_to) = facts::of_document(judged);
        page.line(&format!("{}: {comes_to}", shown(&judged.name)));
        if judged.findings.is_empty() && judged.diagnostics.is_empty() {
            return;
        }
        if style.details {
            page.document_facts(judged);
        }
        for entry in told {
            page.entry(&entry, judged);
            if let (Told::Finding(finding), true) = (entry.told, in_short.is_some()) {
                facts::remedy_in_short(finding)
                    .into_iter()
                    .for_each(|remedy| page.line(&format!("  {remedy}")));
            }
        }
        if let Some(said) = in_short {
            page.line(&said);
        }
        page.gap();
    }

    fn tail(&self, run: &Run, summary: &Summary, _left_out: &LeftOut, style: &Style, out: &mut Vec<u8>) {
        let mut page = Page { style, out };
        page.statistics(summary);
        if style.quiet {
            if let Some((_, verdict)) = facts::quiet_verdict(run, summary) {
                page.line(&format!("Verdict: {verdict}"));
            }
            return;
        }
        page.gap();
        page.line(&format!("Summary as of {}", run.as_of));
        page.facts(&facts::of_summary(run, summary));
        let (_, verdict) = facts::verdict(run, summary);
        page.line(&format!("Verdict: {verdict}"));
    }
}

/// Diagnostics by themselves, in words.
pub fn diagnostics(list: &[Diagnostic], sources: &Sources, style: &Style, out: &mut Vec<u8>) {
    let mut page = Page { style, out };
    for diagnostic in list {
        page.diagnostic(diagnostic, sources, None);
        page.gap();
    }
}

struct Page<'p> {
    style: &'p Style,
    out: &'p mut Vec<u8>,
}

impl Page<'_> {
    fn line(&mut self, text: &str) {
        let text = fill("", 2, text, self.style.columns());
        self.out.extend_from_slice(text.as_bytes());
        self.gap();
    }

    fn gap(&mut self) {
        self.out.push(b'\n');
    }

    fn facts(&mut self, facts: &[Fact]) {
        for Fact { name, text } in facts {
            self.line(&format!("{name}: {text}"));
        }
    }

    fn statistics(&mut self, summary: &Summary) {
        if !self.style.statistics {
            return;
        }
        let rows = facts::statistics(summary);
        if !rows.is_empty() {
            self.line("By rule");
        }
        for row in &rows {
            self.line(&format!("{} {}: {}: {}", row.kind, row.name, row.numbers(), row.named));
        }
        if let Some(work) = facts::costliest(summary) {
            self.line(&format!("work: {work}"));
        }
    }

    fn document_facts(&mut self, judged: &Judged) {
        if !judged.headline.is_empty() {
            self.line(&shown(&judged.headline));
        }
        for standard in &judged.standards {
            self.line(&format!("standard: {}", shown(standard)));
        }
    }

    fn entry(&mut self, entry: &Entry<'_>, judged: &Judged) {
        match entry.told {
            Told::Diagnostic(diagnostic) => {
                self.diagnostic(diagnostic, &judged.sources, Some(judged.source));
            }
            Told::Finding(finding) => self.finding(finding, judged),
        }
        match self.style.details {
            true => entry.waiting_in_words(),
            false => entry.waiting_in_short(),
        }
        .into_iter()
        .for_each(|waiting| {
            let lead = if self.style.details { "" } else { "  " };
            self.line(&format!("{lead}waiting: {}", shown(&waiting)));
        });
    }

    fn finding(&mut self, finding: &Finding, judged: &Judged) {
        let (kind, message) = (facts::kind(finding), shown(&finding.message));
        let full = self.style.details && finding.standing == Standing::Counts;
        let place = place_in_words(&judged.sources, finding.at, finding.at.source == judged.source);
        if !full {
            self.line(&format!("{place}: {kind}: {}", facts::in_a_line(finding)));
            return;
        }
        self.gap();
        self.line(&format!("{place}: {kind}: {message}"));
        self.facts(&[Fact::new("rule", &finding.rule), Fact::new("title", &finding.title)]);
        if !finding.path.is_empty() {
            self.facts(&[Fact::new("path", &finding.path)]);
        }
        if finding.found.is_none() && !finding.message.contains(&finding.at_text) {
            self.facts(&[Fact::new("here", &finding.at_text)]);
        }
        self.facts(&facts::of_finding(finding));
        for line in &finding.drawing {
            self.out.extend_from_slice(drawn("    ", line, self.style.unicode).as_bytes());
            self.gap();
        }
        for related in &finding.related {
            let place = place_in_words(&judged.sources, related.at, false);
            self.line(&format!("see: {place}: {}", shown(&related.text)));
        }
        self.line(&format!("demand: {}", place_in_words(&judged.sources, finding.demand, false)));
    }

    /// `home`: the source that has been named already.
    fn diagnostic(&mut self, diagnostic: &Diagnostic, sources: &Sources, home: Option<SourceId>) {
        let level = facts::level(diagnostic.level);
        let mut labels = diagnostic.labels.iter();
        let first = labels.next();
        let place = first.map(|label| place_in_words(sources, label.place, Some(label.place.source) == home));
        let place = place.map_or_else(String::new, |place| format!("{place}: "));
        let full = self.style.details && diagnostic.level != Level::Known;
        if home.is_some() && full {
            self.gap();
        }
        self.line(&format!("{place}{level}: {}", shown(&diagnostic.message)));
        if !full {
            if let Some(help) = diagnostic.help.as_ref().filter(|_| diagnostic.level != Level::Known) {
                self.line(&format!("  help: {}", shown(help)));
            }
            return;
        }
        self.facts(&[Fact::new("code", diagnostic.code.as_str())]);
        if let Some(label) = first.filter(|label| !label.text.is_empty()) {
            self.facts(&[Fact::new("here", &label.text)]);
        }
        for label in labels {
            let place = place_in_words(sources, label.place, false);
            let gap = if label.text.is_empty() { "" } else { ": " };
            self.line(&format!("see: {place}{gap}{}", shown(&label.text)));
        }
        if let Some(help) = &diagnostic.help {
            self.facts(&[Fact::new("help", help)]);
        }
    }
}

/// `line 14`, after the name of the source unless that has been said.
fn place_in_words(sources: &Sources, place: Place, within: bool) -> String {
    match locate(sources, place) {
        Some(located) if within => format!("line {}", located.start.line),
        // The words of the command line have no lines that anybody sees.
        Some(located) if located.source.name() == COMMAND_LINE => COMMAND_LINE.to_owned(),
        Some(located) => {
            format!(
                "{} line {} column {}",
                shown(located.source.name()),
                located.start.line,
                located.start.column
            )
        }
        None => "place unknown".to_owned(),
    }
}
