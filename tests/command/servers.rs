//! What people wrote cannot speak to the server that runs the program: no line of a report is a command, and what cannot be
//! seen is written out.

use super::{PLUGS, folder, good, hold};
use crate::support::{Folder, Ran};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

/// Whether a line is a command of a server: `::name …` behind blanks, or `##name[…` anywhere.
fn is_command(line: &str) -> bool {
    let marked = |at: usize| {
        let rest = line[at + 2..].trim_start_matches(|c: char| c.is_ascii_alphabetic());
        rest.starts_with('[')
    };
    line.trim_start().starts_with("::") || line.match_indices("##").any(|(at, _)| marked(at))
}

#[track_caller]
fn says_no_command(ran: &Ran) {
    for line in ran.out.lines().chain(ran.err.lines()) {
        assert!(!is_command(line), "{line}\n{ran:#?}");
    }
}

/// The same of the texts in a JUnit report, which a server shows by themselves.
#[track_caller]
fn says_no_command_in_its_texts(ran: &Ran) {
    let read = roxmltree::Document::parse(&ran.out).unwrap();
    let texts: Vec<&str> =
        read.descendants().filter(|node| node.is_text()).filter_map(|node| node.text()).collect();
    assert!(texts.iter().any(|text| text.contains("hold") || text.contains("error")), "{ran:#?}");
    for line in texts.into_iter().flat_map(str::lines) {
        assert!(!is_command(line), "{line}\n{ran:#?}");
    }
}

/// Whether all commands of a report that is made of them are its own: with known properties, a title, and a message.
#[track_caller]
fn says_only_its_own(ran: &Ran) {
    for line in ran.out.lines().filter(|line| is_command(line)) {
        let own = ["::error ", "::warning ", "::notice "].iter().find_map(|own| line.strip_prefix(own));
        let (properties, message) = own.and_then(|rest| rest.split_once("::")).expect(line);
        let known = |one: &str| {
            one.split_once('=').is_some_and(|(name, value)| {
                ["file", "line", "endLine", "col", "endColumn", "title"].contains(&name)
                    && !value.contains([':', ','])
            })
        };
        assert!(properties.split(',').all(known) && !is_command(message.trim_start_matches(':')), "{line}");
    }
    assert!(ran.out.contains("::error "), "{ran:#?}");
}

const NAMES: [&str; 4] =
    ["::add-mask::a.yaml", "##vso[task.complete]b.yaml", "##[group]c.yaml", "x ::stop-commands::d.yaml"];

#[test]
fn neither_names_of_files_nor_texts_are_commands() {
    let folder = folder();
    folder.write("plugs.standard", PLUGS.replace("{f.torque} recorded", "::error::{f.place} ##vso[x]"));
    for name in NAMES {
        folder.write(
            &format!("jobs/{name}"),
            hold().replace("place: A", "place: \"::warning::A ##teamcity[x]\""),
        );
        folder.write(name, hold());
        folder.write(&format!("faulty/{name}"), "form: job/1\njob: [\n");
        folder.write(&format!("passed/{name}"), "x: 1\n");
    }
    for row in witnessmark::report::FORMATS {
        let says_no_command = if row.name == "github" { says_only_its_own } else { says_no_command };
        for paths in ["jobs", "faulty", "passed ./::add-mask::a.yaml", "jobs faulty --brief --width 20"] {
            says_no_command(&folder.run(&format!("{INSPECT} {paths} --format {}", row.name)));
        }
        let names: Vec<&str> = INSPECT.split(' ').chain(NAMES).chain(["--format", row.name]).collect();
        says_no_command(&folder.run_with(names, ""));
    }
    for path in ["jobs", "faulty", "::add-mask::a.yaml"] {
        says_no_command_in_its_texts(&folder.run(&format!("{INSPECT} {path} --format junit")));
    }
    let ran = folder.run(&format!("{INSPECT} ::add-mask::a.yaml --brief"));
    ran.says(&["\\u{3a}:add-mask::a.yaml: 1 hold"]);
    says_no_command(&folder.run("inspect ::missing.yaml ##vso[x].yaml"));
    says_no_command(&folder.run("inspect jobs --as-of ::add-mask::x"));
    says_no_command(&folder.run("why ::add-mask::x"));
    says_no_command(&folder.run("amend jobs"));
    says_no_command(&folder.run("prove ::x.standard"));
    folder.write("new.yaml", hold().replace("place: A", "place: B").replace("vehicle", "::group::\nvehicle"));
    says_no_command(&folder.run("compare ::add-mask::a.yaml new.yaml --lines"));
}

#[test]
fn a_page_to_print_is_no_command() {
    let folder = Folder::new();
    let steps = "steps: [{name: \"::add-mask::a\", text: \"##vso[b] ###[c] ::d\"}]\n";
    folder.write(
        "p.yaml",
        format!(
            "form: procedure/1\nprocedure: {{name: \"::p\", edition: 1}}\nunit: {{kind: engine}}\n{steps}"
        ),
    );
    let ran = folder.run("sheet p.yaml --print --without-settings --standard job_basics");
    assert!(ran.out.contains("vso[b]"), "{ran:#?}");
    says_no_command(&ran);
}

