//! Procedures against the standards for jobs: a job that is done exactly as the procedure says must pass.

use witnessmark::code::{AGAINST_STANDARD, MANY_FINDINGS};
use witnessmark::diagnostic::{Diagnostic, Level};
use witnessmark::session::Session;

use crate::support::{session, text};

/// A standard for jobs with one rule.
fn standard(rule: &str) -> Session {
    session(&[("small.standard", &format!("standard small edition 1 \"small\"\njudges job\n{rule}"))])
}

/// A rule on each fastening.
fn each(list: &str, demand: &str) -> Session {
    standard(&format!(
        "rule right \"It is right\"\n  concerns each x in {list}\n  demands {demand}\n  otherwise hold \"Wrong.\"\n"
    ))
}

/// A rule on the whole job.
fn whole(demand: &str) -> Session {
    standard(&format!("rule right \"It is right\"\n  demands {demand}\n  otherwise hold \"Wrong.\"\n"))
}

const HEAD: &str =
    "form: procedure/1\nprocedure: {name: small, edition: 1}\nunit: {kind: final drive, family: open}\n";

/// What contradicts the standards in a procedure with these further lines: line, level and message.
fn said(session: &Session, more: &str) -> Vec<(usize, Level, String)> {
    let judged = session.judge("p.yaml", &format!("{HEAD}{more}"));
    assert!(session.diagnostics().is_empty(), "{:#?}", session.diagnostics());
    let [judged] = judged.as_slice() else { panic!("{judged:#?}") };
    let mut said = Vec::new();
    for found in &judged.diagnostics {
        if found.code.as_str() == "run/no-standard-applies" {
            continue;
        }
        assert_eq!(found.code, AGAINST_STANDARD, "{found:#?}");
        let [value, demand] = found.labels.as_slice() else { panic!("{found:#?}") };
        assert_eq!(judged.sources.name(demand.place.source), "small.standard");
        assert_eq!(demand.text, "It is right");
        let line = judged.sources.start_of(value.place).unwrap().line;
        let message = found.message.strip_prefix("a job done by this procedure would break `small.right`: ");
        said.push((line, found.level, message.unwrap().to_owned()));
    }
    said
}

/// Asserts that just one value contradicts, on the given line behind the head of the procedure.
fn contradicts(session: &Session, more: &str, line: usize, message: &str) {
    assert_eq!(said(session, more), [(line + 3, Level::Error, message.to_owned())], "{more}");
}

fn agrees(session: &Session, more: &str) {
    assert_eq!(said(session, more), [], "{more}");
}

/// A value that only the procedure has, and of which a job's rule speaks.
#[test]
fn what_a_rule_reads_in_the_procedure_itself_is_held_against_it() {
    let window = whole(
        "not recorded procedure.level_check.window or upper_limit(procedure.level_check.window) at most 90 °C",
    );
    agrees(&window, "level_check: {window: 30 °C .. 50 °C}\n");
    contradicts(
        &window,
        "level_check: {window: 95 °C .. 105 °C}\n",
        1,
        "105 °C (upper limit of 95 °C .. 105 °C) by `window: 95 °C .. 105 °C`, at most 90 °C required",
    );
}

#[test]
fn both_ends_of_a_range_are_tried_and_the_worse_one_said() {
    let torque = each("fastenings", "x.torque within 45 Nm ± 10 %");
    let joint = |range: &str| format!("fastenings:\n  - {{role: plug, torque: {range}}}\n");
    agrees(&torque, &joint("45 Nm ± 10 %"));
    agrees(&torque, &joint("40.5 Nm .. 49.5 Nm"));
    let required = "45 Nm ± 10 % (40.5 Nm .. 49.5 Nm) required";
    for (range, value) in [
        ("55 Nm ± 5 Nm", "60 Nm at the upper end of `55 Nm ± 5 Nm`"),
        ("35 Nm ± 5 Nm", "30 Nm at the lower end of `35 Nm ± 5 Nm`"),
        // 10.5 Nm too low, 0.5 Nm too high; and the other way round.
        ("30 Nm .. 50 Nm", "30 Nm at the lower end of `30 Nm .. 50 Nm`"),
        ("40 Nm .. 60 Nm", "60 Nm at the upper end of `40 Nm .. 60 Nm`"),
        ("40.5 Nm .. 49.51 Nm", "49.51 Nm at the upper end of `40.5 Nm .. 49.51 Nm`"),
    ] {
        contradicts(&torque, &joint(range), 2, &format!("{value}, {required}"));
    }
}

