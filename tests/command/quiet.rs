//! Reports that say less, and tables that say it by rule.

use super::{folder, good, hold, in_work, note, open};
use crate::support::Folder;

const INSPECT: &str = "inspect jobs --standard plugs.standard --as-of 2026-04-01 --width 300";

fn jobs(jobs: &[(&str, String)]) -> Folder {
    let folder = folder();
    for (number, (name, text)) in (1..).zip(jobs) {
        folder.write(&format!("jobs/{name}.yaml"), text.replace("K-1", &format!("K-{number}")));
    }
    folder
}

#[test]
fn a_quiet_run_says_nothing_where_all_is_well() {
    let well = jobs(&[("a", good()), ("b", note()), ("c", in_work())]);
    for format in ["plain", "terminal"] {
        for brief in ["", " --brief"] {
            let ran = well.run(&format!("{INSPECT} --quiet --format {format}{brief}")).quietly(0);
            assert_eq!(ran.out, "", "{format}{brief}");
        }
    }
    // What is read by programs is whole.
    let whole = |options: &str| well.run(&format!("{INSPECT} --format json{options}")).quietly(0).out;
    assert_eq!(whole(" --quiet"), whole(""));
}

#[test]
fn a_quiet_run_says_what_fails_it_and_the_verdict() {
    let folder = jobs(&[("a", good()), ("b", hold()), ("c", note())]);
    let ran = folder.run(&format!("{INSPECT} --quiet --brief")).quietly(1);
    assert_eq!(
        ran.out,
        "jobs/b.yaml: 1 hold, 1 demand met\nline 6: hold: Plug A: 60 Nm recorded, 45 Nm ± 10 % required. (plugs.torque)\n\n\
         Verdict: 1 hold: do not release\n"
    );
    let ran = folder.run(&format!("{INSPECT} --quiet --fail-on note")).quietly(1);
    ran.says(&["jobs/b.yaml: ", "jobs/c.yaml: ", "Plug A has no mark.", "Verdict: 1 hold: do not release"]);
    folder.write("jobs/torn.yaml", "form: job/1\njob: [\n");
    let ran = folder.run(&format!("{INSPECT} --quiet --format terminal")).quietly(2);
    ran.says(&["torn.yaml", "Verdict: 1 hold: do not release; not everything could be judged"]);
}

/// Silence would look as if all had been judged.
#[test]
fn a_quiet_run_does_not_pass_over_what_no_rule_judged() {
    let job = good() + "  - {role: some bolt, place: B, torque: 9 Nm}\n";
    let ran = jobs(&[("a", job)]).run(&format!("{INSPECT} --quiet"));
    assert_eq!(
        (ran.code, &*ran.out),
        (0, "Verdict: nothing to hold; 1 value judged by no rule\n"),
        "{ran:#?}"
    );
    folder().run("inspect . --standard plugs.standard --quiet").quietly(2).says(&["no document was judged"]);
}

#[test]
fn statistics_say_in_how_many_documents_each_rule_holds() {
    let mut records = vec![("a", good()), ("b", hold()), ("c", note()), ("d", open()), ("e", in_work())];
    records.extend(["f", "g", "h"].map(|name| (name, hold())));
    records.push(("i", hold().replace("torque: 60 Nm", "torqe: 60 Nm")));
    let folder = jobs(&records);
    let ran = folder.run(&format!("{INSPECT} --statistics --brief"));
    let table: Vec<&str> = ran.out.lines().filter(|line| line.contains(" document")).take(3).collect();
    assert_eq!(
        table,
        [
            "hold plugs.torque: 6 documents (2 undecided): jobs/b.yaml, jobs/d.yaml, jobs/f.yaml and 3 more",
            "error document/unknown-field: 1 document: jobs/i.yaml",
            "note plugs.marked: 1 document: jobs/c.yaml",
        ],
        "{ran:#?}"
    );
    ran.says(&["\nBy rule\nhold plugs.torque: ", "\nwork: ", " steps of rules; the most for plugs.torque "]);
    let ran = folder.run(&format!("{INSPECT} --statistics --format terminal --quiet"));
    ran.says(&[
        "── By rule ──",
        "  6 documents (2 undecided)  hold   plugs.torque\n",
        "  1 document                 error  document/unknown-field\n",
        "  work           ",
    ]);
    let ran = folder.run(&format!("{INSPECT} --format json"));
    ran.says(&["{\"name\":\"plugs.torque\",\"kind\":\"hold\",\"documents\":6,\"undecided\":2}"]);
    assert!(!folder.run(&format!("{INSPECT} --brief")).out.contains("6 documents"));
}
