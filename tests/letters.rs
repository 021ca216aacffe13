//! Names that look alike.

use std::borrow::Cow;

use witnessmark::diagnostic::{did_you_mean, nearest, surely};
use witnessmark::letters::{composed, look, look_alike};

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
fn an_offer_says_which_letters_are_other_ones() {
    assert_eq!(did_you_mean("torqe", "torque"), "did you mean `torque`?");
    let said = "`torque` looks the same, but is written with other letters (U+0435 in `torqu\u{435}`)";
    assert_eq!(did_you_mean("torqu\u{435}", "torque"), said);
    let said = "`torqu\u{435}` looks the same, but is written with other letters (U+0435 in `torqu\u{435}`)";
    assert_eq!(did_you_mean("torque", "torqu\u{435}"), said);
}
