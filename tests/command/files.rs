//! Which files a run takes: files, folders with all below them, standard input.

use super::{folder, good, hold};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02 --brief";

/// The names at the heads of the reports on documents, in their order.
fn documents(out: &str) -> Vec<&str> {
    let head = |line: &'_ str| line.contains(".yaml: ") || line.contains(".yml: ");
    out.lines().filter(|line| head(line)).filter_map(|line| line.split(": ").next()).collect()
}

#[test]
fn folders_are_searched_to_the_bottom_in_a_fixed_order() {
    let folder = folder();
    for name in ["jobs/b.yaml", "jobs/a.yml", "jobs/2026/03/c.yaml", "jobs/2026/d.yaml"] {
        folder.write(name, good());
    }
    folder.write("jobs/e.txt", hold());
    folder.write("jobs/f.yaml.bak", hold());
    let ran = folder.run(&format!("{INSPECT} jobs")).quietly(0);
    let found = documents(&ran.out);
    assert_eq!(found, ["jobs/2026/03/c.yaml", "jobs/2026/d.yaml", "jobs/a.yml", "jobs/b.yaml"]);
    // A file that is named is read whatever its ending, and none is read twice.
    let ran = folder.run(&format!("{INSPECT} jobs/b.yaml jobs jobs/e.txt jobs/b.yaml")).quietly(1);
    ran.says(&["jobs/e.txt: 1 hold", "5 judged"]);
}

#[test]
fn ignore_files_are_honoured_and_named_files_are_read_all_the_same() {
    let folder = folder();
    folder.write("jobs/.gitignore", "draft-*\n");
    folder.write("jobs/.ignore", "old/\n");
    folder.write("jobs/draft-1.yaml", hold());
    folder.write("jobs/old/a.yaml", hold());
    folder.write("jobs/.hidden.yaml", hold());
    folder.write("jobs/new.yaml", good());
    let ran = folder.run(&format!("{INSPECT} --hidden leave jobs")).quietly(0);
    assert_eq!(documents(&ran.out), ["jobs/new.yaml"]);
    folder.run(&format!("{INSPECT} jobs/draft-1.yaml")).quietly(1);
}

#[test]
fn other_yaml_files_in_a_folder_are_passed_over_by_name() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("jobs/lift.yaml", "lifts:\n  - two posts\n");
    folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&["1 judged", "passed over: jobs/lift.yaml"]);
    // One that is named must be a document.
    let named = folder.run(&format!("{INSPECT} jobs/lift.yaml")).quietly(2);
    named.says(&["does not say which form it follows"]);
}

/// A record that lost its first line is not passed over in silence, even where its layout is broken too.
#[test]
fn a_record_without_its_form_is_told_in_a_folder_too() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    let bare = good().replace("form: job/1\n", "");
    assert_ne!(bare, good());
    folder.write("jobs/b.yaml", &bare);
    let said = ["jobs/b.yaml", "this looks like a job record, and it does not say which form it follows"];
    folder.run(&format!("{INSPECT} --width 200 jobs")).quietly(2).says(&said);
    folder.write("jobs/b.yaml", format!("{bare}steps: [\n"));
    let broken = folder.run(&format!("{INSPECT} jobs"));
    assert!(broken.code == 2 && !broken.out.contains("passed over"), "{broken:#?}");
    folder.write("jobs/b.yaml", "procedure: {name: a}\nunit: {kind: engine}\nsteps: []\n");
    folder.run(&format!("{INSPECT} --width 200 jobs")).quietly(2).says(&["this looks like a procedure"]);
    // What others write beside it stays theirs.
    for other in [
        "name: ci\non: [push]\njobs:\n  test: {steps: []}\n",
        "tools: [a]\n",
        "job: {script: make}\nstages: [a]\n",
        "steps:\n- job: a\nparameters: []\n",
        "unit: a\n",
        "# job:\n# vehicle:\n# unit:\nlifts: 2\n",
        "lifts:\n  job: 1\n  vehicle: 2\n  unit: 3\n",
    ] {
        folder.write("jobs/b.yaml", other);
        folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&["passed over: jobs/b.yaml"]);
    }
}

