//! Rules that change: one that takes the place of another, and what a workshop changes about rules of others.

use serde_json::Value;

use crate::support::{Folder, Ran, session};

const RULES: &str = "standard new edition 1 \"New\"
judges job
rule torque \"Torque\"
  concerns each f in fastenings
  demands f.torque at least 20 Nm
  otherwise advice \"{f.torque}\"
  concession by \"foreman\"
  replaces old.plug_torque, screw_torque
rule marked \"Marked\"
  concerns each f in fastenings
  demands f.marked
  otherwise hold \"Not marked.\"
  concession by \"owner\"
";

fn record(more: &str) -> String {
    format!(
        "form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:15:00+01:00, state: closed}}\nvehicle: {{}}\n\
         unit: {{kind: engine}}\nfastenings:\n  - {{role: plug, torque: 10 Nm, marked: no}}\n{more}"
    )
}

fn folder(rules: &str, record: &str) -> Folder {
    let folder = Folder::new();
    let settings = "form: workshop/1\nworkshop: {name: W}\nstandards: [new.standard]\n";
    folder.write("workshop.yaml", format!("{settings}{rules}"));
    folder.write("new.standard", RULES);
    folder.write("jobs/job.yaml", record);
    folder
}

fn inspect(folder: &Folder, options: &str) -> Ran {
    folder.run(&format!("inspect jobs --as-of 2026-03-02 --width 300 {options}"))
}

#[test]
fn a_concession_for_a_rule_that_was_replaced_counts_for_the_new_one() {
    let concession = |rule: &str, by: &str| {
        record(&format!(
            "concessions:\n  - {{rule: {rule}, reason: seen dry, granted_by: {by}, name: B. Muster}}\n"
        ))
    };
    for old in ["old.plug_torque", "new.screw_torque"] {
        let ran = inspect(&folder("", &concession(old, "foreman")), "");
        assert!(ran.out.contains("under concession") || ran.out.contains("conceded"), "{}", ran.out);
        let said = format!("`new.torque` took the place of `{old}`; what is written here counts for it");
        assert!(ran.out.contains(&said) && ran.out.contains("run/rule-replaced"), "{}", ran.out);
    }
    let ran = inspect(&folder("", &concession("old.plug_torque", "owner")), "");
    assert!(
        ran.out.contains("`owner` may grant no concession for `new.torque`, only the foreman"),
        "{}",
        ran.out
    );
    let ran = inspect(&folder("", &concession("old.plug_torqe", "foreman")), "");
    assert!(ran.out.contains("no rule of this run is called `old.plug_torqe`"), "{}", ran.out);
    let ran = inspect(&folder("", &concession("new.torque", "foreman")), "");
    assert!(!ran.out.contains("took the place"), "{}", ran.out);
}

#[test]
fn what_is_known_of_a_rule_that_was_replaced_is_known_of_the_new_one() {
    let folder = folder("", &record(""));
    inspect(&folder, "--note-known known.yaml");
    let noted = folder.read("known.yaml");
    assert!(noted.contains("finding: new.torque"), "{noted}");
    let old = noted
        .replace("finding: new.torque", "finding: old.plug_torque")
        .replace("since: 2026-03-02", "since: 2025-01-01\n  note: the wrench of that time");
    folder.write("known.yaml", &old);
    let ran = inspect(&folder, "--accept-known known.yaml --fail-on note");
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("known since 2025-01-01"), "{}", ran.out);
    assert!(ran.out.contains("`new.torque` took the place of `old.plug_torque`"), "{}", ran.out);
    assert!(!ran.out.contains("is never found"), "{}", ran.out);
    // Written anew, the day and the note stay.
    inspect(&folder, "--note-known known.yaml");
    let new = folder.read("known.yaml");
    assert!(new.contains("finding: new.torque") && !new.contains("old.plug_torque"), "{new}");
    assert!(new.contains("since: 2025-01-01") && new.contains("note: the wrench of that time"), "{new}");
}

#[test]
fn mistakes_in_what_a_rule_replaces() {
    let cases = [
        ("new.marked", "`new.marked` is a rule of this run, so nothing takes its place"),
        ("marked", "`new.marked` is a rule of this run, so nothing takes its place"),
        ("torque", "a rule cannot take its own place"),
        ("old.a.b", "`old.a.b` is no name of a rule"),
        ("old.a, old.a", "`old.a` is named here twice"),
        ("\"old.a\"", "is wanted after `replaces`"),
        ("", "is wanted after `replaces`, but the clause ends"),
    ];
    for (names, said) in cases {
        let text = RULES.replace("replaces old.plug_torque, screw_torque", &format!("replaces {names}"));
        let session = session(&[("new.standard", &text)]);
        assert!(
            session.diagnostics().iter().any(|found| found.message.contains(said)),
            "{names}: {:#?}",
            session.diagnostics()
        );
    }
}

#[test]
fn the_settings_make_a_rule_stricter_and_name_who_may_grant() {
    let rules =
        "rules:\n  new.torque: {severity: hold, concession: [owner]}\n  new.marked: {concession: [never]}\n";
    let concession = "concessions:\n  - {rule: new.torque, reason: seen dry, granted_by: owner, name: B. Muster}\n  - {rule: new.marked, reason: painted, granted_by: owner, name: B. Muster}\n";
    let ran = inspect(&folder(rules, &record("")), "");
    assert!(ran.code == 1 && ran.out.contains("hold: 10 Nm"), "{}", ran.out);
    let ran = inspect(&folder(rules, &record(concession)), "");
    assert!(ran.out.contains("nobody may grant a concession for `new.marked`"), "{}", ran.out);
    assert!(!ran.out.contains("may grant no concession for `new.torque`"), "{}", ran.out);
    let why = folder(rules, &record("")).run("why torque --width 200");
    for said in [
        "changed: by the settings, workshop.yaml line 5",
        "otherwise: hold",
        "concession: by owner",
        "replaces: old.plug_torque, new.screw_torque",
    ] {
        assert!(why.out.contains(said), "{said}: {}{}", why.out, why.err);
    }
}

