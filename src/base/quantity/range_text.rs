//! Ranges as they are written.

use crate::code;
use crate::diagnostic::Fault;

use super::kind::{Kind, KindName};
use super::numeral::{certain, scan, shown, split_run};
use super::quantity::Quantity;
use super::range::Range;
use super::range_meant::{half, in_usual_form, without_unit, written_like};
use super::unit::Unit;

impl Range {
    /// Reads a range in any of its forms: `40 Nm .. 50 Nm`, `40 .. 50 Nm`, `45 Nm ± 10 %`,
    /// `45 Nm +/- 3 Nm`, `45 Nm +5/-0 Nm`, `at least 2 s`, `at most 2 s`, `above 0 L`, `below 5 L`.
    /// A value without a unit takes the unit of the one after it.
    ///
    /// # Errors
    /// A text of no such form; whatever is wrong with its quantities ([`Quantity::parse`]) or with the
    /// range they make.
    pub fn parse(text: &str, expected: Option<Kind>) -> Result<Range, Fault> {
        let text = text.trim();
        Range::read(text, expected).map_err(|fault| {
            let usual = in_usual_form(text);
            let both = usual.as_deref().and_then(with_certain_numbers);
            let offers = [with_certain_numbers(text), usual, both].into_iter().flatten();
            // What was meant by a part is no answer for the whole.
            let meant = offers.into_iter().find(|text| Range::read(text, expected).is_ok());
            explained(text, expected, fault, meant.as_deref()).meant(meant)
        })
    }

    /// The same, with the faults of its parts.
    pub(super) fn read(text: &str, expected: Option<Kind>) -> Result<Range, Fault> {
        if let Some((make, limit)) = one_sided(text) {
            return make(Quantity::parse(limit, expected)?);
        }
        if let Some((low, high)) = text.split_once("..") {
            let low = Quantity::parse(&with_unit(low, unit_text(high)), expected)?;
            return Range::between(low, Quantity::parse(high, expected)?);
        }
        if let Some((nominal, tolerance)) =
            ["±", "+/-", "+/−", "+/–"].iter().find_map(|sign| text.split_once(sign))
        {
            let nominal = Quantity::parse(&nominal_text(nominal, tolerance), expected)?;
            let tolerance = part(tolerance, &nominal)?;
            return Range::plus_minus(nominal, tolerance);
        }
        if let Some((nominal, plus, minus)) = two_parts(text) {
            let nominal = Quantity::parse(&nominal_text(nominal, minus), expected)?;
            let plus = part(&with_unit(plus, unit_text(minus)), &nominal)?;
            let minus = part(minus, &nominal)?;
            return Range::plus_and_minus(nominal, plus, minus);
        }
        Err(no_range(text))
    }
}

/// What is wrong with the whole of a text that is no range, and what to write: what was meant, where that is certain.
fn explained(text: &str, expected: Option<Kind>, fault: Fault, meant: Option<&str>) -> Fault {
    if let Some(meant) = meant.filter(|_| fault.code != code::NUMBER_FORM) {
        return no_range(text).help(format!("write `{meant}`"));
    }
    match fault.code {
        code::RANGE_FORM => fault.help(written_like(text, expected)),
        code::UNIT_MISSING => match without_unit(text, expected) {
            Some((message, help)) => {
                let message = message.unwrap_or_else(|| fault.message.clone());
                Fault::new(fault.code, message).help(help)
            }
            None => fault,
        },
        code::QUANTITY_FORM => match half(text, expected) {
            Some(help) => no_range(text).help(help),
            None => fault,
        },
        // Behind the first value of `above 40 Nm and below 50 Nm` stands another one.
        code::UNIT_UNKNOWN if one_sided(text).is_some() && text.contains(" and ") => {
            no_range(text).help(written_like(text, expected))
        }
        code::RANGE_INVERTED => match ends_exchanged(text, expected) {
            Some(text) => fault.help(format!("write `{text}`")),
            None => fault.help("write the lower end first"),
        },
        _ => fault,
    }
}

fn no_range(text: &str) -> Fault {
    Fault::new(code::RANGE_FORM, format!("`{}` is not a range", shown(text)))
}

