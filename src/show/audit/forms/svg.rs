//! Charts as SVG without scripts. What they look like is in the style of the page, so that they follow its colours, light and dark.
//!
//! Positions are rounded for the drawing; the figures are in the table behind each chart.

use std::fmt::Write as _;

use crate::audit::page::{Drawing, FEWEST, LineKind, figure};
use crate::report::text::shown;
use crate::statistics::proportion::{Share, wilson};

/// The width of a drawing.
const WIDTH: f64 = 760.0;
/// Room at the left for figures, and at the right for what lines across are.
const LEFT: f64 = 52.0;
const RIGHT: f64 = 150.0;
/// The height of the field of a chart over time.
const FIELD: f64 = 190.0;
/// The height of a row of a chart of shares.
const ROW: f64 = 20.0;
/// Room for the names of the rows.
const NAMES: f64 = 200.0;
/// So many names stand below an axis of time.
const MOST_NAMES: usize = 8;
/// So many letters of a name are drawn.
const LETTERS: usize = 30;

/// A chart.
pub(super) fn drawn(drawing: &Drawing) -> String {
    match drawing {
        Drawing::Shares(shares) => of_shares(shares),
        Drawing::Months { months } => of_months(months),
        Drawing::Course { names, values, marked, lines, unit } => course(names, values, marked, lines, unit),
    }
}

fn begin(height: f64) -> String {
    // The title stands beside it, and the figures in the table below.
    format!("<svg viewBox=\"0 0 {WIDTH} {height:.0}\" aria-hidden=\"true\">")
}

/// A text that can be part of the page.
fn safe(text: &str) -> String {
    let text = shown(text);
    let is_long = text.chars().count() > LETTERS;
    let mut out = String::new();
    for c in text.chars().take(if is_long { LETTERS - 1 } else { LETTERS }) {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            other => out.push(other),
        }
    }
    if is_long {
        out.push('…');
    }
    out
}

// Writing to a string cannot fail, so its answers are left alone below.
fn line(out: &mut String, class: &str, [x1, y1, x2, y2]: [f64; 4]) {
    let _ =
        write!(out, "<line class=\"{class}\" x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\"/>");
}

fn label(out: &mut String, class: &str, (x, y): (f64, f64), text: &str) {
    let _ = write!(out, "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\">{}</text>", safe(text));
}

fn dot(out: &mut String, class: &str, (x, y): (f64, f64), radius: f64) {
    let _ = write!(out, "<circle class=\"{class}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius}\"/>");
}

/// A point among few and among many.
const POINT: f64 = 3.4;
const SMALL_POINT: f64 = 2.2;
/// So many points touch each other.
const MANY: usize = 90;

/// What stands out is told from other points by its form too.
fn diamond(out: &mut String, (x, y): (f64, f64)) {
    let _ = write!(out, "<path class=\"out\" d=\"M{x:.1} {:.1}l6 6l-6 6l-6 -6z\"/>", y - 6.0);
}

fn place(number: usize, of: usize, from: f64, to: f64) -> f64 {
    let share = if of > 1 { number as f64 / (of - 1) as f64 } else { 0.5 };
    from + share * (to - from)
}

/// Names below an axis of time, so many of them that they do not touch.
fn names_below<'n>(
    out: &mut String,
    names: impl ExactSizeIterator<Item = &'n str>,
    y: f64,
    at: &dyn Fn(usize) -> f64,
) {
    let step = names.len().div_ceil(MOST_NAMES).max(1);
    for (number, name) in names.enumerate().step_by(step) {
        line(out, "axis", [at(number), y, at(number), y + 4.0]);
        label(out, "middle", (at(number), y + 17.0), name);
    }
}

fn of_shares(shares: &[(String, Share)]) -> String {
    let (from, to) = (NAMES, WIDTH - 40.0);
    let at = |share: f64| from + share * (to - from);
    let foot = 8.0 + ROW * shares.len() as f64;
    let mut out = begin(foot + 24.0);
    for mark in [0.0, 0.25, 0.5, 0.75, 1.0] {
        line(&mut out, "grid", [at(mark), 4.0, at(mark), foot]);
        label(&mut out, "middle", (at(mark), foot + 16.0), &format!("{:.0} %", mark * 100.0));
    }
    for (number, (name, share)) in shares.iter().enumerate() {
        let y = 8.0 + ROW * (number as f64 + 0.5);
        label(&mut out, "end", (from - 12.0, y + 4.0), name);
        if let (Some(value), Some(interval)) = (share.value(), wilson(*share)) {
            line(&mut out, "range", [at(interval.low), y, at(interval.high), y]);
            dot(&mut out, "dot", (at(value), y), POINT);
        }
    }
    out.push_str("</svg>");
    out
}

