//! What goes together with what.

use witnessmark::quantity::{Dimension, KINDS, Kind, KindName, Number, Quantity, UNITS};

use super::kind;
use crate::support::{number, quantity};

#[test]
fn each_kind_is_found_by_its_words() {
    for row in KINDS {
        assert_eq!(Kind::named(row.words), Some(row.name.into()), "{}", row.words);
        assert_eq!(kind(row.words).to_string(), row.words);
    }
    assert_eq!(Kind::named("torsion"), None);
    assert_eq!(Kind::nearest_name("tourque"), Some("torque"));
    assert_eq!(Kind::nearest_name("xyzzy"), None);
}

#[test]
fn what_adds() {
    for (a, b, sum) in [
        ("torque", "torque", Some("torque")),
        ("torque", "energy", None),
        ("torque", "length", None),
        ("temperature", "temperature difference", Some("temperature")),
        ("temperature difference", "temperature", Some("temperature")),
        ("temperature", "temperature", None),
        ("temperature difference", "temperature difference", Some("temperature difference")),
        ("gauge pressure", "pressure", Some("gauge pressure")),
        ("pressure", "absolute pressure", Some("absolute pressure")),
        ("gauge pressure", "absolute pressure", Some("absolute pressure")),
        ("absolute pressure", "absolute pressure", None),
        ("gauge pressure", "gauge pressure", None),
        ("ratio", "number", None),
        ("pressure", "pressure", Some("pressure")),
        ("ratio", "ratio", Some("ratio")),
    ] {
        assert_eq!(kind(a).sum(kind(b)).ok(), sum.map(kind), "{a} + {b}");
    }
}

#[test]
fn what_subtracts() {
    for (a, b, difference) in [
        ("torque", "torque", Some("torque")),
        ("torque", "energy", None),
        ("temperature", "temperature", Some("temperature difference")),
        ("temperature", "temperature difference", Some("temperature")),
        ("temperature difference", "temperature", None),
        ("gauge pressure", "gauge pressure", Some("pressure")),
        ("gauge pressure", "pressure", Some("gauge pressure")),
        ("pressure", "gauge pressure", None),
        ("gauge pressure", "absolute pressure", None),
        ("absolute pressure", "gauge pressure", Some("absolute pressure")),
        ("number", "ratio", None),
    ] {
        assert_eq!(kind(a).difference(kind(b)).ok(), difference.map(kind), "{a} − {b}");
    }
}

#[test]
fn what_compares() {
    for (a, b, common) in [
        ("torque", "torque", Some("torque")),
        ("torque", "energy", None),
        ("temperature", "temperature difference", None),
        ("gauge pressure", "absolute pressure", None),
        ("gauge pressure", "pressure", None),
        ("absolute pressure", "pressure", None),
        ("number", "ratio", None),
        ("rotational speed", "frequency", None),
        ("angle", "ratio", None),
    ] {
        assert_eq!(kind(a).comparable(kind(b)).ok(), common.map(kind), "{a} and {b}");
        assert_eq!(kind(b).comparable(kind(a)).ok(), common.map(kind), "{b} and {a}");
    }
    // Like divided by like is a ratio and a number.
    let share = kind("volume").quotient(kind("volume")).unwrap();
    for other in [Kind::NUMBER, kind("ratio")] {
        assert_eq!(share.comparable(other).ok(), Some(other));
        assert_eq!(other.quotient(other).ok(), Some(share));
    }
}

