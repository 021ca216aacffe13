//! What holds for any two texts, on every shipped and told example and on seeded edits of them.

use witnessmark::compare::Side;
use witnessmark::document::Forms;

use super::{documents, mirrored, read, session, sorted, standards, text_at};
use crate::support::{files_below, rule_files, text};

fn examples() -> Vec<String> {
    let readable =
        |path: &String| path.ends_with(".yaml") && !path.contains("slips") && !path.contains("workshop");
    let paths = files_below("examples").into_iter().filter(readable);
    paths
        .map(text)
        .filter(|text| text.contains("form: job/1") || text.contains("form: procedure/1"))
        .collect()
}

fn rules() -> Vec<String> {
    rule_files().iter().map(text).collect()
}

/// A text with lines taken out, doubled or exchanged, and digits turned.
fn damaged(text: &str, random: &mut fastrand::Rng) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for _ in 0..random.usize(1..6) {
        let at = random.usize(2..lines.len());
        match random.u8(0..4) {
            0 => drop(lines.remove(at)),
            1 => lines.insert(at, lines[at].clone()),
            2 => lines.swap(at, 2 + (at - 2 + 1) % 3),
            _ => {
                let digit = char::from(b'1' + random.u8(0..9));
                lines[at] = lines[at].replacen(|c: char| c.is_ascii_digit(), &digit.to_string(), 1);
            }
        }
        if lines.len() < 6 {
            break;
        }
    }
    lines.join("\n") + "\n"
}

#[test]
fn nothing_differs_from_itself() {
    for text in examples() {
        let found = documents(&text, &text);
        assert!(found.changes.is_empty() && found.spellings.is_empty(), "{found:#?}");
    }
    for text in rules() {
        let found = standards(&text, &text);
        assert!(found.changes.is_empty() && found.spellings.is_empty(), "{found:#?}");
        assert!(found.renamed_rules.is_empty());
    }
}

#[test]
fn comments_and_layout_are_no_change() {
    for text in examples() {
        // A comment behind the first line, windows line ends, blank lines.
        let other =
            text.replacen("\nform: job/1", "\n\n# here\nform:   job/1   # there", 1).replace('\n', "\r\n");
        assert!(documents(&text, &other).changes.is_empty());
        assert!(documents(&text, &format!("---\n{text}\n\n# the end\n")).changes.is_empty());
    }
    for text in rules() {
        let other = text.replace("\n  demands ", "\n\n# a comment\n      demands\n       ");
        let found = standards(&text, &other);
        assert!(found.changes.is_empty() && found.spellings.is_empty(), "{found:#?}");
    }
}

#[test]
fn seen_from_the_other_side_the_changes_are_the_same() {
    let mut random = fastrand::Rng::with_seed(20_260_302);
    let forms = Forms::builtin();
    let mut compared = 0;
    for text in examples() {
        for _ in 0..12 {
            let other = damaged(&text, &mut random);
            let (list, wrong) =
                witnessmark::document::read(witnessmark::source::SourceId::FIRST, &other, &forms);
            if witnessmark::compare::one_document(&list, &wrong).is_err()
                || list[0].form() != read(&text, &forms).form()
            {
                continue;
            }
            compared += 1;
            let (forth, back) = (documents(&text, &other), documents(&other, &text));
            assert_eq!(mirrored(&forth), sorted(&back), "{other}");
            found_again(&text, &forth, |change| change.from.as_ref(), &forms);
            found_again(&other, &forth, |change| change.to.as_ref(), &forms);
        }
    }
    assert!(compared > 60, "only {compared} edits could be read");
    let rules = rules();
    for (old, new) in rules.iter().zip(rules.iter().skip(1)) {
        assert_eq!(mirrored(&standards(old, new)), sorted(&standards(new, old)));
    }
}

/// Every side of a change is the node at its path, and its place that of the node.
fn found_again<'c>(
    text: &str,
    comparison: &'c witnessmark::compare::Comparison,
    side: impl Fn(&'c witnessmark::compare::Change) -> Option<&'c Side>,
    forms: &Forms,
) {
    let document = read(text, forms);
    for side in comparison.changes.iter().filter_map(side) {
        let node = document.find(&side.path).unwrap_or_else(|| panic!("{} is nowhere", side.path));
        assert_eq!(document.place(node), side.place, "{}", side.path);
    }
}

/// What is said of a standard stands at the place that is named.
#[test]
fn changes_of_standards_stand_where_they_are_said_to() {
    let rules = rules();
    let mut looked_at = 0;
    for (old, new) in rules.iter().zip(rules.iter().skip(1)) {
        let (ours, theirs) = (session(old), session(new));
        for change in standards(old, new).changes {
            for (side, session) in [(change.from, &ours), (change.to, &theirs)] {
                let Some(side) = side else { continue };
                let there = text_at(session.sources(), &side);
                assert!(!there.is_empty(), "{side:?}");
                let first = side.words.split([' ', ',', '"', '→']).find(|word| word.len() > 3);
                // The words of a list are written where it is named, and a head is told with the names of its parts.
                let known = first.is_none_or(|word| there.contains(word))
                    || side.path.contains("if_unrecorded")
                    || side.path.is_empty()
                    || side.words.contains("one of (");
                assert!(known, "{side:?} is not in `{there}`");
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 100, "{looked_at}");
}
