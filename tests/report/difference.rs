//! Differences line by line, against the ones that the crate makes of whole texts.

use similar::TextDiff;
use witnessmark::report::difference::{MOST_LINES, unified};

fn of_the_crate(old: &str, new: &str) -> String {
    TextDiff::from_lines(old, new).unified_diff().context_radius(3).header("old", "new").to_string()
}

/// A text of few different lines, so that many are alike, with every kind of line end.
fn text(rng: &mut fastrand::Rng) -> String {
    let line = |rng: &mut fastrand::Rng| {
        let words = ["", "a", "b", "torque: 12 Nm", "torque: 9 Nm", "}"];
        let ends = ["\n", "\n", "\n", "\n", "\r\n", "\r"];
        format!("{}{}", rng.choice(words).unwrap(), rng.choice(ends).unwrap())
    };
    let most = if rng.u8(..8) == 0 { 300 } else { 20 };
    let count = rng.usize(..most);
    let lines: String = (0..count).map(|_| line(rng)).collect();
    if rng.bool() { lines } else { lines.trim_end().to_owned() }
}

fn edited(text: &str, rng: &mut fastrand::Rng) -> String {
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    for _ in 0..rng.usize(..4) {
        let at = rng.usize(..=lines.len());
        match rng.u8(..3) {
            0 => lines.insert(at, "new\n"),
            1 if at < lines.len() => drop(lines.remove(at)),
            _ => lines.reverse(),
        }
    }
    lines.concat()
}

#[test]
fn a_difference_is_the_same_as_that_of_whole_texts() {
    let mut rng = fastrand::Rng::with_seed(11);
    for _ in 0..3000 {
        let old = text(&mut rng);
        let new = if rng.bool() { text(&mut rng) } else { edited(&old, &mut rng) };
        let found = unified(("old", &old), ("new", &new)).unwrap();
        assert_eq!(found, of_the_crate(&old, &new), "{old:?} {new:?}");
    }
}

#[test]
fn texts_of_too_many_lines_have_no_difference_line_by_line() {
    let long = "line\n".repeat(MOST_LINES);
    assert_eq!(unified(("old", &long), ("new", "")), Some(of_the_crate(&long, "")));
    assert_eq!(unified(("old", &long), ("new", "line\n")), None);
}