#[test]
fn products_are_named_where_only_one_name_fits() {
    for (a, b, product) in [
        ("length", "length", "area"),
        ("area", "length", "volume"),
        ("length", "force", "product of units (kg·m²/s²)"),
        ("flow rate", "duration", "volume"),
        ("rotational speed", "duration", "angle"),
        ("electric potential", "electric current", "power"),
        ("torque", "ratio", "torque"),
        ("ratio", "torque", "torque"),
        ("ratio", "ratio", "ratio"),
        ("density", "volume", "mass"),
        ("thermal expansion", "temperature difference", "number"),
        ("pressure", "area", "force"),
        ("number", "ratio", "ratio"),
        ("number", "number", "number"),
        ("number", "torque", "torque"),
    ] {
        assert_eq!(kind(a).product(kind(b)).unwrap().to_string(), product, "{a} × {b}");
    }
    for (a, b, quotient) in [
        ("torque", "torque", "number"),
        ("torque", "ratio", "torque"),
        ("volume", "duration", "flow rate"),
        ("force", "area", "pressure"),
        ("length", "duration", "speed"),
        ("torque", "length", "force"),
        ("dynamic viscosity", "density", "kinematic viscosity"),
        ("ratio", "ratio", "number"),
    ] {
        assert_eq!(kind(a).quotient(kind(b)).unwrap().to_string(), quotient, "{a} ÷ {b}");
    }
    // Force times length may be a torque or an energy: it compares with both.
    let product = kind("force").product(kind("length")).unwrap();
    assert!(product.comparable(kind("torque")).is_ok() && product.comparable(kind("energy")).is_ok());
    assert_eq!(kind("ratio").quotient(Kind::NUMBER).ok(), Some(kind("ratio")));
    assert!(kind("gauge pressure").quotient(kind("absolute pressure")).is_err());
    assert!(kind("absolute pressure").product(kind("gauge pressure")).is_err());
    assert!(kind("temperature").product(Kind::NUMBER).is_err());
    assert!(Kind::NUMBER.product(kind("temperature")).is_err());
    assert!(kind("temperature").quotient(Kind::NUMBER).is_err());
}

#[test]
fn the_laws_of_dimensions_hold() {
    let kinds = || KINDS.iter().map(|row| Kind::from(row.name));
    for a in kinds() {
        for b in kinds() {
            assert_eq!(a.sum(b).ok(), b.sum(a).ok(), "{a} + {b}");
            assert_eq!(a.product(b).ok(), b.product(a).ok(), "{a} × {b}");
            if let (Ok(product), false) = (a.product(b), a.name() == Some(KindName::Ratio)) {
                assert_eq!(product.quotient(b).unwrap().dimension(), a.dimension(), "{a} × {b} ÷ {b}");
            }
            if let Ok(sum) = a.sum(b) {
                assert_eq!(sum.dimension(), a.dimension(), "{a} + {b}");
                assert!(sum.difference(b).is_ok(), "{a} + {b} − {b}");
            }
            let same = a.dimension().product(b.dimension()).unwrap().quotient(b.dimension());
            assert_eq!(same, Some(a.dimension()));
        }
        assert!(a.comparable(a).is_ok());
        assert_eq!(a.difference(a).ok(), Some(a.difference_kind()), "{a} − {a}");
    }
}

#[test]
fn a_product_of_very_many_units_is_refused() {
    let mut volume = kind("volume");
    let mut steps = 0;
    while let Ok(more) = volume.product(kind("volume")) {
        volume = more;
        steps += 1;
    }
    assert_eq!(steps, 41, "an exponent of 127 is the last");
    assert_eq!(Dimension::new([127, 0, 0, 0, 0, 0]).product(Dimension::new([1, 0, 0, 0, 0, 0])), None);
}

