//! Ranges in another notation, or without a unit, as they would be written here: what messages offer.

use super::kind::Kind;
use super::literal::Literal;
use super::numeral::scan;
use super::quantity::joined;
use super::range::Range;
use super::range_text::{examples, one_sided, two_parts, unit_text};
use super::unit::Unit;

/// Words and signs before a value that make it the one limit of a range; longer ones first.
const BEFORE: &[(&str, &str)] = &[
    ("not less than", "at least"),
    ("no less than", "at least"),
    ("minimum", "at least"),
    ("min.", "at least"),
    ("min", "at least"),
    ("mindestens", "at least"),
    ("at least", "at least"),
    (">=", "at least"),
    ("≥", "at least"),
    ("not more than", "at most"),
    ("no more than", "at most"),
    ("maximum", "at most"),
    ("max.", "at most"),
    ("max", "at most"),
    ("höchstens", "at most"),
    ("up to", "at most"),
    ("at most", "at most"),
    ("<=", "at most"),
    ("=<", "at most"),
    ("≤", "at most"),
    ("more than", "above"),
    ("greater than", "above"),
    (">", "above"),
    ("less than", "below"),
    ("<", "below"),
];

/// The same behind a value.
const BEHIND: &[(&str, &str)] = &[
    (" minimum", "at least"),
    (" min.", "at least"),
    (" min", "at least"),
    (" or more", "at least"),
    (" and above", "at least"),
    (" upwards", "at least"),
    (" maximum", "at most"),
    (" max.", "at most"),
    (" max", "at most"),
    (" or less", "at most"),
    (" and below", "at most"),
];

/// What stands between two figures in the place of our sign.
const BETWEEN: &[(&str, &str)] = &[
    ("+-", "±"),
    ("-+", "±"),
    ("plus/minus", "±"),
    ("plus minus", "±"),
    ("tolerance", "±"),
    ("tol.", "±"),
    ("tol", "±"),
    (" to ", ".."),
    (" bis ", ".."),
    ("...", ".."),
    ("…", ".."),
    ("–", ".."),
    ("−", ".."),
    ("—", ".."),
    ("‒", ".."),
    ("-", ".."),
];

/// The text with the sign of a range where another one, or a word, stands between its two figures.
pub(super) fn with_usual_sign(text: &str) -> Option<String> {
    BETWEEN.iter().find_map(|(written, meant)| {
        let (low, high) = text.split_once(written)?;
        begin_with_figures(low, high).then(|| format!("{} {meant} {}", low.trim(), high.trim()))
    })
}

fn begin_with_figures(low: &str, high: &str) -> bool {
    [low, high].iter().all(|part| part.trim_start().starts_with(|c: char| c.is_ascii_digit()))
}

/// The text in our form, where it is written in another one; not yet read.
pub(super) fn in_usual_form(text: &str) -> Option<String> {
    let text = text.trim();
    let forms = [with_usual_sign, between_words, two_limits, limit, in_brackets];
    forms.iter().find_map(|form| form(text))
}

/// `(40 .. 50) Nm`, `[40, 50] Nm`.
fn in_brackets(text: &str) -> Option<String> {
    let (inner, unit) = text.strip_prefix(['(', '['])?.split_once([')', ']'])?;
    let (low, high) = ["..", ",", ";"].iter().find_map(|sign| inner.split_once(sign))?;
    begin_with_figures(low, high).then(|| format!("{} .. {} {}", low.trim(), high.trim(), unit.trim()))
}

/// `from 40 to 50 Nm`, `between 40 and 50 Nm`.
fn between_words(text: &str) -> Option<String> {
    let (first, rest) = text.split_once(char::is_whitespace)?;
    match first {
        "from" | "von" => with_usual_sign(rest.trim_start()),
        "between" | "zwischen" => {
            let (low, high) = [" and ", " und "].iter().find_map(|word| rest.split_once(word))?;
            begin_with_figures(low, high).then(|| format!("{} .. {}", low.trim(), high.trim()))
        }
        _ => None,
    }
}

