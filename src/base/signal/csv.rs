//! Logs as CSV files: one column of times and one of values, with their units in the headings.

use std::io::{BufRead, Read};

use jiff::tz::TimeZone;

use super::Sample;
use super::records::{Fields, Records, not_text, unreadable};
use crate::code::{
    Code, LOG_COLUMN, LOG_HEADING, LOG_RAGGED, LOG_TIME, LOG_TIME_ORDER, LOG_TOO_LARGE, LOG_UNIT, LOG_VALUE,
};
use crate::diagnostic::{Fault, nearest};
use crate::quantity::{Kind, KindName, Number, Quantity, Unit};
use crate::time::{self, Frame};

/// The most samples of a log.
const MOST_SAMPLES: u64 = 16 << 20;
/// The longest heading line, in bytes.
const LONGEST_HEADING: u64 = 64 << 10;
/// The name of the column of times.
const TIME: &str = "time";

/// A log, from which samples are read one by one. The first fault ends it.
pub struct CsvLog<R> {
    records: Records<R>,
    headings: Vec<String>,
    time: usize,
    value: usize,
    clock: Clock,
    unit: Option<&'static Unit>,
    kind: Kind,
    last: Option<(i64, u64)>,
    samples: u64,
    ended: bool,
}

/// How the times of a log are read.
enum Clock {
    /// As a duration since an instant.
    Since(i64, &'static Unit),
    /// As a day and a time of day; where no zone is set, all with an offset or all without.
    OfDay(TimeZone, Option<Frame>),
}

/// A heading in its parts: `oil pressure [bar]` or `oil pressure (bar)`.
struct Heading<'h> {
    name: &'h str,
    unit: Option<&'h str>,
}

impl<'h> Heading<'h> {
    fn new(text: &'h str) -> Heading<'h> {
        let text = text.trim();
        let unit = [('[', ']'), ('(', ')')].into_iter().find_map(|(opens, closes)| {
            let (name, unit) = text.strip_suffix(closes)?.rsplit_once(opens)?;
            Some(Heading { name: name.trim(), unit: Some(unit.trim()) })
        });
        unit.unwrap_or(Heading { name: text, unit: None })
    }

    fn is(&self, name: &str) -> bool {
        self.name.to_lowercase() == name.trim().to_lowercase()
    }
}

impl<R: BufRead> CsvLog<R> {
    /// Opens a log and looks at its headings. Fields are separated by commas, or by the semicolons or tabs that the
    /// heading line has. The column `time` holds times of day, in `zone` where they have no offset; or, with a unit
    /// of duration in its heading, what has passed since `started` (nanoseconds since 1970-01-01T00:00:00Z).
    /// `column` holds values of `kind`, with the unit in its heading. Names of columns are the same in capital and
    /// small letters.
    ///
    /// # Errors
    /// A log without headings or without one of the columns; a unit that is missing, not known, or of another kind;
    /// durations without `started`; a file that cannot be read.
    pub fn open(
        mut reader: R,
        column: &str,
        kind: Kind,
        zone: &TimeZone,
        started: Option<i64>,
    ) -> Result<CsvLog<R>, Fault> {
        let line = heading_line(&mut reader)?;
        let separator = separator(&line);
        let mut heading = Records::new(&*line, separator, 1);
        let fields = heading.read()?.ok_or_else(|| no_headings("there is nothing in the first line"))?;
        let headings: Vec<String> = fields.iter().map(str::to_owned).collect();
        if heading.read()?.is_some() {
            let what = "line 1: its lines do not end in a line feed";
            return Err(
                Fault::new(LOG_HEADING, what).help("save the log with the line ends of Unix or Windows")
            );
        }
        let time = find(&headings, TIME)?;
        let value = find(&headings, column)?;
        let clock = match headings.get(time).and_then(|text| Heading::new(text).unit) {
            None => Clock::OfDay(zone.clone(), None),
            Some(unit) => {
                let unit = unit_of(TIME, Some(unit), KindName::Duration.into())?;
                Clock::Since(started.ok_or_else(not_started)?, unit.ok_or_else(not_started)?)
            }
        };
        let unit = unit_of(column, headings.get(value).and_then(|text| Heading::new(text).unit), kind)?;
        Ok(CsvLog {
            records: Records::new(reader, separator, 2),
            headings,
            time,
            value,
            clock,
            unit,
            kind,
            last: None,
            samples: 0,
            ended: false,
        })
    }

