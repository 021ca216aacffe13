//! A value is read alike in a record and in a rule: over a grid of spellings both accept the same
//! texts, and what they accept means the same.

use witnessmark::language::ast::{Expr, ExprKind, RangeForm};
use witnessmark::language::parse_expression;
use witnessmark::quantity::{Limit, Quantity, Range, UNITS};
use witnessmark::source::Sources;

/// What a text is read as: a value or a range, by what it amounts to and as it is shown.
fn meant(value: &Quantity) -> String {
    format!("{} = {:?} of {:?}", value, value.base(), value.kind())
}

fn meant_range(range: &Range) -> String {
    let end =
        |limit: Option<&Limit>| limit.map(|limit| format!("{} {}", meant(&limit.value), limit.inclusive));
    format!("{range}: {:?} to {:?}", end(range.low()), end(range.high()))
}

fn in_record(text: &str) -> Result<String, String> {
    match Quantity::parse(text, None) {
        Ok(value) => Ok(meant(&value)),
        Err(fault) => Range::parse(text, None).map(|range| meant_range(&range)).map_err(|_| fault.message),
    }
}

fn in_rule(text: &str) -> Result<String, String> {
    let source = Sources::new().add("t", text);
    let read = parse_expression(source, text, 0).map_err(|mistake| mistake.message)?;
    match &read.kind {
        ExprKind::Range(form) => ranged(form).map(|range| meant_range(&range)),
        _ => value(&read).map(|value| meant(&value)),
    }
}

/// A literal. A number without a unit is none: in a rule it is a count, in a record it lacks its unit.
fn value(written: &Expr) -> Result<Quantity, String> {
    match &written.kind {
        ExprKind::Quantity(quantity) => Ok(quantity.clone()),
        other => Err(format!("{other:?} is no quantity")),
    }
}

fn ranged(form: &RangeForm<Expr>) -> Result<Range, String> {
    let made = match form {
        RangeForm::Between(low, high) => Range::between(value(low)?, value(high)?),
        RangeForm::PlusMinus(nominal, part) => Range::plus_minus(value(nominal)?, value(part)?),
        RangeForm::PlusAndMinus(nominal, plus, minus) => {
            Range::plus_and_minus(value(nominal)?, value(plus)?, value(minus)?)
        }
        RangeForm::AtLeast(limit) => Range::at_least(value(limit)?),
        RangeForm::AtMost(limit) => Range::at_most(value(limit)?),
        RangeForm::Above(limit) => Range::above(value(limit)?),
        RangeForm::Below(limit) => Range::below(value(limit)?),
    };
    made.map_err(|fault| fault.message)
}

fn differences(texts: impl IntoIterator<Item = String>) -> (usize, Vec<String>) {
    let (mut accepted, mut differing) = (0, Vec::new());
    for text in texts {
        let (record, rule) = (in_record(&text), in_rule(&text));
        match (&record, &rule) {
            (Ok(one), Ok(other)) if one == other => accepted += 1,
            (Err(_), Err(_)) => {}
            _ => differing.push(format!("`{text}`\n  record: {record:?}\n  rule:   {rule:?}")),
        }
    }
    (accepted, differing)
}

/// Units as people write them, and what only looks like one.
fn spellings() -> Vec<String> {
    let known = UNITS.iter().flat_map(|unit| unit.spellings.iter().map(|text| (*text).to_owned()));
    let others = [
        "qt",
        "fl oz",
        "kg m",
        "1/min",
        "nm",
        "NM",
        "rad",
        "mil",
        "Nmm",
        "foo",
        "US",
        "bar(x)",
        "bar (x)",
        "N m m",
        "Nm Nm",
        "Nm/s",
        "Nm-",
        "m/2",
        "in in",
        "℃",
        "º\u{43}",
        "N⋅m",
        "N×m",
        "N–m",
        "k\u{2126}",
        "US\u{a0}fl  oz",
        "bar\u{a0}(g)",
        "newton  metre",
        "K\tabsolute",
        "1/\u{212a}",
        "",
        "%%",
        "″″",
        "\"",
    ];
    known.chain(others.map(str::to_owned)).collect()
}

const FIGURES: [&str; 24] = [
    "45",
    "0.5",
    "+5",
    "+ 5",
    "-5",
    "−5",
    "–5",
    "- 5",
    "1e3",
    "2.5E-1",
    "12,5",
    "12 500",
    "12'500",
    ".5",
    "5.",
    "1/4",
    "-1/4",
    "1/0",
    "1 1/4",
    "007",
    "Δ9",
    "Δ 9",
    "\u{2206}9",
    "1e31",
];

#[test]
fn single_values_are_read_alike_in_records_and_rules() {
    let texts = spellings().into_iter().flat_map(|unit| {
        FIGURES.into_iter().flat_map(move |figure| {
            let unit = unit.clone();
            ["", " ", "\u{a0}", "\t "].into_iter().map(move |gap| format!("{figure}{gap}{unit}"))
        })
    });
    let (accepted, differing) = differences(texts);
    assert_eq!(differing, Vec::<String>::new());
    assert!(accepted > 15_000, "{accepted}");
}

#[test]
fn ranges_are_read_alike_in_records_and_rules() {
    const FORMS: [&str; 42] = [
        "40 U .. 50 U",
        "40 .. 50 U",
        "40..50U",
        "40 U..50 U",
        "40 U .. 50",
        "50 U .. 40 U",
        "-5 .. +5 U",
        "–5 .. 5 U",
        "−5 U .. −2 U",
        "1/4 U .. 1/2 U",
        "1/4 .. 1/2 U",
        "45 U ± 10 %",
        "45 U ±10%",
        "45 ± 10 %",
        "45 U ± 3 U",
        "45 ± 3 U",
        "45 U ± 3",
        "45 U +/- 3 U",
        "45 U +/− 3 U",
        "45 U +/– 3 U",
        "45 U +- 3 U",
        "45 U +5/-3 U",
        "45 U +5/−3 U",
        "45 U +5/–3 U",
        "45 U +5 / -3 U",
        "45 U + 5/- 3 U",
        "45 +5/-3 U",
        "45 U +5 U/-3 U",
        "45 U +15/-5 %",
        "45 U +15 %/-5 %",
        "45 U +15%/-5%",
        "45 U +5/-0 U",
        "45 U +0/-0 U",
        "45 U -5/+3 U",
        "45 U + 5",
        "at least 45 U",
        "at  most\u{a0}45 U",
        "above -5 U",
        "below +5 U",
        "40 – 50 U",
        "40–50 U",
        "45 U ± Δ3 U",
    ];
    let texts =
        spellings().into_iter().flat_map(|unit| FORMS.into_iter().map(move |form| form.replace('U', &unit)));
    let (accepted, differing) = differences(texts);
    assert_eq!(differing, Vec::<String>::new());
    assert!(accepted > 5_000, "{accepted}");
}
