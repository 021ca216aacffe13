//! A run ends whatever its rules and records hold, and says what it left out.

use witnessmark::code::{MANY_FAULTS, MANY_FINDINGS, TOO_MUCH_WORK};
use witnessmark::decide::MOST_LOOKS;
use witnessmark::finding::{Judged, Outcome};
use witnessmark::language::ast::Severity;
use witnessmark::library::NoArchive;
use witnessmark::session::History;

use crate::fuzz::targets::repeat::LETS;
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

/// A name of the number of a let: names have no digits.
fn nth(number: usize) -> String {
    let letter = |digit: usize| char::from(b'a' + u8::try_from(digit).unwrap());
    format!("l_{}{}", letter(number / 26), letter(number % 26))
}

/// Rules in which each of so many lets names the one before it at least twice: `next` with the name before for `IT`.
fn doubling(lets: usize, first: &str, next: &str, demand: &str) -> String {
    let mut text = format!("{HEAD}let {}{first}\n", nth(0));
    for number in 1..lets {
        text += &format!("let {}{}\n", nth(number), next.replace("IT", &nth(number - 1)));
    }
    format!("{text}rule b \"B\"\n{}\n  otherwise hold \"No.\"\n", demand.replace("IT", &nth(lets - 1)))
}

/// The same with lets inside the rule.
fn doubling_in_rule(lets: usize, first: &str, next: &str, demand: &str) -> String {
    let mut text =
        format!("{HEAD}rule b \"B\"\n  concerns each f in fastenings\n  let {} = {first}\n", nth(0));
    for number in 1..lets {
        text += &format!("  let {} = {}\n", nth(number), next.replace("IT", &nth(number - 1)));
    }
    format!("{text}  demands {}\n  otherwise hold \"No.\"\n", demand.replace("IT", &nth(lets - 1)))
}

fn steps(rules: &str, fastenings: usize) -> u64 {
    let session = session(&[("limits.standard", rules)]);
    assert!(!session.is_faulty(), "{rules}: {:#?}", session.diagnostics());
    let judged = session.judge("record.yaml", &record(fastenings)).pop().unwrap();
    assert!(judged.steps > 0 && judged.diagnostics.iter().all(|said| said.code != TOO_MUCH_WORK), "{rules}");
    judged.steps
}

/// Written out, sixty lets come to 2 to the power of 60 parts; the work for them grows as their text does.
#[test]
fn lets_that_double_with_each_name_take_work_in_proportion_to_their_text() {
    for (first, next, demand) in LETS {
        let of = |lets: usize| steps(&doubling(lets, first, next, demand), 3);
        let (some, twice) = (of(30), of(60));
        assert!(twice < some * 5 / 2, "{next}: {some} steps, of twice as many lets {twice}");
    }
    for (first, next, demand) in
        [("f.torque", "IT + IT", "IT above 1 Nm"), ("f.torque above 1 Nm", "IT and IT", "IT")]
    {
        let of = |lets: usize| steps(&doubling_in_rule(lets, first, next, demand), 3);
        let (some, twice) = (of(30), of(60));
        assert!(twice < some * 5 / 2, "{next}: {some} steps, of twice as many lets {twice}");
    }
}

/// Whatever a rule file is asked for ends, too: the words of a finding, the trace of a rule, what sheets and settings
/// need of it.
#[test]
fn lets_that_double_are_explained_compared_and_read_for_sheets() {
    let folder = crate::support::Folder::new();
    folder.write("job.yaml", record(3));
    folder.write(
        "p.yaml",
        "form: procedure/1\nprocedure: {name: P, edition: 1, title: T}\nunit: {kind: engine}\n",
    );
    folder.write("known.yaml", "form: known/1\nfindings: []\n");
    for (first, next, demand) in LETS {
        folder.write("s.standard", doubling(60, first, next, demand));
        folder.write("t.standard", doubling(60, first, next, &demand.replace("above 1", "above 2")));
        let inspected = folder.run("inspect job.yaml --standard s.standard --note-known known.yaml");
        assert!(matches!(inspected.code, 0 | 1), "{next}: {inspected:?}");
        assert_eq!(folder.run("why limits.b job.yaml --standard s.standard --in-full").code, 0, "{next}");
        assert_eq!(folder.run(&format!("why {} --standard s.standard", nth(59))).code, 0, "{next}");
        assert!(matches!(folder.run("compare s.standard t.standard --jobs .").code, 0 | 1 | 3), "{next}");
        assert!(folder.run("sheet p.yaml --standard s.standard").code < 2, "{next}");
        assert!(folder.run("prove s.standard").code < 2, "{next}");
    }
}

