//! Adapters on torque wrenches.

use fastrand::Rng;
use witnessmark::metrology::Working;
use witnessmark::metrology::adapter::{torque_at_fastener, wrench_setting};

use super::{figure, near};
use crate::support::quantity;

fn setting(wanted: &str, lever: &str, offset: &str, angle: &str) -> witnessmark::quantity::Quantity {
    let [wanted, lever, offset, angle] = [wanted, lever, offset, angle].map(quantity);
    wrench_setting(&wanted, &lever, &offset, &angle, &mut Working::none()).unwrap()
}

fn torque(setting: &str, lever: &str, offset: &str, angle: &str) -> witnessmark::quantity::Quantity {
    let [setting, lever, offset, angle] = [setting, lever, offset, angle].map(quantity);
    torque_at_fastener(&setting, &lever, &offset, &angle, &mut Working::none()).unwrap()
}

/// The worked examples of US Army TM 9-254 and TM 9-2350-261-20-1 and a published one of aviation
/// maintenance (all read and recomputed); the others recomputed.
const EXAMPLES: [(&str, &str, &str, &str, f64); 8] = [
    ("70 lbf·in", "12 in", "2 in", "0°", 60.0),
    ("40 lbf·ft", "12 in", "4 in", "0°", 30.0),
    ("135 lbf·in", "10 in", "1.5 in", "0°", 117.3913),
    ("45 Nm", "400 mm", "50 mm", "0°", 40.0),
    ("45 Nm", "400 mm", "50 mm", "45°", 41.345536),
    ("45 Nm", "400 mm", "50 mm", "90°", 45.0),
    ("10 Nm", "250 mm", "40 mm", "0°", 8.620690),
    ("8 Nm", "200 mm", "30 mm", "0°", 6.956522),
];

#[test]
fn the_worked_examples_are_met() {
    for (wanted, lever, offset, angle, set) in EXAMPLES {
        let tolerance = if wanted.starts_with("135") { 5e-5 } else { 5e-7 };
        near(figure(&setting(wanted, lever, offset, angle)), set, tolerance);
    }
    // Uncorrected, the wrench gives more at the bolt (recomputed).
    near(figure(&torque("45 Nm", "400 mm", "50 mm", "0°")), 50.625, 5e-7);
    near(figure(&torque("10 Nm", "250 mm", "40 mm", "0°")), 11.6, 5e-7);
    near(figure(&torque("8 Nm", "200 mm", "30 mm", "0°")), 9.2, 5e-7);
}

#[test]
fn straight_and_square_are_exact() {
    assert_eq!(setting("45 Nm", "400 mm", "50 mm", "0°"), quantity("40 Nm"));
    assert_eq!(setting("45 Nm", "400 mm", "50 mm", "90°"), quantity("45 Nm"));
    assert_eq!(
        setting("45 Nm", "400 mm", "50 mm", "60°").compare(&quantity("45 Nm")),
        std::cmp::Ordering::Less
    );
    assert_eq!(torque("40 Nm", "400 mm", "50 mm", "60°"), quantity("42.5 Nm"));
    assert_eq!(torque("40 Nm", "400 mm", "50 mm", "0.5 turn"), quantity("35 Nm"));
    assert_eq!(torque("40 Nm", "400 mm", "50 mm", "-60°"), quantity("42.5 Nm"));
}

/// Turning the adapter back takes away from the torque at the fastener, steadily; lengths may stand in any
/// unit; a setting computed for a torque gives that torque.
#[test]
fn it_falls_with_the_angle_and_comes_back() {
    let mut random = Rng::with_seed(254);
    for _ in 0..300 {
        let (lever, offset) = (random.u32(100..900), random.u32(1..99));
        let mut last = f64::INFINITY;
        for angle in (0..=180).step_by(random.usize(7..30)) {
            let (lever, offset) = (format!("{lever} mm"), format!("{offset} mm"));
            let angle = format!("{angle}°");
            let there = torque("45 Nm", &lever, &offset, &angle);
            assert!(figure(&there) < last, "{lever} {offset} {angle}");
            last = figure(&there);
            let back = wrench_setting(
                &there,
                &quantity(&lever),
                &quantity(&offset),
                &quantity(&angle),
                &mut Working::none(),
            );
            near(figure(&back.unwrap()), 45.0, 1e-9);
        }
    }
    let inches = torque("45 Nm", "10 in", "2 in", "37°");
    assert_eq!(inches.compare(&torque("45 Nm", "254 mm", "5.08 cm", "37°")), std::cmp::Ordering::Equal);
}

#[test]
fn what_cannot_be_a_lever_is_a_fault() {
    let fault = |lever: &str, offset: &str, angle: &str| {
        let [lever, offset, angle] = [lever, offset, angle].map(quantity);
        torque_at_fastener(&quantity("45 Nm"), &lever, &offset, &angle, &mut Working::none())
            .unwrap_err()
            .code
            .as_str()
    };
    assert_eq!(fault("0 mm", "50 mm", "0°"), "metrology/impossible-value");
    assert_eq!(fault("-400 mm", "50 mm", "0°"), "metrology/impossible-value");
    assert_eq!(fault("400 mm", "-50 mm", "0°"), "metrology/impossible-value");
    // L + E·cos θ at and below zero.
    assert_eq!(fault("50 mm", "50 mm", "180°"), "metrology/outside-method");
    assert_eq!(fault("50 mm", "80 mm", "150°"), "metrology/outside-method");
    assert_eq!(fault("400 mm", "50 mm", "181°"), "metrology/outside-method");
    assert_eq!(fault("400 mm", "50 mm", "2 turns"), "metrology/outside-method");
    assert_eq!(fault("400 bar", "50 mm", "0°"), "quantity/kinds-mixed");
}
