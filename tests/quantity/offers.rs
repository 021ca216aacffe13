//! What a message offers to write is itself accepted, and is what the writer can have meant: over a
//! grid of odd inputs every offer is read again.

use witnessmark::quantity::{KINDS, Kind, Number, Quantity, Range, Reading, UNITS};

/// The texts between back quotes of a help: what it offers to write.
fn offers(help: &str) -> Vec<&str> {
    help.split('`').skip(1).step_by(2).collect()
}

/// The digits of a text without marks and signs, and without the zeros at either end.
fn digits(text: &str) -> String {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    digits.trim_matches('0').to_owned()
}

/// Whether a text is read as a value; a sign that cannot be is said once the rest can be read.
fn accepted(text: &str, kind: Option<Kind>) -> bool {
    match Quantity::parse(text, kind).and_then(Quantity::not_below_zero) {
        Ok(_) => true,
        Err(fault) => text.starts_with('-') && fault.code.as_str() == "quantity/below-zero-point",
    }
}

const FIGURES: [&str; 28] = [
    "5",
    "0.5",
    "0",
    "-5",
    "4,5",
    "84210",
    "12 500",
    "3,500",
    "3,125",
    "0,500",
    "1.234,5",
    "1,234.5",
    "1.234.567",
    ".5",
    "5.",
    "1e31",
    "1.23456789012345",
    "-1.23456789012345",
    "½",
    "Δ5",
    "1/4",
    "--5",
    "40-50",
    "40–50",
    "40 to 50",
    "4,0-5,0",
    "about 5",
    "",
];

/// Units that others use and that are none of ours. No offer may make another unit of them.
const OTHERS: [&str; 60] = [
    "mil", "mils", "yd", "yard", "yards", "furlong", "gr", "grain", "grains", "dram", "slug", "stone", "st",
    "cwt", "torr", "Torr", "atm", "inHg", "mmHg", "mmH2O", "cmH2O", "inH2O", "ksi", "dyn", "kip", "erg",
    "cal", "kcal", "BTU", "hp", "HP", "PS", "bhp", "week", "weeks", "wk", "month", "months", "year", "years",
    "yr", "mon", "knot", "knots", "kt", "fps", "cfm", "gpm", "gon", "grad", "rad", "arcmin", "arcsec", "hL",
    "hl", "dm³", "in³", "in²", "ft²", "cups",
];

fn units() -> Vec<String> {
    let known = UNITS.iter().filter_map(|unit| unit.spellings.first()).map(|text| (*text).to_owned());
    let capitals = UNITS.iter().flat_map(|unit| [unit.symbol.to_uppercase(), unit.symbol.to_lowercase()]);
    let odd = [
        "",
        "qt",
        "gal",
        "fl oz",
        "NM",
        "nm",
        "kg·m",
        "C",
        "°K",
        "1/min",
        "M",
        "foo",
        "Nmm",
        "newtn metre",
        "pascal",
        "Nm.",
    ];
    known.chain(capitals).chain(odd.map(str::to_owned)).chain(OTHERS.map(str::to_owned)).collect()
}

#[test]
fn every_offer_is_accepted_where_it_is_made() {
    let (mut seen, mut wrong) = (0, Vec::new());
    let mut kinds: Vec<Option<Kind>> = KINDS.iter().map(|row| Some(row.name.into())).collect();
    kinds.extend([None, Some(Kind::NUMBER)]);
    for (number, unit) in units().into_iter().enumerate() {
        for (place, figure) in FIGURES.into_iter().enumerate() {
            let text = format!("{figure} {unit}");
            // A few of the kinds with each, so that all are met with every figure and with most units.
            let some = kinds.iter().enumerate().filter(|(at, _)| (at + number + place) % 7 == 0);
            for (_, kind) in some {
                let value = Quantity::parse(&text, *kind).and_then(Quantity::not_below_zero);
                let Err(fault) = value else { continue };
                let help = fault.help.clone().unwrap_or_default();
                for offer in offers(&help) {
                    seen += 1;
                    let read = accepted(offer, *kind);
                    let example = help.contains("such as `");
                    let same = digits(offer).starts_with(&digits(figure)) || example || figure == "1/4";
                    if !read || !same {
                        wrong.push(format!("`{text}` as {kind:?}: {} / {help}", fault.message));
                    }
                }
                if let Some(meant) = &fault.meant
                    && !accepted(meant, *kind)
                {
                    wrong.push(format!("`{text}` as {kind:?} meant {meant}"));
                }
            }
        }
    }
    assert_eq!(wrong.iter().take(30).collect::<Vec<_>>(), Vec::<&String>::new(), "{}", wrong.len());
    assert!(seen > 3_000, "{seen}");
}

