//! Sheets: a procedure as a blank record to fill in, and as a page to print. Pure, without input or
//! output.

mod asked;
mod blank;
mod html;
mod needs;
mod plan;
mod print;
mod procedure;
mod safe;

pub use asked::Asked;
pub use blank::scalar;
pub use plan::{Entry, Leaf, Planning, Slot, is_of_groups};
pub use procedure::read_procedure;

use std::collections::BTreeSet;

use crate::diagnostic::Diagnostic;
use crate::document::{PathPattern, Shape};
use crate::language::analysis::{Facts, in_force};
use crate::language::typed::Program;
use crate::session::Session;
use crate::source::Sources;
use crate::trade::blank as blank_record;
use crate::trade::form::JOB;
use crate::trade::job::{self, JobState};
pub use crate::trade::procedure::Procedure;

/// The most fastenings, and entries of any other list, that a sheet has room for.
pub const MOST_ENTRIES: u64 = 500;

/// Why there is no sheet.
#[derive(Debug)]
pub struct Refusal {
    /// What is wrong.
    pub diagnostics: Vec<Diagnostic>,
    /// The text of the procedure above those of the rules.
    pub sources: Sources,
}

/// What a procedure says of a job before it begins.
#[must_use]
pub fn facts(procedure: &Procedure) -> Facts {
    facts_of_unit(&procedure.kind, procedure.family.as_deref())
}

/// What is known of a job on this unit, when it is closed.
fn facts_of_unit(kind: &str, family: Option<&str>) -> Facts {
    let family = family.map(|family| (job::FAMILY, family));
    let known = [(job::KIND, kind), (job::STATE, JobState::Closed.word())].into_iter().chain(family);
    known.map(|(path, text)| (pattern(path), text.to_owned())).collect()
}

/// What is known of a job before it begins, and what its record will have.
struct Known {
    /// The texts that the procedure settles.
    facts: Facts,
    /// The record, as far as the procedure goes.
    record: blank_record::Group,
    /// The patterns of its fields.
    fields: BTreeSet<PathPattern>,
    /// Whether the record names a procedure.
    names_procedure: bool,
}

impl Known {
    fn of(procedure: &Procedure) -> Known {
        let record = blank_record::of_procedure(procedure);
        let mut fields = needs::fields_of(&record);
        // What a job is held against its procedure for, the record has from the procedure itself.
        let reference = pattern(job::PROCEDURE);
        fields.retain(|field| !field.is_within(&reference));
        Known { facts: facts(procedure), fields, record, names_procedure: true }
    }

    /// What is known of a job without a procedure.
    fn of_unit(kind: &str, family: Option<&str>) -> Known {
        let record = blank_record::of_unit(kind, family);
        let (facts, fields) = (facts_of_unit(kind, family), needs::fields_of(&record));
        Known { facts, fields, record, names_procedure: false }
    }

    /// The standards in force, asked about it.
    fn needs<'p>(&'p self, session: &'p Session) -> needs::Needs<'p> {
        needs::Needs::new(session, &self.facts, &self.fields)
    }

    /// The standards in force, with their editions.
    fn standards(&self, program: &Program, fields: &BTreeSet<PathPattern>) -> Vec<String> {
        // A record that names its procedure is judged by what holds a job against that, too.
        let named = self.names_procedure.then(|| (pattern(job::PROCEDURE_NAME), String::new()));
        let known = self.facts.iter().map(|(path, text)| (path.clone(), text.clone()));
        let facts: Facts = known.chain(named).collect();
        in_force(program, JOB, &facts, fields).map(|standard| standard.full_name()).collect()
    }
}

/// The blank record of a job by this procedure: what is settled written out, all else left blank, with
/// a comment on what may stand there.
#[must_use]
pub fn blank(session: &Session, procedure: &Procedure) -> String {
    written(session, &Known::of(procedure), |standards| blank::heading_of_procedure(procedure, standards))
}

/// The blank record of a job on a unit for which there is no procedure: what the standards ask of any such job.
#[must_use]
pub fn blank_of_unit(session: &Session, kind: &str, family: Option<&str>) -> String {
    let known = Known::of_unit(kind, family);
    written(session, &known, |standards| blank::heading_of_unit(kind, family, standards))
}

fn written(session: &Session, known: &Known, heading: impl Fn(&[String]) -> String) -> String {
    let Some(form) = session.forms().get(JOB) else { return String::new() };
    let (mut needs, mut record) = (known.needs(session), known.record.clone());
    needs.complete(&mut record, form.record());
    let fields = match known.names_procedure {
        true => &known.fields,
        // What the standards ask of the unit brings other standards into force.
        false => &needs::fields_of(&record),
    };
    let mut writer =
        blank::Writer { needs: &needs, out: heading(&known.standards(session.program(), fields)) };
    writer.group(&record, form.record(), &PathPattern::root(), &needs::Trail::default(), 0);
    writer.out
}

/// The job sheet as one page of HTML that needs nothing else: for the screen, and to print on A4 or
/// US Letter. `holds` is how many holds the procedure itself has; a sheet with any says so at its top.
#[must_use]
pub fn print(session: &Session, procedure: &Procedure, holds: usize) -> String {
    let Some(form) = session.forms().get(JOB) else { return String::new() };
    let known = Known::of(procedure);
    let (mut needs, mut record) = (known.needs(session), known.record.clone());
    needs.complete(&mut record, form.record());
    needs.plan(&mut record, &PathPattern::root(), &needs::Trail::default());
    print::page(
        procedure,
        &record,
        form.record(),
        &known.standards(session.program(), &known.fields),
        &needs,
        holds,
    )
}

/// The kinds of units that a job can be on.
#[must_use]
pub fn kinds(session: &Session) -> Vec<&str> {
    match session.forms().get(JOB).and_then(|form| form.record().shape_at(job::KIND)) {
        Some(Shape::Word(words)) => words.iter().map(|word| &**word).collect(),
        _ => Vec::new(),
    }
}

/// The pattern of a field of the whole document.
fn pattern(path: &str) -> PathPattern {
    path.split('.').fold(PathPattern::root(), |path, name| path.key(name))
}
