//! Number lines: ranges drawn above one scale, the metric figures below it and the imperial ones below those. Positions are
//! rounded for the drawing; the figures beside it are exact.

use std::fmt::Write as _;

use crate::quantity::{Number, Quantity, Range, Unit};

/// The width of a drawing.
const WIDTH: f64 = 320.0;
/// Room at both sides for the figures of the outermost marks.
const SIDE: f64 = 26.0;
/// The height of a bar with the gap below it.
const BAR: f64 = 12.0;
/// About how many marks a scale has.
const MARKS: f64 = 5.0;
/// From how many times its lower end on a scale is drawn in powers of ten.
const FAR: f64 = 40.0;

/// A scale from a value to another one.
#[derive(Clone, Copy, Debug)]
struct Scale {
    from: f64,
    to: f64,
    in_powers: bool,
}

impl Scale {
    fn at(self, value: f64) -> f64 {
        let place = |value: f64| if self.in_powers { value.ln() } else { value };
        let share = (place(value) - place(self.from)) / (place(self.to) - place(self.from));
        SIDE + share.clamp(0.0, 1.0) * (WIDTH - 2.0 * SIDE)
    }

    /// Round figures on it.
    fn marks(self) -> Vec<f64> {
        if self.in_powers {
            let mut marks = Vec::new();
            let mut power = 10_f64.powf(self.from.log10().floor());
            while power <= self.to && marks.len() < 12 {
                marks.extend([power].into_iter().filter(|mark| *mark >= self.from));
                power *= 10.0;
            }
            return marks;
        }
        let rough = (self.to - self.from) / MARKS;
        let power = 10_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|times| times * power).find(|step| *step >= rough);
        let step = step.unwrap_or(rough);
        let mut mark = (self.from / step).ceil() * step;
        let mut marks = Vec::new();
        while mark <= self.to + step * 1e-9 && marks.len() < 12 {
            marks.push(mark);
            mark += step;
        }
        marks
    }
}

/// A figure of a mark, without digits that the drawing does not have.
fn figure(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.replace('-', "−") }
}

/// Ranges of one kind, each with its number, above one scale in `unit`, with a second scale in `other`. Nothing where there is no picture in it: no
/// range with two ends that differ.
#[must_use]
pub fn drawing(
    bars: &[(usize, &Range)],
    unit: &'static Unit,
    other: Option<&'static Unit>,
    title: &str,
) -> Option<String> {
    let ranges: Vec<&Range> = bars.iter().map(|(_, range)| *range).collect();
    let value = |quantity: &Quantity| quantity.in_unit(unit).magnitude().to_f64();
    let ends = |range: &Range| {
        (range.low().map(|low| value(&low.value)), range.high().map(|high| value(&high.value)))
    };
    let is_wide = |range: &&&Range| matches!(ends(range), (Some(low), Some(high)) if high > low);
    ranges.iter().find(is_wide)?;
    let all: Vec<f64> = ranges.iter().flat_map(|range| <[_; 2]>::from(ends(range))).flatten().collect();
    let (least, greatest) =
        all.iter().fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(*one), high.max(*one)));
    if !(greatest - least).is_finite() || greatest <= least {
        return None;
    }
    let in_powers = ranges.len() > 1 && least > 0.0 && greatest / least > FAR;
    let scale = match in_powers {
        true => Scale { from: least / 1.3, to: greatest * 1.3, in_powers },
        false => {
            let room = (greatest - least) * if ranges.len() > 1 { 0.08 } else { 0.5 };
            let from = least - room;
            Scale { from: if least >= 0.0 { from.max(0.0) } else { from }, to: greatest + room, in_powers }
        }
    };
    let axis = 8.0 + BAR * f64::from(u32::try_from(ranges.len()).unwrap_or(u32::MAX));
    let height = axis + if other.is_some() { 44.0 } else { 20.0 };
    let mut out =
        format!("<svg class=\"line\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-label=\"{title}\">");
    for (row, (number, range)) in (0_u32..).zip(bars) {
        let top = 4.0 + BAR * f64::from(row);
        if bars.len() > 1 {
            let _ = write!(out, "<text class=\"number\" x=\"0\" y=\"{:.1}\">{number}</text>", top + 7.5);
        }
        let (low, high) = ends(range);
        let (from, to) = (scale.at(low.unwrap_or(scale.from)), scale.at(high.unwrap_or(scale.to)));
        let _ = write!(
            out,
            "<rect class=\"bar\" x=\"{from:.1}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"8\" rx=\"1.5\"/>",
            (to - from).max(1.5)
        );
        if let Some(nominal) = range.nominal() {
            let at = scale.at(value(nominal));
            let _ = write!(out, "<path class=\"nominal\" d=\"M{at:.1} {:.1}v12\"/>", top - 2.0);
        }
    }
    let _ = write!(out, "<path class=\"axis\" d=\"M{SIDE} {axis}H{}\"/>", WIDTH - SIDE);
    marks(&mut out, scale, axis, 15.0, unit.symbol);
    if let Some(other) = other {
        let turned = |value: f64| {
            let times = Number::from(1_000_000_i64);
            // The ends of a scale are no figures that anybody keeps to.
            let value =
                Number::ratio((value * 1e6).round() as i128, 1).and_then(|number| number.checked_div(&times));
            value.map_or(0.0, |number| Quantity::new(number, unit).in_unit(other).magnitude().to_f64())
        };
        let second = Scale { from: turned(scale.from), to: turned(scale.to), in_powers };
        marks(&mut out, second, axis, 36.0, other.symbol);
    }
    out.push_str("</svg>");
    Some(out)
}

/// The marks of a scale below the axis, each with its figure; the last one with the unit.
fn marks(out: &mut String, scale: Scale, axis: f64, below: f64, unit: &str) {
    let marks = scale.marks();
    for mark in &marks {
        let at = scale.at(*mark);
        let _ = write!(out, "<path class=\"axis\" d=\"M{at:.1} {:.1}v4\"/>", axis + below - 15.0);
        let _ = write!(out, "<text x=\"{at:.1}\" y=\"{:.1}\">{}</text>", axis + below, figure(*mark));
    }
    let _ = write!(out, "<text class=\"unit\" x=\"{WIDTH}\" y=\"{:.1}\">{unit}</text>", axis + below);
}
