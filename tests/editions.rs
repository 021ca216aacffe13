//! Which edition of a standard or procedure a job is judged by, and whether its text is still the same.

use witnessmark::edition::Digest;

use crate::support::{Folder, Ran};

fn standard(edition: u32, torque: &str) -> String {
    format!(
        "standard plugs edition {edition} \"Plugs\"
judges job
parameter plug is torque range \"torque of the plug\" = {torque}
rule torque \"Plugs are tightened\"
  concerns  each s in fastenings
  demands   s.torque within plug
  otherwise hold \"{{s.torque}} recorded, {{plug}} required.\"
"
    )
}

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1
workshop: {name: Test}
standards: [plugs.standard]
documents: {standards: [earlier], procedures: [procedures]}
",
    );
    folder.write("plugs.standard", standard(3, "45 Nm ± 10 %"));
    folder.write("earlier/plugs-1.standard", standard(1, "25 Nm ± 10 %"));
    folder.write(
        "procedures/plug.yaml",
        "form: procedure/1\nprocedure: {name: plug, edition: 1}\nunit: {kind: engine}\n",
    );
    folder
}

fn job(folder: &Folder, torque: &str, bound: &str) -> Ran {
    let text = format!(
        "form: job/1
job:
  number: K-1
  opened: 2026-03-02T08:00:00Z
  state: closed
  {bound}
vehicle: {{}}
unit: {{kind: engine}}
fastenings: [{{torque: {torque}}}]
"
    );
    folder.write("job.yaml", text);
    folder.run("inspect job.yaml --format plain --width 200")
}

#[test]
fn a_job_that_names_no_edition_is_judged_by_the_one_in_force() {
    let folder = folder();
    job(&folder, "45 Nm", "remarks: none").quietly(0);
    job(&folder, "25 Nm", "remarks: none")
        .quietly(1)
        .says(&["25 Nm recorded, 45 Nm ± 10 % required.", "plugs edition 3"]);
    job(&folder, "25 Nm", "standards: [{name: plugs}]").quietly(1);
}

#[test]
fn a_job_that_names_an_earlier_edition_is_judged_by_that_one() {
    let folder = folder();
    let ran = job(&folder, "45 Nm", "standards: [{name: plugs, edition: 1}]").quietly(1);
    ran.says(&["45 Nm recorded, 25 Nm ± 10 % required.", "standard: plugs edition 1"]);
    job(&folder, "25 Nm", "standards: [{name: plugs, edition: 1}]").quietly(0);
    let ran = job(&folder, "25 Nm", "standards: [{name: plugs, edition: 3}]").quietly(1);
    ran.says(&["standard: plugs edition 3"]);
}

#[test]
fn the_edition_that_a_job_names_is_a_number_however_it_is_written() {
    let folder = folder();
    for one in ["1.0", "1.00", "01", "+1"] {
        let bound = format!("standards: [{{name: plugs, edition: {one}}}]");
        job(&folder, "45 Nm", &bound).quietly(1).says(&["standard: plugs edition 1"]);
        job(&folder, "25 Nm", &bound).quietly(0);
    }
    // Under one that cannot be read nothing is judged, and the mistake fails the run.
    let ran = job(&folder, "45 Nm", "standards: [{name: plugs, edition: two}]");
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(!ran.out.contains("standard: plugs"), "{ran:#?}");
    ran.says(&["line 6: error"]);
    // The head of a standard states a whole number above zero too.
    for wrong in ["0", "2.5", "2000000000"] {
        let folder = self::folder();
        folder.write(
            "plugs.standard",
            standard(3, "45 Nm ± 10 %").replace("edition 3", &format!("edition {wrong}")),
        );
        let ran = job(&folder, "45 Nm", "remarks: none");
        assert_eq!(ran.code, 2, "{wrong}: {ran:#?}");
    }
    folder.write("plugs.standard", standard(3, "45 Nm ± 10 %").replace("edition 3", "edition 3.0"));
    job(&folder, "45 Nm", "standards: [{name: plugs, edition: 3}]").quietly(0);
}

#[test]
fn an_edition_that_is_not_there_is_a_finding_and_no_other_takes_its_place() {
    let ran = job(&folder(), "25 Nm", "standards: [{name: plugs, edition: 2}]");
    assert_eq!(ran.code, 2, "{ran:#?}");
    ran.says(&[
        "line 6: error: the job is bound to edition 2 of `plugs`, and this run has only edition 3 and 1",
        "run/edition-missing",
        "did not apply: plugs edition 3",
    ]);
    let ran = job(&folder(), "45 Nm", "standards: [{name: plogs, edition: 2}]").quietly(1);
    ran.says(&[
        "error: the job is bound to `plogs`, which is not among the standards",
        "run/standard-not-here",
        "did you mean `plugs`?",
    ]);
}