/// The text with every number that is refused written as it can only be meant; nothing where a number
/// is in doubt or all of them can be read.
fn with_certain_numbers(text: &str) -> Option<String> {
    let (mut whole, mut rest, mut changed) = (String::with_capacity(text.len()), text, false);
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, from) = rest.split_at_checked(at)?;
        let (run, after) = split_run(from);
        // Two points belong to the range and not to the number before them.
        let run = run.split_once("..").map_or(run, |(run, _)| run);
        let after = from.strip_prefix(run).unwrap_or(after);
        whole.push_str(before);
        if scan(run).is_some_and(|(_, rest)| rest.is_empty()) {
            whole.push_str(run);
        } else {
            whole.push_str(&certain(run)?);
            changed = true;
        }
        rest = after;
    }
    whole.push_str(rest);
    changed.then_some(whole)
}

/// How a range of a kind is written.
pub(super) fn examples(expected: Option<Kind>) -> String {
    let unit = match expected {
        None => Unit::find("Nm").ok(),
        Some(kind) => Unit::first(kind),
    };
    let symbol = unit.map_or(String::new(), |unit| format!(" {}", unit.symbol));
    let part = unit.map_or(String::new(), |unit| format!(" {}", unit.difference_name()));
    let forms = [
        format!("40{symbol} .. 50{symbol}"),
        format!("45{symbol} ± 10 %"),
        format!("45{symbol} +5/-0{part}"),
        format!("at least 40{symbol}"),
    ];
    let forms: Vec<String> = forms
        .into_iter()
        .filter(|form| Range::read(form, expected).is_ok())
        .map(|form| format!("`{form}`"))
        .collect();
    format!("write it like {}", forms.join(", "))
}

/// A range that begins above its end, the other way round.
fn ends_exchanged(text: &str, expected: Option<Kind>) -> Option<String> {
    let (low, high) = text.split_once("..")?;
    let text = format!("{} .. {}", high.trim(), with_unit(low, unit_text(high)));
    Range::read(&text, expected).is_ok().then_some(text)
}

pub(super) type Make = fn(Quantity) -> Result<Range, Fault>;

/// Cuts `at least 40 Nm` behind its words.
pub(super) fn one_sided(text: &str) -> Option<(Make, &str)> {
    match text.split_once(char::is_whitespace)? {
        ("above", limit) => Some((Range::above, limit)),
        ("below", limit) => Some((Range::below, limit)),
        ("at", rest) => match rest.trim_start().split_once(char::is_whitespace)? {
            ("least", limit) => Some((Range::at_least, limit)),
            ("most", limit) => Some((Range::at_most, limit)),
            _ => None,
        },
        _ => None,
    }
}

/// Cuts `45 Nm +5/-0 Nm` at its two signs.
pub(super) fn two_parts(text: &str) -> Option<(&str, &str, &str)> {
    text.match_indices('/').find_map(|(at, _)| {
        let minus = text.get(at + 1..)?.trim_start().strip_prefix(['-', '−', '–'])?;
        let (nominal, plus) = text.get(..at)?.rsplit_once('+')?;
        Some((nominal.trim(), plus.trim(), minus.trim()))
    })
}

/// What follows the number in `text`.
pub(super) fn unit_text(text: &str) -> &str {
    scan(text.trim()).map_or("", |(_, rest)| rest.trim())
}

fn is_percentage(text: &str) -> bool {
    Unit::find(unit_text(text)).is_ok_and(|unit| unit.kind == KindName::Ratio)
}

/// `text` with `unit` where it has none of its own.
fn with_unit(text: &str, unit: &str) -> String {
    let text = text.trim();
    let bare = scan(text).is_some_and(|(_, rest)| rest.is_empty());
    if bare && !unit.is_empty() { format!("{text} {unit}") } else { text.to_owned() }
}

/// A nominal value with the unit of its tolerance where it has none of its own and that lends one.
fn nominal_text(nominal: &str, tolerance: &str) -> String {
    let unit = unit_text(tolerance);
    with_unit(nominal, if Unit::find(unit).is_ok_and(Unit::lends_to_nominal) { unit } else { "" })
}

/// One part of a tolerance: a percentage, or a distance of the kind that the nominal value needs.
fn part(text: &str, nominal: &Quantity) -> Result<Quantity, Fault> {
    let expected = (!is_percentage(text)).then(|| nominal.kind().difference_kind());
    Quantity::parse(text, expected)
}
