//! Parameters that differ by the fields of a document, and that a procedure states: which value counts, where it is
//! stated, and what is said of what does not agree.

use crate::support::{Folder, Ran};

const S: &str = "standard s edition 1 \"S\"
judges job

parameter lim is torque range of f in fastenings by unit.family, f.role \"Limit\"
  from f.prescribed.torque
  = 1 Nm .. 100 Nm
parameter medium is filters.media_fitted by unit.kind \"Medium\"

rule torque \"Torque\"
  concerns  each f in fastenings
  demands   f.torque within lim of f
  otherwise hold \"{f.torque} recorded, {lim of f} required.\"

rule medium_right \"Medium\"
  concerns  each f in filters where recorded medium
  demands   f.media_fitted is medium
  otherwise hold \"{f.media_fitted} fitted, {medium} required.\"
";

/// A workshop with that standard, whose settings state parameters; one job with a torque of 48 Nm.
fn workshop(parameters: &str, family: &str, procedure: Option<&str>) -> Folder {
    let folder = Folder::new();
    let settings = "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard]\n";
    let documents = if procedure.is_some() { "documents: {procedures: [p.yaml]}\n" } else { "" };
    folder.write("workshop.yaml", format!("{settings}{documents}parameters:\n{parameters}"));
    folder.write("s.standard", S);
    let named = if procedure.is_some() { ", procedure: {name: oil, edition: 1}" } else { "" };
    folder.write(
        "jobs/a.yaml",
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed{named}}}\n\
             vehicle: {{plate: W 1}}\nunit: {{kind: engine{family}}}\nfastenings:\n  - {{role: drain plug, torque: 48 Nm}}\n\
             filters:\n  - {{place: engine, kind: external, media_fitted: paper}}\n"
        ),
    );
    if let Some(torque) = procedure {
        folder.write(
            "p.yaml",
            format!(
                "form: procedure/1\nprocedure: {{name: oil, edition: 1, issued: 2026-01-01}}\nunit: {{kind: engine}}\n\
                 fastenings:\n  - {{role: drain plug, torque: {torque}}}\n"
            ),
        );
    }
    folder
}

fn inspect(folder: &Folder, options: &[&str]) -> Ran {
    let always = ["inspect", "jobs", "--as-of", "2026-03-02", "--width", "300"];
    folder.run_with(always.iter().chain(options).copied(), "")
}

const SIX: &str = ", family: six speed";

#[test]
fn the_nearest_keys_count_and_the_report_says_where_they_are_stated() {
    let by_role = "  s.lim:\n    six speed: {drain plug: 10 Nm .. 20 Nm, level plug: 1 Nm .. 2 Nm}\n    every other: {drain plug: 30 Nm .. 40 Nm}\n";
    inspect(&workshop(by_role, SIX, None), &[]).quietly(1).says(&[
        "48 Nm recorded, 10 Nm .. 20 Nm required.",
        "workshop.yaml line 6",
        "stated: 10 Nm .. 20 Nm (parameter `s.lim`)",
    ]);
    let eight = ", family: eight speed automatic";
    inspect(&workshop(by_role, eight, None), &[])
        .quietly(1)
        .says(&["48 Nm recorded, 30 Nm .. 40 Nm required."]);
    // One value for a whole family, and one that no key names.
    let by_family = "  s.lim:\n    six speed: 40 Nm .. 50 Nm\n    every other: 1 Nm .. 2 Nm\n";
    inspect(&workshop(by_family, SIX, None), &[]).quietly(0);
    inspect(&workshop(by_family, eight, None), &[]).quietly(1).says(&["1 Nm .. 2 Nm required."]);
    // Nothing fits: the default counts.
    let other = "  s.lim: {nine speed truck: {drain plug: 1 Nm .. 2 Nm}}\n";
    inspect(&workshop(other, SIX, None), &[]).quietly(0);
    // The command line goes before all of it.
    inspect(&workshop(by_family, SIX, None), &["--parameter", "s.lim=60 Nm .. 70 Nm"])
        .quietly(1)
        .says(&["60 Nm .. 70 Nm required.", "this value counts"]);
}

#[test]
fn a_key_that_is_not_recorded_leaves_the_limit_open() {
    let by_role = "  s.lim: {six speed: {drain plug: 10 Nm .. 20 Nm}}\n";
    inspect(&workshop(by_role, "", None), &[]).quietly(1).says(&["`unit.family` is not recorded"]);
    // Nobody asks for a key that no row names.
    let every = "  s.lim: {every other: {drain plug: 40 Nm .. 50 Nm}}\n";
    inspect(&workshop(every, "", None), &[]).quietly(0);
}

