//! Which standards, parameters and settings a run has, and which of two wins.

use super::{PLUGS, folder, good, hold};
use crate::support::Folder;

const SETTINGS: &str = "form: workshop/1\nworkshop: {name: W}\nstandards:\n  - rules/plugs.standard\n";

/// A workshop with its settings at the top, its rules and its jobs below.
fn workshop(parameters: &str) -> Folder {
    let folder = Folder::new();
    folder.write("shop/workshop.yaml", format!("{SETTINGS}{parameters}"));
    folder.write("shop/rules/plugs.standard", PLUGS);
    folder.write("shop/jobs/2026/a.yaml", job_at("48 Nm"));
    folder
}

fn job_at(torque: &str) -> String {
    super::job(&format!("torque: {torque}, marked: yes"))
}

#[test]
fn the_nearest_settings_above_the_first_path_are_taken() {
    let folder = workshop("");
    folder
        .run("inspect shop/jobs/2026/a.yaml")
        .quietly(0)
        .says(&["standards: plugs edition 1", "2 demands met"]);
    folder.run("inspect shop/jobs").quietly(0).says(&["standards: plugs edition 1"]);
    // Nearer settings win.
    folder.write(
        "shop/jobs/workshop.yaml",
        "form: workshop/1\nworkshop: {name: J}\nstandards: [oil_service]\n",
    );
    folder.run("inspect shop/jobs/2026/a.yaml --as-of 2026-03-02").says(&["standards: oil_service edition"]);
    folder
        .run("inspect shop/jobs/2026/a.yaml --settings shop/workshop.yaml")
        .quietly(0)
        .says(&["standards: plugs edition 1"]);
    folder.run("inspect shop/jobs/2026/a.yaml --settings nowhere.yaml").says(&["run/file-unreadable"]);
    // Without any, the standards shipped.
    folder
        .run("inspect shop/jobs/2026/a.yaml --without-settings")
        .says(&["job_basics edition", "oil_service edition"]);
    let clash = folder.run("inspect shop/jobs --without-settings --settings shop/workshop.yaml");
    clash.refused("cannot be used with");
}

#[test]
fn the_command_line_wins_over_the_settings_and_the_settings_over_the_default() {
    let folder = workshop("parameters:\n  plugs.plug: 30 Nm ± 10 %\n");
    let inspect = "inspect shop/jobs/2026/a.yaml";
    folder.run(inspect).quietly(1).says(&["48 Nm recorded, 30 Nm ± 10 % required."]);
    folder.write("given.yaml", "");
    let given = |value: &str| {
        let parameter = format!("--parameter=plugs.plug={value}");
        folder.run_with(["inspect", "shop/jobs/2026/a.yaml", &parameter], "")
    };
    given("47 Nm .. 49 Nm").quietly(0);
    given("47 Nm .. 47.9 Nm").quietly(1).says(&["required: 47 Nm .. 47.9 Nm"]);
    folder
        .run_with(["inspect", "shop/jobs/2026/a.yaml", "--parameter", "plug=at least 48 Nm"], "")
        .quietly(0);
    folder.run(&format!("{inspect} --without-settings --standard shop/rules/plugs.standard")).quietly(0);
}

#[test]
fn wrong_parameters_are_reported_where_they_are_given() {
    let folder = workshop("parameters:\n  plugs.plg: 30 Nm ± 10 %\n");
    folder.run("inspect shop/jobs").quietly(2).says(&[
        "rules/unknown-name",
        "shop/workshop.yaml line 6",
        "`plugs.plug`",
    ]);
    let folder = workshop("parameters:\n  plugs.plug: 30 °C .. 40 °C\n");
    folder.run("inspect shop/jobs").quietly(2).says(&["quantity/kind-wrong", "shop/workshop.yaml line 6"]);
    let ran = folder.run_with(
        ["inspect", "shop/jobs", "--without-settings", "--standard", "shop/rules", "--parameter", "plug=x"],
        "",
    );
    ran.quietly(2).says(&["the command line", "quantity/"]);
}

#[test]
fn what_needs_a_parameter_with_an_error_is_undecided_in_every_report() {
    let places =
        ["plugs.plug: 55 Nm .. 35 Nm", "plugs.plg: 40 Nm .. 50 Nm", "plugs.plug: 45 .. 50", "plugs.plug:"];
    for faulty in places {
        let folder = workshop(&format!("parameters:\n  {faulty}\n"));
        let name = faulty.split(':').next().unwrap();
        let plain = folder.run("inspect shop/jobs --width 300");
        plain.quietly(2).says(&["1 hold", "1 demand met", "(1 undecided)", name, "in shop/workshop.yaml"]);
        let json = folder.run("inspect shop/jobs --format json");
        json.quietly(2).says(&["\"undecided\":1,\"still_to_do\"", "in shop/workshop.yaml"]);
        folder
            .run("why torque shop/jobs/2026/a.yaml --settings shop/workshop.yaml")
            .quietly(2)
            .says(&["plugs.plug = unknown", "has an error, shop/workshop.yaml line 6"]);
    }
}

