//! The blank record as a tree, before it is written out: what the procedure states of a job, and what
//! is left to be recorded.

use std::sync::Arc;

use super::Field;
use super::job::JobState;
use super::names::{PASS, PLACE, ROLE, SEQUENCE};
use super::prescription::{
    CAUTIONS, Carry, FASTENINGS, FILLS, FILTERS, FIRST, FLUID, LEARNING_RUN, LEVEL_CHECK, Part, REFERENCE,
    ROAD_TEST, Row, SEALS, SECOND, STAGE, STEPS, TOP_UP, UNIT, VOLUME, WHEELS,
};
use super::procedure::{Fastening, Procedure, steps_in_order};
use crate::document::forms::FIELD;
use crate::document::{Document, NodeId};
use crate::edition::Edition;
use crate::quantity::Range;
use crate::value::Value;

/// The field of a fastening that says which wheel it holds.
const WHEEL: &str = "wheel";
/// The fields of a fastening, and of one of its stages, for what was reached.
const TORQUE: &str = "torque";
const ANGLE: &str = "angle";

/// A value of the record to be.
#[derive(Clone, Debug)]
pub enum Draft {
    /// Nothing yet, and what the procedure plans for it.
    Blank(Plan),
    /// What the procedure settles.
    Stated(String),
    /// A text that is recorded already, of which the procedure says nothing.
    Recorded(String),
    /// A list, and what is to be said at its head.
    List(Vec<Draft>, Option<String>),
    /// A group of fields.
    Group(Group),
}

/// What a procedure plans for a value that only the work can fill in.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Plan {
    /// Nothing.
    #[default]
    Open,
    /// A value within a range.
    Within(Arc<Range>),
    /// A text.
    Text(String),
    /// Yes or no.
    Truth(bool),
    /// A word on what is meant.
    Note(String),
}

/// A group of fields; their order is that of the form.
#[derive(Clone, Debug, Default)]
pub struct Group {
    /// The fields, each with its name.
    pub fields: Vec<(String, Draft)>,
    /// The number of the entry of the procedure of which this is one of several alike.
    pub series: Option<usize>,
    /// The rule that asks for it, where the procedure does not speak of it.
    pub asked_by: Option<String>,
    /// The number of the entry of the record that it is, where that has it already.
    pub at: Option<usize>,
}

impl Group {
    /// The value of a field.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Draft> {
        self.fields.iter().find(|(field, _)| field == name).map(|(_, draft)| draft)
    }

    /// The text that is settled for a field.
    #[must_use]
    pub fn stated(&self, name: &str) -> Option<&str> {
        match self.get(name)? {
            Draft::Stated(text) | Draft::Recorded(text) => Some(text),
            _ => None,
        }
    }

    /// The place that is settled for it.
    #[must_use]
    pub fn place(&self) -> Option<&str> {
        self.stated(PLACE)
    }

    /// Whether it is asked in which turn it was tightened.
    #[must_use]
    pub fn asks_turn(&self) -> bool {
        self.get(SEQUENCE).is_some()
    }

    /// The fastenings of a record.
    pub fn fastenings(&self) -> impl Iterator<Item = &Group> {
        let list = match self.get(FASTENINGS.job) {
            Some(Draft::List(entries, _)) => entries.as_slice(),
            _ => &[],
        };
        list.iter().filter_map(|entry| if let Draft::Group(group) = entry { Some(group) } else { None })
    }

    /// Leaves out of the fastenings what standards ask of some of them, and not of these: the turn and pass of one that
    /// is the only one of its role, and an angle where the procedure states a torque and no angle.
    pub fn leave_out_of_fastenings(&mut self) {
        let roles: Vec<String> =
            self.fastenings().filter_map(|joint| joint.stated(ROLE)).map(str::to_owned).collect();
        let Some((_, Draft::List(entries, _))) =
            self.fields.iter_mut().find(|(name, _)| name == FASTENINGS.job)
        else {
            return;
        };
        for entry in entries {
            let Draft::Group(joint) = entry else { continue };
            let role = joint.stated(ROLE).map(str::to_owned);
            if role.is_some_and(|role| roles.iter().filter(|other| **other == role).count() == 1) {
                joint.fields.retain(|(name, _)| name != SEQUENCE && name != PASS);
            }
            joint.leave_out_angle();
        }
    }

    fn leave_out_angle(&mut self) {
        if matches!(self.get(TORQUE), Some(Draft::Blank(Plan::Within(_)))) {
            self.fields.retain(|(name, draft)| name != ANGLE || !matches!(draft, Draft::Blank(Plan::Open)));
        }
        for (_, draft) in &mut self.fields {
            let Draft::List(entries, _) = draft else { continue };
            for entry in entries {
                if let Draft::Group(stage) = entry {
                    stage.leave_out_angle();
                }
            }
        }
    }

    /// The value of a field, left blank if there is none yet.
    pub fn entry(&mut self, name: &str, new: impl FnOnce() -> Draft) -> Option<&mut Draft> {
        if self.get(name).is_none() {
            self.fields.push((name.to_owned(), new()));
        }
        self.fields.iter_mut().find(|(field, _)| field == name).map(|(_, draft)| draft)
    }
}

