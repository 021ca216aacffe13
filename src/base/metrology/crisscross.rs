//! Whether bolts round a rim were tightened criss-cross.
//!
//! | symbol | meaning |
//! |---|---|
//! | `p_i` | position of bolt i from the centre, scaled so that the farthest lies at 1 |
//! | `o(k)` | the bolt tightened k-th |
//! | `M` | greatest length of p_o(1) + … + p_o(k) over all k |
//!
//! A balanced order keeps the bolts tightened so far pulling evenly, so their resultant stays short. Up to 1.25
//! the order is criss-cross; up to 2.0, with eight bolts or more, doubtful; beyond, not criss-cross. Three bolts
//! or fewer have no other order. An order with M up to √5/2 exists for every layout (Steinitz lemma; constant of
//! the plane by Banaszczyk, 1987, from memory); the cross patterns of ASME PCC-1 (8, 12, 16, 24 bolts read, others
//! from memory) all have M = 1; going round the rim gives √2 with four bolts and more with every further one. The
//! bounds are our own, between these. It applies to each pass; the last pass round the rim, which only checks,
//! is exempt. Bolts known by number alone are taken to lie evenly on a circle; for other pans each coordinate is
//! divided by its half extent first.

use std::f64::consts::TAU;

use crate::code;
use crate::diagnostic::Fault;

use super::figure::impossible;
use super::working::{Sketch, Working};

/// Criss-cross up to here.
const BALANCED: f64 = 1.25;
/// Doubtful up to here.
const DOUBTFUL: f64 = 2.0;
/// What is computed, for whoever wants to see it.
const FORMULA: &str = "M = greatest |p_o(1) + … + p_o(k)|, each p one radius long";
const FORMULA_AT: &str =
    "M = greatest |p_o(1) + … + p_o(k)|, p from the middle, the farthest one radius long";
const SOURCE: &str = "the patterns of ASME PCC-1 have M = 1; the bound is our own";
/// More bolts than any rim has.
const MOST_BOLTS: usize = 1_000;

/// The order in which every bolt of a rim was tightened once. Bolts count from 1, round the rim.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sequence {
    /// The bolts in the order of tightening, from 0.
    bolts: Vec<usize>,
    /// Which one of the list each bolt is, from 0, where they were listed in another order than round the rim.
    listed: Option<Vec<usize>>,
}

/// What an order is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// Balanced all along.
    CrissCross,
    /// Not plainly balanced, as when two bolts changed places.
    Doubtful,
    /// Not balanced.
    OneSided,
    /// Three bolts or fewer: no order is better than another.
    TooFew,
}

/// How balanced an order is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// What it is.
    pub pattern: Pattern,
    /// The greatest resultant `M`.
    pub greatest: f64,
    /// The first step, from 1, after which the resultant is beyond the limit; nothing in a balanced order.
    pub wrong_from: Option<usize>,
}

impl Sequence {
    /// Reads an order as it is written: `1-5-3-7-2-6-4-8`, or with commas or blanks.
    ///
    /// # Errors
    /// What is no number, with its place; then as [`Sequence::of_bolts`].
    pub fn parse(text: &str) -> Result<Sequence, Fault> {
        let separator = |c: char| c.is_whitespace() || matches!(c, '-' | '–' | ',');
        let mut numbers = Vec::new();
        for part in text.split(separator).filter(|part| !part.is_empty()).take(MOST_BOLTS + 1) {
            numbers.push(part.parse().map_err(|_| {
                let shown: String = part.chars().take(20).collect();
                Fault::new(
                    code::BOLT_NUMBERS,
                    format!("`{shown}` in the order of tightening is no number of a bolt"),
                )
                .help("write the numbers of the bolts in their order, such as `1-5-3-7-2-6-4-8`")
            })?);
        }
        Sequence::of_bolts(&numbers)
    }

    /// From the numbers of the bolts in the order of tightening, as in `1-5-3-7-2-6-4-8`.
    ///
    /// # Errors
    /// A number that stands twice, is zero or exceeds the count; so a number that is missing; more than a
    /// thousand bolts.
    pub fn of_bolts(numbers: &[u64]) -> Result<Sequence, Fault> {
        let noun = ["bolt", "is tightened", "in the order"];
        Ok(Sequence { bolts: every_number_once(numbers, noun)?, listed: None })
    }

