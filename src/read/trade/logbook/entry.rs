//! The facts of one job that logbooks are made of, each with its place in the record. Copied out of the document, which a
//! run over many does not keep, and as it is written there: what cannot be read in the record cannot be read in a logbook.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::About;
use crate::document::{Document, NodeId, NodeKind};
use crate::letters::{Separators, folded};
use crate::source::Span;
use crate::time::Frame;
use crate::trade::Field;
use crate::trade::facts::TOOL;
use crate::trade::job::{CLOSED, Job, NUMBER, OPENED};
use crate::trade::names::COUNT;
use crate::value::Moment;

/// What a logbook copies of a job: the name in the logbook, and the path in the record.
pub(super) const COPIED: [(&str, &str); 10] = [
    (JOB, NUMBER),
    (AT, OPENED),
    ("closed", CLOSED),
    ("state", crate::trade::job::STATE),
    (ODOMETER, "vehicle.odometer"),
    ("kind", crate::trade::job::KIND),
    ("family", crate::trade::job::FAMILY),
    ("technician", crate::trade::job::TECHNICIAN),
    ("countersigned_by", "job.countersigned_by"),
    ("lift", LIFT),
];

/// The field of an entry that has the number of its job.
pub(super) const JOB: &str = "job";
/// That which says when the job was taken up.
pub(super) const AT: &str = "opened";
/// That which has the distance.
pub(super) const ODOMETER: &str = "odometer";
/// The path of the lift in a record.
const LIFT: &str = "job.lift";

/// Where a record says that a unit was filled: a list with an entry, or a field.
const RENEWED: [&str; 3] = ["fluid.fills", "brake_fluid.bleeding", "coolant.filling"];

/// Where it has the codes of a reading of the fault memory, in the order of the work.
const CODES: [&str; 3] =
    ["fault_memory.before.codes", "fault_memory.after.codes", "fault_memory.after_drive.codes"];

/// So many tools, and so many fault codes, of one job are kept; a record has some dozens.
pub(super) const MOST_NAMED: usize = 1_000;

/// A value as a record states it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Said {
    /// As it is written.
    pub(super) text: Box<str>,
    /// Whether it can be read.
    pub(super) is_read: bool,
    /// Where it is.
    pub(super) at: Span,
}

/// The uses of a tool in one job.
#[derive(Clone, Debug)]
pub(super) struct ToolUse {
    pub(super) name: Box<str>,
    /// The same as it is compared.
    pub(super) key: Box<str>,
    /// How often it was used; nothing where that cannot be read.
    pub(super) operations: Option<u64>,
    /// Where it is named first.
    pub(super) at: Span,
}

/// A fault code that was found.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) code: Said,
    pub(super) status: Option<Said>,
}

/// The facts of one job.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The name of the text that records it.
    pub(super) record: Arc<str>,
    /// Whether it is one of the jobs of the run, and not only of those around them.
    pub(super) is_of_run: bool,
    /// What is copied, each with its number in [`COPIED`].
    pub(super) copied: Box<[(u8, Said)]>,
    pub(super) vehicle: Option<Said>,
    pub(super) vin: Option<Said>,
    /// The names of the vehicle as they are compared: VIN and plate.
    pub(super) vehicle_names: [Option<Box<str>>; 2],
    pub(super) renewed: Option<Said>,
    pub(super) tools: Box<[ToolUse]>,
    pub(super) faults: Box<[Found]>,
    pub(super) opened: Option<Timestamp>,
    pub(super) closed: Option<Timestamp>,
    pub(super) is_in_work: bool,
    /// How its times are written, where no time zone puts them in one order.
    pub(super) frame: Option<Frame>,
    /// Where it begins in its record: the number of the job.
    pub(super) at: Span,
    /// Whether something is recorded of its vehicle, and no name that can be read.
    pub(super) lacks_vehicle: bool,
    /// Whether something else by which it belongs to a logbook is recorded and cannot be read.
    pub(super) is_astray: bool,
    /// Whether it names more tools or codes than are kept.
    pub(super) is_overfull: bool,
}

