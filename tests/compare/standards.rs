//! Editions of standards.

use super::{edited, lines, standards};
use crate::support::text;

const STANDARD: &str = "tests/compare/sump_service.standard";

#[test]
fn each_clause_is_named() {
    let old = text(STANDARD);
    let new = edited(
        &old,
        &[
            ("= 10 Nm ± 10 %", "= 9 Nm ± 10 %"),
            ("otherwise advice \"The filter that came out", "otherwise hold \"The old filter out"),
            ("remedy    \"Take the pan off again and fit a new gasket.\"", "remedy    \"Fit a new gasket.\""),
            ("  concession by \"foreman\"\n", "  concession never\n"),
            (
                "each screw in fastenings where screw.role is \"sump screw\", at least 1",
                "each screw in fastenings where screw.role is \"sump screw\", at least 2",
            ),
            ("seal.disturbed and seal.place is not \"sump\"", "seal.disturbed"),
            ("  demands   filter.renewed\n", "  demands   filter.renewed\n  demands   recorded filter.lot\n"),
        ],
    );
    let found = standards(&old, &new);
    let wanted = [
        "changed parameter sump_screw: default: 10 Nm ± 10 % -> 9 Nm ± 10 %",
        "changed rule sump_screw_torque: concerns: each screw in fastenings where screw.role is \"sump screw\", at least 1 -> each screw in fastenings where screw.role is \"sump screw\", at least 2",
        "changed rule sump_screw_torque: concession: by foreman -> never",
        "changed rule sump_gasket: remedy: Take the pan off again and fit a new gasket. -> Fit a new gasket.",
        "changed rule seals_renewed: concerns: each seal in seals where seal.disturbed and seal.place is not \"sump\" -> each seal in seals where seal.disturbed",
        "added rule filter_renewed: demand: recorded filter.lot",
        "changed rule filter_condition: severity: advice -> hold",
    ];
    let found_lines = lines(&found.changes);
    assert_eq!(found_lines[..7], wanted);
    assert!(found_lines[7].starts_with("changed rule filter_condition: message: "), "{found_lines:#?}");
    assert_eq!(found_lines.len(), 8);
    assert_eq!(*found.changes[0].used_by, ["sump_screw_at_fastener", "sump_screw_torque"]);
    assert!(found.changes[1..].iter().all(|change| change.used_by.is_empty()));
    assert!(found.edition_was_not_raised());
}

#[test]
fn rules_come_go_and_change_their_names() {
    let old = text(STANDARD);
    let at = old.find("rule pan_cleaned").unwrap();
    let end = at + old[at + 5..].find("\nrule ").unwrap() + 6;
    let without = format!("{}{}", &old[..at], &old[end..]);
    // Whatever edition it has come to.
    let head = without.split("standard sump_service edition ").nth(1).unwrap();
    let edition = head.split(' ').next().unwrap().parse::<u32>().unwrap();
    let (own, next) = (format!("edition {edition}"), format!("edition {}", edition + 1));
    let new = edited(&without, &[("rule sump_gasket", "rule gasket_of_sump"), (&own, &next)]);
    let found = standards(&old, &new);
    let wanted = [
        &format!("changed standard: edition: {edition} -> {}", edition + 1),
        "taken out rule pan_cleaned: The pan is cleaned or renewed",
        "renamed rules: sump_gasket -> gasket_of_sump",
    ];
    assert_eq!(lines(&found.changes), wanted);
    let names = ("sump_service.sump_gasket".to_owned(), "sump_service.gasket_of_sump".to_owned());
    assert_eq!(found.renamed_rules, [names]);
    assert!(!found.edition_was_not_raised());
}

#[test]
fn the_message_of_a_number_is_part_of_what_a_rule_says() {
    let old = text(STANDARD);
    let counted = "screw.role is \"sump screw\", at least 1";
    let new = edited(&old, &[(counted, &format!("{counted} otherwise \"No sump screw.\""))]);
    let found = lines(&standards(&old, &new).changes);
    let [change] = &found[..] else { panic!("{found:#?}") };
    assert!(change.starts_with("changed rule sump_screw_torque: concerns: "), "{change}");
    assert!(change.ends_with("at least 1 otherwise \"No sump screw.\""), "{change}");
}