/// The positions of the wheels of a vehicle with four.
const POSITIONS: [&str; 4] = ["front left", "front right", "rear left", "rear right"];

/// The caution that wants the vehicle secured.
pub const RAISED: &str = "raised vehicle";

/// What of a seal is recorded only where its joint is opened.
const OF_AN_OPENED_JOINT: [&str; 3] = ["renewed", "lubricated", "lot"];

/// A group at the head of a printed sheet.
#[derive(Debug)]
pub struct Heading {
    /// Its name.
    pub group: &'static str,
    /// The fields that have room elsewhere on the sheet.
    pub elsewhere: &'static [&'static str],
    /// What fields are called whose names say too little by themselves.
    pub labels: &'static [(&'static str, &'static str)],
    /// What has one box for each of its characters, and how many these are.
    pub boxes: Option<(&'static str, usize)>,
}

/// The groups at the head of a printed sheet.
pub const HEAD: [Heading; 3] = [
    // The remarks have the end of the sheet.
    Heading { group: "job", elsewhere: &["remarks"], labels: &[("number", "Job number")], boxes: None },
    Heading { group: "vehicle", elsewhere: &["vin"], labels: &[], boxes: Some(("VIN", 17)) },
    Heading { group: UNIT.job, elsewhere: &[], labels: &[("serial", "Unit's serial number")], boxes: None },
];

/// The parts of a record for which a printed sheet has a form of its own.
pub const PRINTED_BY_THEMSELVES: [&str; 7] =
    [FIELD, "job", "vehicle", "unit", CAUTIONS.job, STEPS.job, FASTENINGS.job];

/// What a procedure settles of the record of a job, and what it asks for.
#[must_use]
pub fn of_procedure(procedure: &Procedure) -> Group {
    let wheels = procedure.kind == "wheels";
    let mut record = vec![
        (FIELD, stated("job/1")),
        ("job", job(procedure)),
        ("vehicle", blanks(&["vin", "plate", "odometer"])),
        (UNIT.job, unit(procedure)),
    ];
    if !procedure.fluids.is_empty() {
        record.push((FLUID.job, fluid(procedure)));
        record.push(("used_oil", blanks(&["collected", VOLUME])));
    }
    record.extend(level_check(procedure).map(|check| (LEVEL_CHECK.job, check)));
    if wheels {
        record.push((WHEELS.job, refitted(procedure)));
    } else {
        let read = || blanks(&["read", "codes"]);
        record.push(("fault_memory", group([("before", read()), ("after", read())])));
    }
    let own = entries(procedure, &FASTENINGS);
    let joints = procedure.fastenings.iter().zip(own).enumerate();
    let joints = joints.flat_map(|(number, (joint, own))| fastenings(number, joint, own, wheels)).collect();
    push_list(&mut record, FASTENINGS.job, joints);
    push_list(&mut record, SEALS.job, seals(procedure));
    for part in [&FILTERS, &STEPS] {
        push_list(&mut record, part.job, entries(procedure, part).into_iter().map(Draft::Group).collect());
    }
    record.extend(of_group(procedure, &LEARNING_RUN).map(|run| (LEARNING_RUN.job, Draft::Group(run))));
    let drive = of_group(procedure, &ROAD_TEST).map(Draft::Group);
    record.push((ROAD_TEST.job, drive.unwrap_or_else(|| blanks(&["done", "distance"]))));
    record.push((CAUTIONS.job, cautions(procedure)));
    owned(record)
}

/// What the record of any job has.
#[must_use]
pub fn of_any_job() -> Group {
    owned([
        (FIELD, stated("job/1")),
        ("job", blanks(&["number", "opened", "closed", "state", "technician", "remarks"])),
        ("vehicle", blanks(&["vin", "plate", "odometer"])),
        (UNIT.job, blanks(&["kind", "family"])),
    ])
}

/// What the record of a job on a unit has for which there is no procedure.
#[must_use]
pub fn of_unit(kind: &str, family: Option<&str>) -> Group {
    let mut record = of_any_job();
    for (name, draft) in &mut record.fields {
        let Draft::Group(group) = draft else { continue };
        for (field, draft) in &mut group.fields {
            let settled = match (name.as_str(), field.as_str()) {
                ("job", "state") => Some(JobState::InWork.word()),
                ("unit", "kind") => Some(kind),
                ("unit", "family") => family,
                _ => None,
            };
            if let Some(text) = settled {
                *draft = stated(text);
            }
        }
    }
    record
}

