//! Makers of texts on which two readers might differ.

use fastrand::Rng;

/// Signs of YAML and a few contents, put together without a plan.
const PIECES: [&str; 48] = [
    "a", "b", "é", "0", "~", "a: ", "b: ", "c:", "a: b", ":", ": ", " :", "- ", "- ", "-", "\n", "\n", "\n",
    "\n  ", "\n  ", "\n ", "\n    ", " ", "  ", "#", " # c", "'", "\"", "''", "\"\"", "[", "]", "{", "}",
    ",", ", ", "|\n", "|", ">\n", "? ", "&a ", "*a", "!t ", "%", "---\n", "...\n", "\t", "\\",
];

/// A text of a few pieces.
pub fn soup(random: &mut Rng) -> String {
    (0..random.usize(1..14)).map(|_| PIECES[random.usize(..PIECES.len())]).collect()
}

/// Pieces that are common in records.
const COMMON: [&str; 12] = ["a", "b: ", "c:", "\n", "\n  ", "- ", "\n- ", "#", "[", "]", "'", "|\n"];

/// The text of this number among all texts of `length` common pieces.
pub fn common(length: u32, number: usize) -> String {
    let places = (0..length).map(|place| number / COMMON.len().pow(place) % COMMON.len());
    places.map(|place| COMMON[place]).collect()
}

/// How many texts of `length` common pieces there are.
pub fn commons(length: u32) -> usize {
    COMMON.len().pow(length)
}

fn pick<'t>(random: &mut Rng, choices: &[&'t str]) -> &'t str {
    choices[random.usize(..choices.len())]
}

/// A text laid out in one of the ways that people choose, with a slip now and then.
pub fn laid_out(random: &mut Rng) -> String {
    let mut text = String::new();
    text.push_str(pick(random, &["", "", "", "# head\n", "---\n", "\n", "# a\n---\n", "  # b\n\n"]));
    for document in 0..pick(random, &["1", "1", "1", "1", "2", "3"]).parse().unwrap() {
        if document > 0 {
            text.push_str(pick(
                random,
                &["---\n", "---\n", "---\n", "...\n---\n", "--- \n", "\n---\n", "--- # c\n"],
            ));
        }
        let column = if random.u8(..20) == 0 { 2 } else { 0 };
        match random.u8(..8) {
            0 => list(random, column, 0, &mut text),
            1 => {
                flow(random, 0, column, &mut text);
                text.push_str(pick(random, &["", "\n", "\n", " # c\n"]));
            }
            _ => map(random, column, 0, &mut text),
        }
    }
    match random.u8(..24) {
        0 => drop(text.pop()),
        1 => text.push_str(pick(random, &["  ", "\n\n", "# end", "...\n", "---\n", "  \n", "a"])),
        _ => {}
    }
    text
}

/// The beginning of a line in a column, at times in another one.
fn indent(random: &mut Rng, column: usize, text: &mut String) {
    if random.u8(..40) == 0 {
        text.push_str(pick(random, &["\n", "# comment\n", "    # deep\n", "  \n", "\n\n", " # c\n"]));
    }
    let slip = match random.u8(..250) {
        0 => column + 1,
        1 => column.saturating_sub(1),
        2 => column + 2,
        3 => column.saturating_sub(2),
        _ => column,
    };
    text.extend(std::iter::repeat_n(' ', slip));
}

fn end(random: &mut Rng, text: &mut String) {
    text.push_str(pick(random, &["\n", "\n", "\n", "\n", "\n", "\n", " # c\n", "  \n", "   # é: [\n"]));
}

const NAMES: [&str; 8] = ["a", "b", "name", "a_b", "c.d", "x1", "oil", "A"];

/// A name that its group does not have yet, most of the time.
fn name(random: &mut Rng, number: usize) -> String {
    match random.u8(..240) {
        0 => "a".to_owned(),
        1 => format!("\"q{number}\""),
        2 => format!("-k{number}"),
        3 => format!("k{number} "),
        4 => format!("ö{number}"),
        5 => format!("i j{number}"),
        _ => format!("{}{number}", NAMES[random.usize(..NAMES.len())]),
    }
}

fn map(random: &mut Rng, column: usize, depth: usize, text: &mut String) {
    for number in 0..random.usize(1..5) {
        indent(random, column, text);
        field(random, number, column, depth, text);
    }
}