    /// From the place that each bolt has in the order, bolt after bolt round the rim.
    ///
    /// # Errors
    /// As [`Sequence::of_bolts`].
    pub fn of_places(places: &[u64]) -> Result<Sequence, Fault> {
        let noun = ["place", "is given", "round the rim"];
        let places = every_number_once(places, noun)?;
        let mut bolts = vec![0; places.len()];
        for (bolt, place) in places.into_iter().enumerate() {
            if let Some(slot) = bolts.get_mut(place) {
                *slot = bolt;
            }
        }
        Ok(Sequence { bolts, listed: None })
    }

    /// From the place that each bolt has in the order, in any order, and the number that each has round the rim. Where
    /// two have one number, or one has none (0), the numbers say nothing of the rim, and the bolts count as listed.
    ///
    /// # Errors
    /// As [`Sequence::of_places`]; not as many numbers as places.
    pub fn numbered(places: &[u64], numbers: &[u64]) -> Result<Sequence, Fault> {
        if places.len() != numbers.len() {
            let found = format!("{} bolts are tightened, and {} have numbers", places.len(), numbers.len());
            return Err(Fault::new(code::BOLT_NUMBERS, found).help("give one number for each bolt"));
        }
        let in_list = Sequence::of_places(places)?;
        let mut listed: Vec<usize> = (0..numbers.len()).collect();
        listed.sort_by_key(|at| numbers.get(*at));
        let rim: Vec<u64> = listed.iter().filter_map(|at| numbers.get(*at)).copied().collect();
        if rim.first() == Some(&0) || rim.windows(2).any(|pair| matches!(pair, [one, other] if one == other))
        {
            return Ok(in_list);
        }
        let places: Vec<u64> = listed.iter().filter_map(|at| places.get(*at)).copied().collect();
        Ok(Sequence { listed: Some(listed), ..Sequence::of_places(&places)? })
    }

    /// Which one of the list is the bolt that is tightened at this step, from 1.
    fn listed_at(&self, step: usize) -> Option<usize> {
        let bolt = *self.bolts.get(step.checked_sub(1)?)?;
        self.listed.as_ref().map_or(Some(bolt), |listed| listed.get(bolt).copied())
    }

