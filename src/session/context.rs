//! The documents that stand around the jobs of a run: procedures, tool registers, earlier jobs.

use std::collections::HashMap;
use std::sync::Arc;

use super::history::{Identity, Past};
use super::{History, Session};
use crate::code::{NEIGHBOUR_FAULTY, PROCEDURE_TWICE};
use crate::diagnostic::{Diagnostic, Fault, Level, nearest};
use crate::document::link::{JOB, PROCEDURE, REGISTER};
use crate::document::{self, Document, Forms, Link, NodeId, Record, Shape, Target};
use crate::evaluate::{Around, Lost, Registers, stated};
use crate::library::{Archive, NoArchive};
use crate::quantity::{Number, Quantity, Range};
use crate::source::{Place, SourceId, Sources};
use crate::value::Value;

/// A tool of the register, as far as it tells how sure its readings are.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Its number.
    pub number: String,
    /// What it can measure.
    pub range: Arc<Range>,
    /// The expanded uncertainty that is stated of it.
    pub expanded: Quantity,
    /// The coverage factor of that.
    pub coverage: Number,
}

/// Procedures, registers and earlier jobs.
pub(super) struct Context {
    procedures: Vec<Document<'static>>,
    /// The numbers of the procedures of each name, in the order of their editions.
    by_name: HashMap<String, Vec<(u64, usize)>>,
    registers: Registers,
    history: History,
    archive: Arc<dyn Archive>,
}

impl Default for Context {
    fn default() -> Self {
        Context {
            procedures: Vec::new(),
            by_name: HashMap::new(),
            registers: Registers::default(),
            history: History::default(),
            archive: Arc::new(NoArchive),
        }
    }
}

impl Context {
    /// Reads the documents of a run that stand around others.
    pub(super) fn read(
        sources: &Sources,
        around: &[SourceId],
        forms: &Forms,
        history: History,
        archive: Arc<dyn Archive>,
    ) -> (Context, Vec<Diagnostic>) {
        let (mut procedures, mut registers, mut diagnostics) = (Vec::new(), Vec::new(), Vec::new());
        for source in around {
            let text = sources.get(*source).map_or("", |source| source.text());
            let (documents, found) = document::read(*source, text, forms);
            let usable = documents.iter().any(|document| document.form().is_some());
            diagnostics.extend(faulty(sources, *source, &found, usable));
            for document in documents {
                match document.form() {
                    Some(PROCEDURE) => procedures.push(document.into_owned()),
                    Some(REGISTER) => registers.push(document.into_owned()),
                    _ => {}
                }
            }
        }
        let by_name = by_name(&procedures, &mut diagnostics);
        let registers = Registers::new(registers, links(forms).iter());
        (Context { procedures, by_name, registers, history, archive }, diagnostics)
    }