/// `>= 40 Nm and <= 50 Nm`, `40 Nm ≤ x ≤ 50 Nm`.
fn two_limits(text: &str) -> Option<String> {
    for sign in ["<=", "≤"] {
        if let Some((low, (_, high))) =
            text.split_once(sign).and_then(|(low, rest)| Some((low, rest.split_once(sign)?)))
            && begin_with_figures(low, high)
        {
            return Some(format!("{} .. {}", low.trim(), high.trim()));
        }
    }
    let (one, other) = [" and ", "&&", ",", ";"].iter().find_map(|word| text.split_once(word))?;
    match (limit_of(one.trim())?, limit_of(other.trim())?) {
        (("at least", low), ("at most", high)) | (("at most", high), ("at least", low)) => {
            Some(format!("{low} .. {high}"))
        }
        _ => None,
    }
}

/// `>= 40 Nm`, `40 Nm min.`.
fn limit(text: &str) -> Option<String> {
    limit_of(text).map(|(words, value)| format!("{words} {value}"))
}

fn limit_of(text: &str) -> Option<(&'static str, &str)> {
    let figure = |text: &str| text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '–'));
    let before = |(written, ours): &(&str, &'static str)| {
        let value = text.strip_prefix(written)?.trim_start();
        figure(value).then_some((*ours, value))
    };
    let behind = |(written, ours): &(&str, &'static str)| {
        let value = text.strip_suffix(written)?.trim_end();
        figure(value).then_some((*ours, value))
    };
    BEFORE.iter().find_map(before).or_else(|| BEHIND.iter().find_map(behind))
}

/// What is wrong with a range that lacks a unit, and what to write: with the unit that stands in it, or else with a usual
/// one as an example.
pub(super) fn without_unit(text: &str, expected: Option<Kind>) -> Option<(Option<String>, String)> {
    let own = units_of(text).into_iter().find(|unit| !matches!(*unit, "" | "%"));
    let usual = expected.map_or_else(|| Unit::find("Nm").ok(), Unit::first);
    let unit = own.or_else(|| usual.map(|unit| unit.symbol))?;
    let offers: Vec<String> = completed(text, unit)
        .into_iter()
        .filter(|offer| Range::read(offer, expected).is_ok())
        .map(|offer| format!("`{offer}`"))
        .collect();
    match (own, offers.as_slice()) {
        (_, []) => None,
        (Some(_), offers) => Some((None, format!("write {}", offers.join(" or ")))),
        (None, [first, ..]) => {
            let bare = units_of(text).iter().all(|unit| unit.is_empty());
            let message = bare.then(|| format!("`{text}` has no unit"));
            Some((message, format!("write it with the unit that was meant, such as {first}")))
        }
    }
}

/// A range of plain numbers with a unit of this kind, as an example.
#[must_use]
pub fn with_unit_of(text: &str, kind: Kind) -> Option<String> {
    let unit = Unit::first(kind)?;
    completed(text, unit.symbol).into_iter().find(|offer| Range::read(offer, Some(kind)).is_ok())
}

/// The units behind the figures of a range, empty where there is none.
fn units_of(text: &str) -> Vec<&str> {
    parts(text).into_iter().map(unit_text).collect()
}

fn parts(text: &str) -> Vec<&str> {
    if let Some((_, limit)) = one_sided(text) {
        return vec![limit];
    }
    let signs = ["..", "±", "+/-", "+/−", "+/–"];
    if let Some((low, high)) = signs.iter().find_map(|sign| text.split_once(sign)) {
        return vec![low, high];
    }
    two_parts(text).map_or(vec![text], |(nominal, plus, minus)| vec![nominal, plus, minus])
}

