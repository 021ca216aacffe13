//! What of the rules their trials exercise.

use crate::support::{Folder, session};

/// A standard with one rule.
fn rules(before: &str, clauses: &str, trials: &str) -> String {
    format!(
        "standard s edition 1 \"S\"\njudges job\n\n{before}\nrule r \"R\"\n{clauses}\n  otherwise hold \"No.\"\n{trials}"
    )
}

/// What no trial exercises, and the text at its place.
fn open(text: &str) -> Vec<(String, String)> {
    let session = session(&[("s.standard", text)]);
    assert!(!session.is_faulty(), "{:?}\n{text}", session.diagnostics());
    let said = |place| session.sources().text_at(place).to_owned();
    let open = session.coverage(&|_| true).open;
    open.into_iter().map(|one| (said(one.place().unwrap()), one.message)).collect()
}

/// Definitions, the clauses of a rule, its trials by outcome, and what is told without one of them: the place and the message.
type Case<'c> = (&'c str, &'c str, &'c [(&'c str, String)], &'c [(&'c str, &'c str)]);

/// Each sort of part: with all trials nothing is open, and without one of them that which it alone exercises.
#[test]
fn what_no_trial_exercises_is_told() {
    let job = |fields: &str| format!("{{ {fields} }}");
    let cases: &[Case<'_>] = &[
        (
            "",
            "  demands road_test.distance within 5 km .. 9 km",
            &[
                ("met", job("road_test: { distance: 6 km }")),
                ("broken", job("road_test: { distance: 4 km }")),
                ("broken", job("road_test: { distance: 10 km }")),
            ],
            &[
                ("road_test.distance within 5 km .. 9 km", "no trial meets this demand"),
                ("road_test.distance within 5 km .. 9 km", "no trial has a value below the lower limit"),
                ("road_test.distance within 5 km .. 9 km", "no trial has a value above the upper limit"),
            ],
        ),
        (
            "",
            "  concerns where unit.kind is \"engine\"\n  demands recorded unit.family or recorded unit.serial",
            &[
                ("met", job("unit: { kind: engine, family: a }")),
                ("met", job("unit: { kind: engine, serial: b }")),
                ("broken", job("unit: { kind: engine }")),
                ("not concerned", job("unit: { kind: cooling }")),
            ],
            &[
                ("recorded unit.family", "in no trial this side of `or` holds"),
                ("recorded unit.serial", "in no trial this side of `or` holds"),
                ("recorded unit.family or recorded unit.serial", "no trial breaks this demand"),
                ("unit.kind is \"engine\"", "no trial has what this rule does not concern"),
            ],
        ),
        (
            "let most\n  = 4 km where unit.family is \"a\"\n  = 8 km otherwise\n",
            "  demands road_test.distance at most most",
            &[
                ("met", job("unit: { family: a }, road_test: { distance: 3 km }")),
                ("broken", job("unit: { family: b }, road_test: { distance: 9 km }")),
            ],
            &[("4 km", "in no trial this case counts"), ("8 km", "in no trial this case counts")],
        ),
        (
            "table most by unit.family\n  \"a\" : 4 km\n  \"b\" : 8 km\n",
            "  demands road_test.distance at most most",
            &[
                ("met", job("unit: { family: a }, road_test: { distance: 3 km }")),
                ("broken", job("unit: { family: b }, road_test: { distance: 9 km }")),
            ],
            &[("\"a\" : 4 km", "no trial looks this row up"), ("\"b\" : 8 km", "no trial looks this row up")],
        ),
    ];
    for (before, clauses, trials, wanted) in cases {
        let with = |left_out: Option<usize>| {
            let kept = trials.iter().enumerate().filter(|(number, _)| Some(*number) != left_out);
            let trials: String =
                kept.map(|(_, (outcome, record))| format!("  trial {outcome} {record}\n")).collect();
            rules(before, clauses, &trials)
        };
        assert_eq!(open(&with(None)), [], "{}", with(None));
        for (number, (said, lacks)) in wanted.iter().enumerate() {
            let found = open(&with(Some(number)));
            assert!(
                found.iter().any(|(place, message)| place == said && message == lacks),
                "{found:#?}\n{}",
                with(Some(number))
            );
        }
    }
}

/// A trial that fails exercises nothing.
#[test]
fn a_trial_that_fails_exercises_nothing() {
    let demand = "  demands road_test.distance at least 5 km";
    let text = rules("", demand, "  trial met { road_test: { distance: 4 km } }\n");
    assert_eq!(open(&text).len(), 3, "{:#?}", open(&text));
}

/// Fields are read by demands, conditions, lets, messages and links, also those of another document.
#[test]
fn prove_names_the_fields_that_no_rule_reads() {
    let folder = Folder::new();
    let text = "standard s edition 1 \"S\"\njudges job\nwhere unit.kind is \"engine\"\n\nlet place of s in seals = s.place\n\nlet parts = entries of (fastenings, seals)\n\n\
        rule a \"A\"\n  concerns  each s in fastenings where recorded s.marked\n  demands   s.instrument.remarks is not \"x\"\n  \
        otherwise hold \"{s.role} {vehicle.plate}.\"\n\n\
        rule b \"B\"\n  demands   some s in parts: s.place is \"pan\"\n  otherwise hold \"x\"\n\n\
        rule c \"C\"\n  concerns  each l in filters\n  demands   some s in seals: place of s is l.place\n  otherwise hold \"x\"\n";
    folder.write("s.standard", text.replace("    ", ""));
    assert!(!folder.run("prove s.standard").out.contains("reads these fields"));
    let ran = folder.run("prove s.standard --unread --width 9000");
    let said = |form: &str| {
        let head = format!("note: no rule reads these fields of a {form}: ");
        let line = ran.out.lines().find_map(|line| line.strip_prefix(&*head));
        line.map(|fields| fields.split(", ").collect::<Vec<_>>())
    };
    let job = said("job record").unwrap_or_else(|| panic!("{ran:#?}"));
    for read in
        ["unit.kind", "vehicle.plate", "fastenings[].marked", "fastenings[].role", "fastenings[].tool"]
    {
        assert!(!job.contains(&read), "{read}: {job:?}");
    }
    for read in ["fastenings[].place", "seals[].place", "fastenings", "seals", "vehicle", "unit"] {
        assert!(!job.contains(&read), "{read}: {job:?}");
    }
    for open in [
        "unit.family",
        "vehicle.vin",
        "fastenings[].torque",
        "seals[].renewed",
        "filters[].beta",
        "job",
        "road_test",
    ] {
        assert!(job.contains(&open), "{open}: {job:?}");
    }
    let register = said("tool register").unwrap_or_else(|| panic!("{ran:#?}"));
    assert!(register.contains(&"tools[].kind"), "{register:?}");
    assert!(!register.contains(&"tools[].remarks"), "{register:?}");
    // Of a form of which nothing is read, nothing is said.
    assert_eq!(said("procedure"), None);
}

/// One line where all is well, the places that nothing exercises, and the least share that the settings ask for.
#[test]
fn prove_says_what_is_not_exercised_and_holds_the_share_of_the_settings() {
    let folder = Folder::new();
    let demand = "  demands   road_test.distance at least 5 km";
    let met = "  trial met { road_test: { distance: 5 km } }\n";
    let broken = "  trial broken { road_test: { distance: 4 km } }\n";
    let write = |trials: &str| drop(folder.write("s.standard", rules("", demand, trials)));
    let ask = |share: &str| {
        let settings = format!(
            "form: workshop/1\nworkshop: {{name: W}}\nstandards: [s.standard]\ntrials_exercise: {share}\n"
        );
        folder.write("workshop.yaml", settings);
    };
    let prove = |more: &str| folder.run(&format!("prove --settings workshop.yaml --width 200{more}"));
    ask("100 %");
    write(&format!("{met}{broken}"));
    prove("").quietly(0).says(&["3 parts of the rules: trials exercise each of them"]);
    write(met);
    prove("").quietly(1).says(&[
        "workshop.yaml line 4",
        "the trials exercise 1 of 3 parts of the rules, and 100 % are asked for here",
        "3 parts of the rules: 1 are exercised by trials, 2 by none",
    ]);
    let listed =
        prove(" --coverage").quietly(1).says(&["rules/not-exercised", "no trial breaks this demand"]);
    assert!(!prove("").out.contains("no trial breaks this demand"), "{listed:#?}");
    ask("33 %");
    prove("").quietly(0);
    ask("");
    prove("").quietly(2).says(&["`trials_exercise` has no value"]);
}