    /// The tools of the registers that state range and uncertainty of what they measure, which stands in
    /// the group of this name in their entries. Those that may not be used are left out.
    pub(super) fn instruments(&self, group: &str) -> Vec<Instrument> {
        let of = |register: &Document<'static>, tool: NodeId| {
            let value = |node: NodeId, field: &str| register.value(register.get(node, field)?);
            if matches!(value(tool, "in_use"), Some(Value::Truth(false))) {
                return None;
            }
            let measuring = register.get(tool, group)?;
            let (expanded, coverage) = stated(register, measuring)?;
            let Value::Range(range) = value(measuring, "range")? else { return None };
            let number = register.raw(register.get(tool, "number")?)?.trim().to_owned();
            Some(Instrument { number, range: Arc::clone(range), expanded, coverage })
        };
        let registers = self.registers.documents().iter();
        let tools = registers.flat_map(|register| {
            let list = register.find("tools").map_or(&[][..], |list| register.items(list));
            list.iter().map(move |tool| (register, *tool))
        });
        tools.filter_map(|(register, tool)| of(register, tool)).collect()
    }

    /// The procedure that a job names.
    pub(super) fn procedure(&self, job: &Document<'_>) -> Result<&Document<'static>, Lost> {
        let raw = |path: &str| job.find(path).and_then(|node| job.raw(node)).map(str::trim);
        let Some(name) = raw("job.procedure.name").filter(|name| !name.is_empty()) else {
            return Err(Lost::Unnamed("job.procedure.name".into()));
        };
        let absent = |words: String| Err(Lost::Absent(words.into()));
        let Some(editions) = self.by_name.get(name) else {
            if self.procedures.is_empty() {
                return absent(format!(
                    "there is no procedure `{name}`, as this run has no procedures at all"
                ));
            }
            let mut names: Vec<&str> = self.by_name.keys().map(String::as_str).collect();
            names.sort_unstable();
            let near = nearest(name, names);
            let near = near.map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
            return absent(format!("there is no procedure `{name}` in this run{near}"));
        };
        let wanted = raw("job.procedure.edition").filter(|edition| !edition.is_empty());
        let fitting: Vec<usize> = match wanted.map(str::parse::<u64>) {
            Some(Ok(wanted)) => {
                editions.iter().filter(|(edition, _)| *edition == wanted).map(|(_, number)| *number).collect()
            }
            Some(Err(_)) => Vec::new(),
            None => editions.iter().map(|(_, number)| *number).collect(),
        };
        match fitting.as_slice() {
            [number] => self.procedures.get(*number).ok_or(Lost::Absent("".into())),
            [] => {
                let known: Vec<String> = editions.iter().map(|(edition, _)| edition.to_string()).collect();
                let wanted = wanted.unwrap_or_default();
                absent(format!(
                    "there is no edition {wanted} of the procedure `{name}` in this run, only {}",
                    known.join(", ")
                ))
            }
            several => {
                let words = match wanted {
                    Some(edition) => format!(
                        "{} documents of this run are the procedure `{name}` edition {edition}",
                        several.len()
                    ),
                    None => format!(
                        "this run has {} editions of the procedure `{name}`, and the job does not say which",
                        several.len()
                    ),
                };
                Err(Lost::Several(words.into()))
            }
        }
    }

    /// The jobs around those that are judged.
    pub(super) fn history(&self) -> &History {
        &self.history
    }
}

/// The earlier jobs on the vehicle of one job.
pub(super) struct PastJobs {
    /// Their texts above those of the job itself.
    pub(super) sources: Sources,
    documents: Vec<Document<'static>>,
    job: Result<usize, Lost>,
    service: Result<usize, Lost>,
}

impl Session {
    /// Reads the earlier jobs that the rules can ask for.
    pub(super) fn past(&self, job: &Document<'_>, sources: &Sources) -> PastJobs {
        let none = |what: &str| Err(Lost::Absent(what.into()));
        let mut past = PastJobs {
            sources: sources.clone(),
            documents: Vec::new(),
            job: none("no earlier job on this vehicle is known"),
            service: none("no earlier job on this unit is known"),
        };
        if !self.program().asks_history() || job.form() != Some(JOB) {
            return past;
        }
        let (last, service) = self.history().before(&Identity::of(job), &self.setting().zone);
        let same = last == service;
        if let Some(last) = last {
            past.job = self.read_past(last, &mut past);
        }
        match service {
            Some(_) if same => past.service = past.job.clone(),
            Some(service) => past.service = self.read_past(service, &mut past),
            None => {}
        }
        past
    }

    /// Opens and reads an earlier job; its number among the documents.
    fn read_past(&self, job: &Past, past: &mut PastJobs) -> Result<usize, Lost> {
        let source = self.reopen(&job.name, past).map_err(|fault| Lost::Absent(fault.message.into()))?;
        let text = past.sources.get(source).map_or("", |source| source.text());
        let (documents, _) = document::read(source, text, self.forms());
        let changed = || Lost::Absent(format!("`{}` has changed while this run went on", job.name).into());
        let document = documents.into_iter().nth(job.place).ok_or_else(changed)?;
        past.documents.push(document.into_owned());
        Ok(past.documents.len() - 1)
    }

