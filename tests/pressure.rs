//! Gauge pressure, absolute pressure and differences of pressures: the form says which of them a field holds, a bare
//! `bar` is what the field says, and none stands in for another. Ratios and plain numbers are kept apart likewise.

use crate::support::Folder;

const HEAD: &str = "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00:00Z, state: closed}\nvehicle: {}\n\
                    unit: {kind: cooling}\n";

const ITEMS: &str = "standard own edition 1 \"Own\"\njudges job\n\n\
    parameter test is gauge pressure range \"T\" = 1.2 bar .. 1.5 bar\n\
    parameter deepest is absolute pressure \"D\" = 20 mbar\n\
    parameter fall is pressure \"F\" = 0.05 bar\n\
    parameter most is ratio \"M\" = 60 %\n\
    table cap by unit.kind\n  \"cooling\": 1.4 bar gauge\n  \"engine\": 2 bar gauge\n\
    let bare = 1.2 bar\nlet sixty = 60\n";

/// A run on one rule and one record: its exit code and what it says.
fn judged(demand: &str, record: &str) -> (i32, String) {
    let folder = Folder::new();
    let rule = format!("{ITEMS}\nrule one \"One\"\n  demands {demand}\n  otherwise hold \"No.\"\n");
    folder.write("rules.standard", rule);
    folder.write("job.yaml", format!("{HEAD}{record}\n"));
    let run = folder
        .run("inspect job.yaml --standard rules.standard --format plain --width 500 --without-settings --as-of 2026-03-02");
    (run.code, run.out + &run.err)
}

#[track_caller]
fn says(demand: &str, record: &str, code: i32, texts: &[&str]) {
    let (found, said) = judged(demand, record);
    for text in texts {
        assert!(said.contains(text), "{demand}\n{record}\n`{text}` is not in\n{said}");
    }
    assert_eq!(found, code, "{demand}\n{record}\n{said}");
}

#[test]
fn an_absolute_pressure_in_a_gauge_field_is_an_error_and_leaves_undecided() {
    for demand in [
        "pressure_hold.start within 1.2 bar gauge .. 1.5 bar gauge",
        "pressure_hold.start within test",
        "pressure_hold.start at least 1.2 bar",
        "pressure_hold.start above pressure_hold.end",
        "pressure_hold.start is one of (1.4 bar, 2 bar)",
        "pressure_hold.start at most cap",
        "pressure_hold.start − pressure_hold.end at most fall",
    ] {
        let record = "pressure_hold: {start: 1.4 bar absolute, end: 1.3 bar}";
        says(
            demand,
            record,
            1,
            &[
                "error: `1.4 bar absolute` is an absolute pressure, and a gauge pressure is wanted here",
                "the two differ by the pressure of the air, which this value does not say: read it at the tool as a \
                 gauge pressure, or record it in a field for an absolute pressure",
                "waiting: 1 rule waits for `",
            ],
        );
    }
    says(
        "pressure_hold.air_pressure above deepest",
        "pressure_hold: {air_pressure: 0.4 bar gauge}",
        1,
        &[
            "error: `0.4 bar gauge` is a gauge pressure, and an absolute pressure is wanted here",
            "the two differ by the pressure of the air, which this value does not say: read it at the tool as an \
             absolute pressure, or record it in a field for a gauge pressure",
            "waiting: 1 rule waits for `",
        ],
    );
}

