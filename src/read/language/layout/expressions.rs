//! Expressions over several lines: broken where what binds loosest is joined, `where` and what is said of each entry on
//! lines of their own, long lists filled.

use std::ops::Range;

use crate::language::layout::atoms::{Atom, Kind};
use crate::language::layout::writer::{MOST_COLUMNS, Writer};
use crate::language::pieces::begins_something;

/// The words that join conditions, the loosest first.
const JOINING: [&str; 3] = ["implies", "or", "and"];
/// The words that begin a comparison.
const COMPARING: [&str; 7] = ["is", "within", "above", "below", "at", "before", "after"];
/// How far a part goes to the right of what it is a part of.
pub(super) const STEP: usize = 2;
/// A bracket that is opened further to the right than this has its lines nearer to the margin.
const FAR: usize = 70;

/// Where the lines begin on which an expression goes on.
#[derive(Clone, Copy, Debug)]
struct Indents {
    /// Those of `and`, `or` and `implies`.
    joined: usize,
    /// Those of `where` and of what is said of each entry.
    inner: usize,
}

impl Indents {
    fn both(indent: usize) -> Self {
        Indents { joined: indent, inner: indent }
    }
}

/// A clause that is being written.
pub(super) struct Printer<'a, 't> {
    pub(super) atoms: &'a [Atom<'t>],
    pub(super) writer: &'a mut Writer,
    /// Where a line begins that a comment made necessary.
    indent: usize,
    /// The columns up to each atom, were all on one line.
    widths: Vec<usize>,
    /// How many atoms up to each begin a line.
    lines: Vec<usize>,
    /// For each opening bracket where it closes.
    closes: Vec<usize>,
}

