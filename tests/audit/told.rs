//! What is told of workshops of which the truth is known.

use fastrand::Rng;
use jiff::civil::date;

use super::archive::{Job, figures, rows, told};

/// A deviation that is nearly normal, with a deviation of one.
fn deviation(rng: &mut Rng) -> f64 {
    (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
}

/// A reading in hundredths.
fn reading(rng: &mut Rng, mean: f64, spread: f64) -> i64 {
    ((mean + spread * deviation(rng)) * 100.0).round() as i64
}

/// Jobs of two years, three tools, two technicians.
fn two_years() -> Vec<Job> {
    let mut rng = Rng::with_seed(3);
    let first = date(2024, 4, 1);
    let jobs = (0..480).map(|number| {
        let day = first.checked_add(jiff::Span::new().days((number * 730 / 480) as i64)).unwrap();
        let technician = ["Lene Brandt", "Jakub Wirth"][number % 2];
        let tool = ["T-01", "T-02", "T-03"][number % 3];
        // The third tool reads high, and the second technician writes what is wanted.
        let mean = if tool == "T-03" { 10.25 } else { 10.0 };
        let torques = (0..4).map(|_| match technician {
            "Jakub Wirth" => 1000,
            _ => reading(&mut rng, mean, 0.25).clamp(901, 1099),
        });
        let mut torques: Vec<i64> = torques.collect();
        // In the second year fewer fail.
        let fails = number.is_multiple_of(if number < 240 { 3 } else { 12 });
        if fails {
            torques[0] = 1250;
        }
        let kind = if number.is_multiple_of(5) { "wheels" } else { "engine" };
        Job { day, technician, tool, torques, kind, ..Job::of(number) }
    });
    jobs.collect()
}

#[test]
fn a_workshop_that_got_better() {
    let jobs = two_years();
    let figures = figures(&jobs);
    let page = told(&figures, date(2026, 3, 31), &[("T-01", false)]);
    assert_eq!((figures.jobs.passed, figures.jobs.failed), (380, 100));
    assert_eq!(figures.months.len(), 24);
    let changes = rows(&page, "changes");
    let all = &changes[0];
    assert_eq!(all[..2], ["all jobs", "that passed"]);
    assert!(all[4].starts_with("25.") || all[4].starts_with("24."), "{all:?}");
    assert_eq!(all[5], "< 0.0001");
    assert!(changes.iter().any(|row| row[0] == "house.torque" && row[1] == "that broke it"), "{changes:?}");
    // Nobody ever broke this one, so nothing is said of a change of it.
    assert!(changes.iter().all(|row| row[0] != "house.plate"));
    let trends = rows(&page, "trends");
    assert_eq!((&*trends[0][0], &*trends[0][2]), ("all jobs", "rises"), "{trends:?}");
}

#[test]
fn a_tool_that_reads_high_and_a_person_who_reads_nothing() {
    let page = told(&figures(&two_years()), date(2026, 3, 31), &[("T-02", true)]);
    let drift = rows(&page, "drift");
    let says: Vec<(&str, &str)> = drift.iter().map(|row| (&*row[0], &*row[4])).collect();
    assert!(says.contains(&("T-03", "higher")), "{drift:?}");
    let exact = rows(&page, "exact");
    let of = |name: &str| exact.iter().find(|row| row[1] == name).unwrap_or_else(|| panic!("{exact:?}"));
    assert!(of("Jakub Wirth")[2].starts_with("exact more often than others"));
    // Who reads is not spoken of for that.
    assert!(exact.iter().all(|row| row[1] != "Lene Brandt" || !row[2].contains("exact")), "{exact:?}");
    let silent = rows(&page, "rules_silent");
    assert_eq!(silent, [["house.plate", "The plate is recorded", "480"]]);
    let section = page.sections.iter().find(|section| section.key == "rules_silent").unwrap();
    assert!(section.remarks[0].contains("2 rules concerned no document"), "{:?}", section.remarks);
}

#[test]
fn who_measures_honestly_is_not_spoken_of() {
    let mut rng = Rng::with_seed(8);
    let jobs: Vec<Job> = (0..200)
        .map(|number| Job {
            technician: ["Lene Brandt", "Jakub Wirth"][number % 2],
            tool: ["T-01", "T-02"][(number / 2) % 2],
            torques: (0..4).map(|_| reading(&mut rng, 10.0, 0.25).clamp(901, 1099)).collect(),
            ..Job::of(number)
        })
        .collect();
    let page = told(&figures(&jobs), date(2026, 3, 31), &[]);
    assert!(rows(&page, "exact").is_empty(), "{:?}", rows(&page, "exact"));
    assert!(rows(&page, "repeats").is_empty());
    assert!(rows(&page, "drift").iter().all(|row| row[4] == "like the others"));
    assert!(rows(&page, "trends").is_empty() && rows(&page, "changes").is_empty());
    let readings = rows(&page, "readings");
    let [torque] = &readings[..] else { panic!("{readings:?}") };
    assert_eq!(torque[..4], ["fastenings[sump screw].torque", "10 Nm ± 10 %", "800", "256"]);
    assert_eq!((&*torque[4], &*torque[7], &*torque[8]), ("0", "stable", "Cpk"), "{torque:?}");
    assert!(torque[9].starts_with("1.3") || torque[9].starts_with("1.2"), "{torque:?}");
}

#[test]
fn a_shift_in_the_work_is_on_its_chart_and_takes_the_index_its_name() {
    let mut rng = Rng::with_seed(6);
    let jobs: Vec<Job> = (0..60)
        .map(|number| Job {
            day: date(2026, 1, 1).checked_add(jiff::Span::new().days(number as i64)).unwrap(),
            torques: vec![reading(&mut rng, if number < 30 { 9.8 } else { 10.5 }, 0.1)],
            ..Job::of(number)
        })
        .collect();
    let page = told(&figures(&jobs), date(2026, 3, 31), &[]);
    let readings = rows(&page, "readings");
    assert!(readings[0][7].starts_with("not stable: "), "{readings:?}");
    assert_eq!(readings[0][8], "Ppk");
    let section = page.sections.iter().find(|section| section.key == "readings").unwrap();
    assert_eq!(section.charts.len(), 1);
}

#[test]
fn equal_readings_are_named_and_have_no_index() {
    let jobs: Vec<Job> = (0..12).map(|number| Job { torques: vec![980; 3], ..Job::of(number) }).collect();
    let page = told(&figures(&jobs), date(2026, 3, 31), &[("t-04", true)]);
    let repeats = rows(&page, "repeats");
    assert_eq!(repeats[0][2..], ["T-04", "36", "9.8 Nm", "setting tool, shows no reading"]);
    assert_eq!(rows(&page, "readings")[0][9], "");
}

#[test]
fn few_jobs_claim_nothing() {
    let jobs: Vec<Job> = (0..9).map(Job::of).collect();
    let figures = figures(&jobs);
    let page = told(&figures, date(2026, 3, 31), &[]);
    assert!(page.remarks.iter().any(|remark| remark.contains("too few jobs to say")), "{:?}", page.remarks);
    assert_eq!(rows(&page, "months"), [["2026-03", "9 of 9", "0"]]);
    for section in page.sections.iter().filter(|section| {
        ["changes", "trends", "readings", "drift", "exact", "repeats", "rules_silent"].contains(&section.key)
    }) {
        assert!(section.rows.is_empty(), "{}: {:?}", section.key, section.rows);
    }
}

#[test]
fn near_misses_come_nearest_first() {
    let torques = |number: usize| [1080, 1099, 1090, 920][number];
    let jobs: Vec<Job> =
        (0..4).map(|number| Job { torques: vec![torques(number)], ..Job::of(number) }).collect();
    let near = rows(&told(&figures(&jobs), date(2026, 3, 31), &[]), "near");
    let found: Vec<(&str, &str)> = near.iter().map(|row| (&*row[0], &*row[5])).collect();
    assert_eq!(found[0], ("0.50 % of the tolerance", "jobs/K-00001.yaml:7"));
    assert_eq!(found[1].0, "5.00 % of the tolerance");
    assert_eq!(found.len(), 4);
}

#[test]
fn who_has_the_hard_jobs_is_expected_to_have_more_that_fail() {
    let jobs: Vec<Job> = (0..40)
        .map(|number: usize| {
            let hard = number.is_multiple_of(2);
            let fails = number.is_multiple_of(4);
            Job {
                kind: if hard { "wheels" } else { "engine" },
                technician: if hard { "Lene Brandt" } else { "Jakub Wirth" },
                torques: vec![if fails { 1200 } else { 1000 }],
                ..Job::of(number)
            }
        })
        .collect();
    let technicians = rows(&told(&figures(&jobs), date(2026, 3, 31), &[]), "technicians");
    assert_eq!(technicians[0][..3], ["Jakub Wirth", "20 of 20, 100 % (84 to 100 %)", "20.0"]);
    assert_eq!(technicians[1][..3], ["Lene Brandt", "10 of 20, 50 % (30 to 70 %)", "10.0"]);
}

#[test]
fn concessions_are_told_by_grantor_and_age() {
    let more = "concessions: [{rule: house.torque, reason: tried twice, granted_by: foreman, name: A. Weber, for_job: K-3, until: 2026-03-20}]\n";
    let jobs = [Job { more, torques: vec![1200], ..Job::of(3) }, Job::of(4)];
    let page = told(&figures(&jobs), date(2026, 3, 31), &[]);
    assert_eq!(rows(&page, "grantors")[0][..3], ["foreman", "A. Weber", "1"]);
    let oldest = rows(&page, "oldest_concessions");
    assert_eq!(oldest[0][..3], ["2026-03-02", "29 days", "house.torque"]);
    assert_eq!(oldest[0][5..], ["2026-03-20", "over", "jobs/K-00003.yaml:6"]);
}

#[test]
fn what_cannot_be_decided_is_no_silence() {
    let more = "level_check: {vehicle_level: yes}\n";
    let jobs: Vec<Job> = (0..12).map(|number| Job { more, ..Job::of(number) }).collect();
    let page = told(&figures(&jobs), date(2026, 3, 31), &[]);
    assert!(rows(&page, "rules_silent").iter().all(|row| row[0] != "house.level"));
    let broken = rows(&page, "rules_broken");
    assert_eq!(broken[0][0], "house.level");
    assert_eq!(broken[0][3..5], ["0 of 12, 0 % (0 to 24 %)", "12"]);
}

#[test]
fn a_job_whose_record_has_errors_does_not_pass() {
    let jobs = [Job { more: "fluids: {product: x}\n", ..Job::of(1) }, Job::of(2)];
    let figures = figures(&jobs);
    assert_eq!((figures.jobs.passed, figures.jobs.failed, figures.with_errors), (1, 1, 1));
}

// Which part of a demand decides depends on the other part: what is kept only where it decided would say that the work is
// nearer to its limits than it is.
#[test]
fn a_part_of_a_demand_is_no_reading() {
    let more = "level_check: {temperature: 40 °C, run_out: 0.3 L}\n";
    let jobs: Vec<Job> = (0..12).map(|number| Job { more, ..Job::of(number) }).collect();
    let readings = rows(&told(&figures(&jobs), date(2026, 3, 31), &[]), "readings");
    let of: Vec<[&str; 2]> = readings.iter().map(|row| [&*row[0], &*row[1]]).collect();
    let expected =
        [["fastenings[sump screw].torque", "10 Nm ± 10 %"], ["level_check.temperature", "30 °C .. 50 °C"]];
    assert_eq!(of, expected);
}
