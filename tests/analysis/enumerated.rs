//! Generated rules over a small domain, of which every value is enumerated: what the analysis says of a rule is what comes
//! out when all entries that can be are judged, no more and, but for what is implied, no less.
//!
//! Words that no rule names are all alike, so that one of them stands for the others. `ANALYSIS_RULES` sets how many rules are made, `ANALYSIS_SEED` where the seeds begin.

use std::fmt::Write;

use fastrand::Rng;
use witnessmark::document::Forms;
use witnessmark::library::NoLibrary;
use witnessmark::session::{Request, Session};
use witnessmark::source::Sources;

use super::claims;
use crate::support::setting;

thread_local! {
    static FORMS: Forms = Forms::builtin();
}

pub(super) fn session(rules: &str) -> Session {
    let mut sources = Sources::new();
    let standards = vec![sources.add("probe.standard", rules)];
    let (forms, setting) = (FORMS.with(Clone::clone), setting("2026-03-02", "UTC"));
    let request = Request { sources, standards, earlier: Vec::new(), forms, givens: Vec::new(), setting };
    Session::open(request, &NoLibrary)
}

pub(super) fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

const RULES: usize = 6;

/// A rule: what it concerns, and one or two demands.
struct Made {
    concerns: String,
    demands: Vec<String>,
}

fn pick<'a>(rng: &mut Rng, of: &[&'a str]) -> &'a str {
    of[rng.usize(..of.len())]
}

fn atom(rng: &mut Rng) -> String {
    let limit = |rng: &mut Rng| pick(rng, &["10 Nm", "20 Nm"]);
    let word = |rng: &mut Rng| pick(rng, &["steel", "aluminium"]);
    match rng.u8(..14) {
        0 => "s.marked".to_owned(),
        1 => format!("s.marked is {}", pick(rng, &["yes", "no"])),
        2 => format!("s.mating_thread is \"{}\"", word(rng)),
        3 => format!("s.mating_thread is not \"{}\"", word(rng)),
        4 => format!("s.mating_thread is one of (\"{}\", \"{}\")", word(rng), word(rng)),
        5 => format!("s.mating_thread is not one of (\"{}\", \"{}\")", word(rng), word(rng)),
        6 | 7 => {
            let comparison = pick(rng, &["at least", "at most", "above", "below", "is", "is not"]);
            format!("s.torque {comparison} {}", limit(rng))
        }
        8 => "s.torque within 10 Nm .. 20 Nm".to_owned(),
        9 => format!("s.torque within {} {}", pick(rng, &["above", "at most"]), limit(rng)),
        10 | 11 => {
            let comparison = pick(rng, &["at least", "at most", "above", "below", "is", "is not"]);
            format!("s.pass {comparison} {}", rng.u8(1..3))
        }
        _ => format!("recorded s.{}", pick(rng, &["marked", "mating_thread", "torque", "pass"])),
    }
}

pub(super) fn condition(rng: &mut Rng, depth: u8) -> String {
    if depth == 0 || rng.u8(..4) == 0 {
        return atom(rng);
    }
    match rng.u8(..6) {
        0 => format!("not ({})", condition(rng, depth - 1)),
        1 => format!("(({}) implies ({}))", condition(rng, depth - 1), condition(rng, depth - 1)),
        2 | 3 => format!("({} and {})", condition(rng, depth - 1), condition(rng, depth - 1)),
        _ => format!("({} or {})", condition(rng, depth - 1), condition(rng, depth - 1)),
    }
}

/// Entries with every value that tells limits apart.
pub(super) fn entries() -> String {
    let mut text = String::from("form: job/1\nfastenings:\n");
    for torque in ["", "torque: 5 Nm", "torque: 10 Nm", "torque: 15 Nm", "torque: 20 Nm", "torque: 25 Nm"] {
        for pass in ["", "pass: 0", "pass: 1", "pass: 2", "pass: 3"] {
            for thread in ["", "steel", "aluminium", "plastic"] {
                for marked in ["", "marked: yes", "marked: no"] {
                    let thread =
                        if thread.is_empty() { String::new() } else { format!("mating_thread: {thread}") };
                    let fields: Vec<&str> = [torque, pass, &thread, marked]
                        .into_iter()
                        .filter(|field| !field.is_empty())
                        .collect();
                    writeln!(text, "  - {{ {} }}", fields.join(", ")).unwrap();
                }
            }
        }
    }
    text
}

pub(super) fn rule(text: &mut String, name: &str, concerns: &str, demands: &[String]) {
    writeln!(text, "rule {name} \"R\"\n  concerns each s in fastenings{concerns}").unwrap();
    for demand in demands {
        writeln!(text, "  demands {demand}").unwrap();
    }
    writeln!(text, "  otherwise hold \"x\"").unwrap();
}

pub(super) const HEAD: &str = "standard probe edition 1 \"P\"\njudges job\n";

/// For how many entries a condition comes to yes.
struct Counter {
    text: String,
    asked: usize,
}

impl Counter {
    fn ask(&mut self, parts: &[String]) -> usize {
        let all: Vec<String> = parts.iter().map(|part| format!("({part})")).collect();
        rule(&mut self.text, &format!("q{}", self.asked), "", &[all.join(" and ")]);
        self.asked += 1;
        self.asked - 1
    }

    fn count(self, entries: &str) -> Vec<u64> {
        let session = session(&self.text);
        assert!(!session.is_faulty(), "{}", self.text);
        let judged = session.judge("job.yaml", entries);
        judged[0].tallies.iter().map(|(_, tally)| tally.met).collect()
    }
}

