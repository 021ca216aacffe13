//! Faults of the system, put into each call by which the program reads and writes: what was there stays whole, what is written
//! is whole or not there, and nobody is told that all went well. `strace` puts them in, so these runs are not among the
//! ordinary ones: `.ci/run` asks for them, and `WITNESSMARK_INJECT=long` tries every call instead of some of each.

use std::collections::BTreeMap;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::support::{Folder, Ran, finish, program};

const PLUGS: &str = r#"standard plugs edition 1 "Plugs"
judges job
rule torque "Plugs are tightened"
  concerns  each f in fastenings where f.role is "drain plug"
  demands   f.torque within 45 Nm ± 10 %
  otherwise hold "Plug {f.place}: {f.torque} recorded."
  basis     "common practice"
"#;

fn job(number: &str, torque: &str) -> String {
    format!(
        "form: job/1\njob: {{number: {number}, opened: \"2026-03-02T08:15:00+01:00\", state: closed}}\n\
         vehicle: {{}}\nunit: {{kind: engine}}\nfastenings:\n  - {{role: drain plug, place: A, torque: {torque}}}\n"
    )
}

/// What a run may leave in the place of what it writes.
#[derive(Clone, Copy)]
enum Leaves {
    /// An old report goes when a run begins. A new one is whole, if it only says what could not be read.
    OldNothingOrNew(fn(&str) -> bool),
    /// What people wrote never goes.
    OldOrNew,
}

/// A run that writes one file.
struct Writing {
    arguments: &'static str,
    target: &'static str,
    /// What was there before.
    old: Option<String>,
    leaves: Leaves,
    /// The exit code of a run in which nothing goes wrong.
    code: i32,
}

fn is_json(text: &str) -> bool {
    serde_json::from_str::<serde_json::Value>(text).is_ok()
}

/// What could not be read is not noted.
fn is_known(text: &str) -> bool {
    text.contains("form: known/1\n") && text.ends_with('\n')
}

fn is_ended(text: &str) -> bool {
    text.ends_with('\n')
}

fn writings() -> [Writing; 5] {
    let report = |arguments, target, code, is_whole| Writing {
        arguments,
        target,
        old: Some("an old report\n".to_owned()),
        leaves: Leaves::OldNothingOrNew(is_whole),
        code,
    };
    let kept = |arguments, target, old: Option<String>| Writing {
        arguments,
        target,
        old,
        leaves: Leaves::OldOrNew,
        code: 0,
    };
    [
        report(
            "inspect jobs --standard plugs.standard --as-of 2026-03-03 --threads 1 --format sarif --output out.sarif",
            "out.sarif",
            1,
            is_json,
        ),
        report("prove plugs.standard --as-of 2026-03-03 --output out.txt", "out.txt", 0, is_ended),
        kept("amend slips.yaml --yes", "slips.yaml", Some(job("K-3", "45 NM"))),
        kept("sheet procedure.yaml --output blank.yaml", "blank.yaml", None),
        Writing {
            old: None,
            ..report(
                "inspect jobs --standard plugs.standard --as-of 2026-03-03 --threads 1 --note-known known.yaml --brief",
                "known.yaml",
                1,
                is_known,
            )
        },
    ]
}

/// A folder in which each of them can run.
fn folder(writing: &Writing) -> Folder {
    let folder = Folder::new();
    folder.write("plugs.standard", PLUGS);
    folder.write("jobs/a.yaml", job("K-1", "45 Nm"));
    folder.write("jobs/b.yaml", job("K-2", "60 Nm"));
    folder.write("procedure.yaml", include_str!("../examples/grauwasser/procedures/engine-oil.yaml"));
    if let Some(old) = &writing.old {
        folder.write(writing.target, old);
    }
    folder
}

/// The calls by which files are read and written.
const CALLS: &str = "open,openat,read,write,rename,renameat,renameat2,link,linkat,unlink,unlinkat,fsync,fdatasync,ftruncate,fchmod,flock";

