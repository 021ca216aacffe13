//! Combined uncertainties and coverage factors, JCGM 100:2008.

use witnessmark::metrology::uncertainty::{Component, combined, coverage_factor, of_product, quoted};

use super::{figure, near};
use crate::support::quantity;

/// GUM G.3 (from memory, recomputed): coverage factors for 95.45 %, and the shares of a normal distribution.
#[test]
fn coverage_factors_of_the_guide() {
    for (freedom, factor) in
        [(5.0, 2.6486), (10.0, 2.2837), (20.0, 2.1330), (50.0, 2.0512), (f64::INFINITY, 2.0000)]
    {
        // The rounded probability moves the last digit.
        near(coverage_factor(freedom, 0.954_499_736).unwrap(), factor, 6e-5);
    }
    for (share, factor) in [(0.6827, 1.0), (0.9545, 2.0), (0.9973, 3.0)] {
        near(coverage_factor(f64::INFINITY, share).unwrap(), factor, 2e-3);
    }
    // One degree of freedom is Cauchy's distribution, whose quantile is a tangent; two have a closed form.
    near(coverage_factor(1.0, 0.5).unwrap(), 1.0, 1e-9);
    near(coverage_factor(2.0, 0.5).unwrap(), (2.0_f64 / 3.0).sqrt(), 1e-9);
    // Freedom is cut down, and the normal distribution is joined without a step.
    assert_eq!(coverage_factor(16.76, 0.99).unwrap(), coverage_factor(16.0, 0.99).unwrap());
    near(coverage_factor(1_000.0, 0.95).unwrap(), coverage_factor(1_001.0, 0.95).unwrap(), 3e-3);
    for freedom in 1..60 {
        let (fewer, more) = (f64::from(freedom), f64::from(freedom + 1));
        assert!(coverage_factor(fewer, 0.95).unwrap() > coverage_factor(more, 0.95).unwrap());
    }
}

/// GUM example H.1, the end gauge (from memory, recomputed): components in nm with their degrees of freedom;
/// published 32 nm, 16 and 93 nm.
#[test]
fn the_end_gauge_of_the_guide() {
    let components = [("0.025 µm", 18.0), ("0.0097 µm", 25.6), ("0.0029 µm", 50.0), ("0.0166 µm", 2.0)]
        .map(|(standard, freedom)| (quantity(standard), freedom));
    let components: Vec<Component<'_>> =
        components.iter().map(|(standard, freedom)| Component { standard, freedom: *freedom }).collect();
    let (standard, freedom) = combined(&components).unwrap();
    near(figure(&standard) * 1e3, 31.671, 6e-4);
    near(freedom, 16.76, 6e-3);
    let factor = coverage_factor(freedom, 0.99).unwrap();
    near(factor, 2.9208, 6e-5);
    near((factor * 32.0).round(), 93.0, 0.1);
}

/// The library `uncertainties` 3.2.3: (150 ± 1.5) N × (0.300 ± 0.001) m = 45.0 ± 0.474342 N·m.
#[test]
fn a_force_on_a_lever() {
    let [force, u_force, lever, u_lever] = ["150 N", "1.5 N", "0.300 m", "0.001 m"].map(quantity);
    let found = of_product(&force, &u_force, &lever, &u_lever).unwrap();
    near(figure(&found), 0.474342, 6e-7);
    let millimetres = of_product(&force, &u_force, &quantity("300 mm"), &quantity("1 mm")).unwrap();
    assert_eq!(found, millimetres);
}

#[test]
fn what_is_no_uncertainty_is_a_fault() {
    assert_eq!(combined(&[]).unwrap_err().code.as_str(), "metrology/impossible-value");
    let (one, other) = (quantity("1 Nm"), quantity("1 bar"));
    let with = |standard, freedom| Component { standard, freedom };
    assert_eq!(combined(&[with(&one, 0.5)]).unwrap_err().code.as_str(), "metrology/impossible-value");
    assert_eq!(combined(&[with(&one, f64::NAN)]).unwrap_err().code.as_str(), "metrology/impossible-value");
    assert_eq!(
        combined(&[with(&one, 5.0), with(&other, 5.0)]).unwrap_err().code.as_str(),
        "quantity/kinds-mixed"
    );
    for (freedom, probability) in
        [(0.0, 0.95), (f64::NAN, 0.95), (5.0, 0.0), (5.0, 1.0), (5.0, -0.5), (5.0, f64::NAN)]
    {
        assert_eq!(
            coverage_factor(freedom, probability).unwrap_err().code.as_str(),
            "metrology/outside-method"
        );
    }
}

/// JCGM 100:2008, 7.2.6 (from memory): 10.47 mΩ becomes 11 mΩ; what has few digits stays as it is stated.
#[test]
fn long_uncertainties_are_quoted_with_two_digits_rounded_up() {
    for (uncertainty, wanted) in [
        ("10.47 Nm", "11 Nm"),
        ("1.03923048454 Nm", "1.1 Nm"),
        ("0.0996111 °", "0.1 °"),
        ("1000.1 mm", "1100 mm"),
        ("1200.0 mm", "1200 mm"),
        ("0.00012345 mm", "0.00013 mm"),
        ("1.125 Nm", "1.2 Nm"),
        ("1.12 Nm", "1.12 Nm"),
        ("325 mm", "325 mm"),
        ("0 Nm", "0 Nm"),
    ] {
        assert_eq!(quoted(&quantity(uncertainty)), quantity(wanted), "{uncertainty}");
    }
    for figure in 1..2_000 {
        let exact = quantity(&format!("{}.123456 Nm", figure));
        let quoted = quoted(&exact);
        assert!(quoted.magnitude() > exact.magnitude(), "{exact} is quoted as {quoted}");
        near(self::figure(&quoted), self::figure(&exact), self::figure(&exact) * 0.1);
    }
}
