//! The program: `audit` on folders.

use jiff::civil::date;
use serde_json::Value;

use super::archive::{Job, RULES};
use crate::support::Folder;

const SCHEMA: &str = include_str!("../../grammar/audit.schema.json");

fn workshop(jobs: &[Job]) -> Folder {
    let folder = Folder::new();
    folder.write("house.standard", RULES);
    jobs.iter().for_each(|job| drop(folder.write(&job.name(), job.text())));
    folder
}

const AUDIT: &str = "audit jobs --standard house.standard --as-of 2026-03-31";

fn json(folder: &Folder, more: &str) -> Value {
    serde_json::from_str(&folder.run(&format!("{AUDIT} --format json {more}")).quietly(0).out).unwrap()
}

fn jobs() -> Vec<Job> {
    let job = |number: usize| Job {
        day: date(2026, 3, 1).checked_add(jiff::Span::new().days(number as i64)).unwrap(),
        tool: if number.is_multiple_of(3) { "T-04" } else { "T-05" },
        lot: if number == 7 { "F-2" } else { "F-1" },
        torques: vec![1000, if number == 9 { 1200 } else { 1010 }],
        ..Job::of(number)
    };
    (0..12).map(job).collect()
}

#[test]
fn the_report_follows_its_schema() {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let folder = workshop(&jobs());
    for more in ["", "--tool T-04", "--lot F-2 --since 2026-03-02"] {
        let report = json(&folder, more);
        let faults: Vec<String> = validator.iter_errors(&report).map(|fault| fault.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new());
        // Each section and each member of a row is described.
        for (name, section) in report["sections"].as_object().unwrap() {
            let described = &schema["properties"]["sections"]["properties"][name];
            let members = &described["properties"]["rows"]["items"]["properties"];
            for row in section["rows"].as_array().unwrap() {
                for member in row.as_object().unwrap().keys() {
                    assert!(!members[member].is_null(), "{name}.{member} is not described");
                }
            }
        }
    }
    assert_eq!(json(&folder, "")["summary"]["passed"]["count"], 11);
}

#[test]
fn every_job_that_a_tool_touched_is_listed() {
    let folder = workshop(&jobs());
    let listed = |more: &str| -> Vec<String> {
        let report = json(&folder, more);
        let rows = report["sections"]["touched"]["rows"].as_array().unwrap().clone();
        let name = |row: &Value| {
            let place = &row["place"];
            format!(
                "{}:{} {}",
                place["document"].as_str().unwrap(),
                place["line"],
                row["outcome"].as_str().unwrap()
            )
        };
        rows.iter().map(name).collect()
    };
    let all = [
        "jobs/K-00000.yaml:7 passed",
        "jobs/K-00003.yaml:7 passed",
        "jobs/K-00006.yaml:7 passed",
        "jobs/K-00009.yaml:7 failed",
    ];
    assert_eq!(listed("--tool T-04"), all);
    // Other ways to write it are the same tool.
    assert_eq!(listed("--tool t04"), all);
    assert_eq!(listed("--tool T-04 --since 2026-03-07"), all[2..]);
    assert_eq!(listed("--lot F-2"), ["jobs/K-00007.yaml:5 passed"]);
    assert_eq!(listed("--lot F-2 --tool T-04").len(), 5);
    let none = folder.run(&format!("{AUDIT} --tool T-04 --since 2026-03-20"));
    none.says(&["no job since 2026-03-20 names the tool `T-04`\n"]);
    folder.run(&format!("{AUDIT} --tool T-40")).says(&["no job names the tool `T-40`; did you mean `T-04`?"]);
}

#[test]
fn a_job_without_a_day_and_one_with_a_slip_are_not_missed() {
    let folder = workshop(&jobs());
    let undated = Job::of(80)
        .text()
        .replace("opened: 2026-03-02T08:15:00+01:00, closed: 2026-03-02T10:15:00+01:00", "opened: soon");
    folder.write("jobs/undated.yaml", undated);
    // The form has no such field there, and the tool was used all the same.
    let misplaced = Job { tool: "T-99", ..Job::of(81) }.text().replace("fluid: {", "fluid: {tool: T-04, ");
    folder.write("jobs/misplaced.yaml", misplaced);
    let told = folder.run(&format!("{AUDIT} --tool T-04 --since 2026-03-12"));
    assert_eq!(told.code, 0, "{told:#?}");
    let told = told.says(&["jobs/undated.yaml:7", "1 job without a day that can be read"]);
    assert!(!told.out.contains("misplaced"));
    folder.run(&format!("{AUDIT} --tool T-04")).says(&["jobs/misplaced.yaml:5", "with errors in the record"]);
}

#[test]
fn what_could_not_be_read_is_told_and_fails_the_run() {
    let folder = workshop(&jobs());
    folder.write("jobs/broken.yaml", "form: job/1\njob: [\n");
    let told = folder.run(&format!("{AUDIT} --tool T-04"));
    assert_eq!(told.code, 2);
    told.says(&["1 document could not be read and is in no figure: jobs/broken.yaml", "jobs/K-00009.yaml:7"]);
}

