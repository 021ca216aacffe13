//! The blank record: filled in it passes, blank it is a job in work.

use serde_json::Value;
use witnessmark::document::{Forms, NodeKind, read};
use witnessmark::source::Sources;

use super::{GOOD, SETTINGS, fill, inspected, procedure, run, sheet};
use crate::support::{Folder, finish, program, root};

/// The check that the sheet exists for. The record is filled in by its comments alone, so they are true too.
#[test]
fn filled_in_by_its_comments_a_sheet_passes() {
    for name in GOOD {
        let record = fill::filled(&sheet(name));
        let (code, report) = inspected(&record);
        let document = &report["documents"][0];
        let nothing = Value::Array(Vec::new());
        assert_eq!(
            (&document["diagnostics"], &document["findings"]),
            (&nothing, &nothing),
            "{name}\n{record}"
        );
        assert_eq!(code, 0, "{name}");
        let tallies = document["tallies"].as_array().unwrap();
        let met: u64 = tallies.iter().map(|tally| tally["met"].as_u64().unwrap()).sum();
        assert!(met > 10, "{name} meets only {met} demands");
    }
}

/// A record filled in wrongly is found out: the check above does not pass whatever stands there.
#[test]
fn a_sheet_with_one_wrong_value_does_not_pass() {
    let record = fill::filled(&sheet("six-speed-sump-service"));
    let wrong = record.replacen("torque: 45 Nm", "torque: 55 Nm", 1);
    assert_ne!(wrong, record);
    assert_eq!(inspected(&wrong).0, 1);
}

/// Whatever a rule misses on the blank record has a line that waits for it.
#[test]
fn blank_a_sheet_is_a_job_in_work_and_all_that_is_missing_has_its_line() {
    for name in GOOD {
        let blank = sheet(name);
        let (_, report) = inspected(&blank);
        let document = &report["documents"][0];
        for finding in document["findings"].as_array().unwrap() {
            assert_eq!(finding["standing"], "still_to_do", "{name}: {finding:#}");
        }
        // A job has a number and a day from its first minute.
        let errors: Vec<&str> = document["diagnostics"]
            .as_array()
            .unwrap()
            .iter()
            .map(|found| found["message"].as_str().unwrap())
            .collect();
        let wanted = ["number", "opened"]
            .map(|field| format!("the field `{field}` of the job has no value, and it must have one"));
        assert_eq!(errors, wanted, "{name}");

        let mut sources = Sources::new();
        let source = sources.add("sheet", blank.as_str());
        let (documents, _) = read(source, &blank, &Forms::builtin());
        for finding in document["findings"].as_array().unwrap() {
            let path = finding["path"].as_str().unwrap();
            let found = documents[0].find(path).unwrap_or_else(|| panic!("{name} has no line for {path}"));
            assert!(matches!(documents[0].node(found).kind, NodeKind::Empty), "{name}: {path} is filled in");
        }
        assert!(document["findings"].as_array().unwrap().len() > 10, "{name}");
    }
}

#[test]
fn limits_stand_behind_the_blanks_in_the_units_of_the_workshop() {
    let sheet = sheet("six-speed-sump-service");
    for line in [
        "    torque:                       # 45 Nm ± 10 %: 40.5 Nm .. 49.5 Nm\n",
        "  # torque: 10 Nm ± 10 %: 9 Nm .. 11 Nm\n",
        "      held:                       # at least 3 s (procedure); at least 2 s (level); at most 60 s (level)\n",
        "  distance:                       # 2 km .. 200 km (job_basics); at least 8 km (house)\n",
        "  appearance:                     # clear or dark (oil_service); not milky (oil_service); clear | dark | burnt | milky\n",
        "    edition: 3\n    content: ",
    ] {
        assert!(sheet.contains(line), "`{line}` is not in\n{sheet}");
    }
    let axle = super::sheet("rear-axle-oil");
    assert!(axle.contains("# 33 lbf·ft ± 10 %: 29.7 lbf·ft .. 36.3 lbf·ft\n"), "{axle}");
}

