//! Every code of a diagnostic is explained, and some test produces it.

use std::collections::HashSet;

use witnessmark::code::CODES;

use crate::cases::codes_expected;
use crate::support::{files_below, text};

#[test]
fn every_code_is_explained_in_whole_sentences() {
    let mut seen = HashSet::new();
    for row in CODES {
        let code = row.code.as_str();
        assert!(seen.insert(code), "{code} stands twice");
        let (area, what) = code.split_once('/').unwrap_or_else(|| panic!("{code} has no area"));
        let plain = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        assert!(plain(area) && plain(what), "{code} is not of the form area/what-is-wrong");
        assert!(row.title.starts_with(char::is_lowercase) && !row.title.ends_with('.'), "{code}: title");
        assert!(row.explanation.starts_with(|c: char| c.is_uppercase() || c == '`'), "{code}: explanation");
        assert!(row.explanation.ends_with('.') && row.explanation.len() > 40, "{code}: explanation");
        assert!(!row.explanation.contains("  "), "{code}: a gap in the explanation");
    }
}

/// The codes of rules and records are expected at their lines by a case; those of the run as a whole
/// have no line and are looked for by the tests of the commands; those of the other areas by the
/// tests of their area, by code or by the name of the constant.
#[test]
fn every_code_is_produced_by_some_test() {
    let in_cases = codes_expected();
    let in_analysis: String = files_below("tests/analysis/rules").iter().map(text).collect();
    let own = |path: &String| path.ends_with(".rs") && path != "tests/codes.rs";
    let tests: String = files_below("tests").iter().filter(|path| own(path)).map(text).collect();
    let constants = constants();
    assert_eq!(constants.len(), CODES.len(), "the table in src/base/code.rs is written in another form");
    let produced = |(constant, code): &&(String, String)| {
        let named = words(&tests).any(|word| word == *constant);
        let expected =
            || ["advice", "error"].iter().any(|level| in_analysis.contains(&format!("{level} {code}")));
        in_cases.contains(code) || expected() || tests.contains(&format!("\"{code}\"")) || named
    };
    let missing: Vec<_> = constants.iter().filter(|row| !produced(row)).map(|(_, code)| code).collect();
    assert!(missing.is_empty(), "no test produces {missing:?}");
    let only_in_tests =
        |(_, code): &&(String, String)| code.starts_with("rules/") && !in_cases.contains(code);
    let homeless: Vec<_> = constants.iter().filter(only_in_tests).map(|(_, code)| code.as_str()).collect();
    // Trials, days and the choice of standards belong to `prove`, to the tests of the language and the command line; a builtin without an
    // answer on a record leaves its rule undecided, and no rule file can hold that. What is too much is
    // made by the tests of limits.
    let elsewhere = [
        "rules/no-such-standard",
        "rules/trial-failed",
        "rules/no-trial",
        "rules/mutant-survives",
        "rules/not-exercised",
        "rules/no-basis",
        "rules/said-again",
        "rules/trial-record",
        "rules/period",
        "rules/vin-form",
        "rules/too-much-work",
        "rules/many-mistakes",
    ];
    let wrong: Vec<_> = homeless.iter().filter(|code| !elsewhere.contains(code)).collect();
    assert!(wrong.is_empty(), "no case expects {wrong:?} at its line");
}

/// The rows of the table in `src/base/code.rs`: the name of the constant and the code.
fn constants() -> Vec<(String, String)> {
    let source = text("src/base/code.rs");
    let rows = source.lines().filter_map(|line| {
        let (name, rest) = line.trim().split_once(" = \"")?;
        let (code, _) = rest.split_once('"')?;
        let constant = name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
        constant.then(|| (name.to_owned(), code.to_owned()))
    });
    rows.collect()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_ascii_alphanumeric() && c != '_')
}