/// Half of it goes in first at both ends, and two thirds where much goes in first and little in all.
#[test]
fn of_each_two_ranges_one_end_is_tried_with_the_other_end() {
    let first = each(
        "fluid.fills",
        "x.stage is \"first\" implies x.volume at most (sum of y.volume over y in fluid.fills) × 60 %",
    );
    let fluid = |first: &str| {
        format!(
            "level_check: {{window: 30 °C .. 50 °C}}\nfluids:\n  - {{volume: 6 L .. 8 L, first_fill: {first}}}\nroad_test: {{distance: 8 km .. 12 km}}\n"
        )
    };
    agrees(&first, &fluid("3 L .. 3.5 L"));
    let found = said(&first, &fluid("3 L .. 4 L"));
    let [(line, Level::Error, message)] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!(*line, 6);
    assert!(message.starts_with("4 L at the upper end of `3 L .. 4 L`, at most 3.6 L"), "{message}");
    assert!(message.ends_with(" required, with other ranges at their other end"), "{message}");
}

#[test]
fn a_range_with_one_end_is_tried_at_that_end() {
    let torque = each("fastenings", "x.torque within 20 Nm .. 40 Nm");
    let joint = |range: &str| format!("fastenings:\n  - {{role: plug, torque: {range}}}\n");
    for range in ["at least 20 Nm", "at most 40 Nm", "above 20 Nm", "below 40 Nm"] {
        agrees(&torque, &joint(range));
    }
    for (range, value) in [
        ("at least 19 Nm", "19 Nm"),
        ("above 19 Nm", "19 Nm"),
        ("at most 41 Nm", "41 Nm"),
        ("below 41 Nm", "41 Nm"),
    ] {
        contradicts(
            &torque,
            &joint(range),
            2,
            &format!("{value} at the end of `{range}`, 20 Nm .. 40 Nm required"),
        );
    }
}

/// Just above 20 Nm is above 20 Nm, and not below it.
#[test]
fn an_end_that_does_not_belong_to_its_range_is_no_value_of_it() {
    let joint = |range: &str| format!("fastenings:\n  - {{role: plug, torque: {range}}}\n");
    let above = each("fastenings", "x.torque above 20 Nm");
    agrees(&above, &joint("above 20 Nm"));
    contradicts(
        &above,
        &joint("at least 20 Nm"),
        2,
        "20 Nm at the end of `at least 20 Nm`, above 20 Nm required",
    );
    let below = each("fastenings", "x.torque below 20 Nm");
    contradicts(&below, &joint("above 20 Nm"), 2, "20 Nm at the end of `above 20 Nm`, below 20 Nm required");
    agrees(&below, &joint("below 20 Nm"));
}

