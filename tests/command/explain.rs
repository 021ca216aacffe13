//! `why`, `schema`, `completions` and `manual`.

use super::{folder, good, hold, open};
use crate::support::Folder;

#[test]
fn a_rule_is_told_in_plain_words() {
    let folder = folder();
    for name in ["plugs.torque", "torque"] {
        folder.run(&format!("why {name} --standard plugs.standard")).quietly(0).says(&[
            "plugs.torque: Plugs are tightened",
            "each f in fastenings where f.role is \"drain plug\"",
            "f.torque within plug",
            "45 Nm ± 10 %",
            "the default, plugs.standard line 4",
            "Plug {f.place}: {f.torque} recorded",
            "common practice",
        ]);
    }
    let given = ["why", "torque", "--standard", "plugs.standard", "--parameter", "plug=30 Nm ± 1 Nm"];
    folder.run_with(given, "").quietly(0).says(&["30 Nm ± 1 Nm", "stated, the command line)"]);
}

/// `torque` is a kind of quantity as well.
#[test]
fn a_name_of_two_meanings_gets_both() {
    let folder = folder();
    folder.run("why torque --standard plugs.standard").quietly(0).says(&["turning moment", "plugs.torque"]);
    let kind = folder.run("why torque --without-settings").quietly(0);
    assert!(!kind.out.contains("plugs"), "{kind:#?}");
    folder.run("why lesser").quietly(0).says(&["The lesser of two quantities"]);
    folder.run("why lbf·ft").quietly(0).says(&["torque"]);
}

/// A figure that a published method computed is shown with formula, figures and source.
#[test]
fn a_computation_is_shown_step_by_step() {
    let folder = folder();
    folder.write(
        "lever.standard",
        "standard lever edition 1 \"Levers\"\njudges job\n\nrule bolt \"Bolts\"\n  concerns each f in fastenings\n  \
         demands torque_at_fastener(f.torque, f.adapter.lever, f.adapter.offset, f.adapter.angle) within 40 Nm .. 46 Nm\n  \
         otherwise hold \"No.\"\n",
    );
    folder.write(
        "lever.yaml",
        "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15, state: closed}\nvehicle: {}\nunit: {kind: engine}\n\
         fastenings:\n  - {torque: 45 Nm, adapter: {lever: 400 mm, offset: 50 mm, angle: 0°}}\n",
    );
    let told = folder.run("why lever.bolt lever.yaml --standard lever.standard");
    let text = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let step = "torque at the fastener: T = T_set·(L + E·cos θ)/L; 45 Nm × (400 mm + 50 mm·cos 0°)/400 mm = 50.625 Nm \
                (US Army TM 9-254)";
    assert_eq!(text.matches(step).count(), 1, "{text}");
}

#[test]
fn a_record_shows_how_each_subject_came_to_its_outcome() {
    let folder = folder();
    let other = "  - {role: sump screw, place: B, torque: 9 Nm}\n";
    folder.write("hold.yaml", hold() + other);
    folder.write("open.yaml", open());
    folder.run("why torque hold.yaml --standard plugs.standard").quietly(0).says(&[
        "fastenings[0]",
        "broken",
        "60 Nm",
        "10.5 Nm above the upper limit",
        "fastenings[1]",
        "not concerned",
        "sump screw",
    ]);
    folder
        .run("why torque open.yaml --standard plugs.standard")
        .quietly(0)
        .says(&["undecided", "`fastenings[0].torque` is not recorded"]);
    folder.run("why torque missing.yaml --standard plugs.standard").refused("there is no such file");
}

#[test]
fn every_code_is_explained() {
    let folder = Folder::new();
    for row in witnessmark::code::CODES {
        let ran = folder.run(&format!("why {}", row.code.as_str())).quietly(0);
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words(&ran.out).contains(&words(row.explanation)), "{}", ran.out);
        assert!(ran.out.contains(row.code.as_str()), "{}", ran.out);
    }
}

