//! A stream of records: a line for each as soon as it is judged, in order, with bounded memory, and nothing that passes in
//! silence.

use std::io::{BufRead, BufReader, Write};
use std::process::{ChildStdin, Command, Stdio};

use serde_json::Value;
use witnessmark::code::{OUT_OF_ORDER, STREAM_PART};

use super::{folder, good, hold};
use crate::support::{Folder, Ran, files_below, program, root, text};

const STREAM: &str = "inspect - --format lines --standard plugs.standard --as-of 2026-03-02";

fn run(folder: &Folder, options: &str, input: &str) -> Ran {
    folder.run_with(STREAM.split(' ').chain(options.split_whitespace()), input)
}

fn lines(ran: &Ran) -> Vec<Value> {
    ran.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// The lines of documents, between the first and the last line.
#[track_caller]
fn documents(ran: &Ran) -> Vec<Value> {
    let mut lines = lines(ran);
    assert_eq!(lines.remove(0)["line"], "begin", "{ran:#?}");
    assert_eq!(lines.pop().unwrap()["line"], "end", "{ran:#?}");
    assert!(lines.iter().all(|line| line["line"] == "document"), "{ran:#?}");
    lines
}

/// What each document came to: its findings, or what is wrong with it.
#[track_caller]
fn outcomes(ran: &Ran) -> Vec<String> {
    let of = |line: &Value| {
        let document = &line["document"];
        let list = |name: &str, member: &str| -> Vec<String> {
            let list = document[name].as_array().unwrap();
            list.iter().map(|one| one[member].as_str().unwrap().to_owned()).collect()
        };
        let number = line["stream"]["number"].as_u64().unwrap();
        format!("{number} {}", [list("findings", "rule"), list("diagnostics", "code")].concat().join(" "))
    };
    documents(ran).iter().map(of).collect()
}

/// A record as one line of JSON.
fn json(text: &str) -> String {
    let value: Value = serde_yaml::from_str(text).unwrap();
    format!("{value}\n")
}

fn packed(name: &str, text: &str) -> String {
    format!("{}\n", serde_json::json!({"form": "text/1", "name": name, "text": text}))
}

#[test]
fn a_broken_record_hides_neither_the_one_before_it_nor_the_one_behind() {
    let folder = folder();
    let (good, hold) = (good(), hold());
    let torque = "plugs.torque";
    let yaml = [&*hold, "form: job/1\njob: [\n", &hold, &good].join("---\n");
    let ran = run(&folder, "", &yaml);
    let wanted = [format!("1 {torque}"), "2 document/layout".into(), format!("3 {torque}"), "4 ".into()];
    assert_eq!((ran.code, outcomes(&ran)), (2, wanted.to_vec()), "{ran:#?}");
    let broken = &json(&hold)[..60];
    let of_lines = [&*json(&hold), broken, "\n", &json(&hold), &json(&good)].concat();
    let ran = run(&folder, "", &of_lines);
    assert_eq!((ran.code, outcomes(&ran)), (2, wanted.to_vec()), "{ran:#?}");
    let of_texts =
        [packed("a", &hold), packed("b", "form: job/1\njob: [\n"), packed("c", &hold), packed("d", &good)];
    let ran = run(&folder, "", &of_texts.concat());
    assert_eq!((ran.code, outcomes(&ran)), (2, wanted.to_vec()), "{ran:#?}");
    let names: Vec<Value> = documents(&ran).iter().map(|line| line["document"]["name"].clone()).collect();
    assert_eq!(names, ["a", "b", "c", "d"]);
    // Neither text that is none nor a line `---` within a text changes that.
    let other = [&*hold, "form: job/1\nx: |\n  ---\n", &good].join("---\n");
    let mut command = program(folder.path());
    command.args(STREAM.split(' '));
    let bytes = [hold.as_bytes(), b"---\nform: job/1\nx: \xff\n---\n", good.as_bytes()].concat();
    let ran = finished(command, &bytes);
    assert_eq!(outcomes(&ran), [&*wanted[0], "2 document/encoding", "3 "], "{ran:#?}");
    assert_eq!(outcomes(&run(&folder, "", &other)).len(), 3);
}

fn finished(mut command: Command, input: &[u8]) -> Ran {
    let mut child = command.stdin(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(input).unwrap();
    Ran::of(child.wait_with_output().unwrap())
}

#[test]
fn the_exit_code_is_that_of_other_reports() {
    let folder = folder();
    let (good, hold) = (good(), hold());
    for (input, code) in [
        (good.clone(), 0),
        (format!("{good}---\n{hold}"), 1),
        (format!("{good}---\nform: [\n"), 2),
        (String::new(), 2),
        (format!("{good}---\n---\n{good}"), 2),
        (format!("{good}---\n{}", good.trim_end()), 2),
        (format!("{good}---\nx: 1\n"), 2),
    ] {
        let ran = run(&folder, "", &input).quietly(code);
        let lines = lines(&ran);
        let summary = &lines.last().unwrap()["summary"];
        let outcome = &summary["verdict"]["outcome"];
        assert_eq!(*outcome == "clear", code == 0, "{input}: {ran:#?}");
    }
    run(&folder, "--fail-on note", &super::note()).quietly(1);
    let faulty = run(&folder, "--parameter plugs.plug=9", &good);
    assert_eq!(faulty.code, 2, "{faulty:#?}");
    assert_eq!(lines(&faulty)[0]["diagnostics"][0]["level"], "error");
}

#[test]
fn a_part_of_a_record_is_no_record() {
    let folder = folder();
    let cut = good().trim_end().to_owned();
    let faulty = packed("a", &good()).replace("\"text\"", "\"txt\"");
    for input in [cut, faulty] {
        let ran = run(&folder, "", &input).quietly(2);
        assert_eq!(outcomes(&ran), [format!("1 {}", STREAM_PART.as_str())], "{ran:#?}");
    }
}

/// Whether lines follow their schema, and what is changed in them does not.
#[track_caller]
fn follow_their_schema(lines: &[Value]) {
    let schema = |name: &str| serde_json::from_str(&text(format!("grammar/{name}.schema.json"))).unwrap();
    let report: Value = schema("report");
    let registry =
        jsonschema::Registry::new().add("urn:witnessmark:report:1", &report).unwrap().prepare().unwrap();
    let validator = jsonschema::draft202012::options()
        .should_validate_formats(true)
        .with_registry(&registry)
        .build(&schema("lines"))
        .unwrap();
    for line in lines {
        let faults: Vec<String> = validator.iter_errors(line).map(|fault| fault.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new(), "{line}");
        for member in ["form", "line", "tool", "document", "jobs", "stream", "summary"] {
            let mut other = line.clone();
            if other.get(member).is_some_and(|value| !value.is_null()) {
                other[member] = Value::from("other");
                assert!(!validator.is_valid(&other), "{member}: {line}");
            }
        }
    }
}

#[test]
fn lines_follow_their_schema() {
    let folder = folder();
    folder.write("jobs/a.yaml", hold());
    let of_folder = folder.run("inspect jobs --format lines --standard plugs.standard --as-of 2026-03-02");
    assert_eq!(documents(&of_folder)[0]["stream"], Value::Null);
    let of_stream = run(&folder, "", &format!("{}---\nform: [\n---\n{}", hold(), good()));
    let keys = folder.run_with(["keys", "-"], &format!("{}---\nform: [\n", jobs()[0]));
    for ran in [&of_folder, &of_stream, &keys] {
        follow_their_schema(&lines(ran));
    }
    let shown = folder.run("schema lines");
    assert_eq!(shown.out, text("grammar/lines.schema.json"));
}

#[test]
fn keys_tell_vehicles_and_times_and_what_has_none() {
    let folder = Folder::new();
    let [first, second] = jobs();
    let second = second.replace("plate: GW 123", "plate: gw-123, vin: WMX 1").replace("+01:00", "");
    let keys = |input: &str, code: i32| lines(&folder.run_with(["keys", "-"], input).quietly(code));
    let told = keys(&[packed("a", &first), json(&second)].concat(), 0);
    let of = |at: usize| told[at]["jobs"][0].clone();
    assert_eq!((&told[0]["name"], &of(0)["number"]), (&"a".into(), &"K-1".into()));
    assert_eq!(of(0)["vehicles"], serde_json::json!(["plate GW123"]));
    assert_eq!(of(0)["opened"], "2026-01-10T07:00:00Z");
    assert_eq!(of(1)["vehicles"], serde_json::json!(["vin WMX1", "plate GW123"]));
    assert_eq!(of(1)["opened"], "2026-02-10T08:00:00Z");
    for lost in [
        first.replace("2026-01-10T08", "2026-13-10T08"),
        first.replace("plate: GW 123, ", ""),
        "x: 1\n".to_owned(),
        "form: [\n".to_owned(),
    ] {
        let told = keys(&[packed("a", &lost), packed("b", &first)].concat(), 1);
        assert_eq!((told.len(), &told[1]["jobs"][0]["number"]), (2, &"K-1".into()), "{lost}");
    }
    let not_whole = keys("form: job/1", 1);
    assert!(not_whole[0]["unread"].as_str().unwrap().contains("ends within a line"), "{not_whole:?}");
    assert!(keys("", 2).is_empty());
    // The settings say what the time zone is.
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\ntime_zone: Europe/Vienna\n");
    assert_eq!(keys(&json(&second), 0)[0]["jobs"][0]["opened"], "2026-02-10T07:00:00Z");
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: [\n");
    let faulty = folder.run_with(["keys", "-"], &first);
    assert_eq!((faulty.code, &*faulty.out), (2, ""), "{faulty:#?}");
}

#[test]
fn places_count_from_the_record_and_the_line_says_where_that_begins() {
    let folder = folder();
    let stream = format!("{}---\n# é\n{}", good(), hold());
    let line = documents(&run(&folder, "", &stream)).remove(1);
    let byte = |value: &Value| usize::try_from(value.as_u64().unwrap()).unwrap();
    let at = &line["document"]["findings"][0]["at"];
    let begins = byte(&line["stream"]["byte"]);
    let (start, end) = (byte(&at["start"]["byte"]), byte(&at["end"]["byte"]));
    assert_eq!(&stream[begins + start..begins + end], "60 Nm");
    let in_stream = byte(&line["stream"]["line"]) + byte(&at["start"]["line"]) - 1;
    assert!(stream.lines().nth(in_stream - 1).unwrap().contains("60 Nm"));
}

/// A program that reads a stream, and what it has written so far.
struct Talk {
    child: std::process::Child,
    input: Option<ChildStdin>,
    output: BufReader<std::process::ChildStdout>,
}

impl Talk {
    fn begin(folder: &Folder, options: &str) -> Talk {
        let mut command = program(folder.path());
        command.args(STREAM.split(' ').chain(options.split_whitespace())).stdin(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let input = child.stdin.take();
        let output = BufReader::new(child.stdout.take().unwrap());
        Talk { child, input, output }
    }

    fn say(&mut self, text: &str) {
        let input = self.input.as_mut().unwrap();
        input.write_all(text.as_bytes()).unwrap();
        input.flush().unwrap();
    }

    fn hear(&mut self) -> Value {
        let mut line = String::new();
        self.output.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap()
    }
}

#[test]
fn a_record_is_answered_before_the_next_one_is_sent() {
    let folder = folder();
    for (record, ends) in [(hold(), "...\n"), (json(&hold()), ""), (packed("a", &hold()), "")] {
        let mut talk = Talk::begin(&folder, "");
        assert_eq!(talk.hear()["line"], "begin");
        for number in 1..=3 {
            talk.say(&format!("{record}{ends}"));
            assert_eq!(talk.hear()["stream"]["number"], number);
        }
        talk.input = None;
        assert_eq!(talk.hear()["line"], "end");
        assert_eq!(talk.child.wait().unwrap().code(), Some(1));
    }
}

#[test]
fn whoever_goes_away_ends_the_run_and_it_does_not_pass() {
    let folder = folder();
    let mut talk = Talk::begin(&folder, "");
    talk.say(&json(&good()));
    assert_eq!(
        (talk.hear()["line"].clone(), talk.hear()["line"].clone()),
        ("begin".into(), "document".into())
    );
    let Talk { child, input, output } = talk;
    drop(output);
    let mut input = input.unwrap();
    let record = json(&good());
    // The end of the stream does not come; the run ends all the same.
    while input.write_all(record.as_bytes()).is_ok() {}
    let ran = Ran::of(std::process::Output { stdout: Vec::new(), ..child.wait_with_output().unwrap() });
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("whoever reads the lines has gone away"), "{ran:#?}");
}

/// Memory is counted by the system, in bytes: a hundred times as much text goes through as may be kept of it.
#[cfg(target_os = "linux")]
#[test]
fn memory_stays_flat_however_long_the_stream_is() {
    let folder = folder();
    let mut talk = Talk::begin(&folder, "--window 20 --threads 2");
    talk.hear();
    let status = format!("/proc/{}/status", talk.child.id());
    let most = || {
        let text = std::fs::read_to_string(&status).unwrap();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
        line.trim().strip_suffix(" kB").unwrap().parse::<u64>().unwrap() / 1024
    };
    let comment = "# so long\n".repeat(20_000);
    let record = packed("a", &format!("{}{comment}", good()));
    let send = |talk: &mut Talk, number: usize| {
        for _ in 0..number {
            talk.say(&record);
            assert_eq!(talk.hear()["line"], "document");
        }
    };
    send(&mut talk, 60);
    let before = most();
    send(&mut talk, 600);
    let after = most();
    assert!(after < before + 20, "{before} MiB after 12 MiB of records, {after} MiB after 132 MiB");
    // A record without end is not kept either.
    for _ in 0..40 {
        talk.say(&"{\"x\": ".repeat(200_000));
    }
    talk.say("\n");
    let line = talk.hear();
    assert_eq!(line["document"]["diagnostics"][0]["message"], "this record is longer than 16777216 bytes");
    assert!(most() < before + 60, "{before} MiB, then {} MiB", most());
    send(&mut talk, 1);
    talk.input = None;
    assert_eq!(talk.child.wait().unwrap().code(), Some(2));
}

/// Two jobs on a vehicle, of which the second has fewer kilometres than the first.
fn jobs() -> [String; 2] {
    [("K-1", "2026-01-10", "60000"), ("K-2", "2026-02-10", "50000")].map(|(number, day, read)| {
        format!(
            "form: job/1\njob: {{number: {number}, opened: \"{day}T08:00:00+01:00\", state: closed}}\n\
             vehicle: {{plate: GW 123, odometer: {read} km}}\nunit: {{kind: engine}}\n"
        )
    })
}

const HISTORY: &str = r#"standard seen edition 1 "What was seen before"
judges job

rule odometer "The odometer does not run backwards"
  concerns  where recorded last_with_odometer.vehicle.odometer
  demands   vehicle.odometer at least last_with_odometer.vehicle.odometer
  otherwise hold "The odometer reads less than before."
  basis     "common practice"
  trial met { vehicle: { odometer: 2 km }, last_with_odometer: { vehicle: { odometer: 1 km } } }
  trial broken { vehicle: { odometer: 1 km }, last_with_odometer: { vehicle: { odometer: 2 km } } }

rule plate "The plate is recorded"
  demands   recorded vehicle.plate
  otherwise hold "There is no plate."
  basis     "common practice"
  trial met { vehicle: { plate: GW 1 } }
  trial broken { vehicle: { vin: X } }
"#;

fn history_folder() -> Folder {
    let folder = Folder::new();
    folder.write("plugs.standard", HISTORY);
    folder
}

#[test]
fn the_jobs_before_one_are_its_earlier_jobs_as_far_as_the_window_reaches() {
    let folder = history_folder();
    let [first, second] = jobs();
    let other = first.replace("GW 123", "GW 9").replace("K-1", "K-9");
    let of = |records: &[&String], options: &str| {
        let ran = run(&folder, options, &records.iter().map(|text| json(text)).collect::<String>());
        (ran.code, outcomes(&ran))
    };
    let broken = "seen.odometer";
    assert_eq!(of(&[&first, &second], ""), (1, vec!["1 ".into(), format!("2 {broken}")]));
    assert_eq!(of(&[&first, &other, &second], "--window 2").1[2], format!("3 {broken}"));
    assert_eq!(of(&[&first, &other, &second], "--window 1").1[2], "3 ");
    assert_eq!(of(&[&first, &second], "--window 0"), (0, vec!["1 ".into(), "2 ".into()]));
    // Two records that are called alike are two records.
    let alike = [packed("a", &first), packed("a", &second)].concat();
    assert_eq!(outcomes(&run(&folder, "", &alike))[1], format!("2 {broken}"));
    // Of a vehicle with more jobs than are kept, nobody knows all of them.
    let third = first.replace("2026-01-10", "2026-01-11").replace("K-1", "K-3").replace("60000", "50000");
    let (code, found) = of(&[&first, &third, &second], "--window 1");
    assert_eq!((code, &*found[2]), (1, "3 rules/too-much-work"), "{found:?}");
    // Each job of a text counts, however many it holds; the last text is always kept.
    let several: String = (0..3)
        .map(|n| {
            format!(
                "---\n{}",
                first.replace("K-1", &format!("K-1{n}")).replace("2026-01-10", &format!("2026-01-1{n}"))
            )
        })
        .collect();
    let ran = |after: &[&String]| {
        let after: String = after.iter().map(|text| json(text)).collect();
        outcomes(&run(&folder, "--window 2", &(packed("a", &several) + &after)))
    };
    assert_eq!(ran(&[&second])[3], format!("2 {broken}"));
    let later =
        |n: usize| second.replace("K-2", &format!("K-4{n}")).replace("2026-02-10", &format!("2026-02-1{n}"));
    let found = ran(&[&second, &later(1), &later(2)]);
    assert!(!found[4].contains("rules/too-much-work"), "{found:?}");
    assert!(found[5].contains("rules/too-much-work"), "{found:?}");
    // Never fewer than so many, however many the text before them holds.
    let others: String = (0..3)
        .map(|n| {
            format!("---\n{}", other.replace("K-9", &format!("K-9{n}")).replace("GW 9", &format!("GW 9{n}")))
        })
        .collect();
    let ran = run(&folder, "--window 3", &(json(&first) + &packed("a", &others) + &json(&second)));
    assert_eq!(outcomes(&ran)[4], "3 ", "{ran:#?}");
    let ran = run(&folder, "--window 4", &(json(&first) + &packed("a", &others) + &json(&second)));
    assert_eq!(outcomes(&ran)[4], format!("3 {broken}"), "{ran:#?}");
    let ran = run(&folder, "--window 2", &(packed("a", &format!("{first}{others}")) + &json(&second)));
    assert_eq!(outcomes(&ran)[4], format!("2 {broken}"), "{ran:#?}");
}

#[test]
fn a_job_behind_a_later_one_is_told() {
    let folder = history_folder();
    let [first, second] = jobs();
    let ran = run(&folder, "", &[json(&second), json(&first)].concat());
    assert_eq!(
        (ran.code, outcomes(&ran)),
        (1, vec!["1 ".into(), format!("2 {}", OUT_OF_ORDER.as_str())]),
        "{ran:#?}"
    );
    assert!(
        ran.out.contains("job K-2 on this vehicle was opened later and comes before this one"),
        "{ran:#?}"
    );
    run(&folder, "--window 0", &[json(&second), json(&first)].concat()).quietly(0);
    // A copy of a job is told, and is no earlier job of itself.
    let twice = run(&folder, "", &[json(&first), json(&first)].concat());
    assert_eq!(outcomes(&twice), ["1 ", "2 run/job-number-twice"], "{twice:#?}");
}

#[test]
fn jobs_of_the_settings_count_with_those_of_the_stream() {
    let folder = history_folder();
    let [first, second] = jobs();
    folder.write("archive/K-1.yaml", &first);
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\ndocuments: {jobs: [archive]}\n",
    );
    let between = second.replace("K-2", "K-3").replace("2026-02-10", "2026-01-20").replace("50000", "70000");
    let of = |records: &[&String]| {
        let input: String = records.iter().map(|text| json(text)).collect();
        let arguments = "inspect - --format lines --settings workshop.yaml --as-of 2026-03-02";
        let ran = folder.run_with(arguments.split(' '), &input);
        let found = documents(&ran).pop().unwrap()["document"]["findings"][0]["required"].clone();
        found.as_str().map(str::to_owned)
    };
    assert_eq!(of(&[&second]).as_deref(), Some("at least 60000 km"));
    assert_eq!(of(&[&between, &second]).as_deref(), Some("at least 70000 km"));
    assert_eq!(of(&[&first, &second]).as_deref(), Some("at least 60000 km"));
}

/// Sorted by time, the records of the example workshop come to what they come to as files of a folder.
#[test]
fn a_stream_in_order_is_judged_as_a_folder_is() {
    let folder = Folder::new();
    for path in files_below("examples/grauwasser") {
        let name = path.strip_prefix("examples/grauwasser/").unwrap();
        let bytes = std::fs::read(root().join(&path)).unwrap();
        folder.write(name, bytes);
    }
    let settings = folder.read("workshop.yaml");
    // A stream has no logbooks.
    let without = ["  jobs: [jobs]\n", "  - logbooks\n", "  - several_jobs.standard\n"];
    let settings = without.iter().fold(settings, |settings, line| settings.replace(line, ""));
    folder.write("workshop.yaml", settings);
    let options = "--format lines --settings workshop.yaml --as-of 2026-06-30";
    let of_folder = folder.run(&format!("inspect jobs {options}"));
    let mut records: Vec<(String, String, String)> = documents(&of_folder)
        .iter()
        // What was made of the records is in no file.
        .filter(|line| folder.has(line["document"]["name"].as_str().unwrap()))
        .map(|line| {
            let name = line["document"]["name"].as_str().unwrap().to_owned();
            let text = folder.read(&name);
            let opened = text.lines().find_map(|line| line.trim().strip_prefix("opened: "));
            (opened.unwrap_or_default().trim_matches('"').to_owned(), name, text)
        })
        .collect();
    records.sort();
    let input: String = records.iter().map(|(_, name, text)| packed(name, text)).collect();
    let of_stream = folder.run_with(["inspect", "-"].into_iter().chain(options.split(' ')), &input);
    let by_name = |ran: &Ran| -> std::collections::BTreeMap<String, Value> {
        let named =
            |line: Value| (line["document"]["name"].as_str().unwrap().to_owned(), line["document"].clone());
        documents(ran).into_iter().map(named).collect()
    };
    let (of_folder, of_stream) = (by_name(&of_folder), by_name(&of_stream));
    assert!(of_folder.len() > 30 && of_folder.keys().eq(of_stream.keys()));
    for (name, wanted) in of_folder {
        // A log in a file of its own is beside a record, and a stream has no such place.
        if folder.read(&name).contains(".csv") {
            assert!(of_stream[&name]["diagnostics"].to_string().contains("there is no file"));
        } else {
            assert_eq!(of_stream[&name], wanted, "{name}");
        }
    }
}

#[test]
fn lines_are_the_same_for_any_number_of_threads_and_any_size_of_parts() {
    let folder = history_folder();
    let [first, second] = jobs();
    let input: String = (0..150)
        .map(|number| {
            let text = if number % 3 == 0 { &first } else { &second };
            json(&text.replace("GW 123", &format!("GW {}", number / 7)))
        })
        .collect();
    let wanted = run(&folder, "--threads 1", &input).out;
    assert_eq!(run(&folder, "--threads 8", &input).out, wanted);
    let mut talk = Talk::begin(&folder, "--threads 2");
    let mut out = vec![talk.hear()];
    for line in input.lines() {
        talk.say(&format!("{line}\n"));
        out.push(talk.hear());
    }
    talk.input = None;
    out.push(talk.hear());
    let wanted: Vec<Value> = wanted.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(out, wanted);
}

#[test]
fn what_a_record_is_called_leads_nowhere() {
    let folder = folder();
    folder.write("jobs/log.csv", "time,temperature\n0,40\n");
    folder.write("jobs/a.yaml", good());
    let with_log = good() + "logs:\n  - {temperature: log.csv}\n";
    let ran = run(&folder, "", &packed("jobs/a.yaml", &with_log));
    assert!(ran.out.contains("there is no file `log.csv` to read here"), "{ran:#?}");
    // Nor is it taken for a text of the program.
    let ran = run(&folder, "", &packed("witnessmark:plugs", &hold()));
    assert_eq!(documents(&ran)[0]["document"]["source"], "./witnessmark:plugs");
}

#[test]
fn steps_are_bounded_only_where_that_is_said() {
    let folder = folder();
    let input = json(&good()).repeat(40);
    let of_one = crate::support::session(&[("plugs.standard", super::PLUGS)]).judge("a", &good())[0].steps;
    let ran = run(&folder, &format!("--most-steps-in-all {}", of_one * 10), &input).quietly(2);
    assert_eq!(
        outcomes(&ran).iter().filter(|one| one.contains("rules/too-much-work")).count(),
        29,
        "{ran:#?}"
    );
    run(&folder, "", &input).quietly(0);
}

#[test]
fn a_window_is_for_a_stream() {
    let folder = folder();
    folder.write("job.yaml", good());
    for arguments in ["inspect job.yaml --format lines --window 3", "inspect - --format json --window 3"] {
        folder.run(arguments).refused("`--window` is for a stream: `-` with `--format lines`");
    }
    let ran = folder.run("inspect - --format lines --window 100001");
    assert_eq!(ran.code, 2, "{ran:#?}");
}

/// A procedure in a stream is a document like others, and decides nothing about its jobs.
#[test]
fn a_procedure_of_a_stream_decides_nothing() {
    let folder = Folder::new();
    let procedure = text("examples/grauwasser/procedures/engine-oil.yaml");
    let arguments =
        "inspect - --format lines --standard by_procedure --standard procedure_basics --as-of 2026-03-02";
    let ran = folder.run_with(arguments.split(' '), &procedure);
    assert!(ran.out.contains("does not count for the jobs of the stream"), "{ran:#?}");
}
