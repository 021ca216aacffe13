//! Logs as CSV files: good ones, odd ones and bad ones.

use std::io::{BufReader, Read};

use jiff::tz::TimeZone;
use witnessmark::code::{
    Code, LOG_COLUMN, LOG_ENCODING, LOG_HEADING, LOG_RAGGED, LOG_TIME, LOG_TIME_ORDER, LOG_TOO_LARGE,
    LOG_UNIT, LOG_UNREADABLE, LOG_VALUE,
};
use witnessmark::diagnostic::Fault;
use witnessmark::quantity::{Kind, KindName, Number};
use witnessmark::signal::Sample;
use witnessmark::signal::csv::CsvLog;

use crate::support::number;

const STARTED: i64 = 1_000_000_000;

fn open(text: &[u8], column: &str, kind: Kind) -> Result<Vec<Sample>, Fault> {
    CsvLog::open(text, column, kind, &TimeZone::UTC, Some(STARTED))?.collect()
}

fn temperatures(text: &str) -> Result<Vec<Sample>, Fault> {
    open(text.as_bytes(), "temperature", KindName::Temperature.into())
}

/// Seconds since the start and degrees Celsius.
fn degrees(samples: &[Sample]) -> Vec<(i64, Number)> {
    let offset = number("273.15");
    samples.iter().map(|sample| ((sample.at - STARTED) / 1_000_000_000, &sample.value - &offset)).collect()
}

fn assert_three(text: &str) {
    let wanted = vec![(0, number("31.2")), (60, number("33")), (120, number("-4.5"))];
    let samples = temperatures(text).unwrap_or_else(|fault| panic!("{text}\n{}", fault.message));
    assert_eq!(degrees(&samples), wanted, "{text}");
}

#[test]
fn logs_are_read_in_each_form_that_instruments_write() {
    for text in [
        "time [s],temperature [°C]\n0,31.2\n60,33\n120,-4.5\n",
        // No line end at the end, line ends of Windows, empty lines, white space.
        "time [s],temperature [°C]\n0,31.2\n60,33\n120,-4.5",
        "time [s],temperature [°C]\r\n0,31.2\r\n60,33\r\n120,-4.5\r\n\r\n",
        "time [s] , temperature [°C]\n\n 0 , 31.2\n\n60,33\n120,\t-4.5 \n\n",
        // A mark of the byte order, round brackets, capital letters, another order, more columns.
        "\u{feff}Temperature (°C),TIME (s)\n31.2,0\n33,60\n-4.5,120\n",
        "oil pressure (bar);Time (s);temperature (℃)\n1;0;31.2\n2;60;33\n3;120;-4.5\n",
        "temperature (°C)\ttime [min]\tremark\n31.2\t0\tfirst, cold\n33\t1\t\n-4.5\t2\tend; done\n",
        // Quotes, with a separator inside them.
        "\u{feff}\"time [s]\",\"remark; all\",\"temperature [°C]\"\n\"0\",\"a,b\",\"31.2\"\n60,,33\n120,\"two\nlines\",-4.5\n",
        "time [ms],temperature [°F]\n0,88.16\n60000,91.4\n120000,23.9\n",
        "time [s],temperature [K]\n0,304.35\n60e0,306.15\n1.2e2,268.65\n",
    ] {
        assert_three(text);
    }
}

/// Whatever the size of the pieces in which a file arrives.
#[test]
fn a_log_is_the_same_in_small_pieces() {
    let text = "\u{feff}\"time [s]\";\"temperature [°C]\"\r\n0;\"31.2\"\r\n\r\n60;33\r\n120;-4.5";
    let whole = temperatures(text).unwrap();
    for size in 1..12 {
        let reader = BufReader::with_capacity(size, text.as_bytes());
        let log =
            CsvLog::open(reader, "temperature", KindName::Temperature.into(), &TimeZone::UTC, Some(STARTED));
        let samples: Result<Vec<_>, _> =
            log.unwrap_or_else(|fault| panic!("{size}: {}", fault.message)).collect();
        assert_eq!(samples.unwrap(), whole, "{size}");
    }
}