impl Entry {
    /// The facts of the job in a document that was read whole.
    #[must_use]
    pub fn of(document: &Document<'_>, record: &Arc<str>, zone: &TimeZone) -> Entry {
        let job = Job::of(document);
        let field = |path| Field::at(document, path);
        let copied = COPIED
            .iter()
            .zip(0..)
            .filter_map(|((_, path), which)| Some((which, said(document, field(path))?)));
        let copied: Box<[(u8, Said)]> = copied.collect();
        let (vin, plate) = (said(document, job.vin()), said(document, job.plate()));
        let names = [&vin, &plate].map(|name| name_of(name.as_ref(), Separators::None));
        let vehicle = [&plate, &vin].into_iter().flatten().find(|name| name.is_read);
        let vehicle = vehicle.or(plate.as_ref()).or(vin.as_ref()).cloned();
        let (tools, tool_lost, many_tools) = tools(document);
        let (faults, many_faults) = faults(document);
        let moments = [job.opened().moment(), job.closed().moment()];
        let instants = moments.map(|moment| instant(moment?, zone));
        let frame = moments.into_iter().flatten().map(Frame::of).find(|_| zone.is_unknown());
        let place_lost = [job.technician(), field(LIFT)].into_iter().any(|field| field.unread().is_some());
        let no_vehicle = names.iter().all(Option::is_none);
        Entry {
            record: Arc::clone(record),
            is_of_run: true,
            vehicle,
            renewed: renewed(document),
            at: job.number().node().map(|node| document.span(node)).unwrap_or_default(),
            is_in_work: job.is_in_work(),
            opened: instants[0],
            closed: instants[1],
            lacks_vehicle: no_vehicle && job.vehicle().recorded().is_some(),
            is_astray: place_lost || tool_lost,
            is_overfull: many_tools || many_faults,
            copied,
            vin,
            vehicle_names: names,
            tools,
            faults,
            frame,
        }
    }

    /// The same of a job that is only around those of the run.
    #[must_use]
    pub fn around(self) -> Entry {
        Entry { is_of_run: false, ..self }
    }

    /// The names by which it belongs to logbooks, as they are compared.
    pub fn names(&self) -> impl Iterator<Item = (About, String)> {
        let vehicles = self.vehicle_names.iter().flatten().map(|name| (About::Vehicle, name.to_string()));
        let tools = self.tools.iter().map(|tool| (About::Tool, tool.key.to_string()));
        let others = [About::Technician, About::Lift].into_iter();
        let others = others.filter_map(|about| Some((about, compared(&self.named(about)?.text))));
        vehicles.chain(tools).chain(others)
    }

    /// The technician, or the lift.
    pub(super) fn named(&self, about: About) -> Option<&Said> {
        self.copy(about.word()).filter(|said| said.is_read)
    }

    /// What was copied under this name.
    pub(super) fn copy(&self, name: &str) -> Option<&Said> {
        let is_that = |which: u8| COPIED.get(usize::from(which)).is_some_and(|(known, _)| *known == name);
        self.copied.iter().find(|(which, _)| is_that(*which)).map(|(_, said)| said)
    }

    /// Whether another one says the same of the same job, as its copy does.
    pub(super) fn is_copy_of(&self, other: &Entry) -> bool {
        let texts = |entry: &Entry| {
            let copied = entry.copied.iter().map(|(which, said)| (*which, said.text.clone(), said.is_read));
            let tools = entry.tools.iter().map(|tool| (tool.name.clone(), tool.operations));
            let faults = entry.faults.iter().map(|found| {
                (found.code.text.clone(), found.status.as_ref().map(|status| status.text.clone()))
            });
            let renewed = entry.renewed.as_ref().map(|said| said.text.clone());
            (
                copied.collect::<Vec<_>>(),
                entry.vehicle_names.clone(),
                tools.collect::<Vec<_>>(),
                faults.collect::<Vec<_>>(),
                renewed,
            )
        };
        self.opened.is_some() && self.opened == other.opened && texts(self) == texts(other)
    }

    /// How many bytes of memory it takes, nearly.
    pub(super) fn bytes(&self) -> u64 {
        let of = |said: &Said| size_of::<Said>() + said.text.len();
        let copied: usize = self.copied.iter().map(|(_, said)| 8 + of(said)).sum();
        let others: usize = [&self.vehicle, &self.vin, &self.renewed].into_iter().flatten().map(of).sum();
        let tools: usize =
            self.tools.iter().map(|tool| size_of::<ToolUse>() + tool.name.len() + tool.key.len()).sum();
        let faults: usize = self.faults.iter().map(|found| size_of::<Found>() + found.code.text.len()).sum();
        let names: usize = self.vehicle_names.iter().flatten().map(|name| name.len()).sum();
        (size_of::<Entry>() + copied + others + tools + faults + names) as u64
    }
}

/// A name as it is compared with others: a blank or hyphen between two digits counts.
pub(super) fn compared(name: &str) -> String {
    folded(name, Separators::BetweenDigits)
}

fn name_of(said: Option<&Said>, separators: Separators) -> Option<Box<str>> {
    let name = folded(&said.filter(|said| said.is_read)?.text, separators);
    Some(name).filter(|name| !name.is_empty()).map(String::into_boxed_str)
}

