//! The job that a procedure prescribes: the record of one that was done exactly as it says, each of its
//! ranges at one of its values. What the procedure leaves open is not recorded.

use std::collections::{HashMap, HashSet};

use super::form::JOB;
use super::job::JobState;
use super::prescription::{
    FASTENINGS, FILLS, FILTERS, FIRST, FIRST_FILL, FLUID, LEARNING_RUN, LEVEL_CHECK, Part, REFERENCE,
    ROAD_TEST, Row, SEALS, SECOND, STAGE, STEPS, UNIT, VOLUME, WHEELS,
};
use super::procedure::steps_in_order;
use crate::document::forms::FIELD;
use crate::document::{Document, Form, Made, MadeKind, NodeId, NodeKind, make};
use crate::quantity::{Limit, Number, Quantity, Range, Which};
use crate::value::Value;

/// The most fastenings that are written out one by one.
const MOST_FASTENINGS: u64 = 500;

/// A job that was done exactly by a procedure.
pub struct Prescribed {
    /// Its record.
    pub job: Document<'static>,
    /// The node of the procedure from which each of its values was taken.
    pub from: HashMap<NodeId, NodeId>,
}

/// Of each range of a procedure one value.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// The ranges at their upper end.
    upper: HashSet<NodeId>,
    /// Those at a value between their ends; all others are at their lower end.
    inside: HashMap<NodeId, Quantity>,
}

/// So many values between the ends of one range are tried.
const MOST_INSIDE: usize = 64;

impl Choice {
    /// Ends that try all ranges of a procedure: first each at its lower and each at its upper end, then so that of each two
    /// of them one was at its lower and the other at its upper end, and the other way round. Numbered in binary, two
    /// ranges differ in some digit, so twice as many as there are digits are enough. Ranges that are the same are one:
    /// a torque and its last stage are one turn of the wrench.
    #[must_use]
    pub fn ends(procedure: &Document<'_>) -> Vec<Choice> {
        let mut numbers: HashMap<String, usize> = HashMap::new();
        let ranges = procedure.values().filter_map(|(node, value)| match value {
            Value::Range(range) => Some((node, range.to_string())),
            _ => None,
        });
        let mut numbered: Vec<(NodeId, usize)> = Vec::new();
        for (node, range) in ranges {
            let next = numbers.len();
            numbered.push((node, *numbers.entry(range).or_insert(next)));
        }
        let of = |is_upper: &dyn Fn(usize) -> bool| {
            let upper = numbered.iter().filter(|(_, number)| is_upper(*number));
            Choice { upper: upper.map(|(node, _)| *node).collect(), ..Choice::default() }
        };
        let digits = usize::BITS - numbers.len().saturating_sub(1).leading_zeros();
        let mixed = (0..digits).flat_map(|digit| {
            [of(&|number| number >> digit & 1 == 1), of(&|number| number >> digit & 1 == 0)]
        });
        [of(&|_| false), of(&|_| true)].into_iter().chain(mixed).collect()
    }

    /// Choices between the ends: each of these figures that lies inside of a range, and a value between each two of them and the
    /// ends. A rule whose limits are these figures says the same of all values between two of them. Each choice has the next
    /// value of every range.
    #[must_use]
    pub fn inside(procedure: &Document<'_>, figures: &[&Quantity]) -> Vec<Choice> {
        let mut choices: Vec<Choice> = Vec::new();
        for (node, value) in procedure.values() {
            let Value::Range(range) = value else { continue };
            for (number, value) in between(range, figures).into_iter().take(MOST_INSIDE).enumerate() {
                if choices.len() <= number {
                    choices.push(Choice::default());
                }
                if let Some(choice) = choices.get_mut(number) {
                    choice.inside.insert(node, value);
                }
            }
        }
        choices
    }

    /// The end at which a range is; none where it is at a value between them.
    #[must_use]
    pub fn end(&self, range: NodeId) -> Option<Which> {
        let end = if self.upper.contains(&range) { Which::High } else { Which::Low };
        (!self.inside.contains_key(&range)).then_some(end)
    }