#[test]
fn times_of_day_hold_in_the_zone_of_the_workshop() {
    let text =
        "time,speed [rpm]\n2026-03-29T01:59:59,700\n2026-03-29T01:30:00Z,800\n2026-03-29 03:45,900.5\n";
    let zone = TimeZone::get("Europe/Berlin").unwrap();
    let log = CsvLog::open(text.as_bytes(), "speed", KindName::RotationalSpeed.into(), &zone, None).unwrap();
    assert_eq!(log.headings(), ["time", "speed [rpm]"]);
    let samples: Vec<_> = log.map(Result::unwrap).collect();
    // The clocks are put forward at 02:00, which is 01:00 in UTC.
    let wanted = [1_774_745_999, 1_774_747_800, 1_774_748_700].map(|second: i64| second * 1_000_000_000);
    assert_eq!(samples.iter().map(|sample| sample.at).collect::<Vec<_>>(), wanted);
    assert_eq!(samples[2].value, Number::ratio(9005, 600).unwrap(), "turns a second");

    let text = "time,speed [rpm]\n2026-03-29T01:00:00,700\n2026-03-29T02:30:00,800\n";
    let mut log =
        CsvLog::open(text.as_bytes(), "speed", KindName::RotationalSpeed.into(), &zone, None).unwrap();
    assert!(log.next().unwrap().is_ok());
    let fault = log.next().unwrap().unwrap_err();
    assert_eq!(fault.code, LOG_TIME);
    assert!(fault.message.starts_with("line 3: there is no time 2026-03-29T02:30:00"), "{}", fault.message);
    assert!(log.next().is_none(), "the first fault ends the log");
}

#[test]
fn plain_numbers_and_scales_of_pressure() {
    let plain = open(b"time [s],valve\n0,0\n1,1\n", "valve", Kind::NUMBER).unwrap();
    assert_eq!(
        plain.iter().map(|sample| sample.value.clone()).collect::<Vec<_>>(),
        [number("0"), number("1")]
    );
    // A plain bar is one of gauge pressure where that is wanted, which can lie below zero.
    let gauge = open(b"time [s],boost [bar]\n0,-0.5\n", "boost", KindName::GaugePressure.into()).unwrap();
    assert_eq!(gauge[0].value, number("-50000"));
}

/// A whole log, its code and how its message begins.
const WRONG_HEADINGS: [(&str, Code, &str); 12] = [
    ("", LOG_HEADING, "there is nothing in the first line"),
    ("\n\n", LOG_HEADING, "there is nothing in the first line"),
    ("0,31.2\n60,33\n", LOG_HEADING, "the first line has values instead of headings"),
    ("time [s],temperature [°C]\r0,31\r1,32\r", LOG_HEADING, "line 1: its lines do not end in a line feed"),
    (
        "time [s],temperature [°C],Temperature [K]\n",
        LOG_HEADING,
        "line 1: the heading `temperature` stands twice",
    ),
    ("time [s],temprature [°C]\n", LOG_COLUMN, "line 1: there is no column `temperature`"),
    ("seconds,temperature [°C]\n", LOG_COLUMN, "line 1: there is no column `time`"),
    ("time [s],temperature\n", LOG_UNIT, "line 1: the heading `temperature` does not say in which unit"),
    ("time [s],temperature []\n", LOG_UNIT, "line 1: the heading `temperature` does not say in which unit"),
    ("time [s],temperature [°X]\n", LOG_UNIT, "line 1: in the heading `temperature` `°X` is not a unit"),
    (
        "time [s],temperature [bar]\n",
        LOG_UNIT,
        "line 1: the heading `temperature` has bar, the unit of a pressure",
    ),
    ("time [mm],temperature [°C]\n", LOG_UNIT, "line 1: the heading `time` has mm, the unit of a length"),
];

