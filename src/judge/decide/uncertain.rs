//! The uncertainty of a value: that of a reading, and what becomes of it in what is computed from readings.

use super::aggregate::Over;
use super::compute::Computed;
use super::limits::known;
use super::{Evaluator, Missing, NodeRef, Reason, UnresolvedLink};
use crate::code::FUNCTION_RANGE;
use crate::diagnostic::Fault;
use crate::document::{Bound, Document, Link, NodeId, NodeKind};
use crate::language::ast::{Aggregate, Arithmetic, RangeForm};
use crate::language::builtins::{Builtin, Carried};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;
use crate::metrology::Working;
use crate::metrology::torque_tool;
use crate::metrology::uncertainty::{self, Component};
use crate::quantity::{Number, Quantity, Reading};
use crate::trade::register::{Measuring, Tool};
use crate::value::Value;

const BOTH: &str = "of both readings together";
const BY_CLASS: &str = "from the permissible deviation of the tool's type and class (ISO 6789-1)";
const SEVERAL: &str = "of the readings together";

/// The uncertainty of a value.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertainty {
    /// The expanded uncertainty, a distance.
    pub(crate) expanded: Quantity,
    /// Its coverage factor.
    pub(crate) coverage: Number,
    /// Where it was taken from, in words.
    pub(crate) from: &'static str,
}

impl Uncertainty {
    fn standard(&self) -> Result<Quantity, Fault> {
        self.expanded.div(&Quantity::from(self.coverage.clone()))
    }

    /// The same with an expanded uncertainty that was computed from its own.
    fn with(self, expanded: Quantity) -> Uncertainty {
        let expanded = if expanded.magnitude().is_negative() { expanded.opposite() } else { expanded };
        Uncertainty { expanded, ..self }
    }
}

/// Nothing for a value that is exact, or of which nobody states how uncertain it is.
pub(super) type Known = Option<Uncertainty>;

