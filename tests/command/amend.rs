//! `amend`: what it shows, what it writes, when it refuses, and that a file is always whole.

use std::path::Path;

use super::{good, job};
use crate::support::{Folder, Ran, program};

fn wrong() -> String {
    job("torqe: \"45,5 NM\", marked: yes} # as measured").replace("measured}", "measured")
}

fn right() -> String {
    wrong().replace("torqe", "torque").replace("45,5 NM", "45.5 Nm")
}

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("a.yaml", wrong());
    folder.write("b.yaml", good());
    folder
}

fn left_as_it_was(folder: &Folder, ran: &Ran) {
    assert_eq!(folder.read("a.yaml"), wrong(), "{ran:#?}");
    let entries = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(entries, 2, "nothing lies about");
}

#[test]
fn without_a_terminal_it_only_shows() {
    let folder = folder();
    let ran = folder.run("amend a.yaml b.yaml");
    assert_eq!(ran.code, 1);
    left_as_it_was(&folder, &ran);
    assert!(ran.err.contains("`a.yaml` is left as it is; correct it with --yes"), "{ran:#?}");
    ran.says(&[
        "a.yaml: 2 corrections\n--- a.yaml\n+++ a.yaml\n@@",
        "\n-  - {role: drain plug, place: A, torqe: \"45,5 NM\", marked: yes} # as measured",
        "0 files corrected, 1 with something left, 1 in order\n",
    ]);
}

#[test]
fn what_is_agreed_to_is_written_and_nothing_else() {
    let folder = folder();
    let ran = folder.run("amend a.yaml b.yaml --yes").quietly(0);
    ran.says(&["1 file corrected, 0 with something left, 1 in order\n"]);
    assert_eq!(folder.read("a.yaml"), right());
    assert_eq!(folder.read("b.yaml"), good());
    folder
        .run("amend a.yaml --yes")
        .quietly(0)
        .says(&["0 files corrected, 0 with something left, 1 in order"]);
    // Line ends and a byte-order mark stay.
    folder.write("a.yaml", format!("\u{feff}{}", wrong().replace('\n', "\r\n")));
    folder.run("amend a.yaml --yes").quietly(0);
    assert_eq!(folder.read("a.yaml"), format!("\u{feff}{}", right().replace('\n', "\r\n")));
}

#[test]
fn standard_input_is_printed_corrected() {
    let folder = folder();
    let ran = folder.run_with(["amend", "-"], &wrong()).quietly(0);
    assert_eq!(ran.out, right());
    let marked = format!("\u{feff}{}", wrong().replace('\n', "\r\n"));
    assert_eq!(
        folder.run_with(["amend", "-"], &marked).quietly(0).out,
        marked.replace("torqe", "torque").replace("45,5 NM", "45.5 Nm")
    );
    // What is left is said, and the text is whole all the same.
    let left = wrong() + "  - {role: drain plug, torque: 45}\n";
    let ran = folder.run_with(["amend", "-"], &left);
    assert_eq!((ran.code, &ran.out), (1, &(right() + "  - {role: drain plug, torque: 45}\n")), "{ran:#?}");
    assert!(ran.err.contains("standard input line 7 column"), "{ran:#?}");
    folder
        .run_with(["amend", "-", "a.yaml"], "")
        .refused("`-` is used alone: standard input is one document");
    left_as_it_was(&folder, &ran);
}

#[test]
fn a_difference_can_be_taken_by_another_program() {
    let folder = folder();
    let ran = folder.run("amend a.yaml b.yaml --format diff").quietly(1);
    let line = |sign: char, text: &str| format!("{sign}{}\n", text.lines().last().unwrap());
    assert!(ran.out.starts_with("--- a.yaml\n+++ a.yaml\n@@ -3,4 +3,4 @@\n"), "{ran:#?}");
    assert!(ran.out.ends_with(&(line('-', &wrong()) + &line('+', &right()))), "{ran:#?}");
    left_as_it_was(&folder, &ran);
    folder.write("change.diff", &ran.out);
    let applied = std::process::Command::new("git")
        .current_dir(folder.path())
        .args(["apply", "-p0", "change.diff"])
        .status();
    assert!(applied.unwrap().success());
    assert_eq!(folder.read("a.yaml"), right());
    assert_eq!(folder.run("amend a.yaml b.yaml --format diff").quietly(0).out, "");
    let ran = folder.run_with(["amend", "-", "--format", "diff"], &wrong()).quietly(1);
    assert!(ran.out.starts_with("--- standard input\n+++ standard input\n"), "{ran:#?}");
    assert_eq!(folder.run("amend a.yaml --format diff --yes").code, 2);
}