    /// The headings as they are written, units included.
    #[must_use]
    pub fn headings(&self) -> &[String] {
        &self.headings
    }

    /// The same log, whose times are compared with those of a frame.
    #[must_use]
    pub fn compared_with(mut self, other: Option<Frame>) -> CsvLog<R> {
        if let Clock::OfDay(_, frame) = &mut self.clock {
            *frame = other;
        }
        self
    }

    /// How many bytes were read so far, those of the headings left aside.
    #[must_use]
    pub fn bytes(&self) -> u64 {
        self.records.bytes()
    }

    /// Whether its times count from when it was started.
    #[must_use]
    pub fn counts_from_start(&self) -> bool {
        matches!(self.clock, Clock::Since(..))
    }

    /// Whether the times that were read so far say their offset; none where they count from the start.
    #[must_use]
    pub fn frame(&self) -> Option<Frame> {
        match &self.clock {
            Clock::OfDay(_, frame) => *frame,
            Clock::Since(..) => None,
        }
    }

    fn sample(&mut self) -> Result<Option<Sample>, Fault> {
        let Some(fields) = self.records.read()? else { return Ok(None) };
        let row = row(fields, self.headings.len(), [self.time, self.value]);
        let read = row.and_then(|[time, value]| {
            Ok(Sample { at: self.clock.read(time)?, value: value_of(value, self.unit, self.kind)? })
        });
        let sample = read.map_err(|fault| in_line(self.records.line(), fault))?;
        self.rises(&sample)?;
        self.samples += 1;
        if self.samples > MOST_SAMPLES {
            let what = format!("the log has more than {MOST_SAMPLES} samples");
            return Err(Fault::new(LOG_TOO_LARGE, what).help("keep the stretch of time that matters"));
        }
        Ok(Some(sample))
    }

    fn rises(&mut self, sample: &Sample) -> Result<(), Fault> {
        let line = self.records.line();
        let (last, earlier) = self.last.replace((sample.at, line)).unzip();
        if let (Some(last), Some(earlier)) = (last, earlier)
            && sample.at <= last
        {
            let what = if sample.at == last { "repeats the time" } else { "lies before the time" };
            let message = format!("line {line}: it {what} of line {earlier}");
            return Err(Fault::new(LOG_TIME_ORDER, message)
                .help("bring the lines into the order of their times, each time once"));
        }
        Ok(())
    }
}

impl<R: BufRead> Iterator for CsvLog<R> {
    type Item = Result<Sample, Fault>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.ended {
            return None;
        }
        let sample = self.sample().transpose();
        self.ended = !matches!(sample, Some(Ok(_)));
        sample
    }
}

fn heading_line(reader: &mut impl BufRead) -> Result<Vec<u8>, Fault> {
    let mut line = Vec::new();
    reader.by_ref().take(LONGEST_HEADING).read_until(b'\n', &mut line).map_err(|error| unreadable(&error))?;
    if line.len() as u64 == LONGEST_HEADING {
        return Err(Fault::new(LOG_TOO_LARGE, "line 1: there is no end to it after 64 KiB")
            .help("look whether the file is a log at all"));
    }
    std::str::from_utf8(&line).map_err(|_| not_text(1))?;
    Ok(line)
}