/// What is recorded for a field, also where it cannot be read.
fn said(document: &Document<'_>, field: Field<'_>) -> Option<Said> {
    let unread = field.unread();
    let node = unread.or_else(|| field.recorded())?;
    Some(Said {
        text: document.raw(node).unwrap_or_default().trim().into(),
        is_read: unread.is_none(),
        at: document.span(node),
    })
}

fn instant(moment: &Moment, zone: &TimeZone) -> Option<Timestamp> {
    match moment {
        Moment::Exact(instant, _) => Some(*instant),
        Moment::Civil(civil) => zone.to_timestamp(*civil).ok(),
    }
}

/// Whether the unit was filled, and where that is seen.
fn renewed(document: &Document<'_>) -> Option<Said> {
    let stated = |path: &'static str| {
        let field = Field::at(document, path);
        let node = field.unread().or_else(|| field.recorded())?;
        let is_list = matches!(document.node(node).kind, NodeKind::List(_));
        let is_read = field.node() == Some(node) && (is_list || document.value(node).is_some());
        let has_entry = !is_list || document.items(node).iter().any(|item| !document.is_empty(*item));
        has_entry.then(|| Said { text: "yes".into(), is_read, at: document.span(node) })
    };
    RENEWED.into_iter().find_map(stated)
}

/// The tools with how often each was used; whether a tool is named that cannot be read, and whether there are too many.
fn tools(document: &Document<'_>) -> (Box<[ToolUse]>, bool, bool) {
    let groups = document.ids().filter(|id| matches!(document.node(*id).kind, NodeKind::Map(_)));
    let (mut all, mut known): (Vec<ToolUse>, HashMap<&str, usize>) = (Vec::new(), HashMap::new());
    let mut is_lost = false;
    for group in groups {
        let field = Field::of(document, group, TOOL);
        is_lost |= field.unread().is_some();
        let Some((node, name)) = field.recorded().and_then(|node| Some((node, document.raw(node)?.trim())))
        else {
            continue;
        };
        let operations = operations(document, group);
        if let Some(known) = known.get(name).and_then(|number| all.get_mut(*number)) {
            known.operations = known.operations.zip(operations).map(|(sum, more)| sum.saturating_add(more));
            continue;
        }
        if all.len() >= MOST_NAMED {
            return (all.into(), is_lost, true);
        }
        known.insert(name, all.len());
        all.push(ToolUse {
            name: name.into(),
            key: compared(name).into(),
            operations,
            at: document.span(node),
        });
    }
    (all.into(), is_lost, false)
}

/// How often the tool of a group was used: once for each piece that it stands for, and each torque of each.
fn operations(document: &Document<'_>, group: NodeId) -> Option<u64> {
    let count = Field::of(document, group, COUNT);
    let pieces: u64 = match count.unread().or_else(|| count.recorded()) {
        Some(node) => document.raw(node)?.trim().parse().ok()?,
        None => 1,
    };
    let stages = Field::of(document, group, "stages").entries();
    let with_torque = |stage: &&NodeId| Field::of(document, **stage, "torque").recorded().is_some();
    let torques = stages.iter().filter(with_torque).count().max(1);
    u64::checked_mul(pieces, u64::try_from(torques).ok()?)
}

/// The fault codes, each once with its first status, and whether there are too many.
fn faults(document: &Document<'_>) -> (Box<[Found]>, bool) {
    let mut all: Vec<Found> = Vec::new();
    let mut known: HashSet<Box<str>> = HashSet::new();
    for path in CODES {
        let field = Field::at(document, path);
        let is_list = |node: &NodeId| matches!(document.node(*node).kind, NodeKind::List(_));
        // A list that is none, or under a misspelt name, may hold any code.
        if let Some(lost) = field.unread().filter(|node| !is_list(node) || field.node() != Some(*node)) {
            let text = document.raw(lost).unwrap_or_default().into();
            all.push(Found { code: Said { text, is_read: false, at: document.span(lost) }, status: None });
        }
        for item in field.entries().iter().filter(|item| !document.is_empty(**item)) {
            let of_item = |name| said(document, Field::of(document, *item, name));
            let lost = || Said { text: Box::default(), is_read: false, at: document.span(*item) };
            let code = of_item("code").unwrap_or_else(lost);
            if code.is_read && !known.insert(code.text.clone()) {
                continue;
            }
            if all.len() >= MOST_NAMED {
                return (all.into(), true);
            }
            all.push(Found { code, status: of_item("status") });
        }
    }
    (all.into(), false)
}