fn field(random: &mut Rng, number: usize, column: usize, depth: usize, text: &mut String) {
    text.push_str(&name(random, number));
    text.push_str(if random.u8(..200) == 0 { pick(random, &[":", " :", ":  ", "::"]) } else { ":" });
    match random.u8(..if depth < 4 { 16 } else { 10 }) {
        0 => end(random, text),
        1 => lines(random, column, text),
        2..10 => {
            text.push_str(pick(random, &[" ", " ", " ", "  "]));
            value(random, column, text);
            end(random, text);
        }
        10..12 => {
            end(random, text);
            let inner = column + deeper(random);
            map(random, inner, depth + 1, text);
        }
        12..14 => {
            end(random, text);
            let inner = column + deeper(random);
            list(random, inner, depth + 1, text);
        }
        _ => {
            end(random, text);
            list(random, column, depth + 1, text);
        }
    }
}

fn deeper(random: &mut Rng) -> usize {
    [2, 2, 2, 2, 4, 1, 3][random.usize(..7)]
}

fn list(random: &mut Rng, column: usize, depth: usize, text: &mut String) {
    for _ in 0..random.usize(1..4) {
        indent(random, column, text);
        text.push('-');
        match random.u8(..if depth < 4 { 10 } else { 4 }) {
            0..4 => {
                text.push_str(pick(random, &[" ", " ", " ", "   "]));
                value(random, column, text);
                end(random, text);
            }
            4..8 => {
                let gap = [1, 1, 1, 3][random.usize(..4)];
                text.extend(std::iter::repeat_n(' ', gap));
                field(random, 0, column + 1 + gap, depth + 1, text);
                if random.bool() {
                    indent(random, column + 1 + gap, text);
                    field(random, 1, column + 1 + gap, depth + 1, text);
                }
            }
            8 => {
                end(random, text);
                let inner = column + deeper(random);
                map(random, inner, depth + 1, text);
            }
            _ => {
                text.push(' ');
                list(random, column + 2, depth + 1, text);
            }
        }
    }
}

const VALUES: [&str; 62] = [
    "45 Nm",
    "yes",
    "no",
    "~",
    "null",
    "1e3",
    "0.9",
    "-5 °C",
    "−5",
    "- 5",
    "-a",
    "--",
    ".5",
    "a b  c",
    "größer",
    "ネジ",
    "a:b",
    "10:30",
    "http://host/x?y=1#z",
    "a # b",
    "a#b",
    "a #b",
    "# a",
    "a: b",
    "a:",
    "x, y",
    "x [y]",
    "{x",
    "x}",
    "'quoted'",
    "'it''s'",
    "''",
    "' '",
    "'a # b: c'",
    "\"double\"",
    "\"\"",
    "\"a \\n b\"",
    "\"a 'b' c\"",
    "'a \"b\" \\ c'",
    "'open",
    "'a' b",
    "\"a\"b",
    "|",
    ">",
    "&a b",
    "*a",
    "!t b",
    "%a",
    "@a",
    "`a",
    "? a",
    "?a",
    ":a",
    "a\u{a0}b",
    "\u{a0}",
    "a\u{85}b",
    "a\u{2028}b",
    "\u{feff}a",
    "a\tb",
    "🔧",
    "<<",
    "=",
];

/// Values that mean the same to everybody.
const PLAIN: [&str; 10] =
    ["45 Nm", "yes", "2026-03-02", "T-07", "'a: b'", "\"a # b\"", "größer", "12:30", "~", "-5 °C"];

fn value(random: &mut Rng, column: usize, text: &mut String) {
    match random.u8(..60) {
        0..40 => text.push_str(PLAIN[random.usize(..PLAIN.len())]),
        40..44 => text.push_str(VALUES[random.usize(..VALUES.len())]),
        44 => {
            // A text that goes on in the next line.
            text.push_str(pick(random, &["one\n", "'one\n", "\"one\n"]));
            text.extend(std::iter::repeat_n(' ', column + deeper(random)));
            text.push_str(pick(random, &["two", "two'", "two\"", "- two", "t: wo"]));
        }
        _ => flow(random, 0, column, text),
    }
}