/// The separator that the heading line has outside quotes.
fn separator(line: &[u8]) -> u8 {
    let outside = |wanted: u8| line.split(|byte| *byte == b'"').step_by(2).any(|text| text.contains(&wanted));
    [b'\t', b';'].into_iter().find(|separator| outside(*separator)).unwrap_or(b',')
}

/// The number of the column with this name.
fn find(headings: &[String], name: &str) -> Result<usize, Fault> {
    let mut fitting = headings.iter().enumerate().filter(|(_, text)| Heading::new(text).is(name));
    match (fitting.next(), fitting.next()) {
        (Some((number, _)), None) => Ok(number),
        (Some(_), Some(_)) => {
            let message = format!("line 1: the heading `{}` stands twice", clipped(name));
            Err(Fault::new(LOG_HEADING, message).help("give each column a heading of its own"))
        }
        (None, _) if headings.iter().any(|text| Number::parse(text).is_ok()) => {
            Err(no_headings("the first line has values instead of headings"))
        }
        (None, _) => {
            let names =
                || headings.iter().map(|text| Heading::new(text).name).filter(|text| !text.is_empty());
            let message = format!("line 1: there is no column `{}`", clipped(name));
            let help = match nearest(name, names()) {
                Some(near) => format!("did you mean `{}`?", clipped(near)),
                None => {
                    let shown: Vec<String> =
                        names().take(8).map(|name| format!("`{}`", clipped(name))).collect();
                    format!("the log has {}", shown.join(", "))
                }
            };
            Err(Fault::new(LOG_COLUMN, message).help(help))
        }
    }
}

/// The unit of a column of this kind; nothing for plain numbers without one.
fn unit_of(column: &str, unit: Option<&str>, kind: Kind) -> Result<Option<&'static Unit>, Fault> {
    let fault = |what: String| Fault::new(LOG_UNIT, format!("line 1: {what}"));
    let column = clipped(column);
    let example = Unit::examples(kind);
    let example = example.split([',', ' ']).next().unwrap_or_default();
    let Some(unit) = unit.filter(|unit| !unit.is_empty()) else {
        if kind == Kind::NUMBER {
            return Ok(None);
        }
        let what = format!("the heading `{column}` does not say in which unit its values are");
        return Err(fault(what).help(format!("write the unit behind it, such as `{column} [{example}]`")));
    };
    let found = Unit::find(unit).map_err(|unknown| {
        let known = fault(format!("in the heading `{column}` {}", unknown.message));
        Fault { help: unknown.help, ..known }
    })?;
    // One of it, as a value of the kind: the point on a scale where a point is wanted.
    match Quantity::parse(&format!("1 {unit}"), Some(kind)) {
        Ok(one) => Ok(one.unit()),
        Err(_) => {
            let (is, wanted) = (found.kind().with_article(), kind.with_article());
            let what = format!(
                "the heading `{column}` has {}, the unit of {is}, and {wanted} is wanted",
                found.symbol
            );
            // Another heading would not change from where a gauge counts.
            let help = match found.kind().is_point() && kind.is_point() {
                true => format!("choose a column with {wanted}"),
                false => format!("choose another column, or write a unit such as {example}"),
            };
            Err(fault(what).help(help))
        }
    }
}

/// The texts of the time and of the value.
fn row(fields: Fields<'_>, wanted: usize, [time, value]: [usize; 2]) -> Result<[&str; 2], Fault> {
    let found = fields.count();
    let (true, Some(time), Some(value)) = (found == wanted, fields.get(time), fields.get(value)) else {
        let fields = if found == 1 { "field" } else { "fields" };
        let what = format!("it has {found} {fields}, and there are {wanted} headings");
        let help = if found > wanted {
            "write decimal points; a decimal comma counts as the end of a field"
        } else {
            "give each line a field for each heading, or take the line out"
        };
        return Err(Fault::new(LOG_RAGGED, what).help(help));
    };
    Ok([time, value])
}

