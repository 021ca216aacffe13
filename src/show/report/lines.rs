//! The form of a stream, for programs: one JSON document a line, each written as soon as it is known. The first says by what is
//! judged, one for each document what was found in it, the last what it all came to. `grammar/lines.schema.json` describes
//! them; [`FORM`] is their version.

use serde::Serialize;

use super::json::{DocumentOut, HeadOut, SummaryOut, write};
use super::{Format, LeftOut, Run, Style};
use crate::finding::{Judged, Summary};

/// The form and version of each line.
pub const FORM: &str = "lines/1";

/// The JSON Schema of a line. What it has in common with a report is in that of the report.
pub const SCHEMA: &str = include_str!("../../../grammar/lines.schema.json");

/// The form of a stream.
pub struct Lines;

/// A job, by what tells which others are on its vehicle and which of them come before it.
#[derive(Serialize)]
pub struct JobOut<'r> {
    /// Its number.
    pub number: &'r str,
    /// Its vehicle, by each name that it has.
    pub vehicles: Vec<String>,
    /// When it was opened, in UTC.
    pub opened: Option<String>,
    /// What puts jobs of one time in order.
    pub order: String,
}

/// Where a record begins in its stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct InStream {
    /// Its number, from 1.
    pub number: u64,
    /// The bytes before it.
    pub byte: u64,
    /// Its first line, from 1.
    pub line: u64,
}

#[derive(Serialize)]
#[serde(tag = "line", rename_all = "lowercase")]
enum LineOut<'r> {
    Begin(HeadOut<'r>),
    Document { stream: Option<InStream>, document: DocumentOut<'r> },
    Key { stream: InStream, name: &'r str, jobs: Vec<JobOut<'r>>, unread: Option<&'r str> },
    End { summary: SummaryOut<'r> },
}

#[derive(Serialize)]
struct Line<'r> {
    form: &'static str,
    #[serde(flatten)]
    line: LineOut<'r>,
}

fn line(line: LineOut<'_>, out: &mut Vec<u8>) {
    write(&Line { form: FORM, line }, out);
    out.push(b'\n');
}

/// Appends the line of a document, which stands here in a stream.
pub fn document(run: &Run, judged: &Judged, stream: Option<InStream>, out: &mut Vec<u8>) {
    let mut document = DocumentOut::new(run, judged);
    // Of hundreds of rules, most concern nothing in a record.
    document.leave_out_idle_rules();
    line(LineOut::Document { stream, document }, out);
}

/// Appends the line that says whose jobs a record of a stream holds, or why it cannot be read.
pub fn key(stream: InStream, name: &str, jobs: Result<Vec<JobOut<'_>>, &str>, out: &mut Vec<u8>) {
    let (jobs, unread) = jobs.map_or_else(|unread| (Vec::new(), Some(unread)), |jobs| (jobs, None));
    line(LineOut::Key { stream, name, jobs, unread }, out);
}

impl Format for Lines {
    fn head(&self, run: &Run, _style: &Style, out: &mut Vec<u8>) {
        line(LineOut::Begin(HeadOut::new(run)), out);
    }

    fn faults(&self, _run: &Run, _style: &Style, _out: &mut Vec<u8>) {}

    fn document(&self, run: &Run, judged: &Judged, _style: &Style, out: &mut Vec<u8>) {
        document(run, judged, None, out);
    }

    fn tail(&self, run: &Run, summary: &Summary, _left_out: &LeftOut, _style: &Style, out: &mut Vec<u8>) {
        line(LineOut::End { summary: SummaryOut::new(run, summary) }, out);
    }
}
