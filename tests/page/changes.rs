//! Changes are written at once, nothing is overwritten in silence, and nothing that was typed is lost.

use serde_json::json;

use super::{Served, base, workshop};

const JOB: &str = "jobs/K-2054-still-in-work.yaml";

#[test]
fn a_change_is_on_disk_when_it_is_confirmed_and_everything_else_stays() {
    let folder = workshop();
    let before = folder.read(JOB);
    let mut served = Served::new(&folder);
    let (result, _) = served.change(JOB, "level_check.temperature", "", "38,5 °C");
    assert_eq!(result["became"], "written", "{result}");
    assert_eq!(result["now"], "38.5 °C");
    served.kill();
    let after = folder.read(JOB);
    assert!(after.contains("temperature: 38.5 °C"), "{after}");
    for line in before.lines().filter(|line| line.contains('#')) {
        let comment = line.split_once('#').unwrap().1;
        assert!(after.contains(comment), "{comment} is gone");
    }
    // The same is sent again by a browser that did not hear that it was written.
    let served = Served::new(&folder);
    let (result, _) = served.change(JOB, "level_check.temperature", "", "38,5 °C");
    assert_eq!(result["became"], "written", "{result}");
    assert_eq!(folder.read(JOB), after);
}

#[test]
fn what_somebody_else_has_recorded_is_shown_and_not_overwritten() {
    let folder = workshop();
    let served = Served::new(&folder);
    assert_eq!(served.change(JOB, "level_check.temperature", "", "38 °C").0["became"], "written");
    let (result, state) = served.change(JOB, "level_check.temperature", "", "41 °C");
    assert_eq!((&result["became"], &result["now"]), (&json!("conflict"), &json!("38 °C")));
    assert_eq!(base(&state, "level_check.temperature"), "38 °C");
    // Another field of the same job is joined.
    assert_eq!(served.change(JOB, "fault_memory.after.read", "", "yes").0["became"], "written");
    // And so is what an editor writes.
    let edited = folder.read(JOB).replace("temperature: 38 °C", "temperature: 39 °C");
    folder.write(JOB, &edited);
    let (result, _) = served.change(JOB, "level_check.temperature", "38 °C", "41 °C");
    assert_eq!((&result["became"], &result["now"]), (&json!("conflict"), &json!("39 °C")));
    assert_eq!(served.change(JOB, "level_check.temperature", "39 °C", "41 °C").0["became"], "written");
    assert!(folder.read(JOB).contains("temperature: 41 °C"));
}

#[test]
fn a_value_goes_to_the_entry_that_was_meant() {
    let folder = workshop();
    let job = "jobs/K-2041-six-speed.yaml";
    let open = folder.read(job).replace("state: closed", "state: in work");
    folder.write(job, &open);
    let served = Served::new(&folder);
    // Somebody puts another screw above it.
    let above =
        "  - {role: sump screw, place: A0, torque: 10 Nm, tool: T-03}\n  - {role: sump screw, place: A1,";
    folder.write(job, open.replace("  - {role: sump screw, place: A1,", above));
    let (result, _) = served.change(job, "fastenings[sump screw, A2].torque", "10 Nm", "9.7 Nm");
    assert_eq!(result["became"], "written", "{result}");
    let line = |place: &str| {
        let text = folder.read(job);
        text.lines().find(|line| line.contains(&format!("place: {place},"))).unwrap().to_owned()
    };
    assert!(line("A2").contains("torque: 9.7 Nm"), "{}", line("A2"));
    assert!(line("A1").contains("torque: 10 Nm"), "{}", line("A1"));
    // One that is gone is said, and nothing is written.
    let (result, _) = served.change(job, "fastenings[sump screw, A9].torque", "", "9.7 Nm");
    assert_eq!(result["became"], "refused", "{result}");
}