impl<'x> Evaluator<'x> {
    /// The uncertainty that decides a comparison: that of the value and of its limits together.
    ///
    /// # Errors
    /// As [`Evaluator::uncertainty`].
    pub(super) fn uncertainty_in(&mut self, comparison: &'x Expr) -> Computed<'x, Known> {
        let (value, limits) = match &comparison.kind {
            ExprKind::Within(value, range) => (self.uncertainty(value)?, self.of_limits(range)?),
            ExprKind::Compare(_, value, limit) => (self.uncertainty(value)?, self.uncertainty(limit)?),
            ExprKind::Call { builtin, arguments } => return self.of_call(comparison, builtin, arguments),
            _ => return Ok(None),
        };
        together(value, limits).map_err(|fault| self.fault_at(fault, None))
    }

    /// The uncertainty of a value: of a reading the greater of the one that it states and that of its
    /// instrument; of what is
    /// computed from independent readings the one that follows from theirs (JCGM 100, 5.1.2).
    ///
    /// # Errors
    /// A statement in the register that cannot be read, a tool number that several tools share, a
    /// computation for which it is not known.
    pub(super) fn uncertainty(&mut self, expr: &'x Expr) -> Computed<'x, Known> {
        self.share.step();
        match &expr.kind {
            ExprKind::Field { .. } | ExprKind::Variable(_) => self.of_reading(expr),
            ExprKind::Rate(log) => match self.uncertainty(log)? {
                Some(_) => Err(self.not_known(expr)),
                None => Ok(None),
            },
            ExprKind::Let(id, entry) => self.uncertainty_of_let(*id, entry.as_deref()),
            ExprKind::Cases(cases) => self.by_cases(cases, Self::uncertainty, PartialEq::eq),
            ExprKind::Minus(inner) => self.uncertainty(inner),
            ExprKind::Arithmetic(sign, left, right) => self.of_arithmetic(expr, *sign, left, right),
            ExprKind::Aggregate { aggregate, value: Some(value), slot, list, condition } => {
                let over = Over { value: None, slot: *slot, list, condition: condition.as_deref() };
                self.of_several(expr, *aggregate, value, over)
            }
            ExprKind::Call { builtin, arguments } => self.of_call(expr, builtin, arguments),
            _ => Ok(None),
        }
    }

    fn not_known(&mut self, expr: &'x Expr) -> Missing<'x> {
        let at = self.value(expr).ok().and_then(|operand| operand.at);
        let fault = Fault::new(
            FUNCTION_RANGE,
            "the uncertainty of a value that is computed so is not known; judge it `by simple acceptance`, or compare the readings themselves",
        );
        self.fault_at(fault, at)
    }

    fn of_arithmetic(
        &mut self,
        whole: &'x Expr,
        sign: Arithmetic,
        left: &'x Expr,
        right: &'x Expr,
    ) -> Computed<'x, Known> {
        let (one, other) = (self.uncertainty(left)?, self.uncertainty(right)?);
        let spread = match (sign, one, other) {
            (_, None, None) => Ok(None),
            (Arithmetic::Add | Arithmetic::Subtract, one, other) => together(one, other),
            (Arithmetic::Multiply, Some(one), Some(other)) => {
                let (left, right) = (self.value(left)?, self.value(right)?);
                match (left.quantity(), right.quantity()) {
                    (Some(a), Some(b)) => of_product((a, &one), (b, &other)).map(Some),
                    _ => return Err(self.not_known(whole)),
                }
            }
            (Arithmetic::Multiply, Some(known), None) => self.scaled(known, right, Quantity::mul)?,
            (Arithmetic::Multiply, None, Some(known)) => self.scaled(known, left, Quantity::mul)?,
            (Arithmetic::Divide, Some(known), None) => self.scaled(known, right, Quantity::div)?,
            (Arithmetic::Divide | Arithmetic::Elapsed, ..) => return Err(self.not_known(whole)),
        };
        spread.map_err(|fault| self.fault_at(fault, None))
    }

    /// An uncertainty multiplied or divided by a value that is exact.
    fn scaled(
        &mut self,
        known: Uncertainty,
        by: &'x Expr,
        sign: fn(&Quantity, &Quantity) -> Result<Quantity, Fault>,
    ) -> Computed<'x, Result<Known, Fault>> {
        let by = self.value(by)?;
        let Some(by) = by.quantity() else { return Ok(Ok(None)) };
        Ok(sign(&known.expanded, by).map(|expanded| Some(known.with(expanded))))
    }

    /// Of a sum that of all readings together. The least or greatest may truly be another one than it seems:
    /// it lies no farther off than the most uncertain of them.
    fn of_several(
        &mut self,
        whole: &'x Expr,
        aggregate: Aggregate,
        value: &'x Expr,
        over: Over<'x>,
    ) -> Computed<'x, Known> {
        let mut found = Vec::new();
        self.each_value(over, &mut |inner, _, _| {
            found.push(inner.uncertainty(value));
            Ok(())
        })?;
        let mut result: Known = None;
        for next in found {
            let next = next?;
            result = match aggregate {
                Aggregate::Count => None,
                Aggregate::All if next.is_some() => return Err(self.not_known(whole)),
                Aggregate::Sum | Aggregate::All => {
                    together(result, next).map_err(|fault| self.fault_at(fault, None))?
                }
                Aggregate::Least | Aggregate::Greatest => match (result, next) {
                    (Some(a), Some(b)) if b.expanded.compare(&a.expanded).is_gt() => Some(b),
                    (a, b) => a.or(b),
                },
            };
        }
        Ok(result)
    }

