//! The blank record as a tree, before it is written out: what the procedure states of a job, and what
//! is left to be recorded.

use std::sync::Arc;

use crate::quantity::Range;
use crate::trade::procedure::{Fastening, Filter, Position, Procedure, Seal, Stage, Step};

/// A value of the record to be.
#[derive(Clone, Debug)]
pub(super) enum Draft {
    /// Nothing yet, and what the procedure plans for it.
    Blank(Plan),
    /// What the procedure settles.
    Stated(String),
    /// A list, and what is to be said at its head.
    List(Vec<Draft>, Option<String>),
    /// A group of fields.
    Group(Group),
}

/// What a procedure plans for a value that only the work can fill in.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) enum Plan {
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
pub(super) struct Group {
    pub(super) fields: Vec<(String, Draft)>,
    /// The number of the entry of the procedure of which this is one of several alike.
    pub(super) series: Option<usize>,
    /// The rule that asks for it, where the procedure does not speak of it.
    pub(super) asked_by: Option<String>,
}

impl Group {
    pub(super) fn get(&self, name: &str) -> Option<&Draft> {
        self.fields.iter().find(|(field, _)| field == name).map(|(_, draft)| draft)
    }

    /// The text that is settled for a field.
    pub(super) fn stated(&self, name: &str) -> Option<&str> {
        match self.get(name)? {
            Draft::Stated(text) => Some(text),
            _ => None,
        }
    }

    /// The value of a field, left blank if there is none yet.
    pub(super) fn entry(&mut self, name: &str, new: impl FnOnce() -> Draft) -> Option<&mut Draft> {
        if self.get(name).is_none() {
            self.fields.push((name.to_owned(), new()));
        }
        self.fields.iter_mut().find(|(field, _)| field == name).map(|(_, draft)| draft)
    }
}

/// The positions of the wheels of a vehicle with four.
const WHEELS: [&str; 4] = ["front left", "front right", "rear left", "rear right"];

/// What a procedure settles of the record of a job, and what it asks for.
pub(super) fn of_procedure(procedure: &Procedure) -> Group {
    let wheels = procedure.kind == "wheels";
    let mut record = vec![
        ("form", stated("job/1")),
        ("job", job(procedure)),
        ("vehicle", blanks(&["vin", "plate", "odometer"])),
        ("unit", unit(procedure)),
    ];
    if !procedure.fluids.is_empty() {
        record.push(("fluid", fluid(procedure)));
        record.push(("used_oil", blanks(&["collected", "volume"])));
    }
    if let Some(check) = level_check(procedure) {
        record.push(("level_check", check));
    }
    if wheels {
        record.push(("wheels", refitted(procedure)));
    } else {
        let read = || blanks(&["read", "codes"]);
        record.push(("fault_memory", group([("before", read()), ("after", read())])));
    }
    let joints = procedure.fastenings.iter().enumerate();
    let joints: Vec<Draft> = joints.flat_map(|(number, joint)| fastenings(number, joint, wheels)).collect();
    push_list(&mut record, "fastenings", joints);
    push_list(&mut record, "seals", seals(procedure));
    push_list(&mut record, "filters", filters(procedure));
    push_list(&mut record, "steps", steps(procedure));
    record.push(("road_test", blanks(&["done", "distance"])));
    record.push(("cautions", cautions(procedure)));
    match group(record) {
        Draft::Group(group) => group,
        _ => Group::default(),
    }
}

/// The reference to the procedure. Its content hash tells this text from every other of the same name
/// and edition; it is written where the form has the field.
fn reference(procedure: &Procedure) -> Draft {
    let mut fields = vec![("name", stated(&procedure.name))];
    fields.extend(procedure.edition.map(|edition| ("edition", stated(&edition.to_string()))));
    fields.extend(procedure.content.map(|content| ("content", stated(&content.to_string()))));
    group(fields)
}

fn job(procedure: &Procedure) -> Draft {
    group([
        ("number", open()),
        ("opened", open()),
        ("closed", open()),
        ("state", stated("in work")),
        ("technician", open()),
        ("procedure", reference(procedure)),
        ("remarks", open()),
    ])
}