#[test]
fn a_trial_judges_and_writes_nothing() {
    let folder = workshop();
    let before = folder.read(JOB);
    let served = Served::new(&folder);
    let asked =
        json!({"job": JOB, "changes": [{"row": "level_check.temperature", "base": "", "value": "95 °C"}]});
    let tried = served.post("/try", &asked.to_string()).json();
    let rows = tried["state"]["rows"].as_array().unwrap();
    let row = rows.iter().find(|row| row["id"] == "level_check.temperature").unwrap();
    assert!(["held", "advised"].contains(&row["state"].as_str().unwrap()), "{row}");
    assert_eq!(folder.read(JOB), before);
    assert!(!folder.has("jobs/K-2054-still-in-work.trail.jsonl"));
}

#[test]
fn a_job_is_begun_from_a_procedure_and_filled_in() {
    let folder = workshop();
    let served = Served::new(&folder);
    let token = &served.token;
    let begun =
        served.post("/new", &format!("token={token}&number=K-2100&procedure=seven-speed-twin-clutch"));
    assert_eq!(begun.status, 303, "{}", begun.body);
    let job = "jobs/K-2100.yaml";
    assert!(folder.read(job).contains("number: K-2100"));
    let state = served.state(job);
    for (row, value) in [
        ("fastenings[filter cap, gearbox top].torque", "8 Nm"),
        ("level_check.positions[R].held", "4 s"),
        ("fluid.fills[first].volume", "4,2 L"),
    ] {
        assert_eq!(base(&state, row), "", "{row}");
        assert_eq!(served.change(job, row, "", value).0["became"], "written", "{row}");
    }
    // The same number again is refused, and so is one that leads out of the folder.
    for number in ["K-2100", "..%2Fx", "", "a/b", ".x"] {
        let begun = served.post("/new", &format!("token={token}&number={number}&procedure="));
        assert_eq!(begun.status, 409, "{number}");
    }
    // So is one that would be taken for another file: settings, devices, options, and numbers that look alike.
    for number in [
        "workshop",
        "Workshop",
        "CON",
        "com1",
        "LPT9",
        "-rf",
        "-1",
        "_1",
        "%EF%BC%AB-3",
        "%D0%9A-3",
        "K%E2%80%8B3",
    ] {
        let begun = served.post("/new", &format!("token={token}&number={number}&procedure="));
        assert!(
            begun.status == 409 && begun.body.contains("among them at least one digit"),
            "{number}: {begun:?}"
        );
    }
    folder.write("jobs/Notes-7.txt", "");
    for (number, twin) in
        [("k-2100", "K-2100"), ("K2100", "K-2100"), ("k_2041", ""), ("NOTES-7", "Notes-7.txt")]
    {
        let begun = served.post("/new", &format!("token={token}&number={number}&procedure="));
        let is_taken = begun.status == 409 && begun.body.contains(&format!("There is “{twin}” already"));
        assert!(is_taken || twin.is_empty(), "{number}: {begun:?}");
    }
    let none = served.post("/new", &format!("token={token}&number=K-2101&procedure="));
    assert_eq!(none.status, 303, "{}", none.body);
    assert_eq!(served.change("jobs/K-2101.yaml", "unit.kind", "", "engine").0["became"], "written");
    assert!(served.state("jobs/K-2101.yaml")["rows"].as_array().unwrap().len() > 15);
}