    /// The numbers of the bolts in the order of tightening, from 1.
    pub fn bolts(&self) -> impl Iterator<Item = usize> + '_ {
        self.bolts.iter().map(|bolt| bolt + 1)
    }

    /// The place of each bolt in the order, bolt after bolt round the rim: what [`Sequence::of_places`] reads.
    pub fn places(&self) -> impl Iterator<Item = u64> {
        let mut places = vec![0; self.bolts.len()];
        for (place, bolt) in (1..).zip(&self.bolts) {
            if let Some(slot) = places.get_mut(*bolt) {
                *slot = place;
            }
        }
        places.into_iter()
    }

    /// Whether it goes once round the rim, in either direction, from any bolt: a pass that only checks.
    #[must_use]
    pub fn goes_round(&self) -> bool {
        self.leaves_the_round().is_none()
    }

    /// The same with the bolts at these positions: round means by their angles, seen from the middle.
    ///
    /// # Errors
    /// As [`Sequence::at_positions`].
    pub fn goes_round_at(&self, positions: &[(f64, f64)]) -> Result<bool, Fault> {
        let points = self.points_at(positions)?;
        let angle = |bolt: &usize| points.get(*bolt).map_or(0.0, |(x, y)| y.atan2(*x));
        let mut round: Vec<usize> = (0..points.len()).collect();
        round.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
        let turn = |bolt: &usize| round.iter().position(|other| other == bolt);
        let renumbered = Sequence { bolts: self.bolts.iter().filter_map(turn).collect(), listed: None };
        Ok(renumbered.goes_round())
    }

    /// Whether it goes round, with a picture of it.
    pub fn is_round(&self, working: &mut Working) -> bool {
        let leaves = self.leaves_the_round();
        working.sketch(|| Sketch {
            words: match leaves {
                None => format!("{}: goes round", self.in_words("–")),
                Some(step) => format!("{}: does not go round from place {step} on", self.in_words("–")),
            },
            wanted: "once round the rim",
            lines: self.drawing(leaves),
            element: leaves.and_then(|step| self.listed_at(step)),
        });
        leaves.is_none()
    }

    /// The first step, from 1, that is not to the neighbour in the direction of the first one.
    fn leaves_the_round(&self) -> Option<usize> {
        let count = self.bolts.len();
        let forwards = |pair: &[usize]| matches!(pair, [from, to] if (from + 1) % count == *to);
        let backwards = |pair: &[usize]| matches!(pair, [from, to] if (to + 1) % count == *from);
        let leaves = |goes_on: &dyn Fn(&[usize]) -> bool| {
            self.bolts.windows(2).position(|pair| !goes_on(pair)).map(|at| at + 2)
        };
        leaves(&forwards).and_then(|step| leaves(&backwards).map(|other| step.max(other)))
    }

    /// How balanced it is with the bolts evenly on a circle.
    #[must_use]
    pub fn on_a_circle(&self) -> Balance {
        self.balance(&self.circle_points())
    }

    fn circle_points(&self) -> Vec<(f64, f64)> {
        let count = self.bolts.len();
        (0..count).map(|bolt| on_the_rim(bolt as f64 / count as f64)).collect()
    }

    /// Whether it is criss-cross, with the bolts evenly on a circle.
    ///
    /// # Errors
    /// An order that is doubtful: it points out the bolt from which on it is.
    pub fn is_criss_cross(&self, working: &mut Working) -> Result<bool, Fault> {
        self.judged(FORMULA, &self.circle_points(), Self::drawing, working)
    }

    /// Whether it is criss-cross, with the bolts at these positions.
    ///
    /// # Errors
    /// As [`Sequence::at_positions`]; an order that is doubtful.
    pub fn is_criss_cross_at(&self, positions: &[(f64, f64)], working: &mut Working) -> Result<bool, Fault> {
        let points = self.points_at(positions)?;
        let drawn = |order: &Sequence, wrong_from| order.drawing_at(&points, wrong_from);
        self.judged(FORMULA_AT, &points, drawn, working)
    }

    fn judged(
        &self,
        formula: &'static str,
        points: &[(f64, f64)],
        drawn: impl Fn(&Sequence, Option<usize>) -> Vec<String>,
        working: &mut Working,
    ) -> Result<bool, Fault> {
        let balance = self.balance(points);
        let wrong_bolt = balance.wrong_from.and_then(|step| self.listed_at(step));
        let steps = || self.steps(&balance, points);
        working.line(SOURCE, "how far the bolts tightened pull to one side", formula, steps);
        working.sketch(|| Sketch {
            words: self.words(&balance),
            wanted: "criss-cross, those tightened never more than 1.25 radii to one side",
            lines: drawn(self, balance.wrong_from),
            element: wrong_bolt,
        });
        match (balance.pattern, balance.wrong_from) {
            (Pattern::Doubtful, Some(step)) => {
                let fault = Fault::new(
                    code::FUNCTION_RANGE,
                    format!(
                        "the order of tightening is doubtful: from place {step} on the bolts tightened pull up to {:.2} radii \
                         to one side, and {BALANCED} or less is criss-cross, more than {DOUBTFUL} is not",
                        balance.greatest
                    ),
                );
                Err(fault.element(wrong_bolt.unwrap_or_default()))
            }
            (pattern, _) => Ok(pattern != Pattern::OneSided),
        }
    }

    /// The order, and what there is to say of it.
    fn words(&self, balance: &Balance) -> String {
        let order = self.in_words("–");
        let most = format!("{:.2} radii to one side", balance.greatest);
        match (balance.pattern, balance.wrong_from) {
            (Pattern::TooFew, _) => format!("{order}: for so few no order is better than another"),
            (_, None) => format!("{order}: those tightened never pull more than {most}"),
            (_, Some(step)) => {
                format!("{order}: goes wrong at place {step}, from where those tightened pull up to {most}")
            }
        }
    }

    /// The resultants step by step, and the greatest.
    fn steps(&self, balance: &Balance, points: &[(f64, f64)]) -> String {
        const MOST_SHOWN: usize = 32;
        let resultants = self.resultants(points);
        let steps = resultants.iter().take(MOST_SHOWN).enumerate();
        let steps: Vec<String> = steps.map(|(step, length)| format!("{}: {length:.2}", step + 1)).collect();
        let more = if resultants.len() > MOST_SHOWN { ", …" } else { "" };
        format!("k = {}{more}; M = {:.2}, at most {BALANCED}", steps.join(", "), balance.greatest)
    }

    fn in_words(&self, between: &str) -> String {
        self.bolts().map(|bolt| bolt.to_string()).collect::<Vec<_>>().join(between)
    }

    /// How balanced it is with the bolts at these positions, in any unit of length, bolt after bolt.
    ///
    /// # Errors
    /// Not one position for each bolt; two bolts in one place; what is no number.
    pub fn at_positions(&self, positions: &[(f64, f64)]) -> Result<Balance, Fault> {
        self.points_at(positions).map(|points| self.balance(&points))
    }

    fn points_at(&self, positions: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, Fault> {
        if positions.len() != self.bolts.len() {
            return Err(Fault::new(
                code::BOLT_NUMBERS,
                format!("{} bolts have {} positions", self.bolts.len(), positions.len()),
            )
            .help("give one position for each bolt"));
        }
        let twice =
            positions.iter().enumerate().find(|(at, own)| positions.iter().take(*at).any(|p| p == *own));
        if let Some((bolt, (x, y))) = twice {
            let message = format!("two bolts have the position x = {x}, y = {y}");
            return Err(impossible(message, "give each its own x and y").argument(1).element(bolt));
        }
        scaled(positions).ok_or_else(|| {
            impossible("the positions of the bolts are no places round a rim", "give each its own x and y")
        })
    }

    /// The length of p_o(1) + … + p_o(k) for each k.
    fn resultants(&self, points: &[(f64, f64)]) -> Vec<f64> {
        let (mut x, mut y) = (0.0, 0.0);
        let after = |bolt: &usize| {
            let (dx, dy) = points.get(*bolt).copied().unwrap_or_default();
            (x, y) = (x + dx, y + dy);
            // Ten decimals, so that a limit that is met exactly is met on every machine.
            (f64::hypot(x, y) * 1e10).round() / 1e10
        };
        self.bolts.iter().map(after).collect()
    }

    fn balance(&self, points: &[(f64, f64)]) -> Balance {
        let resultants = self.resultants(points);
        let greatest = resultants.iter().copied().fold(0.0, f64::max);
        let wrong_from = resultants.iter().position(|resultant| *resultant > BALANCED).map(|step| step + 1);
        let pattern = match self.bolts.len() {
            0..=3 => Pattern::TooFew,
            _ if greatest <= BALANCED => Pattern::CrissCross,
            8.. if greatest <= DOUBTFUL => Pattern::Doubtful,
            _ => Pattern::OneSided,
        };
        let wrong_from = if pattern == Pattern::TooFew { None } else { wrong_from };
        Balance { pattern, greatest, wrong_from }
    }

    /// A drawing for the terminal: at each bolt its place in the order, bolt 1 on top and the others
    /// clockwise, the place where the order goes wrong between brackets; below it the bolts in order.
    #[must_use]
    pub fn drawing(&self, wrong_from: Option<usize>) -> Vec<String> {
        let count = self.bolts.len();
        // The rim shows between the bolts only, so that no dot touches a number.
        let parts = if count < 12 { 3 } else { 2 };
        let dots = (0..count * parts).filter(|dot| dot % parts != 0);
        let rim: Vec<_> = dots.map(|dot| on_the_rim(dot as f64 / (count * parts) as f64)).collect();
        self.picture(&self.circle_points(), &rim, wrong_from)
    }

    /// The same with the bolts at points from the middle, x to the right and y upwards, stretched to the
    /// picture.
    fn drawing_at(&self, points: &[(f64, f64)], wrong_from: Option<usize>) -> Vec<String> {
        let farthest = |figures: &mut dyn Iterator<Item = f64>| {
            let most = figures.map(f64::abs).fold(0.0, f64::max);
            if most > 0.0 { most } else { 1.0 }
        };
        let wide = farthest(&mut points.iter().map(|(x, _)| *x));
        let high = farthest(&mut points.iter().map(|(_, y)| *y));
        let stretched: Vec<_> = points.iter().map(|(x, y)| (x / wide, y / high)).collect();
        self.picture(&stretched, &[], wrong_from)
    }

    fn picture(&self, points: &[(f64, f64)], dots: &[(f64, f64)], wrong_from: Option<usize>) -> Vec<String> {
        // A character of a terminal is about twice as high as wide.
        const WIDER: f64 = 2.2;
        const ROOM: usize = 4;
        /// With more, the numbers would run into one another.
        const MOST_DRAWN: usize = 40;
        let in_order = self.in_words("–");
        let count = self.bolts.len();
        if !(1..=MOST_DRAWN).contains(&count) {
            return vec![in_order];
        }
        let radius = (count as f64 / 4.0 + 1.0).max(2.0);
        let (height, width) = (cell(2.0 * radius) + 1, cell(2.0 * radius * WIDER) + 1 + 2 * ROOM);
        let mut grid = vec![vec![' '; width]; height];
        let place = |(x, y): (f64, f64)| (cell(radius * (1.0 - y)), cell(radius * WIDER * (1.0 + x)) + ROOM);
        for dot in dots {
            let (row, column) = place(*dot);
            write_at(&mut grid, row, column, "·");
        }
        let (row, column) = place((0.0, 0.0));
        write_at(&mut grid, row, column, "+");
        for (step, bolt) in self.bolts.iter().enumerate() {
            let Some(point) = points.get(*bolt) else { continue };
            let (row, column) = place(*point);
            let number = (step + 1).to_string();
            let label = match wrong_from == Some(step + 1) {
                true => format!("‹{number}›"),
                false => number,
            };
            let back = label.chars().count() / 2;
            write_at(&mut grid, row, column.saturating_sub(back), &label);
        }
        let lines = grid.into_iter().map(|row| row.into_iter().collect::<String>().trim_end().to_owned());
        lines.chain([in_order]).collect()
    }
}