#[test]
fn a_standard_that_a_job_names_twice_is_said() {
    let ran = job(&folder(), "45 Nm", "standards: [{name: plugs, edition: 3}, {name: plugs, edition: 1}]");
    ran.quietly(1).says(&["error: the job is bound to `plugs` twice, and is judged by the first"]);
}

#[test]
fn a_parameter_is_given_to_all_editions() {
    let folder = folder();
    let text = folder.read("workshop.yaml");
    folder.write("workshop.yaml", format!("{text}parameters: {{plugs.plug: 30 Nm ± 1 Nm}}\n"));
    job(&folder, "30 Nm", "standards: [{name: plugs, edition: 1}]").quietly(0);
    job(&folder, "30 Nm", "remarks: none").quietly(0);
}

#[test]
fn the_last_of_several_editions_is_in_force_and_the_same_edition_twice_is_a_mistake() {
    let folder = folder();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: Test}\nstandards: [plugs.standard, earlier]\n",
    );
    job(&folder, "45 Nm", "remarks: none").quietly(0);
    job(&folder, "25 Nm", "standards: [{name: plugs, edition: 1}]").quietly(0);
    folder.write("earlier/copy.standard", standard(1, "20 Nm ± 10 %"));
    let ran = job(&folder, "45 Nm", "remarks: none");
    assert_eq!(ran.code, 2);
    ran.says(&["error: `plugs` edition 1 is there twice in this run"]);
}

#[test]
fn a_text_that_was_changed_within_its_edition_is_said() {
    let folder = folder();
    let digest = |name: &str| Digest::of(&folder.read(name)).to_string();
    let (old, now) = (digest("earlier/plugs-1.standard"), digest("procedures/plug.yaml"));
    let bound = |content: &str| format!("standards: [{{name: plugs, edition: 1, content: {content}}}]");
    job(&folder, "25 Nm", &bound(&old)).quietly(0);
    job(&folder, "25 Nm", &bound(&old[..12])).quietly(0);
    let procedure = |content: &str| format!("procedure: {{name: plug, edition: 1, content: {content}}}");
    job(&folder, "45 Nm", &procedure(&now)).quietly(0);
    job(&folder, "45 Nm", &procedure(&now.to_uppercase())).quietly(0);
    for (bound, says) in [
        (bound(&now), "edition 1 of `plugs` was changed after the job was bound to it: its content is now"),
        (
            procedure(&old),
            "the procedure `plug` was changed after the job was bound to it: its content is now",
        ),
    ] {
        job(&folder, "25 Nm", &bound).says(&[says, "run/edition-changed", "line 6: error:"]);
    }
    let ran = job(&folder, "25 Nm", &bound("12ab"));
    assert_eq!(ran.code, 1);
    ran.says(&["`content`"]);
}

/// Of several editions that are named, the last one judges what is bound to none: whoever named the others is
/// told so.
#[test]
fn of_two_editions_that_are_named_the_older_one_is_said_to_be_set_aside() {
    let folder = folder();
    folder.write("plugs-2.standard", standard(2, "35 Nm ± 10 %"));
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: Test}\n");
    let said = "edition 2 of `plugs` is set aside: edition 3 of it is named too, and judges";
    let run = |standards: &str| {
        let ran = job(&folder, "45 Nm", "remarks: none");
        assert!(!ran.out.contains("set aside"), "{ran:#?}");
        folder.run(&format!("inspect job.yaml {standards} --format plain --width 400"))
    };
    for named in [
        "--standard plugs.standard --standard plugs-2.standard",
        "--standard plugs-2.standard --standard plugs.standard",
    ] {
        run(named).quietly(0).says(&[
            &format!("plugs-2.standard line 1 column 10: advice: {said}"),
            "run/edition-set-aside",
            "name it under `documents: standards:` of the settings",
        ]);
    }
    // Named twice in the settings, or by a folder that holds both.
    let settings = |standards: &str| {
        let text = format!("form: workshop/1\nworkshop: {{name: Test}}\nstandards: [{standards}]\n");
        folder.write("workshop.yaml", text);
        folder.run("inspect job.yaml --format plain --width 400")
    };
    settings("plugs.standard, plugs-2.standard").quietly(0).says(&[said]);
    // A job that is bound to it is judged by it all the same.
    let ran = job(&folder, "35 Nm", "standards: [{name: plugs, edition: 2}]").quietly(0);
    assert!(ran.out.contains("plugs edition 2"), "{ran:#?}");
    // Where the earlier editions belong, nothing is said.
    let text = "form: workshop/1\nworkshop: {name: Test}\nstandards: [plugs.standard]\ndocuments: {standards: [plugs-2.standard]}\n";
    folder.write("workshop.yaml", text);
    let ran = job(&folder, "45 Nm", "remarks: none").quietly(0);
    assert!(!ran.out.contains("set aside"), "{ran:#?}");
}

