//! A job is closed when a run over it would not fail, and its record says by what it was judged.

use super::{Served, workshop};
use crate::support::Folder;

const JOB: &str = "jobs/K-2041-six-speed.yaml";

/// The job of the examples in which nothing is to be held, as it was before it was closed.
fn open_again(folder: &Folder) -> String {
    let closed = folder.read(JOB);
    let lines = closed.lines().filter(|line| !line.starts_with("  closed:"));
    let open: String = lines.map(|line| format!("{line}\n")).collect();
    // It is closed now, so it was opened yesterday, with tools that were calibrated a month before.
    let today = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    let yesterday = today.yesterday().unwrap();
    let month = yesterday.checked_sub(jiff::SignedDuration::from_hours(30 * 24)).unwrap();
    let open = open.replace("state: closed", "state: in work").replace("2026-03-02", &yesterday.to_string());
    let tools = folder.read("tools.yaml").replace("2026-01-19", &month.to_string());
    folder.write("tools.yaml", tools);
    folder.write(JOB, &open);
    open
}

fn version(page: &str) -> String {
    let value = page
        .split_once("name=\"version\" value=\"")
        .map(|(_, rest)| rest.split('"').next().unwrap().to_owned());
    value.unwrap_or_default()
}

#[test]
fn a_job_in_order_is_pinned_and_closed_and_can_be_opened_again() {
    let folder = workshop();
    let open = open_again(&folder);
    let served = Served::today(&folder);
    let page = served.get(&format!("/close?job={JOB}")).body;
    assert!(page.contains("Nothing would hold this job"), "{page}");
    let form = |version: &str| format!("token={}&job={JOB}&version={version}", served.token);
    // What has changed since it was shown is not closed.
    assert_eq!(served.post("/close", &form("0123")).status, 409);
    assert_eq!(folder.read(JOB), open);
    let closed = served.post("/close", &form(&version(&page)));
    assert_eq!(closed.status, 303, "{}", closed.body);
    let text = folder.read(JOB);
    for wanted in [
        "state: closed",
        "closed: 20",
        "standards:\n    - {name: job_basics, edition:",
        "name: house, edition:",
        "content: ",
    ] {
        assert!(text.contains(wanted), "{wanted}:\n{text}");
    }
    // It is as `inspect` wants it.
    let ran = folder.run(&format!("inspect {JOB} --brief"));
    assert_eq!(ran.code, 0, "{}", ran.out);
    // What is closed is not changed.
    let (result, _) = served.change(JOB, "vehicle.odometer", "118430 km", "118431 km");
    assert_eq!(result["became"], "refused", "{result}");
    assert_eq!(folder.read(JOB), text);
    assert_eq!(served.post("/open", &form("")).status, 303);
    assert!(folder.read(JOB).contains("state: in work"));
    assert_eq!(served.change(JOB, "vehicle.odometer", "118430 km", "118431 km").0["became"], "written");
    assert!(folder.read("jobs/K-2041-six-speed.trail.jsonl").contains("\"job.state\""));
}

#[test]
fn a_job_that_would_be_held_is_not_closed() {
    let folder = workshop();
    let open = open_again(&folder)
        .replace("level_check:\n  temperature: 38 °C", "level_check:\n  temperature: 88 °C");
    folder.write(JOB, &open);
    let served = Served::new(&folder);
    let page = served.get(&format!("/close?job={JOB}")).body;
    assert!(page.contains("cannot be closed") && page.contains("88 °C"), "{page}");
    assert!(!page.contains("Close it now"));
    let version = served.state(JOB)["version"].as_str().unwrap().to_owned();
    let form = format!("token={}&job={JOB}&version={version}", served.token);
    assert_eq!(served.post("/close", &form).status, 409);
    assert_eq!(folder.read(JOB), open);
}

#[test]
fn the_record_is_printed_with_all_that_was_found() {
    let folder = workshop();
    let served = Served::new(&folder);
    let page = served.get("/print?job=jobs/K-2045-sump-screw-too-tight.yaml").body;
    assert!(page.contains("12 Nm at the fastener, 10 Nm ± 10 % required"), "{page}");
    assert!(page.contains("fastenings[sump screw, A3].torque"));
}
