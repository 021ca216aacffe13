//! Generated records: what is found in each is what was put wrong in it, no more and no less.

use fastrand::Rng;
use witnessmark::code::NOT_JUDGED;
use witnessmark::finding::{Judged, Outcome, Standing};
use witnessmark::library::SHIPPED;
use witnessmark::session::Session;

use crate::generate::{ALONE, AROUND, FAULTS, Record, Unit, record, records, session, session_around};

/// A record among nothing but the rules.
fn check_alone(session: &Session, record: &Record) {
    let judged = session.judge("record.yaml", &record.text);
    check(judged.as_slice(), record, |rule| !ALONE.contains(&rule));
}

fn check(judged: &[Judged], record: &Record, counts: impl Fn(&str) -> bool) {
    let [judged] = judged else { panic!("one document\n{}", record.text) };
    let name = record.fault.map_or("nothing", |fault| fault.name);
    let findings = || judged.findings.iter().filter(|finding| counts(&finding.rule));
    let mut rules: Vec<&str> = findings().map(|finding| &*finding.rule).collect();
    rules.sort_unstable();
    // A value that no standard judges is nothing that is wrong with the record.
    let own = judged.diagnostics.iter().filter(|diagnostic| diagnostic.code != NOT_JUDGED);
    let codes: Vec<&str> = own.map(|diagnostic| diagnostic.code.as_str()).collect();
    assert_eq!(rules, record.rules(), "wrong: {name}\n{}", record.text);
    assert_eq!(codes, record.codes(), "wrong: {name}\n{}", record.text);
    let open = findings().filter(|finding| finding.standing == Standing::StillToDo);
    let open = open.filter(|finding| finding.outcome == Outcome::Undecided).count();
    let in_work = name == "still in work";
    assert_eq!(open, if in_work { findings().count() } else { 0 }, "wrong: {name}\n{}", record.text);
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
                check_alone(&session, &record(*unit, Some(fault), &mut rng));
            }
        }
    }
}

#[test]
fn a_mixture_of_records_is_judged_as_it_was_made() {
    let session = all();
    let made: Vec<Record> = records(7).take(500).collect();
    made.iter().for_each(|record| check_alone(&session, record));
    let right = made.iter().filter(|record| record.fault.is_none()).count();
    assert!((300..450).contains(&right), "{right} of 500 are right, some three in four should be");
    let mean = made.iter().map(|record| record.text.len()).sum::<usize>() / made.len();
    assert!((3000..=4000).contains(&mean), "a record has {mean} bytes in the mean");
}

/// The gearboxes of the benchmark keep to the procedures and tools that are put around them.
#[test]
fn right_records_are_right_with_their_procedures_and_tools_around_them() {
    let session = session_around(&AROUND);
    let gearboxes = |record: &Record| matches!(record.unit, Unit::SteppedAutomatic | Unit::TwinClutch);
    let right = |record: &Record| record.fault.is_none() && gearboxes(record);
    for record in records(3).filter(right).take(100) {
        let judged = session.judge("record.yaml", &record.text);
        check(&judged, &record, |_| true);
        let met = |rule: &str| {
            let rules = session.program().rules();
            let met = judged[0].tallies.iter().filter(|(number, _)| rules[*number].name == rule);
            met.map(|(_, tally)| tally.met).sum::<u64>()
        };
        for rule in [
            "fastenings.torque_reached",
            "by_procedure.steps_present",
            "calibrated_tools.fastening_tool_covers",
        ] {
            assert!(met(rule) > 0, "{rule} met nothing\n{}", record.text);
        }
    }
}
