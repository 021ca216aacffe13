//! How fast records are read and judged: `cargo bench --profile dist --bench inspect`, or with `-- quick` for
//! a glance.
//!
//! All in-process figures come from one set of generated records in interleaved rounds, so that a
//! change of the machine's speed falls on all of them alike; each is the median of its rounds.
//!
//! For a profiler, `-- only b` does nothing but the work of that letter.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program for developers stops where something fails, prints, and writes the files it works on"
)]

mod generate;

use std::fmt::Write as _;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use granit_parser::Parser;
use rayon::prelude::*;
use witnessmark::document;
use witnessmark::finding::{Judged, Outcome};
use witnessmark::language::ast::Severity;
use witnessmark::report::{self, JudgedBy, RuleInfo, Run, Style};
use witnessmark::session::Session;
use witnessmark::source::SourceId;

use generate::{ALONE, AROUND, FAULTS, PARAMETERS, Record, Unit, records, session, session_around};

/// The common standard and those of the gearboxes.
const STANDARDS: [&str; 5] = ["job_basics", "oil_service", "level", "fastenings", "seals_and_filters"];

/// How much is measured.
struct Size {
    records: usize,
    rounds: usize,
    cold_starts: usize,
    python_records: usize,
    files: usize,
}

const FULL: Size = Size { records: 2000, rounds: 11, cold_starts: 61, python_records: 500, files: 100_000 };
const QUICK: Size = Size { records: 500, rounds: 5, cold_starts: 15, python_records: 100, files: 2000 };

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let size = if arguments.iter().any(|argument| argument == "quick") { QUICK } else { FULL };
    let made: Vec<Record> = records(1).take(size.records).collect();
    let session = session(&STANDARDS);
    check(&made, &session);
    let texts: Vec<String> = made.into_iter().map(|record| record.text).collect();
    let run = run_of(&session);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap();
    let (alone, surrounded) = (generate::session(&AROUND), session_around(&AROUND));
    let works = works(&texts, &session, (&alone, &surrounded), &run, &pool);
    if let Some(at) = arguments.iter().position(|argument| argument == "only") {
        let letter = format!("{} ", arguments[at + 1]);
        medians(
            &works.into_iter().filter(|(label, _)| label.starts_with(&letter)).collect::<Vec<_>>(),
            size.rounds,
        );
        return;
    }
    let bytes: usize = texts.iter().map(String::len).sum();
    println!(
        "{} records of {} bytes in the mean, a quarter of them wrong in {} ways; {} rounds\n",
        texts.len(),
        bytes / texts.len(),
        FAULTS.len(),
        size.rounds
    );
    println!("{:<52}{:>12}{:>12}{:>8}", "", "records/s", "µs/record", "MB/s");
    let times = medians(&works, size.rounds);
    for ((label, _), time) in works.iter().zip(&times) {
        row(label, *time, texts.len(), bytes);
    }
    let [floor, _, whole, _, two, alone, around] =
        times.iter().map(Duration::as_secs_f64).collect::<Vec<_>>()[..]
    else {
        panic!("seven works are measured");
    };
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("workshop.yaml"), settings()).unwrap();
    let python = python(folder.path(), &texts[..size.python_records]);
    if let Some(time) = python {
        let bytes = texts[..size.python_records].iter().map(String::len).sum();
        row("e   Python: C loader, schema, ten rules by hand", time, size.python_records, bytes);
    }
    println!();
    goal("b / a, judging to the floor", whole / floor, "at most 1.5", whole / floor <= 1.5);
    goal("b / c, gain of a second thread", whole / two, "at least 1.8", whole / two >= 1.8);
    goal("g2 / g, 200 tools and 50 procedures around", around / alone, "at most 1.3", around / alone <= 1.3);
    if let Some(time) = python {
        let each = time.as_secs_f64() / size.python_records as f64;
        let gain = each * texts.len() as f64 / whole;
        goal("e / b, gain over the script", gain, "at least 20", gain >= 20.0);
    }
    let gearbox: Vec<&str> = STANDARDS.iter().flat_map(|name| ["--standard", name]).collect();
    let cold_start = cold(folder.path(), &texts[0], &gearbox, size.cold_starts);
    goal("d, cold start in ms, five standards", cold_start, "at most 15", cold_start <= 15.0);
    let cold_start = cold(folder.path(), &texts[0], &[], size.cold_starts);
    goal("d, cold start in ms, all shipped standards", cold_start, "at most 15", cold_start <= 15.0);
    let many = folder.path().join("many");
    write_records(&many, &texts, size.files);
    let (_, greatest) = whole_run(&[&many], &gearbox, size.files, "f, from files on disk to a report");
    limited_memory("f, memory at its greatest, in MB", greatest);
    let neighbours = folder.path().join("neighbours");
    write_neighbours(&neighbours);
    let around: Vec<&str> = AROUND.iter().flat_map(|name| ["--standard", name]).collect();
    let (alone, _) = whole_run(&[&many], &around, size.files, "h, the same by seven standards");
    let label = "h2  the same, 200 tools and 50 procedures around";
    let (time, greatest) = whole_run(&[&many, &neighbours], &around, size.files, label);
    limited_memory("h2, memory at its greatest, in MB", greatest);
    let ratio = time.as_secs_f64() / alone.as_secs_f64();
    goal("h2 / h, the whole run on disk", ratio, "at most 1.3", ratio <= 1.3);
}

