//! Panes: the few lines of a source that show a place, made safe and cut to the screen.
//!
//! Whatever a record or a rule file holds, a pane is small: marks lie within one line and within
//! the text, lines are no wider than asked for, and marks are few and do not overlap.

use std::ops::Range;

use crate::report::locate::{Located, locate};
use crate::report::text::{put, shown, width};
use crate::source::{Place, Position, Source, Sources, Span};

/// The most marks that one report shows.
pub const MOST_MARKS: usize = 8;

/// Marks whose lines are at most this far apart share a pane.
const NEAR_LINES: usize = 2;

/// A place that is to be shown.
#[derive(Clone, Copy, Debug)]
pub struct Point<'t> {
    /// Where.
    pub place: Place,
    /// What is said of it.
    pub text: &'t str,
    /// How many lines to show before and after it.
    pub context: usize,
}

/// A few lines of one source.
#[derive(Clone, Debug, PartialEq)]
pub struct Pane {
    /// The name of the source, safe to show.
    pub name: String,
    /// The number of the first line, from 1.
    pub first_line: usize,
    /// The lines, each ended by `\n`, safe to show.
    pub text: String,
    /// The marks, in text order.
    pub marks: Vec<Mark>,
}

/// A marked stretch of a pane.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The bytes of the pane's text; empty where something is missing.
    pub bytes: Range<usize>,
    /// The column of the screen at which it begins, from 0.
    pub column: usize,
    /// The columns of the screen that it takes.
    pub columns: usize,
    /// Where it stands in the source.
    pub position: Position,
    /// What is said of it; not yet made safe.
    pub text: String,
}

/// Lays out panes for places, with lines of at most `columns`. Places of unknown sources are left out.
#[must_use]
pub fn panes(sources: &Sources, points: &[Point<'_>], columns: usize) -> Vec<Pane> {
    let mut groups: Vec<Vec<Wanted<'_>>> = Vec::new();
    for point in points.iter().take(MOST_MARKS) {
        let Some(located) = locate(sources, point.place) else { continue };
        gather(&mut groups, Wanted::new(located, point), columns);
    }
    groups.iter().filter_map(|group| draw(group, columns)).collect()
}

/// A place that is to be marked: its source, its line and its bytes within that line.
struct Wanted<'s> {
    place: Place,
    source: &'s Source,
    line: usize,
    position: Position,
    bytes: Range<usize>,
    line_width: usize,
    context: usize,
    text: String,
}

impl<'s> Wanted<'s> {
    /// Only the first line of a place is marked, without the blanks at its end.
    fn new(located: Located<'s>, point: &Point<'_>) -> Self {
        let source = located.source;
        let line = source.lines().line(source.text(), located.start.line);
        let start = line.start.max(located.span.start.min(line.end));
        let end = located.span.end.clamp(start, line.end);
        let kept = Span { start, end }.of(source.text()).trim_end().len();
        let from = (start - line.start) as usize;
        Wanted {
            place: point.place,
            source,
            line: located.start.line,
            position: located.start,
            bytes: from..from + kept,
            line_width: line.len(),
            context: point.context,
            text: point.text.to_owned(),
        }
    }

    fn beside(&self, other: &Wanted<'_>, columns: usize) -> bool {
        if self.place.source != other.place.source || self.line.abs_diff(other.line) > NEAR_LINES {
            return false;
        }
        let apart = self.bytes.end < other.bytes.start || other.bytes.end < self.bytes.start;
        self.line != other.line || (apart && self.line_width <= columns)
    }
}

/// Adds a mark to the group that it can be drawn with, or to a new one. Two marks of the same
/// place become one with both texts.
fn gather<'s>(groups: &mut Vec<Vec<Wanted<'s>>>, wanted: Wanted<'s>, columns: usize) {
    let same = groups.iter_mut().flatten().find(|other| other.place == wanted.place);
    if let Some(same) = same {
        if !wanted.text.is_empty() && same.text != wanted.text {
            let gap = if same.text.is_empty() { "" } else { "; " };
            same.text = format!("{}{gap}{}", same.text, wanted.text);
        }
        return;
    }
    let fits = |group: &&mut Vec<Wanted<'_>>| {
        group.iter().any(|other| other.beside(&wanted, columns))
            && group.iter().all(|other| other.line != wanted.line || other.beside(&wanted, columns))
    };
    match groups.iter_mut().find(fits) {
        Some(group) => group.push(wanted),
        None => groups.push(vec![wanted]),
    }
}

