//! Who may write: people with PINs, and what a foreman alone may do.

use serde_json::json;

use super::{Served, base, workshop};
use crate::support::Folder;

const JOB: &str = "jobs/K-2054-still-in-work.yaml";

/// Gives somebody a PIN.
pub fn person(folder: &Folder, name: &str, role: &str) -> String {
    let ran = folder.run_with(["bench", ".", "--person", name, "--role", role], "");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let pin = ran.out.split_once("with the PIN ").unwrap().1.split('.').next().unwrap().to_owned();
    assert!(pin.len() == 6 && pin.bytes().all(|byte| byte.is_ascii_digit()), "{pin}");
    pin
}

fn sign_in(served: &Served, name: &str, pin: &str) -> u16 {
    let name = name.replace(' ', "+");
    served.post("/sign-in", &format!("token={}&name={name}&pin={pin}", served.token)).status
}

#[test]
fn whoever_has_the_link_signs_in_and_each_entry_says_who_made_it() {
    let folder = workshop();
    let pin = person(&folder, "Tomasz Wirth", "technician");
    let other = person(&folder, "Lene Brandt", "foreman");
    assert!(!folder.read(".bench-people.json").contains(&pin), "the PIN itself is nowhere");
    assert!(folder.read(".bench-people.json").contains("$argon2id$"));
    let served = Served::new(&folder);
    assert!(served.get("/").body.contains("Who is at the bench?"));
    let asked =
        json!({"job": JOB, "changes": [{"row": "road_test.done", "base": "", "value": "yes"}]}).to_string();
    assert_eq!(served.post("/change", &asked).status, 401, "before anybody has signed in");
    assert_eq!(sign_in(&served, "Tomasz Wirth", "000000"), if pin == "000000" { 303 } else { 403 });
    assert_eq!(sign_in(&served, "Nobody", &pin), 403);
    assert_eq!(sign_in(&served, "Lene Brandt", &pin), if pin == other { 303 } else { 403 });
    assert_eq!(sign_in(&served, "Tomasz Wirth", &pin), 303);
    assert_eq!(served.change(JOB, "road_test.done", "", "yes").0["became"], "written");
    assert!(
        folder.read("jobs/K-2054-still-in-work.trail.jsonl").contains("\"by\":\"Tomasz Wirth (technician)\"")
    );
    // What a foreman alone may do.
    let open = format!("token={}&job=jobs/K-2044-twin-clutch.yaml", served.token);
    assert_eq!(served.post("/open", &open).status, 403);
    assert_eq!(served.post("/sign-out", &format!("token={}", served.token)).status, 303);
    assert_eq!(served.post("/change", &asked).status, 401, "after signing out");
    assert_eq!(sign_in(&served, "Lene Brandt", &other), 303);
    assert_eq!(served.post("/open", &open).status, 303);
    assert!(folder.read("jobs/K-2044-twin-clutch.yaml").contains("state: in work"));
    // The people are no record, and hide none.
    let ran = folder.run("inspect . --as-of 2026-03-31 --brief");
    assert!(!format!("{}{}", ran.out, ran.err).contains("bench-people"), "{}{}", ran.out, ran.err);
}

#[test]
fn wrong_pins_are_counted() {
    let folder = workshop();
    let pin = person(&folder, "Tomasz Wirth", "technician");
    let wrong = if pin == "000000" { "000001" } else { "000000" };
    let served = Served::new(&folder);
    for _ in 0..5 {
        assert_eq!(sign_in(&served, "Tomasz Wirth", wrong), 403);
    }
    assert_eq!(sign_in(&served, "Tomasz Wirth", &pin), 403, "the right one comes too late");
}

#[test]
fn the_network_is_served_only_where_people_sign_in() {
    let folder = workshop();
    let ran = folder.run("bench . --network 127.0.0.1 --port 0");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("add people first with `--person NAME --role foreman`"), "{}", ran.err);
    person(&folder, "Lene Brandt", "foreman");
    let ran = folder.run("bench . --network 0.0.0.0 --port 0");
    assert!(ran.code == 2 && ran.err.contains("name the one that this machine has"), "{}", ran.err);
    let served = Served::in_network(&folder);
    assert!(served.said.contains('█'), "the link is drawn for a camera: {}", served.said);
    assert!(served.get("/").body.contains("Who is at the bench?"));
}

