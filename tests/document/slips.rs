//! Slips of people who write records by hand: what is said of each, and where.

use super::{layout_of, said_of};

/// A record with one fastening, one fill and one moment as given.
fn record(opened: &str, odometer: &str, fill: &str, torque: &str) -> String {
    format!(
        "form: job/1\n\
         job: {{ number: S-1, opened: {opened}, state: in work, technician: A. Muster }}\n\
         vehicle: {{ plate: GW 1, odometer: {odometer} }}\n\
         unit: {{ kind: stepped automatic, family: six speed }}\n\
         fluid:\n  fills:\n    - {{ stage: first, volume: {fill}, engine: off }}\n\
         fastenings:\n  - {{ role: drain plug, torque: {torque} }}\n"
    )
}

fn with_torque(torque: &str) -> Vec<String> {
    said_of(&record("2026-03-02T08:10", "84210 km", "0.9 L", torque))
}

fn with_moment(opened: &str) -> Vec<String> {
    said_of(&record(opened, "84210 km", "0.9 L", "9 Nm"))
}

#[test]
fn a_decimal_comma_between_braces_is_reported_once() {
    let said = |odometer, fill| said_of(&record("2026-03-02T08:10", odometer, fill, "9 Nm"));
    assert_eq!(said("84210 km", "0.9 Liter"), Vec::<String>::new());
    assert_eq!(
        said("84210 km", "0,9 Liter"),
        [
            "0,9 Liter | a comma ends the value between braces, so `0,9 Liter` is read as two entries | write `0.9 Liter`"
        ]
    );
    assert_eq!(
        said("84,210 km", "0.9 L"),
        [
            "84,210 km | a comma ends the value between braces, so `84,210 km` is read as two entries | write `84.21 km` or `84210 km`"
        ]
    );
}

#[test]
fn a_comma_in_a_text_between_braces_is_an_error() {
    for (written, text) in [("GW 1,23", "GW 1,23"), ("K-1,x", "K-1,x"), ("plug, rear", "plug, rear")] {
        let said = layout_of(&format!("a: {{ b: {written}, c: 1 }}\n"));
        let expected = format!(
            "{text} | a comma ends the value between braces, so `{text}` is read as two entries | put a text that holds a comma in quotes: `\"{text}\"`"
        );
        assert_eq!(said, [expected], "{written}");
        assert_eq!(layout_of(&format!("a: {{ b: \"{written}\", c: 1 }}\n")), Vec::<String>::new());
    }
}

#[test]
fn a_field_that_is_left_open_is_no_decimal_comma() {
    assert_eq!(layout_of("a: { b: 0, c: }\n"), Vec::<String>::new());
    assert_eq!(layout_of("a: { b: x, 9 L: }\n"), Vec::<String>::new());
    assert_eq!(layout_of("a: { b: 0, 9 L: 1 }\n"), Vec::<String>::new());
}

#[test]
fn offered_units_fit_the_field() {
    let fits = "write the value in Nm, lbf·ft or kgf·m";
    for written in ["250 dNm", "25 \u{339a}", "3 q"] {
        let said = with_torque(written);
        assert!(said.len() == 1 && said[0].ends_with(fits), "{written}: {said:?}");
    }
    let said = with_torque("3 lbf.fr");
    assert!(said[0].ends_with("write `3 lbf·ft` if that is what was meant"), "{said:?}");
}

#[test]
fn spellings_of_the_trade_are_known() {
    for written in [
        "2.5 mkp",
        "2.5 m·kp",
        "2.5 kpm",
        "20 ft.lbs",
        "20 lbs.ft",
        "20 lb.ft",
        "20 newton-metres",
        "20 newton-meters",
        "20 foot-pounds",
        "20 pound-feet",
        "20 inch-pounds",
        "20 pound-inches",
    ] {
        assert_eq!(with_torque(written), Vec::<String>::new(), "{written}");
    }
}

