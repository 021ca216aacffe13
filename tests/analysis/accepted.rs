//! Advice that a rule accepts, with a reason.

use super::told;
use crate::support::session;

const RULES: &str = "
standard example edition 1 \"Example\"
judges   job

rule held \"The pressure is held\"
  demands   pressure_hold.held at least 5 min
  demands   pressure_hold.held at least 3 min
  otherwise hold \"Held for {pressure_hold.held}.\"
";

/// What is told where an advice is accepted that is not given.
fn not_given() -> String {
    format!("advice {}", witnessmark::code::ANALYSIS_ACCEPTED.as_str())
}

fn with(clause: &str) -> String {
    format!("{RULES}  {clause}\n")
}

fn of(rules: &str) -> Vec<(usize, String)> {
    told(&session(&[("example.standard", rules)]))
}

#[test]
fn an_accepted_advice_is_not_given() {
    assert_eq!(of(RULES), [(7, "advice analysis/implied".to_owned())]);
    assert_eq!(of(&with("accepted implied \"the shorter one is the maker's\"")), []);
}

#[test]
fn an_accepted_advice_that_is_not_given_is_told() {
    let two = with("accepted implied \"so it is\"\n  accepted shadowed \"so it is\"");
    assert_eq!(of(&two), [(10, not_given())]);
    let no_longer = with("accepted implied \"so it is\"").replace("at least 3 min", "at most 9 min");
    assert_eq!(of(&no_longer), [(9, not_given())]);
}

/// A rule is no shadow of one that lets more pass: where nothing is recorded, or by a concession.
#[test]
fn a_rule_that_lets_nothing_pass_is_no_shadow() {
    let rule = |name: &str, demand: &str, more: &str| {
        format!(
            "\nrule {name} \"R\"\n  concerns  each s in fastenings\n  demands   {demand}\n  otherwise hold \"{{s}}\"\n{more}"
        )
    };
    let both = |first: &str, second: &str| {
        let head = "standard example edition 1 \"Example\"\njudges   job\n";
        let wider = "s.torque at most 30 Nm or s.torque above 900 Nm";
        of(&format!("{head}{}{}", rule("a", "s.torque at most 30 Nm", first), rule("b", wider, second)))
    };
    let shadowed = |found: Vec<(usize, String)>| found.iter().any(|(_, told)| told.ends_with("shadowed"));
    assert!(shadowed(both("", "")));
    assert!(shadowed(both("  if unrecorded pass\n", "  if unrecorded pass\n")));
    assert!(!shadowed(both("  if unrecorded pass\n", "")));
    assert!(!shadowed(both("  concession by \"foreman\"\n", "  concession never\n")));
}

/// A rule that nothing can meet is no matter of taste.
#[test]
fn an_error_cannot_be_accepted() {
    let rules = with("accepted contradiction \"so it is\"").replace("at least 3 min", "at most 3 min");
    let found = of(&rules);
    assert_eq!(found[0], (7, "error analysis/contradiction".to_owned()), "{found:?}");
}

#[test]
fn what_can_be_accepted_is_a_closed_list() {
    for (clause, message, help) in [
        ("accepted implied \"  \"", "no reason is given for accepting `implied`", "write why it may stay"),
        (
            "accepted implyed \"x\"",
            "there is no advice `implyed` that a rule can accept",
            "did you mean `implied`?",
        ),
        ("accepted never_met \"x\"", "there is no advice `never_met` that a rule can accept", "never_"),
        (
            "accepted implied \"x\"\n  accepted implied \"y\"",
            "`implied` is accepted here twice",
            "take one of them out",
        ),
    ] {
        let session = session(&[("example.standard", &with(clause))]);
        let found = session.diagnostics().iter().find(|found| found.message == message);
        let found = found.unwrap_or_else(|| panic!("{:?}", session.diagnostics()));
        assert!(found.help.as_deref().unwrap_or_default().contains(help), "{found:?}");
    }
    let session = session(&[("example.standard", &with("accepted implied"))]);
    assert!(session.is_faulty());
}
