//! The steps of a computation, for whoever wants to see how a figure came about.

use std::collections::HashSet;

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Line {
    /// What is computed.
    pub what: &'static str,
    /// The formula, in the symbols of its source.
    pub formula: &'static str,
    /// The same with the figures put in, and the result.
    pub figures: String,
    /// Where the formula or the figures come from.
    pub source: &'static str,
}

/// A picture of what was computed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sketch {
    /// What it shows, in a line.
    pub words: String,
    /// What was wanted, in a few words.
    pub wanted: &'static str,
    /// Its lines.
    pub lines: Vec<String>,
    /// The element of the list that it points out, from 0.
    pub element: Option<usize>,
}

/// The steps of a computation. A working that keeps nothing costs nothing.
#[derive(Clone, Debug, Default)]
pub struct Working {
    lines: Option<Vec<Line>>,
    sketch: Option<Sketch>,
}

impl Working {
    /// One that keeps nothing.
    #[must_use]
    pub fn none() -> Self {
        Working::default()
    }

    /// One that keeps every step.
    #[must_use]
    pub fn kept() -> Self {
        Working { lines: Some(Vec::new()), sketch: None }
    }

    /// The steps so far.
    #[must_use]
    pub fn lines(&self) -> &[Line] {
        self.lines.as_deref().unwrap_or_default()
    }

    /// The steps so far, out of it; it goes on as before.
    pub fn take(&mut self) -> Vec<Line> {
        self.lines.as_mut().map(std::mem::take).unwrap_or_default()
    }

    /// Puts the steps so far behind those before them; gives a copy of the steps so far.
    pub fn put_behind(&mut self, mut before: Vec<Line>) -> Vec<Line> {
        let Some(lines) = &mut self.lines else { return Vec::new() };
        let own = lines.clone();
        before.append(lines);
        *lines = before;
        own
    }

    /// Adds steps of a computation that was made before, those that are not there yet.
    pub fn recall(&mut self, known: &[Line]) {
        if let Some(lines) = self.lines.as_mut().filter(|_| !known.is_empty()) {
            let there: HashSet<&Line> = lines.iter().collect();
            let new: Vec<Line> = known.iter().filter(|line| !there.contains(line)).cloned().collect();
            lines.extend(new);
        }
    }

    /// The picture, out of it.
    pub fn take_sketch(&mut self) -> Option<Sketch> {
        self.sketch.take()
    }

    /// Keeps a picture; `draw` runs only when steps are kept.
    pub(super) fn sketch(&mut self, draw: impl FnOnce() -> Sketch) {
        if self.lines.is_some() {
            self.sketch = Some(draw());
        }
    }

    /// Adds a step; `figures` runs only when steps are kept.
    pub(super) fn line(
        &mut self,
        source: &'static str,
        what: &'static str,
        formula: &'static str,
        figures: impl FnOnce() -> String,
    ) {
        if let Some(lines) = &mut self.lines {
            lines.push(Line { what, formula, figures: figures(), source });
        }
    }
}