#[test]
fn no_offer_makes_another_unit_of_one_that_is_not_known() {
    for unit in OTHERS {
        let allowed: &[&str] = if unit.starts_with("mil") { &["thou", "mm"] } else { &[] };
        for kind in KINDS.iter().map(|row| Some(Kind::from(row.name))).chain([None]) {
            let Err(fault) = Quantity::parse(&format!("5 {unit}"), kind) else { continue };
            let help = fault.help.unwrap_or_default();
            let offered: Vec<&str> = offers(&help).iter().map(|text| text.trim_start_matches("5 ")).collect();
            assert!(offered.iter().all(|text| allowed.contains(text)), "{unit}: {help}");
            assert!(fault.meant.is_none() || unit == "kt", "{unit}: {:?}", fault.meant);
        }
    }
}

#[test]
fn every_offer_for_a_range_is_accepted_where_it_is_made() {
    const FORMS: [&str; 14] = [
        "40-50 U",
        "40–50 U",
        "40 – 50 U",
        "40 to 50 U",
        "50 U .. 40 U",
        "50 .. 40 U",
        "45 U +- 3 U",
        "45 U tol 3 U",
        "40 U",
        "4,0 .. 5,0 U",
        "3,125 .. 4 U",
        "5.23456789012345 U .. 1 U",
        "45 U - 3 U",
        "foo",
    ];
    let (mut seen, mut wrong) = (0, Vec::new());
    for (number, kind) in KINDS.iter().map(|row| Kind::from(row.name)).enumerate() {
        for unit in units().into_iter().skip(number % 5).step_by(5) {
            for text in FORMS.map(|form| form.replace('U', &unit)) {
                let Err(fault) = Range::parse(&text, Some(kind)) else { continue };
                let help = fault.help.clone().unwrap_or_default();
                for offer in offers(&help) {
                    seen += 1;
                    if Range::parse(offer, Some(kind)).is_err() && Quantity::parse(offer, Some(kind)).is_err()
                    {
                        let difference = kind.difference_kind();
                        if Quantity::parse(offer, Some(difference)).is_err() {
                            wrong.push(format!("`{text}` as {kind}: {} / {help}", fault.message));
                        }
                    }
                }
            }
            let text = format!("40 {unit} .. 50 {unit} ± 1 {unit}");
            let help = Reading::parse(&text, kind).err().and_then(|fault| fault.help).unwrap_or_default();
            assert!(
                offers(&help).iter().all(|offer| Range::parse(offer, Some(kind)).is_ok()
                    || Quantity::parse(offer, Some(kind)).is_ok()),
                "{text}: {help}"
            );
        }
    }
    assert_eq!(wrong.iter().take(30).collect::<Vec<_>>(), Vec::<&String>::new(), "{}", wrong.len());
    assert!(seen > 1_000, "{seen}");
}

