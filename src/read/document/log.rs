//! Logs: quantities over time, in a file beside the document or written out in it.
//!
//! A log of the shape [`super::Shape::Log`] is the name of a file whose column has the name of the field, a
//! group with the `file` and its `column`, or the values at their times. Times that count from the start of
//! the log count from the field `started` of the group that holds it.

use std::io::BufRead;

use jiff::tz::TimeZone;

use super::Document;
use super::tree::{Bound, NodeId, NodeKind};
use super::wording::respelt;
use crate::code::{LOG_FILE, LOG_FORM, LOG_MIXED_UNITS, LOG_TIME, LOG_TIME_ORDER};
use crate::diagnostic::{Diagnostic, Fault, nearest};
use crate::edition::Digest;
use crate::quantity::{Kind, KindName, Number, Quantity};
use crate::signal::Sample;
use crate::signal::csv::CsvLog;
use crate::source::{Place, Span};
use crate::time::{self, Frame};
use crate::value::Value;

/// The fields of a group that names a file.
const FILE: &str = "file";
const COLUMN: &str = "column";

/// Opens the files that documents name, logs and photographs. The core does no input of its own.
pub trait Logs: std::fmt::Debug + Send + Sync {
    /// Opens a file for the document of the name `document`.
    ///
    /// # Errors
    /// It is not there, leads out of the folder of the document, or cannot be read, in words for its user.
    fn open(&self, document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault>;

    /// What a photograph holds that the document names; nothing where the document lies in no folder.
    ///
    /// # Errors
    /// As with [`Logs::open`].
    fn photograph(&self, _document: &str, _file: &str) -> Option<Result<Digest, Fault>> {
        None
    }
}

/// No files: for the records of trials, which stand in a rule file.
#[derive(Clone, Copy, Debug)]
pub struct NoLogs;

impl Logs for NoLogs {
    fn open(&self, _document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        Err(Fault::new(LOG_FILE, format!("there is no file `{file}` to read here"))
            .help("write the values at their times: `{0 s: 34 °C, 10 s: 35 °C}`"))
    }
}

/// How the logs of a document are opened.
#[derive(Clone, Copy, Debug)]
pub struct Opening<'o> {
    /// The name of the document.
    pub document: &'o str,
    /// The zone of times without an offset.
    pub zone: &'o TimeZone,
    /// Whether the times with which those of the logs are compared say their offset.
    pub frame: Option<Frame>,
    /// Opens files.
    pub logs: &'o dyn Logs,
}

/// The samples of a log, read one by one.
pub enum Samples {
    /// Out of a file of this name.
    File(String, Box<CsvLog<Box<dyn BufRead>>>),
    /// Written out.
    Written(std::vec::IntoIter<Sample>, Option<Frame>),
}

/// How many bytes of a file are as much work as an entry: the rows of a usual log are shorter.
const BYTES_OF_AN_ENTRY: u64 = 64;

/// How many entries it is worth to open a file.
const OPENING: u64 = 64;

impl Samples {
    /// How much was read so far, counted in entries besides those that it gave: also a file without any takes time.
    #[must_use]
    pub fn besides(&self) -> u64 {
        match self {
            Samples::File(_, log) => OPENING + log.bytes() / BYTES_OF_AN_ENTRY,
            Samples::Written(..) => 0,
        }
    }

    /// Whether the times that were read so far say their offset; none where they count from the start.
    #[must_use]
    pub fn frame(&self) -> Option<Frame> {
        match self {
            Samples::File(_, log) => log.frame(),
            Samples::Written(_, frame) => *frame,
        }
    }
}

impl Iterator for Samples {
    type Item = Result<Sample, Fault>;

    fn next(&mut self) -> Option<Self::Item> {
        match self {
            Samples::File(name, log) => Some(log.next()?.map_err(|fault| within(name, fault))),
            Samples::Written(samples, _) => samples.next().map(Ok),
        }
    }
}

