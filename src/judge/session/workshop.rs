//! The procedures and tools around the jobs, for whoever plans a job by them.

use std::sync::Arc;

use jiff::civil::Date;

use super::Session;
use super::history::History;
use crate::document::Document;
use crate::finding::{Finding, Standing};
use crate::library::Archive;
use crate::source::Place;
use crate::trade::Field;
use crate::trade::procedure::{self, Procedure};
use crate::trade::work::turn;

/// A tool of the register.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToolInUse {
    /// Its number.
    pub number: String,
    /// What kind of tool it is.
    pub kind: String,
    /// What it covers, as far as that is stated.
    pub covered: String,
    /// What it measures: torque, temperature.
    pub measures: Vec<String>,
    /// When it was calibrated last.
    pub calibrated: Option<Date>,
    /// Whether the register says that it may not be used.
    pub is_withdrawn: bool,
}

impl ToolInUse {
    /// It in a line, without its number.
    #[must_use]
    pub fn in_words(&self) -> String {
        let covered = Some(self.covered.clone()).filter(|covered| !covered.is_empty());
        let calibrated = self.calibrated.as_ref().map(|day| format!("calibrated {day}"));
        let withdrawn = self.is_withdrawn.then(|| "not to be used".to_owned());
        let facts = [Some(self.kind.clone()), covered, calibrated, withdrawn];
        facts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// Where something has its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedPlace {
    /// The name.
    pub name: String,
    /// Where it is written.
    pub at: Place,
}

impl Session {
    /// Where the tools of the registers have their numbers.
    #[must_use]
    pub fn places_of_tools(&self) -> Vec<NamedPlace> {
        self.context.tools().filter_map(|tool| named(&tool.number())).collect()
    }

    /// Where the procedures have their names, each edition by itself.
    #[must_use]
    pub fn places_of_procedures(&self) -> Vec<NamedPlace> {
        self.context.procedures().filter_map(|document| named(&procedure::name(document))).collect()
    }

    /// The procedure by which a job is done, if there is exactly one that it can mean.
    #[must_use]
    pub fn procedure_of(&self, job: &Document<'_>) -> Option<Procedure> {
        self.context.procedure(job).ok().map(|document| self.stated(document))
    }

    /// Says of what is still to do where in the order of the procedure it comes.
    pub(super) fn put_in_turn(&self, job: &Document<'_>, findings: &mut [Finding]) {
        let mut open =
            findings.iter_mut().filter(|finding| finding.standing == Standing::StillToDo).peekable();
        let Some(procedure) = open.peek().and_then(|_| self.procedure_of(job)) else { return };
        open.for_each(|finding| {
            let path = if finding.path.is_empty() { &finding.subject } else { &finding.path };
            finding.turn = turn(&procedure, job, path);
        });
    }

    /// All procedures, in the order in which they were read.
    #[must_use]
    pub fn procedures(&self) -> Vec<Procedure> {
        self.context.procedures().map(|document| self.stated(document)).collect()
    }

    fn stated(&self, document: &Document<'_>) -> Procedure {
        let text = self.sources.get(document.source).map_or("", |source| source.text());
        Procedure::of(document, text)
    }

    /// The tools of the registers.
    #[must_use]
    pub fn tools_in_use(&self) -> Vec<ToolInUse> {
        self.context
            .tools()
            .filter_map(|tool| {
                Some(ToolInUse {
                    number: tool.number().text()?.to_owned(),
                    kind: tool.sort().text().unwrap_or_default().to_owned(),
                    covered: tool
                        .all_covered()
                        .map(|range| range.limits_text())
                        .collect::<Vec<_>>()
                        .join(", "),
                    measures: tool.measures().map(str::to_owned).collect(),
                    calibrated: tool.calibrated(),
                    is_withdrawn: tool.is_withdrawn(),
                })
            })
            .collect()
    }

    /// Puts other jobs around those that will be judged; the procedures and registers stay.
    pub fn replace_history(&mut self, history: History, archive: Arc<dyn Archive>) {
        self.context.replace_history(history, archive);
    }
}

fn named(field: &Field<'_>) -> Option<NamedPlace> {
    Some(NamedPlace { name: field.text()?.to_owned(), at: field.place() })
}
