//! The console blocks of the handbooks say what the program really says.
//!
//! A block begins with ```` ```console ````. Each line `$ witnessmark …` in it is run in the root of
//! the repository, and the lines up to the next `$` or the end of the block must be its output, with a
//! last line `[exit N]` its exit code. A line `...` stands for any lines that are left out. With `WITNESSMARK_BLESS=1` blocks without such a line
//! are rewritten as the program answers.
//!
//! A block ```` ```standard ```` is proved, with a head where it has none. A block ```` ```yaml ```` that names a form
//! is read; ```` ```yaml job ```` and ```` ```yaml workshop ```` are parts of such a document.

use std::path::Path;

use crate::support::{Folder, finish, program, root};

/// The handbooks.
pub const HANDBOOKS: [&str; 4] = ["README.md", "DEVELOPERS.md", "examples/README.md", "grammar/README.md"];

#[test]
fn every_console_block_says_what_the_program_says() {
    let mut wrong = Vec::new();
    for book in HANDBOOKS.iter().filter(|book| root().join(book).exists()) {
        let path = root().join(book);
        let written = std::fs::read_to_string(&path).unwrap();
        let answered = answer(&written);
        if std::env::var_os("WITNESSMARK_BLESS").is_some() {
            std::fs::write(&path, &answered.0).unwrap();
        } else {
            wrong.extend(answered.1.into_iter().map(|difference| format!("{book}: {difference}")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// The same text with every answer as it is today, and what differs.
fn answer(written: &str) -> (String, Vec<String>) {
    let (mut text, mut wrong) = (String::new(), Vec::new());
    let mut lines = written.lines().peekable();
    let mut inside = false;
    while let Some(line) = lines.next() {
        text.push_str(line);
        text.push('\n');
        match line.trim_end() {
            "```console" => inside = true,
            "```" => inside = false,
            command if inside && command.starts_with("$ witnessmark ") => {
                let mut expected = Vec::new();
                while let Some(line) = lines.next_if(|line| !line.starts_with("$ ") && *line != "```") {
                    expected.push(line);
                }
                let (mut found, code) = run(&command["$ witnessmark ".len()..]);
                if expected.last().is_some_and(|line| line.starts_with("[exit ")) {
                    found.push_str(&format!("[exit {code}]\n"));
                }
                let found: Vec<&str> = found.lines().collect();
                let fits = fits(&expected, &found);
                if !fits {
                    let (expected, found) = (expected.join("\n"), found.join("\n"));
                    wrong.push(format!("{command}\n--- stands there\n{expected}\n--- came\n{found}"));
                }
                let keep = fits || expected.contains(&"...");
                for line in if keep { expected } else { found } {
                    text.push_str(line);
                    text.push('\n');
                }
            }
            _ => {}
        }
    }
    (text, wrong)
}

/// Whether the lines that came are the expected ones, where `...` stands for any number of lines.
fn fits(expected: &[&str], found: &[&str]) -> bool {
    match expected.split_first() {
        None => found.is_empty(),
        Some((&"...", rest)) => (0..=found.len()).any(|skipped| fits(rest, &found[skipped..])),
        Some((line, rest)) => {
            found.first().is_some_and(|found| found.trim_end() == line.trim_end()) && fits(rest, &found[1..])
        }
    }
}

/// Runs a command line in the root and gives what it prints and its exit code.
fn run(line: &str) -> (String, i32) {
    let words = words(line);
    // A block that would show another day tomorrow cannot be checked.
    let dated = words[0] != "inspect" || words.iter().any(|word| word.starts_with("--as-of"));
    assert!(dated, "`{line}` needs --as-of");
    let mut command = program(&root());
    command.args(&words);
    let ran = finish(command, "");
    assert!(ran.code != 255, "`{line}` {ran:#?}");
    (ran.out + &ran.err, ran.code)
}

/// The words of a command line; quotes hold a word together.
fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quote) = (Vec::new(), None::<String>, None);
    for c in line.chars() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (None, '"' | '\'') => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            (None, ' ') => words.extend(word.take()),
            _ => word.get_or_insert_default().push(c),
        }
    }
    words.extend(word);
    words
}

/// What stands before a part of a document or of a standard.
const STANDARD: &str = "standard example edition 1 \"An example\"\njudges job\n";
const WORKSHOP: &str = "form: workshop/1\nworkshop: { name: Workshop on the Mill Stream }\n";
const JOB: &str = "form: job/1
job: { number: K-3001, opened: 2026-03-18T08:10:00+01:00, closed: 2026-03-18T11:00:00+01:00, state: closed, technician: T. Wirth }
vehicle: { plate: GW 123, odometer: 84210 km }
unit: { kind: manual gearbox, family: five speed }
fastenings: [{ role: cover screw, torque: 20 Nm }, { role: drain plug, torque: 45 Nm }]
";

/// The blocks of a text whose first line is one of these, with that line.
fn blocks<'t>(text: &'t str, fences: &[&str]) -> Vec<(&'t str, &'t str)> {
    let parts: Vec<&str> = text.split("\n```").skip(1).step_by(2).collect();
    let blocks = parts.iter().filter_map(|part| part.split_once('\n'));
    blocks.filter(|(fence, _)| fences.contains(fence)).collect()
}

