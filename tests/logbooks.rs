//! Rules over several jobs: logbooks are made of the records of a folder, judged like any document, and what is found in them
//! leads back to the record.

use std::fmt::Write as _;

use crate::command::changed::Repository;
use crate::support::{Folder, Ran};

const HOUSE: &str = r#"standard house edition 1 "House rules over several jobs"
judges logbook
basis "common practice"

rule signed "What an apprentice did is countersigned"
  concerns  each j in jobs where about is "technician" and j.technician is "N. Lehr"
  demands   recorded j.countersigned_by
  otherwise hold "Job {j.job} of {name} is not countersigned."
  remedy    "Look at the work and sign for it."
  because   "An apprentice does not answer for a vehicle alone."
  trial met    { about: technician, jobs: [{ technician: N. Lehr, countersigned_by: A. Muster }] }
  trial broken { about: technician, jobs: [{ technician: N. Lehr }] }

rule one_on_a_lift "One job stands on a lift at a time"
  concerns  each j in jobs where about is "lift"
  demands   j.at_once at most 1
  otherwise hold "{j.at_once} jobs stood on lift {name} when {j.job} was opened."
  remedy    "Correct lift and times in the records."
  because   "A lift carries one vehicle."
  trial met    { about: lift, jobs: [{ at_once: 1 }] }
  trial broken { about: lift, jobs: [{ at_once: 2 }] }

rule few_operations "A wrench makes few operations"
  concerns  where about is "tool"
  demands   (sum of j.operations over j in jobs) at most 10
  otherwise advice "{name} made {sum of j.operations over j in jobs} operations."
  remedy    "Send it away."
  because   "It wears."
  trial met    { about: tool, jobs: [{ operations: 10 }] }
  trial broken { about: tool, jobs: [{ operations: 11 }] }
"#;

/// A job of a month and an hour, with more lines.
fn job(number: &str, opened: &str, closed: &str, head: &str, more: &str) -> String {
    format!(
        "form: job/1\njob: {{number: {number}, opened: {opened}, closed: {closed}, state: closed{head}}}\n\
         vehicle: {{plate: GW 123, odometer: 84210 km}}\nunit: {{kind: engine}}\n{more}"
    )
}

fn workshop() -> Folder {
    let folder = Folder::new();
    folder.write("house.standard", HOUSE);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [house.standard, job_basics]\n",
    );
    folder
}

fn inspect(folder: &Folder, options: &str) -> Ran {
    folder.run(&format!("inspect jobs --as-of 2026-06-01 --standard house.standard --width 300 {options}"))
}

