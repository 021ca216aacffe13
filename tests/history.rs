//! Which records belong to one vehicle: names are compared by what they mean to a person, and a job that belongs
//! to no vehicle is reported.

use crate::support::{Folder, Ran};

const VIN: &str = "AZ1LR48K4MG204117";

/// A folder whose settings name the folder `old` of earlier jobs.
fn folder() -> Folder {
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [vehicle_history]\ndocuments: {jobs: [old]}\n",
    );
    folder.write("old/other.yaml", job("K-0", "2025-01-02", "{plate: ZZ 999, odometer: 5 km}"));
    folder
}

fn job(number: &str, day: &str, vehicle: &str) -> String {
    format!(
        "form: job/1\njob: {{number: '{number}', opened: {day}T08:00:00Z, state: closed}}\nvehicle: {vehicle}\nunit: {{kind: wheels}}\n"
    )
}

fn inspect(folder: &Folder) -> Ran {
    folder.run("inspect . --as-of 2026-03-31 --format plain --width 400")
}

/// An earlier job at 1,000 km and one at 900 km, whose vehicles are named like this.
fn falling(earlier: &str, later: &str) -> Ran {
    let folder = folder();
    folder.write("old/a.yaml", job("K-1", "2026-02-02", &format!("{{{earlier}, odometer: 1000 km}}")));
    folder.write("b.yaml", job("K-2", "2026-03-02", &format!("{{{later}, odometer: 900 km}}")));
    inspect(&folder)
}

const FELL: &str = "Odometer 900 km, and 1000 km in the earlier job K-1.";

#[test]
fn case_blanks_hyphens_and_the_width_of_letters_tell_no_two_plates_apart() {
    for later in [
        "GW 123",
        "gw 123",
        "GW123",
        "GW-123",
        "gw\u{2013}123",
        "\u{ff27}\u{ff37} \u{ff11}23",
        "G W\u{a0}123",
    ] {
        let ran = falling("plate: GW 123", &format!("plate: '{later}'")).quietly(1).says(&[FELL]);
        assert!(!ran.out.contains("looks-alike"), "{later}: {ran:#?}");
    }
    // One character or two for a letter with its dots.
    falling("plate: M\u{fc} 1", "plate: mu\u{308}1").quietly(1).says(&[FELL]);
    let ran = falling("plate: GW 123", "plate: GW 124");
    assert!(!ran.out.contains(FELL) && !ran.out.contains("looks-alike"), "{ran:#?}");
}

#[test]
fn a_vin_is_found_in_small_letters_and_with_blanks() {
    for later in ["az1lr48k4mg204117", "AZ1 LR48K4 MG204117", "AZ1-LR48K4-MG204117"] {
        falling(&format!("vin: {VIN}"), &format!("vin: {later}")).quietly(1).says(&[FELL]);
    }
}

#[test]
fn letters_of_another_alphabet_name_the_same_vehicle_and_are_reported_in_the_later_job() {
    let ran = falling("plate: GA 123", "plate: G\u{410} 123").quietly(1);
    ran.says(&[
        FELL,
        "line 3: advice: the plate `G\u{410} 123` looks like `GA 123` of the earlier job K-1, and is taken for the same vehicle",
        "run/looks-alike",
        "U+0410",
        "a.yaml",
    ]);
    // Also where the earlier record has the other letters, in small ones.
    let ran = falling("plate: 'g\u{430} 123'", "plate: GA 123").quietly(1);
    ran.says(&[FELL, "the plate `GA 123` looks like `g\u{430} 123` of the earlier job K-1"]);
    let ran = falling(&format!("vin: {VIN}"), "vin: \u{410}Z1LR48K4MG204117").quietly(1);
    ran.says(&[
        FELL,
        "the VIN `\u{410}Z1LR48K4MG204117` looks like `AZ1LR48K4MG204117` of the earlier job K-1",
    ]);
}

/// What is said of the number of the second of two jobs.
fn numbers(first: &str, second: &str) -> Ran {
    let folder = folder();
    folder.write("a.yaml", job(first, "2026-02-02", "{plate: GW 1}"));
    folder.write("b.yaml", job(second, "2026-03-02", "{plate: GW 2}"));
    inspect(&folder)
}

