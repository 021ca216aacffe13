//! What the declared shape makes of raw text.

use std::borrow::Cow;

use witnessmark::document::{Bound, NodeKind, UNKNOWN};
use witnessmark::quantity::{Kind, Number, Quantity};
use witnessmark::value::{Moment, Value};

use super::{GOOD, read, with};

fn value_at(text: &str, path: &str) -> Option<Value<'static>> {
    let (documents, _) = read(text);
    let document = documents.first().expect("one document");
    let id = document.find(path).unwrap_or_else(|| panic!("{path} is there"));
    document.value(id).map(|value| match value {
        Value::Text(text) => Value::Text(Cow::Owned(text.to_string())),
        Value::Truth(truth) => Value::Truth(*truth),
        Value::Quantity(quantity) => Value::Quantity(quantity.clone()),
        Value::Reading(reading) => Value::Reading(reading.clone()),
        Value::Day(day) => Value::Day(*day),
        Value::Moment(moment) => Value::Moment(moment.clone()),
        Value::Several(several) => Value::Several(std::sync::Arc::clone(several)),
        Value::Range(range) => Value::Range(range.clone()),
        Value::Words(words) => Value::Words(words.clone()),
    })
}

#[test]
fn a_text_field_keeps_what_other_readers_would_resolve() {
    for raw in [
        "no",
        "yes",
        "No",
        "on",
        "012",
        "0o17",
        "1e3",
        "1_000",
        "null",
        "=",
        "0x1F",
        ".inf",
        "2026-03-02",
        "12:30:45",
    ] {
        let text = with("  plate: no\n", &format!("  plate: {raw}\n"));
        assert_eq!(value_at(&text, "vehicle.plate"), Some(Value::Text(Cow::Borrowed(raw))), "{raw}");
    }
    // A lone tilde is text too; only what is left out or blank counts as not recorded.
    let text = with("  plate: no\n", "  plate: ~\n");
    assert_eq!(value_at(&text, "vehicle.plate"), Some(Value::Text(Cow::Borrowed("~"))));
    for blank in ["", "''", "\"  \"", " # to be asked"] {
        let text = with("  plate: no\n", &format!("  plate: {blank}\n"));
        let (documents, diagnostics) = read(&text);
        assert!(diagnostics.is_empty(), "{diagnostics:?}");
        let plate = documents[0].find("vehicle.plate").expect("is there");
        assert!(documents[0].is_empty(plate), "{blank:?}");
    }
}

#[test]
fn each_declared_shape_reads_its_own_values() {
    let quantity =
        |text: &str, kind: &str| Quantity::parse(text, Kind::named(kind)).map(Value::Quantity).ok();
    assert_eq!(value_at(GOOD, "vehicle.high_voltage"), Some(Value::Truth(false)));
    assert_eq!(value_at(GOOD, "fastenings[0].new"), Some(Value::Truth(true)));
    assert_eq!(value_at(GOOD, "fastenings[0].order"), Some(Value::Quantity(Quantity::from(Number::ONE))));
    assert_eq!(value_at(GOOD, "fastenings[1].torque"), quantity("33 lbf.ft", "torque"));
    assert_eq!(value_at(GOOD, "filters[0].at_size"), quantity("10 µm", "length"));
    assert_eq!(value_at(GOOD, "fluid.cleanliness.at_4"), quantity("1300 /mL", "particle count"));
    assert_eq!(value_at(GOOD, "unit.kind"), Some(Value::Text("stepped automatic".into())));
    let day = jiff::civil::date(2026, 12, 31);
    assert_eq!(value_at(GOOD, "concessions[0].until"), Some(Value::Day(day)));
    let closed = jiff::civil::date(2026, 3, 2).at(11, 40, 0, 0);
    assert_eq!(value_at(GOOD, "job.closed"), Some(Value::Moment(Moment::Civil(closed))));
    let opened = "2026-03-02T07:15:00Z".parse().expect("a timestamp");
    assert_eq!(value_at(GOOD, "job.opened"), Some(Value::Moment(Moment::Exact(opened, jiff::tz::offset(1)))));
}

#[test]
fn quotes_change_nothing_for_the_declared_shape() {
    for (plain, quoted) in [("high_voltage: no", "high_voltage: 'no'"), ("beta: 75", "beta: \"75\"")] {
        let path = if plain.starts_with('h') { "vehicle.high_voltage" } else { "filters[0].beta" };
        assert_eq!(value_at(&with(plain, quoted), path), value_at(GOOD, path));
    }
}

#[test]
fn every_field_of_a_right_record_is_bound() {
    let (documents, diagnostics) = read(GOOD);
    assert_eq!(diagnostics, []);
    let document = &documents[0];
    assert_eq!(document.form(), Some("job"));
    super::walk(document, document.root(), &mut |id| {
        for entry in document.entries(id) {
            assert_ne!(entry.field, UNKNOWN, "{}", document.path(entry.value));
            assert_eq!(document.field(id, entry.field), Some(entry.value));
        }
        if let NodeKind::Scalar { value, .. } = &document.node(id).kind {
            assert!(matches!(value, Bound::Value(_)), "{}", document.path(id));
        }
    });
}

#[test]
fn a_wrong_value_is_wrong_and_its_neighbours_are_not() {
    let text = with("torque: 9 Nm", "torque: 9 bar");
    let (documents, diagnostics) = read(&text);
    assert_eq!(diagnostics.len(), 1);
    let document = &documents[0];
    let torque = document.find("fastenings[0].torque").expect("is there");
    assert!(matches!(&document.node(torque).kind, NodeKind::Scalar { value: Bound::Wrong, .. }));
    assert!(document.value(document.find("fastenings[0].place").expect("is there")).is_some());
}

#[test]
fn fields_out_of_order_are_bound_alike() {
    let text = "unit: { serial: a, kind: engine }\nvehicle: {}\njob: { state: closed, opened: 2026-03-02 08:00, number: 7 }\nform: job/1\n";
    let (documents, diagnostics) = read(text);
    assert_eq!(diagnostics, []);
    let document = &documents[0];
    let unit = document.find("unit").expect("is there");
    // In the form, `kind` is the first field of the unit and `serial` the third.
    assert_eq!(document.field(unit, 0), document.find("unit.kind"));
    assert_eq!(document.field(unit, 2), document.find("unit.serial"));
    assert_eq!(document.field(unit, 1), None);
}