    /// Opens the text of another job again.
    pub(super) fn reopen(&self, name: &str, past: &mut PastJobs) -> Result<SourceId, Fault> {
        let text = self.context.archive.open(name)?;
        Ok(past.sources.add(name, text))
    }

    /// What stands around a document.
    pub(super) fn around<'x>(&'x self, document: &'x Document<'x>, past: &'x PastJobs) -> Around<'x> {
        if document.form() != Some(JOB) {
            return Around::nothing(document);
        }
        let earlier = |number: &Result<usize, Lost>| {
            let number = number.clone()?;
            past.documents.get(number).ok_or(Lost::First)
        };
        Around::nothing(document)
            .with_procedure(self.context.procedure(document))
            .with_any_procedure(self.context.procedures.first())
            .with_registers(&self.context.registers)
            .with_history(earlier(&past.job), earlier(&past.service))
    }
}

/// Says that a document around the others has mistakes, which are listed where it is inspected itself.
/// One of which nothing can be used is a mistake of the run.
fn faulty(sources: &Sources, source: SourceId, found: &[Diagnostic], usable: bool) -> Option<Diagnostic> {
    let mut errors = found.iter().filter(|found| found.level == Level::Error);
    let first = errors.next()?;
    let place = first.place().unwrap_or(Place { source, span: crate::source::Span::default() });
    let message =
        format!("`{}` has mistakes ({} in all): {}", sources.name(source), errors.count() + 1, first.message);
    let level = if usable { Level::Advice } else { Level::Error };
    Some(
        Diagnostic { level, ..Diagnostic::advice(NEIGHBOUR_FAULTY, place, message) }
            .help("inspect it by itself; until then, what jobs take from these places cannot be told"),
    )
}

fn by_name(
    procedures: &[Document<'static>],
    diagnostics: &mut Vec<Diagnostic>,
) -> HashMap<String, Vec<(u64, usize)>> {
    let mut by_name: HashMap<String, Vec<(u64, usize)>> = HashMap::new();
    for (number, document) in procedures.iter().enumerate() {
        let raw = |path: &str| document.find(path).and_then(|node| document.raw(node)).map(str::trim);
        let Some(name) = raw("procedure.name").filter(|name| !name.is_empty()) else { continue };
        let edition = raw("procedure.edition").and_then(|edition| edition.parse().ok()).unwrap_or(1);
        let editions = by_name.entry(name.to_owned()).or_default();
        if let Some((_, first)) = editions.iter().find(|(known, _)| *known == edition)
            && let Some(first) = procedures.get(*first)
        {
            let place = |document: &Document<'_>| document.place(document.deepest("procedure.name"));
            let message = format!("the procedure `{name}` edition {edition} is there twice");
            diagnostics.push(
                Diagnostic::error(PROCEDURE_TWICE, place(document), message)
                    .labelled("again here")
                    .and_at(place(first), "first here")
                    .help("take one of them away, or give it the next edition"),
            );
        }
        editions.push((edition, number));
    }
    for editions in by_name.values_mut() {
        editions.sort_unstable();
    }
    by_name
}

/// All links that the forms declare.
fn links(forms: &Forms) -> Vec<Link> {
    fn gather(record: &Record, links: &mut Vec<Link>) {
        links.extend(record.links.iter().filter(|link| matches!(link.to, Target::InRegister(_))).cloned());
        for field in &record.fields {
            let mut shape = &field.shape;
            while let Shape::List(entry) = shape {
                shape = entry;
            }
            if let Shape::Record(record) = shape {
                gather(record, links);
            }
        }
    }
    let mut links_of = Vec::new();
    for form in forms.iter() {
        gather(form.record(), &mut links_of);
    }
    links_of
}
