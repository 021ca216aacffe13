//! What a run writes takes the place of nothing but a report, and a run that fails leaves no old one.

use super::{folder, good, hold};
use crate::support::{Folder, finish, program};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02 --brief";

fn with_record() -> Folder {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder
}

/// What is in a folder, by name.
fn names(folder: &Folder) -> Vec<String> {
    let entries = std::fs::read_dir(folder.path()).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_run_that_fails_leaves_no_old_report() {
    let folder = with_record();
    folder.write("old.txt", "mine");
    for fails in
        ["--as-of never", "--parameter plug", "--settings nowhere.yaml --as-of x", "--hidden judge --as-of x"]
    {
        folder.write("findings.sarif", "{\"version\":\"2.1.0\",\"runs\":[]}");
        let ran = folder.run(&format!(
            "inspect jobs --standard plugs.standard {fails} --format sarif --output findings.sarif"
        ));
        assert_eq!(ran.code, 2, "{ran:#?}");
        assert!(!folder.has("findings.sarif"), "{fails}: {ran:#?}");
    }
    for words in ["--bogus --output findings.sarif", "--output=findings.sarif --format none"] {
        folder.write("findings.sarif", "{\"version\":\"2.1.0\",\"runs\":[]}");
        assert_eq!(folder.run(&format!("inspect jobs {words}")).code, 2);
        assert!(!folder.has("findings.sarif"), "{words}");
        for kept in ["jobs/a.yaml", "plugs.standard", "."] {
            folder.run(&format!("inspect jobs {words}").replace("findings.sarif", kept));
        }
        folder.run(&format!("inspect old.txt {words}").replace("findings.sarif", "old.txt"));
        assert!(folder.has("jobs/a.yaml") && folder.has("plugs.standard") && folder.has("old.txt"));
    }
    folder.write("proof.txt", "old");
    folder.run("prove nowhere.standard --as-of x --output proof.txt").refused("x");
    assert!(!folder.has("proof.txt"));
    folder.write("changes.json", "{\"form\":\"comparison/1\"}");
    folder
        .run("compare nowhere.yaml jobs/a.yaml --format json --output changes.json")
        .refused("nowhere.yaml");
    assert!(!folder.has("changes.json"));
    // A forged report that looks like a document is one all the same.
    folder.write("findings.xml", "<!--\nform: job/1\n-->\n<testsuites/>\n");
    folder.run("inspect jobs --as-of x --format junit --output findings.xml").refused("x");
    assert!(!folder.has("findings.xml"));
}

#[test]
fn a_report_takes_the_place_of_no_record_and_no_rule() {
    let folder = with_record();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\nschemas: {job: own.json}\n",
    );
    folder.write(
        "own.json",
        r#"{"allOf": [{"$ref": "witnessmark:job/1"}], "properties": {"bay": {"type": "string"}}}"#,
    );
    folder.write("jobs/log.csv", "time [s], temperature [°C]\n");
    folder.write("other.yaml", "on: [push]\n");
    folder.write("rules.txt", super::PLUGS);
    folder.write("record.txt", hold());
    folder.write("measured.txt", "time [s], temperature [°C]\n0, 30\n10, 40\n");
    let all = [
        "measured.txt",
        "jobs/a.yaml",
        "workshop.yaml",
        "own.json",
        "plugs.standard",
        "jobs/log.csv",
        "other.yaml",
        "rules.txt",
        "record.txt",
    ];
    for name in all {
        let before = folder.read(name);
        for command in [
            "inspect jobs",
            "inspect jobs record.txt",
            "prove",
            "prove rules.txt",
            "inspect jobs --standard rules.txt",
        ] {
            // A rule file with another ending is told from a text only where it is named.
            if name == "rules.txt" && !command.contains(name) {
                continue;
            }
            let ran = folder.run(&format!("{command} --output {name}"));
            assert!(ran.code == 2 && ran.out.is_empty(), "{command} {name}: {ran:#?}");
            assert!(
                ran.err.contains(&format!("`{name}` "))
                    && ran.err.contains("name another file for the report"),
                "{ran:#?}"
            );
            assert_eq!(folder.read(name), before, "{command} {name}");
        }
    }
    // By whatever name.
    folder.run("inspect jobs --output ./jobs/../record.txt").refused("record");
}

