//! Parameters of settings and command line: whose they are, which of two counts, and what is left open.

use serde_json::Value;

use crate::support::{Folder, Ran};

/// A standard with two limits that a torque of 48 Nm meets by default.
const S: &str = "standard s edition 1 \"S\"
judges job

parameter lim is torque range \"Limit\" = 45 Nm ± 10 %
parameter least_share is ratio \"Share\" = 5 %

rule torque \"Torque\"
  concerns  each f in fastenings
  demands   f.torque within lim
  otherwise hold \"{f.torque} recorded, {lim} required.\"
";

/// Another one, with a parameter of its own and none of the first.
const T: &str = "standard t edition 1 \"T\"
judges job

parameter top is torque range \"Top\" = 45 Nm ± 10 %

rule torque \"Torque\"
  concerns  each f in fastenings
  demands   f.torque within top
  otherwise hold \"{f.torque} recorded, {top} required.\"
";

/// A workshop with both, whose settings state parameters.
fn workshop(parameters: &str) -> Folder {
    let folder = Folder::new();
    let settings =
        "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard, t.standard]\nparameters:\n";
    folder.write("workshop.yaml", format!("{settings}{parameters}"));
    folder.write("s.standard", S);
    folder.write("t.standard", T);
    folder.write("jobs/a.yaml", super::job("torque: 48 Nm"));
    folder
}

fn inspect(folder: &Folder, options: &[&str]) -> Ran {
    let always = ["inspect", "jobs", "--as-of", "2026-03-02", "--width", "300"];
    folder.run_with(always.iter().chain(options).copied(), "")
}

/// How often the rules of a standard are met and undecided, as the JSON report counts them.
fn counts(folder: &Folder, options: &[&str], rule: &str) -> (u64, u64) {
    let options: Vec<&str> = options.iter().copied().chain(["--format", "json"]).collect();
    let report: Value = serde_json::from_str(&inspect(folder, &options).out).unwrap();
    let rules = report["summary"]["rules"].as_array().unwrap();
    let rule = rules.iter().find(|one| one["rule"] == rule).unwrap_or_else(|| panic!("{rules:?}"));
    (rule["met"].as_u64().unwrap(), rule["undecided"].as_u64().unwrap())
}

#[test]
fn a_name_written_with_other_signs_is_an_error_in_a_run_of_some_standards_too() {
    for name in ["s-lim", "\"s lim\"", "limits", "S.Lim", "s.limits", "lm", "S-LIM", "s.lim.it"] {
        let folder = workshop(&format!("  {name}: 20 Nm ± 1 Nm\n"));
        for options in [&["--standard", "s.standard"][..], &[]] {
            let bare = name.trim_matches('"');
            inspect(&folder, options).quietly(2).says(&[
                &format!("workshop.yaml line 5 column {}: error", name.len() + 5),
                &format!("no standard of this run has a parameter `{bare}`"),
                "did you mean `s.lim`",
            ]);
            assert_eq!(counts(&folder, options, "s.torque"), (0, 1), "{name} {options:?}");
        }
    }
    // A name that is near to none can be meant for any of its kind.
    let folder = workshop("  nothing_known: 20 Nm ± 1 Nm\n  foreign.thing: 20 Nm ± 1 Nm\n");
    inspect(&folder, &["--standard", "s.standard"])
        .quietly(2)
        .says(&["the parameters are s.least_share, s.lim"]);
    assert_eq!(counts(&folder, &["--standard", "s.standard"], "s.torque"), (0, 1));
}

#[test]
fn what_is_a_parameter_of_a_standard_that_is_not_in_the_run_is_no_error() {
    let folder = workshop("  top: 20 Nm ± 1 Nm\n  oil_service.volume: {four cylinder: 5 L .. 6 L}\n");
    let ran = inspect(&folder, &["--standard", "s.standard"]).quietly(0);
    assert!(!ran.out.contains("parameter"), "{}", ran.out);
    assert_eq!(counts(&folder, &["--standard", "s.standard"], "s.torque"), (1, 0));
    // So it is with a file that such a standard uses.
    let folder = workshop("  lent: 20 Nm ± 1 Nm\n");
    folder.write("t.standard", T.replace("judges job\n", "judges job\nuse \"lent/lent.standard\"\n"));
    folder.write("lent/lent.standard", "parameter lent is torque range \"Lent\"\n");
    inspect(&folder, &["--standard", "s.standard"]).quietly(0);
}

