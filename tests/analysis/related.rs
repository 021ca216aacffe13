//! Two rules held against each other: what is proved holds for every entry that can be, and a record that is shown comes out as
//! it says.

use std::collections::BTreeMap;

use fastrand::Rng;
use witnessmark::analysis::{Covers, Relation};
use witnessmark::finding::Outcome;
use witnessmark::language::ids::RuleId;
use witnessmark::session::Session;

use super::enumerated::{HEAD, condition, entries, number, rule, session};
use crate::support::{Folder, text};

fn related(session: &Session, one: &str, other: &str) -> Relation {
    let id = |name: &str| -> Vec<RuleId> {
        session.program().rules().iter().filter(|(_, rule)| rule.name == name).map(|(id, _)| id).collect()
    };
    session.relation(&id(one), &id(other))
}

/// What a rule finds at each entry: broken or undecided. So few entries are judged at a time that all findings are listed.
fn found(session: &Session, entries: &str, rule: &str) -> BTreeMap<(usize, String), Outcome> {
    let (head, list) = entries.split_once("fastenings:\n").unwrap();
    let lines: Vec<&str> = list.lines().collect();
    let mut all = BTreeMap::new();
    for (number, part) in lines.chunks(90).enumerate() {
        let record = format!("{head}fastenings:\n{}\n", part.join("\n"));
        let judged = session.judge("job.yaml", &record);
        let findings = judged[0].findings.iter().filter(|finding| finding.rule == rule);
        let found: Vec<_> =
            findings.map(|finding| ((number, finding.subject.clone()), finding.outcome)).collect();
        let of_rule = |id: &RuleId| session.program().rules()[*id].name == rule;
        let (_, tally) = judged[0].tallies.iter().find(|(id, _)| of_rule(id)).unwrap();
        assert_eq!(found.len() as u64, tally.broken + tally.undecided, "some findings are not listed");
        all.extend(found);
    }
    all
}

/// A rule with another limit, another end, or something else.
fn changed(rng: &mut Rng, made: &str) -> String {
    match rng.u8(..5) {
        0 => made.replacen("10 Nm", "15 Nm", 1),
        1 => made.replacen("at least", "above", 1),
        2 => made.replacen("20 Nm", "10 Nm", 1),
        3 => format!("({made}) and ({})", condition(rng, 1)),
        _ => made.to_owned(),
    }
}

#[test]
fn what_is_proved_of_two_rules_holds_for_every_entry() {
    let (first, pairs) = (number("RELATED_SEED", 0), number("RELATED_PAIRS", 40));
    let entries = entries();
    let (mut proved, mut shown, mut unclear) = (0, 0, 0);
    for seed in first..first + pairs {
        let mut rng = Rng::with_seed(seed);
        let (concerns, demand) = (condition(&mut rng, 1), condition(&mut rng, 2));
        let (other_concerns, other) = (changed(&mut rng, &concerns), changed(&mut rng, &demand));
        let mut rules = HEAD.to_owned();
        rule(&mut rules, "one", &format!(" where {concerns}"), &[demand]);
        rule(&mut rules, "other", &format!(" where {other_concerns}"), &[other]);
        let session = session(&rules);
        let relation = related(&session, "probe.one", "probe.other");
        let (ones, others) =
            (found(&session, &entries, "probe.one"), found(&session, &entries, "probe.other"));
        let covered = |ones: &BTreeMap<_, Outcome>, others: &BTreeMap<_, Outcome>| {
            ones.iter().all(|(subject, outcome)| match others.get(subject) {
                Some(other) => *outcome == Outcome::Undecided || *other == Outcome::Broken,
                None => false,
            })
        };
        for (covers, is_so) in [
            (&relation.second_covers, covered(&ones, &others)),
            (&relation.first_covers, covered(&others, &ones)),
        ] {
            match covers {
                Covers::Always => {
                    assert!(is_so, "seed {seed}: claimed, and not so:\n{rules}");
                    proved += 1;
                }
                Covers::Not(witness) => {
                    assert!(!is_so, "seed {seed}: {witness:?}:\n{rules}");
                    shown += 1;
                }
                Covers::Unclear => unclear += 1,
            }
        }
    }
    assert!(proved > 25 && shown > 12, "{proved} proved, {shown} shown, {unclear} unclear");
    assert!(unclear * 3 < proved + shown, "{proved} proved, {shown} shown, {unclear} unclear");
}