/// Lines behind a heading and a first sample.
const WRONG_LINES: [(&str, Code, &str); 15] = [
    ("60,33,1\n", LOG_RAGGED, "line 3: it has 3 fields, and there are 2 headings"),
    ("60\n", LOG_RAGGED, "line 3: it has 1 field, and there are 2 headings"),
    ("60,NaN\n", LOG_VALUE, "line 3: `NaN` is not a number"),
    ("60,inf\n", LOG_VALUE, "line 3: `inf` is not a number"),
    ("60,\n", LOG_VALUE, "line 3: it has no value"),
    ("60,\"31,5\"\n", LOG_VALUE, "line 3: `31,5` has a comma where only a decimal point can stand"),
    ("60,31.2 °C\n", LOG_VALUE, "line 3: `31.2 °C` is not a number"),
    ("60,1e99\n", LOG_VALUE, "line 3: the exponent of `1e99` is out of all proportion"),
    ("60,-274\n", LOG_VALUE, "line 3: `-274 °C` is below what a temperature can be"),
    (",33\n", LOG_TIME, "line 3: it has no time"),
    ("one,33\n", LOG_TIME, "line 3: `one` is not a number"),
    ("1e20,33\n", LOG_TIME, "line 3: the time `1e20` is too large, or finer than a nanosecond"),
    ("1e-10,33\n", LOG_TIME, "line 3: the time `1e-10` is too large, or finer than a nanosecond"),
    ("\n\n0,33\n", LOG_TIME_ORDER, "line 5: it repeats the time of line 2"),
    ("60,33\n59.5,33\n", LOG_TIME_ORDER, "line 4: it lies before the time of line 3"),
];

#[test]
fn what_is_wrong_is_said_with_its_line() {
    let behind = |(text, code, message): (&str, Code, &'static str)| {
        (format!("time [s],temperature [°C]\n0,31.2\n{text}"), code, message)
    };
    let whole = |(text, code, message): (&str, Code, &'static str)| (text.to_owned(), code, message);
    for (text, code, message) in WRONG_HEADINGS.map(whole).into_iter().chain(WRONG_LINES.map(behind)) {
        let fault = temperatures(&text).expect_err(&text);
        assert_eq!(fault.code, code, "{text:?}: {}", fault.message);
        assert!(fault.message.starts_with(message), "{text:?}: {}", fault.message);
        assert!(fault.help.is_some(), "{text:?}: {}", fault.message);
    }
}

#[test]
fn what_to_do_is_said_where_it_is_clear() {
    let help = |text: &str| temperatures(text).unwrap_err().help.unwrap();
    assert_eq!(help("time [s],temprature [°C]\n"), "did you mean `temprature`?");
    assert_eq!(help("time [s],speed [rpm]\n"), "the log has `time`, `speed`");
    assert_eq!(help("time [s];temperature [°C]\n0;31,2\n"), "write `31.2`");
    assert_eq!(
        help("time [s],temperature [°C]\n0,31,2\n"),
        "write decimal points; a decimal comma counts as the end of a field"
    );
    assert!(help("time,temperature [°C]\n0.5,31\n").contains("such as `time [s]`"));
    assert!(help("time [s],temperature\n").contains("such as `temperature [°C]`"));
}

#[test]
fn times_that_count_need_a_start() {
    let text = "time [s],temperature [°C]\n0,31.2\n";
    let log =
        CsvLog::open(text.as_bytes(), "temperature", KindName::Temperature.into(), &TimeZone::UTC, None);
    let fault = log.err().unwrap();
    assert_eq!(fault.code, LOG_TIME);
    assert!(fault.message.contains("when that was is not recorded"), "{}", fault.message);
}

#[test]
fn hostile_logs_are_refused_in_bounded_memory() {
    let kind: Kind = KindName::Temperature.into();
    let head = "time [s],temperature [°C]\n".as_bytes();
    let after = |tail: &[u8]| open(&[head, tail].concat(), "temperature", kind).unwrap_err();

    // Latin-1 in the heading, which has the sign of a degree, and in a line.
    let fault = open(b"time [s],temperature [\xb0C]\n0,31\n", "temperature", kind).unwrap_err();
    assert_eq!((fault.code, fault.message.as_str()), (LOG_ENCODING, "line 1: it is not UTF-8 text"));
    let fault = after(b"0,31\n1,\xff\n");
    assert_eq!((fault.code, fault.message.as_str()), (LOG_ENCODING, "line 3: it is not UTF-8 text"));

    // A line, a heading and a quote without end; too many columns.
    let fault = after(&[b"0,31\n1,", vec![b'9'; 70_000].as_slice()].concat());
    assert_eq!((fault.code, &fault.message[..7]), (LOG_TOO_LARGE, "line 3:"), "{}", fault.message);
    let fault = after(&[b"0,\"31\n", "1,32\n".repeat(20_000).as_bytes()].concat());
    assert_eq!((fault.code, &fault.message[..7]), (LOG_TOO_LARGE, "line 2:"), "{}", fault.message);
    let fault = open(&vec![b'a'; 70_000], "temperature", kind).unwrap_err();
    assert_eq!(fault.code, LOG_TOO_LARGE);
    let fault = open(&vec![b','; 5_000], "temperature", kind).unwrap_err();
    assert_eq!(
        (fault.code, fault.message.as_str()),
        (LOG_TOO_LARGE, "line 1: it has more than 1024 columns")
    );

    // Control characters do not reach a message.
    let fault = open(b"time [s],x\x1b[31m\n", "temp\x1b[31m", kind).unwrap_err();
    assert_eq!(fault.code, LOG_COLUMN);
    assert!(!fault.message.contains('\x1b') && !fault.help.unwrap().contains('\x1b'));
}

/// Gives a beginning, and then the same bytes again and again.
struct Endless(&'static [u8], u64, std::io::Result<()>);

impl Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if !self.0.is_empty() {
            let (now, later) = self.0.split_at(self.0.len().min(buffer.len()));
            buffer[..now.len()].copy_from_slice(now);
            self.0 = later;
            return Ok(now.len());
        }
        std::mem::replace(&mut self.2, Ok(()))?;
        let bytes = u64::min(self.1, buffer.len() as u64);
        self.1 -= bytes;
        buffer[..bytes as usize].fill(b'\n');
        Ok(bytes as usize)
    }
}

