//! Exact numbers: reading, printing, arithmetic. The oracle of the arithmetic is num-rational.

use std::collections::HashSet;

use num_bigint::BigInt;
use num_rational::BigRational;
use witnessmark::quantity::{CEILING, Number};

use crate::support::number;

/// A number of any size from the oracle's, through decimal pieces of eighteen digits.
pub fn from_oracle(value: &BigRational) -> Number {
    if let (Ok(numerator), Ok(denominator)) = (value.numer().try_into(), value.denom().try_into()) {
        return Number::ratio(numerator, denominator).unwrap();
    }
    let whole = |integer: &BigInt| {
        let text = integer.magnitude().to_string();
        let pieces = text.as_bytes().rchunks(18).rev().map(|piece| std::str::from_utf8(piece).unwrap());
        let sum = pieces.fold(Number::ZERO, |sum, piece| &(&sum * &number("1e18")) + &number(piece));
        if integer.sign() == num_bigint::Sign::Minus { -&sum } else { sum }
    };
    whole(value.numer()).checked_div(&whole(value.denom())).unwrap()
}

#[test]
fn a_number_is_read_exactly() {
    for (text, numerator, denominator) in [
        ("45", 45, 1),
        ("-40", -40, 1),
        ("−40", -40, 1),
        ("+3", 3, 1),
        ("0.5", 1, 2),
        ("007", 7, 1),
        ("1e3", 1000, 1),
        ("1E3", 1000, 1),
        ("1e-3", 1, 1000),
        ("2.5e+2", 250, 1),
        ("1.50", 3, 2),
        ("-0.125", -1, 8),
        ("123456789012345678", 123_456_789_012_345_678, 1),
        ("1234567890123456789", 1_234_567_890_123_456_789, 1),
        ("12345678901234567890.5", 24_691_357_802_469_135_781, 2),
        ("1e30", 10_i128.pow(30), 1),
        ("1e-30", 1, 10_i128.pow(30)),
    ] {
        assert_eq!(number(text), Number::ratio(numerator, denominator).unwrap(), "{text}");
    }
    let forty = "9".repeat(40);
    assert_eq!(&number(&forty) + &Number::ONE, &number("1e20") * &number("1e20"));
}

#[test]
fn what_can_be_read_in_two_ways_is_refused_with_an_offer() {
    for (text, help) in [
        ("45,5", "write `45.5`"),
        ("-45,5", "write `-45.5`"),
        ("12 500", "write `12500`"),
        ("12\u{a0}500", "write `12500`"),
        ("1'000", "write `1000`"),
        ("1’000", "write `1000`"),
        ("1_000", "write `1000`"),
        ("3,500", "write `3.5` or `3500`"),
        ("3,125", "write `3.1250` or `3125`"),
        ("0,500", "write `0.500`"),
        ("1,234,567", "write `1234567`"),
        ("1.234.567", "write `1234567`"),
        ("1.234,5", "write `1234.5`"),
        ("1,234.5", "write `1234.5`"),
        (".5", "write `0.5`"),
        ("-.5", "write `-0.5`"),
        ("5.", "write `5`"),
    ] {
        let fault = Number::parse(text).unwrap_err();
        assert_eq!(fault.code.as_str(), "quantity/number-form", "{text}");
        assert_eq!(fault.help.as_deref(), Some(help), "{text}: {}", fault.message);
    }
}

#[test]
fn a_number_is_shown_exactly_where_it_is_short() {
    for (text, shown) in [
        ("45", "45"),
        ("45.50", "45.5"),
        ("-0.5", "-0.5"),
        ("0", "0"),
        ("-0", "0"),
        ("1000000", "1000000"),
        ("33.1902973", "33.1902973"),
        ("0.000001", "0.000001"),
        ("0.0000001", "1e-7"),
        ("2.5e-9", "2.5e-9"),
        ("1e14", "100000000000000"),
        ("1e15", "1e15"),
        ("123456789.012", "123456789.012"),
        ("123456789.0123", "123457000"),
        ("9.9999999999999", "10"),
    ] {
        assert_eq!(number(text).to_string(), shown, "{text}");
    }
    for (numerator, denominator, shown) in [
        (1, 3, "0.333333"),
        (2, 3, "0.666667"),
        (-1, 3, "-0.333333"),
        (1, 3_000_000_000, "3.33333e-10"),
        (1, 8, "0.125"),
    ] {
        assert_eq!(Number::ratio(numerator, denominator).unwrap().to_string(), shown);
    }
}

