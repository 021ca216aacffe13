//! The SARIF form against the schema of OASIS, and its regions against the texts.

use serde_json::Value;
use witnessmark::report::sarif::{FINGERPRINT, uri};

use crate::report::support::{RECORD, Sample, finding, full, undecided, with_known, with_rule_fault};

const SCHEMA: &str = include_str!("../schemas/sarif-2.1.0.schema.json");

fn faults_of(report: &Value) -> Vec<String> {
    // One published pattern (`run.language`) ends in a stray bracket, which ECMA-262 refuses.
    let schema = serde_json::from_str(&SCHEMA.replace("{2}]?$", "{2}$")).unwrap();
    let validator = jsonschema::draft7::options().should_validate_formats(true).build(&schema).unwrap();
    validator.iter_errors(report).map(|fault| format!("{}: {fault}", fault.instance_path())).collect()
}

fn results(report: &Value) -> &Vec<Value> {
    report["runs"][0]["results"].as_array().unwrap()
}

#[test]
fn logs_follow_the_schema_of_the_standard() {
    for sample in [Sample::of(&[]), Sample::new(), full(), with_known(), with_rule_fault()] {
        assert_eq!(faults_of(&sample.json("sarif")), Vec::<String>::new());
    }
    let mut wrong = full().json("sarif");
    wrong["runs"][0]["results"][0]["level"] = "grave".into();
    assert_eq!(faults_of(&wrong).len(), 1, "the check itself can fail");
}

#[test]
fn results_carry_rule_level_and_places() {
    let report = with_rule_fault().json("sarif");
    let run = &report["runs"][0];
    assert_eq!(run["columnKind"], "unicodeCodePoints");
    let list = results(&report);
    assert_eq!(list.len(), 8, "one fault of the rules, one of the record, six findings");
    let of: Vec<_> =
        list.iter().map(|one| (one["kind"].as_str().unwrap(), one["level"].as_str().unwrap())).collect();
    let fail = |level| ("fail", level);
    assert_eq!(
        of,
        [
            fail("error"),
            fail("error"),
            fail("warning"),
            fail("error"),
            fail("error"),
            fail("note"),
            ("open", "none"),
            ("open", "none"),
        ]
    );
    for one in list {
        let index = one["ruleIndex"].as_u64().unwrap() as usize;
        assert_eq!(run["tool"]["driver"]["rules"][index]["id"], one["ruleId"]);
    }
    assert_eq!(list[0]["ruleId"], "quantity/number-form");
    let torque = &list[3];
    assert_eq!(torque["ruleId"], "sump_service.screw_torque");
    assert_eq!(torque["properties"]["offBy"], "2.1 Nm above the upper limit");
    let demand = &torque["relatedLocations"][0]["physicalLocation"];
    assert_eq!(demand["artifactLocation"]["uri"], "rules/sump.standard");
    assert_eq!(demand["region"]["snippet"]["text"], "s.torque within sump_screw");
    assert_eq!(demand["region"]["startLine"], 8);
}

#[test]
fn a_certain_change_of_spelling_is_a_fix() {
    let (sarif, json) = (full().json("sarif"), full().json("json"));
    let change = &results(&sarif)[0]["fixes"][0]["artifactChanges"][0];
    assert_eq!(change["artifactLocation"]["uri"], "jobs/k-2041.yaml");
    let replacement = &change["replacements"][0];
    assert_eq!(re_read(RECORD, &replacement["deletedRegion"]), "9.8 Nm");
    assert_eq!(replacement["insertedContent"]["text"], "9.9 Nm");
    assert!(results(&sarif)[1].get("fixes").is_none());
    let fix = &json["documents"][0]["diagnostics"][0]["fix"];
    assert_eq!((&fix["replacement"], &fix["at"]["start"]["line"]), (&"9.9 Nm".into(), &9.into()));
}

