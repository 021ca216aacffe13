//! Two folders, a revision of Git, and the exit code that tells a change without a new edition.

use crate::command::Repository;
use crate::support::Folder;

const PROCEDURE: &str = "form: procedure/1\nprocedure: {name: sump, edition: 1}\nunit: {kind: engine}\n\
                         fastenings:\n  - {role: drain plug, place: A, torque: 45 Nm ± 10 %}\n";
const RULES: &str = "use \"figures.standard\"\nstandard plugs edition 1 \"Plugs\"\njudges job\n\n\
                     rule torque \"Plugs are tightened\"\n  concerns each f in fastenings\n  demands f.torque within plug\n  \
                     otherwise hold \"Plug {f.place}: {f.torque}, {plug} required.\"\n";
const FIGURES: &str = "let plug = 45 Nm ± 10 %\n";

#[test]
fn a_meaning_that_changed_without_its_edition_has_a_code_of_its_own() {
    let folder = Folder::new();
    folder.write("old.yaml", PROCEDURE);
    let changed = PROCEDURE.replace("45 Nm", "50 Nm");
    folder.write("same-edition.yaml", &changed);
    folder.write("new-edition.yaml", changed.replace("edition: 1", "edition: 2"));
    folder.run("compare old.yaml old.yaml").quietly(0);
    folder.run("compare old.yaml new-edition.yaml").quietly(1);
    let ran = folder.run("compare old.yaml same-edition.yaml").quietly(3);
    ran.says(&["the edition was not raised, although the meaning changed"]);
    // A record has no edition.
    folder.write("a.yaml", "form: job/1\njob: {number: K-1}\n");
    folder.write("b.yaml", "form: job/1\njob: {number: K-2}\n");
    folder.run("compare a.yaml b.yaml").quietly(1);
}

fn folders() -> Folder {
    let folder = Folder::new();
    for side in ["old", "new"] {
        folder.write(&format!("{side}/same.yaml"), PROCEDURE);
        folder.write(&format!("{side}/sub/sump.yaml"), PROCEDURE.replace("sump", "sub"));
        folder.write(&format!("{side}/ci.yaml"), format!("on: {side}\n"));
    }
    folder
}

#[test]
fn the_files_of_two_folders_are_compared_path_by_path() {
    let folder = folders();
    folder.run("compare old new").quietly(0).says(&["2 files compared, 0 changed in meaning"]);
    folder.write(
        "new/sub/sump.yaml",
        PROCEDURE.replace("sump", "sub").replace("45 Nm", "50 Nm").replace("edition: 1", "edition: 2"),
    );
    let ran = folder.run("compare old new").quietly(1);
    ran.says(&[
        "old: old/sub/sump.yaml (edition 1,",
        "drain plug A, torque: 45 Nm ± 10 % → 50 Nm ± 10 %",
        "2 files compared, 1 changed in meaning",
    ]);
    folder.write("new/more.yaml", PROCEDURE);
    folder.write("old/gone.standard", FIGURES);
    folder.run("compare old new").quietly(1).says(&["added: more.yaml\n", "taken out: gone.standard\n"]);
    folder.write("new/same.yaml", PROCEDURE.replace("45 Nm", "50 Nm"));
    let ran = folder.run("compare old/ ./new").quietly(3);
    ran.says(&[
        "the meaning changed, and the edition did not: same.yaml\n",
        "2 files compared, 2 changed in meaning",
    ]);
    folder.write("new/same.yaml", "form: procedure/1\nprocedure: [\n");
    let ran = folder.run("compare old new").quietly(2);
    ran.says(&["cannot be compared: same.yaml: ", "torque: 45 Nm ± 10 % → 50 Nm ± 10 %"]);
    folder.write("none/a.txt", "");
    folder.run("compare none none").refused("there is no document and no rule file in these folders");
    folder
        .run("compare old new --jobs old")
        .refused("--jobs judges by two rule files, and these are folders");
    folder.run("compare old").refused("required");
}

