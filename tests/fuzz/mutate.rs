//! Inputs made from others, by the same numbers in every run.

use fastrand::Rng;

/// What troubles readers of YAML, of rules, of CSV and of values.
const PIECES: [&str; 64] = [
    "\t",
    "\r",
    "\n",
    "\0",
    "\u{feff}",
    "ü",
    "🔧",
    "\u{202e}",
    "\u{2028}",
    "\u{a0}",
    "e\u{301}",
    "[",
    "]",
    "{",
    "}",
    "(",
    ")",
    ",",
    ";",
    ":",
    ": ",
    "- ",
    "? ",
    "#",
    "'",
    "\"",
    "“",
    "\\",
    "&a ",
    "*a",
    "!!x ",
    "|\n",
    ">-\n",
    "---\n",
    "...\n",
    "%",
    "<<: ",
    "=",
    "<=",
    "..",
    "±",
    "+/-",
    "-",
    "−",
    "Δ",
    "°C",
    "°F",
    "Nm",
    " Nm",
    "bar",
    "0",
    "9",
    "1e9",
    "1,5",
    "5 %",
    "not ",
    " and ",
    "every f in fastenings: ",
    "recorded ",
    "rule r \"t\"\n",
    "let x = ",
    "no",
    "~",
    "\n===\n",
];

/// An input with one to four changes, at most so long.
pub fn mutated(random: &mut Rng, seeds: &[Vec<u8>], longest: usize) -> Vec<u8> {
    let mut bytes = seeds[random.usize(..seeds.len())].clone();
    // A part of a long one: most of it would be the same in every input.
    if bytes.len() > longest && random.u8(..4) > 0 {
        bytes.truncate(random.usize(longest / 2..longest));
    }
    for _ in 0..random.usize(1..5) {
        change(random, &mut bytes, seeds);
    }
    bytes.truncate(longest.max(8_192));
    bytes
}

fn change(random: &mut Rng, bytes: &mut Vec<u8>, seeds: &[Vec<u8>]) {
    let at = random.usize(..=bytes.len());
    let end = (at + random.usize(1..24)).min(bytes.len());
    match random.u8(..10) {
        0 if at < bytes.len() => bytes[at] ^= 1 << random.u8(..8),
        1 if at < bytes.len() => bytes[at] = random.u8(..),
        2 => drop(bytes.drain(at..end)),
        3 => {
            let copy = bytes[at..end].to_vec();
            let times = random.usize(1..6);
            bytes.splice(at..at, copy.repeat(times));
        }
        4 => line_again(random, bytes),
        5 => {
            let other = &seeds[random.usize(..seeds.len())];
            let from = random.usize(..=other.len());
            let to = (from + random.usize(1..200)).min(other.len());
            bytes.splice(at..end, other[from..to].iter().copied());
        }
        6 => number(random, bytes),
        7 => bytes.truncate(at),
        _ => drop(bytes.splice(at..at, PIECES[random.usize(..PIECES.len())].bytes())),
    }
}

/// A line of the input once more, at another place.
fn line_again(random: &mut Rng, bytes: &mut Vec<u8>) {
    let lines: Vec<&[u8]> = bytes.split_inclusive(|byte| *byte == b'\n').collect();
    if lines.is_empty() {
        return;
    }
    let line = lines[random.usize(..lines.len())].to_vec();
    let place: usize = lines[..random.usize(..lines.len())].iter().map(|line| line.len()).sum();
    bytes.splice(place..place, line);
}

/// One of the digits of the input, several times or another.
fn number(random: &mut Rng, bytes: &mut Vec<u8>) {
    let digits: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at].is_ascii_digit()).collect();
    if digits.is_empty() {
        return;
    }
    let at = digits[random.usize(..digits.len())];
    let times = [1, 1, 2, 13, 45][random.usize(..5)];
    bytes.splice(at..=at, std::iter::repeat_n(b'0' + random.u8(..10), times));
}