#[test]
fn a_standard_misspelt_in_the_settings_is_said_of_a_run_of_some_standards_too() {
    let folder = workshop("parameters:\n  plgs.plug: 30 Nm ± 10 %\n");
    let inspect = "inspect shop/jobs --standard shop/rules/plugs.standard";
    folder.run(inspect).quietly(2).says(&["rules/unknown-name", "did you mean `plugs.plug`?"]);
    // A standard of the settings, or a shipped one, may be missing from the run.
    let folder = workshop("");
    folder.write("shop/workshop.yaml", format!(
        "{}  - rules/seals.standard\nparameters:\n  seals.plug: 30 Nm ± 1 Nm\n  oil_service.volume: {{four cylinder: 5 L .. 6 L}}\n",
        SETTINGS
    ));
    folder.write("shop/rules/seals.standard", PLUGS.replace("plugs", "seals"));
    folder.run(inspect).quietly(0);
}

#[test]
fn a_record_is_not_explained_by_the_defaults_where_the_settings_cannot_be_read() {
    let folder = workshop("parameters: [a, b]\n");
    let ran = folder.run("why torque shop/jobs/2026/a.yaml --standard shop/rules/plugs.standard");
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("the record is not judged"), "{ran:#?}");
    assert!(!ran.out.contains("fastenings[0]"), "{ran:#?}");
}

#[test]
fn standards_are_named_by_name_file_or_folder() {
    let folder = folder();
    folder.write("good.yaml", good());
    folder.write("rules/plugs.standard", PLUGS);
    folder.write("rules/more/seals.standard", PLUGS.replace("plugs", "seals"));
    folder.run("inspect good.yaml --standard rules").quietly(0).says(&["plugs edition 1", "seals edition 1"]);
    folder
        .run("inspect good.yaml --standard rules/more --standard plugs.standard")
        .quietly(0)
        .says(&["plugs edition 1", "seals edition 1"]);
    folder.run("inspect good.yaml --standard job_basics").says(&["standards: job_basics edition"]);
    // The same file named twice is one standard; two files of one name are a mistake.
    folder.run("inspect good.yaml --standard plugs.standard --standard ./plugs.standard").quietly(0);
    folder
        .run("inspect good.yaml --standard plugs.standard --standard rules")
        .quietly(2)
        .says(&["rules/name-taken"]);
}

#[test]
fn misspelt_standards_are_mistakes_with_a_near_name() {
    let folder = folder();
    folder.write("good.yaml", good());
    folder
        .run("inspect good.yaml --standard job_basic")
        .quietly(2)
        .says(&["rules/no-such-standard", "did you mean `job_basics`?"]);
    folder
        .run("inspect good.yaml --standard gearbox")
        .quietly(2)
        .says(&["rules/no-such-standard", "the shipped ones are job_basics"]);
    folder
        .run("inspect good.yaml --standard plug.standard")
        .quietly(2)
        .says(&["rules/no-such-standard", "there is no such file"]);
    // The others run all the same.
    folder
        .run("inspect good.yaml --standard plug.standard --standard plugs.standard")
        .quietly(2)
        .says(&["plugs edition 1", "2 demands met"]);
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards:\n  - oil_servise\n");
    folder.run("inspect good.yaml").quietly(2).says(&["workshop.yaml line 4", "`oil_service`"]);
}

#[test]
fn with_settings_that_cannot_be_used_nothing_is_judged() {
    let folder = folder();
    folder.write("hold.yaml", hold());
    let cases = [
        ("form: workshop/1\nworkshop: {name: W}\ntime_zone: Europe/Vienne\n", "run/settings"),
        ("form: workshop/1\nworkshop: {name: W}\nfail_on: never\n", "document/unknown-word"),
        ("form: job/1\n", "document/missing-field"),
        (
            "form: workshop/1\nworkshop: {name: W}\n---\nform: workshop/1\nworkshop: {name: W}\n",
            "run/settings",
        ),
        ("", "document/empty"),
    ];
    for (settings, code) in cases {
        folder.write("workshop.yaml", settings);
        let ran = folder.run("inspect hold.yaml --standard plugs.standard").quietly(2);
        ran.says(&[code, "documents: 0 judged", "no verdict"]);
    }
    folder.write("workshop.yaml", good());
    folder.run("inspect hold.yaml --standard plugs.standard").quietly(2).says(&["run/settings"]);
}