/// A point of the rim after a share of a turn, clockwise from the top.
fn on_the_rim(turn: f64) -> (f64, f64) {
    ((TAU * turn).sin(), (TAU * turn).cos())
}

/// The nearest cell of a drawing.
fn cell(at: f64) -> usize {
    at.round().max(0.0) as usize
}

fn write_at(grid: &mut [Vec<char>], row: usize, column: usize, text: &str) {
    let Some(cells) = grid.get_mut(row) else { return };
    for (cell, character) in cells.iter_mut().skip(column).zip(text.chars()) {
        *cell = character;
    }
}

/// Checks that the numbers 1 to the count of them stand once each; from 0 then.
fn every_number_once(numbers: &[u64], [noun, done, whence]: [&str; 3]) -> Result<Vec<usize>, Fault> {
    let fault = |message: String| {
        Fault::new(code::BOLT_NUMBERS, message)
            .help("number the bolts from 1 round the rim and give every one its place in the order once")
    };
    let count = numbers.len();
    if count > MOST_BOLTS {
        return Err(fault(format!("{count} bolts are more than any rim has")));
    }
    // Only asked where a number cannot be, or stands twice: then one is missing.
    let lacking = || {
        let mut missing = (1..=count as u64).filter(|wanted| !numbers.contains(wanted));
        let first = missing.next().unwrap_or_default();
        let others = if missing.next().is_some() { " among others" } else { "" };
        format!("{noun} {first} is missing{others}")
    };
    let mut seen: Vec<Option<usize>> = vec![None; count];
    let mut found = Vec::with_capacity(count);
    for (at, number) in numbers.iter().enumerate() {
        let index = usize::try_from(*number).ok().and_then(|number| number.checked_sub(1));
        let slot = index.and_then(|index| Some((index, seen.get_mut(index)?)));
        let Some((index, slot)) = slot else {
            return Err(fault(format!(
                "{noun} {number} stands {whence}, and with {count} entries only 1 to {count} can: {}",
                lacking()
            ))
            .element(at));
        };
        if let Some(before) = slot.replace(at) {
            return Err(fault(format!(
                "{noun} {number} {done} twice, at {} and {} {whence}, and {}",
                before + 1,
                at + 1,
                lacking()
            ))
            .element(at));
        }
        found.push(index);
    }
    Ok(found)
}

