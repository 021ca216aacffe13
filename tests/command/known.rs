//! Files of known findings: accepting, noting, shrinking, and mistakes in them.

use std::collections::BTreeSet;

use jiff::civil::date;
use serde_json::Value;
use witnessmark::document::Forms;
use witnessmark::session::known::{Counts, Key, Known, Seen};
use witnessmark::source::Sources;

use super::{folder, good, hold, job, note, open};
use crate::support::{Folder, Ran};

/// Records below `jobs`, judged on a day.
fn inspect(folder: &Folder, day: &str, options: &str) -> Ran {
    folder.run(&format!("inspect --standard plugs.standard --as-of {day} jobs --brief --width 300 {options}"))
}

fn accept(folder: &Folder) -> Ran {
    inspect(folder, "2026-03-03", "--accept-known known.yaml")
}

/// A record whose job has a number of its own.
fn numbered(name: &str, text: &str) -> String {
    text.replace("K-1", &format!("K-{name}"))
}

fn noted(records: &[(&str, &str)]) -> Folder {
    let folder = folder();
    for (name, text) in records {
        folder.write(&format!("jobs/{name}.yaml"), numbered(name, text));
    }
    inspect(&folder, "2026-03-02", "--note-known known.yaml");
    folder
}

/// The codes of what is wrong with the rules, the settings and the file of known findings.
fn codes_of_run(folder: &Folder) -> Vec<String> {
    let ran = inspect(folder, "2026-03-03", "--accept-known known.yaml --format json");
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    let code = |one: &Value| one["code"].as_str().unwrap().to_owned();
    report["diagnostics"].as_array().unwrap().iter().map(code).collect()
}

#[test]
fn what_was_noted_does_not_fail_and_what_is_new_does() {
    let folder = noted(&[("a", &hold()), ("b", &note()), ("c", &good())]);
    inspect(&folder, "2026-03-02", "").quietly(1);
    accept(&folder).quietly(0).says(&[
        "jobs/a.yaml: nothing to hold, 1 known, 1 demand met",
        "line 6: known: Plug A: 60 Nm recorded, 45 Nm ± 10 % required. (known since 2026-03-02) (plugs.torque)",
        "line 6: known: Plug A has no mark. (known since 2026-03-02) (plugs.marked)",
        "known and accepted: 2",
        "Verdict: nothing new to hold (2 known before)",
    ]);
    folder.write(
        "jobs/a.yaml",
        numbered("a", &format!("{}  - {{role: drain plug, place: B, torque: 61 Nm}}\n", hold())),
    );
    accept(&folder).quietly(1).says(&[
        "jobs/a.yaml: 1 hold, 1 known, 1 demand met",
        "line 6: known: Plug A",
        "line 7: hold: Plug B: 61 Nm recorded, 45 Nm ± 10 % required. (plugs.torque)",
    ]);
    folder.write("jobs/c.yaml", numbered("c", &hold()));
    accept(&folder)
        .quietly(1)
        .says(&["line 6: hold: Plug A: 60 Nm recorded, 45 Nm ± 10 % required. (plugs.torque)"]);
}

/// With one plug at 60 Nm known, no other value and no other plug is.
#[test]
fn only_what_was_seen_is_accepted() {
    let two = format!("{}  - {{role: level plug, place: B, torque: 5 Nm}}\n", hold());
    let folder = noted(&[("a", &two)]);
    let write = |text: &str| folder.write("jobs/a.yaml", text.replace("K-1", "K-a"));
    let gone = "advice: the known finding of `plugs.torque` in `jobs/a.yaml` is gone";
    write(&two.replace("60 Nm", "500 Nm"));
    accept(&folder).quietly(1).says(&["hold: Plug A: 500 Nm", "(known here: 60 Nm)", gone]);
    write(&two.replace("60 Nm", "45 Nm").replace("level plug", "drain plug"));
    accept(&folder).quietly(1).says(&["hold: Plug B: 5 Nm", gone]);
    // The same value in another unit or another spelling was not seen either.
    write(&two.replace("60 Nm", "60.0 Nm"));
    accept(&folder).quietly(1).says(&["hold: Plug A: 60.0 Nm", "(known here: 60 Nm)"]);
    // Lines and entries that have moved make no difference, a second entry of the same name does.
    write(&two.replace(
        "fastenings:",
        "# Typed from paper.\nfastenings:\n  - {role: filler plug, place: C, torque: 1 Nm}",
    ));
    accept(&folder).quietly(0).says(&["line 8: known: Plug A: 60 Nm"]);
    write(&format!("{two}  - {{role: drain plug, place: A, torque: 60 Nm}}\n"));
    accept(&folder).quietly(1).says(&["(1 known, 2 found)"]);
    // What is missing is known by its place too.
    let folder = noted(&[("a", &open())]);
    let text =
        open().replace("K-1", "K-a").replace("fastenings:", "fastenings:\n  - {role: filler plug, place: C}");
    folder.write("jobs/a.yaml", text);
    accept(&folder).quietly(0);
    folder.write("jobs/a.yaml", open().replace("K-1", "K-a").replace("place: A", "place: B"));
    accept(&folder).quietly(1).says(&["hold, undecided", "is gone"]);
}