#[test]
fn two_standards_whose_names_look_alike_are_a_mistake() {
    let folder = folder();
    folder.write(
        "other.standard",
        standard(1, "20 Nm ± 10 %").replace("standard plugs", "standard plug\u{455}"),
    );
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: Test}\nstandards: [plugs.standard, other.standard]\n",
    );
    let ran = job(&folder, "45 Nm", "remarks: none");
    assert_eq!(ran.code, 2);
    ran.says(&[
        "looks like another standard of this run",
        "is written with other letters (U+0455 in `plug\u{455}`)",
    ]);
}

/// An older edition judges a job that names it. That is said of a job which was opened after a newer one came, and
/// is an error of one that was opened much later.
#[test]
fn a_job_that_names_an_older_edition_than_it_should_is_told() {
    let folder = folder();
    let run = |from: &str, opened: &str, settings: &str| {
        let newer = standard(3, "45 Nm ± 10 %").replace("judges job\n", &format!("judges job\n{from}\n"));
        folder.write("plugs.standard", newer);
        folder.write(
            "workshop.yaml",
            format!("form: workshop/1\nworkshop: {{name: Test}}\nstandards: [plugs.standard]\ndocuments: {{standards: [earlier]}}\n{settings}\n"),
        );
        let text = format!(
            "form: job/1\njob: {{number: K-1, {opened}state: closed, standards: [{{name: plugs, edition: 1}}]}}\nvehicle: {{}}\nunit: {{kind: engine}}\nfastenings: [{{torque: 25 Nm}}]\n"
        );
        folder.write("job.yaml", text);
        folder.run("inspect job.yaml --format plain --width 300")
    };
    let opened = "opened: \"2026-03-02T08:00:00Z\", ";
    let said = "the job names edition 1 of `plugs`, which another had followed on";
    // Before it came, and on the days after.
    let before = run("from 2026-03-03", opened, "").quietly(0);
    assert!(!before.out.contains("run/edition-older"), "{before:#?}");
    run("from 2026-03-02", opened, "").quietly(0).says(&[
        &format!("line 2: advice: {said} 2026-03-02 when the job was opened on 2026-03-02"),
        "run/edition-older",
        "an older one may be named for 30 d after that day",
        "plugs.standard line 1 column 10: the edition in force",
    ]);
    run("from 2026-01-31", opened, "").quietly(0).says(&["advice: the job names edition 1"]);
    run("from 2026-01-30", opened, "").quietly(1).says(&[&format!("error: {said} 2026-01-30")]);
    // The limit is the workshop's.
    for (limit, code) in [("31 d", 0), ("30 d", 1), ("744 h", 0), ("743 h", 1), ("0 d", 1), ("1 y", 2)] {
        let ran = run("from 2026-01-30", opened, &format!("older_edition_for: {limit}"));
        assert_eq!(ran.code, code, "{limit}: {ran:#?}");
    }
    // What cannot be told is said, and where the job hides its day it does not pass.
    run("", opened, "").quietly(0).says(&[
        "advice: the job names edition 1 of `plugs`, and edition 3 is in force, which does not say from which day on",
    ]);
    let hidden = run("from 2026-01-30", "", "");
    assert!(hidden.code > 0 && hidden.out.contains("error: the job names edition 1 of `plugs`, which another followed on 2026-01-30, and does not say when it was opened"), "{hidden:#?}");
    // The day of any newer edition counts, and it is no choice of the edition.
    folder.write(
        "earlier/plugs-2.standard",
        standard(2, "25 Nm ± 10 %").replace("judges job\n", "judges job\nfrom 2025-01-01\n"),
    );
    run("from 2026-06-01", opened, "").quietly(1).says(&[&format!("error: {said} 2025-01-01")]);
    let ran = folder.run("why plugs --width 200");
    ran.says(&["holds from: 2026-06-01", "holds from: 2025-01-01"]);
    let changed = folder.run("compare earlier/plugs-2.standard plugs.standard --width 200");
    changed.says(&["from: 2025-01-01 → 2026-06-01"]);
    // A mistake in it is one of the rule file.
    for from in
        ["from", "from march", "from 2026-13-01", "from 2026-01-01\nfrom 2026-02-01", "until 2026-01-01"]
    {
        assert_eq!(run(from, opened, "").code, 2, "{from}");
    }
}