/// A fault of a log, and where in the document it lies.
#[derive(Debug)]
pub struct Misread {
    /// The place.
    pub span: Span,
    /// What is wrong there.
    pub fault: Fault,
    /// Whether it is among what is wrong with the document itself.
    pub is_reported: bool,
}

impl Misread {
    fn new(span: Span, fault: Fault) -> Box<Misread> {
        Box::new(Misread { span, fault, is_reported: false })
    }

    fn reported(span: Span, fault: Fault) -> Box<Misread> {
        Box::new(Misread { span, fault, is_reported: true })
    }
}

/// Whether a name is that of a group that names a file.
pub(super) fn names_a_file(key: &str) -> bool {
    matches!(key, FILE | COLUMN)
}

/// The file in which a log is, as the document names it; nothing where it is written out.
#[must_use]
pub fn file_of(document: &Document<'_>, node: NodeId) -> Option<String> {
    let named = match &document.node(node).kind {
        NodeKind::Scalar { raw, .. } => Some(&**raw),
        NodeKind::Map(_) if is_file(document, node) => {
            document.get(node, FILE).and_then(|file| document.raw(file))
        }
        _ => None,
    };
    named.map(|file| file.trim().to_owned())
}

/// Begins to read a log.
///
/// # Errors
/// A file that cannot be opened or has no such column; times that cannot be read or do not rise.
pub fn samples(
    document: &Document<'_>,
    node: NodeId,
    kind: Kind,
    opening: Opening<'_>,
) -> Result<Samples, Box<Misread>> {
    let started = started(document, node, opening.zone);
    let at = |span: Span| move |fault| Misread::new(span, fault);
    let key = document.parent(node).and_then(|parent| {
        document.entries(parent).iter().find(|entry| entry.value == node).map(|entry| &*entry.key)
    });
    let (file, column, span) = match &document.node(node).kind {
        NodeKind::Scalar { raw, .. } => (&**raw, key.unwrap_or_default(), document.span(node)),
        NodeKind::Map(_) if is_file(document, node) => {
            let text = |name| document.get(node, name).and_then(|value| document.raw(value));
            let Some(file) = document.get(node, FILE).filter(|file| document.raw(*file).is_some()) else {
                let fault = Fault::new(LOG_FORM, "the log does not say in which `file` it is");
                return Err(Misread::reported(document.span(node), fault));
            };
            (text(FILE).unwrap_or_default(), text(COLUMN).or(key).unwrap_or_default(), document.span(file))
        }
        NodeKind::List(_) => {
            let fault = Fault::new(LOG_FORM, "this is a list, and a log belongs here");
            return Err(Misread::reported(document.span(node), fault));
        }
        _ => {
            return written(document, node, opening, started)
                .map(|(list, frame)| Samples::Written(list.into_iter(), frame));
        }
    };
    let reader = opening.logs.open(opening.document, file.trim()).map_err(at(span))?;
    let log = CsvLog::open(reader, column.trim(), kind, opening.zone, started.map(|(started, _)| started));
    let log = log.map_err(|fault| at(span)(within(file, fault)))?.compared_with(opening.frame);
    if let Some((_, frame)) = started.filter(|_| log.counts_from_start()) {
        let other = opening.frame.unwrap_or(frame);
        frame.agrees(other, opening.zone).map_err(at(span))?;
    }
    Ok(Samples::File(file.to_owned(), Box::new(log)))
}

/// The fault with the name of the file in which it lies.
fn within(file: &str, fault: Fault) -> Fault {
    Fault { message: format!("in `{file}`, {}", fault.message), ..fault }
}

/// When a log began: the field `started` beside it, in nanoseconds since 1970-01-01T00:00:00Z. One that
/// cannot be read is reported with the document.
fn started(document: &Document<'_>, node: NodeId, zone: &TimeZone) -> Option<(i64, Frame)> {
    let field = document.get(document.parent(node)?, "started")?;
    let Value::Moment(moment) = document.value(field)? else { return None };
    let instant = i64::try_from(time::instant(moment, zone).ok()?.as_nanosecond()).ok()?;
    Some((instant, Frame::of(moment)))
}