#[test]
fn what_others_change_beside_it_is_taken_up() {
    let folder = workshop();
    let served = Served::new(&folder);
    let wait_for = |is_so: &dyn Fn() -> bool, what: &str| {
        let tries = 200;
        assert!(
            (0..tries).any(|_| is_so() || {
                std::thread::sleep(std::time::Duration::from_millis(100));
                false
            }),
            "{what}"
        );
    };
    // A job that is changed, one that is added and one that goes away.
    folder.write(JOB, folder.read(JOB).replace("GW 84 YY", "GW 85 YY"));
    wait_for(&|| served.get("/?q=85").body.contains("GW 85 YY"), "the list has the new plate");
    folder.write("jobs/K-2101.yaml", folder.read(JOB).replace("K-2054", "K-2101"));
    wait_for(&|| served.get("/").body.contains("K-2101"), "the list has the new job");
    std::fs::remove_file(folder.path().join("jobs/K-2101.yaml")).unwrap();
    wait_for(&|| !served.get("/").body.contains("K-2101"), "the list has it no more");
    // Another procedure is judged by, and settings with errors leave no verdict.
    let rules = "standard house edition 99 \"House\"\njudges job\nrule never \"Nothing is right\"\n  \
                 demands job.number is \"X\"\n  otherwise hold \"Never.\"\n";
    folder.write("house.standard", rules);
    wait_for(
        &|| served.state(JOB)["top"].as_str().unwrap().contains("Do not release"),
        "the new rule judges",
    );
    folder.write("workshop.yaml", "form: workshop/1\nstandards: [nothing_of_that_name]\ntime_zone: 7\n");
    wait_for(&|| served.get("/").body.contains("settings have errors"), "nobody knows by what to judge");
}

/// Such a text would be in the record and count as nothing there, so nobody would see it again.
#[test]
fn what_counts_as_not_recorded_is_not_written() {
    let folder = workshop();
    let served = Served::new(&folder);
    let before = folder.read(JOB);
    for (row, recorded) in [("job.technician", "Lene Brandt"), ("unit.serial", "0061 902 440")] {
        for value in ["OK", "none", "unknown", "-", "n/a", " ok "] {
            let (result, _) = served.change(JOB, row, recorded, value);
            assert_eq!(
                (&result["became"], &result["now"]),
                (&json!("refused"), &json!(recorded)),
                "{row} {value}"
            );
            let why = result["why"].as_str().unwrap();
            assert!(why.contains(&format!("“{}” counts as not recorded", value.trim())), "{why}");
        }
    }
    assert_eq!(folder.read(JOB), before);
    assert!(!folder.has("jobs/K-2054-still-in-work.trail.jsonl"));
}

/// What was added by mistake, or a blank part that the unit does not have.
#[test]
fn an_entry_or_a_group_is_taken_out_as_it_was_seen() {
    let folder = workshop();
    let served = Served::new(&folder);
    let job = "jobs/K-2054-still-in-work.yaml";
    let take_out = |row: &str, seen: serde_json::Value| {
        let change = json!({"row": row, "base": "", "value": "", "take_out": seen});
        served.post("/change", &json!({"job": job, "changes": [change]}).to_string()).json()["results"][0]
            .clone()
    };
    let before = folder.read(job);
    assert_eq!(served.change(job, "filters[+].place", "", "sump").0["became"], "written");
    let with = folder.read(job);
    let page = served.get(&format!("/job?job={job}")).body;
    assert!(page.contains("data-take-out=\"filters[sump]\""), "{page}");
    assert!(!page.contains("data-take-out=\"vehicle\""), "{page}");
    // Not as it is now, not at all, or what each job has.
    for (row, seen, why) in [
        ("filters[sump]", json!({}), "changed this part"),
        ("filters[sump]", json!({"filters[sump].place": "pan"}), "changed this part"),
        ("filters[none]", json!({}), "list"),
        ("vehicle", json!({}), "stays"),
        ("job", json!({}), "stays"),
    ] {
        let result = take_out(row, seen);
        assert!(result["became"] == "refused" && result["why"].as_str().unwrap().contains(why), "{result}");
    }
    assert_eq!(folder.read(job), with);
    let result = take_out("filters[sump]", json!({"filters[sump].place": "sump"}));
    assert_eq!(result["became"], "written", "{result}");
    assert_eq!(folder.read(job), before);
    let trail = folder.read("jobs/K-2054-still-in-work.trail.jsonl");
    assert!(trail.contains(r#"{"path":"filters[1]","from":"filters[sump].place: sump","to":""}"#), "{trail}");
}
