//! The documents that stand around the jobs of a run: procedures, tool registers, earlier jobs.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::history::{Identity, NoOrder, Past, asked};
use super::nearby::Nearby;
use super::{History, Session};
use crate::code::{
    FILE_CHANGED, LOOKS_ALIKE, NEIGHBOUR_FAULTY, NO_TIME_ZONE, PROCEDURE_TWICE, SAME_TIME,
    UNCERTAINTY_UNSTATED,
};
use crate::decide::{LinkedDocuments, Registers, UnresolvedLink};
use crate::diagnostic::{Diagnostic, Fault, Level, did_you_mean, nearest};
use crate::document::{self, Document, Earlier, Forms, Link, NodeId, NodeKind, Record, Shape, Target};
use crate::edition::Edition;
use crate::letters::{look, said};
use crate::library::{Archive, NoArchive};
use crate::metrology::conformity::DecisionRule;
use crate::quantity::{Number, Quantity, Range};
use crate::source::{Place, Source, SourceId, Sources, Span};
use crate::time;
use crate::trade::form::{JOB, LOGBOOK, PROCEDURE, REGISTER};
use crate::trade::register::{self, Tool};
use crate::trade::{Field, Job, Stated, procedure};

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
    by_name: HashMap<String, Vec<(Option<Edition>, usize)>>,
    registers: Registers,
    history: History,
    archive: Arc<dyn Archive>,
    reopened: Mutex<Reopened>,
}

/// How many bytes of text are kept to be read again.
const MOST_KEPT: usize = 32 << 20;

/// Texts of several documents that were opened again.
#[derive(Debug, Default)]
struct Reopened {
    texts: HashMap<Arc<str>, Arc<Source>>,
    bytes: usize,
}

impl Reopened {
    fn keep(&mut self, source: &Arc<Source>) {
        let bytes = self.bytes.saturating_add(source.text().len());
        if bytes <= MOST_KEPT {
            self.bytes = bytes;
            self.texts.insert(source.name().into(), Arc::clone(source));
        }
    }
}

impl Default for Context {
    fn default() -> Self {
        Context {
            procedures: Vec::new(),
            by_name: HashMap::new(),
            registers: Registers::default(),
            history: History::default(),
            archive: Arc::new(NoArchive),
            reopened: Mutex::default(),
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
        look_alikes("procedure", procedures.iter().map(|one| procedure::name(one)), &mut diagnostics);
        let tools = registers.documents().iter().flat_map(|register| register::tools(register));
        look_alikes("tool", tools.map(Tool::number), &mut diagnostics);
        (
            Context { procedures, by_name, registers, history, archive, reopened: Mutex::default() },
            diagnostics,
        )
    }

    /// The procedures.
    pub(super) fn procedures(&self) -> impl Iterator<Item = &Document<'static>> {
        self.procedures.iter()
    }

