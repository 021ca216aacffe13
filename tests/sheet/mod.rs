//! Sheets: a blank record holds each field that a rule reads, filled in it passes, and the printed page
//! is harmless and whole.

mod blank;
mod fill;
mod hostile;
mod prescription;
mod print;
mod reads;

use crate::support::{Ran, finish, program, root, text};

const PROCEDURES: &str = "examples/grauwasser/procedures";
const SETTINGS: &str = "examples/grauwasser/workshop.yaml";

/// The example procedures that break no rule.
const GOOD: [&str; 6] = [
    "eight-speed-sump-service",
    "engine-oil",
    "rear-axle-oil",
    "seven-speed-twin-clutch",
    "six-speed-sump-service",
    "wheels",
];

/// All example procedures.
const ALL: [&str; 8] = [
    "chain-gearbox-fluid",
    "eight-speed-sump-service",
    "engine-oil",
    "five-speed-manual-oil",
    "rear-axle-oil",
    "seven-speed-twin-clutch",
    "six-speed-sump-service",
    "wheels",
];

/// Runs the program at the root of the project.
fn run(arguments: &str, input: &str) -> Ran {
    let mut command = program(&root());
    command.args(arguments.split_whitespace());
    finish(command, input)
}

/// The blank record for an example procedure.
fn sheet(name: &str) -> String {
    run(&format!("sheet {PROCEDURES}/{name}.yaml"), "").out
}

/// What `inspect` finds in a record, as JSON.
fn inspected(record: &str) -> (i32, serde_json::Value) {
    let ran = run(&format!("inspect - --settings {SETTINGS} --as-of 2026-03-21 --format json"), record);
    (ran.code, serde_json::from_str(&ran.out).unwrap())
}

/// A procedure of the smallest sort, with further lines.
fn procedure(more: &str) -> String {
    format!("form: procedure/1\nprocedure: {{name: small, edition: 1}}\nunit: {{kind: final drive}}\n{more}")
}

#[test]
fn the_lists_of_examples_are_whole() {
    let listed: Vec<String> = ALL.iter().map(|name| format!("{PROCEDURES}/{name}.yaml")).collect();
    assert_eq!(listed, crate::support::files_below(PROCEDURES));
    let faulty = |name: &str| text(format!("{PROCEDURES}/{name}.yaml")).contains("# expect:");
    let good: Vec<&str> = ALL.into_iter().filter(|name| !faulty(name)).collect();
    assert_eq!(good, GOOD);
}
