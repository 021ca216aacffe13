//! 0 for nothing at or above the failing severity, 1 for findings, 2 for work that could not be done.

use super::{folder, good, hold, in_work, note, open};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

#[test]
fn what_is_found_decides() {
    let folder = folder();
    folder.write("good.yaml", good());
    folder.write("hold.yaml", hold());
    folder.write("note.yaml", note());
    folder.write("open.yaml", open());
    folder.write("work.yaml", in_work());
    let cases = [
        ("good.yaml", 0, "nothing to hold, 2 demands met"),
        ("hold.yaml", 1, "line 6: hold: Plug A: 60 Nm recorded, 45 Nm ± 10 % required."),
        (
            "open.yaml",
            1,
            "line 6: hold, undecided: `fastenings[0].torque` is not recorded (needed for: Plugs are tightened)",
        ),
        (
            "work.yaml",
            0,
            "still to do: `fastenings[0].torque` is not recorded (needed for: Plugs are tightened)",
        ),
        ("note.yaml", 0, "line 6: note: Plug A has no mark."),
        ("note.yaml --fail-on hold", 0, "note"),
        ("note.yaml --fail-on advice", 0, "note"),
        ("note.yaml --fail-on note", 1, "note"),
        ("good.yaml hold.yaml", 1, "2 judged"),
        (". --fail-on note", 1, "5 judged"),
    ];
    for (arguments, code, says) in cases {
        folder.run(&format!("{INSPECT} {arguments}")).quietly(code).says(&[says]);
    }
}

#[test]
fn the_failing_severity_of_the_settings_yields_to_the_command_line() {
    let folder = folder();
    folder.write("note.yaml", note());
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\nfail_on: note\n",
    );
    folder.run("inspect note.yaml").quietly(1);
    folder.run("inspect note.yaml --fail-on hold").quietly(0);
    folder.run("inspect note.yaml --without-settings --standard plugs.standard").quietly(0);
}

/// What is advised of a document itself weighs as much as an advice of a rule; verdict, exit code and
/// JUnit agree on it.
#[test]
fn advices_on_documents_fail_a_run_that_fails_on_advices() {
    let folder = folder();
    folder.write("a.yaml", good().replace("2026-03-02T08:15", "2026-03-05T08:15"));
    let inspect = |more: &str| folder.run(&format!("{INSPECT} a.yaml {more}"));
    inspect("")
        .quietly(0)
        .says(&["Verdict: nothing to hold\n", "a.yaml: nothing to hold, 1 advised, 2 demands met"]);
    inspect("--fail-on hold").quietly(0);
    for severity in ["advice", "note"] {
        let fails = "Verdict: nothing to hold, but 1 finding fails this run";
        inspect(&format!("--fail-on {severity}")).quietly(1).says(&[fails, "advised of documents: 1"]);
        let junit = inspect(&format!("--fail-on {severity} --format junit")).quietly(1);
        junit.says(&["failures=\"1\"", "<failure type=\"run/day-to-come\""]);
        let json = inspect(&format!("--fail-on {severity} --format json")).quietly(1);
        json.says(&["\"outcome\":\"fails\"", "\"document_advices\":1"]);
    }
    assert!(inspect("--format junit").quietly(0).out.matches("failures=\"0\"").count() >= 2);
}

#[test]
fn nothing_to_inspect_is_no_success() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("empty")).unwrap();
    folder.write("other/list.yaml", "- one\n- two\n");
    for path in ["empty", "other", "plugs"] {
        let ran = folder.run(&format!("{INSPECT} {path}"));
        assert_eq!(ran.code, 2, "{path}: {ran:#?}");
        assert!(
            ran.out.contains("no document was judged") || ran.out.contains("could not be read"),
            "{ran:#?}"
        );
    }
    folder.run(&format!("{INSPECT} other")).says(&["passed over: other/list.yaml"]);
    let none = folder.run("inspect");
    none.refused("PATH");
}

#[test]
fn an_unreadable_document_does_not_hide_the_others() {
    let folder = folder();
    folder.write("a.yaml", "form: job/1\njob: [\n");
    folder.write("b.yaml", hold());
    folder.write("c.yaml", good());
    folder.run(&format!("{INSPECT} a.yaml b.yaml missing.yaml c.yaml")).quietly(2).says(&[
        "a.yaml: could not be read",
        "line 6: hold: Plug A",
        "missing.yaml: could not be read",
        "there is no such file",
        "c.yaml: nothing to hold",
        "2 judged, 2 could not be read",
    ]);
}

