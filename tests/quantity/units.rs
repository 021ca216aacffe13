//! The table of units: its spellings, and its codes and factors against an implementation of the
//! Unified Code for Units of Measure that was written by others.

use std::collections::HashMap;

use witnessmark::quantity::{Kind, KindName, Number, Quantity, UNITS, Unit};

use super::{kind, unit};
use crate::support::{number, quantity};

#[test]
fn every_spelling_finds_its_unit_and_no_other() {
    let mut owners = HashMap::new();
    for unit in UNITS {
        assert!(!unit.spellings.is_empty(), "{}", unit.symbol);
        for spelling in unit.spellings {
            assert_eq!(Unit::find(spelling).unwrap(), unit, "{spelling}");
            let earlier = owners.insert(*spelling, unit.symbol);
            assert_eq!(earlier, None, "{spelling} stands in two rows");
        }
    }
    assert!(owners.len() > 300, "{}", owners.len());
}

/// What a report prints can be written in a record; only a difference in °C prints as a temperature.
#[test]
fn every_symbol_reads_back_as_its_unit() {
    for unit in UNITS {
        let twin = unit.kind == KindName::TemperatureDifference && unit.symbol.starts_with('°');
        let point = unit.kind == KindName::Temperature && unit.symbol == "K";
        let expected = Some(unit.kind());
        let printed = Quantity::new(number("450.5"), unit).to_string();
        if twin {
            assert_eq!(Unit::find(unit.symbol).unwrap().kind, KindName::Temperature);
        } else {
            let read =
                Quantity::parse(&printed, expected).unwrap_or_else(|f| panic!("{printed}: {}", f.message));
            assert_eq!(read.unit().unwrap(), unit, "{printed}");
            assert!(point || Unit::find(unit.symbol).unwrap() == unit, "{printed}");
        }
    }
}

#[test]
fn every_row_is_sound() {
    for unit in UNITS {
        assert!(unit.factor > Number::ZERO && unit.offset >= Number::ZERO, "{}", unit.symbol);
        assert!(!unit.source.is_empty(), "{}", unit.symbol);
        let difference = unit.difference();
        assert_eq!(difference.kind(), unit.kind().difference_kind(), "{}", unit.symbol);
        assert_eq!(difference.factor, unit.factor, "{}", unit.symbol);
        assert_eq!(difference.offset, Number::ZERO, "{}", unit.symbol);
        assert_eq!(unit.difference.is_empty(), !unit.kind().is_point(), "{}", unit.symbol);
        assert!(unit.kind == KindName::Temperature || unit.offset.is_zero(), "{}", unit.symbol);
    }
}

/// Every kind in the table but the plain number can be written in some unit.
#[test]
fn every_kind_has_a_unit() {
    for row in witnessmark::quantity::KINDS {
        let has_none = row.name == KindName::Number;
        assert_ne!(UNITS.iter().any(|unit| unit.kind == row.name), has_none, "{}", row.words);
    }
}

/// octofhir-ucum, an independent implementation (tables of UCUM 2.2): each code is valid, has our
/// dimension, and our factor. UCUM counts grams where the SI counts kilograms, coulombs where it
/// counts amperes, and radians, of which no exact number is a turn.
#[test]
fn every_code_agrees_with_an_independent_table() {
    for unit in UNITS {
        let code = unit.ucum;
        octofhir_ucum::validate(code).unwrap_or_else(|error| panic!("{}: {code}: {error}", unit.symbol));
        let theirs = octofhir_ucum::analyse(code).unwrap();
        let [length, mass, time, temperature, current, angle] = unit.kind().dimension().exponents();
        let ours = [length, time - current, mass, angle, temperature, current, 0];
        // A plain temperature code stands for the point and for the difference.
        assert_eq!(theirs.dimension.0, ours, "{code}");
        let grams = (0..mass).fold(Number::ONE, |scale, _| &scale * &number("1000"));
        let scaled = &unit.factor * &grams;
        if angle != 0 {
            let turn = 2.0 * std::f64::consts::PI * scaled.to_f64();
            assert!((theirs.factor.to_f64() / turn - 1.0).abs() < 1e-12, "{code}");
            continue;
        }
        let (digits, exponent) = theirs.factor.to_integer_and_exponent();
        let scale = (0..exponent.abs()).fold(Number::ONE, |scale, _| &scale * &number("10"));
        let digits = Number::ratio(digits, 1).unwrap();
        let theirs_factor = if exponent < 0 { digits.checked_div(&scale).unwrap() } else { &digits * &scale };
        // They keep 28 digits of a factor that is no finite decimal.
        let off = (&theirs_factor - &scaled).abs();
        assert!(off <= &scaled * &number("1e-25"), "{code}: {theirs_factor} and {scaled}");
    }
}

