//! Torque tools, ISO 6789-1:2017.

use jiff::civil::date;
use witnessmark::metrology::Working;
use witnessmark::metrology::torque_tool::{
    Interval, Lapse, TOOL_CLASSES, deviation, due, is_overload, lapse, permissible_deviation,
    standard_uncertainty,
};

use super::{figure, near};
use crate::support::quantity;

/// From memory with high confidence; type II class A read in a summary of the 2003 edition. Each with the
/// deviation for tools of up to 10 N·m and above.
const CLASSES: [(&str, &str, i64, i64); 12] = [
    ("I", "A", 6, 6),
    ("I", "D", 6, 6),
    ("I", "B", 6, 4),
    ("I", "C", 6, 4),
    ("I", "E", 6, 4),
    ("II", "A", 6, 4),
    ("II", "B", 6, 4),
    ("II", "C", 6, 4),
    ("II", "D", 6, 6),
    ("II", "E", 6, 6),
    ("II", "F", 6, 6),
    ("II", "G", 6, 6),
];

fn permitted(kind: &str, class: &str, greatest: &str) -> String {
    permissible_deviation(kind, class, &quantity(greatest), &mut Working::none()).unwrap().to_string()
}

#[test]
fn each_type_and_class_has_its_deviation() {
    assert_eq!(TOOL_CLASSES.len(), CLASSES.len());
    for (kind, class, small, large) in CLASSES {
        assert_eq!(permitted(kind, class, "10 Nm"), format!("{small} %"), "{kind} {class}");
        assert_eq!(permitted(kind, class, "10.1 Nm"), format!("{large} %"), "{kind} {class}");
    }
}

/// The greatest torque of the tool decides, not the torque that it is set to: a wrench for 5 to 25 N·m set to
/// 8 N·m has ±4 %, one for 2 to 10 N·m ±6 % (summary of the 2003 edition).
#[test]
fn the_greatest_torque_of_the_tool_decides() {
    assert_eq!(permitted("II", "A", "25 Nm"), "4 %");
    assert_eq!(permitted("II", "A", "10 Nm"), "6 %");
    // 10 N·m are 88.5075 lbf·in and 7.37562 lbf·ft (NIST SP 811).
    assert_eq!(
        (permitted("II", "A", "88.5 lbf·in"), permitted("II", "A", "88.6 lbf·in")),
        ("6 %".into(), "4 %".into())
    );
}

/// Recomputed by hand: set torque, measured torque, deviation, within 4 %, within 6 %.
#[test]
fn deviations_are_those_computed_by_hand() {
    for (set, measured, percent, four, six) in [
        ("45 Nm", "43.5 Nm", 3.4483, true, true),
        ("45 Nm", "46.875 Nm", -4.0, true, true),
        ("45 Nm", "43.2 Nm", 4.1667, false, true),
        ("45 Nm", "46.9 Nm", -4.0512, false, true),
        ("8 Nm", "7.5 Nm", 6.6667, false, false),
        ("10 Nm", "9.6 Nm", 4.1667, false, true),
    ] {
        let found = deviation(&quantity(set), &quantity(measured), &mut Working::none()).unwrap();
        near(figure(&found), percent, 5e-5);
        let within =
            |limit: &str| crate::support::range(&format!("-{limit} % .. {limit} %")).contains(&found);
        assert_eq!((within("4"), within("6")), (four, six), "{set} against {measured}");
    }
    // The boundary is exact.
    let edge = deviation(&quantity("45 Nm"), &quantity("46.875 Nm"), &mut Working::none()).unwrap();
    assert_eq!(edge.to_string(), "-4 %");
}

/// Recomputed: u = e·T/√3, and U = 2u.
#[test]
fn the_uncertainty_of_a_class_is_that_of_a_rectangle() {
    for (torque, permissible, standard) in
        [("45 Nm", "4 %", 1.039230), ("10 Nm", "6 %", 0.346410), ("8 Nm", "6 %", 0.277128)]
    {
        let found = standard_uncertainty(&quantity(torque), &quantity(permissible), &mut Working::none());
        let found = found.unwrap();
        near(figure(&found), standard, 5e-7);
        assert_eq!(found.unit().unwrap().symbol, "Nm");
        if torque == "45 Nm" {
            near(2.0 * figure(&found), 2.078461, 5e-7);
        }
    }
}

