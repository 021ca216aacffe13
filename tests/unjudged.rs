//! Values that no rule judged: which they are, what is said of them, and that a good word for one is never taken for
//! a judgement.

use witnessmark::code::{KIND_NOT_JUDGED, NOT_JUDGED};
use witnessmark::diagnostic::Level;
use witnessmark::finding::Judged;

use crate::support::{Folder, session};

/// A standard of rules, each given from its clauses on.
fn judged(rules: &[&str], record: &str) -> Judged {
    let rules: String = rules
        .iter()
        .enumerate()
        .map(|(number, rule)| format!("rule r{number} \"R\"\n{rule}\n  otherwise hold \"No.\"\n"))
        .collect();
    let session =
        session(&[("own.standard", &format!("standard own edition 1 \"Own\"\njudges job\n{rules}"))]);
    assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
    let head = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}\nvehicle: {}\nunit: {kind: engine}\n";
    let mut judged = session.judge("job.yaml", &format!("{head}{record}"));
    assert_eq!(judged.len(), 1);
    judged.remove(0)
}

/// What is said of values that no rule judged: the text at each place, the message and what to do.
fn said(rules: &[&str], record: &str) -> Vec<(Vec<String>, String, String)> {
    let judged = judged(rules, record);
    let said = judged.diagnostics.iter().map(|said| {
        assert_eq!((said.code, said.level), (NOT_JUDGED, Level::Advice), "{said:#?}");
        let texts = said.labels.iter().map(|label| judged.sources.text_at(label.place).to_owned());
        (texts.collect(), said.message.clone(), said.help.clone().unwrap_or_default())
    });
    said.collect()
}

/// The texts of the values that no rule judged.
fn left(rules: &[&str], record: &str) -> Vec<String> {
    said(rules, record).into_iter().flat_map(|(texts, ..)| texts).collect()
}

const EACH: &str = "  concerns each f in fastenings\n";

#[test]
fn a_name_that_no_rule_knows_is_told_with_the_near_one() {
    let rule = "  concerns each f in fastenings where f.role is one of (\"drain plug\", \"sump screw\")\n  demands f.torque within 40 Nm .. 50 Nm";
    let record = "fastenings:\n  - {role: drain plug, torque: 45 Nm}\n  - {role: drain pin, torque: 46 Nm}\n  - {role: drain pin, torque: 47 Nm}\n";
    assert_eq!(
        said(&[rule], record),
        [(
            vec!["46 Nm".to_owned(), "47 Nm".to_owned()],
            "no rule in force judges the torque of the fastening with the role `drain pin` (2 entries)"
                .to_owned(),
            "did you mean `drain plug`?".to_owned()
        )]
    );
    let far = record.replace("drain pin", "banjo");
    assert_eq!(
        said(&[rule], &far)[0].2,
        "the rules in force know `drain plug`, `sump screw`; check it by hand, or add a rule for it"
    );
    // What differs by a stop only is another name, and told.
    for other in ["drain plug.", "(drain plug)"] {
        let record = format!("fastenings: [{{role: {other}, torque: 45 Nm}}]\n");
        let said = said(&[rule], &record);
        assert_eq!(said.len(), 1, "{other}");
        assert_eq!(said[0].2, "did you mean `drain plug`?", "{other}");
        // The same where the list is so long that it is looked up by names.
        let many: String = (0..30).map(|_| "  - {role: x}\n".to_owned()).collect();
        let counted = "  demands (count of f in fastenings where f.role is \"drain plug\") is 0";
        let long = format!("fastenings:\n  - {{role: {other}}}\n{many}");
        assert!(judged(&[counted], &long).findings.is_empty(), "{other}");
    }
    let nameless = said(&[rule], "fastenings: [{torque: 45 Nm}]\n");
    assert_eq!(nameless.len(), 0, "a concern that cannot be told is a finding, and needs no second word");
}