fn unit(procedure: &Procedure) -> Draft {
    let mut fields = vec![("kind", stated(&procedure.kind))];
    fields.extend(procedure.family.as_deref().map(|family| ("family", stated(family))));
    if procedure.kind != "wheels" {
        fields.push(("serial", open()));
    }
    group(fields)
}

fn fluid(procedure: &Procedure) -> Draft {
    let first = procedure.fluids.first();
    let planned =
        |text: Option<&String>| text.map_or_else(open, |text| Draft::Blank(Plan::Text(text.clone())));
    let in_stages = first.and_then(|fluid| fluid.first_fill.clone());
    let whole = first.and_then(|fluid| fluid.volume.clone());
    let fill = |stage: &str, volume: Draft| group([("stage", stated(stage)), ("volume", volume)]);
    let fills = match in_stages {
        Some(least) => vec![fill("first", within(Some(&least))), fill("second", open())],
        None if procedure.level_check.is_some() => vec![fill("first", open()), fill("top up", open())],
        None => vec![fill("first", within(whole.as_ref()))],
    };
    let together =
        whole.map(|whole| format!("together {}; 0 L for a stage that was not needed", limits(&whole)));
    group([
        ("product", planned(first.and_then(|fluid| fluid.product.as_ref()))),
        ("specification", planned(first.and_then(|fluid| fluid.specification.as_ref()))),
        ("lot", open()),
        ("drained", blanks(&["volume", "temperature"])),
        ("fills", Draft::List(fills, together)),
    ])
}

fn level_check(procedure: &Procedure) -> Option<Draft> {
    let check = procedure.level_check.as_ref()?;
    let mut fields = vec![("temperature", within(check.window.as_ref()))];
    fields.extend(check.engine.as_ref().map(|engine| ("engine", Draft::Blank(Plan::Text(engine.clone())))));
    fields.extend(check.vehicle_level.map(|level| ("vehicle_level", Draft::Blank(Plan::Truth(level)))));
    push_list(&mut fields, "positions", positions(&check.positions));
    fields.push(("tool", Draft::Blank(Plan::Note("number of the thermometer".to_owned()))));
    if procedure.kind != "engine" {
        // An engine has a dipstick, and its level a field of its own.
        fields.push(("result", open()));
    }
    Some(group(fields))
}

fn positions(positions: &[Position]) -> Vec<Draft> {
    let one = |position: &Position| {
        group([("position", stated(&position.position)), ("held", within(position.hold.as_ref()))])
    };
    positions.iter().map(one).collect()
}

/// Fasteners for each of four wheels, where their number allows it.
fn per_wheel(joint: &Fastening) -> Option<u64> {
    let wheels = WHEELS.len() as u64;
    (joint.count > 0 && joint.count.is_multiple_of(wheels)).then(|| joint.count / wheels)
}

fn refitted(procedure: &Procedure) -> Draft {
    let each = procedure.fastenings.iter().find_map(per_wheel);
    let fasteners = || each.map_or_else(open, |each| Draft::Blank(Plan::Text(each.to_string())));
    let wheel = |position: &&str| {
        group([("position", stated(position)), ("fasteners", fasteners()), ("seat_clean", open())])
    };
    let head = "take out or add entries if the vehicle has more or fewer wheels".to_owned();
    Draft::List(WHEELS.iter().map(wheel).collect(), Some(head))
}

