//! What the settings of a folder can make a run read: nothing outside it, nothing through a link, no special file; and what
//! is no file of ours is shown in no report.

use super::{PLUGS, folder, good};
use crate::support::{Folder, Ran};

const SECRET: &str = "TOKEN=hush-hush\nroot:x:0:0\n";

/// A workshop with these settings, a record, and a secret beside it.
fn shop(settings: &str) -> Folder {
    let folder = folder();
    folder.write("secret.txt", SECRET);
    folder.write("outside/lent.standard", "let lent = 45 Nm ± 10 %\n");
    folder.write("outside/jobs/old.yaml", good().replace("K-1", "K-0"));
    folder.write("shop/plugs.standard", PLUGS);
    folder.write("shop/jobs/a.yaml", good());
    folder.write("shop/workshop.yaml", format!("form: workshop/1\nworkshop: {{name: W}}\n{settings}\n"));
    folder
}

/// Runs with every form of report; none shows the secret.
#[track_caller]
fn refused(folder: &Folder, says: &str) {
    for row in witnessmark::report::FORMATS {
        let ran = folder.run(&format!("inspect shop/jobs --width 300 --format {}", row.name)).quietly(2);
        assert!(!ran.out.contains("hush") && !ran.out.contains("root:x"), "{}: {ran:#?}", row.name);
        if row.name == "plain" {
            ran.says(&[says]);
        }
    }
    let proved = folder.run("prove --settings shop/workshop.yaml --width 300");
    assert!(!proved.out.contains("hush") && !proved.err.contains("hush"), "{proved:#?}");
}

fn named_on_the_command_line(folder: &Folder) -> Ran {
    folder.run("inspect shop/jobs --width 300 --settings shop/workshop.yaml")
}

#[test]
fn settings_read_nothing_outside_their_folder_unless_they_are_named() {
    for (settings, says) in [
        ("standards: [../secret.txt]", "`secret.txt` is outside the folder of the settings, and is not read"),
        ("standards: [/proc/self/environ]", "`/proc/self/environ` is outside the folder of the settings"),
        ("standards: [plugs.standard, ../outside]", "`outside` is outside the folder of the settings"),
        ("standards: [plugs.standard]\nschemas: {job: ../secret.txt}", "`secret.txt` is outside the folder"),
        ("standards: [plugs.standard]\nschemas: {job: /proc/self/environ}", "is outside the folder"),
        ("standards: [plugs.standard]\ndocuments: {jobs: [/]}", "`/` is outside the folder"),
        (
            "standards: [plugs.standard]\ndocuments: {procedures: [../outside]}",
            "`outside` is outside the folder",
        ),
        (
            "standards: [plugs.standard]\ndocuments: {tools: [../outside/jobs/old.yaml]}",
            "is outside the folder",
        ),
        (
            "standards: [plugs.standard]\ndocuments: {standards: [../outside]}",
            "`outside` is outside the folder",
        ),
    ] {
        refused(&shop(settings), says);
    }
    // Settings that the user names are the user's own, and what they name outside is said.
    let folder = shop("standards: [plugs.standard]\ndocuments: {jobs: [../outside/jobs]}");
    named_on_the_command_line(&folder)
        .quietly(0)
        .says(&["advice: `outside/jobs` is outside the folder of the settings"]);
    // What is not there at all is no secret.
    refused(&shop("standards: [plugs.standard]\ndocuments: {jobs: [../nowhere]}"), "is outside the folder");
}

#[test]
fn rule_files_of_a_folder_use_nothing_outside_it() {
    let with = |path: &str| {
        let folder = shop("standards: [plugs.standard]");
        let rules = PLUGS.replace("judges job\n", &format!("judges job\nuse \"{path}\"\n"));
        folder.write("shop/plugs.standard", rules);
        folder
    };
    refused(
        &with("../secret.txt"),
        "`../secret.txt` is not a rule file (those end in `.standard`), and is not read",
    );
    let folder = with("../outside/lent.standard");
    refused(&folder, "`../outside/lent.standard` is outside the folder of the settings, and is not read");
    named_on_the_command_line(&folder).quietly(0);
    folder.run("inspect shop/jobs --without-settings --standard shop/plugs.standard").quietly(0);
    // By whatever settings: what has not the ending of a rule file is not opened.
    let folder = with("../secret.txt");
    let ran = folder.run("inspect shop/jobs --without-settings --standard shop/plugs.standard").quietly(2);
    assert!(!ran.out.contains("hush"), "{ran:#?}");
}

