//! The verb: exit codes, what it prints, what it refuses.

use super::edited;
use crate::support::Folder;

const JOB: &str = "form: job/1\njob: {number: K-1, state: closed}\nunit: {kind: engine}\n\
                   fastenings:\n  - {role: drain plug, place: A, torque: 45 Nm}\n";
const PLUGS: &str = "standard plugs edition 1 \"Plugs\"\njudges job\n\nlet plug = 45 Nm ± 10 %\n\n\
                     rule torque \"Plugs are tightened\"\n  concerns each f in fastenings\n  demands f.torque within plug\n  \
                     otherwise hold \"Plug {f.place}: {f.torque}, {plug} required.\"\n";

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("a.yaml", JOB);
    folder.write("a.standard", PLUGS);
    folder
}

#[test]
fn the_exit_code_says_whether_something_changed() {
    let folder = folder();
    folder.write("same.yaml", JOB.replace("45 Nm}", "45.0 N·m}  # as before"));
    folder.write("other.yaml", JOB.replace("45 Nm", "46 Nm"));
    folder.run("compare a.yaml a.yaml").quietly(0).says(&["nothing changed in meaning"]);
    let ran = folder.run("compare a.yaml same.yaml").quietly(0);
    ran.says(&["nothing changed in meaning", "1 value only written otherwise"]);
    let ran = folder.run("compare a.yaml same.yaml --spellings").quietly(0);
    ran.says(&["rewritten  drain plug A, torque: 45 Nm → 45.0 N·m (line 5)"]);
    let ran = folder.run("compare a.yaml other.yaml --lines").quietly(1);
    ran.says(&[
        "fastenings\n  changed    drain plug A, torque: 45 Nm → 46 Nm (line 5)\n",
        "--- a.yaml\n+++ other.yaml\n",
        "-  - {role: drain plug, place: A, torque: 45 Nm}\n+  - {role: drain plug, place: A, torque: 46 Nm}\n",
        "1 change in meaning: 1 changed",
    ]);
    folder.run("compare a.standard a.standard").quietly(0).says(&["edition 1, content "]);
    folder.run("compare oil_service oil_service").quietly(0).says(&["witnessmark:oil_service"]);
}

/// A name that means two things is not guessed.
#[test]
fn a_shipped_standard_and_a_file_of_its_name_are_told_apart() {
    let folder = folder();
    folder.write("level", PLUGS);
    let said = "`level` is a shipped standard and a file here; write `witnessmark:level` for the standard, or `./level` for the file";
    folder.run("compare level a.standard").refused(said);
    folder.run("compare a.standard level").refused(said);
    folder.run("compare ./level a.standard").quietly(0).says(&["nothing changed in meaning"]);
    folder.run("compare witnessmark:level witnessmark:level").quietly(0).says(&["witnessmark:level"]);
}

/// What programs read follows the schema that `schema comparison` prints.
#[test]
fn the_form_for_programs_follows_its_schema() {
    let folder = folder();
    let other = edited(PLUGS, &[("45 Nm ± 10 %", "60 Nm ± 10 %"), ("rule torque", "rule tight")]);
    folder.write("b.standard", other);
    let more = "  - {role: fill plug, place: B, torque: 30 Nm}\nseals: []\n";
    folder.write("b.yaml", format!("{}{more}", JOB.replace("45 Nm}", "45.0 N·m}").replace("K-1", "K-2")));
    folder.write("jobs/a.yaml", JOB);
    folder.write("jobs/b.yaml", [b'f', b'o', 0xff]);
    let schema: serde_json::Value =
        serde_json::from_str(&folder.run("schema comparison").quietly(0).out).unwrap();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let told = |arguments: &str| -> serde_json::Value {
        let ran = folder.run(&format!("compare {arguments} --format json"));
        serde_json::from_str(&ran.out).unwrap_or_else(|fault| panic!("{fault}: {ran:#?}"))
    };
    let all = [
        told("a.yaml a.yaml"),
        told("a.yaml b.yaml --lines"),
        told("b.yaml a.yaml"),
        told("a.standard b.standard"),
        told("a.standard b.standard --jobs jobs --standard a.standard --as-of 2026-03-02"),
    ];
    for told in &all {
        let faults: Vec<String> = validator.iter_errors(told).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:#?}\n{told:#}");
    }
    assert!(all[1]["lines"].is_string() && all[1]["spellings"][0]["kind"] == "changed");
    assert_eq!(
        (&all[4]["outcomes"]["documents"], &all[4]["outcomes"]["unread"][0]["document"]),
        (&1.into(), &"jobs/b.yaml".into())
    );
    // What the schema forbids is refused.
    for (pointer, value) in
        [("/form", "comparison/2"), ("/changes/0/kind", "better"), ("/old/content", "abc")]
    {
        let mut told = all[1].clone();
        *told.pointer_mut(pointer).unwrap() = value.into();
        assert!(!validator.is_valid(&told), "{pointer}");
    }
}