fn of_months(months: &[(String, Option<Share>)]) -> String {
    let (from, to) = (LEFT, WIDTH - 20.0);
    let inner = (to - from) / (2.0 * months.len().max(1) as f64);
    let at = |number: usize| place(number, months.len(), from + inner, to - inner);
    let height = |share: f64| 10.0 + (1.0 - share) * FIELD;
    let foot = height(0.0);
    let mut out = begin(foot + 28.0);
    for mark in [0.0, 0.25, 0.5, 0.75, 1.0] {
        line(&mut out, "grid", [from, height(mark), to, height(mark)]);
        label(&mut out, "end", (from - 8.0, height(mark) + 4.0), &format!("{:.0} %", mark * 100.0));
    }
    for (number, (_, share)) in months.iter().enumerate() {
        let Some(share) = share else { continue };
        let (Some(value), Some(interval)) = (share.value(), wilson(*share)) else { continue };
        if share.of >= FEWEST {
            line(&mut out, "range", [at(number), height(interval.low), at(number), height(interval.high)]);
        }
        dot(&mut out, if share.of >= FEWEST { "dot" } else { "few" }, (at(number), height(value)), POINT);
    }
    names_below(&mut out, months.iter().map(|(name, _)| name.as_str()), foot, &at);
    out.push_str("</svg>");
    out
}

fn course(
    names: &[String],
    values: &[f64],
    marked: &[usize],
    lines: &[(&'static str, f64, LineKind)],
    unit: &str,
) -> String {
    let all = values.iter().copied().chain(lines.iter().map(|(_, at, _)| *at));
    let (least, greatest) = all.fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(one), high.max(one)));
    let room = ((greatest - least) * 0.06).max(f64::MIN_POSITIVE);
    let (bottom, top) = (least - room, greatest + room);
    let (from, to) = (LEFT, WIDTH - RIGHT);
    let at = |number: usize| place(number, values.len(), from + 8.0, to - 8.0);
    let height = |value: f64| 10.0 + (top - value) / (top - bottom) * FIELD;
    let foot = 10.0 + FIELD;
    let mut out = begin(foot + 30.0);
    line(&mut out, "axis", [from, 10.0, from, foot]);
    line(&mut out, "axis", [from, foot, to, foot]);
    let (marks, decimals) = marks(bottom, top);
    for mark in marks {
        line(&mut out, "grid", [from, height(mark), to, height(mark)]);
        label(&mut out, "end", (from - 8.0, height(mark) + 4.0), &figure(mark, decimals));
    }
    let mut told: Vec<(f64, String)> = Vec::new();
    for (name, value, kind) in lines {
        let class = match kind {
            LineKind::Limit => "limit",
            LineKind::Control => "control",
            LineKind::Mean => "mean",
        };
        line(&mut out, class, [from, height(*value), to, height(*value)]);
        told.push((height(*value), format!("{} {name}", figure(*value, decimals + 1))));
    }
    // Of lines that are close to each other the names still stand below each other.
    told.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    let mut before = f64::MIN;
    for (y, name) in told {
        let y = (y + 4.0).max(before + 12.0);
        before = y;
        label(&mut out, "", (to + 8.0, y), &name);
    }
    let points: Vec<String> = values
        .iter()
        .enumerate()
        .map(|(number, value)| format!("{:.1},{:.1}", at(number), height(*value)))
        .collect();
    let _ = write!(out, "<polyline class=\"course\" points=\"{}\"/>", points.join(" "));
    for (number, value) in values.iter().enumerate() {
        let here = (at(number), height(*value));
        match marked.binary_search(&number) {
            Ok(_) => diamond(&mut out, here),
            Err(_) => dot(&mut out, "dot", here, if values.len() > MANY { SMALL_POINT } else { POINT }),
        }
    }
    let days = names.iter().map(|name| name.split(' ').next().unwrap_or_default());
    let ends: Vec<&str> = days.collect();
    if let (Some(first), Some(last)) = (ends.first(), ends.last()) {
        label(&mut out, "", (from, foot + 18.0), first);
        label(&mut out, "end", (to, foot + 18.0), last);
    }
    label(&mut out, "", (to + 8.0, foot + 18.0), unit);
    out.push_str("</svg>");
    out
}

/// Round figures on a scale, and how many decimals they have.
fn marks(from: f64, to: f64) -> (Vec<f64>, usize) {
    let rough = (to - from) / 5.0;
    if !(rough.is_finite() && rough > 0.0) {
        return (Vec::new(), 2);
    }
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|times| times * power).find(|step| *step >= rough);
    let step = step.unwrap_or(rough);
    let decimals = (0..9_i32).find(|places| step * 10_f64.powi(*places) >= 0.999).unwrap_or(9);
    let first = (from / step).ceil();
    let marks = (0..12).map(|number| (first + f64::from(number)) * step).take_while(|mark| *mark <= to);
    (marks.collect(), usize::try_from(decimals).unwrap_or_default())
}
