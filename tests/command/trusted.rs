//! A folder of a stranger, judged by settings that the user names: nothing in it makes the verdict milder.

use super::{PLUGS, good, hold};
use crate::support::{Folder, Ran};

const RUN: &str =
    "inspect change --settings base/workshop.yaml --as-of 2026-03-02 --width 300 --format plain";

/// The rules of `base`, of which a foreman may grant a concession.
fn rules(edition: u32, limit: &str) -> String {
    PLUGS
        .replace("edition 1", &format!("edition {edition}"))
        .replace("= 45 Nm ± 10 %", &format!("= {limit}"))
        .replace("  basis     \"common practice\"\n  trial met    { fastenings: [{ role: drain plug, torque", "  basis     \"common practice\"\n  concession by \"foreman\"\n  trial met    { fastenings: [{ role: drain plug, torque")
}

/// What the user trusts, and a change to it of which nobody knows anything.
fn repository(settings: &str) -> Folder {
    let folder = Folder::new();
    for side in ["base", "change"] {
        folder.write(
            &format!("{side}/workshop.yaml"),
            format!(
                "form: workshop/1\nworkshop: {{name: W}}\nstandards: [plugs.standard]\ndocuments: {{standards: [earlier]}}\n{settings}\n"
            ),
        );
        folder.write(&format!("{side}/plugs.standard"), rules(2, "45 Nm ± 10 %"));
        folder.write(&format!("{side}/earlier/plugs-1.standard"), rules(1, "60 Nm ± 10 %"));
        folder.write(&format!("{side}/jobs/a.yaml"), good());
    }
    folder
}

fn judged(folder: &Folder) -> Ran {
    folder.run(RUN)
}

/// `inspect *.yaml` in a stranger's folder: a name must not say how the files are judged.
#[test]
fn a_file_whose_name_is_an_option_is_refused() {
    let folder = super::folder();
    folder.write("job.yaml", super::good());
    folder.write("--fail-on=note", "");
    let inspect = ["inspect", "job.yaml", "--standard", "plugs.standard"];
    assert_eq!(folder.run_with(inspect, "").code, 0);
    let ran = folder.run_with(inspect.into_iter().chain(["--fail-on=note"]), "");
    assert!(ran.code == 2 && ran.err.contains("is an option, and a file has this name"), "{ran:#?}");
    let ran =
        folder.run_with(["inspect", "--standard", "plugs.standard", "--", "--fail-on=note", "job.yaml"], "");
    assert!(!ran.err.contains("is an option"), "{ran:#?}");
}

#[test]
fn neither_settings_nor_rules_nor_schemas_of_the_folder_count() {
    let folder = repository("");
    folder.write("change/jobs/b.yaml", hold());
    judged(&folder).quietly(1).says(&["change/jobs/b.yaml: 1 hold"]);
    folder.write("change/plugs.standard", rules(2, "60 Nm ± 10 %"));
    folder.write(
        "change/own.json",
        r#"{"allOf": [{"$ref": "witnessmark:job/1"}], "properties": {"extra": {"type": "string"}}}"#,
    );
    folder.write(
        "change/workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\nschemas: {job: own.json}\nparameters: {plugs.plug: 60 Nm ± 10 %}\nrules: {plugs.torque: {left_out: yes, reason: moved}}\n",
    );
    folder.run("inspect change/jobs/b.yaml --width 300 --as-of 2026-03-02").says(&["rules: 1 applied"]);
    judged(&folder).quietly(1).says(&["change/jobs/b.yaml: 1 hold"]);
    folder.write("change/jobs/b.yaml", format!("{}extra: x\n", good()));
    judged(&folder).quietly(1).says(&["`extra`"]);
}

/// What is passed over as settings or known findings of another run is what its form wants, and no record.
#[test]
fn a_record_that_names_the_form_of_settings_or_known_findings_is_not_passed_over() {
    let folder = repository("");
    for form in ["workshop/1", "known/1"] {
        folder.write("change/jobs/b.yaml", hold().replace("job/1", form));
        let ran = judged(&folder);
        assert!(ran.code != 0 && ran.out.contains("change/jobs/b.yaml"), "{ran:#?}");
        assert!(!ran.out.contains("passed over: change/jobs/b.yaml"), "{ran:#?}");
    }
    folder.write("change/jobs/b.yaml", "form: known/1\nfindings: []\n");
    assert!(judged(&folder).quietly(0).out.contains("change/jobs/b.yaml (of another run"));
}

