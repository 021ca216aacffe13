//! Judging again when files change.

use std::io::{BufRead, BufReader};

use super::{folder, good, hold};
use crate::support::program;

#[test]
fn a_changed_record_is_judged_again() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    let mut command = program(folder.path());
    command.args("inspect jobs --standard plugs.standard --as-of 2026-04-01 --watch --brief".split(' '));
    let mut child = command.stderr(std::process::Stdio::null()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut verdict =
        || lines.by_ref().map(Result::unwrap).find(|line| line.starts_with("Verdict: ")).unwrap();
    assert_eq!(verdict(), "Verdict: nothing to hold");
    folder.write("jobs/a.yaml", hold() + "# changed\n");
    assert_eq!(verdict(), "Verdict: 1 hold: do not release");
    // Rules are watched too, and an error does not end it.
    folder.write("plugs.standard", "standard plugs\n");
    assert!(verdict().starts_with("Verdict: no verdict: "));
    folder.write("plugs.standard", super::PLUGS);
    folder.write("jobs/b.yaml", good().replace("K-1", "K-2"));
    while verdict() != "Verdict: 1 hold: do not release" {}
    child.kill().unwrap();
    child.wait().unwrap();
    for options in ["--output x.txt", "--note-known known.yaml"] {
        let ran = folder.run(&format!("inspect jobs --watch {options}"));
        assert_eq!(ran.code, 2, "{ran:#?}");
    }
    folder.run_with(["inspect", "-", "--watch"], "").refused("standard input does not change");
}
