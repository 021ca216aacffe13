//! Generated records: what is found in each is what was put wrong in it, no more and no less.

use fastrand::Rng;
use witnessmark::finding::{Outcome, Standing};
use witnessmark::library::SHIPPED;
use witnessmark::session::Session;

use crate::generate::{FAULTS, Record, record, records, session};

fn check(session: &Session, record: &Record) {
    let judged = session.judge("record.yaml", &record.text);
    let [judged] = judged.as_slice() else { panic!("one document\n{}", record.text) };
    let name = record.fault.map_or("nothing", |fault| fault.name);
    let mut rules: Vec<&str> = judged.findings.iter().map(|finding| &*finding.rule).collect();
    rules.sort_unstable();
    let codes: Vec<&str> = judged.diagnostics.iter().map(|diagnostic| diagnostic.code.as_str()).collect();
    assert_eq!(rules, record.rules(), "wrong: {name}\n{}", record.text);
    assert_eq!(codes, record.codes(), "wrong: {name}\n{}", record.text);
    let open = judged.findings.iter().filter(|finding| finding.standing == Standing::StillToDo);
    let open = open.filter(|finding| finding.outcome == Outcome::Undecided).count();
    let in_work = name == "still in work";
    assert_eq!(open, if in_work { judged.findings.len() } else { 0 }, "wrong: {name}\n{}", record.text);
}

fn all() -> Session {
    session(&SHIPPED.iter().map(|shipped| shipped.name).collect::<Vec<_>>())
}

#[test]
fn every_fault_is_found_and_nothing_else() {
    let session = all();
    let mut rng = Rng::with_seed(20_261_125);
    for fault in FAULTS {
        for unit in fault.units {
            for _ in 0..2 {
                check(&session, &record(*unit, Some(fault), &mut rng));
            }
        }
    }
}

#[test]
fn a_mixture_of_records_is_judged_as_it_was_made() {
    let session = all();
    let made: Vec<Record> = records(7).take(500).collect();
    made.iter().for_each(|record| check(&session, record));
    let right = made.iter().filter(|record| record.fault.is_none()).count();
    assert!((300..450).contains(&right), "{right} of 500 are right, some three in four should be");
    let mean = made.iter().map(|record| record.text.len()).sum::<usize>() / made.len();
    assert!((3000..=3500).contains(&mean), "a record has {mean} bytes in the mean");
}
