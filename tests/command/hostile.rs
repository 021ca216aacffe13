//! Files that no technician would write: each is named, none is passed over, none stops the run.

use std::path::Path;

use super::{folder, good, hold};
use crate::support::Folder;

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

#[test]
fn each_kind_of_unreadable_file_is_named_and_the_others_are_judged() {
    let folder = folder();
    let mut utf16 = vec![0xff, 0xfe];
    utf16.extend(good().encode_utf16().flat_map(u16::to_le_bytes));
    let long = format!("{}remarks: {}\n", good(), "x".repeat(17 << 20));
    let cases: [(&str, Vec<u8>, &str); 5] = [
        ("a.yaml", b"form: job/1\njob: {number: K-\xe4}\n".to_vec(), "document/encoding"),
        ("b.yaml", utf16, "UTF-16"),
        ("c.yaml", b"form: job/1\njob: {number: K-\0}\n".to_vec(), "could not be read"),
        ("d.yaml", Vec::new(), "document/empty"),
        ("e.yaml", long.into_bytes(), "16 MiB"),
    ];
    folder.write("z.yaml", hold());
    for (name, bytes, says) in cases {
        folder.write(name, bytes);
        let ran = folder.run(&format!("{INSPECT} {name} z.yaml")).quietly(2);
        ran.says(&[name, says, "line 6: hold: Plug A", "1 judged"]);
    }
}

#[test]
#[cfg(unix)]
fn links_are_followed_where_they_are_named_and_never_in_circles() {
    use std::os::unix::fs::symlink;
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("elsewhere/b.yaml", hold());
    symlink(folder.path().join("jobs"), folder.path().join("jobs/again")).unwrap();
    symlink("../elsewhere", folder.path().join("jobs/out")).unwrap();
    symlink("nowhere", folder.path().join("jobs/dangling.yaml")).unwrap();
    symlink("circle.yaml", folder.path().join("circle.yaml")).unwrap();
    folder.run(&format!("{INSPECT} jobs")).quietly(2).says(&["1 judged", "2 records are hidden"]);
    folder.run(&format!("{INSPECT} --hidden leave jobs")).quietly(0).says(&["1 judged"]);
    let said = "is a link, which is followed because the command line names it: it leads to ";
    let ran = folder.run(&format!("{INSPECT} jobs/out jobs/a.yaml")).says(&["2 judged"]);
    assert!(ran.code == 1 && ran.err.contains(&format!("`jobs/out` {said}`elsewhere`")), "{ran:#?}");
    for link in ["jobs/dangling.yaml", "circle.yaml"] {
        let ran = folder.run(&format!("{INSPECT} {link} jobs/a.yaml"));
        assert!(ran.code == 2 && ran.err.contains(&format!("`{link}` {said}nothing")), "{ran:#?}");
        ran.says(&["could not be read", link, "1 judged"]);
    }
}

/// A folder is searched for documents even where its name is that of one.
#[test]
fn a_folder_with_the_name_of_a_document_is_a_folder() {
    let folder = folder();
    folder.write("x.yaml/a.yaml", good());
    folder.run(&format!("{INSPECT} x.yaml")).quietly(0).says(&["x.yaml/a.yaml", "1 judged"]);
}