impl<'a, 't> Printer<'a, 't> {
    pub(super) fn new(atoms: &'a [Atom<'t>], writer: &'a mut Writer, indent: usize) -> Self {
        let (mut widths, mut lines) = (vec![0], vec![0]);
        let (mut width, mut breaks) = (0, 0);
        for atom in atoms {
            // What needs several lines fits nowhere.
            width += if atom.is_tall() { MOST_COLUMNS } else { atom.width() } + usize::from(!atom.glued);
            breaks += usize::from(atom.begins_line());
            widths.push(width);
            lines.push(breaks);
        }
        Printer { atoms, writer, indent, widths, lines, closes: closes(atoms) }
    }

    pub(super) fn atom(&self, at: usize) -> Option<&'a Atom<'t>> {
        self.atoms.get(at)
    }

    /// The columns of some atoms on one line, with the blank before the first.
    pub(super) fn width(&self, range: &Range<usize>) -> usize {
        let up_to = |at: usize| self.widths.get(at).copied().unwrap_or_default();
        up_to(range.end).saturating_sub(up_to(range.start))
    }

    /// Whether nothing but the first of them must begin a line.
    pub(super) fn is_on_one_line(&self, range: &Range<usize>) -> bool {
        let up_to = |at: usize| self.lines.get(at).copied().unwrap_or_default();
        range.is_empty() || up_to(range.end) == up_to(range.start + 1)
    }

    /// Whether they fit into the rest of the line, with so many columns behind them.
    pub(super) fn fits(&self, range: &Range<usize>, tail: usize) -> bool {
        let begins = self.atom(range.start).is_some_and(Atom::begins_line);
        let column = if begins { self.indent } else { self.writer.column() };
        let blank = usize::from(begins || self.writer.is_placed());
        let width = self.width(range) - blank.min(self.width(range));
        self.is_on_one_line(range) && column + width + tail <= MOST_COLUMNS
    }

    /// Writes some atoms without breaking a line.
    pub(super) fn flat(&mut self, range: Range<usize>) {
        for at in range {
            self.put(at);
        }
    }

    /// Writes an atom with the comments before it.
    pub(super) fn put(&mut self, at: usize) {
        let Some(atom) = self.atom(at) else { return };
        for comment in &atom.before {
            if comment.own_line {
                self.writer.newline(self.indent);
                self.writer.put(comment.text, true);
            } else {
                self.writer.trail(comment.text);
            }
        }
        if atom.begins_line() {
            self.writer.newline(self.indent);
        }
        self.writer.put(&atom.text, atom.glued);
    }

    /// Begins a line, unless what comes next would be read as the head of something there.
    pub(super) fn break_before(&mut self, at: usize, indent: usize) {
        if self.atom(at).is_some_and(can_begin_line) {
            self.writer.newline(indent);
        }
    }

    /// Writes an expression; its further lines begin at `indent`, and `tail` columns come behind it.
    pub(super) fn expression(&mut self, range: Range<usize>, indent: usize, tail: usize) {
        self.write(range, Indents::both(indent), tail);
    }

    /// Writes the value of a name, which begins at `column`.
    pub(super) fn value(&mut self, range: Range<usize>, column: usize, tail: usize) {
        self.write(range, Indents { joined: column, inner: column + STEP }, tail);
    }

    fn write(&mut self, range: Range<usize>, indents: Indents, tail: usize) {
        if self.fits(&range, tail) {
            return self.flat(range);
        }
        let outer = std::mem::replace(&mut self.indent, indents.joined);
        // Nothing that can be read begins with such a word.
        let range = match self.atom(range.start).filter(|atom| JOINING.iter().any(|word| atom.is(word))) {
            Some(_) => {
                self.put(range.start);
                range.start + 1..range.end
            }
            None => range,
        };
        let opened = self.first(&range, |atom| atom.is("where") || atom.kind == Kind::Colon);
        let joined = range.start..opened.unwrap_or(range.end);
        let joints = JOINING.iter().map(|word| self.all(&joined, |atom| atom.is(word)));
        if let Some(joints) = joints.into_iter().find(|joints| !joints.is_empty()) {
            self.joined(range, &joints, indents, tail);
        } else if let Some(opened) = opened {
            self.opened(range, opened, indents, tail);
        } else {
            self.compared(range, indents, tail);
        }
        self.indent = outer;
    }

    /// Conditions that are joined: as many on a line as fit.
    fn joined(&mut self, range: Range<usize>, joints: &[usize], indents: Indents, tail: usize) {
        let ends = joints.iter().copied().chain([range.end]);
        let mut start = range.start;
        let mut is_short = true;
        for end in ends {
            let part = start..end;
            let tail = if end == range.end { tail } else { 0 };
            if start == range.start {
                is_short = self.fits(&part, tail);
                self.write(part, Indents::both(indents.joined + STEP), tail);
            } else if is_short && self.fits(&part, tail) {
                self.flat(part);
            } else {
                self.break_before(start, indents.joined);
                is_short = self.fits(&part, tail);
                self.put(start);
                self.write(start + 1..end, Indents::both(indents.joined + STEP), tail);
            }
            start = end;
        }
    }

    /// What is said of the entries of a list, or of some of them.
    fn opened(&mut self, range: Range<usize>, opened: usize, indents: Indents, tail: usize) {
        let colon = self.first(&range, |atom| atom.kind == Kind::Colon);
        let head = range.start..colon.map_or(range.end, |colon| colon + 1);
        let is_condition = self.atom(opened).is_some_and(|atom| atom.is("where"));
        if colon.is_some() && self.fits(&head, 0) || !is_condition {
            self.flat(head.clone());
        } else {
            self.flat(range.start..opened);
            self.break_before(opened, indents.inner);
            self.put(opened);
            let (condition, tail) =
                (opened + 1..colon.unwrap_or(range.end), if colon.is_some() { 1 } else { tail });
            self.write(condition, Indents::both(indents.inner + STEP), tail);
            self.flat(colon.map_or(range.end..range.end, |colon| colon..colon + 1));
        }
        if let Some(colon) = colon.filter(|colon| colon + 1 < range.end) {
            self.break_before(colon + 1, indents.inner);
            self.write(colon + 1..range.end, Indents::both(indents.inner + STEP), tail);
        }
    }

    /// A comparison, or a single value: broken before the comparison, if its right side is no list.
    fn compared(&mut self, range: Range<usize>, indents: Indents, tail: usize) {
        let compared = |atom: &Atom<'_>| COMPARING.iter().any(|word| atom.is(word));
        let at = self.first(&range, compared).filter(|at| {
            let opened = self.all(&(*at..range.end), |atom| atom.kind == Kind::Open);
            *at > range.start && !opened.into_iter().any(|open| self.is_list(open))
        });
        match at {
            Some(at) => {
                self.values(range.start..at, 0);
                self.break_before(at, indents.joined);
                self.values(at..range.end, tail);
            }
            None => self.values(range, tail),
        }
    }

    /// Atoms on the line, with the brackets that do not fit broken.
    fn values(&mut self, range: Range<usize>, tail: usize) {
        let mut at = range.start;
        while at < range.end {
            let close = self.closes.get(at).copied().filter(|close| *close > at && *close < range.end);
            let Some(close) = close else {
                self.put(at);
                at += 1;
                continue;
            };
            let later = self.first(&(close + 1..range.end), |atom| atom.kind == Kind::Open);
            let behind = self.width(&(close + 1..later.unwrap_or(range.end)));
            let behind = behind + if later.is_some() { 1 } else { tail };
            if self.fits(&(at..close + 1), behind) {
                self.flat(at..close + 1);
            } else {
                self.bracket(at, close, behind);
            }
            at = close + 1;
        }
    }

    /// What is in brackets over several lines.
    fn bracket(&mut self, open: usize, close: usize, behind: usize) {
        self.put(open);
        let column = self.writer.column();
        let column = if column > FAR { self.indent + STEP } else { column };
        let outer = std::mem::replace(&mut self.indent, column);
        let commas = self.all(&(open + 1..close), |atom| atom.kind == Kind::Comma);
        let mut start = open + 1;
        for end in commas.into_iter().map(|comma| comma + 1).chain([close]) {
            let tail = if end == close { behind + 1 } else { 0 };
            if start > open + 1 && !self.fits(&(start..end), tail) {
                self.break_before(start, column);
            }
            self.write(start..end, Indents { joined: column, inner: column + STEP }, tail);
            start = end;
        }
        self.put(close);
        self.indent = outer;
    }

    /// Whether a bracket holds several values.
    fn is_list(&self, open: usize) -> bool {
        let close = self.closes.get(open).copied().unwrap_or_default();
        self.first(&(open + 1..close), |atom| atom.kind == Kind::Comma).is_some()
    }

    /// The first atom outside of brackets for which this holds.
    pub(super) fn first(&self, range: &Range<usize>, holds: impl Fn(&Atom<'t>) -> bool) -> Option<usize> {
        let mut at = range.start;
        while at < range.end {
            if self.atom(at).is_some_and(&holds) {
                return Some(at);
            }
            at = self.closes.get(at).copied().unwrap_or_default().max(at) + 1;
        }
        None
    }

    /// All such atoms.
    pub(super) fn all(&self, range: &Range<usize>, holds: impl Fn(&Atom<'t>) -> bool) -> Vec<usize> {
        let mut found = Vec::new();
        let mut from = range.start;
        while let Some(at) = self.first(&(from..range.end), &holds) {
            found.push(at);
            from = self.closes.get(at).copied().unwrap_or_default().max(at) + 1;
        }
        found
    }
}

/// For each opening bracket the place of the closing one; 0 for all else.
fn closes(atoms: &[Atom<'_>]) -> Vec<usize> {
    let mut closes = vec![0; atoms.len()];
    let mut opened = Vec::new();
    for (at, atom) in atoms.iter().enumerate() {
        match atom.kind {
            Kind::Open => opened.push(at),
            Kind::Close => {
                let open = opened.pop().and_then(|open| closes.get_mut(open));
                open.into_iter().for_each(|open| *open = at);
            }
            _ => {}
        }
    }
    closes
}

/// Whether an atom can be at the head of a line without being read as the beginning of a clause.
fn can_begin_line(atom: &Atom<'_>) -> bool {
    let word = atom.text.split(['.', '[']).next().unwrap_or_default();
    atom.kind != Kind::Word || !begins_something(word)
}