fn draw(group: &[Wanted<'_>], columns: usize) -> Option<Pane> {
    let source = group.first()?.source;
    let top = group.iter().map(|wanted| wanted.line).min()?;
    let last = group.iter().map(|wanted| wanted.line).max()?;
    let context = group.iter().map(|wanted| wanted.context).max()?;
    let first_line = top.saturating_sub(context).max(1);
    let last_line = (last + context).min(source.lines().count());
    let name = shown(source.name()).into_owned();
    let mut pane = Pane { name, first_line, text: String::new(), marks: Vec::new() };
    for line in first_line..=last_line.max(last) {
        let text = source.lines().line(source.text(), line).of(source.text());
        let mut marks: Vec<_> = group.iter().filter(|wanted| wanted.line == line).collect();
        if marks.is_empty() && text.trim().is_empty() && (line == last_line || line == first_line) {
            // An empty line at the edge shows nothing.
            pane.first_line += usize::from(pane.text.is_empty());
            continue;
        }
        marks.sort_by_key(|wanted| wanted.bytes.start);
        draw_line(&mut pane, text, &marks, columns);
    }
    Some(pane)
}

fn draw_line(pane: &mut Pane, text: &str, marks: &[&Wanted<'_>], columns: usize) {
    let focus = marks.first().map_or(0..0, |wanted| wanted.bytes.clone());
    let cut = Cut::new(text, focus, columns);
    let base = pane.text.len();
    pane.text.push_str(&cut.text);
    for wanted in marks {
        let (start, end) = (cut.at(wanted.bytes.start), cut.at(wanted.bytes.end));
        pane.marks.push(Mark {
            bytes: base + start..base + end.max(start),
            column: width(cut.text.get(..start).unwrap_or_default()),
            columns: width(cut.text.get(start..end).unwrap_or_default()),
            position: wanted.position,
            text: wanted.text.clone(),
        });
    }
    pane.text.push('\n');
}

/// The part of a line that is shown.
struct Cut {
    text: String,
    /// Bytes of the line and the bytes of `text` at which they are shown, in order.
    shown_at: Vec<(usize, usize)>,
}

const CUT_MARK: char = '…';

/// What a tab is shown as.
const TAB: &str = "    ";

impl Cut {
    /// Cuts a line so that `focus` begins within the first two thirds of the columns allowed.
    fn new(line: &str, focus: Range<usize>, allowed: usize) -> Self {
        let allowed = allowed.max(8);
        let begin = window_start(line, focus.start, allowed);
        let mut cut = Cut { text: String::new(), shown_at: Vec::new() };
        let mut used = 0;
        if begin > 0 {
            cut.text.push(CUT_MARK);
            used = 1;
        }
        let rest = line.get(begin..).unwrap_or_default();
        for (at, c) in rest.char_indices() {
            let mut piece = String::new();
            // A byte-order mark is no part of the text.
            if !(c == '\u{feff}' && begin + at == 0) {
                put(c, TAB, &mut piece);
            }
            let wide = width(&piece);
            let last = rest.len() == at + c.len_utf8();
            if used + wide + usize::from(!last) > allowed {
                cut.shown_at.push((begin + at, cut.text.len()));
                cut.text.push(CUT_MARK);
                return cut;
            }
            cut.shown_at.push((begin + at, cut.text.len()));
            cut.text.push_str(&piece);
            used += wide;
        }
        cut.shown_at.push((line.len(), cut.text.len()));
        cut
    }

    /// Where a byte of the line is shown; what was cut off is shown at the cut.
    fn at(&self, byte: usize) -> usize {
        let next = self.shown_at.partition_point(|(from, _)| *from < byte);
        self.shown_at.get(next).or(self.shown_at.last()).map_or(0, |(_, to)| *to)
    }
}

/// The byte at which to begin so that `focus` falls within the first two thirds of the columns.
fn window_start(line: &str, focus: usize, allowed: usize) -> usize {
    let before = line.get(..focus).unwrap_or_default();
    let mut room = allowed * 2 / 3;
    let mut begin = focus;
    for (at, c) in before.char_indices().rev() {
        let mut piece = String::new();
        put(c, TAB, &mut piece);
        let wide = width(&piece).max(1);
        if wide > room {
            // Less before the focus than could be, so that more after it is seen.
            return line.floor_char_boundary(begin + (focus - begin) / 2);
        }
        room -= wide;
        begin = at;
    }
    0
}
