//! Values and ranges: what is read reads back as the same, and what a message offers to write can be read.

use std::cmp::Ordering;

use jiff::tz::TimeZone;
use witnessmark::diagnostic::Fault;
use witnessmark::quantity::{KINDS, Kind, KindName, Number, Quantity, Range};
use witnessmark::time;

use super::check::plain_words;

/// The kind that the first byte asks for, and the text behind it.
fn expected(data: &[u8]) -> Option<(Option<Kind>, &str)> {
    let (first, text) = data.split_first()?;
    let kind = KINDS.get(usize::from(*first) % (KINDS.len() + 1)).map(|row| row.name.into());
    Some((kind, std::str::from_utf8(text).ok()?))
}

/// Texts, each with the byte of the kind that it is of, and with that of none.
pub fn seeds(texts: &[&str]) -> Vec<Vec<u8>> {
    let number = |kind: Kind| KINDS.iter().position(|row| Kind::from(row.name) == kind);
    let seed = |kind: usize, text: &str| {
        let mut seed = vec![u8::try_from(kind).unwrap_or(u8::MAX)];
        seed.extend_from_slice(text.as_bytes());
        seed
    };
    let mut seeds = Vec::new();
    for text in texts {
        seeds.push(seed(KINDS.len(), text));
        let kind = Quantity::parse(text, None).map(|read| read.kind());
        let kind = kind.or_else(|_| Range::parse(text, None).map(|read| read.kind()));
        seeds.extend(kind.ok().and_then(number).map(|kind| seed(kind, text)));
    }
    seeds
}

pub const VALUES: &[&str] = &[
    "45 Nm",
    "45,5 Nm",
    "1 234.5 Nm",
    "12.500 km",
    "-5 °C",
    "−5 °F",
    "Δ5 °C",
    "1e3 Pa",
    "0.125 L",
    "90°",
    "10 %",
    "33 lbf·ft",
    "3.5 bar",
    "2026-03-02",
    "2026-03-02T08:15:30.5+01:00",
    "2026-03-02 08:15",
    "1/2 in",
    "12'500 km",
    "0",
    "5 kgf·m",
    "2.4 l",
    "14 d",
    "1.5 h",
    "300 ml",
    "75 cSt",
    "61.000 km",
];

pub const RANGES: &[&str] = &[
    "40 Nm .. 50 Nm",
    "40 .. 50 Nm",
    "45 Nm ± 10 %",
    "45 Nm +/- 3 Nm",
    "45 Nm +5/-0 Nm",
    "at least 2 s",
    "at most 2 s",
    "above 0 L",
    "below 5 L",
    "35 °C .. 45 °C",
    "38 °C ± 5 K",
    "9 Nm ± 10%",
    "40-50 Nm",
    "40 to 50 Nm",
    "≥ 5 mm",
    "0.5 L +0.1/-0.2 L",
    "2 bar .. 3 bar",
    "1,5 .. 2,5 bar",
    "100 °F .. 110 °F",
    "10 % .. 20 %",
];

/// What a fault says, and that what it offers to write can be read.
fn fault(fault: &Fault, reads: impl Fn(&str) -> bool) {
    plain_words(&fault.message);
    if let Some(help) = &fault.help {
        plain_words(help);
    }
    if let Some(meant) = &fault.meant {
        assert!(reads(meant), "`{meant}` is offered and cannot be read: {fault:?}");
    }
}

/// Whether a figure is shown with all its digits, so that it reads back as exactly itself: up to twelve are.
fn is_shown_whole(text: &str) -> bool {
    let digits = text.chars().filter(char::is_ascii_digit).count();
    digits <= 12 && !text.contains(['e', 'E', '/', '\u{2044}'])
}

/// Whether a figure has an exponent that no reader takes: of products and of numbers with very many digits.
fn is_out_of_proportion(shown: &str) -> bool {
    shown.split('e').skip(1).any(|exponent| {
        let digits: String =
            exponent.trim_start_matches('-').chars().take_while(char::is_ascii_digit).collect();
        digits.parse().is_ok_and(|exponent: u32| exponent > 30)
    })
}

pub fn value(data: &[u8]) {
    let Some((kind, text)) = expected(data) else { return };
    match Number::parse(text) {
        Ok(number) => {
            let shown = number.to_string();
            if !is_out_of_proportion(&shown) {
                let again = Number::parse(&shown).expect("a number that was read can be read again");
                assert_eq!(again.to_string(), shown, "{text:?}");
                assert!(number == again || !is_shown_whole(text), "{text:?} is shown as {shown}");
            }
        }
        Err(wrong) => fault(&wrong, |meant| Number::parse(meant).is_ok()),
    }
    match Quantity::parse(text, kind) {
        Ok(quantity) => {
            let (shown, own) = (quantity.to_string(), quantity.kind());
            assert!(kind.is_none_or(|kind| own == kind), "{text:?} as {kind:?}");
            // A difference in degrees is shown as `5 °C`, which alone is a temperature.
            if own == Kind::from(KindName::TemperatureDifference) || is_out_of_proportion(&shown) {
                return;
            }
            let again =
                Quantity::parse(&shown, Some(own)).unwrap_or_else(|wrong| panic!("{shown}: {wrong:?}"));
            assert_eq!(again.to_string(), shown, "{text:?}");
            let same = quantity.compare(&again) == Ordering::Equal;
            assert!(same || !is_shown_whole(text), "{text:?} is shown as {shown}");
        }
        Err(wrong) => fault(&wrong, |meant| Quantity::parse(meant, kind).is_ok()),
    }
    match time::day(text) {
        Ok(day) => assert_eq!(time::day(&day.to_string()).expect("a day"), day),
        Err(wrong) => fault(&wrong, |_| true),
    }
    match time::moment(text) {
        Ok(moment) => drop(time::instant(&moment, &TimeZone::UTC)),
        Err(wrong) => fault(&wrong, |meant| time::moment(meant).is_ok()),
    }
}

pub fn range(data: &[u8]) {
    let Some((kind, text)) = expected(data) else { return };
    let range = match Range::parse(text, kind) {
        Ok(range) => range,
        Err(wrong) => return fault(&wrong, |meant| Range::parse(meant, kind).is_ok()),
    };
    let shown = range.to_string();
    if is_out_of_proportion(&shown) {
        return;
    }
    let again = Range::parse(&shown, kind).unwrap_or_else(|wrong| panic!("{shown}: {wrong:?}"));
    assert_eq!(again.to_string(), shown, "{text:?}");
    // Tolerances in Δ°F are shown in K, where they can have digits without end.
    let whole = is_shown_whole(&text.replace("/-", " -")) && !text.contains(['F', 'f']);
    assert!(range.has_limits_of(&again) || !whole, "{text:?} is shown as {shown}");
    assert!(range.lies_within(&range), "{text:?}");
    for limit in [range.low(), range.high()].into_iter().flatten() {
        assert_eq!(range.contains(&limit.value), limit.inclusive, "{text:?} at {}", limit.value);
        assert_eq!(range.margin(&limit.value).is_met(), limit.inclusive, "{text:?} at {}", limit.value);
    }
    if let (Some(low), Some(high)) = (range.low(), range.high()) {
        assert_ne!(low.value.compare(&high.value), Ordering::Greater, "{text:?}");
    }
}
