//! Rule files in their one layout: laid out once and for all, nothing lost, and nothing that means something else.

use witnessmark::code::INTERNAL_ERROR;
use witnessmark::document::{Document, yaml};
use witnessmark::language::ast::{Item, NewValue, Start};
use witnessmark::language::layout::laid_out;
use witnessmark::language::parse;

use super::check::{ALONE, decoded};

/// Lays a text out, and holds what comes out against it.
pub fn layout(data: &[u8]) {
    if let Some(text) = decoded(data) {
        lays_out(&text);
    }
}

/// Lays a text out; whether it could be.
pub fn lays_out(text: &str) -> bool {
    let laid = match laid_out(ALONE, text) {
        Ok(laid) => laid,
        Err(wrong) => {
            assert!(!wrong.is_empty(), "why a text is not laid out is said");
            assert!(wrong.iter().all(|found| found.code != INTERNAL_ERROR), "{wrong:#?}");
            assert!(!parse(ALONE, text).1.is_empty(), "a text that can be read is laid out");
            return false;
        }
    };
    assert_eq!(laid_out(ALONE, &laid).as_deref(), Ok(&*laid), "laid out again, it stays as it is");
    assert_eq!(ink(text), ink(&laid), "nothing that can be seen is lost or new");
    let ((meant, said, records), (means, says, laid_records)) = (meaning(text), meaning(&laid));
    assert_eq!((meant, said, records.len()), (means, says, laid_records.len()), "{laid}");
    for (one, other) in records.iter().zip(&laid_records) {
        assert!(is_the_same_record(one, other), "{one}\n{other}\n{laid}");
    }
    true
}

/// What can be seen of a text, but for what the layout of a record changes: the kind of its quotes, and a comma before
/// its closing bracket.
fn ink(text: &str) -> String {
    let seen = text.chars().filter(|c| !c.is_whitespace() && *c != ',' && *c != '\u{feff}');
    seen.map(|c| if c == '\'' { '"' } else { c }).collect()
}

/// What the parser reads in a text, and what it says of it, without places; and the texts of the records in it.
fn meaning(text: &str) -> (String, Vec<String>, Vec<String>) {
    let (mut file, said) = parse(ALONE, text);
    let mut records = Vec::new();
    for item in &mut file.items {
        let (starts, changes) = match item {
            Item::Rule(rule) => {
                let trials = &mut rule.trials;
                let starts: Vec<_> = trials.iter().map(|trial| trial.record.clone()).collect();
                (starts, trials.iter_mut().flat_map(|trial| &mut trial.changes).collect())
            }
            Item::Base(base) => (vec![base.record.clone()], base.changes.iter_mut().collect::<Vec<_>>()),
            _ => continue,
        };
        for start in starts {
            let Start::Own(span) = start else { continue };
            records.push(text[span.start as usize..span.end as usize].to_owned());
        }
        for change in changes {
            // A value that is read is compared as such, however it is written.
            if let Some(NewValue { value, written }) = &mut change.to {
                let written = written.take().filter(|_| value.is_none());
                records.extend(written.map(|written| format!("{{ entries: {written} }}")));
            }
        }
    }
    // Which word of a clause is named as the wrong one can depend on its blanks.
    let said = said.iter().map(|found| found.code.as_str().to_owned());
    (without_places(&format!("{:?}", file.items)), said.collect(), records)
}

/// Whether two texts say the same, by a reader that is not ours. That one does not read a colon on the line behind its key, which
/// YAML 1.2.2 (7.4.2) has between brackets; what it does not read as it was written is compared by ours.
fn is_the_same_record(one: &str, other: &str) -> bool {
    let read = |text: &str| serde_yaml::from_str::<serde_yaml::Value>(text).ok();
    let ours = |text: &str| {
        let (documents, said) = yaml::read(ALONE, text, 0);
        let said: Vec<_> = said.iter().map(|found| found.code).collect();
        (format!("{said:?}"), documents.into_iter().next().map(Document::into_owned))
    };
    match read(one) {
        Some(value) => Some(value) == read(other),
        None => match (ours(one), ours(other)) {
            ((said, Some(one)), (says, Some(other))) => said == says && one.says_the_same(&other),
            ((said, one), (says, other)) => said == says && one.is_none() && other.is_none(),
        },
    }
}

/// A tree as it is written for people who write programs, without the places in it.
fn without_places(shown: &str) -> String {
    let mut plain = String::with_capacity(shown.len());
    let mut rest = shown;
    while let Some((before, behind)) = rest.split_once("Span {") {
        plain.push_str(before);
        rest = behind.split_once('}').map_or("", |(_, rest)| rest);
    }
    plain + rest
}