/// The program with its arguments under `strace`, which writes its account to `calls` and puts in what `injected` says.
fn traced(folder: &Folder, arguments: &str, path: Option<&str>, injected: Option<&str>) -> Command {
    let mut command = Command::new("strace");
    command.args(["-f", "-o", "calls", "-e", &format!("trace={CALLS}")]);
    if let Some(path) = path {
        command.args(["-P", path]);
    }
    if let Some(injected) = injected {
        command.args(["-e", &format!("inject={injected}")]);
    }
    let own = program(folder.path());
    command.arg(own.get_program()).args(arguments.split_whitespace()).current_dir(folder.path());
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// How often each call is made, by the thread that makes it most often: `strace` counts in each by itself.
fn counted(account: &str) -> BTreeMap<String, usize> {
    let mut by_thread: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for line in account.lines() {
        let Some((thread, rest)) = line.split_once(char::is_whitespace) else { continue };
        if let Some((call, _)) = rest.trim_start().split_once('(') {
            *by_thread.entry((call, thread)).or_default() += 1;
        }
    }
    let mut counts = BTreeMap::new();
    for ((call, _), count) in by_thread {
        let most: &mut usize = counts.entry(call.to_owned()).or_default();
        *most = count.max(*most);
    }
    counts
}

/// Which of many calls a fault is put into: all of them in a long run, some of each otherwise.
fn tried(count: usize) -> Vec<usize> {
    if std::env::var("WITNESSMARK_INJECT").is_ok_and(|how| how == "long") {
        return (1..=count).collect();
    }
    let mut tried = vec![1, count.div_ceil(2), count.saturating_sub(1), count];
    tried.retain(|number| *number > 0);
    tried.dedup();
    tried
}

const FAULTS: [&str; 4] = ["signal=KILL", "error=ENOSPC", "error=EIO", "error=EROFS"];

#[test]
#[ignore = "needs strace, which .ci/run installs"]
#[expect(clippy::print_stdout, reason = "how many faults were felt is what one wants to know of a long run")]
fn what_is_written_is_whole_whatever_call_fails() {
    let mut runs = 0;
    let mut failed = 0;
    for writing in writings() {
        let clean = folder(&writing);
        let ran = finish(traced(&clean, writing.arguments, None, None), "");
        assert_eq!(ran.code, writing.code, "{ran:#?}");
        let new = clean.read(writing.target);
        let calls = counted(&clean.read("calls"));
        assert!(calls.contains_key("write") && calls.contains_key("fsync"), "{calls:?}");
        for (call, count) in &calls {
            for (number, fault) in
                tried(*count).into_iter().flat_map(|number| FAULTS.map(|fault| (number, fault)))
            {
                let at = format!("{call}:{fault}:when={number}");
                let folder = folder(&writing);
                let ran = finish(traced(&folder, writing.arguments, None, Some(&at)), "");
                let what = format!("{} with {at}: {ran:#?}", writing.arguments);
                runs += 1;
                failed += usize::from(ran.code != writing.code);
                judge_one(&folder, &writing, &new, &ran, &what);
            }
        }
    }
    assert!(failed * 4 > runs, "hardly a fault was felt: {failed} of {runs}");
    println!("{runs} faults put in, {failed} of them felt");
}

fn judge_one(folder: &Folder, writing: &Writing, new: &str, ran: &Ran, what: &str) {
    assert!(!ran.err.contains("panicked") && !ran.out.contains("internal error"), "{what}");
    assert!([writing.code, 2, 127, 255].contains(&ran.code), "{what}");
    assert_eq!(folder.read("jobs/a.yaml"), job("K-1", "45 Nm"), "{what}");
    assert_eq!(folder.read("jobs/b.yaml"), job("K-2", "60 Nm"), "{what}");
    assert_eq!(folder.read("plugs.standard"), PLUGS, "{what}");
    let left = folder.has(writing.target).then(|| folder.read(writing.target));
    let is_old = left == writing.old;
    let is_new = left.as_deref() == Some(new);
    match writing.leaves {
        Leaves::OldOrNew => assert!(is_old || is_new, "{what}"),
        Leaves::OldNothingOrNew(is_whole) => {
            assert!(is_old || left.as_deref().is_none_or(is_whole), "{what}");
        }
    }
    assert!(is_new || ran.code != writing.code, "success was told: {what}");
    // No blank takes the place of a record.
    if writing.old.is_none() && is_new {
        std::fs::remove_file(folder.path().join(writing.target)).unwrap();
    }
    // What is left beside it goes with the next run, which does the whole work.
    let again = folder.run(writing.arguments);
    assert_eq!((again.code, folder.read(writing.target).as_str()), (writing.code, new), "{what}\n{again:#?}");
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        // Killed before the file had the name by which it is known, a run leaves nothing in it.
        let is_known = name.starts_with(".witnessmark-");
        let is_empty = !name.starts_with(".witnessmark") || folder.read(&name).is_empty();
        assert!(!is_known && is_empty, "{name} is left: {what}");
    }
}

#[test]
#[ignore = "needs strace, which .ci/run installs"]
fn a_record_that_goes_away_or_cannot_be_read_is_told_and_the_others_are_judged() {
    let writing = &writings()[0];
    for (call, fault) in [
        ("open,openat", "error=ENOENT"),
        ("open,openat", "error=EACCES"),
        ("open,openat", "error=EMFILE"),
        ("read", "error=EIO"),
    ] {
        for when in ["1+", "2+"] {
            let folder = folder(writing);
            let injected = format!("{call}:{fault}:when={when}");
            let arguments = "inspect jobs --standard plugs.standard --as-of 2026-03-03 --threads 1 --brief --without-settings";
            let ran = finish(traced(&folder, arguments, Some("jobs/b.yaml"), Some(&injected)), "");
            assert!(!ran.err.contains("panicked"), "{injected}: {ran:#?}");
            if when == "1+" {
                assert_eq!(ran.code, 2, "{injected}: {ran:#?}");
                assert!(
                    ran.out.contains("jobs/b.yaml") && ran.out.contains("jobs/a.yaml: nothing to hold"),
                    "{ran:#?}"
                );
            } else {
                // What was read before the fault came is judged, and nothing passes for having been read.
                assert!(ran.code == 2 || ran.out.contains("jobs/b.yaml: 1 hold"), "{injected}: {ran:#?}");
            }
        }
    }
}

#[test]
#[ignore = "needs strace, which .ci/run installs"]
fn a_record_that_changes_while_it_is_read_is_judged_as_a_whole_or_not_at_all() {
    let folder = folder(&writings()[0]);
    let arguments = "inspect jobs/b.yaml --standard plugs.standard --as-of 2026-03-03 --threads 1 --brief --without-settings";
    let slow = "read:delay_exit=1500000:when=1";
    let mut command = traced(&folder, arguments, Some("jobs/b.yaml"), Some(slow));
    let child = command.spawn().unwrap();
    let begun = Instant::now();
    let is_open =
        || std::fs::read_to_string(folder.path().join("calls")).unwrap_or_default().contains("open");
    while !is_open() && begun.elapsed() < Duration::from_secs(60) {
        sleep(Duration::from_millis(5));
    }
    sleep(Duration::from_millis(300));
    folder.write("jobs/b.yaml", job("K-2", "45 Nm") + "# changed\n");
    let ran = Ran::of(child.wait_with_output().unwrap());
    let is_told = ran.code == 2 && ran.out.contains("changed while it was read");
    assert!(is_told || ran.out.contains("jobs/b.yaml: nothing to hold"), "{ran:#?}");
}
