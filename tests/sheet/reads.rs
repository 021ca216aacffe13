//! Each field that a rule in force reads stands in the sheet once.

use std::collections::BTreeSet;
use std::sync::Arc;

use witnessmark::document::path::{Every, Step};
use witnessmark::document::{Document, Forms, NodeId, PathPattern, Shape, read};
use witnessmark::language::analysis::{Facts, Known, Limit, Reading};
use witnessmark::library::SHIPPED;
use witnessmark::session::Session;
use witnessmark::sheet::{self, read_procedure};
use witnessmark::source::Sources;

use super::{ALL, PROCEDURES};
use crate::support::{session, text};

fn shipped() -> Session {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|shipped| (shipped.file, shipped.text)).collect();
    session(&files)
}

/// The elements of lists on the way to a node, each with its pattern.
type Trail = Vec<(PathPattern, NodeId)>;

/// The nodes that a pattern names, with the elements on the way.
fn nodes(document: &Document<'_>, pattern: &PathPattern) -> Vec<(Trail, Option<NodeId>)> {
    let mut found = vec![(Vec::new(), Some(document.root()))];
    let mut path = PathPattern::root();
    for step in pattern.steps() {
        path = match step {
            Step::Key(name) => path.key(name),
            Step::In(Every) => path.entry(Every),
        };
        found = found
            .into_iter()
            .flat_map(|(trail, node)| {
                if let Step::Key(name) = step {
                    return vec![(trail, node.and_then(|node| document.get(node, name)))];
                }
                let elements = node.map(|node| document.items(node)).unwrap_or_default();
                if elements.is_empty() {
                    return vec![(trail, node)];
                }
                let with = |element: &NodeId| {
                    let mut trail: Trail = trail.clone();
                    trail.push((path.clone(), *element));
                    (trail, Some(*element))
                };
                elements.iter().map(with).collect()
            })
            .collect();
    }
    found
}

/// The field of an entry that can be written alone is asked for by the line of the list.
fn written(path: &PathPattern) -> PathPattern {
    let mut shape = Shape::Record(Arc::clone(Forms::builtin().get("job").unwrap().record()));
    let mut written = PathPattern::root();
    for step in path.steps() {
        shape = match (step, &shape) {
            (Step::Key(name), Shape::Record(record)) => record.field(name).unwrap().1.shape.clone(),
            (Step::In(Every), Shape::List(entry)) => Shape::clone(entry),
            _ => panic!("{path}"),
        };
        match step {
            Step::In(Every) if matches!(&shape, Shape::Record(entry) if entry.shorthand.is_some()) => {
                return written;
            }
            Step::In(Every) => written = written.entry(Every),
            Step::Key(name) => written = written.key(name),
        }
    }
    written
}

fn present(document: &Document<'_>, pattern: &PathPattern) -> bool {
    nodes(document, pattern).iter().any(|(_, node)| node.is_some())
}

/// Goes through the fields of a sheet as written, not as it was drafted; says what is missing.
fn missing(session: &Session, facts: &Facts, sheet: &str) -> (usize, Vec<String>) {
    let mut sources = Sources::new();
    let source = sources.add("sheet", sheet);
    let (documents, diagnostics) = read(source, sheet, &Forms::builtin());
    // A field that stands twice would be a mistake of the document.
    assert!(
        diagnostics.iter().all(|found| found.code.as_str() == "document/missing-field"),
        "{diagnostics:#?}"
    );
    let document = &documents[0];
    let reading = Reading::of(session.program(), "job", facts, &BTreeSet::new());
    let (mut looked, mut missing) = (0, Vec::new());
    for read in &reading.reads {
        for (trail, node) in nodes(document, &written(&read.path)) {
            let of_element = |path: &PathPattern| {
                trail.iter().rev().find_map(|(pattern, element)| {
                    let Some([Step::Key(field)]) = path.below(pattern) else { return None };
                    document.raw(document.get(*element, field)?).map(str::to_owned)
                })
            };
            let text = |path: &PathPattern| of_element(path).or_else(|| facts.get(path).cloned());
            let known = Known { text: &text, present: &|path| present(document, path) };
            if read.guards.iter().all(|guard| guard.decide(session.program(), known) != Some(false)) {
                looked += 1;
                if node.is_none() && !goes_without(document, &trail, &read.path) {
                    missing.push(read.path.to_string());
                }
            }
        }
    }
    (looked, missing)
}