#[test]
fn a_where_alone_is_no_judgement_and_each_way_of_naming_a_value_is_one() {
    let record = "fastenings: [{role: plug, torque: 45 Nm, angle: 90°}]\n";
    let chosen = "  concerns each f in fastenings where f.torque above 1 Nm\n  demands f.angle above 1°";
    assert_eq!(left(&[chosen], record), ["45 Nm"]);
    let demands = |demand: &str| left(&[&format!("{EACH}  demands {demand}")], record);
    for (demand, wanted) in [
        ("f.torque above 1 Nm", vec!["90°"]),
        ("f.torque above 1 Nm and f.angle above 1°", vec![]),
        // Whether the search ends at the first part makes no difference.
        ("f.torque above 1 Nm or f.angle above 1°", vec![]),
        ("f.angle above 1° or f.torque above 1 Nm", vec![]),
        ("not (f.torque below 1 Nm)", vec!["90°"]),
        ("f.torque × 2 above 1 Nm", vec!["90°"]),
        ("is_overload(f.torque, 1 Nm)", vec!["90°"]),
        ("recorded f.torque and recorded f.angle", vec!["45 Nm", "90°"]),
        ("some g in fastenings: g.torque is f.torque", vec!["90°"]),
        ("some g in fastenings where g.torque above 1 Nm: g.angle above 1°", vec!["45 Nm"]),
        ("(count of g in fastenings where g.torque above 1 Nm) is 1", vec!["90°"]),
        ("(sum of g.torque over g in fastenings where g.angle above 1°) above 1 Nm", vec!["90°"]),
        ("(sum of g.torque over g in fastenings where g.role is \"cap\") is 0 Nm", vec!["45 Nm", "90°"]),
        ("every g in fastenings where g.role is \"cap\": g.torque above 1 Nm", vec!["45 Nm", "90°"]),
    ] {
        assert_eq!(demands(demand), wanted, "{demand}");
    }
    let counted =
        "  concerns each f in fastenings where f.torque above 1 Nm, at least 1\n  demands recorded f.role";
    assert_eq!(left(&[counted], record), ["90°"]);
}

/// Where a part of a demand that names no value settles it, any other value would pass as well.
#[test]
fn a_demand_that_is_met_by_its_condition_judges_nothing() {
    let record = "fastenings:\n  - {role: plug, torque: 45 Nm}\n  - {role: cap, torque: 46 Nm}\n";
    for demand in [
        "f.role is \"plug\" implies f.torque above 1 Nm",
        "f.role is not \"plug\" or f.torque above 1 Nm",
        "f.torque above 1 Nm or f.role is not \"plug\"",
        "not (f.role is \"plug\" and f.torque below 1 Nm)",
        "some g in fastenings: g.role is \"plug\" and g.torque above 1 Nm",
        "not (every g in fastenings: g.role is not \"plug\" or g.torque below 1 Nm)",
        "no g in fastenings: g.role is \"plug\" and g.torque below 1 Nm",
    ] {
        let rule = format!("{EACH}  demands {demand}");
        assert_eq!(left(&[&rule], record), ["46 Nm"], "{demand}");
    }
    let demand = "  demands f.torque above 1 Nm or recorded f.adapter";
    let record = "fastenings:\n  - {role: plug, torque: 45 Nm}\n  - {role: cap, torque: 46 Nm, adapter: {lever: 300 mm}}\n";
    let said = said(&[&format!("{EACH}{demand}")], record);
    assert_eq!(said.len(), 2, "{said:#?}");
    assert_eq!(said[0].1, "no rule in force judges `fastenings[cap].torque` as it is recorded");
    assert_eq!(said[1].1, "no rule in force judges the adapter of a fastening");
}

#[test]
fn names_for_values_and_cases_are_looked_through() {
    let rules = |rest: &str| {
        let text = format!(
            "standard own edition 1 \"Own\"\njudges job\nlet reached of f in fastenings = f.torque × 1\nlet right of f in fastenings = f.angle above 1° where f.role is \"plug\"\n  = recorded f.role otherwise\n{rest}"
        );
        session(&[("own.standard", &text)])
    };
    let session = rules(
        "rule r \"R\"\n  concerns each f in fastenings\n  demands reached of f above 1 Nm and right of f\n  otherwise hold \"No.\"\n",
    );
    if session.is_faulty() {
        panic!("{:#?}", session.diagnostics());
    }
    let record = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}\nvehicle: {}\nunit: {kind: engine}\nfastenings: [{role: plug, torque: 45 Nm, angle: 90°}, {role: cap, torque: 46 Nm, angle: 91°}]\n";
    let judged = &session.judge("job.yaml", record)[0];
    let left: Vec<&str> =
        judged.diagnostics.iter().map(|said| judged.sources.text_at(said.labels[0].place)).collect();
    assert_eq!(left, ["91°"]);
    assert_eq!((judged.values.judged, judged.values.unjudged), (3, 1));
}

