//! Times with and without an offset, with a time zone and without one.

use super::{folder, good};
use crate::support::Folder;

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

const LOGS: &str = r#"standard logs edition 1 "Logs"
judges job

rule pressure "The pressure is reached"
  concerns  each l in logs, each s in steps
  demands   at some moment in s: l.pressure at least 3 bar
  otherwise hold "Not reached."
  basis     "common practice"

rule order "The step begins before it ends"
  concerns  each s in steps
  demands   s.started before s.ended
  demands   s.ended - s.started at most 1 h
  otherwise hold "Too long."
  basis     "common practice"
"#;

/// A record whose step and log have times of these forms: with an offset behind them, or nothing.
fn log(step: [&str; 2], of_job: &str, log: &str) -> String {
    let [started, ended] = step;
    format!(
        "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00{of_job}\", state: closed}}\n\
         vehicle: {{}}\nunit: {{kind: cooling}}\n\
         steps: [{{step: hold, started: \"2026-03-02T10:00:00{started}\", ended: \"2026-03-02T10:00:30{ended}\"}}]\n\
         logs:\n  - {{of: hold, {log}}}\n"
    )
}

fn times(offset: &str) -> String {
    format!("time,pressure [bar]\n2026-03-02T10:00:00{offset},1\n2026-03-02T10:00:30{offset},4\n")
}

#[test]
fn without_a_zone_the_times_of_a_log_cannot_be_mixed_with_others_either() {
    let folder = Folder::new();
    folder.write("logs.standard", LOGS);
    let inspect = || {
        folder.run("inspect job.yaml --standard logs.standard --as-of 2026-03-02 --format plain --width 300")
    };
    let inline = |offset: &str| {
        format!(
            "pressure: {{\"2026-03-02T10:00:00{offset}\": 1 bar, \"2026-03-02T10:00:30{offset}\": 4 bar}}"
        )
    };
    let undecided = "one time has an offset, the other has none, and no time zone is set";
    let of_log = "error: the times of this log have no offset, others of the document have one";
    for (step, own) in [("Z", "Z"), ("+01:00", "+01:00"), ("", "")] {
        for log_of in [inline(own), "pressure: log.csv".to_owned()] {
            folder.write("log.csv", times(own));
            folder.write("job.yaml", log([step; 2], own, &log_of));
            inspect().quietly(0).says(&["3 demands met"]);
        }
    }
    // Whether the log is written out or in a file, and whichever of the two has the offset.
    for log_of in [inline(""), "pressure: log.csv".to_owned()] {
        folder.write("log.csv", times(""));
        folder.write("job.yaml", log(["Z"; 2], "Z", &log_of));
        inspect().quietly(1).says(&[
            of_log,
            "run/no-time-zone",
            undecided,
            "hold, undecided",
            "2 demands met",
        ]);
    }
    for log_of in [inline("Z"), "pressure: log.csv".to_owned()] {
        folder.write("log.csv", times("Z"));
        folder.write("job.yaml", log([""; 2], "", &log_of));
        inspect().quietly(1).says(&[
            "error: this time has no offset, others of the document have one",
            undecided,
            "hold, undecided",
        ]);
    }
    // A log that is mixed in itself, one that counts from a start of the other kind, and a step.
    folder.write("log.csv", times("").replacen("00:30,", "00:30Z,", 1));
    folder.write("job.yaml", log([""; 2], "", "pressure: log.csv"));
    inspect().quietly(1).says(&["in `log.csv`, line 3: one time has an offset", "run/no-time-zone"]);
    let started = "started: \"2026-03-02T10:00:00\", pressure: {0 s: 1 bar, 30 s: 4 bar}";
    folder.write("job.yaml", log(["Z"; 2], "Z", started));
    inspect().quietly(1).says(&["error: this time has no offset", "hold, undecided", undecided]);
    folder.write(
        "job.yaml",
        log(["Z", ""], "Z", "started: \"2026-03-02T10:00:00Z\", pressure: {0 s: 1 bar, 30 s: 4 bar}"),
    );
    let ran = inspect().quietly(1).says(&["error: this time has no offset", "0 demands met"]);
    assert_eq!(ran.out.matches("hold, undecided").count(), 3, "{ran:#?}");
    // With a zone all of them are instants.
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\ntime_zone: UTC\n");
    inspect().quietly(0).says(&["3 demands met"]);
}