#[test]
fn the_day_of_the_run_is_that_of_the_command_line() {
    let folder = Folder::new();
    folder.write("day.standard", "standard day edition 1 \"Day\"\njudges job\n\nrule not_ahead \"No job is opened ahead of the day\"\n  demands not (job.opened after as_of)\n  otherwise hold \"Opened {job.opened}, and it is {as_of}.\"\n");
    folder.write("good.yaml", good());
    folder
        .run("inspect good.yaml --standard day.standard --as-of 2026-03-02")
        .quietly(0)
        .says(&["as of 2026-03-02"]);
    folder
        .run("inspect good.yaml --standard day.standard --as-of 2026-03-01")
        .quietly(1)
        .says(&["Opened 2026-03-02T08:15:00+01:00, and it is 2026-03-01."]);
    folder.run("inspect good.yaml --standard day.standard").quietly(0);
}

#[test]
fn times_without_an_offset_are_read_in_the_zone_of_the_settings() {
    let folder = Folder::new();
    folder.write("order.standard", "standard order edition 1 \"Order\"\njudges job\n\nrule order \"Closed after it was opened\"\n  demands job.closed after job.opened\n  otherwise hold \"Not so.\"\n");
    let record = |opened: &str| {
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"{opened}\", closed: \"2026-03-02T08:00:00Z\", state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\n"
        )
    };
    folder.write("a.yaml", record("2026-03-02T08:30:00"));
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\ntime_zone: Europe/Vienna\nstandards: [order.standard]\n",
    );
    // 08:30 in Vienna is 07:30 UTC in winter, before 08:00 UTC.
    folder.run("inspect a.yaml").quietly(0);
    folder.run("inspect a.yaml --without-settings --standard order.standard").quietly(1);
}

#[test]
fn a_schema_of_the_workshop_adds_fields_that_rules_and_records_can_use() {
    let folder = Folder::new();
    let schema = r#"{"allOf": [{"$ref": "witnessmark:job/1"}], "properties": {"bay": {"type": "string"}}}"#;
    folder.write("own.schema.json", schema);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [bay.standard]\nschemas: {job: own.schema.json}\n",
    );
    folder.write("bay.standard", "standard bay edition 1 \"Bay\"\njudges job\n\nrule bay \"The bay is named\"\n  demands bay is \"two\"\n  otherwise hold \"Bay {bay}.\"\n");
    folder.write("a.yaml", format!("{}bay: two\n", good()));
    folder.write("b.yaml", format!("{}bay: one\n", good()));
    folder.run("inspect a.yaml").quietly(0);
    folder.run("inspect b.yaml").quietly(1).says(&["line 7: hold: Bay one."]);
    folder
        .run("inspect a.yaml --without-settings --standard bay.standard")
        .quietly(2)
        .says(&["rules/unknown-name"]);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [bay.standard]\nschemas: {job: none.json}\n",
    );
    folder.run("inspect a.yaml").quietly(2).says(&["run/settings", "workshop.yaml line 4"]);
}

/// A list that names nothing, or a folder without what it is named for, is no mistake and is said.
#[test]
fn settings_that_name_nothing_are_told() {
    let folder = workshop("documents:\n  standards: []\n  jobs: [jobs/2026]\n");
    let inspect = |says: &[&str]| folder.run("inspect shop/jobs --width 200").says(says);
    inspect(&[
        "workshop.yaml line 6 column 14: advice: `documents.standards` names nothing",
        "run/names-nothing",
    ]);
    let with = |more: &str| {
        let history = "\nrule odometer \"Never falls\"\n  concerns where recorded last_job\n  demands vehicle.odometer at least last_job.vehicle.odometer\n  otherwise hold \"Fell.\"\n";
        folder.write("shop/rules/plugs.standard", format!("{PLUGS}{history}"));
        folder.write("shop/empty/list.txt", "");
        folder.write("shop/workshop.yaml", format!("{SETTINGS}{more}"));
    };
    with("documents:\n  jobs: [empty]\n");
    inspect(&["workshop.yaml line 6 column 10: advice: there is no job here", "nothing to hold"]);
    with("documents:\n  jobs: [jobs]\n");
    assert!(!inspect(&[]).out.contains("advice:"));
    with("documents:\n  procedures: [\"procedures/*.yaml\"]\n");
    inspect(&[
        "there is no file or folder `procedures/*.yaml`",
        "patterns are not read here; name the folder",
    ]);
    folder.write("shop/workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: []\n");
    inspect(&["`standards` names nothing", "every shipped standard judges"]);
}