/// A tool is judged where somebody asks whether it is named; a seal that was not touched needs no judgement.
#[test]
fn fields_say_for_themselves_when_they_are_judged() {
    let record = "fastenings: [{role: plug, tool: T-1}]\nseals:\n  - {place: sump, disturbed: no, renewed: no}\n  - {place: plug, disturbed: yes, renewed: no}\n";
    assert_eq!(left(&[&format!("{EACH}  demands recorded f.tool")], record), ["no"]);
    assert_eq!(left(&[&format!("{EACH}  demands recorded f.role")], record), ["T-1", "no"]);
    assert_eq!(left(&[&format!("{EACH}  demands recorded f.instrument.torque")], record), ["no"]);
    let seals = "  concerns each s in seals where s.disturbed\n  demands s.renewed";
    assert_eq!(left(&[seals], record), ["T-1"]);
    let judged = judged(&[seals], record);
    assert_eq!((judged.values.judged, judged.values.unjudged), (1, 1));
    // Free texts, lots and remarks are nobody's to judge.
    assert_eq!(left(&[seals], "fluid: {lot: L-1, product: Oil}\nroad_test: {remarks: quiet}\n"), [""; 0]);
}

#[test]
fn a_field_that_no_rule_names_is_told_once() {
    let record = "readings:\n  - {of: battery, voltage: 12.6 V}\n  - {of: battery, voltage: 12.4 V, pressure: 2 bar}\n";
    assert_eq!(
        said(&["  demands recorded readings"], record),
        [(
            vec!["12.6 V".to_owned(), "12.4 V".to_owned(), "2 bar".to_owned()],
            "no rule in force judges the voltage and the pressure of a reading (2 entries)".to_owned(),
            "check it by hand, or add a rule for it".to_owned()
        )]
    );
}

#[test]
fn a_kind_of_unit_without_a_standard_is_told_once_and_in_the_verdict() {
    let folder = Folder::new();
    let job = |kind: &str, rest: &str| {
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15Z\", closed: \"2026-03-02T09:15Z\", state: closed, technician: Ada}}\nvehicle: {{}}\nunit: {{kind: {kind}}}\n{rest}"
        )
    };
    folder.write(
        "engine.standard",
        "standard engine edition 1 \"E\"\njudges job\nwhere unit.kind is \"engine\"\nrule r \"R\"\n  concerns each f in fastenings\n  demands f.torque above 1 Nm\n  otherwise hold \"No.\"\n",
    );
    folder.write(
        "basics.standard",
        "standard basics edition 1 \"B\"\njudges job\nrule r \"R\"\n  demands recorded job.technician\n  otherwise hold \"No.\"\n",
    );
    let inspect = "inspect job.yaml --standard basics.standard --standard engine.standard --as-of 2026-03-02 --brief --width 300";
    folder.write(
        "job.yaml",
        job("continuously variable", "fastenings: [{role: plug, torque: 45 Nm, tool: T-1}]\n"),
    );
    folder.run(inspect).quietly(0).says(&[
        "nothing to hold of the basics",
        "line 4: advice: no standard of this run is meant for the kind `continuously variable`: only what holds for every kind was judged, and 2 values were not",
        "values: 0 judged by rules, 2 by none",
        "Verdict: nothing to hold; of 1 document only the basics were judged; 2 values judged by no rule",
    ]);
    // Also where nothing at all is recorded that a rule should judge.
    folder.write("job.yaml", job("continuously variable", ""));
    let bare = folder.run(inspect).quietly(0);
    assert!(bare.out.contains("only what holds for every kind was judged\n"), "{bare:#?}");
    folder.run(&format!("{inspect} --fail-on advice")).quietly(1);
    folder.write("job.yaml", job("engine", "fastenings: [{role: plug, torque: 45 Nm}]\n"));
    let engine = folder.run(inspect).quietly(0);
    assert!(
        !engine.out.contains(KIND_NOT_JUDGED.as_str()) && !engine.out.contains("only what"),
        "{engine:#?}"
    );
    assert!(engine.out.contains("Verdict: nothing to hold\n"), "{engine:#?}");
}