/// What is written for the zero in another way is read as what it says, in a record, a rule and a log.
#[test]
fn other_words_for_the_zero_of_a_pressure() {
    for (record, texts) in [
        (
            "pressure_hold: {start: 2.3 bar (ABS)}",
            &["`2.3 bar (ABS)` is an absolute pressure", "in a field for an absolute pressure"][..],
        ),
        (
            "pressure_hold: {start: 1.4 bar (ü)}",
            &["`bar (ü)` is not a unit that is known here", "write `1.4 bar gauge`"],
        ),
        (
            "pressure_hold: {air_pressure: 1.4 bar (ü)}",
            &["`1.4 bar (ü)` is a gauge pressure", "in a field for a gauge pressure"],
        ),
    ] {
        says("not recorded pressure_hold.start or pressure_hold.start within test", record, 1, texts);
    }
    says(
        "pressure_hold.air_pressure at least 1 bar (abs)",
        "pressure_hold: {air_pressure: 1.1 bar (abs)}",
        0,
        &["1 demand met"],
    );
    for (demand, texts) in [
        (
            "pressure_hold.start at least 2 bar (rel)",
            &["`bar (rel)` is not a unit", "write `2 bar gauge`"][..],
        ),
        (
            "pressure_hold.start at least 2 bar (abs)",
            &["a gauge pressure and an absolute pressure cannot be compared"],
        ),
        ("pressure_hold.start at least 2 bar abs.", &["`bar abs.` is not a unit", "write `2 bar absolute`"]),
    ] {
        says(demand, "pressure_hold: {start: 1.4 bar}", 2, texts);
    }
}