#[test]
fn every_rule_and_document_of_the_handbooks_is_a_good_one() {
    let mut wrong = Vec::new();
    let mut seen = [0; 2];
    for book in HANDBOOKS {
        let text = std::fs::read_to_string(root().join(book)).unwrap();
        for (_, block) in blocks(&text, &["standard"]) {
            let head = if block.contains("\nstandard ") { "" } else { STANDARD };
            let folder = Folder::new();
            folder.write("block.standard", format!("{head}{block}"));
            let ran = folder.run("prove block.standard");
            seen[0] += 1;
            if ran.code != 0 {
                wrong.push(format!("{book}:\n{block}\n{}{}", ran.out, ran.err));
            }
        }
        for (fence, block) in blocks(&text, &["yaml", "yaml job", "yaml workshop"]) {
            let head = match fence {
                "yaml job" => JOB,
                "yaml workshop" => WORKSHOP,
                _ => "",
            };
            let whole = format!("{head}{block}");
            let answered = read(&whole);
            seen[1] += 1;
            if answered.contains("error") {
                wrong.push(format!("{book}:\n{block}\n{answered}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
    assert!(seen[0] > 5 && seen[1] > 5, "{seen:?}: the blocks are not where they were");
}

/// What the program says of a document, with the files around it that the handbook names.
fn read(document: &str) -> String {
    let folder = Folder::new();
    for name in ["procedures", "jobs"] {
        folder.write(&format!("{name}/.keep"), "");
    }
    folder.write("earlier/example.standard", STANDARD);
    folder.write("tools.yaml", "form: tools/1\ntools: []\n");
    folder.write("rig.csv", "time [s], channel 2 [bar]\n0, 1.4\n600, 1.4\n");
    folder.write("K-2080-level-check.csv", "time [s], temperature [°C]\n0, 40\n60, 42\n");
    match document.contains("form: workshop/1") {
        true => folder.write("workshop.yaml", document),
        false => folder.write("record.yaml", document),
    };
    let whole = |ran: crate::support::Ran| ran.out + &ran.err;
    match document.contains("form: workshop/1") {
        true => whole(folder.run("words parameters")),
        false => whole(folder.run("inspect record.yaml --brief")),
    }
}

#[test]
fn the_way_in_is_short() {
    let lines = std::fs::read_to_string(root().join("README.md")).unwrap().lines().count();
    assert!(lines <= 180, "README.md has {lines} lines: what is a reference belongs into grammar/README.md");
    let story = std::fs::read_to_string(root().join("examples/README.md")).unwrap().lines().count();
    assert!(story <= 250, "examples/README.md has {story} lines");
}

#[test]
fn a_block_that_says_something_else_is_found() {
    let block = "```console\n$ witnessmark why document/layout\nnothing of the kind\n```\n";
    let (text, wrong) = answer(block);
    assert_eq!(wrong.len(), 1);
    let (again, wrong) = answer(&text);
    assert_eq!((again, wrong), (text, Vec::new()));
    assert!(fits(&["a", "...", "c"], &["a", "b", "b", "c"]) && !fits(&["a", "...", "c"], &["a", "b"]));
    assert_eq!(words("a 'b c' \"d\" ''"), ["a", "b c", "d", ""]);
}

/// Every record of the story is named by its handbook.
#[test]
fn the_handbook_of_the_examples_names_every_record() {
    let Ok(book) = std::fs::read_to_string(root().join("examples/README.md")) else { return };
    for path in crate::support::files_below("examples") {
        let name = Path::new(&path).file_stem().unwrap().to_str().unwrap();
        let number = name.split('-').take(2).collect::<Vec<_>>().join("-");
        let known = book.contains(name) || book.contains(&number);
        assert!(known || path.ends_with("README.md"), "{path} is not in examples/README.md");
    }
}
