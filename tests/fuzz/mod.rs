//! The targets of `cargo fuzz`, replayed on inputs that are the same in every run: seeds, what once broke something
//! (`found/`), and mutations of both that are made from a fixed number.

mod mutate;
pub(crate) mod targets;

use std::path::PathBuf;

use targets::{TARGETS, Target};

use crate::support::root;

/// The inputs in `found/` on which the target once failed, each with its name.
fn found(target: &Target) -> Vec<(String, Vec<u8>)> {
    let folder = root().join("tests/fuzz/found").join(target.name);
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| (path.display().to_string(), std::fs::read(path).unwrap())).collect()
}

/// Runs a target; where it fails, the input is shown after what is wrong.
fn run(target: &Target, name: &str, input: &[u8]) {
    let run = std::panic::AssertUnwindSafe(|| (target.run)(input));
    if std::panic::catch_unwind(run).is_err() {
        panic!("the target `{}` fails on {name}: {:?}", target.name, String::from_utf8_lossy(input));
    }
}

fn replay(name: &str, mutations: usize) {
    let target = TARGETS.iter().find(|target| target.name == name).expect("is a target");
    let seeds = (target.seeds)();
    assert!(!seeds.is_empty());
    seeds.iter().enumerate().for_each(|(number, seed)| run(target, &format!("seed {number}"), seed));
    found(target).iter().for_each(|(name, input)| run(target, name, input));
    let mut random = fastrand::Rng::with_seed(20_261_130);
    for number in 0..mutations {
        let input = mutate::mutated(&mut random, &seeds, target.longest);
        run(target, &format!("mutation {number}"), &input);
    }
}

#[test]
fn what_the_targets_begin_with_is_in_order() {
    targets::start_in_order();
}

macro_rules! replays {
    ($($name:ident: $mutations:literal,)*) => {
        $(#[test]
        fn $name() {
            replay(stringify!($name), $mutations);
        })*

        #[test]
        fn every_target_is_replayed() {
            let replayed = [$(stringify!($name)),*];
            let targets: Vec<&str> = TARGETS.iter().map(|target| target.name).collect();
            assert_eq!(targets, replayed);
            let inputs: usize = [$($mutations),*].iter().sum();
            assert!(inputs > 5_000, "{inputs} inputs are replayed");
            for entry in std::fs::read_dir(root().join("tests/fuzz/found")).unwrap() {
                let name = entry.unwrap().file_name();
                assert!(targets.iter().any(|target| **target == *name), "found/{name:?} is of no target");
            }
        }
    };
}

replays! {
    value: 4_000,
    range: 4_000,
    csv: 2_000,
    logs: 200,
    record: 300,
    procedure: 100,
    tools: 150,
    known: 300,
    workshop: 300,
    amend: 300,
    rules: 300,
    layout: 2_000,
    schema: 200,
    compare: 300,
    report: 120,
    threads: 60,
    editor: 60,
    repeat: 100,
}