#[test]
fn nothing_is_hidden_from_settings_that_are_named() {
    let folder = repository("");
    folder.write("change/jobs/.gitignore", "b.yaml\n");
    folder.write("change/jobs/b.yaml", hold());
    folder.write("change/jobs/.old/c.yaml", hold());
    judged(&folder).quietly(1).says(&["change/jobs/b.yaml: 1 hold", "change/jobs/.old/c.yaml: 1 hold"]);
    // The command line is the user's, too.
    let left = folder.run(&format!("{RUN} --hidden leave")).quietly(0);
    left.says(&["passed over: ", "change/jobs/b.yaml (hidden by an ignore file)"]);
}

const CONCESSION: &str = "concessions:\n  - {rule: plugs.torque, place: 'fastenings[0].torque', reason: x, granted_by: foreman, name: A, until: 2027-01-01}\n";

#[test]
fn a_concession_of_a_record_counts_only_where_the_settings_say_so() {
    let folder = repository("");
    folder.write("change/jobs/b.yaml", format!("{}{CONCESSION}", hold()));
    judged(&folder).quietly(1).says(&[
        "1 hold",
        "advice: this concession does not count: the settings of this run take none from the files that it judges",
        "concession/not-taken",
        "`files_may_bring: [concessions]`",
    ]);
    folder.run("inspect change --as-of 2026-03-02").quietly(0).says(&["1 under concession"]);
    let folder = repository("files_may_bring: [concessions]");
    folder.write("change/jobs/b.yaml", format!("{}{CONCESSION}", hold()));
    judged(&folder).quietly(0).says(&["1 under concession"]);
    // Settings that are found beside the records may be as strict.
    let folder = repository("files_may_bring: [tools]");
    folder.write("change/jobs/b.yaml", format!("{}{CONCESSION}", hold()));
    folder.run("inspect change --as-of 2026-03-02").quietly(1).says(&["1 hold"]);
}

#[test]
fn an_edition_that_a_record_picks_counts_only_where_the_settings_say_so() {
    let bound = hold().replace("state: closed", "state: closed, standards: [{name: plugs, edition: 1}]");
    let folder = repository("");
    folder.write("change/jobs/b.yaml", &bound);
    judged(&folder).quietly(1).says(&[
        "plugs edition 2",
        "1 hold",
        "advice: the job names edition 1 of `plugs`, and is judged by edition 2, which is in force: the settings of this run take no edition from the files that it judges",
        "run/edition-not-taken",
    ]);
    let folder = repository("files_may_bring: [editions]");
    folder.write("change/jobs/b.yaml", &bound);
    judged(&folder).quietly(0);
    // The edition in force can be named, and one that is not there is told as ever.
    let folder = repository("");
    folder.write("change/jobs/b.yaml", bound.replace("edition: 1", "edition: 2"));
    assert!(!judged(&folder).quietly(1).out.contains("edition-not-taken"));
    // Whichever is named, what holds by the edition in force is told.
    folder.write("change/jobs/b.yaml", bound.replace("edition: 1", "edition: 7"));
    judged(&folder).quietly(1).says(&[
        "run/edition-missing",
        "hold: Plug A",
        "it was judged by the edition in force",
    ]);
    let many: String = (0..20_000).map(|number| format!("{{name: s{number}, edition: 1}}, ")).collect();
    folder.write("change/jobs/b.yaml", bound.replace("{name: plugs, edition: 1}", &many));
    let ran = judged(&folder).quietly(1);
    ran.says(&["the job names more than 64 standards, and the others are not looked at", "hold: Plug A"]);
}

const PROCEDURE: &str = "form: procedure/1\nprocedure: {name: plug, edition: 1}\nunit: {kind: engine}\nfastenings:\n  - {role: drain plug, torque: 60 Nm ± 10 %}\n";