#[test]
fn a_value_that_is_not_known_is_left_out() {
    for written in ["null", "~", "n/a", "unknown", "\"-\"", "\"?\""] {
        let bare = written.trim_matches('"');
        let expected = format!("{written} | `{bare}` is no value | leave the field out if it is not known");
        assert_eq!(with_torque(written), std::slice::from_ref(&expected));
        assert_eq!(with_moment(written), [expected]);
    }
}

#[test]
fn days_and_hours_that_do_not_exist_are_named() {
    let said = |moment| with_moment(moment).join("\n");
    assert!(said("2026-02-30T10:00").contains("the calendar has no day 2026-02-30"));
    assert!(said("2026-03-02T25:10").contains("no clock shows the time 25:10"));
    assert!(said("2.3.2026 8:10").ends_with("write 2026-03-02T08:10"));
    assert!(said("3/2/2026 8:10").ends_with("write 2026-02-03T08:10 or 2026-03-02T08:10"));
    assert!(said("2026-03-02T8:10").ends_with("write 2026-03-02T08:10"));
}

#[test]
fn what_cannot_lie_below_zero_is_refused() {
    assert_eq!(
        with_torque("-25 Nm"),
        [
            "-25 Nm | `-25 Nm` is below zero, which a torque cannot be | check the sign; write `25 Nm` if that is what was measured"
        ]
    );
}

/// `61.000` is sixty-one thousand to many who write it.
#[test]
fn a_point_that_can_stand_between_thousands_is_said() {
    let said = |odometer, fill| said_of(&record("2026-03-02T08:10", odometer, fill, "9 Nm"));
    assert_eq!(
        said("61.000 km", "0.9 L"),
        ["61.000 km | `61.000 km` can mean 61 km or 61000 km | write `61 km` or `61000 km`"]
    );
    assert_eq!(
        said("061.000 km", "0.9 L"),
        ["061.000 km | `061.000 km` can mean 61 km or 61000 km | write `61 km` or `61000 km`"]
    );
    assert_eq!(said("84210 km", "0.950 L"), Vec::<String>::new());
    assert_eq!(
        said("84210 km", "1.250 L"),
        [
            "1.250 L | the point in `1.250 L` is read as a decimal point, and it could mark thousands | write `1.25 L`, or `1250 L` if that is what was meant"
        ]
    );
    for (odometer, fill) in [("61.5 km", "0.250 L"), ("61000.125 km", "1.25 L"), ("61000 km", "1.2500 L")] {
        assert_eq!(said(odometer, fill), Vec::<String>::new(), "{odometer}, {fill}");
    }
}

/// The refused value is no value: what needs it is undecided. The advised one stands as it is written.
#[test]
fn what_is_refused_for_its_point_has_no_value() {
    let text = record("2026-03-02T08:10", "61.000 km", "1.250 L", "9.000 Nm ± 0.125 Nm");
    let (documents, diagnostics) = super::read(&text);
    let codes: Vec<&str> = diagnostics.iter().map(|diagnostic| diagnostic.code.as_str()).collect();
    assert_eq!(codes, ["quantity/number-form", "quantity/dotted-thousands", "quantity/dotted-thousands"]);
    let document = &documents[0];
    let value = |path: [&str; 2]| {
        let node = path.iter().fold(document.root(), |node, key| document.get(node, key).unwrap());
        document.value(node).cloned()
    };
    assert!(value(["vehicle", "odometer"]).is_none());
}

/// A field of whole numbers has no other reading of a point than that between thousands, so nobody may guess.
#[test]
fn a_count_with_a_point_between_thousands_is_refused() {
    let text = record("2026-03-02T08:10", "84210 km", "0.9 L", "9 Nm");
    let counted = text.replacen("torque: 9 Nm", "torque: 9 Nm, order: 2.000", 1);
    assert_ne!(text, counted);
    assert_eq!(said_of(&counted), ["2.000 | `2.000` can mean 2 or 2000 | write `2` or `2000`"]);
}