/// Where another standard has a parameter of that name, it can be meant.
#[test]
fn a_parameter_under_the_name_of_a_wrong_standard_leaves_what_can_be_meant_undecided() {
    for (name, options) in [
        ("t.lim", &[][..]),
        ("t.lim", &["--standard", "s.standard", "--standard", "t.standard"]),
        ("t.lim", &["--standard", "s.standard"]),
        ("t.limt", &["--standard", "s.standard", "--standard", "t.standard"]),
        ("oil_service.lim", &["--standard", "s.standard"]),
        ("nowhere.lim", &["--standard", "s.standard"]),
        ("t.limt", &["--standard", "s.standard"]),
        ("t.lin", &[]),
        ("nowhere.lin", &["--standard", "s.standard"]),
    ] {
        let folder = workshop(&format!("  {name}: 20 Nm ± 1 Nm\n"));
        let ran = inspect(&folder, options).quietly(2);
        ran.says(&["did you mean `s.lim`", "1 hold", "(1 undecided)"]);
        assert_eq!(counts(&folder, options, "s.torque"), (0, 1), "{name} {options:?}");
        let folder = workshop("");
        folder.write(
            "workshop.yaml",
            "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard, t.standard]\n",
        );
        let given = format!("{name}=20 Nm ± 1 Nm");
        let options: Vec<&str> = options.iter().copied().chain(["--parameter", &given]).collect();
        inspect(&folder, &options).quietly(2).says(&["did you mean `s.lim`"]);
        assert_eq!(counts(&folder, &options, "s.torque"), (0, 1), "{name} {options:?}");
    }
}

#[test]
fn a_parameter_that_is_stated_twice_is_an_error_that_names_both_places() {
    let folder = workshop("  s.lim: 20 Nm ± 1 Nm\n  lim: 48 Nm ± 1 Nm\n");
    inspect(&folder, &[]).quietly(2).says(&[
        "rules/parameter-twice",
        "workshop.yaml line 6 column 8: error: the parameter `s.lim` is stated twice",
        "workshop.yaml line 5 column 10",
        "first stated here",
        "(1 undecided)",
    ]);
    assert_eq!(counts(&folder, &[], "s.torque"), (0, 1));
    let folder = workshop("  t.top: 48 Nm ± 1 Nm\n");
    for (first, second) in
        [("lim=1 Nm .. 2 Nm", "s.lim=48 Nm ± 1 Nm"), ("lim=48 Nm ± 1 Nm", "lim=48 Nm ± 1 Nm")]
    {
        let twice = ["--parameter", first, "--parameter", second];
        inspect(&folder, &twice)
            .quietly(2)
            .says(&["the command line: error: the parameter `s.lim` is stated twice", "the command line"]);
        assert_eq!(counts(&folder, &twice, "s.torque"), (0, 1));
    }
}

/// Only the command line takes the place of the settings, and reports say so.
#[test]
fn the_command_line_counts_before_the_settings_and_it_is_said() {
    let folder = workshop("  s.lim: 20 Nm ± 1 Nm\n");
    let given = ["--parameter", "lim=48 Nm ± 1 Nm"];
    inspect(&folder, &given).quietly(0).says(&[
        "run/parameter-replaced",
        "the command line: advice: `s.lim` is stated here and in the settings; this value counts",
        "workshop.yaml line 5 column 10",
        "does not count in this run",
    ]);
    assert_eq!(counts(&folder, &given, "s.torque"), (1, 0));
    for format in ["json", "sarif", "junit"] {
        let ran = inspect(&folder, &["--format", format, given[0], given[1]]).quietly(0);
        assert!(ran.out.contains("is stated here and in the settings"), "{format}: {}", ran.out);
    }
    // Two in the settings stay an error, and the command line still counts.
    let folder = workshop("  s.lim: 20 Nm ± 1 Nm\n  lim: 21 Nm ± 1 Nm\n");
    inspect(&folder, &given).quietly(2).says(&["the parameter `s.lim` is stated twice"]);
    assert_eq!(counts(&folder, &given, "s.torque"), (1, 0));
}