#[test]
fn a_near_key_is_named() {
    let by_role = "  s.lim: {six sped: {drain plug: 10 Nm .. 20 Nm}}\n";
    inspect(&workshop(by_role, SIX, None), &[]).quietly(1).says(&[
        "nothing is stated for the value of `unit.family`, and something for `six sped`",
        "or the key `six sped` of",
        "run/parameter-key",
    ]);
}

/// What a procedure states is not stated for the family again: only without one is it said that nothing is.
#[test]
fn nothing_is_missing_for_a_family_whose_job_has_its_procedure() {
    let other = "  s.lim: {five speed: {drain plug: 10 Nm .. 20 Nm}}\n";
    let said = "nothing is stated for this `unit.family`";
    inspect(&workshop(other, ", family: chain drive", None), &[]).quietly(0).says(&[said]);
    let ran = inspect(&workshop(other, ", family: chain drive", Some("45 Nm ± 10 %")), &[]).quietly(0);
    assert!(!ran.out.contains(said), "{ran:#?}");
}

#[test]
fn the_procedure_goes_before_the_settings_and_a_difference_is_told() {
    let settings = "  s.lim: {every other: {drain plug: 30 Nm .. 40 Nm}}\n";
    inspect(&workshop(settings, SIX, Some("45 Nm ± 10 %")), &[]).quietly(0).says(&[
        "the procedure and the settings state different values for `s.lim`",
        "p.yaml line 5",
        "does not count for this job",
        "run/parameter-clash",
    ]);
    // The same limits in other words are no difference.
    let same = "  s.lim: {every other: {drain plug: 40.5 Nm .. 49.5 Nm}}\n";
    let ran = inspect(&workshop(same, SIX, Some("45 Nm ± 10 %")), &[]).quietly(0);
    assert!(!ran.out.contains("different values"), "{ran:#?}");
    inspect(&workshop(settings, SIX, Some("10 Nm ± 10 %")), &[])
        .quietly(1)
        .says(&["48 Nm recorded, 10 Nm ± 10 % required.", "the procedure: 10 Nm ± 10 %"]);
}

#[test]
fn a_procedure_that_is_not_there_may_say_anything() {
    let folder = workshop("  s.lim: {every other: 40 Nm .. 50 Nm}\n", SIX, Some("45 Nm ± 10 %"));
    folder
        .write("p.yaml", "form: procedure/1\nprocedure: {name: wheels, edition: 1}\nunit: {kind: wheels}\n");
    inspect(&folder, &[]).quietly(1).says(&["Torque: "]);
}

#[test]
fn what_is_stated_with_a_mistake_leaves_its_row_open() {
    for (parameters, says) in [
        ("  s.lim: {six speed: {drain plug: 10 Nm ..}}\n", "workshop.yaml line 5"),
        ("  s.lim: {six speed: {drain plug: {front: 10 Nm}}}\n", "differs by 2 fields only"),
        ("  s.medium: {enigne: paper}\n", "did you mean \"engine\"?"),
        ("  s.medium: {engine: papre}\n", "did you mean \"paper\"?"),
        ("  s.lim: {six speed: {drain plug: [10 Nm]}}\n", "a single value is wanted here"),
        ("  s.lim: {six speed: {}}\n", "`s.lim` wants one value here"),
        ("  s.lim: {six speed: {drain plug: {a: {b: {c: 10 Nm}}}}}\n", "`s.lim` wants one value here"),
    ] {
        inspect(&workshop(parameters, SIX, None), &[]).quietly(2).says(&[says]);
    }
}

#[test]
fn why_lists_the_rows() {
    let by_role = "  s.lim:\n    six speed: {drain plug: 10 Nm .. 20 Nm}\n    every other: 1 Nm .. 2 Nm\n";
    let folder = workshop(by_role, SIX, None);
    folder.run_with(["why", "s.lim", "--settings", "workshop.yaml", "--width", "300"], "").quietly(0).says(
        &[
            "\"six speed\", \"drain plug\": 10 Nm .. 20 Nm (stated, workshop.yaml line 6)",
            "\"every other\": 1 Nm .. 2 Nm (stated, workshop.yaml line 7)",
        ],
    );
}

/// A key that is nearly `every other` would count for nothing, and nobody would notice.
#[test]
fn a_word_that_is_nearly_every_other_is_an_error() {
    for key in ["Every other", "every_other", "every othr", "others", "default", "\"*\""] {
        let folder = workshop(&format!("  s.lim: {{{key}: 40 Nm .. 50 Nm}}\n"), SIX, None);
        let ran = folder.run("inspect job.yaml --as-of 2026-03-02");
        assert_eq!(ran.code, 2, "{key}: {ran:#?}");
        ran.says(&["would be a key of its own", "help: write `every other` for whatever no other key names"]);
    }
}