/// The entries of a list of the procedure, in the order of the work.
fn entries(procedure: &Procedure, part: &Part) -> Vec<Group> {
    let document = &procedure.document;
    let entries = match part.procedure == STEPS.procedure {
        true => steps_in_order(document),
        false => Field::at(document, part.procedure).entries().to_vec(),
    };
    entries.into_iter().map(|entry| carried(document, entry, part)).collect()
}

/// What a blank record has of an entry of the procedure, or of a group of it.
fn carried(document: &Document<'_>, entry: NodeId, part: &Part) -> Group {
    let fields = part.rows.iter().filter_map(|row| Some((row.job, of_row(document, entry, row)?)));
    let mut fields: Vec<(&str, Draft)> = fields.collect();
    for list in part.lists {
        let entries = Field::of(document, entry, list.procedure).entries().iter();
        let drafts = entries.map(|entry| Draft::Group(carried(document, *entry, list))).collect();
        push_list(&mut fields, list.job, drafts);
    }
    owned(fields)
}

fn of_row(document: &Document<'_>, entry: NodeId, row: &Row) -> Option<Draft> {
    let field = row.procedure.map(|name| Field::of(document, entry, name));
    let found = field.and_then(|field| Some((field.raw()?.to_owned(), field.value()?)));
    match (row.carry, found) {
        (Carry::Numbered | Carry::EntryEach | Carry::Unasked, _) => None,
        (Carry::Settled, Some((text, _))) => Some(Draft::Stated(text)),
        (Carry::Edition, Some((_, value))) => Some(stated(&Edition::of(value)?.to_string())),
        (Carry::Planned, Some((text, value))) => Some(Draft::Blank(match value {
            Value::Range(range) => Plan::Within(Arc::clone(range)),
            Value::Truth(truth) => Plan::Truth(*truth),
            _ => Plan::Text(text),
        })),
        (Carry::ToolNumber, Some((tool, _))) => Some(noted(format!("number of the {tool}"))),
        (Carry::Work, _) | (_, None) => {
            row.always.then(|| row.note.map_or_else(open, |note| noted(note.to_owned())))
        }
    }
}

/// The group of the procedure that prescribes one of the record.
fn of_group(procedure: &Procedure, part: &Part) -> Option<Group> {
    let node = Field::at(&procedure.document, part.procedure).recorded()?;
    Some(carried(&procedure.document, node, part))
}

/// The reference to the procedure. Its content hash tells this text from every other of the same name
/// and edition; it is written where the form has the field.
fn reference(procedure: &Procedure) -> Draft {
    let mut reference = of_group(procedure, &REFERENCE).unwrap_or_default();
    let content = procedure.content.map(|content| ("content".to_owned(), stated(&content.to_string())));
    reference.fields.extend(content);
    Draft::Group(reference)
}

fn job(procedure: &Procedure) -> Draft {
    group([
        ("number", open()),
        ("opened", open()),
        ("closed", open()),
        ("state", stated(JobState::InWork.word())),
        ("technician", open()),
        ("procedure", reference(procedure)),
        ("remarks", open()),
    ])
}

fn unit(procedure: &Procedure) -> Draft {
    let mut unit = of_group(procedure, &UNIT).unwrap_or_default();
    if procedure.kind != "wheels" {
        unit.fields.push(("serial".to_owned(), open()));
    }
    Draft::Group(unit)
}

fn fluid(procedure: &Procedure) -> Draft {
    let first = procedure.fluids.first();
    let mut fluid = entries(procedure, &FLUID).into_iter().next().unwrap_or_default();
    let in_stages = first.and_then(|fluid| fluid.first_fill.clone());
    let whole = first.and_then(|fluid| fluid.volume.clone());
    let fill = |stage: &str, volume: Draft| group([(STAGE, stated(stage)), (VOLUME, volume)]);
    let fills = match in_stages {
        Some(least) => vec![fill(FIRST, within(Some(&least))), fill(SECOND, open())],
        None if of_group(procedure, &LEVEL_CHECK).is_some() => {
            vec![fill(FIRST, open()), fill(TOP_UP, open())]
        }
        None => vec![fill(FIRST, within(whole.as_ref()))],
    };
    let together =
        whole.map(|whole| format!("together {}; take a stage out that was not needed", limits(&whole)));
    fluid.fields.push(("drained".to_owned(), blanks(&[VOLUME, "temperature"])));
    fluid.fields.push((FILLS.to_owned(), Draft::List(fills, together)));
    Draft::Group(fluid)
}

fn level_check(procedure: &Procedure) -> Option<Draft> {
    let mut check = of_group(procedure, &LEVEL_CHECK)?;
    if procedure.kind != "engine" {
        // An engine has a dipstick, and its level a field of its own.
        check.fields.push(("result".to_owned(), open()));
    }
    Some(Draft::Group(check))
}

