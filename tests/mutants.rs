//! Rules with one thing changed: what is changed, that trials notice it, and that a trial which is offered does.

use std::collections::HashSet;

use witnessmark::library::SHIPPED;
use witnessmark::session::Session;
use witnessmark::session::mutants::{Mutants, Offer, Sample, Survivor};

use crate::support::{Folder, root, session, text};

fn of(session: &Session) -> Mutants {
    session.mutants(&|_| true, (Sample::All, Offer::Trials), &|_, _| {})
}

/// A standard with one rule without a trial, so that nothing is noticed.
fn rules(before: &str, clauses: &str) -> String {
    format!(
        "standard s edition 1 \"S\"\njudges job\n\n{before}\nrule r \"R\"\n{clauses}\n  otherwise hold \"No.\"\n"
    )
}

fn survivors(text: &str) -> Vec<String> {
    let session = session(&[("s.standard", text)]);
    assert!(!session.is_faulty(), "{:?}\n{text}", session.diagnostics());
    of(&session).left.into_iter().map(|one| one.what).collect()
}

/// Each sort of change is made.
#[test]
fn everything_that_can_be_mistaken_is_changed() {
    let demand = |demand: &str| rules("", &format!("  demands {demand}"));
    let concerns =
        |concerns: &str| rules("", &format!("  concerns {concerns}\n  demands recorded unit.kind"));
    let cases: &[(String, &[&str])] = &[
        (demand("road_test.distance at least 12.5 km"), &["12.5 km is 12.4 km", "12.5 km is 12.6 km"]),
        (demand("road_test.distance at least 12 km"), &["`at least` is `above`", "`at least` is `at most`"]),
        (
            demand("road_test.distance within 5 km .. 9.5 km"),
            &[
                "its lower limit, 5 km, is 4 km",
                "its lower limit, 5 km, is left out",
                "its upper limit, 9.5 km, is 9.6 km",
            ],
        ),
        (demand("road_test.distance above 5 km"), &["`above` is `at least`", "`above` is `below`"]),
        (demand("unit.family is \"six speed\""), &["`is` is `is not`", "\"six speed\" is another word"]),
        (demand("unit.family is one of (\"a\", \"b\")"), &["\"a\" is not among them"]),
        (demand("unit.family is not one of (\"a\", \"b\")"), &["`is not one of` is `is one of`"]),
        (
            demand("every s in fastenings where recorded s.torque: recorded s.tool"),
            &["`every` is `some`", "`every` is `no`", "`where recorded s.torque` is gone"],
        ),
        (
            demand("recorded unit.kind and recorded unit.family"),
            &["`and` is `or`", "`recorded unit.family` is gone"],
        ),
        (
            demand("recorded unit.kind or recorded unit.family"),
            &["`or` is `and`", "`recorded unit.kind` is gone"],
        ),
        (demand("recorded unit.family implies recorded unit.kind"), &["`recorded unit.family` is gone"]),
        (demand("not recorded unit.family"), &["`not` is gone"]),
        (demand("recorded unit.kind\n  demands recorded unit.family"), &["this demand is gone"]),
        (concerns("where recorded unit.family"), &["`where recorded unit.family` is gone"]),
        (
            concerns("each s in fastenings where recorded s.torque, at least 2"),
            &["`at least 2` is `at least 1`", "`at least 2` is gone", "`where recorded s.torque` is gone"],
        ),
        (
            demand("(sum of f.volume over f in fluid.fills) at most 2 L + 1 L × count of fastenings"),
            &["`sum` is `greatest`", "`+` is `−`", "1 L is 2 L"],
        ),
        (
            rules(
                "let most = 4 km where unit.family is \"a\"\n  = 8 km otherwise",
                "  demands road_test.distance at most most",
            ),
            &["the case `where unit.family is \"a\"` is gone", "4 km is 5 km", "8 km is 7 km"],
        ),
        (
            rules("parameter most is length \"Most\" = 4 km", "  demands road_test.distance at most most"),
            &["4 km is 5 km", "it has no default"],
        ),
        (
            rules(
                "table most by unit.family\n  \"a\": 4 km\n  \"b\": 8 km",
                "  demands road_test.distance at most most",
            ),
            &["this row is gone", "8 km is 9 km"],
        ),
    ];
    for (text, wanted) in cases {
        let found = survivors(text);
        for wanted in *wanted {
            assert!(found.iter().any(|found| found == wanted), "{wanted} is not among {found:#?}\n{text}");
        }
    }
}