#[test]
fn the_zero_of_each_scale_agrees_with_an_independent_table() {
    for name in ["°C", "°F"] {
        let theirs = octofhir_ucum::analyse(unit(name).ucum).unwrap();
        assert!((theirs.offset.to_f64() - unit(name).offset.to_f64()).abs() < 1e-12, "{name}");
    }
}

#[test]
fn a_value_survives_the_way_to_any_other_unit_and_back() {
    let mut random = fastrand::Rng::with_seed(2);
    for _ in 0..20_000 {
        let from = &UNITS[random.usize(..UNITS.len())];
        let to = &UNITS[random.usize(..UNITS.len())];
        if from.kind != to.kind {
            continue;
        }
        let figure =
            Number::ratio(random.i64(-1_000_000..1_000_000).into(), random.i64(1..10_000).into()).unwrap();
        let there = Quantity::new(figure.clone(), from).in_unit(to);
        assert_eq!(*there.in_unit(from).magnitude(), figure, "{} by way of {}", from.symbol, to.symbol);
        assert_eq!(there.compare(&Quantity::new(figure, from)), std::cmp::Ordering::Equal);
    }
}

#[test]
fn look_alike_characters_are_the_usual_ones() {
    for (written, usual) in [
        ("38 ℃", "38 °C"),
        ("38 º\u{43}", "38 °C"),
        ("38 ˚C", "38 °C"),
        ("100 ℉", "100 °F"),
        ("12 \u{3bc}m", "12 µm"),
        ("12 \u{b5}m", "12 µm"),
        ("5 k\u{2126}", "5 kΩ"),
        ("5 \u{212a}", "5 K"),
        ("45 N⋅m", "45 Nm"),
        ("45 N∙m", "45 Nm"),
        ("45\u{a0}Nm", "45 Nm"),
        ("45\u{202f}N·m", "45 Nm"),
        ("5 US\u{a0}qt", "5 US qt"),
        ("5 US  qt", "5 US qt"),
        ("5 US\tqt", "5 US qt"),
        ("5 m∕s", "5 m/s"),
        ("−5 °C", "-5 °C"),
        ("4.3L", "4.3 L"),
        ("  45 Nm  ", "45 Nm"),
        ("45 ft‑lb", "45 lbf·ft"),
    ] {
        assert_eq!(quantity(written).to_string(), usual, "{written}");
    }
}

#[test]
fn what_can_mean_two_things_is_refused_with_both_offered() {
    for (written, help) in [
        ("5 qt", "write `5 US qt` or `5 imp qt`"),
        ("5 gal", "write `5 US gal` or `5 imp gal`"),
        ("5 pt", "write `5 US pt` or `5 imp pt`"),
        ("5 fl oz", "write `5 US fl oz` or `5 imp fl oz`"),
        ("5 kg·m", "write `5 kgf·m`"),
        ("5 kg/cm²", "write `5 kgf/cm²`"),
        ("20 C", "write `20 °C`"),
        ("1 rad", "write a unit such as Nm, °C, L, bar, mm, kg, s, rpm or %"),
        ("800 1/min", "write `800 rpm`"),
    ] {
        let fault = Quantity::parse(written, None).unwrap_err();
        assert_eq!(fault.code.as_str(), "quantity/unit-ambiguous", "{written}");
        assert_eq!(fault.help.as_deref(), Some(help), "{written}");
    }
}

#[test]
fn a_misspelled_unit_gets_a_near_one() {
    for (written, near) in [("2 Bar", "2 bar"), ("2 kpa", "2 kPa"), ("3 secnds", "3 s"), ("7 litrse", "7 L")]
    {
        let fault = Quantity::parse(written, None).unwrap_err();
        assert_eq!(fault.code.as_str(), "quantity/unit-unknown", "{written}");
        assert_eq!(fault.help, Some(format!("write `{near}` if that is what was meant")), "{written}");
    }
    assert!(Unit::find("zzzzzzzz").unwrap_err().help.is_some());
}