/// Positions from their centroid, each coordinate divided by its half extent, the farthest at 1.
fn scaled(positions: &[(f64, f64)]) -> Option<Vec<(f64, f64)>> {
    if positions.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return None;
    }
    let count = positions.len() as f64;
    let centre = positions.iter().fold((0.0, 0.0), |sum, (x, y)| (sum.0 + x / count, sum.1 + y / count));
    let half = |figures: &mut dyn Iterator<Item = f64>| {
        let (low, high) = figures.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), figure| {
            (low.min(figure), high.max(figure))
        });
        let half = (high - low) / 2.0;
        // Bolts in one line have no extent across it.
        if half > 0.0 { half } else { 1.0 }
    };
    let (wide, high) =
        (half(&mut positions.iter().map(|(x, _)| *x)), half(&mut positions.iter().map(|(_, y)| *y)));
    let points: Vec<(f64, f64)> =
        positions.iter().map(|(x, y)| ((x - centre.0) / wide, (y - centre.1) / high)).collect();
    let farthest = points.iter().map(|(x, y)| f64::hypot(*x, *y)).fold(0.0, f64::max);
    let usable = farthest > 0.0 && farthest.is_finite();
    usable.then(|| points.into_iter().map(|(x, y)| (x / farthest, y / farthest)).collect())
}