    /// The value of a range.
    fn of(&self, node: NodeId, range: &Range) -> Option<Quantity> {
        match self.end(node) {
            Some(end) => Some(limit(range, end)?.0.value.clone()),
            None => self.inside.get(&node).cloned(),
        }
    }
}

/// Figures inside of a range with two ends, and the values in the middle between two of them or a figure and an end.
fn between(range: &Range, figures: &[&Quantity]) -> Vec<Quantity> {
    let (Some(low), Some(high)) = (range.low(), range.high()) else { return Vec::new() };
    let mut inner: Vec<&Quantity> = figures
        .iter()
        .copied()
        .filter(|figure| figure.kind() == range.kind())
        .filter(|figure| figure.compare(&low.value).is_gt() && figure.compare(&high.value).is_lt())
        .collect();
    inner.sort_by(|one, other| one.compare(other));
    inner.dedup_by(|one, other| one.compare(other).is_eq());
    let Some(first) = inner.first() else { return Vec::new() };
    let middle = |one: &Quantity, other: &Quantity| {
        let sum = one.base().checked_add(&other.base())?;
        let half = Quantity::from_base(sum.checked_mul(&Number::ratio(1, 2)?)?, range.kind());
        Some(half.in_unit_of(&low.value))
    };
    let mut values = Vec::from_iter(middle(&low.value, first));
    for (figure, next) in inner.iter().zip(inner.iter().skip(1).copied().chain([&high.value])) {
        values.push(figure.in_unit_of(&low.value));
        values.extend(middle(figure, next));
    }
    values
}

/// The job at such values of the ranges of a procedure; at the only end of those that have one.
pub fn job(procedure: &Document<'_>, form: &Form, choice: &Choice) -> Prescribed {
    let reader = Reader { procedure, choice };
    let (job, from) = make(procedure.source, form, reader.job());
    Prescribed { job, from }
}

/// The limit of a range at an end, or its only one.
#[must_use]
pub fn limit(range: &Range, end: Which) -> Option<(&Limit, Which)> {
    let low = range.low().map(|limit| (limit, Which::Low));
    let high = range.high().map(|limit| (limit, Which::High));
    match end {
        Which::Low => low.or(high),
        Which::High => high.or(low),
    }
}

struct Reader<'d> {
    procedure: &'d Document<'d>,
    choice: &'d Choice,
}