    /// The tools of the registers that state range and uncertainty of what they measure, which stands in
    /// the group of this name in their entries. Those that may not be used are left out.
    pub(super) fn instruments(&self, group: &str) -> Vec<Instrument> {
        let of = |tool: Tool<'_>| {
            let measuring = tool.measuring(group)?;
            let (expanded, coverage) = measuring.expanded()?;
            let (number, range) = (tool.number().text()?.to_owned(), Arc::clone(measuring.covered()?));
            Some(Instrument { number, range, expanded, coverage })
        };
        self.tools().filter(|tool| !tool.is_withdrawn()).filter_map(of).collect()
    }

    /// The tools of the registers.
    pub(super) fn tools(&self) -> impl Iterator<Item = Tool<'_>> {
        self.registers.documents().iter().flat_map(|register| register::tools(register))
    }

    /// Says which tools measure something and state no uncertainty, where readings are guarded by it.
    pub(super) fn unguarded(&self, decision: &DecisionRule) -> Option<Diagnostic> {
        if *decision == DecisionRule::Simple {
            return None;
        }
        let mut tools = self.tools().filter(|tool| tool.leaves_uncertainty_open());
        let number = tools.next()?.number();
        let name = number.text().unwrap_or("a tool");
        let who = match tools.count() {
            0 => format!("`{name}` states no uncertainty of what it measures, so its readings are"),
            more => format!(
                "`{name}` and {more} more tools state no uncertainty of what they measure, so their readings are"
            ),
        };
        Some(
            Diagnostic::advice(
                UNCERTAINTY_UNSTATED,
                number.place(),
                format!("{who} compared as they are, and not by {decision}"),
            )
            .help("add the uncertainty from the certificate; for a torque wrench, type and class will do"),
        )
    }

    /// The procedure that a job names.
    pub(super) fn procedure(&self, job: &Document<'_>) -> Result<&Document<'static>, UnresolvedLink> {
        let reference = Job::of(job).procedure();
        let Some(name) = reference.name.text() else { return Err(unnamed_procedure(job)) };
        let absent = |words: String| Err(UnresolvedLink::Absent(words.into()));
        let Some(editions) = self.by_name.get(name) else {
            if self.procedures.is_empty() {
                return absent(format!(
                    "there is no procedure `{name}`, as this run has no procedures at all"
                ));
            }
            let mut names: Vec<&str> = self.by_name.keys().map(String::as_str).collect();
            names.sort_unstable();
            let near = nearest(name, names);
            let near = near.map(|near| format!("; {}", did_you_mean(name, near))).unwrap_or_default();
            return absent(format!("there is no procedure `{name}` in this run{near}"));
        };
        let wanted = match reference.edition.edition() {
            Some(Stated::Unreadable) => {
                return absent(format!(
                    "the edition of the procedure `{name}` that the job names cannot be read"
                ));
            }
            Some(Stated::Edition(edition)) => Some(edition),
            None => None,
        };
        let fits = |edition: &Option<Edition>| wanted.is_none() || *edition == wanted;
        let fitting: Vec<usize> =
            editions.iter().filter(|(edition, _)| fits(edition)).map(|(_, number)| *number).collect();
        match fitting.as_slice() {
            [number] => self.procedures.get(*number).ok_or(UnresolvedLink::Absent("".into())),
            [] => {
                let known: Vec<String> =
                    editions.iter().filter_map(|(edition, _)| Some(edition.as_ref()?.to_string())).collect();
                let only =
                    if known.is_empty() { String::new() } else { format!(", only {}", known.join(", ")) };
                let wanted = wanted.map(|edition| edition.to_string()).unwrap_or_default();
                absent(format!("there is no edition {wanted} of the procedure `{name}` in this run{only}"))
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
                Err(UnresolvedLink::Several(words.into()))
            }
        }
    }

    /// The texts of the registers, and those of the procedures, each once.
    pub(super) fn neighbours(&self) -> [Vec<SourceId>; 2] {
        let of = |documents: &[Document<'static>]| {
            let mut sources: Vec<SourceId> = documents.iter().map(|document| document.source).collect();
            sources.dedup();
            sources
        };
        [of(self.registers.documents()), of(&self.procedures)]
    }

    /// Puts other jobs around.
    pub(super) fn replace_history(&mut self, history: History, archive: Arc<dyn Archive>) {
        (self.history, self.archive, self.reopened) = (history, archive, Mutex::default());
    }

    /// The text of a record, opened again.
    pub(super) fn open(&self, name: &str) -> Result<String, Fault> {
        self.archive.open(name)
    }

    /// The jobs around those that are judged.
    pub(super) fn history(&self) -> &History {
        &self.history
    }
}

/// Why a job names no procedure: it says nothing of one, or what it says cannot be read.
fn unnamed_procedure(job: &Document<'_>) -> UnresolvedLink {
    let (name, group) = (Job::of(job).procedure().name, Job::of(job).procedure_group());
    let no_group = |node: &NodeId| !matches!(job.node(*node).kind, NodeKind::Map(_));
    match name.unread().or_else(|| group.unread().filter(no_group)) {
        Some(node) => UnresolvedLink::Absent(format!("`{}` {}", job.path(node), job.why_unread(node)).into()),
        None => UnresolvedLink::Unnamed(name.path()),
    }
}

/// So many records of one job are compared with each other.
const MOST_COPIES: usize = 8;

