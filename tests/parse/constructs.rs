//! Each construct, and the tree it becomes.

use witnessmark::language::ast::Item;
use witnessmark::language::parse_expression;
use witnessmark::source::Sources;

use super::show::show;
use super::{SAMPLE, good};

fn tree(text: &str) -> String {
    let source = Sources::new().add("t", text);
    match parse_expression(source, text, 0) {
        Ok(expr) => show(&expr),
        Err(mistake) => panic!("{text}: {mistake:#?}"),
    }
}

#[test]
fn the_sample_is_read_as_it_stands() {
    let file = good(SAMPLE);
    let Item::Standard(standard) = &file.items[0] else { panic!("{file:?}") };
    assert_eq!(standard.name.node, "gearbox_sump_service");
    assert_eq!(standard.edition.as_ref().unwrap().node, 2);
    assert_eq!(standard.judges.as_ref().unwrap().node, "job");
    assert_eq!(show(standard.condition.as_ref().unwrap()), r#"(unit.kind Is "stepped automatic")"#);
    let Item::Rule(rule) = file.items.last().unwrap() else { panic!("{file:?}") };
    assert_eq!(rule.name.node, "sump_screw_torque");
    assert_eq!(show(&rule.demands[0]), "(s.torque Within sump_screw)");
    assert_eq!(rule.trials.len(), 3);
    let record = rule.trials[1].record.of(SAMPLE);
    assert_eq!(record, "{ fastenings: [{ role: sump screw, place: A1, torque: 12 Nm }] }");
}

#[test]
fn operators_bind_in_their_order() {
    let cases = [
        ("a implies b implies c", "(a Implies (b Implies c))"),
        ("a or b and not c", "(a Or (b And (not c)))"),
        ("not a is b and c", "((not (a Is b)) And c)"),
        ("a + b × c − d", "((a Add (b Multiply c)) Subtract d)"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
}