#[test]
fn a_misspelt_name_gets_a_near_one() {
    let folder = folder();
    folder.run("why torqe --standard plugs.standard").refused("did you mean `torque`?");
    folder.run("why plugs.torqe --standard plugs.standard").refused("did you mean `plugs.torque`?");
    folder.run("why document/layot").refused("did you mean `document/layout`?");
    folder.run("why nothing_like_it --standard plugs.standard").refused("name a rule as `standard.rule`");
    folder.run("why torque --format json --standard plugs.standard").refused("people");
}

#[test]
fn the_schema_of_a_form_is_printed() {
    let folder = Folder::new();
    for form in ["job", "procedure", "workshop"] {
        let ran = folder.run(&format!("schema {form}")).quietly(0);
        let schema: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(schema["$id"], format!("witnessmark:{form}/1"));
    }
    for report in ["report", "comparison"] {
        let ran = folder.run(&format!("schema {report}")).quietly(0);
        assert_eq!(ran.out, crate::support::text(format!("grammar/{report}.schema.json")));
    }
    folder.run("schema comparision").refused("did you mean `comparison`?");
    folder.run("schema jb").refused("did you mean `job`?");
    folder.run("schema invoice").refused("the forms are job, procedure, tools, logbook, workshop");
}

#[test]
fn each_shell_gets_its_completions() {
    let folder = Folder::new();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        folder.run(&format!("completions {shell}")).quietly(0).says(&[
            "witnessmark",
            "inspect",
            "without-settings",
        ]);
    }
    folder.run("completions tcsh").refused("bash");
}

#[test]
fn the_manual_has_a_page_for_each_verb() {
    let folder = Folder::new();
    folder.write("man/keep", "");
    folder.run("manual man").quietly(0);
    for page in ["", "-inspect", "-prove", "-why", "-schema"] {
        let text = folder.read(&format!("man/witnessmark{page}.1"));
        assert!(text.contains(".TH"), "{text}");
    }
    folder.run("manual nowhere").refused("nowhere");
}

/// A stranger's links lead neither the folder nor a page elsewhere.
#[cfg(unix)]
#[test]
fn the_manual_is_not_written_through_links() {
    let folder = Folder::new();
    folder.write("outside/precious", "mine");
    folder.write("man/keep", "");
    let link = |to: &str, name: &str| {
        std::os::unix::fs::symlink(folder.path().join(to), folder.path().join(name)).unwrap()
    };
    link("outside", "way");
    link("outside/precious", "man/witnessmark.1");
    folder.run("manual way").refused("`way` is a link");
    folder.run("manual man").quietly(0);
    assert_eq!(folder.read("outside/precious"), "mine");
    assert!(!folder.has("outside/witnessmark.1") && folder.read("man/witnessmark.1").contains(".TH"));
}

#[test]
fn a_code_that_a_finding_says_only_in_words_is_explained_too() {
    let folder = Folder::new();
    let code = "run/clock-change";
    let ran = folder.run_with(["why", code, "--without-settings", "--format", "plain"], "").quietly(0);
    ran.says(&[code, "Where the clocks are put forward"]);
}

const FIGURES: &str = "standard figures edition 3 \"Figures\"\njudges job\nwhere unit.kind is \"engine\"\n\nlet screw = 9 Nm ± 10 %\n\n\
    parameter plug is torque range \"Torque of the plugs\" = 45 Nm ± 10 %\nparameter cap is torque range \"Torque of the cap\"\n\n\
    table refill by unit.family\n  \"six\" : 5.0 L .. 6.2 L\n  \"eight\" : 5.6 L .. 7.0 L\n\n\
    rule screws \"Screws\"\n  concerns each f in fastenings\n  demands f.torque within screw or f.torque within plug\n  otherwise hold \"x\"\n\
    rule filled \"Filled\"\n  demands fluid.drained.volume within refill\n  otherwise hold \"x\"\n";

/// Parameters of every kind: by keys, from a field, words of a field, and one value for all.
const PARAMETERS: &str = "standard limits edition 1 \"Limits\"\njudges job\n\n\
    parameter torque is torque range of s in fastenings by unit.family, s.role\n  \"Torque\"\n  from s.prescribed.torque\n\
    parameter medium is filters.media_fitted \"Medium\"\nparameter wait is duration by unit.family \"Wait\" = 30 s\n\n\
    rule tight \"Tight\"\n  concerns each s in fastenings\n  demands s.torque within torque of s\n  otherwise hold \"x\"\n";