/// Of several documents in a file each has its own.
#[test]
fn what_is_known_of_one_document_is_not_known_of_the_next() {
    let both = |first: &str, second: &str| format!("{first}---\n{}", second.replace("K-1", "K-2"));
    let folder = folder();
    folder.write("jobs/a.yaml", both(&hold(), &good()));
    inspect(&folder, "2026-03-02", "--note-known known.yaml");
    assert!(
        folder
            .read("known.yaml")
            .contains("job K-1 of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque"),
        "{}",
        folder.read("known.yaml")
    );
    accept(&folder).quietly(0);
    folder.write("jobs/a.yaml", both(&good(), &hold()));
    accept(&folder).quietly(1).says(&["hold: Plug A: 60 Nm", "is of another job"]);
    folder.write("jobs/a.yaml", format!("{}---\n{}", good().replace("K-1", "K-2"), hold()));
    accept(&folder).quietly(0);
}

/// Files that count a rule in a document alone accept nothing and are written anew with their days and notes.
#[test]
fn an_entry_that_does_not_say_what_was_seen_accepts_nothing_and_is_renewed() {
    let folder = noted(&[("a", &hold()), ("b", &hold())]);
    let entry = |name: &str, count: u32| {
        format!(
            "- {{document: jobs/{name}.yaml, finding: plugs.torque, as: hold, count: {count}, since: 2019-01-01, note: old}}\n"
        )
    };
    let old = format!("form: known/1\nfindings:\n{}{}", entry("a", 1), entry("b", 1));
    folder.write("known.yaml", &old);
    let ran = accept(&folder).quietly(1).says(&[
        "known.yaml line 3 column 36: advice: 2 entries do not say where the finding is and what was found, so they accept nothing",
        "hold: Plug A: 60 Nm",
    ]);
    assert!(!ran.out.contains("is gone"), "{}", ran.out);
    folder.write(
        "jobs/b.yaml",
        format!("{}  - {{role: drain plug, place: B, torque: 61 Nm}}\n", hold()).replace("K-1", "K-b"),
    );
    inspect(&folder, "2026-04-01", "--note-known known.yaml");
    let text = folder.read("known.yaml");
    assert_eq!(text.matches("since: 2019-01-01\n  note: old\n").count(), 1, "{text}");
    assert_eq!(
        text.matches("since: 2026-04-01\n  note: old\n").count(),
        2,
        "more than was known is new: {text}"
    );
    accept(&folder).quietly(0);
}

/// A value that is missing is another matter than one that is wrong, and an advice than a hold.
#[test]
fn a_finding_of_another_weight_is_new() {
    let folder = noted(&[("a", &open())]);
    accept(&folder).quietly(0);
    folder.write("jobs/a.yaml", numbered("a", &hold()));
    accept(&folder)
        .quietly(1)
        .says(&["hold: Plug A: 60 Nm", "known.yaml line 6 column 12: advice: the known finding"]);
}