#[test]
fn what_is_no_rule_file_or_schema_is_not_shown() {
    for (settings, name, says) in [
        ("standards: [a.standard]", "a.standard", "`shop/a.standard` is not a rule file"),
        ("standards: [rules]", "rules/a.standard", "`shop/rules/a.standard` is not a rule file"),
        ("standards: [plugs.standard]\nschemas: {job: a.json}", "a.json", "`shop/a.json` is not a schema"),
        ("standards: [plugs.standard]\nschemas: {job: a.txt}", "a.txt", "`shop/a.txt` is not a schema"),
        ("standards: [./a.txt]", "a.txt", "`./a.txt` is not a rule file (those end in `.standard`)"),
    ] {
        let folder = shop(settings);
        folder.write(&format!("shop/{name}"), SECRET);
        refused(&folder, says);
        let mut secret = SECRET.as_bytes().to_vec();
        secret.extend(b"\xff\xfe");
        folder.write(&format!("shop/{name}"), secret);
        refused(&folder, "");
    }
    let folder = shop("standards: [a.standard]");
    let ran = folder.run("inspect shop/jobs --standard secret.txt --without-settings --width 300").quietly(2);
    assert!(!ran.out.contains("hush"), "{ran:#?}");
    // A rule file with mistakes is one.
    folder.write("shop/a.standard", "standrd plugs edition 1 \"P\"\nrul x \"y\"\n");
    folder.run("inspect shop/jobs --width 300").quietly(2).says(&["did you mean"]);
}

#[cfg(unix)]
#[test]
fn links_are_not_followed_from_the_settings() {
    use std::os::unix::fs::symlink;
    let linked = |settings: &str, to: &str, name: &str| {
        let folder = shop(settings);
        let _ = std::fs::remove_file(folder.path().join(name));
        symlink(folder.path().join(to), folder.path().join(name)).unwrap();
        folder
    };
    let one = "standards: [plugs.standard]\n";
    for (settings, to, name, says) in [
        ("standards: [a.standard]", "secret.txt", "shop/a.standard", "`shop/a.standard` is a link"),
        ("standards: [in/lent.standard]", "outside", "shop/in", "`shop/in` is a link"),
        ("standards: [plugs.standard, in]", "outside", "shop/in", "`shop/in` is a link"),
        (
            "standards: [jobs]",
            "outside/lent.standard",
            "shop/jobs/x.standard",
            "`shop/jobs/x.standard` is a link",
        ),
        (&format!("{one}schemas: {{job: a.json}}"), "secret.txt", "shop/a.json", "`shop/a.json` is a link"),
        (&format!("{one}documents: {{jobs: [old]}}"), "outside/jobs", "shop/old", "`shop/old` is a link"),
        (&format!("{one}documents: {{tools: [in/jobs]}}"), "outside", "shop/in", "`shop/in` is a link"),
    ] {
        let folder = linked(settings, to, name);
        refused(&folder, says);
        let ran = named_on_the_command_line(&folder).quietly(2);
        assert!(ran.out.contains(says) && !ran.out.contains("hush"), "{ran:#?}");
    }
    // A link among the rules that a rule file uses, and one on the way to it.
    for (used, name, to) in
        [("in/lent.standard", "shop/in", "outside"), ("lent.standard", "shop/lent.standard", "secret.txt")]
    {
        let folder = linked(one, to, name);
        let rules = PLUGS.replace("judges job\n", &format!("judges job\nuse \"{used}\"\n"));
        folder.write("shop/plugs.standard", rules);
        refused(&folder, "is a link");
        let ran =
            folder.run("inspect shop/jobs --without-settings --standard shop/plugs.standard").quietly(2);
        assert!(!ran.out.contains("hush"), "{ran:#?}");
    }
    // The settings themselves, also where they lead nowhere: those of a folder above do not take their place.
    for to in ["secret.txt", "nowhere.yaml", "shop/jobs/a.yaml"] {
        let folder = linked(one, to, "shop/workshop.yaml");
        folder.write(
            "workshop.yaml",
            "form: workshop/1\nworkshop: {name: Above}\nstandards: [plugs.standard]\n",
        );
        refused(&folder, "`shop/workshop.yaml` is a link, and links are not followed here");
    }
    // A folder that is itself reached by a link is nobody's trick, and said.
    let folder = shop(one);
    symlink(folder.path().join("shop"), folder.path().join("way")).unwrap();
    let ran = folder.run("inspect way/jobs");
    let said = "witnessmark: `way` is a link, which is followed because the command line names it: it leads to `shop`\n";
    assert_eq!((ran.code, ran.err.as_str()), (0, said), "{ran:#?}");
}

