//! Names that look alike.

use std::borrow::Cow;

use witnessmark::diagnostic::{did_you_mean, nearest, surely};
use witnessmark::letters::{Separators, are_of_other_letters, composed, folded, look, look_alike, strange};

#[test]
fn letters_with_accents_have_one_form() {
    assert_eq!(composed(Cow::Borrowed("cafe\u{301}")), "caf\u{e9}");
    assert_eq!(composed(Cow::Borrowed("caf\u{e9}")), "caf\u{e9}");
    assert!(matches!(composed(Cow::Borrowed("plain")), Cow::Borrowed("plain")));
}

#[test]
fn letters_of_other_alphabets_look_like_latin_ones() {
    for (odd, latin) in [
        ("\u{422}-04", "T-04"),
        ("T\u{2011}04", "T-04"),
        ("T-0\u{200b}4", "T-04"),
        ("T\u{a0}04", "T 04"),
        ("\u{391}\u{392}\u{395}", "ABE"),
        ("sump_s\u{441}r\u{435}w", "sump_screw"),
    ] {
        assert_eq!(look(odd), latin);
        assert!(look_alike(odd, latin) && look_alike(latin, odd) && !look_alike(latin, latin));
        assert_eq!(nearest(odd, [latin]), Some(latin));
    }
    // Words of another language are no likeness of anything.
    assert!(!look_alike("масло", "oil"));
    assert_eq!(surely("torqu\u{435}", ["torque", "angle"]), Some("torque"));
}

#[test]
fn letters_that_nobody_knows_are_said() {
    for name in ["GW 9 \u{13c3}R", "\u{a4d6}W", "G\u{10428}"] {
        assert!(strange(name).is_some(), "{name}");
    }
    for name in
        ["GW 9 ZR", "M\u{dc} 1", "\u{411}\u{419} 12", "\u{4eac}A 12345", "\u{661}\u{628}", "\u{ff27}\u{1d56}"]
    {
        assert_eq!(strange(name), None, "{name}");
    }
}

#[test]
fn an_offer_says_which_letters_are_other_ones() {
    assert_eq!(did_you_mean("torqe", "torque"), "did you mean `torque`?");
    let said = "`torque` looks the same, but is written with other letters (U+0435 in `torqu\u{435}`)";
    assert_eq!(did_you_mean("torqu\u{435}", "torque"), said);
    let said = "`torqu\u{435}` looks the same, but is written with other letters (U+0435 in `torqu\u{435}`)";
    assert_eq!(did_you_mean("torque", "torqu\u{435}"), said);
}

#[test]
fn a_name_is_folded_to_what_people_mean_by_it() {
    let rows = [
        ("gw 123", "GW123"),
        ("GW-123", "GW123"),
        (" G W\u{a0}1\u{2013}23 ", "GW123"),
        ("\u{ff27}\u{ff37}\u{3000}\u{ff11}\u{ff12}\u{ff13}", "GW123"),
        ("G\u{412} 123", "GB123"),
        ("g\u{432} 123", "GB123"),
        ("\u{433}\u{432}", "\u{413}B"),
        ("mu\u{308} 1", "M\u{dc}1"),
        ("G\u{200b}W", "GW"),
        ("ma\u{df}", "MASS"),
        (" - ", ""),
        ("GW 9 ZR.", "GW9ZR"),
        ("GW\u{b7}9/ZR,", "GW9ZR"),
        ("GW_\u{669} ZR", "GW9ZR"),
    ];
    for (name, bare) in rows {
        assert_eq!(folded(name, Separators::None), bare, "{name}");
        assert_eq!(folded(bare, Separators::None), bare);
    }
    let rows = [
        ("K-1", "K1"),
        ("k 1", "K1"),
        ("2026-1-12", "2026-1-12"),
        ("2026 1\u{2014}12", "2026-1-12"),
        ("2026 - 1 - 12 B", "2026-1-12B"),
        ("-1-", "1"),
    ];
    for (name, number) in rows {
        assert_eq!(folded(name, Separators::BetweenDigits), number, "{name}");
    }
}

#[test]
fn only_letters_of_another_alphabet_make_a_name_another_one_to_the_eye() {
    for (one, other) in
        [("GA 1", "ga1"), ("\u{ff27}A 1", "GA 1"), ("G\u{2013}1", "G-1"), ("G\u{200b}1", "G1")]
    {
        assert!(!are_of_other_letters(one, other), "{one} {other}");
    }
    assert!(are_of_other_letters("G\u{410} 1", "GA 1"));
}
