//! Input that means harm, or is only badly damaged: a clear fault, never a crash or a long wait.

use witnessmark::quantity::{Kind, Number, Quantity, Range, Unit};

use crate::support::{number, quantity, range};

#[test]
fn no_damaged_text_is_read_as_a_number() {
    let digits = "1".repeat(1_000_000);
    let long: String = "9".repeat(41);
    for text in [
        "",
        " ",
        "-",
        "+",
        "−",
        ".",
        ",",
        "e",
        "e5",
        "1e",
        "1e+",
        "--5",
        "+-5",
        "5-",
        "1e999",
        "1e-999",
        "1e31",
        "1e99999999999999999999",
        "NaN",
        "nan",
        "Inf",
        "inf",
        "-Infinity",
        "0x10",
        "½",
        "٤٥",
        "４５",
        "4５",
        "²",
        "1 2",
        "1  000",
        "1__000",
        "_1",
        "1_",
        "1'0",
        "12,34,56",
        "1.2.3",
        "1,2,3.4,5",
        "5\u{0}",
        "\u{feff}5",
        "5\u{200b}",
        "𝟒𝟓",
        "1e1.5",
        "1.e5",
        &long,
        &digits,
    ] {
        let fault = Number::parse(text).expect_err("damaged");
        assert!(fault.message.len() < 300, "{}", fault.message);
        assert!(!fault.message.ends_with('.') && fault.help.is_some());
        let fault = Quantity::parse(&format!("{text} Nm"), None).expect_err(text);
        assert!(fault.message.len() < 300, "{}", fault.message);
    }
}

#[test]
fn random_texts_never_crash_and_what_is_read_reads_back() {
    const PIECES: &[&str] = &[
        "4",
        "5",
        "0",
        "9",
        ".",
        ",",
        " ",
        "-",
        "−",
        "+",
        "e",
        "E",
        "'",
        "_",
        "±",
        "+/-",
        "..",
        "/-",
        "%",
        "Nm",
        "°C",
        "K",
        "bar",
        "barg",
        "at least ",
        "above ",
        "L",
        "qt",
        "\u{a0}",
        "℃",
        "٤",
        "ä",
        "😀",
        "\u{0}",
        "lbf·ft",
        "mm",
        "(",
        "1",
    ];
    let mut random = fastrand::Rng::with_seed(4);
    let kinds = [None, Kind::named("torque"), Kind::named("temperature"), Some(Kind::NUMBER)];
    let mut read = 0;
    for _ in 0..40_000 {
        let text: String = (0..random.usize(1..9)).map(|_| PIECES[random.usize(..PIECES.len())]).collect();
        let expected = kinds[random.usize(..kinds.len())];
        let _ = Unit::find(&text);
        if let Ok(found) = Number::parse(&text) {
            assert!(!found.to_string().is_empty());
        }
        if let Ok(found) = Quantity::parse(&text, expected) {
            read += 1;
            let printed = found.to_string();
            let again = Quantity::parse(&printed, Some(found.kind()))
                .unwrap_or_else(|f| panic!("{printed}: {}", f.message));
            assert_eq!(again.to_string(), printed, "{text}");
        }
        if let Ok(found) = Range::parse(&text, expected) {
            read += 1;
            assert!(found.low().is_some() || found.high().is_some());
        }
    }
    assert!(read > 200, "only {read} texts could be read, so the test says little");
}

#[test]
fn a_product_past_the_machine_integers_is_still_exact() {
    let huge = quantity("99999999999999999999999999999999999999 lbf·ft");
    let limit = range("at least 99999999999999999999999999999999999999 lbf·ft");
    assert!(limit.contains(&huge));
    assert!(limit.contains(&huge.in_unit(Unit::find("Nm").unwrap())));
    let less = quantity("99999999999999999999999999999999999998.9 lbf·ft");
    assert!(!limit.contains(&less));
    assert!(!limit.contains(&less.in_unit(Unit::find("kgf·cm").unwrap())));
    assert_eq!(limit.margin(&less).distance.magnitude(), &number("-0.1"));
}

#[test]
fn growth_is_refused_in_words() {
    let mut value = Quantity::from(number("1e30"));
    let mut fault = None;
    for _ in 0..20 {
        match value.mul(&value) {
            Ok(square) => value = square,
            Err(refused) => fault = Some(refused),
        }
    }
    let fault = fault.unwrap();
    assert_eq!(fault.code.as_str(), "quantity/number-size");
    assert!(!value.to_string().is_empty());
}

#[test]
fn long_texts_are_refused() {
    for text in
        ["9".repeat(2_000_000), "Nm".repeat(1_000_000), "1 ".repeat(1_000_000), "1,".repeat(1_000_000)]
    {
        for text in [text.clone(), format!("5 {text}"), format!("{text} .. {text}"), format!("5 Nm ± {text}")]
        {
            assert!(Quantity::parse(&text, None).is_err());
            assert!(Range::parse(&text, None).is_err());
        }
    }
}
