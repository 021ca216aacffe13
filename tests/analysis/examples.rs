//! Standards that are wrong though each of them parses and its trials come out: in the comment of a line, what is told there.

use witnessmark::diagnostic::Fault;
use witnessmark::library::Library;

use super::{claims, told};
use crate::support::{files_below, rule_files, session, session_with, setting, text};

#[test]
fn each_example_gets_what_it_says_and_nothing_else() {
    let mut wrong = Vec::new();
    let files = files_below("tests/analysis/rules");
    assert!(files.len() > 10, "only {} examples", files.len());
    for file in files {
        let rules = text(&file);
        let session = session(&[(&file, &rules)]);
        let errors: Vec<&str> = session.diagnostics().iter().map(|found| found.message.as_str()).collect();
        assert!(errors.is_empty(), "{file}: {errors:?}");
        let mut expected: Vec<(usize, String)> = Vec::new();
        for (number, line) in rules.lines().enumerate() {
            if let Some((_, wanted)) = line.split_once("# expect: ") {
                expected.extend(wanted.split(" | ").map(|one| (number + 1, one.trim().to_owned())));
            }
        }
        expected.sort();
        let found = told(&session);
        if found != expected {
            let said: Vec<String> = claims(&session).into_iter().map(|found| found.message).collect();
            wrong.push(format!("{file}: expected {expected:?}, found {found:?}: {said:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The files beside a rule file.
struct Beside;

impl Library for Beside {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let folder = from.rsplit_once('/').map_or("", |(folder, _)| folder);
        let name = format!("{folder}/{path}");
        let content = text(&name);
        Ok((name, content))
    }
}

/// No rule that ships is wrong in any of these ways, alone or beside the others.
#[test]
fn nothing_is_told_of_the_shipped_standards_and_the_examples() {
    let mut files = rule_files();
    files.extend(files_below("examples").into_iter().filter(|path| path.ends_with(".standard")));
    let texts: Vec<(String, String)> = files.iter().map(|file| (file.clone(), text(file))).collect();
    let borrowed: Vec<(&str, &str)> = texts
        .iter()
        .filter(|(_, text)| text.contains("\njudges"))
        .map(|(name, text)| (&**name, &**text))
        .collect();
    assert!(borrowed.len() > 14, "{}", borrowed.len());
    let of = |files: &[(&str, &str)]| {
        let opened = session_with(files, Vec::new(), setting("2026-03-02", "UTC"), &Beside);
        assert!(!opened.is_faulty(), "{:?}", opened.diagnostics());
        opened
    };
    assert_eq!(told(&of(&borrowed)), []);
    for one in &borrowed {
        assert_eq!(told(&of(std::slice::from_ref(one))), [], "{}", one.0);
    }
}
