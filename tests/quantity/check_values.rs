//! Published conversions. Factors: NIST SP 811 appendix B and the SI Brochure (9th edition), table 8;
//! the definitions behind them (yard and pound of 1959, standard gravity of 1901, US gallon of 231 in³,
//! UK gallon of 4.54609 L) are from memory, and each factor is recomputed from them below.

use std::cmp::Ordering;

use witnessmark::quantity::{Number, Quantity};

use super::{kind, rounds_to, unit};
use crate::support::{number, quantity};

/// From, to, numerator, denominator, inverse to twelve digits (empty where none is published).
const FACTORS: &[(&str, &str, i128, i128, &str)] = &[
    ("lbf·ft", "Nm", 3_389_544_870_828_501, 2_500_000_000_000_000, "0.737562149277"),
    ("lbf·in", "Nm", 1_129_848_290_276_167, 10_000_000_000_000_000, "8.85074579133"),
    ("ozf·in", "Nm", 1_129_848_290_276_167, 160_000_000_000_000_000, "141.611932661"),
    ("kgf·m", "Nm", 196_133, 20_000, "0.101971621298"),
    ("kgf·cm", "Nm", 196_133, 2_000_000, "10.1971621298"),
    ("lbf", "N", 8_896_443_230_521, 2_000_000_000_000, "0.2248089431"),
    ("US gal", "L", 473_176_473, 125_000_000, "0.264172052358"),
    ("US qt", "L", 473_176_473, 500_000_000, "1.05668820943"),
    ("US fl oz", "L", 473_176_473, 16_000_000_000, "33.8140227018"),
    ("imp gal", "L", 454_609, 100_000, "0.219969248299"),
    ("imp qt", "L", 454_609, 400_000, "0.879876993196"),
    ("bar", "kPa", 100, 1, "0.01"),
    ("psi", "kPa", 8_896_443_230_521, 1_290_320_000_000, "0.14503773773"),
    ("psi", "bar", 8_896_443_230_521, 129_032_000_000_000, "14.503773773"),
    ("kgf/cm²", "kPa", 196_133, 2_000, "0.0101971621298"),
    ("in", "mm", 127, 5, "0.0393700787402"),
    ("min", "s", 60, 1, ""),
    ("h", "s", 3_600, 1, ""),
    ("cSt", "mm²/s", 1, 1, "1"),
];

#[test]
fn each_factor_is_exact_and_its_inverse_as_published() {
    for (from, to, numerator, denominator, inverse) in FACTORS {
        let one = Quantity::new(Number::ONE, unit(from)).in_unit(unit(to));
        assert_eq!(*one.magnitude(), Number::ratio(*numerator, *denominator).unwrap(), "{from} in {to}");
        let back = Quantity::new(Number::ONE, unit(to)).in_unit(unit(from));
        assert_eq!(&(one.magnitude() * back.magnitude()), &Number::ONE, "{from} and back");
        if !inverse.is_empty() {
            assert!(rounds_to(back.magnitude(), inverse), "{to} in {from}: {}", back.magnitude());
        }
    }
}

#[test]
fn the_exact_decimals_are_as_published() {
    for (from, to, decimal) in [
        ("lbf·ft", "Nm", "1.3558179483314004"),
        ("lbf·in", "Nm", "0.1129848290276167"),
        ("kgf·m", "Nm", "9.80665"),
        ("kgf·cm", "Nm", "0.0980665"),
        ("lbf", "N", "4.4482216152605"),
        ("US gal", "L", "3.785411784"),
        ("US qt", "L", "0.946352946"),
        ("US fl oz", "L", "0.0295735295625"),
        ("imp gal", "L", "4.54609"),
        ("imp qt", "L", "1.1365225"),
        ("kgf/cm²", "kPa", "98.0665"),
        ("in", "mm", "25.4"),
    ] {
        let one = Quantity::new(Number::ONE, unit(from)).in_unit(unit(to));
        assert_eq!(*one.magnitude(), number(decimal), "{from} in {to}");
    }
    let ounce_inch = Quantity::new(Number::ONE, unit("ozf·in"));
    assert!(rounds_to(ounce_inch.in_unit(unit("Nm")).magnitude(), "0.00706155181422604"));
    let psi = Quantity::new(Number::ONE, unit("psi"));
    assert!(rounds_to(psi.in_unit(unit("kPa")).magnitude(), "6.89475729316836"));
    assert!(rounds_to(psi.in_unit(unit("bar")).magnitude(), "0.0689475729316836"));
}