/// A procedure or a register brings limits; those of the folder bring none. What the settings name counts.
#[test]
fn procedures_and_registers_of_the_folder_count_only_where_the_settings_say_so() {
    let by_procedure = PLUGS.replace("45 Nm ± 10 %\n", "45 Nm ± 10 %\n\nrule prescribed \"As prescribed\"\n  concerns each f in fastenings where recorded f.prescribed.torque\n  demands f.torque within f.prescribed.torque\n  otherwise hold \"Not as prescribed.\"\n");
    let record = hold().replace("state: closed", "state: closed, procedure: {name: plug, edition: 1}");
    let with = |settings: &str, side: &str| {
        let folder = repository(settings);
        folder.write("base/plugs.standard", by_procedure.replace("edition 1", "edition 2"));
        folder.write("change/jobs/b.yaml", &record);
        folder.write(&format!("{side}/procedures/plug.yaml"), PROCEDURE.replace("60 Nm", "45 Nm"));
        folder
    };
    let folder = with("", "change");
    judged(&folder).says(&[
        "advice: 1 file with procedures or tools is judged and does not count for the jobs: change/procedures/plug.yaml",
        "run/neighbour-not-taken",
    ]);
    assert!(!judged(&folder).out.contains("Not as prescribed"));
    let brought = with("files_may_bring: [procedures]", "change");
    assert!(judged(&brought).quietly(1).out.contains("Not as prescribed"));
    // Named by the settings, it counts; its copy in the folder does not stand beside it.
    let folder = with("", "base");
    folder.write(
        "base/workshop.yaml",
        folder.read("base/workshop.yaml").replace("documents: {", "documents: {procedures: [procedures], "),
    );
    folder.write("change/procedures/plug.yaml", PROCEDURE);
    let ran = judged(&folder).quietly(1);
    ran.says(&["Not as prescribed", "does not count for the jobs: change/procedures/plug.yaml"]);
    // What is the same there and here needs no word.
    folder.write("change/procedures/plug.yaml", folder.read("base/procedures/plug.yaml"));
    let ran = judged(&folder).quietly(1);
    assert!(!ran.out.contains("does not count"), "{ran:#?}");
    // In the folder of the settings itself it counts as well where the run comes by it.
    let ran =
        folder.run("inspect base change/jobs --settings base/workshop.yaml --width 300 --as-of 2026-03-02");
    ran.says(&["Not as prescribed"]);
}

/// A changed job takes the place of the one that the settings know.
#[test]
fn a_job_of_the_folder_takes_the_place_of_its_copy_beside_the_settings() {
    let history = PLUGS.replace("45 Nm ± 10 %\n", "45 Nm ± 10 %\n\nrule odometer \"Never falls\"\n  concerns where recorded last_job\n  demands vehicle.odometer at least last_job.vehicle.odometer\n  otherwise hold \"Fell to {vehicle.odometer}.\"\n");
    let job = |number: &str, day: &str, read: &str| {
        good()
            .replace("K-1", number)
            .replace("2026-03-02", day)
            .replace("vehicle: {}", &format!("vehicle: {{plate: GW 1, odometer: {read}}}"))
    };
    let folder = repository("");
    folder.write("base/plugs.standard", history.replace("edition 1", "edition 2"));
    folder.write(
        "base/workshop.yaml",
        folder.read("base/workshop.yaml").replace("documents: {", "documents: {jobs: [jobs], "),
    );
    for side in ["base", "change"] {
        folder.write(&format!("{side}/jobs/a.yaml"), job("K-1", "2026-02-01", "100 km"));
    }
    folder.write("base/jobs/gone.yaml", job("K-2", "2026-02-10", "500 km"));
    folder.write("change/jobs/b.yaml", job("K-3", "2026-02-20", "300 km"));
    // The job that the change takes away is remembered, and no job is there twice.
    let ran = judged(&folder).quietly(1);
    let ran = ran.says(&["Fell to 300 km."]);
    assert!(!ran.out.contains("run/job-number-twice"), "{ran:#?}");
    // What is no newer text of that job takes its place from nothing.
    for other in
        ["a: b\n", "hello: [\n", "\0\0", "form: known/1\nfindings: []\n", &job("K-9", "2026-02-05", "200 km")]
    {
        folder.write("change/jobs/gone.yaml", other);
        folder.run(RUN).says(&["Fell to 300 km."]);
    }
    folder.write("change/jobs/gone.yaml", job("K-2", "2026-02-10", "200 km"));
    let ran = judged(&folder).quietly(0);
    assert!(!ran.out.contains("there is no job here"), "{ran:#?}");
    // By what later jobs are judged has changed, which is said: of this one, and not of the one that is as it was.
    let ran = ran.says(&["run/earlier-job-changed", "1 record differs from what the settings name as earlier jobs, and later jobs are judged by what it says here: change/jobs/gone.yaml"]);
    assert!(!ran.out.contains("change/jobs/a.yaml, "), "{ran:#?}");
    // It makes a verdict milder, so it counts where advice does.
    folder.run(&format!("{RUN} --fail-on advice")).quietly(1).says(&["run/earlier-job-changed"]);
    // Every form says by what was judged and what was passed over, or it is said beside it.
    folder.write("change/jobs/left.yaml~", hold());
    for form in ["plain", "terminal", "json", "lines", "sarif", "junit", "github", "gitlab"] {
        let ran = folder.run(&RUN.replace("--format plain", &format!("--format {form}")));
        let said = format!("{}{}", ran.out, ran.err);
        assert!(said.contains("base/workshop.yaml") && said.contains("left.yaml~"), "{form}: {ran:#?}");
    }
    folder.write("change/jobs/gone.yaml", folder.read("base/jobs/gone.yaml"));
    let ran = judged(&folder).quietly(1).says(&["Fell to 300 km."]);
    assert!(!ran.out.contains("differs from what the settings"), "{ran:#?}");
}

