//! Names that look alike: the same letters written with other characters.
//!
//! A letter with an accent can be written as one character or as two, and is compared as one (the form NFC
//! of Unicode Standard Annex 15). Letters of other alphabets that look like Latin ones stay what they are,
//! and are said where they were probably not meant.

use std::borrow::Cow;

use unicode_normalization::{IsNormalized, UnicodeNormalization, is_nfc_quick};

/// Letters that look like a Latin letter or a digit: the Cyrillic and Greek part of the list of Unicode
/// Technical Standard 39, from memory.
const ALIKE: &[(&str, &str)] = &[
    ("аеорсухіјѕԁһӏԛԝѵүո", "aeopcyxijsdhlqwvyn"),
    ("АВЕЅІЈКМНОРСТУХԚԜЗ", "ABESIJKMHOPCTYXQW3"),
    ("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX"),
    ("ονριυօսհı", "ovpiuouhi"),
    ("‐‑‒–−", "-----"),
];

/// Characters that cannot be seen at all.
const UNSEEN: &[char] = &['\u{AD}', '\u{200B}', '\u{200C}', '\u{200D}', '\u{2060}', '\u{FEFF}'];

/// The text with every letter and its accents as one character.
#[must_use]
pub fn composed(text: Cow<'_, str>) -> Cow<'_, str> {
    if text.is_ascii() || is_nfc_quick(text.chars()) == IsNormalized::Yes {
        return text;
    }
    Cow::Owned(text.nfc().collect())
}

/// The text in the Latin letters that it looks like.
#[must_use]
pub fn look(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.nfc().filter(|letter| !UNSEEN.contains(letter)).map(latin).collect())
}

/// Whether two different texts look the same.
#[must_use]
pub fn look_alike(one: &str, other: &str) -> bool {
    one != other && !(one.is_ascii() && other.is_ascii()) && look(one) == look(other)
}

fn latin(letter: char) -> char {
    if letter.is_ascii() {
        return letter;
    }
    if letter.is_whitespace() {
        return ' ';
    }
    let pairs = ALIKE.iter().flat_map(|(others, latin)| others.chars().zip(latin.chars()));
    pairs.into_iter().find(|(other, _)| *other == letter).map_or(letter, |(_, latin)| latin)
}

/// Says that what was written looks like a name and is another: with the characters that tell them apart.
#[must_use]
pub fn said(written: &str, name: &str) -> String {
    let odd = |text: &str| -> Vec<String> {
        let odd = text.chars().filter(|letter| UNSEEN.contains(letter) || latin(*letter) != *letter);
        odd.take(3).map(|letter| format!("U+{:04X}", u32::from(letter))).collect()
    };
    let (text, codes) = match odd(written) {
        codes if codes.is_empty() => (name, odd(name)),
        codes => (written, codes),
    };
    format!("`{name}` looks the same, but is written with other letters ({} in `{text}`)", codes.join(", "))
}
