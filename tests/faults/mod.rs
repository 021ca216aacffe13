//! A catalogue of good jobs and of single faults in them: the shipped standards must let the good jobs pass and
//! speak of each fault where it is. `README.md` tells its form.

mod catalogue;
mod concessions;
mod judging;
mod plant;
mod table;
mod tree;

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use rayon::prelude::*;
use serde_yaml::Value;

use self::catalogue::{Catalogue, Fault, Job, SURROUNDINGS, Surroundings};
use self::judging::{Found, Said, Sessions};
use self::table::Outcome;
use crate::support::{quantity, range, root, text};

/// What the catalogue must hold at least.
const JOBS: usize = 40;
const FAULTS: usize = 400;
const FAULTS_BY_HAND: usize = 200;

/// How many faults of a thousand must be spoken of: alone, with register and settings, with the procedure too.
const RECALL: [usize; 3] = [990, 990, 985];
/// How many faults that are due a hold may go without any, in the same order.
const UNHELD: [usize; 3] = [2, 2, 2];
/// How many good jobs may be held, and how many advised, in the same order.
const FALSE_HOLDS: [usize; 3] = [0, 0, 0];
const NEEDLESS_ADVICE: [usize; 3] = [0, 0, 0];

/// Another catalogue of the same form, kept elsewhere; with the register, the settings and the procedures of this one.
const ELSEWHERE: &str = "WITNESSMARK_FAULTS";

fn home() -> PathBuf {
    root().join("tests/faults")
}

fn catalogue() -> (Catalogue, bool) {
    match std::env::var_os(ELSEWHERE) {
        Some(folder) => (Catalogue::read(&PathBuf::from(folder)), true),
        None => (Catalogue::read(&home()), false),
    }
}

/// The faults that are planted, without those that are stated by hand already.
fn planted(catalogue: &Catalogue) -> Vec<Fault> {
    let key = |fault: &Fault| format!("{} {:?}", fault.job, fault.change);
    let stated: BTreeSet<String> = catalogue.faults.iter().map(key).collect();
    let all = catalogue.jobs.iter().flat_map(plant::in_job);
    all.filter(|fault| !stated.contains(&key(fault))).collect()
}

/// The rules that speak of each subject; none listed: whatever is said at the place counts.
fn subjects() -> BTreeMap<String, Vec<String>> {
    serde_yaml::from_str(&text("tests/faults/subjects.yaml")).unwrap()
}

#[test]
fn the_catalogue_is_as_large_as_it_should_be() {
    let catalogue = Catalogue::read(&home());
    let planted = planted(&catalogue).len();
    let contents = table::contents(&catalogue, planted);
    assert!(catalogue.jobs.len() >= JOBS, "{contents}");
    assert!(catalogue.faults.len() >= FAULTS_BY_HAND, "{contents}");
    assert!(catalogue.faults.len() + planted >= FAULTS, "{contents}");
    let kinds: BTreeSet<&str> = catalogue.jobs.iter().map(|job| job.kind.as_str()).collect();
    assert_eq!(kinds.len(), 9, "{kinds:?}");
    for job in &catalogue.jobs {
        assert!(job.text.starts_with("# "), "{} does not say what is special about it", job.name);
    }
}

#[test]
fn no_fault_is_in_the_catalogue_twice() {
    let catalogue = Catalogue::read(&home());
    let mut seen = BTreeSet::new();
    let again =
        catalogue.faults.iter().filter(|fault| !seen.insert(format!("{} {:?}", fault.job, fault.change)));
    let again: Vec<_> = again.map(|fault| format!("{}: {}", fault.job, fault.why)).collect();
    assert_eq!(again, Vec::<String>::new());
}

#[test]
fn every_subject_is_in_the_table_and_every_rule_of_the_table_in_the_program() {
    let catalogue = Catalogue::read(&home());
    let planted = planted(&catalogue);
    let used: BTreeSet<&str> =
        catalogue.faults.iter().chain(&planted).map(|fault| fault.subject.as_str()).collect();
    let table = subjects();
    assert_eq!(used, table.keys().map(String::as_str).collect());
    let sessions = Sessions::open(&home());
    let session = sessions.of(Surroundings::Workshop);
    let rules: BTreeSet<&str> =
        session.program().rules().all().iter().map(|rule| rule.name.as_str()).collect();
    let is_code = |name: &str| name.contains('/');
    for name in table.values().flatten().filter(|name| !is_code(name)) {
        assert!(rules.contains(name.as_str()), "subjects.yaml: there is no rule {name}");
    }
}

