//! A text of which some was read before is read as if it were read for the first time.

use fastrand::Rng;
use witnessmark::language::{Clauses, Wanted, parse_again};
use witnessmark::library::SHIPPED;
use witnessmark::source::{SourceId, Sources};

#[track_caller]
fn compare(source: SourceId, text: &str, wanted: Wanted, known: &Clauses) {
    let again = format!("{:?}", parse_again(source, text, wanted, Some(known)));
    let anew = format!("{:?}", parse_again(source, text, wanted, None));
    if again != anew {
        let at = again.bytes().zip(anew.bytes()).take_while(|(one, other)| one == other).count();
        let near = |whole: &str| whole.chars().skip(at.saturating_sub(200)).take(400).collect::<String>();
        panic!("read again\n{}\nand anew\n{}\nin {text}", near(&again), near(&anew));
    }
}

/// What is typed by mistake, and what changes how all that follows is cut.
const TYPED: [&str; 16] = [
    "\"",
    "{",
    "}",
    "(",
    "\n",
    "#",
    " ",
    "x",
    "ß",
    "1",
    " Nm",
    "\nrule a_b \"C\"\n",
    "\n  demands ",
    ".. ",
    "let ",
    "−",
];

/// One change as somebody makes it in an editor.
fn edit(text: &mut String, random: &mut Rng) {
    let mut at = || text.floor_char_boundary(random.usize(..=text.len()));
    let (one, other) = (at(), at());
    match random.u8(..4) {
        // A line twice, elsewhere or not any more.
        0 => {
            let begin = text[..one].rfind('\n').map_or(0, |at| at + 1);
            let end = text[one..].find('\n').map_or(text.len(), |at| one + at + 1);
            let line = text[begin..end].to_owned();
            let to = text[..other].rfind('\n').map_or(0, |at| at + 1);
            match random.bool() {
                true => text.insert_str(to, &line),
                false => text.replace_range(begin..end, ""),
            }
        }
        1 => {
            let end = text.ceil_char_boundary((one + random.usize(..12)).min(text.len()));
            text.replace_range(one..end, "");
        }
        _ => text.insert_str(one, TYPED[random.usize(..TYPED.len())]),
    }
}

#[test]
fn a_text_that_was_changed_is_read_again_as_anew() {
    let source = Sources::new().add("rules", "");
    let mut random = Rng::with_seed(19);
    let known = Clauses::default();
    for shipped in SHIPPED {
        // A part of it, so that there is time for many changes.
        let items: Vec<&str> = shipped.text.split("\n\n").collect();
        for _ in 0..4 {
            let from = random.usize(..items.len());
            let part = items[from..(from + 6).min(items.len())].join("\n\n");
            let mut text = format!("{}\n\n{part}", items[0]);
            for _ in 0..12 {
                for wanted in [Wanted::All, Wanted::NoTrials, Wanted::Declarations] {
                    compare(source, &text, wanted, &known);
                }
                edit(&mut text, &mut random);
            }
        }
    }
}
