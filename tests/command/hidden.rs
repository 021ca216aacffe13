//! Records that a run would not see: hidden by ignore files, leading dots, dot folders and links, or with nothing in them.

use super::{folder, good, hold};
use crate::support::{Folder, Ran, finish, program};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02 --brief --width 300";

/// A folder with one good record, and a bad one under this name.
fn with_hidden(name: &str) -> Folder {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write(name, hold());
    folder
}

#[test]
fn a_record_that_is_hidden_is_named_and_fails_the_run() {
    for (ignore, record) in [
        (Some(("jobs/.gitignore", "b.yaml\n")), "jobs/b.yaml"),
        (Some(("jobs/.ignore", "*.yaml\n!a.yaml\n")), "jobs/b.yaml"),
        (Some((".gitignore", "b.yaml\n")), "jobs/b.yaml"),
        (Some(("jobs/.gitignore", "old/\n")), "jobs/old/b.yaml"),
        (Some(("jobs/.git/info/exclude", "b.yaml\n")), "jobs/b.yaml"),
        (None, "jobs/.b.yaml"),
        (None, "jobs/.old/b.yaml"),
        (None, "jobs/.git/b.yaml"),
    ] {
        let folder = with_hidden(record);
        if let Some((name, text)) = ignore {
            folder.write(name, text);
        }
        let why = if ignore.is_some() { "by an ignore file" } else { "by a leading dot" };
        let plain = folder.run(&format!("{INSPECT} jobs")).quietly(2);
        plain.says(&[
            &format!("error: 1 record is hidden and was not judged: {record} ({why})"),
            "1 judged",
            "Verdict: no verdict: 1 record is hidden",
        ]);
        let json = folder.run(&format!("{INSPECT} jobs --format json")).quietly(2);
        json.says(&[
            &format!("\"hidden\":[{{\"path\":\"{record}\",\"why\":\"{why}\"}}]"),
            "run/hidden-record",
        ]);
        let sarif = folder.run(&format!("{INSPECT} jobs --format sarif")).quietly(2);
        sarif.says(&[
            &format!("\"hidden\":[{{\"path\":\"{record}\""),
            "\"ruleId\":\"run/hidden-record\"",
            "\"executionSuccessful\":false",
        ]);
        folder.run(&format!("{INSPECT} jobs --format junit")).quietly(2).says(&["1 record is hidden"]);
        folder.run(&format!("{INSPECT} jobs --format terminal")).quietly(2).says(&["1 record is hidden"]);
        // Named as a path, it is never hidden.
        folder.run(&format!("{INSPECT} {record}")).quietly(1).says(&["line 6: hold: Plug A"]);
        let judged = folder.run(&format!("{INSPECT} --hidden judge jobs")).quietly(1);
        judged.says(&[&format!("{record}: 1 hold"), "2 judged"]);
        let left = folder.run(&format!("{INSPECT} --hidden leave jobs")).quietly(0);
        left.says(&[&format!("passed over: {record} (hidden {why})"), "1 judged"]);
        // A folder that is named is not hidden either, and what is in it is.
        let (inside, _) = record.rsplit_once('/').unwrap();
        if inside != "jobs" && ignore.is_none() {
            folder.run(&format!("{INSPECT} {inside}")).quietly(1).says(&["1 hold"]);
        }
    }
}

/// What a user keeps for all their repositories is nobody else's.
#[test]
fn the_ignore_file_of_the_user_is_not_read() {
    let folder = with_hidden("jobs/b.yaml");
    folder.write("home/.config/git/ignore", "b.yaml\n");
    folder.write("home/.gitconfig", "[core]\n\texcludesFile = ~/.config/git/ignore\n");
    folder.write("jobs/.git/HEAD", "ref: refs/heads/main\n");
    let mut command = program(folder.path());
    command.args(format!("{INSPECT} jobs").split(' '));
    command
        .env("HOME", folder.path().join("home"))
        .env("XDG_CONFIG_HOME", folder.path().join("home/.config"));
    finish(command, "").quietly(1).says(&["jobs/b.yaml: 1 hold", "2 judged"]);
}

