//! JUnit XML, the form of test results that build servers show.
//!
//! A suite for each document, a case in it for each rule of the standards that apply, named by the
//! rule and classed by its standard. A case fails where the rule has a finding that fails the run, so
//! that the server and the exit code agree; other findings are told in the output of a case that
//! passes. The format has no home of its own; these are the elements that its readers share. Times
//! are left out: none was measured.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use crate::diagnostic::{Diagnostic, Level};
use crate::finding::{Finding, Judged, Outcome, Standing, Summary, Tally};
use crate::language::ast::Severity;
use crate::language::ids::Id;
use crate::report::facts::{self, Fact};
use crate::report::locate::locate;
use crate::report::text::{count, harmless, shown};
use crate::report::{Format, LeftOut, PROGRAM, Run, Style};
use crate::source::{Place, SourceId, Sources};

/// The class of the cases that belong to no standard.
const OWN: &str = PROGRAM;

/// The JUnit form.
pub struct Junit;

impl Format for Junit {
    fn head(&self, _run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let mut xml = Xml::new(out);
        xml.put(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        xml.gap();
        xml.put(Event::Start(BytesStart::new("testsuites").with_attributes([("name", OWN)])));
        xml.gap();
    }

    fn faults(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        let suite = Suite { name: "rules and settings".to_owned(), file: None, cases: rule_files(run) };
        suite.write(out);
    }

    fn document(&self, run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        let mut cases = vec![own_case(run, judged)];
        for (number, tally) in &judged.tallies {
            let Some(rule) = run.rules.get(number.place()) else { continue };
            let findings: Vec<_> =
                judged.findings.iter().filter(|finding| finding.rule == rule.name).collect();
            cases.push(rule_case(run, &rule.name, tally, &findings, &judged.sources));
        }
        let file = judged.sources.name(judged.source).to_owned();
        Suite { name: judged.name.clone(), file: Some(file), cases }.write(out);
    }

    fn tail(&self, run: &Run, summary: &Summary, _left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        // A run that only proves its rules sets out to judge nothing.
        if summary.documents > 0
            || summary.since.is_some()
            || run.rules.is_empty()
            || !summary.rules.is_empty()
        {
            Suite { name: "run".to_owned(), file: None, cases: run_cases(run, summary) }.write(out);
        }
        let mut xml = Xml::new(out);
        xml.put(Event::End(BytesEnd::new("testsuites")));
        xml.gap();
    }
}

/// What a case came to.
enum End {
    Passed,
    /// With the reason.
    Skipped(&'static str),
    /// With a type, the first message, and all that is to say.
    Failed(&'static str, String, String),
    /// With the first code, the first message, and all that is to say.
    Wrong(&'static str, String, String),
}

/// One case of a suite.
struct Case {
    class: String,
    name: String,
    end: End,
    /// What is said of a case that does not fail; may be empty.
    output: String,
}

impl Case {
    fn own(name: &str, end: End) -> Self {
        Case { class: OWN.to_owned(), name: name.to_owned(), end, output: String::new() }
    }

    fn of_rule(rule: &str, end: End, output: String) -> Self {
        let (class, name) = rule.rsplit_once('.').unwrap_or((OWN, rule));
        Case { class: class.to_owned(), name: name.to_owned(), end, output }
    }
}

/// The case of one rule on one document.
fn rule_case(run: &Run, rule: &str, tally: &Tally, findings: &[&Finding], sources: &Sources) -> Case {
    let fails = |finding: &&&Finding| finding.standing == Standing::Counts && finding.severity >= run.fail_on;
    let tell = |findings: &[&Finding]| {
        findings.iter().map(|finding| finding_in_words(finding, sources)).collect::<Vec<_>>().join("\n\n")
    };
    // Among equally severe findings, a broken demand says more than one that could not be decided.
    let gravest = findings
        .iter()
        .filter(fails)
        .max_by_key(|finding| (finding.severity, finding.outcome == Outcome::Broken));
    let end = match gravest {
        Some(gravest) => {
            let message = with_others(&gravest.message, findings.iter().filter(fails).count(), "finding");
            return Case::of_rule(
                rule,
                End::Failed(facts::kind(gravest), message, tell(findings)),
                String::new(),
            );
        }
        None if tally.met > 0 => End::Passed,
        None if findings.iter().any(|finding| finding.standing == Standing::Counts) => End::Passed,
        None if findings.iter().any(|finding| finding.standing == Standing::StillToDo) => {
            End::Skipped("still to do")
        }
        None if tally.applied() => End::Passed,
        None if tally.not_concerned > 0 => End::Skipped("not concerned"),
        None => End::Skipped("met no subject"),
    };
    Case::of_rule(rule, end, tell(findings))
}

fn with_others(message: &str, all: usize, one: &str) -> String {
    match all {
        0 | 1 => message.to_owned(),
        _ => format!("{message} ({} in all)", count(all as u64, one)),
    }
}

/// The case that says whether a document could be read and is in order by itself.
fn own_case(run: &Run, judged: &Judged) -> Case {
    let list: Vec<_> = judged.diagnostics.iter().collect();
    let mut case = diagnostics_case("document", &list, &judged.sources);
    let advice = list.iter().find(|one| one.level == Level::Advice);
    if let Some(first) = advice.filter(|_| run.fail_on <= Severity::Advice && matches!(case.end, End::Passed))
    {
        let advices = usize::try_from(judged.at_level(Level::Advice)).unwrap_or(usize::MAX);
        let message = with_others(&first.message, advices, "advice");
        case.end = End::Failed(first.code.as_str(), message, std::mem::take(&mut case.output));
    }
    if !judged.readable && matches!(case.end, End::Passed) {
        let message = "could not be read".to_owned();
        case.end = End::Wrong("document", message, std::mem::take(&mut case.output));
    }
    case
}

fn diagnostics_case(name: &str, list: &[&Diagnostic], sources: &Sources) -> Case {
    let text = list.iter().map(|one| diagnostic_in_words(one, sources)).collect::<Vec<_>>().join("\n\n");
    let mut errors = list.iter().filter(|one| one.level == Level::Error);
    let Some(first) = errors.next() else {
        return Case { output: text, ..Case::own(name, End::Passed) };
    };
    let message = with_others(&first.message, 1 + errors.count(), "error");
    Case::own(name, End::Wrong(first.code.as_str(), message, text))
}

/// A case for each file of rules or settings: those with a standard, and those with mistakes.
fn rule_files(run: &Run) -> Vec<Case> {
    let of = |diagnostic: &Diagnostic| diagnostic.place().map(|place| place.source);
    let mut files: Vec<Option<SourceId>> =
        run.standards.iter().map(|standard| Some(standard.place.source)).collect();
    files.extend(run.diagnostics.iter().map(of));
    files.sort();
    files.dedup();
    let case = |file: Option<SourceId>| {
        let list: Vec<_> = run.diagnostics.iter().filter(|one| of(one) == file).collect();
        let name = file.map_or("", |file| run.sources.name(file));
        diagnostics_case(if name.is_empty() { "the run" } else { name }, &list, &run.sources)
    };
    files.into_iter().map(case).collect()
}

/// The cases about the run as a whole: that something was judged, and what was passed over.
fn run_cases(run: &Run, summary: &Summary) -> Vec<Case> {
    let judged = if summary.applied().next().is_some() || summary.nothing_changed() {
        End::Passed
    } else {
        let (_, words) = facts::verdict(run, summary);
        End::Wrong("run", words, String::new())
    };
    let by = facts::judged_in_a_line(&run.judged_by, &[]);
    let mut cases = vec![
        Case::own("something was judged", judged),
        Case { output: by, ..Case::own("judged by", End::Passed) },
    ];
    let skip = End::Skipped;
    cases.extend(
        summary.never_applied().map(|rule| Case::of_rule(rule, skip("never applied"), String::new())),
    );
    let left_out = run.rules.iter().filter_map(|rule| Some((rule, rule.left_out.clone()?)));
    cases.extend(
        left_out
            .map(|(rule, reason)| Case::of_rule(&rule.name, skip("left out"), shown(&reason).into_owned())),
    );
    cases.extend(summary.passed_over.iter().map(|file| Case::own(file, skip("passed over"))));
    cases
}

fn finding_in_words(finding: &Finding, sources: &Sources) -> String {
    let mut lines = vec![format!(
        "{}: {}: {}",
        place_in_words(sources, finding.at),
        facts::kind(finding),
        shown(&finding.message)
    )];
    lines.push(in_a_line(&Fact::new("rule", &finding.rule)));
    lines.extend(facts::of_finding(finding).iter().map(in_a_line));
    lines.push(format!("demand: {}", place_in_words(sources, finding.demand)));
    lines.join("\n")
}

fn diagnostic_in_words(diagnostic: &Diagnostic, sources: &Sources) -> String {
    let level = facts::level(diagnostic.level);
    let place = diagnostic.place().map(|place| format!("{}: ", place_in_words(sources, place)));
    let mut lines = vec![format!("{}{level}: {}", place.unwrap_or_default(), shown(&diagnostic.message))];
    lines.extend(diagnostic.help.as_deref().map(|help| in_a_line(&Fact::new("help", help))));
    lines.push(format!("code: {}", diagnostic.code.as_str()));
    lines.join("\n")
}

fn in_a_line(fact: &Fact) -> String {
    format!("{}: {}", fact.name, fact.text)
}

fn place_in_words(sources: &Sources, place: Place) -> String {
    match locate(sources, place) {
        Some(located) => format!("{} line {}", shown(located.source.name()), located.start.line),
        None => "place unknown".to_owned(),
    }
}

/// A suite, written whole so that its counts can stand before its cases.
struct Suite {
    name: String,
    file: Option<String>,
    cases: Vec<Case>,
}

impl Suite {
    fn write(&self, out: &mut Vec<u8>) {
        if self.cases.is_empty() {
            return;
        }
        let number =
            |of: fn(&End) -> bool| self.cases.iter().filter(|case| of(&case.end)).count().to_string();
        let failures = number(|end| matches!(end, End::Failed(..)));
        let errors = number(|end| matches!(end, End::Wrong(..)));
        let skipped = number(|end| matches!(end, End::Skipped(_)));
        let tests = self.cases.len().to_string();
        let mut xml = Xml::new(out);
        xml.open(
            "testsuite",
            &[
                ("name", &self.name),
                ("tests", &tests),
                ("failures", &failures),
                ("errors", &errors),
                ("skipped", &skipped),
            ],
        );
        xml.gap();
        for case in &self.cases {
            self.case(case, &mut xml);
        }
        xml.close("testsuite");
    }

    fn case(&self, case: &Case, xml: &mut Xml<'_>) {
        let mut attributes = vec![("classname", &*case.class), ("name", &*case.name)];
        attributes.extend(self.file.as_deref().map(|file| ("file", file)));
        if matches!(case.end, End::Passed) && case.output.is_empty() {
            xml.put(Event::Empty(element("testcase", &attributes)));
            xml.gap();
            return;
        }
        xml.open("testcase", &attributes);
        match &case.end {
            End::Passed => {}
            End::Skipped(reason) => xml.put(Event::Empty(element("skipped", &[("message", *reason)]))),
            End::Failed(kind, message, text) => xml.told("failure", kind, message, text),
            End::Wrong(kind, message, text) => xml.told("error", kind, message, text),
        }
        if !case.output.is_empty() {
            xml.open("system-out", &[]);
            xml.put(Event::Text(BytesText::new(&harmless(&case.output, true))));
            xml.put(Event::End(BytesEnd::new("system-out")));
        }
        xml.close("testcase");
    }
}

/// An element whose attributes hold nothing that XML forbids, whatever people wrote.
fn element<'e>(name: &'e str, attributes: &[(&str, &str)]) -> BytesStart<'e> {
    let mut element = BytesStart::new(name);
    for (name, value) in attributes {
        element.push_attribute((*name, &*harmless(&shown(value), false)));
    }
    element
}

/// Writes events to memory, which cannot fail.
struct Xml<'o>(Writer<&'o mut Vec<u8>>);

impl<'o> Xml<'o> {
    fn new(out: &'o mut Vec<u8>) -> Self {
        Xml(Writer::new(out))
    }

    fn put(&mut self, event: Event<'_>) {
        let written = self.0.write_event(event);
        debug_assert!(written.is_ok());
    }

    fn gap(&mut self) {
        self.0.get_mut().push(b'\n');
    }

    fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.put(Event::Start(element(name, attributes)));
    }

    fn close(&mut self, name: &str) {
        self.put(Event::End(BytesEnd::new(name)));
        self.gap();
    }

    fn told(&mut self, name: &str, kind: &str, message: &str, text: &str) {
        self.open(name, &[("type", kind), ("message", message)]);
        self.put(Event::Text(BytesText::new(&harmless(text, true))));
        self.put(Event::End(BytesEnd::new(name)));
    }
}