/// The factors again, from the definitions alone.
#[test]
fn the_factors_follow_from_the_definitions() {
    let (pound, gravity, inch) = (number("0.45359237"), number("9.80665"), number("0.0254"));
    let times = |a: &Number, b: &Number| a * b;
    let pound_force = times(&pound, &gravity);
    assert_eq!(unit("lbf").factor, pound_force);
    assert_eq!(unit("lbf·in").factor, times(&pound_force, &inch));
    assert_eq!(unit("lbf·ft").factor, times(&times(&pound_force, &inch), &number("12")));
    assert_eq!(unit("ozf·in").factor, times(&times(&pound_force, &inch), &number("0.0625")));
    assert_eq!(unit("psi").factor, pound_force.checked_div(&times(&inch, &inch)).unwrap());
    let cubic_inch = times(&times(&inch, &inch), &inch);
    let us_gallon = times(&number("231"), &cubic_inch);
    for (name, parts) in [("US gal", 1), ("US qt", 4), ("US pt", 8), ("US fl oz", 128)] {
        assert_eq!(&unit(name).factor * &Number::from(parts as i64), us_gallon, "{name}");
    }
    for (name, parts) in [("imp gal", 1), ("imp qt", 4), ("imp pt", 8), ("imp fl oz", 160)] {
        assert_eq!(&unit(name).factor * &Number::from(parts as i64), number("0.00454609"), "{name}");
    }
    assert_eq!(unit("mi").factor, times(&number("63360"), &inch));
    assert_eq!(unit("oz").factor, times(&pound, &number("0.0625")));
}

#[test]
fn coherent_units_have_the_factor_one() {
    for name in ["Nm", "J", "W", "K", "m³", "Pa", "m", "kg", "N", "turn", "s", "Hz", "V", "A", "Ω", "m²/s"]
    {
        assert_eq!(unit(name).factor, Number::ONE, "{name}");
    }
    assert_eq!(unit("L").factor, number("0.001"));
    assert_eq!(unit("mm").factor, number("0.001"));
}

/// NIST SP 811 B.8: t_F = 9/5·t_C + 32, T = t_C + 273.15.
#[test]
fn temperatures_convert_exactly() {
    for (from, to, expected) in [
        ("30 °C", "°F", "86"),
        ("50 °C", "°F", "122"),
        ("-40 °C", "°F", "-40"),
        ("−40 °C", "°F", "-40"),
        ("80 °C", "K absolute", "353.15"),
        ("-273.15 °C", "K absolute", "0"),
        ("-459.67 °F", "K absolute", "0"),
        ("20 K", "Δ°F", "36"),
        ("20 Δ°C", "K", "20"),
        ("36 Δ°F", "Δ°C", "20"),
    ] {
        assert_eq!(*quantity(from).in_unit(unit(to)).magnitude(), number(expected), "{from} in {to}");
    }
    let sixty = quantity("60 °F").in_unit(unit("°C"));
    assert_eq!(*sixty.magnitude(), Number::ratio(140, 9).unwrap());
}

/// Recomputed to six decimals from the exact factors.
#[test]
fn torques_and_volumes_convert_as_published() {
    for (from, to, published) in [
        ("8 Nm", "lbf·ft", "5.900497"),
        ("8 Nm", "lbf·in", "70.805966"),
        ("8 Nm", "kgf·cm", "81.577297"),
        ("10 Nm", "lbf·ft", "7.375621"),
        ("10 Nm", "lbf·in", "88.507458"),
        ("10 Nm", "kgf·m", "1.019716"),
        ("45 Nm", "lbf·ft", "33.190297"),
        ("45 Nm", "lbf·in", "398.283561"),
        ("45 Nm", "kgf·m", "4.588723"),
        ("33 lbf·ft", "Nm", "44.741992"),
        ("7 L", "US qt", "7.396817"),
        ("7 L", "imp qt", "6.159139"),
        ("7 L", "US gal", "1.849204"),
        ("5.5 US qt", "L", "5.204941203"),
    ] {
        let converted = quantity(from).in_unit(unit(to));
        assert!(rounds_to(converted.magnitude(), published), "{from} in {to}: {}", converted.magnitude());
    }
    assert_eq!(*quantity("5.5 US qt").in_unit(unit("L")).magnitude(), number("5.204941203"));
}