/// The range with a unit wherever one is missing: each way in which that can be meant.
fn completed(text: &str, unit: &str) -> Vec<String> {
    let with = |part: &str, unit: &str| {
        let part = part.trim();
        if scan(part).is_some_and(|(_, rest)| rest.trim().is_empty()) {
            joined(part.to_owned(), unit)
        } else {
            part.to_owned()
        }
    };
    let difference = Unit::find(unit).map_or(String::new(), |unit| unit.difference_name().to_owned());
    match parts(text).as_slice() {
        [limit] => {
            let words = text.strip_suffix(limit).unwrap_or_default();
            vec![format!("{words}{}", with(limit, unit))]
        }
        [low, high] if text.contains("..") => vec![format!("{} .. {}", low.trim(), with(high, unit))],
        [nominal, tolerance] => {
            let nominal = with(nominal, unit);
            let ways = [&*difference, "%"].map(|unit| format!("{nominal} ± {}", with(tolerance, unit)));
            let [first, second] = ways;
            if first == second { vec![first] } else { vec![first, second] }
        }
        [nominal, plus, minus] => {
            let nominal = with(nominal, unit);
            [&*difference, "%"].map(|unit| format!("{nominal} +{plus}/-{}", with(minus, unit))).into()
        }
        _ => Vec::new(),
    }
}

/// How a range is written with the figures of a text that is none; as an example where it has none.
pub(super) fn written_like(text: &str, expected: Option<Kind>) -> String {
    let figures = figures(text);
    let forms: Vec<String> = match figures.as_slice() {
        [one] => around(&with_usual_unit(one, expected)),
        [low, high] => vec![format!("{low} .. {high}"), format!("{high} .. {low}")],
        _ => Vec::new(),
    };
    let forms: Vec<String> = forms
        .into_iter()
        .filter(|form| Range::read(form, expected).is_ok())
        .map(|form| format!("`{form}`"))
        .collect();
    match (figures.as_slice(), forms.as_slice()) {
        ([_], [_, ..]) => format!("give a tolerance, one limit or both, such as {}", forms.join(", ")),
        (_, [first, ..]) => format!("write {first} if that was meant"),
        _ => examples(expected),
    }
}

/// Ranges that can be made of one value.
fn around(value: &str) -> Vec<String> {
    let unit = Unit::find(unit_text(value)).map_or("", Unit::difference_name);
    vec![
        format!("{value} ± 10 %"),
        format!("{value} ± 5 {unit}"),
        format!("at least {value}"),
        format!("at most {value}"),
    ]
}

fn with_usual_unit(figure: &str, expected: Option<Kind>) -> String {
    let bare = scan(figure).is_some_and(|(_, rest)| rest.is_empty());
    let unit = expected.and_then(Unit::first).filter(|_| bare);
    unit.map_or_else(|| figure.to_owned(), |unit| format!("{figure} {}", unit.symbol))
}

/// What to write where the sign of a tolerance stands alone before or behind a value.
pub(super) fn half(text: &str, expected: Option<Kind>) -> Option<String> {
    let parts = parts(text);
    let [nominal, tolerance] = parts.as_slice() else { return None };
    let unit = expected.map_or_else(|| Unit::find("Nm").ok(), Unit::first)?.symbol;
    let (nominal, tolerance) = (nominal.trim(), tolerance.trim());
    let example = match (nominal, tolerance) {
        ("", "") => return None,
        ("", tolerance) if !text.contains("..") => format!("45 {unit} ± {tolerance}"),
        (nominal, "") if !text.contains("..") => format!("{nominal} ± 10 %"),
        ("", limit) => return Some(format!("write `at most {limit}`")),
        (limit, "") => return Some(format!("write `at least {limit}`")),
        _ => return None,
    };
    Range::read(&example, expected)
        .is_ok()
        .then(|| format!("a tolerance is written behind its value, such as `{example}`"))
}

/// The values in a text, with the units behind them; no more than three.
fn figures(text: &str) -> Vec<&str> {
    const MOST: usize = 3;
    let mut found = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()).filter(|_| found.len() < MOST) {
        let from = rest.get(at..).unwrap_or_default();
        let bare = || scan(from).map_or(from.len(), |(_, behind)| from.len() - behind.len());
        let length = Literal::at_head(from).map_or_else(bare, |literal| literal.end);
        let Some((value, behind)) = from.split_at_checked(length.max(1)) else { break };
        // `40/50 Nm` is written for two values, and would be read as a fraction of one.
        if scan(value).is_some_and(|(_, unit)| unit.starts_with(['/', '\u{2044}'])) {
            return Vec::new();
        }
        found.push(value);
        rest = behind;
    }
    found
}