/// Wherever a line is broken, none begins with a command.
#[test]
fn no_width_makes_a_command_of_a_text() {
    let folder = folder();
    let place = format!("{} ::add-mask::x {}::set-env::y", "a".repeat(30), "b".repeat(61));
    folder.write("a.yaml", hold().replace("place: A", &format!("place: \"{place}\"")));
    for width in 20..110 {
        says_no_command(&folder.run(&format!("{INSPECT} a.yaml --width {width} --format plain")));
    }
}

/// A report for programs is ASCII where nobody could see what is there; a program reads the same text.
#[test]
fn what_cannot_be_seen_is_written_out_for_programs() {
    let hidden = HIDDEN;
    let text: String = hidden.iter().flat_map(|c| [*c, 'x']).collect();
    let folder = Folder::new();
    folder.write("plugs.standard", PLUGS);
    folder.write("a.yaml", hold().replace("place: A", &format!("place: \"A{text}##vso[b]\"")));
    for format in ["json", "sarif", "gitlab"] {
        let ran = folder.run(&format!("{INSPECT} a.yaml --format {format}")).quietly(1);
        assert!(!ran.out.contains(hidden), "{ran:#?}");
        says_no_command(&ran);
        let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        assert!(value.to_string().contains(&format!("A{text}##vso[b]")), "{ran:#?}");
    }
    folder.write("b.yaml", good());
    let ran = folder.run("compare a.yaml b.yaml --format json");
    assert!(ran.code == 1 && !ran.out.contains(hidden), "{ran:#?}");
}

/// One or more of each kind of character that cannot be seen, or looks like a blank and is none.
const HIDDEN: [char; 22] = [
    '\u{ad}',
    '\u{34f}',
    '\u{61c}',
    '\u{115f}',
    '\u{1160}',
    '\u{17b4}',
    '\u{180e}',
    '\u{200b}',
    '\u{200c}',
    '\u{200d}',
    '\u{2028}',
    '\u{202e}',
    '\u{2066}',
    '\u{2800}',
    '\u{3164}',
    '\u{fe0f}',
    '\u{feff}',
    '\u{ffa0}',
    '\u{1d159}',
    '\u{1d173}',
    '\u{e0041}',
    '\u{e0100}',
];

/// Nor is any of them in a report for people: in a message, an excerpt, the name of a file, a title.
#[test]
fn what_cannot_be_seen_is_written_out_for_people() {
    let text: String = HIDDEN.iter().flat_map(|c| [*c, 'x']).collect();
    let folder = Folder::new();
    folder.write(
        "plugs.standard",
        PLUGS.replace("Plugs are tightened", &format!("Plugs {text} are tightened")),
    );
    let name: String = HIDDEN.iter().filter(|c| **c != '\u{2028}').collect();
    let wrong = hold()
        .replace("place: A", &format!("place: \"A{text}\""))
        .replace("kind: engine", &format!("kind: \"engine{text}\", \"odd{text}\": 1"))
        .replace("K-1", &format!("\"K-1{text}\""));
    folder.write(&format!("jobs/a{name}.yaml"), wrong.clone());
    let plain = folder.write("b.yaml", wrong);
    assert!(plain.exists());
    folder.write("p.yaml", format!("form: procedure/1\nprocedure: {{name: \"p{text}\", edition: 1}}\nunit: {{kind: engine}}\nfastenings:\n  - {{role: drain plug, place: \"A{text}\"}}\n"));
    let forms = [
        "plain",
        "terminal",
        "terminal --colour always",
        "plain --brief",
        "junit",
        "github",
        "json",
        "sarif",
        "gitlab",
    ];
    for form in forms {
        let ran = folder.run(&format!("{INSPECT} jobs b.yaml --format {form}"));
        assert!(ran.out.contains("e0041") || ran.out.contains("dc41"), "{ran:#?}");
        shows_none(&ran);
    }
    for other in [
        "why torque b.yaml --standard plugs.standard".to_owned(),
        "amend b.yaml".to_owned(),
        "compare p.yaml b.yaml".to_owned(),
        "prove plugs.standard".to_owned(),
        "sheet p.yaml --print --without-settings --standard job_basics".to_owned(),
    ] {
        shows_none(&folder.run(&other));
    }
}

#[track_caller]
fn shows_none(ran: &crate::support::Ran) {
    for c in HIDDEN {
        assert!(!ran.out.contains(c) && !ran.err.contains(c), "U+{:x}: {ran:#?}", u32::from(c));
    }
}

/// Names of files reach the arguments through patterns of the shell.
#[test]
fn arguments_that_are_none_are_no_commands() {
    let folder = folder();
    for words in [
        ["words", "\n::error::q"],
        ["words", "x\n  ::set-output name=a::b\u{202e}\r::error::r"],
        ["schema", "\n##[error]q"],
        ["inspect", "--form\n::error::q"],
    ] {
        let ran = folder.run_with(words, "");
        assert_eq!(ran.code, 2, "{words:?}");
        says_no_command(&ran);
        assert!(!ran.err.contains(['\u{202e}', '\r', '\u{1b}']), "{ran:#?}");
    }
}
