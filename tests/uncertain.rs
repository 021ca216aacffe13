//! The uncertainty of what is computed from readings, and where it cannot be told.
//!
//! The combined uncertainties are worked out by hand from JCGM 100:2008, 5.1.2 (from memory): squares add up
//! for sums, factors multiply.

use witnessmark::finding::Outcome::{self, Broken, Met, Undecided};

use crate::guarded::{judged, outcome};
use crate::support::Folder;

/// What a demand comes to, by guarded acceptance unless it says otherwise.
fn by_guard(demand: &str, record: &str) -> Outcome {
    outcome(&format!("{demand} by guarded acceptance"), record)
}

/// Why a demand is undecided.
fn reason(demand: &str, record: &str) -> String {
    let judged = judged(&format!("{demand} by guarded acceptance"), record);
    assert_eq!(judged.findings[0].outcome, Undecided, "{demand}");
    judged.findings[0].message.clone()
}

#[test]
fn the_uncertainty_of_a_reading_goes_through_an_adapter() {
    // 40 Nm ± 1.6 Nm with 400 mm and 50 mm in line is 45 Nm ± 1.8 Nm at the fastener.
    let at = |reading: &str| {
        format!("{{torque: {reading}, adapter: {{lever: 400 mm, offset: 50 mm, angle: 0°}}}}")
    };
    let demand = "torque_at_fastener(s.torque, s.adapter.lever, s.adapter.offset, s.adapter.angle) at most";
    assert_eq!(by_guard(&format!("{demand} 46.8 Nm"), &at("40 Nm ± 1.6 Nm")), Met);
    assert_eq!(by_guard(&format!("{demand} 46.79 Nm"), &at("40 Nm ± 1.6 Nm")), Undecided);
    assert_eq!(by_guard(&format!("{demand} 45 Nm"), &at("40 Nm")), Met);
    assert_eq!(by_guard(&format!("{demand} 44.99 Nm"), &at("40 Nm ± 1.6 Nm")), Broken);
}

#[test]
fn sums_products_and_extremes_carry_the_uncertainty_of_their_readings() {
    let two = "{torque: 30 Nm ± 3 Nm}, {torque: 50 Nm ± 4 Nm}";
    for (value, limit) in [
        // 80 Nm, √(3² + 4²) = 5
        ("sum of t.torque over t in fastenings", 85),
        // Truly another one may be the greatest: it is off by no more than the most uncertain of them.
        ("greatest of t.torque over t in fastenings", 54),
        ("least of t.torque over t in fastenings", 34),
        ("2 × greatest of t.torque over t in fastenings", 108),
        ("(greatest of t.torque over t in fastenings) × 2", 108),
        ("(greatest of t.torque over t in fastenings) ÷ 2", 27),
        ("greatest of t.torque over t in fastenings + 10 Nm", 64),
        ("10 Nm + greatest of t.torque over t in fastenings", 64),
        ("sum of 2 × t.torque over t in fastenings", 170),
        ("sum of t.torque over t in fastenings where t.torque above 40 Nm", 54),
    ] {
        let demand = |limit: f64| format!("({value}) at most {limit} Nm");
        assert_eq!(by_guard(&demand(f64::from(limit)), two), Met, "{value} at most {limit} Nm");
        assert_eq!(by_guard(&demand(f64::from(limit) - 0.01), two), Undecided, "{value}");
    }
    assert_eq!(by_guard("count of t in fastenings at most 2", two), Met);
    // 10 Nm ± 1 Nm times 10 Nm ± 1 Nm: √(10² + 10²) = 14.14.
    let product = |limit: &str| format!("s.torque × s.torque at most 1 Nm × {limit} Nm");
    assert_eq!(by_guard(&product("114.15"), "{torque: 10 Nm ± 1 Nm}"), Met);
    assert_eq!(by_guard(&product("114.14"), "{torque: 10 Nm ± 1 Nm}"), Undecided);
}

#[test]
fn limits_that_are_read_have_their_share_in_the_guard() {
    let record = |first: &str, second: &str| format!("{{torque: {first}}}, {{torque: {second}}}");
    let demand = "not recorded s.entry_before or s.torque at least s.entry_before.torque";
    // √(0.6² + 0.8²) = 1
    assert_eq!(by_guard(demand, &record("40 Nm ± 0.6 Nm", "41 Nm ± 0.8 Nm")), Met);
    assert_eq!(by_guard(demand, &record("40 Nm ± 0.6 Nm", "40.99 Nm ± 0.8 Nm")), Undecided);
    assert_eq!(by_guard(demand, &record("40 Nm ± 0.6 Nm", "40.6 Nm")), Met);
    assert_eq!(by_guard(demand, &record("40 Nm ± 0.6 Nm", "40.59 Nm")), Undecided);
    // The limit 1.1 × 40 Nm ± 1 Nm moves by 1.1 Nm.
    let demand = "not recorded s.entry_before or s.torque within s.entry_before.torque ± 10 %";
    assert_eq!(by_guard(demand, &record("40 Nm ± 1 Nm", "42.9 Nm")), Met);
    assert_eq!(by_guard(demand, &record("40 Nm ± 1 Nm", "42.91 Nm")), Undecided);
}

