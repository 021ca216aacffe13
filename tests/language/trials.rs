//! Trials: records that they share, what differs, the day, the condition of the standard, one rule alone.

use crate::support::{Folder, Ran, session};

const HEAD: &str = "standard s edition 1 \"S\"
judges job
where  unit.kind is \"twin clutch\" and job.state is \"closed\"

parameter screw is torque range \"Torque of a screw\" = 10 Nm ± 10 %

given closed_twin {
  job: { number: K-1, state: closed, opened: 2026-03-02T08:00 }, unit: { kind: twin clutch },   # a comment, with a comma
  fastenings: [{ role: sump screw, place: A1, torque: 10 Nm }, { role: sump screw, place: A2, torque: 10 Nm }],
  fluid: { drained: { volume: , temperature: 41 °C } }, road_test: { done: yes } }
given open_twin from closed_twin with job.state = \"in work\"

rule screws \"Screws have their torque\"
  concerns  each f in fastenings where f.role is \"sump screw\", at least 1
  demands   f.torque within screw
  otherwise hold \"{f.place}: {f.torque}.\"
";

fn rules(trials: &str) -> String {
    format!("{HEAD}{trials}")
}

/// What `prove` says of trials of the rule: each mistake with the text at its place.
fn proven(trials: &str) -> Vec<(String, String)> {
    let text = rules(trials);
    let session = session(&[("s.standard", &text)]);
    let proof = session.prove();
    let found = session.diagnostics().iter().chain(&proof.diagnostics);
    let found = found.filter(|found| found.level == witnessmark::diagnostic::Level::Error);
    found
        .map(|found| {
            let place = found.place().unwrap();
            let help = found.help.as_ref().map_or(String::new(), |help| format!(" | {help}"));
            (session.sources().text_at(place).to_owned(), format!("{}{help}", found.message))
        })
        .collect()
}

#[test]
fn a_trial_begins_with_a_record_and_says_what_differs() {
    let trials = [
        "trial met from closed_twin",
        "trial met from closed_twin with fastenings[0].torque = 9 Nm, fastenings[1].torque = 11 Nm",
        "trial broken from closed_twin with fastenings[0].torque = 12 Nm at fastenings[0].torque",
        "trial broken from closed_twin\n    with fastenings[1].torque = 12 Nm\n    at fastenings[1].torque",
        "trial broken from closed_twin with screw = 12 Nm ± 5 % at fastenings[1].torque",
        "trial met from closed_twin with screw = 12 Nm ± 5 %, fastenings[0].torque = 12 Nm, fastenings[1].torque = 12 Nm",
        "trial undecided from closed_twin without fastenings[0].torque at fastenings[0].torque",
        "trial broken from closed_twin without fastenings[0], fastenings[0] at fastenings",
        "trial broken from closed_twin with fastenings[2] = { role: sump screw, place: \"A}3\", torque: 8 Nm } at fastenings[2].torque",
        "trial met from closed_twin with fastenings = [{ role: sump screw, torque: 10 Nm }]",
        "trial met from closed_twin with fastenings[0].role = \"cover, \\\"left\\\"\", fastenings[0].torque = 50 Nm",
        "trial met from closed_twin without fluid.drained.volume with fluid.drained.volume = 5.8 L, vehicle.odometer = 84210 km, fluid.fills[0].engine = \"off\"",
        "trial met from closed_twin with fluid.drained.volume = 5.8 L without fluid, road_test",
        "trial not concerned from open_twin",
        "trial not concerned from closed_twin with unit.kind = \"engine\", fastenings[0].torque = 99 Nm",
        "trial undecided from closed_twin without unit.kind",
        "trial broken from open_twin with job.state = \"closed\", fastenings[0].torque = 99 Nm",
        // A record of its own is asked only where it states all that the condition names.
        "trial met { fastenings: [{ role: sump screw, torque: 10 Nm }] }",
        "trial met { unit: { kind: engine }, fastenings: [{ role: sump screw, torque: 10 Nm }] }",
        "trial not concerned { unit: { kind: engine }, job: { state: closed }, fastenings: [{ role: sump screw, torque: 10 Nm }] }",
    ];
    for trial in trials {
        assert_eq!(proven(&format!("  {trial}\n")), [], "{trial}");
    }
    let outcomes = ["met", "broken", "undecided", "not concerned"];
    for trial in trials {
        let own = outcomes.iter().find(|own| trial.starts_with(&format!("trial {own} "))).unwrap();
        for other in outcomes.iter().filter(|other| *other != own) {
            let trial = trial.replace(&format!("trial {own} "), &format!("trial {other} "));
            let found = proven(&format!("  {trial}\n"));
            assert_eq!(found.len(), 1, "{trial}");
            let said = format!("the trial expects `{other}`, and it came out `{own}`");
            assert!(found[0].1.starts_with(&said), "{trial}: {found:?}");
        }
    }
}