#[test]
fn the_kind_that_is_expected_decides_what_a_unit_is() {
    let read = |text: &str, words: &str| Quantity::parse(text, Some(kind(words)));
    assert_eq!(read("300 K", "temperature").unwrap().kind(), kind("temperature"));
    assert_eq!(*read("300 K", "temperature").unwrap().in_unit(unit("°C")).magnitude(), number("26.85"));
    assert_eq!(read("300 K", "temperature difference").unwrap().kind(), kind("temperature difference"));
    assert_eq!(read("2.5 bar", "gauge pressure").unwrap().to_string(), "2.5 bar gauge");
    assert_eq!(read("2.5 bar", "gauge pressure").unwrap().kind(), kind("gauge pressure"));
    assert_eq!(read("985 mbar", "absolute pressure").unwrap().to_string(), "985 mbar absolute");
    assert_eq!(read("2.5 bar", "pressure").unwrap().kind(), kind("pressure"));
    assert!(read("60 %", "number").is_err());
    assert_eq!(Quantity::parse("4", Some(Kind::NUMBER)).unwrap().unit(), None);
}

/// Each bare unit of pressure is one of gauge and of absolute pressure where a field says so.
#[test]
fn every_bare_unit_of_pressure_has_one_of_gauge_and_one_of_absolute_pressure() {
    let bare: Vec<_> = UNITS.iter().filter(|unit| unit.kind == KindName::Pressure).collect();
    for unit in &bare {
        for words in ["gauge pressure", "absolute pressure"] {
            let read = Quantity::parse(&format!("2 {}", unit.symbol), Some(kind(words))).unwrap();
            assert_eq!(read.kind(), kind(words), "{}", unit.symbol);
            assert_eq!(read.base(), Quantity::new(number("2"), unit).base(), "{}", unit.symbol);
        }
    }
    assert!(bare.len() >= 7);
}

#[test]
fn a_quantity_of_the_wrong_kind_is_refused_in_words() {
    for (text, words, message, help) in [
        (
            "30 °C",
            "torque",
            "`30 °C` is a temperature, and a torque is wanted here",
            "write a value in Nm, lbf·ft or kgf·m",
        ),
        (
            "45 Nm",
            "energy",
            "`45 Nm` is a torque, and an energy is wanted here",
            "write a value in J, kJ or Wh",
        ),
        (
            "5 °C",
            "temperature difference",
            "`5 °C` is a temperature, and a temperature difference is wanted here",
            "for a difference write `5 K`",
        ),
        (
            "9 °F",
            "temperature difference",
            "`9 °F` is a temperature, and a temperature difference is wanted here",
            "for a difference write `9 Δ°F`",
        ),
        (
            "2.5 bar gauge",
            "pressure",
            "`2.5 bar gauge` is a gauge pressure, and a pressure is wanted here",
            "for a difference write `2.5 bar`",
        ),
        (
            "2 bar absolute",
            "gauge pressure",
            "`2 bar absolute` is an absolute pressure, and a gauge pressure is wanted here",
            "the two differ by the pressure of the air, which this value does not say: read it at the tool as a gauge \
             pressure, or record it in a field for an absolute pressure",
        ),
        (
            "2 bar gauge",
            "absolute pressure",
            "`2 bar gauge` is a gauge pressure, and an absolute pressure is wanted here",
            "the two differ by the pressure of the air, which this value does not say: read it at the tool as an \
             absolute pressure, or record it in a field for a gauge pressure",
        ),
        ("45", "torque", "`45` has no unit", "write 45 with its unit behind it, such as Nm, lbf·ft or kgf·m"),
        ("0.1", "ratio", "`0.1` has no unit", "write `10 %` if it is a share of one, or `0.1 %`"),
        (
            "-300 °C",
            "temperature",
            "`-300 °C` is below absolute zero, which is -273.15 °C",
            "check the sign and the unit of the value",
        ),
        (
            "-1 K",
            "temperature",
            "`-1 K` is below absolute zero, which is 0 K",
            "check the sign and the unit of the value",
        ),
        (
            "-1 bara",
            "absolute pressure",
            "`-1 bar absolute` is below the pressure of a vacuum, which is 0 bar absolute",
            "check the sign and the unit of the value",
        ),
        (
            "40 Nm .. 50 Nm",
            "torque",
            "`40 Nm .. 50 Nm` is a range, and one value is wanted here",
            "write one value",
        ),
        (
            "tight",
            "torque",
            "`tight` does not begin with a number",
            "write a number with its unit, such as `45 Nm`",
        ),
        ("", "torque", "a number with a unit is missing", "write a number with its unit, such as `45 Nm`"),
    ] {
        let fault = Quantity::parse(text, Some(kind(words))).unwrap_err();
        assert_eq!((fault.message.as_str(), fault.help.as_deref()), (message, Some(help)), "{text}");
    }
}