impl Clock {
    /// Nanoseconds since 1970-01-01T00:00:00Z.
    fn read(&mut self, text: &str) -> Result<i64, Fault> {
        match self {
            _ if text.is_empty() => {
                Err(Fault::new(LOG_TIME, "it has no time").help("write the time, or take the line out"))
            }
            Clock::Since(started, unit) => {
                let passed = Number::parse(text).map_err(|fault| recoded(LOG_TIME, fault))?;
                let passed = Quantity::new(passed, unit).base();
                nanoseconds(&passed).and_then(|passed| started.checked_add(passed)).ok_or_else(|| {
                    let what =
                        format!("the time `{}` is too large, or finer than a nanosecond", clipped(text));
                    Fault::new(LOG_TIME, what).help("look whether the unit in the heading is the right one")
                })
            }
            Clock::OfDay(zone, frame) => {
                let moment = time::moment(text).map_err(|fault| not_of_day(text, fault))?;
                let own = Frame::of(&moment);
                frame.get_or_insert(own).agrees(own, zone)?;
                let instant = time::instant(&moment, zone).map_err(|fault| recoded(LOG_TIME, fault))?;
                i64::try_from(instant.as_nanosecond()).map_err(|_| {
                    Fault::new(LOG_TIME, format!("the time `{}` is out of all range", clipped(text)))
                })
            }
        }
    }
}

/// Seconds as whole nanoseconds.
fn nanoseconds(seconds: &Number) -> Option<i64> {
    let nanoseconds = seconds * &Number::from(1_000_000_000_i64);
    let amount = i64::try_from(nanoseconds.abs().to_u64()?).ok()?;
    Some(if nanoseconds.is_negative() { -amount } else { amount })
}

fn value_of(text: &str, unit: Option<&'static Unit>, kind: Kind) -> Result<Number, Fault> {
    if text.is_empty() {
        return Err(
            Fault::new(LOG_VALUE, "it has no value").help("write what was measured, or take the line out")
        );
    }
    let number = Number::parse(text).map_err(|fault| recoded(LOG_VALUE, fault))?;
    let Some(unit) = unit else { return Ok(number) };
    let quantity = Quantity::new(number, unit);
    let base = quantity.base();
    let from_zero = matches!(kind.name(), Some(KindName::Temperature | KindName::AbsolutePressure));
    if base.is_negative() && (from_zero || !kind.is_signed()) {
        let what = format!("`{quantity}` is below what {} can be", kind.with_article());
        return Err(Fault::new(LOG_VALUE, what).help("check the sign and the unit in the heading"));
    }
    Ok(base)
}

/// The fault of a time of day, with what is to be done where a duration stands.
fn not_of_day(text: &str, fault: Fault) -> Fault {
    let fault = recoded(LOG_TIME, fault);
    if Number::parse(text).is_err() {
        return fault;
    }
    Fault::new(LOG_TIME, format!("`{}` is no time of day", clipped(text)))
        .help("write its unit in the heading where times count from the start of the log, such as `time [s]`")
}

fn no_headings(what: &str) -> Fault {
    Fault::new(LOG_HEADING, what).help("begin the log with a line such as `time [s], temperature [°C]`")
}

fn not_started() -> Fault {
    let what = "its times count from the start of the log, and when that was is not recorded";
    Fault::new(LOG_TIME, what).help("record when the log was `started`")
}

fn recoded(code: Code, fault: Fault) -> Fault {
    Fault { code, ..fault }
}

fn in_line(line: u64, fault: Fault) -> Fault {
    Fault { message: format!("line {line}: {}", fault.message), ..fault }
}

/// A text as a message can carry it.
fn clipped(text: &str) -> String {
    const MOST: usize = 40;
    let mut clipped: String = text.chars().take(MOST).flat_map(char::escape_debug).collect();
    if text.chars().count() > MOST {
        clipped.push('…');
    }
    clipped
}
