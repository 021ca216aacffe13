//! Judging again when files change.

use std::io::{BufRead, BufReader};

use super::{folder, good, hold};
use crate::support::program;

/// How long a verdict is waited for, on the busiest machine.
const LONGEST_WAIT: std::time::Duration = std::time::Duration::from_secs(300);

/// A run that goes on until the test ends.
struct Watching(std::process::Child);

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn a_changed_record_is_judged_again() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    let mut command = program(folder.path());
    command.args("inspect jobs --standard plugs.standard --as-of 2026-04-01 --watch --brief".split(' '));
    let mut child = command.stderr(std::process::Stdio::null()).spawn().unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut watching = Watching(child);
    // A run that says nothing more is not waited for without end.
    let (said, heard) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let verdicts = lines.map_while(Result::ok).filter(|line| line.starts_with("Verdict: "));
        verdicts.into_iter().try_for_each(|line| said.send(line))
    });
    let verdict = || heard.recv_timeout(LONGEST_WAIT).expect("no verdict came");
    assert_eq!(verdict(), "Verdict: nothing to hold");
    folder.write("jobs/a.yaml", hold() + "# changed\n");
    assert_eq!(verdict(), "Verdict: 1 hold: do not release");
    // Rules are watched too, and an error does not end it.
    folder.write("plugs.standard", "standard plugs\n");
    assert!(verdict().starts_with("Verdict: no verdict: "));
    folder.write("plugs.standard", super::PLUGS);
    folder.write("jobs/b.yaml", good().replace("K-1", "K-2"));
    while verdict() != "Verdict: 1 hold: do not release" {}
    watching.0.kill().unwrap();
    for options in ["--output x.txt", "--note-known known.yaml"] {
        let ran = folder.run(&format!("inspect jobs --watch {options}"));
        assert_eq!(ran.code, 2, "{ran:#?}");
    }
    folder.run_with(["inspect", "-", "--watch"], "").refused("standard input does not change");
}
