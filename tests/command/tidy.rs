//! `tidy`: what it writes, what it only shows, when it refuses.

use super::PLUGS;
use crate::support::Folder;

const LAID: &str = "let a = 1\n";
const WRONG: &str = "rule a \"A\"\n  demnads yes\n";

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("rules/a.standard", "let  a=1");
    folder.write("rules/b.standard", LAID);
    folder.write("rules/notes.txt", "let  a=1");
    folder
}

fn entries(folder: &Folder) -> usize {
    std::fs::read_dir(folder.path().join("rules")).unwrap().count()
}

#[test]
fn files_and_folders_are_laid_out_and_nothing_else_is_written() {
    let folder = folder();
    folder.run("tidy rules").quietly(0).says(&["rules/a.standard\n1 file laid out, 1 in order\n"]);
    assert_eq!(folder.read("rules/a.standard"), LAID);
    assert_eq!(folder.read("rules/notes.txt"), "let  a=1");
    assert_eq!(entries(&folder), 3, "nothing lies about");
    folder.run("tidy rules/a.standard rules").quietly(0).says(&["0 files laid out, 2 in order\n"]);
    assert_eq!(folder.run("tidy nowhere").code, 2);
    folder.write("empty/notes.txt", "");
    folder.run("tidy empty").refused("no rule files were found (their names end in .standard)");
}

#[test]
fn a_check_and_a_difference_change_nothing() {
    let folder = folder();
    folder.run("tidy rules --check").quietly(1).says(&["rules/a.standard\n1 file to lay out, 1 in order\n"]);
    let ran = folder.run("tidy rules --diff").quietly(1);
    assert_eq!(
        ran.out,
        "--- rules/a.standard\n+++ rules/a.standard\n@@ -1 +1 @@\n-let  a=1\n\\ No newline at end of file\n+let a = 1\n"
    );
    assert_eq!(folder.read("rules/a.standard"), "let  a=1");
    folder.run("tidy rules").quietly(0);
    folder.run("tidy rules --check").quietly(0).says(&["0 files to lay out, 2 in order\n"]);
    assert_eq!(folder.run("tidy rules --diff").quietly(0).out, "");
}

/// A build server prints it, and takes what looks so for a command.
#[test]
fn a_difference_is_no_command_of_a_build_server() {
    let folder = Folder::new();
    folder.write("a.standard", "# ##[error]x\nlet  a=1\n");
    let ran = folder.run("tidy a.standard --diff");
    assert!(ran.code == 1 && ran.out.contains("-let  a=1") && !ran.out.contains("##["), "{ran:#?}");
    // What is written otherwise is no patch any more, and that is said.
    assert!(ran.err.contains("so it cannot be applied"), "{ran:#?}");
}

#[test]
fn standard_input_is_printed_laid_out() {
    let folder = Folder::new();
    assert_eq!(folder.run_with(["tidy", "-"], "let  a=1").quietly(0).out, LAID);
    assert_eq!(folder.run_with(["tidy", "-", "--check"], "let  a=1").quietly(1).out, "standard input\n");
    assert_eq!(folder.run_with(["tidy", "-", "--check"], LAID).quietly(0).out, "");
    let ran = folder.run_with(["tidy", "-", "--diff"], "let  a=1\n").quietly(1);
    assert!(ran.out.starts_with("--- standard input\n+++ standard input\n"), "{ran:#?}");
    folder.run_with(["tidy", "-", "a"], "").refused("`-` is used alone: standard input is one rule file");
    let ran = folder.run_with(["tidy", "-"], WRONG);
    assert_eq!((ran.code, &*ran.out), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("standard input line 2 column 3"), "{ran:#?}");
}

/// Where the clauses of a file cannot be told apart it is left, and the others are laid out.
#[test]
fn a_file_that_cannot_be_read_is_left_as_it_is() {
    let folder = folder();
    folder.write("rules/c.standard", WRONG);
    let ran = folder.run("tidy rules");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("`demnads` begins no clause of a rule"), "{ran:#?}");
    assert!(ran.err.contains("rules/c.standard is left as it is\n"), "{ran:#?}");
    assert_eq!(
        (folder.read("rules/c.standard"), folder.read("rules/a.standard")),
        (WRONG.into(), LAID.into())
    );
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_written_and_a_link_that_leads_out_stay() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, outside) = (folder(), folder());
    let path = folder.path().join("rules/a.standard");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
    let ran = folder.run("tidy rules");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("`rules/a.standard` is left as it is: it is write-protected"), "{ran:#?}");
    std::os::unix::fs::symlink(outside.path().join("rules/a.standard"), folder.path().join("link.standard"))
        .unwrap();
    let ran = folder.run("tidy link.standard");
    assert!(ran.err.contains("a link leads out of this folder to it; name the file itself"), "{ran:#?}");
    assert_eq!((ran.code, outside.read("rules/a.standard")), (2, "let  a=1".into()));
    // In a folder a link is not followed at all.
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
    std::os::unix::fs::symlink(
        outside.path().join("rules/a.standard"),
        folder.path().join("rules/l.standard"),
    )
    .unwrap();
    folder.run("tidy rules").quietly(0);
    assert_eq!(outside.read("rules/a.standard"), "let  a=1");
}

/// What is laid out proves as before.
#[test]
fn rules_that_are_laid_out_prove_as_before() {
    let folder = Folder::new();
    folder.write("plugs.standard", PLUGS);
    let before = folder.run("prove plugs.standard").quietly(0).out;
    folder.run("tidy plugs.standard").quietly(0);
    assert_ne!(folder.read("plugs.standard"), PLUGS);
    assert_eq!(folder.run("prove plugs.standard").quietly(0).out, before);
}