#[test]
fn what_cannot_be_compared_is_refused_in_plain_words() {
    let folder = folder();
    folder.write("binary.yaml", [b'f', b'o', 0, 0xff, 0xfe]);
    folder.write("procedure.yaml", "form: procedure/1\nprocedure: {name: p, edition: 1}\n");
    folder.write("two.yaml", format!("{JOB}---\n{JOB}"));
    folder.write("none.yaml", "a: b\n");
    folder.write("broken.yaml", "form: job/1\njob: [\n");
    folder.write("twice.yaml", format!("{JOB}unit: {{}}\n"));
    folder.write("wrong.standard", PLUGS.replace("within plug", "within plugs"));
    folder.write("huge.yaml", "a".repeat(17 * 1024 * 1024));
    folder.write("deep.yaml", format!("form: job/1\nx: {}", "[".repeat(100_000)));
    let cases = [
        ("a.yaml binary.yaml", "binary.yaml"),
        ("a.yaml procedure.yaml", "only documents of one form are compared"),
        ("a.yaml two.yaml", "it holds 2 documents"),
        ("none.yaml a.yaml", "`none.yaml` cannot be compared: it follows no form that is known"),
        ("a.yaml broken.yaml", "`broken.yaml` cannot be compared"),
        ("a.yaml twice.yaml", "a part of it cannot be read"),
        ("a.yaml missing.yaml", "there is no such file"),
        ("a.yaml huge.yaml", "longer than 16 MiB"),
        ("a.yaml deep.yaml", "`deep.yaml` cannot be compared"),
        ("a.yaml .", "is a folder"),
        ("a.yaml -", "standard input is not compared"),
        ("a.standard a.yaml", "`a.standard` is a rule file and `a.yaml` a document"),
        ("a.standard wrong.standard", "`wrong.standard` has errors"),
        ("a.yaml a.yaml --jobs .", "--jobs judges by two rule files"),
        ("a.standard a.standard --jobs missing", "`missing` is no folder"),
        ("a.yaml a.yaml --format sarif", "`compare` reports in the forms terminal, plain and json"),
    ];
    for (arguments, says) in cases {
        let ran = folder.run(&format!("compare {arguments}"));
        assert!(ran.code == 2 && ran.err.contains(says), "{arguments}: {ran:#?}");
    }
}

#[test]
fn a_long_text_keeps_its_place_on_the_page() {
    let folder = folder();
    let remark = |word: &str| format!("{JOB}road_test: {{remarks: {}}}\n", format!("{word} ").repeat(40));
    folder.write("old.yaml", remark("quiet"));
    folder.write("new.yaml", remark("loud\u{1b}[2J"));
    let ran = folder.run("compare old.yaml new.yaml --width 60");
    assert_eq!(ran.code, 2, "a control character is refused by the reader: {ran:#?}");
    folder.write("new.yaml", remark("loud\u{202e}"));
    let ran = folder.run("compare old.yaml new.yaml --width 60 --lines --ascii").quietly(1);
    assert!(!ran.out.contains('\u{202e}') && ran.out.contains("\\u{202e}"), "{ran:#?}");
    let told = ran.out.split("line by line").next().unwrap();
    assert!(told.lines().all(|line| line.chars().count() <= 60), "{told}");
    assert!(told.contains("  changed    remarks (line 6)\n             from  quiet quiet"), "{told}");
}

#[test]
fn jobs_whose_outcome_changes_are_named() {
    let folder = folder();
    folder
        .write("b.standard", edited(PLUGS, &[("45 Nm ± 10 %", "60 Nm ± 10 %"), ("edition 1", "edition 2")]));
    folder.write("jobs/one.yaml", JOB);
    folder.write("jobs/two.yaml", JOB.replace("45 Nm", "60 Nm"));
    folder.write("jobs/three.yaml", JOB.replace(", torque: 45 Nm", ""));
    folder.write("jobs/list.yaml", "- 1\n");
    let run = "compare a.standard b.standard --jobs jobs --standard a.standard --as-of 2026-03-02";
    let ran = folder.run(run).quietly(1);
    ran.says(&[
        "let plug\n  changed    45 Nm ± 10 % → 60 Nm ± 10 % (line 4)\n             used by torque\n",
        "outcomes that change: in 2 of 3 documents",
        "jobs/one.yaml\n    line 5: plugs.torque\n      from  no finding\n      to    hold: Plug A: 45 Nm, 60 Nm ± 10 % required.",
        "jobs/two.yaml\n    line 5: plugs.torque\n      from  hold: Plug A: 60 Nm, 45 Nm ± 10 % required.\n      to    no finding",
    ]);
    // Without settings and choice, the standard judges beside the shipped ones.
    // What both take together is counted for the run.
    let bounded = folder.run(&format!("{run} --most-steps-in-all 1"));
    let left_out = bounded.out.matches("the rules have taken more than 1 steps").count();
    assert_eq!((bounded.code, left_out), (1, 2), "{bounded:#?}");
    let ran = folder.run("compare a.standard b.standard --jobs jobs --as-of 2026-03-02").quietly(1);
    ran.says(&["outcomes that change: in 2 of 3 documents"]);
    // A rule of another name finds the same.
    folder.write("c.standard", PLUGS.replace("rule torque", "rule tight"));
    let ran = folder.run(&run.replace("b.standard", "c.standard")).quietly(3);
    ran.says(&["rules\n  renamed    torque → tight", "outcomes that change: in 0 of 3 documents"]);
    // One that is gone no longer finds anything.
    folder.write(
        "d.standard",
        PLUGS.replace("45 Nm ± 10 %", "60 Nm ± 10 %").replace("rule torque", "rule other"),
    );
    folder.run(&run.replace("b.standard", "d.standard")).quietly(3).says(&["jobs/one.yaml"]);
    folder.write("empty/list.txt", "");
    let ran = folder.run(&run.replace("--jobs jobs", "--jobs empty"));
    assert!(ran.code == 2 && ran.err.contains("holds no document to judge"), "{ran:#?}");
}

