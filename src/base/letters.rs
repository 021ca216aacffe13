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
    ("‐‑‒–—−", "------"),
    ("٠١٢٣٤٥٦٧٨٩", "0123456789"),
    ("۰۱۲۳۴۵۶۷۸۹", "0123456789"),
];

/// Characters that cannot be seen, change what is seen beside them, or look like a blank and are none, from the first to the
/// last of each row. Those with the property `Default_Ignorable_Code_Point` (Unicode 14, `DerivedCoreProperties`: joiners,
/// fillers, variation selectors, tags, signs that turn the direction of writing), the signs that end lines and paragraphs, the
/// Braille cell without a dot, the note without a head, the marks of annotations, and what is no character.
const UNSEEN: &[(char, char)] = &[
    ('\u{ad}', '\u{ad}'),
    ('\u{34f}', '\u{34f}'),
    ('\u{61c}', '\u{61c}'),
    ('\u{115f}', '\u{1160}'),
    ('\u{17b4}', '\u{17b5}'),
    ('\u{180b}', '\u{180f}'),
    ('\u{200b}', '\u{200f}'),
    ('\u{2028}', '\u{202e}'),
    ('\u{2060}', '\u{206f}'),
    ('\u{2800}', '\u{2800}'),
    ('\u{3164}', '\u{3164}'),
    ('\u{fdd0}', '\u{fdef}'),
    ('\u{fe00}', '\u{fe0f}'),
    ('\u{feff}', '\u{feff}'),
    ('\u{ffa0}', '\u{ffa0}'),
    ('\u{fff0}', '\u{fffb}'),
    ('\u{fffe}', '\u{ffff}'),
    ('\u{1bca0}', '\u{1bca3}'),
    ('\u{1d159}', '\u{1d159}'),
    ('\u{1d173}', '\u{1d17a}'),
    ('\u{e0000}', '\u{e0fff}'),
];

/// Whether a character cannot be seen, or changes what is seen beside it; control characters are not among them.
#[must_use]
pub fn is_unseen(letter: char) -> bool {
    if letter.is_ascii() {
        return false;
    }
    let behind = UNSEEN.partition_point(|(first, _)| *first <= letter);
    let row = behind.checked_sub(1).and_then(|row| UNSEEN.get(row));
    row.is_some_and(|(_, last)| letter <= *last)
}

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
    Cow::Owned(text.nfc().filter(|letter| !is_unseen(*letter)).map(latin).collect())
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

/// Which blanks and hyphens belong to a name, and tell it from another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Separators {
    /// None: they only make it easier to read, as in a number plate.
    None,
    /// Those between two digits: `2026-1-12` and `2026-11-2` are two numbers.
    BetweenDigits,
}

/// What a name is compared by that people write in several ways: in capitals, in one form of each character (NFKC
/// of Unicode Standard Annex 15), in the Latin letters that it looks like, and without the blanks and hyphens that
/// do not matter.
#[must_use]
pub fn folded(name: &str, separators: Separators) -> String {
    // A small letter can look like a Latin one where its capital does not, and the other way round.
    joined(&look(&capitals(&look(&compatible(name)))), separators)
}

/// Whether two names that are folded to the same one are so only by letters of other alphabets that look alike.
#[must_use]
pub fn are_of_other_letters(one: &str, other: &str) -> bool {
    let written = |name: &str| joined(&capitals(&compatible(name)), Separators::None);
    written(one) != written(other)
}

/// The first letter of a name that is of a script which has letters like Latin ones, and not in the list above: nobody knows
/// what it looks like. Scripts that stand for themselves (Arabic, Hebrew, those of East Asia) are none of these.
#[must_use]
pub fn strange(name: &str) -> Option<char> {
    const OWN: [(char, char); 8] = [
        ('\u{c0}', '\u{24f}'),
        ('\u{370}', '\u{52f}'),
        ('\u{590}', '\u{77f}'),
        ('\u{e00}', '\u{e7f}'),
        ('\u{1e00}', '\u{1fff}'),
        ('\u{3040}', '\u{9fff}'),
        ('\u{ac00}', '\u{d7af}'),
        ('\u{20000}', '\u{323af}'),
    ];
    let is_known = |letter: char| {
        letter.is_ascii() || OWN.iter().any(|(first, last)| (*first..=*last).contains(&letter))
    };
    folded(name, Separators::None).chars().find(|letter| !is_known(*letter))
}

/// Whether a text is in the usual form of each of its letters: none is of full width or unseen, and none looks like a Latin one.
#[must_use]
pub fn is_usual(text: &str) -> bool {
    compatible(text) == text && look(text) == text
}

fn compatible(text: &str) -> String {
    if text.is_ascii() { text.to_owned() } else { text.nfkc().collect() }
}

fn capitals(text: &str) -> String {
    text.to_uppercase().nfc().filter(|letter| !is_unseen(*letter)).collect()
}

/// The text without the separators that do not matter, whatever sign they are; one that does is a hyphen.
fn joined(text: &str, separators: Separators) -> String {
    let is_separator = |letter: char| !letter.is_alphanumeric();
    let mut joined = String::with_capacity(text.len());
    let mut parted = false;
    for letter in text.chars() {
        if is_separator(letter) {
            parted = true;
            continue;
        }
        let between = letter.is_ascii_digit() && joined.ends_with(|last: char| last.is_ascii_digit());
        if std::mem::take(&mut parted) && between && separators == Separators::BetweenDigits {
            joined.push('-');
        }
        joined.push(letter);
    }
    joined
}

/// Says that what was written looks like a name and is another: with the characters that tell them apart.
#[must_use]
pub fn said(written: &str, name: &str) -> String {
    let odd = |text: &str| -> Vec<String> {
        let odd = text.chars().filter(|letter| is_unseen(*letter) || latin(*letter) != *letter);
        odd.take(3).map(|letter| format!("U+{:04X}", u32::from(letter))).collect()
    };
    let (text, codes) = match odd(written) {
        codes if codes.is_empty() => (name, odd(name)),
        codes => (written, codes),
    };
    format!("`{name}` looks the same, but is written with other letters ({} in `{text}`)", codes.join(", "))
}

/// Whether the words of one of several texts are in a text, whole and one behind the other, without regard to capital letters
/// and to what is between words. A text without words is in none.
#[must_use]
pub fn mentions<'w>(text: &str, mut wanted: impl Iterator<Item = &'w str>) -> bool {
    let text = words_of(text);
    wanted.any(|wanted| {
        let wanted = words_of(wanted);
        !wanted.is_empty() && text.windows(wanted.len()).any(|stretch| stretch == wanted)
    })
}

/// The words of a text, in small letters.
#[must_use]
pub fn words_of(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}