#[cfg(unix)]
#[test]
fn a_link_in_the_place_of_a_report_is_replaced_and_not_followed() {
    use std::os::unix::fs::symlink;
    let folder = with_record();
    folder.write("outside/precious.txt", "precious");
    for to in ["outside/precious.txt", "outside/nowhere.txt", "jobs/a.yaml"] {
        let name = folder.path().join("report.txt");
        let _ = std::fs::remove_file(&name);
        symlink(folder.path().join(to), &name).unwrap();
        folder.run(&format!("{INSPECT} jobs --output report.txt")).quietly(0);
        assert!(std::fs::symlink_metadata(&name).unwrap().is_file(), "{to}");
        assert!(folder.read("report.txt").contains("Verdict"));
    }
    assert_eq!(
        (folder.read("outside/precious.txt"), folder.read("jobs/a.yaml")),
        ("precious".to_owned(), good())
    );
    assert!(!folder.has("outside/nowhere.txt"));
    // Nor is a folder that is a link.
    symlink(folder.path().join("outside"), folder.path().join("out")).unwrap();
    let ran = folder.run(&format!("{INSPECT} jobs --output out/precious.txt"));
    ran.refused("`out` is a link, and links are not followed here");
    assert_eq!(folder.read("outside/precious.txt"), "precious");
    // What the system itself has as a link is no report.
    folder.run(&format!("{INSPECT} jobs --output /dev/stdout")).quietly(0).says(&["Verdict"]);
    folder.run(&format!("{INSPECT} jobs --output /dev/null")).quietly(0);
    assert!(!std::fs::metadata("/dev/null").unwrap().is_file());
}

#[cfg(unix)]
#[test]
fn a_report_has_the_mode_that_its_user_wants() {
    use std::os::unix::fs::PermissionsExt;
    let folder = with_record();
    let mode = |name: &str| std::fs::metadata(folder.path().join(name)).unwrap().permissions().mode() & 0o777;
    let run = |umask: &str, name: &str| {
        let mut command = std::process::Command::new("sh");
        let line = format!("umask {umask}; exec \"$0\" {INSPECT} jobs --output {name}");
        command.current_dir(folder.path()).args(["-c", &line, env!("CARGO_BIN_EXE_witnessmark")]);
        command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
        finish(command, "").quietly(0);
        mode(name)
    };
    assert_eq!((run("022", "a.txt"), run("077", "b.txt"), run("002", "c.txt")), (0o644, 0o600, 0o664));
    std::fs::set_permissions(folder.path().join("a.txt"), std::fs::Permissions::from_mode(0o640)).unwrap();
    assert_eq!(run("022", "a.txt"), 0o640);
}

#[test]
fn a_sheet_takes_the_place_of_no_record() {
    let folder = Folder::new();
    folder
        .write("plug.yaml", "form: procedure/1\nprocedure: {name: plug, edition: 1}\nunit: {kind: engine}\n");
    let run = |output: &str| {
        folder.run(&format!("sheet plug.yaml --without-settings --standard job_basics --output {output}"))
    };
    assert_eq!(run("new.yaml").err, "");
    let blank = folder.read("new.yaml");
    assert!(blank.contains("form: job/1"), "{blank}");
    // The same sheet once more loses nothing.
    assert_eq!(run("new.yaml").err, "");
    let filled = blank.replace("number:", "number: K-1 #");
    assert_ne!(filled, blank);
    folder.write("new.yaml", &filled);
    run("new.yaml").refused("`new.yaml` is there already, and is left as it is");
    run("plug.yaml").refused("`plug.yaml` is there already, and is left as it is");
    assert_eq!(folder.read("new.yaml"), filled);
}