#[test]
fn a_file_that_is_too_large_or_breaks_off_is_refused() {
    let head = "time [s],temperature [°C]\n0,31\n".as_bytes();
    let read = |file: Endless| {
        let reader = BufReader::with_capacity(1 << 20, file);
        let log = CsvLog::open(reader, "temperature", KindName::Temperature.into(), &TimeZone::UTC, Some(0));
        log.unwrap().collect::<Result<Vec<_>, _>>()
    };
    assert_eq!(read(Endless(head, 1 << 20, Ok(()))).unwrap().len(), 1);
    let fault = read(Endless(head, (512 << 20) + 1, Ok(()))).unwrap_err();
    assert_eq!((fault.code, fault.message.as_str()), (LOG_TOO_LARGE, "the log is larger than 512 MiB"));
    let fault = read(Endless(head, 9, Err(std::io::Error::other("the stick was pulled out")))).unwrap_err();
    assert_eq!(fault.code, LOG_UNREADABLE);
    assert!(fault.message.ends_with("the stick was pulled out"), "{}", fault.message);
}

/// Bytes that were damaged anywhere give samples or a fault, and always an end.
#[test]
fn damaged_logs_never_break_the_reader() {
    let good = "time [s];\"temperature [°C]\"\r\n0;31.2\r\n\"60\";33\r\n120;-4.5\r\n".as_bytes();
    let mut rng = fastrand::Rng::with_seed(7);
    let mut faults = 0;
    for _ in 0..20_000 {
        let mut bytes = good.to_vec();
        for _ in 0..rng.usize(1..4) {
            let at = rng.usize(..bytes.len());
            match rng.u8(..3) {
                0 => bytes[at] = rng.u8(..),
                1 => drop(bytes.remove(at)),
                _ => bytes.insert(at, *rng.choice(b"\",;\n\r\t0.-").unwrap()),
            }
        }
        let read = open(&bytes, "temperature", KindName::Temperature.into());
        faults += usize::from(read.is_err());
        if let Ok(samples) = read {
            assert!(samples.windows(2).all(|pair| pair[0].at < pair[1].at));
        }
    }
    assert!((5_000..19_000).contains(&faults), "{faults}");
}
