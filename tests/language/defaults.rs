//! What the head of a standard says for its rules: the basis, and who may grant a concession.

use crate::support::Folder;

const HEAD: &str = "standard s edition 1 \"S\"\njudges job\n";
const DEFAULTS: &str = "basis \"common practice\"\nconcession by \"foreman\"\n";

/// A rule that a job without a road test breaks.
fn rule(name: &str, severity: &str, clauses: &str) -> String {
    format!(
        "rule {name} \"The vehicle was driven\"\n  demands recorded road_test.done\n  otherwise {severity} \"No drive.\"\n{clauses}\
         \x20 trial met {{ road_test: {{ done: yes }} }}\n  trial broken {{ road_test: {{}} }}\n"
    )
}

fn four() -> String {
    let own = "  basis \"ISO 1\"\n  concession by \"owner\"\n";
    [
        &rule("plain", "hold", ""),
        &rule("own", "hold", own),
        &rule("never", "hold", "  concession never\n"),
        &rule("advised", "advice", ""),
    ]
    .map(String::as_str)
    .concat()
}

#[test]
fn a_rule_that_does_not_say_takes_it_from_the_head() {
    let folder = Folder::new();
    folder.write("s.standard", format!("{HEAD}{DEFAULTS}{}", four()));
    for (name, basis, concession) in [
        ("plain", "common practice", "by foreman"),
        ("own", "ISO 1", "by owner"),
        ("never", "common practice", "never"),
        ("advised", "common practice", "the rule does not say"),
    ] {
        folder
            .run(&format!("why s.{name} --standard s.standard --without-settings"))
            .quietly(0)
            .says(&[&format!("basis: {basis}\n"), &format!("concession: {concession}")]);
    }
    // Neither `prove` nor a report misses a basis.
    let proven = folder.run("prove s.standard").quietly(0);
    assert!(!proven.out.contains("does not say where"), "{}", proven.out);
}

#[test]
fn the_concession_of_the_head_is_for_rules_that_hold() {
    let folder = Folder::new();
    folder.write("s.standard", format!("{HEAD}{DEFAULTS}{}", four()));
    let run = |rule: &str, by: &str| {
        folder.write("job.yaml", format!("form: job/1\njob: {{number: K-1, opened: 2026-03-01T08:00+01:00, closed: 2026-03-01T10:00+01:00, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\nroad_test: {{}}\nconcessions: [{{rule: s.{rule}, reason: r, granted_by: {by}, name: M}}]\n"));
        folder.run("inspect job.yaml --standard s.standard --without-settings --format plain --width 300")
    };
    run("plain", "foreman").says(&["1 under concession"]);
    run("plain", "owner").says(&["`owner` may grant no concession for `s.plain`, only the foreman"]);
    run("own", "owner").says(&["1 under concession"]);
    run("own", "foreman").says(&["`foreman` may grant no concession for `s.own`, only the owner"]);
    run("never", "foreman").says(&["nobody may grant a concession for `s.never`"]);
    run("advised", "foreman").says(&["`s.advised` does not say that anybody may grant a concession"]);
}

#[test]
fn what_the_head_says_already_is_not_said_again() {
    let folder = Folder::new();
    let again = rule("again", "hold", "  basis \"common practice\"\n  concession by \"foreman\"\n");
    // An advice has no concession by the head, so its own is no repetition.
    let advised = rule("advised", "advice", "  concession by \"foreman\"\n");
    folder.write("s.standard", format!("{HEAD}{DEFAULTS}{again}{advised}"));
    let proven = folder.run("prove s.standard --width 300").quietly(0);
    let again = |clause: &str| format!("the rule `s.again` says its {clause} again");
    let proven = proven.says(&[&again("basis"), &again("concession"), "rules/said-again"]);
    assert!(!proven.out.contains("`s.advised` says"), "{}", proven.out);
    let rules = rule("alone", "hold", "  concession never\n");
    folder.write("s.standard", format!("{HEAD}concession never\n{rules}"));
    folder.run("prove s.standard --width 300").says(&["the rule `s.alone` says its concession again"]);
}

#[test]
fn mistakes_in_the_head_are_said_at_their_words() {
    let folder = Folder::new();
    for (clause, says) in [
        ("basis", "basis \"common practice\""),
        ("concession foreman", "`never`"),
        ("concession by", "concession by \"foreman\""),
        ("basis \"a\"\nbasis \"b\"", "twice"),
        ("concession never\nconcession never", "twice"),
        ("remedy \"Drive it.\"", "`remedy` is a clause of a rule"),
        ("if unrecorded pass", "`if` is a clause of a rule"),
        ("bases \"x\"", "did you mean `basis`?"),
        ("concesion never", "did you mean `concession`?"),
        ("concession by \"foreman\", foreman", "quot"),
    ] {
        folder.write("s.standard", format!("{HEAD}{clause}\n{}", rule("plain", "hold", "")));
        folder.run("prove s.standard --width 300").says(&[says]);
    }
}
