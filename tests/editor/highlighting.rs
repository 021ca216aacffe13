//! The TextMate grammar for rule files has every word of the language, and none that is none.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::support::text;

/// Words that are checked behind the grammar, because a near one is offered for them.
const CHECKED: [&str; 12] = [
    "hold",
    "advice",
    "note",
    "pass",
    "met",
    "broken",
    "undecided",
    "concerned",
    "guarded",
    "simple",
    "acceptance",
    "rejection",
];

fn words(text: &str) -> BTreeSet<String> {
    let parts = text.split(|c: char| !c.is_ascii_lowercase());
    parts.filter(|word| word.len() > 1).map(str::to_owned).collect()
}

/// What stands between quotes in the productions.
fn of_the_language() -> BTreeSet<String> {
    let grammar = text("grammar/standard.pest");
    let productions = grammar.lines().filter(|line| !line.trim_start().starts_with("//"));
    let is_word = |quoted: &&str| quoted.len() > 1 && quoted.chars().all(|c| c.is_ascii_lowercase());
    let quoted = productions.flat_map(|line| line.split('"').skip(1).step_by(2).filter(is_word));
    quoted.map(str::to_owned).collect()
}

#[test]
fn highlighting_knows_the_words_of_the_language() {
    let grammar: Value = serde_json::from_str(&text("examples/editors/standard.tmLanguage.json")).unwrap();
    let of_patterns = |name: &str| words(grammar["repository"][name]["match"].as_str().unwrap());
    let shown: BTreeSet<String> =
        ["definition", "clause", "word", "truth"].into_iter().flat_map(of_patterns).collect();
    let language = of_the_language();
    assert!(language.len() > 60, "{language:?}");
    assert_eq!(language.difference(&shown).collect::<Vec<_>>(), [""; 0], "not shown");
    assert_eq!(shown.difference(&language).collect::<Vec<_>>(), [""; 0], "no words of the language");
    let checked: BTreeSet<String> = CHECKED.iter().map(|word| (*word).to_owned()).collect();
    assert_eq!(of_patterns("outcome"), checked);
}