#[test]
fn arithmetic_and_order_agree_with_the_oracle() {
    let mut random = fastrand::Rng::with_seed(1);
    let mut draw = || {
        // Magnitudes of all lengths, so that every path from machine integers to big ones is taken.
        let (up, down) = (random.u32(..126), random.u32(1..126));
        let numerator = random.i128(..) >> (127 - up);
        let denominator = (random.i128(1..) >> (127 - down)).max(1);
        let ours = Number::ratio(numerator, denominator).unwrap();
        (ours, BigRational::new(numerator.into(), denominator.into()))
    };
    for _ in 0..20_000 {
        let ((a, theirs_a), (b, theirs_b)) = (draw(), draw());
        assert_eq!(a.cmp(&b), theirs_a.cmp(&theirs_b));
        assert_eq!(&a + &b, from_oracle(&(&theirs_a + &theirs_b)));
        assert_eq!(&a - &b, from_oracle(&(&theirs_a - &theirs_b)));
        assert_eq!(&a * &b, from_oracle(&(&theirs_a * &theirs_b)));
        if !b.is_zero() {
            assert_eq!(a.checked_div(&b).unwrap(), from_oracle(&(&theirs_a / &theirs_b)));
        }
        assert_eq!(a.is_integer(), theirs_a.is_integer());
        assert_eq!(-&a, from_oracle(&-&theirs_a));
        assert_eq!(a.reduced(), a);
    }
}

#[test]
fn the_ends_of_the_machine_integers_are_exact() {
    let least = Number::ratio(i128::MIN, 1).unwrap();
    let most = Number::ratio(i128::MAX, 1).unwrap();
    assert_eq!(-&least, &most + &Number::ONE);
    assert_eq!(&least + &most, -&Number::ONE);
    assert_eq!(least.abs(), -&least);
    assert_eq!(Number::ratio(i128::MIN, i128::MIN), Some(Number::ONE));
    assert_eq!(Number::ratio(1, i128::MIN).unwrap(), -&Number::ONE.checked_div(&-&least).unwrap());
    assert_eq!(Number::ratio(1, 0), None);
    assert_eq!(Number::ONE.checked_div(&Number::ZERO), None);
    assert!(&most * &most > most);
    assert!(&(&most * &most) - &(&most * &most) == Number::ZERO);
}

#[test]
fn equal_numbers_hash_alike() {
    let numbers: HashSet<Number> = ["0.5", "0.50", "5e-1", "0.500000"].into_iter().map(number).collect();
    assert_eq!(numbers.len(), 1);
    let big = &number("1e30") * &number("1e30");
    let same: HashSet<Number> = [big.clone(), &big + &Number::ZERO, &(&big * &number("2")) - &big].into();
    assert_eq!(same.len(), 1);
}

#[test]
fn counts_and_doubles() {
    assert_eq!(number("12").to_u64(), Some(12));
    assert_eq!(number("12.0").to_u64(), Some(12));
    assert_eq!(number("12.5").to_u64(), None);
    assert_eq!(number("-1").to_u64(), None);
    assert_eq!(number("1e30").to_u64(), None);
    assert_eq!(number("0.1").to_f64(), 0.1);
    assert_eq!(Number::ratio(1, 3).unwrap().to_f64(), 1.0 / 3.0);
    assert_eq!(number("1e30").to_f64(), 1e30);
    assert_eq!(number("12345678901234567890.5").to_f64(), 12345678901234567890.5);
}

/// A number squared again and again is refused long before it fills the memory.
#[test]
fn growth_ends_at_the_ceiling() {
    let mut value = number("3");
    let mut squarings = 0;
    while let Some(square) = value.checked_mul(&value).filter(|_| squarings < 20) {
        value = square;
        squarings += 1;
    }
    // 3^(2^n) has n doublings of 1.58 bits.
    assert_eq!(squarings, 11);
    assert_eq!(CEILING, 4096);
    assert!(value.checked_add(&Number::ONE).is_some());
    assert!(value.checked_div(&Number::ratio(1, 3).unwrap()).is_some());
}

#[test]
fn a_fraction_that_is_no_number_is_named() {
    let said = |text: &str| {
        let fault = witnessmark::quantity::Quantity::parse(text, None).unwrap_err();
        (fault.message.to_string(), fault.help.map(|help| help.to_string()).unwrap_or_default())
    };
    for text in ["25 1/2 lbf·ft", "25  1/2 lbf·ft", "25 1/2"] {
        let (message, help) = said(text);
        let name = text.trim_end_matches(" lbf·ft");
        assert_eq!(message, format!("`{name}` is a whole number and a fraction, and one number is wanted"));
        assert_eq!(help, "write it with a decimal point, such as `25.5` for 25 and a half");
    }
    assert_eq!(said("1/0 Nm").0, "`1/0` divides by zero");
    assert_eq!(said("3 1/00 Nm").0, "`3 1/00` divides by zero");
    assert_eq!(said("800 1/mon").0, "`1/mon` is not a unit that is known here");
    assert!(witnessmark::quantity::Quantity::parse("1/4 turn", None).is_ok());
}