/// A line of the settings without a value says neither this nor that. Where the choice would make the run less strict
/// than was meant, it is an error.
#[test]
fn settings_without_a_value_are_told() {
    let folder = workshop("");
    let with = |more: &str| {
        folder.write("shop/workshop.yaml", format!("{SETTINGS}{more}\n"));
        folder.run("inspect shop/jobs --width 200")
    };
    for (line, help) in [
        (
            "decision:",
            "write `simple acceptance`, `guarded acceptance` or `guarded rejection`; without the line, simple acceptance applies",
        ),
        ("decision: ''", "without the line, simple acceptance applies"),
        ("decision:   # to be settled", "without the line, simple acceptance applies"),
        ("fail_on:", "write `hold`, `advice` or `note`; without the line, a run fails on holds"),
        ("files_may_bring:", "list what they may bring, as in `[concessions]`, or write `[]` for nothing"),
        ("trials_exercise:", "write a share, such as `95 %`; without the line, any share is enough"),
        ("older_edition_for:", "write a duration, such as `14 d`; without the line, 30 d"),
    ] {
        let name = line.split(':').next().unwrap();
        with(line).quietly(2).says(&[
            &format!("workshop.yaml line 5 column 1: error: `{name}` has no value"),
            "run/settings",
            help,
            "documents: 0 judged",
        ]);
    }
    for (lines, at, name, help) in [
        ("time_zone:", 5, "time_zone", "no zone applies, as without this line"),
        ("documents:", 5, "documents", "take the line out, or name files and folders in it"),
        ("documents:\n  jobs:", 6, "documents.jobs", "take the line out, or name files and folders in it"),
        (
            "documents:\n  tools: # none yet",
            6,
            "documents.tools",
            "take the line out, or name files and folders in it",
        ),
        ("schemas:", 5, "schemas", "take the line out"),
        ("parameters:", 5, "parameters", "take the line out"),
    ] {
        with(lines).quietly(0).says(&[
            &format!("workshop.yaml line {at} column"),
            &format!("advice: `{name}` names nothing"),
            "run/names-nothing",
            help,
        ]);
    }
    folder.write("shop/workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards:\n");
    let ran = folder.run("inspect shop/jobs --width 200");
    ran.says(&["advice: `standards` names nothing", "every shipped standard judges"]);
}

#[test]
fn a_misspelt_line_of_the_settings_is_an_error_without_a_value_too() {
    let folder = workshop("fail_onn:\n");
    folder
        .run("inspect shop/jobs --width 200")
        .quietly(2)
        .says(&["have no field `fail_onn`", "write `fail_on`"]);
}

/// What is outside the folder of settings that the user names is read, and said.
#[test]
fn paths_that_lead_out_of_the_workshop_are_told() {
    let folder = workshop("");
    let outside = |says: bool| {
        let ran = folder.run("inspect shop/jobs --settings shop/workshop.yaml --width 200").quietly(0);
        assert_eq!(ran.out.contains("run/outside-workshop"), says, "{ran:#?}");
        ran
    };
    outside(false);
    folder.write("common/lent.standard", "let lent = 45 Nm ± 10 %\n");
    let used = PLUGS.replace("= 45 Nm ± 10 %", "").replace("within plug", "within lent");
    let uses = |path: &str| {
        let used = used.replace("judges job\n", &format!("judges job\nuse \"{path}\"\n"));
        folder.write("shop/rules/plugs.standard", used.replace("{plug}", "{lent}"));
    };
    uses("../../common/lent.standard");
    outside(true).says(&[
        "shop/rules/plugs.standard line 3 column 5: advice: `common/lent.standard` is outside the folder of the settings",
    ]);
    folder.write("shop/lent.standard", "let lent = 45 Nm ± 10 %\n");
    uses("../lent.standard");
    outside(false);
    folder.write("shop/rules/plugs.standard", PLUGS);
    folder.write("elsewhere/tools.yaml", "form: tools/1\n");
    folder.write("shop/workshop.yaml", format!("{SETTINGS}documents:\n  tools: [../elsewhere]\n"));
    outside(true).says(&["shop/workshop.yaml line 6 column 11: advice: `elsewhere` is outside"]);
    // Rules that the command line names are not the workshop's.
    let ran = folder
        .run("inspect shop/jobs --settings shop/workshop.yaml --standard common/../shop/rules --width 200");
    ran.quietly(0).says(&["`elsewhere` is outside"]);
}