#[cfg(target_os = "linux")]
#[test]
fn special_files_are_refused_and_nobody_waits_for_them() {
    let made = |settings: &str, name: &str| {
        let folder = shop(settings);
        let _ = std::fs::remove_file(folder.path().join(name));
        let status = std::process::Command::new("mkfifo").arg(folder.path().join(name)).status().unwrap();
        assert!(status.success());
        folder
    };
    let one = "standards: [plugs.standard]\n";
    for (settings, name) in [
        ("standards: [a.standard]", "shop/a.standard"),
        (&*format!("{one}schemas: {{job: a.json}}"), "shop/a.json"),
        (&*format!("{one}documents: {{jobs: [a.yaml]}}"), "shop/a.yaml"),
        (one, "shop/workshop.yaml"),
    ] {
        refused(&made(settings, name), "is no ordinary file");
    }
    for path in ["/proc/self/environ", "/dev/zero", "/sys/kernel/uevent_seqnum"] {
        let folder = shop(&format!("standards: [plugs.standard]\nschemas: {{job: {path}}}"));
        named_on_the_command_line(&folder).quietly(2).says(&[&format!("`{path}` is no ordinary file")]);
    }
}

#[test]
fn a_folder_of_documents_can_be_the_one_above() {
    let folder = folder();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\ndocuments: {jobs: [.]}\n",
    );
    folder.write("jobs/a.yaml", good());
    folder.run("inspect jobs --as-of 2026-03-02 --brief").quietly(0);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\ndocuments: {jobs: [..]}\n",
    );
    let ran = folder.run("inspect jobs --as-of 2026-03-02 --brief --width 200");
    assert!(
        !ran.out.contains("is no value") && ran.out.contains("`..` is outside the folder of the settings"),
        "{ran:#?}"
    );
}

#[test]
fn a_rule_file_that_no_settings_vouch_for_uses_nothing_outside() {
    let folder = shop("standards: [plugs.standard]");
    folder.write("private/secret.standard", "standard s edition 1 \"TOPSECRET\"\nlet a = TOPSECRET + 1\n");
    folder.write(
        "change/x.standard",
        "use \"../private/secret.standard\"\nstandard x edition 1 \"X\"\njudges job\n",
    );
    for arguments in
        ["prove . --settings ../shop/workshop.yaml", "prove . --without-settings", "prove x.standard"]
    {
        for row in witnessmark::report::FORMATS {
            let mut command = crate::support::program(&folder.path().join("change"));
            command.args(format!("{arguments} --width 300 --format {}", row.name).split(' '));
            let ran = crate::support::finish(command, "");
            assert!(ran.code == 2 && !ran.out.contains("TOPSECRET"), "{ran:#?}");
            assert!(ran.out.contains("outside the folder of this file and the working folder"), "{ran:#?}");
        }
    }
    // From a folder that has both, it is the user's own.
    let ran = folder.run("prove change/x.standard --without-settings");
    assert!(ran.out.contains("TOPSECRET"), "{ran:#?}");
}
