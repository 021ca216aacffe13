//! What the page says of a job is what `inspect` says of the file, after every change.

use serde_json::Value;

use super::{DAY, Served, notes, workshop};
use crate::support::Folder;

/// All that `inspect` finds of a file, and how much of each sort.
fn inspected(folder: &Folder, job: &str) -> (Vec<(String, String)>, [u64; 4]) {
    let ran = folder.run(&format!("inspect {job} --as-of {DAY} --format json"));
    let report: Value = serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {}", ran.err));
    let documents = report["documents"].as_array().unwrap();
    let document = documents.iter().find(|one| one["name"].as_str().is_some_and(|name| name.ends_with(job)));
    let document = document.unwrap_or_else(|| panic!("{job} was not judged"));
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let (mut all, mut counts) = (Vec::new(), [0; 4]);
    for found in document["diagnostics"].as_array().unwrap() {
        all.push((text(&found["code"]), text(&found["message"])));
        match found["level"].as_str().unwrap() {
            "error" => counts[1] += 1,
            "advice" => counts[2] += 1,
            _ => {}
        }
    }
    for found in document["findings"].as_array().unwrap() {
        all.push((text(&found["rule"]), text(&found["message"])));
        match (found["standing"].as_str().unwrap(), found["severity"].as_str().unwrap()) {
            ("counts", "hold") => counts[0] += 1,
            ("counts", "advice") => counts[2] += 1,
            ("still_to_do", _) => counts[3] += 1,
            _ => {}
        }
    }
    all.sort();
    (all, counts)
}

/// All that the page shows.
fn shown(state: &Value) -> (Vec<(String, String)>, [u64; 4]) {
    let rows = state["rows"].as_array().unwrap().iter().map(|row| row["notes"].as_str().unwrap());
    let others = state["others"].as_object().unwrap().values().map(|html| html.as_str().unwrap());
    let mut all: Vec<(String, String)> = rows.chain(others).flat_map(notes).collect();
    all.sort();
    let top = state["top"].as_str().unwrap();
    let number = |word: &str| {
        let found = top
            .split("<span class=\"count\">")
            .skip(1)
            .find(|text| text.split('<').next().unwrap().contains(word));
        found.map_or(0, |text| text.split(' ').next().unwrap().parse().unwrap())
    };
    (all, [number("hold"), number("error"), number("advised"), number("still to do")])
}

/// What is entered: good and bad values for many kinds of field, and blanks.
const ENTERED: [(&str, &str); 22] = [
    ("vehicle.odometer", "118,900 km"),
    ("vehicle.odometer", "1 km"),
    ("vehicle.vin", "AZ1LR48K4MG204118"),
    ("vehicle.plate", ""),
    ("fastenings[sump screw, A1].torque", "10,2 Nm"),
    ("fastenings[sump screw, A1].torque", "22 Nm"),
    ("fastenings[sump screw, A1].torque", "hand tight"),
    ("fastenings[sump screw, A1].torque", ""),
    ("fastenings[drain plug, pan].tool", "T-05"),
    ("level_check.temperature", "95 °C"),
    ("level_check.temperature", "38 °C"),
    ("seals[drain plug].renewed", "no"),
    ("fault_memory.after.read", "yes"),
    ("fault_memory.after.codes", "P0730, P0741"),
    ("fault_memory.after.codes", "[]"),
    ("job.technician", "<b>T. Wirth</b>"),
    ("job.opened", "2027-01-01T08:00:00+01:00"),
    ("unit.serial", "# 0061: 774"),
    ("road_test.done", "maybe"),
    ("cautions.acknowledged", "no"),
    ("unit.kind", "twin clutch"),
    ("vehicle.plate", "GW 418 TE"),
];

#[test]
fn after_every_change_the_page_says_what_inspect_says() {
    let folder = workshop();
    // A closed job is not filled in, so one is opened again.
    let closed = folder.read("jobs/K-2041-six-speed.yaml");
    let open: String = closed
        .lines()
        .filter(|line| !line.starts_with("  closed:"))
        .map(|line| format!("{line}\n"))
        .collect();
    let job = "jobs/K-2041-six-speed.yaml";
    folder.write(job, open.replace("state: closed", "state: in work"));
    let served = Served::new(&folder);
    assert_eq!(shown(&served.state(job)), inspected(&folder, job), "before");
    for (row, value) in ENTERED {
        let before = super::base(&served.state(job), row);
        let (result, after) = served.change(job, row, &before, value);
        assert_eq!(result["became"], "written", "{row} = {value}: {result}");
        assert_eq!(shown(&after), inspected(&folder, job), "{row} = {value}");
        assert_eq!(shown(&served.state(job)), shown(&after), "{row} = {value}");
    }
}

#[test]
fn of_every_example_the_page_shows_what_inspect_finds() {
    let folder = workshop();
    let served = Served::new(&folder);
    let ran = folder.run(&format!("inspect . --as-of {DAY} --format json"));
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    let mut tried = 0;
    for document in report["documents"].as_array().unwrap() {
        let name = document["name"].as_str().unwrap();
        if !document["headline"].as_str().unwrap().starts_with("job ") || name.contains(" (document") {
            continue;
        }
        let mut wanted: Vec<(String, String)> = Vec::new();
        for (list, key) in [("diagnostics", "code"), ("findings", "rule")] {
            let found = document[list].as_array().unwrap().iter();
            wanted.extend(found.map(|one| {
                (one[key].as_str().unwrap().to_owned(), one["message"].as_str().unwrap().to_owned())
            }));
        }
        wanted.sort();
        assert_eq!(shown(&served.state(name)).0, wanted, "{name}");
        // The page itself shows them too, each at its place.
        let page = served.get(&format!("/job?job={name}"));
        let mut on_page = notes(&page.body);
        on_page.sort();
        on_page.dedup();
        wanted.dedup();
        assert_eq!(on_page, wanted, "{name}");
        tried += 1;
    }
    assert!(tried > 25, "{tried}");
}

/// A job beside this one that is in no order, or cannot be read at all, is told as `inspect` tells it.
#[test]
fn what_is_wrong_with_an_earlier_job_holds_the_page_as_it_holds_inspect() {
    const JOB: &str = "jobs/K-2042-engine-oil.yaml";
    let earlier = |folder: &Folder, change: &dyn Fn(&str) -> String| {
        let text = folder.read(JOB).replace("K-2042", "K-1042");
        folder.write("jobs/K-1042.yaml", change(&text));
    };
    let undated = |text: &str| text.replace("opened: 2026", "opened: 20x6");
    let lost = |text: &str| text.replace("form: job/1", "form: job/1\n{[/");
    for (change, error) in
        [(&undated as &dyn Fn(&str) -> String, "is not known"), (&lost, "is left out of the history")]
    {
        let folder = workshop();
        earlier(&folder, change);
        let served = Served::new(&folder);
        let ran = folder.run(&format!("inspect {JOB} --as-of {DAY} --format plain --width 400"));
        assert_ne!(ran.code, 0, "{ran:#?}");
        ran.says(&[error]);
        let state = served.state(JOB);
        let top = state["top"].as_str().unwrap();
        assert!(top.contains("data-state=\"error\"") || shown(&state).1[1] > 0, "{top}");
        let page = served.get(&format!("/close?job={JOB}")).body;
        assert!(page.contains(error) && !page.contains("action=\"/close\""), "{page}");
    }
}