#[test]
fn what_is_not_certain_is_left_and_said() {
    let folder = folder();
    let text = job("torqe: 45, marked: perhaps}\n  - {role: drain plug, torque: 45 nm")
        .replace("perhaps}", "perhaps");
    let text = text.replace("perhaps\n", "perhaps}\n");
    folder.write("a.yaml", &text);
    let ran = folder.run("amend a.yaml --yes --width 200").quietly(1);
    ran.says(&[
        "a.yaml: 1 correction\n",
        "a.yaml line 6: `torqe` is left, because more than the spelling would change with `torque`\n",
        "a.yaml: 1 error that only a person can correct\n",
        "`perhaps` is neither yes nor no",
        "1 file corrected, 1 with something left, 0 in order\n",
    ]);
    assert_eq!(folder.read("a.yaml"), text.replace("45 nm", "45 Nm"));
}

#[test]
fn files_of_others_are_passed_over_and_unreadable_ones_end_with_two() {
    let folder = folder();
    folder.write("others/notes.yaml", "torqe: 45 NM\n");
    let ran = folder.run("amend others --yes");
    assert_eq!((ran.code, ran.err.as_str()), (2, ""), "nothing was there to mend");
    assert_eq!(folder.read("others/notes.yaml"), "torqe: 45 NM\n");
    let ran = folder.run("amend a.yaml missing.yaml --yes");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("missing.yaml"), "{ran:#?}");
    assert_eq!(folder.read("a.yaml"), right(), "the others are mended all the same");
    folder.write("torn.yaml", "form: job/1\njob: [\n");
    folder.run("amend torn.yaml --yes").quietly(1).says(&["the bracket `[` is never closed"]);
}

/// The workshop's own fields are known, so that a name of theirs is no misspelling.
/// Settings with an error are not called in order.
#[test]
fn settings_and_rules_are_no_documents() {
    let folder = folder();
    folder.write("own.yaml", "form: workshop/1\nworkshop: {name: W}\nolder_edition_for: 10 Min\n");
    folder.write("own.standard", "standard own edition 1 \"Own\"\njudges job\n");
    for (name, what) in [("own.yaml", "the workshop's settings"), ("own.standard", "the rules of a standard")]
    {
        let ran = folder.run(&format!("amend {name} --yes"));
        assert!(ran.code == 2 && ran.err.contains(&format!("`{name}` holds {what}, and")), "{ran:#?}");
    }
}

#[test]
fn a_workshops_own_fields_are_names_too() {
    let folder = Folder::new();
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nschemas: {job: own.json}\n");
    let schema = r#"{"allOf": [{"$ref": "witnessmark:job/1"}],
        "$defs": {"fastening": {"properties": {"torqe": {"type": "string", "description": "Ours."}}}}}"#;
    folder.write("own.json", schema);
    folder.write("a.yaml", job("torqe: as ever"));
    folder.run("amend a.yaml").quietly(0);
    folder.run("amend a.yaml --without-settings").says(&["`torqe` is left"]);
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: [\n");
    folder.run("amend a.yaml").refused("settings have errors");
}

#[cfg(unix)]
mod unix {
    use std::os::unix::fs::{PermissionsExt, symlink};
    use std::time::{Duration, Instant};

    use super::*;