/// What is between brackets, at times over several lines.
fn flow(random: &mut Rng, depth: usize, column: usize, text: &mut String) {
    let map = random.bool();
    text.push(if map { '{' } else { '[' });
    gap(random, column, text);
    let count = random.usize(..4);
    for number in 0..count {
        if map {
            text.push_str(&name(random, number));
            text.push_str(if random.u8(..40) == 0 { pick(random, &[":", " : ", "", ":\n "]) } else { ": " });
        }
        match random.u8(..10) {
            0..6 => text.push_str(PLAIN[random.usize(..PLAIN.len())]),
            6 if random.bool() => text.push_str(VALUES[random.usize(..VALUES.len())]),
            _ if depth < 3 => flow(random, depth + 1, column, text),
            _ => text.push('x'),
        }
        gap(random, column, text);
        if number + 1 < count || random.u8(..20) == 0 {
            text.push_str(if random.u8(..40) == 0 { pick(random, &[",", " ,", ",,", ""]) } else { ", " });
            gap(random, column, text);
        }
    }
    let slip = random.u8(..100) == 0;
    text.push(if map != slip { '}' } else { ']' });
}

/// Nothing, a space or a line end between brackets.
fn gap(random: &mut Rng, column: usize, text: &mut String) {
    match random.u8(..30) {
        0..6 => text.push(' '),
        6..8 => {
            text.push('\n');
            let width = column + [2, 2, 1, 4, 0][random.usize(..5)];
            text.extend(std::iter::repeat_n(' ', width));
        }
        8 => text.push_str(pick(random, &["\n", "\n\n   ", " # c\n    ", "\t"])),
        _ => {}
    }
}

/// A text of several lines.
fn lines(random: &mut Rng, column: usize, text: &mut String) {
    text.push_str(pick(
        random,
        &[" |\n", " |\n", " |\n", " |\n", " >\n", " |-\n", " |+\n", " |2\n", " | # c\n", "  |  \n"],
    ));
    let width = column + deeper(random);
    for _ in 0..random.usize(..5) {
        match random.u8(..20) {
            0 => text.push('\n'),
            1 => text.push_str("  \n"),
            _ => {
                let further = [0, 0, 0, 0, 2, 1][random.usize(..6)];
                indent(random, width + further, text);
                text.push_str(pick(
                    random,
                    &["one", "two ü", "# three", "- four", "f: ive", "six  ", "\u{a0}", "'", "---"],
                ));
                text.push('\n');
            }
        }
    }
    if random.u8(..10) == 0 {
        text.push_str(pick(random, &["\n", "\n\n", "# c\n", "  # c\n", "    # c\n"]));
    }
}

/// A text with a few changes of the kind that a hand or a damaged file makes.
pub fn changed(random: &mut Rng, text: &str) -> String {
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    for _ in 0..random.usize(1..4) {
        if lines.is_empty() {
            break;
        }
        let at = random.usize(..lines.len());
        match random.u8(..10) {
            0 => lines[at].insert_str(0, pick(random, &[" ", "  ", "    ", "- ", "# ", "\t"])),
            1 => {
                lines[at] =
                    lines[at].strip_prefix(pick(random, &[" ", "  "])).unwrap_or(&lines[at]).to_owned()
            }
            2 => drop(lines.remove(at)),
            3 => lines.insert(at, lines[random.usize(..lines.len())].clone()),
            4 => lines.insert(
                at,
                pick(random, &["\n", "  \n", "# c\n", "      # c\n", "---\n", "...\n", "a: b\n"]).to_owned(),
            ),
            5 => {
                let other = random.usize(..lines.len());
                lines.swap(at, other);
            }
            _ => change_line(random, &mut lines[at]),
        }
    }
    lines.concat()
}

fn change_line(random: &mut Rng, line: &mut String) {
    let places: Vec<usize> = line.char_indices().map(|(at, _)| at).collect();
    let Some(at) = places.get(random.usize(..places.len().max(1))).copied() else { return };
    match random.u8(..4) {
        0 => drop(line.remove(at)),
        1 => line.truncate(at),
        2 => line.insert_str(at, VALUES[random.usize(..VALUES.len())]),
        _ => line.insert_str(at, PIECES[random.usize(..PIECES.len())]),
    }
}
