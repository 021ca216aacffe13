//! Signs in the place of values: blank, and told at their line.

use super::{GOOD, read, shown, with};

fn said(text: &str) -> Vec<String> {
    shown(text, &read(text).1)
}

fn is_blank(text: &str, path: &str) -> bool {
    let (documents, _) = read(text);
    let node = documents[0].find(path).unwrap_or_else(|| panic!("{path} in\n{text}"));
    documents[0].is_empty(node)
}

const HELP: &str = "leave the field out if it is not known";

#[test]
fn a_sign_in_the_place_of_a_text_is_a_blank_that_is_told() {
    for sign in [
        "unknown",
        "UNKNOWN",
        "??",
        "\"?\"",
        "\"-\"",
        "\"--\"",
        "—",
        "n/a",
        "N/A",
        "tbd",
        "xxx",
        "Xxxxx",
        "0000",
        "000000",
        "\"...\"",
        "11111111111111111",
        "not known",
    ] {
        let text = with("  plate: no\n", &format!("  plate: {sign}\n"));
        let bare = sign.trim_matches('"');
        assert_eq!(said(&text), [format!("{sign} | `{bare}` is no value | {HELP}")], "{sign}");
        assert!(is_blank(&text, "vehicle.plate"), "{sign}");
    }
    // Names that only look like it.
    for name in
        ["no", "000", "XX", "GW 1111", "1111", "A-", "unknown bay", "na", "x", "=", "~", "null", "7777777"]
    {
        let text = with("  plate: no\n", &format!("  plate: {name}\n"));
        assert_eq!(said(&text), [""; 0], "{name}");
        assert!(!is_blank(&text, "vehicle.plate"), "{name}");
    }
}

#[test]
fn it_is_the_same_for_figures_times_and_words() {
    for (field, right, path) in [
        ("  odometer: ", "84210 km", "vehicle.odometer"),
        ("  closed: ", "2026-03-02 11:40", "job.closed"),
        ("  high_voltage: ", "no", "vehicle.high_voltage"),
        ("  market: ", "europe", "vehicle.market"),
        ("  appearance: ", "dark", "fluid.appearance"),
    ] {
        for sign in ["unknown", "\"??\"", "\"-\"", "tbd", "na"] {
            let text = with(&format!("{field}{right}\n"), &format!("{field}{sign}\n"));
            assert_eq!(
                said(&text),
                [format!("{sign} | `{}` is no value | {HELP}", sign.trim_matches('"'))],
                "{field}{sign}"
            );
            assert!(is_blank(&text, path), "{field}{sign}");
        }
    }
    // A word of a closed list means what it says, and zeros of a figure are a figure.
    assert_eq!(said(&with("debris: none", "debris: none ")), [""; 0]);
    assert!(said(&with("  odometer: 84210 km\n", "  odometer: 0000 km\n")).is_empty());
}

#[test]
fn a_field_that_must_be_there_is_told_once_and_free_texts_are_free() {
    let text = with("  number: L-2031 ", "  number: \"?\" ");
    assert_eq!(said(&text), [format!("\"?\" | `?` is no value | {HELP}")]);
    for free in ["unknown", "\"-\"", "\"??\"", "xxx"] {
        let text = with("  state: closed\n", &format!("  state: closed\n  reported: {free}\n"));
        assert_eq!(said(&text), [""; 0], "{free}");
        assert!(!is_blank(&text, "job.reported"), "{free}");
    }
    // In lists, and in groups that are written as one value.
    let codes = with("codes: [] }\n  after:", "codes: [unknown, P0741] }\n  after:");
    assert_eq!(
        said(&codes),
        ["unknown | `unknown` is no value | take the entry out; a list of nothing is written `[]`"]
    );
    let several = GOOD.replace("place: A1", "place: \"-\"").replace("thread: M6", "thread: n/a");
    assert_eq!(said(&several).len(), 2, "{:?}", said(&several));
}

/// What people write who have no reason and no name to give.
#[test]
fn a_reason_or_a_name_that_says_nothing_is_none() {
    for sign in ["none", "nil", "pending", "see above", "ditto", "dito", "k.A.", "\"-\""] {
        let text = with("  technician: \"Möller, Ada\"\n", &format!("  technician: {sign}\n"));
        assert!(is_blank(&text, "job.technician"), "{sign}");
        let text = with("reason: pan exchanged", &format!("reason: {sign}"));
        assert_eq!(said(&text), [format!("{sign} | `{}` is no value | {HELP}", sign.trim_matches('"'))]);
    }
}

#[test]
fn of_very_many_the_first_are_told_and_the_others_counted() {
    let codes = vec!["unknown"; 250].join(", ");
    let text = with("codes: [] }\n  after:", &format!("codes: [{codes}] }}\n  after:"));
    let said = said(&text);
    assert_eq!(said.len(), 101);
    assert!(
        said.iter().any(|said| said.contains("150 further signs in the place of a value are left out")),
        "{said:?}"
    );
}
