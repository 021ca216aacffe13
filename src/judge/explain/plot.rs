//! A log drawn over its stretch of time, for a terminal.

use super::Explainer;
use crate::decide::LogEvidence;
use crate::document::log::Samples;
use crate::quantity::{Kind, Number, Quantity, Unit};
use crate::signal::{Column, Of, Question, Signal, Window, outline};

/// How many cells the drawing is wide and high, without its labels.
const WIDE: usize = 56;
const HIGH: usize = 8;
/// A cell has 2 by 4 dots.
const DOTS: (usize, usize) = (2, 4);

impl Explainer<'_> {
    /// The lines of a drawing of the log that decided; none where it cannot be read. Where its rate is what
    /// counts, it is drawn without limits.
    pub(super) fn plot(&mut self, course: &LogEvidence) -> Vec<String> {
        let range = course.shown.range.as_ref().filter(|_| course.shown.of == Of::Level);
        let log = course.shown.log;
        let Ok(samples) = self.values.samples(&log, None) else { return Vec::new() };
        let window = widened(course.window);
        let signal: Signal<Samples> = Signal { samples, sampling: log.sampling, largest_gap: course.gaps };
        let Ok(columns) = outline(signal, window, WIDE * DOTS.0) else { return Vec::new() };
        let limits: Vec<&Quantity> = range
            .into_iter()
            .flat_map(|range| range.low().into_iter().chain(range.high()))
            .map(|limit| &limit.value)
            .collect();
        let unit = limits.iter().find_map(|limit| limit.unit()).or_else(|| usual_unit(log.kind));
        let Some(scale) = Scale::over(&columns, &limits) else { return Vec::new() };
        let mut rows = vec![vec![0_u8; WIDE]; HIGH];
        for (number, column) in columns.iter().enumerate() {
            let Some(column) = column else { continue };
            for dot in scale.dot(column.greatest)..=scale.dot(column.least) {
                set(&mut rows, number, dot);
            }
        }
        let labels = scale.labels(&columns, &limits, unit);
        let width = labels.iter().flatten().map(|label| label.chars().count()).max().unwrap_or(0);
        let mut lines = Vec::with_capacity(HIGH + 2);
        for (row, cells) in rows.iter().enumerate() {
            let label = labels.get(row).and_then(Option::as_deref).unwrap_or_default();
            let is_limit = limits.iter().any(|limit| scale.row(limit.base().to_f64()) == row);
            let joint = if label.is_empty() { '│' } else { '┤' };
            let cells: String = cells.iter().map(|dots| cell(*dots, is_limit)).collect();
            lines.push(format!("{label:>width$} {joint}{}", cells.trim_end()));
        }
        let blank = " ".repeat(width);
        lines.push(format!("{blank} └{}", axis(course, window, &outside(course, &columns, &limits))));
        lines.push(format!("{blank}  {}", self.times(course, window)));
        lines
    }

    /// The times at the ends of the stretch, below the axis.
    fn times(&self, course: &LogEvidence, window: Window) -> String {
        let clock = self.clock(course.window);
        let [from, to] = [course.window.from, course.window.to];
        let [begin, end] = [from, to].map(|at| clock.at(&Number::from(at)));
        let mut line = vec![' '; WIDE + 24];
        let mut put = |at: usize, text: &str| {
            for (place, sign) in line.iter_mut().skip(at).zip(text.chars()) {
                *place = sign;
            }
        };
        let first = place(window, from);
        put(first, &begin);
        let last = (place(window, to) + 1).saturating_sub(end.chars().count());
        if last > first + begin.chars().count() {
            put(last, &end);
        }
        line.into_iter().collect::<String>().trim_end().to_owned()
    }
}

/// The window with a little of what lies before and behind it.
fn widened(window: Window) -> Window {
    let more = (window.to - window.from) / 12;
    Window { from: window.from.saturating_sub(more), to: window.to.saturating_add(more) }
}

/// The cell in which an instant lies.
fn place(window: Window, at: i64) -> usize {
    let length = i128::from(window.to) - i128::from(window.from);
    let passed = i128::from(at) - i128::from(window.from);
    let cell = if length > 0 { passed * WIDE as i128 / length } else { 0 };
    usize::try_from(cell).unwrap_or(0).min(WIDE - 1)
}

/// For each cell, whether the log left its one range there; empty where more is asked than that.
fn outside(course: &LogEvidence, columns: &[Option<Column>], limits: &[&Quantity]) -> Vec<bool> {
    let range = course.shown.range.as_ref().filter(|_| course.one_range && !limits.is_empty());
    let Some(range) = range else { return Vec::new() };
    let low = range.low().map(|low| low.value.base().to_f64());
    let high = range.high().map(|high| high.value.base().to_f64());
    let leaves = |column: &Column| {
        low.is_some_and(|low| column.least < low) || high.is_some_and(|high| column.greatest > high)
    };
    columns.chunks(DOTS.0).map(|cell| cell.iter().flatten().any(leaves)).collect()
}