    fn of_call(&mut self, whole: &'x Expr, builtin: &Builtin, arguments: &'x [Expr]) -> Computed<'x, Known> {
        let mut spreads = Vec::with_capacity(arguments.len());
        for argument in arguments {
            spreads.push(match argument.ty {
                Type::Range(_) => self.of_limits(argument)?,
                _ => self.uncertainty(argument)?,
            });
        }
        let mut spreads = spreads.into_iter();
        let first = spreads.next().flatten();
        match (first, spreads.any(|spread| spread.is_some())) {
            (None, false) => Ok(None),
            (Some(known), false) if builtin.uncertainty == Carried::Proportional => {
                let mut values = vec![Value::Quantity(known.expanded.clone())];
                for argument in arguments.iter().skip(1) {
                    values.push(self.value(argument)?.into_value());
                }
                match (builtin.function)(&values, &mut Working::none()) {
                    Ok(Value::Quantity(expanded)) => Ok(Some(known.with(expanded))),
                    _ => Err(self.not_known(whole)),
                }
            }
            _ => Err(self.not_known(whole)),
        }
    }

    /// The uncertainty of limits that are computed from readings: how far each reading moves the one of them
    /// that it moves most.
    pub(super) fn of_limits(&mut self, limits: &'x Expr) -> Computed<'x, Known> {
        let form = match &limits.kind {
            ExprKind::Range(form) => form,
            ExprKind::Let(id, entry) => return self.uncertainty_of_limits(*id, entry.as_deref()),
            ExprKind::Cases(cases) => return self.by_cases(cases, Self::of_limits, PartialEq::eq),
            _ => return Ok(None),
        };
        let mut result = None;
        for (number, operand) in form.operands().enumerate() {
            // An end that is missing moves nothing: the other one decides alone.
            if self.value(operand).is_err() {
                continue;
            }
            let Some(known) = self.uncertainty(operand)? else { continue };
            let moved = self.moved(form, number, &known.expanded);
            let moved = moved.and_then(|distance| together(result, Some(known.with(distance))));
            result = moved.map_err(|fault| self.fault_at(fault, None))?;
        }
        Ok(result)
    }

    /// How far limits move where one of their operands moves by a distance.
    fn moved(&mut self, form: &'x RangeForm<Expr>, number: usize, by: &Quantity) -> Result<Quantity, Fault> {
        let values: Vec<Option<Quantity>> = form
            .operands()
            .map(|operand| self.value(operand).ok().and_then(|value| value.quantity().cloned()))
            .collect();
        let limits = |is_moved: bool| {
            let mut given = values.iter().enumerate();
            let form = form.try_map(|_| match given.next() {
                Some((at, Some(value))) if at == number && is_moved => value.add(by).map(Some),
                Some((_, value)) => Ok(value.clone()),
                None => Ok(None),
            })?;
            known(form)
        };
        limits(false).and_then(|still| {
            let (Some(still), Some(moved)) = (still, limits(true)?) else { return Ok(by.clone()) };
            let ends = [(still.low(), moved.low()), (still.high(), moved.high())];
            let distances = ends.into_iter().filter_map(|(still, moved)| {
                let distance = moved?.value.distance_from(&still?.value);
                Some(if distance.magnitude().is_negative() { distance.opposite() } else { distance })
            });
            let farthest = distances.reduce(|a, b| if b.compare(&a).is_gt() { b } else { a });
            Ok(farthest.unwrap_or_else(|| by.clone()))
        })
    }

    fn of_reading(&mut self, path: &'x Expr) -> Computed<'x, Known> {
        let node = self.node(path)?;
        match &self.doc(node).node(node.node).kind {
            NodeKind::Scalar { value: Bound::Value(Value::Reading(reading)), .. } => {
                let stated = Uncertainty {
                    expanded: reading.expanded.clone(),
                    coverage: reading.coverage.clone(),
                    from: "stated with the reading",
                };
                // Nobody reads more finely than the tool in the hand: the greater of the two counts.
                let by_tool = self.of_measured(path, &reading.value).unwrap_or_default();
                Ok(Some(match by_tool {
                    Some(by_tool) if is_greater(&by_tool, &stated) => by_tool,
                    _ => stated,
                }))
            }
            NodeKind::Scalar { value: Bound::Value(Value::Quantity(value)), .. } => {
                self.of_measured(path, value)
            }
            _ => match path.ty {
                // Of a log only an uncertainty that is the same for every value can move its limits.
                Type::Log(kind, _) => {
                    match self.of_measured(path, &Quantity::from_base(Number::ZERO, kind))? {
                        Some(known) if known.from == BY_CLASS => Err(self.not_known(path)),
                        known => Ok(known),
                    }
                }
                _ => Ok(None),
            },
        }
    }

    /// The uncertainty of the tool with which a field was measured.
    fn of_measured(&mut self, path: &'x Expr, value: &Quantity) -> Computed<'x, Known> {
        let ExprKind::Field { base, index, .. } = &path.kind else { return Ok(None) };
        let Type::Record(record) = &base.ty else { return Ok(None) };
        let field = record.fields.get(usize::from(*index));
        let Some(measured) = field.and_then(|field| field.measured.as_ref()) else { return Ok(None) };
        let from = self.node(base)?;
        let mut tools = Vec::new();
        for (_, link) in record.instruments() {
            tools.extend(self.instrument(from, link)?);
        }
        match tools.as_slice() {
            [] => Ok(None),
            [tool] => self.of_tool(*tool, measured, value),
            _ => {
                let what = format!(
                    "`{}` names several tools, and its schema does not say by the name `instrument` which of them measured",
                    record.title
                );
                Err(self.fault_at(Fault::new(FUNCTION_RANGE, what), Some(from)))
            }
        }
    }

    /// The tool that a record was measured with, in the register or, in a trial, as written out in it.
    fn instrument(&mut self, from: NodeRef, link: &Link) -> Computed<'x, Option<NodeRef>> {
        if self.given.is_some() {
            let document = self.doc(from);
            let holder = || document.get(document.holder(from.node)?, &link.name);
            let written = document.field_named(from.node, &link.name).or_else(holder);
            return Ok(written.map(|node| from.beside(node)));
        }
        let followed = self.around.follow(link, from);
        self.share.steps(self.around.take_looked_at());
        match followed {
            Ok(tool) => Ok(Some(tool)),
            // Without a register nobody states an uncertainty, and without a name there is no tool.
            Err((_, UnresolvedLink::Unnamed(_) | UnresolvedLink::First)) => Ok(None),
            Err(_) if !self.around.has_register() => Ok(None),
            // A tool that no register knows, or two do, may be of any uncertainty.
            Err((at, lost)) => Err(Missing { at, reason: Reason::UnresolvedLink(Box::new(lost)) }),
        }
    }

    /// The uncertainty that the register states of a tool or, for a torque tool of known type and class,
    /// the one that follows from its permissible deviation (ISO 6789-1).
    fn of_tool(&self, tool: NodeRef, group: &str, value: &Quantity) -> Computed<'x, Known> {
        let document = self.doc(tool);
        let entry = Tool::at(document, tool.node);
        let Some(group) = entry.measuring(group) else { return Ok(None) };
        let telling = group.telling().into_iter().chain([entry.kind(), entry.class()]);
        let whole = Some(group.node()).filter(|node| is_unreadable(document, *node));
        if let Some(node) = telling.filter_map(|field| field.unread()).chain(whole).next() {
            return Err(Missing { at: tool.beside(node), reason: Reason::Unreadable });
        }
        if let Some((expanded, coverage)) = group.expanded() {
            // Of readings in °C it is told in °C too.
            let expanded = match value.unit().filter(|unit| unit.kind().is_point()) {
                Some(unit) => expanded.in_unit(unit.difference()),
                None => expanded,
            };
            return Ok(Some(Uncertainty { expanded, coverage, from: "stated in the tool register" }));
        }
        Ok(by_class(entry, group, value))
    }
}