/// The makers' figures agree with the good jobs, so that whoever binds them binds nothing wrong.
#[test]
fn the_figures_of_the_makers_agree_with_the_good_jobs() {
    let figures: Value = serde_yaml::from_str(&text("tests/faults/parameters.yaml")).unwrap();
    let mut compared = 0;
    for job in Catalogue::read(&home()).jobs {
        for fastening in job.record["fastenings"].as_sequence().into_iter().flatten() {
            let figure = figures["torques"].as_sequence().unwrap().iter().find(|figure| {
                figure["family"] == job.family.as_str() && figure["role"] == fastening["role"]
            });
            let figure = figure.unwrap_or_else(|| panic!("{}: no figure for {fastening:?}", job.name));
            for field in ["torque", "angle"] {
                let (Some(found), Some(wanted)) = (fastening[field].as_str(), figure[field].as_str()) else {
                    continue;
                };
                let seated_only = fastening["pass"] == 1 || fastening.get("adapter").is_some();
                let found = quantity(found.split(" ±").next().unwrap());
                let inside = range(wanted).contains(&found);
                assert!(inside || seated_only, "{}: {fastening:?}, {wanted} stated", job.name);
                compared += usize::from(!seated_only);
            }
        }
    }
    assert!(compared > 100, "only {compared} figures were compared");
}

/// What is said of one job and of its faults, in one of the surroundings.
fn judge(
    sessions: &Sessions,
    job: &Job,
    faults: &[&Fault],
    subjects: &BTreeMap<String, Vec<String>>,
    surroundings: Surroundings,
    outcome: &mut Outcome,
) {
    let (first, again) = sessions.good(job, surroundings);
    let brief = |said: &[Said]| -> BTreeSet<String> {
        said.iter().map(|said| format!("{} {}", said.by, said.message)).collect()
    };
    assert_eq!(brief(&first), brief(&again), "{}: written out again it says something else", job.name);
    let broken = first.iter().filter(|said| said.by.starts_with("document/")).collect::<Vec<_>>();
    assert!(broken.is_empty(), "{} cannot be read as it should be: {broken:#?}", job.name);
    outcome.good(job, surroundings, &first);
    let mut released = false;
    for fault in faults.iter().filter(|fault| fault.from <= surroundings) {
        let said = sessions.bad(job, fault, surroundings, &again);
        let found: Found = fault.found(&said, subjects.get(&fault.subject));
        outcome.bad(job, fault, surroundings, &said, found);
        if !released && surroundings == Surroundings::Workshop && found == Found::Spoken {
            released = judge_concessions(sessions, job, fault, &said, outcome);
        }
    }
}

/// A job that is released in spite of a fault, and what is said of concessions that release nothing. Whether a
/// concession can be granted at all.
fn judge_concessions(
    sessions: &Sessions,
    job: &Job,
    fault: &Fault,
    said: &[Said],
    outcome: &mut Outcome,
) -> bool {
    let Some(released) = concessions::of(sessions, job, fault, said) else { return false };
    let (_, good) = sessions.good(&released.job, Surroundings::Workshop);
    let of = &released.of;
    let still = good.iter().any(|good| good.same(of) && good.path == of.path);
    assert!(!still, "{}: a good concession grants nothing: {of:#?}", job.name);
    for fault in &released.faults {
        let said = sessions.bad(&released.job, fault, Surroundings::Workshop, &good);
        let found = fault.found(&said, None);
        outcome.bad(job, fault, Surroundings::Workshop, &said, found);
    }
    true
}

#[test]
#[expect(clippy::print_stdout, reason = "the table is what the test is run for")]
fn faults_are_spoken_of_and_good_jobs_pass() {
    let (catalogue, elsewhere) = catalogue();
    let planted = if elsewhere { Vec::new() } else { planted(&catalogue) };
    let sessions = Sessions::open(&home());
    let subjects = subjects();
    let part = |job: &Job| {
        let faults: Vec<&Fault> =
            catalogue.faults.iter().chain(&planted).filter(|fault| fault.job == job.name).collect();
        let mut outcome = Outcome::default();
        for surroundings in job.surroundings() {
            judge(&sessions, job, &faults, &subjects, surroundings, &mut outcome);
        }
        outcome
    };
    let parts: Vec<Outcome> = catalogue.jobs.par_iter().map(part).collect();
    let outcome = parts.into_iter().reduce(Outcome::and).unwrap_or_default();
    let lists = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    let prefix = if elsewhere { "faults-elsewhere" } else { "faults" };
    let contents = format!("{}\n{}", table::contents(&catalogue, planted.len()), outcome.table());
    for (name, list) in
        [("table", contents.as_str()), ("missed", outcome.missed()), ("needless", outcome.needless())]
    {
        std::fs::write(lists.join(format!("{prefix}-{name}.txt")), list).unwrap();
    }
    println!("{contents}missed and needless: {}/{prefix}-*.txt", lists.display());
    for (number, surroundings) in SURROUNDINGS.into_iter().enumerate() {
        let sum = outcome.sum(surroundings);
        let around = surroundings.title();
        assert!(sum.recall() >= RECALL[number], "{around}: {contents}");
        assert!(sum.unheld <= UNHELD[number], "{around}: {contents}");
        assert!(sum.held <= FALSE_HOLDS[number], "{around}: {contents}");
        assert!(sum.advised <= NEEDLESS_ADVICE[number], "{around}: {contents}");
    }
}
