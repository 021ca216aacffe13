//! What records say of themselves and cannot be: a number that another has, a day to come.

use super::{folder, good};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

#[test]
fn two_records_of_one_job_number_are_both_told() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("jobs/b.yaml", good().replace("K-1", "K-2"));
    folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&["a.yaml: nothing to hold, 2 demands met"]);
    folder.write("jobs/c.yaml", format!("{}---\n{}", good().replace("K-1", "K-3"), good()));
    let ran = folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&[
        "line 2: advice: the job number `K-1` is also that of a record in `jobs/c.yaml`",
        "jobs/c.yaml line 9 column 15: the other record",
        "line 9: advice: the job number `K-1` is also that of a record in `jobs/a.yaml`",
        "jobs/a.yaml line 2 column 15: the other record",
        "run/job-number-twice",
    ]);
    assert_eq!(ran.out.matches("is also that of").count(), 2, "{ran:#?}");
    folder.write("jobs/d.yaml", good());
    let ran = folder.run(&format!("{INSPECT} jobs")).quietly(0);
    assert_eq!(ran.out.matches("the job number `K-1` is that of 3 records").count(), 3, "{ran:#?}");
    // Two records in one file are two records; a file that is named twice is one.
    folder.write("two/e.yaml", format!("{}---\n{}", good(), good()));
    folder.run(&format!("{INSPECT} two")).quietly(0).says(&["is also that of a record in `two/e.yaml`"]);
    let ran = folder.run(&format!("{INSPECT} jobs/a.yaml jobs/../jobs/a.yaml")).quietly(0);
    assert!(!ran.out.contains("job number"), "{ran:#?}");
}

#[test]
fn work_on_a_day_to_come_is_told() {
    let folder = folder();
    let opened = "2026-03-02T08:15:00+01:00";
    let day = |opened: &str, closed: &str| {
        let job = format!("opened: \"{opened}\", closed: \"{closed}\"");
        folder.write("a.yaml", good().replace("opened: \"2026-03-02T08:15:00+01:00\"", &job));
        folder.run(&format!("{INSPECT} a.yaml")).quietly(0)
    };
    let told = |closed: &str| day(opened, closed).out.contains("run/day-to-come");
    assert!(!told("2026-03-02T23:59Z"));
    assert!(told("2026-03-03T00:00Z"));
    // The day of the run is that of UTC without settings.
    assert!(!told("2026-03-03T00:30:00+01:00"));
    // Nor is a day to come that is written as the day of the run.
    assert!(!told("2026-03-02T23:30:00-01:00"));
    assert!(told("2026-03-03T02:30:00+01:00"));
    day("2027-03-02T08:15", "2027-03-02T10:15").says(&[
        "the job was opened on 2027-03-02, and this run judges as of 2026-03-02",
        "the job was closed on 2027-03-02, and this run judges as of 2026-03-02",
    ]);
}

#[test]
fn a_job_in_work_that_says_when_it_was_closed_is_judged_as_closed() {
    let folder = folder();
    folder.write("a.yaml", super::in_work());
    folder.run(&format!("{INSPECT} a.yaml")).quietly(0).says(&["1 still to do"]);
    for closed in ["\"2026-03-02T10:15:00+01:00\"", "yesterday"] {
        folder.write(
            "a.yaml",
            super::in_work().replace("state: in work", &format!("state: in work, closed: {closed}")),
        );
        folder.run(&format!("{INSPECT} a.yaml")).quietly(1).says(&[
            "line 2: error: the job is in work and says when it was closed, so it is judged as closed",
            "run/in-work-and-closed",
            "hold, undecided",
        ]);
    }
    // A value that is left out is none.
    folder.write("a.yaml", super::in_work().replace("state: in work", "state: in work, closed:"));
    folder.run(&format!("{INSPECT} a.yaml")).quietly(0);
}

#[test]
fn a_job_that_is_in_work_for_long_is_advised() {
    let folder = folder();
    folder.write("a.yaml", super::in_work().replace("2026-03-02T08:15:00+01:00", "2026-01-31T08:15:00Z"));
    let advised = |day: &str, options: &str| {
        let line = format!("inspect a.yaml --standard job_basics --format plain --as-of {day} {options}");
        folder.run(&line).out.contains("advice: In work since 2026-01-31T08:15:00Z, more than")
    };
    assert!(!advised("2026-03-02", ""));
    assert!(advised("2026-03-03", ""));
    assert!(!advised("2026-03-03", "--parameter longest_in_work=31d"));
    assert!(advised("2026-02-02", "--parameter longest_in_work=1d"));
}