/// The rule of the handbook with trials at each end of its range.
const TIGHT: &str = "standard s edition 1 \"S\"
judges job

rule r \"R\"
  concerns  each s in fastenings where s.role is \"sump screw\"
  demands   s.torque within 8.1 Nm .. 9.9 Nm
  otherwise hold \"{s.torque}\"
  trial met       { fastenings: [{ role: sump screw, torque: 8.1 Nm }, { role: sump screw, torque: 9.9 Nm }] }
  trial broken    { fastenings: [{ role: sump screw, torque: 8 Nm }] }
  trial broken    { fastenings: [{ role: sump screw, torque: 10 Nm }] }
  trial not concerned { fastenings: [{ role: drain plug, torque: 30 Nm }] }
";

#[test]
fn trials_at_the_ends_notice_everything() {
    assert_eq!(survivors(TIGHT), [""; 0]);
}

#[test]
fn what_a_trial_noticed_survives_without_it() {
    let without = |trial: &str| survivors(&TIGHT.replace(trial, ""));
    let below = "  trial broken    { fastenings: [{ role: sump screw, torque: 8 Nm }] }\n";
    assert_eq!(without(below), ["its lower limit, 8.1 Nm, is 8 Nm"]);
    let other = "  trial not concerned { fastenings: [{ role: drain plug, torque: 30 Nm }] }\n";
    assert_eq!(without(other), ["`where s.role is \"sump screw\"` is gone"]);
    let at_end = survivors(&TIGHT.replace("torque: 9.9 Nm", "torque: 9 Nm"));
    assert_eq!(at_end, ["its upper limit, 9.9 Nm, is 9.8 Nm", "its upper limit, 9.9 Nm, is left out"]);
}

/// A change that nothing could show is none: what another part says already.
#[test]
fn what_makes_no_difference_is_told_apart() {
    let text = rules("", "  demands unit.kind is \"engine\" and unit.kind is not \"final drive\"");
    let session = session(&[("s.standard", &text)]);
    let found = of(&session);
    let left: Vec<&str> = found.left.iter().map(|one| &*one.what).collect();
    assert_eq!(found.same, 2, "{found:#?}");
    assert!(!left.contains(&"\"final drive\" is another word"), "{left:#?}");
    assert!(!left.contains(&"`unit.kind is not \"final drive\"` is gone"), "{left:#?}");
    assert!(left.contains(&"`unit.kind is \"engine\"` is gone"), "{left:#?}");
    assert_eq!(found.made, found.same + found.left.len());
}

/// A trial that is offered comes out as it says, and notices the change.
#[test]
fn a_trial_that_is_offered_notices_the_change() {
    let loose = TIGHT
        .replace("  trial not concerned { fastenings: [{ role: drain plug, torque: 30 Nm }] }\n", "")
        .replace("{ role: sump screw, torque: 9.9 Nm }", "{ role: sump screw, torque: 9 Nm }");
    let mut text = loose;
    let mut offered = 0;
    loop {
        let found = of(&session(&[("s.standard", &text)]));
        let Some(survivor) = found.left.first() else { break };
        let trial = survivor.trial.as_ref().expect("a trial is offered");
        text.push_str(&format!("  {trial}\n"));
        let after = session(&[("s.standard", &text)]);
        assert!(
            after.prove().diagnostics.iter().all(|found| found.code.as_str() != "rules/trial-failed"),
            "{text}"
        );
        let left = of(&after).left;
        assert!(!left.iter().any(|one| one.what == survivor.what), "{trial} does not notice {survivor:?}");
        offered += 1;
    }
    assert!(offered >= 2, "{text}");
}