#[test]
fn what_is_hidden_and_no_record_is_nobodys_loss() {
    let folder = with_hidden("jobs/.notes.txt");
    folder.write(
        "jobs/.notes.txt",
        format!("to do: |\n{}", hold().lines().map(|line| format!("  {line}\n")).collect::<String>()),
    );
    folder.write("jobs/.gitignore", "node/\n");
    folder.write("jobs/node/ci.yaml", "on: [push]\n");
    folder.write("jobs/.github/workflows/ci.yaml", "on: [push]\n");
    folder.write("jobs/._a.yaml", b"\0\x05\x16\x07\xff\xfe");
    folder.write("jobs/.empty.yaml", "");
    let ran = folder.run(&format!("{INSPECT} jobs")).quietly(0);
    assert!(!ran.out.contains("hidden") && !ran.out.contains("passed over"), "{ran:#?}");
    // Read, they are named like all others.
    let read = folder.run(&format!("{INSPECT} --hidden judge jobs")).quietly(2);
    read.says(&[
        "passed over: jobs/.github/workflows/ci.yaml, jobs/node/ci.yaml",
        "jobs/._a.yaml: could not",
    ]);
}

#[test]
fn many_hidden_records_are_named_first_and_then_counted() {
    let folder = with_hidden("jobs/.b.yaml");
    for number in 0..20 {
        folder.write(&format!("jobs/.old/{number:02}.yaml"), hold());
    }
    let ran = folder.run(&format!("{} jobs", INSPECT.replace("300", "2000"))).quietly(2);
    ran.says(&[
        "error: 21 records are hidden and were not judged: jobs/.b.yaml (by a leading dot), ",
        " and 13 more",
    ]);
}

/// Where a record is hidden, one that has lost its line `form` is, too.
#[test]
fn a_hidden_record_need_not_be_in_order() {
    for text in [hold().replace("form: job/1\n", ""), format!("{}[\n", hold()), " form: job/1\n".to_owned()] {
        let folder = with_hidden("jobs/.x/c.yaml");
        folder.write("jobs/.x/c.yaml", text);
        folder.run(&format!("{INSPECT} jobs")).quietly(2).says(&["1 record is hidden"]);
    }
}

/// A link is not followed. Where it leads out of what is judged, something was not judged.
#[cfg(unix)]
#[test]
fn a_link_that_leads_out_hides_what_it_leads_to() {
    use std::os::unix::fs::symlink;
    let link = |to: &str, name: &str| -> Ran {
        let folder = with_hidden("elsewhere/b.yaml");
        folder.write("jobs/more/c.yaml", good());
        symlink(to, folder.path().join(name)).unwrap();
        folder.run(&format!("{INSPECT} jobs"))
    };
    for (to, name) in [
        ("../elsewhere/b.yaml", "jobs/b.yaml"),
        ("../elsewhere", "jobs/out"),
        ("nowhere.yaml", "jobs/b.yaml"),
    ] {
        let says = format!("1 record is hidden and was not judged: {name} (a link, which is not followed)");
        link(to, name).quietly(2).says(&[&says]);
    }
    // What is judged under its own name is not hidden.
    for (to, name) in [("a.yaml", "jobs/b.yaml"), ("more", "jobs/same")] {
        let says = format!("passed over: {name} (a link, which is not followed)");
        link(to, name).quietly(0).says(&[&says]);
    }
}

/// A file of YAML with nothing in it was something before.
#[test]
fn a_record_with_nothing_in_it_is_told_in_a_folder_too() {
    let commented: String = hold().lines().map(|line| format!("# {line}\n")).collect();
    for text in ["", "\n\n", "---\n...\n", "\u{feff}", &commented] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", text);
        let ran = folder.run(&format!("{INSPECT} jobs")).quietly(2);
        ran.says(&["jobs/b.yaml: could not be read"]);
    }
}