#[test]
fn a_logbook_lists_the_jobs_of_one_in_the_order_of_time() {
    let folder = workshop();
    let fastenings = "fastenings:\n- {role: plug, torque: 30 Nm, tool: T-04, count: 3}\n\
                      - {role: cap, stages: [{torque: 5 Nm}, {torque: 9 Nm}, {angle: 90°}], tool: t 04}\n\
                      - {role: cover, torque: 9 Nm, tool: T-04, count: many}\n";
    let later =
        job("K-2", "2026-03-02T09:00", "2026-03-02T10:00", ", technician: A. Muster, lift: 2", fastenings);
    folder.write("jobs/a.yaml", later.replace("plate: GW 123", "plate: gw-123, vin: AZ1LR48K4MG204117"));
    let faults =
        "fault_memory: {before: {codes: [P0741, {code: P0300, status: pending}]}, after: {codes: [P0741]}}\n";
    folder.write(
        "jobs/b.yaml",
        job("K-1", "2026-03-02T08:00", "2026-03-02T11:00", ", technician: a. muster, lift: 2", faults),
    );
    // A copy is the same job.
    folder.write("jobs/copy.yaml", folder.read("jobs/b.yaml"));
    let told = folder.run("logbook jobs").quietly(0).out;
    let expected = "\
form: logbook/1
about: vehicle
name: GW 123
vin: AZ1LR48K4MG204117
jobs:
- recorded_in: jobs/b.yaml
  job: K-1
  opened: 2026-03-02T08:00
  closed: 2026-03-02T11:00
  state: closed
  odometer: 84210 km
  kind: engine
  technician: a. muster
  lift: 2
  vehicle: GW 123
  renewed: no
- recorded_in: jobs/a.yaml
  job: K-2
  opened: 2026-03-02T09:00
  closed: 2026-03-02T10:00
  state: closed
  odometer: 84210 km
  kind: engine
  technician: A. Muster
  lift: 2
  vehicle: gw-123
  renewed: no
faults:
- recorded_in: jobs/b.yaml
  job: K-1
  opened: 2026-03-02T08:00
  odometer: 84210 km
  code: P0741
- recorded_in: jobs/b.yaml
  job: K-1
  opened: 2026-03-02T08:00
  odometer: 84210 km
  code: P0300
  status: pending
---
form: logbook/1
about: tool
name: T-04
jobs:
- recorded_in: jobs/a.yaml
  job: K-2
  opened: 2026-03-02T09:00
  kind: engine
  technician: A. Muster
  vehicle: gw-123
  operations: [\"\"]
---
form: logbook/1
about: technician
";
    assert!(told.starts_with(expected), "{told}");
    let lift = folder.run("logbook jobs --about lift --name 2").quietly(0).out;
    assert!(lift.contains("at_once: 1\n") && lift.contains("at_once: 2\n"), "{lift}");
    // What cannot be counted in one place is not known in all.
    folder.write("jobs/a.yaml", folder.read("jobs/a.yaml").replace("count: many", "count: 2"));
    folder.run("logbook jobs --name T04").quietly(0).says(&["name: T-04\n", "operations: 7\n"]);
    folder
        .run("logbook jobs --about tool --name T-40")
        .refused("no job here belongs to `T-40`; did you mean `T-04`?");
    // What is printed is a document of its form, without mistakes.
    folder.write("printed/logbooks.yaml", folder.run("logbook jobs").quietly(0).out);
    folder.run("inspect printed --as-of 2026-06-01 --standard house.standard").says(&["documents: 4 judged"]);
}

#[test]
fn what_is_found_leads_to_the_record() {
    let folder = workshop();
    let signed = ", technician: N. Lehr, lift: 1, countersigned_by: A. Muster";
    folder.write("jobs/a.yaml", job("K-1", "2026-03-02T08:00", "2026-03-02T10:00", signed, ""));
    folder.write(
        "jobs/b.yaml",
        job("K-2", "2026-03-02T10:00", "2026-03-02T12:00", ", technician: N. Lehr, lift: 1", ""),
    );
    let ran = inspect(&folder, "").says(&[
        "jobs/b.yaml line 2 column 15: hold: Job K-2 of N. Lehr is not countersigned.",
        "logbooks: 3 made of the jobs, and judged",
        "documents: 2 judged",
    ]);
    assert!(!ran.out.contains("of lift"), "{ran:#?}");
    folder.write("jobs/b.yaml", folder.read("jobs/b.yaml").replace("2026-03-02T10:00", "2026-03-02T09:59"));
    let one = inspect(&folder, "--threads 1").says(&["2 jobs stood on lift 1 when K-2 was opened."]).out;
    assert_eq!(one, inspect(&folder, "--threads 2").out);
    let json: serde_json::Value = serde_json::from_str(&inspect(&folder, "--format json").out).unwrap();
    assert_eq!(json["summary"]["logbooks"], 3);
    let found: Vec<(&str, &str, u64)> = json["documents"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|document| document["findings"].as_array().unwrap())
        .map(|finding| {
            let at = &finding["at"];
            let line = at["start"]["line"].as_u64().unwrap();
            (finding["rule"].as_str().unwrap(), at["source"].as_str().unwrap(), line)
        })
        .collect();
    assert_eq!(found, [("house.signed", "jobs/b.yaml", 2), ("house.one_on_a_lift", "jobs/b.yaml", 2)]);
    for format in ["terminal", "sarif", "github", "gitlab", "junit", "lines"] {
        inspect(&folder, &format!("--format {format}")).says(&["jobs/b.yaml"]);
    }
}

/// What the technician at the bench asks about one record is that record.
#[test]
fn only_a_folder_has_logbooks() {
    let folder = workshop();
    folder.write(
        "jobs/a.yaml",
        job("K-1", "2026-03-02T08:00", "2026-03-02T10:00", ", technician: N. Lehr", ""),
    );
    inspect(&folder, "").says(&["is not countersigned", "logbooks: 2 made"]);
    let alone = folder.run("inspect jobs/a.yaml --as-of 2026-06-01");
    assert!(!alone.out.contains("logbook"), "{alone:#?}");
    let stream = "inspect - --format lines --as-of 2026-06-01";
    let ran = folder.run_with(stream.split(' '), &folder.read("jobs/a.yaml"));
    ran.says(&["a stream has no logbooks, so rules over several jobs judge nothing in it"]);
    folder.run("inspect jobs --standard job_basics").says(&["documents: 1 judged\nstandards:"]);
}

#[test]
fn what_cannot_be_read_is_not_passed_over() {
    let folder = workshop();
    let fastening =
        |count: &str| format!("fastenings: [{{role: plug, torque: 30 Nm, tool: T-04, {count}}}]\n");
    let (opened, closed) = ("2026-03-02T08:00", "2026-03-02T10:00");
    folder.write("jobs/a.yaml", job("K-1", opened, closed, "", &fastening("cuont: 20")));
    inspect(&folder, "").says(&[
        "logbook of tool T-04: nothing to hold, 1 advised",
        "jobs/a.yaml line 5 column 48: advice, undecided",
        "`jobs[0].operations` is recorded but cannot be read",
    ]);
    // Whose it is cannot be told.
    folder.write("jobs/b.yaml", job("K-2", opened, closed, ", technicain: N. Lehr", ""));
    folder.write("jobs/c.yaml", "form: job/1\njob: {number: K-3\nvehicle: {plate: GW 1}\n");
    inspect(&folder, "").says(&[
        "advice: logbooks may lack jobs: whose they are cannot be read, or not all of it, in 2 records: jobs/b.yaml, jobs/c.yaml",
        "code: ",
        "run/logbooks-incomplete",
    ]);
    folder.write(
        "jobs/c.yaml",
        job("K-3", opened, closed, ", lift: 1", "").replace("closed: 2026-03-02T10:00, ", ""),
    );
    folder.write("jobs/d.yaml", job("K-4", "2026-03-03T08:00", closed, ", lift: 1", ""));
    // One of which nobody knows when it left may still stand there.
    inspect(&folder, "").says(&[
        "logbook of lift 1",
        "jobs/c.yaml line 2 column 15: hold, undecided: One job stands on a lift at a time: `jobs[1].at_once` is recorded but",
    ]);
    folder.write("jobs/c.yaml", folder.read("jobs/c.yaml").replace("state: closed", "state: in work"));
    inspect(&folder, "").says(&["hold: 2 jobs stood on lift 1 when K-4 was opened."]);
}

#[test]
fn a_vehicle_is_known_by_plate_and_vin() {
    let folder = workshop();
    let (one, other) = ("AZ1LR48K4MG204117", "AZ1LR48K4MG204118");
    for (number, vehicle) in [
        (1, "plate: GW 1".to_owned()),
        (2, format!("vin: {one}, plate: GW 1")),
        (3, "plate: gw1".to_owned()),
        // The plate has moved on.
        (4, format!("vin: {other}, plate: GW 1")),
        (5, "plate: GW-1".to_owned()),
        (6, format!("vin: {one}, plate: GW 2")),
        (7, "plate: GW 3".to_owned()),
    ] {
        let text =
            job(&format!("K-{number}"), &format!("2026-03-0{number}T08:00"), "2026-04-01T08:00", "", "");
        folder.write(&format!("jobs/{number}.yaml"), text.replace("plate: GW 123", &vehicle));
    }
    let told = folder.run("logbook jobs --about vehicle").quietly(0).out;
    let mut jobs: Vec<String> = Vec::new();
    for line in told.lines() {
        match line.trim().split_once(": ") {
            Some(("name", name)) => jobs.push(format!("{name}:")),
            Some(("job", job)) => write!(jobs.last_mut().unwrap(), " {job}").unwrap(),
            _ => {}
        }
    }
    assert_eq!(jobs, ["GW 3: K-7", "GW 1: K-1 K-2 K-3 K-6", "GW 1: K-4 K-5"]);
}

#[test]
fn the_logbooks_of_what_has_changed_are_judged() {
    let repository = Repository::new();
    let folder = &repository.0;
    folder.write("house.standard", HOUSE);
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [house.standard]\n");
    let (opened, closed) = ("2026-03-02T08:00", "2026-03-02T10:00");
    let of = |number: &str, head: &str| {
        job(number, opened, closed, head, "").replace("GW 123", &format!("GW {}", &number[2..]))
    };
    folder.write("jobs/a.yaml", of("K-1", ", technician: N. Lehr"));
    folder.write("jobs/b.yaml", of("K-2", ", technician: A. Muster, lift: 1"));
    repository.commit();
    let since = || folder.run("inspect jobs --as-of 2026-06-01 --width 300 --changed-since HEAD");
    since().quietly(0).says(&["documents: 0 judged"]);
    // It was of one, and is of another now: of the first one the logbook is without it.
    folder.write("jobs/b.yaml", of("K-2", ", technician: A. Muster, lift: 2"));
    let ran = since().says(&["documents: 1 judged", "logbooks: 3 made"]);
    assert!(!ran.out.contains("countersigned"), "{ran:#?}");
    folder.write("jobs/b.yaml", of("K-2", ", technician: N. Lehr, lift: 2"));
    since().says(&[
        "logbooks: 3 made",
        "jobs/a.yaml line 2 column 15: hold: Job K-1 of N. Lehr is not countersigned.",
        "jobs/b.yaml line 2 column 15: hold: Job K-2 of N. Lehr is not countersigned.",
    ]);
    // After a change of the rules, all are.
    folder.write("house.standard", HOUSE.replace("edition 1", "edition 2"));
    since().says(&["documents: 2 judged", "logbooks: 4 made"]);
}

#[test]
fn what_is_known_of_a_logbook_counts_no_more() {
    let folder = workshop();
    let unsigned =
        |number: &str| job(number, "2026-03-02T08:00", "2026-03-02T10:00", ", technician: N. Lehr", "");
    folder.write("jobs/a.yaml", unsigned("K-1"));
    inspect(&folder, "--note-known known.yaml").says(&["1 hold"]);
    let known = folder.read("known.yaml");
    assert!(known.contains("document: logbook of technician N. Lehr\n"), "{known}");
    assert!(known.contains("jobs[K-1]"), "{known}");
    inspect(&folder, "--accept-known known.yaml")
        .quietly(0)
        .says(&["known: Job K-1 of N. Lehr", "Verdict: nothing new to hold (2 known before)"]);
    folder.write("jobs/b.yaml", unsigned("K-2"));
    let ran = inspect(&folder, "--accept-known known.yaml")
        .says(&["hold: Job K-2 of N. Lehr is not countersigned."]);
    assert_eq!(ran.code, 1, "{ran:#?}");
}

/// Beyond its bounds nothing passes.
#[test]
fn a_logbook_that_is_too_much_is_an_error() {
    let folder = workshop();
    let mut text = String::new();
    for number in 0..200 {
        let (opened, closed) = ("2026-03-02T08:00", "2026-03-02T10:00");
        let _ = writeln!(
            text,
            "---\n{}",
            job(
                &format!("K-{number}"),
                opened,
                closed,
                ", technician: N. Lehr, countersigned_by: A. Muster",
                ""
            )
        );
    }
    folder.write("jobs/a.yaml", text);
    assert_eq!(inspect(&folder, "").code, 0);
    let ran = inspect(&folder, "--most-steps 100");
    assert_eq!(ran.code, 1, "{ran:#?}");
    ran.says(&[
        "logbook of technician N. Lehr",
        "more than 100 steps for this document, the last of them for `house.signed`",
    ]);
    let ran = inspect(&folder, "--most-steps-in-all 10");
    assert_eq!(ran.code, 2, "{ran:#?}");
    ran.says(&[
        "logbook of technician N. Lehr: could not be read",
        "not judged: the rules have taken more than 10 steps",
    ]);
    folder.write("jobs/b.yaml", job("K-2", "2026-03-02T08:00", "2026-03-02T10:00", "", ""));
    let mut fastenings = "fastenings:\n".to_owned();
    for number in 0..1_001 {
        let _ = writeln!(fastenings, "- {{role: plug, tool: T-{number}}}");
    }
    folder.write("jobs/a.yaml", job("K-1", "2026-03-02T08:00", "2026-03-02T10:00", "", &fastenings));
    let ran = inspect(&folder, "");
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(!ran.out.contains("made of the jobs"), "{ran:#?}");
    ran.says(&[
        "error: no logbook is judged, as 1 record of the run state more than is kept for them: jobs/a.yaml",
    ]);
}

/// Names are people's own, and what they hold does no harm.
#[test]
fn a_name_is_written_so_that_it_is_read_again() {
    let folder = workshop();
    for (number, name) in [
        "\"a: b\"",
        "\"- c\"",
        "\"#d\"",
        "'e\"\\f'",
        "\"g\\th\"",
        "'{i}'",
        "no",
        "\"j\\u202Ek\"",
        "'l ##m[n] ###o'",
    ]
    .iter()
    .enumerate()
    {
        let text = job(
            &format!("K-{number}"),
            "2026-03-02T08:00",
            "2026-03-02T10:00",
            &format!(", technician: {name}"),
            "",
        );
        folder.write(&format!("jobs/{number}.yaml"), text);
    }
    let printed = folder.run("logbook jobs --about technician").quietly(0).out;
    // Some build servers take two of these signs for a command.
    assert!(!printed.contains("##"), "{printed}");
    let table = folder.run("audit jobs --as-of 2026-06-01 --format csv --standard house.standard");
    assert!(table.out.contains("l #") && !table.out.contains("##m["), "{table:#?}");
    folder.write("printed/logbooks.yaml", printed);
    let ran = folder.run("inspect printed --as-of 2026-06-01 --standard house.standard");
    ran.quietly(2).says(&[
        "documents: 9 judged",
        "findings: 0 holds, 0 advised",
        "Verdict: no verdict: no rule applied",
    ]);
}