const PAIRS: &str = "standard m edition 1 \"M\"\njudges job\n\
    let plugs = one of (\"drain plug\", \"fill plug\")\n\
    let usual of s in fastenings = 40 Nm .. 50 Nm where recorded s.torque = 5 Nm .. 15 Nm otherwise\n\
    let wanted of s in fastenings = usual of s\n\
    rule a \"A\"\n  concerns each s in fastenings where s.role is plugs\n  demands s.torque within 40 Nm .. 50 Nm\n  otherwise hold \"x\"\n\
    rule b \"B\"\n  concerns each t in fastenings where t.role is \"fill plug\" or t.role is \"drain plug\"\n  demands t.torque at least 40 Nm and t.torque at most 50 Nm\n  otherwise hold \"x\"\n\
    rule c \"C\"\n  concerns each t in fastenings where t.role is plugs\n  demands t.torque at least 40 Nm and t.torque below 50 Nm\n  otherwise hold \"x\"\n\
    rule d \"D\"\n  concerns each t in fastenings where t.role is plugs\n  demands t.torque within 38 Nm .. 48 Nm\n  otherwise hold \"x\"\n\
    rule e \"E\"\n  concerns each s in fastenings where s.role is plugs\n  demands s.torque within 40 Nm .. 50 Nm\n  otherwise advice \"x\"\n\
    rule g \"G\"\n  concerns each s in fastenings where s.role is plugs\n  demands s.torque within wanted of s\n  otherwise hold \"x\"\n\
    rule h \"H\"\n  concerns each s in fastenings, at least 1\n  demands s.torque above 1 Nm\n  otherwise hold \"x\"\n  trial met { fastenings: [{ torque: 2 Nm }] }\n  trial broken { fastenings: [] }\n";

#[test]
fn two_rules_of_a_run_are_held_against_each_other() {
    let folder = Folder::new();
    folder.write("m.standard", PAIRS);
    let ask = |one: &str, other: &str| folder.run(&format!("prove m.standard --equal {one} {other}"));
    ask("m.a", "m.b").quietly(0).says(&["`m.a` and `m.b` are equal"]);
    ask("m.a", "m.g").quietly(0);
    ask("m.h", "m.h").quietly(0);
    ask("m.b", "m.c").quietly(1).says(&[
        "`m.c` finds all that `m.b` finds, and more",
        "torque: 50 Nm",
        "`m.b`: nothing is found; `m.c`: hold, broken",
    ]);
    ask("m.c", "m.d").quietly(1).says(&["each of `m.c` and `m.d` finds what the other one does not"]);
    ask("m.a", "m.e")
        .quietly(1)
        .says(&["`m.a` finds all that `m.e` finds, and more", "`m.e`: advice, broken"]);
    ask("m.a", "m.h").quietly(1);
    ask("m.a", "m.x").refused("no rule and no standard here is called `m.x`; did you mean");
    folder.run("prove --equal m.standard").refused("2 values required");
}

/// A name that a name is built on counts as much as the rule itself.
#[test]
fn a_limit_behind_two_names_is_not_overlooked() {
    let folder = Folder::new();
    folder.write("old.standard", PAIRS);
    folder.write(
        "new.standard",
        PAIRS.replace("edition 1", "edition 2").replace("= 40 Nm .. 50 Nm where", "= 41 Nm .. 50 Nm where"),
    );
    let ran = folder.run("compare old.standard new.standard").quietly(1);
    let ran = ran.says(&[
        "m.g: stricter: the new one finds all that the old one found, and more",
        "old: nothing is found; new: hold, broken",
    ]);
    assert!(!ran.out.contains("m.a:"), "{}", ran.out);
    folder
        .run("prove --equal old.standard new.standard")
        .quietly(1)
        .says(&["`new.standard` finds all that `old.standard` finds, and more"]);
}

#[test]
fn editions_of_one_number_are_compared() {
    let folder = Folder::new();
    folder.write("old.standard", PAIRS);
    folder.write("new.standard", PAIRS.replace("demands s.torque above 1 Nm", "demands s.torque above 2 Nm"));
    let ran = folder.run("compare old.standard new.standard --format json").quietly(3);
    let told: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(told["rules"][0]["rule"], "m.h");
    assert_eq!(told["rules"][0]["relation"], "otherwise", "{}", told["rules"]);
    folder.write("new.standard", PAIRS.replace("t.torque below 50 Nm", "t.torque below 52 Nm"));
    let ran = folder.run("compare old.standard new.standard").quietly(3);
    ran.says(&["m.c: looser: the old one found all that the new one finds, and more", "torque: 50 Nm"]);
}

/// A changed rule of which nothing can be told is not left out.
#[test]
fn what_cannot_be_told_of_a_changed_rule_is_said() {
    let folder = Folder::new();
    let text = |edition: u8, share: u8| {
        format!(
            "standard m edition {edition} \"M\"\njudges job\n\nlet screw = 9 Nm ± {share} %\n\nrule r \"R\"\n  \
             concerns each s in fastenings where s.role is \"sump screw\", at least 1\n  demands s.torque within screw\n  \
             otherwise hold \"x\"\n"
        )
    };
    folder.write("old.standard", text(1, 10));
    folder.write("new.standard", text(2, 5));
    let ran = folder.run("compare old.standard new.standard --width 200").quietly(1);
    ran.says(&["what the changes of rules come to", "m.r: cannot tell whether it is stricter or looser"]);
    let ran = folder.run("compare old.standard new.standard --format json").quietly(1);
    let told: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(told["rules"][0]["relation"], "cannot tell");
}

#[test]
fn a_standard_is_equal_to_itself() {
    let folder = Folder::new();
    folder.write("copy.standard", text("rules/fastenings.standard"));
    folder.run("prove --without-settings --equal fastenings copy.standard").quietly(0);
}