type Group = Vec<(&'static str, Made)>;

impl Reader<'_> {
    fn job(&self) -> Group {
        let root = self.procedure.root();
        let state = text(JobState::Closed.word(), None);
        let reference = group(self.group_of(&REFERENCE).unwrap_or_default());
        let mut record = vec![
            (FIELD, text(JOB, None)),
            ("job", group(vec![("state", state), ("procedure", reference)])),
            (UNIT.job, group(self.group_of(&UNIT).unwrap_or_default())),
        ];
        let fluid = self.entries(root, FLUID.procedure).and_then(|(_, fluids)| fluids.first());
        record.extend(fluid.map(|fluid| (FLUID.job, group(self.fluid(*fluid)))));
        let groups = [&LEVEL_CHECK, &LEARNING_RUN, &ROAD_TEST].into_iter();
        record.extend(groups.filter_map(|part| Some((part.job, group(self.group_of(part)?)))));
        record.extend(self.fastenings());
        record.extend([&SEALS, &FILTERS, &WHEELS].into_iter().filter_map(|part| self.list(root, part)));
        record.extend(self.steps());
        record
    }

    /// What is filled, in stages where the procedure says how much goes in before the engine turns.
    fn fluid(&self, fluid: NodeId) -> Group {
        let mut fields = self.fields(fluid, FLUID.rows);
        let amount = |name| self.single(fluid, name);
        let (first, whole) = (amount(FIRST_FILL), amount(VOLUME));
        let rest = match (&first, &whole) {
            (Some(first), Some(whole)) => difference(whole, first),
            _ => None,
        };
        let whole_from = whole.as_ref().and_then(|whole| whole.from);
        let fills = match (first, rest, whole) {
            (Some(first), rest, _) => {
                let stage = |stage| (STAGE, text(stage, None));
                let second = [stage(SECOND)].into_iter().chain(rest.map(|rest| (VOLUME, rest)));
                vec![group(vec![stage(FIRST), (VOLUME, first)]), group(second.collect())]
            }
            // How it is divided into stages is not said.
            (None, _, Some(whole)) => vec![group(vec![(VOLUME, whole)])],
            (None, _, None) => return fields,
        };
        fields.push((FILLS, Made { from: whole_from, kind: MadeKind::List(fills) }));
        fields
    }

    fn fastenings(&self) -> Option<(&'static str, Made)> {
        let (list, joints) = self.entries(self.procedure.root(), FASTENINGS.procedure)?;
        let (mut fastenings, mut whole, mut left) = (Vec::new(), true, MOST_FASTENINGS);
        for joint in joints {
            let count = self.count(*joint);
            let written = count.min(left.max(1));
            left = left.saturating_sub(written);
            whole &= written == count;
            for number in 1..=written {
                let place = self.single(*joint, "place").map(|place| numbered(place, count, number));
                let mut fields = self.entry(&FASTENINGS, *joint);
                fields.extend(place.map(|place| ("place", place)));
                fields.extend(self.angle(*joint));
                fastenings.push(taken(*joint, fields));
            }
        }
        // Of a list that was cut short nothing can be said as a whole.
        Some((FASTENINGS.job, Made { from: whole.then_some(list), kind: MadeKind::List(fastenings) }))
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

    fn steps(&self) -> Option<(&'static str, Made)> {
        let (list, _) = self.entries(self.procedure.root(), STEPS.procedure)?;
        let steps = steps_in_order(self.procedure);
        let steps = steps.into_iter().map(|step| taken(step, self.entry(&STEPS, step))).collect();
        Some((STEPS.job, Made { from: Some(list), kind: MadeKind::List(steps) }))
    }

    /// A group of the procedure that is there, as the job records it.
    fn group_of(&self, part: &Part) -> Option<Group> {
        let there = self.procedure.get(self.procedure.root(), part.procedure)?;
        Some(self.entry(part, there))
    }

    fn list(&self, parent: NodeId, part: &Part) -> Option<(&'static str, Made)> {
        let (list, entries) = self.entries(parent, part.procedure)?;
        let elements = entries.iter().map(|element| taken(*element, self.entry(part, *element))).collect();
        Some((part.job, Made { from: Some(list), kind: MadeKind::List(elements) }))
    }

    fn entry(&self, part: &Part, entry: NodeId) -> Group {
        let mut fields = self.fields(entry, part.rows);
        fields.extend(part.lists.iter().filter_map(|list| self.list(entry, list)));
        fields
    }

    /// A list that is there, and its entries.
    fn entries(&self, parent: NodeId, name: &str) -> Option<(NodeId, &[NodeId])> {
        let list = self.procedure.get(parent, name)?;
        let there = matches!(self.procedure.node(list).kind, NodeKind::List(_));
        there.then(|| (list, self.procedure.items(list)))
    }

    fn fields(&self, entry: NodeId, rows: &[Row]) -> Group {
        let rows = rows.iter().filter(|row| row.is_the_same());
        rows.filter_map(|row| Some((row.job, self.single(entry, row.procedure?)?))).collect()
    }

    /// A value of the procedure as a job that keeps to it records it.
    fn single(&self, entry: NodeId, name: &str) -> Option<Made> {
        let node = self.procedure.get(entry, name)?;
        let single = match self.procedure.value(node)? {
            Value::Range(range) => {
                let value = self.choice.of(node, range)?;
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

/// An entry of the procedure, as the job has it.
fn taken(from: NodeId, fields: Group) -> Made {
    Made { from: Some(from), kind: MadeKind::Group(fields) }
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
