//! A run built by hand: two rule texts, records with findings of every kind, and helpers.

use std::sync::Arc;

use crate::support::edition;
use witnessmark::code;
use witnessmark::diagnostic::{Diagnostic, Fix};
use witnessmark::finding::{Finding, Judged, Near, Outcome, Standing, Summary, Tally};
use witnessmark::language::ast::Severity;
use witnessmark::language::ids::{Id, RuleId};
use witnessmark::metrology::conformity::DecisionRule;
use witnessmark::quantity::{Margin, Number, Quantity, Unit, Which};
use witnessmark::report::{self, JudgedBy, RuleInfo, Run, StandardInfo, Style};
use witnessmark::source::{Place, SourceId, Sources, Span};

pub const RULES: &str = r#"standard sump_service edition 2 "Sump and filter service"
judges   job

let sump_screw = 9 Nm ± 10 %

rule screw_torque "Sump screws are tightened to their torque"
  concerns  each s in fastenings where s.role is "sump screw", at least 1
  demands   s.torque within sump_screw
  otherwise hold "Sump screw {s.place}: {s.torque} recorded, {sump_screw} required."

rule pan_sealed "The pan is fitted with a new gasket"
  demands   recorded seals
  otherwise advice "No gasket is recorded."
"#;

pub const RECORD: &str = r#"# Sump and filter service
form: job/1
job:
  number: K-2041
  state: closed
fastenings:
  - role: sump screw
    place: A1
    torque: 9.8 Nm
  - role: sump screw
    place: A2
    torque: 12 Nm   # measured twice
  - role: sump screw
    place: A3
fluid:
  product: Öl 六速 🔧
  filled: 5.1 L
"#;

/// The place of the first `what` in a source.
pub fn place(sources: &Sources, source: SourceId, what: &str) -> Place {
    let text = sources.get(source).unwrap().text();
    let start = text.find(what).unwrap_or_else(|| panic!("`{what}` is not in the source"));
    Place { source, span: Span::new(start, start + what.len()) }
}

pub fn margin(numerator: i128, denominator: i128, share: (i128, i128)) -> Margin {
    Margin {
        distance: Quantity::new(Number::ratio(numerator, denominator).unwrap(), Unit::find("Nm").unwrap()),
        share: Number::ratio(share.0, share.1),
        limit: Which::High,
        exclusive_limit_hit: false,
    }
}

/// A finding of the rule on screw torque, at a place.
pub fn finding(at: Place, demand: Place) -> Finding {
    Finding {
        rule: "sump_service.screw_torque".into(),
        title: "Sump screws are tightened to their torque".into(),
        outcome: Outcome::Broken,
        severity: Severity::Hold,
        standing: Standing::Counts,
        message: "Sump screw A2: 12 Nm recorded, 9 Nm ± 10 % required.".into(),
        subject: "fastenings[1]".into(),
        path: "fastenings[1].torque".into(),
        at,
        at_text: "found 12 Nm".into(),
        turn: 0,
        related: Vec::new(),
        demand,
        found: Some("12 Nm".into()),
        required: Some("9 Nm ± 10 % (8.1 Nm .. 9.9 Nm)".into()),
        off_by: Some("2.1 Nm above the upper limit".into()),
        in_time: None,
        conformity: None,
        near: None,
        drawing: Vec::new(),
        concession: None,
        missing: Vec::new(),
        awaited: None,
        margin: Some(margin(-21, 10, (-7, 6))),
        remedy: Some("Slacken the screw, fit a new one if it has stretched, tighten again.".into()),
        because: Some("A soft gasket creeps under an uneven clamp load and then leaks.".into()),
        basis: Some("common practice".into()),
    }
}