fn row(label: &str, time: Duration, records: usize, bytes: usize) {
    let seconds = time.as_secs_f64();
    let (rate, each) = (records as f64 / seconds, seconds * 1e6 / records as f64);
    println!("{label:<52}{rate:>12.0}{each:>12.1}{:>8.1}", bytes as f64 / seconds / 1e6);
}

fn goal(label: &str, value: f64, wanted: &str, reached: bool) {
    let verdict = if reached { "reached" } else { "MISSED" };
    println!("{label:<52}{value:>12.2}   {wanted:<14}{verdict}");
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// A piece of work on all records; what it returns says that it was done.
type Work<'w> = (&'static str, Box<dyn Fn() -> usize + 'w>);

/// What is measured in this process, in the order of the report.
fn works<'w>(
    texts: &'w [String],
    session: &'w Session,
    (alone, surrounded): (&'w Session, &'w Session),
    run: &'w Run,
    pool: &'w rayon::ThreadPool,
) -> Vec<Work<'w>> {
    let plain = report::find("plain").unwrap().format;
    let judge = |text: &String| broken(&session.judge("record.yaml", text));
    let read = |text: &String| document::read(SourceId::FIRST, text, session.forms()).0.len();
    let rendered = move || {
        let mut out = Vec::new();
        for judged in texts.iter().flat_map(|text| session.judge("record.yaml", text)) {
            plain.document(run, &judged, &Style::default(), &mut out);
        }
        out.len()
    };
    vec![
        (
            "a   the YAML reader's events alone: the floor",
            Box::new(|| texts.iter().map(|text| events(text)).sum()),
        ),
        ("a2  read, bound to the form, structure checked", Box::new(move || texts.iter().map(read).sum())),
        ("b   judged, one thread", Box::new(move || texts.iter().map(judge).sum())),
        ("b2  judged, with the plain report", Box::new(rendered)),
        ("c   judged, two threads", Box::new(move || pool.install(|| texts.par_iter().map(judge).sum()))),
        (
            "g   judged by procedure and tools too, none there",
            Box::new(move || texts.iter().map(|text| judged_by(alone, text)).sum()),
        ),
        (
            "g2  the same, 200 tools and 50 procedures around",
            Box::new(move || texts.iter().map(|text| judged_by(surrounded, text)).sum()),
        ),
    ]
}

/// How many findings a session has, and one, so that there is always something.
fn judged_by(session: &Session, text: &str) -> usize {
    broken(&session.judge("record.yaml", text)) + 1
}