#[test]
fn a_record_that_is_indented_or_in_a_list_is_told_in_a_folder_too() {
    let indented = |text: &str| text.lines().map(|line| format!(" {line}\n")).collect::<String>();
    let bare = hold().replace("form: job/1\n", "");
    for text in [
        indented(&bare),
        format!("- form: job/1\n{}", indented(&indented(&bare))),
        format!("jobs:\n{}", indented(&hold())),
    ] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", &text);
        let ran = folder.run(&format!("{INSPECT} jobs"));
        assert!(ran.code == 2 && !ran.out.contains("passed over"), "{text}{ran:#?}");
    }
    // A part of one says what it is of by the fields in its groups.
    for text in [
        "job: {number: K-1}\nunit: {kind: engine}\n",
        "fastenings:\n- {role: drain plug, torque: 60 Nm}\nseals:\n- {place: pan}\n",
        "- {job: {number: K-1}, unit: {kind: engine}}\n",
        "records:\n- job: {number: K-1}\n  unit: {kind: engine}\n",
    ] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", text);
        let ran = folder.run(&format!("{INSPECT} jobs"));
        assert!(ran.code == 2 && ran.out.contains("jobs/b.yaml: could not be read"), "{text}{ran:#?}");
    }
    // Other people's lists have steps, tools, parts and readings, too.
    for text in [
        "name: ci\njobs: [{job: A, steps: [{script: make, name: x, order: 1}]}]\n",
        "steps: [{name: extract, order: 1, after: [x]}]\nparameters: {kind: x}\n",
        "tools: [{number: 1, kind: x, type: y}]\n",
        "readings: [{at: 1, temperature: 20 °C, tool: x}]\n",
        "job: {name: backup, number: 1, state: done}\n",
        "vehicle: {plate: QX 1, vin: x, odometer: 1 km}\ncustomer: x\n",
        "procedure: {name: a, edition: 1, title: x}\nparts: [{name: x, number: 1}]\n",
    ] {
        let folder = folder();
        folder.write("jobs/a.yaml", good());
        folder.write("jobs/b.yaml", text);
        folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&["passed over: jobs/b.yaml"]);
    }
    // One that is indented and whole is judged.
    let folder = with_hidden("jobs/b.yaml");
    folder.write("jobs/b.yaml", indented(&hold()));
    folder.run(&format!("{INSPECT} jobs")).quietly(1).says(&["jobs/b.yaml: 1 hold"]);
}

/// Rules and the documents around a job decide about records: no ignore file takes one of them away.
#[test]
fn nothing_hides_a_rule_file_or_an_earlier_job() {
    let folder = with_hidden("jobs/b.yaml");
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [rules]\n");
    folder.write("rules/plugs.standard", super::PLUGS);
    folder.write("rules/.gitignore", "*\n");
    folder.run("inspect jobs").quietly(1).says(&["1 hold"]);
    folder.run("inspect jobs --without-settings --standard rules").quietly(1).says(&["1 hold"]);
    folder.write("rules/.more/seals.standard", super::PLUGS.replace("plugs", "seals"));
    folder.run("inspect jobs").quietly(1).says(&["2 holds", "seals edition 1"]);
}

/// With two and with four bytes for a letter, in both orders, with and without a mark.
fn in_other_encodings(text: &str) -> Vec<Vec<u8>> {
    let of = |text: &str| -> [Vec<u8>; 4] {
        let (two, four) =
            (text.encode_utf16().collect::<Vec<u16>>(), text.chars().map(u32::from).collect::<Vec<u32>>());
        [
            two.iter().flat_map(|unit| unit.to_le_bytes()).collect(),
            two.iter().flat_map(|unit| unit.to_be_bytes()).collect(),
            four.iter().flat_map(|unit| unit.to_le_bytes()).collect(),
            four.iter().flat_map(|unit| unit.to_be_bytes()).collect(),
        ]
    };
    [of(text), of(&format!("\u{feff}{text}"))].concat()
}

#[test]
fn a_file_in_which_nothing_is_left_is_no_file_of_somebody_else() {
    for text in
        ["~\n", "null\n", "--- ~\n", "---\n~ # gone\n", "{}\n", "[]\n", "---\n...\n", "\0", "\0\n \u{7f}"]
    {
        let folder = folder();
        folder.write("jobs/a.yaml", good());
        folder.write("jobs/b.yaml", text);
        let ran = folder.run(&format!("{INSPECT} jobs"));
        assert!(ran.code != 0 && ran.out.contains("jobs/b.yaml"), "{text:?}: {ran:#?}");
        assert!(!ran.out.contains("passed over"), "{text:?}: {ran:#?}");
    }
}