/// One entry for each fastening of a role and place.
fn fastenings(number: usize, joint: &Fastening, wheels: bool) -> Vec<Draft> {
    let place = joint.place.as_deref().unwrap_or_default();
    let numbered = |place: &str, each: u64| {
        (1..=each).map(move |number| format!("{place} {number}")).collect::<Vec<_>>()
    };
    let places: Vec<String> = match per_wheel(joint).filter(|_| wheels) {
        Some(each) => WHEELS.iter().flat_map(|wheel| numbered(wheel, each)).collect(),
        None if joint.count == 1 => vec![place.to_owned()],
        None => numbered(place, joint.count),
    };
    let several = places.len() > 1;
    let one = |place: String| {
        let text = |text: &Option<String>| text.as_deref().map(stated);
        let truth = |truth: Option<bool>| truth.map(|truth| Draft::Blank(Plan::Truth(truth)));
        let mut fields: Vec<(&str, Draft)> = Vec::new();
        let role = text(&joint.role).unwrap_or_else(open);
        fields.push(("role", role));
        fields.push(("place", if place.is_empty() { open() } else { stated(place.trim()) }));
        fields.extend(text(&joint.thread).map(|thread| ("thread", thread)));
        fields.extend(text(&joint.property_class).map(|class| ("property_class", class)));
        fields.push(("torque", within(joint.torque.as_ref())));
        push_list(&mut fields, "stages", joint.stages.iter().map(stage).collect());
        fields.push((
            "tool",
            joint
                .tool
                .as_ref()
                .map_or_else(open, |tool| Draft::Blank(Plan::Note(format!("number of the {tool}")))),
        ));
        fields.extend(truth(joint.new).map(|new| ("new", new)));
        fields.extend(truth(joint.marked).map(|marked| ("marked", marked)));
        let mut fields = owned(fields);
        fields.series = several.then_some(number);
        Draft::Group(fields)
    };
    places.into_iter().map(one).collect()
}

fn stage(stage: &Stage) -> Draft {
    let field = |name, range: &Option<Arc<Range>>| range.as_ref().map(|range| (name, within(Some(range))));
    group(field("torque", &stage.torque).into_iter().chain(field("angle", &stage.angle)))
}

fn seals(procedure: &Procedure) -> Vec<Draft> {
    let one = |seal: &Seal| {
        let mut fields = vec![("place", seal.place.as_deref().map_or_else(open, stated))];
        fields.extend(seal.kind.as_deref().map(|kind| ("kind", stated(kind))));
        fields.push(("disturbed", truth(seal.disturbed)));
        if seal.disturbed != Some(false) {
            fields.push(("renewed", truth(seal.renewed)));
            fields.extend(seal.lubricated.map(|oiled| ("lubricated", truth(Some(oiled)))));
            fields.push(("lot", open()));
        }
        group(fields)
    };
    procedure.seals.iter().map(one).collect()
}

fn filters(procedure: &Procedure) -> Vec<Draft> {
    let one = |filter: &Filter| {
        let mut fields = vec![("place", filter.place.as_deref().map_or_else(open, stated))];
        fields.extend(filter.kind.as_deref().map(|kind| ("kind", stated(kind))));
        fields.push(("media_removed", open()));
        let media = filter.media.clone().map_or(Plan::Open, Plan::Text);
        fields.push(("media_fitted", Draft::Blank(media)));
        fields.push(("condition_removed", open()));
        fields.push(("renewed", truth(filter.renewed)));
        fields.push(("lot", open()));
        group(fields)
    };
    procedure.filters.iter().map(one).collect()
}

fn steps(procedure: &Procedure) -> Vec<Draft> {
    let one = |step: &Step| {
        let planned = |text: &Option<String>| text.clone().map(|text| Draft::Blank(Plan::Text(text)));
        let mut fields = vec![("step", stated(&step.name))];
        fields.extend(planned(&step.engine).map(|engine| ("engine", engine)));
        fields.extend(planned(&step.lift).map(|lift| ("lift", lift)));
        push_list(&mut fields, "positions", positions(&step.positions));
        group(fields)
    };
    procedure.steps.iter().map(one).collect()
}

fn cautions(procedure: &Procedure) -> Draft {
    let mut fields = vec![("acknowledged", open()), ("by", open())];
    let list = procedure.all_cautions();
    if list.contains(&"raised vehicle") {
        fields.push(("raised_vehicle_supported", open()));
    }
    push_list(&mut fields, "list", list.into_iter().map(stated).collect());
    group(fields)
}

/// A range as written, and its limits where the writing does not show them.
pub(super) fn limits(range: &Range) -> String {
    let (written, limits) = (range.to_string(), range.limits_text());
    if written == limits { limits } else { format!("{written}: {limits}") }
}

fn open() -> Draft {
    Draft::Blank(Plan::Open)
}

fn within(range: Option<&Arc<Range>>) -> Draft {
    Draft::Blank(range.map_or(Plan::Open, |range| Plan::Within(Arc::clone(range))))
}

fn truth(truth: Option<bool>) -> Draft {
    Draft::Blank(truth.map_or(Plan::Open, Plan::Truth))
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