#[test]
fn a_bare_unit_is_what_the_field_says() {
    for (demand, record) in [
        ("pressure_hold.start within test", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start within test", "pressure_hold: {start: 1.4 bar gauge}"),
        ("pressure_hold.start within 1.2 bar .. 1.5 bar", "pressure_hold: {start: 140 kPa}"),
        ("pressure_hold.start within 1.2 .. 1.5 bar gauge", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start within 1.4 bar ± 0.1 bar", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start within 1.4 bar ± 10 %", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start within at least 1.4 bar", "pressure_hold: {start: 1.4 bar}"),
        ("1.4 bar at most pressure_hold.start", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start at least −0.2 bar", "pressure_hold: {start: -0.1 bar}"),
        ("pressure_hold.start within 1.2 bar .. cap", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.start is one of (2 bar, 1.4 bar)", "pressure_hold: {start: 1.4 bar}"),
        ("pressure_hold.air_pressure at least 900 mbar", "pressure_hold: {air_pressure: 985 mbar}"),
        ("pressure_hold.air_pressure above deepest", "pressure_hold: {air_pressure: 985 mbar absolute}"),
        (
            "pressure_hold.start − pressure_hold.end at most 0.2 bar",
            "pressure_hold: {start: 1.4 bar, end: 1.3 bar}",
        ),
        (
            "pressure_hold.start + pressure_hold.air_pressure within 2.3 bar .. 2.5 bar absolute",
            "pressure_hold: {start: 1.4 bar, air_pressure: 985 mbar}",
        ),
    ] {
        says(demand, record, 0, &["1 demand met"]);
    }
    says(
        "pressure_hold.start + pressure_hold.air_pressure at least 2.4 bar absolute",
        "pressure_hold: {start: 1.4 bar}",
        1,
        &["hold, undecided: `pressure_hold.air_pressure` is not recorded (needed for: One)"],
    );
    says("pressure_hold.start at least 1.5 bar", "pressure_hold: {start: 1.4 bar}", 1, &["1.5 bar gauge"]);
}

/// What does not compare is an error of the rule, with what to write.
#[test]
fn the_three_pressures_do_not_compare() {
    for (demand, texts) in [
        (
            "pressure_hold.start above pressure_hold.air_pressure",
            &["a gauge pressure and an absolute pressure cannot be compared", "add the pressure of the air"]
                [..],
        ),
        (
            "pressure_hold.start at most 2 bar absolute",
            &["a gauge pressure and an absolute pressure cannot be compared"],
        ),
        (
            "pressure_hold.start at least bare",
            &["a gauge pressure and a pressure cannot be compared", "write `1.2 bar gauge`"],
        ),
        (
            "pressure_hold.start at least 2 bar gauge − 1 bar gauge",
            &["a gauge pressure and a pressure cannot be compared"],
        ),
        (
            "pressure_hold.start − pressure_hold.end at most 0.1 bar gauge",
            &["a pressure and a gauge pressure cannot be compared", "write `0.1 bar`"],
        ),
        ("lesser(pressure_hold.start, fall) above fall", &["cannot be compared"]),
        ("pressure_hold.start at most fall", &["a gauge pressure and a pressure cannot be compared"]),
        ("pressure_hold.start ÷ pressure_hold.air_pressure above 1", &["cannot be divided"]),
        ("pressure_hold.start × pressure_hold.air_pressure above 1", &["cannot be multiplied"]),
        ("pressure_hold.air_pressure at least −1 bar", &["is below the pressure of a vacuum"]),
    ] {
        says(demand, "pressure_hold: {start: 1.4 bar, end: 1.3 bar, air_pressure: 985 mbar}", 2, texts);
    }
}

#[test]
fn settings_and_logs_take_the_pressure_of_their_field() {
    let folder = Folder::new();
    folder.write("job.yaml", format!("{HEAD}pressure_hold: {{start: 1.3 bar}}\n"));
    let run = |test: &str| {
        let with = format!("cooling_system.test_pressure={test}");
        let words =
            ["inspect", "job.yaml", "--standard", "cooling_system", "--format", "plain", "--width", "500"];
        folder.run_with(words.into_iter().chain(["--without-settings", "--parameter", &with]), "")
    };
    run("1.2 bar absolute .. 1.4 bar absolute").quietly(2).says(&[
        "error: `1.2 bar absolute` is an absolute pressure, and a gauge pressure is wanted here",
        "hold, undecided: The system is tested at its pressure",
    ]);
    let met = run("1.3 bar .. 1.5 bar");
    assert!(met.out.contains("1.3 bar for 1.3 bar gauge .. 1.5 bar gauge"), "{met:#?}");

    folder.write("log.csv", "time [s],pressure [bar abs]\n0,3\n30,3\n");
    let record = |unit: &str| {
        format!(
            "{HEAD}steps: [{{step: hold, started: \"2026-03-02T10:00:00Z\", ended: \"2026-03-02T10:00:30Z\"}}]\n\
             logs: [{{of: hold, started: 2026-03-02T10:00:00Z, pressure: {unit}}}]\n"
        )
    };
    folder.write(
        "rules.standard",
        "standard own edition 1 \"Own\"\njudges job\nrule one \"One\"\n  concerns each l in logs, each s in steps\n  \
         demands throughout s: l.pressure at least 2 bar and l.pressure within 1 bar .. 5 bar\n  otherwise hold \"No.\"\n",
    );
    let inspect = "inspect job.yaml --standard rules.standard --format plain --width 500 --without-settings";
    folder.write("job.yaml", record("log.csv"));
    folder.run(inspect).quietly(1).says(&[
        "in `log.csv`, line 1: the heading `pressure` has bar absolute, the unit of an absolute pressure, and a gauge pressure is wanted",
        "help: choose a column with a gauge pressure",
        "waiting: 1 rule waits for `",
    ]);
    folder.write("job.yaml", record("{0 s: 3 bar absolute, 30 s: 3 bar absolute}"));
    folder
        .run(inspect)
        .quietly(1)
        .says(&["`3 bar absolute` is an absolute pressure", "waiting: 1 rule waits for `"]);
    for good in ["{0 s: 3 bar, 30 s: 3 bar}", "{0 s: 3 bar gauge, 30 s: 3 bar gauge}"] {
        folder.write("job.yaml", record(good));
        folder.run(inspect).quietly(0).says(&["1 demand met"]);
    }
}

/// Every field of a pressure says which of the three it is.
#[test]
fn every_field_of_a_pressure_says_which() {
    let mut found = Vec::new();
    for file in crate::support::files_below("grammar").iter().filter(|file| file.ends_with("schema.json")) {
        for line in crate::support::text(file).lines() {
            let Some((_, kind)) = line.split_once("\"quantity\": \"") else { continue };
            let kind = kind.split('"').next().unwrap_or_default();
            if kind.ends_with("pressure") {
                let name = line.trim().split('"').nth(1).unwrap_or_default();
                found.push(format!("{name} {kind}"));
            }
        }
    }
    let wanted = [
        "vacuum gauge pressure",
        "start gauge pressure",
        "end gauge pressure",
        "air_pressure absolute pressure",
        "pressure gauge pressure",
        "pressure gauge pressure",
        "pressure gauge pressure",
        "pressure gauge pressure",
        "range gauge pressure",
        "resolution pressure",
        "uncertainty pressure",
    ];
    assert_eq!(found, wanted);
}

#[test]
fn a_ratio_and_a_plain_number_do_not_compare() {
    let record = "coolant: {share: 95 %}\nfilters: [{kind: external, beta: 75}]";
    for (demand, texts) in [
        (
            "coolant.share at most 60",
            &[
                "a ratio and a number cannot be compared",
                "write `60 %`; without a unit `60` would be `6000 %`",
            ][..],
        ),
        ("coolant.share at most 0.6", &["write `60 %`, or `0.6 %` if that was meant"]),
        ("60 at least coolant.share", &["write `60 %`"]),
        ("coolant.share within 33 .. 60", &["cannot be compared", "`33 % .. 60 %`"]),
        ("coolant.share within 33 % .. 60", &["cannot be compared", "`60 %`"]),
        ("coolant.share within at most 60", &["cannot be compared", "`at most 60 %`"]),
        ("coolant.share is 60", &["`60 %`"]),
        ("coolant.share is one of (50 %, 60)", &["`60 %`"]),
        ("coolant.share at most sixty", &["`60 %`"]),
        ("coolant.share + 5 at most 60 %", &["a ratio and a number cannot be added", "`5 %`"]),
        ("1 − coolant.share at least 40 %", &["cannot be subtracted", "`100 %`, or `1 %` if that was meant"]),
        ("coolant.share × 2 at most 120", &["cannot be compared"]),
        ("lesser(coolant.share, 60) at most 60 %", &["cannot be compared", "`60 %`"]),
        ("no f in filters: coolant.share above f.beta", &["a ratio and a number cannot be compared"]),
        ("some f in filters: f.beta at most 60 %", &["a number and a ratio cannot be compared"]),
        ("count of seals at most most", &["a number and a ratio cannot be compared"]),
    ] {
        says(demand, record, 2, texts);
    }
    for demand in [
        "coolant.share at least 60 %",
        "coolant.share at least most",
        "coolant.share within 33 .. 95 %",
        "100 % − coolant.share at most 5 %",
        "coolant.share ÷ 2 at most 50 %",
        "coolant.share ÷ most above 1",
        "coolant.share ÷ most above 100 %",
        "every f in filters: f.beta at least 75",
        "every f in filters: f.beta within 75 ± 10 %",
        "(count of x in filters where x.kind is \"external\") ÷ (count of filters) at least 100 %",
        "3 L ÷ 4 L at least 75 % and 3 L ÷ 4 L at least 0.75",
    ] {
        says(demand, record, 0, &["1 demand met"]);
    }
}

#[test]
fn parameters_and_tables_keep_ratios_from_numbers() {
    for (item, text) in [
        ("parameter x is ratio \"X\" = 60", "write `60 %`"),
        ("parameter x is ratio range \"X\" = 30 .. 60", "write `30 % .. 60 %`"),
        ("parameter x is number \"X\" = 60 %", "a plain number is wanted here, and this is a ratio"),
        (
            "table x by unit.kind\n  \"cooling\": 60 %\n  \"engine\": 50",
            "the rows of a table must be of one kind",
        ),
    ] {
        let folder = Folder::new();
        let rule = "rule one \"One\"\n  demands job.state is \"closed\"\n  otherwise hold \"No.\"\n";
        folder.write(
            "rules.standard",
            format!("standard own edition 1 \"Own\"\njudges job\n\n{item}\n\n{rule}"),
        );
        let said = folder.run("prove rules.standard --width 300");
        assert!((said.out.clone() + &said.err).contains(text), "{item}: {said:#?}");
    }
}