#[test]
fn the_words_of_common_slips() {
    for (text, kind, help) in [
        ("0.5", "ratio", "write `50 %` if it is a share of one, or `0.5 %`"),
        ("50", "ratio", "write `50 %`"),
        ("84210", "length", "write 84210 with its unit behind it, such as mm, m or km"),
        ("5 mil", "length", "write `5 thou` or `5 mm`"),
        ("40 Δ°C", "temperature", "write `40 °C` if that is the temperature itself"),
        ("41 °F", "temperature difference", "for a difference write `41 Δ°F`"),
        ("4,5", "volume", "write 4.5 with its unit behind it, such as L, US qt or imp qt"),
        ("4,5 L", "volume", "write `4.5 L`"),
        ("40-50 Nm", "torque", "write one value"),
        ("40-50", "torque", "write one value"),
        ("5 yr", "duration", "write the value in s, min or h"),
        ("3 rad", "angle", "write the value in ° or turn"),
        ("5 grains", "mass", "write the value in kg, g or lb"),
        ("5 qt", "volume", "write `5 US qt` or `5 imp qt`"),
        ("5 qt", "torque", "write the value in Nm, lbf·ft or kgf·m"),
        ("3,500 km", "length", "write `3.5 km` or `3500 km`"),
        ("3,125", "length", "write 3.1250 or 3125 with its unit behind it, such as mm, m or km"),
    ] {
        let fault = Quantity::parse(text, Kind::named(kind)).unwrap_err();
        assert_eq!(fault.help.as_deref(), Some(help), "{text}: {}", fault.message);
    }
}

/// A unit that is certain makes no value that there can be of one below absolute zero.
#[test]
fn no_value_is_offered_that_would_be_refused() {
    let temperature = Kind::named("temperature");
    let fault = Quantity::parse("-30 C", temperature).unwrap_err();
    assert_eq!(fault.meant.as_deref(), Some("-30 °C"));
    for written in ["-502 C", "- 502C"] {
        let fault = Quantity::parse(written, temperature).unwrap_err();
        assert_eq!(fault.meant, None, "{written}");
        assert!(fault.message.contains("is below absolute zero"), "{written}: {}", fault.message);
    }
}

/// A comma that is certain makes no number of one with more digits than are read.
#[test]
fn no_number_is_offered_that_would_be_refused() {
    let (most, more) = ("9".repeat(39), "9".repeat(40));
    let meant = |text: &str| Number::parse(text).unwrap_err().meant.map(String::from);
    assert_eq!(meant(&format!("{most},8")), Some(format!("{most}.8")));
    assert_eq!(meant(&format!(".{most}")), Some(format!("0.{most}")));
    for written in [format!("{more},8"), format!(".{more}"), format!("{more}9.")] {
        assert_eq!(meant(&written), None, "{written}");
    }
}

/// Of a pressure the writer has said above what it lies; no help may turn it into the other one.
#[test]
fn a_word_for_the_zero_of_a_pressure_is_never_read_as_the_other() {
    const UNITS: [&str; 8] = ["bar", "kPa", "psi", "Pa", "MPa", "mbar", "hPa", "kgf/cm²"];
    const ABSOLUTE: [&str; 6] = ["abs", "abs.", "absolute", "absolut", "Abs", "ABS"];
    const GAUGE: [&str; 7] = ["rel", "rel.", "relative", "gauge", "gage", "Gauge", "overpressure"];
    let [gauge, absolute] = ["gauge pressure", "absolute pressure"].map(|kind| Kind::named(kind).unwrap());
    let mut seen = 0;
    for (words, letters, own, other) in
        [(&ABSOLUTE[..], ["a", "A"], absolute, gauge), (&GAUGE[..], ["ü", "Ü"], gauge, absolute)]
    {
        for unit in UNITS {
            let spellings = words.iter().chain(&letters).flat_map(|word| {
                [
                    format!("{unit} ({word})"),
                    format!("{unit}({word})"),
                    format!("{unit} {word}"),
                    format!("{unit}{word}"),
                ]
            });
            for text in spellings.map(|spelling| format!("2.3 {spelling}")) {
                seen += 1;
                let wrong = Quantity::parse(&text, Some(other)).unwrap_err();
                let message = format!(
                    "`{text}` is {}, and {} is wanted here",
                    own.with_article(),
                    other.with_article()
                );
                assert_eq!(wrong.message, message);
                let help = wrong.help.unwrap_or_default();
                assert!(help.contains("the two differ by the pressure of the air"), "{text}: {help}");
                assert!(help.contains(&format!("in a field for {}", own.with_article())), "{text}: {help}");
                assert!(offers(&help).is_empty() && wrong.meant.is_none(), "{text}: {help}");
                let Err(fault) = Quantity::parse(&text, Some(own)) else { continue };
                let help = fault.help.unwrap_or_default();
                let [offer] = offers(&help)[..] else { panic!("{text}: {help}") };
                let value = Quantity::parse(offer, None).unwrap();
                assert_eq!((value.kind(), value.unit().is_some()), (own, true), "{text}: {help}");
                assert_eq!(fault.meant.as_deref(), Some(offer), "{text}");
            }
        }
    }
    assert!(seen > 400, "{seen}");
    // Where a word is not known, nothing is offered that may be the other one.
    for text in ["2.3 bar absl", "2.3 bar abso", "2.3 psi apsolute"] {
        let help = Quantity::parse(text, Some(gauge)).unwrap_err().help.unwrap_or_default();
        assert_eq!(help, "write the value in bar gauge, kPa gauge or psi gauge", "{text}");
    }
    let help = |text| Quantity::parse(text, Some(gauge)).unwrap_err().help.unwrap_or_default();
    assert_eq!(
        help("2,3 bar (abs)"),
        "write 2.3; its unit is that of an absolute pressure, and a gauge pressure is wanted here"
    );
    assert_eq!(help("33 PSIG"), "write `33 psi gauge`");
    assert_eq!(help("33 PSIA"), help("33 psia"));
}