/// The limit of a standard is shown beside another one of the procedure.
#[test]
fn a_limit_of_the_standard_is_shown_beside_that_of_the_procedure() {
    let text = procedure("").replace("final drive", "stepped automatic")
        + "level_check: {positions: [{position: R, hold: at least 4 s}]}\n";
    let folder = crate::support::Folder::new();
    folder.write("p.yaml", text);
    let ran = folder.run("sheet p.yaml --without-settings --as-of 2026-03-02");
    assert!(
        ran.out.contains("held:                       # at least 4 s (procedure); at least 2 s (level); at most 60 s (level)\n"),
        "{ran:#?}"
    );
}

/// What the procedure states of the wheels, the drive and the learning run has its line.
#[test]
fn tyre_pressures_a_drive_and_a_learning_run_have_their_lines() {
    let more = "fastenings: [{role: wheel nut, count: 4, torque: 120 Nm ± 5 %}]\nwheels:\n  - {position: front left, pressure: 2.3 bar .. 2.5 bar}\n  \
                - {position: rear left, pressure: at least 2.6 bar}\nlearning_run: {required: yes}\nroad_test: {distance: at least 12 km}\n";
    let folder = Folder::new();
    folder.write("p.yaml", procedure(more).replace("final drive", "wheels"));
    let sheet = folder.run("sheet p.yaml --without-settings --as-of 2026-03-02").out;
    for lines in [
        "  - position: front left\n",
        "    pressure:                     # 2.3 bar gauge .. 2.5 bar gauge\n",
        "    pressure:                     # at least 2.6 bar gauge\n",
        "  distance:                       # at least 12 km\n",
        "learning_run:\n  required: yes\n  done:                           # yes (job_basics)\n",
    ] {
        assert!(sheet.contains(lines), "`{lines}` is not in\n{sheet}");
    }
    assert_eq!(sheet.matches("- position: ").count(), 2, "{sheet}");
    let (documents, diagnostics) = read(Sources::new().add("sheet", ""), &sheet, &Forms::builtin());
    let required = documents[0].find("learning_run.required").unwrap();
    assert!(documents[0].value(required).is_some(), "{diagnostics:?}\n{sheet}");
}

/// One entry for each fastening, each place once.
#[test]
fn every_fastening_has_an_entry_of_its_own() {
    let sheet = sheet("wheels");
    for wheel in ["front left", "front right", "rear left", "rear right"] {
        for nut in 1..=5 {
            assert_eq!(sheet.matches(&format!("place: {wheel} {nut},")).count(), 1, "{sheet}");
        }
    }
    assert_eq!(sheet.matches("role: wheel nut").count(), 20);
    assert_eq!(super::sheet("eight-speed-sump-service").matches("role: sump screw").count(), 13);
}

/// A procedure that does not hold to its own rules gives a sheet, and a warning that ends in exit code 1.
#[test]
fn a_procedure_with_holds_gives_a_sheet_with_a_warning() {
    let ran = run(&format!("sheet {}/chain-gearbox-fluid.yaml", super::PROCEDURES), "");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("has 8 holds: inspect it before anyone works by this sheet"), "{ran:#?}");
    assert!(ran.out.contains("form: job/1\n"));
    let ran = run(&format!("sheet --print {}/chain-gearbox-fluid.yaml", super::PROCEDURES), "");
    assert!(ran.out.contains("Do not work by this sheet: its procedure has 8 holds."));
}