/// A standard that does not judge this job counts as none: one that the job is not bound to, one of another kind.
#[test]
fn only_rules_that_judge_this_job_count() {
    let engine = "standard e edition 1 \"E\"\njudges job\nwhere unit.kind is \"engine\"\nrule r \"R\"\n  demands every f in fastenings: f.torque above 1 Nm\n  otherwise hold \"No.\"\n";
    let cooling = engine
        .replace("standard e", "standard c")
        .replace("\"engine\"", "\"cooling\"")
        .replace("f.torque above 1 Nm", "recorded f.role");
    let both = session(&[("e.standard", engine), ("c.standard", &cooling)]);
    let text = |kind: &str| {
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}}\nvehicle: {{}}\nunit: {{kind: {kind}}}\nfastenings: [{{torque: 45 Nm}}]\n"
        )
    };
    let unjudged = |kind: &str| both.judge("job.yaml", &text(kind))[0].values.unjudged;
    assert_eq!((unjudged("engine"), unjudged("cooling")), (0, 1));
}

/// What a tool can measure says nothing about the work: the register does not hide a role that no rule knows.
#[test]
fn the_range_of_the_tool_judges_the_tool_and_not_the_value() {
    let folder = Folder::new();
    folder.write("tools.yaml", crate::support::text("examples/grauwasser/tools.yaml"));
    let job = |role: &str| {
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00Z\", closed: \"2026-03-02T10:15:00Z\", state: closed}}\n\
             vehicle: {{plate: GW 1}}\nunit: {{kind: final drive, family: open}}\n\
             fastenings: [{{role: {role}, place: rear, torque: 44 Nm, tool: T-07}}]\n"
        )
    };
    let inspect = "inspect a.yaml --standard fastenings --standard calibrated_tools --as-of 2026-03-31 --settings w.yaml --width 200";
    folder.write("w.yaml", "form: workshop/1\nworkshop: {name: W}\ndocuments: {tools: [tools.yaml]}\n");
    folder.write("a.yaml", job("drain pin"));
    folder.run(inspect).says(&[
        "no rule in force judges the torque of the fastening with the role `drain pin`",
        "1 value judged by no rule",
    ]);
    folder.write("a.yaml", job("drain plug"));
    let ran = folder.run(inspect);
    assert!(!ran.out.contains("by no rule"), "{ran:#?}");
}

#[test]
fn a_procedure_that_no_rule_asks_for_is_told() {
    let record = RECORD_WITH_PROCEDURE;
    let text = |rule: &str| {
        let session = session(&[(
            "own.standard",
            &format!(
                "standard own edition 1 \"Own\"\njudges job\nrule r \"R\"\n{rule}\n  otherwise hold \"No.\"\n"
            ),
        )]);
        let judged = session.judge("job.yaml", record).remove(0);
        judged
            .diagnostics
            .iter()
            .filter(|said| said.code == NOT_JUDGED)
            .map(|said| said.message.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(
        text("  demands recorded unit.kind"),
        ["no rule in force compares the job with the procedure that it names"]
    );
    assert_eq!(text("  demands recorded procedure"), Vec::<String>::new());
}

const RECORD_WITH_PROCEDURE: &str = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed, procedure: {name: wheels}}\nvehicle: {}\nunit: {kind: engine}\n";

/// A rule of the entries of several lists judges the values of them all, and knows the names of each.
#[test]
fn what_a_rule_of_several_lists_looks_at_is_judged() {
    let rule = "  let uses = entries of (fastenings, readings)\n  demands every u in uses where recorded u.torque: u.torque above 1 Nm\n  demands every u in uses where u.of is \"fluid\": u.temperature above 1 °C";
    let record = "fastenings: [{role: plug, torque: 45 Nm}]\nreadings:\n  - {of: fluid, temperature: 40 °C}\n  - {of: flui, temperature: 41 °C}\n";
    assert_eq!(
        said(&[rule], record),
        [(
            vec!["41 °C".to_owned()],
            "no rule in force judges the temperature of the reading with the of `flui`".to_owned(),
            "did you mean `fluid`?".to_owned()
        )]
    );
}