#[test]
fn a_document_with_a_wrong_field_is_a_finding() {
    let folder = folder();
    folder.write("a.yaml", good().replace("marked", "markd"));
    folder.run(&format!("{INSPECT} a.yaml")).quietly(1).says(&["document/unknown-field", "`marked`"]);
}

#[test]
fn bad_rules_are_worse_than_findings_and_the_good_ones_run() {
    let folder = folder();
    let bad = format!("{}\nrule bad \"Bad\"\n  demands f.torque\n", super::PLUGS);
    folder.write("bad.standard", bad);
    folder.write("hold.yaml", hold());
    let ran = folder.run("inspect --standard bad.standard hold.yaml").quietly(2);
    ran.says(&["language/clause-missing", "line 6: hold: Plug A", "bad.standard line 23"]);
    folder
        .run("prove bad.standard")
        .quietly(2)
        .says(&["2 rules in 1 standard, 4 trials: 4 came out as stated"]);
}

#[test]
fn wrong_arguments_are_explained_on_the_error_stream() {
    let folder = folder();
    folder.write("good.yaml", good());
    folder.run("inspct good.yaml").refused("inspect");
    folder.run(&format!("{INSPECT} good.yaml --format pdf")).refused("sarif");
    folder.run(&format!("{INSPECT} good.yaml --fail-on dread")).refused("advice");
    folder.run("inspect good.yaml --as-of yesterday").refused("is no day of the form year-month-day");
    folder.run("inspect good.yaml --as-of 31.03.2026").refused("write 2026-03-31");
    folder.run("inspect good.yaml --as-of 2026-02-30").refused("the last day of that month is 2026-02-28");
    folder.run("inspect good.yaml --parameter plug").refused("NAME=VALUE");
    folder.run("inspect - good.yaml").refused("is used alone");
    folder.run("").refused("Usage");
}

#[test]
fn help_and_version_are_results() {
    let folder = folder();
    folder.run("--help").quietly(0).says(&["inspect", "prove", "why", "Exit codes: 0"]);
    folder.run("inspect --help").quietly(0).says(&["--standard", "--fail-on", "--as-of"]);
    let version = format!("witnessmark {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!(folder.run("--version").quietly(0).out, version);
}

/// The records of trials that come out otherwise fail `prove`; a rule without trials is only named.
#[test]
fn prove_ends_with_the_outcome_of_the_trials() {
    let folder = folder();
    folder.run("prove plugs.standard").quietly(0).says(&["all trials passed"]);
    let wrong = super::PLUGS.replace(
        "trial met    { fastenings: [{ role: drain plug, torque: 45 Nm }] }",
        "trial broken { fastenings: [{ role: drain plug, torque: 45 Nm }] }",
    );
    folder.write("wrong.standard", wrong);
    folder.run("prove wrong.standard").quietly(1).says(&[
        "rules/trial-failed",
        "wrong.standard line 11",
        "the trial expects `broken`, and it came out `met`",
    ]);
    let elsewhere = super::PLUGS.replace(
        "trial broken { fastenings: [{ role: drain plug, torque: 60 Nm }] }",
        "trial broken at fastenings[0].role { fastenings: [{ role: drain plug, torque: 60 Nm }] }",
    );
    folder.write("elsewhere.standard", elsewhere);
    folder.run("prove elsewhere.standard").quietly(1).says(&[
        "rules/trial-failed",
        "the finding does not point at `fastenings[0].role`",
        "fastenings[0].torque",
    ]);
    let untried: String = super::PLUGS
        .lines()
        .filter(|line| !line.contains("trial") && !line.contains("basis"))
        .map(|line| format!("{line}\n"))
        .collect();
    folder.write("untried.standard", untried);
    folder.run("prove untried.standard").quietly(0).says(&[
        "rules/no-trial",
        "rules/no-basis",
        "rules without a trial: plugs.torque, plugs.marked",
    ]);
    folder.write("nothing/readme.txt", "");
    folder.run("prove nothing").quietly(2).says(&["rules/no-such-standard", "holds no rule files"]);
}