#[test]
fn without_a_zone_nobody_can_tell_which_of_two_jobs_on_one_day_was_the_last() {
    let folder = Folder::new();
    let rules = r#"standard past edition 1 "Past"
judges job
rule odometer "The odometer never falls"
  concerns  where recorded last_job
  demands   vehicle.odometer at least last_job.vehicle.odometer
  otherwise hold "It fell."
  basis     "common practice"
"#;
    folder.write("past.standard", rules);
    let job = |number: u32, opened: &str, km: u32| {
        format!(
            "form: job/1\njob: {{number: K-{number}, opened: \"{opened}\", state: closed}}\n\
             vehicle: {{plate: GW 1, odometer: {km} km}}\nunit: {{kind: engine}}\n"
        )
    };
    let inspect =
        || folder.run("inspect jobs --standard past.standard --as-of 2026-03-09 --format plain --width 300");
    folder.write("jobs/a.yaml", job(1, "2026-03-02T08:00", 2000));
    folder.write("jobs/b.yaml", job(2, "2026-03-02T10:00Z", 1000));
    inspect()
        .quietly(2)
        .says(&["error: which job on this vehicle was the last one before is not known", "run/no-time-zone"]);
    // Two days apart no offset changes the order.
    folder.write("jobs/b.yaml", job(2, "2026-03-04T10:00Z", 1000));
    inspect().quietly(1).says(&["hold: It fell."]);
    folder.write("jobs/b.yaml", job(2, "2026-03-04T10:00Z", 3000));
    inspect().quietly(0);
    folder.write("jobs/b.yaml", job(2, "2026-03-02T10:00", 1000));
    inspect().quietly(1).says(&["hold: It fell."]);
}

#[test]
fn without_a_zone_times_with_and_without_an_offset_cannot_be_mixed() {
    let folder = folder();
    let closed = |closed: &str| {
        let record = good().replace("state: closed", &format!("closed: \"{closed}\", state: closed"));
        folder.write("job.yaml", record);
    };
    closed("2026-03-02T10:15");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(1).says(&[
        "line 2: error: this time has no offset, others of the document have one, and no time zone is set",
        "run/no-time-zone",
        "2 demands met",
    ]);
    closed("2026-03-02T10:15Z");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
    folder.write("job.yaml", good().replace("+01:00", ""));
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
    closed("2026-03-02T10:15");
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\ntime_zone: Europe/Vienna\n");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
}

#[test]
fn a_time_with_another_offset_than_the_others_of_its_day_is_told() {
    let folder = folder();
    let says = "this time of 2026-03-30 has the offset +01:00, others of that day have +02:00";
    let run = |opened: &str, closed: &str, read: &str| {
        let record = format!(
            "form: job/1\njob: {{number: K-1, opened: \"{opened}\", closed: \"{closed}\", state: closed}}\nvehicle: {{}}\n\
             unit: {{kind: engine}}\nfault_memory: {{before: {{read: yes, at: \"{read}\", codes: []}}}}\n"
        );
        folder.write("job.yaml", record);
        folder.run(&format!("{INSPECT} job.yaml --format plain --width 300"))
    };
    let (opened, closed) = ("2026-03-30T08:00:00+02:00", "2026-03-30T10:00:00+02:00");
    let ran = run(opened, closed, "2026-03-30T08:05:00+01:00");
    ran.says(&[says, "line 5: advice", "run/offsets-differ", "one of the others"]);
    // Devices write times in UTC, another day has its own offset, and in the night the clocks change.
    for other in [
        "2026-03-30T06:05:00Z",
        "2026-03-28T08:05:00+01:00",
        "2026-03-30T08:05:00+02:00",
        "2026-03-30T01:05:00+01:00",
    ] {
        let ran = run(opened, closed, other);
        assert!(!ran.out.contains("run/offsets-differ"), "{other}: {}", ran.out);
    }
}
