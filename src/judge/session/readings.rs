//! What of a document is kept for figures over many.

use super::Session;
use crate::decide::{About, Compared, Evaluator, Judgement};
use crate::document::{Document, NodeId};
use crate::finding::{Archived, MOST_READINGS, Outcome, Reading};
use crate::language::ids::RuleId;
use crate::language::typed::{Expr, ExprKind};
use crate::quantity::{Number, Quantity, Range};
use crate::trade::facts::{JobFacts, sort_of, tool_of, written_number};
use crate::trade::form::JOB;
use crate::trade::register::Tool;

/// The readings of a document so far, of each value the one with the tightest limits.
#[derive(Default)]
pub(super) struct Readings(Vec<(Option<NodeId>, Reading)>);

impl Session {
    /// The same session, keeping of each document what counts among many.
    #[must_use]
    pub fn keeping_figures(self) -> Session {
        Session { keeps_figures: true, ..self }
    }

    /// The tools around: the number of each, and whether it only clicks at what it is set to and shows no reading (ISO
    /// 6789-1, type II).
    #[must_use]
    pub fn tools_around(&self) -> Vec<(String, bool)> {
        let told =
            |tool: Tool<'_>| Some((tool.number().text()?.to_owned(), tool.type_numeral() == Some("II")));
        self.context.tools().filter_map(told).collect()
    }

    /// What of a document counts among many, where somebody asks.
    pub(super) fn archived(&self, document: &Document<'_>, readings: Readings) -> Option<Box<Archived>> {
        self.keeps_figures.then(|| {
            let facts = (document.form() == Some(JOB)).then(|| JobFacts::of(document));
            let readings = readings.0.into_iter().map(|(_, reading)| reading).collect();
            Box::new(Archived { facts, readings })
        })
    }
}

impl Readings {
    /// Keeps what a demand compared with a range, if that is all that the demand asks.
    pub(super) fn take<'x>(
        &mut self,
        evaluator: &mut Evaluator<'x>,
        judgement: &Judgement<'x>,
        number: RuleId,
    ) {
        let Some(compared) = evaluator.take_compared() else { return };
        let About::Demand(demand) = judgement.about else { return };
        let decided = matches!(judgement.outcome, Outcome::Met | Outcome::Broken);
        let Some(leaf) = judgement.verdict.leaf.as_deref().filter(|_| decided) else { return };
        let alone = alone(demand);
        let is_whole = matches!(alone.kind, ExprKind::Within(..))
            && alone.place == leaf.expr.place
            && compared.demand == alone.place;
        if !is_whole || self.0.len() >= MOST_READINGS {
            return;
        }
        let document = evaluator.document();
        let node = leaf.at.filter(|at| at.is_own()).map(|at| at.node);
        let subject = Some(judgement.subject).filter(|at| at.is_own()).map(|at| at.node);
        let Some(at) = node.or(subject) else { return };
        let Some(figures) = Figures::of(&compared) else { return };
        let same = self.0.iter().position(|(known, _)| node.is_some() && *known == node);
        let wider = |known: &Reading| known.high - known.low <= figures.high - figures.low;
        if let Some(same) = same {
            if self.0.get(same).is_some_and(|(_, known)| wider(known)) {
                return;
            }
            self.0.remove(same);
        }
        let reading = Reading {
            rule: number,
            of: node.map_or_else(|| judgement.rule.name.clone(), |node| sort_of(document, node)),
            tool: node.and_then(|node| tool_of(document, node)),
            at: document.place(at),
            value: figures.value,
            low: figures.low,
            high: figures.high,
            unit: figures.unit,
            on_nominal: figures.on_nominal,
            last_digit: node.and_then(|node| last_digit(&written_number(document, node)?, &figures)),
            range: compared.range,
        };
        self.0.push((node, reading));
    }
}

/// A demand without what says how uncertain readings are decided in it.
fn alone(demand: &Expr) -> &Expr {
    match &demand.kind {
        ExprKind::Decided(_, inner) => alone(inner),
        _ => demand,
    }
}

/// A comparison in plain numbers.
struct Figures {
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
    on_nominal: bool,
}

impl Figures {
    /// None where the range has one end only, or its ends are one.
    fn of(compared: &Compared) -> Option<Figures> {
        let Compared { value, range, .. } = compared;
        let (low, high) = (&range.low()?.value, &range.high()?.value);
        let unit = low.unit().map_or("", |unit| unit.symbol);
        let [value_there, high_there] = [value, high].map(|one| one.in_unit_of(low).magnitude().to_f64());
        let low_there = low.magnitude().to_f64();
        let is_usable = [value_there, low_there, high_there].iter().all(|one| one.is_finite());
        (is_usable && high_there > low_there).then(|| Figures {
            value: value_there,
            low: low_there,
            high: high_there,
            unit,
            on_nominal: is_nominal(value, range),
        })
    }
}

/// Whether a value is exactly the nominal one or, of a range without one, the middle.
fn is_nominal(value: &Quantity, range: &Range) -> bool {
    if let Some(nominal) = range.nominal() {
        return value.compare(nominal).is_eq();
    }
    range.margin(value).share == Number::ratio(1, 2)
}

/// The last digit that is written, where the limits are ten steps of it apart or more.
fn last_digit((digits, decimals): &(String, usize), figures: &Figures) -> Option<u8> {
    let step = 10_f64.powi(-i32::try_from(*decimals).ok()?);
    let digit = digits.chars().last()?.to_digit(10)?;
    (figures.high - figures.low >= 10.0 * step).then(|| u8::try_from(digit).ok()).flatten()
}