#[test]
fn what_is_advised_of_rules_can_fail_them_and_takes_a_line() {
    let folder = folder();
    // A rule without a basis is advised.
    folder.write("bare.standard", PLUGS.replace("  basis     \"common practice\"\n", ""));
    let ran = folder.run("prove bare.standard --brief").quietly(0);
    assert!(ran.out.contains("advice: ") && !ran.out.contains("code: "), "{ran:#?}");
    folder.run("prove bare.standard").quietly(0).says(&["code: rules/"]);
    folder.run("prove bare.standard --fail-on advice").quietly(1);
    folder.run("prove plugs.standard --fail-on note").quietly(0);
    folder.write("wrong.standard", PLUGS.replace("torque: 45 Nm }", "torque: 60 Nm }"));
    folder.run("prove wrong.standard").quietly(1).says(&["\n1 error\n"]);
}

/// No file of anybody is taken for a text of the program itself, whatever it is called.
#[test]
fn a_file_that_is_called_like_a_text_of_the_program_is_a_file() {
    let folder = super::folder();
    folder.write("a.yaml", super::hold());
    let lenient =
        super::PLUGS.replace("standard plugs", "standard level").replace("45 Nm ± 10 %", "60 Nm ± 10 %");
    folder.write("witnessmark:level", &lenient);
    folder.write("standard input", super::hold());
    let inspect = "inspect --without-settings --as-of 2026-03-02 --brief";
    folder
        .run(&format!("{inspect} a.yaml --standard witnessmark:level"))
        .says(&["rule files: ./witnessmark:level (content "]);
    let ran = folder.run_with(["prove", "witnessmark:level", "--without-settings"], "").quietly(1);
    ran.says(&["./witnessmark:level line 11", "2 rules in 1 standard, 4 trials"]);
    let json = folder
        .run_with(["inspect", "standard input", "--standard", "plugs.standard", "--format", "json"], "");
    assert!(json.out.contains("\"./standard input\""), "{json:#?}");
    // A shipped standard is the one that has its name, whatever else is in the folder.
    folder.write("level", &lenient);
    let ran = folder.run(&format!("{inspect} a.yaml --standard level"));
    assert!(!ran.out.contains("rule files: level"), "{ran:#?}");
    folder.run(&format!("{inspect} a.yaml --standard ./level")).says(&["rule files: level (content "]);
}

/// Folders that are in each other are not gone through again and again without end.
#[test]
fn the_folders_that_settings_name_are_bounded() {
    let folder = super::folder();
    folder.write("jobs/a.yaml", super::good());
    let deep: Vec<String> = (1..=65).map(|depth| format!("p{}", "/p".repeat(depth))).collect();
    folder.write(&format!("{}/a.standard", deep[64]), super::PLUGS);
    folder.write(&format!("{}/a.yaml", deep[64]), "form: tools/1\ntools: []\n");
    let run = |number: usize, list: &str, other: &str| {
        let names = deep[..number].join(", ");
        folder.write(
            "workshop.yaml",
            format!("form: workshop/1\nworkshop: {{name: W}}\n{other}{}\n", list.replace('*', &names)),
        );
        folder.run("inspect jobs --as-of 2026-03-02 --brief --width 300")
    };
    let said = "error: the settings name more than 64 folders, and this one and those behind it are not read";
    for (list, other) in
        [("documents: {tools: [*]}", "standards: [plugs.standard]\n"), ("standards: [*]", "")]
    {
        assert!(!run(64, list, other).out.contains(said), "{list}");
        let ran = run(65, list, other);
        assert!(ran.code == 2 && ran.out.matches(said).count() == 1, "{ran:#?}");
    }
}

/// Without its settings a workshop has no figures, and a job that breaks one would pass.
#[test]
fn settings_of_another_name_are_not_passed_over() {
    for name in ["workshop.yml", "Workshop.yaml"] {
        let folder = workshop("");
        std::fs::rename(folder.path().join("shop/workshop.yaml"), folder.path().join("shop").join(name))
            .unwrap();
        folder.run("inspect shop/jobs").refused(&format!("`shop/{name}` holds settings"));
        folder
            .run(&format!("inspect shop/jobs --settings shop/{name}"))
            .quietly(0)
            .says(&["plugs edition 1"]);
        folder.run("inspect shop/jobs --without-settings --standard shop/rules/plugs.standard").quietly(0);
        // What holds no settings is nobody's mistake.
        folder.write(&format!("shop/{name}"), "name: ci\n");
        folder.run("inspect shop/jobs --standard shop/rules/plugs.standard").quietly(0);
    }
}
