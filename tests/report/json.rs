//! The JSON form against its schema, and its places against the texts.

use serde_json::Value;
use witnessmark::report::{FORMATS, Stream, Style};
use witnessmark::source::{Place, Span};

use crate::report::support::{Sample, finding, full, with_known, with_rule_fault};

const SCHEMA: &str = include_str!("../../grammar/report.schema.json");

fn validator() -> jsonschema::Validator {
    let schema = serde_json::from_str(SCHEMA).unwrap();
    jsonschema::draft202012::options().should_validate_formats(true).build(&schema).unwrap()
}

fn faults_of(report: &Value) -> Vec<String> {
    validator().iter_errors(report).map(|fault| format!("{}: {fault}", fault.instance_path())).collect()
}

#[test]
fn reports_follow_their_schema() {
    jsonschema::draft202012::meta::validate(&serde_json::from_str(SCHEMA).unwrap()).unwrap();
    for sample in [Sample::of(&[]), Sample::new(), full(), with_known(), with_rule_fault()] {
        assert_eq!(faults_of(&sample.json("json")), Vec::<String>::new());
    }
}

#[test]
fn the_schema_refuses_what_it_should() {
    let change = |pointer: &str, value: Value| {
        let mut report = full().json("json");
        *report.pointer_mut(pointer).unwrap() = value;
        report
    };
    for (pointer, value) in [
        ("/form", Value::from("report/2")),
        ("/documents/0/findings/1/margin/value", Value::from("about 2")),
        ("/documents/0/findings/1/severity", Value::from("grave")),
        ("/documents/0/findings/1/at/start/line", Value::from(0)),
        ("/summary/verdict/outcome", Value::from("fine")),
    ] {
        assert_eq!(faults_of(&change(pointer, value)).len(), 1, "{pointer}");
    }
    let mut report = full().json("json");
    report.pointer_mut("/documents/0/findings/1").unwrap().as_object_mut().unwrap().remove("basis");
    assert_eq!(faults_of(&report).len(), 1);
}

#[test]
fn a_finding_is_written_whole() {
    let report = full().json("json");
    let found = &report["documents"][0]["findings"][1];
    assert_eq!(found["rule"], "sump_service.screw_torque");
    assert_eq!(found["found"], "12 Nm");
    assert_eq!(found["off_by"], "2.1 Nm above the upper limit");
    assert_eq!((&found["margin"]["value"], &found["margin"]["unit"]), (&"-2.1".into(), &"Nm".into()));
    assert!(found["margin"]["share"].as_str().unwrap().starts_with("-1.1666"));
    assert_eq!((&found["at"]["start"]["line"], &found["at"]["start"]["column"]), (&12.into(), &13.into()));
    assert_eq!(found["demand"]["source"], "rules/sump.standard");
    assert_eq!(report["documents"][0]["findings"][4]["standing"], "still_to_do");
    assert_eq!(report["documents"][0]["tallies"][0]["broken"], 1);
    assert_eq!(report["documents"][1]["findings"], Value::Array(Vec::new()));
    assert_eq!(report["summary"]["verdict"]["outcome"], "hold");
    assert_eq!(report["summary"]["findings"]["hold"], 2);
}

#[test]
fn places_re_read_to_the_reported_text() {
    let text = "\u{feff}a: ö\r\n六六: \"🔧 5 Nm\"\rz: 1\n";
    let mut sample = Sample::of(&[("odd.yaml", text)]);
    for what in ["ö", "六六", "🔧 5 Nm", "z: 1"] {
        let found = finding(sample.at(what), sample.demand());
        sample.documents[0].findings.push(found);
    }
    let report = sample.json("json");
    let expected = [("ö", 1, 4), ("六六", 2, 1), ("🔧 5 Nm", 2, 6), ("z: 1", 3, 1)];
    for (found, (what, line, column)) in
        report["documents"][0]["findings"].as_array().unwrap().iter().zip(expected)
    {
        let at = &found["at"];
        let byte = |end: &str| at[end]["byte"].as_u64().unwrap() as usize;
        assert_eq!(&text[byte("start")..byte("end")], what);
        assert_eq!((&at["start"]["line"], &at["start"]["column"]), (&line.into(), &column.into()), "{what}");
        let chars = what.chars().count() as u64;
        assert_eq!(at["end"]["column"].as_u64().unwrap(), column as u64 + chars);
    }
}

#[test]
fn parts_can_be_rendered_in_any_order_and_streamed() {
    let sample = full();
    for row in FORMATS {
        let style = Style::default();
        let mut parts: Vec<_> = sample
            .documents
            .iter()
            .rev()
            .map(|judged| {
                let mut part = Vec::new();
                row.format.document(&sample.run, judged, &style, &mut part);
                part
            })
            .collect();
        parts.reverse();
        let mut out = Vec::new();
        let mut stream = Stream::begin(row.format, &sample.run, style, &mut out);
        parts.iter().for_each(|part| stream.part(part, &mut out));
        stream.end(&sample.summary, &mut out);
        assert_eq!(String::from_utf8(out).unwrap(), sample.render(row.name, style), "{}", row.name);
    }
}

#[test]
fn a_place_in_an_unknown_source_is_null() {
    let mut sample = Sample::new();
    let mut found = finding(sample.at("A1"), sample.demand());
    // A layer above numbers its sources past those of the sample.
    let mut above = sample.documents[0].sources.clone();
    let strange = above.add("elsewhere", "");
    found.at = Place { source: strange, span: Span::new(0, 1) };
    sample.documents[0].findings = vec![found];
    let report = sample.json("json");
    assert_eq!(report["documents"][0]["findings"][0]["at"], Value::Null);
    assert_eq!(faults_of(&report), Vec::<String>::new());
}