#[cfg(unix)]
#[test]
fn what_is_no_file_in_a_folder_is_passed_over_by_name() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("elsewhere/b.yaml", hold());
    let link = |to: &str, name: &str| {
        std::os::unix::fs::symlink(folder.path().join(to), folder.path().join(name)).unwrap();
    };
    link("elsewhere/b.yaml", "jobs/b.yaml");
    link("elsewhere", "jobs/more");
    link("elsewhere/b.yaml", "jobs/notes.txt");
    let _socket = std::os::unix::net::UnixListener::bind(folder.path().join("jobs/s.yaml")).unwrap();
    folder.run(&format!("{INSPECT} --hidden leave --width 300 jobs")).quietly(0).says(&[
        "1 judged",
        "passed over: jobs/b.yaml (a link, which is not followed), jobs/more (a link, which is not followed), \
         jobs/s.yaml (no ordinary file)",
    ]);
}

/// Files of ours that nobody judges say what they are for, whether they are named or found.
#[test]
fn settings_and_known_findings_are_no_documents_to_judge() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("jobs/old-settings.yaml", "form: workshop/1\nworkshop: {name: W}\n");
    folder.write("jobs/known.yaml", "form: known/1\nfindings: []\n");
    folder.write("jobs/tools.yaml", "form: tools/1\ntools: []\n");
    let says = [
        "these are the settings of a workshop, which are judged by no standard",
        "these are known findings, which are judged by no standard",
        "no standard of this run is meant for this document",
    ];
    folder.run(&format!("{INSPECT} jobs")).quietly(0).says(&says);
    folder.run(&format!("{INSPECT} jobs/known.yaml")).quietly(2).says(&says[1..2]);
    folder.run(&format!("{INSPECT} jobs/old-settings.yaml")).quietly(2).says(&says[..1]);
}

/// Where nothing has the name that a rule looks for, an entry of nearly that name is shown with the finding.
#[test]
fn a_name_that_nothing_has_gets_a_near_one() {
    let folder = folder();
    folder.write(
        "near.standard",
        "standard near edition 1 \"Near\"\njudges job\nrule plug \"A plug\"\n  concerns each f in fastenings where f.role is \"drain plug\" and f.marked, at least 1\n  \
         demands f.torque above 1 Nm\n  otherwise hold \"x\"\nrule step \"A step\"\n  demands some s in steps: s.step is \"test drive 1\"\n  otherwise hold \"y\"\n\
         rule counted \"Counted\"\n  demands (count of s in steps where \"let the oil out\" is s.step) at least 1\n  otherwise hold \"z\"\n",
    );
    let record = |role: &str, steps: &str| {
        folder.write("a.yaml", format!("{}steps: [{steps}]\n", good().replace("drain plug", role)));
        folder.run("inspect a.yaml --standard near.standard --as-of 2026-03-02 --width 200")
    };
    let said = |out: &str| {
        out.lines().filter_map(|line| line.strip_prefix("near name: ")).map(str::to_owned).collect::<Vec<_>>()
    };
    let ran = record("drain plg", "{step: tets drive 1}, {step: let the oil uot}").quietly(1);
    let ran =
        ran.says(&["A plug: at least 1 required; none of 1 in `fastenings` where", "off by: 1 missing"]);
    assert_eq!(
        said(&ran.out),
        [
            "`fastenings[0].role` is `drain plg`, which is nearly `drain plug`",
            "`steps[0].step` is `tets drive 1`, which is nearly `test drive 1`",
            "`steps[1].step` is `let the oil uot`, which is nearly `let the oil out`",
        ]
    );
    // The only one that begins with the same word is shown.
    let ran = record("drain pin", "{step: test drive 1}, {step: let the oil out}").quietly(1);
    assert_eq!(said(&ran.out), ["`fastenings[0].role` is `drain pin`"]);
    // Another thing is none of that name, and nor is the next of a row.
    assert!(said(&record("fill plug", "{step: test drive 2}, {step: let the oil out 2}").out).is_empty());
    record("drain plug", "{step: test drive 1}, {step: let the oil out}").quietly(0);
}