/// The line of time: thick within the stretch, with marks below what is wrong.
fn axis(course: &LogEvidence, window: Window, outside: &[bool]) -> String {
    let (from, to) = (place(window, course.window.from), place(window, course.window.to));
    let is_broken = matches!(course.question, Question::Throughout(_)) && course.answer.truth == Some(false);
    let marked = course.answer.stretch.as_ref().filter(|_| is_broken);
    let marked =
        marked.and_then(|(begin, end)| Some((place(window, begin.floor()?), place(window, end.floor()?))));
    let hole = course.answer.hole.as_ref().map(|hole| (place(window, hole.from), place(window, hole.to)));
    let within =
        |cell: usize, part: Option<(usize, usize)>| part.is_some_and(|(a, b)| a <= cell && cell <= b);
    let sign = |cell: usize| match cell {
        cell if within(cell, marked) => '▲',
        cell if is_broken && from <= cell && cell <= to && outside.get(cell) == Some(&true) => '▲',
        cell if within(cell, hole) => '?',
        cell if from <= cell && cell <= to => '═',
        _ => '─',
    };
    (0..WIDE).map(sign).collect()
}

/// Sets a dot of a drawing, counted from the left and from above.
fn set(rows: &mut [Vec<u8>], across: usize, down: usize) {
    // The dots of a braille cell, column by column (Unicode 16, chapter 21.1).
    const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];
    let bit = BITS.get(across % DOTS.0).and_then(|column| column.get(down % DOTS.1));
    let cell = rows.get_mut(down / DOTS.1).and_then(|row| row.get_mut(across / DOTS.0));
    if let (Some(bit), Some(cell)) = (bit, cell) {
        *cell |= bit;
    }
}

fn cell(dots: u8, is_limit: bool) -> char {
    match (dots, is_limit) {
        (0, true) => '┄',
        (0, false) => ' ',
        (dots, _) => char::from_u32(0x2800 + u32::from(dots)).unwrap_or('*'),
    }
}

/// From values in coherent SI units to rows of dots.
struct Scale {
    top: f64,
    step: f64,
}

impl Scale {
    /// Wide enough for everything that is drawn; nothing where there is nothing to draw.
    fn over(columns: &[Option<Column>], limits: &[&Quantity]) -> Option<Scale> {
        let known = || columns.iter().flatten();
        let limits = || limits.iter().map(|limit| limit.base().to_f64());
        let low = known().map(|column| column.least).chain(limits()).reduce(f64::min)?;
        let high = known().map(|column| column.greatest).chain(limits()).reduce(f64::max)?;
        let spread = high - low;
        let spread = if spread > 0.0 { spread } else { high.abs().max(1.0) };
        let step = spread * 1.1 / (HIGH * DOTS.1) as f64;
        (known().next().is_some() && step.is_finite()).then_some(Scale { top: high + spread * 0.05, step })
    }

    fn dot(&self, value: f64) -> usize {
        let most = HIGH * DOTS.1 - 1;
        // A negative or too large figure is cut by the conversion.
        (((self.top - value) / self.step) as usize).min(most)
    }

    fn row(&self, value: f64) -> usize {
        self.dot(value) / DOTS.1
    }

    /// A label for each row: the limits where they lie, the least and the greatest value where there is room.
    fn labels(
        &self,
        columns: &[Option<Column>],
        limits: &[&Quantity],
        unit: Option<&'static Unit>,
    ) -> Vec<Option<String>> {
        let mut labels = vec![None; HIGH];
        for limit in limits {
            let shown = unit.map_or_else(|| Quantity::clone(limit), |unit| limit.in_unit(unit));
            if let Some(label) = labels.get_mut(self.row(limit.base().to_f64())) {
                *label = Some(shown.to_string());
            }
        }
        let known = || columns.iter().flatten();
        let least = known().map(|column| column.least).reduce(f64::min);
        let greatest = known().map(|column| column.greatest).reduce(f64::max);
        for value in least.into_iter().chain(greatest) {
            let text = unit.and_then(|unit| rough(value, unit));
            if let Some(label) = labels.get_mut(self.row(value)).filter(|label| label.is_none()) {
                *label = text;
            }
        }
        labels
    }
}

/// A value as a label has room for it, to a tenth.
fn rough(value: f64, unit: &'static Unit) -> Option<String> {
    let base = Quantity::from_base(Number::parse(&format!("{value:.9}")).ok()?, unit.kind());
    let tenths = base.in_unit(unit).magnitude().to_f64();
    let figure = Number::parse(&format!("{tenths:.1}")).ok()?;
    Some(Quantity::new(figure, unit).to_string())
}

/// The unit in which the trade gives a quantity of this kind.
fn usual_unit(kind: Kind) -> Option<&'static Unit> {
    let examples = Unit::examples(kind);
    Unit::find(examples.split([',', ' ']).next()?).ok().filter(|unit| unit.kind() == kind)
}