#[test]
fn findings_are_known_by_the_file_beside_the_settings_alone() {
    let folder = repository("");
    for side in ["base", "change"] {
        folder.write(&format!("{side}/jobs/b.yaml"), hold());
    }
    let noted = folder
        .run("inspect base --settings base/workshop.yaml --as-of 2026-03-02 --note-known base/known.yaml");
    assert_eq!(noted.code, 1, "{noted:#?}");
    folder.write("change/known.yaml", folder.read("base/known.yaml"));
    for paths in ["change", "change/jobs/b.yaml"] {
        let run = RUN.replace("inspect change", &format!("inspect {paths}"));
        folder.run(&format!("{run} --accept-known change/known.yaml")).refused(
            "`change/known.yaml` is not in the folder of the settings; with --settings, only known findings from there are accepted",
        );
    }
    // A document is known by its place in the folder.
    let known = folder.run(&format!("{RUN} --accept-known base/known.yaml"));
    known.quietly(0).says(&["line 6: known: Plug A"]);
    folder.write("change/jobs/c.yaml", hold().replace("K-1", "K-7"));
    folder
        .run(&format!("{RUN} --accept-known base/known.yaml"))
        .quietly(1)
        .says(&["change/jobs/c.yaml: 1 hold"]);
}

/// The settings and known findings of the folder are those of another run: no document to advise about. What is in one file
/// with them is judged.
#[test]
fn settings_of_the_folder_are_passed_over_and_hide_nothing() {
    let folder = repository("fail_on: advice");
    folder.write("change/known.yaml", "form: known/1\nfindings: []\n");
    let ran = judged(&folder).quietly(0);
    ran.says(&["passed over: change/known.yaml (of another run: this one has settings that were named), change/workshop.yaml (of"]);
    let settings = folder.read("change/workshop.yaml");
    folder.write("change/workshop.yaml", format!("{settings}---\n{}", hold()));
    judged(&folder).quietly(1).says(&["1 hold"]);
    folder.write("change/workshop.yaml", format!("{settings}--- [\n{}", hold()));
    assert_eq!(judged(&folder).code, 2);
}

/// Who reads a report can tell by what it was judged.
#[test]
fn each_report_says_by_what_it_judged() {
    let folder = repository("");
    let hash = |name: &str| witnessmark::edition::Digest::of(&folder.read(name)).to_string();
    let (settings, rules) = (hash("base/workshop.yaml"), hash("base/plugs.standard"));
    let plain = folder.run(&format!("{RUN} --parameter plugs.plug=30-60[Nm]"));
    plain.says(&[
        &format!(
            "settings: base/workshop.yaml (content {}), named with --settings; the files bring nothing",
            &settings[..12]
        ),
        &format!("rule files: base/plugs.standard (content {}), base/earlier/plugs-1.standard", &rules[..12]),
        "from the command line: --parameter plugs.plug=30-60[Nm]",
    ]);
    for format in ["json", "sarif"] {
        let ran = folder.run(
            &format!("{RUN} --format {format} --parameter plugs.plug=45").replace("--format plain ", ""),
        );
        ran.says(&[
            &format!("{{\"name\":\"base/workshop.yaml\",\"sha256\":\"{settings}\"}}"),
            &format!("{{\"name\":\"base/plugs.standard\",\"sha256\":\"{rules}\"}}"),
            "\"--parameter plugs.plug=45\"",
            "\"named\":true",
        ]);
    }
    let found = folder.run("inspect base --as-of 2026-03-02 --width 300").quietly(0);
    let found = found.says(&["settings: base/workshop.yaml (content "]);
    assert!(!found.out.contains("named with"), "{found:#?}");
    let none =
        folder.run("inspect base --as-of 2026-03-02 --without-settings --standard job_basics --width 300");
    let none = none.says(&["settings: none", "from the command line: --standard job_basics"]);
    assert!(!none.out.contains("rule files"), "{none:#?}");
}