#[cfg(unix)]
#[test]
fn what_is_no_file_in_a_folder_fails_the_run_like_all_that_is_hidden() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    assert!(
        std::process::Command::new("mkfifo")
            .arg(folder.path().join("jobs/p.yaml"))
            .status()
            .unwrap()
            .success()
    );
    for option in ["", " --hidden judge"] {
        folder.run(&format!("{INSPECT} jobs{option}")).quietly(2).says(&[
            "error: 1 record is hidden and was not judged: jobs/p.yaml (no ordinary file)",
            "Verdict: no verdict: 1 record is hidden",
        ]);
    }
    let left = folder.run(&format!("{INSPECT} jobs --hidden leave")).quietly(0);
    left.says(&["passed over: jobs/p.yaml (no ordinary file)"]);
    // Among rule files, too.
    folder.write("rules/plugs.standard", super::PLUGS);
    assert!(
        std::process::Command::new("mkfifo")
            .arg(folder.path().join("rules/p.standard"))
            .status()
            .unwrap()
            .success()
    );
    folder.run("prove rules --without-settings").quietly(2).says(&["`rules/p.standard` is no ordinary file"]);
}

#[test]
fn a_file_that_begins_like_a_record_and_does_not_end_like_one_is_told() {
    for name in ["jobs/b.yaml~", "jobs/b.txt", "jobs/b"] {
        let folder = with_hidden(name);
        let plain = folder.run(&format!("{INSPECT} jobs")).quietly(0);
        plain.says(&[
            &format!(
                "passed over: {name} (begins like a record, and its name does not end in .yaml or .yml)"
            ),
            "1 judged",
        ]);
        let judged = folder.run(&format!("{INSPECT} --hidden judge jobs")).quietly(1);
        judged.says(&[&format!("{name}: 1 hold"), "2 judged"]);
        for bytes in in_other_encodings(&hold()) {
            folder.write(name, bytes);
            folder
                .run(&format!("{INSPECT} jobs"))
                .quietly(0)
                .says(&[&format!("passed over: {name} (begins")]);
        }
        folder.write(name, hold().replace('\n', "\r"));
        folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&[&format!("passed over: {name} (begins")]);
        // Other text is nobody's business.
        folder.write(name, "# form: job/1\nformat: job/1\n");
        let other = folder.run(&format!("{INSPECT} jobs")).quietly(0);
        assert!(!other.out.contains(name), "{other:#?}");
    }
}

/// A text that begins like a record is one, whatever its name and wherever it is: it is told, and judged where all is.
#[test]
fn what_begins_like_a_record_is_told_also_where_it_is_hidden() {
    let ending = "begins like a record, and its name does not end in .yaml or .yml";
    for (name, ignored, why) in [
        ("jobs/.foo", "", "hidden by a leading dot"),
        ("jobs/.K.txt", "", "hidden by a leading dot"),
        ("jobs/.h/foo", "", "hidden by a leading dot"),
        ("jobs/.b.yaml.swp", "", "hidden by a leading dot"),
        ("jobs/.git/foo", "", "hidden by a leading dot"),
        ("jobs/K.txt", "K.*\n", "hidden by an ignore file"),
        ("jobs/h/foo", "h/\n", "hidden by an ignore file"),
    ] {
        let folder = with_hidden(name);
        folder.write("jobs/.ignore", ignored);
        let told = folder.run(&format!("{INSPECT} jobs")).quietly(0);
        told.says(&[&format!("passed over: {name} ({ending}; {why})"), "1 judged"]);
        let judged = folder.run(&format!("{INSPECT} --hidden judge jobs")).quietly(1);
        judged.says(&[&format!("{name}: 1 hold"), "2 judged"]);
        // Also where its form is named late, in a later document or in another way of writing.
        let late = "# a line\n".repeat(1_000) + &hold();
        let braces = "{job: {number: K-1}, \"form\": \"job/1\"}\n".to_owned();
        let quoted = hold().replace("form:", "\"form\" :");
        for text in [late, braces, quoted, format!("a: b\n---\n{}", hold())] {
            folder.write(name, &text);
            let told = folder.run(&format!("{INSPECT} jobs")).quietly(0);
            told.says(&[&format!("passed over: {name} ({ending}; {why})")]);
        }
        // A text that only speaks of a form is none, nor is one of a form that nobody knows.
        let prose = format!("# Records\n\nA record begins so:\n\n```yaml\n{}```\n", hold());
        for text in [prose, "a: 1\nform: invoice/1\n".to_owned(), format!("\u{1}\n{}", hold())] {
            folder.write(name, &text);
            let other = folder.run(&format!("{INSPECT} jobs")).quietly(0);
            assert!(!other.out.contains(name), "{text}: {other:#?}");
        }
    }
}