#[test]
fn somebody_whom_the_rule_names_lets_a_finding_stand() {
    let folder = workshop();
    let job = "jobs/K-2045-sump-screw-too-tight.yaml";
    folder.write(job, folder.read(job).replace("state: closed", "state: in work"));
    let served = Served::new(&folder);
    let page = served.get(&format!("/close?job={job}")).body;
    assert!(page.contains("Let it stand, with a reason"), "{page}");
    let form = page.split_once("action=\"/concede\"").unwrap().1.split_once("</form>").unwrap().0;
    let value = |name: &str| {
        let field = form.split_once(&format!("name=\"{name}\" value=\"")).unwrap().1;
        field.split('"').next().unwrap().to_owned()
    };
    let role = form.split_once("<option>").unwrap().1.split('<').next().unwrap();
    let body = format!(
        "token={}&job={job}&rule={}&place={}&granted_by={}&name=L.+Brandt&reason=Thread%3A+plate+%23+corroded",
        served.token,
        value("rule"),
        value("place").replace('[', "%5B").replace(']', "%5D"),
        role.replace(' ', "+")
    );
    let granted = served.post("/concede", &body);
    assert_eq!(granted.status, 303, "{}", granted.body);
    let text = folder.read(job);
    assert!(text.contains("concessions:") && text.contains("L. Brandt"), "{text}");
    let after = served.get(&format!("/close?job={job}")).body;
    assert!(after.contains("Thread: plate # corroded"), "{after}");
    // What stands there now was looked at. Something else was not, and counts again.
    assert!(text.contains("found: 12 Nm, reason"), "{text}");
    let ran = || folder.run("inspect jobs/K-2045-sump-screw-too-tight.yaml --as-of 2026-03-31 --brief").out;
    assert!(!ran().contains("no-such-place"), "{}", ran());
    folder.write(job, text.replace("torque: 12 Nm", "torque: 24 Nm"));
    let ran = ran();
    assert!(ran.contains("granted for `12 Nm`, and `24 Nm` is recorded there now"), "{ran}");
}

/// Whoever is signed in grants in his own name, and not for his own work.
#[test]
fn a_concession_has_the_name_of_who_is_signed_in() {
    let folder = workshop();
    let job = "jobs/K-2045-sump-screw-too-tight.yaml";
    folder.write(job, folder.read(job).replace("state: closed", "state: in work"));
    let pin = person(&folder, "Lene Brandt", "foreman");
    let served = Served::new(&folder);
    assert_eq!(sign_in(&served, "Lene Brandt", &pin), 303);
    assert!(!served.get(&format!("/close?job={job}")).body.contains("name=\"name\""));
    let body = format!(
        "token={}&job={job}&rule=fastenings.torque_reached&place=&granted_by=foreman&name=Paul+Brandner&reason=seen",
        served.token
    );
    assert_eq!(served.post("/concede", &body).status, 303);
    let text = folder.read(job);
    assert!(text.contains("name: Lene Brandt") && !text.contains("Brandner"), "{text}");
}

#[test]
fn two_names_that_would_be_taken_for_each_other_are_not_let_in() {
    let folder = workshop();
    person(&folder, "Bob", "foreman");
    for name in ["bob", "BOB", "B ob", "\u{412}ob", "Bob\u{301}\u{34f}", "B-ob", "\u{ff22}ob"] {
        let ran = folder.run_with(["bench", ".", "--person", name], "");
        assert_eq!(ran.code, 2, "{name}: {ran:?}");
        assert!(
            ran.err.contains("who is there already") || ran.err.contains("is no name"),
            "{name}: {}",
            ran.err
        );
    }
    for name in ["<b>", "a\u{200b}", "", "  ", "\u{202e}evil", "a\"b", "1", "a,b", "a(foreman)"] {
        let ran = folder.run_with(["bench", ".", "--person", name], "");
        assert!(ran.code == 2 && ran.err.contains("is no name"), "{name}: {}", ran.err);
    }
    for name in ["Bob", "J\u{f6}rg O\u{2019}Hara-Li", "Jo\u{308}rg"] {
        person(&folder, name, "technician");
    }
    assert_eq!(folder.read(".bench-people.json").matches("\"name\"").count(), 3);
}