#[test]
fn what_is_gone_is_said_so_that_the_file_shrinks() {
    let more = "  - {role: drain plug, place: B, torque: 61 Nm}\n";
    let two = format!("{}{more}{more}", good());
    let folder = noted(&[("a", &two), ("b", &hold())]);
    folder.write("jobs/a.yaml", numbered("a", &format!("{}{more}", good())));
    std::fs::remove_file(folder.path().join("jobs/b.yaml")).unwrap();
    let ran = folder.run(
        "inspect --standard plugs.standard --as-of 2026-03-03 jobs --accept-known known.yaml --width 300 --format plain",
    );
    ran.quietly(0).says(&[
        "known.yaml line 10 column 10: advice: 1 of the 2 known findings of `plugs.torque` in `jobs/a.yaml` is left",
        &format!("code: {}", "known/no-longer-found"),
        "help: shrink the file: write `count: 1`",
        "code: known/no-such-document",
        "there is no document `jobs/b.yaml` any more",
    ]);
    assert_eq!(codes_of_run(&folder), ["known/no-such-document"]);
    folder.write("jobs/a.yaml", numbered("a", &good()));
    accept(&folder)
        .quietly(0)
        .says(&["line 6 column 12: advice: none of the 2 known findings of `plugs.torque`"]);
    // Nothing is said of a document that this run does not look at, nor of a standard that it does not have.
    folder.write("others/c.yaml", good());
    let options = "--as-of 2026-03-03 others --accept-known known.yaml";
    let ran = folder.run(&format!("inspect --standard plugs.standard {options}")).quietly(0);
    assert!(!ran.out.contains("no-longer-found"), "{}", ran.out);
    let ran = folder.run("inspect --standard job_basics --as-of 2026-03-03 jobs --accept-known known.yaml");
    assert!(!ran.out.contains("no-longer-found"), "{}", ran.out);
}

#[test]
fn mistakes_in_a_document_are_known_by_their_code_and_unreadable_ones_never() {
    let slip = job("torque: 45 Nm, marked: yes, colour: red");
    let folder = noted(&[("a", &slip)]);
    assert!(folder.read("known.yaml").contains("finding: document/unknown-field\n  as: error\n  at: "));
    let ran = accept(&folder).quietly(0);
    ran.says(&["line 6: known: the fastening has no field `colour`"]);
    folder.write("jobs/a.yaml", numbered("a", &job("torque: 45 Nm, marked: yes, colour: red, gloss: high")));
    accept(&folder).quietly(1).says(&["line 6: error: the fastening has no field `gloss`"]);
    let folder = noted(&[("a", "form: job/1\njob: [\n"), ("b", &good())]);
    assert!(folder.read("known.yaml").ends_with("findings: []\n"));
    let entry = "form: known/1\nfindings:\n- {document: jobs/a.yaml, finding: document/layout, as: error, count: 9, since: 2026-01-01}\n";
    folder.write("known.yaml", entry);
    accept(&folder).quietly(2).says(&["could not be read"]);
}

/// By such a name it would say which records are read.
#[test]
fn known_findings_are_noted_in_no_ignore_file() {
    let folder = noted(&[("a", &hold())]);
    for name in [".gitignore", "jobs/.ignore", ".git/info/exclude"] {
        folder
            .run(&format!("inspect jobs --standard plugs.standard --note-known {name}"))
            .refused("may say which records are read");
        assert!(!folder.has(name));
    }
}

