//! The layout of each clause.

use std::ops::Range;

use crate::language::layout::atoms::{Atom, Kind};
use crate::language::layout::expressions::{Printer, STEP};
use crate::language::layout::writer::{MOST_COLUMNS, Writer};
use crate::language::pieces::{ClauseKind, ClauseWord, ItemWord};

/// Where the text of a clause of a rule begins.
const IN_RULE: usize = 12;
/// Where the text of a clause in the head of a standard begins.
const IN_STANDARD: usize = 9;
/// How wide the outcome of a trial is.
const OUTCOME: usize = "undecided ".len();
/// Values of a let by cases that are longer have their conditions in no column.
const LONGEST_IN_COLUMN: usize = 40;
/// A value that needs several lines and would begin further to the right begins below its name.
const FARTHEST_VALUE: usize = 50;

/// Writes a clause at the head of a line.
pub(super) fn write(atoms: &[Atom<'_>], item: ItemWord, kind: ClauseKind, keys: usize, writer: &mut Writer) {
    let indent = indent_of(item, kind);
    let mut printer = Printer::new(atoms, writer, indent + 2 * STEP);
    match (item, kind) {
        (ItemWord::Let, _) => printer.named_value(indent, None),
        (ItemWord::Parameter, _) => printer.parameter(),
        (ItemWord::Table, ClauseKind::Row) => printer.row(keys),
        (ItemWord::Given, _) => printer.trial(indent, 2),
        (_, ClauseKind::Clause(word)) => printer.clause(item, word, indent),
        _ => printer.flat(0..atoms.len()),
    }
}

/// Where the head of a clause begins.
pub(super) fn indent_of(item: ItemWord, kind: ClauseKind) -> usize {
    let is_below = matches!(item, ItemWord::Rule | ItemWord::Table) && kind != ClauseKind::Head;
    if is_below { STEP } else { 0 }
}

/// How wide the keys of a row are; nothing where they are written over several lines.
pub(super) fn width_of_keys(atoms: &[Atom<'_>]) -> usize {
    let mut writer = Writer::new(0);
    let printer = Printer::new(atoms, &mut writer, 0);
    let colon = printer.first(&(0..atoms.len()), |atom| atom.kind == Kind::Colon).unwrap_or_default();
    if printer.is_on_one_line(&(0..colon)) { printer.width(&(0..colon)) } else { 0 }
}

impl Printer<'_, '_> {
    fn all_atoms(&self) -> Range<usize> {
        0..self.atoms.len()
    }

    /// Writes the head word of a clause and goes to the column of its text.
    fn head(&mut self, column: usize) {
        self.put(0);
        self.writer.at_column(column);
    }

    fn clause(&mut self, item: ItemWord, word: ClauseWord, indent: usize) {
        let column = if item == ItemWord::Standard { IN_STANDARD } else { IN_RULE };
        match word {
            ClauseWord::Let => self.named_value(indent, Some(column)),
            ClauseWord::Trial => self.trial(indent, 1),
            ClauseWord::IfUnrecorded => self.flat(self.all_atoms()),
            ClauseWord::Concerns => self.concerns(column),
            ClauseWord::Replaces => self.list(column),
            ClauseWord::Demands => self.demands(column),
            _ => {
                self.head(column);
                self.expression(1..self.atoms.len(), column + STEP, 0);
            }
        }
    }

    fn demands(&mut self, column: usize) {
        self.head(column);
        let all = 1..self.atoms.len();
        let by = self.first(&all, |atom| atom.is("by")).unwrap_or(all.end);
        let decision = by..all.end;
        self.expression(1..by, column + STEP, self.width(&decision));
        if !self.fits(&decision, 0) {
            self.break_before(by, column + STEP);
        }
        self.flat(decision);
    }

    /// `replaces`: as many names on a line as fit.
    fn list(&mut self, column: usize) {
        self.head(column);
        let all = 1..self.atoms.len();
        let commas = self.all(&all, |atom| atom.kind == Kind::Comma);
        let mut start = 1;
        for end in commas.into_iter().map(|comma| comma + 1).chain([all.end]) {
            if start > 1 && !self.fits(&(start..end), 0) {
                self.break_before(start, column);
            }
            self.flat(start..end);
            start = end;
        }
    }

    /// The subjects on one line, or each on lines of its own.
    fn concerns(&mut self, column: usize) {
        self.head(column);
        let all = 1..self.atoms.len();
        if self.fits(&all, 0) {
            return self.flat(all);
        }
        let each: Vec<usize> = self.all(&all, |atom| atom.is("each")).into_iter().skip(1).collect();
        let mut start = all.start;
        for end in each.into_iter().chain([all.end]) {
            if start > all.start {
                self.break_before(start, column);
            }
            self.subject(start..end, column + STEP);
            start = end;
        }
    }

    /// `each x in LIST where CONDITION by KEYS, COUNT`.
    fn subject(&mut self, range: Range<usize>, indent: usize) {
        if self.fits(&range, 0) {
            return self.flat(range);
        }
        let Some(condition) = self.first(&range, |atom| atom.is("where")) else {
            return self.ends_of_subject(range, indent);
        };
        let ends = |atom: &Atom<'_>| atom.is("by") || atom.kind == Kind::Comma;
        let end = self.first(&(condition..range.end), ends).unwrap_or(range.end);
        self.flat(range.start..condition);
        if condition > range.start {
            self.break_before(condition, indent);
        }
        self.put(condition);
        let tail = usize::from(end < range.end);
        self.expression(condition + 1..end, indent + STEP, tail);
        self.ends_of_subject(end..range.end, indent);
    }

    /// The keys and the number of subjects, each on a line of its own where they do not fit.
    fn ends_of_subject(&mut self, range: Range<usize>, indent: usize) {
        let begins = |atom: &Atom<'_>| atom.is("by") || atom.is("at") || atom.is("exactly");
        let mut start = range.start;
        for end in self.all(&range, begins).into_iter().chain([range.end]) {
            if self.atom(start).is_some_and(begins) && !self.fits(&(start..end), 0) {
                self.break_before(start, indent);
            }
            self.flat(start..end);
            start = end;
        }
    }

    /// A let, of a rule where it has a column.
    fn named_value(&mut self, indent: usize, column: Option<usize>) {
        match column {
            Some(column) => self.head(column),
            None => self.put(0),
        }
        let all = self.all_atoms();
        let signs = self.all(&all, |atom| atom.kind == Kind::Equals);
        let Some(first) = signs.first().copied() else { return self.flat(1..all.end) };
        let below = column.unwrap_or(indent) + STEP;
        self.flat(1..first);
        let cases = self.cases(&signs);
        let is_of_each = self.first(&(1..first), |atom| atom.is("of")).is_some();
        if !cases.is_empty() {
            return self.by_cases(&cases, is_of_each, below);
        }
        let column = self.writer.column() + usize::from(!self.writer.is_placed());
        let is_far = column > FARTHEST_VALUE;
        if !self.fits(&(first..all.end), 0) && (is_of_each || is_far) {
            self.break_before(first, below);
        }
        let column = self.writer.column() + usize::from(!self.writer.is_placed());
        self.put(first);
        self.value(first + 1..all.end, column + STEP, 0);
    }

    /// The cases of a let, each from its `=` to the next, and where its condition begins; none where it has only a value.
    fn cases(&self, signs: &[usize]) -> Vec<(Range<usize>, usize)> {
        let end = self.atoms.len();
        let last = self.atoms.last().is_some_and(|atom| atom.is("otherwise"));
        if signs.len() < 2 && !last {
            return Vec::new();
        }
        let ends = signs.iter().skip(1).copied().chain([end]);
        signs.iter().zip(ends).map(|(start, end)| (*start..end, self.condition_of(*start..end))).collect()
    }

    /// Where the condition of a case begins. A value that goes through a list can have a `where` of its own.
    fn condition_of(&self, case: Range<usize>) -> usize {
        if let Some(last) =
            case.end.checked_sub(1).filter(|last| self.atom(*last).is_some_and(|a| a.is("otherwise")))
        {
            return last;
        }
        let wheres = self.all(&case, |atom| atom.is("where"));
        let first = wheres.first().copied().unwrap_or(case.end);
        let goes_through = self.first(&(case.start..first), |atom| atom.is("in")).is_some();
        wheres.get(usize::from(goes_through)).copied().unwrap_or(first)
    }

    /// Each case on a line of its own, behind the name where all fit there and below it otherwise.
    fn by_cases(&mut self, cases: &[(Range<usize>, usize)], is_of_each: bool, below: usize) {
        let column = self.writer.column() + usize::from(!self.writer.is_placed());
        let widest = cases.iter().map(|(case, condition)| self.width(&(case.start..*condition)) - 1).max();
        let aligned = widest.filter(|widest| *widest <= LONGEST_IN_COLUMN + STEP);
        let fits = |(case, condition): &(Range<usize>, usize)| {
            let value = aligned.unwrap_or(self.width(&(case.start..*condition)) - 1);
            let whole = column + value + self.width(&(*condition..case.end));
            whole <= MOST_COLUMNS && self.is_on_one_line(case)
        };
        let column = if !is_of_each && cases.iter().all(fits) { column } else { below };
        for (number, (case, condition)) in cases.iter().enumerate() {
            if number > 0 || column == below {
                self.writer.newline(column);
            }
            self.case(case.clone(), *condition, column, aligned);
        }
    }

    fn case(&mut self, case: Range<usize>, condition: usize, column: usize, aligned: Option<usize>) {
        self.put(case.start);
        let is_last = self.atom(condition).is_some_and(|atom| atom.is("otherwise"));
        let tail = if is_last { self.width(&(condition..case.end)) } else { 0 };
        let value = case.start + 1..condition;
        let is_short = self.fits(&value, tail);
        self.value(value, column + STEP, tail);
        match aligned {
            Some(widest) => self.writer.at_column(column + widest + 1),
            None if !(is_last || is_short && self.fits(&(condition..case.end), 0)) => {
                self.break_before(condition, column + 2 * STEP);
            }
            None => {}
        }
        let inner = self.writer.column() + STEP;
        self.flat(condition..(condition + 1).min(case.end));
        let inner = if aligned.is_some() { inner } else { column + 3 * STEP };
        self.expression((condition + 1).min(case.end)..case.end, inner, 0);
    }

    /// The title, the field and the default of a parameter each on a line of its own.
    fn parameter(&mut self) {
        let all = self.all_atoms();
        let title = self.first(&all, |atom| atom.kind == Kind::Text).unwrap_or(all.end);
        self.flat(0..title);
        let rest = title..all.end;
        let default = self.first(&rest, |atom| atom.kind == Kind::Equals).unwrap_or(rest.end);
        let from = self.first(&(title..default), |atom| atom.is("from")).unwrap_or(default);
        for part in [title..from, from..default] {
            if !part.is_empty() {
                self.writer.newline(STEP);
            }
            self.flat(part);
        }
        if default < rest.end {
            self.writer.newline(STEP);
            self.expression(default..rest.end, 2 * STEP, 0);
        }
    }

    /// A row of a table, whose colon is in the column of all.
    fn row(&mut self, keys: usize) {
        let all = self.all_atoms();
        let Some(colon) = self.first(&all, |atom| atom.kind == Kind::Colon) else { return self.flat(all) };
        self.flat(0..colon);
        self.writer.at_column(STEP + keys + 1);
        self.put(colon);
        self.expression(colon + 1..all.end, 2 * STEP, 0);
    }

    /// A trial on one line; else its record on the next, or each entry on a line of its own. Of a record that trials share,
    /// the opening bracket stays behind its name.
    fn trial(&mut self, indent: usize, words: usize) {
        let all = self.all_atoms();
        let is_trial = words == 1;
        self.put(0);
        let mut start = 1;
        if is_trial {
            start = if self.atom(1).is_some_and(|atom| atom.is("not")) { 3 } else { 2 };
            self.flat(1..start.min(all.end));
            self.writer.at_column(indent + "trial ".len() + OUTCOME);
        }
        let start = start.min(all.end);
        if self.fits(&(start..all.end), 0) {
            return self.flat(start..all.end);
        }
        let record = all.end.checked_sub(1).filter(|last| {
            *last >= start
                && self.atom(*last).is_some_and(|atom| atom.kind == Kind::Record)
                && !self.is_part(*last)
        });
        self.differences(start..record.unwrap_or(all.end), indent + 2 * STEP);
        if let Some(record) = record {
            self.record(record, indent, is_trial);
        }
    }

    /// Whether a record is the value of a change.
    fn is_part(&self, at: usize) -> bool {
        at.checked_sub(1).and_then(|before| self.atom(before)).is_some_and(|atom| atom.kind == Kind::Equals)
    }

    /// What differs from another record: as much on a line as fits. A change is never broken, because its value is
    /// written into the record.
    fn differences(&mut self, range: Range<usize>, indent: usize) {
        let begins = |at: &usize| {
            let is_limit = |word: &Atom<'_>| word.is("least") || word.is("most");
            self.atom(*at).is_some_and(|atom| match &*atom.text {
                "at" => !self.atom(at + 1).is_some_and(is_limit),
                word => atom.kind == Kind::Word && matches!(word, "from" | "with" | "without" | "on"),
            }) || self.atom(at - 1).is_some_and(|atom| atom.kind == Kind::Comma)
        };
        let parts: Vec<usize> = (range.start + 1..range.end).filter(begins).collect();
        let mut start = range.start;
        for end in parts.into_iter().chain([range.end]) {
            if start > range.start && !self.fits(&(start..end), 0) {
                self.break_before(start, indent);
            }
            self.flat(start..end);
            start = end;
        }
    }

    fn record(&mut self, at: usize, indent: usize, is_trial: bool) {
        let Some(atom) = self.atom(at) else { return };
        let Some(record) = &atom.record else { return };
        let whole = indent + STEP + atom.width() <= MOST_COLUMNS;
        match record.line() {
            Some(_) if is_trial && whole => {
                self.writer.newline(indent + STEP);
                self.put(at);
            }
            _ if atom.begins_line() => self.put(at),
            _ => record.write(self.writer, indent, false),
        }
    }
}
