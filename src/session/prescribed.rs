//! The job that a procedure prescribes: the record of one that was done exactly as it says, at one end
//! of its ranges. What the procedure leaves open is not recorded.

use std::collections::HashMap;

use crate::document::{Document, Form, Made, MadeKind, NodeId, NodeKind, make};
use crate::quantity::{Limit, Range, Which};
use crate::trade::form::JOB;
use crate::value::Value;

/// The most fastenings that are written out one by one.
const MOST_FASTENINGS: u64 = 500;

/// The fields of an entry of a job, each with the one of the procedure that prescribes it.
type Fields = &'static [(&'static str, &'static str)];

const UNIT: Fields = &[("kind", "kind"), ("family", "family")];
const FLUID: Fields = &[("product", "product"), ("specification", "specification")];
const LEVEL_CHECK: Fields =
    &[("temperature", "window"), ("engine", "engine"), ("vehicle_level", "vehicle_level")];
const POSITION: Fields = &[("position", "position"), ("held", "hold")];
const FASTENING: Fields = &[
    ("role", "role"),
    ("thread", "thread"),
    ("property_class", "property_class"),
    ("torque", "torque"),
    ("new", "new"),
    ("marked", "marked"),
];
const STAGE: Fields = &[("torque", "torque"), ("angle", "angle")];
const SEAL: Fields = &[
    ("place", "place"),
    ("kind", "kind"),
    ("disturbed", "disturbed"),
    ("renewed", "renewed"),
    ("lubricated", "lubricated"),
];
const FILTER: Fields = &[
    ("place", "place"),
    ("kind", "kind"),
    ("media_fitted", "media"),
    ("beta", "beta"),
    ("at_size", "at_size"),
    ("renewed", "renewed"),
];
const STEP: Fields = &[("step", "name"), ("engine", "engine"), ("lift", "lift")];

/// A job that was done exactly by a procedure.
pub(super) struct Prescribed {
    /// Its record.
    pub(super) job: Document<'static>,
    /// The node of the procedure from which each of its values was taken.
    pub(super) from: HashMap<NodeId, NodeId>,
}

/// The job at one end of the ranges of a procedure; at the only one of those that have one.
pub(super) fn job(procedure: &Document<'_>, form: &Form, end: Which) -> Prescribed {
    let reader = Reader { procedure, end };
    let (job, from) = make(procedure.source, form, reader.job());
    Prescribed { job, from }
}

/// The limit of a range at an end, or its only one.
pub(super) fn limit(range: &Range, end: Which) -> Option<(&Limit, Which)> {
    let low = range.low().map(|limit| (limit, Which::Low));
    let high = range.high().map(|limit| (limit, Which::High));
    match end {
        Which::Low => low.or(high),
        Which::High => high.or(low),
    }
}

struct Reader<'d> {
    procedure: &'d Document<'d>,
    end: Which,
}