/// Where groups and a decimal sign can be told apart there is one number, elsewhere both are offered; `amend` takes only what
/// is certain.
#[test]
fn mixed_groups_of_digits_are_offered_as_what_they_can_mean() {
    for (text, help) in [
        ("61.000 000 km", "write `61 km` or `61000000 km`"),
        ("61.125 000 km", "write `61.125 km` or `61125000 km`"),
        ("61,000 000 km", "write `61 km` or `61000000 km`"),
        ("61.000'000 km", "write `61 km` or `61000000 km`"),
        ("61.000_000 km", "write `61 km` or `61000000 km`"),
        ("61.000 00 km", "write `61.00000 km`"),
        ("61 000.000 km", "write `61000.000 km`"),
        ("61'000.000 km", "write `61000.000 km`"),
        ("61 000,5 km", "write `61000.5 km`"),
        ("61.000,000 km", "write `61000.000 km`"),
        ("61,000.000 km", "write `61000.000 km`"),
        ("61.000.000 km", "write `61000000 km`"),
        ("61,000,000 km", "write `61000000 km`"),
        ("61'000 000 km", "write `61000000 km`"),
        ("61 000 km", "write `61000 km`"),
        ("061 000.5 km", "write digits, with a decimal point where one is needed"),
        ("61.00 000 km", "write digits, with a decimal point where one is needed"),
        ("61 00 km", "write digits, with a decimal point where one is needed"),
    ] {
        let fault = Quantity::parse(text, Kind::named("length")).unwrap_err();
        assert_eq!(fault.help.as_deref(), Some(help), "{text}: {}", fault.message);
        let number = text.trim_end_matches(" km");
        let certain = offers(help).len() == 1 && !number.contains(' ');
        assert_eq!(fault.meant.is_some(), certain, "{text}: {:?}", fault.meant);
    }
}

