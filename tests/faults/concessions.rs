//! Concessions that grant nothing. Which rule holds a job, and who may grant a concession for it, only a run
//! knows; so these faults are made from what was said of another one.

use serde_yaml::{Mapping, Value};
use witnessmark::language::ast::Severity;

use super::catalogue::{Fault, Job, Surroundings};
use super::judging::{Said, Sessions};
use super::tree::Change;

/// Who grants it, and is not the one who did the work.
const GRANTED_BY: &str = "C. Orlin";

/// A job with a fault that holds it, released by a good concession.
pub struct Released {
    pub job: Job,
    /// What no longer holds it.
    pub of: Said,
    /// What can be wrong with the concession.
    pub faults: Vec<Fault>,
}

/// The job with a fault and a concession for it; none where nobody may grant one.
pub fn of(sessions: &Sessions, job: &Job, fault: &Fault, said: &[Said]) -> Option<Released> {
    let session = sessions.of(Surroundings::Workshop);
    let roles = |said: &Said| {
        let rule = session.program().rules().all().iter().find(|rule| rule.name == said.by)?;
        rule.concession.as_ref()?.first().cloned()
    };
    let holds = |said: &&Said| said.severity == Severity::Hold && !said.path.is_empty();
    let (held, role) = said.iter().filter(holds).find_map(|said| Some((said, roles(said)?)))?;
    let mut record = fault.change.apply(&job.in_surroundings(Surroundings::Workshop)).ok()?;
    let closed = record["job"]["closed"].as_str()?.get(..10)?.to_owned();
    let technician = record["job"]["technician"].as_str()?.to_owned();
    let number = record["job"]["number"].as_str()?.to_owned();
    let fields = [
        ("rule", held.by.as_str()),
        ("place", &held.path),
        ("reason", "seen dry after the drive, parts on order"),
        ("granted_by", &role),
        ("name", GRANTED_BY),
        ("for_job", &number),
        ("until", &closed),
    ];
    let concession: Mapping = fields.into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    let concessions = Value::Sequence(vec![Value::Mapping(concession)]);
    record.as_mapping_mut()?.insert("concessions".into(), concessions);
    let set = |field: &str, text: &str| Change::Set(format!("concessions/0/{field}"), text.into());
    let faults = [
        ("granted by the one who did the work", set("name", &technician)),
        ("it had run out when the job was closed", set("until", "2025-12-31")),
        ("it is for another job", set("for_job", "C-0001")),
        ("granted by somebody who may not", set("granted_by", "apprentice")),
        ("nobody's name is on it", Change::Remove("concessions/0/name".to_owned())),
        ("no reason is given", Change::Remove("concessions/0/reason".to_owned())),
        ("it is for a rule that there is not", set("rule", "workshop.kindness")),
    ];
    let fault = |(why, change): (&str, Change)| Fault {
        job: job.name.clone(),
        change,
        due: Severity::Hold,
        subject: "concession".to_owned(),
        at: vec!["concessions".to_owned(), held.path.clone()],
        from: Surroundings::Workshop,
        why: why.to_owned(),
        by_hand: false,
    };
    let faults = faults.into_iter().map(fault).collect();
    let job = Job { text: String::new(), record, ..job.clone() };
    Some(Released { job, of: held.clone(), faults })
}
