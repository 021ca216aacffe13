//! The tool register.

use std::sync::Arc;

use jiff::civil::Date;

use super::Field;
use crate::document::{Document, NodeId};
use crate::quantity::{Number, Quantity, Range, Reading};
use crate::value::Value;

/// The group of a tool for what it does with torques, whose uncertainty can follow from its type and class.
pub const TORQUE: &str = "torque";

/// The tools of a register.
pub fn tools<'d>(register: &'d Document<'_>) -> impl Iterator<Item = Tool<'d>> {
    let entries = Field::at(register, "tools").entries();
    entries.iter().map(|entry| Tool::at(register, *entry))
}

/// A tool.
#[derive(Clone, Copy, Debug)]
pub struct Tool<'d> {
    register: &'d Document<'d>,
    entry: NodeId,
}

impl<'d> Tool<'d> {
    /// The tool in an entry of a register.
    #[must_use]
    pub fn at(register: &'d Document<'_>, entry: NodeId) -> Tool<'d> {
        Tool { register, entry }
    }

    fn field(self, name: &'static str) -> Field<'d> {
        Field::of(self.register, self.entry, name)
    }

    /// The register that lists it.
    #[must_use]
    pub fn register(self) -> &'d Document<'d> {
        self.register
    }

    /// Its entry.
    #[must_use]
    pub fn entry(self) -> NodeId {
        self.entry
    }

    /// The number by which records name it.
    #[must_use]
    pub fn number(self) -> Field<'d> {
        self.field("number")
    }

    /// What kind of tool it is.
    #[must_use]
    pub fn sort(self) -> Field<'d> {
        self.field("kind")
    }

    /// The ranges of all that it measures.
    pub fn all_covered(self) -> impl Iterator<Item = &'d Arc<Range>> {
        let groups = self.register.entries(self.entry).iter();
        groups.filter_map(move |group| Measuring { register: self.register, node: group.value }.covered())
    }

    /// The names of the groups for what it measures.
    pub fn measures(self) -> impl Iterator<Item = &'d str> {
        let groups = self.register.entries(self.entry).iter();
        let measures = move |node: NodeId| Measuring { register: self.register, node }.covered().is_some();
        groups.filter(move |group| measures(group.value)).map(|group| &*group.key)
    }

    /// The day of its last calibration.
    #[must_use]
    pub fn calibrated(self) -> Option<Date> {
        let last = *self.field("calibrations").entries().last()?;
        match Field::of(self.register, last, "on").value()? {
            Value::Day(day) => Some(*day),
            _ => None,
        }
    }

    /// Its type (ISO 6789-1).
    #[must_use]
    pub fn kind(self) -> Field<'d> {
        self.field("type")
    }

    /// Its class within the type.
    #[must_use]
    pub fn class(self) -> Field<'d> {
        self.field("class")
    }

    /// Its type as ISO 6789-1 numbers it.
    #[must_use]
    pub fn type_numeral(self) -> Option<&'static str> {
        match self.kind().text()? {
            "indicating" => Some("I"),
            "setting" => Some("II"),
            _ => None,
        }
    }

    /// Whether it says that it may not be used.
    #[must_use]
    pub fn is_withdrawn(self) -> bool {
        matches!(self.field("in_use").value(), Some(Value::Truth(false)))
    }

    /// What it does with values of one sort: the group of this name.
    #[must_use]
    pub fn measuring(self, group: &str) -> Option<Measuring<'d>> {
        let node = self.register.get(self.entry, group)?;
        Some(Measuring { register: self.register, node })
    }

    /// Whether it measures something and neither states how uncertain that is nor lets it be told.
    #[must_use]
    pub fn leaves_uncertainty_open(self) -> bool {
        let groups = self.register.entries(self.entry).iter();
        let measuring = |node| Measuring { register: self.register, node };
        let mut groups = groups.map(|group| (&*group.key, measuring(group.value)));
        groups.any(|(name, group)| group.range().node().is_some() && !self.is_uncertainty_told(name, group))
    }

    fn is_uncertainty_told(self, name: &str, group: Measuring<'_>) -> bool {
        let by_class = self.class().text().is_some() && self.type_numeral().is_some();
        let [uncertainty, ..] = group.telling();
        let stated = uncertainty.recorded().or(uncertainty.unread()).is_some();
        stated || (by_class && name == TORQUE)
    }
}

/// What a tool does with values of one sort.
#[derive(Clone, Copy, Debug)]
pub struct Measuring<'d> {
    register: &'d Document<'d>,
    node: NodeId,
}

impl<'d> Measuring<'d> {
    fn field(self, name: &'static str) -> Field<'d> {
        Field::of(self.register, self.node, name)
    }

    /// Its group.
    #[must_use]
    pub fn node(self) -> NodeId {
        self.node
    }

    fn range(self) -> Field<'d> {
        self.field("range")
    }

    /// From the least to the greatest that it can measure.
    #[must_use]
    pub fn covered(self) -> Option<&'d Arc<Range>> {
        match self.range().value()? {
            Value::Range(range) => Some(range),
            _ => None,
        }
    }

    /// The fields that tell how uncertain its readings are.
    #[must_use]
    pub fn telling(self) -> [Field<'d>; 3] {
        [self.field("uncertainty"), self.field("coverage"), self.range()]
    }

    /// The expanded uncertainty that is stated, with its coverage factor.
    #[must_use]
    pub fn expanded(self) -> Option<(Quantity, Number)> {
        let [uncertainty, coverage, _] = self.telling();
        let quantity = |field: Field<'_>| match field.value()? {
            Value::Quantity(quantity) => Some(quantity.clone()),
            _ => None,
        };
        let coverage = quantity(coverage).map(|coverage| coverage.base());
        Some((quantity(uncertainty)?, coverage.unwrap_or_else(Reading::usual_coverage)))
    }
}