/// A finding of the same rule that cannot be decided.
pub fn undecided(at: Place, demand: Place) -> Finding {
    Finding {
        outcome: Outcome::Undecided,
        message: "Sump screw A3: its torque is not recorded.".into(),
        subject: "fastenings[2]".into(),
        path: "fastenings[2].torque".into(),
        at_text: "no torque is recorded here".into(),
        found: None,
        off_by: None,
        missing: vec!["the torque of this screw".into()],
        margin: None,
        ..finding(at, demand)
    }
}

pub struct Sample {
    pub run: Run,
    pub documents: Vec<Judged>,
    pub summary: Summary,
}

impl Sample {
    pub fn new() -> Self {
        Sample::of(&[("jobs/k-2041.yaml", RECORD)])
    }

    /// Records without findings under the rules of the sample.
    pub fn of(records: &[(&str, &str)]) -> Self {
        let mut rules = Sources::new();
        let rule_file = rules.add("rules/sump.standard", RULES);
        let rules = Arc::new(rules);
        let run = Run {
            version: "0.1.0".into(),
            as_of: jiff::civil::date(2026, 11, 3),
            decision: DecisionRule::Simple,
            fail_on: Severity::Hold,
            standards: vec![StandardInfo {
                name: "sump_service".into(),
                edition: Some(edition(2)),
                title: Some("Sump and filter service".into()),
                place: place(&rules, rule_file, "sump_service"),
            }],
            rules: rule_infos(&rules, rule_file),
            diagnostics: Vec::new(),
            judged_by: JudgedBy::default(),
            sources: Arc::clone(&rules),
        };
        let documents = records.iter().map(|(name, text)| judged(&rules, name, text)).collect();
        let mut sample = Sample { run, documents, summary: Summary::default() };
        sample.sum();
        sample
    }

    /// The demand on the torque of screws.
    pub fn demand(&self) -> Place {
        place(&self.run.sources, self.run.rules[0].place.source, "s.torque within sump_screw")
    }

    /// The place of `what` in the first record.
    pub fn at(&self, what: &str) -> Place {
        place(&self.documents[0].sources, self.documents[0].source, what)
    }

    pub fn sum(&mut self) {
        self.summary = Summary::default();
        for judged in &self.documents {
            let rules = &self.run.rules;
            self.summary.add(judged, |number| &rules[number.place()].name);
        }
    }

    pub fn render(&self, format: &str, style: Style) -> String {
        let format = report::find(format).unwrap().format;
        let bytes = report::whole(format, &self.run, &self.documents, &self.summary, style);
        String::from_utf8(bytes).unwrap()
    }

    pub fn json(&self, format: &str) -> serde_json::Value {
        serde_json::from_str(&self.render(format, Style::default())).unwrap()
    }
}

fn rule_infos(rules: &Sources, file: SourceId) -> Vec<RuleInfo> {
    let torque = RuleInfo {
        name: "sump_service.screw_torque".into(),
        title: "Sump screws are tightened to their torque".into(),
        severity: Severity::Hold,
        remedy: Some("Slacken the screw, fit a new one if it has stretched, tighten again.".into()),
        because: None,
        basis: Some("common practice".into()),
        left_out: None,
        place: place(rules, file, "rule screw_torque"),
    };
    let sealed = RuleInfo {
        name: "sump_service.pan_sealed".into(),
        title: "The pan is fitted with a new gasket".into(),
        severity: Severity::Advice,
        remedy: None,
        basis: None,
        left_out: None,
        place: place(rules, file, "rule pan_sealed"),
        ..torque.clone()
    };
    vec![torque, sealed]
}

pub fn judged(rules: &Arc<Sources>, name: &str, text: &str) -> Judged {
    let mut sources = Sources::over(rules);
    let source = sources.add(name, text);
    Judged {
        name: name.into(),
        source,
        sources,
        form: "job".into(),
        headline: "job K-2041, stepped automatic \"six speed\", closed".into(),
        standards: vec!["sump_service edition 2".into()],
        diagnostics: Vec::new(),
        readable: true,
        findings: Vec::new(),
        unlisted: std::collections::BTreeMap::new(),
        tallies: vec![
            (RuleId::at(0), Tally { met: 2, ..Tally::default() }),
            (RuleId::at(1), Tally { not_concerned: 1, ..Tally::default() }),
        ],
        nearest: Vec::new(),
        values: witnessmark::finding::Values { judged: 40, unjudged: 0 },
        steps: 0,
        seen: None,
        archived: None,
        is_made: false,
    }
}