/// Nor of any other text; of an earlier page, which nobody fills in on a screen, and of a file in which nothing is.
#[test]
fn a_sheet_takes_the_place_of_nothing_but_a_sheet() {
    let folder = Folder::new();
    let procedure = "form: procedure/1\nprocedure: {name: plug, edition: 1}\nunit: {kind: engine}\n";
    folder.write("plug.yaml", procedure);
    let run = |options: &str| {
        folder.run(&format!("sheet plug.yaml --without-settings --standard job_basics {options}"))
    };
    for name in ["notes.txt", "page.html", "Makefile"] {
        folder.write(name, "mine");
        for print in ["", "--print "] {
            run(&format!("{print}--output {name}")).refused(&format!("`{name}` is there already"));
        }
        assert_eq!(folder.read(name), "mine");
    }
    for name in [".gitignore", ".git/info/exclude"] {
        run(&format!("--output {name}")).refused("may say which records are read");
        assert!(!folder.has(name));
    }
    folder.write("page.html", "");
    assert_eq!(run("--print --output page.html").err, "");
    folder.write("plug.yaml", procedure.replace("edition: 1", "edition: 2"));
    assert_eq!(run("--print --output page.html").err, "");
    assert!(folder.read("page.html").contains("edition 2"));
}

/// What is called otherwise is nobody's old report, and what reads as a record is one, however that is written.
#[test]
fn a_report_takes_the_place_of_what_is_called_like_one() {
    let folder = with_record();
    let plain = format!("{INSPECT} jobs");
    for (name, text, why) in [
        ("Makefile", "all:\n", "does not end like"),
        ("a.trail.jsonl", "{}\n", "does not end like"),
        ("b.txt", "\"fo\\u0072m\": job/1\njob: {number: K-1}\n", "is a record"),
    ] {
        folder.write(name, text);
        for run in [&*plain, "audit jobs"] {
            folder.run(&format!("{run} --output {name}")).refused(why);
        }
        assert_eq!(folder.run(&format!("inspect jobs --bogus --output {name}")).code, 2);
        assert_eq!(folder.read(name), text);
    }
    for name in ["old", "old.json", "old.out"] {
        folder.write(name, if name == "old" { "" } else { "old" });
        folder.run(&format!("{plain} --output {name}")).quietly(0);
        assert!(folder.read(name).contains("Verdict"), "{name}");
    }
}

/// A report by such a name would hide records from the next run.
#[test]
fn no_report_is_written_where_it_says_which_records_are_read() {
    let folder = with_record();
    folder.write("kept", "jobs/b.yaml\n");
    folder.write(".git/info/exclude", "jobs/b.yaml\n");
    for name in [".gitignore", ".ignore", "jobs/.gitignore", ".git/info/exclude", ".git/info/attributes"] {
        folder.run(&format!("{INSPECT} jobs --output {name}")).refused("may say which records are read");
        assert_eq!(folder.has(name), name == ".git/info/exclude");
    }
    folder.write(".gitignore", "target\n");
    folder.run(&format!("{INSPECT} jobs --output .gitignore")).refused("may say which records are read");
    assert_eq!(folder.run("inspect jobs --bogus --output .gitignore").code, 2);
    assert_eq!(folder.read(".gitignore"), "target\n");
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(folder.path().join("kept"), folder.path().join(".ignore")).unwrap();
        folder.run(&format!("{INSPECT} jobs --output .ignore")).refused("may say which records are read");
        assert_eq!(folder.read(".ignore"), "jobs/b.yaml\n");
    }
}

#[cfg(unix)]
#[test]
fn a_pipe_that_nobody_reads_is_not_waited_for() {
    let folder = with_record();
    assert!(std::process::Command::new("mkfifo").arg(folder.path().join("out")).status().unwrap().success());
    let ran = folder.run(&format!("{INSPECT} jobs --output out"));
    assert!(ran.code == 2 && ran.err.contains("cannot write `out`: nobody reads from it"), "{ran:#?}");
    // One that somebody reads gets the report, as slowly as it is read.
    let path = folder.path().join("out");
    let reader = std::thread::spawn(move || std::fs::read_to_string(path).unwrap());
    let read = loop {
        let ran = folder.run(&format!("{INSPECT} jobs --output out"));
        if ran.code == 0 {
            break reader.join().unwrap();
        }
        assert!(ran.err.contains("nobody reads from it"), "{ran:#?}");
    };
    assert!(read.contains("Verdict"), "{read}");
}