/// With guarded acceptance a reading at the limit is undecided, so the sheet says how far inside it is safe.
#[test]
fn a_sheet_says_where_uncertain_readings_are_safe() {
    let folder = Folder::new();
    folder.write(
        "p.yaml",
        procedure("fastenings:\n  - {role: plug, place: pan, count: 1, torque: 45 Nm ± 10 %}\n  - {role: cap, place: pan, count: 1}\n"),
    );
    let rule = |decision: &str| {
        format!(
            "standard own edition 1 \"Own\"\njudges job\nrule cap \"Caps are tight\"\n  concerns each f in fastenings where f.role is \"cap\"\n  \
             demands f.torque within 9 Nm .. 11 Nm{decision}\n  otherwise hold \"No.\"\n"
        )
    };
    let settings = |decision: &str| {
        format!("form: workshop/1\nworkshop: {{name: T}}\nstandards: [own.standard]\ndecision: {decision}\n")
    };
    let tool = "inside its limits by the uncertainty of the tool";
    let half = "inside its limits by 0.5 times the uncertainty of the tool";
    let share = "so far inside its limits that, with the uncertainty of the tool, it conforms with 95 %";
    for (decision, own, plug, cap) in [
        ("simple acceptance", "", None, None),
        ("guarded rejection", "", None, None),
        ("guarded acceptance", "", Some(tool), Some(tool)),
        ("guarded acceptance", " by simple acceptance", Some(tool), None),
        ("simple acceptance", " by guarded acceptance 0.5", None, Some(half)),
        ("simple acceptance", " by guarded acceptance 95 %", None, Some(share)),
        ("simple acceptance", " by guarded rejection", None, None),
    ] {
        folder.write("own.standard", rule(own));
        folder.write("workshop.yaml", settings(decision));
        let sheet = folder.run("sheet p.yaml").quietly(0).out;
        let torques: Vec<&str> =
            sheet.lines().filter(|line| line.trim_start().starts_with("torque:")).collect();
        let [first, second] = torques.as_slice() else { panic!("{sheet}") };
        for (line, limits, safe) in [(first, "40.5 Nm .. 49.5 Nm", plug), (second, "9 Nm .. 11 Nm", cap)] {
            assert!(line.contains(limits), "{decision}{own}: {line}");
            let said = line.split_once("; safe ").map(|(_, words)| words);
            assert_eq!(said, safe, "{decision}{own}: {line}");
        }
        let page = folder.run("sheet p.yaml --print").quietly(0).out.replace("<wbr>", "");
        for wanted in [plug, cap].into_iter().flatten() {
            assert!(
                page.contains(&format!("A reading with a tool is safe {wanted}")),
                "{decision}{own}: {page}"
            );
        }
        assert_eq!(page.contains("Uncertain readings"), plug.or(cap).is_some(), "{decision}{own}");
    }
}