type Group = Vec<(&'static str, Made)>;

impl Reader<'_> {
    fn job(&self) -> Group {
        let root = self.procedure.root();
        let reference = self.part("procedure", &[("name", "name"), ("edition", "edition")]);
        let mut record = vec![
            ("form", text(JOB, None)),
            ("job", group(vec![("state", text("closed", None)), ("procedure", group(reference))])),
            ("unit", group(self.part("unit", UNIT))),
        ];
        let fluid = self.entries(root, "fluids").and_then(|(_, fluids)| fluids.first());
        record.extend(fluid.map(|fluid| ("fluid", group(self.fluid(*fluid)))));
        if let Some(check) = self.procedure.get(root, "level_check") {
            let mut fields = self.fields(check, LEVEL_CHECK);
            fields.extend(self.positions(check));
            record.push(("level_check", group(fields)));
        }
        record.extend(self.fastenings());
        record.extend(self.list(root, "seals", |seal| self.fields(seal, SEAL)));
        record.extend(self.list(root, "filters", |filter| self.fields(filter, FILTER)));
        record.extend(self.steps());
        record
    }

    /// What is filled, in stages where the procedure says how much goes in before the engine turns.
    fn fluid(&self, fluid: NodeId) -> Group {
        let mut fields = self.fields(fluid, FLUID);
        let amount = |name| self.single(fluid, name);
        let (first, whole) = (amount("first_fill"), amount("volume"));
        let rest = match (&first, &whole) {
            (Some(first), Some(whole)) => difference(whole, first),
            _ => None,
        };
        let whole_from = whole.as_ref().and_then(|whole| whole.from);
        let fills = match (first, rest, whole) {
            (Some(first), rest, _) => {
                let stage = |stage| ("stage", text(stage, None));
                let second = [stage("second")].into_iter().chain(rest.map(|rest| ("volume", rest)));
                vec![group(vec![stage("first"), ("volume", first)]), group(second.collect())]
            }
            // How it is divided into stages is not said.
            (None, _, Some(whole)) => vec![group(vec![("volume", whole)])],
            (None, _, None) => return fields,
        };
        fields.push(("fills", Made { from: whole_from, kind: MadeKind::List(fills) }));
        fields
    }

    fn fastenings(&self) -> Option<(&'static str, Made)> {
        let (list, joints) = self.entries(self.procedure.root(), "fastenings")?;
        let (mut fastenings, mut whole, mut left) = (Vec::new(), true, MOST_FASTENINGS);
        for joint in joints {
            let count = self.count(*joint);
            let written = count.min(left.max(1));
            left = left.saturating_sub(written);
            whole &= written == count;
            for number in 1..=written {
                let place = self.single(*joint, "place").map(|place| numbered(place, count, number));
                let mut fields = self.fields(*joint, FASTENING);
                fields.extend(place.map(|place| ("place", place)));
                fields.extend(self.list(*joint, "stages", |stage| self.fields(stage, STAGE)));
                fields.extend(self.angle(*joint));
                fastenings.push(group(fields));
            }
        }
        // Of a list that was cut short nothing can be said as a whole.
        Some(("fastenings", Made { from: whole.then_some(list), kind: MadeKind::List(fastenings) }))
    }

    fn count(&self, joint: NodeId) -> u64 {
        match self.procedure.get(joint, "count").and_then(|count| self.procedure.value(count)) {
            Some(Value::Quantity(count)) => count.magnitude().to_u64().unwrap_or(u64::MAX).max(1),
            _ => 1,
        }
    }

    /// The angle turned after the torque: that of the only stage that has one.
    fn angle(&self, joint: NodeId) -> Option<(&'static str, Made)> {
        let (_, stages) = self.entries(joint, "stages")?;
        let mut angles = stages.iter().filter_map(|stage| self.single(*stage, "angle"));
        let angle = angles.next()?;
        angles.next().is_none().then_some(("angle", angle))
    }

    fn positions(&self, of: NodeId) -> Option<(&'static str, Made)> {
        self.list(of, "positions", |position| self.fields(position, POSITION))
    }

    /// The steps in the order of the work; those without a place in it stay behind those that have one.
    fn steps(&self) -> Option<(&'static str, Made)> {
        let (list, steps) = self.entries(self.procedure.root(), "steps")?;
        let order = |step: &NodeId| match self.single(*step, "order")?.kind {
            MadeKind::Single(_, Value::Quantity(order)) => order.magnitude().to_u64(),
            _ => None,
        };
        let mut steps = steps.to_vec();
        steps.sort_by_cached_key(|step| order(step).unwrap_or(u64::MAX));
        let one = |step: NodeId| {
            let mut fields = self.fields(step, STEP);
            fields.extend(self.positions(step));
            group(fields)
        };
        let steps = steps.into_iter().map(one).collect();
        Some(("steps", Made { from: Some(list), kind: MadeKind::List(steps) }))
    }

    fn list(
        &self,
        parent: NodeId,
        name: &'static str,
        one: impl Fn(NodeId) -> Group,
    ) -> Option<(&'static str, Made)> {
        let (list, entries) = self.entries(parent, name)?;
        let elements = entries.iter().map(|element| group(one(*element))).collect();
        Some((name, Made { from: Some(list), kind: MadeKind::List(elements) }))
    }

    /// A list that is there, and its entries.
    fn entries(&self, parent: NodeId, name: &str) -> Option<(NodeId, &[NodeId])> {
        let list = self.procedure.get(parent, name)?;
        let there = matches!(self.procedure.node(list).kind, NodeKind::List(_));
        there.then(|| (list, self.procedure.items(list)))
    }

    fn part(&self, name: &str, fields: Fields) -> Group {
        let part = self.procedure.get(self.procedure.root(), name);
        part.map(|part| self.fields(part, fields)).unwrap_or_default()
    }

    fn fields(&self, entry: NodeId, fields: Fields) -> Group {
        fields.iter().filter_map(|(own, theirs)| Some((*own, self.single(entry, theirs)?))).collect()
    }

    /// A value of the procedure as a job that keeps to it records it.
    fn single(&self, entry: NodeId, name: &str) -> Option<Made> {
        let node = self.procedure.get(entry, name)?;
        let single = match self.procedure.value(node)? {
            Value::Range(range) => {
                let value = limit(range, self.end)?.0.value.clone();
                MadeKind::Single(value.to_string(), Value::Quantity(value))
            }
            value => {
                MadeKind::Single(self.procedure.raw(node)?.trim().to_owned(), value.clone().into_owned())
            }
        };
        Some(Made { from: Some(node), kind: single })
    }
}

fn group(fields: Group) -> Made {
    Made { from: None, kind: MadeKind::Group(fields) }
}

fn text(text: &str, from: Option<NodeId>) -> Made {
    Made { from, kind: MadeKind::Single(text.to_owned(), Value::Text(text.to_owned().into())) }
}

/// The place of one of several fastenings alike, as a sheet writes it.
fn numbered(place: Made, count: u64, number: u64) -> Made {
    match &place.kind {
        MadeKind::Single(name, _) if count > 1 => text(&format!("{name} {number}"), place.from),
        _ => place,
    }
}

/// What is left of a whole.
fn difference(whole: &Made, part: &Made) -> Option<Made> {
    let (MadeKind::Single(_, Value::Quantity(all)), MadeKind::Single(_, Value::Quantity(part))) =
        (&whole.kind, &part.kind)
    else {
        return None;
    };
    let rest = all.sub(part).ok().filter(|rest| !rest.magnitude().is_negative())?;
    Some(Made { from: whole.from, kind: MadeKind::Single(rest.to_string(), Value::Quantity(rest)) })
}