/// What one run takes away for its own report is not missed by the other.
#[test]
fn two_runs_into_one_file_leave_the_report_of_one() {
    let folder = with_record();
    for _ in 0..8 {
        folder.write("report.txt", "old");
        let run = || {
            let mut command = program(folder.path());
            command.args(format!("{INSPECT} jobs --output report.txt").split(' '));
            command.spawn().unwrap()
        };
        for child in [run(), run(), run()] {
            let ran = crate::support::Ran::of(child.wait_with_output().unwrap());
            ran.quietly(0);
        }
        assert!(folder.read("report.txt").contains("Verdict"));
    }
}

/// A reader that goes away has seen enough: the exit code says what it says without it.
#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_changes_no_exit_code() {
    let folder = with_record();
    folder.write("bad.yaml", hold());
    folder
        .write("plug.yaml", "form: procedure/1\nprocedure: {name: plug, edition: 1}\nunit: {kind: engine}\n");
    for arguments in [
        "inspect jobs --standard plugs.standard",
        "inspect bad.yaml --standard plugs.standard",
        "prove plugs.standard",
        "why torque bad.yaml --standard plugs.standard",
        "amend jobs --yes",
        "sheet plug.yaml --without-settings",
        "compare jobs/a.yaml bad.yaml",
        "schema job",
        "words units",
        "completions bash",
        "--help",
        "inspect --help",
        "--version",
    ] {
        let code = folder.run(arguments).code;
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut command = program(folder.path());
        command.args(arguments.split(' ')).stdout(writer);
        let ran = crate::support::Ran::of(command.output().unwrap());
        assert_eq!((ran.code, ran.err.contains("rror")), (code, false), "{arguments}: {ran:#?}");
    }
}

