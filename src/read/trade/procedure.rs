//! A procedure as its document states it, with every value in its place.

use std::sync::Arc;

use super::Field;
use crate::document::{Document, NodeId};
use crate::edition::{Digest, Edition};
use crate::quantity::Range;
use crate::value::Value;

/// The list of what is tightened.
pub const FASTENINGS: &str = "fastenings";

/// The field that holds the name of a procedure.
#[must_use]
pub fn name<'d>(document: &'d Document<'_>) -> Field<'d> {
    Field::at(document, "procedure.name")
}

/// The field that holds its edition.
#[must_use]
pub fn edition<'d>(document: &'d Document<'_>) -> Field<'d> {
    Field::at(document, "procedure.edition")
}

/// Fields of a procedure that name something of the same procedure: the list that it is in, and by what it is named there.
const NAMED: [(&str, &str, &str); 4] = [
    ("steps[].tools", "tools", "name"),
    ("steps[].after", "steps", "name"),
    ("steps[].fastenings", FASTENINGS, "role"),
    ("fastenings[].tool", "tools", "name"),
];

/// What a field of a procedure, by its pattern, can name of the procedure itself.
pub fn names_for<'d>(document: &'d Document<'_>, field: &str) -> impl Iterator<Item = &'d str> {
    let row = NAMED.into_iter().find(|(own, ..)| *own == field);
    row.into_iter().flat_map(move |(_, list, name)| {
        let entries = Field::at(document, list).entries().iter();
        entries.filter_map(move |entry| Field::of(document, *entry, name).text())
    })
}

/// A procedure. What it does not state is `None` or empty.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<Edition>,
    /// The content hash of its text.
    pub content: Option<Digest>,
    /// What is done, in one line.
    pub title: Option<String>,
    /// The day on which it was issued, as written.
    pub issued: Option<String>,
    /// Who wrote it.
    pub author: Option<String>,
    /// The kind of unit.
    pub kind: String,
    /// The family of units.
    pub family: Option<String>,
    /// The cautions that are given before the work begins.
    pub cautions: Vec<String>,
    /// The tools.
    pub tools: Vec<Tool>,
    /// The parts.
    pub parts: Vec<Part>,
    /// The fluids.
    pub fluids: Vec<Fluid>,
    /// The steps, in the order of the work.
    pub steps: Vec<Step>,
    /// The fastenings.
    pub fastenings: Vec<Fastening>,
    /// Its document.
    pub(super) document: Document<'static>,
    /// What it rests on.
    pub references: Vec<String>,
}

/// A tool.
#[derive(Clone, Debug, Default)]
pub struct Tool {
    /// What it is called.
    pub name: String,
    /// What it covers.
    pub range: Option<Arc<Range>>,
}

/// A part.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// What it is called.
    pub name: String,
    /// Its number.
    pub number: Option<String>,
    /// How many.
    pub quantity: Option<u64>,
}

/// A fluid.
#[derive(Clone, Debug, Default)]
pub struct Fluid {
    /// Its class.
    pub class: Option<String>,
    /// The specification that it must meet.
    pub specification: Option<String>,
    /// A product that meets it.
    pub product: Option<String>,
    /// The volume altogether.
    pub volume: Option<Arc<Range>>,
    /// The volume before the engine turns.
    pub first_fill: Option<Arc<Range>>,
}

/// A step.
#[derive(Clone, Debug, Default)]
pub struct Step {
    /// Its name.
    pub name: String,
    /// What to do.
    pub text: Option<String>,
    /// Whether the engine runs.
    pub engine: Option<String>,
    /// Where the lift stands.
    pub lift: Option<String>,
    /// The temperature of the fluid.
    pub fluid_temperature: Option<Arc<Range>>,
    /// Its cautions.
    pub cautions: Vec<String>,
    /// Its tools.
    pub tools: Vec<String>,
    /// The roles of what is tightened in it.
    pub fastenings: Vec<String>,
    /// The drive positions.
    pub positions: Vec<Position>,
}

/// A drive position.
#[derive(Clone, Debug, Default)]
pub struct Position {
    /// Which.
    pub position: String,
    /// How long it is held.
    pub hold: Option<Arc<Range>>,
}