#[test]
fn where_the_uncertainty_of_a_computed_value_is_not_known_the_demand_is_undecided() {
    let demand = "100 Nm ÷ s.torque at most 3";
    let said = reason(demand, "{torque: 40 Nm ± 1 Nm}");
    assert!(said.contains("the uncertainty of a value that is computed so is not known"), "{said}");
    assert!(said.contains("by simple acceptance"), "{said}");
    assert_eq!(by_guard(demand, "{torque: 40 Nm}"), Met);
    // Outside the limit it is broken however uncertain it is.
    assert_eq!(by_guard(demand, "{torque: 20 Nm ± 1 Nm}"), Broken);
    assert_eq!(outcome(&format!("{demand} by guarded rejection"), "{torque: 20 Nm ± 1 Nm}"), Undecided);
    assert_eq!(outcome(&format!("{demand} by guarded rejection"), "{torque: 40 Nm ± 1 Nm}"), Met);
    assert_eq!(outcome(&format!("{demand} by simple acceptance"), "{torque: 40 Nm ± 1 Nm}"), Met);
    let share = "torque_share(s.torque, s.thread, s.property_class, 0.12) at most 500 %";
    let record = "{torque: 10 Nm ± 1 Nm, thread: M6, property_class: \"8.8\"}";
    assert!(reason(share, record).contains("is not known"));
}

#[test]
fn an_uncertainty_of_zero_is_the_plain_comparison() {
    for torque in ["48 Nm ± 0 Nm", "48 Nm +/- 0 Nm", "48 Nm ± 0.0 Nm (k = 2)", "48 Nm ± 0 %"] {
        for rule in ["guarded acceptance", "guarded acceptance 95 %", "guarded rejection"] {
            let of = |limit: &str| {
                outcome(&format!("s.torque at most {limit} by {rule}"), &format!("{{torque: {torque}}}"))
            };
            assert_eq!(of("48 Nm"), Met, "{torque} {rule}");
            assert_eq!(of("47.9 Nm"), Broken, "{torque} {rule}");
        }
    }
}

const RULES: &str = r#"
standard guarded edition 1 "Guarded"
judges job
rule torque "Torque"
  concerns  each s in fastenings where recorded s.torque
  demands   s.torque within 40 Nm .. 50 Nm
  otherwise hold "{s.torque}"
rule stage "Stage"
  concerns  each s in fastenings where recorded s.stages, each stage in s.stages
  demands   stage.torque within 40 Nm .. 50 Nm
  otherwise hold "{stage.torque}"
  trial met    { fastenings: [{stages: [{torque: 49 Nm}], tool: A, instrument: {torque: {uncertainty: 0.5 Nm}}}] }
  trial broken { fastenings: [{stages: [{torque: 51 Nm}]}] }
rule own "Stage, in its own words"
  concerns  each s in fastenings where recorded s.stages, each stage in s.stages
  demands   stage.torque at most 50 Nm by guarded acceptance
  otherwise hold "{stage.torque}"
  trial met       { fastenings: [{stages: [{torque: 49 Nm}], instrument: {torque: {uncertainty: 1 Nm}}}] }
  trial undecided { fastenings: [{stages: [{torque: 49 Nm}], instrument: {torque: {uncertainty: 1.1 Nm}}}] }
  trial broken    { fastenings: [{stages: [{torque: 51 Nm}]}] }
"#;

fn workshop(tools: &str, fastening: &str) -> Folder {
    let folder = Folder::new();
    folder.write("rules.standard", RULES);
    folder.write("tools.yaml", format!("form: tools/1\ntools:\n{tools}"));
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [rules.standard]\ndecision: guarded acceptance\ndocuments: {tools: [tools.yaml]}\n",
    );
    folder.write(
        "job.yaml",
        format!("form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\nfastenings: [{fastening}]\n"),
    );
    folder
}