/// By its form alone: a row that is entered would ask nobody who grants it.
#[test]
fn nobody_grants_a_concession_by_entering_it() {
    let folder = workshop();
    let job = "jobs/K-2045-sump-screw-too-tight.yaml";
    folder.write(job, folder.read(job).replace("state: closed", "state: in work"));
    let served = Served::new(&folder);
    let (result, _) = served.change(job, "concessions[+].rule", "", "fastenings.torque_reached");
    assert_eq!(result["became"], "refused", "{result}");
    assert!(result["why"].as_str().unwrap().contains("by those whom the rule names"), "{result}");
    assert!(!folder.read(job).contains("concessions"), "{}", folder.read(job));
}

/// What says which job this is and which edition judges it is not in the hands of the one who is judged.
#[test]
fn a_technician_changes_neither_the_number_of_a_job_nor_what_it_is_bound_to() {
    let folder = workshop();
    let pin = person(&folder, "Tomasz Wirth", "technician");
    let other = person(&folder, "Lene Brandt", "foreman");
    let served = Served::new(&folder);
    assert_eq!(sign_in(&served, "Tomasz Wirth", &pin), 303);
    let state = served.state(JOB);
    let (number, opened) = (base(&state, "job.number"), base(&state, "job.opened"));
    let before = folder.read(JOB);
    for (row, base, value) in [
        ("job.number", number.as_str(), "K-1"),
        ("job.opened", opened.as_str(), "2020-01-01"),
        ("job.technician", "Lene Brandt", "Paul Brandner"),
        ("job.standards[+].name", "", "grauwasser_house"),
        ("job.standards[+]", "", "grauwasser_house"),
    ] {
        let (result, _) = served.change(JOB, row, base, value);
        assert_eq!(result["became"], "refused", "{row}: {result}");
    }
    assert_eq!(folder.read(JOB), before);
    assert_eq!(served.post("/sign-out", &format!("token={}", served.token)).status, 303);
    assert_eq!(sign_in(&served, "Lene Brandt", &other), 303);
    assert_eq!(served.change(JOB, "job.number", &number, "K-2954").0["became"], "written");
    let (result, _) = served.change(JOB, "job.standards[+].name", "", "grauwasser_house");
    assert_eq!(result["became"], "refused", "{result}");
}

/// A list of people that came with the folder says how much a sign-in costs, and who may come in.
#[cfg(unix)]
#[test]
fn people_who_came_with_the_folder_from_elsewhere_are_refused() {
    use std::os::unix::fs::PermissionsExt;
    let folder = workshop();
    person(&folder, "Tomasz Wirth", "technician");
    let list = folder.read(".bench-people.json");
    let start = || folder.run_with(["bench", ".", "--person", "Lene Brandt"], "");
    folder.write(".bench-people.json", list.replace("m=19456", "m=4194303"));
    let ran = start();
    assert!(ran.code == 2 && ran.err.contains("was not made by this program"), "{ran:?}");
    folder.write(".bench-people.json", &list);
    let path = folder.path().join(".bench-people.json");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
    let ran = folder.run_with(["bench", ".", "--port", "0"], "");
    assert!(ran.code == 2 && ran.err.contains("can be read by others"), "{ran:?}");
    // Nor does giving somebody a PIN make it ours.
    let ran = start();
    assert!(ran.code == 2 && ran.err.contains("can be read by others"), "{ran:?}");
    assert_eq!(folder.read(".bench-people.json"), list);
}

#[test]
fn a_technician_signs_for_nobody_else() {
    let folder = workshop();
    let pins = [("Tomasz Wirth", "technician"), ("Lene Brandt", "foreman")]
        .map(|(name, role)| (name, person(&folder, name, role)));
    let served = Served::new(&folder);
    let row = "job.countersigned_by";
    for ((name, pin), became) in pins.iter().zip(["refused", "written"]) {
        assert_eq!(sign_in(&served, name, pin), 303);
        assert_eq!(served.change(JOB, row, "", "Agnes Öhler").0["became"], became, "{name}");
        if became == "written" {
            // Nor does a foreman grant in a role that the rule does not name.
            let body = |role: &str| {
                format!(
                    "token={}&job={JOB}&rule=fastenings.torque_reached&place=&granted_by={role}&reason=x",
                    served.token
                )
            };
            assert_eq!(served.post("/concede", &body("king")).status, 409);
        }
        served.post("/sign-out", &format!("token={}", served.token));
    }
}