/// Pairs of the entries of a list: a document that takes more steps than it may is not judged to its end, and never fine.
#[test]
fn a_document_that_takes_too_many_steps_is_told_and_the_others_are_judged() {
    let rule = |name: &str, severity: &str| {
        let demand = "no a in fastenings: some b in fastenings: a.torque above b.torque + 1 kNm";
        format!("rule {name} \"{name}\"\n  demands {demand}\n  otherwise {severity} \"No.\"\n")
    };
    let rules = format!("{HEAD}{}{}{}", rule("pairs", "note"), rule("again", "note"), rule("third", "note"));
    let session = session(&[("limits.standard", &rules)]).within_steps(100_000);
    let text = format!("{}---\n{}", record(400), record(4));
    let judged = session.judge("record.yaml", &text);
    assert_eq!((judged[1].diagnostics.len(), judged[1].findings.len()), (0, 0));
    let (judged, said) = (&judged[0], &judged[0].diagnostics);
    assert_eq!(said.iter().map(|said| said.code).collect::<Vec<_>>(), [TOO_MUCH_WORK]);
    assert_eq!(
        said[0].message,
        "the rules take more than 100000 steps for this document, the last of them for `limits.pairs`, and the 2 rules after it were not judged"
    );
    assert!(said[0].help.as_deref().unwrap().contains("--most-steps"));
    let found = &judged.findings;
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].outcome, found[0].severity), (Outcome::Undecided, Severity::Hold));
    assert!(judged.tallies.iter().all(|(_, tally)| (tally.undecided, tally.met) == (1, 0)));
    // Work is counted, not timed: it grows with the pairs.
    let of = |fastenings: usize| session.judge("record.yaml", &record(fastenings))[0].steps;
    assert!(of(40) > 3 * of(20) && of(40) < 5 * of(20), "{} {}", of(20), of(40));
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

/// Many logs can name one long file: their entries count together, for the document; and for the run, in which many documents
/// can name it.
#[test]
fn the_entries_of_all_logs_of_a_document_count_together() {
    let folder = crate::support::Folder::new();
    let rows: String = (0..400).map(|second| format!("{second},60\n")).collect();
    folder.write("log.csv", format!("time [s],temperature [\u{b0}C]\n{rows}"));
    let log = "  - {of: level check, started: 2026-03-02T09:30, temperature: log.csv}\n";
    let job = |logs: usize| format!("{}logs:\n{}", record(1), log.repeat(logs));
    folder.write("jobs/one.yaml", job(1));
    folder.write("jobs/many.yaml", job(50));
    std::fs::copy(folder.path().join("log.csv"), folder.path().join("jobs/log.csv")).unwrap();
    let inspect = |name: &str, most: &str| {
        folder.run(&format!("inspect jobs/{name} --standard job_basics {most} --width 300 --in-full"))
    };
    let (one, many) = (inspect("one.yaml", "--most-steps 16000"), inspect("many.yaml", "--most-steps 16000"));
    assert!(!one.out.contains("entries together"), "{}", one.out);
    assert!(
        many.out.contains("the logs of this document have more than 4000 entries together"),
        "{}",
        many.out
    );
    assert_eq!(many.out.matches("rules/too-much-work").count(), 1, "{}", many.out);
    assert_eq!(many.code, 1);
    // Fifty times 400 entries are some 200,000 steps: two such records are more than the run may take.
    for number in 0..3 {
        folder.write(&format!("jobs/n{number}.yaml"), job(50).replace("K-1", &format!("K-2{number}")));
    }
    let all = inspect("", "--most-steps-in-all 300000 --threads 1");
    assert_eq!(
        all.out.matches("not judged: the rules have taken more than 300000 steps").count(),
        3,
        "{}",
        all.out
    );
    assert!(!inspect("", "--most-steps-in-all 2000000").out.contains("not judged: the rules"));
}

