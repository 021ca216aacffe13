//! Brake fluid and coolant.

use witnessmark::metrology::Working;
use witnessmark::metrology::brake_fluid::{Water, boiling_point};
use witnessmark::metrology::coolant::{freezing_point, share_for};

use super::{figure, near};
use crate::support::quantity;

/// FMVSS 116, 49 CFR 571.116 (from memory): class, dry and wet boiling point.
#[test]
fn boiling_points_of_the_classes() {
    let point = |class: &str, water| boiling_point(class, water, &mut Working::none()).unwrap().to_string();
    for (class, dry, wet) in [
        ("DOT 3", "205 °C", "140 °C"),
        ("DOT 4", "230 °C", "155 °C"),
        ("DOT 5", "260 °C", "180 °C"),
        ("DOT 5.1", "260 °C", "180 °C"),
        ("DOT4", "230 °C", "155 °C"),
    ] {
        assert_eq!((point(class, Water::Dry), point(class, Water::Wet)), (dry.to_owned(), wet.to_owned()));
    }
    // The regulation gives degrees Fahrenheit beside them, rounded: 401, 446, 500; 284, 311, 356.
    let fahrenheit = quantity("0 °F").unit().unwrap();
    for (class, dry, wet) in [("DOT 3", 401.0, 284.0), ("DOT 4", 446.0, 311.0), ("DOT 5", 500.0, 356.0)] {
        let in_fahrenheit =
            |water| figure(&boiling_point(class, water, &mut Working::none()).unwrap().in_unit(fahrenheit));
        near(in_fahrenheit(Water::Dry), dry, 0.51);
        near(in_fahrenheit(Water::Wet), wet, 0.51);
    }
    let fault = boiling_point("DOT 6", Water::Dry, &mut Working::none()).unwrap_err();
    assert_eq!(fault.code.as_str(), "metrology/designation");
    assert!(fault.help.unwrap().contains("DOT"));
}

fn freezes(glycol: &str, share: &str) -> f64 {
    figure(&freezing_point(glycol, &quantity(share), &mut Working::none()).unwrap())
}

/// A public table of densities by mass (read) begins each row at the first of its columns, in whole degrees, at
/// which the mixture is still liquid: 10 % −4, 20 % −8, 30 % −14, 40 % −25, 50 % −35, 60 % −48. By volume they are 8.9,
/// 18.1, 27.7, 37.5, 47.6 and 57.8 % (ASHRAE, from memory). The columns are coarse, so the bounds are too.
#[test]
fn ethylene_glycol_agrees_with_two_tables() {
    for (share, point, slack) in [
        ("0 %", 0.0, 0.0),
        ("8.9 %", -4.0, 1.0),
        ("18.1 %", -8.0, 0.5),
        ("27.7 %", -14.0, 0.5),
        ("37.5 %", -25.0, 3.0),
        ("47.6 %", -35.0, 1.5),
        ("57.8 %", -48.0, 0.5),
    ] {
        near(freezes("ethylene", share), point, slack);
    }
    // Common practice: half and half protects to about −37 °C.
    near(freezes("ethylene", "50 %"), -37.0, 0.5);
}

/// Lange's Handbook of Chemistry, 15th edition, table 5.13 (read), with its degrees Fahrenheit rounded.
#[test]
fn propylene_glycol_is_as_in_the_handbook() {
    let fahrenheit = quantity("0 °F").unit().unwrap();
    for (share, celsius, rounded) in [
        ("5 %", -1.1, 30.0),
        ("10 %", -2.2, 28.0),
        ("15 %", -3.9, 25.0),
        ("20 %", -6.7, 20.0),
        ("25 %", -8.9, 16.0),
        ("30 %", -12.8, 9.0),
        ("35 %", -16.1, 3.0),
        ("40 %", -20.6, -5.0),
        ("45 %", -26.7, -16.0),
        ("50 %", -33.3, -28.0),
    ] {
        let point = freezing_point("propylene", &quantity(share), &mut Working::none()).unwrap();
        near(figure(&point), celsius, 1e-9);
        near(figure(&point.in_unit(fahrenheit)), rounded, 0.6);
    }
    assert_eq!(freezes("propylene", "22.5 %"), -7.8, "half way between two rows, exactly");
}

/// More glycol freezes lower as far as the tables reach, and the share of a freezing point has that point.
#[test]
fn more_glycol_freezes_lower() {
    for (glycol, most) in [("ethylene", 578), ("propylene", 500)] {
        let mut last = f64::INFINITY;
        for tenths in (0..=most).step_by(7) {
            let share = quantity(&format!("{} %", f64::from(tenths) / 10.0));
            let point = freezing_point(glycol, &share, &mut Working::none()).unwrap();
            assert!(figure(&point) < last, "{glycol} {share}");
            last = figure(&point);
            let back = share_for(glycol, &point, &mut Working::none()).unwrap();
            assert_eq!(back.compare(&share), std::cmp::Ordering::Equal, "exactly back");
        }
    }
}

#[test]
fn past_the_tables_nothing_is_said() {
    let outside = "metrology/outside-method";
    for (glycol, share) in
        [("ethylene", "58 %"), ("ethylene", "-1 %"), ("propylene", "50.1 %"), ("ethylene", "100 %")]
    {
        let fault = freezing_point(glycol, &quantity(share), &mut Working::none()).unwrap_err();
        assert_eq!(fault.code.as_str(), outside, "{glycol} {share}");
    }
    for point in ["-49 °C", "1 °C"] {
        let fault = share_for("ethylene", &quantity(point), &mut Working::none()).unwrap_err();
        assert_eq!(fault.code.as_str(), outside);
    }
    let fault = freezing_point("ethylen", &quantity("50 %"), &mut Working::none()).unwrap_err();
    assert_eq!(fault.code.as_str(), "metrology/designation");
    assert!(fault.help.unwrap().contains("perhaps `ethylene`"));
}