#[test]
fn a_rule_that_is_left_out_is_named_with_its_reason_in_every_report() {
    let rules = "rules:\n  new.marked: {left_out: yes, reason: we seal with wax}\n";
    let folder = folder(rules, &record(""));
    for format in ["plain", "terminal", "json", "sarif", "junit"] {
        let ran = inspect(&folder, &format!("--format {format}"));
        assert!(
            ran.out.contains("we seal with wax") && ran.out.contains("new.marked"),
            "{format}: {}",
            ran.out
        );
        assert!(!ran.out.contains("Not marked."), "{format}: {}", ran.out);
    }
    let json: Value = serde_json::from_str(&inspect(&folder, "--format json").out).unwrap();
    assert_eq!(json["rules"][1]["left_out"], "we seal with wax");
    assert_eq!(json["rules"][0]["left_out"], Value::Null);
    let sarif: Value = serde_json::from_str(&inspect(&folder, "--format sarif").out).unwrap();
    let rule = &sarif["runs"][0]["tool"]["driver"]["rules"][1];
    assert_eq!(
        (&rule["defaultConfiguration"]["enabled"], &rule["properties"]["leftOut"]),
        (&false.into(), &"we seal with wax".into())
    );
    let plain = inspect(&folder, "").out;
    assert!(
        plain.contains("left out: new.marked: we seal with wax") && plain.contains("run/rule-left-out"),
        "{plain}"
    );
    assert!(!plain.contains("never applied: new.marked"), "{plain}");
    let why = folder.run("why marked --width 200");
    assert!(why.out.contains("left out: we seal with wax (workshop.yaml line 5"), "{}", why.out);
    // A name that was replaced counts for the new rule.
    let old = super::changes::folder(
        "rules:\n  old.plug_torque: {left_out: yes, reason: new wrench}\n",
        &record(""),
    );
    let ran = inspect(&old, "");
    assert!(
        ran.out.contains("`new.torque` took the place of `old.plug_torque`")
            && ran.out.contains("`new.torque` is left out: new wrench"),
        "{}",
        ran.out
    );
}

#[test]
fn mistakes_in_changes_of_rules() {
    let cases = [
        ("new.marked: {left_out: yes}", "`new.marked` is left out, and no reason is given"),
        ("new.marked: {left_out: yes, reason: ''}", "`new.marked` is left out, and no reason is given"),
        ("new.marked: {left_out: yes, reason: '-'}", "`new.marked` is left out, and no reason is given"),
        ("new.marked: {left_out: yes, reason: n/a}", "`new.marked` is left out, and no reason is given"),
        ("new.marked: {left_out: yes, reason: x.}", "`new.marked` is left out, and no reason is given"),
        ("new.marked: {severity: advice}", "`new.marked` is hold, and the settings cannot make it advice"),
        ("new.marked: {severity: hold}", "`new.marked` is hold without this line too"),
        ("new.marked: {severity: grave}", "`grave` is none of `hold`, `advice`, `note`"),
        ("new.marked: {severity: advise}", "did you mean `advice`?"),
        ("new.marked: {left_out: maybe, reason: wax}", "`maybe` is none of `yes`, `no`"),
        ("new.marked: {concession: []}", "`concession` of `new.marked` names nobody who may grant one"),
        (
            "new.marked: {concession: [never, owner]}",
            "`concession` of `new.marked` names nobody who may grant one",
        ),
        (
            "new.marked: {left_out: yes, reason: wax, severity: hold}",
            "`new.marked` is left out, and has neither a severity nor a concession then",
        ),
        ("new.marked: {left_out: no, reason: wax}", "nothing is changed about `new.marked`"),
        ("new.marked: {}", "nothing is changed about `new.marked`"),
        ("new.markd: {left_out: yes, reason: wax}", "no standard of this run has a rule `new.markd`"),
        ("marked: {left_out: yes, reason: wax}", "did you mean `new.marked`?"),
        (
            "elsewhere.marked: {left_out: yes, reason: wax}",
            "no standard of this run has a rule `elsewhere.marked`",
        ),
        ("new.marked: {reson: wax}", "has no field `reson`"),
    ];
    for (line, said) in cases {
        let ran = inspect(&folder(&format!("rules:\n  {line}\n"), &record("")), "");
        assert!(format!("{}{}", ran.out, ran.err).contains(said), "{line}: {}{}", ran.out, ran.err);
        if said.starts_with("no standard") || said.contains("the settings cannot") {
            assert!(ran.out.contains("run/rule-change"), "{}", ran.out);
        }
        if !said.contains("without this line too") {
            assert_eq!(ran.code, 2, "{line}: {}", ran.out);
        }
        // What is wrong about a rule never takes it out.
        assert!(!ran.out.contains("0 holds") || ran.out.contains("0 judged"), "{line}: {}", ran.out);
    }
    // In a run of some standards, rules of others are passed over.
    let some = folder("rules:\n  job_basics.job_number: {left_out: yes, reason: wax}\n", &record(""));
    assert!(!inspect(&some, "").out.contains("job_basics"), "{}", inspect(&some, "").out);
}