#[test]
fn names_of_files_cannot_change_what_the_screen_shows() {
    let folder = folder();
    let names = [
        "two words.yaml",
        "Öl wéchsel 油.yaml",
        "new\nline.yaml",
        "esc\u{1b}[31m.yaml",
        "back\u{8}.yaml",
        "-dash.yaml",
        "turned\u{202e}lmay.yaml",
    ];
    for name in names {
        folder.write(&format!("jobs/{name}"), hold());
    }
    for format in witnessmark::report::FORMATS {
        let ran = folder.run(&format!("{INSPECT} jobs --format {}", format.name)).quietly(1);
        // Reports for programs keep letters as they are; only control characters are escaped there.
        let turns = |c: char| c == '\u{202e}' && !["json", "sarif", "gitlab"].contains(&format.name);
        let bad = |c: &char| (c.is_control() && *c != '\n') || turns(*c);
        assert!(!ran.out.contains(|c| bad(&c)), "{} writes a control character", format.name);
        ran.says(&["two words.yaml"]);
    }
    let ran = folder.run(&format!("{INSPECT} jobs --format plain")).says(&["Öl wéchsel 油.yaml", "7 judged"]);
    assert!(!ran.out.lines().any(|line| line.starts_with("line.yaml")), "{}", ran.out);
    for name in ["missing\u{1b}[31m.yaml", "missing\nline.yaml"] {
        let arguments: Vec<&str> = INSPECT.split(' ').chain([name]).collect();
        let ran = folder.run_with(arguments, "");
        assert!(ran.code == 2 && !ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{ran:#?}");
    }
    // A name that looks like an option is reached through its folder, or behind `--`.
    folder.write("-dash.yaml", good());
    folder.run(&format!("{INSPECT} -- -dash.yaml")).quietly(0);
}

#[test]
fn texts_of_records_and_rules_cannot_change_what_the_screen_shows() {
    let folder = folder();
    let text = good().replace("place: A", "place: \"A\\e[31m\\u202e\"").replace("45 Nm", "60 Nm");
    folder.write("a.yaml", text);
    for format in witnessmark::report::FORMATS {
        let ran = folder.run(&format!("{INSPECT} a.yaml --format {}", format.name));
        let for_people = !["json", "sarif"].contains(&format.name);
        assert!(!ran.out.contains('\u{1b}'), "{}", format.name);
        assert!(!for_people || !ran.out.contains('\u{202e}'), "{}", format.name);
        assert!(ran.code > 0);
    }
}

#[test]
fn files_that_use_names_cannot_leave_by_absolute_paths() {
    let folder = folder();
    let other = folder.write("other.standard", "let a = 1\n");
    let rules = |path: &Path| format!("standard s edition 1 \"S\"\njudges job\nuse \"{}\"\n", path.display());
    folder.write("s.standard", rules(&other));
    folder.write("good.yaml", good());
    folder
        .run("inspect good.yaml --standard s.standard")
        .quietly(2)
        .says(&["rules/use-unreadable", "s.standard line 3"]);
    folder.write("s.standard", rules(Path::new("other.standard")));
    // The file is read now; without a rule, nothing is judged by it.
    folder.run("inspect good.yaml --standard s.standard").quietly(2).says(&["no rule applied"]);
    folder.run("prove other.standard").quietly(2).says(&["no rules were found"]);
}

#[test]
fn a_file_that_grows_while_it_is_read_is_not_judged() {
    use std::io::Write;
    use std::sync::atomic::{AtomicBool, Ordering};
    let folder = Folder::new();
    let text = format!("form: job/1\n{}", "# nothing\n".repeat(800_000));
    let path = folder.write("job.yaml", text);
    let done = AtomicBool::new(false);
    let seen = std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut file = std::fs::OpenOptions::new().append(true).open(&path).unwrap();
            for _ in 0..4_000_000 {
                if done.load(Ordering::Relaxed) {
                    break;
                }
                file.write_all(b"\n").unwrap();
            }
        });
        let seen = (0..20).any(|_| {
            let ran = folder.run("inspect job.yaml --standard job_basics --format plain");
            let seen = ran.out.contains("`job.yaml` was changed while it was read");
            // On a busy machine it may have been read between two writes, as a record with mistakes.
            assert_eq!(ran.code, if seen { 2 } else { 1 }, "{ran:#?}");
            seen && ran.out.contains("run/file-changed")
        });
        done.store(true, Ordering::Relaxed);
        seen
    });
    assert!(seen, "twenty times it was read while it grew, and nothing was said: \"run/file-changed\"");
}