/// The values that are written out, in the order of their times, and whether these say their offset.
fn written(
    document: &Document<'_>,
    node: NodeId,
    opening: Opening<'_>,
    started: Option<(i64, Frame)>,
) -> Result<(Vec<Sample>, Option<Frame>), Box<Misread>> {
    let mut samples: Vec<Sample> = Vec::new();
    let (zone, mut frame) = (opening.zone, opening.frame);
    let mut own = None;
    for entry in document.entries(node) {
        let key = entry.key.trim();
        let passed = if is_of_day(key) { Ok(None) } else { duration(key).map(Some) };
        let passed = passed.map_err(|fault| Misread::reported(entry.key_span, fault))?;
        let at = |fault| Misread::new(entry.key_span, fault);
        let instant = match &passed {
            Some(passed) => since(key, passed, started),
            None => of_day(key, zone),
        };
        let (instant, its) = instant.map_err(at)?;
        frame.get_or_insert(its).agrees(its, zone).map_err(at)?;
        own = own.or(Some(its).filter(|_| passed.is_none()));
        if let Some(last) = samples.last().filter(|last| last.at >= instant) {
            let what = if last.at == instant { "repeats the time of" } else { "lies before" };
            let fault =
                Fault::new(LOG_TIME_ORDER, format!("the time `{}` {what} the one above it", entry.key));
            return Err(at(fault.help("write the values in the order of their times, each time once")));
        }
        let Some(Value::Quantity(value)) = document.value(entry.value) else {
            let fault = Fault::new(LOG_FORM, format!("the value at `{key}` cannot be read"));
            return Err(Misread::reported(document.span(entry.value), fault));
        };
        samples.push(Sample { at: instant, value: value.base() });
    }
    Ok((samples, own))
}

/// `90 s`, as a time that has passed.
fn duration(text: &str) -> Result<Quantity, Fault> {
    Quantity::parse(text, Some(KindName::Duration.into())).map_err(|fault| Fault { code: LOG_TIME, ..fault })
}

fn out_of_range(text: &str) -> Fault {
    Fault::new(LOG_TIME, format!("the time `{text}` is out of all range"))
}

/// The instant of a time of day.
fn of_day(text: &str, zone: &TimeZone) -> Result<(i64, Frame), Fault> {
    let moment = time::moment(text).map_err(|fault| Fault { code: LOG_TIME, ..fault })?;
    let instant = time::instant(&moment, zone).map_err(|fault| Fault { code: LOG_TIME, ..fault })?;
    let nanoseconds = i64::try_from(instant.as_nanosecond()).map_err(|_| out_of_range(text))?;
    Ok((nanoseconds, Frame::of(&moment)))
}

/// The instant at which so much has passed since the start of the log.
fn since(text: &str, passed: &Quantity, started: Option<(i64, Frame)>) -> Result<(i64, Frame), Fault> {
    let (started, frame) = started.ok_or_else(|| {
        let what = format!("`{text}` counts from the start of the log, and when that was is not recorded");
        Fault::new(LOG_TIME, what).help("record when the log was `started`")
    })?;
    let nanoseconds = &passed.base() * &Number::from(1_000_000_000_i64);
    let whole = nanoseconds.floor().filter(|_| nanoseconds.is_integer());
    let instant = whole.and_then(|passed| started.checked_add(passed)).ok_or_else(|| out_of_range(text))?;
    Ok((instant, frame))
}

/// Whether a text begins like a day.
fn is_of_day(text: &str) -> bool {
    text.get(..5)
        .is_some_and(|start| start.ends_with('-') && start.bytes().take(4).all(|byte| byte.is_ascii_digit()))
}

fn is_file(document: &Document<'_>, node: NodeId) -> bool {
    document.entries(node).iter().any(|entry| names_a_file(&entry.key))
}