/// The uncertainty of a torque tool that follows from its type, its class and the end of its range.
fn by_class(tool: Tool<'_>, group: Measuring<'_>, value: &Quantity) -> Known {
    let mut working = Working::none();
    let greatest = &group.covered()?.high()?.value;
    let (kind, class) = (tool.type_numeral()?, tool.class().text()?);
    let permissible = torque_tool::permissible_deviation(kind, class, greatest, &mut working).ok()?;
    let standard = torque_tool::standard_uncertainty(value, &permissible, &mut working).ok()?;
    let coverage = Reading::usual_coverage();
    let expanded = standard.mul(&Quantity::from(coverage.clone())).ok()?;
    Some(Uncertainty { expanded: expanded.in_unit_of(value), coverage, from: BY_CLASS })
}

fn is_greater(one: &Uncertainty, other: &Uncertainty) -> bool {
    matches!((one.standard(), other.standard()), (Ok(one), Ok(other)) if one.compare(&other).is_gt())
}

fn is_unreadable(document: &Document<'_>, node: NodeId) -> bool {
    matches!(document.node(node).kind, NodeKind::Scalar { value: Bound::Wrong, .. })
}

/// The uncertainty of the sum or difference of two independent values.
fn together(one: Known, other: Known) -> Result<Known, Fault> {
    let (one, other) = match (one, other) {
        (Some(one), Some(other)) => (one, other),
        (one, other) => return Ok(one.or(other)),
    };
    let (a, b) = (one.standard()?, other.standard()?);
    let known = |standard| Component { standard, freedom: f64::INFINITY };
    let (combined, _) = uncertainty::combined(&[known(&a), known(&b)])?;
    let is_sum = [one.from, other.from].iter().any(|from| [BOTH, SEVERAL].contains(from));
    expanded(&combined, &one.expanded, if is_sum { SEVERAL } else { BOTH }).map(Some)
}

fn of_product(a: (&Quantity, &Uncertainty), b: (&Quantity, &Uncertainty)) -> Result<Uncertainty, Fault> {
    let standard = uncertainty::of_product(a.0, &a.1.standard()?, b.0, &b.1.standard()?)?;
    expanded(&standard, &standard, BOTH)
}

fn expanded(standard: &Quantity, model: &Quantity, from: &'static str) -> Result<Uncertainty, Fault> {
    let coverage = Reading::usual_coverage();
    let expanded = standard.mul(&Quantity::from(coverage.clone()))?.in_unit_of(model);
    Ok(Uncertainty { expanded, coverage, from })
}