/// The earlier jobs on the vehicle of one job.
pub(super) struct PastJobs {
    /// The text of the job itself.
    own: SourceId,
    /// The records before it, where it stands in a stream.
    near: Option<Arc<Nearby>>,
    /// Their texts above those of the job itself.
    pub(super) sources: Sources,
    documents: Vec<Document<'static>>,
    /// Which of the documents each link to an earlier job leads to.
    led_to: Vec<(Arc<Earlier>, Result<usize, UnresolvedLink>)>,
    /// Why nobody can tell which job was the last one.
    pub(super) no_order: Vec<Diagnostic>,
}

impl PastJobs {
    /// The records before the job, where it stands in a stream.
    pub(super) fn near(&self) -> Option<Arc<Nearby>> {
        self.near.clone()
    }

    /// The last job on the vehicle.
    pub(super) fn last_job(&self) -> Option<&Document<'static>> {
        let (_, found) = self.led_to.iter().find(|(earlier, _)| **earlier == Earlier::default())?;
        self.documents.get(*found.as_ref().ok()?)
    }

    /// Says once why an earlier job is not known.
    fn note(&mut self, lost: Unresolved, job: &Document<'_>) -> UnresolvedLink {
        let fault = match lost {
            Unresolved::Unread(fault) => return UnresolvedLink::Absent(fault.message.into()),
            Unresolved::Unknown(fault) => fault,
        };
        let unresolved = UnresolvedLink::Absent(fault.message.as_str().into());
        let diagnostic = fault.at(Job::of(job).opened().place());
        if !self.no_order.contains(&diagnostic) {
            self.no_order.push(diagnostic);
        }
        unresolved
    }
}

/// Why a link leads to no earlier job that is known.
#[derive(Clone, Debug)]
enum Unresolved {
    /// Its record cannot be read again.
    Unread(Fault),
    /// Nobody can tell which job, or which record of it, is meant: an error of the run.
    Unknown(Fault),
}

/// Why the records of one job do not tell what it states.
fn differing(number: &str, what: &str) -> Unresolved {
    let message = format!("what the earlier job `{number}` on this vehicle states is not known: {what}");
    let help = "take the copy away, or give the other job its own number";
    Unresolved::Unknown(Fault { help: Some(help.to_owned()), ..Fault::new(SAME_TIME, message) })
}

/// Why nobody can tell which job was the last one.
fn without_order(no_order: NoOrder) -> Unresolved {
    let (code, why, help) = match no_order {
        NoOrder::Undated(name) => (
            NEIGHBOUR_FAULTY,
            format!("`{name}` on it does not say when it was opened, or it cannot be read"),
            "correct `job.opened` of that record",
        ),
        NoOrder::WithoutZone => (
            NO_TIME_ZONE,
            "the time of one has an offset, that of another has none, and no time zone is set".to_owned(),
            time::NAME_THE_ZONE,
        ),
        NoOrder::SameTime(one, other) => (
            SAME_TIME,
            format!("`{one}` and `{other}` were opened at the same time"),
            "correct the time of the one that is wrong; of two copies of one job, take one away",
        ),
    };
    let message = format!("which job on this vehicle was the last one before is not known: {why}");
    Unresolved::Unknown(Fault { help: Some(help.to_owned()), ..Fault::new(code, message) })
}

/// What is said where no earlier job is known.
fn no_earlier(earlier: &Earlier) -> UnresolvedLink {
    let on = if earlier.on_unit { "this unit" } else { "this vehicle" };
    let stating: Vec<String> = earlier.stating.iter().map(|path| format!("`{path}`")).collect();
    let stating =
        if stating.is_empty() { String::new() } else { format!(" that states {}", stating.join(" or ")) };
    UnresolvedLink::Absent(format!("no earlier job on {on}{stating} is known").into())
}

impl Session {
    /// The texts of the tool registers and of the procedures around the jobs, each once.
    #[must_use]
    pub fn neighbours(&self) -> [Vec<SourceId>; 2] {
        self.context.neighbours()
    }