#[test]
fn what_cannot_be_done_is_refused() {
    let folder = workshop(&jobs());
    folder.run("audit - --standard house.standard").refused("an audit reads folders and files");
    folder.run(&format!("{AUDIT} --since 2026-02-30")).refused("the calendar has no day 2026-02-30");
    folder.run_with(["audit", "jobs", "--tool", " "], "").refused("`--tool` has no name");
    folder.run(&format!("{AUDIT} --output jobs/K-00001.yaml")).refused("may be a record");
    assert_eq!(folder.run("audit house.standard --standard house.standard").code, 2);
    std::fs::create_dir(folder.path().join("empty")).unwrap();
    let empty = folder.run("audit empty --standard house.standard");
    assert_eq!(empty.code, 2);
    assert!(empty.err.contains("there is no document here to count"), "{empty:#?}");
}

#[test]
fn what_strangers_write_is_harmless() {
    let folder = workshop(&[Job { technician: "\"\\e[31mred\\u202e\"", lot: "'::error'", ..Job::of(1) }]);
    let told = folder.run(AUDIT);
    assert!(!told.out.contains('\u{1b}') && !told.out.contains('\u{202e}'), "{told:#?}");
    assert!(told.out.contains("\\u{1b}[31mred\\u{202e}"), "{told:#?}");
}

#[test]
fn threads_make_no_difference() {
    let folder = workshop(&jobs());
    let run =
        |threads: &str| folder.run(&format!("{AUDIT} --format json --threads {threads}")).quietly(0).out;
    assert_eq!(run("1"), run("7"));
}

#[test]
fn a_run_without_steps_left_counts_the_rest_as_unread() {
    let folder = workshop(&jobs());
    let told = folder.run(&format!("{AUDIT} --most-steps-in-all 40 --format json"));
    assert_eq!(told.code, 2);
    let report: Value = serde_json::from_str(&told.out).unwrap();
    let unreadable = report["summary"]["unreadable"].as_u64().unwrap();
    assert!(0 < unreadable && unreadable < 12, "{unreadable}");
}

// Judged in three parts and added in another order, the report is the same byte for byte.
#[test]
fn parts_come_to_the_whole() {
    let jobs = jobs();
    let folder = workshop(&jobs);
    for (number, job) in jobs.iter().enumerate() {
        folder.write(&format!("part{}/{}", number % 3, job.name()), job.text());
    }
    let rules = "--standard ../house.standard --as-of 2026-03-31";
    for more in ["", "--tool T-04 --since 2026-03-02"] {
        for part in 0..3 {
            // Records have the same names in each of the parts.
            let below = format!("part{part}");
            let run = folder.run_in(&below);
            run(&format!("audit jobs {rules} --format figures --output ../{part}.json {more}")).quietly(0);
        }
        for form in ["plain", "html", "json", "csv"] {
            let whole = folder.run(&format!("{AUDIT} --format {form} {more}")).quietly(0).out;
            let sum =
                "audit --add 2.json --add 0.json --add 1.json --standard house.standard --as-of 2026-03-31";
            let sum = folder.run(&format!("{sum} --format {form} {more}")).quietly(0).out;
            assert_eq!(sum, whole);
        }
    }
    folder.run("audit --add 0.json --standard house.standard").refused("it was made with another `--tool`");
    folder.run("audit --add house.standard --standard house.standard").refused("it is no part of an audit");
    folder.write("other.json", folder.read("0.json").replace("figures/1", "figures/9"));
    folder.run("audit --add other.json --standard house.standard").refused("it has the form `figures/9`");
    // A count that no sum can take.
    let part = folder.read("0.json");
    let at = part.find("\"documents\":").unwrap() + "\"documents\":".len();
    let digits = part[at..].chars().take_while(|letter| letter.is_ascii_digit() || *letter == ' ').count();
    folder.write("many.json", format!("{}18446744073709551615{}", &part[..at], &part[at + digits..]));
    folder
        .run("audit --add many.json --standard house.standard")
        .refused("it counts 18446744073709551615 of something");
    folder.run("audit").refused("");
}

#[test]
fn a_part_that_somebody_made_up_is_harmless() {
    let folder = workshop(&jobs());
    folder.run(&format!("{AUDIT} --format figures --output part.json")).quietly(0);
    let text = folder.read("part.json");
    for (from, to) in [
        ("\"passed\":11", "\"passed\":1099511627776"),
        ("\"all\":12", "\"all\":1099511627776"),
        ("[9.0,11.0]", "[11.0,9.0]"),
        ("\"documents\":12", "\"documents\":1099511627776"),
        ("24314", "119999"),
        ("\"concerned\":12", "\"concerned\":1099511627776"),
    ] {
        assert!(text.contains(from), "{from} is not in {text}");
        folder.write("made.json", text.replace(from, to));
        for form in ["plain", "html", "json", "csv", "figures"] {
            let told = folder.run(&format!("{AUDIT} --add made.json --add made.json --format {form}"));
            assert_eq!((told.code, told.err.as_str()), (0, ""), "{from}: {told:#?}");
        }
    }
    let other = folder.run(&format!("{AUDIT} --fail-on note --add part.json"));
    other.says(&["the parts were judged otherwise"]);
    folder.write("made.json", text.replace("24314", "2000000000"));
    folder.run(&format!("{AUDIT} --add made.json")).refused("is not the number of a month");
}
