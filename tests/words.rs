//! The words of a finding: what was found, what is required, and by how much it is off.

use fastrand::Rng;
use witnessmark::finding::Finding;
use witnessmark::quantity::Number;

use crate::support::{number, session};

/// The first finding of a rule, given from its head on, on a record.
fn finding(rule: &str, record: &str) -> Finding {
    let rules = format!(
        "standard words edition 1 \"Words\"
judges job
parameter limit is torque range \"Torque of the screw\"
rule subject \"Subject\"
{rule}
"
    );
    let session = session(&[("rules.standard", &rules)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    let text = format!(
        "form: job/1
job: {{number: \"1\", opened: 2026-03-02T08:00:00Z, state: closed}}
unit: {{kind: engine}}
{record}
"
    );
    let mut judged = session.judge("job.yaml", &text);
    // That a rule asks for another kind of unit is said beside its findings.
    let others = |said: &&witnessmark::diagnostic::Diagnostic| said.code.as_str() != "run/kind-not-judged";
    assert_eq!(judged[0].diagnostics.iter().find(others), None, "{rule}");
    assert_eq!(judged[0].findings.len(), 1, "{rule} {record}");
    judged[0].findings.remove(0)
}

/// That of a demand on one fastening.
fn on_fastening(demand: &str, fastening: &str) -> Finding {
    let rule = format!("  concerns each s in fastenings\n  demands {demand}\n  otherwise hold \"no\"");
    finding(&rule, &format!("vehicle: {{}}\nfastenings: [{fastening}]"))
}

#[test]
fn what_is_required_is_the_demand_in_plain_words() {
    let rows = [
        // A builtin says what it asks for, and what it counts.
        ("characters_in(s.role) at least 2", "{role: X}", "\"X\", 1 character", "at least 2 characters"),
        (
            "fault_code_well_formed(s.role)",
            "{role: X}",
            "X",
            "P, C, B or U, a digit from 0 to 3 and three hexadecimal digits",
        ),
        ("follows_pattern(s.role, \"@-#\")", "{role: X}", "X", "of the form @-#"),
        ("is_overload(s.torque, 10 Nm)", "{torque: 5 Nm}", "5 Nm", "above 125 % of 10 Nm"),
        ("not is_overload(s.torque, 10 Nm)", "{torque: 50 Nm}", "50 Nm", "at most 125 % of 10 Nm"),
        (
            "torque_at_fastener(s.torque, 400 mm, 50 mm, 0°) at most 45 Nm",
            "{torque: 45 Nm}",
            "50.625 Nm (torque at the fastener, from 45 Nm at the wrench)",
            "at most 45 Nm",
        ),
        // Of two ways to meet a demand both are named, but not where it need not be met.
        ("s.new or s.marked", "{new: no, marked: no}", "no", "yes, or `fastenings[0].marked` is yes"),
        (
            "not recorded s.torque or s.torque within 40 Nm .. 50 Nm",
            "{torque: 60 Nm}",
            "60 Nm",
            "40 Nm .. 50 Nm",
        ),
        (
            "s.torque within 40 Nm .. 50 Nm or not recorded s.torque",
            "{torque: 60 Nm}",
            "60 Nm",
            "40 Nm .. 50 Nm",
        ),
        ("s.role is \"plug\" implies s.new", "{role: plug, new: no}", "no", "yes"),
        (
            "s.role is \"plug\" implies s.torque above 5 Nm",
            "{role: plug, torque: 5 Nm}",
            "5 Nm",
            "above 5 Nm",
        ),
    ];
    for (demand, fastening, found, required) in rows {
        let finding = on_fastening(demand, fastening);
        assert_eq!(finding.found.as_deref(), Some(found), "{demand}");
        assert_eq!(finding.required.as_deref(), Some(required), "{demand}");
    }
    let off_by = |demand, fastening| on_fastening(demand, fastening).off_by.unwrap();
    assert_eq!(off_by("characters_in(s.role) at least 3", "{role: X}"), "2 characters too few");
    assert_eq!(off_by("characters_in(s.role) at most 1", "{role: Xy}"), "1 character too many");
    assert_eq!(off_by("s.torque above 5 Nm", "{torque: 5 Nm}"), "equal to the limit; must be above it");
    assert_eq!(
        off_by("not (s.torque at most 5 Nm)", "{torque: 5 Nm}"),
        "equal to the limit; must be above it"
    );
    assert_eq!(
        off_by("not (s.torque at least 5 Nm)", "{torque: 5 Nm}"),
        "equal to the limit; must be below it"
    );
}

#[test]
fn what_is_not_recorded_shows_what_is_required_of_it_and_not_a_condition() {
    let rows = [
        (
            "s.new implies s.torque within 40 Nm .. 50 Nm",
            "{torque: 60 Nm}",
            "`fastenings[0].torque` within 40 Nm .. 50 Nm",
        ),
        (
            "s.new and s.marked implies s.torque at least 5 Nm and s.role is \"plug\"",
            "{torque: 1 Nm}",
            "`fastenings[0].torque` at least 5 Nm and `fastenings[0].role` is plug",
        ),
    ];
    for (demand, fastening, required) in rows {
        assert_eq!(on_fastening(demand, fastening).required.as_deref(), Some(required), "{demand}");
    }
    let rule = "  concerns where vehicle.high_voltage and unit.kind is not \"wheels\"
  demands characters_in(vehicle.high_voltage_isolated_by) at least 2
  otherwise hold \"no\"";
    let unknown = finding(rule, "vehicle: {}");
    assert_eq!(unknown.required.as_deref(), Some("`vehicle.high_voltage_isolated_by` at least 2 characters"));
    let rule = "  demands every code in fault_memory.after.codes: fault_code_well_formed(code)
  otherwise hold \"no\"";
    let unknown = finding(rule, "vehicle: {}").required.unwrap();
    let codes = "every entry in `fault_memory.after.codes`";
    assert_eq!(unknown, format!("{codes}: P, C, B or U, a digit from 0 to 3 and three hexadecimal digits"));
    let rule = "  concerns each s in fastenings where s.new
  demands lies_within(40 Nm .. 50 Nm, 30 Nm .. 60 Nm) and s.torque within limit
  otherwise hold \"no\"";
    let unknown = finding(rule, "vehicle: {}\nfastenings: [{torque: 5 Nm}]").required.unwrap();
    assert!(
        unknown.ends_with("`fastenings[0].torque` within the parameter `words.limit`, which is not stated"),
        "{unknown}"
    );
}

#[test]
fn what_nobody_stated_is_named_with_where_to_state_it() {
    let finding = on_fastening("s.torque within limit", "{torque: 5 Nm}");
    assert_eq!(finding.required.as_deref(), Some("the parameter `words.limit`, which is not stated"));
    assert_eq!(finding.missing, ["parameter `words.limit` is not stated (Torque of the screw)"]);
    let remedy = finding.remedy.unwrap();
    assert!(remedy.contains("`words.limit` under `parameters`"), "{remedy}");
    assert!(remedy.contains("`--parameter words.limit=VALUE`"), "{remedy}");
}

#[test]
fn a_list_that_lacks_an_entry_says_which() {
    let rule = |demand: &str| format!("  demands {demand}\n  otherwise hold \"no\"");
    let rows = [
        ("some f in fastenings: f.role is \"plug\"", "an entry in `fastenings` with `role` is plug"),
        (
            "some f in fastenings: f.role is \"plug\" and f.place is \"case\"",
            "an entry in `fastenings` with `role` is plug and `place` is case",
        ),
        (
            "some code in fault_memory.after.codes: code is \"P0711\"",
            "P0711 among `fault_memory.after.codes`",
        ),
        (
            "every code in fault_memory.after.codes: fault_code_well_formed(code)",
            "P, C, B or U, a digit from 0 to 3 and three hexadecimal digits",
        ),
    ];
    for (demand, required) in rows {
        let record = "vehicle: {}\nfastenings: [{role: screw}]\nfault_memory: {after: {codes: [X1]}}";
        assert_eq!(finding(&rule(demand), record).required.as_deref(), Some(required), "{demand}");
    }
}

fn first_figure(text: &str) -> Number {
    number(
        text.split_whitespace()
            .find(|word| word.starts_with(|c: char| c.is_ascii_digit() || c == '-'))
            .unwrap(),
    )
}

/// Found less required is what it is off by, on paper as in truth, whatever the distance.
#[test]
fn figures_differ_on_paper_as_they_do_in_truth() {
    let mut random = Rng::with_seed(25);
    for case in 0..150 {
        let divisor = [3, 7, 11, 13][random.usize(..4)];
        let torque = random.u32(100..9_000) * divisor + 1;
        let exact = f64::from(torque) / f64::from(divisor);
        let places = random.usize(2..11);
        // Just below the value, as a limit that it is above.
        let steps = 10_f64.powi(i32::try_from(places).unwrap());
        let limit = format!("{:.places$}", (exact * steps).floor() / steps);
        // Three decimals of which the last is nought could mark thousands, and are refused.
        let limit = limit.trim_end_matches('0').trim_end_matches('.');
        let demand = format!("s.torque ÷ {divisor} at most {limit} Nm");
        let rule = format!(
            "  concerns each s in fastenings\n  demands {demand}\n  otherwise hold \"{{s.torque ÷ {divisor}}}\""
        );
        let found = finding(&rule, &format!("vehicle: {{}}\nfastenings: [{{torque: {torque} Nm}}]"));
        let [value, required, off] =
            [&found.found, &found.required, &found.off_by].map(|text| first_figure(text.as_deref().unwrap()));
        assert!(value > required, "{case}: {demand}: {found:?}");
        assert_eq!(&value - &required, off, "{case}: {demand}: {found:?}");
        assert_eq!(first_figure(&found.message), value, "{case}: {demand}: {found:?}");
    }
    // No more digits than tell, of a figure that is not short.
    let found = on_fastening("s.torque ÷ 3 at most 13 Nm", "{torque: 100 Nm}");
    assert_eq!(found.found.as_deref(), Some("33.33 Nm (s.torque ÷ 3)"));
    assert_eq!(found.off_by.as_deref(), Some("20.33 Nm too high"));
    let found = on_fastening("s.torque ÷ 3 at most 13.33333 Nm", "{torque: 40 Nm}");
    assert_eq!(found.found.as_deref(), Some("13.3333333 Nm (s.torque ÷ 3)"));
    assert_eq!(found.off_by.as_deref(), Some("0.0000033 Nm too high"));
}