/// Twelve months are a calendar interval and not 365 days (recomputed with a calendar).
#[test]
fn months_are_those_of_the_calendar() {
    let year = |from| due(from, 12).unwrap();
    assert_eq!(year(date(2023, 3, 1)), date(2024, 3, 1));
    assert_eq!((date(2024, 3, 1) - date(2023, 3, 1)).get_days(), 366);
    assert_eq!(year(date(2024, 3, 1)), date(2025, 3, 1));
    assert_eq!((date(2025, 3, 1) - date(2024, 3, 1)).get_days(), 365);
    assert_eq!(year(date(2024, 2, 29)), date(2025, 2, 28));
    assert_eq!(due(date(2025, 8, 31), 6).unwrap(), date(2026, 2, 28));
    assert_eq!(due(date(9999, 6, 1), 12).unwrap_err().code.as_str(), "metrology/outside-method");
    assert_eq!(due(date(2025, 8, 31), u32::MAX).unwrap_err().code.as_str(), "metrology/outside-method");
}

/// Interval and count from memory: 12 months or 5,000 operations, whichever is over first.
#[test]
fn a_calibration_lapses_by_day_or_by_operations() {
    let (from, usual) = (date(2025, 3, 1), Interval::default());
    let on = |used, operations| lapse(from, used, operations, usual).unwrap();
    assert_eq!(on(date(2026, 3, 1), Some(5_000)), None);
    assert_eq!(on(date(2026, 3, 2), None), Some(Lapse::Due(date(2026, 3, 1))));
    assert_eq!(on(date(2025, 4, 1), Some(5_001)), Some(Lapse::Operations(5_000)));
    assert_eq!(on(date(2025, 2, 28), None), Some(Lapse::CalibratedLater));
    let own = Interval { months: 6, operations: 1_000 };
    assert_eq!(lapse(from, date(2025, 9, 2), None, own).unwrap(), Some(Lapse::Due(date(2025, 9, 1))));
}

/// From memory, with medium to high confidence: more than 125 % of the greatest torque.
#[test]
fn an_overload_is_more_than_a_quarter_over() {
    let overload = |torque: &str| is_overload(&quantity(torque), &quantity("100 Nm")).unwrap();
    assert!(!overload("125 Nm"));
    assert!(overload("125.001 Nm"));
    assert!(is_overload(&quantity("92.3 lbf·ft"), &quantity("100 Nm")).unwrap());
    assert!(!is_overload(&quantity("92.1 lbf·ft"), &quantity("100 Nm")).unwrap());
}

#[test]
fn what_no_tool_has_is_a_fault() {
    let refused = |kind: &str, class: &str, greatest: &str| {
        permissible_deviation(kind, class, &quantity(greatest), &mut Working::none()).unwrap_err()
    };
    assert_eq!(refused("III", "A", "20 Nm").code.as_str(), "metrology/designation");
    assert_eq!(
        refused("I", "F", "20 Nm").help.as_deref(),
        Some("its classes are A, B, C, D, E"),
        "the help names what there is"
    );
    assert_eq!(refused("II", "A", "0 Nm").code.as_str(), "metrology/impossible-value");
    assert_eq!(refused("II", "A", "20 bar").code.as_str(), "quantity/kinds-mixed");
    let zero = deviation(&quantity("45 Nm"), &quantity("0 Nm"), &mut Working::none()).unwrap_err();
    assert_eq!(zero.code.as_str(), "metrology/impossible-value");
    let below = standard_uncertainty(&quantity("45 Nm"), &quantity("-4 %"), &mut Working::none());
    assert_eq!(below.unwrap_err().code.as_str(), "metrology/impossible-value");
}