/// Where a bolt sits, to be drawn.
#[derive(Clone, Debug, Default)]
pub struct BoltPosition {
    /// Which one.
    pub place: String,
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

/// Fastenings that are tightened alike.
#[derive(Clone, Debug, Default)]
pub struct Fastening {
    /// What they do.
    pub role: Option<String>,
    /// Where they sit.
    pub place: Option<String>,
    /// How many there are.
    pub count: u64,
    /// The thread.
    pub thread: Option<String>,
    /// The property class.
    pub property_class: Option<String>,
    /// The torque.
    pub torque: Option<Arc<Range>>,
    /// The stages.
    pub stages: Vec<Stage>,
    /// In which order they are tightened.
    pub pattern: Option<String>,
    /// The tool.
    pub tool: Option<String>,
    /// Whether new ones are fitted.
    pub new: Option<bool>,
}

/// A stage of tightening.
#[derive(Clone, Debug, Default)]
pub struct Stage {
    /// The torque.
    pub torque: Option<Arc<Range>>,
    /// The angle.
    pub angle: Option<Arc<Range>>,
}

impl Procedure {
    /// The procedure in a document whose structure was found in order, and which is all of a text.
    #[must_use]
    pub fn of(document: &Document<'_>, text: &str) -> Procedure {
        Procedure { content: Some(Digest::of(text)), ..Reader(document).procedure() }
    }

    /// How many fastenings the one of this number stands for, as written.
    #[must_use]
    pub fn count_of<'d>(document: &'d Document<'_>, number: usize) -> Option<Field<'d>> {
        let joint = *Field::at(document, FASTENINGS).entries().get(number)?;
        Some(Field::of(document, joint, "count"))
    }

    /// Where its bolts sit.
    #[must_use]
    pub fn bolt_positions(&self) -> Vec<BoltPosition> {
        let document = &self.document;
        let figure = |entry: NodeId, name: &'static str| match Field::of(document, entry, name).value()? {
            Value::Quantity(quantity) => Some(quantity.base().to_f64()),
            _ => None,
        };
        let entries = Field::at(document, "bolt_positions").entries().iter();
        let bolt = |entry: &NodeId| {
            let place = Field::of(document, *entry, "place").text()?.to_owned();
            Some(BoltPosition { place, x: figure(*entry, "x")?, y: figure(*entry, "y")? })
        };
        entries.filter_map(bolt).collect()
    }

    /// Every caution, those of the steps too, each once.
    #[must_use]
    pub fn all_cautions(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for caution in self.cautions.iter().chain(self.steps.iter().flat_map(|step| &step.cautions)) {
            if !all.contains(&caution.as_str()) {
                all.push(caution);
            }
        }
        all
    }
}

/// Reads the fields of a document whose structure was found in order.
struct Reader<'d>(&'d Document<'d>);