/// Names of figures and variables, units, brackets, comments, layout, the order of items and what is
/// the case without being said.
#[test]
fn another_way_of_writing_is_no_other_meaning() {
    let old = text(STANDARD);
    let new = edited(
        &old,
        &[
            (
                "  concerns  each screw in fastenings where screw.role",
                "  concerns each s in  # the screws\n    fastenings where (s.role",
            ),
            ("is \"sump screw\", at least 1", "is \"sump screw\"), at least 1"),
            (
                "screw.torque within sump_screw or recorded screw.adapter",
                "s.torque within 9 Nm .. 11 Nm or recorded s.adapter",
            ),
            (
                "\"Sump screw {screw.place}: {screw.torque} recorded, {sump_screw} required.\"",
                "\"Sump screw {s.place}: {s.torque} recorded, {sump_screw} required.\"",
            ),
            ("= 45 Nm ± 10 %", "= 45 Nm +4.5 Nm/-4500 mN·m"),
            ("  = 2 s", "  = 2000 ms"),
        ],
    );
    // The demand now names its figure instead of the parameter, which is another meaning.
    let found = standards(&old, &new);
    let wanted = "changed rule sump_screw_torque: demand: screw.torque within sump_screw or recorded screw.adapter -> s.torque within 9 Nm .. 11 Nm or recorded s.adapter";
    assert_eq!(lines(&found.changes), [wanted]);
    let same = edited(&new, &[("s.torque within 9 Nm .. 11 Nm", "s.torque within sump_screw")]);
    let found = standards(&old, &same);
    assert_eq!(lines(&found.changes), Vec::<String>::new());
    assert!(found.spellings.len() >= 5, "{:#?}", lines(&found.spellings));
    assert!(!found.edition_was_not_raised());
}

#[test]
fn a_renamed_figure_changes_no_rule() {
    let old = text(STANDARD);
    let new = old.replace("level_window", "check_window");
    assert_ne!(old, new);
    assert_eq!(lines(&standards(&old, &new).changes), ["renamed parameters: level_window -> check_window"]);
}

/// The fields by which a parameter differs are one statement, in their order.
#[test]
fn the_fields_of_a_parameter_are_compared_as_one() {
    let with = |fields: &str| {
        format!(
            "standard s edition 1 \"S\"\njudges job\nparameter torque is torque range of f in fastenings by {fields} \"Torque\"\n"
        )
    };
    let both = with("unit.family, f.role");
    assert_eq!(lines(&standards(&both, &both).changes), Vec::<String>::new());
    let wanted = ["changed parameter torque: by: unit.family, f.role -> f.role"];
    assert_eq!(lines(&standards(&both, &with("f.role")).changes), wanted);
    let wanted = ["changed parameter torque: by: unit.family, f.role -> f.role, unit.family"];
    assert_eq!(lines(&standards(&both, &with("f.role, unit.family")).changes), wanted);
}

#[test]
fn tables_are_compared_row_by_row() {
    let old = text("examples/grauwasser/limits.standard");
    let new = edited(
        &old,
        &[
            ("5.6 L .. 7.0 L", "5.6 L .. 7.2 L"),
            ("  \"seven speed transverse\"   : \"TC-2\"\n", "  \"nine speed\" : \"AF-9\"\n"),
            ("at least 8 km", "at least 10 km"),
        ],
    );
    let wanted = [
        "changed let test_drive: at least 8 km -> at least 10 km",
        "changed table refill: row \"eight speed longitudinal\": 5.6 L .. 7.0 L -> 5.6 L .. 7.2 L",
        "taken out table gearbox_fluid: row \"seven speed transverse\": \"TC-2\"",
        "added table gearbox_fluid: row \"nine speed\": \"AF-9\"",
    ];
    assert_eq!(lines(&standards(&old, &new).changes), wanted);
}

#[test]
fn what_the_head_says_for_its_rules_is_compared_by_what_it_means_for_each() {
    let head = |clauses: &str| format!("standard s edition 1 \"S\"\njudges job\n{clauses}");
    let rule = |severity: &str, clauses: &str| {
        format!("rule r \"R\"\n  demands recorded road_test\n  otherwise {severity} \"No drive.\"\n{clauses}")
    };
    let (basis, foreman) = ("basis \"common practice\"\n", "concession by \"foreman\"\n");
    let changes = |old: &str, new: &str| lines(&standards(old, new).changes);
    let own = format!("{}{}", head(""), rule("hold", &format!("  {basis}  {foreman}")));
    let from_head = format!("{}{}", head(&format!("{basis}{foreman}")), rule("hold", ""));
    assert!(changes(&own, &from_head).is_empty());
    let owner = from_head.replace("foreman", "owner");
    assert_eq!(changes(&from_head, &owner), ["changed rule r: concession: by foreman -> by owner"]);
    assert_eq!(changes(&from_head, &format!("{}{}", head(""), rule("hold", ""))).len(), 2);
    // For an advice the concession of the head means nothing.
    let advice = rule("advice", "");
    assert!(changes(&format!("{}{advice}", head(foreman)), &format!("{}{advice}", head(""))).is_empty());
}