/// A link in a hidden folder leads out like any other.
#[cfg(unix)]
#[test]
fn a_link_in_a_hidden_folder_is_told() {
    let outside = folder();
    outside.write("elsewhere/b.yaml", hold());
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("jobs/.h/notes", "");
    folder.write("jobs/.h/inside/notes", "");
    let link =
        |to: &std::path::Path, from: &str| std::os::unix::fs::symlink(to, folder.path().join(from)).unwrap();
    link(&folder.path().join("jobs/.h/inside"), "jobs/.h/in");
    folder.run(&format!("{INSPECT} jobs")).quietly(0);
    link(&outside.path().join("elsewhere"), "jobs/.h/out");
    let ran = folder.run(&format!("{INSPECT} jobs")).quietly(2);
    ran.says(&["jobs/.h/out", "a link, which is not followed"]);
    std::fs::remove_file(folder.path().join("jobs/.h/out")).unwrap();
    link(&outside.path().join("elsewhere/b.yaml"), "jobs/.h/b.yaml");
    folder.run(&format!("{INSPECT} jobs")).quietly(2).says(&["jobs/.h/b.yaml"]);
}

/// What sends a walk elsewhere, or never ends, or is too much to hold, is no ignore file.
#[cfg(unix)]
#[test]
fn an_ignore_file_that_is_no_small_ordinary_file_is_not_followed_and_fails_the_run() {
    for place in [".gitignore", "jobs/.ignore", "jobs/.git/info/exclude"] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("elsewhere", "b.yaml\n");
        let path = folder.path().join(place);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        for kind in ["link", "device", "pipe", "long"] {
            let _ = std::fs::remove_file(&path);
            match kind {
                "link" => std::os::unix::fs::symlink(folder.path().join("elsewhere"), &path).unwrap(),
                "device" => std::os::unix::fs::symlink("/dev/zero", &path).unwrap(),
                "pipe" => {
                    assert!(std::process::Command::new("mkfifo").arg(&path).status().unwrap().success())
                }
                _ => std::fs::write(&path, "a*\n".repeat(100_000)).unwrap(),
            }
            for options in ["", " --hidden leave"] {
                let ran = folder.run(&format!("{INSPECT} .{options}"));
                assert_eq!(ran.code, 2, "{place} {kind}{options}: {ran:#?}");
                assert!(ran.out.contains(place), "{place} {kind}{options}: {ran:#?}");
                assert!(ran.out.contains("Plug A"), "{place} {kind}{options}: {ran:#?}");
            }
        }
    }
}

/// Of what nobody can read nobody knows that it is no record.
#[test]
fn a_hidden_file_that_cannot_be_told_is_named() {
    let utf16: Vec<u8> =
        [0xff, 0xfe].into_iter().chain(hold().encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let json =
        b"{\"job\": {\"number\": \"K-1\"}, \"vehicle\": {}, \"unit\": {}, \"fastenings\": []}\n".to_vec();
    let listed = b"records: [{\"form\": \"job/1\"}]\n".to_vec();
    for content in [utf16, b"\x1f\x8b\x08\x00\x00".to_vec(), json, listed] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", &content);
        folder.write("jobs/.gitignore", "b.yaml\n");
        folder
            .run(&format!("{INSPECT} jobs"))
            .quietly(2)
            .says(&["hidden", "jobs/b.yaml (by an ignore file)"]);
    }
}