/// One contradiction of each kind of value: the rule, the procedure, the line and the words.
#[test]
fn each_kind_of_value_can_contradict() {
    let joint = "fastenings:\n  - role: plug\n    place: pan\n    thread: M18x1.5\n    property_class: \"8.8\"\n    \
                 stages: [{torque: 20 Nm ± 2 Nm}, {angle: 90° ± 5°}]\n    new: no\n    marked: no\n";
    let fluid = "fluids:\n  - specification: AF-6\n    product: Oil\n    volume: 5 L .. 6 L\n    first_fill: at least 4 L\n";
    let filter = "filters:\n  - place: pan\n    kind: internal\n    media: felt\n    beta: 75\n    at_size: 60 µm\n    renewed: no\n";
    let seal = "seals:\n  - place: sump\n    kind: gasket\n    disturbed: yes\n    renewed: no\n    lubricated: no\n";
    let rest = "learning_run: {required: yes}\nroad_test: {distance: 8 km .. 12 km}\nwheels:\n  - {position: front left, pressure: 2.3 bar .. 2.5 bar}\n\
                level_check:\n  method: overflow\n  run_out: 0.2 L .. 0.6 L\n";
    let check = "level_check:\n  window: 30 °C .. 50 °C\n  engine: running\n  vehicle_level: no\n  \
                 positions:\n    - {position: R, hold: at least 2 s}\n    - {position: D, hold: 3 s .. 5 s}\n";
    let steps = "steps:\n  - name: drain\n    engine: running\n    lift: lowered\n    positions: [{position: P, hold: at least 1 s}]\n";
    for (list, demand, procedure, line, message) in [
        ("fastenings", "x.role is \"screw\"", joint, 2, "`role: plug`, screw required"),
        ("fastenings", "x.place is \"case\"", joint, 3, "`place: pan`, case required"),
        ("fastenings", "x.thread is \"M20x1.5\"", joint, 4, "`thread: M18x1.5`, M20x1.5 required"),
        (
            "fastenings",
            "x.property_class is not \"8.8\"",
            joint,
            5,
            "`property_class: 8.8`, anything but 8.8 required",
        ),
        (
            "fastenings, each y in x.stages",
            "y.torque at most 20 Nm",
            joint,
            6,
            "22 Nm at the upper end of `20 Nm ± 2 Nm`, at most 20 Nm required",
        ),
        (
            "fastenings, each y in x.stages",
            "y.angle at least 90°",
            joint,
            6,
            "85° at the lower end of `90° ± 5°`, at least 90° required",
        ),
        (
            "fastenings",
            "x.angle within 90° ± 3°",
            joint,
            6,
            "85° at the lower end of `90° ± 5°`, 90° ± 3° (87° .. 93°) required",
        ),
        ("fastenings", "x.new", joint, 7, "`new: no`, yes required"),
        ("fastenings", "x.marked", joint, 8, "`marked: no`, yes required"),
        ("", "fluid.specification is \"AF-8\"", fluid, 2, "`specification: AF-6`, AF-8 required"),
        (
            "",
            "fluid.product is not one of (\"Oil\", \"Fat\")",
            fluid,
            3,
            "`product: Oil`, anything but Oil or Fat required",
        ),
        (
            "",
            "sum of f.volume over f in fluid.fills at most 5.5 L",
            fluid,
            4,
            "6 L (sum of f.volume over f in fluid.fills) at the upper end of `5 L .. 6 L`, at most 5.5 L required",
        ),
        (
            "fluid.fills where x.stage is \"first\"",
            "x.volume at least 4.5 L",
            fluid,
            5,
            "4 L at the end of `at least 4 L`, at least 4.5 L required",
        ),
        (
            "fluid.fills where x.stage is \"second\"",
            "x.volume at most 1.5 L",
            fluid,
            4,
            "2 L at the upper end of `5 L .. 6 L`, at most 1.5 L required",
        ),
        ("filters", "x.kind is \"external\"", filter, 3, "`kind: internal`, external required"),
        ("filters", "x.media_fitted is \"paper\"", filter, 4, "`media: felt`, paper required"),
        ("filters", "x.beta at least 100", filter, 5, "`beta: 75`, at least 100 required"),
        ("filters", "x.at_size at most 50 µm", filter, 6, "`at_size: 60 µm`, at most 50 µm required"),
        ("filters", "x.renewed", filter, 7, "`renewed: no`, yes required"),
        ("seals", "x.kind is \"ring\"", seal, 3, "`kind: gasket`, ring required"),
        ("seals", "not x.disturbed", seal, 4, "`disturbed: yes`, no required"),
        ("seals", "x.renewed", seal, 5, "`renewed: no`, yes required"),
        ("seals", "x.lubricated", seal, 6, "`lubricated: no`, yes required"),
        (
            "",
            "level_check.temperature below 50 °C",
            check,
            2,
            "50 °C at the upper end of `30 °C .. 50 °C`, below 50 °C required",
        ),
        ("", "level_check.engine is \"off\"", check, 3, "`engine: running`, off required"),
        ("", "level_check.vehicle_level", check, 4, "`vehicle_level: no`, yes required"),
        (
            "",
            "some x in level_check.positions: x.position is \"N\"",
            check,
            6,
            "none of 2 in its `positions`, an entry in `level_check.positions` with `position` is N required",
        ),
        (
            "level_check.positions where x.position is \"R\"",
            "x.held at least 3 s",
            check,
            6,
            "2 s at the end of `at least 2 s`, at least 3 s required",
        ),
        (
            "level_check.positions",
            "x.held at most 4 s",
            check,
            7,
            "5 s at the upper end of `3 s .. 5 s`, at most 4 s required",
        ),
        ("", "not learning_run.required", rest, 1, "`required: yes`, no required"),
        (
            "",
            "road_test.distance at most 10 km",
            rest,
            2,
            "12 km at the upper end of `8 km .. 12 km`, at most 10 km required",
        ),
        (
            "wheels where x.position is \"front left\"",
            "x.pressure at least 2.4 bar",
            rest,
            4,
            "2.3 bar gauge at the lower end of `2.3 bar .. 2.5 bar`, at least 2.4 bar gauge required",
        ),
        ("", "level_check.method is \"dipstick\"", rest, 6, "`method: overflow`, dipstick required"),
        (
            "",
            "level_check.run_out at most 0.5 L",
            rest,
            7,
            "0.6 L at the upper end of `0.2 L .. 0.6 L`, at most 0.5 L required",
        ),
        ("steps", "x.engine is \"off\"", steps, 3, "`engine: running`, off required"),
        ("steps", "x.lift is \"raised\"", steps, 4, "`lift: lowered`, raised required"),
        (
            "steps, each y in x.positions",
            "y.held above 1 s",
            steps,
            5,
            "1 s at the end of `at least 1 s`, above 1 s required",
        ),
        ("", "unit.family is \"locked\"", "", 0, "`family: open`, locked required"),
        ("", "job.procedure.edition at least 2", "", -1, "`edition: 1`, at least 2 required"),
    ] {
        let session = if list.is_empty() { whole(demand) } else { each(list, demand) };
        let line = usize::try_from(line + 3).unwrap();
        assert_eq!(said(&session, procedure), [(line, Level::Error, message.to_owned())], "{demand}");
    }
}