/// What a fastening is not asked: its turn where it is the only one of its role, an angle where a torque is planned.
fn goes_without(document: &Document<'_>, trail: &[(PathPattern, NodeId)], path: &PathPattern) -> bool {
    let path = path.to_string();
    let Some((_, joint)) = trail.iter().find(|(pattern, _)| pattern.to_string() == "fastenings[]") else {
        return false;
    };
    let role = |joint: NodeId| document.get(joint, "role").and_then(|role| document.raw(role));
    let all = document.get(document.root(), "fastenings").map_or(&[][..], |list| document.items(list));
    let alone = all.iter().filter(|other| role(**other) == role(*joint)).count() == 1;
    (["fastenings[].order", "fastenings[].pass"].contains(&path.as_str()) && alone)
        || path.ends_with(".angle")
}

#[test]
fn each_field_that_a_rule_in_force_reads_stands_in_the_sheet_once() {
    let session = shipped();
    for name in ALL {
        let procedure = read_procedure(&session, name, &text(format!("{PROCEDURES}/{name}.yaml"))).unwrap();
        let blank = sheet::blank(&session, &procedure);
        let (looked, missing) = missing(&session, &sheet::facts(&procedure), &blank);
        assert!(looked > 25, "{name}: only {looked} fields were looked at");
        assert!(missing.is_empty(), "{name}: {missing:#?}\n{blank}");
        // The check itself: a sheet without a field of every rule's is found out.
        let less = blank.replacen("  technician:", "  # technician:", 1);
        assert_eq!(
            super::reads::missing(&session, &sheet::facts(&procedure), &less).1[..1],
            ["job.technician"]
        );
    }
}

/// The same for procedures that state nothing but their unit, one of each kind.
#[test]
fn each_kind_of_unit_has_the_fields_that_its_rules_read() {
    let session = shipped();
    let kinds = [
        "stepped automatic",
        "twin clutch",
        "continuously variable",
        "manual gearbox",
        "final drive",
        "engine",
        "brakes",
        "cooling",
        "wheels",
    ];
    for kind in kinds {
        let text = super::procedure("").replace("final drive", kind);
        let procedure = read_procedure(&session, kind, &text).unwrap();
        let blank = sheet::blank(&session, &procedure);
        let (looked, missing) = missing(&session, &sheet::facts(&procedure), &blank);
        assert!(looked > 12, "{kind}: only {looked} fields were looked at");
        assert!(missing.is_empty(), "{kind}: {missing:#?}\n{blank}");
    }
}

const RULES: &str = r#"standard s edition 1 "S"
judges job
where unit.kind is "engine" or recorded wheels

let plug_limit = 40 Nm .. 50 Nm
let wet = unit.kind is "engine" and unit.serial is not "none"

rule plug "P"
  concerns each f in fastenings where f.role is "drain plug", at least 1
  demands f.torque within plug_limit
  demands f.marked and follows_pattern(f.tool, "T-##")
  otherwise hold "Plug {f.place}."
  basis "b"

rule gears "G"
  concerns where unit.kind is "twin clutch"
  demands fluid.lot is "x"
  otherwise hold "m"
  basis "b"

rule debris "D"
  concerns where wet
  demands every m in magnets where m.place is "pan": m.debris is one of ("none", "fine paste")
  demands sum of fill.volume over fill in fluid.fills at least 2 L
  otherwise hold "m"
  basis "b"

