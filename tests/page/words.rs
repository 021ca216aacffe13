//! The page in its languages.

use std::collections::BTreeSet;

use witnessmark::bench::words::{Language, Words};
use witnessmark::document::{Forms, Record, Shape};

use crate::support::text;

/// The names of the texts of a language, and of each how many lines say it.
fn names(language: Language) -> Vec<String> {
    let file = text(format!("src/show/bench/assets/{}.ftl", language.tag()));
    let named = file.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_lowercase()));
    named.map(|line| line.split_once(" =").expect(line).0.to_owned()).collect()
}

#[test]
fn both_languages_say_the_same_things_once() {
    let of = |language| {
        let all = names(language);
        let once: BTreeSet<String> = all.iter().cloned().collect();
        assert_eq!(once.len(), all.len(), "{language:?} says something twice: {all:?}");
        once
    };
    let is_of_page = |name: &&String| !name.starts_with("field-") && !name.starts_with("word-");
    let (english, german) = (of(Language::English), of(Language::German));
    let english: BTreeSet<_> = english.iter().filter(is_of_page).collect();
    let german: BTreeSet<_> = german.iter().filter(is_of_page).collect();
    assert_eq!(english, german);
}

#[test]
fn every_text_that_the_page_asks_for_is_there() {
    let there: BTreeSet<String> = names(Language::English).into_iter().collect();
    let mut asked = 0;
    for file in crate::support::files_below("src")
        .iter()
        .filter(|file| file.contains("bench/") && file.ends_with(".rs"))
    {
        let code = text(file);
        for call in [".say(\"", ".count(\"", ".with(\""] {
            for name in code.split(call).skip(1).map(|rest| rest.split('"').next().unwrap()) {
                assert!(there.contains(name), "{file} asks for `{name}`");
                asked += 1;
            }
        }
    }
    assert!(asked > 40, "{asked}");
}

#[test]
fn every_field_and_word_of_a_job_has_a_german_name() {
    fn look(record: &Record, without: &mut BTreeSet<String>) {
        let words = Words(Language::German);
        for field in &record.fields {
            if words.field(&record.title, &field.name).to_lowercase() == field.name.replace('_', " ") {
                without.insert(field.name.to_string());
            }
            let mut shape = &field.shape;
            while let Shape::List(entry) = shape {
                shape = entry;
            }
            match shape {
                Shape::Record(inner) => look(inner, without),
                Shape::Word(list) => without
                    .extend(list.iter().filter(|word| words.word(word) == ***word).map(ToString::to_string)),
                _ => {}
            }
        }
    }
    let mut without = BTreeSet::new();
    look(Forms::builtin().get("job").unwrap().record(), &mut without);
    // What is the same in both.
    for same in [
        "status", "position", "name", "code", "x", "y", "adapter", "filters", "vacuum", "beta", "sha256",
        "pedal", "job/1",
    ] {
        without.remove(same);
    }
    without.retain(|word| !word.starts_with("DOT"));
    assert!(without.is_empty(), "{without:?}");
}

#[test]
fn numbers_bend_the_words() {
    assert_eq!(Words(Language::English).count("holds", 1), "1 hold");
    assert_eq!(Words(Language::German).count("holds", 2), "2 Sperren");
    assert_eq!(Language::wanted("fr-FR,de-AT;q=0.8,en;q=0.5"), Language::German);
    assert_eq!(Language::wanted(""), Language::English);
}
