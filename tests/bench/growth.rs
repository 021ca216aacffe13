//! How work grows with what there is to do: `cargo bench --bench growth`. Each line is one case with so many of something, and with
//! twice and four times as many: the steps that the rules did, which are the same on every machine, and the time.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program for developers prints, and reads the clock"
)]

use std::time::Instant;

use jiff::civil::date;
use jiff::tz::TimeZone;
use witnessmark::decide::Setting;
use witnessmark::document::Forms;
use witnessmark::language::layout::laid_out;
use witnessmark::library::{NoLibrary, SHIPPED};
use witnessmark::metrology::conformity::DecisionRule;
use witnessmark::session::{Request, Session};
use witnessmark::source::{SourceId, Sources};

const HEAD: &str = "standard growth edition 1 \"Growth\"\njudges job\n";
const RECORD: &str = "form: job/1\njob: {number: K-1, opened: 2026-03-02T09:00, state: closed}\nvehicle: {}\nunit: {kind: engine}\n";

/// A case: its name, how many there are at first, and the rules and the text for a number.
type Case = (&'static str, usize, fn(usize) -> (String, String));

const CASES: [Case; 7] = [
    ("lets that name another twice", 15, |lets| (doubling(lets), fastenings(10))),
    ("entries of a list", 2_500, |entries| {
        (rule("every f in fastenings: f.torque above 1 Nm"), fastenings(entries))
    }),
    ("entries of a list compared with those of their name", 2_500, |entries| {
        let demand = "every f in fastenings: (count of g in fastenings where g.role is f.role) is 1";
        (rule(demand), fastenings(entries))
    }),
    ("pairs of entries", 100, |entries| {
        (
            rule("no f in fastenings: some g in fastenings: f.torque above g.torque + 1 kNm"),
            fastenings(entries),
        )
    }),
    ("documents in one file", 2_500, |documents| {
        (rule("recorded unit.kind"), vec![RECORD; documents].join("---\n"))
    }),
    ("unknown fields", 10_000, |fields| {
        let unknown: String = (0..fields).map(|field| format!("field_{field}: 1\n")).collect();
        (rule("recorded unit.kind"), format!("{RECORD}{unknown}"))
    }),
    ("misspelt fields in a list on one line", 5_000, |entries| {
        let entries = vec!["{role: screw, torqe: 12 Nm}"; entries].join(", ");
        (rule("every f in fastenings: f.torque above 1 Nm"), format!("{RECORD}fastenings: [{entries}]\n"))
    }),
];

fn main() {
    println!("{:52} {:>8} {:>12} {:>10}", "", "number", "steps", "ms");
    for (name, first, case) in CASES {
        for number in [first, 2 * first, 4 * first] {
            let (rules, text) = case(number);
            let session = session(rules);
            let begun = Instant::now();
            let steps: u64 = session.judge("record.yaml", &text).iter().map(|judged| judged.steps).sum();
            println!("{name:52} {number:>8} {steps:>12} {:>10.1}", begun.elapsed().as_secs_f64() * 1e3);
        }
    }
    for number in [250, 500, 1_000] {
        let session = session(workshop_rules(number));
        let begun = Instant::now();
        assert_eq!(session.prove().rules.len(), number);
        let (name, steps) = ("rules held against each other", "");
        println!("{name:52} {number:>8} {steps:>12} {:>10.1}", begun.elapsed().as_secs_f64() * 1e3);
    }
    for number in [2_500, 5_000, 10_000] {
        let rules: Vec<&str> = SHIPPED.iter().flat_map(|one| one.text.lines()).cycle().take(number).collect();
        // Cut anywhere, the last record would be open.
        let text =
            rules.join("\n").rsplit_once("\nrule ").map_or_else(String::new, |(whole, _)| whole.to_owned());
        let begun = Instant::now();
        assert!(laid_out(SourceId::FIRST, &text).is_ok());
        let (name, steps) = ("lines of rule files laid out", "");
        println!("{name:52} {number:>8} {steps:>12} {:>10.1}", begun.elapsed().as_secs_f64() * 1e3);
    }
}

fn rule(demand: &str) -> String {
    format!("{HEAD}rule r \"R\"\n  demands {demand}\n  otherwise hold \"No.\"\n")
}

fn fastenings(entries: usize) -> String {
    let entries: String =
        (0..entries).map(|entry| format!("  - {{role: screw {entry}, torque: 12 Nm}}\n")).collect();
    format!("{RECORD}fastenings:\n{entries}")
}

/// Rules as a workshop writes them, three sorts in turns, over a few roles and many families of units.
fn workshop_rules(number: usize) -> String {
    const ROLES: [&str; 8] = [
        "sump screw",
        "drain plug",
        "fill plug",
        "filter cap",
        "axle nut",
        "wheel bolt",
        "caliper bolt",
        "bleed screw",
    ];
    let rules = (0..number).zip(ROLES.iter().cycle()).map(|(rule, role)| {
        let (family, low) = (rule % 40, 5 + rule * 7 % 26);
        let (concerns, demands) = match rule % 3 {
            0 => (
                format!("each s in fastenings where s.role is \"{role}\" and unit.family is \"F{family}\""),
                format!("s.torque within {low} Nm .. {} Nm", low + 80),
            ),
            1 => (
                format!("each s in fastenings where s.role is \"{role}\" and recorded s.angle"),
                format!("s.torque at least {low} Nm or s.angle at least {low} deg"),
            ),
            _ => (
                format!("where unit.family is \"F{family}\""),
                format!("level_check.temperature within {low} degC .. {} degC", low + 50),
            ),
        };
        format!("rule r{rule} \"R\"\n  concerns {concerns}\n  demands {demands}\n  otherwise hold \"No.\"\n")
    });
    format!("{HEAD}{}", rules.collect::<String>())
}

fn doubling(lets: usize) -> String {
    let name = |number: usize| format!("l{}", "x".repeat(number));
    let next =
        |number: usize| format!("let {} = {before} + {before}\n", name(number), before = name(number - 1));
    let lets_text: String = (1..lets).map(next).collect();
    format!(
        "{HEAD}let l = least of f.torque over f in fastenings\n{lets_text}rule r \"R\"\n  demands {} above 1 Nm\n  otherwise hold \"No.\"\n",
        name(lets - 1)
    )
}

fn session(rules: String) -> Session {
    let mut sources = Sources::new();
    let standard = sources.add("growth.standard", rules);
    let setting = Setting { as_of: date(2026, 12, 31), zone: TimeZone::UTC, decision: DecisionRule::Simple };
    let (standards, forms) = (vec![standard], Forms::builtin());
    let request = Request { sources, standards, earlier: Vec::new(), forms, givens: Vec::new(), setting };
    let session = Session::open(request, &NoLibrary);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session
}
