//! Cosine and sine.

use witnessmark::metrology::angle::{cosine, sine};

use super::near;
use crate::support::{number, quantity};

#[test]
fn multiples_of_thirty_degrees_that_are_fractions_are_exact() {
    for (angle, x) in [("0°", "1"), ("60°", "0.5"), ("90°", "0"), ("120°", "-0.5"), ("180°", "-1")] {
        assert_eq!(cosine(&quantity(angle)).unwrap(), number(x), "{angle}");
        assert_eq!(cosine(&quantity(&format!("-{angle}"))).unwrap(), number(x), "-{angle}");
    }
    for (angle, x) in [("240°", "-0.5"), ("270°", "0"), ("300°", "0.5"), ("1 turn", "1")] {
        assert_eq!(cosine(&quantity(angle)).unwrap(), number(x), "{angle}");
    }
    for (angle, y) in
        [("0°", "0"), ("30°", "0.5"), ("90°", "1"), ("150°", "0.5"), ("210°", "-0.5"), ("-90°", "-1")]
    {
        assert_eq!(sine(&quantity(angle)).unwrap(), number(y), "{angle}");
    }
}

/// Against the standard library, at every degree of four turns.
#[test]
fn every_degree_lies_on_the_circle() {
    for degrees in -720..=720 {
        let angle = quantity(&format!("{degrees}°"));
        let (x, y) = (cosine(&angle).unwrap().to_f64(), sine(&angle).unwrap().to_f64());
        near(x, f64::from(degrees).to_radians().cos(), 1e-11);
        near(y, f64::from(degrees).to_radians().sin(), 1e-11);
        near(x * x + y * y, 1.0, 1e-11);
    }
    assert_eq!(cosine(&quantity("3 mm")).unwrap_err().code.as_str(), "quantity/kinds-mixed");
}
