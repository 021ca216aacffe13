//! Ranges in all their forms, what is refused, and margins.

use witnessmark::quantity::{Number, Quantity, Range, Which};

use super::{kind, unit};
use crate::support::{number, quantity, range};

#[test]
fn every_form_is_read_and_shown() {
    for (text, shown, limits) in [
        ("40 Nm .. 50 Nm", "40 Nm .. 50 Nm", "40 Nm .. 50 Nm"),
        ("40 .. 50 Nm", "40 Nm .. 50 Nm", "40 Nm .. 50 Nm"),
        ("40..50 Nm", "40 Nm .. 50 Nm", "40 Nm .. 50 Nm"),
        ("-10 .. 5 °C", "-10 °C .. 5 °C", "-10 °C .. 5 °C"),
        ("33 lbf·ft .. 50 Nm", "33 lbf·ft .. 50 Nm", "33 lbf·ft .. 50 Nm"),
        ("45 Nm ± 10 %", "45 Nm ± 10 %", "40.5 Nm .. 49.5 Nm"),
        ("45 Nm ±10%", "45 Nm ± 10 %", "40.5 Nm .. 49.5 Nm"),
        ("45 Nm +/- 3 Nm", "45 Nm ± 3 Nm", "42 Nm .. 48 Nm"),
        ("45 ± 3 Nm", "45 Nm ± 3 Nm", "42 Nm .. 48 Nm"),
        ("45 Nm +5/-0 Nm", "45 Nm +5/-0 Nm", "45 Nm .. 50 Nm"),
        ("45 Nm +5/−1 Nm", "45 Nm +5/-1 Nm", "44 Nm .. 50 Nm"),
        ("45 Nm +5 Nm/-200 cNm", "45 Nm +5 Nm/-200 cNm", "43 Nm .. 50 Nm"),
        ("45 Nm +10/-5 %", "45 Nm +10/-5 %", "42.75 Nm .. 49.5 Nm"),
        ("45 +0/-5 Nm", "45 Nm +0/-5 Nm", "40 Nm .. 45 Nm"),
        ("80 °C ± 5 K", "80 °C ± 5 K", "75 °C .. 85 °C"),
        ("80 °C +9/-0 Δ°F", "80 °C +5/-0 K", "80 °C .. 85 °C"),
        ("2 barg ± 0.2 bar", "2 bar gauge ± 0.2 bar", "1.8 bar gauge .. 2.2 bar gauge"),
        ("2 barg ± 10 %", "2 bar gauge ± 10 %", "1.8 bar gauge .. 2.2 bar gauge"),
        ("5 K ± 10 %", "5 K ± 10 %", "4.5 K .. 5.5 K"),
        ("-20 mV ± 10 %", "-20 mV ± 10 %", "-22 mV .. -18 mV"),
        ("9 % .. 11 %", "9 % .. 11 %", "9 % .. 11 %"),
        ("5 Nm .. 5 Nm", "5 Nm .. 5 Nm", "5 Nm .. 5 Nm"),
        ("at least 2 s", "at least 2 s", "at least 2 s"),
        ("at most 120 °C", "at most 120 °C", "at most 120 °C"),
        ("above 0 L", "above 0 L", "above 0 L"),
        ("below 5 L", "below 5 L", "below 5 L"),
    ] {
        let read = range(text);
        assert_eq!((read.to_string().as_str(), read.limits_text().as_str()), (shown, limits), "{text}");
        let again = range(shown);
        assert_eq!(
            (again.to_string().as_str(), again.limits_text().as_str()),
            (shown, limits),
            "{shown} reads back"
        );
    }
}

#[test]
fn a_plain_range_is_read_where_a_number_is_expected() {
    let count = Range::parse("2 .. 4", Some(witnessmark::quantity::Kind::NUMBER)).unwrap();
    assert!(count.contains(&number("3").into()) && !count.contains(&number("5").into()));
    let gauge = Range::parse("2 .. 3 bar", Some(kind("gauge pressure"))).unwrap();
    assert_eq!(gauge.kind(), kind("gauge pressure"));
}

#[test]
fn each_refusal_says_what_and_why() {
    for (text, code, words) in [
        ("50 Nm .. 40 Nm", "range-inverted", "begins above its end"),
        ("50 Nm .. 33 lbf·ft", "range-inverted", "begins above its end"),
        ("38 °C ± 10 %", "tolerance", "zero is a convention"),
        ("300 °F +1/-1 %", "tolerance", "zero is a convention"),
        ("10 % ± 5 %", "tolerance", "percentage of a percentage"),
        ("45 Nm ± 0 Nm", "tolerance", "not above zero"),
        ("45 Nm ± 0 %", "tolerance", "not above zero"),
        ("45 Nm ± -3 Nm", "tolerance", "not above zero"),
        ("0 Nm ± 10 %", "tolerance", "not above zero"),
        ("45 Nm +0/-0 Nm", "tolerance", "not above zero"),
        ("45 Nm +-5/-0 Nm", "tolerance", "not above zero"),
        ("45 Nm +5/--1 Nm", "tolerance", "not above zero"),
        ("38 °C ± 2 °C", "kind-wrong", "a temperature difference is wanted here"),
        ("45 Nm ± 3 J", "kind-wrong", "an energy, and a torque is wanted"),
        ("45 Nm .. 50 J", "kinds-mixed", "a torque and an energy cannot be compared"),
        ("1 barg .. 2 bara", "kinds-mixed", "cannot be compared"),
        ("-270 °C ± 5 K", "below-zero-point", "below absolute zero"),
        ("45 Nm", "range-form", "is not a range"),
        ("at least", "range-form", "is not a range"),
        ("45 Nm ± 3", "unit-missing", "`3` has no unit"),
        ("40 .. 50", "unit-missing", "has no unit"),
        ("..", "quantity-form", "missing"),
        ("40 Nm ..", "range-form", "is not a range"),
        ("± 3 Nm", "range-form", "is not a range"),
        ("40 Nm .. 50 Nm .. 60 Nm", "quantity-form", "is a range"),
        ("40,5 Nm .. 50 Nm", "number-form", "comma"),
        ("at least 5 qt", "unit-ambiguous", "United States"),
    ] {
        let fault = Range::parse(text, None).expect_err(text);
        assert_eq!(fault.code.as_str(), format!("quantity/{code}"), "{text}: {}", fault.message);
        assert!(fault.message.contains(words), "{text}: {}", fault.message);
    }
}