#[test]
fn a_job_number_is_the_same_however_it_is_spelt() {
    let twice = "run/job-number-twice";
    numbers("K-1", "K-1").says(&[twice, "the job number `K-1` is also that of a record in `a.yaml`"]);
    for second in ["k-1", "K 1", "K1", "K\u{2013}1", "\u{ff2b}-1"] {
        let said =
            format!("the job number `{second}` is also that of a record in `a.yaml`, written `K-1` there");
        numbers("K-1", second).says(&[twice, &said]);
    }
    numbers("K-1", "\u{41a}-1").says(&[twice, "written `K-1` there", "U+041A"]);
    // Between two digits a hyphen or a blank is a part of the number.
    for (first, second) in [("2026-1-12", "2026-11-2"), ("1 23", "12 3"), ("K-1", "K-2")] {
        let ran = numbers(first, second);
        assert!(!ran.out.contains(twice), "{first} {second}: {ran:#?}");
    }
    numbers("2026-1-12", "2026 1 12").says(&[twice]);
}

/// A copy of the job itself is no earlier job, however its number is written.
#[test]
fn a_copy_under_another_spelling_of_the_number_is_no_earlier_job() {
    let folder = folder();
    folder.write("a.yaml", job("K-1", "2026-02-02", "{plate: GW 1, odometer: 1000 km}"));
    folder.write("b.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    folder.write("copy.yaml", job("k-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    let ran = inspect(&folder).quietly(1);
    assert_eq!(ran.out.matches(FELL).count(), 2, "{ran:#?}");
}

/// A number that is written in another way is given twice, and does not hide the job that has it.
#[test]
fn an_earlier_job_of_nearly_the_same_number_is_an_earlier_job() {
    let folder = folder();
    folder.write("a.yaml", job("K-1", "2026-02-02", "{plate: GW 1, odometer: 1000 km}"));
    folder.write("b.yaml", job("k 1", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    inspect(&folder).quietly(1).says(&[FELL, "run/job-number-twice"]);
}

/// What a run says over a job of the vehicle and another record, in the folder of earlier jobs and beside it.
fn beside(other: &str) -> [Ran; 2] {
    ["old/a.yaml", "a.yaml"].map(|name| {
        let folder = folder();
        folder.write("b.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
        folder.write(name, other);
        folder.run("inspect b.yaml a.yaml --as-of 2026-03-31 --format plain --width 400")
    })
}

#[test]
fn a_job_whose_vehicle_cannot_be_told_is_reported_beside_the_history() {
    let good = job("K-1", "2026-02-02", "{plate: GW 1, odometer: 1000 km}");
    for ran in beside(&good) {
        assert!(!ran.out.contains("neighbour-faulty"), "{ran:#?}");
    }
    for vehicle in [
        "{plat: GW 1, odometer: 1000 km}",
        "{plate: [GW 1], odometer: 1000 km}",
        "{plate: GW 1, plate: GW 2, odometer: 1000 km}",
        "GW 1",
    ] {
        let [earlier, own] = beside(&job("K-1", "2026-02-02", vehicle));
        earlier.says(&["error: an earlier job is left out of the history, `old/a.yaml`: neither plate nor VIN can be read"]);
        own.says(&[
            "a.yaml line 3",
            "advice: this job is left out of the history of its vehicle: neither plate nor VIN can be read",
        ]);
    }
    let misspelt = good.replace("vehicle:", "vehicel:");
    for ran in beside(&misspelt) {
        ran.says(&["is left out of the history", "neither plate nor VIN can be read"]);
    }
}

#[test]
fn a_job_that_does_not_say_which_vehicle_is_advised_of() {
    for ran in beside(&job("K-1", "2026-02-02", "{odometer: 1000 km}")) {
        ran.says(&["advice: ", "is left out of the history", "it states neither plate nor VIN"]);
    }
    // Nothing at all is stated of a vehicle: a unit on the bench, or a sheet that is still blank.
    for vehicle in ["{}", "{plate: , vin: , odometer: }"] {
        for ran in beside(&job("K-1", "2026-02-02", vehicle)) {
            assert!(!ran.out.contains("left out of the history"), "{ran:#?}");
        }
    }
}

/// A single record has no history that it could be missing from.
#[test]
fn a_job_alone_is_missing_from_no_history() {
    let folder = Folder::new();
    folder.write("a.yaml", job("K-1", "2026-02-02", "{plat: GW 1, odometer: 1000 km}"));
    let ran = folder.run("inspect a.yaml --standard vehicle_history --format plain --width 400");
    assert!(!ran.out.contains("left out of the history"), "{ran:#?}");
}

/// However many they are, the list of them stays short.
#[test]
fn of_many_jobs_without_a_vehicle_the_first_are_named_and_the_rest_counted() {
    let folder = folder();
    let lost = |number: usize| job(&format!("L{number}"), "2026-02-02", "{odometer: 1000 km}");
    for number in 0..25 {
        folder.write(&format!("a{number:02}.yaml"), lost(number));
    }
    let ran = inspect(&folder);
    assert_eq!(ran.out.matches("advice: this job is left out of the history").count(), 20, "{ran:#?}");
    ran.says(&["5 more jobs of this run are left out of the history"]);
}

/// Opened at another time it is another job, whatever number it was given; at the same time it is a copy.
#[test]
fn a_job_of_the_same_number_that_was_opened_before_is_an_earlier_job() {
    let folder = folder();
    folder.write("old/a.yaml", job("K-2", "2026-02-02", "{plate: GW 1, odometer: 1000 km}"));
    folder.write("b.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    inspect(&folder)
        .quietly(1)
        .says(&["Odometer 900 km, and 1000 km in the earlier job K-2.", "is also that of a record"]);
    folder.write("old/a.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 1000 km}"));
    let ran = inspect(&folder).says(&["is also that of a record"]);
    assert!(!ran.out.contains("Odometer"), "{ran:#?}");
}

#[test]
fn which_of_two_jobs_of_the_same_time_was_the_last_one_is_not_guessed() {
    let folder = folder();
    folder.write("old/a.yaml", job("K-1", "2026-02-02", "{plate: GW 1, odometer: 1000 km}"));
    folder.write("old/b.yaml", job("K-1b", "2026-02-02", "{plate: GW 1, odometer: 500 km}"));
    folder.write("c.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    inspect(&folder).quietly(1).says(&[
        "which job on this vehicle was the last one before is not known: `K-1` and `K-1b` were opened at the same time",
        "run/same-time",
    ]);
}

/// A record of another kind of work, or one that was only begun, states no odometer: the reading before it counts.
#[test]
fn a_record_that_states_nothing_of_what_is_asked_hides_no_earlier_job() {
    let folder = folder();
    let stated = "{plate: GW 1, odometer: 1000 km}";
    let first = job("K-1", "2026-02-02", stated);
    folder.write("a.yaml", first.replace("{kind: wheels}", "{kind: engine, serial: E-1}"));
    let last = job("K-3", "2026-03-02", "{plate: GW 1, odometer: 900 km}");
    folder.write("c.yaml", last.replace("{kind: wheels}", "{kind: engine, serial: E-2}"));
    let serial = "Serial number E-2, and E-1 in the earlier job K-1.";
    inspect(&folder).quietly(1).says(&[FELL, serial]);
    for vehicle in [
        "{plate: GW 1}".to_owned(),
        "{plate: GW 1, odometer: }".to_owned(),
        "{plate: GW 1, odometer: unknown}".to_owned(),
        // Nor does one that cannot be read.
        "{plate: GW 1, odometer: as before}".to_owned(),
        "{plate: GW 1, odometer: [1 km]}".to_owned(),
        "{plate: GW 1, odometr: 1 km}".to_owned(),
    ] {
        for unit in ["{kind: wheels}", "{kind: engine}", "{kind: engine, serial: unknown}"] {
            let stub = job("K-2", "2026-02-20", &vehicle).replace("{kind: wheels}", unit);
            folder.write("b.yaml", stub.replace("state: closed", "state: in work"));
            inspect(&folder).quietly(1).says(&[FELL, serial]);
        }
    }
    // Under the VIN there is only the stub; the reading is under the plate.
    folder.write("b.yaml", job("K-2", "2026-02-20", &format!("{{plate: GW 1, vin: {VIN}}}")));
    folder.write("c.yaml", last.replace("{plate: GW 1,", &format!("{{plate: GW 1, vin: {VIN},")));
    inspect(&folder).quietly(1).says(&[FELL]);
    // What the record between them states does count.
    folder.write("b.yaml", job("K-2", "2026-02-20", "{plate: GW 1, odometer: 2000 km}"));
    folder.write("c.yaml", last);
    inspect(&folder).quietly(1).says(&["Odometer 900 km, and 2000 km in the earlier job K-2."]);
}

/// Each rule counts from the job that states what it asks for.
#[test]
fn an_interval_counts_from_the_last_job_that_filled_the_unit() {
    let folder = folder();
    let engine = |number: &str, day: &str, rest: &str| {
        job(number, day, "{plate: GW 1, odometer: 1000 km}").replace("{kind: wheels}", "{kind: engine}")
            + rest
    };
    folder.write("a.yaml", engine("K-1", "2024-02-02", "fluid: {fills: [{stage: single, volume: 4 L}]}\n"));
    folder.write("b.yaml", engine("K-2", "2026-01-20", "fluid: {fills: [], appearance: dark}\n"));
    folder.write("c.yaml", engine("K-3", "2026-03-02", "fluid: {fills: [{stage: single, volume: 4 L}]}\n"));
    inspect(&folder)
        .says(&["Opened 2026-03-02T08:00:00Z, last service on 2024-02-02T08:00:00Z in job K-1: 12 months"]);
    folder.write("b.yaml", engine("K-2", "2026-01-20", "fluid: {fills: [{stage: single, volume: 4 L}]}\n"));
    let ran = inspect(&folder);
    assert!(!ran.out.contains("Opened 2026-03-02T08:00:00Z, last service"), "{ran:#?}");
}

/// By which of its records a later job is judged must not depend on how their files are called.
#[test]
fn records_of_one_earlier_job_that_differ_are_an_error_whatever_their_names() {
    let record = |km: usize| job("K-1", "2026-02-02", &format!("{{plate: GW 1, odometer: {km} km}}"));
    for (name, spelt) in [("A.yaml", "K-1"), ("zz.yaml", "K-1"), ("zz.yaml", "k 1"), ("A.yaml", "K 1")] {
        let folder = folder();
        folder.write("k.yaml", record(1000));
        folder.write("m.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
        let copy = record(10).replace("number: 'K-1'", &format!("number: '{spelt}'"));
        folder.write(name, &copy);
        inspect(&folder).says(&[
            "line 2: error: what the earlier job `",
            "` on this vehicle states is not known: the records of it in `",
            "` differ",
            "run/same-time",
        ]);
        // One that states no odometer differs, too.
        folder.write(name, copy.replace(", odometer: 10 km", ""));
        inspect(&folder).says(&["` differ", "Verdict: no verdict"]);
    }
    // Copies that say the same, in whatever layout, are one job.
    let folder = folder();
    folder.write("k.yaml", record(1000));
    folder.write("m.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
    folder.write(
        "A.yaml",
        format!("# A copy.\n{}", record(1000).replace("{plate: GW 1,", "{ plate: \"GW 1\",")),
    );
    let ran = inspect(&folder).quietly(1).says(&[FELL]);
    assert!(!ran.out.contains("same-time"), "{ran:#?}");
    // A crowd of them is not compared.
    for number in 0..9 {
        folder.write(&format!("n{number}.yaml"), record(1000));
    }
    inspect(&folder).says(&["Verdict: no verdict", "is not known: 11 records have its number and its time"]);
}

/// A vehicle with many jobs is looked up like one with few.
#[test]
fn many_records_that_state_nothing_hide_no_earlier_job() {
    for stubs in [3, 15, 16, 17, 40] {
        let folder = folder();
        let stub = |number: usize| {
            let day = format!("2026-02-{:02}", 3 + number % 20);
            job(&format!("S-{number}x"), &day, "{plate: GW 1}")
                .replace("T08:", &format!("T{:02}:", number / 20))
        };
        let texts: Vec<String> = (0..stubs).map(stub).collect();
        folder.write("stubs.yaml", texts.join("---\n"));
        folder.write("a.yaml", job("K-1", "2026-02-02", "{plate: GW 1, odometer: 1000 km}"));
        folder.write("b.yaml", job("K-2", "2026-03-02", "{plate: GW 1, odometer: 900 km}"));
        inspect(&folder).quietly(1).says(&[FELL]);
        // Its copy is found behind them, too.
        folder.write("copy.yaml", job("K-1", "2026-02-02", "{plate: GW 1, odometer: 10 km}"));
        inspect(&folder).says(&["the records of it in `a.yaml` and `copy.yaml` differ"]);
    }
}