#[test]
fn the_parameters_of_a_standard_are_listed_with_what_differs_and_where_from() {
    let folder = Folder::new();
    folder.write("l.standard", PARAMETERS);
    let why = |name: &str| {
        folder.run(&format!("why {name} --standard l.standard --without-settings --width 200")).quietly(0)
    };
    let torque = "a range of torque by `unit.family`, `s.role`, of each `s in fastenings`; no default; \
                  `s.prescribed.torque` goes before what is stated\n";
    why("limits").says(&[
        &format!("  parameter: `limits.torque`, {torque}"),
        "  parameter: `limits.medium`, a word of `filters.media_fitted`; no default\n",
        "  parameter: `limits.wait`, a duration by `unit.family`; default 30 s\n  rules: limits.tight\n",
    ]);
    why("limits.torque").says(&[
        "differs by: unit.family, s.role, of each s in fastenings\n  goes before it: s.prescribed.torque\n",
    ]);
    // What is stated is shown, though it counts only where the field is not recorded.
    let given = ["--standard", "l.standard", "--without-settings", "--parameter", "torque=30 Nm ± 1 Nm"];
    for (name, line) in [
        ("limits.torque", "value: 30 Nm ± 1 Nm (stated, the command line)\n"),
        (
            "limits.tight",
            "figure: limits.torque = s.prescribed.torque where it is recorded (goes before what is stated)\n  \
             figure: limits.torque = 30 Nm ± 1 Nm (stated, the command line)\n",
        ),
    ] {
        let always = ["why", name, "--width", "200"];
        folder.run_with(always.into_iter().chain(given), "").quietly(0).says(&[line]);
    }
    let words = folder.run("words parameters --standard l.standard --without-settings").quietly(0);
    assert_eq!(
        words.out,
        "limits.torque\ta range of torque\tby unit.family, s.role, of each s in fastenings\t\
         from s.prescribed.torque, no default\tTorque\n\
         limits.medium\ta word of `filters.media_fitted`\tone value\tno default\tMedium\n\
         limits.wait\ta duration\tby unit.family\tdefault 30 s\tWait\n"
    );
}

/// The settings choose the standards of a run; without any, all that are shipped are listed.
#[test]
fn the_parameters_of_a_run_are_those_of_its_standards() {
    let folder = Folder::new();
    let shipped = folder.run("words parameters").quietly(0);
    let program_lists = |name: &str| shipped.out.lines().any(|line| line.starts_with(&format!("{name}\t")));
    assert!(program_lists("fastenings.torque") && program_lists("tool_register.calibration_months"));
    folder.write("l.standard", PARAMETERS);
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [l.standard]\n");
    let own = folder.run("words parameters").quietly(0);
    assert_eq!(own.out.lines().count(), 3, "{own:#?}");
    folder.run("words parameters --standard lvl").refused("there is no standard `lvl`");
    folder.run("words units --standard level").refused("`words units` is the same for every run");
    folder.write("l.standard", PARAMETERS.replace("= 30 s", "= 30 K"));
    let faulty = folder.run("words parameters").refused("l.standard line 8 column 52");
    assert!(faulty.err.contains("no parameters are listed"), "{faulty:#?}");
}