/// Few entries can be long, and there can be none at all in much of a file.
#[test]
fn the_text_of_logs_counts_too() {
    let folder = crate::support::Folder::new();
    let log = "  - {of: level check, started: 2026-03-02T09:30, temperature: log.csv}\n";
    folder.write("a.yaml", format!("{}logs:\n{}", record(1), log.repeat(20)));
    for rows in [format!("0,60,{}\n", "x".repeat(60_000)), format!("0,60,x\n{}", "\n".repeat(60_000))] {
        folder.write("log.csv", format!("time [s],temperature [\u{b0}C],note\n{rows}"));
        let ran = folder.run("inspect a.yaml --standard job_basics --most-steps 40000 --width 300");
        let said =
            "the logs of this document have more than 10000 entries together (64 bytes of text count as one)";
        assert!(ran.code == 1 && ran.out.contains(said), "{}", ran.out);
        let enough = folder.run("inspect a.yaml --standard job_basics --most-steps 400000 --width 300");
        assert!(!enough.out.contains("entries together"), "{}", enough.out);
    }
}

/// What rules read of logs counts, whatever question they ask and however often.
#[test]
fn the_entries_that_rules_read_are_bounded_and_counted() {
    let rules = |number: u8| {
        let one = |number: u8| {
            let letter = char::from(b'a' + number);
            format!(
                "rule r_{letter} \"R\"\n  concerns  each l in logs, each s in steps\n  demands   throughout s: l.temperature above {number} °C\n  \
                 otherwise hold \"No.\"\n"
            )
        };
        format!("{HEAD}{}", (0..number).map(one).collect::<String>())
    };
    let entries: String = (0..500).map(|second| format!("{second} s: 60 °C, ")).collect();
    let text = record(1)
        + &format!(
            "steps: [{{step: hold, started: 2026-03-02T09:00, ended: 2026-03-02T09:08}}]\nlogs:\n  - {{of: level check, started: 2026-03-02T09:00, temperature: {{{entries}}}}}\n"
        );
    let judged = |number: u8, most: u64| {
        let session = session(&[("limits.standard", &rules(number))]).within_steps(most);
        assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
        session.judge("record.yaml", &text).pop().unwrap()
    };
    let steps = |number: u8| judged(number, 20_000_000).steps;
    let of_one = steps(2) - steps(1);
    assert!(of_one > 8 * 400 && of_one < 8 * 700, "{of_one} steps for a rule that reads 500 entries");
    let refused = judged(10, 8_000);
    let said = format!("{:#?}", refused.findings);
    assert!(said.contains("the rules read more than 2000 entries of logs for this document"), "{said}");
}

/// Two rules in each of which the procedure is asked for the entry of a fastening.
const PRESCRIBED: &str = "rule told \"Told\"\n  concerns each f in fastenings\n  demands recorded f.prescribed.torque\n  otherwise hold \"No.\"\n";

/// The steps for a job of so many fastenings with so many entries of the procedure; `place` tells what each is called.
fn steps_with_procedure(number: usize, role: &dyn Fn(usize) -> String) -> u64 {
    let mut session = session(&[("limits.standard", &format!("{HEAD}{PRESCRIBED}"))]);
    let entries = |torque: &str| -> String {
        (0..number)
            .map(|at| format!("  - {{role: {}, place: p{at}, torque: {torque}}}\n", role(at)))
            .collect()
    };
    let procedure = format!(
        "form: procedure/1\nprocedure: {{name: P, edition: 1}}\nunit: {{kind: engine}}\nfastenings:\n{}",
        entries("12 Nm ± 10 %")
    );
    let around = vec![("procedure.yaml".to_owned(), procedure)];
    session.load_context(around, History::default(), std::sync::Arc::new(NoArchive));
    let head = record(0).replace("state: closed}", "state: closed, procedure: {name: P, edition: 1}}");
    let judged = session.judge("record.yaml", &(head + &entries("12 Nm"))).pop().unwrap();
    let met: u64 = judged.tallies.iter().map(|(_, tally)| tally.met).sum();
    assert_eq!(met, number as u64, "{:#?}", judged.findings);
    judged.steps
}

