//! `rules/README.md`, the index of the shipped standards, is what the checked program says of them.
//! `WITNESSMARK_BLESS=1` writes it.

use similar::TextDiff;
use witnessmark::language::typed::Standard;
use witnessmark::library::{LENT, SHIPPED};
use witnessmark::report::text::fill;
use witnessmark::session::Session;

use crate::support::{root, session};

const PATH: &str = "rules/README.md";
const WIDTH: usize = 120;

const HEAD: &str = "# The shipped standards

This index is made from the rules, and a test compares it; `WITNESSMARK_BLESS=1 cargo test rule_index` writes it.
`witnessmark why NAME` tells more of each standard, rule and parameter.

Parameters are stated under `parameters` in the workshop's settings. Where a field is named below a parameter, a value of
that field is written, or `every other`. A `VALUE` in the place of `{ FIELD: VALUE }` counts whatever the field is, and one that
counts for the whole parameter can be stated with `--parameter NAME=VALUE` too.
";

fn shipped() -> Session {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|one| (one.file, one.text)).collect();
    let session = session(&files);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session
}

/// An entry of a list, in short lines.
fn entry(text: &str) -> String {
    fill("- ", 2, text, WIDTH) + "\n"
}

fn chapter(session: &Session, standard: &Standard) -> String {
    let mut page = format!("\n## {}\n\n", standard.name);
    page += &(fill("", 0, &format!("{}. Edition {}.", standard.title, standard.edition), WIDTH) + "\n\n");
    page += &entry(&format!("Judges: `{}`", standard.form));
    if let Some(condition) = &standard.condition {
        let words =
            session.sources().text_at(condition.place).split_whitespace().collect::<Vec<_>>().join(" ");
        page += &entry(&format!("Applies where: `{words}`"));
    } else {
        page += &entry(&format!("Applies to: every {}", standard.form));
    }
    page += "\nRules:\n\n";
    for (_, rule) in session.program().all_rules_of(standard) {
        page += &entry(&format!("`{}`, {}: {}", rule.name, rule.severity.word(), rule.title));
    }
    let parameters = session.parameters_of(standard);
    if !parameters.is_empty() {
        page += "\nParameters:\n\n";
    }
    for one in parameters {
        page += &entry(&format!("`{}`, {}: {};", one.name, one.in_words(), one.title));
        page += &(fill("  ", 2, &format!("stated as `{}`", one.setting()), WIDTH) + "\n");
    }
    page
}

/// The names that standards share, with what they are.
fn lent(session: &Session) -> String {
    let mut page = String::new();
    for lent in LENT {
        page += &format!(
            "\n## {}\n\nNames that any rule file can use, with `use \"{}\"`:\n\n",
            lent.name, lent.file
        );
        for one in session.program().lets().all() {
            if session.sources().name(one.place.source) == lent.file {
                let words = session
                    .sources()
                    .text_at(one.value.place)
                    .split_whitespace()
                    .collect::<Vec<_>>()
                    .join(" ");
                page += &entry(&format!("`{}`: `{words}`", one.name));
            }
        }
    }
    page
}

fn index(session: &Session) -> String {
    let chapters = session.program().standards().iter().map(|standard| chapter(session, standard));
    HEAD.to_owned() + &chapters.collect::<String>() + &lent(session)
}

#[test]
fn the_index_of_the_rules_is_what_the_program_says_of_them() {
    let found = index(&shipped());
    if std::env::var("WITNESSMARK_BLESS").is_ok_and(|value| value == "1") {
        std::fs::write(root().join(PATH), &found).unwrap();
    }
    let kept = std::fs::read_to_string(root().join(PATH)).unwrap_or_default();
    if kept != found {
        let diff = TextDiff::from_lines(kept.as_str(), &found);
        panic!("{PATH} has changed:\n{}", diff.unified_diff().context_radius(3));
    }
}

/// Whatever the program judges by is in the index, and no parameter twice.
#[test]
fn every_standard_rule_and_parameter_is_in_the_index() {
    let session = shipped();
    let index = index(&session);
    let program = session.program();
    for rule in program.rules().all() {
        assert_eq!(index.matches(&format!("- `{}`, ", rule.name)).count(), 1, "{}", rule.name);
    }
    for parameter in program.parameters().all() {
        assert_eq!(index.matches(&format!("- `{}`, ", parameter.name)).count(), 1, "{}", parameter.name);
    }
    for shipped in SHIPPED {
        assert!(index.contains(&format!("\n## {}\n", shipped.name)), "{}", shipped.name);
    }
}
