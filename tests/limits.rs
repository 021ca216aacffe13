//! A run ends whatever its rules and records hold, and says what it left out.

use witnessmark::code::{MANY_FAULTS, MANY_FINDINGS, TOO_MUCH_WORK};
use witnessmark::decide::MOST_LOOKS;
use witnessmark::finding::{Judged, Outcome};

use crate::support::session;

const HEAD: &str = "standard limits edition 1 \"Limits\"\njudges job\n\n";

fn record(fastenings: usize) -> String {
    let head = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}\n\
                vehicle: {}\nunit: {kind: engine}\nfastenings:\n";
    head.to_owned() + &"  - {role: screw, torque: 12 Nm}\n".repeat(fastenings)
}

fn judge(rule: &str, fastenings: usize) -> Judged {
    let rules = format!("{HEAD}rule much \"Much\"\n{rule}\n  otherwise hold \"Not so.\"\n");
    let session = session(&[("limits.standard", &rules)]);
    assert!(session.diagnostics().is_empty(), "{:#?}", session.diagnostics());
    session.judge("record.yaml", &record(fastenings)).pop().unwrap()
}

#[test]
fn a_rule_file_with_hundreds_of_mistakes_ends_its_list() {
    let rule = |number: usize| {
        let letters: String = number.to_string().chars().map(|c| char::from(c as u8 - b'0' + b'a')).collect();
        format!("rule r_{letters} \"R\"\n  demands recorded nothing_at_all\n  otherwise hold \"No.\"\n")
    };
    let rules = HEAD.to_owned() + &(0..2000).map(rule).collect::<String>();
    let session = session(&[("limits.standard", &rules)]);
    let found = session.diagnostics();
    assert!((500..600).contains(&found.len()), "{}", found.len());
    assert_eq!(found.last().unwrap().code, MANY_FAULTS);
}

/// Elements in elements in elements, without end for any patience. The finding has the words of the
/// fault; its code is for whoever asks `why`.
#[test]
fn a_rule_that_looks_at_too_much_is_left_undecided() {
    let rules = [
        "  concerns each a in fastenings, each b in fastenings, each c in fastenings\n  demands a.torque is b.torque",
        "  demands every a in fastenings: every b in fastenings: every c in fastenings: a.torque is c.torque",
        "  demands (count of a in fastenings where (count of b in fastenings where b.torque is a.torque) above 0) above 0",
    ];
    for rule in rules {
        let judged = judge(rule, 1500);
        assert!(judged.readable && judged.diagnostics.is_empty(), "{rule}: {:#?}", judged.diagnostics);
        let undecided = judged.findings.iter().filter(|found| found.outcome == Outcome::Undecided);
        let says = |message: &str| message.contains(&format!("more than {MOST_LOOKS} elements"));
        assert!(undecided.clone().any(|found| says(&found.message)), "{rule}: {:#?}", judged.findings);
        assert!(judged.findings.len() < 5, "{rule}: {}", judged.findings.len());
    }
    let code = TOO_MUCH_WORK.as_str();
    crate::support::Folder::new().run(&format!("why {code}")).quietly(0).says(&["a million elements"]);
    // A record of any size that people write is judged to its end.
    let judged = judge(rules[0], 90);
    assert_eq!(judged.tallies[0].1.met, 90 * 90 * 90);
}

#[test]
fn the_same_finding_over_and_over_is_listed_a_hundred_times_and_counted() {
    let judged = judge("  concerns each f in fastenings\n  demands f.torque below 12 Nm", 1234);
    assert_eq!(judged.findings.len(), 100);
    assert_eq!(judged.tallies[0].1.broken, 1234);
    let codes: Vec<_> = judged.diagnostics.iter().map(|found| found.code).collect();
    assert_eq!(codes, [MANY_FINDINGS]);
    let few = judge("  concerns each f in fastenings\n  demands f.torque below 12 Nm", 100);
    assert_eq!((few.findings.len(), few.diagnostics.len()), (100, 0));
}

/// Twenty-six lets, each of which names the one before it twice, come to 2 to the power of 26 when they are written
/// out; in a row of which each names another once, they are short.
#[test]
fn lets_that_double_with_each_name_are_refused() {
    let rules = |next: &dyn Fn(usize) -> String| {
        let name = |number: usize| format!("sum_{}", char::from(b'a' + u8::try_from(number).unwrap()));
        let mut text = format!("{HEAD}let {} = fluid.drained.volume\n", name(0));
        for number in 1..26 {
            text +=
                &format!("let {} = {}\n", name(number), next(number - 1).replace("IT", &name(number - 1)));
        }
        format!("{text}rule b \"B\"\n  demands {} above 1 L\n  otherwise hold \"No.\"\n", name(25))
    };
    let session_of = |text: String| session(&[("limits.standard", &text)]);
    let refused = session_of(rules(&|_| "IT + IT".to_owned()));
    let found = refused.diagnostics();
    assert_eq!(found.first().map(|found| found.code), Some(TOO_MUCH_WORK), "{found:#?}");
    assert!(found[0].message.starts_with("`sum_l` comes to more than 10000 parts"), "{}", found[0].message);
    let session = session_of(rules(&|_| "IT + 1 L".to_owned()));
    assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
    let judged = session.judge("record.yaml", &record(1)).pop().unwrap();
    assert_eq!(judged.findings[0].outcome, Outcome::Undecided);
}

/// Seven lets with a row of 98 `or` each, one in the other, are nested 686 deep; a single row of 150 is not refused.
#[test]
fn lets_that_are_nested_too_deep_are_refused_and_others_are_judged() {
    let row = |start: &str, ors: usize| format!("{start}{}", " or recorded vehicle.plate".repeat(ors));
    let rules = |lets: usize, ors: usize| {
        let mut text = HEAD.to_owned();
        let mut last = "recorded vehicle.vin".to_owned();
        for number in 0..lets {
            let name = format!("row_{}", char::from(b'a' + u8::try_from(number).unwrap()));
            text += &format!("let {name} = {}\n", row(&last, ors));
            last = name;
        }
        format!("{text}rule b \"B\"\n  demands {}\n  otherwise hold \"No.\"\n", row(&last, 150))
    };
    let session_of = |text: String| session(&[("limits.standard", &text)]);
    let refused = session_of(rules(7, 98));
    let found = refused.diagnostics();
    assert_eq!(found.first().map(|found| found.code), Some(TOO_MUCH_WORK), "{found:#?}");
    assert!(found[0].message.starts_with("`row_c` is nested more than 256 deep"), "{}", found[0].message);
    let deep = session_of(rules(1, 198));
    assert!(!deep.is_faulty(), "{:#?}", deep.diagnostics());
    let judged = deep.judge("record.yaml", &record(1)).pop().unwrap();
    assert_eq!(judged.findings[0].outcome, Outcome::Broken);
}