    /// Reads the earlier jobs that the rules can ask for.
    pub(super) fn past(&self, job: &Document<'_>, sources: &Sources, near: Option<&Arc<Nearby>>) -> PastJobs {
        let history = near.map_or(self.history(), |near| &near.history);
        let mut past = PastJobs {
            own: job.source,
            near: near.cloned(),
            sources: sources.clone(),
            documents: Vec::new(),
            led_to: Vec::new(),
            no_order: Vec::new(),
        };
        if !self.program().asks_history() || job.form() != Some(JOB) {
            return past;
        }
        let identity = Identity::of(job);
        let mut read: Vec<(&Arc<Past>, Result<usize, Unresolved>)> = Vec::new();
        for (which, earlier) in asked(self.forms()).into_iter().enumerate() {
            let before = history.before(which, earlier.on_unit, &identity, &self.setting().zone);
            let found = match before.map_err(without_order) {
                Ok(None) => Err(no_earlier(&earlier)),
                Ok(Some(records)) => {
                    let found = self.read_once(records, &mut read, &mut past);
                    found.map_err(|lost| past.note(lost, job))
                }
                Err(lost) => Err(past.note(lost, job)),
            };
            past.led_to.push((earlier, found));
        }
        past
    }

    /// The records of an earlier job, read once for all links that lead to it.
    fn read_once<'h>(
        &self,
        records: &'h [Arc<Past>],
        read: &mut Vec<(&'h Arc<Past>, Result<usize, Unresolved>)>,
        past: &mut PastJobs,
    ) -> Result<usize, Unresolved> {
        let Some(first) = records.first() else { return Err(differing("", "there is no record of it")) };
        if let Some((_, known)) = read.iter().find(|(known, _)| Arc::ptr_eq(known, first)) {
            return known.clone();
        }
        let found = self.read_alike(first, records, past);
        read.push((first, found.clone()));
        found
    }

    /// Reads an earlier job and its copies: by which of them a later job is judged must not depend on their names, so they
    /// must say the same.
    fn read_alike(
        &self,
        first: &Past,
        records: &[Arc<Past>],
        past: &mut PastJobs,
    ) -> Result<usize, Unresolved> {
        if records.len() > MOST_COPIES {
            let what = format!("{} records have its number and its time", records.len());
            return Err(differing(first.number(), &what));
        }
        let number = self.read_past(first, past).map_err(Unresolved::Unread)?;
        for copy in records.iter().skip(1) {
            let other = self.read_past(copy, past).map_err(Unresolved::Unread)?;
            let (one, other) = (past.documents.get(number), past.documents.get(other));
            if !one.zip(other).is_some_and(|(one, other)| one.says_the_same(other)) {
                let (one, other) = (&first.name, &copy.name);
                let what = format!("the records of it in `{one}` and `{other}` differ");
                return Err(differing(first.number(), &what));
            }
        }
        Ok(number)
    }

    /// Opens and reads an earlier job; its number among the documents.
    fn read_past(&self, job: &Past, past: &mut PastJobs) -> Result<usize, Fault> {
        let source = self.reopen(&job.name, job.has_neighbours, past)?;
        let text = past.sources.get(source).map_or("", |source| source.text());
        // Of a text that holds nothing else, the end may have moved since it was looked through.
        let end = if job.has_neighbours { job.extent.end as usize } else { text.len() };
        let extent = Span::new(job.extent.start as usize, end);
        let (documents, _) = document::read_part(source, extent.of(text), extent.start, self.forms());
        let changed =
            || Fault::new(FILE_CHANGED, format!("`{}` has changed while this run went on", job.name));
        let is_this = |document: &Document<'_>| job.is_that_of(&Identity::of(document), &self.setting().zone);
        let document = documents.into_iter().next().filter(is_this).ok_or_else(changed)?;
        past.documents.push(document.into_owned());
        Ok(past.documents.len() - 1)
    }