#[test]
fn arithmetic_of_quantities() {
    type Operation = fn(&Quantity, &Quantity) -> Result<Quantity, witnessmark::diagnostic::Fault>;
    let cases: [(&str, Operation, &str, &str); 16] = [
        ("30 °C", Quantity::add, "5 K", "35 °C"),
        ("5 K", Quantity::add, "30 °C", "35 °C"),
        ("30 °C", Quantity::add, "9 Δ°F", "35 °C"),
        ("50 °C", Quantity::sub, "30 °C", "20 °C"),
        ("122 °F", Quantity::sub, "30 °C", "36 °F"),
        ("2.5 bar gauge", Quantity::add, "50 kPa", "3 bar gauge"),
        ("2.5 bar gauge", Quantity::sub, "1 bar gauge", "1.5 bar"),
        ("45 Nm", Quantity::mul, "10 %", "4.5 Nm"),
        ("10 %", Quantity::mul, "45 Nm", "4.5 Nm"),
        ("50 %", Quantity::mul, "50 %", "25 %"),
        ("45 Nm", Quantity::div, "9 Nm", "5"),
        ("7 L", Quantity::sub, "500 mL", "6.5 L"),
        ("100 N", Quantity::mul, "300 mm", "30 kg·m²/s²"),
        ("45 Nm", Quantity::div, "0.3 m", "150 N"),
        ("6 L", Quantity::div, "2 min", "0.00005 m³/s"),
        ("1 °C", Quantity::sub, "1 K", "0 °C"),
    ];
    for (a, operation, b, result) in cases {
        let found =
            operation(&quantity(a), &quantity(b)).unwrap_or_else(|f| panic!("{a}, {b}: {}", f.message));
        assert_eq!(found.to_string(), result, "{a}, {b}");
    }
    let difference = quantity("50 °C").sub(&quantity("30 °C")).unwrap();
    assert_eq!(difference.kind(), kind("temperature difference"));
    assert_eq!(quantity("5 °C").neg().unwrap().to_string(), "-5 °C");
    let two = Quantity::from(number("2"));
    assert_eq!(two.mul(&quantity("45 Nm")).unwrap().to_string(), "90 Nm");
    assert_eq!(two.div(&quantity("4 s")).unwrap().to_string(), "0.5 Hz");
}

#[test]
fn arithmetic_that_means_nothing_is_refused_in_words() {
    let fault = quantity("30 °C").add(&quantity("5 °C")).unwrap_err();
    assert_eq!(fault.message, "a temperature and a temperature cannot be added");
    assert_eq!(fault.help.as_deref(), Some("write a difference of temperatures in K, such as `5 K`"));
    let fault = quantity("45 Nm").add(&quantity("45 J")).unwrap_err();
    assert_eq!(fault.message, "a torque and an energy cannot be added");
    assert_eq!(
        quantity("45 Nm").div(&quantity("0 s")).unwrap_err().code.as_str(),
        "quantity/division-by-zero"
    );
    assert_eq!(
        quantity("-270 °C").sub(&quantity("10 K")).unwrap_err().code.as_str(),
        "quantity/below-zero-point"
    );
    assert!(quantity("30 °C").mul(&Number::ONE.into()).is_err());
}

/// Unit round trips: sums and products do not depend on the units of their parts.
#[test]
fn arithmetic_does_not_depend_on_the_units() {
    let mut random = fastrand::Rng::with_seed(3);
    let mut tried = 0;
    while tried < 5_000 {
        let mut draw = || UNITS[random.usize(..UNITS.len())].spellings[0];
        let (a_unit, b_unit, other) = (draw(), draw(), draw());
        let (a_unit, b_unit, other) = (super::unit(a_unit), super::unit(b_unit), super::unit(other));
        if a_unit.kind != other.kind {
            continue;
        }
        tried += 1;
        let a = Quantity::new(Number::ratio(random.i32(1..100_000).into(), 100).unwrap(), a_unit);
        let b = Quantity::new(Number::ratio(random.i32(1..100_000).into(), 100).unwrap(), b_unit);
        let moved = a.in_unit(other);
        for operation in [Quantity::add, Quantity::sub, Quantity::mul, Quantity::div] {
            match (operation(&a, &b), operation(&moved, &b)) {
                (Ok(one), Ok(two)) => {
                    assert_eq!((one.base(), one.kind()), (two.base(), two.kind()), "{a}, {b}")
                }
                (one, two) => assert_eq!(one.is_err(), two.is_err(), "{a}, {b}"),
            }
        }
    }
}

/// What is written as a difference is none of the points of its scale; K alone is read where a temperature stands.
#[test]
fn a_difference_of_temperatures_is_no_temperature() {
    let temperature = Kind::named("temperature");
    for text in ["36 Δ°C", "36 delta °C", "65 Δ°F"] {
        let fault = Quantity::parse(text, temperature).expect_err(text);
        assert_eq!(fault.code, witnessmark::code::KIND_WRONG, "{text}: {}", fault.message);
        assert!(
            fault.message.starts_with(&format!("`{text}` is a temperature difference")),
            "{}",
            fault.message
        );
    }
    assert_eq!(Quantity::parse("310 K", temperature).map(|read| read.kind()), Ok(temperature.unwrap()));
}
