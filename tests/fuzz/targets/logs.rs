//! Logs: CSV files, and the demands about them.

use jiff::tz::TimeZone;
use witnessmark::quantity::{Kind, KindName};
use witnessmark::signal::csv::CsvLog;

use super::check::{decoded, documents, judged, plain_words};
use super::given::{LOGGED, MOST_STEPS, halves, set_log};

const COLUMNS: [(&str, KindName); 4] = [
    ("temperature", KindName::Temperature),
    ("oil pressure", KindName::GaugePressure),
    ("volume", KindName::Volume),
    ("speed", KindName::Speed),
];

/// Reads a log. The first byte says which column, and whether it counts from a start and whether there is a zone.
pub fn csv(data: &[u8]) {
    let Some((first, bytes)) = data.split_first() else { return };
    let (column, kind) = COLUMNS[usize::from(*first % 4)];
    let started = (*first & 4 != 0).then_some(1_767_225_600_000_000_000);
    let zone = if *first & 8 != 0 { TimeZone::UTC } else { TimeZone::unknown() };
    let mut log = match CsvLog::open(bytes, column, Kind::from(kind), &zone, started) {
        Ok(log) => log,
        Err(fault) => return plain_words(&fault.message),
    };
    assert!(!log.headings().is_empty());
    let lines = bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count() + 1;
    let (mut last, mut samples, mut faults) = (None, 0, 0);
    for sample in log.by_ref() {
        match sample {
            Ok(sample) => {
                assert!(last.is_none_or(|last| last < sample.at), "times rise");
                last = Some(sample.at);
                samples += 1;
            }
            Err(fault) => {
                plain_words(&fault.message);
                faults += 1;
            }
        }
    }
    assert!(samples < lines, "{samples} samples in {lines} lines with the heading");
    assert!(faults < 2 && log.next().is_none(), "the first fault ends it");
}

pub fn csv_seeds() -> Vec<Vec<u8>> {
    let mut seeds = Vec::new();
    let example = super::given::text("examples/grauwasser/jobs/K-2080-level-check.csv");
    let made = [
        "time,temperature [°C],oil pressure (bar)\n2026-03-02T10:00:00+01:00,35.5,2.1\n2026-03-02T10:00:10+01:00,36,2\n",
        "time [s];temperature [°C];volume [L]\r\n0;35,5;1\r\n10;36;1.5\r\n\"20\";\"36,2\";2\r\n",
        "time [min]\ttemperature\tspeed [km/h]\n0\t35 °C\t10\n0.5\t36 °C\t20\n",
    ];
    for text in made.into_iter().chain([&*example]) {
        for first in [0, 4, 5, 12] {
            seeds.push([&[first], text.as_bytes()].concat());
        }
    }
    seeds
}

/// Judges a record with logs: behind the line between texts, the log that it finds under every name in CSV.
pub fn logs(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let (record, log) = halves(&text);
    set_log(log.as_bytes());
    documents(record, LOGGED.forms());
    LOGGED.judge("record.yaml", record).iter().for_each(|document| judged(document, MOST_STEPS));
}

pub fn log_seeds() -> Vec<Vec<u8>> {
    let read = super::given::text;
    let csv = read("examples/grauwasser/jobs/K-2080-level-check.csv");
    let with = |record: &str| format!("{record}{}{csv}", super::given::BETWEEN).into_bytes();
    let written = "form: job/1\njob: {number: K-1, opened: 2026-03-02T09:00, closed: 2026-03-02T11:00, state: closed}\n\
                   vehicle: {}\nunit: {kind: stepped automatic}\nlevel: {temperature: 38 °C, at: 2026-03-02T10:04}\n\
                   logs:\n  - of: level check\n    started: 2026-03-02T10:00:00\n    \
                   temperature: {0 s: 28 °C, 60 s: 33 °C, 120 s: 38 °C}\n";
    vec![with(&read("examples/grauwasser/jobs/K-2080-level-check-logged.yaml")), written.as_bytes().to_vec()]
}