    #[test]
    fn permissions_stay_links_are_followed_and_protected_files_refused() {
        let folder = Folder::new();
        let file = folder.write("deep/a.yaml", wrong());
        symlink("deep/a.yaml", folder.path().join("link.yaml")).unwrap();
        let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        std::fs::set_permissions(&file, PermissionsExt::from_mode(0o640)).unwrap();
        let ran = folder.run("amend link.yaml --yes");
        let said = "witnessmark: `link.yaml` is a link, which is followed because the command line names it: it leads to `deep/a.yaml`\n";
        assert_eq!((ran.code, ran.err.as_str()), (0, said));
        assert_eq!((folder.read("deep/a.yaml"), mode(&file)), (right(), 0o640));
        assert!(std::fs::symlink_metadata(folder.path().join("link.yaml")).unwrap().is_symlink());
        std::fs::write(&file, wrong()).unwrap();
        std::fs::set_permissions(&file, PermissionsExt::from_mode(0o440)).unwrap();
        let ran = folder.run("amend deep/a.yaml --yes");
        assert!(ran.code == 2 && ran.err.contains("write-protected"), "{ran:#?}");
        assert_eq!(folder.read("deep/a.yaml"), wrong());
    }

    /// What is outside is shown where the user names it, and never written to through a link.
    #[test]
    fn no_link_leads_what_is_written_out_of_the_folder() {
        let folder = Folder::new();
        let file = folder.write("outside/a.yaml", wrong());
        folder.write("in/b.yaml", wrong());
        folder.write("in/workshop.yaml", "form: workshop/1\nworkshop: {name: W}\n");
        symlink("../outside/a.yaml", folder.path().join("in/link.yaml")).unwrap();
        symlink("../outside", folder.path().join("in/more")).unwrap();
        let inside = Folder::run_in(&folder, "in");
        // Behind a link, `..` is the folder above what it leads to.
        folder.write("b.yaml", wrong());
        for path in ["link.yaml", "more/a.yaml", "more", "more/../b.yaml", "more/../outside/a.yaml"] {
            let ran = inside(&format!("amend {path} --yes"));
            assert_eq!(ran.code, 2, "{ran:#?}");
            assert!(
                ran.err.contains(
                    "is left as it is: a link leads out of this folder to it; name the file itself"
                ),
                "{ran:#?}"
            );
            assert!(
                ran.err.contains("is a link, which is followed because the command line names it"),
                "{ran:#?}"
            );
            assert_eq!((folder.read("outside/a.yaml"), folder.read("b.yaml")), (wrong(), wrong()), "{path}");
        }
        // From the folder above, and with the settings there, both are inside.
        assert_eq!(folder.run("amend in/link.yaml --yes --without-settings").code, 0);
        assert_eq!(std::fs::read_to_string(&file).unwrap(), right());
        // Others say that they follow one, too.
        for verb in
            ["inspect more", "inspect link.yaml", "why torque more/a.yaml", "compare link.yaml b.yaml"]
        {
            let ran = inside(&format!("{verb} --without-settings --standard fastenings"));
            assert!(ran.err.contains("is a link, which is followed because"), "{ran:#?}");
        }
    }

    /// What `inspect` says that it does not see, `amend` says too.
    #[test]
    fn what_is_passed_over_is_said() {
        let folder = Folder::new();
        folder.write("outside/a.yaml", wrong());
        folder.write("jobs/a.yaml", good());
        folder.write("jobs/.b.yaml", wrong());
        folder.write("jobs/.notes.yaml", "a: 1\n");
        folder.write("jobs/K.txt", wrong());
        symlink("../outside/a.yaml", folder.path().join("jobs/link.yaml")).unwrap();
        for options in ["--yes", "--format diff"] {
            let ran = folder.run(&format!("amend jobs {options}"));
            assert_eq!(ran.code, 0, "{ran:#?}");
            assert_eq!(
                ran.err,
                "witnessmark: passed over: jobs/K.txt (begins like a record, and its name does not end in .yaml or .yml), \
                 jobs/link.yaml (a link, which is not followed), jobs/.b.yaml (hidden by a leading dot); name what is to be corrected as a path\n"
            );
        }
    }

    /// A file of some megabytes with a few mends at both ends.
    fn big() -> (String, String) {
        let note = format!("---\n{}# {}\n", good(), "a long story ".repeat(500));
        let make = |torque: &str| {
            let end = job(&format!("torque: {torque}, marked: yes"));
            format!("{end}{}---\n{end}", note.repeat(400))
        };
        (make("45 nm"), make("45 Nm"))
    }