    /// Opens the text of another job again. One that holds several documents is kept for the other jobs that
    /// need it, as long as there is room.
    pub(super) fn reopen(
        &self,
        name: &Arc<str>,
        has_neighbours: bool,
        past: &mut PastJobs,
    ) -> Result<SourceId, Fault> {
        let is_own = match &past.near {
            Some(near) => Arc::ptr_eq(&near.own, name),
            None => past.sources.name(past.own) == &**name,
        };
        if is_own {
            return Ok(past.own);
        }
        // A record of a stream can be called like any other text.
        if let Some(source) = past.near.as_deref().and_then(|near| near.text(name)) {
            return Ok(past.sources.share(source));
        }
        if !has_neighbours {
            return Ok(past.sources.add(&**name, self.context.archive.open(name)?));
        }
        let mut kept = self.context.reopened.lock().unwrap_or_else(PoisonError::into_inner);
        let source = match kept.texts.get(&**name) {
            Some(source) => Arc::clone(source),
            None => {
                let source = Arc::new(Source::new(&**name, self.context.archive.open(name)?));
                kept.keep(&source);
                source
            }
        };
        Ok(past.sources.share(&source))
    }

    /// What stands around a document.
    pub(super) fn around<'x>(
        &'x self,
        document: &'x Document<'x>,
        past: &'x PastJobs,
    ) -> LinkedDocuments<'x> {
        match document.form() {
            Some(JOB) => {}
            Some(LOGBOOK) => {
                return LinkedDocuments::nothing(document).with_registers(&self.context.registers);
            }
            _ => return LinkedDocuments::nothing(document),
        }
        LinkedDocuments::nothing(document)
            .with_procedure(self.context.procedure(document))
            .with_any_procedure(self.context.procedures.first())
            .with_registers(&self.context.registers)
            .with_history(&past.documents, past.led_to.iter().cloned())
    }
}

/// Says that a document around the others has errors, which are listed where it is inspected itself.
/// One of which nothing can be used is a mistake of the run.
fn faulty(sources: &Sources, source: SourceId, found: &[Diagnostic], usable: bool) -> Option<Diagnostic> {
    let mut errors = found.iter().filter(|found| found.level == Level::Error);
    let first = errors.next()?;
    let place = first.place().unwrap_or(Place { source, span: crate::source::Span::default() });
    let message =
        format!("`{}` has errors ({} in all): {}", sources.name(source), errors.count() + 1, first.message);
    let level = if usable { Level::Advice } else { Level::Error };
    Some(
        Diagnostic { level, ..Diagnostic::advice(NEIGHBOUR_FAULTY, place, message) }
            .help("inspect it by itself; until then, what jobs take from these places is not known"),
    )
}

fn by_name(
    procedures: &[Document<'static>],
    diagnostics: &mut Vec<Diagnostic>,
) -> HashMap<String, Vec<(Option<Edition>, usize)>> {
    let mut by_name: HashMap<String, Vec<(Option<Edition>, usize)>> = HashMap::new();
    for (number, document) in procedures.iter().enumerate() {
        let Some(name) = procedure::name(document).text() else { continue };
        // One without an edition is the first. Of one that cannot be read nobody knows which it is.
        let edition = match procedure::edition(document).edition() {
            None => Some(Edition::FIRST),
            Some(Stated::Edition(edition)) => Some(edition),
            Some(Stated::Unreadable) => None,
        };
        let editions = by_name.entry(name.to_owned()).or_default();
        if let Some(edition) = edition
            && let Some((_, first)) = editions.iter().find(|(known, _)| *known == Some(edition))
            && let Some(first) = procedures.get(*first)
        {
            let message = format!("the procedure `{name}` edition {edition} is there twice");
            diagnostics.push(
                Diagnostic::error(PROCEDURE_TWICE, procedure::name(document).place(), message)
                    .labelled("again here")
                    .and_at(procedure::name(first).place(), "first here")
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

/// Says that two names look alike and are different ones: a job that means the one can name the other.
fn look_alikes<'n>(what: &str, names: impl Iterator<Item = Field<'n>>, diagnostics: &mut Vec<Diagnostic>) {
    let mut looks: HashMap<Cow<'n, str>, (&'n str, Place)> = HashMap::new();
    for field in names {
        let (Some(name), place) = (field.text(), field.place()) else { continue };
        let (first, at) = *looks.entry(look(name)).or_insert((name, place));
        if first != name {
            let message = format!("the {what} `{name}` looks like another {what}");
            diagnostics.push(
                Diagnostic::advice(LOOKS_ALIKE, place, message)
                    .and_at(at, "the other")
                    .help(said(name, first)),
            );
        }
    }
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