/// A reading that two rules look at is listed once among those near a limit, with the nearer one.
#[test]
fn a_reading_near_a_limit_is_listed_once() {
    let folder = folder();
    let more = "\nrule tight \"Tight\"\n  concerns each f in fastenings\n  demands f.torque within plug, f.torque at most 70 Nm\n  otherwise hold \"x\"\n";
    let narrow = "\nrule narrow \"Narrow\"\n  concerns each f in fastenings\n  demands f.torque within 44.9 Nm .. 47 Nm\n  otherwise hold \"x\"\n";
    folder.write("plugs.standard", format!("{}{more}{narrow}", super::PLUGS));
    folder.write("a.yaml", good());
    let ran = folder.run(&format!("{INSPECT} a.yaml --width 300"));
    let near: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("near a limit")).collect();
    assert_eq!(near.len(), 1, "{ran:#?}");
    assert!(near[0].ends_with("in a.yaml line 6, plugs.narrow"), "{near:?}");
}

/// A rule's own range of what can be believed is no tolerance: near its end is nothing to look at.
#[test]
fn near_the_end_of_a_wide_range_is_not_near_a_limit() {
    for (range, listed) in [("40 Nm .. 47 Nm", 1), ("40 Nm .. 390 Nm", 1), ("40 Nm .. 400 Nm", 0)] {
        let folder = folder();
        let rule = format!(
            "\nrule wide \"Wide\"\n  concerns each f in fastenings\n  demands f.torque within {range}\n  otherwise hold \"x\"\n"
        );
        folder.write("plugs.standard", format!("{}{rule}", super::PLUGS));
        folder.write("a.yaml", good().replace("45 Nm", "46.9 Nm"));
        let ran = folder.run(&format!("{INSPECT} a.yaml --width 300"));
        let near = ran
            .out
            .lines()
            .filter(|line| line.contains("near a limit") && line.ends_with("plugs.wide"))
            .count();
        assert_eq!(near, listed, "{range} {ran:#?}");
    }
}

#[test]
fn standard_input_is_a_document() {
    let folder = folder();
    let arguments: Vec<&str> = INSPECT.split(' ').chain(["-"]).collect();
    let ran = folder.run_with(arguments.iter().copied(), &hold()).quietly(1);
    ran.says(&["standard input: 1 hold", "line 6: hold: Plug A"]);
    folder.run_with(arguments.iter().copied(), &good()).quietly(0);
    folder.run_with(arguments.iter().copied(), "").quietly(2).says(&["there is no document in this text"]);
}

#[test]
fn each_document_of_a_file_is_judged_by_itself() {
    let folder = folder();
    folder.write("all.yaml", format!("{}---\n{}---\n{}", good(), hold(), good()));
    folder.run(&format!("{INSPECT} all.yaml")).quietly(1).says(&[
        "all.yaml (document 1): nothing to hold",
        "all.yaml (document 2): 1 hold",
        "line 13: hold: Plug A",
        "all.yaml (document 3): nothing to hold",
        "3 judged",
    ]);
}

#[test]
fn a_run_over_more_documents_than_one_batch_keeps_their_order() {
    let folder = folder();
    for number in 0..600 {
        let text = if number % 100 == 7 { hold() } else { good() };
        folder.write(&format!("jobs/{number:04}.yaml"), text.replace("K-1", &format!("K-{number}")));
    }
    let one = folder.run(&format!("{INSPECT} jobs --threads 1")).quietly(1);
    let found = documents(&one.out);
    assert_eq!(found.len(), 600);
    assert!(found.is_sorted(), "the documents are out of order");
    one.says(&["600 judged", "6 holds"]);
}