#[test]
fn mistakes_in_trials_are_said_at_what_differs() {
    let cases = [
        (
            "from closed_twn",
            "closed_twn",
            "no record for trials is called `closed_twn` | did you mean `closed_twin`?",
        ),
        ("from screw", "screw", "`screw` is no record that trials share"),
        (
            "from closed_twin with fastening[0].torque = 9 Nm",
            "fastening[0].torque",
            "`fastening` is neither a field of the document nor a parameter | did you mean `fastenings`?",
        ),
        (
            "from closed_twin with scew = 9 Nm",
            "scew",
            "`scew` is neither a field of the document nor a parameter | did you mean `screw`?",
        ),
        (
            "from closed_twin with fastenings[0].torqe = 9 Nm",
            "fastenings[0].torqe = 9 Nm",
            "the fastening has no field `torqe` | write `torque`",
        ),
        (
            "from closed_twin with fastenings[0].torque = 9 L",
            "fastenings[0].torque = 9 L",
            "`9 L` is a volume, and a torque is wanted here",
        ),
        ("from closed_twin with unit.kind = \"twin cluch\"", "unit.kind = \"twin cluch\"", "twin clutch"),
        (
            "from closed_twin with fastenings[3].torque = 9 Nm",
            "fastenings[3].torque = 9 Nm",
            "`fastenings` has 2 entries in this record | the next one is `fastenings[2]`; they count from 0",
        ),
        (
            "from closed_twin with seals[1].renewed = yes",
            "seals[1].renewed = yes",
            "`seals` has no entries in this record | the first one is `seals[0]`",
        ),
        (
            "from closed_twin with fastenings.torque = 9 Nm",
            "fastenings.torque = 9 Nm",
            "`fastenings` is a list in this record | say which entry, from 0: `fastenings[0]`",
        ),
        (
            "from closed_twin with job[0] = 9 Nm",
            "job[0] = 9 Nm",
            "`job` is a group of fields in this record, and no list",
        ),
        (
            "from closed_twin with job.state.word = \"closed\"",
            "job.state.word = \"closed\"",
            "`job.state` is a single value in this record",
        ),
        (
            "from closed_twin without seals",
            "seals",
            "nothing is recorded at `seals`, so it cannot be left out",
        ),
        (
            "from closed_twin without screw",
            "screw",
            "`screw` is a parameter, and only a part of the record can be left out",
        ),
        (
            "from closed_twin with screw = { low: 9 Nm }",
            "screw",
            "`screw` is a parameter, and this is a part of a record",
        ),
        (
            "from closed_twin with screw = 9 L",
            "9 L",
            "a range of torque is wanted here, and this is a volume",
        ),
        (
            "from closed_twin with fastenings[0].torque = 2 × 5 Nm",
            "2 × 5 Nm",
            "a value of a record is written out here",
        ),
        (
            "with fastenings[0].torque = 9 Nm { fastenings: [] }",
            "fastenings[0].torque = 9 Nm",
            "the record of this trial is its own, so `fastenings[0].torque` can be written into it",
        ),
        (
            "from closed_twin { fastenings: [] }",
            "from closed_twin",
            "this trial has a record of its own, and begins with another one",
        ),
        ("from closed_twin from open_twin", "from open_twin", "`from` stands twice in this clause"),
        (
            "from closed_twin on 2026-02-30",
            "2026-02-30",
            "the calendar has no day 2026-02-30 | the last day of that month is 2026-02-28",
        ),
        ("from closed_twin on Monday", "Monday", ""),
        ("from closed_twin with fastenings[0] = { role: x", "{", "this record is not closed"),
        ("from", "from", "a name is wanted after `from`, but the clause ends"),
        ("with screw = 9 Nm ± 5 %", "trial met with screw = 9 Nm ± 5 %", "this trial has no record"),
    ];
    for (trial, place, said) in cases {
        let found = proven(&format!("  trial met {trial}\n"));
        assert!(found.iter().any(|(at, words)| at == place && words.contains(said)), "{trial}: {found:#?}");
        assert!(found.len() <= 2, "{trial}: {found:#?}");
    }
}

