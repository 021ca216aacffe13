//! Times with and without an offset, with a time zone and without one.

use super::{folder, good};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-03-02";

#[test]
fn without_a_zone_times_with_and_without_an_offset_cannot_be_mixed() {
    let folder = folder();
    let closed = |closed: &str| {
        let record = good().replace("state: closed", &format!("closed: \"{closed}\", state: closed"));
        folder.write("job.yaml", record);
    };
    closed("2026-03-02T10:15");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(1).says(&[
        "line 2: error: this time has no offset, others of the document have one, and no time zone is set",
        "run/no-time-zone",
        "2 demands met",
    ]);
    closed("2026-03-02T10:15Z");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
    folder.write("job.yaml", good().replace("+01:00", ""));
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
    closed("2026-03-02T10:15");
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\ntime_zone: Europe/Vienna\n");
    folder.run(&format!("{INSPECT} job.yaml")).quietly(0);
}