/// One record with a finding of every kind, a diagnostic, a near limit, and a record that is clear.
pub fn full() -> Sample {
    let mut sample = Sample::of(&[("jobs/k-2041.yaml", RECORD), ("jobs/k-2042.yaml", RECORD)]);
    let demand = sample.demand();
    let broken = finding(sample.at("12 Nm"), demand);
    let open = undecided(sample.at("role: sump screw\n    place: A3"), demand);
    let advice = Finding {
        rule: "sump_service.pan_sealed".into(),
        title: "The pan is fitted with a new gasket".into(),
        severity: Severity::Advice,
        message: "No gasket is recorded.".into(),
        subject: String::new(),
        path: "seals".into(),
        at_text: "no seals are recorded".into(),
        missing: vec!["the seals that were renewed".into()],
        required: None,
        remedy: None,
        because: None,
        basis: None,
        ..undecided(sample.at("form"), place(&sample.run.sources, demand.source, "recorded seals"))
    };
    let note = Finding {
        severity: Severity::Note,
        message: "The product is not on the list.".into(),
        at_text: "found Öl 六速 🔧".into(),
        found: Some("Öl 六速 🔧".into()),
        ..finding(sample.at("Öl 六速 🔧"), demand)
    };
    let to_do = Finding { standing: Standing::StillToDo, ..undecided(sample.at("A1"), demand) };
    let passed = Finding { standing: Standing::Passed, ..undecided(sample.at("5.1 L"), demand) };
    let fault = Diagnostic::error(code::NUMBER_FORM, sample.at("9.8 Nm"), "`9,8` is not a number")
        .labelled("a decimal comma")
        .and_at(sample.at("number"), "the job")
        .help("write `9.8`")
        .mended(Some(Fix { place: sample.at("9.8 Nm"), replacement: "9.9 Nm".into() }));
    let near = Near {
        document: "jobs/k-2041.yaml".into(),
        line: 9,
        rule: "sump_service.screw_torque".into(),
        path: "fastenings[0].torque".into(),
        found: "9.8 Nm".into(),
        required: "9 Nm ± 10 %".into(),
        margin: margin(1, 10, (1, 18)),
    };
    let document = &mut sample.documents[0];
    document.findings = vec![advice, broken, open, note, to_do, passed];
    document.diagnostics = vec![fault];
    document.nearest = vec![near];
    let tally = Tally { met: 1, broken: 1, undecided: 1, not_concerned: 0, steps: 12 };
    document.tallies[0].1 = tally;
    sample.sum();
    sample.summary.passed_over = vec!["jobs/notes.yaml".into()];
    sample
}

/// A run whose rules are wrong.
pub fn with_rule_fault() -> Sample {
    let mut sample = full();
    let at = place(&sample.run.sources, sample.demand().source, "recorded seals");
    let other = place(&sample.run.sources, sample.demand().source, "recorded");
    let fault = Diagnostic::error(code::NUMBER_FORM, at, "`seals` is not a field of a job")
        .labelled("no such field")
        .and_at(other, "asked for here")
        .and_at(place(&sample.run.sources, at.source, "judges   job"), "the standard judges this form")
        .help("a near name is `seal`");
    sample.run.diagnostics = vec![fault];
    sample.summary.rule_errors = 1;
    sample
}

/// The same run with a finding and a fault of the record that are known.
pub fn with_known() -> Sample {
    let mut sample = full();
    sample.documents[0].findings[1].standing = Standing::Known;
    sample.documents[0].diagnostics[0].level = witnessmark::diagnostic::Level::Known;
    sample.sum();
    sample
}
