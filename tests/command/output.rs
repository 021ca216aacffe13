//! Where reports go and what they look like.

use std::io::{BufRead, BufReader};

use super::{folder, good, hold, in_work, note, open};
use crate::support::{Folder, finish, program};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

fn with_records() -> Folder {
    let folder = folder();
    for (name, text) in
        [("good", good()), ("hold", hold()), ("note", note()), ("open", open()), ("work", in_work())]
    {
        folder.write(&format!("jobs/{name}.yaml"), text);
    }
    folder.write("jobs/torn.yaml", "form: job/1\njob: [\n");
    folder
}

#[test]
fn every_form_of_report_goes_to_standard_output_alone() {
    let folder = with_records();
    for format in witnessmark::report::FORMATS {
        let ran = folder.run(&format!("{INSPECT} jobs --format {}", format.name)).quietly(2);
        // JUnit parts the name of a rule from that of its standard.
        let rule =
            if format.name == "junit" { "classname=\"plugs\" name=\"torque\"" } else { "plugs.torque" };
        ran.says(&[rule, "60 Nm", "torn.yaml"]);
    }
    for format in ["json", "sarif"] {
        let ran = folder.run(&format!("{INSPECT} jobs --format {format}"));
        let _: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let ran = folder.run(&format!("prove plugs.standard --format {format}")).quietly(0);
        let _: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    }
}

#[test]
fn neither_threads_nor_repetition_change_a_byte() {
    let folder = with_records();
    for number in 0..300 {
        let text = [good(), hold(), note(), open(), in_work()][number % 5].clone();
        folder.write(&format!("jobs/more/{number:03}.yaml"), text);
    }
    for format in witnessmark::report::FORMATS {
        let run = |threads: usize| {
            folder.run(&format!("{INSPECT} jobs --format {} --threads {threads}", format.name)).out
        };
        let first = run(1);
        assert!(first.len() > 1000, "{}", format.name);
        for threads in [1, 2, 4] {
            assert!(run(threads) == first, "{} with {threads} threads differs", format.name);
        }
    }
}

#[test]
fn a_report_can_be_written_to_a_file() {
    let folder = with_records();
    let wanted = folder.run(&format!("{INSPECT} jobs --format json"));
    let ran = folder.run(&format!("{INSPECT} jobs --format json --output report.json")).quietly(2);
    assert_eq!((ran.out.as_str(), folder.read("report.json")), ("", wanted.out));
    // Nothing else is left in the folder.
    let left: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left.len(), 3, "{left:?}");
}

#[test]
fn no_folder_is_taken_for_a_report() {
    let folder = with_records();
    folder.run(&format!("{INSPECT} jobs --output no/such/folder/report.txt")).refused("no/such/folder");
    // A folder in the place of the file cannot be replaced.
    folder.write("taken/inside.txt", "kept");
    folder.run(&format!("{INSPECT} jobs --output taken")).refused("taken");
    assert!(folder.has("taken/inside.txt"));
    folder.run(&format!("{INSPECT} jobs --output report.txt")).quietly(2);
    assert!(folder.read("report.txt").contains("Summary"));
}

#[test]
fn colour_is_for_screens_or_on_demand() {
    let folder = with_records();
    let run = |arguments: &str, no_colour: &str| {
        let mut command = program(folder.path());
        command.args(format!("{INSPECT} jobs/hold.yaml {arguments}").split_whitespace());
        command.env("NO_COLOR", no_colour);
        finish(command, "").out
    };
    let plain = run("--format terminal", "");
    assert!(!plain.contains('\u{1b}'), "{plain}");
    assert_eq!(run("--format terminal", "1"), plain);
    assert_eq!(run("--format terminal --colour never", ""), plain);
    // What is asked for on the command line wins over the environment.
    for no_colour in ["", "1"] {
        let coloured = run("--format terminal --colour always", no_colour);
        assert!(coloured.contains("\u{1b}["), "{coloured}");
        assert_eq!(uncoloured(&coloured), plain);
    }
    for format in ["json", "sarif"] {
        assert!(!run(&format!("--format {format} --colour always"), "").contains('\u{1b}'), "{format}");
    }
}

/// A text without its escape sequences for colour.
fn uncoloured(text: &str) -> String {
    let mut parts = text.split("\u{1b}[");
    let first = parts.next().unwrap().to_owned();
    parts.fold(first, |text, part| text + part.split_once('m').unwrap().1)
}

#[test]
fn lines_are_as_wide_as_asked_for() {
    let folder = with_records();
    for format in ["plain", "terminal"] {
        for width in [40, 60, 100] {
            let ran =
                folder.run(&format!("{INSPECT} jobs/hold.yaml --format {format} --width {width}")).quietly(1);
            let widest = ran.out.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= width, "{format}, {width} columns: {widest}\n{}", ran.out);
        }
    }
    let mut command = program(folder.path());
    command.args(format!("{INSPECT} jobs/hold.yaml").split_whitespace()).env("COLUMNS", "50");
    let narrow = finish(command, "").out;
    assert_eq!(folder.run(&format!("{INSPECT} jobs/hold.yaml --width 50")).out, narrow);
    let ascii = folder.run(&format!("{INSPECT} jobs/good.yaml --format terminal --ascii")).quietly(0).out;
    assert!(ascii.replace(['±', '°'], "").is_ascii(), "{ascii}");
}

#[test]
fn a_brief_report_has_one_line_for_each_finding() {
    let folder = with_records();
    for format in ["plain", "terminal"] {
        let run = |brief: &str| {
            folder.run(&format!("{INSPECT} jobs/hold.yaml --format {format}{brief}")).quietly(1).out
        };
        let (whole, brief) = (run(""), run(" --brief"));
        assert!(brief.contains("60 Nm recorded") && !brief.contains("off by"), "{brief}");
        assert!(brief.lines().count() < whole.lines().count());
    }
}

#[test]
fn a_reader_that_leaves_early_is_no_failure() {
    let folder = folder();
    for number in 0..500 {
        folder.write(&format!("jobs/{number:03}.yaml"), hold());
    }
    let mut command = program(folder.path());
    command.args(format!("{INSPECT} jobs").split_whitespace());
    let mut child = command.spawn().unwrap();
    let mut reader = BufReader::new(child.stdout.take().unwrap());
    let mut first = String::new();
    reader.read_line(&mut first).unwrap();
    drop(reader);
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    assert_eq!(output.status.code(), Some(1), "the verdict is the same");
    assert!(first.contains("000.yaml"), "{first}");
}

/// A full disk is a failure, and is said.
#[test]
#[cfg(target_os = "linux")]
fn a_report_that_cannot_be_written_fails_the_run() {
    let folder = with_records();
    let mut command = program(folder.path());
    command.args(format!("{INSPECT} jobs").split_whitespace());
    command.stdout(std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap());
    let output = command.output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8(output.stderr).unwrap();
    assert!(message.contains("cannot write the report"), "{message}");
}