#[test]
fn exclusive_limits_are_left_out() {
    for (text, reading, inside) in [
        ("above 0 L", "0 L", false),
        ("above 0 L", "0.0001 L", true),
        ("below 5 L", "5 L", false),
        ("below 5 L", "5000 mL", false),
        ("below 5 L", "4999 mL", true),
        ("at least 2 s", "2 s", true),
        ("at least 2 s", "2000 ms", true),
        ("at most 2 s", "2 s", true),
        ("at most 2 s", "2.001 s", false),
    ] {
        let demand = range(text);
        assert_eq!(demand.contains(&quantity(reading)), inside, "{reading} {text}");
        let margin = demand.margin(&quantity(reading));
        assert_eq!(margin.is_met(), inside, "{reading} {text}");
        assert_eq!(margin.share, None);
    }
    let hit = range("above 0 L").margin(&quantity("0 L"));
    assert!(hit.exclusive_limit_hit && hit.distance.magnitude().is_zero());
    assert!(!range("at least 0 L").margin(&quantity("0 L")).exclusive_limit_hit);
}

#[test]
fn a_margin_is_in_the_unit_of_the_limit_and_a_share_of_the_tolerance() {
    for (text, reading, distance, share, limit) in [
        ("45 Nm ± 10 %", "45 Nm", "4.5 Nm", "0.5", Which::Low),
        ("45 Nm ± 10 %", "49.5 Nm", "0 Nm", "0", Which::High),
        ("45 Nm ± 10 %", "52 Nm", "-2.5 Nm", "-0.277778", Which::High),
        ("45 Nm ± 10 %", "40 Nm", "-0.5 Nm", "-0.0555556", Which::Low),
        ("45 Nm ± 10 %", "46000 mNm", "3.5 Nm", "0.388889", Which::High),
        ("35 °C .. 45 °C", "38 °C", "3 °C", "0.3", Which::Low),
        ("35 °C .. 45 °C", "122 °F", "-5 °C", "-0.5", Which::High),
        ("2 barg .. 3 barg", "2.2 barg", "0.2 bar", "0.2", Which::Low),
    ] {
        let margin = range(text).margin(&quantity(reading));
        assert_eq!(margin.distance.to_string(), distance, "{reading} in {text}");
        assert_eq!(
            margin.share.as_ref().map(Number::to_string).as_deref(),
            Some(share),
            "{reading} in {text}"
        );
        assert_eq!(margin.limit, limit, "{reading} in {text}");
        assert_eq!(margin.is_met(), range(text).contains(&quantity(reading)));
    }
    let one = range("5 Nm .. 5 Nm");
    assert_eq!(one.margin(&quantity("5 Nm")).share, None);
    assert!(one.contains(&quantity("5 Nm")) && !one.contains(&quantity("5.01 Nm")));
}

#[test]
fn the_parts_of_a_range() {
    let demand = range("45 Nm +5/-0 Nm");
    assert_eq!(demand.nominal(), Some(&quantity("45 Nm")));
    assert_eq!(demand.tolerance(), Some(quantity("5 Nm")));
    assert_eq!(demand.low().map(|low| (&low.value, low.inclusive)), Some((&quantity("45 Nm"), true)));
    assert_eq!(demand.high().map(|high| (&high.value, high.inclusive)), Some((&quantity("50 Nm"), true)));
    assert_eq!(range("at least 2 s").tolerance(), None);
    assert_eq!(range("40 Nm .. 50 Nm").nominal(), None);
    let warm = range("35 °C .. 45 °C").tolerance().unwrap();
    assert_eq!((warm.kind(), warm.magnitude()), (kind("temperature difference"), &number("10")));
    assert_eq!(Range::at_least(Quantity::new(number("2"), unit("s"))).unwrap(), range("at least 2 s"));
}

#[test]
fn half_open_ranges_leave_one_end_out() {
    let (low, high) = (quantity("9.3 mm²/s"), quantity("12.5 mm²/s"));
    let grade = Range::from_to_below(low.clone(), high.clone()).unwrap();
    assert!(grade.contains(&low) && !grade.contains(&high) && grade.margin(&high).exclusive_limit_hit);
    assert_eq!(grade.to_string(), "at least 9.3 mm²/s and below 12.5 mm²/s");
    let class = Range::above_to(low.clone(), high.clone()).unwrap();
    assert!(!class.contains(&low) && class.contains(&high));
    assert_eq!(class.to_string(), "above 9.3 mm²/s and at most 12.5 mm²/s");
    assert_eq!(
        Range::above_to(high.clone(), low.clone()).unwrap_err().code.as_str(),
        "quantity/range-inverted"
    );
    assert_eq!(Range::from_to_below(low.clone(), low).unwrap_err().code.as_str(), "quantity/range-inverted");
}