rule optional "O"
  concerns each r in readings where recorded r.pressure
  demands r.pressure at least 1 bar
  otherwise hold "m"
  basis "b"
"#;

fn facts(kind: &str) -> Facts {
    Facts::from([("unit.kind".parse().unwrap(), kind.to_owned())])
}

/// The patterns are told by hand from the rules above.
#[test]
fn what_a_rule_reads_is_told_from_its_text() {
    let session = session(&[("s.standard", RULES)]);
    assert!(
        session.diagnostics().iter().all(|found| found.code.as_str() == "rules/no-trial"),
        "{:#?}",
        session.diagnostics()
    );
    let engine = facts("engine");
    let reading = Reading::of(session.program(), "job", &engine, &BTreeSet::new());
    let known =
        Known { text: &|path| engine.get(path).cloned(), present: &|path| path.to_string() != "readings" };
    let applies = |read: &&witnessmark::language::analysis::Read<'_>| {
        read.guards.iter().all(|guard| guard.decide(session.program(), known) != Some(false))
    };
    let paths: BTreeSet<String> =
        reading.reads.iter().filter(applies).map(|read| read.path.to_string()).collect();
    let wanted = [
        "fastenings",
        "fastenings[].marked",
        "fastenings[].place",
        "fastenings[].role",
        "fastenings[].tool",
        "fastenings[].torque",
        "fluid.fills",
        "fluid.fills[].volume",
        "magnets",
        "magnets[].debris",
        "magnets[].place",
        "unit.kind",
        "unit.serial",
    ];
    assert_eq!(paths, BTreeSet::from(wanted.map(str::to_owned)));
    let all: BTreeSet<String> = reading.reads.iter().map(|read| read.path.to_string()).collect();
    assert!(all.contains("fluid.lot") && all.contains("readings[].pressure"), "{all:?}");
}

#[test]
fn limits_are_told_from_the_demands() {
    let session = session(&[("s.standard", RULES)]);
    let engine = facts("engine");
    let reading = Reading::of(session.program(), "job", &engine, &BTreeSet::new());
    let shown: Vec<String> = reading
        .wanted
        .iter()
        .map(|wanted| {
            let limit = match &wanted.limit {
                Limit::Within(range) => range.to_string(),
                other => format!("{other:?}"),
            };
            format!("{} {limit}", wanted.path)
        })
        .collect();
    let wanted = [
        "fastenings[].torque 40 Nm .. 50 Nm",
        "fastenings[].marked Truth(true)",
        "fastenings[].tool Pattern(\"T-##\")",
        "fluid.lot Words { words: [\"x\"], refused: false }",
        "readings[].pressure at least 1 bar gauge",
    ];
    assert_eq!(shown, wanted);
    assert_eq!(reading.asked.len(), 1);
    assert_eq!(reading.asked[0].holds, Some(("role".to_owned(), "drain plug".to_owned())));
}

/// A rule can look at the procedure, the register and the entry before; what it reads there is no field
/// of this document, and what leads there is.
#[test]
fn links_are_followed_by_fields_of_the_document() {
    let rules = r#"standard s edition 1 "S"
judges job
rule r "R"
  concerns each f in fastenings, at least 1
  demands f.torque within f.prescribed.torque
  demands f.torque within f.instrument.torque.range and f.order above f.entry_before.pass
  demands every p in procedure.steps where p.name is job.remarks: some s in steps: s.step is p.name
  otherwise hold "m"
  basis "b"
"#;
    let session = session(&[("s.standard", rules)]);
    assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
    let engine = facts("engine");
    let reading = Reading::of(session.program(), "job", &engine, &BTreeSet::new());
    let paths: BTreeSet<String> = reading.reads.iter().map(|read| read.path.to_string()).collect();
    let fields =
        ["order", "pass", "place", "role", "tool", "torque"].map(|field| format!("fastenings[].{field}"));
    let mut wanted = BTreeSet::from(fields);
    wanted.extend(["fastenings", "job.remarks", "steps", "steps[].step"].map(str::to_owned));
    assert_eq!(paths, wanted);
    assert!(reading.wanted.is_empty(), "{:#?}", reading.wanted);
}