/// A range in another notation or without a unit is offered in ours, with its own figures.
#[test]
fn ranges_in_another_notation_are_offered_with_their_figures() {
    let one = "give a tolerance, one limit or both, such as `40 Nm ± 10 %`, `40 Nm ± 5 Nm`, `at least 40 Nm`, `at most 40 Nm`";
    let without = |text: &str| format!("write it with the unit that was meant, such as `{text}`");
    let cases = [
        ("45 Nm ± 10", "torque", "write `45 Nm ± 10 Nm` or `45 Nm ± 10 %`".to_owned()),
        ("45 Nm +/- 10", "torque", "write `45 Nm ± 10 Nm` or `45 Nm ± 10 %`".to_owned()),
        ("45 Nm +10/-5", "torque", "write `45 Nm +10/-5 Nm` or `45 Nm +10/-5 %`".to_owned()),
        ("40 °C ± 10", "temperature", "write `40 °C ± 10 K`".to_owned()),
        (
            "40 °C ± 10 %",
            "temperature",
            "write the tolerance as a difference, such as `40 °C ± 5 K`".to_owned(),
        ),
        ("40 % ± 10 %", "ratio", "write both ends, `30 % .. 50 %` or `36 % .. 44 %`".to_owned()),
        ("40 Nm .. 50", "torque", "write `40 Nm .. 50 Nm`".to_owned()),
        ("40 .. 50", "torque", without("40 .. 50 Nm")),
        ("45 ± 5", "torque", without("45 Nm ± 5 Nm")),
        ("45 ± 10 %", "torque", without("45 Nm ± 10 %")),
        ("at least 40", "torque", without("at least 40 Nm")),
        ("40", "torque", one.to_owned()),
        ("40 Nm", "torque", one.to_owned()),
        ("= 40 Nm", "torque", one.to_owned()),
        ("== 40 Nm", "torque", one.to_owned()),
        ("!= 40 Nm", "torque", one.to_owned()),
        ("!40 Nm", "torque", one.to_owned()),
        ("± 10 Nm", "torque", "a tolerance is written behind its value, such as `45 Nm ± 10 Nm`".to_owned()),
        ("40 and 50 Nm", "torque", "write `40 .. 50 Nm` if that was meant".to_owned()),
        ("40 Nm && 50 Nm", "torque", "write `40 Nm .. 50 Nm` if that was meant".to_owned()),
        ("40 Nm || 50 Nm", "torque", "write `40 Nm .. 50 Nm` if that was meant".to_owned()),
        ("above 40 Nm and below 50 Nm", "torque", "write `40 Nm .. 50 Nm` if that was meant".to_owned()),
        (
            "40/50 Nm",
            "torque",
            "write it like `40 Nm .. 50 Nm`, `45 Nm ± 10 %`, `45 Nm +5/-0 Nm`, `at least 40 Nm`".to_owned(),
        ),
    ];
    for (text, kind, help) in cases {
        let fault = Range::parse(text, Kind::named(kind)).unwrap_err();
        assert_eq!(fault.help.as_deref(), Some(&*help), "{text}: {}", fault.message);
        assert!(fault.meant.is_none(), "{text}: {:?}", fault.meant);
    }
    // These can only be meant in one way, so that `amend` may write them.
    for (text, offer) in [
        ("40…50 Nm", "40 .. 50 Nm"),
        ("40...50 Nm", "40 .. 50 Nm"),
        ("40 Nm ... 50 Nm", "40 Nm .. 50 Nm"),
        ("40 bis 50 Nm", "40 .. 50 Nm"),
        ("from 40 to 50 Nm", "40 .. 50 Nm"),
        ("between 40 and 50 Nm", "40 .. 50 Nm"),
        ("[40, 50] Nm", "40 .. 50 Nm"),
        ("(40 .. 50) Nm", "40 .. 50 Nm"),
        (">= 40 Nm", "at least 40 Nm"),
        ("≥40 Nm", "at least 40 Nm"),
        ("<= 50 Nm", "at most 50 Nm"),
        ("> 40 Nm", "above 40 Nm"),
        ("< 50 Nm", "below 50 Nm"),
        ("min. 40 Nm", "at least 40 Nm"),
        ("50 Nm max", "at most 50 Nm"),
        ("up to 50 Nm", "at most 50 Nm"),
        (">=40 Nm and <=50 Nm", "40 Nm .. 50 Nm"),
        ("at least 40 Nm and at most 50 Nm", "40 Nm .. 50 Nm"),
        ("40 Nm ≤ x ≤ 50 Nm", "40 Nm .. 50 Nm"),
        ("45 Nm plus/minus 5 Nm", "45 Nm ± 5 Nm"),
    ] {
        let fault = Range::parse(text, Kind::named("torque")).unwrap_err();
        assert_eq!(fault.message, format!("`{text}` is not a range"));
        assert_eq!(fault.help, Some(format!("write `{offer}`")), "{text}");
        assert_eq!(fault.meant.as_deref(), Some(offer), "{text}");
    }
    // Forty minutes are no limit.
    let fault = Range::parse("40 min", Kind::named("duration")).unwrap_err();
    assert!(fault.help.is_some_and(|help| help.contains("`at least 40 min`")));
}
