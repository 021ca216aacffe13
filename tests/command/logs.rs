//! Files of logs that are hostile, missing or wrong: said at the line that names them, and all else is judged.

use std::fs::File;

use crate::support::Folder;

const RULES: &str = r#"standard logs edition 1 "Logs"
judges job

rule pressure "The pressure is reached"
  concerns  each l in logs, each s in steps
  demands   at some moment in s: l.pressure at least 3 bar
  otherwise hold "Not reached."
  basis     "common practice"

rule state "The job is closed"
  demands   job.state is "closed"
  otherwise hold "Not closed."
  basis     "common practice"
"#;

/// A folder with the rules and a record that names a log.
fn folder(log: &str) -> Folder {
    let folder = Folder::new();
    folder.write("logs.standard", RULES);
    folder.write(
        "jobs/job.yaml",
        format!(
            "form: job/1\n\
             job: {{number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed}}\n\
             vehicle: {{}}\n\
             unit: {{kind: cooling}}\n\
             steps: [{{step: hold, started: \"2026-03-02T10:00:00Z\", ended: \"2026-03-02T10:00:30Z\"}}]\n\
             logs:\n  - of: hold\n    started: 2026-03-02T10:00:00Z\n    pressure: {log}\n"
        ),
    );
    folder
}

const INSPECT: &str = "inspect jobs/job.yaml --standard logs.standard --as-of 2026-03-02 --without-settings";

/// The log stands in line 9; the rule that needs it is undecided and the other one is judged.
fn assert_refused(folder: &Folder, says: &str) {
    let ran = folder.run(INSPECT);
    ran.quietly(1).says(&[
        says,
        "line 9: error: ",
        "waiting: 1 rule waits for `logs[0].pressure` (hold): ",
        "1 demand met",
    ]);
}

#[test]
fn a_log_in_a_file_is_judged() {
    let folder = folder("log.csv");
    folder.write("jobs/log.csv", "time [s],pressure [bar]\n0,1.2\n20,3.1\n30,3.0\n");
    folder.run(INSPECT).quietly(0).says(&["2 demands met"]);
    // With the byte-order mark, line ends of Windows, semicolons, quotes, another unit and times of day.
    folder.write(
        "jobs/log.csv",
        "\u{feff}\"time\";Pressure (kPa);note\r\n2026-03-02T11:00:00+01:00;120;\"a;b\"\r\n2026-03-02T10:00:30Z;299.9;\r\n",
    );
    folder
        .run(INSPECT)
        .quietly(1)
        .says(&["never; 2.999 bar gauge at 11:00:30+01:00 comes nearest", "0.001 bar"]);
    folder.write("jobs/below/log.csv", "time [s],pressure [bar]\n0,3\n");
    let below = self::folder("below/log.csv");
    below.write("jobs/below/log.csv", "time [s],pressure [bar]\n0,3\n");
    below.run(INSPECT).quietly(0).says(&["2 demands met"]);
}

#[test]
fn a_wrong_file_of_a_log_is_said_at_the_line_that_names_it() {
    let cases: [(&[u8], &str); 13] = [
        (b"0,1.2\n20,3.1\n", "log/heading"),
        (b"", "log/heading"),
        (b"time [s],pressure [bar]\n0,1,2\n", "write decimal points"),
        (b"time [s],pressure [bar]\n0,NaN\n", "log/value"),
        (b"time [s],pressure [bar]\n0,inf\n", "log/value"),
        (b"time [s],pressure [bar]\n10,1\n5,2\n", "in `log.csv`, line 3: it lies before the time of line 2"),
        (b"time [s],pressure [bar]\n10,1\n10,2\n", "line 3: it repeats the time of line 2"),
        (b"time [s],pressure\n0,1\n", "does not say in which unit"),
        ("time [s],pressure [°C]\n0,1\n".as_bytes(), "log/unit"),
        (b"time [s],presure [bar]\n0,1\n", "did you mean `presure`?"),
        (b"time [s],pressure [bar]\n0,\xff\n", "log/encoding"),
        (b"time [s],pressure [bar]\n0\n", "log/ragged"),
        (b"time [s],pressure [bar]\nlater,1\n", "log/time"),
    ];
    for (text, says) in cases {
        let folder = folder("log.csv");
        std::fs::write(folder.path().join("jobs/log.csv"), text).unwrap();
        assert_refused(&folder, says);
    }
}

#[test]
fn a_log_that_is_not_there_or_not_beside_the_record_is_refused() {
    assert_refused(&folder("log.csv"), "put the log beside the record, under this name");
    for outside in ["../log.csv", "/etc/hostname", "below/../../log.csv", "\"\\0\""] {
        let folder = folder(outside);
        folder.write("log.csv", "time [s],pressure [bar]\n0,3\n");
        assert_refused(&folder, "log/file");
    }
    let folder = folder("log.csv");
    std::fs::create_dir(folder.path().join("jobs/log.csv")).unwrap();
    assert_refused(&folder, "is no ordinary file");
}

#[test]
fn a_log_past_the_size_limit_is_refused_before_it_is_read() {
    let folder = folder("log.csv");
    // Two gigabytes, of which the disk holds nothing.
    File::create(folder.path().join("jobs/log.csv")).unwrap().set_len(2 << 30).unwrap();
    assert_refused(&folder, "has 2048 MiB, and 512 are allowed");
}

#[cfg(unix)]
#[test]
fn links_and_pipes_do_not_lead_a_log_elsewhere() {
    let folder = folder("log.csv");
    folder.write("log.csv", "time [s],pressure [bar]\n0,3\n");
    std::os::unix::fs::symlink("../log.csv", folder.path().join("jobs/log.csv")).unwrap();
    assert_refused(&folder, "is a link that leads out of the folder of the record");

    let folder = self::folder("log.csv");
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("jobs/log.csv")).status();
    assert!(made.unwrap().success());
    assert_refused(&folder, "is no ordinary file");
}

#[test]
fn a_record_from_standard_input_has_no_folder_for_logs() {
    let folder = folder("log.csv");
    folder.write("log.csv", "time [s],pressure [bar]\n0,3\n");
    let record = std::fs::read_to_string(folder.path().join("jobs/job.yaml")).unwrap();
    let ran = folder.run_with(INSPECT.replace("jobs/job.yaml", "-").split(' '), &record);
    ran.quietly(1).says(&["log/file"]);
}