/// Whoever writes a record, a procedure or a rule can read the fields without a schema.
#[test]
fn fields_are_listed_and_explained() {
    let folder = Folder::new();
    let listed = folder.run("words fields --without-settings").quietly(0);
    let has = |start: &str| listed.out.lines().any(|line| line.starts_with(start));
    assert!(has("job\tjob.state\tone of `in work`, `closed`\tWhether work still goes on"), "{}", listed.out);
    assert!(has("job\tfastenings[]\ta list of groups of fields\t"), "{}", listed.out);
    assert!(has("job\tfastenings[].torque\ta torque in Nm"), "{}", listed.out);
    assert!(has("procedure\tsteps[].after[]\ta list, each a text\t"), "{}", listed.out);
    assert!(has("tools\ttools[].number\ta text\t"), "{}", listed.out);
    folder.run("why fastenings.thread --without-settings").quietly(0).says(&[
        "fastenings[].thread (job): ",
        "fastenings[].thread (procedure): ",
        "holds: a text",
    ]);
    folder
        .run("why fastenings.torque --without-settings")
        .quietly(0)
        .says(&["fastenings.torque: Torque of a fastening", "fastenings[].torque (job): "]);
    folder.run("why job.stat --without-settings").refused("did you mean `job.state`?");
}

/// A name that is no rule's is a figure's or a standard's: what it is worth, from where, and who uses it.
#[test]
fn figures_and_standards_are_told_too() {
    let folder = Folder::new();
    folder.write("f.standard", FIGURES);
    let why = |name: &str| {
        folder.run(&format!("why {name} --standard f.standard --without-settings --width 200")).quietly(0)
    };
    let plug = "figures.plug: Torque of the plugs\n  a parameter\n  kind: a range of torque\n  value: 45 Nm ± 10 % (the default, f.standard line 7)\n  used by: figures.screws\n  written in: f.standard line 7\n";
    for name in ["plug", "figures.plug"] {
        assert_eq!(why(name).out, plug);
    }
    why("cap").says(&["value: unknown (stated by nobody yet)", "used by: none"]);
    why("screw").says(&["a let\n  value: 9 Nm ± 10 % (f.standard line 5)\n  used by: figures.screws\n"]);
    why("refill").says(&[
        "a table\n  looked up by: unit.family\n",
        "value: for \"eight\": 5.6 L .. 7 L (f.standard line 10)",
        "value: for \"six\": 5 L .. 6.2 L",
        "used by: figures.filled",
    ]);
    why("figures").says(&[
        "figures: Figures\n  a standard\n  edition: 3\n  judges: job\n  applies where: unit.kind is \"engine\"\n  parameter: `figures.plug`, a range of torque; default 45 Nm ± 10 %\n  parameter: `figures.cap`, a range of torque; no default\n  rules: figures.screws, figures.filled\n  written in: f.standard\n",
    ]);
    let given =
        ["why", "cap", "--standard", "f.standard", "--without-settings", "--parameter", "cap=25 Nm ± 1 Nm"];
    folder.run_with(given, "").quietly(0).says(&["value: 25 Nm ± 1 Nm (stated, the command line)"]);
    for (name, near) in
        [("refil", "refill"), ("figurs", "figures"), ("plgu", "plug"), ("figures.cpa", "figures.cap")]
    {
        folder
            .run(&format!("why {name} --standard f.standard --without-settings"))
            .refused(&format!("did you mean `{near}`?"));
    }
}

/// Those that came out like one before them are counted; what is wrong is always told.
#[test]
fn subjects_that_came_out_alike_are_told_once() {
    let folder = folder();
    let plug =
        |place: usize, torque: &str| format!("  - {{role: drain plug, place: A{place}, torque: {torque}}}\n");
    let mut record = hold();
    for place in 1..=20 {
        record += &plug(place, if place == 7 { "60 Nm" } else { "45 Nm" });
    }
    folder.write("many.yaml", record);
    let short = folder.run("why plugs.torque many.yaml --standard plugs.standard").quietly(0);
    let told =
        |text: &str, outcome: &str| text.matches(&format!(": {outcome} (f.torque within plug)")).count();
    assert_eq!((told(&short.out, "met"), told(&short.out, "broken")), (1, 2), "{}", short.out);
    let words = short.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let others = "18 more with the same result (`--in-full` lists each): fastenings[2], fastenings[3], fastenings[4] and 15 more";
    assert_eq!(words.matches(others).count(), 1, "{words}");
    let long = folder.run("why plugs.torque many.yaml --standard plugs.standard --in-full").quietly(0);
    assert_eq!((told(&long.out, "met"), told(&long.out, "broken")), (19, 2), "{}", long.out);
    assert!(!long.out.contains("with the same result"), "{}", long.out);
}