impl Reader<'_> {
    fn procedure(&self) -> Procedure {
        let at = |path: &str| self.0.find(path);
        let root = self.0.root();
        let steps = steps_in_order(self.0).into_iter().map(|id| self.step(id)).collect();
        Procedure {
            name: at("procedure.name").and_then(|id| self.own(id)).unwrap_or_default(),
            edition: at("procedure.edition").and_then(|id| Edition::of(self.0.value(id)?)),
            content: None,
            title: at("procedure.title").and_then(|id| self.own(id)),
            issued: at("procedure.issued").and_then(|id| self.own(id)),
            author: at("procedure.author").and_then(|id| self.own(id)),
            kind: at("unit.kind").and_then(|id| self.own(id)).unwrap_or_default(),
            family: at("unit.family").and_then(|id| self.own(id)),
            cautions: self.texts(root, "cautions"),
            tools: self.list(root, "tools", |id| Tool {
                name: self.text(id, "name").unwrap_or_default(),
                range: self.range(id, "torque").or_else(|| self.range(id, "temperature")),
            }),
            parts: self.list(root, "parts", |id| Part {
                name: self.text(id, "name").unwrap_or_default(),
                number: self.text(id, "number"),
                quantity: self.count(id, "quantity"),
            }),
            fluids: self.list(root, "fluids", |id| Fluid {
                class: self.text(id, "class"),
                specification: self.text(id, "specification"),
                product: self.text(id, "product"),
                volume: self.range(id, "volume"),
                first_fill: self.range(id, "first_fill"),
            }),
            steps,
            fastenings: self.list(root, "fastenings", |id| self.fastening(id)),
            references: self.texts(root, "references"),
            document: self.0.clone().into_owned(),
        }
    }

    fn step(&self, id: NodeId) -> Step {
        Step {
            name: self.text(id, "name").unwrap_or_default(),
            text: self.text(id, "text"),
            engine: self.text(id, "engine"),
            lift: self.text(id, "lift"),
            fluid_temperature: self.range(id, "fluid_temperature"),
            cautions: self.texts(id, "cautions"),
            tools: self.texts(id, "tools"),
            fastenings: self.texts(id, "fastenings"),
            positions: self.positions(id),
        }
    }

    fn fastening(&self, id: NodeId) -> Fastening {
        Fastening {
            role: self.text(id, "role"),
            place: self.text(id, "place"),
            count: self.count(id, "count").unwrap_or(1),
            thread: self.text(id, "thread"),
            property_class: self.text(id, "property_class"),
            torque: self.range(id, "torque"),
            stages: self.list(id, "stages", |id| Stage {
                torque: self.range(id, "torque"),
                angle: self.range(id, "angle"),
            }),
            pattern: self.text(id, "pattern"),
            tool: self.text(id, "tool"),
            new: self.truth(id, "new"),
        }
    }

    fn positions(&self, id: NodeId) -> Vec<Position> {
        self.list(id, "positions", |id| Position {
            position: self.text(id, "position").unwrap_or_default(),
            hold: self.range(id, "hold"),
        })
    }

    fn list<T>(&self, parent: NodeId, name: &str, read: impl Fn(NodeId) -> T) -> Vec<T> {
        let items = self.0.get(parent, name).map(|id| self.0.items(id)).unwrap_or_default();
        items.iter().map(|id| read(*id)).collect()
    }

    fn texts(&self, parent: NodeId, name: &str) -> Vec<String> {
        self.list(parent, name, |id| self.own(id)).into_iter().flatten().collect()
    }

    /// The text of a single value, as written.
    fn own(&self, id: NodeId) -> Option<String> {
        self.0.raw(id).map(|raw| raw.trim().to_owned())
    }

    fn text(&self, parent: NodeId, name: &str) -> Option<String> {
        self.own(self.0.get(parent, name)?)
    }

    fn value(&self, parent: NodeId, name: &str) -> Option<&Value<'_>> {
        self.0.value(self.0.get(parent, name)?)
    }

    fn range(&self, parent: NodeId, name: &str) -> Option<Arc<Range>> {
        match self.value(parent, name)? {
            Value::Range(range) => Some(Arc::clone(range)),
            _ => None,
        }
    }

    fn truth(&self, parent: NodeId, name: &str) -> Option<bool> {
        match self.value(parent, name)? {
            Value::Truth(truth) => Some(*truth),
            _ => None,
        }
    }

    fn count(&self, parent: NodeId, name: &str) -> Option<u64> {
        whole(self.0, self.0.get(parent, name)?)
    }
}

/// A whole number; one past all counting is as many as can be counted.
fn whole(document: &Document<'_>, node: NodeId) -> Option<u64> {
    match document.value(node)? {
        Value::Quantity(number) => Some(number.magnitude().to_u64().unwrap_or(u64::MAX)),
        _ => None,
    }
}

/// The steps of a procedure in the order of the work. Those without a place in it stay where they are written,
/// behind those that have one.
#[must_use]
pub fn steps_in_order(document: &Document<'_>) -> Vec<NodeId> {
    let mut steps = Field::at(document, "steps").entries().to_vec();
    let order = |step: &NodeId| whole(document, document.get(*step, "order")?);
    steps.sort_by_cached_key(|step| order(step).unwrap_or(u64::MAX));
    steps
}
