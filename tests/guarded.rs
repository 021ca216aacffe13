//! Uncertain readings, judged by the decision rules of JCGM 106:2012.
//!
//! The expected figures are recomputed from the normal distribution (scipy 1.17) for workshop cases; the
//! guard band is the expanded uncertainty, two standard uncertainties.

use witnessmark::code::NOT_JUDGED;
use witnessmark::finding::{Judged, Outcome};

use crate::support::{Folder, session};

/// Judges one torque by a demand.
pub fn judged(demand: &str, record: &str) -> Judged {
    let rules = format!(
        "standard guarded edition 1 \"Guarded\"
judges job
rule torque \"Torque\"
  concerns  each s in fastenings
  demands   {demand}
  otherwise hold \"{{s.torque}}\"
"
    );
    let session = session(&[("rules.standard", &rules)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    let text = format!(
        "form: job/1
job: {{number: \"1\", opened: 2026-03-02T08:00:00Z, state: closed}}
vehicle: {{}}
unit: {{kind: engine}}
fastenings: [{record}]
"
    );
    let mut judged = session.judge("job.yaml", &text);
    let unexpected = judged[0].diagnostics.iter().find(|said| said.code != NOT_JUDGED);
    assert!(unexpected.is_none(), "{unexpected:?}");
    judged.remove(0)
}

pub fn outcome(demand: &str, record: &str) -> Outcome {
    judged(demand, record).findings.first().map_or(Outcome::Met, |finding| finding.outcome)
}

const RANGE: &str = "s.torque within 40.5 Nm .. 49.5 Nm";

#[test]
fn a_reading_is_accepted_undecided_or_rejected_by_the_rule() {
    use Outcome::{Broken, Met, Undecided};
    // Reading, then simple acceptance, guarded acceptance with w = 2u and 1.645u, guarded rejection.
    let rows = [
        ("45 Nm", [Met, Met, Met, Met]),
        ("47.7 Nm", [Met, Met, Met, Met]),
        ("47.71 Nm", [Met, Undecided, Met, Met]),
        ("48.6 Nm", [Met, Undecided, Undecided, Met]),
        ("49.5 Nm", [Met, Undecided, Undecided, Met]),
        ("50.4 Nm", [Broken, Broken, Broken, Undecided]),
        ("51.3 Nm", [Broken, Broken, Broken, Undecided]),
        ("51.31 Nm", [Broken, Broken, Broken, Broken]),
    ];
    let rules = ["", " by guarded acceptance", " by guarded acceptance 95 %", " by guarded rejection"];
    for (reading, expected) in rows {
        for (rule, expected) in rules.iter().zip(expected) {
            let record = format!("{{torque: {reading} ± 1.8 Nm}}");
            assert_eq!(outcome(&format!("{RANGE}{rule}"), &record), expected, "{reading}{rule}");
        }
    }
}

#[test]
fn without_uncertainty_every_rule_is_the_plain_comparison() {
    for (reading, expected) in [("49.5 Nm", Outcome::Met), ("49.51 Nm", Outcome::Broken)] {
        for rule in ["", " by simple acceptance", " by guarded acceptance", " by guarded rejection 99 %"] {
            assert_eq!(outcome(&format!("{RANGE}{rule}"), &format!("{{torque: {reading}}}")), expected);
        }
    }
}

#[test]
fn the_probability_of_conformance_is_in_the_finding() {
    for (reading, probability) in [("48.6 Nm", 0.841345), ("49.5 Nm", 0.5)] {
        let judged =
            judged(&format!("{RANGE} by guarded acceptance"), &format!("{{torque: {reading} ± 1.8 Nm}}"));
        let finding = &judged.findings[0];
        let conformity = finding.conformity.as_ref().expect("it has one");
        assert!((conformity.probability - probability).abs() < 1e-6, "{conformity:?}");
        assert!(finding.margin.is_some());
        assert!(finding.message.contains("inside the uncertainty of the tool"), "{}", finding.message);
    }
    let judged = judged(RANGE, "{torque: 50.4 Nm ± 1.8 Nm}");
    let conformity = judged.findings[0].conformity.clone().expect("it has one");
    assert!((conformity.probability - 0.158655).abs() < 1e-6, "{conformity:?}");
    assert_eq!(
        conformity.words(),
        "15.87 % probable, with an uncertainty of 1.8 Nm (k = 2), stated with the reading"
    );
}

/// Below a `not` it is the probability that the demand is met, not that the comparison in it holds. The normal
/// distribution: 45 Nm is a hundred standard uncertainties inside, 50.4 Nm one outside, 49 Nm one inside.
#[test]
fn below_a_negation_the_probability_is_that_of_the_demand() {
    let inside = "within 40.5 Nm .. 49.5 Nm";
    for demand in [
        format!("not s.torque {inside}"),
        format!("s.torque {inside} implies s.torque above 100 Nm"),
        format!("no t in fastenings: t.torque {inside}"),
        format!("not (s.torque {inside} and s.torque above 1 Nm)"),
    ] {
        let of = |torque: &str| judged(&demand, &format!("{{torque: {torque}}}")).findings.remove(0);
        let finding = of("45 Nm ± 0.1 Nm");
        assert_eq!(finding.outcome, Outcome::Broken, "{demand}");
        let words = finding.conformity.expect("it has one").words();
        assert!(words.starts_with("less than 0.01 % probable"), "{demand}: {words}");
        let conformity = of("49 Nm ± 1 Nm").conformity.expect("it has one");
        assert!((conformity.probability - 0.158655).abs() < 1e-6, "{demand}: {conformity:?}");
    }
    let demand = format!("not s.torque {inside} by guarded acceptance");
    let finding = judged(&demand, "{torque: 50.4 Nm ± 1.8 Nm}").findings.remove(0);
    assert_eq!(finding.outcome, Outcome::Undecided);
    let conformity = finding.conformity.expect("it has one");
    assert!((conformity.probability - 0.841345).abs() < 1e-6, "{conformity:?}");
    // Two negations are none.
    let finding =
        judged(&format!("not (not s.torque {inside})"), "{torque: 50.4 Nm ± 1.8 Nm}").findings.remove(0);
    let conformity = finding.conformity.expect("it has one");
    assert!((conformity.probability - 0.158655).abs() < 1e-6, "{conformity:?}");
}

#[test]
fn the_coverage_factor_is_read() {
    // 0.9 Nm with k = 1 is u = 0.9 Nm; the guard band is two of it.
    let judged = judged(&format!("{RANGE} by guarded acceptance"), "{torque: 49 Nm ± 0.9 Nm (k = 1)}");
    let conformity = judged.findings[0].conformity.clone().expect("it has one");
    assert!((conformity.probability - 0.710743).abs() < 1e-6, "{conformity:?}");
    assert_eq!(
        outcome(&format!("{RANGE} by guarded acceptance"), "{torque: 47.71 Nm ± 0.9 Nm (k = 1)}"),
        Outcome::Undecided
    );
    assert_eq!(
        outcome(&format!("{RANGE} by guarded acceptance"), "{torque: 47.7 Nm ± 0.9 Nm (k = 1)}"),
        Outcome::Met
    );
}

#[test]
fn one_limit_and_negation_guard_the_right_side() {
    use Outcome::{Broken, Met, Undecided};
    let rows = [
        ("s.torque at least 40 Nm by guarded acceptance", [Broken, Undecided, Met]),
        ("not (s.torque below 40 Nm) by guarded acceptance", [Broken, Undecided, Met]),
        ("s.torque below 40 Nm implies s.torque above 60 Nm by guarded acceptance", [Broken, Undecided, Met]),
        (
            "every t in fastenings where t.torque above 1 Nm: t.torque at least 40 Nm by guarded acceptance",
            [Broken, Undecided, Met],
        ),
        ("no t in fastenings: t.torque below 40 Nm by guarded acceptance", [Broken, Undecided, Met]),
    ];
    for (demand, expected) in &rows {
        for (reading, expected) in ["39.9 Nm", "40.5 Nm", "41 Nm"].iter().zip(expected) {
            let record = format!("{{torque: {reading} ± 1 Nm}}");
            assert_eq!(outcome(demand, &record), *expected, "{demand} on {reading}");
        }
    }
}

/// A reading of 49 Nm ± 1 Nm or 50 Nm ± 1 Nm lies inside the guard band at 49.5 Nm, on one side or the other. A
/// demand could be written so that the reading only chooses what is judged: it is accepted no sooner for that.
#[test]
fn what_chooses_what_is_judged_is_guarded_too() {
    use Outcome::{Broken, Met, Undecided};
    let rows = [
        (
            "some t in fastenings where t.torque below 49.5 Nm: recorded t.torque",
            [Met, Undecided, Broken, Broken],
        ),
        (
            "some t in fastenings: t.torque below 49.5 Nm and recorded t.torque",
            [Met, Undecided, Broken, Broken],
        ),
        (
            "no t in fastenings where t.torque above 49.5 Nm: recorded t.torque",
            [Met, Undecided, Broken, Broken],
        ),
        (
            "every t in fastenings where t.torque above 49.5 Nm: t.torque below 1 Nm",
            [Met, Undecided, Broken, Broken],
        ),
        ("every t in fastenings where t.torque above 49.5 Nm: t.torque below 99 Nm", [Met, Met, Met, Met]),
        (
            "(count of t in fastenings where t.torque below 49.5 Nm) at least 1",
            [Met, Undecided, Undecided, Broken],
        ),
        (
            "(count of t in fastenings where t.torque above 49.5 Nm) at most 0",
            [Met, Undecided, Undecided, Broken],
        ),
        ("(count of t in fastenings where t.torque above 49.5 Nm) at most 1", [Met, Met, Met, Met]),
        ("lies_within(s.torque .. 60 Nm, 40 Nm .. 60 Nm)", [Undecided, Undecided, Undecided, Undecided]),
    ];
    for (demand, expected) in rows {
        for (torque, expected) in ["48 Nm", "49 Nm", "50 Nm", "51 Nm"].into_iter().zip(expected) {
            let uncertain = format!("{{torque: {torque} ± 1 Nm}}");
            assert_eq!(
                outcome(&format!("{demand} by guarded acceptance"), &uncertain),
                expected,
                "{demand}: {torque}"
            );
            let certain = outcome(demand, &format!("{{torque: {torque}}}"));
            assert_eq!(
                outcome(&format!("{demand} by guarded acceptance"), &format!("{{torque: {torque}}}")),
                certain
            );
            assert_eq!(outcome(&format!("{demand} by simple acceptance"), &uncertain), certain);
        }
    }
}

/// The settings guard what a rule concerns, and how many subjects it has. A run in which no rule concerns anything
/// ends with 2.
#[test]
fn what_a_rule_concerns_is_guarded() {
    let run = |concerns: &str, demands: &str, breakaway: &str| {
        let rules =
            format!("rule b \"B\"\n  concerns {concerns}\n  demands {demands}\n  otherwise hold \"No.\"\n");
        let record = format!("fastenings: [{{place: A, breakaway: {breakaway}, tool: W-1}}]\n");
        let ran = own_workshop(&rules, &record).run("inspect job.yaml --format plain --width 300");
        (ran.code, ran.out.contains("hold, undecided: B"))
    };
    let counted = "each s in fastenings where s.breakaway below 60 Nm, at least 1";
    assert_eq!(run(counted, "recorded s.place", "59.5 Nm"), (0, false));
    assert_eq!(run(counted, "recorded s.place", "59.7 Nm"), (1, true));
    assert_eq!(run(counted, "recorded s.place", "60.3 Nm"), (1, true));
    assert_eq!(run(counted, "recorded s.place", "60.4 Nm"), (1, false));
    let some = "each s in fastenings where s.breakaway above 60 Nm";
    assert_eq!(run(some, "recorded s.marked", "59.6 Nm"), (2, false));
    assert_eq!(run(some, "recorded s.marked", "59.7 Nm"), (1, true));
    assert_eq!(run(some, "recorded s.marked", "60.5 Nm"), (1, false));
}

const RULES: &str = r#"
standard guarded edition 1 "Guarded"
judges job
rule torque "Torque"
  concerns  each s in fastenings
  demands   s.torque within 40.5 Nm .. 49.5 Nm
  otherwise hold "{s.torque}"
  basis     "common practice"
  trial met    { fastenings: [{torque: 49 Nm, tool: A, instrument: {torque: {uncertainty: 0.5 Nm}}}] }
  trial broken { fastenings: [{torque: 49.6 Nm, tool: A, instrument: {torque: {uncertainty: 0.5 Nm}}}] }
rule own "A rule of its own"
  concerns  each s in fastenings
  demands   s.torque within 40.5 Nm .. 49.5 Nm by simple acceptance
  otherwise hold "{s.torque}"
  basis     "common practice"
  trial met    { fastenings: [{torque: 49.5 Nm, tool: A, instrument: {torque: {uncertainty: 0.5 Nm}}}] }
  trial broken { fastenings: [{torque: 49.6 Nm}] }
"#;

#[test]
fn the_settings_choose_the_rule_and_the_register_states_the_uncertainty() {
    let folder = Folder::new();
    folder.write("rules.standard", RULES);
    folder.write(
        "tools.yaml",
        "form: tools/1
tools:
  - {number: W-1, torque: {range: 20 Nm .. 120 Nm, uncertainty: 1.8 Nm}}
  - {number: W-2, type: setting, class: A, torque: {range: 20 Nm .. 120 Nm}}
  - {number: W-3, torque: {range: 20 Nm .. 120 Nm}}
",
    );
    let job = |tool: &str, torque: &str| {
        format!(
            "form: job/1
job: {{number: \"1\", opened: 2026-03-02T08:00:00Z, state: closed}}
vehicle: {{}}
unit: {{kind: engine}}
fastenings: [{{torque: {torque}, tool: {tool}}}]
"
        )
    };
    let settings = |decision: &str| {
        let text = format!(
            "form: workshop/1\nworkshop: {{name: T}}\nstandards: [rules.standard]\ndecision: {decision}\ndocuments: {{tools: [tools.yaml]}}\n"
        );
        folder.write("workshop.yaml", text);
    };
    let inspect = || folder.run("inspect job.yaml --format plain --width 300");
    settings("guarded acceptance");
    folder.write("job.yaml", job("W-1", "48.6 Nm"));
    inspect().quietly(1).says(&[
        "1 hold",
        "hold, undecided: Torque: `fastenings[0].torque` lies 0.9 Nm inside its upper limit, within the guard band of 1.8 Nm: inside the uncertainty of the tool",
        "conformity: 84.13 % probable, with an uncertainty of 1.8 Nm (k = 2), stated in the tool register",
        "found: 48.6 Nm",
        "required: 40.5 Nm .. 49.5 Nm",
    ]);
    // ISO 6789-1: 4 % of 47.5 Nm, rectangular: u = 1.097 Nm, U = 2.194 Nm.
    folder.write("job.yaml", job("W-2", "47.5 Nm"));
    inspect().quietly(1).says(&[
        "within the guard band of 2.2 Nm",
        "with an uncertainty of 2.2 Nm (k = 2), from the permissible deviation",
        "(ISO 6789-1)",
    ]);
    folder.run("inspect job.yaml --format json").says(&["\"expanded_uncertainty\":\"2.19393"]);
    folder.write("job.yaml", job("W-2", "47.2 Nm"));
    inspect().quietly(0);
    // Nobody knows how uncertain the third tool is, so it is said that what it measured is taken as it is.
    folder.write("job.yaml", job("W-3", "49.5 Nm"));
    inspect().quietly(0).says(&[
        "tools.yaml line 5 column 14: advice: `W-3` states no uncertainty of what it measures, so its readings are compared as they are, and not by guarded acceptance",
        "run/uncertainty-unstated",
    ]);
    settings("simple acceptance");
    folder.write("job.yaml", job("W-1", "49.5 Nm"));
    assert!(!inspect().quietly(0).out.contains("states no uncertainty"));
    let ran = folder.run("inspect job.yaml --format json").quietly(0);
    let _: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    folder.run("prove rules.standard").quietly(0);
}

#[test]
fn a_decision_that_is_misspelt_gets_a_near_name_and_a_bad_width_a_reason() {
    let folder = Folder::new();
    for (decision, says) in [
        ("by garded acceptance", "did you mean `guarded acceptance`?"),
        ("by guarded acceptance 40 %", "`40 %` is no width of a guard band here"),
        ("by guarded acceptance 100 %", "`100 %` is no width of a guard band here"),
        ("by guarded acceptance 2 Nm", "`2 Nm` is no width of a guard band here"),
        ("by simple acceptance 2", "`2` is no width of a guard band here"),
        ("by guarded", "it is written like"),
    ] {
        folder.write("rules.standard", RULES.replace("by simple acceptance", decision));
        let ran = folder.run("prove rules.standard --format plain --width 300");
        assert_eq!(ran.code, 2, "{decision}: {ran:#?}");
        ran.says(&[says]);
    }
}

#[test]
fn an_uncertainty_that_is_none_is_a_mistake_at_its_line() {
    let folder = Folder::new();
    folder.write("rules.standard", RULES);
    for (torque, says) in [
        ("45 Nm ± 1 °C", "line 5: error"),
        ("45 Nm ± ", "line 5: error"),
        ("45 Nm ± -1 Nm", "line 5: error"),
        ("45 Nm ± 1 Nm (k = 0)", "`(k = 0)` is no coverage factor"),
        ("45 Nm ± 1 Nm (k 2)", "`(k 2)` is no coverage factor"),
        ("40 Nm .. 50 Nm", "line 5: error"),
        ("45 Nm +5/-0 Nm", "line 5: error"),
    ] {
        let text = format!(
            "form: job/1\njob: {{number: \"1\", opened: 2026-03-02T08:00:00Z, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\nfastenings: [{{torque: {torque}}}]\n"
        );
        folder.write("job.yaml", text);
        let ran = folder.run("inspect job.yaml --standard rules.standard --format plain --width 300");
        assert_ne!(ran.code, 0, "{torque}: {ran:#?}");
        ran.says(&[says]);
    }
}

/// The difference of two readings has the uncertainty of both together: u = √(0.6² + 0.8²) Nm = 1 Nm, so U = 2 Nm.
/// Probability recomputed from the normal distribution: Φ(0.5).
#[test]
fn a_difference_of_two_readings_has_the_uncertainty_of_both() {
    let demand = "s.torque − s.entry_before.torque at most 10 Nm or not recorded s.entry_before";
    let rules = |first: &str, second: &str| {
        judged(
            &format!("{demand} by guarded acceptance"),
            &format!("{{torque: {first}}}, {{torque: {second}}}"),
        )
    };
    let outcomes = |first: &str, second: &str| {
        rules(first, second).findings.first().map_or(Outcome::Met, |finding| finding.outcome)
    };
    assert_eq!(outcomes("40 Nm ± 1.2 Nm", "48 Nm ± 1.6 Nm"), Outcome::Met);
    assert_eq!(outcomes("40 Nm ± 1.2 Nm", "48.01 Nm ± 1.6 Nm"), Outcome::Undecided);
    assert_eq!(outcomes("40 Nm ± 0.6 Nm (k = 1)", "48.01 Nm ± 2.4 Nm (k = 3)"), Outcome::Undecided);
    assert_eq!(outcomes("40 Nm", "48.01 Nm ± 1.6 Nm"), Outcome::Met);
    assert_eq!(outcomes("40 Nm", "48.41 Nm ± 1.6 Nm"), Outcome::Undecided);
    assert_eq!(outcomes("40 Nm ± 1.2 Nm", "50.01 Nm ± 1.6 Nm"), Outcome::Broken);
    let open = rules("40 Nm ± 1.2 Nm", "49.5 Nm ± 1.6 Nm");
    let conformity = open.findings[0].conformity.clone().expect("it has one");
    assert!((conformity.probability - 0.691462).abs() < 1e-6, "{conformity:?}");
    assert_eq!(
        conformity.words(),
        "69.15 % probable, with an uncertainty of 2 Nm (k = 2), of both readings together"
    );
    assert!(
        open.findings[0]
            .message
            .contains("`s.torque − s.entry_before.torque` lies 0.5 Nm inside its upper limit"),
        "{}",
        open.findings[0].message
    );
}

/// A register states the uncertainty of a thermometer as a difference, in K; of a reading in °C it is told in °C.
#[test]
fn the_uncertainty_of_a_temperature_is_told_in_the_unit_of_the_reading() {
    let folder = Folder::new();
    folder.write(
        "rules.standard",
        "standard warm edition 1 \"Warm\"\njudges job\nrule level \"Level\"\n  demands level_check.temperature within 30 °C .. 50 °C\n  otherwise hold \"No.\"\n",
    );
    folder.write(
        "tools.yaml",
        "form: tools/1\ntools:\n  - {number: T-1, temperature: {range: -20 °C .. 150 °C, uncertainty: 0.9 K}}\n",
    );
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [rules.standard]\ndecision: guarded acceptance\ndocuments: {tools: [tools.yaml]}\n",
    );
    let told = |reading: &str, tool: &str| {
        folder.write(
            "job.yaml",
            format!("form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\nlevel_check: {{temperature: {reading}, tool: {tool}}}\n"),
        );
        folder.run("inspect job.yaml --format plain --width 300").quietly(1)
    };
    told("49.5 °C", "T-1").says(&[
        "lies 0.5 °C inside its upper limit, within the guard band of 0.9 °C",
        "with an uncertainty of 0.9 °C (k = 2), stated in the tool register",
    ]);
    told("121 °F", "T-1").says(&["with an uncertainty of 1.62 °F (k = 2), stated in the tool register"]);
    // A tool that the register does not know may be of any uncertainty, however far inside the reading lies.
    told("40 °C", "T-2").says(&["undecided", "the tool register has no `T-2`; did you mean `T-1`?"]);
}

/// A workshop whose schema, rules and record are its own, with one tool of each sort in the register.
fn own_workshop(rules: &str, record: &str) -> Folder {
    let folder = Folder::new();
    folder.write(
        "own.json",
        r##"{"allOf": [{"$ref": "witnessmark:job/1"}],
"properties": {"bearings": {"type": "array", "items": {"$ref": "#/$defs/bearing"}, "description": "Bearings."}},
"$defs": {
  "fastening": {"properties": {"breakaway": {"type": "string", "quantity": "torque", "description": "Torque at which it broke away."},
    "wanted": {"type": "string", "quantity": "torque", "measured": false, "description": "Torque that was wanted."}}},
  "bearing": {"title": "bearing", "type": "object",
    "links": {"gauge": {"to": "tools.tools", "by": {"tool": "number"}, "description": "The tool."}},
    "properties": {"drag": {"type": "string", "quantity": "torque", "description": "Drag."}, "tool": {"type": "string", "description": "Number of the tool."}}}}}"##,
    );
    folder.write("rules.standard", format!("standard own edition 1 \"Own\"\njudges job\n{rules}"));
    folder.write(
        "tools.yaml",
        "form: tools/1\ntools:\n  - {number: W-1, torque: {range: 1 Nm .. 120 Nm, uncertainty: 0.4 Nm}}\n  - {number: T-1, temperature: {range: -20 °C .. 150 °C, uncertainty: 1 K}}\n  - {number: P-1, pressure: {range: 0 bar .. 16 bar, uncertainty: 0.2 bar}}\n",
    );
    settle(&folder, "guarded acceptance");
    folder.write(
        "job.yaml",
        format!("form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\n{record}"),
    );
    folder
}

fn settle(folder: &Folder, decision: &str) {
    folder.write(
        "workshop.yaml",
        format!("form: workshop/1\nworkshop: {{name: T}}\nschemas: {{job: own.json}}\nstandards: [rules.standard]\ndecision: {decision}\ndocuments: {{tools: [tools.yaml]}}\n"),
    );
}

#[test]
fn fields_and_lists_of_a_workshop_are_guarded_by_the_tool_that_they_name() {
    let rules = "rule drag \"Drag\"\n  concerns each b in bearings\n  demands b.drag at most 2 Nm\n  otherwise hold \"{b.drag}\"\n\
                 rule breakaway \"Breakaway\"\n  concerns each s in fastenings\n  demands s.breakaway at most 60 Nm\n  otherwise hold \"{s.breakaway}\"\n\
                 rule wanted \"Wanted\"\n  concerns each s in fastenings\n  demands s.wanted at most 60 Nm\n  otherwise hold \"{s.wanted}\"\n";
    let record = |drag: &str, breakaway: &str| {
        format!(
            "bearings: [{{drag: {drag}, tool: W-1}}]\nfastenings: [{{breakaway: {breakaway}, wanted: 60 Nm, tool: W-1}}]\n"
        )
    };
    let inspect = |folder: &Folder| folder.run("inspect job.yaml --format plain --width 300");
    inspect(&own_workshop(rules, &record("1.6 Nm", "59.6 Nm"))).quietly(0);
    let near = own_workshop(rules, &record("1.7 Nm", "59.7 Nm"));
    inspect(&near).quietly(1).says(&[
        "2 holds",
        "hold, undecided: Drag: `bearings[0].drag` lies 0.3 Nm inside its upper limit, within the guard band of 0.4 Nm",
        "hold, undecided: Breakaway: `fastenings[0].breakaway` lies 0.3 Nm inside its upper limit",
    ]);
    settle(&near, "simple acceptance");
    inspect(&near).quietly(0);
    inspect(&own_workshop(rules, &record("2.1 Nm", "59 Nm"))).quietly(1).says(&["hold: 2.1 Nm"]);
}

/// Degrees that rise by 5 K a minute from 30 °C to 40 °C; the thermometer is known to 1 K.
#[test]
fn a_log_is_guarded_by_the_tool_that_it_names() {
    let run = |demand: &str, tool: &str, decision: &str| {
        let rules = format!(
            "rule log \"Log\"\n  concerns each l in logs, each s in steps\n  demands {demand}\n  otherwise hold \"No.\"\n"
        );
        let record = format!(
            "steps: [{{step: run, started: 2026-03-02T10:00:00Z, ended: 2026-03-02T10:02:00Z}}]\nlogs: [{{of: run, tool: {tool}, started: 2026-03-02T10:00:00Z, temperature: {{0 s: 30 °C, 120 s: 40 °C}}}}]\n"
        );
        let folder = own_workshop(&rules, &record);
        settle(&folder, decision);
        let ran = folder.run("inspect job.yaml --format plain --width 300");
        let outcome = match ran.out.contains("hold, undecided: Log:") {
            true => Outcome::Undecided,
            false if ran.code == 0 => Outcome::Met,
            false => Outcome::Broken,
        };
        (outcome, ran.out)
    };
    use Outcome::{Broken, Met, Undecided};
    let (accept, reject) = ("guarded acceptance", "guarded rejection");
    for (demand, decision, expected) in [
        ("throughout s: l.temperature within 29 °C .. 41 °C", accept, Met),
        ("throughout s: l.temperature within 29.1 °C .. 41 °C", accept, Undecided),
        ("throughout s: l.temperature within 29 °C .. 40.9 °C", accept, Undecided),
        ("throughout s: l.temperature at most 39.9 °C", accept, Broken),
        ("throughout s: l.temperature below 41 °C", accept, Undecided),
        ("not (at some moment in s: l.temperature above 40.9 °C)", accept, Undecided),
        ("not (at some moment in s: l.temperature above 41 °C)", accept, Met),
        ("throughout s: not (l.temperature above 40.9 °C)", accept, Undecided),
        ("throughout s: not (l.temperature above 41 °C)", accept, Met),
        ("throughout s: l.temperature above 45 °C implies l.temperature above 50 °C", accept, Met),
        ("at some moment in s: l.temperature at least 39 °C", accept, Met),
        ("at some moment in s: l.temperature at least 39.1 °C", accept, Undecided),
        ("held for at least 60 s in s: l.temperature at least 34 °C", accept, Met),
        ("held for at least 60 s in s: l.temperature at least 34.1 °C", accept, Undecided),
        ("throughout s: l.temperature at most 40 °C until l.temperature at least 35 °C", accept, Met),
        ("throughout s: l.temperature at most 36.9 °C until l.temperature at least 35 °C", accept, Undecided),
        ("throughout s: rate of l.temperature at most 6 K/min", accept, Undecided),
        ("throughout s: rate of l.temperature at most 4 K/min", accept, Broken),
        ("throughout s: l.temperature at most 40 °C by simple acceptance", accept, Met),
        ("throughout s: l.temperature at most 39 °C", reject, Undecided),
        ("throughout s: l.temperature at most 38.9 °C", reject, Broken),
        ("throughout s: l.temperature at most 40 °C", reject, Met),
        ("throughout s: l.temperature at most 40 °C by guarded acceptance 0.5", accept, Undecided),
        ("throughout s: l.temperature at most 40.5 °C by guarded acceptance 0.5", accept, Met),
    ] {
        let (found, out) = run(demand, "T-1", decision);
        assert_eq!(found, expected, "{demand} by {decision}: {out}");
        // Of a tool that measures something else nobody knows an uncertainty.
        let plain = run(demand, "W-1", decision).0;
        assert_ne!(plain, Undecided, "{demand}");
    }
    let (_, out) = run("throughout s: l.temperature within 29 °C .. 40.5 °C", "T-1", accept);
    assert!(
        out.contains("`logs[0].temperature` lies 0.5 °C inside its upper limit, within the guard band of 1 °C: inside the uncertainty of the tool, decided by guarded acceptance, from the settings"),
        "{out}"
    );
    assert!(!out.contains("time margin"), "{out}");
    let (_, out) = run("throughout s: rate of l.temperature at most 6 K/min", "T-1", accept);
    assert!(out.contains("the uncertainty of a value that is computed so is not known"), "{out}");
}