#[test]
fn what_cannot_be_changed_has_a_code_of_its_own() {
    for change in
        ["with fastenings[3].torque = 9 Nm", "without seals", "with fastenings[0].torque = 2 × 5 Nm"]
    {
        let text = rules(&format!("  trial met from closed_twin {change}\n"));
        let session = session(&[("s.standard", &text)]);
        let proof = session.prove();
        let found: Vec<_> = session.diagnostics().iter().chain(&proof.diagnostics).collect();
        assert!(found.iter().any(|found| found.code.as_str() == "rules/trial-record"), "{found:#?}");
    }
}

#[test]
fn a_shared_record_with_a_mistake_is_reported_once_and_its_trials_do_not_pass() {
    let session_of = |text: &str| {
        let session = session(&[("s.standard", text)]);
        let proof = session.prove();
        let errors = session.diagnostics().iter().chain(&proof.diagnostics);
        let errors = errors.filter(|found| found.level == witnessmark::diagnostic::Level::Error);
        let errors: Vec<String> = errors
            .map(|found| format!("{} | {}", session.sources().text_at(found.place().unwrap()), found.message))
            .collect();
        (errors, proof.rules.iter().map(|rule| (rule.trials, rule.passed)).collect::<Vec<_>>())
    };
    let trials = "  trial met from closed_twin\n  trial not concerned from open_twin\n";
    let wrong = rules(trials).replace("place: A1", "plase: A1");
    let (errors, counts) = session_of(&wrong);
    assert_eq!(errors, ["plase | the fastening has no field `plase`"]);
    assert_eq!(counts, [(2, 0)]);
    let wrong = rules(trials).replace("job.state = \"in work\"", "job.state = \"at work\"");
    let (errors, counts) = session_of(&wrong);
    assert_eq!(errors.len(), 1, "{errors:?}");
    assert!(
        errors[0].starts_with("job.state = \"at work\" | `at work` is not a valid `state`"),
        "{errors:?}"
    );
    assert_eq!(counts, [(2, 1)]);
    let circle = rules(trials).replace("given open_twin from closed_twin", "given open_twin from third")
        + "given third from open_twin without unit\n";
    let (errors, counts) = session_of(&circle);
    assert!(errors[0].contains("begins with itself"), "{errors:?}");
    assert_eq!(counts, [(2, 1)]);
    let parameter = rules(trials).replace("with job.state = \"in work\"", "with screw = 9 Nm ± 1 Nm");
    let (errors, _) = session_of(&parameter);
    assert_eq!(errors, ["screw | `screw` is a parameter, and a record that trials share states none"]);
    let value = rules(trials).replace("f.torque within screw", "f.torque within closed_twin");
    let (errors, _) = session_of(&value);
    assert_eq!(errors, ["closed_twin | `closed_twin` is a record that trials share, and no value"]);
    let twice = rules(trials) + "let closed_twin = 5 Nm\n";
    assert!(session_of(&twice).0[0].contains("`closed_twin` is declared twice"));
}

#[test]
fn the_day_of_a_trial_is_its_own() {
    let rule = "standard s edition 1 \"S\"
judges job
given closed { job: { number: K-1 } }
rule fresh \"In time\"
  demands   as_of before 2026-06-01
  otherwise hold \"No.\"
";
    let cases = [
        ("trial met from closed on 2026-03-05", 0),
        ("trial met from closed", 0),
        ("trial broken from closed on 2027-01-01", 0),
        ("trial met from closed on 2027-01-01", 1),
        ("trial broken on 2027-01-01 { job: { number: K-1 } }", 0),
    ];
    for (trial, wrong) in cases {
        let session = session(&[("s.standard", &format!("{rule}  {trial}\n"))]);
        assert!(!session.is_faulty(), "{:?}", session.diagnostics());
        let failed = session.prove().diagnostics;
        let failed = failed.iter().filter(|found| found.code.as_str() == "rules/trial-failed").count();
        assert_eq!(failed, wrong, "{trial}");
    }
}