/// The text of a region, found by its lines and columns alone, as a viewer does.
fn re_read(text: &str, region: &Value) -> String {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<Vec<char>> = text.split('\n').map(|line| line.chars().collect()).collect();
    let number = |name: &str| region[name].as_u64().unwrap() as usize - 1;
    let (first, last) = (number("startLine"), number("endLine"));
    (first..=last)
        .map(|line| {
            let from = if line == first { number("startColumn") } else { 0 };
            let to = if line == last { number("endColumn") } else { lines[line].len() };
            lines[line][from..to].iter().collect::<String>()
        })
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn regions_re_read_to_the_reported_text() {
    let text = "\u{feff}unit: 六速 🔧 x\r\ntorque: 45 Nm # geprüft\r\nlist:\r\n  - ä\r\n  - 🔧🔧\r\nend: ~";
    let mut sample = Sample::of(&[("odd.yaml", text)]);
    let wanted = ["六速 🔧", "45 Nm", "- ä\r\n  - 🔧🔧", "geprüft", "~"];
    for what in wanted {
        let found = finding(sample.at(what), sample.demand());
        sample.documents[0].findings.push(found);
    }
    let report = sample.json("sarif");
    for (one, what) in results(&report).iter().zip(wanted) {
        let region = &one["locations"][0]["physicalLocation"]["region"];
        assert_eq!(re_read(text, region), what.replace("\r\n", "\n"));
        assert_eq!(region["snippet"]["text"], what);
        let (at, len) = (
            region["byteOffset"].as_u64().unwrap() as usize,
            region["byteLength"].as_u64().unwrap() as usize,
        );
        assert_eq!(&text[at..at + len], what);
    }
    let demand = &results(&report)[0]["relatedLocations"][0]["physicalLocation"]["region"];
    assert_eq!(re_read(crate::report::support::RULES, demand), "s.torque within sump_screw");
}

fn identities(text: &str) -> Vec<String> {
    let mut sample = Sample::of(&[("jobs/k-2041.yaml", text)]);
    let demand = sample.demand();
    let broken = finding(sample.at("12 Nm"), demand);
    let open = undecided(sample.at("place: A3"), demand);
    sample.documents[0].findings = vec![broken.clone(), broken, open];
    let report = sample.json("sarif");
    results(&report)
        .iter()
        .map(|one| one["partialFingerprints"][FINGERPRINT].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn identities_do_not_move_with_the_lines() {
    let before = identities(RECORD);
    let after = identities(&format!("# one\n# more line\n\n{RECORD}"));
    assert_eq!(before, after);
    let mut unlike = before.clone();
    unlike.dedup();
    assert_eq!(unlike.len(), 3, "each result has an identity of its own: {before:?}");
}

#[test]
fn names_become_uri_references() {
    // RFC 3986, sections 2.1 and 2.3: unreserved characters stand for themselves.
    assert_eq!(uri("jobs/k-2041_a.yaml"), "jobs/k-2041_a.yaml");
    assert_eq!(uri("jobs/Öl 100%#?.yaml"), "jobs/%C3%96l%20100%25%23%3F.yaml");
    assert_eq!(uri("c:x.yaml"), "c%3Ax.yaml", "no scheme is read into a name");
    assert_eq!(uri("/srv/jobs/a.yaml"), "file:///srv/jobs/a.yaml");
}

#[test]
fn more_results_than_servers_take_are_left_out_and_said() {
    let mut sample = full();
    let one = sample.documents[0].findings[0].clone();
    sample.documents[0].findings = vec![one; 100];
    let document = sample.documents[0].clone();
    sample.documents = vec![document; 251];
    let report = sample.json("sarif");
    assert_eq!(faults_of(&report), Vec::<String>::new());
    let left_out = &report["runs"][0]["invocations"][0]["toolExecutionNotifications"];
    let number = sample.documents.iter().map(|one| one.findings.len() + one.diagnostics.len()).sum::<usize>();
    let wanted =
        format!("{} results left out, because servers take 25000; --format json lists all", number - 25_000);
    assert_eq!(results(&report).len(), 25_000);
    assert_eq!(left_out[0]["message"]["text"], wanted.as_str());
    assert_eq!(full().json("sarif")["runs"][0]["invocations"][0]["toolExecutionNotifications"], Value::Null);
}

#[test]
fn texts_that_are_no_files_have_a_base_of_their_own() {
    let sample = Sample::of(&[("standard input", RECORD)]);
    let mut sample = Sample { documents: sample.documents, ..Sample::new() };
    let found = finding(sample.at("A1"), sample.demand());
    sample.documents[0].findings = vec![found];
    let report = sample.json("sarif");
    assert_eq!(faults_of(&report), Vec::<String>::new());
    let at = &results(&report)[0]["locations"][0]["physicalLocation"]["artifactLocation"];
    assert_eq!((&at["uri"], &at["uriBaseId"]), (&"standard%20input".into(), &"TEXTS".into()));
    assert!(report["runs"][0]["originalUriBaseIds"]["TEXTS"]["description"]["text"].is_string());
    let demand = &results(&report)[0]["relatedLocations"][0]["physicalLocation"]["artifactLocation"];
    assert_eq!((&demand["uri"], &demand["uriBaseId"]), (&"rules/sump.standard".into(), &Value::Null));
}