/// What the procedure leaves open is for the job to record; it breaks nothing here.
#[test]
fn what_a_procedure_leaves_open_contradicts_nothing() {
    let joint = "fastenings:\n  - {role: plug, place: pan, torque: 45 Nm ± 10 %}\n";
    for demand in ["x.new", "x.tool is \"T-07\"", "recorded x.tool", "x.order at least 1", "x.angle above 1°"]
    {
        agrees(&each("fastenings", demand), joint);
    }
    agrees(&whole("vehicle.odometer above 0 km and road_test.done"), joint);
    agrees(&whole("recorded fault_memory"), joint);
    // How many there are is for the entries to say, and the learning run for the work.
    agrees(&each("fastenings", "not recorded x.count"), &joint.replace("place: pan", "place: pan, count: 4"));
    agrees(&whole("learning_run.done"), "learning_run: {required: yes}\n");
    agrees(&whole("every s in seals: s.renewed"), joint);
    agrees(
        &whole("sum of f.volume over f in fluid.fills above 9 L"),
        "fluids: [{first_fill: at least 4 L}]\n",
    );
    agrees(&each("fluid.fills", "x.stage is \"second\""), "fluids: [{volume: 5 L .. 6 L}]\n");
    let counted = "rule right \"It is right\"\n  concerns each m in magnets, at least 1\n  demands m.cleaned\n  otherwise hold \"Wrong.\"\n";
    agrees(&standard(counted), joint);
}

/// A rule can compare a job with its procedure: with itself, it agrees.
#[test]
fn a_job_by_the_procedure_keeps_to_the_procedure() {
    let joints = "fastenings:\n  - {role: screw, place: front, count: 3, torque: 9 Nm ± 1 Nm, stages: [{torque: 5 Nm ± 1 Nm}]}\n  \
                  - {role: screw, place: rear, count: 2, torque: 20 Nm ± 2 Nm, stages: [{torque: 8 Nm ± 1 Nm}]}\n";
    agrees(&each("fastenings", "x.torque within x.prescribed.torque"), joints);
    agrees(&each("fastenings, each y in x.stages", "y.torque within y.prescribed.torque"), joints);
    let tighter = each("fastenings", "x.torque within lower_limit(x.prescribed.torque) .. 20 Nm");
    let found = said(&tighter, joints);
    let tried: Vec<usize> = found.iter().map(|(line, ..)| *line).collect();
    assert_eq!(tried, [6], "{found:#?}");
    let steps = "steps: [{name: fill, order: 2}, {name: drain, order: 1}]\n";
    agrees(
        &each("steps where recorded x.entry_before", "x.planned.order above x.entry_before.planned.order"),
        steps,
    );
}