/// The trap of doubles: 30 °C is 86 °F and not 85.99999999999993 °F, so it lies on the limit.
#[test]
fn a_limit_in_the_other_scale_is_hit_exactly() {
    assert_eq!(quantity("30 °C").compare(&quantity("86 °F")), Ordering::Equal);
    assert!(crate::support::range("30 °C .. 50 °C").contains(&quantity("86 °F")));
    assert!(crate::support::range("30 °C .. 50 °C").contains(&quantity("122 °F")));
    assert!(!crate::support::range("30 °C .. 50 °C").contains(&quantity("122.0000000001 °F")));
}

/// The trap of the quart: the imperial one is 20.1 % larger, so a bare one is refused.
#[test]
fn a_bare_quart_is_refused_and_the_two_differ_by_a_fifth() {
    let fault = Quantity::parse("5.5 qt", Some(kind("volume"))).unwrap_err();
    assert_eq!(fault.code.as_str(), "quantity/unit-ambiguous");
    assert_eq!(fault.help.as_deref(), Some("write `5.5 US qt` or `5.5 imp qt`"));
    let share = quantity("1 imp qt").div(&quantity("1 US qt")).unwrap();
    assert!(rounds_to(share.magnitude(), "1.201"), "{}", share.magnitude());
}

/// The trap of case: mN·m and MN·m differ by 10^9.
#[test]
fn capital_letters_matter() {
    let share = quantity("1 MN·m").div(&quantity("1 mN·m")).unwrap();
    assert_eq!(*share.magnitude(), number("1e9"));
    for wrong in ["45 NM", "45 nm", "45 nM"] {
        let fault = Quantity::parse(wrong, None).unwrap_err();
        assert_eq!(fault.help.as_deref(), Some("write `45 Nm`"), "{wrong}");
    }
}

/// JCGM 106:2012, the class of case on a limit: 49.5 N·m meets 45 N·m ± 10 %.
#[test]
fn a_reading_on_the_limit_is_met() {
    let demand = crate::support::range("45 Nm ± 10 %");
    assert!(demand.contains(&quantity("49.5 Nm")));
    assert!(demand.contains(&quantity("40.5 Nm")));
    assert!(!demand.contains(&quantity("49.5000000000000000001 Nm")));
    assert_eq!(demand.margin(&quantity("49.5 Nm")).share, Some(Number::ZERO));
}

/// Limits that coincide: an open end lies within a closed one, a closed end in no open one.
#[test]
fn a_range_lies_within_another_if_neither_end_goes_further() {
    let within =
        |inner: &str, outer: &str| crate::support::range(inner).lies_within(&crate::support::range(outer));
    for (inner, outer) in [
        ("40 Nm .. 50 Nm", "40 Nm .. 50 Nm"),
        ("45 Nm ± 10 %", "40.5 Nm .. 49.5 Nm"),
        ("45 Nm ± 10 %", "at least 40.5 Nm"),
        ("above 2 Nm", "at least 2 Nm"),
        ("above 2 Nm", "above 2 Nm"),
        ("below 2 Nm", "at most 2 Nm"),
        ("86 °F .. 122 °F", "30 °C .. 50 °C"),
    ] {
        assert!(within(inner, outer), "{inner} lies within {outer}");
    }
    for (inner, outer) in [
        ("39.9 Nm .. 50 Nm", "40 Nm .. 50 Nm"),
        ("40 Nm .. 50.1 Nm", "40 Nm .. 50 Nm"),
        ("at least 45 Nm", "40 Nm .. 50 Nm"),
        ("at most 45 Nm", "40 Nm .. 50 Nm"),
        ("at least 2 Nm", "above 2 Nm"),
        ("at most 2 Nm", "below 2 Nm"),
        ("86 °F .. 122.0000000001 °F", "30 °C .. 50 °C"),
    ] {
        assert!(!within(inner, outer), "{inner} does not lie within {outer}");
    }
}
