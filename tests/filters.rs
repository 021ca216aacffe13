//! Filters of long lists look only at the entries of the wanted name. The same filter, written so that no name can be
//! taken from it, looks at all; both come to the same.

use witnessmark::finding::{Judged, Outcome, Tally};

use crate::support::session;

/// Demands with a filter in the place of `FILTER`.
const DEMANDS: [&str; 9] = [
    "(count of t in fastenings where FILTER) at most 2",
    "(count of t in fastenings where t.marked and FILTER and recorded t.place) at least 1",
    "(sum of t.torque over t in fastenings where FILTER) below 60 Nm",
    "(least of t.torque over t in fastenings where FILTER and recorded t.torque) at least 12 Nm",
    "some t in fastenings where FILTER: t.torque above 20 Nm",
    "no t in fastenings where FILTER: t.marked",
    "every t in fastenings where FILTER: t.torque at most 20 Nm",
    "every t in fastenings where FILTER and t.marked: t.place is s.place",
    "no t in fastenings where FILTER and (some u in fastenings where u.place is t.place: u.marked): t.torque above 25 Nm",
];

fn judged(filter: &str, record: &str) -> Vec<Judged> {
    let mut rules = "standard filters edition 1 \"Filters\"\njudges job\n\
                     let names = one of (\"role 3\", \"role 1\", \"role 9\")\n"
        .to_owned();
    for (number, demand) in DEMANDS.iter().enumerate() {
        let name = char::from(b'a' + u8::try_from(number).unwrap());
        let demand = demand.replace("FILTER", filter);
        rules += &format!(
            "rule {name} \"R\"\n  concerns each s in fastenings\n  demands {demand}\n  otherwise hold \"No.\"\n"
        );
    }
    let session = session(&[("filters.standard", &rules)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session.judge("record.yaml", record)
}

fn record(random: &mut fastrand::Rng) -> String {
    let mut text = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}\n\
                    vehicle: {}\nunit: {kind: engine}\nfastenings:\n"
        .to_owned();
    for _ in 0..random.usize(14..40) {
        let mut fields = vec!["new: yes".to_owned()];
        match random.usize(0..12) {
            0 => {}
            1 => fields.push("role: [a, list]".to_owned()),
            number => fields.push(format!("role: role {}", number % 5)),
        }
        match random.usize(0..8) {
            0 => {}
            1 => fields.push("torque: much".to_owned()),
            number => fields.push(format!("torque: {} Nm", 5 * number)),
        }
        match random.usize(0..6) {
            0 => {}
            number => fields.push(format!("marked: {}", if number < 3 { "no" } else { "yes" })),
        }
        if random.usize(0..4) > 0 {
            fields.push(format!("place: A{}", random.usize(1..6)));
        }
        text += &format!("  - {{{}}}\n", fields.join(", "));
    }
    text
}

#[test]
fn a_filter_that_asks_for_a_name_comes_to_what_it_comes_to_without() {
    let mut random = fastrand::Rng::with_seed(20_260_302);
    let mut seen = [0_u32; 3];
    for round in 0..60 {
        let record = record(&mut random);
        for (quick, slow) in [
            ("t.role is s.role", "not (t.role is not s.role)"),
            ("t.role is \"role 3\"", "t.role is one of (\"role 3\", \"role 3\")"),
            ("s.place is t.place", "not (s.place is not t.place)"),
            ("t.role is names", "not (t.role is not names)"),
        ] {
            let (quick, slow) = (judged(quick, &record), judged(slow, &record));
            let tallies = |judged: &[Judged]| {
                // What they cost may differ.
                let of = |one: &Judged| {
                    one.tallies
                        .iter()
                        .map(|(_, tally)| Tally { steps: 0, ..tally.clone() })
                        .collect::<Vec<_>>()
                };
                judged.iter().flat_map(of).collect::<Vec<_>>()
            };
            assert_eq!(tallies(&quick), tallies(&slow), "round {round}\n{record}");
            let found = |judged: &[Judged]| {
                let of = |one: &Judged| {
                    let parts = one.findings.iter();
                    parts
                        .map(|found| (found.rule.clone(), found.outcome, found.subject.clone()))
                        .collect::<Vec<_>>()
                };
                judged.iter().flat_map(of).collect::<Vec<_>>()
            };
            assert_eq!(found(&quick), found(&slow), "round {round}\n{record}");
            for (_, outcome, _) in found(&quick) {
                seen[if outcome == Outcome::Broken { 1 } else { 2 }] += 1;
            }
            seen[0] += quick
                .iter()
                .flat_map(|one| &one.tallies)
                .map(|(_, tally)| u32::try_from(tally.met).unwrap())
                .sum::<u32>();
        }
    }
    assert!(seen.iter().all(|outcomes| *outcomes > 500), "all outcomes are among them: {seen:?}");
}