#[test]
fn programs_get_folders_as_one_object() {
    let folder = folders();
    folder.write("new/same.yaml", PROCEDURE.replace("45 Nm", "50 Nm"));
    folder.write("new/sub/sump.yaml", PROCEDURE.replace("sump", "sub").replace("45 Nm", "51 Nm"));
    folder.write("new/more.yaml", PROCEDURE);
    folder.write("new/torn.yaml", "form: job/1\njob: [\n");
    folder.write("old/torn.yaml", "form: job/1\n");
    let schema = serde_json::from_str(&folder.run("schema comparisons").quietly(0).out).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let one = serde_json::from_str(&folder.run("schema comparison").quietly(0).out).unwrap();
    let one = jsonschema::draft202012::new(&one).unwrap();
    let told: serde_json::Value =
        serde_json::from_str(&folder.run("compare old new --format json").quietly(2).out).unwrap();
    assert!(validator.is_valid(&told), "{told:#}");
    let list = told["comparisons"].as_array().unwrap();
    assert!(list.len() == 2 && list.iter().all(|told| one.is_valid(told)), "{told:#}");
    assert_eq!(told["not_raised"], serde_json::json!(["same.yaml", "sub/sump.yaml"]));
    assert_eq!(
        (&told["added"], &told["unread"][0]["document"]),
        (&serde_json::json!(["more.yaml"]), &"torn.yaml".into())
    );
    let none: serde_json::Value =
        serde_json::from_str(&folder.run("compare old old --format json").quietly(0).out).unwrap();
    assert!(validator.is_valid(&none), "{none:#}");
}

#[test]
fn a_text_is_compared_with_what_it_was_at_a_revision() {
    let repository = Repository::new();
    let folder = &repository.0;
    folder.write("procedures/sump.yaml", PROCEDURE);
    folder.write("rules/plugs.standard", RULES);
    folder.write("rules/figures.standard", FIGURES);
    repository.commit();
    folder
        .run("compare procedures/sump.yaml --changed-since HEAD")
        .quietly(0)
        .says(&["old: HEAD:procedures/sump.yaml (edition 1,"]);
    folder.run("compare . --changed-since HEAD").quietly(0).says(&["3 files compared, 0 changed in meaning"]);
    folder.write("procedures/sump.yaml", PROCEDURE.replace("45 Nm", "50 Nm"));
    let ran = folder.run("compare procedures/sump.yaml --changed-since HEAD").quietly(3);
    ran.says(&["torque: 45 Nm ± 10 % → 50 Nm ± 10 %"]);
    // Rule files use others as they were.
    folder.write("rules/figures.standard", FIGURES.replace("let plug", "let plugs"));
    folder.write(
        "rules/plugs.standard",
        RULES.replace("within plug", "within plugs").replace("{plug}", "{plugs}"),
    );
    folder
        .run("compare rules/plugs.standard --changed-since HEAD")
        .quietly(3)
        .says(&["lets\n  renamed    plug → plugs (line 1)"]);
    let ran = folder.run("compare . --changed-since HEAD").quietly(3);
    ran.says(&[
        "the meaning changed, and the edition did not: procedures/sump.yaml\n",
        "3 files compared, 3 changed in meaning",
    ]);
    // Under another name, or below another folder.
    folder.write("drafts/sump.yaml", PROCEDURE);
    folder.run("compare procedures/sump.yaml drafts/sump.yaml --changed-since HEAD").quietly(0);
    folder.run("compare procedures drafts --changed-since HEAD").quietly(0);
    std::fs::remove_file(folder.path().join("rules/plugs.standard")).unwrap();
    folder.run("compare rules --changed-since HEAD").quietly(1).says(&["taken out: plugs.standard"]);
    folder
        .run("compare drafts/sump.yaml --changed-since HEAD")
        .refused("there was no file `drafts/sump.yaml` at `HEAD`");
    folder
        .run("compare procedures --changed-since none")
        .refused("there is no revision `none` in this repository");
}
