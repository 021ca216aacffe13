//! The trail of a record says what has happened, whenever the program ends.

use serde_json::{Value, json};
use witnessmark::edition::Digest;

use super::{Served, workshop};
use crate::support::Folder;

const JOB: &str = "jobs/K-2054-still-in-work.yaml";
const TRAIL: &str = "jobs/K-2054-still-in-work.trail.jsonl";
const ROW: &str = "level_check.temperature";

/// The lines of the trail that are whole.
fn lines(folder: &Folder) -> Vec<Value> {
    folder.read(TRAIL).lines().filter_map(|line| serde_json::from_str(line).ok()).collect()
}

fn events(folder: &Folder) -> Vec<String> {
    lines(folder).iter().map(|line| line["event"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn only_what_was_written_is_said_to_be() {
    let folder = workshop();
    let served = Served::new(&folder);
    assert_eq!(served.change(JOB, ROW, "", "38,5 °C").0["became"], "written");
    assert_eq!(events(&folder), ["begun", "written"]);
    let written = &lines(&folder)[1];
    assert_eq!(written["values"], json!([{"path": ROW, "from": "", "to": "38.5 °C"}]));
    assert_eq!(written["after"], json!(Digest::of(&folder.read(JOB)).short()));
    // What somebody else has recorded stays, and no line says otherwise.
    assert_eq!(served.change(JOB, ROW, "", "41 °C").0["became"], "conflict");
    assert_eq!(events(&folder).len(), 2);
    // A write that fails is one that failed.
    let path = folder.path().join(JOB);
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).unwrap();
    let before = folder.read(JOB);
    let asked = json!({"job": JOB, "changes": [{"row": ROW, "base": "38.5 °C", "value": "41 °C"}]});
    let refused = served.post("/change", &asked.to_string());
    assert_eq!(refused.status, 409, "{refused:?}");
    assert_eq!(folder.read(JOB), before);
    assert_eq!(events(&folder), ["begun", "written", "begun", "failed"]);
    assert_eq!(lines(&folder)[3]["why"], "it is write-protected");
}

/// The line of a change that had begun when the program was killed.
fn begun(before: &str, after: &str) -> String {
    let [before, after] = [before, after].map(|text| Digest::of(text).short());
    let line = json!({"at": "2026-03-31T08:00:00Z", "event": "begun", "by": "Lene Brandt", "before": before,
        "after": after, "values": [{"path": ROW, "from": "", "to": "38 °C"}]});
    format!("{line}\n")
}

#[test]
fn a_kill_between_the_trail_and_the_record_is_settled_at_the_next_start() {
    let folder = workshop();
    let text = folder.read(JOB);
    for (trail, event) in [
        (begun(&text, "another text"), "failed"),
        (begun("another text", &text), "written"),
        (begun("one text", "another one"), "unknown"),
    ] {
        folder.write(TRAIL, format!("{{\"cut off\n{trail}"));
        let served = Served::new(&folder);
        assert_eq!(events(&folder), ["begun", event]);
        let settled = &lines(&folder)[1];
        assert_eq!((&settled["by"], &settled["values"][0]["to"]), (&json!("Lene Brandt"), &json!("38 °C")));
        assert!(settled["why"].as_str().unwrap().contains("the program"), "{settled}");
        // It is settled once.
        drop(served);
        drop(Served::new(&folder));
        assert_eq!(events(&folder).len(), 2);
    }
}

#[test]
fn a_line_that_was_cut_off_stays_by_itself() {
    let folder = workshop();
    let served = Served::new(&folder);
    // Longer than what is looked at in one go.
    let cut_off = format!("{{\"at\":\"{}", "x".repeat(20_000));
    folder.write(TRAIL, &cut_off);
    assert_eq!(served.change(JOB, ROW, "", "38 °C").0["became"], "written");
    assert_eq!(folder.read(TRAIL).lines().next().unwrap(), cut_off);
    assert_eq!(events(&folder), ["begun", "written"]);
    // And what was open when it was written is settled before the next change.
    let open = begun("another text", &folder.read(JOB));
    folder.write(TRAIL, format!("{}{open}", folder.read(TRAIL)));
    assert_eq!(served.change(JOB, "fault_memory.after.read", "", "yes").0["became"], "written");
    assert_eq!(events(&folder), ["begun", "written", "begun", "written", "begun", "written"]);
}

#[test]
fn a_job_that_is_begun_or_opened_again_is_in_its_trail() {
    let folder = workshop();
    let served = Served::new(&folder);
    let token = &served.token;
    assert_eq!(served.post("/new", &format!("token={token}&number=K-2100&procedure=")).status, 303);
    let trail = folder.read("jobs/K-2100.trail.jsonl");
    let last: Value = serde_json::from_str(trail.lines().last().unwrap()).unwrap();
    assert_eq!(
        (&last["event"], &last["values"]),
        (&json!("written"), &json!([{"path": "job.number", "from": "", "to": "K-2100"}]))
    );
    let job = "jobs/K-2044-twin-clutch.yaml";
    assert_eq!(served.post("/open", &format!("token={token}&job={job}")).status, 303);
    let trail = folder.read("jobs/K-2044-twin-clutch.trail.jsonl");
    let last: Value = serde_json::from_str(trail.lines().last().unwrap()).unwrap();
    let values = last["values"].as_array().unwrap();
    assert!(values.contains(&json!({"path": "job.state", "from": "closed", "to": "in work"})), "{values:?}");
    // What was not there is not said to be gone.
    assert!(values.iter().all(|value| value["from"] != value["to"]), "{values:?}");
}

#[cfg(unix)]
#[test]
fn a_folder_that_becomes_a_link_is_neither_read_nor_written_into() {
    let folder = workshop();
    let served = Served::new(&folder);
    let outside = Folder::new();
    let secret = folder.read(JOB).replace("GW 84 YY", "GW 77 QQ");
    outside.write("K-2054-still-in-work.yaml", &secret);
    std::fs::rename(folder.path().join("jobs"), folder.path().join("kept")).unwrap();
    std::os::unix::fs::symlink(outside.path(), folder.path().join("jobs")).unwrap();
    for path in ["/job", "/part", "/state", "/close", "/print"] {
        let got = served.get(&format!("{path}?job={JOB}"));
        assert!(!got.body.contains("GW 77 QQ") && got.status != 200, "{path}: {got:?}");
    }
    let asked = json!({"job": JOB, "changes": [{"row": ROW, "base": "", "value": "41 °C"}]});
    for path in ["/change", "/try"] {
        let got = served.post(path, &asked.to_string());
        assert!([404, 409].contains(&got.status), "{got:?}");
    }
    let new = format!("token={}&number=K-2100&procedure=", served.token);
    served.post("/new", &new);
    let there: Vec<_> =
        std::fs::read_dir(outside.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(there, ["K-2054-still-in-work.yaml"]);
    assert_eq!(outside.read("K-2054-still-in-work.yaml"), secret);
}

/// A trail that is a link is not followed.
#[cfg(unix)]
#[test]
fn a_trail_that_is_a_link_is_not_added_to() {
    let folder = workshop();
    let served = Served::new(&folder);
    let outside = Folder::new();
    let target = outside.write("kept", "mine\n");
    let asked = json!({"job": JOB, "changes": [{"row": ROW, "base": "", "value": "41 °C"}]});
    let refuses = || {
        assert_eq!(served.post("/change", &asked.to_string()).status, 409);
        assert_eq!(outside.read("kept"), "mine\n");
        assert!(!folder.read(JOB).contains("41 °C"));
        std::fs::remove_file(folder.path().join(TRAIL)).unwrap();
    };
    std::os::unix::fs::symlink(&target, folder.path().join(TRAIL)).unwrap();
    refuses();
    std::fs::hard_link(&target, folder.path().join(TRAIL)).unwrap();
    refuses();
}

/// What a killed server was writing is removed by the next one, and nothing else is.
#[cfg(target_os = "linux")]
#[test]
fn what_a_killed_server_left_is_removed() {
    use std::os::unix::fs::MetadataExt;
    let folder = workshop();
    let half = folder.write("jobs/half", "form: job/1\n");
    let found = std::fs::metadata(&half).unwrap();
    let Ok(made) = found.created() else { return };
    let made = made.duration_since(std::time::UNIX_EPOCH).unwrap().as_nanos();
    let left = format!("jobs/.witnessmark-{:x}-{made:x}", found.ino());
    std::fs::rename(half, folder.path().join(&left)).unwrap();
    folder.write("jobs/.witnessmark-1-2", "mine\n");
    drop(Served::new(&folder));
    assert!(!folder.has(&left) && folder.has("jobs/.witnessmark-1-2"));
}

#[test]
fn a_line_that_no_trail_has_is_neither_read_whole_nor_added_to() {
    let folder = workshop();
    folder.write(TRAIL, "x".repeat(16 << 20));
    let before = folder.read(JOB);
    let served = Served::new(&folder);
    let asked = json!({"job": JOB, "changes": [{"row": ROW, "base": "", "value": "38 °C"}]});
    let refused = served.post("/change", &asked.to_string());
    assert!(refused.status == 409 && refused.body.contains("longer than any of a trail"), "{refused:?}");
    assert_eq!(folder.read(JOB), before);
}