/// A standard for another kind of unit has no say, and what is not recorded yet brings none into force.
#[test]
fn only_the_standards_in_force_are_asked() {
    let session = session(&[("s.standard", RULES)]);
    assert!(Reading::of(session.program(), "job", &facts("brakes"), &BTreeSet::new()).reads.is_empty());
    assert!(Reading::of(session.program(), "procedure", &facts("engine"), &BTreeSet::new()).reads.is_empty());
    assert!(!Reading::of(session.program(), "job", &facts("engine"), &BTreeSet::new()).reads.is_empty());
}

/// Lets that name another twice, as often as that is allowed, are written out each time.
#[test]
fn conditions_that_double_their_length_are_looked_through() {
    let mut rules = String::from(
        "standard s edition 1 \"S\"\njudges job\nwhere l9\nlet l0 = unit.serial is \"x\" or unit.serial is \"y\"\n",
    );
    for number in 1..10 {
        let before = number - 1;
        rules.push_str(&format!("let l{number} = l{before} and l{before}\n"));
    }
    rules
        .push_str("rule r \"R\"\n  demands job.technician is \"x\"\n  otherwise hold \"m\"\n  basis \"b\"\n");
    let session = session(&[("s.standard", &rules)]);
    assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
    let facts = facts("engine");
    let reading = Reading::of(session.program(), "job", &facts, &BTreeSet::new());
    assert_eq!(reading.wanted.len(), 1);
}

/// Of the entries of several lists each list is read as if it were alone, and no entry is asked for what it cannot have.
/// Lists inside each other come to an end.
#[test]
fn entries_of_several_lists_are_read_list_by_list() {
    let rules = "standard several edition 1 \"Several\"\njudges job\nbasis \"a test\"\n\
        let uses = entries of (fastenings, readings, level_check)\n\
        rule every_one \"Each\"\n  concerns each u in uses where recorded u.torque or recorded u.temperature\n\
        \x20 demands u.torque above 1 Nm or u.temperature above 1 °C\n  demands u.tool is u.instrument.number\n\
        \x20 otherwise hold \"{u}: no.\"\n\
        rule one_of_all \"Some\"\n  demands some u in uses: u.of is \"fluid\"\n  otherwise hold \"No.\"\n";
    let read = |rules: &str| {
        let session = session(&[("several.standard", rules)]);
        assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
        let facts = facts("engine");
        let reading = Reading::of(session.program(), "job", &facts, &BTreeSet::new());
        reading.reads.iter().map(|read| read.path.to_string()).collect::<BTreeSet<String>>()
    };
    let wanted = [
        "fastenings",
        "fastenings[].tool",
        "fastenings[].torque",
        "level_check",
        "level_check.temperature",
        "level_check.tool",
        "readings",
        "readings[].of",
        "readings[].temperature",
        "readings[].tool",
    ];
    assert_eq!(read(rules), BTreeSet::from(wanted.map(str::to_owned)));
    let nested: String =
        ["a", "b", "c", "d", "e", "f", "g"].map(|name| format!("some {name} in all_of_it: ")).concat();
    let many = format!(
        "standard several edition 1 \"Several\"\njudges job\nbasis \"a test\"\n\
         let all_of_it = entries of (job, vehicle, unit, fluid, seals, filters, fastenings, wheels, steps, readings, level_check)\n\
         rule deep \"Deep\"\n  demands {nested}some h in all_of_it: h.place is \"A\"\n  otherwise hold \"No.\"\n"
    );
    assert!(read(&many).contains("seals[].place"));
}
