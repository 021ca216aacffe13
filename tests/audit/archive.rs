//! A made-up workshop: jobs of which each has its sump screws tightened, some of them wrongly.

use std::fmt::Write as _;

use jiff::civil::{Date, date};
use witnessmark::audit::{Around, Figures, Page, Taken, Wanted, page};
use witnessmark::language::ast::Severity;
use witnessmark::report::RuleInfo;
use witnessmark::session::Session;

use crate::support;

/// What is demanded there.
pub const RULES: &str = r#"
standard house edition 1 "House"
judges job
rule torque "Sump screws are tightened to their torque"
  concerns  each s in fastenings
  demands   s.torque within 10 Nm ± 10 %
  otherwise hold "{s.torque} recorded"
rule level "The level is checked warm"
  concerns  where recorded level_check
  demands   level_check.temperature within 30 °C .. 50 °C
  otherwise hold "{level_check.temperature}"
rule run_out "The level is checked warm, and little runs out"
  concerns  where recorded level_check.run_out
  demands   level_check.temperature within 30 °C .. 50 °C and level_check.run_out within 0.1 L .. 0.5 L
  otherwise hold "{level_check.run_out}"
rule plate "The plate is recorded"
  demands   recorded vehicle.plate
  otherwise advice "no plate"
"#;

/// A job there.
#[derive(Clone, Debug)]
pub struct Job {
    pub number: usize,
    pub day: Date,
    pub kind: &'static str,
    pub technician: &'static str,
    pub tool: &'static str,
    /// In hundredths of a newton metre.
    pub torques: Vec<i64>,
    pub lot: &'static str,
    pub more: &'static str,
}

impl Job {
    pub fn of(number: usize) -> Job {
        Job {
            number,
            day: date(2026, 3, 2),
            kind: "engine",
            technician: "Lene Brandt",
            tool: "T-04",
            torques: vec![1000],
            lot: "F-1",
            more: "",
        }
    }

    pub fn text(&self) -> String {
        let Job { number, day, kind, technician, tool, torques, lot, more } = self;
        let mut text = format!(
            "form: job/1\njob: {{number: K-{number}, opened: {day}T08:15:00+01:00, closed: {day}T10:15:00+01:00, \
             state: closed, technician: {technician}}}\nvehicle: {{plate: GW {number} TE}}\nunit: {{kind: {kind}}}\n\
             fluid: {{lot: {lot}}}\n{more}fastenings:\n"
        );
        for (place, torque) in torques.iter().enumerate() {
            let _ = writeln!(
                text,
                "  - {{role: sump screw, place: A{place}, torque: {}.{:02} Nm, tool: {tool}}}",
                torque / 100,
                torque % 100
            );
        }
        text
    }

    pub fn name(&self) -> String {
        format!("jobs/K-{:05}.yaml", self.number)
    }
}

pub fn session() -> Session {
    let session = support::session(&[("house.standard", RULES)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session.keeping_figures()
}

/// What of the documents of a text counts.
pub fn taken(session: &Session, name: &str, text: &str) -> Vec<Taken> {
    session.judge(name, text).into_iter().map(|judged| Taken::of(judged, Severity::Hold)).collect()
}

/// Adds what counts of documents.
pub fn sum(session: &Session, wanted: Wanted, taken: &[Taken]) -> Figures {
    let mut figures = Figures::of(wanted);
    let rules = session.program().rules();
    taken.iter().for_each(|one| figures.add(one, |number| &rules[number].name));
    figures
}

/// The figures of jobs.
pub fn figures(jobs: &[Job]) -> Figures {
    let session = session();
    let taken: Vec<Taken> = jobs.iter().flat_map(|job| taken(&session, &job.name(), &job.text())).collect();
    sum(&session, Wanted::default(), &taken)
}

/// What is told of figures on a day.
pub fn told(figures: &Figures, as_of: Date, tools: &[(&str, bool)]) -> Page {
    let session = session();
    let rules: Vec<RuleInfo> = session
        .program()
        .rules()
        .all()
        .iter()
        .map(|rule| RuleInfo {
            name: rule.name.clone(),
            title: rule.title.clone(),
            severity: rule.severity,
            remedy: None,
            because: None,
            basis: None,
            left_out: None,
            place: rule.name_place,
        })
        .collect();
    let tools: Vec<(String, bool)> =
        tools.iter().map(|(number, clicks)| ((*number).to_owned(), *clicks)).collect();
    page(figures, &Around { as_of, fail_on: Severity::Hold, rules: &rules, tools: &tools, judged: "" })
}

/// The rows of a section, in words.
pub fn rows(page: &Page, key: &str) -> Vec<Vec<String>> {
    let section = page.sections.iter().find(|section| section.key == key);
    let section = section.unwrap_or_else(|| panic!("there is no section {key}"));
    section.rows.iter().map(|row| row.iter().map(|cell| cell.words()).collect()).collect()
}