#[test]
fn another_file_can_hold_the_records() {
    let folder = Folder::new();
    folder.write(
        "records.standard",
        "given closed { job: { state: closed }, fastenings: [{ torque: 9 Nm }] }\n",
    );
    let rule = "standard s edition 1 \"S\"\njudges job\nuse \"records.standard\"\nrule r \"R\"\n  concerns each f in fastenings\n  demands f.torque above 5 Nm\n  otherwise hold \"No.\"\n  basis \"b\"\n  trial met from closed\n  trial broken from closed with fastenings[0].torque = 4 Nm\n";
    folder.write("s.standard", rule);
    let ran = folder.run("prove s.standard");
    assert!(
        ran.out.contains("1 rule in 1 standard, 2 trials: 2 came out as stated"),
        "{}{}",
        ran.out,
        ran.err
    );
}

#[test]
fn a_record_of_another_form_is_refused() {
    let folder = Folder::new();
    folder.write("records.standard", "given closed { job: { state: closed } }\n");
    let rule = "standard s edition 1 \"S\"\njudges procedure\nuse \"records.standard\"\nrule r \"R\"\n  demands recorded unit\n  otherwise hold \"No.\"\n  trial met from closed\n";
    folder.write("s.standard", rule);
    let ran = folder.run("prove s.standard --width 200");
    let said = "error: `closed` is a part of a `job`, and this standard judges `procedure`";
    assert!(ran.code == 1 && ran.out.contains(said), "{}{}", ran.out, ran.err);
}

fn prove(arguments: &str, input: &str) -> Ran {
    let folder = Folder::new();
    let trials = "  basis     \"b\"\n  trial met from closed_twin\n  trial broken from closed_twin without fastenings[0], fastenings[0]\n";
    folder.write("s.standard", rules(trials));
    let other = "standard t edition 1 \"T\"\njudges job\nrule one \"One\"\n  demands unit.kind is \"engine\"\n  otherwise hold \"No.\"\n  trial broken { unit: { kind: engine } }\n";
    folder.write("t.standard", other);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard, t.standard]\n",
    );
    let arguments: Vec<&str> = arguments.split_whitespace().collect();
    folder.run_with(arguments, input)
}

#[test]
fn one_rule_is_proved_alone() {
    let ran = prove("prove s.screws", "");
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("1 rule in 1 standard, 2 trials: 2 came out as stated"), "{}", ran.out);
    let ran = prove("prove t.one", "");
    assert!(
        ran.code == 1 && ran.out.contains("1 rule in 1 standard, 1 trial: 0 came out as stated"),
        "{}",
        ran.out
    );
    let ran = prove("prove s.screws t.one", "");
    assert!(ran.out.contains("2 rules in 2 standards, 3 trials: 2 came out as stated"), "{}", ran.out);
    let ran = prove("prove s.standard s.screws", "");
    assert!(ran.code == 0 && ran.out.contains("1 rule in 1 standard"), "{}", ran.out);
    let ran = prove("prove s.screw", "");
    assert!(
        ran.code == 2
            && ran.err.contains("no rule of this run is called `s.screw`; did you mean `s.screws`?"),
        "{}{}",
        ran.out,
        ran.err
    );
    let ran = prove("prove job_basics.fault_memory_after", "");
    assert!(ran.code == 0 && ran.out.contains("1 rule in 1 standard, "), "{}{}", ran.out, ran.err);
}

#[test]
fn a_rule_file_is_proved_from_standard_input() {
    let ran = prove("prove -", &rules("  trial met from closed_twin\n  trial met from open_twin\n"));
    assert!(ran.code == 1 && ran.out.contains("standard input line 18"), "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("1 rule in 1 standard, 2 trials: 1 came out as stated"), "{}", ran.out);
    assert_eq!(
        prove("prove - s.screws", &rules("  trial met from closed_twin\n  trial met from open_twin\n")).code,
        1
    );
    assert!(prove("prove - -", "").err.contains("standard input can be read only once"));
}