/// A share of all changes is spread over the rules, and the same each time.
#[test]
fn a_sample_is_a_share_of_the_whole() {
    let session = session(&[("s.standard", TIGHT)]);
    let some = |seed| session.mutants(&|_| true, (Sample::Some { most: 3, seed }, Offer::Trials), &|_, _| {});
    let (all, one) = (of(&session), some(1));
    assert!(one.made <= 3 && one.made > 0, "{one:?}");
    assert_eq!((one.made, one.noticed), (some(1).made, some(1).noticed));
    assert!(all.made > 3);
}

/// What survives is listed with what would notice it; it fails the run where advice does.
#[test]
fn prove_lists_what_no_trial_notices() {
    let folder = Folder::new();
    folder.write("tight.standard", TIGHT);
    let loose = TIGHT.replace("  trial broken    { fastenings: [{ role: sump screw, torque: 8 Nm }] }\n", "");
    folder.write("loose.standard", loose.replace("standard s", "standard loose"));
    let prove = |more: &str| folder.run(&format!("prove {more} --without-settings --width 200"));
    prove("tight.standard --mutants")
        .quietly(0)
        .says(&["9 changes: 9 are noticed by a trial, no other is left"]);
    let ran = prove("loose.standard --mutants").quietly(0).says(&[
        "code: rules/mutant-survives",
        "no trial notices when its lower limit, 8.1 Nm, is 8 Nm",
        "add to `loose.r`: trial broken { fastenings: [{ role: sump screw, torque: 8 Nm }",
        "1 is noticed by none",
    ]);
    assert!(!ran.out.contains("is left out"), "{ran:#?}");
    prove("loose.standard --mutants --fail-on advice").quietly(1);
    prove("loose.standard --mutants=4").quietly(0).says(&["changes: "]);
    prove("loose.standard").quietly(0);
    let json = prove("loose.standard --mutants --format json").quietly(0);
    assert!(json.out.contains("rules/mutant-survives"), "{json:#?}");
}

/// The changes of the shipped standards that no trial notices, one a line: those that nothing can show, and those for which
/// no record was found yet. `WITNESSMARK_BLESS=1` makes all changes and writes the file anew; without it, a sample of them is
/// held against it, another one for each edition of the rules.
const LEFT: &str = "tests/mutants_left.txt";

#[test]
fn trials_of_the_shipped_standards_notice_what_is_changed() {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|one| (one.file, one.text)).collect();
    let session = session(&files);
    let told = |one: &Survivor| {
        let written = session.sources().text_at(one.place).split_whitespace().collect::<Vec<_>>().join(" ");
        format!("{}: {written}: {}", one.rule, one.what)
    };
    if std::env::var_os("WITNESSMARK_BLESS").is_some() {
        let all = session.mutants(&|_| true, (Sample::All, Offer::Nothing), &|_, _| {});
        let mut left: Vec<String> = all.left.iter().map(told).collect();
        left.sort();
        std::fs::write(root().join(LEFT), left.join("\n") + "\n").unwrap();
        return;
    }
    let written = text(LEFT);
    let known: HashSet<&str> = written.lines().collect();
    let seed = files.iter().map(|(_, text)| text.len()).sum();
    let found = session.mutants(&|_| true, (Sample::Some { most: SAMPLE, seed }, Offer::Nothing), &|_, _| {});
    assert!(found.made > SAMPLE / 2 && found.noticed > found.made / 2, "{} of {}", found.noticed, found.made);
    let unknown: Vec<String> = found.left.iter().map(told).filter(|one| !known.contains(&**one)).collect();
    assert!(
        unknown.is_empty(),
        "no trial notices these; `prove --mutants` offers trials:\n{}",
        unknown.join("\n")
    );
}

/// How many changes of the shipped standards are made.
const SAMPLE: usize = 400;