/// What the register states of its tools turns those words into figures. By hand: 45 Nm ± 10 % is 40.5 Nm to
/// 49.5 Nm; drawn in by 1.8 Nm, 42.3 Nm to 47.7 Nm; by 0.5 × 1.8 Nm, 41.4 Nm to 48.6 Nm; and for 97.5 % by
/// 1.96 × 1.8 Nm/2 = 1.764 Nm, which is rounded up to 1.8 Nm.
#[test]
fn the_tools_of_the_register_tell_in_figures_which_readings_are_safe() {
    let folder = Folder::new();
    folder.write(
        "p.yaml",
        procedure("fastenings:\n  - {role: plug, place: pan, count: 1, torque: 45 Nm ± 10 %}\n"),
    );
    let tools = "form: tools/1\ntools:\n\
        - {number: W-1, torque: {range: 20 Nm .. 120 Nm, uncertainty: 1.8 Nm}}\n\
        - {number: W-2, torque: {range: 20 Nm .. 49 Nm, uncertainty: 0.1 Nm}}\n\
        - {number: W-3, torque: {range: 20 Nm .. 120 Nm}}\n\
        - {number: W-4, in_use: no, torque: {range: 20 Nm .. 120 Nm, uncertainty: 0.2 Nm}}\n\
        - {number: W-5, torque: {range: 20 Nm .. 120 Nm, uncertainty: 5 Nm, coverage: 2}}\n";
    folder.write("tools.yaml", tools);
    let rule = |decision: &str| {
        format!(
            "standard own edition 1 \"Own\"\njudges job\nrule plug \"Plugs are tight\"\n  concerns each f in fastenings\n  \
             demands f.torque within 45 Nm ± 10 %{decision}\n  otherwise hold \"No.\"\n"
        )
    };
    let settings = |decision: &str, tools: &str| {
        format!(
            "form: workshop/1\nworkshop: {{name: T}}\nstandards: [own.standard]\ndecision: {decision}\ndocuments: {{tools: [{tools}]}}\n"
        )
    };
    let line = || {
        let sheet = folder.run("sheet p.yaml").quietly(0).out;
        sheet.lines().find(|line| line.trim_start().starts_with("torque:")).unwrap().to_owned()
    };
    let by = "safe inside its limits by the uncertainty of the tool: 42.3 Nm .. 47.7 Nm with W-1, nothing with W-5";
    folder.write("own.standard", rule(""));
    folder.write("workshop.yaml", settings("guarded acceptance", "tools.yaml"));
    assert!(line().ends_with(by), "{}", line());
    let page = folder.run("sheet p.yaml --print").quietly(0).out.replace("<wbr>", "");
    assert!(page.contains("(safe: 42.3 Nm .. 47.7 Nm with W-1, nothing with W-5)"), "{page}");
    // Two rules for one value are told in words alone.
    folder.write("own.standard", rule(" by guarded acceptance 0.5"));
    assert!(line().ends_with("by 0.5 times the uncertainty of the tool"), "{}", line());
    folder.write("p.yaml", procedure("fastenings:\n  - {role: plug, place: pan, count: 1}\n"));
    assert!(
        line().ends_with("of the tool: 41.4 Nm .. 48.6 Nm with W-1, 43 Nm .. 47 Nm with W-5"),
        "{}",
        line()
    );
    folder.write("own.standard", rule(" by guarded acceptance 97.5 %"));
    assert!(line().contains(": 42.3 Nm .. 47.7 Nm with W-1"), "{}", line());
    // More than three are counted.
    let more = tools.replace("in_use: no, ", "")
        + &tools.lines().skip(2).map(|line| line.replace("W-", "V-") + "\n").collect::<String>();
    folder.write("tools.yaml", more);
    assert!(line().ends_with(", 2 more tools would do"), "{}", line());
    // A register that is not there is said when a job is inspected; the sheet has the words.
    folder.write("workshop.yaml", settings("guarded acceptance", "missing.yaml"));
    assert!(!line().contains("with W-"), "{}", line());
}

/// Without a procedure the record has what the standards ask of any job on such a unit.
#[test]
fn a_unit_without_a_procedure_has_a_sheet_too() {
    for kind in ["twin clutch", "engine", "wheels", "brakes"] {
        let mut command = program(&root());
        command.args(["sheet", "--settings", SETTINGS, "--unit", kind, "--family", "seven speed"]);
        let ran = finish(command, "");
        let ran = ran.quietly(0).says(&[&format!("# {kind}, seven speed\n"), &format!("  kind: {kind}\n")]);
        assert!(!ran.out.contains("procedure:"), "{}", ran.out);
        let (_, report) = inspected(&ran.out);
        let document = &report["documents"][0];
        let findings = document["findings"].as_array().unwrap();
        assert!(findings.len() > 5, "{kind}: {findings:#?}");
        for finding in findings {
            assert_eq!(finding["standing"], "still_to_do", "{kind}: {finding:#}");
        }
        let by = ran.out.lines().find(|line| line.starts_with("# Judged by: ")).unwrap();
        for standard in document["standards"].as_array().unwrap() {
            assert!(by.contains(standard.as_str().unwrap()), "{kind}: {standard} is not in {by}");
        }
    }
}

#[test]
fn a_unit_that_is_none_gets_a_near_name() {
    let said = |arguments: &[&str], wanted: &str| {
        let mut command = program(&root());
        command.arg("sheet").args(arguments);
        finish(command, "").refused(wanted)
    };
    said(&["--unit", "twin cluch"], "there is no kind of unit `twin cluch`; did you mean `twin clutch`?");
    said(&["--unit", "submarine"], "there is no kind of unit `submarine`; write one of `");
    said(&["--family", "seven speed"], "--unit");
    said(&[], "<PROCEDURE>");
}