/// The medians of the works.
fn medians(works: &[Work<'_>], rounds: usize) -> Vec<Duration> {
    let mut times: Vec<Vec<Duration>> = vec![Vec::new(); works.len()];
    // The round before the first warms up and is not counted.
    for round in 0..=rounds {
        for ((_, work), times) in works.iter().zip(&mut times) {
            let begun = Instant::now();
            assert!(black_box(work()) > 0, "nothing was done");
            if round > 0 {
                times.push(begun.elapsed());
            }
        }
    }
    times.into_iter().map(median).collect()
}

/// What is measured must be right: each gearbox has the findings that were put into it.
fn check(made: &[Record], session: &Session) {
    for record in
        made.iter().filter(|record| matches!(record.unit, Unit::SteppedAutomatic | Unit::TwinClutch))
    {
        let judged = session.judge("record.yaml", &record.text);
        let found = judged.iter().flat_map(|judged| &judged.findings);
        let findings = found.filter(|finding| !ALONE.contains(&&*finding.rule)).count();
        let diagnostics: usize = judged.iter().map(|judged| judged.diagnostics.len()).sum();
        let wanted = (record.rules().len(), record.codes().len());
        assert_eq!((findings, diagnostics), wanted, "wrong: {:?}", record.fault.map(|fault| fault.name));
    }
}

fn events(text: &str) -> usize {
    let mut options = granit_parser::options! { strict_indentation: true };
    options.set_emit_comments(false);
    let mut parser = Parser::new_from_str_with_options(text, options);
    let mut count = 0;
    while let Some(event) = parser.next_event() {
        black_box(event.unwrap());
        count += 1;
    }
    count
}

fn broken(judged: &[Judged]) -> usize {
    let found = judged.iter().flat_map(|judged| &judged.findings);
    found.filter(|finding| finding.outcome == Outcome::Broken).count()
}

fn run_of(session: &Session) -> Run {
    let rules = session.program().rules().all().iter().map(|rule| RuleInfo {
        name: rule.name.clone(),
        title: rule.title.clone(),
        severity: rule.severity,
        remedy: rule.remedy.clone(),
        because: rule.because.clone(),
        basis: rule.basis.clone(),
        left_out: None,
        place: rule.name_place,
    });
    Run {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        as_of: session.setting().as_of,
        decision: session.setting().decision.clone(),
        fail_on: Severity::Hold,
        standards: Vec::new(),
        rules: rules.collect(),
        diagnostics: Vec::new(),
        judged_by: JudgedBy::default(),
        sources: session.sources().clone(),
    }
}

fn write_records(folder: &Path, texts: &[String], count: usize) {
    for (number, text) in texts.iter().cycle().take(count).enumerate() {
        let inner = folder.join(format!("{:03}", number / 1000));
        if number % 1000 == 0 {
            fs::create_dir_all(&inner).unwrap();
        }
        fs::write(inner.join(format!("{number:06}.yaml")), text).unwrap();
    }
}

/// The median of the script's rounds; the script measures itself, without its start.
fn python(folder: &Path, texts: &[String]) -> Option<Duration> {
    let folder = folder.join("script");
    write_records(&folder, texts, texts.len());
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let script = Command::new("python3")
        .arg(here.join("tests/bench/baseline.py"))
        .arg(here.join("grammar/job.schema.json"))
        .args([folder.join("000").as_os_str(), "3".as_ref()])
        .output();
    let output = match script {
        Ok(output) if output.status.success() => output,
        Ok(output) => {
            println!("e   left out: {}", String::from_utf8_lossy(&output.stderr).trim());
            return None;
        }
        Err(error) => {
            println!("e   left out: python3 cannot be run: {error}");
            return None;
        }
    };
    let lines = String::from_utf8(output.stdout).unwrap();
    let seconds = lines.lines().map(|line| line.split(' ').next().unwrap().parse::<f64>().unwrap());
    Some(median(seconds.map(Duration::from_secs_f64).collect()))
}

/// The program as users start it, without its output.
fn program(paths: &[&Path], arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_witnessmark"));
    command.args(["inspect", "--format", "plain"]).args(arguments);
    command.args(paths).stdin(Stdio::null()).stdout(Stdio::null());
    command
}

/// The settings of the workshop: the parameters, each below its keys.
fn settings() -> String {
    let mut text = "form: workshop/1\nworkshop: {name: benchmark}\ntime_zone: UTC\nparameters:\n".to_owned();
    let mut before: Vec<&str> = Vec::new();
    for (name, keys, value) in PARAMETERS {
        let path: Vec<&str> = std::iter::once(*name).chain(keys.iter().copied()).collect();
        let same = path.iter().zip(&before).take_while(|(one, other)| one == other).count();
        for (depth, key) in path.iter().enumerate().skip(same) {
            let value = if depth + 1 == path.len() { value } else { &"" };
            writeln!(text, "{}{key}: {value}", "  ".repeat(depth + 1)).unwrap();
        }
        before = path;
    }
    text
}

/// From start to end of a process that judges one record, in milliseconds.
fn cold(folder: &Path, text: &str, arguments: &[&str], starts: usize) -> f64 {
    let file = folder.join("one.yaml");
    fs::write(&file, text).unwrap();
    let one = || {
        let mut command = program(&[&file], arguments);
        let begun = Instant::now();
        let status = command.status().unwrap();
        let time = begun.elapsed();
        assert!(status.code().is_some_and(|code| code < 2), "{status}");
        time
    };
    median((0..starts).map(|_| one()).collect()).as_secs_f64() * 1e3
}

/// A register of 200 tools and 50 procedures, each in a file.
fn write_neighbours(folder: &Path) {
    fs::create_dir_all(folder).unwrap();
    fs::write(folder.join("tools.yaml"), generate::around::register()).unwrap();
    for (number, text) in generate::around::procedures().iter().enumerate() {
        fs::write(folder.join(format!("procedure {number:02}.yaml")), text).unwrap();
    }
}

/// How long a process takes to judge very many records, and its greatest memory in kB where the system
/// tells it.
fn whole_run(paths: &[&Path], arguments: &[&str], records: usize, label: &str) -> (Duration, Option<u64>) {
    let begun = Instant::now();
    let mut child = program(paths, arguments).spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut greatest = None;
    let ended = loop {
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        greatest = greatest.max(peak(&status));
        std::thread::sleep(Duration::from_millis(5));
    };
    let time = begun.elapsed();
    assert!(ended.code().is_some_and(|code| code < 2), "{ended}");
    let (rate, each) = (records as f64 / time.as_secs_f64(), time.as_secs_f64() * 1e6 / records as f64);
    println!("{label:<52}{rate:>12.0}{each:>12.1}");
    (time, greatest)
}

fn limited_memory(label: &str, greatest: Option<u64>) {
    match greatest {
        Some(kilobytes) => {
            let megabytes = kilobytes as f64 / 1e3;
            goal(label, megabytes, "below 100", megabytes < 100.0);
        }
        None => println!("{label} left out: this system has no /proc"),
    }
}

/// The peak of resident memory of a process, in kB.
fn peak(status: &str) -> Option<u64> {
    let text = fs::read_to_string(status).ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix("kB")?.trim().parse().ok()
}
