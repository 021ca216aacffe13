//! The outline of a signal for a drawing: floating point, because it decides nothing.

use super::{Sample, Sampling, Signal, Window};
use crate::diagnostic::Fault;

/// The most columns of a drawing.
const MOST_COLUMNS: usize = 4096;

/// What a signal is over one column of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The least value, in coherent SI units.
    pub least: f64,
    /// The greatest.
    pub greatest: f64,
}

/// The least and greatest value in each of `columns` equal parts of a window (4,096 at most); nothing where
/// the signal is not known. A window without length has one instant for all of them.
///
/// # Errors
/// The first fault of a reader. Samples behind the window are not read.
pub fn outline<I>(signal: Signal<I>, window: Window, columns: usize) -> Result<Vec<Option<Column>>, Fault>
where
    I: Iterator<Item = Result<Sample, Fault>>,
{
    let mut drawing = Drawing { window, columns: vec![None; columns.min(MOST_COLUMNS)] };
    let mut last: Option<Sample> = None;
    for sample in signal.samples {
        let sample = sample?;
        let point = (sample.at, sample.value.to_f64());
        if let Some(before) = last.as_ref().filter(|last| !is_gap(last.at, sample.at, signal.largest_gap)) {
            let start = (before.at, before.value.to_f64());
            let end = if signal.sampling == Sampling::Held { (sample.at, start.1) } else { point };
            drawing.line(start, end);
        }
        drawing.line(point, point);
        if sample.at > window.to {
            break;
        }
        last = Some(sample);
    }
    Ok(drawing.columns)
}

fn is_gap(from: i64, to: i64, largest: Option<i64>) -> bool {
    largest.is_some_and(|largest| i128::from(to) - i128::from(from) > i128::from(largest))
}

struct Drawing {
    window: Window,
    columns: Vec<Option<Column>>,
}

impl Drawing {
    /// Draws a straight line from one instant and value to another.
    fn line(&mut self, (from, start): (i64, f64), (to, end): (i64, f64)) {
        let (begin, finish) = (from.max(self.window.from), to.min(self.window.to));
        if begin > finish {
            return;
        }
        let (first, last) = (self.place(begin), self.place(finish));
        let slope = if to == from { 0.0 } else { (end - start) / length(from, to) };
        let width = length(self.window.from, self.window.to) / self.columns.len() as f64;
        let ahead = length(from, self.window.from);
        let value = |place: f64| start + slope * (ahead + place * width);
        let most = self.columns.len().saturating_sub(1);
        let (left, right) = ((first as usize).min(most), (last as usize).min(most));
        for (column, slot) in self.columns.iter_mut().enumerate().take(right + 1).skip(left) {
            let (one, other) = (value(first.max(column as f64)), value(last.min((column + 1) as f64)));
            let column = slot.get_or_insert(Column { least: one, greatest: one });
            column.least = column.least.min(one).min(other);
            column.greatest = column.greatest.max(one).max(other);
        }
    }

    /// Where an instant of the window lies, in columns.
    fn place(&self, at: i64) -> f64 {
        let whole = length(self.window.from, self.window.to);
        if whole > 0.0 { length(self.window.from, at) / whole * self.columns.len() as f64 } else { 0.0 }
    }
}

/// The nanoseconds from one instant to another.
fn length(from: i64, to: i64) -> f64 {
    (i128::from(to) - i128::from(from)) as f64
}