#[cfg(unix)]
#[test]
fn a_link_that_is_named_is_not_followed_in_a_folder_of_a_stranger() {
    let folder = repository("");
    folder.write("secret.txt", "TOKEN=hush\n");
    std::os::unix::fs::symlink("../../secret.txt", folder.path().join("change/jobs/b.yaml")).unwrap();
    let ran = folder.run(&RUN.replace("inspect change", "inspect change/jobs/b.yaml"));
    assert!(ran.code == 2 && !ran.out.contains("hush"), "{ran:#?}");
    ran.says(&["run/link-not-followed", "`change/jobs/b.yaml` is a link, and links are not followed here"]);
}

/// With settings that the user names, the files may be a stranger's: no verb follows a link among them.
#[cfg(unix)]
#[test]
fn no_verb_follows_a_link_that_is_named() {
    let folder = repository("");
    folder.write("outside/v.yaml", hold().replace("60 Nm", "60 NM"));
    std::os::unix::fs::symlink("../../outside/v.yaml", folder.path().join("change/jobs/l.yaml")).unwrap();
    for arguments in [
        "amend change/jobs/l.yaml --yes",
        "why torque change/jobs/l.yaml",
        "compare change/jobs/l.yaml change/jobs/a.yaml",
        "inspect change/jobs/l.yaml",
    ] {
        let ran = folder.run(&format!("{arguments} --settings base/workshop.yaml"));
        let said = format!("{}{}", ran.out, ran.err);
        assert!(
            ran.code == 2 && said.contains("is a link") && !said.contains("60 NM"),
            "{arguments}: {ran:#?}"
        );
    }
    assert!(folder.read("outside/v.yaml").contains("60 NM"));
}

/// Nor into a folder by one, nor to a rule file or a procedure.
#[cfg(unix)]
#[test]
fn no_verb_goes_a_way_through_a_link_that_is_named() {
    let folder = repository("");
    folder.write("outside/v.yaml", hold().replace("60 Nm", "60 NM"));
    folder.write("outside/x.standard", PLUGS.replace("Plugs are", "TOPSECRET are"));
    folder.write(
        "outside/p.yaml",
        "form: procedure/1\nprocedure: {name: TOPSECRET, edition: 1}\nunit: {kind: engine}\n",
    );
    let link = |to: &str, name: &str| {
        std::os::unix::fs::symlink(folder.path().join(to), folder.path().join(name)).unwrap()
    };
    link("outside", "change/way");
    link("outside/x.standard", "change/l.standard");
    link("outside/p.yaml", "change/p.yaml");
    let forms = witnessmark::report::FORMATS.iter().map(|row| row.name);
    for (arguments, forms) in [
        ("prove change/l.standard", forms.clone().collect::<Vec<_>>()),
        ("prove change/way", forms.clone().collect()),
        ("prove change/way/x.standard", forms.clone().collect()),
        ("inspect change/jobs --standard change/l.standard", forms.clone().collect()),
        ("inspect change/way", forms.clone().collect()),
        ("inspect change/way/v.yaml", forms.collect()),
        ("amend change/way --yes", Vec::new()),
        ("why torque change/way/v.yaml", Vec::new()),
        ("compare change/way/v.yaml change/jobs/a.yaml", Vec::new()),
        ("compare change/way/x.standard base/plugs.standard --jobs change/jobs", Vec::new()),
        ("compare base/plugs.standard base/earlier/plugs-1.standard --jobs change/way", Vec::new()),
        ("sheet change/p.yaml", Vec::new()),
        ("sheet change/way/p.yaml", Vec::new()),
    ] {
        let forms = forms.into_iter().map(|form| format!(" --format {form}"));
        for form in forms.chain([String::new()]) {
            let ran = folder.run(&format!("{arguments} --settings base/workshop.yaml{form}"));
            let said = format!("{}{}", ran.out, ran.err);
            assert_eq!(ran.code, 2, "{arguments}{form}: {ran:#?}");
            assert!(said.contains("is a link") || said.contains("junit"), "{arguments}{form}: {ran:#?}");
            assert!(!said.contains("60 NM") && !said.contains("TOPSECRET"), "{arguments}{form}: {ran:#?}");
        }
    }
    assert!(folder.read("outside/v.yaml").contains("60 NM"));
    // The user's own links are followed where no settings are named.
    let ran = folder.run("prove change/l.standard --without-settings");
    assert!(
        ran.code == 0 && ran.err.contains("`change/l.standard` is a link, which is followed"),
        "{ran:#?}"
    );
}