#[test]
fn two_that_came_out_alike_are_both_told() {
    let folder = folder();
    folder.write("two.yaml", good() + "  - {role: drain plug, place: B, torque: 46 Nm}\n");
    let told = folder.run("why plugs.torque two.yaml --standard plugs.standard").quietly(0);
    assert_eq!(told.out.matches(": met (f.torque within plug)").count(), 2, "{}", told.out);
}

/// Two volumes at one temperature have one correction factor, which is told once; the volumes are told each.
#[test]
fn a_step_with_the_same_figures_is_told_once() {
    let folder = folder();
    folder.write(
        "cold.standard",
        "standard cold edition 1 \"Cold\"\njudges job\n\nrule fills \"Fills\"\n  demands sum of volume_at(f.volume, f.temperature, 15 °C, 850 kg/m³) \
         over f in fluid.fills above 5 L\n  otherwise hold \"No.\"\n",
    );
    folder.write(
        "cold.yaml",
        "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15, state: closed}\nvehicle: {}\nunit: {kind: engine}\nfluid: {fills: \
         [{stage: first, volume: 5 L, temperature: 40 °C}, {stage: top up, volume: 1 L, temperature: 40 °C}]}\n",
    );
    let told = folder.run("why cold.fills cold.yaml --standard cold.standard").quietly(0);
    let text = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(text.matches("at 40 °C: VCF = ").count(), 1, "{text}");
    assert_eq!(text.matches("volume at the other temperature").count(), 2, "{text}");
}

/// What comes too early or too late for another time is told by how much; what keeps to its time is not.
#[test]
fn a_time_is_off_by_a_while() {
    let folder = folder();
    let rule = |name: &str, demand: &str| {
        format!("\nrule {name} \"{name}\"\n  demands {demand}\n  otherwise hold \"No.\"\n")
    };
    let demands = [
        ("late", "job.closed before job.opened"),
        ("early", "job.opened after job.closed"),
        ("not_late", "not (job.closed after job.opened)"),
        ("not_early", "not (job.opened before job.closed)"),
        ("same", "job.opened before job.opened"),
        ("met", "job.opened before job.closed"),
        ("day", "job.opened after as_of"),
    ];
    let rules: String = demands.iter().map(|(name, demand)| rule(name, demand)).collect();
    folder.write("times.standard", format!("standard times edition 1 \"Times\"\njudges job\n{rules}"));
    folder.write(
        "times.yaml",
        "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15, closed: 2026-03-02T09:55, state: closed}\nvehicle: {}\nunit: {kind: engine}\n",
    );
    let told = folder.run("inspect times.yaml --standard times.standard --as-of 2026-03-05 --format plain");
    let text = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for (name, off) in [
        ("late", Some("off by: 100 min too late")),
        ("early", Some("off by: 100 min too early")),
        ("not_late", Some("off by: 100 min too late")),
        ("not_early", Some("off by: 100 min too early")),
        ("same", None),
        ("day", None),
    ] {
        let finding = text.split("rule: times.").find(|part| part.split(' ').next() == Some(name));
        let finding = finding.unwrap_or_else(|| panic!("{name} is met: {text}"));
        match off {
            Some(off) => assert!(finding.contains(off), "{name}: {finding}"),
            None => assert!(!finding.contains("off by"), "{name}: {finding}"),
        }
    }
    assert!(!text.contains("rule: times.met "), "{text}");
}

