//! Cleanliness codes, ISO 4406:2017, and filtration ratios, ISO 16889.

use witnessmark::metrology::Working;
use witnessmark::metrology::cleanliness::{Scale, code, read, within};
use witnessmark::metrology::filtration::{efficiency, ratio};
use witnessmark::quantity::{Number, Quantity};

use super::{figure, near};
use crate::support::{number, quantity};

/// The table of ISO 4406 (read): the upper limits of the numbers 0 to 28, particles per millilitre.
const TABLE: [&str; 29] = [
    "0.01", "0.02", "0.04", "0.08", "0.16", "0.32", "0.64", "1.3", "2.5", "5", "10", "20", "40", "80", "160",
    "320", "640", "1300", "2500", "5000", "10000", "20000", "40000", "80000", "160000", "320000", "640000",
    "1300000", "2500000",
];

fn scale(count: &str) -> Scale {
    Scale::of_count(&quantity(&format!("{count} /mL"))).unwrap()
}

fn code_of(counts: &[&str]) -> String {
    let counts: Vec<Quantity> = counts.iter().map(|count| quantity(count)).collect();
    code(&counts.iter().collect::<Vec<_>>(), &mut Working::none()).unwrap()
}

#[test]
fn the_table_is_met_at_and_beside_each_limit() {
    let little = Number::ratio(1, 1_000_000).unwrap();
    let unit = quantity("1 /mL").unit().unwrap();
    for (at, limit) in TABLE.into_iter().enumerate() {
        let beside = |figure: &Number| Scale::of_count(&Quantity::new(figure.clone(), unit)).unwrap();
        let limit = number(limit);
        assert_eq!(beside(&limit), Scale::Number(at as u8), "{limit}");
        let next = if at == 28 { Scale::Beyond } else { Scale::Number(at as u8 + 1) };
        assert_eq!(beside(&(&limit + &little)), next, "just above {limit}");
        // And back: the counts of a number hold its limit and not that of the number before.
        let counts = Scale::Number(at as u8).counts().unwrap();
        assert!(counts.contains(&Quantity::new(limit.clone(), unit)));
        assert!(!counts.contains(&Quantity::new(&limit + &little, unit)));
        if at > 0 {
            assert!(!counts.contains(&Quantity::new(number(TABLE[at - 1]), unit)));
        }
    }
}

/// Edges where the table and powers of two part (recomputed).
#[test]
fn the_table_is_no_power_of_two() {
    for (count, number) in [
        ("0.01", 0),
        ("0.0101", 1),
        ("1.3", 7),
        ("1.31", 8),
        ("2.5", 8),
        ("80", 13),
        ("80.5", 14),
        ("160", 14),
        ("161", 15),
        ("1300", 17),
        ("1301", 18),
        ("2000", 18),
        ("2500", 18),
        ("2501", 19),
        ("2560", 19),
        ("2500000", 28),
    ] {
        assert_eq!(scale(count), Scale::Number(number), "{count}");
    }
    assert_eq!(scale("0"), Scale::Number(0));
    assert_eq!(scale("2500001"), Scale::Beyond);
}

/// Published examples (read, recomputed), the last recomputed alone.
#[test]
fn codes_of_counts() {
    assert_eq!(code_of(&["300000 /100 mL", "50000 /100 mL", "700 /100 mL"]), "19/16/10");
    assert_eq!(code_of(&["3000 /mL", "500 /mL", "7 /mL"]), "19/16/10");
    assert_eq!(code_of(&["150 /mL", "30 /mL", "1.0 /mL"]), "14/12/7");
    assert_eq!(code_of(&["38000 /mL", "8500 /mL", "420 /mL"]), "22/20/16");
    assert_eq!(code_of(&["3000000 /mL", "500 /mL", "7 /mL"]), ">28/16/10");
}

#[test]
fn codes_are_compared_number_by_number() {
    assert!(within("19/16/10", "19/16/13").unwrap());
    assert!(!within("19/17/10", "19/16/13").unwrap());
    assert!(within("14/12/≥7", "14/12/7").unwrap());
    assert!(within("-/16/13", "21/17/14").unwrap());
    assert!(!within("*/16/13", "21/17/14").unwrap());
    assert!(!within(">28/16/13", "28/17/14").unwrap());
    for wrong in
        ["", "19", "19/16/10/3", "19/16/x", "19/16/29", "19-16-10", "19/16/-1", "019/16/10", "//", "१९/16/10"]
    {
        assert_eq!(read(wrong).unwrap_err().code.as_str(), "metrology/designation", "{wrong}");
    }
    assert_eq!(within("16/13", "21/17/14").unwrap_err().code.as_str(), "metrology/outside-method");
    assert_eq!(within("-/-/-", "21/17/14").unwrap_err().code.as_str(), "metrology/outside-method");
}

/// ISO 16889 (formula read), recomputed: ratio, efficiency in per cent.
#[test]
fn efficiencies_of_ratios() {
    for (beta, percent) in [
        ("2", 50.0),
        ("10", 90.0),
        ("20", 95.0),
        ("75", 98.6667),
        ("100", 99.0),
        ("200", 99.5),
        ("1000", 99.9),
    ] {
        let share = efficiency(&number(beta), &mut Working::none()).unwrap();
        near(figure(&share), percent, 5e-5);
        assert_eq!(ratio(&share, &mut Working::none()).unwrap(), number(beta), "and back, exactly");
    }
    near(ratio(&quantity("98.7 %"), &mut Working::none()).unwrap().to_f64(), 76.9231, 5e-5);
    assert!(efficiency(&Number::ONE, &mut Working::none()).unwrap().magnitude().is_zero());
}

#[test]
fn what_cannot_be_counted_is_a_fault() {
    let impossible = "metrology/impossible-value";
    let minus = Quantity::new(number("-1"), quantity("1 /mL").unit().unwrap());
    assert_eq!(Scale::of_count(&minus).unwrap_err().code.as_str(), impossible);
    assert_eq!(Scale::of_count(&quantity("3 L")).unwrap_err().code.as_str(), "quantity/kinds-mixed");
    let [small, large] = ["30 /mL", "31 /mL"].map(quantity);
    assert_eq!(code(&[&small, &large], &mut Working::none()).unwrap_err().code.as_str(), impossible);
    for beta in ["0.99", "0", "-75"] {
        assert_eq!(efficiency(&number(beta), &mut Working::none()).unwrap_err().code.as_str(), impossible);
    }
    for share in ["100 %", "-1 %", "120 %"] {
        assert_eq!(ratio(&quantity(share), &mut Working::none()).unwrap_err().code.as_str(), impossible);
    }
}