/// The settings of the folder hold for both editions.
#[test]
fn settings_choose_what_the_new_edition_stands_beside() {
    let folder = Folder::new();
    folder.write("rules/plugs.standard", PLUGS);
    folder.write("plugs-2.standard", PLUGS.replace("45 Nm ± 10 %", "60 Nm ± 10 %"));
    folder
        .write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [rules/plugs.standard]\n");
    folder.write("jobs/one.yaml", JOB);
    let ran = folder.run("compare rules/plugs.standard plugs-2.standard --jobs jobs --as-of 2026-03-02");
    let ran = ran.quietly(3).says(&["in 1 of 1 document", "line 5: plugs.torque"]);
    assert!(ran.out.contains("the edition was not raised, although the meaning changed"), "{ran:#?}");
    assert!(!ran.out.contains("job_basics"), "{ran:#?}");
    // A job that is bound to the old edition is still judged by it.
    folder.write(
        "plugs-3.standard",
        edited(PLUGS, &[("45 Nm ± 10 %", "60 Nm ± 10 %"), ("edition 1", "edition 2")]),
    );
    let bound = JOB.replace("state: closed", "state: closed, standards: [{name: plugs, edition: 1}]");
    folder.write("jobs/bound.yaml", bound);
    let ran = folder.run("compare rules/plugs.standard plugs-3.standard --jobs jobs --as-of 2026-03-02");
    let ran = ran.quietly(1).says(&["in 1 of 2 documents", "jobs/one.yaml"]);
    assert!(!ran.out.contains("jobs/bound.yaml"), "{ran:#?}");
}

#[test]
fn programs_get_the_same_as_one_object() {
    let folder = folder();
    folder.write("b.standard", PLUGS.replace("45 Nm ± 10 %", "60 Nm ± 10 %"));
    let ran = folder.run("compare a.standard b.standard --format json --lines --jobs . --standard a.standard --as-of 2026-03-02");
    let report: serde_json::Value = serde_json::from_str(&ran.quietly(3).out).unwrap();
    assert_eq!(report["form"], "comparison/1");
    assert_eq!(report["edition_was_not_raised"], true);
    assert_eq!(report["old"]["content"].as_str().unwrap().len(), 64);
    let change = &report["changes"][0];
    assert_eq!((&change["kind"], &change["part"]), (&"changed".into(), &"let plug".into()));
    assert_eq!((&change["from"]["line"], &change["from"]["column"]), (&4.into(), &12.into()));
    assert_eq!((&change["to"]["words"], &change["used_by"][0]), (&"60 Nm ± 10 %".into(), &"torque".into()));
    assert_eq!(report["outcomes"]["changes"][0]["line"], 5);
    assert!(report["lines"].as_str().unwrap().contains("+let plug = 60 Nm"));
}

/// Two long texts with no line in common are compared all the same; past a length, not by lines.
#[test]
fn long_texts_are_compared() {
    let folder = Folder::new();
    let job = |from: usize| {
        let screws: String = (from..from + 9_000)
            .map(|n| format!("  - {{role: nut, place: P{}, torque: {n} Nm}}\n", n % 9_000))
            .collect();
        format!("form: job/1\njob: {{number: K-1}}\nunit: {{}}\nfastenings:\n{screws}")
    };
    folder.write("old.yaml", job(1));
    folder.write("new.yaml", job(10_000));
    // Each nut has another torque, and the last 999 now stand first.
    let ran = folder.run("compare old.yaml new.yaml --lines").quietly(1);
    assert!(ran.out.contains("\n9499 more are not listed\n"), "9999 changes, of which 500 are listed");
    folder.write("long.yaml", format!("{}\n{}", job(1), "# more\n".repeat(20_000)));
    folder.run("compare long.yaml long.yaml --lines").quietly(0).says(&["the texts are too long for that"]);
}