/// Following a link is work, too: by name it takes no longer in a long list, and where many entries have one name, each that
/// is looked at is counted.
#[test]
fn following_links_into_long_lists_is_counted_and_by_name_in_proportion() {
    let by_name = |number| steps_with_procedure(number, &|at| format!("screw {at}x"));
    let (some, twice) = (by_name(100), by_name(200));
    assert!(twice < some * 5 / 2, "{some} steps, of twice as many entries {twice}");
    let alike = steps_with_procedure(200, &|_| "screw".to_owned());
    assert!(alike > 200 * 200, "{alike} steps, and each of 200 fastenings looks at 200 entries");
}

/// Names that are declared again and again are listed up to the bound, too.
#[test]
fn a_rule_file_of_one_name_again_and_again_ends_its_list() {
    let rules = HEAD.to_owned() + &"let again = 1 Nm\n".repeat(2_000);
    let session = session(&[("limits.standard", &rules)]);
    assert_eq!(session.diagnostics().len(), 501);
    assert_eq!(session.diagnostics().iter().filter(|found| found.code == MANY_FAULTS).count(), 1);
}

/// A rule of the entries of several lists costs no more than a rule for each of them, and looks only at the entries of the
/// wanted names where the lists are long.
#[test]
fn entries_of_several_lists_take_no_more_steps_than_each_list_alone() {
    let rule = |name: &str, list: &str, demand: &str| {
        format!(
            "rule {name} \"R\"\n  concerns each u in {list} where recorded u.place\n  demands {demand}\n  otherwise hold \"No.\"\n"
        )
    };
    let steps = |rules: String, entries: usize| {
        let list = |name: &str| format!("{name}:\n{}  - {{place: B}}\n", "  - {place: A}\n".repeat(entries));
        let record = record(0).replace("fastenings:\n", &format!("{}{}", list("fastenings"), list("seals")));
        let session = session(&[("limits.standard", &rules)]);
        assert!(!session.is_faulty(), "{rules}: {:#?}", session.diagnostics());
        session.judge("record.yaml", &record).pop().unwrap().steps
    };
    let of_both = |demand: &str| {
        format!("{HEAD}let both = entries of (fastenings, seals)\n{}", rule("of_both", "both", demand))
    };
    let plain = "u.place is \"A\"";
    let apart = format!("{HEAD}{}{}", rule("one", "fastenings", plain), rule("other", "seals", plain));
    let (apart, together) = (steps(apart, 200), steps(of_both(plain), 200));
    assert!(together <= apart + 20, "{together} steps together, {apart} apart");
    let named = of_both("some v in both where v.place is \"B\": v.place is \"B\"");
    let (some, twice) = (steps(named.clone(), 200), steps(named, 400));
    assert!(twice < some * 5 / 2, "{some} steps, of twice as many entries {twice}");
}

/// Names are compared by many rules, letter by letter: one that is too long to be any is refused once.
#[test]
fn a_name_without_end_is_refused_and_compared_with_none() {
    let session = session(&[("limits.standard", HEAD)]);
    let long = "drain plug ".repeat(20_000);
    let record = format!(
        "form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}}\nvehicle: {{plate: GW 1}}\n\
         unit: {{kind: engine, family: \"{long}\"}}\n\
         fastenings:\n  - {{role: \"{long}\", place: \"{}\"}}\n  - {{role: drain plug, place: \"{}\"}}\n",
        "ab".repeat(101),
        "a\u{e4}".repeat(100),
    );
    let judged = session.judge("record.yaml", &record).pop().unwrap();
    let said: Vec<&str> = judged.diagnostics.iter().map(|found| found.message.as_str()).collect();
    let names = |path: &str, letters: usize| {
        format!("`{path}` is a name, and this one has {letters} letters; 200 are the most")
    };
    for wanted in [
        names("unit.family", 220_000),
        names("fastenings[0].role", 220_000),
        names("fastenings[0].place", 202),
    ] {
        assert!(said.contains(&wanted.as_str()), "{wanted} is not in {said:#?}");
    }
    assert_eq!(said.iter().filter(|said| said.contains("200 are the most")).count(), 3, "{said:#?}");
}