/// Asks for the numbers by which it is known what is to be told of a rule.
fn ask(counter: &mut Counter, rule: &Made) -> usize {
    let first = counter.asked;
    let not = |demand: &String| format!("not ({demand})");
    counter.ask(std::slice::from_ref(&rule.concerns));
    for demand in &rule.demands {
        counter.ask(&[rule.concerns.clone(), demand.clone()]);
        counter.ask(&[rule.concerns.clone(), not(demand)]);
    }
    if let [one, other] = rule.demands.as_slice() {
        counter.ask(&[rule.concerns.clone(), one.clone(), other.clone()]);
        counter.ask(&[rule.concerns.clone(), one.clone(), not(other)]);
        counter.ask(&[rule.concerns.clone(), not(one), other.clone()]);
        counter.ask(&[rule.concerns.clone(), not(one), not(other)]);
    }
    first
}

/// What is to be told of a rule, by those numbers.
fn expected(rule: &Made, counts: &[u64]) -> Vec<String> {
    if counts[0] == 0 {
        return vec!["never-concerns".to_owned()];
    }
    let mut told = Vec::new();
    let mut open = true;
    for number in 0..rule.demands.len() {
        if counts[1 + 2 * number] == 0 {
            told.push(format!("never-met {number}"));
            open = false;
        } else if counts[2 + 2 * number] == 0 {
            told.push(format!("never-broken {number}"));
            open = false;
        }
    }
    if rule.demands.len() == 2 && open {
        // Whatever breaks the weaker one breaks the other: for none of those it is met, or open.
        let broken = counts[8];
        match counts[5..8] {
            [0, _, _] => told.push("contradiction 1".to_owned()),
            [_, 0, _] if counts[4] == broken => told.push("implied 1".to_owned()),
            [_, _, 0] if counts[2] == broken => told.push("implied 0".to_owned()),
            _ => {}
        }
    }
    told
}

/// What is told of each rule, of the sorts that are looked for.
fn found(session: &Session, text: &str) -> Vec<Vec<String>> {
    let mut found = vec![Vec::new(); RULES];
    for claim in claims(session) {
        let code = claim.code.as_str().trim_start_matches("analysis/");
        let at = claim.place().unwrap().span.start as usize;
        let before = &text[..at];
        let rule = before.matches("\nrule ").count() - 1;
        let demand = before[before.rfind("\nrule ").unwrap()..].matches("\n  demands ").count();
        match (code, claim.level) {
            ("never-concerns", _) => found[rule].push(code.to_owned()),
            // Never met and never broken: that it never has an answer says more.
            ("no-answer", _) => found[rule].push(format!("never-met {}", demand - 1)),
            ("never-met" | "never-broken" | "implied", _) => {
                found[rule].push(format!("{code} {}", demand - 1))
            }
            ("contradiction", witnessmark::diagnostic::Level::Error) => {
                let other = claim.labels[1].place.span.start as usize;
                if text[..other].matches("\nrule ").count() - 1 == rule {
                    found[rule].push(format!("{code} {}", demand - 1));
                }
            }
            _ => {}
        }
    }
    found
}

fn check(seed: u64, entries: &str) -> Vec<usize> {
    let mut rng = Rng::with_seed(seed);
    let rules: Vec<Made> = (0..RULES)
        .map(|_| {
            let concerns =
                if rng.bool() { condition(&mut rng, 2) } else { "recorded s.marked or yes".to_owned() };
            let demands = (0..rng.usize(1..=2)).map(|_| condition(&mut rng, 2)).collect();
            Made { concerns, demands }
        })
        .collect();
    let mut text = HEAD.to_owned();
    for (number, made) in rules.iter().enumerate() {
        rule(&mut text, &format!("r{number}"), &format!(" where {}", made.concerns), &made.demands);
    }
    let session = session(&text);
    assert!(!session.is_faulty(), "seed {seed}: {:?}\n{text}", session.diagnostics());
    let found = found(&session, &text);
    let mut counter = Counter { text: HEAD.to_owned(), asked: 0 };
    let first: Vec<usize> = rules.iter().map(|made| ask(&mut counter, made)).collect();
    let counts = counter.count(entries);
    let mut told = Vec::new();
    for (number, (made, found)) in rules.iter().zip(found).enumerate() {
        let expected = expected(made, &counts[first[number]..]);
        // A reading with an uncertainty can leave open what no entry here does, so that less is implied than comes out.
        let is_implied = |told: &&String| told.starts_with("implied");
        let certain =
            |told: &[String]| told.iter().filter(|told| !is_implied(told)).cloned().collect::<Vec<_>>();
        assert_eq!(certain(&found), certain(&expected), "seed {seed}, rule {number}:\n{text}");
        let unfounded = found.iter().find(|told| is_implied(told) && !expected.contains(told));
        assert_eq!(unfounded, None, "seed {seed}, rule {number}:\n{text}");
        told.push(expected.len());
    }
    told
}

#[test]
fn what_is_told_of_rules_is_what_comes_out_on_every_entry_that_can_be() {
    let (first, programs) = (number("ANALYSIS_SEED", 0), number("ANALYSIS_RULES", 120) / RULES as u64);
    let entries = entries();
    let half = first + programs / 2;
    let told: Vec<usize> = std::thread::scope(|scope| {
        let run =
            |seeds: std::ops::Range<u64>| seeds.flat_map(|seed| check(seed, &entries)).collect::<Vec<_>>();
        let parts = [first..half, half..first + programs].map(|part| scope.spawn(move || run(part)));
        parts.into_iter().flat_map(|part| part.join().unwrap()).collect()
    });
    let some = told.iter().filter(|told| **told > 0).count();
    assert!(some * 5 > told.len(), "of {} rules only {some} have anything that is told", told.len());
    assert!(some * 10 < told.len() * 9, "of {} rules {some} have something that is told", told.len());
}