/// Whether a figure is stated is asked of its name: `why` says what it is, or that it is not stated.
#[test]
fn a_figure_that_is_asked_for_is_shown_or_said_not_to_be_stated() {
    let folder = Folder::new();
    folder.write(
        "own.standard",
        "standard own edition 1 \"Own\"\njudges job\nparameter torque is torque range of s in fastenings by s.role \"Torque\"\n\
         rule known \"Known\"\n  concerns each s in fastenings\n  demands recorded torque of s\n  otherwise advice \"No.\"\n",
    );
    let settings =
        |more: &str| format!("form: workshop/1\nworkshop: {{name: T}}\nstandards: [own.standard]\n{more}");
    folder.write("workshop.yaml", settings(""));
    folder.write(
        "job.yaml",
        "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}\nvehicle: {plate: GW 1}\n\
         unit: {kind: engine}\nfastenings: [{role: drain plug, torque: 30 Nm}]\n",
    );
    let ran = folder.run("why known job.yaml --width 200");
    ran.says(&["`recorded torque of s` does not hold: found parameter `own.torque` is not stated (Torque)"]);
    folder.write("workshop.yaml", settings("parameters: {own.torque: {drain plug: 45 Nm ± 10 %}}\n"));
    let ran = folder.run("why known job.yaml --width 200");
    ran.says(&["`recorded torque of s` holds: found 45 Nm ± 10 %"]);
}

#[test]
fn the_words_of_the_reports_are_explained() {
    let folder = Folder::new();
    for word in ["hold", "advice", "note", "undecided", "met", "broken", "concession", "known"] {
        let ran = folder.run(&format!("why {word}")).quietly(0);
        assert!(ran.out.starts_with(&format!("{word}\n")) && ran.out.len() > 60, "{ran:#?}");
    }
    let ran = folder.run_with(["why", "still to do"], "").quietly(0);
    ran.says(&["In a job whose `state` is `in work`"]);
    folder.run("why undecidd").refused("did you mean `undecided`?");
}

const ASKED: &str = "form: job/1\njob: {number: K-1, state: closed}\nunit: {kind: engine}\nfastenings:\n\
  \x20 - {role: drain plug, torque: 40 Nm, adapter: {lever: 300 mm, offset: 100 mm, angle: 0°}}\n  - {role: fill plug, torque: 30 Nm}\n  - {role: vent}\n";

#[test]
fn an_expression_is_worked_out_on_a_record_with_its_steps() {
    let folder = Folder::new();
    folder.write("job.yaml", ASKED);
    let ask = |asked: &str| folder.run_with(["why", asked, "job.yaml", "--standard", "fastenings"], "");
    // 40 Nm × (300 + 100) ÷ 300 (US Army TM 9-254).
    let ran = ask("reached of plug").quietly(0);
    ran.says(&[
        "fastenings[0], line 5: 53.33 Nm",
        "`recorded s.adapter` holds",
        "fastenings[1], line 6: 30 Nm",
        "fastenings[2], line 7: `fastenings[2].torque` is not recorded",
    ]);
    let ran = ask("plug.torque + 5 Nm above 40 Nm").quietly(0);
    ran.says(&["fastenings[0], line 5: yes", "fastenings[1], line 6: no", "found 35 Nm"]);
    ask("count of s in fastenings where recorded s.torque").quietly(0).says(&[", line 1: 2\n"]);
    // A range is one with the same limits, however they are written.
    let settings = "form: workshop/1\nworkshop: {name: W}\nstandards: [fastenings]\nparameters: {fastenings.torque: {any: {vent: 8 Nm .. 12 Nm}}}\n";
    folder.write("torques.yaml", settings);
    folder.write("job.yaml", ASKED.replace("kind: engine", "kind: engine, family: any"));
    let stated = |asked: &str| folder.run_with(["why", asked, "job.yaml", "--settings", "torques.yaml"], "");
    stated("torque of s").says(&["fastenings[2], line 7: 8 Nm .. 12 Nm"]);
    stated("torque of s is 10 Nm ± 2 Nm").says(&["fastenings[2], line 7: yes"]);
    stated("torque of s is 10 Nm ± 1 Nm").says(&["fastenings[2], line 7: no"]);
    ask("unit.kind is \"engine\" or closed").quietly(0).says(&[": yes\n"]);
    ask("reachd of s").refused("did you mean `reached`?");
    ask("s.torque above").refused("a value is wanted after `above`");
    folder.write("job.yaml", "form: job/1\n  job: [\n");
    ask("reached of plug").refused("no document that can be read");
    ask("torque_reachd").refused("did you mean `torque_reached`?");
}