#[test]
fn noting_again_keeps_days_notes_and_what_was_not_looked_at() {
    let folder = noted(&[("a", &hold()), ("b", &hold())]);
    let text = folder.read("known.yaml");
    let first = "  count: 1\n  since: 2026-03-02\n";
    let reviewed = text.replacen(first, &format!("{first}  note: \"the car is gone: no way to tell\"\n"), 1);
    let elsewhere = "- {document: ../old/z.yaml, finding: plugs.torque, as: hold, count: 4, since: 2019-01-01}\n\
                     - {document: jobs/a.yaml, finding: other.rule, as: note, count: 2, since: 2019-01-02}\n";
    folder.write("known.yaml", reviewed + elsewhere);
    folder.write(
        "jobs/b.yaml",
        numbered("b", &format!("{}  - {{role: drain plug, place: B, torque: 61 Nm}}\n", hold())),
    );
    inspect(&folder, "2026-04-01", "--accept-known known.yaml --note-known known.yaml");
    let entries: Vec<String> = folder
        .read("known.yaml")
        .split("- document: ")
        .skip(1)
        .map(|entry| entry.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    let wanted = [
        "../old/z.yaml finding: plugs.torque as: hold count: 4 since: 2019-01-01",
        "jobs/a.yaml finding: other.rule as: note count: 2 since: 2019-01-02",
        "jobs/a.yaml finding: plugs.torque as: hold at: 'job K-a of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque' found: 60 Nm count: 1 since: 2026-03-02 \
         note: 'the car is gone: no way to tell'",
        "jobs/b.yaml finding: plugs.torque as: hold at: 'job K-b of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque' found: 60 Nm count: 1 since: 2026-03-02",
        "jobs/b.yaml finding: plugs.torque as: hold at: 'job K-b of 2026-03-02T08:15:00+01:00: fastenings[drain plug, B].torque' found: 61 Nm count: 1 since: 2026-04-01",
    ];
    assert_eq!(entries, wanted);
    accept(&folder).quietly(0);
}

#[test]
fn mistakes_in_the_file_are_said_at_their_lines_and_end_the_run_with_two() {
    let folder = noted(&[("a", &hold())]);
    let entry = |finding: &str, weight: &str| {
        format!(
            "- {{document: jobs/a.yaml, finding: {finding}, as: {weight}, at: \"job K-a of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque\", found: 60 Nm, count: 1, since: 2026-03-02}}\n"
        )
    };
    let text = [
        "form: known/1\nfindings:\n",
        &entry("plugs.torque", "hold"),
        &entry("plugs.torque", "hold"),
        &entry("plugs", "hold"),
        &entry("plugs.torque", "error"),
        &entry("document/unknown-feild", "error"),
        &entry("document/unknown-field", "hold"),
        &entry("run/file-unreadable", "error"),
        "- {document: jobs/a.yaml, findings: plugs.torque, as: grave, count: few, since: 2.3.2026}\n",
    ]
    .concat();
    folder.write("known.yaml", &text);
    let ran = accept(&folder).quietly(2).says(&[
        "known.yaml line 4 column 36: error: `plugs.torque` of `jobs/a.yaml` is listed here twice",
        "known.yaml line 5 column 36: error: `plugs` is neither the full name of a rule nor a code",
        "known.yaml line 6 column 36: error: `plugs.torque` is a rule, and only an error is known as `error`",
        "known.yaml line 7 column 36: error: there is no code `document/unknown-feild`",
        "known.yaml line 8 column 36: error: `document/unknown-field` is an error in a document itself",
        "known.yaml line 9 column 36: error: `run/file-unreadable` is an error in a document itself that cannot",
        "line 6: known: Plug A: 60 Nm",
    ]);
    let tenth = ran.out.lines().filter(|line| line.starts_with("known.yaml line 10 ")).count();
    assert_eq!(tenth, 5, "the name twice, the weight, the count and the day: {}", ran.out);
    let codes = codes_of_run(&folder);
    assert_eq!(codes.iter().filter(|code| *code == "known/entry").count(), 5, "{codes:?}");
    assert_eq!(codes.iter().filter(|code| *code == "known/twice").count(), 1, "{codes:?}");
    let ran = inspect(&folder, "2026-03-02", "--note-known known.yaml");
    assert!(ran.code == 2 && ran.err.contains("is left as it is"), "{ran:#?}");
    assert_eq!(folder.read("known.yaml"), text);
    folder.write("known.yaml", good());
    accept(&folder).quietly(2).says(&["these are no known findings"]);
    std::fs::remove_file(folder.path().join("known.yaml")).unwrap();
    accept(&folder).quietly(2).says(&["there is no such file"]);
}

/// A standard that is shipped may be left out of a run; one that nobody has is a slip, said once.
#[test]
fn an_entry_of_a_standard_that_nobody_has_is_said_at_its_line() {
    let folder = noted(&[("a", &hold())]);
    let entry = |finding: &str| {
        format!(
            "- {{document: jobs/a.yaml, finding: {finding}, as: hold, at: unit.kind, count: 1, since: 2026-03-02}}\n"
        )
    };
    let entries = ["plug.torque", "plug.marked", "nope.nope", "job_basics.road_test"].map(entry).concat();
    folder.write("known.yaml", folder.read("known.yaml") + &entries);
    accept(&folder).quietly(0).says(&[
        "advice: no standard of this run is called `plug`, so `plug.torque` is never found",
        "advice: no standard of this run is called `nope`, so `nope.nope` is never found",
    ]);
    assert_eq!(codes_of_run(&folder), ["known/entry", "known/entry"]);
}

/// Of more findings than are listed nobody can tell which are new.
#[test]
fn too_many_findings_are_not_accepted() {
    let many = |number: usize| {
        let plug = "  - {role: drain plug, place: B, torque: 61 Nm}\n";
        let plugs: String = (0..number).map(|at| plug.replace(": B", &format!(": B{at}"))).collect();
        good() + &plugs
    };
    let folder = noted(&[("a", &many(99))]);
    accept(&folder).quietly(0);
    let folder = noted(&[("a", &many(100))]);
    assert!(folder.read("known.yaml").ends_with("findings: []\n"));
    let entry = "form: known/1\nfindings:\n- {document: jobs/a.yaml, finding: plugs.torque, as: hold, at: \"job K-a of 2026-03-02T08:15:00+01:00: fastenings[drain plug, B7].torque\", found: 61 Nm, count: 500, since: 2026-01-01}\n";
    folder.write("known.yaml", entry);
    accept(&folder).quietly(1).says(&["hold: Plug B7: 61 Nm", "(too many to be known one by one)"]);
}

#[test]
fn the_file_is_no_document_and_standard_input_has_no_name_in_it() {
    let folder = noted(&[("a", &hold())]);
    std::fs::rename(folder.path().join("known.yaml"), folder.path().join("jobs/known.yaml")).unwrap();
    let text = folder.read("jobs/known.yaml").replace("jobs/a.yaml", "./x/../a.yaml");
    folder.write("jobs/known.yaml", text);
    let ran = inspect(&folder, "2026-03-03", "--accept-known jobs/known.yaml").quietly(0);
    assert!(ran.out.contains("documents: 1 judged"), "{}", ran.out);
    let line = ["inspect", "-", "--standard", "plugs.standard", "--accept-known", "jobs/known.yaml"];
    folder.run_with(line, &hold()).refused("standard input has no path");
}

#[test]
fn every_form_of_report_tells_what_is_known() {
    let slip = job("torque: 60 Nm, marked: yes, colour: red");
    let folder = noted(&[("a", &slip)]);
    let run = |format: &str| {
        inspect(&folder, "2026-03-03", &format!("--accept-known known.yaml --format {format}"))
    };
    let json: Value = serde_json::from_str(&run("json").quietly(0).out).unwrap();
    let document = &json["documents"][0];
    assert_eq!(document["findings"][0]["standing"], "known");
    assert_eq!(document["diagnostics"][0]["level"], "known");
    assert_eq!(document["diagnostics"][0]["labels"][1]["text"], "known since 2026-03-02");
    assert_eq!(json["summary"]["known"], 2);
    let sarif: Value = serde_json::from_str(&run("sarif").quietly(0).out).unwrap();
    let results = sarif["runs"][0]["results"].as_array().unwrap();
    for one in results {
        assert_eq!(one["suppressions"], serde_json::json!([{"kind": "external", "status": "accepted"}]));
    }
    assert_eq!(results.len(), 2);
    let plain: Value = serde_json::from_str(&inspect(&folder, "2026-03-03", "--format sarif").out).unwrap();
    let identities = |log: &Value| -> Vec<Value> {
        let results = log["runs"][0]["results"].as_array().unwrap();
        results.iter().map(|one| one["partialFingerprints"].clone()).collect()
    };
    assert_eq!(identities(&plain), identities(&sarif), "an identity does not change when it is known");
    let junit = run("junit").quietly(0).out;
    let report = roxmltree::Document::parse(&junit).unwrap();
    assert!(!report.descendants().any(|node| node.has_tag_name("failure") || node.has_tag_name("error")));
    assert!(junit.contains("known: Plug A: 60 Nm"), "{junit}");
    run("terminal").quietly(0).says(&["Verdict: nothing new to hold (2 known before)"]);
}

/// Whatever a file or a note is called, it comes back as it went in.
#[test]
fn what_is_written_is_read_again() {
    let mut random = fastrand::Rng::with_seed(0x6b6e);
    let pieces = [
        "a", "ü", " ", "#", ": ", "- ", "'", "\"", "\\", "{", "}", "&x", "*", "!", "|", ">", "%", "@", "~",
        "1.0", "\n", "\t", "yes", "六",
    ];
    let mut text =
        |most| (0..random.usize(1..most)).map(|_| pieces[random.usize(0..pieces.len())]).collect::<String>();
    let mut counts = Counts::new();
    for number in 1..300 {
        let document = text(6).replace(['.', '/'], "_");
        if document.trim().is_empty() {
            continue;
        }
        let seen = Some(Seen { at: format!("a{}", text(6).trim()), found: text(6).trim().to_owned() });
        let key = Key { document, finding: "plugs.torque".to_owned(), weight: "hold undecided", seen };
        counts.insert(key, number);
    }
    let write = |known: &Known, day| known.renewed(&counts, &BTreeSet::new(), day, |_| true);
    let read = |text: &str| {
        let mut sources = Sources::new();
        let source = sources.add("known.yaml", text);
        Known::read(source, &sources, &Forms::builtin())
    };
    let first = write(&Known::default(), date(2026, 3, 2));
    let (known, faults) = read(&first);
    assert!(faults.is_empty(), "{faults:#?}\n{first}");
    assert_eq!(write(&known, date(2026, 3, 3)), first, "days and counts are those of the first time");
    assert_eq!(first.matches("count:").count(), counts.len());
}

/// What is advised of a document itself is known like an advice of a rule, and noted again as it was.
#[test]
fn advices_on_documents_are_known_by_their_code() {
    let folder = folder();
    folder.write("jobs/a.yaml", good());
    folder.write("jobs/b.yaml", good());
    let failing = |options: &str| inspect(&folder, "2026-03-02", &format!("--fail-on advice {options}"));
    failing("--note-known known.yaml").quietly(1);
    let entry = "finding: run/job-number-twice\n  as: advice\n  at: 'job K-1 of 2026-03-02T08:15:00+01:00: job.number'\n  found: K-1\n  count: 1\n";
    assert_eq!(folder.read("known.yaml").matches(entry).count(), 2, "{}", folder.read("known.yaml"));
    let said = "line 2: known: the job number `K-1` is also that of a record";
    failing("--accept-known known.yaml").quietly(0).says(&[said, "known and accepted: 2"]);
    let first = folder.read("known.yaml");
    failing("--accept-known known.yaml --note-known known.yaml").quietly(0);
    assert_eq!(folder.read("known.yaml"), first);
    // As an error it is nothing that a run finds, and a rule's severity is no weight of it.
    folder.write("known.yaml", first.replacen("as: advice", "as: error", 1));
    failing("--accept-known known.yaml").quietly(1).says(&["is gone", "line 2: advice: the job number"]);
    folder.write("known.yaml", first.replacen("as: advice", "as: hold", 1));
    failing("--accept-known known.yaml")
        .quietly(2)
        .says(&["`run/job-number-twice` is an error in a document itself"]);
    folder.write("known.yaml", first);
    folder.write("jobs/b.yaml", good().replace("K-1", "K-2"));
    failing("--accept-known known.yaml")
        .quietly(1)
        .says(&["the known finding of `run/job-number-twice` in `jobs/a.yaml` is gone"]);
}

/// What is known of a job is known of no other one that takes the place of its file.
#[test]
fn what_is_known_of_a_job_counts_for_no_other_in_its_place() {
    let folder = noted(&[("a", &hold())]);
    let noted = folder.read("known.yaml");
    assert!(
        noted.contains("at: 'job K-a of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque'"),
        "{noted}"
    );
    accept(&folder).quietly(0);
    folder.write("jobs/a.yaml", hold().replace("K-1", "K-2"));
    accept(&folder).quietly(1).says(&["hold: Plug A: 60 Nm", "in `jobs/a.yaml` is of another job"]);
    // The same number, on another day or another vehicle; and one entry that stands for more of the same.
    folder.write("jobs/a.yaml", numbered("a", &hold()).replace("2026-03-02T08", "2026-03-02T07"));
    accept(&folder).quietly(1).says(&["hold: Plug A: 60 Nm"]);
    folder.write("jobs/a.yaml", numbered("a", &hold()).replace("60 Nm", "60 Nm, count: 9"));
    accept(&folder).quietly(1).says(&["hold: Plug A: 60 Nm"]);
    // An entry from before the job was noted accepts nothing, and says so; it keeps its day and its note.
    folder.write("jobs/a.yaml", numbered("a", &hold()));
    let old = noted.replace(
        "'job K-a of 2026-03-02T08:15:00+01:00: fastenings[drain plug, A].torque'",
        "fastenings[drain plug, A].torque",
    );
    let old = old.replace("since: 2026-03-02", "since: 2020-01-02\n  note: the car is gone");
    folder.write("known.yaml", &old);
    accept(&folder).quietly(1).says(&[
        "hold: Plug A: 60 Nm",
        "the known finding of `plugs.torque` in `jobs/a.yaml` is of another job, or does not say of which, so it accepts nothing",
    ]);
    inspect(&folder, "2026-04-01", "--accept-known known.yaml --note-known known.yaml");
    assert_eq!(folder.read("known.yaml").matches("since: 2020-01-02\n  note: the car is gone").count(), 1);
    accept(&folder).quietly(0);
}