/// What is wrong with how the logs of a document are written. Their files are not looked at.
pub(super) fn check(document: &Document<'_>) -> Vec<Diagnostic> {
    document.logs.iter().flat_map(|(node, kind)| check_one(document, *node, *kind)).collect()
}

fn check_one(document: &Document<'_>, node: NodeId, kind: Kind) -> Vec<Diagnostic> {
    let place = |span: Span| Place { source: document.source, span };
    let error = |span, message: String| Diagnostic::error(LOG_FORM, place(span), message);
    match &document.node(node).kind {
        // A list is not of the type that the form states.
        NodeKind::Empty | NodeKind::Scalar { .. } | NodeKind::List(_) => Vec::new(),
        NodeKind::Map(_) if is_file(document, node) => {
            let mut found = Vec::new();
            for entry in document.entries(node) {
                if !names_a_file(&entry.key) {
                    let message = format!("a log in a file has no field `{}`", entry.key);
                    let near = nearest(&entry.key, [FILE, COLUMN]);
                    let help = near.map_or("its fields are `file` and `column`".to_owned(), |near| {
                        format!("write `{near}`")
                    });
                    found.push(error(entry.key_span, message).help(help));
                } else if document.raw(entry.value).is_none() {
                    let message = format!("`{}` must be a text", entry.key);
                    found.push(error(entry.key_span, message));
                }
            }
            if document.get(node, FILE).is_none() {
                let span = document.key_span(node).unwrap_or(document.span(node));
                found.push(error(span, "the log does not say in which `file` it is".to_owned()));
            }
            found
        }
        NodeKind::Map(_) => values(document, node, kind),
    }
}

/// What is wrong with values that are written out.
fn values(document: &Document<'_>, node: NodeId, kind: Kind) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut first = None;
    for entry in document.entries(node) {
        let place = document.place(entry.value);
        match &document.node(entry.value).kind {
            NodeKind::Scalar { value: Bound::Value(Value::Quantity(value)), .. } => {
                let unit = value.unit();
                let earlier = *first.get_or_insert(unit);
                if earlier != unit
                    && let (Some(unit), Some(earlier)) = (unit, earlier)
                {
                    let message = format!(
                        "this value is in {}, and those above it are in {}",
                        unit.symbol, earlier.symbol
                    );
                    found.push(
                        Diagnostic::error(LOG_MIXED_UNITS, place, message)
                            .help("write all values of a log in one unit"),
                    );
                }
            }
            NodeKind::Scalar { raw, .. } if document.refused.contains(&entry.value) || raw.is_empty() => {}
            NodeKind::Scalar { raw, .. } => {
                let read = Quantity::parse(raw, Some(kind)).and_then(Quantity::not_below_zero);
                let fault = read.err().unwrap_or_else(|| {
                    Fault::new(LOG_FORM, "a value of a log is written without an uncertainty")
                        .help("the uncertainty is that of the tool")
                });
                let fix = fault.meant.as_deref().and_then(|meant| respelt(place, raw, meant));
                found.push(fault.at(place).mended(fix));
            }
            _ => {
                let place = Place { span: entry.key_span, ..place };
                let message = format!("`{}` has no value", entry.key);
                found.push(
                    Diagnostic::error(LOG_FORM, place, message)
                        .help("write what was measured, or take the time out"),
                );
            }
        }
        if !is_of_day(entry.key.trim()) && duration(entry.key.trim()).is_err() {
            let place = Place { span: entry.key_span, ..place };
            let message = format!("`{}` is no time", entry.key);
            let mut diagnostic = Diagnostic::error(LOG_TIME, place, message)
                .help("write `90 s` after the start, or a time such as 2026-03-02T08:15:30");
            if let Some(near) = nearest(&entry.key, [FILE, COLUMN]) {
                diagnostic =
                    diagnostic.help(format!("did you mean `{near}`? Otherwise write a time, such as `90 s`"));
            }
            found.push(diagnostic);
        }
    }
    found
}