/// In a text whose lines end in carriage returns alone, a comment ends with its line.
#[test]
fn a_hidden_record_is_told_whatever_its_line_ends_are() {
    for end in ["\u{2028}", "\u{2029}", "\u{85}"] {
        let folder = with_hidden("jobs/.b.yaml");
        folder.write("jobs/.b.yaml", format!("# one\n{}", hold()).replace('\n', end));
        folder.run(&format!("{INSPECT} jobs")).quietly(2).says(&["hidden", "jobs/.b.yaml"]);
    }
    for first in ["# one\n", "--- # one\n", ""] {
        let bare = format!("{first}{}", hold().replace("form: job/1\n", ""));
        for text in [format!("{first}{}", hold()), bare] {
            for hidden in ["jobs/.b.yaml", "jobs/b.yaml"] {
                let folder = with_hidden(hidden);
                folder.write(hidden, text.replace('\n', "\r"));
                folder.write("jobs/.gitignore", "b.yaml\n");
                folder.run(&format!("{INSPECT} jobs")).quietly(2).says(&["hidden", hidden]);
            }
        }
    }
}

/// With another ending, too, a document is one however it is written, and where nobody can tell it may be one.
#[test]
fn a_record_with_another_ending_is_named_however_it_is_written() {
    let whole = hold();
    let rest = whole.strip_prefix("form: job/1\n").unwrap();
    for text in [
        format!("form: \"job\\\n  /1\"\n{rest}"),
        format!("\"form\": \"job /1\"\n{rest}"),
        format!("? form\n: job /1\n{rest}"),
        format!("a: \"\u{1}\"\n---\nx: 1\n---\n{whole}"),
        format!("{}\"form\": job/1\n{rest}", "}\n---\n".repeat(1_001)),
        "{\"form\": \"job\\/1\", \"job\": {\"number\": \"K-1\"}}\n".to_owned(),
    ] {
        let folder = with_hidden("jobs/b.json");
        folder.write("jobs/b.json", &text);
        let ran = folder.run(&format!("{INSPECT} jobs"));
        assert!(ran.out.contains("jobs/b.json"), "{text:?}: {ran:#?}");
    }
}

#[test]
fn a_record_without_its_form_is_told_however_it_is_written() {
    for text in [
        "{\"job\": {\"number\": \"K-1\"}, \"vehicle\": {}, \"unit\": {}, \"fastenings\": []}\n",
        "\"job\": {number: K-1}\n\"vehicle\": {}\n\"unit\": {}\n\"fastenings\": []\n",
        "? job\n: {number: K-1}\n? vehicle\n: {}\n? unit\n: {}\n? fastenings\n: []\n",
        "{\"records\": [{\"form\": \"job/1\"}]}\n",
        "{\"K-1\": {\"form\": \"job/1\"}}\n",
        "[{\"job\": {}, \"vehicle\": {}, \"unit\": {}, \"fastenings\": []}]\n",
        "{ }\n",
        "--- !!map {}\n",
        "%YAML 1.2\n---\n",
        "!!null\n",
        "-\n",
        "[null]\n",
        "- {}\n",
        "|\n",
        ".nan\n",
        "\u{200b}\n",
    ] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", text);
        let ran = folder.run(&format!("{INSPECT} jobs"));
        assert!(ran.code == 2 && ran.out.contains("jobs/b.yaml"), "{text:?}: {ran:#?}");
    }
    // What is other people's stays theirs.
    for text in [
        "name: build\non: [push]\njobs: {test: {steps: [{run: cargo test}]}}\n",
        "- a\n- b\n",
        "version: 2\n",
    ] {
        let folder = with_hidden("jobs/b.yaml");
        folder.write("jobs/b.yaml", text);
        folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&["passed over"]);
    }
    let folder = with_hidden("jobs/b.txt");
    folder.write("jobs/b.txt", "\"fo\\u0072m\": job/1\njob: {number: K-1}\n");
    folder.run(&format!("{INSPECT} jobs")).says(&["jobs/b.txt (begins like a record"]);
}