#[test]
fn several_alike_are_counted_and_said_once() {
    let joints = |count: u64| {
        format!("fastenings:\n  - {{role: screw, place: pan, count: {count}, torque: 9 Nm ± 1 Nm}}\n")
    };
    let torque = each("fastenings", "x.torque at least 9 Nm");
    contradicts(&torque, &joints(6), 2, "8 Nm at the lower end of `9 Nm ± 1 Nm`, at least 9 Nm required");
    let six = whole("(count of x in fastenings where x.role is \"screw\") is 6");
    agrees(&six, &joints(6));
    let words = "5 (count of x in fastenings where x.role is \"screw\") in its `fastenings`, 6 required";
    contradicts(&six, &joints(5), 2, words);
    agrees(&each("fastenings", "x.place is not \"pan\""), &joints(2));
    contradicts(
        &each("fastenings", "x.place is not \"pan\""),
        &joints(1),
        2,
        "`place: pan`, anything but pan required",
    );
}

#[test]
fn only_what_is_in_force_for_this_kind_of_unit_counts() {
    let more = "fastenings:\n  - {role: plug, torque: 45 Nm ± 10 %}\n";
    let rule = "rule right \"It is right\"\n  concerns each x in fastenings\n  demands x.torque below 1 Nm\n  otherwise hold \"Wrong.\"\n";
    let of = |condition: &str| standard(&format!("where {condition}\n{rule}"));
    assert_eq!(said(&of("unit.kind is \"final drive\""), more).len(), 1);
    agrees(&of("unit.kind is \"engine\""), more);
    agrees(&of("vehicle.market is \"europe\""), more);
    let of_procedures = session(&[(
        "p.standard",
        "standard small edition 1 \"small\"\njudges procedure\nrule right \"It is right\"\n  demands recorded steps\n  otherwise hold \"Wrong.\"\n",
    )]);
    agrees(&of_procedures, more);
    agrees(&session(&[]), more);
    // And a job is not taken for a procedure.
    let job = "form: job/1\njob: {number: A}\nvehicle: {}\nunit: {kind: final drive}\nfastenings: [{role: plug, torque: 45 Nm}]\n";
    let judged = each("fastenings", "x.torque below 1 Nm").judge("j.yaml", job);
    assert!(judged[0].diagnostics.iter().all(|found| found.code != AGAINST_STANDARD), "{judged:#?}");
}

/// A job passes with advice and notes, so these are no errors.
#[test]
fn a_rule_that_only_advises_makes_no_error() {
    for severity in ["advice", "note"] {
        let rule =
            "rule right \"It is right\"\n  concerns each x in seals\n  demands x.renewed\n  otherwise ";
        let session = standard(&format!("{rule}{severity} \"Wrong.\"\n"));
        let found = said(&session, "seals:\n  - {place: sump, renewed: no}\n");
        assert_eq!(found, [(5, Level::Advice, "`renewed: no`, yes required".to_owned())]);
    }
}

#[test]
fn huge_counts_and_long_lists_stay_bounded() {
    let torque = each("fastenings", "x.torque at most 1 Nm");
    let many = "fastenings:\n".to_owned()
        + &"  - {role: screw, place: pan, count: 999999999, torque: 9 Nm ± 1 Nm}\n".repeat(700);
    let judged = torque.judge("p.yaml", &format!("{HEAD}{many}"));
    let of = |code| judged[0].diagnostics.iter().filter(move |found: &&Diagnostic| found.code == code);
    assert_eq!(of(AGAINST_STANDARD).count(), 100);
    let left: Vec<&str> = of(MANY_FINDINGS).map(|found| found.message.as_str()).collect();
    assert_eq!(left, ["600 more places that contradict `small.right` are not listed"]);
    // The list was cut short, so its length says nothing.
    agrees(&whole("(count of x in fastenings) at most 499"), &many);
}

#[test]
fn values_that_cannot_be_read_contradict_nothing() {
    let torque = each("fastenings", "x.torque below 1 Nm");
    for broken in [
        "fastenings:\n  - {role: plug, torque: 45 °C}\n",
        "fastenings: plug\n",
        "fastenings:\n",
        "fastenings: [~, plug]\n",
    ] {
        let judged = torque.judge("p.yaml", &format!("{HEAD}{broken}"));
        let found = judged.iter().flat_map(|judged| &judged.diagnostics);
        assert!(
            found.clone().all(|found| found.code != AGAINST_STANDARD),
            "{:#?}",
            found.collect::<Vec<_>>()
        );
    }
}