/// Starts a run that writes a report for a while, and waits until it has begun.
#[cfg(unix)]
fn writing(folder: &Folder) -> std::process::Child {
    for job in 0..3000 {
        folder.write(&format!("jobs/{job:04}.yaml"), hold().replace("K-1", &format!("K-{job}")));
    }
    let mut command = program(folder.path());
    command.args(format!("{INSPECT} jobs --output report.txt").split(' '));
    let mut child = command.stdout(std::process::Stdio::null()).spawn().unwrap();
    while left_in(folder).is_empty() && child.try_wait().unwrap().is_none() {
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    child
}

/// The files that are being written in a folder, or were.
#[cfg(unix)]
fn left_in(folder: &Folder) -> Vec<String> {
    names(folder).into_iter().filter(|name| name.starts_with(".witnessmark-")).collect()
}

/// A folder in which a run was killed, and the file that it left.
#[cfg(unix)]
fn killed() -> (Folder, String) {
    let folder = folder();
    let mut child = writing(&folder);
    child.kill().unwrap();
    child.wait().unwrap();
    let mut left = left_in(&folder);
    std::fs::remove_dir_all(folder.path().join("jobs")).unwrap();
    folder.write("jobs/a.yaml", good());
    (folder, left.pop().unwrap())
}

/// A run that was killed leaves the file that it was writing. The next one that writes there takes it away and names it, and
/// leaves alone what another one is writing.
#[cfg(unix)]
#[test]
fn what_a_killed_run_left_behind_is_removed_and_named() {
    let (folder, left) = killed();
    let busy = std::fs::File::open(folder.path().join(&left)).unwrap();
    busy.lock().unwrap();
    folder.run(&format!("{INSPECT} jobs --output report.txt")).quietly(0);
    assert!(folder.has(&left));
    drop(busy);
    // A run that writes nothing there takes nothing away there.
    folder.write("a.yaml", hold().replace("60 Nm", "45 NM"));
    for writes_nothing in [
        format!("{INSPECT} jobs"),
        format!("{INSPECT} jobs --output jobs/report.txt"),
        format!("{INSPECT} nowhere.yaml --output plugs.standard"),
        "amend a.yaml".to_owned(),
        "amend a.yaml --format diff".to_owned(),
        "prove plugs.standard".to_owned(),
    ] {
        let ran = folder.run(&writes_nothing);
        assert!(folder.has(&left) && !ran.err.contains("left behind"), "{writes_nothing}: {ran:#?}");
    }
    let ran = folder.run("amend a.yaml --yes");
    let told = format!("witnessmark: `{left}` was left behind by a run that was cut off, and was removed\n");
    assert_eq!((ran.code, ran.err), (0, told));
    assert!(left_in(&folder).is_empty());
    let (folder, left) = killed();
    let ran = folder.run(&format!("{INSPECT} jobs --note-known known.yaml"));
    assert!(ran.err.contains(&left) && left_in(&folder).is_empty(), "{ran:#?}");
}

/// Whatever its name is: what others put into a folder is theirs, also a copy of what a killed run left in another one.
#[cfg(unix)]
#[test]
fn nothing_is_removed_that_the_program_did_not_write_itself() {
    let (elsewhere, left) = killed();
    let folder = with_record();
    let theirs = [".witnessmark-abc123", ".witnessmark-notes", ".witnessmark-", ".witnessmark-1-1", &*left];
    for name in theirs {
        folder.write(name, elsewhere.read(&left));
        folder.write(&format!("jobs/{name}"), "");
    }
    folder.write("jobs/b.yaml", hold().replace("60 Nm", "45 NM"));
    // By another name, what was left is whatever somebody made of it.
    std::fs::hard_link(elsewhere.path().join(&left), elsewhere.path().join(".witnessmark-zzz999")).unwrap();
    for folder in [&folder, &elsewhere] {
        folder.run("amend jobs --yes");
        for run in ["--output report.txt", "--note-known known.yaml", "--output jobs/report.txt"] {
            assert_eq!(folder.run(&format!("{INSPECT} jobs {run}")).code, 0);
        }
    }
    for name in theirs {
        assert!(folder.has(name) && folder.has(&format!("jobs/{name}")), "{name}");
    }
    assert_eq!(left_in(&elsewhere), [".witnessmark-zzz999"]);
}

#[cfg(unix)]
#[test]
fn a_signal_leaves_no_file_behind() {
    use std::process::Command;
    for (signal, number) in [("INT", 2), ("TERM", 15)] {
        let folder = folder();
        folder.write("report.txt", "old");
        let mut child = writing(&folder);
        Command::new("kill").args([format!("-{signal}"), child.id().to_string()]).status().unwrap();
        let status = child.wait().unwrap();
        use std::os::unix::process::ExitStatusExt;
        assert_eq!(status.signal(), Some(number), "{status:?}");
        assert_eq!(names(&folder), ["jobs", "plugs.standard"]);
    }
}

/// Two runs that write down what is known keep what the other one wrote.
#[test]
fn two_runs_that_note_known_findings_lose_nothing() {
    let folder = folder();
    for job in 0..12 {
        folder.write(&format!("jobs/{job:02}/a.yaml"), hold().replace("K-1", &format!("K-{job}")));
    }
    std::thread::scope(|scope| {
        for job in 0..12 {
            let folder = &folder;
            scope.spawn(move || {
                let ran = folder.run(&format!("{INSPECT} jobs/{job:02} --note-known known.yaml"));
                assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{ran:#?}");
            });
        }
    });
    let known = folder.read("known.yaml");
    for job in 0..12 {
        assert!(known.contains(&format!("document: jobs/{job:02}/a.yaml")), "{job} is lost:\n{known}");
    }
}

#[test]
fn a_report_is_not_written_where_the_next_run_would_read_it() {
    let folder = with_record();
    for name in ["jobs/new.yaml", "new.YML", "own.standard"] {
        let ran = folder.run(&format!("{INSPECT} jobs --output {name}"));
        ran.refused(&format!(
            "`{name}` would be taken for a record or a rule file; name another file for the report"
        ));
        assert!(!folder.has(name));
    }
}