#[test]
fn a_register_that_cannot_be_read_decides_nothing() {
    let job = "{torque: 49.9 Nm, tool: W-1}";
    let of = |torque: &str, more: &str| {
        let tools = format!("  - {{number: W-1, type: setting, class: A{more}, torque: {torque}}}\n");
        workshop(&tools, job).run("inspect job.yaml --format plain --width 300")
    };
    for (torque, path) in [
        ("{range: 20 Nm .. 120 Nm, uncertainty: 1.2}", "uncertainty"),
        ("{range: 20 Nm .. 120 Nm, uncertainty: 2.5 %}", "uncertainty"),
        ("{range: 20 Nm .. 120 Nm, uncertainty: 1.2 Nm, coverage: two}", "coverage"),
        ("{range: 120 Nm}", "range"),
    ] {
        let said = format!(
            "hold, undecided: Torque: `the tool register tools[0].torque.{path}` is recorded but cannot be read"
        );
        let ran = of(torque, "");
        assert_ne!(ran.code, 0, "{ran:#?}");
        ran.says(&[&said]);
    }
    let shared =
        "  - {number: W-1, torque: {uncertainty: 0.1 Nm}}\n  - {number: W-1, torque: {uncertainty: 2 Nm}}\n";
    let ran = workshop(shared, job).run("inspect job.yaml --format plain --width 300");
    ran.says(&["hold, undecided: Torque: the tool register has 2 tools with the number `W-1`"]);
    let outside = workshop(shared, "{torque: 50.1 Nm, tool: W-1}");
    outside.run("inspect job.yaml --format plain --width 300").says(&["hold: 50.1 Nm"]);
}

#[test]
fn a_stage_has_the_uncertainty_of_the_tool_of_its_fastening() {
    let tools = "  - {number: W-1, torque: {range: 20 Nm .. 120 Nm, uncertainty: 1.5 Nm}}\n";
    let inside = workshop(tools, "{stages: [{torque: 43 Nm}, {torque: 48.5 Nm}], tool: W-1}");
    inside.run("inspect job.yaml --format plain --width 300").quietly(0);
    inside.run("prove rules.standard").quietly(0);
    let near = workshop(tools, "{stages: [{torque: 43 Nm}, {torque: 48.6 Nm}], tool: W-1}");
    near.run("inspect job.yaml --format plain --width 300").quietly(1).says(&[
        "`fastenings[0].stages[1].torque` lies 1.4 Nm inside its upper limit, within the guard band of 1.5 Nm",
        "stated in the tool register",
    ]);
    let twice = format!("{tools}{tools}");
    let shared = workshop(&twice, "{stages: [{torque: 43 Nm}], tool: W-1}");
    shared
        .run("inspect job.yaml --format plain --width 300")
        .says(&["Stage: the tool register has 2 tools with the number `W-1`"]);
}

#[test]
fn the_decision_rule_in_force_is_said_with_who_chose_it() {
    let tools = "  - {number: W-1, torque: {range: 20 Nm .. 120 Nm, uncertainty: 1.5 Nm}}\n";
    let folder = workshop(tools, "{stages: [{torque: 49 Nm}], tool: W-1}");
    folder.run("inspect job.yaml --format plain --width 300").quietly(1).says(&[
        "hold, undecided: Stage: `fastenings[0].stages[0].torque` lies 1 Nm inside its upper limit, within the guard band of 1.5 Nm: inside the uncertainty of the tool, decided by guarded acceptance, from the settings",
        "hold, undecided: Stage, in its own words: `fastenings[0].stages[0].torque` lies 1 Nm inside its upper limit, within the guard band of 1.5 Nm: inside the uncertainty of the tool, decided by guarded acceptance, as the demand says",
        "readings: decided by guarded acceptance, from the settings",
    ]);
    folder.run("inspect job.yaml --format json").says(&["\"decision\":\"guarded acceptance\""]);
    folder.run("inspect job.yaml --format sarif").says(&["\"decision\":\"guarded acceptance\""]);
}

#[test]
fn a_guard_band_is_worked_out_in_the_unit_of_the_reading() {
    let folder = Folder::new();
    folder.write(
        "rules.standard",
        "standard hold edition 1 \"Hold\"\njudges job\nrule start \"Start\"\n  demands pressure_hold.start at most 1.5 bar by guarded acceptance\n  otherwise hold \"No.\"\n",
    );
    folder.write(
        "job.yaml",
        "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}\nvehicle: {}\nunit: {kind: cooling}\npressure_hold: {start: 1.4 bar ± 0.02 bar}\n",
    );
    folder
        .run("why hold.start job.yaml --standard rules.standard --width 300")
        .says(&["w = r·U, U = 2·u; 1 × 0.02 bar = 0.02 bar"]);
}