    /// Killed at any moment, the file is the old one or the new one. A third of the kills come as soon as
    /// the file itself changes, a third while the new text is being written beside it, the others at any
    /// time.
    #[test]
    fn a_file_is_whole_whenever_the_program_is_killed() {
        let (old, new) = big();
        let folder = Folder::new();
        let file = folder.write("a.yaml", &old);
        let start = Instant::now();
        folder.run("amend a.yaml --yes").quietly(0);
        let whole = start.elapsed();
        assert_eq!(folder.read("a.yaml"), new);
        let mut rng = fastrand::Rng::with_seed(0x6b69_6c6c);
        let (mut before, mut after, mut amid) = (0, 0, 0);
        for round in 0..45 {
            std::fs::write(&file, &old).unwrap();
            let untouched = state(&file);
            let mut command = program(folder.path());
            command.args(["amend", "a.yaml", "--yes"]).stdout(std::process::Stdio::null());
            let mut child = command.spawn().unwrap();
            let mut wait_until = |seen: &dyn Fn() -> bool| {
                while !seen() && child.try_wait().unwrap().is_none() {
                    std::hint::spin_loop();
                }
            };
            match round % 3 {
                0 => wait_until(&|| state(&file) != untouched),
                1 => {
                    wait_until(&|| !beside(&folder).is_empty());
                    std::thread::sleep(Duration::from_micros(rng.u64(0..6_000)));
                }
                _ => std::thread::sleep(whole.mul_f64(rng.f64() * 1.1)),
            }
            // It may have ended already.
            let _ = child.kill();
            child.wait().unwrap();
            let left = beside(&folder);
            amid += left.len();
            left.iter().for_each(|path| std::fs::remove_file(path).unwrap());
            match folder.read("a.yaml") {
                text if text == old => before += 1,
                text if text == new => after += 1,
                text => panic!("neither the old nor the new text: {} bytes", text.len()),
            }
        }
        assert!(
            before > 0 && after > 0 && amid > 3,
            "{before} old, {after} new, {amid} killed while writing"
        );
    }

    /// What tells whether a file was touched: which file it is, and how long.
    fn state(file: &Path) -> (u64, u64) {
        use std::os::unix::fs::MetadataExt;
        std::fs::metadata(file).map_or((0, 0), |found| (found.ino(), found.len()))
    }

    /// The files beside the one that is mended.
    fn beside(folder: &Folder) -> Vec<std::path::PathBuf> {
        let entries = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().path());
        entries.filter(|path| !path.ends_with("a.yaml")).collect()
    }
}

/// A build server prints it, and takes what looks so for a command.
#[test]
fn a_difference_is_no_command_of_a_build_server() {
    let folder = Folder::new();
    folder.write(
        "a.yaml",
        "form: job/1\njob: {number: K-1, remarks: x}\n# ##[error]x\nunits: {kind: engine}\n",
    );
    let ran = folder.run("amend a.yaml --format diff");
    assert!(ran.out.contains("+unit: {kind: engine}") && !ran.out.contains("##["), "{ran:#?}");
    assert!(!ran.err.contains("cannot be seen"), "{ran:#?}");
}

/// `patch` needs the text as it is, and people must know what they do not see.
#[test]
fn a_difference_with_unseen_characters_says_so() {
    let folder = Folder::new();
    folder.write("a.yaml", "form: job/1\n# \u{202e}x\nunits: {kind: engine}\n");
    folder.write("a.standard", "# \u{200b}\nstandard  a edition 1 \"A\"\n\njudges job\n");
    for run in ["amend a.yaml --format diff", "tidy a.standard --diff"] {
        let ran = folder.run(run);
        assert_eq!(ran.code, 1, "{ran:#?}");
        assert!(ran.out.contains(['\u{202e}', '\u{200b}']), "{ran:#?}");
        assert!(ran.err.contains("holds characters that cannot be seen"), "{ran:#?}");
    }
}