/// The shipped standards find what is wrong with a value of an example.
#[test]
fn the_shipped_standards_judge_the_examples() {
    let shipped = ["job_basics", "oil_service", "level", "fastenings", "seals_and_filters"];
    let files: Vec<(String, String)> = shipped
        .iter()
        .map(|name| (format!("{name}.standard"), text(format!("rules/{name}.standard"))))
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let session = session(&files);
    let good = text("examples/grauwasser/procedures/six-speed-sump-service.yaml");
    let against = |text: &str| -> Vec<String> {
        let judged = session.judge("p.yaml", text);
        let found = judged[0].diagnostics.iter().filter(|found| found.code == AGAINST_STANDARD);
        found.map(|found| found.message.clone()).collect()
    };
    assert_eq!(against(&good), Vec::<String>::new());
    for (from, to, rule) in [
        ("{position: P, hold: at least 3 s}", "{position: P, hold: at least 1 s}", "level.positions_held"),
        (
            "    - {position: R, hold: at least 3 s}\n    - {position: N, hold: at least 3 s}\n",
            "    - {position: R, hold: at least 3 s}\n",
            "level.positions_complete",
        ),
        (
            "media: felt, beta: 75, at_size: 60 µm, renewed: yes",
            "media: felt, renewed: no",
            "seals_and_filters.filter_renewed",
        ),
        (
            "kind: gasket, disturbed: yes, renewed: yes",
            "kind: gasket, disturbed: yes, renewed: no",
            "seals_and_filters.seal_renewed",
        ),
    ] {
        assert!(good.contains(from), "{from}");
        let found = against(&good.replacen(from, to, 1));
        assert_eq!(found.len(), 1, "{found:#?}");
        assert!(found[0].contains(&format!("would break `{rule}`: ")), "{found:#?}");
    }
}

/// A demand that leaves something out can hold at both ends of a range and not between them.
#[test]
fn between_the_ends_of_a_range_values_are_tried_at_and_between_the_figures_of_the_rules() {
    let head = "level_check:\n  window: ";
    for (demand, window, wanted) in [
        (
            "not (level_check.temperature within 40 °C .. 45 °C)",
            "30 °C .. 50 °C",
            Some("42.5 °C between the ends of `30 °C .. 50 °C`"),
        ),
        (
            "level_check.temperature below 40 °C or level_check.temperature at least 41 °C",
            "30 °C .. 50 °C",
            Some("°C between the ends of"),
        ),
        (
            "level_check.temperature at most 40 °C or level_check.temperature at least 40.5 °C",
            "86 °F .. 122 °F",
            Some("104.45 °F, which is 40.25 °C between the ends of"),
        ),
        ("level_check.temperature is not 41 °C", "30 °C .. 50 °C", Some("41 °C between the ends of")),
        ("level_check.temperature is not 51 °C", "30 °C .. 50 °C", None),
        ("not (level_check.temperature within 20 °C .. 29 °C)", "30 °C .. 50 °C", None),
        // Of a range with one end, that end is a value that keeps to it.
        ("not (level_check.temperature within 40 °C .. 45 °C)", "at least 30 °C", None),
    ] {
        let found = said(&whole(demand), &format!("{head}{window}\n"));
        match wanted {
            Some(words) => {
                assert!(found.len() == 1 && found[0].2.contains(words), "{demand} {window}: {found:#?}")
            }
            None => assert_eq!(found, [], "{demand} {window}"),
        }
    }
    // What an end shows is told by that.
    let found = said(
        &whole("not (level_check.temperature within 40 °C .. 60 °C)"),
        &format!("{head}30 °C .. 50 °C\n"),
    );
    assert!(found.len() == 1 && found[0].2.contains("50 °C at the upper end of"), "{found:#?}");
    // A condition parts the values, too.
    let rule = "rule right \"It is right\"\n  concerns where level_check.temperature within 40 °C .. 45 °C\n  demands level_check.engine is \"off\"\n  otherwise hold \"Wrong.\"\n";
    let found = said(&standard(rule), &format!("{head}30 °C .. 50 °C\n  engine: running\n"));
    assert!(found.len() == 1 && found[0].2.contains("with other ranges between their ends"), "{found:#?}");
}