/// Fasteners for each of four wheels, where their number allows it.
fn per_wheel(joint: &Fastening) -> Option<u64> {
    let wheels = POSITIONS.len() as u64;
    (joint.count > 0 && joint.count.is_multiple_of(wheels)).then(|| joint.count / wheels)
}

fn refitted(procedure: &Procedure) -> Draft {
    let each = procedure.fastenings.iter().find_map(per_wheel);
    let fasteners = || each.map_or_else(open, |each| Draft::Blank(Plan::Text(each.to_string())));
    let mut stated_wheels = entries(procedure, &WHEELS);
    if stated_wheels.is_empty() {
        stated_wheels = POSITIONS.iter().map(|position| owned([("position", stated(position))])).collect();
    }
    let wheel = |mut wheel: Group| {
        wheel.fields.extend(owned([("fasteners", fasteners()), ("seat_clean", open())]).fields);
        Draft::Group(wheel)
    };
    let head = "take out or add entries if the vehicle has more or fewer wheels".to_owned();
    Draft::List(stated_wheels.into_iter().map(wheel).collect(), Some(head))
}

/// One entry for each fastening of a role and place.
fn fastenings(number: usize, joint: &Fastening, own: Group, wheels: bool) -> Vec<Draft> {
    let place = joint.place.as_deref().unwrap_or_default();
    let numbered = |place: &str, each: u64, wheel: Option<&'static str>| {
        (1..=each).map(|number| (format!("{place} {number}"), wheel)).collect::<Vec<_>>()
    };
    let places: Vec<(String, Option<&str>)> = match per_wheel(joint).filter(|_| wheels) {
        Some(each) => POSITIONS.iter().flat_map(|wheel| numbered(wheel, each, Some(wheel))).collect(),
        None if joint.count == 1 => vec![(place.to_owned(), None)],
        None => numbered(place, joint.count, None),
    };
    let several = places.len() > 1;
    let one = |(place, wheel): (String, Option<&str>)| {
        let mut fields = Group { series: several.then_some(number), ..own.clone() };
        let place = if place.is_empty() { open() } else { stated(place.trim()) };
        fields.fields.push((PLACE.to_owned(), place));
        fields.fields.extend(wheel.map(|wheel| (WHEEL.to_owned(), stated(wheel))));
        Draft::Group(fields)
    };
    places.into_iter().map(one).collect()
}

fn seals(procedure: &Procedure) -> Vec<Draft> {
    let mut seals = entries(procedure, &SEALS);
    for seal in &mut seals {
        if let Some(Draft::Blank(Plan::Truth(false))) = seal.get("disturbed") {
            seal.fields.retain(|(name, _)| !OF_AN_OPENED_JOINT.contains(&name.as_str()));
        }
    }
    seals.into_iter().map(Draft::Group).collect()
}

fn cautions(procedure: &Procedure) -> Draft {
    let mut fields: Vec<(&str, Draft)> = CAUTIONS.rows.iter().map(|row| (row.job, open())).collect();
    let list = procedure.all_cautions();
    if list.contains(&RAISED) {
        fields.push(("raised_vehicle_supported", open()));
    }
    push_list(&mut fields, "list", list.into_iter().map(stated).collect());
    group(fields)
}

/// A range as written, and its limits where the writing does not show them.
#[must_use]
pub fn limits(range: &Range) -> String {
    let (written, limits) = (range.to_string(), range.limits_text());
    if written == limits { limits } else { format!("{written}: {limits}") }
}

fn open() -> Draft {
    Draft::Blank(Plan::Open)
}

fn noted(note: String) -> Draft {
    Draft::Blank(Plan::Note(note))
}

fn within(range: Option<&Arc<Range>>) -> Draft {
    Draft::Blank(range.map_or(Plan::Open, |range| Plan::Within(Arc::clone(range))))
}

fn stated(text: &str) -> Draft {
    Draft::Stated(text.to_owned())
}

fn blanks(names: &[&str]) -> Draft {
    group(names.iter().map(|name| (*name, open())))
}

fn group<'n>(fields: impl IntoIterator<Item = (&'n str, Draft)>) -> Draft {
    Draft::Group(owned(fields))
}

fn owned<'n>(fields: impl IntoIterator<Item = (&'n str, Draft)>) -> Group {
    let fields = fields.into_iter().map(|(name, draft)| (name.to_owned(), draft)).collect();
    Group { fields, ..Group::default() }
}

/// A list is only there if it has entries.
fn push_list<'n>(fields: &mut Vec<(&'n str, Draft)>, name: &'n str, list: Vec<Draft>) {
    if !list.is_empty() {
        fields.push((name, Draft::List(list, None)));
    }
}
